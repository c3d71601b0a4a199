"""Exercises on pretreatment, chemistry and duty."""

from __future__ import annotations

from desalbook import duty
from desalbook.balances import flow_per_unit
from desalbook.dosing.dechlorination import dechlorination_dose
from desalbook.dosing.dosing_line import chlorine_rate, feed_rate
from desalbook.hydraulics.pipes import circle_area
from desalbook.notebook.exercises.kit import Exercise, Given, Mistake, misread, scaled, taken_as
from desalbook.pretreatment import filters, storage
from desalbook.tables import table
from desalbook.trail import assumed
from desalbook.water import analysis

__all__ = ["WATER", "mass_ratio"]

_GPM = "A flow in gpm was used as if it were in m3/h; 1 m3/h is 4.4 gpm."


def mass_ratio(row: str):
    """A mass ratio of the table of reactions as a line."""
    cell = table("stoichiometry")[row]["ratio"]
    return assumed(
        "dechlorination.ratio",
        cell.value,
        cell.kind,
        title=cell.title,
        symbol="r",
        source=cell.source,
        place=cell.place,
        table="stoichiometry",
        row=row,
    )


def _rate(g, slip):
    area = circle_area.at("filter.area", diameter=g["diameter"])
    return filters.filtration_rate.at("filter.rate", flow=g["flow"], area=area, filters_in_service=g["filters"])


def _washing(g, slip):
    area = circle_area.at("filter.area", diameter=g["diameter"])
    one = assumed(
        "filter.out", 0.0 if slip == "all" else 1.0, "count", title="Filters backwashing", symbol="n_out",
        source="exercise"
    )
    left = filters.filters_in_service.at("filter.left", filters=g["filters"], filters_out=one)
    return filters.filtration_rate.at("filter.rate", flow=g["flow"], area=area, filters_in_service=left)


def _tank(g, slip):
    return storage.retention_volume.at("tank.volume", raw_flow=g["flow"], detention=g["detention"], usable=g["usable"])


def _feed(g, slip):
    gross = duty.gross_permeate_of.at(
        "plant.gross", net_product=g["net"], own_use=g["own"], availability=g["availability"]
    )
    one = assumed("plant.trains", 1.0, "count", title="Trains", symbol="n", source="exercise")
    return duty.feed_for.at(
        "plant.feed",
        permeate_flow=flow_per_unit.at("plant.permeate", flow=gross, units=one, title="Permeate of one train",
                                        symbol="Q_p"),
        recovery=g["recovery"],
    )


def _salinity(g, slip):
    return analysis.salinity_of.at("water.salinity", total_dissolved_solids=g["solids"], density=g["density"])


def _alkalinity(g, slip):
    none = assumed("water.carbonate", 0.0, "concentration", title="Carbonate", symbol="C_CO3", source="exercise")
    found = analysis.alkalinity_equivalents.at("water.alkalinity", bicarbonate=g["bicarbonate"], carbonate=none)
    return g["bicarbonate"] if slip == "basis" else found


def _bisulfite(g, slip):
    ratio = mass_ratio("na2s2o5-per-cl2" if slip == "meta" else "nahso3-per-cl2")
    return dechlorination_dose.at(
        "dechlorination.dose", residual_chlorine=g["residual"], per_chlorine=ratio, bisulfite_multiple=g["multiple"]
    )


def _hypochlorite(g, slip):
    rate = chlorine_rate.at("chlorination.rate", flow=g["flow"], chlorine_dose=g["dose"])
    return feed_rate.at(
        "chlorination.feed", mass_flow=rate, strength=g["strength"], solution_density=g["density"]
    )


