"""Two designs side by side: the one on the panel against an option that was kept, the saved file, or another file.

An option is the text of the design as it was when it was kept; it stands in the hidden folder beside the file, so it is
there after a restart. Nothing is calculated here: both plants are sized as everywhere, and compared value by value.
"""

from __future__ import annotations

import math
import os
from collections.abc import Callable, Iterable, Iterator, Mapping
from html import escape
from pathlib import Path
from typing import Any

import ipywidgets as w

from desalbook import api
from desalbook import design as room
from desalbook.drawings import read
from desalbook.fine import fine
from desalbook.notebook.files import designs
from desalbook.notebook.session import Session
from desalbook.notebook.widgets import Page
from desalbook.paths import beside
from desalbook.problems import DesignError, Problem
from desalbook.theme import role
from desalbook.trail import Choice, Figure
from desalbook.trail.words import verdict_words
from desalbook.units import in_currency, to_display, unit_label

__all__ = ["SideBySide"]

_OPTIONS = ("A", "B", "C")
_MOST = 30
_SAME = 1e-9  # relative; a search that ends elsewhere on the way differs by less
_LOOK = {"passes": "passes", "marginal": "marginal", "review": "marginal", "fails": "fails"}


class SideBySide(w.VBox):
    """A row that keeps options and puts one of them, or a file, beside the design on the panel.

    Parameters
    ----------
    session : Session
    follow : callable
        Gives the ids of the results that are compared.
    pictures : callable
        Gives titles and drawing functions, (plant, display set) -> HTML.
    units : callable
        Gives the display set.
    """

    def __init__(self, session: Session, follow: Callable[[], Iterable[str]],
                 pictures: Callable[[], Iterator[tuple[str, Callable[[Any, str], str]]]], units: Callable[[], str]):
        self.session, self._follow, self._pictures, self._units = session, follow, pictures, units
        guard = session.guard
        self.keep = w.Dropdown(options=[(f"option {x}", x) for x in _OPTIONS], description="Keep this design as",
                               style={"description_width": "initial"}, layout=w.Layout(width="240px"))
        self.kept = w.Button(description="Keep", layout=w.Layout(width="auto"),
                             tooltip="Keep the design as it is now, to come back to or to compare with")
        self.other = w.Dropdown(options=[("nothing", "")], description="Side by side with",
                                style={"description_width": "initial"}, layout=w.Layout(width="340px"))
        self.take = w.Button(description="Take it up", layout=w.Layout(width="auto"),
                             tooltip="Put the option in place of the design on the panel; it can be undone")
        self.page = Page()
        self.kept.on_click(guard(lambda _: self._keep()))
        self.take.on_click(guard(lambda _: self._take()))
        self.other.observe(guard(lambda _: self.show()), names="value")
        row = w.Layout(flex_flow="row wrap", align_items="center")
        super().__init__([w.HBox([self.keep, self.kept, self.other, self.take], layout=row), self.page])
        self._shown: tuple[Any, ...] = ()
        self.look()

    def _place(self, option: str) -> Path:
        own = self.session.path if self.session.path is not None else Path("design.toml")
        return beside(self.session.folder / own.name, f"option-{option}")

    def _text(self, what: str) -> str:
        """Text of what is compared with."""
        kind, _, name = what.partition(":")
        try:
            if kind == "option":
                return self._place(name).read_text(encoding="utf-8")
            return Path(name).read_text(encoding="utf-8")
        except OSError as error:
            raise DesignError("cannot be read", where="side by side", value=Path(name).name,
                              do=f"keep it again, or choose another ({error.strerror})") from None

    def look(self) -> None:
        """Options and files that are there now; what was chosen stays chosen."""
        session, own = self.session, self.session.path
        options = [("nothing", ""), *((f"option {x}", f"option:{x}") for x in _OPTIONS if self._place(x).is_file()),
                   *([("the saved file", f"file:{own.resolve()}")] if own is not None and own.is_file() else []),
                   *((label, f"file:{path}") for label, path in designs(session.folder, own)
                     if own is None or path != str(own.resolve()))]
        if list(self.other.options) != options:
            was = self.other.value
            self.other.options = options
            self.other.value = was if was in [v for _, v in options] else ""

    def _keep(self) -> None:
        path = self._place(str(self.keep.value))
        part = path.with_name(f".{path.name}.part")
        try:
            path.parent.mkdir(exist_ok=True)
            part.write_text(self.session.design.text, encoding="utf-8")
            os.replace(part, path)
        except OSError as error:
            raise DesignError("cannot be kept", where=f"option {self.keep.value}",
                              do=f"save the design elsewhere first ({error.strerror})") from None
        self.look()
        self._shown = ()
        self.show()

    def _take(self) -> None:
        if self.other.value:
            self.session.revision(self._text(str(self.other.value)),
                                  lambda text: room.from_text(text, self.session.path))

    def show(self) -> None:
        """Both designs as they are now; nothing is sized while nothing is chosen."""
        plant, what, units = self.session.plant, str(self.other.value or ""), self._units()
        self.take.layout.display = None if what.startswith("option:") else "none"
        if not what or plant is None:
            self._shown, self.page.html = (), ""
            return
        text = self._text(what)
        if self._shown == (plant, text, units):
            return
        self._shown = (plant, text, units)
        name = next(label for label, value in self.other.options if value == what)
        try:
            other = api.size(room.from_text(text))
        except Problem as problem:
            said = f"✗ {escape(name)}: {escape(str(problem))}"
            self.page.html = f'<div class="desalbook db-wrong" role="alert">{said}</div>'
            return
        self.page.html = "".join(self._parts(plant, other, name, units))

    def _parts(self, here: Any, other: Any, name: str, units: str) -> Iterator[str]:
        heads = ("", "this design", name, "difference")
        yield '<div class="desalbook db-beside">'
        yield _table("Inputs that differ", heads, list(_inputs(here, other, units)))
        yield _table("Results", heads, [_row(i, here, other, units) for i in self._follow()
                                        if i in here and i in other])
        yield _table("Checks that differ", heads[:3], list(_checks(here.judged(units), other.judged(units))))
        for title, draw in self._pictures():
            pair = "".join(f"<figure><figcaption>{escape(fine(title))}, {escape(whose)}</figcaption>"
                           f"{read.focusable(fine(draw(p, units)))}</figure>"
                           for p, whose in ((here, "this design"), (other, name)))
            yield f'<div class="db-pair">{pair}</div>'
        yield "</div>"


