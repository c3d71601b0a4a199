"""What a design file says of motors and pumps: ``[electric]`` and one section for each kind of pump."""

from __future__ import annotations

from typing import Any

from desalbook.hydraulics.pump import HP_CLASSES, PUMP_CLASSES
from desalbook.problems import DesignError
from desalbook.units import (
    Count,
    DifferencePa,
    Factor,
    Fraction,
    GaugePa,
    Head,
    M,
    M3PerS,
    PerS,
    Section,
    W,
    choice,
    field,
    sections,
    text_field,
)

__all__ = ["YES_NO", "BackwashPump", "Booster", "CurvePoint", "Electric", "FeedPump", "HpPump"]

YES_NO = {"yes": "Yes", "no": "No"}


class Electric(Section):
    """Section ``[electric]``: the list motors are picked from, and their class."""

    motor_list: str = choice(
        {"iec": "IEC ratings (kW)", "nema": "NEMA ratings (hp)"}, "iec", title="Motor ratings",
        hint="Standard ratings that motors are picked from",
    )
    motor_class: str = choice(
        {"ie2": "IE2, high", "ie3": "IE3, premium", "ie4": "IE4, super premium"},
        "ie3",
        title="Efficiency class of motors",
        hint="Many countries ask for IE3 or IE4 by law",
    )
    poles: str = choice({"2": "2 poles", "4": "4 poles"}, "2", title="Poles of motors",
                        hint="With the frequency they give the speed")
    frequency: str = choice({"50-hz": "50 Hz", "60-hz": "60 Hz"}, "50-hz", title="Frequency of the supply",
                            hint="Of the public supply")


def _efficiency() -> Any:
    return field(
        "fraction",
        None,
        title="Pump efficiency",
        symbol="eta_p",
        possible=("10 %", "95 %"),
        usual=("40 %", "90 %"),
        hint="Where nothing is written: what makers reach at this flow",
    )


def _class(default: str) -> Any:
    return choice(PUMP_CLASSES, default, title="Kind of pump", hint="Decides the efficiency that is expected of it")


def _rotation() -> Any:
    return field(
        "rotation",
        None,
        title="Speed",
        symbol="n",
        possible=("300 rpm", "12 000 rpm"),
        usual=("900 rpm", "3600 rpm"),
        hint="Full speed of the pump",
    )


def _stages() -> Any:
    return field("count", None, title="Stages", symbol="i", possible=("1", "40"), usual=("1", "20"),
                 hint="Impellers in series; left out, the kit picks")


def _margin() -> Any:
    return field(
        "factor",
        None,
        title="Motor margin",
        symbol="m_m",
        possible=("1", "3"),
        usual=("1.05", "1.3"),
        source="api-610",
        hint="Rating over shaft power; where nothing is written, by rating from the table",
    )


def _motor() -> Any:
    return field("power", None, title="Motor rating, held", symbol="P_r", possible=("0.1 kW", "5000 kW"),
                 usual=("1 kW", "1000 kW"),
                 hint="Of one motor; left out, the least of the list that holds the power with its margin")


def _drive(default: str) -> Any:
    return choice(YES_NO, default, title="Speed drive",
                  hint="Varies the speed, and costs a little of the power")


def _drive_efficiency() -> Any:
    return field(
        "fraction",
        "97 %",
        title="Efficiency of the speed drive",
        symbol="eta_v",
        possible=("80 %", "100 %"),
        usual=("94 %", "98.5 %"),
        source="doe-motor-fact-sheet",
        hint="Power out over power in",
    )


def _rise(title: str) -> Any:
    return field(
        "pressure difference",
        None,
        title=title,
        symbol="Delta_p",
        possible=("0.05 bar", "30 bar"),
        usual=("0.5 bar", "10 bar"),
        hint="Where nothing is written, the sum of lift and losses",
    )


def _count(title: str, default: str, low: str = "0", hint: str = "") -> Any:
    return field("count", default, title=title, symbol="n", possible=(low, "20"), usual=(low, "4"), hint=hint)


def _elevation(title: str, default: str, hint: str = "") -> Any:
    return field(
        "length", default, title=title, symbol="z", possible=("-30 m", "60 m"), usual=("-5 m", "15 m"),
        hint=hint,
    )


def _npsh_required(default: str) -> Any:
    return field(
        "head",
        default,
        title="Suction head the pump needs (NPSH3)",
        symbol="NPSH_3",
        possible=("0.2 m", "60 m"),
        usual=("1 m", "20 m"),
        hint="From the curve of the pump, at its greatest flow",
    )


