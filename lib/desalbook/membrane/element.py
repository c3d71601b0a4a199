"""From an element's sheet to its permeabilities, through the same solver that runs the design."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np

from desalbook.hydraulics.constants import PI, Small
from desalbook.membrane import channel
from desalbook.membrane import residuals as rs
from desalbook.membrane import transport as t
from desalbook.membrane.cases import Cases, Laws, Solution
from desalbook.membrane.solver import solve
from desalbook.membrane.vessel import (
    boron_per_water,
    columns,
    defaults,
    geometry,
    recorder,
    salinity_residual,
    shared,
)
from desalbook.problems import Infeasible
from desalbook.tables import table
from desalbook.trail import (
    Choice,
    Figure,
    assumed,
    checked,
    constant,
    engine,
    in_values,
    maximum,
    picked,
    proving,
    relation,
    residual,
    scope,
    solved,
)
from desalbook.units import M2, Concentration, Fraction, M, Salinity, parse, show
from desalbook.water.carbonate import total_from_nbs
from desalbook.water.phreeqc import Water, engine_record, property_curves
from desalbook.water.purewater import version, viscosity

__all__ = ["Element", "element", "own_sheet", "sheet_value"]

AT = "membrane.element"
LEAF = constant("h_l", 0.55e-3, "m", source="common-practice",
                title="Leaf without its spacer: two membranes of 0.15 mm and a permeate carrier of 0.25 mm")

_COLUMNS = ("area", "length", "length_overall", "outer_diameter", "tube_diameter", "spacer_height",
            "spacer_porosity", "rated_flow", "rated_rejection", "rated_boron_rejection", "test_pressure",
            "test_concentration", "test_temperature", "test_recovery", "test_boron", "test_ph", "max_pressure",
            "max_temperature", "max_feed_flow", "min_concentrate_flow", "max_pressure_drop")


@dataclass(frozen=True)
class Element:
    """Sheet values and permeabilities at 25 degC, as figures."""

    sheet: dict[str, Figure]
    water_permeability: Figure
    salt_permeability: Figure
    boric_acid_permeability: Figure
    borate_permeability: Figure

    def __getitem__(self, name: str) -> Figure:
        return self.sheet[name]


@relation("Rejection", symbol="R", unit="1", source="definition")
def rejection(permeate_concentration: Concentration, feed_concentration: Concentration) -> Fraction:
    """Rejection of a solute: one less permeate over feed concentration.

    By the feed as it enters, not by the mean of feed and concentrate, as a sheet states it.
    """
    return 1 - permeate_concentration / feed_concentration


@relation("Rejection of the sheet less rejection found", symbol="r_R", unit="1", source="definition")
def rejection_residual(rated_rejection: Fraction, rejection: Fraction) -> Fraction:
    """Rated rejection less the rejection of the rated test as solved.

    Zero when the permeability meets the sheet.
    """
    return rated_rejection - rejection


@relation("Rated-test deviation, largest", symbol="d_r", unit="1", source="definition")
def test_deviation(permeate_flow: t.M3PerS, wanted_flow: t.M3PerS, rejection: Fraction, rated_rejection: Fraction,
                   boron_rejection: Fraction, rated_boron_rejection: Fraction) -> Fraction:
    """Largest relative deviation of the rated test run back: of permeate flow, salt passage and boron passage.

    Passages and not rejections, which hide a passage that is twice too large in their third digit.
    """
    return maximum(maximum(((permeate_flow / wanted_flow - 1) ** 2) ** 0.5,
                           (((1 - rejection) / (1 - rated_rejection) - 1) ** 2) ** 0.5),
                   (((1 - boron_rejection) / (1 - rated_boron_rejection) - 1) ** 2) ** 0.5)


@relation("Leaves over the ring they are wound in", symbol="x_p", unit="1", source="common-practice",
          place="leaf of two membranes of 0.15 mm, a spacer and half of two permeate carriers of 0.25 mm")
def leaves_over_ring(element_area: M2, element_length: M, spacer_height: Small, outer_diameter: Small,
                     tube_diameter: Small) -> Fraction:
    """Volume of the leaves over that of the ring between permeate tube and shell of a spiral-wound element.

    A plausibility of the sheet: above some 0.95 nothing is left for glue lines and shell. Thicknesses are those of
    common membranes and carriers.
    """
    return element_area / 2 * (spacer_height + LEAF) / (
        PI / 4 * (outer_diameter**2 - tube_diameter**2) * element_length)


@relation("Salt per water of the test solution", symbol="X_t", unit="1", source="definition")
def test_salinity(concentration: Concentration, density: t.KgPerM3) -> Salinity:
    """Salt per water of a test solution that is stated per volume.

    The density of that very solution is taken; it holds for one salt.
    """
    return concentration / (density - concentration)


@lru_cache(maxsize=64)
def _curves(temperature: float):
    water = Water.of({"Na": 0.55, "Cl": 0.55}, ph=7.0, temperature=temperature)
    return property_curves(water, temperature)


@lru_cache(maxsize=64)
@in_values
def _invert(area, length, height, porosity, flow, rejected, boron, pressure, salinity, temperature, recovery,
            ph_total, borate, slices, laws=None):
    """Newton on the logarithms of both permeabilities; three cases a step give the derivatives."""
    curves, laws = _curves(temperature), laws or Laws()
    osmotic = laws.of("osmotic")(salinity, *curves.osmotic.coefficients)
    density = laws.of("density")(salinity, *curves.density.coefficients)
    target = np.array([flow, 1 - rejected])
    net = pressure - 1.1 * osmotic
    if net <= 0:
        raise _impossible("test_pressure", "the test pressure is not above the osmotic pressure of the test solution",
                          show(pressure, "gauge pressure"), f"above {show(1.1 * osmotic, 'gauge pressure')}",
                          "check test_pressure and test_concentration on the sheet")
    if not 0 < rejected < 1:
        raise _impossible("rated_rejection", "no salt permeability gives this rejection", show(rejected, "fraction"),
                          "between 0 % and 100 %", "check rated_rejection on the sheet")
    concentrated = osmotic / (1 - recovery)
    if pressure <= concentrated:
        raise _impossible("test_recovery", "the concentrate of the rated test has the osmotic pressure of the feed "
                          "pressure or more", show(recovery, "fraction"),
                          f"osmotic pressure of the concentrate below {show(pressure, 'gauge pressure')}",
                          "check test_recovery and test_concentration on the sheet")
    x = np.log(np.array([flow / area / net, flow / area * (1 - rejected) / 1.1]))

    def run(points, acid=1e-7):
        p = np.exp(np.atleast_2d(points))
        return solve(Cases(
            vessels=1.0, elements=1, feed_flow=flow / recovery, permeate_flow=flow, feed_pressure=pressure,
            feed_salinity=salinity, temperature=temperature, permeate_pressure=0.0,
            water_permeability=p[:, 0], salt_permeability=p[:, 1], boric_acid_permeability=acid,
            borate_permeability=borate, boron_feed=5e-6, ph_total=ph_total,
            water_viscosity=viscosity(temperature), osmotic=np.array([curves.osmotic.coefficients]),
            density=np.array([curves.density.coefficients]), element_area=area, element_length=length,
            spacer_height=height, spacer_porosity=porosity), "permeate_flow", slices=slices, laws=laws)

    feed_c = t.concentration_of.at("value", salinity=salinity, density=density)
    for _ in range(25):
        if not np.all(np.isfinite(x)):
            break
        r = run(x + np.array([[0.0, 0.0], [1e-5, 0.0], [0.0, 1e-5]]))
        y = np.log(np.array([r.permeate_flow, r.out["permeate_tds"] / feed_c]))
        lack = y[:, 0] - np.log(target)
        if np.max(np.abs(lack)) < 1e-12:
            break
        slope = (y[:, 1:] - y[:, :1]) / 1e-5
        if not np.all(np.isfinite(slope)) or abs(np.linalg.det(slope)) < 1e-12:
            break
        x = x - np.linalg.solve(slope, lack)
    if not np.all(np.isfinite(x)) or not np.max(np.abs(lack)) < 1e-9:
        raise _impossible("rated_flow", "no water and salt permeability meet the rated test",
                          f"{show(flow, 'flow.day')} at {show(rejected, 'fraction')}", "",
                          "check rated_flow, rated_rejection, area, test_pressure and test_recovery on the sheet")
    feed_b = 5e-6 * feed_c / salinity
    def lack_of(y):  # passage rises with the permeability, nearly in proportion
        return float(np.log(run(x, np.exp(y)).out["permeate_boron"][0] / feed_b) - np.log(1 - boron))

    y0, y1 = np.log(5e-7), np.log(4e-7)
    f0, f1 = lack_of(y0), lack_of(y1)
    for _ in range(25):
        if abs(f1) < 1e-13 or f1 == f0:
            break
        y0, y1, f0 = y1, y1 - f1 * (y1 - y0) / (f1 - f0), f1
        if not np.isfinite(y1) or y1 < -40:
            break
        f1 = lack_of(y1)
    if not abs(f1) < 1e-9:
        raise _impossible("rated_boron_rejection", "borate alone passes as much: boric acid would need a negative "
                          "permeability", show(boron, "fraction"), "",
                          "check rated_boron_rejection and test_ph on the sheet, or lower membrane.borate_permeability")
    return (float(np.exp(x[0])), float(np.exp(x[1])), float(np.exp(y1)),
            float(np.max(np.abs(np.append(lack, f1)))))


def _impossible(column: str, what: str, value: str, allowed: str, do: str) -> Infeasible:
    """A rated test that no membrane meets, named by its column."""
    return Infeasible(what, where=f"{AT}.{column}", value=value, allowed=allowed, do=do)


def own_sheet(inp: Any, chosen: Choice) -> str:
    """Name of the design's own sheet that is chosen; empty where the choice is a sheet of the kit."""
    return str(chosen) if str(chosen) in inp.names("elements") else ""


