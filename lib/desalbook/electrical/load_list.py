"""The load list: what each consumer draws, how many run in each case, and what the supply must give.

Steady loads at the duty each unit was sized for; start-up stands in `starting`. Isolate, lock out and prove dead
before work; design, protection and commissioning follow the local code and licensed practice.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from desalbook.hydraulics.rows import row_line
from desalbook.tables import table
from desalbook.trail import Choice, Column, Figure, dot, maximum, picked, relation, sqrt
from desalbook.units import VA, Ampere, Count, ElectricW, Fraction, Var, Voltage

__all__ = [
    "CASES",
    "DUTIES",
    "Load",
    "LoadList",
    "apparent_power",
    "case_power",
    "case_power_factor",
    "case_reactive_power",
    "column",
    "demand_power",
    "fraction_of_power",
    "load_apparent_power",
    "load_list",
    "reactive_power",
    "running_of",
    "three_phase_current",
    "units_of",
]

DUTIES = {"continuous": "Continuous", "intermittent": "Intermittent", "standby": "In place of others"}
CASES = {
    "normal": "All trains in service",
    "one_train": "One train in service",
    "backwash": "One filter in backwash",
    "cleaning": "One train in CIP",
    "scour": "One filter in air scour",
}
"""Operating cases of the supply, by key; air scour only where there is a blower."""
_WITH = {"backwash": ("backwash_pump",), "cleaning": ("cip_pump", "cip_heater"), "scour": ("scour_blower",)}


@dataclass(frozen=True)
class Load:
    """One kind of consumer on the supply.

    Parameters
    ----------
    key, title : str
    electric_power : Figure
        Of one that runs, at its supply terminals, W.
    running, spare : Figure or int
        In service and standing by: of one train, or of the plant where ``panel`` is ``common``.
    duty : str
        One of `DUTIES`.
    panel : {"train", "common"}
    rating, efficiency : Figure or None
        Of the motor: rated output (W), full-load efficiency; None for what has no motor.
    drive : Choice or None
        Whether a speed drive stands before the motor (``yes``).
    row : str
        Row of ``power_factors`` for what has no motor.
    drive_efficiency : Figure or None
        Of the speed drive at the load it runs at.
    rated : Figure or None
        Rated electrical input (W) where it is stated apart from what the load absorbs; cables are sized on it.
    factor : Figure or None
        Power factor that takes the place of the table's.
    on_generator : Choice or None
        Whether the standby generator carries it; None goes by the case of one train.
    because : tuple of Choice
        What decides how it is counted, beside its own figures.
    """

    key: str
    title: str
    electric_power: Figure
    running: Figure | int
    spare: Figure | int
    duty: str
    panel: str
    rating: Figure | None = None
    efficiency: Figure | None = None
    drive: Choice | None = None
    row: str = ""
    drive_efficiency: Figure | None = None
    rated: Figure | None = None
    factor: Figure | None = None
    on_generator: Choice | None = None
    because: tuple[Choice, ...] = ()

    @property
    def plain_title(self) -> str:
        """The title inside a sentence: an abbreviation keeps its capitals."""
        return self.title if self.title[1:2].isupper() else self.title[:1].lower() + self.title[1:]

    @property
    def driven(self) -> bool:
        """Whether a speed drive stands before the motor."""
        return self.drive is not None and str(self.drive) == "yes"


@dataclass(frozen=True)
class LoadList:
    """All loads, their power, and what the supply gives in each case, SI.

    Parameters
    ----------
    loads : dict of str to Load
    power, power_factor, reactive, apparent : Column
        Of one that runs, by load.
    low : Column
        1 for a load on low voltage, 0 on medium voltage.
    units : dict of str to Column
        Equipment that runs, by case and load.
    case_power, case_reactive, case_apparent : dict of str to Figure
        Of the low-voltage loads, by case.
    peak : Figure
        Largest apparent power of the cases, and of the demand.
    peak_case : str
    connected, demand : Figure
        Rated power with what stands by; power demanded by duty.
    """

    loads: dict[str, Load]
    power: Column
    power_factor: Column
    reactive: Column
    apparent: Column
    low: Column
    units: dict[str, Column]
    case_power: dict[str, Figure]
    case_reactive: dict[str, Figure]
    case_apparent: dict[str, Figure]
    peak: Figure
    peak_case: str
    connected: Figure
    demand: Figure


@relation("Fraction of an electrical power", symbol="P_e", unit="W", source="definition")
def fraction_of_power(electric_power: ElectricW, power_fraction: Fraction) -> ElectricW:
    """Electrical power times a fraction of it: what a load absorbs of its rating, what gear loses of what passes.

    A mean over the running time.
    """
    return electric_power * power_fraction


@relation("Reactive power of a load", symbol="Q", unit="V A", source="definition")
def reactive_power(electric_power: ElectricW, power_factor: Fraction) -> Var:
    """Reactive power of a load: active power times the tangent of its phase angle.

    Displacement alone; harmonic currents are judged apart.
    """
    return electric_power * sqrt(1 - power_factor**2) / power_factor


@relation("Apparent power of a load", symbol="S", unit="V A", source="definition")
def load_apparent_power(electric_power: ElectricW, power_factor: Fraction) -> VA:
    """Apparent power of a load: active power over power factor.

    Of one unit; loads of unlike power factors are added as active and reactive power.
    """
    return electric_power / power_factor


@relation("Line current", symbol="I", unit="A", source="definition")
def three_phase_current(apparent_power: VA, voltage: Voltage) -> Ampere:
    """Line current of a balanced three-phase load: apparent power over voltage between phases and root three.

    Balanced and sinusoidal.
    """
    return apparent_power / (3**0.5 * voltage)


@relation("Active power of a case", symbol="P_c", unit="W", source="definition")
def case_power(load_power: ElectricW, units_running: Count) -> ElectricW:
    """Active power of an operating case: power of each load times how many of it run.

    Steady duty, no diversity: a train of this kind is one continuous process.
    """
    return dot(load_power, units_running)


@relation("Reactive power of a case", symbol="Q_c", unit="V A", source="definition")
def case_reactive_power(load_reactive_power: Var, units_running: Count) -> Var:
    """Reactive power of an operating case: reactive power of each load times how many of it run.

    Before any correction.
    """
    return dot(load_reactive_power, units_running)


@relation("Apparent power", symbol="S", unit="V A", source="definition")
def apparent_power(electric_power: ElectricW, reactive_power: Var) -> VA:
    """Apparent power of loads together: active and reactive power at right angles.

    Sinusoidal; distortion adds to it.
    """
    return (electric_power**2 + reactive_power**2) ** 0.5


@relation("Power factor of a case", symbol="cos_phi", unit="1", source="definition")
def case_power_factor(electric_power: ElectricW, apparent_power: VA) -> Fraction:
    """Power factor of loads together: active over apparent power.

    Displacement alone.
    """
    return electric_power / apparent_power


@relation("Demand by duty", symbol="P_dem", unit="W", source="common-practice",
          note="continuous loads whole, intermittent and standby loads in part; the largest single one whole where "
               "that is more")
def demand_power(continuous_power: ElectricW, intermittent_power: ElectricW, standby_power: ElectricW,
                 intermittent_fraction: Fraction, standby_fraction: Fraction, largest_other: ElectricW) -> ElectricW:
    """Demand of a load list by duty: continuous loads, and a fraction of intermittent and standby loads.

    At least what the largest of those alone adds. A convention of load lists, not a measurement.
    """
    return continuous_power + maximum(
        intermittent_fraction * intermittent_power + standby_fraction * standby_power, largest_other)


def column(id: str, figures: Mapping[str, Figure], kind: str, title: str, symbol: str, axis: str = "load") -> Column:
    """Figures of several items as one line along an axis."""
    return picked(id, [float(v) for v in figures.values()], kind, title=title, symbol=symbol,
                  rule=f"the {axis}s in order",
                  candidates=[{"key": k, "value": float(v), "won": True} for k, v in figures.items()],
                  inputs=dict(figures), axis=axis, keys=tuple(figures))


def units_of(id: str, counts: Mapping[str, float], title: str, rule: str, inputs: Mapping[str, Any],
             symbol: str = "n_r", axis: str = "load") -> Column:
    """How many of each load count in a sum, as one line along the loads."""
    return picked(id, list(counts.values()), "count", title=title, symbol=symbol, rule=rule,
                  candidates=[{"key": k, "value": v, "won": True} for k, v in counts.items()], inputs=dict(inputs),
                  axis=axis, keys=tuple(counts))


def running_of(loads: Mapping[str, Load]) -> dict[str, Figure]:
    """Numbers in service that somebody set, by their names as inputs."""
    return {f"running_{k}": x.running for k, x in loads.items() if isinstance(x.running, Figure)}


def load_list(loads: Sequence[Load], trains: Figure, *, medium_from: Figure, intermittent: Figure,
              standby: Figure) -> LoadList:
    """Power of each load and of each case.

    Parameters
    ----------
    loads : sequence of Load
    trains : Figure
    medium_from : Figure
        Rated output from which a motor stands on medium voltage, W.
    intermittent, standby : Figure
        What the demand counts of such loads.
    """
    by = {of.key: of for of in loads}
    power = column("power.load", {k: x.electric_power for k, x in by.items()}, "power.electric",
                   "Electric power of one, by load", "P")
    factor = column("power.load_factor", {k: _factor(x) for k, x in by.items()}, "fraction",
                    "Power factor by load", "cos_phi")
    reactive = reactive_power.at("power.load_reactive", electric_power=power, power_factor=factor)
    apparent = load_apparent_power.at("power.load_apparent", electric_power=power, power_factor=factor)
    low = _low(by, medium_from)
    n = float(trains)
    units, active, idle, total = {}, {}, {}, {}
    for case, title in CASES.items():
        if case == "scour" and "scour_blower" not in by:
            continue
        counts = {k: _running(x, case, n) * low[k].value for k, x in by.items()}
        units[case] = units_of(f"power.units[{case}]", counts, f"In service: {title.lower()}",
                               "what runs in this case on low voltage",
                               {"trains": trains, "low": low, **running_of(by)})
        active[case] = case_power.at(f"power.case[{case}]", load_power=power, units_running=units[case],
                                     title=f"Active power: {title.lower()}")
        idle[case] = case_reactive_power.at(f"power.case_reactive[{case}]", load_reactive_power=reactive,
                                            units_running=units[case], title=f"Reactive power: {title.lower()}")
        total[case] = apparent_power.at(f"power.case_apparent[{case}]", electric_power=active[case],
                                        reactive_power=idle[case], title=f"Apparent power: {title.lower()}")
    worst = sorted(total, key=lambda c: float(total[c]))[-1]
    peak = picked("power.peak", float(total[worst]), "apparent power", title="Apparent power of the largest case",
                  symbol="S_max", rule="largest over the cases",
                  candidates=[{"key": c, "value": float(v), "won": c == worst} for c, v in total.items()],
                  inputs=dict(total), why=CASES[worst].lower())
    return LoadList(by, power, factor, reactive, apparent, low, units, active, idle, total, peak, worst,
                    _connected(by, n, trains), _demand(by, n, trains, power, intermittent, standby))


def _factor(of: Load) -> Figure:
    """Power factor of a load, a row of the table: by its drive, its motor's rating, or what it is."""
    if of.factor is not None:
        return of.factor
    row = of.row or ("drive" if of.driven else next(
        r.key for r in table("power_factors").ascending("up_to")
        if of.rating is not None and float(of.rating) <= r.cells["up_to"].value * (1 + 1e-9)))
    return row_line(f"power.factor[{of.key}]", "power_factors", row, "factor",
                    because=[x for x in (of.drive, of.rating) if x is not None],
                    title=f"Power factor: {of.plain_title}")


