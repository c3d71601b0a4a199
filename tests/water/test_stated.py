"""Units and bases of a laboratory, its own checks, a typical water, a balance closed on request."""

from __future__ import annotations

import random

import gsw
import pytest

from desalbook.problems import DesignError
from desalbook.trail import Ledger
from desalbook.units import validate
from desalbook.water.basis import bases
from desalbook.water.inputs import ION_KEYS, RawWater
from desalbook.water.raw_water import analyse
from desalbook.water.species import IONS, table
from tests.rooms import inputs
from tests.water.test_analysis import sea_water

FULL = ("Na", "K", "Ca", "Mg", "Sr", "Ba", "Fe", "Mn", "Al", "NH4", "HCO3", "CO3", "Cl", "SO4", "F", "Br", "NO3",
        "PO4", "SiO2", "B")


def read(ions=None, names=(), **keys):
    written = {"ph": "8.18", **keys} | ({"ions": ions} if ions else {})
    with (book := Ledger()).recording():
        found = analyse(inputs({"water": (RawWater, written)}), names=names)
    return book, found


def verdict(book, id):
    return book.lines[id].more["verdict"]


def mg(ions: dict[str, str]) -> dict[str, float]:
    return {k: float(v.split()[0]) for k, v in ions.items()}


# units and bases ---------------------------------------------------------------------------------------------


def test_the_whole_list_of_ions_may_be_stated():
    assert set(FULL) <= set(ION_KEYS)
    ions = sea_water(Ba=0.01, Fe=0.02, Mn=0.01, Al=0.02, NH4=0.05, CO3=14.0, NO3=1.0, PO4=0.1, SiO2=1.5)
    _, w = read(ions, conductivity="53 mS/cm", measured_tds="36 g/L", carbon_dioxide="0.4 mg/L", oil="0 mg/L",
                residual_oxidant="0.1 mg/L as Cl2", sulfide="0.1 mg/L", turbidity="3 NTU", sdi="4", toc="2 mg/L",
                suspended_solids="4 mg/L")
    assert set(w.molality.keys) == set(FULL) and all(float(x) > 0 for _, x in w.molality.items())


# factor from the stated substance to the ion, hand arithmetic with abridged atomic weights
@pytest.mark.parametrize(("ion", "basis", "factor"), [
    ("HCO3", "CaCO3", 1.21928), ("Ca", "CaCO3", 0.40043), ("Mg", "CaCO3", 0.24284), ("NO3", "N", 4.42664),
    ("NH4", "N", 1.28786), ("PO4", "P", 3.06615), ("SiO2", "Si", 2.13933), ("SO4", "S", 2.99613),
    ("B", "H3BO3", 0.17483), ("Na", "ion", 1.0)])
def test_factors_of_the_bases(ion, basis, factor):
    assert bases(ion)[basis] == pytest.approx(factor, rel=2e-5)


def test_one_water_in_many_units_is_one_water():
    """Each ion of the same water stated in another way; the molalities agree to rounding."""
    plain = sea_water(NO3=2.0, PO4=0.3, SiO2=2.0)
    book, a = read(plain)
    rho, x = float(a.density), mg(plain)
    other = dict(plain)
    other["Ca"] = f"{x['Ca'] / 40.078:.9f} mmol/L"
    other["Mg"] = f"{2 * x['Mg'] / 24.305:.9f} meq/L"
    other["K"] = f"{x['K'] / rho * 1e3:.9f} mg/kg"
    other["HCO3"] = f"{x['HCO3'] / 1.2192714:.9f} mg/L as CaCO3"
    other["NO3"] = f"{x['NO3'] / 4.4266438 * 1e3:.6f} ug/L as N"
    other["SiO2"] = f"{x['SiO2'] / 2.1393271:.9f} mg/L as Si"
    other["PO4"] = f"{x['PO4'] / 3.0661200:.9f} mg/L as P"
    other_book, b = read(other)
    for k in a.molality.keys:
        assert float(b.molality[k]) == pytest.approx(float(a.molality[k]), rel=1e-6), k
    assert float(b.density) == pytest.approx(rho, rel=1e-7)
    said = validate(RawWater, {"ions": other, "ph": "8"}, "water").ions.said
    assert "HCO3 " in said and "as CaCO3" in said and "as N" in said and "meq/L" in said
    assert other_book.lines["water.ions_equivalents"].sort == "given" and "water.concentration" in other_book
    assert "water.concentration" not in book


