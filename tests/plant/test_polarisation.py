"""Two polarisation factors: the trade's is a limit, that of film theory asks for a second look and picks nothing."""

from __future__ import annotations

import math

import pytest

import desalbook as db
from desalbook import paths
from desalbook.plant import size
from desalbook.trail import what_if
from tests import shared

CORRELATIONS = ("schock-miquel", "koutsou", "guillen-hoek")


@pytest.fixture(scope="module")
def design():
    return db.read(paths.demo("harbour-town.toml")).with_value("membrane.recovery", "42 %")


@pytest.fixture(scope="module")
def plants(design):
    return {name: size(design.with_value("membrane.mass_transfer", name)) for name in CORRELATIONS}


def test_a_usual_recovery_is_no_breach_whatever_the_correlation(plants):
    """Single-stage plants of seven-element vessels commonly run 40 to 45 %."""
    counts, films = set(), []
    for sized in plants.values():
        lines = sized.ledger.lines
        assert not [k for k, x in lines.items() if k.startswith("membrane.") and x.sort == "checked"
                    and x.more["verdict"] == "fails"]
        counts.add(lines["membrane.vessels"].value)
        films.append(float(lines["membrane.beta_max"].value))
    assert len(counts) == 1 and max(films) - min(films) > 0.05


def test_the_trades_factor_follows_from_the_element_recovery(plants):
    lines = plants["schock-miquel"].ledger.lines
    share = float(lines["membrane.element_recovery"].value)
    assert float(lines["membrane.recovery_polarisation"].value) == pytest.approx(math.exp(0.7 * share), rel=1e-12)
    assert lines["membrane.recovery_polarisation.check"].more["limit"] == 1.2


def test_film_theory_asks_for_a_second_look_and_picks_nothing(design):
    usual = size(design).ledger.lines
    assert usual["membrane.beta_max.check"].more["verdict"] == "passes"
    with what_if({"limits.beta_max": 1.1 / 1.25}):
        strict = size(design).ledger.lines
    assert strict["membrane.beta_max.check"].more["verdict"] == "review"
    assert strict["membrane.vessels"].value == usual["membrane.vessels"].value


def test_the_trades_factor_does_pick(design):
    with what_if({"limits.recovery_polarisation": 1.06 / 1.2}):
        lines = size(design).ledger.lines
    assert lines["membrane.vessels.binding"].more["verdict"] == "fails"
    assert lines["membrane.recovery_polarisation.check"].more["verdict"] == "fails"


def test_a_second_pass_has_both(tmp_path):
    from tests.plant.test_stages import SECOND, text_of

    path = tmp_path / "plant.toml"
    path.write_text(text_of(SECOND, vessels=32, recovery="36 %"), encoding="utf-8")
    lines = shared.plant(db.read(path)).ledger.lines
    assert lines["second_pass.recovery_polarisation.check"].more["limit"] == 1.3
    assert lines["second_pass.beta_max.check"].more["verdict"] in ("passes", "review")
