"""Chemicals that must not meet: refused side by side in the store, by the table of pairs."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise
from typing import Any

from desalbook.dosing.inputs import DOSED
from desalbook.dosing.line import Dose
from desalbook.tables import Row, table
from desalbook.trail import note, scope
from desalbook.trail.inputs import Inputs

__all__ = ["incompatible", "side_by_side"]

def incompatible(one: str, other: str) -> Row | None:
    """Row of the table of pairs for two chemicals, keys of the table of chemicals; None where none is listed."""
    roles = {table("chemicals")[k]["role"].value for k in (one, other)}
    return next((x for x in table("incompatible_pairs").values()
                 if {x["first"].value, x["second"].value} == roles), None)


def side_by_side(inp: Inputs, bays: Sequence[str], lines: Mapping[str, Dose], *, because: Iterable[Any] = ()) -> None:
    """Refuse neighbours that react where no wall stands between them, or one bund holds both.

    Parameters
    ----------
    bays : sequence of str
        Names of ``chemical_store.bays``, as they stand.
    lines : mapping
        Dosing lines of the plant by name.
    because : iterable of Choice or Figure
        What decides which lines the plant has.
    """
    fed = {n: x.feed_rate for n, x in lines.items()}
    with scope("plant", because=[*because, *fed.values()]):
        lost = [n for n in lines if n in DOSED and n not in bays]
        note("chemical_store.complete", title="Every chemical has its bay", verdict="fails" if lost else "holds",
             why=f"no bay for {', '.join(DOSED[n].lower() for n in lost)}" if lost else "all have one",
             do="add a row to chemical_store.bays", inputs=fed)
        here = [n for n in bays if n in lines]
        for first, second in pairwise(here):
            pair = incompatible(lines[first].neat.chemical, lines[second].neat.chemical)
            if pair is None:
                continue
            between = bays[bays.index(first):bays.index(second)]
            walls = {f"wall {n}": inp(f"chemical_store.bays[{n}].wall") for n in between}
            bunds = {f"bund {n}": inp(f"chemical_store.bays[{n}].shares_bund") for n in between}
            open_, shared = all(w == "no" for w in walls.values()), all(b == "yes" for b in bunds.values())
            how = "in one bund" if shared else "side by side" if open_ else "apart"
            note(f"chemical_store.beside[{first}-{second}]",
                 title=f"{DOSED.get(first, first)} beside {DOSED.get(second, second).lower()}",
                 verdict="fails" if open_ or shared else "holds",
                 why=f"{how}; together they make {pair['makes'].value}",
                 do="set a wall between them, and give each its own bund, vent, drain and fill coupling",
                 inputs=walls | bunds,
                 caution=f"{pair['caution'].value} The safety data sheets and local codes govern.")
