"""The backwash schedule: turns, flows of each step, and the run minute by minute."""

from __future__ import annotations

import numpy as np
import pytest

from desalbook import design as designs
from desalbook import paths
from desalbook.pretreatment.backwash_schedule import STEPS
from desalbook.pretreatment.backwash_timetable import Timetable, columns, timetable
from tests import shared

BASE = {"filters.count": 8, "filters.diameter": "2 m", "filters.rate_limit_outage": "30 m/h"}


def plant(**keys):
    design = designs.read(paths.demo("harbour-town.toml"))
    for key, value in (BASE | {k.replace("__", "."): v for k, v in keys.items()}).items():
        design = design.with_value(key, value)
    return shared.sized(design)


def schedule(**keys):
    sized = plant(**keys)
    return sized, sized.pretreated.wash.schedule


def residuals(of: Timetable) -> dict[str, float]:
    """In less out of every place in every minute, over what flows there; each side summed on its own."""
    scale = float(np.max(of.raw))
    step = of.length
    vessel = np.diff(of.missing, axis=-1, prepend=0.0) / step  # what the vessels give from their own content
    found = {
        "feed pumps": of.pump - of.into.sum(axis=1),
        "filters": of.into + of.wash + vessel - of.filtrate - of.waste,
        "raw tank": of.intake - of.raw + np.diff(of.raw_drawn, prepend=0.0) / step,
        "backwash source": of.source - np.diff(of.source_drawn, prepend=0.0) / step,
    }
    return {k: float(np.max(np.abs(v))) / scale for k, v in found.items()}


CASES = {
    "raw": {},
    "filtrate": {"filters__backwash_source": "filtrate"},
    "reject": {"filters__backwash_source": "concentrate"},
    "no extra flow": {"feed_pump__carries_filter_to_waste": "no"},
    "two at once": {"filters__backwashes_together": 2},
    "three at once, last turn smaller": {"filters__backwashes_together": 3,
                                         "filters__rate_limit_backwashing": "30 m/h"},
    "trains together": {"filters__trains_together": "yes"},
    "in a row": {"filters__backwash_pattern": "row"},
    "odd minutes": {"filters__scour_time": "3.7 min", "filters__run_length": "17.33 h"},
}


@pytest.mark.parametrize("name", CASES)
def test_every_minute_balances(name):
    """Raw tank, feed pumps, every filter, backwash source and membranes; sources of the parts are independent."""
    sized, of = schedule(**CASES[name])
    m = timetable(of)
    assert max(residuals(m).values()) < 1e-9
    # header: what filters give is what membranes and backwash tank take
    take = m.feed + (m.make_up if of.selected == "filtrate" else 0.0)
    assert np.max(np.abs(m.filtrate.sum(axis=1) - take)) < 1e-9 * np.max(m.raw)
    # over the run nothing is left in tanks or vessels, and the mean is the plant's own raw flow
    assert np.max(np.abs(m.missing[..., -1])) < 1e-9 * float(of.drain_volume)
    assert abs(m.raw_drawn[-1]) < 1e-9 * m.intake * m.edges[-1]
    assert abs(m.source_drawn[-1]) < 1e-9 * m.intake * m.edges[-1]
    if of.selected != "filtrate":
        assert m.intake == pytest.approx(float(sized.ledger["duty.raw_flow"]), rel=1e-9)
    assert len(m.washes) == int(of.trains) * int(of.battery.count)


def test_a_planted_error_is_seen():
    _, of = schedule()
    m = timetable(of)
    m.into[0, 3, 700] *= 1.0001
    assert residuals(m)["feed pumps"] > 1e-9


def test_filtrate_for_the_wash_comes_through_filters_and_pump():
    sized, of = schedule(filters__backwash_source="filtrate")
    m = timetable(of)
    mean = float(sized.ledger["filters.backwash_average_all"])
    assert m.make_up.sum(axis=0)[0] == pytest.approx(mean, rel=1e-12)
    assert m.intake == pytest.approx(float(sized.ledger["duty.raw_flow"]), rel=1e-9)


def test_never_two_out_unless_told():
    for keys, most in (({}, 1), ({"filters__backwashes_together": 2}, 2), ({"filters__trains_together": "yes"}, 2),
                       ({"filters__backwash_pattern": "row"}, 1)):
        _, of = schedule(**keys)
        m = timetable(of)
        out = (m.state < len(STEPS)).sum(axis=(0, 1))
        assert out.max() == most
        if "filters__trains_together" not in keys:
            assert ((m.state < len(STEPS)).any(axis=1).sum(axis=0) <= 1).all(), "two trains backwash together"