def sheet_value(inp: Any, id: str, chosen: Choice, column: str) -> Figure:
    """One value of an element's sheet: as the design's own sheet states it, else that of a sheet of the kit."""
    own = own_sheet(inp, chosen)
    based: Choice = inp(f"elements[{own}].based_on") if own else chosen
    row = table("elements").row(str(based), based.id)
    cell, figure = row[column], inp(f"elements[{own}].{column}") if own else None
    symbol = {"symbol": cell.symbol} if cell.symbol else {}
    if figure is None:
        place = f"blank on the sheet {own}; {cell.place}" if own else cell.place
        with scope(because=[based] if own else []):
            return assumed(id, cell.value, cell.kind, title=cell.title, text=cell.text, source=cell.source,
                           place=place, table="elements", row=row.key, **symbol)
    return picked(id, float(figure), cell.kind, title=cell.title, rule="the sheet that is chosen",
                  candidates=[{"key": own, "value": float(figure), "won": True}], inputs={"stated": figure},
                  why="as the sheet states it", **symbol)


def element(inp: Any, chosen: Choice | None = None) -> Element:
    """Record an element's sheet, that of ``membrane.element`` where none is named, and find its permeabilities.

    Returns
    -------
    Element

    Raises
    ------
    Infeasible
        No membrane meets the rated test of the sheet; names the sheet and its key.
    """
    name: Choice = inp("membrane.element") if chosen is None else chosen
    with scope("element", because=[name]):
        sheet = {}
        for column in _COLUMNS:
            sheet[column] = sheet_value(inp, f"membrane.element.{column}", name, column)
        where = _place(name)
        _packed(sheet, where)
        try:
            made = _found(inp, sheet, where)
        except Infeasible as refusal:
            own = own_sheet(inp, name)
            if not own or not refusal.where.startswith(f"{AT}."):
                raise
            raise Infeasible(refusal.what, where=f"elements[{own}].{refusal.where.removeprefix(f'{AT}.')}",
                             value=refusal.value, allowed=refusal.allowed, do=refusal.do) from None
        if own_sheet(inp, name):
            _permeable(sheet, made.water_permeability, where)
        return made


