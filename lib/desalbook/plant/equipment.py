"""The machines and vessels of the plant: one table, figures for one, running and installed."""

from __future__ import annotations

from typing import Any

from desalbook.plant.energy import EnergyYear
from desalbook.plant.operations import UnitOperations, dosing_title
from desalbook.plant.transfer import Transfer
from desalbook.trail import Figure, current

__all__ = ["equipment"]


def _row(key: str, title: str, trains, duty, standby, **figures: Any) -> dict[str, Any]:
    """One machine: `duty` and `standby` are of one group; a group serves each train, or all of them (`trains` 1)."""
    n, d, s = float(trains), float(duty), float(standby)
    row: dict[str, Any] = {"key": key, "title": title, "trains_served": int(n), "duty": int(d), "standby": int(s),
                           "running_total": int(n * d), "installed_total": int(n * (d + s))}
    for name, kind in (("flow", "running_flow"), ("electric_power", "running_power"), ("motor", "installed_power")):
        if isinstance(of := figures.get(name), Figure):
            row[kind] = float(of) * row["installed_total" if name == "motor" else "running_total"]
    for name, value in figures.items():
        row[name] = float(value) if isinstance(value, Figure) else value
        if isinstance(value, Figure):
            row.setdefault("id", value.id)
            row.setdefault("ids", {})[name] = value.id  # for the readers of the record
    return row


def equipment(inp, ops: UnitOperations, pumps: dict[str, Transfer], used: EnergyYear) -> list[dict[str, Any]]:
    """Rows by machine; SI values, the id of the first figure leads into the trail.

    A machine that draws power says its mean electrical power while it runs (W) and its running time of a year (s).
    """
    a, pre, p, d = ops.array, ops.pretreated, ops.pressure, ops.duty
    n, book = d.trains, current()
    rows: list[dict[str, Any]] = []

    def pump(key: str, title: str, machine, trains, duty, standby):
        rows.append(_row(key, title, trains, duty, standby, flow=machine.flow, head=machine.head,
                         shaft_power=machine.shaft_power, motor=machine.motor_rating,
                         electric_power=machine.electric_power))

    if ops.intake_pump is not None:
        pump("intake_pump", "Intake pump", ops.intake_pump, 1, inp("intake_pump.duty_count"),
             inp("intake_pump.standby_count"))
    rows.append(_row("storage", "Storage tank", 1, pre.tank.count, 0, volume=pre.tank.capacity,
                     diameter=pre.tank.diameter))
    pump("feed_pump", "Feed pump", pre.feed_pump, n, inp("feed_pump.duty_count"), inp("feed_pump.standby_count"))
    if pre.wash_pump is not None:
        pump("backwash_pump", "Backwash pump", pre.wash_pump, 1, inp("backwash_pump.duty_count"),
             inp("backwash_pump.standby_count"))
    if pre.battery is not None:
        rows.append(_row("filters", "Media filter", n, pre.battery.count, 0, diameter=pre.battery.diameter))
    rows.append(_row("cartridge_housing", "Cartridge housing", n, pre.cartridges.housings,
                     inp("cartridge.housings_standby"), count=pre.cartridges.per_housing))
    rows.append(_row("cartridge", "Cartridge", n, pre.cartridges.count, 0, count=pre.cartridges.count))
    pump("hp_pump", "HP pump", p.hp_pump, n, inp("hp_pump.duty_count"), inp("hp_pump.standby_count"))
    if ops.device.kind.recovers:
        units = book["energy_recovery.units"] if "energy_recovery.units" in book else 1  # noqa: SIM401, no mapping
        title = f"Energy recovery: {ops.device.kind.label}"
        rows.append({**_row("energy_recovery", title, n, units, 0), "id": ops.device.choice.id})
    if p.booster is not None:
        pump("booster", "Booster", p.booster, n, 1, inp("booster.standby_count"))
    if p.machines.concentrate_pump is not None:
        pump("concentrate_pump", "Concentrate pump", p.machines.concentrate_pump, n, 1, 0)
    for name, machine in p.machines.stage_pumps.items():
        pump(name, p.machines.titles[name], machine, n, 1, 0)
    if not a.plan.joined:
        rows.append(_row("vessels", "Pressure vessel", n, a.vessels, 0, elements=inp("membrane.elements")))
    else:
        for stage in (*a.plan.rows, *a.plan.second_rows):
            of = "second pass, stage" if stage in a.plan.second_rows else "stage"
            key = f"vessels[{stage.prefix.replace('[', '-').rstrip(']')}]"
            rows.append(_row(key, f"Pressure vessel, {of} {stage.name}", n, stage.vessels, 0, elements=stage.elements))
    for name, line in ops.doses.lines().items():
        tanks = {"day_tank": book[f"{name}.day_tank_volume"], "bulk_storage": book[f"{name}.bulk_storage_volume"]}
        rows.append(_row(f"dosing_{name}", dosing_title(name), 1, 1, 1, flow=line.feed_rate_maximum, **tanks,
                         electric_power=inp("energy.dosing_power")))
    for name, of in pumps.items():
        pump(name, f"{name.partition('_')[0].capitalize()} pump", of.pump, 1, inp(f"{name}.duty_count"),
             inp(f"{name}.standby_count"))
    rows.append(_row("product_tank", "Product tank", 1, inp("product_tank.count"), 0, volume=ops.product_tank))
    clean = ops.cleaning
    rows.append(_row("cip", "CIP tank", 1, 1, 0, volume=clean.tank_volume))
    rows.append(_row("cip_pump", "CIP pump", 1, 1, 0, flow=clean.flow, head=clean.head,
                     shaft_power=clean.shaft_power, electric_power=clean.pump_power))
    if float(clean.heater_rating) > 0.0:
        rows.append(_row("cip_heater", "Heater of the CIP tank", 1, 1, 0, electric_power=clean.heater_rating))
    over_a_year = {x.key: x for x in used.consumers}
    for row in rows:
        x = over_a_year.get(row["key"].replace("[", "-").rstrip("]"))
        if x is not None:
            row.update(mean_power=float(x.power), running_time=float(x.time))
            row.setdefault("ids", {}).update(mean_power=x.power.id, running_time=x.time.id)
    return rows
