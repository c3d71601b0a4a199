"""Style sheet of the printed record, for the screen and for paper."""

from __future__ import annotations

__all__ = ["FAILS", "MARGINAL", "PASSES", "VERDICTS", "css_text", "style"]

PASSES, MARGINAL, FAILS = "#00695f", "#7d6400", "#a6123f"
# colour, mark and word; never colour alone
VERDICTS = {
    "passes": (PASSES, "✓", "passes"),
    "marginal": (MARGINAL, "!", "marginal"),
    "review": (MARGINAL, "!", "review"),
    "fails": (FAILS, "✗", "fails"),
}


def css_text(text: str) -> str:
    """A quoted CSS string; everything but plain letters, digits and spaces is written by its code and a space."""
    return (
        '"'
        + "".join(c if c.isascii() and (c.isalnum() or c == " ") else f"\\{ord(c):06x} " for c in text)
        + '"'
    )


def style(paper: str, project: str, revision: str, hash: str) -> str:
    """The whole style sheet; the page's margins carry project, revision, hash and page n of m."""
    size = {"a4": "A4", "letter": "letter"}[paper]
    rev = f"Revision {revision}" if revision else "Revision"
    return (
        f"""
:root {{ color-scheme: light; --ink: #16191d; --quiet: #59636e; --line: #c9ced4; --passes: {PASSES};
  --marginal: {MARGINAL}; --fails: {FAILS}; }}
@page {{ size: {size}; margin: 22mm 16mm 20mm 22mm;
  @top-left {{ content: {css_text(project)}; font: 8.5pt sans-serif; color: #59636e; }}
  @top-right {{ content: {css_text(rev)}; font: 8.5pt sans-serif; color: #59636e; }}
  @bottom-left {{ content: {css_text("Record " + hash)}; font: 8.5pt sans-serif; color: #59636e; }}
  @bottom-right {{ content: "page " counter(page) " of " counter(pages); font: 8.5pt sans-serif;
    color: #59636e; }} }}
"""
        + _REST
    )


_REST = """
* { box-sizing: border-box; }
body { margin: 0 auto; max-width: 60rem; padding: 1.5rem; color: var(--ink); background: #fff;
  font: 15px/1.45 "Noto Sans", "DejaVu Sans", Arial, sans-serif; overflow-wrap: break-word; }
h1 { font-size: 1.6rem; margin: 0; } h2 { font-size: 1.2rem; margin: 2.2rem 0 .6rem;
  border-bottom: 1.5px solid var(--ink); padding-bottom: .2rem; }
h3 { font-size: 1rem; margin: 0; }
a { color: inherit; text-decoration: underline; text-decoration-color: #9aa3ad; text-underline-offset: 2px; }
a:focus-visible { outline: 2px solid #1d6a99; outline-offset: 2px; }
code { font: .85em "DejaVu Sans Mono", monospace; }
.quiet, .what, .hash, .from, .source { color: var(--quiet); }
.what { margin: 0 0 1rem; } .hash code { overflow-wrap: anywhere; }
.sign { display: grid; grid-template-columns: repeat(3, 1fr); gap: 0 1.5rem; margin: 0; }
.sign div { border-bottom: 1px solid var(--ink); padding: .5rem 0 .1rem; min-height: 2.9rem; }
.sign dt { font-size: .8rem; color: var(--quiet); } .sign dd { margin: 0; }
.caution-line { border-left: 3px solid var(--ink); padding-left: .7rem; }
nav ol { columns: 2; margin: 0; } nav li.plain { list-style: none; }
.step, .check { margin: 1.3rem 0; break-inside: avoid; }
.step:target, tr:target, .check:target { background: #fff6cf; }
.head { display: flex; flex-wrap: wrap; gap: .1rem 1rem; align-items: baseline;
  justify-content: space-between; }
.head .quiet { font-size: .85rem; }
.maths { margin: .3rem 0 .3rem 1.2rem; }
math { font-size: 1.08rem; } .maths math { margin: .35rem 0; text-align: left; }
math[display="block"] { display: block math; margin-inline: 0; width: fit-content; }
.maths mtd { padding-left: 0; padding-right: .1em; }
.wide { overflow-x: auto; overflow-y: hidden; }
.result { margin: .2rem 0 .3rem 1.2rem; font-weight: 600; font-variant-numeric: tabular-nums; }
.step p { margin: .15rem 0 .15rem 1.2rem; } .from, .source { font-size: .85rem; }
.caution { border-left: 3px solid var(--marginal); padding-left: .6rem; }
table { border-collapse: collapse; margin: .5rem 0; font-variant-numeric: tabular-nums; font-size: .9rem; }
th { text-align: left; font-weight: 600; border-bottom: 1px solid var(--ink); }
th, td { padding: .2rem .9rem .2rem 0; vertical-align: baseline; } td { border-bottom: 1px solid #e4e7ea; }
td.n, th.n { text-align: right; white-space: nowrap; } tr.won td { font-weight: 600; }
tr.assumed td.n { font-style: italic; } caption { text-align: left; font-weight: 600; padding-bottom: .2rem; }
tr { break-inside: avoid; } h2, h3, caption { break-after: avoid; }
.check { display: grid; grid-template-columns: 1fr 15rem; gap: .1rem 1.2rem; }
.check .verdict { font-weight: 600; } .check .do, .check .why { grid-column: 1 / -1; margin: 0; }
.v-passes { color: var(--passes); } .v-marginal, .v-review { color: var(--marginal); }
.v-fails { color: var(--fails); }
.range svg { vertical-align: -2px; } .doubts ul { margin: .15rem 0 .5rem; padding-left: 1.1rem; columns: 2;
  column-gap: 1.6rem;  font-size: .85rem; } .doubts li { break-inside: avoid; } .doubts h3 { font-size: .95rem; }
.sign dd { max-height: 6em; overflow: auto; overflow-wrap: anywhere; }
.sources { padding-left: 1.1rem; } .sources li { margin: .25rem 0; }
@media (max-width: 40rem) { .sign { grid-template-columns: 1fr 1fr; } .check { grid-template-columns: 1fr; }
  nav ol { columns: 1; } }
@media print { #watch { break-before: page; break-after: page; } .doubts ul { font-size: 8pt; line-height: 1.25; }
  .sign dd { max-height: none; overflow: visible; }
  body { max-width: none; padding: 0; font-size: 9.5pt; } math { font-size: 10pt; }
  .chapter > h2 { break-before: auto; } .wide { overflow: visible; } a { text-decoration: none; }
  .step:target, tr:target { background: none; } }
"""
