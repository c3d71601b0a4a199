"""What a design file says of the pumps that only move water: ``[product_pump]`` and ``[flush_pump]``."""

from __future__ import annotations

from desalbook.hydraulics.pump import PUMP_CLASSES
from desalbook.units import Count, Factor, Fraction, GaugePa, M, Section, W, choice, field

__all__ = ["FlushPump", "ProductPump"]

_YES_NO = {"yes": "Yes", "no": "No"}


def _count(title: str, default: str, low: str, hint: str = "") -> Count:
    return field("count", default, title=title, symbol="n", possible=(low, "20"), usual=(low, "4"), hint=hint)


def _level(title: str, default: str, hint: str = "") -> M:
    return field("length", default, title=title, symbol="z", possible=("-30 m", "300 m"), usual=("-5 m", "40 m"),
                 hint=hint)


class _Transfer(Section):
    """What such pumps have in common; a section changes what differs."""

    present: str = choice(_YES_NO, "yes", title="Pump in this plant", hint="Whether the plant has this pump")
    duty_count: Count = _count("Pumps on duty", "1", "1", hint="Running side by side")
    standby_count: Count = _count("Pumps on standby", "1", "0", hint="Installed and waiting")
    tank_low_level: M = _level("Lowest level drawn from, above site level", "0.5 m",
                               hint="From which the pump must lift in the worst case")
    delivery_elevation: M = _level("Level delivered to, above site level", "2 m", hint="To which the pump must lift")
    delivery_pressure: GaugePa = field(
        "gauge pressure",
        "2 bar",
        title="Pressure wanted there",
        symbol="p_w",
        possible=("0 bar", "25 bar"),
        usual=("0.5 bar", "8 bar"),
        hint="At the end of the line",
    )
    efficiency: Fraction | None = field(
        "fraction", None, title="Pump efficiency", symbol="eta_p", possible=("10 %", "95 %"), usual=("40 %", "90 %"),
        hint="Where nothing is written: what makers reach at this flow",
    )
    pump_class: str = choice(PUMP_CLASSES, "end-suction", title="Kind of pump",
                             hint="Decides the efficiency that is expected of it")
    motor_margin: Factor | None = field(
        "factor", None, title="Motor margin", symbol="m_m", possible=("1", "3"), usual=("1.05", "1.3"),
        source="api-610",
        hint="Rating of the motor over the power at the shaft",
    )
    motor: W | None = field(
        "power", None, title="Motor rating, held", symbol="P_r", possible=("0.1 kW", "5000 kW"),
        usual=("1 kW", "500 kW"),
        hint="Rating of one motor; left out, the least of the list that holds the power with its margin",
    )


class ProductPump(_Transfer):
    """Section ``[product_pump]``: from the product tank to the network."""

    delivery_elevation: M = _level("Highest level delivered to, above site level", "5 m",
                                   hint="To which the pump must lift")


class FlushPump(_Transfer):
    """Section ``[flush_pump]``: permeate through the high-pressure side of a train that has stopped."""

    standby_count: Count = _count("Pumps on standby", "0", "0", hint="Installed and waiting")
