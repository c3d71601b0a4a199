"""The pictures of the steps by one call each: (plant, units) gives HTML. They read a sized plant and draw."""

from __future__ import annotations

from typing import Any

__all__ = ["energy", "ions", "pump", "scaling"]


def ions(plant: Any, units: str = "si") -> str:
    """Equivalents of cations and anions of the raw water."""
    from desalbook.notebook.ion_picture import picture

    return picture(plant)


def scaling(plant: Any, units: str = "si") -> str:
    """Saturation at the wall over recovery, at the hottest water."""
    from desalbook.notebook.scaling_picture import draw
    from desalbook.plant.scaling import curves

    return draw(curves(plant.sized.parts))


def pump(plant: Any, units: str = "si") -> str:
    """Curve of the high-pressure pump with its points at all corners."""
    from desalbook.notebook.pressure_pictures import pump_picture

    return pump_picture(plant, units)


def energy(plant: Any, units: str = "si") -> str:
    """Energy by consumer beside the least work."""
    from desalbook.notebook.pressure_pictures import energy_picture

    return energy_picture(plant, units)
