"""The reference as one self-contained page: nothing in it is typed, everything is read from the kit."""

from __future__ import annotations

import importlib
import os
import pkgutil
import re
from collections import defaultdict
from collections.abc import Iterable
from html import escape
from pathlib import Path
from typing import Any
from urllib.parse import quote

import desalbook
from desalbook import api, calc, paths
from desalbook.calc.examples import EXAMPLES, called
from desalbook.design import SECTIONS
from desalbook.guidelines import limit_key
from desalbook.problems import DesignError
from desalbook.reference.checks import GAP, judgements
from desalbook.reference.python import entries, sections
from desalbook.reference.style import SCRIPT, style
from desalbook.sources import source, source_keys
from desalbook.tables import Cell, table, table_names
from desalbook.trail import REGISTER, typeset
from desalbook.trail import symbols as sym
from desalbook.trail.handbook import alike, check_points, point_text, symbol_rows, valid_for
from desalbook.trail.record import kit_version
from desalbook.units import FieldMeta, metas, unit_label

__all__ = ["FILE", "page", "write"]

FILE = "reference.html"
"""Name of the page in the folder it is written to."""
_NO_ROOMS = ("_carried", "cli", "lab", "notebook", "reference", "plots", "__main__")
_DEMOS, _EXAMPLES = ("harbour-town.toml", "beach-well.toml"), 3
_CHAPTERS = (("python", "Python"), ("relations", "Relations"), ("keys", "Design keys"), ("tables", "Tables"),
             ("checks", "Checks"), ("sources", "Sources"))


def write(folder: str | os.PathLike[str]) -> Path:
    """Write the page into a folder, which is made where it is not there.

    Parameters
    ----------
    folder : path

    Returns
    -------
    Path
        The file, `FILE` in that folder.

    Raises
    ------
    DesignError
        The folder cannot be written to.
    """
    target = Path(folder) / FILE
    text = page()
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        part = target.with_name(f".{FILE}.part")
        part.write_text(text, encoding="utf-8", newline="\n")
        os.replace(part, target)
    except OSError as error:
        raise DesignError("cannot be written to", where="folder", value=str(folder),
                          do=f"give another folder ({error.strerror or error})") from None
    return target


def page() -> str:
    """The whole reference as one HTML file that needs nothing but itself.

    Returns
    -------
    str
    """
    # a package that cannot be loaded without an extra, such as plots, is passed over: it holds no equations
    for module in pkgutil.walk_packages(desalbook.__path__, "desalbook.", onerror=lambda name: None):
        if module.name.split(".")[1] not in _NO_ROOMS:
            importlib.import_module(module.name)
    parts = {"python": _python(), "relations": _relations(), "keys": _keys(), "tables": _tables(),
             "checks": _checks(), "sources": _sources()}
    counts = {name: body.count('class="entry') for name, body in parts.items()}
    index = "".join(f'<a href="#{name}">{title} <span class="quiet">{counts[name]}</span></a>'
                    for name, title in _CHAPTERS)
    body = "".join(f'<section class="chapter" id="{name}"><h2>{title}</h2>{parts[name]}</section>'
                   for name, title in _CHAPTERS)
    return (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'; "
        "script-src 'unsafe-inline'\">"
        f"<title>desalbook {escape(kit_version())}: reference</title><style>{style()}</style></head>\n<body>"
        f'<header><h1>desalbook {escape(kit_version())}: reference</h1>'
        '<p class="quiet">Made from the kit itself. Values are in coherent SI inside and shown in the units of the '
        "trade. Pressure, chemicals, electricity and drinking water can hurt people: local codes and licensed practice "
        "govern.</p>"
        f'<nav aria-label="Chapters">{index}</nav></header>'
        '<p class="find"><label for="find">Find</label> <input id="find" type="search" autocomplete="off" '
        'placeholder="a word, an id, a symbol"> <span id="found" class="quiet" role="status"></span></p>\n'
        f"<main>{body}</main><script>{SCRIPT}</script></body></html>\n")


def _anchor(*parts: str) -> str:
    return escape("-".join(parts).replace(" ", "-"), quote=True)


