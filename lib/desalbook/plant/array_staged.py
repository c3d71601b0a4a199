"""The membranes of one train where stages, a second pass or a recycle are joined."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np

from desalbook import membrane as m
from desalbook.duty.flows import feed_for
from desalbook.guidelines import guideline
from desalbook.plant import array as ay
from desalbook.plant import array_relations as ar
from desalbook.plant.limits import LIMITS, no_count, uneven, with_spread
from desalbook.plant.remedy import lower_recovery
from desalbook.plant.solve_stages import Answer
from desalbook.plant.stages import Plan, Row, chemistry, pick_second, second_limits, worst
from desalbook.plant.stages_ions import caustic_part, ions_of
from desalbook.plant.stages_record import record_array
from desalbook.problems import Infeasible
from desalbook.trail import Figure, checked, govern, picked, scope
from desalbook.trail.corner import Corner

__all__ = ["staged_array"]

RULES = (("pressure_drop", "largest", "Pressure drop"), ("concentrate_pressure", "largest", "Reject pressure"),
         ("permeate_tds", "largest", "Permeate dissolved solids"), ("permeate_boron", "largest", "Permeate boron"),
         ("concentrate_tds", "largest", "Reject dissolved solids"))


def _rules(limits: dict[str, Figure], names: Any = None) -> list[m.Limit]:
    found = [m.Limit(name, title, "<=" if rule == "largest" else ">=", float(limits[name]))
             for name, _, title, rule, _ in LIMITS if name in limits and (names is None or name in names)]
    return [*found, m.Limit("feed_pressure", "Feed pressure within the element", "<=",
                            float(limits["feed_pressure"]))]


def staged_array(p: Plan, recovery: Figure, limits: dict[str, Figure], fresh: dict[str, Figure],
                 aged: dict[str, Figure]) -> Any:
    """Pick or hold the vessels of every stage and record every corner.

    Returns
    -------
    Array
    """
    inp, corners = p.inp, ay.CORNERS
    if p.second is not None and p.second_sheet is not None:
        with scope(instead=("membrane", "second_pass")):
            for corner in corners:
                temperature, age = corner.temperature, corner.membranes
                with scope(corner=corner):
                    p.second_sheet.service[corner] = m.in_service(
                        p.second_sheet.element, inp, p.waters.at[temperature].temperature,
                        **(fresh if age == "new" else aged))
    feed = feed_for.at("duty.feed_flow", title="Feed of the membranes", permeate_flow=p.permeate, recovery=recovery)
    own = second_limits(p) if p.second is not None else {}
    guess = _second_guess(p, own)
    first = _first(p, feed, limits, guess)
    _name(p.rows, first, inp("membrane.row"))
    if p.second is not None:
        chemistry(p, float(first), float(feed))
        second = pick_second(p, float(feed), float(first), own, corners, _rules(own))
        _name(p.second_rows, second, p.second["row"])
    else:
        second = None
    answer = p.solve(np.array([float(first)]), np.array([float(second or 1.0)]), float(feed), corners)
    _refuse(p, answer, corners, first)
    by_corner, staged = record_array(p, answer, corners, feed)
    governing = _govern(p, by_corner, staged, limits, own)
    factors = m.ion_factors(p.waters.analysis.molality)
    part = caustic_part(p)
    permeate, reject = {}, {}
    for corner in corners:
        with scope(corner=corner):
            ions = ions_of(p, staged[corner], corner, factors, part)
            staged[corner].ions = ions
            permeate[corner], reject[corner] = ions["product"], ions["reject"]
            _carbon(p, staged[corner], corner)
    ay.ratings(inp, p.waters, p.sheet.element, governing, limits)
    return ay.Array(p.sheet.element, _all_vessels(p), recovery, feed, by_corner,
                    {c: s.streams["feed"].flow for c, s in staged.items()}, permeate, reject,
                    {c: s.streams["raw"].water for c, s in staged.items()}, governing, p, staged)


def _carbon(p: Plan, made: Any, corner: Corner) -> None:
    caustic = p.caustic.get(corner.temperature)
    if caustic is None:
        return
    free = p.waters.at[corner.temperature].carbon_dioxide
    left = ar.carbon_dioxide_left.at("second_pass.carbon_dioxide", carbon_dioxide=free, caustic=caustic)
    if "bypass" in made.streams:
        left = ar.blended_carbon_dioxide.at("membrane.carbon_dioxide", carbon_dioxide=free,
                                            water=made.streams["bypass"].water, carbon_dioxide_left=left,
                                            other_water=made.streams["second_permeate"].water)
    made.carbon_dioxide = left


def _second_guess(p: Plan, own: dict[str, Figure]) -> float:
    if p.second is None or p.second_sheet is None:
        return 1.0
    if p.second_rows[0].held is not None:
        return float(p.second_rows[0].held)
    row = float(p.second["row"])
    one = float(p.second_rows[0].elements) * float(p.second_sheet.element["area"]) * float(own["flux"])
    parts = 1 + np.sum([float(r.share or 0) for r in p.second_rows[1:]])
    return float(np.ceil(float(p.permeate) * float(p.second["share"]) / one / parts / row)) * row


def _first(p: Plan, feed: Figure, limits: dict[str, Figure], second: float) -> Figure:
    """Vessels of the first stage: the least that meets the limits of all stages of the first pass."""
    inp = p.inp
    if p.rows[0].held is not None:
        return p.rows[0].held
    row = int(inp("membrane.row"))
    area = float(p.sheet.element["area"])
    parts = np.ones(1)
    for r in p.rows[1:]:
        parts = np.append(parts, parts[-1] * float(r.share or 1.0))
    each = np.sum([q * float(r.elements) for q, r in zip(parts, p.rows, strict=True)]) * area
    least = float(p.permeate) / (float(limits["flux"]) * each)
    start = int(np.maximum(1, np.floor(0.8 * least / row))) * row
    rules = _rules(limits)
    said: list[str] = []
    counts, winner, candidates = np.zeros(0), None, []
    for batch in range(5):
        more = np.arange(start + 5 * batch * row, start + 5 * (batch + 1) * row, row, dtype=float)
        r = p.solve(more, np.full(len(more), second), float(feed), ay.CORNERS, close=1e-6)
        counts = np.concatenate([counts, more])
        said = said + m.judge(with_spread(inp, worst(r.first.stages, r.reason)), rules)  # type: ignore[arg-type]
        winner, candidates = m.least_vessels(said, counts, list(ay.CORNERS))
        if winner is not None:
            break
    inputs = p.inputs | {f"limit_{k}": v for k, v in limits.items()} | {"feed": feed, "row": inp("membrane.row")}
    if inp("membrane.flow_spread") is not None:
        inputs["flow_spread"] = inp("membrane.flow_spread")
    if winner is None:
        def judged(n: np.ndarray, feeds: np.ndarray) -> list[str]:
            r = p.solve(n, np.full(len(n), second), np.repeat(feeds, len(ay.CORNERS)), ay.CORNERS, close=1e-6)
            return m.judge(with_spread(inp, worst(r.first.stages, r.reason)), rules)  # type: ignore[arg-type]

        permeate = float(feed) * float(inp("membrane.recovery"))
        lift = lower_recovery(judged, counts, said, ay.CORNERS, permeate, float(inp("membrane.recovery")))
        winner, why = no_count("membrane.vessels", counts, said, ay.CORNERS, f"{lift}; or other stages", inputs)
        candidates[winner] = {**candidates[winner], "won": True}
    else:
        before = candidates[winner - 1]["why"] if winner else "the least count tried"
        why = f"one fewer: {before}"
    return picked("membrane.vessels", counts[winner], "count", title="Vessels of the first stage", symbol="n_v",
                  rule="least number that meets every limit at every corner", candidates=candidates,
                  inputs=inputs, why=why)


def _name(rows: list[Row], first: Figure, step: Figure) -> None:
    """Vessels of every stage as figures."""
    rows[0].vessels = first
    for before, row in pairwise(rows):
        row.vessels = row.held if row.held is not None else ar.stage_vessels.at(
            f"{row.key}.vessels", title=f"Vessels of stage {row.name}", vessels=before.vessels,
            vessel_share=row.share, row_height=step)


def _all_vessels(p: Plan) -> Figure:
    """Vessels of the first pass, all stages."""
    found = p.rows[0].vessels
    assert found is not None
    for row in p.rows[1:]:
        found = ar.vessels_of.at(f"membrane.vessels_to[{row.name}]", title=f"Vessels to stage {row.name}",
                                 vessels=found, other_vessels=row.vessels)
    return found


def _refuse(p: Plan, answer: Answer, corners: tuple[Corner, ...], first: Figure) -> None:
    for i, corner in enumerate(corners):
        if not answer.solved[i]:
            second = "second pass" in answer.reason[i] and p.second_rows[0].vessels is not None
            raise Infeasible(
                f"{answer.reason[i]} ({corner})",
                where="membrane.second_pass.vessels" if second else "membrane.vessels",
                value=int(p.second_rows[0].vessels if second else first),
                do="add vessels, lower the recovery, or choose another element")


def _govern(p: Plan, by_corner: dict[str, m.Recorded], staged: dict[str, Any], limits: dict[str, Figure],
            own: dict[str, Figure]) -> dict[str, Figure]:
    governing = {"feed_pressure": govern(
        "membrane.feed_pressure", {c: r["feed_pressure"] for c, r in by_corner.items()}, "largest",
        title="Feed pressure")}
    for name, rule, title in RULES:
        governing[name] = govern(f"membrane.{name}", {c: r[name] for c, r in by_corner.items()}, rule, title=title)
    _checks(p, p.rows, staged, limits, "membrane", governing)
    if p.second is not None and p.second_sheet is not None:
        second: dict[str, Figure] = {}
        _checks(p, p.second_rows, staged, own, "second_pass", second)
        top = govern("second_pass.feed_pressure", {c: s.stages["second"]["feed_pressure"] for c, s in staged.items()},
                     "largest", title="Feed pressure of the second pass")
        checked("second_pass.feed_pressure.check", top, "<=", own["feed_pressure"],
                title="Feed pressure within the element of the second pass",
                do="add vessels to the second pass or lower its recovery",
                caution="pressure parts follow the pressure-vessel code; a licensed engineer signs them")
    return governing


def _checks(p: Plan, rows: list[Row], staged: dict[str, Any], limits: dict[str, Figure], prefix: str,
            governing: dict[str, Figure]) -> None:
    """Each limit over all corners and stages; the key of the winner says where it binds."""
    words = "" if prefix == "membrane" else " of the second pass"
    for name, key, title, rule, do in LIMITS:
        if name not in limits:
            continue
        every = {(c if len(rows) == 1 else f"{c}-{row.name}"): s.stages[row.prefix][name]
                 for c, s in staged.items() for row in rows}
        if name == "flux":
            every = _pass_flux(p, rows, staged, prefix)
        governing[name] = govern(f"{prefix}.{name}", every, rule, title=title + words)
        judged = uneven(p.inp, name, governing, prefix)
        cited = guideline(ay.guideline_key(p.inp, key)).source if prefix == "membrane" else "common-practice"
        checked(f"{prefix}.{name}.check", judged, "<=" if rule == "largest" else ">=", limits[name],
                title=title + words, do=do.replace("membrane.vessels", "vessels in that stage"), source=cited)


def _pass_flux(p: Plan, rows: list[Row], staged: dict[str, Any], prefix: str) -> dict[str, Figure]:
    """Average flux over all stages, at each corner."""
    sheet = p.sheet if prefix == "membrane" else p.second_sheet
    assert sheet is not None
    total = None
    for row in rows:
        one = ar.membrane_of.at(f"{prefix}.area[{row.name}]", vessels=row.vessels, elements_per_vessel=row.elements,
                                element_area=sheet.element["area"], title=f"Membrane of stage {row.name}")
        total = one if total is None else ar.areas_of.at(f"{prefix}.area_to[{row.name}]", membrane_area=total,
                                                         other_area=one)
    found = {}
    for c, s in staged.items():
        with scope(corner=c):
            found[c] = ar.pass_flux.at(f"{prefix}.flux", membrane_area=total, permeate_flow=s.streams[
                "first_permeate" if prefix == "membrane" else "second_permeate"].flow)
    return found
