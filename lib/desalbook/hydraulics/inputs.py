"""What a design file says of pumps, motors, pipes, pressure ratings, energy recovery and energy: one section each."""

from __future__ import annotations

from typing import Any

from desalbook.hydraulics.energy_recovery import DEFAULT_DEVICE, DEVICES, kind_of
from desalbook.hydraulics.pumps import END_SUCTION, HP_CLASSES, MULTISTAGE, PUMP_CLASSES
from desalbook.hydraulics.walls import PIPE_SIZES
from desalbook.problems import DesignError
from desalbook.tables import row_field, table
from desalbook.units import (
    M3,
    Count,
    DifferencePa,
    ElectricW,
    Factor,
    Fraction,
    GaugePa,
    Head,
    M,
    M3PerS,
    Named,
    PerS,
    S,
    Section,
    W,
    choice,
    field,
    mapping,
    own_list,
    sections,
    show,
    text_field,
)

__all__ = [
    "BETWEEN_RUNS",
    "LISTS",
    "RUNS",
    "YES_NO",
    "BackwashPump",
    "Booster",
    "CurvePoint",
    "DesignPressure",
    "Electric",
    "Energy",
    "EnergyRecovery",
    "FeedPump",
    "FlushPump",
    "HpPump",
    "IntakePump",
    "PipeRun",
    "Piping",
    "ProductPump",
]

YES_NO = {"yes": "Yes", "no": "No"}
RUNS = {key: row.title for key, row in table("pipe_runs").items()}
_NEEDED = ("feed-suction", "feed", "backwash", "concentrate")  # what a file that writes its runs must have
_CLASSES = {"least": "Smallest class that holds", **table("pipe_classes").options()}


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
        hint="If blank: typical attainable efficiency at this flow",
    )


def _class(default: str) -> Any:
    return choice(PUMP_CLASSES, default, title="Pump type of the HP pump",
                  hint="Decides the efficiency that is expected of it")


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
                 hint="Impellers in series; if blank: auto")


def _margin() -> Any:
    return field(
        "factor",
        None,
        title="Motor margin",
        symbol="m_m",
        possible=("1", "3"),
        usual=("1.05", "1.3"),
        source="api-610",
        hint="Rating over shaft power; if blank, by rating from the table",
    )


def _motor() -> Any:
    return field("power", None, title="Motor rating (fixed)", symbol="P_r", possible=("0.1 kW", "5000 kW"),
                 usual=("1 kW", "1000 kW"),
                 hint="Of one motor; if blank, the smallest of the list that carries the power with its margin")


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
        hint="If blank, the sum of lift and losses",
    )


def _count(title: str, default: str | None, low: str = "0", hint: str = "") -> Any:
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
        title="NPSH required (NPSH3)",
        symbol="NPSH_3",
        possible=("0.2 m", "60 m"),
        usual=("1 m", "20 m"),
        hint="From the curve of the pump, at its maximum flow",
    )


def _npsh_ratio() -> Any:
    return row_field(
        "guidelines",
        "npsh-margin-ratio",
        symbol="m_N",
        possible=("1", "5"),
        hint="So that the pump stays clear of cavitation",
    )


def _npsh_margin() -> Any:
    return row_field(
        "guidelines",
        "npsh-margin",
        symbol="Delta_N",
        possible=("0 m", "20 m"),
        hint="Kept beside the ratio, for small heads",
    )


class FeedPump(Section):
    """Section ``[feed_pump]``: from the raw tank through filters and cartridges to the next pump."""

    duty_count: Count = _count("Feed pumps on duty for one train", "1", "1", hint="Running side by side")
    standby_count: Count = _count("Feed pumps on standby for one train", "1", hint="Installed standby units")
    pressure_rise: DifferencePa | None = _rise("Pressure rise (fixed)")
    efficiency: Fraction | None = _efficiency()
    pump_class: str = _class(END_SUCTION.key)
    rotation: PerS | None = _rotation()
    stages: Count | None = _stages()
    motor_margin: Factor | None = _margin()
    motor: W | None = _motor()
    drive: str = _drive("no")
    drive_efficiency: Fraction = _drive_efficiency()
    elevation: M = _elevation("Pump centreline above site datum", "0.5 m",
                              hint="Height of the shaft; lower gives more NPSH")
    npsh_required: Head = _npsh_required("3 m")
    npsh_ratio: Factor = _npsh_ratio()
    npsh_margin: Head = _npsh_margin()
    carries_filter_to_waste: str = choice(
        YES_NO,
        "yes",
        title="Feed pump carries the filter-to-waste flow",
        hint="If not, production falls during filter-to-waste",
    )


