"""How a value is shown: one unit, the kind's digits, thin space in thousands.

Whatever `show` prints, `parse` reads back, to half a unit of the last printed digit.
"""

from __future__ import annotations

import math
import re
from functools import lru_cache

from desalbook.units.kinds import KINDS, Kind
from desalbook.units.spellings import SPELLINGS, Scale

__all__ = ["from_display", "in_currency", "in_units", "pair", "show", "show_range", "to_display", "unit_label"]

THIN = "\N{THIN SPACE}"
SETS = ("si", "us")
_SCALE: dict[tuple[str, str], tuple[str, Scale, int]] = {}
for _k in KINDS.values():
    for _set, _unit in zip(SETS, (_k.show_si, _k.show_us), strict=True):
        _SCALE[_k.name, _set] = (_unit, SPELLINGS[_k.name][_unit], _k.digits)
_PRETTY = (("m3", "m\N{SUPERSCRIPT THREE}"), ("ft3", "ft\N{SUPERSCRIPT THREE}"),
           ("m2", "m\N{SUPERSCRIPT TWO}"), ("ft2", "ft\N{SUPERSCRIPT TWO}"),
           ("s2", "s\N{SUPERSCRIPT TWO}"), ("deg", "\N{DEGREE SIGN}"))
_WHOLE = {"count", "charge number"}


def _look(kind: Kind | str, units: str) -> tuple[str, Scale, int]:
    name = kind.name if isinstance(kind, Kind) else kind
    try:
        return _SCALE[name, units]
    except KeyError:
        if units not in SETS:
            raise ValueError(f"display set {units!r}; there are {' and '.join(SETS)}") from None
        raise KeyError(f"no kind of number is called {name!r}") from None


def unit_label(kind: Kind | str, units: str = "si", pretty: bool = False) -> str:
    """The unit shown for a kind, empty for a bare number.

    Parameters
    ----------
    kind : Kind or str
    units : {"si", "us"}
    pretty : bool
        With superscripts and the degree sign; `parse` reads both forms.
    """
    unit = _look(kind, units)[0]
    if not pretty:
        return unit
    for plain, fine in _PRETTY:
        unit = unit.replace(plain, fine)
    return unit.replace("um", "\N{MICRO SIGN}m") if unit == "um" else unit


def to_display(value, kind: Kind | str, units: str = "si"):
    """Number in the display unit of an SI value (float or numpy array)."""
    if isinstance(value, (int, float)):
        value = float(value)  # a float that remembers its origin becomes a plain one here
    return _look(kind, units)[1].from_si(value)


def from_display(number, kind: Kind | str, units: str = "si"):
    """SI value of a number in the display unit (float or numpy array)."""
    if isinstance(number, (int, float)):
        number = float(number)
    return _look(kind, units)[1].to_si(number)


def show(value: float, kind: Kind | str, units: str = "si", unit: bool = True, digits: int | None = None,
         *, trim: bool = False, pretty: bool = False) -> str:
    """A value as people read it.

    Parameters
    ----------
    value : float
        In coherent SI.
    kind : Kind or str
    units : {"si", "us"}
        Display set.
    unit : bool
        With the unit after the number.
    digits : int, optional
        Significant digits instead of the kind's. Temperatures, whose zero is arbitrary, are shown
        with ``digits - 2`` decimals.
    trim : bool
        Drop zeros at the end of the decimals, as for a limit that someone wrote.
    pretty : bool
        Superscripts and degree sign in the unit.

    Returns
    -------
    str
        Never scientific between 1e-4 and 1e9. A value that is no number says so in words.
    """
    return _shown(float(value), kind.name if isinstance(kind, Kind) else kind, units, unit, digits, trim, pretty)


@lru_cache(maxsize=8192)
def _shown(value: float, name: str, units: str, unit: bool, digits: int | None, trim: bool, pretty: bool) -> str:
    """Text of `show`, kept: most of what a changed plant shows is what it showed before."""
    label, scale, own = _look(name, units)
    number = scale.from_si(value)
    digits = own if digits is None else digits
    if digits < 1:
        raise ValueError("at least one significant digit is shown")
    if not math.isfinite(number):
        return "not a number" if math.isnan(number) else ("infinite" if number > 0 else "minus infinite")
    if name in _WHOLE:
        text = f"{number:.0f}" if number == math.floor(number) and abs(number) < 1e9 else (
            _significant(number, digits, True))
    elif scale.shift or name == "temperature":
        text = f"{number:.{max(digits - 2, 0)}f}"
    else:
        text = _significant(number, digits, trim)
    if trim and "." in text and "e" not in text:
        text = text.rstrip("0").rstrip(".")
    text = _grouped(text)
    if not unit or not label:
        return text
    return f"{text} {unit_label(name, units, True) if pretty else label}"


def in_currency(text: str, kind: Kind | str, currency: str) -> str:
    """A shown value or unit of money with its currency, which a kind of money has none of; any other as it is.

    Parameters
    ----------
    text : str
        What `show` or `unit_label` gave: ``0.989 1/m3``, ``6 290 000``, ``1/m3``.
    kind : Kind or str
    currency : str
        Such as ``USD``; an empty one changes nothing.
    """
    name = kind.name if isinstance(kind, Kind) else kind
    if not currency or not name.startswith("money"):
        return text
    return re.sub(r"(?:^|(?<= ))1/", f"{currency}/", text) if name != "money" else f"{text} {currency}".strip()


