"""The compliance matrix: a client's list against the design, line by line, and by how much it deviates.

A list is a table of CSV or a spreadsheet with the columns requirement, value and unit, and perhaps clause. A line is
found by its words (table ``client_requirements``), by the title of a value, or by its id. What the design does not
answer asks for clarification: it is never counted as complied with.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

from desalbook.design.sheets import table_rows
from desalbook.pack.document import Block, Cell, Column, Document, Heading, Paragraph, Table, Value
from desalbook.pack.materials import metals
from desalbook.pack.plant_source import Source, plural
from desalbook.pack.pressure_parts import parts_under_test
from desalbook.problems import DesignError
from desalbook.tables import table
from desalbook.units import parse

__all__ = ["CLARIFY", "COMPLIES", "DEVIATES", "Line", "Requirement", "answers_to", "compared", "compliance", "matrix",
           "read_list", "sentence_of"]

COMPLIES, DEVIATES, CLARIFY = "complies", "deviates", "clarify"
_HEADS = {"clause": "clause", "no": "clause", "no.": "clause", "item": "clause", "requirement": "requirement",
          "value": "value", "required": "value", "unit": "unit", "units": "unit"}
_MAX = re.compile(r"^(?:<=|≤|<|max(?:imum)?\.?|at most|up to|not more than|no more than)\s*", re.I)
_MIN = re.compile(r"^(?:>=|≥|>|min(?:imum)?\.?|at least|from|not less than|no less than)\s*", re.I)
_RANGE = re.compile(r"^(\S+)\s+(?:to|–|-)\s+(\S+)$")
_YES = {"yes": True, "required": True, "no": False, "not required": False, "none": False}
_SAME = 1e-6  # a requirement is written with few digits


@dataclass(frozen=True)
class Requirement:
    """A line of the client's list, as written."""

    row: int
    clause: str
    text: str
    value: str
    unit: str


@dataclass(frozen=True)
class Line:
    """A requirement and what the design says of it.

    Parameters
    ----------
    of : Requirement
    offered : Value, str or None
    verdict : str
        ``complies``, ``deviates`` or ``clarify``.
    by : str
        By how much it deviates, in the unit shown and in per cent; why it asks for clarification.
    where : str
        Document and id that show it.
    """

    of: Requirement
    offered: Cell
    verdict: str
    by: str
    where: str


def read_list(path: str | Path) -> list[Requirement]:
    """Requirements of a CSV or spreadsheet file.

    Raises
    ------
    DesignError
        No columns requirement and value, or a file that is no table.
    """
    path = Path(path)
    rows = table_rows(path)
    heads: list[str] = []
    below = 0
    for below, row in enumerate(rows, 1):  # noqa: B007, read after the loop
        heads = [_HEADS.get(cell.strip().lower(), "") for cell in row]
        if "requirement" in heads and "value" in heads:
            break
    else:
        raise DesignError("has no columns requirement and value", where=path.name,
                          do="name them in the first line: clause, requirement, value, unit")
    found = []
    for k, row in enumerate(rows[below:], below + 1):
        cells = dict(zip(heads, (c.strip() for c in row), strict=False))
        if cells.get("requirement"):
            found.append(Requirement(k, cells.get("clause", "") or str(len(found) + 1), cells["requirement"],
                                     cells.get("value", ""), cells.get("unit", "")))
    if not found:
        raise DesignError("has no requirement", where=path.name, do="add a line below the heads")
    return found