def _rated(of: Load) -> Figure:
    """Rated power of one: as stated, the motor's, else what it draws."""
    return next(x for x in (of.rated, of.rating, of.electric_power) if x is not None)


def _low(by: Mapping[str, Load], medium_from: Figure) -> Column:
    ratings = {k: x.rating for k, x in by.items() if x.rating is not None}
    on = [0.0 if k in ratings and float(ratings[k]) >= float(medium_from) * (1 - 1e-9) else 1.0 for k in by]
    return units_of("power.low_voltage", dict(zip(by, on, strict=True)), "On low voltage (1) or medium voltage (0)",
                    "medium voltage from the rated output the design says", {"medium_from": medium_from, **ratings},
                    "b_L")


def _running(of: Load, case: str, trains: float) -> float:
    """How many of a load run in a case; what stands by does not."""
    if of.duty != "continuous":
        return float(of.running) if of.key in _WITH.get(case, ()) else 0.0
    if of.panel == "common":
        return float(of.running)
    serving = {"one_train": 1.0, "cleaning": trains - 1.0}.get(case, trains)
    return float(of.running) * serving


def _installed(of: Load, trains: float, running: bool = False) -> float:
    each = float(of.running) + (0.0 if running else float(of.spare))
    return each * (1.0 if of.panel == "common" else trains)


