"""What a design file says of tanks, pumps and places: what all dosing lines share, and their order."""

from __future__ import annotations

from typing import Any

from desalbook.dosing.inputs import DOSED, YES_NO
from desalbook.tables import table
from desalbook.units import (
    DifferencePa,
    Factor,
    Fraction,
    GaugePa,
    K,
    S,
    Section,
    choice,
    field,
    sections,
)

__all__ = ["ChemicalStore", "Dosing", "Injection", "InjectionPoint", "StoreBay"]


class Dosing(Section):
    """Section ``[dosing]``: what all dosing lines share."""

    day_tank_time: S = field(
        "time",
        "24 h",
        title="Supply of a day tank",
        symbol="t_d",
        possible=("4 h", "72 h"),
        usual=("12 h", "30 h"),
        source="ten-state-standards",
        hint="A tank filled each shift or day limits what a mistake can dose",
    )
    storage_time: S = field(
        "time.day",
        "30 d",
        title="Supply in store",
        symbol="t_s",
        possible=("3 d", "180 d"),
        usual=("15 d", "60 d"),
        source="ten-state-standards",
        hint="Days the store lasts at the mean dose; the size of a delivery may ask for more",
    )
    span: Factor = field(
        "factor",
        "100",
        title="Span of a dosing pump, stroke times speed",
        symbol="r_q",
        possible=("5", "1000"),
        usual=("10", "100"),
        source="api-675",
        hint="Highest over lowest flow that one pump can give",
    )
    speed_span: Factor = field(
        "factor",
        "10",
        title="Span of a dosing pump by speed alone",
        symbol="r_n",
        possible=("1", "100"),
        usual=("5", "20"),
        source="api-675",
        hint="Speed follows the flow; what is left is set by stroke",
    )
    pump_margin: Factor = field(
        "factor",
        "1.1",
        title="Capacity of a dosing pump over its highest feed",
        symbol="f_q",
        possible=("1", "3"),
        usual=("1.05", "1.5"),
        hint="For wear and for a weak delivery",
    )
    pump_pressure: GaugePa = field(
        "gauge pressure",
        "10 bar g",
        title="Rated pressure of the dosing pumps",
        symbol="p_q",
        possible=("1 bar g", "100 bar g"),
        usual=("4 bar g", "16 bar g"),
        hint="What the pumps can push against",
    )
    over_pressure: DifferencePa = field(
        "pressure difference",
        "1 bar",
        title="Dosing pump over the line at shut-off",
        symbol="dp_q",
        possible=("0 bar", "10 bar"),
        usual=("0.5 bar", "3 bar"),
        hint="Quill valve and line losses",
    )
    draw_down_time: S = field(
        "time.second",
        "60 s",
        title="Draw-down time of a calibration column",
        symbol="t_k",
        possible=("10 s", "600 s"),
        usual=("30 s", "120 s"),
        hint="Time in which the pump empties the column when its flow is checked",
    )
    mixing: str = choice(table("mixing").options(), "static-mixer", title="Mixing behind a quill",
                         hint="What mixes the chemical in before the next place")
    delivery_time: S = field(
        "time.day",
        "14 d",
        title="Least interval of deliveries",
        symbol="t_l",
        possible=("1 d", "180 d"),
        usual=("7 d", "45 d"),
        hint="Deliveries come no more often than this",
    )
    store_temperature: K = field(
        "temperature",
        "25 degC",
        title="Temperature of the chemical store",
        symbol="T_s",
        possible=("-10 degC", "50 degC"),
        usual=("5 degC", "35 degC"),
        hint="Mean of the warmest month: hypochlorite ages with it",
    )
    containment_share: Fraction = field(
        "fraction",
        "10 %",
        title="Allowance of the bund over its largest tank",
        symbol="x_c",
        possible=("0 %", "100 %"),
        usual=("10 %", "25 %"),
        source="uk-oil-storage-2001",
        hint="25 % in the open; local codes govern",
    )
    containment_total: Fraction = field(
        "fraction",
        "25 %",
        title="Bund over the sum of its tanks, least",
        symbol="x_t",
        possible=("0 %", "120 %"),
        usual=("25 %", "100 %"),
        source="uk-oil-storage-2001",
        hint="Volume of the bund for all its tanks together",
    )


def _seconds(default: str, title: str, symbol: str, usual: tuple[str, str], hint: str = "") -> Any:
    """A time of the chain from probe to pump."""
    return field("time.second", default, title=title, symbol=symbol, possible=("0 s", "600 s"), usual=usual,
                 hint=hint)


class InjectionPoint(Section):
    """One place along the water line."""

    name: str = choice(DOSED, ..., title="What is there", hint="In the order of the flow")
    travel_time: S = field(
        "time.second",
        "10 s",
        title="Travel time to the next place",
        symbol="t",
        possible=("0 s", "86400 s"),
        usual=("0 s", "3600 s"),
        hint="From this place to the next at the design flow",
    )


_ORDER = (
    "chlorination",
    "coagulation",
    "filter",
    "acid",
    "antiscalant",
    "dechlorination",
    "orp",
    "biocide",
    "cartridge",
    "pump",
)


class Injection(Section):
    """Section ``[injection]``: the order of quills, filters and probe along the line."""

    points: tuple[InjectionPoint, ...] = sections(
        InjectionPoint,
        [{"name": n, "travel_time": "15 s"} for n in _ORDER],
        title="Places along the line",
        hint="In the order the water passes them; a chemical that is not present is passed over",
    )
    probe_time: S = _seconds("10 s", "Response of the redox probe", "t_p", ("2 s", "30 s"),
                             hint="Until the probe shows most of a change")
    delay_time: S = _seconds("5 s", "Delay of the alarm", "t_d", ("0 s", "10 s"),
                             hint="Waited before the alarm acts, against false ones")
    valve_time: S = _seconds("10 s", "Time to stop the pump or shut the valve", "t_v", ("2 s", "30 s"),
                             hint="Until no more water reaches the membranes")


BAYS = tuple(
    n for n in DOSED if n not in ("filter", "cartridge", "orp", "pump", "second_pass")
)


class StoreBay(Section):
    """One bay of the chemical store."""

    name: str = choice({n: DOSED[n] for n in BAYS}, ..., title="What stands there",
                       hint="The step whose chemical stands there")
    wall: str = choice(YES_NO, "yes", title="Wall or clear passage to the next bay",
                       hint="Chemicals that must not meet need one")
    shares_bund: str = choice(YES_NO, "no", title="One bund with the next bay",
                              hint="A common bund lets two spills meet")


class ChemicalStore(Section):
    """Section ``[chemical_store]``: bays side by side, from one end of the store to the other."""

    bays: tuple[StoreBay, ...] = sections(
        StoreBay,
        [{"name": n} for n in BAYS],
        title="Bays of the store",
        hint="In the order they stand; what is not present is passed over",
    )
