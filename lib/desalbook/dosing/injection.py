"""Order of injection along the water line, and steps that do not go together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from desalbook.dosing.dechlorination import timing, travel
from desalbook.dosing.dosing_steps import ALONG_THE_FEED, MAY_BE_ABSENT, PLACES
from desalbook.trail import (
    Choice,
    Figure,
    checked,
    note,
    scope,
)
from desalbook.trail.inputs import Inputs
from desalbook.trail.limits import limit, limit_source
from desalbook.trail.words import low_first

__all__ = [
    "BEFORE",
    "cartridge_side",
    "contradictions",
    "order",
]


BEFORE = (
    (
        "chlorination",
        "dechlorination",
        "the dechlorination agent must meet what chlorine is left",
        "put the hypochlorite quill upstream",
    ),
    (
        "chlorination",
        "antiscalant",
        "chlorine attacks many antiscalants",
        "put antiscalant after the filters",
    ),
    (
        "coagulation",
        "filter",
        "the flocs must be caught by the filters",
        "put the coagulant before the filters",
    ),
    (
        "filter",
        "antiscalant",
        "antiscalant disperses what the filters should catch",
        "put it after the filters",
    ),
    (
        "dechlorination",
        "orp",
        "the probe must see the water after the dechlorination agent",
        "put the probe some 10 to 20 s after the quill",
    ),
    (
        "orp",
        "pump",
        "the probe must stop the pump before chlorine reaches it",
        "put the probe before the pump",
    ),
    ("dechlorination", "pump", "chlorine must be gone before the membranes", "put the quill before the pump"),
    ("cartridge", "pump", "the cartridge protects the pump", "put the cartridge before the pump"),
    ("filter", "acid", "acid would dissolve flocs and attack the filters", "put acid after the filters"),
    ("acid", "pump", "acid must be mixed before the membranes", "put acid before the pump"),
    ("antiscalant", "pump", "antiscalant acts in the concentrate", "put it before the pump"),
    ("chlorination", "biocide", "chlorine would spend it", "put the biocide where chlorine is gone"),
    ("dechlorination", "biocide", "chlorine would spend it", "put the biocide where chlorine is gone"),
    ("biocide", "pump", "it is meant for the membranes", "put it before the pump"),
    ("pump", "interpass_ph", "alkali makes scale of seawater", "put it into the permeate of the first pass"),
    ("interpass_ph", "second_pass", "boron is held back as borate", "put the alkali before the second pass"),
    (
        "second_pass",
        "post_chlorination",
        "chlorine destroys the membranes of the second pass",
        "put chlorine after the second pass",
    ),
    ("second_pass", "post_ph", "the product is made of the second permeate", "put it after the second pass"),
    (
        "second_pass",
        "corrosion_inhibitor",
        "the inhibitor is meant for the network",
        "put it after the second pass",
    ),
)


def contradictions(
    inp: Inputs, *, filters: Choice | Figure | None, oxidant_sensitive: Choice | Figure | None
) -> None:
    """Findings on steps that do not go together.

    Parameters
    ----------
    filters : Choice or Figure or None
        What says that the plant has media filters; None when it has none.
    oxidant_sensitive : Choice or Figure or None
        What says that the membranes do not bear chlorine (polyamide); None when they do.
    """
    chlorine, reducer = inp("chlorination.present"), inp("dechlorination.present")
    ferric, source = inp("coagulation.present"), inp("water.source")
    both = {"chlorination": chlorine, "dechlorination": reducer}
    bare = chlorine == "yes" and reducer == "no" and oxidant_sensitive is not None
    note(
        "dechlorination.needed",
        title="Chlorine reaching the membranes",
        verdict="fails" if bare else "passes",
        why="chlorine reaches membranes that it destroys"
        if bare
        else "what is dosed is taken out again, or nothing is dosed",
        do='set dechlorination.present = "yes", or omit chlorination (chlorination.present)',
        inputs={**both, **({"membrane": oxidant_sensitive} if oxidant_sensitive is not None else {})},
    )
    idle = reducer == "yes" and chlorine == "no"
    note(
        "dechlorination.purpose",
        title="Dechlorination matches chlorination",
        verdict="review" if idle else "passes",
        why="nothing is chlorinated, so nothing is dosed" if idle else "goes with chlorination",
        do="omit dechlorination, with its reason (dechlorination.reason)",
        inputs=both,
    )
    loose = ferric == "yes" and filters is None
    note(
        "coagulation.filter",
        title="Filter for the coagulant",
        verdict="fails" if loose else "passes",
        why="flocs would reach the cartridges and the membranes" if loose else "flocs are caught, or none are made",
        do="add media filters, or omit the coagulant",
        inputs={"coagulation": ferric, **({"filters": filters} if filters is not None else {})},
    )
    well = source == "beach-well" and chlorine == "yes"
    note(
        "chlorination.source",
        title="Chlorine on this source",
        verdict="review" if well else "passes",
        why="a beach well may hold iron and manganese that chlorine makes solids of"
        if well
        else "usual for this source",
        do="omit chlorination, or prove the well free of iron and manganese",
        inputs={"source": source, "chlorination": chlorine},
    )


def order(inp: Inputs, points: Sequence[str], *, filters: Choice | Figure | None = None) -> None:
    """Check the places along the line, in the order the water passes them.

    Parameters
    ----------
    points : sequence of str
        Names of ``injection.points``, keys of `PLACES`. Chemicals that are not present are passed over.
    filters : Choice or Figure or None
        As in `contradictions`.
    """
    steps = {n: inp(f"{n}.present") for n in MAY_BE_ABSENT}
    here = [p for p in points if (steps[p] == "yes" if p in steps else p != "filter" or filters is not None)]
    with scope(because=list(steps.values())):
        for first, second, why, do in BEFORE:
            if first not in here or second not in here:
                continue
            wrong = here.index(first) > here.index(second)
            note(
                f"injection.order[{first}-{second}]",
                title=f"{PLACES[first]} upstream of {low_first(PLACES[second])}",
                verdict="fails" if wrong else "passes",
                why=why,
                do=do,
                inputs={p: steps[p] for p in (first, second) if p in steps},
            )
        _missing({n: steps[n] for n in ALONG_THE_FEED}, here)
        if "acid" in here and "dechlorination" in here:
            _acid_apart(inp, points)
        timing(inp, points, here)
        cartridge_side(here, steps)


def _acid_apart(inp: Inputs, points: Sequence[str]) -> None:
    """Acid and dechlorination agent never at one quill."""
    i, j = points.index("acid"), points.index("dechlorination")
    first, last = (i, j) if i < j else (j, i)
    gap = travel(inp, "injection.acid_apart", points[first:last], "Travel time between acid and dechlorination agent")
    least = limit("quill-distance", symbol="t")
    checked(
        "injection.acid_apart.check",
        gap,
        ">=",
        least,
        title="Acid and dechlorination agent apart",
        do="move one quill; never feed both through one",
        caution="Acid drives sulfur dioxide, a toxic gas, out of bisulfite. Keep their quills and tanks apart.",
        source=limit_source("quill-distance"),
        decided_by=[inp.number(f"injection.points[{p}].travel_time") for p in points[first:last]],
    )


def _missing(steps: dict[str, Choice], here: list[str]) -> None:
    lost = [n for n, present in steps.items() if present == "yes" and n not in here]
    note(
        "injection.complete",
        title="Every chemical has its place",
        verdict="fails" if lost else "passes",
        why=f"no place for {', '.join(PLACES[n].lower() for n in lost)}" if lost else "all have one",
        do="add a row to injection.points",
        inputs=steps,
    )


def cartridge_side(here: Sequence[str], steps: Mapping[str, Choice]) -> None:
    """Say what it means that a chemical enters before or after the cartridges."""
    if "cartridge" not in here:
        return
    at = here.index("cartridge")
    for name in ("acid", "antiscalant", "dechlorination", "biocide"):
        if name not in here:
            continue
        before = here.index(name) < at
        with scope(because=[steps[name]]):
            note(
                f"injection.cartridge[{name}]",
                title=f"{PLACES[name]} {'upstream' if before else 'downstream'} of cartridges",
                verdict="passes" if before else "review",
                why="the housings mix it and catch its solids; antiscalant and bisulfite can feed slime there"
                if before
                else "no housing mixes it, and what falls out of a bad delivery reaches the membranes",
                do="inspect the cartridges at each change"
                if before
                else "mix it in the pipe and strain it at its pump, or move it before the cartridges",
                inputs={"present": steps[name]},
            )