class IntakePump(Section):
    """Section ``[intake_pump]``: from the sea or the wells to the raw tank, for all trains."""

    present: str = choice(YES_NO, "yes", title="Pump in this plant",
                          hint="No where raw water arrives under pressure or by gravity")
    duty_count: Count = _count("Intake pumps on duty", "1", "1", hint="Running side by side for all trains")
    standby_count: Count = _count("Intake pumps on standby", "1", hint="Installed standby units")
    efficiency: Fraction | None = _efficiency()
    pump_class: str = _class(END_SUCTION.key)
    motor_margin: Factor | None = _margin()
    motor: W | None = _motor()


class BackwashPump(Section):
    """Section ``[backwash_pump]``: backwashes one filter at a time."""

    duty_count: Count = _count("Duty backwash pumps", "1", "1", hint="Running side by side during a backwash")
    standby_count: Count = _count("Standby backwash pumps", "1", hint="Installed standby units")
    pressure_rise: DifferencePa | None = _rise("Pressure rise (fixed)")
    efficiency: Fraction | None = _efficiency()
    pump_class: str = _class(END_SUCTION.key)
    rotation: PerS | None = _rotation()
    stages: Count | None = _stages()
    motor_margin: Factor | None = _margin()
    motor: W | None = _motor()
    drive: str = _drive("no")
    drive_efficiency: Fraction = _drive_efficiency()
    elevation: M = _elevation("Pump centreline above site datum", "0.5 m",
                              hint="Height of the shaft; lower gives more NPSH")
    npsh_required: Head = _npsh_required("3 m")
    npsh_ratio: Factor = _npsh_ratio()
    npsh_margin: Head = _npsh_margin()
    outlet_elevation: M = _elevation("Backwash outlet above site level", "3.5 m",
                                     hint="Where the dirty backwash water leaves the filter")
    outlet_pressure: GaugePa = field(
        "gauge pressure",
        "0.2 bar",
        title="Pressure at the backwash outlet",
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
                         hint="From the manufacturer's curve", usual=("10 m3/h", "800 m3/h"))
    head: Head = field("head", ..., title="Head", symbol="H", possible=("1 m", "2000 m"),
                       hint="From the manufacturer's curve", usual=("50 m", "800 m"))
    efficiency: Fraction = field("fraction", ..., title="Efficiency", symbol="eta", possible=("0 %", "95 %"),
                                 hint="From the manufacturer's curve", usual=("50 %", "90 %"))


