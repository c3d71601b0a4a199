"""Instruments, set points and signals of the controller.

Final set points are those of commissioning; a programme's trips do not replace relief valves and hard-wired stops.
"""

from desalbook.controls.instruments import Instrument, Place, instruments, tag
from desalbook.controls.signals import TYPES, Signals, signals
from desalbook.controls.trial import Train

__all__ = ["TYPES", "Instrument", "Place", "Signals", "Train", "instruments", "signals", "tag"]
