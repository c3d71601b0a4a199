"""Design pressures: the maximum credible pressure of a section, its class, its trip and its relief valve.

Pressure kills: ratings, relief valves and their discharge follow the pressure-equipment law and the code of the
place, and a licensed engineer signs for them.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from desalbook.hydraulics.rows import least_row, row_line
from desalbook.trail import Choice, Figure, checked, current, is_given, log, maximum, minimum, relation, scope
from desalbook.units import (
    M2,
    M3,
    Count,
    DifferencePa,
    Factor,
    Fraction,
    GaugePa,
    OsmoticPa,
    S,
    WaterPermeability,
)

__all__ = [
    "CAUTION",
    "Pressures",
    "Section",
    "blocked_permeate_pressure",
    "check_section",
    "discharge_pressure",
    "governing_pressure_with_relief",
    "high_pressure_trip",
    "maximum_credible_pressure",
    "mean_feed_side_osmotic_pressure",
    "osmotic_drawback",
    "shutoff_pressure_rise",
    "shutoff_rise",
]

CAUTION = (
    "High-pressure water causes injection injuries; a burst can kill. Isolate, drain and prove zero pressure before "
    "opening; ratings and relief devices follow local pressure-equipment law."
)


@relation(
    "Pressure rise at no flow",
    symbol="Delta_p_0",
    unit="Pa",
    source="common-practice",
    place="ratio of the kind of pump",
    note="at full speed, in the densest water; the curve of the pump bought replaces it",
)
def shutoff_pressure_rise(pressure_rise: DifferencePa, shutoff_ratio: Factor) -> DifferencePa:
    """Pressure rise of a pump at shut-off: duty rise times the ratio of its kind.

    At full speed in the densest water; the curve of the pump bought replaces it.
    """
    return pressure_rise * shutoff_ratio


@relation("Pressure downstream of a pump", symbol="p_d", unit="Pa", source="definition")
def discharge_pressure(suction_pressure: GaugePa, pressure_rise: DifferencePa) -> GaugePa:
    """Discharge pressure: suction pressure and what is added to it.

    At steady flow; the surge of a stop comes on top.
    """
    return suction_pressure + pressure_rise


@relation(
    "Maximum credible pressure",
    symbol="p_cr",
    unit="Pa",
    source="definition",
    note="all at once: valve shut, full speed, maximum suction, and the surge of the stop",
)
def maximum_credible_pressure(
    suction_pressure: GaugePa, shutoff_rise: DifferencePa, boost: DifferencePa, surge_pressure: DifferencePa
) -> GaugePa:
    """Maximum credible pressure downstream of a pump: maximum suction, shut-off rise, boost and surge at once.

    Valve shut, full speed; not a burst of a neighbouring system of higher pressure.
    """
    return suction_pressure + shutoff_rise + boost + surge_pressure


@relation(
    "Pressure of the permeate with its outlet shut",
    symbol="p_cr",
    unit="Pa",
    source="definition",
    note="the water passes until the pressures differ by the osmotic pressure of the feed",
)
def blocked_permeate_pressure(credible_pressure: GaugePa, osmotic_feed: OsmoticPa) -> GaugePa:
    """Permeate pressure with its outlet shut: the feed side less the osmotic pressure of the feed, not below zero.

    At equilibrium, when no water passes any more; salt that has passed lowers the difference and is neglected.
    """
    return maximum(credible_pressure - osmotic_feed, 0)


@relation("Governing pressure", symbol="p_g", unit="Pa", source="definition")
def governing_pressure_with_relief(working_pressure: GaugePa, surge_pressure: DifferencePa,
                                   credible_pressure: GaugePa) -> GaugePa:
    """Governing pressure downstream of a relief valve: maximum working pressure with its surge, never above what is
    credible.

    Holds only as long as the valve passes the full flow and is kept in order.
    """
    return minimum(working_pressure + surge_pressure, credible_pressure)


@relation("High-pressure trip", symbol="p_HH", unit="Pa", source="common-practice")
def high_pressure_trip(working_pressure: GaugePa, trip_margin: Fraction, trip_minimum: DifferencePa) -> GaugePa:
    """High-pressure trip: above the maximum working pressure by a fraction of it, and at least by a fixed length.

    The fixed part covers the error of gauge and switch at low pressures.
    """
    return working_pressure + maximum(working_pressure * trip_margin, trip_minimum)


@relation("Set pressure of the relief valve", symbol="p_r", unit="Pa", source="common-practice")
def relief_set_pressure(pressure_rating: GaugePa, relief_fraction: Fraction) -> GaugePa:
    """Set pressure of the relief valve: a little below the rating of the weakest part it guards.

    The code of the place says how far it may rise above that while it blows.
    """
    return pressure_rating * relief_fraction


@relation("Minimum set pressure above the trip", symbol="p_rt", unit="Pa", source="common-practice")
def minimum_relief_pressure(trip_pressure: GaugePa, order_margin: Fraction) -> GaugePa:
    """Minimum set pressure of the relief valve above the trip, so that the trip acts first.

    A spring valve simmers within some 10 % of its set pressure; a small margin asks for a pilot-operated one.
    """
    return trip_pressure * (1 + order_margin)


@relation("Required rating", symbol="p_Rn", unit="Pa", source="common-practice")
def required_rating(governing_pressure: GaugePa, rating_share: Fraction) -> GaugePa:
    """Pressure rating required so that the governing pressure uses no more than its fraction of it.

    Rating at the working temperature; plastics lose much of it when warm.
    """
    return governing_pressure / rating_share


@relation("Rating wanted with a relief valve", symbol="p_Rn", unit="Pa", source="common-practice")
def required_rating_with_relief(
    governing_pressure: GaugePa,
    rating_share: Fraction,
    trip_pressure: GaugePa,
    order_margin: Fraction,
    relief_fraction: Fraction,
) -> GaugePa:
    """Pressure rating required where trip and relief valve must fit below it, in their order.

    The larger of two demands: the fraction used, and room for trip and valve.
    """
    return maximum(governing_pressure / rating_share, trip_pressure * (1 + order_margin) / relief_fraction)


@relation("Fraction of the rating used", symbol="x_R", unit="1", source="definition")
def rating_fraction_used(governing_pressure: GaugePa, pressure_rating: GaugePa) -> Fraction:
    """Fraction of the pressure rating used by the governing pressure.

    A static ratio: fatigue by starts and stops is not in it.
    """
    return governing_pressure / pressure_rating


@relation("Permeate above feed at rest", symbol="Delta_p_pf", unit="Pa", source="definition")
def permeate_over_feed(permeate_pressure: GaugePa, gauge_pressure: GaugePa) -> DifferencePa:
    """Permeate pressure over feed-side pressure at rest.

    Static columns only; a pump that still runs or a siphon adds to it.
    """
    return permeate_pressure - gauge_pressure


@relation(
    "Feed-side osmotic pressure",
    symbol="pi_m",
    unit="Pa",
    source="definition",
    note="mean of inlet and outlet; osmotic pressure in proportion to salt, none passes",
)
def mean_feed_side_osmotic_pressure(osmotic_feed: OsmoticPa, recovery: Fraction) -> OsmoticPa:
    """Mean osmotic pressure on the feed side: that of inlet and outlet, the outlet concentrated by the recovery.

    Osmotic pressure in proportion to salt, none passes; at high recovery both raise the error.
    """
    return osmotic_feed * (1 + 1 / (1 - recovery)) / 2


@relation("Water on the feed side of a train", symbol="V_h", unit="m^3", source="definition")
def train_hold_up(volume: M3, hold_ups: Factor) -> M3:
    """Feed-side hold-up of a train, from the volume of its flush.

    The flush is a number of hold-ups.
    """
    return volume / hold_ups


@relation("Membrane area of a train", symbol="A_m", unit="m^2", source="definition")
def train_membrane_area(element_area: M2, elements_per_vessel: Count, vessels: Count) -> M2:
    """Membrane area of a train: all elements of all vessels.

    Elements of one area; mixed vessels use their own sum.
    """
    return element_area * elements_per_vessel * vessels


@relation(
    "Permeate drawn back by osmosis after a stop",
    symbol="V_d",
    unit="m^3",
    source="definition",
    place="well-mixed feed side that overflows as it is diluted; osmotic pressure in proportion to salt",
    note="no polarisation and no pressure on either side: an upper bound; a train that is let stand draws on",
)
def osmotic_drawback(
    hold_up: M3, permeability: WaterPermeability, membrane_area: M2, osmotic_concentrate: OsmoticPa, time: S
) -> M3:
    """Permeate drawn back through the membranes by osmosis after a stop.

    The inflow dilutes what draws it, so the volume grows with the logarithm of time: well-mixed feed side that
    overflows. No polarisation and no pressure on either side: an upper bound.
    """
    return hold_up * log(1 + permeability * membrane_area * osmotic_concentrate * time / hold_up)


@relation("Permeate kept for a stop of all trains", symbol="V_k", unit="m^3", source="definition")
def permeate_reserve(flush_volume: M3, volume: M3, trains: Count) -> M3:
    """Permeate kept for a stop of all trains: the flush of all, and what all draw back before it comes.

    For one stop; a second stop before the tank is full again finds less.
    """
    return flush_volume + volume * trains


def shutoff_rise(prefix: str, rise: Figure, pump_class: Choice) -> Figure:
    """Pressure rise at no flow, ``{prefix}.shutoff_rise`` (Pa), by the ratio of its kind."""
    ratio = row_line(f"{prefix}.shutoff_over_duty", "pump_shutoff", pump_class, "ratio", because=[pump_class])
    return shutoff_pressure_rise.at(f"{prefix}.shutoff_rise", pressure_rise=rise, shutoff_ratio=ratio)


@dataclass(frozen=True)
class Pressures:
    """What one section sees: working, credible (gauge, Pa), surge (Pa), flow a relief valve must pass (m3/s).

    `shutoff_rise` is that of the pump before it, Pa, where there is one.
    """

    working: Figure
    credible: Figure
    surge: Figure
    relief_flow: Figure
    shutoff_rise: Figure | None = None


@dataclass(frozen=True)
class Section:
    """A section with its rating; trip and relief are None where it has no relief valve.

    `class_key` is the key of ``[design_pressure]`` that holds its class; empty where another holds its rating.
    """

    key: str
    title: str
    pressures: Pressures
    governing: Figure
    rating: Figure
    rating_name: str
    rating_used: Figure
    trip: Figure
    relief: Figure | None
    class_key: str = ""


def check_section(
    key: str,
    title: str,
    seen: Pressures,
    inp: Callable[[str], Any],
    *,
    relieved: Choice,
    rating: Figure | None = None,
    rating_name: str = "",
    class_key: str = "",
    guarded: Figure | None = None,
    rating_id: str = "",
) -> Section:
    """Class, trip and relief of one section, with their checks, under ``design_pressure[key]``.

    Parameters
    ----------
    relieved : Choice
        ``yes`` when a relief valve guards it.
    rating : Figure, optional
        Of a part whose class is chosen elsewhere, such as the vessels.
    class_key : str
        Key of ``[design_pressure]`` that holds a class; used where `rating` is not given.
    guarded : Figure, optional
        Set pressure of a valve that also guards a weaker part; without it the valve is set by this rating.
    rating_id : str
        Id of the rating where it has a key of its own in the design; a part that is built for its pressure.
    """
    at = f"design_pressure[{key}]"
    share, guard = current()["limits.rating_used"], relieved == "yes"
    with scope(because=[relieved]):
        governing = governing_pressure_with_relief.at(
            f"{at}.governing",
            working_pressure=seen.working,
            surge_pressure=seen.surge,
            credible_pressure=seen.credible,
        ) if guard else governing_pressure_without_relief.at(f"{at}.governing", credible_pressure=seen.credible)
        trip = high_pressure_trip.at(
            f"{at}.trip",
            working_pressure=seen.working,
            trip_margin=inp("design_pressure.trip_margin"),
            trip_minimum=inp("design_pressure.trip_minimum"),
        )
        if rating is None:
            rating, rating_name = _class(at, inp, class_key, guard, governing, share, trip, guarded, rating_id)
        used = rating_fraction_used.at(f"{at}.rating_used", governing_pressure=governing, pressure_rating=rating)
        checked(
            f"{at}.rating_used.check",
            used,
            "<=",
            share,
            title=f"{title}: pressure / rating",
            sized_by=[rating],
            do=_do(class_key, rating_id),
            caution=CAUTION,
        )
        relief = None
        if guard:
            relief = guarded or relief_set_pressure.at(
                f"{at}.relief", pressure_rating=rating, relief_fraction=inp("design_pressure.relief_fraction")
            )
            _order(at, title, inp, trip, relief, rating if guarded is not None and class_key else None)
        else:
            checked(
                f"{at}.credible.check",
                seen.credible,
                "<=",
                rating,
                title=f"{title}: shut-off / rating",
                do=f"fit a relief valve, or: {_do(class_key, rating_id)}",
                caution=CAUTION,
            )
    return Section(key, title, seen, governing, rating, rating_name, used, trip, relief,
                   "" if rating_id else class_key)


@relation("Governing pressure without a relief valve", symbol="p_g", unit="Pa", source="definition")
def governing_pressure_without_relief(credible_pressure: GaugePa) -> GaugePa:
    """Governing pressure without a relief valve: all that is credible.

    Nothing limits the pressure but the pumps themselves.
    """
    return credible_pressure


def _do(class_key: str, rating_id: str = "") -> str:
    if rating_id and is_given(rating_id):
        return f"raise {rating_id}, or clear it"
    return f"select a higher design_pressure.{class_key}" if class_key else "select a higher membrane.pressure_class"


def _order(at: str, title: str, inp, trip: Figure, relief: Figure, rating: Figure | None) -> None:
    """Trip below relief; relief below rating where the valve was not set by this rating."""
    least = minimum_relief_pressure.at(
        f"{at}.relief_minimum", trip_pressure=trip, order_margin=inp("design_pressure.order_margin")
    )
    checked(
        f"{at}.relief.check_trip",
        relief,
        ">=",
        least,
        title=f"{title}: trip below relief",
        do="reduce design_pressure.trip_margin, or select a higher pressure class",
        caution=CAUTION,
    )
    if rating is None:
        return
    checked(
        f"{at}.relief.check_rating",
        relief,
        "<=",
        rating,
        title=f"{title}: relief / rating",
        do="reduce design_pressure.relief_fraction, or select a higher pressure class",
        caution=CAUTION,
    )


def _class(at, inp, class_key, guard, governing, share, trip, guarded, rating_id) -> tuple[Figure, str]:
    held, id = inp(f"design_pressure.{class_key}"), rating_id or f"{at}.rating"
    written = inp(rating_id) if rating_id else None
    if held != "least":
        row = row_line(f"{at}.class" if written is not None else id, "pipe_classes", held, "rating", because=[held])
        if written is None:
            return row, str(held)
        checked(f"{rating_id}.check", written, ">=", row, title="Design pressure against its class",
                do=f"set {rating_id} or design_pressure.{class_key}, not both", caution=CAUTION)
    if written is not None:
        return written, ""
    with scope(because=[held]):
        if guard and guarded is None:
            wanted = required_rating_with_relief.at(
                f"{at}.rating_wanted",
                governing_pressure=governing,
                rating_share=share,
                trip_pressure=trip,
                order_margin=inp("design_pressure.order_margin"),
                relief_fraction=inp("design_pressure.relief_fraction"),
            )
        elif guard:
            wanted = required_rating_behind_valve.at(
                f"{at}.rating_wanted", governing_pressure=governing, rating_share=share, gauge_pressure=guarded
            )
        else:
            wanted = required_rating.at(f"{at}.rating_wanted", governing_pressure=governing, rating_share=share)
    rating, row = least_row(
        id,
        "pipe_classes",
        "rating",
        wanted,
        title="Rated pressure",
        rule="smallest class whose share holds the governing pressure",
        do=f"set design_pressure.{class_key}, and lower the pressure of the section",
        because=[held],
    )
    return rating, row.key


@relation("Required rating downstream of a relief valve", symbol="p_Rn", unit="Pa",
          source="common-practice")
def required_rating_behind_valve(governing_pressure: GaugePa, rating_share: Fraction,
                                 gauge_pressure: GaugePa) -> GaugePa:
    """Pressure rating required downstream of a valve set for a weaker part: its own fraction, and that valve's set
    pressure.

    The valve must see the pressure of this part without a closed valve between.
    """
    return maximum(governing_pressure / rating_share, gauge_pressure)