def _counts(id: str, by: Mapping[str, Load], counts: Mapping[str, float], title: str, trains: Figure) -> Column:
    inputs = {"trains": trains} | {f"{n}_{k}": f for k, x in by.items()
                                   for n, f in (("running", x.running), ("spare", x.spare)) if isinstance(f, Figure)}
    return units_of(id, counts, title, "counted over the trains", inputs, "n")


def _connected(by: Mapping[str, Load], n: float, trains: Figure) -> Figure:
    rated = column("power.rated", {k: _rated(x) for k, x in by.items()},
                   "power", "Rated power of one, by load", "P_r")
    units = _counts("power.installed", by, {k: _installed(x, n) for k, x in by.items()}, "Installed, by load", trains)
    return case_power.at("power.connected", load_power=rated, units_running=units,
                         title="Connected power, what stands by included")


def _demand(by: Mapping[str, Load], n: float, trains: Figure, power: Column, intermittent: Figure,
            standby: Figure) -> Figure:
    sums = {}
    for duty, title in DUTIES.items():
        units = _counts(f"power.duty_units[{duty}]", by,
                        {k: _installed(x, n, running=True) if x.duty == duty else 0.0 for k, x in by.items()},
                        f"Loads counted: {title.lower()}", trains)
        sums[duty] = case_power.at(f"power.duty[{duty}]", load_power=power, units_running=units,
                                   title=f"Power of loads: {title.lower()}")
    other = {k: x.electric_power for k, x in by.items() if x.duty != "continuous"}
    top = sorted(other, key=lambda k: float(other[k]))[-1] if other else None
    largest = picked("power.largest_other", float(other[top]) if top else 0.0, "power.electric",
                     title="Largest load that is not continuous", symbol="P_1", rule="largest of the others",
                     candidates=[{"key": k, "value": float(v), "won": k == top} for k, v in other.items()],
                     inputs=dict(other))
    return demand_power.at("power.demand", continuous_power=sums["continuous"],
                           intermittent_power=sums["intermittent"], standby_power=sums["standby"],
                           intermittent_fraction=intermittent, standby_fraction=standby, largest_other=largest)
