"""Dechlorination by a reducing chemical, and the ORP probe that proves it before the membranes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, Protocol

from desalbook.dosing.chemicals import chemical, solution, stoichiometry
from desalbook.dosing.dosing_line import Dose, dose_line
from desalbook.dosing.dosing_steps import absent
from desalbook.tables import table
from desalbook.trail import (
    Figure,
    assumed,
    checked,
    note,
    picked,
    relation,
    scope,
    total,
)
from desalbook.trail.inputs import Inputs
from desalbook.trail.limits import limit, limit_source
from desalbook.units import (
    KINDS,
    AsCaCO3,
    AsCl2,
    Concentration,
    Factor,
    MassRatio,
)
from desalbook.water.basis import by_mass_ratio

__all__ = [
    "Dechlorinated",
    "alkalinity_by_bisulfite",
    "dechlorination",
    "dechlorination_dose",
    "oxygen_by_excess",
    "per_residual",
    "reaction_of",
    "timing",
    "travel",
    "travel_of",
]

DoseFlow = Annotated[float, KINDS["flow.dose"]]
Litres = Annotated[float, KINDS["volume.small"]]
Days = Annotated[float, KINDS["time.day"]]
Seconds = Annotated[float, KINDS["time.second"]]


@relation(
    "Dose of dechlorination agent",
    symbol="D_s",
    unit="kg/m^3",
    source="awwa-dechlorination",
    note="stoichiometry times a dose ratio; oxygen is not counted",
)
def dechlorination_dose(
    residual_chlorine: AsCl2, per_chlorine: MassRatio, bisulfite_multiple: Factor
) -> Concentration:
    """Dose of dechlorination agent for the residual at its point.

    Stoichiometric dose times the dose ratio of practice; slow mixing, not stoichiometry, is what lets chlorine
    slip.
    """
    return residual_chlorine * per_chlorine * bisulfite_multiple


@relation("Dechlorination agent per residual chlorine", symbol="r_s", unit="1", source="definition")
def per_residual(per_chlorine: MassRatio, bisulfite_multiple: Factor) -> MassRatio:
    """Dechlorination agent per residual chlorine, with the dose ratio of practice.

    Mass of product per mass of Cl2; the ratio covers poor mixing and an aged solution.
    """
    return per_chlorine * bisulfite_multiple


@relation(
    "Oxygen the excess could take",
    symbol="C_O2",
    unit="kg/m^3",
    source="iupac-weights",
    note="reported, never added to the dose: oxygen is taken slowly",
)
def oxygen_by_excess(
    bisulfite_dose: Concentration, residual_chlorine: AsCl2, per_chlorine: MassRatio, per_oxygen: MassRatio
) -> Concentration:
    """Dissolved oxygen the excess of dechlorination agent could take.

    Reported and never added to the dose, for oxygen is taken slowly; some plants see slime where it is.
    """
    return (bisulfite_dose - residual_chlorine * per_chlorine) / per_oxygen


@relation(
    "Alkalinity taken by dechlorination",
    symbol="dAlk",
    unit="kg/m^3",
    source="iupac-weights",
    note="two equivalents a mole: bisulfite with hypochlorous acid; with hypochlorite one, half of this",
)
def alkalinity_by_bisulfite(residual_chlorine: AsCl2, alkalinity_per_chlorine: MassRatio) -> AsCaCO3:
    """Alkalinity taken by dechlorination with bisulfite, as CaCO3.

    Two equivalents a mole of chlorine: bisulfite turns to sulfate and acid; sulfite salts take less.
    """
    return residual_chlorine * alkalinity_per_chlorine


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


class Residual(Protocol):
    """What the dechlorination agent must take: residual chlorine, usual and maximum, kg/m3 as Cl2."""

    @property
    def residual(self) -> Figure: ...

    @property
    def residual_highest(self) -> Figure: ...


@dataclass(frozen=True)
class Dechlorinated:
    """Dechlorination agent: its line and the alkalinity it takes (kg/m3 as CaCO3)."""

    line: Dose
    alkalinity: Figure
    oxygen: Figure


def dechlorination(
    inp: Inputs, flow: Figure, chlorinated: Residual | None, lowest_flow: Figure | None = None
) -> Dechlorinated | None:
    """Dechlorination agent for the residual at that point; oxygen is reported, never added.

    Without chlorination nothing is dosed even where the step is present: a finding says so.
    """
    if absent(inp, "dechlorination") is not None or chlorinated is None:
        return None
    chosen = inp.choice("dechlorination.chemical")
    agent = chemical(chosen, "dechlorination.chemical")
    with scope(because=[inp("dechlorination.present"), chosen]):
        of = solution(inp, "dechlorination", agent)
        ratio = stoichiometry("dechlorination.per_chlorine", agent.ratio_key("{formula}-per-cl2"))
        row = table("field_factors")[agent.ratio_key("{formula}-per-cl2")]
        field = assumed(
            "dechlorination.field_factor",
            row["ratio"].value,
            "mass ratio",
            title=row.title,
            symbol="r_f",
            text=row["ratio"].text,
            source=row.source,
            place=row.place,
            table="field_factors",
            row=row.key,
            note="experience of plants, kept apart from stoichiometry",
        )
        per_oxygen = stoichiometry("dechlorination.per_oxygen", agent.ratio_key("{formula}-per-o2"))
        per_alkalinity = stoichiometry("dechlorination.alkalinity_per_chlorine", "caco3-per-cl2")
        multiple = inp("dechlorination.dose_ratio")

        fed = per_residual.at("dechlorination.per_residual", per_chlorine=ratio, bisulfite_multiple=multiple)
        checked(
            "dechlorination.field.check",
            fed,
            ">=",
            field,
            title="Dechlorination agent against the field factor",
            do="set dechlorination.dose_ratio to at least 1.1: plants typically need 10 % above stoichiometric",
            caution="Residual chlorine destroys polyamide membranes. Keep the dose ratio and the ORP trip in service.",
        )

        def needed(id: str, residual: Figure, **more: str) -> Figure:
            return dechlorination_dose.at(
                id, residual_chlorine=residual, per_chlorine=ratio, bisulfite_multiple=multiple, **more
            )

        dose = needed("dechlorination.dose", chlorinated.residual)
        high = dose
        if chlorinated.residual_highest.id != chlorinated.residual.id:
            high = needed(
                "dechlorination.dose_maximum",
                chlorinated.residual_highest,
                title="Dose of dechlorination agent in a shock",
            )
        taken = alkalinity_by_bisulfite.at(
            "dechlorination.alkalinity",
            residual_chlorine=chlorinated.residual,
            alkalinity_per_chlorine=per_alkalinity,
        )
        oxygen = oxygen_by_excess.at(
            "dechlorination.oxygen",
            bisulfite_dose=dose,
            residual_chlorine=chlorinated.residual,
            per_chlorine=ratio,
            per_oxygen=per_oxygen,
        )
        by_mass_ratio.at("dechlorination.dose_for_oxygen", stated=inp("water.oxygen"), basis_ratio=per_oxygen,
                         title="Dechlorination agent for all oxygen", symbol="D_O2",
                         note="for comparison only; no plant doses this")
        line = dose_line(inp, "dechlorination", flow, dose, of, highest=high, lowest_flow=lowest_flow)
    return Dechlorinated(line, taken, oxygen)


def travel(inp: Inputs, id: str, points: Sequence[str], title: str) -> Figure:
    """Travel time over stretches that begin at `points`, whether or not something is dosed there."""
    each = {p: inp(f"injection.points[{p}].travel_time") for p in points}
    column = picked(
        f"{id}_stretches",
        [float(v) for v in each.values()],
        "time.second",
        title="Travel times, stretch by stretch",
        symbol="t",
        rule="the stretches in order",
        inputs=each,
        axis="place",
        keys=tuple(each),
        candidates=[{"key": k, "value": float(v), "won": True} for k, v in each.items()],
    )
    return travel_of.at(f"{id}_travel", travel_times=column, title=title)


def _travel_times(inp: Inputs, points: Sequence[str]) -> list[Figure]:
    """Times of the stretches that begin at these points."""
    return [inp.number(f"injection.points[{p}].travel_time") for p in points]


def timing(inp: Inputs, points: Sequence[str], here: Sequence[str]) -> None:
    """Quill to probe 10 to 20 s; probe to pump longer than probe, delay and stop take; the ORP band said."""
    if "orp" not in here or "dechlorination" not in here:
        return
    q, o = points.index("dechlorination"), points.index("orp")
    if q < o:
        found = travel(inp, "injection.probe", points[q:o], "Travel time from quill to probe")
        for key, sense, title, do in (
            ("probe-time", ">=", "ORP probe: mixing time, minimum", "move the probe downstream, or add a static mixer"),
            ("probe-time-late", "<=", "ORP probe response: travel time, maximum",
             "move the probe upstream: each second is chlorine on its way to the membranes"),
        ):
            end = key.removeprefix("probe-time").replace("-", "_")
            checked(f"injection.probe{end}.check", found, sense, limit(key, symbol="t"), title=title, do=do,
                    source=limit_source(key), decided_by=_travel_times(inp, points[q:o]))
    if "pump" in here and o < points.index("pump"):
        ahead = travel(inp, "injection.warning", points[o : points.index("pump")], "Travel time from probe to pump")
        needed = reaction_of.at(
            "injection.reaction_time",
            **{n: inp(f"injection.{n}") for n in ("probe_time", "delay_time", "valve_time")},
        )
        checked(
            "injection.warning.check",
            ahead,
            ">=",
            needed,
            title="ORP probe to HP pump: travel time",
            do="move the probe upstream, or shorten the probe, alarm or shutdown time; otherwise chlorine "
               "reaches the membranes before the trip acts",
            caution="Oxidation damage to polyamide membranes is irreversible. Stop the HP pump on high ORP.",
            decided_by=[*_travel_times(inp, points[o : points.index("pump")]),
                        *[inp(f"injection.{n}") for n in ("probe_time", "delay_time", "valve_time")]],
        )
    low, high = inp("dechlorination.orp_control"), inp("dechlorination.orp_alarm")
    note(
        "dechlorination.orp_band",
        title="ORP band of dechlorination",
        verdict="passes",
        why=f"trimmed to {low.show()}, stop at {high.show()}: common practice, not computed",
        do="set both in commissioning against measured chlorine",
        inputs={"control": low, "alarm": high},
        decided_by=[low, high],
    )