def _place(chosen: Choice) -> str:
    """Where an element that is not that of the whole first pass stands, as titles end with it."""
    if "second_pass" in chosen.id:
        return ", second pass"
    return f", {chosen.id.partition('[')[2].partition(']')[0]}" if "[" in chosen.id else ""


_SEAWATER_TEST = 10.0
"""kg/m3 in the rated test, from which it is that of a seawater element; brackish ones are tested at some 2."""
_MOST_PERMEABLE = {True: ("2.5 L/(m2 h bar)", "seawater elements pass 1 to 2"),
                   False: ("10 L/(m2 h bar)", "brackish elements pass 3 to 8")}


def _permeable(sheet: dict[str, Figure], found: Figure, where: str) -> None:
    """Is the permeability that of a membrane? A flow typed several times too large fits its own test all the same."""
    text, place = _MOST_PERMEABLE[float(sheet["test_concentration"]) >= _SEAWATER_TEST]
    with scope(because=[sheet["test_concentration"]]):
        most = assumed("membrane.element.water_permeability_limit", parse(text, "water permeability"),
                       "water permeability", title="Water permeability, maximum plausible", symbol="A_max", text=text,
                       source="common-practice", place=f"{place} at 25 degC; from memory")
    checked("membrane.element.water_permeability.check", found, "<=", most, source="common-practice",
            title=f"Water permeability plausible{where}",
            do="check rated_flow, area and the test condition of the element sheet")


