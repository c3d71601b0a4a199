"""Pure water against the industrial and scientific formulations, and the loading of the library."""

from __future__ import annotations

import subprocess
import sys

import pytest

from desalbook.problems import EngineError
from desalbook.water import purewater as w

# mPa s at 101 325 Pa by the formulation for viscosity with densities of the scientific formulation
VISCOSITY = {
    5: 1.51817,
    10: 1.30590,
    15: 1.13757,
    20: 1.00160,
    25: 0.890022,
    30: 0.797222,
    35: 0.719126,
    45: 0.595769,
}
DENSITY = {5: 999.9666, 15: 999.1026, 20: 998.2072, 25: 997.0476, 35: 994.0333, 40: 992.2164}


@pytest.mark.parametrize(("t", "mu"), VISCOSITY.items())
def test_viscosity(t, mu):
    """Source: iapws-r12-08, evaluated with iapws-95 densities.

    IF97 densities differ from those by 1e-5 at 45 degC, and viscosity at fixed temperature follows density.
    """
    assert w.viscosity(t + 273.15) * 1e3 == pytest.approx(mu, rel=1e-5)


@pytest.mark.parametrize(("t", "rho"), DENSITY.items())
def test_density(t, rho):
    """IF97 against the scientific formulation: 1.5e-6 apart at 15 degC, 8e-6 at 40."""
    assert w.density(t + 273.15) == pytest.approx(rho, rel=1.2e-5)


def test_if97_check_points():
    """iapws-if97: table 5, heat capacity at 300 K and 3 MPa; table 35, saturation pressure at 300 K."""
    printed = w._library().PropsSI("C", "T", 300.0, "P", 3e6, "IF97::Water")
    assert printed == pytest.approx(4173.01218, rel=1e-8)
    assert w.vapour_pressure(300.0) == pytest.approx(3536.58941, rel=1e-8)


@pytest.mark.parametrize("t", [278.15, 288.15, 298.15, 313.15])
def test_if97_against_the_scientific_formulation(t):
    """The two formulations differ here by up to 2.1e-4 in heat capacity and 7e-5 in vapour pressure."""
    import CoolProp.CoolProp as whole

    exact = whole.PropsSI("C", "T", t, "P", 101325.0, "HEOS::Water")
    assert w.heat_capacity(t) == pytest.approx(exact, rel=2.5e-4)
    assert w.vapour_pressure(t) == pytest.approx(whole.PropsSI("P", "T", t, "Q", 0, "HEOS::Water"), rel=8e-5)


@pytest.mark.parametrize("t", [270.0, 400.0, float("nan")])
def test_ice_and_steam_are_refused(t):
    with pytest.raises(EngineError, match="liquid water only"):
        w.viscosity(t)


PROGRAM = """
import sys
{first}
from desalbook.water import purewater
mu = purewater.viscosity(298.15)
assert ("CoolProp" in sys.modules) is {loaded}
import CoolProp.CoolProp as whole
assert whole is purewater._library() and whole.PropsSI("D", "T", 298.15, "P", 101325.0, "Water") > 997.0
print(mu, purewater.version())
"""


@pytest.mark.full
@pytest.mark.parametrize(("first", "loaded"), [("", False), ("import CoolProp", True)])
def test_one_copy_of_the_library_in_either_order(first, loaded):
    """Two copies of the compiled part in one process abort it, which would kill a notebook's kernel."""
    run = subprocess.run(
        [sys.executable, "-c", PROGRAM.format(first=first, loaded=loaded)],
        capture_output=True,
        text=True,
        timeout=60,
    )
    assert run.returncode == 0, run.stderr
    assert run.stdout.startswith("0.00089002")
