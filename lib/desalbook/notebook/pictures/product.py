"""The product in its window.

Hand-written SVG with colours of the theme and a text alternative; nothing of the plant is calculated here.
"""

from __future__ import annotations

from typing import Any

from desalbook import theme
from desalbook.drawings import read, svg
from desalbook.drawings.svg import number
from desalbook.units import show

__all__ = ["window_picture"]

_ROWS = (("ph", "pH"), ("alkalinity", "Alkalinity"), ("calcium", "Calcium"), ("ccpp", "Precipitation potential"),
         ("lsi", "Langelier index"), ("chlorine", "Chlorine residual"), ("tds", "TDS"),
         ("chloride", "Chloride"), ("boron", "Boron, with margin"))


def _mark(x: float, y: float, verdict: str, reads: str) -> str:
    """A dot for what holds, a diamond for what is thin, a square for what fails: shape says what colour says."""
    ink, told = theme.var(verdict), read.mark(reads)
    if verdict == "passes":
        return f'<circle cx="{number(x)}" cy="{number(y)}" r="6" fill="{ink}"{told}/>'
    turn = f' transform="rotate(45 {number(x)} {number(y)})"' if verdict == "marginal" else ""
    return f'<rect x="{number(x - 5.5)}" y="{number(y - 5.5)}" width="11" height="11" fill="{ink}"{turn}{told}/>'


def window_picture(plant: Any, units: str = "si", width: int = 720) -> str:
    """Minerals, residual, salts and boron of the product, each on a scale of its own with its limits.

    Parameters
    ----------
    plant : Sized or Plant
    units : {"si", "us"}
    width : int

    Returns
    -------
    str
        HTML. A use without such limits shows the values alone.
    """
    body, said, y = [], [], 34.0
    mine = [(id, x) for id, x in plant.verdicts.items() if id.startswith("product.") and "limit" in x.inputs]
    left, right = 210.0, width - 190.0
    for key, title in _ROWS:
        checks = [x for id, x in mine if id.startswith(f"product.{key}.check")]
        if f"product.{key}" not in plant and not checks:
            continue
        figure = plant[f"product.{key}"] if f"product.{key}" in plant else checks[0].figure()
        value, lows, highs, verdicts = float(figure), [], [], []
        for check in checks:
            limit = float(check.inputs["limit"])
            (highs if check.more["sense"] == "<=" else lows).append(limit)
            verdicts.append(check.more["verdict"])
        lows, highs = [max(lows)] if lows else [], [min(highs)] if highs else []
        edges = [*lows, *highs, value]
        low, high = min(edges), max(edges)
        pad = 0.35 * (high - low) or 0.5 * abs(value) or 1.0
        low, high = low - pad, high + pad
        if not lows and value >= 0:  # what has no lower limit begins at nothing
            low, high = 0.0, 1.3 * max(edges) or 1.0

        def at(v: float, low: float = low, high: float = high) -> float:
            return left + (right - left) * (v - low) / (high - low)

        verdict = next((v for v in ("fails", "marginal") if v in verdicts), "passes")
        if lows or highs:
            a, b = at(lows[0]) if lows else left, at(highs[0]) if highs else right
            body.append(svg.rectangle(a, y - 11, b - a, 22, "passes", 0.18))
        body.append(svg.line(left, y, right, y))
        for limit in (*lows, *highs):
            body += [svg.line(at(limit), y - 13, at(limit), y + 13, "quiet", "", 1.5,
                              f"{title}, limit {show(limit, figure.kind, units, trim=True)}"),
                     svg.text(at(limit), y + 27, show(limit, figure.kind, units, trim=True), "middle", "small")]
        word = verdict if verdicts else "no limit for this use"
        body += [_mark(at(value), y, verdict, f"{title} {figure.show(units)}, {word}"),
                 svg.text(16, y + 5, title, "start", "bold"),
                 svg.text(width - 16, y + 5, f"{figure.show(units)}", "end", "bold", verdict)]
        body.append(svg.text(width - 16, y + 21, word, "end", "small"))
        said.append(f"{title} {figure.show(units)}, {word}")
        y += 54
    return svg.picture("window", "The product against its limits", "; ".join(said) + ".", width, y, body)
