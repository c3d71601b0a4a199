"""Rows of controls made from the schema: one for each key of the design file, none written by hand.

A typed field takes what the file takes, a number with its unit, so nothing is clamped or rounded in
between; the slider beside it only types into it. An assumed value is italic until someone confirms it,
which writes it into the file. The display set changes what is shown, never what the file says.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from desalbook import tables
from desalbook.design.sections import key_field, split
from desalbook.fine import fine
from desalbook.notebook.keys import named, way
from desalbook.notebook.session import Session
from desalbook.problems import Problem
from desalbook.sources import source
from desalbook.units import in_currency, in_units, show, to_display, unit_label
from desalbook.units.fields import FieldMeta, Section, metas

__all__ = ["adding", "fields", "of_part", "of_section", "row", "rows", "sections", "shown", "written"]

_FORMS = ("quantity", "choice", "text", "flag")
_STEPS = 150
"""About so many steps has a slider over its range; each is a round number."""


def sections(design: Any) -> dict[str, type[Section]]:
    """Class of each section of a design by its path, nested ones and named ones of a list too."""
    found: dict[str, type[Section]] = {}
    for name, section in design.sections.items():
        _walk(name, section, found)
    for name, sheets in design.lists.items():
        for sheet, one in zip(design.names(name), sheets, strict=True):
            _walk(f"{name}[{sheet}]", one, found)
    return found


def _walk(path: str, section: Section, found: dict[str, type[Section]]) -> None:
    found[path] = type(section)
    for key, m in metas(type(section)).items():
        value = getattr(section, key)
        if m.form == "section" and value is not None:
            _walk(f"{path}.{key}", value, found)
        elif m.form == "sections":
            for one in value or ():
                _walk(f"{path}.{key}[{one[m.key]}]", one, found)


def fields(design: Any) -> dict[str, dict[str, FieldMeta]]:
    """Meta of every key that has a control, by section path and full id.

    The entries of a table of named values, for example the ions of an analysis, are keys of their own.
    """
    return {path: here for path, cls in sections(design).items() if (here := of_section(design, path, cls))}


def of_section(design: Any, path: str, cls: type[Section]) -> dict[str, FieldMeta]:
    """Meta of every key of one section that has a control, by full id."""
    here: dict[str, FieldMeta] = {}
    for k, m in metas(cls).items():
        id = f"{path}.{k}"
        if m.form == "mapping":
            here |= _named(design, id, m)
        elif m.form in _FORMS and not (path.endswith("]") and k == _key_field(path)):
            here[id] = m if not m.own else design.meta(id)
    return here


def _named(design: Any, id: str, m: FieldMeta) -> dict[str, FieldMeta]:
    """Each name allowed in a table of values, or those that stand in it, as a quantity of its own."""
    value = design.get(id)
    return {f"{id}[{name}]": m.entry(name, value) for name in m.keys or tuple(value or ())}


def _key_field(path: str) -> str:
    """The field that names the entries of a list; it is part of their ids and no control."""
    return key_field(path.rpartition("[")[0])


def of_part(design: Any, parts: tuple[str, ...]) -> dict[str, dict[str, FieldMeta]]:
    """The fields of these sections and of what is nested in them, in the order asked for."""
    found = sections(design)
    return {path: rows for part in parts for path, cls in found.items()
            if (path == part or path.startswith((f"{part}.", f"{part}["))) and (rows := of_section(design, path, cls))}


def written(design: Any, id: str) -> str | None:
    """What the file says under an id; None while the key is not in it."""
    if not design.stands(id):
        return None
    here: Any = design.written
    for name, key in split(id):
        here = here[name]
        if key is not None:
            here = here[key] if isinstance(here, Mapping) else next(x for x in here if key in x.values())
    return str(here).lower() if isinstance(here, bool) else str(here)


def shown(design: Any, key: str, m: FieldMeta, units: str = "si") -> str:
    """Text of a field: as the file has it, or converted when that is of the other display set."""
    text = written(design, key)
    if text is None:
        return _assumed(design, key, m, units)
    if m.form != "quantity" or m.kind is None:
        return text
    here, there = unit_label(m.kind, units), unit_label(m.kind, "si" if units == "us" else "us")
    typed = text.rstrip()
    # in SI, what somebody wrote in a metric unit of his own stays as written
    other = here != there and (not typed.endswith(here) if units == "us" else typed.endswith(there))
    if not other:
        return text
    try:
        return show(m.read(text, key), m.kind, units, digits=6, trim=True)
    except Problem:
        return text


def _assumed(design: Any, key: str, m: FieldMeta, units: str) -> str:
    """What the kit takes for a key that is not written: in a list it fills in itself, not always the usual default."""
    value = design.get(key)
    if value is None:
        return ""
    if m.form == "quantity" and m.kind is not None:
        return (units != "us" and m.assumed_text(value)) or show(value, m.kind, units, trim=True)
    return str(value).lower() if isinstance(value, bool) else str(value)


def row(session: Session, key: str, m: FieldMeta, units: str = "si") -> dict[str, Any]:
    """What the front end needs to draw one control.

    Parameters
    ----------
    session : Session
    key : str
        Id of the key.
    m : FieldMeta
    units : {"si", "us"}

    Returns
    -------
    dict
        Plain values: key, group, title, unit, form, text, options, number, low, high, step, assumed, stands,
        required, wait, said, range, help and ``sign``, which changes when the control must be built anew.
    """
    design = session.design
    stands, text = design.stands(key), shown(design, key, m, units)
    said = session.messages.get(key, "")
    low, high = _ends(m, units)
    unit = unit_label(m.kind, units) if m.kind is not None else ""
    if m.kind is not None and m.kind.name.startswith("money"):
        unit = in_currency(unit, m.kind, str(design.get("energy.currency")))
    wait = _wait(getattr(session, "plant", None), key, m, units)
    made = {
        "key": key, "group": "", "title": fine(m.title), "unit": unit, "shown_unit": fine(unit), "form": m.form,
        "text": text,
        "options": _options(m, text, wait, units),
        "number": None, "low": None, "high": None, "step": None,
        "assumed": not stands and text != "", "stands": stands, "required": m.required,
        "wait": wait, "said": said,
        "ways": [[k, way(k)] for k in named(said) if k != key],
        "range": f"usual {m.usual_text(units)}" if m.usual else "",
        "help": _help(key, m, units, m.default_text if stands else text),
        "wants": [], "named": False, "least": 0, "choices": [], "places": [],
    }
    if m.form == "quantity" and m.kind is not None and low is not None and high is not None:
        value = design.get(key)
        if value is not None:
            made["number"] = float(to_display(float(value), m.kind, units))
        made |= _slider(low, high, whole=m.kind.name == "count")
    made["sign"] = repr([made[k] for k in ("form", "unit", "options", "low", "high")])
    return made


def adding(session: Session, id: str, m: FieldMeta, units: str = "si") -> dict[str, Any]:
    """The row that adds to a list of a design, or a section that is not there.

    Parameters
    ----------
    session : Session
    id : str
        ``membrane.stages``, ``elements``, ``membrane.second_pass``.
    m : FieldMeta
        Of form ``sections`` or ``section``.
    units : {"si", "us"}

    Returns
    -------
    dict
        As `row` gives it, of form ``list``; ``wants`` holds what must be stated: key, title, unit, options, text.
    """
    design, wants = session.design, []
    blend = id == "water.analyses"  # the amounts are those of the analysis that is there, to be corrected then
    for key, one in metas(m.item).items() if m.form == "sections" else ():
        if key != m.key and one.required:
            unit = unit_label(one.kind, units) if one.kind is not None else ""
            text = "" if blend else _like(design, id, key, one, units)
            wants.append({"key": key, "title": fine(one.title), "unit": unit, "options": _options(one, text),
                          "text": text})
    names = list(design.names(id)) if m.form == "sections" else []
    key = metas(m.item)[m.key] if m.form == "sections" else None
    left = [o for o in _options(key, "") if o[0] not in names] if key is not None and key.form == "choice" else []
    # where the order of such a list says something, what is added has its place in it
    places = [[n, key.options[n]] for n in names] if key is not None and key.form == "choice" else []
    least = 3 if id.endswith(".curve") and not names else 1  # a curve of fewer points is none
    said = session.messages.get(id, "")
    return {"key": id, "group": "", "title": fine(m.title), "unit": "", "form": "list", "text": "", "options": [],
            "number": None, "low": None, "high": None, "step": None, "assumed": False, "stands": bool(names),
            "required": False, "wait": "", "said": said, "ways": [[k, way(k)] for k in named(said) if k != id],
            "range": "", "help": f"{m.hint}; key {id}" if m.hint else f"key {id}", "wants": wants, "names": names,
            "named": m.form == "sections" and (key is None or key.form != "choice" or bool(left)), "least": least,
            "choices": left, "places": places, "sign": repr([wants, names, least])}


def _like(design: Any, id: str, key: str, m: FieldMeta, units: str) -> str:
    """What an entry like it states, to begin with: the last one of the list, else the product that is in use."""
    names = design.names(id)
    value = design.get(f"{id}[{names[-1]}].{key}") if names else None
    if value is None and id == "elements":
        used = tables.table("elements").get(str(design.get("membrane.element")))
        value = used[key].value if used is not None and key in used.cells else None
    if value is None or m.form != "quantity" or m.kind is None:
        return "" if value is None else str(value)
    return show(value, m.kind, units, trim=True)


def rows(session: Session, parts: Mapping[str, Mapping[str, FieldMeta]], units: str = "si") -> list[dict[str, Any]]:
    """Rows of all these fields, each key once."""
    return [row(session, key, m, units) for some in parts.values() for key, m in some.items()]


def _ends(m: FieldMeta, units: str) -> tuple[float | None, float | None]:
    """Ends of the slider: the usual range, else the possible one; no slider without two ends."""
    ends = m.usual or m.possible
    if ends is None or m.kind is None or ends[0] is None or ends[1] is None:
        return None, None
    a, b = (float(to_display(x, m.kind, units)) for x in ends)
    return (a, b) if a < b else (b, a)


def _slider(low: float, high: float, whole: bool = False) -> dict[str, float]:
    """Ends and step of a slider: values as a person would write them; the ends themselves can be typed."""
    if whole:
        return {"low": low, "high": high, "step": 1}
    wanted = math.log10((high - low) / _STEPS)
    power = math.floor(wanted)
    round_ = min((1, 2, 5, 10), key=lambda r: abs(math.log10(r) + power - wanted))
    step = float(f"{round_}e{power}")
    ends = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return {"low": float(f"{ends[0] * step:.9g}"), "high": float(f"{ends[1] * step:.9g}"), "step": step}


def _wait(plant: Any, key: str, m: FieldMeta, units: str) -> str:
    """What stands in a field that is blank: nothing, or that the kit fills it and what it took."""
    if not m.optional or key.endswith("]"):
        return "not stated" if m.optional else ""
    if plant is None or key not in plant:
        return "auto"
    value = plant[key]
    if isinstance(value, str):
        return f"auto: {fine(in_units(m.options.get(str(value), str(value)), units))}"
    if m.kind is None or m.kind.name.startswith("money"):
        return f"auto: {plant.show(key, units)}"
    return f"auto: {show(value, m.kind, units, unit=False, trim=True)}"  # its unit is in the label


def _options(m: FieldMeta, text: str, wait: str = "auto", units: str = "si") -> list[list[str]]:
    if m.form == "flag":
        options = [["true", "yes"], ["false", "no"]]
    elif m.form == "choice":
        options = [[k, fine(in_units(words, units))] for k, words in m.options.items()]
    else:
        return []
    if m.optional:
        return [["", wait], *options]
    return [["", "to be given"], *options] if m.required and text == "" else options


def _help(key: str, m: FieldMeta, units: str, assumed: str) -> str:
    """Meaning, ranges and source in one sentence or two."""
    s = source(m.source) if m.source else None
    cited = "" if s is None else s.kind if not s.author else f"{s.author}" + (f" {s.year}" if s.year else "")
    parts = (m.hint, m.possible and f"possible {m.possible_text(units)}",
             assumed and f"assumed {m.options.get(assumed, assumed)} if blank", cited and f"source: {cited}",
             f"key {key}")
    return "; ".join(str(p) for p in parts if p)
