"""Low-pressure pumps built up line by line, their curves, and what clean and dirty pretreatment does."""

from __future__ import annotations

import numpy as np
import pytest

from desalbook import design as designs
from desalbook import paths
from tests import shared


@pytest.fixture(scope="module")
def demo():
    return designs.read(paths.demo("harbour-town.toml"))


@pytest.fixture(scope="module")
def plant(demo):
    return shared.plant(demo)


def test_heads_are_the_sum_of_their_lines(plant):
    for name, run in (("product_pump", "product"), ("flush_pump", "flush")):
        parts = [float(plant[f"{name}.static_lift"]), float(plant[f"{name}.outlet_head"]),
                 float(plant[f"piping.runs[{run}].loss"])]
        assert float(plant[f"{name}.head"]) == pytest.approx(sum(parts))
    dirt = float(plant["cip.head_needed_dirty"]) - float(plant["cip.head_needed_clean"])
    assert dirt == pytest.approx((0.7e5 - 0.15e5) / 995 / 9.80665, rel=0.01)
    assert plant.ledger.lines["cip.pump_head.check"].more["verdict"] != "fails"


def test_a_weak_cleaning_pump_fails(demo):
    book = shared.sized(demo.with_value("cip.pump_head", "35 m")).ledger
    assert book.lines["cip.pump_head.check"].more["verdict"] == "fails"


def test_lift_moves_the_pump_and_its_motor(demo, plant):
    high = shared.sized(demo.with_value("product_pump.delivery_elevation", "35 m")).ledger
    assert float(high["product_pump.head"]) == pytest.approx(float(plant["product_pump.head"]) + 30)
    assert float(high["product_pump.motor"]) > float(plant["product_pump.motor"])
    none = shared.sized(demo.with_value("product_pump.present", "no"))
    assert "product_pump.head" not in none.ledger and "product_pump.absent" in none.ledger
    assert "product_pump" not in {e["key"] for e in none.equipment}


def test_curves_cross_where_the_table_says(plant):
    rows, points = plant.curves, plant.operating_points.set_index(["pump", "state"])
    assert {"feed_pump", "backwash_pump", "product_pump", "flush_pump", "cip"} == set(rows["pump"])
    assert all(id in plant for id in rows["id"])
    for pump, mine in rows.groupby("pump"):
        for state in ("clean", "dirty"):
            at = points.loc[(pump, state)]
            head = [np.interp(at["flow"], mine["flow"], mine[c]) for c in ("pump_head", f"system_{state}")]
            assert head[0] == pytest.approx(head[1], rel=5e-3), pump  # both bend between the points of the table
            assert head[0] == pytest.approx(at["head"], rel=5e-3)
        assert (mine["system_dirty"] >= mine["system_clean"]).all()
    # sized dirty, the feed pump meets its duty there and runs out when clean
    assert points.loc[("feed_pump", "dirty"), "flow_ratio"] == pytest.approx(1.0, abs=2e-3)
    assert points.loc[("feed_pump", "clean"), "flow_ratio"] > 1.02


def test_suction_is_a_result_at_clean_and_dirty(plant):
    for key in ("cold", "hot"):
        clean, dirty = (float(plant[f"hp_pump.suction_pressure@{key}-{state}"]) for state in ("clean", "dirty"))
        assert clean > dirty > float(plant["hp_pump.low_trip"])
        assert clean < float(plant["hp_pump.suction_limit"])


def test_the_cip_pump_is_chosen_for_its_line_and_a_written_one_is_held(demo):
    """Harbour: 42.4 m with dirty cartridges, so 45 m; at 4 bar at the vessels some 10 m more."""
    auto = shared.sized(demo).ledger
    assert auto.lines["cip.pump_head"].sort == "picked" and float(auto["cip.pump_head"]) == 45.0
    more = shared.sized(demo.with_value("cip.pressure", "4 barg")).ledger
    assert float(more["cip.pump_head"]) == 55.0
    assert more.lines["cip.pump_head.check"].more["verdict"] != "fails"
    less = shared.sized(demo.with_values({"cip.pressure": "4 barg", "cip.pump_head": "45 m"})).ledger
    assert less.lines["cip.pump_head.check"].more["verdict"] == "fails"
