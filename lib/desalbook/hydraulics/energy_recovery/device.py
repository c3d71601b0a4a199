"""Energy recovery devices as objects: what a kind of device must say of itself, and the registry of kinds.

A kind is one object, registered under the key of its row in ``data/energy_recovery.toml`` and of the design file.
It says which columns of the table it needs, how it is sized over the envelope, how it runs in one case, where its
power goes, what it draws and what it costs. Nothing else in the kit compares the key of a device: it asks the kind.
"""

from __future__ import annotations

import contextlib
from abc import ABC, abstractmethod
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum

from desalbook.hydraulics.energy_recovery.balance import (
    Balance,
    exhaust_pressure_held,
    exhaust_pressure_of_line,
    pressure_rise,
)
from desalbook.hydraulics.rows import row_line
from desalbook.problems import DesignError, TrailError
from desalbook.tables import table
from desalbook.trail import Choice, Figure, checked, note, relation, scope
from desalbook.trail.inputs import Inputs
from desalbook.units import Fraction, show

__all__ = ["DEVICES", "BestPoint", "Device", "DeviceKind", "DischargeLine", "Duty", "Exhaust", "Recovery",
           "TurbinePoint", "WaterLineRole", "check_test", "complete", "device", "exhaust", "judge_exhaust",
           "kind_of", "kinds", "pump_duty", "recover", "register", "registered", "run",
           "shaft_power_with_recovery", "with_balance"]

ID = "energy_recovery"
LIST = "recovery_devices"
TABLE, COSTS = "energy_recovery", "machine_costs"


@relation("Test of the sheet run back: deviation", symbol="d_t", unit="1", source="definition")
def result_deviation(found_result: Fraction, stated_result: Fraction) -> Fraction:
    """Relative deviation of the result of a sheet's test, run back with the sheet's own values.

    Of the stated result; without regard to its sign.
    """
    return ((found_result / stated_result - 1) ** 2) ** 0.5


class WaterLineRole(StrEnum):
    """Where a device stands in the picture of the water line."""

    VALVE = "valve"
    """Nothing is given back: a control valve on the concentrate."""
    SHAFT = "shaft"
    """On the shaft of the high-pressure pump."""
    IN_FEED = "in-feed"
    """Between the high-pressure pump and the vessels, on the whole feed."""
    BRANCH = "branch"
    """Beside the high-pressure pump, on a branch of the feed with a booster."""


@dataclass(frozen=True)
class Device:
    """The selected device and its data; what its kind does not need is None.

    Parameters
    ----------
    choice : Choice
        Key of the kind.
    efficiency, mixing, leakage : Figure or None
        Fractions; a turbine whose efficiency nobody wrote takes it from its size.
    efficiency_low, efficiency_high, flow_low, flow_high : Figure or None
        Of a turbine: efficiency of a small and of a large one, and their flows (m3/s).
    high_pressure_drop, low_pressure_drop : Figure or None
        Pa
    back_pressure : Figure or None
        Minimum gauge pressure at the low-pressure outlet, Pa.
    no_load_fraction, idle_drop : Figure or None
        Of a turbine: flow that gives nothing, and pressure held without flow, over those of the best-efficiency point.
    unit_flow : Figure or None
        Concentrate of one unit, m3/s.
    curve : tuple of (name, flow, efficiency)
        Of a turbine: points of its sheet in rising flow, m3/s; empty where it states none.
    over_flush : Figure or None
        Of an isobaric device: low-pressure feed beyond what leaves at high pressure, over the latter.
    sheet : str
        Name of the manufacturer's sheet; empty where none is used.
    held_units : Figure or None
        Units side by side, where the design says how many.
    """

    choice: Choice
    efficiency: Figure | None = None
    mixing: Figure | None = None
    leakage: Figure | None = None
    high_pressure_drop: Figure | None = None
    low_pressure_drop: Figure | None = None
    back_pressure: Figure | None = None
    no_load_fraction: Figure | None = None
    idle_drop: Figure | None = None
    unit_flow: Figure | None = None
    efficiency_low: Figure | None = None
    efficiency_high: Figure | None = None
    flow_low: Figure | None = None
    flow_high: Figure | None = None
    curve: tuple[tuple[str, Figure, Figure], ...] = ()
    sheet: str = ""
    over_flush: Figure | None = None
    held_units: Figure | None = None

    @property
    def kind(self) -> DeviceKind:
        """What kind of device it is."""
        return kind_of(self.choice)

    def need(self, name: str) -> Figure:
        """A value that the kind of this device lists among its columns."""
        found = getattr(self, name)
        if found is None:
            raise TrailError(f"the kind of device does not list the column {name}", where=f"{ID}.{self.choice}")
        return found


