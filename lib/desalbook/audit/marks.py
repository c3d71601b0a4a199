"""Review marks: a reviewer accepts, questions or rejects a line, with initials and a note.

A mark is bound to what was looked at: the rule that made the line (equation, constants, units, or library and
data), its source, the ids of its inputs, its unit, and its value. When any of these is no longer what it was,
the mark is stale and says why; it is never dropped and never taken for valid. A value counts as moved beyond
1e-9 relative, so that another computer's rounding does not make marks stale.

In the same file stand the designer's answers to what was questioned, and sign-offs: who ended a review of which
record, by its hash, and what the inputs and verdicts were then, so that the next review can begin with what changed.
"""

from __future__ import annotations

import datetime as dt
import difflib
import hashlib
import json
import math
import os
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from desalbook.audit import marks_file
from desalbook.audit.graph import chapter, differs, scales
from desalbook.audit.page.shown import by_id, shown, units_of
from desalbook.problems import DesignError
from desalbook.trail.seal import content_hash, seal

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["COVERAGE", "QUESTIONS", "ROLES", "SIGNED", "STANDING", "VERDICTS", "Marks", "bound", "carried"]

VERDICTS = {"accept": "accepted", "question": "questioned", "reject": "rejected"}
"""What a reviewer can do with a line, and what the line then is."""
STANDING = ("id", "title", "chapter", "state", "verdict", "by", "note", "time", "stale")
"""Columns of `Marks.standing`."""
COVERAGE = ("id", "lines", "accepted", "questioned", "rejected", "stale", "unmarked", "share")
"""Columns of `Marks.coverage`."""
QUESTIONS = ("id", "title", "verdict", "by", "note", "time", "state", "answers")
"""Columns of `Marks.questions`."""
SIGNED = ("by", "role", "time", "record", "note", "open", "holds", "why")
"""Columns of `Marks.signed`."""
ROLES = {"reviewer": "Reviewer", "second": "Second reviewer"}
"""Who can end a review: the second reviewer is another person than the first."""
_ANSWER, _SIGN = "answer", "sign"
_LONGEST_NOTE, _LONGEST_BY, _LONGEST_NAME = 10_000, 20, 80
_ORDER = ("rejected", "questioned", "accepted")


def bound(line: Mapping[str, Any], record: Mapping[str, Any]) -> dict[str, str]:
    """What a mark is bound to apart from the value: a hash for each thing that may change, by its name."""
    r, m = record["relations"].get(line["relation"]), line["more"]
    rule = [line["sort"], line["relation"], r["hash"] if r else None, m.get("library"), m.get("version"),
            m.get("data"), m.get("checksum"), m.get("method"), m.get("rule"), m.get("table"), m.get("row"),
            m.get("sense")]
    cited = [key for key in (line["source"], r["source"] if r else "") if key]
    source = [line["source"], line["place"], [record["sources"].get(k, {}).get("citation", k) for k in cited]]
    inputs = [sorted(line["inputs"].items()), line["because"]]
    return {
        "equation": _hash(rule),
        "source": _hash(source),
        "inputs": _hash(inputs),
        "unit": _hash([line["unit"], line["kind"], line["axis"], line["keys"]]),
    }


_SAID = {"equation": "its equation or rule changed", "source": "its source changed",
         "inputs": "its inputs changed", "unit": "its unit or axis changed"}


def _hash(stuff: Any) -> str:
    return hashlib.sha256(json.dumps(stuff, sort_keys=True).encode()).hexdigest()[:16]


def _whole(mark: Mapping[str, Any]) -> bool:
    """It says all that a mark says, each in its own form."""
    texts = all(isinstance(mark.get(k), str) for k in ("id", "verdict", "by", "note", "time"))
    value, scale = mark.get("value"), mark.get("scale")
    many = value if isinstance(value, list) else [value]
    return (texts and isinstance(mark.get("bound", {}), dict)
            and all(v is None or isinstance(v, (int, float, str)) for v in many)
            and (scale is None or (isinstance(scale, list) and all(isinstance(v, (int, float)) for v in scale))))


