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
from tests.plant.test_membrane_choices import TEXT, proofs, rated
from tests.rate_si import rate_si
from tests.test_moving import below, changed, descendants

TIGHT, OPEN = "demo-a-high-rejection", "demo-b-low-energy"
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
            low, here, high = (float(p.sized.array.by_corner[corner][name]) for p in three)
            assert low < here < high, (corner, name)
        high, here, low = (float(p.sized.array.by_corner[corner]["feed_pressure"]) for p in three)
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
    np.testing.assert_allclose(lines["membrane.slice_area"].value, [37 / 2] * 6 + [42 / 2] * 8, rtol=1e-12)
    assert float(mixed["membrane.mean_area"]) == pytest.approx((3 * 37 + 4 * 42) / 7, rel=1e-12)
    assert float(mixed["membrane.flux@cold-new"]) == pytest.approx(
        float(mixed["duty.train_permeate"]) / (28 * (3 * 37 + 4 * 42)), rel=1e-9)
    # the laws applied by hand to the recorded columns
    c = {k: np.asarray(lines[f"membrane.node_{k}@hot-aged"].value) for k in (
        "flux", "pressure", "osmotic_wall", "osmotic_permeate")}
    driven = np.asarray(a.value) * t.net_driving_pressure.plain(
        c["pressure"], float(mixed["membrane.permeate_pressure"]), c["osmotic_wall"], c["osmotic_permeate"])
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
    many = rate_si(three[1], temperature=np.linspace(285, 303, 40), water_factor=np.linspace(0.9, 1.1, 40))
    assert not many["reason"].any()


SHARES = ("feed_pressure", "element_drop", "vessel_feed", "vessel_concentrate")


def test_each_position_is_judged_by_its_own_sheet(three):
    """Recomputed from the recorded columns; the check takes the one that comes nearest to its own limit."""
    lines, tight, open_ = three[1].ledger.lines, {}, {}
    for name, of in (("element", tight), ("element_at[rear]", open_)):
        of.update({k: float(lines[f"membrane.{name}.{k}"].value) for k in (
            "max_pressure", "max_pressure_drop", "max_feed_flow", "min_concentrate_flow", "area")})
    assert tight["max_pressure"] > open_["max_pressure"]
    sheets, got = [tight] * 3 + [open_] * 4, dict.fromkeys((*SHARES, "lead_flux"), 0.0)
    for corner in (f"{k}-{age}" for k in ("cold", "design", "hot") for age in ("new", "aged")):
        def column(name, at=corner):
            return np.array(lines[f"membrane.{name}@{at}"].value)

        water = column("element_water_in"), column("element_water_out")
        before = column("element_pressure_in")
        before[0] = float(lines[f"membrane.feed_pressure@{corner}"].value)
        rho_w = three[1].sized.waters.at[corner.split("-")[0]].density_curve["rho_0"]
        for e, sheet in enumerate(sheets):
            flow = [(column(f"node_water_{end}")[2 * e + i] + column(f"node_salt_{end}")[2 * e + i]) / 1e3
                    for i, end in enumerate(("in", "out"))]  # over 1000 kg/m3: within the density's few per cent
            found = {"feed_pressure": before[e] / sheet["max_pressure"],
                     "element_drop": (column("element_pressure_in")[e] - column("element_pressure_out")[e])
                     / sheet["max_pressure_drop"],
                     "vessel_feed": flow[0] / sheet["max_feed_flow"],
                     "vessel_concentrate": sheet["min_concentrate_flow"] / flow[1],
                     "lead_flux": (water[0][e] - water[1][e]) / float(rho_w) / sheet["area"]}
            got = {k: max(v, found[k]) for k, v in got.items()}
    for name, value in got.items():
        rel = 0.05 if name in ("vessel_feed", "vessel_concentrate") else 1e-9
        assert float(lines[f"membrane.{name}_position"].value) == pytest.approx(value, rel=rel), name
    check = lines["membrane.feed_pressure.check"]
    assert check.title.endswith("position 4, type rear") and check.more["limit"] == open_["max_pressure"]
    assert check.value < float(lines["membrane.feed_pressure"].value)


