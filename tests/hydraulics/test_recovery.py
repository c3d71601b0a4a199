"""Energy recovery and the low-pressure side through the functions of the room."""

from __future__ import annotations

import pytest

from desalbook.hydraulics.energy_recovery import DischargeLine, Duty, device, exhaust, judge_exhaust, recover
from desalbook.hydraulics.inputs import EnergyRecovery
from desalbook.hydraulics.low_pressure import backwash_pump_head, feed_pump_duty_flow, feed_pump_head
from desalbook.hydraulics.pipes import Fluid
from desalbook.hydraulics.suction import check_npsh, hp_suction, suction_limits
from desalbook.trail import Ledger, scope
from tests.rooms import figures, inputs

BAR = 1e5
QP = 100 / 3600
QF = QP / 0.42


def _recover(name: str, lift: float = 4.0, **keys: str):
    inp = inputs({"energy_recovery": (EnergyRecovery, {"device": name, **keys})})
    f = figures(
        {
            "feed": (QF, "flow"),
            "permeate": (QP, "flow"),
            "reject": (QF - QP, "flow"),
            "p_f": (62 * BAR, "gauge pressure"),
            "p_b": (60.5 * BAR, "gauge pressure"),
            "p_s": (2 * BAR, "gauge pressure"),
            "loop": (0.0, "pressure difference"),
            "lift": (lift, "head"),
            "friction": (6.0, "head"),
            "rho": (1020.0, "density"),
        }
    )
    of = device(inp)
    out = exhaust(of, DischargeLine(f["lift"], f["friction"], f["rho"]))
    judge_exhaust(of, out)
    return recover(of, Duty(
        feed_flow=f["feed"],
        permeate_flow=f["permeate"],
        reject_flow=f["reject"],
        feed_pressure=f["p_f"],
        concentrate_pressure=f["p_b"],
        suction_pressure=f["p_s"],
        exhaust_pressure=out.pressure,
        piping_loss=f["loop"],
    ))


def shaft(r) -> float:
    """Hydraulic power of the pumps over 0.85 and 0.8, less what a wheel gives back."""
    back = 0.0 if r.recovered is None else float(r.recovered)
    boost = 0.0 if r.booster_flow is None else float(r.booster_flow) * float(r.booster_pressure_rise) / 0.8
    return float(r.hp_flow) * float(r.hp_rise) / 0.85 - back + boost


@pytest.mark.parametrize("name", ["none", "reverse-running-pump", "turbocharger", "pelton", "isobaric"])
def test_each_device_answers_with_what_is_left(name):
    with Ledger().recording() as ledger:
        r = _recover(name)
    assert r.hp_rise == pytest.approx(r.hp_discharge - 2 * BAR, rel=1e-12)
    assert (r.boost is not None) == (name == "turbocharger")
    assert (r.recovered is not None) == (name in ("pelton", "reverse-running-pump"))
    assert (r.booster_flow is not None) == (name == "isobaric")
    line = ledger.lines["hp_pump.pressure_rise"]
    assert "energy_recovery.device" in line.parents()


def test_order_of_devices_on_one_duty():
    """None, reverse-running pump, turbocharger, wheel, exchanger. Source: fritzmann-2007 (from memory)."""
    found = []
    for name in ("none", "reverse-running-pump", "turbocharger", "pelton", "isobaric"):
        with Ledger().recording():
            found.append(shaft(_recover(name)))
    assert found == sorted(found, reverse=True)


def test_the_exchanger_as_on_the_worked_duty():
    """102.07 and 136.02 m3/h, 2.20 bar, 0.9653: hand arithmetic; 0.1 %."""
    with Ledger().recording():
        r = _recover("isobaric", leakage="1.5 %", high_pressure_drop="0.7 bar", low_pressure_drop="0.6 bar")
    assert float(r.hp_flow) * 3600 == pytest.approx(102.071, rel=1e-4)
    assert float(r.booster_flow) * 3600 == pytest.approx(136.024, rel=1e-4)
    assert float(r.booster_pressure_rise) == pytest.approx(2.2 * BAR, rel=1e-6)
    assert float(r.balance.efficiency) == pytest.approx(0.9653, rel=1e-4)


def test_a_higher_outfall_costs_boost_and_asks_more_of_the_pump():
    """Ten metres more: the turbocharger loses 10 m x efficiency x reject over feed, the pump gains it."""
    with Ledger().recording():
        low = _recover("turbocharger", 4.0)
    with Ledger().recording():
        high = _recover("turbocharger", 14.0)
    step = 10 * 1020 * 9.80665 * 0.68 * 0.58
    assert low.boost - high.boost == pytest.approx(step, rel=1e-9)
    assert high.hp_discharge - low.hp_discharge == pytest.approx(step, rel=1e-9)
    assert shaft(high) > shaft(low)


def test_a_wheel_runs_in_air_and_says_so():
    with Ledger().recording() as ledger:
        uphill = _recover("pelton", 4.0)
    assert uphill.exhaust_pressure == 0.0
    assert ledger.lines["energy_recovery.reject_pump"].more["verdict"] == "caution"
    with Ledger().recording() as ledger:
        _recover("pelton", -10.0)
    assert ledger.lines["energy_recovery.reject_pump"].more["verdict"] == "holds"


