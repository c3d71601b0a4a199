"""Contradictions between steps, and the order of the places along the line."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from desalbook.dosing.inputs import DOSED
from desalbook.trail import Choice, Figure, assumed, checked, note

__all__ = ["BEFORE", "contradictions", "order"]

Inp = Callable[[str], Any]

# (first, second, why, what to do); common practice
BEFORE = (
    (
        "chlorination",
        "dechlorination",
        "the reducing agent must meet what chlorine is left",
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
        "the probe must see the water after the reducing agent",
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
)


def contradictions(
    inp: Inp, *, filters: Choice | Figure | None, oxidant_sensitive: Choice | Figure | None
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
        title="Chlorine ahead of the membranes",
        verdict="fails" if bare else "holds",
        why="chlorine reaches membranes that it destroys"
        if bare
        else "what is dosed is taken out again, or nothing is dosed",
        do='write dechlorination.present = "yes", or leave chlorination out',
        inputs={**both, **({"membrane": oxidant_sensitive} if oxidant_sensitive is not None else {})},
    )
    idle = reducer == "yes" and chlorine == "no"
    note(
        "dechlorination.purpose",
        title="Purpose of the reducing agent",
        verdict="caution" if idle else "holds",
        why="nothing is chlorinated, so nothing is dosed" if idle else "goes with chlorination",
        do="leave dechlorination out, with its reason",
        inputs=both,
    )
    loose = ferric == "yes" and filters is None
    note(
        "coagulation.filter",
        title="Filter for the coagulant",
        verdict="fails" if loose else "holds",
        why="flocs would reach the cartridges and the membranes"
        if loose
        else "flocs are caught, or none are made",
        do="add media filters, or leave the coagulant out",
        inputs={"coagulation": ferric, **({"filters": filters} if filters is not None else {})},
    )
    well = source == "beach-well" and chlorine == "yes"
    note(
        "chlorination.source",
        title="Chlorine on this source",
        verdict="caution" if well else "holds",
        why="a beach well may hold iron and manganese that chlorine makes solids of"
        if well
        else "usual for this source",
        do="leave chlorine out, or prove the well free of iron and manganese",
        inputs={"source": source, "chlorination": chlorine},
    )


def order(inp: Inp, points: Sequence[str], *, filters: Choice | Figure | None = None) -> None:
    """Check the places along the line, in the order the water passes them.

    Parameters
    ----------
    points : sequence of str
        Names of ``injection.points``, keys of `DOSED`. Chemicals that are not present are passed over.
    filters : Choice or Figure or None
        As in `contradictions`.
    """
    steps = {
        n: inp(f"{n}.present")
        for n in ("chlorination", "coagulation", "acid", "antiscalant", "dechlorination")
    }
    here = [p for p in points if (steps[p] == "yes" if p in steps else p != "filter" or filters is not None)]
    places = {p: inp(f"injection.points[{p}].travel_time") for p in here}
    for first, second, why, do in BEFORE:
        if first not in here or second not in here:
            continue
        wrong = here.index(first) > here.index(second)
        note(
            f"injection.order[{first}-{second}]",
            title=f"{DOSED[first]} before {DOSED[second].lower()}",
            verdict="fails" if wrong else "holds",
            why=why,
            do=do,
            inputs={p: steps[p] for p in (first, second) if p in steps},
        )
    _missing(steps, here)
    if "acid" in here and "dechlorination" in here:
        near = abs(here.index("acid") - here.index("dechlorination")) == 1
        first = here[
            here.index("acid")
            if here.index("acid") < here.index("dechlorination")
            else here.index("dechlorination")
        ]
        gap = places[first]
        least = assumed(
            "limits.quill_distance",
            3.0,
            "time.second",
            title="Travel time between these quills",
            symbol="t",
            text="3 s",
            source="common-practice",
        )
        if near:
            checked(
                "injection.acid_apart.check",
                gap,
                ">=",
                least,
                title="Acid and reducing agent apart",
                do="move one quill; never feed both through one",
                caution="Acid drives sulfur dioxide out of bisulfite.",
            )
    if {"dechlorination", "orp"} <= set(here) and here.index("orp") == here.index("dechlorination") + 1:
        mixing = assumed(
            "limits.probe_time",
            10.0,
            "time.second",
            title="Travel time from quill to probe",
            symbol="t",
            text="10 s",
            source="common-practice",
            place="10 to 20 s",
        )
        checked(
            "injection.probe.check",
            places["dechlorination"],
            ">=",
            mixing,
            title="Mixing before the probe",
            do="move the probe downstream, or add a static mixer",
        )


def _missing(steps: dict[str, Choice], here: list[str]) -> None:
    lost = [n for n, present in steps.items() if present == "yes" and n not in here]
    note(
        "injection.complete",
        title="Every chemical has its place",
        verdict="fails" if lost else "holds",
        why=f"no place for {', '.join(DOSED[n].lower() for n in lost)}" if lost else "all have one",
        do="add a row to injection.points",
        inputs=steps,
    )
