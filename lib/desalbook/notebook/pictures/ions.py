"""The ion balance as two columns side by side: equivalents of cations, of anions, and the gap between them.

Height is charge. A column that is short carries the gap, dashed, on its top; the gap is written out, for in a good
analysis it is too thin to be seen. Everything drawn is a line of the record; nothing of the water is calculated here.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from html import escape
from typing import Any

from desalbook import theme
from desalbook.drawings import read
from desalbook.problems import DesignError
from desalbook.units import show

__all__ = ["Balance", "draw", "ions_picture"]

_KIND = "charge concentration"
_HIGH, _TOP, _BAR, _LEAD = 290.0, 52.0, 84.0, 17.0
_SMALL = 0.004  # of a column: below it a constituent stands under "others"
_VERDICT = {"passes": "passes", "marginal": "marginal", "fails": "fails"}


@dataclass(frozen=True)
class Balance:
    """What is drawn.

    Parameters
    ----------
    equivalents : mapping
        mol of charge per m3 by ion, with the sign of the charge; uncharged ones are omitted.
    cations, anions : float
        Their sums, mol/m3, both positive.
    error : float
        Difference over sum, as judged.
    verdict : {"passes", "marginal", "fails"}
    limit : float
        Largest error allowed.
    title : str
    """

    equivalents: Mapping[str, float]
    cations: float
    anions: float
    error: float
    verdict: str
    limit: float
    title: str = "Ion balance"

    def __post_init__(self) -> None:
        for name in ("cations", "anions"):
            value = float(getattr(self, name))
            if not math.isfinite(value) or value <= 0.0:
                raise DesignError("cannot be drawn", where=f"ion_picture.{name}", value=value, unit="mol/m3",
                                  allowed="above 0", do="draw an analysis that holds cations and anions")
        if self.verdict not in _VERDICT:
            raise DesignError("no such verdict", where="ion_picture.verdict", value=self.verdict,
                              allowed=", ".join(_VERDICT), do="hand over the verdict of the check")


def ions_picture(plant: Any, units: str = "si", analysis: str = "water", width: int = 520) -> str:
    """The ion balance of a sized plant as HTML.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
        Equivalents have one unit; taken so that all pictures are called alike.
    analysis : str
        ``"water"``, or ``"water.analyses[well]"`` for one of several.
    width : int
        Pixels, 420 or more.
    """
    if f"{analysis}.equivalents" not in plant:
        raise DesignError("no such analysis", where="ion_picture.analysis", value=analysis,
                          allowed=", ".join(i.removesuffix(".equivalents") for i in plant.ids
                                            if i.endswith(".equivalents")), do="name one of these")
    row = plant[f"{analysis}.equivalents"]
    check = plant.verdicts[f"{analysis}.balance.check"]
    return draw(Balance(
        dict(zip(row.keys, map(float, row.values), strict=True)), float(plant[f"{analysis}.cations"]),
        float(plant[f"{analysis}.anions"]), float(plant[f"{analysis}.balance"]), check.more["verdict"],
        check.more["limit"], "Ion balance" if analysis == "water" else f"Ion balance of {analysis}"), width)


def _parts(one: Balance, sign: int, whole: float) -> list[tuple[str, float, str]]:
    """(label, height share, words) of one column, the largest first; the small ones together at the end."""
    mine = sorted(((k, sign * v) for k, v in one.equivalents.items() if sign * v > 0.0), key=lambda kv: -kv[1])
    shown = [(k, v, f"{k} {show(v, _KIND)}") for k, v in mine if v >= _SMALL * whole]
    rest = [(k, v) for k, v in mine if v < _SMALL * whole]
    if rest:
        names = ", ".join(k for k, _ in rest)
        small = math.fsum(v for _, v in rest)
        shown.append((names if len(rest) < 4 else f"{len(rest)} others", small,
                      f"others: {', '.join(f'{k} {show(v, _KIND)}' for k, v in rest)}"))
    return shown


def _spread(places: Sequence[float], low: float, high: float) -> list[float]:
    """Heights of labels, each near its place, no two closer than a line, between low and high (downward)."""
    order = sorted(range(len(places)), key=lambda n: places[n])
    at = [0.0] * len(places)
    last = low - _LEAD
    for n in order:
        last = at[n] = max(places[n], last + _LEAD)
    over = last - high
    for n in reversed(order):
        if over <= 0.0:
            break
        at[n] -= over
        lower = [at[m] for m in order if m != n and places[m] <= places[n] and at[m] > at[n] - _LEAD]
        over = max((x - (at[n] - _LEAD) for x in lower), default=0.0)
    return at


def _column(one: Balance, sign: int, x: float, scale: float, role: str) -> str:
    whole = one.cations if sign > 0 else one.anions
    base, out, spots = _TOP + _HIGH, [], []
    y = base
    parts = _parts(one, sign, whole)
    for n, (_, value, words) in enumerate(parts):
        high = value * scale
        y -= high
        spots.append(y + high / 2)
        out.append(f'<rect x="{x:.1f}" y="{y:.2f}" width="{_BAR:.0f}" height="{max(high, 0.6):.2f}" '
                   f'fill="{theme.var(role)}" fill-opacity="{0.85 if n % 2 == 0 else 0.45}" '
                   f'stroke="var(--db-ground)" stroke-width="1"{read.mark(words)}/>')
    side = -1 if sign > 0 else 1
    edge, end = (x, "end") if sign > 0 else (x + _BAR, "start")
    for (label, value, _), spot, text_y in zip(parts, spots, _spread(spots, _TOP + 6, base - 4), strict=True):
        far = edge + side * 24
        out.append(f'<polyline points="{edge:.1f},{spot:.1f} {edge + side * 10:.1f},{spot:.1f} '
                   f'{far - side * 4:.1f},{text_y:.1f}" fill="none" stroke="{theme.var("quiet")}"/>'
                   f'<text x="{far:.1f}" y="{text_y + 4:.1f}" text-anchor="{end}">{escape(label)} '
                   f'<tspan fill="{theme.var("quiet")}">{escape(show(value, _KIND).removesuffix(" meq/L"))}</tspan>'
                   "</text>")
    return "".join(out)


def draw(one: Balance, width: int = 520) -> str:
    """The picture as HTML: an SVG with a text alternative, colours from the theme.

    Parameters
    ----------
    one : Balance
    width : int
        Pixels, 420 or more.
    """
    width = max(int(width), 420)
    tallest = max(one.cations, one.anions)
    scale = _HIGH / tallest
    left, right = width / 2 - _BAR - 6, width / 2 + 6
    short = "anions" if one.cations > one.anions else "cations"
    gap = abs(one.cations - one.anions)
    role = theme.role(_VERDICT[one.verdict])
    said = (f"{role.mark} {100 * one.error:+.2f} %, {role.word}: {short} short by {show(gap, _KIND)}, "
            f"{100 * one.limit:.3g} % allowed" if gap else f"{role.mark} closed")
    words = (f"{one.title}. Cations {show(one.cations, _KIND)}: "
             + "; ".join(w for *_, w in _parts(one, 1, one.cations))
             + f". Anions {show(one.anions, _KIND)}: " + "; ".join(w for *_, w in _parts(one, -1, one.anions))
             + f". {said}.")
    x = right if short == "anions" else left
    top = _TOP + _HIGH - tallest * scale
    mark = theme.var(role.name)
    gap_box = (f'<rect x="{x:.1f}" y="{top:.2f}" width="{_BAR:.0f}" height="{max(gap * scale, 1.0):.2f}" '
               f'fill="{mark}" fill-opacity="0.18" stroke="{mark}" stroke-width="1.5" stroke-dasharray="4 3"/>'
               if gap else "")
    heads = "".join(
        f'<text x="{a + _BAR / 2:.1f}" y="{_TOP + _HIGH + y:.0f}" text-anchor="middle"{more}>{escape(t)}</text>'
        for a, t, v in ((left, "Cations", one.cations), (right, "Anions", one.anions))
        for t, y, more in ((t, 18, ' font-weight="600"'), (show(v, _KIND), 35, "")))
    return (f'<div class="desalbook"><style>{theme.css()}</style>'
            f'<svg viewBox="0 0 {width} {_TOP + _HIGH + 44:.0f}" width="100%" role="img" '
            f'style="max-width:{1.1 * width:.0f}px" '
            f'aria-label="{escape(words)}" font-family="inherit" font-size="13" fill="currentColor">'
            f"<title>{escape(one.title)}</title>"
            f'<text x="{width / 2:.1f}" y="18" text-anchor="middle" fill="{mark}">{escape(said)}</text>'
            f'<text x="4" y="40" font-weight="600">meq/L</text>'
            f"{_column(one, 1, left, scale, 'sea')}{_column(one, -1, right, scale, 'reject')}{gap_box}{heads}"
            f"</svg></div>")
