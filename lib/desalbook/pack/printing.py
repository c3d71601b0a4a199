"""A document as a page that prints well: one HTML file that needs nothing but itself, A4 or Letter."""

from __future__ import annotations

import re
from dataclasses import dataclass
from html import escape

from desalbook.audit.page.sheets import PAPERS, Paper
from desalbook.audit.page.style import css_text
from desalbook.fine import fine
from desalbook.pack.document import Block, Document, Drawn, Heading, Note, Paragraph, Points, Table, told, unit_of

__all__ = ["STATUS", "Head", "body", "page", "screen_style"]

HEAD = {True: 60.0, False: 80.0}
"""Room that title block and a paragraph take in landscape and in portrait, mm: the first drawing stands below them."""
_POINT, _DIGIT = "\N{PUNCTUATION SPACE}", "\N{FIGURE SPACE}"
_TAG = re.compile(r"(?<![\w/-])(?:\d-)?[A-Z]{1,4}-[A-Z]{0,4}\d{3}[A-Z]*(?:[/-]\d+)?(?![\w-])")
STATUS = {"review": "For review", "reviewed": "Reviewed"}


@dataclass(frozen=True)
class Head:
    """What every document says of itself.

    Parameters
    ----------
    project, client, revision, date, made_by, checked_by, status, hash : str
        ``hash`` is that of the design.
    """

    project: str
    client: str
    revision: str
    date: str
    made_by: str
    checked_by: str
    status: str
    hash: str


def body(document: Document, units: str) -> str:
    """What a document says, without its head: the same while nothing in it changed."""
    out, chapter, part, last = [], 0, 0, ""
    for block in document.blocks:
        if isinstance(block, Heading):
            if block.level == 1:
                chapter, part = chapter + 1, 0
                out.append(f"<h2>{chapter} {_words(block.text)}</h2>")
            else:
                part += 1
                out.append(f"<h3>{chapter}.{part} {_words(block.text)}</h3>")
            last = block.text
        elif isinstance(block, Table):
            out.append(_table(block, units, block.title != last))
        else:
            out.append(_block(block, units))
    return "\n".join(out)


def _words(text: str) -> str:
    """Text that breaks neither within a tag nor within a number."""
    return _TAG.sub(r'<span class="t">\g<0></span>', fine(escape(text)).replace("\N{THIN SPACE}", "\u202f"))


def _block(block: Block, units: str) -> str:
    if isinstance(block, Paragraph):
        return f"<p>{_words(told(block.text, units))}</p>"
    if isinstance(block, Points):
        tag = "ol" if block.numbered else "ul"
        return f"<{tag}>{''.join(f'<li>{_words(told(x, units))}</li>' for x in block.items)}</{tag}>"
    if isinstance(block, Note):
        return f'<p class="safety"><b>Safety note.</b> {_words(told(block.text, units))}</p>'
    if isinstance(block, Drawn):
        kind = ' class="half"' if block.half else ""
        return (f'<figure{kind}><div class="drawing">{block.svg[units]}</div>'
                f"<figcaption>{_words(block.title)}</figcaption></figure>")
    raise TypeError(type(block).__name__)


def _numeric(text: str) -> bool:
    return bool(text) and text.replace("\N{THIN SPACE}", "").replace(",", "").lstrip("-\N{MINUS SIGN}").replace(
        ".", "", 1).isdigit()


def _aligned(texts: list[str]) -> list[str]:
    """Numbers of a column filled up with spaces as wide as what others have behind the point."""
    tails = [t.partition(".")[2] for t in texts if _numeric(t)]
    most = max(map(len, tails), default=0)
    if not most or not any(tails):
        return texts
    filled = []
    for t in texts:
        if not _numeric(t):
            filled.append(t)
            continue
        tail = t.partition(".")[2]
        filled.append(t + ("" if tail else _POINT) + _DIGIT * (most - len(tail)))
    return filled


