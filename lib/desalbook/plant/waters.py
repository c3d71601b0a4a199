"""The raw water at its three temperatures, as the rooms downstream want it."""

from __future__ import annotations

from dataclasses import dataclass

from desalbook.hydraulics.pipes import Fluid
from desalbook.membrane import transport as t
from desalbook.trail import Column, Figure, assumed, engine, govern, relation, scope
from desalbook.trail.inputs import Inputs
from desalbook.units import Molality, MolarMass, Salinity
from desalbook.water import purewater, seawater
from desalbook.water.analysis import Analysis
from desalbook.water.phreeqc import (
    Water,
    engine_record,
    property_curves,
    speciate,
)
from desalbook.water.raw_water import analyse
from desalbook.water.seawater import vapour_pressure_lowered
from desalbook.water.species import IONS

__all__ = ["TEMPERATURES", "At", "Waters", "waters"]

TEMPERATURES = ("cold", "design", "hot")
OSMOTIC = tuple(f"osm_{i}" for i in range(6))
DENSITY = ("rho_0", "rho_1", "rho_15", "rho_2")


@dataclass(frozen=True)
class At:
    """Raw water at one temperature."""

    temperature: Figure
    osmotic_curve: Column
    density_curve: Column
    water_viscosity: Figure
    density: Figure
    viscosity: Figure
    vapour_pressure: Figure
    osmotic_pressure: Figure
    carbon_dioxide: Figure
    heat_capacity: Figure
    water_activity: Figure
    conductivity: Figure
    ph_total: Figure | None = None
    borate_shift: Column | None = None

    @property
    def fluid(self) -> Fluid:
        """Density and viscosity together."""
        return Fluid(self.density, self.viscosity)


@dataclass(frozen=True)
class Waters:
    """The analysis and what follows from it at each temperature."""

    analysis: Analysis
    at: dict[str, At]
    boron: Figure
    boron_molar_mass: Figure | None = None


@relation("Boron per water", symbol="X_B", unit="1", source="definition")
def boron_ratio_of(molality: Molality, molar_mass: MolarMass) -> Salinity:
    """Boron per mass of water.

    Amount times molar mass of boron, not of boric acid; in seawater and along the membrane alike.
    """
    return molality * molar_mass


def waters(inp: Inputs) -> Waters:
    """Analyse the raw water and find its properties at the cold, design and hot temperature."""
    an = analyse(inp, names=inp.names("water.analyses"))
    amounts = {k: float(v) for k, v in an.molality.items()}
    ph = float(an.ph)
    about = engine_record("brine")
    said = {"library": about.library, "version": about.library_version, "data": about.database,
            "checksum": about.sha256, "source": "phreeqc-2013"}
    pure = {"library": "CoolProp", "version": purewater.version(), "data": "IF97"}
    found = {}
    water = Water.of(amounts, ph=ph, temperature=float(an.temperature))
    levels = {key: inp(f"water.temperature_{key}") for key in TEMPERATURES}
    for key, temperature in levels.items():
        base = {"molality": an.molality, "ph": an.ph, "lab_temperature": an.temperature, "temperature": temperature}
        curves = property_curves(water, float(temperature))
        answer = speciate(water, float(temperature), "brine")
        solid = float(an.salinity) / (1.0 + float(an.salinity))
        with scope(corner=key):
            osmotic = engine("water.osmotic_curve", curves.osmotic.coefficients, "osmotic pressure",
                             title="Coefficients of the osmotic curve", symbol="a", inputs=base,
                             axis="coefficient", keys=OSMOTIC, **said,
                             note=f"within {curves.osmotic.max_error * 100:.2f} % of the engine's points")
            density = engine("water.density_curve", curves.density.coefficients, "density",
                             title="Coefficients of the density curve", symbol="r", inputs=base,
                             axis="coefficient", keys=DENSITY, **said,
                             note=f"within {curves.density.max_error * 100:.4f} % of the engine's points")
            mu = engine("water.pure_viscosity", purewater.viscosity(float(temperature)), "viscosity",
                        title="Viscosity of pure water", symbol="mu_w", inputs={"temperature": temperature},
                        source="iapws-r12-08", **pure)
            boil = engine("water.pure_vapour_pressure", purewater.vapour_pressure(float(temperature)),
                          "absolute pressure", title="Vapour pressure of pure water", symbol="p_v0",
                          inputs={"temperature": temperature}, source="iapws-if97", **pure)
            found[key] = At(
                temperature, osmotic, density, mu,
                t.density_of.at("water.density", title="Density of the raw water", salinity=an.salinity,
                                **dict(density.items())),
                t.viscosity_of.at("water.viscosity", title="Viscosity of the raw water", salinity=an.salinity,
                                  water_viscosity=mu, temperature=temperature),
                vapour_pressure_lowered.at("water.vapour_pressure", vapour_pressure=boil,
                                           practical_salinity=an.practical_salinity),
                t.osmotic_of.at("water.osmotic_pressure", title="Osmotic pressure of the raw water",
                                salinity=an.salinity, **dict(osmotic.items())),
                engine("water.carbon_dioxide", or_zero(answer.co2),
                       "molality", title="Dissolved carbon dioxide", symbol="b_CO2", inputs=base, **said,
                       note="the data set finds some 8 % more than the published constants in seawater"),
                engine("water.heat_capacity", seawater.heat_capacity(float(temperature), solid), "heat capacity",
                       title="Heat capacity of the raw water", symbol="c_p",
                       inputs={"salinity": an.salinity, "temperature": temperature}, source=seawater.SOURCE,
                       library=seawater.LIBRARY, version=purewater.version(), data=seawater.DATA,
                       note="sea salt in its usual proportions"),
                engine("water.water_activity", answer.water_activity, "factor", title="Activity of the water",
                       symbol="a_w", inputs=base, **said),
                engine("water.raw_conductivity", or_zero(answer.conductivity), "conductivity",
                       title="Conductivity of the raw water", symbol="kappa", inputs=base, **said,
                       note="0.3 to 1.8 % below the practical salinity scale in seawater, 2 % at 5 degC"))
    govern("water.osmotic_pressure", {k: v.osmotic_pressure for k, v in found.items()}, "largest",
           title="Osmotic pressure of the raw water")
    if "B" in an.molality:
        mass = assumed("water.boron_molar_mass", IONS["B"].basis_molar_mass, "molar mass",
                       title="Molar mass of boron", symbol="M_B", source="iupac-weights")
        boron = boron_ratio_of.at("water.boron_ratio", molality=an.molality["B"], molar_mass=mass)
    else:
        mass = None
        boron = assumed("water.boron_ratio", 0.0, "salinity", title="Boron per water", symbol="X_B",
                        source="definition", note="boron was not analysed: ask the laboratory for it")
    return Waters(an, found, boron, mass)


def or_zero(value: float | None) -> float:
    """Nothing found stands as zero."""
    return float(value or 0.0)
