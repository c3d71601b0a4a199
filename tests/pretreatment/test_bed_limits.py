"""Beds that lose media or change order, runs by solids, nozzles and support: through the plant."""

from __future__ import annotations

import numpy as np
import pytest

from desalbook.pretreatment import granular_beds
from desalbook.pretreatment.bed_limits import Grains, rate_at_inversion
from tests.pretreatment.test_backwash_schedule import plant

COARSE = {"filters__layers[anthracite].media": "anthracite-coarse", "filters__layers[sand].media": "sand-fine"}


def test_media_reach_the_collector_at_a_flow_that_is_named():
    sized = plant(filters__backwash_rate="110 m/h")
    line = sized.ledger.lines["filters.loss_rate@cold"]
    assert sized.ledger.lines["filters.loss_rate.check@cold"].more["verdict"] == "fails"
    # independent: the rise at that rate, by a scan of the closed relation, is the freeboard
    media = sized.pretreated
    assert line.value * 3600 < 110 and line.more["residual"][0]["relative"] < 1e-7
    assert sized.ledger.lines["filters.bed_rise.check"].more["verdict"] == "fails"
    assert media.wash_rate.rise_cold > 0.6


def test_a_smaller_freeboard_lowers_the_flow_that_loses_media():
    rates = [plant(filters__freeboard=f).ledger.lines["filters.loss_rate@cold"].value for f in ("0.3 m", "0.6 m")]
    assert rates[0] < rates[1]


def test_layers_that_change_places_are_caught_with_the_flow():
    quiet = plant(**COARSE, filters__backwash_rate="60 m/h")
    fast = plant(**COARSE, filters__backwash_rate="119 m/h", filters__freeboard="2 m")
    at = quiet.ledger.lines["filters.mixing[anthracite].rate@hot"].value * 3600
    assert 60 < at < 200
    assert quiet.ledger.lines["filters.mixing[anthracite].note@hot"].more["verdict"] == (
        "review" if at < 60 else "passes")
    line = fast.ledger.lines["filters.mixing[anthracite].note@cold"]
    assert line.more["verdict"] == ("review" if fast.ledger.lines["filters.mixing[anthracite].rate@cold"].value
                                    * 3600 < 119 else "passes")


def test_a_bed_written_upside_down_fails():
    upside = {"filters__layers[anthracite].media": "sand", "filters__layers[sand].media": "anthracite"}
    line = plant(**upside).ledger.lines["filters.inversion[anthracite].note@cold"]
    assert line.more["verdict"] == "fails" and "even at rest" in line.more["why"]


def test_equal_density_is_a_root_of_both_sides():
    upper, lower = Grains(2.456e-3, 1650.0, 0.5), Grains(0.45e-3, 2650.0, 0.415)
    rho, mu = 1027.0, 1.25e-3
    at = rate_at_inversion(upper, lower, rho, mu)
    assert at is not None

    def dense(v, layer):
        galileo = granular_beds.galileo_number.plain(layer.size, rho, layer.grain_density, mu)
        reynolds = granular_beds.superficial_reynolds.plain(layer.size, v, rho, mu)
        eps = float(granular_beds.expanded_porosity.plain(reynolds, galileo, layer.settled_porosity))
        return (1 - eps) * layer[1] + eps * rho

    assert dense(at, upper) == pytest.approx(dense(at, lower), rel=1e-9)
    assert dense(at * 0.9, upper) < dense(at * 0.9, lower) and dense(at * 1.1, upper) > dense(at * 1.1, lower)


def test_three_losses_side_by_side():
    ledger = plant().ledger
    for corner in ("cold", "hot"):
        base = ledger[f"filters.clean_head_loss@{corner}"]
        assert ledger[f"filters.rose_loss@{corner}"] > ledger[f"filters.kozeny_loss@{corner}"] > base
    assert ledger["filters.kozeny_loss@cold"] > ledger["filters.kozeny_loss@hot"]


def test_dirty_water_shortens_the_run_and_fails():
    sized = plant(water__suspended_solids="300 mg/L")
    lines = sized.ledger.lines
    assert lines["filters.run_usual.check"].more["verdict"] == "fails"
    assert lines["filters.run_worst.check"].more["verdict"] == "fails"
    assert lines["filters.run_usual"].value < lines["filters.run_length"].value
    clean = plant().ledger.lines
    ratio = clean["filters.run_usual"].value / lines["filters.run_usual"].value
    assert ratio == pytest.approx(lines["filters.solids_usual"].value / clean["filters.solids_usual"].value, rel=1e-9)


def test_turbid_filtrate_and_tight_underdrain_fail():
    lines = plant(water__turbidity="40 NTU", filters__orifice_fraction="0.1 %").ledger.lines
    assert lines["filters.filtrate_turbidity.check"].more["verdict"] == "fails"
    assert lines["filters.nozzle_drop.check"].more["verdict"] == "fails"


def test_air_in_a_shallow_bed_is_said():
    shallow = {"filters__layers[anthracite].depth": "0.3 m", "filters__layers[sand].depth": "0.3 m"}
    assert plant(**shallow).ledger.lines["filters.scour_depth.check"].more["verdict"] == "fails"
    assert "filters.scour_depth.check" not in plant(**shallow, filters__scour="none").ledger.lines
    with_water = plant(filters__scour="air-with-water").ledger
    assert 0 < with_water["filters.scour_water_rate"] < np.min(with_water["filters.fluidisation_rate@cold"].values)


def test_gravel_too_coarse_for_the_sand_is_said():
    lines = plant(**{"filters__layers[gravel].media": "gravel-coarse"}).ledger.lines
    assert lines["filters.support_step.check"].more["verdict"] == "fails"


def test_a_wash_too_slow_for_summer_is_said():
    """Each layer has its verdict: at 33 m/h the anthracite is not lifted and the sand hardly, at 50 only one passes."""
    verdicts = {}
    for rate in ("33 m/h", "50 m/h", "62 m/h"):
        lines = plant(filters__backwash_rate=rate).ledger.lines
        checks = (lines[f"filters.layer_expansion[{n}].check@hot"] for n in ("anthracite", "sand"))
        verdicts[rate] = [check.more["verdict"] for check in checks]
        expansion = lines["filters.backwash_expansion_by_layer@hot"].value
        begins = lines["filters.layer_fluidisation@hot"].value * 3600
        assert [e > 0 for e in expansion] == [float(rate[:2]) > v for v in begins]
    assert verdicts["33 m/h"] == ["fails", "fails"] and verdicts["50 m/h"] == ["passes", "fails"]
    assert "fails" not in verdicts["62 m/h"]


def test_a_layer_that_is_not_lifted_fails_however_the_bed_does():
    """Coarse anthracite at rest over sand that expands by a quarter: the bed as a whole would have passed at 5 %."""
    lines = plant(**COARSE, filters__backwash_rate="45 m/h").ledger.lines
    expansion = dict(zip(("anthracite", "sand"), lines["filters.backwash_expansion_by_layer@hot"].value, strict=True))
    assert expansion["anthracite"] == 0.0 and expansion["sand"] > 0.15
    assert lines["filters.layer_expansion[anthracite].check@hot"].more["verdict"] == "fails"
    assert lines["filters.layer_expansion[sand].check@hot"].more["verdict"] != "fails"
    assert lines["filters.bed_expansion@hot"].value > 0.05
