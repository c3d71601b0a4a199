"""What a design file says of post-treatment and discharge: product, contactor, product tank, specification, outfall."""

from __future__ import annotations

from desalbook.problems import TrailError
from desalbook.product import routes
from desalbook.tables import row_field
from desalbook.units import (
    AsB,
    AsCaCO3,
    AsCl2,
    Concentration,
    Count,
    Factor,
    FiltrationRate,
    Fraction,
    Index,
    KgPerM3,
    M,
    MassFraction,
    MassRatio,
    MPerS,
    PHNbs,
    S,
    Salinity,
    Section,
    SPerM,
    choice,
    field,
    metas,
)

__all__ = ["Contactor", "Outfall", "Product", "ProductTank", "Specification"]


class Product(Section):
    """Section ``[product]``: post-treatment of the permeate."""

    remineralisation: str = choice(
        routes.titles(),
        "none",
        title="Remineralisation",
        hint="How hardness and alkalinity are given back to the permeate",
    )
    doses: str = choice(
        {"written": "As given here", "window": "Solved for the window of the product"},
        "written",
        title="Doses of the minerals",
        hint="Solved: calcium, alkalinity and CCPP of the window fix mineral, carbon dioxide and alkali",
    )
    calcite_dose: Concentration = field(
        "concentration",
        "80 mg/L",
        title="Calcite dissolved, as CaCO3",
        symbol="D_CaCO3",
        possible=("1 mg/L", "300 mg/L"),
        usual=("40 mg/L", "120 mg/L"),
        source="lahav-birnhack-2007",
        hint="Calcite that the permeate takes up in the bed",
    )
    co2_dose: Concentration = field(
        "concentration",
        "40 mg/L",
        title="Carbon dioxide into the contactor",
        symbol="D_CO2",
        possible=("0 mg/L", "300 mg/L"),
        usual=("15 mg/L", "60 mg/L"),
        hint="0.44 mg for each mg of calcite, and some excess for its speed",
    )
    acid_dose: Concentration = field(
        "concentration",
        "40 mg/L",
        title="Sulfuric acid into the contactor",
        symbol="D_H2SO4",
        possible=("0 mg/L", "300 mg/L"),
        usual=("20 mg/L", "90 mg/L"),
        hint="0.49 mg for each mg of calcite, with acid alone",
    )
    lime_dose: Concentration = field(
        "concentration",
        "60 mg/L",
        title="Hydrated lime",
        symbol="D_lime",
        possible=("0 mg/L", "250 mg/L"),
        usual=("30 mg/L", "90 mg/L"),
        hint="0.74 mg for each mg/L of hardness, and twice its moles of carbon dioxide",
    )
    alkali_dose: Concentration = field(
        "concentration",
        "40 mg/L",
        title="Sodium hydroxide that binds carbon dioxide",
        symbol="D_alk",
        possible=("0 mg/L", "200 mg/L"),
        usual=("10 mg/L", "80 mg/L"),
        hint="Dosed downstream of the bed for carbon dioxide that is left",
    )
    blend_fraction: Fraction = field(
        "fraction",
        "0.5 %",
        title="Treated feed in the product",
        symbol="x_bl",
        possible=("0 %", "5 %"),
        usual=("0.1 %", "1 %"),
        hint="Brings salt, boron, bromide and whatever the pretreatment lets pass",
    )
    bypass: Fraction = field(
        "fraction",
        "0 %",
        title="Contactor bypass fraction",
        symbol="x_by",
        possible=("0 %", "90 %"),
        usual=("0 %", "70 %"),
        hint="Share that goes round the contactor and is blended again",
    )
    window_margin: Fraction = field(
        "fraction",
        "3 %",
        title="Margin of solved doses over the window",
        symbol="m_w",
        possible=("0 %", "30 %"),
        usual=("2 %", "10 %"),
        hint="Doses are solved to stay this far inside the limits",
    )
    contactor_short: AsCaCO3 = field(
        "concentration as CaCO3",
        "4 mg/L as CaCO3",
        title="Undissolved calcite capacity after contactor",
        symbol="C_short",
        possible=("0.1 mg/L as CaCO3", "60 mg/L as CaCO3"),
        usual=("2 mg/L as CaCO3", "20 mg/L as CaCO3"),
        hint="A bed of finite depth does not reach saturation",
    )
    degasifier: str = choice(
        {
            "no": "None",
            "permeate": "Of the permeate, before minerals",
            "product": "Of the product, after minerals",
        },
        "no",
        title="Carbon dioxide stripped by air",
        hint="Air drives out carbon dioxide, and pH rises without a chemical",
    )
    degasifier_approach: Fraction = field(
        "fraction",
        "95 %",
        title="Degasifier approach to equilibrium with air",
        symbol="eta_d",
        possible=("0 %", "100 %"),
        usual=("85 %", "99 %"),
        hint="How near the water comes to balance with air",
    )
    air_carbon_dioxide: Factor = field(
        "factor",
        "0.00042",
        title="Carbon dioxide in air, share by volume",
        symbol="x_CO2",
        possible=("0.0001", "0.01"),
        usual=("0.0004", "0.001"),
        hint="At sea level; in closed buildings and near engines more",
    )
    chlorate_delivered: MassRatio = field(
        "mass ratio",
        "0.042",
        title="Chlorate per chlorine, as delivered",
        symbol="r_ClO3",
        possible=("0", "0.5"),
        usual=("0.01", "0.06"),
        source="from-memory",
        hint="5.4 % as sodium chlorate of the chlorine is a usual purchase limit",
    )
    bromate_delivered: MassRatio = field(
        "mass ratio",
        "0.0025",
        title="Bromate per chlorine, as delivered",
        symbol="r_BrO3",
        possible=("0", "0.05"),
        usual=("0.0005", "0.005"),
        source="from-memory",
        hint="2.5 g/kg of chlorine is a usual purchase limit of the better grade",
    )
    boron_limit: AsB | None = field(
        "concentration as B",
        None,
        title="Boron limit of this contract",
        symbol="C_Bl",
        possible=("0.1 mg/L as B", "10 mg/L as B"),
        usual=("0.3 mg/L as B", "2.4 mg/L as B"),
        hint="If blank, the guideline of the product's use alone",
    )
    ph_adjustment: str = choice({"yes": "Yes", "no": "No"}, "yes", title="Alkali for pH",
                                hint="What lifts the pH to its target")
    ph_target: PHNbs = field(
        "ph.nbs",
        "8.2",
        title="pH of the product",
        symbol="pH_P",
        possible=("5", "10.5"),
        usual=("6.5", "8.8"),
        hint="The dose of alkali is solved for this pH",
    )
    buffer_limit: AsCaCO3 = field(
        "concentration as CaCO3",
        "20 mg/L as CaCO3",
        title="Minimum alkalinity for stable pH",
        symbol="Alk_min",
        possible=("1 mg/L as CaCO3", "100 mg/L as CaCO3"),
        usual=("10 mg/L as CaCO3", "60 mg/L as CaCO3"),
        hint="Below this a little carbon dioxide from the air, or a little dosing error, moves pH at will",
    )


