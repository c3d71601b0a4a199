"""What a design file says of the raw water and of scaling: sections ``[water]`` and ``[scaling]``."""

from __future__ import annotations

from typing import Any

from desalbook.problems import DesignError
from desalbook.units import (
    KINDS,
    AbsoluteSalinity,
    AsCl2,
    Concentration,
    Factor,
    Fraction,
    K,
    PHNbs,
    PHTotal,
    Section,
    SPerM,
    choice,
    custom,
    field,
    mapping,
    sections,
    text_field,
)
from desalbook.units.fieldmeta import Named
from desalbook.water.basis import IonsMeta
from desalbook.water.species import IONS

__all__ = ["ION_KEYS", "MINERAL_KEYS", "OneWater", "RawWater", "Scaling"]

ION_KEYS = tuple(key for key in IONS if key != "CO2")
"""Constituents an analysis may state, in the order of the ion table; CO2 has a key of its own."""

_T: dict[str, Any] = {"possible": ("0.5 degC", "50 degC"), "usual": ("5 degC", "40 degC")}


def _ions() -> Any:
    return custom(IonsMeta(
        "mapping", "Analysis", "C_i", keys=ION_KEYS, kind=KINDS["concentration"], possible=(0.0, 80.0),
        source="astm-d4195",
        hint="As the laboratory reports it: 412 mg/L, 118 mg/L as CaCO3, 0.4 mg/L as N, 402 mg/kg, 10.3 mmol/L or "
        "20.6 meq/L; without 'as' it is the ion itself, B as boron, SiO2 as reactive silica"))


def _ph() -> Any:
    return field("ph.nbs", None, title="pH, NBS scale (laboratory buffers)", symbol="pH",
                 possible=("4", "10.5"), usual=("7", "8.5"), hint="NBS scale, at the laboratory temperature")


def _ph_total() -> Any:
    return field("ph.total", None, title="pH on the total scale", symbol="pH_T", possible=("4", "10.5"),
                 usual=("7", "8.4"),
                 hint="By dye or in seawater buffers; in seawater some 0.13 below the NBS reading")


def _lab_temperature() -> Any:
    return field("temperature", "25 degC", title="Temperature of the analysis", symbol="T_lab", **_T,
                 hint="At which the laboratory measured pH and conductivity")


def _bicarbonate_from() -> Any:
    return choice(
        {"species": "HCO3 is bicarbonate itself", "titration": "HCO3 is the total alkalinity of a titration"},
        "species", title="What the laboratory calls bicarbonate", source="standard-methods",
        hint="A titration also counts borate and carbonate; the carbon that goes with it follows from the pH")


def _measured_tds() -> Any:
    return field("concentration", None, title="TDS, measured", symbol="TDS_m",
                 possible=("1 mg/L", "150 g/L"), usual=("1 g/L", "50 g/L"), source="standard-methods",
                 hint="Residue dried at 180 degC")


def _conductivity() -> Any:
    return field("conductivity", None, title="Conductivity, measured", symbol="kappa_m",
                 possible=("1 uS/cm", "250 mS/cm"), usual=("1 mS/cm", "70 mS/cm"),
                 hint="Compared with what the analysis would conduct")


def _conductivity_temperature() -> Any:
    return field("temperature", "25 degC", title="Temperature the conductivity refers to", symbol="T_kappa",
                 possible=("0.5 degC", "50 degC"), usual=("20 degC", "25 degC"), hint="Most meters convert to 25 degC")


def _carbon_dioxide() -> Any:
    return field("concentration", None, title="Dissolved carbon dioxide, measured", symbol="CO2",
                 possible=("0 mg/L", "500 mg/L"), usual=("0 mg/L", "50 mg/L"),
                 hint="Compared with what pH and bicarbonate say; not added to them")


class OneWater(Section):
    """One of several analyses, ``[[water.analyses]]``: a well, an intake or a season."""

    name: str = text_field(..., title="Name", hint="Letters, digits, - and _; part of the ids of its lines",
                           max_length=40)
    share: Fraction = field("fraction", ..., title="Share in the blend, by mass of water", symbol="w",
                            possible=("0 %", "100 %"), hint="The shares add up to 100 %", usual=("5 %", "95 %"))
    ions: Named = _ions()
    bicarbonate_from: str = _bicarbonate_from()
    ph: PHNbs | None = _ph()
    ph_total: PHTotal | None = _ph_total()
    lab_temperature: K = _lab_temperature()
    measured_tds: Concentration | None = _measured_tds()
    conductivity: SPerM | None = _conductivity()
    conductivity_temperature: K = _conductivity_temperature()
    carbon_dioxide: Concentration | None = _carbon_dioxide()

    def consistent(self, where: str) -> None:
        if self.ions is None:
            raise DesignError("has no ions", where=_at(where, "ions"), do="state what the laboratory found")
        _one_ph(self, where)
        _main_ions(self, where)


