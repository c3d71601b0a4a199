"""The two pages to sign: duty, what is guaranteed and expected, the water line, ten values, what does not pass."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from html import escape
from typing import Any

from desalbook.audit.page.parts import Writer
from desalbook.audit.page.sheets import FILL, Block, Section, Table, grid, lines
from desalbook.audit.page.shown import shown
from desalbook.audit.page.style import VERDICTS
from desalbook.trail.seal import content_hash
from desalbook.trail.systems import RANK, sentence
from desalbook.trail.words import verdict_words, with_titles
from desalbook.units import in_units, show

__all__ = ["case_of", "guarantees", "sections", "short", "there", "verdict_cell"]

DUTY = ("duty.train_product_flow", "duty.trains", "duty.product_flow", "duty.availability", "duty.plant_recovery",
        "duty.raw_flow", "water.source", "water.tds", "water.temperature_cold", "water.temperature_design",
        "water.temperature_hot", "energy_recovery.device", "membrane.element", "filters.count", "product.route")
"""Ids of the duty, as far as a plant has them."""
VALUES = ("membrane.feed_pressure", "membrane.recovery", "membrane.flux", "membrane.vessels", "product.tds",
          "product.boron", "product.ph", "energy.plant_specific", "hp_pump.electric_power",
          "filters.rate_one_backwashing", "membrane.beta_max", "membrane.permeate_tds", "hp_pump.discharge_pressure",
          "membrane.concentrate_tds")
"""Ids of the ten values, the first ten that a plant has."""
NAMES = {"hp_pump.electric_power": "HP pump, electrical power"}
"""Titles that need their unit of the plant beside them where they stand among others."""
LONGEST = 300
"""Letters of what a person wrote that the head of the sheet shows; the basis of design has all of them."""
MARKED = ("rejected", "questioned", "answered", "stale", "accepted", "signed")
"""States of review marks, those that ask for something first."""
_USE = "Use: "


def short(said: str, longest: int = 90) -> str:
    """What stands in a margin or a title; the whole text is in the head of the sheet."""
    said = "".join(c for c in said if c.isprintable())
    return said if len(said) <= longest else said[: longest - 1] + "…"


def sections(record: Mapping[str, Any], w: Writer, room: tuple[float, float], picture: str = "") -> list[Section]:
    """The two pages; the second begins with the water line. What does not fit is counted and stands at review depth."""
    wide, high = room[0], room[1] * FILL
    head, duty = _head(record, wide), _duty(record, w, wide)
    top = [head, *duty, *_values(record, w, wide)]
    promised = guarantees(record, w, wide)
    here, uses = _split(promised, high - sum(b.high + 3.0 for b in top))
    drawn, said = [_picture(picture, wide)] if picture else [], _counted(record)
    left = high - sum(b.high + 3.0 for b in (*drawn, *said, *uses))
    failed = _fitting(_fails(record, w, wide, left), left)
    return [Section("summary", "", [*top, *here]),
            Section("results", "", [*drawn, *failed, *uses, *said], fresh=True)]


def _split(tables: Sequence[Table], high: float) -> tuple[list[Table], list[Table]]:
    """The rows that a page still holds, and those for the next one."""
    here: list[Table] = []
    for n, table in enumerate(tables):
        taken, used = 0, table.head_high
        while taken < len(table.rows) and used + table.rows[taken][1] <= high:
            used += table.rows[taken][1]
            taken += 1
        here += [table._replace(rows=table.rows[:taken])] if taken else []
        if taken < len(table.rows):
            return here, [table._replace(rows=table.rows[taken:]), *tables[n + 1:]]
        high -= used + 3.0
    return here, []


def _fitting(tables: list[Table], high: float) -> list[Block | Table]:
    """As many rows as the page holds, and how many more there are."""
    out: list[Block | Table] = []
    for table in tables:
        taken, used = 0, table.head_high + (0.0 if table.head_high + sum(h for _, h in table.rows) <= high else 7.0)
        while taken < len(table.rows) and used + table.rows[taken][1] <= high:
            used += table.rows[taken][1]
            taken += 1
        if taken:
            out.append(table._replace(rows=table.rows[:taken]))
        if taken < len(table.rows):
            out.append(Block(f'<p class="quiet">{len(table.rows) - taken} more at review depth.</p>', 5.5))
        high -= used + 3.0
    return out


def _head(record: Mapping[str, Any], wide: float) -> Block:
    project = record.get("project", {})
    name = project.get("name", "") or "Calculation"

    def line(title: str, key: str) -> str:
        said = escape(short(project.get(key, ""), LONGEST)) or "&nbsp;"
        return f'<div><dt>{title}</dt><dd dir="auto">{said}</dd></div>'

    html = (
        f'<header><h1 dir="auto">{escape(short(name))}</h1><p class="what">Calculation sheet</p><dl class="sign">'
        + line("Project", "name") + line("Client", "client") + line("Revision", "revision") + line("Date", "date")
        + line("Prepared by", "made_by") + line("Checked by", "checked_by")
        + "</dl>"
        f'<p class="hash">desalbook {escape(str(record["kit"]))}<br>Input SHA-256 '
        f'<code>{escape(record["input_hash"])}</code><br>'
        f'Record SHA-256 <code>{escape(content_hash(record) or "is missing")}</code></p>'
        '<p class="caution-line">Pressure, chemicals, electricity and drinking water can hurt people. These '
        "values defer to local codes and to the judgement of a licensed engineer.</p></header>"
    )
    rows = sum(max(lines(short(project.get(k, ""), LONGEST), wide / 2 - 8, 9.5) for k in pair)
               for pair in (("name", "client"), ("revision", "date"), ("made_by", "checked_by")))
    note = project.get("note", "")
    high = 8.0 * lines(short(name), wide, 16) + 6.0 + rows * 4.4 + 3 * 6.5 + 12.0 + 8.0
    if note:
        html = html.replace("</header>", f'<p dir="auto">{escape(short(note, LONGEST))}</p></header>')
        high += 4.4 * lines(short(note, LONGEST), wide, 9.5) + 2
    return Block(html, high)


def _duty(record: Mapping[str, Any], w: Writer, wide: float) -> list[Table]:
    """The duty as two columns of facts."""
    facts = [(escape(w.lines[i]["title"]), w.words(w.lines[i])) for i in DUTY if there(i, w.lines)]
    half = -(-len(facts) // 2)
    rows = [(*facts[n], *(facts[n + half] if n + half < len(facts) else ("", ""))) for n in range(half)]
    return [grid(("Duty", "", "", ""), (49, 28, 47, 52), rows, room=wide, numbers=(1, 3))] if rows else []


def guarantees(record: Mapping[str, Any], w: Writer, wide: float, measured: bool = False) -> list[Table]:
    """Guaranteed beside expected values, each with the case they hold for and, where wanted, how it is measured."""
    rows, uses = [], []
    for g in record.get("guarantees", ()):
        line = w.lines.get(g["id"]) or w.lines.get(g["expected_id"])
        if line is None:
            continue
        expected, wanted = (_whole(show(g[k], line["kind"], w.units, pretty=True, digits=4, trim=True))
                            for k in ("expected", "guaranteed"))
        bound = f"{'max' if g['sense'] == '≤' else 'min'}\N{NO-BREAK SPACE}{wanted}"
        title = w.to(g["id"], escape(g["title"]))
        if measured:
            margin = w.lines.get(g.get("margin_id", ""))
            rows.append((title, expected, "" if margin is None else w.value(margin), bound, escape(g["corner"]),
                         f"{escape(g['measured'])} ({escape(g.get('standard') or g.get('source') or '')})"))
        elif g["title"].startswith(_USE):  # of chemicals, all at the mean dose and full flow: two beside one another
            uses.append((w.to(g["id"], escape(g["title"].removeprefix(_USE))), expected, bound))
        else:
            rows.append((title, expected, bound, escape(g["corner"])))
    if not rows:
        return []
    if measured:
        return [grid(("Value", "Expected", "Margin", "Guaranteed", "Governing case", "Measured by (standard)"),
                     (40, 29, 13, 36, 25, 42), rows, room=wide, numbers=(1, 2, 3), size=7.2)]
    made = [grid(("Guaranteed and expected values", "Expected", "Guaranteed", "Holds for"), (66, 33, 42, 34), rows,
                 room=wide, numbers=(1, 2), size=7.6)]
    if uses:
        half = -(-len(uses) // 2)
        pairs = [(*uses[n], *(uses[n + half] if n + half < len(uses) else ("", "", ""))) for n in range(half)]
        made.append(grid(("Use of chemicals, mean dose", "Expected", "Guaranteed", "", "Expected", "Guaranteed"),
                         (42, 18, 25, 42, 18, 25), pairs, room=wide, numbers=(1, 2, 4, 5), size=7.2))
    return made


def _whole(said: str) -> str:
    """A value that stays on one line."""
    return escape(said).replace(" ", "\N{NO-BREAK SPACE}")


def there(id: str, lines: Mapping[str, Any]) -> bool:
    """Whether a plant has a value; that of an absent step is no zero but none.

    Parameters
    ----------
    id : str
    lines : mapping
        Lines of the record by id.
    """
    present = lines.get(f"{id.partition('.')[0]}.present")
    return id in lines and (present is None or present["value"] != "no")


def _picture(picture: str, wide: float) -> Block:
    """The water line across the page."""
    box = re.search(r'viewBox="\S+ \S+ (\S+) (\S+)"', picture)
    high = wide * float(box[2]) / float(box[1]) if box else 70.0
    return Block(f'<figure class="picture desalbook db-paper">{picture}</figure>', high + 3.0)


def case_of(line: Mapping[str, Any]) -> str:
    """The case a value holds for: its own, or the one that governs."""
    if line["corner"]:
        return escape(line["corner"].replace("-", ", "))
    won = [c["key"] for c in line["more"].get("candidates", ()) if c.get("won")]
    if line["more"].get("rule", "").endswith("over the cases") and won:
        return escape(str(won[0]).replace("-", ", ")) + ", governs"
    return ""


def _values(record: Mapping[str, Any], w: Writer, wide: float) -> list[Table]:
    """Ten values, each with its case and the check that judges it."""
    judged: dict[str, Mapping[str, Any]] = {}
    for x in record["lines"]:
        if x["sort"] == "checked" and "sense" in x["more"]:
            where = x["inputs"]["provided"]
            id = where if isinstance(where, str) else where[0]
            if id not in judged or x["more"]["margin"] < judged[id]["more"]["margin"]:
                judged[id] = x
    rows = []
    for id in [i for i in VALUES if there(i, w.lines)][:10]:
        x, check = w.lines[id], judged.get(id)
        limit = "" if check is None else _whole(("max " if check["more"]["sense"] == "<=" else "min ")
                                                + shown(check["more"]["limit"], check["kind"], w.units, record, True))
        name = NAMES.get(id)
        rows.append((w.to(id, escape(name)) if name else w.named(id),
                     _whole(shown(x["value"], x["kind"], w.units, record, x["sort"] == "given")),
                     case_of(x).removesuffix(", governs"), limit, "" if check is None else verdict_cell(check)))
    return [grid(("Ten values that matter", "", "Governing case", "Limit", "Check"), (51, 26, 25, 31, 42), rows,
                 room=wide, numbers=(1, 3), size=7.8)] if rows else []


def verdict_cell(check: Mapping[str, Any]) -> str:
    """Mark and words of a verdict."""
    m = check["more"]
    said = verdict_words(m["verdict"], m.get("margin"), m.get("assumed"))
    return f'<span class="verdict v-{m["verdict"]}">{VERDICTS[m["verdict"]][1]} {escape(said)}</span>'


def _fails(record: Mapping[str, Any], w: Writer, wide: float, room: float) -> list[Table]:
    """What does not pass, the gravest first; with what to do as far as all then still have a line of their own."""
    checks = [x for x in record["lines"] if x["sort"] == "checked"]
    some = sorted((x for x in checks if x["more"]["verdict"] != "passes"),
                  key=lambda x: (RANK[x["more"]["verdict"]], x["more"].get("margin") or 0.0))
    if not some:
        return []
    whole, brief = (grid(("What does not pass", "Check", "Found; what to do"), (46, 38, 91),
                         [_fail(record, w, x, at_length) for x in some], room=wide, size=7.4)
                    for at_length in (True, False))
    shorter = sum(high for _, high in brief.rows)
    rows = list(brief.rows)
    for n, (full, short_one) in enumerate(zip(whole.rows, brief.rows, strict=True)):
        if brief.head_high + shorter + full[1] - short_one[1] <= room:
            shorter += full[1] - short_one[1]
            rows[n] = full
    return [brief._replace(rows=rows)]


def _fail(record: Mapping[str, Any], w: Writer, x: Mapping[str, Any], at_length: bool) -> tuple[str, str, str]:
    """Title, verdict and finding of a check; at length, what to do as well."""
    m = x["more"]
    at = f" ({case_of(x)})" if x["corner"] else ""
    sense = "max" if m.get("sense") == "<=" else "min"
    found = ""
    if "sense" in m:
        found = f"{w.value(x)}, {sense} {escape(shown(m['limit'], x['kind'], w.units, record, True))}"
    if at_length:
        found = sentence(found or escape(in_units(m.get("why", ""), w.units)))
        do = escape(sentence(with_titles(in_units(m.get("do", ""), w.units), w.title)))
        found = f"{found} {do}".strip()
    return f"{escape(x['title'])}{at}", verdict_cell(x), found


def _counted(record: Mapping[str, Any]) -> list[Block]:
    """How many checks end how, and how many marks of a review stand how."""
    verdicts = [x["more"]["verdict"] for x in record["lines"] if x["sort"] == "checked"]
    said = {"fails": "fail", "review": "for review", "marginal": "marginal", "passes": "pass"}
    counts = ", ".join(f"{n} {'fails' if n == 1 and word == 'fails' else words}" for word, words in said.items()
                       if (n := verdicts.count(word)))
    out = [Block(f'<p class="quiet">{len(verdicts)} checks: {counts}.</p>', 5.5)]
    states = [m["state"] for m in record.get("marks", ())]
    if states:
        each = ", ".join(f"{n} {state}" for state in MARKED if (n := states.count(state)))
        out.append(Block(f'<p class="quiet">Review marks: {each}; read them at review depth.</p>', 5.5))
    return out
