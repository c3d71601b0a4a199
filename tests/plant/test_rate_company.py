"""A case's answer belongs to the case: rated alone or among others it is the same."""

from __future__ import annotations

import numpy as np
import pytest

import desalbook as db
from desalbook.plant import rating
from tests import shared
from tests.plant.test_stages import text_of

YEAR = 31557600.0
CASE = {"temperature": 294.3, "salinity": 0.0371, "age": 1.4 * YEAR, "recovery": 0.385, "water_factor": 1.03}
ARRAYS = {"plain": {}, "everything": {
    "more": '[[membrane.stages]]\nname = "second"\nvessel_fraction = "60 %"\n[membrane.second_pass]\nph = 9.5\n'
            'share = "60 %"\nvessels = 6\n', "vessels": 20, "recovery": "36 %", "recycle": "5 %"}}


@pytest.fixture(scope="module", params=ARRAYS)
def plant(request, tmp_path_factory):
    path = tmp_path_factory.mktemp("company") / "plant.toml"
    path.write_text(text_of(**ARRAYS[request.param]), encoding="utf-8")
    return shared.plant(db.read(path))


def among(rng, count: int, place: int) -> dict[str, np.ndarray]:
    """The case at a place among random others, some of them beyond what has an answer."""
    others = {"temperature": rng.uniform(276, 318, count), "salinity": rng.uniform(0.02, 0.06, count),
              "age": rng.uniform(0, 8 * YEAR, count), "recovery": rng.uniform(0.25, 0.55, count),
              "water_factor": rng.uniform(0.5, 1.5, count)}
    return {k: np.insert(v, place, CASE[k]) for k, v in others.items()}


@pytest.mark.parametrize("control", ["product-flow", "pressure"])
def test_a_case_is_answered_alike_in_any_company(plant, control):
    rng = np.random.default_rng(5)
    alone = rating.rate(plant.sized, **CASE, control=control)
    assert not alone["reason"][0]
    numbers = [k for k, v in alone.items() if k not in ("id", "reason", "caution")
               and np.isfinite(np.asarray(v, float)).all()]
    assert len(numbers) > 20
    for count, place in ((1, 0), (7, 3), (300, 211)):
        crowd = rating.rate(plant.sized, **among(rng, count, place), control=control)
        assert len(crowd["reason"]) == count + 1
        for name in numbers:
            assert crowd[name][place] == pytest.approx(alone[name][0], rel=1e-12), (name, count)
