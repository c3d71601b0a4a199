"""The register of relations: every equation of the kit with its unit, source, range and what proves it.

It is generated with the tests, where the check points are, and carried as data; nothing in it is typed by hand.
"""

from __future__ import annotations

import json
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any

from desalbook.audit.page.sheets import PAPERS
from desalbook.audit.page.style import style
from desalbook.trail import symbols

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["COLUMNS", "FILE", "register", "register_page"]

FILE = Path(__file__).parents[1] / "data" / "register.json"
COLUMNS = ("id", "title", "symbol", "unit", "equation", "source", "kind", "place", "range", "note", "units", "points",
           "published", "unpublished", "status", "proved_by", "worst", "hash")
"""Columns of `register`."""


def register() -> pd.DataFrame:
    """Every relation of the kit.

    Returns
    -------
    pandas.DataFrame
        Columns `COLUMNS`. ``units`` says whether the relation, tried with quantities in mixed units, gives its
        plain SI number; ``points`` counts its check points,
        ``published`` those whose result is printed in a source from outside, ``unpublished`` says why a published
        correlation has none, ``status`` counts all by kind; ``worst`` is the largest relative deviation from them,
        0 when it is rounding and missing without a point.
    """
    import pandas as pd

    frame = pd.DataFrame(rows(), columns=list(COLUMNS))
    frame["worst"] = frame["worst"].astype(float)
    return frame


def rows() -> list[dict[str, Any]]:
    """Rows of `register` as plain mappings."""
    return json.loads(FILE.read_text(encoding="utf-8"))


def register_page(paper: str = "a4") -> str:
    """The register as one self-contained HTML file.

    Parameters
    ----------
    paper : {"a4", "letter"}
    """
    every = rows()
    bare = sum(not r["points"] for r in every)
    published = sum(r["published"] for r in every)
    held = sum(r["published"] > 0 for r in every)
    unheld = sum(bool(r["unpublished"]) for r in every)
    body = "".join(_entry(r) for r in every)
    return (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        '<meta http-equiv="Content-Security-Policy" content="default-src \'none\'; style-src \'unsafe-inline\'">'
        "<title>Register of relations</title>"
        f"<style>{style(PAPERS[paper], 'Register of relations', '', 'kit')}</style></head>"
        f'\n<body><h1>Register of relations</h1><p class="what">{len(every)} relations, '
        f"{sum(r['points'] for r in every)} check points, of which {published} are results printed in a source from "
        "outside; "
        f"{held} relations have such a point, {unheld} published correlations have none and say why, "
        f"{bare} relations have no point at all.</p>"
        '<table><thead><tr><th>Relation</th><th>Symbol</th><th>Unit</th><th>Source</th><th>Valid for</th>'
        '<th class="n">Points</th><th class="n">Published</th><th class="n">Worst</th></tr></thead>'
        f"<tbody>{body}</tbody></table></body></html>\n"
    )


def _entry(r: dict[str, Any]) -> str:
    place = f", {escape(r['place'])}" if r["place"] else ""
    soft = f" ({escape(r['kind'])})" if r["kind"] in ("common practice", "from memory") else ""
    worst = "" if r["worst"] is None else "rounding" if r["worst"] == 0 else f"{r['worst']:.1e}"
    units = "" if r["units"] == "passes" else '<div class="caution">! fails with mixed units</div>'
    why = f'<div class="quiet">No printed result: {escape(r["unpublished"])}</div>' if r["unpublished"] else ""
    return (
        f'<tr id="{escape(r["id"], quote=True)}"><td>{escape(r["title"])}<br><code>{escape(r["id"])}</code>'
        f'<br><span class="quiet">{escape(r["equation"])}</span>{units}</td>'
        f"<td><math>{symbols.mathml(r['symbol'])}</math></td><td>{escape(r['unit'])}</td>"
        f'<td class="source">{escape(r["source"])}{place}{soft}{why}</td><td>{escape(r["range"])}</td>'
        f'<td class="n">{r["points"]}</td><td class="n">{r["published"] or ""}</td><td class="n">{worst}</td></tr>'
    )
