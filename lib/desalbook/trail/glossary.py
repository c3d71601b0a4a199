"""The glossary of argument names: one symbol, one title and one kind for each name, in every room."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources

from desalbook.problems import TrailError
from desalbook.units.kinds import KINDS, Kind

__all__ = ["Term", "clashes", "glossary", "symbol_of", "term"]


@dataclass(frozen=True)
class Term:
    """One name.

    Parameters
    ----------
    name, symbol, title : str
    kind : Kind
    file : str
        The data file it stands in.
    """

    name: str
    symbol: str
    title: str
    kind: Kind
    file: str


@cache
def _read() -> tuple[tuple[Term, ...], tuple[str, ...]]:
    data = resources.files("desalbook.data")
    files = [data / "glossary.toml"] if (data / "glossary.toml").is_file() else []
    folder = data / "glossary"
    if folder.is_dir():
        files += sorted((f for f in folder.iterdir() if f.name.endswith(".toml")), key=lambda f: f.name)
    found: dict[str, Term] = {}
    bad = []
    for file in files:
        try:
            entries = tomllib.loads(file.read_text(encoding="utf-8"))
        except tomllib.TOMLDecodeError as error:
            raise TrailError(f"not TOML: {error}", where=file.name) from None
        for name, entry in entries.items():
            where = f"{file.name} [{name}]"
            if not isinstance(entry, dict) or set(entry) - {"symbol", "title", "kind"}:
                raise TrailError("an entry has a symbol, a title and a kind, nothing else", where=where)
            if entry.get("kind") not in KINDS:
                raise TrailError("no such kind of number", where=where, value=entry.get("kind"))
            if not entry.get("symbol") or not entry.get("title"):
                raise TrailError("needs a symbol and a title", where=where)
            new = Term(name, entry["symbol"], entry["title"], KINDS[entry["kind"]], file.name)
            old = found.setdefault(name, new)
            if old.kind.family != new.kind.family:
                bad.append(f"{name}: {old.kind.name} in {old.file}, {new.kind.name} in {new.file}")
    return tuple(found.values()), tuple(bad)


@cache
def glossary() -> dict[str, Term]:
    """All terms by name; where two files say the same name, the first holds (see `clashes`)."""
    return {t.name: t for t in _read()[0]}


def clashes() -> tuple[str, ...]:
    """Names that two files give kinds of different families; must be empty (tested)."""
    return _read()[1]


def term(name: str) -> Term | None:
    """The term of that name, or None."""
    return glossary().get(name)


def symbol_of(name: str) -> str:
    """Symbol of an argument; its name in words when the glossary lacks it."""
    found = glossary().get(name)
    return found.symbol if found else name.replace("_", " ")
