"""Recovery devices in the plant: energy balance over the envelope, and the four-device duty from the coupled plant."""

from __future__ import annotations

import functools

import numpy as np
import pytest

import desalbook as db
from desalbook import design as designs
from desalbook import paths
from desalbook.hydraulics.energy_recovery import DEVICES
from desalbook.plant import compare_recovery, size
from desalbook.plant.array import CORNERS
from desalbook.problems import DesignError
from desalbook.trail import what_if
from tests import shared
from tests.test_moving import below, changed, descendants

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
[[recovery_devices]]
name = "quote-a"
device = "isobaric"
mixing = "3.5 %"
leakage = "1 %"
high_pressure_drop = "0.5 bar"
low_pressure_drop = "0.6 bar"
unit_flow = "40 m3/h"
source = "sheet of the tests, rev 2"
date = "2026-02-01"
test_pressure = "60 barg"
test_low_pressure = "2 barg"
stated_efficiency = "97.5 %"
test_recovery = "40 %"
stated_salinity_rise = "1.4 %"

[[recovery_devices]]
name = "quote-b"
device = "turbocharger"
efficiency = "77 %"
test_flow = "100 m3/h"
test_feed_flow = "170 m3/h"
test_pressure = "871 psig"
test_low_pressure = "1 barg"
stated_boost = "26.72 bar"

[[recovery_devices]]
name = "quote-c"
device = "pelton"
test_flow = "150 m3/h"
test_pressure = "60 barg"
test_low_pressure = "0 barg"
stated_power = "220 kW"

[[recovery_devices.curve]]
name = "most"
flow = "150 m3/h"
efficiency = "88 %"

[[recovery_devices.curve]]
name = "least"
flow = "50 m3/h"
efficiency = "70 %"

