"""Finding lines of a record, and following a figure to what it was made from."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, NamedTuple

from desalbook.audit.chapters import in_process_order
from desalbook.audit.graph import chapter, parents
from desalbook.audit.page.shown import by_id, shown, units_of
from desalbook.audit.table import rows_of
from desalbook.problems import DesignError
from desalbook.trail.ledger import SORTS
from desalbook.trail.words import part_words
from desalbook.trail.written import expression_text

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["Lineage", "Node", "System", "find", "lineage", "upstream"]


def find(record: Mapping[str, Any], text: str = "", *, sort: str = "", chapter: str = "", corner: str = "",
         source: str = "", verdict: str = "", relation: str = "", units: str = "si") -> pd.DataFrame:
    """Lines in which every word is found and that are of the sort, chapter, case, ... said, the nearest first.

    Nearest are lines whose name ends in the words, then those of a system of that name, those that have them in their
    title, their id, elsewhere; among equals a governing value comes before its cases, a value before its limit and the
    checks on it. Other words of the trade for the same (*LSI*, *brine*, *wash*) and plurals are understood. Without
    words the order is that of the record.

    Parameters
    ----------
    record : mapping
    text : str
        Words, each of which must begin a word in the id, title, symbol, note, source, caution, or equation of a line,
        in capitals or not.
    sort : str
        One of given, assumed, computed, engine, solved, picked, checked.
    chapter, case, source, verdict, relation : str
        Exactly that; ``corner="none"`` finds lines without one.
    units : {"si", "us"}

    Returns
    -------
    pandas.DataFrame
        Rows of `audit.table`.

    Raises
    ------
    DesignError
        No such sort.
    """
    if sort and sort not in SORTS:
        raise DesignError("no such sort", where="find.sort", value=sort, allowed=", ".join(SORTS),
                          do="enter one of these")
    lines = by_id(record)
    asked = _readings(text)
    equations = {key: expression_text(r).lower() for key, r in record["relations"].items()} if asked else {}

    def wanted(id: str) -> bool:
        x = lines[id]
        if (sort and x["sort"] != sort) or (source and x["source"] != source) or (
                relation and x["relation"] != relation) or (verdict and x["more"].get("verdict") != verdict):
            return False
        if chapter and _chapter(id) != chapter:
            return False
        if corner and (x["corner"] or "none") != corner:
            return False
        hay = " ".join((id, x["title"], x["symbol"], x["note"], x["source"], x["place"], *x["cautions"],
                        x["value"] if isinstance(x["value"], str) else "",
                        equations.get(x["relation"], ""))).lower()
        return not asked or any(all(p.search(hay) for p in patterns) for patterns in begins)

    # at the beginning of a word: CT stands in "product", "section" and three thousand lines more
    begins = [[re.compile(f"(?<![a-z0-9]){re.escape(w)}") for w in reading] for reading in asked]
    found = [x for id, x in lines.items() if wanted(id)]
    if asked:
        written = " ".join(text.lower().split())
        found.sort(key=lambda x: min(_distance(x, reading, written) for reading in asked))
    return rows_of(record, found, units)


_ALSO = {
    "lsi": "langelier", "reject": "concentrate", "brine": "concentrate", "wash": "backwash", "cleaning": "cip",
    "hpp": "hp pump", "high pressure pump": "hp pump", "high-pressure pump": "hp pump",
    "energy recovery device": "erd", "erd": "energy recovery", "beta": "cp factor",
    "concentration polarisation": "cp factor", "concentration polarization": "cp factor",
    "bisulphite": "bisulfite", "sbs": "bisulfite", "caustic": "sodium hydroxide", "sec": "specific energy",
    "power consumption": "specific energy", "energy consumption": "specific energy", "conversion": "recovery",
    "plant capacity": "net product flow", "capacity": "net product flow", "production": "net product flow",
    "silt density index": "sdi15", "headloss": "head loss", "dp": "pressure drop", "water hammer": "surge",
    "cable size": "cable section", "cost of water": "water cost", "ndp": "net driving pressure",
}
"""What else a term of the house is called: whoever reads a calculation brings words of his own."""
_IDLE = {"of", "the", "a", "an", "in", "at", "for", "to", "and", "number"}
_BOUNDS = {"limit", "guarantee", "specification"}
"""Chapters that hold what a value is judged by."""


def _stem(word: str) -> str:
    """A word without the s of its plural."""
    return word[:-1] if re.search(r"[a-z]{3}[^su]s$", word) else word


def _tokens(text: str) -> list[str]:
    return [_stem(w) for w in re.findall(r"[^\W_]+", text)]


def _readings(text: str) -> list[list[str]]:
    """The words as they are written and as the house says them, without plurals and words that say nothing."""
    whole = " ".join(text.lower().split())
    said = [whole, *(re.sub(rf"\b{other}\b", ours, whole) for other, ours in _ALSO.items())]
    made = [tuple(_stem(w) for w in one.split() if w not in _IDLE) for one in said]
    return [list(w) for w in dict.fromkeys(made) if w]


def _distance(line: Mapping[str, Any], words: list[str], written: str) -> tuple[float | bool, ...]:
    """How far a line is from what somebody looks for: the place of the words, then how particular the line is."""
    plain, _, case = line["id"].lower().partition("@")
    bare, phrase, many = re.sub(r"\[.*?\]", "", plain), " ".join(words), isinstance(line["value"], list)
    part, *names = (" ".join(_tokens(p)) for p in bare.split("."))
    last, title = (names[-1] if names else part).split(), _tokens(line["title"].lower())
    in_title, in_id = set(title), set(_tokens(plain))
    if phrase in (plain, _stem(plain)) or last == words:
        place = 0.7 * (bare.rpartition(".")[2].replace("_", " ") != written)  # "cable" is not "cables"
    elif title == words or set(words) == in_id:
        place = 1
    elif part == phrase:
        place = 1.5
    elif title[:len(words)] == words:
        place = 2
    elif set(words) <= set(last) or (set(words) <= in_id and words[-1] == last[-1]):
        place = 3
    elif set(words) <= in_title:
        place = 4
    elif set(words) <= in_id:
        place = 5
    elif set(words) <= in_title | in_id:
        place = 6
    else:
        place = 7
    # what is meant by a plain word: the governing value, not one case; a result, not what it is judged by; the plant,
    # not one entry of a list, a point along the vessels or the test of an element
    place += 1.1 * bool(case) + 0.6 * (many or bare != plain) + 1.5 * (bool(case) and many)
    place += 3.5 * (part in _BOUNDS and part not in words)
    place += 4 * ("node" in last or (names[0] == "element" and len(names) > 1 if names else False))
    return (place, line["sort"] == "checked", not set(words) <= in_title, line["sort"] in ("given", "assumed"),
            plain.count("."))


_chapter = chapter


class Node(NamedTuple):
    """One line on the way up from a figure.

    Parameters
    ----------
    id, title, value, sort : str
        ``value`` as people read it.
    depth : int
        Steps from the figure.
    above : tuple of str
        Lines it rests on that are shown.
    hidden : int
        Lines it rests on that are not.
    """

    id: str
    title: str
    value: str
    sort: str
    depth: int
    above: tuple[str, ...]
    hidden: int


def upstream(record: Mapping[str, Any], id: str, depth: int = 3, most: int = 40, units: str = "si") -> list[Node]:
    """What a figure was made from, the nearest first.

    Parameters
    ----------
    record : mapping
    id : str
    depth : int
        Steps to follow.
    most : int
        Lines to show; the nearest are kept.
    units : {"si", "us"}

    Raises
    ------
    DesignError
        No such line.
    """
    units_of(units)
    lines = by_id(record)
    if id not in lines:
        raise DesignError("the record has no such line", where="upstream", value=id,
                          do="find() and the table of the trail list all ids")
    far: dict[str, int] = {id: 0}
    todo = [id]
    for here in todo:
        if far[here] < depth:
            for p in parents(lines[here]):
                if p not in far and len(far) < most:
                    far[p] = far[here] + 1
                    todo.append(p)
    made = []
    for here, steps in far.items():
        x = lines[here]
        above = parents(x)
        seen = tuple(p for p in above if p in far and far[p] > steps)
        v = x["value"]
        said = x["more"]["verdict"] if x["sort"] == "checked" and v is None else (
            f"{len(v)} values" if isinstance(v, list) else shown(v, x["kind"], units, record))
        title = (x["title"] or here) + (f" at {x['corner']}" if x["corner"] else "")
        made.append(Node(here, title, said, x["sort"], steps, seen, len([p for p in above if p not in far])))
    return made


class System(NamedTuple):
    """The lines upstream of a figure that belong to one chapter.

    Parameters
    ----------
    key, title : str
        The chapter and its name.
    near : tuple of Node
        Its lines two steps up, which the inputs of the figure rest on, those that a person wrote first.
    feeds : tuple of str
        Inputs of the figure that rest on the near lines.
    lines, given, assumed : int
        All its lines upstream, those written by a person, and those that nobody confirmed.
    """

    key: str
    title: str
    near: tuple[Node, ...]
    feeds: tuple[str, ...]
    lines: int
    given: int
    assumed: int


class Lineage(NamedTuple):
    """Everything a figure rests on: its own inputs by name, and all that lies further up by system.

    Parameters
    ----------
    node : Node
    inputs : tuple of Node
    systems : tuple of System
        In the order of the water; the inputs themselves are in none of them.
    """

    node: Node
    inputs: tuple[Node, ...]
    systems: tuple[System, ...]


def lineage(record: Mapping[str, Any], id: str, units: str = "si") -> Lineage:
    """The whole way up from a figure, grouped by system.

    Parameters
    ----------
    record : mapping
    id : str
    units : {"si", "us"}

    Raises
    ------
    DesignError
        No such line.
    """
    near = {n.id: n for n in upstream(record, id, 2, 10**6, units)}
    lines, depth = by_id(record), {id: 0}
    todo = [id]
    for here in todo:
        for p in parents(lines[here]):
            if p not in depth:
                depth[p] = depth[here] + 1
                todo.append(p)
    inputs = tuple(near[p] for p in depth if depth[p] == 1)
    groups: dict[str, list[str]] = {}
    for p, steps in depth.items():
        if steps > 1:
            groups.setdefault(_chapter(p), []).append(p)
    systems = []
    for part in in_process_order(groups):
        some = groups[part]
        two = sorted((near[p] for p in some if depth[p] == 2), key=lambda n: n.sort != "given")
        seen = {n.id for n in two}
        feeds = tuple(n.id for n in inputs if not seen.isdisjoint(parents(lines[n.id])))
        sorts = [lines[p]["sort"] for p in some]
        systems.append(System(part, part_words(part), tuple(two), feeds, len(some), sorts.count("given"),
                              sorts.count("assumed")))
    return Lineage(near[id], inputs, tuple(systems))
