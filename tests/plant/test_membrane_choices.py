"""Correlations of the channel, joints between elements: from the design file to the record and to rating."""

from __future__ import annotations

import pytest

import desalbook as db
from desalbook.membrane import channel
from desalbook.membrane import transport as t
from desalbook.plant import size
from desalbook.trail import what_if
from tests import shared
from tests.plant.test_stages import TEXT
from tests.rate_si import rate_si
from tests.test_moving import below, changed, descendants

pytestmark = pytest.mark.full

CORNERS = ("cold-aged", "hot-aged")


def text_of(keys: str = "", more: str = "", vessels: int = 24) -> str:
    text = TEXT.replace('recovery = "39 %"', f'recovery = "39 %"\nvessels = {vessels}\n{keys}')
    return text.replace("[energy_recovery]", f"{more}\n[energy_recovery]")


@pytest.fixture(scope="module")
def plants(tmp_path_factory):
    folder, made = tmp_path_factory.mktemp("choices"), {}

    def of(keys: str = "", more: str = "", vessels: int = 24):
        at = (keys, more, vessels)
        if at not in made:
            path = folder / "plant.toml"
            path.write_text(text_of(*at), encoding="utf-8")
            made[at] = db.size(db.read(path))
        return made[at]

    return of


def proofs(plant) -> float:
    return max(r["relative"] for x in plant.ledger.lines.values() if x.sort == "solved" for r in x.more["residual"])


def rated(plant):
    """Each aged corner, rated: the same numbers."""
    cases = rate_si(plant, temperature=[float(plant[f"water.temperature_{c.split('-')[0]}"]) for c in CORNERS])
    assert not cases["reason"].any(), list(cases["reason"])
    for row, corner in enumerate(CORNERS):
        made = plant.sized.array.by_corner[corner]
        for name in ("feed_pressure", "permeate_boron", "permeate_tds", "concentrate_pressure"):
            assert cases[name][row] == pytest.approx(float(made[name]), rel=1e-8), (corner, name)
    return cases


STAGES = '[[membrane.stages]]\nname = "second"\nvessel_fraction = "60 %"\n'
SECOND = STAGES + '[membrane.second_pass]\nph = 9.5\nshare = "60 %"\nvessels = 6\n'


@pytest.mark.parametrize(("more", "vessels"), [("", 24), (SECOND, 20)])
@pytest.mark.parametrize(("key", "value", "line", "laws"), [
    ("mass_transfer", "koutsou", "sherwood", channel.MASS_TRANSFER),
    ("mass_transfer", "guillen-hoek", "sherwood", channel.MASS_TRANSFER),
    ("friction", "guillen-hoek", "friction", channel.FRICTION)])
def test_a_correlation_is_used_recorded_and_an_influence(plants, more, vessels, key, value, line, laws):
    usual, other = plants("", more, vessels), plants(f'{key} = "{value}"', more, vessels)
    assert float(other["membrane.feed_pressure"]) != pytest.approx(float(usual["membrane.feed_pressure"]), rel=1e-5)
    ends = [x for id, x in other.ledger.lines.items() if f".node_{line}" in id or id.partition("@")[0].endswith(
        f".end_{line}")]
    assert len(ends) >= (7 if line == "friction" else 13)  # the sheet's test and six corners, and their ends
    for one in ends:
        assert one.relation is laws[value]
        assert f"membrane.{key}" in one.parents()
    assert proofs(other) < 1e-9
    rated(other)


def test_the_sheet_is_read_through_the_same_correlation(plants):
    """A film that passes more in the rated test leaves a less permeable membrane."""
    usual, other = plants(), plants('mass_transfer = "koutsou"')
    assert usual.ledger.lines["membrane.element.node_sherwood"].relation is t.sherwood_schock
    ratio = float(other["membrane.element.water_permeability"]) / float(usual["membrane.element.water_permeability"])
    assert 0.9 < ratio < 0.99  # more mass transfer at these Reynolds numbers


@pytest.mark.parametrize(("more", "vessels"), [("", 24), (SECOND, 20)])
def test_joints_lose_pressure_between_elements(plants, more, vessels):
    bare, joints = plants("", more, vessels), plants('interconnector_loss = "0.05 bar"', more, vessels)
    first = "stage[first]" if more else "membrane"
    for corner in CORNERS:
        loss = [sum(p.ledger.lines[f"{first}.node_loss@{corner}"].value) for p in (bare, joints)]
        drop = [float(p[f"{first}.vessel_drop@{corner}"]) for p in (bare, joints)]
        assert drop[0] == pytest.approx(loss[0], rel=1e-12)
        assert drop[1] - loss[1] == pytest.approx(6 * 5e3, rel=1e-9)
    assert float(joints["membrane.feed_pressure"]) > float(bare["membrane.feed_pressure"]) + 1e3
    assert proofs(joints) < 1e-9
    rated(joints)


MOVES = (("membrane.mass_transfer", "koutsou"), ("membrane.mass_transfer", "guillen-hoek"),
         ("membrane.friction", "guillen-hoek"), ("membrane.interconnector_loss", 1.01))


@pytest.mark.parametrize("more", ["", SECOND])
@pytest.mark.parametrize(("key", "how"), MOVES)
def test_what_these_keys_move_descends_from_them(plants, more, key, how):
    plant = plants('interconnector_loss = "0.05 bar"', more, 20 if more else 24)
    _descends(plant, key, how)


def test_and_in_the_other_demo_plant():
    """The first refuses other correlations by its guidelines, and is moved above with its vessels held."""
    plant = shared.plant("beach-well.toml")
    for key, how in MOVES[:3]:
        _descends(plant, key, how)


def _descends(plant, key, how):
    before = plant.ledger.lines
    with what_if({key: how}):
        after = size(plant.design).ledger.lines
    moved = changed(before, after)
    stray = moved - below(key, descendants(before, after))
    assert len(moved) > 50 and not stray, sorted(stray)[:5]
