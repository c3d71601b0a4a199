"""Style sheet of the printed record, for the screen and for paper."""

from __future__ import annotations

from desalbook.audit.page.sheets import Paper

__all__ = ["FAILS", "MARGINAL", "PASSES", "VERDICTS", "css_text", "style"]

PASSES, MARGINAL, FAILS = "#00695f", "#7d6400", "#a6123f"
# colour, mark and word; never colour alone
VERDICTS = {
    "passes": (PASSES, "✓", "passes"),
    "marginal": (MARGINAL, "!", "marginal"),
    "review": (MARGINAL, "?", "review"),
    "fails": (FAILS, "✗", "fails"),
}


def css_text(text: str) -> str:
    """A quoted CSS string; everything but plain letters, digits and spaces is written by its code and a space."""
    return (
        '"'
        + "".join(c if c.isascii() and (c.isalnum() or c == " ") else f"\\{ord(c):06x} " for c in text)
        + '"'
    )


def style(paper: Paper, project: str, revision: str, hash: str) -> str:
    """The whole style sheet; the page's margins carry project, revision, hash and page n of m."""
    rev = f"Revision {revision}" if revision else "Revision"
    margin = " ".join(f"{m:g}mm" for m in paper.margins)
    return (
        f"""
:root {{ color-scheme: light; --ink: #16191d; --quiet: #59636e; --line: #c9ced4; --passes: {PASSES};
  --marginal: {MARGINAL}; --fails: {FAILS}; }}
@page {{ size: {paper.css}; margin: {margin};
  @top-left {{ content: {css_text(project)}; font: 8pt sans-serif; color: #59636e; }}
  @top-right {{ content: {css_text(rev)}; font: 8pt sans-serif; color: #59636e; }}
  @bottom-left {{ content: {css_text("Record " + hash)}; font: 8pt sans-serif; color: #59636e; }}
  @bottom-right {{ content: "page " counter(page) " of " counter(pages); font: 8pt sans-serif;
    color: #59636e; }} }}
body {{ width: {paper.room[0]:g}mm; }}
"""
        + _REST
    )


_REST = """
* { box-sizing: border-box; }
body { margin: 0 auto; padding: 0; color: var(--ink); background: #fff;
  font: 9.5pt/1.35 "Noto Sans", "DejaVu Sans", Arial, sans-serif; overflow-wrap: break-word; }
h1 { font-size: 16pt; line-height: 1.2; margin: 0; } h2 { font-size: 12.5pt; margin: 4mm 0 2.5mm;
  border-bottom: 1.2pt solid var(--ink); padding-bottom: .6mm; }
h3 { font-size: 9.5pt; margin: 0; }
.sheet > h2:first-of-type, .sheet > .at + h2 { margin-top: 0; }
a { color: inherit; text-decoration: underline; text-decoration-color: #9aa3ad; text-underline-offset: 2px; }
a:focus-visible { outline: 2px solid #1d6a99; outline-offset: 2px; }
code { font: .85em "DejaVu Sans Mono", monospace; overflow-wrap: anywhere; }
.sheet { padding: 8mm 0; border-bottom: 1px solid var(--line); }
.at { margin: 0 0 2mm; text-align: right; color: var(--quiet); font-size: 8pt; }
.quiet, .what, .hash, .from, .source { color: var(--quiet); }
.sheet > p { margin: 0 0 1.5mm; }
.what { margin: 0 0 1mm; } .hash { font-size: 7.6pt; margin: 1.5mm 0; } .hash code { overflow-wrap: anywhere; }
.sign { display: grid; grid-template-columns: 1fr 1fr; gap: 0 6mm; margin: 0; }
.sign div { border-bottom: .6pt solid var(--ink); padding: 1mm 0 .2mm; min-height: 9mm; }
.sign dt { font-size: 7.4pt; color: var(--quiet); line-height: 1.2; }
.sign dd { margin: 0; overflow-wrap: anywhere; }
.caution-line { border-left: 2pt solid var(--ink); padding-left: 2mm; margin: 1.5mm 0 2.5mm; font-size: 8.2pt; }
.picture { margin: 0 0 3mm; } .picture svg { width: 100%; height: auto; max-width: 100%; }
.picture .rest, .picture .told { display: none; }
.step, .check { margin: 1.8mm 0; }
.step:target, tr:target, .check:target { background: #fff6cf; }
.head { display: flex; flex-wrap: wrap; gap: 0 4mm; align-items: baseline; justify-content: space-between; }
.head .quiet { font-size: 7.8pt; }
.maths { margin: .6mm 0 .6mm 4mm; }
math { font-size: 10pt; } .maths math { margin: 1mm 0; text-align: left; }
math[display="block"] { display: block math; margin-inline: 0; width: fit-content; }
.maths mtd { padding-left: 0; padding-right: .1em; }
.result { margin: .3mm 0 .5mm 4mm; font-weight: 600; font-variant-numeric: tabular-nums; }
.step p { margin: .3mm 0 .3mm 4mm; font-size: 8.2pt; }
.caution { border-left: 2pt solid var(--marginal); padding-left: 1.5mm; }
table { border-collapse: collapse; margin: 0 0 3mm; font-variant-numeric: tabular-nums; font-size: 8.2pt;
  line-height: 1.3; }
table.grid { width: 100%; table-layout: fixed; } table math { font-size: 1em; }
th { text-align: left; font-weight: 600; border-bottom: .8pt solid var(--ink); vertical-align: bottom; }
th, td { padding: .4mm 2.2mm .4mm 0; } td { border-bottom: .5pt solid #e4e7ea; vertical-align: top; }
td.n, th.n { text-align: right; } .step td.n, .step th.n { white-space: nowrap; } tr.won td { font-weight: 600; }
tr.assumed td.n { font-style: italic; } caption { text-align: left; font-weight: 600; padding-bottom: .6mm;
  font-size: 9pt; }
.check { display: grid; grid-template-columns: 1fr 62mm; gap: 0 4mm; font-size: 8.6pt; }
.check .do, .check .why { grid-column: 1 / -1; margin: 0; font-size: 8.2pt; }
.verdict { font-weight: 600; } td .verdict { white-space: normal; }
.v-passes { color: var(--passes); } .v-marginal, .v-review { color: var(--marginal); }
.v-fails { color: var(--fails); }
.range svg { vertical-align: -2px; }
@media screen { body { width: auto; max-width: 56rem; padding: 0 1.5rem; font-size: 11pt; }
  table, table.grid { font-size: 9.5pt !important; } .step p, .check { font-size: 9.5pt; }
  .wide { overflow-x: auto; overflow-y: hidden; } .sign dd { max-height: 6em; overflow: auto; } }
@media screen and (max-width: 40rem) { .sign, .check { grid-template-columns: 1fr; } }
@media print { .at { display: none; } .sheet { padding: 0; border: 0; break-after: page; }
  .sheet:last-child { break-after: auto; } a { text-decoration: none; }
  tr, .step, .check, figure { break-inside: avoid; } .step:target, tr:target { background: none; } }
"""
