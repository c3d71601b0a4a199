"""What the vessel solver is fed with: one place, for the sized cases and for rating alike."""

from __future__ import annotations

from typing import Any

import numpy as np

from desalbook.membrane import transport as t
from desalbook.membrane.by_position import by_element
from desalbook.membrane.element import Element
from desalbook.plant.waters import Waters
from desalbook.water import purewater
from desalbook.water.phreeqc import Water, property_curves

__all__ = ["PERMEABILITIES", "fields", "in_service", "ph_of", "waters_at"]

PERMEABILITIES = ("water_permeability", "salt_permeability", "boric_acid_permeability", "borate_permeability")
COLDEST, SPACING, GRID = 273.16, 5.0, 11  # K: grid the curves are read from between the temperatures of the walk
POINTS = 6  # of the grid at a time


def fields(element: Element, *, vessels: Any, elements: int, permeate_flow: Any, feed_pressure: Any,
           temperature: Any, water_viscosity: Any, osmotic: Any, density: Any, permeate_pressure: Any,
           port_loss: Any, ph_total: Any, interconnector_loss: Any = 0.0,
           borate_shift: Any = ((0.0, 0.0),), borate_salinity: Any = None, **permeabilities: Any) -> dict[str, Any]:
    """Fields of `membrane.Cases` except the feed: its flow, salinity and boron.

    Parameters
    ----------
    element : Element
    vessels, permeate_flow, feed_pressure, temperature, water_viscosity, ... : float or array over the cases
        Coherent SI; ``osmotic``, ``density`` and ``borate_shift`` one row a case.
    **permeabilities
        In service, each of `PERMEABILITIES`.
    """
    return dict(
        vessels=vessels, elements=elements, permeate_flow=permeate_flow, feed_pressure=feed_pressure,
        temperature=temperature, permeate_pressure=permeate_pressure, ph_total=ph_total,
        water_viscosity=water_viscosity, osmotic=osmotic, density=density, element_area=_one(element["area"]),
        element_length=_one(element["length"]), spacer_height=_one(element["spacer_height"]),
        spacer_porosity=_one(element["spacer_porosity"]), port_loss=port_loss,
        interconnector_loss=interconnector_loss, borate_shift=borate_shift, borate_salinity=borate_salinity,
        **{k: permeabilities[k] for k in PERMEABILITIES})


def _one(figure: Any) -> Any:
    """A number for all cases, or one an element, (1, elements)."""
    found = by_element(figure)
    return found[None] if np.ndim(found) else found


def ph_of(waters: Any, temperature: str) -> Any:
    """pH of the RO feed at one of the three temperatures, on the total scale."""
    return waters.at[temperature].ph_total or waters.analysis.ph_total


def in_service(element: Element, activation: dict[str, Any], temperature: Any, *, age: Any, fouling: Any,
               yearly_loss: float, yearly_rise: float, water_factor: Any = 1.0,
               salt_factor: Any = 1.0) -> dict[str, Any]:
    """Permeabilities over arrays of conditions, by the relations the sized cases are recorded with.

    Parameters
    ----------
    activation : dict of float or array
        J/mol for ``water``, ``salt``, ``boron`` and ``borate``.
    temperature, age, fouling : array
        K, s, permeability left.
    water_factor, salt_factor : array
        Scatter of the elements: factors on the permeabilities to water and to all solutes.
    """
    if np.ndim(by_element(element.water_permeability)):  # one row a case, one column an element
        temperature, age, fouling, water_factor, salt_factor = (
            _column(v) for v in (temperature, age, fouling, water_factor, salt_factor))
        activation = {k: _column(v) for k, v in activation.items()}
    factor = {n: t.temperature_factor.at("value", activation_energy=activation[n], temperature=temperature)
              for n in ("water", "salt", "boron", "borate")}
    water = t.water_permeability.at("value", permeability=by_element(element.water_permeability) * water_factor,
                                    temperature_factor=factor["water"], yearly_loss=yearly_loss, age=age,
                                    fouling_factor=fouling)

    def passing(figure: Any, name: str) -> Any:
        found = t.salt_permeability.at("value", salt_permeability=by_element(figure) * salt_factor,
                                       temperature_factor=factor[name], yearly_rise=yearly_rise, age=age)
        return found[:, 0] if np.ndim(found) == 2 and np.shape(found)[1] == 1 else found

    return {"water_permeability": water, "salt_permeability": passing(element.salt_permeability, "salt"),
            "boric_acid_permeability": passing(element.boric_acid_permeability, "boron"),
            "borate_permeability": passing(element.borate_permeability, "borate")}


def _column(v: Any) -> Any:
    return np.asarray(v)[:, None] if np.ndim(v) else v


def _at(water: Water, temperature: float) -> np.ndarray:
    c = property_curves(water, temperature)
    return np.concatenate([c.osmotic.coefficients, c.density.coefficients, [np.log(purewater.viscosity(temperature))]])


def waters_at(waters: Waters, temperature: np.ndarray) -> dict[str, np.ndarray]:
    """Curves and viscosity of the analysed water at many temperatures.

    At the temperatures of the walk they are the walk's own. Between them the coefficients, which are linear in the
    engine's points, and the logarithm of the viscosity are read by polynomials of the fifth degree from a grid that
    is the same for every call, so that a case gets the same water whatever its company; within 1e-6 of the engine.

    Returns
    -------
    dict
        ``osmotic`` (cases, 6), ``density`` (cases, 4), ``water_viscosity`` (cases,)
    """
    analysis = waters.analysis
    amounts = {k: float(v) for k, v in analysis.molality.items()}
    water = Water.of(amounts, ph=float(analysis.ph), temperature=float(analysis.temperature))
    own = {float(a.temperature): np.concatenate([a.osmotic_curve.values, a.density_curve.values,
                                                 [np.log(float(a.water_viscosity))]]) for a in waters.at.values()}
    levels, which = np.unique(temperature, return_inverse=True)
    place = (levels - COLDEST) / SPACING
    first = np.clip(np.floor(place).astype(int) - POINTS // 2 + 1, 0, GRID - POINTS)
    read = ~np.isin(levels, list(own))
    grid = np.zeros((GRID, 11))
    for i in np.unique(np.unique(first[read])[:, None] + np.arange(POINTS)).tolist():
        grid[i] = _at(water, COLDEST + SPACING * i)
    gap = (place - first)[:, None] - np.arange(POINTS)
    found = np.zeros((len(levels), 11))
    for j in range(POINTS):  # Lagrange's polynomials
        weight = np.prod([gap[:, k] / (j - k) for k in range(POINTS) if k != j], axis=0)
        found += weight[:, None] * grid[first + j]
    for i in np.flatnonzero(~read):
        found[i] = own[float(levels[i])]
    rows = found[which]
    return {"osmotic": rows[:, :6], "density": rows[:, 6:10], "water_viscosity": np.exp(rows[:, 10])}
