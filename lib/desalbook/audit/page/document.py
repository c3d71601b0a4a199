"""The printed record: one HTML file that needs nothing but itself."""

from __future__ import annotations

from collections.abc import Mapping
from html import escape
from typing import Any
from urllib.parse import quote

from desalbook.audit.doubt import GROUPS, doubt
from desalbook.audit.page.parts import Writer, anchor
from desalbook.audit.page.shown import by_id, shown, units_of
from desalbook.audit.page.style import style
from desalbook.problems import DesignError
from desalbook.trail.seal import content_hash
from desalbook.trail.words import part_words
from desalbook.units import show

__all__ = ["page"]

_RANK = {"fails": 0, "review": 1, "marginal": 2, "passes": 3}


def page(record: Mapping[str, Any], units: str = "si", paper: str | None = None) -> str:
    """The whole calculation as one self-contained HTML file.

    Parameters
    ----------
    record : mapping
        As `trail.record.to_record` or `trail.record.read` give it.
    units : {"si", "us"}
        Display set; coherent SI stands beside it in every step.
    paper : {"a4", "letter"}, optional
        A4 with SI, letter with US units when not said.

    Returns
    -------
    str
    """
    units_of(units)
    paper = paper or ("letter" if units == "us" else "a4")
    if paper not in ("a4", "letter"):
        raise DesignError(
            "no such paper", where="paper", value=paper, allowed="a4, letter", do="write a4 or letter"
        )
    full = _in_full(record)
    writer = Writer(record, units, full)
    chapters: dict[str, list] = {}
    for line in record["lines"]:
        if line["sort"] != "checked":
            chapters.setdefault(line["id"].partition("@")[0].partition(".")[0].partition("[")[0], []).append(
                line
            )
    checks = sorted((x for x in record["lines"] if x["sort"] == "checked"), key=_worst_first)
    project = record.get("project", {})
    name = project.get("name", "") or "Calculation"
    body = [
        _head(record, project, name),
        _contents(chapters),
        _watch(record, writer),
        _guarantees(record, writer),
        _limits(record, writer),
        _checks(checks, writer),
        _energy(record, writer),
        _loads(record, writer),
        _instruments(record, writer),
    ]
    for number, (part, lines) in enumerate(chapters.items(), 1):
        body.append(_chapter(number, part, lines, full, writer))
    body.append(_sources(record))
    body.append(_engines(record))
    css = style(paper, _cut(name), _cut(project.get("revision", "")), (content_hash(record) or "without hash")[:12])
    return (
        "<!DOCTYPE html>\n"
        f'<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        '<meta http-equiv="Content-Security-Policy" '
        "content=\"default-src 'none'; style-src 'unsafe-inline'\">"
        f"<title>{escape(_cut(name))}</title><style>{css}</style></head>\n<body>\n"
        + "\n".join(b for b in body if b)
        + "\n</body></html>\n"
    )


def _worst_first(line: Mapping[str, Any]) -> tuple:
    margin = line["more"].get("margin")
    return _RANK.get(line["more"]["verdict"], 0), margin if margin is not None else 0.0


def _in_full(record: Mapping[str, Any]) -> set[str]:
    """Ids at corners that are printed in full: what led to a governing value, else the design corner."""
    lines = by_id(record)
    full: set[str] = set()
    todo = []
    for line in record["lines"]:
        won = [c["key"] for c in line["more"].get("candidates", ()) if c.get("won")]
        if line["sort"] == "picked" and line["more"].get("rule", "").endswith("over the cases") and won:
            where = line["inputs"].get(won[0])
            todo.append(where if isinstance(where, str) or where is None else where[0])
    while todo:
        id = todo.pop()
        if id is None or id in full or lines[id]["corner"] is None:
            continue
        full.add(id)
        todo += [w if isinstance(w, str) else w[0] for w in lines[id]["inputs"].values()]
    shown = {id.partition("@")[0] for id in full}
    first: dict[str, str] = {}
    for line in record["lines"]:
        base, _, corner = line["id"].partition("@")
        if (
            corner
            and base not in shown
            and (base not in first or ("design" in corner and "design" not in first[base].partition("@")[2]))
        ):
            first[base] = line["id"]
    return full | set(first.values())


