"""How a stored value is shown: by the kit's display sets, or in SI when the record knows a kind we do not."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, TypeGuard

from desalbook.problems import DesignError
from desalbook.trail.typeset import unit_text
from desalbook.units import KINDS, show, to_display, unit_label

__all__ = ["by_id", "display", "in_equation", "label", "shown", "si_text", "si_unit", "tiny", "units_of"]


def units_of(units: str) -> str:
    """The display set, or one line that says which there are."""
    if units not in ("si", "us"):
        raise DesignError(
            "no such unit system", where="units", value=units, allowed="si, us", do="use si or us"
        )
    return units


def by_id(record: Mapping[str, Any]) -> dict[str, dict[str, Any]]:
    """Stored lines by id."""
    return {line["id"]: line for line in record["lines"]}


def _known(kind: str | None, record: Mapping[str, Any]) -> TypeGuard[str]:
    return kind in KINDS and KINDS[kind].si == record["kinds"].get(kind, {}).get("si", KINDS[kind].si)


def display(value: float, kind: str | None, units: str, record: Mapping[str, Any]) -> float:
    """Number in the display unit."""
    return to_display(value, kind, units) if _known(kind, record) else value


def label(kind: str | None, units: str, record: Mapping[str, Any], pretty: bool = False) -> str:
    """Display unit; `pretty` with superscripts and the degree sign."""
    if _known(kind, record):
        return unit_label(kind, units, pretty)
    return unit_text(si_unit(kind, record)) if pretty else si_unit(kind, record)


_CONSTANTS = {"Pa": "pressure difference", "m": "length", "m/s": "velocity", "m^3/s": "flow", "W": "power"}
"""Coherent units of constants, which have no kind, that people read otherwise."""


def in_equation(value: float, kind: str | None, unit: str | None, units: str,
                record: Mapping[str, Any]) -> tuple[float, str]:
    """Number and unit inside an equation with numbers: the display unit.

    A temperature stays in kelvin, since only units that differ by a factor leave an equation true.
    """
    kind = kind or _CONSTANTS.get(unit or "")
    if kind is None or not _known(kind, record) or KINDS[kind].family == "temperature":
        return value, unit or ""
    return to_display(value, kind, units), unit_label(kind, units, True)


def si_unit(kind: str | None, record: Mapping[str, Any]) -> str:
    """Coherent SI unit of a kind; empty for a bare number."""
    unit = record["kinds"].get(kind, {}).get("si", "") if kind else ""
    return "" if unit == "1" else unit


def shown(value: Any, kind: str | None, units: str, record: Mapping[str, Any], trim: bool = False) -> str:
    """Value and unit as people read them; a text as it is. What someone set, such as a limit, is trimmed."""
    if value is None or isinstance(value, str):
        return value or ""
    if _known(kind, record):
        return show(value, kind, units, pretty=True, trim=trim)
    return si_text(value, kind, record)


def si_text(value: float, kind: str | None, record: Mapping[str, Any]) -> str:
    """Value in coherent SI with six significant digits."""
    return f"{value:.6g} {unit_text(si_unit(kind, record))}".strip()


def tiny(value: float, digits: int = 2) -> str:
    """A share far below one: ``8.8e-13``, and plain 0 for what closes to the last bit."""
    mantissa, _, power = f"{value:.{digits - 1}e}".partition("e")
    return f"{mantissa}e{int(power)}" if value else "0"
