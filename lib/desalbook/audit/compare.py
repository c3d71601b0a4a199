"""Two calculations beside one another: what was changed, what moved, which checks turned, and why.

Both are read from their records alone. A line is the same in both when its id is. An input is *changed* when a
person or a default gave it another value; an assumed value that follows from another line (a row of a table that
a choice picked) has *moved*. Why a check turned is told by the shortest chain of moved lines that leads from a
changed input, or from a relation that is not the same in both, to the check.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

from desalbook.audit.graph import children, differs, parents, path_up, scales
from desalbook.audit.page.shown import by_id, shown, units_of
from desalbook.trail.words import verdict_words

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["CHANGED", "MOVED", "RULES", "TURNED", "Comparison", "compare"]

CHANGED = ("id", "title", "old", "new", "sort", "change", "effect", "flips")
"""Columns of `Comparison.inputs`."""
MOVED = ("id", "title", "old", "new", "sort", "change", "effect", "flips", "steps")
"""Columns of `Comparison.moved`."""
TURNED = ("id", "title", "old", "new", "old_margin", "new_margin", "chain", "why")
"""Columns of `Comparison.checks`."""
RULES = ("id", "what", "title", "part", "old", "new", "lines")
"""Columns of `Comparison.rules`."""
_FAR = 10**6  # steps to a check where no check lies below
_RANK = {"fails": 3, "review": 2, "marginal": 1, "passes": 0}


@dataclass(frozen=True)
class Comparison:
    """What differs between two records.

    Parameters
    ----------
    old, new : mapping
        The two records.
    units : {"si", "us"}
        Display set of the texts.
    """

    old: Mapping[str, Any]
    new: Mapping[str, Any]
    units: str = "si"

    @cached_property
    def _lines(self) -> tuple[dict[str, Any], dict[str, Any]]:
        return by_id(self.old), by_id(self.new)

    @cached_property
    def change(self) -> dict[str, float]:
        """Largest relative change of each line that is not the same; infinite for one that came or went."""
        before, after = self._lines
        found: dict[str, float] = {}
        for id in (*after, *(i for i in before if i not in after)):
            a, b = before.get(id), after.get(id)
            if a is None or b is None or a["keys"] != b["keys"] or a["unit"] != b["unit"]:
                found[id] = math.inf
                continue
            if a["value"] is None or isinstance(a["value"], str):
                by = differs(a["value"], b["value"])
            else:
                by = differs(a["value"], b["value"], scales(a, before))
            if a["sort"] == "checked" and a["more"]["verdict"] != b["more"]["verdict"]:
                by = max(by, 0.0) or math.inf
            if by:
                found[id] = by
        return found

    @cached_property
    def above(self) -> dict[str, list[str]]:
        """Parents of each line, over both records."""
        before, after = self._lines
        return {
            id: list(dict.fromkeys(p for x in (after.get(id), before.get(id)) if x for p in parents(x)))
            for id in (*after, *(i for i in before if i not in after))
        }

    @cached_property
    def roots(self) -> dict[str, str]:
        """Lines where a difference begins, each with what kind of beginning it is."""
        before, after = self._lines
        found: dict[str, str] = {}
        for id in self.change:
            line = after.get(id) or before[id]
            if line["sort"] in ("given", "assumed") and not any(p in self.change for p in self.above[id]):
                found[id] = "input"
            elif id in before and id in after and _rule(before[id], self.old) != _rule(line, self.new):
                found[id] = "rule"
        return found

    @cached_property
    def _weight(self) -> dict[str, tuple[int, float, int]]:
        """For each line: checks below that turned, largest move of a margin below, steps to the nearest of them.

        Where checks below turned, only those count for the move and the steps.
        """
        turned, moves = set(self._turned), self._margins
        below = children([*self.new["lines"], *(x for x in self.old["lines"] if x["id"] not in self._lines[1])])
        reach: dict[str, set[str]] = {}
        near: dict[str, tuple[int, float, int]] = {}
        # lines stand after what they rest on, so their order backwards meets children first
        order = [*self._lines[1], *(i for i in self._lines[0] if i not in self._lines[1])]
        for id in reversed(order):
            if id not in self.change:
                continue
            reach[id] = {id} if id in turned else set()
            found = [(int(id in turned), abs(moves[id]), 0)] if id in moves else []
            for child in below.get(id, ()):
                if child in reach:
                    reach[id] |= reach[child]
                    turns, size, steps = near[child]
                    found.append((turns, size, steps + 1))
            turns = max((f[0] for f in found), default=0)
            best = [f for f in found if f[0] == turns]
            near[id] = (turns, max((f[1] for f in best), default=0.0), min((f[2] for f in best), default=_FAR))
        return {id: (len(reach[id]), *near[id][1:]) for id in reach}

    @cached_property
    def _margins(self) -> dict[str, float]:
        before, after = self._lines
        found = {}
        for id in self.change:
            a, b = before.get(id), after.get(id)
            if (a or b)["sort"] == "checked":  # pyright: ignore[reportOptionalSubscript]
                m = [x["more"].get("margin") if x else None for x in (a, b)]
                found[id] = m[1] - m[0] if m[0] is not None and m[1] is not None else 0.0
        return found

    @cached_property
    def _turned(self) -> list[str]:
        before, after = self._lines
        ids = [
            id
            for id in self._margins
            if id not in before
            or id not in after
            or before[id]["more"]["verdict"] != after[id]["more"]["verdict"]
        ]

        def worst(id: str) -> tuple:
            was, now = (_RANK.get(x[id]["more"]["verdict"], 0) if id in x else -1 for x in (before, after))
            margin = after.get(id, before.get(id))["more"].get("margin")  # pyright: ignore
            return id not in before or id not in after, was - now, margin if margin is not None else 0.0

        return sorted(ids, key=worst)

    def says(self, which: int, id: str) -> str:
        """A line's value in the old (0) or the new (1) record, as people read it; what moved most of a row."""
        line = self._lines[which].get(id)
        if line is None:
            return "not there"
        record, value = (self.old, self.new)[which], line["value"]
        if line["sort"] == "checked":
            return _verdict(line)
        if not isinstance(value, list):
            return shown(value, line["kind"], self.units, record)
        other = self._lines[1 - which].get(id)
        if other is None or other["keys"] != line["keys"]:
            return f"{len(value)} values"
        key = max(
            range(len(value)),
            key=lambda i: abs(value[i] - other["value"][i]) / (max(abs(value[i]), abs(other["value"][i])) or 1),
        )
        return f"{shown(value[key], line['kind'], self.units, record)} [{line['keys'][key]}]"

    def chain(self, id: str) -> list[str]:
        """Ids from where the difference begins down to this line, each resting on the one before."""
        if id in self.roots:
            return [id]
        goal, inputs = self.roots.get, [r for r, what in self.roots.items() if what == "input"]
        if inputs:
            way = path_up(id, lambda i: goal(i) == "input", self.above, self.change)
            if way:
                return way
        return path_up(id, lambda i: i in self.roots, self.above, self.change)

    def step(self, id: str) -> str:
        """One link of a chain in words."""
        line = self._lines[1].get(id) or self._lines[0][id]
        at = f" at {line['corner']}" if line["corner"] else ""
        return f"{line['title']}{at}: {self.says(0, id)} → {self.says(1, id)} ({id})"

    def _row(self, id: str) -> dict[str, Any]:
        before, after = self._lines
        flips, effect, steps = self._weight[id]
        line = after.get(id) or before[id]
        return {
            "id": id,
            "title": line["title"],
            "old": self.says(0, id),
            "new": self.says(1, id),
            "sort": line["sort"],
            "change": self.change[id],
            "effect": effect,
            "flips": flips,
            "steps": steps if steps < _FAR else -1,
        }

    @cached_property
    def inputs(self) -> pd.DataFrame:
        """Inputs that were changed, those a person wrote first, then by effect on the checks; columns `CHANGED`."""
        import pandas as pd

        before, after = self._lines
        ids = [i for i, what in self.roots.items() if what == "input" and not _head(after.get(i) or before[i])]
        ids += [i for i in self.change if _head(after.get(i) or before[i]) and i not in ids]
        rows = sorted(
            (self._row(i) for i in ids),
            key=lambda r: (_head(after.get(r["id"]) or before[r["id"]]), r["sort"] != "given", *_effect(r)),
        )
        return pd.DataFrame(rows, columns=list(CHANGED))

    @cached_property
    def moved(self) -> pd.DataFrame:
        """Values that changed, by effect on the checks; columns `MOVED`.

        First come those that lead to turned checks, nearest first; then those below which a margin moved
        most. ``effect`` is that move as a fraction of the limit, ``flips`` the number of turned checks.
        """
        import pandas as pd

        before, after = self._lines
        rows = []
        for id in self.change:
            line = after.get(id) or before[id]
            if line["sort"] != "checked" and self.roots.get(id) != "input":
                rows.append(self._row(id))
        return pd.DataFrame(sorted(rows, key=_effect), columns=list(MOVED))

    @cached_property
    def checks(self) -> pd.DataFrame:
        """Checks that changed status, worst first, each with the chain that explains it; columns `TURNED`.

        ``chain`` lists ids from the changed input to the check; ``why`` says the same in words.
        """
        import pandas as pd

        before, after = self._lines
        rows = []
        for id in self._turned:
            way = self.chain(id)
            a, b = before.get(id), after.get(id)
            rows.append(
                {
                    "id": id,
                    "title": (b or a)["title"],  # pyright: ignore[reportOptionalSubscript]
                    "old": a["more"]["verdict"] if a else "not there",
                    "new": b["more"]["verdict"] if b else "not there",
                    "old_margin": a["more"].get("margin") if a else None,
                    "new_margin": b["more"].get("margin") if b else None,
                    "chain": " ".join(way),
                    "why": "; ".join(self.step(i) for i in way),
                }
            )
        frame = pd.DataFrame(rows, columns=list(TURNED))
        for name in ("old_margin", "new_margin"):
            frame[name] = frame[name].astype(float)
        return frame

    @cached_property
    def rules(self) -> pd.DataFrame:
        """Relations, sources, engines and the kit that are not the same; columns `RULES`."""
        import pandas as pd

        return pd.DataFrame(_rules(self.old, self.new), columns=list(RULES))

    @property
    def same(self) -> bool:
        """True when nothing differs."""
        return not self.change and self.rules.empty

    def text(self, figures: int = 15) -> str:
        """One page in words."""
        return _page(self, figures)


