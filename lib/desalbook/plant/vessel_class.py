"""Rating of the membrane vessels: of the list of ratings, or of a manufacturer's vessel in the design."""

from __future__ import annotations

from desalbook.membrane import Element
from desalbook.tables import table
from desalbook.trail import Choice, Figure, assumed, checked, note, picked
from desalbook.trail.inputs import Inputs

__all__ = ["pressure_rating"]

ID, TITLE = "membrane.pressure_rating", "Rating of the vessels"


def pressure_rating(inp: Inputs, chosen: Choice, hottest: Figure, element: Element) -> Figure:
    """Rated pressure of the vessels, gauge Pa; inside the scope of the choice.

    A vessel of the design's own is also judged by its temperature, its length and its bore, where its sheet states
    them.
    """
    if str(chosen) not in inp.names("vessel_classes"):
        row = table("pressure_classes").row(str(chosen), "membrane.pressure_class")
        cell = row["rating"]
        return assumed(ID, cell.value, cell.kind, title=TITLE, symbol="p_R", source=cell.source, place=cell.place,
                       table="pressure_classes", row=row.key)
    at = f"vessel_classes[{chosen}]"
    stated = inp.number(f"{at}.rating")
    top = picked(ID, float(stated), "gauge pressure", title=TITLE, symbol="p_R", rule="the vessel that is chosen",
                 candidates=[{"key": str(chosen), "value": float(stated), "won": True}], inputs={"stated": stated},
                 why="as the sheet states it")
    bears, most, bore = (inp.optional(f"{at}.{key}") for key in ("max_temperature", "most_elements", "bore"))
    if bears is not None:
        checked("membrane.vessel_temperature.check", hottest, "<=", bears, title="Water temperature within the vessel",
                do="choose another vessel, or cool the feed", source="common-practice")
    if most is not None:
        checked("membrane.vessel_length.check", inp.number("membrane.elements"), "<=", most,
                title="Elements per vessel, longest made", do="lower membrane.elements, or choose a longer vessel",
                source="definition")
    if bore is not None:
        checked("membrane.vessel_bore.check", element["outer_diameter"], "<=", bore,
                title="Element within the bore of the vessel", do="choose a vessel of the size of the element",
                source="definition")
    origin = [x for x in (inp.selected(f"{at}.source"), inp.selected(f"{at}.date")) if x is not None]
    note("membrane.vessel_sheet", title="Sheet of the pressure vessels", verdict="passes" if origin else "review",
         why=f"sheet {chosen}" + (f", {', '.join(map(str, origin))}" if origin else ", its source is blank"),
         do=f"state {at}.source", inputs={"chosen": chosen} | {f"said_{n}": x for n, x in enumerate(origin)})
    return top
