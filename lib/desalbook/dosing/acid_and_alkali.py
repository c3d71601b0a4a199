"""Acid and alkali: feed to a pH, permeate before a second pass, product."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from desalbook.dosing.chemicals import chemical, molar_mass, solution
from desalbook.dosing.dosing_line import Dose, dose_line, dose_of_amount
from desalbook.dosing.dosing_steps import absent
from desalbook.trail import Choice, Figure, checked, govern, scope
from desalbook.trail.inputs import Inputs
from desalbook.trail.limits import limit, limit_source

__all__ = [
    "Acidified",
    "acid",
    "interpass_caustic",
    "interpass_ph",
    "post_ph",
]


@dataclass(frozen=True)
class Acidified:
    """Acid: its line and the amount per kilogram of water (mol/kg), for the chemistry that follows."""

    line: Dose
    amount: Figure


def acid(
    inp: Inputs,
    feed_flow: Figure,
    amount: Figure | None,
    *,
    density: Figure,
    total_dissolved_solids: Figure,
    lowest_flow: Figure | None = None,
) -> Acidified | None:
    """Acid to a pH of the RO feed.

    Parameters
    ----------
    feed_flow : Figure
        m3/s of membrane feed.
    amount : Figure
        mol of acid per kg water that brings the feed to the target pH.
    density, total_dissolved_solids : Figure
        kg/m3 of the feed.
    """
    if absent(inp, "acid") is not None or amount is None:
        return None
    choice = inp.choice("acid.chemical")
    chosen = chemical(choice, "acid.chemical")
    with scope(because=[inp("acid.present"), choice]):
        of = solution(inp, "acid", chosen)
        checked("acid.target_ph.check", inp("acid.target_ph"), ">=", limit("acid-ph"), title="RO feed pH after acid",
                source=limit_source("acid-ph"), do="raise acid.target_ph: boron and carbon dioxide pass below it")
        mass = molar_mass("acid.molar_mass", chosen, "Molar mass of the acid")
        dose = dose_of_amount.at(
            "acid.dose",
            amount=amount,
            molar_mass=mass,
            density=density,
            total_dissolved_solids=total_dissolved_solids,
            title="Acid dose",
        )
        line = dose_line(inp, "acid", feed_flow, dose, of, lowest_flow=lowest_flow)
    return Acidified(line, amount)


def interpass_ph(
    inp: Inputs,
    flow: Figure,
    amount: Figure | None,
    *,
    density: Figure,
    total_dissolved_solids: Figure,
    lowest_flow: Figure | None = None,
) -> Dose | None:
    """Alkali into the permeate of the first pass.

    Parameters
    ----------
    amount : Figure or None
        mol of NaOH per kg water that brings the permeate to its target pH, by the chemistry bridge.
    density, total_dissolved_solids : Figure
        kg/m3 of that permeate.
    """
    if amount is None:
        return None
    choice = inp.choice("interpass_ph.chemical")
    chosen = chemical(choice, "interpass_ph.chemical")
    with scope(because=[inp("interpass_ph.present"), choice]):
        of = solution(inp, "interpass_ph", chosen)
        mass = molar_mass("interpass_ph.molar_mass", chosen, "Molar mass of the alkali")
        dose = dose_of_amount.at(
            "interpass_ph.dose",
            amount=amount,
            molar_mass=mass,
            density=density,
            total_dissolved_solids=total_dissolved_solids,
            title="Alkali before the second pass",
        )
        return dose_line(inp, "interpass_ph", flow, dose, of, lowest_flow=lowest_flow)


def interpass_caustic(
    inp: Inputs, flow: Figure, one: Figure, amounts: Mapping[str, tuple[Figure, Figure, Figure]], choice: Choice
) -> Dose:
    """Caustic into the feed of a second pass, at the amounts the second pass was computed with.

    Parameters
    ----------
    flow, one : Figure
        m3/s into the second pass of all trains and of one, at the design temperature.
    amounts : mapping
        For ``cold``, ``design`` and ``hot``: mol of NaOH per kg water, density of the dosed water and its dissolved
        solids, kg/m3.
    choice : Choice
        Row of the table of chemicals.
    """
    chosen = chemical(choice, "interpass_ph.chemical")
    of = solution(inp, "interpass_ph", chosen)
    mass = molar_mass("interpass_ph.molar_mass", chosen, "Molar mass of the alkali")
    doses = {
        key: dose_of_amount.at(
            "interpass_ph.dose" if key == "design" else f"interpass_ph.dose[{key}]",
            amount=amount,
            molar_mass=mass,
            density=density,
            total_dissolved_solids=solids,
            title=f"Alkali before the second pass, {key} water",
        )
        for key, (amount, density, solids) in amounts.items()
    }
    highest, lowest = (
        govern(f"interpass_ph.dose_{rule}", doses, rule, title=f"Alkali before the second pass, {rule}")
        for rule in ("largest", "smallest")
    )
    return dose_line(inp, "interpass_ph", flow, doses["design"], of, highest=highest, lowest=lowest, lowest_flow=one)


def post_ph(inp: Inputs, flow: Figure, dose: Figure | None, lowest_flow: Figure | None = None) -> Dose | None:
    """Dosing line of the alkali.

    Parameters
    ----------
    dose : Figure or None
        kg/m3, as the finishing of the product found it; None where pH is left alone.
    """
    if dose is None:
        return None
    with scope(because=[inp("post_ph.chemical")]):
        of = solution(inp, "post_ph", chemical(inp("post_ph.chemical"), "post_ph.chemical"))
        return dose_line(inp, "post_ph", flow, dose, of, lowest_flow=lowest_flow)
