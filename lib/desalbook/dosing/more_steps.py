"""Doses beyond the usual: biocide in shocks, alkali between passes, corrosion inhibitor."""

from __future__ import annotations

from collections.abc import Mapping

from desalbook.dosing import hardware_relations as h
from desalbook.dosing import relations as r
from desalbook.dosing.line import Dose, dose_line, solution
from desalbook.dosing.steps import absent
from desalbook.guidelines import product_use
from desalbook.tables import table
from desalbook.trail import Choice, Figure, assumed, govern, note, scope
from desalbook.trail.inputs import Inputs

__all__ = ["biocide", "corrosion_inhibitor", "interpass_caustic", "interpass_ph"]

def biocide(inp: Inputs, feed_flow: Figure, use: Choice, lowest_flow: Figure | None = None) -> Dose | None:
    """Non-oxidising biocide in shocks, mg/L as product in the membrane feed; common practice, no source.

    Parameters
    ----------
    feed_flow, lowest_flow : Figure
        m3/s, all trains and one.
    use : Choice
        ``duty.product_use``: where the permeate is drunk, product is diverted during a shock.
    """
    if inp("biocide.present") == "no" and not inp("biocide.reason"):
        return None  # an option; its absence asks for no reason
    if absent(inp, "biocide") is not None:
        return None
    with scope(because=[inp("biocide.present")]):
        of = solution(inp, "biocide", "biocide")
        dose = inp("biocide.dose")
        mean = h.mean_of_shocks.at("biocide.mean_dose", product_dose=dose, shock_time=inp("biocide.shock_time"),
                                   shock_interval=inp("biocide.shock_interval"))
        drunk = product_use(use).drunk
        note("biocide.product", title="Product while biocide is fed", verdict="caution" if drunk else "holds",
             why="the permeate is drunk, and some of the product passes" if drunk else "nobody drinks it",
             do="divert permeate to waste during a shock and until it is gone; ask the authority for its licence",
             inputs={"use": use}, caution="The safety data sheet and local codes govern; so do those of the outfall.")
        note("biocide.reducer", title="Biocide and the reducing agent",
             inputs={"reducer": inp("dechlorination.present")},
             verdict="caution" if inp("dechlorination.present") == "yes" else "holds",
             why="bisulfite breaks most non-oxidising biocides down"
             if inp("dechlorination.present") == "yes" else "no reducing agent in the feed",
             do="stop chlorine well before a shock, then bisulfite for its time; start them in the other order")
        return dose_line(inp, "biocide", feed_flow, dose, of, lowest_flow=lowest_flow, mean=mean)


def corrosion_inhibitor(inp: Inputs, flow: Figure, lowest_flow: Figure | None = None) -> Dose | None:
    """Corrosion inhibitor into the product, mg/L as product; an option with a caution."""
    if inp("corrosion_inhibitor.present") == "no" and not inp("corrosion_inhibitor.reason"):
        return None
    if absent(inp, "corrosion_inhibitor") is not None:
        return None
    with scope(because=[inp("corrosion_inhibitor.present")]):
        of = solution(inp, "corrosion_inhibitor", "corrosion-inhibitor")
        note("corrosion_inhibitor.use", title="Corrosion inhibitor", verdict="caution",
             why="it slows corrosion where it reaches, and hides a water that is not stable",
             do="bring hardness, alkalinity and pH of the product right first; ask the network's authority",
             inputs={"present": inp("corrosion_inhibitor.present")})
        return dose_line(inp, "corrosion_inhibitor", flow, inp("corrosion_inhibitor.dose"), of,
                         lowest_flow=lowest_flow)


def interpass_ph(inp: Inputs, flow: Figure, amount: Figure | None, *, density: Figure,
                 total_dissolved_solids: Figure, lowest_flow: Figure | None = None) -> Dose | None:
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
    chemical: Choice = inp("interpass_ph.chemical")
    row = table("chemicals").row(chemical, "interpass_ph.chemical")
    with scope(because=[inp("interpass_ph.present"), chemical]):
        of = solution(inp, "interpass_ph", chemical)
        mass = assumed("interpass_ph.molar_mass", row["molar_mass"].value, "molar mass", symbol="M",
                       title="Molar mass of the alkali", text=row["molar_mass"].text, source="iupac-weights",
                       table="chemicals", row=row.key)
        dose = r.dose_of_amount.at("interpass_ph.dose", amount=amount, molar_mass=mass, density=density,
                                   total_dissolved_solids=total_dissolved_solids, title="Alkali before the second pass")
        return dose_line(inp, "interpass_ph", flow, dose, of, lowest_flow=lowest_flow)


def interpass_caustic(inp: Inputs, flow: Figure, one: Figure, amounts: Mapping[str, tuple[Figure, Figure, Figure]],
                      chemical: Choice) -> Dose:
    """Caustic into the feed of a second pass, at the amounts the second pass was computed with.

    Parameters
    ----------
    flow, one : Figure
        m3/s into the second pass of all trains and of one, at the design temperature.
    amounts : mapping
        For ``cold``, ``design`` and ``hot``: mol of NaOH per kg water, density of the dosed water and its dissolved
        solids, kg/m3.
    chemical : Choice
        Row of the table of chemicals.
    """
    row = table("chemicals").row(chemical, "interpass_ph.chemical")
    of = solution(inp, "interpass_ph", chemical)
    mass = assumed("interpass_ph.molar_mass", row["molar_mass"].value, "molar mass", symbol="M",
                   title="Molar mass of the alkali", text=row["molar_mass"].text, source="iupac-weights",
                   table="chemicals", row=row.key)
    doses = {key: r.dose_of_amount.at(
        "interpass_ph.dose" if key == "design" else f"interpass_ph.dose[{key}]", amount=amount, molar_mass=mass,
        density=density, total_dissolved_solids=solids, title=f"Alkali before the second pass, {key} water")
        for key, (amount, density, solids) in amounts.items()}
    highest, lowest = (govern(f"interpass_ph.dose_{rule}", doses, rule, title=f"Alkali before the second pass, {rule}")
                       for rule in ("largest", "smallest"))
    return dose_line(inp, "interpass_ph", flow, doses["design"], of, highest=highest, lowest=lowest, lowest_flow=one)
