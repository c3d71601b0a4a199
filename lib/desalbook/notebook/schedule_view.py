"""Tables of a plant to read: units in the heads, numbers to the right, a dash for what is not there."""

from __future__ import annotations

from html import escape
from typing import Any

from desalbook import summary
from desalbook.design.words import KEY
from desalbook.notebook.audit_view import Html
from desalbook.notebook.fine import fine
from desalbook.notebook.keys import way
from desalbook.notebook.theme import css
from desalbook.units import show, unit_label

__all__ = ["checks", "chemicals", "limits", "machines", "outages", "pressures", "ratings", "tidy", "washes"]

_CHEMICALS = (("title", "Chemical", ""), ("dose", "Dose", "concentration"), ("basis", "", ""),
              ("mean_mass_rate", "Mass of a day", "mass flow.day"), ("solution_rate", "Solution", "flow.dose"),
              ("lowest_rate", "lowest", "flow.dose"), ("highest_rate", "highest", "flow.dose"),
              ("pump_capacity", "Pump", "flow.dose"), ("day_tank", "Day tank", "volume"), ("store", "Store", "volume"),
              ("delivery_interval", "Delivery each", "time.day"),
              ("yearly_use", "Use of a year", "mass"))
_WASH = (("A feed pump", "Feed pump", "flow"), ("A wash water", "Wash water", "flow"), ("A waste", "To waste", "flow"),
         ("raw_tank_short", "Raw tank short of", "volume"))
_PRESSURES = (("title", "Part", ""), ("working", "Working", "gauge pressure"),
              ("surge", "Surge", "pressure difference"),
              ("credible", "Credible", "gauge pressure"), ("governing", "Governing", "gauge pressure"),
              ("class", "Class", ""), ("rating", "Rating", "gauge pressure"), ("rating_used", "Used", "fraction"),
              ("relief", "Relief set", "gauge pressure"), ("said", "", ""))
_OUTAGES = (("title", "What fails", ""), ("serves", "Serves", ""), ("duty", "Duty", "count"),
            ("standby", "Standby", "count"), ("product_left", "Product left", "fraction"),
            ("product_flow", "Product", "flow.day"), ("consequence", "Consequence", ""))
_MACHINES = (("title", "Machine", ""), ("running_total", "Running", "count"), ("installed_total", "Installed", "count"),
             ("flow", "Flow of one", "flow"), ("head", "Head", "head"), ("shaft_power", "Shaft power", "power"),
             ("motor", "Motor", "power"), ("running_power", "All running", "power.electric"),
             ("diameter", "Diameter", "length"), ("volume", "Volume", "volume"))
_RATINGS = (("temperature", "Water", "temperature"), ("age", "Age", "time.year"),
            ("feed_pressure", "Feed pressure", "gauge pressure"), ("permeate_tds", "Permeate solids", "concentration"),
            ("permeate_boron", "Permeate boron", "concentration as B"), ("beta_max", "Polarisation", "factor"),
            ("hp_speed", "Pump speed", "fraction"), ("section_power", "Membrane section", "power.electric"),
            ("specific_energy", "Energy, permeate", "specific energy"), ("reason", "", ""))
_LIMITS = {"flux": "flux", "lead_flux": "flux", "element_recovery": "fraction", "beta_max": "factor",
           "vessel_feed": "flow", "vessel_concentrate": "flow", "element_drop": "pressure difference",
           "vessel_drop": "pressure difference", "feed_pressure": "gauge pressure"}
_CHECKS = (("verdict", "", ""), ("title", "Check", ""), ("at", "At", ""), ("why", "Why", ""), ("do", "Do", ""))
_LOOK = """
.desalbook .db-schedule{overflow-x:auto}
.desalbook .db-schedule th{text-align:right;vertical-align:bottom;font-weight:600;white-space:normal;max-width:7em}
.desalbook .db-schedule td{text-align:right;font-variant-numeric:tabular-nums;white-space:nowrap}
.desalbook .db-schedule :is(th,td).words{text-align:left;white-space:normal}
.desalbook .db-schedule :is(th,td){padding:.35em .5em}
@media (max-width:1100px){.desalbook .db-schedule table{font-size:92%}
.desalbook .db-schedule :is(th,td){padding:.3em .2em}}
"""


def _table(columns: tuple[tuple[str, str, str], ...], rows: list[dict[str, Any]], units: str, name: str) -> Html:
    def cell(tag: str, text: str, kind: str) -> str:
        return f"<{tag}{'' if kind else ' class=words'}>{fine(escape(text))}</{tag}>"

    def said(value: Any, kind: str) -> str:
        if not kind:
            return "" if value != value else str(value)
        if value != value:
            return "–"
        digits = None if kind == "temperature" else 3
        return show(float(value), kind, units, False, digits, trim=kind in ("time.minute", "time.year"))

    labels = [unit_label(kind, units).replace(" ", "\N{NO-BREAK SPACE}") if kind else "" for *_, kind in columns]
    head = "".join(cell("th", ", ".join(x for x in (title, unit) if x), kind)
                   for (_, title, kind), unit in zip(columns, labels, strict=True))
    body = "".join("<tr>" + "".join(cell("td", said(r[key], kind), kind) for key, _, kind in columns) + "</tr>"
                   for r in rows)
    return Html(_framed(f"<table><tr>{head}</tr>{body}</table>", name))


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


