"""The product downstream of post-treatment: contactors, store, contact time, by-products, and its limits."""

from __future__ import annotations

from desalbook import dosing, product
from desalbook.guidelines import product_use
from desalbook.membrane.element import Element, sheet_value
from desalbook.plant.waters import Waters
from desalbook.trail import Figure, engine, scope
from desalbook.trail.inputs import Inputs
from desalbook.trail.limits import review_limit
from desalbook.water import purewater

__all__ = ["cleaning_limits", "heat_capacity_of", "stored"]


def stored(
    inp: Inputs, w: Waters, flow: Figure, finished: product.Finish, post: dosing.PostChlorinated, boron: Figure,
    limits: product.Limits,
) -> Figure:
    """Size contactors and store, and judge the product of the hottest, aged case against its use.

    Parameters
    ----------
    inp : Inputs
    w : Waters
    flow : Figure
        m3/s of product, all trains.
    finished : Finish
    post : PostChlorinated
    boron : Figure
        kg/m3 as B, governing case, with the margin of the guarantee.
    limits : Limits
        Of the use of the product.

    Returns
    -------
    Figure
        Volume of one product tank, m3.
    """
    product.contactor(inp, flow, finished.calcite_dose)
    volume = product.tank(inp, flow)
    figures: dict[str, Figure | None] = {
        "boron": boron, "tds": finished.tds, "ph": finished.ph, "alkalinity": finished.alkalinity,
        "calcium": finished.calcium, "hardness": finished.hardness, "ccpp": finished.ccpp, "lsi": finished.lsi,
        "sar": finished.sar, "conductivity": finished.conductivity}
    for name, ion in (("chloride", "Cl"), ("sodium", "Na"), ("sulfate", "SO4"), ("bromide", "Br"), ("fluoride", "F"),
                      ("nitrate", "NO3")):
        if ion in finished.concentrations:
            figures[name] = finished.concentrations[ion]
    if post.dose is not None and post.residual is not None:
        with scope(because=[post.present]):
            figures["chlorine"] = post.residual
            figures |= product.byproducts(inp, post.dose, inp.number("post_chlorination.strength_left"))
            product.contact(inp, flow=flow, tank_volume=volume, residual=post.residual, ph=finished.ph,
                            temperature=w.at["cold"].temperature)
    with scope(because=[limits.use, *(inp.choice(f"product.{key}") for key in (
            "remineralisation", "ph_adjustment", "degasifier"))]):
        product.judge(limits, figures)
        if product_use(limits.use).drunk:
            review_limit("product.boron.european", boron, "product-boron-eu",
                         do="ask the local authority for its boron limit, and state it (product.boron_limit)")
    return volume


def heat_capacity_of(id: str, temperature: Figure) -> Figure:
    """Heat capacity of nearly pure water at a temperature, J/(kg K), from the property library."""
    return engine(id, purewater.heat_capacity(float(temperature)), "heat capacity", title="Heat capacity of water",
                  symbol="c_p", inputs={"temperature": temperature}, library="CoolProp", version=purewater.version(),
                  data="IF97", source="iapws-if97")


def cleaning_limits(inp: Inputs, element: Element) -> dict[str, Figure]:
    """Limits of the element that cleaning must keep, from its sheet."""
    chosen = inp.choice("membrane.element")
    limits = {"max_temperature": element["max_temperature"]}
    with scope(because=[chosen]):
        for key in ("ph_cleaning_low", "ph_cleaning_high"):
            limits[key] = sheet_value(inp, f"cip.element_{key}", chosen, key)
    return limits