class _Answers:
    """What the design answers to a requirement."""

    def __init__(self, of: Source):
        self.of = of

    @cached_property
    def _words(self) -> dict[str, str]:
        return {_plain(word): key for key, row in table("client_requirements").items()
                for word in (row.title, *row["words"].value.split(";"))}

    def find(self, text: str) -> tuple[str, str, str]:
        """What is read, in which sense, and in which document: empty where nothing is known of it."""
        plain = _plain(text)
        if (key := self._words.get(plain)) is not None:
            row = table("client_requirements").row(key, "compliance")
            return row["read"].value, row["sense"].value, row["where"].value
        if text in self.of.ids:
            return f"id:{text}", "=", "record"
        return "", "", ""

    def offered(self, read: str) -> Cell:
        """Value, text or yes and no; None where this plant has none."""
        what, _, name = read.partition(":")
        return getattr(self, f"_{what}")(name)

    def _id(self, name: str) -> Cell:
        unit = name.partition(".")[0]
        if name not in self.of.ids or (unit in table("equipment") and not self.of.has(unit)):
            return None
        found = self.of.plant[name]
        return str(found) if isinstance(found, str) else self.of.value(name)

    def _guarantee(self, key: str) -> Cell:
        return next((Value(float(r["guaranteed"]), r["kind"]) for r in self.of.sized.guarantees if r["key"] == key),
                    None)

    def _standby(self, key: str) -> Cell:
        return Value(float(self.of.by_key[key]["standby"]), "count") if key in self.of.by_key else None

    def _has(self, key: str) -> Cell:
        return "yes" if self.of.has(key) else "no"

    def _choice(self, id: str) -> Cell:
        return self.of.option(id) if id in self.of.ids else None

    def _material(self, run: str) -> Cell:
        title = next((x["title"] for x in self.of.lines if x["key"] == run), None)
        row = next((r for r in metals(self.of).rows if r["run"] == title), None)
        return None if row is None else f"{row['metal']}, {row.get('alloy', '')}".rstrip(", ")

    def _pren(self, run: str) -> Cell:
        title = next((x["title"] for x in self.of.lines if x["key"] == run), None)
        row = next((r for r in metals(self.of).rows if r["run"] == title), None)
        number = None if row is None else row.get("smallest")
        return None if not isinstance(number, float) else Value(number, "factor")

    def _test(self, part: str) -> Cell:
        row = next((r for r in parts_under_test(self.of).rows if r["part"] == part), None)
        test, design = (None, None) if row is None else (row.get("test"), row.get("design"))
        return Value(test / design, "factor") if isinstance(test, float) and isinstance(design, float) else None

    def _power(self, _: str) -> Cell:
        return Value(float(self.of.sized.power.voltage), "voltage")


def _plain(text: str) -> str:
    return " ".join(re.sub(r"[^\w,/-]+", " ", text.lower()).split()).rstrip(" ,")


def compared(of: Source, wanted: Sequence[Requirement]) -> list[Line]:
    """Each requirement against the design.

    Raises
    ------
    DesignError
        A value that cannot be read in its unit, naming the line of the file.
    """
    answers = _Answers(of)
    return [_line(of, answers, w) for w in wanted]


def _line(of: Source, answers: _Answers, w: Requirement) -> Line:
    read, sense, where = answers.find(w.text)
    if not read:
        return Line(w, None, CLARIFY, "the design does not say", "")
    at = f"document {where}" if where != "record" else w.text
    offered = answers.offered(read)
    if offered is None:
        return Line(w, None, CLARIFY, "this plant has no such value", at)
    if isinstance(offered, Value):
        return _number(of, w, offered, sense, at)
    return _text(w, str(offered), at, read)


def _text(w: Requirement, offered: str, at: str, read: str) -> Line:
    asked = w.value.strip().lower()
    if read.startswith("has:") and asked in _YES:
        good = _YES[asked] == (offered == "yes") or not _YES[asked]
        return Line(w, offered, COMPLIES if good else DEVIATES, "" if good else f"{offered}, asked {w.value}", at)
    good = bool(asked) and (asked in offered.lower() or all(word in offered.lower() for word in asked.split()))
    return Line(w, offered, COMPLIES if good else DEVIATES, "" if good else f"{offered}, asked {w.value}", at)


