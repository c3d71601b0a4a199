"""The kit's functions on pint quantities: strict about dimensions, in whatever units come."""

from __future__ import annotations

import numpy as np
import pint

from desalbook.trail import functions as f
from desalbook.trail.expression import evaluate
from desalbook.units import registry
from desalbook.units.registry import to_pint

__all__ = ["UNITS", "on_quantities"]

U = registry()
# Units people use; only those that scale (no zero point) can stand in a product.
UNITS: dict[str, tuple[str, ...]] = {
    "m^3/s": ("m^3/h", "gpm", "L/min"),
    "m": ("mm", "ft", "inch"),
    "m^2": ("ft^2", "cm^2"),
    "m^3": ("L", "gallon"),
    "m/s": ("m/h", "ft/s", "mm/s"),
    "Pa": ("bar", "psi", "kPa"),
    "kg/m^3": ("g/L", "lb/ft^3", "mg/L"),
    "K": ("mK",),
    "s": ("h", "min", "day"),
    "W": ("kW", "hp"),
    "J": ("kWh", "MJ"),
    "kg/s": ("kg/h", "lb/min"),
    "1": ("percent",),
    "Pa s": ("mPa s", "cP"),
    "kg/mol": ("g/mol",),
    "mol/kg": ("mmol/kg",),
    "1/s": ("1/min", "1/h"),
    "J/mol": ("kJ/mol",),
    "m^2/s": ("cm^2/s",),
    "J/m^3": ("kWh/m^3",),
    "kg": ("lb", "g"),
    "m/(s Pa)": ("L/(m^2 h bar)",),
    "J/(kg K)": ("kJ/(kg K)",),
    "mol/m^3": ("mmol/L",),
    "V": ("mV",),
    "kg s/m^3": ("mg h/L", "mg min/L"),
    "Pa/m": ("bar/m", "psi/ft"),
    "S/m": ("mS/cm",),
    "mol/s": ("mol/h",),
}


def quantity(value, unit: str):
    """A quantity; the unit text is the kit's."""
    return U.Quantity(value, to_pint(unit) if unit != "1" else "dimensionless")


def in_unit(value, si: str, unit: str):
    """The same quantity in another unit."""
    return quantity(value, si).to(to_pint(unit))


def _bare(x):
    """Magnitude of a dimensionless quantity; pint's error otherwise."""
    return x.to("dimensionless").magnitude if hasattr(x, "magnitude") else x


def _like(a, b):
    """Both in the unit of one of them; a bare zero goes with anything."""
    a, b = (
        U.Quantity(a) if not hasattr(a, "magnitude") else a,
        U.Quantity(b) if not hasattr(b, "magnitude") else b,
    )
    for x, y in ((a, b), (b, a)):
        if x.dimensionless and np.all(x.magnitude == 0):
            return (
                (U.Quantity(np.zeros(np.shape(x.magnitude)), y.units), y)
                if x is a
                else (y, U.Quantity(np.zeros(np.shape(x.magnitude)), y.units))
            )
    return a.to_base_units(), b.to(a.to_base_units().units)


def _pair(function):
    def both(a, b):
        a, b = _like(a, b)
        return U.Quantity(function(a.magnitude, b.magnitude), a.units)

    return both


def _where(c, a, b):
    a, b = _like(a, b)
    return U.Quantity(np.where(c, a.magnitude, b.magnitude), a.units)


def _axis(function):
    def one(x):
        x = x if hasattr(x, "magnitude") else U.Quantity(x)
        return U.Quantity(function(x.magnitude), x.units)

    return one


def _bound(function):
    return lambda x: U.Quantity(function(_bare(x)))


def _sqrt(x):
    return x**0.5


def _dot(a, b):
    product = a * b
    return U.Quantity(np.sum(product.magnitude, axis=-1), product.units)


def _lookup(table, x):
    x = x if hasattr(x, "magnitude") else U.Quantity(x)
    unit = to_pint(table.x_unit) if table.x_unit not in ("1", "") else "dimensionless"
    return quantity(np.interp(x.to(unit).magnitude, table.x, table.y), table.y_unit or "1")


CALLS = {
    "exp": _bound(np.exp),
    "log": _bound(np.log),
    "log10": _bound(np.log10),
    "up": _bound(f.up),
    "sqrt": _sqrt,
    "minimum": _pair(np.minimum),
    "maximum": _pair(np.maximum),
    "where": _where,
    "total": _axis(f.total),
    "largest": _axis(f.largest),
    "smallest": _axis(f.smallest),
    "last": _axis(f.last),
    "dot": _dot,
    "lookup": _lookup,
}


def on_quantities(relation, values: dict):
    """The relation's tree on quantities; the result in the relation's own unit.

    Raises
    ------
    pint.DimensionalityError
        When the dimensions do not fit.
    """
    constants = {n: quantity(c.value, c.unit) for n, c in relation.constants.items()}
    with np.errstate(all="ignore"):
        got = evaluate(relation.tree, values, constants, relation.tables, CALLS)
    got = got if hasattr(got, "magnitude") else U.Quantity(got)
    unit = "dimensionless" if relation.kind.si == "1" else to_pint(relation.kind.si)
    return np.asarray(got.to(unit).magnitude, dtype=float)


PintError = pint.PintError
