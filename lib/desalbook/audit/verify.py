"""Evidence: whatever of a record can be derived again is derived again, and what differs is named at its line.

`derived` needs the record alone: values from the stored trees, verdicts from values and limits, edges from inputs,
tables from their lines, and what a line says of itself from the register of relations, the data tables and the
bibliography of this kit. `verified` sizes the design again and compares everything. What neither can see is told
by `out_of_reach`.
"""

from __future__ import annotations

import hashlib
import math
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from desalbook.audit.page.shown import by_id
from desalbook.audit.recompute import evaluated
from desalbook.audit.register import rows
from desalbook.guidelines import guideline
from desalbook.problems import Problem
from desalbook.sources import source
from desalbook.tables import table
from desalbook.trail.ledger import ICE, MARGINAL, SCOPES, SORTS
from desalbook.trail.seal import broken
from desalbook.trail.stored import relation_hash, stored_kind, value_at
from desalbook.units import KINDS, parse

__all__ = ["Difference", "derived", "out_of_reach", "verified"]

SAME = 1e-9
"""Relative difference below which two values are the same."""
_SAYS = ("title", "symbol", "kind", "unit", "value", "axis", "keys", "inputs", "relation", "source", "place", "note",
         "cautions", "more", "scope", "corner", "count", "because", "sort")


@dataclass(frozen=True)
class Difference:
    """One thing of a record that is not what it should be.

    Parameters
    ----------
    where : str
        Id of the line, or name of the part.
    what : str
        What is wrong, in a few words.
    """

    where: str
    what: str

    def __str__(self) -> str:
        return f"{self.where}: {self.what}"


def out_of_reach(record: Mapping[str, Any]) -> dict[str, int]:
    """What `derived` cannot derive again, with the number of lines it concerns."""
    lines = record["lines"]
    known = {row["id"] for row in rows()}
    return {
        "equations that are not of this kit's register": sum(
            x["sort"] == "computed" and x["relation"] not in known for x in lines),
        "answers of an engine or a property library (run again by `verify RECORD DESIGN`)":
            sum(x["sort"] == "engine" for x in lines),
        "picks whose rule is no row of a table and no governing case": sum(
            x["sort"] == "picked" and not _re_pickable(x) for x in lines),
        "roots, of which only the residual is judged": sum(x["sort"] == "solved" for x in lines),
        "values entered without a unit": sum(x["sort"] == "given" and "text" not in x["more"] for x in lines),
        "titles, symbols, notes and advice given at the call": len(lines),
        "review marks (compared by `verify RECORD DESIGN` with those beside the design)": len(record.get("marks", ())),
    }


def derived(record: Mapping[str, Any]) -> list[Difference]:
    """Differences between a record and what can be derived from it, in the order of its lines: first cause first."""
    sealed = [Difference(where, "was changed after the record was sealed") for where in broken(record)]
    found: list[Difference] = []
    lines = by_id(record)
    if "design" in record and hashlib.sha256(record["design"].encode()).hexdigest() != record["input_hash"]:
        found.append(Difference("design", "is not the text the input hash was made of"))
    found += _relations(record)
    for line in record["lines"]:
        try:
            found += [Difference(line["id"], what) for what in _line(line, lines, record)]
        except (KeyError, ValueError, TypeError, IndexError, AttributeError, Problem) as error:
            found.append(Difference(line["id"], f"cannot be read again ({type(error).__name__})"))
    found += _edges(record, lines)
    found += _tables(record, lines)
    found += _cited(record)
    order = {line["id"]: i for i, line in enumerate(record["lines"])}
    told = {d.where for d in found}
    found += [d for d in sealed if d.where not in told]
    return sorted(found, key=lambda d: order.get(d.where, len(order)))


def _line(line: Mapping[str, Any], lines: Mapping[str, Any], record: Mapping[str, Any]) -> Iterator[str]:
    yield from _form(line, lines, record)
    sort = line["sort"]
    if sort == "computed":
        yield from _computed(line, lines, record)
    elif sort == "checked":
        yield from _checked(line, lines)
    elif sort == "picked":
        yield from _picked(line, lines)
    elif sort == "solved":
        yield from _solved(line, lines)
    elif sort in ("given", "assumed"):
        yield from _input(line)
    elif sort == "engine":
        used = {k: line["more"].get(k) for k in ("library", "version", "data", "checksum")}
        if used not in record["engines"]:
            yield "names an engine, version or data file that the record does not list"