@dataclass(frozen=True)
class DischargeLine:
    """The line downstream of the device: rise to the outfall and losses (m), density of the reject (kg/m3)."""

    static_head: Figure
    friction_head: Figure
    density: Figure


@dataclass(frozen=True)
class Exhaust:
    """Gauge pressure at the exhaust, and what the line asks of a concentrate pump where the exhaust is free, Pa.

    `line` is what the exhaust discharges into.
    """

    pressure: Figure
    line: DischargeLine
    line_pressure: Figure | None = None


@dataclass(frozen=True)
class Duty:
    """What the membranes of one train ask for in one case; over many cases each is an array.

    Parameters
    ----------
    feed_flow, permeate_flow, reject_flow : Figure
        RO feed, permeate, concentrate of one train, m3/s.
    feed_pressure, concentrate_pressure : Figure
        Gauge, at the feed and concentrate header, Pa.
    suction_pressure : Figure
        Gauge, at the high-pressure pump, Pa.
    exhaust_pressure : Figure
        From `exhaust`.
    piping_loss : Figure or None
        Of the high-pressure loop of a device with a booster, Pa.
    """

    feed_flow: Figure
    permeate_flow: Figure
    reject_flow: Figure
    feed_pressure: Figure
    concentrate_pressure: Figure
    suction_pressure: Figure
    exhaust_pressure: Figure
    piping_loss: Figure | None = None


@dataclass(frozen=True)
class BestPoint:
    """Best-efficiency point of the device: flow (m3/s) and pressure drop (Pa) at full speed; what it lacks is None.

    Of several units `one_out` is the fraction of the concentrate that those left take with one out of service.
    """

    flow: Figure
    drop: Figure | None = None
    units: Figure | None = None
    one_out: Figure | None = None
    efficiency: Figure | None = None


@dataclass(frozen=True)
class TurbinePoint:
    """Operating point of a hydraulic turbine: flow (m3/s), efficiency, gauge pressure before it, pressures in Pa."""

    flow: Figure
    available: Figure
    efficiency: Figure
    inlet_pressure: Figure
    bypass: Figure | None = None
    valve_drop: Figure | None = None


@dataclass(frozen=True)
class Recovery:
    """What a device leaves for the pumps in one case; what a device does not have is None.

    Parameters
    ----------
    hp_flow : Figure
        Of the high-pressure pumps of the train, m3/s.
    hp_discharge, exhaust_pressure : Figure
        Gauge, Pa.
    hp_rise : Figure
        Pa
    boost : Figure or None
        Pressure that the device adds to the whole feed downstream of the pump, Pa.
    recovered : Figure or None
        Shaft power given back, W.
    booster_flow, booster_pressure_rise, leakage : Figure or None
        m3/s, Pa, m3/s.
    spent_flow, low_feed : Figure or None
        Flows of a pressure exchanger at low pressure, out and in, over-flush with them, m3/s.
    feed_out, reject_out : Figure or None
        Gauge pressures of feed and concentrate leaving an isobaric ERD, Pa.
    high_drop, low_drop : Figure or None
        Pressure drops of both sides of an isobaric ERD at this flow, Pa.
    balance : Balance or None
        Hydraulic power in, out and lost.
    passing : TurbinePoint or None
        Operating point of a turbine, and what valve and bypass take.
    """

    hp_flow: Figure
    hp_discharge: Figure
    hp_rise: Figure
    exhaust_pressure: Figure
    boost: Figure | None = None
    recovered: Figure | None = None
    booster_flow: Figure | None = None
    booster_pressure_rise: Figure | None = None
    leakage: Figure | None = None
    spent_flow: Figure | None = None
    low_feed: Figure | None = None
    feed_out: Figure | None = None
    reject_out: Figure | None = None
    high_drop: Figure | None = None
    low_drop: Figure | None = None
    balance: Balance | None = None
    passing: TurbinePoint | None = None


