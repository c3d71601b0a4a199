"""The membranes of one train: vessels of every stage, and the state in every case.

An array is stages and passes, a plain train one stage; what comes back into the feed (concentrate carried over by an
isobaric ERD, recycled concentrate, concentrate of a second pass) is closed by `solve_array` for all candidates and
cases together. One of recovery and feed pressure is held and the other follows.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np

from desalbook import membrane as m
from desalbook.balances import sum_of_counts, sum_of_flows
from desalbook.duty.flows import feed_for
from desalbook.hydraulics.design_pressure import rating_fraction_used
from desalbook.hydraulics.energy_recovery import Device
from desalbook.hydraulics.energy_recovery.isobaric import over_flush_flow
from desalbook.membrane import transport as t
from desalbook.membrane.element import Element, rejection
from desalbook.membrane.vessel import AGEING, aged_by
from desalbook.plant import joints as ar
from desalbook.plant import positions as ps
from desalbook.plant.array_ions import ions_of, sodium_hydroxide_part
from desalbook.plant.array_plan import (
    Chemistry,
    Plan,
    Row,
    Sheet,
    chemistry,
    plan,
    record_chemistry,
    second_limits,
    sheet_of,
)
from desalbook.plant.array_record import Staged, record_array
from desalbook.plant.limits import LIMITS, REVIEWED, SHEET, uneven
from desalbook.plant.remedy import lower_recovery
from desalbook.plant.search import Search, batches, breaches, rules_of
from desalbook.plant.solve_array import Answer
from desalbook.plant.vessel_class import pressure_rating
from desalbook.plant.waters import TEMPERATURES, Waters
from desalbook.problems import Infeasible
from desalbook.trail import (
    Figure,
    assumed,
    checked,
    constant,
    govern,
    maximum,
    minimum,
    note,
    picked,
    proving,
    relation,
    residual,
    scope,
    solved,
    values,
)
from desalbook.trail.corner import MEMBRANES, Corner
from desalbook.trail.limits import check_limit, limit, limit_source, review_limit
from desalbook.units import Count, Fraction, GaugePa, Salinity

__all__ = ["CORNERS", "Array", "array"]

CORNERS = tuple(Corner(temperature, age) for temperature in TEMPERATURES for age in MEMBRANES)
COLDEST = Corner("cold", "aged")
"""Asks for the maximum feed pressure."""

RULES = (("feed_pressure", "largest", "Feed pressure"), ("pressure_drop", "largest", "Pressure drop"),
         ("concentrate_pressure", "largest", "Concentrate pressure at vessel outlet"),
         ("permeate_tds", "largest", "Permeate TDS"), ("permeate_boron", "largest", "Permeate boron"),
         ("concentrate_tds", "largest", "Concentrate TDS"))

ABOUT = 0.4
"""Recovery from which the feed of an array with a second pass is searched for; it decides nothing but the speed."""

Positions = dict[str, dict[Corner, dict[str, list[tuple]]]]


@dataclass(frozen=True)
class Array:
    """What the plant needs of the RO array: figures by case, and the governing ones.

    ``staged`` has each stage and stream by case, ``positions`` by stage the rows of vessels with element types by
    position.
    """

    element: Element
    vessels: Figure
    recovery: Figure
    feed_flow: Figure
    pretreated_flow: Figure
    by_corner: dict[str, m.Recorded]
    permeate_ions: dict[str, Any]
    concentrate_ions: dict[str, Any]
    governing: dict[str, Figure]
    plan: Plan
    staged: dict[Corner, Staged]
    positions: Positions

    @property
    def mixed_flow(self) -> dict[str, Figure]:
        """Flow into the first pass by case."""
        return {c: s.feed_flow for c, s in self.staged.items()}

    @property
    def feed_water(self) -> dict[str, Figure]:
        """Water into the train by case."""
        return {c: s.train_water for c, s in self.staged.items()}

    def carbon_dioxide(self, corner: Corner, feed: Figure) -> Figure:
        """Of the permeate: it passes membranes freely, unless caustic bound it before a second pass."""
        own = self.staged[corner].carbon_dioxide
        return feed if own is None else own


LEAST_PROPOSED = 8
PROPOSALS = 12


@relation("Recovery to propose", symbol="Y_p", unit="1", source="common-practice")
def proposed_recovery(feed_salinity: Salinity, concentrate_salinity: Salinity, stage_recovery: Fraction,
                      stages: Count) -> Fraction:
    """Recovery for a first design: so that the concentrate stays at a salinity, at most what stages in series give.

    All salt stays in the concentrate and water counts by mass; energy, boron and scaling may ask for less, a price of
    raw water for more.
    """
    return maximum(minimum(1 - feed_salinity / concentrate_salinity, 1 - (1 - stage_recovery) ** stages), 0)


@relation("Pressure found less pressure held", symbol="r_p", unit="Pa", source="definition")
def held_pressure_residual(feed_pressure: GaugePa, held_pressure: GaugePa) -> t.DifferencePa:
    """Residual of a fixed feed pressure: pressure in the governing case less the pressure that is held.

    Zero when solved; it proves the feed flow that was found.
    """
    return feed_pressure - held_pressure


def array(inp: Any, waters: Waters, permeate: Figure, trains: Figure, device: Device) -> Array:
    """Pick or hold the vessels of one train and solve every case.

    Raises
    ------
    Infeasible
        Recovery and feed pressure are both fixed, a held pressure without vessels, a case without a
        steady state.
    """
    with scope("train", count=trains):
        return _array(inp, waters, permeate, device)


def _array(inp: Any, waters: Waters, permeate: Figure, device: Device) -> Array:
    sheet = sheet_of(inp, m.element(inp), inp("membrane.elements"))
    fresh = {"age": assumed("membrane.age_new", 0.0, "time.year", title="Age, new case", symbol="t_a",
                            source="definition"),
             "fouling": assumed("membrane.fouling_new", 1.0, "factor", title="Fouling, new case", symbol="F_f",
                                source="definition")}
    ageing = {name: aged_by(inp, name) for name in AGEING}
    aged = {"age": inp("membrane.age"), "fouling": ageing["fouling_factor"]}
    held_pressure, recovery = inp("membrane.feed_pressure"), inp("membrane.recovery")
    if held_pressure is not None and recovery is not None:
        raise Infeasible("give either recovery or feed pressure, not both", where="membrane.recovery",
                         do="clear membrane.recovery or membrane.feed_pressure")
    _serve(inp, waters, sheet, "membrane", fresh, aged)
    limits = _limits(inp, sheet)
    p = plan(inp, waters, permeate, device, sheet)
    for row in (*p.rows[1:], *p.second_rows[:1]):
        if row.sheet is not sheet and not row.sheet.service:
            _serve(inp, waters, row.sheet, "second_pass" if row in p.second_rows else row.prefix, fresh, aged)
    own = second_limits(p) if p.second is not None else {}
    if held_pressure is not None:
        recovery = _recovery_at(p, held_pressure, own)
    elif recovery is None:
        recovery = _proposed(p, limits, own)
    feed = feed_for.at("duty.feed_flow", title="RO feed", permeate_flow=permeate, recovery=recovery)
    first = p.rows[0].held
    if first is None:
        first = _first(p, feed, limits, _second_guess(p, own), recovery).run(_first_inputs(p, feed, limits))
    _name(p.rows, first, inp("membrane.row"))
    found, second = chemistry(p, float(first), float(feed)), None
    record_chemistry(p, found, feed)
    if p.second is not None:
        second = p.second_rows[0].held
        if second is None:
            second = _second(p, float(feed), float(first), own, found).run(_second_inputs(p, own))
        _name(p.second_rows, second, p.second["row"])
    answer = p.solve(np.array([float(first)]), np.array([float(second or 1.0)]), float(feed), CORNERS)
    _refuse(p, answer, first)
    by_corner, staged = record_array(p, answer, CORNERS, feed)
    factors, part = m.ion_factors(waters.analysis.molality), sodium_hydroxide_part(p)
    product, reject = {}, {}
    for corner in CORNERS:
        with scope(corner=corner):
            made = staged[corner]
            made.ions = ions_of(p, made, corner, factors, part)
            product[corner], reject[corner] = made.ions["product"], made.ions["reject"]
            _carbon(p, made, corner)
    governing = _govern(p, by_corner, held_pressure)
    if held_pressure is not None and proving():
        left = held_pressure_residual.at("membrane.residual_held", held_pressure=held_pressure,
                                         feed_pressure=by_corner[COLDEST]["feed_pressure"])
        residual(recovery, left, float(held_pressure), 1e-8)
    positions = _positions(p, staged, limits)
    _checks(p, p.rows, staged, limits, "membrane", governing)
    if positions:
        ps.judge_positions({row.prefix: row.sheet.mixed for row in p.rows if row.sheet.mixed is not None}, positions)
    if p.second is not None:
        _checks(p, p.second_rows, staged, own, "second_pass", {})
        top = govern("second_pass.feed_pressure", {c: s.stages["second"]["feed_pressure"] for c, s in staged.items()},
                     "largest", title="Feed pressure of the second pass")
        checked("second_pass.feed_pressure.check", top, "<=", own["feed_pressure"],
                title="Feed pressure within the element, second pass",
                do="add vessels to the second pass or lower its recovery",
                caution="A pressure part above its rating can burst. Pressure parts follow the local "
                        "pressure-vessel code; a "
                        "licensed engineer signs them.")
    _ratings(inp, waters, sheet.element, governing, limits, sheet.mixed)
    _usual(inp, waters, governing)
    return Array(sheet.element, _all_vessels(p), recovery, feed, _pretreated(device, feed, by_corner), by_corner,
                 product, reject, governing, p, staged, positions)


def _pretreated(device: Device, feed: Figure, by_corner: dict[str, m.Recorded]) -> Figure:
    """Pretreated water that one train takes: RO feed, and what flushes an isobaric device besides."""
    if device.over_flush is None:
        return feed
    flows = {}
    with scope(because=[device.choice]):
        for corner, r in by_corner.items():
            with scope(corner=corner):
                flows[corner] = over_flush_flow.at(
                    "duty.over_flush_flow", over_flush=device.over_flush, reject_flow=r["concentrate_flow"],
                    exchanger_leakage=device.need("leakage"))
        more = govern("duty.over_flush_flow", flows, "largest", title="Over-flush of one train")
        return sum_of_flows.at("duty.pretreated_flow", flow=feed, second_flow=more,
                               title="Pretreated water of a train with over-flush", symbol="Q_pt")


def _serve(inp: Any, waters: Waters, sheet: Sheet, prefix: str, fresh: dict[str, Figure],
           aged: dict[str, Figure]) -> None:
    """Permeabilities of a sheet in service in every case."""
    with scope(instead=("membrane", prefix)):
        for corner in CORNERS:
            with scope(corner=corner):
                sheet.service[corner] = m.in_service(sheet.along, inp, waters.at[corner.temperature].temperature,
                                                     **(fresh if corner.membranes == "new" else aged))


def _recovery_at(p: Plan, pressure: Figure, own: dict[str, Figure]) -> Figure:
    """Recovery at which the governing case, cold and aged, needs the held feed pressure.

    With a second pass its caustic and its vessels follow from the feed, and the feed from them: repeated until the
    feed stands.
    """
    vessels = p.rows[0].held
    if vessels is None:
        raise Infeasible("a held feed pressure needs the number of vessels", where="membrane.vessels",
                         do="set membrane.vessels, or set membrane.recovery instead of the pressure")

    def feed_at(second: float, caustic: Chemistry | None) -> float:
        found = p.solve(np.array([float(vessels)]), np.array([second]), None, [COLDEST], pressure=float(pressure),
                        chemistry=caustic)
        if not found.solved[0]:
            raise Infeasible(found.reason[0], where="membrane.feed_pressure", value=pressure.show(),
                             do="raise the pressure, add vessels, or ask for less permeate")
        return float(found.feed_flow[0])

    if p.second is None:
        feed = feed_at(1.0, None)
    else:
        feed, row = float(p.permeate) / ABOUT, p.second_rows[0]
        for _ in range(12):
            caustic = chemistry(p, float(vessels), feed)
            second = float(row.held) if row.held is not None else _second(p, feed, float(vessels), own, caustic).value()
            before, feed = feed, feed_at(second, caustic)
            if np.abs(feed / before - 1) < 1e-11:
                break
    return solved("membrane.recovery", float(p.permeate) / feed, "fraction", symbol="Y_m", title="RO recovery",
                  inputs=p.inputs | {"vessels": vessels, "held_pressure": pressure},
                  method="feed flow at which the governing case, cold and aged, needs the held pressure")


def _proposed(p: Plan, limits: dict[str, Figure], own: dict[str, Figure]) -> Figure:
    """A recovery where the design states none: by the salinity of its concentrate, as far as vessels carry it."""
    inp = p.inp
    most = proposed_recovery.at("membrane.recovery_aimed", feed_salinity=p.waters.analysis.salinity,
                                concentrate_salinity=inp("membrane.recovery_concentrate"),
                                stage_recovery=inp("membrane.recovery_maximum"), stages=_stages(p))
    top = int(np.floor(float(most) * 100 + 1e-9))
    if top < LEAST_PROPOSED:
        raise Infeasible("this feed leaves no recovery to propose", where="membrane.recovery", value=most.show(),
                         do="set membrane.recovery, or raise membrane.recovery_concentrate")
    tried: list[dict[str, Any]] = []
    for percent in (one for one in range(top, top - PROPOSALS, -1) if one >= LEAST_PROPOSED):
        with values(keep=False):
            feed = feed_for.at("duty.feed_flow", permeate_flow=p.permeate, recovery=percent / 100)
        meets = p.rows[0].held is not None or _first(p, feed, limits, _second_guess(p, own)).meets()
        tried.append({"key": f"{percent} %", "value": percent / 100, "won": meets})
        if meets:
            break
    else:
        tried[0]["won"] = True  # what is wrong is not the recovery: the checks say what
    won = next(x for x in tried if x["won"])
    return picked("membrane.recovery", won["value"], "fraction", title="RO recovery", symbol="Y_m",
                  rule="largest whole per cent within the concentrate aimed at that some number of vessels carries",
                  candidates=tried, inputs=p.inputs | {f"limit_{k}": v for k, v in limits.items()} | {"aimed": most},
                  why="recovery is blank; concentrate of seawater plants commonly holds 60 to 70 g/L, and one stage of "
                  "seven elements gives 40 to 45 %", source="common-practice")


def _stages(p: Plan) -> Figure:
    return assumed("membrane.stage_count", float(len(p.rows)), "count", title="Stages of the first pass",
                   source="definition")


def _first(p: Plan, feed: Any, limits: dict[str, Figure], second: float, asked: Figure | None = None) -> Search:
    """Vessels of the first stage: the minimum that meets the limits of all stages of the first pass."""
    inp, row = p.inp, int(p.inp("membrane.row"))
    rules = rules_of(limits, p.sheet.mixed is not None)

    def judged(counts: np.ndarray, feeds: Any = float(feed), cases: slice = slice(None)) -> list[str]:
        corners = CORNERS[cases]
        flows = feeds if np.ndim(feeds) == 0 else np.repeat(feeds, len(corners))
        r = p.solve(counts, np.full(len(counts), second), flows, corners, close=1e-6)
        return breaches(inp, p.rows, r.first, r.reason, rules)

    part, each = 1.0, 0.0
    for k, r in enumerate(p.rows):
        part *= float(r.share or 1.0) if k else 1.0
        each += part * float(r.elements)
    least = float(p.permeate) / (float(limits["flux"]) * each * float(p.sheet.element["area"]))
    start = int(np.maximum(1, np.floor((0.8 if p.joined else 0.9) * least / row))) * row

    def lift(counts: np.ndarray, said: list[str]) -> str:
        if asked is None or inp("membrane.feed_pressure") is not None:
            return "hold a lower membrane.feed_pressure"
        words = lower_recovery(judged, counts, said, CORNERS, float(p.permeate), float(asked))
        return f"{words}; or other stages" if p.joined else words

    return Search("membrane.vessels", "Vessels of the first stage" if p.joined else "Pressure vessels per train", "n_v",
                  judged, CORNERS, batches(start, row, (5,) * 5 if p.joined else (5, 15)), lift,
                  "the lowest count tried" if p.joined else "the flux limit alone asks for this many")


def _first_inputs(p: Plan, feed: Figure, limits: dict[str, Figure]) -> dict[str, Any]:
    return p.inputs | {f"limit_{k}": v for k, v in limits.items()} | {
        "feed": feed, "row": p.inp("membrane.row")} | _spread(p)


def _second_inputs(p: Plan, limits: dict[str, Figure]) -> dict[str, Any]:
    assert p.second is not None
    return p.inputs | {f"limit_{k}": v for k, v in limits.items()} | {"row": p.second["row"]} | _spread(p)


def _spread(p: Plan) -> dict[str, Figure]:
    spread = p.inp("membrane.flow_spread")
    return {} if spread is None else {"flow_spread": spread}


def _second_guess(p: Plan, own: dict[str, Figure]) -> float:
    """Vessels of the second pass by its average flux alone, while those of the first are searched for."""
    if p.second is None or p.second_sheet is None:
        return 1.0
    if p.second_rows[0].held is not None:
        return float(p.second_rows[0].held)
    row = float(p.second["row"])
    one = float(p.second_rows[0].elements) * float(p.second_sheet.element["area"]) * float(own["flux"])
    parts = 1 + np.sum([float(r.share or 0) for r in p.second_rows[1:]])
    return float(np.ceil(float(p.permeate) * float(p.second["share"]) / one / parts / row)) * row


def _second(p: Plan, feed: float, first: float, limits: dict[str, Figure], caustic: Chemistry | None) -> Search:
    """Vessels of the second pass's first stage: the minimum that meets its limits in every case."""
    assert p.second is not None and p.second_sheet is not None
    row, rules = int(p.second["row"]), rules_of(limits, False)
    share, recovery = float(p.second["share"]), float(p.second["recovery"])
    with values(keep=False):
        taken = share * float(ar.first_pass_permeate.at("value", product_flow=p.permeate, second_share=share,
                                                        second_recovery=recovery))
    # the average flux of the pass knows nothing but its product and its area: fewer vessels can never do, and far fewer
    # have no answer at all, which costs more than all others together
    parts, each = 1.0, float(p.second_rows[0].elements)
    for one in p.second_rows[1:]:
        parts *= float(one.share or 1.0)
        each += parts * float(one.elements)
    guess = taken * recovery / (float(limits["flux"]) * each * float(p.second_sheet.element["area"]))

    def judged(counts: np.ndarray) -> list[str]:
        r = p.solve(np.full(len(counts), first), counts, feed, CORNERS, close=1e-7, chemistry=caustic)
        assert r.second is not None
        return breaches(p.inp, p.second_rows, r.second, r.reason, rules)

    start = int(np.maximum(1, np.ceil((1 - 1e-3) * guess / row))) * row
    return Search("membrane.second_pass.vessels", "Vessels of the second pass, first stage", "n_v2", judged, CORNERS,
                  batches(start, row, (4,) * 5),
                  lambda *_: "lower membrane.second_pass.recovery, or add a stage to it",
                  "the flux limit alone asks for this many")