def _head(record: Mapping[str, Any], project: Mapping[str, str], name: str) -> str:
    def line(title: str, value: str) -> str:
        return f'<div><dt>{title}</dt><dd dir="auto">{escape(value) or "&nbsp;"}</dd></div>'

    return (
        f'<header><h1 dir="auto">{escape(_cut(name))}</h1><p class="what">Calculation sheet</p><dl class="sign">'
        + line("Project", project.get("name", ""))
        + line("Revision", project.get("revision", ""))
        + line("Date", project.get("date", ""))
        + line("Prepared by", project.get("made_by", ""))
        + line("Checked by", project.get("checked_by", ""))
        + line("Kit", f"desalbook {record['kit']}")
        + "</dl>"
        + f'<p class="hash">Input SHA-256 <code>{escape(record["input_hash"])}</code><br>'
        f'Record SHA-256 <code>{escape(content_hash(record) or "is missing")}</code></p>'
        '<p class="caution-line">Pressure, chemicals, electricity and drinking water can hurt people. These '
        "figures defer to local codes and to the judgement of a licensed engineer.</p></header>"
    )


def _cut(said: str, longest: int = 90) -> str:
    """What stands in a margin or a title; the whole text is in the head of the sheet."""
    said = "".join(c for c in said if c.isprintable())
    return said if len(said) <= longest else said[: longest - 1] + "…"


def _contents(chapters: Mapping[str, list]) -> str:
    items = [
        f'<li><a href="#chapter-{escape(part)}">{escape(part_words(part))}</a> '
        f'<span class="quiet">{len(lines)} {_lines(len(lines))}</span></li>'
        for part, lines in chapters.items()
    ]
    return (
        '<nav><h2>Contents</h2><p><a href="#watch">What to doubt</a> · '
        '<a href="#guarantees">Guaranteed and expected</a> · <a href="#checks">Checks</a> · '
        f'<a href="#sources">Sources</a></p><ol>{"".join(items)}</ol></nav>'
    )


def _lines(n: int) -> str:
    return "line" if n == 1 else "lines"


_SHOWN = {"check": 40, "range": 30, "balance": 12, "residual": 6, "gap": 12, "limit": 20, "source": 14, "assumed": 14}
"""How many of each group the page prints; the workbook lists all."""


def _watch(record: Mapping[str, Any], w: Writer) -> str:
    """What to doubt, on one page: the gravest of each group, and how many more there are."""
    frame = doubt(record, w.units)
    out = []
    for group, title in GROUPS.items():
        some = [r for r in frame.to_dict("records") if r["group"] == group]
        shown = some[: _SHOWN[group]]
        rows = "".join(f"<li>{_doubted(r, group, w)}</li>" for r in shown)
        more = f'<li class="quiet">and {len(some) - len(shown)} more</li>' if len(some) > len(shown) else ""
        out.append(f"<h3>{escape(title)}: {len(some)}</h3>" + (f"<ul>{rows}{more}</ul>" if some else ""))
    return f'<section id="watch"><h2>What to doubt</h2><div class="doubts">{"".join(out)}</div></section>'


def _doubted(r: Mapping[str, Any], group: str, w: Writer) -> str:
    name = w.link(r["id"]) if r["id"] in w.lines else escape(r["title"])
    if group == "source":
        name = f'<a href="#{quote(r["id"], safe="")}">{escape(r["title"])}</a>'
    many = f", {r['lines']} lines" if r["lines"] > 1 and group in ("source", "range", "gap") else ""
    under = f", {r['checks']} check{'' if r['checks'] == 1 else 's'} below" if r["checks"] else ""
    return f"{name}: {escape(r['what'])}{many}{under}"


def _limits(record: Mapping[str, Any], w: Writer) -> str:
    """Limits that the design states for itself, beside those of the guidelines."""
    rows = "".join(
        f"<tr><td>{w.link(r['key']) if r['key'] in w.lines else escape(r['title'])}</td><td>{escape(r['sense'])}</td>"
        + "".join(f'<td class="n">{escape(shown(r[k], r["kind"], w.units, record))}</td>' for k in ("value", "table"))
        + "</tr>" for r in record.get("limits", ()))
    if not rows:
        return ""
    return ('<section id="limits"><h2>Limits that differ from the guidelines</h2><table><thead>'
            "<tr><th>Limit</th><th></th>"
            f"<th>This design</th><th>Guidelines</th></tr></thead><tbody>{rows}</tbody></table></section>")


