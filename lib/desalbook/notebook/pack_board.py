"""The desk of the pack: a person chooses the documents, looks at each, and has them made into a folder."""

from __future__ import annotations

from collections.abc import Mapping
from html import escape
from pathlib import Path
from typing import Any

import ipywidgets as w

from desalbook import api, pack, paths
from desalbook.notebook.files import Files
from desalbook.notebook.session import Session
from desalbook.notebook.widgets import Keys, Page
from desalbook.pack.fabricated import shipped
from desalbook.pack.plant_source import Source
from desalbook.pack.pressure_parts import parts_under_test
from desalbook.pack.printing import body, screen_style
from desalbook.pack.shipping import spares_rows
from desalbook.problems import DesignError
from desalbook.theme import css

__all__ = ["PackDesk", "headlines", "pack_desk"]

_WIDE = {"description_width": "initial"}
_GROUPS = {"Offer": "0", "Process and drawings": "1", "Lists": "2", "Mechanical": "3", "Materials and tests": "4",
           "Operation and calculation": "56"}
"""Groups of the check boxes by the first digit of a document's number."""


def pack_desk(path: str | Path | None = None, units: str = "si") -> PackDesk:
    """Open the desk of the pack on a design; the last line of a cell shows it.

    Parameters
    ----------
    path : path, optional
        Design file; the one of ``desalbook lab FILE``, else the harbour demo.
    units : {"si", "us"}
    """
    path = paths.chosen("harbour-town.toml") if path is None else path
    return PackDesk(Session(api.read(path), api.size, path), units)


def headlines(plant: Any, units: str = "si") -> str:
    """Five counts and values of the pack of a plant, one a line."""
    of = Source(plant, units)
    tested = next(r for r in parts_under_test(of).rows if r["part"] == "HP pump and device to vessels")
    signed = sum(len(t.rows) for d in pack.documents(plant, units, ("factory-test", "site-test")) for t in d.tables())
    rows = (("documents", f"{len(pack.documents(plant, units))}"),
            ("acceptance tests", f"{signed}"),
            ("test pressure, HP pipe", of.text(float(str(tested["test"])), "gauge pressure", 4)),
            ("cartridges in stock", next(f"{r['number']:.0f}" for r in spares_rows(of) if r["of"] == "Cartridge")),
            ("estimate of the price", f"{of.show('cost.capital', 3)} {of.words('energy.currency')}"))
    return "\n".join(f"{name:<24}{value}" for name, value in rows)


