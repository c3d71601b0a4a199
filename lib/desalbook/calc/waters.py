"""Calculations of a water: analysis and properties, scaling, blending, remineralisation."""

from __future__ import annotations

from desalbook import product
from desalbook.calc.calculation import TEMPERATURE, WATER, calculation
from desalbook.plant.feedwater import feedwater
from desalbook.plant.scaling import PLACES, saturation_line, scaling_limits, trade_indices
from desalbook.plant.waters import waters
from desalbook.tables import table
from desalbook.trail import Figure, assumed, checked, scope
from desalbook.trail.inputs import Inputs
from desalbook.units import Factor, Fraction, Section, field
from desalbook.water import scaling as scaling_room

__all__ = ["blend", "remineralisation", "scaling", "water"]

_RAW = {f"{step}.present": "no" for step in ("chlorination", "coagulation", "dechlorination", "acid")}
_PROPERTIES = ("tds", "salinity", "density@design", "viscosity@design", "osmotic_pressure@design",
               "vapour_pressure@design", "heat_capacity@design", "raw_conductivity@design")


class ScalingDuty(Section):
    """Arguments of `scaling`."""

    recovery: Fraction = field("fraction", "0 %", title="Recovery at which the water is judged", symbol="Y",
                               possible=("0 %", "90 %"), usual=("0 %", "60 %"),
                               hint="0 % judges the water as it is; salts are taken as fully rejected")
    polarisation: Factor = field("factor", "1", title="Concentration-polarisation factor at the wall", symbol="beta",
                                 possible=("1", "2"), usual=("1", "1.2"), hint="Wall over bulk; 1 judges the bulk")


@calculation("Water", keys=("salinity=water.sea_salinity", "water.ions", "water.ph", "water.bicarbonate_from",
                            "water.lab_temperature", "water.measured_tds", "water.conductivity", "water.balance_with",
                            *WATER[3:]),
             shows=("water.balance", *(f"water.{name}" for name in _PROPERTIES),
                    "water.osmotic_pressure@cold", "water.osmotic_pressure@hot"), water_checks="always")
def water(inp: Inputs) -> None:
    """Water: analysis, ion balance, TDS, and density, viscosity, osmotic and vapour pressure at three temperatures.

    From an analysis, or from a salinity with the ions of reference seawater. Osmotic pressure and density of this very
    water by the ion-interaction model of a geochemical engine; viscosity and vapour pressure by formulas for sea salt.
    """
    waters(inp)


@calculation("Scaling", own={"scaling": ScalingDuty}, base=_RAW, keys=TEMPERATURE,
             shows=("scaling.concentration_factor", "scaling.wall", "scaling.ph", "scaling.langelier",
                    "scaling.stiff_davis", "scaling.simplified_saturation_ph"), water_checks="always")
def scaling(inp: Inputs) -> None:
    """Scaling: saturation indices of a water, as it is and concentrated, with Langelier and Stiff and Davis index.

    log10 of ion product over solubility product by a geochemical engine, nothing precipitating; each mineral against
    its limit without antiscalant. Indices named after people are for information: read their own docstrings.
    """
    fed = feedwater(inp, waters(inp))
    recovery, beta = inp.number("scaling.recovery"), inp.number("scaling.polarisation")
    an, at = fed.waters.analysis, fed.waters.at["design"]
    none: Figure = assumed("scaling.chloride_passage", 0.0, "fraction", title="Passage of salt", symbol="SP",
                           source="astm-d4582", place="7.1: may be taken as zero")
    plain: Figure = assumed("scaling.mixing", 0.0, "factor", title="No mixing", symbol="f_m", source="definition")
    factor = scaling_room.factor_of_recovery.at("scaling.concentration_factor", recovery=recovery,
                                                chloride_passage=none, effective_mixing=plain)
    at_wall = scaling_room.factor_at_wall.at("scaling.wall_factor", concentration_factor=factor,
                                             last_polarisation=beta)
    grown = {ion: float(factor) for ion in (*an.molality.keys, "HCO3")}
    found = scaling_room.judge(fed.water("design"), float(at.temperature), grown, float(beta), float(at_wall))
    chain = {k: v for k, v in fed.inputs.items() if not k.startswith("acid")} | {
        "temperature": at.temperature, "laboratory": an.temperature}
    more = {"feed": {}, "concentrate": {"factor": factor}, "wall": {"factor": factor, "polarisation": beta}}
    indices = {place: saturation_line(f"scaling.{place}", title, symbol, found.minerals(), getattr(found, place),
                                      chain | more[place]) for place, title, symbol in PLACES}
    wall = indices["wall"]
    for mineral, limit in scaling_limits(inp, wall.keys, "without").items():
        name = table("scaling_limits").row(mineral, "scaling").title.lower()
        checked(f"scaling.{mineral}.check", wall[mineral], "<=", limit, title=f"Scaling without antiscalant, {name}",
                do="lower the recovery, add acid, or dose antiscalant", source="common-practice",
                caution="the suppliers of element and antiscalant state the limits that bind")
    trade_indices(inp, fed, recovery, found.concentrate.ph, indices["concentrate"], "design")


