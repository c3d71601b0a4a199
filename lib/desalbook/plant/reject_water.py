"""The concentrate as a fluid: its own density and viscosity, wherever it flows."""

from __future__ import annotations

from desalbook.hydraulics.pipes import Fluid
from desalbook.membrane import transport as t
from desalbook.plant.array import Array
from desalbook.plant.waters import Waters
from desalbook.trail import current, scope
from desalbook.trail.corner import Corner

__all__ = ["reject_fluid", "reject_waters"]


def reject_fluid(waters: Waters, a: Array, corner: Corner) -> Fluid:
    """Concentrate of one case, such as ``cold-aged``; its viscosity is the line ``reject.viscosity``."""
    r, at, id = a.by_corner[corner], waters.at[corner.temperature], f"reject.viscosity@{corner}"
    if id not in current():
        with scope(corner=corner):
            t.viscosity_of.at("reject.viscosity", salinity=r["concentrate_salinity"],
                              title="Viscosity of the concentrate",
                              water_viscosity=at.water_viscosity, temperature=at.temperature)
    return Fluid(r.figures["concentrate_density"], current()[id])


def reject_waters(waters: Waters, a: Array) -> dict[str, Fluid]:
    """Concentrate by temperature, aged membranes; new ones let a little less salt pass, so theirs is hardly denser."""
    return {key: reject_fluid(waters, a, Corner(key, "aged")) for key in waters.at}
