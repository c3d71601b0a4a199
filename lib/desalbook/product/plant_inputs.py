"""What a design file says of contactor, product tank and specification."""

from __future__ import annotations

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
    PHNbs,
    S,
    Section,
    field,
)

__all__ = ["Contactor", "ProductTank", "Specification"]


class Contactor(Section):
    """Section ``[contactor]``: the calcite contactors, used where the remineralisation has them."""

    bed_time: S = field(
        "time.minute",
        "15 min",
        title="Empty-bed contact time, one contactor out",
        symbol="t_bed",
        possible=("2 min", "90 min"),
        usual=("10 min", "30 min"),
        hint="Volume of the empty bed over flow, while one contactor is out",
    )
    rate: FiltrationRate = field(
        "filtration rate",
        "10 m/h",
        title="Loading, one contactor out",
        symbol="v_c",
        possible=("1 m/h", "40 m/h"),
        usual=("6 m/h", "15 m/h"),
        hint="Flow over area, while one contactor is out",
    )
    diameter: M = field(
        "length",
        "2.5 m",
        title="Diameter of one contactor",
        symbol="D",
        possible=("0.3 m", "6 m"),
        usual=("1 m", "4 m"),
        hint="Inside, of one contactor",
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
    refill_share: Fraction = field(
        "fraction",
        "10 %",
        title="Part of the bed used up before a refill",
        symbol="x_fill",
        possible=("1 %", "50 %"),
        usual=("5 %", "20 %"),
        hint="Part of the bed that may dissolve before it is filled up",
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


_OWN = "Limit of this contract; left out, the limit of the use holds"


class Specification(Section):
    """Section ``[specification]``: limits of this contract; a key left out takes the limit of the use."""

    tds: Concentration | None = field(
        "concentration", None, title="Dissolved solids, at most", symbol="TDS_l", possible=("1 mg/L", "5000 mg/L"),
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
