"""A class: what the trainer hands out, what a student hands in, and the class sheet made of both. Files, no widgets.

A hand-out holds no answers: the numbers of each student follow from the seed of the class and the name. What comes
back are the texts a student entered; they are judged anew when the trainer reads them, so a file that was changed
by hand says nothing but other answers.
"""

from __future__ import annotations

import datetime as dt
import json
import os
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any

from desalbook.fine import fine
from desalbook.notebook.exercises.book import BOOK
from desalbook.notebook.exercises.kit import draw
from desalbook.problems import DesignError
from desalbook.theme import css

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["RESULTS", "Answers", "HandOut", "found", "results", "sheet", "summary", "unread"]

RESULTS = ("id", "student", "exercise", "state", "tries", "mistakes", "last")
"""Columns of `results`."""
_FORMAT = 1
_MOST_STUDENTS, _LONGEST = 200, 60


def _slug(name: str) -> str:
    """A name as part of the name of a file; two names are told apart by what follows."""
    plain = re.sub(r"[^\w-]+", "-", name.strip()).strip("-").lower() or "x"
    return plain if plain == name else f"{plain}-{sum(ord(c) * (n + 7) for n, c in enumerate(name)) % 997:03d}"


def _written(path: Path, text: str) -> None:
    """All of the text or none of it."""
    part = path.with_name(f".{path.name}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        part.write_text(text, encoding="utf-8")
        os.replace(part, path)
    except OSError as error:
        part.unlink(missing_ok=True)
        raise DesignError("cannot be written", where=path.name,
                          do=f"check the folder and the rights on it ({error.strerror or 'unknown reason'})") from None


def _read(path: Path, what: str) -> dict[str, Any]:
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        raise DesignError(f"is no {what}", where=path.name, value=type(error).__name__,
                          do="take the file as it was handed out or in") from None
    if not isinstance(data, dict) or data.get("what") != what or data.get("format") != _FORMAT:
        raise DesignError(f"is no {what}", where=path.name, do="take the file as it was handed out or in")
    return data


@dataclass(frozen=True)
class HandOut:
    """What a class is given.

    Parameters
    ----------
    name : str
        Of the class.
    students : tuple of str
    exercises : tuple of str
        Keys of `BOOK`.
    units : {"si", "us"}
    seed : str
        Another seed gives every student other numbers.
    released : tuple of str
        Exercises whose solutions every student may open.
    """

    name: str
    students: tuple[str, ...]
    exercises: tuple[str, ...]
    units: str = "si"
    seed: str = ""
    released: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        name, students = self.name.strip(), self.students
        if not name or len(name) > _LONGEST:
            raise DesignError("is missing or too long", where="class name", allowed=f"1 to {_LONGEST} characters",
                              do="enter a name")
        if not students or len(students) > _MOST_STUDENTS:
            raise DesignError("no students" if not students else "too many", where="students", value=str(len(students)),
                              allowed=f"1 to {_MOST_STUDENTS}", do="enter one name a line")
        twice = sorted({s for s in students if [x.lower() for x in students].count(s.lower()) > 1})
        if twice:
            raise DesignError("twice on the list", where="students", value=", ".join(twice),
                              do="add a letter to tell them apart")
        if long := [s for s in students if not s.strip() or len(s) > _LONGEST]:
            raise DesignError("is too long", where="students", value=long[0][:40], do="shorten the name")
        if not self.exercises:
            raise DesignError("no exercise is chosen", where="exercises", do="choose at least one")
        if gone := [k for k in (*self.exercises, *self.released) if k not in BOOK]:
            raise DesignError("no such exercise", where="exercises", value=gone[0], do="choose from the list")
        if self.units not in ("si", "us"):
            raise DesignError("no such unit system", where="units", value=self.units, allowed="si, us", do="choose one")

    def named(self, name: str) -> str:
        """The name as it is on the list, whatever its capitals and spaces; empty where it is not on it."""
        plain = " ".join(name.split()).casefold()
        return next((s for s in self.students if s.casefold() == plain), "")

    def drawn(self, student: str, key: str) -> Any:
        """An exercise with the numbers of one student."""
        return _drawn(key, f"{self.seed}/{student}")

    def folder(self, under: Path) -> Path:
        """Where the files of this class are."""
        return under / f"class-{_slug(self.name)}"

    def write(self, under: Path) -> Path:
        """Write the hand-out and a sheet for each student; no answer is in them.

        Returns
        -------
        Path
            The folder of the class.
        """
        folder = self.folder(under)
        if (old := folder / "hand-out.json").exists():
            before = HandOut.read(old)
            kept = (before.seed, before.units) == (self.seed, self.units)
            if not kept and any(folder.glob("answers-*.json")):
                raise DesignError("answers to other numbers have come back", where=folder.name,
                                  do="give the class another name, or keep its seed and units")
        _written(folder / "hand-out.json", json.dumps({
            "what": "hand-out", "format": _FORMAT, "class": self.name, "students": list(self.students),
            "exercises": list(self.exercises), "units": self.units, "seed": self.seed,
            "released": list(self.released)}, indent=1, ensure_ascii=False))
        for student in self.students:
            _written(folder / f"sheet-{_slug(student)}.html", sheet(self, student))
        return folder

    @staticmethod
    def read(path: Path) -> HandOut:
        """A hand-out from its file."""
        data = _read(Path(path), "hand-out")
        return HandOut(str(data.get("class", "")), tuple(map(str, data.get("students", ()))),
                       tuple(map(str, data.get("exercises", ()))), str(data.get("units", "si")),
                       str(data.get("seed", "")), tuple(map(str, data.get("released", ()))))


@lru_cache(maxsize=512)
def _drawn(key: str, seed: str) -> Any:
    return draw(BOOK[key], seed)


def found(under: Path) -> list[tuple[str, Path]]:
    """Hand-outs in a folder and its class folders: (name of the class, path)."""
    rows = []
    for path in sorted({*under.glob("class-*/hand-out.json"), *under.glob("hand-out*.json")}):
        try:
            rows.append((HandOut.read(path).name, path))
        except DesignError:
            continue
    return rows


class Answers:
    """What one student entered, kept in a file as it is entered.

    Parameters
    ----------
    path : path
    student : str
    of : str, optional
        Name of the class; empty for somebody who works alone.
    """

    def __init__(self, path: Path, student: str, of: str = ""):
        self.path, self.student, self.of = Path(path), student, of
        self.entries: list[dict[str, str]] = []
        if self.path.exists():
            data = _read(self.path, "answers")
            if data.get("student") != student or data.get("class") != of:
                raise DesignError("belongs to another student or class", where=self.path.name,
                                  value=str(data.get("student"))[:40], do="move that file away")
            self.entries = [{"exercise": str(e["exercise"]), "answer": str(e["answer"]), "time": str(e["time"])}
                            for e in data.get("tries", ()) if isinstance(e, Mapping) and {"exercise", "answer",
                                                                                          "time"} <= e.keys()]

    @staticmethod
    def beside(hand_out: Path, of: HandOut, student: str) -> Answers:
        """The answers of a student of a class, beside the hand-out."""
        return Answers(Path(hand_out).parent / f"answers-{_slug(student)}.json", student, of.name)

    @staticmethod
    def alone(folder: Path, student: str) -> Answers:
        """The answers of somebody who works alone."""
        return Answers(Path(folder) / f"answers-{_slug(student)}.json", student)

    def add(self, key: str, answer: str) -> None:
        """Keep one try; when this returns it is on the disk."""
        self.entries.append({"exercise": key, "answer": answer,
                             "time": dt.datetime.now(dt.UTC).isoformat(timespec="seconds")})
        _written(self.path, json.dumps({"what": "answers", "format": _FORMAT, "class": self.of,
                                        "student": self.student, "tries": self.entries}, indent=1,
                                       ensure_ascii=False))

    def tries(self, key: str) -> list[str]:
        """Answers to one exercise, in the order they were given."""
        return [e["answer"] for e in self.entries if e["exercise"] == key]


def results(hand_out: HandOut, folder: Path) -> pd.DataFrame:
    """The class sheet: every student and exercise, judged anew from the answers that came back.

    Parameters
    ----------
    hand_out : HandOut
    folder : Path
        Where the files of answers are.

    Returns
    -------
    DataFrame
        Columns `RESULTS`. ``state`` is *right*, *not yet* or *not tried*; ``tries`` counts answers up to the right
        one; ``mistakes`` are those known by name, each once, in their order.
    """
    import pandas as pd

    back, _ = _back(hand_out, folder)
    rows = []
    for student in hand_out.students:
        for key in hand_out.exercises:
            state, tries, named, last = "not tried", 0, [], ""
            for text in back[student].tries(key) if student in back else ():
                reply = hand_out.drawn(student, key).check(text, hand_out.units)
                if not reply.judged:
                    continue
                tries, last = tries + 1, text
                state = "right" if reply.right else "not yet"
                if reply.mistake:
                    named.append(reply.mistake)
                if reply.right:
                    break
            rows.append({"id": f"{student}/{key}", "student": student, "exercise": key, "state": state,
                         "tries": tries, "mistakes": ", ".join(dict.fromkeys(named)), "last": last})
    return pd.DataFrame(rows, columns=list(RESULTS))


def unread(hand_out: HandOut, folder: Path) -> list[str]:
    """Files of answers that are not in the class sheet, each with the reason; one of them stops none of the others.

    Parameters
    ----------
    hand_out : HandOut
    folder : Path
    """
    return _back(hand_out, folder)[1]


def _back(hand_out: HandOut, folder: Path) -> tuple[dict[str, Answers], list[str]]:
    """Answers by student, and what was left blank."""
    back: dict[str, Answers] = {}
    out = []
    for path in sorted(folder.glob("answers-*.json")):
        try:
            data = _read(path, "answers")
            student, of = str(data.get("student")), str(data.get("class"))
            if of != hand_out.name:
                out.append(f"{path.name} is of the class {of[:40]}")
            elif student not in hand_out.students:
                out.append(f"{path.name} is of {student[:40]}, who is not on the list")
            else:
                one = Answers(path, student, hand_out.name)
                if student not in back or len(one.entries) > len(back[student].entries):
                    back[student] = one
        except DesignError:
            out.append(f"{path.name} cannot be read; ask for it again")
    return back, out


def summary(frame: Any) -> list[dict[str, Any]]:
    """The class sheet by exercise: how many have it right, how many tries it took, which mistakes and whose.

    Parameters
    ----------
    frame : DataFrame
        Of `results`.
    """
    out = []
    for key, some in frame.groupby("exercise", sort=False):
        who: dict[str, list[str]] = {}
        for r in some.to_dict("records"):
            for m in filter(None, r["mistakes"].split(", ")):
                who.setdefault(m, []).append(r["student"])
        tried = some[some["tries"] > 0]
        out.append({"exercise": key, "right": int((some["state"] == "right").sum()), "of": len(some),
                    "tries": float(tried["tries"].mean()) if len(tried) else 0.0,
                    "mistakes": dict(sorted(who.items(), key=lambda kv: -len(kv[1])))})
    return out


def sheet(hand_out: HandOut, student: str) -> str:
    """One student's exercises as a page to print, without answers.

    Parameters
    ----------
    hand_out : HandOut
    student : str
    """
    parts = []
    for n, key in enumerate(hand_out.exercises, 1):
        d, ex = hand_out.drawn(student, key), BOOK[key]
        rows = "".join(f"<tr><td>{escape(t)}</td><td class='n'>{escape(number)}</td><td>{fine(escape(unit))}</td></tr>"
                       for t, _, number, unit in d.parts(hand_out.units))
        some = "".join(f"<p class='o'><b>{escape(mark)}</b> {fine(escape(words))}</p>"
                       for mark, words in d.options(hand_out.units))
        parts.append(f"<section><h2>{n}. {escape(ex.title)} <small>level {ex.level}</small></h2>"
                     f"<p>{escape(ex.text)}</p><table>{rows}</table>{some}<p class='a'>Answer, {escape(d.unit)}: "
                     "<span></span></p></section>")
    title = f"{escape(hand_out.name)}, {escape(student)}"
    head = f"<header><h1>{escape(hand_out.name)}</h1><p>{escape(student)}</p></header>"
    foot = "<footer>All numbers are invented. Local codes and licensed practice decide, not this sheet.</footer>"
    return (f"<!doctype html><html lang='en'><meta charset='utf-8'><title>{title}</title><style>{css()}{_SHEET}</style>"
            f"<body class='desalbook db-paper'>{head}{''.join(parts)}{foot}</body></html>")


_SHEET = """
body{font:11pt/1.45 sans-serif;max-width:46em;margin:2em auto;padding:0 1em;color:#000;background:#fff}
header{display:flex;justify-content:space-between;align-items:baseline;border-bottom:1px solid #888}
h1{font-size:14pt}h2{font-size:11.5pt;margin:1.4em 0 .2em}small{font-weight:normal;color:#444}
section{break-inside:avoid}p{margin:.3em 0}td{padding:.1em .9em .1em 0;text-align:left}
td.n{text-align:right;font-variant-numeric:tabular-nums}.o{margin-left:1.2em}
.a span{display:inline-block;width:14em;border-bottom:1px solid #000}footer{margin-top:2em;color:#444;font-size:9pt}
"""
