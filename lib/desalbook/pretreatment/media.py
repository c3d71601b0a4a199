"""Filter media and support layers: the grains of the table as objects, and the layers of a bed.

A medium is a row of the table ``media``; a row of a user's own (``table("media").add``) is a medium at once. What a
medium does in a bed, filter or support, is its role.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np

from desalbook.hydraulics.constants import Small
from desalbook.hydraulics.rows import column_line
from desalbook.problems import DesignError
from desalbook.tables import Cell, Row, table
from desalbook.trail import Choice, Column, Figure, assumed, checked, largest, note, picked, relation, scope, total
from desalbook.trail.inputs import Inputs
from desalbook.trail.limits import check_limit
from desalbook.units import Factor, M, show

__all__ = [
    "COLUMNS",
    "FILTERING",
    "ROLES",
    "SUPPORT",
    "Bed",
    "Layers",
    "Medium",
    "Number",
    "Role",
    "bed",
    "depth_over_effective_size",
    "media",
    "medium",
    "support_grading",
    "support_size_ratio",
    "total_depth",
]


Number = float | Column | np.ndarray
"""What a relation takes in the values context; a Figure is a float."""

COLUMNS = {
    "effective_size": "Effective size of the layers",
    "d60": "Size passing 60 %, by layer",
    "d90": "Size passing 90 %, by layer",
    "grain_density": "Grain density of the layers",
    "settled_porosity": "Settled porosity of the layers",
    "kappa_v": "Viscous coefficient of the layers",
    "kappa_i": "Inertial coefficient of the layers",
    "sphericity": "Sphericity of the layers",
    "uniformity": "Uniformity coefficient of the layers",
}
"""What a medium must state, and the title of its line."""


@dataclass(frozen=True)
class Role:
    """What a layer does in the bed: ids its lines begin with, axis along which its layers stand."""

    key: str
    prefix: str
    axis: str


FILTERING = Role("filter", "filters.media", "layer")
SUPPORT = Role("support", "filters.support", "support layer")
ROLES = {role.key: role for role in (FILTERING, SUPPORT)}


@dataclass(frozen=True)
class Medium:
    """Grains of one kind: a row of the table with its role."""

    row: Row
    role: Role

    def cell(self, column: str) -> Cell:
        """A property with its unit and source."""
        return self.row[column]


def medium(key: str, where: str = "filters.layers") -> Medium:
    """The medium of a key.

    Raises
    ------
    DesignError
        No such row, or a role that is not registered.
    """
    row = table("media").row(key, where)
    role = str(row["role"].value)
    if role not in ROLES:
        raise DesignError("no such role of a medium", where=row.where, value=role, allowed=", ".join(ROLES))
    return Medium(row, ROLES[role])


def media() -> dict[str, Medium]:
    """All media by key, added rows among them."""
    return {key: medium(key) for key in table("media")}


table("media").require("role", *COLUMNS)
media()  # a row with a role that is not registered is refused at import


@dataclass(frozen=True)
class Layers:
    """Layers of one role from the top down, each a Column along the axis of its layers."""

    depth: Column
    effective_size: Column
    d60: Column
    d90: Column
    grain_density: Column
    settled_porosity: Column
    kappa_v: Column
    kappa_i: Column
    sphericity: Column
    uniformity: Column

    @property
    def bare(self) -> Layers:
        """The same layers as bare arrays, for an iteration in the values context."""
        bare: dict[str, Any] = {f.name: getattr(self, f.name).values for f in fields(self)}
        return replace(self, **bare)


@dataclass(frozen=True)
class Bed:
    """Layers that filter, and the support below them (None where there is none)."""

    media: Layers
    support: Layers | None
    depth_over_size: Figure


@relation(
    "Sum of depth over effective size",
    symbol="r_L",
    unit="1",
    source="kawamura-2000",
    note="a guide to the depth of a bed, 1000 for sand and dual media",
)
def depth_over_effective_size(depth: M, effective_size: Small) -> Factor:
    """Bed depth over effective size, summed over the filtering layers (L/d ratio).

    A guide to how much a bed can hold, from practice with fresh water; it says nothing of coagulation, on which
    removal depends more.
    """
    return total(depth / effective_size)


@relation("Depth of the media", symbol="L", unit="m", source="definition")
def total_depth(depth: M) -> M:
    """Depth of a bed: sum over its layers.

    Settled depths; an expanded bed is deeper by its expansion.
    """
    return total(depth)


@relation(
    "Support / layer above, coarse grains",
    symbol="r_s",
    unit="1",
    source="common-practice",
    note="support holds back what lies on it up to four or five (filter rule of soil mechanics, from memory)",
)
def support_size_ratio(effective_size: Small, size_above: Small) -> Factor:
    """Effective size of a support layer over the d90 of the layer on it.

    A filter rule of soil mechanics: up to four or five, the coarser layer retains the finer. Says nothing of jets from
    broken nozzles, which upset any support.
    """
    return effective_size / size_above


def bed(inp: Inputs, layers: Sequence[str]) -> Bed:
    """Layers of the bed with the data of their media.

    Parameters
    ----------
    layers : sequence of str
        Names of ``filters.layers`` from the top down.
    """
    selected = {name: inp.choice(f"filters.layers[{name}].media") for name in layers}
    chosen = {name: medium(_based_on(inp, key), f"filters.layers[{name}].media") for name, key in selected.items()}
    top, support = (
        _layers(inp, role, {n: selected[n] for n in layers if chosen[n].role is role}, chosen)
        for role in (FILTERING, SUPPORT)
    )
    if top is None:
        raise DesignError("no layer filters", where="filters.layers", do="add a layer of anthracite, sand or garnet")
    ratio = depth_over_effective_size.at("filters.depth_over_size", depth=top.depth, effective_size=top.effective_size)
    checked(
        "filters.depth_over_size.check",
        ratio,
        ">=",
        inp.number("filters.depth_over_size_minimum"),
        title="Depth over effective size",
        do="deepen a layer or choose finer media",
    )
    check_limit("filters.uniformity.check", largest_uniformity.at("filters.uniformity", uniformity=top.uniformity),
                "media-uniformity", title="Uniformity coefficient of the media",
                do="order media of narrower grading (filters.layers, [[media]])")
    return Bed(top, support, ratio)


def _based_on(inp: Inputs, key: Choice) -> Choice:
    """The row of the kit behind a choice of media: itself, or the one that a medium of the design's own names."""
    return inp.choice(f"media[{key}].based_on") if key in inp.names("media") else key


