"""The RO array of a design file: section ``[membrane]``."""

from __future__ import annotations

from typing import Annotated, Any

from desalbook.problems import DesignError
from desalbook.tables import row_field, table
from desalbook.units import (
    KINDS,
    M2,
    Concentration,
    Count,
    DifferencePa,
    Factor,
    Fraction,
    GaugePa,
    JPerMol,
    K,
    M,
    M3PerS,
    PHNbs,
    S,
    Salinity,
    SaltPermeability,
    Section,
    W,
    choice,
    field,
    own_list,
    section,
    sections,
    show,
    text_field,
)

__all__ = ["LISTS", "SECTIONS", "ElementGroup", "ElementSheet", "Membrane", "SecondPass", "Stage"]

# catalogue sheets by use; a sheet of the design's own may stand in any place
_SHEETS = {k: title for k, title in table("elements").options().items()
           if table("elements")[k]["service"].value in ("seawater", "brackish water")}

_ELEMENTS = table("elements").options()
_SECOND = {k: title for k, title in table("elements").options().items()
           if table("elements")[k]["service"].value == "second pass"}
ConcentrationB = Annotated[float, KINDS["concentration as B"]]
ConcentrationCl2 = Annotated[float, KINDS["concentration as Cl2"]]
OxidantExposure = Annotated[float, KINDS["oxidant exposure"]]
YES_NO = {"yes": "Yes", "no": "No"}


STATED = {"nominal": "Nominal values", "minimum": "Minimum values, as warranted"}