def compare(old: Mapping[str, Any], new: Mapping[str, Any], units: str = "si") -> Comparison:
    """Compare two records.

    Parameters
    ----------
    old, new : mapping
        As `trail.record.read` gives them.
    units : {"si", "us"}

    Returns
    -------
    Comparison
        Its tables (``inputs``, ``moved``, ``checks``, ``rules``) have a column ``id``; ``text()`` is one page.
    """
    units_of(units)
    return Comparison(old, new, units)


def _effect(row: Mapping[str, Any]) -> tuple:
    far = row["steps"] if row["steps"] >= 0 else _FAR
    return not row["flips"], far if row["flips"] else 0, -row["effect"], far, -row["change"], row["id"]


def _head(line: Mapping[str, Any]) -> bool:
    """A text that decides nothing: the sheet's head."""
    return isinstance(line["value"], str) and not line["more"].get("options") and line["sort"] == "given"


def _verdict(line: Mapping[str, Any]) -> str:
    m = line["more"]
    if m.get("margin") is None:
        return m["verdict"]
    return verdict_words(m["verdict"], m["margin"])


def _rule(line: Mapping[str, Any], record: Mapping[str, Any]) -> tuple:
    """What a line is made by, apart from its inputs."""
    r, m = record["relations"].get(line["relation"]), line["more"]
    return (line["sort"], line["relation"], r["hash"] if r else None, *(m.get(k) for k in _ENGINE), m.get("rule"))


