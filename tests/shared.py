"""Sized plants that the tests share: one for each text of a design, made when it is first asked for.

Sizing is pure, so the same text gives the same plant; `altered` finds a test that wrote into a shared one. A
test of sizing itself (the same twice, cold and kept, with `what_if`) sizes anew.
"""

from __future__ import annotations

import functools
import hashlib
from typing import Any

from desalbook import api, paths
from desalbook import design as designs
from desalbook.plant import Sized, size

__all__ = ["altered", "demo", "plant", "recorded", "sized"]

HARBOUR, WELL = "harbour-town.toml", "beach-well.toml"
KEPT: dict[str, Sized] = {}


@functools.cache
def demo(name: str = HARBOUR) -> designs.Design:
    """The design of a demo plant."""
    return designs.read(paths.demo(name))


def sized(design: designs.Design | str = HARBOUR) -> Sized:
    """The sized plant of a design, or of the demo file of that name; shared, so not to be written into."""
    design = demo(design) if isinstance(design, str) else design
    if design.text not in KEPT:
        KEPT[design.text] = size(design)
    return KEPT[design.text]


def plant(design: designs.Design | str = HARBOUR) -> api.Plant:
    """`sized` with its public face."""
    return api.Plant(sized(design))


@functools.cache
def recorded(name: str = HARBOUR) -> dict[str, Any]:
    """The record of a demo plant; to change it, copy it."""
    return plant(name).record


def altered() -> list[str]:
    """Demo plants that were shared and are no longer what sizing gives."""
    found = []
    for design in (demo(HARBOUR), demo(WELL)):
        if design.text in KEPT and _print(KEPT[design.text]) != _print(size(design)):
            found.append(str(design.path))
    return found


def _print(made: Sized) -> str:
    """Every value and verdict of the trail, and the tables beside it."""
    lines = [(x.id, repr(x.value), x.more.get("verdict")) for x in made.ledger.lines.values()]
    return hashlib.sha256(repr((lines, made.streams, made.equipment)).encode()).hexdigest()