def _form(line: Mapping[str, Any], lines: Mapping[str, Any], record: Mapping[str, Any]) -> Iterator[str]:
    id = line["id"]
    if line["sort"] not in SORTS:
        yield f"no type of line is called {line['sort']}"
    if line["scope"] not in SCOPES:
        yield f"no scope is called {line['scope']}"
    if (id.partition("@")[2] or None) != line["corner"]:
        yield f"the case {line['corner']} is not that of its id"
    if line["kind"] is not None:
        kind = KINDS.get(line["kind"])
        if kind is None:
            yield f"no kind of number is called {line['kind']}"
        elif kind.si != line["unit"]:
            yield f"the unit {line['unit']} is not that of a {line['kind']}, {kind.si}"
    if line["keys"] is not None and (not isinstance(line["value"], list) or len(line["value"]) != len(line["keys"])):
        yield "has not one value for each key"
    if line["count"] is not None and (not isinstance(line["count"], int) or line["count"] < 0):
        yield "counts no whole number of items"
    if line["source"] and line["source"] not in record["sources"]:
        yield f"cites {line['source']}, which the record does not list"
    for place in (*line["inputs"].values(), *line["because"]):
        if not _known(place, lines):
            yield f"rests on {place}, which the record does not hold"


def _known(place: Any, lines: Mapping[str, Any]) -> bool:
    id, key = (place, None) if isinstance(place, str) else place
    return id in lines and (key is None or key in (lines[id]["keys"] or ()))


def _computed(line: Mapping[str, Any], lines: Mapping[str, Any], record: Mapping[str, Any]) -> Iterator[str]:
    r = record["relations"].get(line["relation"])
    if r is None:
        yield f"was made by {line['relation']}, which the record does not hold"
        return
    again = evaluated(line, lines, record["relations"])
    held = np.atleast_1d(np.asarray(line["value"], dtype=float))
    if again.shape != held.shape or not (
            (again == held).all() or np.allclose(again, held, rtol=SAME, atol=0.0)):
        yield f"the equation gives {again.ravel()[0]:.10g}" if again.size == 1 else "the equation gives other values"
    if set(line["inputs"]) != {a["name"] for a in r["args"]}:
        yield "its inputs are not the arguments of its equation"
    for a in r["args"]:
        where = line["inputs"].get(a["name"])
        if where is not None and KINDS[value_at(lines, where)[0]["kind"] or "factor"].family != a["family"]:
            yield f"its input {a['name']} is another kind of number"
    if line["kind"] != r["kind"]:
        yield f"is called a {line['kind']}, and its equation gives a {r['kind']}"
    if line["source"] != r["source"] or line["place"] != r["place"]:
        yield "cites another source than its equation"
    outside = sum("outside the range of this relation" in c for c in line["cautions"])
    if outside != sum(_outside(n, line, lines, r) for n in r["limits"]):
        yield "does not say rightly whether it lies within the range of its equation"


def _outside(name: str, line: Mapping[str, Any], lines: Mapping[str, Any], r: Mapping[str, Any]) -> bool:
    low, high = r["limits"][name]
    x = np.atleast_1d(line["value"] if name == "result" else value_at(lines, line["inputs"][name])[1])
    return bool((low is not None and np.any(x < low)) or (high is not None and np.any(x > high)))


def _checked(line: Mapping[str, Any], lines: Mapping[str, Any]) -> Iterator[str]:
    more = line["more"]
    if "sense" not in more:
        if more["verdict"] not in ("passes", "review", "fails") or more.get("margin") is not None:
            yield f"no finding is called {more['verdict']}"
        return
    value = value_at(lines, line["inputs"]["provided"])[1]
    limit = value_at(lines, line["inputs"]["limit"])[1]
    if value != line["value"] or limit != more["limit"]:
        yield "its value or limit is not that of the line it names"
    if more["sense"] not in ("<=", ">="):
        yield f"no sense is called {more['sense']}"
    zero = ICE if line["kind"] == "temperature" else 0.0
    span = abs(limit - zero) or abs(value - zero) or 1.0
    margin = ((limit - value) if more["sense"] == "<=" else (value - limit)) / span
    verdict = "fails" if margin < 0 else "marginal" if margin < MARGINAL else "passes"
    chosen = more.get("selected", [])
    if chosen and (verdict != "marginal" or any(id not in lines or lines[id]["sort"] != "picked" for id in chosen)):
        yield "a size that it calls selected was not"
    elif chosen:
        verdict = "passes"
    if more["verdict"] != verdict:
        yield f"the verdict that follows from value and limit is {verdict}"
    if not math.isclose(margin, more["margin"], rel_tol=SAME, abs_tol=1e-12):
        yield f"the margin that follows from value and limit is {margin:.6g}"
    ratio = value / limit if limit else None
    if (ratio is None) != (more["ratio"] is None) or (ratio is not None and not math.isclose(
            ratio, more["ratio"], rel_tol=SAME)):
        yield "the ratio is not that of value and limit"


def _re_pickable(line: Mapping[str, Any]) -> bool:
    return line["more"]["rule"].endswith("over the cases") or bool(line["more"].get("table"))


