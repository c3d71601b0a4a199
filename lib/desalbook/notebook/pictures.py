"""The pictures of the steps by one call each: (plant, units) gives HTML. They read a sized plant and draw."""

from __future__ import annotations

from typing import Any

__all__ = ["devices", "ions", "scaling", "vessel"]


def ions(plant: Any, units: str = "si") -> str:
    """Equivalents of cations and anions of the raw water."""
    from desalbook.notebook.ion_picture import picture

    return picture(plant)


def scaling(plant: Any, units: str = "si") -> str:
    """Saturation at the wall over recovery, at the hottest water."""
    from desalbook.notebook.scaling_picture import draw
    from desalbook.plant.scaling import curves

    return draw(curves(plant.sized.scaling, plant.sized.array.recovery))


def vessel(plant: Any, units: str = "si") -> str:
    """Flux, pressures, salinity and polarisation along a vessel, cold and aged."""
    from desalbook.notebook.membrane_pictures import vessel_picture

    return vessel_picture(plant, "cold-aged", units)


def devices(design: Any) -> Any:
    """Every recovery device on the duty of a design, as a picture with its words; five plants are sized for it.

    Parameters
    ----------
    design : Design

    Returns
    -------
    IPython.display.HTML
    """
    from IPython.display import HTML

    from desalbook.notebook.blocks import STYLE
    from desalbook.notebook.fine import fine
    from desalbook.notebook.pressure_pictures import devices_picture
    from desalbook.notebook.theme import css
    from desalbook.plant import compare_recovery

    return HTML(f"<style>{css()}{STYLE}</style>{fine(devices_picture(compare_recovery(design)))}")
