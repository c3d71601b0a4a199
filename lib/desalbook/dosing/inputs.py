"""What a design file says of dosing: one section a chemical, what all lines share, the order of places, the store."""

from __future__ import annotations

from typing import Annotated, Any, ClassVar

from desalbook.dosing.chemicals import options
from desalbook.dosing.dosing_steps import PLACES, STEPS
from desalbook.problems import DesignError
from desalbook.tables import table
from desalbook.units import (
    KINDS,
    M3,
    AsCl2,
    AsProduct,
    Concentration,
    DifferencePa,
    Factor,
    Fraction,
    GaugePa,
    K,
    KgPerM3,
    MassFraction,
    Named,
    PHNbs,
    S,
    Section,
    choice,
    field,
    mapping,
    own_list,
    sections,
    text_field,
)

__all__ = [
    "YES_NO",
    "Acid",
    "Antiscalant",
    "Biocide",
    "ChemicalStorage",
    "Chlorination",
    "Coagulation",
    "CorrosionInhibitor",
    "Dechlorination",
    "Dosing",
    "Injection",
    "InjectionPoint",
    "InterpassPh",
    "PostChlorination",
    "PostPh",
    "StoreBay",
]

DoseFlow = Annotated[float, KINDS["flow.dose"]]
Volt = Annotated[float, KINDS["potential"]]
YES_NO = {"yes": "Yes", "no": "No"}


class _Fed(Section):
    """Block of every dosing line: the solution and its pump."""

    strength: MassFraction | None = field(
        "mass fraction",
        None,
        title="Strength, in the basis of the dose",
        symbol="w_s",
        possible=("0.5 % w/w", "100 % w/w"),
        hint="By the delivery's certificate; else by the table",
        usual=("5 % w/w", "50 % w/w"),
    )
    density: KgPerM3 | None = field(
        "density",
        None,
        title="Density of the solution",
        symbol="rho_c",
        possible=("900 kg/m3", "2000 kg/m3"),
        hint="By the delivery's certificate; else by the table of densities at that strength",
        usual=("1000 kg/m3", "1550 kg/m3"),
    )
    fed_strength: MassFraction | None = field(
        "mass fraction",
        None,
        title="Strength after dilution",
        symbol="w_f",
        possible=("0.05 % w/w", "98 % w/w"),
        hint="If blank the solution is fed as it comes",
        usual=("0.5 % w/w", "40 % w/w"),
    )
    pump_capacity: DoseFlow | None = field(
        "flow.dose",
        None,
        title="Capacity of the dosing pump (fixed)",
        symbol="q_p",
        possible=("0.01 L/h", "50000 L/h"),
        hint="Maximum flow of one pump; if blank, the smallest of the list that gives the maximum feed",
        usual=("0.5 L/h", "2000 L/h"),
    )
    calibration_column: M3 | None = field(
        "volume.small", None, title="Calibration column, fixed", symbol="V_w", possible=("0.01 L", "1000 L"),
        usual=("0.05 L", "20 L"), hint="If blank, the smallest of the list that holds the draw-down",
    )
    day_tank_volume: M3 | None = field(
        "volume", None, title="Day tank, fixed", symbol="V_d", possible=("0.005 m3", "500 m3"),
        usual=("0.05 m3", "20 m3"), hint="If blank, the smallest standard size for the day-tank autonomy",
    )
    bulk_storage_volume: M3 | None = field(
        "volume", None, title="Bulk storage tank, fixed", symbol="V_s", possible=("0.005 m3", "2000 m3"),
        usual=("0.2 m3", "100 m3"), hint="If blank, the smallest standard size for the autonomy and a delivery",
    )


class _Step(_Fed):
    """Block of a step that may be absent, with its reason; absent, it has no figures but those two."""

    blank_without_present: ClassVar[bool] = True

    present: str = choice(YES_NO, "no", title="In this plant", hint="Whether the plant has this step")
    reason: str = text_field("", title="Why not",
                             hint="Reason printed on the calculation sheet when this step is omitted")


class _Hypochlorite(_Fed):
    """Block of a line of hypochlorite, which ages in store."""

    chemical: str = choice(
        options("oxidant"),
        "sodium-hypochlorite",
        title="Chemical",
        hint="What is bought; its sheet gives strength, density and hazards",
    )
    strength_left: Fraction = field(
        "fraction",
        "80 %",
        title="Strength left in storage",
        symbol="x_w",
        possible=("20 %", "100 %"),
        usual=("70 %", "95 %"),
        source="gordon-hypochlorite",
        hint="Fraction of the delivered strength that the dose assumes at the end of storage",
    )


