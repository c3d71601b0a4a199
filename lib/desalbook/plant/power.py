"""The electrical side of a plant: its equipment as loads, handed to the electrical room."""

from __future__ import annotations

from collections.abc import Sequence

from desalbook.electrical import Installation, Load, OwnLoad, electrical
from desalbook.hydraulics.motors import Motor, size_motor
from desalbook.hydraulics.pumps import Pump
from desalbook.plant.operations import UnitOperations, decides_on_dosing, decides_on_machines
from desalbook.plant.pretreat import electric
from desalbook.plant.transfer import Transfer
from desalbook.trail import Choice, assumed, scope
from desalbook.trail.inputs import Inputs

__all__ = ["power"]


def power(inp: Inputs, ops: UnitOperations, pumps: dict[str, Transfer], own: Sequence[OwnLoad] = ()) -> Installation:
    """Loads of all equipment, and the installation that feeds it.

    Each unit at the duty it was sized for; a unit the plant does not have is no load.

    Parameters
    ----------
    pumps : dict
        Product and flush pump, where the plant has them.
    own : sequence of OwnLoad
        What the design lists beside the kit's own equipment.
    """
    decides = dict.fromkeys(x for of in own for x in of.load.because)
    return electrical(inp, [*_train(inp, ops), *_common(inp, ops, pumps), *(of.load for of in own)], ops.duty.trains,
                      [*decides_on_machines(inp, ops), *decides])


def _pump(key: str, title: str, pump: Pump, running, spare, *, panel: str, duty: str = "continuous",
          drive: Choice | None = None) -> Load:
    return Load(key, title, pump.electric_power, running, spare, duty, panel, pump.motor_rating,
                pump.motor_full_load_efficiency, drive, drive_efficiency=pump.drive_efficiency)


def _train(inp: Inputs, ops: UnitOperations) -> list[Load]:
    """What stands on the panel of one train."""
    p = ops.pressure.machines
    found = [_pump("feed_pump", "Feed pump", ops.pretreated.feed_pump, inp.number("feed_pump.duty_count"),
                   inp.number("feed_pump.standby_count"), panel="train", drive=inp.choice("feed_pump.drive")),
             _pump("hp_pump", "HP pump", p.hp_pump, inp.number("hp_pump.duty_count"),
                   inp.number("hp_pump.standby_count"), panel="train", drive=inp.choice("hp_pump.drive"))]
    if p.booster is not None:
        found.append(_pump("booster", "Booster pump", p.booster, 1, inp.number("booster.standby_count"), panel="train",
                           drive=inp.choice("booster.drive")))
    if p.concentrate_pump is not None:
        found.append(_pump("concentrate_pump", "Concentrate pump", p.concentrate_pump, 1, 0, panel="train"))
    for name, pump in p.stage_pumps.items():
        key = name.replace("[", "_").rstrip("]").replace(".", "_")
        found.append(_pump(key, key.replace("_", " ").capitalize(), pump, 1, 0, panel="train"))
    found.append(Load("other", "Controls, lights", inp.number("energy.other_power"), 1, 0, "continuous",
                      "train", row="other"))
    return found


def _common(inp: Inputs, ops: UnitOperations, pumps: dict[str, Transfer]) -> list[Load]:
    """What serves all trains."""
    found: list[Load] = []
    pre, clean = ops.pretreated, ops.cleaning
    if ops.intake_pump is not None:
        found.append(_pump("intake_pump", "Intake pump", ops.intake_pump, inp.number("intake_pump.duty_count"),
                           inp.number("intake_pump.standby_count"), panel="common"))
    if pre.wash_pump is not None:
        found.append(_pump("backwash_pump", "Backwash pump", pre.wash_pump, inp.number("backwash_pump.duty_count"),
                           inp.number("backwash_pump.standby_count"), panel="common", duty="intermittent",
                           drive=inp.choice("backwash_pump.drive")))
    if (air := pre.blower) is not None:
        found.append(Load("scour_blower", "Scour-air blower", air.electric_power, inp.number("scour_blower.duty_count"),
                          inp.number("scour_blower.standby_count"), "intermittent", "common", air.motor_rating,
                          air.motor_full_load_efficiency))
    for name, of in pumps.items():
        found.append(_pump(name, f"{name.partition('_')[0].capitalize()} pump", of.pump,
                           inp.number(f"{name}.duty_count"), inp.number(f"{name}.standby_count"), panel="common",
                           duty="continuous" if name == "product_pump" else "intermittent"))
    with scope("plant", because=[inp("electric.frequency")]):
        motor: Motor = size_motor("power.cip_pump", clean.shaft_power, electric(inp),
                                  motor=inp.optional("cip.pump_motor"))
    found.append(Load("cip_pump", "CIP pump", clean.pump_power, 1, 0, "standby", "common", motor.rating,
                      motor.full_load_efficiency))
    if float(clean.heater_rating) > 0.0:
        found.append(Load("cip_heater", "CIP heater", clean.heater_rating, 1, 0, "standby", "common", row="heater"))
    lines = ops.doses.lines()
    if lines:
        with scope("plant", because=decides_on_dosing(inp, ops)):
            running = assumed("power.dosing_pumps", float(len(lines)), "count", title="Dosing pumps that run",
                              symbol="n_d", source="definition", place=", ".join(lines))
        found.append(Load("dosing", "Dosing pumps", inp.number("energy.dosing_power"), running, 0,
                          "continuous", "common", row="dosing"))
    return found