class HpPump(Section):
    """Section ``[hp_pump]``: lifts to the RO feed pressure, with the recovery device."""

    curve: tuple[CurvePoint, ...] = sections(
        CurvePoint, (), title="Curve of the pump at full speed",
        hint="Three points or more, from the manufacturer; if blank the curve is generated from the duty")
    shutoff_ratio: Factor = field(
        "factor", "1.2", title="Shut-off head over head of the duty", symbol="r_0", possible=("1.02", "2"),
        usual=("1.1", "1.35"), hint="Of the generated curve; a given curve has its own")
    minimum_flow: Fraction = field(
        "fraction", "40 %", title="Minimum continuous flow / BEP flow", symbol="x_min",
        possible=("0 %", "90 %"), usual=("25 %", "60 %"), source="api-610",
        hint="Below it the pump overheats and vibrates; a bypass must open")
    runout: Fraction = row_field(
        "guidelines", "pump-flow-ratio-high", symbol="x_max", possible=("100 %", "200 %"), usual=("105 %", "130 %"),
        hint="Beyond it the curve is not trusted")
    speed_limit: Factor = field(
        "factor", "1", title="Maximum speed over full speed", symbol="x_n", possible=("0.5", "2"),
        usual=("0.9", "1.2"), hint="With a speed drive; motor, seal and pump must be rated for it")
    specific_speed_wanted: Factor = field(
        "factor", "1000", title="Minimum specific speed of a stage, US units", symbol="N_s", possible=("300", "5000"),
        usual=("600", "2500"), source="hi-edb", hint="Decides the stages of a multistage pump when none are given")
    stages_maximum: Count = field("count", "16", title="Maximum stages in one casing", symbol="i_max",
                               possible=("1", "60"), usual=("5", "24"), hint="Longer rotors need another casing")

    def consistent(self, where: str) -> None:
        """A parabola needs three points; a shut-off point alone gives no efficiency."""
        if self.curve and (len(self.curve) < 3 or len({p.flow for p in self.curve}) < 3):
            raise DesignError("a curve needs three points of different flow",
                              where=f"{where}.curve" if where else "curve", value=len(self.curve),
                              do="enter three points or more, or clear the curve")

    duty_count: Count | None = _count("Duty HP pumps per train", None, "1",
                                      hint="Running side by side; if blank the fewest that standard motors drive")
    standby_count: Count = _count("Standby HP pumps per train", "0", hint="Installed standby units")
    efficiency: Fraction | None = _efficiency()
    pump_class: str = choice(HP_CLASSES, MULTISTAGE.key, title="Pump type of the HP pump",
                             hint="Decides the efficiency that is expected of it")
    rotation: PerS | None = _rotation()
    stages: Count | None = _stages()
    motor_margin: Factor | None = _margin()
    motor: W | None = _motor()
    drive: str = _drive("yes")
    drive_efficiency: Fraction = _drive_efficiency()
    elevation: M = _elevation("Pump centreline above site datum", "0.8 m",
                              hint="Height of the shaft; lower gives more NPSH")
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
        title="Maximum suction pressure of the casing",
        symbol="p_s_max",
        possible=("1 bar", "100 bar"),
        usual=("6 bar", "25 bar"),
        hint="Above it casing and seal are at risk",
    )
    npsh_required: Head = _npsh_required("8 m")
    npsh_ratio: Factor = _npsh_ratio()
    npsh_margin: Head = _npsh_margin()


class Booster(Section):
    """Section ``[booster]``: circulates through an isobaric ERD and the vessels."""

    standby_count: Count = _count("Boosters on standby for one train", "0", hint="Installed standby units")
    efficiency: Fraction | None = _efficiency()
    pump_class: str = _class(END_SUCTION.key)
    motor_margin: Factor | None = _margin()
    motor: W | None = _motor()
    drive: str = _drive("yes")
    drive_efficiency: Fraction = _drive_efficiency()
    piping_loss: DifferencePa = field(
        "pressure difference",
        "0.3 bar",
        title="HP loop piping losses",
        symbol="Delta_p_l",
        possible=("0 bar", "5 bar"),
        usual=("0.1 bar", "1 bar"),
        hint="The booster overcomes it beside vessels and device",
    )


def _level(title: str, default: str, hint: str = "") -> Any:
    return field("length", default, title=title, symbol="z", possible=("-30 m", "300 m"), usual=("-5 m", "40 m"),
                 hint=hint)


class _TransferPump(Section):
    """What such pumps have in common; a section changes what differs."""

    present: str = choice(YES_NO, "yes", title="Pump in this plant", hint="Whether the plant has this pump")
    duty_count: Count = _count("Duty pumps", "1", "1", hint="Running side by side")
    standby_count: Count = _count("Standby pumps", "1", hint="Installed standby units")
    tank_low_level: M = _level("Minimum level drawn from, above site level", "0.5 m",
                               hint="Level from which the pump must lift in the worst case")
    delivery_elevation: M = _level("Level delivered to, above site level", "2 m",
                                   hint="Level to which the pump must lift")
    delivery_pressure: GaugePa = field(
        "gauge pressure",
        "2 bar",
        title="Delivery pressure",
        symbol="p_w",
        possible=("0 bar", "25 bar"),
        usual=("0.5 bar", "8 bar"),
        hint="At the end of the line",
    )
    efficiency: Fraction | None = field(
        "fraction", None, title="Pump efficiency", symbol="eta_p", possible=("10 %", "95 %"), usual=("40 %", "90 %"),
        hint="If blank: typical attainable efficiency at this flow",
    )
    pump_class: str = choice(PUMP_CLASSES, END_SUCTION.key, title="Pump type of the HP pump",
                             hint="Decides the efficiency that is expected of it")
    motor_margin: Factor | None = field(
        "factor", None, title="Motor margin", symbol="m_m", possible=("1", "3"), usual=("1.05", "1.3"),
        source="api-610",
        hint="Rating of the motor over the power at the shaft",
    )
    motor: W | None = field(
        "power", None, title="Motor rating (fixed)", symbol="P_r", possible=("0.1 kW", "5000 kW"),
        usual=("1 kW", "500 kW"),
        hint="Rating of one motor; if blank, the smallest of the list that carries the power with its margin",
    )


