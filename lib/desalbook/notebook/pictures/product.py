"""Pictures downstream of the membranes: the product in its window, the sequence of a cleaning, the jet of the
concentrate.

Hand-written SVG with colours of the theme and a text alternative; nothing of the plant is calculated here.
"""

from __future__ import annotations

from typing import Any

from desalbook import theme
from desalbook.cleaning.solutions import steps as cleaning_steps
from desalbook.notebook.pictures import svg
from desalbook.notebook.pictures.svg import number
from desalbook.units import show

__all__ = ["cleaning_picture", "jet_picture", "window_picture"]

_ROWS = (("ph", "pH"), ("alkalinity", "Alkalinity"), ("calcium", "Calcium"), ("ccpp", "Precipitation potential"),
         ("lsi", "Langelier index"), ("chlorine", "Chlorine residual"), ("tds", "TDS"),
         ("chloride", "Chloride"), ("boron", "Boron, with margin"))
_VERDICT = {"passes": "passes", "marginal": "marginal", "review": "marginal", "fails": "fails"}


def _mark(x: float, y: float, verdict: str) -> str:
    """A dot for what holds, a diamond for what is thin, a square for what fails: shape says what colour says."""
    ink = theme.var(verdict)
    if verdict == "passes":
        return f'<circle cx="{number(x)}" cy="{number(y)}" r="6" fill="{ink}"/>'
    turn = f' transform="rotate(45 {number(x)} {number(y)})"' if verdict == "marginal" else ""
    return f'<rect x="{number(x - 5.5)}" y="{number(y - 5.5)}" width="11" height="11" fill="{ink}"{turn}/>'


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
            body += [svg.line(at(limit), y - 13, at(limit), y + 13, "quiet", "", 1.5),
                     svg.text(at(limit), y + 27, show(limit, figure.kind, units, trim=True), "middle", "small")]
        body += [_mark(at(value), y, verdict), svg.text(16, y + 5, title, "start", "bold"),
                 svg.text(width - 16, y + 5, f"{figure.show(units)}", "end", "bold", verdict)]
        word = verdict if verdicts else "no limit for this use"
        body.append(svg.text(width - 16, y + 21, word, "end", "small"))
        said.append(f"{title} {figure.show(units)}, {word}")
        y += 54
    return svg.picture("window", "The product against its limits", "; ".join(said) + ".", width, y, body)