def _table(table: Table, units: str, titled: bool) -> str:
    cells = table.cells(units)
    used = [n for n, c in enumerate(table.columns) if c.key in ("found", "sign") or any(row[n] for row in cells)
            or c.head == "Offered"]
    if not cells:
        return ""
    right = {n for n in used if table.columns[n].kind}
    for n in right:
        for row, text in zip(cells, _aligned([row[n] for row in cells]), strict=True):
            row[n] = text
    whole = sum(table.columns[n].width for n in used)
    cols = "".join(f'<col style="width:{100 * table.columns[n].width / whole:.2f}%">' for n in used)
    heads = [(c.head, unit_of(c.kind, units)) for c in table.columns]
    head = "".join(f"<th{' class=n' if n in right else ''}>{_words(heads[n][0])}"
                   f"{f'<br><small>{_words(heads[n][1])}</small>' if heads[n][1] else ''}</th>" for n in used)
    rows = "\n".join("<tr>" + "".join(f"<td{' class=n' if n in right else ''}>{_words(row[n])}</td>" for n in used)
                     + "</tr>" for row in cells)
    note = f'<p class="quiet">{_words(told(table.note, units))}</p>' if table.note else ""
    caption = f"<caption>{_words(table.title)}</caption>" if titled else ""
    return (f"<table>{caption}<colgroup>{cols}</colgroup><thead><tr>{head}</tr></thead>"
            f"<tbody>\n{rows}\n</tbody></table>{note}")


def page(document: Document, head: Head, units: str = "si", paper: str | None = None) -> str:
    """The document as HTML.

    Parameters
    ----------
    document : Document
    head : Head
    units : {"si", "us"}
    paper : {"a4", "letter"}, optional
        A4 with SI, Letter with US units if blank.
    """
    if document.whole is not None:
        return document.whole()
    sheet = PAPERS[paper or ("letter" if units == "us" else "a4")]
    fields = {"Project": head.project, "Client": head.client, "Document": f"{document.number} {document.title}",
              "Revision": head.revision, "Date": head.date or "not dated", "Status": head.status,
              "Prepared by": head.made_by, "Checked by": head.checked_by}
    block = "".join(f"<div><dt>{escape(k)}</dt><dd>{escape(v) or '&nbsp;'}</dd></div>" for k, v in fields.items())
    return (f'<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
            f"<title>{escape(document.number)} {escape(document.title)}, {escape(head.project)}</title>"
            f'<meta name="viewport" content="width=device-width,initial-scale=1">'
            f"<style>{_style(sheet, document, head)}</style></head><body>\n"
            f'<header><h1>{escape(document.title)}</h1><dl class="title">{block}</dl>'
            f'<p class="hash">Design SHA-256 {escape(head.hash)}</p></header>\n<main>\n{body(document, units)}\n'
            f"</main>\n</body></html>\n")


def screen_style(scope: str) -> str:
    """The style of what a document says, for a part of another page; colours follow that page."""
    return "\n".join(f"{scope} {rule}" for rule in (
        "table{border-collapse:collapse;width:auto;min-width:min(46em,100%);max-width:100%}",
        "table{margin:.4em 0 .8em;font-size:.9em}",
        "table{font-variant-numeric:tabular-nums}",
        "caption{text-align:left;font-weight:600;padding-bottom:.2em}",
        "th{text-align:left!important;vertical-align:bottom;border-bottom:1px solid var(--db-text)}",
        "th small{font-weight:400;color:var(--db-quiet)}",
        "td{text-align:left!important;vertical-align:top;border-bottom:1px solid var(--db-quiet)}",
        "td,th{padding:.15em .8em .15em 0;white-space:normal;overflow-wrap:anywhere}",
        "td.n,th.n{text-align:right!important}",
        ".quiet,figcaption{color:var(--db-quiet)}", ".safety{border-left:3px solid var(--db-fails);padding-left:.6em}",
        "p,ul,ol{max-width:60em}", "figure{margin:.6em 0}"))


def _style(sheet: Paper, document: Document, head: Head) -> str:
    top, right, bottom, left = sheet.margins
    size = f"{sheet.css} landscape" if document.wide else sheet.css
    wide = (sheet.high if document.wide else sheet.wide) - left - right
    high = (sheet.wide if document.wide else sheet.high) - top - bottom - HEAD[document.wide]
    corner = "font: 8pt sans-serif; color: #59636e;"
    at = f"{document.number} {document.title}"
    rev = f"Revision {head.revision}, {head.date or 'not dated'}, {head.status.lower()}"
    text = 235 if document.wide else 180
    return (f"@page {{ size: {size}; margin: {top:g}mm {right:g}mm {bottom:g}mm {left:g}mm;\n"
            f"  @top-left {{ content: {css_text(head.project[:60])}; {corner} }}\n"
            f"  @top-right {{ content: {css_text(at)}; {corner} }}\n"
            f"  @bottom-left {{ content: {css_text(f'{rev}; design {head.hash[:16]}')}; {corner} }}\n"
            f'  @bottom-right {{ content: "page " counter(page) " of " counter(pages); {corner} }} }}\n'
            f":root {{ --wide: {wide:g}mm; --high: {high:g}mm; --full: {high + HEAD[document.wide] - 12:g}mm; "
            f"--text: {text}mm; --columns: {2 if document.wide else 1}; }}\n{_CSS}")


