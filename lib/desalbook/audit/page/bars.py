"""Small bars: how much of a limit is used, and where a figure stands in the range of its relation."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from html import escape
from typing import Any

from desalbook.audit.page.style import VERDICTS

__all__ = ["margin_bar", "range_bar", "used"]


def used(margin: float, sense: str) -> float:
    """Share of a limit that is used: the figure over a maximum value, a minimum value over the figure; past 1 it fails.

    A margin is a share of the limit, so that twice a minimum value has 100 % to spare and uses half of it.
    """
    if sense != ">=":
        return max(1.0 - margin, 0.0)
    return 1.0 / (1.0 + margin) if margin > -0.9 else 10.0


def margin_bar(m: Mapping[str, Any], limit: str) -> str:
    """How much of the allowed range is used; the limit is the stroke, its value at the end."""
    if m.get("margin") is None:
        return ""
    share = used(m["margin"], m["sense"])
    colour = VERDICTS[m["verdict"]][0]
    width = 100.0 * min(share, 1.25)
    text = (
        f"{share * 100:.0f} % of the limit used"
        if m["sense"] == "<="
        else f"{abs(m['margin']) * 100:.0f} % {'above' if m['margin'] >= 0 else 'below'} the limit"
    )
    return (
        f'<svg viewBox="0 0 230 26" width="230" height="26" role="img" aria-label="{escape(text)}">'
        f'<rect x="0" y="9" width="160" height="8" fill="none" stroke="#59636e" stroke-width="1"/>'
        f'<rect x="0" y="9" width="{width * 1.28:.1f}" height="8" fill="{colour}"/>'
        f'<path d="M128 4V22" stroke="#16191d" stroke-width="1.6"/>'
        f'<text x="165" y="17" font-size="11" fill="#16191d">{limit}</text></svg>'
    )


def range_bar(many: Sequence[float], low: float | None, high: float | None) -> str:
    """The range as a frame, what is in use as a stroke or a span, red and beyond the frame when outside."""
    a, b = min(many), max(many)
    lo = low if low is not None else min(0.0, a)
    hi = high if high is not None else max(b, lo) * 1.25 or 1.0
    if not hi > lo:
        return ""

    def at(v: float) -> float:
        return 10 + 100 * min(max((v - lo) / (hi - lo), -0.08), 1.08)

    inside = (low is None or a >= low) and (high is None or b <= high)
    colour = VERDICTS["passes" if inside else "fails"][0]
    wide = max(at(b) - at(a), 3.0)
    open_low = "" if low is not None else ' stroke-dasharray="3 2"'
    open_high = "" if high is not None else ' stroke-dasharray="3 2"'
    return (
        '<svg viewBox="0 0 120 14" width="120" height="14" aria-hidden="true">'
        '<path d="M10 7H110" stroke="#59636e" stroke-width="1"/>'
        f'<path d="M10 2V12" stroke="#59636e"{open_low}/><path d="M110 2V12" stroke="#59636e"{open_high}/>'
        f'<rect x="{at(a) - (1.5 if wide == 3.0 else 0):.1f}" y="3.5" width="{wide:.1f}" height="7" '
        f'fill="{colour}"/></svg>'
    )