def _name(rows: list[Row], first: Figure, step: Figure) -> None:
    """Vessels of every stage as figures."""
    rows[0].vessels = first
    for before, row in pairwise(rows):
        row.vessels = row.held if row.held is not None else ar.stage_vessels.at(
            f"{row.key}.vessels", title=f"Vessels of stage {row.name}", vessels=before.vessels,
            vessel_fraction=row.share, row_height=step)


def _all_vessels(p: Plan) -> Figure:
    """Vessels of the first pass, all stages."""
    found = p.rows[0].vessels
    assert found is not None
    for row in p.rows[1:]:
        found = sum_of_counts.at(f"membrane.vessels_to[{row.name}]", title=f"Vessels to stage {row.name}", symbol="n_v",
                                 count=found, other_count=row.vessels)
    return found


def _refuse(p: Plan, answer: Answer, first: Figure) -> None:
    for i, corner in enumerate(CORNERS):
        if not answer.solved[i]:
            second = p.second_rows[0].vessels if "second pass" in answer.reason[i] else None
            raise Infeasible(
                f"{answer.reason[i]} ({corner})",
                where="membrane.vessels" if second is None else "membrane.second_pass.vessels",
                value=int(first if second is None else second),
                do="add vessels, lower the recovery, or choose another element" if p.joined else
                "increase membrane.vessels, lower membrane.recovery, or choose another membrane.element")


