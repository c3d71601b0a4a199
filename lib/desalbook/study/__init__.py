"""Studies: keys of a design varied and the plant sized anew, or a plant held through its seasons.

Nothing is calculated here.
"""

from desalbook.study.advice import Change, smallest_change
from desalbook.study.seasons import seasons
from desalbook.study.sweep import HEADLINES, Row, Sweep, grid, numeric_keys, spread

__all__ = ["HEADLINES", "Change", "Row", "Sweep", "grid", "numeric_keys", "seasons", "smallest_change", "spread"]