def _picked(line: Mapping[str, Any], lines: Mapping[str, Any]) -> Iterator[str]:
    more = line["more"]
    won = [c for c in more["candidates"] if c.get("won")]
    if more["rule"].endswith("over the cases"):
        best = (max if more["rule"].startswith("largest") else min)(
            float(value_at(lines, where)[1]) for where in line["inputs"].values())
        if best != line["value"]:
            yield f"the governing case gives {best:.10g}"
        for c in more["candidates"]:
            where = line["inputs"].get(c["key"])
            if where is None or value_at(lines, where)[1] != c["value"]:
                yield f"candidate {c['key']} is not the line it names"
        if len(won) != 1 or won[0]["value"] != line["value"]:
            yield "the winner is not the value picked"
        return
    if more["rule"].startswith("counted over"):
        counts = [float(c["value"]) for c in more["candidates"]]
        if (counts != line["value"]) if line["keys"] is not None else not math.isclose(
                sum(counts), line["value"], rel_tol=SAME):
            yield "is not what was counted"
        return
    if line["keys"] is None and more["candidates"] and len(won) != 1:
        yield "has not one winner"
    if len(won) == 1 and not isinstance(line["value"], (str, list)) and "value" in won[0] \
            and _same_kind(won[0]["value"], line["value"]) and won[0]["value"] != line["value"] \
            and won[0].get("key") not in (str(line["value"]), f"{line['value']:g}"):
        candidates = [c.get("value") for c in more["candidates"]]
        if line["value"] in candidates:
            yield "the winner is not the value picked"
    if isinstance(line["value"], str) and len(won) == 1 and won[0].get("key") != line["value"]:
        yield "the winner is not the value picked"


def _same_kind(a: Any, b: Any) -> bool:
    return isinstance(a, (int, float)) and isinstance(b, (int, float))


def _solved(line: Mapping[str, Any], lines: Mapping[str, Any]) -> Iterator[str]:
    proofs = line["more"]["residual"]
    if not proofs:
        yield "no residual proves this root"
    for proof in proofs:
        of = lines[proof["id"]]
        worst = float(np.max(np.abs(np.atleast_1d(of["value"]))))
        ratio = worst / proof["scale"] if proof["scale"] else worst
        if not ratio <= proof["tolerance"]:
            yield f"residual {proof['id']} is {ratio:.3g} of its scale; allowed {proof['tolerance']:.0e}"
        if not math.isclose(ratio, proof["relative"], rel_tol=1e-6, abs_tol=1e-18):
            yield f"residual {proof['id']} is not what is said of it"


def _input(line: Mapping[str, Any]) -> Iterator[str]:
    more = line["more"]
    if line["inputs"] or line["relation"]:
        yield "an input rests on nothing"
    if line["sort"] == "given" and line["source"] != "design-file":
        yield "what a person entered comes from the design file"
    if "options" in more and line["value"] not in more["options"]:
        yield f"{line['value']} is none of its options"
    if line["kind"] and isinstance(line["value"], float) and more.get("text"):
        try:
            said = parse(more["text"], line["kind"])
        except Problem:
            said = None  # a text that tells what the value is for
        if said is not None and not math.isclose(said, line["value"], rel_tol=1e-3, abs_tol=1e-12):
            yield f"its text says {more['text']}"
    numbers = _row_numbers(more) if isinstance(line["value"], float) else None
    if numbers is not None and not any(math.isclose(x, line["value"], rel_tol=SAME, abs_tol=1e-30) for x in numbers):
        yield f"row {more['row']} of {more['table']} has no such value"


def _row_numbers(more: Mapping[str, Any]) -> list[float] | None:
    """Numbers of the row of a data table that a line names; None where it names none, or a table of another form."""
    name, key = more.get("table"), more.get("row")
    if not name or not key or "/" in name:
        return None
    if name == "guidelines":
        return [float(guideline(key).value)]
    return [float(c.value) for c in table(name)[key].cells.values() if isinstance(c.value, (int, float))]


def _relations(record: Mapping[str, Any]) -> Iterator[Difference]:
    known = {row["id"]: row for row in rows()}
    for key, r in record["relations"].items():
        if relation_hash(r) != r["hash"]:
            yield Difference(key, "the equation is not the one its hash was made of")
        own = known.get(key)
        differs = [] if own is None else [
            k for k in ("title", "symbol", "unit", "hash", "source", "place", "note") if r.get(k) != own[k]]
        if differs:
            yield Difference(key, f"is not the relation of the register ({', '.join(differs)})")
    for name, kind in record["kinds"].items():
        if name not in KINDS or stored_kind(KINDS[name]) != kind:
            yield Difference(f"kinds.{name}", "is not the kind of number of this kit")