def _cite(key: str, place: str = "") -> str:
    """A link to a source, with its place in it and what kind of source it is where that is soft."""
    if not key:
        return ""
    s = source(key)
    soft = s.kind in ("common practice", "from memory", "definition", "design file")
    name = s.title if soft else f"{s.author.split(',')[0].rstrip('.')} {s.year or ''}".strip() or s.title
    where = f", {escape(place)}" if place else ""
    return f'<a href="#{quote(_anchor("source", key))}">{escape(name)}</a>{where}'


def _entry(anchor: str, head: str, *body: str, title: str = "") -> str:
    small = f'<code class="quiet">{escape(title)}</code>' if title else ""
    return (f'<article class="entry" id="{anchor}"><h4>{head} {small}</h4>{"".join(body)}</article>')


def _groups(chapter: str, groups: dict[str, list[str]], heads: dict[str, str] | None = None) -> str:
    """Groups of entries under their heads, with a line that leads to each; ``heads`` name those without a head."""
    def named(name: str) -> str:
        return escape((heads or {}).get(name) or _words(name))

    lead = " · ".join(f'<a href="#{quote(_anchor(chapter, name))}">{named(name)}</a>' for name in groups)
    return f'<p class="lead">{lead}</p>' + "".join(
        f'<section class="group" id="{_anchor(chapter, name)}">{"" if heads else f"<h3>{named(name)}</h3>"}'
        f'{"".join(some)}</section>' for name, some in groups.items())


def _words(name: str) -> str:
    return name.replace("_", " ")[:1].upper() + name.replace("_", " ")[1:]


def _dl(rows: Iterable[tuple[str, str]]) -> str:
    """Terms and what stands for them, as HTML; empty ones are omitted."""
    inner = "".join(f"<dt>{term}</dt><dd>{said}</dd>" for term, said in rows if said)
    return f"<dl>{inner}</dl>" if inner else ""


# Python ------------------------------------------------------------------------------------------------------


def _python() -> str:
    groups: dict[str, list[str]] = defaultdict(list)
    for one in entries():
        signature = f'<pre class="signature">{escape(one.name + one.signature)}</pre>' if one.signature else ""
        name = one.name.removeprefix("calc.")
        example = _example(name) if one.name != name else ""
        groups[one.group].append(_entry(_anchor(one.name), escape(one.name), signature, _doc(one.doc), example))
    return _groups("python", groups)


def _example(name: str) -> str:
    """A worked example of a calculation: how it is called, what comes out, by which relations and sources."""
    result = getattr(calc, name)(**EXAMPLES[name])
    lines = [x for x in result.ledger.lines.values() if x.relation is not None]
    relations = dict.fromkeys(x.relation for x in lines)
    cited = dict.fromkeys(x.source for x in result.ledger.lines.values() if x.source)
    shown = [(escape(result[id].title or id), escape(result.show(id)))
             for id in result.shows if isinstance(result[id], float)]
    verdicts = [x.more["verdict"] for x in result.verdicts.values()]
    checks = ", ".join(f"{verdicts.count(v)} {v}" for v in ("passes", "marginal", "review", "fails") if v in verdicts)
    return (f'<h5>Example</h5><pre>{escape(called(name))}</pre>'
            + _dl([*shown, ("Checks", checks)]) + "<h5>Relations and sources</h5>" + _dl([
                ("Relations", ", ".join(f'<a href="#{quote(_anchor("relation", r.key))}">{escape(r.title)}</a>'
                                        for r in relations)),
                ("Sources", "; ".join(_cite(key) for key in cited))]))


def _doc(doc: str) -> str:
    out = []
    for head, lines in sections(doc):
        if not head:
            blocks = re.split(r"\n\s*\n", "\n".join(lines).strip("\n"))
            out += [f"<pre>{escape(b)}</pre>" if b.startswith("    ") else f"<p>{_inline(b)}</p>" for b in blocks]
            continue
        out.append(f"<h5>{escape(head)}</h5>{_listed(lines)}")
    return f'<div class="doc">{"".join(out)}</div>'


