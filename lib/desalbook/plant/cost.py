"""Money: the items of a sized plant and its year, handed to the room of cost."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from desalbook.balances import items_of_groups
from desalbook.cleaning.interval import element_life, replaced_in_year
from desalbook.cost import Estimate, Item, Running, cost
from desalbook.cost.capital import volume_of_one
from desalbook.cost.estimate import PARTS
from desalbook.electrical import Installation
from desalbook.plant.energy import EnergyYear
from desalbook.plant.operations import UnitOperations, decides_on_dosing, dosing_title
from desalbook.plant.transfer import Transfer
from desalbook.trail import Figure, constant, current, scope
from desalbook.trail.inputs import Inputs
from desalbook.trail.words import low_first

__all__ = ["cost_of_plant", "where_counted"]

_WITHIN = {
    "contactor": "remineralisation", "cip_heater": "cip", "cip_cartridge": "cip", "cip-fill-valve": "cip",
    "cip-drain-valve": "cip", "cip-mix-valve": "cip", "day_tank": "dosing", "bund": "civil",
    "medium_switchgear": "electrical", "panel": "electrical", "correction": "electrical", "controller": "electrical",
    "instrument": "electrical", "valve": "site_piping", "filter-inlet-valve": "filters",
    "filter-outlet-valve": "filters", "backwash-inlet-valve": "filters", "backwash-outlet-valve": "filters",
    "filter-to-waste-valve": "filters", "filter-drain-valve": "filters", "scour-valve": "filters", "own": "",
}
"""Lines of the schedule without a price of their own: the item whose price holds them, or the part of the works that
does; nothing for loads of the owner's. A curve of filters holds their valves, one of the CIP tank heater, filter and
pipe, a dosing set its day tank; panels, switchgear, meters and instruments are electrical works."""

SMALL_VESSEL = constant("D_4", 0.15, "m", source="common-practice", title="Outer diameter between 4-inch and 8-inch")


def cost_of_plant(inp: Inputs, ops: UnitOperations, pumps: dict[str, Transfer], used: EnergyYear,
                  supplied: Installation) -> Estimate:
    """Capital of each item of the equipment list, cost of a year, and levelised cost of water.

    Parameters
    ----------
    pumps : dict
        Product and flush pump, where the plant has them.
    used : EnergyYear
        Its bill is the cost of energy.
    supplied : Installation
        Transformers and generator; panels, cables and instruments are a fraction of the equipment.
    """
    book: Any = current()
    items = [*_front(inp, ops), *_train(inp, ops), *_common(inp, ops, pumps), *_electrical(inp, supplied)]
    return cost(inp, items, Running(used.bill, book["chemicals.yearly_cost"], ops.duty.net_product,
                                    book["duty.raw_flow_year"], ops.duty.availability,
                                    book["cartridge.change_interval"], ops.available.delivered,
                                    _replaced(inp, ops)))


def _replaced(inp: Inputs, ops: UnitOperations) -> Figure:
    """Fraction of the elements that is replaced in a year: as stated, else by their life."""
    stated = inp.optional("cost.element_replacement")
    if stated is not None:
        return stated
    life = element_life.at("cost.element_life", longest_life=inp.number("cost.element_longest_life"),
                           cleanings=ops.cleanings, cleanings_of_life=inp.number("cost.cleanings_of_life"))
    return replaced_in_year.at("cost.element_fraction", element_life=life)


def _pump(inp: Inputs, key: str, title: str, pump: Any, trains: Figure | None, row: str = "pump-low",
          duty: str = "duty_count", **more: Any) -> Item:
    return Item(key, title, row, pump.motor_rating, trains, inp.number(f"{key}.{duty}") if duty else 1.0,
                inp.number(f"{key}.standby_count"), **more)


def _front(inp: Inputs, ops: UnitOperations) -> list[Item]:
    """From the intake to the cartridges."""
    pre, n, there = ops.pretreated, ops.available.installed, current()
    found = [Item("intake_screen", "Intake screen", "intake-screen", there["intake.screen_area"], None, 1.0,
                  because=(inp.choice("water.source"),))] if "intake.screen_area" in there else []
    found += [] if ops.intake_pump is None else [_pump(inp, "intake_pump", "Intake pump", ops.intake_pump, None,
                                                        because=(inp.choice("intake_pump.present"),))]
    with scope("plant"):
        each = volume_of_one.at("cost.storage_volume", volume_together=pre.tank.capacity, tanks=pre.tank.count,
                                title="Volume of one storage tank")
    found += [Item("storage", "Storage tank", "tank", each, None, pre.tank.count),
              _pump(inp, "feed_pump", "Feed pump", pre.feed_pump, n)]
    if pre.wash_pump is not None:
        found.append(_pump(inp, "backwash_pump", "Backwash pump", pre.wash_pump, None, because=(pre.present,)))
    if pre.battery is not None:
        found.append(Item("filters", "Media filter", "media-filter", pre.battery.area, n, pre.battery.count,
                          material=inp.choice("filter_vessel.material"), because=(pre.present,)))
        if pre.blower is not None:
            found.append(Item("scour_blower", "Scour-air blower", "blower", pre.blower.flow, None,
                              inp.number("scour_blower.duty_count"), inp.number("scour_blower.standby_count"),
                              because=(pre.present, inp.choice("filters.scour"))))
    book: Any = current()
    if "backwash_tank.capacity" in book:
        with scope("plant"):
            tank = volume_of_one.at("cost.backwash_tank_volume", volume_together=book["backwash_tank.capacity"],
                                    tanks=book["backwash_tank.count"], title="Volume of one backwash tank")
        found.append(Item("backwash_tank", "Backwash tank", "tank", tank, None, book["backwash_tank.count"]))
    housed = pre.cartridges
    found += [Item("cartridge_housing", "Cartridge housing", "cartridge-housing", housed.per_housing, n,
                   housed.housings, inp.number("cartridge.housings_standby")),
              Item("cartridge", "Cartridge", "cartridge", housed.equivalents, n, housed.count,
                   price=inp.optional("cost.cartridge_price"))]
    return found


def _train(inp: Inputs, ops: UnitOperations) -> list[Item]:
    """What stands on a train: pumps, energy recovery, vessels and elements."""
    p, a, n = ops.pressure, ops.array, ops.available.installed
    wet = inp.choice("piping.runs[high-pressure].material")
    found = [_pump(inp, "hp_pump", "HP pump", p.hp_pump, n, "hp-pump", material=wet)]
    if ops.device.kind.recovers:
        found.append(Item("energy_recovery", f"Energy recovery: {ops.device.kind.label}", "recovery",
                          p.concentrate_flow, n, 1.0, machine=ops.device.kind.cost_key,
                          because=(ops.device.choice,)))
    if p.booster is not None:
        found.append(_pump(inp, "booster", "Booster", p.booster, n, "booster", duty="", material=wet))
    if p.machines.concentrate_pump is not None:
        found.append(Item("concentrate_pump", "Concentrate pump", "hp-pump",
                          p.machines.concentrate_pump.motor_rating, n, 1.0, material=wet))
    found += [Item(name, p.machines.titles[name], "booster", machine.motor_rating, n, 1.0, material=wet)
              for name, machine in p.machines.stage_pumps.items()]
    return [*found, *_membranes(inp, ops, a, n)]


def _membranes(inp: Inputs, ops: UnitOperations, a: Any, n: Figure) -> list[Item]:
    book: Any = current()
    rated, price = book["membrane.pressure_rating"], inp.optional("cost.element_price")
    found: list[Item] = []

    def installed(tag: str, vessels: Figure, elements: Figure) -> Figure:
        with scope("train", count=n):
            return items_of_groups.at(f"cost.elements_of_train{tag}", groups=vessels, group_size=elements,
                                      title="Elements of a train" + (f", {tag.strip('[]')}" if tag else ""))

    def stage(tag: str, title: str, vessels: Figure, elements: Figure, sheet: Any) -> None:
        small = float(sheet["outer_diameter"]) < SMALL_VESSEL.value
        found.append(Item(f"vessels{tag}", f"Pressure vessel{title}", "vessel-small" if small else "vessel", elements,
                          n, vessels, pressure=rated, because=(sheet["outer_diameter"],)))
        found.append(Item(f"elements{tag}", f"Membrane element{title}", "element", sheet["area"], n,
                          installed(tag, vessels, elements), price=price))

    if not a.plan.joined:
        stage("", "", a.vessels, inp.number("membrane.elements"), a.element)
    else:
        for row in (*a.plan.rows, *a.plan.second_rows):
            of = "second pass, stage" if row in a.plan.second_rows else "stage"
            stage(f"[{row.prefix.replace('[', '-').rstrip(']')}]", f", {of} {row.name}", row.vessels, row.elements,
                  row.sheet.element)
    return found


def _common(inp: Inputs, ops: UnitOperations, pumps: dict[str, Transfer]) -> list[Item]:
    """What serves all trains: dosing, transfer pumps, product tank, cleaning."""
    book: Any = current()
    because = tuple(decides_on_dosing(inp, ops))
    found: list[Item] = []
    for name, line in ops.doses.lines().items():
        found.append(Item(f"dosing_{name}", dosing_title(name), "dosing-set", line.feed_rate_maximum, None, 1.0,
                          because=because))
        found.append(Item(f"bulk_storage_{name}", f"Bulk tank, {dosing_title(name).partition(', ')[2]}",
                          "chemical-tank", book[f"{name}.bulk_storage_volume"], None, 1.0, because=because))
    for name, of in pumps.items():
        found.append(_pump(inp, name, f"{name.partition('_')[0].capitalize()} pump", of.pump, None,
                           because=(of.present,)))
    degasifier = inp.choice("product.degasifier")
    if degasifier != "no":
        found.append(Item("degasifier", "Degasifier", "degasifier", ops.product_flow, None, 1.0, because=(degasifier,)))
    remineralisation = inp.choice("product.remineralisation")
    if remineralisation != "none":
        found.append(Item("remineralisation", "Remineralisation", "remineralisation", ops.product_flow, None, 1.0,
                          because=(remineralisation,)))
    found.append(Item("product_tank", "Product tank", "tank", ops.product_tank, None,
                      inp.number("product_tank.count")))
    clean, held = ops.cleaning, inp.optional("cip.flush_tank")
    found.append(Item("flush_tank", "Flush tank", "tank", ops.flush.volume if held is None else held, None, 1.0))
    return [*found, Item("cip", "CIP tank", "cip-skid", clean.tank_volume, None, 1.0),
            Item("cip_pump", "CIP pump", "pump-low", clean.shaft_power, None, 1.0)]


def _electrical(inp: Inputs, supplied: Installation) -> list[Item]:
    """What brings the power; panels, cables and instruments are a fraction of the equipment."""
    found = [Item("transformer", "Transformer", "transformer", supplied.transformer, None, supplied.transformers)]
    if (medium := supplied.medium) is not None:
        found.append(Item("medium_transformer", "Transformer to medium voltage", "transformer", medium.transformer,
                          None, medium.transformers))
    if supplied.generator is not None:
        found.append(Item("generator", "Generator", "generator", supplied.generator, None, 1.0,
                          because=(inp.choice("power.generator"),)))
    return found


def where_counted(row: Mapping[str, Any], estimate: Estimate) -> str:
    """Where a line of the equipment schedule is counted in the estimate, once: in words.

    Parameters
    ----------
    row : mapping
        Of the schedule.
    estimate : Estimate
    """
    key, basis = str(row["key"]), {r["key"]: r for r in estimate.rows}
    if key in basis:
        return f"Own price: {basis[key]['basis']}"
    group, _, own = key.rstrip("]").partition("[")
    kind = own if own in _WITHIN else next(k for k in _WITHIN if group.startswith(k))
    home = _WITHIN[kind]
    if home in PARTS:
        return f"Fraction of the equipment: {low_first(basis[home]['title'])}"
    if home == "dosing":
        home = f"dosing{key.removeprefix(kind)}"
    return f"In the price of: {low_first(basis[home]['title'])}" if home else "Not in the estimate: of the owner"
