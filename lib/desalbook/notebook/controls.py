"""Controls made from the schema: one typed field or list of choices for each key of the design file.

A typed field takes what the file takes, a number with its unit, so nothing is clamped or rounded in
between. An assumed value is italic until someone confirms it, which writes it into the file.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from html import escape
from typing import Any

import ipywidgets as w

from desalbook.design import field_meta
from desalbook.design.sections import split
from desalbook.notebook.session import Session
from desalbook.sources import source
from desalbook.units import show, unit_label
from desalbook.units.fields import FieldMeta, Section, metas

__all__ = ["Control", "fields", "sections", "written"]

_FORMS = ("quantity", "choice", "text", "flag")


def sections(design: Any) -> dict[str, type[Section]]:
    """Class of each section of a design by its path, nested ones and named ones of a list too."""
    found: dict[str, type[Section]] = {}
    for name, section in design.sections.items():
        _walk(name, section, found)
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
    """Meta of every key that has a control, by section path and full id."""
    made = {}
    for path, cls in sections(design).items():
        rows = {f"{path}.{k}": m for k, m in metas(cls).items() if m.form in _FORMS
                and not (path.endswith("]") and k == _key_field(design, path))}
        if rows:
            made[path] = rows
    return made


def _key_field(design: Any, path: str) -> str:
    """The field that names the entries of a list; it is part of their ids and no control."""
    return field_meta(path.rpartition("[")[0]).key


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


class Control:
    """One key of the design: label, field, range, and a sentence when something is wrong.

    Parameters
    ----------
    session : Session
    key : str
        Id of the key.
    meta : FieldMeta
    units : {"si", "us"}
    """

    def __init__(self, session: Session, key: str, meta: FieldMeta, units: str = "si"):
        self.session, self.key, self.meta, self.units = session, key, meta, units
        self._quiet = False
        self.message = w.HTML()
        self.confirm = w.Button(description="Confirm", layout=w.Layout(width="80px"),
                                tooltip="Write the assumed value into the design")
        self.field = self._field()
        self.field.add_class("db-field")
        self.field.add_class("db-" + re.sub(r"[^a-z0-9]+", "-", key.lower()).strip("-"))
        self.hint = w.HTML(f'<span class="db-quiet">{escape(self._hint())}</span>')
        self.widget = w.VBox([w.HBox([self.field, self.confirm], layout=w.Layout(flex_flow="row wrap")),
                              self.hint, self.message])
        self.field.observe(session.guard(self._changed), names="value")
        self.confirm.on_click(session.guard(self._confirmed))
        self.refresh()

    def _label(self) -> str:
        kind = self.meta.kind
        unit = unit_label(kind, self.units, pretty=True) if kind is not None else ""
        return self.meta.title + (f", {unit}" if unit else "")

    def _field(self) -> Any:
        style, layout = {"description_width": "initial"}, w.Layout(width="min(460px, 80%)")
        if self.meta.form in ("choice", "flag"):
            options = ([("yes", "true"), ("no", "false")] if self.meta.form == "flag"
                       else [(words, k) for k, words in self.meta.options.items()])
            if self.meta.optional:
                options = [("as the kit picks", ""), *options]
            elif self.meta.required and self._shown() == "":
                options = [("to be given", ""), *options]
            return w.Dropdown(options=options, description=self._label(), style=style, layout=layout)
        wait = "as the kit picks" if self.meta.optional else ""
        return w.Text(description=self._label(), placeholder=wait, style=style, layout=layout,
                      continuous_update=False)

    def _hint(self) -> str:
        m, parts = self.meta, []
        if m.usual:
            s = source(m.source) if m.source else None
            cited = "" if s is None else f", {s.kind}" if not s.author else f", {s.author}" + (
                f" {s.year}" if s.year else "")
            parts.append(f"usual {m.usual_text(self.units)}{cited}")
        if m.possible:
            parts.append(f"possible {m.possible_text(self.units)}")
        if m.hint:
            parts.append(m.hint)
        return "; ".join(parts)

    @property
    def written(self) -> str | None:
        """What the file says; None while the key is not in it."""
        return written(self.session.design, self.key)

    @property
    def assumed(self) -> bool:
        """A default stands in for a key nobody wrote."""
        return self.written is None and self.meta.default is not None

    def _shown(self) -> str:
        if self.written is not None:
            return self.written
        m = self.meta
        if m.form == "quantity" and m.default is not None and m.kind is not None and self.units == "us":
            return show(m.default, m.kind, "us")
        return self.meta.default_text

    def refresh(self) -> None:
        """Show what the design says now, and any sentence on this key."""
        said = self.session.messages.get(self.key, "")
        self.message.value = (f'<span class="db-wrong" role="alert">✗ {escape(said)}</span>' if said else "")
        self._quiet = True
        try:
            if not said:
                self.field.value = self._shown()
        finally:
            self._quiet = False
        self.confirm.layout.display = "" if self.assumed else "none"
        (self.field.add_class if self.assumed else self.field.remove_class)("db-assumed")
        (self.field.add_class if said else self.field.remove_class)("db-outlined")

    def _changed(self, change: Mapping[str, Any]) -> None:
        if not self._quiet:
            self.apply(change["new"])

    def _confirmed(self, _button: Any = None) -> None:
        self.apply(self._shown())

    def apply(self, text: str) -> bool:
        """Write what was typed; an empty field takes the key out of the file."""
        text = text.strip()
        return self.session.apply(self.key, text or None)
