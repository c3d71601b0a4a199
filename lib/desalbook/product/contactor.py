"""Calcite contactors: how many, how deep, how much calcite a day, and whether the bed still dissolves at its end."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from desalbook.balances import volume_in_time
from desalbook.hydraulics.pipes import circle_area, diameter_for_area
from desalbook.hydraulics.rows import least_row
from desalbook.product.course import Course, answer
from desalbook.product.quality import ccpp
from desalbook.tables import table
from desalbook.trail import Figure, assumed, note, picked, relation, scope, up
from desalbook.trail.inputs import Inputs
from desalbook.trail.limits import check_limit
from desalbook.units import (
    KINDS,
    M2,
    M3,
    Concentration,
    Count,
    FiltrationRate,
    Fraction,
    KgPerM3,
    KgPerS,
    M,
    M3PerS,
    MassFraction,
    Molality,
)
from desalbook.water.phreeqc import Water, calcite_equilibrium, dose

__all__ = [
    "ContactorDesign",
    "bed_depth",
    "calcite_use",
    "contactor",
    "contactor_area_for",
    "contactors_for",
    "dissolves",
    "refill_time",
    "through_contactor",
    "treated_flow",
]

Days = Annotated[float, KINDS["time.day"]]


@relation("Amount in the contactor", symbol="m_c", unit="mol/kg", source="definition")
def through_contactor(amount: Molality, bypass: Fraction) -> Molality:
    """Dose in the treated part, where what the whole product gets is brought into a part of it.

    The more goes by, the stronger the part that is treated, and the sooner it is saturated.
    """
    return amount / (1 - bypass)


@relation("Flow through the contactors", symbol="Q_c", unit="m^3/s", source="definition")
def treated_flow(product_flow: M3PerS, bypass: Fraction) -> M3PerS:
    """Flow through the contactors: the product less what passes by.

    Backwash and refill are not in it; the contactor on standby covers them.
    """
    return product_flow * (1 - bypass)


@relation(
    "Contactors in service",
    symbol="n_c",
    unit="1",
    source="definition",
    note="one more stands by for refilling",
)
def contactors_for(flow: M3PerS, contactor_rate: FiltrationRate, contactor_area: M2) -> Count:
    """Contactors in service: whole ones that keep to the loading.

    Rounded up; the loading that results is lower than the one asked for.
    """
    return up(flow / (contactor_rate * contactor_area))


@relation("Area a contactor needs", symbol="A_n", unit="m^2", source="definition")
def contactor_area_for(flow: M3PerS, contactor_rate: FiltrationRate, contactors: Count) -> M2:
    """Area that one contactor needs to keep to the loading.

    Of those in service, evenly fed; the one that stands by is not among them.
    """
    return flow / (contactor_rate * contactors)


@relation("Depth of the calcite bed", symbol="h_bed", unit="m", source="definition")
def bed_depth(bed_volume: M3, contactor_area: M2, contactors: Count) -> M:
    """Depth of the calcite bed: its volume over the area in service.

    Just filled; before a refill it is lower by the part used up.
    """
    return bed_volume / (contactor_area * contactors)


@relation("Calcite used", symbol="W_cal", unit="kg/s", source="definition")
def calcite_use(product_flow: M3PerS, calcite_dose: Concentration, purity: MassFraction) -> KgPerS:
    """Calcite used: what dissolves, and what of the medium is not calcite.

    Fines that a backwash carries out come on top.
    """
    return product_flow * calcite_dose / purity


@relation("Time between refills", symbol="t_fill", unit="s", source="definition")
def refill_time(bed_volume: M3, bulk_density: KgPerM3, refill_fraction: Fraction, calcite_rate: KgPerS) -> Days:
    """Time between refills: until the share of the bed that may be used up is gone.

    All beds together, evenly used.
    """
    return bed_volume * bulk_density * refill_fraction / calcite_rate


@dataclass(frozen=True)
class ContactorDesign:
    """Contactors in service (one more stands by), bed depth (m), bed volume (m3), calcite (kg/s), refill (s)."""

    count: Figure
    depth: Figure
    volume: Figure
    calcite_rate: Figure
    refill: Figure


def contactor(inp: Inputs, flow: Figure, calcite_dose: Figure | None) -> ContactorDesign | None:
    """Size the contactors for the product flow (m3/s); None where no calcite is dissolved."""
    if calcite_dose is None:
        return None
    with scope(because=[inp.choice("product.remineralisation")]):
        treated = treated_flow.at("contactor.flow", product_flow=flow, bypass=inp.number("product.bypass"))
        bed = volume_in_time.at("contactor.bed_volume", flow=treated, time=inp.number("contactor.bed_time"),
                                title="Calcite bed, empty-bed volume", symbol="V_bed")
        diameter, count = inp.optional("contactor.diameter"), None
        if diameter is None:
            diameter, count = _pick(inp, treated)
        area = circle_area.at("contactor.area", diameter=diameter, title="Area of one contactor", symbol="A_c")
        if count is None:
            count = contactors_for.at("contactor.count", flow=treated, contactor_rate=inp.number("contactor.rate"),
                                      contactor_area=area)
        depth = bed_depth.at("contactor.bed_depth", bed_volume=bed, contactor_area=area, contactors=count)
        used = calcite_use.at("contactor.calcite_rate", product_flow=flow, calcite_dose=calcite_dose,
                              purity=inp.number("contactor.purity"))
        refill = refill_time.at("contactor.refill_time", bed_volume=bed,
                                bulk_density=inp.number("contactor.bulk_density"),
                                refill_fraction=inp.number("contactor.refill_fraction"), calcite_rate=used)
        for key, figure, do in (
            ("contactor-time", inp.number("contactor.bed_time"), "raise contactor.bed_time"),
            ("contactor-rate", inp.number("contactor.rate"), "lower contactor.rate"),
            ("contactor-depth-low", depth, "raise contactor.bed_time, or lower contactor.diameter"),
            ("contactor-depth-high", depth, "lower contactor.bed_time, or raise contactor.diameter"),
        ):
            check_limit(f"{figure.id}.check_{key.rpartition('-')[2]}", figure, key, do=do)
    return ContactorDesign(count, depth, bed, used, refill)


def _pick(inp: Inputs, flow: Figure) -> tuple[Figure, Figure]:
    """Minimum number of contactors of at most the largest diameter, and the standard diameter each of them needs."""
    most, rate = inp.number("contactor.diameter_largest"), inp.number("contactor.rate")
    rows = table("diameters").ascending("diameter")
    standard = [row for row in rows if row["diameter"].value <= float(most) * (1 + 1e-9)] or rows[:1]
    cell = standard[-1]["diameter"]
    widest = picked("contactor.diameter_usable", cell.value, "length", title="Largest standard diameter",
                    symbol=cell.symbol, rule="largest standard diameter not above contactor.diameter_largest",
                    candidates=[{"key": r.key, "value": r["diameter"].value, "won": r is standard[-1]} for r in rows],
                    inputs={"largest": most}, why=standard[-1].title, table="diameters", source=cell.source)
    count = contactors_for.at(
        "contactor.count", flow=flow, contactor_rate=rate,
        contactor_area=circle_area.at("contactor.usable_area", diameter=widest, symbol="A_max",
                                      title="Area of the largest standard contactor"))
    needed = diameter_for_area.at(
        "contactor.diameter_minimum", title="Diameter a contactor needs",
        area=contactor_area_for.at("contactor.area_minimum", flow=flow, contactor_rate=rate, contactors=count))
    diameter, _ = least_row("contactor.diameter", "diameters", "diameter", needed, title="Diameter of one contactor",
                            rule="minimum standard diameter that keeps the loading",
                            do="raise contactor.diameter_largest, or set contactor.diameter")
    return diameter, count


def dissolves(inp: Inputs, course: Course, before: Water, amounts: dict[str, Figure]) -> None:
    """The water in the contactor: can it still dissolve calcite where it leaves?

    Parameters
    ----------
    inp : Inputs
    course : Course
    before : Water
        Upstream of the contactor.
    amounts : dict
        mol/kg of the whole product, by reactant.
    """
    bypass = inp.number("product.bypass")
    inside = {
        k: through_contactor.at(f"product.contactor_amount[{k}]", amount=v, bypass=bypass,
                                title=f"{k} into the treated part")
        for k, v in amounts.items()
    }
    water, _ = dose(before, course.temperature, {k: float(v) for k, v in inside.items()})
    found = calcite_equilibrium(water, course.temperature)
    left = answer("product.contactor_potential", found.precipitation_potential, "molality",
                  "Calcite precipitation potential after bed", "m_CCPP", {**course.basis, **inside},
                  found.engine, "negative: the bed still dissolves")
    potential = ccpp("product.contactor_ccpp", left, course.content, "CCPP where the contactor ends")
    over = not float(potential) <= 0.0
    need = assumed("product.contactor_saturation", 0.0, "concentration as CaCO3", title="Saturation",
                   source="definition")
    note("product.contactor_dissolves", title="Calcite dissolution capacity",
         verdict="fails" if over else "passes",
         why="the dose asks for more calcite than the carbon dioxide or acid in the contactor dissolves" if over
         else "the bed still dissolves where the water leaves it",
         do="raise product.co2_dose or product.acid_dose, lower product.calcite_dose, or lower product.bypass",
         inputs={"ccpp": potential, "saturation": need})
