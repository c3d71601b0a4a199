"""Signals of the controller: how many of each type, with spare, and the modules that hold them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from desalbook.balances import whole_quotient
from desalbook.controls.instruments import Instrument
from desalbook.tables import table
from desalbook.trail import Choice, Column, Figure, picked, relation, scope, up
from desalbook.trail.inputs import Inputs
from desalbook.units import Count, Fraction

__all__ = ["TYPES", "Signals", "signals", "signals_installed", "valves_of"]

TYPES = {"di": ("digital_inputs", "Digital inputs"), "do": ("digital_outputs", "Digital outputs"),
         "ai": ("analogue_inputs", "Analogue inputs"), "ao": ("analogue_outputs", "Analogue outputs")}
"""Types of signal: the key of the size of a module, and the title."""


@dataclass(frozen=True)
class Signals:
    """Signals by type: used, installed with spare, and modules; and the list of what brings them."""

    used: dict[str, Figure]
    installed: dict[str, Figure]
    modules: dict[str, Figure]
    rows: list[dict[str, Any]] = field(default_factory=list)


@relation("Signals installed", symbol="n_i", unit="1", source="common-practice")
def signals_installed(signals_used: Count, spare_signals: Fraction) -> Count:
    """Signals installed: those used and their spare, rounded up.

    Of one type; room in the rack is another matter.
    """
    return up(signals_used * (1 + spare_signals))


def signals(inp: Inputs, places: Sequence[Instrument], machines: Mapping[str, tuple[Figure | int, str]],
            trains: Figure, decides: Sequence[Choice | Figure] = (), filters: Figure | None = None,
            others: Sequence[tuple[str, str, str, float]] = (), metered: Column | None = None) -> Signals:
    """Count signals of instruments, equipment and valves.

    Parameters
    ----------
    places : sequence of Instrument
    machines : dict of str to (number, "train" or "plant")
        Equipment that the controller starts.
    trains : Figure
    decides : sequence
        What decides which equipment there is.
    filters : Figure or None
        Filters of one train, for the valves of each.
    others : sequence of (key, title, row of the signals, number)
        Energy meters and safety devices.
    metered : Column or None
        The line that counts the meters.
    """
    n = float(trains)
    rows = [_row(x.tag, x.row.title, "transmitter", float(x.units)) for x in places]
    for key, (count, per) in machines.items():
        kind = "dosing" if key.startswith("dosing_") else "motor"
        rows.append(_row(key, key.replace("_", " ").capitalize(), kind, float(count) * (n if per == "train" else 1.0)))
    for key, of in table("valves").items():
        if "needs" in of and of["needs"].value not in machines:
            continue
        rows.append(_row(key, of.title, of["signals"].value, valves_of(of["per"].value, trains, filters),
                         of["fail"].value))
    rows += [_row(*of) for of in others]
    rows.append(_row("panel", "Panel: stop, supply, common alarm", "panel", n + 1.0))
    because: list[Choice | Figure] = [*decides, *(c for c, _ in machines.values() if isinstance(c, Figure))]
    used, installed, modules = {}, {}, {}
    for name, (key, title) in TYPES.items():
        total = sum_of(row[name] * row["count"] for row in rows)
        with scope(because=because):
            used[name] = picked(f"control.signals[{name}]", total, "count", title=f"{title} used", symbol="n_u",
                                rule="counted over instruments, equipment and valves",
                                candidates=[{"key": row["key"], "value": row[name] * row["count"], "won": True}
                                            for row in rows if row[name]],
                                inputs={"trains": trains} | ({} if filters is None else {"filters": filters})
                                | ({} if metered is None else {"meters": metered}),
                                table="signal_counts")
        installed[name] = signals_installed.at(f"control.signals_installed[{name}]", signals_used=used[name],
                                               spare_signals=inp.number("control.spare_signals"),
                                               title=f"{title} installed")
        modules[name] = whole_quotient.at(f"control.modules[{name}]", items=installed[name],
                                          divisor=inp.number(f"control.{key}"), title=f"Modules, {title.lower()}")
    return Signals(used, installed, modules, rows)


def valves_of(per: str, trains: Figure, filters: Figure | None) -> float:
    """How many valves of one kind the plant has: one for each filter, each train, or one."""
    if per == "plant":
        return 1.0
    return float(trains) * (float(filters) if per == "filter" and filters is not None else 1.0)


def sum_of(numbers: Any) -> float:
    """Sum of plain counts."""
    whole = 0.0
    for x in numbers:
        whole += x
    return whole


def _row(key: str, title: str, kind: str, count: float, fail: str = "") -> dict[str, Any]:
    row = table("signal_counts").row(kind, "control.signals")
    return {"key": key, "title": title, "type": row.title, "count": count, "on_failure": fail,
            **{name: float(row[name].value) for name in TYPES}}