def test_all_per_mass():
    """Reference seawater straight from its table in mg/kg, no density needed by the reader."""
    moles = table("reference_seawater")["moles"]
    kept = {k: v for k, v in moles.items() if k in IONS and k not in ("CO2", "CO3")}
    kept |= {"HCO3": moles["HCO3"] + moles["CO3"] + moles["CO2"], "B": moles["B(OH)3"] + moles["B(OH)4"]}
    _, w = read({k: f"{v * IONS[k].basis_molar_mass * 1e6:.6f} mg/kg" for k, v in kept.items()})
    _, per_litre = read(sea_water())
    assert float(w.molality["Na"]) == pytest.approx(0.4689674 / (1 - 0.03516504), rel=2e-4)
    for k in w.molality.keys:
        assert float(w.molality[k]) == pytest.approx(float(per_litre.molality[k]), rel=5e-5)


@pytest.mark.parametrize(("ion", "text", "said"), [
    ("Na", "10 g/L as N", "cannot be stated"), ("B", "4 meq/L", "no fixed charge"), ("SiO2", "2 meq/L", "no fixed"),
    ("Na", "400 ppm", "ppm"), ("Na", "10 992 mg/L\n", "Na"), ("Na", "10 mg/L as CaCO3\n", "cannot be stated"),
    ("Na", "-3 mg/L", "outside its range"), ("Na", "90 g/L", "80 g/L"), ("Na", "5 mol/L", "4 mol/L"),
    ("Ca", "10 mmol/L as CaCO3", "no basis"), ("Na", "NaN mg/L", "Na"), ("Na", 400, "Na"), ("PO4", "3 meq/L", "fixed"),
    ("Na", "10,5 mg/L", "Na"), ("Na", True, "Na"), ("Na", "1 mg/L as ", "Na")])
def test_what_cannot_be_read_is_refused_in_one_line(ion, text, said):
    with pytest.raises(DesignError, match=said) as error:
        validate(RawWater, {"ions": {**sea_water(), ion: text}, "ph": "8.1"}, "water")
    assert "\n" not in str(error.value) and f"water.ions[{ion}]" in str(error.value)


def test_an_unknown_element_is_refused():
    with pytest.raises(DesignError, match="unknown key"):
        validate(RawWater, {"ions": {**sea_water(), "Unobtainium": "1 mg/L"}, "ph": "8.1"}, "water")


@pytest.mark.parametrize("rounds", [2, pytest.param(15, marks=pytest.mark.full)])
def test_units_go_round(rounds):
    """Any amount of any ion, written in each way and read, is the same amount; each ion in its turn."""
    rnd = random.Random(7)
    for ion in list(FULL) * rounds:
        row, grams = IONS[ion], 10 ** rnd.uniform(-6, 1)
        ways = {"mg/L": grams * 1e3, "g/L": grams, "ug/L": grams * 1e6, "mmol/L": grams / row.basis_molar_mass}
        for basis, factor in bases(ion).items():
            ways[f"mg/L as {basis}"] = grams * 1e3 / factor
        if "CaCO3" in bases(ion):
            ways["meq/L"] = grams / row.basis_molar_mass * abs(row.charge)
        for unit, number in ways.items():
            ions = {**sea_water(), ion: f"{number:.12f} {unit}"}
            _, w = _concentrations(ions)
            assert w[ion] == pytest.approx(grams, rel=1e-5, abs=1e-14), (ion, unit)


def _concentrations(ions):
    from desalbook.trail import given, values
    from desalbook.water.basis import as_ions

    made = validate(RawWater, {"ions": ions, "ph": "8.1"}, "water").ions
    with (book := Ledger()).recording():
        inp = inputs({"water": (RawWater, {"ions": ions, "ph": "8.1"})})
        stated = {w: inp(f"water.ions{w}") for w in ("", "_per_mass", "_moles", "_equivalents")
                  if inp(f"water.ions{w}") is not None}
        mass = given("x.mass", [IONS[k].basis_molar_mass for k in made], "molar mass", title="M", axis="ion",
                     keys=tuple(made))
        with values(keep=False):
            found = as_ions("water", stated, inp("water.ions_basis"), mass, 1000.0)
        c = getattr(found, "values", found)
    return book, dict(zip(made, c, strict=True))