def _carbon(p: Plan, made: Staged, corner: Corner) -> None:
    """Carbon dioxide of the product, where caustic bound some of it."""
    caustic = p.caustic.get(corner.temperature)
    if caustic is None:
        return
    free = p.waters.at[corner.temperature].carbon_dioxide
    left = ar.carbon_dioxide_left.at("second_pass.carbon_dioxide", carbon_dioxide=free, caustic=caustic)
    if "bypass" in made.streams:
        left = ar.mixed_molality.at("membrane.carbon_dioxide", title="Carbon dioxide of the blend", symbol="b_CO2",
                                    molality=free, water=made.streams["bypass"].water, other_molality=left,
                                    other_water=made.streams["second_permeate"].water)
    made.carbon_dioxide = left


def _govern(p: Plan, by_corner: dict[str, m.Recorded], held_pressure: Figure | None) -> dict[str, Figure]:
    """The governing case of what the rest of the plant reads."""
    governing = {}
    for name, rule, title in RULES:
        if name == "feed_pressure" and held_pressure is not None:
            governing[name] = held_pressure  # the governing corner was solved to need just this
            continue
        governing[name] = govern(f"membrane.{name}", {c: r[name] for c, r in by_corner.items()}, rule, title=title)
    return governing


def _positions(p: Plan, staged: dict[Corner, Staged], limits: dict[str, Figure]) -> Positions:
    """Rows by stage and case of vessels with several element types."""
    found: Positions = {}
    curves = {k: w.density_curve for k, w in p.waters.at.items()}
    for row in p.rows:
        if row.sheet.mixed is not None:
            with scope(instead=("membrane", row.prefix)):
                found[row.prefix] = ps.position_rows(
                    row.sheet.mixed, {c: s.stages[row.prefix] for c, s in staged.items()}, curves,
                    int(p.inp("membrane.slices")), limits, p.inp("membrane.flow_spread"))
    return found