@calculation("Blend of waters", requires=("analyses",), keys=("water.analyses", *WATER[3:]),
             shows=("water.blend_ph", "water.blend_temperature", *(f"water.{name}" for name in _PROPERTIES)),
             water_checks="always")
def blend(inp: Inputs) -> None:
    """Blend of waters: ions, pH, TDS and properties of several analyses by their shares.

    Shares by mass of water. Amounts, alkalinity and carbon of the blend are the weighted sums, and pH follows from
    them; no gas leaves and nothing precipitates.
    """
    waters(inp)


@calculation("Remineralisation", base=_RAW, water_checks="never", requires=("ions", "ph"),
             keys=("ions=water.ions", "ph=water.ph", f"temperature={TEMPERATURE[-1].partition('=')[2]}",
                   "product.remineralisation", "product.doses", "product.calcite_dose", "product.co2_dose",
                   "product.acid_dose", "product.lime_dose", "product.alkali_dose", "product.blend_fraction",
                   "product.degasifier", "product.ph_adjustment", "product.ph_target", "duty.product_use"),
             shows=("product.permeate_ph", "product.ph", "product.alkalinity", "product.calcium", "product.hardness",
                    "product.lsi", "product.ccpp", "product.tds", "product.sodium_hydroxide_dose", "product.sar"))
def remineralisation(inp: Inputs) -> None:
    """Remineralisation of a permeate: pH, alkalinity, calcium, LSI and CCPP after mineral, carbon dioxide and alkali.

    Give the ions and the pH of the permeate. Doses as given, or solved for the window of the product's use; closed
    system, by a geochemical engine. Drinking water: local law and licensed practice decide.
    """
    w = waters(inp)
    an, at = w.analysis, w.at["design"]
    none: Figure = assumed("product.carbonate_passing", 0.0, "molality", title="Carbonate in the permeate",
                           symbol="b_CO3", source="common-practice", note="at the pH of a permeate there is hardly any")
    limits = product.Limits(inp.choice("duty.product_use"), inp)
    with scope("plant"):
        made = product.finish(
            inp, molality=an.molality, carbon_dioxide=at.carbon_dioxide, bicarbonate=an.molality["HCO3"],
            carbonate=none, temperature=at.temperature, density=at.density,
            total_dissolved_solids=an.total_dissolved_solids,
            limits=limits,
            blend=product.Blend(an.molality, an.ph, an.temperature))
    figures: dict[str, Figure | None] = {
        "tds": made.tds, "ph": made.ph, "alkalinity": made.alkalinity, "calcium": made.calcium,
        "hardness": made.hardness, "ccpp": made.ccpp, "lsi": made.lsi, "sar": made.sar}
    for name, ion in (("chloride", "Cl"), ("sodium", "Na"), ("sulfate", "SO4"), ("bromide", "Br")):
        if ion in made.concentrations:
            figures[name] = made.concentrations[ion]
    product.judge(limits, figures, whole=False)
