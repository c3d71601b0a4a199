"""Studies: keys of a design varied and the plant sized anew, a plant held through its seasons, its money by year.

Nothing is calculated here.
"""

from desalbook.study.advice import Change, smallest_change
from desalbook.study.cash_flow import CashFlow, cash_flow
from desalbook.study.input_curves import Response, responses
from desalbook.study.life import Life, life
from desalbook.study.prices import cost_tornado
from desalbook.study.ratings import Rating, rated
from desalbook.study.results_file import read_results
from desalbook.study.seasons import seasons
from desalbook.study.sweep import HEADLINES, Row, Sweep, grid, numeric_keys, spread, swept
from desalbook.study.tradeoff import Frontier, Map, columns, differences, frontier, non_dominated, save, why
from desalbook.study.tradeoff import two_keys as map
from desalbook.study.uncertainty import Spread, Uncertainty, indices, interval, sample, spreads_of, uncertainty
from desalbook.study.year import Year, operating_year, read_series

__all__ = ["HEADLINES", "CashFlow", "Change", "Frontier", "Life", "Map", "Rating", "Response", "Row", "Spread",
           "Sweep", "Uncertainty", "Year", "cash_flow", "columns", "cost_tornado", "differences", "frontier", "grid",
           "indices", "interval", "life", "map", "non_dominated", "numeric_keys", "operating_year", "rated",
           "read_results", "read_series", "responses", "sample", "save", "seasons", "smallest_change", "spread",
           "spreads_of", "swept", "uncertainty", "why"]