def test_the_design_keeps_unit_and_basis_on_the_trail():
    """A line per way of stating, the words of the laboratory on it, through the reader of design files."""
    from desalbook.design import from_text, lines, moves

    rows = "\n".join(f'{k} = "{v}"' for k, v in {**sea_water(), "Ca": "20.9 meq/L", "NO3": "0.5 mg/L as N"}.items())
    text = f'format = 1\n[duty]\ntrain_product_flow = "600 m3/d"\n[water]\nph = 8.1\n[water.ions]\n{rows}\n'
    design = from_text(text)
    with (book := Ledger()).recording():
        inp = lines(design)
    assert "NO3 0.5 mg/L as N" in book.lines["water.ions"].more["text"]
    assert float(inp("water.ions_equivalents[Ca]")) == pytest.approx(20.9)
    assert float(inp("water.ions_basis[NO3]")) == pytest.approx(4.42664, rel=1e-5)
    assert inp("water.ions_moles") is None
    assert ("water.ions_equivalents[Ca]", 1.01) in moves(design) and ("water.ions[Ca]", 1.01) not in moves(design)


def test_an_ion_is_shown_in_the_unit_and_basis_it_was_written_in():
    from tests.shared import demo, plant

    design = demo().with_values({"water.ions[HCO3]": "118 mg/L as CaCO3", "water.ions[Ca]": "20.6 meq/L"})
    shown = plant(design)
    assert shown.show("water.ions[HCO3]") == "118.0 mg/L as CaCO3"
    assert shown.show("water.ions[Ca]") == "20.60 meq/L"
    assert shown.show("water.ions[Cl]") == plant(demo()).show("water.ions[Cl]")
    assert design.stated("water.ions[Cl]") == design.stated("water.ph") == design.stated("no.such") == ""
    for said in (shown.show("water.ions[HCO3]"), "118 mg/L CaCO3"):  # what is shown is read back
        assert plant(demo().with_values({"water.ions[HCO3]": said, "water.ions[Ca]": "20.6 meq/L"}))[
            "water.alkalinity"] == shown["water.alkalinity"]


# what the analysis says of itself ----------------------------------------------------------------------------


def test_a_gulf_analysis_without_a_third_of_its_sulfate_is_flagged():
    """Printed for the east coast of the Gulf, TDS near 42 g/L: SO4 2140 mg/L; constant proportions ask some 3300.

    The charge balance is too coarse to see it (5 % allowed, 2 % found).
    """
    scale = 42.0 / 35.16504 * 1.0055  # salt and density against reference seawater
    ions = {k: v * scale for k, v in mg(sea_water()).items()} | {"SO4": 2140.0}
    book, _w = read({k: f"{v:.4f} mg/L" for k, v in ions.items()}, ph="7.8")
    assert verdict(book, "water.balance.check") == "passes"
    line = book.lines["water.proportion.check"]
    assert line.more["verdict"] == "fails" and "sulfate -3" in line.more["do"]
    assert 0.30 < line.value < 0.40
    full, _ = read({k: f"{v * scale:.4f} mg/L" for k, v in mg(sea_water()).items()}, ph="7.8")
    assert verdict(full, "water.proportion.check") == "passes"
    well, _ = read({k: f"{v:.4f} mg/L" for k, v in ions.items()}, ph="7.8", source="beach-well")
    assert verdict(well, "water.proportion.which") == "review"


@pytest.mark.parametrize("ion", ["Na", "Mg", "Ca", "K", "SO4", "Br", "B"])
def test_each_major_ion_is_judged(ion):
    x = mg(sea_water())[ion]
    for share, said in ((1.08, "passes"), (0.92, "passes"), (1.12, "fails"), (0.88, "fails")):
        book, _ = read(sea_water(**{ion: x * share}))
        found = verdict(book, "water.proportion.check")
        assert (found == "fails") == (said == "fails"), (ion, share)


def test_what_was_not_analysed_is_said():
    ions = {k: v for k, v in sea_water().items() if k not in ("B", "Sr")}
    book, _ = read(ions)
    line = book.lines["water.missing"]
    assert line.more["verdict"] == "review"
    for word in ("boron", "barium", "strontium", "silica"):
        assert word in line.more["why"]
    assert "fluoride" not in line.more["why"]
    whole, _ = read(sea_water(Ba=0.01, SiO2=1.0))
    assert verdict(whole, "water.missing") == "passes"
    assert verdict(read(sea_water(Ba=0.01, SiO2=1.0), source="beach-well")[0], "water.missing") == "review"


