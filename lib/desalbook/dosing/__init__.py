"""Chemicals ahead of the membranes: doses, feed rates, tanks, and whether the steps go together.

Chemicals can hurt. Safety data sheets, local codes and licensed practice govern storage, bunds, ventilation,
eyewash and the parting of chemicals that react with one another.
"""

from desalbook.dosing.findings import contradictions, order
from desalbook.dosing.hardware import Hardware, Place, hardware
from desalbook.dosing.inputs import (
    DOSED,
    Acid,
    Antiscalant,
    Chlorination,
    Coagulation,
    Dechlorination,
    PostChlorination,
    PostPh,
)
from desalbook.dosing.line import Dose, Neat, Solution, dose_line, solution, stoichiometry
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
from desalbook.dosing.store_inputs import Dosing, Injection, InjectionPoint

__all__ = [
    "DOSED",
    "Acid",
    "Acidified",
    "Antiscalant",
    "Chlorinated",
    "Chlorination",
    "Coagulated",
    "Coagulation",
    "Dechlorinated",
    "Dechlorination",
    "Dose",
    "Dosing",
    "Hardware",
    "Injection",
    "InjectionPoint",
    "Neat",
    "Place",
    "PostChlorinated",
    "PostChlorination",
    "PostPh",
    "Solution",
    "acid",
    "antiscalant",
    "chlorination",
    "coagulation",
    "contradictions",
    "dechlorination",
    "dose_line",
    "hardware",
    "order",
    "post_chlorination",
    "post_chlorine_dose",
    "post_ph",
    "solution",
    "stoichiometry",
]
