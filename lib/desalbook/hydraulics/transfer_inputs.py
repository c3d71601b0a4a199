"""What a design file says of the pumps that only move water: ``[product_pump]`` and ``[flush_pump]``."""

from __future__ import annotations

from desalbook.hydraulics.pump import PUMP_CLASSES
from desalbook.units import Count, Factor, Fraction, GaugePa, M, Section, W, choice, field

__all__ = ["FlushPump", "ProductPump"]

_YES_NO = {"yes": "Yes", "no": "No"}


def _count(title: str, default: str, low: str) -> Count:
    return field("count", default, title=title, symbol="n", possible=(low, "20"), usual=(low, "4"))


def _level(title: str, default: str) -> M:
    return field("length", default, title=title, symbol="z", possible=("-30 m", "300 m"), usual=("-5 m", "40 m"))


class _Transfer(Section):
    """What such pumps have in common; a section changes what differs."""

    present: str = choice(_YES_NO, "yes", title="Pump in this plant")
    duty_count: Count = _count("Pumps on duty", "1", "1")
    standby_count: Count = _count("Pumps on standby", "1", "0")
    tank_low_level: M = _level("Lowest level drawn from, above site level", "0.5 m")
    delivery_elevation: M = _level("Level delivered to, above site level", "2 m")
    delivery_pressure: GaugePa = field(
        "gauge pressure",
        "2 bar",
        title="Pressure wanted there",
        symbol="p_w",
        possible=("0 bar", "25 bar"),
        usual=("0.5 bar", "8 bar"),
    )
    efficiency: Fraction | None = field(
        "fraction", None, title="Pump efficiency", symbol="eta_p", possible=("10 %", "95 %"), usual=("40 %", "90 %"),
        hint="Where nothing is written: what makers reach at this flow",
    )
    pump_class: str = choice(PUMP_CLASSES, "end-suction", title="Kind of pump")
    motor_margin: Factor | None = field(
        "factor", None, title="Motor margin", symbol="m_m", possible=("1", "3"), usual=("1.05", "1.3"),
        source="api-610",
    )
    motor: W | None = field(
        "power", None, title="Motor rating, held", symbol="P_r", possible=("0.1 kW", "5000 kW")
    )


class ProductPump(_Transfer):
    """Section ``[product_pump]``: from the product tank to the network."""

    delivery_elevation: M = _level("Highest level delivered to, above site level", "5 m")


class FlushPump(_Transfer):
    """Section ``[flush_pump]``: permeate through the high-pressure side of a train that has stopped."""

    standby_count: Count = _count("Pumps on standby", "0", "0")
