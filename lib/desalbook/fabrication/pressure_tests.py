"""Pressure tests: the test pressure of pipe, vessels and casings by the code of each, and the stress it rests on.

A test pressure follows from the design pressure of the part that is tested, not from the rating of its flanges. The
code of the site, the notified or authorised inspector and the drawing of the manufacturer govern; a pressure test
can kill: water only, air vented, people away from blanks and joints while the pressure rises.
"""

from __future__ import annotations

from desalbook.trail import constant, maximum, minimum, relation
from desalbook.units import Factor, Fraction, GaugePa, K

__all__ = ["CAUTION", "code_stress_fraction", "factored_test_pressure", "metal_pipe_test_pressure",
           "plastic_pipe_test_pressure", "vessel_test_pressure_asme", "vessel_test_pressure_en"]

CAUTION = (
    "A part that bursts under test throws fragments and blanks. Test with water, vent all air, raise the pressure in "
    "steps with nobody in line of blanks and joints, and inspect only at the pressure the code allows.")

COLD = constant("T_cold", 311.15, "K", source="asme-b31-3")
STEP = constant("dT_S", 55.0, "K", source="asme-b31-3")
PIPE_FACTOR = constant("k_test", 1.5, "1", source="asme-b31-3")
RATIO_LIMIT = constant("r_max", 6.5, "1", source="asme-b31-3")
ASME_FACTOR = constant("k_asme", 1.3, "1", source="asme-bpvc-viii-1")
EN_FACTOR = constant("k_en", 1.25, "1", source="en-13445-5")
EN_FLOOR = constant("k_floor", 1.43, "1", source="en-13445-5")
PLASTIC_FACTOR = constant("k_pl", 1.5, "1", source="en-805")
PLASTIC_STEP = constant("dp_pl", 5e5, "Pa", source="en-805")


@relation("Fraction of the cold stress left", symbol="f_S", unit="1", source="common-practice",
          place="of table A-1 of ASME B31.3, from memory", note="linear between 38 and 93 degC")
def code_stress_fraction(temperature: K, hot_fraction: Fraction) -> Fraction:
    """Allowable stress at the design temperature over that at the test temperature.

    Linear between the first two columns of the stress table, one below; beyond 93 degC it is too high, which no
    water of these plants reaches.
    """
    return 1 - (1 - hot_fraction) * maximum(0, (temperature - COLD) / STEP)


@relation("Test pressure of metal pipe", symbol="p_T", unit="Pa", source="asme-b31-3")
def metal_pipe_test_pressure(design_pressure: GaugePa, stress_fraction: Fraction) -> GaugePa:
    """Hydrostatic test pressure of metal pipe: 1.5 times the design pressure and the ratio of the stresses.

    Gauge, at the lowest point; lowered where the wall would yield. The ratio counts 6.5 at most.
    """
    return PIPE_FACTOR * design_pressure * minimum(1 / stress_fraction, RATIO_LIMIT)


@relation("Test pressure of a vessel, ASME", symbol="p_T", unit="Pa", source="asme-bpvc-viii-1")
def vessel_test_pressure_asme(design_pressure: GaugePa, stress_fraction: Fraction) -> GaugePa:
    """Hydrostatic test pressure of a metal vessel: 1.3 times its pressure and the lowest ratio of the stresses.

    At the top of the vessel; inspected at no less than the test pressure over 1.3.
    """
    return ASME_FACTOR * design_pressure / stress_fraction


@relation("Test pressure of a vessel, EN", symbol="p_T", unit="Pa", source="en-13445-5")
def vessel_test_pressure_en(design_pressure: GaugePa, stress_fraction: Fraction) -> GaugePa:
    """Hydrostatic test pressure of a metal vessel by the European rule: the larger of two terms.

    1.25 times the pressure and the ratio of the stresses, or 1.43 times the pressure; which of them governs
    switches at a ratio of 1.144.
    """
    return maximum(EN_FACTOR * design_pressure / stress_fraction, EN_FLOOR * design_pressure)


@relation("Test pressure of plastic pipe", symbol="p_T", unit="Pa", source="en-805")
def plastic_pipe_test_pressure(design_pressure: GaugePa) -> GaugePa:
    """Site test pressure of plastic pipe: half as much again, or 5 bar more, whichever is less.

    Water at ambient temperature; polyethylene creeps and is tested by its own procedure. Never with air.
    """
    return minimum(PLASTIC_FACTOR * design_pressure, design_pressure + PLASTIC_STEP)


@relation("Test pressure by a factor", symbol="p_T", unit="Pa", source="common-practice")
def factored_test_pressure(design_pressure: GaugePa, test_factor: Factor) -> GaugePa:
    """Test pressure of parts whose code states one factor: casings, reinforced plastic, the limit of flanges.

    The manufacturer's own limit comes first: a membrane vessel is not tested at site beyond it.
    """
    return design_pressure * test_factor
