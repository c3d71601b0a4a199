"""Constants and annotated kinds that the relations of pipes and pumps share."""

from __future__ import annotations

from typing import Annotated

from desalbook.trail import constant
from desalbook.units import KINDS

__all__ = ["FOOT", "GPM", "KILOWATT", "PI", "RPM", "G", "Rotation", "Small"]

PI = constant("pi", 3.141592653589793, "1", source="definition", title="Pi")
G = constant("g", 9.80665, "m/s^2", source="codata-2018", title="Standard gravity")
GPM = constant("gpm", 6.30901964e-5, "m^3/s", source="definition", title="One US gallon per minute")
FOOT = constant("ft", 0.3048, "m", source="definition", title="One foot")
RPM = constant("rpm", 1 / 60, "1/s", source="definition", title="One turn per minute")
KILOWATT = constant("kW", 1000.0, "W", source="definition", title="One kilowatt")

Small = Annotated[float, KINDS["length.small"]]
Rotation = Annotated[float, KINDS["rotation"]]
