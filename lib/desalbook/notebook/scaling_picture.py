"""Scaling over recovery: one small frame a mineral, its index at the wall, its limit, the design."""

from __future__ import annotations

from collections.abc import Mapping
from html import escape
from typing import Any

from desalbook.notebook import theme
from desalbook.tables import table

__all__ = ["draw"]

WIDE, HIGH, LEFT, TOP, ACROSS = 250, 150, 46, 30, 3


def _ticks(low: float, high: float) -> list[float]:
    """Three to five round values within the range."""
    for step in (0.1, 0.2, 0.5, 1.0, 2.0):
        first = int(low // step)
        found = [round(k * step, 2) for k in range(first, int(high // step) + 1) if low <= k * step <= high]
        if len(found) <= 5:
            return found
    return [low, high]


def _frame(mineral: str, title: str, curve: list[float], given: Mapping[str, Any], x0: float, y0: float) -> str:
    recoveries, limit, design = given["recovery"], given["limit"][mineral], given["design"]
    here = given["worst"][mineral]
    every = [*curve, limit, 0.0, here]
    low, high = sorted(every)[0] - 0.15, sorted(every)[-1] + 0.15
    end = recoveries[-1]

    def x(v: float) -> float:
        return x0 + LEFT + (WIDE - LEFT - 18) * v / end

    def y(v: float) -> float:
        return y0 + TOP + (HIGH - TOP - 30) * (high - v) / (high - low)

    over = here > limit
    role = "fails" if over else "holds"
    parts = [f'<text x="{x0 + LEFT}" y="{y0 + 18}" font-weight="600" fill="currentColor">{escape(title)}</text>',
             f'<text x="{x0 + WIDE - 18}" y="{y0 + 18}" text-anchor="end" fill="{theme.var(role)}">'
             f'{theme.role(role).mark} {here:+.2f}</text>']
    for v in _ticks(low, high):
        parts.append(f'<text x="{x0 + LEFT - 6}" y="{y(v) + 3.5:.1f}" text-anchor="end" fill="{theme.var("quiet")}">'
                     f'{v:g}</text><path d="M{x(0):.1f} {y(v):.1f}H{x(end):.1f}" stroke="{theme.var("quiet")}" '
                     f'stroke-width="{1.0 if v == 0 else 0.3}" fill="none"/>')
    for v in (0.0, end / 2, end):
        parts.append(f'<text x="{x(v):.1f}" y="{y0 + HIGH - 14}" text-anchor="middle" fill="{theme.var("quiet")}">'
                     f'{100 * v:.0f} %</text>')
    line = " ".join(f"{x(r):.1f},{y(v):.1f}" for r, v in zip(recoveries, curve, strict=True))
    parts.append(f'<path d="M{x(0):.1f} {y(limit):.1f}H{x(end):.1f}" stroke="{theme.var("fails")}" '
                 'stroke-width="1.4" stroke-dasharray="5 3" fill="none"/>')
    parts.append(f'<polyline points="{line}" stroke="{theme.var("reject")}" stroke-width="2" fill="none"/>')
    if design <= end:
        parts.append(f'<circle cx="{x(design):.1f}" cy="{y(here):.1f}" r="4" fill="{theme.var(role)}"/>')
    return "".join(parts)


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
        A figure with a caption; colours from the theme, each with a mark or a dash beside it.
    """
    minerals = list(given["index"])
    rows = -(-len(minerals) // ACROSS)
    frames = "".join(
        _frame(m, table("scaling_limits").row(m, "scaling").title, given["index"][m], given,
               (n % ACROSS) * WIDE, (n // ACROSS) * HIGH) for n, m in enumerate(minerals))
    words = (f"Saturation index, log10(IAP/Ksp), at the wall of the last element over membrane recovery, {at}. "
             "Line: index. Dashes: limit in force. Solid rule: saturation. Dot: this design.")
    return (f'<figure class="desalbook"><style>{theme.css()}</style>'
            f'<svg viewBox="0 0 {ACROSS * WIDE} {rows * HIGH}" width="{ACROSS * WIDE}" role="img" '
            f'aria-label="{escape(words)}" font-size="11" font-family="inherit">{frames}</svg>'
            f"<figcaption>{escape(words)}</figcaption></figure>")