def _edges(record: Mapping[str, Any], lines: Mapping[str, Any]) -> Iterator[Difference]:
    own = Counter((_id(p), str(line["id"]), str(n)) for line in lines.values()
                  for n, p in (*line["inputs"].items(), *(("because", b) for b in line["because"])))
    stored = Counter((str(a), str(b), str(c)) for a, b, c in record["edges"])
    if own == stored:
        return
    yield from (Difference(b, f"the edge from {a} is missing") for a, b, _ in own - stored)
    yield from (Difference(b, f"an edge from {a} belongs to no input") for a, b, _ in stored - own)


def _id(place: Any) -> str:
    return place if isinstance(place, str) else place[0]


def _tables(record: Mapping[str, Any], lines: Mapping[str, Any]) -> Iterator[Difference]:
    for name in ("streams", "equipment", "energy", "loads", "meters", "instruments", "alarms", "cause_effect",
                 "safety_devices", "valves", "costs", "guarantees"):
        for row in record.get(name, ()):
            for column, where in (row.get("ids") or {}).items():
                if column in row and not _agrees(row[column], where, lines):
                    yield Difference(f"{name}[{row.get('key', '')}].{column}", f"is not the value of {where}")


def _agrees(value: Any, where: Any, lines: Mapping[str, Any]) -> bool:
    try:
        held = value_at(lines, where)[1]
    except (KeyError, ValueError):
        return False
    if isinstance(held, float) and isinstance(value, (int, float)):
        return math.isclose(float(value), held, rel_tol=SAME, abs_tol=1e-30)
    return str(held) == str(value)


def _cited(record: Mapping[str, Any]) -> Iterator[Difference]:
    for key, said in record["sources"].items():
        try:
            own = source(key)
        except (KeyError, Problem):
            yield Difference(f"sources.{key}", "is no source of the bibliography")
            continue
        if said.get("citation") != own.citation or said.get("kind") != own.kind:
            yield Difference(f"sources.{key}", "is not what the bibliography says")


def verified(record: Mapping[str, Any], again: Mapping[str, Any]) -> list[Difference]:
    """Everything in which a record differs from the one its design gives now, first cause first.

    Parameters
    ----------
    record : mapping
    again : mapping
        The record of the same design, sized again.
    """
    found: list[Difference] = []
    old, new = by_id(record), by_id(again)
    if record["kit"] != again["kit"]:
        found.append(Difference("kit", f"was made by version {record['kit']}, this is {again['kit']}"))
    if record["input_hash"] != again["input_hash"]:
        found.append(Difference("input_hash", "the design has another text"))
    for line in again["lines"]:
        was = old.get(line["id"])
        if was is None:
            found.append(Difference(line["id"], "is missing"))
            continue
        if was == line:  # as nearly all
            continue
        for field in _SAYS:
            if not _like(was.get(field), line.get(field)):
                found.append(Difference(line["id"], f"{field} is {_short(was.get(field))}; the design gives "
                                                    f"{_short(line.get(field))}"))
    found += [Difference(id, "is no line of this design") for id in old if id not in new]
    if len(old) != len(record["lines"]):
        times = Counter(x["id"] for x in record["lines"])
        found += [Difference(id, "is given twice") for id, n in times.items() if n > 1]
    if not found and list(old) != list(new):
        found.append(Difference("lines", "stand in another order"))
    found += _marked(record, again)
    # a record of an earlier version holds no text of its design
    passed = {"lines", "seal", "kit", "input_hash", "marks", *(() if "design" in record else ("design",))}
    for name in sorted({*record, *again} - passed):
        if not _like(record.get(name), again.get(name)):
            found.append(Difference(name, "is not what the design gives"))
    return found


def _marked(record: Mapping[str, Any], again: Mapping[str, Any]) -> Iterator[Difference]:
    """Marks that are not those kept beside the design; marks that were made since are no fault of the record."""
    if "marks" not in again:
        return
    known = [{k: m[k] for k in ("id", "verdict", "by", "note", "time")} for m in again["marks"]]
    for m in record.get("marks", ()):
        if {k: m.get(k) for k in ("id", "verdict", "by", "note", "time")} not in known:
            yield Difference("marks", f"{m.get('by')} did not mark {m.get('id')} so")


def _like(a: Any, b: Any) -> bool:
    if a == b:
        return True
    if isinstance(a, float) and isinstance(b, float):
        return math.isclose(a, b, rel_tol=SAME)
    if isinstance(a, Mapping) and isinstance(b, Mapping):
        return a.keys() == b.keys() and all(_like(a[k], b[k]) for k in a)
    if isinstance(a, list) and isinstance(b, list):
        return len(a) == len(b) and all(_like(x, y) for x, y in zip(a, b, strict=True))
    return False


def _short(x: Any) -> str:
    text = f"{x:.10g}" if isinstance(x, float) else str(x)
    return text if len(text) <= 60 else f"{text[:60]}…"
