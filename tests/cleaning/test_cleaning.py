"""The cleaning skid and the flush as lines."""

from __future__ import annotations

import pytest

from desalbook.cleaning import Cip, cleaning, flush
from desalbook.trail import Ledger
from tests.rooms import figures, inputs

HARDWARE = {
    "membrane.vessels": (20, "count"),
    "membrane.elements_per_vessel": (6, "count"),
    "membrane.vessel_diameter": (0.2032, "length"),
    "membrane.element_length": (1.016, "length"),
    "product.density": (997.0, "density"),
    "product.heat_capacity": (4182.0, "heat capacity"),
    "water.temperature_cold": (288.15, "temperature"),
    "train.pipe_volume": (0.5, "volume"),
    "duty.trains": (2, "count"),
}


def skid(**keys):
    with (book := Ledger()).recording():
        inp = inputs({"cip": (Cip, keys)})
        f = figures(HARDWARE)
        design = cleaning(
            inp,
            vessels=f["membrane.vessels"],
            elements_per_vessel=f["membrane.elements_per_vessel"],
            inner_diameter=f["membrane.vessel_diameter"],
            element_length=f["membrane.element_length"],
            density=f["product.density"],
            heat_capacity=f["product.heat_capacity"],
            temperature_start=f["water.temperature_cold"],
        )
        water = flush(
            inp,
            vessel_volume=design.vessel_volume,
            vessels=f["membrane.vessels"],
            pipe_volume=f["train.pipe_volume"],
            trains_together=f["duty.trains"],
        )
    return book, design, water


def test_a_bank_of_ten():
    book, d, _ = skid(
        vessels_at_once="10", pipe_length="50 ft", pipe_diameter="102.3 mm", submergence_volume="0 m3"
    )
    assert float(d.tank_volume) == pytest.approx(2.6277, rel=1e-4)
    assert float(d.flow) * 3600 == pytest.approx(80.0)
    assert float(d.acid_mass) == pytest.approx(2.6277 * 997 * 0.02, rel=1e-4)
    assert book.lines["cip.turns"].value == 2.0
    # the cross-check stands beside the tank and is no part of it
    assert "cip.volume_per_element" not in book.lines["cip.tank_volume"].parents()


def test_all_vessels_where_no_bank_is_named():
    book, d, _ = skid()
    assert float(d.vessels_at_once) == 20 and book.lines["cip.flow"].value * 3600 == pytest.approx(160.0)


def test_flush_of_all_trains_that_trip_together():
    book, _, f = skid()
    one = 3 * (20 * 0.7 * 0.19769 + 0.5)
    assert float(f.train_volume) == pytest.approx(one, rel=1e-4)
    assert float(f.volume) == pytest.approx(2 * one, rel=1e-4)
    assert float(f.flow) * 720 == pytest.approx(one, rel=1e-4)
    assert book.lines["flush.chlorine"].more["verdict"] == "holds"
    assert skid(flush_water="product")[0].lines["flush.chlorine"].more["verdict"] == "caution"


@pytest.mark.parametrize(
    ("key", "value", "fails"),
    [
        ("pressure", "6 bar", True),
        ("pressure", "3 bar", False),
        ("temperature", "50 degC", True),
        ("flow_per_vessel", "4 m3/h", True),
    ],
)
def test_limits(key, value, fails):
    book = skid(**{key: value})[0]
    assert (book.lines[f"cip.{key}.check"].more["verdict"] == "fails") is fails
