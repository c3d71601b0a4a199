"""The osmotic pressure formula of ASTM D4516, for normalisation by that standard only.

It is a straight line with one osmotic coefficient for sodium chloride: 3 % above the measured value at 32 g/L, and
its basis is neither sea salt nor a litre at its own density. Everything else in the kit uses the engine's curve.
"""

from __future__ import annotations

from desalbook.trail import constant, relation
from desalbook.units import Concentration, K, OsmoticPa
from desalbook.water.acid_constants import KELVIN

__all__ = ["osmotic_d4516"]

MG_L = constant("C_1", 0.001, "kg/m^3", source="definition", title="One milligram per litre")
KILOPASCAL = constant("p_1", 1000.0, "Pa", source="definition", title="One kilopascal")


@relation(
    "Osmotic pressure by ASTM D4516",
    symbol="pi_A",
    unit="Pa",
    source="astm-d4516",
    place="closed form, from memory",
    note="sodium chloride; for work by this standard only: 3.4 % above the measured value at 32 g/L",
)
def osmotic_d4516(concentration: Concentration, temperature: K) -> OsmoticPa:
    """Osmotic pressure by the standard practice for normalising RO data.

    Concentration in mg/L counts as sodium chloride; for design the osmotic coefficient of this very water is
    used instead.
    """
    return (
        0.2654
        * (concentration / MG_L)
        * (temperature / KELVIN)
        / (1000 - (concentration / MG_L) / 1000)
        * KILOPASCAL
    )