def _checks(p: Plan, rows: list[Row], staged: dict[Corner, Staged], limits: dict[str, Figure], prefix: str,
            governing: dict[str, Figure]) -> None:
    """Each limit over all cases and stages; the key of the winner says where it binds."""
    words = "" if prefix == "membrane" else ", second pass"
    by_position = prefix == "membrane" and p.sheet.mixed is not None
    for name, key, title, rule, do in LIMITS:
        own = by_position and name in ps.OWN
        if name not in limits and not own:
            continue
        every = {(c if len(rows) == 1 else f"{c}-{row.name}"): s.stages[row.prefix][name]
                 for c, s in staged.items() for row in rows}
        if name == "flux" and p.joined:
            every = _pass_flux(rows, staged, prefix)
        governing[name] = govern(f"{prefix}.{name}", every, rule, title=title + words)
        if own:
            continue
        judged = uneven(p.inp("membrane.flow_spread"), name, governing, prefix)
        cited = limit_source(_guideline_key(p.inp, key)) if key and prefix == "membrane" else "common-practice"
        checked(f"{prefix}.{name}.check", judged, "<=" if rule == "largest" else ">=", limits[name],
                title=title + words, source=cited, do=_remedy(do, prefix, p.joined),
                sized_by=[rows[0].vessels] if rows[0].vessels is not None else [])
    _review(rows, staged, limits, prefix, words, governing)


