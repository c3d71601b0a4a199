"""The design's own element sheet: what it warrants, and the plant with every element at the lower end of it."""

from __future__ import annotations

from desalbook.membrane.element import own_sheet
from desalbook.plant.array import Array
from desalbook.trail import Choice, checked, current, govern, note, relation, scope
from desalbook.trail.inputs import Inputs
from desalbook.units import Concentration, Flux, Fraction, GaugePa, WaterPermeability

__all__ = ["element_sheet", "feed_pressure_at_tolerance", "permeate_at_minimum_rejection"]


@relation("Feed pressure at the lower flow tolerance", symbol="p_tol", unit="Pa", source="definition",
          place="mean net driving pressure, flux over permeability, divided by what is left of the permeability")
def feed_pressure_at_tolerance(feed_pressure: GaugePa, flux: Flux, permeability: WaterPermeability,
                               flow_tolerance: Fraction) -> GaugePa:
    """Feed pressure if every element gave the least permeate flow its sheet allows, at the same product flow.

    Mean net driving pressure rises in proportion; osmotic pressure and losses stay, for flows do. Elements of a train
    scatter round their mean, so this is the outer end.
    """
    return feed_pressure + flux / permeability * flow_tolerance / (1 - flow_tolerance)


@relation("Permeate TDS at minimum rejection", symbol="C_min", unit="kg/m^3", source="definition")
def permeate_at_minimum_rejection(permeate_concentration: Concentration, rated_rejection: Fraction,
                                  minimum_rejection: Fraction) -> Concentration:
    """Permeate TDS if every element had the minimum rejection of its sheet: in proportion to the salt passage.

    Elements of a train scatter round their mean, so this is the outer end.
    """
    return permeate_concentration * (1 - minimum_rejection) / (1 - rated_rejection)


def element_sheet(inp: Inputs, a: Array) -> None:
    """Judge the plant by the tolerance of the sheet that is chosen; nothing where it is one of the kit."""
    chosen: Choice = inp("membrane.element")
    own = own_sheet(inp, chosen)
    if not own:
        return
    at = f"elements[{own}]"
    tolerance, weakest = inp.optional(f"{at}.flow_tolerance"), inp.optional(f"{at}.minimum_rejection")
    with scope(because=[chosen]):
        _warranted(inp, own)
        service = a.plan.sheet.service
        if tolerance is not None and a.plan.sheet.mixed is None:
            found = {}
            for corner, r in a.by_corner.items():
                with scope(corner=corner):
                    found[corner] = feed_pressure_at_tolerance.at(
                        "membrane.feed_pressure_tolerance", feed_pressure=r["feed_pressure"],
                        flux=current()[f"membrane.flux@{corner}"],
                        permeability=service[corner]["water_permeability"], flow_tolerance=tolerance)
            top = govern("membrane.feed_pressure_tolerance", found, "largest",
                         title="Feed pressure at the lower flow tolerance")
            checked("membrane.feed_pressure_tolerance.check", top, "<=", a.element["max_pressure"],
                    title="Feed pressure at the lower flow tolerance",
                    do="increase membrane.vessels, lower membrane.recovery, or agree a narrower flow tolerance",
                    source="common-practice")
        if weakest is not None:
            permeate_at_minimum_rejection.at(
                "membrane.permeate_tds_minimum_rejection", permeate_concentration=a.governing["permeate_tds"],
                rated_rejection=a.element["rated_rejection"], minimum_rejection=weakest)


def _warranted(inp: Inputs, own: str) -> None:
    """A plant that stands on nominal values guarantees what its elements need not give."""
    at = f"elements[{own}]"
    states: Choice = inp(f"{at}.states")
    type_, tolerance = inp.selected(f"{at}.element_type"), inp.optional(f"{at}.flow_tolerance")
    minimum = [name for name in inp.names("elements") if name != own and type_ is not None
               and inp(f"elements[{name}].element_type") == type_ and inp(f"elements[{name}].states") == "minimum"]
    origin = ", ".join(str(x) for x in (inp.selected(f"{at}.source"), inp.selected(f"{at}.date")) if x is not None)
    said = f"sheet {own}" + (f", {origin}" if origin else ", its source is blank")
    if states == "minimum":
        verdict, why, do = "passes", f"minimum values decide ({said})", "keep the sheet with the design"
    elif minimum:
        verdict, why = "review", f"nominal values decide ({said}); {minimum[0]} states the minimum of this type"
        do = f"set membrane.element to {minimum[0]} for what is guaranteed"
    elif tolerance is not None:
        verdict, why, do = "passes", f"nominal values with their tolerance ({said})", "keep the sheet with the design"
    else:
        verdict, why = "review", f"nominal values without a tolerance decide ({said})"
        do = f"state {at}.flow_tolerance, or add a sheet of minimum values of this type"
    used = {"states": states, "type": type_, "tolerance": tolerance, "source": inp(f"{at}.source"),
            "date": inp(f"{at}.date")}
    used |= {f"other_{name}": inp(f"elements[{name}].states") for name in minimum}
    note("membrane.element.warranted", title="Element values warranted", verdict=verdict, why=why, do=do,
         inputs={k: v for k, v in used.items() if v is not None})