def dose_is_asked(reagent: routes.Reagent) -> None:
    """Refuse a reagent whose dose a design cannot state.

    Raises
    ------
    TrailError
        Names the missing key.
    """
    if f"{reagent.name}_dose" not in metas(Product):
        raise TrailError("the section has no key for the dose of this reagent", where=f"product.{reagent.name}_dose")


for _reagent in routes.REAGENTS.values():
    dose_is_asked(_reagent)


class Contactor(Section):
    """Section ``[contactor]``: the calcite contactors, used where the remineralisation has them."""

    bed_time: S = field(
        "time.minute",
        "15 min",
        title="Empty-bed contact time, one out (N-1)",
        symbol="t_bed",
        possible=("2 min", "90 min"),
        usual=("10 min", "30 min"),
        hint="Volume of the empty bed over flow, while one contactor is out",
    )
    rate: FiltrationRate = field(
        "filtration rate",
        "10 m/h",
        title="Contactor loading, one out (N-1)",
        symbol="v_c",
        possible=("1 m/h", "40 m/h"),
        usual=("6 m/h", "15 m/h"),
        hint="Flow over area, while one contactor is out",
    )
    diameter: M | None = field(
        "length",
        None,
        title="Diameter of one contactor",
        symbol="D",
        possible=("0.3 m", "6 m"),
        usual=("0.6 m", "4 m"),
        hint="Inside; if blank, the minimum standard diameter that keeps the loading",
    )
    diameter_largest: M = field(
        "length",
        "2.5 m",
        title="Maximum diameter of a contactor",
        symbol="D_max",
        possible=("0.6 m", "6 m"),
        usual=("1 m", "3.6 m"),
        hint="Transport limit; more contactors are selected instead",
    )
    purity: MassFraction = field(
        "mass fraction",
        "98 % w/w",
        title="Calcite in the medium",
        symbol="w_cal",
        possible=("80 % w/w", "100 % w/w"),
        usual=("97 % w/w", "99.5 % w/w"),
        hint="The rest stays in the bed or is washed out",
    )
    bulk_density: KgPerM3 = field(
        "density",
        "1450 kg/m3",
        title="Bulk density of the bed",
        symbol="rho_b",
        possible=("900 kg/m3", "1900 kg/m3"),
        usual=("1400 kg/m3", "1600 kg/m3"),
        source="from-memory",
        hint="Mass of medium per volume of bed",
    )
    refill_fraction: Fraction = field(
        "fraction",
        "10 %",
        title="Bed depletion before refill",
        symbol="x_fill",
        possible=("1 %", "50 %"),
        usual=("5 %", "20 %"),
        hint="Fraction of the bed that may dissolve before it is refilled",
    )