class ElementSheet(Section):
    """A manufacturer's element sheet, ``[[elements]]``: area, rated test with its condition, limits, origin.

    What the permeabilities are fitted from must be given; what else is blank is taken from a sheet of the kit, and the
    record says so.
    """

    name: str = text_field(..., title="Name of the sheet", max_length=40, hint="As it is chosen in membrane.element")
    element_type: str = text_field("", title="Element type", max_length=60,
                                   hint="The same text on each sheet of one type, nominal and minimum")
    states: str = choice(STATED, "nominal", title="What its values are",
                         hint="A type may have a sheet of nominal and one of minimum values")
    source: str = text_field("", title="Where the sheet comes from", hint="Manufacturer's document and its number")
    date: str = text_field("", title="Date of the sheet", max_length=40, hint="Issue the values were taken from")
    based_on: str = choice(_ELEMENTS, "demo-a-standard", title="Sheet of the kit for what is blank",
                           hint="Its value stands, as an assumed one, wherever this sheet states nothing")
    area: M2 = field("area", ..., title="Active membrane area", symbol="A_e",
        possible=("0.5 m2", "80 m2"), usual=("5 m2", "45 m2"), hint="As the sheet states it")
    length: M | None = field("length", None, title="Membrane length along the feed", symbol="L_e",
        possible=("0.2 m", "2 m"), usual=("0.4 m", "1.1 m"), hint="Without end caps")
    length_overall: M | None = field("length", None, title="Length overall", symbol="L_o",
        possible=("0.2 m", "2 m"), usual=("0.5 m", "1.1 m"), hint="With end caps; decides the length of the vessel")
    outer_diameter: M | None = field("length.small", None, title="Outer diameter", symbol="D_e",
        possible=("30 mm", "500 mm"), usual=("60 mm", "210 mm"), hint="Decides which vessels it fits")
    tube_diameter: M | None = field("length.small", None, title="Permeate tube, outer diameter", symbol="D_t",
        possible=("5 mm", "120 mm"), usual=("15 mm", "40 mm"), hint="The leaves are wound on it")
    spacer_height: M | None = field("length.small", None, title="Feed spacer height", symbol="h_s",
        possible=("0.3 mm", "2 mm"), usual=("0.6 mm", "0.9 mm"), hint="28 or 34 thousandths of an inch, as a rule")
    spacer_porosity: Fraction | None = field("fraction", None, title="Feed spacer porosity", symbol="epsilon_s",
        possible=("50 %", "99 %"), usual=("80 %", "92 %"), hint="Seldom on a sheet")
    rated_flow: M3PerS = field("flow.day", ..., title="Permeate flow at the test condition", symbol="Q_r",
        possible=("0.05 m3/d", "150 m3/d"), usual=("2 m3/d", "60 m3/d"), hint="Nominal, or the warranted minimum")
    flow_tolerance: Fraction | None = field("fraction", None, title="Permeate flow of one element may be lower by",
        symbol="t_Q", possible=("0 %", "50 %"), usual=("5 %", "20 %"),
        hint="Tolerance of the sheet, downward; feed pressure is also judged with all elements at that end")
    rated_rejection: Fraction = field("fraction", ..., title="Salt rejection at the test condition", symbol="R_r",
        possible=("80 %", "99.99 %"), usual=("98 %", "99.9 %"), hint="Nominal, or the minimum that is warranted")
    minimum_rejection: Fraction | None = field("fraction", None, title="Minimum salt rejection of one element",
        symbol="R_min", possible=("70 %", "99.99 %"), usual=("97 %", "99.9 %"),
        hint="Beside the nominal one; permeate TDS is also given with all elements at that end")
    rated_boron_rejection: Fraction | None = field("fraction", None, title="Boron rejection at the test condition",
        symbol="R_B", possible=("10 %", "99.9 %"), usual=("50 %", "96 %"), hint="At the pH of the test")
    test_pressure: GaugePa = field("gauge pressure", ..., title="Test: feed pressure", symbol="p_t",
        possible=("1 barg", "120 barg"), usual=("10 barg", "56 barg"), hint="Of the sheet's own test")
    test_concentration: Concentration = field("concentration", ..., title="Test: sodium chloride in the feed",
        symbol="C_t", possible=("100 mg/L", "80 000 mg/L"), usual=("500 mg/L", "35 000 mg/L"),
        hint="Of the sheet's own test")
    test_temperature: K = field("temperature", ..., title="Test: temperature", symbol="T_t",
        possible=("5 degC", "45 degC"), usual=("20 degC", "25 degC"), hint="Of the sheet's own test")
    test_recovery: Fraction = field("fraction", ..., title="Test: recovery", symbol="Y_t",
        possible=("1 %", "60 %"), usual=("8 %", "15 %"), hint="Of one element")
    test_boron: ConcentrationB | None = field("concentration as B", None, title="Test: boron in the feed",
        symbol="C_B", possible=("0.1 mg/L as B", "50 mg/L as B"), usual=("1 mg/L as B", "5 mg/L as B"),
        hint="Of the sheet's own test")
    test_ph: PHNbs | None = field("ph.nbs", None, title="Test: pH", symbol="pH_t",
        possible=("4", "11"), usual=("6.5", "8"), hint="Of the sheet's own test")
    max_pressure: GaugePa | None = field("gauge pressure", None, title="Maximum feed pressure", symbol="p_max",
        possible=("5 barg", "130 barg"), usual=("40 barg", "83 barg"), hint="Limit of the sheet")
    max_temperature: K | None = field("temperature", None, title="Maximum temperature in operation", symbol="T_max",
        possible=("20 degC", "90 degC"), usual=("40 degC", "45 degC"), hint="Limit of the sheet")
    max_feed_flow: M3PerS | None = field("flow", None, title="Maximum feed flow", symbol="Q_max",
        possible=("0.2 m3/h", "60 m3/h"), usual=("3 m3/h", "18 m3/h"), hint="Limit of the sheet")
    min_concentrate_flow: M3PerS | None = field("flow", None, title="Minimum concentrate flow", symbol="Q_min",
        possible=("0.05 m3/h", "20 m3/h"), usual=("0.5 m3/h", "4 m3/h"), hint="Limit of the sheet")
    max_pressure_drop: DifferencePa | None = field(
        "pressure difference", None, title="Maximum pressure drop of one element", symbol="Delta_p",
        possible=("0.1 bar", "3 bar"), usual=("0.7 bar", "1 bar"), hint="Limit of the sheet")
    max_free_chlorine: ConcentrationCl2 | None = field(
        "concentration as Cl2", None, title="Maximum free chlorine, continuous", symbol="C_Cl",
        possible=("0 mg/L as Cl2", "5 mg/L as Cl2"), usual=("0 mg/L as Cl2", "0.1 mg/L as Cl2"),
        hint="Limit of the sheet")
    chlorine_tolerance: OxidantExposure | None = field(
        "oxidant exposure", None, title="Chlorine exposure before salt passage rises", symbol="X_Cl",
        possible=("1 mg h/L as Cl2", "100 000 mg h/L as Cl2"), usual=("200 mg h/L as Cl2", "2000 mg h/L as Cl2"),
        hint="Indicative; metals, pH and temperature speed the attack")
    ph_low: PHNbs | None = field("ph.nbs", None, title="Minimum pH, continuous",
        possible=("1", "7"), usual=("2", "4"), hint="Limit of the sheet")
    ph_high: PHNbs | None = field("ph.nbs", None, title="Maximum pH, continuous",
        possible=("7", "13"), usual=("9", "11"), hint="Limit of the sheet")
    ph_cleaning_low: PHNbs | None = field("ph.nbs", None, title="Minimum pH, short cleaning",
        possible=("0.5", "7"), usual=("1", "3"), hint="Limit of the sheet")
    ph_cleaning_high: PHNbs | None = field("ph.nbs", None, title="Maximum pH, short cleaning",
        possible=("7", "14"), usual=("11", "13"), hint="Limit of the sheet")

    def consistent(self, where: str) -> None:
        """What one sheet cannot state at once."""
        at = f"{where}." if where else ""
        if self.minimum_rejection is not None and self.minimum_rejection > self.rated_rejection:
            raise DesignError("above the rejection of the rated test", where=f"{at}minimum_rejection",
                              value=show(self.minimum_rejection, "fraction"),
                              allowed=f"up to {show(self.rated_rejection, 'fraction')}",
                              do="set the lower of the two here")
        if self.max_pressure is not None and self.test_pressure > self.max_pressure:
            raise DesignError("the rated test is above the maximum feed pressure", where=f"{at}test_pressure",
                              value=show(self.test_pressure, "gauge pressure"),
                              allowed=f"up to {show(self.max_pressure, 'gauge pressure')}",
                              do="check both on the sheet")
        feed = self.rated_flow / self.test_recovery
        if self.max_feed_flow is not None and feed > self.max_feed_flow * (1 + 1e-9):
            raise DesignError("the rated test feeds more than the maximum feed flow", where=f"{at}test_recovery",
                              value=show(self.test_recovery, "fraction"),
                              allowed=f"from {show(self.rated_flow / self.max_feed_flow, 'fraction', digits=3)}",
                              do="check rated_flow, test_recovery and max_feed_flow on the sheet")
        if self.rated_boron_rejection is not None and self.rated_boron_rejection > self.rated_rejection:
            raise DesignError("boron is held back less than salt", where=f"{at}rated_boron_rejection",
                              value=show(self.rated_boron_rejection, "fraction"),
                              allowed=f"up to {show(self.rated_rejection, 'fraction')}",
                              do="check both on the sheet")