def _as_chlorine(default: str, title: str, symbol: str, most: str, usual: tuple[str, str], hint: str = "") -> Any:
    """A concentration as Cl2 between nothing and `most`, in mg/L."""
    u = " mg/L as Cl2"
    return field(
        "concentration as Cl2",
        default + u,
        title=title,
        symbol=symbol,
        possible=("0" + u, most + u),
        usual=(usual[0] + u, usual[1] + u),
        hint=hint,
    )


def _as_product(default: str, title: str, symbol: str, most: str, usual: tuple[str, str], hint: str = "") -> Any:
    """A dose of a product as bought, in mg/L."""
    u = " mg/L as product"
    return field(
        "concentration as product",
        default + u,
        title=title,
        symbol=symbol,
        possible=("0.05" + u, most + u),
        usual=(usual[0] + u, usual[1] + u),
        hint=hint,
    )


class Chlorination(_Step, _Hypochlorite):
    """Section ``[chlorination]``: hypochlorite upstream of the filters."""

    present: str = choice(
        YES_NO, "yes", title="Chlorination", hint="Whether hypochlorite is dosed upstream of the filters"
    )
    demand: AsCl2 = _as_chlorine(
        "1.0",
        "Chlorine demand",
        "D_d",
        "20",
        ("0.3", "3"),
        hint="Chlorine that the water consumes before a residual remains",
    )
    residual: AsCl2 = _as_chlorine(
        "0.5",
        "Residual where it is removed",
        "C_r",
        "5",
        ("0.2", "1"),
        "Total residual oxidant after demand and hold time",
    )
    shock: str = choice(YES_NO, "yes", title="Shock dosing", hint="Intermittent high dose instead of continuous dosing")
    shock_dose: AsCl2 = _as_chlorine(
        "8", "Shock dose", "D_sh", "30", ("5", "15"), hint="Chlorine dosed during a shock"
    )
    shock_time: S = field(
        "time",
        "1 h",
        title="Shock duration",
        symbol="t_sh",
        possible=("0.1 h", "24 h"),
        usual=("0.5 h", "4 h"),
        hint="How long each shock lasts",
    )
    shock_interval: S = field(
        "time.day",
        "3 d",
        title="Interval of shocks",
        symbol="t_i",
        possible=("0.2 d", "60 d"),
        usual=("0.5 d", "14 d"),
        hint="From the start of one shock to that of the next",
    )


class Dechlorination(_Step):
    """Section ``[dechlorination]``: bisulfite upstream of the RO membranes."""

    present: str = choice(
        YES_NO, "yes", title="Dechlorination", hint="Whether bisulfite takes out chlorine, which destroys polyamide"
    )
    chemical: str = choice(
        options("dechlorination"),
        "sodium-bisulfite",
        title="Chemical",
        hint="What is bought; its sheet gives strength, density and hazards",
    )
    dose_ratio: Factor = field(
        "factor",
        "2",
        title="Dose ratio to stoichiometric",
        symbol="f_s",
        possible=("1", "6"),
        usual=("1.5", "3"),
        hint="Dosed in excess of the reaction's need, for mixing and for safety",
    )
    orp_control: Volt = field(
        "potential",
        "200 mV",
        title="ORP control set point",
        symbol="E_c",
        possible=("-200 mV", "600 mV"),
        usual=("150 mV", "250 mV"),
        hint="Set in commissioning against measured chlorine; never computed",
    )
    orp_alarm: Volt = field(
        "potential",
        "250 mV",
        title="ORP trip set point (stops HP pump)",
        symbol="E_a",
        possible=("-200 mV", "700 mV"),
        usual=("200 mV", "350 mV"),
        hint="Set in commissioning against measured chlorine; never computed",
    )

    def consistent(self, where: str) -> None:
        if self.orp_alarm <= self.orp_control:
            raise DesignError(
                "the alarm lies at or below the potential the dose is trimmed to",
                where=f"{where}.orp_alarm",
                value=round(self.orp_alarm * 1e3, 4),
                unit="mV",
                do=f"set more than {self.orp_control * 1e3:g} mV",
            )


