"""From permeate to product: carbon dioxide that passed, calcite, alkali, chlorine; then the indices.

The chemistry is the geochemical engine's, in a closed system: on its way to the tap the product meets air,
and a water of little alkalinity drifts. The index says what the water does to calcite, not to metal.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from desalbook.problems import Infeasible
from desalbook.product import relations as r
from desalbook.product import treat_relations as tr
from desalbook.product.lines import answer, chased, corrosion, drift, masses, molar_mass
from desalbook.product.route import Blend, Course, minerals, strip
from desalbook.product.window import window_of
from desalbook.tables import table
from desalbook.trail import Choice, Column, Figure, assumed, constant, note, relation, scope
from desalbook.units import AsCl2, KgPerM3, Molality
from desalbook.water.phreeqc_bridge import Water, dose, dose_to_ph, langelier, speciate
from desalbook.water.species import IONS

__all__ = ["Finish", "chlorine_amount", "finish"]

Inp = Callable[[str], Any]
CHLORINE = constant("M_Cl2", 0.07090, "kg/mol", source="iupac-weights", title="Molar mass of Cl2")


@relation("Hypochlorite dosed", symbol="m_OCl", unit="mol/kg", source="definition")
def chlorine_amount(chlorine_dose: AsCl2, water_content: KgPerM3) -> Molality:
    """One mole of hypochlorite for each mole of Cl2 it is counted as."""
    return chlorine_dose / (CHLORINE * water_content)


@dataclass(frozen=True)
class Finish:
    """The product after post-treatment.

    Parameters
    ----------
    permeate_ph, ph : Figure
        NBS, before and after.
    caustic_dose : Figure or None
        kg/m3 of NaOH; None where pH is left alone.
    doses : dict of str to Figure
        kg/m3 by mineral: ``calcite``, ``co2``, ``acid``, ``lime``, ``alkali``, as the route has them.
    alkalinity, calcium, hardness, ccpp : Figure
        kg/m3 as CaCO3.
    lsi : Figure or None
        None where the water has no calcium or no alkalinity, hence no saturation pH.
    concentrations : Column
        kg/m3 along axis ``ion``, carbon as HCO3, boron as B.
    molality : Column
        mol/kg along axis ``ion``.
    tds : Figure
        kg/m3.
    water_content : Figure
        kg/m3.
    sar : Figure or None
    """

    permeate_ph: Figure
    ph: Figure
    caustic_dose: Figure | None
    doses: dict[str, Figure]
    alkalinity: Figure
    calcium: Figure
    hardness: Figure
    ccpp: Figure
    lsi: Figure | None
    concentrations: Column
    molality: Column
    tds: Figure
    water_content: Figure
    sar: Figure | None

    @property
    def calcite_dose(self) -> Figure | None:
        """Calcite dissolved, kg/m3, None without a contactor."""
        return self.doses.get("calcite")

    @property
    def co2_dose(self) -> Figure | None:
        """Carbon dioxide, kg/m3, None where none is dosed."""
        return self.doses.get("co2")


def finish(
    inp: Inp,
    *,
    molality: Column,
    carbon_dioxide: Figure,
    bicarbonate: Figure,
    carbonate: Figure,
    temperature: Figure,
    density: Figure,
    total_dissolved_solids: Figure,
    chlorine_dose: Figure | None = None,
    use: Choice | None = None,
    blend: Blend | None = None,
) -> Finish:
    """Finish a permeate.

    Parameters
    ----------
    inp : callable
    molality : Column
        mol/kg along axis ``ion``; carbonate species in it are passed over, since they come apart.
    carbon_dioxide, bicarbonate, carbonate : Figure
        mol/kg in the permeate. Carbon dioxide passes the membrane freely.
    temperature : Figure
        K.
    density, total_dissolved_solids : Figure
        kg/m3 of the permeate.
    chlorine_dose : Figure, optional
        kg/m3 as Cl2 into the product.
    use : Choice, optional
        ``duty.product_use``: its limits are the window that doses can be solved for.
    blend : Blend, optional
        Treated feed, where it is blended in.
    """
    content = r.water_content_of.at(
        "product.water_content", density=density, total_dissolved_solids=total_dissolved_solids
    )
    carbon = r.carbon_of.at(
        "product.permeate_carbon",
        carbon_dioxide=carbon_dioxide,
        bicarbonate_molality=bicarbonate,
        carbonate_molality=carbonate,
    )
    held = r.carbonate_alkalinity.at(
        "product.permeate_alkalinity", bicarbonate_molality=bicarbonate, carbonate_molality=carbonate
    )
    t = float(temperature)
    ions = tuple((k, float(v)) for k, v in molality.items() if not IONS[k].carbonate)
    permeate = Water(ions, float(held), float(carbon), None, t)
    basis: dict[str, Any] = {
        "molality": molality,
        "carbon": carbon,
        "alkalinity": held,
        "temperature": temperature,
    }
    first = speciate(permeate, t, "fresh")
    permeate_ph = answer(
        "product.permeate_ph",
        first.ph,
        "ph.nbs",
        "pH of the permeate",
        "pH_p",
        basis,
        first.engine,
        "carbon dioxide passed freely",
    )
    course = Course(permeate, t, content, basis)
    strip(inp, course, "permeate")
    minerals(inp, course, window_of(inp, use, content), blend)
    strip(inp, course, "product")
    caustic = _alkali(inp, course)
    if chlorine_dose is not None:
        hypo = chlorine_amount.at(
            "product.chlorine_amount", chlorine_dose=chlorine_dose, water_content=content
        )
        course.water, _ = dose(course.water, t, {"NaOCl": float(hypo)})
        course.basis["chlorine"] = hypo
    with scope(because=course.chosen):
        made = _judged(inp, course, permeate_ph, caustic)
        if use is not None:
            chased(inp, use, made.lsi)
    return made


def _alkali(inp: Inp, course: Course) -> Figure | None:
    """Alkali for the pH wanted, or what the window asked for."""
    wanted: Choice = inp("product.ph_adjustment")
    course.chosen.append(wanted)
    water, t, content = course.water, course.temperature, course.content
    if course.alkali is not None:
        chemical = inp("post_ph.chemical")
        row = table("chemicals").row(chemical, "post_ph.chemical")
        with scope(because=[*course.chosen, inp("product.doses"), chemical]):
            caustic = r.dose_from_amount.at(
                "product.caustic_dose",
                amount=course.alkali,
                water_content=content,
                molar_mass=molar_mass(row.key, "product.caustic_molar_mass"),
                title="Dose of alkali",
            )
            course.water, _ = dose(water, t, {row["formula"].value: float(course.alkali)})
            course.basis["alkali_amount"] = course.alkali
            course.ph_after("alkali", "pH behind the alkali")
        return caustic
    if wanted == "no":
        return None
    target = inp("product.ph_target")
    row = table("chemicals").row(inp("post_ph.chemical"), "post_ph.chemical")
    with scope(because=[*course.chosen, inp("post_ph.chemical")]):
        found = speciate(water, t, "fresh")
        high = found.ph - float(target) > 0.0
        if high:
            needed = 0.0
        else:
            try:
                needed = dose_to_ph(water, t, float(target), row["formula"].value, "fresh")
            except Infeasible as problem:
                raise Infeasible(
                    problem.what, where="product.ph_target", value=float(target), do="lower the target"
                ) from None
        amount = answer(
            "product.caustic_amount",
            needed,
            "molality",
            "Alkali for the target pH",
            "m_OH",
            {**course.basis, "target_ph": target},
            found.engine,
            "the water is above the target already" if high else "",
        )
        mass = molar_mass(row.key, "product.caustic_molar_mass")
        caustic = r.dose_from_amount.at(
            "product.caustic_dose",
            amount=amount,
            molar_mass=mass,
            water_content=content,
            title="Dose of alkali",
        )
        note(
            "product.ph_target_reached",
            title="pH by alkali",
            verdict="caution" if high else "holds",
            why="the water is above the target before any alkali" if high else "alkali reaches the target",
            do="dose less calcite, more carbon dioxide, or accept the pH",
            inputs={"target": target, "amount": amount},
        )
        if needed:
            course.water, _ = dose(water, t, {row["formula"].value: needed})
        course.basis["alkali_amount"] = amount
        course.ph_after("alkali", "pH behind the alkali")
    return caustic


def _judged(inp: Inp, course: Course, permeate_ph: Figure, caustic: Figure | None) -> Finish:
    water, t, content, basis = course.water, course.temperature, course.content, course.basis
    found = langelier(water, t)
    swaps = "; ".join(f"{s.ion} stands as {s.by}" for s in found.substitutions)
    ph = answer("product.ph", found.ph, "ph.nbs", "pH of the product", "pH_P", basis, found.engine, swaps)
    alkalinity, carbon = water.conserved() or (0.0, 0.0)
    equivalents = answer(
        "product.equivalents",
        alkalinity,
        "molality",
        "Alkalinity, equivalents",
        "m_Alk",
        basis,
        found.engine,
        "counted by stoichiometry",
    )
    alk = r.equivalents_as_caco3.at("product.alkalinity", equivalents=equivalents, water_content=content)
    ccpp = r.as_calcite.at(
        "product.ccpp",
        water_content=content,
        precipitable=answer(
            "product.precipitable",
            found.precipitation_potential,
            "molality",
            "Calcite that can precipitate",
            "m_CCPP",
            basis,
            found.engine,
            "closed system",
        ),
    )
    lsi = None
    if found.saturation_ph is not None:
        saturated = answer(
            "product.saturation_ph",
            found.saturation_ph,
            "ph.nbs",
            "pH of saturation with calcite",
            "pH_s",
            basis,
            found.engine,
            "at this calcium and alkalinity",
        )
        lsi = r.langelier_index.at("product.lsi", ph=ph, saturation_ph=saturated)
    column = {**dict(water.molality), "HCO3": carbon}
    keys = tuple(column)
    amounts = answer(
        "product.molality",
        list(column.values()),
        "molality",
        "Product, per kilogram of water",
        "m",
        basis,
        found.engine,
        "counted by stoichiometry; inorganic carbon as HCO3",
        keys,
    )
    reported = masses("product.molar_mass", keys, [IONS[k].basis_molar_mass for k in keys], "as reported")
    counted = masses("product.salt_molar_mass", keys, [IONS[k].molar_mass for k in keys], "as salt")
    concentrations = r.concentration_of.at(
        "product.ions", molality=amounts, molar_mass=reported, water_content=content, title="Product"
    )
    tds = r.solids_of.at("product.tds", molality=amounts, molar_mass=counted, water_content=content)
    zero = (
        assumed("product.none", 0.0, "molality", title="Not in this water", source="definition")
        if ({"Ca", "Mg"} - set(keys))
        else None
    )
    calcium_molality = amounts["Ca"] if "Ca" in keys else zero
    calcium = r.calcium_as_caco3.at(
        "product.calcium", calcium_molality=calcium_molality, water_content=content
    )
    magnesium_molality = amounts["Mg"] if "Mg" in keys else zero
    hardness = tr.hardness_of.at("product.hardness", calcium_molality=calcium_molality,
                                 magnesium_molality=magnesium_molality, water_content=content)
    sar = None
    if "Na" in keys and float(calcium) != 0.0:
        sar = r.sodium_adsorption_ratio.at(
            "product.sar",
            sodium_molality=amounts["Na"],
            calcium_molality=calcium_molality,
            magnesium_molality=magnesium_molality,
            water_content=content,
        )
    drift(inp, alk, ph)
    corrosion(lsi, ph, alk)
    return Finish(
        permeate_ph,
        ph,
        caustic,
        course.doses,
        alk,
        calcium,
        hardness,
        ccpp,
        lsi,
        concentrations,
        amounts,
        tds,
        content,
        sar,
    )