class Marks:
    """The marks kept beside a design file or a record.

    Parameters
    ----------
    beside : path
        The design file, or its record; the marks have a file of their own in the hidden folder beside it, whose
        name is that name and ``.marks``.
    """

    def __init__(self, beside: str | os.PathLike):
        self.path: Path = marks_file.where(beside)

    @property
    def all(self) -> list[dict[str, Any]]:
        """Every mark ever made, oldest first."""
        return [m for m in self._entries if m["verdict"] not in (_ANSWER, _SIGN)]

    @property
    def _entries(self) -> list[dict[str, Any]]:
        return marks_file.read(self.path, _whole)[0]

    @property
    def damaged(self) -> list[int]:
        """Numbers of lines of the file that are no marks: somebody or something changed them."""
        return marks_file.read(self.path, _whole)[1]

    def mark(self, record: Mapping[str, Any], id: str, verdict: str, by: str, note: str = "") -> dict[str, Any]:
        """Accept, question or reject a line as it stands in a record; kept when this returns.

        Parameters
        ----------
        record : mapping
        id : str
            Of a line.
        verdict : {"accept", "question", "reject"}
        by : str
            Initials.
        note : str, optional
            Needed for a question and for a rejection.

        Raises
        ------
        DesignError
            No such line or verdict, no initials, or no note where one is needed.
        Conflict
            Another program holds the file for long.
        """
        if verdict not in VERDICTS:
            raise DesignError("no such verdict", where="mark.verdict", value=verdict, allowed=", ".join(VERDICTS),
                              do="enter one of these")
        by, note = _who(by), _told(note)
        if verdict != "accept" and not note:
            raise DesignError("is missing", where="mark.note", do=f"say why you {verdict} the line")
        lines = by_id(record)
        line = _line(lines, id)
        made = {
            "id": id,
            "verdict": verdict,
            "by": by,
            "note": note,
            "time": _now(),
            "input_hash": record["input_hash"],
            "bound": bound(line, record),
            "value": line["value"],
            "judged": line["more"].get("verdict"),
            "scale": scales(line, lines),
        }
        marks_file.add(self.path, made)
        return made

    def answer(self, record: Mapping[str, Any], id: str, by: str, text: str) -> dict[str, Any]:
        """The designer's answer to what was questioned or rejected; kept when this returns.

        It closes nothing: the reviewer who asked accepts the line when the answer is enough.

        Parameters
        ----------
        record : mapping
        id : str
            Of the line.
        by : str
            Initials.
        text : str

        Raises
        ------
        DesignError
            Nobody asked about that line, no initials, or no text.
        """
        by, text = _who(by), _told(text)
        line = _line(by_id(record), id)
        if not text:
            raise DesignError("is missing", where="answer.text", do="enter the answer")
        if not any(m["id"] == id and m["verdict"] != "accept" for m in self.all):
            raise DesignError("nobody has questioned this line", where="answer.id", value=id,
                              do="choose one of the open questions")
        made = {"id": line["id"], "verdict": _ANSWER, "by": by, "note": text, "time": _now(),
                "input_hash": record["input_hash"]}
        marks_file.add(self.path, made)
        return made

    def questions(self, record: Mapping[str, Any]) -> pd.DataFrame:
        """What reviewers asked, with the answers given since, open ones first.

        Returns
        -------
        pandas.DataFrame
            Columns `QUESTIONS`, one row for each reviewer and line. ``state`` is *open* (nobody answered), *answered*
            (the reviewer has not said whether that is enough) or *closed* (the reviewer accepted the line since);
            ``answers`` lists pairs of initials and text.
        """
        import pandas as pd

        lines = by_id(record)
        found: dict[tuple[str, str], dict[str, Any]] = {}
        for m in self._entries:
            if m["verdict"] == _ANSWER:
                for (id, _), row in found.items():
                    if id == m["id"] and row["state"] != "closed":
                        row["answers"] = (*row["answers"], (m["by"], m["note"]))
                        row["state"] = "answered"
            elif m["verdict"] in ("question", "reject"):
                title = lines[m["id"]]["title"] if m["id"] in lines else ""
                found[m["id"], m["by"]] = {"id": m["id"], "title": title, "verdict": VERDICTS[m["verdict"]],
                                           "by": m["by"], "note": m["note"], "time": m["time"], "state": "open",
                                           "answers": ()}
            elif m["verdict"] == "accept" and (row := found.get((m["id"], m["by"]))):
                row["state"] = "closed"
        order = ("open", "answered", "closed")
        rows = sorted(found.values(), key=lambda r: order.index(r["state"]))
        return pd.DataFrame(rows, columns=list(QUESTIONS))

    def sign(self, record: Mapping[str, Any], by: str, role: str = "reviewer", note: str = "") -> dict[str, Any]:
        """End a review: name, date and the hash of the record that was reviewed; kept when this returns.

        Parameters
        ----------
        record : mapping
        by : str
            Full name.
        role : {"reviewer", "second"}
            A second reviewer signs a record that another person has signed, and is not that person.
        note : str, optional
            Needed while something is open: a question without an end, a stale mark, a check that fails.

        Raises
        ------
        DesignError
            No name or role, nothing was marked, something is open and no remark says why that is accepted.
        """
        by, note = " ".join(by.split()), _told(note)
        if len(by.split()) < 2 or len(by) > _LONGEST_NAME:
            raise DesignError("is no full name", where="sign.by", value=by[:40],
                              allowed=f"first and last name, up to {_LONGEST_NAME} characters",
                              do="enter the full name")
        if role not in ROLES:
            raise DesignError("no such role", where="sign.role", value=role, allowed=", ".join(ROLES),
                              do="use one of these")
        now = content_hash(record) or seal(record)["content"]
        first = [s for s in self._entries if s["verdict"] == _SIGN and s.get("record") == now]
        if role == "second" and not any(s.get("role") == "reviewer" for s in first):
            raise DesignError("comes after the reviewer", where="sign.role", value=ROLES[role],
                              do="let the reviewer sign this calculation first")
        if role == "second" and any(s["by"].lower() == by.lower() for s in first):
            raise DesignError("has signed already", where="sign.by", value=by, do="let another person look as well")
        if not self.all:
            raise DesignError("no line is marked", where="sign", do="review the plan first")
        left = self.left_open(record)
        if left and not note:
            raise DesignError(f"still open: {', '.join(left)}", where="sign.note",
                              do="close them, or enter a remark that says why they are accepted")
        made = {
            "id": "", "verdict": _SIGN, "by": by, "role": role, "note": note, "time": _now(),
            "input_hash": record["input_hash"], "record": now, "open": left,
            "inputs": {x["id"]: x["value"] for x in record["lines"] if x["sort"] in ("given", "assumed")},
            "verdicts": {x["id"]: x["more"]["verdict"] for x in record["lines"] if x["sort"] == "checked"},
        }
        marks_file.add(self.path, made)
        return made

    def left_open(self, record: Mapping[str, Any]) -> list[str]:
        """What stands against ending the review, in words: questions, stale marks, checks that fail."""
        asked = sum(q["state"] != "closed" for q in self.questions(record).to_dict("records"))
        stale = sum(m["state"] == "stale" for m in self.standing(record).to_dict("records"))
        fails = sum(x["more"].get("verdict") == "fails" for x in record["lines"] if x["sort"] == "checked")
        counts = ((asked, "question"), (stale, "stale mark"), (fails, "failing check"))
        return [f"{n} {what}{'' if n == 1 else 's'}" for n, what in counts if n]

    def signed(self, record: Mapping[str, Any]) -> pd.DataFrame:
        """Sign-offs, the latest last, each with whether it is of this very calculation.

        Returns
        -------
        pandas.DataFrame
            Columns `SIGNED`; ``record`` is the hash that was signed, ``why`` says what is different since.
        """
        import pandas as pd

        now = content_hash(record) or seal(record)["content"]
        rows = []
        for s in self._entries:
            if s["verdict"] == _SIGN:
                same = s.get("record") == now
                why = "" if same else ("the design changed since" if s.get("input_hash") != record["input_hash"]
                                       else "the kit or its data changed since")
                rows.append({"by": s["by"], "role": s.get("role", "reviewer"), "time": s["time"],
                             "record": str(s.get("record", "")), "note": s["note"], "open": tuple(s.get("open", ())),
                             "holds": same, "why": why})
        return pd.DataFrame(rows, columns=list(SIGNED))

    def last_signed(self) -> dict[str, Any] | None:
        """The latest sign-off with the inputs and verdicts of its record; None before the first."""
        return next((s for s in reversed(self._entries) if s["verdict"] == _SIGN), None)

    def standing(self, record: Mapping[str, Any], units: str = "si") -> pd.DataFrame:
        """The marks against a record: the last of each reviewer on each line.

        Returns
        -------
        pandas.DataFrame
            Columns `STANDING`. ``state`` is accepted, questioned, rejected or stale; ``verdict`` what the
            reviewer said; ``stale`` why a mark no longer holds. Lines of the record first, in its order.
        """
        import pandas as pd

        units_of(units)
        lines = by_id(record)
        last: dict[tuple[str, str], dict[str, Any]] = {}
        for m in self.all:
            last[m["id"], m["by"]] = m
        place = {id: n for n, id in enumerate(lines)}
        rows = []
        for (id, by), m in sorted(last.items(), key=lambda kv: (place.get(kv[0][0], math.inf), kv[0])):
            why = _stale(m, lines.get(id), record, units)
            said = VERDICTS.get(m["verdict"], "stale")
            rows.append({"id": id, "title": lines[id]["title"] if id in lines else "", "chapter": chapter(id),
                         "state": "stale" if why else said, "verdict": said, "by": by, "note": m["note"],
                         "time": m["time"], "stale": why})
        return pd.DataFrame(rows, columns=list(STANDING))

    def states(self, record: Mapping[str, Any]) -> dict[str, str]:
        """State of each line: the gravest valid mark; stale when it has only stale ones; unmarked."""
        found: dict[str, str] = {x["id"]: "unmarked" for x in record["lines"]}
        frame = self.standing(record)
        for state in ("stale", *reversed(_ORDER)):  # a graver state comes later and stays
            for id in frame.loc[frame["state"] == state, "id"]:
                if id in found:
                    found[id] = state
        return found

    def coverage(self, record: Mapping[str, Any]) -> pd.DataFrame:
        """How far the review has come, by chapter, with a last row for all.

        Returns
        -------
        pandas.DataFrame
            Columns `COVERAGE`; ``id`` is the chapter, ``share`` the part of its lines with a valid mark.
        """
        import pandas as pd

        counts: dict[str, dict[str, int]] = {}
        for id, state in self.states(record).items():
            for part in (chapter(id), "all"):
                one = counts.setdefault(part, dict.fromkeys(COVERAGE[1:-1], 0))
                one["lines"] += 1
                one[state] += 1
        counts["all"] = counts.pop("all", dict.fromkeys(COVERAGE[1:-1], 0))
        rows = []
        for part, one in counts.items():
            valid = one["accepted"] + one["questioned"] + one["rejected"]
            rows.append({"id": part, **one, "share": valid / one["lines"] if one["lines"] else 0.0})
        return pd.DataFrame(rows, columns=list(COVERAGE))