def _packed(sheet: dict[str, Figure], where: str) -> None:
    """Do the leaves fit into the element? A slip of unit on the sheet shows here first."""
    filled = leaves_over_ring.at("membrane.element.packing", element_area=sheet["area"],
                                 element_length=sheet["length"], spacer_height=sheet["spacer_height"],
                                 outer_diameter=sheet["outer_diameter"], tube_diameter=sheet["tube_diameter"])
    full = assumed("membrane.element.packing_limit", 0.98, "fraction", title="Leaves over the ring, maximum",
                   source="common-practice", place="glue lines, folds and shell take the rest")
    checked("membrane.element.packing.check", filled, "<=", full, title=f"Leaves fit into the element{where}",
            do="check area, spacer_height, length and both diameters of the element sheet",
            source="common-practice")


def _found(inp, sheet, where) -> Element:
    temperature = sheet["test_temperature"]
    curves = _curves(float(temperature))
    about = engine_record("brine")
    said = {"library": about.library, "version": about.library_version, "data": about.database,
            "checksum": about.sha256, "source": "phreeqc-2013"}
    osmotic = engine("membrane.element.osmotic_curve", curves.osmotic.coefficients, "osmotic pressure",
                     title="Osmotic curve of the test solution", symbol="a", inputs={"temperature": temperature},
                     axis="coefficient", keys=[f"osm_{i}" for i in range(6)], note="sodium chloride", **said)
    density = engine("membrane.element.density_curve", curves.density.coefficients, "density",
                     title="Density curve of the test solution", symbol="r", inputs={"temperature": temperature},
                     axis="coefficient", keys=["rho_0", "rho_1", "rho_15", "rho_2"], note="sodium chloride", **said)
    mu = engine("membrane.element.water_viscosity", viscosity(float(temperature)), "viscosity",
                title="Viscosity of pure water", symbol="mu_w", inputs={"temperature": temperature},
                library="CoolProp", version=version(), data="IF97", source="iapws-r12-08")
    c_test = sheet["test_concentration"]
    x = float(c_test) / 1020
    for _ in range(40):
        x = float(c_test) / (curves.density.at(x) - float(c_test))
    guess = solved("membrane.element.test_salinity", x, "salinity", title="Salt per water of the test solution",
                   symbol="X_t", inputs={"concentration": c_test, "curve": density}, method="repeated substitution")
    rho = t.density_of.at("membrane.element.test_density", salinity=guess, **_keys(density))
    again = test_salinity.at("membrane.element.test_salinity_again", concentration=c_test, density=rho)
    left = salinity_residual.at("membrane.element.test_salinity_residual", salinity=guess, found=again)
    residual(guess, left, float(guess))
    ph = total_from_nbs.at("membrane.element.test_ph_total", ph=sheet["test_ph"])
    slices = inp("membrane.slices")
    borate, said_channel = inp("membrane.borate_permeability"), channel.channel_said(inp)
    law = {k: said_channel[k] for k in ("mass_transfer_law", "friction_law")}
    values = _invert(*[float(sheet[k]) for k in (
        "area", "length", "spacer_height", "spacer_porosity", "rated_flow", "rated_rejection",
        "rated_boron_rejection", "test_pressure")], x, float(temperature), float(sheet["test_recovery"]),
        float(ph), float(borate), int(slices), channel.laws_of(said_channel))
    base = {k: sheet[k] for k in ("area", "length", "spacer_height", "spacer_porosity", "rated_flow",
                                  "rated_rejection", "test_pressure", "test_recovery", "test_temperature")}
    base |= {"salinity": guess, "osmotic": osmotic, "density": density, "viscosity": mu, "slices": slices} | law
    method = "the rated test run through the vessel solver, Newton on both permeabilities"
    a = solved("membrane.element.water_permeability", values[0], "water permeability", symbol="A_25",
               title="Water permeability at 25 degC", inputs=base, method=method)
    b = solved("membrane.element.salt_permeability", values[1], "salt permeability", symbol="B_25",
               title="Salt permeability at 25 degC", inputs=base, method=method)
    acid = solved("membrane.element.boric_acid_permeability", values[2], "salt permeability", symbol="B_a",
                  title="Boric acid permeability at 25 degC", method="secant on the rated boron rejection",
                  inputs=base | {"boron": sheet["rated_boron_rejection"], "ph": ph, "borate": borate})
    back = solved("membrane.element.test_deviation", values[3], "fraction", symbol="d_t",
                  title="Rated test run back: largest deviation", inputs=base | {
                      "water_permeability": a, "salt_permeability": b, "boric_acid_permeability": acid,
                      "boron": sheet["rated_boron_rejection"]},
                  method="of permeate flow, salt passage and boron passage, with the permeabilities that were fitted")
    near = assumed("membrane.element.test_tolerance", 1e-3, "fraction", title="Rated test run back: tolerance",
                   source="common-practice", place="half of the last digit of a sheet's flow and passage, at best")
    checked("membrane.element.test_deviation.check", back, "<=", near, source="definition",
            title=f"Rated test reproduced by the fit{where}",
            do="check the rated values and the test condition of the element sheet")
    if proving():
        _prove(sheet, a, b, acid, borate, guess, osmotic, density, mu, ph, slices, law, back)
    return Element(sheet, a, b, acid, borate)


