"""What a cubic metre costs by part, and what a plant costs by item.

Hand-written SVG with colours of the theme and a text alternative; nothing of the plant is calculated here.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from desalbook import theme
from desalbook.drawings import read, svg
from desalbook.drawings.svg import number
from desalbook.units import show, to_display, unit_label

__all__ = ["capital_bars", "water_bars"]

LARGEST = 10
"""Items that have a bar of their own; the others share one."""
_ROLE = {"year_energy": "energy", "year_chemicals": "chemical", "year_capital": "sea"}


def water_bars(plant: Any, units: str = "si", width: int = 520) -> str:
    """Cost of water by part, largest first, with the sum and its band."""
    of = getattr(plant, "sized", plant).cost
    currency = str(plant["energy.currency"])
    unit = unit_label("money per volume", units).replace("1/", f"{currency}/").replace("m3", "m\N{SUPERSCRIPT THREE}")
    rows = [(r["title"], to_display(r["water_cost"], "money per volume", units), _ROLE.get(r["key"], "product"))
            for r in of.rows if r["group"] == "year" and r["water_cost"] > 0]

    def value(figure: Any) -> str:
        return show(float(figure), "money per volume", units, unit=False, digits=3)

    head = f"Cost of water {value(of.water)} {unit}"
    band = f"class {plant['cost.estimate_class']}, {value(of.water_low)} to {value(of.water_high)}"
    return _bars("water-cost", "Cost of water by part", head, band, sorted(rows, key=lambda r: -r[1]), width, unit)


def capital_bars(plant: Any, units: str = "si", width: int = 520) -> str:
    """Capital by item and by part of the works, largest first, with the sum and its band."""
    of = getattr(plant, "sized", plant).cost
    currency = str(plant["energy.currency"])
    items = sorted((r for r in of.rows if r["group"] == "equipment"), key=lambda r: -r["capital"])
    rows = [(r["title"].partition(":")[0], r["capital"] / 1e3, "equipment") for r in items[:LARGEST]]
    if rest := items[LARGEST:]:
        rows.append((f"{len(rest)} other items", sum(r["capital"] for r in rest) / 1e3, "equipment"))
    rows += [(r["title"], r["capital"] / 1e3, "works")
             for r in sorted((r for r in of.rows if r["group"] == "works" and r["capital"] > 0),
                             key=lambda r: -r["capital"])]

    def value(figure: Any) -> str:
        return show(float(figure) / 1e3, "factor", digits=3)

    head = f"Capital {value(of.capital)} thousand {currency}"
    band = f"class {plant['cost.estimate_class']}, {value(of.capital_low)} to {value(of.capital_high)}"
    roles = {"equipment": "sea", "works": "product"}
    return _bars("capital", "Capital by item", head, band, [(t, v, roles[g]) for t, v, g in rows], width,
                 f"thousand {currency}")


def _bars(name: str, title: str, head: str, band: str, rows: Sequence[tuple[str, float, str]], width: int,
          unit: str) -> str:
    """Bars one below the other; the value stands behind each."""
    x0, x1, y = 254.0, width - 62.0, 62.0
    top = max(r[1] for r in rows)
    body = [svg.text(8, 18, head, "start", "bold"), svg.text(8, 36, f"{band}; a comparison, not a quotation", "start",
                                                             "small")]
    said = []
    for n, (words, value, role) in enumerate(rows):
        y += 0 if n == 0 else 22
        figure = show(value, "factor", digits=3)
        end = x0 + (x1 - x0) * value / top
        body += [svg.text(x0 - 8, y + 5, words, "end"),
                 f'<rect x="{number(x0)}" y="{number(y - 7)}" width="{number(max(end - x0, 1))}" height="14" '
                 f'fill="{theme.var(role)}"{read.mark(f"{words}: {figure} {unit}")}/>',
                 svg.text(end + 6, y + 5, figure, "start", "figures")]
        said.append(f"{words} {figure}")
    return svg.picture(name, title, f"{head}, {band}; " + "; ".join(said) + ".", width, y + 24, body)