class VesselClass(Section):
    """A manufacturer's pressure vessel, ``[[vessel_classes]]``: rating, length, temperature, origin."""

    name: str = text_field(..., title="Name of the class", max_length=40,
                           hint="As it is chosen in membrane.pressure_class")
    source: str = text_field("", title="Where the sheet comes from", hint="Manufacturer's document and its number")
    date: str = text_field("", title="Date of the sheet", max_length=40, hint="Issue the values were taken from")
    rating: GaugePa = field("gauge pressure", ..., title="Rated pressure", symbol="p_R",
                            possible=("3 barg", "150 barg"), usual=("20 barg", "125 barg"),
                            hint="At the temperature of the sheet, by its design code")
    max_temperature: K | None = field("temperature", None, title="Maximum temperature of the rating", symbol="T_R",
                                      possible=("20 degC", "120 degC"), usual=("45 degC", "66 degC"),
                                      hint="The vessel bears its rating up to here")
    most_elements: Count | None = field("count", None, title="Elements it takes, maximum", symbol="n_max",
                                        possible=("1", "8"), usual=("1", "8"), hint="Length of the vessel, in elements")
    bore: M | None = field("length.small", None, title="Inner diameter", symbol="D_v", possible=("40 mm", "500 mm"),
                           usual=("60 mm", "210 mm"), hint="Must be larger than the element")


LISTS = {"vessel_classes": own_list(VesselClass, title="Pressure vessels of this design",
                                    hint="From the manufacturer; one is used by its name in membrane.pressure_class"),
         "elements": own_list(ElementSheet, title="Element sheets of this design",
                              hint="From the manufacturer; permeabilities are fitted to the test condition of each")}


def _pump_motor() -> Any:
    return field("power", None, title="Motor rating of its pump, fixed", symbol="P_r",
                 possible=("0.1 kW", "5000 kW"), usual=("1 kW", "1000 kW"),
                 hint="If blank, the smallest of the list that carries the power with its margin")