def _npsh_ratio() -> Any:
    return field(
        "factor",
        "1.3",
        title="Suction head available over needed",
        symbol="m_N",
        possible=("1", "5"),
        usual=("1.1", "2"),
        source="hi-9-6-1",
        hint="So that the pump stays clear of cavitation",
    )


def _npsh_margin() -> Any:
    return field(
        "head",
        "0.6 m",
        title="Least margin of suction head",
        symbol="Delta_N",
        possible=("0 m", "20 m"),
        usual=("0.6 m", "3 m"),
        source="hi-9-6-1",
        hint="Kept beside the ratio, for small heads",
    )


class FeedPump(Section):
    """Section ``[feed_pump]``: from the raw tank through filters and cartridges to the next pump."""

    duty_count: Count = _count("Feed pumps on duty for one train", "1", "1", hint="Running side by side")
    standby_count: Count = _count("Feed pumps on standby for one train", "1", hint="Installed and waiting")
    pressure_rise: DifferencePa | None = _rise("Pressure rise, held")
    efficiency: Fraction | None = _efficiency()
    pump_class: str = _class("end-suction")
    rotation: PerS | None = _rotation()
    stages: Count | None = _stages()
    motor_margin: Factor | None = _margin()
    motor: W | None = _motor()
    drive: str = _drive("no")
    drive_efficiency: Fraction = _drive_efficiency()
    elevation: M = _elevation("Centre line above site level", "0.5 m",
                              hint="Height of the shaft; lower gives more suction head")
    npsh_required: Head = _npsh_required("3 m")
    npsh_ratio: Factor = _npsh_ratio()
    npsh_margin: Head = _npsh_margin()
    carries_rinse: str = choice(
        YES_NO,
        "yes",
        title="Feed pump carries the rinse of a filter",
        hint="If not, production falls while a filter is rinsed",
    )


class BackwashPump(Section):
    """Section ``[backwash_pump]``: washes one filter at a time."""

    duty_count: Count = _count("Wash pumps on duty", "1", "1", hint="Running side by side during a wash")
    standby_count: Count = _count("Wash pumps on standby", "1", hint="Installed and waiting")
    pressure_rise: DifferencePa | None = _rise("Pressure rise, held")
    efficiency: Fraction | None = _efficiency()
    pump_class: str = _class("end-suction")
    rotation: PerS | None = _rotation()
    stages: Count | None = _stages()
    motor_margin: Factor | None = _margin()
    motor: W | None = _motor()
    drive: str = _drive("no")
    drive_efficiency: Fraction = _drive_efficiency()
    elevation: M = _elevation("Centre line above site level", "0.5 m",
                              hint="Height of the shaft; lower gives more suction head")
    npsh_required: Head = _npsh_required("3 m")
    npsh_ratio: Factor = _npsh_ratio()
    npsh_margin: Head = _npsh_margin()
    outlet_elevation: M = _elevation("Wash outlet above site level", "3.5 m",
                                     hint="Where the dirty wash water leaves the filter")
    outlet_pressure: GaugePa = field(
        "gauge pressure",
        "0.2 bar",
        title="Pressure at the wash outlet",
        symbol="p_o",
        possible=("0 bar", "5 bar"),
        usual=("0 bar", "1 bar"),
        hint="For the line to waste",
    )


class CurvePoint(Section):
    """One point of the maker's curve at full speed, ``[[hp_pump.curve]]``."""

    name: str = text_field(..., title="Name", max_length=20,
                           hint="Part of the names of its figures")  # type: ignore[arg-type]
    flow: M3PerS = field("flow", ..., title="Flow of one pump", symbol="Q", possible=("0 m3/h", "10 000 m3/h"),
                         hint="From the maker's curve", usual=("10 m3/h", "800 m3/h"))
    head: Head = field("head", ..., title="Head", symbol="H", possible=("1 m", "2000 m"),
                       hint="From the maker's curve", usual=("50 m", "800 m"))
    efficiency: Fraction = field("fraction", ..., title="Efficiency", symbol="eta", possible=("0 %", "95 %"),
                                 hint="From the maker's curve", usual=("50 %", "90 %"))


