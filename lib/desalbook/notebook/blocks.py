"""Pieces of a step's page: the figures that follow with their margins, and what to watch, worst first."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from functools import lru_cache
from html import escape
from types import MappingProxyType
from typing import Any

from desalbook import summary, theme
from desalbook.audit.page.bars import used
from desalbook.fine import fine
from desalbook.notebook.keys import linked
from desalbook.notebook.pictures import column
from desalbook.study import Change
from desalbook.trail.systems import RANK, case_words, grouped, plural, safety_notes

__all__ = ["STYLE", "figure", "follows", "watch"]

STYLE = """
.db-panel{container-type:inline-size}
.db-columns{column-gap:28px}
/* as tall whatever stands in them, so that nothing below moves when a check comes or goes */
.db-columns>*{height:calc(37em + 66px)}
/* what goes on below the edge fades out there; scrolled to the end, nothing of it is under the fade */
.db-turn,.db-watching{overflow-y:auto;box-sizing:border-box;padding:2px .6em 2em 2px;scroll-padding-bottom:2em;
mask-image:linear-gradient(#000 calc(100% - 2em),transparent)}
.db-turn{max-height:37em}
.db-desk .db-turn{padding-bottom:2px;mask-image:none}
.db-watching{flex:1 1 0;min-height:0}
@container (max-width:950px){
.db-columns>:last-child{height:auto}
.db-watching{flex:none;height:17em}}
[data-jp-theme-light="false"] .desalbook .widget-dropdown>select{background-image:linear-gradient(45deg,
transparent 50%,currentColor 50%),linear-gradient(-45deg,transparent 50%,currentColor 50%);background-repeat:no-repeat;
background-size:5px 5px;background-position:right 12px center,right 7px center}
.db-row{display:grid;grid-template-columns:minmax(9em,13em) minmax(8em,11em) minmax(4em,1fr) 5.2em;
gap:.15em .6em;align-items:center;margin:.35em 0}
.db-row input[type=text],.db-row select{color:inherit;background:var(--jp-layout-color1,#fff);min-width:0;
border:1px solid var(--jp-border-color1,#8b949e);padding:.15em .4em;font:inherit}
.db-row.db-assumed input[type=text],.db-row.db-assumed select{font-style:italic}
.db-row.db-outlined input[type=text],.db-row.db-outlined select{outline:2px solid var(--db-fails)}
.db-row select{grid-column:2/4;text-overflow:ellipsis}
.db-row input[type=range].db-unset{opacity:.45}
.db-row input[type=range]{width:100%;accent-color:var(--db-sea)}
.desalbook button{font:inherit;font-size:90%;color:inherit;background:var(--jp-layout-color2,#eee);
border:1px solid var(--jp-border-color1,#8b949e);padding:.05em .5em;cursor:pointer}
.desalbook :is(input,select,button,summary,ul,div[tabindex]):focus-visible{
outline:2px solid var(--db-sea)!important;outline-offset:1px}
.db-row .db-help{grid-column:1/3;color:var(--db-quiet);font-size:90%}
.db-row .db-help p{margin:.2em 0}
.db-row .db-wrong{grid-column:1/-1;margin:0}
.db-row .db-wrong:empty{display:none}
.desalbook button.db-way{text-align:left;white-space:normal}
.desalbook .db-whole{white-space:nowrap}
.desalbook .quiet{color:var(--db-quiet);font-size:90%}
.desalbook .db-wrong{color:var(--db-fails)}
.desalbook.db-stale{opacity:.6}
.desalbook dl.db-key{display:grid;align-items:center;gap:.3em .8em;margin:.4em 0;
grid-template-columns:minmax(6.5em,1fr) auto auto minmax(13.5em,auto) auto}
.desalbook dl.db-key dt{font-weight:normal;text-align:left;float:none;width:auto;margin:0}
/* the page around gives these a fraction of the column only */
.desalbook dl.db-key dd{margin:0;width:auto;float:none;white-space:nowrap;font-variant-numeric:tabular-nums}
.desalbook dl.db-key dd.n{text-align:right}
.desalbook dl.db-key dd.m{line-height:1.35}
.desalbook dl.db-key dd.u{margin-left:-.4em}
.desalbook ul.db-watch{list-style:none;padding:0;margin:.2em 0}
.desalbook ul.db-watch li{margin:.25em 0}
.desalbook .wide{overflow-x:auto;margin:.1em 0;padding:.35em 0}
.desalbook section.step{border-top:1px solid var(--jp-border-color2,#ccc);padding:.4em 0}
.desalbook section.step h3{display:inline;font-size:100%;margin:0 1em 0 0}
.desalbook section.step p{margin:.15em 0}
.desalbook p.db-ways{margin:.2em 0;line-height:1.9}
.desalbook section.step td.n,.desalbook section.step th.n{text-align:right;padding-left:1.2em}
.desalbook math{font-size:110%}
.desalbook .wide math{display:inline math}
.db-pictures{display:grid;grid-template-columns:repeat(auto-fit,minmax(min(520px,100%),1fr));gap:.4em 32px}
.db-pictures>figure{max-width:660px}
.db-pictures>figure:only-child{max-width:880px}
.db-pictures>figure svg{max-width:100%!important}
@container (min-width:1072px){
.db-pictures>figure:nth-child(3):last-child{grid-column:2;grid-row:1/span 2}}
figure.desalbook{margin:.8em 0}
.desalbook figcaption{display:flex;justify-content:space-between;align-items:baseline;gap:1em;margin-bottom:.3em}
.desalbook figcaption button{color:var(--db-quiet);white-space:nowrap}
figure.desalbook svg{max-width:100%;height:auto}
""" + column.LOOK
"""Style sheet of a panel, beside the theme's."""


def figure(title: str, drawn: str, name: str, plant: Any, below: str = "") -> str:
    """A picture with its title and a button that hands it over as a file; `below`, if any, stands under it."""
    revision = plant.project.get("revision", "")
    of = f"{title} · {plant.project.get('name', '')}{f', revision {revision}' if revision else ''}".rstrip(" ·")
    button = (f'<button type="button" data-download="{escape(name, quote=True)}.svg" '
              f'data-title="{escape(of, quote=True)}" aria-label="Download {escape(title, quote=True)} as SVG">'
              "Download SVG</button>")
    head = f'<span class="quiet">{escape(below)}</span>' if below else f"<b>{escape(title)}</b>"
    drawn = fine(drawn)
    caption = f"<figcaption>{head} {button}</figcaption>"
    return f'<figure class="desalbook">{drawn}{caption}</figure>' if below else (
        f'<figure class="desalbook">{caption}{drawn}</figure>')


def follows(plant: Any, ids: Iterable[str], checks: list[dict[str, Any]], units: str) -> str:
    """Figures by id, each with the share of its allowed range that is used, and a way to its reasons."""
    rows = []
    shown = [id for id in ids if id in plant]
    titles = [fine(name) for name in summary.names(plant, shown)]
    of = {id: _judged(checks, id) for id in shown}
    parts = [_as_judged(plant.show(id, units), of[id]) for id in shown]
    tails = column.tails(number for number, _ in parts)
    for id, title, (number, unit), tail in zip(shown, titles, parts, tails, strict=True):
        judged = of[id]
        margin = _bar(judged, unit) if judged else ""
        ask = escape(json.dumps({"why": id}), quote=True)
        rows.append(f'<dt>{escape(title)}</dt><dd class="n"{tail}>{escape(column.minus(number))}</dd>'
                    f'<dd class="u">{escape(fine(unit))}</dd><dd class="m">{margin}</dd>'
                    f'<dd><button type="button" data-ask="{ask}" '
                    f'aria-label="Why {escape(title, quote=True)}">Why</button></dd>')
    return f'<dl class="db-key">{"".join(rows)}</dl>'


def _judged(checks: list[dict[str, Any]], id: str) -> dict[str, Any] | None:
    """The first check with a margin that judges a figure."""
    return next((c for c in checks if c["id"].startswith((f"{id}.", f"{id}@")) and c["margin"] == c["margin"]
                 and c["margin"] is not None), None)


def _as_judged(text: str, check: Mapping[str, Any] | None) -> tuple[str, str]:
    """Number and unit; a number far within its limit needs no more decimals than the limit has."""
    number, _, unit = text.partition(" ")  # thousands are parted by a thin space
    most = len(_limit(check, unit).partition(".")[2]) if check is not None else 0
    if most and "e" not in number and len(number.partition(".")[2]) > most + 2:
        number = f"{float(number):.{most}f}"
    return number, unit


def _limit(check: Mapping[str, Any], unit: str) -> str:
    """The limit as the check names it, in the unit that stands beside the figure."""
    return check["why"].partition(", ")[2].removesuffix(unit).strip()


def _bar(check: Mapping[str, Any], unit: str) -> str:
    """How much of the allowed range is used; the stroke is the limit, named at its end."""
    spent = 128 * min(used(check["margin"], check["sense"]), 1.25)
    colour = theme.var(theme.of_verdict(check["verdict"]).name)
    words = escape(f"{check['title']}: {summary.said(check)}", quote=True)
    bar = (f'<svg viewBox="0 0 164 20" width="104" height="13" role="img" aria-label="{words}">'
           f'<rect x="0" y="6" width="160" height="8" fill="none" stroke="{theme.var("quiet")}"/>'
           f'<rect x="0" y="6" width="{spent:.1f}" height="8" fill="{colour}"/>'
           '<path d="M128 1V19" stroke="currentColor" stroke-width="1.6"/></svg>')
    said = escape(summary.said(check).partition(" · ")[0])
    return (f'{bar} <span class="quiet">{escape(fine(_limit(check, unit)))}</span>'
            f'<br>{_mark(check["verdict"])} {said}')


def _mark(verdict: str) -> str:
    role = theme.of_verdict(verdict)
    return f'<span style="color:{theme.var(role.name)}">{role.mark}</span>'


def watch(checks: list[dict[str, Any]], elsewhere: Iterable[dict[str, Any]] = (),
          advice: Mapping[str, Change] = MappingProxyType({}), units: str = "si") -> str:
    """Checks by system, worst first, those that pass folded away; failures of other steps below; safety notes apart.

    Parameters
    ----------
    checks, elsewhere : rows of `Plant.judged`
    advice : mapping
        Smallest change by id of the check, as far as one is found.
    units : {"si", "us"}
    """
    rows: dict[bool, list[str]] = {True: [], False: []}
    others = list(elsewhere)
    quiet = "<span class='quiet'>(another step)</span>"
    groups = sorted(grouped(checks), key=lambda g: RANK[g.verdict])
    for group in groups:
        several = len(group.rows) > 1
        for passes in (False, True):
            some = [c for c in group.rows if (c["verdict"] == "passes") == passes]
            if several and some:
                count = f"{len(some)} of {plural(len(group.rows), 'check')} {'pass' if passes else 'to see'}"
                rows[passes].append(f'<b>{escape(group.title)}</b> <span class="quiet">{count}</span>')
            rows[passes] += [_said(c) + _number(advice.get(c["id"]), units) for c in some]
    rows[False] += [f"{_said(c)}{_number(advice.get(c['id']), units)} {quiet}" for c in others]
    items = {k: "".join(f"<li>{x}</li>" for x in some) for k, some in rows.items()}
    open_, held = (f'<ul class="db-watch" tabindex="0" aria-label="{name}">{items[k]}</ul>'
                   for k, name in ((False, "Checks that do not pass"), (True, "Checks that pass")))
    count = sum(c["verdict"] == "passes" for c in checks)
    out = open_ if rows[False] else "" if count else '<p class="quiet">No checks in this section.</p>'
    if count:
        out += (f'<details data-key="held"><summary>{_mark("passes")} {count} pass</summary>{held}</details>')
    return out + _safety(checks)


def _safety(checks: list[dict[str, Any]]) -> str:
    """Safety notes of the checks by hazard, each once, folded away: they are no checks."""
    found = safety_notes((c["id"], c["caution"]) for c in checks if c["caution"])
    if not found:
        return ""
    body = "".join(f"<p><b>{escape(h)}</b></p><ul>" + "".join(f"<li>{escape(n)}</li>" for n in some) + "</ul>"
                   for h, some in found.items())
    count = plural(sum(map(len, found.values())), "safety note")
    return f'<details data-key="safety"><summary>{count}</summary>{body}</details>'


def _said(c: Mapping[str, Any]) -> str:
    """One check as an item."""
    return _item(c["id"], c["verdict"], c["title"], c["corner"], summary.said(c), c["why"])


@lru_cache(maxsize=1024)
def _item(id: str, verdict: str, title: str, corner: str, said: str, why: str) -> str:
    """Kept by its texts: a change leaves most checks as they are."""
    at = f' <span class="quiet">({escape(case_words(corner))})</span>' if corner else ""
    why = f' <span class="quiet">{escape(why)}</span>' if why else ""
    ask = escape(json.dumps({"why": id}), quote=True)
    words = fine(f"{escape(title)}{at}: {linked(said)}{why}")
    return (f"{_mark(verdict)} {words} "
            f'<button type="button" data-ask="{ask}" aria-label="Why {escape(title, quote=True)}">Why</button>')


def _number(change: Change | None, units: str) -> str:
    """The smallest change that lets the check pass, and a button that makes it."""
    if change is None:
        return ""
    ask = escape(json.dumps({"write": change.key, "text": change.text}), quote=True)
    return (f'<br><span class="db-advice">{fine(linked(change.words(units)))} '
            f'<button type="button" data-ask="{ask}">Set {escape(fine(change.text))}</button></span>')
