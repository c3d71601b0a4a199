"""Cleaning in place and flushing: tank, pump, heater, chemicals, and the flush after a stop.

CIP solutions cause burns, and spent ones react with one another: the safety data sheets, the element maker's
limits of pH, temperature and pressure, local codes and licensed practice govern. Never mix acid with
hypochlorite or bisulfite.
"""

from desalbook.cleaning.flush import FlushDesign, flush
from desalbook.cleaning.inputs import Cip
from desalbook.cleaning.interval import cleanings_expected
from desalbook.cleaning.normalisation import Normalised, Reading, normalise, triggers
from desalbook.cleaning.skid import CleaningDesign, cleaning
from desalbook.cleaning.solutions import CAUTION

__all__ = ["CAUTION", "Cip", "CleaningDesign", "FlushDesign", "Normalised", "Reading", "cleaning",
           "cleanings_expected", "flush", "normalise", "triggers"]
