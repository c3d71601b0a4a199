"""The chemicals ahead of the membranes, each a step that may be absent with a reason."""

from __future__ import annotations

from dataclasses import dataclass

from desalbook.dosing import relations as r
from desalbook.dosing.line import Dose, dose_line, solution, stoichiometry
from desalbook.tables import table
from desalbook.trail import Choice, Figure, assumed, checked, note, scope
from desalbook.trail.inputs import Inputs

__all__ = [
    "Acidified",
    "Chlorinated",
    "Coagulated",
    "Dechlorinated",
    "acid",
    "antiscalant",
    "chlorination",
    "coagulation",
    "dechlorination",
]

@dataclass(frozen=True)
class Chlorinated:
    """Hypochlorite: its line, the residual (kg/m3 as Cl2) that is left, usual and at its highest."""

    line: Dose
    residual: Figure
    residual_highest: Figure


@dataclass(frozen=True)
class Dechlorinated:
    """Reducing agent: its line and the alkalinity it takes (kg/m3 as CaCO3)."""

    line: Dose
    alkalinity: Figure
    oxygen: Figure


@dataclass(frozen=True)
class Coagulated:
    """Ferric chloride: its line (dose as FeCl3), alkalinity it takes, solids it makes (kg/m3)."""

    line: Dose
    alkalinity: Figure
    solids: Figure


@dataclass(frozen=True)
class Acidified:
    """Acid: its line and the amount per kilogram of water (mol/kg), for the chemistry that follows."""

    line: Dose
    amount: Figure


def absent(inp: Inputs, prefix: str) -> Choice | None:
    """The choice that leaves a step out, with its finding; None when the step is in this plant."""
    present: Choice = inp(f"{prefix}.present")
    if present == "yes":
        return None
    reason = inp(f"{prefix}.reason")
    note(
        f"{prefix}.absent",
        title=f"No {prefix} in this plant",
        verdict="holds" if reason else "caution",
        why=str(reason) if reason else "no reason is given",
        do=f"write {prefix}.reason",
        inputs={"present": present, **({"reason": reason} if reason else {})},
    )
    return present


def chlorination(inp: Inputs, flow: Figure, lowest_flow: Figure | None = None) -> Chlorinated | None:
    """Continuous dose for demand and residual, and shock doses.

    Parameters
    ----------
    flow, lowest_flow : Figure
        m3/s of raw water, all trains and one train.
    """
    if absent(inp, "chlorination") is not None:
        return None
    demand, residual = inp("chlorination.demand"), inp("chlorination.residual")
    with scope(because=[inp("chlorination.present"), inp("chlorination.chemical")]):
        of = solution(inp, "chlorination", inp("chlorination.chemical"))
        dose = r.chlorine_dose_of.at("chlorination.dose", chlorine_demand=demand, chlorine_residual=residual)
    shock: Choice = inp("chlorination.shock")
    with scope(because=[inp("chlorination.present"), inp("chlorination.chemical"), shock]):
        if shock == "no":
            return Chlorinated(
                dose_line(inp, "chlorination", flow, dose, of, lowest_flow=lowest_flow), residual, residual
            )
        high = inp("chlorination.shock_dose")
        mean = r.mean_chlorine.at(
            "chlorination.mean_dose",
            chlorine_dose=dose,
            shock_dose=high,
            shock_time=inp("chlorination.shock_time"),
            shock_interval=inp("chlorination.shock_interval"),
        )
        left = r.shock_left.at("chlorination.residual_shock", shock_dose=high, chlorine_demand=demand)
        line = dose_line(
            inp, "chlorination", flow, dose, of, highest=high, lowest_flow=lowest_flow, mean=mean
        )
    return Chlorinated(line, residual, left)