def carried(record: Mapping[str, Any], marks: Marks) -> Mapping[str, Any]:
    """The record with the marks as they stand against it, under a seal of its own; itself where there are none.

    Parameters
    ----------
    record : mapping
    marks : Marks
    """
    rows = marks.standing(record).to_dict("records")
    for q in marks.questions(record).to_dict("records"):
        rows += [{"id": q["id"], "title": q["title"], "chapter": chapter(q["id"]), "state": "answered",
                  "verdict": _ANSWER, "by": by, "note": text, "time": q["time"], "stale": ""}
                 for by, text in q["answers"]]
    for s in marks.signed(record).to_dict("records"):
        note = f"{ROLES.get(s['role'], s['role'])} of the record {s['record'][:16]}" + (
            f"; open then: {', '.join(s['open'])}" if s["open"] else "") + (f"; {s['note']}" if s["note"] else "")
        rows.append({"id": "", "title": "The whole calculation", "chapter": "", "state": "signed", "verdict": _SIGN,
                     "by": s["by"], "note": note, "time": s["time"], "stale": s["why"]})
    if not rows:
        return record
    made = {**record, "marks": [{k: str(row[k]) for k in STANDING} for row in rows]}
    made["seal"] = seal(made)
    return made


def _now() -> str:
    return dt.datetime.now(dt.UTC).isoformat(timespec="seconds")


