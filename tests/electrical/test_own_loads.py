"""Loads that the owner lists, in load list, supply, generator, energy of the year and equipment."""

from __future__ import annotations

import pytest

from desalbook.design import from_text
from desalbook.plant import size
from desalbook.problems import Problem
from tests import shared
from tests.plant.test_energy import agrees
from tests.test_moving import below, changed, descendants

GENERATOR = '\n[power]\ngenerator = "yes"\n'
OWN = """
[[power.consumers]]
name = "workshop"
service = "Workshop"
kind = "workshop"
power = "20 kW"
hours = "8 h"
duty = "intermittent"
[[power.consumers]]
name = "air-con"
kind = "cooling"
power = "12 kW"
count = 2
season = "50 %"
panel = "train"
on_generator = "yes"
[[power.consumers]]
name = "distribution"
service = "Distribution pump"
power = "90 kW"
load_factor = "75 %"
motor = "90 kW"
drive = "yes"
count = 2
standby_count = 1
hours = "16 h"
"""


def made(text: str, recording: bool = False):
    return size(from_text(f"{shared.demo().text}\n{text}"), recording=recording)


@pytest.fixture(scope="module")
def base():
    return made(GENERATOR)


@pytest.fixture(scope="module")
def own():
    return made(GENERATOR + OWN, recording=True)


def test_the_year_holds_each_load_by_its_hours_once(base, own):
    rows, trains = {r["key"]: r for r in own.energy.rows()}, int(float(own.duty.trains))
    day = 8766 / 24  # days of a year
    for key, kwh in (("workshop", 20 * 0.3 * 8 * day), ("air-con", 12 * 0.7 * 2 * trains * 24 * day * 0.5),
                     ("distribution", 90 * 0.75 * 2 * 16 * day)):
        assert rows[f"own-{key}"]["energy"] / 3.6e6 == pytest.approx(kwh, rel=1e-12)
        assert rows[f"own-{key}"]["cost"] == pytest.approx(kwh * 0.12, rel=1e-12)
    agrees(own)  # the schedule of equipment says the same, and all rows are the bill
    listed = sum(r["energy"] for k, r in rows.items() if k.startswith("own-"))
    more = listed / (1 - float(own.ledger["energy.loss_fraction"]))
    assert float(own.ledger["energy.year"]) - float(base.ledger["energy.year"]) == pytest.approx(more, rel=1e-9)
    assert own.ledger["energy.emissions_year"] == pytest.approx(own.ledger["energy.year"] / 3.6e6 * 0.45, rel=1e-12)
    apart = {r["key"]: r["energy"] for r in base.energy.rows()}
    assert all(rows[k]["energy"] == e for k, e in apart.items() if k != "losses")  # nothing else moves


def test_the_supply_carries_them(base, own):
    a, b = base.power.loads, own.power.loads
    assert float(b.case_power["normal"]) - float(a.case_power["normal"]) == pytest.approx(
        (12 * 0.7 * 2 * 2 + 90 * 0.75 * 2) * 1e3, rel=1e-9)
    assert float(b.case_power["one_train"]) - float(a.case_power["one_train"]) == pytest.approx(
        (12 * 0.7 * 2 + 90 * 0.75 * 2) * 1e3, rel=1e-9)
    assert float(b.demand) - float(a.demand) > (12 * 0.7 * 2 * 2 + 90 * 0.75 * 2) * 1e3 * (1 - 1e-9)
    assert float(b.connected) - float(a.connected) == pytest.approx((20 + 12 * 4 + 90 * 3) * 1e3, rel=1e-9)
    assert float(own.power.transformer) > float(base.power.transformer)
    of = own.power.circuits
    assert of["own-distribution"].starter == "drive" and of["own-workshop"].starter == ""
    # the cable of a board carries its rating, not its mean
    assert float(of["own-workshop"].current) == pytest.approx(20e3 / 0.82 / (3**0.5 * 400), rel=1e-9)
    tags = [r["tag"] for r in own.equipment]
    assert len(set(tags)) == len(tags) and {"U-731", "U-732", "U-733"} <= set(tags)


def test_the_generator_carries_those_that_are_on_it(base, own):
    one_train = float(base.power.loads.case_power["one_train"])
    assert float(own.ledger["power.generator_power"]) - one_train == pytest.approx(12 * 0.7 * 2 * 1e3, rel=1e-9)
    every = made(GENERATOR + OWN.replace('duty = "intermittent"', 'on_generator = "yes"\nduty = "intermittent"'))
    assert float(every.ledger["power.generator_power"]) - float(own.ledger["power.generator_power"]) == pytest.approx(
        6e3, rel=1e-9)
    alone = made(GENERATOR + OWN.replace("90 kW", "400 kW"))  # its start does not trouble a generator it is not on
    assert float(alone.power.generator) == float(own.power.generator)


def test_a_motor_that_cannot_give_what_is_stated_fails():
    check = made(OWN.replace('motor = "90 kW"', 'motor = "75 kW"')).ledger.lines[
        "power.consumers[distribution].motor.check"]
    assert check.more["verdict"] == "fails"
    with pytest.raises(Problem, match="hours"):
        made(OWN.replace("16 h", "25 h"))


@pytest.mark.full
@pytest.mark.parametrize(("key", "value"), (
    ("workshop].hours", "9 h"), ("workshop].kind", "lighting"), ("air-con].panel", "common"),
    ("air-con].on_generator", "no"), ("distribution].drive", "no"), ("distribution].motor", "110 kW")))
def test_what_moves_with_an_entry_descends_from_it(own, key, value):
    id = f"power.consumers[{key}"
    after = size(from_text(f"{shared.demo().text}\n{GENERATOR}{OWN}").with_value(id, value)).ledger.lines
    before = own.ledger.lines
    moved = changed(before, after)
    assert len(moved) > 1 and moved <= below(id, descendants(before, after)), sorted(
        moved - below(id, descendants(before, after)))[:9]
