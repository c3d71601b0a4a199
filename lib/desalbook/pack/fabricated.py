"""Weights, line list with flanges and supports, and data sheets, as documents."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from desalbook.drawings import arrangement
from desalbook.drawings.layout_dxf import layout_marks
from desalbook.pack.document import Block, Cell, Column, Document, Drawn, Heading, Note, Paragraph, Table, Value
from desalbook.pack.lists import rows_of
from desalbook.pack.plant_source import Source
from desalbook.plant.data_sheets import SENSES
from desalbook.tables import table

__all__ = ["arranged", "data_sheets", "lines", "shipped", "skids", "weights"]


def _records(frame: Any) -> list[Mapping[str, Any]]:
    return frame.to_dict("records")


def lines(of: Source) -> Document:
    """The line list: number, ends, size, class, masses; slopes, flanges and supports."""
    columns = (Column("number", "Line", width=2.2), Column("begins", "From", width=0.7),
               Column("ends", "To", width=1.6),
               Column("count", "No.", "count", 0.4),
               Column("size", "Size", width=1.5), Column("rating", "Class", width=0.7),
               Column("length", "Length", "length", 0.7), Column("flow", "Flow", "flow", 0.8),
               Column("velocity", "Velocity", "velocity", 0.8), Column("mass_empty", "Empty", "mass", 0.7),
               Column("mass_full", "Full", "mass", 0.7))
    built = (Column("number", "Line", width=2.6), Column("slope", "Slope", "fraction", 0.7),
             Column("falls_to", "Falls to", width=1.4), Column("fall", "Fall", "length", 0.7),
             Column("flange_class", "Flanges", width=0.9), Column("flanges", "Number", "count", 0.6),
             Column("supports", "Supports", "count", 0.7), Column("support_span", "Spaced", "length", 0.7))
    return Document("lines", "203", "Line list", [
        Paragraph("Number: size, fluid, area and sequence, class, material. Flow is the maximum. Masses, flanges and "
                  "supports are of one run, first figures for an offer."),
        Table("Lines", columns, rows_of(_records(of.plant.line_list), columns), ("number",)),
        Paragraph("Slopes are common practice, settled by the isometrics; small drain lines to the sump fall 2 %."),
        Table("Slopes, flanges and supports", built, rows_of(_records(of.plant.line_list), built), ("number",))],
        wide=True, group="Lists")


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
    columns = (Column("title", "Field", width=2.6), Column("sense", "", width=1.1),
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


def skids(of: Source) -> Document:
    """Skids with masses, centre of gravity and lifting, what stands on each, and the containers they fill."""
    columns = (Column("tag", "Skid", width=0.8), Column("title", "", width=2), Column("count", "No.", "count", 0.4),
               Column("length", "Length", "length", 0.7), Column("width", "Width", "length", 0.7),
               Column("height", "Height", "length", 0.7), Column("mass_empty", "Shipping", "mass", 0.8),
               Column("mass_operating", "In operation", "mass", 0.8),
               Column("centre_x", "Centre, along", "length", 0.7), Column("centre_y", "across", "length", 0.7),
               Column("centre_z", "up", "length", 0.6),
               Column("lifted_mass", "Lifted", "mass", 0.8), Column("leg_load", "Sling leg", "mass", 0.8),
               Column("area_load", "On the floor", "area load", 0.8), Column("fits", "Fits", width=0.5),
               Column("sticks_out", "Beyond the container", width=1.4))
    items = (Column("skid", "Skid", width=0.8), Column("tag", "Tag", width=0.9), Column("title", "Item", width=2.4),
             Column("x", "Along", "length", 0.7), Column("y", "Across", "length", 0.7),
             Column("z", "Up", "length", 0.7), Column("length", "Length", "length", 0.7),
             Column("width", "Width", "length", 0.7),
             Column("height", "Height", "length", 0.7), Column("mass_empty", "Empty", "mass", 0.8),
             Column("mass_operating", "In operation", "mass", 0.8))
    boxes = (Column("number", "No.", "count", 0.4), Column("kind", "Container", width=1.8),
             Column("contents", "Holds", width=2.4), Column("mass", "Mass", "mass", 0.8),
             Column("payload", "Payload", "mass", 0.8), Column("length_used", "Length used", "length", 0.8),
             Column("fits", "Fits", width=0.5), Column("remark", "Remark", width=1.8))
    made = of.plant
    on = rows_of(_records(made.skid_items), items)
    for row in on:
        run = str(row["tag"]).removeprefix("pipe-")
        if run in table("line_numbers"):
            row["tag"] = f"Line {table('line_numbers')[run]['number'].value}"
    return Document("skids", "303", "Skids, lifting and containers", [
        Note("A lift can kill. Masses and centres here are first figures: the lifting plan of a competent person, "
             "weighed masses and certified slings come first; nobody stands under a load."),
        Heading("Skids"), Table("Skids", columns, rows_of(_records(made.skids), columns), ("tag",),
                                "Centre of gravity from the beginning and the lower side of the skid, empty. "
                                "Lifted: with contingency and dynamic factor. Sling leg: force as a mass, on the "
                                "legs that surely carry."),
        Heading("What is on each skid"), Table("Items", items, on, ("skid", "tag")),
        Heading("Containers"), Table("Containers", boxes, rows_of(_records(made.containers), boxes), ("number",))],
        wide=True, group="Mechanical")


def arranged(of: Source) -> Document:
    """Plan, elevations and skids to scale."""
    both = ("si", "us")
    blocks: list[Block] = [
        Paragraph("To scale, by stated rules of aisles and withdrawal lengths; the building, its doors and its drains "
                  "are not known here."),
        Drawn("Plan of the plant", {u: arrangement.plan(of.plant, u) for u in both}),
        Drawn("Elevations", {u: arrangement.elevation(of.plant, u) for u in both})]
    for row in _records(of.plant.skids):
        tag = str(row["tag"])
        blocks.append(Drawn(f"{tag}, {row['title']}", {u: arrangement.skid(of.plant, tag, u) for u in both}, True))
    return Document("arrangement", "304", "Arrangement, plan and elevation", blocks, group="Mechanical",
                    reads=layout_marks(of.plant))


_PARTS = {"equipment": "Equipment", "pipes": "Pipe and flanges", "supports": "Supports of pipes",
          "cables": "Cables and trays", "contents": "Water in pipes", "plant": "Plant"}


def shipped(of: Source, drawing: str) -> Document:
    """Masses of the plant, skids and containers beside one drawing, for a screen.

    Parameters
    ----------
    of : Source
    drawing : str
        ``plan``, ``elevation`` or the tag of a skid.
    """
    draw = {"plan": arrangement.plan, "elevation": arrangement.elevation}.get(
        drawing, lambda plant, units: arrangement.skid(plant, drawing, units))
    masses: dict[str, dict[str, Cell]] = {}
    for row in of.plant.fabrication.made.parts:
        masses.setdefault(row["part"], {"part": _PARTS[row["part"]]})[row["state"]] = float(row["mass"])
    by_part = Table("Mass by part", (
        Column("part", "Part", width=3), Column("empty", "Empty", "mass"), Column("operating", "In operation", "mass"),
        Column("test", "Under test", "mass")), list(masses.values()), ("part",))
    held = [b for b in skids(of).blocks if not isinstance(b, Heading) and not (
        isinstance(b, Table) and b.title == "Items")]
    return Document("shipped", "303", "Weights, skids and containers", [
        Drawn(dict(plan="Plan", elevation="Elevations").get(drawing, drawing), {of.units: draw(of.plant, of.units)}),
        by_part, *held])
