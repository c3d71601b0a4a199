"""The seasons of a plant: what rating gives, at the corners what sizing gave, and the limits the control meets."""

from __future__ import annotations

import pytest

from desalbook.problems import DesignError
from desalbook.study import seasons
from desalbook.units import to_display
from tests import shared
from tests.rate_si import rate_si


@pytest.fixture(scope="module")
def plant():
    return shared.plant()


def test_corners_are_those_of_sizing(plant):
    frame = seasons(plant)
    assert len(frame) == 12 and frame["id"].is_unique and (frame["problem"] == "").all()
    pressure, boron = frame["feed_pressure, barg"], frame["permeate_boron, mg/L as B"]
    for row, corner in ((0, "cold-new"), (5, "hot-new"), (6, "cold-aged"), (11, "hot-aged")):
        for column, id in ((pressure, "membrane.feed_pressure"), (boron, "membrane.permeate_boron")):
            figure = plant[f"{id}@{corner}"]
            # two solvers end within their residual of one another
            assert column[row] == pytest.approx(to_display(figure, figure.kind), rel=1e-8), (corner, id)
    assert (pressure[6:].to_numpy() > pressure[:6].to_numpy()).all()  # aged elements need more
    assert (boron[:6].diff()[1:] > 0).all()  # warm water lets more boron through


def test_values_with_units_and_refusals(plant):
    frame = seasons(plant, ["68 degF", 300.0], ["1 year"], units="us")
    again = rate_si(plant, temperature=[293.15, 300.0], age=31557600.0)
    assert frame["temperature, degF"].tolist() == pytest.approx([68.0, 80.33])
    assert frame["feed_pressure, psig"].tolist() == pytest.approx((again["feed_pressure"] / 6894.757293168).tolist())
    assert frame["id"][0] == "temperature=20 degC; age=1 year"
    hot = seasons(plant, ["70 degC"])
    assert (hot["problem"] != "").all() and hot["feed_pressure, barg"].isna().all()
    for temperatures, control in ((["warm"], "product-flow"), (None, "by hand")):
        with pytest.raises(DesignError):
            seasons(plant, temperatures, control=control)