@relation("Sieve size by the grading", symbol="d_p", unit="m", source="definition",
          place="log-normal grading through effective size and size passing 60 %")
def size_by_grading(effective_size: Small, uniformity: Factor, quantile_ratio: Factor) -> Small:
    """Sieve size that a stated part of the grains passes, by a log-normal grading through d10 and d60.

    The exponent is the ratio of normal quantiles, one for 60 %. A real sieve curve differs most at its ends; the report
    replaces it.
    """
    return effective_size * uniformity**quantile_ratio


def _exponent(id: str, column: str) -> Figure:
    """Exponent of the uniformity coefficient for a sieve size: a ratio of normal quantiles."""
    if column == "d60":
        return assumed(id, 1.0, "factor", title="Exponent of the uniformity coefficient", symbol="z_r",
                       source="definition", place="60 % passing defines the coefficient")
    return assumed(id, 1.67, "factor", title="Exponent of the uniformity coefficient", symbol="z_r",
                   source="definition", place="90 % passing: (1.2816 + 1.2816)/(0.2533 + 1.2816)")


@relation("Uniformity coefficient, largest", symbol="U_max", unit="1", source="definition")
def largest_uniformity(uniformity: Factor) -> Factor:
    """Largest uniformity coefficient of the filtering layers.

    A wide grading sorts itself at each backwash: its fines lie on top and clog.
    """
    return largest(uniformity)


def _of_own(inp: Inputs, name: str, key: Choice, column: str, of: Medium) -> Figure:
    """One property of a medium of the design's own: stated, derived from its grading, or that of the kit's medium."""
    at, id = f"media[{key}]", f"filters.layers[{name}].{column}"
    stated = inp.optional(f"{at}.{column}")
    if stated is not None:
        return stated
    if column in ("d60", "d90"):
        return size_by_grading.at(id, effective_size=inp.number(f"{at}.effective_size"),
                                  quantile_ratio=_exponent(f"{id}_exponent", column),
                                  uniformity=inp.number(f"{at}.uniformity"), title=of.cell(column).title)
    return _of_kit(id, inp.choice(f"{at}.based_on"), of.cell(column), f"blank for the medium {key}; ")