def _listed(lines: list[str]) -> str:
    """Entries of a section of a docstring: what stands at the margin, and the text below it."""
    found: list[tuple[str, list[str]]] = []
    for line in lines:
        if line.strip() and (not line.startswith(" ") or not found):
            found.append((line.strip(), []))
        elif line.strip():
            found[-1][1].append(line.strip())
    plain = [term for term, said in found if not said and " : " not in term]
    rows = []
    for term, said in found:
        if term in plain:
            continue
        name, _, kind = term.partition(" : ")
        kind = re.sub(r"^1(?=,|$)", "plain number", kind)
        rows.append((f"<code>{escape(name)}</code>" if kind else _inline(name),
                     (f'<span class="quiet">{escape(kind)}</span><br>' if kind else "") + _inline(" ".join(said))))
    return (f"<p>{_inline(' '.join(plain))}</p>" if plain else "") + _dl(rows)


def _inline(text: str) -> str:
    """Names in backquotes set as code."""
    return re.sub(r"`{1,2}([^`]+)`{1,2}", r"<code>\1</code>", escape(" ".join(text.split())))


# Relations ---------------------------------------------------------------------------------------------------


def _relations() -> str:
    groups: dict[str, list[str]] = defaultdict(list)
    for key, r in sorted(REGISTER.items()):
        symbols = "".join(f"<tr><td>{escape(mark)}</td><td>{escape(title)}</td><td>{escape(unit)}</td></tr>"
                          for mark, title, unit in symbol_rows(r))
        points = check_points(r)
        shown = "".join(f"<li>{'<br>'.join(escape(x) for x in point_text(r, p))}</li>" for p in points)
        many = f"{len(points)} check point{'' if len(points) == 1 else 's'}"
        groups[key.partition(":")[0].partition(".")[0]].append(_entry(
            _anchor("relation", key), escape(r.title),
            f"<p>{_inline(r.doc)}</p>", f'<div class="wide">{typeset.equation(r, alike(r))}</div>',
            f"<table><tbody>{symbols}</tbody></table>",
            _dl([("Valid for", "<br>".join(escape(x) for x in valid_for(r))), ("Source", _cite(r.source, r.place))]),
            f"<details><summary>{many}</summary><ul>{shown}</ul></details>" if points else "", title=key))
    return _groups("relations", groups)


# Keys of the design -------------------------------------------------------------------------------------------


def _keys() -> str:
    groups: dict[str, list[str]] = {}

    def walk(path: str, cls: Any, into: list[str]) -> None:
        for name, m in metas(cls).items():
            id = f"{path}.{name}"
            into.append(_entry(_anchor("key", id), escape(m.title), _key(m), title=id))
            if m.item is not None:
                walk(f"{id}[…]" if m.form == "sections" else id, m.item, into)

    for name, cls in SECTIONS.items():
        walk(name, cls, groups.setdefault(name, []))
    return _groups("keys", groups)


_FORMS = {"flag": "yes or no", "text": "text", "mapping": "a value for each name", "section": "a group of keys",
          "sections": "a list of entries", "choice": "one of"}


def _key(m: FieldMeta) -> str:
    unit = unit_label(m.kind, pretty=True) if m.kind is not None else ""
    form = _FORMS.get(m.form, "") if m.form != "quantity" else ""
    options = "<br>".join(f"<code>{escape(k)}</code> {escape(v)}" for k, v in m.options.items())
    both = [f"{m.possible_text(s)}" for s in ("si", "us")]
    usual = [f"{m.usual_text(s)}" for s in ("si", "us")]
    default = m.default_text or ("must be given" if m.required else "blank: auto, or not used")
    return _dl([
        ("Symbol", f"<math>{sym.mathml(m.symbol)}</math>" if m.symbol else ""),
        ("Takes", " ".join(x for x in (form, f"a value in {escape(unit)}" if unit and m.form == "quantity" else
                                       f"in {escape(unit)}" if unit else
                                       "a plain number" if m.form == "quantity" else "") if x) +
         (f"<br>{options}" if options else "") +
         (f": {escape(', '.join(m.keys))}" if m.keys else "")),
        ("Allowed", " = ".join(dict.fromkeys(escape(x) for x in both if x))),
        ("Usual", " = ".join(dict.fromkeys(escape(x) for x in usual if x))),
        ("Default", escape(default)), ("Hint", escape(m.hint)),
        ("Source", _cite(m.source) if m.source else "")])


# Tables --------------------------------------------------------------------------------------------------------


