"""Cable and protective device of one circuit, at any voltage: fewest cables, smallest section, least device.

Ampacity by table with temperature and grouping, voltage drop, a fault that a feeder bears. Design, protection, earthing
and commissioning are licensed work under the local code.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from desalbook.electrical import cables as cb
from desalbook.electrical import starting as st
from desalbook.electrical.rules import WiringRules
from desalbook.hydraulics.rows import least_row, row_line
from desalbook.problems import DesignError, Infeasible
from desalbook.tables import Row, table
from desalbook.trail import Choice, Figure, assumed, checked, picked, scope, values
from desalbook.trail import current as book
from desalbook.trail.inputs import Inputs
from desalbook.trail.limits import limit
from desalbook.trail.words import low_first
from desalbook.units import show

__all__ = ["PARALLEL", "CableWay", "Circuit", "SupplyLimits", "grouping_factor", "pick_cable", "pick_device",
           "set_factor", "standard_row", "supply_limits"]

PARALLEL = range(1, 9)
"""Cables side by side, and transformers, that are tried."""


@dataclass(frozen=True)
class Circuit:
    """Cable and device of one circuit, SI.

    Parameters
    ----------
    key, title : str
    current : Figure
        What the cable is sized for, A.
    area : Figure
        Section of one conductor, m2.
    parallel : Figure
        Cables side by side.
    drop : Figure
        Voltage drop over voltage, at that current.
    device : Figure
        Rating of the protective device, A.
    protective : Figure
        Section of the protective conductor, m2.
    starter : str
        Row of ``starters``; empty for what has no motor.
    start, start_dip : Figure or None
        Line current at start, A; voltage dip at the terminals then.
    """

    key: str
    title: str
    current: Figure
    area: Figure
    parallel: Figure
    drop: Figure
    device: Figure
    protective: Figure
    starter: str = ""
    start: Figure | None = None
    start_dip: Figure | None = None


class SupplyLimits(NamedTuple):
    """Limits the supply is judged by, as fractions of the voltage."""

    busbar_dip: Figure
    motor_dip: Figure
    motor_drop: Figure
    feeder_drop: Figure
    distortion: Figure


def supply_limits() -> SupplyLimits:
    """Limits of voltage dip, drop and distortion."""
    return SupplyLimits(*(limit(k) for k in ("voltage-dip-busbar", "voltage-dip-motor", "voltage-drop-motor",
                                             "voltage-drop-feeder", "voltage-distortion")))


class CableWay(NamedTuple):
    """What every cable of the plant has in common."""

    rules: WiringRules
    column: str
    conductor: Figure
    ambient: Figure
    grouping: Figure
    reactance: Figure
    withstand: Figure
    voltage: Figure
    because: tuple[Choice, ...]
    limits: SupplyLimits
    held: Callable[[str], Figure | None]
    """What the design fixes of a key; None where it is blank."""


def pick_cable(of: CableWay, key: str, title: str, current: Figure, factor: Figure, power_factor: Figure,
               length: Figure, drop_limit: Figure, least_area: Figure | None = None) -> tuple[Figure, Figure, Figure]:
    """Fewest cables side by side, then the least section, that carries the current and holds the voltage.

    Returns
    -------
    area, parallel, drop : Figure
        Section of each cable, cables side by side, voltage drop over voltage.
    """
    rows = table(of.rules.cables).ascending("area")

    def asked(n: Figure | float) -> Figure:
        return cb.cable_current_needed.at(
            f"power.cable_needed[{key}]", load_current=current, conductor_factor=factor, ambient_factor=of.ambient,
            grouping_factor=of.grouping, cables_in_parallel=n, title=f"Required table current: {title}")

    def dropped(r20: Figure | float, n: Figure | float) -> Figure:
        warm = cb.conductor_resistance.at(f"power.cable_resistance[{key}]", resistance_20=r20,
                                          conductor_temperature=of.conductor)
        drop = cb.voltage_drop.at(f"power.cable_drop[{key}]", load_current=current, cable_length=length,
                                  conductor_resistance=warm, conductor_reactance=of.reactance,
                                  power_factor=power_factor, cables_in_parallel=n,
                                  title=f"Voltage drop: {title}")
        return cb.drop_fraction.at(f"power.drop[{key}]", voltage_drop=drop, voltage=of.voltage,
                                   title=f"Voltage drop over voltage: {title}")

    judged: list[dict[str, object]] = []
    won: Row | None = None
    held_n, held_area = of.held(f"power.cables[{key}]"), of.held(f"power.cable[{key}]")
    held = held_n is not None or held_area is not None
    if held_area is not None:
        rows = [standard_row(rows, "area", held_area)]
    for n in PARALLEL if held_n is None else (round(float(held_n)),):
        judged = []
        with values(keep=False):
            needed = float(asked(float(n)))
            for row in rows:
                lost = float(dropped(row["resistance"].value, float(n)))
                fits = won is None and row[of.column].value >= needed * (1 - 1e-9) and (
                    lost <= float(drop_limit) * (1 + 1e-9)) and (
                    least_area is None or row["area"].value * n >= float(least_area) * (1 - 1e-9))
                judged.append({"key": row.key, "value": row["area"].value, "carries": row[of.column].value,
                               "needed": needed, "drop": lost, "won": fits})
                won = row if fits else won
        if won is not None:
            break
    if won is None and held:
        won = rows[-1]  # checks say what it lacks
    if won is None:
        raise Infeasible(f"{title}: no cable is large enough", where=f"power.cable[{key}]",
                         value=show(float(current), "current"), allowed=f"{len(PARALLEL)} of {rows[-1].title}",
                         do="raise power.voltage, shorten the way (power.motor_cable, power.feeder_cable), or lower "
                            "power.medium_voltage_from")
    inputs = {"current": current, "factor": factor, "ambient": of.ambient, "grouping": of.grouping, "length": length,
              "conductor": of.conductor, "reactance": of.reactance, "power_factor": power_factor,
              "voltage": of.voltage, "drop_limit": drop_limit} | ({} if least_area is None else {"area": least_area})
    parallel = held_n if held_n is not None else picked(
        f"power.cables[{key}]", float(n), "count", title=f"Cables side by side: {title}", symbol="n_k",
        rule="fewest of which a standard section serves",
        candidates=[{"key": str(i), "value": float(i), "won": i == n} for i in range(1, n + 1)], inputs=inputs)
    with scope(because=of.because):
        area = held_area if held_area is not None else picked(
            f"power.cable[{key}]", won["area"].value, "conductor area", title=f"Cable section: {title}", symbol="S_c",
            rule="smallest section that carries the current, holds the voltage and, on a feeder, bears a fault",
            candidates=judged, inputs={**inputs, "parallel": parallel}, table=of.rules.cables, source=won.source)
    carried = row_line(f"power.cable_carries[{key}]", of.rules.cables, won.key, of.column, because=[area],
                       title=f"Table current: {title}")
    loading = st.current_fraction.at(f"power.cable_loading[{key}]", line_current=asked(parallel),
                                     reference_current=carried, title=f"Loading of the cable: {title}")
    r20 = row_line(f"power.cable_resistance_20[{key}]", of.rules.cables, won.key, "resistance", because=[area],
                   title=f"Resistance at 20 degC: {title}")
    drop = dropped(r20, parallel)
    if held:
        _judge_cable(of, key, title, area, parallel, loading, drop, drop_limit, least_area)
    return area, parallel, drop


def _judge_cable(of: CableWay, key: str, title: str, area: Figure, parallel: Figure, loading: Figure, drop: Figure,
                 drop_limit: Figure, least_area: Figure | None) -> None:
    """A fixed cable against what its rule asks: current, voltage, and a fault on a feeder."""
    plain, do = low_first(title), f"raise power.cable[{key}] or power.cables[{key}], or clear both"
    whole = assumed("power.full_loading", 1.0, "fraction", title="Full loading of a cable", symbol="1",
                    source="definition") if "power.full_loading" not in book() else book()["power.full_loading"]
    checked(f"power.cable_loading[{key}].check", loading, "<=", whole, title=f"Cable loading, {plain}", do=do,
            caution="an overloaded cable overheats and can start a fire")
    checked(f"power.drop[{key}].check", drop, "<=", drop_limit, title=f"Voltage drop, {plain}", do=do)
    if least_area is not None:
        checked(f"power.fault_area[{key}].check", cb.section_together.at(
            f"power.cable_section[{key}]", conductor_area=area, cables_in_parallel=parallel,
            title=f"Section of all cables: {title}"), ">=", least_area, title=f"Cable in a fault, {plain}", do=do,
            caution="a cable that does not bear the fault can burn before its device trips")


def grouping_factor(inp: Inputs, id: str, title: str = "") -> Figure:
    """Factor of the circuits side by side: of the row that has as many, or the next that has more."""
    circuits = inp.number("power.circuits")
    row = next(r for r in table("grouping").ascending("circuits")
               if r["circuits"].value >= float(circuits) * (1 - 1e-9))
    return row_line(id, "grouping", row.key, "factor", because=[circuits], title=title)


def standard_row(rows: Sequence[Row], name: str, held: Figure) -> Row:
    """The row of a table that a fixed size stands for."""
    found = next((row for row in rows if abs(row[name].value - float(held)) <= 1e-6 * float(held)), None)
    if found is None:
        raise DesignError("no standard size", where=held.id, value=held.show(),
                          allowed=", ".join(row[name].text for row in rows), do="enter one of them, or clear it")
    return found


def pick_device(of: CableWay, key: str, title: str, current: Figure, factor: Figure) -> Figure:
    needed = st.current_multiple.at(f"power.device_needed[{key}]", load_current=current, current_ratio=factor,
                                    title=f"Required device rating: {title}")
    held = of.held(f"power.device[{key}]")
    if held is not None:
        checked(f"power.device[{key}].check", held, ">=", needed, title=f"Device rating, {low_first(title)}",
                do=f"raise power.device[{key}] with its cable, or clear both")
        return held
    return least_row(f"power.device[{key}]", of.rules.devices, "rating", needed,
                     title=f"Protective device: {title}", rule="smallest standard rating not below what is needed",
                     do="divide the load among more panels or transformers (power.transformers)")[0]


def set_factor(id: str, text: str, of: CableWay, title: str, symbol: str) -> Figure:
    return assumed(id, float(text), "factor", title=title, symbol=symbol, source=of.rules.source)