def _guarantees(record: Mapping[str, Any], w: Writer) -> str:
    """Guaranteed and expected: every promised figure, its margin, its case and the standard it is measured by."""
    def said(id: str) -> str:
        line = w.lines[id]
        return show(line["value"], line["kind"], w.units, pretty=True, trim=True)

    heads = ("Figure", "Expected", "Margin", "Guaranteed", "Governing case", "Measured", "Standard")
    body = ""
    for r in record.get("guarantees", ()):
        bound = "max" if r["sense"] == "≤" else "min"
        cells = (said(r["expected_id"]), said(r["margin_id"]), f"{bound} {said(r['id'])}")
        to = f'<a href="#{quote(r["id"], safe="")}">{escape(r["title"])}</a>'
        body += (f"<tr><td>{to}</td>" + "".join(f'<td class="n">{escape(x)}</td>' for x in cells)
                 + "".join(f"<td>{escape(r[k])}</td>" for k in ("corner", "measured", "standard")) + "</tr>")
    if not body:
        return ""
    return ('<section id="guarantees"><h2>Guaranteed and expected</h2><p>For the raw water and the duty of this sheet; '
            "the contract, its test procedure and the local authority decide.</p><table><thead><tr>"
            + "".join(f"<th>{head}</th>" for head in heads) + f"</tr></thead><tbody>{body}</tbody></table></section>")


def _instruments(record: Mapping[str, Any], w: Writer) -> str:
    """Instruments with range and set points, and what an operator does on an alarm."""
    rows = [*record.get("instruments", ())]
    if not rows:
        return ""
    columns = (("range_high", "Range to"), ("normal_low", "Normal, low"), ("normal_high", "high"),
               ("trip_low", "Trip, low"), ("alarm_low", "Alarm, low"), ("alarm_high", "Alarm, high"),
               ("trip_high", "Trip, high"))
    body = "".join(
        f"<tr><td>{escape(r['tag'])}</td><td>{w.link(r['id']) if r['id'] in w.lines else ''} {escape(r['title'])}</td>"
        f'<td class="n">{r["count"]}</td>'
        + "".join(f'<td class="n">{escape(shown(r.get(k), r["kind"], w.units, record))}</td>' for k, _ in columns)
        + f'<td class="n">{r["delay"]:g} s</td><td>{escape(r["stops"])}</td><td>{escape(r["priority"])}</td>'
        f"<td>{escape(r['response'])}</td></tr>" for r in rows)
    heads = "".join(f"<th>{head}</th>" for head in ("Tag", "Service", "Number", *(title for _, title in columns),
                                                    "Delay", "Trip stops", "Priority", "Operator"))
    return (f'<section id="instruments"><h2>Instruments and set points</h2><p>Starting values: commissioning sets the '
            f"final ones. A programme&#39;s trips come on top of relief valves and hard-wired stops.</p>"
            f"<table><thead><tr>{heads}</tr></thead><tbody>{body}</tbody></table></section>")


def _loads(record: Mapping[str, Any], w: Writer) -> str:
    """Electrical loads: what each draws, and the cable and device that feed it."""
    rows = [*record.get("loads", ())]
    if not rows:
        return ""
    columns = (("rating", "Rating", "power"), ("electric_power", "Power", "power.electric"),
               ("power_factor", "Power factor", "fraction"), ("current", "Current", "current"),
               ("start_current", "At start", "current"), ("area", "Section", "conductor area"),
               ("voltage_drop", "Voltage drop", "fraction"), ("device", "Device", "current"))
    body = "".join(
        f"<tr><td>{w.link(r['id']) if r['id'] in w.lines else ''} {escape(r['title'])}</td>"
        f'<td class="n">{r["running"]:g} + {r["spare"]:g}</td><td>{escape(r["panel"])}</td>'
        f'<td>{escape(r.get("starter") or "")}</td>'
        + "".join(f'<td class="n">{escape(shown(r.get(k), kind, w.units, record))}</td>' for k, _, kind in columns)
        + "</tr>" for r in rows)
    heads = "".join(f"<th>{head}</th>" for head in ("Load", "Running + standby", "Panel", "Starter",
                                                    *(title for _, title, _ in columns)))
    return (f'<section id="loads"><h2>Electrical loads</h2><p>Each of one unit. Design, protection, earthing and '
            f"commissioning are licensed work under the local code.</p><table><thead><tr>{heads}</tr></thead>"
            f"<tbody>{body}</tbody></table></section>")


