"""Hypochlorite in store: strength lost with time, warmth and strength itself, and the chlorate it makes."""

from __future__ import annotations

from typing import Annotated

from desalbook.dosing.line import Dose, stoichiometry
from desalbook.trail import Figure, assumed, checked, constant, exp, relation
from desalbook.trail.inputs import Inputs
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
)

__all__ = ["ageing", "chlorate_made", "decay_rate", "hypochlorite_of", "ionic_strength_of", "left_after"]

GAS = constant("R", 8.314, "J/(mol K)", source="adam-gordon-1999", title="Gas constant as printed there")
EYRING = constant("k_B/h", 2.083e10, "1/(K s)", source="adam-gordon-1999", title="Boltzmann over Planck")
ENTHALPY = constant("dH", 1.018e5, "J/mol", source="adam-gordon-1999", title="Enthalpy of activation")
ENTROPY = constant("dS", -56.5, "J/(mol K)", source="adam-gordon-1999", title="Entropy of activation")
MOLAR = constant("c_1", 1000.0, "mol/m^3", source="definition", title="One mole a litre")

Days = Annotated[float, KINDS["time.day"]]


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
    note="as much chloride as hypochlorite, and 0.1 mol/L of caustic; older solutions hold more",
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
def chlorate_made(
    chlorine_dose: AsCl2, strength_left: Fraction, chlorate_per_chlorine: MassRatio
) -> Concentration:
    """Chlorate dosed along with aged hypochlorite.

    All strength that is lost counts as chlorate, a high estimate, for some goes to oxygen; chlorate of the
    delivery itself comes on top.
    """
    return chlorine_dose * (1 / strength_left - 1) * chlorate_per_chlorine


def ageing(inp: Inputs, prefix: str, line: Dose, store_time: Figure) -> Figure:
    """Judge the strength that is counted on by the age of the store, and count the chlorate.

    Parameters
    ----------
    line : Dose
        Of hypochlorite, dose as Cl2.
    store_time : Figure
        Age of the oldest solution: what the store lasts, s.

    Returns
    -------
    Figure
        Chlorate that the dose brings into the water, kg/m3.
    """
    mass = assumed(f"{prefix}.chlorine_molar_mass", 70.900e-3, "molar mass", title="Molar mass of Cl2",
                   symbol="M_Cl2", text="70.900 g/mol", source="iupac-weights")
    fresh = hypochlorite_of.at(f"{prefix}.hypochlorite", strength=line.neat.delivered,
                               solution_density=line.neat.density, molar_mass=mass)
    strength = ionic_strength_of.at(f"{prefix}.ionic_strength", hypochlorite=fresh)
    rate = decay_rate.at(f"{prefix}.decay_rate", hypochlorite=fresh, molar_ionic_strength=strength,
                         temperature=inp("dosing.store_temperature"))
    left = left_after.at(f"{prefix}.strength_aged", first_rate=rate, storage_time=store_time)
    counted = inp(f"{prefix}.strength_left")
    checked(f"{prefix}.ageing.check", left, ">=", counted, title="Strength when the store runs out",
            do=f"keep the store cooler (dosing.store_temperature), buy it weaker ({prefix}.strength), or count on "
            f"less ({prefix}.strength_left)",
            caution=line.neat.caution)
    return chlorate_made.at(f"{prefix}.chlorate", chlorine_dose=line.dose, strength_left=counted,
                            chlorate_per_chlorine=stoichiometry(f"{prefix}.chlorate_per_chlorine", "clo3-per-cl2"))
