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
from desalbook.trail.systems import case_words, sentence
from desalbook.trail.words import verdict_words, with_titles
from desalbook.units import in_units

__all__ = ["Writer", "anchor"]

_NAMED = 10  # values a line rests on that are named where it is brief
_RESTS = 6  # lines a finding names, of the many it may rest on


def anchor(id: str) -> str:
    """An id as an attribute value."""
    return escape(id, quote=True)


def _unfolded(where: str | Sequence[str]) -> tuple[str, str | None]:
    return (where, None) if isinstance(where, str) else (where[0], where[1])


class Writer:
    """Writes the parts of one record in one display set. Whatever a person wrote is escaped."""

    def __init__(self, record: Mapping[str, Any], units: str, full: Collection[str] = ()):
        self.record, self.units, self.lines, self.full = record, units, by_id(record), full
        self.printed: Collection[str] | None = None
        """Ids that have a place on the page; all where it is None. Nothing links to a line that is not there."""

    def value(self, line: Mapping[str, Any], key: str | None = None) -> str:
        v = line["value"] if key is None else line["value"][line["keys"].index(key)]
        if isinstance(v, list):
            return f"{len(v)} values"
        if isinstance(v, str) and (words := line["more"].get("text")) and v not in ("yes", "no"):
            # what a choice says in words; its key too, unless the words are the key
            same = re.sub(r"[^a-z0-9]+", "-", words.lower()) == v
            return escape(words) if same else f'{escape(words)} <span class="quiet">({escape(v)})</span>'
        return escape(shown(v, line["kind"], self.units, self.record, line["sort"] in ("given", "assumed")))

    def words(self, line: Mapping[str, Any]) -> str:
        """The value without the key of a choice."""
        v = line["value"]
        words = line["more"].get("text")
        return escape(words) if isinstance(v, str) and words and v not in ("yes", "no") else self.value(line)

    def title(self, key: str) -> str | None:
        """Title of a key of the design that has a line in the record."""
        return self.lines[key]["title"] if key in self.lines else None

    def link(self, where: str | Sequence[str], name: str = "") -> str:
        """Link to a step by its title, or another name (HTML)."""
        id, key = _unfolded(where)
        line = self.lines.get(id)
        if line is None:
            return name or escape(id)
        name = (name or escape(line["title"] or id)) + (f", {escape(key)}" if key else "")
        case = escape(line["corner"].replace("-", ", ")) if line["corner"] else ""
        return self.to(id, name) + (f' <span class="quiet">({case})</span>' if case else "")

    def to(self, id: str, name: str) -> str:
        """A name as a link, where the line has a place on the page."""
        there = self.printed is None or id in self.printed
        return f'<a href="#{quote(id, safe="")}">{name}</a>' if there else name

    def named(self, id: str) -> str:
        """Title of a line as a link, without its case."""
        return self.to(id, escape(self.lines[id]["title"]))

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

    def bare(self, value: float, kind: str | None) -> str:
        text = shown(value, kind, self.units, self.record)
        unit = label(kind, self.units, self.record, True)
        return text.removesuffix(unit).rstrip() if unit and text.endswith(unit) else text.split(" ")[0]

    # steps ----------------------------------------------------------------------------------------------

    def step(self, x: Mapping[str, Any], brief: bool = False) -> str:
        """One line of the trail; `brief` in symbols, whose values are below, and without ranges that are kept."""
        says = [x["sort"]]
        if x["scope"] != "plant" or x["count"]:
            says.append(f"per {x['scope']}" + (f", {x['count']} in the plant" if x["count"] else ""))
        if x["corner"]:
            says.append(f"case {x['corner'].replace('-', ', ')}")
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
            if not brief or x["sort"] != "computed" else self.computed(x, brief)
        )
        if x["inputs"]:
            own = typeset.argument_symbols(x, self.lines) if x["sort"] == "computed" else {}
            marks = {str(w): own[n] for n, w in x["inputs"].items() if own.get(n)}
            rests = self.in_order(x)
            told = [self.told(w, marks.get(str(w), "")) for w in (rests[:_NAMED] if brief else rests)]
            if len(told) < len(rests):
                told.append(f"{len(rests) - len(told)} more")
            cites = f" Source: {self.source(x)}." if brief and x["source"] else ""
            out.append(f'<p class="from">From {"; ".join(told)}.{cites}</p>')
        if x["because"] and not brief:
            out.append(
                '<p class="from">Because of '
                + "; ".join(
                    f"{self.link(w)} ({self.value(self.lines[_unfolded(w)[0]])})" for w in x["because"]
                )
                + ".</p>"
            )
        if x["source"] and not (brief and x["inputs"]):
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

    def computed(self, x: Mapping[str, Any], brief: bool = False) -> str:
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
        numeric = "" if brief else typeset.numbers(x, self.lines, self.record["relations"], self.read)
        tail = self.ranges(x, r, brief)
        return (
            f'<div class="maths"><div class="wide">{symbolic}</div>'
            + (f'<div class="wide">{numeric}</div>' if numeric else "") + "</div>"
            f"{self.result(x)}{tail}"
        )

    def ranges(self, x: Mapping[str, Any], r: Mapping[str, Any], outside: bool = False) -> str:
        """For each argument with a range of validity, or only for those that lie outside, where in it the value is."""
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
            if inside and outside:
                continue
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
        """The root, the balances it closes and what is left of each."""
        said = f'<p class="source">Solved by {escape(x["more"].get("method", "") or "iteration")}.</p>'
        rows = []
        for r in x["more"].get("residual", ()):
            of = self.lines.get(r["id"])
            rule = self.record["relations"].get(of["relation"]) if of is not None else None
            closes = "" if of is None or rule is None else typeset.equation(
                rule, typeset.argument_symbols(of, self.lines), symbol=of["symbol"] or None,
                columns={n: self.lines[_unfolded(w)[0]]["axis"] for n, w in of["inputs"].items()
                         if isinstance(value_at(self.lines, w)[1], list)},
                along=of["axis"] if isinstance(of["value"], list) else None)
            rows.append(f'<p>Closes {self.link(r["id"])}; left over {tiny(r["relative"])} of its scale, '
                        f'allowed {tiny(r["tolerance"], 1)}.</p>'
                        + (f'<div class="maths"><div class="wide">{closes}</div></div>' if closes else ""))
        return self.result(x) + said + "".join(rows)

    def picked(self, x: Mapping[str, Any]) -> str:
        m = x["more"]
        table = f", from {escape(m['table'])}" if m.get("table") else ""
        why = f". {escape(in_units(m['why'], self.units))}" if m.get("why") else ""
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

    # checks ---------------------------------------------------------------------------------

    def check(self, x: Mapping[str, Any]) -> str:
        """Verdict, margin bar, what to do."""
        m = x["more"]
        _, mark, word = VERDICTS[m["verdict"]]
        word = verdict_words(word, m.get("margin"), m.get("assumed"))
        out = [
            f'<section class="check" id="{anchor(x["id"])}"><div><h3>{escape(x["title"])}'
            + (f' <span class="quiet">({escape(case_words(x["corner"]))})</span>' if x["corner"] else "")
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
            rests = "; ".join(self.link(w) for w in [*x["inputs"].values()][:_RESTS])
            if len(x["inputs"]) > _RESTS:
                rests += f"; and {len(x['inputs']) - _RESTS} more"
            why = escape(in_units(m.get("why", ""), self.units))
            out.append(f'{f" · {rests}" if rests else ""}</div><p class="why">{why}</p>')
        if m.get("assumed"):
            out.append(f'<p class="why">Assumed: {escape(", ".join(m["assumed"]))}.</p>')
        if m.get("do") and m["verdict"] != "passes":
            do = escape(sentence(with_titles(in_units(m["do"], self.units), self.title)))
            out.append(f'<p class="do">What to do: {do}</p>')
        return "".join(out) + "</section>"


def _order(name: str) -> tuple:
    """Key first, then value, then the rest by name: keys of stored mappings are sorted by letters."""
    return {"key": 0, "name": 1, "value": 2}.get(name, 3), name


def _n(name: str) -> str:
    return ' class="n"' if name == "value" else ""
