"""Sheets of lines: inputs and chapters as lists, what marches along an axis as blocks side by side."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from desalbook.audit.page.shown import display, label, si_unit
from desalbook.audit.workbook.formulas import OFF, STALE, Formulas
from desalbook.audit.workbook.places import FIRST, VALUE, Grid, Places, column_letter
from desalbook.audit.workbook.style import Style, text
from desalbook.trail import symbols
from desalbook.trail.written import expression_text

__all__ = ["HEAD", "Lines"]

HEAD = ("Id", "Quantity", "Symbol", "Value, SI", "SI unit", "Shown", "Unit", "Sort", "Case", "State",
        "Residual / allowed", "Prepared by", "Source")
"""Columns of the sheets of lines."""
_STATE, _RESIDUAL, _MADE, _SOURCE = 9, 10, 11, 12
_NUMBERS = (VALUE, 5, _RESIDUAL)
_WIDTHS = (46, 42, 10, 18, 10, 12, 13, 10, 12, 7, 18, 58, 34)
_SAYS = {True: "Change a value in a coloured cell of column D; what is closed-form follows at once, and what cannot "
               "follow is marked stale.",
         False: "Formulas in column D are live. A grey value does not follow; its state says when it is stale."}


class Lines:
    """Writes the lines of a record into the sheets its places name."""

    def __init__(self, record: Mapping[str, Any], places: Places, formulas: Formulas, style: Style, units: str):
        self.record, self.places, self.formulas, self.style, self.units = record, places, formulas, style, units

    def sheet(self, page: Any, name: str, rows: Sequence[tuple[Mapping[str, Any], str | None]]) -> None:
        """A list, one row a number."""
        own = name == "Inputs"
        text(page, 0, 0, name, self.style.head)
        text(page, 1, 0, _SAYS[own], self.style.quiet)
        for i, said in enumerate(HEAD):
            text(page, FIRST - 1, i, said, self.style.over if i in _NUMBERS else self.style.bold)
        for i, wide in enumerate(_WIDTHS):
            page.set_column(i, i, wide)
        page.freeze_panes(FIRST, 1)
        page.repeat_rows(FIRST - 1)
        for n, (x, key) in enumerate(rows):
            self.row(page, FIRST + n, x, key)
        last = FIRST + max(len(rows), 1)
        self.mark(page, f"J{FIRST + 1}:J{last}", f"=$J{FIRST + 1}=\"stale\"")
        self.mark(page, f"K{FIRST + 1}:K{last}", f"=OR($J{FIRST + 1}=\"stale\",N($K{FIRST + 1})>1)")

    def mark(self, page: Any, where: str, when: str) -> None:
        """Red where stale; the word stands there too."""
        page.conditional_format(where, {"type": "formula", "criteria": when, "format": self.style.stale})

    def row(self, page: Any, at: int, x: Mapping[str, Any], key: str | None) -> None:
        """One number with its unit, its state and where it comes from."""
        value = x["value"] if key is None else x["value"][x["keys"].index(key)]
        text(page, at, 0, x["id"] if key is None else f"{x['id']}[{key}]")
        text(page, at, 1, x["title"])
        text(page, at, 2, symbols.text(x["symbol"], key) if x["symbol"] else "")
        self.value(page, at, VALUE, x, key, value)
        if isinstance(value, (int, float)):
            shown = display(value, x["kind"], self.units, self.record)
            zero, one = (display(v, x["kind"], self.units, self.record) for v in (0.0, 1.0))
            shift = f"+({zero!r})" if zero else ""
            page.write_formula(at, 5, f"=D{at + 1}*({one - zero!r}){shift}", self.style.shown(shown, x["kind"]), shown)
            text(page, at, 4, si_unit(x["kind"], self.record), self.style.unit)
            text(page, at, 6, label(x["kind"], self.units, self.record), self.style.unit)
        text(page, at, 7, x["sort"])
        text(page, at, 8, x["corner"] or "")
        if key is None or key == x["keys"][0]:
            self.state(page, at, _STATE, x)
            if x["sort"] == "solved" and x["more"].get("residual"):
                page.write_formula(at, _RESIDUAL, f"={self.formulas.state(x['id'], OFF)}", None, self.off(x))
            text(page, at, _MADE, self.made(x), self.style.unit)
            text(page, at, _SOURCE, " ".join(t for t in (x["source"], x["place"]) if t))

    def value(self, page: Any, at: int, column: int, x: Mapping[str, Any], key: str | None, value: Any) -> None:
        """The value itself: a live formula with its cached value, an input to change, or a value that stands."""
        own = x["sort"] in ("given", "assumed")
        ground = self.style.input if own else self.style.fixed
        if isinstance(value, str):
            text(page, at, column, value, ground)
        elif isinstance(value, (int, float)):
            live = self.formulas.live(x, key)
            if live is None:
                page.write_number(at, column, value, ground)
            else:
                page.write_formula(at, column, live, None, value)

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
            right = column_letter(len(g.lines))
            self.mark(page, f"B{end + 1}:{right}{end + 1}", f"=B{end + 1}=\"stale\"")