def _energy(record: Mapping[str, Any], w: Writer) -> str:
    """Energy of a year by consumer; its sums are the bill."""
    columns = (("electric_power", "Power of one", "power.electric"), ("running_time", "Running time", "time"),
               ("energy", "Energy of a year", "energy.year"), ("specific_energy", "Per net product", "specific energy"))
    rows = [*record.get("energy", ())]
    if not rows:
        return ""
    body = "".join(
        f"<tr><td>{w.link(r['id']) if r['id'] in w.lines else escape(r['title'])}</td>"
        f'<td class="n">{r.get("machines", "")}</td>'
        + "".join(f'<td class="n">{escape(shown(r.get(k), kind, w.units, record))}</td>' for k, _, kind in columns)
        + f'<td class="n">{r["cost"]:.0f}</td><td>{escape(r["basis"])}</td></tr>' for r in rows)
    heads = "".join(f"<th>{head}</th>" for head in ("Consumer", "Running", *(title for _, title, _ in columns), "Cost",
                                                    "Basis"))
    sums = (f'<tr><td>Sum</td><td></td><td></td><td></td><td class="n">'
            f'{escape(shown(sum(r["energy"] for r in rows), "energy.year", w.units, record))}</td><td class="n">'
            f'{escape(shown(sum(r["specific_energy"] for r in rows), "specific energy", w.units, record))}</td>'
            f'<td class="n">{sum(r["cost"] for r in rows):.0f}</td><td></td></tr>')
    return (f'<section id="energy-of-a-year"><h2>Energy of a year</h2><table><thead><tr>{heads}</tr></thead>'
            f"<tbody>{body}{sums}</tbody></table></section>")


def _checks(checks: list, w: Writer) -> str:
    if not checks:
        return ""
    return (
        '<section id="checks"><h2>Checks, worst first</h2>'
        + "".join(w.check(c) for c in checks)
        + "</section>"
    )


def _chapter(number: int, part: str, lines: list, full: set[str], w: Writer) -> str:
    inputs = [x for x in lines if x["sort"] in ("given", "assumed")]
    others: dict[str, list] = {}
    steps: list = []
    for x in lines:
        if x["sort"] in ("given", "assumed"):
            continue
        base = x["id"].partition("@")[0]
        if x["corner"] is None or x["id"] in full:
            steps.append(x)
        if x["corner"] is not None:
            others.setdefault(base, []).append(x)
    corner_tables = [w.corners(base, group) for base, group in others.items() if len(group) > 1]
    out = [f'<section class="chapter" id="chapter-{escape(part)}"><h2>{number}. {escape(part_words(part))}</h2>']
    if inputs:
        out.append(w.inputs(inputs))
    out += [w.step(x) for x in steps]
    if corner_tables:
        out.append("<h3>All cases</h3>" + "".join(corner_tables))
    return "".join(out) + "</section>"


def _sources(record: Mapping[str, Any]) -> str:
    rows = "".join(
        f'<li id="{anchor("source-" + key)}"><b>{escape(key)}</b> {escape(s["citation"])} '
        f'<span class="quiet">({escape(s["kind"])})</span></li>'
        for key, s in sorted(record["sources"].items())
    )
    return f'<section id="sources"><h2>Sources</h2><ul class="sources">{rows}</ul></section>' if rows else ""


def _engines(record: Mapping[str, Any]) -> str:
    rows = "".join(
        "<tr>"
        + "".join(f"<td>{escape(str(e[k]))}</td>" for k in ("library", "version", "data", "checksum"))
        + "</tr>"
        for e in record["engines"]
    )
    if not rows:
        return ""
    return (
        '<section id="engines"><h2>Libraries asked</h2><table><thead><tr><th>Library</th><th>Version</th>'
        f"<th>Data</th><th>Checksum</th></tr></thead><tbody>{rows}</tbody></table></section>"
    )
