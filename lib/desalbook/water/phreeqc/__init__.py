"""The bridge to the geochemical engine: pure functions on numbers, no trail.

Seawater and brine are solved with Pitzer data (``brine``), permeate and product water with an ion-pair
data set (``fresh``). `EngineRecord`, warnings and substitutions are handed back for the trail line that the
caller makes. All amounts are per kilogram of water, temperatures in K, pH on the activity scale. Importing
this package loads neither the engine nor a data set; the first answer does (3 to 7 ms a data set).
"""

from .calcite import K_STRENGTHS, CalciteEquilibrium, calcite_equilibrium, saturation_k, saturation_ph
from .curves import Curve, PropertyCurves, density_curve, osmotic_curve, property_curves
from .doses import added, dose, dose_to_ph, permeate_ph
from .engine import DATABASES, Database, EngineRecord, database, engine_record
from .mixing import at_wall, blend, concentrate, grown
from .saturation import MINERAL_DATA, Saturation, saturations
from .speciation import MINERALS, Speciation, complete, speciate
from .waters import Substitution, Water, salinity

__all__ = [
    "DATABASES",
    "K_STRENGTHS",
    "MINERALS",
    "MINERAL_DATA",
    "CalciteEquilibrium",
    "Curve",
    "Database",
    "EngineRecord",
    "PropertyCurves",
    "Saturation",
    "Speciation",
    "Substitution",
    "Water",
    "added",
    "at_wall",
    "blend",
    "calcite_equilibrium",
    "complete",
    "concentrate",
    "database",
    "density_curve",
    "dose",
    "dose_to_ph",
    "engine_record",
    "grown",
    "osmotic_curve",
    "permeate_ph",
    "property_curves",
    "salinity",
    "saturation_k",
    "saturation_ph",
    "saturations",
    "speciate",
]