class DeviceKind(ABC):
    """A kind of energy recovery device.

    Attributes
    ----------
    key, label : str
        In design files and tables; in lists of choice.
    columns : tuple of str
        Columns of the table of devices that it needs, which are also keys of the design.
    by_size : tuple of str
        Keys of the design that its own size decides where they are blank.
    of_size : tuple of str
        Columns of the table that say how, which are no keys of the design.
    cost_key : str
        Row of the table of equipment costs.
    water_line, stop_title : WaterLineRole, str
        How the water line draws it, and its name there.
    mixes : bool
        Salt passes from concentrate to feed.
    needs_booster : bool
        A booster pump makes up the losses of the high-pressure loop.
    on_shaft : bool
        Its power goes to the shaft of the high-pressure pump.
    boosts_feed : bool
        It adds pressure to the whole feed downstream of the high-pressure pump.
    free_exhaust : bool
        The concentrate leaves it in air; where it must rise, a pump lifts it.
    parallel_units : bool
        Units of one rating stand side by side.
    recovers : bool
        Whether a unit is there at all; a control valve is none.
    results : tuple of str
        Keys of a sheet with what a test of such a device gives.
    """

    key: str
    label: str
    columns: tuple[str, ...]
    by_size: tuple[str, ...] = ()
    of_size: tuple[str, ...] = ()
    cost_key: str
    water_line: WaterLineRole
    stop_title: str
    mixes: bool = False
    needs_booster: bool = False
    on_shaft: bool = False
    boosts_feed: bool = False
    free_exhaust: bool = False
    parallel_units: bool = False
    recovers: bool = True
    results: tuple[str, ...] = ()

    @abstractmethod
    def size(self, of: Device, rejects: Mapping[str, tuple[Figure, Figure, Figure]]) -> BestPoint | None:
        """Best-efficiency point of one unit for the whole envelope; None where there is none.

        Parameters
        ----------
        rejects : mapping of case to (concentrate flow, concentrate pressure, exhaust pressure)
            m3/s, gauge Pa.
        """

    @abstractmethod
    def run(self, of: Device, duty: Duty, best: BestPoint | None) -> Recovery:
        """What is left for the pumps in one case; without a best-efficiency point the device is taken at its best."""

    @abstractmethod
    def power_balance(self, of: Device, duty: Duty, recovery: Recovery) -> Balance:
        """Hydraulic power in, out and each loss in one case."""

    @abstractmethod
    def equipment(self, units: int) -> str:
        """What a train buys beside its pumps, in words."""

    def exhaust(self, of: Device, line: DischargeLine) -> Exhaust:
        """Pressure at the exhaust: what the line to the outfall asks for, or the minimum the device needs."""
        if of.back_pressure is not None:
            return Exhaust(exhaust_pressure_held.at(
                f"{ID}.exhaust_pressure", static_head=line.static_head, friction_head=line.friction_head,
                density=line.density, back_pressure=of.back_pressure), line)
        return Exhaust(exhaust_pressure_of_line.at(
            f"{ID}.exhaust_pressure", static_head=line.static_head, friction_head=line.friction_head,
            density=line.density), line)

    def spent_flow(self, of: Device, reject_flow: Figure, id: str) -> Figure:
        """Flow that leaves the device at low pressure: the concentrate, and what flushes the device besides."""
        return reject_flow

    def judge_exhaust(self, exhaust: Exhaust) -> None:
        """Findings on the exhaust of one case: a line that falls away is vented."""
        line = exhaust.line
        fall = -(line.static_head.value + line.friction_head.value)
        if fall > 0.0:
            note(f"{ID}.concentrate_vent", title="Vent of the falling concentrate line", verdict="review",
                 why=f"the line to the outfall falls {show(fall, 'head', digits=3)} more than its friction takes: "
                     "full, it would pull below the atmosphere; the calculation takes it as vented, with no siphon",
                 do="fit a vacuum breaker or an open vent where the line begins to fall "
                    "(energy_recovery.outfall_elevation)",
                 inputs={"static_head": line.static_head, "friction_head": line.friction_head,
                         "exhaust": exhaust.pressure})

    def shaft_power(self, of: Device, duty: Duty, recovery: Recovery, best: BestPoint | None,
                    speed_ratio: Figure | None) -> Recovery:
        """With the shaft power given back, once the speed of the shaft is known; None takes full speed."""
        return recovery

    def run_test(self, of: Device, inp: Inputs, at: str) -> None:  # noqa: B027  a valve has none
        """Run the test of a sheet back and check what it states; ``at`` is the id of the sheet."""

    def judge(self, of: Device, duty: Duty, recovery: Recovery) -> None:  # noqa: B027  most kinds have none
        """Checks of one case."""


