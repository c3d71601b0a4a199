"""Stand-alone calculations: one question, the same equations as in a whole plant, and an answer with its trail.

    from desalbook import calc
    battery = calc.filters(flow="285 m3/h", rate_limit="12 m/h")
    battery["filters.count"], battery.show("filters.diameter"), battery.checks

Arguments are named and take a text with its unit, a pint Quantity, or a value of another calculation; a bare number
only where the quantity has no unit. Ranges, defaults and cautions are those of the design file; any key of it goes in
``also={"filters.diameter": "2 m"}``, and ``design=`` takes all that is not written from a design. ``help`` of each
lists its arguments.
"""

from __future__ import annotations

import importlib
from typing import Any

_HOME: dict[str, tuple[str, str]] = {
    "tank": ("pretreatment", "Raw-water tanks for a flow and a retention time."),
    "filters": ("pretreatment", "Battery of pressure filters: number, diameter, filtration rates, clean head loss."),
}
"""Module and first line of each calculation, in the order of the water."""

__all__ = [*_HOME]
__doc__ += "\n" + "\n".join(f"{name:<18}{said}" for name, (_, said) in _HOME.items()) + "\n"


def __getattr__(name: str) -> Any:
    """Load a calculation when it is asked for: the import itself stays short."""
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no calculation {name!r}; it has {', '.join(_HOME)}")
    found = getattr(importlib.import_module(f"{__name__}.{_HOME[name][0]}"), name)
    globals()[name] = found
    return found


def __dir__() -> list[str]:
    return [*_HOME]
