"""Hard-wired safety devices: what stops equipment beside the programme, with tag, set point and number.

Emergency stop, safety contactors, lock-outs and switches in the circuit of what they stop. Which of them a plant needs,
and of what category, a risk assessment by people decides under the local code.
"""

from __future__ import annotations

from collections.abc import Container, Mapping
from typing import Any

from desalbook.controls.instruments import Instrument
from desalbook.tables import table

__all__ = ["safety_devices"]


def safety_devices(has: Container[str], by: Mapping[str, Instrument], trains: int) -> list[dict[str, Any]]:
    """Safety devices of a plant, SI: one for each panel (one a train, and the common one), each train, or the plant.

    Parameters
    ----------
    has : container of str
        Keys of its equipment.
    by : mapping of str to Instrument
    trains : int
    """
    rows = []
    for key, of in table("safety_devices").items():
        if "needs" in of and of["needs"].value not in has and of["needs"].value not in by:
            continue
        per = of["per"].value
        point = getattr(by[of["loop"].value], of["side"].value) if "loop" in of else None
        rows.append({
            "key": key, "tag": f"{of['letters'].value}-{of['number'].value}", "title": of.title, "per": per,
            "count": {"panel": trains + 1, "train": trains}.get(per, 1), "does": of["does"].value,
            "signals": of["signals"].value if "signals" in of else "", "trial": of["trial"].value,
            "kind": by[of["loop"].value].row["quantity"].value if "loop" in of else "",
            "set_point": None if point is None else float(point),
            "id": "" if point is None else point.id, "ids": {} if point is None else {"set_point": point.id}})
    return rows
