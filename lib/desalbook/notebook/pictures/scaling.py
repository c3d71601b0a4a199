"""Scaling over recovery: one small frame a mineral, its index at the wall, its limit, the design."""

from __future__ import annotations

from collections.abc import Mapping
from html import escape
from typing import Any

from desalbook import theme
from desalbook.drawings import read
from desalbook.plant.scaling import curves
from desalbook.tables import table

__all__ = ["draw", "scaling_picture"]

WIDE, HIGH, LEFT, TOP, ACROSS = 174, 116, 36, 24, 3


def _ticks(low: float, high: float) -> list[float]:
    """Up to four round values within the range."""
    for step in (0.1, 0.2, 0.5, 1.0, 2.0):
        first = int(low // step)
        found = [round(k * step, 2) for k in range(first, int(high // step) + 1) if low <= k * step <= high]
        if len(found) <= 4:
            return found
    return [low, high]


def _signed(value: float, form: str = "+.2f") -> str:
    return f"{value:{form}}".replace("-", "\N{MINUS SIGN}")


def _frame(mineral: str, title: str, curve: list[float], given: Mapping[str, Any], x0: float, y0: float) -> str:
    recoveries, limit, design = given["recovery"], given["limit"][mineral], given["design"]
    here = given["worst"][mineral]
    every = [*curve, limit, 0.0, here]
    low, high = sorted(every)[0] - 0.15, sorted(every)[-1] + 0.15
    end = recoveries[-1]

    def x(v: float) -> float:
        return x0 + LEFT + (WIDE - LEFT - 12) * v / end

    def y(v: float) -> float:
        return y0 + TOP + (HIGH - TOP - 24) * (high - v) / (high - low)

    over = here > limit
    role = "fails" if over else "passes"
    tight = ' textLength="104" lengthAdjust="spacingAndGlyphs"' if len(title) > 14 else ""
    edge = x0 + WIDE - (2 if len(title) > 12 else 12)
    parts = [f'<text x="{x0 + 4}" y="{y0 + 14}" font-weight="600"{tight} fill="currentColor">{escape(title)}</text>',
             f'<text x="{edge}" y="{y0 + 14}" text-anchor="end" fill="{theme.var(role)}">'
             f'{theme.role(role).mark} {_signed(here)}</text>']
    for v in _ticks(low, high):
        parts.append(f'<text x="{x0 + LEFT - 6}" y="{y(v) + 3.5:.1f}" text-anchor="end" fill="{theme.var("quiet")}">'
                     f'{_signed(v, "g")}</text><path d="M{x(0):.1f} {y(v):.1f}H{x(end):.1f}" '
                     f'stroke="{theme.var("quiet")}" stroke-width="{1.0 if v == 0 else 0.3}" fill="none"/>')
    for v in (0.0, end / 2, end):
        parts.append(f'<text x="{x(v):.1f}" y="{y0 + HIGH - 7}" text-anchor="middle" fill="{theme.var("quiet")}">'
                     f'{100 * v:.0f}</text>')
    line = " ".join(f"{x(r):.1f},{y(v):.1f}" for r, v in zip(recoveries, curve, strict=True))
    parts.append(f'<path d="M{x(0):.1f} {y(limit):.1f}H{x(end):.1f}" stroke="{theme.var("fails")}" '
                 'stroke-width="1.4" stroke-dasharray="5 3" '
                 f'fill="none"{read.mark(f"{title}: limit {_signed(limit)}")}/>')
    below = y(limit) + 13 < y(max(curve)) - 2
    parts.append(f'<text x="{x(end):.1f}" y="{y(limit) + (13 if below else -4):.1f}" text-anchor="end" '
                 f'fill="{theme.var("fails")}" paint-order="stroke" stroke="var(--db-ground)" '
                 'stroke-width="3">limit</text>')
    parts.append(f'<polyline points="{line}" stroke="{theme.var("reject")}" stroke-width="2" fill="none"'
                 f'{read.curve(title, "RO recovery, %", "index", [100 * r for r in recoveries], curve)}/>')
    if design <= end:
        told = read.mark(f"{title}: index {_signed(here)} at this design, RO recovery {100 * design:.3g} %")
        parts.append(f'<circle cx="{x(design):.1f}" cy="{y(here):.1f}" r="4" fill="{theme.var(role)}"{told}/>')
    return "".join(parts)


def scaling_picture(plant: Any, units: str = "si") -> str:
    """Saturation at the wall over recovery, at the hottest water of a plant; indices have no units."""
    return draw(curves(plant.sized.scaling, plant.sized.array.recovery))


def draw(given: Mapping[str, Any], at: str = "hottest water") -> str:
    """Picture as HTML.

    Parameters
    ----------
    given : mapping
        As `desalbook.plant.scaling.curves` gives it.
    at : str
        Which water, in words.

    Returns
    -------
    str
        One SVG; colours from the theme, each with a mark or a dash beside it.
    """
    minerals = list(given["index"])
    rows = -(-len(minerals) // ACROSS)
    frames = "".join(
        _frame(m, table("scaling_limits").row(m, "scaling").title, given["index"][m], given,
               (n % ACROSS) * WIDE, (n // ACROSS) * HIGH) for n, m in enumerate(minerals))
    over = [m for m in minerals if given["worst"][m] > given["limit"][m]]
    nearest = min(minerals, key=lambda m: given["limit"][m] - given["worst"][m])
    said = (f"Saturation index, log10(IAP/Ksp), at the wall of the last element over RO recovery, {at}: "
            + (f"beyond the limit {', '.join(over)}" if over else "all within their limits")
            + f", nearest to it {nearest} with {given['worst'][nearest]:+.2f} of {given['limit'][nearest]:+.2f}.")
    quiet, y = theme.var("quiet"), rows * HIGH + 12
    foot = "".join(f'<text x="{x}" y="{y + down}" text-anchor="{anchor}" fill="{quiet}">{escape(words)}</text>'
                   for x, down, anchor, words in (
                       (ACROSS * WIDE / 2, 0, "middle", "RO recovery, %"),
                       (4, 22, "start", f"Index log10(IAP/Ksp) at the wall of the last element, {at}."),
                       (4, 38, "start", "Dot and figure: this design. Solid rule at 0: saturation.")))
    return (f'<div class="desalbook"><style>{theme.css()}</style>'
            f'<svg viewBox="0 0 {ACROSS * WIDE} {rows * HIGH + 58}" width="100%" role="img" '
            f'style="max-width:{1.1 * ACROSS * WIDE:.0f}px" aria-label="{escape(said)}" font-size="12.1" '
            f'font-family="inherit">{frames}{foot}</svg></div>')
