"""Properties of pure water from a property library: the industrial formulation IF97 and its viscosity.

The library's package loads some hundred fluids when it is imported, which takes seconds; this module loads
only its compiled part, which takes milliseconds, and enters it under its proper name, so that a later import
of the whole package meets the same module (a second copy in one process ends that process).
"""

from __future__ import annotations

import importlib.machinery
import importlib.util
import sys
from functools import cache
from pathlib import Path
from typing import Any

from desalbook.problems import EngineError
from desalbook.trail import constant

__all__ = ["LIBRARY", "SOURCE", "density", "heat_capacity", "library", "vapour_pressure", "version", "viscosity"]

LIBRARY = "CoolProp"
SOURCE = "iapws-if97"
ATMOSPHERE = constant("p_0", 101_325.0, "Pa", source="definition", title="Standard atmosphere").value
LOW = constant("T_low", 273.16, "K", source="iapws-if97", title="Liquid water at one atmosphere, lower end").value
HIGH = constant("T_high", 373.0, "K", source="iapws-if97", title="Liquid water at one atmosphere, upper end").value
_NAME = "CoolProp.CoolProp"


@cache
def _library() -> Any:
    """The compiled part of the library, from the running package if there is one."""
    if _NAME in sys.modules:
        return sys.modules[_NAME]
    package = importlib.util.find_spec("CoolProp")
    folders = list(package.submodule_search_locations or ()) if package else []
    for folder in folders:
        for suffix in importlib.machinery.EXTENSION_SUFFIXES:
            path = Path(folder) / f"CoolProp{suffix}"
            spec = importlib.util.spec_from_file_location(_NAME, path) if path.is_file() else None
            if spec is None or spec.loader is None:
                continue
            module = importlib.util.module_from_spec(spec)
            sys.modules[_NAME] = module
            try:
                spec.loader.exec_module(module)
            except BaseException:
                del sys.modules[_NAME]
                raise
            return module
    raise EngineError(
        "the property library is not installed", where=LIBRARY, do=f"install {LIBRARY} 8 or newer"
    )


def library() -> Any:
    """The compiled part of the property library, loaded once."""
    return _library()


def version() -> str:
    """Version of the library, for the trail."""
    return str(_library().get_global_param_string("version"))


@cache
def _property(name: str, temperature: float, second: str, value: float) -> float:
    if not LOW <= temperature <= HIGH:
        raise EngineError(
            "liquid water only",
            where="temperature",
            value=temperature,
            unit="K",
            allowed=f"{LOW:g} to {HIGH:g} K",
        )
    try:
        return float(_library().PropsSI(name, "T", temperature, second, value, "IF97::Water"))
    except ValueError as error:
        raise EngineError(
            f"the property library refused: {error}", where=LIBRARY, value=temperature, unit="K"
        ) from None


def viscosity(temperature: float) -> float:
    """Dynamic viscosity (Pa s) of liquid water at 101 325 Pa; temperature in K, 273.16 to 373.

    IAPWS formulation for viscosity with densities of IF97.
    """
    return _property("V", float(temperature), "P", ATMOSPHERE)


def density(temperature: float) -> float:
    """Density (kg/m3) of liquid water at 101 325 Pa; temperature in K."""
    return _property("D", float(temperature), "P", ATMOSPHERE)


def heat_capacity(temperature: float) -> float:
    """Isobaric heat capacity (J/(kg K)) of liquid water at 101 325 Pa; temperature in K."""
    return _property("C", float(temperature), "P", ATMOSPHERE)


def vapour_pressure(temperature: float) -> float:
    """Vapour pressure (Pa, absolute) over liquid water; temperature in K."""
    return _property("P", float(temperature), "Q", 0.0)
