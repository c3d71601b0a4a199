"""The raw water of a design stated in another way: a salinity in place of an analysis, or an analysis scaled.

Each gives a new design, read and checked as a whole; the one that was given stays as it is. What was measured on the
sample itself, its TDS, conductivity and carbon dioxide, goes, for it is not that of the new water. Constituents that
do not come with the salt (turbidity, organic carbon, oil, iron in a well) stay as they are or are scaled with the
rest, and a person must judge them.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from desalbook.design.file import Design
from desalbook.design.sections import field_meta
from desalbook.plant.walk import lines
from desalbook.problems import DesignError
from desalbook.trail import Values
from desalbook.water.raw_water import analyse

__all__ = ["salinity", "scaled", "with_salinity"]

KEY = "water.sea_salinity"
_COMPOSITION = ("ions", "analyses", "sea_salinity")
_MEASURED = ("measured_tds", "conductivity", "conductivity_temperature", "carbon_dioxide")
_AMOUNT = re.compile(r"\s*([-+]?[\d.\s\u2009\u202f]*\d(?:[eE][-+]?\d+)?)\s*(.*)")
_CLOSE = 1e-5  # of the salinity: the amounts are written with six digits
_MOST = 9  # rounds; each leaves some 3 % of what was wrong, for density and the carbonates follow


def salinity(design: Design) -> float:
    """Salt per mass of seawater that the raw water of a design has.

    Parameters
    ----------
    design : Design

    Returns
    -------
    float
        kg/kg of seawater (absolute salinity), at the laboratory's temperature.
    """
    with Values().running():
        inp = lines(design)
        per_water = float(analyse(inp, names=inp.names("water.analyses")).salinity)
    return per_water / (1.0 + per_water)


def with_salinity(design: Design, text: str) -> Design:
    """The design with a salinity in place of its analysis; ions follow in the proportions of seawater.

    Parameters
    ----------
    design : Design
    text : str
        With its unit, such as ``42 g/kg``.

    Raises
    ------
    DesignError
        No salinity, or not a possible one.
    """
    field_meta(KEY).read(text, KEY)
    return design.with_values({KEY: text}, without=(*_here(design, _COMPOSITION), *_here(design, _MEASURED)))


def scaled(design: Design, text: str) -> Design:
    """The design with every constituent of its analysis multiplied until the water has a salinity.

    Amounts keep their units and bases; proportions and the balance of charges stay. Of several analyses all are scaled
    alike.

    Parameters
    ----------
    design : Design
    text : str
        With its unit, such as ``42 g/kg``; salt per mass of seawater.

    Raises
    ------
    DesignError
        No analysis to scale, no salinity, or a constituent that would leave its possible range.
    """
    goal = float(field_meta(KEY).read(text, KEY))
    water: Mapping[str, Any] = design.written.get("water", {})
    if not water.get("ions") and not water.get("analyses"):
        raise DesignError("no analysis to scale", where="water.ions", do="enter the salinity itself")
    gone, factor, now = list(_here(design, _MEASURED)), 1.0, salinity(design)
    gone += [id for name in design.names("water.analyses")
             for id in (f"water.analyses[{name}].{key}" for key in _MEASURED) if design.stands(id)]
    made = design
    for _ in range(_MOST):
        factor *= goal / now
        made = design.with_values(_times(design, water, factor), without=gone)
        now = salinity(made)
        if abs(now / goal - 1.0) < _CLOSE:
            return made
    raise DesignError("cannot be scaled that far", where=KEY, value=text, do="enter the salinity itself")


def _here(design: Design, keys: tuple[str, ...]) -> list[str]:
    return [f"water.{key}" for key in keys if design.stands(f"water.{key}")]


def _times(design: Design, water: Mapping[str, Any], factor: float) -> dict[str, str]:
    """Every amount of the analysis as it is written, times a factor."""
    found = {f"water.ions[{ion}]": raw for ion, raw in (water.get("ions") or {}).items()}
    for one in water.get("analyses") or ():
        found |= {f"water.analyses[{one['name']}].ions[{ion}]": raw for ion, raw in one.get("ions", {}).items()}
    return {id: _amount(raw, factor) for id, raw in found.items()}


def _amount(raw: Any, factor: float) -> str:
    hit = _AMOUNT.fullmatch(str(raw))
    if hit is None:  # never of a design that was read
        raise DesignError("not an amount with its unit", where="water.ions", value=raw, do="enter it as 412 mg/L")
    number = factor * float(re.sub(r"\s", "", hit[1]))
    return f"{number:.6g} {hit[2]}".strip()