def test_conductivity_against_the_analysis():
    """53.07 mS/cm at practical salinity 35 and 25 degC, PSS-78 through gsw."""
    sea = gsw.C_from_SP(35.0, 25.0, 0.0)
    book, _ = read(sea_water(), conductivity=f"{sea:.3f} mS/cm")
    assert verdict(book, "water.conductivity.check") == "passes"
    assert float(book["water.conductivity_departure"]) < 0.015
    book, _ = read(sea_water(), conductivity=f"{1.15 * sea:.3f} mS/cm")
    assert verdict(book, "water.conductivity.check") == "fails"
    cold = gsw.C_from_SP(35.0, 15.0, 0.0)
    book, _ = read(sea_water(), conductivity=f"{cold:.3f} mS/cm", conductivity_temperature="15 degC")
    assert verdict(book, "water.conductivity.check") == "passes"


def test_no_fixed_factor_between_solids_and_conductivity():
    """0.678 mg/L per uS/cm at 35.98 g/L and 0.783 at 84.6 g/L, 25 degC (PSS-78); the engine within 1.5 %."""
    for scale, factor, total in ((1.0, 0.678, 35.98), (80 / 35.16504 * 1.0333, 0.783, 84.6)):
        book, w = read({k: f"{v * scale:.4f} mg/L" for k, v in mg(sea_water()).items()})
        assert float(w.total_dissolved_solids) == pytest.approx(total, rel=0.003)
        assert float(book["water.tds_per_conductivity"]) == pytest.approx(factor, rel=0.015)


def test_measured_solids_against_the_sum():
    _, w = read(sea_water())
    tds = float(w.total_dissolved_solids) * 1e3
    for share, low, high in ((1.05, "passes", "passes"), (0.96, "fails", "passes"), (1.25, "passes", "fails")):
        book, _ = read(sea_water(), measured_tds=f"{share * tds:.1f} mg/L")
        assert (verdict(book, "water.tds_ratio.check_low") == "fails") == (low == "fails")
        assert (verdict(book, "water.tds_ratio.check_high") == "fails") == (high == "fails")


def test_carbon_dioxide_measured():
    book, w = read(sea_water(), carbon_dioxide="10 mg/L")
    assert verdict(book, "water.carbon_dioxide.check") == "fails"
    mgl = float(book["water.carbon_dioxide_found"]) * 44.009 * (float(w.density) - float(w.total_dissolved_solids))
    book, _ = read(sea_water(), carbon_dioxide=f"{mgl:.5f} mg/L")
    assert float(book["water.carbon_dioxide_departure"]) == pytest.approx(0.0, abs=1e-3)


def test_titrated_alkalinity_is_not_all_carbon():
    """Alkalinity 2300, carbon 2000 umol/kg at S 35, 25 degC and pH 8.182 (NBS), by the published constants.

    To 0.02 in pH, which is 0.6 % in carbon here; by the engine's data set it was 2 % off, and taking all alkalinity
    for bicarbonate is 15 % off.
    """
    rho, sea = 1.0233436, 1 - 0.03516504
    ions = sea_water() | {"HCO3": f"{2.300 * 50.043 * rho:.4f} mg/L as CaCO3"}
    book, w = read(ions, ph="8.182", bicarbonate_from="titration")
    assert float(w.molality["HCO3"]) * sea * 1e3 == pytest.approx(2.000, rel=0.006)
    lines = book.lines["water.ions_with_carbon"].parents()
    assert "water.carbon_per_alkalinity" in lines
    assert float(w.alkalinity) * 1e3 == pytest.approx(2.300 * 50.043 * rho, rel=1e-5)
    assert "water.carbon_per_alkalinity" in book
    _, whole = read(sea_water() | {"HCO3": f"{2.304 * 50.043 * rho:.4f} mg/L as CaCO3"}, bicarbonate_from="titration")
    assert float(whole.balance) == pytest.approx(0.0, abs=2e-5)  # the alkalinity holds the charge of borate too
    _, naive = read(ions, ph="8.182")
    assert float(naive.molality["HCO3"]) * sea * 1e3 == pytest.approx(2.300, rel=1e-3)
    split = ions | {"HCO3": f"{2.000 * 61.016 * rho:.4f} mg/L", "CO3": f"{0.150 * 60.008 * rho:.4f} mg/L"}
    _, v = read(split, ph="8.182", bicarbonate_from="titration")
    assert float(v.molality["HCO3"]) == pytest.approx(float(w.molality["HCO3"]), rel=2e-4)
    assert float(v.molality["CO3"]) == 0.0