def dechlorination(
    inp: Inputs, flow: Figure, chlorinated: Chlorinated | None, lowest_flow: Figure | None = None
) -> Dechlorinated | None:
    """Reducing agent for the residual at that point; oxygen is reported, never added.

    Without chlorination nothing is dosed even where the step is present: a finding says so.
    """
    if absent(inp, "dechlorination") is not None or chlorinated is None:
        return None
    chemical: Choice = inp("dechlorination.chemical")
    formula = table("chemicals").row(chemical, "dechlorination.chemical")["formula"].value.lower()
    with scope(because=[inp("dechlorination.present"), chemical]):
        of = solution(inp, "dechlorination", chemical)
        ratio = stoichiometry("dechlorination.per_chlorine", f"{formula}-per-cl2")
        row = table("field_factors")[f"{formula}-per-cl2"]
        field = assumed("dechlorination.field_factor", row["ratio"].value, "mass ratio", title=row.title, symbol="r_f",
                        text=row["ratio"].text, source=row.source, place=row.place, table="field_factors",
                        row=row.key, note="experience of plants, kept apart from stoichiometry")
        per_oxygen = stoichiometry("dechlorination.per_oxygen", f"{formula}-per-o2")
        per_alkalinity = stoichiometry("dechlorination.alkalinity_per_chlorine", "caco3-per-cl2")
        multiple = inp("dechlorination.multiple")

        per_residual = r.per_residual.at("dechlorination.per_residual", per_chlorine=ratio,
                                         bisulfite_multiple=multiple)
        checked("dechlorination.field.check", per_residual, ">=", field,
                title="Reducing agent against the field factor",
                do="write a dechlorination.multiple of 1.1 or more: plants need a tenth above stoichiometry",
                caution="Chlorine that is left destroys polyamide.")

        def needed(id: str, residual: Figure, **more: str) -> Figure:
            return r.dechlorination_dose.at(
                id, residual_chlorine=residual, per_chlorine=ratio, bisulfite_multiple=multiple, **more
            )

        dose = needed("dechlorination.dose", chlorinated.residual)
        high = dose
        if chlorinated.residual_highest.id != chlorinated.residual.id:
            high = needed(
                "dechlorination.dose_highest",
                chlorinated.residual_highest,
                title="Dose of reducing agent in a shock",
            )
        taken = r.alkalinity_by_bisulfite.at(
            "dechlorination.alkalinity",
            residual_chlorine=chlorinated.residual,
            alkalinity_per_chlorine=per_alkalinity,
        )
        oxygen = r.oxygen_by_excess.at(
            "dechlorination.oxygen",
            bisulfite_dose=dose,
            residual_chlorine=chlorinated.residual,
            per_chlorine=ratio,
            per_oxygen=per_oxygen,
        )
        r.excess_oxygen.at(
            "dechlorination.dose_for_oxygen", concentration=inp("water.oxygen"), per_oxygen=per_oxygen
        )
        line = dose_line(inp, "dechlorination", flow, dose, of, highest=high, lowest_flow=lowest_flow)
    return Dechlorinated(line, taken, oxygen)


def antiscalant(inp: Inputs, feed_flow: Figure, lowest_flow: Figure | None = None) -> Dose | None:
    """Antiscalant per volume of membrane feed, mg/L as product; none needed is an answer."""
    if absent(inp, "antiscalant") is not None:
        return None
    with scope(because=[inp("antiscalant.present")]):
        of = solution(inp, "antiscalant", "antiscalant")
        return dose_line(inp, "antiscalant", feed_flow, inp("antiscalant.dose"), of, lowest_flow=lowest_flow)


def coagulation(inp: Inputs, flow: Figure, lowest_flow: Figure | None = None) -> Coagulated | None:
    """Ferric chloride; the dose is counted as iron and fed as FeCl3."""
    if absent(inp, "coagulation") is not None:
        return None
    chemical: Choice = inp("coagulation.chemical")
    with scope(because=[inp("coagulation.present"), chemical]):
        of = solution(inp, "coagulation", chemical)
        iron = stoichiometry("coagulation.iron_content", "fe-per-fecl3")
        salt = r.ferric_as_salt.at(
            "coagulation.dose_as_salt", coagulant_dose=inp("coagulation.dose"), iron_content=iron
        )
        high = r.ferric_as_salt.at(
            "coagulation.dose_as_salt_highest",
            iron_content=iron,
            coagulant_dose=inp("coagulation.dose_highest"),
        )
        taken = r.alkalinity_by_ferric.at(
            "coagulation.alkalinity",
            ferric_dose=salt,
            per_ferric=stoichiometry("coagulation.alkalinity_per_ferric", "caco3-per-fecl3"),
        )
        solids = r.ferric_solids.at(
            "coagulation.solids",
            ferric_dose=salt,
            per_ferric=stoichiometry("coagulation.solids_per_ferric", "feoh3-per-fecl3"),
        )
        line = dose_line(inp, "coagulation", flow, salt, of, highest=high, lowest_flow=lowest_flow)
    return Coagulated(line, taken, solids)


def acid(
    inp: Inputs,
    feed_flow: Figure,
    amount: Figure | None,
    *,
    density: Figure,
    total_dissolved_solids: Figure,
    lowest_flow: Figure | None = None,
) -> Acidified | None:
    """Acid to a pH of the membrane feed.

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
    chemical = inp("acid.chemical")
    row = table("chemicals").row(chemical, "acid.chemical")
    with scope(because=[inp("acid.present"), chemical]):
        of = solution(inp, "acid", chemical)
        mass = assumed(
            "acid.molar_mass",
            row["molar_mass"].value,
            "molar mass",
            title="Molar mass of the acid",
            symbol="M",
            text=row["molar_mass"].text,
            source="iupac-weights",
            table="chemicals",
            row=row.key,
        )
        dose = r.dose_of_amount.at(
            "acid.dose",
            amount=amount,
            molar_mass=mass,
            density=density,
            total_dissolved_solids=total_dissolved_solids,
            title="Acid dose",
        )
        line = dose_line(inp, "acid", feed_flow, dose, of, lowest_flow=lowest_flow)
    return Acidified(line, amount)
