"""What a design file says of the membranes: section ``[membrane]``."""

from __future__ import annotations

from desalbook.tables import table
from desalbook.units import (
    Count,
    DifferencePa,
    Factor,
    Fraction,
    GaugePa,
    JPerMol,
    S,
    SaltPermeability,
    Section,
    choice,
    field,
)

__all__ = ["SECTIONS", "Membrane"]

_SHEETS = {k: title for k, title in table("elements").options().items()
           if table("elements")[k]["service"].value == "sea water"}


class Membrane(Section):
    """Section ``[membrane]``: element, array, ageing and limits."""

    element: str = choice(_SHEETS, "sw-37-high-rejection",
                          title="Element sheet", hint="Invented generic sheets; the supplier's replaces them")
    recovery: Fraction | None = field(
        "fraction", None, title="Membrane recovery", symbol="Y_m", possible=("5 %", "75 %"), usual=("35 %", "50 %"),
        hint="Permeate over feed of the membranes; left out, it is solved from a given feed pressure")
    feed_pressure: GaugePa | None = field(
        "gauge pressure", None, title="Feed pressure, held", symbol="p_f", possible=("10 bar g", "120 bar g"),
        usual=("45 bar g", "75 bar g"), hint="Write it to find the recovery it gives; else it is solved")
    vessels: Count | None = field("count", None, title="Vessels of one train, held", symbol="n_v",
                                  possible=("1", "2000"), usual=("2", "200"))
    row: Count = field("count", "1", title="Vessels are added in rows of", symbol="n_row", possible=("1", "20"),
                       usual=("1", "6"), hint="Height of a rack column")
    elements: Count = field("count", "7", title="Elements in a vessel", symbol="n_e", possible=("1", "8"),
                            usual=("6", "8"))
    slices: Count = field("count", "2", title="Slices of one element", symbol="n_s", possible=("1", "32"),
                          usual=("2", "8"), source="gauss-collocation",
                          hint="Even: fourth order, two are within 0.02 %; odd: second order, three are within 0.1 %")
    permeate_pressure: GaugePa = field("gauge pressure", "1 bar g", title="Permeate back-pressure", symbol="p_p",
                                       possible=("0 bar g", "10 bar g"), usual=("0.3 bar g", "2 bar g"))
    port_loss: DifferencePa = field("pressure difference", "0.3 bar", title="Loss of ports and headers",
                                    symbol="Delta_p_h", possible=("0 bar", "3 bar"), usual=("0.1 bar", "1 bar"))
    age: S = field("time.year", "3 year", title="Age of the membranes, aged corner", symbol="t_a",
                   possible=("0 year", "10 year"), usual=("2 year", "5 year"))
    yearly_flow_loss: Fraction = field("fraction", "5 %", title="Permeability lost in a year", symbol="a_w",
                                       possible=("0 %", "30 %"), usual=("3 %", "9 %"))
    yearly_salt_rise: Fraction = field("fraction", "8 %", title="Salt permeability gained in a year", symbol="b_s",
                                       possible=("0 %", "50 %"), usual=("5 %", "15 %"))
    fouling_factor: Factor = field("factor", "0.95", title="Permeability left under fouling, aged corner",
                                   symbol="F_f", possible=("0.3", "1"), usual=("0.8", "1"))
    water_activation: JPerMol = field("molar energy", "20 kJ/mol", title="Activation energy, water", symbol="E_w",
                                      possible=("0 kJ/mol", "60 kJ/mol"), usual=("18 kJ/mol", "25 kJ/mol"),
                                      source="us-army-tm-10-4610")
    salt_activation: JPerMol = field("molar energy", "30 kJ/mol", title="Activation energy, salt", symbol="E_s",
                                     possible=("0 kJ/mol", "80 kJ/mol"), usual=("25 kJ/mol", "40 kJ/mol"))
    boron_activation: JPerMol = field("molar energy", "49 kJ/mol", title="Activation energy, boric acid",
                                      symbol="E_B", possible=("0 kJ/mol", "90 kJ/mol"),
                                      usual=("30 kJ/mol", "55 kJ/mol"), source="mane-2009")
    borate_permeability: SaltPermeability = field(
        "salt permeability", "0.1 L/(m2 h)", title="Permeability to borate at 25 degC", symbol="B_b",
        possible=("0 L/(m2 h)", "1 L/(m2 h)"), usual=("0.02 L/(m2 h)", "0.2 L/(m2 h)"))
    margin_boron: Fraction = field("fraction", "5 %", title="Margin on permeate boron for the guarantee",
                                   symbol="m_B", possible=("0 %", "50 %"), usual=("0 %", "15 %"))
    water_supply: str = choice({"open-intake": "Open intake", "well": "Beach well",
                                "ultrafiltration": "Open intake, ultrafiltered"}, "open-intake",
                               title="Water the flux limit is for")
    pressure_class: str = choice({"vessel-69": "69 bar", "vessel-83": "83 bar"}, "vessel-83",
                                 title="Pressure class of the vessels")


SECTIONS = {"membrane": Membrane}
