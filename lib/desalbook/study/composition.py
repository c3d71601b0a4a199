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

__all__ = ["of_sheet", "salinity", "scaled", "with_analysis", "with_ions", "with_salinity", "without_analysis"]

KEY = "water.sea_salinity"
_COMPOSITION = ("ions", "analyses", "sea_salinity")
_MEASURED = ("measured_tds", "conductivity", "conductivity_temperature", "carbon_dioxide")
_OF_ONE = ("ions", "bicarbonate_from", "ph", "ph_total", "lab_temperature", *_MEASURED)
"""What an analysis states of its own water."""
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


def with_analysis(design: Design, name: str, share: str) -> Design:
    """The design with one more analysis in its blend; it begins as a copy of the one that is there.

    A single analysis becomes the first of two, under the name ``present``. The shares of the others give way in
    proportion.

    Parameters
    ----------
    design : Design
    name : str
    share : str
        Of the new one, such as ``30 %``.

    Raises
    ------
    DesignError
        No analysis to blend with, no name, a name that is taken, a share that is none.
    """
    at = "water.analyses"
    x = float(field_meta(f"{at}[x].share").read(share, f"{at}.share"))
    if not 0.0 < x < 1.0:
        raise DesignError("leaves no room for the others", where=f"{at}.share", value=share,
                          allowed="above 0, below 100 %", do="enter the fraction of the new water")
    water = design.written.get("water", {})
    if name in design.names(at) or not re.fullmatch(r"[A-Za-z0-9_-]{1,60}", name):
        raise DesignError("not a name of a new analysis", where=at, value=name, allowed="letters, digits, - and _",
                          do="give another name")
    some = [dict(one) for one in water.get("analyses") or ()]
    if not some and water.get("ions"):
        some = [{"name": "present", "share": "100 %"} | {k: water[k] for k in _OF_ONE if k in water}]
    if not some:
        raise DesignError("no analysis to blend with", where=at, do="enter the analysis of one water first")
    new = {k: v for k, v in some[-1].items() if k not in _MEASURED} | {"name": name, "share": _percent(x)}
    return _blend(design, [*(_shared(design, one, 1.0 - x) for one in some), new])


def without_analysis(design: Design, name: str) -> Design:
    """The design without one analysis of its blend; the others take its share, and a last one is the water.

    Parameters
    ----------
    design : Design
    name : str

    Raises
    ------
    DesignError
        No such analysis, or none beside it.
    """
    some = [dict(one) for one in design.written.get("water", {}).get("analyses") or ()]
    rest = [one for one in some if one["name"] != name]
    if not rest or len(rest) == len(some):
        raise DesignError("no analysis that can be removed", where=f"water.analyses[{name}]",
                          do="enter a salinity in place of the analysis")
    if len(rest) == 1:
        keys = {f"water.{k}": v for k, v in rest[0].items() if k not in ("name", "share")}
        return design.with_values(keys, without=("water.analyses",))
    left = sum(_share(design, one) for one in rest)
    return _blend(design, [_shared(design, one, 1.0 / left) for one in rest])


def with_ions(design: Design) -> Design:
    """The design with the composition of its water written out as one analysis, to be corrected by the laboratory's.

    Of a salinity the ions are in the proportions of seawater; of a blend they are those of the mixed water.

    Parameters
    ----------
    design : Design

    Raises
    ------
    DesignError
        The water is stated by one analysis already.
    """
    if design.stands("water.ions"):
        raise DesignError("is stated by an analysis already", where="water.ions", do="correct its constituents")
    with Values().running():
        inp = lines(design)
        found = analyse(inp, names=inp.names("water.analyses"))
        row, ph = found.ions, found.ph
    ions = {key: f"{1e3 * value:.5g} mg/L" for key, value in row.items() if value > 0.0}
    gone = _here(design, ("analyses", "sea_salinity", "bicarbonate_from", *_MEASURED))
    return design.with_values({"water.ions": ions} | ({} if ph is None else {"water.ph": f"{float(ph):.3g}"}),
                              without=gone)


def of_sheet(design: Design, water: Mapping[str, Any]) -> Design:
    """The design with the water of a laboratory's sheet in place of its composition; temperatures stay.

    Parameters
    ----------
    design : Design
    water : mapping
        Keys of ``[water]`` with their texts, ``ions`` among them, as `water.lab_sheet.read` gives them.

    Raises
    ------
    DesignError
        A constituent that is not possible.
    """
    gone = [k for k in (*_COMPOSITION, *_OF_ONE) if k not in water]
    return design.with_values({f"water.{k}": dict(v) if isinstance(v, Mapping) else v for k, v in water.items()},
                              without=dict.fromkeys(_here(design, tuple(gone))))


def _blend(design: Design, some: list[dict[str, Any]]) -> Design:
    return design.with_values({"water.analyses": some},
                              without=[*_here(design, _OF_ONE), *_here(design, ("analyses",))])


def _share(design: Design, one: Mapping[str, Any]) -> float:
    return float(field_meta("water.analyses[x].share").read(str(one["share"]), "water.analyses.share"))


def _shared(design: Design, one: dict[str, Any], factor: float) -> dict[str, Any]:
    return one | {"share": _percent(_share(design, one) * factor)}


def _percent(share: float) -> str:
    return f"{100 * share:.6g} %"


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


