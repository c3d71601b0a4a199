"""Why a quantity was refused, and the spelling that would have been accepted."""

from __future__ import annotations

import re

from desalbook.problems import DesignError
from desalbook.units.kinds import KINDS
from desalbook.units.spellings import PRESSURE, PRESSURE_TO_SAY, SPELLINGS, tidy

__all__ = ["no_unit", "not_one_quantity", "out_of_reach", "write", "wrong_unit"]

# A number that is credible in the kind's first display unit; anything else gets 10.
_EXAMPLE = {
    "count": "8", "factor": "1.15", "index": "1.5", "exponent": "2", "fraction": "45", "ph.nbs": "8.1",
    "ph.total": "8.0", "charge number": "2", "mass ratio": "1.5", "fouling index": "3", "flow": "120",
    "flow.day": "2500", "flow.dose": "4.5", "flow.air": "270", "gauge pressure": "60", "absolute pressure": "1.013",
    "pressure difference": "0.7", "osmotic pressure": "28", "temperature": "25",
    "temperature difference": "5",
    "length.small": "800", "area": "37.2", "flux": "13.5", "water permeability": "1.0", "density": "1025",
    "concentration": "35000", "concentration as CaCO3": "120", "concentration as B": "5",
    "concentration as Cl2": "2", "concentration as product": "3", "specific energy": "3.2",
    "viscosity": "1.0",
    "diffusivity": "1.5e-9", "salinity": "35", "mass fraction": "38", "rate per time": "7",
    "rotation": "1450",
    "conductivity": "53", "thermal expansion": "2.1e-4", "molality": "560",
}
_DEGREE = re.compile(r"(?:\u00b0|\u00ba|\u02da|deg(?:rees?)?\.?)?\s*(C|F|celsius|fahrenheit|centigrade)",
                     re.IGNORECASE)
"""A temperature unit as people write it: in words, or with an ordinal or a ring for the degree sign."""
_EQUIVALENT = 50.04  # g/mol of calcium carbonate, two charges
_DIGITS = str.maketrans({" ": None, "\xa0": None, "\u2009": None, "\u202f": None, "\N{MINUS SIGN}": "-"})
_COMMA_GROUPS = re.compile(r"([+-]?[1-9][0-9]{0,2}(?:,[0-9]{3})+(?:\.[0-9]+)?)(?![0-9,])(.*)", re.DOTALL)
_COMMA = re.compile(r"([+-]?[0-9]+),([0-9]+)(?![0-9,])(.*)", re.DOTALL)
_BELOW = re.compile(r"\s*[<\u2264]\s*=?\s*([0-9].*)$", re.DOTALL)
_TOLERANCE = re.compile(r"\s*([+-]?[0-9.]+)\s*(?:\u00b1|\+/-|\+-)\s*[0-9.]+\s*([^0-9]*)$")
_RANGE = re.compile(r"[0-9.]\s*(?:-|\u2013|\u2212|\.\.|to|…)\s*[0-9.]")
# Another number, an operator or a word that joins numbers, where only a unit should stand. Digits that
# belong to a unit (m3, Cl2, 1000 gal) follow a letter or stand in _SECOND's exception.
_SECOND = re.compile(r"(?<![A-Za-z0-9-])(?!1/|1000 gal)[0-9]|[+,;=]|^(?:to|x|-|and|or|by)\b")


def _broken(text: str) -> bool:
    """A line break, a control or an invisible character stands in it."""
    return any(not c.isprintable() and c not in "\xa0\u2009\u202f" for c in text)


def _units(name: str) -> str:
    """The units of a kind, its display units first, a handful at most."""
    k = KINDS[name]
    mains = dict.fromkeys([k.show_si, k.show_us, *(s.unit for s in SPELLINGS[name].values())])
    return ", ".join(u for u in list(mains)[:6] if u)


def write(name: str) -> str:
    """The remedy: an example in the kind's own unit."""
    k = KINDS[name]
    example = f"{_EXAMPLE.get(name, '10')} {k.show_si}".strip()
    other = f" (or in {k.show_us})" if k.show_us != k.show_si else ""
    return f"enter one number and one unit, such as {example}{other}" if k.show_si else (
        f"enter one number without a unit, such as {example}")


