"""Metals in contact in seawater: how far their potentials lie apart, and what a couple does."""

from __future__ import annotations

from desalbook.trail import relation
from desalbook.units import Volt

__all__ = ["couple_voltage"]


@relation("Galvanic voltage of a couple", symbol="dE_g", unit="V", source="astm-g82", place="from memory",
          note="flowing seawater; areas, coating and temperature decide how fast the less noble metal goes")
def couple_voltage(noble_potential: Volt, base_potential: Volt) -> Volt:
    """Difference of the potentials of two metals that touch in seawater.

    Middle of the range of each in a galvanic series; a passive steel that pits drops out of its range. Over some
    0.15 V the joint is insulated or the nobler metal coated.
    """
    return noble_potential - base_potential
