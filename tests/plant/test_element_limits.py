"""What the sheets bear: pH of feed and cleaning, chlorine that reaches the membranes."""

from __future__ import annotations

import pytest

import desalbook as db
from desalbook.plant import size
from desalbook.tables import table
from desalbook.trail import what_if
from tests.plant.test_local_ph import NO_ACID
from tests.plant.test_membrane_choices import SECOND, TEXT, text_of
from tests.test_moving import below, changed, descendants

YEAR = 31557600.0
ACID = '[acid]\npresent = "yes"\ntarget_ph = 6.8\n'


def sized(tmp_path, text: str):
    path = tmp_path / "plant.toml"
    path.write_text(text, encoding="utf-8")
    return db.size(db.read(path))


def test_every_sheet_has_its_limits_as_data():
    rows = table("elements")
    for key in rows.options():
        row = rows[key]
        low, high, least, most = (float(row[c].value) for c in (
            "ph_low", "ph_high", "ph_cleaning_low", "ph_cleaning_high"))
        assert 1 <= least <= low < 7 < high <= most <= 13
        # 1000 ppm hours before salt passage doubles and 0.1 mg/L of free chlorine: common practice for polyamide
        assert row["chlorine_tolerance"].value == pytest.approx(1e-3 * 1000 * 3600)
        assert row["max_free_chlorine"].value == pytest.approx(1e-4)


def test_the_feed_is_judged_at_every_temperature(tmp_path):
    plain = sized(tmp_path, TEXT)
    ph = [float(plain[f"feed.ph@{k}"]) for k in ("cold", "design", "hot")]
    assert (float(plain["membrane.feed_ph_low"]), float(plain["membrane.feed_ph_high"])) == (min(ph), max(ph))
    acid = sized(tmp_path, text_of().replace(NO_ACID, ACID))
    assert float(acid["membrane.feed_ph_low"]) == 6.8
    checks = plain.checks.set_index("id")
    assert set(checks.loc[["membrane.element.ph_low.check", "membrane.element.ph_high.check"], "verdict"]) == {"passes"}
    with what_if({"membrane.element.ph_high": 0.7}):
        after = size(plain.design).ledger.lines
    assert after["membrane.element.ph_high.check"].more["verdict"] == "fails"


def bare(tmp_path):
    """Chlorinated, and nothing takes it out."""
    i = TEXT.index("[dechlorination]")
    own = TEXT[i:TEXT.index("\n[", i + 1)]
    return sized(tmp_path, TEXT.replace(own, '[dechlorination]\npresent = "no"\nreason = "To see what is said"\n'))


def test_a_residual_that_reaches_them_is_judged_by_value_and_by_exposure(tmp_path):
    taken_out = sized(tmp_path, TEXT)
    assert "membrane.element.exposure" not in taken_out.ledger.lines
    plant = bare(tmp_path)
    residual, age = float(plant["chlorination.residual"]), float(plant["membrane.age"])
    assert float(plant["membrane.element.exposure"]) == pytest.approx(residual * age, rel=1e-12)
    assert age == pytest.approx(3 * YEAR)
    checks = plant.checks.set_index("id")
    for id in ("membrane.element.free_chlorine.check", "membrane.element.exposure.check"):
        assert checks.loc[id, "verdict"] == "fails" and plant.ledger.lines[id].more["do"], id


def test_each_type_in_a_mixed_vessel_and_the_second_pass_have_their_own(tmp_path):
    group = '[[membrane.element_by_position]]\nname = "rear"\nelement = "demo-a-standard"\nfirst = 7\nlast = 7\n'
    lines = sized(tmp_path, text_of("", group, 28)).ledger.lines
    assert "membrane.element_at[rear].ph_low.check" in lines
    lines = sized(tmp_path, text_of("", SECOND, 20)).ledger.lines
    assert lines["second_pass.element.ph_high.check"].more["verdict"] == "passes"


@pytest.mark.full
@pytest.mark.parametrize(("key", "how"), [
    ("membrane.element.ph_low", 1.01), ("membrane.element.max_free_chlorine", 1.01), ("membrane.age", 1.01),
    ("membrane.element.chlorine_tolerance", 1.01), ("chlorination.residual", 1.01),
    ("dechlorination.present", "yes"), ("chlorination.present", "no")])
def test_what_moves_these_checks_descends(tmp_path, key, how):
    plant = bare(tmp_path)
    before = plant.ledger.lines
    with what_if({key: how}):
        after = size(plant.design).ledger.lines
    moved = changed(before, after)
    stray = moved - below(key, descendants(before, after))
    assert len(moved) > 1 and not stray, sorted(stray)[:5]
