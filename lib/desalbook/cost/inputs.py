"""What a design file says of money: section ``[cost]``."""

from __future__ import annotations

from desalbook.tables import table
from desalbook.units import (
    Factor,
    Fraction,
    Money,
    MoneyPerM3,
    S,
    Section,
    choice,
    field,
    sections,
    text_field,
)

__all__ = ["SECTIONS", "Cost", "Quote"]


def _share(default: str, title: str, symbol: str, usual: tuple[str, str], hint: str, place: str = "",
           possible: tuple[str, str] = ("0 %", "200 %"), source: str = "common-practice"):
    return field("fraction", default, title=title, symbol=symbol, possible=possible, usual=usual, hint=hint,
                 source=source, place=place)


def _price(default: str, title: str, symbol: str, usual: tuple[str, str], hint: str, kind: str = "money",
           possible: tuple[str, str] = ("0", "1e9"), place: str = "price level of 2024, from memory"):
    return field(kind, default, title=title, symbol=symbol, possible=possible, usual=usual, hint=hint,
                 source="common-practice", place=place)


class Quote(Section):
    """One quotation: the price of one of an item, ex works, in place of its curve."""

    item: str = text_field(..., title="Item quoted", max_length=60, hint="Key of the table of costs, as hp_pump")
    price: Money = field("money", ..., title="Price of one, ex works", symbol="C_q", possible=("0.01", "1e9"),
                         usual=("10", "1e7"), hint="In the currency and price year of the design")
    offer: str = text_field("", title="Offer, date and what it includes", hint="Stands beside the price")


class Cost(Section):
    """Section ``[cost]``: prices, shares, life and discount rate. Prices are in the currency of ``energy.currency``."""

    price_year: str = choice(table("price_index").options(), "2024", title="Price year",
                             hint="Year of all prices; curves are brought to it by the price index")
    price_index: Factor | None = field(
        "factor", None, title="Price index of the estimate", symbol="I", possible=("100", "5000"),
        usual=("500", "1000"), hint="Of the same series as the table; if blank, that of the price year")
    exchange_rate: Factor = field(
        "factor", "1", title="Currency of the design for one USD", symbol="x_c", possible=("0.001", "100000"),
        usual=("0.1", "1000"), hint="Curves and tables of the kit are in USD; prices given here are not converted")
    location_factor: Factor = field(
        "factor", "1", title="Location factor of equipment", symbol="f_loc", possible=("0.3", "5"),
        usual=("0.7", "1.6"), source="common-practice", hint="Duty, local market and transport over the base market")
    quotes: tuple[Quote, ...] = sections(Quote, (), title="Quotations", key="item",
                                         hint="A price given here replaces the curve of its item")
    estimate_class: str = choice(table("estimate_classes").options(), "5", title="Class of the estimate",
                                 hint="Decides the band beside every sum")
    plant_life: S = field(
        "time.year", "20 year", title="Plant life", symbol="n_y", possible=("1 year", "60 year"),
        usual=("15 year", "30 year"), source="common-practice", hint="Over which the capital is recovered")
    discount_rate: Fraction = _share("8 %", "Discount rate", "i", ("4 %", "12 %"),
                                     "Real, without inflation: all prices are those of one year",
                                     possible=("0 %", "50 %"))
    installation: Fraction = _share("25 %", "Installation / equipment", "x_in", ("15 %", "50 %"),
                                    "Setting, frames and erection at site of factory-built units")
    site_piping: Fraction = _share("15 %", "Site piping / equipment", "x_pi", ("10 %", "30 %"),
                                   "Pipe between units, valves and supports")
    electrical: Fraction = _share("12 %", "Electrical and controls / equipment", "x_el", ("8 %", "25 %"),
                                  "Panels, switchgear, cables, instruments and programming")
    civil: Fraction = _share("18 %", "Civil works / equipment", "x_ci", ("10 %", "40 %"),
                             "Ground, foundations, drains and bunds")
    building: Fraction = _share("5 %", "Building / equipment", "x_bu", ("0 %", "20 %"),
                                "Shelter or containers")
    sea_works: Money = field(
        "money", "0", title="Sea works", symbol="C_sea", possible=("0", "1e10"), usual=("0", "1e8"),
        source="common-practice",
        hint="Wells or open intake, outfall and permits, without the screen; a site decides them, so no curve is used")
    engineering: Fraction = _share("10 %", "Engineering / direct cost", "x_en", ("8 %", "15 %"),
                                   "Design, procurement and supervision")
    commissioning: Fraction = _share("3 %", "Commissioning / direct cost", "x_co", ("2 %", "4 %"),
                                     "Start-up, training and first spares")
    freight: Fraction = _share("5 %", "Freight and insurance / equipment", "x_fr", ("3 %", "10 %"),
                               "Ex works to site", place="chapter 10.1, from memory",
                               source="el-dessouky-ettouney-2002")
    contingency: Fraction = _share("15 %", "Contingency / direct and indirect", "x_cy", ("5 %", "30 %"),
                                   "Concept 20 to 30 %, tender 5 to 10 %")
    element_price: Money | None = field(
        "money", None, title="Price of one membrane element", symbol="C_e", possible=("0.01", "100000"),
        usual=("100", "900"), hint="As delivered; if blank, by its membrane area")
    element_replacement: Fraction | None = field(
        "fraction", None, title="Elements replaced in a year", symbol="x_e", possible=("0 %", "100 %"),
        usual=("7 %", "20 %"),
        hint="Fraction of all elements; if blank, by their life. 10 to 15 % where the RO feed is good")
    element_longest_life: S = field(
        "time.year", "10 year", title="Longest life of an element", symbol="t_e0", possible=("1 year", "20 year"),
        usual=("7 year", "12 year"), source="common-practice",
        hint="Hardly ever cleaned and never oxidised; only where elements replaced in a year are blank")
    cleanings_of_life: Factor = field(
        "factor", "160", title="Cleanings that wear an element out", symbol="n_e", possible=("10", "1000"),
        usual=("80", "300"), source="common-practice",
        hint="Without ageing in between: 4 a year give 8 years, monthly ones 6. A rough habit, to be varied")
    cartridge_price: Money | None = field(
        "money", None, title="Price of one cartridge", symbol="C_k", possible=("0.01", "10000"), usual=("3", "30"),
        hint="Of the length used; if blank, by its length")
    staff: Factor = field("factor", "2", title="Staff, full-time equivalents", symbol="n_s", possible=("0", "200"),
                          usual=("0.5", "10"), source="common-practice",
                          hint="Operators and maintenance; 1 to 3 for a packaged plant")
    salary: Money = _price("32000", "Cost of one full-time equivalent a year", "C_s", ("5000", "100000"),
                           "With social charges; differs ten-fold between countries")
    maintenance: Fraction = _share("2 %", "Maintenance of a year / capital", "x_m", ("1 %", "3 %"),
                                   "Spares and contractors; membranes and cartridges stand apart",
                                   possible=("0 %", "20 %"))
    insurance: Fraction = _share("0.5 %", "Insurance of a year / capital", "x_i", ("0.2 %", "1 %"),
                                 "Of the capital", possible=("0 %", "10 %"), place="chapter 10.1, from memory",
                                 source="el-dessouky-ettouney-2002")
    discharge_fee: MoneyPerM3 = field(
        "money per volume", "0 1/m3", title="Discharge fee", symbol="c_d", possible=("0 1/m3", "100 1/m3"),
        usual=("0 1/m3", "0.1 1/m3"), source="common-practice",
        hint="For a cubic metre of concentrate and waste water, where an authority asks for one")


SECTIONS = {"cost": Cost}