def _of_kit(id: str, because: Choice, cell: Cell, place: str = "") -> Figure:
    with scope(because=[because]):
        return assumed(id, cell.value, cell.kind, title=cell.title, symbol=cell.symbol, text=cell.text,
                       source=cell.source, place=f"{place}{cell.place}", table="media", row=str(because))


def _column(inp: Inputs, id: str, column: str, title: str, role: Role, selected: dict[str, Choice],
            media: dict[str, Medium]) -> Column:
    """A property along the layers: of the table alone, or with what the design's own media state."""
    own = [name for name, key in selected.items() if key in inp.names("media")]
    if not own:
        return column_line(id, "media", [(name, media[name].cell(column)) for name in selected], axis=role.axis,
                           title=title, because=[*selected.values()])
    found = {name: _of_own(inp, name, key, column, media[name]) if name in own else
             _of_kit(f"filters.layers[{name}].{column}", key, media[name].cell(column))
             for name, key in selected.items()}
    cell = media[next(iter(selected))].cell(column)
    with scope(because=[*selected.values()]):
        return picked(id, [float(x) for x in found.values()], cell.kind, title=title, symbol=cell.symbol,
                      rule="the medium of each layer", axis=role.axis, keys=[*found], inputs=found,
                      candidates=[{"key": name, "value": float(x), "won": True} for name, x in found.items()])


def _report(inp: Inputs, name: str, key: Choice, of: Medium) -> None:
    """Size of a medium of the design's own against what is usual of its kind, and where its data come from."""
    at = f"media[{key}]"
    size, low, high = inp.number(f"{at}.effective_size"), of.cell("usual_size_low"), of.cell("usual_size_high")
    usual = low.value <= float(size) <= high.value
    origin = [x for x in (inp.selected(f"{at}.source"), inp.selected(f"{at}.date")) if x is not None]
    said = f"{show(float(size), 'length.small')}, usual {low.text} to {high.text}"
    note(f"filters.layers[{name}].report", title=f"Medium of the layer {name}",
         verdict="passes" if usual and origin else "review",
         why=said + (f"; {', '.join(map(str, origin))}" if origin else "; its source is blank"),
         do=f"check {at}.effective_size against the sieve report, and state {at}.source",
         inputs={"size": size, "based_on": inp.choice(f"{at}.based_on")}
         | {f"said_{n}": x for n, x in enumerate(origin)})


def _layers(inp: Inputs, role: Role, selected: dict[str, Choice], media: dict[str, Medium]) -> Layers | None:
    if not selected:
        return None
    names = [*selected]
    columns = {column: _column(inp, f"{role.prefix}.{column}", column, title, role, selected, media)
               for column, title in COLUMNS.items()}
    for name, key in selected.items():
        if key in inp.names("media"):
            _report(inp, name, key, media[name])
    depths = [inp.number(f"filters.layers[{name}].depth") for name in names]
    depth = picked(
        f"{role.prefix}.depth",
        [float(d) for d in depths],
        "length",
        title="Depth of the layers",
        symbol="L",
        rule="the layers of this role in order from the top down",
        candidates=[{"key": n, "value": float(d), "won": True} for n, d in zip(names, depths, strict=True)],
        inputs=dict(zip(names, depths, strict=True)),
        axis=role.axis,
        keys=names,
    )
    return Layers(depth, **columns)


def support_grading(of: Bed) -> None:
    """Does the uppermost support layer retain the media on it? A finding only where there is support."""
    if of.support is None:
        return
    lowest, first = of.media.d90.keys[-1], of.support.effective_size.keys[0]
    step = support_size_ratio.at(
        "filters.support_step", effective_size=of.support.effective_size[first], size_above=of.media.d90[lowest]
    )
    most = assumed(
        "filters.support_step_limit",
        5,
        "factor",
        title="Support-gravel to sand size ratio",
        symbol="r_s",
        source="from-memory",
        place="filter rule of soil mechanics, 4 to 5",
    )
    checked(
        "filters.support_step.check",
        step,
        "<=",
        most,
        title=f"Size step, {first} under {lowest}",
        do="add a finer support layer",
    )