def _who(by: str) -> str:
    by = " ".join(by.split())
    if not by or len(by) > _LONGEST_BY:
        raise DesignError("must be the initials of a reviewer", where="mark.by", value=by[:40],
                          allowed=f"1 to {_LONGEST_BY} characters", do="give initials")
    return by


def _told(note: str) -> str:
    note = note.strip()
    if len(note) > _LONGEST_NOTE:
        raise DesignError("is too long", where="mark.note", value=f"{len(note)} characters",
                          allowed=f"up to {_LONGEST_NOTE}", do="shorten the note")
    return note


def _line(lines: Mapping[str, Mapping[str, Any]], id: str) -> Mapping[str, Any]:
    if id not in lines:
        like = difflib.get_close_matches(id, lines, 1, 0.5)
        raise DesignError("the record has no such line", where="mark.id", value=id,
                          do=f"did you mean {like[0]}? Give the id of one line" if like
                          else "the table of the trail lists all ids")
    return lines[id]


def _stale(mark: Mapping[str, Any], line: Mapping[str, Any] | None, record: Mapping[str, Any], units: str) -> str:
    """Why a mark no longer holds; empty when it does."""
    if line is None:
        return "the line is not in this record"
    was, now = mark.get("bound", {}), bound(line, record)
    why = [said for part, said in _SAID.items() if was.get(part) != now[part]]
    old, new = mark.get("value"), line["value"]
    if was.get("unit") == now["unit"]:
        moved = differs(old, new, mark.get("scale") if isinstance(new, (float, int, list)) else None)
        if moved and isinstance(new, (int, float)) and isinstance(old, (int, float)):
            why.append(f"its value moved from {shown(old, line['kind'], units, record)}"
                       f" to {shown(new, line['kind'], units, record)} ({moved * 100:.2g} %)")
        elif moved:
            why.append("its value changed")
    if mark.get("judged") != line["more"].get("verdict"):
        why.append(f"its verdict was {mark.get('judged')}, is {line['more'].get('verdict')}")
    return "; ".join(why)
