"""Energy recovery devices through the functions of their room, on one duty."""

from __future__ import annotations

import math

import pytest

from desalbook.hydraulics.energy_recovery import DischargeLine, Duty, device, exhaust, judge_exhaust, recover
from desalbook.hydraulics.inputs import EnergyRecovery
from desalbook.trail import Ledger
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
    """Hydraulic power of the pumps over 0.85 and 0.8, less what a Pelton turbine gives back."""
    back = 0.0 if r.recovered is None else float(r.recovered)
    boost = 0.0 if r.booster_flow is None else float(r.booster_flow) * float(r.booster_pressure_rise) / 0.8
    return float(r.hp_flow) * float(r.hp_rise) / 0.85 - back + boost


@pytest.mark.parametrize("name", ["none", "pump-as-turbine", "turbocharger", "pelton", "isobaric"])
def test_each_device_answers_with_what_is_left(name):
    with Ledger().recording() as ledger:
        r = _recover(name)
    assert r.hp_rise == pytest.approx(r.hp_discharge - 2 * BAR, rel=1e-12)
    assert (r.boost is not None) == (name == "turbocharger")
    assert (r.recovered is not None) == (name in ("pelton", "pump-as-turbine"))
    assert (r.booster_flow is not None) == (name == "isobaric")
    line = ledger.lines["hp_pump.pressure_rise"]
    assert "energy_recovery.device" in line.parents()


def test_order_of_devices_on_one_duty():
    """None, pump as turbine, turbocharger, wheel, isobaric ERD. Source: fritzmann-2007 (from memory)."""
    found = []
    for name in ("none", "pump-as-turbine", "turbocharger", "pelton", "isobaric"):
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
    """Ten metres more: the turbocharger loses 10 m x efficiency x concentrate over feed, the pump gains it."""
    with Ledger().recording():
        low = _recover("turbocharger", 4.0)
    with Ledger().recording():
        high = _recover("turbocharger", 14.0)
    size = 0.55 + 0.25 * math.log10((QF - QP) * 3600 / 10) / 2  # of a machine of this flow
    step = 10 * 1020 * 9.80665 * size * 0.58
    assert low.boost - high.boost == pytest.approx(step, rel=1e-9)
    assert high.hp_discharge - low.hp_discharge == pytest.approx(step, rel=1e-9)
    assert shaft(high) > shaft(low)


def test_a_wheel_runs_in_air_and_says_so():
    with Ledger().recording() as ledger:
        uphill = _recover("pelton", 4.0)
    assert uphill.exhaust_pressure == 0.0
    assert ledger.lines["energy_recovery.concentrate_pump"].more["verdict"] == "review"
    with Ledger().recording() as ledger:
        _recover("pelton", -10.0)
    assert ledger.lines["energy_recovery.concentrate_pump"].more["verdict"] == "passes"


@pytest.mark.parametrize("name", ["none", "pump-as-turbine", "turbocharger", "pelton", "isobaric"])
def test_a_falling_concentrate_line_is_vented_and_credits_no_siphon(name):
    """30 m down the exhaust stood 2 bar below the atmosphere, and the device gained by it."""
    found = {}
    for lift in (-6.0, -30.0, -60.0):  # friction takes 6 m
        with Ledger().recording() as ledger:
            found[lift] = _recover(name, lift)
        assert ledger["energy_recovery.exhaust_pressure"] >= 0.0
        assert ledger["energy_recovery.power_out"] > 0.0 or name == "none"
        vent = ledger.lines.get("energy_recovery.concentrate_vent")
        assert (vent is not None) == (lift < -6.0 and name != "pelton")  # a Pelton turbine stands over an open sump
        assert vent is None or "vacuum breaker" in vent.more["do"]
    assert shaft(found[-6.0]) == shaft(found[-30.0]) == shaft(found[-60.0])


def test_the_outlet_of_an_exchanger_is_checked():
    with Ledger().recording() as ledger:
        _recover("isobaric", 30.0)
    assert ledger.lines["energy_recovery.low_pressure_out.check"].more["verdict"] == "fails"


def test_a_larger_turbine_is_a_better_one_and_a_written_efficiency_holds():
    """Each kind between its range of small and large machines; nothing is read where a person wrote it."""
    for name, low, high in (("turbocharger", 0.55, 0.80), ("pump-as-turbine", 0.60, 0.80), ("pelton", 0.80, 0.90)):
        with Ledger().recording() as ledger:
            small = float(_recover(name).passing.efficiency)
        assert low < small < high
        assert "energy_recovery.efficiency_low" in ledger
        with Ledger().recording() as ledger:
            held = _recover(name, efficiency="79 %").passing.efficiency
        assert float(held) == 0.79 and "energy_recovery.efficiency_low" not in ledger