def cleaning_picture(plant: Any, units: str = "si", width: int = 520) -> str:
    """Sequence of a cleaning of one bank along time.

    Parameters
    ----------
    plant : Sized or Plant
    units : {"si", "us"}
        Time is in hours and minutes in both.
    width : int
    """
    rows = {one.key: one for one in cleaning_steps()}
    steps, whole = plant["cip.steps"], float(plant["cip.sequence_time"])
    left, right, y, now = 16.0, width - 16.0, 78.0, 0.0

    def of(id: str, digits: int | None = None) -> str:
        figure = plant[f"cip.{id}"]
        return show(float(figure), figure.kind, units, digits=digits, trim=True)

    bank, turns = of("sequence_time", 3), int(plant["cip.batches"])
    train = "" if turns == 1 else f", {of('train_time', 3)} for one train in {turns} turns"
    body = [svg.text(left, 22, f"{bank} for one bank{train}", "start", "bold"),
            svg.text(left, 41, f"circulated at {of('flow', 3)} and {of('temperature')}", "start", "small")]
    said = []
    for n, (key, time) in enumerate(zip(steps.keys, steps.values, strict=True)):
        solution = rows[key].solution
        ink = solution.role
        word = f"{solution.title}, pH {of(f'{solution.step}_ph')}" if solution.step else solution.title
        minutes = show(float(time), "time.minute", units, trim=True)
        x0, x1 = (left + (right - left) * t / whole for t in (now, now + float(time)))
        body += [svg.rectangle(x0, y, x1 - x0 - 1, 30, ink, 0.85 if "soak" not in key else 0.4),
                 svg.text((x0 + x1) / 2, y - 6, str(n + 1), "middle", "small"),
                 svg.text(left + 16, y + 78 + 20 * n, str(n + 1), "end", "", ink),
                 svg.text(left + 26, y + 78 + 20 * n, rows[key].title),
                 svg.text(left + 250, y + 78 + 20 * n, word, "start", "", ink),
                 svg.text(right, y + 78 + 20 * n, minutes, "end")]
        said.append(f"{rows[key].title} {minutes}, {word}")
        now += float(time)
    for hour in range(int(whole // 3600) + 1):
        x = left + (right - left) * hour * 3600 / whole
        body += [svg.line(x, y + 30, x, y + 37),
                 svg.text(x, y + 51, f"{hour} h", "middle" if hour else "start", "small")]
    height = y + 88 + 20 * (len(said) - 1)
    return svg.picture("cleaning", "Sequence of a cleaning", f"{bank} for one bank{train}: {'; '.join(said)}.", width,
                       height, body)


def jet_picture(plant: Any, units: str = "si", width: int = 520) -> str:
    """The jet of the concentrate in the sea, to one scale in both directions.

    Parameters
    ----------
    plant : Sized or Plant
    units : {"si", "us"}
    width : int

    Returns
    -------
    str
        HTML. Rise, landing and end of the near field are the record's; the curve between them is a sketch.
    """

    def of(id: str) -> float:
        return float(plant[f"outfall.{id}"])

    def said_of(id: str) -> str:
        return show(of(id), plant[f"outfall.{id}"].kind, units, digits=3, trim=True)

    scale = (width - 60.0) / (1.04 * of("near_field"))
    depth, rise, impact, near, layer = (of(k) * scale for k in ("depth", "rise", "impact", "near_field", "layer"))
    top, x0 = 62.0, 28.0
    bed = top + max(depth, rise)
    surface, end = bed - depth, width - 8.0
    check = plant.verdicts["outfall.excess.check"]
    word = check.more["verdict"]
    limit = show(float(check.inputs["limit"]), check.figure().kind, units, trim=True)
    excess = f"excess of salt there {said_of('excess[near]')}, at most {limit}: {word}"
    body = [
        svg.text(16, 22, f"Dilution {said_of('dilution_impact')} where it lands, {said_of('dilution')} at the end of "
                 "the near field", "start", "bold"),
        svg.rectangle(0, surface, width, depth, "sea", 0.12), svg.line(0, surface, width, surface, "sea", "", 2),
        svg.text(end, surface - 7, f"surface, {said_of('depth')} over the port", "end", "small"),
        svg.line(0, bed, width, bed, "quiet", "", 3),
        f'<path d="M{number(x0)},{number(bed)}C{number(x0 + 0.33 * impact)},{number(bed - 4 / 3 * rise)} '
        f'{number(x0 + 0.67 * impact)},{number(bed - 4 / 3 * rise)} {number(x0 + impact)},{number(bed)}" '
        f'fill="none" stroke="{theme.var("reject")}" stroke-width="6" opacity="0.75"/>',
        f'<path d="M{number(x0 + impact)},{number(bed)}L{number(x0 + near)},{number(bed - layer)}'
        f'L{number(x0 + near)},{number(bed)}Z" fill="{theme.var("reject")}" opacity="0.3"/>',
        svg.line(x0, bed - rise, x0 + near, bed - rise, "quiet", "4 4"),
        svg.text(end, bed - rise + 16, f"top of the jet {said_of('rise')}", "end", "small"),
        svg.text(x0 + near - 6, bed - layer / 2 + 4, f"layer {said_of('layer')}", "end", "small"),
        *(svg.line(x, bed, x, bed + 9) for x in (x0, x0 + impact, x0 + near)),
        svg.text(x0 - 12, bed + 24, f"port, {said_of('velocity')}", "start", "small"),
        svg.text(x0 + impact, bed + (24 if impact > 150 else 42), f"lands at {said_of('impact')}", "middle", "small"),
        svg.text(end, bed + 24, f"near field ends at {said_of('near_field')}", "end", "small"),
        svg.text(16, bed + 64, excess, "start", "", _VERDICT.get(check.more["verdict"], "quiet")),
        svg.text(16, bed + 82, "one jet at 60 degrees in still, deep water", "start", "small"),
    ]
    said = (f"Jet that leaves at {said_of('velocity')}: rises {said_of('rise')}, lands at {said_of('impact')}, "
            f"dilution {said_of('dilution_impact')}; near field ends at {said_of('near_field')}, dilution "
            f"{said_of('dilution')}, {excess}. Holds for one jet at 60 degrees in still, deep water.")
    return svg.picture("jet", "Jet of the concentrate", said, width, bed + 90, body)