def _remedy(do: str, prefix: str, joined: bool) -> str:
    """The remedy in the keys of its own pass; vessels are those of the stage where several are joined."""
    if prefix != "membrane":
        do = re.sub(r"membrane\.(recovery|vessels|elements)", r"membrane.second_pass.\1", do)
    return re.sub(r"membrane\.(second_pass\.)?vessels", "vessels in that stage", do) if joined else do


def _review(rows: list[Row], staged: dict[Corner, Staged], limits: dict[str, Figure], prefix: str, words: str,
            governing: dict[str, Figure]) -> None:
    """Polarisation by film theory: what a person should look at, without a verdict of its own."""
    name, _, title, do = REVIEWED
    every = {(c if len(rows) == 1 else f"{c}-{row.name}"): s.stages[row.prefix][name]
             for c, s in staged.items() for row in rows}
    top, limit = govern(f"{prefix}.{name}", every, "largest", title=title + words), limits[name]
    governing[name] = top
    above = float(top) > float(limit)
    note(f"{prefix}.{name}.check", title=title + words, verdict="review" if above else "passes",
         do=_remedy(do, prefix, False),
         why=f"{float(top):.3g} at the membrane where it is highest, "
             f"{'above' if above else 'within'} {float(limit):.3g}, which is asked for a second look",
         inputs={"provided": top, "limit": limit})


