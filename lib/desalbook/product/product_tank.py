"""Product tank and chlorine: storage, contact time (CT) with one tank out, and by-products of hypochlorite."""

from __future__ import annotations

from desalbook.product.stoichiometry import CHLORINE
from desalbook.trail import Figure, assumed, checked, constant, relation
from desalbook.trail.inputs import Inputs
from desalbook.units import M3, AsCl2, Concentration, Count, Factor, Fraction, M3PerS, MassRatio, S
from desalbook.water.disinfection import chlorine_ct, giardia_ct, inactivation_ratio, virus_ct

__all__ = ["brought_by_hypochlorite", "byproducts", "chlorate_by_hypochlorite", "contact", "t10_of", "tank",
           "tank_each"]

CAUTION = "Disinfection of drinking water follows the authority's rules; a tracer test gives the baffling factor."
CHLORATE = constant("M_ClO3", 0.083447, "kg/mol", source="iupac-weights", title="Molar mass of ClO3")


@relation("Volume of one product tank", symbol="V_t", unit="m^3", source="definition")
def tank_each(flow: M3PerS, storage_time: S, tanks: Count) -> M3:
    """Volume of one product tank: the store shared between like tanks.

    Volume in use; freeboard and what stays below the outlet come on top.
    """
    return flow * storage_time / tanks


@relation(
    "Contact time with one tank out",
    symbol="t_10",
    unit="s",
    source="epa-profiling-1999",
    note="after this time a tenth of the water has left; one tank alone leaves no contact",
)
def t10_of(tank_volume: M3, tanks: Count, baffling: Factor, flow: M3PerS) -> S:
    """Contact time T10 with one tank out: baffling factor times the mean time at the full flow.

    Full tanks: where the level falls in use, the lowest level counts. A tracer test gives the factor.
    """
    return baffling * tank_volume * (tanks - 1) / flow


@relation(
    "Chlorate brought by hypochlorite",
    symbol="C_ClO3",
    unit="kg/m^3",
    source="adam-gordon-1999",
    note="three hypochlorite give one chlorate; what gives off oxygen instead, one part in nine, is left out",
)
def chlorate_by_hypochlorite(
    chlorine_dose: AsCl2, chlorate_delivered: MassRatio, strength_left: Fraction
) -> Concentration:
    """Chlorate that hypochlorite brings: what was delivered and what the loss of strength made.

    Over the chlorine that is left: an old solution is dosed in more volume.
    """
    return (
        chlorine_dose
        * (chlorate_delivered + CHLORATE / (3 * CHLORINE) * (1 - strength_left))
        / strength_left
    )


@relation("By-product brought by hypochlorite", symbol="C_by", unit="kg/m^3", source="definition")
def brought_by_hypochlorite(
    chlorine_dose: AsCl2, byproduct_ratio: MassRatio, strength_left: Fraction
) -> Concentration:
    """By-product that hypochlorite brings as delivered, over the chlorine that is left.

    Bromate and the like, which storage does not change; what chlorine makes in the water is apart.
    """
    return chlorine_dose * byproduct_ratio / strength_left


def tank(inp: Inputs, flow: Figure) -> Figure:
    """Volume of one product tank, m3."""
    return tank_each.at("product_tank.volume", flow=flow, storage_time=inp.number("product_tank.storage_time"),
                        tanks=inp.number("product_tank.count"))


def contact(
    inp: Inputs, *, flow: Figure, tank_volume: Figure, residual: Figure, ph: Figure, temperature: Figure
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
    time = t10_of.at("product_tank.contact_time", tank_volume=tank_volume, tanks=inp.number("product_tank.count"),
                     baffling=inp.number("product_tank.baffling"), flow=flow)
    got = chlorine_ct.at("product_tank.ct", chlorine_residual=residual, contact_time=time)
    one = assumed("product_tank.ct_minimum", 1.0, "factor", title="CT reached", source="definition")
    made = []
    for name, needed in (
        ("giardia", giardia_ct.at("product_tank.ct_giardia", temperature=temperature, ph=ph,
                                  chlorine_residual=residual, log_removal=inp.number("product_tank.log_removal"))),
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


def byproducts(inp: Inputs, dose: Figure, strength_left: Figure) -> dict[str, Figure]:
    """Chlorate and bromate that aged hypochlorite brings, kg/m3 in the product."""
    return {
        "chlorate": chlorate_by_hypochlorite.at(
            "product.chlorate", chlorine_dose=dose, chlorate_delivered=inp.number("product.chlorate_delivered"),
            strength_left=strength_left),
        "bromate": brought_by_hypochlorite.at(
            "product.bromate", chlorine_dose=dose, byproduct_ratio=inp.number("product.bromate_delivered"),
            strength_left=strength_left, title="Bromate brought by hypochlorite"),
    }
