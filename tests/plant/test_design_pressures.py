"""Design pressures of the demo plants: which section fails, and what moves with outfall and altitude."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from desalbook import design as designs
from desalbook import paths
from desalbook.hydraulics import design_pressure as dp
from tests import shared


@pytest.fixture(scope="module")
def demo():
    """The demo in the lightest vessels that a lower recovery allows."""
    return designs.read(paths.demo("harbour-town.toml")).with_values(
        {"membrane.recovery": "39 %", "membrane.pressure_class": "vessel-69"})


@pytest.fixture(scope="module")
def plant(demo):
    return shared.plant(demo)


def _failing(book) -> dict[str, str]:
    return {x.id: x.title for x in book.lines.values()
            if x.sort == "checked" and x.more["verdict"] == "fails" and x.id.startswith(("design_pressure", "piping"))}


def test_every_section_stands_in_the_table(plant):
    table = plant.design_pressures.set_index("key")
    assert {"feed", "filters", "cartridge", "hp-suction", "hp-discharge", "booster", "vessels", "concentrate-high",
            "concentrate-low", "permeate", "cleaning", "backwash"} <= set(table.index)
    assert all(id in plant for id in table["id"]) and (table["verdict"] == "passes").all()
    guarded = table[table["relief"].notna()]
    assert (guarded["working"] < guarded["trip"]).all() and (guarded["trip"] < guarded["relief"]).all()
    assert (guarded["relief"] < guarded["rating"]).all()
    # the valve passes the full flow of the pumps, and shut-off alone would burst the vessels
    assert guarded.loc["vessels", "relief_flow"] == float(plant["hp_pump.flow"])
    assert table.loc["vessels", "credible"] > table.loc["vessels", "rating"]


def test_a_governing_pressure_above_its_share_fails_and_names_the_section(demo, plant):
    """In a 69 bar class: colder water lifts the feed pressure over 0.95 of the rating."""
    assert not _failing(plant.ledger)
    book = shared.sized(demo.with_value("water.temperature_cold", "8 degC")).ledger
    assert float(book["design_pressure[vessels].governing"]) > 0.95 * float(book["membrane.pressure_rating"])
    assert float(book["membrane.pressure_rating"]) == pytest.approx(68.95e5, rel=1e-4)
    assert "Pressure vessels" in _failing(book)["design_pressure[vessels].rating_used.check"]


def test_shut_off_without_relief_fails_and_names_the_section(demo):
    bad = _failing(shared.sized(demo.with_value("design_pressure.relief_high", "no")).ledger)
    assert "Pressure vessels: shut-off / rating" in bad.values()
    assert bad["design_pressure[vessels].rating_used.check"].startswith("Pressure vessels")
    bad = _failing(shared.sized(demo.with_value("design_pressure.relief_permeate", "no").with_value(
        "design_pressure.class_permeate", "pn-10")).ledger)
    assert "Permeate header: shut-off / rating" in bad.values()
    weak = _failing(shared.sized(demo.with_value("design_pressure.class_feed", "pn-6")).ledger)
    assert "Feed header: pressure / rating" in weak.values()


def test_a_valve_in_the_reject_line_asks_for_the_full_pressure(demo, plant):
    shut = shared.sized(demo.with_value("design_pressure.outfall_valve", "yes")).ledger
    assert float(shut["design_pressure[concentrate-low].rating"]) > 80e5 > 10e5 >= float(
        plant["design_pressure[concentrate-low].rating"])


def test_a_trip_too_near_the_relief_fails(demo):
    bad = _failing(shared.sized(demo.with_value("design_pressure.trip_margin", "6 %")).ledger)
    assert "Pressure vessels: trip below relief" in bad.values()


def test_raising_the_outfall_moves_the_train_the_right_way(demo):
    """10 m of outfall: with a turbocharger less boost, more discharge, power and energy."""
    turbo = demo.with_value("energy_recovery.device", "turbocharger")
    low, high = (shared.sized(d).ledger for d in (turbo, turbo.with_value("energy_recovery.outfall_elevation", "11 m")))

    def moved(id: str) -> float:
        return float(high[id]) - float(low[id])

    assert moved("energy_recovery.boost") < 0
    assert moved("energy_recovery.exhaust_pressure") == pytest.approx(10 * 9.80665 * 1045, rel=0.02)
    for id in ("hp_pump.discharge_pressure", "hp_pump.shaft_power", "hp_pump.electric_power",
               "energy.membrane_specific", "energy.plant_specific", "design_pressure[hp-discharge].credible",
               "design_pressure[concentrate-low].governing", "permeate.feed_at_rest"):
        assert moved(id) > 0, id
    # an isobaric ERD hands the back-pressure on to the incoming feed only where it exceeds the minimum it needs
    assert moved("permeate.over_feed") < 0


def test_altitude_moves_only_suction_heads_and_what_is_absolute(demo):
    """Every figure of the plant at 0 and at 2 000 m."""
    book = [shared.sized(demo.with_value("site.altitude", h)).ledger.lines for h in ("0 m", "2000 m")]
    assert book[0].keys() == book[1].keys()
    moved = {id for id, x in book[0].items() if x.value is not None and not isinstance(x.value, str)
             and not np.array_equal(x.value, book[1][id].value)}
    assert moved and all(id.startswith("site.") or "npsh" in id for id in moved), sorted(moved)
    assert float(book[1]["hp_pump.npsh_available"].value) < float(book[0]["hp_pump.npsh_available"].value)


def test_permeate_held_higher_than_the_feed_at_rest_fails(demo):
    bad = shared.sized(demo.with_value("design_pressure.permeate_elevation", "8 m")).ledger
    assert bad.lines["permeate.over_feed.check"].more["verdict"] == "fails"
    small = shared.sized(demo.with_value("design_pressure.drawback_tank", "20 m3")).ledger
    assert small.lines["permeate.kept.check"].more["verdict"] == "fails"


def test_draw_back_against_a_march_in_time():
    """The closed form against the balance of a mixed feed side that overflows as it is diluted."""
    v0, a, s, pi0, t = 5.0, 3.4e-12, 8333.0, 36e5, 300.0

    def rates(_, y):
        flow = a * s * pi0 * y[0]
        return [-flow * y[0] / v0, flow]

    march = solve_ivp(rates, (0, t), [1.0, 0.0], rtol=1e-10, atol=1e-12)
    assert dp.osmotic_drawback.plain(v0, a, s, pi0, t) == pytest.approx(march.y[1, -1], rel=1e-7)
    assert math.isclose(dp.osmotic_drawback.plain(v0, a, s, pi0, 1e-3), a * s * pi0 * 1e-3, rel_tol=1e-4)


def test_a_concentrate_line_holds_what_its_pump_gives():
    """The line of a Pelton turbine was rated for the open sump, 0 barg, where a pump lifts 60 m through it."""
    pelton = designs.read(paths.demo("harbour-town.toml")).with_value("energy_recovery.device", "pelton")
    flat, high = (shared.sized(pelton.with_value("energy_recovery.outfall_elevation", z)) for z in ("-5 m", "60 m"))
    rise = float(high.ledger["concentrate_pump.pressure_rise"])
    assert rise > 5.5e5 and "concentrate_pump.pressure_rise" not in flat.ledger
    assert high.ledger["design_pressure[concentrate-low].working"] == pytest.approx(rise, rel=1e-12)
    assert high.ledger["design_pressure[concentrate-low].credible"] > 1.1 * rise
    rating = "design_pressure[concentrate-low].rating"
    assert high.ledger[rating] >= high.ledger["design_pressure[concentrate-low].credible"] > flat.ledger[rating]
