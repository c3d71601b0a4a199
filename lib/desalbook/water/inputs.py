"""What a design file says of the raw water: section ``[water]``."""

from __future__ import annotations

from typing import Any

from desalbook.problems import DesignError
from desalbook.units import (
    Concentration,
    K,
    PHNbs,
    PHTotal,
    Section,
    choice,
    field,
    mapping,
)
from desalbook.units.fieldmeta import Named
from desalbook.water.species import IONS

__all__ = ["ION_KEYS", "RawWater"]

ION_KEYS = tuple(key for key in IONS if key != "CO2")
"""Constituents an analysis may state, in the order of the ion table."""

_T: dict[str, Any] = {"possible": ("0.5 degC", "50 degC"), "usual": ("5 degC", "40 degC")}


class RawWater(Section):
    """Section ``[water]``: where the water comes from, its analysis and the envelope of temperatures."""

    source: str = choice(
        {"open-intake": "Open sea intake", "beach-well": "Beach well"},
        "open-intake",
        title="Source of the water",
        hint="A beach well is filtered by the ground; it may hold iron, manganese or sulfide and no oxygen",
    )
    ions: Named = mapping(
        "concentration",
        ION_KEYS,
        ...,
        title="Analysis",
        symbol="C_i",
        possible=("0 mg/L", "80 g/L"),
        hint="As the laboratory reports it, per litre at its temperature; B as boron, SiO2 as silica, the "
        "others as the ion; alkalinity as HCO3",
        source="astm-d4195",
    )
    ph: PHNbs | None = field(
        "ph.nbs",
        None,
        title="pH by a meter set in laboratory buffers",
        symbol="pH",
        possible=("4", "10.5"),
        usual=("7", "8.5"),
        hint="NBS scale, at the laboratory temperature",
    )
    ph_total: PHTotal | None = field(
        "ph.total",
        None,
        title="pH on the total scale",
        symbol="pH_T",
        possible=("4", "10.5"),
        usual=("7", "8.4"),
        hint="By dye or in sea water buffers; in sea water some 0.13 below the NBS reading",
    )
    lab_temperature: K = field(
        "temperature", "25 degC", title="Temperature of the analysis", symbol="T_lab", **_T
    )
    temperature_cold: K = field("temperature", "15 degC", title="Coldest water", symbol="T_cold", **_T)
    temperature_design: K = field("temperature", "25 degC", title="Design temperature", symbol="T_des", **_T)
    temperature_hot: K = field("temperature", "32 degC", title="Hottest water", symbol="T_hot", **_T)
    turbidity: float = field(
        "turbidity",
        "5 NTU",
        title="Turbidity, worst design case",
        symbol="Tu",
        possible=("0 NTU", "500 NTU"),
        usual=("0.1 NTU", "30 NTU"),
    )
    suspended_solids: Concentration = field(
        "concentration",
        "10 mg/L",
        title="Suspended solids, worst design case",
        symbol="TSS",
        possible=("0 mg/L", "1 g/L"),
        usual=("0.5 mg/L", "50 mg/L"),
    )
    sdi: float | None = field(
        "fouling index",
        None,
        title="Silt density index of the raw water",
        symbol="SDI",
        possible=("0", "6.7"),
        source="astm-d4189",
        hint="Over a quarter of an hour; most open intakes plug too fast for it",
    )
    toc: Concentration = field(
        "concentration",
        "2 mg/L",
        title="Total organic carbon",
        symbol="TOC",
        possible=("0 mg/L", "50 mg/L"),
        usual=("0.5 mg/L", "5 mg/L"),
    )
    sulfide: Concentration = field(
        "concentration",
        "0 mg/L",
        title="Sulfide, as H2S",
        symbol="H2S",
        possible=("0 mg/L", "50 mg/L"),
        usual=("0 mg/L", "0.1 mg/L"),
    )
    oxygen: Concentration = field(
        "concentration",
        "7 mg/L",
        title="Dissolved oxygen",
        symbol="O2",
        possible=("0 mg/L", "15 mg/L"),
        usual=("0 mg/L", "10 mg/L"),
    )

    def consistent(self, where: str) -> None:
        at = f"{where}." if where else ""
        if (self.ph is None) == (self.ph_total is None):
            raise DesignError(
                "one pH, on one scale",
                where=f"{at}ph",
                allowed="ph or ph_total",
                do="write ph (NBS) or ph_total, not both" if self.ph else "write ph = ...",
            )
        if not self.temperature_cold <= self.temperature_design <= self.temperature_hot:
            raise DesignError(
                "cold, design and hot water must not fall",
                where=f"{at}temperature_design",
                value=_c(self.temperature_design),
                unit="degC",
                allowed=f"{_c(self.temperature_cold)} to {_c(self.temperature_hot)} degC",
                do="put the three temperatures in order",
            )
        missing = [k for k in ("Na", "Cl", "HCO3") if not self.ions.get(k)]
        if missing:
            raise DesignError(
                "the analysis lacks a main ion",
                where=f"{at}ions",
                value=missing[0],
                do="state HCO3; 1 mg/L as CaCO3 of alkalinity is 1.219 mg/L of HCO3"
                if missing[0] == "HCO3"
                else f"state {missing[0]}",
            )


def _c(kelvin: float) -> float:
    return round(kelvin - 273.15, 2)
