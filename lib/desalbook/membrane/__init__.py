"""Spiral-wound seawater vessels: from a sheet to permeabilities, from an inlet to permeate and concentrate."""

from desalbook.membrane.by_position import Mixed, by_element, mixed
from desalbook.membrane.cases import Cases, Laws, Solution
from desalbook.membrane.channel import FRICTION, MASS_TRANSFER, channel_said, law_names, laws_named, laws_of
from desalbook.membrane.element import Element, element, sheet_value
from desalbook.membrane.ions import IonMarch, ion_factors, march_ions, split_ions
from desalbook.membrane.local_ph import borate_shift
from desalbook.membrane.solver import solve
from desalbook.membrane.vessel import Recorded, boron_per_water, geometry, in_service, record
from desalbook.membrane.vessels import Limit, judge, least_vessels

__all__ = ["FRICTION", "MASS_TRANSFER", "Cases", "Element", "IonMarch", "Laws", "Limit", "Mixed", "Recorded",
           "Solution", "borate_shift", "boron_per_water", "by_element", "channel_said", "element", "geometry",
           "in_service", "ion_factors", "judge", "law_names", "laws_named", "laws_of", "least_vessels",
           "march_ions", "mixed", "record", "sheet_value", "solve", "split_ions"]
