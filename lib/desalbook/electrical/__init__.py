"""The electrical side: load list, supply, cables, devices, harmonics, panels.

Electricity kills: design, protection and commissioning are licensed work under the local code.
"""

from desalbook.electrical.installation import Circuit, Installation, electrical
from desalbook.electrical.load_list import CASES, DUTIES, Load, LoadList
from desalbook.electrical.own_loads import OwnLoad, own_loads
from desalbook.electrical.rules import RULES, WiringRules

__all__ = ["CASES", "DUTIES", "RULES", "Circuit", "Installation", "Load", "LoadList", "OwnLoad", "WiringRules",
           "electrical", "own_loads"]
