"""Every check and finding the kit can judge, read from the places where the rooms write them.

A check has no row in a table: a room judges two values of its own. What is common to all of its cases (what is
judged, at least or at most, what to do, who says so) stands in the call, and is read from there; a part of an id or a
title that is made while a plant is sized is shown as an ellipsis.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from desalbook.guidelines import guideline, guideline_keys

__all__ = ["GAP", "Judgement", "judgements"]

_ROOT = Path(__file__).parents[1]
_ROOMS = ("water", "hydraulics", "duty", "pretreatment", "membrane", "dosing", "product", "cleaning", "controls",
          "electrical", "fabrication", "plant", "cost", "operation")
_WRITERS = {"checked": ("id", "provided", "sense", "limit"), "note": ("id",),
            "check_limit": ("id", "provided", "key"), "review_limit": ("id", "provided", "key")}
"""The functions of the trail that write a verdict, with the names of what stands in their calls without one."""
GAP = "…"
"""Stands for what is made while a plant is sized."""


@dataclass(frozen=True)
class Judgement:
    """One check or finding.

    Parameters
    ----------
    id, title, do, source : str
        As the room writes them; made parts are an ellipsis. ``source`` is empty where it is that of the limit.
    sense : str
        ``at least``, ``at most``, either of them, or ``finding`` for one that has no limit.
    limit : str
        Row of the guidelines it is judged by; empty where the limit is another value.
    room, module : str
        Who judges.
    """

    id: str
    title: str
    sense: str
    do: str
    source: str
    limit: str
    room: str
    module: str

    def matches(self, id: str) -> bool:
        """Whether a plant's check is one of this kind."""
        parts = (re.escape(x) for x in self.id.split(GAP))
        return re.fullmatch(".*".join(parts), id.partition("@")[0]) is not None


@cache
def judgements() -> tuple[Judgement, ...]:
    """All of them, by room and id.

    Returns
    -------
    tuple of Judgement
    """
    found = {(j.id, j.title): j for room in _ROOMS for path in sorted((_ROOT / room).rglob("*.py"))
             for j in _of_module(path, room)}
    return tuple(sorted(found.values(), key=lambda j: (_ROOMS.index(j.room), j.id, j.title)))


def _of_module(path: Path, room: str) -> Iterator[Judgement]:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    known = {a.asname or a.name: a.name for n in ast.walk(tree) if isinstance(n, ast.ImportFrom)
             and (n.module or "").startswith("desalbook.trail") for a in n.names if a.name in _WRITERS}
    module = ".".join(path.relative_to(_ROOT).with_suffix("").parts)
    for function in (n for n in ast.walk(tree) if isinstance(n, ast.FunctionDef)):
        held = _held(function)
        for n in ast.walk(function):
            if isinstance(n, ast.Call) and isinstance(n.func, ast.Name) and n.func.id in known:
                found = _of_call(n, known[n.func.id], held)
                if found is not None:
                    yield Judgement(**found, room=room, module=module)


def _of_call(n: ast.Call, writer: str, held: Mapping[str, ast.expr]) -> dict[str, str] | None:
    """What a call says of its check; None where it passes on what another call says."""
    names = _WRITERS[writer]
    said = dict(zip(names, n.args, strict=False)) | {k.arg: k.value for k in n.keywords if k.arg}
    id, title = _text(said.get("id"), held), _text(said.get("title"), held)
    sense, source, row = "finding", _text(said.get("source"), held, bare=True), ""
    if writer == "checked":
        sense = _sense(said.get("sense"))
    elif "key" in names:
        row = _text(said.get("key"), held, bare=True)
        known = row in guideline_keys()
        title = title or (guideline(row).title if known else GAP)
        sense = {"≤": "at most", "≥": "at least"}[guideline(row).sense] if known else "at least or at most"
        source = guideline(row).source if known else ""
    if not id.strip(GAP + ".") or not title:
        return None
    return {"id": id, "title": title, "sense": sense, "do": _text(said.get("do"), held), "source": source,
            "limit": row if row in guideline_keys() else ""}


def _held(function: ast.FunctionDef) -> Mapping[str, ast.expr]:
    """Names a function gives one text to, so that the text can be shown for the name."""
    found: dict[str, list[ast.expr]] = {}
    for n in ast.walk(function):
        if isinstance(n, ast.Assign) and len(n.targets) == 1 and isinstance(n.targets[0], ast.Name):
            found.setdefault(n.targets[0].id, []).append(n.value)
    return {name: values[0] for name, values in found.items() if len(values) == 1}


def _text(n: ast.expr | None, held: Mapping[str, ast.expr], bare: bool = False, depth: int = 0) -> str:
    """A text as it is written; an ellipsis for what is made while a plant is sized."""
    if n is None:
        return ""
    if isinstance(n, ast.Constant):
        return str(n.value)
    if isinstance(n, ast.JoinedStr):
        return _once("".join(_text(x, held, bare, depth) for x in n.values))
    if isinstance(n, ast.FormattedValue):
        return _text(n.value, held, bare, depth) if isinstance(n.value, ast.Name) else GAP
    if isinstance(n, ast.BinOp) and isinstance(n.op, ast.Add):
        return _once(_text(n.left, held, bare, depth) + _text(n.right, held, bare, depth))
    if isinstance(n, ast.IfExp) and depth < 4:
        a, b = (_text(x, held, bare, depth + 1) for x in (n.body, n.orelse))
        return f"{a}, or {b}" if a and b and a != b and not bare and GAP not in a + b else a or b
    if isinstance(n, ast.Name) and n.id in held and depth < 4:
        return _text(held[n.id], held, bare, depth + 1)
    return "" if bare else GAP


def _once(text: str) -> str:
    return re.sub(rf"{GAP}(\s*{GAP})+", GAP, text)


def _sense(n: ast.expr | None) -> str:
    if isinstance(n, ast.Constant) and n.value in ("<=", ">="):
        return "at most" if n.value == "<=" else "at least"
    return "at least or at most"