class Stage(Section):
    """One more stage: it takes the concentrate of the stage before."""

    name: str = text_field(..., title="Name, such as second", hint="Part of the names of its figures")
    vessels: Count | None = field("count", None, title="Vessels of the stage (fixed)", symbol="n_v",
                                  possible=("1", "2000"), usual=("1", "100"),
                                  hint="Side by side in this stage; if blank: auto")
    vessel_fraction: Fraction = field("fraction", "50 %", title="Vessels over those of the stage before", symbol="x_v",
                                   possible=("10 %", "100 %"), usual=("40 %", "70 %"),
                                   hint="Fewer vessels than before, for the flow has become less")
    elements: Count = field("count", "7", title="Elements per vessel", symbol="n_e", possible=("1", "8"),
                            usual=("6", "8"), hint="In series in one vessel of this stage")
    boost: DifferencePa = field("pressure difference", "0 bar", title="Boost before the stage", symbol="Delta_p_s",
                                possible=("0 bar", "40 bar"), usual=("0 bar", "20 bar"),
                                hint="By a pump between the stages")
    pump_efficiency: Fraction = field("fraction", "78 %", title="Efficiency of the pump before the stage",
                                      symbol="eta_s", possible=("30 %", "92 %"), usual=("65 %", "85 %"),
                                      hint="Hydraulic power over shaft power of the pump that boosts this stage")
    pump_motor: W | None = _pump_motor()


class SecondPass(Section):
    """Table ``[membrane.second_pass]``: permeate that passes membranes once more."""

    element: str = choice(_SECOND, next(iter(_SECOND)), title="Element sheet", own="elements",
                          hint="A sheet of your own from [[elements]], or an invented one of the kit")
    takes: str = choice({"mixed": "Mixed permeate", "rear": "Permeate of the rear end"}, "mixed",
                        title="What it takes", hint="The front end of a vessel makes the purest permeate")
    front_elements: Count = field("count", "3", title="Elements whose permeate leaves at the front", symbol="n_f",
                                  possible=("1", "7"), usual=("2", "4"), hint="Only where the rear end is taken")
    share: Fraction = field("fraction", "100 %", title="Fraction of that permeate that is taken", symbol="x_2",
                            possible=("5 %", "100 %"), usual=("30 %", "100 %"),
                            hint="The rest by-passes and is blended")
    recovery: Fraction = field("fraction", "85 %", title="Recovery of the second pass", symbol="Y_2",
                               possible=("40 %", "95 %"), usual=("80 %", "90 %"),
                               hint="Product over feed of the second pass")
    vessels: Count | None = field("count", None, title="Vessels of its first stage (fixed)", symbol="n_v2",
                                  possible=("1", "500"), usual=("1", "50"),
                                  hint="Side by side in its first stage; if blank: auto")
    row: Count = field("count", "1", title="Vessel-count increment", symbol="n_row", possible=("1", "20"),
                       usual=("1", "6"), hint="Step by which the number of vessels is raised")
    elements: Count = field("count", "7", title="Elements per vessel", symbol="n_e", possible=("1", "8"),
                            usual=("6", "8"), hint="In series in one vessel of the second pass")
    stages: tuple[Stage, ...] = sections(Stage, ({"name": "second"},), title="Further stages of the second pass")
    ph: PHNbs | None = field("ph.nbs", None, title="pH of its feed, by alkali", symbol="pH_2", possible=("6", "11"),
                             usual=("9", "10.5"), hint="Boron passes less as borate; if blank, no alkali is dosed")
    chemical: str = choice({"caustic-soda-30": "Sodium hydroxide, 30 %", "caustic-soda": "Sodium hydroxide, 50 %"},
                           "caustic-soda-30", title="Sodium hydroxide", hint="What lifts the pH between the passes")
    concentrate_to: str = choice({"feed": "Feed of the first pass", "waste": "Waste"}, "feed",
                                 title="Its concentrate goes to",
                            hint="It is cleaner than the sea, so it may go back to the feed")
    chlorinated: str = choice(YES_NO, "no", title="Chlorine between the passes",
                              hint="An interpass tank is sometimes chlorinated; free chlorine destroys polyamide")
    port_loss: DifferencePa = field("pressure difference", "0.3 bar", title="Port and header losses",
                                    symbol="Delta_p_h", possible=("0 bar", "3 bar"), usual=("0.1 bar", "1 bar"),
                                    hint="Between its pump and the first element, and downstream of the last")
    suction: GaugePa = field("gauge pressure", "0.5 barg", title="Suction of its pump", symbol="p_s2",
                             possible=("0 barg", "5 barg"), usual=("0.2 barg", "2 barg"),
                             hint="Pressure at which the second pass takes the permeate")
    pump_efficiency: Fraction = field("fraction", "75 %", title="Efficiency of its pump", symbol="eta_2",
                                      possible=("30 %", "92 %"), usual=("65 %", "85 %"),
                                      hint="Hydraulic power over shaft power")
    pump_motor: W | None = _pump_motor()


