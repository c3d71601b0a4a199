"""The rows of a panel that state the raw water in another way: a salinity, an analysis, a laboratory's sheet, a blend.

Each way can be left for another, and each step is one change that Undo takes back.
"""

from __future__ import annotations

import tomllib
from html import escape
from pathlib import Path
from typing import Any

import ipywidgets as w

from desalbook import paths
from desalbook.fine import fine
from desalbook.notebook.session import Session
from desalbook.problems import DesignError, Problem
from desalbook.study.composition import of_sheet, scaled, with_analysis, with_ions, with_salinity
from desalbook.units import show
from desalbook.water import lab_sheet

__all__ = ["WaterEntry"]

_WIDE = {"description_width": "initial"}
_WAYS = (("a salinity", "salinity"), ("an analysis", "ions"), ("a laboratory sheet", "sheet"), ("a blend", "blend"))
_BELOW = (("refused", "refuse"), ("taken as their limit", "limit"), ("taken as zero", "zero"))


def _auto() -> w.Layout:
    """A layout of its own: what one button is hidden by must not hide the others."""
    return w.Layout(width="auto")


class WaterEntry(w.VBox):
    """How the water is stated, and what is needed for each way.

    Parameters
    ----------
    session : Session
    """

    def __init__(self, session: Session):
        self.session = session
        self._stated = ""  # the way that the design states its water by
        guard = session.guard
        self.way = w.Dropdown(options=_WAYS, description="State the water by", style=_WIDE,
                              layout=w.Layout(width="290px"))
        # sent when it is left: letter by letter, the last one would come after the press of a button
        self.salinity = _text("Salinity, per mass of seawater", "e.g. 42 g/kg", "330px")
        self.replace, self.scale = (
            w.Button(description=d, tooltip=t, layout=_auto()) for d, t in (
                ("Use it in place of the analysis", "Removes the analysis; the ions follow in seawater proportions"),
                ("Scale the analysis to it", "Multiplies every constituent; the proportions stay")))
        self.write_out = w.Button(description="State the composition as an analysis", layout=_auto(),
                                  tooltip="Amounts of each ion as they are now, to be corrected")
        self.name = _text("Name of the new water", "e.g. well", "270px")
        self.share = _text("Its share", "e.g. 30 %", "170px")
        self.blend = w.Button(description="Add it to the blend", layout=_auto(),
                              tooltip="It begins as a copy of the analysis that is there")
        self.sheet = w.Dropdown(description="Sheet", style=_WIDE)
        self.decimal = w.Dropdown(options=[("point", "."), ("comma", ",")], description="Decimal mark", style=_WIDE,
                                  layout=w.Layout(width="180px"))
        self.below = w.Dropdown(options=_BELOW, description="Results below detection are", style=_WIDE,
                                layout=w.Layout(width="330px"))
        self.heads = _text("Headings of name, result, unit", "Parameter, Result, Unit", "360px")
        self.skip = _text("Rows to pass over", "e.g. Colour, Odour", "300px")
        self.names = _text("Names of its own", "e.g. Chlorures = Cl", "300px")
        self.preview, self.take = (w.Button(description=d, tooltip=t, layout=_auto()) for d, t in (
            ("Preview", "Show what the sheet would say"), ("Use this sheet", "In place of the composition")))
        self.shown = w.HTML()
        self.told = w.HTML('<div class="desalbook"><span class="quiet">Its constituents are in the group Water.'
                           "</span></div>")
        for button, what in ((self.replace, self._replace), (self.scale, self._scale), (self.blend, self._blend),
                             (self.preview, self._preview), (self.take, self._take), (self.write_out, self._ions)):
            button.on_click(guard(lambda _, what=what: what()))
        self._rows = {key: w.HBox(some, layout=w.Layout(flex_flow="row wrap", align_items="center")) for key, some in (
            ("salinity", [self.salinity, self.replace, self.scale]), ("ions", [self.write_out, self.told]),
            ("blend", [self.name, self.share, self.blend]),
            ("sheet", [self.sheet, self.decimal, self.heads, self.below, self.skip, self.names, self.preview, self.take,
                       self.shown]))}
        self.salinity.observe(guard(lambda _: self._entered()), names="value")
        self.way.observe(guard(lambda _: self._choose()), names="value")
        super().__init__([self.way, *self._rows.values()], layout=w.Layout(margin="0 0 .4em"))
        self._choose()

    def look(self, here: bool) -> None:
        """Show the rows beside the section of the water, and offer what the design as it is allows."""
        design = self.session.design
        self.layout.display = "flex" if here and "water" in design.sections else "none"
        analysed = any(design.stands(f"water.{key}") for key in ("ions", "analyses"))
        stated = next((way for key, way in (("analyses", "blend"), ("ions", "ions")) if design.stands(f"water.{key}")),
                      "salinity")
        if stated != self._stated:  # another way may be looked at meanwhile
            self._stated = self.way.value = stated
        self.scale.disabled = self.blend.disabled = not analysed
        self.write_out.disabled = written = design.stands("water.ions")
        self.write_out.layout.display, self.told.layout.display = ("none", None) if written else (None, "none")
        self.replace.description = "Use it in place of the analysis" if analysed else "Use it"
        now = design.get("water.sea_salinity") if design.stands("water.sea_salinity") else None
        self.salinity.placeholder = ("e.g. 42 g/kg" if now is None
                                     else f"now {show(now, 'absolute salinity', trim=True)}")

    def _entered(self) -> None:
        """Without an analysis a salinity can mean one thing alone, and Enter is enough."""
        if self.scale.disabled and self.salinity.value.strip():
            self._replace()

    def _choose(self) -> None:
        for key, row in self._rows.items():
            row.layout.display = "flex" if key == self.way.value else "none"
        if self.way.value == "sheet":
            self._sheets()

    def _sheets(self) -> None:
        """Tables beside the design, then the demo's."""
        folders = (self.session.folder, paths.shelf() / "data-demo")
        found = [p for folder in folders for p in sorted(folder.glob("*")) if p.suffix.lower() in (".csv", ".xlsx")]
        options = [(p.name, str(p)) for p in dict.fromkeys(found)]
        if options != list(self.sheet.options or ()):
            self.sheet.options = options
            self.sheet.value = options[0][1] if options else None

    def _replace(self) -> None:
        text = self.salinity.value.strip()
        self.session.rework(lambda design: with_salinity(design, text), "",
                            f"The water is stated by its salinity now, {text}. Undo restores the analysis.")

    def _scale(self) -> None:
        text = self.salinity.value.strip()
        self.session.rework(lambda design: scaled(design, text), "",
                            f"The analysis is scaled to {text} of salt per mass of seawater; per mass of water, as "
                            "results and picture count it, that is a little more. Undo takes it back.")

    def _ions(self) -> None:
        self.session.rework(with_ions, "", "The composition is an analysis now; correct its constituents under Water.")

    def _blend(self) -> None:
        name, share = self.name.value.strip(), self.share.value.strip()
        self.session.rework(lambda design: with_analysis(design, name, share), "",
                            f"{name} is part of the blend, a copy of the analysis before; correct it under Water.")

    def _read(self) -> dict[str, Any]:
        """What the sheet says, as the design file would say it."""
        if not self.sheet.value:
            raise DesignError("no sheet beside the design", where="sheet", allowed=".csv, .xlsx",
                              do="put one into the folder of the design")
        path, heads = Path(str(self.sheet.value)), [x.strip() for x in self.heads.value.split(",") if x.strip()]
        columns: dict[str, str] = dict(zip(lab_sheet.COLUMNS, heads or lab_sheet.COLUMNS.values(), strict=False))
        names = dict(x.split("=", 1) for x in self.names.value.split(",") if "=" in x)
        text = lab_sheet.read(
            path, columns, decimal=str(self.decimal.value), header=lab_sheet.header_row(path, columns),
            separator=lab_sheet.separator(path), below=str(self.below.value),
            names={k.strip(): v.strip() for k, v in names.items()},
            skip=[x.strip() for x in self.skip.value.split(",") if x.strip()])
        return tomllib.loads(text)["water"]

    def _preview(self) -> None:
        try:
            found = self._read()
        except Problem as problem:
            self.shown.value = f'<p class="desalbook db-wrong" role="alert">✗ {escape(str(problem))}</p>'
            return
        rows = [*((k, v) for k, v in found.items() if k != "ions"), *found["ions"].items()]
        body = "".join(f"<tr><td>{escape(str(k))}</td><td>{escape(fine(str(v)))}</td></tr>" for k, v in rows)
        self.shown.value = (f'<div class="desalbook"><p role="status">{len(rows)} rows would be taken:</p>'
                            f"<table><tr><th>Key</th><th>Value</th></tr>{body}</table></div>")

    def _take(self) -> None:
        name = Path(str(self.sheet.value or "")).name
        if self.session.rework(lambda design: of_sheet(design, self._read()), "",
                               f"The water is that of {name} now. Undo restores what was there."):
            self.shown.value = ""


def _text(title: str, example: str, width: str) -> w.Text:
    return w.Text(description=title, placeholder=example, continuous_update=False, style=_WIDE,
                  layout=w.Layout(width=width))
