"""The hardware of a sized plant as keys of its design, so that the next sizing finds it and only judges it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from desalbook.plant.walk import Sized
from desalbook.tables import table
from desalbook.units.quantities import text_of

__all__ = ["chosen_hardware"]

_COMPUTED = re.compile(
    r"cartridge\.count|cip\.heater_rating|energy_recovery\.units|filter_vessel\.(shell|head)_plate"
    r"|power\.correction|(hp|feed|backwash|booster)(_pump)?\.stages|membrane\.(second_pass\.)?stages\[[^\]]+\]\.vessels"
)
"""Sizes that follow from a relation and not from a list, and stay as built all the same."""

_MOTORS = (
    (re.compile(r"stage_pump\[(.+)\]\.motor"), r"membrane.stages[\1].pump_motor"),
    (re.compile(r"second_stage_pump\[(.+)\]\.motor"), r"membrane.second_pass.stages[\1].pump_motor"),
    (re.compile(r"second_pass_pump\.motor"), "membrane.second_pass.pump_motor"),
    (re.compile(r"concentrate_pump\.motor"), "energy_recovery.concentrate_pump_motor"),
    (re.compile(r"power\.cip_pump\.motor"), "cip.pump_motor"),
    (re.compile(r"power\.transformers_auto"), "power.transformers"),
    (re.compile(r"power\.medium_transformers_auto"), "power.medium_transformers"),
    (re.compile(r"power\.front_end_auto"), "power.front_end"),
    (re.compile(r"power\.correction"), "power.correction_bank"),
)
"""Equipment whose keys stand in the section of what it serves."""


def chosen_hardware(sized: Sized) -> dict[str, str]:
    """Keys of the design, as texts, that hold what was selected: counts, motors, tanks, pipes, classes, chemical lines.

    Parameters
    ----------
    sized : Sized

    Returns
    -------
    dict
        Some may be no keys of a design file; a governing case, cost and the like is a result and no hardware.
    """
    lines: Mapping[str, Any] = sized.ledger.lines
    found = {}
    for x in lines.values():
        if x.sort == "picked" and x.corner is None and x.keys is None \
                and not x.more["rule"].endswith("over the cases"):
            found[x.id] = _written(x.value, x.kind)
    book = sized.ledger
    for id in _ids(book):
        if "@" not in id and id not in found and _COMPUTED.fullmatch(id):
            figure = book[id]
            found[id] = _written(float(figure), figure.kind)
    for id in list(found):
        for pattern, key in _MOTORS:
            if pattern.fullmatch(id):
                found[pattern.sub(key, id)] = found.pop(id)
                break
    return found | _classes(sized) | _alkali(sized, found)


def _ids(book: Any) -> list[str]:
    """Ids of all values at hand, recorded or not."""
    values = getattr(book, "values", None)
    return list(book.lines) if values is None else [*values, *getattr(book, "deferred", ())]


def _classes(sized: Any) -> dict[str, str]:
    """Pressure classes by their keys; sections that share a key get the highest of theirs."""
    rows = table("pipe_classes")
    most: dict[str, Any] = {}
    for section in sized.sections.values():
        name = section.rating_name
        if section.class_key and name in rows:
            row = rows[name]
            if section.class_key not in most or row["rating"].value > most[section.class_key]["rating"].value:
                most[section.class_key] = row
    return {f"design_pressure.{key}": row.key for key, row in most.items()}


def _alkali(sized: Any, found: Mapping[str, str]) -> dict[str, str]:
    """The section of the alkali between the passes, where the second pass states its target: its pump is held there."""
    second = sized.array.plan.second if any(id.startswith("interpass_ph.") for id in found) else None
    if second is None or second["ph"] is None:
        return {}
    return {"interpass_ph.present": "yes", "interpass_ph.chemical": str(second["chemical"]),
            "interpass_ph.target_ph": _written(float(second["ph"]), second["ph"].kind)}


def _written(value: Any, kind: Any) -> str:
    """A text that reads back as this very value."""
    return value if isinstance(value, str) else text_of(value, kind)
