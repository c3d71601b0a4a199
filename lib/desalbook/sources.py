"""The bibliography: where a figure, an equation or a limit comes from.

Every relation, table row and check names a key of ``data/sources.toml``. The kind of a source says how much
weight it carries: a figure of common practice is not a figure of a standard, and the page says which it is.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache
from importlib import resources

from desalbook.problems import TrailError

__all__ = ["SOURCE_KINDS", "Source", "source", "source_keys"]

SOURCE_KINDS = ("standard", "law", "handbook", "paper", "library", "definition", "design file",
                "common practice", "from memory")


@dataclass(frozen=True)
class Source:
    """One entry of the bibliography.

    Parameters
    ----------
    key : str
        Its key, lower case with dashes.
    author, title, where : str
        Who, what, and where it was published (journal and pages, DOI, ISBN, designation); empty for kinds
        that have none, such as common practice.
    year : int or None
        Year of publication.
    kind : str
        One of `SOURCE_KINDS`.
    unpublished : str
        Why a relation of this source may stand without a check point whose result is printed; else empty.
    """

    key: str
    author: str
    year: int | None
    title: str
    where: str
    kind: str
    unpublished: str = ""

    @property
    def citation(self) -> str:
        """One line as a list of references prints it."""
        who = f"{self.author.rstrip('.')}. " if self.author else ""
        when = f"({self.year}). " if self.year else ""
        return f"{who}{when}{self.title.rstrip('.')}.{f' {self.where}.' if self.where else ''}"

    def __str__(self) -> str:
        return self.citation


@cache
def _all() -> dict[str, Source]:
    text = resources.files("desalbook.data").joinpath("sources.toml").read_text(encoding="utf-8")
    made = {}
    for key, entry in tomllib.loads(text).items():
        unknown = set(entry) - {"author", "year", "title", "where", "kind", "unpublished"}
        if unknown or entry.get("kind") not in SOURCE_KINDS or not entry.get("title"):
            raise TrailError("not a proper entry of the bibliography", where=f"sources.toml [{key}]",
                             value=", ".join(sorted(unknown)) or str(entry.get("kind")),
                             allowed=f"a title and a kind out of {', '.join(SOURCE_KINDS)}")
        made[key] = Source(key, entry.get("author", ""), entry.get("year"), entry["title"],
                           entry.get("where", ""), entry["kind"], entry.get("unpublished", ""))
    return made


def source(key: str) -> Source:
    """The source of that key.

    Parameters
    ----------
    key : str
        A key of ``data/sources.toml``.

    Returns
    -------
    Source

    Raises
    ------
    TrailError
        When the bibliography has no such key; the nearest known one is named.
    """
    known = _all()
    if key in known:
        return known[key]
    near = get_close_matches(str(key), known, 1)
    raise TrailError("no such source in the bibliography", where="source", value=key,
                     do=f"enter {near[0]}" if near else "add it to data/sources.toml")


def source_keys() -> tuple[str, ...]:
    """All keys of the bibliography, in alphabetical order."""
    return tuple(sorted(_all()))