_ENGINE = ("library", "version", "data", "checksum")
_PARTS = (("equation", "tree"), ("unit", "unit"), ("source", "source"), ("place in the source", "place"),
          ("range", "within"), ("note", "note"))


def _rules(old: Mapping[str, Any], new: Mapping[str, Any]) -> list[dict[str, Any]]:
    from desalbook.trail.written import expression_text

    rows: list[dict[str, Any]] = []

    def add(id: str, what: str, title: str, part: str, was: Any, now: Any, lines: int = 0) -> None:
        rows.append({"id": id, "what": what, "title": title, "part": part, "old": str(was), "new": str(now),
                     "lines": lines})

    if old["kit"] != new["kit"]:
        add("kit", "kit", "Version of the kit", "version", old["kit"], new["kit"])
    used: dict[str, int] = {}
    for x in new["lines"]:
        used[x["relation"]] = used.get(x["relation"], 0) + 1
    a, b = old["relations"], new["relations"]
    for key in sorted(a.keys() & b.keys()):
        ra, rb, n = a[key], b[key], used.get(key, 0)
        for part, name in _PARTS:
            if ra.get(name) != rb.get(name):
                was, now = (expression_text(r) if name == "tree" else r.get(name) or "none" for r in (ra, rb))
                add(key, "relation", rb["title"], part, was, now, n)
        for part in ("constants", "tables"):
            for name in sorted(ra[part].keys() | rb[part].keys()):
                was, now = ra[part].get(name), rb[part].get(name)
                if was != now:
                    old_text, new_text = (("none" if x is None else f"{x['value']!r} {x['unit']}" if part == "constants"
                             else f"{len(x['x'])} points, {x['source']}") for x in (was, now))
                    add(key, "relation", rb["title"], f"{part[:-1]} {name}", old_text, new_text, n)
        if [(x["name"], x["unit"]) for x in ra["args"]] != [(x["name"], x["unit"]) for x in rb["args"]]:
            was, now = (", ".join(f"{x['name']} [{x['unit']}]" for x in r["args"]) for r in (ra, rb))
            add(key, "relation", rb["title"], "arguments", was, now, n)
    for key in sorted(old["sources"].keys() & new["sources"].keys()):
        for part in ("citation", "kind"):
            if old["sources"][key][part] != new["sources"][key][part]:
                add(key, "source", key, part, old["sources"][key][part], new["sources"][key][part])
    ea, eb = ({(e["library"], e["data"]): e for e in r["engines"]} for r in (old, new))
    for key in sorted(ea.keys() & eb.keys()):
        for part in ("version", "checksum"):
            if ea[key][part] != eb[key][part]:
                add(" ".join(x for x in key if x), "engine", key[0], part, ea[key][part], eb[key][part])
    return rows


