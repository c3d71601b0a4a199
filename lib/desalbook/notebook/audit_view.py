"""The audit in a notebook: tables, the drawn graph and the doubts as HTML; everything from a record."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Collection, Mapping, Sequence
from html import escape
from pathlib import Path
from typing import Any

from desalbook import audit, theme
from desalbook.audit.doubt import GROUPS
from desalbook.audit.marks import ROLES
from desalbook.audit.plan import PLAN
from desalbook.fine import fine
from desalbook.notebook.pictures.upstream import upstream_picture
from desalbook.theme import css
from desalbook.units import KINDS, show

__all__ = ["Html", "asked", "compared", "coverage", "doubts", "headlines", "lines", "planned", "progressed",
           "signatures", "standing", "trial_marks", "upstream"]

_MOST = 40
_NO_SOURCE = ("common-practice", "from-memory", "design-file")


class Html:
    """Text that a notebook shows as HTML."""

    def __init__(self, text: str):
        self.text = text

    def _repr_html_(self) -> str:
        return self.text

    def __repr__(self) -> str:
        return f"<Html of {len(self.text)} characters>"


def _table(rows: Sequence[Mapping[str, Any]], columns: Mapping[str, str], ways: bool = False) -> str:
    """Rows as a table; whatever a person wrote is escaped. With `ways` an id is a button that asks for its line."""
    def cell(row: Mapping[str, Any], name: str) -> str:
        text = escape(str(row[name]))
        if not ways or name != "id":
            return text
        ask = escape(json.dumps({"why": row["id"]}), quote=True)
        return f'<button type="button" data-ask="{ask}">{text}</button>'

    side = {name: "right" if all(isinstance(r[name], int) for r in rows) else "left" for name in columns}
    head = "".join(f"<th style='text-align:{side[name]}'>{escape(title)}</th>" for name, title in columns.items())
    body = "".join("<tr>" + "".join(f"<td style='text-align:{side[name]}'>{cell(r, name)}</td>"
                                    for name in columns) + "</tr>" for r in rows[:_MOST])
    more = f"<p>and {len(rows) - _MOST} more</p>" if len(rows) > _MOST else ""
    return f"<div class='desalbook'><style>{css()}</style><table><tr>{head}</tr>{body}</table>{more}</div>"


def headlines(record: Mapping[str, Any]) -> str:
    """Whether a record agrees with itself: counts of what does not, each of which should be none."""
    again, closed = audit.recompute(record), audit.closures(record)
    solved = [x for x in record["lines"] if x["sort"] == "solved"]
    rows = {
        "Computed lines beyond 1e-12": int(again.worst > 1e-12),
        "Relations altered": len(again.altered),
        "Verdicts that do not follow": len(again.misjudged),
        "Balances beyond 1e-9": sum(x > 1e-9 for x in closed["relative"]),
        "Solved values without a residual": sum(not x["more"].get("residual") for x in solved),
        "Lines without a source": sum(not x["source"] and x["sort"] != "checked" for x in record["lines"]),
    }
    wide = max(map(len, rows))
    return "\n".join(f"{title:<{wide}}  {n:>6}" for title, n in rows.items())


def lines(frame: Any, ways: bool = False, units: str = "si") -> Html:
    """Rows of a search in a display set; with `ways` each id is a button, for a page that answers it."""
    rows = frame.to_dict("records")
    for r in rows:
        number = r["value"] is not None and r["value"] == r["value"]
        r["shown"] = r["text"] if not number else (
            show(r["value_si"], r["kind"], units, pretty=True) if r["kind"] in KINDS else
            f"{r['value']:.5g} {r['unit']}".rstrip())
        r["shown"] = r["shown"].replace(" ", "\N{NO-BREAK SPACE}")
        r["source"] = r["source"].replace("-", " ") if r["source"] in _NO_SOURCE else r["source"]
    return Html(_table(rows, {"id": "Id", "title": "Quantity", "shown": "Value", "sort": "Type", "corner": "Case",
                              "source": "Source"}, ways))


def upstream(record: Mapping[str, Any], id: str, units: str = "si") -> Html:
    """A figure and what it was made from, drawn."""
    return Html(upstream_picture(record, id, units))


_NAMED = 8
_MARKS = {"accepted": "passes", "questioned": "marginal", "rejected": "fails", "stale": "quiet"}
"""Look of each state of a line: mark and colour of a verdict."""


def _state(state: str) -> str:
    if state not in _MARKS:
        return ""
    look = theme.role(_MARKS[state])
    return f' <span style="color:{theme.var(look.name)}">{look.mark} {state}</span>'


def _item(row: Mapping[str, Any], known: Collection[str]) -> str:
    title = fine(escape(row["title"] or row["id"]))
    if row["id"] in known:
        ask = escape(json.dumps({"why": row["id"]}), quote=True)
        title = f'<button type="button" class="db-way" data-ask="{ask}" title="{escape(row["id"])}">{title}</button>'
    return f"<li>{title} {fine(escape(row['what']))}{_state(row['state'])}</li>"


def planned(frame: Any, known: Collection[str], signed: bool) -> str:
    """The plan of a review as HTML: a group each, its first lines in view, the rest folded.

    Parameters
    ----------
    frame : DataFrame
        Of `audit.plan`.
    known : collection of str
        Ids of lines that can be followed.
    signed : bool
        Whether a review of this design was ended before.
    """
    rows, out = frame.to_dict("records"), []
    for group, title in PLAN.items():
        some = [r for r in rows if r["group"] == group]
        done = sum(r["state"] in ("accepted", "questioned", "rejected") for r in some)
        left = [r for r in some if r["state"] in ("unmarked", "stale")] + [r for r in some if r["state"] == "rejected"
                                                                          or r["state"] == "questioned"]
        count = f"{len(some)}" + (f", {done} judged" if done else "")
        if not some:
            count = "none" if group != "changed" or signed else "no review was signed before"
        items = "".join(_item(r, known) for r in left[:_NAMED])
        rest = "".join(_item(r, known) for r in left[_NAMED:_MOST])
        more = f"<li>and {len(left) - _MOST} more; find them below by their words</li>" if len(left) > _MOST else ""
        if rest:
            rest = (f'<details data-key="plan-{group}-rest"><summary>{len(left) - _NAMED} more</summary>'
                    f'<ul class="db-watch">{rest}{more}</ul></details>')
        main = list(PLAN).index(group) < 4
        out.append(f'<details data-key="plan-{group}"{" open" if main and left else ""}><summary><b>{escape(title)}</b>'
                   f' <span class="quiet">{count}</span></summary><ul class="db-watch">{items}</ul>{rest}</details>')
    return f'<div class="desalbook db-plan">{"".join(out)}</div>'


def progressed(rows: Sequence[Mapping[str, Any]]) -> str:
    """Progress by chapter as HTML: all in one line, the chapters folded."""
    whole, parts = rows[-1], rows[:-1]

    def counts(r: Mapping[str, Any], of: str = "") -> str:
        some = [f"{r[k]} {k}" for k in ("questioned", "rejected", "stale") if r[k]]
        return f"{r['judged']} of {r['lines']}{of}" + (f", {', '.join(some)}" if some else "")

    body = "".join(
        f"<tr><td>{escape(r['title'])}</td><td><progress max='{r['lines']}' value='{r['judged']}' "
        f"aria-label='{escape(r['title'], quote=True)}'></progress></td><td>{counts(r)}</td></tr>" for r in parts)
    return (f'<div class="desalbook db-plan"><details data-key="progress"><summary><b>Progress</b> '
            f'<progress max="{whole["lines"]}" value="{whole["judged"]}" aria-label="Lines judged"></progress> '
            f'<span class="quiet">{counts(whole, " lines judged")}; by chapter</span></summary><table>{body}</table>'
            "</details></div>")


def asked(frame: Any, known: Collection[str]) -> str:
    """Questions with their answers as HTML, open ones first; none where nobody asked."""
    rows = frame.to_dict("records")
    if not rows:
        return '<div class="desalbook"><p class="quiet">No line is questioned.</p></div>'
    out = []
    for r in rows:
        answers = "".join(f"<br>Answer, {escape(by)}: {escape(text)}" for by, text in r["answers"])
        look = theme.role({"open": "fails", "answered": "marginal", "closed": "passes"}[r["state"]])
        word = {"open": "open", "answered": "answered, the reviewer has the word", "closed": "closed"}[r["state"]]
        row = {"id": r["id"], "title": r["title"], "what": "", "state": ""}
        out.append(f'{_item(row, known).removesuffix("</li>")}<span style="color:{theme.var(look.name)}">{look.mark} '
                   f"{word}</span><br>{escape(r['by'])}: {escape(r['note'])}{answers}</li>")
    return f'<div class="desalbook"><ul class="db-watch">{"".join(out)}</ul></div>'


def signatures(frame: Any, left: Sequence[str], second: bool) -> str:
    """Sign-offs as HTML, with what is still open.

    Parameters
    ----------
    frame : DataFrame
        Of `Marks.signed`.
    left : sequence of str
        What stands against ending the review, in words.
    second : bool
        Whether a second reviewer's signature is all that is missing.
    """
    out = []
    for s in frame.to_dict("records"):
        look = theme.role("passes" if s["holds"] else "marginal")
        why = "of the calculation on this desk" if s["holds"] else s["why"]
        note = f"; remark: {s['note']}" if s["note"] else ""
        who = ROLES.get(str(s["role"]), str(s["role"])).lower()
        then = f"; open then: {', '.join(s['open'])}" if s["open"] else ""
        out.append(f'<li><span style="color:{theme.var(look.name)}">{look.mark}</span> {escape(s["by"])}, '
                   f"{escape(who)}, {escape(s['time'][:10])}, record "
                   f"<code>{escape(s['record'][:16])}</code>, {escape(why)}{escape(then)}{escape(note)}</li>")
    still = f"Still open: {', '.join(left)}." if left else "Nothing is open."
    next_ = " A second reviewer has not signed yet." if second else ""
    return (f'<div class="desalbook"><p class="quiet">{escape(still)}{next_}</p>'
            f'<ul class="db-watch">{"".join(out)}</ul></div>')


def doubts(record: Mapping[str, Any], each: int = 5, units: str = "si") -> Html:
    """The gravest of each group of doubts."""
    frame, out = audit.doubt(record, units), []
    for group, title in GROUPS.items():
        some = [r for r in frame.to_dict("records") if r["group"] == group]
        items = "".join(f"<li>{escape(r['title'])}: {escape(r['what'])} <code>{escape(r['id'])}</code></li>"
                        for r in some[:each])
        more = f"<li>and {len(some) - each} more</li>" if len(some) > each else ""
        out.append(f"<b>{escape(title)}: {len(some)}</b><ul>{items}{more}</ul>")
    return Html(f"<div class='desalbook'><style>{css()}</style>{''.join(out)}</div>")


def compared(comparison: audit.Comparison, ways: bool = False) -> Html:
    """A comparison as the terminal says it, chains and the rest folded; with `ways` lines are buttons."""
    return Html(f"<div class='desalbook' role='region' aria-label='Comparison'><style>{css()}</style>"
                f"{comparison.html(ways)}</div>")


def trial_marks() -> audit.Marks:
    """Marks in a folder of their own that the system clears, for trying."""
    return audit.Marks(Path(tempfile.mkdtemp(prefix="desalbook-")) / "trial.toml")


def standing(marks: audit.Marks, record: Mapping[str, Any], units: str = "si") -> Html:
    """Marks against a record."""
    return Html(_table(marks.standing(record, units).to_dict("records"),
                       {"id": "Line", "title": "Quantity", "state": "State", "by": "By", "note": "Note",
                        "stale": "Why stale"}))


def coverage(marks: audit.Marks, record: Mapping[str, Any]) -> Html:
    """How far a review has come, by chapter; chapters that nobody has begun stand together in one line."""
    counts = {"lines": "Lines", "accepted": "Accepted", "questioned": "Questioned", "rejected": "Rejected",
              "stale": "Stale", "unmarked": "Unmarked"}
    rows = marks.coverage(record).to_dict("records")
    whole = [r for r in rows if r["id"] == "all"]
    begun = [r for r in rows if r["unmarked"] < r["lines"] and r not in whole]
    rest = [r for r in rows if r["unmarked"] >= r["lines"] and r not in whole]
    if rest:
        begun.append({k: sum(r[k] for r in rest) for k in counts} | {"id": f"{len(rest)} chapters not begun"})
    for r in (begun := begun + whole):
        r.update((k, int(r[k])) for k in counts)
    return Html(_table(begun, {"id": "Chapter", **counts}))
