"""The plan of a review: what a reviewer looks at first, what is done of it, and what changed since the last review.

Nothing is judged here. What does not pass, what nobody confirmed and what has no published source comes from
`audit.doubt`; what changed comes from the inputs and verdicts that the last sign-off kept, and from stale marks.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from desalbook.audit.chapters import in_process_order
from desalbook.audit.doubt import GROUPS, doubt
from desalbook.audit.graph import differs
from desalbook.audit.marks import Marks
from desalbook.audit.page.shown import by_id, shown
from desalbook.trail.systems import plural
from desalbook.trail.words import part_words, verdict_words

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["PLAN", "PLAN_COLUMNS", "plan", "progress"]

PLAN = {
    "check": "What does not pass",
    "assumed": "Unconfirmed defaults, those that most checks rest on first",
    "source": "Values without a published source",
    "changed": "What changed since the last review",
    **{k: v for k, v in GROUPS.items() if k in ("range", "limit", "gap", "balance", "residual")},
}
"""Groups of a plan in the order they are read, with their headings."""
PLAN_COLUMNS = ("id", "group", "title", "what", "state")
"""Columns of `plan`: ``state`` is that of the line's marks, or *unmarked*."""


def plan(record: Mapping[str, Any], marks: Marks | None = None, units: str = "si",
         doubts: pd.DataFrame | None = None) -> pd.DataFrame:
    """What to look at, in the order of `PLAN`, within a group the gravest first.

    Parameters
    ----------
    record : mapping
    marks : Marks, optional
        Those beside the design; without them nothing is judged yet.
    units : {"si", "us"}
    doubts : DataFrame, optional
        Of `audit.doubt` for this record and these units, where somebody has it already: marks do not change it.

    Returns
    -------
    pandas.DataFrame
        Columns `PLAN_COLUMNS`. ``id`` is a line of the record, but for balances, which name a place.
    """
    import pandas as pd

    states = marks.states(record) if marks is not None else {}
    lines = by_id(record)
    rows = [{"id": r["id"], "group": r["group"], "title": r["title"], "what": _what(r, lines.get(r["id"]))}
            for r in (doubt(record, units) if doubts is None else doubts).to_dict("records")]
    rows += [] if marks is None else _changed(record, marks, units)
    order = list(PLAN)
    rows.sort(key=lambda r: order.index(r["group"]))
    for r in rows:
        r["state"] = states.get(r["id"], "unmarked")
    return pd.DataFrame(rows, columns=list(PLAN_COLUMNS))


def _what(row: Mapping[str, Any], line: Mapping[str, Any] | None) -> str:
    """What is to be looked at, with what rests on it or how many lines share it."""
    said, n = str(row["what"]), row["lines"]
    if row["group"] == "check" and line is not None:
        m = line["more"]
        return verdict_words(m["verdict"], m.get("margin")) + (f": {m['why']}" if m.get("why") else "")
    if row["group"] == "assumed" and row["checks"]:
        return f"{said}; {plural(row['checks'], 'check rests', 'checks rest')} on it"
    if row["group"] == "source" and line is not None and row["title"] != line["title"]:
        return f"{said}; " + (f"{n} lines, such as {line['title']}" if n > 1 else line["title"])
    return f"{said}; {n} lines" if n > 1 and row["group"] in ("source", "range", "gap") else said


def _changed(record: Mapping[str, Any], marks: Marks, units: str) -> list[dict[str, Any]]:
    """Inputs and verdicts that are not those of the last sign-off, and marks that no longer hold."""
    lines, rows = by_id(record), []

    def row(id: str, what: str) -> None:
        rows.append({"id": id, "group": "changed", "title": lines[id]["title"] if id in lines else id, "what": what})

    for m in marks.standing(record, units).to_dict("records"):
        if m["state"] == "stale":
            row(m["id"], f"{m['verdict']} by {m['by']}: {m['stale']}")
    last = marks.last_signed()
    if last is None:
        return rows
    was, judged = last.get("inputs", {}), last.get("verdicts", {})
    for id, old in was.items():
        x = lines.get(id)
        if x is None or x["sort"] not in ("given", "assumed"):
            row(id, "was an input, is none now")
        elif differs(old, x["value"]):
            row(id, f"was {_words(old, x, units, record)}, is {_words(x['value'], x, units, record)}")
    for id, x in lines.items():
        if x["sort"] in ("given", "assumed") and id not in was:
            row(id, f"a new input, {_words(x['value'], x, units, record)}")
        elif x["sort"] == "checked" and judged.get(id) != x["more"]["verdict"]:
            row(id, f"was {judged[id]}, {x['more']['verdict']} now" if id in judged else "a new check")
    return rows


def _words(value: Any, line: Mapping[str, Any], units: str, record: Mapping[str, Any]) -> str:
    return f"{len(value)} values" if isinstance(value, list) else shown(value, line["kind"], units, record)


def progress(record: Mapping[str, Any], marks: Marks) -> list[dict[str, Any]]:
    """How far a review has come, by chapter in the order of the water, with a last row for all.

    Returns
    -------
    list of dict
        Rows of `Marks.coverage` with ``title``, the chapter in words, and ``judged``, its lines with a valid mark.
    """
    rows = {r["id"]: r for r in marks.coverage(record).to_dict("records")}
    whole = rows.pop("all")
    made = [rows[part] | {"title": part_words(part)} for part in in_process_order(rows)]
    return [r | {"judged": r["accepted"] + r["questioned"] + r["rejected"]}
            for r in (*made, whole | {"title": "The whole calculation"})]