class ProductPump(_TransferPump):
    """Section ``[product_pump]``: from the product tank to the network."""

    delivery_elevation: M = _level("Maximum level delivered to, above site level", "5 m",
                                   hint="Level to which the pump must lift")


class FlushPump(_TransferPump):
    """Section ``[flush_pump]``: permeate through the high-pressure side of a train that has stopped."""

    standby_count: Count = _count("Standby pumps", "0", hint="Installed standby units")


class PipeRun(Section):
    """One run of pipe, ``[[piping.runs]]``."""

    name: str = text_field(..., title="Name", max_length=40,
                           hint="Part of the names of its figures")  # type: ignore[arg-type]
    service: str = choice(table("velocities").options(), "low-pressure", title="Service",
                          hint="What flows in it; decides the velocity that is usual")
    material: str = choice(table("pipes").options(), "grp", title="Material",
                           hint="Roughness, strength and resistance come from its row of the table")
    length: M = field(
        "length", "20 m", title="Length", symbol="L", possible=("0 m", "20 000 m"), usual=("1 m", "2000 m"),
        hint="Straight pipe",
    )
    fitting_losses: Factor = field(
        "factor",
        "5",
        title="Sum of loss coefficients of fittings",
        symbol="Sigma_K",
        possible=("0", "500"),
        usual=("1", "60"),
        source="crane-tp410",
        hint="Bends, valves, entries and exits together",
    )
    fittings: Named = mapping(
        "count", tuple(table("fittings")), {}, title="Fittings of the run", symbol="n", possible=("0", "200"),
        usual=("0", "40"), source="crane-tp410",
        hint="Counted one by one, such as { elbow-90 = 4, gate-valve = 2 }; they go before the sum of coefficients")
    diameter: M | None = field(
        "length.small",
        None,
        title="Inner diameter (fixed)",
        symbol="D_i",
        possible=("10 mm", "3000 mm"),
        usual=("25 mm", "1200 mm"),
        hint="Inside; if blank, the smallest standard bore within the velocity",
    )
    nominal: str | None = choice(PIPE_SIZES, None, title="Nominal size and schedule, fixed",
                                 hint="Of a high-pressure pipe; if blank, the smallest size and thinnest schedule")
    stop_time: S = field(
        "time.second",
        "5 s",
        title="Flow stoppage time",
        symbol="t_c",
        possible=("0 s", "600 s"),
        usual=("1 s", "60 s"),
        hint="Run-down of the pump or closing of the valve, whichever is shorter",
    )


_RUNS = {key: {n: row[n].text for n in ("service", "material", "length", "fitting_losses", "stop_time")}
         for key, row in table("pipe_runs").items()}
_DEFAULT_RUNS = tuple({"name": key} | _RUNS[key] for key, row in table("pipe_runs").items()
                      if row["between"].value == "no")
BETWEEN_RUNS = {key: _RUNS[key] for key, row in table("pipe_runs").items() if row["between"].value != "no"}
"""What an entry of a run between stages and passes says where it differs from the table in nothing, by its name."""


class Piping(Section):
    """Section ``[piping]``: the runs of pipe; one that a file leaves out is taken from the table of runs.

    Those between stages and passes (``interstage``, ``second-feed`` ...) are written where they differ from the table.
    """

    runs: tuple[PipeRun, ...] = sections(PipeRun, _DEFAULT_RUNS, title="Runs of pipe", key="name")

    def consistent(self, where: str) -> None:
        """Every run that the pressure train needs must be there."""
        missing = [name for name in _NEEDED if name not in {run.name for run in self.runs}]
        if missing:
            raise DesignError(
                f"the run {missing[0]} is missing",
                where=f"{where}.runs" if where else "runs",
                do=f'add one with name = "{missing[0]}" ({RUNS[missing[0]].lower()})',
            )


