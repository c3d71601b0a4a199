"""What `import desalbook` gives: each public name with its signature and its documentation."""

from __future__ import annotations

import inspect
import re
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import desalbook
from desalbook import api, calc, study
from desalbook.calc.result import Result
from desalbook.design import Design
from desalbook.export import Trail
from desalbook.trail.figure import Choice, Column, Figure
from desalbook.trail.relation import Relation

__all__ = ["Entry", "entries", "sections"]

_CLASSES: tuple[type, ...] = (api.Plant, Design, Trail, Result, Figure, Column, Choice, Relation)
_BUILTIN = {name for base in (float, str, object) for name in dir(base)}


@dataclass(frozen=True)
class Entry:
    """One public name.

    Parameters
    ----------
    group : str
        Heading it stands under.
    name : str
        As it is written: ``desalbook.size``, ``Plant.checks``, ``calc.filters``.
    signature : str
        Empty for what takes no arguments.
    doc : str
        Its documentation.
    """

    group: str
    name: str
    signature: str
    doc: str


def entries() -> tuple[Entry, ...]:
    """Every public name: functions of the package, classes with their members, stand-alone calculations, studies."""
    found = [_of("Functions", f"desalbook.{name}", getattr(desalbook, name))
             for name in desalbook.__all__ if callable(getattr(desalbook, name))]
    for one in _CLASSES:
        found.append(_of(one.__name__, one.__name__, one))
        for name in (n for n in dir(one) if not n.startswith("_") and n not in _BUILTIN):
            member = inspect.getattr_static(one, name)
            if callable(member) or isinstance(member, (property, cached_property, staticmethod, classmethod)):
                found.append(_of(one.__name__, f"{one.__name__}.{name}", getattr(one, name, member)))
    found += [_of("Stand-alone calculations", f"calc.{name}", getattr(calc, name)) for name in dir(calc)]
    found += [_of("Studies", f"study.{name}", getattr(study, name)) for name in study.__all__
              if callable(getattr(study, name))]
    return tuple(found)


def _of(group: str, name: str, what: Any) -> Entry:
    target: Any = what.func if isinstance(what, cached_property) else what.fget if isinstance(what, property) else what
    signature = ""
    if target is what and not isinstance(what, type):
        try:
            signature = str(inspect.signature(target)).replace("(self, ", "(").replace("(self)", "()")
        except (TypeError, ValueError):
            signature = "(...)"
        signature = re.sub(r": '([^']*)'", r": \1", signature.partition(" ->")[0]).replace(": 1 =", " =")
    return Entry(group, name, signature, inspect.getdoc(target) or "")


def sections(doc: str) -> list[tuple[str, list[str]]]:
    """A docstring as its text, under an empty head, and its headed sections.

    Returns
    -------
    list of (head, lines)
    """
    found: list[tuple[str, list[str]]] = [("", [])]
    lines = doc.splitlines()
    skip = False
    for line, below in zip(lines, [*lines[1:], ""], strict=True):
        if skip:
            skip = False
        elif line.strip() and re.fullmatch(r"-{3,}", below.strip()):
            found.append((line.strip(), []))
            skip = True
        else:
            found[-1][1].append(line)
    return [(head, some) for head, some in found if any(x.strip() for x in some)]
