"""Pumps between stages and before a second pass: sized on their governing corners, run at all."""

from __future__ import annotations

from typing import Any

from desalbook.hydraulics.energy_recovery.balance import pressure_rise
from desalbook.hydraulics.pump import Pump, run_pump, size_pump
from desalbook.plant.array_relations import boosters_of, powers_of
from desalbook.trail import Figure, assumed, govern, scope

__all__ = ["boosters"]


def boosters(inp: Any, waters: Any, a: Any, power: dict[str, dict[str, Figure]], electric: Any) -> dict[str, Pump]:
    """Add their power to that of the booster at every corner; the pumps by the prefix of their lines.

    Parameters
    ----------
    a : Array
    power : dict
        By corner; ``booster_power`` is replaced by the sum.
    electric : Electric
    """
    p = a.plan
    if p is None:
        return {}
    between: dict[str, tuple[Any, dict[str, Figure], dict[str, Figure] | Figure, Figure | None]] = {}
    for rows in (p.rows, p.second_rows):
        for row in rows[1:]:
            if row.boost is not None and float(row.boost):
                name = ("stage_pump" if rows is p.rows else "second_stage_pump") + f"[{row.name}]"
                between[name] = (f"Pump before stage {row.name}",
                                 {c: s.stages[row.prefix]["feed_flow"] for c, s in a.staged.items()}, row.boost,
                                 row.efficiency)
    if p.second is not None:
        rises = {}
        for c, s in a.staged.items():
            with scope(corner=c):
                rises[c] = pressure_rise.at("second_pass_pump.pressure_rise", suction_pressure=p.second["suction"],
                                      discharge_pressure=s.stages["second"]["feed_pressure"])
        between["second_pass_pump"] = ("Pump of the second pass",
                                       {c: s.streams["second_feed"].flow for c, s in a.staged.items()}, rises,
                                       p.second["pump_efficiency"])
    if not between:
        return {}
    pumps, used = {}, {}
    with scope(because=p.because):
        for name, (title, flows, rise, efficiency) in between.items():
            flow = govern(f"{name}.flow", flows, "largest", title=f"{title}: flow")
            top = rise if not isinstance(rise, dict) else govern(
                f"{name}.pressure_rise", rise, "largest", title=f"{title}: pressure rise")
            pump = size_pump(name, flow=flow, density=waters.at["cold"].density, electric=electric,
                             pressure_rise=top, efficiency=efficiency)
            pumps[name] = pump
            for c in a.staged:
                with scope(corner=c):
                    run = run_pump(name, pump, flow=flows[c], pressure_rise=rise[c] if isinstance(rise, dict) else rise)
                used.setdefault(c, {})[name] = run.electric_power
        none = assumed("energy.no_stage_power", 0.0, "power.electric", title="Pumps that are not there",
                       source="definition", text="not in this plant")
        for c in a.staged:
            with scope(corner=c):
                stage = none
                for name, own in used[c].items():
                    if name != "second_pass_pump":
                        stage = powers_of.at(f"energy.{name.replace('[', '_to[')}", electric_power=stage,
                                             other_power=own, title="Pumps between stages")
                power[c]["booster_power"] = boosters_of.at(
                    "energy.boosters", booster_power=power[c]["booster_power"], stage_power=stage,
                    second_power=used[c].get("second_pass_pump", none))
    return pumps
