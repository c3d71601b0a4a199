"""What a design file says of the product: section ``[product]``."""

from __future__ import annotations

from desalbook.units import AsB, AsCaCO3, Concentration, PHNbs, Section, choice, field

__all__ = ["Product"]


class Product(Section):
    """Section ``[product]``: post-treatment of the permeate."""

    remineralisation: str = choice(
        {"none": "None", "calcite": "Carbon dioxide and a calcite contactor"},
        "none",
        title="Remineralisation",
    )
    calcite_dose: Concentration = field(
        "concentration",
        "80 mg/L",
        title="Calcite dissolved, as CaCO3",
        symbol="D_CaCO3",
        possible=("1 mg/L", "300 mg/L"),
        usual=("40 mg/L", "120 mg/L"),
        source="lahav-birnhack-2007",
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
    boron_limit: AsB | None = field(
        "concentration as B",
        None,
        title="Boron limit of this contract",
        symbol="C_Bl",
        possible=("0.1 mg/L as B", "10 mg/L as B"),
        usual=("0.3 mg/L as B", "2.4 mg/L as B"),
        hint="Where nothing is written, the guideline of the product's use alone",
    )
    ph_adjustment: str = choice({"yes": "Yes", "no": "No"}, "yes", title="Alkali for pH")
    ph_target: PHNbs = field(
        "ph.nbs",
        "8.2",
        title="pH of the product",
        symbol="pH_P",
        possible=("5", "10.5"),
        usual=("6.5", "8.8"),
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
