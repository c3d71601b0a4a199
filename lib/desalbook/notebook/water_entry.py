"""The row of a panel that leaves an analysis for a salinity, or scales it to one."""

from __future__ import annotations

import ipywidgets as w

from desalbook.notebook.session import Session
from desalbook.study.composition import scaled, with_salinity

__all__ = ["WaterEntry"]


class WaterEntry(w.HBox):
    """A salinity to type, and what can be made of it; each is one change, which Undo takes back.

    Parameters
    ----------
    session : Session
    """

    def __init__(self, session: Session):
        self.session = session
        # sent when it is left: letter by letter, the last one would come after the press of a button
        self.salinity = w.Text(description="Salinity, per mass of seawater", placeholder="e.g. 42 g/kg",
                               continuous_update=False, style={"description_width": "initial"},
                               layout=w.Layout(width="330px"))
        self.replace, self.scale = (
            w.Button(description=d, tooltip=t, layout=w.Layout(width="auto")) for d, t in (
                ("Use it in place of the analysis", "Removes the analysis; the ions follow in seawater proportions"),
                ("Scale the analysis to it", "Multiplies every constituent; the proportions stay")))
        self.replace.on_click(session.guard(lambda _: self._replace()))
        self.scale.on_click(session.guard(lambda _: self._scale()))
        super().__init__([self.salinity, self.replace, self.scale],
                         layout=w.Layout(flex_flow="row wrap", align_items="center"))

    def look(self, here: bool) -> None:
        """Show the row beside the section of the water, and offer what the design as it is allows."""
        design = self.session.design
        self.layout.display = "flex" if here and "water" in design.sections else "none"
        analysed = any(design.stands(f"water.{key}") for key in ("ions", "analyses"))
        self.scale.disabled = not analysed
        self.replace.description = "Use it in place of the analysis" if analysed else "Use it"

    def _replace(self) -> None:
        text = self.salinity.value.strip()
        self.session.rework(lambda design: with_salinity(design, text), "",
                            f"The water is stated by its salinity now, {text}. Undo brings back what stood there.")

    def _scale(self) -> None:
        text = self.salinity.value.strip()
        self.session.rework(lambda design: scaled(design, text), "",
                            f"The analysis is scaled to {text} of salt per mass of seawater. Undo takes it back.")