def _tables() -> str:
    groups: dict[str, list[str]] = {}
    for name in sorted(table_names()):
        t = table(name)
        used = [c for c in t.columns.values() if any(c.name in row for row in t.rows.values())]
        heads = "".join(f"<th>{escape(c.title or c.name)}"
                        + (f" <span class=\"quiet\">{escape(unit_label(c.kind, pretty=True))}</span>" if c.kind else "")
                        + "</th>" for c in used)
        rows = "".join(
            f'<tr id="{_anchor("table", name, row.key)}"><td>{escape(row.title or row.key)}<br>'
            f'<code class="quiet">{escape(row.key)}</code></td>'
            + "".join(_cell(row.get(c.name), row.source) for c in used)
            + f"<td>{_cite(row.source, row.place)}{f'<br>{escape(row.note)}' if row.note else ''}</td></tr>"
            for row in t.rows.values())
        body = (f'<div class="wide"><table class="data"><thead><tr><th>Row</th>{heads}<th>Source</th></tr></thead>'
                f"<tbody>{rows}</tbody></table></div>") if rows else ""
        series = _dl((escape(s.title), f"{escape(', '.join(s.texts))} ({_cite(s.source, s.place)})")
                     for s in t.lists.values())
        groups[name] = [_entry(_anchor("table", name, "all"), escape(t.title),
                               f"<p>{_inline(t.note)}</p>" if t.note else "", series, body, title=name)]
    return _groups("tables", groups, {name: table(name).title for name in groups})


def _cell(cell: Cell | None, of_row: str) -> str:
    if cell is None:
        return "<td></td>"
    if cell.source == of_row:
        return f"<td>{escape(cell.text or str(cell.value))}</td>"
    return (f'<td class="own">{escape(cell.text or str(cell.value))} '
            f'<span class="quiet">({_cite(cell.source, cell.place)})</span></td>')


# Checks --------------------------------------------------------------------------------------------------------


def _checks() -> str:
    groups: dict[str, list[str]] = defaultdict(list)
    judged = {row["id"]: row for name in _DEMOS for row in api.size(paths.demo(name)).judged()}
    for n, j in enumerate(judgements()):
        mine = [row for id, row in judged.items() if j.matches(id)]
        do = j.do if GAP not in j.do else next((row["do"] for row in mine if row["do"]), j.do).strip(GAP)
        examples = [f"<code>{escape(row['id'])}</code> {escape(row['title'])}: {escape(row['verdict'])}"
                    + (f" ({escape(row['why'])})" if j.sense != "finding" and row["why"] else "")
                    for row in mine[:_EXAMPLES]]
        sense = "A finding, without a limit." if j.sense == "finding" else f"The value must be {j.sense} its limit."
        groups[j.room].append(_entry(
            _anchor("check", j.id, str(n)), escape(j.title), f"<p>{sense}</p>",
            _dl([("When it does not pass", escape(do[:1].upper() + do[1:])),
                 ("Limit", f'<a href="#{quote(_anchor("limit", j.limit))}">{escape(j.limit)}</a>' if j.limit else ""),
                 ("In the demo plants", "<br>".join(examples)),
                 ("Source", _cite(j.source) if j.source in source_keys() else ""),
                 ("Judged in", f"<code>{escape(j.module)}</code>")]), title=j.id))
    limits = []
    for row in table("guidelines").rows.values():
        low, high = (row[k].text if k in row else "" for k in ("usual_low", "usual_high"))
        limits.append(_entry(
            _anchor("limit", row.key), escape(row.title),
            _dl([("Limit", f"{'at most' if row['sense'].value == '≤' else 'at least'} {escape(row['limit'].text)}"),
                 ("Usual", f"{escape(low)} to {escape(high)}" if low and high else ""),
                 ("Key of the design", f'<a href="#{quote(_anchor("key", limit_key(row.key)))}">'
                                       f"{escape(limit_key(row.key))}</a>"),
                 ("Source", _cite(row.source, row.place))]), title=row.key))
    return _groups("checks", {**groups, "guideline limits": limits})


# Sources -------------------------------------------------------------------------------------------------------


def _sources() -> str:
    groups: dict[str, list[str]] = defaultdict(list)
    for key in source_keys():
        s = source(key)
        groups[s.kind].append(f'<article class="entry" id="{_anchor("source", key)}"><p>{escape(s.citation)} '
                              f'<code class="quiet">{escape(key)}</code></p></article>')
    return _groups("sources", groups)
