"""Schedules of a plant as tables to read: units in the heads, numbers to the right, a dash for what is not there."""

from __future__ import annotations

from html import escape
from typing import Any

from desalbook.notebook.audit_view import Html
from desalbook.notebook.theme import css
from desalbook.units import show, unit_label

__all__ = ["chemicals", "washes"]

_CHEMICALS = (("title", "Chemical", ""), ("dose", "Dose", "concentration"), ("basis", "", ""),
              ("mean_mass_rate", "Mass of a day", "mass flow.day"), ("solution_rate", "Solution", "flow.dose"),
              ("lowest_rate", "lowest", "flow.dose"), ("highest_rate", "highest", "flow.dose"),
              ("pump_capacity", "Pump", "flow.dose"), ("day_tank", "Day tank", "volume"), ("store", "Store", "volume"),
              ("bund", "Bund", "volume"), ("delivery_interval", "Delivery each", "time.day"),
              ("yearly_use", "Use of a year", "mass"))
_WASH = (("A feed pump", "Feed pump", "flow"), ("A wash water", "Wash water", "flow"), ("A waste", "To waste", "flow"),
         ("raw_tank_short", "Raw tank short of", "volume"))
_LOOK = """
.desalbook .db-schedule{overflow-x:auto}
.desalbook .db-schedule th{text-align:right;vertical-align:bottom;font-weight:600;white-space:normal;max-width:7em}
.desalbook .db-schedule td{text-align:right;font-variant-numeric:tabular-nums;white-space:nowrap}
.desalbook .db-schedule :is(th,td).words{text-align:left}
"""


def _table(columns: tuple[tuple[str, str, str], ...], rows: list[dict[str, Any]], units: str, name: str) -> Html:
    def cell(tag: str, text: str, kind: str) -> str:
        return f"<{tag}{'' if kind else ' class=words'}>{escape(text)}</{tag}>"

    def said(value: Any, kind: str) -> str:
        if not kind:
            return str(value)
        return "–" if value != value else show(float(value), kind, units, False, 3, trim=kind == "time.minute")

    head = "".join(cell("th", ", ".join(x for x in (title, unit_label(kind, units) if kind else "") if x), kind)
                   for _, title, kind in columns)
    body = "".join("<tr>" + "".join(cell("td", said(r[key], kind), kind) for key, _, kind in columns) + "</tr>"
                   for r in rows)
    return Html(f"<div class='desalbook'><style>{css()}{_LOOK}</style><div class='db-schedule' tabindex='0' "
                f"role='group' aria-label='{escape(name)}'><table><tr>{head}</tr>{body}</table></div></div>")


def chemicals(plant: Any, units: str = "si") -> Html:
    """The schedule of chemicals; rates of solution as fed, with the least and the greatest the pump must give.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
    """
    return _table(_CHEMICALS, plant.chemicals.to_dict("records"), units, "Schedule of chemicals")


def washes(plant: Any, units: str = "si", most: int = 16) -> Html:
    """The first washes of train A: a row where a filter takes its next step.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
    most : int
        Rows.

    Returns
    -------
    Html
        A sentence where the plant has no filters.
    """
    frame = plant.wash_schedule
    steps = [c for c in frame.columns if c.startswith("A") and c.endswith(" step")]
    if not steps:
        return Html("<p class='desalbook'>This plant has no filters.</p>")
    rows, before = [], ()
    for r in frame.to_dict("records"):
        now = tuple(r[c] for c in steps)
        if now == before:
            continue
        busy = [f"{c.partition(' ')[0]} {r[c]}" for c in steps if r[c] != "service"]
        rows.append(r | {"doing": ", ".join(busy) or "all in service"})
        before = now
        if len(rows) == most:
            break
    return _table((("time", "Time", "time.minute"), ("doing", "Filters of train A", ""), *_WASH), rows, units,
                  "Washes, step by step")
