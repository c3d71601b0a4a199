"""Normalised performance: the worked case, constructed by the equations of the standard practice, to 0.05 %."""

from __future__ import annotations

import pytest

from desalbook.cleaning.normalisation import Reading, normalise, triggers
from desalbook.trail import Ledger
from desalbook.water.seawater import osmotic_d4516
from tests.points import Point
from tests.rooms import figures

R = "cleaning.normalisation"
BAR, HOUR = 1e5, 3600.0


def _p(name: str, inputs: dict, expect: float, rel: float = 5e-5, place: str = "worked case") -> Point:
    room = "water.seawater" if name == "osmotic_d4516" else R
    return Point(f"{room}:{name}", inputs, expect, rel, "astm-d4516", place, "hand arithmetic")


POINTS = [
    _p("feed_brine_average", {"feed_concentration": 36.0, "recovery": 0.42}, 46.6909),
    _p("feed_brine_average", {"feed_concentration": 37.5, "recovery": 0.40}, 47.8899),
    _p("osmotic_d4516", {"concentration": 46.6909, "temperature": 298.15}, 38.7556 * BAR),
    _p("osmotic_d4516", {"concentration": 47.8899, "temperature": 293.15}, 39.1334 * BAR),
    _p("osmotic_d4516", {"concentration": 0.180, "temperature": 298.15}, 0.14246 * BAR),
    _p("osmotic_d4516", {"concentration": 70.0, "temperature": 298.15}, 59.560 * BAR, place="osmotic formula"),
    _p("practice_temperature_factor", {"temperature": 293.15}, 0.86261),
    _p("practice_driving_pressure", {"feed_pressure": 60 * BAR, "pressure_drop": 1.2 * BAR, "permeate_pressure": BAR,
                                     "osmotic_feed": 38.7556 * BAR, "osmotic_permeate": 0.14246 * BAR}, 19.7869 * BAR),
    _p("practice_driving_pressure",
       {"feed_pressure": 63.5 * BAR, "pressure_drop": 1.6 * BAR, "permeate_pressure": 1.2 * BAR,
        "osmotic_feed": 39.1334 * BAR, "osmotic_permeate": 0.16342 * BAR}, 22.5300 * BAR),
    _p("normalised_flow",
       {"permeate_flow": 92 / HOUR, "net_driving_pressure": 22.53, "temperature_factor": 0.86261,
        "standard_driving_pressure": 19.7869, "standard_temperature_factor": 1.0}, 93.668 / HOUR),
    _p("normalised_flow",
       {"permeate_flow": 92 / HOUR, "net_driving_pressure": 22.53, "temperature_factor": 0.85688,
        "standard_driving_pressure": 19.7869, "standard_temperature_factor": 1.0}, 94.294 / HOUR),
    _p("passage_of", {"permeate_concentration": 0.210, "feed_concentration": 37.5}, 0.0056),
    _p("normalised_passage",
       {"salt_passage": 0.0056, "permeate_flow": 92 / HOUR, "standard_flow": 100 / HOUR, "temperature_factor": 0.86261,
        "standard_temperature_factor": 1.0, "average_concentration": 47.8899,
        "standard_average_concentration": 46.6909, "feed_concentration": 37.5, "standard_feed_concentration": 36.0},
       0.006066, 1e-4),
    # half the flow at 1.5: 2.8284 times
    _p("normalised_drop", {"pressure_drop": BAR, "feed_flow": 50, "concentrate_flow": 30, "standard_feed_flow": 100,
                           "standard_concentrate_flow": 60}, 2.828427 * BAR),
    _p("normalised_drop", {"pressure_drop": BAR, "feed_flow": 60, "concentrate_flow": 40, "standard_feed_flow": 100,
                           "standard_concentrate_flow": 44}, 1.728 * BAR),
    _p("flow_change", {"standard_flow": 100, "flow": 93.668}, 0.06332),
    _p("rise_of", {"reading": 0.006066, "clean_reading": 0.005}, 0.2132),
]


def reading(name: str, p: float, drop: float, back: float, feed: float, y: float, perm: float, t: float, flow: float):
    f = figures({f"{name}.p": (p * BAR, "gauge pressure"), f"{name}.dp": (drop * BAR, "pressure difference"),
                 f"{name}.pp": (back * BAR, "gauge pressure"), f"{name}.cf": (feed, "concentration"),
                 f"{name}.cp": (perm, "concentration"), f"{name}.y": (y, "fraction"),
                 f"{name}.q": (flow / HOUR, "flow"), f"{name}.t": (t + 273.15, "temperature")})
    return Reading(*[f[f"{name}.{k}"] for k in ("p", "dp", "pp", "cf", "cp", "y", "q", "t")])


def test_the_worked_case_by_lines():
    with Ledger().recording():
        standard = reading("standard", 60.0, 1.2, 1.0, 36.0, 0.42, 0.180, 25.0, 100.0)
        actual = reading("actual", 63.5, 1.6, 1.2, 37.5, 0.40, 0.210, 20.0, 92.0)
        got = normalise("normal", actual, standard)
    assert float(got.flow) * HOUR == pytest.approx(93.668, rel=5e-4)
    assert float(got.passage) == pytest.approx(0.006066, rel=5e-4)
    assert float(got.driving_pressure) / BAR == pytest.approx(22.53, rel=5e-4)


def test_the_formula_lies_above_sea_water():
    """35 g/kg of sea salt, some 35.8 g/L, is 25.92 bar by the standard of seawater; the formula gives 13 % more."""
    assert 0.10 < osmotic_d4516.plain(35.8, 298.15) / (25.92 * BAR) - 1 < 0.15


@pytest.mark.parametrize(("loss", "rise", "drop", "fails"),
                         [(0.05, 0.05, 0.05, set()), (0.12, 0.05, 0.05, {"flow"}),
                          (0.05, 0.12, 0.2, {"passage", "drop"})])
def test_what_asks_for_cleaning(loss, rise, drop, fails):
    with (book := Ledger()).recording():
        f = figures({"loss": (loss, "fraction"), "rise": (rise, "fraction"), "drop": (drop, "fraction")})
        triggers("normal", loss=f["loss"], passage_rise=f["rise"], drop_rise=f["drop"])
    got = {i.rpartition("_")[2] for i, x in book.lines.items() if x.more.get("verdict") == "fails"}
    assert got == fails
