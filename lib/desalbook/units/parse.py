"""The only door for quantities: one number and one unit, strict.

A general unit library multiplies what it does not understand ("2 400" becomes 800, "1,5" becomes
15). Here a text is either exactly one number and one unit spelled as in `units.spellings`, or it is
refused with the spelling that would have been accepted.
"""

from __future__ import annotations

import math
import re
import sys

from desalbook.problems import DesignError
from desalbook.units import refusals
from desalbook.units.kinds import KINDS, Kind
from desalbook.units.spellings import SPELLINGS, tidy

__all__ = ["parse", "spellings", "unit_written"]

# Group 1 sign, 2 whole part (grouped in threes by one kind of space, or not grouped), 4 decimals,
# 5 exponent, 6 unit. A digit may not follow a group, a leading zero stands only alone, ASCII only.
_TEXT = re.compile(
    "([+\\-\N{MINUS SIGN}]?)"
    "(0|[1-9][0-9]{0,2}"
    "(?:([ \N{NO-BREAK SPACE}\N{THIN SPACE}\N{NARROW NO-BREAK SPACE}])[0-9]{3}(?:\\3[0-9]{3})*)"
    "|[1-9][0-9]*)(?![0-9])"
    "(\\.[0-9]+)?"
    "(?:[eE]([+\\-\N{MINUS SIGN}]?[0-9]{1,4}))?"
    "[ \N{NO-BREAK SPACE}\N{THIN SPACE}\N{NARROW NO-BREAK SPACE}]*"
    "(.*)")
_ANY_SPACE = " \N{NO-BREAK SPACE}\N{THIN SPACE}\N{NARROW NO-BREAK SPACE}"
_SPACES = str.maketrans("", "", _ANY_SPACE)
_MINUS = str.maketrans("\N{MINUS SIGN}", "-")
_LONGEST = 80  # no quantity is longer; keeps a refusal short and quick
_WHOLE = {"count", "charge number"}
_PLAIN = {name for name, table in SPELLINGS.items() if "" in table}


def parse(text: str | int | float, kind: Kind | str, where: str = "") -> float:
    """Read one quantity as people write it.

    Parameters
    ----------
    text : str, int or float
        One number and one unit, for example ``"2 500 m3/d"``. A bare number is accepted only for
        kinds without a unit (counts, factors, pH) and for a fraction between -1 and 1.
    kind : Kind or str
        What the number means; fixes the units that are accepted.
    where : str
        Field the text stands in, for the message.

    Returns
    -------
    float
        Value in coherent SI (the kind's `si`).

    Raises
    ------
    DesignError
        For anything else than one number and one unit of that kind.
    """
    name = kind.name if isinstance(kind, Kind) else kind
    if name not in KINDS:
        raise KeyError(f"no kind of number is called {name!r}")
    if not isinstance(text, str):
        return _bare(text, name, where)
    if len(text) > _LONGEST:
        raise refusals.not_one_quantity(text, name, where)
    trimmed = text.strip(_ANY_SPACE)
    match = _TEXT.fullmatch(trimmed)
    if match is None:
        raise refusals.not_one_quantity(text, name, where)
    sign, whole, space, decimals, exponent, unit = match.groups()
    scale = SPELLINGS[name].get(unit)
    if scale is None:
        # A unit never holds a second number or an operator: those are not in the table.
        scale = SPELLINGS[name].get(" ".join(filter(None, tidy(unit).split(" "))))
        if scale is None:
            raise refusals.wrong_unit(text, trimmed[:match.start(6)].rstrip(), unit, name, where)
    if space is not None:
        if exponent is not None:
            raise refusals.not_one_quantity(text, name, where)
        whole = whole.translate(_SPACES)
    digits = whole + (decimals or "")
    number = float(f"{'' if sign in ('', '+') else '-'}{digits}"
                   + (f"e{exponent.translate(_MINUS)}" if exponent else ""))
    if not math.isfinite(number) or (abs(number) < sys.float_info.min and digits.strip("0.")):  # or loses its digits
        raise refusals.out_of_reach(text, name, where)
    if scale.unit == "":
        _check_bare(number, text, name, where)
    value = scale.to_si(number)
    if not math.isfinite(value) or (value == 0.0 and number != 0.0 and not scale.shift):
        raise refusals.out_of_reach(text, name, where)
    if name == "temperature" and value < 0.0:
        raise DesignError("below absolute zero", where=where, value=text, do=refusals.write(name))
    return value


def unit_written(text: object, kind: Kind | str) -> str:
    """The unit a quantity was written in, as the main spelling of it; empty for a bare number."""
    match = _TEXT.fullmatch(text.strip(_ANY_SPACE)) if isinstance(text, str) and len(text) <= _LONGEST else None
    if match is None:
        return ""
    table = SPELLINGS[kind.name if isinstance(kind, Kind) else kind]
    scale = table.get(match[6]) or table.get(" ".join(filter(None, tidy(match[6]).split(" "))))
    return scale.unit if scale is not None else ""


def _bare(number: object, name: str, where: str) -> float:
    """A number from TOML or Python without any unit."""
    if isinstance(number, bool) or not isinstance(number, (int, float)):
        raise refusals.not_one_quantity(number, name, where)
    if name not in _PLAIN:
        raise refusals.no_unit(number, name, where)
    try:
        value = float(number)
    except OverflowError:
        raise refusals.out_of_reach(number, name, where) from None
    if not math.isfinite(value):
        raise refusals.not_one_quantity(number, name, where)
    _check_bare(value, number, name, where)
    return value


def _check_bare(value: float, text: object, name: str, where: str) -> None:
    if name in _WHOLE and value != math.floor(value):
        raise DesignError("not a whole number", where=where, value=text, do="enter a whole number, such as 8")
    if name == "count" and value < 0:
        raise DesignError("a count is not below zero", where=where, value=text,
                          do="enter a whole number, such as 8")
    if name == "fraction" and abs(value) > 1.0:
        raise DesignError("a fraction above 1 needs the % sign", where=where, value=text,
                          do=f"enter {value:g} % if that is meant, or a number between 0 and 1")


def spellings(kind: Kind | str) -> tuple[str, ...]:
    """The main unit spellings accepted for a kind; ``""`` stands for a bare number."""
    name = kind.name if isinstance(kind, Kind) else kind
    return tuple(dict.fromkeys(scale.unit for scale in SPELLINGS[name].values()))
