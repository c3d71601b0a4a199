"""Two calculations beside one another: what was changed, what moved, which checks changed status, and why.

Both are read from their records alone. A line is the same in both when its id is. An input is *changed* when a
person or a default gave it another value; an assumed value that follows from another line (a row of a table that
a choice picked) has *moved*. Why a check changed status is tested: the records hold the text of their designs, and
`audit.causes` sizes what lies between the two. The shortest chain of moved lines that leads from the cause to the
check then says how. Without the texts, and where a relation is not the same in both, the chain is all there is.
"""

from __future__ import annotations

import math
import os
from collections.abc import Callable, Mapping
from concurrent.futures import Executor
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from desalbook.audit.graph import children, differs, parents, path_up, scales
from desalbook.audit.page.shown import by_id, shown, units_of
from desalbook.audit.page.summary import VALUES, there
from desalbook.problems import DesignError, Problem
from desalbook.trail.words import verdict_words

if TYPE_CHECKING:
    import pandas as pd

    from desalbook.audit.causes import Cause, Causes

__all__ = ["ABSENT", "CHANGED", "EFFECTS", "MOVED", "RULES", "TURNED", "Comparison", "compare"]

ABSENT = "absent"
"""Value of a line that one of the two has not."""

CHANGED = ("id", "title", "old", "new", "sort", "change", "effect", "flips")
"""Columns of `Comparison.inputs`."""
MOVED = ("id", "title", "old", "new", "sort", "change", "effect", "flips", "steps")
"""Columns of `Comparison.moved`."""
TURNED = ("id", "title", "old", "new", "old_margin", "new_margin", "how", "causes", "chain", "why")
"""Columns of `Comparison.checks`."""
EFFECTS = ("id", "title", "input", "alone", "back", "carried", "share")
"""Columns of `Comparison.effects`."""
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
    names : pair of str
        What the two are called, their files for one; the project's names where blank.
    told : callable, optional
        Called with how many plants between the two are sized, and how many there are to size.
    executor : concurrent.futures.Executor, optional
        Shares these plants among its workers.
    begun : Causes, optional
        The plants between the designs of these records, begun before the records were at hand; taken where the
        designs are the same to the letter.
    """

    old: Mapping[str, Any]
    new: Mapping[str, Any]
    units: str = "si"
    names: tuple[str, str] = ("", "")
    told: Callable[[int, int], object] | None = None
    executor: Executor | None = None
    begun: Causes | None = None

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

    @property
    def lines(self) -> tuple[dict[str, Any], dict[str, Any]]:
        """Lines of the old and of the new record, by id."""
        return self._lines

    def line(self, id: str) -> dict[str, Any]:
        """A line as it is in the new record, or was in the old one where it went."""
        return self._lines[1].get(id) or self._lines[0][id]

    def is_text(self, id: str) -> bool:
        """Whether an input is a text that decides nothing."""
        x = self._lines
        return any(id in held and _head(held[id]) for held in x)

    @cached_property
    def ten(self) -> tuple[str, ...]:
        """Ids of the ten values that matter, the first ten that both records have."""
        before, after = self._lines
        return tuple(i for i in VALUES if there(i, before) and there(i, after))[:10]

    @cached_property
    def untested(self) -> str:
        """Why causes were not tested, as a sentence; empty where they were."""
        return self._tested if isinstance(self._tested, str) else ""

    @cached_property
    def causes(self) -> Causes | None:
        """The changes, tested by sizing what lies between the two designs; None where they cannot be."""
        return None if isinstance(self._tested, str) else self._tested

    @cached_property
    def _tested(self) -> Causes | str:
        # here, for a reader of records alone needs neither designs nor plants
        from desalbook.audit.causes import Causes
        from desalbook.design import from_text

        designs = []
        for which, record in (("old", self.old), ("new", self.new)):
            if not record.get("design"):
                return f"The {which} record holds no text of its design: give the design file instead."
            try:
                designs.append(from_text(record["design"]))
            except Problem as problem:
                return f"The {which} design cannot be read by this version of the kit: {problem}"
        found = self.begun
        if found is None or [found.old.text, found.new.text] != [x.text for x in designs]:
            found = Causes(designs[0], designs[1], units=self.units, told=self.told, executor=self.executor)
        found.checks, found.values = tuple(self._turned), tuple(i for i in self.ten if i in self.change)
        if not found.changes:
            return "No input that decides anything was changed."
        found.ahead()
        for which, taken in (("old", ()), ("new", range(len(found.changes)))):
            if why := found.state(taken).problem:
                return f"The {which} design cannot be sized by this version of the kit: {why}"
        return found

    @cached_property
    def _causes(self) -> dict[str, Cause]:
        """The tested cause of each check, where the kit gives it the status that the records say."""
        from desalbook.audit.causes import Cause

        found = self.causes
        if found is None:
            return {}
        ends = found.state(()), found.state(range(len(found.changes)))
        before, after = self._lines

        def agrees(id: str) -> bool:
            return all(end.verdicts.get(id, ("",))[0] == (x[id]["more"]["verdict"] if id in x else "")
                       for end, x in zip(ends, (before, after), strict=True))

        return {id: one if agrees(id) else Cause(id, "other") for id, one in found.causes.items()}

    @cached_property
    def effects(self) -> pd.DataFrame:
        """What each changed input carries of each of the ten values and of each changed check; columns `EFFECTS`.

        A row for each value or check and each input: the move when the input is taken alone into the old design, the
        move that putting it back takes away from the new one, their mean, and that as a fraction of the whole move.
        Values in coherent SI, checks as the fraction of the limit left.
        """
        rows = []
        found, (before, after) = self.causes, self._lines
        for id in (*found.values, *found.checks) if found is not None else ():
            assert found is not None
            whole = self.whole(id)
            for one, effect in zip(found.changes, found.effects(id), strict=True):
                carried = effect.carried
                rows.append({"id": id, "title": (after.get(id) or before[id])["title"],
                             "input": one.id or one.title, "alone": effect.alone, "back": effect.back,
                             "carried": carried,
                             "share": carried / whole if carried is not None and whole else None})
        frame = _frame(rows, EFFECTS)
        for name in EFFECTS[3:]:
            frame[name] = frame[name].astype(float)
        return frame

    def whole(self, id: str) -> float | None:
        """The whole move of a value, or of the margin of a check; None where one of the two has none."""
        ends = [x[id]["more"].get("margin") if x[id]["sort"] == "checked" else x[id]["value"]
                for x in self._lines if id in x]
        if len(ends) < 2 or not all(isinstance(x, (int, float)) for x in ends):
            return None
        return float(ends[1] - ends[0])

    def cause(self, id: str) -> Cause | None:
        """Why a check changed status, as tested; None where it was not."""
        return self._causes.get(id)

    def says(self, which: int, id: str) -> str:
        """A line's value in the old (0) or the new (1) record, as people read it; what moved most of a row."""
        line = self._lines[which].get(id)
        if line is None:  # a field of the design is blank, any other line absent
            return "blank" if self._lines[1 - which].get(id, {}).get("sort") == "given" else ABSENT
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
        """Ids from where the difference begins down to this line, each resting on the one before.

        Where the cause of a check was tested, the chain begins there.
        """
        if id in self.roots:
            return [id]
        one, of = self._causes.get(id), self.causes
        for n in one.changes if one is not None else ():
            assert of is not None
            keys = {line for key in of.changes[n].keys for line in self._lines_of(key)}
            way = path_up(id, keys.__contains__, self.above, self.change)
            if way:
                return way
        goal, inputs = self.roots.get, [r for r, what in self.roots.items() if what == "input"]
        if inputs:
            way = path_up(id, lambda i: goal(i) == "input", self.above, self.change)
            if way:
                return way
        return path_up(id, lambda i: i in self.roots, self.above, self.change)

    def _lines_of(self, key: str) -> list[str]:
        """Ids of the lines of a key of the design, of an entry of a table, or of a whole part."""
        row = key.rpartition("[")[0] if key.endswith("]") else key
        return [i for i in self.roots if i in (key, row) or i.startswith((f"{key}.", f"{key}["))]

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

    def _elements(self, id: str) -> list[dict[str, Any]]:
        """A row for an input; of an input with many entries one for each that changed."""
        before, after = self._lines
        a, b = before.get(id), after.get(id)
        row = self._row(id)
        if a is None or b is None or not isinstance(a["value"], list) or not isinstance(b["value"], list):
            return [row]
        held = [dict(zip(x["keys"], x["value"], strict=True)) for x in (a, b)]
        found = []
        for key in dict.fromkeys((*held[1], *held[0])):
            old, new = (x.get(key) for x in held)
            by = differs(old, new)
            if by:
                said = [shown(v, x["kind"], self.units, r) if v is not None else ABSENT
                        for v, x, r in ((old, a, self.old), (new, b, self.new))]
                found.append(row | {"id": f"{id}[{key}]", "title": f"{row['title']}, {key}", "old": said[0],
                                    "new": said[1], "change": by})
        return found

    @cached_property
    def inputs(self) -> pd.DataFrame:
        """Inputs that were changed, those a person wrote first, then by effect on the checks; columns `CHANGED`.

        Of a table of named values, as the ions of an analysis, each entry that changed is a row.
        """
        return _frame(self.input_rows, CHANGED)

    @cached_property
    def input_rows(self) -> list[dict[str, Any]]:
        """Rows of `inputs`: words need no frame, whose library takes as long to come as four plants."""
        before, after = self._lines
        ids = [i for i, what in self.roots.items() if what == "input" and not _head(after.get(i) or before[i])]
        ids += [i for i in self.change if _head(after.get(i) or before[i]) and i not in ids]
        ids.sort(key=lambda i: (_head(self.line(i)), self.line(i)["sort"] != "given", *_effect(self._row(i))))
        return [row for i in ids for row in self._elements(i)]

    @cached_property
    def moved(self) -> pd.DataFrame:
        """Values that changed, by effect on the checks; columns `MOVED`.

        First come those that lead to turned checks, nearest first; then those below which a margin moved
        most. ``effect`` is that move as a fraction of the limit, ``flips`` the number of turned checks.
        """
        return _frame(self.moved_rows, MOVED)

    @cached_property
    def moved_rows(self) -> list[dict[str, Any]]:
        """Rows of `moved`."""
        before, after = self._lines
        rows = []
        for id in self.change:
            line = after.get(id) or before[id]
            if line["sort"] != "checked" and self.roots.get(id) != "input":
                rows.append(self._row(id))
        return sorted(rows, key=_effect)

    @cached_property
    def checks(self) -> pd.DataFrame:
        """Checks that changed status, worst first, each with its cause; columns `TURNED`.

        ``how`` and ``causes`` (keys of the design) say which changed inputs give it its new status, as tested;
        ``chain`` lists ids from the first of them to the check; ``why`` says it in words.
        """
        frame = _frame(self.turned_rows, TURNED)
        for name in ("old_margin", "new_margin"):
            frame[name] = frame[name].astype(float)
        return frame

    @cached_property
    def turned_rows(self) -> list[dict[str, Any]]:
        """Rows of `checks`."""
        from desalbook.audit.compare_pages import because

        before, after = self._lines
        rows = []
        for id in self._turned:
            way, one = self.chain(id), self._causes.get(id)
            a, b = before.get(id), after.get(id)
            rows.append(
                {
                    "id": id,
                    "title": (b or a)["title"],  # pyright: ignore[reportOptionalSubscript]
                    "old": a["more"]["verdict"] if a else ABSENT,
                    "new": b["more"]["verdict"] if b else ABSENT,
                    "old_margin": a["more"].get("margin") if a else None,
                    "new_margin": b["more"].get("margin") if b else None,
                    "how": one.how if one is not None else "",
                    "causes": " ".join(dict.fromkeys(self.causes.changes[n].id for n in one.changes))
                    if one is not None and self.causes is not None else "",
                    "chain": " ".join(way),
                    "why": " ".join(because(self, id)),
                }
            )
        return rows

    @cached_property
    def rules(self) -> pd.DataFrame:
        """Relations, sources, engines and the kit that are not the same; columns `RULES`."""
        return _frame(self.rule_rows, RULES)

    @cached_property
    def rule_rows(self) -> list[dict[str, Any]]:
        """Rows of `rules`."""
        return _rules(self.old, self.new)

    @property
    def same(self) -> bool:
        """True when nothing differs."""
        return not self.change and not self.rule_rows

    def text(self, full: bool = False) -> str:
        """In words: causes, ten values, and counted what else changed; with `full` all of that too."""
        from desalbook.audit.compare_pages import as_text

        return as_text(self, full)

    def html(self, ways: bool = False) -> str:
        """The same as HTML, the rest folded; with `ways` an id is a button that asks for its line."""
        from desalbook.audit.compare_pages import as_html

        return as_html(self, ways)

    def page(self, path: str | os.PathLike[str] | None = None) -> str:
        """The same as one HTML file that needs nothing but itself, for the screen and for paper.

        Parameters
        ----------
        path : path, optional
            Where it is written, whole or not at all.

        Raises
        ------
        DesignError
            It cannot be written there.
        """
        from desalbook.audit.compare_pages import as_page

        text = as_page(self, "letter" if self.units == "us" else "a4")
        if path is not None:
            _write(Path(path), text)
        return text


