"""Design pressures: the highest credible pressure of a section, its class, its trip and its relief valve.

Pressure kills: ratings, relief valves and their discharge follow the pressure-equipment law and the code of the
place, and a licensed engineer signs for them.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from desalbook.hydraulics.constants import G
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
    Head,
    KgPerM3,
    OsmoticPa,
    S,
    WaterPermeability,
)

__all__ = [
    "CAUTION",
    "Judged",
    "Pressures",
    "behind_pump",
    "blocked_permeate",
    "credible_of",
    "drawback_of",
    "governing_of",
    "judge",
    "mean_osmotic",
    "shutoff_of",
    "shutoff_rise_of",
    "standing_of",
    "trip_of",
]

CAUTION = (
    "high-pressure water injures and bursts kill; ratings and relief follow the pressure-equipment law of the place"
)


@relation(
    "Pressure rise at no flow",
    symbol="Delta_p_0",
    unit="Pa",
    source="common-practice",
    place="ratio of the kind of pump",
    note="at full speed, in the densest water; the curve of the pump bought replaces it",
)
def shutoff_rise_of(pressure_rise: DifferencePa, shutoff_ratio: Factor) -> DifferencePa:
    """Duty times the ratio of its kind."""
    return pressure_rise * shutoff_ratio


@relation("Standing pressure", symbol="p_0", unit="Pa", source="definition")
def standing_of(density: KgPerM3, static_head: Head) -> GaugePa:
    """Weight of the column above; none where the water stands lower."""
    return density * G * maximum(static_head, 0)


@relation("Pressure behind a pump", symbol="p_d", unit="Pa", source="definition")
def behind_pump(suction_pressure: GaugePa, pressure_rise: DifferencePa) -> GaugePa:
    """Suction and what is added."""
    return suction_pressure + pressure_rise


@relation(
    "Highest credible pressure",
    symbol="p_cr",
    unit="Pa",
    source="definition",
    note="all at once: valve shut, full speed, highest suction, and the surge of the stop",
)
def credible_of(
    suction_pressure: GaugePa, shutoff_rise: DifferencePa, boost: DifferencePa, surge_pressure: DifferencePa
) -> GaugePa:
    """Highest suction, shut-off, boost and surge."""
    return suction_pressure + shutoff_rise + boost + surge_pressure


@relation(
    "Pressure of the permeate with its outlet shut",
    symbol="p_cr",
    unit="Pa",
    source="definition",
    note="the water passes until the pressures differ by the osmotic pressure of the feed",
)
def blocked_permeate(credible_pressure: GaugePa, osmotic_feed: OsmoticPa) -> GaugePa:
    """Feed side less osmotic pressure, not below zero."""
    return maximum(credible_pressure - osmotic_feed, 0)


@relation("Governing pressure", symbol="p_g", unit="Pa", source="definition")
def governing_of(working_pressure: GaugePa, surge_pressure: DifferencePa, credible_pressure: GaugePa) -> GaugePa:
    """Behind a relief valve: the highest working pressure with its surge, never above what is credible."""
    return minimum(working_pressure + surge_pressure, credible_pressure)


@relation("High-pressure trip", symbol="p_HH", unit="Pa", source="common-practice")
def trip_of(working_pressure: GaugePa, trip_margin: Fraction, trip_least: DifferencePa) -> GaugePa:
    """Above the highest working pressure by a share, and at least by a length of the gauge."""
    return working_pressure + maximum(working_pressure * trip_margin, trip_least)


@relation("Set pressure of the relief valve", symbol="p_r", unit="Pa", source="common-practice")
def relief_of(pressure_rating: GaugePa, relief_share: Fraction) -> GaugePa:
    """A little below the rating of the weakest part it guards."""
    return pressure_rating * relief_share


@relation("Least set pressure above the trip", symbol="p_rt", unit="Pa", source="common-practice")
def relief_least_of(trip_pressure: GaugePa, order_margin: Fraction) -> GaugePa:
    """The trip acts first."""
    return trip_pressure * (1 + order_margin)


@relation("Rating wanted", symbol="p_Rn", unit="Pa", source="common-practice")
def rating_wanted(governing_pressure: GaugePa, rating_share: Fraction) -> GaugePa:
    """The governing pressure uses no more than its share."""
    return governing_pressure / rating_share


@relation("Rating wanted with a relief valve", symbol="p_Rn", unit="Pa", source="common-practice")
def rating_wanted_relieved(
    governing_pressure: GaugePa,
    rating_share: Fraction,
    trip_pressure: GaugePa,
    order_margin: Fraction,
    relief_share: Fraction,
) -> GaugePa:
    """And trip and relief fit below it, in their order."""
    return maximum(governing_pressure / rating_share, trip_pressure * (1 + order_margin) / relief_share)


@relation("Share of the rating used", symbol="x_R", unit="1", source="definition")
def used_of(governing_pressure: GaugePa, pressure_rating: GaugePa) -> Fraction:
    """Governing pressure over rating."""
    return governing_pressure / pressure_rating


@relation("Permeate above feed at rest", symbol="Delta_p_pf", unit="Pa", source="definition")
def over_feed_of(permeate_pressure: GaugePa, gauge_pressure: GaugePa) -> DifferencePa:
    """Standing pressure of the permeate line less that of the feed side."""
    return permeate_pressure - gauge_pressure


@relation(
    "Osmotic pressure of the water on the feed side",
    symbol="pi_m",
    unit="Pa",
    source="definition",
    note="mean of inlet and outlet; osmotic pressure in proportion to salt, none passes",
)
def mean_osmotic(osmotic_feed: OsmoticPa, recovery: Fraction) -> OsmoticPa:
    """The reject is as much stronger as there is less of it."""
    return osmotic_feed * (1 + 1 / (1 - recovery)) / 2


@relation("Water on the feed side of a train", symbol="V_h", unit="m^3", source="definition")
def hold_up_of(volume: M3, hold_ups: Factor) -> M3:
    """The flush is a number of them."""
    return volume / hold_ups


@relation("Membrane area of a train", symbol="A_m", unit="m^2", source="definition")
def train_area_of(element_area: M2, elements_per_vessel: Count, vessels: Count) -> M2:
    """All elements."""
    return element_area * elements_per_vessel * vessels


@relation(
    "Permeate drawn back by osmosis after a stop",
    symbol="V_d",
    unit="m^3",
    source="definition",
    place="well-mixed feed side that overflows as it is diluted; osmotic pressure in proportion to salt",
    note="no polarisation and no pressure on either side: an upper bound; a train that is let stand draws on",
)
def drawback_of(
    hold_up: M3, permeability: WaterPermeability, membrane_area: M2, osmotic_concentrate: OsmoticPa, time: S
) -> M3:
    """The inflow dilutes what draws it: the volume grows with the logarithm of time."""
    return hold_up * log(1 + permeability * membrane_area * osmotic_concentrate * time / hold_up)


@relation("Permeate kept for a stop of all trains", symbol="V_k", unit="m^3", source="definition")
def kept_of(flush_volume: M3, volume: M3, trains: Count) -> M3:
    """Flush of all, and what all draw back before it comes."""
    return flush_volume + volume * trains


def shutoff_of(prefix: str, rise: Figure, pump_class: Choice) -> Figure:
    """Pressure rise at no flow, ``{prefix}.shutoff_rise`` (Pa); what the curve of the pump gave, where it did."""
    id = f"{prefix}.shutoff_rise"
    if id in current():
        return current()[id]
    ratio = row_line(f"{prefix}.shutoff_over_duty", "pump_shutoff", pump_class, "ratio", because=[pump_class])
    return shutoff_rise_of.at(id, pressure_rise=rise, shutoff_ratio=ratio)


@dataclass(frozen=True)
class Pressures:
    """What one section sees: working, credible (gauge, Pa), surge (Pa), flow a relief valve must pass (m3/s)."""

    working: Figure
    credible: Figure
    surge: Figure
    relief_flow: Figure


@dataclass(frozen=True)
class Judged:
    """A section with its rating; trip and relief are None where it has no relief valve."""

    key: str
    title: str
    pressures: Pressures
    governing: Figure
    rating: Figure
    rating_name: str
    trip: Figure
    relief: Figure | None


def judge(
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
) -> Judged:
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
        governing = governing_of.at(
            f"{at}.governing",
            working_pressure=seen.working,
            surge_pressure=seen.surge,
            credible_pressure=seen.credible,
        ) if guard else behind_nothing.at(f"{at}.governing", credible_pressure=seen.credible)
        trip = trip_of.at(
            f"{at}.trip",
            working_pressure=seen.working,
            trip_margin=inp("design_pressure.trip_margin"),
            trip_least=inp("design_pressure.trip_least"),
        )
        if rating is None:
            rating, rating_name = _class(at, inp, class_key, guard, governing, share, trip, guarded, rating_id)
        used = used_of.at(f"{at}.rating_used", governing_pressure=governing, pressure_rating=rating)
        checked(
            f"{at}.rating_used.check",
            used,
            "<=",
            share,
            title=f"{title}: governing pressure over rating",
            do=_do(class_key, rating_id),
            caution=CAUTION,
        )
        relief = None
        if guard:
            relief = guarded or relief_of.at(
                f"{at}.relief", pressure_rating=rating, relief_share=inp("design_pressure.relief_share")
            )
            _order(at, title, inp, trip, relief, rating if guarded is not None and class_key else None)
        else:
            checked(
                f"{at}.credible.check",
                seen.credible,
                "<=",
                rating,
                title=f"{title}: shut-off without a relief valve",
                do=f"fit a relief valve, or: {_do(class_key, rating_id)}",
                caution=CAUTION,
            )
    return Judged(key, title, seen, governing, rating, rating_name, trip, relief)


@relation("Governing pressure without a relief valve", symbol="p_g", unit="Pa", source="definition")
def behind_nothing(credible_pressure: GaugePa) -> GaugePa:
    """What is credible."""
    return credible_pressure


def _do(class_key: str, rating_id: str = "") -> str:
    if rating_id and is_given(rating_id):
        return f"raise {rating_id}, or leave it out"
    return f"choose a higher design_pressure.{class_key}" if class_key else "choose a higher membrane.pressure_class"


def _order(at: str, title: str, inp, trip: Figure, relief: Figure, rating: Figure | None) -> None:
    """Trip below relief; relief below rating where the valve was not set by this rating."""
    least = relief_least_of.at(
        f"{at}.relief_least", trip_pressure=trip, order_margin=inp("design_pressure.order_margin")
    )
    checked(
        f"{at}.relief.check_trip",
        relief,
        ">=",
        least,
        title=f"{title}: trip below relief",
        do="lower design_pressure.trip_margin, or choose a higher rating",
        caution=CAUTION,
    )
    if rating is None:
        return
    checked(
        f"{at}.relief.check_rating",
        relief,
        "<=",
        rating,
        title=f"{title}: relief below rating",
        do="lower design_pressure.relief_share, or choose a higher class",
        caution=CAUTION,
    )


def _class(at, inp, class_key, guard, governing, share, trip, guarded, rating_id) -> tuple[Figure, str]:
    held, id = inp(f"design_pressure.{class_key}"), rating_id or f"{at}.rating"
    written = inp(rating_id) if rating_id else None
    if held != "least":
        row = row_line(f"{at}.class" if written is not None else id, "pipe_classes", held, "rating", because=[held])
        if written is None:
            return row, str(held)
        checked(f"{rating_id}.check", written, ">=", row, title="Pressure it is built for against its class",
                do=f"write {rating_id} or design_pressure.{class_key}, not both", caution=CAUTION)
    if written is not None:
        return written, ""
    with scope(because=[held]):
        if guard and guarded is None:
            wanted = rating_wanted_relieved.at(
                f"{at}.rating_wanted",
                governing_pressure=governing,
                rating_share=share,
                trip_pressure=trip,
                order_margin=inp("design_pressure.order_margin"),
                relief_share=inp("design_pressure.relief_share"),
            )
        elif guard:
            wanted = guarded_wanted.at(
                f"{at}.rating_wanted", governing_pressure=governing, rating_share=share, gauge_pressure=guarded
            )
        else:
            wanted = rating_wanted.at(f"{at}.rating_wanted", governing_pressure=governing, rating_share=share)
    rating, row = least_row(
        id,
        "pipe_classes",
        "rating",
        wanted,
        title="Rated pressure",
        rule="least class whose share holds the governing pressure",
        do=f"write design_pressure.{class_key} to hold a class, and lower the pressure it must bear",
        because=[held],
    )
    return rating, row.key


@relation("Rating wanted behind a valve set for a weaker part", symbol="p_Rn", unit="Pa", source="common-practice")
def guarded_wanted(governing_pressure: GaugePa, rating_share: Fraction, gauge_pressure: GaugePa) -> GaugePa:
    """Its own share, and the set pressure of that valve."""
    return maximum(governing_pressure / rating_share, gauge_pressure)
