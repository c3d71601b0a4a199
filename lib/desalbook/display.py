"""What a notebook shows of a calculation when its name stands alone in a cell: values, checks, equations."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from html import escape
from typing import Any

from desalbook.audit.page.parts import Writer
from desalbook.audit.page.style import VERDICTS
from desalbook.calculated import Calculated
from desalbook.fine import fine
from desalbook.trail.figure import Column
from desalbook.trail.words import verdict_words

__all__ = ["Beside", "calculation_html", "inert", "plant_html", "values_html"]

_FEW = 4
"""Candidates of a choice that are shown at once; more unfold."""
_ONE = re.compile(r" · per \w+, 1 in the plant")  # of a calculation that stands alone
_STEPS = 12
"""Equations shown below a result; the rest are in its page and workbook."""
_STYLE = """<style>
.db-calc { font-size: 0.95em; line-height: 1.45; max-width: 60rem; }
.db-calc table { border-collapse: collapse; margin: 0.3em 0; font-size: inherit; }
.db-calc.db-calc td, .db-calc.db-calc th { text-align: left;
  padding: 0.15em 1em 0.15em 0; border: 0; background: none; }
.db-calc.db-calc td.n, .db-calc.db-calc th.n { text-align: right;
  font-variant-numeric: tabular-nums; white-space: nowrap; }
.db-calc h3, .db-calc h4 { margin: 0.5em 0 0.2em; font-size: 1em; font-weight: 600; }
.db-calc h3 { font-size: 1.15em; margin-top: 1.2em; }
.db-calc .quiet, .db-calc .source, .db-calc .from { opacity: 0.75; margin: 0.1em 0; }
.db-calc :is(.quiet, .source, .from) :is(.quiet, .source, .from) { opacity: 1; }
.db-calc .step { margin: 0.6em 0; }
.db-calc .wide { overflow-x: auto; overflow-y: hidden; padding: 0.3em 0; }
.db-calc summary { cursor: pointer; margin: 0.3em 0; }
</style>"""


class Beside(Writer):
    """Steps that stand by themselves: no list of sources is below them, so each is named in full."""

    def source(self, x: Mapping[str, Any]) -> str:
        s = self.record["sources"].get(x["source"])
        if s is None or not s.get("author"):
            return super().source(x)
        year = f" ({s['year']})" if s.get("year") else ""
        return escape(f"{s['author']}{year}, {s['title']}" + (f", {x['place']}" if x["place"] else ""))

    def candidates(self, rows: Sequence[Mapping[str, Any]], x: Mapping[str, Any]) -> str:
        table = super().candidates(rows, x)
        if len(rows) <= _FEW:
            return table
        return f"<details><summary>{len(rows)} candidates</summary>{table}</details>"


def inert(text: str) -> str:
    """Steps of the printed record for a page that is no record: no anchors, and a wide equation takes the focus."""
    text = re.sub(r'<a href="#[^"]*">|</a>|(?<=[a-z"]) id="[^"]*"', "", text)
    return text.replace('<div class="wide">', '<div class="wide" tabindex="0" role="group" aria-label="Equation">')


def values_html(of: Calculated, ids: Iterable[str], units: str = "si") -> str:
    """Values by title as a table."""
    rows = "".join(f'<tr><td>{escape(getattr(of[i], "title", "") or i)}</td><td class="n">{shown}</td>'
                   f"<td><code>{escape(i)}</code></td></tr>"
                   for i in ids if i in of for shown in (_shown(of, i, units),))
    return (f'<table><thead><tr><th>Value</th><th class="n"></th><th>Id</th></tr></thead><tbody>{rows}</tbody></table>'
            if rows else "")


def _shown(of: Calculated, id: str, units: str) -> str:
    """A value with its unit; of a column each of its values by name."""
    x = of[id]
    if not isinstance(x, Column):
        return escape(of.show(id, units))
    return "<br>".join(f"{escape(key)} {escape(of.show(f'{id}[{key}]', units))}" for key in x.keys)


def _checks_html(of: Calculated, units: str) -> str:
    """Checks that do not pass, each with what to do; those that pass are a count that unfolds."""
    asks, passes = [], []
    for row in of.judged(units):
        said = verdict_words(row["verdict"], row["margin"], row["assumed"])
        line = f"{VERDICTS[row['verdict']][1]} {escape(row['title'])}: <b>{escape(said)}</b>; {escape(row['why'])}"
        asked = row["do"] if row["verdict"] in ("fails", "review") else ""
        for more in (asked, row["caution"]):
            if more:
                line += f'. <span class="quiet">{escape(more[0].upper() + more[1:].rstrip("."))}</span>'
        (passes if row["verdict"] == "passes" else asks).append(f"<li>{line}</li>")
    out = f'<h4>Checks</h4><ul>{"".join(asks)}</ul>' if asks else ""
    if passes:
        words = "1 check passes" if len(passes) == 1 else f"{len(passes)} checks pass"
        out += f'<details><summary>{words}</summary><ul>{"".join(passes)}</ul></details>'
    return out


def plant_html(of: Any, units: str = "si") -> str:
    """A sized plant: its headline values and its checks.

    Parameters
    ----------
    of : Plant
    units : {"si", "us"}
    """
    from desalbook.study import HEADLINES

    name = of.project.get("name", "Plant")
    text = f"<h3>{escape(name)}</h3>{values_html(of, HEADLINES, units)}{_checks_html(of, units)}"
    return f'{_STYLE}<div class="db-calc">{fine(text)}</div>'


def calculation_html(of: Any, units: str = "si") -> str:
    """A stand-alone calculation: values, checks, and its equations with their numbers.

    Parameters
    ----------
    of : Result
    units : {"si", "us"}
    """
    lines = of.ledger.lines
    shown = [i for i in of.shows if i in lines]
    # a governing case is shown by the equation that made its value
    steps: list[str] = []
    for i in shown:
        line = lines[i]
        if line.sort == "picked" and line.inputs and all(x.id.startswith(f"{i}@") for x in line.inputs.values()):
            steps += [next(x.id for x in line.inputs.values() if float(x) == line.value)]
        elif line.sort not in ("given", "assumed"):
            steps += [i]
    steps = list(dict.fromkeys(steps))[:_STEPS]
    needed = {j for i in steps for j in (i, *lines[i].parents())}
    writer = Beside(of.excerpt(needed), units, needed)
    equations = _ONE.sub("", inert("".join(writer.step(writer.lines[i]) for i in steps)))
    cautions = "".join(f"<li>{escape(c)}</li>" for i, said in of.cautions.items() for c in said if isinstance(c, str))
    text = (f"<h3>{escape(of.title)}</h3>{values_html(of, shown, units)}"
            + (f"<h4>Outside a usual range</h4><ul>{cautions}</ul>" if cautions else "") + _checks_html(of, units)
            + (f"<details open><summary>Equations</summary>{equations}</details>" if equations else ""))
    return f'{_STYLE}<div class="db-calc">{fine(text)}</div>'
