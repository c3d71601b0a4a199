"""Degasifier: carbon dioxide driven out by air, and pH that rises without a chemical."""

from __future__ import annotations

from desalbook.product.course import Course, answer
from desalbook.product.solve_doses import carbon_for_gas
from desalbook.trail import constant, relation, scope
from desalbook.trail.inputs import Inputs
from desalbook.units import Factor, Fraction, Molality
from desalbook.water.carbonate import pk_henry
from desalbook.water.phreeqc import Water, speciate

__all__ = ["degasifier", "equilibrium_carbon_dioxide", "stripped"]

ATM = constant("p_atm", 1.0, "mol/kg", source="definition", title="One mole per kilogram, at one atmosphere")


@relation(
    "Carbon dioxide in balance with air",
    symbol="m_CO2e",
    unit="mol/kg",
    source="plummer-busenberg-1982",
    note="fresh water; activity coefficient of dissolved gas taken as one",
)
def equilibrium_carbon_dioxide(pk_henry: Factor, air_share: Factor) -> Molality:
    """Carbon dioxide dissolved in balance with air, by Henry's law at one atmosphere.

    At sea level; at altitude the share of carbon dioxide presses with less.
    """
    return ATM * air_share * 10 ** (-pk_henry)


@relation("Carbon dioxide after the degasifier", symbol="m_CO2d", unit="mol/kg", source="definition")
def stripped(carbon_dioxide: Molality, carbon_dioxide_air: Molality, approach: Fraction) -> Molality:
    """Carbon dioxide left by a degasifier that goes a share of the way to balance with air.

    The share is the tower's, from its packing, loading and air; it is not computed here.
    """
    return carbon_dioxide + approach * (carbon_dioxide_air - carbon_dioxide)


def degasifier(inp: Inputs, course: Course, where: str) -> None:
    """Bring carbon dioxide towards balance with air, where the plant has a degasifier at this place.

    Parameters
    ----------
    inp : Inputs
    course : Course
        The water on its way, changed here.
    where : {"permeate", "product"}
        Before or after the minerals.
    """
    place = inp.choice("product.degasifier")
    course.chosen.append(place)
    if place != where:
        return
    t = course.temperature
    found = speciate(course.water, t, "fresh")
    with scope(because=list(course.chosen)):
        held = answer("product.gas_before", found.co2, "molality", "Carbon dioxide before the degasifier", "m_CO2",
                      course.basis, found.engine, "")
        air = equilibrium_carbon_dioxide.at(
            "product.gas_air",
            pk_henry=pk_henry.at("product.pk_henry", temperature=course.basis["temperature"]),
            air_share=inp.number("product.air_carbon_dioxide"),
        )
        left = stripped.at("product.gas_after", carbon_dioxide=held, carbon_dioxide_air=air,
                           approach=inp.number("product.degasifier_approach"))
        carbon = answer("product.stripped_carbon", carbon_for_gas(course.water, t, float(left)), "molality",
                        "Inorganic carbon downstream of the degasifier", "m_C", {**course.basis, "left": left},
                        found.engine, "alkalinity unchanged")
        alkalinity, _ = course.water.conserved() or (0.0, 0.0)
        course.water = Water(course.water.molality, alkalinity, float(carbon), None, t)
        course.basis["stripped"] = carbon
        course.ph_after("degasifier", "pH downstream of the degasifier")
