"""The raw water as read, converted and checked."""

from __future__ import annotations

import pytest

from desalbook.problems import DesignError
from desalbook.trail import Ledger, given
from desalbook.units import validate
from desalbook.water.inputs import RawWater
from desalbook.water.raw_water import analyse
from desalbook.water.species import IONS, table
from tests.rooms import inputs

RHO = 1.0233436  # kg/L of seawater of 35.16504 g/kg at 25 degC, teos-10 (evaluated with gsw)


def sea_water(**changed: float) -> dict[str, str]:
    """Reference seawater as a laboratory reports it, mg/L; carbonate and borate as HCO3 and B."""
    moles = table("reference_seawater")["moles"]
    reported = {k: v for k, v in moles.items() if k in IONS and k not in ("CO2", "CO3")}
    reported["HCO3"] = moles["HCO3"] + moles["CO3"] + moles["CO2"]
    reported["B"] = moles["B(OH)3"] + moles["B(OH)4"]
    mg = {k: v * IONS[k].basis_molar_mass * 1e6 * RHO for k, v in reported.items()} | changed
    return {k: f"{v:.5f} mg/L" for k, v in mg.items()}


def read(ions=None, **keys):
    written = {"ions": ions or sea_water(), **({"ph": "8.18"} if "ph_total" not in keys else {}), **keys}
    with (book := Ledger()).recording():
        found = analyse(inputs({"water": (RawWater, written)}))
    return book, found


def test_reference_sea_water():
    """Salinity 35.165 g/kg, density by the Pitzer data 0.02 kg/m3 from teos-10."""
    _, w = read()
    assert float(w.density) == pytest.approx(RHO * 1e3, abs=0.03)
    # all carbon as HCO3 and all boron as B(OH)3: 5e-5 off the sum of the species
    assert float(w.practical_salinity) == pytest.approx(35.0, abs=0.02)
    assert float(w.molality["Na"]) == pytest.approx(0.4689674 / (1 - 0.03516504), rel=2e-4)
    assert float(w.ph_total) == pytest.approx(8.05, abs=1e-9)
    assert float(w.alkalinity) * 1e3 == pytest.approx(50.043 * 1.9663 * RHO, rel=1e-3)


def test_density_is_the_engine_s_for_these_very_molalities():
    """Made again from the recorded molality, the density is the recorded one."""
    from desalbook.water.phreeqc import Water, speciate

    _, w = read()
    amounts = {k: float(v) for k, v in w.molality.items()}
    again = speciate(Water.of(amounts, ph=8.18, temperature=298.15), None, "brine").density
    assert again == pytest.approx(float(w.density), rel=2e-7)


def test_balance_check_fails_on_a_lost_third_of_sulfate():
    """A published Gulf analysis states sulfate a third below constant proportions."""
    book, w = read(sea_water(SO4=2775.3 * 2 / 3))
    assert 0.013 < float(w.balance) < 0.018
    assert (
        book.lines["water.balance.check"].more["verdict"] == "passes"
    )  # 5 % lets it pass, as it would in print
    book, w = read(sea_water(Cl=19802.0 * 0.85))
    assert book.lines["water.balance.check"].more["verdict"] == "fails"
    assert float(w.balance) > 0.05


def test_ph_on_the_total_scale():
    book, w = read(ph_total="8.05")
    assert float(w.ph) == pytest.approx(8.18) and "water.ph_on_nbs_scale" in book


def test_density_may_be_measured():
    with (book := Ledger()).recording():
        inp = inputs({"water": (RawWater, {"ions": sea_water(), "ph": "8.1"})})
        w = analyse(inp, given("water.density", 1023.2, "density", title="Density"))
    assert float(w.density) == 1023.2 and book.lines["water.density"].sort == "given"


def test_reduced_metals_are_a_caution():
    book, _ = read(sea_water(Fe=0.4))
    line = book.lines["water.reduced"]
    assert line.more["verdict"] == "review" and "iron" in line.more["why"]
    assert read()[0].lines["water.reduced"].more["verdict"] == "passes"


@pytest.mark.parametrize(
    ("keys", "said"),
    [
        ({"ph_total": "8.0", "ph": "8.1"}, "one pH"),
        ({}, "one pH"),
        ({"ph": "8.1", "temperature_cold": "30 degC"}, "temperatures must rise"),
        ({"ph": "8.1", "ions": {"Na": "10 g/L", "Cl": "19 g/L"}}, "main ion"),
        ({"ph": "8.1", "ions": {"Na": "10 g/L", "Xx": "19 g/L"}}, "Xx"),
        ({"ph": "8.1", "source": "lake"}, "source"),
    ],
)
def test_what_cannot_be_is_refused(keys, said):
    with pytest.raises(DesignError, match=said) as error:
        validate(RawWater, {"ions": sea_water(), **keys}, "water")
    assert "\n" not in str(error.value)
