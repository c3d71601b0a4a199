"""The hardware of a sized plant: every choice the kit made, as a design file takes it."""

from __future__ import annotations

from typing import Any

from desalbook.plant.walk import Sized
from desalbook.units.quantities import text_of

__all__ = ["chosen_hardware"]


def chosen_hardware(sized: Sized) -> dict[str, str]:
    """Keys of the design the kit chose a value for, each with a text that reads back as this very value.

    A governing corner is a result, not hardware, and is left out; so are choices that are no keys of a design file
    when a design takes these texts.
    """
    return {x.id: _written(x) for x in sized.ledger.lines.values() if x.sort == "picked" and x.corner is None
            and x.keys is None and not x.more["rule"].endswith("over the cases")}


def _written(line: Any) -> str:
    return line.value if isinstance(line.value, str) else text_of(line.value, line.kind)
