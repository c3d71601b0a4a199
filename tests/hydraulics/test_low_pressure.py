"""The low-pressure side through the functions of its room: head, suction, rinse and backwash."""

from __future__ import annotations

import pytest

from desalbook.hydraulics.low_pressure import backwash_pump_head, feed_pump_duty_flow, feed_pump_head
from desalbook.hydraulics.pipes import Fluid
from desalbook.hydraulics.suction import check_npsh, hp_suction, suction_limits
from desalbook.trail import Ledger, scope
from tests.rooms import figures

BAR = 1e5

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
    assert ledger.lines["hp_pump.suction_pressure.check"].more["verdict"] == "passes"


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
    assert ledger.lines["backwash_pump.npsh_available.check"].more["verdict"] == "passes"
