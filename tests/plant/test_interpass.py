"""Caustic between the passes: one dose for the membranes, the schedule of chemicals and the balance."""

from __future__ import annotations

import pytest

import desalbook as db
from desalbook.plant import size
from desalbook.problems import Infeasible
from desalbook.trail import what_if
from tests.plant.test_stages import OPTIONS, text_of
from tests.test_moving import below, changed, descendants

DOOR = '[interpass_ph]\npresent = "yes"\ntarget_ph = {}\n'


@pytest.fixture(scope="module")
def sized(tmp_path_factory):
    folder, made = tmp_path_factory.mktemp("interpass"), {}

    def of(option: str, extra: str = ""):
        if (option, extra) not in made:
            path = folder / "plant.toml"
            path.write_text(text_of(**OPTIONS[option]) + extra, encoding="utf-8")
            made[option, extra] = db.size(db.read(path))
        return made[option, extra]

    return of


@pytest.mark.parametrize("option", ["partial second pass", "permeate split", "all together"])
def test_what_the_membranes_take_up_is_what_the_schedule_doses(sized, option):
    plant = sized(option)
    row = plant.chemicals.set_index("key").loc["interpass_ph"]
    edge = {r["key"]: r for r in plant.sized.streams}["second_pass_caustic"]
    moles = edge["Na_mol_s"] * float(plant["duty.trains"])
    assert row["mass_rate"] == pytest.approx(moles * float(plant["interpass_ph.molar_mass"]), rel=1e-9)
    assert row["dose"] * row["flow"] == pytest.approx(row["mass_rate"], rel=1e-12)
    assert row["pump_capacity"] >= row["highest_rate"] > row["lowest_rate"] > 0
    assert row["store"] > 0 and row["yearly_cost"] > 0 and row["yearly_use"] > 0
    # the store lasts for what a year of the plant's availability asks for, 30 % w/w
    year = float(plant["duty.availability"]) * 365.25 * 86400 * row["mass_rate"] / 0.3
    assert row["yearly_use"] == pytest.approx(year, rel=1e-9)
    fed = {r["key"]: r for r in plant.sized.streams if "chemical_kg_s" in r}
    assert any("interpass" in k for k in fed)


def test_no_caustic_no_line(sized):
    assert "interpass_ph" not in set(sized("second pass without sodium hydroxide").chemicals["key"])
    rows = [set(sized(o).energy["key"]) for o in ("second pass without sodium hydroxide", "partial second pass")]
    assert rows[1] - rows[0] == {"dosing_interpass_ph"}


def test_either_section_states_the_target_and_both_give_the_same_plant(sized):
    first, other = sized("partial second pass"), sized("second pass without sodium hydroxide", DOOR.format(9.5))
    for id in ("membrane.permeate_boron", "interpass_ph.mass_rate", "interpass_ph.yearly_cost",
               "energy.plant_specific", "second_pass.feed_pressure"):
        assert float(other[id]) == float(first[id]), id
    assert "interpass_ph.target_ph" in other.ledger.lines["second_pass.element.ph_high.check"].parents()


def test_two_targets_are_a_finding_and_the_membranes_hold(sized):
    both = sized("partial second pass", DOOR.format(10))
    assert both.ledger.lines["interpass_ph.one_target"].more["verdict"] == "review"
    assert float(both["interpass_ph.dose"]) == float(sized("partial second pass")["interpass_ph.dose"])
    same = sized("partial second pass", DOOR.format(9.5))
    assert same.ledger.lines["interpass_ph.one_target"].more["verdict"] == "passes"


def test_another_alkali_is_refused_in_one_line(sized):
    with pytest.raises(Infeasible, match="sodium hydroxide") as caught:
        sized("second pass without sodium hydroxide", DOOR.format(9.5) + 'chemical = "soda-ash"\n')
    assert "\n" not in str(caught.value) and "caustic-soda" in str(caught.value)


@pytest.mark.parametrize(("option", "extra", "key", "how"), [
    ("partial second pass", "", "membrane.second_pass.ph", 1.01),
    ("partial second pass", "", "membrane.second_pass.chemical", "caustic-soda"),
    ("second pass without sodium hydroxide", DOOR.format(9.5), "interpass_ph.target_ph", 1.01),
    ("second pass without sodium hydroxide", DOOR.format(9.5), "interpass_ph.present", "no"),
    ("partial second pass", "", "membrane.second_pass.suction", 1.01)])
def test_what_moves_the_dose_descends(sized, option, extra, key, how):
    plant = sized(option, extra)
    before = plant.ledger.lines
    with what_if({key: how}):
        after = size(plant.design).ledger.lines
    moved = changed(before, after)
    stray = moved - below(key, descendants(before, after))
    assert len(moved) > 2 and not stray, sorted(stray)[:8]


@pytest.mark.parametrize("of", ["partial second pass"])
def test_the_alkali_of_the_schedule_is_the_sodium_of_the_stream(sized, of):
    """What the dosing line feeds to all trains, and what the balances of one train's second pass count."""
    plant = sized(of)
    streams = plant.streams.set_index("key")
    one = float(streams.loc["second_pass_caustic", "Na_mol_s"])
    assert one > 0
    fed = float(plant["interpass_ph.mass_rate"]) / float(plant["interpass_ph.molar_mass"])
    assert fed == pytest.approx(one * float(plant["duty.trains"]), rel=1e-12)
    assert float(streams.loc["interpass_ph", "chemical_kg_s"]) == pytest.approx(
        float(plant["interpass_ph.mass_rate"]), rel=1e-12)
    joined = streams.loc["second_feed_first", "Na_mol_s"] - streams.loc["second_taken", "Na_mol_s"]
    assert joined == pytest.approx(one, rel=1e-9)
