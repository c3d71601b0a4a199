"""Studies: keys of a design varied and the plant sized anew, or a plant held through its seasons.

Nothing is calculated here.
"""

from desalbook.study.advice import Change, smallest_change
from desalbook.study.input_curves import Response, responses
from desalbook.study.ratings import Rating, rated
from desalbook.study.results_file import read_results
from desalbook.study.seasons import seasons
from desalbook.study.sweep import HEADLINES, Row, Sweep, grid, numeric_keys, spread, swept
from desalbook.study.uncertainty import Spread, Uncertainty, indices, interval, sample, uncertainty
from desalbook.study.year import Year, operating_year, read_series

__all__ = ["HEADLINES", "Change", "Rating", "Response", "Row", "Spread", "Sweep", "Uncertainty", "Year", "grid",
           "indices", "interval", "numeric_keys", "operating_year", "rated", "read_results", "read_series", "responses",
           "sample", "seasons", "smallest_change", "spread", "swept", "uncertainty"]
