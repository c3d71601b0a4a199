"""Finding lines of a record, and following a figure to what it was made from."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, NamedTuple

from desalbook.audit.graph import chapter, parents
from desalbook.audit.page.shown import by_id, shown, units_of
from desalbook.audit.table import table
from desalbook.problems import DesignError
from desalbook.trail.ledger import SORTS
from desalbook.trail.written import expression_text

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["Node", "find", "upstream"]


def find(record: Mapping[str, Any], text: str = "", *, sort: str = "", chapter: str = "", corner: str = "",
         source: str = "", verdict: str = "", relation: str = "", units: str = "si") -> pd.DataFrame:
    """Lines in which every word is found and that are of the sort, chapter, case, ... said.

    Parameters
    ----------
    record : mapping
    text : str
        Words, each of which must stand in the id, title, symbol, note, source, caution, or equation of a line,
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
    frame = table(record, units)
    lines = by_id(record)
    words = text.lower().split()
    equations = {key: expression_text(r).lower() for key, r in record["relations"].items()} if words else {}

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
        return all(w in hay for w in words)

    keep = {id for id in lines if wanted(id)}
    shows = [(id if id in lines else id.rpartition("[")[0]) in keep for id in frame["id"]]
    return frame.loc[shows, :].reset_index(drop=True)


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
