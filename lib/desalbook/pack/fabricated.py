"""Weights, line list with flanges and supports, and data sheets, as documents."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from desalbook.pack.document import Block, Cell, Column, Document, Heading, Paragraph, Table, Value
from desalbook.pack.lists import rows_of
from desalbook.pack.plant_source import Source
from desalbook.plant.data_sheets import SENSES

__all__ = ["data_sheets", "lines", "weights"]


def _records(frame: Any) -> list[Mapping[str, Any]]:
    return frame.to_dict("records")


def lines(of: Source) -> Document:
    """The line list: number, ends, size, class, flanges, supports and masses."""
    columns = (Column("number", "Line", width=2.6), Column("begins", "From", width=0.8),
               Column("ends", "To", width=0.8),
               Column("count", "No.", "count", 0.4),
               Column("size", "Size", width=1.2), Column("rating", "Class", width=0.7),
               Column("length", "Length", "length", 0.7), Column("flow", "Maximum flow", "flow", 0.8),
               Column("velocity", "Velocity", "velocity", 0.7), Column("flange_class", "Flanges", width=0.9),
               Column("flanges", "Number", "count", 0.6), Column("supports", "Supports", "count", 0.7),
               Column("support_span", "Spaced", "length", 0.7), Column("mass_empty", "Mass empty", "mass", 0.7),
               Column("mass_full", "Full", "mass", 0.7))
    return Document("lines", "203", "Line list", [
        Paragraph("Number: size, fluid, area and sequence, class, material. Flanges, supports and masses are of one "
                  "run, first figures for an offer."),
        Table("Lines", columns, rows_of(_records(of.plant.line_list), columns), ("number",))], wide=True, group="Lists")


def weights(of: Source) -> Document:
    """Masses of each item: empty, in operation, and full of water under test."""
    columns = (Column("tag", "Tag", width=0.8), Column("title", "Item", width=2.4), Column("count", "Number", "count",
                                                                                          0.6),
               Column("mass_empty", "One, empty", "mass", 0.9), Column("mass_operating", "In operation", "mass", 0.9),
               Column("mass_test", "Under test", "mass", 0.9), Column("total_empty", "All, empty", "mass", 0.9),
               Column("total_operating", "In operation", "mass", 0.9), Column("basis", "By", width=1),
               Column("spread", "Spread", "fraction", 0.7), Column("supply", "Supply", width=0.8))
    some = [r for r in _records(of.plant.weights) if not str(r["key"]).startswith(("instrument[", "valve["))]
    return Document("weights", "301", "Weights", [
        Paragraph("First figures for an offer: by geometry where there is one, by a correlation with its spread "
                  "elsewhere. Certified masses replace them (fabrication.weights of the design)."),
        Table("Weights", columns, rows_of(some, columns), ("tag",))], wide=True, group="Mechanical")


def data_sheets(of: Source) -> Document:
    """Data and enquiry sheets of the equipment, with blanks for the bidder."""
    columns = (Column("title", "Field", width=2.6), Column("sense", "", width=0.8),
               Column("required", "Required", width=1.6), Column("offered", "Offered", width=1.4),
               Column("sign", "Note", width=1.2))
    blocks: list[Block] = [Paragraph(
        "One sheet an item; the bidder fills in what is offered. The same sheets as a table to fill in and read back: "
        "see the notebook on the offer, or the enquiry of the fabrication room.")]
    for sheet in of.plant.data_sheets():
        if sheet.kind == "instrument" or sheet.tag.startswith(("XV", "PV", "PSV")):
            continue
        rows: list[dict[str, Cell]] = []
        for x in sheet.fields:
            value: Cell = None if x.required is None else (
                Value(float(x.required), x.kind) if x.kind else f"{x.required} {x.unit}".strip())
            rows.append({"title": x.title, "sense": SENSES[x.sense], "required": value, "offered": None, "sign": None})
        blocks += [Heading(f"{sheet.number} {sheet.title}"),
                   Table(f"{sheet.kind.replace('_', ' ').capitalize()}, {sheet.count} installed, supplied by "
                         f"{'the package' if sheet.supply == 'package' else 'others'}", columns, rows, ("title",))]
    return Document("data-sheets", "302", "Data and enquiry sheets", blocks, group="Mechanical")