class ProductTank(Section):
    """Section ``[product_tank]``: the store in which chlorine works."""

    storage_time: S = field(
        "time",
        "6 h",
        title="Storage at the full flow",
        symbol="t_st",
        possible=("0.1 h", "200 h"),
        usual=("6 h", "24 h"),
        hint="Volume of all product tanks over the product flow; the time chlorine works",
    )
    count: Count = field(
        "count", "2", title="Product tanks", symbol="n_t", possible=("1", "12"), usual=("2", "4"),
        hint="Side by side; one may be out while the others disinfect",
    )
    baffling: Factor = field(
        "factor",
        "0.3",
        title="Baffling factor, T10 over mean time",
        symbol="b_T",
        possible=("0.05", "1"),
        usual=("0.1", "0.7"),
        source="epa-profiling-1999",
        hint="0.1 unbaffled, 0.3 inlet and outlet apart, 0.5 average, 0.7 serpentine; a tracer test decides",
    )
    log_removal: Factor = field(
        "factor",
        "0.5",
        title="Giardia: decades by chlorine",
        symbol="n_log",
        possible=("0.5", "3"),
        usual=("0.5", "1"),
        hint="What the authority leaves to disinfection; membranes take the rest",
    )


_OWN = "Limit of this contract; if blank, the limit of the use holds"


