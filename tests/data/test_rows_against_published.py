"""Coefficients and lists against printed values of their sources."""

from __future__ import annotations

import re
from itertools import pairwise
from math import exp, log10
from statistics import NormalDist

import pytest

from desalbook.tables import table
from desalbook.units import parse

KW = 1e3
GPM = parse("1 gpm", "flow")

# 2013 to 2021 abridged standard atomic weights
WEIGHT = {"H": 1.008, "B": 10.81, "C": 12.011, "O": 15.999, "Na": 22.990, "S": 32.06, "Cl": 35.45,
          "Ca": 40.078, "Fe": 55.845, "Br": 79.904}


def molar(formula: str) -> float:
    formula = re.sub(r"\((\w+)\)(\d)", lambda m: m[1] * int(m[2]), formula)
    return sum(WEIGHT[a] * int(n or 1) for a, n in re.findall(r"([A-Z][a-z]?)(\d*)", formula))


@pytest.mark.parametrize("key", list(table("stoichiometry")))
def test_mass_ratio_follows_from_the_molar_masses(key):
    row = table("stoichiometry")[key]
    top, bottom = row.place.split(",")[0].split("/", 1)
    def mass(text: str) -> float:
        number, formula = re.fullmatch(r"\(?([0-9.]*) ?M\(([A-Za-z0-9]+)\)\)?", text).groups()
        return float(number or 1) * molar(formula)
    assert row["ratio"].value == pytest.approx(mass(top) / mass(bottom), abs=6e-5)


def test_mass_ratios_in_print():
    """Dechlorination and neutralisation ratios as water-treatment texts print them."""
    printed = {"nahso3-per-cl2": 1.468, "na2s2o5-per-cl2": 1.341, "caco3-per-fecl3": 0.926, "fe-per-fecl3": 0.344}
    for key, ratio in printed.items():
        assert table("stoichiometry")[key]["ratio"].value == pytest.approx(ratio, abs=6e-4), key


# Dose basis in a litre of the solution, g/L, as sheets and handbooks print it beside strength and density.
CONTENT = {
    "sodium-hypochlorite": 125, "sodium-bisulfite": 506.2, "sodium-metabisulfite": 236, "sulfuric-acid": 1799,
    "sulfuric-acid-93": 1700, "hydrochloric-acid": 370.9, "ferric-chloride": 567.2, "caustic-soda": 762.5,
    "caustic-soda-30": 398.4, "hydrated-lime": 51.5, "carbon-dioxide": 1030, "calcite": 2656,
    "sodium-bicarbonate": 62.58, "antiscalant": 1100, "citric-acid": 900, "biocide": 1200, "soda-ash": 110.3,
    "corrosion-inhibitor": 1300,
}


@pytest.mark.parametrize("key", list(table("chemicals")))
def test_strength_times_density_is_what_the_solution_holds(key):
    row = table("chemicals")[key]
    held = row["strength"].value * row["density"].value
    assert held == pytest.approx(CONTENT[key], rel=3e-3)
    if "molar_mass" in row:
        basis = row["dose_basis"].value.removeprefix("as ")
        assert row["molar_mass"].value * 1e3 == pytest.approx(molar(basis), abs=2e-3)


def test_trade_per_cent_of_hypochlorite():
    """12.5 trade per cent is 12.5 g of available chlorine in 100 mL, by definition."""
    row = table("chemicals")["sodium-hypochlorite"]
    assert row["strength"].value * row["density"].value == pytest.approx(125.0, rel=1e-3)


def test_what_makes_gas_together_is_kept_apart():
    """Acid or ferric with hypochlorite: chlorine. Acid with bisulfite: sulfur dioxide. Both rows
    must say so."""
    rows = table("chemicals")
    apart = {k: r["incompatible"].value for k, r in rows.items()}
    for key, row in rows.items():
        if row["role"].value in ("acid", "coagulant"):
            assert "hypochlorite" in apart[key]
        if row["role"].value == "acid":
            assert "bisulfite" in apart[key]
        if row["role"].value == "dechlorination":
            assert "acids" in apart[key] and "hypochlorite" in apart[key]
        assert row["hazard"].value and row["caution"].value
    assert all(word in apart["sodium-hypochlorite"] for word in ("acids", "ferric", "bisulfite", "ammonia"))


