"""What the dosing steps of one plant found, by step."""

from __future__ import annotations

from dataclasses import dataclass, fields

from desalbook.dosing.acid_and_alkali import Acidified
from desalbook.dosing.chlorination import Chlorinated
from desalbook.dosing.coagulation import Coagulated
from desalbook.dosing.dechlorination import Dechlorinated
from desalbook.dosing.dosing_line import Dose

__all__ = ["Doses"]


@dataclass
class Doses:
    """Results of the dosing steps; None where a step is absent. Filled as the walk comes by."""

    chlorination: Chlorinated | None = None
    coagulation: Coagulated | None = None
    dechlorination: Dechlorinated | None = None
    antiscalant: Dose | None = None
    acid: Acidified | None = None
    post_chlorination: Dose | None = None
    post_ph: Dose | None = None
    biocide: Dose | None = None
    corrosion_inhibitor: Dose | None = None
    interpass_ph: Dose | None = None

    def lines(self) -> dict[str, Dose]:
        """Dosing lines of the plant by step; what is absent is omitted."""
        found: dict[str, Dose] = {}
        for each in fields(self):
            step = getattr(self, each.name)
            if step is not None:
                found[each.name] = step if isinstance(step, Dose) else step.line
        return found
