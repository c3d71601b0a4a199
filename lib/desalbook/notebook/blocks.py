"""Pieces of a step's page: the figures that follow with their margins, and what to watch, worst first."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping
from functools import lru_cache
from html import escape
from types import MappingProxyType
from typing import Any

from desalbook import summary, theme
from desalbook.audit.page.bars import used
from desalbook.drawings import read
from desalbook.fine import fine
from desalbook.notebook.keys import linked
from desalbook.notebook.pictures import column
from desalbook.study import Change
from desalbook.trail.systems import RANK, case_words, grouped, plural, safety_notes

__all__ = ["STYLE", "figure", "follows", "turned", "watch"]

_FEW = 4
"""Checks that do not pass shown at once; the others are one press away."""
_STILL = 2
"""Checks that fail still, above those that the latest change made pass."""

STYLE = """
.db-ended{padding:.5em .7em;margin:0 0 .5em;border-left:4px solid var(--db-marginal);
background:var(--jp-layout-color2,#eee)}
.db-panel.jupyter-widgets-disconnected>:not(.db-ended),.db-desk.jupyter-widgets-disconnected>:not(.db-ended){opacity:.5}
.desalbook .jupyter-widgets-disconnected::before,.desalbook.jupyter-widgets-disconnected::before{display:none}
.db-panel{container-type:inline-size;overflow:visible!important;overflow-anchor:none}
.db-panel :is(.widget-box,.widget-container),.db-panel>*,.db-columns>*>*{overflow:visible!important}
/* the line of the water stays in view, and beside the fields what they change: cause and effect on one screen */
.db-panel .db-top{position:sticky;top:0;z-index:3;background:var(--jp-layout-color0,#fff);padding-bottom:2px;
border-bottom:1px solid var(--jp-border-color2,#ccc)}
/* what is said lies over the water line, where that is low: a sentence that comes or goes moves nothing */
.db-top .db-told{position:absolute;z-index:4;max-width:min(46%,46em);padding:.1em .5em .2em 0;
background:var(--jp-layout-color0,#fff);overflow-wrap:anywhere}
.db-panel .db-top.db-whole-line{position:static}
.db-panel .db-columns{display:grid;grid-template-columns:minmax(22em,11fr) minmax(25em,14fr);column-gap:28px;
align-items:start;margin-top:4px}
.db-columns>*>.widget-html>.widget-html-content{line-height:1.4}
.db-effect{position:sticky;top:var(--db-top,0px)}
.db-effect.db-tall{position:static}
/* what has the focus, or is led to, does not come to lie under the water line */
.db-columns :is(input,select,button,summary,.db-row){scroll-margin:calc(var(--db-top,0px) + 1em) 0 1em}
.db-turn,.db-watching{padding:2px .2em 2px 2px}
.db-turn details.db-group{margin:.15em 0}
.db-turn details.db-group details.db-group{margin-left:1em}
.db-turn details.db-group>summary{padding:.15em 0}
.db-row.db-list{display:flex;flex-wrap:wrap;gap:.3em .8em;align-items:baseline;margin:.5em 0;padding:.3em 0 .3em .6em;
border-left:2px solid var(--jp-border-color2,#ccc)}
.db-list .db-list-title{flex:1 0 100%}
.db-list .db-list-entry{display:flex;flex-wrap:wrap;gap:.3em .8em;flex:1 0 100%}
.db-list label{white-space:nowrap}
.db-list input[type=text]{width:8em}
.db-list .quiet{flex:1 1 60%}
.db-turn .db-remove{margin:.2em 0 .4em 1em}
.db-turn .db-found{border-left:2px solid var(--db-sea);padding-left:.6em}
.db-turn .db-found:empty{display:none}
.db-turn .db-search{display:flex;gap:.6em;align-items:baseline;margin:.5em 0 .3em}
.db-turn .db-search input{flex:0 1 17em;min-width:8em;color:inherit;background:var(--jp-layout-color1,#fff);
border:1px solid var(--jp-border-color1,#8b949e);padding:.15em .4em;font:inherit}
[data-jp-theme-light="false"] .desalbook .widget-dropdown>select{background-image:linear-gradient(45deg,
transparent 50%,currentColor 50%),linear-gradient(-45deg,transparent 50%,currentColor 50%);background-repeat:no-repeat;
background-size:5px 5px;background-position:right 12px center,right 7px center}
.db-row{display:grid;grid-template-columns:minmax(8em,13em) minmax(7em,9em) minmax(3.5em,1fr) 4.6em 1.7em;
gap:.1em .5em;align-items:center;margin:.2em 0;min-height:2em}
.db-desk .db-row{grid-template-columns:minmax(9em,13em) minmax(8em,11em) minmax(4em,1fr) 5.2em}
.db-row label{line-height:1.15}
.db-row .db-about{padding:0;width:1.6em;height:1.6em;border-radius:50%;color:var(--db-quiet)}
.db-desk .db-row .db-about{display:none}
.db-row input[type=text],.db-row select{color:inherit;background:var(--jp-layout-color1,#fff);min-width:0;
border:1px solid var(--jp-border-color1,#8b949e);padding:.15em .4em;font:inherit}
.db-row.db-assumed input[type=text],.db-row.db-assumed select{font-style:italic}
.db-row.db-outlined input[type=text],.db-row.db-outlined select{outline:2px solid var(--db-fails)}
.db-row select{grid-column:2/4;text-overflow:ellipsis}
.db-row.db-long>label{grid-column:1/4}
.db-row.db-long>:is(select,input[type=text]){grid-area:2/1/3/-1}
.db-row.db-long:has(>input[type=range])>input[type=text]{grid-area:2/1/3/3}
.db-row.db-long>input[type=range]{grid-area:2/3}
.db-row.db-long>label+input+span:not(.db-acts){display:none}
.db-row input[type=range].db-unset{opacity:.45}
.db-row input[type=range]{width:100%;accent-color:var(--db-sea)}
.desalbook button{font:inherit;font-size:90%;color:inherit;background:var(--jp-layout-color2,#eee);
border:1px solid var(--jp-border-color1,#8b949e);padding:.05em .5em;cursor:pointer}
.desalbook :is(input,select,button,summary,ul,div[tabindex],svg[tabindex]):focus-visible{
outline:2px solid var(--db-sea)!important;outline-offset:1px}
.db-row .db-help{grid-column:1/-1;color:var(--db-quiet);font-size:90%;margin:.1em 0 .4em}
.db-row .db-wrong{grid-column:1/-1;margin:0}
.db-row .db-wrong:empty{display:none}
.desalbook button.db-way{text-align:left;white-space:normal}
.desalbook .db-whole{white-space:nowrap}
.desalbook .quiet{color:var(--db-quiet);font-size:90%}
.desalbook .db-wrong{color:var(--db-fails)}
.desalbook.db-stale{opacity:.6}
.desalbook dl.db-key{display:grid;align-items:center;gap:.2em .5em;margin:.2em 0;
grid-template-columns:minmax(7.5em,1fr) auto auto minmax(3.4em,auto) minmax(3.4em,auto) minmax(11em,auto) auto}
.desalbook dl.db-key>div{display:grid;grid-template-columns:subgrid;grid-column:1/-1;align-items:center}
.desalbook dl.db-key :is(dt,dd).h{color:var(--db-quiet);font-size:90%;text-align:right;align-self:end}
.desalbook dl.db-key dd.b{text-align:right;color:var(--db-quiet)}
.desalbook dl.db-key .moved{font-weight:600;color:var(--db-text)}
.desalbook dl.db-key dt.fails::before{content:"\\2717\\a0";color:var(--db-fails)}
.desalbook dl.db-key dt{font-weight:normal;text-align:left;float:none;width:auto;margin:0}
/* the page around gives these a fraction of the column only */
.desalbook dl.db-key dd{margin:0;width:auto;float:none;white-space:nowrap;font-variant-numeric:tabular-nums}
.desalbook dl.db-key dd.n{text-align:right}
.desalbook dl.db-key dd.m{line-height:1.35}
.desalbook dl.db-key dd.u{margin-left:-.15em}
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
.db-tabs{display:flex;flex-wrap:wrap;gap:.4em;margin:.9em 0 .4em;border-bottom:1px solid var(--jp-border-color2,#ccc);
padding-bottom:.4em}
.db-tabs button[aria-pressed=true]{font-weight:600;border-color:var(--db-sea);box-shadow:inset 0 -2px var(--db-sea)}
.db-tab{margin:.4em 0}
.db-tab .db-filter{margin:.3em 0}
.db-tab .db-filter input{color:inherit;background:var(--jp-layout-color1,#fff);font:inherit;padding:.1em .4em;
border:1px solid var(--jp-border-color1,#8b949e);margin-left:.4em}
.db-tab table{border-collapse:collapse}
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
.db-tip{position:absolute;z-index:5;max-width:30em;width:max-content;padding:.1em .5em;pointer-events:none;
font-size:90%;background:var(--jp-layout-color1,#fff);border:1px solid var(--db-quiet)}
.db-ring{position:absolute;z-index:4;box-sizing:border-box;border:1.5px solid var(--db-text);pointer-events:none}
.db-ring.point{border-width:2px;border-radius:50%}
:is(.db-tip,.db-ring)[hidden]{display:none}
/* beside JupyterLab's list of files there are some 850 px: still two columns, each closer */
@container (max-width:1000px){
.db-top .db-told{max-width:100%}
.db-panel .db-columns{grid-template-columns:minmax(0,10fr) minmax(0,11fr);column-gap:20px}
.db-columns .db-row{grid-template-columns:minmax(7em,1fr) minmax(6.5em,8.8em) minmax(3em,3.6em) 4.5em 1.6em;
gap:.1em .35em}
.desalbook .db-effect dl.db-key{grid-template-columns:auto auto minmax(0,1fr) fit-content(11.8em) auto;gap:.15em .4em}
.desalbook .db-effect dl.db-key>.h{display:none}
.db-effect dl.db-key>div{row-gap:0;line-height:1.15}
.db-effect dl.db-key dt{grid-area:1/1/2/4}
.db-effect dl.db-key dd.n{grid-area:2/1}
.db-effect dl.db-key dd.u{grid-area:2/2;margin-left:0}
.db-effect dl.db-key dd.b{grid-area:2/3;text-align:left;font-size:90%}
.db-effect dl.db-key dd.b+dd.b{grid-row:3}
.db-effect dl.db-key dd.b:not(:empty)::before{content:attr(data-word) " "}
.db-effect dl.db-key dd.m{grid-area:1/4/4;white-space:normal;font-size:90%;line-height:1.2}
.db-effect dl.db-key dd.m svg{width:44px}
.db-effect dl.db-key dd:last-child{grid-area:1/5/4}
.db-effect ul.db-watch{margin-top:0}}
@container (max-width:800px){
.db-top>.widget-hbox>:first-child{flex-basis:100%!important}
.db-panel .db-columns{grid-template-columns:minmax(0,1fr)}
.db-columns .db-row{grid-template-columns:minmax(8em,15em) minmax(7em,13em) minmax(3.5em,1fr) 4.6em 1.7em}
.db-columns .db-turn .db-row.db-long>:is(label,input[type=text],input[type=range]){grid-area:auto}
.db-columns .db-turn .db-row.db-long>select{grid-area:auto/2/auto/4}
.db-columns .db-turn .db-row.db-long>label+input+span:not(.db-acts){display:inline}
.db-effect{position:static}}
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
    drawn = read.focusable(fine(drawn))
    caption = f"<figcaption>{head} {button}</figcaption>"
    return f'<figure class="desalbook">{drawn}{caption}</figure>' if below else (
        f'<figure class="desalbook">{caption}{drawn}</figure>')


def follows(plant: Any, ids: Iterable[str], checks: list[dict[str, Any]], units: str, before: Any = None,
            of_file: Any = None) -> str:
    """Figures by id, each with the share of its allowed range that is used, and a way to its reasons.

    Parameters
    ----------
    plant : Plant
    ids : iterable of str
    checks : rows of `Plant.judged`
        A value that one of them fails is shown too, while it fails.
    units : {"si", "us"}
    before, of_file : Plant, optional
        As it was before the latest change, and as the file has it: what a value was there stands beside it where it
        is another now.
    """
    shown = [id for id in ids if id in plant]
    failing = _failing(plant, checks)
    shown += [id for id in failing if id not in shown][:_FEW]
    heads = (f"<dt class=h></dt><dd class=h>now</dd><dd class=h></dd><dd class=h>{'before' if before else ''}</dd>"
             f"<dd class=h>{'in the file' if of_file else ''}</dd><dd class=h></dd><dd class=h></dd>")
    rows = [f"<div class=h>{heads}</div>"] if before is not None or of_file is not None else [
        "<div class=h><dt class=h></dt>" + "<dd class=h></dd>" * 6 + "</div>"]
    # an entry of a list, such as one ion, is called as its check is
    titles = [fine(re.sub(", (min|max)$", "", failing[id]["title"]) if id in failing and id.endswith("]") else name)
              for id, name in zip(shown, summary.names(plant, shown), strict=True)]
    of = {id: _judged(checks, id) or (failing[id] if _counted(failing.get(id)) else None) for id in shown}
    parts = [_as_judged(plant.show(id, units), of[id]) for id in shown]
    tails = column.tails(number for number, _ in parts)
    for id, title, (number, unit), tail in zip(shown, titles, parts, tails, strict=True):
        judged = of[id]
        margin = _bar(judged, unit) if judged else ""
        ask = escape(json.dumps({"why": id}), quote=True)
        now = plant.show(id, units)
        was = [_was(other, id, now, units) for other in (before, of_file)]
        moved = " moved" if was[0] else ""
        rows.append(f'<div><dt{" class=fails" if id in failing else ""}>{escape(title)}</dt>'
                    f'<dd class="n{moved}"{tail}>{escape(column.minus(number))}</dd>'
                    f'<dd class="u">{escape(fine(unit))}</dd><dd class="b" data-word="before">{was[0]}</dd>'
                    f'<dd class="b" data-word="file">{was[1]}</dd>'
                    f'<dd class="m">{margin}</dd>'
                    f'<dd><button type="button" data-ask="{ask}" '
                    f'aria-label="Why {escape(title, quote=True)}">Why</button></dd></div>')
    return f'<dl class="db-key">{"".join(rows)}</dl>'


def _was(other: Any, id: str, now: str, units: str) -> str:
    """Another plant's value where it is another, without its unit."""
    if other is None or id not in other:
        return ""
    text = other.show(id, units)
    if text == now:
        return ""
    number, _, unit = text.partition(" ")
    return escape(column.minus(number if unit == now.partition(" ")[2] else fine(text)))


def _failing(plant: Any, checks: list[dict[str, Any]]) -> dict[str, dict[str, Any]]:
    """Values that fail a check, each once, with the check; of a list the entry that was judged."""
    verdicts, found = plant.verdicts, dict[str, dict[str, Any]]()
    for c in checks:
        line = verdicts.get(c["id"]) if c["verdict"] == "fails" else None
        judged = line.inputs.get("provided") if line is not None else None
        if judged is None or not judged.id:
            continue
        id = judged.id.partition("@")[0] + (f"[{judged.key}]" if judged.key else "")
        if id in plant:
            found.setdefault(id, c)
    return found


def _judged(checks: list[dict[str, Any]], id: str) -> dict[str, Any] | None:
    """The first check with a margin that judges a figure."""
    return next((c for c in checks if c["id"].startswith((f"{id}.", f"{id}@")) and _counted(c)), None)


def _counted(check: Mapping[str, Any] | None) -> bool:
    """Whether a check has a margin."""
    return check is not None and check["margin"] is not None and check["margin"] == check["margin"]


_PLACES = 3
"""Decimals of a figure whose limit is written with fewer, as 5 % is."""


def _as_judged(text: str, check: Mapping[str, Any] | None) -> tuple[str, str]:
    """Number and unit; a number far within its limit needs no more decimals than the limit has, or three."""
    number, _, unit = text.partition(" ")  # thousands are parted by a thin space
    most = max(len(_limit(check, unit).partition(".")[2]), _PLACES) if check is not None else 0
    if most and "e" not in number and len(number.partition(".")[2]) > most + 2:
        number = f"{float(number):.{most}f}"
    return number, unit


def _limit(check: Mapping[str, Any], unit: str) -> str:
    """The limit as the check names it, in the unit that stands beside the figure."""
    return check["why"].partition("; ")[0].partition(", ")[2].removesuffix(unit).strip()


def _bar(check: Mapping[str, Any], unit: str) -> str:
    """How much of the allowed range is used; the stroke is the limit, named at its end."""
    spent = 128 * min(used(check["margin"], check["sense"]), 1.25)
    colour = theme.var(theme.of_verdict(check["verdict"]).name)
    words = escape(f"{check['title']}: {summary.said(check)}", quote=True)
    bar = (f'<svg viewBox="0 0 164 20" width="82" height="10" role="img" aria-label="{words}">'
           f'<rect x="0" y="6" width="160" height="8" fill="none" stroke="{theme.var("quiet")}"/>'
           f'<rect x="0" y="6" width="{spent:.1f}" height="8" fill="{colour}"/>'
           '<path d="M128 1V19" stroke="currentColor" stroke-width="1.6"/></svg>')
    said = escape(summary.said(check).partition(" · ")[0])
    return (f'{bar} <span class="quiet">{escape(fine(_limit(check, unit)))}</span>'
            f'<br>{_mark(check["verdict"])} {said}')


def _mark(verdict: str) -> str:
    role = theme.of_verdict(verdict)
    return f'<span style="color:{theme.var(role.name)}">{role.mark}</span>'


def turned(plant: Any, before: Any) -> dict[str, str]:
    """Verdict before the latest change, by id, of each check that has another now; empty text where it is new."""
    if before is None or before is plant:
        return {}
    was = {id: x.more["verdict"] for id, x in before.verdicts.items()}
    now = {id: x.more["verdict"] for id, x in plant.verdicts.items()}
    return {id: was.get(id, "") for id, verdict in now.items()
            if was.get(id, "passes" if verdict == "passes" else "") != verdict}


def watch(checks: list[dict[str, Any]], elsewhere: Iterable[dict[str, Any]] = (),
          advice: Mapping[str, Change] = MappingProxyType({}), units: str = "si",
          turned: Mapping[str, str] = MappingProxyType({})) -> str:
    """Checks by system, worst first, those that pass folded away; failures of other steps below; safety notes apart.

    What the latest change turned comes first, with what it was; what now passes stands below the worst that still fail.

    Parameters
    ----------
    checks, elsewhere : rows of `Plant.judged`
    advice : mapping
        Smallest change by id of the check, as far as one is found.
    units : {"si", "us"}
    turned : mapping
        Verdict that a check had before, by id.
    """
    rows: dict[bool, list[str]] = {True: [], False: []}
    heads = set[str]()  # names of systems: no checks, so not counted among them
    quiet = "<span class='quiet'>(another step)</span>"
    others = [c for c in elsewhere if c["id"] not in turned]
    both = [*((c, True) for c in checks), *((c, False) for c in elsewhere)]
    both = sorted((x for x in both if x[0]["id"] in turned), key=lambda x: (RANK[x[0]["verdict"]], not x[1]))
    still = [c for c in checks if c["verdict"] == "fails" and c["id"] not in turned][:_STILL if both else 0]
    both += [(c, True) for c in still]
    first = [f"{_said(c)}{_number(advice.get(c['id']), units)}"
             f"{_turned(turned[c['id']]) if c['id'] in turned else ''}{'' if own else ' ' + quiet}"
             for c, own in sorted(both, key=lambda x: x[0]["verdict"] != "fails")]
    apart = {*turned, *(c["id"] for c in still)}
    checks, every = [c for c in checks if c["id"] not in apart], checks
    groups = sorted(grouped(checks), key=lambda g: RANK[g.verdict])
    for group in groups:
        several = len(group.rows) > 1
        for passes in (False, True):
            some = [c for c in group.rows if (c["verdict"] == "passes") == passes]
            if several and some:
                count = f"{len(some)} of {plural(len(group.rows), 'check')} {'pass' if passes else 'to see'}"
                rows[passes].append(f'<b>{escape(group.title)}</b> <span class="quiet">{count}</span>')
                heads.add(rows[passes][-1])
            rows[passes] += [_said(c) + _number(advice.get(c["id"]), units) for c in some]
    rows[False] += [f"{_said(c)}{_number(advice.get(c['id']), units)} {quiet}" for c in others]
    rows[False] = first + rows[False]
    told = [n for n, x in enumerate(rows[False]) if x not in heads]
    cut = told[_FEW - 1] + 1 if len(told) > _FEW + 1 else len(rows[False])
    rows[False], more = rows[False][:cut], rows[False][cut:]
    items = {k: "".join(f"<li>{x}</li>" for x in some) for k, some in rows.items()}
    open_, held = (f'<ul class="db-watch" tabindex="0" aria-label="{name}">{items[k]}</ul>'
                   for k, name in ((False, "Checks that do not pass"), (True, "Checks that pass")))
    if more:
        open_ += (f'<details data-key="more"><summary>{len(told) - _FEW} more to see</summary>'
                  f'<ul class="db-watch">{"".join(f"<li>{x}</li>" for x in more)}</ul></details>')
    count = sum(c["verdict"] == "passes" for c in checks)
    out = open_ if rows[False] else "" if count else '<p class="quiet">No checks in this section.</p>'
    if count:
        out += (f'<details data-key="held"><summary>{_mark("passes")} {count} pass</summary>{held}</details>')
    return out + _safety(every)


def _turned(was: str) -> str:
    return f' <span class="quiet db-before">{f"before: {was}" if was else "new"}</span>'


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
