"""Element types by position in one vessel: what belongs to each slice, as columns along the vessel."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from desalbook.membrane.element import Element, element
from desalbook.membrane.transport import Small
from desalbook.problems import Infeasible
from desalbook.trail import Column, Figure, assumed, govern, relation, scope, total
from desalbook.units import M2, Count, Factor, Fraction, M, SaltPermeability, WaterPermeability

__all__ = ["Mixed", "by_element", "mixed"]


@relation("Water permeability by position", symbol="A_25", unit="m/(s Pa)", source="definition")
def water_permeability_placed(rest_permeability: WaterPermeability, permeability: WaterPermeability,
                              placed: Factor) -> WaterPermeability:
    """Water permeability along a vessel of mixed types: this one's where it is placed, else the rest's.

    One type after another is laid over the vessel; a position takes the last that names it.
    """
    return rest_permeability * (1 - placed) + permeability * placed


@relation("Solute permeability by position", symbol="B_25", unit="m/s", source="definition")
def salt_permeability_placed(rest_salt_permeability: SaltPermeability, salt_permeability: SaltPermeability,
                             placed: Factor) -> SaltPermeability:
    """Solute permeability along a vessel of mixed types: this one's where it is placed, else the rest's.

    One type after another is laid over the vessel; a position takes the last that names it.
    """
    return rest_salt_permeability * (1 - placed) + salt_permeability * placed


@relation("Membrane area by position", symbol="A_e", unit="m^2", source="definition")
def area_placed(rest_area: M2, element_area: M2, placed: Factor) -> M2:
    """Membrane area along a vessel of mixed types: this one's where it is placed, else the rest's.

    One type after another is laid over the vessel; a position takes the last that names it.
    """
    return rest_area * (1 - placed) + element_area * placed


@relation("Membrane length by position", symbol="L_e", unit="m", source="definition")
def length_placed(rest_length: M, element_length: M, placed: Factor) -> M:
    """Element length along a vessel of mixed types: this one's where it is placed, else the rest's.

    One type after another is laid over the vessel; a position takes the last that names it.
    """
    return rest_length * (1 - placed) + element_length * placed


@relation("Spacer height by position", symbol="h_s", unit="m", source="definition")
def height_placed(rest_height: Small, spacer_height: Small, placed: Factor) -> Small:
    """Spacer height along a vessel of mixed types: this one's where it is placed, else the rest's.

    One type after another is laid over the vessel; a position takes the last that names it.
    """
    return rest_height * (1 - placed) + spacer_height * placed


@relation("Spacer porosity by position", symbol="epsilon_s", unit="1", source="definition")
def porosity_placed(rest_porosity: Fraction, spacer_porosity: Fraction, placed: Factor) -> Fraction:
    """Spacer porosity along a vessel of mixed types: this one's where it is placed, else the rest's.

    One type after another is laid over the vessel; a position takes the last that names it.
    """
    return rest_porosity * (1 - placed) + spacer_porosity * placed


@relation("Mean membrane area of an element", symbol="A_em", unit="m^2", source="definition")
def mean_area(slice_area: M2, elements_per_vessel: Count) -> M2:
    """Mean membrane area of the elements of one vessel.

    For average fluxes only: the solver takes each element's own area.
    """
    return total(slice_area) / elements_per_vessel


# sheet column: relation, its argument for what was there, its argument for this type
_SHEET = {"area": (area_placed, "rest_area", "element_area"),
          "length": (length_placed, "rest_length", "element_length"),
          "spacer_height": (height_placed, "rest_height", "spacer_height"),
          "spacer_porosity": (porosity_placed, "rest_porosity", "spacer_porosity")}
_PASSING = ("salt_permeability", "boric_acid_permeability")
REST = ""  # the type of the positions that are not named


class Mixed:
    """Several types in a vessel: ``along`` has columns over the slices, ``limits`` what holds for the whole vessel.

    ``types`` are the elements by name, ``places`` the name at each position from the inlet, ``because`` what put
    them there.
    """

    def __init__(self, along: Element, limits: Element, types: dict[str, Element], places: list[str],
                 because: list[Any]):
        self.along, self.limits, self.types, self.places, self.because = along, limits, types, places, because

    @property
    def base(self) -> Element:
        """The type of the positions that are not named."""
        return self.types[REST]

    @property
    def used(self) -> dict[str, Element]:
        """Elements that stand somewhere, by name, from the inlet on."""
        return {name: self.types[name] for name in self.places}

    @property
    def coolest(self) -> str:
        """The type that bears the minimum temperature, in words."""
        names = list(self.used)
        return self.name_at(1 + self.places.index(names[int(np.argmin([
            float(e["max_temperature"]) for e in self.used.values()]))]))

    @property
    def count(self) -> int:
        """Elements in the vessel."""
        return len(self.places)

    def at(self, position: int) -> Element:
        """The element at a position, from 1."""
        return self.types[self.places[position - 1]]

    def name_at(self, position: int) -> str:
        """The type there, in words."""
        name = self.places[position - 1]
        return "the type of the rest" if name == REST else f"type {name}"

    def first_of_type(self, position: int) -> bool:
        """Whether no position upstream has the same type."""
        return self.places[position - 1] not in self.places[:position - 1]

    def last_of_type(self, position: int) -> bool:
        """Whether no position downstream has the same type."""
        return self.places[position - 1] not in self.places[position:]

    def with_area(self, slice_area: Column, elements: Figure) -> Element:
        """The element the plant sees: the limits of the whole vessel, mean area."""
        area = mean_area.at("membrane.mean_area", slice_area=slice_area, elements_per_vessel=elements)
        return replace(self.limits, sheet=self.limits.sheet | {"area": area})


def by_element(figure: Any) -> Any:
    """A bare number, or, of a Column along the slices, one number an element."""
    if not isinstance(figure, Column):
        return float(figure)
    return np.array([v for k, v in zip(figure.keys, figure.values, strict=True) if k.endswith(".1")])


def mixed(inp: Any, base: Element, names: tuple[str, ...], elements: Figure, slices: Figure,
          like: Mixed | None = None) -> Mixed:
    """Place the types of ``membrane.element_by_position`` in the vessel; ``base`` stands in all other places.

    ``like`` is the vessel of an earlier stage: its types are taken as they were found, and positions beyond the end
    of this vessel stay empty.

    Raises
    ------
    Infeasible
        A position is beyond the vessel, or a type does not fit into it.
    """
    n, keys = int(elements), [f"{e + 1}.{s + 1}" for e in range(int(elements)) for s in range(int(slices))]
    at: dict[str, Any] = {k: base[k] for k in _SHEET} | {k: getattr(base, k) for k in (
        "water_permeability", *_PASSING)}
    types, places, because = {REST: base}, [REST] * n, [elements]
    for name in names:
        key = f"membrane.element_by_position[{name}]"
        first, last, chosen = (inp(f"{key}.{k}") for k in ("first", "last", "element"))
        if like is None and not 1 <= int(first) <= int(last) <= n:
            raise Infeasible("no such positions in this vessel", where=f"{key}.last",
                             value=f"{int(first)} to {int(last)}", allowed=f"1 to {n}, in this order",
                             do="set first and last within membrane.elements")
        if like is not None:
            one = types[name] = like.types[name]
        else:
            with scope(instead=("membrane.element", f"membrane.element_at[{name}]"), because=[chosen]):
                one = types[name] = element(inp, chosen)
        if float(one["outer_diameter"]) != float(base["outer_diameter"]):
            raise Infeasible("this type does not fit into the vessels of the others", where=f"{key}.element",
                             value=str(chosen), do="choose types of one diameter")
        with scope(because=[first, last, elements, slices]):
            placed = assumed(f"membrane.placed[{name}]", [float(int(first) <= int(k.split(".")[0]) <= int(last))
                                                          for k in keys], "factor", axis="node", keys=keys,
                             title=f"Positions of element type {name}", symbol="o_p", source="definition")
        because += [first, last, chosen]
        for place in range(int(first) - 1, int(np.minimum(int(last), n))):
            places[place] = name
        for k, (rel, rest, this) in _SHEET.items():
            at[k] = rel.at(f"membrane.{k}_to[{name}]", **{rest: at[k], this: one[k]}, placed=placed)
        at["water_permeability"] = water_permeability_placed.at(
            f"membrane.water_permeability_to[{name}]", rest_permeability=at["water_permeability"],
            permeability=one.water_permeability, placed=placed)
        for k in _PASSING:
            at[k] = salt_permeability_placed.at(f"membrane.{k}_to[{name}]", rest_salt_permeability=at[k],
                                                salt_permeability=getattr(one, k), placed=placed)
    along = replace(base, sheet=base.sheet | {k: at[k] for k in _SHEET},
                    **{k: at[k] for k in ("water_permeability", *_PASSING)})
    # one water and one cleaning solution for all: the minimum of the temperatures holds for the whole vessel
    coolest = govern("membrane.sheet_max_temperature", {
        n or "rest": types[n]["max_temperature"] for n in dict.fromkeys(places)}, "smallest",
        title=f"{base['max_temperature'].title}, minimum of the types")
    return Mixed(along, replace(base, sheet=base.sheet | {"max_temperature": coolest}), types, places, because)