def _pass_flux(rows: list[Row], staged: dict[Corner, Staged], prefix: str) -> dict[str, Figure]:
    """Average flux over all stages, in each case."""
    total = None
    for row in rows:
        one = ar.membrane_of.at(f"{prefix}.area[{row.name}]", vessels=row.vessels, elements_per_vessel=row.elements,
                                element_area=row.sheet.element["area"], title=f"Membrane of stage {row.name}")
        total = one if total is None else ar.areas_of.at(f"{prefix}.area_to[{row.name}]", membrane_area=total,
                                                         other_area=one)
    found = {}
    for c, s in staged.items():
        with scope(corner=c):
            found[c] = ar.pass_flux.at(f"{prefix}.flux", membrane_area=total, permeate_flow=s.streams[
                "first_permeate" if prefix == "membrane" else "second_permeate"].flow)
    return found


def _ratings(inp, waters: Waters, element: Element, governing: dict[str, Figure], limits: dict[str, Figure],
            mixed: m.Mixed | None = None) -> None:
    """Feed pressure within element and vessel, temperature within the element; the first by position where mixed."""
    if mixed is None:
        checked("membrane.feed_pressure.check", governing["feed_pressure"], "<=", limits["feed_pressure"],
                title="Feed pressure within the element",
                do="increase membrane.vessels, lower membrane.recovery, or choose an element of higher permeability "
                   "(membrane.element)",
                caution="A pressure part above its rating can burst. Pressure parts follow the local "
                        "pressure-vessel code; a "
                        "licensed engineer signs them.")
    rating = inp("membrane.pressure_class")
    hot = govern("membrane.temperature", {k: w.temperature for k, w in waters.at.items()}, "largest",
                 title="Maximum water temperature, RO feed")
    with scope(because=[rating]):
        top = pressure_rating(inp, rating, hot, element)
        used = rating_fraction_used.at("membrane.rating_used", governing_pressure=governing["feed_pressure"],
                                       pressure_rating=top)
        checked("membrane.rating_used.check", used, "<=", limit("rating-used"),
                title="Feed pressure over vessel rating",
                do="select a higher membrane.pressure_class",
                caution="Above its rating a part can burst. Set the relief valve at or below it; local codes apply.")
    own = "" if mixed is None else f": {mixed.coolest}"
    checked("membrane.temperature.check", hot, "<=", element["max_temperature"],
            title=f"Water temperature within the element{own}", do="cool the feed or choose another element")


