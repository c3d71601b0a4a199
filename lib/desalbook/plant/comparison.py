"""The ways of recovering the concentrate's pressure, compared on one duty and one boundary.

Each device gets the same design: same net product, water, membranes, outfall and cases. What the membranes make
then (with an isobaric ERD's mixing) is in the row: product salinity and boron are compared, not assumed equal.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from desalbook.hydraulics.constants import KILOWATT
from desalbook.hydraulics.energy_recovery import DEVICES, kind_of, kinds
from desalbook.plant.walk import Sized, size
from desalbook.problems import DesignError, Problem
from desalbook.tables import table
from desalbook.trail import relation, values
from desalbook.units import Factor, W, to_display
from desalbook.units.kinds import KINDS

__all__ = ["COLUMNS", "compare_recovery"]

COLUMNS = ("id", "device", "title", "specific_energy", "membrane_energy", "hp_motor", "hp_flow", "hp_rise",
           "extra_equipment", "extra_power", "product_tds", "product_boron", "feed_pressure", "energy_year",
           "cost_year", "cost_machines", "payback", "capital", "water_cost", "failed", "reason")


@relation("Cost of equipment by rating", symbol="C_m", unit="1", source="common-practice",
          note="order of magnitude, to be replaced by quotations")
def cost_by_rating(motor_rating: W, cost_rate: Factor, machines: Factor) -> Factor:
    """Cost of equipment by its rating.

    Money per kilowatt times rating and number; an order of magnitude, which quotations replace.
    """
    return motor_rating / KILOWATT * cost_rate * machines


@relation("Simple payback", symbol="t_p", unit="1", source="definition",
          note="years, without interest, upkeep and life; over the arrangement compared with")
def simple_payback(cost_more: Factor, saved_year: Factor) -> Factor:
    """Simple payback time of one arrangement against another.

    More money spent over money saved each year; without interest, upkeep and length of life.
    """
    return cost_more / saved_year


def compare_recovery(design: Any, devices: Sequence[str] | None = None, *, against: str | None = None,
                     costs: Mapping[str, float] | None = None) -> Any:
    """Size the same design with each device.

    Parameters
    ----------
    design : Design
        Keys of ``[energy_recovery]`` that describe its own device go with that device only.
    devices : sequence of str
        Keys of `hydraulics.energy_recovery.DEVICES`; all if omitted.
    against : str
        The arrangement whose cost and energy the payback is counted from; the one without recovery if omitted.
    costs : mapping, optional
        Rates that replace those of the table of equipment costs, by its row keys: pumps for a kilowatt of motor,
        devices for a cubic metre an hour of concentrate.

    Returns
    -------
    DataFrame
        A row a device; ``id`` is ``energy_recovery.comparison[device]``. Specific energies in kWh/m3 (of net product;
        membrane section of permeate), motors in kW (one unit), flow m3/h of one train, pressures bar, product
        salinity and boron of the governing case in mg/L, energy of a year in MWh, costs in ``energy.currency``,
        payback in years (zero where the equipment cost no more, not a number where nothing is saved). ``capital`` and
        ``water_cost`` (of a cubic metre) are those of the whole plant. ``failed`` counts failed checks;
        a device that has no answer has a ``reason`` and empty figures.

    Raises
    ------
    DesignError
        No such device, or a cost for no such item.
    """
    import pandas as pd

    devices = tuple(DEVICES) if devices is None else devices
    if against is None:
        against = next(kind.key for kind in kinds() if not kind.recovers)
    for name in (*devices, against):
        if name not in DEVICES:
            raise DesignError("no such device", where="energy_recovery.device", value=name, allowed=", ".join(DEVICES))
    rates = _rates(costs or {})
    own = str(design.sections["energy_recovery"].device)
    rows: list[dict[str, Any]] = []
    for name in dict.fromkeys((*devices, against)):
        rows.append(_row(_with(design, name, own), name, rates))
    base = next(r for r in rows if r["device"] == against)
    for r in rows:
        more, saved = r["cost_machines"] - base["cost_machines"], base["cost_year"] - r["cost_year"]
        if saved > 0:
            with values(keep=False):
                years = simple_payback.at("payback", cost_more=more, saved_year=saved)
            r["payback"] = float(years) if more > 0 else 0.0
    return pd.DataFrame([r for r in rows if r["device"] in devices], columns=list(COLUMNS))


def _rates(costs: Mapping[str, float]) -> dict[str, float]:
    rows = table("machine_costs")
    unknown = set(costs) - {row.key for row in rows.values()}
    if unknown:
        raise DesignError("no such equipment", where="costs", value=sorted(unknown)[0],
                          allowed=", ".join(row.key for row in rows.values()))
    found = {row.key: row["per_kilowatt"].value or row["per_flow"].value for row in rows.values()}
    return found | {k: float(v) for k, v in costs.items()}


def _with(design: Any, name: str, own: str) -> Any:
    if name == own:
        return design
    written = design.written.get("energy_recovery", {})
    own_keys = (column for kind in kinds() for column in (*kind.columns, *kind.by_size))
    for key in dict.fromkeys(("sheet", "over_flush", *own_keys)):
        if key in written:
            design = design.without(f"energy_recovery.{key}")
    return design.with_value("energy_recovery.device", name)


def _row(design: Any, name: str, rates: Mapping[str, float]) -> dict[str, Any]:
    row: dict[str, Any] = dict.fromkeys(COLUMNS, float("nan")) | {
        "id": f"energy_recovery.comparison[{name}]", "device": name, "title": DEVICES[name], "extra_equipment": "",
        "failed": 0, "reason": ""}
    try:
        plant = size(design, recording=False)
    except Problem as problem:
        return row | {"reason": str(problem)}
    ledger, p, trains = plant.ledger, plant.pressure, float(plant.duty.trains)

    def shown(id: str) -> float:
        figure = ledger[id]
        return to_display(float(figure), figure.kind, "si")

    extra, power = _extra(plant)
    machines = {"hp-pump": (p.hp_pump, float(ledger["hp_pump.duty_count"]))}
    if p.booster is not None:
        machines["booster"] = (p.booster, 1.0)
    if p.machines.concentrate_pump is not None:
        machines["concentrate-pump"] = (p.machines.concentrate_pump, 1.0)
    with values(keep=False):
        cost = 0.0
        for key, (machine, count) in machines.items():
            cost += float(cost_by_rating.at("cost", motor_rating=machine.motor_rating, cost_rate=rates[key],
                                            machines=count))
    cost += to_display(float(ledger["membrane.concentrate_flow"]), KINDS["flow"], "si") * rates[kind_of(name).cost_key]
    checks = [line for line in ledger.lines.values() if line.sort == "checked"]
    return row | {
        "specific_energy": shown("energy.plant_specific"), "membrane_energy": shown("energy.membrane_specific"),
        "hp_motor": shown("hp_pump.motor"), "hp_flow": shown("hp_pump.flow"), "hp_rise": shown("hp_pump.pressure_rise"),
        "extra_equipment": extra, "extra_power": power, "product_tds": shown("membrane.permeate_tds"),
        "product_boron": shown("membrane.permeate_boron"), "feed_pressure": shown("membrane.feed_pressure"),
        "energy_year": to_display(float(ledger["energy.year"]), KINDS["energy.year"], "si"),
        "cost_year": float(ledger["energy.bill_year"]), "cost_machines": cost * trains,
        "capital": float(ledger["cost.capital"]), "water_cost": float(ledger["cost.water"]),
        "failed": len([line for line in checks if line.more["verdict"] == "fails"])}


def _extra(plant: Sized) -> tuple[str, float]:
    """What a train needs beside its high-pressure pump, in words, and its electric power, kW."""
    ledger, power = plant.ledger, 0.0
    units = ledger["energy_recovery.units"] if "energy_recovery.units" in ledger else 1  # noqa: SIM401, no mapping
    said = [plant.device.kind.equipment(int(units))]
    if plant.pressure.booster is not None:
        said.append(f"booster {ledger['booster.motor'].show()}")
        power += float(ledger["booster.electric_power"])
    if "concentrate_pump.motor" in ledger:
        said.append(f"concentrate pump {ledger['concentrate_pump.motor'].show()}")
        power += float(ledger["concentrate_pump.electric_power"])
    return ", ".join(said), to_display(power, KINDS["power.electric"], "si")
