"""The tests' vessels as the library's cases."""

from __future__ import annotations

import numpy as np

from desalbook.membrane import Cases
from tests.membrane.reference import Vessel

__all__ = ["cases_of"]


def cases_of(vessels: list[Vessel], permeate, pressure, count: float = 1.0) -> Cases:
    """One case a vessel; all must have the same number of elements.

    Parameters
    ----------
    permeate, pressure : float or array
        Of one vessel, m3/s, and at the feed header, Pa.
    count : float
        Parallel vessels; flows are multiplied by it.
    """
    assert len({v.elements for v in vessels}) == 1

    def each(name):
        return np.array([getattr(v, name) for v in vessels])

    return Cases(
        vessels=count, elements=vessels[0].elements, feed_flow=each("feed") * count,
        permeate_flow=np.asarray(permeate) * count, feed_pressure=pressure, feed_salinity=each("salinity"),
        temperature=each("temperature"), permeate_pressure=each("permeate_pressure"),
        water_permeability=each("a"), salt_permeability=each("b"), boric_acid_permeability=each("b_acid"),
        borate_permeability=each("b_borate"), boron_feed=each("boron"), ph_total=each("ph"),
        water_viscosity=each("water_viscosity"), osmotic=each("osmotic"), density=each("density"),
        element_area=each("area"), element_length=each("length"), spacer_height=each("height"),
        spacer_porosity=each("porosity"), port_loss=each("port_loss"), borate_shift=each("shift"))