def show_range(low: float | None, high: float | None, kind: Kind | str, units: str = "si", digits: int = 6) -> str:
    """A range in one unit: ``100 to 20 000 m3/d``; an open end is None. A limit needs more digits than a hint."""
    label = unit_label(kind, units)
    if low is not None and high is not None:
        ends = (show(end, kind, units, False, digits, trim=True) for end in (low, high))
        return f"{' to '.join(ends)} {label}".rstrip()
    if low is not None:
        return f"from {show(low, kind, units, trim=True, digits=digits)}"
    if high is not None:
        return f"up to {show(high, kind, units, trim=True, digits=digits)}"
    return "any value"


def pair(value: float, limit: float, kind: Kind | str, units: str = "si", most: int = 4) -> tuple[str, str, str]:
    """A value with three significant digits, its limit as it was set, and the unit of both: 94.2, 95, ``%``.

    Parameters
    ----------
    value, limit : float
        In coherent SI.
    kind : Kind or str
    units : {"si", "us"}
    most : int
        Significant digits at most, where fewer do not tell the value from the limit.

    Returns
    -------
    str, str, str
        Concentrations that both lie below 0.1 mg/L are in micrograms.
    """
    label, scale, _ = _look(kind, units)
    micro = label == "mg/L" and max(abs(scale.from_si(value)), abs(scale.from_si(limit))) < 0.1
    times = 1000.0 if micro else 1.0
    said = bound = ""
    for digits in range(3, most + 1):
        bound = show(limit * times, kind, units, False, max(digits, 4), trim=True)
        said = show(value * times, kind, units, False, digits, trim=value == limit)
        if said != bound and show(value * times, kind, units, False, digits, trim=True) != bound:
            break
    if limit and abs(value) < 1e-6 * abs(limit):
        said = "0"  # rounding of the arithmetic
    return said, bound, "ug/L" if micro else label


def _significant(number: float, digits: int, trim: bool) -> str:
    """Rounded once, to significant digits; then only the point is placed."""
    if number == 0.0:
        return "0"
    mantissa, _, power = f"{number:.{digits - 1}e}".partition("e")
    exponent = int(power)
    sign = "-" if mantissa[0] == "-" else ""
    figures = mantissa.lstrip("-").replace(".", "")
    if exponent < -4 or exponent >= 9:
        head = figures[0] + (f".{figures[1:]}" if len(figures) > 1 else "")
        if trim and "." in head:
            head = head.rstrip("0").rstrip(".")
        return f"{sign}{head}e{exponent}"
    if exponent < 0:
        return f"{sign}0.{'0' * (-exponent - 1)}{figures}"
    if exponent >= digits - 1:
        return f"{sign}{figures}{'0' * (exponent - digits + 1)}"
    return f"{sign}{figures[:exponent + 1]}.{figures[exponent + 1:]}"


def _grouped(text: str) -> str:
    """Thin spaces between groups of three in the whole part; minus zero loses its sign."""
    if "e" in text:
        return text
    sign = "-" if text[0] == "-" else ""
    whole, point, decimals = text.lstrip("-").partition(".")
    if sign and not whole.strip("0") and not decimals.strip("0"):
        sign = ""
    if len(whole) > 3:
        whole = f"{int(whole):,}".replace(",", THIN)
    return f"{sign}{whole}{point}{decimals}"


_TEXT_KINDS = {"m3/h": "flow", "m3/d": "flow.day", "L/h": "flow.dose", "barg": "gauge pressure",
               "bar": "pressure difference",
               "m/h": "filtration rate", "m/s": "velocity", "mm": "length.small", "m": "length", "m2": "area",
               "m3": "volume", "L": "volume.small", "degC": "temperature", "kWh/m3": "specific energy",
               "L/(m2 h)": "flux"}
_IN_TEXT = re.compile(r"(?<![\w.\u2009-])(-?\d{1,3}(?:[ \u2009]\d{3})*(?:\.\d+)?|-?\d+(?:\.\d+)?) ("
                      + "|".join(re.escape(u) for u in sorted(_TEXT_KINDS, key=len, reverse=True)) + r")(?![\w/^(*])")


def in_units(text: str, units: str = "si") -> str:
    """A sentence whose SI amounts are told in the display set: ``566.9 m at 113.7 m3/h`` becomes feet and gpm.

    Parameters
    ----------
    text : str
        As a calculation wrote it, in the SI display units.
    units : {"si", "us"}

    Notes
    -----
    Power stays in kW, which both sets use for motors; an amount keeps its number of significant digits.
    """
    if units == "si":
        return text

    def told(hit: re.Match[str]) -> str:
        number, kind = hit[1].replace(" ", "").replace(THIN, ""), _TEXT_KINDS[hit[2]]
        digits = max(2, len(number.lstrip("-0.").replace(".", "")))
        return show(from_display(float(number), kind), kind, units, digits=min(digits + 1, 4), trim=True)

    return _IN_TEXT.sub(told, text)
