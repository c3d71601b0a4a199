"""The trail as a table."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

from desalbook.audit.page.shown import display, label, si_unit, units_of
from desalbook.trail import symbols

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["COLUMNS", "rows_of", "table"]

COLUMNS = (
    "id",
    "title",
    "symbol",
    "value_si",
    "unit_si",
    "value",
    "unit",
    "text",
    "kind",
    "sort",
    "scope",
    "count",
    "corner",
    "axis",
    "key",
    "source",
    "place",
    "relation",
    "inputs",
    "because",
    "verdict",
    "margin",
    "cautions",
    "note",
)


def table(record: Mapping[str, Any], units: str = "si") -> pd.DataFrame:
    """One row for each number of the trail.

    Parameters
    ----------
    record : mapping
    units : {"si", "us"}
        Display set of ``value`` and ``unit``.

    Returns
    -------
    pandas.DataFrame
        Columns `COLUMNS`. A line along an axis has one row for each key, whose id ends in ``[key]``. A
        choice has its text in ``text`` and no number. ``inputs`` and ``because`` list ids.
    """
    return rows_of(record, record["lines"], units)


def rows_of(record: Mapping[str, Any], lines: Iterable[Mapping[str, Any]], units: str) -> pd.DataFrame:
    """The table of some lines of a record, in the order they come."""
    import pandas as pd

    units_of(units)
    rows = [row for line in lines for row in _rows(line, units, record)]
    frame = pd.DataFrame(rows, columns=list(COLUMNS))
    frame["count"] = frame["count"].astype("Int64")
    for name in ("value_si", "value", "margin"):
        frame[name] = frame[name].astype(float)
    return frame


def _rows(line: Mapping[str, Any], units: str, record: Mapping[str, Any]):
    value, keys = line["value"], line["keys"]
    entries = [(None, value)] if keys is None else list(zip(keys, value, strict=True))
    more = line["more"]
    for key, v in entries:
        number = isinstance(v, (int, float))
        yield {
            "id": line["id"] if key is None else f"{line['id']}[{key}]",
            "title": line["title"],
            "symbol": symbols.text(line["symbol"], key) if line["symbol"] else "",
            "value_si": v if number else None,
            "unit_si": si_unit(line["kind"], record) if number else "",
            "value": display(v, line["kind"], units, record) if number else None,
            "unit": label(line["kind"], units, record) if number else "",
            "text": v if isinstance(v, str) else more.get("text", ""),
            "kind": line["kind"] or "",
            "sort": line["sort"],
            "scope": line["scope"],
            "count": line["count"],
            "corner": line["corner"] or "",
            "axis": line["axis"] or "",
            "key": key or "",
            "source": line["source"],
            "place": line["place"],
            "relation": line["relation"] or "",
            "inputs": _ids(line["inputs"].values()),
            "because": _ids(line["because"]),
            "verdict": more.get("verdict", ""),
            "margin": more.get("margin"),
            "cautions": "; ".join(line["cautions"]),
            "note": line["note"],
        }


def _ids(refs) -> str:
    return " ".join(r if isinstance(r, str) else f"{r[0]}[{r[1]}]" for r in refs)
