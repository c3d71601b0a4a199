"""What a design file says of fabrication and shipping: section ``[fabrication]``."""

from __future__ import annotations

from desalbook.tables import table
from desalbook.units import Factor, Fraction, KgPerM2, M, Named, Section, choice, field, mapping

__all__ = ["SECTIONS", "Fabrication"]


def _fraction(default: str, title: str, symbol: str, usual: tuple[str, str], hint: str,
              possible: tuple[str, str] = ("0 %", "100 %")):
    return field("fraction", default, title=title, symbol=symbol, possible=possible, usual=usual, hint=hint,
                 source="common-practice")


def _length(default: str, title: str, symbol: str, usual: tuple[str, str], hint: str,
            possible: tuple[str, str] = ("0.1 m", "10 m")):
    return field("length", default, title=title, symbol=symbol, possible=possible, usual=usual, hint=hint,
                 source="common-practice")


class Fabrication(Section):
    """Section ``[fabrication]``: allowances of masses, rules of the arrangement, lifting and shipping."""

    weights: Named | None = mapping(
        "mass", (), None, title="Certified mass of one, empty", symbol="m_g", possible=("0.01 kg", "1e6 kg"),
        usual=("1 kg", "100 000 kg"), hint="By tag, as P-301 = \"5200 kg\"; replaces the kit's estimate")
    container: str = choice(table("containers").options(), "40-hc", title="Container the skids are built for",
                            hint="Skids are split to fit it; what sticks out is reported")
    sling_angle: str = choice(table("sling_angles").options(), "60", title="Angle of the sling legs",
                              hint="From the horizontal, at full load")
    sling_legs: Factor = field("factor", "2", title="Sling legs that carry", symbol="n_l", possible=("1", "4"),
                               usual=("2", "3"), source="common-practice",
                               hint="Of four legs on a rigid load only two are sure to carry")
    weight_contingency: Fraction = _fraction("10 %", "Contingency on calculated mass", "x_c", ("3 %", "15 %"),
                                             "Offer 10 to 15 %, detailed design 3 to 5 %, weighed 1 %")
    dynamic_factor: Factor = field("factor", "1.15", title="Dynamic factor of lifting", symbol="f_d",
                                   possible=("1", "2"), usual=("1.1", "1.3"), source="common-practice",
                                   hint="On land 1.10 to 1.15; over water 1.3 and more")
    pipe_fittings: Fraction = _fraction("30 %", "Fittings / straight pipe, mass", "x_pf", ("20 %", "40 %"),
                                        "Bends, tees and reducers; flanges are counted apart",
                                        possible=("0 %", "200 %"))
    pipe_supports: Fraction = _fraction("12 %", "Supports / pipe, mass", "x_ps", ("10 %", "15 %"),
                                        "Clamps, shoes and steel of the run")
    cables: Fraction = _fraction("4 %", "Cables and trays / equipment, mass", "x_el", ("3 %", "5 %"),
                                 "On the equipment of a skid, empty")
    spool_length: M = _length("6 m", "Length of a pipe spool", "L_s", ("3 m", "12 m"),
                              "A flanged joint at each end of a spool", possible=("0.5 m", "20 m"))
    pipe_sag: M = field("length.small", "2.5 mm", title="Sag of a pipe between supports", symbol="y_s",
                        possible=("0.5 mm", "20 mm"), usual=("2.5 mm", "6 mm"), source="common-practice",
                        hint="Of the pipe full of water; decides the spacing of supports")
    frame_load: KgPerM2 = field("area load", "90 kg/m2", title="Mass of a skid frame per area", symbol="w_fr",
                                possible=("10 kg/m2", "500 kg/m2"), usual=("60 kg/m2", "120 kg/m2"),
                                source="common-practice", hint="Of the plan of the skid, base and uprights")
    vessel_fittings: Fraction = _fraction("20 %", "Fittings / shell and heads of vessels", "x_v", ("15 %", "25 %"),
                                          "Nozzles, manways, feet and internals of tanks and contactors")
    heads: str = choice(table("head_forms").options(), "torispherical-10", title="Heads of contactors",
                        hint="Dished heads by their geometry")
    head_flange: M = field("length.small", "40 mm", title="Straight flange of a dished head", symbol="h_sf",
                           possible=("0 mm", "200 mm"), usual=("25 mm", "60 mm"), source="common-practice",
                           hint="Of vessels with dished heads")
    vessel_freeboard: M = _length("0.8 m", "Space above a contactor bed", "h_fb", ("0.4 m", "1.5 m"),
                                  "Height of the shell above the bed", possible=("0 m", "5 m"))
    tank_material: str = choice(table("tank_materials").options(), "grp", title="Wall of water tanks",
                                hint="For their mass; the schedule says what is usual")
    chemical_tank_material: str = choice(table("tank_materials").options(), "pe", title="Wall of chemical tanks",
                                         hint="For their mass; proven for the chemical")
    tank_slenderness: Factor = field("factor", "1.2", title="Tank height / diameter", symbol="r_t",
                                     possible=("0.1", "5"), usual=("0.5", "2"), source="common-practice",
                                     hint="Of tanks whose diameter nobody has given")
    bund_depth: M = _length("0.8 m", "Depth of a bund", "h_b", ("0.4 m", "1.2 m"), "Wall above the floor")
    bund_wall: M = field("length.small", "200 mm", title="Concrete wall and floor of a bund", symbol="t_b",
                         possible=("50 mm", "600 mm"), usual=("150 mm", "300 mm"), source="common-practice",
                         hint="For its mass; a structural engineer sizes it")
    gap: M = _length("0.3 m", "Gap between items on a skid", "g_s", ("0.2 m", "0.8 m"), "For pipes and tools",
                     possible=("0 m", "3 m"))
    aisle: M = _length("1.2 m", "Aisle", "g_a", ("1 m", "2 m"), "Between skids, and in front of panels")
    withdrawal: M = _length("1.5 m", "Clear length at the feed end of vessels", "g_w", ("1.2 m", "1.8 m"),
                            "Elements are drawn out there: one element, hands and tool")
    push_out: M = _length("1.0 m", "Clear length at the other end of vessels", "g_p", ("1 m", "1.5 m"),
                          "Where elements are pushed from")
    vessel_pitch: M = field("length.small", "320 mm", title="Pitch of pressure vessels", symbol="p_v",
                            possible=("150 mm", "1000 mm"), usual=("300 mm", "350 mm"), source="common-practice",
                            hint="Side by side and above one another, 8-inch vessels")
    lowest_vessel: M = _length("0.4 m", "Lowest vessel axis above the base", "h_l", ("0.4 m", "0.8 m"),
                               "For loading by hand")
    highest_vessel: M = _length("1.8 m", "Highest vessel axis above the base", "h_t",
                                ("1.8 m", "2.2 m"), "For loading by hand; 2.2 m from a platform")


SECTIONS = {"fabrication": Fabrication}