@pytest.mark.parametrize("key", list(table("media")))
def test_grading_is_log_normal_and_ordinary(key):
    row = table("media")[key]
    d10, u = row["effective_size"].value, row["uniformity"].value
    z = NormalDist().inv_cdf
    power = (z(0.9) - z(0.1)) / (z(0.6) - z(0.1))
    assert power == pytest.approx(1.670, abs=5e-4)
    assert row["d60"].value == pytest.approx(d10 * u, rel=2e-3)
    assert row["d90"].value == pytest.approx(d10 * u**power, rel=2e-3)
    assert row["usual_size_low"].value <= d10 <= row["usual_size_high"].value
    # Davis (2010) Table 11-1: porosity 0.40 to 0.60, specific gravity 1.5 to 1.75, 2.55 to 2.65, 3.6 to 4.2
    assert 0.40 <= row["settled_porosity"].value <= 0.60
    family = key.split("-")[0]
    low, high = {"anthracite": (1500, 1750), "garnet": (3600, 4200)}.get(family, (2550, 2650))
    assert low <= row["grain_density"].value <= high


@pytest.mark.parametrize(("upper", "lower"), [("anthracite", "sand"), ("sand", "garnet")])
def test_layers_settle_alike(upper, lower):
    """d1/d2 = [(rho2 - rho)/(rho1 - rho)]^0.667 for equal settling (Crittenden et al. 2012, eq. 11-24, from
    memory), seawater; within 10 % the layers restratify after a backwash."""
    a, b = table("media")[upper], table("media")[lower]
    water = 1025.0
    equal = ((b["grain_density"].value - water) / (a["grain_density"].value - water)) ** 0.667
    assert a["effective_size"].value / b["effective_size"].value == pytest.approx(equal, rel=0.10)


def test_clean_bed_of_the_published_problem():
    """Crittenden et al. (2012), problem 11-4 case A: sand 0.55 mm, 0.75 m, 8 m/h, 10 degC. Its
    coefficients with porosity 0.415 give 0.3955 + 0.0126 m (evaluated by hand from the printed equation)."""
    row = table("media")["sand"]
    kv, ki, e = (row[c].value for c in ("kappa_v", "kappa_i", "settled_porosity"))
    d, v, mu, rho, g, depth = row["effective_size"].value, 8 / 3600, 1.307e-3, 999.7, 9.80665, 0.75
    viscous = kv * (1 - e) ** 2 / e**3 * mu * v / (rho * g * d**2) * depth
    inertial = ki * (1 - e) / e**3 * v**2 / (g * d) * depth
    assert viscous == pytest.approx(0.3955, rel=3e-3)
    assert inertial == pytest.approx(0.0126, rel=6e-3)


# Full-load efficiency in per cent at 50 Hz, IEC 60034-30-1 (from memory):
# kW -> IE3 2 poles, IE3 4 poles, IE4 2 poles, IE4 4 poles
PRINTED = {0.75: (80.7, 82.5, 83.5, 85.7), 1.5: (84.2, 85.3, 86.5, 88.2), 3: (87.1, 87.7, 89.1, 90.4),
           7.5: (90.1, 90.4, 91.7, 92.6), 15: (91.9, 92.1, 93.3, 93.9), 30: (93.3, 93.6, 94.5, 94.9),
           55: (94.3, 94.6, 95.3, 95.7), 90: (95.0, 95.2, 95.8, 96.1), 132: (95.4, 95.6, 96.2, 96.4),
           160: (95.6, 95.8, 96.3, 96.6), 200: (95.8, 96.0, 96.5, 96.7)}


@pytest.mark.parametrize("kilowatt", list(PRINTED))
def test_motor_polynomial_meets_the_printed_table(kilowatt):
    x = log10(kilowatt)
    for key, printed in zip(("ie3-2p", "ie3-4p", "ie4-2p", "ie4-4p"), PRINTED[kilowatt], strict=True):
        a, b, c, d = (table("motor_efficiency")[key][n].value for n in "abcd")
        # printed to 0.1; the polynomial is a fit of the table
        assert a * x**3 + b * x**2 + c * x + d == pytest.approx(printed, abs=0.06), key


def test_motor_classes_stand_in_order():
    t = table("motor_efficiency")
    for kilowatt in PRINTED:
        x = log10(kilowatt)
        for poles in "24":
            e = [sum(t[f"{c}-{poles}p"][n].value * x**p for n, p in zip("abcd", (3, 2, 1, 0), strict=True))
                 for c in ("ie2", "ie3", "ie4")]
            assert e == sorted(e)
    for row in table("motor_efficiency_60hz").values():
        assert row["premium_2p"].value <= row["super_premium_2p"].value
        assert row["premium_4p"].value <= row["super_premium_4p"].value


