"""Chlorination with hypochlorite: dose, shocks, residual, ageing of the solution in storage."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, cast

from desalbook.dosing.chemicals import chemical, molar_mass, solution, stoichiometry
from desalbook.dosing.dosing_line import Dose, dose_line
from desalbook.dosing.dosing_steps import absent
from desalbook.guidelines import product_use
from desalbook.trail import (
    Choice,
    Figure,
    checked,
    constant,
    exp,
    maximum,
    note,
    picked,
    relation,
    scope,
)
from desalbook.trail.inputs import Inputs
from desalbook.trail.limits import limit, limit_source
from desalbook.trail.words import unit_words
from desalbook.units import (
    KINDS,
    AsCl2,
    Concentration,
    Fraction,
    K,
    KgPerM3,
    MassFraction,
    MassRatio,
    MolarMass,
    MolPerM3,
    PerS,
    S,
)

__all__ = [
    "Chlorinated",
    "PostChlorinated",
    "ageing",
    "chlorate_made",
    "chlorination",
    "chlorine_dose_of",
    "decay_rate",
    "hypochlorite_of",
    "ionic_strength_of",
    "left_after",
    "mean_chlorine",
    "post_chlorination",
    "post_chlorine_dose",
    "shock_left",
]

DoseFlow = Annotated[float, KINDS["flow.dose"]]
Litres = Annotated[float, KINDS["volume.small"]]
Days = Annotated[float, KINDS["time.day"]]
Seconds = Annotated[float, KINDS["time.second"]]
GAS = constant("R", 8.314, "J/(mol K)", source="adam-gordon-1999", title="Gas constant as printed there")
EYRING = constant("k_B/h", 2.083e10, "1/(K s)", source="adam-gordon-1999", title="Boltzmann over Planck")
ENTHALPY = constant("dH", 1.018e5, "J/mol", source="adam-gordon-1999", title="Enthalpy of activation")
ENTROPY = constant("dS", -56.5, "J/(mol K)", source="adam-gordon-1999", title="Entropy of activation")
MOLAR = constant("c_1", 1000.0, "mol/m^3", source="definition", title="One mole a litre")


@relation(
    "Chlorine dose",
    symbol="D_Cl2",
    unit="kg/m^3",
    source="common-practice",
    note="demand by the water's own test; it changes with season and bloom",
)
def chlorine_dose_of(chlorine_demand: AsCl2, chlorine_residual: AsCl2) -> AsCl2:
    """Chlorine dose: demand of the water plus the residual wanted.

    Demand comes from a test on the water itself and moves with season and algal bloom.
    """
    return chlorine_demand + chlorine_residual


@relation("Chlorine dose, mean", symbol="D_m", unit="kg/m^3", source="definition")
def mean_chlorine(chlorine_dose: AsCl2, shock_dose: AsCl2, shock_time: S, shock_interval: S) -> AsCl2:
    """Mean chlorine dose over time, shocks included.

    For use and by-products over a year; the pump follows the shock.
    """
    return chlorine_dose + (shock_dose - chlorine_dose) * shock_time / shock_interval


@relation(
    "Residual during a shock",
    symbol="C_r,sh",
    unit="kg/m^3",
    source="common-practice",
    note="demand as in continuous dosing, so the residual is a high estimate",
)
def shock_left(shock_dose: AsCl2, chlorine_demand: AsCl2) -> AsCl2:
    """Residual chlorine the dechlorination meets during a shock.

    Demand as in continuous dosing, so the residual is a high estimate, on the safe side.
    """
    return maximum(shock_dose - chlorine_demand, 0)


@relation("Hypochlorite in the solution", symbol="c_0", unit="mol/m^3", source="iupac-weights")
def hypochlorite_of(strength: MassFraction, solution_density: KgPerM3, molar_mass: MolarMass) -> MolPerM3:
    """Molar concentration of hypochlorite in a solution, from its available chlorine.

    One mole of Cl2 counts one of hypochlorite; strength is by weight and so goes through the density.
    """
    return strength * solution_density / molar_mass


@relation(
    "Ionic strength of the solution",
    symbol="I",
    unit="mol/m^3",
    source="adam-gordon-1999",
    note="as much chloride as hypochlorite, and 0.1 mol/L of sodium hydroxide; older solutions hold more",
)
def ionic_strength_of(hypochlorite: MolPerM3) -> MolPerM3:
    """Ionic strength of a fresh hypochlorite solution.

    As much chloride as hypochlorite and a little caustic; an old solution holds more chloride, and chlorate.
    """
    return 2 * hypochlorite + 0.1 * MOLAR


@relation(
    "Rate of loss of a fresh solution",
    symbol="k_2*c_0",
    unit="1/s",
    source="adam-gordon-1999",
    place="equation for k2",
    within={"temperature": ("15 degC", "55 degC"), "molar_ionic_strength": ("1000 mmol/L", "6000 mmol/L")},
    note="second order, pH 9 to 14, 0.7 to 3 mol/L, counted as k2 c2: three times that would lose a third in a "
    "month at 25 degC, where storage tables lose a sixth; metals and light make it faster",
)
def decay_rate(hypochlorite: MolPerM3, molar_ionic_strength: MolPerM3, temperature: K) -> PerS:
    """First rate of loss of strength of a fresh hypochlorite solution.

    Second order in hypochlorite with the measured activation; metals, light and pH below 11 speed it up and are
    not in it.
    """
    return (
        10 ** (0.149 * molar_ionic_strength / MOLAR)
        * EYRING
        * temperature
        * exp(ENTROPY / GAS)
        * exp(-ENTHALPY / (GAS * temperature))
        * hypochlorite
        / MOLAR
    )


@relation("Strength left after a time", symbol="x_t", unit="1", source="adam-gordon-1999")
def left_after(first_rate: PerS, storage_time: Days) -> Fraction:
    """Fraction of hypochlorite strength left after storage.

    Second-order decay, so the loss slows down as strength falls; one temperature for the whole time.
    """
    return 1 / (1 + first_rate * storage_time)


@relation(
    "Chlorate brought in with hypochlorite",
    symbol="C_ClO3",
    unit="kg/m^3",
    source="adam-gordon-1999",
    note="all that is lost counts as chlorate, a high estimate (some goes to oxygen); what the delivery "
    "already holds comes on top: ask for its certificate",
)
def chlorate_made(chlorine_dose: AsCl2, strength_left: Fraction, chlorate_per_chlorine: MassRatio) -> Concentration:
    """Chlorate dosed along with aged hypochlorite.

    All strength that is lost counts as chlorate, a high estimate, for some goes to oxygen; chlorate of the
    delivery itself comes on top.
    """
    return chlorine_dose * (1 / strength_left - 1) * chlorate_per_chlorine


@dataclass(frozen=True)
class Chlorinated:
    """Hypochlorite: its line, the residual (kg/m3 as Cl2) that is left, usual and at its maximum."""

    line: Dose
    residual: Figure
    residual_highest: Figure


def chlorination(inp: Inputs, flow: Figure, lowest_flow: Figure | None = None) -> Chlorinated | None:
    """Continuous dose for demand and residual, and shock doses.

    Parameters
    ----------
    flow, lowest_flow : Figure
        m3/s of raw water, all trains and one train.
    """
    if absent(inp, "chlorination") is not None:
        return None
    demand, residual = inp("chlorination.demand"), inp("chlorination.residual")
    with scope(because=[inp("chlorination.present"), inp("chlorination.chemical")]):
        of = solution(inp, "chlorination", chemical(inp("chlorination.chemical"), "chlorination.chemical"))
        dose = chlorine_dose_of.at("chlorination.dose", chlorine_demand=demand, chlorine_residual=residual)
        checked("chlorination.dose.check", dose, "<=", limit("hypochlorite-continuous"),
                title="Chlorine dose, continuous", source=limit_source("hypochlorite-continuous"),
                do="lower chlorination.residual, or dose in shocks only: by-products increase with the dose",
                decided_by=[demand, residual])
    shock: Choice = inp("chlorination.shock")
    with scope(because=[inp("chlorination.present"), inp("chlorination.chemical"), shock]):
        if shock == "no":
            return Chlorinated(
                dose_line(inp, "chlorination", flow, dose, of, lowest_flow=lowest_flow), residual, residual
            )
        high = inp("chlorination.shock_dose")
        checked("chlorination.shock_dose.check", high, "<=", limit("hypochlorite-shock"),
                title="Chlorine dose in a shock", source=limit_source("hypochlorite-shock"),
                do="lower chlorination.shock_dose, or shock longer")
        mean = mean_chlorine.at(
            "chlorination.mean_dose",
            chlorine_dose=dose,
            shock_dose=high,
            shock_time=inp("chlorination.shock_time"),
            shock_interval=inp("chlorination.shock_interval"),
        )
        left = shock_left.at("chlorination.residual_shock", shock_dose=high, chlorine_demand=demand)
        line = dose_line(inp, "chlorination", flow, dose, of, highest=high, lowest_flow=lowest_flow, mean=mean)
    return Chlorinated(line, residual, left)


@dataclass(frozen=True)
class PostChlorinated:
    """Whether the product is chlorinated, and its dose and residual (kg/m3 as Cl2), None when it is not."""

    present: Choice
    dose: Figure | None
    residual: Figure | None


def post_chlorine_dose(inp: Inputs, use: Choice) -> PostChlorinated:
    """Dose for the product, where the file or the use of the product wants one.

    Parameters
    ----------
    use : Choice
        ``duty.product_use``.
    """
    present: Choice | None = inp.selected("post_chlorination.present")
    if present is None:
        wanted = "yes" if product_use(use).residual == "wanted" else "no"
        present = cast(Choice, picked(
            "post_chlorination.present",
            wanted,
            None,
            title="Chlorination of the product",
            rule="drinking water keeps a residual; other uses get no chlorine",
            candidates=[{"key": k, "won": k == wanted} for k in ("yes", "no")],
            inputs={"use": use},
            why=f"the product is for {use}",
            source="common-practice",
        ))
    clash = present == "yes" and product_use(use).residual == "harmful"
    note(
        "post_chlorination.use",
        title="Chlorine and the use of the product",
        verdict="review" if clash else "passes",
        why="resins, boilers and most processes do not bear chlorine" if clash else "they go together",
        do='set post_chlorination.present = "no"',
        inputs={"present": present, "use": use},
    )
    if present == "no":
        return PostChlorinated(present, None, None)
    residual = inp("post_chlorination.residual")
    with scope(because=[present]):
        dose = chlorine_dose_of.at(
            "post_chlorination.dose",
            chlorine_demand=inp("post_chlorination.demand"),
            chlorine_residual=residual,
        )
    return PostChlorinated(present, dose, residual)


def post_chlorination(
    inp: Inputs, flow: Figure, chlorinated: PostChlorinated, lowest_flow: Figure | None = None
) -> Dose | None:
    """Dosing line of hypochlorite into the product flow (m3/s)."""
    if chlorinated.dose is None:
        return None
    with scope(because=[chlorinated.present, inp("post_chlorination.chemical")]):
        of = solution(
            inp, "post_chlorination", chemical(inp("post_chlorination.chemical"), "post_chlorination.chemical")
        )
        return dose_line(inp, "post_chlorination", flow, chlorinated.dose, of, lowest_flow=lowest_flow)


def ageing(inp: Inputs, prefix: str, line: Dose, oldest: Figure) -> Figure:
    """Judge the strength that is counted on by the age of the store, and count the chlorate.

    Parameters
    ----------
    line : Dose
        Of hypochlorite, dose as Cl2.
    oldest : Figure
        Age of the oldest solution, s.

    Returns
    -------
    Figure
        Chlorate that the dose brings into the water, kg/m3.
    """
    mass = molar_mass(f"{prefix}.chlorine_molar_mass", line.neat.chemical, "Molar mass of Cl2", "M_Cl2")
    fresh = hypochlorite_of.at(
        f"{prefix}.hypochlorite", strength=line.neat.delivered, solution_density=line.neat.density, molar_mass=mass
    )
    strength = ionic_strength_of.at(f"{prefix}.ionic_strength", hypochlorite=fresh)
    rate = decay_rate.at(
        f"{prefix}.decay_rate",
        hypochlorite=fresh,
        molar_ionic_strength=strength,
        temperature=inp("dosing.storage_temperature"),
    )
    left = left_after.at(f"{prefix}.strength_aged", first_rate=rate, storage_time=oldest)
    counted = inp(f"{prefix}.strength_left")
    checked(
        f"{prefix}.ageing.check",
        left,
        ">=",
        counted,
        title=f"Strength at end of storage, {unit_words(prefix)}",
        do=f"lower dosing.storage_temperature, shorten dosing.storage_time, buy a weaker grade "
        f"({prefix}.strength), or lower {prefix}.strength_left",
        caution=line.neat.caution,
        decided_by=[inp("dosing.storage_temperature"), counted],
    )
    return chlorate_made.at(
        f"{prefix}.chlorate",
        chlorine_dose=line.dose,
        strength_left=counted,
        chlorate_per_chlorine=stoichiometry(f"{prefix}.chlorate_per_chlorine", "clo3-per-cl2"),
    )
