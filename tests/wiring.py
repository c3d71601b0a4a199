"""Where relations are used: which module records one, which computes it plainly. Not a test itself.

Names are resolved as Python would: a relation of the module itself, one that is imported, or one reached through an
imported module (``transport.flux.at``). What is reached only through a variable is not seen.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import desalbook

__all__ = ["Uses", "uses", "uses_of"]

HANDED = {"call": "at", "at": "at", "whole": "at", "number": "plain"}
ROOT = Path(desalbook.__file__).parent
Uses = dict[str, dict[str, set[str]]]
"""Relation key -> "at" or "plain" -> places (``room/file.py:line``)."""


def _module(path: Path) -> str:
    parts = path.relative_to(ROOT.parent).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def _is_relation(node: ast.AST) -> bool:
    return isinstance(node, ast.FunctionDef) and any(
        isinstance(d, ast.Call) and isinstance(d.func, ast.Name) and d.func.id == "relation"
        for d in node.decorator_list)


@cache
def trees() -> dict[str, tuple[Path, ast.Module]]:
    """Every module of the kit by name."""
    return {_module(p): (p, ast.parse(p.read_text(encoding="utf-8"))) for p in sorted(ROOT.rglob("*.py"))}


def names_of(module: str, tree: ast.Module, package: bool) -> dict[str, str]:
    """What each name of a module stands for: ``desalbook.room.module`` or ``desalbook.room.module:name``."""
    found = {n.name: f"{module}:{n.name}" for n in tree.body if isinstance(n, ast.FunctionDef)}
    here = module.split(".") if package else module.split(".")[:-1]
    for n in ast.walk(tree):
        if isinstance(n, ast.Import):
            for a in n.names:
                if a.asname:
                    found[a.asname] = a.name
        elif isinstance(n, ast.ImportFrom):
            base = ".".join(here[: len(here) - n.level + 1]) if n.level else ""
            whole = ".".join(x for x in (base, n.module or "") if x)
            for a in n.names:
                full = f"{whole}.{a.name}"
                found[a.asname or a.name] = full if full in trees() else f"{whole}:{a.name}"
    return found


@cache
def _tables() -> dict[str, dict[str, str]]:
    return {name: names_of(name, tree, path.name == "__init__.py") for name, (path, tree) in trees().items()}


def _owner(target: str) -> str:
    """The module and name that a name is first defined under, through whatever passes it on."""
    for _ in range(9):
        module, _, name = target.partition(":")
        further = _tables().get(module, {}).get(name) if name else None
        if further is None or further == target:
            return target
        target = further
    return target


def _reached(node: ast.expr, names: dict[str, str]) -> str | None:
    """What an expression such as ``flux`` or ``transport.flux`` stands for."""
    if isinstance(node, ast.Name):
        return names.get(node.id)
    if isinstance(node, ast.Attribute):
        base = _reached(node.value, names)
        if base is None or ":" in base:
            return None
        return f"{base}.{node.attr}" if f"{base}.{node.attr}" in trees() else f"{base}:{node.attr}"
    return None


def uses_of(tree: ast.Module, names: dict[str, str]) -> Iterator[tuple[str, str, int]]:
    """(what, "at" or "plain", line) of every ``something.at`` and ``something.plain``, and of bare calls, as plain.

    A relation handed to a ``call`` or ``at`` that records or computes (see `membrane.transport`) is wired there, one
    handed to ``number`` is computed plainly.
    """
    for n in ast.walk(tree):
        if isinstance(n, ast.Call) and isinstance(n.func, ast.Name) and n.func.id in HANDED and n.args:
            what = _reached(n.args[0], names)
            if what is not None:
                yield _owner(what), HANDED[n.func.id], n.lineno
        if isinstance(n, ast.Attribute) and n.attr in ("at", "plain"):
            reached, how = n.value, n.attr
        elif isinstance(n, ast.Call):
            reached, how = n.func, "plain"
        else:
            continue
        what = _reached(reached, names)
        if what is not None:
            yield _owner(what), how, n.lineno


@cache
def uses() -> Uses:
    """Every relation of the kit and where it is used."""
    relations = {f"{name}:{n.name}" for name, (_, tree) in trees().items() for n in tree.body if _is_relation(n)}
    found: Uses = {key.removeprefix("desalbook."): {"at": set(), "plain": set()} for key in relations}
    for name, (path, tree) in trees().items():
        for what, how, line in uses_of(tree, _tables()[name]):
            if what in relations:
                found[what.removeprefix("desalbook.")][how].add(f"{path.relative_to(ROOT).as_posix()}:{line}")
    return found