class Specification(Section):
    """Section ``[specification]``: limits of this contract; a blank key takes the limit of the use."""

    tds: Concentration | None = field(
        "concentration", None, title="TDS, at most", symbol="TDS_l", possible=("1 mg/L", "5000 mg/L"),
        hint=_OWN,
        usual=("50 mg/L", "1000 mg/L"),
    )
    chloride: Concentration | None = field(
        "concentration", None, title="Chloride, at most", symbol="Cl_l", possible=("0.1 mg/L", "2000 mg/L"),
        hint=_OWN,
        usual=("10 mg/L", "250 mg/L"),
    )
    sodium: Concentration | None = field(
        "concentration", None, title="Sodium, at most", symbol="Na_l", possible=("0.1 mg/L", "2000 mg/L"),
        hint=_OWN,
        usual=("10 mg/L", "200 mg/L"),
    )
    sulfate: Concentration | None = field(
        "concentration", None, title="Sulfate, at most", symbol="SO4_l", possible=("0.1 mg/L", "3000 mg/L"),
        hint=_OWN,
        usual=("5 mg/L", "250 mg/L"),
    )
    boron: AsB | None = field(
        "concentration as B", None, title="Boron, at most", symbol="B_l",
        possible=("0.05 mg/L as B", "10 mg/L as B"),
        hint=_OWN,
        usual=("0.3 mg/L as B", "2.4 mg/L as B"),
    )
    bromide: Concentration | None = field(
        "concentration", None, title="Bromide, at most", symbol="Br_l", possible=("0.01 mg/L", "20 mg/L"),
        hint=_OWN,
        usual=("0.1 mg/L", "1 mg/L"),
    )
    conductivity: SPerM | None = field(
        "conductivity", None, title="Conductivity at 25 degC, at most", symbol="kappa_l",
        possible=("1 uS/cm", "20 000 uS/cm"),
        hint=_OWN,
        usual=("50 uS/cm", "1000 uS/cm"),
    )
    fluoride: Concentration | None = field(
        "concentration", None, title="Fluoride, at most", symbol="F_l", possible=("0.01 mg/L", "10 mg/L"),
        hint=_OWN,
        usual=("0.1 mg/L", "1.5 mg/L"),
    )
    nitrate: Concentration | None = field(
        "concentration", None, title="Nitrate, at most", symbol="NO3_l", possible=("0.1 mg/L", "500 mg/L"),
        hint=_OWN,
        usual=("1 mg/L", "50 mg/L"),
    )
    bromate: Concentration | None = field(
        "concentration", None, title="Bromate, at most", symbol="BrO3_l", possible=("0.0005 mg/L", "1 mg/L"),
        hint=_OWN,
        usual=("0.005 mg/L", "0.01 mg/L"),
    )
    chlorate: Concentration | None = field(
        "concentration", None, title="Chlorate, at most", symbol="ClO3_l", possible=("0.01 mg/L", "5 mg/L"),
        hint=_OWN,
        usual=("0.2 mg/L", "0.7 mg/L"),
    )
    ph_low: PHNbs | None = field(
        "ph.nbs", None, title="pH, at least", symbol="pH_lo", possible=("3", "11"),
        hint=_OWN,
        usual=("6.5", "8"),
    )
    ph_high: PHNbs | None = field(
        "ph.nbs", None, title="pH, at most", symbol="pH_hi", possible=("5", "12"),
        hint=_OWN,
        usual=("8", "9.5"),
    )
    alkalinity_low: AsCaCO3 | None = field(
        "concentration as CaCO3", None, title="Alkalinity, at least", symbol="Alk_lo",
        possible=("0 mg/L as CaCO3", "300 mg/L as CaCO3"),
        hint=_OWN,
        usual=("40 mg/L as CaCO3", "100 mg/L as CaCO3"),
    )
    calcium_low: AsCaCO3 | None = field(
        "concentration as CaCO3", None, title="Calcium, at least", symbol="Ca_lo",
        possible=("0 mg/L as CaCO3", "300 mg/L as CaCO3"),
        hint=_OWN,
        usual=("40 mg/L as CaCO3", "100 mg/L as CaCO3"),
    )
    calcium_high: AsCaCO3 | None = field(
        "concentration as CaCO3", None, title="Calcium, at most", symbol="Ca_hi",
        possible=("0 mg/L as CaCO3", "500 mg/L as CaCO3"),
        hint=_OWN,
        usual=("80 mg/L as CaCO3", "200 mg/L as CaCO3"),
    )
    hardness: AsCaCO3 | None = field(
        "concentration as CaCO3", None, title="Hardness, at most", symbol="TH_l",
        possible=("0 mg/L as CaCO3", "500 mg/L as CaCO3"),
        hint=_OWN,
        usual=("0 mg/L as CaCO3", "300 mg/L as CaCO3"),
    )
    ccpp_low: AsCaCO3 | None = field(
        "concentration as CaCO3", None, title="CCPP, at least", symbol="CCPP_lo",
        possible=("-50 mg/L as CaCO3", "30 mg/L as CaCO3"),
        hint=_OWN,
        usual=("0 mg/L as CaCO3", "5 mg/L as CaCO3"),
    )
    ccpp_high: AsCaCO3 | None = field(
        "concentration as CaCO3", None, title="CCPP, at most", symbol="CCPP_hi",
        possible=("-50 mg/L as CaCO3", "50 mg/L as CaCO3"),
        hint=_OWN,
        usual=("3 mg/L as CaCO3", "10 mg/L as CaCO3"),
    )
    lsi_low: Index | None = field(
        "index", None, title="Langelier index, at least", symbol="LSI_lo", possible=("-5", "2"),
        hint=_OWN,
        usual=("-0.5", "0.2"),
    )
    lsi_high: Index | None = field(
        "index", None, title="Langelier index, at most", symbol="LSI_hi", possible=("-5", "3"),
        hint=_OWN,
        usual=("0.2", "1"),
    )
    sar: Index | None = field(
        "index", None, title="Sodium adsorption ratio, at most", symbol="SAR_l", possible=("0.1", "30"),
        hint=_OWN,
        usual=("3", "12"),
    )
    chlorine_low: AsCl2 | None = field(
        "concentration as Cl2", None, title="Chlorine residual, at least", symbol="Cl2_lo",
        possible=("0 mg/L as Cl2", "5 mg/L as Cl2"),
        hint=_OWN,
        usual=("0.2 mg/L as Cl2", "0.5 mg/L as Cl2"),
    )
    chlorine_high: AsCl2 | None = field(
        "concentration as Cl2", None, title="Chlorine residual, at most", symbol="Cl2_hi",
        possible=("0.1 mg/L as Cl2", "10 mg/L as Cl2"),
        hint=_OWN,
        usual=("0.5 mg/L as Cl2", "4 mg/L as Cl2"),
    )