class RawWater(Section):
    """Section ``[water]``: where the water comes from, its analysis and the envelope of temperatures."""

    source: str = choice(
        {"open-intake": "Open sea intake", "beach-well": "Beach well"},
        "open-intake",
        title="Source of the water",
        hint="A beach well is filtered by the ground; it may hold iron, manganese or sulfide and no oxygen",
    )
    ions: Named | None = _ions()
    bicarbonate_from: str = _bicarbonate_from()
    sea_salinity: AbsoluteSalinity | None = field(
        "absolute salinity", None, title="Salinity, where there is no analysis", symbol="S_A",
        possible=("1 g/kg", "80 g/kg"), usual=("30 g/kg", "50 g/kg"), source="millero-2008",
        hint="Grams of sea salt per kilogram of seawater; the ions follow in their usual proportions. "
        "For a first sizing only")
    analyses: tuple[OneWater, ...] = sections(
        OneWater, (), title="Several analyses, blended",
        hint="Wells, intakes or seasons, each with its share; in place of ions")
    ph: PHNbs | None = _ph()
    ph_total: PHTotal | None = _ph_total()
    balance_with: str = choice(
        {"none": "Nothing is added", "Na": "Sodium", "Cl": "Chloride"}, "none",
        title="Ion used to close the charge balance", source="standard-methods",
        hint="Only on request, and shown as a line; it hides an error of the laboratory rather than mends it")
    proportion_band: Fraction = field(
        "fraction", "10 %", title="Allowed deviation from seawater proportions", symbol="d_max",
        possible=("1 %", "60 %"), usual=("5 %", "15 %"),
        hint="Each major ion over chloride against reference seawater; the open sea keeps to 1 %, so this is "
        "mostly the laboratory's error")
    lab_temperature: K = _lab_temperature()
    temperature_cold: K = field("temperature", "15 degC", title="Minimum water temperature", symbol="T_cold", **_T,
                                hint="Decides pressure, motors and disinfection")
    temperature_design: K = field("temperature", "25 degC", title="Design temperature", symbol="T_des", **_T,
                                  hint="At which the plant is meant to run most of the year")
    temperature_hot: K = field("temperature", "32 degC", title="Maximum water temperature", symbol="T_hot", **_T,
                               hint="Decides salt and boron in the product, and scaling")
    measured_tds: Concentration | None = _measured_tds()
    conductivity: SPerM | None = _conductivity()
    conductivity_temperature: K = _conductivity_temperature()
    carbon_dioxide: Concentration | None = _carbon_dioxide()
    turbidity: float = field(
        "turbidity",
        "5 NTU",
        title="Turbidity, worst design case",
        symbol="Tu",
        possible=("0 NTU", "500 NTU"),
        usual=("0.1 NTU", "30 NTU"),
        hint="The worst water the filters must still pass, not the mean",
    )
    suspended_solids: Concentration = field(
        "concentration",
        "10 mg/L",
        title="Suspended solids, worst design case",
        symbol="TSS",
        possible=("0 mg/L", "1 g/L"),
        usual=("0.5 mg/L", "50 mg/L"),
        hint="Decides how fast filters fill, and how often they are backwashed",
    )
    sdi: float | None = field(
        "fouling index",
        None,
        title="Silt density index of the raw water",
        symbol="SDI",
        possible=("0", "6.7"),
        source="astm-d4189",
        hint="Over a quarter of an hour; most open intakes plug too fast for it",
        usual=("1", "6"),
    )
    toc: Concentration = field(
        "concentration",
        "2 mg/L",
        title="Total organic carbon",
        symbol="TOC",
        possible=("0 mg/L", "50 mg/L"),
        usual=("0.5 mg/L", "5 mg/L"),
        hint="Food for growth; a reason for coagulation and for care with chlorine",
    )
    oil: Concentration | None = field(
        "concentration",
        None,
        title="Oil and grease, worst design case",
        symbol="Oil",
        possible=("0 mg/L", "500 mg/L"),
        usual=("0 mg/L", "0.1 mg/L"),
        hint="Membranes tolerate almost none",
    )
    sulfide: Concentration = field(
        "concentration",
        "0 mg/L",
        title="Sulfide, as H2S",
        symbol="H2S",
        possible=("0 mg/L", "50 mg/L"),
        usual=("0 mg/L", "0.1 mg/L"),
        hint="Turns into sulfur on the membranes where air or oxidant enters",
    )
    residual_oxidant: AsCl2 | None = field(
        "concentration as Cl2",
        None,
        title="Residual oxidant in the raw water",
        symbol="TRO",
        possible=("0 mg/L as Cl2", "20 mg/L as Cl2"),
        usual=("0 mg/L as Cl2", "0.5 mg/L as Cl2"),
        hint="Chlorine that somebody else dosed at the intake",
    )
    oxygen: Concentration = field(
        "concentration",
        "7 mg/L",
        title="Dissolved oxygen",
        symbol="O2",
        possible=("0 mg/L", "15 mg/L"),
        usual=("0 mg/L", "10 mg/L"),
        hint="What an excess of dechlorination agent could use up, and what corrodes",
    )

    def consistent(self, where: str) -> None:
        ways = [k for k in ("ions", "sea_salinity", "analyses") if self[k]]
        if len(ways) != 1:
            raise DesignError(
                "one composition", where=_at(where, ways[1] if ways else "ions"),
                allowed="ions, sea_salinity or analyses",
                do="state the analysis as ions" if not ways else "leave one of them; the others contradict it")
        if self.analyses:
            self._several(where)
        elif self.ions:
            _one_ph(self, where)
            _main_ions(self, where)
        elif self.ph is not None and self.ph_total is not None:
            _one_ph(self, where)
        if not self.temperature_cold <= self.temperature_design <= self.temperature_hot:
            raise DesignError(
                f"temperatures must rise: cold <= design <= hot (now {_c(self.temperature_cold)}, "
                f"{_c(self.temperature_design)}, {_c(self.temperature_hot)} degC)",
                where=_at(where, "temperature_design"),
                do="put temperature_cold, temperature_design and temperature_hot in order: to warmer water begin with "
                   "temperature_hot, to colder water with temperature_cold",
            )

    def _several(self, where: str) -> None:
        for key in ("ph", "ph_total", "measured_tds", "conductivity", "carbon_dioxide"):
            if self[key] is not None:
                raise DesignError("is given in each of the analyses", where=_at(where, key),
                                  do="move it to the analysis it belongs to")
        first = self.analyses[0]
        for one in self.analyses[1:]:
            odd = next((k for k in ION_KEYS if (k in one.ions) != (k in first.ions)), None)
            if odd is not None:
                with_it, without = (one, first) if odd in one.ions else (first, one)
                raise DesignError(
                    f"lacks {odd}, which {with_it.name} states", where=_at(where, f"analyses[{without.name}].ions"),
                    do=f'have it analysed, or set {odd} = "0 mg/L" if there is none')
        whole = sum(one.share for one in self.analyses)
        if abs(whole - 1.0) > 1e-3:
            raise DesignError("the shares do not add up", where=_at(where, "analyses"), value=round(100 * whole, 3),
                              unit="%", allowed="100 %", do="correct the fraction of one of them")