def test_rinse_lifts_the_pump_by_eight_sevenths():
    sized, of = schedule()
    feed = float(sized.array.feed_flow)
    assert float(sized.ledger["feed_pump.duty_flow"]) == pytest.approx(feed * 8 / 7, rel=1e-12)
    m = timetable(of)
    assert m.pump.max() == pytest.approx(feed * 8 / 7, rel=1e-9)
    assert m.feed.min() == pytest.approx(feed, rel=1e-12)
    assert float(sized.ledger["filters.filter_to_waste_feed_lost"]) == pytest.approx(0, abs=1e-15)


def test_without_extra_flow_shortfall_and_suction_are_said():
    sized, of = schedule(feed_pump__carries_filter_to_waste="no")
    feed = float(sized.array.feed_flow)
    assert float(sized.ledger["filters.filter_to_waste_feed_lost"]) == pytest.approx(feed / 8, rel=1e-12)
    assert timetable(of).feed.min() == pytest.approx(feed * 7 / 8, rel=1e-12)
    # the other way to see it: all is drawn, the pump runs out on its curve
    head = float(sized.ledger["feed_pump.head"])
    run_out = head * (1.2 - 0.2 * (8 / 7) ** 2)
    assert float(sized.ledger["feed_pump.head_rinsing"]) == pytest.approx(run_out, rel=1e-12)
    low = float(sized.ledger["hp_pump.suction_pressure_rinsing"])
    assert low < float(sized.ledger["hp_pump.suction_pressure@cold-dirty"])
    assert float(sized.ledger["filters.filter_to_waste_feed_lost"]) > 0


def test_a_suction_that_falls_to_the_trip_fails():
    sized, _ = schedule(feed_pump__carries_filter_to_waste="no", hp_pump__suction_wanted="1 barg",
                        hp_pump__low_trip="0.8 barg")
    assert sized.ledger.lines["hp_pump.suction_pressure_rinsing.check"].more["verdict"] == "fails"


@pytest.mark.parametrize("keys", [{}, {"filters__backwash_source": "filtrate"}, {"filters__backwashes_together": 2},
                                  {"filters__backwash_pattern": "row",
                                   "filters__backwash_source": "filtrate"}])
def test_tanks_bridge_what_the_minutes_draw(keys):
    """The closed form of the trail against the minutes: within one minute of the backwash flow."""
    sized, of = schedule(**keys)
    m = timetable(of)
    minute = float(of.wash_flow) * 60 * float(of.slots.at_once) + 1e-9
    start = float(of.times["drain"] + of.times["scour"])  # the tank is full when the first backwash begins
    at = int(start // 60) - 1
    swing = m.raw_drawn.max() - m.raw_drawn[at]
    assert float(sized.ledger["storage.swing"]) == pytest.approx(swing, abs=minute + 1.2 * m.intake)
    if of.selected == "filtrate":
        deep = m.source_drawn.max() - m.source_drawn[at]
        assert float(sized.ledger["filters.backwash_bridged"]) == pytest.approx(deep, abs=minute)
        volume = float(sized.ledger["backwash_tank.volume"]) * 0.85
        assert volume >= deep - 1e-9 and volume >= 2 * float(of.backwash_volume) - 1e-9


def test_a_battery_that_cannot_keep_up_is_named_with_its_shortfall():
    """Eight filters of two trains, 32 min each: 8.5 h of backwashing do not fit into a run of 6 h."""
    sized, of = schedule(filters__run_length="6 h")
    assert float(of.slots.missed) == 5  # 16 turns, 11.25 fit
    line = sized.ledger.lines["filters.schedule.note"]
    assert line.more["verdict"] == "fails" and "5 of 16 turns" in line.more["why"]
    assert sized.ledger.lines["filters.slots_time.check"].more["verdict"] == "fails"
    m = timetable(of)
    assert len(m.washes) < 16 and max(residuals(m).values()) < 1e-9


def test_more_together_than_the_battery_bears_is_refused():
    with pytest.raises(Exception, match="leaves no filter in service"):
        plant(filters__backwashes_together=7)


def test_wash_pump_serves_all_that_wash_at_once():
    one, two = plant(), plant(filters__backwashes_together=2)
    ratio = float(two.ledger["backwash_pump.flow"]) / float(one.ledger["backwash_pump.flow"])
    assert ratio == pytest.approx(2, rel=1e-9)
    assert float(two.ledger["filters.rate_one_backwashing_in_service"]) == 6


def test_columns_of_the_minute_table():
    _, of = schedule()
    table = columns(timetable(of))
    assert len(table["time"]) == 1440 and table["A1 step"][5] == "scour"
    assert {len(v) for v in table.values()} == {1440} and "B8 filtered" in table