WATER = (
    Exercise(
        "filter-rate",
        "Filtration rate",
        1,
        "Pressure filters of one diameter share the flow. Find the filtration rate with all of them in service.",
        (
            Given("flow", "Flow through the battery", "Q", "flow", "150 m3/h", "400 m3/h"),
            Given("diameter", "Inside diameter of a filter", "D", "length", "1.4 m", "2.4 m"),
            Given("filters", "Filters in service", "n", "count", "5", "10"),
        ),
        "filtration rate",
        _rate,
        (
            Mistake("gpm", _GPM, misread("flow", "flow")),
            Mistake(
                "radius",
                "The diameter was taken for the radius, so the area is four times too large.",
                scaled("diameter", 2.0),
            ),
            Mistake(
                "one",
                "The flow was put through one filter; it is shared by all that are in service.",
                taken_as("filters", "1", "count"),
            ),
        ),
    ),
    Exercise(
        "one-washing",
        "Filtration rate while one is backwashed",
        1,
        "One filter of the battery is being backwashed. Find the rate through the others.",
        (
            Given("flow", "Flow through the battery", "Q", "flow", "150 m3/h", "400 m3/h"),
            Given("diameter", "Inside diameter of a filter", "D", "length", "1.4 m", "2.4 m"),
            Given("filters", "Filters of the battery", "n", "count", "5", "10"),
        ),
        "filtration rate",
        _washing,
        (
            Mistake("all", "All filters were counted, though one of them is backwashing."),
            Mistake("gpm", _GPM, misread("flow", "flow")),
            Mistake("radius", "The diameter was taken for the radius.", scaled("diameter", 2.0)),
        ),
    ),
    Exercise(
        "tank",
        "Raw water tank",
        1,
        "A tank must hold the flow for a time; only part of its volume can be drawn. Find its volume.",
        (
            Given("flow", "Raw water", "Q_0", "flow", "100 m3/h", "500 m3/h"),
            Given("detention", "Time it must last", "t", "time", "0.7 h", "1.6 h"),
            Given("usable", "Usable fraction of the volume", "u", "fraction", "75 %", "92 %"),
        ),
        "volume",
        _tank,
        (
            Mistake("usable", "The part that cannot be drawn was forgotten.", taken_as("usable", "100 %", "fraction")),
            Mistake("gpm", _GPM, misread("flow", "flow")),
        ),
    ),
    Exercise(
        "feed",
        "Feed for a net product",
        2,
        "A plant of one train delivers a net product each calendar day. It uses water itself and does not run all "
        "the time. Find the feed to the membranes while it runs.",
        (
            Given("net", "Net product", "Q_n", "flow.day", "1500 m3/d", "6000 m3/d"),
            Given("own", "Own use", "Q_o", "flow.day", "60 m3/d", "150 m3/d"),
            Given("availability", "Availability", "a", "fraction", "88 %", "95 %"),
            Given("recovery", "RO recovery", "Y", "fraction", "36 %", "46 %"),
        ),
        "flow",
        _feed,
        (
            Mistake(
                "availability",
                "Availability was forgotten: while it runs the plant makes more.",
                taken_as("availability", "100 %", "fraction"),
            ),
            Mistake(
                "permeate",
                "This is the permeate; the feed is that over the recovery.",
                taken_as("recovery", "100 %", "fraction"),
            ),
        ),
        0.005,
    ),
    Exercise(
        "salinity",
        "Salinity from an analysis",
        1,
        "The laboratory reports TDS by volume. Find the salinity as mass of salt per mass of water.",
        (
            Given("solids", "TDS", "TDS", "concentration", "33 000 mg/L", "46 000 mg/L"),
            Given("density", "Density of the water", "rho", "density", "1021 kg/m3", "1031 kg/m3"),
        ),
        "salinity",
        _salinity,
        (
            Mistake(
                "ppm",
                "mg/L was taken for mg/kg: a litre of seawater weighs more than a kilogram.",
                taken_as("density", "1000 kg/m3", "density"),
            ),
        ),
        0.004,
    ),
    Exercise(
        "alkalinity",
        "Alkalinity as CaCO3",
        1,
        "The analysis gives bicarbonate as HCO3. Find the alkalinity as CaCO3.",
        (Given("bicarbonate", "Bicarbonate, as HCO3", "C", "concentration", "110 mg/L", "190 mg/L"),),
        "concentration as CaCO3",
        _alkalinity,
        (
            Mistake("basis", "mg/L as HCO3 was used as mg/L as CaCO3; the basis must be converted."),
            Mistake(
                "twice",
                "Carbonate's two charges were counted for bicarbonate, which has one.",
                scaled("bicarbonate", 2.0),
            ),
        ),
    ),
    Exercise(
        "bisulfite",
        "Bisulfite for a chlorine residual",
        2,
        "Chlorine must be gone before the membranes. Find the dose of sodium bisulfite, NaHSO3, with the dose ratio.",
        (
            Given(
                "residual",
                "Residual where it is dosed, as Cl2",
                "C",
                "concentration as Cl2",
                "0.3 mg/L as Cl2",
                "1.2 mg/L as Cl2",
            ),
            Given("multiple", "Dose ratio to stoichiometric", "m", "factor", "1.5", "3"),
        ),
        "concentration",
        _bisulfite,
        (
            Mistake("multiple", "The dose ratio was forgotten.", taken_as("multiple", "1", "factor")),
            Mistake("meta", "The ratio of metabisulfite, Na2S2O5, was used for NaHSO3."),
        ),
        0.01,
    ),
    Exercise(
        "hypochlorite",
        "Feed of hypochlorite",
        2,
        "Hypochlorite solution is dosed into the raw water. Find the flow of solution.",
        (
            Given("flow", "Raw water", "Q_0", "flow", "150 m3/h", "500 m3/h"),
            Given("dose", "Dose, as Cl2", "C", "concentration as Cl2", "1.5 mg/L as Cl2", "4 mg/L as Cl2"),
            Given("strength", "Strength of the solution by mass", "w", "mass fraction", "9 % w/w", "11 % w/w"),
            Given("density", "Density of the solution", "rho", "density", "1150 kg/m3", "1220 kg/m3"),
        ),
        "flow.dose",
        _hypochlorite,
        (
            Mistake(
                "density",
                "The solution was taken to be as light as water: per mass is not per volume.",
                taken_as("density", "1000 kg/m3", "density"),
            ),
            Mistake(
                "neat", "The solution was taken as pure chlorine.", taken_as("strength", "100 % w/w", "mass fraction")
            ),
            Mistake("gpm", _GPM, misread("flow", "flow")),
        ),
    ),
)
"""In order of the walk."""
