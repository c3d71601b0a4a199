"""All sections of a design file, each declared by the room that uses it."""

from __future__ import annotations

import importlib
import re
from collections.abc import Iterator, Mapping
from functools import lru_cache
from pathlib import Path
from types import MappingProxyType, ModuleType
from typing import Any

from desalbook.guidelines import Limits, limit_key
from desalbook.problems import EXPLAINERS
from desalbook.units import FieldMeta, Section, meta, metas
from desalbook.units.fieldmeta import nearest

__all__ = ["LISTS", "SECTIONS", "field_meta", "key_field", "own_limit", "split"]

ROOMS = (
    "duty",
    "water",
    "pretreatment",
    "dosing",
    "membrane",
    "hydraulics",
    "product",
    "cleaning",
    "controls",
    "electrical",
    "cost",
    "fabrication",
)
ORDER = (
    "project",
    "site",
    "duty",
    "guarantees",
    "water",
    "intake",
    "intake_pump",
    "storage",
    "backwash_tank",
    "chlorination",
    "coagulation",
    "filters",
    "acid",
    "antiscalant",
    "dechlorination",
    "biocide",
    "cartridge",
    "dosing",
    "injection",
    "chemical_storage",
    "membrane",
    "scaling",
    "energy_recovery",
    "feed_pump",
    "backwash_pump",
    "scour_blower",
    "hp_pump",
    "booster",
    "product_pump",
    "flush_pump",
    "electric",
    "piping",
    "design_pressure",
    "product",
    "interpass_ph",
    "contactor",
    "post_ph",
    "corrosion_inhibitor",
    "post_chlorination",
    "product_tank",
    "specification",
    "cip",
    "outfall",
    "power",
    "control",
    "cost",
    "fabrication",
    "offer",
)
NAMES = {"RawWater": "water"}
"""Sections whose class is not called as the section is."""

_STEP = re.compile(r"([A-Za-z_][A-Za-z0-9_]*)(?:\[([A-Za-z0-9_.+-]+)\])?(?:\.|\Z)")


def _modules(room: str) -> Iterator[ModuleType]:
    folder = Path(__file__).parents[1] / room
    for name in sorted(file.stem for file in folder.glob("*inputs.py")):
        if name == "inputs" or name.endswith("_inputs"):
            yield importlib.import_module(f"desalbook.{room}.{name}")


def _found(room: str) -> dict[str, type[Section]]:
    """Sections of one room: what its modules list in ``SECTIONS``, else the classes they declare."""
    declared: list[type[Section]] = []
    named: dict[str, type[Section]] = {}
    for module in _modules(room):
        listed = getattr(module, "SECTIONS", None)
        if listed is not None:
            named.update(listed)
            continue
        declared += [
            c
            for c in vars(module).values()
            if isinstance(c, type) and issubclass(c, Section) and c.__module__ == module.__name__
        ]
    lists = {m.item for module in _modules(room) for m in getattr(module, "LISTS", {}).values()}
    inner = lists | {m.item for c in (*declared, *named.values()) for m in metas(c).values() if m.item is not None}
    for cls in declared:
        if cls not in inner and cls not in named.values() and not cls.__name__.startswith("_"):
            snake = re.sub(r"(?<=[a-z0-9])(?=[A-Z])", "_", cls.__name__).lower()
            named.setdefault(NAMES.get(cls.__name__, snake), cls)
    return named


def _all() -> dict[str, type[Section]]:
    found: dict[str, type[Section]] = {"limits": Limits}
    for room in ROOMS:
        for name, cls in _found(room).items():
            if found.setdefault(name, cls) is not cls:
                raise TypeError(
                    f"section {name} is declared twice: {found[name].__module__}, {cls.__module__}"
                )
    rank = {name: place for place, name in enumerate(ORDER)}
    return dict(sorted(found.items(), key=lambda kv: rank.get(kv[0], len(rank))))


SECTIONS: MappingProxyType[str, type[Section]] = MappingProxyType(_all())
"""Name in the file -> class, in the order a file is read."""


def _lists() -> dict[str, FieldMeta]:
    return {name: m for room in ROOMS for module in _modules(room)
            for name, m in getattr(module, "LISTS", {}).items()}


