"""A comparison on one page."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from desalbook.audit.compare import Comparison

__all__ = ["text"]

_INPUTS, _RULES, _WIDE = 20, 12, 130
_LINKS = 12  # of a chain; a longer one shows its two ends


def text(c: Comparison, figures: int = 15) -> str:
    """What was changed, which checks turned and why, what moved, and what the kit itself does otherwise."""
    names = [_clean(str(r.get("project", {}).get("name", ""))) for r in (c.old, c.new)]
    revisions = [_clean(str(r.get("project", {}).get("revision", ""))) for r in (c.old, c.new)]
    out = [f"{names[1] or 'Calculation'}: revision {revisions[0] or '-'} against {revisions[1] or '-'}"
           f" · input {c.old['input_hash'][:12]} against {c.new['input_hash'][:12]}"]
    if c.same:
        return out[0] + "\n\nNothing differs.\n"
    out += _inputs(c) + _checks(c) + _figures(c, figures) + _rules(c)
    return "\n".join(out) + "\n"


def _clean(said: str) -> str:
    """Without control characters, cut to a length that leaves the page a page."""
    said = "".join(ch if ch.isprintable() else " " for ch in said)
    return said if len(said) <= _WIDE else said[: _WIDE - 1] + "…"


def _more(n: int, shown: int) -> list[str]:
    return [f"  … {n - shown} more"] if n > shown else []


def _inputs(c: Comparison) -> list[str]:
    frame = c.inputs
    if frame.empty:
        return ["", "Inputs changed: none"]
    out = ["", f"Inputs changed: {len(frame)}"]
    for r in frame.head(_INPUTS).to_dict("records"):
        out.append(f"  {r['title']} ({r['id']}, {r['sort']}): {_clean(r['old'])} → {_clean(r['new'])}")
    return out + _more(len(frame), _INPUTS)


def _checks(c: Comparison) -> list[str]:
    frame = c.checks
    if frame.empty:
        return ["", "Checks that turned: none"]
    out = ["", f"Checks that turned: {len(frame)}"]
    for r in frame.to_dict("records"):
        way = r["chain"].split()
        out += ["", f"  {r['title']} ({r['id']})", f"    {c.says(0, r['id'])} → {c.says(1, r['id'])}"]
        if not way:
            out.append("    no chain of moved lines leads here from a changed input")
        rule = way and c.roots.get(way[0]) == "rule"
        for n, id in enumerate(way[:-1]):
            if len(way) - 1 > _LINKS and _LINKS // 2 <= n < len(way) - 1 - _LINKS // 2:
                if n == _LINKS // 2:
                    out.append(f"            … {len(way) - 1 - _LINKS} lines between")
                continue
            start = "because the rule changed of" if rule and n == 0 else "because" if n == 0 else "  hence"
            out.append(f"    {start:<8}{_clean(c.step(id))}")
    return out


def _figures(c: Comparison, figures: int) -> list[str]:
    frame = c.moved
    if frame.empty:
        return ["", "Figures that moved: none"]
    there = [c.old, c.new]
    n = len(there[1]["lines"])
    out = ["", f"Figures that moved: {len(frame)} of {n} lines, those with most effect on the checks first"]
    rows = [_row(r) for r in frame.head(figures).to_dict("records")]
    wide = [max(len(r[i]) for r in rows) for i in range(4)]
    for r in rows:
        out.append("  " + "  ".join(part.rjust(w) if i in (1, 2) else part.ljust(w)
                                    for i, (part, w) in enumerate(zip(r, wide, strict=True))).rstrip())
    return out + _more(len(frame), figures)


def _row(r: dict[str, Any]) -> tuple[str, str, str, str]:
    by = "" if math.isinf(r["change"]) else f"{r['change'] * 100:.2g} %"
    turned = f", {r['flips']} turned" if r["flips"] else ""
    margin = f"margins by up to {r['effect'] * 100:.2g} points" if r["effect"] else "no margin"
    return r["id"], f"{r['old']} → {r['new']}", by, margin + turned


def _rules(c: Comparison) -> list[str]:
    frame = c.rules
    if frame.empty:
        return ["", "Relations, sources, engines: the same"]
    out = ["", f"Relations, sources, engines changed: {len(frame)}"]
    for r in frame.head(_RULES).to_dict("records"):
        used = f", {r['lines']} lines" if r["lines"] else ""
        out.append(f"  {r['what']} {r['id']}, {r['part']}{used}: {_clean(r['old'])} → {_clean(r['new'])}")
    return out + _more(len(frame), _RULES)
