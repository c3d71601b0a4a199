"""The diagrams as documents: process diagram with its streams, line diagram, supply in a single line."""

from __future__ import annotations

from desalbook.drawings.diagrams import line_diagram, process_diagram
from desalbook.drawings.supply import single_line
from desalbook.pack.document import Block, Document, Drawn, Paragraph
from desalbook.pack.plant_source import Source

__all__ = ["lines", "process", "supply"]


def _drawn(title: str, of: Source, draw) -> list[Block]:
    by = {u: draw(of.plant, u) for u in ("si", "us")}
    count = len(by["si"])
    return [Drawn(f"{title}, sheet {n + 1} of {count}", {u: some[n] for u, some in by.items()}) for n in range(count)]


def process(of: Source) -> Document:
    """The process diagram."""
    trains = "one train" if of.trains == 1 else f"one of {of.trains} trains, with what serves all of them"
    return Document("process-diagram", "102", "Process diagram", [
        Paragraph(f"Ways of the water of {trains}: equipment with its tag, and flow, pressure and salinity at design "
                  "temperature with aged membranes."), *_drawn("Process diagram", of, process_diagram)],
        wide=True, group="Process")


def lines(of: Source) -> Document:
    """The line diagram."""
    return Document("line-diagram", "103", "Line diagram with tags", [
        Paragraph("HV: hand valve (drain with a filled tip, sample with a circle, vent upwards); NRV: check valve; RD: "
                  "reducer. What several ways share is drawn once and named after that. A small valve on the stem of "
                  "an instrument stands for its hook-up, which is drawn with its tags at the end."),
        *_drawn("Line diagram", of, line_diagram)], wide=True, group="Process")


def supply(of: Source) -> Document:
    """The supply in a single line."""
    return Document("single-line", "104", "Supply in a single line", [
        Drawn("Supply in a single line", {u: single_line(of.plant, u, 760) for u in ("si", "us")})], group="Process")
