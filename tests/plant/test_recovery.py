"""Recovery devices in the plant: energy balance over the envelope, and the four-device duty from the coupled plant."""

from __future__ import annotations

import functools

import pytest

from desalbook import design as designs
from desalbook import paths
from desalbook.hydraulics.energy_recovery import DEVICES
from desalbook.plant.array import CORNERS
from desalbook.problems import DesignError
from tests import shared

PLANTS = ("harbour-town.toml", "beach-well.toml")
WHEELS = ("turbocharger", "pump-as-turbine", "pelton")


@functools.cache
def sized(name: str, device: str, *more: tuple[str, str]):
    return shared.sized(designs.read(paths.demo(name)).with_values({"energy_recovery.device": device, **dict(more)}))


def imbalance(balance, spoil: float = 1.0) -> float:
    """(in - out - losses) over in, summed here and not by the kit."""
    lost = sum(float(x) for x in balance.losses.values())
    return abs(float(balance.into) - float(balance.out) * spoil - lost) / float(balance.into)


@pytest.mark.parametrize("name", PLANTS)
@pytest.mark.parametrize("device", DEVICES)
def test_power_in_is_power_out_and_losses_at_every_corner(name, device):
    plant = sized(name, device)
    p = plant.pressure
    assert set(p.by_corner) == set(CORNERS)
    for c, r in p.by_corner.items():
        assert imbalance(r.balance) < 1e-9, c
        assert all(x >= -1e-6 for x in r.balance.losses.values()), c
        assert p.operating[c].met, c
        # what enters, from the streams alone
        q, head = plant.array.by_corner[c]["concentrate_flow"], plant.array.by_corner[c]
        into = float(q) * float(head["concentrate_pressure"])
        if device == "isobaric":
            into += float(r.booster_flow) * float(plant.ledger["hp_pump.suction_pressure"])
        assert float(r.balance.into) == pytest.approx(into, rel=1e-12)
    assert imbalance(p.by_corner["hot-new"].balance, 1.0001) > 1e-6  # the test sees a hundredth of a per cent


@pytest.mark.parametrize("device", WHEELS)
def test_away_from_the_best_point_the_device_gives_less(device):
    p = sized("harbour-town.toml", device).pressure
    at = {c: r.passing for c, r in p.by_corner.items()}
    best = max(at, key=lambda c: at[c].efficiency)
    assert best == "cold-aged"
    assert at["hot-new"].efficiency < at[best].efficiency
    if device != "pelton":
        q = {c: r["concentrate_flow"] for c, r in sized("harbour-town.toml", device).array.by_corner.items()}
        for c, t in at.items():
            assert t.flow + t.bypass == pytest.approx(q[c], rel=1e-12)
        assert at["hot-new"].bypass > 0.02 * q["hot-new"] and abs(at[best].bypass) < 1e-9 * q[best]


def test_a_steeper_device_loses_more():
    mild, steep = (sized("harbour-town.toml", "turbocharger", ("energy_recovery.no_load_fraction", x))
                   for x in ("0 %", "60 %"))
    a, b = (x.pressure.by_corner["hot-new"] for x in (mild, steep))
    assert b.boost < a.boost and b.hp_rise > a.hp_rise


def four_devices(plant, c: str) -> float:
    """Hydraulic and shaft power of a train at a corner by the equations of the duty table, from streams alone."""
    a, p, of = plant.array, plant.pressure, str(plant.device.choice)
    r, got = a.by_corner[c], p.by_corner[c]
    qf, qp, qb = (float(x) for x in (a.mixed_flow[c], r["permeate_flow"], r["concentrate_flow"]))
    pf, pb, ps = float(r["feed_pressure"]), float(r["concentrate_pressure"]), float(plant.ledger[
        "hp_pump.suction_pressure"])
    ex, eta = float(got.exhaust_pressure), float(p.operating[c].efficiency)
    if of == "none":
        return qf * (pf - ps) / eta
    if of == "isobaric":
        drop = float(plant.ledger["energy_recovery.high_pressure_drop"])  # at the largest concentrate flow
        drop *= (qb / max(float(x["concentrate_flow"]) for x in a.by_corner.values())) ** 2
        piping = float(plant.ledger["booster.piping_loss"])
        return qp * (pf - ps) / eta + qb * (pf - pb + drop + piping) / float(p.booster.efficiency)
    e = float(plant.ledger["energy_recovery.efficiency"])
    if of == "turbocharger":
        return qf * (pf - ps - e * qb / qf * (pb - ex)) / eta
    return qf * (pf - ps) / eta - e * qb * (pb - ex)


