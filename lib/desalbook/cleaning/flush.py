"""Flush after a stop: the brine pushed out of the train with permeate, its volume, its tank and its flow."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from desalbook.cleaning.skid import total_volume
from desalbook.cleaning.solutions import CAUTION
from desalbook.trail import Figure, checked, note, relation, scope
from desalbook.trail.inputs import Inputs
from desalbook.units import KINDS, M3, Count, Factor, Fraction, M3PerS

__all__ = ["FlushDesign", "flush", "flush_flow", "flush_volume"]

Small = Annotated[float, KINDS["volume.small"]]
Minutes = Annotated[float, KINDS["time.minute"]]


@relation(
    "Flush volume per train",
    symbol="V_f",
    unit="m^3",
    source="common-practice",
    note="until the concentrate shows the conductivity of the flush",
)
def flush_volume(
    hold_ups: Factor, vessel_volume: Small, wet_fraction: Fraction, vessels: Count, pipe_volume: M3
) -> M3:
    """Flush of one train: several times the water its pressure side holds.

    Until the concentrate shows the conductivity of the flush; plugged vessels need more.
    """
    return hold_ups * (vessel_volume * wet_fraction * vessels + pipe_volume)


@relation("Flow of the flush", symbol="Q_fl", unit="m^3/s", source="definition")
def flush_flow(volume: M3, time: Minutes) -> M3PerS:
    """Flow of the flush: its volume over its time.

    A mean; the pump's curve gives more at the start.
    """
    return volume / time


@dataclass(frozen=True)
class FlushDesign:
    """Flush after a stop: volume of one train (m3), of all trains that trip together, flow of one (m3/s)."""

    train_volume: Figure
    volume: Figure
    flow: Figure


def flush(
    inp: Inputs,
    *,
    vessel_volume: Figure,
    vessels: Figure,
    pipe_volume: Figure,
    trains_together: Figure,
) -> FlushDesign:
    """Flush after a stop.

    Parameters
    ----------
    inp : Inputs
    vessel_volume : Figure
        Empty volume of one vessel, m3 (`CleaningDesign.vessel_volume`).
    vessels, pipe_volume : Figure
        Vessels and high-pressure pipe contents of one train.
    trains_together : Figure
        Trains that trip together, for instance all of them on loss of power.
    """
    with scope("train", count=trains_together):
        one = flush_volume.at(
            "flush.train_volume",
            hold_ups=inp.number("cip.flush_hold_ups"),
            vessel_volume=vessel_volume,
            wet_fraction=inp.number("cip.wet_fraction"),
            vessels=vessels,
            pipe_volume=pipe_volume,
        )
        flow = flush_flow.at("flush.flow", volume=one, time=inp.number("cip.flush_time"))
    whole = total_volume.at("flush.volume", volume_each=one, count=trains_together, title="Flush-water storage",
                            symbol="V_fl")
    held = inp.optional("cip.flush_tank")
    if held is not None:
        checked("cip.flush_tank.check", held, ">=", whole, title="Flush tank",
                do="increase cip.flush_tank: trains that trip together are flushed together, chlorine-free",
                caution=CAUTION)
    water = inp.choice("cip.flush_water")
    free = water == "permeate"
    note(
        "flush.chlorine",
        title="Flush water without chlorine",
        verdict="passes" if free else "review",
        why="it is taken before post-treatment"
        if free
        else "product may carry chlorine, and what stays in the elements for days must hold no oxidant",
        do="take the flush before chlorination, or prove each flush free of oxidant",
        inputs={"water": water},
    )
    return FlushDesign(one, whole, flow)
