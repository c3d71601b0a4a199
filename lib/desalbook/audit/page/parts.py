"""Parts of the printed record: a step, a table of inputs, a check with its margin bar."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence
from html import escape
from typing import Any
from urllib.parse import quote

from desalbook.audit.page.bars import margin_bar, range_bar
from desalbook.audit.page.shown import by_id, in_equation, label, shown, tiny
from desalbook.audit.page.style import VERDICTS
from desalbook.trail import symbols as sym
from desalbook.trail import typeset
from desalbook.trail.stored import value_at
from desalbook.trail.words import verdict_words, with_titles

__all__ = ["Writer", "anchor"]


def anchor(id: str) -> str:
    """An id as an attribute value."""
    return escape(id, quote=True)


def _unfolded(where: str | Sequence[str]) -> tuple[str, str | None]:
    return (where, None) if isinstance(where, str) else (where[0], where[1])


class Writer:
    """Writes the parts of one record in one display set. Whatever a person wrote is escaped."""

    def __init__(self, record: Mapping[str, Any], units: str, full: Collection[str] = ()):
        self.record, self.units, self.lines, self.full = record, units, by_id(record), full

    def value(self, line: Mapping[str, Any], key: str | None = None) -> str:
        v = line["value"] if key is None else line["value"][line["keys"].index(key)]
        if isinstance(v, list):
            return f"{len(v)} values"
        if isinstance(v, str) and (words := line["more"].get("text")) and v not in ("yes", "no"):
            # what a choice says in words; its key too, unless the words are the key
            same = re.sub(r"[^a-z0-9]+", "-", words.lower()) == v
            return escape(words) if same else f'{escape(words)} <span class="quiet">({escape(v)})</span>'
        return escape(shown(v, line["kind"], self.units, self.record))

    def title(self, key: str) -> str | None:
        """Title of a key of the design that has a line in the record."""
        return self.lines[key]["title"] if key in self.lines else None

    def link(self, where: str | Sequence[str]) -> str:
        """Link to a step, by its symbol and title."""
        id, key = _unfolded(where)
        line = self.lines.get(id)
        if line is None:
            return escape(id)
        name = escape(line["title"] or id) + (f", {escape(key)}" if key else "")
        at = f' <span class="quiet">at {escape(line["corner"])}</span>' if line["corner"] else ""
        return f'<a href="#{quote(id, safe="")}">{name}</a>{at}'

    def told(self, where: str | Sequence[str], symbol: str = "") -> str:
        """Link, symbol, and the value where it is one number."""
        id, key = _unfolded(where)
        line = self.lines.get(id)
        mark = f" <math>{sym.mathml(symbol)}</math>" if symbol else ""
        if line is None or not isinstance(value_at(self.lines, where)[1], (int, float)):
            return self.link(where) + mark
        return f"{self.link(where)}{mark}{' =' if mark else ''} {self.value(line, key)}"

    def symbol(self, line: Mapping[str, Any]) -> str:
        return f"<math>{sym.mathml(line['symbol'])}</math>" if line["symbol"] else ""

    # inputs ---------------------------------------------------------------------------------------------

    def inputs(self, lines: Sequence[Mapping[str, Any]]) -> str:
        """Given and assumed lines of a chapter as one table."""
        rows = []
        for x in lines:
            source = "" if x["sort"] == "given" else self.source(x)
            notes = "".join(f'<div class="caution">! {escape(c)}</div>' for c in x["cautions"])
            if x["note"]:
                notes += f'<div class="quiet">{escape(x["note"])}</div>'
            if x["keys"] is not None:
                unit = escape(label(x["kind"], self.units, self.record, True))
                many = ", ".join(
                    f"{escape(k)} {escape(self.bare(v, x['kind']))}"
                    for k, v in zip(x["keys"], x["value"], strict=True)
                )
                number, what = unit, f"{many}"
            else:
                number, what = self.value(x), ""
            title = escape(x["title"]) + (f"<br>{what}" if what else "")
            rows.append(
                f'<tr id="{anchor(x["id"])}" class="{x["sort"]}"><td>{title}{notes}</td>'
                f'<td>{self.symbol(x)}</td><td class="n">{number}</td><td>{x["sort"]}</td>'
                f'<td class="source">{source}</td></tr>'
            )
        return (
            '<table class="inputs"><caption>What goes in</caption><thead><tr><th>Quantity</th><th>Symbol</th>'
            f'<th class="n">Value</th><th>Sort</th><th>Source</th></tr></thead><tbody>{"".join(rows)}'
            "</tbody></table>"
        )

    def bare(self, value: float, kind: str | None) -> str:
        text = shown(value, kind, self.units, self.record)
        unit = label(kind, self.units, self.record, True)
        return text.removesuffix(unit).rstrip() if unit and text.endswith(unit) else text.split(" ")[0]

    # steps ----------------------------------------------------------------------------------------------

    def step(self, x: Mapping[str, Any]) -> str:
        """One line of the trail in full."""
        says = [x["sort"]]
        if x["scope"] != "plant" or x["count"]:
            says.append(f"per {x['scope']}" + (f", {x['count']} in the plant" if x["count"] else ""))
        if x["corner"]:
            says.append(f"at {x['corner']}")
        out = [
            f'<section class="step" id="{anchor(x["id"])}"><div class="head"><h3>{escape(x["title"])}</h3>'
            f'<span class="quiet">{escape(" · ".join(says))} · <code>{escape(x["id"])}</code></span></div>'
        ]
        out.append(
            {
                "computed": self.computed,
                "engine": self.engine,
                "solved": self.solved,
                "picked": self.picked,
            }.get(x["sort"], self.result)(x)
        )
        if x["inputs"]:
            own = typeset.argument_symbols(x, self.lines) if x["sort"] == "computed" else {}
            marks = {str(w): own[n] for n, w in x["inputs"].items() if own.get(n)}
            out.append('<p class="from">From '
                       + "; ".join(self.told(w, marks.get(str(w), "")) for w in self.in_order(x)) + ".</p>")
        if x["because"]:
            out.append(
                '<p class="from">Because of '
                + "; ".join(
                    f"{self.link(w)} ({self.value(self.lines[_unfolded(w)[0]])})" for w in x["because"]
                )
                + ".</p>"
            )
        if x["source"]:
            out.append(f'<p class="source">Source: {self.source(x)}</p>')
        if x["note"]:
            out.append(f'<p class="source">Note: {escape(x["note"])}</p>')
        out += [f'<p class="caution">! {escape(c)}</p>' for c in x["cautions"]]
        return "".join(out) + "</section>"

    def in_order(self, x: Mapping[str, Any]) -> list:
        """Inputs in the order of the relation's arguments."""
        r = self.record["relations"].get(x["relation"])
        names = [a["name"] for a in r["args"]] if r else list(x["inputs"])
        return list({str(x["inputs"][n]): x["inputs"][n] for n in names}.values())

    def source(self, x: Mapping[str, Any]) -> str:
        key = x["source"]
        if not key:
            return ""
        s = self.record["sources"].get(key)
        kind = (
            f" ({escape(s['kind'])})"
            if s and s["kind"] in ("common practice", "from memory") and s["kind"] != key.replace("-", " ")
            else ""
        )
        place = f", {escape(x['place'])}" if x["place"] else ""
        name = escape(key.replace("-", " ") if s and s["kind"] == key.replace("-", " ") else key)
        return f'<a href="#{quote("source-" + key)}">{name}</a>{place}{kind}'

    def result(self, x: Mapping[str, Any]) -> str:
        """Value as people read it; a column as a table."""
        v = x["value"]
        if v is None or isinstance(v, str):
            return f'<div class="result">{escape(v or "")}</div>'
        if isinstance(v, list):
            return self.column(x)
        mark = f"<math>{sym.mathml(x['symbol'])}</math> = " if x["symbol"] else ""
        return f'<div class="result">{mark}{self.value(x)}</div>'

    def column(self, x: Mapping[str, Any]) -> str:
        unit = escape(label(x["kind"], self.units, self.record, True))
        rows = "".join(
            f'<tr><td>{escape(k)}</td><td class="n">{escape(self.bare(v, x["kind"]))}</td></tr>'
            for k, v in zip(x["keys"], x["value"], strict=True)
        )
        return (
            f'<table><thead><tr><th>{escape(x["axis"] or "")}</th><th class="n">{unit or "value"}</th></tr></thead>'
            f"<tbody>{rows}</tbody></table>"
        )

    def read(self, value: float, kind: str | None, unit: str | None) -> tuple[float, str]:
        """A number of an equation, in the unit people read it in."""
        return in_equation(value, kind, unit, self.units, self.record)

    def computed(self, x: Mapping[str, Any]) -> str:
        r = self.record["relations"][x["relation"]]
        columns = {}
        for name, where in x["inputs"].items():
            id, key = _unfolded(where)
            if key is None and isinstance(self.lines[id]["value"], list):
                columns[name] = self.lines[id]["axis"]
        along = x["axis"] if isinstance(x["value"], list) else None
        symbolic = typeset.equation(
            r,
            typeset.argument_symbols(x, self.lines),
            columns=columns,
            symbol=x["symbol"] or None,
            along=along,
        )
        numeric = typeset.numbers(x, self.lines, self.record["relations"], self.read)
        tail = self.ranges(x, r)
        return (
            f'<div class="maths"><div class="wide">{symbolic}</div><div class="wide">{numeric}</div></div>'
            f"{self.result(x)}{tail}"
        )

    def ranges(self, x: Mapping[str, Any], r: Mapping[str, Any]) -> str:
        """For each argument with a range of validity, a bar: where in it the value stands."""
        out = []
        for name, (low, high) in sorted(r["limits"].items()):
            lo, hi = r["within"][name]
            kind = r["kind"]
            if name == "result":
                value, title = x["value"], "result"
            else:
                source, value = value_at(self.lines, x["inputs"][name])
                kind, title = source["kind"], source["title"]
            many = value if isinstance(value, list) else [value]
            people = escape(shown(many[0], kind, self.units, self.record)) if len(many) == 1 else (
                f"{escape(shown(min(many), kind, self.units, self.record))} to "
                f"{escape(shown(max(many), kind, self.units, self.record))}")
            inside = all((low is None or v >= low) and (high is None or v <= high) for v in many)
            word = "" if inside else " · outside"
            out.append(f'<p class="source range">{range_bar(many, low, high)} {escape(title)} {people}; valid for '
                       f"{escape(lo or 'open')} to {escape(hi or 'open')}{word}</p>")
        return "".join(out)

    def engine(self, x: Mapping[str, Any]) -> str:
        m = x["more"]
        data = f", data {m['data']} {m['checksum'][:16]}" if m.get("data") else ""
        return (
            self.result(x) + f'<p class="source">Answer of {escape(m["library"])} {escape(m["version"])}'
            f"{escape(data)}.</p>"
        )

    def solved(self, x: Mapping[str, Any]) -> str:
        proof = "; ".join(
            f"{self.link(r['id'])}, {tiny(r['relative'])} of its scale (allowed {tiny(r['tolerance'], 1)})"
            for r in x["more"].get("residual", ())
        )
        return (
            self.result(x) + f'<p class="source">Solved by {escape(x["more"].get("method", ""))}'
            f"{f'; residual {proof}' if proof else ''}.</p>"
        )

    def picked(self, x: Mapping[str, Any]) -> str:
        m = x["more"]
        table = f", from {escape(m['table'])}" if m.get("table") else ""
        why = f". {escape(m['why'])}" if m.get("why") else ""
        return (
            self.result(x)
            + f"<p>Rule: {escape(m['rule'])}{table}{why}.</p>"
            + self.candidates(m["candidates"], x)
        )

    def candidates(self, rows: Sequence[Mapping[str, Any]], x: Mapping[str, Any]) -> str:
        names = list(dict.fromkeys(k for row in rows for k in sorted(row, key=_order) if k != "won"))
        if not names:
            return ""
        head = "".join(f"<th{_n(n)}>{escape(n.replace('_', ' '))}</th>" for n in names)
        body = ""
        for row in rows:
            won = row.get("won")
            cells = "".join(f"<td{_n(n)}>{self.cell(row.get(n), n, x)}</td>" for n in names)
            body += f'<tr class="{"won" if won else ""}"><td>{"✓" if won else ""}</td>{cells}</tr>'
        return f"<table><thead><tr><th></th>{head}</tr></thead><tbody>{body}</tbody></table>"

    def cell(self, v: Any, name: str, x: Mapping[str, Any]) -> str:
        if isinstance(v, bool):
            return "yes" if v else "no"
        if isinstance(v, (int, float)):
            kind = x["kind"] if name == "value" else None
            return escape(shown(float(v), kind, self.units, self.record)) if kind else f"{v:.6g}"
        if isinstance(v, (list, dict)):
            return escape(str(v))
        return escape(v or "")

    # corners and checks ---------------------------------------------------------------------------------

    def corners(self, base: str, group: Sequence[Mapping[str, Any]]) -> str:
        """The same figure at every corner, as one table."""
        first = group[0]
        unit = escape(label(first["kind"], self.units, self.record, True))
        head = f"{escape(first['title'])} <code>{escape(base)}</code>"
        if isinstance(first["value"], list):
            keys = first["keys"]
            names = "".join(f'<th class="n">{escape(k)}</th>' for k in keys)
            body = "".join(
                self.corner_row(
                    g, "".join(f'<td class="n">{escape(self.bare(v, g["kind"]))}</td>' for v in g["value"])
                )
                for g in group
            )
            head = f"{head}, {unit}" if unit else head
        else:
            names = f'<th class="n">{unit or "value"}</th>'
            body = "".join(
                self.corner_row(
                    g,
                    '<td class="n">'
                    + (
                        escape(g["value"])
                        if isinstance(g["value"], str)
                        else escape(self.bare(g["value"], g["kind"]))
                    )
                    + "</td>",
                )
                for g in group
            )
        return (
            f'<div class="wide"><table><caption>{head}</caption><thead><tr><th>Case</th>'
            f"{names}</tr></thead>"
            f"<tbody>{body}</tbody></table></div>"
        )

    def corner_row(self, x: Mapping[str, Any], cells: str) -> str:
        name = "" if x["id"] in self.full else f' id="{anchor(x["id"])}"'
        return f"<tr{name}><td>{escape(x['corner'])}</td>{cells}</tr>"

    def check(self, x: Mapping[str, Any]) -> str:
        """Verdict, margin bar, what to do."""
        m = x["more"]
        _, mark, word = VERDICTS[m["verdict"]]
        word = verdict_words(word, m.get("margin"), m.get("assumed"))
        out = [
            f'<section class="check" id="{anchor(x["id"])}"><div><h3>{escape(x["title"])}'
            + (f' <span class="quiet">at {escape(x["corner"])}</span>' if x["corner"] else "")
            + "</h3>"
            f'<span class="verdict v-{m["verdict"]}">{mark} {word}</span>'
        ]
        if "sense" in m:
            sense = "\N{LESS-THAN OR EQUAL TO}" if m["sense"] == "<=" else "\N{GREATER-THAN OR EQUAL TO}"
            limit = escape(shown(m["limit"], x["kind"], self.units, self.record))
            out.append(
                f" · {self.link(x['inputs']['provided'])} {self.value(x)} {sense} {limit}, "
                f"{self.link(x['inputs']['limit'])}</div>{margin_bar(m, limit)}"
            )
        else:
            rests = "; ".join(self.link(w) for w in x["inputs"].values())
            out.append(f'{f" · {rests}" if rests else ""}</div><p class="why">{escape(m.get("why", ""))}</p>')
        if m.get("assumed"):
            out.append(f'<p class="why">Assumed: {escape(", ".join(m["assumed"]))}.</p>')
        if m.get("do") and m["verdict"] != "passes":
            do = escape(with_titles(m["do"], self.title))
            out.append(f'<p class="do">What to do: {do}.</p>'.replace("..</p>", ".</p>"))
        if m.get("caution"):
            out.append(f'<p class="do caution">! {escape(m["caution"])}</p>')
        return "".join(out) + "</section>"


def _order(name: str) -> tuple:
    """Key first, then value, then the rest by name: keys of stored mappings are sorted by letters."""
    return {"key": 0, "name": 1, "value": 2}.get(name, 3), name


def _n(name: str) -> str:
    return ' class="n"' if name == "value" else ""