class AntiscalantSheet(Section):
    """A supplier's data of a scale inhibitor, ``[[antiscalants]]``: density, maximum dose, limits."""

    name: str = text_field(..., title="Name of the sheet", max_length=40,
                           hint="As it is chosen in antiscalant.product")  # type: ignore[arg-type]
    source: str = text_field("", title="Where the sheet comes from", hint="Supplier's document and its number")
    date: str = text_field("", title="Date of the sheet", max_length=40, hint="Issue the values were taken from")
    density: KgPerM3 | None = field("density", None, title="Density of the product", symbol="rho_a",
                                    possible=("800 kg/m3", "1600 kg/m3"), usual=("1000 kg/m3", "1400 kg/m3"),
                                    hint="As bought, at 20 degC")
    max_dose: AsProduct | None = field("concentration as product", None, title="Maximum dose", symbol="D_max",
                                       possible=("0.1 mg/L as product", "50 mg/L as product"),
                                       usual=("2 mg/L as product", "10 mg/L as product"),
                                       hint="Of the product itself, and of its certificate for drinking water")
    limits: Named | None = mapping("index", tuple(table("scaling_limits")), None,
                                   title="Maximum saturation index with this product",
                                   symbol="SI_a", possible=("-3", "4"),
                                   hint="By mineral, at the dose of the sheet; what is blank is taken from the table")


LISTS = {"antiscalants": own_list(AntiscalantSheet, title="Sheets of scale inhibitors of this design",
                                  hint="From the supplier; one is used by its name in antiscalant.product")}


class Antiscalant(_Step):
    """Section ``[antiscalant]``."""

    present: str = choice(
        YES_NO, "yes", title="Antiscalant", hint="Whether antiscalant is dosed"
    )
    product: str | None = choice({}, None, title="Product", own="antiscalants",
                                 hint="Of [[antiscalants]], by its name; blank takes a generic one")
    dose: AsProduct = _as_product(
        "2",
        "Dose into the RO feed",
        "D_a",
        "20",
        ("0.5", "5"),
        hint="Product as bought per volume of RO feed; the supplier states it",
    )


class Acid(_Step):
    """Section ``[acid]``: off unless asked for; acid raises the passage of boron."""

    present: str = choice(
        YES_NO, "no", title="Acid", hint="Whether acid is dosed into the feed; it lowers pH and lets more boron pass"
    )
    chemical: str = choice(
        options("acid"),
        "sulfuric-acid",
        title="Chemical",
        hint="What is bought; its sheet gives strength, density and hazards",
    )
    target_ph: PHNbs = field(
        "ph.nbs",
        "7.6",
        title="pH of the RO feed",
        symbol="pH_f",
        possible=("4", "8.5"),
        usual=("6.8", "7.8"),
        hint="The dose is solved for this pH",
    )


class Coagulation(_Step):
    """Section ``[coagulation]``: ferric chloride upstream of the filters."""

    present: str = choice(YES_NO, "no", title="Coagulation", hint="Whether coagulant is dosed upstream of the filters")
    chemical: str = choice(
        options("coagulant"),
        "ferric-chloride",
        title="Chemical",
        hint="What is bought; its sheet gives strength, density and hazards",
    )
    dose: Concentration = field(
        "concentration",
        "1 mg/L",
        title="Dose, counted as iron",
        symbol="D_Fe",
        possible=("0.1 mg/L", "20 mg/L"),
        usual=("0.5 mg/L", "5 mg/L"),
        hint="On an ordinary day; ferric lowers pH and alkalinity",
    )
    dose_maximum: Concentration = field(
        "concentration",
        "5 mg/L",
        title="Maximum dose, counted as iron",
        symbol="D_Fe,max",
        possible=("0.1 mg/L", "30 mg/L"),
        usual=("1 mg/L", "10 mg/L"),
        hint="On the worst day; sizes the dosing pump",
    )

    def consistent(self, where: str) -> None:
        if self.dose_maximum < self.dose:
            raise DesignError(
                "the maximum dose lies below the dose",
                where=f"{where}.dose_maximum",
                value=round(self.dose_maximum * 1e3, 4),
                unit="mg/L",
                do=f"set at least {self.dose * 1e3:g} mg/L",
            )


