"""Vessels with element types by position: sized, recorded, rated and refused."""

from __future__ import annotations

import numpy as np
import pytest

import desalbook as db
from desalbook import paths
from desalbook.membrane import transport as t
from desalbook.plant import size
from desalbook.problems import Infeasible
from desalbook.trail import what_if
from tests.plant.test_membrane_choices import STAGES, TEXT, proofs, rated
from tests.test_moving import below, changed, descendants

TIGHT, OPEN = "sw-37-high-rejection", "sw-41-low-energy"
GROUP = '[[membrane.element_by_position]]\nname = "{}"\nelement = "{}"\nfirst = {}\nlast = {}\n'
REAR = GROUP.format("rear", OPEN, 4, 7)


def made(tmp_path, groups: str = "", element: str = TIGHT, more: str = "", vessels: int = 28):
    text = TEXT.replace('recovery = "39 %"', f'recovery = "39 %"\nvessels = {vessels}\n').replace(
        f'element = "{TIGHT}"', f'element = "{element}"')
    path = tmp_path / "plant.toml"
    path.write_text(text.replace("[energy_recovery]", f"{groups}{more}\n[energy_recovery]"), encoding="utf-8")
    return db.size(db.read(path))


@pytest.fixture(scope="module")
def three(tmp_path_factory):
    folder = tmp_path_factory.mktemp("mixed")
    return [made(folder), made(folder, REAR), made(folder, element=OPEN)]


def test_the_record_of_a_mixed_vessel_is_proved_and_lies_between_the_pure_ones(three):
    mixed = three[1]
    assert proofs(mixed) < 1e-9
    for corner in ("cold-new", "design-aged", "hot-aged"):
        for name in ("permeate_tds", "permeate_boron"):
            low, here, high = (float(p.sized.parts["array"].by_corner[corner][name]) for p in three)
            assert low < here < high, (corner, name)
        high, here, low = (float(p.sized.parts["array"].by_corner[corner]["feed_pressure"]) for p in three)
        assert low < here < high
        end = mixed.ledger.lines[f"membrane.end_flux@{corner}"].more["residual"]
        assert max(r["relative"] for r in end) < 1e-9


def test_each_slice_has_its_own_elements_figures(three):
    tight, mixed, open_ = three
    lines = mixed.ledger.lines
    a = lines["membrane.water_permeability@hot-aged"]
    own = [float(p.ledger.lines["membrane.water_permeability@hot-aged"].value) for p in (tight, open_)]
    assert a.keys[0] == "1.1" and a.keys[-1] == "7.2"
    np.testing.assert_allclose(a.value, [own[0]] * 6 + [own[1]] * 8, rtol=1e-9)
    np.testing.assert_allclose(lines["membrane.slice_area"].value, [37.2 / 2] * 6 + [40.9 / 2] * 8, rtol=1e-12)
    assert float(mixed["membrane.mean_area"]) == pytest.approx((3 * 37.2 + 4 * 40.9) / 7, rel=1e-12)
    assert float(mixed["membrane.flux@cold-new"]) == pytest.approx(
        float(mixed["duty.train_permeate"]) / (28 * (3 * 37.2 + 4 * 40.9)), rel=1e-9)
    # the laws applied by hand to the recorded columns
    c = {k: np.asarray(lines[f"membrane.node_{k}@hot-aged"].value) for k in (
        "flux", "pressure", "osmotic_wall", "osmotic_permeate")}
    driven = t.driven_flux.plain(np.asarray(a.value), c["pressure"], float(mixed["membrane.permeate_pressure"]),
                                 c["osmotic_wall"], c["osmotic_permeate"])
    np.testing.assert_allclose(c["flux"], driven, rtol=1e-9)


def test_tight_elements_in_front_and_open_ones_behind_even_the_flux(three):
    lead = [float(p["membrane.lead_flux"]) / float(p["membrane.flux"]) for p in three]
    assert lead[1] < lead[0] and lead[1] < lead[2]


def test_the_same_type_by_position_changes_nothing(three, tmp_path):
    same = made(tmp_path, GROUP.format("front", TIGHT, 1, 3) + GROUP.format("end", TIGHT, 7, 7))
    for id in ("membrane.feed_pressure", "membrane.permeate_boron", "membrane.beta_max", "energy.plant_specific"):
        assert float(same[id]) == pytest.approx(float(three[0][id]), rel=1e-9), id
    assert proofs(same) < 1e-9


def test_rating_gives_the_mixed_corners_back(three):
    rated(three[1])
    many = db.rate(three[1], temperature=np.linspace(285, 303, 40), water_factor=np.linspace(0.9, 1.1, 40))
    assert not many["reason"].any()


def test_the_strictest_sheet_judges(three):
    mixed = three[1]
    assert mixed.ledger.lines["membrane.sheet_max_pressure"].value == pytest.approx(69e5)
    assert "membrane.sheet_max_pressure" in mixed.ledger.lines["membrane.feed_pressure.check"].parents()


def test_the_count_is_picked_for_mixed_vessels(tmp_path):
    path = tmp_path / "plant.toml"
    groups = GROUP.format("rear", "sw-41-high-boron", 6, 7)
    path.write_text(TEXT.replace("[energy_recovery]", f"{groups}\n[energy_recovery]"), encoding="utf-8")
    plant = db.size(db.read(path))
    assert plant.ledger.lines["membrane.vessels"].sort == "picked" and proofs(plant) < 1e-9


@pytest.mark.parametrize(("groups", "more", "words"), [
    (REAR, STAGES, "one stage and one pass"),
    (GROUP.format("rear", OPEN, 6, 8), "", "no such positions"),
    (GROUP.format("rear", OPEN, 3, 2), "", "no such positions"),
    (GROUP.format("rear", "sw-4-inch", 7, 7), "", "does not fit")])
def test_what_does_not_go_is_named(tmp_path, groups, more, words):
    with pytest.raises(Infeasible, match=words) as caught:
        made(tmp_path, groups, more=more)
    assert "\n" not in str(caught.value)


AT = "membrane.element_by_position[rear]"


@pytest.mark.parametrize(("key", "how"), [
    (f"{AT}.element", "sw-37-ordinary"), (f"{AT}.first", 1.25), (f"{AT}.last", 6 / 7), ("membrane.element", OPEN),
    ("membrane.element_at[rear].area", 1.01), ("membrane.element_at[rear].rated_boron_rejection", 0.99),
    ("membrane.element_at[rear].spacer_height", 1.01), ("membrane.element_at[rear].max_pressure", 0.99),
    ("membrane.elements", 1.0 + 1 / 7)])
def test_what_these_keys_move_descends_from_them(three, key, how):
    plant = three[1]
    before = plant.ledger.lines
    with what_if({key: how}):
        after = size(plant.design).ledger.lines
    moved = changed(before, after)
    stray = moved - below(key, descendants(before, after))
    assert len(moved) > 2 and not stray, sorted(stray)[:5]


def test_pages_and_tables_of_a_mixed_plant(three, tmp_path):
    from desalbook.plant.vessel_table import envelope, guideline_table, vessel_profile

    assert len(vessel_profile(three[1])) == 7 and len(envelope(three[1])) == 8
    assert len(guideline_table(three[1])) > 40
    assert paths.demo("harbour-town.toml").exists()