def test_the_outlet_of_an_exchanger_is_checked():
    with Ledger().recording() as ledger:
        _recover("isobaric", 30.0)
    assert ledger.lines["energy_recovery.low_pressure_out.check"].more["verdict"] == "fails"


# low-pressure side

LOW = {
    "rho": (1025.0, "density"),
    "level": (0.8, "length"),
    "hp": (0.8, "length"),
    "top": (3.5, "length"),
    "pipes": (3.0, "head"),
    "bed": (0.6, "head"),
    "filter": (0.7 * BAR, "pressure difference"),
    "filter_clean": (0.2 * BAR, "pressure difference"),
    "cartridge": (0.7 * BAR, "pressure difference"),
    "cartridge_clean": (0.15 * BAR, "pressure difference"),
    "wanted": (2 * BAR, "gauge pressure"),
    "p_a": (101325.0, "absolute pressure"),
    "p_v": (3110.0, "absolute pressure"),
    "mu": (1e-3, "viscosity"),
    "npsh": (8.0, "head"),
    "ratio": (1.3, "factor"),
    "margin": (0.6, "head"),
    "trip": (1 * BAR, "gauge pressure"),
    "limit": (10 * BAR, "gauge pressure"),
    "zero": (0.0, "gauge pressure"),
}


def _feed(f, held=None):
    return feed_pump_head(
        density=f["rho"],
        level=f["level"],
        hp_elevation=f["hp"],
        friction_head=f["pipes"],
        filter_drop=f["filter"],
        cartridge_drop=f["cartridge"],
        suction_wanted=f["wanted"],
        held=held,
    )


def test_the_head_asked_for_gives_the_suction_wanted_when_dirty():
    """The sum line by line and the result at dirty filters are one balance; clean leaves more."""
    with Ledger().recording() as ledger:
        f = figures(LOW)
        head = _feed(f)
        corners = {}
        for corner, x, y in (
            ("cold-dirty", "filter", "cartridge"),
            ("cold-clean", "filter_clean", "cartridge_clean"),
        ):
            with scope(corner=corner):
                corners[corner] = hp_suction(
                    head=head.total,
                    static_lift=head.static_lift,
                    friction_head=f["pipes"],
                    fluid=Fluid(f["rho"], f["mu"]),
                    filter_drop=f[x],
                    cartridge_drop=f[y],
                    ambient_pressure=f["p_a"],
                    vapour_pressure=f["p_v"],
                )
        worst = suction_limits(
            corners,
            npsh_required=f["npsh"],
            npsh_ratio=f["ratio"],
            npsh_margin=f["margin"],
            trip=f["trip"],
            limit=f["limit"],
        )
    assert corners["cold-dirty"].pressure == pytest.approx(2 * BAR, rel=1e-12)
    assert corners["cold-clean"].pressure - corners["cold-dirty"].pressure == pytest.approx(1.05 * BAR)
    assert worst.pressure == corners["cold-dirty"].pressure
    assert worst.npsh_available == pytest.approx((2 * BAR + 101325 - 3110) / (1025 * 9.80665))
    assert "hp_pump.suction_pressure@cold-clean" in ledger
    assert ledger.lines["hp_pump.suction_pressure.check"].more["verdict"] == "holds"


def test_a_held_feed_pump_is_checked_against_the_sum():
    with Ledger().recording() as ledger:
        f = figures({**LOW, "feed_pump.pressure_rise": (2 * BAR, "pressure difference")})
        head = _feed(f, f["feed_pump.pressure_rise"])
    assert head.total == pytest.approx(2 * BAR / (1025 * 9.80665))
    assert ledger.lines["feed_pump.head.check"].more["verdict"] == "fails"


def test_rinse_is_carried_or_reported():
    with Ledger().recording() as ledger:
        f = figures({"q": (0.07, "flow"), "n": (8, "count"), "yes": ("yes", None), "no": ("no", None)})
        assert feed_pump_duty_flow(f["q"], f["n"], f["yes"]) == pytest.approx(0.08)
        assert feed_pump_duty_flow(f["q"], f["n"], f["no"]) == pytest.approx(0.07)
    assert ledger.lines["filters.rinse_shortfall"].value == pytest.approx(1 / 8)


def test_wash_head_and_suction_head_of_a_tank():
    with Ledger().recording() as ledger:
        f = figures(LOW)
        head = backwash_pump_head(
            density=f["rho"],
            level=f["level"],
            outlet_elevation=f["top"],
            friction_head=f["pipes"],
            bed_head=f["bed"],
            underdrain_drop=f["filter"],
            outlet_pressure=f["zero"],
        )
        available = check_npsh(
            "backwash_pump",
            level=f["top"],
            pump_elevation=f["level"],
            friction_head=f["bed"],
            density=f["rho"],
            ambient_pressure=f["p_a"],
            vapour_pressure=f["p_v"],
            npsh_required=f["npsh"],
            npsh_ratio=f["ratio"],
            npsh_margin=f["margin"],
        )
    assert head.total == pytest.approx(2.7 + 3.0 + 0.6 + 0.7 * BAR / (1025 * 9.80665))
    assert available.npsh_available == pytest.approx((101325 - 3110) / (1025 * 9.80665) + 2.7 - 0.6)
    assert ledger.lines["backwash_pump.npsh_available.check"].more["verdict"] == "holds"