_CSS = """
:root { color-scheme: light; --ink: #16191d; --quiet: #59636e; --line: #c9ced4; }
* { box-sizing: border-box; }
body { margin: 0 auto; max-width: var(--wide); color: var(--ink); background: #fff;
  font: 9.5pt/1.38 "Noto Sans", "DejaVu Sans", Arial, sans-serif; overflow-wrap: anywhere; }
header { border-bottom: 1.2pt solid var(--ink); margin-bottom: 4mm; padding-bottom: 1.5mm; }
h1 { font-size: 16pt; line-height: 1.2; margin: 0 0 2mm; }
h2 { font-size: 12pt; margin: 5mm 0 1.5mm; break-after: avoid; }
h3 { font-size: 10pt; margin: 3.5mm 0 1mm; break-after: avoid; }
p { margin: 0 0 2mm; max-width: var(--text); }
ul, ol { margin: 0 0 2.5mm; padding-left: 5mm; max-width: var(--text); columns: var(--columns); column-gap: 8mm; }
ul:has(li:only-child), ol:has(li:only-child) { columns: 1; }
li { margin: .4mm 0; }
.title { display: grid; grid-template-columns: 2fr 2fr 1.6fr .8fr; gap: 0 5mm; margin: 0; }
.title div { border-bottom: .5pt solid var(--line); padding: .8mm 0 .3mm; }
.title dt { font-size: 7.4pt; color: var(--quiet); line-height: 1.2; } .title dd { margin: 0; }
.hash { font-size: 7.4pt; color: var(--quiet); margin: 1.2mm 0 0; max-width: none; }
.quiet { color: var(--quiet); font-size: 8.2pt; } table + .quiet { break-before: avoid; }
h2 + p, h3 + p { break-after: avoid; }
.safety { border-left: 2pt solid #a6123f; padding-left: 2mm; break-inside: avoid; }
table { border-collapse: collapse; width: 100%; margin: 1mm 0 1.5mm; font-size: 8pt;
  line-height: 1.28; font-variant-numeric: tabular-nums; }
th small { font-weight: 400; font-size: 7.4pt; color: var(--quiet); }
caption { text-align: left; font-weight: 600; font-size: 9pt; padding-bottom: .8mm; break-after: avoid; }
thead { display: table-header-group; }
th { text-align: left; font-weight: 600; line-height: 1.15; vertical-align: bottom;
  border-bottom: .8pt solid var(--ink); }
td { vertical-align: top; border-bottom: .4pt solid #e0e4e8; }
th, td { padding: .5mm 2.6mm .5mm 0; overflow-wrap: normal; } td.n, th.n { text-align: right; }
th:last-child, td:last-child { padding-right: 0; }
tr { break-inside: avoid; }
thead { break-after: avoid; } tbody tr:nth-child(-n+2), tbody tr:nth-last-child(-n+2) { break-before: avoid; }
figure { margin: 1mm 0 3mm; break-inside: avoid; } figcaption { font-size: 8.2pt; color: var(--quiet); }
.drawing svg { width: 100%; height: auto; max-height: var(--high); }
figure ~ figure .drawing svg { max-height: var(--full); }
figure.half .drawing svg, figure ~ figure.half .drawing svg { max-height: calc((var(--full) - 22mm) / 2); }
.t { white-space: nowrap; }
a { color: inherit; }
@media screen { body { padding: 8mm 6mm; max-width: calc(var(--wide) + 12mm); } }
@media screen and (max-width: 40rem) { .title { grid-template-columns: 1fr 1fr; } main { overflow-x: auto; } }
@media print { a { text-decoration: none; } }
"""