class ElementGroup(Section):
    """Elements of another type at some positions of each vessel."""

    name: str = text_field(..., title="Name, such as front", hint="Part of the names of its figures")
    element: str = choice(_SHEETS, "demo-a-high-rejection", title="Element sheet of these positions", own="elements",
                          hint="Tight lead elements and open tail elements even out the flux")
    first: Count = field("count", "1", title="First position, counted from the feed", symbol="e_1",
                         possible=("1", "8"), usual=("1", "8"),
                         hint="First element of this type, counted from the feed")
    last: Count = field("count", "1", title="Last position", symbol="e_2", possible=("1", "8"), usual=("1", "8"),
                        hint="Last element of this type, counted from the feed")


def _activation(row: str, symbol: str, hint: str) -> Any:
    return row_field("temperature_dependence", row, "activation_energy", symbol=symbol, hint=hint,
                     title=f"Activation energy, {table('temperature_dependence')[row].title.lower()}",
                     possible=("0 kJ/mol", "90 kJ/mol"))


class Membrane(Section):
    """Section ``[membrane]``: element, array, ageing and limits."""

    element: str = choice(_SHEETS, "demo-a-high-rejection", title="Element sheet", own="elements",
                          hint="A sheet of your own from [[elements]], or an invented one of the kit")
    recovery: Fraction | None = field(
        "fraction", None, title="RO recovery", symbol="Y_m", possible=("5 %", "75 %"), usual=("35 %", "50 %"),
        hint="Permeate over RO feed; if blank, the kit proposes one, or solves it from a given feed pressure")
    recovery_concentrate: Salinity = field(
        "salinity", "70 g/kg", title="Concentrate salinity, proposed recovery", symbol="S_c",
        possible=("5 g/kg", "120 g/kg"), usual=("60 g/kg", "75 g/kg"),
        hint="Per kilogram of water; only where RO recovery is blank. Osmotic pressure and scaling rise with it")
    recovery_maximum: Fraction = field(
        "fraction", "42 %", title="Maximum of a proposed recovery", symbol="Y_max", possible=("5 %", "75 %"),
        usual=("40 %", "50 %"),
        hint="Of one stage, only where RO recovery is blank; seven elements in series commonly give 40 to 45 %")
    feed_pressure: GaugePa | None = field(
        "gauge pressure", None, title="Feed pressure (fixed)", symbol="p_f", possible=("10 barg", "120 barg"),
        usual=("45 barg", "75 barg"), hint="Set it to find the recovery it gives; else it is solved")
    vessels: Count | None = field("count", None, title="Pressure vessels per train (fixed)", symbol="n_v",
                                  possible=("1", "2000"), usual=("2", "200"),
                                  hint="If blank, the smallest number that holds every limit in every case")
    row: Count = field("count", "1", title="Vessel-count increment", symbol="n_row", possible=("1", "20"),
                       usual=("1", "6"), hint="Height of a rack column")
    elements: Count = field("count", "7", title="Elements per vessel", symbol="n_e", possible=("1", "8"),
                            usual=("6", "8"),
                            hint="In series in one vessel; more give more even recovery and more pressure loss")
    slices: Count = field("count", "2", title="Slices of one element", symbol="n_s", possible=("1", "32"),
                          usual=("2", "8"), source="gauss-collocation",
                          hint="Even: fourth order, two are within 0.02 %; odd: second order, three are within 0.1 %")
    permeate_pressure: GaugePa = field("gauge pressure", "1 barg", title="Permeate back-pressure", symbol="p_p",
                                       possible=("0 barg", "10 barg"), usual=("0.3 barg", "2 barg"),
                                       hint="Pressure the permeate is delivered at; it adds to the feed pressure")
    port_loss: DifferencePa = field("pressure difference", "0.3 bar", title="Port and header losses",
                                    symbol="Delta_p_h", possible=("0 bar", "3 bar"), usual=("0.1 bar", "1 bar"),
                                    hint="Between the pump and the first element, and behind the last")
    element_by_position: tuple[ElementGroup, ...] = sections(
        ElementGroup, (), title="Other element types by position in the vessel",
        hint="Positions not named take the element above")
    interconnector_loss: DifferencePa = field(
        "pressure difference", "0 bar", title="Interconnector loss", symbol="Delta_p_j",
        possible=("0 bar", "1 bar"), usual=("0 bar", "0.1 bar"),
        hint="Of each interconnector; suppliers' pressure drops of a vessel often hold it already")
    mass_transfer: str = choice(
        {"schock-miquel": "Schock and Miquel, measured", "koutsou": "Koutsou and others, computed",
         "guillen-hoek": "Guillen and Hoek, computed"}, "schock-miquel", title="Mass transfer in the feed channel",
        hint="Correlation of the Sherwood number; the sheet is read through the same one",
        source="schock-miquel-1987")
    friction: str = choice(
        {"schock-miquel": "Schock and Miquel, measured", "guillen-hoek": "Guillen and Hoek, computed"},
        "schock-miquel", title="Friction in the feed channel", hint="Correlation of the friction factor",
        source="schock-miquel-1987")
    stages: tuple[Stage, ...] = sections(Stage, (), title="Further stages, fed by the last concentrate")
    second_pass: SecondPass | None = section(SecondPass, None, title="Second pass")
    recycle: Fraction | None = field(
        "fraction", None, title="Concentrate recirculation fraction", symbol="x_r", possible=("1 %", "80 %"),
        usual=("5 %", "40 %"), hint="Downstream of the ERD, to the suction of the HP pump")
    flow_spread: Fraction | None = field(
        "fraction", None, title="Uneven flow between vessels", symbol="x_u", possible=("0 %", "30 %"),
        usual=("0 %", "10 %"), hint="Feed of the best or worst served vessel against the mean; a margin on both")
    age: S = field("time.year", "3 year", title="Membrane age, aged case", symbol="t_a",
                   possible=("0 year", "10 year"), usual=("2 year", "5 year"),
                   hint="Years in service in the case called aged")
    yearly_flow_loss: Fraction | None = field(
        "fraction", None, title="Annual permeability decline", symbol="a_w", possible=("0 %", "30 %"),
        usual=("3 %", "9 %"), hint="Compaction and fouling that cleaning does not bring back; blank: by the water")
    yearly_salt_rise: Fraction | None = field(
        "fraction", None, title="Annual salt-passage increase", symbol="b_s", possible=("0 %", "50 %"),
        usual=("5 %", "15 %"), hint="Wear of the skin; decides the quality when aged; blank: by the water")
    fouling_factor: Factor | None = field(
        "factor", None, title="Fouling factor, aged case", symbol="F_f", possible=("0.3", "1"),
        usual=("0.8", "1"), hint="What is left between two cleanings; blank: by the water")
    water_activation: JPerMol = _activation("water", "E_w", "How fast permeability to water falls in the cold")
    salt_activation: JPerMol = _activation("salt", "E_s", "How fast the passage of salt rises in the heat")
    boron_activation: JPerMol = _activation("boric-acid", "E_B", "How fast the passage of boric acid rises in the heat")
    borate_activation: JPerMol = _activation("borate", "E_b", "How fast the passage of borate rises in the heat")
    borate_permeability: SaltPermeability = field(
        "salt permeability", "0.1 L/(m2 h)", title="Permeability to borate at 25 degC", symbol="B_b",
        possible=("0 L/(m2 h)", "1 L/(m2 h)"), usual=("0.02 L/(m2 h)", "0.2 L/(m2 h)"),
        hint="Of the charged form, which hardly passes; it counts at high pH")
    margin_boron: Fraction = field("fraction", "5 %", title="Margin on permeate boron for the guarantee",
                                   symbol="m_B", possible=("0 %", "50 %"), usual=("0 %", "15 %"),
                                   hint="Kept between the computed boron and its limit")
    water_supply: str = choice({"open-intake": "Open intake", "well": "Beach well",
                                "ultrafiltration": "Open intake, ultrafiltered"}, "open-intake",
                               title="Feed source for the flux limit",
                               hint="The cleaner the supply, the higher the flux it allows")
    pressure_class: str = choice(table("pressure_classes").options(), "vessel-83", own="vessel_classes",
                                 title="Pressure class of the vessels",
                                 hint="Rated pressure of the vessels: from the list, or of [[vessel_classes]]")


SECTIONS = {"membrane": Membrane}
