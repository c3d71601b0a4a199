"""From permeate to product: carbon dioxide that passed, calcite, alkali, chlorine; then the indices.

The chemistry is the geochemical engine's, in a closed system: on its way to the tap the product meets air,
and a water of little alkalinity drifts. The index says what the water does to calcite, not to metal.
"""

from __future__ import annotations

from dataclasses import dataclass

from desalbook.guidelines import product_use
from desalbook.problems import Infeasible
from desalbook.product import quality as q
from desalbook.product.blending import Blend
from desalbook.product.course import Course, answer, answers, masses, molar_mass
from desalbook.product.degasifier import degasifier
from desalbook.product.limits import Limits
from desalbook.product.routes import minerals, route_of
from desalbook.product.stoichiometry import carbon_of, carbonate_alkalinity, chlorine_amount
from desalbook.product.window import window_of
from desalbook.tables import table
from desalbook.trail import Choice, Column, Figure, assumed, checked, constant, is_given, note, scope
from desalbook.trail.inputs import Inputs
from desalbook.water.phreeqc import Water, calcite_equilibrium, dose, dose_to_ph, speciate
from desalbook.water.species import IONS

__all__ = ["Finish", "finish"]

REFERENCE = constant("T_25", 298.15, "K", source="iso-7888", title="Temperature conductivity is reported at")


@dataclass(frozen=True)
class Finish:
    """The product after post-treatment.

    Parameters
    ----------
    permeate_ph, ph : Figure
        NBS, before and after.
    sodium_hydroxide_dose : Figure or None
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
    conductivity : Figure
        S/m at 25 degC.
    water_content : Figure
        kg/m3.
    sar : Figure or None
    """

    permeate_ph: Figure
    ph: Figure
    sodium_hydroxide_dose: Figure | None
    doses: dict[str, Figure]
    alkalinity: Figure
    calcium: Figure
    hardness: Figure
    ccpp: Figure
    lsi: Figure | None
    concentrations: Column
    molality: Column
    tds: Figure
    conductivity: Figure
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
    inp: Inputs,
    *,
    molality: Column,
    carbon_dioxide: Figure,
    bicarbonate: Figure,
    carbonate: Figure,
    temperature: Figure,
    density: Figure,
    total_dissolved_solids: Figure,
    chlorine_dose: Figure | None = None,
    limits: Limits | None = None,
    blend: Blend | None = None,
) -> Finish:
    """Finish a permeate.

    Parameters
    ----------
    inp : Inputs
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
    limits : Limits, optional
        Limits of the use: the window that doses can be solved for.
    blend : Blend, optional
        Treated feed, where it is blended in.
    """
    content = q.water_content_of.at(
        "product.water_content", density=density, total_dissolved_solids=total_dissolved_solids
    )
    carbon = carbon_of.at(
        "product.permeate_carbon",
        carbon_dioxide=carbon_dioxide,
        bicarbonate_molality=bicarbonate,
        carbonate_molality=carbonate,
    )
    held = carbonate_alkalinity.at(
        "product.permeate_alkalinity", bicarbonate_molality=bicarbonate, carbonate_molality=carbonate
    )
    t = float(temperature)
    ions = tuple((k, float(v)) for k, v in molality.items() if not IONS[k].carbonate)
    permeate = Water(ions, float(held), float(carbon), None, t)
    basis: dict[str, Figure | Column] = {
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
    degasifier(inp, course, "permeate")
    minerals(inp, course, window_of(inp, limits, content), blend)
    degasifier(inp, course, "product")
    caustic = _alkali(inp, course)
    if chlorine_dose is not None:
        hypo = chlorine_amount.at(
            "product.chlorine_amount", chlorine_dose=chlorine_dose, water_content=content
        )
        course.water, _ = dose(course.water, t, {"NaOCl": float(hypo)})
        course.basis["chlorine"] = hypo
    with scope(because=course.chosen):
        made = _judged(inp, course, permeate_ph, caustic, limits)
        if limits is not None:
            _chased(inp, limits.use, made.lsi)
    return made


def _alkali(inp: Inputs, course: Course) -> Figure | None:
    """Alkali for the pH wanted, or what the window asked for."""
    wanted = inp.choice("product.ph_adjustment")
    course.chosen.append(wanted)
    water, t, content = course.water, course.temperature, course.content
    if course.alkali is not None:
        chemical = inp.choice("post_ph.chemical")
        row = table("chemicals").row(chemical, "post_ph.chemical")
        with scope(because=[*course.chosen, inp.choice("product.doses"), chemical]):
            caustic = q.concentration_of.at(
                "product.sodium_hydroxide_dose",
                molality=course.alkali,
                symbol="D",
                water_content=content,
                molar_mass=molar_mass(row.key, "product.sodium_hydroxide_molar_mass"),
                title="Dose of alkali",
            )
            course.water, _ = dose(water, t, {row["formula"].value: float(course.alkali)})
            course.basis["alkali_amount"] = course.alkali
            course.ph_after("alkali", "pH downstream of the alkali")
        return caustic
    if wanted == "no":
        return None
    target, chemical = inp.number("product.ph_target"), inp.choice("post_ph.chemical")
    row = table("chemicals").row(chemical, "post_ph.chemical")
    with scope(because=[*course.chosen, chemical]):
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
            "product.sodium_hydroxide_amount",
            needed,
            "molality",
            "Alkali for the target pH",
            "m_OH",
            {**course.basis, "target_ph": target},
            found.engine,
            "the water is above the target already" if high else "",
        )
        mass = molar_mass(row.key, "product.sodium_hydroxide_molar_mass")
        caustic = q.concentration_of.at(
            "product.sodium_hydroxide_dose",
            molality=amount,
            symbol="D",
            molar_mass=mass,
            water_content=content,
            title="Dose of alkali",
        )
        note(
            "product.ph_target_reached",
            title="pH by alkali",
            verdict="review" if high else "passes",
            why="the water is above the target before any alkali" if high else "alkali reaches the target",
            do="dose less calcite, more carbon dioxide, or accept the pH",
            inputs={"target": target, "amount": amount},
        )
        if needed:
            course.water, _ = dose(water, t, {row["formula"].value: needed})
        course.basis["alkali_amount"] = amount
        course.ph_after("alkali", "pH downstream of the alkali")
    return caustic


