"""A comparison in words: the same sentences for the terminal, for a panel and for a page."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable, Iterable, Sequence
from html import escape
from textwrap import wrap
from typing import Any, NamedTuple

from desalbook.audit.causes import Cause, State
from desalbook.audit.page.sheets import PAPERS
from desalbook.audit.page.style import style
from desalbook.audit.page.summary import NAMES
from desalbook.trail.seal import content_hash
from desalbook.trail.systems import case_words, plural
from desalbook.trail.words import verdict_words

__all__ = ["as_html", "as_page", "as_text", "because", "carried", "steps"]

Comparison = Any  # that of `audit.compare`, which speaks through this module

_WIDTH = 100
_LONGEST = 60  # letters of a value
_LINKS = 10  # of a chain; a longer one shows its two ends
_CANCEL = 3.0  # times the whole change
_CANCELS = ", which nearly cancel"
_SHARE = 0.005  # what carries less than this is not listed
_SLIGHT = 5e-4  # a value that changed by less has no shares worth a line
_ROWS = 40  # of a table that is folded
_NO_SHARE = "no share"


def _clean(said: str, longest: int = _LONGEST) -> str:
    """Without control characters, cut to a length that leaves the page a page."""
    said = "".join(ch if ch.isprintable() else " " for ch in said)
    return said if len(said) <= longest else said[: longest - 1] + "…"


def _listed(words: Sequence[str], last: str = "and") -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} {last} {words[-1]}"


def _input(c: Comparison, n: int) -> str:
    """A changed input with its number in the list."""
    assert c.causes is not None
    return f"{c.causes.changes[n].title} ({n + 1})"


def _inputs(c: Comparison, places: Iterable[int], last: str = "and") -> str:
    return _listed([_input(c, n) for n in places], last)


def _reads(state: State, id: str) -> str:
    """What a check reads in a plant between the two."""
    if state.problem:
        return f"not feasible ({_clean(state.problem, 160)})"
    if id not in state.verdicts:
        return "the check does not apply"
    return verdict_words(*state.verdicts[id])


def because(c: Comparison, id: str) -> list[str]:
    """Why a check changed status, in sentences: the cause, the plants that prove it, and what has no part in it."""
    one, of = c.cause(id), c.causes
    if one is None or of is None:
        return []
    if one.how == "other":
        return ["Not tested: this version of the kit gives the check another status than the records hold."]
    return [*_of_cause(c, one), *_idle(c, one)]


def _of_cause(c: Comparison, one: Cause) -> list[str]:
    of, id = c.causes, one.check
    assert of is not None
    every = set(range(len(of.changes)))

    def alone(n: int) -> str:
        also = of.alone[n].also
        with_ = f" with {_input(c, also)}, without which it is refused" if also >= 0 else ""
        return f"Taken alone into the old design{with_}: {_reads(of.alone[n], id)}."

    def back(n: int) -> str:
        also = of.back[n].also
        with_ = f" with {_input(c, also)}, without which it is refused" if also >= 0 else ""
        return f"Put back alone in the new design{with_}: {_reads(of.back[n], id)}."

    if one.how == "alone" and len(one.enough) == 1:
        n = one.enough[0]
        said = [f"{_input(c, n)} alone.", alone(n), back(n)]
        return [*said, *_without(c, one, every)]
    def each(places: Iterable[int], states: Sequence[State]) -> str:
        return "; ".join(f"{n + 1}: {_reads(states[n], id)}" for n in places)

    if one.how == "alone":
        said = [f"{_inputs(c, one.enough, 'or')}: each is enough alone.",
                f"Taken alone into the old design, {each(one.enough, of.alone)}."]
        if one.needed:
            return [*said, f"Put back alone in the new design, {each(one.needed, of.back)}."]
        return [*said, "Put back alone, none of them changes the status.", *_without(c, one, every)]
    if one.how == "pair":
        said = [f"{_inputs(c, one.enough)} together; neither is enough alone.",
                f"Both taken into the old design: {_reads(of.state(one.enough), id)}."]
        return [*said, f"Put back alone in the new design, {each(one.needed, of.back)}."] if one.needed else said
    tried = "" if one.tried else " Not every pair was tried."
    if one.how == "needed" and len(one.needed) > 1:
        return [f"{_inputs(c, one.needed)} together; none is enough alone, and each is needed.{tried}",
                f"Put back alone in the new design, {each(one.needed, of.back)}."]
    if one.how == "needed":
        n = min(one.needed, default=0)
        return [f"{_input(c, n)} with several others; no pair is enough.{tried}", alone(n), back(n)]
    if one.how == "back":
        return [f"{_inputs(c, one.without)}: the status changes only when both are put back.",
                f"Both put back in the new design: {_reads(of.state(every - set(one.without)), id)}."]
    return [f"Several changes together: no single one and no pair explains it.{tried}"]


def _without(c: Comparison, one: Cause, every: set[int]) -> list[str]:
    if not one.without or c.causes is None:
        return []
    return [f"{_inputs(c, one.without)} both put back: {_reads(c.causes.state(every - set(one.without)), one.check)}."]


def _idle(c: Comparison, one: Cause) -> list[str]:
    of = c.causes
    assert of is not None
    idle = [n for n in range(len(of.changes)) if of.moves_nothing(n, one.check)]
    if not idle:
        return []
    if len(idle) > 3:
        return [f"The other {len(idle)} changes move nothing here." if len(idle) + len(one.changes) == len(of.changes)
                else f"{len(idle)} changes move nothing here."]
    return [f"{_inputs(c, idle)} {'moves' if len(idle) == 1 else 'move'} nothing here."]


def carried(c: Comparison, id: str, most: int = 0) -> str:
    """What each input carries of the change of a value or margin: ``2: 96 %, 1: 4 %``; what is left is of several.

    With `most`, no more inputs than that are named, and the rest is of *others*.
    """
    of, whole = c.causes, c.whole(id)
    if of is None or not whole:
        return ""
    shares = [e.carried / whole if e.carried is not None else None for e in of.effects(id)]
    known = [(n, x) for n, x in enumerate(shares) if x is not None]
    if not known:
        return ""
    rest = 1.0 - math.fsum(x for _, x in known)
    listed = [(n, x) for n, x in sorted(known, key=lambda p: -abs(p[1])) if abs(x) >= _SHARE]
    if listed and abs(listed[0][1]) > _CANCEL:  # parts of a small difference of large moves say nothing
        large = [str(n + 1) for n, x in listed if abs(x) > _CANCEL / 2]
        return f"{_listed(large, 'and')}{_CANCELS}"
    said = [f"{n + 1}: {_percent(x)}" for n, x in listed]
    if most and len(listed) > most:
        others = 1.0 - math.fsum(x for _, x in listed[:most])
        return ", ".join([*said[:most], f"others: {_percent(others)}"])
    if abs(rest) >= _SHARE:
        said.append(f"only together: {_percent(rest)}")
    return ", ".join(said) or _NO_SHARE


def _percent(part: float) -> str:
    return f"{part * 100:.0f} %".replace("-", "−")


def steps(c: Comparison, id: str) -> list[tuple[str, str]]:
    """The chain from the cause to a check, each with its id; a long one shows its two ends."""
    way = c.chain(id)[:-1]
    told = [(i, c.step(i)) for i in way]
    if len(told) <= _LINKS:
        return told
    half = _LINKS // 2
    return [*told[:half], ("", f"{len(told) - _LINKS} lines between"), *told[-half:]]


class _Head(NamedTuple):
    which: str
    name: str
    said: str


def _heads(c: Comparison) -> list[_Head]:
    found = []
    for which, record, name in zip(("Old", "New"), (c.old, c.new), c.names, strict=True):
        project = record.get("project", {})
        said = [_clean(str(project.get("name", ""))) or "no name"]
        if project.get("revision"):
            said.append(f"revision {_clean(str(project['revision']))}")
        said.append(f"input {record['input_hash'][:12]}")
        found.append(_Head(which, _clean(name), ", ".join(said)))
    return found


def _flips(c: Comparison, n: int) -> str:
    """How many checks a changed input is a cause of."""
    causes = [c.cause(id) for id in c.causes.checks] if c.causes is not None else []
    count = sum(one is not None and n in one.changes for one in causes)
    return f"a cause of {plural(count, 'changed check')}" if count else "the cause of no changed check"


def _note(c: Comparison, n: int) -> str:
    """What could not be sized with or without one change."""
    of = c.causes
    assert of is not None
    ends = [("taken alone", of.alone[n]), ("put back alone", of.back[n])]
    return "; ".join(f"{how}: not feasible, {_clean(state.problem, 160)}" for how, state in ends if state.problem)


def _ten(c: Comparison) -> list[dict[str, Any]]:
    rows = []
    for id in c.ten:
        line = c.line(id)
        by = c.change.get(id, 0.0)
        old, new = c.says(0, id), c.says(1, id)
        rows.append({"id": id, "title": NAMES.get(id, line["title"]), "old": old, "new": new,
                     "change": _by(c, id, by) if by else "the same",
                     "carried": carried(c, id, 4) if by > _SLIGHT else ""})
    return rows


def _by(c: Comparison, id: str, by: float) -> str:
    """The change of a value as a fraction of the old one, with its sign."""
    a, b = (x[id]["value"] for x in c.lines)
    if not isinstance(a, float) or not isinstance(b, float) or math.isinf(by):
        return ""
    if not a or (c.line(id)["kind"] or "") in ("temperature", "ph"):
        return ""
    part = (b - a) / abs(a) * 100
    return "< 0.05 %" if abs(part) < 100 * _SLIGHT else f"{'+' if part > 0 else '−'}{abs(part):.3g} %"


def _others(c: Comparison) -> list[dict[str, Any]]:
    return [r for r in c.moved_rows if r["id"] not in c.ten]


def _moved(r: dict[str, Any]) -> tuple[str, str, str]:
    by = "" if math.isinf(r["change"]) else f"{r['change'] * 100:.2g} %"
    return f"{r['title']} ({r['id']})", f"{r['old']} → {r['new']}", by


# terminal ------------------------------------------------------------------------------------------------


def _columns(rows: Sequence[Sequence[str]], indent: str = "  ", right: Sequence[int] = ()) -> list[str]:
    wide = [max(len(r[i]) for r in rows) for i in range(len(rows[0]))]
    return [(indent + "  ".join(part.rjust(w) if i in right else part.ljust(w)
                                for i, (part, w) in enumerate(zip(r, wide, strict=True)))).rstrip() for r in rows]


def _wrapped(label: str, said: str, indent: str = "    ", width: int = 8) -> list[str]:
    said = re.sub(r"(\d) (?=[%°µa-zA-Z])", "\\1\u00a0", said)  # a number stays on the line of its unit
    return [row.replace("\u00a0", " ") for row in wrap(
                said, _WIDTH, initial_indent=f"{indent}{label:<{width}}", subsequent_indent=indent + " " * width,
                break_long_words=False, break_on_hyphens=False)] if said else []


def as_text(c: Comparison, full: bool = False) -> str:
    """The comparison for a terminal, at most 100 columns but for what has no space to break at."""
    heads = _heads(c)
    out = _columns([[h.which, h.name, h.said] if any(x.name for x in heads) else [h.which, h.said] for h in heads], "")
    if c.same:
        return "\n".join([*out, "", "Nothing differs."]) + "\n"
    out += _text_of_inputs(c, full) + _text_of_checks(c, full) + _text_of_values(c, full) + _text_of_rules(c, full)
    return "\n".join(out) + "\n"


def _text_of_inputs(c: Comparison, full: bool) -> list[str]:
    found = c.input_rows
    if not found and c.causes is None:
        return ["", "Inputs changed: none"]

    def row(r: dict[str, Any], indent: str, width: int) -> list[str]:
        return _wrapped("", f"{r['title']}: {_clean(r['old'])} → {_clean(r['new'])} ({r['id']})", indent, width)

    if c.causes is None:
        out = ["", f"Inputs changed: {len(found)}"]
        for r in found:
            out += row(r, "  ", 0)
        return [*out, "", *_wrapped("", f"Causes were not tested. {c.untested}", "", 0)]
    out = ["", f"Inputs changed: {_count(c)}"]
    for n, one in enumerate(c.causes.changes):
        moves = f": {_clean(one.old)} → {_clean(one.new)}" if one.old or one.new else ""
        key = f" ({one.id})" if one.id and not one.parts else ""
        out += _wrapped(f"{n + 1}", f"{one.title}{moves}{key}; {_flips(c, n)}", "  ", 4)
        out += _wrapped("", _note(c, n), "  ", 4)
        for part in one.parts:
            out += row(part._asdict(), "      ", 2)
        if not one.parts and len(one.keys) > 1:
            out += _wrapped("", ", ".join(one.keys), "      ", 2)
    texts, follow = _untold(c)
    for r in texts:
        out += row(r, "  ", 4)
    if follow:
        out += _wrapped("", f"{plural(len(follow), 'default')} that follow from these" + (":" if full else
                        "; --full lists them"), "  ", 4)
        for r in follow if full else ():
            out += row(r, "      ", 2)
    return out


def _count(c: Comparison) -> int:
    """Inputs that somebody changed: keys of the design, whole parts as one, and texts."""
    return sum(len(one.parts) or 1 for one in c.causes.changes) + len(_untold(c)[0])


def _untold(c: Comparison) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    """Inputs of the records that are none of the changes tested: texts, and defaults that follow."""
    told = tuple(k for one in c.causes.changes for k in one.keys)
    rest = [r for r in c.input_rows
            if r["id"] not in told and not any(r["id"].startswith((f"{k}.", f"{k}[")) for k in told)]
    texts = [r for r in rest if c.is_text(r["id"])]
    return texts, [r for r in rest if r not in texts]


def _text_of_checks(c: Comparison, full: bool) -> list[str]:
    if not c.turned_rows:
        return ["", "Checks that changed status: none"]
    rows, came, went = _sorted(c)
    out = ["", f"Checks that changed status: {len(rows)}"]
    for r in rows:
        id = r["id"]
        out += ["", *_wrapped("", f"{_title(c, id)} ({id})", "  ", 0),
                *_wrapped("", f"{c.says(0, id)} → {c.says(1, id)}" if r["old"] != "absent" else
                          f"new: {c.says(1, id)}", "    ", 0)]
        said = because(c, id)
        out += _wrapped("Cause", " ".join(said))
        told = carried(c, id)
        of = "" if told.endswith(_CANCELS) else " of the change of the margin"
        out += _wrapped("Shares", f"{told}{of}" if told and told != _NO_SHARE else "")
        chain = [step for _, step in steps(c, id)]
        if not chain:
            out += _wrapped("Chain", "no chain of changed lines leads here from a changed input")
        rule = not said and r["chain"] and c.roots.get(r["chain"].split()[0]) == "rule"
        for n, step in enumerate(chain):
            label = ("Rule" if rule else "Chain") if n == 0 else ""
            out += _wrapped(label, ("→ " if n else "") + _clean(step, 160))
    for title, some in (("New checks, all pass", came), ("Checks that no longer apply", went)):
        if some:
            out += ["", f"{title}: {len(some)}" + ("" if full else "; --full lists them")]
            for r in some if full else ():
                out += _wrapped("", f"{_title(c, r['id'])} ({r['id']})", "  ", 0)
            for said, ids in _by_cause(c, some):
                out += _wrapped("", f"{len(ids)} by {said}", "  ", 0)
    return out


def _sorted(c: Comparison) -> tuple[list[dict[str, Any]], list[dict[str, Any]], list[dict[str, Any]]]:
    """Checks whose status is another or that are new and do not pass; new ones that pass; those that went."""
    rows = c.turned_rows
    came = [r for r in rows if r["old"] == "absent" and r["new"] == "passes"]
    went = [r for r in rows if r["new"] == "absent"]
    return [r for r in rows if r not in came and r not in went], came, went


def _by_cause(c: Comparison, rows: Sequence[dict[str, Any]]) -> list[tuple[str, list[str]]]:
    """Ids of checks by what they are caused by, in words, the most first."""
    found: dict[str, list[str]] = {}
    for r in rows:
        one = c.cause(r["id"])
        if one is not None and one.changes:
            either = one.how == "alone" and len(one.enough) > 1
            said = _inputs(c, one.enough if one.how == "alone" else one.changes, "or" if either else "and")
            found.setdefault(said, []).append(r["id"])
    return sorted(found.items(), key=lambda p: -len(p[1]))


def _title(c: Comparison, id: str) -> str:
    line = c.line(id)
    return f"{line['title']}, {case_words(line['corner'])}" if line["corner"] else line["title"]


def _text_of_values(c: Comparison, full: bool) -> list[str]:
    out = []
    rows = _ten(c)
    if rows:
        out += ["", "Ten values that matter" if len(rows) == 10 else "Values that matter"]
        printed = _columns([["", "Old", "New", "Change"],
                            *([r["title"], r["old"], r["new"], r["change"]] for r in rows)], right=(1, 2, 3))
        several = c.causes is not None and len(c.causes.changes) > 1
        out.append(printed[0])
        for r, row in zip(rows, printed[1:], strict=True):
            out += [row, *([f"    carried by {r['carried']}"] if several and r["carried"] else [])]
    others = _others(c)
    if not others:
        return [*out, "", "Other values that changed: none"]
    out += ["", f"Other values that changed: {len(others)} of {len(c.new['lines'])} lines"
            + (", largest effect on checks first" if full else "; --full lists them")]
    for r in others if full else ():
        title, moves, by = _moved(r)
        out += _wrapped("", f"{title}: {_clean(moves, 100)}{f', by {by}' if by else ''}", "  ", 0)
    return out


def _text_of_rules(c: Comparison, full: bool) -> list[str]:
    found = c.rule_rows
    if not found:
        return ["", "Relations, sources, engines: the same"]
    out = ["", f"Relations, sources, engines changed: {len(found)}"]
    some = found if full else found[:12]
    for r in some:
        used = f", {plural(r['lines'], 'line')}" if r["lines"] else ""
        out += _wrapped("", f"{r['what']} {r['id']}, {r['part']}{used}: {_clean(r['old'], 130)} → "
                            f"{_clean(r['new'], 130)}", "  ", 0)
    return [*out, f"  {len(found) - len(some)} more; --full lists them"] if len(found) > len(some) else out


# HTML ----------------------------------------------------------------------------------------------------


def _link(id: str, line: str) -> str:
    """An id: a button that asks for its line, or its name alone where there is no line to ask for."""
    if not line:
        return f"<code>{escape(id)}</code>"
    ask = escape(json.dumps({"why": line}), quote=True)
    return f'<button type="button" data-ask="{ask}">{escape(id)}</button>'


def _tight(said: str) -> str:
    """A value that is not broken from its unit."""
    return escape(said).replace(" ", "&nbsp;")


def _table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """A table of cells that are HTML already."""
    top = "".join(f"<th style='text-align:left'>{escape(h)}</th>" for h in head)
    body = "".join("<tr>" + "".join(f"<td style='text-align:left'>{x}</td>" for x in r) + "</tr>" for r in rows)
    return f"<table><thead><tr>{top}</tr></thead><tbody>{body}</tbody></table>"


def _folded(title: str, inside: str) -> str:
    return f"<details><summary>{escape(title)}</summary>{inside}</details>"


def as_html(c: Comparison, ways: bool = False) -> str:
    """The comparison as HTML: what the terminal says, lines linked, chains and the rest folded."""
    def link(id: str) -> str:
        line = id if id in c.lines[1] else id.rpartition("[")[0]  # an entry of a table is in the line of the table
        return _link(id, line if ways and line in c.lines[1] else "")

    heads = "".join(f"<p><b>{h.which}</b> {escape(h.name)} <span class='quiet'>{escape(h.said)}</span></p>"
                    for h in _heads(c))
    if c.same:
        return f"{heads}<p>Nothing differs.</p>"
    return heads + _html_of_inputs(c, link) + _html_of_checks(c, link) + _html_of_values(c, link) + _html_of_rules(c)


_PAGE = """
body { padding: 6mm 0; } table { border-collapse: collapse; width: 100%; margin: 1mm 0 3mm; font-size: 8.5pt; }
th, td { text-align: left; vertical-align: top; padding: .6mm 1.5mm; border-bottom: 1px solid var(--line); }
h2 { margin-top: 0; } h4 { font-size: 11pt; margin: 5mm 0 1mm; } p { margin: 1mm 0; } details { margin: 1mm 0 3mm; }
summary { cursor: pointer; } .quiet { color: var(--quiet); } tr, div { break-inside: avoid; }
@media screen { body { max-width: 94vw; } }
"""


def as_page(c: Comparison, paper: str = "a4") -> str:
    """The comparison as one self-contained HTML file, with the style sheet of the printed record."""
    names = " → ".join(h.name or h.which for h in _heads(c))
    css = style(PAPERS[paper], names, "", (content_hash(c.new) or c.new["input_hash"])[:12])
    return ('<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
            '<meta name="viewport" content="width=device-width, initial-scale=1">'
            '<meta http-equiv="Content-Security-Policy" content="default-src \'none\'; style-src \'unsafe-inline\'">'
            f"<title>Comparison {escape(names)}</title><style>{css}{_PAGE}</style></head>\n"
            f"<body><h2>Comparison {escape(names)}</h2>{as_html(c)}"
            "<p class='quiet'>A calculation aid: it approves nothing. Local codes and licensed practice come first.</p>"
            "</body></html>\n")


def _html_of_inputs(c: Comparison, link: Callable[[str], str]) -> str:
    found = c.input_rows
    if c.causes is None:
        if not found:
            return "<h4>Inputs changed: none</h4>"
        rows = [[escape(r["title"]), escape(r["old"]), escape(r["new"]), link(r["id"])] for r in found]
        return (f"<h4>Inputs changed: {len(found)}</h4>{_table(('Input', 'Old', 'New', 'Key'), rows)}"
                f"<p>Causes were not tested. {escape(c.untested)}</p>")
    rows = []
    for n, one in enumerate(c.causes.changes):
        note = _note(c, n)
        each = [f"{escape(p.title)}: {escape(p.old)} → {escape(p.new)} {link(p.id)}" for p in one.parts]
        keys = _folded(plural(len(one.keys), "key"), "<br>".join(each or map(link, one.keys))) \
            if len(one.keys) > 1 else link(one.id)
        rows.append([str(n + 1), escape(one.title), _tight(_clean(one.old)), _tight(_clean(one.new)),
                     escape(_flips(c, n) + (f"; {note}" if note else "")), keys])
    texts, follow = _untold(c)

    def further(some: Sequence[dict[str, Any]]) -> list[list[str]]:
        return [["", escape(r["title"]), escape(_clean(r["old"])), escape(_clean(r["new"])), "", link(r["id"])]
                for r in some]

    rows += further(texts)
    fold = _folded(f"{plural(len(follow), 'default')} that follow from these",
                   _table(("", "Input", "Old", "New", "", "Key"), further(follow))) if follow else ""
    return (f"<h4>Inputs changed: {_count(c)}</h4>"
            f"{_table(('No.', 'Input', 'Old', 'New', 'Effect on checks', 'Key'), rows)}{fold}")


def _html_of_checks(c: Comparison, link: Callable[[str], str]) -> str:
    if not c.turned_rows:
        return "<h4>Checks that changed status: none</h4>"
    rows, came, went = _sorted(c)
    out = [f"<h4>Checks that changed status: {len(rows)}</h4>"]
    for r in rows:
        id, told = r["id"], carried(c, r["id"])
        was = "" if r["old"] == "absent" else f"{escape(c.says(0, id))} → "
        said = because(c, id)
        cause = f"<br><b>{escape(said[0])}</b> {escape(' '.join(said[1:]))}" if said else ""
        shares = f"<br>Shares of the change of the margin: {escape(told)}" if told and told != _NO_SHARE else ""
        chain = steps(c, id)
        way = "".join(f"<li>{escape(_clean(step.removesuffix(f' ({i})'), 160))} {link(i) if i else ''}</li>"
                      for i, step in chain)
        fold = _folded(f"Chain of {plural(len(c.chain(id)) - 1, 'line')}", f"<ol>{way}</ol>") if way else ""
        out.append(f"<div><p><b>{escape(_title(c, id))}</b> {link(id)}<br>{was}{escape(c.says(1, id))}"
                   f"{cause}{shares}</p>{fold}</div>")
    for title, some in (("New checks, all pass", came), ("Checks that no longer apply", went)):
        if some:
            by = "".join(f"<p>{len(ids)} by {escape(said)}</p>" for said, ids in _by_cause(c, some))
            each = [[escape(_title(c, r["id"])), link(r["id"])] for r in some]
            out.append(_folded(f"{title}: {len(some)}", by + _table(("Check", "Line"), each)))
    return "".join(out)


def _html_of_values(c: Comparison, link: Callable[[str], str]) -> str:
    rows = _ten(c)
    head = ("Value", "Old", "New", "Change", "Carried by input", "Line")
    out = "<h4>Ten values that matter</h4>" if len(rows) == 10 else "<h4>Values that matter</h4>" if rows else ""
    if rows:
        out += _table(head, [[escape(r["title"]), *(_tight(r[k]) for k in ("old", "new", "change")),
                              ", ".join(map(_tight, r["carried"].split(", "))), link(r["id"])] for r in rows])
    others = _others(c)
    if not others:
        return out + "<p>No other value changed.</p>"
    rest = [[escape(r["title"]), escape(_clean(f"{r['old']} → {r['new']}", 100)), escape(_moved(r)[2]), link(r["id"])]
            for r in others[:_ROWS]]
    more = f"<p>{len(others) - _ROWS} more in the terminal with --full.</p>" if len(others) > _ROWS else ""
    return out + _folded(f"Other values that changed: {len(others)} of {len(c.new['lines'])} lines",
                         _table(("Value", "Old and new", "Change", "Line"), rest) + more)


def _html_of_rules(c: Comparison) -> str:
    found = c.rule_rows
    if not found:
        return "<p>Relations, sources, engines: the same.</p>"
    rows = [[escape(f"{r['what']} {r['id']}"), escape(r["part"]), str(r["lines"] or ""), escape(_clean(r["old"], 130)),
             escape(_clean(r["new"], 130))] for r in found]
    return _folded(f"Relations, sources, engines changed: {len(found)}",
                   _table(("What", "Part", "Lines", "Old", "New"), rows))
