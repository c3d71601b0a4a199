"""The battery of pressure filters of one train: number, diameter, rates, layers and their clean loss.

Filters are pressure vessels: the vessel code and licensed practice govern; vent and depressurise before
opening.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from desalbook.hydraulics.pipes import Fluid, circle_area
from desalbook.hydraulics.rows import column_line, least_row
from desalbook.pretreatment import filter_relations as r
from desalbook.pretreatment import vessel_relations as v
from desalbook.problems import DesignError, Infeasible
from desalbook.tables import table
from desalbook.trail import Column, Figure, assumed, checked, picked, scope
from desalbook.units import show

__all__ = ["Battery", "Bed", "Layers", "battery", "bed", "clean_drop"]

Inp = Callable[[str], Any]
MOST_FILTERS = 60
_COLUMNS = {
    "effective_size": "Effective size of the layers",
    "d60": "Size passing 60 %, by layer",
    "d90": "Size passing 90 %, by layer",
    "grain_density": "Grain density of the layers",
    "settled_porosity": "Settled porosity of the layers",
    "kappa_v": "Viscous coefficient of the layers",
    "kappa_i": "Inertial coefficient of the layers",
    "sphericity": "Sphericity of the layers",
}


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
class Layers:
    """Layers of one role from the top down, each a Column along the axis of its layers."""

    depth: Column
    effective_size: Column
    d60: Column
    d90: Column
    grain_density: Column
    settled_porosity: Column
    kappa_v: Column
    kappa_i: Column
    sphericity: Column


@dataclass(frozen=True)
class Bed:
    """Layers that filter, and the support below them (None where there is none)."""

    media: Layers
    support: Layers | None
    depth_over_size: Figure


def battery(inp: Inp, flow: Figure, trains: Figure) -> Battery:
    """Number and diameter of the filters of one train, and their rates.

    The least number, from the least allowed up, with which a diameter up to the largest meets all three rate
    limits; then the least standard diameter. A key that is written is held and checked.

    Parameters
    ----------
    inp : callable
        Gives the recorded input of an id.
    flow : Figure
        Through the filters of one train, m3/s.
    trains : Figure

    Raises
    ------
    Infeasible
        No number of filters is enough.
    """
    limits = {
        name: inp(f"filters.{name}") for name in ("rate_limit", "rate_limit_washing", "rate_limit_outage")
    }
    form, drum = inp("filter_vessel.form"), inp("filter_vessel.drum_length")
    with scope("train", count=trains):
        count, diameter = inp("filters.count"), inp("filters.diameter")
        if count is None:
            count = _pick_count(inp, flow, limits, diameter)
        together = inp("filters.washes_together")
        if int(count.value) < int(together.value) + 2:
            raise DesignError(
                "leaves no filter in service", where="filters.washes_together", value=int(together.value),
                allowed=f"up to {int(count.value) - 2} of {int(count.value)} filters",
                do="wash fewer filters together, or give more of them",
            )
        needed = r.area_needed.at(
            "filters.area_needed", flow=flow, filters=count, washes_together=together, **limits
        )
        if diameter is None:
            with scope(because=[form]):
                width = (
                    r.width_for.at("filters.diameter_needed", area=needed)
                    if form == "vertical"
                    else v.drum_width.at("filters.diameter_needed", area=needed, drum_length=drum)
                )
            diameter, _ = least_row(
                "filters.diameter",
                "diameters",
                "diameter",
                width,
                title="Diameter of a filter",
                rule="least standard diameter that meets the three rate limits",
                do="write more filters (filters.count), a filters.diameter of your own, or divide the flow among more "
                   "trains (duty.trains)",
            )
        with scope(because=[form]):
            area = (
                circle_area.at("filters.area", diameter=diameter, title="Area of one filter")
                if form == "vertical"
                else v.drum_area.at("filters.area", diameter=diameter, drum_length=drum, title="Area of one filter")
            )
        none = _out("none", 0, "Filters out, all in service")
        both = r.washing_and_down.at("filters.out_outage", washes_together=together)
        rates, serving = {}, {}
        for key, out, words in (
            ("rate", none, "all in service"),
            ("rate_one_washing", together, "one washing"),
            ("rate_outage", both, "one washing and one down"),
        ):
            serving[key] = r.left_in_service.at(
                f"filters.{key}_in_service", filters=count, filters_out=out, title=f"Filters, {words}"
            )
            rates[key] = r.filtration_rate.at(
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
                do="write a larger filters.count or filters.diameter, or leave both out",
            )
        checked(
            "filters.count.check",
            count,
            ">=",
            inp("filters.count_minimum"),
            title="Number of filters",
            do="write a larger filters.count or leave it out",
        )
    return Battery(
        count,
        diameter,
        area,
        rates["rate"],
        rates["rate_one_washing"],
        rates["rate_outage"],
        serving["rate_one_washing"],
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


def _pick_count(inp: Inp, flow: Figure, limits: Mapping[str, Figure], diameter: Figure | None) -> Figure:
    least, largest = inp("filters.count_minimum"), inp("filters.diameter_largest")
    together, form, drum = (
        inp(k) for k in ("filters.washes_together", "filter_vessel.form", "filter_vessel.drum_length")
    )
    limits = {**limits, "washes_together": together}
    bound = largest if diameter is None else diameter
    rows = table("diameters").ascending("diameter")
    widths = [row["diameter"].value for row in rows if row["diameter"].value <= bound.value * (1 + 1e-9)]
    widest = bound.value if diameter is not None or not widths else widths[-1]
    values = {name: float(limit) for name, limit in limits.items()}
    candidates: list[dict[str, Any]] = []
    won = None
    fewest = int(least.value) if least.value >= together.value + 2 else int(together.value) + 2
    for number in range(fewest, MOST_FILTERS + 1):
        area = float(r.area_needed.plain(flow=float(flow), filters=number, **values))
        needed = float(r.width_for.plain(area) if form == "vertical" else v.drum_width.plain(area, float(drum)))
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
        else "the least number allowed is enough"
    )
    return picked(
        "filters.count",
        won,
        "count",
        title="Filters of one train",
        symbol="n_f",
        rule="least number, from the least allowed up, whose diameter is not above the largest",
        candidates=candidates,
        inputs={"flow": flow, "count_minimum": least, "diameter": bound, "form": form, "length": drum, **limits},
        why=why,
        source="common-practice",
    )


def bed(inp: Inp, layers: Sequence[str]) -> Bed:
    """Layers of the bed with the data of their media.

    Parameters
    ----------
    layers : sequence of str
        Names of ``filters.layers`` from the top down.
    """
    media = {name: inp(f"filters.layers[{name}].media") for name in layers}
    rows = {name: table("media").row(key, f"filters.layers[{name}].media") for name, key in media.items()}
    filtering = [n for n in layers if rows[n]["role"].value == "filter"]
    bearing = [n for n in layers if rows[n]["role"].value != "filter"]
    top = _layers(inp, "filters.media", filtering, rows, media, "layer")
    support = _layers(inp, "filters.support", bearing, rows, media, "support layer") if bearing else None
    ratio = r.depth_over_size_of.at(
        "filters.depth_over_size", depth=top.depth, effective_size=top.effective_size
    )
    checked(
        "filters.depth_over_size.check",
        ratio,
        ">=",
        inp("filters.depth_over_size_least"),
        title="Depth over effective size",
        do="deepen a layer or choose finer media",
    )
    return Bed(top, support, ratio)


def _layers(
    inp: Inp,
    prefix: str,
    names: Sequence[str],
    rows: Mapping[str, Any],
    media: Mapping[str, Any],
    axis: str,
) -> Layers:
    because = [media[name] for name in names]
    columns = {
        column: column_line(
            f"{prefix}.{column}",
            "media",
            [(name, rows[name][column]) for name in names],
            axis=axis,
            title=title,
            because=because,
        )
        for column, title in _COLUMNS.items()
    }
    depths = [inp(f"filters.layers[{name}].depth") for name in names]
    depth = picked(
        f"{prefix}.depth",
        [float(d) for d in depths],
        "length",
        title="Depth of the layers",
        symbol="L",
        rule="the layers of this role in order from the top down",
        candidates=[{"key": n, "value": float(d), "won": True} for n, d in zip(names, depths, strict=True)],
        inputs=dict(zip(names, depths, strict=True)),
        axis=axis,
        keys=names,
    )
    return Layers(depth, **columns)


def clean_drop(of: Bed, rate: Figure, fluid: Fluid, internals_drop: Figure) -> Figure:
    """Pressure drop of a clean filter, ``filters.clean_drop`` (Pa); call it inside the scope of a corner.

    Parameters
    ----------
    rate : Figure
        Filtration rate, m/s.
    internals_drop : Figure
        Underdrain, distributor and valves, Pa.
    """
    head = _loss("filters.clean_head_loss", of.media, rate, fluid)
    if of.support is not None:
        below = _loss("filters.support_head_loss", of.support, rate, fluid)
        head = r.two_losses.at("filters.clean_bed_head", bed_head=head, support_head=below)
    return r.clean_drop_of.at(
        "filters.clean_drop", bed_head=head, density=fluid.density, internals_drop=internals_drop
    )


def _loss(prefix: str, layers: Layers, rate: Figure, fluid: Fluid) -> Figure:
    by_layer = r.layer_loss.at(
        f"{prefix}_by_layer",
        kappa_v=layers.kappa_v,
        kappa_i=layers.kappa_i,
        settled_porosity=layers.settled_porosity,
        effective_size=layers.effective_size,
        depth=layers.depth,
        filter_rate=rate,
        density=fluid.density,
        viscosity=fluid.viscosity,
    )
    return r.bed_loss.at(prefix, layer_head=by_layer)
