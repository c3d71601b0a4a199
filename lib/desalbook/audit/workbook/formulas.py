"""Formulas of the workbook: what a line is, whether it moved, and whether it can still be believed.

A spreadsheet cannot ask a geochemical engine, search a catalogue or solve again. So each line has a state.
It is *stale* when something it was made from is not what it was when the book was written and the line cannot
follow: an engine's answer or a pick when an input moved; a solved value when its residual, which is live, is
no longer small; and every line that rests on a stale one. A closed-form line is calculated from the values
shown, whatever their state.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import cached_property
from typing import Any

from desalbook.audit.graph import SAME, children, descendants, id_of, parents, scales
from desalbook.audit.workbook.places import Places, reference
from desalbook.trail.sheet import formula, literal
from desalbook.trail.stored import value_at

__all__ = ["LONGEST", "NEAR", "RESPONSES", "Formulas"]

LONGEST = 8000  # characters a spreadsheet takes in one formula, with some to spare
RESPONSES, OTHERS, FOLLOWED, STEPS, CURVES = "Responses", 1, 2, 4, 7
"""Sheet of the curves and its rows: how many other inputs moved, how many followed ones, steps, first curve."""
NEAR = 1e-3  # of its scale: a root that follows by a curve meets its balances so well
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
                 tables: Mapping[str, Mapping[str, tuple[str, str]]] | None = None,
                 responses: Sequence[Any] = ()):
        self.responses = [r for r in responses if r.key in places.lines]
        self.record, self.places, self.lines, self.tables = record, places, places.lines, tables or {}
        self._live: dict[tuple[str, str | None], str | None] = {}
        self._stale: dict[str, str | None] = {}
        self.order = [x["id"] for x in record["lines"]]
        self._follow()
        self.row = {id: n + 3 for n, id in enumerate(self.order)}

    def _follow(self) -> None:
        """Which lines follow the main inputs by a curve, at which row of the curves, and which inputs they do not."""
        below = children(self.record["lines"])
        lost = [descendants(r.changed, below) | set(r.changed) for r in self.responses]
        self.deaf: dict[str, list[str]] = {}
        self.curves: list[tuple[str, int, float, list[float]]] = []
        self.switches = [(k, s) for k, r in enumerate(self.responses) for s in r.switches]
        self.curve_row: dict[tuple[str, int], int] = {}
        for id in {id for r in self.responses for id in r.curves}:
            self.deaf[id] = [r.key for r, gone in zip(self.responses, lost, strict=True)
                             if id not in r.curves or id in gone or any(id not in s.curves for s in r.switches)]
        for x in self.record["lines"]:
            id = x["id"]
            if id not in self.deaf:
                continue
            many = x["value"] if isinstance(x["value"], list) else [x["value"]]
            for n, value in enumerate(many):
                bent = [r.curves[id][n] if r.key not in self.deaf[id] else (0.0, 0.0) for r in self.responses]
                parts = [part for pair in bent for part in pair]
                for k, s in self.switches:  # beyond it the parabola is another: by how much it is more
                    if self.responses[k].key in self.deaf[id]:
                        parts += [0.0, 0.0, 0.0]
                        continue
                    a, b, c = s.curves[id][n]
                    parts += [a, b - bent[k][0], c - bent[k][1]]
                if any(abs(part) > SAME * max(abs(value), 1e-300) for part in parts):
                    self.curve_row[id, n] = CURVES + len(self.curves)
                    self.curves.append((id, n, value, parts))

    @property
    def last_step(self) -> int:
        """Last column of the steps and the curves."""
        return 2 + 2 * len(self.responses) + 3 * len(self.switches)

    def _jumps(self, id: str) -> list[tuple[str, list[float]]]:
        """Where a line is another only because of selections: when it is so, and its values then.

        At an end of a main input that it does not follow by itself, with the selections above it as they are there.
        """
        found = []
        if id not in self.deaf:
            return found
        for k, r in enumerate(self.responses):
            if r.key in self.deaf[id] or any(abs(part) > SAME * max(abs(v), 1e-300) for v, pair in zip(
                    self._numbers(id), r.curves[id], strict=True) for part in pair):
                continue
            for sign, end in zip("<>", r.ends, strict=True):
                picks = [p for p in self._looked_up if p in end and p in self._ancestors[id]]
                if id in end and picks and len(end[id]) == len(self._numbers(id)):
                    step = reference(RESPONSES, STEPS, 3 + 2 * k)
                    chosen = "*".join(f"(ABS({self.places.known(p)}-{literal(end[p][0])})<{literal(SAME * end[p][0])})"
                                      for p in picks)
                    found.append((f"({step}{sign}0)*{chosen}", end[id]))
        return found

    def _numbers(self, id: str) -> list[float]:
        value = self.lines[id]["value"]
        return value if isinstance(value, list) else [value]

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
        elif x["sort"] == "picked" and (needs := self.looked_up(x)) is not None:
            small = "+".join(f"SUMPRODUCT(--({_array(sizes)}<{self.places.known(need)}*(1-1E-9)))"
                             for need, sizes in needs)
            sizes = [c["value"] for c in x["more"]["candidates"]]
            text = f"=INDEX({_array(sizes)},MIN({len(sizes)},1+{small}))"
        elif x["sort"] == "picked" and (entries := self.gathered(x)) is not None:
            text = f"={self.places.known(entries[str(key)])}"
        elif (row := self.curve_row.get((x["id"], 0 if key is None else x["keys"].index(key)))) is not None:
            curve, steps = (f"{reference(RESPONSES, r, 3)}:{reference(RESPONSES, r, self.last_step).partition('!')[2]}"
                            for r in (row, STEPS))
            text = f"={reference(RESPONSES, row, 2)}+SUMPRODUCT({curve},{steps})"
        elif jumps := self._jumps(x["id"]):
            n = 0 if key is None else x["keys"].index(key)
            base = self._numbers(x["id"])[n]
            text = f"={literal(base)}" + "".join(f"+{when}*{literal(many[n] - base)}" for when, many in jumps)
        else:
            return None
        return text if len(text) <= LONGEST else None

    def looked_up(self, x: Mapping[str, Any]) -> list[tuple[Any, list[float]]] | None:
        """What a pick of the smallest size that is large enough is judged by; None where its rule is another.

        The candidates, in order, are the sizes; one input has the kind of the pick; and the sizes below it are those
        that were passed over. Where that input is a row (a motor's power with the margin of its size), each candidate
        is judged by its own entry, and what is needed does not grow with the size.

        Returns
        -------
        list of (input, sizes judged by it)
        """
        m = x["more"]
        sizes = [c.get("value") for c in m.get("candidates", ())]
        own = [w for w in x["inputs"].values() if self.lines[id_of(w)]["kind"] == x["kind"]]
        if (x["keys"] is not None or not isinstance(x["value"], float)
                or not m["rule"].startswith(("smallest", "minimum"))
                or len(own) != 1 or len(x["inputs"]) != 1 or len(sizes) < 2 or m["rule"].endswith("over the cases")
                or not all(isinstance(v, (int, float)) for v in sizes) or sizes != sorted(set(sizes))):
            return None
        need = value_at(self.lines, own[0])[1]
        if isinstance(need, list):
            keys = dict(zip(need, self.lines[id_of(own[0])]["keys"], strict=True))
            needed = [c.get("needed") for c in m["candidates"]]
            if any(v not in keys for v in needed) or needed != sorted(needed, reverse=True):
                return None
            found = [([id_of(own[0]), keys[v]], [s for s, n in zip(sizes, needed, strict=True) if n == v])
                     for v in dict.fromkeys(needed)]
        elif isinstance(need, float) and len({c.get("needed") for c in m["candidates"]}) == 1:
            needed, found = [need] * len(sizes), [(own[0], sizes)]
        else:
            return None
        right = next((v for v, n in zip(sizes, needed, strict=True) if v >= n * (1 - 1e-9)), None) == x["value"]
        return found if right else None

    def gathered(self, x: Mapping[str, Any]) -> dict[str, Any] | None:
        """Where each entry of a pick stands that puts inputs, or entries of an input, in an order; else None."""
        if x["keys"] is None:
            return None
        found, rows = {}, [id_of(w) for w in x["inputs"].values()
                           if isinstance(w, str) and self.lines[w]["keys"] is not None]
        for k, v in zip(x["keys"], x["value"], strict=True):
            where = x["inputs"].get(k)
            if where is None:
                where = next(([row, k] for row in rows if k in self.lines[row]["keys"]), None)
            if where is None or value_at(self.lines, where)[1] != v:
                return None
            found[k] = where
        return found

    def fixed(self, x: Mapping[str, Any]) -> bool:
        """A pick that does not follow."""
        return (x["sort"] == "picked" and not self.governs(x) and self.looked_up(x) is None
                and self.gathered(x) is None)

    @staticmethod
    def governs(x: Mapping[str, Any]) -> bool:
        """A pick of the largest or the smallest of its inputs can follow them."""
        return (isinstance(x["value"], (int, float)) and len(x["inputs"]) > 0
                and x["more"].get("rule") in ("largest over the cases", "smallest over the cases",
                                              "largest over the motors"))

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
            fixed = x["sort"] in ("engine", "solved") or self.fixed(x)
            bare = x["sort"] == "checked" and "sense" not in x["more"]
            lost = x["sort"] in ("computed", "picked") and not fixed and self.live(x, _key(x)) is None
            sided = any(x["id"] in r.low or x["id"] in r.high for r in self.responses) and not (
                x["sort"] == "picked" and not self.fixed(x))
            if (((fixed or bare or lost) and parents(x)) or x["because"] or sided
                    or any(p in found for p in parents(x))):
                found.add(x["id"])
        return found

    @cached_property
    def watched(self) -> set[str]:
        """Lines whose move makes another one stale, and all inputs; all there are, where a share is to be stated."""
        if self.responses:
            return {x["id"] for x in self.record["lines"] if x["value"] is not None and x["sort"] != "checked"}
        found = {x["id"] for x in self.record["lines"] if x["sort"] in ("given", "assumed")}
        for x in self.record["lines"]:
            found.update(id_of(w) for w in x["because"])
            if x["sort"] == "picked" and self.looked_up(x) is not None:
                found.add(x["id"])
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
        held: list[str] = []
        if self.responses:
            held, moved = moved, []  # both ends of each main input were tried: what decides is the same between them
        inputs = list(dict.fromkeys(id_of(w) for w in x["inputs"].values()))
        if id in self.deaf:
            return self._followed(x, inputs, held, stale)
        proofs = [r["id"] for r in x["more"].get("residual", ())]
        if x["sort"] == "solved" and proofs:
            proved = set(proofs).union(*(self._ancestors[r] for r in proofs))
            moved += [i for i in inputs if i not in proved]
            off = [id] + [i for i in self.order if i in proved and i != id and self.lines[i]["sort"] == "solved"
                          and self.lines[i]["more"].get("residual")]
        elif self.responses and self.fixed(x):
            held += inputs
        elif (x["sort"] in ("engine", "solved") or id in self._lost or self.fixed(x)
              or (x["sort"] == "checked" and "sense" not in x["more"])):
            moved += inputs
        terms = [self.state(i, MOVED) for i in dict.fromkeys(moved) if i in self.watched]
        terms += [self.state(i, STALE) for i in stale if i in self._can_be_stale]
        terms += [f"({self.state(i, OFF)}>1)" for i in off]
        terms += [*self._held(held), *self._sides(id)]
        return f"=IF({_plus(terms)}>0,1,0)" if terms else None

    def _held(self, ids: Iterable[str]) -> list[str]:
        """What moved counts only where anything but one main input within its range was changed."""
        some = [self.state(i, MOVED) for i in dict.fromkeys(ids) if i in self.watched]
        return [f"((({_plus(some)})>0)*({reference(RESPONSES, OTHERS, 1)}>0))"] if some else []

    def _sides(self, id: str) -> list[str]:
        """A pick that is another, or a line that is gone, at an end of a main input is stale on that side."""
        terms = []
        if self.lines[id]["sort"] == "picked" and not self.fixed(self.lines[id]):
            return []  # it follows
        for k, r in enumerate(self.responses):
            step = reference(RESPONSES, STEPS, 3 + 2 * k)
            terms += [f"({step}<0)"] * (id in r.low) + [f"({step}>0)"] * (id in r.high)
        return terms

    def _followed(self, x: Mapping[str, Any], inputs: list[str], held: list[str], parents_of: list[str]) -> str:
        """State of a line that follows the main inputs by a curve: stale when anything else moved what it rests on."""
        above = self._ancestors[x["id"]]
        moved, selected = [*self.deaf[x["id"]]], [i for i in self._looked_up if i in above and i in self.watched]
        known = "+".join(when for when, _ in self._jumps(x["id"]))
        chosen = _plus([self.state(i, MOVED) for i in selected])
        terms = [f"((({chosen})>0)*(1-({known})))"] if selected and known else [f"(({chosen})>0)"] if selected else []
        terms += [self.state(i, MOVED) for i in dict.fromkeys(moved) if i in self.watched]
        terms += [self.state(i, STALE) for i in parents_of if i in self._can_be_stale]
        terms += [*self._held([*inputs, *held]), *self._sides(x["id"])]
        if x["sort"] == "solved" and (proofs := x["more"].get("residual")):
            loose = NEAR / max(r["tolerance"] for r in proofs)
            terms.append(f"({self.state(x['id'], OFF)}>IF({reference(RESPONSES, FOLLOWED, 1)}>0,{literal(loose)},1))")
        return f"=IF({_plus(terms)}>0,1,0)" if terms else "=0"

    @cached_property
    def _looked_up(self) -> list[str]:
        return [x["id"] for x in self.record["lines"] if x["sort"] == "picked" and self.looked_up(x) is not None]

    def reasons(self) -> Iterable[tuple[Mapping[str, Any], str]]:
        """Computed, solved and engine lines that neither follow nor carry a live residual, with the reason."""
        for x in self.record["lines"]:
            if x["id"] in self.deaf and any(id == x["id"] for id, _ in self.curve_row):
                continue
            if x["sort"] == "engine":
                m = x["more"]
                yield x, f"result of {m['library']}, not available in a spreadsheet; stale when its inputs change"
            elif x["sort"] == "solved" and not x["more"].get("residual"):
                yield x, "solved, and no residual is recorded; stale when its inputs move"
            elif x["id"] in self._lost:
                yield x, "its formula is longer than a spreadsheet takes; stale when its inputs move"


def _key(x: Mapping[str, Any]) -> str | None:
    return x["keys"][0] if x["keys"] else None


def _array(numbers: Iterable[float]) -> str:
    return "{" + ",".join(literal(v).strip("()") for v in numbers) + "}"


def _plus(terms: list[str]) -> str:
    return "+".join(terms)