@pytest.mark.parametrize("device", DEVICES)
def test_coupled_plant_equals_the_duty_table(device):
    """Mixing and leakage zero, the corner of the best-efficiency point: the equations of the table give the plant's
    power.

    Equations: fritzmann-2007 and definitions, as in the table of four devices on one duty; 0.1 %.
    """
    more = (("energy_recovery.mixing", "0 %"), ("energy_recovery.leakage", "0 %")) if device == "isobaric" else ()
    plant = sized("harbour-town.toml", device, *more)
    c = "cold-aged"
    o, r = plant.pressure.operating[c], plant.pressure.by_corner[c]
    shaft = float(o.shaft_power)
    if device == "isobaric":
        shaft += float(r.booster_flow) * float(r.booster_pressure_rise) / float(
            plant.pressure.booster.efficiency)
        assert float(r.hp_flow) == pytest.approx(float(plant.array.by_corner[c]["permeate_flow"]), rel=1e-12)
        x = float(plant.ledger["membrane.feed_salinity@cold-aged"])
        assert x == pytest.approx(float(plant.waters.analysis.salinity), rel=1e-12)
    assert shaft == pytest.approx(four_devices(plant, c), rel=1e-3)
    assert shaft == pytest.approx(four_devices(plant, c), rel=1e-9)  # and to rounding


def test_devices_keep_the_published_order_on_this_plant():
    """None, pump as turbine, turbocharger at 0.68, wheel, isobaric ERD. Source: fritzmann-2007 (from memory)."""
    order = ("none", "pump-as-turbine", "turbocharger", "isobaric")
    found = [float(sized("harbour-town.toml", d).ledger["energy.plant_specific"]) for d in order]
    assert found == sorted(found, reverse=True)


def test_exchangers_are_counted_and_one_may_be_out():
    one = sized("beach-well.toml", "isobaric").ledger
    assert one["energy_recovery.units"] == 1
    assert one.lines["energy_recovery.one_out_of_service"].more["verdict"] == "review"
    four = sized("harbour-town.toml", "isobaric").ledger
    q = float(four["energy_recovery.bep_flow"]) * 3600
    assert four["energy_recovery.units"] == -(-q // 50)
    left = min(1.0, 50 * (four["energy_recovery.units"] - 1) / q)
    assert four["energy_recovery.concentrate_one_out_of_service"] == pytest.approx(left)
    assert four.lines["energy_recovery.one_out_of_service"].more["verdict"] == ("passes" if left == 1 else "review")


@pytest.mark.parametrize("device", ["turbocharger", "isobaric", "pump-as-turbine"])
def test_a_higher_outfall_costs_energy(device):
    low = sized("harbour-town.toml", device)
    high = sized("harbour-town.toml", device, ("energy_recovery.outfall_elevation", "11 m"))
    assert high.ledger["energy_recovery.exhaust_pressure"] >= low.ledger["energy_recovery.exhaust_pressure"]
    if device == "isobaric":  # the outlet pressure must come from the feed pump: a check says so
        assert high.ledger["energy.plant_specific"] >= low.ledger["energy.plant_specific"]
        return
    assert high.ledger["energy.plant_specific"] > low.ledger["energy.plant_specific"]
    assert high.ledger["hp_pump.shaft_power"] > low.ledger["hp_pump.shaft_power"]
    if device == "turbocharger":
        assert high.ledger["energy_recovery.boost"] < low.ledger["energy_recovery.boost"]
        assert high.ledger["hp_pump.discharge_pressure"] > low.ledger["hp_pump.discharge_pressure"]


SHEETS = """
[[energy_recovery.sheets]]
name = "quote-a"
device = "isobaric"
mixing = "3.5 %"
leakage = "1 %"
high_pressure_drop = "0.5 bar"
unit_flow = "40 m3/h"
source = "sheet of the tests, rev 2"

[[energy_recovery.sheets]]
name = "quote-b"
device = "turbocharger"
efficiency = "77 %"
"""


def with_sheets(device: str, sheet: str, more: str = ""):
    text = paths.demo("harbour-town.toml").read_text(encoding="utf-8")
    line = f'device = "{device}"\nsheet = "{sheet}"\n{more}'
    return designs.from_text(text.replace('device = "isobaric"', line) + SHEETS)


def test_a_sheet_in_the_design_gives_the_device_its_values():
    """What the sheet says is given; what it leaves blank is the table's; what is written beside it goes before."""
    plant = shared.sized(with_sheets("isobaric", "quote-a"))
    of = plant.device
    assert float(of.mixing) == 0.035 and float(of.leakage) == 0.01
    assert of.mixing.id == "energy_recovery.sheets[quote-a].mixing"
    assert plant.ledger.lines[of.mixing.id].sort == "given"
    assert float(of.low_pressure_drop) == pytest.approx(0.6e5)
    assert of.low_pressure_drop.id == "energy_recovery.low_pressure_drop"
    flow = float(plant.ledger["membrane.concentrate_flow"]) * 3600
    assert int(plant.ledger["energy_recovery.units"]) == -(-flow // 40)
    beside = shared.sized(with_sheets("isobaric", "quote-a", 'mixing = "5 %"\n'))
    assert float(beside.device.mixing) == 0.05
    turbo = shared.sized(with_sheets("turbocharger", "quote-b"))
    assert float(turbo.pressure.by_corner["cold-aged"].passing.efficiency) <= 0.77 == float(turbo.device.efficiency)


@pytest.mark.parametrize(("device", "sheet", "words"), [("isobaric", "quote-c", "no such sheet"),
                                                        ("isobaric", "quote-b", "another kind")])
def test_a_sheet_that_is_not_there_or_of_another_kind_is_refused(device, sheet, words):
    with pytest.raises(DesignError, match=words):
        with_sheets(device, sheet)
