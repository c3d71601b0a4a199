"""The chemicals along the plant: where each enters, how much of it, how long its store lasts, what to watch.

Hand-written SVG with colours of the theme and a text alternative; nothing of the plant is calculated here.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from desalbook import summary, theme
from desalbook.dosing import INTO_PRODUCT, PLACES, STATIONS, STEPS, Into
from desalbook.drawings import read, svg
from desalbook.drawings.chart import ticks
from desalbook.drawings.svg import number
from desalbook.trail.ledger import Line
from desalbook.units import show, to_display

__all__ = ["dosing_picture"]

_ORDER = ("fails", "review", "marginal", "passes")
_RAIL, _LEFT, _AMOUNT, _STORE = 24.0, 46.0, 394.0, 414.0
_HIGH, _FLAT = 62.0, 26.0


def dosing_picture(plant: Any, units: str = "si", width: int = 720) -> str:
    """Each chemical at its place from the sea to the product, with dose, mass of a day, store and deliveries.

    Parameters
    ----------
    plant : Sized or Plant
    units : {"si", "us"}
    width : int

    Returns
    -------
    str
        HTML with one SVG. A check that does not hold stands under its chemical with what to do.
    """
    rows = {r["key"]: r for r in plant.chemicals.to_dict("records") if r["dose"] == r["dose"]}
    if not rows:
        return '<p class="desalbook">Nothing is dosed in this plant.</p>'
    right = width - 112.0
    worst, asked = _worst(plant.verdicts.values()), float(plant["dosing.storage_time"])
    lasts = {k: float(plant[f"{k}.storage_autonomy"]) for k in rows if f"{k}.storage_autonomy" in plant}
    most = 1.04 * max([asked, *lasts.values()])

    def at(t: float) -> float:
        return _STORE + (right - _STORE) * t / most

    body, over, said, y, product = [], [], [], 64.0, 0.0
    for name, title in _course(plant, rows):
        if name not in rows:
            if name == "product":
                product = y
            body += [svg.line(_RAIL - 9, y, _RAIL + 9, y, "quiet", "", 2),
                     svg.text(_LEFT, y + 4, title, "start", "small")]
            y += _FLAT
            continue
        row = rows[name]
        verdict, watched = worst.get(name, ("passes", []))
        y += 14
        body += [svg.text(_LEFT, y + 1, title, "start", "bold"),
                 svg.text(_LEFT, y + 18, row["chemical"], "start", "small")]
        dose = f"{show(row['dose'], 'concentration', units, digits=3)} {row['basis']}".strip()
        day = show(row["mean_mass_rate"], "mass flow.day", units, digits=3)
        body += [svg.text(_AMOUNT, y + 1, dose, "end"), svg.text(_AMOUNT, y + 18, day, "end", "small")]
        told = f"{title}, {row['chemical']}, {dose}, {day}"
        over.append(_quill(y, told))
        if name in lasts:
            kept = show(row["store"], "volume", units, trim=True)
            days = show(lasts[name], "time.day", units, digits=3)
            each = show(row["delivery_interval"], "time.day", units, digits=3)
            body.append(svg.line(at(asked), y - 3, at(asked), y + 12, "quiet", "", 2))
            body += _store(at, y, lasts[name], row["delivery_interval"], f"{kept} lasts {days}",
                           f"{row['delivery']}, every {each}")
            told += f", bulk storage of {kept} lasts {days}, {row['delivery'].lower()} every {each}"
        if name in worst:
            role, word = theme.of_verdict(verdict), verdict
            body.append(svg.text(width - 8, y + 1, f"{role.mark} {word}", "end", "", role.name))
            told += f", {word}"
        for words in watched:
            body.append(svg.text(_LEFT, y + 38, words, "start", "small", theme.of_verdict(verdict).name))
            told += f": {words}"
            y += 18
        said.append(told)
        y += _HIGH - 14
    bottom = y + 6
    head = [svg.text(_LEFT, 20, "Enters here", "start", "bold"),
            svg.text(_AMOUNT, 20, "Dose, mass of a day", "end", "bold"),
            svg.text(_STORE, 20, "Storage and deliveries", "start", "bold"),
            svg.text(width - 8, 20, "Checks", "end", "bold"),
            *_axis(at, bottom, asked, most, units)]
    rail = [_water(48, product or bottom - 20, "sea", 12), *([_water(product, bottom - 20, "product", 6)]
                                                             if product else [])]
    return svg.picture("dosing", "Chemicals along the plant", "; ".join(said) + ".", width, bottom + 42,
                [*head, *rail, *body, *over])


def _course(plant: Any, rows: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """Places in the order the water passes them: chemicals that are dosed, and what stands between them."""
    begin, end = "injection.points[", "].travel_time"
    places = [k[len(begin):-len(end)] for k in plant.ids if k.startswith(begin) and k.endswith(end)]
    present = {*rows, *(("filters",) if plant.sized.pretreated.battery is not None else ())}
    yield "sea", "Sea"
    for name in [*[n for n in rows if n in PLACES and n not in INTO_PRODUCT and n not in places], *places]:
        if name in rows or (name in STATIONS and (not (needs := STATIONS[name].needs) or needs in present)):
            yield name, rows[name]["title"] if name in rows else PLACES[name]
    yield "product", "Membranes"
    minerals = [n for n in rows if n not in PLACES]
    after = [n for n in rows if n in INTO_PRODUCT and n not in places]
    first = [n for n in after if STEPS[n].into is Into.PERMEATE]
    for name in [*first, *minerals, *(n for n in after if n not in first)]:
        yield name, rows[name]["title"]


def _worst(verdicts: Iterable[Line]) -> dict[str, tuple[str, list[str]]]:
    """Worst verdict of each chemical, and its checks of that verdict in words unless they hold."""
    found: dict[str, list[Line]] = {}
    for line in verdicts:
        head, _, rest = line.id.partition(".")
        inside = rest.partition("[")[2].partition("]")[0].split("-") if head in ("injection",
                                                                                 "chemical_storage") else ()
        for name in (head, *inside):
            if name in PLACES:
                found.setdefault(name, []).append(line)
    out = {}
    for name, checks in found.items():
        verdict = next(v for v in _ORDER if any(c.more["verdict"] == v for c in checks))
        words = [f"{c.title}: {summary.said(c.more)}".partition(" · ")[0] for c in checks
                 if c.more["verdict"] == verdict != "passes"]
        out[name] = verdict, list(dict.fromkeys(words))
    return out


def _quill(y: float, told: str) -> str:
    """The chemical's mark on the water."""
    ink = theme.var("chemical")
    return (f'<path d="M{number(_RAIL)},{number(y - 3)}h{number(_LEFT - _RAIL - 6)}" stroke="{ink}" fill="none"/>'
            f'<path d="M{number(_RAIL - 6)},{number(y - 3)}l6,-6l6,6l-6,6z" fill="{ink}" '
            f'stroke="var(--db-ground)"{read.mark(told)}/>')


