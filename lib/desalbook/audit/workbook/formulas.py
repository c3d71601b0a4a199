"""Formulas of the workbook: what a line is, whether it moved, and whether it can still be believed.

A spreadsheet cannot ask a geochemical engine, search a catalogue or solve again. So each line has a state.
It is *stale* when something it was made from is not what it was when the book was written and the line cannot
follow: an engine's answer or a pick when an input moved; a solved value when its residual, which is live, is
no longer small; and every line that rests on a stale one. A closed-form line is calculated from the values
shown, whatever their state.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cached_property
from typing import Any

from desalbook.audit.graph import SAME, id_of, parents, scales
from desalbook.audit.workbook.places import Places, reference
from desalbook.trail.sheet import formula, literal

__all__ = ["LONGEST", "Formulas"]

LONGEST = 8000  # characters a spreadsheet takes in one formula, with some to spare
STATE, MOVED, STALE, OFF, WRITTEN = "State", 3, 4, 5, 6
"""Sheet of the states and its columns: moved, stale, residual off, values at writing."""


class Formulas:
    """Formula text for the lines of one record at their places.

    Parameters
    ----------
    record : mapping
    places : Places
    tables : mapping, optional
        Ranges of x and of y of the tables of a relation, by relation and table.
    """

    def __init__(self, record: Mapping[str, Any], places: Places,
                 tables: Mapping[str, Mapping[str, tuple[str, str]]] | None = None):
        self.record, self.places, self.lines, self.tables = record, places, places.lines, tables or {}
        self._live: dict[tuple[str, str | None], str | None] = {}
        self._stale: dict[str, str | None] = {}
        self.order = [x["id"] for x in record["lines"]]
        self.row = {id: n + 3 for n, id in enumerate(self.order)}

    # what a line is --------------------------------------------------------------------------------------

    def live(self, x: Mapping[str, Any], key: str | None = None) -> str | None:
        """The live formula of a number; None when it has none."""
        if (x["id"], key) not in self._live:
            self._live[x["id"], key] = self._formula(x, key)
        return self._live[x["id"], key]

    def _formula(self, x: Mapping[str, Any], key: str | None) -> str | None:
        if x["sort"] == "computed":
            text = self._relation(x, key)
        elif x["sort"] == "picked" and self.governs(x):
            word = "MAX" if x["more"]["rule"].startswith("largest") else "MIN"
            text = f"={word}({','.join(self.places.known(w) for w in x['inputs'].values())})"
        else:
            return None
        return text if len(text) <= LONGEST else None

    @staticmethod
    def governs(x: Mapping[str, Any]) -> bool:
        """A pick of the largest or the smallest of its inputs can follow them."""
        return (isinstance(x["value"], (int, float)) and len(x["inputs"]) > 0
                and x["more"].get("rule") in ("largest over the cases", "smallest over the cases"))

    def _relation(self, x: Mapping[str, Any], key: str | None) -> str:
        cells, entry, wide = {}, {}, set()
        for name, where in x["inputs"].items():
            id, part = (where, None) if isinstance(where, str) else where
            cells[name] = self.places.known(where)
            if part is None and self.lines[id]["keys"] is not None:
                wide.add(name)
                if key is not None:
                    keys = self.lines[id]["keys"]
                    own = key if key in keys else keys[x["keys"].index(key)]
                    entry[name] = self.places.cell[id, own]
        return formula(self.record["relations"][x["relation"]], cells, columns=wide, entry=entry,
                       tables=self.tables.get(x["relation"]))

    # what became of it -----------------------------------------------------------------------------------

    def state(self, id: str, column: int) -> str:
        """Reference to a cell of the sheet of states."""
        return reference(STATE, self.row[id], column)

    def limit(self, x: Mapping[str, Any]) -> list[float]:
        """By how much each number may differ and still be the same."""
        return [SAME * s if s else 1e-300 for s in scales(x, self.lines)]

    def moved(self, x: Mapping[str, Any]) -> str | None:
        """1 when any value of the line is not what it was at writing; None for a line without a value."""
        if x["value"] is None or x["sort"] == "checked":
            return None
        here = self.places.cells(x["id"])
        written = [reference(STATE, self.row[x["id"]], WRITTEN + n) for n in range(len(here))]
        if isinstance(x["value"], str):
            return f"=IF(EXACT({here[0]},{written[0]}),0,1)"
        terms = [f"(ABS({a}-{b})>{literal(d)})" for a, b, d in zip(here, written, self.limit(x), strict=True)]
        text = f"=IF({'+'.join(terms)}>0,1,0)"
        if len(text) > LONGEST:  # many keys: compare their sum of squares of differences through one range
            span = self.places.span[x["id"]]
            first, last = written[0], written[-1].partition("!")[2]
            text = (f"=IF(SUMPRODUCT(--(ABS({span}-TRANSPOSE({first}:{last}))>{literal(min(self.limit(x)))}))>0,1,0)")
        return text

    @cached_property
    def _can_be_stale(self) -> set[str]:
        found: set[str] = set()
        for x in self.record["lines"]:
            fixed = x["sort"] in ("engine", "solved") or (x["sort"] == "picked" and not self.governs(x))
            bare = x["sort"] == "checked" and "sense" not in x["more"]
            lost = x["sort"] in ("computed", "picked") and not fixed and self.live(x, _key(x)) is None
            if ((fixed or bare or lost) and parents(x)) or x["because"] or any(p in found for p in parents(x)):
                found.add(x["id"])
        return found

    @cached_property
    def watched(self) -> set[str]:
        """Lines whose move makes another one stale, and all inputs."""
        found = {x["id"] for x in self.record["lines"] if x["sort"] in ("given", "assumed")}
        for x in self.record["lines"]:
            found.update(id_of(w) for w in x["because"])
            if x["sort"] in ("engine", "solved", "picked", "checked") or x["id"] in self._lost:
                found.update(parents(x))
        return {id for id in found if self.lines[id]["value"] is not None and self.lines[id]["sort"] != "checked"}

    @cached_property
    def _lost(self) -> set[str]:
        return {x["id"] for x in self.record["lines"] if x["sort"] == "computed" and self.live(x, _key(x)) is None}

    @cached_property
    def _ancestors(self) -> dict[str, set[str]]:
        found: dict[str, set[str]] = {}
        for id in self.order:
            above: set[str] = set()
            for p in parents(self.lines[id]):
                above |= {p} | found[p]
            found[id] = above
        return found

    def off(self, x: Mapping[str, Any]) -> str | None:
        """Largest residual over its allowance: above 1 the solution no longer holds. None without a residual."""
        terms = []
        for r in x["more"].get("residual", ()):
            of = r["id"]
            scale = r.get("scale") or 1.0
            name = self.places.name[of]
            size = f"SUMPRODUCT(MAX(ABS({name})))" if self.lines[of]["keys"] is not None else f"ABS({name})"
            terms.append(f"{size}/{literal(scale * r['tolerance'])}")
        return f"=MAX({','.join(terms)})" if terms else None

    def stale(self, x: Mapping[str, Any]) -> str | None:
        """1 when the value shown can no longer be believed; None for a line that always follows."""
        if x["id"] not in self._stale:
            self._stale[x["id"]] = self._staleness(x)
        return self._stale[x["id"]]

    def _staleness(self, x: Mapping[str, Any]) -> str | None:
        id = x["id"]
        if id not in self._can_be_stale:
            return None
        moved = [id_of(w) for w in x["because"]]
        stale = parents(x)
        off: list[str] = []
        inputs = list(dict.fromkeys(id_of(w) for w in x["inputs"].values()))
        proofs = [r["id"] for r in x["more"].get("residual", ())]
        if x["sort"] == "solved" and proofs:
            proved = set(proofs).union(*(self._ancestors[r] for r in proofs))
            moved += [i for i in inputs if i not in proved]
            off = [id] + [i for i in self.order if i in proved and i != id and self.lines[i]["sort"] == "solved"
                          and self.lines[i]["more"].get("residual")]
        elif (x["sort"] in ("engine", "solved") or id in self._lost or (x["sort"] == "picked" and not self.governs(x))
              or (x["sort"] == "checked" and "sense" not in x["more"])):
            moved += inputs
        terms = [self.state(i, MOVED) for i in dict.fromkeys(moved) if i in self.watched]
        terms += [self.state(i, STALE) for i in stale if i in self._can_be_stale]
        terms += [f"({self.state(i, OFF)}>1)" for i in off]
        return f"=IF({_plus(terms)}>0,1,0)" if terms else None

    def reasons(self) -> Iterable[tuple[Mapping[str, Any], str]]:
        """Computed, solved and engine lines that neither follow nor carry a live residual, with the reason."""
        for x in self.record["lines"]:
            if x["sort"] == "engine":
                m = x["more"]
                yield x, f"result of {m['library']}, not available in a spreadsheet; stale when its inputs change"
            elif x["sort"] == "solved" and not x["more"].get("residual"):
                yield x, "solved, and no residual is recorded; stale when its inputs move"
            elif x["id"] in self._lost:
                yield x, "its formula is longer than a spreadsheet takes; stale when its inputs move"


def _key(x: Mapping[str, Any]) -> str | None:
    return x["keys"][0] if x["keys"] else None


def _plus(terms: list[str]) -> str:
    return "+".join(terms)