class Biocide(_Step):
    """Section ``[biocide]``: a non-oxidising product, in shocks, against slime on the membranes."""

    dose: AsProduct = _as_product(
        "100",
        "Shock dose into the RO feed",
        "D_b",
        "2000",
        ("20", "500"),
        hint="Product as bought per volume of feed during a shock",
    )
    shock_time: S = field(
        "time.minute",
        "30 min",
        title="Shock duration",
        symbol="t_sh",
        possible=("1 min", "1440 min"),
        usual=("20 min", "120 min"),
        hint="How long each shock lasts",
    )
    shock_interval: S = field(
        "time.day",
        "7 d",
        title="Interval of shocks",
        symbol="t_i",
        possible=("1 d", "365 d"),
        usual=("2 d", "30 d"),
        hint="From the start of one shock to that of the next",
    )


class InterpassPh(_Step):
    """Section ``[interpass_ph]``: alkali into the permeate of the first pass, so that a second holds boron back."""

    chemical: str = choice(
        options("alkali"),
        "caustic-soda-30",
        title="Chemical",
        hint="What is bought; its sheet gives strength, density and hazards",
    )
    target_ph: PHNbs = field(
        "ph.nbs",
        "10",
        title="pH of the feed of the second pass",
        symbol="pH_2",
        possible=("7", "11"),
        usual=("9", "10.5"),
        hint="A higher pH turns boric acid into borate, which the second pass retains",
    )


class CorrosionInhibitor(_Step):
    """Section ``[corrosion_inhibitor]``: an option for the network, never in place of a stable water."""

    dose: AsProduct = _as_product(
        "1", "Dose into the product", "D_i", "20", ("0.5", "5"), hint="Product as bought per volume of product water"
    )


class PostPh(_Fed):
    """Section ``[post_ph]``: the alkali that lifts the product's pH; its target stands in ``[product]``."""

    chemical: str = choice(
        options("alkali"),
        "caustic-soda-30",
        title="Chemical",
        hint="What is bought; its sheet gives strength, density and hazards",
    )


class PostChlorination(_Hypochlorite):
    """Section ``[post_chlorination]``: hypochlorite into the product."""

    present: str | None = choice(
        YES_NO,
        None,
        title="Chlorination of the product",
        hint="If blank the use of the product decides",
    )
    demand: AsCl2 = _as_chlorine(
        "0.1",
        "Chlorine demand of the product",
        "D_d",
        "5",
        ("0", "0.5"),
        hint="Chlorine that the product consumes before a residual remains",
    )
    residual: AsCl2 = _as_chlorine(
        "0.4",
        "Residual leaving the plant",
        "C_r",
        "5",
        ("0.2", "1"),
        hint="Chlorine left when the water goes to the network",
    )


class Dosing(Section):
    """Section ``[dosing]``: what all dosing lines share."""

    day_tank_time: S = field(
        "time",
        "24 h",
        title="Day-tank autonomy",
        symbol="t_d",
        possible=("4 h", "72 h"),
        usual=("12 h", "30 h"),
        source="ten-state-standards",
        hint="A tank filled each shift or day limits what a mistake can dose",
    )
    storage_time: S = field(
        "time.day",
        "30 d",
        title="Bulk-storage autonomy",
        symbol="t_s",
        possible=("3 d", "180 d"),
        usual=("15 d", "60 d"),
        source="ten-state-standards",
        hint="Days of bulk storage at the mean dose; the size of a delivery may need more",
    )
    span: Factor = field(
        "factor",
        "100",
        title="Dosing-pump turndown (stroke x speed)",
        symbol="r_q",
        possible=("5", "1000"),
        usual=("10", "100"),
        source="api-675",
        hint="Maximum over minimum flow that one pump can give",
    )
    speed_span: Factor = field(
        "factor",
        "10",
        title="Dosing-pump turndown by speed alone",
        symbol="r_n",
        possible=("1", "100"),
        usual=("5", "20"),
        source="api-675",
        hint="Speed follows the flow; what is left is set by stroke",
    )
    pump_margin: Factor = field(
        "factor",
        "1.1",
        title="Dosing-pump capacity / maximum feed",
        symbol="f_q",
        possible=("1", "3"),
        usual=("1.05", "1.5"),
        hint="For wear and for a weak delivery",
    )
    pump_pressure: GaugePa = field(
        "gauge pressure",
        "10 barg",
        title="Rated pressure of the dosing pumps",
        symbol="p_q",
        possible=("1 barg", "100 barg"),
        usual=("4 barg", "16 barg"),
        hint="Maximum discharge pressure of the pumps",
    )
    over_pressure: DifferencePa = field(
        "pressure difference",
        "1 bar",
        title="Dosing-pump margin over line shut-off",
        symbol="dp_q",
        possible=("0 bar", "10 bar"),
        usual=("0.5 bar", "3 bar"),
        hint="Quill valve and line losses",
    )
    draw_down_time: S = field(
        "time.second",
        "60 s",
        title="Draw-down time of a calibration column",
        symbol="t_k",
        possible=("10 s", "600 s"),
        usual=("30 s", "120 s"),
        hint="Time in which the pump empties the column when its flow is checked",
    )
    mixing: str = choice(
        table("mixing").options(),
        "static-mixer",
        title="Mixing downstream of a quill",
        hint="What mixes the chemical in before the next place",
    )
    delivery_time: S = field(
        "time.day",
        "14 d",
        title="Minimum interval of deliveries",
        symbol="t_l",
        possible=("1 d", "180 d"),
        usual=("7 d", "45 d"),
        hint="Deliveries come no more often than this",
    )
    storage_temperature: K = field(
        "temperature",
        "25 degC",
        title="Chemical storage temperature",
        symbol="T_s",
        possible=("-10 degC", "50 degC"),
        usual=("5 degC", "35 degC"),
        hint="Mean of the warmest month: hypochlorite ages with it",
    )
    containment_fraction: Fraction = field(
        "fraction",
        "10 %",
        title="Allowance of the bund over its largest tank",
        symbol="x_c",
        possible=("0 %", "100 %"),
        usual=("10 %", "25 %"),
        source="uk-oil-storage-2001",
        hint="25 % in the open; local codes govern",
    )
    containment_total: Fraction = field(
        "fraction",
        "25 %",
        title="Minimum bund volume / total tank volume",
        symbol="x_t",
        possible=("0 %", "120 %"),
        usual=("25 %", "100 %"),
        source="uk-oil-storage-2001",
        hint="Volume of the bund for all its tanks together",
    )


