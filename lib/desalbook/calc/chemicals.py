"""Calculations of chemicals: any dose, dechlorination, antiscalant, acid, disinfection."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, NamedTuple

from desalbook import dosing, product
from desalbook.calc.calculation import WATER, calculation
from desalbook.dosing.chemicals import chemical, solution
from desalbook.dosing.dosing_line import dose_line
from desalbook.dosing.inputs import Antiscalant
from desalbook.plant.feedwater import feedwater
from desalbook.plant.waters import waters
from desalbook.problems import DesignError
from desalbook.tables import table
from desalbook.trail import Choice, Figure, scope
from desalbook.trail.inputs import Inputs
from desalbook.units import (
    KINDS,
    M3,
    AsCl2,
    FieldMeta,
    Fraction,
    GaugePa,
    K,
    M3PerS,
    PHNbs,
    Section,
    choice,
    custom,
    field,
    parse,
)
from desalbook.units.kinds import Kind

__all__ = ["acid", "antiscalant", "dechlorination", "disinfection", "dose"]

_FLOW: dict[str, Any] = {"possible": ("0.01 m3/h", "50000 m3/h"), "usual": ("1 m3/h", "5000 m3/h")}
_BASES = {"": "concentration", "as Cl2": "concentration as Cl2", "as product": "concentration as product"}


class _Counted(float):
    """A dose, with the kind that says what it counts."""

    kind: Kind


@dataclass(frozen=True)
class DoseMeta(FieldMeta):
    """A dose whose text says what it counts: ``3 mg/L``, ``3 mg/L as Cl2``, ``3 mg/L as product``."""

    def _read_quantity(self, raw: Any, where: str) -> float:
        for name in (*_BASES.values(),):
            try:
                made = _Counted(parse(raw, KINDS[name], where))
            except DesignError:
                continue
            made.kind = KINDS[name]
            return made
        return super()._read_quantity(raw, where)

    def parts(self, value: Any) -> Any:
        return (("", replace(self, kind=getattr(value, "kind", self.kind)), value),)


def _dose_field(title: str, symbol: str, required: bool, hint: str) -> Any:
    return custom(DoseMeta("quantity", title, symbol, hint=hint, kind=KINDS["concentration"], required=required,
                           usual=(0.00005, 0.2)))


class DoseDuty(Antiscalant):
    """Arguments of `dose`."""

    flow: M3PerS = field("flow", ..., title="Flow that is dosed", symbol="Q_w", hint="All trains together", **_FLOW)
    chemical: str = choice(table("chemicals").options(), ..., title="Chemical", hint="A row of the table of chemicals")
    dose: Any = _dose_field("Dose", "D", True, "Of the substance, as 3 mg/L; of oxidants as 3 mg/L as Cl2; of "
                              "products as 3 mg/L as product")
    highest_dose: Any = _dose_field("Maximum dose", "D_max", False, "That the pump must reach")
    lowest_dose: Any = _dose_field("Minimum dose", "D_min", False, "That the pump must turn down to")
    lowest_flow: M3PerS | None = field("flow", None, title="Minimum flow that is dosed", symbol="Q_min",
                                       hint="As one train", **_FLOW)
    strength_left: Fraction = field("fraction", "80 %", title="Strength at end of storage", symbol="x_w",
                                    possible=("20 %", "100 %"), usual=("70 %", "95 %"),
                                    hint="Of a solution that ages, of the strength bought")
    line_pressure: GaugePa = field("gauge pressure", "4 barg", title="Line pressure at pump shut-off", symbol="p_0",
                                   possible=("0 barg", "100 barg"), usual=("1 barg", "10 barg"),
                                   hint="Against which the dosing pump injects")


class StepDuty(Section):
    """Arguments of a dose whose section the design has: flow and pressure of the line."""

    flow: M3PerS = field("flow", ..., title="Flow that is dosed", symbol="Q_w", hint="All trains together", **_FLOW)
    lowest_flow: M3PerS | None = field("flow", None, title="Minimum flow that is dosed", symbol="Q_min",
                                       hint="As one train", **_FLOW)
    line_pressure: GaugePa = field("gauge pressure", "4 barg", title="Line pressure at pump shut-off", symbol="p_0",
                                   possible=("0 barg", "100 barg"), usual=("1 barg", "10 barg"),
                                   hint="Against which the dosing pump injects")


class DisinfectionDuty(Section):
    """Arguments of `disinfection`."""

    flow: M3PerS = field("flow", ..., title="Product flow", symbol="Q_P", hint="Through all tanks", **_FLOW)
    tank_volume: M3 | None = field("volume", None, title="Volume of one tank", symbol="V_t",
                                   possible=("0.1 m3", "200000 m3"), usual=("10 m3", "20000 m3"),
                                   hint="If blank, storage time times flow")
    residual: AsCl2 = field("concentration as Cl2", ..., title="Residual chlorine at the outlet", symbol="C_r",
                            possible=("0.05 mg/L as Cl2", "10 mg/L as Cl2"),
                            usual=("0.2 mg/L as Cl2", "2 mg/L as Cl2"), hint="Free chlorine where the water leaves")
    ph: PHNbs = field("ph.nbs", ..., title="pH of the water", symbol="pH", possible=("6", "9.5"), usual=("6.5", "8.5"),
                      hint="In the tank")
    temperature: K = field("temperature", ..., title="Temperature of the water", symbol="T",
                           possible=("0.5 degC", "45 degC"), usual=("5 degC", "35 degC"), hint="The coldest")


class _Residual(NamedTuple):
    residual: Figure
    residual_highest: Figure


_DOSING = ("dosing.storage_time", "dosing.day_tank_time", "dosing.delivery_time", "dosing.pump_margin",
           "dosing.storage_temperature", "duty.availability")
_HARDWARE = ("mass_rate", "feed_rate", "pump_capacity", "turndown", "day_tank_volume", "bulk_storage_volume",
             "delivery_volume", "delivery_interval", "bund", "yearly_use")


def _shows(step: str, *first: str) -> tuple[str, ...]:
    return tuple(f"{step}.{name}" for name in (*first, *_HARDWARE))


def _hardware(inp: Inputs, step: str, line: dosing.Dose) -> None:
    place = dosing.Place(None, inp.number(f"{step}.flow"), inp.number(f"{step}.line_pressure"))
    dosing.hardware(inp, step, line, place, availability=inp.number("duty.availability"))


def _of_basis(of: Any, figure: Figure, where: str) -> Figure:
    """The dose, where it counts what this chemical is counted as."""
    wanted = _BASES.get(of.role.basis or of.row["dose_basis"].value, "concentration")
    if figure.kind.name != wanted:
        basis = of.row["dose_basis"].value
        as_written = "3 mg/L" if wanted == "concentration" else f"3 mg/L {basis}"
        raise DesignError(f"{of.row.title.lower()} is dosed {basis}", where=where, value=figure.show(),
                          do=f'enter "{as_written}" if that is meant')
    return figure


@calculation("Chemical dose", own={"dose": DoseDuty}, omits=("present", "reason"), keys=_DOSING,
             shows=_shows("dose"))
def dose(inp: Inputs) -> None:
    """Chemical dose: mass and feed rate, dosing pump, day tank, bulk storage, deliveries, bund, use and cost of a year.

    Any row of the table of chemicals, in the basis its trade counts. Hypochlorite is fed at its strength at the end of
    storage. Chemicals do harm and react with one another: keep to the safety data sheet and to local codes.
    """
    selected: Choice = inp.choice("dose.chemical")
    of = chemical(selected, "dose.chemical")
    wanted = {name: _of_basis(of, figure, f"dose.{name}") for name in ("dose", "highest_dose", "lowest_dose")
              if (figure := inp.optional(f"dose.{name}")) is not None}
    with scope(because=[selected]):
        line = dose_line(inp, "dose", inp.number("dose.flow"), wanted["dose"], solution(inp, "dose", of),
                         highest=wanted.get("highest_dose"), lowest=wanted.get("lowest_dose"),
                         lowest_flow=inp.optional("dose.lowest_flow"))
    _hardware(inp, "dose", line)


@calculation("Dechlorination", own={"dechlorination": StepDuty}, needs={"dechlorination.present": "yes"},
             keys=("chlorination.residual", "dechlorination.dose_ratio", "dechlorination.chemical",
                   "dechlorination.strength", "dechlorination.density", "water.oxygen", *_DOSING),
             shows=_shows("dechlorination", "per_chlorine", "per_residual", "dose", "oxygen", "alkalinity"))
def dechlorination(inp: Inputs) -> None:
    """Dechlorination: dose of dechlorination agent for a residual, feed rate, pump and tanks; oxygen and alkalinity it
    takes.

    Stoichiometry times the dose ratio, held against what plants need in the field. Residual chlorine destroys
    polyamide membranes: prove its absence before water reaches them.
    """
    left = inp.number("chlorination.residual")
    made = dosing.dechlorination(inp, inp.number("dechlorination.flow"), _Residual(left, left),
                                 inp.optional("dechlorination.lowest_flow"))
    assert made is not None  # the step is present
    _hardware(inp, "dechlorination", made.line)


@calculation("Antiscalant", own={"antiscalant": StepDuty}, needs={"antiscalant.present": "yes"},
             keys=("antiscalant.dose", "antiscalant.strength", "antiscalant.density", "antiscalant.fed_strength",
                   *_DOSING),
             shows=_shows("antiscalant", "dose"))
def antiscalant(inp: Inputs) -> None:
    """Antiscalant: feed rate of a product, dosing pump, day tank, storage, deliveries.

    Per volume of RO feed, as product as bought. The supplier states the dose; `scaling` says whether one is needed.
    """
    line = dosing.antiscalant(inp, inp.number("antiscalant.flow"), inp.optional("antiscalant.lowest_flow"))
    assert line is not None  # the step is present
    _hardware(inp, "antiscalant", line)


@calculation("Acid", own={"acid": StepDuty}, needs={"acid.present": "yes"},
             base={f"{step}.present": "no" for step in ("chlorination", "coagulation", "dechlorination")},
             keys=("acid.target_ph", "acid.chemical", "acid.strength", "acid.density", *WATER, *_DOSING),
             shows=("feed.alkalinity_raw", "acid.alkalinity@design", "acid.amount", *_shows("acid", "dose")))
def acid(inp: Inputs) -> None:
    """Acid to a pH of the RO feed: amount by the carbonate and borate balance, dose, feed rate, pump and tanks.

    From alkalinity, carbon and boron of the water at its cold, design and hot temperature; the largest amount counts.
    Closed line: no carbon dioxide escapes. Acid is added to water, never water to acid.
    """
    w = waters(inp)
    fed = feedwater(inp, w)
    made = dosing.acid(inp, inp.number("acid.flow"), fed.acid_amount, density=w.at["design"].density,
                       total_dissolved_solids=w.analysis.total_dissolved_solids,
                       lowest_flow=inp.optional("acid.lowest_flow"))
    assert made is not None  # the step is present
    _hardware(inp, "acid", made.line)


@calculation("Disinfection", own={"disinfection": DisinfectionDuty},
             keys=("product_tank.count", "product_tank.storage_time", "product_tank.baffling",
                   "product_tank.log_removal"),
             shows=("product_tank.volume", "product_tank.contact_time", "product_tank.ct", "product_tank.ct_giardia",
                    "product_tank.ct_virus", "product_tank.ct_ratio[giardia]", "product_tank.ct_ratio[virus]"))
def disinfection(inp: Inputs) -> None:
    """Disinfection by contact time: CT of product tanks against what Giardia and viruses require, one tank out as well.

    Residual times T10; the requirement after the regression of the surface-water rule. For drinking water: local law,
    an approved laboratory and licensed practice decide.
    """
    flow, volume = inp.number("disinfection.flow"), inp.optional("disinfection.tank_volume")
    product.contact(inp, flow=flow, tank_volume=volume if volume is not None else product.tank(inp, flow),
                    residual=inp.number("disinfection.residual"), ph=inp.number("disinfection.ph"),
                    temperature=inp.number("disinfection.temperature"))
