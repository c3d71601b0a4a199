"""The list of what can be set at a step: the few fields that decide, then folded groups, and a search over all.

A field stands in it when the plant as it is asks for it, or when somebody wrote it: a key that changes nothing here
would only be in the way. Rows are made of what is in view alone, for each change makes them anew.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from desalbook.design.sections import LISTS
from desalbook.design.words import part_words
from desalbook.notebook import controls
from desalbook.notebook.session import Session
from desalbook.notebook.steps import STEPS, Step
from desalbook.trail.systems import plural
from desalbook.units.fields import FieldMeta, metas

__all__ = ["FIXED", "FOUND", "MOST", "OPTIONAL", "FieldList", "applies"]

FOUND = "?"
"""Group of what a search found."""
MOST = 12
"""Rows that a search shows."""
OPTIONAL = ("membrane.second_pass",)
"""Sections that a plant may be without."""
FIXED = ("piping.runs",)
"""Lists whose entries are those of the kit."""
_WATERS = ("ions", "sea_salinity", "analyses")
_ALWAYS = ("project", "limits", "cost", "guarantees", "energy", "offer")
"""Sections that people read and write for themselves: heads of sheets, limits and prices of their own."""


def applies(plant: Any, design: Any, key: str, m: FieldMeta) -> bool:
    """Whether a key decides anything in this plant, or is written.

    Parameters
    ----------
    plant : Plant
        What it was asked for while this was sized, is known of it.
    design : Design
    key : str
    m : FieldMeta
    """
    reads = getattr(plant, "reads", ())
    section, _, name = key.partition(".")
    if section == "water" and (way := name.partition("[")[0].partition(".")[0]) in _WATERS:  # one composition alone
        stated = [x for x in _WATERS if design.stands(f"water.{x}")]
        return not stated or way in stated
    if not reads or design.stands(key) or section in _ALWAYS or name == "present":
        return True
    if name == "reason":  # why a step is left out, where it is
        return f"{section}.present" in plant and str(plant[f"{section}.present"]) == "no"
    return key in reads or key.rpartition("[")[0] in reads


class FieldList:
    """What stands in the list now.

    Parameters
    ----------
    session : Session
    step : Step
    """

    def __init__(self, session: Session, step: Step):
        self.session, self.step = session, step
        self.open: set[str] = set()
        self.find = ""
        self.note = ""
        if not step.decides and step.parts:
            self.open.add(step.parts[0])

    def groups(self) -> list[dict[str, Any]]:
        """The folded groups: key, title, the group it stands in (empty at the top), whether it is open."""
        design, found = self.session.design, list[dict[str, Any]]()

        def add(parts: Iterable[str], under: str) -> None:
            for part in parts:
                paths = [p for p in controls.sections(design) if _within(p, part)]
                if not paths and part not in LISTS:
                    continue
                found.append(self._group(part, part_words(part), under))
                nested = [p for p in paths if p != part]
                found.extend(self._group(p, _last(part_words(p), part_words(part)), part) for p in nested)

        if self.step.parts:
            add(self.step.parts, "")
            return found
        taken: set[str] = set()
        every = dict.fromkeys((*(p.partition(".")[0].partition("[")[0] for p in controls.sections(design)), *LISTS))
        steps = [(s.key, s.title, [p for p in s.parts if p in every]) for s in STEPS.values() if s.parts]
        said = {p for _, _, parts in steps for p in parts}
        for key, title, parts in (("plant", "Duty, site and limits", [p for p in every if p not in said]), *steps):
            mine = [p for p in parts if p not in taken]
            taken.update(mine)
            if mine:
                found.append(self._group(f"step {key}", title, ""))
                add(mine, f"step {key}")
        return found

    def _group(self, key: str, title: str, under: str) -> dict[str, Any]:
        return {"key": key, "title": title, "under": under, "open": key in self.open,
                "remove": key.endswith("]") or (key in OPTIONAL and self.session.design.get(key) is not None)}

    def rows(self, units: str) -> list[dict[str, Any]]:
        """Rows in view, each with its group: those that decide ("" as group), what was found, what is open."""
        session, design, plant = self.session, self.session.design, self.session.plant
        paths = controls.sections(design)
        made: list[dict[str, Any]] = []

        def add(key: str, m: FieldMeta, group: str) -> None:
            row = controls.row(session, key, m, units) | {"group": group}
            if group == FOUND or (group == "" and titles.count(m.title) > 1):
                row["title"] = f"{row['title']} ({part_words(key.rpartition('.')[0])})"
            made.append(row)

        first = {}
        for key in self.step.decides:
            path = key.rpartition(".")[0]
            m = controls.of_section(design, path, paths[path]).get(key) if path in paths else None
            if m is not None and applies(plant, design, key, m):
                first[key] = m
        titles = [m.title for m in first.values()]
        for key, m in first.items():
            add(key, m, "")
        shown = set(first)
        self.note = ""
        if self.find:
            shown |= self._found(add, shown)
        for path, cls in paths.items():
            if path in self.open:
                for key, m in controls.of_section(design, path, cls).items():
                    if key not in shown and applies(plant, design, key, m):
                        add(key, m, path)
                for key, m in metas(cls).items():
                    id = f"{path}.{key}"
                    if (m.form == "sections" and id not in FIXED) or (id in OPTIONAL and design.get(id) is None):
                        made.append(controls.adding(session, id, m, units) | {"group": path})
        for id, m in LISTS.items():
            if id in self.open:
                made.append(controls.adding(session, id, m, units) | {"group": id})
        return made

    def _found(self, add: Any, above: set[str]) -> set[str]:
        """Fields whose name, section or key has all the words; those of this step first, then by their names.

        A field stands in the list once, so those `above` are counted only.
        """
        words = self.find.lower().replace("\N{NO-BREAK SPACE}", " ").split()
        plant, design = self.session.plant, self.session.design
        hits, away, there = [], 0, 0
        for path, some in controls.fields(design).items():
            part = part_words(path).lower()
            for key, m in some.items():
                title = m.title.lower()
                text = f"{title} {part} {key.lower()}"
                if not all(w in text for w in words):
                    continue
                if not applies(plant, design, key, m):
                    away += 1
                    continue
                if key in above:
                    there += 1
                    continue
                rank = (key.lower() != self.find.lower(), not any(_within(path, p) for p in self.step.parts),
                        not all(w in title for w in words))
                hits.append((rank, key, m))
        hits.sort(key=lambda hit: hit[0])
        for _, key, m in hits[:MOST]:
            add(key, m, FOUND)
        most, above_ = f", the first {MOST} shown", f", {there} of them above"
        told = [f"{plural(len(hits) + there, 'field')} found" + (most if len(hits) > MOST else "")
                + (above_ if there else "")]
        if away:
            told.append(f"{away} more {'does' if away == 1 else 'do'} not apply to this plant")
        self.note = "; ".join(told) + "."
        return {key for _, key, _ in hits[:MOST]}

    def reveal(self, key: str) -> bool:
        """Bring a key among the rows in view; False when it is no key that has a field."""
        design = self.session.design
        for path, some in controls.fields(design).items():
            if key not in some:
                continue
            if key in self.step.decides:
                return True
            part = next((p for p in self.step.parts if _within(path, p)), None)
            if part is not None and applies(self.session.plant, design, key, some[key]):
                self.open |= {path, part}
            else:
                self.find = key
            return True
        return False


def _within(path: str, part: str) -> bool:
    return path == part or path.startswith((f"{part}.", f"{part}["))


def _last(words: str, of: str) -> str:
    """Words of an entry without those of the section it stands in."""
    short = words.removeprefix(of).lstrip(", ")
    return short[:1].upper() + short[1:] if short else words