def _frame(rows: list[dict[str, Any]], columns: tuple[str, ...]) -> pd.DataFrame:
    import pandas as pd

    return pd.DataFrame(rows, columns=list(columns))


def _write(path: Path, text: str) -> None:
    part = path.with_name(f".{path.name}.part")
    try:
        part.write_text(text, encoding="utf-8", newline="\n")
        os.replace(part, path)
    except OSError as error:
        part.unlink(missing_ok=True)
        raise DesignError("cannot be written to", where="out", value=str(path),
                          do=f"give another file ({error.strerror or error})") from None


def compare(old: Mapping[str, Any], new: Mapping[str, Any], units: str = "si", names: tuple[str, str] = ("", ""),
            told: Callable[[int, int], object] | None = None, executor: Executor | None = None,
            begun: Causes | None = None) -> Comparison:
    """Compare two records.

    Parameters
    ----------
    old, new : mapping
        As `trail.record.read` gives them.
    units : {"si", "us"}
    names : pair of str
        What the two are called, their files for one.
    told : callable, optional
        Called with how many plants between the two are sized, and how many there are to size.
    executor : concurrent.futures.Executor, optional
        Shares these plants among its workers; it must be at hand until the text or a table is made.
    begun : Causes, optional
        The plants between the designs of these records, where workers began them already.

    Returns
    -------
    Comparison
        Its tables (``inputs``, ``moved``, ``checks``, ``effects``, ``rules``) have a column ``id``; ``text()`` and
        ``html()`` say it in words.
    """
    units_of(units)
    return Comparison(old, new, units, names, told, executor, begun)


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
