"""Pictures behind the membranes: the product in its window, the sequence of a cleaning, the jet of the reject.

Hand-written SVG with colours of the theme and a text alternative; nothing of the plant is calculated here.
"""

from __future__ import annotations

from typing import Any

from desalbook.notebook import theme
from desalbook.notebook.pressure_pictures import _line, _svg, _text
from desalbook.notebook.water_line_ribbon import number
from desalbook.units import show

__all__ = ["cleaning_picture", "jet_picture", "window_picture"]

_ROWS = (("alkalinity", "Alkalinity"), ("calcium", "Calcium"), ("ccpp", "Precipitation potential"),
         ("lsi", "Langelier index"), ("ph", "pH"))
_WORD = {"holds": "holds", "thin": "thin margin", "fails": "fails"}
_SOLUTION = {"permeate": ("product", "permeate"), "alkaline": ("chemical", "alkaline"), "acid": ("energy", "acid")}


def _mark(x: float, y: float, verdict: str) -> str:
    """A dot for what holds, a diamond for what is thin, a square for what fails: shape says what colour says."""
    ink = theme.var(verdict)
    if verdict == "holds":
        return f'<circle cx="{number(x)}" cy="{number(y)}" r="6" fill="{ink}"/>'
    turn = f' transform="rotate(45 {number(x)} {number(y)})"' if verdict == "thin" else ""
    return f'<rect x="{number(x - 5.5)}" y="{number(y - 5.5)}" width="11" height="11" fill="{ink}"{turn}/>'


def _rect(x: float, y: float, w: float, h: float, ink: str, opacity: float) -> str:
    return (f'<rect x="{number(x)}" y="{number(y)}" width="{number(w)}" height="{number(h)}" '
            f'fill="{theme.var(ink)}" opacity="{opacity}"/>')