def test_motor_lists_rise_by_ordinary_steps():
    for name in ("motors", "motors_nema"):
        ratings = [r["output"].value for r in table(name).values()]
        steps = [b / a for a, b in pairwise(ratings)]
        assert min(steps) > 1.05 and max(steps) < 1.7, name
    # the case of a 513.5 kW duty takes 560 kW
    ratings = [r["output"].value for r in table("motors").values()]
    assert min(r for r in ratings if r >= 513.5 * KW) == 560 * KW


def attainable(name: str, gpm: float) -> tuple[float, float]:
    rows = [r for r in table("pump_efficiency").values() if r["pump_class"].value == name
            and r["flow_low"].value <= gpm * GPM < r["flow_high"].value]
    assert len(rows) == 1
    c = [rows[0][f"c{i}"].value for i in range(5)]
    m = [rows[0][f"m{i}"].value for i in range(5)]
    mean = c[0] + c[1] * exp(-c[2] * gpm) + c[3] * exp(-c[4] * gpm)
    y = log10(gpm)
    return mean, mean * (1 + (m[0] + m[1] * exp(-m[2] * y) + m[3] * exp(-m[4] * y)) / 100)


def test_attainable_efficiency_of_the_library_s_own_test():
    """Open pump-assessment library, unit test: end suction ANSI/API, 2000 gpm."""
    mean, greatest = attainable("end suction", 2000)
    assert mean == pytest.approx(83.97084, abs=1e-4)
    assert greatest == pytest.approx(86.99584, abs=1e-4)


@pytest.mark.parametrize(("gpm", "end_suction", "multistage"), [
    (50, (53.63, 60.41), (48.43, 54.56)), (100, (59.55, 65.49), (55.04, 60.53)),
    (200, (67.02, 72.29), (63.72, 68.73)), (1000, (80.89, 84.57), (79.53, 83.15)),
    (4000, (86.03, 88.48), (85.20, 87.63))])
def test_attainable_efficiency_evaluated(gpm, end_suction, multistage):
    """Values evaluated from the library's source, to 0.01."""
    assert attainable("end suction", gpm) == pytest.approx(end_suction, abs=0.006)
    assert attainable("multistage", gpm) == pytest.approx(multistage, abs=0.006)


def test_pitting_numbers():
    """PREN = Cr + 3.3 (Mo + 0.5 W) + 16 N; smallest compositions of super duplex fall below 40."""
    expected = {"s31603": 22.60, "n08904": 32.20, "s32205": 34.14, "s32750-least": 37.74, "s32750": 42.52,
                "s32760-least": 37.93, "s32760": 41.71, "s31254": 42.18}
    for key, printed in expected.items():
        r = table("alloys")[key]
        pren = 100 * (r["chromium"].value + 3.3 * (r["molybdenum"].value + 0.5 * r["tungsten"].value)
                      + 16 * r["nitrogen"].value)
        assert pren == pytest.approx(printed, abs=0.006), key


@pytest.mark.parametrize(("name", "column"), [
    ("diameters", "diameter"), ("tanks", "diameter"), ("cartridges", "equivalents"),
    ("cartridge_housings", "rounds"), ("pressure_classes", "rating"), ("pipe_classes", "rating"),
    ("motor_margin", "up_to"), ("drives", "output"),
    ("motor_efficiency_60hz", "output")])
def test_size_lists_rise(name, column):
    values = [r[column].value for r in table(name).values()]
    assert values == sorted(set(values))


def test_the_63_inch_vessel_is_in_the_list():
    """Common practice, no source: composite vessels are sold as 63 inch, 1.6 m."""
    nearest = min(table("diameters").values(), key=lambda r: abs(r["diameter"].value - 63 * 0.0254))
    assert nearest["diameter"].value == pytest.approx(63 * 0.0254, rel=1e-3)


def test_roughness_as_the_process_design_standard_has_it():
    """NORSOK P-001 rev. 3, section 5.2.2 (mm)."""
    for key, mm in {"grp": 0.02, "pe": 0.005, "pvc": 0.005, "duplex": 0.05, "carbon-steel": 0.05,
                    "carbon-steel-corroded": 0.5}.items():
        assert table("pipes")[key]["roughness"].value == pytest.approx(mm * 1e-3)


def test_fittings_and_velocities_are_well_formed():
    """A fitting has a multiple of fT or a fixed K, never both, never neither; each service has a limit."""
    for row in table("fittings").values():
        assert (row["multiple"].value > 0) != (row["fixed"].value > 0), row.key
    for row in table("velocities").values():
        assert row["limit"].value > 0, row.key
