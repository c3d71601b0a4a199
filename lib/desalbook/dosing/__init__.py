"""Chemicals upstream of the RO membranes and into the product: doses, feed rates, tanks, and whether the steps agree.

Chemicals can hurt. Safety data sheets, local codes and licensed practice govern storage, bunds, ventilation,
eyewash and the parting of chemicals that react with one another.
"""

from desalbook.dosing.acid_and_alkali import Acidified, acid, interpass_caustic, interpass_ph, post_ph
from desalbook.dosing.antiscalant import antiscalant, biocide, corrosion_inhibitor
from desalbook.dosing.chemical_tanks import Hardware, hardware, shared_limits, side_by_side
from desalbook.dosing.chemicals import (
    ROLES,
    Chemical,
    Neat,
    Role,
    Solution,
    chemical,
    complete,
    solution,
    stoichiometry,
)
from desalbook.dosing.chlorination import (
    Chlorinated,
    PostChlorinated,
    chlorination,
    post_chlorination,
    post_chlorine_dose,
)
from desalbook.dosing.coagulation import Coagulated, coagulation
from desalbook.dosing.dechlorination import Dechlorinated, dechlorination
from desalbook.dosing.doses import Doses
from desalbook.dosing.dosing_line import Dose, dose_line
from desalbook.dosing.dosing_pumps import Place
from desalbook.dosing.dosing_steps import (
    ALONG_THE_FEED,
    FEED_CHEMISTRY,
    INTO_PRODUCT,
    MAY_BE_ABSENT,
    PLACES,
    STATIONS,
    STEPS,
    DosingStep,
    Into,
    absent,
)
from desalbook.dosing.injection import contradictions, order
from desalbook.dosing.inputs import (
    Acid,
    Antiscalant,
    Biocide,
    ChemicalStorage,
    Chlorination,
    Coagulation,
    CorrosionInhibitor,
    Dechlorination,
    Dosing,
    Injection,
    InjectionPoint,
    InterpassPh,
    PostChlorination,
    PostPh,
    StoreBay,
)

complete()

__all__ = [
    "ALONG_THE_FEED",
    "FEED_CHEMISTRY",
    "INTO_PRODUCT",
    "MAY_BE_ABSENT",
    "PLACES",
    "ROLES",
    "STATIONS",
    "STEPS",
    "Acid",
    "Acidified",
    "Antiscalant",
    "Biocide",
    "Chemical",
    "ChemicalStorage",
    "Chlorinated",
    "Chlorination",
    "Coagulated",
    "Coagulation",
    "CorrosionInhibitor",
    "Dechlorinated",
    "Dechlorination",
    "Dose",
    "Doses",
    "Dosing",
    "DosingStep",
    "Hardware",
    "Injection",
    "InjectionPoint",
    "InterpassPh",
    "Into",
    "Neat",
    "Place",
    "PostChlorinated",
    "PostChlorination",
    "PostPh",
    "Role",
    "Solution",
    "StoreBay",
    "absent",
    "acid",
    "antiscalant",
    "biocide",
    "chemical",
    "chlorination",
    "coagulation",
    "complete",
    "contradictions",
    "corrosion_inhibitor",
    "dechlorination",
    "dose_line",
    "hardware",
    "interpass_caustic",
    "interpass_ph",
    "order",
    "post_chlorination",
    "post_chlorine_dose",
    "post_ph",
    "shared_limits",
    "side_by_side",
    "solution",
    "stoichiometry",
]
