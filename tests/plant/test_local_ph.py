"""Boron by its species at the pH of each place along the vessel: from the doses to the record and to rating."""

from __future__ import annotations

import numpy as np
import pytest

import desalbook as db
from desalbook import membrane as m
from desalbook.plant import size
from desalbook.trail import what_if
from desalbook.water.phreeqc import DATABASES, Water, complete, speciate
from tests.plant.test_membrane_choices import SECOND, proofs, rated, text_of
from tests.test_moving import below, changed, descendants

pytestmark = pytest.mark.full

NO_ACID = '[acid]\npresent = "no"\nreason = "Boron: a lower pH lets more of it pass"\n'
ACID = '[acid]\npresent = "yes"\ntarget_ph = 7.0\n'


@pytest.fixture(scope="module")
def plants(tmp_path_factory):
    folder, made = tmp_path_factory.mktemp("local"), {}

    def of(acid: str = "", more: str = "", vessels: int = 24):
        if (acid, more) not in made:
            path = folder / "plant.toml"
            path.write_text(text_of("", more, vessels).replace(NO_ACID, acid or NO_ACID), encoding="utf-8")
            made[acid, more] = db.size(db.read(path))
        return made[acid, more]

    return of


@pytest.mark.parametrize("acid", ["", ACID], ids=["as it is", "acidified"])
@pytest.mark.parametrize("key", ["cold", "hot"])
def test_the_share_of_borate_at_the_last_slice_is_the_engines(plants, acid, key):
    """The engine asked for the bulk there, apart from the fit: pH at the feed is the plant's own, so ratios count."""
    plant = plants(acid)
    share, x = (plant.ledger.lines[f"membrane.node_{n}@{key}-aged"].value for n in ("borate_fraction", "salinity"))
    fed = plant.sized.feed
    strength = x[-1] / float(plant["water.salinity"])
    assert 1.4 < strength < 1.8
    whole, temperature = complete(fed.water(key)), float(plant[f"water.temperature_{key}"])
    feed = speciate(whole, temperature)
    end = speciate(Water(tuple((k, v * strength) for k, v in whole.molality), whole.alkalinity * strength,
                         (whole.carbon - feed.co2) * strength + feed.co2, None, whole.temperature), temperature)
    moved = end.borate / end.boric_acid * feed.boric_acid / feed.borate
    ph, pk = (float(plant.ledger.lines[id].value) for id in (
        f"{'acid' if acid else 'feed'}.ph_total" + ("" if acid else f"@{key}"), f"membrane.pk_boric@{key}-aged"))
    odds = 10 ** (ph - pk) * moved
    assert share[-1] == pytest.approx(odds / (1 + odds), rel=5e-3)


def test_acid_lets_more_boron_pass_and_its_water_shifts_most(plants):
    """From the pH of seawater to 7.0 by about a quarter; the colder, the more, for borate is what is lost."""
    plain, acid = plants(), plants(ACID)
    rise = [float(acid[f"membrane.permeate_boron@{c}"]) / float(plain[f"membrane.permeate_boron@{c}"])
            for c in ("cold-aged", "design-aged", "hot-aged")]
    assert all(1.1 < r < 1.35 for r in rise), rise
    first = [abs(p.ledger.lines["feed.borate_shift@design"].value[0]) for p in (plain, acid)]
    assert first[1] > 5 * first[0]


def test_the_line_names_the_engine_and_its_data(plants):
    for key in ("cold", "design", "hot"):
        line = plants(ACID).ledger.lines[f"feed.borate_shift@{key}"]
        assert line.sort == "engine" and line.more["checksum"] == DATABASES["brine"].sha256
        assert f"acid.amount@{key}" in line.parents()
        for age in ("new", "aged"):
            assert f"feed.borate_shift@{key}" in plants(ACID).ledger.lines[
                f"membrane.node_borate_fraction@{key}-{age}"].parents()


def test_asked_once_for_one_water_and_the_same_whatever_ran_before(plants):
    plant = plants(ACID)
    m.borate_shift.cache_clear()
    first = size(plant.design).ledger.lines
    assert m.borate_shift.cache_info().misses == 3
    again = size(plant.design).ledger.lines
    assert m.borate_shift.cache_info().misses == 3
    for id in ("feed.borate_shift@cold", "membrane.node_boron_out@hot-aged"):
        np.testing.assert_array_equal(first[id].value, again[id].value)
        np.testing.assert_array_equal(first[id].value, plant.ledger.lines[id].value)


@pytest.mark.parametrize(("acid", "more", "vessels"), [(ACID, "", 24), ("", SECOND, 20), (ACID, SECOND, 20)])
def test_proved_and_rated(plants, acid, more, vessels):
    plant = plants(acid, more, vessels)
    assert proofs(plant) < 1e-9
    rated(plant)


def test_later_stages_count_from_the_feed_of_the_first(plants):
    lines = plants("", SECOND, 20).ledger.lines
    ends = [lines[f"stage[{s}].node_borate_fraction@hot-aged"] for s in ("first", "second")]
    for line in ends:
        assert line.inputs["borate_salinity"].id == "water.salinity"
    assert "second_pass[first].no_borate_shift@hot-aged" in lines


@pytest.mark.parametrize(("more", "acid"), [("", ACID), (SECOND, "")])
@pytest.mark.parametrize(("key", "how"), [("acid.target_ph", 1.01), ("water.temperature_hot", 1.001),
                                          ("membrane.borate_permeability", 1.01), ("coagulation.dose", 1.01)])
def test_what_moves_boron_descends_from_it(plants, more, acid, key, how):
    plant = plants(acid, more, 20 if more else 24)
    before = plant.ledger.lines
    if key not in before or (key == "acid.target_ph" and not acid):
        return
    with what_if({key: how}):
        after = size(plant.design).ledger.lines
    stray = changed(before, after) - below(key, descendants(before, after))
    assert not stray, sorted(stray)[:5]
