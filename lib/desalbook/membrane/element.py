"""From an element's sheet to its permeabilities, through the same solver that runs the design."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np

from desalbook.membrane import channel
from desalbook.membrane import residuals as rs
from desalbook.membrane import transport as t
from desalbook.membrane.cases import Cases, Laws, Solution
from desalbook.membrane.inputs import ElementSheet
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
    engine,
    in_values,
    picked,
    proving,
    relation,
    residual,
    scope,
    solved,
)
from desalbook.units import Concentration, Fraction, Salinity, metas
from desalbook.water.carbonate import total_from_nbs
from desalbook.water.phreeqc import Water, engine_record, property_curves
from desalbook.water.purewater import version, viscosity

__all__ = ["Element", "element", "sheet_value", "stated"]

_COLUMNS = ("area", "length", "length_overall", "outer_diameter", "spacer_height", "spacer_porosity", "rated_flow",
            "rated_rejection", "rated_boron_rejection", "test_pressure", "test_concentration",
            "test_temperature", "test_recovery", "test_boron", "test_ph", "max_pressure", "max_temperature",
            "max_feed_flow", "min_concentrate_flow", "max_pressure_drop")


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
    if not 0 < rejected < 1 or net <= 0:
        raise Infeasible("the rated test passes no salt or no water", where="membrane.element",
                         do="check pressure and rejection of the element's sheet")
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
            raise Infeasible("no permeabilities meet the rated test", where="membrane.element",
                             do="check pressure, recovery and rejection of the element's sheet")
        r = run(x + np.array([[0.0, 0.0], [1e-5, 0.0], [0.0, 1e-5]]))
        y = np.log(np.array([r.permeate_flow, r.out["permeate_tds"] / feed_c]))
        lack = y[:, 0] - np.log(target)
        if np.max(np.abs(lack)) < 1e-12:
            break
        x = x - np.linalg.solve((y[:, 1:] - y[:, :1]) / 1e-5, lack)
    feed_b = 5e-6 * feed_c / salinity
    def lack_of(y):  # passage rises with the permeability, nearly in proportion
        return float(np.log(run(x, np.exp(y)).out["permeate_boron"][0] / feed_b) - np.log(1 - boron))

    y0, y1 = np.log(5e-7), np.log(4e-7)
    f0, f1 = lack_of(y0), lack_of(y1)
    for _ in range(25):
        if abs(f1) < 1e-13 or f1 == f0:
            break
        y0, y1, f0 = y1, y1 - f1 * (y1 - y0) / (f1 - f0), f1
        f1 = lack_of(y1)
    return float(np.exp(x[0])), float(np.exp(x[1])), float(np.exp(y1))


def stated(inp: Any, chosen: Choice) -> str:
    """Name of the supplier's sheet that stands in the place of a generic one; empty where there is none."""
    names = [n for n in inp.names("membrane.sheets") if inp(f"membrane.sheets[{n}].in_place_of") == chosen]
    if len(names) > 1:
        raise Infeasible("two sheets stand in the place of one", where=f"membrane.sheets[{names[1]}].in_place_of",
                         value=str(chosen), do="give each another generic sheet to replace")
    return names[0] if names else ""


def sheet_value(inp: Any, id: str, chosen: Choice, column: str) -> Figure:
    """One value of an element's sheet: the supplier's where the design holds one, else the generic sheet's."""
    row = table("elements").row(str(chosen), "membrane.element")
    cell, own = row[column], stated(inp, chosen)
    figure = inp(f"membrane.sheets[{own}].{column}") if own and column in metas(ElementSheet) else None
    symbol = {"symbol": cell.symbol} if cell.symbol else {}
    if figure is None:
        return assumed(id, cell.value, cell.kind, title=cell.title, text=cell.text, source=cell.source,
                       place=cell.place, table="elements", row=row.key, **symbol)
    return picked(id, float(figure), cell.kind, title=cell.title, rule="a supplier's sheet before the generic one",
                  candidates=[{"key": own, "value": float(figure), "won": True},
                              {"key": row.key, "value": cell.value}],
                  inputs={"stated": figure, "in_place_of": inp(f"membrane.sheets[{own}].in_place_of")},
                  why="stated in the design", **symbol)


def element(inp: Any, chosen: Choice | None = None) -> Element:
    """Record an element's sheet, that of ``membrane.element`` where none is named, and find its permeabilities.

    Returns
    -------
    Element
    """
    name: Choice = inp("membrane.element") if chosen is None else chosen
    with scope("element", because=[name]):
        sheet = {}
        for column in _COLUMNS:
            sheet[column] = sheet_value(inp, f"membrane.element.{column}", name, column)
        return _found(inp, sheet)


def _found(inp, sheet) -> Element:
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
    if proving():
        _prove(sheet, a, b, acid, borate, guess, osmotic, density, mu, ph, slices, law)
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


def _prove(sheet, a, b, acid, borate, salinity, osmotic, density, mu, ph, slices, law) -> None:
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
