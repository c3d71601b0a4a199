"""Product tank and chlorine: contact time with one tank out, and what hypochlorite brings along."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from desalbook.product import treat_relations as tr
from desalbook.trail import Figure, assumed, checked, relation
from desalbook.units import AsB, Fraction, KgPerM3, Salinity
from desalbook.water.disinfection import chlorine_ct, giardia_ct, inactivation_ratio, virus_ct

__all__ = ["blended_boron", "boron_of_blend", "byproducts", "contact", "tank"]

Inp = Callable[[str], Any]
CAUTION = "Disinfection of drinking water follows the authority's rules; a tracer test gives the baffling factor."


@relation("Boron of the blend", symbol="C_Bb", unit="kg/m^3", source="definition",
          note="share by water; volume of treated feed taken as that of its water")
def blended_boron(
    boron_permeate: AsB, boron_ratio: Salinity, water_content: KgPerM3, blend_share: Fraction
) -> AsB:
    """Permeate with its part of treated feed."""
    return boron_permeate * (1 - blend_share) + boron_ratio * water_content * blend_share


def boron_of_blend(inp: Inp, boron_permeate: Figure, boron_ratio: Figure, water_content: Figure) -> Figure:
    """Boron behind the blending, where treated feed is blended in; else the permeate's own line."""
    if inp("product.remineralisation") != "blend":
        return boron_permeate
    return blended_boron.at("product.boron_blend", boron_permeate=boron_permeate, boron_ratio=boron_ratio,
                            water_content=water_content, blend_share=inp("product.blend_share"))


def tank(inp: Inp, flow: Figure) -> Figure:
    """Volume of one product tank, m3."""
    return tr.tank_each.at("product_tank.volume", flow=flow, storage_time=inp("product_tank.storage_time"),
                           tanks=inp("product_tank.count"))


def contact(
    inp: Inp, *, flow: Figure, tank_volume: Figure, residual: Figure, ph: Figure, temperature: Figure
) -> tuple[Figure, Figure]:
    """CT over what is required, for Giardia and for viruses.

    Parameters
    ----------
    flow : Figure
        m3/s of product, all trains.
    tank_volume : Figure
        m3 of one tank.
    residual : Figure
        kg/m3 as Cl2 where the water leaves the tank.
    ph : Figure
        NBS, of the product.
    temperature : Figure
        K, coldest water.
    """
    time = tr.t10_of.at("product_tank.contact_time", tank_volume=tank_volume, tanks=inp("product_tank.count"),
                        baffling=inp("product_tank.baffling"), flow=flow)
    got = chlorine_ct.at("product_tank.ct", chlorine_residual=residual, contact_time=time)
    one = assumed("product_tank.ct_least", 1.0, "factor", title="CT reached", source="definition")
    made = []
    for name, needed in (
        ("giardia", giardia_ct.at("product_tank.ct_giardia", temperature=temperature, ph=ph,
                                  chlorine_residual=residual, log_removal=inp("product_tank.log_removal"))),
        ("virus", virus_ct.at("product_tank.ct_virus", temperature=temperature)),
    ):
        ratio = inactivation_ratio.at(f"product_tank.ct_ratio[{name}]", provided_ct=got, required_ct=needed,
                                      title=f"CT provided over required, {name.capitalize()}")
        checked(f"product_tank.ct_ratio[{name}].check", ratio, ">=", one, title=f"Contact time, {name.capitalize()}",
                do="raise post_chlorination.residual, product_tank.storage_time or product_tank.baffling, add a tank "
                   "(product_tank.count), or lower product.ph_target", caution=CAUTION,
                source="epa-profiling-1999")
        made.append(ratio)
    return made[0], made[1]


def byproducts(inp: Inp, dose: Figure, strength_left: Figure) -> dict[str, Figure]:
    """Chlorate and bromate that aged hypochlorite brings, kg/m3 in the product."""
    return {
        "chlorate": tr.chlorate_by_hypochlorite.at(
            "product.chlorate", chlorine_dose=dose, chlorate_delivered=inp("product.chlorate_delivered"),
            strength_left=strength_left),
        "bromate": tr.brought_by_hypochlorite.at(
            "product.bromate", chlorine_dose=dose, byproduct_ratio=inp("product.bromate_delivered"),
            strength_left=strength_left, title="Bromate brought by hypochlorite"),
    }
