"""The printed calculation in the pack, with the review marks on it, and the page that sizes each item."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from desalbook.audit import Marks
from desalbook.audit.marks import carried
from desalbook.audit.page.document import page
from desalbook.audit.page.parts import anchor
from desalbook.pack.document import Document, Paragraph
from desalbook.trail.words import chapter, part_words

__all__ = ["Printed", "calculation", "print_calculation"]

_SHEET, _PLACE = '<section class="sheet">', re.compile(r'\bid="([^"]+)"')


@dataclass(frozen=True)
class Printed:
    """The calculation as a page, and on which of its sheets a line or chapter stands.

    Parameters
    ----------
    html : str
    sheets : dict
        Numbers of the sheets on which a place is, by its name.
    """

    html: str
    sheets: dict[str, list[int]]

    def where(self, id: str) -> str:
        """Chapter and page of a line: its own page among the chapters, else that on which its chapter begins, else
        the first that has it or another value of its chapter.
        """
        part = chapter(id)
        begin = min((n[0] for place, n in self.sheets.items() if place.startswith("chapter-")), default=0)
        own = self.sheets.get(anchor(id), [])
        found = next((n for n in own if n >= begin), None) or next(iter(self.sheets.get(f"chapter-{part}", own)), None)
        if found is None:
            found = min((n[0] for place, n in self.sheets.items() if chapter(place) == part), default=None)
        return part_words(part) if found is None else f"{part_words(part)}, page {found}"


def print_calculation(plant: Any, units: str, paper: str | None) -> Printed:
    """Print the calculation for review; its marks are those beside the design.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
    paper : {"a4", "letter"}, optional
    """
    record = plant.record
    if plant.design.path is not None:
        record = carried(record, Marks(plant.design.path))
    html = page(record, units, paper, "review")
    sheets: dict[str, list[int]] = {}
    for n, sheet in enumerate(html.split(_SHEET)[1:], 1):
        for place in _PLACE.findall(sheet):
            sheets.setdefault(place, []).append(n)
    return Printed(html, sheets)


def calculation(of: Any) -> Document:
    """The calculation as a document; the page itself is made when the pack is written.

    Parameters
    ----------
    of : Source
    """
    return Document("calculation", "601", "Calculation, for review", [Paragraph(
        "Inputs, governing values with their equations, checks, review marks and sign-offs, as the audit prints them. "
        "It is made with the pack; the equipment schedule names its pages.")], group="Calculation",
        whole=lambda: of.calculation.html)