def checks(plant: Any, most: int = 8) -> Html:
    """The first of the checks, worst first: verdict, what is judged, why, what to do.

    Parameters
    ----------
    plant : Plant
    most : int
        Rows.
    """
    rows = [r | {"verdict": summary.word(r["verdict"]), "at": r["corner"], "do": _named(r["do"])}
            for r in plant.checks.head(most).to_dict("records")]
    shown = _CHECKS if any(r["at"] for r in rows) else tuple(c for c in _CHECKS if c[0] != "at")
    return _table(shown, rows, "si", "Checks, worst first")


def _named(text: str) -> str:
    """A sentence with the names of controls in place of keys."""
    return KEY.sub(lambda hit: way(hit[0]), text)


def ratings(cases: Any, units: str = "si") -> Html:
    """Cases of `desalbook.rate`, a row each; one that cannot be reached says why.

    Parameters
    ----------
    cases : DataFrame
    units : {"si", "us"}
    """
    rows = cases.to_dict("records")
    shown = _RATINGS if any(r["reason"] for r in rows) else _RATINGS[:-1]
    return _table(shown, rows, units, "Ratings")


def limits(plant: Any, units: str = "si") -> Html:
    """Each limit of the membranes at the corner and the place in the vessel where it is nearest, the nearest first.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
    """
    from desalbook.plant.vessel_table import guideline_table

    rows = []
    for r in guideline_table(plant).to_dict("records"):
        if not r["governs"]:
            continue
        kind, sense = _LIMITS[r["limit"]], "at most" if r["sense"] == "<=" else "at least"
        figure, allowed = (show(r[k], kind, units).replace(" ", "\N{NO-BREAK SPACE}") for k in ("value", "allowed"))
        rows.append(r | {"figure": figure, "verdict": "holds" if r["holds"] else "fails",
                         "most": f"{sense} {allowed}"})
    rows.sort(key=lambda r: r["margin"])
    columns = (("title", "Limit", ""), ("figure", "Figure", ""), ("most", "Allowed", ""),
               ("margin", "To spare", "fraction"), ("corner", "Corner", ""), ("where", "Where", ""),
               *((("stage", "Stage", ""),) if len({r["stage"] for r in rows}) > 1 else ()), ("verdict", "", ""))
    return _table(columns, rows, units, "Limits of the membranes")


def pressures(plant: Any, units: str = "si") -> Html:
    """Design pressures and ratings, part by part, with the check that fails, if any.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
    """
    rows = [r | {"said": r["fails"] or r["verdict"]} for r in plant.design_pressures.to_dict("records")]
    return _table(_PRESSURES, rows, units, "Design pressures")


def outages(plant: Any, units: str = "si") -> Html:
    """What is left of the product when one thing fails.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
    """
    return _table(_OUTAGES, plant.outages.to_dict("records"), units, "Single outages")


def machines(plant: Any, units: str = "si") -> Html:
    """The list of machines: how many run and stand installed, size and power.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
    """
    return _table(_MACHINES, plant.equipment.to_dict("records"), units, "Machines")


def tidy(frame: Any) -> Html:
    """A table of a study without its ids and without columns that say nothing, numbers to four digits.

    Parameters
    ----------
    frame : DataFrame
        From `desalbook.sweep` or `desalbook.study.seasons`.
    """
    numbers = {c for c in frame.columns if frame[c].dtype.kind in "fi"}
    said = {c for c in frame.columns if c not in numbers and frame[c].fillna("").ne("").any()}
    keep = [c for c in frame.columns if c != "id" and (c in numbers or c in said)]
    head = "".join(f"<th{'' if c in numbers else ' class=words'}>{_breaks(c)}</th>" for c in keep)
    body = "".join("<tr>" + "".join(
        f"<td>{'–' if v != v else _four(v)}</td>" if c in numbers else f"<td class=words>{_breaks(str(v))}</td>"
        for c, v in ((c, r[c]) for c in keep)) + "</tr>" for r in frame.to_dict("records"))
    return Html(_framed(f"<table><tr>{head}</tr>{body}</table>", "Rows of the study"))


def _four(value: float) -> str:
    return f"{value:d}" if isinstance(value, int) else f"{value:#.4g}".rstrip(".")


def _breaks(text: str) -> str:
    """An id that may go on in the next line after a dot or a line below."""
    return fine(escape(text)).replace(".", ".<wbr>").replace("_", "_<wbr>")


def _framed(table: str, name: str) -> str:
    return (f"<div class='desalbook'><style>{css()}{_LOOK}</style><div class='db-schedule' tabindex='0' "
            f"role='group' aria-label='{escape(name)}'>{table}</div></div>")