def _judged(inp: Inputs, course: Course, permeate_ph: Figure, caustic: Figure | None,
            limits: Limits | None) -> Finish:
    water, t, content, basis = course.water, course.temperature, course.content, course.basis
    found = calcite_equilibrium(water, t)
    swaps = "; ".join(f"{s.ion} stands as {s.by}" for s in found.substitutions)
    ph = answer("product.ph", found.ph, "ph.nbs", "pH of the product", "pH_P", basis, found.engine, swaps)
    conductivity = _conductivity(course, "product.conductivity", REFERENCE.value, "25 degC")
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
    alk = q.equivalents_as_caco3.at("product.alkalinity", equivalents=equivalents, water_content=content)
    ccpp = q.ccpp(
        "product.ccpp",
        answer(
            "product.precipitable",
            found.precipitation_potential,
            "molality",
            "Calcite precipitation potential",
            "m_CCPP",
            basis,
            found.engine,
            "closed system",
        ),
        content,
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
        lsi = q.langelier_index.at("product.lsi", ph=ph, saturation_ph=saturated)
    column = {**dict(water.molality), "HCO3": carbon}
    keys = tuple(column)
    amounts = answers(
        "product.molality",
        column,
        "molality",
        "Product, per kilogram of water",
        "m",
        basis,
        found.engine,
        "counted by stoichiometry; inorganic carbon as HCO3",
    )
    reported = masses("product.molar_mass", keys, [IONS[k].basis_molar_mass for k in keys], "as reported")
    counted = masses("product.salt_molar_mass", keys, [IONS[k].molar_mass for k in keys], "as salt")
    concentrations = q.concentration_of.at(
        "product.ions", molality=amounts, molar_mass=reported, water_content=content, title="Product"
    )
    tds = q.solids_of.at("product.tds", molality=amounts, molar_mass=counted, water_content=content)
    zero = (
        assumed("product.none", 0.0, "molality", title="Not in this water", source="definition")
        if ({"Ca", "Mg"} - set(keys))
        else None
    )
    calcium_molality = amounts["Ca"] if "Ca" in keys else zero
    calcium = q.as_caco3.at("product.calcium", molality=calcium_molality, water_content=content)
    magnesium_molality = amounts["Mg"] if "Mg" in keys else zero
    hardness = q.hardness_of.at("product.hardness", calcium_molality=calcium_molality,
                                magnesium_molality=magnesium_molality, water_content=content)
    sar = None
    if "Na" in keys and float(calcium) != 0.0:
        sar = q.sodium_adsorption_ratio.at(
            "product.sar",
            sodium_molality=amounts["Na"],
            calcium_molality=calcium_molality,
            magnesium_molality=magnesium_molality,
            water_content=content,
        )
    _buffer(inp, alk, ph, limits)
    _corrosion(lsi, ph, alk)
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
        conductivity,
        content,
        sar,
    )