def _at(where: str, key: str) -> str:
    return f"{where}.{key}" if where else key


def _one_ph(water: Any, where: str) -> None:
    if (water.ph is None) == (water.ph_total is None):
        raise DesignError(
            "one pH, on one scale",
            where=_at(where, "ph"),
            allowed="ph or ph_total",
            do="set ph (NBS) or ph_total, not both" if water.ph else "set ph = ...",
        )


def _main_ions(water: Any, where: str) -> None:
    missing = [k for k in ("Na", "Cl", "HCO3") if not water.ions.get(k)]
    if missing:
        raise DesignError(
            "the analysis lacks a main ion",
            where=_at(where, "ions"),
            value=missing[0],
            do='state HCO3; an alkalinity is set as HCO3 = "118 mg/L as CaCO3"'
            if missing[0] == "HCO3"
            else f"state {missing[0]}",
        )


def _c(kelvin: float) -> float:
    return round(kelvin - 273.15, 2)


MINERAL_KEYS = ("calcite", "aragonite", "gypsum", "anhydrite", "barite", "celestite", "fluorite", "brucite", "silica")


class Scaling(Section):
    """Section ``[scaling]``: limits that overrule the table, and the chart's K where the user reads it."""

    without_antiscalant: Named = mapping(
        "index",
        MINERAL_KEYS,
        {},
        title="SI limits without antiscalant",
        symbol="SI_0",
        possible=("-3", "4"),
        hint="By mineral; what is blank is taken from the table of limits",
    )
    with_antiscalant: Named = mapping(
        "index",
        MINERAL_KEYS,
        {},
        title="SI limits with antiscalant",
        symbol="SI_a",
        possible=("-3", "4"),
        hint="By mineral, as the supplier of the antiscalant states it; what is blank is taken from the table",
    )
    maximum_recovery: Fraction = field(
        "fraction",
        "75 %",
        title="Maximum recovery in the scaling study",
        symbol="Y_max",
        possible=("20 %", "85 %"),
        usual=("60 %", "80 %"),
        hint="The chart of saturation ends there",
    )
    stiff_davis_k: Factor | None = field(
        "factor",
        None,
        title="K of the Stiff and Davis index",
        symbol="K",
        possible=("1", "4.5"),
        usual=("1.5", "3.8"),
        source="astm-d4582",
        hint="At the ionic strength and temperature of the hottest concentrate; if blank, a thermodynamic K is "
        "computed, which lies 0.7 to 1.0 below a closed form of the chart that circulates",
    )