SEAWATER = constant("C_sea", 20.0, "kg/m^3", source="us-army-tm-10-4610", title="Salt above which a feed is seawater")


def _usual(inp, waters: Waters, governing: dict[str, Figure]) -> None:
    """Elements per vessel within what is made; salt rejection of a seawater pass against what is usual in service."""
    check_limit("membrane.elements.check", inp("membrane.elements"), "elements-per-vessel",
                do="lower membrane.elements, and divide the recovery over more stages (membrane.stages)")
    feed, second = waters.analysis.total_dissolved_solids, inp("membrane.second_pass.element")
    if second is not None or float(feed) <= SEAWATER.value:
        return
    with scope(because=[feed]):
        found = rejection.at("membrane.salt_rejection", permeate_concentration=governing["permeate_tds"],
                             feed_concentration=feed, title="Salt rejection in service, governing case")
        review_limit("membrane.salt_rejection.usual", found, "salt-rejection",
                     do="choose an element with higher salt rejection (membrane.element), lower "
                        "membrane.recovery, or add a second pass")


def _guideline_key(inp, key: str) -> str:
    """Row of the guidelines for a limit; the average flux depends on the water."""
    return f"average-flux-{inp('membrane.water_supply')}" if key == "average-flux" else key


def _limits(inp: Any, sheet: Sheet) -> dict[str, Figure]:
    found, mixed = {}, sheet.mixed
    with scope(because=[inp("membrane.water_supply")]):
        for name, key in (*((name, key) for name, key, *_ in LIMITS), REVIEWED[:2]):
            if name not in SHEET:
                found[name] = limit(_guideline_key(inp, key), id=f"limits.{name}")
    if mixed is None:
        return found | {name: sheet.element[column] for name, column in SHEET.items()}
    return found | {f"{name}_{k or 'rest'}": of[column] for k, of in mixed.used.items()
                    for name, column in SHEET.items()}
