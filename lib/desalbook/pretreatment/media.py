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
from desalbook.trail import Choice, Column, Figure, assumed, checked, picked, relation, total
from desalbook.trail.inputs import Inputs
from desalbook.units import Factor, M

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
    chosen = {name: medium(key, f"filters.layers[{name}].media") for name, key in selected.items()}
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
    return Bed(top, support, ratio)


def _layers(inp: Inputs, role: Role, selected: dict[str, Choice], media: dict[str, Medium]) -> Layers | None:
    if not selected:
        return None
    names, because = [*selected], [*selected.values()]
    columns = {
        column: column_line(
            f"{role.prefix}.{column}",
            "media",
            [(name, media[name].cell(column)) for name in names],
            axis=role.axis,
            title=title,
            because=because,
        )
        for column, title in COLUMNS.items()
    }
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
