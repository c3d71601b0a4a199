"""Loads of the owner's: air conditioning, workshop, lighting, distribution pumps, as the design lists them.

Each is balanced over three phases: single-phase circuits stand together as one board. They have controls of their own,
so that the plant's controller counts no signals for them; what they cost to buy is not in the estimate. Isolate, lock
out and prove dead before work; protection follows the local code and licensed practice.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from desalbook.balances import YEAR
from desalbook.electrical.load_list import Load, fraction_of_power
from desalbook.hydraulics.motors import Electric, full_load_efficiency, motor_input_power
from desalbook.hydraulics.rows import row_line
from desalbook.trail import Choice, Figure, assumed, checked, constant, relation, scope
from desalbook.trail.inputs import Inputs
from desalbook.units import Fraction, S, show

__all__ = ["OwnLoad", "own_loads", "own_running_time"]

DAY = constant("day", 86400.0, "s", source="definition", title="One day")


@dataclass(frozen=True)
class OwnLoad:
    """A load of the owner's, as a load of the supply and as a consumer of the year.

    Parameters
    ----------
    load : Load
        Its ``electric_power`` is what one absorbs while it runs, W.
    time : Figure
        Running time of one in a year, s.
    basis : str
        What decides the running time, in words.
    panel : Choice
        ``common``, or ``train`` where each train has its own.
    """

    load: Load
    time: Figure
    basis: str
    panel: Choice


@relation("Running time of an owner's load in a year", symbol="t_y", unit="s", source="definition")
def own_running_time(daily_time: S, season_fraction: Fraction) -> S:
    """Running time in a year of a load that runs so long a day, through a fraction of the year.

    Of each one that is in service; standby units take turns and add nothing.
    """
    return daily_time / DAY * season_fraction * YEAR


def own_loads(inp: Inputs, electric: Electric) -> list[OwnLoad]:
    """Loads that the design lists under ``power.consumers``, in its order.

    Parameters
    ----------
    inp : Inputs
    electric : Electric
        The list and class of motors, for those with a motor on a starter of their own.
    """
    with scope("plant"):
        return [_own_load(inp, name, electric) for name in inp.names("power.consumers")]


def _own_load(inp: Inputs, name: str, electric: Electric) -> OwnLoad:
    at, key = f"power.consumers[{name}]", f"own-{name}"
    title = str(inp.selected(f"{at}.service") or "") or name
    kind, panel, duty = (inp.choice(f"{at}.{k}") for k in ("kind", "panel", "duty"))
    rated = inp.number(f"{at}.power")
    stated = {"power_factor": inp.optional(f"{at}.power_factor"), "demand": inp.optional(f"{at}.load_factor")}
    motor = inp.optional(f"{at}.motor")
    if stated["demand"] is None:
        stated["demand"] = row_line(f"{at}.load_factor", "own_loads", str(kind), "demand", because=[kind],
                                    title=f"Load factor: {title}")
    if stated["power_factor"] is None and motor is None:
        stated["power_factor"] = row_line(f"{at}.power_factor", "own_loads", str(kind), "power_factor",
                                          because=[kind], title=f"Power factor: {title}")
    absorbed = fraction_of_power.at(f"power.own_power[{name}]", electric_power=rated,
                                    power_fraction=stated["demand"], title=f"Absorbed power: {title}")
    load = Load(key, title, absorbed, inp.number(f"{at}.count"), inp.number(f"{at}.standby_count"), str(duty),
                str(panel), rated=rated, factor=stated["power_factor"], because=(kind, panel, duty),
                on_generator=inp.choice(f"{at}.on_generator") if inp.choice("power.generator") == "yes" else None)
    if motor is not None:
        load = _with_motor(inp, name, load, motor, rated, electric)
    daily, season = inp.number(f"{at}.hours"), inp.number(f"{at}.season")
    time = own_running_time.at(f"power.own_time[{name}]", daily_time=daily, season_fraction=season,
                               title=f"Running time in a year: {title}")
    often = f"{show(daily, 'time', trim=True)} a day, {show(season, 'fraction', trim=True)} of the year"
    return OwnLoad(load, time, f"{often}, as the design says", panel)


def _with_motor(inp: Inputs, name: str, load: Load, motor: Figure, rated: Figure, electric: Electric) -> Load:
    """The load with its motor, which must be able to give the power that is stated."""
    at, drive = f"power.consumers[{name}]", inp.choice(f"power.consumers[{name}].drive")
    full = full_load_efficiency(f"power.own[{name}]", motor, electric)
    most = motor_input_power.at(f"power.own_motor_input[{name}]", shaft_power=motor, motor_efficiency=full,
                                title=f"Motor input at its rating: {load.plain_title}")
    checked(f"{at}.motor.check", most, ">=", rated, title=f"Motor input at its rating: {load.plain_title}",
            do=f"raise {at}.motor, or lower {at}.power",
            caution="An overloaded motor overheats and can start a fire. Protection and wiring follow local codes.")
    with scope(because=[drive]):
        through = None if drive != "yes" else assumed(
            f"power.own_drive[{name}]", 0.97, "fraction", title=f"Efficiency of the drive: {load.plain_title}",
            symbol="eta_v", source="common-practice")
    return replace(load, rating=motor, efficiency=full, drive=drive, drive_efficiency=through,
                   because=(*load.because, drive))
