"""Studies: keys of a design varied and the plant sized anew, or a plant held through its seasons.

Nothing is calculated here.
"""

from desalbook.study.seasons import seasons
from desalbook.study.sweep import HEADLINES, Row, Sweep, grid, numeric_keys, spread

__all__ = ["HEADLINES", "Row", "Sweep", "grid", "numeric_keys", "seasons", "spread"]
