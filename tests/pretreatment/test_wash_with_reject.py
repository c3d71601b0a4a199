"""Filters backwashed with concentrate: its own density and viscosity, in the bed, in the pump and in the pipe."""

from __future__ import annotations

import pytest

from desalbook.plant.system_curves import curves
from tests.pretreatment.test_backwash_schedule import plant

G = 9.80665


@pytest.fixture(scope="module")
def both():
    return plant(), plant(filters__backwash_source="concentrate")


def test_the_pump_lifts_the_reject(both):
    raw, reject = both
    density = float(reject.ledger["membrane.concentrate_density@cold-aged"])
    assert density > 1.01 * float(reject.ledger["water.density@cold"])
    book = reject.ledger
    assert float(book["backwash_pump.pressure_rise"]) == pytest.approx(
        density * G * float(book["backwash_pump.head"]), rel=1e-12)
    line = book.lines["backwash_pump.pressure_rise"]
    assert line.inputs["density"].id == "membrane.concentrate_density@cold-aged"
    assert raw.ledger.lines["backwash_pump.pressure_rise"].inputs["density"].id == "water.density@cold"


def test_denser_and_more_viscous_water_lifts_the_bed_further(both):
    raw, reject = both
    mu = {s: float(b.ledger[f"{n}.viscosity@{c}"]) for s, b, n, c in
          (("raw", raw, "water", "cold"), ("reject", reject, "reject", "cold-aged"))}
    assert 1.03 < mu["reject"] / mu["raw"] < 1.15
    rate = {"filters__backwash_rate": "46 m/h"}
    one, other = (plant(**rate, **k).ledger for k in ({}, {"filters__backwash_source": "concentrate"}))
    for corner in ("cold", "hot"):
        assert float(other[f"filters.bed_rise@{corner}"]) > 1.02 * float(one[f"filters.bed_rise@{corner}"])
    # buoyant weight of the same grains: less in the denser water, in the ratio of the heads times densities
    w = {s: float(b["filters.bed_weight_head@cold"]) for s, b in (("raw", one), ("reject", other))}
    assert w["reject"] < w["raw"]


def test_viscosity_of_the_reject_is_that_of_its_own_salt(both):
    """The published salt factor by hand, at the concentrate's salinity; the relation has check points of its own."""
    _, reject = both
    book = reject.ledger
    s, mu = float(book["membrane.concentrate_salinity@cold-aged"]), float(book["reject.viscosity@cold-aged"])
    pure = float(book["water.pure_viscosity@cold"])
    t, x = float(book["water.temperature_cold"]) - 273.15, s / (1 + s)
    a, b = 1.541 + 1.998e-2 * t - 9.52e-5 * t * t, 7.974 - 7.561e-2 * t + 4.724e-4 * t * t
    assert mu == pytest.approx(pure * (1 + a * x + b * x * x), rel=1e-12)


def test_the_curve_of_the_wash_pump_is_in_metres_of_reject(both):
    _, reject = both
    row = next(r for r in curves(reject) if r["pump"] == "backwash_pump" and r["flow"] == 0.0)
    density = float(reject.ledger["membrane.concentrate_density@cold-aged"])
    assert row["pump_head"] == pytest.approx(float(reject.ledger["backwash_pump.shutoff_rise"]) / (density * G))


def test_service_and_rinse_stay_with_the_raw_water(both):
    raw, reject = both
    for id in ("filters.clean_head_loss@cold", "hp_pump.suction_pressure_rinsing"):
        assert float(raw.ledger[id]) == float(reject.ledger[id])
