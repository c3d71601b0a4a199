"""The second pass by the seawater's curves: how far from the engine's own answer for the first pass's permeate."""

from __future__ import annotations

import re

import pytest

import desalbook as db
from desalbook.membrane import transport as t
from desalbook.water.phreeqc import Water, property_curves
from tests.plant.test_stages import OPTIONS, text_of


@pytest.fixture(scope="module")
def plants(tmp_path_factory):
    path, made = tmp_path_factory.mktemp("second") / "plant.toml", {}
    for name in ("partial second pass", "permeate split", "second pass without sodium hydroxide"):
        path.write_text(text_of(**OPTIONS[name]), encoding="utf-8")
        made[name] = db.size(db.read(path))
    return made


@pytest.mark.parametrize("name", ["partial second pass", "permeate split", "second pass without sodium hydroxide"])
@pytest.mark.parametrize("corner", ["cold-new", "design-aged", "hot-aged"])
def test_the_bound_on_the_line_holds_against_the_engine(plants, name, corner):
    """Its ions, solved by the engine for themselves; along the vessels they thicken to 1 / (1 - 85 %), some 6.7."""
    plant = plants[name]
    a, at = plant.sized.array, plant.sized.waters.at[corner.split("-")[0]]
    made = a.staged[corner]
    ions = {k: float(v) for k, v in made.ions["second_feed"].items()}
    water = Water(tuple((k, v) for k, v in ions.items() if k not in ("HCO3", "CO3")), ions["HCO3"], ions["HCO3"],
                  None, float(at.temperature))
    own, pressure = property_curves(water, float(at.temperature)), float(made.stages["second"]["feed_pressure"])
    said = plant.ledger.lines[f"second_pass.feed_pressure@{corner}"].note
    low, high, share, dense = (float(x) / 100 for x in re.search(
        r"(\d) to (\d) % low, at the last element below ([\d.]+) % .* within ([\d.]+) %", said).groups())
    x = float(made.streams["second_feed"].salinity)
    for times in (1.0, 2.0, 4.0, 6.0):
        engine, curve = own.osmotic.at(times * x), t.osmotic_of.plain(times * x, *at.osmotic_curve.values)
        assert low < 1 - curve / engine < high
        assert (engine - curve) / pressure < share
        assert t.density_of.plain(times * x, *at.density_curve.values) == pytest.approx(
            own.density.at(times * x), rel=dense)