def _number(of: Source, w: Requirement, offered: Value, sense: str, at: str) -> Line:
    text = w.value
    if (both := _RANGE.match(text)) is not None:
        ends = [_read(part, w, offered.kind) for part in both.groups()]
        low, high = min(ends), max(ends)
    elif _MAX.match(text):
        low, high = -math.inf, _read(_MAX.sub("", text), w, offered.kind)
    elif _MIN.match(text):
        low, high = _read(_MIN.sub("", text), w, offered.kind), math.inf
    else:
        one = _read(text, w, offered.kind)
        low, high = {"≥": (one, math.inf), "≤": (-math.inf, one), "=": (one, one)}[sense]
    room = _SAME * max(abs(x) for x in (low, high, offered.value) if math.isfinite(x))
    over = max(low - offered.value, offered.value - high)
    if over <= room:
        return Line(w, offered, COMPLIES, "", at)
    limit = low if offered.value < low else high
    side = "below" if offered.value < low else "above"
    gap = _gap(of, offered, limit)
    relative = limit and offered.kind != "temperature"
    percent = f" ({100 * abs(offered.value - limit) / abs(limit):.3g} %)" if relative else ""
    return Line(w, offered, DEVIATES, f"{gap} {side}{percent}", at)


def _gap(of: Source, offered: Value, limit: float) -> str:
    kind = {"temperature": "temperature difference", "gauge pressure": "pressure difference",
            "absolute pressure": "pressure difference"}.get(offered.kind, offered.kind)
    return Value(abs(offered.value - limit), kind, 3).text(of.units)


def _read(text: str, w: Requirement, kind: str) -> float:
    where = f"line {w.row}, {w.text}"
    text = text.strip()
    if kind in ("count", "factor", "ph.nbs", "ph.total", "fouling index", "index"):
        return parse(text, kind, where)
    return parse(text if not w.unit or w.unit in text else f"{text} {w.unit}", kind, where)


_CLIENT = ("clause", "text", "asked")
"""Columns with the client's own words."""


def compliance(of: Source, lines: Sequence[Line]) -> Document:
    """The matrix as a document: what deviates first, then every line."""
    counts = {v: sum(x.verdict == v for x in lines) for v in (COMPLIES, DEVIATES, CLARIFY)}
    columns = (Column("clause", "Clause", width=0.7), Column("text", "Requirement", width=2.6),
               Column("asked", "Asked", width=1.2), Column("offered", "Offered", width=1.6),
               Column("verdict", "Result", width=0.8), Column("by", "By how much, why", width=1.8),
               Column("where", "Where", width=1.1))
    rows: list[Mapping[str, Cell]] = [
        {"clause": x.of.clause, "text": x.of.text, "asked": f"{x.of.value} {x.of.unit}".strip(), "offered": x.offered,
         "verdict": x.verdict, "by": x.by, "where": x.where} for x in lines]
    blocks: list[Block] = [Paragraph(
        f"{plural(len(lines), 'requirement')} of the client: {counts[COMPLIES]} complied with, {counts[DEVIATES]} "
        f"deviate, {counts[CLARIFY]} to clarify. Offered is what is guaranteed where the quantity is guaranteed.")]
    for verdict, title in ((DEVIATES, "Deviations"), (CLARIFY, "To clarify")):
        some = [r for r in rows if r["verdict"] == verdict]
        if some:
            blocks += [Heading(title), Table(title, columns, some, ("clause", "text"), quoted=_CLIENT)]
    blocks += [Heading("All requirements"),
               Table("All requirements", columns, rows, ("clause", "text"), quoted=_CLIENT)]
    return Document("compliance", "004", "Compliance matrix", blocks, wide=True, group="Offer")


def sentence_of(lines: Sequence[Line]) -> str:
    """The deviations as the offer repeats them."""
    off = [x for x in lines if x.verdict == DEVIATES]
    ask = sum(x.verdict == CLARIFY for x in lines)
    more = f" {plural(ask, 'requirement')} {'is' if ask == 1 else 'are'} to be clarified." if ask else ""
    if not off:
        return f"The design complies with all requirements of the client's list that it answers (document 004).{more}"
    said = "; ".join(f"{x.of.clause} {x.of.text}: {x.by}" for x in off)
    verb = "deviates" if len(off) == 1 else "deviate"
    return f"{plural(len(off), 'requirement')} of the client's list {verb} (document 004): {said}.{more}"


def matrix(of: Source) -> Document | None:
    """The matrix of the client's list; None where there is none."""
    return None if of.requirements is None else compliance(of, answers_to(of, of.requirements))


def answers_to(of: Source, path: Any) -> list[Line]:
    """The lines of a file against a plant."""
    return compared(of, read_list(path))
