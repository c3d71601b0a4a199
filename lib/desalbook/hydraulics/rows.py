"""Lines from data tables: one value of a row, and the smallest standard size that is large enough."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from desalbook.problems import Infeasible
from desalbook.tables import Cell, Row, table
from desalbook.trail import Column, Figure, assumed, checked, picked, scope
from desalbook.trail.inputs import Inputs
from desalbook.units import show

__all__ = ["column_line", "least_row", "row_line", "standard_size"]


def row_line(
    id: str, of: str, key: str, name: str, *, because: Sequence[Any] = (), title: str = ""
) -> Figure:
    """A value of a data table as an assumed line.

    Parameters
    ----------
    id : str
    of, key, name : str
        Table, row and column.
    because : sequence
        The choices or figures that named the row.
    """
    row = table(of).row(key, id)
    cell = row[name]
    with scope(because=because):
        return assumed(
            id,
            cell.value,
            cell.kind,
            title=title or cell.title,
            symbol=cell.symbol,
            text=cell.text,
            source=cell.source,
            place=cell.place,
            table=of,
            row=row.key,
        )


def column_line(
    id: str, of: str, cells: Sequence[tuple[str, Cell]], *, axis: str, title: str, because: Sequence[Any] = ()
) -> Column:
    """Several cells of one kind as one assumed line along an axis, by key.

    Parameters
    ----------
    cells : sequence of (key, Cell)
        Along the axis, all of one kind.
    """
    first = cells[0][1]
    places = dict.fromkeys(f"{c.source}: {c.place}" if c.place else c.source for _, c in cells)
    with scope(because=because):
        return assumed(
            id,
            [c.value for _, c in cells],
            first.kind,
            title=title,
            symbol=first.symbol,
            axis=axis,
            keys=[key for key, _ in cells],
            source=first.source,
            place=first.place,
            note="; ".join(places) if len(places) > 1 else "",
            table=of,
        )


def least_row(
    id: str, of: str, name: str, needed: Figure, *, title: str, rule: str, do: str, because: Sequence[Any] = (),
) -> tuple[Figure, Row]:
    """The smallest standard size of a table that is not below what is needed.

    Parameters
    ----------
    of, name : str
        Table and its numeric column.
    needed : Figure
        Same kind family as the column.
    do : str
        What to do where the table ends below it.

    Returns
    -------
    Figure, Row
        The picked line and its row.

    Raises
    ------
    Infeasible
        The table ends below what is needed.
    """
    rows = table(of).ascending(name)
    kind = rows[0][name].kind
    sizes = [row.cells[name].value for row in rows]
    least = needed.value * (1 - 1e-9)
    at = next((i for i, size in enumerate(sizes) if size >= least), None)
    if at is None:
        raise Infeasible(
            f"{title.lower()}: no standard size is large enough",
            where=id,
            value=show(needed.value, needed.kind),
            allowed=f"up to {rows[-1][name].text}",
            do=do,
        )
    won = rows[at]
    why = (
        f"the next smaller, {rows[at - 1][name].text}, is below {show(needed.value, needed.kind)}"
        if at
        else "the smallest there is"
    )
    cell = won[name]
    with scope(because=because):
        figure = picked(
            id,
            cell.value,
            kind,
            title=title,
            symbol=cell.symbol,
            rule=rule,
            candidates=[{"key": row.key, "value": size, "won": row is won}
                        for row, size in zip(rows, sizes, strict=True)],
            inputs={"needed": needed},
            why=why,
            table=of,
            source=cell.source,
        )
    return figure, won


def standard_size(
    inp: Inputs, id: str, of: str, name: str, needed: Figure, *, title: str, rule: str, do: str,
) -> Figure:
    """The size that the design writes under this id, checked against what is needed, else the least standard one.

    Parameters
    ----------
    id : str
        Id of the line and key of the design.
    of, name, needed, title, rule, do
        As for `least_row`.
    """
    held = inp.optional(id)
    if held is None:
        return least_row(id, of, name, needed, title=title, rule=rule, do=do)[0]
    checked(f"{id}.check", held, ">=", needed, title=title, do=f"raise {id}, or clear it")
    return held
