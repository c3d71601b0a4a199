"""The voltage when each motor starts.

Hand-written SVG with colours of the theme and a text alternative; nothing of the plant is calculated here.
"""

from __future__ import annotations

from typing import Any

from desalbook import theme
from desalbook.drawings import read, svg
from desalbook.drawings.supply import STARTERS
from desalbook.drawings.svg import number
from desalbook.units import show

__all__ = ["start_dips"]


def start_dips(plant: Any, units: str = "si", width: int = 520) -> str:
    """Voltage dip at the terminals of each motor when it starts, with its limit."""
    of = getattr(plant, "sized", plant).power
    rows = sorted(((c.title, float(c.start_dip), STARTERS[c.starter]) for c in of.circuits.values()
                   if c.start_dip is not None), key=lambda r: -r[1])
    limit = float(plant["limits.voltage_dip_motor"])
    x0, x1, y = 150.0, width - 70.0, 44.0
    top = 1.12 * max([limit, *(r[1] for r in rows)])

    def at(v: float) -> float:
        return x0 + (x1 - x0) * v / top

    words = f"at most {show(limit, 'fraction', trim=True)}"
    body, said = [svg.text(x0, 18, "Voltage dip at the terminals, % of the supply", "start", "bold")], []
    for title, dip, starter in rows:
        y += 0 if not said else 38
        body += [svg.text(x0 - 8, y, title, "end"), svg.text(x0 - 8, y + 15, starter, "end", "small"),
                 f'<rect x="{number(x0)}" y="{number(y - 8)}" width="{number(max(at(dip) - x0, 1))}" height="16" '
                 f'fill="{theme.var("fails" if dip > limit else "energy")}"'
                 f"{read.mark(f'{title}, {starter}: {100 * dip:.1f} %')}/>",
                 svg.text(at(dip) + 6, y + 5, f"{100 * dip:.1f} %", "start", "figures")]
        said.append(f"{title}, {starter}: {100 * dip:.1f} %")
    body += [svg.line(at(limit), 28, at(limit), y + 14, "marginal", "5 4", reads=f"limit, {words}"),
             svg.text(at(limit), y + 30, words, "middle", "small", "marginal")]
    return svg.picture("start-dips", "Voltage when each motor starts", f"{words}; " + "; ".join(said) + ".", width,
                       y + 40, body)
