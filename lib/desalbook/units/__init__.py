"""Units: what a number means, how it is read, how it is shown.

`parse` is the only door for a quantity that a person wrote, `show` the only way one is printed, and
`field` makes a pydantic field that goes through both. Inside the kit every value is coherent SI.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING

from desalbook.units import kinds
from desalbook.units.display import from_display, show, show_range, to_display, unit_label
from desalbook.units.kinds import *  # noqa: F403
from desalbook.units.kinds import KINDS, Kind, kind
from desalbook.units.parse import parse, spellings

if TYPE_CHECKING:
    from desalbook.units.fields import (
        FieldMeta,
        Section,
        choice,
        field,
        flag,
        mapping,
        meta,
        metas,
        section,
        sections,
        text_field,
        unusual,
        validate,
    )
    from desalbook.units.registry import dimension, registry, si_factor

_LATER = {  # pydantic and pint are imported by those who use them
    **dict.fromkeys(("FieldMeta", "Section", "choice", "field", "flag", "mapping", "meta", "metas", "section",
                     "sections", "text_field", "unusual", "validate"), "fields"),
    **dict.fromkeys(("dimension", "registry", "si_factor"), "registry"),
}

__all__ = sorted({*kinds.__all__, *_LATER, "KINDS", "Kind", "from_display", "kind", "parse", "show",
                  "show_range", "spellings", "to_display", "unit_label"})


def __getattr__(name: str):
    if name not in _LATER:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value = getattr(importlib.import_module(f"{__name__}.{_LATER[name]}"), name)
    globals()[name] = value
    return value