# balancing ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("closing", ["Na", "Cl"])
def test_balance_is_closed_only_on_request_and_with_a_line(closing):
    bad = sea_water(SO4=2000.0)
    book, asis = read(bad)
    assert "water.balance_added" not in book and float(asis.balance) > 0.01
    book, w = read(bad, balance_with=closing)
    z, m = w.charge, w.molality
    assert sum(float(z[k]) * float(m[k]) for k in m.keys) == pytest.approx(0.0, abs=1e-12)
    added = float(book["water.balance_added"])
    assert added == pytest.approx(-2 * 775.3 / 96.056, rel=0.03)
    moved = float(w.ions[closing]) - float(asis.ions[closing])
    assert moved == pytest.approx(added * IONS[closing].basis_molar_mass / IONS[closing].charge, rel=1e-9)
    assert all(float(w.ions[k]) == float(asis.ions[k]) for k in w.ions.keys if k != closing)
    assert verdict(book, "water.balance.check") == "passes"
    assert float(book["water.balance"]) == float(asis.balance)  # the analysis is judged as it came


def test_balance_that_takes_more_than_there_is_is_refused():
    with pytest.raises(DesignError, match="more sodium than there is"):
        read(sea_water(Na=200.0, Cl=1000.0), balance_with="Na")


# a typical water ---------------------------------------------------------------------------------------------


def test_typical_water():
    """At 35.16504 g/kg it is reference seawater; density and salt scale as they should."""
    book, w = read(sea_salinity="35.16504 g/kg", ph="8.18")
    _, lab = read(sea_water())
    for k in w.molality.keys:
        assert float(w.molality[k]) == pytest.approx(float(lab.molality[k]), rel=3e-4), k
    assert float(w.density) == pytest.approx(1023.344, abs=0.03)
    assert float(w.balance) == pytest.approx(float(lab.balance), abs=1e-6)
    assert verdict(book, "water.typical") == "review" and "barium" in book.lines["water.missing"].more["why"]
    for s in (5.0, 45.0, 80.0):
        _, w = read(sea_salinity=f"{s} g/kg")
        assert float(w.salinity) == pytest.approx(s / (1000 - s), rel=2e-4)
        assert float(w.density) == pytest.approx(gsw.rho_t_exact(s, 25.0, 0.0), rel=4e-4)


def test_typical_water_may_leave_its_ph_open():
    with (book := Ledger()).recording():
        w = analyse(inputs({"water": (RawWater, {"sea_salinity": "38 g/kg"})}))
    assert float(w.ph) == 8.1 and book.lines["water.ph_typical"].sort == "assumed"


@pytest.mark.parametrize(("keys", "said"), [
    ({"sea_salinity": "38 g/kg", "ions": sea_water()}, "one composition"), ({"ph": "8"}, "one composition"),
    ({"sea_salinity": "138 g/kg"}, "outside its range"),
    ({"sea_salinity": "38 g/kg", "ph": "8", "ph_total": "8"}, "one pH")])
def test_one_composition(keys, said):
    with pytest.raises(DesignError, match=said) as error:
        validate(RawWater, keys, "water")
    assert "\n" not in str(error.value)


def test_a_control_keeps_unit_and_basis():
    """An ion stated on a basis has no slider, for that would write a bare number of the ion."""
    from desalbook.units import metas

    m, ions = metas(RawWater)["ions"], {**sea_water(), "Ca": "20.9 meq/L", "NO3": "0.5 mg/L as N"}
    value = validate(RawWater, {"ions": ions, "ph": "8"}, "water").ions
    assert m.entry("Na", value).possible == (0.0, 80.0) and m.entry("Na", value).form == "quantity"
    assert m.entry("Ca", value).kind.name == "charge concentration" and m.entry("Ca", value).possible is None
    assert m.entry("NO3", value).possible is None
    assert m.entry("NO3", value).read("0.5 mg/L as N", "water.ions[NO3]") == pytest.approx(0.5e-3)
    with pytest.raises(DesignError, match="cannot be stated"):
        m.entry("Na", value).read("5 mg/L as N", "water.ions[Na]")