LISTS: MappingProxyType[str, FieldMeta] = MappingProxyType(_lists())
"""Lists that stand at the top of a file, such as ``[[elements]]``: sheets of a person's own."""


def split(id: str) -> list[tuple[str, str | None]]:
    """``filters.layers[sand].depth`` as ``[(filters, None), (layers, sand), (depth, None)]``.

    Raises
    ------
    KeyError
        When it is not an id.
    """
    return list(_split(id))


@lru_cache(maxsize=4096)
def _split(id: str) -> tuple[tuple[str, str | None], ...]:
    parts, at = [], 0
    while at < len(id):
        step = _STEP.match(id, at)
        if step is None:
            raise KeyError(f"{id} is not a name such as filters.count")
        parts.append((step[1], step[2]))
        at = step.end()
    if not parts or id.endswith(".") or (len(parts) == 1 and parts[0][1] is None):
        raise KeyError(f"{id} is not a name such as filters.count")
    return tuple(parts)


@lru_cache(maxsize=4096)
def field_meta(id: str) -> FieldMeta:
    """What the schema knows of a key; ``water.ions[Na]`` gives the field ``water.ions``.

    Raises
    ------
    KeyError
        Its text says what would be known.
    """
    parts = split(id)
    (name, entry), rest = parts[0], id.partition(".")[2]
    own = LISTS.get(name)
    if (own is not None) != (entry is not None):
        raise KeyError(nearest(name, [*SECTIONS, *LISTS]) if name not in SECTIONS and own is None else
                       "only entries of a list or a table stand in brackets, as in filters.layers[sand].depth")
    if own is not None and not rest:
        return own
    cls = SECTIONS.get(name) if own is None else own.item
    if cls is None:
        raise KeyError(nearest(name, SECTIONS))
    try:
        found = meta(cls, rest)
    except KeyError:
        inner = cls
        for part, _ in parts[1:]:
            if inner is None:
                raise KeyError("there is nothing below one value; entries stand in brackets, as in water.ions[Na]") \
                    from None
            here = metas(inner).get(part)
            if here is None:
                raise KeyError(nearest(part, metas(inner))) from None
            inner = here.item
        raise
    if any(
        (key is not None) != (meta(cls, _path(parts[1 : n + 1])).form in ("sections", "mapping"))
        for n, (_, key) in enumerate(parts[1:], start=1)
        if n < len(parts) - 1 or key is not None
    ):
        raise KeyError(
            "only entries of a list or a table stand in brackets, as in filters.layers[sand].depth"
        )
    return found


def key_field(path: str) -> str:
    """The field that names the entries of a list, by the path of the list; empty where it is none."""
    if path in LISTS:
        return LISTS[path].key
    return field_meta(path).key if "." in path else ""


def _path(parts: list[tuple[str, str | None]]) -> str:
    return ".".join(name for name, _ in parts)


def own_limit(meta: FieldMeta, own: Mapping[str, Any]) -> str:
    """Id of the limit a design states for the row that a field takes its default from; empty where it states none."""
    of, key = meta.row
    if of != "guidelines":
        return ""
    id = limit_key(key)
    return id if id.partition(".")[2] in own else ""


_FEW = 3
"""Sections that a key may belong to for them to be named to somebody who put it elsewhere."""


def _belongs(id: str) -> str:
    """Where a key stands that somebody put into another section, or the sign of an ion that is named in words."""
    entry = re.fullmatch(r"(.+)\[([^\]]+)\]", id)
    if entry is not None and entry[1] in ("water.ions", "blend.ions"):
        words = entry[2].casefold().replace("_", " ")
        from desalbook.water.species import table  # only where a name is not known

        return next((f"enter {sign}" for sign, said in table("lab_names")["ions"].items() if words in said), "")
    section, _, name = id.rpartition(".")
    homes = [at for at, cls in SECTIONS.items() if at != section and name in metas(cls)]
    if not 0 < len(homes) <= _FEW or (section and section not in SECTIONS):
        return ""
    if not section:
        return f"enter {' or '.join(f'{home}.{name}' for home in homes)}"
    return f"move it to its section, {' or '.join(f'[{home}]' for home in homes)}"


EXPLAINERS.append(_belongs)