_KINDS: dict[str, DeviceKind] = {}


class _Labels(Mapping[str, str]):
    """Keys and labels of the kinds that are registered, as `units.choice` wants them; follows the registry."""

    def __getitem__(self, key: str) -> str:
        return _KINDS[key].label

    def __iter__(self) -> Iterator[str]:
        return iter(_KINDS)

    def __len__(self) -> int:
        return len(_KINDS)


DEVICES: Mapping[str, str] = _Labels()
"""Kinds of device by key, with their labels."""

_SAYS = ("key", "label", "columns", "cost_key", "water_line", "stop_title")
_COLUMNS = {"mixes": "mixing", "parallel_units": "unit_flow", "needs_booster": "high_pressure_drop"}


def register(kind: DeviceKind) -> DeviceKind:
    """Enter a kind of device.

    Raises
    ------
    TrailError
        The key is taken, or something is missing: an attribute, a table row, a column, a cost; named.
    """
    where = f"{ID} device {type(kind).__name__}"
    missing = [name for name in _SAYS if not hasattr(kind, name)]
    if missing:
        raise TrailError(f"a kind of device must say its {missing[0]}", where=where)
    where = f"{ID} device {kind.key}"
    if kind.key in _KINDS:
        raise TrailError("this kind of device is registered already", where=where)
    if kind.key not in table(TABLE):
        raise TrailError(f"no row of the table {TABLE}", where=where, do=f"add the row {kind.key}")
    if kind.cost_key not in table(COSTS):
        raise TrailError(f"no row of the table {COSTS}", where=where, do=f"add the row {kind.cost_key}")
    row = table(TABLE)[kind.key]
    for name in (*kind.columns, *kind.of_size):
        if name not in Device.__dataclass_fields__ or name == "choice":
            raise TrailError(f"a device has no value {name}", where=where)
        if name not in row:
            raise TrailError(f"the row states no {name}", where=where)
    for flag, name in _COLUMNS.items():
        if getattr(kind, flag) and name not in kind.columns:
            raise TrailError(f"it says {flag} and does not list the column {name}", where=where)
    _KINDS[kind.key] = kind
    return kind


@contextlib.contextmanager
def registered(kind: DeviceKind) -> Iterator[DeviceKind]:
    """Inside, one more kind of device; its table rows must be there."""
    register(kind)
    try:
        yield kind
    finally:
        del _KINDS[kind.key]


def complete() -> None:
    """Refuse a table row of a device that no kind is registered for."""
    left = [key for key in table(TABLE) if key not in _KINDS]
    if left:
        raise TrailError(f"no kind of device is registered for the row {left[0]}", where=TABLE)


def kind_of(key: str) -> DeviceKind:
    """The kind of a key."""
    found = _KINDS.get(str(key))
    if found is None:
        raise TrailError("no such kind of energy recovery device", where=str(key), do=f"known: {', '.join(_KINDS)}")
    return found


def kinds() -> tuple[DeviceKind, ...]:
    """All kinds, in the order of the lists of choice."""
    return tuple(_KINDS.values())


def device(inp: Inputs) -> Device:
    """The device of the design: what is written beside it, else what its sheet says, else the table of devices."""
    choice = inp(f"{ID}.device")
    kind = kind_of(choice)
    sheet: Choice | None = inp(f"{ID}.sheet")
    if sheet is not None and inp(f"{LIST}[{sheet}].device") != choice:
        raise DesignError("this sheet is of another kind of device", where=f"{ID}.sheet", value=str(sheet),
                          allowed=f"a sheet with device = {choice}",
                          do=f"select a sheet of this kind, or set {ID}.device to {inp(f'{LIST}[{sheet}].device')}")
    found = {name: inp(f"{ID}.{name}") for name in (*kind.columns, *kind.by_size)}
    beside = found.get("efficiency")
    points: tuple[tuple[str, Figure, Figure], ...] = ()
    if sheet is not None:
        for name, written in found.items():
            if written is None:
                found[name] = inp(f"{LIST}[{sheet}].{name}")
        if "efficiency" in kind.by_size and beside is None:
            at = f"{LIST}[{sheet}].curve"
            points = tuple(sorted(((n, inp.number(f"{at}[{n}].flow"), inp.number(f"{at}[{n}].efficiency"))
                                   for n in inp.names(at)), key=lambda p: float(p[1])))
    for name in (*kind.columns, *kind.of_size):
        stated = found.get("efficiency") is not None or bool(points)
        if found.get(name) is None and not (name in kind.of_size and stated):
            found[name] = row_line(f"{ID}.{name}", TABLE, choice, name, because=[choice])
    of = Device(choice, **found, curve=points, sheet="" if sheet is None else str(sheet),
                held_units=inp(f"{ID}.units") if kind.parallel_units else None,
                over_flush=inp.optional(f"{ID}.over_flush") if kind.mixes else None)
    if sheet is not None:
        with scope(because=[choice, sheet]):
            _of_sheet(of, inp, f"{LIST}[{sheet}]")
    return of