class HpPump(Section):
    """Section ``[hp_pump]``: lifts to the pressure of the membranes, with the recovery device."""

    curve: tuple[CurvePoint, ...] = sections(
        CurvePoint, (), title="Curve of the pump at full speed",
        hint="Three points or more, from the maker; where nothing is written the curve is generated from the duty")
    shutoff_ratio: Factor = field(
        "factor", "1.2", title="Shut-off head over head of the duty", symbol="r_0", possible=("1.02", "2"),
        usual=("1.1", "1.35"), hint="Of the generated curve; a written curve has its own")
    minimum_flow: Fraction = field(
        "fraction", "40 %", title="Least continuous flow, of the best flow", symbol="x_min",
        possible=("0 %", "90 %"), usual=("25 %", "60 %"), source="api-610",
        hint="Below it the pump heats and shakes; a bypass must open")
    runout: Fraction = field(
        "fraction", "120 %", title="Greatest flow, of the best flow", symbol="x_max", possible=("100 %", "200 %"),
        usual=("105 %", "130 %"), source="api-610", hint="Beyond it the curve is not trusted")
    speed_limit: Factor = field(
        "factor", "1", title="Greatest speed over full speed", symbol="x_n", possible=("0.5", "2"),
        usual=("0.9", "1.2"), hint="With a speed drive; motor, seal and pump must bear it")
    specific_speed_wanted: Factor = field(
        "factor", "1000", title="Least specific speed of a stage, US units", symbol="N_s", possible=("300", "5000"),
        usual=("600", "2500"), source="hi-edb", hint="Decides the stages of a multistage pump when none are written")
    stages_most: Count = field("count", "16", title="Most stages in one casing", symbol="i_max",
                               possible=("1", "60"), usual=("5", "24"), hint="As many impellers as one casing takes")

    def consistent(self, where: str) -> None:
        """A parabola needs three points; a shut-off point alone gives no efficiency."""
        if self.curve and (len(self.curve) < 3 or len({p.flow for p in self.curve}) < 3):
            raise DesignError("a curve needs three points of different flow",
                              where=f"{where}.curve" if where else "curve", value=len(self.curve),
                              do="write three points or more, or leave the curve out")

    duty_count: Count = _count("High-pressure pumps on duty for one train", "1", "1", hint="Running side by side")
    standby_count: Count = _count("High-pressure pumps on standby for one train", "0", hint="Installed and waiting")
    efficiency: Fraction | None = _efficiency()
    pump_class: str = choice(HP_CLASSES, "multistage", title="Kind of pump",
                             hint="Decides the efficiency that is expected of it")
    rotation: PerS | None = _rotation()
    stages: Count | None = _stages()
    motor_margin: Factor | None = _margin()
    motor: W | None = _motor()
    drive: str = _drive("yes")
    drive_efficiency: Fraction = _drive_efficiency()
    elevation: M = _elevation("Centre line above site level", "0.8 m",
                              hint="Height of the shaft; lower gives more suction head")
    suction_wanted: GaugePa = field(
        "gauge pressure",
        "2 bar",
        title="Suction pressure wanted, dirty filters",
        symbol="p_s",
        possible=("0.1 bar", "20 bar"),
        usual=("1.5 bar", "5 bar"),
        hint="The feed pump is sized to leave this with dirty filters and cartridges",
    )
    low_trip: GaugePa = field(
        "gauge pressure",
        "1 bar",
        title="Low suction pressure trip",
        symbol="p_LL",
        possible=("0 bar", "10 bar"),
        usual=("0.5 bar", "3 bar"),
        hint="Below it the pump is stopped",
    )
    suction_limit: GaugePa = field(
        "gauge pressure",
        "10 bar",
        title="Highest suction pressure of the casing",
        symbol="p_s_max",
        possible=("1 bar", "100 bar"),
        usual=("6 bar", "25 bar"),
        hint="Above it casing and seal are at risk",
    )
    npsh_required: Head = _npsh_required("8 m")
    npsh_ratio: Factor = _npsh_ratio()
    npsh_margin: Head = _npsh_margin()


class Booster(Section):
    """Section ``[booster]``: circulates through an isobaric exchanger and the vessels."""

    standby_count: Count = _count("Boosters on standby for one train", "0", hint="Installed and waiting")
    efficiency: Fraction | None = _efficiency()
    pump_class: str = _class("end-suction")
    motor_margin: Factor | None = _margin()
    motor: W | None = _motor()
    drive: str = _drive("yes")
    drive_efficiency: Fraction = _drive_efficiency()
    piping_loss: DifferencePa = field(
        "pressure difference",
        "0.3 bar",
        title="Losses of the high-pressure loop outside vessels and device",
        symbol="Delta_p_l",
        possible=("0 bar", "5 bar"),
        usual=("0.1 bar", "1 bar"),
        hint="The booster overcomes it beside vessels and device",
    )
