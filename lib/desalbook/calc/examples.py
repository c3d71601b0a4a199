"""A worked example of each calculation: what the notebook runs and the reference shows. Every figure is invented."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

__all__ = ["EXAMPLES", "called"]

_SEA = {"Na": "10800 mg/L", "Mg": "1290 mg/L", "Ca": "412 mg/L", "K": "400 mg/L", "Cl": "19400 mg/L",
        "SO4": "2710 mg/L", "HCO3": "142 mg/L"}
_WELL = {"Na": "5400 mg/L", "Mg": "645 mg/L", "Ca": "206 mg/L", "K": "200 mg/L", "Cl": "9700 mg/L",
         "SO4": "1355 mg/L", "HCO3": "71 mg/L"}

EXAMPLES: Mapping[str, Mapping[str, Any]] = MappingProxyType({
    "tank": {"raw_flow": "420 m3/h", "retention_time": "45 min"},
    "filters": {"flow": "285 m3/h", "rate_limit": "12 m/h"},
    "backwash": {"flow": "285 m3/h", "count": 5, "diameter": "2.5 m"},
    "cartridges": {"flow": "240 m3/h", "solids": "0.3 mg/L"},
    "pump": {"total_flow": "285 m3/h", "delivery_pressure": "3 barg", "length": "60 m"},
    "hp_pump": {"flow": "103 m3/h", "pressure_rise": "60 bar"},
    "energy_recovery": {"permeate_flow": "100 m3/h", "recovery": "42 %", "feed_pressure": "62 barg",
                        "concentrate_pressure": "60.5 barg"},
    "pipe": {"flow": "240 m3/h", "length": "80 m", "material": "grp"},
    "wall": {"flow": "240 m3/h", "pressure": "83 barg", "material": "super-duplex"},
    "surge": {"velocity": "2 m/s", "inner_diameter": "300 mm", "thickness": "10 mm", "elastic_modulus": "20 GPa",
              "length": "500 m", "stop_time": "1 s"},
    "membranes": {"train_permeate": "2400 m3/d", "recovery": "42 %", "salinity": "36 g/kg"},
    "element": {"area": "37 m2", "rated_flow": "25 m3/d", "rated_rejection": "99.8 %", "test_pressure": "55 barg",
                "test_concentration": "32000 mg/L", "test_temperature": "25 degC", "test_recovery": "8 %"},
    "least_work": {"recovery": "42 %", "salinity": "36 g/kg"},
    "water": {"salinity": "36 g/kg", "temperature_cold": "15 degC", "temperature_hot": "32 degC"},
    "scaling": {"ions": _SEA, "ph": 8.1},
    "blend": {"analyses": {"sea": {"share": "70 %", "ions": _SEA, "ph": 8.1},
                           "well": {"share": "30 %", "ions": _WELL, "ph": 7.6}}},
    "remineralisation": {"ions": {"Na": "59.1 mg/L", "Cl": "91 mg/L", "HCO3": "0.2 mg/L"}, "ph": 6.0,
                         "temperature": "25 degC", "remineralisation": "calcite", "calcite_dose": "80 mg/L",
                         "co2_dose": "45 mg/L"},
    "disinfection": {"flow": "100 m3/h", "residual": "0.5 mg/L as Cl2", "ph": 8.0, "temperature": "15 degC"},
    "dose": {"flow": "285 m3/h", "dose": "3 mg/L as Cl2", "chemical": "sodium-hypochlorite"},
    "dechlorination": {"flow": "240 m3/h", "residual": "0.5 mg/L as Cl2"},
    "antiscalant": {"flow": "240 m3/h", "dose": "2.5 mg/L as product"},
    "acid": {"flow": "240 m3/h", "target_ph": 7.3},
    "cip": {"vessels": 36, "elements": 7},
    "outfall": {"concentrate_flow": "280 m3/h", "concentrate_density": "1045 kg/m3",
                "concentrate_salinity": "62 g/kg"},
})
"""Arguments of each example, in the order of the water."""


def called(name: str) -> str:
    """An example as it is typed: ``calc.filters(flow="285 m3/h", rate_limit="12 m/h")``.

    Parameters
    ----------
    name : str
        Of the calculation.
    """
    return f"calc.{name}({', '.join(f'{k}={_written(v)}' for k, v in EXAMPLES[name].items())})"


def _written(value: Any) -> str:
    if isinstance(value, Mapping):
        return f"{{{', '.join(f'{_written(k)}: {_written(v)}' for k, v in value.items())}}}"
    return f'"{value}"' if isinstance(value, str) else repr(value)