_INPUTS, _RULES, _WIDE = 20, 12, 130
_LINKS = 12  # of a chain; a longer one shows its two ends


def _page(c: Comparison, figures: int = 15) -> str:
    """What was changed, which checks turned and why, what moved, and what the kit itself does otherwise."""
    names = [_clean(str(r.get("project", {}).get("name", ""))) for r in (c.old, c.new)]
    revisions = [_clean(str(r.get("project", {}).get("revision", ""))) for r in (c.old, c.new)]
    out = [f"{names[1] or 'Calculation'}: revision {revisions[0] or '-'} against {revisions[1] or '-'}"
           f" · input {c.old['input_hash'][:12]} against {c.new['input_hash'][:12]}"]
    if c.same:
        return out[0] + "\n\nNothing differs.\n"
    out += _page_of_inputs(c) + _page_of_checks(c) + _page_of_figures(c, figures) + _page_of_rules(c)
    return "\n".join(out) + "\n"


def _clean(said: str) -> str:
    """Without control characters, cut to a length that leaves the page a page."""
    said = "".join(ch if ch.isprintable() else " " for ch in said)
    return said if len(said) <= _WIDE else said[: _WIDE - 1] + "…"


def _more(n: int, shown: int) -> list[str]:
    return [f"  … {n - shown} more"] if n > shown else []


def _page_of_inputs(c: Comparison) -> list[str]:
    frame = c.inputs
    if frame.empty:
        return ["", "Inputs changed: none"]
    out = ["", f"Inputs changed: {len(frame)}"]
    for r in frame.head(_INPUTS).to_dict("records"):
        out.append(f"  {r['title']} ({r['id']}, {r['sort']}): {_clean(r['old'])} → {_clean(r['new'])}")
    return out + _more(len(frame), _INPUTS)


def _page_of_checks(c: Comparison) -> list[str]:
    frame = c.checks
    if frame.empty:
        return ["", "Checks that changed status: none"]
    out = ["", f"Checks that changed status: {len(frame)}"]
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


def _page_of_figures(c: Comparison, figures: int) -> list[str]:
    frame = c.moved
    if frame.empty:
        return ["", "Values that changed: none"]
    there = [c.old, c.new]
    n = len(there[1]["lines"])
    out = ["", f"Values that changed: {len(frame)} of {n} lines, largest effect on checks first"]
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


def _page_of_rules(c: Comparison) -> list[str]:
    frame = c.rules
    if frame.empty:
        return ["", "Relations, sources, engines: the same"]
    out = ["", f"Relations, sources, engines changed: {len(frame)}"]
    for r in frame.head(_RULES).to_dict("records"):
        used = f", {r['lines']} lines" if r["lines"] else ""
        out.append(f"  {r['what']} {r['id']}, {r['part']}{used}: {_clean(r['old'])} → {_clean(r['new'])}")
    return out + _more(len(frame), _RULES)