class Outfall(Section):
    """Section ``[outfall]``: ports that throw the concentrate upward at 60 degrees into the sea."""

    ports: Count | None = field("count", None, title="Outfall ports (jets do not merge)", symbol="n_p",
                                possible=("1", "200"), usual=("1", "20"),
                                hint="More ports make smaller jets that rise less and thin sooner; if blank, the "
                                     "minimum that keeps jets below the surface and thin enough")
    port_diameter: M | None = field(
        "length.small", None, title="Diameter of one port", symbol="d", possible=("10 mm", "2000 mm"),
        usual=("50 mm", "600 mm"), hint="If blank, by the velocity")
    port_velocity: MPerS = field("velocity", "5 m/s", title="Target port velocity", symbol="u",
                                 possible=("0.5 m/s", "15 m/s"), usual=("3 m/s", "7 m/s"),
                                 hint="Faster jets dilute more and rise higher")
    excess_limit: Salinity = row_field(
        "guidelines", "brine-over-ambient", title="Maximum salinity increment, near field",
        symbol="Delta_X", possible=("0.1 g/kg", "20 g/kg"),
        hint="From memory: 2 over background at 100 m; the permit governs")
    depth: M = field("length", "12 m", title="Water depth over the port", symbol="h", possible=("0.5 m", "200 m"),
                     usual=("5 m", "40 m"), hint="The jet must stay below the surface")
