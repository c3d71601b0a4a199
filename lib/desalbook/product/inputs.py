"""What a design file says of the product: section ``[product]``."""

from __future__ import annotations

from desalbook.units import (
    AsB,
    AsCaCO3,
    Concentration,
    Factor,
    Fraction,
    MassRatio,
    PHNbs,
    Section,
    choice,
    field,
)

__all__ = ["Product"]


class Product(Section):
    """Section ``[product]``: post-treatment of the permeate."""

    remineralisation: str = choice(
        {
            "none": "None",
            "calcite": "Carbon dioxide and a calcite contactor",
            "calcite-acid": "Sulfuric acid and a calcite contactor",
            "lime": "Lime with carbon dioxide",
            "caustic": "Caustic with carbon dioxide",
            "blend": "Blending with treated feed",
        },
        "none",
        title="Remineralisation",
        hint="How hardness and alkalinity are given back to the permeate",
    )
    doses: str = choice(
        {"written": "As written here", "window": "Solved for the window of the product"},
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
        title="Caustic soda that binds carbon dioxide",
        symbol="D_alk",
        possible=("0 mg/L", "200 mg/L"),
        usual=("10 mg/L", "80 mg/L"),
        hint="Dosed behind the bed for carbon dioxide that is left",
    )
    blend_share: Fraction = field(
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
        title="Permeate that passes the contactor by",
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
        title="Calcite the water could still dissolve behind the contactor",
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
        title="Approach of the degasifier to balance with air",
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
        title="Chlorate in hypochlorite as delivered, per chlorine",
        symbol="r_ClO3",
        possible=("0", "0.5"),
        usual=("0.01", "0.06"),
        source="from-memory",
        hint="5.4 % as sodium chlorate of the chlorine is a usual purchase limit",
    )
    bromate_delivered: MassRatio = field(
        "mass ratio",
        "0.0025",
        title="Bromate in hypochlorite as delivered, per chlorine",
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
        hint="Where nothing is written, the guideline of the product's use alone",
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
        title="Alkalinity that holds a pH",
        symbol="Alk_min",
        possible=("1 mg/L as CaCO3", "100 mg/L as CaCO3"),
        usual=("10 mg/L as CaCO3", "60 mg/L as CaCO3"),
        hint="Below this a little carbon dioxide from the air, or a little dosing error, moves pH at will",
    )
