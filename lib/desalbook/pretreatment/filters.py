"""The battery of pressure filters of one train: number, diameter, filtration rates and clean pressure drop.

Filters are pressure vessels: the vessel code and licensed practice govern; vent and depressurise before
opening.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from desalbook.balances import sum_of_heads
from desalbook.hydraulics.constants import G
from desalbook.hydraulics.pipes import Fluid
from desalbook.hydraulics.rows import least_row
from desalbook.pretreatment.granular_beds import clean_head_loss
from desalbook.pretreatment.media import Bed
from desalbook.pretreatment.vessel_construction import construction_of
from desalbook.pretreatment.vessel_form import FORMS, VesselForm
from desalbook.problems import DesignError, Infeasible
from desalbook.tables import table
from desalbook.trail import Choice, Figure, assumed, checked, maximum, picked, relation, scope, values
from desalbook.trail.inputs import Inputs
from desalbook.units import M2, Count, DifferencePa, FiltrationRate, Head, KgPerM3, M3PerS, show

__all__ = [
    "MOST_FILTERS",
    "Battery",
    "CleanBed",
    "area_needed",
    "battery",
    "clean_bed",
    "clean_pressure_drop",
    "filters_in_service",
    "filters_out_of_service",
    "filtration_rate",
]


MOST_FILTERS = 60
"""Where the search for a number of filters ends: a battery of more is laid out otherwise."""


@dataclass(frozen=True)
class Battery:
    """Filters of one train: number, diameter (m), area of one (m2), rates (m/s)."""

    count: Figure
    diameter: Figure
    area: Figure
    rate: Figure
    rate_washing: Figure
    rate_outage: Figure
    in_service_washing: Figure


@dataclass(frozen=True)
class CleanBed:
    """A clean filter: head loss of its media (m) and its pressure drop (Pa)."""

    head_loss: Figure
    pressure_drop: Figure


@relation("Filters in service", symbol="n_s", unit="1", source="definition")
def filters_in_service(filters: Count, filters_out: Count) -> Count:
    """Filters in service: all of them less those that are out of service.

    A count for one train; filters that share a vessel or a valve count as one.
    """
    return filters - filters_out


@relation("Filters out of service (N-2)", symbol="n_o", unit="1", source="definition")
def filters_out_of_service(backwashes_together: Count) -> Count:
    """Filters out of service in the outage case: those in backwash and one more that is down.

    One failure at a time; a common cause that takes out several filters is not covered.
    """
    return backwashes_together + 1


@relation("Filtration rate", symbol="v_f", unit="m/s", source="common-practice")
def filtration_rate(flow: M3PerS, area: M2, filters_in_service: Count) -> FiltrationRate:
    """Filtration rate: superficial velocity through the filters that are in service.

    Takes the flow as shared evenly. A filter with a cleaner bed runs faster than its neighbours unless its flow is
    controlled.
    """
    return flow / (area * filters_in_service)


@relation(
    "Required area per filter",
    symbol="A_n",
    unit="m^2",
    source="wi-nr-811",
    place="811.495(1): capacity at the approved rate with units out; three limits here",
    within={"filters": ("3", None)},
)
def area_needed(
    flow: M3PerS,
    filters: Count,
    backwashes_together: Count,
    rate_limit: FiltrationRate,
    rate_limit_backwashing: FiltrationRate,
    rate_limit_outage: FiltrationRate,
) -> M2:
    """Bed area that one filter needs so that all three rate limits are met.

    The largest of three cases: all in service, those out that are backwashed together, and one down beside them.
    Needs at least two filters more than are backwashed together.
    """
    return maximum(
        flow / (filters * rate_limit),
        maximum(
            flow / ((filters - backwashes_together) * rate_limit_backwashing),
            flow / ((filters - backwashes_together - 1) * rate_limit_outage),
        ),
    )


@relation("Pressure drop of a clean filter", symbol="Delta_p_0", unit="Pa", source="definition")
def clean_pressure_drop(bed_head: Head, density: KgPerM3, internals_drop: DifferencePa) -> DifferencePa:
    """Pressure drop across a clean filter: bed, underdrain, distributor and valves.

    The internals are taken as constant; their drop belongs to the design flow and falls with its square.
    """
    return density * G * bed_head + internals_drop


def battery(inp: Inputs, flow: Figure, trains: Figure) -> Battery:
    """Number and diameter of the filters of one train, and their rates.

    The smallest number, from the minimum allowed up, with which a diameter up to the largest meets all three rate
    limits; then the smallest standard diameter. A key that is written is held and checked.

    Parameters
    ----------
    inp : Inputs
        Gives the recorded input of an id.
    flow : Figure
        Through the filters of one train, m3/s.
    trains : Figure

    Raises
    ------
    Infeasible
        No number of filters is enough.
    """
    limits = {name: inp.number(f"filters.{name}") for name in ("rate_limit", "rate_limit_backwashing",
                                                               "rate_limit_outage")}
    chosen, drum = inp.choice("filter_vessel.form"), inp.number("filter_vessel.drum_length")
    form = FORMS[chosen]
    with scope("train", count=trains):
        count, diameter = inp.optional("filters.count"), inp.optional("filters.diameter")
        if count is None:
            count = _pick_count(inp, flow, limits, diameter)
        together = inp.number("filters.backwashes_together")
        if int(count) < int(together) + 2:
            raise DesignError(
                "leaves no filter in service",
                where="filters.backwashes_together",
                value=int(together),
                allowed=f"up to {int(count) - 2} of {int(count)} filters",
                do="backwash fewer filters together, or give more of them",
            )
        needed = area_needed.at("filters.area_needed", flow=flow, filters=count, backwashes_together=together, **limits)
        if diameter is None:
            with scope(because=[chosen]):
                width = form.diameter_needed(needed, drum)
            diameter, _ = least_row(
                "filters.diameter",
                "diameters",
                "diameter",
                width,
                title="Filter diameter",
                rule="smallest standard diameter that meets the three rate limits",
                do="use more filters (filters.count), set filters.diameter, or divide the flow among more "
                "trains (duty.trains)",
            )
        with scope(because=[chosen]):
            area = form.bed_area(diameter, drum)
        none = _out("none", 0, "Filters out, all in service")
        both = filters_out_of_service.at("filters.out_outage", backwashes_together=together)
        rates, serving = {}, {}
        for key, out, words in (
            ("rate", none, "all in service"),
            ("rate_one_backwashing", together, "one in backwash (N-1)"),
            ("rate_outage", both, "N-2 (one in backwash)"),
        ):
            serving[key] = filters_in_service.at(
                f"filters.{key}_in_service", filters=count, filters_out=out, title=f"Filters, {words}"
            )
            rates[key] = filtration_rate.at(
                f"filters.{key}",
                flow=flow,
                area=area,
                filters_in_service=serving[key],
                title=f"Filtration rate, {words}",
            )
            limit = limits[key.replace("rate", "rate_limit").replace("_one", "")]
            checked(
                f"filters.{key}.check",
                rates[key],
                "<=",
                limit,
                title=f"Filtration rate, {words}",
                do="increase filters.count or filters.diameter, or clear both to size automatically",
                sized_by=[count, diameter],
            )
        checked(
            "filters.count.check",
            count,
            ">=",
            inp.number("filters.count_minimum"),
            title="Number of filters",
            do="increase filters.count, or clear it to size automatically",
            sized_by=[count],
        )
    return Battery(
        count,
        diameter,
        area,
        rates["rate"],
        rates["rate_one_backwashing"],
        rates["rate_outage"],
        serving["rate_one_backwashing"],
    )


def _out(name: str, number: int, title: str) -> Figure:
    return assumed(
        f"filters.out_{name}",
        number,
        "count",
        title=title,
        symbol="n_o",
        source="definition",
        place="what the rate is judged for",
    )


def _pick_count(inp: Inputs, flow: Figure, limits: Mapping[str, Figure], diameter: Figure | None) -> Figure:
    least, largest = inp.number("filters.count_minimum"), inp.number("filters.diameter_largest")
    together, drum = inp.number("filters.backwashes_together"), inp.number("filter_vessel.drum_length")
    chosen: Choice = inp.choice("filter_vessel.form")
    form: VesselForm = FORMS[chosen]
    limits = {**limits, "backwashes_together": together}
    material = inp.choice("filter_vessel.material")
    bound = largest if diameter is None else diameter
    usual = construction_of(material).largest_diameter(table("vessel_plates").row(material))
    rows = table("diameters").ascending("diameter")
    widths = [row["diameter"].value for row in rows if row["diameter"].value <= bound.value * (1 + 1e-9)]
    widest = bound.value if diameter is not None or not widths else widths[-1]
    if usual is not None and diameter is None:
        widest = [w for w in widths if w <= usual * (1 + 1e-9)][-1]
    candidates: list[dict[str, Any]] = []
    won = None
    fewest = int(least) if least.value >= together.value + 2 else int(together) + 2
    with values(keep=False):
        for number in range(fewest, MOST_FILTERS + 1):
            area = area_needed.at("filters.area_needed", flow=flow, filters=number, **limits)
            needed = float(form.diameter_needed(area, drum))
            fits = needed <= widest * (1 + 1e-9)
            candidates.append({"key": str(number), "value": number, "diameter_needed": needed, "won": fits})
            if fits:
                won = number
                break
    if won is None:
        raise Infeasible(
            "no number of filters meets the rate limits",
            where="filters.count",
            value=MOST_FILTERS,
            allowed=f"diameters up to {show(widest, 'length')}",
            do="raise filters.diameter_largest or the number of trains",
        )
    why = (
        f"{won - 1} would need {show(candidates[-2]['diameter_needed'], 'length')} each"
        if len(candidates) > 1
        else "the smallest number allowed is enough"
    )
    return picked(
        "filters.count",
        won,
        "count",
        title="Filters per train",
        symbol="n_f",
        rule="smallest number, from the minimum allowed up, whose diameter is not above the largest",
        candidates=candidates,
        inputs={"flow": flow, "count_minimum": least, "diameter": bound, "form": chosen, "length": drum, **limits}
        | ({} if usual is None else {"material": material}),
        why=why,
        source="common-practice",
    )


def clean_bed(of: Bed, rate: Figure, fluid: Fluid, internals_drop: Figure) -> CleanBed:
    """Head loss and pressure drop of a clean filter, ``filters.clean_drop``; call it inside the scope of a case.

    Parameters
    ----------
    rate : Figure
        Filtration rate, m/s.
    internals_drop : Figure
        Underdrain, distributor and valves, Pa.
    """
    media = head = clean_head_loss("filters.clean_head_loss", of.media, rate, fluid)
    if of.support is not None:
        below = clean_head_loss("filters.support_head_loss", of.support, rate, fluid)
        head = sum_of_heads.at(
            "filters.clean_bed_head", head=media, other_head=below, title="Clean-bed head loss with support",
            symbol="h_0"
        )
    return CleanBed(
        media,
        clean_pressure_drop.at(
            "filters.clean_drop", bed_head=head, density=fluid.density, internals_drop=internals_drop
        ),
    )
