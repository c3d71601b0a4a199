"""Coagulation with an iron salt: dose, alkalinity it takes, solids it makes."""

from __future__ import annotations

from dataclasses import dataclass

from desalbook.dosing.chemicals import chemical, solution, stoichiometry
from desalbook.dosing.dosing_line import Dose, dose_line
from desalbook.dosing.dosing_steps import absent
from desalbook.trail import Figure, checked, relation, scope
from desalbook.trail.inputs import Inputs
from desalbook.trail.limits import limit, limit_source
from desalbook.units import (
    AsCaCO3,
    Concentration,
    MassRatio,
)
from desalbook.water.basis import by_mass_ratio

__all__ = [
    "Coagulated",
    "alkalinity_by_ferric",
    "coagulation",
    "ferric_as_salt",
]


@relation("Ferric chloride dose", symbol="D_FeCl3", unit="kg/m^3", source="iupac-weights")
def ferric_as_salt(coagulant_dose: Concentration, iron_content: MassRatio) -> Concentration:
    """Ferric chloride dose, from a dose counted as iron.

    By molar masses; which of the two a specification means has to be asked.
    """
    return coagulant_dose / iron_content


@relation("Alkalinity taken by the coagulant", symbol="dAlk", unit="kg/m^3", source="iupac-weights")
def alkalinity_by_ferric(ferric_dose: Concentration, per_ferric: MassRatio) -> AsCaCO3:
    """Alkalinity taken by ferric coagulant, as CaCO3.

    Three equivalents a mole of iron, all hydrolysed; free acid of the product comes on top.
    """
    return ferric_dose * per_ferric


@dataclass(frozen=True)
class Coagulated:
    """Ferric chloride: its line (dose as FeCl3), alkalinity it takes, solids it makes (kg/m3)."""

    line: Dose
    alkalinity: Figure
    solids: Figure


def coagulation(inp: Inputs, flow: Figure, lowest_flow: Figure | None = None) -> Coagulated | None:
    """Ferric chloride; the dose is counted as iron and fed as FeCl3."""
    if absent(inp, "coagulation") is not None:
        return None
    chosen = inp.choice("coagulation.chemical")
    ferric = chemical(chosen, "coagulation.chemical")
    with scope(because=[inp("coagulation.present"), chosen]):
        of = solution(inp, "coagulation", ferric)
        iron = stoichiometry("coagulation.iron_content", ferric.ratio_key("fe-per-{formula}"))
        checked("coagulation.dose_maximum.check", inp("coagulation.dose_maximum"), "<=", limit("coagulant-iron"),
                title="Coagulant dose, maximum", source=limit_source("coagulant-iron"),
                do="lower coagulation.dose_maximum, or settle or float the water before the filters")
        salt = ferric_as_salt.at(
            "coagulation.dose_as_salt", coagulant_dose=inp("coagulation.dose"), iron_content=iron
        )
        high = ferric_as_salt.at(
            "coagulation.dose_as_salt_maximum",
            iron_content=iron,
            coagulant_dose=inp("coagulation.dose_maximum"),
        )
        taken = alkalinity_by_ferric.at(
            "coagulation.alkalinity",
            ferric_dose=salt,
            per_ferric=stoichiometry("coagulation.alkalinity_per_ferric", ferric.ratio_key("caco3-per-{formula}")),
        )
        solids = by_mass_ratio.at(
            "coagulation.solids", stated=salt, title="Solids of the coagulant", symbol="dTSS",
            note="dry Fe(OH)3; bound water makes up to 1.2 times as much",
            basis_ratio=stoichiometry("coagulation.solids_per_ferric", ferric.ratio_key("feoh3-per-{formula}")))
        line = dose_line(inp, "coagulation", flow, salt, of, highest=high, lowest_flow=lowest_flow)
    return Coagulated(line, taken, solids)
