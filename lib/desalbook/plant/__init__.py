"""The plant: the walk along the water, loops closed, streams, equipment and checks."""

from desalbook.plant.comparison import compare_recovery
from desalbook.plant.rating import rate
from desalbook.plant.vessel_table import envelope, guideline_table, vessel_profile
from desalbook.plant.walk import Sized, size

__all__ = ["Sized", "compare_recovery", "envelope", "guideline_table", "rate", "size", "vessel_profile"]