def test_a_weak_type_may_stand_where_the_pressure_has_fallen(three):
    """Its limit lies between the pressure at the inlet and that before its own place; further down it would break."""
    lines = three[1].ledger.lines
    before = lines["membrane.element_pressure_in@cold-aged"].value
    top = float(lines["membrane.feed_pressure"].value)
    for limit, verdict in (((before[3] + top) / 2, {"marginal"}), ((before[3] + before[4]) / 2, {"fails"})):
        with what_if({"membrane.element_at[rear].max_pressure": limit / 70e5}):
            after = size(three[1].design).ledger.lines
        assert {after["membrane.feed_pressure.check"].more["verdict"]} == verdict
        assert after["membrane.feed_pressure.check"].title.endswith("position 4, type rear")


def test_open_elements_behind_tight_ones_may_have_the_highest_flux(tmp_path):
    groups = GROUP.format("front", TIGHT, 1, 1)
    plant = made(tmp_path, groups, element=OPEN)
    check = plant.ledger.lines["membrane.lead_flux.check"]
    assert "position 2, the type of the rest" in check.title
    assert check.value > float(plant["membrane.lead_flux"])


def test_the_solver_for_the_pick_sees_the_same_shares(three):
    from desalbook.plant.positions import with_positions

    array = three[1].sized.array
    mixed = array.plan.sheet.mixed
    for corner, rows in array.positions["membrane"].items():
        r, i = array.by_corner[corner]["solution"]
        out = with_positions(mixed, r, None).out
        for name in SHARES:
            assert out[f"{name}_used"][i] == pytest.approx(max(float(x[3]) for x in rows[name]), rel=1e-9), corner
        assert out["lead_flux"][i] == pytest.approx(max(float(x[1]) for x in rows["lead_flux"]), rel=1e-9)


def test_uneven_flow_is_a_margin_on_every_position(three, tmp_path):
    path = tmp_path / "plant.toml"
    text = TEXT.replace('recovery = "39 %"', 'recovery = "39 %"\nvessels = 28\nflow_spread = "10 %"\n')
    path.write_text(text.replace("[energy_recovery]", f"{REAR}\n[energy_recovery]"), encoding="utf-8")
    rows, even = (p.sized.array.positions["membrane"]["hot-aged"] for p in (db.size(db.read(path)), three[1]))
    for one, other in zip(rows["vessel_feed"], even["vessel_feed"], strict=True):
        assert float(one[1]) == pytest.approx(1.1 * float(other[1]), rel=1e-9)
    feed = float(even["vessel_feed"][0][1])
    for one, other in zip(rows["vessel_concentrate"], even["vessel_concentrate"], strict=True):
        assert float(one[1]) == pytest.approx(float(other[1]) - 0.1 * feed, rel=1e-9)


def test_a_position_whose_limit_stops_every_count_is_named(tmp_path):
    """The count is judged by the same shares: a rear type that bears little pressure asks for more vessels."""
    path = tmp_path / "plant.toml"
    path.write_text(TEXT.replace("[energy_recovery]", f"{REAR}\n[energy_recovery]"), encoding="utf-8")
    plant = db.size(db.read(path))
    few = float(plant["membrane.vessels"])
    before = float(plant.ledger.lines["membrane.feed_pressure.check"].value)
    with what_if({"membrane.element_at[rear].max_pressure": 0.97 * before / 70e5}):
        after = size(plant.design).ledger.lines
    assert float(after["membrane.vessels"].value) > few
    assert after["membrane.feed_pressure.check"].more["verdict"] != "fails"


def test_the_count_is_picked_for_mixed_vessels(tmp_path):
    path = tmp_path / "plant.toml"
    groups = GROUP.format("rear", "demo-b-high-boron", 6, 7)
    path.write_text(TEXT.replace("[energy_recovery]", f"{groups}\n[energy_recovery]"), encoding="utf-8")
    plant = db.size(db.read(path))
    assert plant.ledger.lines["membrane.vessels"].sort == "picked" and proofs(plant) < 1e-9


@pytest.mark.parametrize(("groups", "more", "words"), [
    (GROUP.format("rear", OPEN, 6, 8), "", "no such positions"),
    (GROUP.format("rear", OPEN, 3, 2), "", "no such positions"),
    (GROUP.format("rear", "demo-c-small", 7, 7), "", "does not fit")])
def test_what_does_not_go_is_named(tmp_path, groups, more, words):
    with pytest.raises(Infeasible, match=words) as caught:
        made(tmp_path, groups, more=more)
    assert "\n" not in str(caught.value)


AT = "membrane.element_by_position[rear]"


@pytest.mark.parametrize(("key", "how"), [
    (f"{AT}.element", "demo-a-standard"), (f"{AT}.first", 1.25), (f"{AT}.last", 6 / 7), ("membrane.element", OPEN),
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