def _seconds(default: str, title: str, symbol: str, usual: tuple[str, str], hint: str = "") -> Any:
    """A time of the chain from probe to pump."""
    return field(
        "time.second", default, title=title, symbol=symbol, possible=("0 s", "600 s"), usual=usual, hint=hint
    )


class InjectionPoint(Section):
    """One place along the water line."""

    name: str = choice(dict(PLACES), ..., title="What is there", hint="In the order of the flow")
    travel_time: S = field(
        "time.second",
        "10 s",
        title="Travel time to the next point",
        symbol="t",
        possible=("0 s", "86400 s"),
        usual=("0 s", "3600 s"),
        hint="From this place to the next at the design flow",
    )


_ORDER = tuple(PLACES)[: list(PLACES).index("pump") + 1]
"""Places of a design that says nothing of them: all up to the membranes."""


class Injection(Section):
    """Section ``[injection]``: the order of quills, filters and probe along the line."""

    points: tuple[InjectionPoint, ...] = sections(
        InjectionPoint,
        [{"name": n, "travel_time": "15 s"} for n in _ORDER],
        title="Places along the line",
        hint="In the order the water passes them; a chemical that is not present is passed over",
    )
    probe_time: S = _seconds(
        "10 s", "Response of the ORP probe", "t_p", ("2 s", "30 s"), hint="Until the probe shows most of a change"
    )
    delay_time: S = _seconds(
        "5 s", "Delay of the alarm", "t_d", ("0 s", "10 s"), hint="Alarm delay, to suppress nuisance trips"
    )
    valve_time: S = _seconds(
        "10 s",
        "Time to stop the pump or shut the valve",
        "t_v",
        ("2 s", "30 s"),
        hint="Until no more water reaches the membranes",
    )


class StoreBay(Section):
    """One bay of the chemical store."""

    name: str = choice(
        {n: s.title for n, s in STEPS.items()},
        ...,
        title="Chemical in the bay",
        hint="Dosing step whose chemical is kept in this bay",
    )
    wall: str = choice(
        YES_NO, "yes", title="Wall or clear passage to the next bay", hint="Chemicals that must not meet need one"
    )
    shares_bund: str = choice(
        YES_NO, "no", title="One bund with the next bay", hint="A common bund lets two spills meet"
    )


class ChemicalStorage(Section):
    """Section ``[chemical_storage]``: bays side by side, from one end of the store to the other."""

    bays: tuple[StoreBay, ...] = sections(
        StoreBay,
        [{"name": n} for n in STEPS],
        title="Bays of the chemical storage",
        hint="In the order they stand; what is not present is passed over",
    )
