"""Sheets of lines: inputs and chapters as lists, what marches along an axis as blocks side by side."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from typing import Any

from desalbook.audit.page.shown import display, label, shown, si_unit
from desalbook.audit.workbook.formulas import OFF, STALE, Formulas
from desalbook.audit.workbook.places import FIRST, VALUE, Grid, Places, column_letter
from desalbook.audit.workbook.style import Style, text
from desalbook.trail import symbols
from desalbook.trail.written import expression_text

__all__ = ["HEAD", "Lines"]

HEAD = ("Quantity", "Symbol", "Case", "Value, SI", "SI unit", "Shown", "Unit", "Type", "State", "Residual / allowed",
        "Equation or method", "Source", "Id")
"""Columns of the sheets of lines."""
_CASE, _SHOWN, _TYPE, _STATE, _RESIDUAL, _MADE, _SOURCE, _IDENTITY = 2, 5, 7, 8, 9, 10, 11, 12
_NUMBERS = (VALUE, _SHOWN, _RESIDUAL)
_WIDTHS = (42, 10, 12, 15, 10, 12, 13, 10, 7, 11, 58, 26, 40)
_SAYS = {True: "Edit a shaded cell in column D; closed-form cells recalculate, the others are marked stale.",
         False: "Formulas in column D are live. A grey value does not follow; its state says when it is stale."}


class Lines:
    """Writes the lines of a record into the sheets its places name."""

    def __init__(self, record: Mapping[str, Any], places: Places, formulas: Formulas, style: Style, units: str,
                 shown: Collection[str] | None = None):
        self.record, self.places, self.formulas, self.style, self.units = record, places, formulas, style, units
        self.shown = shown
        """Ids whose rows are unfolded; all where it is None."""

    def sheet(self, page: Any, name: str, rows: Sequence[tuple[Mapping[str, Any] | None, str | None]]) -> None:
        """A list, one row a number."""
        own = name == "Inputs"
        text(page, 0, 0, name, self.style.head)
        text(page, 1, 0, _SAYS[own], self.style.quiet)
        for i, said in enumerate(HEAD):
            text(page, FIRST - 1, i, said, self.style.over if i in _NUMBERS else self.style.bold)
        page.set_row(FIRST - 1, 30.0)
        for i, wide in enumerate(_WIDTHS):
            page.set_column(i, i, wide)
        page.freeze_panes(FIRST, 1)
        page.repeat_rows(FIRST - 1)
        folded = {"level": 1, "hidden": True}
        for n, (x, key) in enumerate(rows):
            if x is None:
                text(page, FIRST + n, 0, key or "", self.style.bold)
            else:
                self.row(page, FIRST + n, x, key)
            high = self.height(x, key) if x is not None else None
            if self.shown is not None and not self._unfolded(rows, n):
                page.set_row(FIRST + n, high, None, folded)
            elif high is not None:
                page.set_row(FIRST + n, high)
        last = FIRST + max(len(rows), 1)
        state, left = column_letter(_STATE), column_letter(_RESIDUAL)
        self.mark(page, f"{state}{FIRST + 1}:{state}{last}", f"=${state}{FIRST + 1}=\"stale\"")
        self.mark(page, f"{left}{FIRST + 1}:{left}{last}",
                  f"=OR(${state}{FIRST + 1}=\"stale\",N(${left}{FIRST + 1})>1)")

    def height(self, x: Mapping[str, Any], key: str | None) -> float | None:
        """Height of a row whose texts are wrapped, points; None for one line."""
        many = [(x["title"] + (f", {key}" if key is not None else ""), _WIDTHS[0])]
        if key is None or key == x["keys"][0]:
            many += [(self.made(x), _WIDTHS[_MADE]), (f"{x['source']} {x['place']}", _WIDTHS[_SOURCE])]
        lines = max(-(-len(said) // int(wide * 0.95)) for said, wide in many)
        return 15.0 * lines if lines > 1 else None

    def _unfolded(self, rows: Sequence[tuple[Mapping[str, Any] | None, str | None]], n: int) -> bool:
        """Whether a row stands open: it decides, or it heads one that does."""
        x, _ = rows[n]
        if x is not None or self.shown is None:
            return self.shown is None or (x is not None and x["id"] in self.shown)
        for below, _ in rows[n + 1:]:
            if below is None:
                return False
            if below["id"] in self.shown:
                return True
        return False

    def mark(self, page: Any, where: str, when: str) -> None:
        """Red where stale; the word stands there too."""
        page.conditional_format(where, {"type": "formula", "criteria": when, "format": self.style.stale})

    def row(self, page: Any, at: int, x: Mapping[str, Any], key: str | None) -> None:
        """One number with its unit, its state and where it comes from."""
        value = x["value"] if key is None else x["value"][x["keys"].index(key)]
        text(page, at, 0, x["title"] + (f", {key}" if key is not None else ""), self.style.wrap)
        text(page, at, 1, symbols.text(x["symbol"], key) if x["symbol"] else "", self.style.top)
        text(page, at, _CASE, (x["corner"] or "").replace("-", ", "), self.style.top)
        self.value(page, at, VALUE, x, key, value)
        if isinstance(value, (int, float)):
            reads = display(value, x["kind"], self.units, self.record)
            zero, one = (display(v, x["kind"], self.units, self.record) for v in (0.0, 1.0))
            shift = f"+({zero!r})" if zero else ""
            said = shown(value, x["kind"], self.units, self.record) if x["kind"] else None
            page.write_formula(at, _SHOWN, f"=D{at + 1}*({one - zero!r}){shift}",
                               self.style.shown(reads, x["kind"], said), reads)
            text(page, at, 4, si_unit(x["kind"], self.record), self.style.unit)
            text(page, at, 6, label(x["kind"], self.units, self.record), self.style.unit)
        text(page, at, _TYPE, x["sort"], self.style.top)
        text(page, at, _IDENTITY, x["id"] if key is None else f"{x['id']}[{key}]", self.style.top)
        if key is None or key == x["keys"][0]:
            self.state(page, at, _STATE, x)
            if x["sort"] == "solved" and x["more"].get("residual"):
                page.write_formula(at, _RESIDUAL, f"={self.formulas.state(x['id'], OFF)}", None, self.off(x))
            text(page, at, _MADE, self.made(x), self.style.long)
            text(page, at, _SOURCE, " ".join(t for t in (x["source"], x["place"]) if t), self.style.wrap)

    def value(self, page: Any, at: int, column: int, x: Mapping[str, Any], key: str | None, value: Any) -> None:
        """The value itself: a live formula with its cached value, an input to change, or a value that stands."""
        own = x["sort"] in ("given", "assumed")
        ground = self.style.input if own else self.style.fixed
        if isinstance(value, str):
            text(page, at, column, value, ground)
        elif isinstance(value, (int, float)):
            live = self.formulas.live(x, key)
            if live is None:
                page.write_number(at, column, value, self.style.rounded(value, "input" if own else "fixed"))
            else:
                page.write_formula(at, column, live, self.style.rounded(value), value)

    def state(self, page: Any, at: int, column: int, x: Mapping[str, Any]) -> None:
        """``stale`` when the value can no longer be believed."""
        if self.formulas.stale(x) is not None:
            page.write_formula(at, column, f'=IF({self.formulas.state(x["id"], STALE)}>0,"stale","")', None, "")

    @staticmethod
    def off(x: Mapping[str, Any]) -> float:
        """The residual over its allowance at writing."""
        return max(r["relative"] / r["tolerance"] for r in x["more"]["residual"])

    def made(self, x: Mapping[str, Any]) -> str:
        """In words, how the line came about."""
        m = x["more"]
        if x["sort"] == "computed":
            r = self.record["relations"][x["relation"]]
            return f"{r['title']}: {expression_text(r)}"
        if x["sort"] == "engine":
            return " ".join(t for t in (m["library"], m["version"], m["data"]) if t)
        if x["sort"] == "solved":
            return m.get("method", "")
        if x["sort"] == "picked":
            return m["rule"] + (f" ({m['why']})" if m.get("why") else "")
        return m.get("table", "") and f"table {m['table'].replace('_', ' ')}"

    # along an axis ---------------------------------------------------------------------------------------

    def grids(self, page: Any, name: str, grids: Sequence[Grid]) -> None:
        """Blocks of lines along an axis, one row a key and one column a line."""
        text(page, 0, 0, f"{name}, element by element", self.style.head)
        text(page, 1, 0, _SAYS[False].replace("column D", "these rows"), self.style.quiet)
        page.freeze_panes(0, 1)
        page.set_column(0, 0, 26)
        page.set_column(1, max(len(g.lines) for g in grids), 15)
        for g in grids:
            at = f" at {g.corner}" if g.corner else ""
            text(page, g.top, 0, g.title + at, self.style.head)
            for n, said in enumerate(("Quantity", "Id", "Symbol", "SI unit"), 1):
                text(page, g.top + n, 0, said, self.style.bold)
            for n, key in enumerate(g.keys):
                text(page, g.first + n, 0, key)
            end = g.first + len(g.keys)
            text(page, end, 0, "State")
            for column, x in enumerate(g.lines, 1):
                for n, said in enumerate((x["title"], x["id"], x["symbol"] and symbols.text(x["symbol"]),
                                          si_unit(x["kind"], self.record)), 1):
                    text(page, g.top + n, column, said, self.style.bold if n == 4 else None)
                for n, (key, value) in enumerate(zip(g.keys, x["value"], strict=True)):
                    self.value(page, g.first + n, column, x, key, value)
                self.state(page, end, column, x)
            if self.shown is not None:
                for n in range(g.top + 1, end + 1):
                    page.set_row(n, None, None, {"level": 1, "hidden": True})
            right = column_letter(len(g.lines))
            self.mark(page, f"B{end + 1}:{right}{end + 1}", f"=B{end + 1}=\"stale\"")
