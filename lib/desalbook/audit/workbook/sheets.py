"""The other sheets: checks, equipment, streams, sources, review priorities, what is not live, states, revision."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import zip_longest
from typing import Any

from desalbook.audit.doubt import GROUPS, closures, doubt
from desalbook.audit.page.shown import display, label, shown
from desalbook.audit.page.summary import NAMES, VALUES, case_of, there
from desalbook.audit.workbook.formulas import (
    CURVES,
    FOLLOWED,
    MOVED,
    OFF,
    OTHERS,
    RESPONSES,
    STALE,
    STEPS,
    WRITTEN,
    Formulas,
)
from desalbook.audit.workbook.places import FIRST, INPUTS, Places, reference
from desalbook.audit.workbook.style import Style, text
from desalbook.trail.ledger import MARGINAL
from desalbook.trail.seal import content_hash
from desalbook.trail.sheet import literal
from desalbook.trail.systems import RANK, sentence, system_of
from desalbook.trail.words import assumption, with_titles
from desalbook.trail.written import expression_text
from desalbook.units import in_units

__all__ = ["CHECKS", "Sheets"]

CHECKS = ("Check", "Case", "Provided", "Sense", "Limit", "Unit", "Margin", "Verdict", "State", "What to do",
          "System", "Id")
"""Columns of the sheet of checks, in the units of people; a margin is the same in any."""
MARGIN, VERDICT, SHOWN = 6, 7, 5
_NUMBER, _LONGEST = 10, 48  # characters of a column: the least, and the most it takes for a text
_GRAVEST = 10  # of each group of doubts that stand open at review depth
_HEAD = (("name", "Project"), ("client", "Client"), ("revision", "Revision"), ("date", "Date"),
         ("made_by", "Prepared by"), ("checked_by", "Checked by"), ("note", "Note"))


def _joined(value: Any) -> str:
    return ", ".join(map(str, value)) if isinstance(value, (list, tuple)) else value


def _breadth(value: Any) -> float:
    """Width of a column that shows a value, in characters: a number as it is rounded, a long text in part."""
    if value is None or isinstance(value, (int, float)):
        return _NUMBER
    return max(_NUMBER, min(len(str(_joined(value))) + 2, _LONGEST))


class Sheets:
    """Writes everything but the lines."""

    def __init__(self, record: Mapping[str, Any], places: Places, formulas: Formulas, style: Style, units: str):
        self.record, self.places, self.formulas, self.style, self.units = record, places, formulas, style, units
        self._wide: dict[str, tuple[float, ...]] = {}  # columns of the tables, by sheet

    def start(self, page: Any, title: str, says: str, heads: tuple[str, ...], widths: tuple[float, ...]) -> None:
        """Title, one sentence, and the heads of the columns."""
        self.heads(page, title, says, heads, 0)
        for i, wide in enumerate(widths):
            page.set_column(i, i, wide)
        page.freeze_panes(FIRST, 1)
        page.repeat_rows(FIRST - 1)

    def heads(self, page: Any, title: str, says: str, heads: Sequence[str], top: int) -> None:
        """Title, one sentence and the heads of the columns, from a row on."""
        text(page, top, 0, title, self.style.head)
        text(page, top + 1, 0, says, self.style.quiet)
        for i, said in enumerate(heads):
            text(page, top + FIRST - 1, i, said, self.style.bold)

    def _title(self, key: str) -> str | None:
        """Title of a key of the design that has a line in the record."""
        return self.places.lines[key]["title"] if key in self.places.lines else None

    def judged(self) -> list[Mapping[str, Any]]:
        """Checks in the order of their sheet: by system, the gravest first."""
        checks = [x for x in self.record["lines"] if x["sort"] == "checked"]
        return sorted(checks, key=lambda x: (system_of(x["id"])[0], RANK[x["more"]["verdict"]]))

    def checks(self, page: Any) -> None:
        """Verdicts, judged live where both sides are figures."""
        self.start(page, "Checks", "Margins and verdicts are live. A margin below 5 % is marginal.", CHECKS,
                   (44, 13, 14, 7, 14, 9, 10, 10, 8, 70, 28, 40))
        at = FIRST
        for x in self.judged():
            m = x["more"]
            text(page, at, 0, x["title"], self.style.wrap)
            text(page, at, 1, (x["corner"] or "").replace("-", ", "), self.style.top)
            if "sense" in m:
                none, one, zero = (display(v, x["kind"], self.units, self.record)
                                   for v in (0.0, 1.0, m.get("zero", 0.0)))
                shift = f"+({none!r})" if none else ""
                for column, name, value in ((2, "provided", x["value"]), (4, "limit", m["limit"])):
                    reads = display(value, x["kind"], self.units, self.record)
                    said = shown(value, x["kind"], self.units, self.record, name == "limit") if x["kind"] else None
                    page.write_formula(at, column, f"={self.places.known(x['inputs'][name])}*({one - none!r}){shift}",
                                       self.style.shown(reads, x["kind"], said), reads)
                text(page, at, 3, m["sense"], self.style.top)
                text(page, at, 5, label(x["kind"], self.units, self.record), self.style.unit)
                r, (a, b) = at + 1, ("E", "C") if m["sense"] == "<=" else ("C", "E")
                of = f"-({zero!r})"
                span = f"IF(E{r}{of}<>0,ABS(E{r}{of}),IF(C{r}{of}<>0,ABS(C{r}{of}),{one - none!r}))"
                page.write_formula(at, MARGIN, f"=({a}{r}-{b}{r})/{span}", self.style.percent, m["margin"])
                near = 0 if m.get("selected") else MARGINAL  # a size that the kit selected is not marginal
                page.write_formula(at, VERDICT, f'=IF(G{r}<0,"fails",IF(G{r}<{near},"marginal","passes"))',
                                   self.style.top, m["verdict"])
            else:
                text(page, at, 7, m["verdict"], self.style.fixed)
            if self.formulas.stale(x) is not None:
                page.write_formula(at, 8, f'=IF({self.formulas.state(x["id"], STALE)}>0,"stale","")', None, "")
            text(page, at, 10, system_of(x["id"])[1], self.style.top)
            text(page, at, 11, x["id"], self.style.top)
            do = m.get("do", "") if m["verdict"] != "passes" else ""
            why = (in_units(m.get("why", ""), self.units), assumption(m).removeprefix("; "), in_units(do, self.units))
            said = " ".join(sentence(with_titles(t, self._title)) for t in why if t)
            text(page, at, 9, said, self.style.wrap)
            page.set_row(at, 15.0 * max(-(-len(said) // 66), -(-len(x["title"]) // 42), 1))
            at += 1
        for word, format in self.style.verdict.items():
            page.conditional_format(FIRST, 7, max(at, FIRST + 1) - 1, 7, {
                "type": "cell", "criteria": "==", "value": f'"{word}"', "format": format})
        page.conditional_format(FIRST, 8, max(at, FIRST + 1) - 1, 8, {
            "type": "cell", "criteria": "==", "value": '"stale"', "format": self.style.stale})

    def table(self, page: Any, name: str, title: str, says: str, top: int = 0) -> int:
        """A table of the record from a row on; a figure that is a line of the trail follows it.

        Returns the row after its last.
        """
        rows = self.record.get(name) or []
        heads = tuple(dict.fromkeys(k for row in rows for k in row if k not in ("ids", "id")))
        first = [k for k in ("key", "title", "from", "to", "tag", "scope", "duty", "standby", "supply") if k in heads]
        heads = (*first, *(k for k in heads if k not in first), "state")
        columns, first_row = [h.replace("_", " ") for h in heads], top + FIRST
        says += ". Grey values do not follow."
        wide = tuple(max(map(_breadth, (said, *(row.get(head) for row in rows))))
                     for said, head in zip(columns, heads, strict=True))
        if top:
            self.heads(page, title, says, columns, top)
            wide = tuple(map(max, zip_longest(wide, self._wide[page.name], fillvalue=0)))
            for i, of in enumerate(wide):
                page.set_column(i, i, of)
        else:
            self.start(page, title, says, tuple(columns), wide)
        self._wide[page.name] = wide
        for at, row in enumerate(rows, first_row):
            # one value of a column is named with its key; its line is what may go stale
            ids = {k: i if isinstance(i, str) else i[0] for k, i in row.get("ids", {}).items()}
            for column, head in enumerate(heads):
                value = row.get(head)
                if isinstance(value, (int, float)) and not isinstance(value, bool):
                    of = ids.get(head, "")
                    own = self.places.lines.get(of) if isinstance(of, str) else None
                    if own is not None and own["keys"] is None and own["value"] == value:
                        page.write_formula(at, column, f"={self.places.name[own['id']]}", None, value)
                    else:
                        page.write_number(at, column, value, self.style.fixed)
                elif value is not None:
                    text(page, at, column, _joined(value))
            terms = [self.formulas.state(i, STALE) for i in dict.fromkeys(ids.values())
                     if i in self.places.lines and self.formulas.stale(self.places.lines[i]) is not None]
            terms += [self.formulas.state(i, MOVED) for i in dict.fromkeys(ids.values()) if i in self.formulas.watched]
            if terms:
                page.write_formula(at, len(heads) - 1, f'=IF({"+".join(terms)}>0,"stale","")', None, "")
        page.conditional_format(first_row, len(heads) - 1, first_row + len(rows), len(heads) - 1, {
            "type": "cell", "criteria": "==", "value": '"stale"', "format": self.style.stale})
        return first_row + len(rows)

    def sources(self, page: Any) -> None:
        """The bibliography, then every relation with its source and range."""
        self.start(page, "Sources", "Bibliography, then every equation with its source.",
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

    def doubt(self, page: Any, folded: bool = False) -> None:
        """What to look at twice, as it stood at writing; then the balances of the streams."""
        self.start(page, "Review priorities", "State of the record when this workbook was made.",
                   ("Title", "What", "Id", "Checks below", "Lines"), (50, 80, 44, 12, 8))
        at = FIRST
        frame = doubt(self.record, self.units)
        for group, said in GROUPS.items():
            some = [r for r in frame.to_dict("records") if r["group"] == group]
            text(page, at, 0, f"{said}: {len(some)}", self.style.bold)
            at += 1
            for n, r in enumerate(some):
                if folded and n >= _GRAVEST:
                    page.set_row(at, None, None, {"level": 1, "hidden": True})
                for column, name in enumerate(("title", "what", "id")):
                    text(page, at, column, r[name], self.style.wrap if column < 2 else self.style.top)
                high = 15.0 * max(-(-len(r["what"]) // 76), -(-len(r["title"]) // 47), 1)
                if high > 15.0 and not (folded and n >= _GRAVEST):
                    page.set_row(at, high)
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

    def responses(self, page: Any) -> None:
        """Parabolas that solved values and engines' answers follow, and how far the main inputs moved."""
        f = self.formulas
        text(page, 0, 0, "How solved values follow the main inputs, hardware held; do not change this sheet",
             self.style.head)
        last = max(f.row.values(), default=3)
        moved, sort = (f"{reference('State', 3, c)}:{reference('State', last, c).partition('!')[2]}"
                       for c in (MOVED, 2))
        keys = [f.state(r.key, MOVED) for r in f.responses]
        follows = "+".join(keys) or "0"
        text(page, OTHERS, 0, "Inputs moved that are not followed")
        text(page, FOLLOWED, 0, "Inputs moved that are followed")
        page.write_formula(FOLLOWED, 1, f"={follows}", None, 0)
        here = reference(RESPONSES, FOLLOWED, 1)
        last = max(f.last_step, 4)
        outside = f"{reference(RESPONSES, STEPS + 1, 3)}:{reference(RESPONSES, STEPS + 1, last).partition('!')[2]}"
        every = f'SUMPRODUCT((({sort}="given")+({sort}="assumed"))*({moved}=1))'
        page.write_formula(OTHERS, 1, f"={every}-{here}+({here}>1)+SUM({outside})", None, 0)
        text(page, STEPS, 0, "Steps from the value at writing, and their square")
        text(page, STEPS + 1, 0, "Outside the range that is followed")
        for k, r in enumerate(f.responses):
            column, line = 3 + 2 * k, f.lines[r.key]
            text(page, STEPS - 1, column, r.key, self.style.bold)
            steps = f"({f.places.known(r.key)}-{literal(line['value'])})/{literal(r.step)}"
            page.write_formula(STEPS, column, f"=MAX(-1,MIN(1,{steps}))", None, 0)
            cell = reference(RESPONSES, STEPS, column)
            page.write_formula(STEPS, column + 1, f"={cell}*{cell}", None, 0)
            page.write_formula(STEPS + 1, column, f"=IF(ABS({steps})>1.000001,1,0)", None, 0)
        for j, (k, s) in enumerate(f.switches):
            column, step = 3 + 2 * len(f.responses) + 3 * j, reference(RESPONSES, STEPS, 3 + 2 * k)
            text(page, STEPS - 1, column, f"{f.responses[k].key}, beyond a change of count", self.style.bold)
            far = f"{literal(s.side)}*{step}"
            page.write_formula(STEPS, column, f"=IF({far}>={literal(s.first)},1,0)", None, 0)
            on = reference(RESPONSES, STEPS, column)
            page.write_formula(STEPS, column + 1, f"={on}*{step}", None, 0)
            page.write_formula(STEPS, column + 2, f"={on}*{step}*{step}", None, 0)
            page.write_formula(STEPS + 1, column, f"=IF(AND({far}>{literal(s.last)},{far}<{literal(s.first)}),1,0)",
                               None, 0)
        for column, said in enumerate(("Id", "Number", "At writing", "Slope", "Curvature")):
            text(page, CURVES - 1, column, said, self.style.bold)
        for at, (id, n, value, bent) in enumerate(f.curves, CURVES):
            text(page, at, 0, id)
            page.write_number(at, 1, n)
            page.write_number(at, 2, value)
            for column, part in enumerate(bent, 3):
                page.write_number(at, column, part)

    def marks(self, page: Any) -> None:
        """What reviewers said of lines, as their marks stood when this book was written."""
        rows = self.record.get("marks", ())
        says = "Review marks at the time this workbook was made." if rows else "No line is marked yet."
        self.start(page, "Marks", says, ("Line", "State", "Verdict", "By", "Time", "Note", "Why stale", "Id"),
                   (44, 14, 14, 10, 24, 60, 44, 44))
        for at, m in enumerate(rows, FIRST):
            for column, key in enumerate(("title", "state", "verdict", "by", "time", "note", "stale", "id")):
                text(page, at, column, m[key], self.style.wrap)

    def not_live(self, page: Any) -> None:
        """Computed, solved and engine lines that neither follow nor carry a live residual."""
        rows = list(self.formulas.reasons())
        n = sum(x["sort"] in ("computed", "solved", "engine") for x in self.record["lines"])
        share = 1 - len(rows) / n if n else 1.0
        self.start(page, "Static lines",
                   f"{n - len(rows)} of {n} computed, solved and engine lines ({share * 100:.1f} %) "
                   "are live formulas or carry a live residual. The others:",
                   ("Id", "Title", "Type", "Why"), (50, 44, 10, 90))
        for at, (x, why) in enumerate(rows, FIRST):
            for column, said in enumerate((x["id"], x["title"], x["sort"], why)):
                text(page, at, column, said)

    def state(self, page: Any) -> None:
        """For each line whether it moved, is stale, its residual, and its values at writing."""
        text(page, 0, 0, "State of each line; do not change this sheet", self.style.head)
        heads = ("Id", "Title", "Type", "Moved", "Stale", "Residual / allowed", "At writing")
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

    def results(self, page: Any) -> None:
        """The first sheet: values that matter and what does not pass, live; what a change reaches; how to read it."""
        project = self.record.get("project", {})
        for column, wide in enumerate((44, 16, 14, 20, 16, 20, 60)):
            page.set_column(column, column, wide)
        text(page, 0, 0, project.get("name", "") or "Calculation", self.style.head)
        said = [f"{word} {project[key]}" for key, word in (("revision", "Revision"), ("made_by", "prepared by"),
                                                          ("checked_by", "checked by")) if project.get(key)]
        text(page, 1, 0, " · ".join([*said, f"record {content_hash(self.record)[:12]}"]), self.style.quiet)
        at = self.counts(page, 2) + 1
        judged: dict[str, tuple[int, Mapping[str, Any]]] = {}
        checks = self.judged()
        for n, x in enumerate(checks):
            where = x["inputs"].get("provided") if "sense" in x["more"] else None
            id = where if isinstance(where, str) else where[0] if where else ""
            if id and (id not in judged or x["more"]["margin"] < judged[id][1]["more"]["margin"]):
                judged[id] = n, x
        for column, head in enumerate(("Values that matter", "Value", "Unit", "Case", "Limit", "Verdict")):
            text(page, at, column, head, self.style.over if column in (1, 4) else self.style.bold)
        for id in [i for i in VALUES if there(i, self.places.lines)][:10]:
            at += 1
            x = self.places.lines[id]
            sheet, row, _ = self.places.at[id]
            reads = shown(x["value"], x["kind"], self.units, self.record)
            page.write_formula(at, 1, f"={reference(sheet, row, SHOWN)}",
                               self.style.shown(x["value"], x["kind"], reads),
                               display(x["value"], x["kind"], self.units, self.record))
            for column, words in ((0, NAMES.get(id, x["title"])), (2, label(x["kind"], self.units, self.record)),
                                  (3, case_of(x).removesuffix(", governs"))):
                text(page, at, column, words, self.style.unit if column == 2 else None)
            if id in judged:
                n, check = judged[id]
                sense = "max " if check["more"]["sense"] == "<=" else "min "
                text(page, at, 4, sense + shown(check["more"]["limit"], check["kind"], self.units, self.record, True))
                page.write_formula(at, 5, f"={reference('Checks', FIRST + n, VERDICT)}", None, check["more"]["verdict"])
        at += 2
        for column, head in enumerate(("What does not pass", "Verdict", "Margin", "Case", "", "", "What to do")):
            text(page, at, column, head, self.style.bold)
        some = [(n, x) for n, x in enumerate(checks) if x["more"]["verdict"] != "passes"]
        for n, x in sorted(some, key=lambda k: (RANK[k[1]["more"]["verdict"]], k[1]["more"].get("margin") or 0.0)):
            at += 1
            m = x["more"]
            text(page, at, 0, x["title"], self.style.wrap)
            page.write_formula(at, 1, f"={reference('Checks', FIRST + n, VERDICT)}", self.style.top, m["verdict"])
            if "sense" in m:
                page.write_formula(at, 2, f"={reference('Checks', FIRST + n, MARGIN)}", self.style.percent, m["margin"])
            text(page, at, 3, (x["corner"] or "").replace("-", ", "), self.style.top)
            do = " ".join(sentence(with_titles(in_units(t, self.units), self._title))
                          for t in (m.get("why", ""), m.get("do", "")) if t)
            page.merge_range(at, 4, at, 6, "", self.style.wrap)
            text(page, at, 4, do, self.style.wrap)
            page.set_row(at, 15.0 * max(-(-len(do) // 92), -(-len(x["title"]) // 42), 1))
        if not some:
            text(page, at + 1, 0, "Every check passes.")
        for word, format in self.style.verdict.items():
            page.conditional_format(0, 1, at + 1, 5, {"type": "cell", "criteria": "==", "value": f'"{word}"',
                                                      "format": format})

    def counts(self, page: Any, at: int) -> int:
        """How many inputs were changed and how many lines are stale; returns the next row."""
        last = max(self.formulas.row.values(), default=3)
        moved, stale, sort = (f"{reference('State', 3, c)}:{reference('State', last, c).partition('!')[2]}"
                              for c in (MOVED, STALE, 2))
        inputs = f'((({sort}="given")+({sort}="assumed"))*({moved}=1))'
        for title, live in (("Inputs changed since writing", f"=SUMPRODUCT({inputs})"),
                            ("Lines that are stale", f"=SUM({stale})")):
            text(page, at, 0, title)
            page.write_formula(at, 1, live, None, 0)
            at += 1
        if self.formulas.responses:
            any_ = f'SUMPRODUCT(({sort}<>"given")*({sort}<>"assumed")*((({moved}=1)+({stale}=1))>0))'
            good = f'SUMPRODUCT(({sort}<>"given")*({sort}<>"assumed")*({moved}=1)*({stale}<>1))'
            text(page, at, 0, "Share of the lines a change reaches that follow it")
            page.write_formula(at, 1, f'=IF({any_}=0,"nothing changed",{good}/{any_})', self.style.percent,
                               "nothing changed")
            reach = []
            for r in self.formulas.responses:
                line = self.formulas.lines[r.key]
                low, high = (shown(line["value"] + side * r.step, line["kind"], self.units, self.record)
                             for side in (-1.0, 1.0))
                reach.append(f"{line['title']} ({low} to {high})")
            said = (f"Followed one at a time: {', '.join(reach)}. What follows is right to three digits; "
                    "all else that a change reaches is marked stale: size the design again.")
            page.merge_range(at + 1, 0, at + 1, 6, "", self.style.wrap)
            text(page, at + 1, 0, said, self.style.wrap)
            page.set_row(at + 1, 15.0 * -(-len(said) // 170))
            at += 2
        page.conditional_format(2, 1, 3, 1, {"type": "cell", "criteria": ">", "value": 0,
                                                       "format": self.style.stale})
        return at

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
        at += 1
        for format, said in ((self.style.input, f"An input: change it on the sheet {INPUTS}"),
                             (self.style.fixed, "Static value: engine result, solver result or selection"),
                             (self.style.stale, "Stale: no longer holds for the inputs shown; size the design again")):
            page.write_blank(at, 0, None, format)
            text(page, at, 1, said)
            at += 1
        at += 1
        for said in ("Pressure, chemicals, electricity and drinking water can hurt people. These figures defer to "
                     "local codes and to the judgement of a licensed engineer.",):
            text(page, at, 1, said, self.style.wrap)