def window_picture(plant: Any, units: str = "si", width: int = 760) -> str:
    """Alkalinity, calcium, CCPP, index and pH of the product, each on a scale of its own with its limits.

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
    lines, body, said, y = plant.ledger.lines, [], [], 34.0
    left, right = 210.0, width - 190.0
    for key, title in _ROWS:
        line = lines.get(f"product.{key}")
        if line is None:
            continue
        value, figure, lows, highs, verdicts = float(line.value), line.figure(), [], [], []
        for id, check in lines.items():
            if id.startswith(f"product.{key}.check_product_") and check.sort == "checked":
                limit = float(check.inputs["limit"])
                (highs if id.endswith("_high") else lows).append(limit)
                verdicts.append(check.more["verdict"])
        edges = [*lows, *highs, value]
        low, high = min(edges), max(edges)
        pad = 0.35 * (high - low) or 0.5 * abs(value) or 1.0
        low, high = low - pad, high + pad

        def at(v: float, low: float = low, high: float = high) -> float:
            return left + (right - left) * (v - low) / (high - low)

        verdict = next((v for v in ("fails", "thin") if v in verdicts), "holds")
        if lows or highs:
            a, b = at(lows[0]) if lows else left, at(highs[0]) if highs else right
            body.append(_rect(a, y - 11, b - a, 22, "holds", 0.18))
        body.append(_line(left, y, right, y))
        for limit in (*lows, *highs):
            body += [_line(at(limit), y - 13, at(limit), y + 13, "quiet", "", 1.5),
                     _text(at(limit), y + 27, show(limit, figure.kind, units), "middle", "small")]
        body += [_mark(at(value), y, verdict), _text(16, y + 5, title, "start", "bold"),
                 _text(width - 16, y + 5, f"{figure.show(units)}", "end", "bold", verdict)]
        word = _WORD[verdict] if verdicts else "no limit for this use"
        body.append(_text(width - 16, y + 21, word, "end", "small"))
        said.append(f"{title} {figure.show(units)}, {word}")
        y += 62
    return _svg("window", "The product against its limits", "; ".join(said) + ".", width, y, body)


def cleaning_picture(plant: Any, units: str = "si", width: int = 760) -> str:
    """Sequence of a cleaning of one bank along time.

    Parameters
    ----------
    plant : Sized or Plant
    units : {"si", "us"}
        Taken for the likeness of all pictures; time is in hours in both.
    width : int
    """
    from desalbook.tables import table

    lines, rows = plant.ledger.lines, table("cleaning_steps").rows
    steps, whole = lines["cip.steps"], float(lines["cip.sequence_time"].value)
    left, right, y, now = 16.0, width - 16.0, 62.0, 0.0
    body = [_text(left, 22, f"One bank: {lines['cip.sequence_time'].figure().show(units)}; "
                            f"one train: {lines['cip.train_time'].figure().show(units)} "
                            f"(turns: {lines['cip.turns'].value:.0f})", "start", "bold")]
    said = []
    for n, (key, time) in enumerate(zip(steps.keys, steps.value, strict=True)):
        ink, word = _SOLUTION[rows[key]["solution"].text]
        x0, x1 = (left + (right - left) * t / whole for t in (now, now + float(time)))
        body += [_rect(x0, y, x1 - x0 - 1, 34, ink, 0.85 if "soak" not in key else 0.4),
                 _text((x0 + x1) / 2, y - 6, str(n + 1), "middle", "small"),
                 _text(left + 24, y + 78 + 20 * n, rows[key].title),
                 _text(left, y + 78 + 20 * n, str(n + 1), "start", "small", ink),
                 _text(width / 2, y + 78 + 20 * n, word, "start", "", ink),
                 _text(right, y + 78 + 20 * n, show(float(time), "time.minute", units), "end")]
        said.append(f"{rows[key].title} {show(float(time), 'time.minute', units)}, {word}")
        now += float(time)
    for hour in range(int(whole // 3600) + 1):
        x = left + (right - left) * hour * 3600 / whole
        body += [_line(x, y + 34, x, y + 41), _text(x, y + 54, f"{hour} h", "middle" if hour else "start", "small")]
    height = y + 90 + 20 * len(said)
    return _svg("cleaning", "Sequence of a cleaning", "; ".join(said) + ".", width, height, body)


def jet_picture(plant: Any, units: str = "si", width: int = 760) -> str:
    """The jet of the reject in the sea, to one scale in both directions.

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
    lines = plant.ledger.lines

    def of(id: str) -> float:
        return float(lines[f"outfall.{id}"].value)

    def said_of(id: str) -> str:
        return lines[f"outfall.{id}"].figure().show(units)

    scale = (width - 90.0) / (1.08 * of("near_field"))
    depth, rise, impact, near, layer = (of(k) * scale for k in ("depth", "rise", "impact", "near_field", "layer"))
    top, x0 = 54.0, 44.0
    bed = top + max(depth, rise)
    surface = bed - depth
    body = [
        _text(16, 22, f"Dilution {said_of('dilution_impact')} where it lands, {said_of('dilution')} at the end of the "
                      "near field", "start", "bold"),
        _rect(0, surface, width, depth, "sea", 0.12), _line(0, surface, width, surface, "sea", "", 2),
        _text(width - 8, surface - 6, f"surface, {said_of('depth')} over the port", "end", "small"),
        _line(0, bed, width, bed, "quiet", "", 3),
        f'<path d="M{number(x0)},{number(bed)}C{number(x0 + 0.33 * impact)},{number(bed - 4 / 3 * rise)} '
        f'{number(x0 + 0.67 * impact)},{number(bed - 4 / 3 * rise)} {number(x0 + impact)},{number(bed)}" '
        f'fill="none" stroke="{theme.var("reject")}" stroke-width="6" opacity="0.75"/>',
        f'<path d="M{number(x0 + impact)},{number(bed)}L{number(x0 + near)},{number(bed - layer)}'
        f'L{number(x0 + near)},{number(bed)}Z" fill="{theme.var("reject")}" opacity="0.3"/>',
        _line(x0, bed - rise, x0 + near, bed - rise, "quiet", "4 4"),
        _text(x0 + near, bed - rise - 5, f"top of the jet {said_of('rise')}", "end", "small"),
        _line(x0 + impact, bed, x0 + impact, bed + 10), _line(x0 + near, bed, x0 + near, bed + 10),
        _text(x0 + impact, bed + 25, f"lands at {said_of('impact')}", "middle", "small"),
        _text(x0 + near, bed + 25, f"near field ends at {said_of('near_field')}", "end", "small"),
        _text(x0 + near, bed + 43, f"excess of salt there {said_of('excess[near]')}", "end", "small", "reject"),
        _text(16, bed + 43, "One jet at 60 degrees in still, deep water", "start", "small"),
    ]
    said = (f"Jet that leaves at {said_of('velocity')}: rises {said_of('rise')}, lands at {said_of('impact')}, "
            f"dilution {said_of('dilution_impact')}; near field ends at {said_of('near_field')}, dilution "
            f"{said_of('dilution')}. Holds for one jet at 60 degrees in still, deep water.")
    return _svg("jet", "Jet of the reject", said, width, bed + 56, body)
