"""One dosing line: feed rates over the span of the dose, day tank, storage and use."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from desalbook.balances import flow_ratio
from desalbook.dosing.chemicals import Neat, Solution, not_followed
from desalbook.problems import Infeasible
from desalbook.trail import (
    Figure,
    assumed,
    checked,
    maximum,
    relation,
)
from desalbook.trail.inputs import Inputs
from desalbook.trail.words import unit_words
from desalbook.units import (
    KINDS,
    AsCl2,
    AsProduct,
    Concentration,
    Kg,
    KgPerM3,
    KgPerS,
    M3PerS,
    MassFraction,
    Molality,
    MolarMass,
)

__all__ = [
    "Dose",
    "chlorine_rate",
    "dose_line",
    "dose_of_amount",
    "feed_rate",
    "make_down_water",
    "product_rate",
    "stored",
    "substance_rate",
    "used",
]

DoseFlow = Annotated[float, KINDS["flow.dose"]]
Litres = Annotated[float, KINDS["volume.small"]]
Days = Annotated[float, KINDS["time.day"]]
Seconds = Annotated[float, KINDS["time.second"]]


@relation("Mass rate", symbol="W", unit="kg/s", source="definition")
def substance_rate(flow: M3PerS, dose: Concentration) -> KgPerS:
    """Mass rate of a pure substance.

    Flow times dose; the solution's mass follows through its strength.
    """
    return flow * dose


@relation("Mass rate, as Cl2", symbol="W", unit="kg/s", source="definition")
def chlorine_rate(flow: M3PerS, chlorine_dose: AsCl2) -> KgPerS:
    """Mass rate of available chlorine, as Cl2.

    Flow times dose; the product's own mass follows through its strength.
    """
    return flow * chlorine_dose


@relation("Mass rate, as product", symbol="W", unit="kg/s", source="definition")
def product_rate(flow: M3PerS, antiscalant_dose: AsProduct) -> KgPerS:
    """Mass rate of a product, as bought.

    Flow times dose as product; dilution does not change it.
    """
    return flow * antiscalant_dose


@relation("Feed rate", symbol="q_c", unit="m^3/s", source="definition")
def feed_rate(mass_flow: KgPerS, strength: MassFraction, solution_density: KgPerM3) -> DoseFlow:
    """Feed rate of a chemical solution.

    Strength in the basis of the dose (as product, as Cl2, as the pure substance) and density at the store's
    temperature.
    """
    return mass_flow / (strength * solution_density)


@relation("Volume stored", symbol="V_d", unit="m^3", source="definition")
def stored(dosing_flow: DoseFlow, storage_time: Days) -> Litres:
    """Volume fed in a storage time.

    At the mean feed rate; the smallest tank follows from it.
    """
    return dosing_flow * storage_time


@relation("Solution used", symbol="m_u", unit="kg", source="definition", note="plant running all the time")
def used(dosing_flow: DoseFlow, solution_density: KgPerM3, usage_time: Days) -> Kg:
    """Solution used in a time, as a mass.

    Mean feed rate with the plant running all the time; a year with its stops is another relation.
    """
    return dosing_flow * solution_density * usage_time


@relation("Dose by volume", symbol="D", unit="kg/m^3", source="definition")
def dose_of_amount(
    amount: Molality, molar_mass: MolarMass, density: KgPerM3, total_dissolved_solids: Concentration
) -> Concentration:
    """Dose per volume, from moles per kilogram of water.

    Goes through the water a volume holds, its density less its salt.
    """
    return amount * molar_mass * (density - total_dissolved_solids)


@relation("Water of dilution", symbol="W_w", unit="kg/s", source="definition")
def make_down_water(
    dosing_flow: DoseFlow, solution_density: KgPerM3, neat_flow: DoseFlow, neat_density: KgPerM3
) -> KgPerS:
    """Dilution water of a make-down, as a mass flow.

    What is fed less what is bought, and none where it should be fed stronger than it is bought, which a check reports;
    for antiscalant and polymer, softened or permeate water is needed.
    """
    return maximum(dosing_flow * solution_density - neat_flow * neat_density, 0)


_RATE = {
    "concentration": ("dose", substance_rate),
    "concentration as Cl2": ("chlorine_dose", chlorine_rate),
    "concentration as product": ("antiscalant_dose", product_rate),
}


@dataclass(frozen=True)
class Dose:
    """One dosing line, for the whole plant.

    Parameters
    ----------
    dose : Figure
        kg/m3 in the basis its kind names.
    mass_rate : Figure
        kg/s of that basis at the mean dose and full flow.
    feed_rate, feed_rate_maximum, feed_rate_minimum : Figure
        m3/s of solution.
    day_tank, storage : Figure
        m3.
    monthly_use : Figure
        kg of solution as bought in 30 days.
    neat : Neat
    solution : Solution
    flow : Figure
        m3/s that are dosed, all trains.
    mean_dose, mean_mass_rate, mean_feed, mean_neat : Figure
        Over time, shocks included: kg/m3, kg/s of the basis, m3/s as fed, m3/s as bought.
    """

    dose: Figure
    mass_rate: Figure
    feed_rate: Figure
    feed_rate_maximum: Figure
    feed_rate_minimum: Figure
    day_tank: Figure
    storage: Figure
    monthly_use: Figure
    neat: Neat
    solution: Solution
    flow: Figure
    mean_dose: Figure
    mean_mass_rate: Figure
    mean_feed: Figure
    mean_neat: Figure


def dose_line(
    inp: Inputs,
    prefix: str,
    flow: Figure,
    dose: Figure,
    of: Solution,
    *,
    highest: Figure | None = None,
    lowest: Figure | None = None,
    lowest_flow: Figure | None = None,
    mean: Figure | None = None,
) -> Dose:
    """Feed rates, tanks and use of one chemical.

    Parameters
    ----------
    inp : callable
    prefix : str
        Part of the ids, for example ``"antiscalant"``.
    flow : Figure
        m3/s that are dosed with all trains running.
    dose : Figure
        The usual dose; its kind says what it counts and so which strength is meant.
    of : Solution
    highest, lowest : Figure, optional
        Doses the pump must span; the usual dose unless given.
    lowest_flow : Figure, optional
        m3/s, one train; `flow` unless given.
    mean : Figure, optional
        Dose over time, for store and use; the usual dose unless given.
    """
    name, rate = _RATE[dose.kind.family]

    def fed(suffix: str, q: Figure, d: Figure, what: str) -> tuple[Figure, Figure]:
        mass = rate.at(
            f"{prefix}.mass_rate{suffix}",
            flow=q,
            title=f"Mass rate, {what}",
            note=not_followed(of.neat.chemical.key),
            **{name: d},
        )
        return mass, feed_rate.at(
            f"{prefix}.feed_rate{suffix}",
            mass_flow=mass,
            strength=of.strength,
            solution_density=of.density,
            title=f"Feed rate, {what}",
        )

    mass, feed = fed("", flow, dose, "usual dose")
    _, high = fed("_maximum", flow, highest or dose, "maximum dose, all trains")
    _, low = fed("_minimum", lowest_flow or flow, lowest or dose, "minimum dose, one train")
    mean_mass, average = (mass, feed) if mean is None else fed("_mean", flow, mean, "mean dose")
    bought = average
    if of.strength is not of.neat.strength:
        bought = feed_rate.at(
            f"{prefix}.neat_rate",
            mass_flow=mean_mass,
            strength=of.neat.strength,
            solution_density=of.neat.density,
            title="Solution bought, mean",
        )
        make_down_water.at(
            f"{prefix}.dilution_water",
            dosing_flow=average,
            solution_density=of.density,
            neat_flow=bought,
            neat_density=of.neat.density,
        )
    if not float(low) > 0.0:
        raise Infeasible(
            "nothing is fed at the minimum dose, and no pump has that span",
            where=f"{prefix}.dose",
            do=f"see what makes its lowest dose zero, or set {prefix}.present = no",
        )
    span = flow_ratio.at(f"{prefix}.span", flow=high, reference_flow=low, title="Pump turndown", symbol="r_q")
    checked(
        f"{prefix}.span.check",
        span,
        "<=",
        inp("dosing.span"),
        title=f"Dosing-pump turndown, {unit_words(prefix)}",
        do="split it between two pumps, or dilute the solution",
        caution=of.caution,
    )
    tank = stored.at(
        f"{prefix}.day_tank", dosing_flow=feed, storage_time=inp("dosing.day_tank_time"), title="Day tank"
    )
    store = stored.at(
        f"{prefix}.storage",
        dosing_flow=bought,
        storage_time=inp("dosing.storage_time"),
        title="Bulk storage",
    )
    month = assumed(
        f"{prefix}.month",
        30 * 86400.0,
        "time.day",
        title="Month of the figure of use",
        symbol="t_u",
        text="30 d",
        source="definition",
    )
    use = used.at(f"{prefix}.monthly_use", dosing_flow=bought, solution_density=of.neat.density, usage_time=month)
    return Dose(
        dose,
        mass,
        feed,
        high,
        low,
        tank,
        store,
        use,
        of.neat,
        of,
        flow,
        dose if mean is None else mean,
        mean_mass,
        average,
        bought,
    )
