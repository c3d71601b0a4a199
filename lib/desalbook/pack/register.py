"""Which documents a pack has: each with what makes it; a document whose subject the plant has not is not there."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any, NamedTuple

from desalbook.pack import acceptance, lists, materials, pressure_parts, shipping
from desalbook.pack.document import Document
from desalbook.pack.plant_source import Source
from desalbook.problems import DesignError

__all__ = ["PARTS", "Part", "documents"]


class Part(NamedTuple):
    """One document a person may choose."""

    key: str
    title: str
    make: Callable[[Source], Document | None]


PARTS: dict[str, Part] = {part.key: part for part in (
    Part("process", "Streams, chemicals and energy", lists.processes),
    Part("equipment", "Equipment schedule", lists.equipment),
    Part("valves", "Valve list", lists.valves),
    Part("lines", "Line list", lists.lines),
    Part("instruments", "Instrument list", lists.instruments),
    Part("electrical", "Electrical loads and signals", lists.electrical),
    Part("controls", "Sequences", lists.controls),
    Part("materials", "Materials", materials.materials),
    Part("pressure-tests", "Pressure tests and examinations", pressure_parts.pressure_tests),
    Part("factory-test", "Factory acceptance test", acceptance.factory),
    Part("site-test", "Site acceptance test", acceptance.site),
    Part("calibrations", "Calibration list", acceptance.calibrations),
    Part("shipping", "Preservation, packing and dangerous goods", shipping.shipping),
    Part("spares", "Spares and consumables", shipping.spares),
)}
"""Documents by key, in the order of the index."""


def documents(plant: Any, units: str = "si", only: Iterable[str] | None = None) -> list[Document]:
    """Documents of a sized plant.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
        Of values within sentences.
    only : iterable of str, optional
        Keys of `PARTS`; all of them if blank.

    Returns
    -------
    list of Document
        In the order of the index.

    Raises
    ------
    DesignError
        No document of that name.
    """
    wanted = tuple(PARTS) if only is None else tuple(only)
    wrong = next((key for key in wanted if key not in PARTS), None)
    if wrong is not None:
        raise DesignError("is not a document of the pack", where="only", value=wrong, allowed=", ".join(PARTS),
                          do="give some of these")
    of = Source(plant, units)
    made = (part.make(of) for key, part in PARTS.items() if key in wanted)
    return [document for document in made if document is not None]
