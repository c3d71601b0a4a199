"""Review priorities: everything in a record that a careful reader would look at twice, gathered by rule.

Nothing here is judged anew. A line is listed because of what it says of itself: that nobody wrote it, that it
lies outside its relation's range, where it comes from, how well its equation was solved, how much room is left.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from desalbook.audit.graph import children, descendants, id_of
from desalbook.audit.page.shown import by_id, shown, tiny, units_of
from desalbook.trail.words import share

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["CLOSURES", "COLUMNS", "GROUPS", "closures", "doubt"]

GROUPS = {
    "check": "Failed, marginal and flagged checks",
    "range": "Outside the range of a relation, or unusual",
    "balance": "Balances",
    "residual": "Solver residuals",
    "gap": "Limitations of the chemistry and property engines",
    "limit": "Guideline limits overridden by the designer",
    "source": "Values without a published source",
    "assumed": "Unconfirmed defaults",
}
"""Groups in the order they are read, with their headings."""
COLUMNS = ("id", "group", "title", "what", "weight", "checks", "lines")
"""Columns of `doubt`: ``weight`` sorts within a group, ``checks`` counts the checks that rest on the line."""
CLOSURES = ("id", "component", "into", "out", "difference", "relative")
"""Columns of `closures`."""
_RANK = {"fails": 3.0, "review": 2.0, "marginal": 1.0}
_SOFT = ("common practice", "from memory")
_MEMORY = re.compile(r"\bfrom memory\b|\bcommon practice\b", re.I)
_BALANCED = re.compile(r"(.+)_(kg|mol)_s\Z")


def closures(record: Mapping[str, Any]) -> pd.DataFrame:
    """Balances round every place that streams enter and leave, summed from the streams alone.

    Returns
    -------
    pandas.DataFrame
        Columns `CLOSURES`; ``id`` is the place, ``component`` what is balanced (kg/s or mol/s), ``relative``
        the difference as a fraction of what comes in. Empty when the record holds no streams.
    """
    import pandas as pd

    rows = []
    # a chemical has its own mass, of the whole plant, and no water of its own
    streams = [s for s in record.get("streams") or [] if not isinstance(s.get("chemical_kg_s"), (int, float))]
    places = dict.fromkeys(s["to"] for s in streams if any(o["from"] == s["to"] for o in streams))
    for place in places:
        into, out = ([s for s in streams if s[end] == place] for end in ("to", "from"))
        names = dict.fromkeys(k for s in (*into, *out) for k in s if _BALANCED.match(k))
        for name in names:
            if not all(isinstance(s.get(name), (int, float)) for s in (*into, *out)):
                continue
            a, b = (sum(s[name] for s in some) for some in (into, out))
            size = max(abs(a), abs(b), max((abs(s[name]) for s in into), default=0.0))
            rows.append({"id": place, "component": name.removesuffix("_s").replace("_", ", "), "into": a, "out": b,
                         "difference": a - b, "relative": abs(a - b) / size if size else 0.0})
    return pd.DataFrame(rows, columns=list(CLOSURES))


def doubt(record: Mapping[str, Any], units: str = "si", confirmed: Mapping[str, str] | None = None) -> pd.DataFrame:
    """Everything to be looked at twice.

    Parameters
    ----------
    record : mapping
    units : {"si", "us"}
    confirmed : mapping, optional
        State of each line as `Marks.states` gives it; an assumed value that a reviewer accepted is confirmed.

    Returns
    -------
    pandas.DataFrame
        Columns `COLUMNS`, in the order of `GROUPS`, within a group the gravest first.
    """
    import pandas as pd

    units_of(units)
    rows = [*_checks(record), *_ranges(record), *_balances(record), *_residuals(record), *_gaps(record),
            *_limits(record, units), *_soft(record), *_assumed(record, units, confirmed or {})]
    judged = {x["id"] for x in record["lines"] if x["sort"] == "checked"}
    below = children(record["lines"])
    for row in rows:
        row["checks"] = len(descendants([row["id"]], below) & judged) if row["group"] in ("assumed", "range",
                                                                                          "limit") else 0
        if row["group"] == "assumed":
            row["weight"] = float(row["checks"])
    order = list(GROUPS)
    rows.sort(key=lambda r: (order.index(r["group"]), -r["weight"]))
    return pd.DataFrame(rows, columns=list(COLUMNS))


def _row(group: str, id: str, title: str, what: str, weight: float = 0.0, lines: int = 1) -> dict[str, Any]:
    return {"id": id, "group": group, "title": title, "what": what, "weight": weight, "checks": 0, "lines": lines}


def _title(x: Mapping[str, Any]) -> str:
    return (x["title"] or x["id"]) + (f" at {x['corner']}" if x["corner"] else "")


def _checks(record: Mapping[str, Any]) -> list[dict[str, Any]]:
    rows = []
    for x in record["lines"]:
        m = x["more"]
        if x["sort"] != "checked" or m["verdict"] not in _RANK:
            continue
        margin = m.get("margin")
        if margin is None:
            said = f"{m['verdict']}: {m.get('why', '')}"
        elif m["verdict"] == "fails":
            said = f"fails by {share(abs(margin))}"
        else:
            said = f"margin {share(margin)}"
        weight = _RANK[m["verdict"]] - min(max(margin or 0.0, -0.9), 0.9)
        rows.append(_row("check", x["id"], _title(x), said, weight))
    return rows


def _ranges(record: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Cautions that lines carry; the same one in several cases once."""
    found: dict[tuple, dict[str, Any]] = {}
    for x in record["lines"]:
        if x["sort"] == "engine":
            continue
        for said in x["cautions"]:
            key = (x["id"].partition("@")[0], said)
            if key in found:
                found[key]["lines"] += 1
            else:
                found[key] = _row("range", x["id"], x["title"] or x["id"], said)
    return list(found.values())


