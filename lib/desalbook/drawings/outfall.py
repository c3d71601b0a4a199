"""The jet of the concentrate in the sea, to scale."""

from __future__ import annotations

from typing import Any

from desalbook import theme
from desalbook.drawings import svg
from desalbook.drawings.svg import number
from desalbook.units import show

__all__ = ["jet_picture"]

_VERDICT = {"passes": "passes", "marginal": "marginal", "review": "marginal", "fails": "fails"}


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
