"""Pictures of the RO array: profiles along the vessel, and the envelope of temperature and age.

Hand-written SVG with colours of the theme and a text alternative; the numbers are those of the plant's tables.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from desalbook import theme
from desalbook.drawings import read, svg
from desalbook.drawings.chart import shown, tick
from desalbook.drawings.svg import number
from desalbook.plant.vessel_table import envelope, vessel_profile
from desalbook.units import show, unit_label
from desalbook.units.kinds import KINDS

__all__ = ["envelope_picture", "governing_vessel", "vessel_picture"]

# title, axis kind, the check whose limit is drawn, its lines: column, role, dash, words, side of the words
_EM = 6.6  # px, a letter of the small text, on the average
PANELS = (
    ("Flux", "flux", "lead_flux", (("flux", "product", "", "", ""),)),
    ("Pressure", "gauge pressure", "", (("pressure", "energy", "", "feed side", "over"),
                                        ("osmotic_wall", "reject", "2 3", "osmotic, at the wall", "over"),
                                        ("osmotic", "sea", "6 4", "osmotic, in the bulk", "under"))),
    ("Salinity of the feed side", "salinity", "", (("salinity", "sea", "", "", ""),)),
    ("CP factor", "factor", "beta_max", (("beta", "energy", "", "", ""),)),
)


def _limit(plant: Any, id: str) -> float | None:
    """The limit of a check in force, SI, or none."""
    line = plant.verdicts.get(id)
    found = None if line is None else line.more.get("limit")
    if found is None and line is not None and "limit" in line.inputs:  # asked for a second look, not judged
        found = line.inputs["limit"]
    return None if found is None else float(found)


def vessel_picture(plant: Any, corner: str = "design-aged", units: str = "si", width: int = 520) -> str:
    """Flux, pressures, salinity and polarisation of each element along the vessels of a train.

    Parameters
    ----------
    plant : Sized or Plant
    corner : str
        Such as ``hot-new``.
    units : {"si", "us"}

    Returns
    -------
    str
        HTML with one SVG. Stages stand one behind the other, with a gap between them.
    """
    rows = vessel_profile(plant, corner)
    place, starts, at = [], {}, 0.0
    for stage, group in rows.groupby("stage", sort=False):
        starts[str(stage)] = at + 1
        place += [at + 1 + i for i in range(len(group))]
        at += len(group) + 0.7
    x, last = np.array(place), at
    body, said = [], []
    wide, tall = (width - 110.0) / 2, 128.0
    for i, (title, kind, check, lines) in enumerate(PANELS):
        x0, y0 = 42.0 + (i % 2) * (wide + 60), 30.0 + (i // 2) * (tall + 58) + tall
        columns = [(shown(rows[c], kind, units), *more) for c, *more in lines]
        low = 1.0 if kind == "factor" else 0.0
        most = _limit(plant, f"membrane.{check}.check") if check else None
        limit = None if most is None else float(shown(most, kind, units)[0])
        top = max(*(float(np.max(v)) for v, *_ in columns), limit or 0.0)
        top = low + (top - low) * 1.18

        def point(a: float, b: float, x0: float = x0, y0: float = y0, low: float = low,
                  top: float = top) -> tuple[float, float]:
            return x0 + wide * a / last, y0 - tall * (b - low) / (top - low)

        unit = unit_label(KINDS[kind], units, True)
        body += [svg.line(x0, y0, x0 + wide, y0), svg.line(x0, y0, x0, y0 - tall),
                 svg.text(x0 - 36, y0 - tall - 10, f"{title}, {unit}" if unit else title, "start", "bold")]
        for v in svg.ticks_from_zero(top - low):
            y = point(0, low + v)[1]
            body += [svg.line(x0 - 4, y, x0, y), svg.text(x0 - 7, y + 4, tick(low + v), "end", "small")]
        for a, e in zip(x, rows["element"], strict=True):
            body.append(svg.text(point(a, low)[0], y0 + 16, str(int(e)), "middle", "small"))
        if i // 2:
            body.append(svg.text(x0 + wide / 2, y0 + 34, "element, from the inlet", "middle", "small"))
        if limit is not None and most is not None:
            y = point(0, limit)[1]
            words = f"limit {show(most, kind, units, trim=True, pretty=True)}"
            body += [svg.line(x0, y, x0 + wide, y, "fails", "5 3", 1.3, f"{title}, {words}"),
                     svg.text(x0 + wide, y - 5, words,
                           "end", "small", "fails")]
        for values, ink, dash, words, side in columns:
            run: list[tuple[float, float]] = []
            for stage in starts:
                mine = (rows["stage"] == stage).to_numpy()
                ends = [point(a, b) for a, b in zip(x[mine], values[mine], strict=True)]
                run += ends
                more = f' stroke-dasharray="{dash}"' if dash else ""
                path = "L".join(f"{number(a)},{number(b)}" for a, b in ends)
                name = ", ".join(t for t in (f"stage {stage}" if len(starts) > 1 else "", words) if t)
                told = read.curve(name, "element", f"{title.lower() if title[1:2].islower() else title}, {unit}"
                                  if unit else title, rows["element"][mine], values[mine])
                body.append(f'<path d="M{path}" fill="none" stroke="{theme.var(ink)}" stroke-width="2"{more}{told}/>')
                body += [f'<circle cx="{number(a)}" cy="{number(b)}" r="3" fill="{theme.var(ink)}"/>' for a, b in ends]
            if side:
                words = f"{theme.ROLES[ink].mark} {words}"
                a = x0 + 5 if side == "over" else x0 + wide - _EM * len(words)  # clear of the line as far as it reaches
                reach = np.interp(np.linspace(a, a + _EM * len(words), 9), *np.array(run).T)
                body.append(svg.text(x0 + 5, float(reach.min()) - 8, words, "start", "small", ink)
                            if side == "over" else
                            svg.text(x0 + wide, float(reach.max()) + 17, words, "end", "small", ink))
    for stage, group in rows.groupby("stage", sort=False):
        first, end = group.iloc[0], group.iloc[-1]
        name = f"Stage {stage}: " if len(starts) > 1 else ""
        said.append(f"{name}flux falls from {show(first['flux'], 'flux', units)} in element {int(first['element'])} to "
                    f"{show(end['flux'], 'flux', units)} in element {int(end['element'])}; pressure "
                    f"{show(first['pressure'], 'gauge pressure', units)} to "
                    f"{show(end['pressure'], 'gauge pressure', units)}, osmotic pressure at the wall "
                    f"{show(first['osmotic_wall'], 'gauge pressure', units)} to "
                    f"{show(end['osmotic_wall'], 'gauge pressure', units)}; salt per water "
                    f"{show(first['salinity'], 'salinity', units)} to {show(end['salinity'], 'salinity', units)}; "
                    f"polarisation {first['beta']:.3f} to {end['beta']:.3f}.")
    return svg.picture("vessel", f"Along the vessels, {corner}", " ".join(said), width, 2 * (tall + 58) + 12, body)


def governing_vessel(plant: Any, units: str = "si") -> str:
    """Flux, pressures, salinity and polarisation along a vessel, cold and aged."""
    return vessel_picture(plant, "cold-aged", units)


def envelope_picture(plant: Any, units: str = "si", width: int = 520) -> str:
    """Feed pressure and permeate boron over temperature, new and aged, with what governs marked.

    Returns
    -------
    str
        HTML with one SVG. The bar at the coldest water spans both ends of the usual activation energy of water.
    """
    rows = envelope(plant)
    corners, ends = rows[~rows["case"].str.contains("mol")], rows[rows["case"].str.contains("mol")]
    wide, tall = (width - 206.0) / 2, 190.0
    temperature = shown(corners["temperature"], "temperature", units)
    left, right = float(np.min(temperature)), float(np.max(temperature))
    span = right - left or 1.0
    body = []
    for i, (column, kind, title, mark, check, of) in enumerate((
            ("feed_pressure", "gauge pressure", "Feed pressure", "pressure", "membrane.feed_pressure.check", "element"),
            ("permeate_boron", "concentration as B", "Boron", "quality", "product.boron.check_limit", "product"))):
        x0, y0 = 42.0 + i * (wide + 110), 34.0 + tall
        values = shown(corners[column], kind, units)
        every = [*values, *shown(ends[column], kind, units)]
        step = svg.ticks_from_zero(float(np.max(every)))[1] / 4
        low = step * np.floor(float(np.min(every)) / step - 1) if i == 0 else 0.0
        most = _limit(plant, check)
        limit = None if most is None else float(shown(most, kind, units)[0])
        far = limit is not None and limit > 1.35 * float(np.max(every))
        top = max(float(np.max(every)), 0.0 if limit is None or far else limit)
        top = low + (top - low) * 1.14

        def point(a: float, b: float, x0: float = x0, y0: float = y0, low: float = low,
                  top: float = top) -> tuple[float, float]:
            return x0 + wide * (0.16 + 0.76 * (a - left) / span), y0 - tall * (b - low) / (top - low)

        body += [svg.line(x0, y0, x0 + wide, y0), svg.line(x0, y0, x0, y0 - tall),
                 svg.text(x0 - 36, y0 - tall - 14, f"{title}, {unit_label(KINDS[kind], units, True)}", "start", "bold"),
                 svg.text(x0 + wide / 2, y0 + 36, f"water, {unit_label(KINDS['temperature'], units, True)}", "middle",
                       "small")]
        if limit is not None and most is not None:
            y = y0 - tall + 2 if far else point(left, limit)[1]
            said_so = f"limit of the {of} {show(most, kind, units, trim=True).split(' as ')[0]}"
            body.append(svg.text(x0 + wide + 44, y - 5, f"{'↑ ' if far else ''}{said_so}", "end", "small", "fails"))
            if not far:
                body.append(svg.line(x0, y, x0 + wide, y, "fails", "5 3", 1.3, said_so))
        for v in svg.ticks_from_zero(top - low):
            y = point(left, low + v)[1]
            body.append(svg.line(x0 - 4, y, x0, y))
            if limit is None or abs(y + 9 - point(left, limit)[1]) > 12:  # else the limit's words stand there
                body.append(svg.text(x0 - 8, y + 4, tick(low + v), "end", "small"))
        for v in np.unique(temperature):
            body.append(svg.text(point(v, low)[0], y0 + 18, tick(v), "middle", "small"))
        for age, ink, dash in (("new", "product", "6 4"), ("aged", "energy", "")):
            mine = (corners["age"] == age).to_numpy()
            order = np.argsort(temperature[mine])
            points = [point(a, b) for a, b in zip(temperature[mine][order], values[mine][order], strict=True)]
            more = f' stroke-dasharray="{dash}"' if dash else ""
            path = "L".join(f"{number(a)},{number(b)}" for a, b in points)
            told = read.curve(age, f"water, {unit_label(KINDS['temperature'], units)}",
                              f"{title.lower()}, {unit_label(KINDS[kind], units)}", temperature[mine][order],
                              values[mine][order])
            body.append(f'<path d="M{path}" fill="none" stroke="{theme.var(ink)}" stroke-width="2"{more}{told}/>')
            full = theme.var(ink) if age == "aged" else "var(--db-ground)"
            body += [f'<circle cx="{number(a)}" cy="{number(b)}" r="3.5" fill="{full}" stroke="{theme.var(ink)}" '
                     'stroke-width="1.5"/>' for a, b in points]
            body.append(svg.text(points[-1][0] + 12, points[-1][1] + (2 if age == "aged" else 8),
                              f"{'●' if age == 'aged' else '○'} {age}", "start", "small", ink))
        if column == "feed_pressure":
            a = float(shown(ends["temperature"], "temperature", units)[0])
            p = shown(ends[column], kind, units)
            words = " and ".join(show(e, "molar energy", units, digits=3, trim=True) for e in ends["water_activation"])
            (x, y1), (_, y2) = point(a, p[0]), point(a, p[1])
            body += [svg.line(x - 14, y1, x - 14, y2, "quiet", "", 3), svg.line(x - 18, y1, x - 10, y1),
                     svg.line(x - 18, y2, x - 10, y2),
                     svg.text(6, y0 + 62, f"Bar: aged, activation energy of the permeability to water {words}", "start",
                           "small")]
        for k in np.flatnonzero([mark in str(g) for g in corners["governs"]]):
            x, y = point(temperature[k], values[k])
            at = y - 10
            if limit is not None and not far and abs(at - 4 - (line := point(left, limit)[1])) < 13:
                at = line + 17 if line + 17 <= y + 4 else y + 21  # the limit runs where the word would be
            body += [f'<circle cx="{number(x)}" cy="{number(y)}" r="8" fill="none" stroke="{theme.var("fails")}" '
                     'stroke-width="1.6"/>', svg.text(x + (12 if x < x0 + wide / 2 else -12), at, "governs",
                                                   "start" if x < x0 + wide / 2 else "end", "small bold")]
    said = [f"{r['case']}: {show(r['feed_pressure'], 'gauge pressure', units)}, boron "
            f"{show(r['permeate_boron'], 'concentration as B', units)}"
            + (f", governs {r['governs']}" if r["governs"] else "") for r in rows.to_dict("records")]
    return svg.picture("envelope", "Envelope of temperature and age", "; ".join(said) + ".", width, tall + 106, body)