def _balances(record: Mapping[str, Any]) -> list[dict[str, Any]]:
    rows = []
    frame = closures(record)
    for place, some in frame.groupby("id", sort=False):
        worst = some.loc[some["relative"].idxmax()]
        rows.append(_row("balance", str(place), f"Balance round the {place}",
                         f"{len(some)} components; the worst, {worst['component']}, closes to "
                         f"{tiny(worst['relative'])} of what comes in", float(worst["relative"]), len(some)))
    return rows


def _residuals(record: Mapping[str, Any]) -> list[dict[str, Any]]:
    rows = []
    for x in record["lines"]:
        if x["sort"] != "solved":
            continue
        proofs = x["more"].get("residual", ())
        if not proofs:
            rows.append(_row("residual", x["id"], _title(x), "no residual proves it", 9.0))
        for r in proofs:
            rows.append(_row("residual", x["id"], _title(x),
                             f"{tiny(r['relative'])} of its scale, allowed {tiny(r['tolerance'], 1)} ({r['id']})",
                             r["relative"] / r["tolerance"]))
    return rows


def _gaps(record: Mapping[str, Any]) -> list[dict[str, Any]]:
    found: dict[tuple, dict[str, Any]] = {}
    for x in record["lines"]:
        if x["sort"] != "engine":
            continue
        for said in (*x["cautions"], x["note"]):
            key = (x["id"].partition("@")[0], said)
            if said and key in found:
                found[key]["lines"] += 1
            elif said:
                whose = " ".join(t for t in (x["more"].get("library", ""), x["more"].get("data", "")) if t)
                found[key] = _row("gap", x["id"], x["title"] or x["id"], f"{whose}: {said}",
                                  2.0 if said in x["cautions"] else 1.0)
    return list(found.values())


def _limits(record: Mapping[str, Any], units: str) -> list[dict[str, Any]]:
    """Checks that judge by a limit a person wrote."""
    lines, found = by_id(record), {}
    for x in record["lines"]:
        if x["sort"] != "checked" or "limit" not in x["inputs"]:
            continue
        limit = lines[id_of(x["inputs"]["limit"])]
        if limit["sort"] == "given":
            one = found.setdefault(limit["id"], _row("limit", limit["id"], limit["title"], "", 0.0, 0))
            one["lines"] += 1
            one["what"] = (f"set to {shown(limit['value'], limit['kind'], units, record)}; "
                           f"judges {one['lines']} check{'s' if one['lines'] > 1 else ''}, such as {x['title']}")
    return list(found.values())


def _soft(record: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Lines that rest on common practice or on memory, gathered by what they share."""
    found: dict[tuple, dict[str, Any]] = {}
    for x in record["lines"]:
        if x["sort"] == "given":
            continue
        kind = record["sources"].get(x["source"], {}).get("kind", "")
        said = _MEMORY.search(x["place"])
        if kind not in _SOFT and not said:
            continue
        word = said.group().lower() if said else kind
        shared = x["relation"] or x["more"].get("table") or x["id"].partition("@")[0]
        key = (word, shared)
        if key in found:
            found[key]["lines"] += 1
        else:
            place = f", {x['place']}" if x["place"] and not said else ""
            of = x["source"] if kind not in _SOFT else ""
            title = x["title"]
            if x["relation"] in record["relations"]:
                title = record["relations"][x["relation"]]["title"]
            elif x["more"].get("table"):
                title = f"Table of {x['more']['table'].replace('_', ' ')}"
            found[key] = _row("source", x["id"], title, word + (f" of {of}" if of else "") + place)
    for row in found.values():
        row["weight"] = float(row["lines"])
    return list(found.values())


def _assumed(record: Mapping[str, Any], units: str, confirmed: Mapping[str, str]) -> list[dict[str, Any]]:
    rows = []
    for x in record["lines"]:
        if x["sort"] != "assumed" or x["source"] == "definition" or confirmed.get(x["id"]) == "accepted":
            continue
        v = x["value"]
        value = f"{len(v)} values" if isinstance(v, list) else shown(v, x["kind"], units, record)
        rows.append(_row("assumed", x["id"], _title(x), f"{value}, {x['source'].replace('-', ' ')}"))
    return rows