def _of_sheet(of: Device, inp: Inputs, at: str) -> None:
    """Where the sheet comes from and what its efficiency means; its test run back."""
    origin = [x for x in (inp.selected(f"{at}.source"), inp.selected(f"{at}.date")) if x is not None]
    means = str(table(TABLE)[str(of.choice)]["efficiency_means"].value)
    tested = [key for key in of.kind.results if inp(f"{at}.{key}") is not None]
    note(f"{ID}.sheet_origin", title="Sheet of the energy recovery device",
         verdict="passes" if origin and tested else "review",
         why=f"sheet {of.sheet}" + (f", {', '.join(map(str, origin))}" if origin else ", its source is blank")
         + ("" if tested else ", without a test that can be run back") + f"; efficiency means: {means}",
         do=f"state {at}.source and the result of its test with its condition",
         inputs={"sheet": inp(f"{ID}.sheet")} | {f"said_{n}": x for n, x in enumerate(origin)}
         | {key: inp(f"{at}.{key}") for key in tested})
    of.kind.run_test(of, inp, at)


def check_test(name: str, title: str, found: Figure, stated: Figure, near: Figure) -> None:
    """Check a result of a sheet's test run back: found within a tolerance of what is stated."""
    away = result_deviation.at(f"{ID}.{name}_deviation", found_result=found, stated_result=stated)
    checked(f"{ID}.{name}.check", away, "<=", near, title=title, source="common-practice",
            do="check the values of the sheet against the condition of its test")


def exhaust(of: Device, line: DischargeLine) -> Exhaust:
    """Gauge pressure at the exhaust, ``energy_recovery.exhaust_pressure``; inside the scope of a case."""
    with scope(because=[of.choice]):
        return of.kind.exhaust(of, line)


def judge_exhaust(of: Device, exhaust: Exhaust) -> None:
    """Findings on the exhaust of one case."""
    with scope(because=[of.choice]):
        of.kind.judge_exhaust(exhaust)


def run(of: Device, duty: Duty, best: BestPoint | None) -> Recovery:
    """Flow, discharge and rise of the high-pressure pump with this device, and what the device does.

    Shaft power follows with `DeviceKind.shaft_power`, once the speed of the pump is known.
    """
    with scope(because=[of.choice]):
        return of.kind.run(of, duty, best)


def shaft_power_with_recovery(of: Device, duty: Duty, recovery: Recovery, best: BestPoint | None,
                              speed_ratio: Figure | None) -> Recovery:
    """With the shaft power that a turbine on the pump's shaft gives back at the speed of that shaft."""
    with scope(because=[of.choice]):
        return of.kind.shaft_power(of, duty, recovery, best, speed_ratio)


def with_balance(of: Device, duty: Duty, recovery: Recovery) -> Recovery:
    """With its balance of hydraulic power, and the checks of the device made."""
    with scope(because=[of.choice]):
        of.kind.judge(of, duty, recovery)
        return replace(recovery, balance=of.kind.power_balance(of, duty, recovery))


def recover(of: Device, duty: Duty, best: BestPoint | None = None, speed_ratio: Figure | None = None) -> Recovery:
    """All that a device does in one case: what it leaves for the pumps, its shaft power, its balance, its checks.

    Parameters
    ----------
    best : BestPoint, optional
        Without one the device is taken at its best-efficiency point.
    speed_ratio : Figure, optional
        Of the shaft, of full speed.
    """
    found = run(of, duty, best)
    return with_balance(of, duty, shaft_power_with_recovery(of, duty, found, best, speed_ratio))


def pump_duty(duty: Duty, discharge: Figure) -> Figure:
    """Pressure rise that is left for the high-pressure pump, ``hp_pump.pressure_rise``."""
    return pressure_rise.at("hp_pump.pressure_rise", discharge_pressure=discharge,
                            suction_pressure=duty.suction_pressure)
