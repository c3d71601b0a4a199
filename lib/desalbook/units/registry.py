"""The one pint registry, for tests of relations and factors.

Nothing at run time needs it, so pint is imported on the first call only.
"""

from __future__ import annotations

import functools
import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pint

__all__ = ["dimension", "registry", "si_factor", "to_pint"]

# Units of the trade that pint lacks or means otherwise. A revolution counts as one, not as two pi:
# speeds of rotation are revolutions per second here. A turbidity unit is a scale, not a quantity, and
# stands as a bare number; an equivalent is a mole of charge.
_PLANT = """
gpm = gallon / minute
gpd = gallon / day
gph = gallon / hour
mgd = 1e6 * gallon / day
gfd = gallon / foot ** 2 / day
LMH = liter / meter ** 2 / hour
MGD = mgd
cfm = foot ** 3 / minute
percent_wv = 10 * kilogram / meter ** 3
NTU = []
MLD = 1e6 * liter / day
Mld = MLD
mld = MLD
cmd = meter ** 3 / day
CMD = cmd
cmh = meter ** 3 / hour
CMH = cmh
lph = liter / hour
LPH = lph
lpm = liter / minute
LPM = lpm
lps = liter / second
LPS = lps
igal = imperial_gallon
igpm = imperial_gallon / minute
igpd = imperial_gallon / day
MIGD = 1e6 * imperial_gallon / day
migd = MIGD
imgd = MIGD
gpg = grain / gallon
psu = 35.16504e-3 / 35
PSU = psu
eq = mole
rpm = 1 / minute
var = watt
"""
# Spellings of people that pint's grammar lacks; marks that carry meaning, not dimension, are dropped.
_REWRITE = tuple((re.compile(old), new) for old, new in (
    (r"( as \w+| CaCO3| Cl2| B| product)$", ""),
    (r"^(bar|psi|kPa|MPa|mbar|hPa|GPa|Pa|kgf?/cm2|atm|inHg|mmHg) ?\(?(g|gauge|a|abs|absolute)\)?$", r"\1"),
    (r"^kg/cm2$", "kgf/cm2"),
    (r"imp(erial)? gal", "igal"),
    (r"imp gp", "igp"),
    (r"\bMG\b", "Mgal"),
    (r"\bgr/", "grain/"),
    (r"% ?\(?w/v\)?", "percent_wv"),
    (r"%( ?\(?w/w\)?| by (mass|weight))?", "percent"),
    (r"^per ", "1/"),
    (r"^(rev|r)/", "1/"),
    (r"1000 gal", "kgal"),
    (r"/m2h$", "/(m2 h)"),
    (r"\bmil\b", "thou"),  # pint's mil is an angle
))
_POWER = re.compile(r"(?<![\w.*])([A-Za-z]+)(-?[0-9]+)")


@functools.cache
def registry() -> pint.UnitRegistry:
    """The registry with the plant's units defined; made once.

    Returns
    -------
    pint.UnitRegistry
    """
    import logging

    import pint

    logging.getLogger("pint.util").setLevel(logging.ERROR)  # the redefinitions above are meant
    units = pint.UnitRegistry(autoconvert_offset_to_baseunit=False)
    for line in _PLANT.strip().splitlines():
        units.define(line)
    return units


def to_pint(unit: str) -> str:
    """A unit text of this kit in pint's grammar: a space multiplies, digits or ^ raise.

    Basis and reference marks (as CaCO3, g, w/w) carry meaning, not dimension, and are dropped.
    """
    text = unit.strip()
    for old, new in _REWRITE:
        text = old.sub(new, text)
    text = text.replace("^", "")
    text = _POWER.sub(r"\1**\2", text)
    text = re.sub(r"(?<=[\w)]) +(?=[\w(])", "*", text)
    return text or "dimensionless"


def si_factor(unit: str) -> float:
    """Factor from a unit text such as ``m/(s Pa)`` to coherent SI; 1.0 says it is coherent.

    Raises
    ------
    ValueError
        When the text is no unit, or is a bare ppm.
    """
    return float(_base(unit).magnitude)


def dimension(unit: str) -> str:
    """Dimension of a unit text, in one fixed order, for example ``[length] ** 3 / [time]``."""
    return str(_base(unit).dimensionality)


def _base(unit: str):
    import pint

    if re.search(r"\bpp[mbt]\b", unit):
        raise ValueError(f"{unit!r}: a bare ppm is no unit here")
    try:
        return registry().Quantity(1.0, registry().parse_units(to_pint(unit))).to_base_units()
    except (pint.PintError, AssertionError, AttributeError, TypeError, ValueError) as error:
        raise ValueError(f"{unit!r} is not a unit: {error}") from None
