"""The other sheets: checks, equipment, streams, sources, what to doubt, what is not live, states, revision."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from desalbook.audit.doubt import GROUPS, closures, doubt
from desalbook.audit.page.shown import si_unit
from desalbook.audit.workbook.formulas import MOVED, OFF, STALE, WRITTEN, Formulas
from desalbook.audit.workbook.places import FIRST, INPUTS, Places, reference
from desalbook.audit.workbook.style import Style, text
from desalbook.trail.seal import content_hash
from desalbook.trail.words import assumption
from desalbook.trail.written import expression_text

__all__ = ["CHECKS", "Sheets"]

CHECKS = ("Id", "Check", "Provided, SI", "Sense", "Limit, SI", "Unit", "Margin", "Verdict", "State", "Case",
          "What to do")
"""Columns of the sheet of checks."""
_HEAD = (("name", "Project"), ("client", "Client"), ("revision", "Revision"), ("date", "Date"),
         ("made_by", "Prepared by"), ("checked_by", "Checked by"), ("note", "Note"))


class Sheets:
    """Writes everything but the lines."""

    def __init__(self, record: Mapping[str, Any], places: Places, formulas: Formulas, style: Style, units: str):
        self.record, self.places, self.formulas, self.style, self.units = record, places, formulas, style, units

    def start(self, page: Any, title: str, says: str, heads: tuple[str, ...], widths: tuple[float, ...]) -> None:
        """Title, one sentence, and the heads of the columns."""
        text(page, 0, 0, title, self.style.head)
        text(page, 1, 0, says, self.style.quiet)
        for i, said in enumerate(heads):
            text(page, FIRST - 1, i, said, self.style.bold)
        for i, wide in enumerate(widths):
            page.set_column(i, i, wide)
        page.freeze_panes(FIRST, 1)
        page.repeat_rows(FIRST - 1)

    def checks(self, page: Any) -> None:
        """Verdicts, judged live where both sides are figures."""
        self.start(page, "Checks", "Margins and verdicts are live. A margin below 5 % is marginal.", CHECKS,
                   (44, 40, 14, 7, 14, 9, 10, 10, 8, 13, 70))
        at = FIRST
        for x in self.record["lines"]:
            if x["sort"] != "checked":
                continue
            m = x["more"]
            text(page, at, 0, x["id"])
            text(page, at, 1, x["title"])
            if "sense" in m:
                for column, name, value in ((2, "provided", x["value"]), (4, "limit", m["limit"])):
                    page.write_formula(at, column, f"={self.places.known(x['inputs'][name])}", None, value)
                text(page, at, 3, m["sense"])
                text(page, at, 5, si_unit(x["kind"], self.record))
                r, (a, b) = at + 1, ("E", "C") if m["sense"] == "<=" else ("C", "E")
                zero = repr(m.get("zero", 0.0))
                span = f"IF(E{r}<>{zero},ABS(E{r}-{zero}),IF(C{r}<>{zero},ABS(C{r}-{zero}),1))"
                page.write_formula(at, 6, f"=({a}{r}-{b}{r})/{span}", None, m["margin"])
                page.write_formula(at, 7, f'=IF(G{r}<0,"fails",IF(G{r}<0.05,"marginal","passes"))', None, m["verdict"])
            else:
                text(page, at, 7, m["verdict"], self.style.fixed)
            if self.formulas.stale(x) is not None:
                page.write_formula(at, 8, f'=IF({self.formulas.state(x["id"], STALE)}>0,"stale","")', None, "")
            text(page, at, 9, x["corner"] or "")
            why = m.get("why", ""), assumption(m).removeprefix("; "), m.get("do", "")
            text(page, at, 10, ". ".join(t for t in why if t))
            at += 1
        for word, format in self.style.verdict.items():
            page.conditional_format(FIRST, 7, max(at, FIRST + 1) - 1, 7, {
                "type": "cell", "criteria": "==", "value": f'"{word}"', "format": format})
        page.conditional_format(FIRST, 8, max(at, FIRST + 1) - 1, 8, {
            "type": "cell", "criteria": "==", "value": '"stale"', "format": self.style.stale})

    def table(self, page: Any, name: str, says: str) -> None:
        """A table of the record; a figure that is a line of the trail follows it."""
        rows = self.record.get(name) or []
        heads = tuple(dict.fromkeys(k for row in rows for k in row if k not in ("ids", "id")))
        first = [k for k in ("key", "title", "from", "to") if k in heads]
        heads = (*first, *(k for k in heads if k not in first), "state")
        self.start(page, name.capitalize(), says + ". Grey values do not follow.",
                   tuple(h.replace("_", " ") for h in heads), (18, 24, *([15] * len(heads))))
        for at, row in enumerate(rows, FIRST):
            ids = row.get("ids", {})
            for column, head in enumerate(heads):
                value = row.get(head)
                if isinstance(value, (int, float)) and not isinstance(value, bool):
                    own = self.places.lines.get(ids.get(head, ""))
                    if own is not None and own["keys"] is None and own["value"] == value:
                        page.write_formula(at, column, f"={self.places.name[own['id']]}", None, value)
                    else:
                        page.write_number(at, column, value, self.style.fixed)
                elif value is not None:
                    text(page, at, column, value)
            terms = [self.formulas.state(i, STALE) for i in dict.fromkeys(ids.values())
                     if i in self.places.lines and self.formulas.stale(self.places.lines[i]) is not None]
            terms += [self.formulas.state(i, MOVED) for i in dict.fromkeys(ids.values()) if i in self.formulas.watched]
            if terms:
                page.write_formula(at, len(heads) - 1, f'=IF({"+".join(terms)}>0,"stale","")', None, "")
        page.conditional_format(FIRST, len(heads) - 1, FIRST + len(rows), len(heads) - 1, {
            "type": "cell", "criteria": "==", "value": '"stale"', "format": self.style.stale})

    def sources(self, page: Any) -> None:
        """The bibliography, then every relation with its source and range."""
        self.start(page, "Sources", "What was cited, then the relations with where each comes from.",
                   ("Key", "Kind", "Citation"), (46, 24, 60, 14, 60, 34, 40))
        at = FIRST
        for key, s in sorted(self.record["sources"].items()):
            for column, said in enumerate((key, s["kind"], s["citation"])):
                text(page, at, column, said)
            at += 1
        at += 1
        for column, said in enumerate(("Relation", "Title", "Equation", "Unit", "Source", "Valid for", "Note")):
            text(page, at, column, said, self.style.bold)
        for key, r in sorted(self.record["relations"].items()):
            at += 1
            valid = "; ".join(f"{n.replace('_', ' ')} {lo or 'open'} to {hi or 'open'}"
                              for n, (lo, hi) in sorted(r["within"].items()))
            for column, said in enumerate((key, r["title"], expression_text(r), r["unit"],
                                           f"{r['source']} {r['place']}".strip(), valid, r["note"])):
                text(page, at, column, said)

    def doubt(self, page: Any) -> None:
        """What to look at twice, as it stood at writing; then the balances of the streams."""
        self.start(page, "What to doubt", "As the record stood when this book was written.",
                   ("Id", "Title", "What", "Checks below", "Lines"), (50, 44, 80, 12, 8))
        at = FIRST
        frame = doubt(self.record, self.units)
        for group, said in GROUPS.items():
            some = [r for r in frame.to_dict("records") if r["group"] == group]
            text(page, at, 0, f"{said}: {len(some)}", self.style.bold)
            at += 1
            for r in some:
                for column, name in enumerate(("id", "title", "what")):
                    text(page, at, column, r[name])
                page.write_number(at, 3, r["checks"])
                page.write_number(at, 4, r["lines"])
                at += 1
        rows = closures(self.record).to_dict("records")
        if rows:
            at += 1
            for column, said in enumerate(("Balance round", "Component", "", "In", "Out", "Difference", "Relative")):
                text(page, at, column, said, self.style.bold)
            for r in rows:
                at += 1
                text(page, at, 0, r["id"])
                text(page, at, 1, r["component"])
                for column, name in ((3, "into"), (4, "out"), (5, "difference"), (6, "relative")):
                    page.write_number(at, column, r[name])

    def marks(self, page: Any) -> None:
        """What reviewers said of lines, as their marks stood when this book was written."""
        rows = self.record.get("marks", ())
        says = "Review marks as they stood when this book was written." if rows else "No line is marked yet."
        self.start(page, "Marks", says, ("Line", "State", "Reviewer said", "By", "Time", "Note", "Why stale", "Id"),
                   (44, 14, 14, 10, 24, 60, 44, 44))
        for at, m in enumerate(rows, FIRST):
            for column, key in enumerate(("title", "state", "verdict", "by", "time", "note", "stale", "id")):
                text(page, at, column, m[key], self.style.wrap)

    def not_live(self, page: Any) -> None:
        """Computed, solved and engine lines that neither follow nor carry a live residual."""
        rows = list(self.formulas.reasons())
        n = sum(x["sort"] in ("computed", "solved", "engine") for x in self.record["lines"])
        share = 1 - len(rows) / n if n else 1.0
        self.start(page, "Not live", f"{n - len(rows)} of {n} computed, solved and engine lines ({share * 100:.1f} %) "
                   "are live formulas or carry a live residual. The others:",
                   ("Id", "Title", "Sort", "Why"), (50, 44, 10, 90))
        for at, (x, why) in enumerate(rows, FIRST):
            for column, said in enumerate((x["id"], x["title"], x["sort"], why)):
                text(page, at, column, said)

    def state(self, page: Any) -> None:
        """For each line whether it moved, is stale, its residual, and its values at writing."""
        text(page, 0, 0, "State of each line; do not change this sheet", self.style.head)
        heads = ("Id", "Title", "Sort", "Moved", "Stale", "Residual / allowed", "At writing")
        for i, said in enumerate(heads):
            text(page, 2, i, said, self.style.bold)
        page.set_column(0, 1, 44)
        page.freeze_panes(3, 1)
        for x in self.record["lines"]:
            at, f = self.formulas.row[x["id"]], self.formulas
            for column, said in enumerate((x["id"], x["title"], x["sort"])):
                text(page, at, column, said)
            if x["id"] in f.watched and (moved := f.moved(x)) is not None:
                page.write_formula(at, MOVED, moved, None, 0)
                many = x["value"] if isinstance(x["value"], list) else [x["value"]]
                for n, value in enumerate(many):
                    if isinstance(value, str):
                        text(page, at, WRITTEN + n, value)
                    else:
                        page.write_number(at, WRITTEN + n, value)
            if (stale := f.stale(x)) is not None:
                page.write_formula(at, STALE, stale, None, 0)
            if x["sort"] == "solved" and (off := f.off(x)) is not None:
                page.write_formula(at, OFF, off, None,
                                   max(r["relative"] / r["tolerance"] for r in x["more"]["residual"]))

    def revision(self, page: Any) -> None:
        """The head of the book: whose it is, from what, and how to read it."""
        page.set_column(0, 0, 34)
        page.set_column(1, 1, 90)
        project, at = self.record.get("project", {}), 2
        text(page, 0, 0, "Calculation", self.style.head)
        for key, title in _HEAD:
            text(page, at, 0, title)
            text(page, at, 1, project.get(key, ""))
            at += 1
        for title, said in (("Kit", f"desalbook {self.record['kit']}"), ("Input SHA-256", self.record["input_hash"]),
                            ("Record SHA-256", content_hash(self.record)),
                            *((f"Engine {e['library']}", " ".join(t for t in (e["version"], e["data"],
                                                                           e["checksum"]) if t))
                              for e in self.record["engines"])):
            text(page, at, 0, title)
            text(page, at, 1, said)
            at += 1
        at += 1
        own = [x["id"] for x in self.record["lines"] if x["sort"] in ("given", "assumed")]
        stale = [x["id"] for x in self.record["lines"] if self.formulas.stale(x) is not None]
        counts = (("Inputs changed since writing", own, MOVED), ("Lines that are stale", stale, STALE))
        for title, ids, column in counts:
            text(page, at, 0, title)
            if ids:
                last = max(self.formulas.row.values())
                span = f"{reference('State', 3, column)}:{reference('State', last, column).partition('!')[2]}"
                sort = f"{reference('State', 3, 2)}:{reference('State', last, 2).partition('!')[2]}"
                inputs = f'((({sort}="given")+({sort}="assumed"))*({span}=1))'
                live = f"=SUM({span})" if column == STALE else f"=SUMPRODUCT({inputs})"
                page.write_formula(at, 1, live, None, 0)
            at += 1
        page.conditional_format(at - 2, 1, at - 1, 1, {"type": "cell", "criteria": ">", "value": 0,
                                                       "format": self.style.stale})
        at += 1
        for format, said in ((self.style.input, f"An input: change it on the sheet {INPUTS}"),
                             (self.style.fixed, "A value that does not follow: an engine's, a solution, a pick"),
                             (self.style.stale, "Stale: no longer holds for the inputs shown; size the design again")):
            page.write_blank(at, 0, None, format)
            text(page, at, 1, said)
            at += 1
        at += 1
        for said in ("Pressure, chemicals, electricity and drinking water can hurt people. These figures defer to "
                     "local codes and to the judgement of a licensed engineer.",):
            text(page, at, 1, said, self.style.wrap)
