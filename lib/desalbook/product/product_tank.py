"""Product tank and chlorine: storage, contact time (CT) with one tank out, and by-products of hypochlorite."""

from __future__ import annotations

from desalbook.balances import units_with_one_out
from desalbook.product.stoichiometry import CHLORINE
from desalbook.trail import Figure, assumed, checked, constant, maximum, minimum, note, relation
from desalbook.trail.inputs import Inputs
from desalbook.trail.limits import review_limit
from desalbook.units import M3, AsCl2, Concentration, Count, Factor, Fraction, M3PerS, MassRatio, S
from desalbook.water.disinfection import chlorine_ct, giardia_ct, inactivation_ratio, virus_ct

__all__ = ["brought_by_hypochlorite", "byproducts", "chlorate_by_hypochlorite", "contact", "level_after",
           "made_in_step", "shortage", "t10_of", "tank", "tank_each"]

CAUTION = (
    "Insufficient disinfection spreads disease. It follows the authority's rules; a tracer test gives the baffling "
    "factor.")
CHLORATE = constant("M_ClO3", 0.083447, "kg/mol", source="iupac-weights", title="Molar mass of ClO3")


@relation("Volume of one product tank", symbol="V_t", unit="m^3", source="definition")
def tank_each(flow: M3PerS, storage_time: S, tanks: Count) -> M3:
    """Volume of one product tank: the store shared between like tanks.

    Volume in use; freeboard and what stays below the outlet come on top.
    """
    return flow * storage_time / tanks


@relation("Product tank level after a step", symbol="V_L", unit="m^3", source="definition",
          note="no less than empty, no more than full")
def level_after(stored_volume: M3, made: M3, demand: M3, full_volume: M3) -> M3:
    """Volume in the product tanks at the end of a step: what was there and was made, less what was taken.

    Of all tanks as one; within the step production and demand are taken as steady.
    """
    return maximum(0, minimum(full_volume, stored_volume + made - demand))


@relation("Product not delivered in a step", symbol="V_S", unit="m^3", source="definition")
def shortage(stored_volume: M3, made: M3, demand: M3) -> M3:
    """What of a demand the tanks and the production of a step do not cover.

    Steady within the step: a peak of an hour can be short where the day is not.
    """
    return maximum(0, demand - stored_volume - made)


@relation("Product made in a step", symbol="V_P", unit="m^3", source="definition")
def made_in_step(possible: M3, demand: M3, full_volume: M3, stored_volume: M3) -> M3:
    """What is made in a step: as much as the trains can, until the demand is met and the tanks are full.

    The trains stop when the tanks are full; starts and flushes beyond those of the mean are neglected.
    """
    return minimum(possible, demand + full_volume - stored_volume)


@relation("Contact time", symbol="t_10", unit="s", source="epa-profiling-1999",
          note="after this time a tenth of the water has left")
def t10_of(tank_volume: M3, tanks: Count, baffling: Factor, flow: M3PerS) -> S:
    """Contact time T10: baffling factor times the mean time at the full flow, of the tanks in service.

    Full tanks: where the level falls in use, the minimum level counts. A tracer test gives the factor.
    """
    return baffling * tank_volume * tanks / flow


@relation(
    "Chlorate brought by hypochlorite",
    symbol="C_ClO3",
    unit="kg/m^3",
    source="adam-gordon-1999",
    note="three hypochlorite give one chlorate; what gives off oxygen instead, one part in nine, is omitted",
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
    """Volume of one product tank, m3; its storage time is held against what is usual."""
    review_limit("product_tank.storage_time.check", inp.number("product_tank.storage_time"), "product-storage",
                 do="lengthen product_tank.storage_time: the longest outage times the demand where that is more")
    return tank_each.at("product_tank.volume", flow=flow, storage_time=inp.number("product_tank.storage_time"),
                        tanks=inp.number("product_tank.count"))


def contact(
    inp: Inputs, *, flow: Figure, tank_volume: Figure, residual: Figure, ph: Figure, temperature: Figure
) -> tuple[Figure, Figure]:
    """CT over what is required, for Giardia and for viruses: of all tanks, and of those left with one out.

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

    Returns
    -------
    tuple of Figure
        Of all tanks, Giardia and viruses.
    """
    tanks = inp.number("product_tank.count")
    one = assumed("product_tank.ct_minimum", 1.0, "factor", title="CT reached", source="definition")
    needed = {
        "giardia": giardia_ct.at("product_tank.ct_giardia", temperature=temperature, ph=ph,
                                 chlorine_residual=residual, log_removal=inp.number("product_tank.log_removal")),
        "virus": virus_ct.at("product_tank.ct_virus", temperature=temperature),
    }

    def reached(in_service: Figure, end: str, when: str) -> dict[str, Figure]:
        time = t10_of.at(f"product_tank.contact_time{end}", tank_volume=tank_volume, tanks=in_service, flow=flow,
                         baffling=inp.number("product_tank.baffling"), title=f"Contact time{when}")
        got = chlorine_ct.at(f"product_tank.ct{end}", chlorine_residual=residual, contact_time=time)
        ratios = {}
        for name, wanted in needed.items():
            ratio = inactivation_ratio.at(
                f"product_tank.ct_ratio{end}[{name}]", provided_ct=got, required_ct=wanted,
                title=f"CT ratio, {name.capitalize()}{when}")
            ratios[name] = ratio
            title, do = f"CT provided / required, {name.capitalize()}{when}", (
                "raise post_chlorination.residual, product_tank.storage_time or product_tank.baffling, add a "
                "tank (product_tank.count), or lower product.ph_target")
            if not end:
                checked(f"{ratio.id}.check", ratio, ">=", one, title=title, do=do, caution=CAUTION,
                        source="epa-profiling-1999")
                continue
            enough = ratio.value >= one.value  # an outage is agreed with the authority; the tanks that stand are judged
            note(f"{ratio.id}.check", title=title, verdict="passes" if enough else "review",
                 why=f"with one tank out of service {float(ratio) * 100:.3g} % of the required CT is provided",
                 do=do, caution=CAUTION,
                 inputs={"provided": ratio, "limit": one})
        return ratios

    made = reached(tanks, "", "")
    several = float(tanks) > 1.0
    if several:
        reached(units_with_one_out.at("product_tank.left", units=tanks, title="Product tanks, one out of service",
                                      symbol="n_t1"), "_one_out", " (N-1)")
    note("product_tank.outage", title="Disinfection, one tank out of service",
         verdict="passes" if several else "review",
         why="the tanks that are left are judged by themselves" if several
         else "with its only tank out of service the plant has neither storage nor contact time",
         do="add a tank (product_tank.count), divide it in two, or agree on the outage with the authority",
         inputs={"tanks": tanks}, caution=CAUTION)
    return made["giardia"], made["virus"]


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