[[recovery_devices.curve]]
name = "half"
flow = "100 m3/h"
efficiency = "85 %"
"""


def with_sheets(device: str, sheet: str, more: str = "", sheets: str = SHEETS):
    text = paths.demo("harbour-town.toml").read_text(encoding="utf-8")
    line = f'device = "{device}"\nsheet = "{sheet}"\n{more}'
    return designs.from_text(text.replace('device = "isobaric"', line) + sheets)


def test_a_sheet_in_the_design_gives_the_device_its_values():
    """What the sheet says is given; what it leaves blank is the table's; what is written beside it goes before."""
    plant = shared.sized(with_sheets("isobaric", "quote-a"))
    of = plant.device
    assert float(of.mixing) == 0.035 and float(of.leakage) == 0.01
    assert of.mixing.id == "recovery_devices[quote-a].mixing"
    assert plant.ledger.lines[of.mixing.id].sort == "given"
    assert float(of.back_pressure) == pytest.approx(1e5) and of.back_pressure.id == "energy_recovery.back_pressure"
    flow = float(plant.ledger["membrane.concentrate_flow"]) * 3600
    assert int(plant.ledger["energy_recovery.units"]) == -(-flow // 40)
    beside = shared.sized(with_sheets("isobaric", "quote-a", 'mixing = "5 %"\n'))
    assert float(beside.device.mixing) == 0.05
    turbo = shared.sized(with_sheets("turbocharger", "quote-b"))
    assert float(turbo.pressure.by_corner["cold-aged"].passing.efficiency) <= 0.77 == float(turbo.device.efficiency)


def test_the_test_of_a_sheet_is_run_back():
    """By hand. Isobaric: q (1 - 0.01) at 59.5 bar and q at 1.4 bar out over q at 60 and 0.99 q at 2 bar in, 97.28 %;
    salinity (1 - 0.6 0.99 0.035)/(1 - 0.99 0.035) - 1 = 1.435 %. Turbocharger: 26.72 x 170/(100 x 59.05) = 76.92 %.
    Pelton: 220 kW over 250 kW, 88 %."""
    lines = shared.sized(with_sheets("isobaric", "quote-a")).ledger.lines
    assert float(lines["energy_recovery.test_efficiency"].value) == pytest.approx(60.305 / 61.98, rel=1e-9)
    assert float(lines["energy_recovery.test_salinity_rise"].value) == pytest.approx(0.014350, rel=1e-3)
    for name in ("test_efficiency", "test_salinity_rise"):
        assert lines[f"energy_recovery.{name}.check"].more["verdict"] == "passes"
    note = lines["energy_recovery.sheet_origin"].more
    assert note["verdict"] == "passes" and "2026-02-01" in note["why"] and "power out over in" in note["why"]
    turbo = shared.sized(with_sheets("turbocharger", "quote-b")).ledger.lines
    assert float(turbo["energy_recovery.test_efficiency"].value) == pytest.approx(0.7692, rel=2e-4)
    assert turbo["energy_recovery.test_boost.check"].more["verdict"] == "passes"
    pelton = shared.sized(with_sheets("pelton", "quote-c")).ledger.lines
    assert float(pelton["energy_recovery.test_efficiency"].value) == pytest.approx(0.88, rel=1e-9)
    assert pelton["energy_recovery.test_power.check"].more["verdict"] == "passes"


@pytest.mark.parametrize(("device", "sheet", "old", "new", "check"), [
    ("isobaric", "quote-a", '"97.5 %"', '"98.5 %"', "test_efficiency"),
    ("isobaric", "quote-a", '"1.4 %"', '"2.4 %"', "test_salinity_rise"),
    ("turbocharger", "quote-b", '"26.72 bar"', '"28 bar"', "test_boost"),
    ("pelton", "quote-c", '"220 kW"', '"226 kW"', "test_power")])
def test_a_sheet_that_does_not_agree_with_itself_fails(device, sheet, old, new, check):
    lines = shared.sized(with_sheets(device, sheet, sheets=SHEETS.replace(old, new))).ledger.lines
    assert lines[f"energy_recovery.{check}.check"].more["verdict"] == "fails"


def test_a_sheet_without_a_test_asks_for_a_look():
    bare = '\n[[recovery_devices]]\nname = "bare"\ndevice = "pelton"\nefficiency = "85 %"\n'
    note = shared.sized(with_sheets("pelton", "bare", sheets=bare)).ledger.lines["energy_recovery.sheet_origin"].more
    assert note["verdict"] == "review" and "source is blank" in note["why"] and "stated" not in note["why"]


@pytest.mark.parametrize("device", ["pelton", "turbocharger", "pump-as-turbine"])
def test_a_curve_of_efficiency_by_flow_is_followed(device):
    """At each case the efficiency is that of the curve at the flow through the machine, straight between points."""
    sheet = SHEETS[SHEETS.index('[[recovery_devices]]\nname = "quote-c"'):].replace('"pelton"', f'"{device}"')
    sheet = "\n" + "\n".join(row for row in sheet.splitlines() if not row.startswith(("test_", "stated_")))
    plant = shared.sized(with_sheets(device, "quote-c", sheets=sheet))
    lines = plant.ledger.lines
    assert "energy_recovery.efficiency_low" not in lines  # no range of sizes where a curve is given
    for corner in ("cold-new", "hot-aged"):
        at = plant.pressure.by_corner[corner].passing
        flow = float(at.flow) * 3600
        hand = np.interp(flow, [50, 100, 150], [0.70, 0.85, 0.88])
        assert float(lines[f"energy_recovery.efficiency@{corner}"].value) == pytest.approx(hand, rel=1e-12)
        if device != "pelton":  # which loses besides when jet and bucket no longer match
            assert float(at.efficiency) == pytest.approx(hand, rel=1e-12)
    given = shared.sized(with_sheets(device, "quote-c", 'efficiency = "80 %"\n', sheet))
    assert "energy_recovery.efficiency@cold-new" not in given.ledger.lines  # what is written beside it goes before


def test_a_curve_is_followed_over_cases():
    """`rate` runs the same curve on arrays: at the sized conditions the same efficiency."""
    plant = db.size(with_sheets("pelton", "quote-c"))
    rated = db.rate(plant, temperature=["14 degC", "29 degC"], age="3 year", fouling=0.95)
    for row, corner in ((0, "cold-aged"), (1, "hot-aged")):
        assert rated["hp_power"][row] == pytest.approx(float(plant[f"hp_pump.electric_power@{corner}"]), rel=1e-9)


@pytest.mark.parametrize(("device", "sheet", "sheets", "where", "words"), [
    ("isobaric", "quote-d", SHEETS, "energy_recovery.sheet", "quote-a"),
    ("isobaric", "quote-b", SHEETS, "energy_recovery.sheet", "another kind"),
    ("isobaric", "quote-a", SHEETS.replace('"3.5 %"', '"3.5"'), "recovery_devices[quote-a].mixing", "% sign"),
    ("isobaric", "quote-a", SHEETS.replace('test_low_pressure = "2 barg"\n', ""),
     "recovery_devices[quote-a].test_low_pressure", "must be given"),
    ("isobaric", "quote-a", SHEETS.replace("stated_salinity_rise", 'stated_power = "10 kW"\nstated_salinity_rise'),
     "recovery_devices[quote-a].stated_power", "no such result"),
    ("pelton", "quote-c", SHEETS.replace('"100 m3/h"\nefficiency', '"50 m3/h"\nefficiency'),
     "recovery_devices[quote-c].curve", "another flow"),
    ("isobaric", "quote-a", SHEETS.replace("low_pressure_drop", "low_presure_drop"),
     "recovery_devices[quote-a].low_presure_drop", "low_pressure_drop")])
def test_mistakes_on_a_sheet_are_refused_at_their_own_key(device, sheet, sheets, where, words):
    with pytest.raises(DesignError) as caught:
        size(with_sheets(device, sheet, sheets=sheets))
    assert str(caught.value).startswith(where) and words in str(caught.value) and "\n" not in str(caught.value)


def test_the_nested_sheets_of_before_are_refused_with_their_new_name():
    text = paths.demo("harbour-town.toml").read_text(encoding="utf-8")
    with pytest.raises(DesignError, match=r"use \[\[recovery_devices\]\]"):
        designs.from_text(text + '\n[[energy_recovery.sheets]]\nname = "a"\n')


@functools.cache
def flushed():
    return sized("harbour-town.toml", "isobaric", ("energy_recovery.over_flush", "8 %"))


def test_over_flush_is_pretreated_water_that_makes_no_product():
    """By hand: 8 % of the concentrate less its leakage goes through pretreatment, at low pressure through the device
    and to waste; the membranes take what they took before."""
    plain, plant = sized("harbour-town.toml", "isobaric"), flushed()
    lines, was = plant.ledger.lines, plain.ledger.lines
    more = 0.08 * float(was["membrane.concentrate_flow"].value) * (1 - float(plant.device.leakage))
    assert float(lines["duty.over_flush_flow"].value) == pytest.approx(more, rel=1e-9)
    for id in ("duty.feed_flow", "membrane.feed_pressure", "hp_pump.flow", "booster.flow"):
        assert float(lines[id].value) == pytest.approx(float(was[id].value), rel=1e-9), id
    feed = float(was["duty.feed_flow"].value)
    assert float(lines["duty.pretreated_flow"].value) == pytest.approx(feed + more, rel=1e-9)
    for id in ("duty.raw_flow", "duty.feed_flow_all", "energy.plant_specific"):
        assert float(lines[id].value) > float(was[id].value), id
    assert "duty.pretreated_flow" not in was


def test_the_device_of_an_over_flush_balances_at_every_corner():
    """Power in is out and losses; the low-pressure side takes more flow, and loses with its square."""
    for c, r in flushed().pressure.by_corner.items():
        assert imbalance(r.balance) < 1e-9, c
        before = sized("harbour-town.toml", "isobaric").pressure.by_corner[c]
        part = float(r.spent_flow) / float(before.spent_flow)
        assert 1.07 < part < 1.08 and float(r.low_drop) == pytest.approx(part**2 * float(before.low_drop), rel=1e-9)
        assert float(r.low_feed) == pytest.approx(1.08 * float(r.booster_flow), rel=1e-9)
        assert float(r.balance.efficiency) < float(before.balance.efficiency)


def test_water_and_salt_of_the_streams_close_with_an_over_flush():
    rows = {row["key"]: row for row in flushed().streams}
    for key in ("water_kg_s", "Cl_mol_s", "boron_kg_s"):
        out = sum(rows[name][key] for name in ("over_flush", "permeate", "concentrate"))
        assert out == pytest.approx(rows["ro_feed"][key], rel=1e-6), key


def test_only_a_device_with_chambers_is_flushed():
    with pytest.raises(DesignError, match="not flushed"):
        sized("harbour-town.toml", "pelton", ("energy_recovery.over_flush", "8 %"))
    assert len(compare_recovery(flushed().design)) == len(DEVICES)


def test_what_an_over_flush_moves_descends_from_it():
    plant = flushed()
    before = plant.ledger.lines
    with what_if({"energy_recovery.over_flush": 1.01}):
        after = size(plant.design).ledger.lines
    moved = changed(before, after)
    stray = moved - below("energy_recovery.over_flush", descendants(before, after))
    assert "duty.raw_flow" in moved and not stray, sorted(stray)[:5]
