"""Rating and sizing are one model: at the sized corners they agree, and a case does not depend on its company."""

from __future__ import annotations

import functools
import tempfile
from pathlib import Path

import numpy as np
import pytest

import desalbook as db
from desalbook import paths
from desalbook.hydraulics.energy_recovery import DEVICES
from desalbook.plant.array import CORNERS
from tests import shared
from tests.plant.test_stages import OPTIONS, text_of

PLANTS = [
    *[(f"device {key}", (("energy_recovery.device", key),)) for key in DEVICES],
    ("no drive", (("hp_pump.drive", "no"),)),
    ("no drive, no recovery", (("hp_pump.drive", "no"), ("energy_recovery.device", "none"))),
    ("positive displacement", (("hp_pump.pump_class", "positive-displacement"),)),
    ("displacement without a drive, turbine", (("hp_pump.pump_class", "positive-displacement"), ("hp_pump.drive", "no"),
                                               ("energy_recovery.device", "pelton"))),
    ("three pumps on duty", (("hp_pump.duty_count", "3"),)),
]
STAGED = ("two stages", "two stages with boost", "three stages", "recycle", "full second pass", "partial second pass",
          "permeate split", "concentrate to waste", "all together")


@functools.cache
def sized(changes: tuple[tuple[str, str], ...] | str):
    if isinstance(changes, str):
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "plant.toml"
            path.write_text(text_of(**OPTIONS[changes]), encoding="utf-8")
            return shared.sized(db.read(path))
    return shared.sized(db.read(paths.demo("harbour-town.toml")).with_values(dict(changes)))


def conditions(plant) -> dict[str, np.ndarray]:
    """Of the sized corners, in their order."""
    aged = float(plant.ledger["membrane.age"])
    return {"temperature": np.array([float(plant.waters.at[c.temperature].temperature) for c in CORNERS]),
            "age": np.array([aged if c.membranes == "aged" else 0.0 for c in CORNERS])}


def rate(plant, **given):
    from desalbook.plant import rate

    return rate(plant, **given)


@pytest.mark.parametrize("changes", [c for _, c in PLANTS] + list(STAGED), ids=[n for n, _ in PLANTS] + list(STAGED))
def test_the_pressure_train_at_the_sized_corners_equals_the_record(changes):
    plant = sized(changes)
    got = rate(plant, **conditions(plant))
    assert list(got["reason"]) == [""] * len(CORNERS)
    for i, c in enumerate(CORNERS):
        run, r = plant.pressure.runs[c], plant.array.by_corner[c]
        for key, expect in {
                "feed_pressure": r["feed_pressure"], "concentrate_flow": r["concentrate_flow"],
                "hp_flow": run.recovery.hp_flow, "hp_rise": run.hp.pump_rise, "hp_speed": run.hp.speed_ratio,
                "hp_load": run.hp.motor_load, "hp_power": run.hp_power, "booster_power": run.booster_power,
                "concentrate_power": run.concentrate_power, "section_power": run.section_power,
                "exhaust_pressure": run.recovery.exhaust_pressure}.items():
            assert float(got[key][i]) == pytest.approx(float(expect), rel=1e-9, abs=1e-12), (key, c)


@pytest.mark.parametrize("changes", [PLANTS[0][1], PLANTS[4][1], "two stages with boost", "partial second pass"],
                         ids=["valve", "isobaric", "stages", "second pass"])
def test_a_case_does_not_depend_on_its_company(changes):
    plant = sized(changes)
    rng = np.random.default_rng(1502)
    n = 150
    given = {"temperature": rng.uniform(285, 305, n), "salinity": rng.uniform(0.025, 0.042, n),
             "age": rng.uniform(0, 9e7, n)}
    company = rate(plant, **given)
    assert sum(x == "" for x in company["reason"]) > 0.9 * n
    for i in rng.choice(n, 12, replace=False):
        alone = rate(plant, **{k: v[i:i + 1] for k, v in given.items()})
        for key, value in alone.items():
            if key == "caution":
                assert value[0] == company[key][i]
            elif key not in ("id", "reason"):
                assert np.array_equal(value, company[key][i:i + 1], equal_nan=True) or \
                    value[0] == pytest.approx(company[key][i], rel=1e-12), (key, i)


def test_friction_factors_over_cases_are_those_of_the_library():
    """Each case alone, smooth to rough, laminar to fully rough. Source: the library's exact root of Colebrook."""
    from fluids.friction import friction_factor

    from desalbook.hydraulics.pipes import colebrook_over_cases

    for roughness in (0.0, 1e-6, 1e-4, 1e-3, 0.05):
        reynolds = np.geomspace(300.0, 1e8, 300)
        found = colebrook_over_cases(reynolds, roughness)
        one_by_one = np.array([friction_factor(Re=float(x), eD=roughness) for x in reynolds])
        assert np.allclose(found, one_by_one, rtol=1e-14, atol=0)
        assert np.array_equal(found[7:8], colebrook_over_cases(reynolds[7:8], roughness))


def test_a_case_past_the_limits_of_the_plant_is_never_silent():
    """Hot, cold, salty and overloaded cases name the checks of the sized plant that they fail."""
    plant = sized((("energy_recovery.device", "isobaric"),))
    fine = rate(plant, temperature=float(plant.waters.at["design"].temperature), age=0.0)
    assert fine["reason"][0] == ""
    hot = rate(plant, temperature=[273.15 + 47, 298.15])
    assert "Water temperature within the element: above 45" in hot["caution"][0]
    assert "temperature" not in hot["caution"][1]
    salty = rate(plant, salinity=0.060, temperature=285.0)
    assert "vessel rating" in salty["caution"][0] and "within the element" in salty["caution"][0]
    assert "HP motor load, maximum" in salty["caution"][0] or salty["hp_load"][0] < 1.0


def test_cautions_at_the_sized_corners_are_the_failed_checks_of_the_record():
    for changes in ((("membrane.recovery", "50 %"),), (("membrane.vessels", "24"),)):
        plant = sized(changes)
        failed = {line.title for line in plant.ledger.lines.values()
                  if line.sort == "checked" and line.more["verdict"] == "fails" and line.id.startswith("membrane.")
                  and line.id.endswith(".check") and line.scope == "train"}
        said = {part.partition(":")[0] for text in rate(plant, **conditions(plant))["caution"]
                for part in text.split("; ") if part}
        assert failed and failed <= said, (failed, said)
        holding = {line.title for line in plant.ledger.lines.values()
                   if line.sort == "checked" and line.more["verdict"] in ("passes", "marginal")}
        assert not said & holding
