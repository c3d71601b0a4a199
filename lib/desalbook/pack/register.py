"""Which documents a pack has: each with what makes it; a document whose subject the plant has not is not there."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable
from typing import Any, NamedTuple

from desalbook.pack import (
    acceptance,
    calculation,
    compliance,
    diagrams,
    fabricated,
    lists,
    materials,
    offer,
    pressure_parts,
    shipping,
)
from desalbook.pack.document import Document
from desalbook.pack.plant_source import Source
from desalbook.problems import DesignError

__all__ = ["PARTS", "Part", "documents"]


class Part(NamedTuple):
    """One document a person may choose."""

    key: str
    number: str
    title: str
    make: Callable[[Source], Document | None]


PARTS: dict[str, Part] = {part.key: part for part in (
    Part("offer", "001", "Offer, technical part", offer.offer),
    Part("scope", "002", "Scope, battery limits and exclusions", offer.scope),
    Part("price", "003", "Price page (estimate)", offer.price),
    Part("compliance", "004", "Compliance matrix", compliance.matrix),
    Part("process", "101", "Streams, chemicals and energy", lists.processes),
    Part("process-diagram", "102", "Process diagram", diagrams.process),
    Part("line-diagram", "103", "Line diagram with tags", diagrams.lines),
    Part("single-line", "104", "Supply in a single line", diagrams.supply),
    Part("equipment", "201", "Equipment schedule", lists.equipment),
    Part("valves", "202", "Valve list", lists.valves),
    Part("lines", "203", "Line list", fabricated.lines),
    Part("instruments", "204", "Instrument list", lists.instruments),
    Part("electrical", "205", "Electrical loads and signals", lists.electrical),
    Part("controls", "206", "Sequences, cause and effect", lists.controls),
    Part("weights", "301", "Weights", fabricated.weights),
    Part("data-sheets", "302", "Data and enquiry sheets", fabricated.data_sheets),
    Part("skids", "303", "Skids, lifting and containers", fabricated.skids),
    Part("arrangement", "304", "Arrangement, plan and elevation", fabricated.arranged),
    Part("materials", "401", "Materials", materials.materials),
    Part("pressure-tests", "402", "Pressure tests and examinations", pressure_parts.pressure_tests),
    Part("factory-test", "403", "Factory acceptance test", acceptance.factory),
    Part("site-test", "404", "Site acceptance test", acceptance.site),
    Part("calibrations", "405", "Calibration list", acceptance.calibrations),
    Part("shipping", "406", "Preservation, packing and dangerous goods", shipping.shipping),
    Part("spares", "407", "Spares and consumables", shipping.spares),
    Part("manual", "501", "Operating manual, skeleton", offer.manual),
    Part("calculation", "601", "Calculation, for review", calculation.calculation),
)}
"""Documents by key, in the order of the index."""


def documents(plant: Any, units: str = "si", only: Iterable[str] | None = None,
              requirements: str | os.PathLike | None = None, *, paper: str | None = None,
              paged: bool = False, listed: Iterable[str] | None = None) -> list[Document]:
    """Documents of a sized plant.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
        Of values within sentences.
    only : iterable of str, optional
        Keys of `PARTS`; all of them if blank.
    requirements : path, optional
        A client's list, CSV or spreadsheet; the compliance matrix answers it.
    paper : {"a4", "letter"}, optional
        Of the printed calculation.
    paged : bool
        Print the calculation, and name its pages in the equipment schedule.
    listed : iterable of str, optional
        Keys of all documents of the pack, where only some of them are made.

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
    of_pack = wanted if listed is None else tuple(listed)
    named = [(PARTS[key].number, PARTS[key].title) for key in PARTS
             if key in of_pack and (key != "compliance" or requirements is not None)]
    of = Source(plant, units, named, requirements, paper, paged)
    made = (part.make(of) for key, part in PARTS.items() if key in wanted)
    return [document for document in made if document is not None]
