"""The design file: its sections, reading and writing it, and the lines it gives to the trail."""

from desalbook.design.file import Design, from_mapping, from_text, read, texts_of
from desalbook.design.reader import asked, hold, lines, moves
from desalbook.design.sections import SECTIONS, field_meta
from desalbook.design.store import damaged, digest, revisions, write

__all__ = [
    "SECTIONS",
    "Design",
    "asked",
    "damaged",
    "digest",
    "field_meta",
    "from_mapping",
    "from_text",
    "hold",
    "lines",
    "moves",
    "read",
    "revisions",
    "texts_of",
    "write",
]