def _keys(column):
    return dict(column.items())


@lru_cache(maxsize=16)
def _rated(numbers: tuple[float, ...], osmotic: tuple[float, ...], density: tuple[float, ...], slices: int,
           laws: Laws) -> Solution:
    """The rated test solved; kept by its numbers, for a sheet seldom changes."""
    names = ("feed_flow", "permeate_flow", "feed_pressure", "feed_salinity", "temperature", "water_permeability",
             "salt_permeability", "boric_acid_permeability", "borate_permeability", "boron_feed", "ph_total",
             "water_viscosity", "element_area", "element_length", "spacer_height", "spacer_porosity")
    cases = Cases(vessels=1.0, elements=1, permeate_pressure=0.0, osmotic=np.array([osmotic]),
                  density=np.array([density]), **dict(zip(names, numbers, strict=True)))
    return solve(cases, "permeate_flow", slices=slices, laws=laws)


def _prove(sheet, a, b, acid, borate, salinity, osmotic, density, mu, ph, slices, law, back) -> None:
    """Put the rated test through the recording relations and bind the residuals to the permeabilities."""
    def fixed(name, value, kind, title):
        return assumed(f"membrane.element.{name}", value, kind, title=title, source="definition")

    f: dict[str, Any] = geometry("membrane.element", sheet["area"], sheet["length"], sheet["spacer_height"],
                                 sheet["spacer_porosity"], slices) | law
    f |= {"water_permeability": a, "salt_permeability": b, "boric_acid_permeability": acid,
          "borate_permeability": borate, "feed_salinity": salinity, "osmotic": osmotic, "density": density,
          "water_viscosity": mu, "temperature": sheet["test_temperature"], "ph_total": ph,
          "permeate_pressure": fixed("test_permeate_pressure", 0.0, "gauge pressure", "Test: permeate pressure"),
          "vessels": fixed("test_vessels", 1, "count", "Test: one element"), "feed_pressure": sheet["test_pressure"]}
    f["feed_flow"] = test_feed.at("membrane.element.test_feed_flow", permeate_flow=sheet["rated_flow"],
                                  recovery=sheet["test_recovery"])
    test_density = t.density_of.at("membrane.element.test_feed_density", salinity=salinity,
                                   **dict(density.items()))
    f["boron_ratio"] = boron_per_water.at("membrane.element.test_boron_ratio", boron_feed=sheet["test_boron"],
                                          density=test_density, concentration=sheet["test_concentration"])
    f["inlet"] = f["feed_pressure"]  # the test's pressure is that at the element
    f["water"] = t.vessel_water.at("membrane.element.test_water", feed_flow=f["feed_flow"],
                                   feed_density=test_density, feed_salinity=salinity, vessels=f["vessels"])
    f["salt"] = t.vessel_salt.at("membrane.element.test_salt", node_water=f["water"], feed_salinity=salinity)
    f["boron"] = t.vessel_salt.at("membrane.element.test_boron_flow", title="Boron into one vessel", symbol="M_B",
                                  node_water=f["water"], feed_salinity=f["boron_ratio"])
    r = _rated(tuple(float(x) for x in (
        f["feed_flow"], sheet["rated_flow"], sheet["test_pressure"], salinity, sheet["test_temperature"], a, b, acid,
        borate, f["boron_ratio"], ph, mu, sheet["area"], sheet["length"], sheet["spacer_height"],
        sheet["spacer_porosity"])), tuple(osmotic.values), tuple(density.values), int(slices), channel.laws_of(law))
    f["elements"] = f["vessels"]
    defaults("membrane.element", f)
    c = columns("membrane.element", r, 0, f, [f"1.{j + 1}" for j in range(int(slices))])
    out: dict[str, Any] = {}
    at, given = recorder("membrane.element."), shared(f)
    t.permeate_of_train(at, given, r.laws, c, out)
    t.boron_of_train(at, given, c, out)
    q = out["permeate_flow"]
    left = rs.flow_residual.at("membrane.element.residual_flow", permeate_flow=q,
                                   wanted_flow=sheet["rated_flow"])
    residual(a, left, float(sheet["rated_flow"]))
    tds = t.solute_concentration.at("membrane.element.permeate_tds", solute=out["permeate_salt"], flow=q)
    boron = t.boron_concentration.at("membrane.element.permeate_boron", solute=out["permeate_boron_flow"], flow=q)
    kept = {"salt": (rejection.at("membrane.element.rejection", permeate_concentration=tds,
                                  feed_concentration=sheet["test_concentration"]), sheet["rated_rejection"], b),
            "boron": (boron_rejection.at("membrane.element.boron_rejection", boron_permeate=boron,
                                         boron_feed=sheet["test_boron"]), sheet["rated_boron_rejection"], acid)}
    for solute, (found, wanted, bind) in kept.items():
        left = rejection_residual.at(f"membrane.element.residual_{solute}_rejection", rated_rejection=wanted,
                                     rejection=found)
        residual(bind, left, 1 - float(wanted))
    run = test_deviation.at(
        "membrane.element.test_deviation_again", permeate_flow=q, wanted_flow=sheet["rated_flow"],
        rejection=kept["salt"][0], rated_rejection=sheet["rated_rejection"], boron_rejection=kept["boron"][0],
        rated_boron_rejection=sheet["rated_boron_rejection"])
    again = rejection_residual.at("membrane.element.test_deviation_residual", rated_rejection=run, rejection=back,
                                  title="Deviation recorded less that of the solver")
    residual(back, again, 1.0)


@relation("Feed flow of the test", symbol="Q_t", unit="m^3/s", source="definition")
def test_feed(permeate_flow: t.M3PerS, recovery: t.Fraction) -> t.M3PerS:
    """Feed flow of the rated test, from its permeate and recovery.

    One element alone; the recovery is that of the element, not of a vessel.
    """
    return permeate_flow / recovery


@relation("Boron rejection", symbol="R_B", unit="1", source="definition")
def boron_rejection(boron_permeate: t.Boron, boron_feed: t.Boron) -> t.Fraction:
    """Rejection of boron: one less permeate over feed concentration.

    Holds at the pH and temperature of the test only, for boric acid and borate pass differently.
    """
    return 1 - boron_permeate / boron_feed