class _DeviceData(Section):
    """What a sheet says of an energy recovery device; blank is what the table says of its kind."""

    device: str = choice(DEVICES, DEFAULT_DEVICE, title="Energy recovery",
                         hint="How the pressure of the concentrate is given back to the feed")
    efficiency: Fraction | None = field(
        "fraction",
        None,
        title="Efficiency of the transfer",
        symbol="eta_r",
        possible=("10 %", "98 %"),
        usual=("55 %", "90 %"),
        hint="Of a Pelton turbine, a pump as turbine or a turbocharger, as its table row defines it",
    )
    mixing: Fraction | None = field(
        "fraction",
        None,
        title="Mixing of the isobaric ERD",
        symbol="M_x",
        possible=("0 %", "30 %"),
        usual=("0 %", "7 %"),
        hint="Fraction of salt that passes from concentrate to feed inside the isobaric ERD",
    )
    leakage: Fraction | None = field(
        "fraction",
        None,
        title="ERD leakage, fraction of concentrate",
        symbol="x_l",
        possible=("0 %", "15 %"),
        usual=("0.5 %", "4 %"),
        hint="Concentrate lost through the bearings to the low-pressure side",
    )
    high_pressure_drop: DifferencePa | None = field(
        "pressure difference",
        None,
        title="Pressure drop, high-pressure side",
        symbol="Delta_p_h",
        possible=("0 bar", "5 bar"),
        usual=("0.3 bar", "1.2 bar"),
        hint="From the concentrate of the vessels to the feed that leaves the ERD",
    )
    low_pressure_drop: DifferencePa | None = field(
        "pressure difference",
        None,
        title="Pressure drop, low-pressure side",
        symbol="Delta_p_l",
        possible=("0 bar", "5 bar"),
        usual=("0.3 bar", "1.2 bar"),
        hint="From the feed that enters the ERD to its outlet",
    )
    back_pressure: GaugePa | None = field(
        "gauge pressure",
        None,
        title="Minimum pressure at the low-pressure outlet",
        symbol="p_b",
        possible=("0 bar", "10 bar"),
        usual=("0.5 bar", "2 bar"),
        hint="Below it the ERD cavitates",
    )
    no_load_fraction: Fraction | None = field(
        "fraction",
        None,
        title="Zero-output flow / BEP flow",
        symbol="x_0",
        possible=("0 %", "90 %"),
        usual=("0 %", "50 %"),
        hint="Of a Pelton turbine, a pump as turbine or a turbocharger: how fast it falls off",
    )
    idle_drop: Fraction | None = field(
        "fraction",
        None,
        title="Zero-flow pressure / BEP pressure",
        symbol="x_d",
        possible=("0 %", "90 %"),
        usual=("0 %", "50 %"),
        hint="What a turbine holds at no flow",
    )
    unit_flow: M3PerS | None = field(
        "flow",
        None,
        title="ERD unit capacity (concentrate flow)",
        symbol="Q_1",
        possible=("0.5 m3/h", "500 m3/h"),
        usual=("5 m3/h", "80 m3/h"),
        hint="Rating of one ERD unit; several stand side by side",
    )


class EfficiencyPoint(Section):
    """One point of a device's efficiency over flow, ``[[recovery_devices.curve]]``."""

    name: str = text_field(..., title="Name", max_length=20, hint="Part of the names of its values")  # type: ignore[arg-type]
    flow: M3PerS = field("flow", ..., title="Concentrate flow", symbol="Q", possible=("0.1 m3/h", "5000 m3/h"),
                         usual=("5 m3/h", "1000 m3/h"), hint="Of one unit, from the manufacturer's curve")
    efficiency: Fraction = field("fraction", ..., title="Efficiency", symbol="eta", possible=("0 %", "98 %"),
                                 usual=("40 %", "90 %"), hint="From the manufacturer's curve")


_RESULTS = {"stated_efficiency": ("test_pressure", "test_low_pressure"),
            "stated_salinity_rise": ("test_recovery",),
            "stated_power": ("test_flow", "test_pressure", "test_low_pressure"),
            "stated_boost": ("test_flow", "test_feed_flow", "test_pressure", "test_low_pressure")}
"""What a sheet states as the result of its test, and what it must state of the test for that."""