class PackDesk(w.VBox):
    """The pack of one design.

    Parameters
    ----------
    session : Session
    units : {"si", "us"}
    """

    def __init__(self, session: Session, units: str = "si"):
        self.session, self._made, self._of = session, {}, ()
        self.requirements: Path | None = None
        guard = session.guard
        self.set = w.Dropdown(options=[("SI", "si"), ("US", "us")], value=units, description="Units", style=_WIDE,
                              layout=w.Layout(width="140px"))
        self.files = Files(session, self.refresh, writes=False, exports=False, units=lambda: str(self.set.value))
        self.parts = {key: w.Checkbox(value=key != "compliance", description=f"{part.number} {part.title}",
                                      indent=False, layout=w.Layout(width="min(380px, 96%)"))
                      for key, part in pack.PARTS.items()}
        self.list = w.Text(description="Client's list", placeholder="file .csv or .xlsx beside the design",
                           style=_WIDE, continuous_update=False, layout=w.Layout(width="min(520px, 96%)"))
        self.paper = w.Dropdown(options=[("A4 or Letter, by the units", ""), ("A4", "a4"), ("Letter", "letter")],
                                description="Paper", style=_WIDE, layout=w.Layout(width="280px"))
        self.folder = w.Text(value="pack", description="Folder", style=_WIDE, continuous_update=False,
                             layout=w.Layout(width="300px"))
        self.pdf = w.Checkbox(value=False, description="also as PDF, where a browser can print", indent=False)
        self.make = w.Button(description="Make the pack", layout=w.Layout(width="auto"),
                             tooltip="All chosen documents into the folder beside the design")
        self.look = w.Dropdown(description="Look at", style=_WIDE, layout=w.Layout(width="min(440px, 96%)"))
        self.told, self.shown, self.shipped = Page(), Page(), Page()
        self.drawing = w.Dropdown(options=[("Plan", "plan"), ("Elevations", "elevation")], description="Drawing",
                                  style=_WIDE, layout=w.Layout(width="min(440px, 96%)"))
        self.shipping = w.Accordion([w.VBox([self.drawing, self.shipped])], titles=("Weights, skids and containers",),
                                    selected_index=None)
        self.set.observe(guard(lambda _: self.refresh()), names="value")
        self.list.observe(guard(lambda _: self._listed()), names="value")
        self.look.observe(guard(lambda _: self._show()), names="value")
        self.shipping.observe(guard(lambda _: self._ship()), names="selected_index")
        self.drawing.observe(guard(lambda _: self._ship()), names="value")
        for box in self.parts.values():
            box.observe(guard(lambda _: self.refresh()), names="value")
        self.make.on_click(guard(lambda _: self.write()))
        session.listen(self.refresh)
        wrap = w.Layout(flex_flow="row wrap", align_items="center")
        groups = []
        for name, digit in _GROUPS.items():
            boxes = [box for key, box in self.parts.items() if pack.PARTS[key].number[0] in digit]
            groups += [w.HTML(f"<b>{escape(name)}</b>"), w.HBox(boxes, layout=wrap)]
        super().__init__([
            Keys(), w.HTML(f"<style>{css()}{screen_style('.db-document')}</style>"), self.set, self.files,
            *groups, w.HBox([self.list, self.paper], layout=wrap),
            w.HBox([self.folder, self.pdf, self.make], layout=wrap), self.told, self.look, self.shown,
            self.shipping])
        self.add_class("desalbook").add_class("db-panel")
        self.refresh()

    @property
    def chosen(self) -> tuple[str, ...]:
        """Keys of the documents that are chosen; the matrix only with a client's list."""
        return tuple(key for key, box in self.parts.items()
                     if box.value and (key != "compliance" or self.requirements is not None))

    def _listed(self) -> None:
        """A client's list was named, beside the design where the name is no path: the matrix is wanted."""
        name = str(self.list.value).strip()
        file = Path(name) if Path(name).is_absolute() else self.session.folder / name
        if name and not file.is_file():
            raise DesignError("no such file", where="client's list", value=name,
                              do="give the name of a file beside the design")
        self.session.messages.pop("", None)
        self.requirements = file if name else None
        self.parts["compliance"].value = bool(name)
        self.refresh()

    def refresh(self) -> None:
        """Documents of the present plant, and the list of what can be looked at."""
        plant = self.session.plant
        now = (id(plant), self.chosen, str(self.set.value), str(self.requirements))
        if plant is None or now == self._of:
            self._tell()
            return
        self._of = now
        self._made = {d.key: d for d in pack.documents(plant, str(self.set.value), self.chosen, self.requirements)}
        options = [(f"{d.number} {d.title}", key) for key, d in self._made.items()]
        if options != list(self.look.options or ()):
            was = self.look.value
            self.look.options = options
            self.look.value = was if was in self._made else options[0][1] if options else None
        self._show()
        self._ship()
        self._tell()

    def _ship(self) -> None:
        """Masses, skids, containers and the chosen drawing, once somebody has opened them."""
        plant = self.session.plant
        if plant is None or self.shipping.selected_index is None:
            return
        options = [("Plan", "plan"), ("Elevations", "elevation"), *(
            (f"{s['tag']} {s['title']}", s["tag"]) for s in plant.fabrication.made.skids)]
        if options != list(self.drawing.options):
            was = self.drawing.value
            self.drawing.options = options
            self.drawing.value = was if was in dict(options).values() else "plan"
        document = shipped(Source(plant, str(self.set.value)), str(self.drawing.value))
        self.shipped.html = f'<div class="desalbook db-document">{body(document, str(self.set.value))}</div>'

    def _show(self) -> None:
        """The document that is looked at, as it will be printed, without its head."""
        document = self._made.get(str(self.look.value))
        self.shown.html = "" if document is None else (
            f'<div class="desalbook db-document"><h2>{escape(document.number)} {escape(document.title)}</h2>'
            f"{body(document, str(self.set.value))}</div>")

    def _tell(self, said: str = "") -> None:
        """What was made, or what is wrong."""
        wrong = [escape(text) for text in self.session.messages.values() if text]
        words = said or f"{len(self._made)} documents chosen."
        self.told.html = f'<div class="desalbook"><p role="status">{"<br>".join([*wrong, escape(words)])}</p></div>'

    def write(self) -> pack.Issued | None:
        """Make the chosen documents into the folder beside the design."""
        name = str(self.folder.value).strip()
        if not name or Path(name).name != name or name.startswith("."):
            raise DesignError("is not a name of a folder", where="folder", value=name,
                              do="give one plain name; the folder is made beside the design")
        self.session.messages.pop("", None)
        made = pack.write_pack(self.session.plant, self.session.folder / name, str(self.set.value),
                               str(self.paper.value) or None, only=self.chosen, requirements=self.requirements,
                               pdf=bool(self.pdf.value))
        head: Mapping[str, str] = made.index["head"]
        since = f" {len(made.changed)} issued anew since the pack before." if made.index["since"] else ""
        self._tell(f"{len(made.index['documents'])} documents in {made.folder.name}, revision {head['revision']}, "
                   f"{head['status'].lower()}.{since} Begin with index.html.")
        return made
