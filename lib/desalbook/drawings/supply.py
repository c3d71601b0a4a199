"""The supply as a single line.

Hand-written SVG with colours of the theme and a text alternative; nothing of the plant is calculated here.
"""

from __future__ import annotations

from typing import Any

from desalbook import theme
from desalbook.drawings import svg
from desalbook.drawings.svg import number
from desalbook.units import show

__all__ = ["STARTERS", "single_line"]

STARTERS = {"direct": "direct", "soft": "soft starter", "drive": "drive", "": "no motor"}
"""What each starter is called."""
_STEP = 19.0


def single_line(plant: Any, units: str = "si", width: int = 520) -> str:
    """Network, transformer, busbar, panels and their loads, with rating, starter, cable and device of each.

    Parameters
    ----------
    plant : Sized or Plant
    units : {"si", "us"}
    width : int

    Returns
    -------
    str
        HTML with one SVG.
    """
    of = getattr(plant, "sized", plant).power
    trains = int(float(getattr(plant, "sized", plant).duty.trains))
    x, spine = 26.0, 60.0
    level = show(float(plant["power.source_fault_level"]) / 1e6, "factor", trim=True)
    body = [svg.text(spine, 18, f"Network, fault level {level} MVA"),
            svg.line(x, 8, x, 34, "energy", "", 2)]
    rating = show(of.transformer, "apparent power", units, trim=True)
    count = int(float(of.transformers))
    words = (f"{f'{count} transformers of ' if count > 1 else 'Transformer '}{rating}, "
             f"{show(plant['power.impedance_fraction'], 'fraction', trim=True)}, "
             f"loaded {show(of.loading, 'fraction', digits=3)}")
    for y in (40.0, 50.0):
        body.append(f'<circle cx="{number(x)}" cy="{number(y)}" r="8" fill="none" stroke="{theme.var("energy")}" '
                    'stroke-width="2"/>')
    body += [svg.text(spine, 50, words), svg.line(x, 58, x, 76, "energy", "", 2),
             svg.line(10, 76, width - 10, 76, "energy", "", 4)]
    level = show(of.voltage, "voltage", units, trim=True)
    fault = show(float(of.fault_current) / 1e3, "factor", digits=3)
    bar = f"{level}, short circuit {fault} kA"
    body.append(svg.text(width - 10, 68, bar, "end", "small"))
    said = [f"{words}; {bar}"]
    metered = {m.key: m for m in getattr(plant, "sized", plant).metering.meters}
    main = metered["incomer"]
    body += [_meter(x, 67), svg.text(spine, 68, f"Meter, {_ratio(main)}", "start", "small")]
    said.append(f"energy meter {_ratio(main)} at the incomer")
    circuits = of.circuits if of.medium is None else of.circuits | of.medium.circuits
    if of.medium is not None:
        high = (f"Beside it: transformer {show(of.medium.transformer, 'apparent power', units, trim=True)} to "
                f"{show(of.medium.voltage, 'voltage', units, trim=True)}")
        body.append(svg.text(spine, 34, high))
        said.append(high)
    y, cols = 100.0, (216.0, 284.0, 366.0, 448.0, width - 10.0)
    for at, head in zip(cols, ("duty + standby", "rating", "start", "cable, mm\N{SUPERSCRIPT TWO}", "device, A"),
                        strict=True):
        body.append(svg.text(at, y, head, "end", "small"))
    for panel, name in (("train", f"{trains} train panels, each" if trains > 1 else "Train panel"),
                        ("common", "Common panel")):
        feeder = of.feeders.get(panel)
        rows = [r for r in of.rows if r["panel"] == panel]
        if not rows:
            continue
        y += _STEP + 6
        top = y
        body.append(svg.text(spine, y, name, "start", "bold"))
        if feeder is not None:
            if panel in metered:
                body.append(_meter((x + spine - 6) / 2, y - 4))
                said.append(f"{name}: energy meter {_ratio(metered[panel])}")
            body += [svg.text(cols[3], y, _cable(feeder), "end", "figures"),
                     svg.text(cols[4], y, f"{float(feeder.device):g}", "end", "figures")]
            said.append(f"{name}: feeder {_cable(feeder)} mm2, device {float(feeder.device):g} A")
        for row in rows:
            y += _STEP
            circuit = circuits.get(row["key"])
            run = f"{row['running']:g} + {row['spare']:g}"
            size = show(row["rating"], "power", units, trim=True) if row["rating"] is not None else show(
                row["electric_power"], "power.electric", units, digits=3, trim=True)
            start = STARTERS[circuit.starter] if circuit is not None else "medium voltage"
            if row["voltage_level"] == "medium" and of.medium is not None:
                start = f"{start}, {show(of.medium.voltage, 'voltage', units, trim=True)}"
            body += [svg.line(spine - 16, y - 4, spine - 2, y - 4), svg.text(spine, y, row["title"]),
                     svg.text(cols[0], y, run, "end", "figures"), svg.text(cols[1], y, size, "end", "figures"),
                     svg.text(cols[2], y, start, "end")]
            if circuit is not None:
                body += [svg.text(cols[3], y, _cable(circuit), "end", "figures"),
                         svg.text(cols[4], y, f"{float(circuit.device):g}", "end", "figures")]
            said.append(f"{row['title']}, {run}, {size}, {start}"
                        + (f", cable {_cable(circuit)} mm2" if circuit is not None else "")
                        + (", energy meter" if row["key"] in metered else ""))
            if row["key"] in metered:
                body.append(_meter(spine - 9, y - 4))
        body += [svg.line(x, 76 if panel == "train" else top - 4, x, top - 4), svg.line(x, top - 4, spine - 6, top - 4),
                 svg.line(spine - 16, top + 4, spine - 16, y - 4)]
        if panel == "train":
            body.append(svg.line(x, top - 4, x, y + _STEP + 2))
    y += _STEP + 6
    body += [_meter(x, y - 4), svg.text(x + 10, y, "Energy meter", "start", "small")]
    return svg.picture("single-line", "Supply in a single line", "; ".join(said) + ".", width, y + 16, body)


def _meter(x: float, y: float) -> str:
    """An energy meter in its line: a dot."""
    return (f'<circle cx="{number(x)}" cy="{number(y)}" r="4" fill="{theme.var("energy")}"/>')


def _ratio(meter: Any) -> str:
    return f"{float(meter.primary):g} A"


def _cable(circuit: Any) -> str:
    area = show(circuit.area, "conductor area", unit=False, trim=True)
    return area if float(circuit.parallel) == 1.0 else f"{float(circuit.parallel):g} × {area}"