class DeviceSheet(_DeviceData):
    """A manufacturer's sheet of an energy recovery device, ``[[recovery_devices]]``."""

    name: str = text_field(..., title="Name", max_length=40,
                           hint="As it is chosen in energy_recovery.sheet")  # type: ignore[arg-type]
    source: str = text_field("", title="Where the sheet comes from", hint="Manufacturer's document and its number")
    date: str = text_field("", title="Date of the sheet", max_length=40, hint="Issue the values were taken from")
    curve: tuple[EfficiencyPoint, ...] = sections(
        EfficiencyPoint, (), title="Efficiency over flow",
        hint="Two points or more; between them it is a straight line, outside it stays. It goes before efficiency")
    test_flow: M3PerS | None = field("flow", None, title="Test: concentrate flow", symbol="Q_t",
                                     possible=("0.1 m3/h", "5000 m3/h"), usual=("5 m3/h", "1000 m3/h"),
                                     hint="Of one unit")
    test_feed_flow: M3PerS | None = field("flow", None, title="Test: feed flow", symbol="Q_tf",
                                          possible=("0.1 m3/h", "10 000 m3/h"), usual=("10 m3/h", "2000 m3/h"),
                                          hint="Through a turbocharger")
    test_pressure: GaugePa | None = field("gauge pressure", None, title="Test: concentrate pressure", symbol="p_t",
                                          possible=("1 barg", "120 barg"), usual=("40 barg", "70 barg"),
                                          hint="At the inlet of the device")
    test_low_pressure: GaugePa | None = field(
        "gauge pressure", None, title="Test: low pressure", symbol="p_tl", possible=("0 barg", "20 barg"),
        usual=("0 barg", "4 barg"), hint="Of the feed into an isobaric ERD; at the exhaust of a turbine")
    test_recovery: Fraction | None = field("fraction", None, title="Test: RO recovery", symbol="Y_t",
                                           possible=("5 %", "75 %"), usual=("35 %", "50 %"),
                                           hint="At which the rise of salinity is stated")
    stated_efficiency: Fraction | None = field("fraction", None, title="Efficiency stated for the test", symbol="eta_t",
                                               possible=("10 %", "100 %"), usual=("90 %", "98 %"),
                                               hint="Of an isobaric ERD: hydraulic power out over in")
    stated_salinity_rise: Fraction | None = field(
        "fraction", None, title="Rise of the RO feed salinity stated", symbol="r_t", possible=("0 %", "30 %"),
        usual=("1 %", "4 %"), hint="Of an isobaric ERD at the recovery of the test")
    stated_power: W | None = field("power", None, title="Shaft power stated for the test", symbol="P_t",
                                   possible=("0.1 kW", "10 MW"), usual=("5 kW", "2 MW"),
                                   hint="Of a turbine on the pump's shaft")
    stated_boost: DifferencePa | None = field("pressure difference", None, title="Boost stated for the test",
                                              symbol="Delta_p_t", possible=("0.1 bar", "80 bar"),
                                              usual=("5 bar", "40 bar"), hint="Of a turbocharger")

    def consistent(self, where: str) -> None:
        """A curve rises in flow; a result of a test stands with its condition, on a device that has such a result."""
        at = f"{where}." if where else ""
        if len(self.curve) == 1 or len({p.flow for p in self.curve}) < len(self.curve):
            raise DesignError("a curve needs two points or more, each of another flow", where=f"{at}curve",
                              value=len(self.curve), do="enter another point, or clear the curve")
        for result, asked in _RESULTS.items():
            if getattr(self, result) is None:
                continue
            if result not in kind_of(self.device).results:
                raise DesignError("a device of this kind has no such result", where=f"{at}{result}",
                                  value=self.device, do="clear it, or correct device")
            missing = next((key for key in asked if getattr(self, key) is None), None)
            if missing is not None:
                raise DesignError("must be given with the result it belongs to", where=f"{at}{missing}",
                                  do=f"enter the condition of the test that {result} was found at")


LISTS = {"recovery_devices": own_list(DeviceSheet, title="Sheets of energy recovery devices of this design",
                                      hint="From the manufacturer; one is used by its name")}