def not_one_quantity(text: object, name: str, where: str) -> DesignError:
    """Empty, a comma, a range, an operator, a second number, nan, words."""
    what, do = "not one number and one unit", write(name)
    if not KINDS[name].show_si:
        what = "not one number"
    if isinstance(text, str):
        if not text.strip():
            what = "empty"
        elif _broken(text):
            what = "holds a line break or a control character"
        elif m := _COMMA_GROUPS.match(text.strip()):
            plain = m[1].replace(",", "")
            what, do = "a comma is not accepted as a thousands or decimal sign", f"enter {plain}{m[2]}"
            if m[1].count(",") == 1 and "." not in m[1]:
                do += f" or, if the comma was a decimal sign, {m[1].replace(',', '.')}{m[2]}"
        elif m := _COMMA.match(text.strip()):
            what, do = "a comma is not accepted as a thousands or decimal sign", f"enter {m[1]}.{m[2]}{m[3]}"
        elif _RANGE.search(text):
            what = "a range is not one number"
        elif m := _BELOW.match(text):
            what = "a limit of detection is not a value"
            do = f"enter {m[1].strip()} to stay on the safe side, or clear it"
        elif m := _TOLERANCE.match(text):
            what, do = "a tolerance is no part of a value", f"enter {m[1].strip()} {m[2].strip()}".rstrip()
    elif isinstance(text, bool):
        what = "yes or no where a quantity is asked"
    return DesignError(what, where=where, value=text, allowed=_allowed(name), do=do)


def no_unit(number: object, name: str, where: str) -> DesignError:
    """A bare number where the unit decides what it means."""
    k = KINDS[name]
    return DesignError("the unit is missing", where=where, value=number, allowed=_allowed(name),
                       do=f'enter the unit, as in "{number} {k.show_si}"')


def out_of_reach(text: object, name: str, where: str) -> DesignError:
    """Overflow or underflow of a float."""
    return DesignError("too large or too small a number to be held", where=where, value=text,
                       allowed=_allowed(name), do=write(name))


def _allowed(name: str) -> str:
    units = _units(name)
    return f"units {units}" if units else "a bare number"


def wrong_unit(text: str, number: str, unit: str, name: str, where: str) -> DesignError:
    """One number, but not followed by a unit of this kind."""
    if not unit:
        return no_unit(number, name, where)
    known = any(unit in table for table in SPELLINGS.values())
    if not known and (_SECOND.search(tidy(unit)) or _broken(text)):
        return not_one_quantity(text, name, where)
    what, do = _why(number, tidy(unit).strip(), name)
    return DesignError(what, where=where, value=text, allowed=_allowed(name), do=do)


def _why(number: str, unit: str, name: str) -> tuple[str, str]:
    example = write(name)
    unit = "".join(c if c.isprintable() else "\N{REPLACEMENT CHARACTER}" for c in unit)
    if (parts := re.match(r"(ppm|ppb|ppt)[vw]?\b", unit, re.IGNORECASE)) is not None:
        return _per_parts(number, unit, parts[1].lower(), name)
    if unit.startswith("/") and f"per {unit[1:]}" in SPELLINGS[name]:
        return "the number and the unit run together", f"enter {number} per {unit[1:]} if that is meant"
    told = _pressure(number, unit, name) or _basis(number, unit, name) or _degree(number, unit, name)
    if told:
        return told
    same = _same_scale(unit, name)
    others = [k for k, t in SPELLINGS.items() if unit in t]
    if others and not same:
        return f'"{unit}" is a unit of {others[0].split(".")[0]}, not of {name.split(".")[0]}', example
    if same:
        return f'"{unit}" is not a unit of this quantity', f"enter {number} {same} if that is meant"
    return f'"{unit}" is not a unit read here', example


def _same_scale(unit: str, name: str) -> str:
    """The spelling a unit differs from in nothing that changes its size; empty when there is none.

    Capitals, spaces and signs between the letters do not change a unit, but m and M before another letter are a
    thousandth and a million. Units that only look alike ("MLD" and "MGD", "months" and "min") are never proposed.
    """
    alike = {scale: text for text, scale in reversed(SPELLINGS[name].items())
             if text and _letters(text) == _letters(unit) and _prefixes(text) == _prefixes(unit)}
    return next(iter(alike.values())) if len(alike) == 1 else ""


