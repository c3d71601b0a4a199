"""Guaranteed and expected: what a contract promises of product, feed, energy, chemicals and availability."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from typing import Annotated, Any

from desalbook.guidelines import guideline
from desalbook.plant.chemical_schedule import PLACES
from desalbook.plant.energy import EnergyYear
from desalbook.plant.operations import UnitOperations
from desalbook.product.limits import Limits, limits_of
from desalbook.product.routes import REAGENTS
from desalbook.sources import source
from desalbook.tables import table
from desalbook.trail import Figure, Relation, note, relation, scope
from desalbook.trail.inputs import Inputs
from desalbook.units import (
    KINDS,
    AsCaCO3,
    Concentration,
    Fraction,
    Index,
    JPerM3,
    KgPerS,
    PHNbs,
    SPerM,
    show,
)

__all__ = ["COLUMNS", "guarantees", "shown_rows"]

FoulingIndex = Annotated[float, KINDS["fouling index"]]

COLUMNS = ("id", "key", "title", "expected_id", "expected", "sense", "guaranteed", "margin", "corner", "measured",
           "source", "place", "margin_id", "standard", "kind")
"""Columns of `Plant.guarantees`: coherent SI of the ``kind`` of the row; ``id`` is the line of the guaranteed figure,
``standard`` names the standard it is measured by."""
table("guarantees").require("sense", "corner", "measured")


@relation("Concentration guaranteed", symbol="C_G", unit="kg/m^3", source="common-practice")
def guaranteed_concentration(concentration: Concentration, margin: Fraction) -> Concentration:
    """Concentration that is guaranteed: the expected one and its margin.

    The margin covers measuring and the scatter of elements, not another raw water.
    """
    return concentration * (1 + margin)


@relation("Hardness guaranteed", symbol="TH_G", unit="kg/m^3", source="common-practice")
def guaranteed_hardness(hardness: AsCaCO3, margin: Fraction) -> AsCaCO3:
    """Hardness that is guaranteed at most: the expected one and its margin.

    Of the product downstream of the minerals; where hardness is wanted, a lower limit stands in the specification.
    """
    return hardness * (1 + margin)


@relation("Conductivity guaranteed", symbol="kappa_G", unit="S/m", source="common-practice")
def guaranteed_conductivity(conductivity: SPerM, margin: Fraction) -> SPerM:
    """Conductivity that is guaranteed: the expected one and its margin.

    At the reference temperature; a meter without compensation reads some 2 % a degree otherwise.
    """
    return conductivity * (1 + margin)


@relation("Fouling index guaranteed", symbol="SDI_G", unit="1", source="common-practice")
def guaranteed_index(sdi: FoulingIndex, margin: Fraction) -> FoulingIndex:
    """Silt density index that is guaranteed: the expected one and its margin.

    Of usual raw water; blooms and storms are agreed apart.
    """
    return sdi * (1 + margin)


@relation("Specific energy guaranteed", symbol="E_G", unit="J/m^3", source="common-practice")
def guaranteed_energy(specific_energy: JPerM3, margin: Fraction) -> JPerM3:
    """Specific energy that is guaranteed: the mean of a year and its margin.

    A test of some days at another temperature is corrected to that mean.
    """
    return specific_energy * (1 + margin)


@relation("Chemical guaranteed", symbol="W_G", unit="kg/s", source="common-practice")
def guaranteed_chemical(mass_flow: KgPerS, margin: Fraction) -> KgPerS:
    """Use of a chemical that is guaranteed: mean dose at full flow, and its margin.

    For the raw water of the design; a demand that changes is agreed by a formula.
    """
    return mass_flow * (1 + margin)


@relation("pH guaranteed, at least", symbol="pH_G", unit="1", source="common-practice")
def guaranteed_ph_low(ph: PHNbs, ph_band: Index) -> PHNbs:
    """Lower end of the pH that is guaranteed.

    Where the water has a buffer; without one no pH can be promised.
    """
    return ph - ph_band


@relation("pH guaranteed, at most", symbol="pH_G", unit="1", source="common-practice")
def guaranteed_ph_high(ph: PHNbs, ph_band: Index) -> PHNbs:
    """Upper end of the pH that is guaranteed.

    Where the water has a buffer; without one no pH can be promised.
    """
    return ph + ph_band


@relation("Availability guaranteed", symbol="A_G", unit="1", source="common-practice")
def guaranteed_availability(availability: Fraction, margin: Fraction) -> Fraction:
    """Availability that is guaranteed: what is planned, less its margin of the year.

    Stops that the buyer asks for do not count.
    """
    return availability - margin


def guarantees(inp: Inputs, ops: UnitOperations, used: EnergyYear) -> list[dict[str, Any]]:
    """Record what is guaranteed, and give the table its rows (SI).

    Parameters
    ----------
    inp : Inputs
    ops : UnitOperations
        Of the walk.

    Returns
    -------
    list of dict
        Rows with the keys `COLUMNS`.
    """
    def margin(key: str) -> Figure:
        return inp.number(f"guarantees.{key}")

    f = ops.finish
    rows, held_to = [], {}
    for key, relation_of, argument, expected, by, held in (
        ("conductivity", guaranteed_conductivity, "conductivity", f.conductivity, "margin", margin("quality")),
        ("tds", guaranteed_concentration, "concentration", f.tds, "margin", margin("quality")),
        ("hardness", guaranteed_hardness, "hardness", f.hardness, "margin", margin("quality")),
        ("ph_low", guaranteed_ph_low, "ph", f.ph, "ph_band", margin("ph")),
        ("ph_high", guaranteed_ph_high, "ph", f.ph, "ph_band", margin("ph")),
        ("sdi", guaranteed_index, "sdi", ops.fouling_index, "margin", margin("sdi")),
        ("energy", guaranteed_energy, "specific_energy", used.plant, "margin", margin("energy")),
        ("availability", guaranteed_availability, "availability", ops.duty.availability, "margin",
         margin("availability")),
    ):
        with scope(because=[ops.pretreated.present] if key == "sdi" else []):
            promised = _at(relation_of, f"guarantee[{key}]", key, {argument: expected, by: held})
        held_to[key] = (expected, promised)
        rows.append(_row(key, expected, promised, held))
    rows.insert(2, _row("boron", ops.boron.expected, ops.boron.guaranteed, inp.number("membrane.margin_boron")))
    with scope(because=[inp.choice("duty.product_use"), inp.choice("product.remineralisation")]):
        lines = ops.doses.lines()
        titles = {n: f"{PLACES[n]}, {line.neat.chemical.row['dose_basis'].value}" for n, line in lines.items()}
        doses = {name: line.mean_mass_rate for name, line in lines.items()} | ops.minerals
        for name, rate in doses.items():
            made = _at(guaranteed_chemical, f"guarantee.chemical[{name}]", "chemicals",
                       {"mass_flow": rate, "margin": margin("chemicals")})
            title = titles[name] if name in titles else REAGENTS[name].title
            rows.append(_row("chemicals" if name in lines else "minerals", rate, made, margin("chemicals"), name,
                             title))
    _within(inp, held_to)
    return rows


def _within(inp: Inputs, held_to: Mapping[str, tuple[Figure, Figure]]) -> None:
    """Whether what is guaranteed lies within the limits of the product; boron with its margin has its own check."""
    limits = Limits(inp.choice("duty.product_use"), inp)
    beyond: list[str] = []
    room: list[tuple[int, str]] = []
    inputs: dict[str, Any] = {}
    for limit in limits_of(limits.use):
        sense = guideline(limit.guideline).sense
        key = limit.figure if limit.figure != "ph" else "ph_high" if sense == "≤" else "ph_low"
        if key not in held_to or table("guarantees")[key]["sense"].value != sense:
            continue
        (expected, promised), line = held_to[key], limits.line(limit)
        inputs |= {key: promised, f"limit_{key}": line}
        over = (float(promised) - float(line)) * (1 if sense == "≤" else -1)
        if over > 1e-3 * abs(float(line)):  # what three printed digits show
            word, kind = "max" if sense == "≤" else "min", promised.kind
            beyond.append(f"{table('guarantees')[key].title}: {word} {show(promised, kind, digits=3)} is guaranteed, "
                          f"{word} {show(line, kind, trim=True)} is the limit")
            acid = limit.figure == "ph"
            left = abs(float(line) - float(expected)) if acid else float(line) / float(expected) - 1
            room.append((math.floor(100 * left + 1e-6), "guarantees.ph" if acid else "guarantees.quality"))
    tightest = {name: left for left, name in sorted(room, reverse=True)}
    do = ", and ".join(f"lower {name} to {left / 100:g}" if name == "guarantees.ph" else f"lower {name} to {left} %"
                       for name, left in tightest.items() if left > 0)
    note("guarantee.within_limits", title="Guarantees within the product limits",
         verdict="review" if beyond else "passes", inputs=inputs,
         why="; ".join(beyond) or "no guaranteed value lies beyond a limit of the use",
         do=do or "bring the product within its limits before anything is guaranteed")


def _at(relation_of: Relation, id: str, key: str, inputs: dict[str, Figure]) -> Figure:
    return relation_of.at(id, **inputs, title=f"{table('guarantees')[key].title}, guaranteed")


def _row(key: str, expected: Figure, guaranteed: Figure, margin: Figure, name: str = "",
         title: str = "") -> dict[str, Any]:
    row = table("guarantees")[key]
    made = (guaranteed.id, name or key, f"{row.title}: {title}" if name else row.title, expected.id,
            float(expected), row["sense"].value, float(guaranteed), float(margin), row["corner"].value,
            row["measured"].value, row.source, row.place, margin.id, _standard(row.source, row.place),
            guaranteed.kind.name)
    return dict(zip(COLUMNS, made, strict=True))


def _standard(key: str, place: str) -> str:
    """The standard as it is ordered: ``ISO 7888:1985``; a handbook with its method."""
    cited = source(key)
    name = cited.where.partition(";")[0] if cited.kind == "standard" else cited.title.partition(" for ")[0]
    if cited.kind == "common practice":
        return "common practice"
    return f"{name}:{cited.year}" if cited.kind == "standard" and cited.year else f"{name} {place}".strip()


def shown_rows(rows: Sequence[Mapping[str, Any]], show: Callable[[str], str]) -> list[dict[str, str]]:
    """The table in words, for whoever prints it.

    Parameters
    ----------
    rows : sequence of mapping
        With the keys `COLUMNS`.
    show : callable
        Value with its unit of the line of an id.

    Returns
    -------
    list of dict
        ``title``, ``expected``, ``margin``, ``guaranteed`` (with at most or at least), ``corner``, ``measured``,
        ``standard``.
    """
    words = {"≤": "max", "≥": "min"}
    return [{"title": str(r["title"]), "expected": show(r["expected_id"]), "margin": show(r["margin_id"]),
             "guaranteed": f"{words[r['sense']]} {show(r['id'])}", "corner": str(r["corner"]),
             "measured": str(r["measured"]), "standard": str(r["standard"])} for r in rows]