def _value(plant: Any, id: str, units: str) -> str:
    return plant.show(id, units) if id in plant else "not in this plant"


def _row(id: str, here: Any, other: Any, units: str) -> tuple[str, ...]:
    """Title, both values and their difference in the units shown, with the per cent of the other."""
    x, y = here[id], other[id]
    title = x.title or id
    if not (isinstance(x, Figure) and isinstance(y, Figure)):
        same = str(x) == str(y)
        return title, _value(here, id, units), _value(other, id, units), "" if same else "another choice"
    a, b = (float(to_display(float(v), v.kind, units)) for v in (x, y))
    mine, theirs = _value(here, id, units), _value(other, id, units)
    if math.isclose(a, b, rel_tol=_SAME) or mine == theirs:  # what reads the same differs by nothing anybody sees
        return title, mine, theirs, "none"
    money = here.design.get("energy.currency") if x.kind.name.startswith("money") else ""
    unit = in_currency(unit_label(x.kind, units, True), x.kind, str(money))
    share = f" ({(a - b) / abs(b) * 100:+.1f} %)" if b and x.kind.family != "temperature" else ""
    return title, mine, theirs, f"{a - b:+.4g} {unit}".rstrip() + share


def _inputs(here: Any, other: Any, units: str) -> Iterator[tuple[str, ...]]:
    """What somebody chose differently; what follows from it stands among the results."""
    for id in dict.fromkeys([*here.inputs, *other.inputs]):
        if id not in here or id not in other:
            continue
        x, y = here[id], other[id]
        if isinstance(x, Figure) and isinstance(y, Figure):
            if not math.isclose(float(x), float(y), rel_tol=_SAME):
                yield _row(id, here, other, units)
        elif isinstance(x, Choice) and isinstance(y, Choice) and str(x) != str(y):
            yield _row(id, here, other, units)


def _checks(here: Iterable[Mapping[str, Any]], other: Iterable[Mapping[str, Any]]) -> Iterator[tuple[str, ...]]:
    """Checks whose verdict is another, worst first as they come."""
    mine, theirs = ({c["id"]: c for c in rows} for rows in (here, other))
    for id in dict.fromkeys([*mine, *theirs]):
        a, b = mine.get(id), theirs.get(id)
        if a is None or b is None or a["verdict"] != b["verdict"]:
            one: Mapping[str, Any] = a or b or {}
            yield one["title"], _verdict(a), _verdict(b)


def _verdict(check: Mapping[str, Any] | None) -> str:
    if check is None:
        return "not judged"
    look = role(_LOOK.get(check["verdict"], "quiet"))
    return f"{look.mark} {verdict_words(check['verdict'], check['margin'])}"


def _table(title: str, heads: Iterable[str], rows: list[tuple[str, ...]]) -> str:
    if not rows:
        return f'<p><b>{escape(title)}</b> <span class="quiet">none</span></p>'
    head = "".join(f'<th scope="col">{escape(h)}</th>' for h in heads)
    body = "".join("<tr>" + "".join(f"<td>{fine(escape(c))}</td>" for c in row) + "</tr>" for row in rows[:_MOST])
    more = f'<p class="quiet">and {len(rows) - _MOST} more</p>' if len(rows) > _MOST else ""
    return f"<p><b>{escape(title)}</b></p><table><tr>{head}</tr>{body}</table>{more}"


STYLE = """
.db-beside table{border-collapse:collapse;font-variant-numeric:tabular-nums;margin:.2em 0 .8em}
.db-beside :is(th,td){text-align:left!important;padding:.12em 1.4em .12em 0;vertical-align:top}
.db-beside th{font-weight:normal;color:var(--db-quiet)}
.db-pair{display:grid;grid-template-columns:repeat(auto-fit,minmax(min(440px,100%),1fr));gap:.4em 28px}
.db-pair figure{margin:.4em 0;min-width:0}.db-pair svg{max-width:100%;height:auto}
"""
"""Style sheet, beside the panel's."""