def _letters(unit: str) -> str:
    """A unit without capitals, spaces and the signs people put between its parts."""
    return re.sub(r"[\s.*·^()_]", "", unit).casefold().replace("per", "/")


def _prefixes(unit: str) -> list[str]:
    """Each m or M that stands before another letter, in order."""
    return re.findall(r"[mM](?=[A-Za-z])", unit)


def _per_parts(number: str, unit: str, parts: str, name: str) -> tuple[str, str]:
    """Parts of a whole: of what, it does not say; in seawater the two readings lie some 3 % apart."""
    unit_of = {"ppm": ("mg/L", "mg/kg"), "ppb": ("ug/L", "ug/kg")}.get(parts, ())  # ppt: a thousand, or a trillion
    _, mark, basis = name.partition(" as ")
    ways = [f"{number} {u}{mark}{basis} if per {w}" for u, w in zip(unit_of, ("volume", "mass"), strict=False)
            if f"{u}{mark}{basis}" in SPELLINGS[name]]
    return (f"a bare {unit} says neither per volume nor per mass",
            f"say which: enter {' or '.join(ways)}" if ways else f"say which: {write(name)}")


def _pressure(number: str, unit: str, name: str) -> tuple[str, str] | None:
    bare = {a for p, _, *aliases in (*PRESSURE, *PRESSURE_TO_SAY) for a in (p, *aliases)}
    if name in ("gauge pressure", "absolute pressure") and unit in bare and unit not in SPELLINGS["gauge pressure"]:
        return ("gauge or absolute is not given",
                f"enter {number} {unit} {'a' if name == 'absolute pressure' else 'g'} if it is "
                f"{'absolute' if name == 'absolute pressure' else 'gauge'}")
    if name == "gauge pressure" and unit in SPELLINGS["absolute pressure"]:
        main = SPELLINGS["absolute pressure"][unit].unit.split()[0]
        return ("an absolute pressure where a gauge pressure is asked",
                f"enter the gauge pressure in {main} g; the site altitude is what links the two")
    if name == "absolute pressure" and unit in SPELLINGS["gauge pressure"]:
        main = SPELLINGS["gauge pressure"][unit].unit.split()[0]
        if unit in bare:
            return "gauge or absolute is not given", f"enter {number} {main} a if it is absolute"
        return ("a gauge pressure where an absolute pressure is asked",
                f"enter the absolute pressure in {main} a; the site altitude is what links the two")
    if name in ("pressure difference", "osmotic pressure"):
        for marked in ("gauge pressure", "absolute pressure"):
            if unit in SPELLINGS[marked] and unit not in bare:
                main = SPELLINGS[marked][unit].unit.split()[0]
                return "this pressure is neither gauge nor absolute", f"enter {number} {main}"
    return None


def _basis(number: str, unit: str, name: str) -> tuple[str, str] | None:
    if not name.startswith("concentration"):
        return None
    basis = name.partition(" as ")[2]
    if basis == "CaCO3" and (scale := SPELLINGS["charge concentration"].get(unit)) is not None:
        mass = scale.to_si(float(number.translate(_DIGITS))) * _EQUIVALENT
        return ("equivalents where a concentration as CaCO3 is asked",
                f"enter {mass:.6g} mg/L as CaCO3 (1 meq/L is {_EQUIVALENT} mg/L as CaCO3)")
    plain, _, given = unit.partition(" as ")
    if plain not in SPELLINGS["concentration"]:
        return None
    if not given:
        return (f"the basis is not given; it is required as {basis}",
                f"enter {number} {plain} as {basis} if that is meant")
    if not basis:
        return (f"a concentration as {given} where that of the substance itself is asked",
                f"enter the substance's own concentration in {plain}")
    return (f"a concentration as {given} where one as {basis} is asked",
            f"convert it and enter it in {plain} as {basis}")


def _degree(number: str, unit: str, name: str) -> tuple[str, str] | None:
    if name == "temperature" and unit in ("C", "F"):
        return f'"{unit}" alone is not a temperature unit', f"enter {number} deg{unit}"
    if name == "temperature" and (written := _DEGREE.fullmatch(unit)) is not None:
        return f'"{unit}" is not a unit read here', f"enter {number} deg{written[1].upper()[0]}"
    if name == "temperature difference" and unit in SPELLINGS["temperature"]:
        return "a temperature where a difference is asked", f"enter a difference in K, such as {number} K"
    return None
