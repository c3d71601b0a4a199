"""Times along the line: quill to redox probe, probe to pump, and the side of the cartridges."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Annotated

from desalbook.dosing.inputs import DOSED
from desalbook.trail import Choice, Figure, assumed, checked, note, picked, relation, scope, total
from desalbook.trail.inputs import Inputs
from desalbook.units import KINDS

__all__ = ["cartridge_side", "reaction_of", "timing", "travel", "travel_of"]

Seconds = Annotated[float, KINDS["time.second"]]


@relation("Travel time", symbol="t", unit="s", source="definition")
def travel_of(travel_times: Seconds) -> Seconds:
    """Travel time along a line, all its stretches.

    Plug flow in full pipes at the flow of the case; a tank between is not a stretch.
    """
    return total(travel_times)


@relation(
    "Time until the pump has stopped",
    symbol="t_r",
    unit="s",
    source="common-practice",
    note="from chlorine at the probe to no flow into the membranes",
)
def reaction_of(probe_time: Seconds, delay_time: Seconds, valve_time: Seconds) -> Seconds:
    """Response time from chlorine at the ORP probe to no flow into the membranes.

    Probe, alarm delay and valve or pump stop in series; ORP answers slowly to a residual that fades in.
    """
    return probe_time + delay_time + valve_time


def travel(inp: Inputs, id: str, points: Sequence[str], title: str) -> Figure:
    """Travel time over stretches that begin at `points`, whether or not something is dosed there."""
    each = {p: inp(f"injection.points[{p}].travel_time") for p in points}
    column = picked(
        f"{id}_stretches", [float(v) for v in each.values()], "time.second", title="Travel times, stretch by stretch",
        symbol="t", rule="the stretches in order", inputs=each, axis="place", keys=tuple(each),
        candidates=[{"key": k, "value": float(v), "won": True} for k, v in each.items()])
    return travel_of.at(f"{id}_travel", travel_times=column, title=title)


def timing(inp: Inputs, points: Sequence[str], here: Sequence[str]) -> None:
    """Quill to probe 10 to 20 s; probe to pump longer than probe, delay and stop take; the redox band said."""
    if "orp" not in here or "dechlorination" not in here:
        return
    q, o = points.index("dechlorination"), points.index("orp")
    if q < o:
        found = travel(inp, "injection.probe", points[q:o], "Travel time from quill to probe")
        for end, value, sense, do in (
            ("", 10.0, ">=", "move the probe downstream, or add a static mixer"),
            ("_late", 20.0, "<=", "move the probe upstream: each second is chlorine on its way to the membranes"),
        ):
            limit = assumed(
                f"limits.probe_time{end}", value, "time.second", title="Travel time from quill to probe", symbol="t",
                text=f"{value:g} s", source="common-practice", place="10 to 20 s")
            checked(f"injection.probe{end}.check", found, sense, limit,
                    title="Probe not too late" if end else "Mixing before the probe", do=do)
    if "pump" in here and o < points.index("pump"):
        ahead = travel(inp, "injection.warning", points[o:points.index("pump")], "Travel time from probe to pump")
        needed = reaction_of.at("injection.reaction_time", **{
            n: inp(f"injection.{n}") for n in ("probe_time", "delay_time", "valve_time")})
        checked("injection.warning.check", ahead, ">=", needed, title="Probe to pump against the time to stop",
                do="move the probe upstream, or shorten probe, delay or stop; an upset passes otherwise",
                caution="Chlorine that reaches polyamide cannot be taken back.")
    low, high = inp("dechlorination.orp_control"), inp("dechlorination.orp_alarm")
    note("dechlorination.orp_band", title="Redox band of dechlorination", verdict="holds",
         why=f"trimmed to {low.show()}, stop at {high.show()}: common practice, not computed",
         do="set both in commissioning against measured chlorine", inputs={"control": low, "alarm": high})


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
            note(f"injection.cartridge[{name}]",
                 title=f"{DOSED[name]} {'before' if before else 'after'} the cartridges",
                 verdict="holds" if before else "caution",
                 why="the housings mix it and catch its solids; antiscalant and bisulfite can feed slime there"
                 if before else "no housing mixes it, and what falls out of a bad delivery reaches the membranes",
                 do="look at the cartridges when they are changed" if before
                 else "mix it in the pipe and strain it at its pump, or move it before the cartridges",
                 inputs={"present": steps[name]})
