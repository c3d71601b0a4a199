"""Chemicals ahead of the membranes: doses, feed rates, tanks, and whether the steps go together.

Chemicals can hurt. Safety data sheets, local codes and licensed practice govern storage, bunds, ventilation,
eyewash and the parting of chemicals that react with one another.
"""

from desalbook.dosing.findings import MAY_BE_ABSENT, contradictions, order
from desalbook.dosing.hardware import Hardware, Place, hardware
from desalbook.dosing.inputs import (
    DOSED,
    Acid,
    Antiscalant,
    Biocide,
    Chlorination,
    Coagulation,
    CorrosionInhibitor,
    Dechlorination,
    InterpassPh,
    PostChlorination,
    PostPh,
)
from desalbook.dosing.line import Dose, Neat, Solution, dose_line, solution, stoichiometry
from desalbook.dosing.more_steps import biocide, corrosion_inhibitor, interpass_caustic, interpass_ph
from desalbook.dosing.post import PostChlorinated, post_chlorination, post_chlorine_dose, post_ph
from desalbook.dosing.steps import (
    Acidified,
    Chlorinated,
    Coagulated,
    Dechlorinated,
    acid,
    antiscalant,
    chlorination,
    coagulation,
    dechlorination,
)
from desalbook.dosing.store_findings import side_by_side
from desalbook.dosing.store_inputs import ChemicalStore, Dosing, Injection, InjectionPoint, StoreBay

__all__ = [
    "DOSED",
    "MAY_BE_ABSENT",
    "Acid",
    "Acidified",
    "Antiscalant",
    "Biocide",
    "ChemicalStore",
    "Chlorinated",
    "Chlorination",
    "Coagulated",
    "Coagulation",
    "CorrosionInhibitor",
    "Dechlorinated",
    "Dechlorination",
    "Dose",
    "Dosing",
    "Hardware",
    "Injection",
    "InjectionPoint",
    "InterpassPh",
    "Neat",
    "Place",
    "PostChlorinated",
    "PostChlorination",
    "PostPh",
    "Solution",
    "StoreBay",
    "acid",
    "antiscalant",
    "biocide",
    "chlorination",
    "coagulation",
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
    "side_by_side",
    "solution",
    "stoichiometry",
]