def _water(top: float, bottom: float, ink: str, wide: float) -> str:
    return (f'<rect x="{number(_RAIL - wide / 2)}" y="{number(top)}" width="{number(wide)}" '
            f'height="{number(bottom - top)}" rx="3" fill="{theme.var(ink)}" opacity="0.45"/>')


def _store(at: Any, y: float, lasts: float, interval: float, over: str, under: str) -> list[str]:
    """A bar as long as the full store lasts; a stroke in it at each delivery."""
    x0, x1 = at(0.0), at(lasts)
    parts = [svg.text(x0, y - 8, over, "start", "small"),
             f'<rect x="{number(x0)}" y="{number(y)}" width="{number(x1 - x0)}" height="9" '
             f'fill="{theme.var("chemical")}" opacity="0.55"{read.mark(f"{over}; {under}")}/>',
             svg.text(x0, y + 25, under, "start", "small")]
    many = int(lasts / interval * (1 + 1e-9)) if interval else 0
    parts += [svg.line(at(k * interval), y - 2, at(k * interval), y + 11, "chemical", "", 2)
              for k in range(1, many + 1 if many <= 40 else 0)]
    return parts


def _axis(at: Any, bottom: float, asked: float, most: float, units: str) -> list[str]:
    """Days at the foot, and where the supply that is asked for ends."""
    parts = [svg.line(at(asked), 32, at(asked), 46, "quiet", "", 2), svg.line(at(asked), bottom - 6, at(asked), bottom,
                                                                         "quiet", "", 2),
             svg.text(at(asked) + 5, 43, f"required {show(asked, 'time.day', units, trim=True)}", "start", "small"),
             svg.line(at(0.0), bottom, at(most), bottom)]
    for day in ticks(0.0, float(to_display(most, "time.day")), 5):
        x = at(day * 86400.0)
        parts += [svg.line(x, bottom, x, bottom + 5), svg.text(x, bottom + 18, f"{day:g}", "middle", "small")]
    words = "days a full tank lasts; a stroke in a bar is a delivery"
    return [*parts, svg.text(at(most / 2), bottom + 35, words, "middle", "small")]
