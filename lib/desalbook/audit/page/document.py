"""The printed record: one HTML file that needs nothing but itself, in three depths.

*Summary*: two pages to sign. *Review*: what a reviewer reads, the governing lines of each chapter with their equations.
*Full*: every line of the trail instead, as an annex. Each begins with the one before.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from html import escape
from typing import Any

from desalbook.audit.chapters import in_process_order
from desalbook.audit.page import review, summary
from desalbook.audit.page.parts import Writer, anchor
from desalbook.audit.page.sheets import PAPERS, Block, Section, Table, cut, grid, parts_of
from desalbook.audit.page.shown import by_id, units_of
from desalbook.audit.page.style import style
from desalbook.problems import DesignError
from desalbook.trail.seal import content_hash
from desalbook.trail.words import chapter, part_words

__all__ = ["DEPTHS", "page"]

DEPTHS = ("summary", "review", "full")
"""How much of a record a page shows."""


def page(
    record: Mapping[str, Any], units: str = "si", paper: str | None = None, depth: str = "full", picture: str = ""
) -> str:
    """The calculation as one self-contained HTML file.

    Parameters
    ----------
    record : mapping
        As `trail.record.to_record` or `trail.record.read` give it.
    units : {"si", "us"}
        Display set; coherent SI stands beside it in every step.
    paper : {"a4", "letter"}, optional
        A4 with SI, letter with US units when not said.
    depth : {"summary", "review", "full"}
        Two pages; what a reviewer reads; every line.
    picture : str, optional
        The water line as SVG, for the summary.

    Returns
    -------
    str
    """
    units_of(units)
    paper = paper or ("letter" if units == "us" else "a4")
    for where, value, allowed in (("paper", paper, tuple(PAPERS)), ("depth", depth, DEPTHS)):
        if value not in allowed:
            raise DesignError(f"no such {where}", where=where, value=value, allowed=", ".join(allowed),
                              do=f"enter {', '.join(allowed[:-1])} or {allowed[-1]}")
    full = _in_full(record)
    room = PAPERS[paper].room
    w = Writer(record, units, full)
    if depth != "full":
        w.printed = set() if depth == "summary" else review.printed(record)
    project = record.get("project", {})
    name = project.get("name", "") or "Calculation"
    first = summary.sections(record, w, room, picture)
    rest: list[Section] = [] if depth == "summary" else [*review.sections(record, w, room)]
    if depth == "review":
        rest += review.chapters(record, w, room)
    elif depth == "full":
        rest += _annex(record, full, w, room)
    if depth != "summary":
        rest += [*_sources(record, room), *_engines(record, room)]
    pages, begins = cut(first, room)
    if rest:
        some, _ = cut(_contents(rest, {}, room), room)
        more, found = cut([rest[0]._replace(fresh=True), *rest[1:]], room, len(pages) + len(some) + 1)
        pages += cut(_contents(rest, {**begins, **found}, room), room)[0] + more
    css = style(PAPERS[paper], summary.short(name), summary.short(project.get("revision", "")),
                (content_hash(record) or "without hash")[:12])
    return (
        "<!DOCTYPE html>\n"
        f'<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        '<meta http-equiv="Content-Security-Policy" '
        "content=\"default-src 'none'; style-src 'unsafe-inline'\">"
        f"<title>{escape(summary.short(name))}</title><style>{css}</style></head>\n<body>\n"
        + "\n".join(f'<section class="sheet"><p class="at">page {n} of {len(pages)}</p>{body}</section>'
                    for n, body in enumerate(pages, 1))
        + "\n</body></html>\n"
    )


def _in_full(record: Mapping[str, Any]) -> set[str]:
    """Ids of cases that are printed in full: what led to a governing value, else the design case."""
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


def _contents(rest: Sequence[Section], begins: Mapping[str, int], room: tuple[float, float]) -> list[Section]:
    """The list of contents; its height does not depend on the numbers."""
    rows = [(f'<a href="#{escape(s.name)}">{"&emsp;" if s.level > 1 else ""}{s.title}</a>',
             str(begins.get(s.name, ""))) for s in rest if s.title]
    half = -(-len(rows) // 2) if len(rows) > 40 else len(rows)
    pairs = [(*rows[n], *(rows[n + half] if n + half < len(rows) else ("", ""))) for n in range(half)]
    if half == len(rows):
        table = grid(("Part", "Page"), (150, 20), rows, room=room[0], numbers=(1,))
    else:
        table = grid(("Part", "Page", "Part", "Page"), (70, 15, 70, 15), pairs, room=room[0], numbers=(1, 3))
    return [Section("contents", "Contents", [table], fresh=True)]


def _annex(record: Mapping[str, Any], full: set[str], w: Writer, room: tuple[float, float]) -> list[Section]:
    """Every line but the checks, by chapter in the order of the water."""
    chapters: dict[str, list[Mapping[str, Any]]] = {}
    for line in record["lines"]:
        if line["sort"] != "checked":
            chapters.setdefault(chapter(line["id"]), []).append(line)
    return [Section(f"chapter-{part}", f"{number}. {escape(part_words(part))}", _chapter(chapters[part], full, w, room))
            for number, part in enumerate(in_process_order(chapters), 1)]


def _chapter(lines: Sequence[Mapping[str, Any]], full: set[str], w: Writer,
             room: tuple[float, float]) -> list[Block | Table]:
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
    out: list[Block | Table] = []
    if inputs:
        out.append(review.inputs(inputs, w, room[0]))
    for x in steps:
        out += parts_of(w.step(x), room)
    tables = [review.cases(base, group, w, room[0]) for base, group in others.items() if len(group) > 1]
    if tables:
        out += [Block("<h3>All cases</h3>", 8.0, keep=True), *tables]
    return out


def _sources(record: Mapping[str, Any], room: tuple[float, float]) -> list[Section]:
    cited = sorted(record["sources"].items())
    if not cited:
        return []
    rows = [(f"<b>{escape(key)}</b>", escape(s["citation"]), escape(s["kind"])) for key, s in cited]
    table = grid(("Key", "Source", "Type"), (35, 116, 19), rows, room=room[0], size=7.2,
                 attributes=[f' id="{anchor("source-" + key)}"' for key, _ in cited])
    return [Section("sources", "Sources", [table])]


def _engines(record: Mapping[str, Any], room: tuple[float, float]) -> list[Section]:
    if not record["engines"]:
        return []
    rows = [[escape(str(e[k])) for k in ("library", "version", "data", "checksum")] for e in record["engines"]]
    return [Section("engines", "Libraries asked",
                    [grid(("Library", "Version", "Data", "Checksum"), (25, 20, 35, 90), rows, room=room[0], size=7.2)])]


