"""Quantities as people hold them in Python: texts with units and pint quantities, in and out.

A bare number is taken only where the quantity has no unit; whatever cannot be converted is refused by name.
"""

from __future__ import annotations

import functools
from collections.abc import Sequence
from typing import Any

import numpy as np

from desalbook.problems import DesignError
from desalbook.units.display import show, to_display, unit_label
from desalbook.units.kinds import KINDS, Kind
from desalbook.units.parse import parse
from desalbook.units.registry import registry, si_factor, to_pint
from desalbook.units.spellings import SPELLINGS

__all__ = ["column_unit", "from_si", "quantity", "text_of", "to_si"]


def to_si(value: Any, kind: Kind | str, where: str = "") -> Any:
    """Coherent SI of what a person gave.

    Parameters
    ----------
    value : str, pint Quantity, Figure, number, or a sequence of them
        A text has one number and one unit, as in the design file; a Quantity any unit of the dimension; a Figure
        any kind of the same family; a bare number stands only for a quantity that has no unit.
    kind : Kind or str
    where : str
        Name of the argument, for the refusal.

    Returns
    -------
    float, or array of the shape that was given

    Raises
    ------
    DesignError
        Unit missing, or of another dimension, or another kind of number.
    """
    kind = KINDS[kind] if isinstance(kind, str) else kind
    if isinstance(value, str):
        return parse(value, kind, where)
    own = getattr(value, "kind", None)
    if isinstance(own, Kind):
        if own.family != kind.family:
            raise DesignError(f"is a {own.family}, and a {kind.family} is asked for", where=where, value=repr(value))
        return np.array(value.values) if hasattr(value, "values") else float(value)
    if hasattr(value, "magnitude") and hasattr(value, "units"):
        return _of_quantity(value, kind, where)
    column = getattr(value, "attrs", {}).get("units", {}).get(getattr(value, "name", None))
    if column is not None:  # of a table that says its units
        return _of_quantity(registry().Quantity(np.asarray(value, dtype=float), column_unit(column)), kind, where)
    if isinstance(value, Sequence) and not isinstance(value, (bytes, bytearray)):
        return np.array([to_si(x, kind, f"{where}[{i}]") for i, x in enumerate(value)], dtype=float)
    if np.ndim(value) and not _unitless(kind):
        raise DesignError("an array needs a unit", where=where, do=_how(kind))
    if np.ndim(value):
        return np.array(value, dtype=float)
    if isinstance(value, np.generic):
        return to_si(value.item(), kind, where)
    if not _unitless(kind) and isinstance(value, (int, float)) and not isinstance(value, bool):
        raise DesignError("a bare number has no unit", where=where, value=value, do=_how(kind))
    return parse(value, kind, where)  # pyright: ignore[reportArgumentType]  # what is no number is refused there


def column_unit(unit: str) -> Any:
    """A unit of a table's column, as pint has it."""
    return registry().parse_units(to_pint(unit))


def _unitless(kind: Kind) -> bool:
    return any(spelling == "" for spelling in SPELLINGS[kind.name])


def _how(kind: Kind) -> str:
    unit = unit_label(kind)
    return f'enter a text such as "1 {unit}", or a Quantity in a unit of that dimension'


@functools.cache
def _si_unit(kind: Kind) -> Any:
    return registry().parse_units(to_pint(kind.si))


def _of_quantity(value: Any, kind: Kind, where: str) -> Any:
    import pint

    try:
        # a person's own registry may be another one: its units are asked for by name
        own = value if value._REGISTRY is registry() else registry().Quantity(value.magnitude, str(value.units))
        found = own.to(_si_unit(kind)).magnitude
    except (pint.PintError, AttributeError, ValueError):
        raise DesignError(f"{value.units} is no unit of a {kind.family}", where=where, value=str(value),
                          do=f"give it in {unit_label(kind) or 'a number without unit'}, or a unit of that dimension",
                          ) from None
    return np.array(found, dtype=float) if np.ndim(found) else float(found)


def from_si(value: Any, kind: Kind | str, unit: str) -> Any:
    """Number in a unit of an SI value (float or array).

    Parameters
    ----------
    unit : str
        A spelling the design file takes for this kind, or any unit of the dimension.

    Raises
    ------
    DesignError
        No unit of this kind.
    """
    kind = KINDS[kind] if isinstance(kind, str) else kind
    scale = SPELLINGS[kind.name].get(unit)
    if scale is not None:
        return scale.from_si(np.asarray(value, dtype=float) if np.ndim(value) else float(value))
    import pint

    try:
        si_factor(unit)
        return registry().Quantity(np.asarray(value) if np.ndim(value) else float(value), _si_unit(kind)).to(
            registry().parse_units(to_pint(unit))).magnitude
    except (ValueError, pint.PintError):
        raise DesignError(f"{unit!r} is no unit of a {kind.family}", where="unit", value=unit,
                          do=f"enter {unit_label(kind) or 'no unit'}, or another unit of that dimension") from None


def quantity(value: Any, kind: Kind | str, units: str = "si") -> Any:
    """A pint Quantity in the unit in which the kind is shown.

    Parameters
    ----------
    value : float or array
        Coherent SI.
    units : {"si", "us"}
    """
    kind = KINDS[kind] if isinstance(kind, str) else kind
    label = unit_label(kind, units)
    held = np.asarray(value, dtype=float) if np.ndim(value) else float(value)
    return registry().Quantity(held, _si_unit(kind)).to(registry().parse_units(to_pint(label)))


def text_of(value: float, kind: Kind | str) -> str:
    """A text that reads back as this very SI value, with its unit."""
    kind = KINDS[kind] if isinstance(kind, str) else kind
    text = show(value, kind)
    for digits in (15, 16, 17):  # a motor of 100 hp in kW needs the last: a table may begin at its very rating
        if parse(text, kind) == value:
            break
        text = f"{to_display(value, kind):.{digits}g} {unit_label(kind)}".strip()
    return text
