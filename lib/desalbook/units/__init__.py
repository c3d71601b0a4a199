"""Units: what a number means, how it is read, how it is shown.

`parse` is the only door for a quantity that a person wrote, `show` the only way one is printed, and
`field` makes a pydantic field that goes through both. Inside the kit every value is coherent SI.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING

from desalbook.units import kinds
from desalbook.units.display import (
    from_display,
    in_currency,
    in_units,
    pair,
    show,
    show_range,
    to_display,
    unit_label,
)
from desalbook.units.kinds import *  # noqa: F403
from desalbook.units.parse import parse, spellings
from desalbook.units.registry import dimension, registry, si_factor

if TYPE_CHECKING:
    from desalbook.units.fieldmeta import FieldMeta
    from desalbook.units.fields import (
        Named,
        Section,
        choice,
        custom,
        each,
        field,
        flag,
        mapping,
        meta,
        metas,
        own_list,
        read_list,
        section,
        sections,
        text_field,
        unusual,
        validate,
    )

# pydantic is imported by those who make or read sections
_LATER = dict.fromkeys((
    "FieldMeta", "Named", "Section", "choice", "custom", "each", "field", "flag", "mapping", "meta", "metas",
    "own_list", "read_list", "section", "sections", "text_field", "unusual", "validate"), "fields")

__all__ = [
    "FieldMeta", "Named", "Section", "choice", "custom", "dimension", "each", "field", "flag", "from_display",
    "in_currency", "in_units", "mapping",
    "meta", "metas", "own_list", "pair", "parse", "read_list", "registry", "section", "sections", "show", "show_range",
    "si_factor", "spellings", "text_field", "to_display", "unit_label", "unusual", "validate",
]
__all__ += kinds.__all__


def __getattr__(name: str):
    if name not in _LATER:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value = getattr(importlib.import_module(f"{__name__}.{_LATER[name]}"), name)
    globals()[name] = value
    return value