def _conductivity(course: Course, id: str, temperature: float, at: str) -> Figure:
    """Electrical conductivity at a reference temperature, from the ions and their mobility."""
    alkalinity, carbon = course.water.conserved() or (0.0, 0.0)
    found = speciate(Water(course.water.molality, alkalinity, carbon, None, temperature), temperature, "fresh")
    return answer(id, found.conductivity or 0.0, "conductivity", f"Conductivity of the product at {at}", "kappa",
                  course.basis, found.engine, "from the ions, each with its mobility")


def _buffer(inp: Inputs, alkalinity: Figure, ph: Figure, limits: Limits | None) -> None:
    """A pH on almost no alkalinity is none; who neither drinks it nor asks for a pH is not failed for the default."""
    limit = inp.number("product.buffer_limit")
    use = None if limits is None else product_use(limits.use)
    if use is None or use.drunk or is_given(limit.id) or (use.minerals and is_given("product.ph_target")):
        checked(
            "product.alkalinity.check_buffer",
            alkalinity,
            ">=",
            limit,
            title=f"Buffering at pH {float(ph):.1f}",
            source="common-practice",
            do="remineralise, or clear the pH target: without buffering the pH drifts with air and each dosing error",
        )
        return
    assert limits is not None, "without limits there is no use, and the check above has answered"
    wanted = inp.choice("product.ph_adjustment")
    drifts = wanted == "yes" and not float(alkalinity) >= float(limit)
    note(
        "product.buffer",
        title="pH of a water without buffer",
        verdict="review" if drifts else "passes",
        why=f"on so little alkalinity pH {float(ph):.1f} drifts with air and with each dosing error" if drifts
        else "no pH is promised on this water, or its buffer holds it",
        do='set product.ph_adjustment = "no" and protect pipes by material, or keep air away',
        inputs={"use": limits.use, "alkalinity": alkalinity, "limit": limit, "wanted": wanted},
    )


def _corrosion(lsi: Figure | None, ph: Figure, alkalinity: Figure) -> None:
    """The index is information; soft water attacks metal and cement whatever it says."""
    negative = lsi is None or not float(lsi) >= 0.0
    note(
        "product.corrosion",
        title="Corrosivity of the product",
        verdict="review" if negative else "passes",
        why="it dissolves calcite, and attacks cement and bare metal"
        if negative
        else "it does not dissolve calcite; chloride and oxygen still attack metal",
        do="use plastic or resistant alloys, or remineralise",
        inputs={"ph": ph, "alkalinity": alkalinity, **({"index": lsi} if lsi is not None else {})},
    )


def _chased(inp: Inputs, use: Choice, lsi: Figure | None) -> None:
    """Minerals and an index have no place in boiler make-up or process water."""
    route = inp.choice("product.remineralisation")
    soft = not product_use(use).minerals
    wrong = soft and route_of(route).adds
    note(
        "product.index_use",
        title="Langelier index and the use of the product",
        verdict="fails" if wrong else "passes",
        why=f"the product is for {use}: hardness that is added for the index becomes scale, or load on the polisher"
        if wrong
        else "the index is information here; soft water corrodes bare steel, copper and cement"
        if soft
        else "minerals and use go together",
        do='set product.remineralisation = "none"; protect pipes by material, oxygen removal and pH',
        inputs={"use": use, "route": route, **({"index": lsi} if lsi is not None else {})},
    )
