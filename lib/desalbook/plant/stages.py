"""The plan of an array with stages, a second pass or a recycle: what is joined to what, and how it is solved.

Absent from a design, nothing of this is called; see `stages_record` for the lines of the trail.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

import numpy as np

from desalbook import membrane as m
from desalbook.guidelines import guideline, guideline_place
from desalbook.hydraulics.energy_recovery import kinds
from desalbook.membrane import ions as mi
from desalbook.membrane import transport as t
from desalbook.membrane.element import Element
from desalbook.membrane.solve_ions import march_ions
from desalbook.plant.array_relations import first_pass_permeate, pass_flux, stage_vessels
from desalbook.plant.cases import PERMEABILITIES, fields, ph_of
from desalbook.plant.interpass import target_of
from desalbook.plant.limits import SHEET, no_count, with_spread
from desalbook.plant.solve_stages import Answer, Loops, Pass, SecondPass, Stage, solve_array
from desalbook.plant.waters import TEMPERATURES
from desalbook.problems import Infeasible
from desalbook.tables import table
from desalbook.trail import Choice, Figure, assumed, engine, note, picked, scope
from desalbook.trail.corner import Corner
from desalbook.water.acid_constants import total_from_nbs
from desalbook.water.phreeqc_bridge import Water, dose_to_ph, engine_record, permeate_ph

__all__ = ["Plan", "Row", "Sheet", "plan", "second_limits"]

SECOND_LIMITS = ("flux", "lead_flux", "element_recovery", "beta_max", "vessel_drop")

@dataclass
class Sheet:
    """An element as it stands in its vessels: sheet, channel, permeabilities by corner."""

    element: Element
    geo: dict[str, Figure]
    service: dict[str, dict[str, Figure]]


@dataclass
class Row:
    """One stage: its name, the prefix of its lines, and its figures; ``vessels`` comes with the pick."""

    name: str
    prefix: str
    key: str
    elements: Figure
    share: Figure | None = None
    held: Figure | None = None
    boost: Figure | None = None
    efficiency: Figure | None = None
    vessels: Figure | None = None


@dataclass
class Plan:
    """Stages of both passes and what joins them."""

    inp: Any
    waters: Any
    permeate: Figure
    device: Any
    sheet: Sheet
    rows: list[Row]
    recycle: Figure | None
    second: dict[str, Any] | None = None
    second_sheet: Sheet | None = None
    second_rows: list[Row] = field(default_factory=list)
    caustic: dict[str, Figure] = field(default_factory=dict)
    ph: dict[str, Figure] = field(default_factory=dict)

    @property
    def looped(self) -> bool:
        """Whether what leaves the membranes comes back into their feed."""
        back = self.second is not None and self.second["reject_to"] == "feed"
        return back or self.recycle is not None or self.device.mixing is not None

    @property
    def because(self) -> list[Any]:
        """Choices that made this array what it is."""
        found = [self.device.choice]
        if self.second is not None:
            found += [self.second[k] for k in ("element", "takes", "reject_to")] + self.second["stated"]
        return found

    @property
    def inputs(self) -> dict[str, Any]:
        """What a solved line of this array rests on."""
        inp, an = self.inp, self.waters.analysis
        rest: dict[str, Any] = {"permeate": self.permeate, "salinity": an.salinity, "boron": self.waters.boron,
                                "permeate_pressure": inp("membrane.permeate_pressure"),
                                "port_loss": inp("membrane.port_loss")}
        rest |= {c.id.rpartition(".")[2] + "_choice": c for c in self.because}
        if self.device.mixing is not None:
            rest["mixing"] = self.device.mixing
        if self.recycle is not None:
            rest["recycle"] = self.recycle
        for key, at in self.waters.at.items():
            rest |= {f"temperature_{key}": at.temperature, f"osmotic_{key}": at.osmotic_curve,
                     f"density_{key}": at.density_curve, f"viscosity_{key}": at.water_viscosity,
                     f"borate_shift_{key}": at.borate_shift, f"ph_{key}": ph_of(self.waters, key)}
        for tag, sheet, rows in (("", self.sheet, self.rows), ("second_", self.second_sheet, self.second_rows)):
            if sheet is None:
                continue
            rest |= {tag + k: v for k, v in sheet.geo.items()}
            for corner, figures in sheet.service.items():
                rest |= {f"{tag}{name}_{corner}": v for name, v in figures.items()}
            for row in rows:
                for name in ("elements", "share", "boost", "vessels"):
                    if getattr(row, name) is not None:
                        rest[f"{tag}{row.name}_{name}"] = getattr(row, name)
        if self.second is not None:
            rest |= {f"second_{k}": self.second[k] for k in ("share", "recovery", "port_loss", "front_elements")
                     if self.second.get(k) is not None}
            rest |= {f"caustic_{k}": v for k, v in self.caustic.items()}
            rest |= {f"second_ph_{k}": v for k, v in self.ph.items()}
        return rest

    def counts(self, rows: list[Row], first: np.ndarray, step: float) -> list[np.ndarray]:
        """Vessels of each stage for many counts of the first."""
        found = [first]
        for row in rows[1:]:
            found.append(np.full_like(first, float(row.held)) if row.held is not None
                         else stage_vessels.plain(found[-1], float(row.share or 1.0), step))
        return found

    def _base(self, corners: Any, sheet: Sheet) -> dict[str, Any]:
        """Fields of the cases at corners that the stages of a pass share."""
        at = [self.waters.at[c.temperature] for c in corners]
        serve = [sheet.service[c] for c in corners]
        return dict(
            temperature=np.array([float(a.temperature) for a in at]),
            water_viscosity=np.array([float(a.water_viscosity) for a in at]),
            osmotic=np.array([a.osmotic_curve.values for a in at]),
            density=np.array([a.density_curve.values for a in at]),
            **{k: np.array([float(s[k]) for s in serve]) for k in PERMEABILITIES})

    def _pass(self, sheet: Sheet, rows: list[Row], counts: list[Any], base: dict[str, Any], port: float,
              ph: Any) -> Pass:
        base = base | {"permeate_flow": 1.0, "feed_pressure": 1e5, "port_loss": port, "ph_total": ph,
                       "interconnector_loss": float(sheet.geo["interconnector_loss"]),
                       "permeate_pressure": float(self.inp("membrane.permeate_pressure"))}
        return Pass(tuple(Stage(fields(sheet.element, vessels=n, elements=int(r.elements), **base),
                                float(r.boost or 0.0)) for r, n in zip(rows, counts, strict=True)))

    def _loops(self, two: Pass | None, caustic: Any) -> Loops:
        s, more = self.second, None
        if two is not None and s is not None:
            front = int(s["front_elements"]) if s["front_elements"] is not None else 0
            more = SecondPass(two, float(s["share"]), front, float(s["recovery"]), s["reject_to"] == "feed", caustic)
        return Loops(float(self.device.mixing or 0.0), float(self.recycle or 0.0), more)

    def rated(self, given: dict[str, np.ndarray], water: dict[str, np.ndarray], feed: np.ndarray, *,
              permeate: float | None, first: dict[str, Any], second: dict[str, Any] | None,
              boron: np.ndarray, ph: Any) -> Answer:
        """The sized array under other conditions, one row a case; permeate held, or the feed pressure."""
        inp, temperature = self.inp, given["temperature"]
        base = {"temperature": temperature, **water}
        one = self._pass(self.sheet, self.rows, [float(r.vessels or 0) for r in self.rows], base | first,
                         float(inp("membrane.port_loss")), ph)
        two, caustic = None, 0.0
        if self.second is not None and self.second_sheet is not None and second is not None:
            levels = sorted((float(self.waters.at[k].temperature), k) for k in self.ph)

            def between(of: dict[str, Figure]) -> np.ndarray:
                return np.interp(temperature, [x for x, _ in levels], [float(of[k]) for _, k in levels])

            two = self._pass(self.second_sheet, self.second_rows, [float(r.vessels or 0) for r in self.second_rows],
                             base | second, float(self.second["port_loss"]), between(self.ph))
            caustic = between(self.caustic) if self.caustic else 0.0
        held = {"permeate": permeate} if permeate is not None else {"pressure": given["feed_pressure"]}
        return solve_array(one, self._loops(two, caustic), salinity=given["salinity"], boron=boron, feed_flow=feed,
                           slices=int(inp("membrane.slices")), laws=m.laws_of(self.sheet.geo), **held)

    def solve(self, first: np.ndarray, second: np.ndarray, feed: Any, corners, close: float = 1e-10,
              alone: bool = False) -> Answer:
        """Counts of the first stages times corners, in one call; ``alone`` leaves the second pass out."""
        inp, k = self.inp, len(corners)
        every = list(corners) * len(first)
        n1 = self.counts(self.rows, np.repeat(first, k), float(inp("membrane.row")))
        shift = {"borate_shift": np.array([self.waters.at[c.temperature].borate_shift.values for c in every]),
                 "borate_salinity": float(self.waters.analysis.salinity)}
        one = self._pass(self.sheet, self.rows, n1, self._base(every, self.sheet) | shift,
                         float(inp("membrane.port_loss")),
                         np.array([float(ph_of(self.waters, c.temperature)) for c in every]))
        two, caustic = None, 0.0
        if self.second is not None and not alone and self.second_sheet is not None:
            n2 = self.counts(self.second_rows, np.repeat(second, k), float(self.second["row"]))
            keys = [c.temperature for c in every]
            two = self._pass(self.second_sheet, self.second_rows, n2, self._base(every, self.second_sheet),
                             float(self.second["port_loss"]), np.array([float(self.ph.get(c, 8.0)) for c in keys]))
            caustic = np.array([float(self.caustic[c]) for c in keys]) if self.caustic else 0.0
        n = len(every)
        permeate = float(self.permeate)
        if alone and self.second is not None:
            permeate = float(first_pass_permeate.plain(permeate, float(self.second["share"]),
                                                       float(self.second["recovery"])))
        return solve_array(
            one, self._loops(two, caustic),
            salinity=np.full(n, float(self.waters.analysis.salinity)), boron=np.full(n, float(self.waters.boron)),
            feed_flow=np.full(n, feed, dtype=float), permeate=np.full(n, permeate),
            slices=int(inp("membrane.slices")), close=close, laws=m.laws_of(self.sheet.geo))


def plan(inp: Any, waters: Any, permeate: Figure, device: Any, sheet: Sheet, stage_names: tuple[str, ...],
         second_names: tuple[str, ...]) -> Plan | None:
    """The plan of the design; None where it has one stage, one pass and no recycle."""
    takes, recycle = inp("membrane.second_pass.takes"), inp("membrane.recycle")
    if not stage_names and takes is None and recycle is None:
        return None
    rows = [Row("first", "stage[first]", "membrane", inp("membrane.elements"), held=inp("membrane.vessels"))]
    rows += _rows(inp, "membrane", stage_names, "stage")
    found = Plan(inp, waters, permeate, device, sheet, rows, recycle)
    boosted = [r for r in rows if r.boost is not None and float(r.boost)]
    if boosted and device.kind.needs_booster:
        boosting = next(kind.key for kind in kinds() if kind.boosts_feed)
        raise Infeasible("the reject would be above the feed pressure, and an exchanger would need no booster",
                         where=f"membrane.stages[{boosted[0].name}].boost", value=boosted[0].boost.show(),
                         do=f'leave the boost out, or write energy_recovery.device = "{boosting}"')
    if takes is not None:
        _second(found, takes, second_names)
    return found


def _rows(inp: Any, key: str, names: tuple[str, ...], prefix: str) -> list[Row]:
    found = []
    for name in names:
        at = f"{key}.stages[{name}]"
        found.append(Row(name, f"{prefix}[{name}]", at, inp(f"{at}.elements"), inp(f"{at}.vessel_share"),
                         inp(f"{at}.vessels"), inp(f"{at}.boost"), inp(f"{at}.pump_efficiency")))
    return found


def _second(p: Plan, takes: Choice, names: tuple[str, ...]) -> None:
    inp, at = p.inp, "membrane.second_pass"
    s = {k: inp(f"{at}.{k}") for k in ("element", "takes", "share", "recovery", "row", "reject_to", "port_loss",
                                       "chlorinated", "suction", "pump_efficiency", "front_elements")} | target_of(inp)
    if takes != "rear":
        s["front_elements"] = None
    elif int(s["front_elements"]) >= int(p.rows[0].elements):
        raise Infeasible("no element is left at the rear end", where=f"{at}.front_elements",
                         value=int(s["front_elements"]), allowed=f"below {int(p.rows[0].elements)}",
                         do="write fewer")
    p.second = s
    with scope(instead=("membrane", "second_pass"), because=[s["element"]]):
        own = {"membrane.element": s["element"]}
        element = m.element(lambda id: own.get(id) or inp(id))
        geo = m.geometry("membrane", element["area"], element["length"], element["spacer_height"],
                         element["spacer_porosity"], inp("membrane.slices")) | m.channel_said(inp)
    p.second_sheet = Sheet(element, geo, {})
    p.second_rows = [Row("first", "second_pass[first]", at, inp(f"{at}.elements"), held=inp(f"{at}.vessels"))]
    p.second_rows += _rows(inp, at, names, "second_pass")
    bad = s["chlorinated"] == "yes"
    note("second_pass.chlorine", title="Chlorine ahead of the second pass", verdict="fails" if bad else "holds",
         why="chlorine between the passes destroys the membranes of the second" if bad
         else "no chlorine between the passes",
         do="chlorinate the product behind the second pass, or take the chlorine out again before it",
         inputs={"chlorinated": s["chlorinated"], "element": s["element"]})


@lru_cache(maxsize=64)
def _dose(ions: tuple, temperature: float, co2: float, bicarbonate: float, target: float | None,
          where: str = "") -> tuple[float, float]:
    """pH of the first permeate, and hydroxide (mol/kg) to the target."""
    amounts = {k: v for k, v in ions if k not in ("HCO3", "B")}
    boron = {k: v for k, v in ions if k == "B"}
    found = permeate_ph({**amounts, **boron}, temperature, co2=co2, bicarbonate=bicarbonate)
    if target is None:
        return found.ph, 0.0
    if found.ph >= target:
        raise Infeasible("the permeate is above the target before any caustic", where=where,
                         value=target, do="write a higher pH or leave the key out")
    water = Water.of({**amounts, **boron}, ph=found.ph, temperature=temperature)
    return found.ph, dose_to_ph(water, temperature, target, "NaOH", "fresh")


def chemistry(p: Plan, first: float, feed: float) -> None:
    """pH and caustic of the second pass's feed at each temperature, aged, recorded.

    The permeate is that of the first pass before its feed takes up what the second returns.
    """
    if p.second is None:
        return
    s, an = p.second, p.waters.analysis
    corners = [Corner(k, "aged") for k in TEMPERATURES]
    r = p.solve(np.array([first]), np.array([1.0]), feed, corners, close=1e-8, alone=True)
    wrong = [f"{x} ({c})" for c, x in zip(corners, r.reason, strict=True) if x]
    if wrong:
        raise Infeasible(wrong[0], where="membrane.vessels", value=int(first),
                         do="add vessels, lower the recovery, or choose another element")
    data = table("ion_passage")
    keys = list(an.molality.keys)
    passage = np.array([float(data[k]["passage"].value) for k in keys])
    z = np.array([float(data[k]["charge"].value) for k in keys])
    raw, mass = np.asarray(an.molality.values), np.asarray(an.molar_mass.values)
    with scope(instead=("membrane", "second_pass"), because=s["stated"]):
        target = total_from_nbs.at("membrane.feed_ph_total", ph=s["ph"]) if s["ph"] is not None else None
    about = engine_record("fresh")
    base = {k: v for k, v in p.inputs.items() if not k.startswith("second_")} | {
        "ions": an.molality, "second_share": s["share"], "second_recovery": s["recovery"]}
    for i, key in enumerate(TEMPERATURES):
        permeate = r.first.permeate
        x = t.ratio_of.plain(permeate.salt[i], permeate.water[i])
        b = march_ions(r.first.stages[0].only(i), raw, mass, passage, z).permeate[0]
        b = mi.permeate_ions.plain(b, x, mi.share_mass.plain(b, mass))
        ions = dict(zip(keys, b, strict=True))
        if "B" in ions:
            ions["B"] = float(permeate.boron[i] / permeate.water[i] / 0.01081)
        at = p.waters.at[key]
        ph, dose = _dose(tuple((k, float(f"{v:.12e}")) for k, v in ions.items()), float(at.temperature),
                         float(at.carbon_dioxide), float(f"{ions.get('HCO3', 0.0):.12e}"),
                         None if s["ph"] is None else float(s["ph"]),
                         "" if s["ph"] is None else s["ph"].id)
        said = {"library": about.library, "version": about.library_version, "data": about.database,
                "checksum": about.sha256, "source": "phreeqc-2013",
                "inputs": base | {"temperature": at.temperature, "carbon_dioxide": at.carbon_dioxide}
                | ({"target": s["ph"]} if s["ph"] is not None else {}),
                "note": "permeate of the first pass, aged, before its feed takes up what the second pass returns"}
        with scope(corner=key, because=p.because):
            own = engine("second_pass.permeate_ph", ph, "ph.nbs", title="pH of the first pass's permeate",
                         symbol="pH_p1", **said)
            if target is None:
                p.ph[key] = total_from_nbs.at("second_pass.ph_total", ph=own)
                continue
            p.ph[key] = target
            p.caustic[key] = engine("second_pass.caustic", dose, "molality", symbol="b_OH",
                                    title="Caustic for the pH of the second pass", **said)


def second_limits(p: Plan) -> dict[str, Figure]:
    """Limits of the second pass: guidelines of its own and its sheet."""
    assert p.second_sheet is not None
    found = {}
    for name in SECOND_LIMITS:
        key = f"second-pass-{name.replace('_', '-')}"
        g = guideline(key)
        found[name] = assumed(f"limits.second_pass_{name}", g.value, g.kind, title=g.title, source=g.source,
                              place=guideline_place(key), table="guidelines", row=key)
    return found | {name: p.second_sheet.element[column] for name, column in SHEET.items()}


@dataclass
class Judged:
    """What `membrane.judge` looks at: the worst stage of a pass."""

    reason: list[str]
    feed_pressure: np.ndarray
    out: dict[str, np.ndarray]


def worst(stages: list[m.Solution], reason: Any, smallest: tuple[str, ...] = ("vessel_concentrate",)) -> Judged:
    """The worst of the stages for each output; the average flux is that of the pass."""
    names = ("flux", "lead_flux", "element_recovery", "beta_max", "vessel_feed", "vessel_concentrate", "element_drop",
             "vessel_drop")
    area = [np.asarray(s.cases.vessels) * s.cases.elements * np.asarray(s.cases.element_area) for s in stages]
    out = {k: (np.minimum if k in smallest else np.maximum).reduce([s.out[k] for s in stages]) for k in names}
    out["flux"] = pass_flux.plain(np.sum([s.permeate_flow for s in stages], axis=0), np.sum(area, axis=0))
    return Judged(list(reason), np.maximum.reduce([s.feed_pressure for s in stages]), out)


def pick_second(p: Plan, feed: float, first: float, limits: dict[str, Figure], corners: tuple[Corner, ...],
                rules: list[m.Limit]) -> Figure:
    """Vessels of the second pass's first stage: the least that meets its limits at every corner."""
    assert p.second is not None and p.second_sheet is not None
    if p.second_rows[0].held is not None:
        return p.second_rows[0].held
    row = int(p.second["row"])
    counts = np.arange(row, 4 * row + 1, row, dtype=float)
    said: list[str] = []
    seen = np.zeros(0)
    winner, candidates = None, []
    guess = float(p.permeate) / (float(limits["flux"]) * float(p.second_rows[0].elements)
                                 * float(p.second_sheet.element["area"]))
    start = int(np.maximum(0, np.floor(0.4 * guess / row))) * row
    for batch in range(5):
        more = start + counts + 4 * row * batch
        r = p.solve(np.full(len(more), first), more, feed, corners, close=1e-7)
        assert r.second is not None
        judged: Any = with_spread(p.inp, worst(r.second.stages, r.reason))
        seen, said = np.concatenate([seen, more]), said + m.judge(judged, rules)
        winner, candidates = m.least_vessels(said, seen, list(corners))
        if winner is not None:
            break
    inputs = p.inputs | {f"limit_{k}": v for k, v in limits.items()} | {"row": p.second["row"]}
    if p.inp("membrane.flow_spread") is not None:
        inputs["flow_spread"] = p.inp("membrane.flow_spread")
    if winner is None:
        winner, why = no_count("membrane.second_pass.vessels", seen, said, corners,
                               "lower membrane.second_pass.recovery, or add a stage to it", inputs)
        candidates[winner] = {**candidates[winner], "won": True}
    else:
        before = candidates[winner - 1]["why"] if winner else "the least count tried"
        why = f"one fewer: {before}"
    return picked("membrane.second_pass.vessels", seen[winner], "count",
                  title="Vessels of the second pass, first stage", symbol="n_v2",
                  rule="least number that meets every limit at every corner", candidates=candidates,
                  inputs=inputs, why=why)