class EnergyRecovery(_DeviceData):
    """Section ``[energy_recovery]``: the device, and the line downstream of it."""

    sheet: str | None = choice({}, None, title="Sheet that is used", own="recovery_devices",
                               hint="Of [[recovery_devices]], by its name; what is set beside it goes before")

    units: Count | None = field(
        "count",
        None,
        title="ERD units side by side, fixed",
        symbol="n_x",
        possible=("1", "200"),
        usual=("1", "20"),
        scope="train",
        hint="Of one train; if blank, as many as the concentrate asks for at the flow of one",
    )
    concentrate_pump_motor: W | None = _motor()

    def consistent(self, where: str) -> None:
        """Only a device with chambers is flushed."""
        if self.over_flush is not None and not kind_of(self.device).mixes:
            raise DesignError("a device of this kind is not flushed",
                              where=f"{where}.over_flush" if where else "over_flush",
                              value=show(self.over_flush, "fraction"), do="clear it, or select an isobaric ERD")

    over_flush: Fraction | None = field(
        "fraction", None, title="Over-flush of the isobaric ERD", symbol="x_of", possible=("0.1 %", "50 %"),
        usual=("1 %", "15 %"),
        hint="Low-pressure feed beyond what leaves at high pressure, over the latter; it goes to waste. Mixing is not "
             "lowered by itself: state that of this over-flush")
    concentrate_pump_efficiency: Fraction = field(
        "fraction",
        "75 %",
        title="Concentrate-pump efficiency (Pelton)",
        symbol="eta_p",
        possible=("10 %", "95 %"),
        usual=("60 %", "85 %"),
        hint="Hydraulic power over electrical power",
    )
    elevation: M = field(
        "length",
        "0.8 m",
        title="Exhaust of the ERD above site level",
        symbol="z_d",
        possible=("-30 m", "60 m"),
        usual=("-5 m", "15 m"),
        hint="Where the concentrate leaves it",
    )
    outfall_elevation: M = field(
        "length",
        "1 m",
        title="Outfall above site level",
        symbol="z_o",
        possible=("-60 m", "200 m"),
        usual=("-10 m", "30 m"),
        hint="Highest point of the line, or the level it discharges to",
    )


def _relief(
    title: str, default: str, hint: str = "Needed where the maximum credible pressure passes the rating"
) -> Any:
    return choice(YES_NO, default, title=title, hint=hint)


def _pressure_class(title: str) -> Any:
    return choice(_CLASSES, "least", title=title,
                  hint="Rating of the parts; auto is the lowest class above the governing pressure")


class DesignPressure(Section):
    """Section ``[design_pressure]``: classes of sections, relief valves, margins, and the permeate at rest."""

    relief_feed: str = _relief("Relief valve, feed pump discharge", "no")
    relief_high: str = _relief(
        "Relief valve, HP pump discharge", "yes", "Set below the rating of the vessels, for the full flow"
    )
    relief_concentrate: str = _relief("Relief valve, ERD concentrate outlet", "no")
    relief_permeate: str = _relief(
        "Relief valve or disc on the permeate header", "yes", "A closed permeate valve otherwise bursts it"
    )
    relief_backwash: str = _relief("Relief valve, backwash pump discharge", "no")
    relief_cleaning: str = _relief("Relief valve, CIP pump discharge", "no")
    relief_transfer: str = _relief("Relief valve, product and flush pumps", "no")
    relief_second: str = _relief("Relief valve, pump of the second pass", "no")
    outfall_valve: str = choice(
        YES_NO,
        "no",
        title="Shut-off valve on the concentrate line",
        hint="If it can, the line must hold the pressure of the concentrate, or have a relief valve",
    )
    class_feed: str = _pressure_class("Pressure class, feed header and HP suction")
    class_filters: str = _pressure_class("Class of the filters")
    class_cartridge: str = _pressure_class("Class of the cartridge housings")
    class_high: str = _pressure_class("Class of the high-pressure pipes")
    class_concentrate: str = _pressure_class("Class of the concentrate line")
    class_permeate: str = _pressure_class("Class of the permeate header")
    class_backwash: str = _pressure_class("Class of the backwash line")
    class_cleaning: str = _pressure_class("Class of the CIP circuit")
    class_transfer: str = _pressure_class("Class of product and flush line")
    class_second: str = _pressure_class("Class of the second pass")
    trip_margin: Fraction = field(
        "fraction",
        "3 %",
        title="HP trip margin above working pressure",
        symbol="x_t",
        possible=("0 %", "30 %"),
        usual=("2 %", "10 %"),
        hint="High-pressure switch over the working pressure",
    )
    trip_minimum: DifferencePa = field(
        "pressure difference",
        "0.3 bar",
        title="Minimum margin, trip above working pressure",
        symbol="Delta_p_t",
        possible=("0 bar", "10 bar"),
        usual=("0.2 bar", "2 bar"),
        hint="At least this much, where the share is small",
    )
    order_margin: Fraction = field(
        "fraction",
        "2 %",
        title="Relief above trip, minimum",
        symbol="x_o",
        possible=("0 %", "30 %"),
        usual=("2 %", "10 %"),
        hint="Below some 10 % between working and set pressure an ordinary valve simmers: use a pilot-operated one",
    )
    relief_fraction: Fraction = field(
        "fraction",
        "97 %",
        title="Relief set pressure / rated pressure",
        symbol="x_r",
        possible=("50 %", "100 %"),
        usual=("90 %", "100 %"),
        hint="The valve opens at this fraction of the rating",
    )
    permeate_elevation: M = field(
        "length",
        "2.5 m",
        title="Permeate-line high point above site datum",
        symbol="z_p",
        possible=("-30 m", "200 m"),
        usual=("0 m", "20 m"),
        hint="A high point holds back-pressure on vessels that have stopped",
    )
    vessel_elevation: M = field(
        "length",
        "1.5 m",
        title="Vessel-rack centre above site datum",
        symbol="z_v",
        possible=("-30 m", "60 m"),
        usual=("0.5 m", "4 m"),
        hint="Level to which permeate at rest is compared",
    )
    drawback_time: S = field(
        "time.minute",
        "2 min",
        title="Time from stop to flush water at the vessels",
        symbol="t_d",
        possible=("0 min", "120 min"),
        usual=("0.5 min", "10 min"),
        hint="Until then the membranes draw permeate back",
    )
    drawback_tank: M3 | None = field(
        "volume",
        None,
        title="Permeate for draw-back and flush (fixed)",
        symbol="V_d",
        possible=("0 m3", "5000 m3"),
        usual=("0.5 m3", "500 m3"),
        hint="If blank, what the stop of all trains needs",
    )


class Energy(Section):
    """Section ``[energy]``: what no unit of the equipment list draws, duties of a year, tariff, emissions."""

    dosing_power: ElectricW = field("power.electric", "0.3 kW", title="One dosing pump with its mixer, mean",
                                    symbol="P_d", possible=("0 kW", "20 kW"), usual=("0.05 kW", "1 kW"), scope="unit",
                                    hint="Mean over a day")
    cleanings: Factor | None = field("factor", None, title="Cleanings of a train in a year", symbol="n_c",
                                    possible=("0", "60"), usual=("1", "8"),
                                    hint="Of one train; if blank, by flux and SDI15 of the RO feed (section cip)")
    batches: Count = field("count", "2", title="Batches of one cleaning that are heated", symbol="n_b",
                           possible=("0", "6"), usual=("1", "3"), hint="An alkaline and an acid one")
    cleaning_time: S = field("time", "8 h", title="Circulation of one batch", symbol="t_c", possible=("0 h", "48 h"),
                             usual=("2 h", "12 h"), hint="Pump and heater run this long")
    other_power: ElectricW = field(
        "power.electric", "5 kW", title="Auxiliary load per train, average", symbol="P_o",
        possible=("0 kW", "2000 kW"), usual=("1 kW", "100 kW"), scope="train",
        hint="An allowance for what is not listed by itself")
    stops: Count = field("count", "100", title="Stops of a train in a year", symbol="n_st", possible=("0", "2000"),
                         usual=("10", "300"), hint="Each is followed by one flush; some two a week are common")
    loss_fraction: Fraction = field("fraction", "2 %", title="Losses of transformer and cables", symbol="x_l",
                                 possible=("0 %", "20 %"), usual=("1 %", "4 %"),
                                 hint="Between the meter and the motors")
    tariff: Factor = field("factor", "0.12", title="Electricity price, for 1 kWh", symbol="c_e", possible=("0", "1000"),
                           usual=("0.03", "0.5"), hint="In the currency of energy.currency; not a forecast")
    currency: str = text_field("USD", title="Currency of prices", max_length=10, source="common-practice",
                               hint="Stands beside prices; nothing is converted")
    emission_factor: Factor = field(
        "factor", "0.45", title="Grid emission factor, kg CO2/kWh", symbol="f_c", possible=("0", "2"),
        usual=("0.02", "0.9"), hint="Ask the utility: grids lie between some 0.02 and 0.9 kg")
