"""The membranes of one train: vessel count, and the state at every corner.

With an isobaric exchanger the salinity of the membrane feed depends on the reject it mixes with: that torn
stream is closed here, for all candidates and corners together.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from desalbook import membrane as m
from desalbook.duty.flows import feed_for, recovery_of
from desalbook.guidelines import guideline, guideline_place
from desalbook.hydraulics.energy_recovery import Device
from desalbook.membrane import transport as t
from desalbook.membrane.element import Element
from desalbook.membrane.replay import salinity_left_over
from desalbook.plant import positions as ps
from desalbook.plant.cases import PERMEABILITIES, fields, ph_of
from desalbook.plant.limits import LIMITS, PRESSURE, SHEET, no_count, uneven, with_spread
from desalbook.plant.remedy import lower_recovery
from desalbook.plant.solve_closed import feed_water_of, flow_of_water, salinity_with_mixing, solve_kept
from desalbook.plant.stages import Sheet, plan
from desalbook.plant.waters import TEMPERATURES, Waters
from desalbook.problems import Infeasible
from desalbook.tables import table
from desalbook.trail import Figure, assumed, checked, govern, picked, relation, residual, scope, solved
from desalbook.trail.corner import MEMBRANES, Corner
from desalbook.units import Fraction, GaugePa

__all__ = ["CORNERS", "Array", "array"]

CORNERS = tuple(Corner(temperature, age) for temperature in TEMPERATURES for age in MEMBRANES)
COLDEST = Corner("cold", "aged")
"""Asks for the highest feed pressure."""

@dataclass(frozen=True)
class Array:
    """What the plant needs of the membranes: figures by corner, and the governing ones."""

    element: Element
    vessels: Figure
    recovery: Figure
    feed_flow: Figure
    by_corner: dict[str, m.Recorded]
    mixed_flow: dict[str, Figure]
    permeate_ions: dict[str, Any]
    concentrate_ions: dict[str, Any]
    feed_water: dict[str, Figure]
    governing: dict[str, Figure]
    plan: Any = None
    staged: Any = None
    along: Any = None
    positions: Any = None
    mixed: Any = None

    def carbon_dioxide(self, corner: Corner, feed: Figure) -> Figure:
        """Of the permeate: it passes membranes freely, unless caustic bound it before a second pass."""
        own = self.staged[corner].carbon_dioxide if self.staged is not None else None
        return feed if own is None else own


@relation("Pressure found less pressure held", symbol="r_p", unit="Pa", source="definition")
def pressure_held_left_over(feed_pressure: GaugePa, held_pressure: GaugePa) -> t.DifferencePa:
    """Zero when solved."""
    return feed_pressure - held_pressure


def array(inp, waters: Waters, permeate: Figure, trains: Figure, device: Device) -> Array:
    """Pick or hold the vessels of one train and solve every corner."""
    with scope("train", count=trains):
        return _array(inp, waters, permeate, trains, device)


def _array(inp, waters: Waters, permeate: Figure, trains: Figure, device: Device) -> Array:
    element = m.element(inp)
    slices, elements = inp("membrane.slices"), inp("membrane.elements")
    along, groups, mixed = element, inp.names("membrane.element_by_position"), None
    if groups:
        mixed = m.mixed(inp, element, groups, elements, slices)
        along = mixed.along
    geo = m.geometry("membrane", along["area"], along["length"], along["spacer_height"], along["spacer_porosity"],
                     slices) | m.channel_said(inp)
    if mixed is not None:
        element = mixed.with_area(geo["slice_area"], elements)
        geo["mean_area"] = element["area"]
    fresh = {"age": assumed("membrane.age_new", 0.0, "time.year", title="Age, new corner", symbol="t_a",
                            source="definition"),
             "fouling": assumed("membrane.fouling_new", 1.0, "factor", title="Fouling, new corner", symbol="F_f",
                                source="definition")}
    aged = {"age": inp("membrane.age"), "fouling": inp("membrane.fouling_factor")}
    held_pressure, recovery = inp("membrane.feed_pressure"), inp("membrane.recovery")
    if (held_pressure is None) == (recovery is None):
        raise Infeasible("recovery and feed pressure fix one another", where="membrane.recovery",
                         do="write one of membrane.recovery and membrane.feed_pressure")
    service = {}
    for corner in CORNERS:
        temperature, age = corner.temperature, corner.membranes
        with scope(corner=corner):
            service[corner] = m.in_service(along, inp, waters.at[temperature].temperature,
                                           **(fresh if age == "new" else aged))
    limits = _limits(inp, element, mixed)
    world = _World(inp, waters, permeate, device, geo, service, element, limits, along, mixed)
    held = inp("membrane.vessels")
    joined = plan(inp, waters, permeate, device, Sheet(element, geo, service), inp.names("membrane.stages"),
                  inp.names("membrane.second_pass.stages"))
    if joined is not None and groups:
        raise Infeasible("mixed element types go with one stage and one pass",
                         where=f"membrane.element_by_position[{groups[0]}]",
                         do="leave the positions out, or the stages, the second pass and the recycle")
    if joined is not None:
        from desalbook.plant.array_staged import staged_array

        if recovery is None:
            raise Infeasible("stages, second pass and recycle ask for a recovery", where="membrane.feed_pressure",
                             value=held_pressure.show(), do="write membrane.recovery instead of the pressure")
        return staged_array(joined, recovery, limits, fresh, aged)
    if held_pressure is not None:
        if held is None:
            raise Infeasible("a held feed pressure needs the number of vessels", where="membrane.vessels",
                             do="write membrane.vessels, or write membrane.recovery instead of the pressure")
        found = world.solve(np.array([float(held)]), float(held_pressure), None, [COLDEST])
        if not found[0].solved[0]:
            raise Infeasible(found[0].reason[0], where="membrane.feed_pressure", value=held_pressure.show(),
                             do="raise the pressure, add vessels, or ask for less permeate")
        recovery = solved("membrane.recovery", float(permeate) / float(found[2][0]), "fraction", symbol="Y_m",
                          title="Membrane recovery", inputs=world.inputs | {"vessels": held,
                                                                            "held_pressure": held_pressure},
                          method="feed flow at which the governing corner, cold and aged, needs the held pressure")
    feed = feed_for.at("duty.feed_flow", title="Feed of the membranes", permeate_flow=permeate, recovery=recovery)
    if held is not None:
        vessels = held
        solution, salinity, _ = world.solve(np.array([float(held)]), None, float(feed), CORNERS)
    else:
        vessels, solution, salinity = _vessels(inp, world, feed, elements)
    for i, corner in enumerate(CORNERS):
        if not solution.solved[i]:
            raise Infeasible(f"{solution.reason[i]} ({corner})", where="membrane.vessels",
                             value=int(vessels),
                             do="write more membrane.vessels, lower membrane.recovery, or choose another "
                                "membrane.element")
    out = _record(inp, world, solution, salinity, geo, feed, vessels, elements, permeate)
    by_corner = out[0]
    governing = {}
    rules = (("feed_pressure", "largest", "Feed pressure"), ("pressure_drop", "largest", "Pressure drop"),
             ("concentrate_pressure", "largest", "Reject pressure"),
             ("permeate_tds", "largest", "Permeate dissolved solids"),
             ("permeate_boron", "largest", "Permeate boron"),
             ("concentrate_tds", "largest", "Reject dissolved solids"))
    for name, rule, title in rules:
        if name == "feed_pressure" and held_pressure is not None:
            governing[name] = held_pressure  # the governing corner was solved to need just this
            continue
        governing[name] = govern(f"membrane.{name}", {c: r[name] for c, r in by_corner.items()}, rule, title=title)
    if held_pressure is not None:
        left = pressure_held_left_over.at("membrane.residual_held", feed_pressure=by_corner["cold-aged"][
            "feed_pressure"], held_pressure=held_pressure)
        residual(recovery, left, float(held_pressure), 1e-8)
    for name, key, title, rule, do in LIMITS:
        governing[name] = govern(f"membrane.{name}", {c: r[name] for c, r in by_corner.items()}, rule, title=title)
        if mixed is None or name not in ps.OWN:
            checked(f"membrane.{name}.check", uneven(inp, name, governing), "<=" if rule == "largest" else ">=",
                    limits[name], title=title, do=do, source=guideline(guideline_key(inp, key)).source)
    rows = None
    if mixed is not None:
        rows = ps.position_rows(mixed, by_corner, {k: w.density_curve for k, w in waters.at.items()},
                                int(inp("membrane.slices")), limits, inp("membrane.flow_spread"))
        ps.judge_positions(mixed, rows)
    ratings(inp, waters, element, governing, limits, mixed)
    return Array(element, vessels, recovery, feed, by_corner, *out[1:], governing, along=along, positions=rows,
                 mixed=mixed)


def ratings(inp, waters: Waters, element: Element, governing: dict[str, Figure], limits: dict[str, Figure],
            mixed: m.Mixed | None = None) -> None:
    """Feed pressure within element and vessel, temperature within the element; the first by position where mixed."""
    if mixed is None:
        checked("membrane.feed_pressure.check", governing["feed_pressure"], "<=", limits["feed_pressure"],
                title="Feed pressure within the element",
                do="write more membrane.vessels, lower membrane.recovery, or a warmer intake",
                caution="pressure parts follow the pressure-vessel code; a licensed engineer signs them")
    rating = inp("membrane.pressure_class")
    with scope(because=[rating]):
        row = table("pressure_classes").row(str(rating), "membrane.pressure_class")
        cell = row["rating"]
        top = assumed("membrane.pressure_rating", cell.value, cell.kind, title="Rating of the vessels", symbol="p_R",
                      source=cell.source, place=cell.place, table="pressure_classes", row=row.key)
        used = rating_used.at("membrane.rating_used", feed_pressure=governing["feed_pressure"], pressure_rating=top)
        limit = _guide("limits.rating_used", "rating-used")
        checked("membrane.rating_used.check", used, "<=", limit, title="Feed pressure over vessel rating",
                do="choose a higher membrane.pressure_class", caution="relief below the rating; local codes hold")
    hot = govern("membrane.temperature", {k: w.temperature for k, w in waters.at.items()}, "largest",
                 title="Hottest water on the membranes")
    own = "" if mixed is None else f": {mixed.coolest}"
    checked("membrane.temperature.check", hot, "<=", element["max_temperature"],
            title=f"Water temperature within the element{own}", do="cool the feed or choose another element")


@relation("Share of the rating used", symbol="x_R", unit="1", source="definition")
def rating_used(feed_pressure: GaugePa, pressure_rating: GaugePa) -> Fraction:
    """Governing pressure over rating."""
    return feed_pressure / pressure_rating


def guideline_key(inp, key: str) -> str:
    """Row of the guidelines for a limit; the average flux depends on the water."""
    return f"average-flux-{inp('membrane.water_supply')}" if key == "average-flux" else key


def _guide(id: str, key: str) -> Figure:
    g = guideline(key)
    return assumed(id, g.value, g.kind, title=g.title, source=g.source, place=guideline_place(key),
                   table="guidelines", row=key)


def _limits(inp, element: Element, mixed: m.Mixed | None) -> dict[str, Figure]:
    found = {}
    with scope(because=[inp("membrane.water_supply")]):
        for name, key, *_ in LIMITS:
            if name not in SHEET:
                found[name] = _guide(f"limits.{name}", guideline_key(inp, key))
    if mixed is None:
        return found | {name: element[column] for name, column in SHEET.items()}
    return found | {f"{name}_{k or 'rest'}": of[column] for k, of in mixed.used.items()
                    for name, column in SHEET.items()}


@dataclass
class _World:
    """Everything the solver is fed with, as figures; arrays are made at the call."""

    inp: Any
    waters: Waters
    permeate: Figure
    device: Device
    geo: dict[str, Figure]
    service: dict[str, dict[str, Figure]]
    element: Element
    limits: dict[str, Figure]
    along: Element
    mixed: m.Mixed | None

    @property
    def inputs(self) -> dict[str, Any]:
        """What a solved line of this array rests on."""
        an = self.waters.analysis
        rest: dict[str, Any] = {"permeate": self.permeate, "salinity": an.salinity, "boron": self.waters.boron,
                                "device": self.device.choice}
        rest |= self.geo
        for key in ("elements", "permeate_pressure", "port_loss"):
            rest[key] = self.inp(f"membrane.{key}")
        if self.device.mixing is not None:
            rest["mixing"] = self.device.mixing
        for key, at in self.waters.at.items():
            rest |= {f"temperature_{key}": at.temperature, f"osmotic_{key}": at.osmotic_curve,
                     f"density_{key}": at.density_curve, f"viscosity_{key}": at.water_viscosity,
                     f"borate_shift_{key}": at.borate_shift, f"ph_{key}": ph_of(self.waters, key)}
        for corner, figures in self.service.items():
            rest |= {f"{name}_{corner}": v for name, v in figures.items()}
        return rest

    def solve(self, counts, pressure: float | None, feed: Any, corners, close: float = 1e-12):
        """Counts times corners in one call; closes the mixing of an exchanger."""
        inp = self.inp
        at = [self.waters.at[c.temperature] for c in corners] * len(counts)
        serve = [self.service[c] for c in corners] * len(counts)
        fixed = fields(
            self.along, vessels=np.repeat(counts, len(corners)), elements=int(inp("membrane.elements")),
            permeate_flow=float(self.permeate), feed_pressure=pressure or 60e5,
            temperature=np.array([float(a.temperature) for a in at]),
            water_viscosity=np.array([float(a.water_viscosity) for a in at]),
            osmotic=np.array([a.osmotic_curve.values for a in at]),
            borate_shift=np.array([a.borate_shift.values for a in at if a.borate_shift is not None]),
            borate_salinity=float(self.waters.analysis.salinity),
            density=np.array([a.density_curve.values for a in at]),
            permeate_pressure=float(inp("membrane.permeate_pressure")), port_loss=float(inp("membrane.port_loss")),
            interconnector_loss=float(self.geo["interconnector_loss"]),
            ph_total=np.array([float(ph_of(self.waters, c.temperature)) for c in corners] * len(counts)),
            **{k: np.array([m.by_element(s[k]) for s in serve]) for k in PERMEABILITIES})
        return solve_kept(fixed, float(self.waters.analysis.salinity), float(self.waters.boron), feed,
                            float(self.device.mixing or 0.0), int(inp("membrane.slices")), close,
                            laws=m.law_names(self.geo))


def _vessels(inp, world: _World, feed: Figure, elements: Figure) -> tuple[Figure, Any, Any]:
    """The number picked, and its corners as they were solved for the pick: solution and what enters the membranes."""
    row = int(inp("membrane.row"))
    uneven_flow = inp("membrane.flow_spread")
    spread = {} if uneven_flow is None else {"flow_spread": uneven_flow}
    least = float(world.permeate) / (float(world.limits["flux"]) * float(elements) * float(world.element["area"]))
    first = int(np.maximum(1, np.floor(0.9 * least / row))) * row
    limits = [m.Limit(name, title, "<=" if rule == "largest" else ">=", float(world.limits[name]))
              for name, _, title, rule, _ in LIMITS if name in world.limits]
    if world.mixed is None:
        limits.append(m.Limit("feed_pressure", PRESSURE, "<=", float(world.limits["feed_pressure"])))
    else:
        limits += ps.position_limits()
    winner, candidates, said, counts, tried = None, [], [], np.arange(0), []

    def judged(solution: Any) -> list[str]:
        return m.judge(with_spread(inp, solution) if world.mixed is None else ps.with_positions(
            world.mixed, solution, uneven_flow), limits)

    for batch in (range(5), range(5, 20)):  # a few counts first: more are tried only when none of these is enough
        more = first + row * np.array(batch, dtype=float)
        solution, mixed, _ = world.solve(more, None, float(feed), CORNERS)
        tried += [(solution, mixed, slice(len(CORNERS) * i, len(CORNERS) * (i + 1))) for i in range(len(more))]
        counts, said = np.concatenate([counts, more]), said + judged(solution)
        winner, candidates = m.least_vessels(said, counts, list(CORNERS))
        if winner is not None:
            break
    inputs = world.inputs | {f"limit_{k}": v for k, v in world.limits.items()} | {
        "feed": feed, "row": inp("membrane.row")} | spread
    if winner is None:
        lift = lower_recovery(
            lambda n, feeds: judged(world.solve(n, None, np.repeat(feeds, len(CORNERS)), CORNERS, 1e-6)[0]),
            counts, said, CORNERS, float(world.permeate), float(inp("membrane.recovery")))
        winner, why = no_count("membrane.vessels", counts, said, CORNERS, lift, inputs)
        candidates[winner] = {**candidates[winner], "won": True}
    else:
        before = candidates[winner - 1]["why"] if winner else "the flux limit alone asks for this many"
        why = f"one fewer: {before}"
    solution, mixed, rows = tried[winner]
    vessels = picked("membrane.vessels", counts[winner], "count", title="Vessels of one train", symbol="n_v",
                  rule="least number that meets every limit at every corner", candidates=candidates,
                  inputs=inputs, why=why)
    return vessels, solution.some(rows), [x[rows] for x in mixed]


def _record(inp, world: _World, solution, closed, geo, feed, vessels, elements, permeate):
    lead_keys = [f"{e + 1}.{s + 1}" for e in range(int(elements)) for s in range(int(geo["slices"]))]
    with scope(because=[elements, geo["slices"]]):
        lead = assumed("membrane.lead_share",
                       [1 / int(geo["slices"]) if k.startswith("1.") else 0.0 for k in lead_keys], "fraction",
                       title="Share of each slice in the lead element", axis="node", keys=lead_keys,
                       source="definition")
    an = world.waters.analysis
    factors = m.ion_factors(an.molality)
    by_corner, mixed, perm, conc, water_in = {}, {}, {}, {}, {}
    for i, corner in enumerate(CORNERS):
        at = world.waters.at[corner.temperature]
        with scope(corner=corner):
            water = feed_water_of.at("membrane.train_water", feed_flow=feed, feed_density=at.density,
                                     feed_salinity=an.salinity)
            base = world.inputs | {"feed": feed, "vessels": vessels, "water": water}
            x, boron = an.salinity, world.waters.boron
            if world.device.mixing is not None:
                how = "repeated substitution with the vessel solver"
                x = solved("membrane.feed_salinity", closed[0][i], "salinity", symbol="X_fm", inputs=base,
                           title="Salinity into the membranes", method=how)
                boron = solved("membrane.feed_boron", closed[1][i], "salinity", symbol="X_fB", inputs=base,
                               title="Boron per water into the membranes", method=how)
                rho = t.density_of.at("membrane.mixed_density", salinity=x, **dict(at.density_curve.items()))
                flow = flow_of_water.at("membrane.feed_flow", water=water, salinity=x, density=rho)
            else:
                flow = feed
            f = dict(geo) | world.service[corner] | {
                "vessels": vessels, "elements": elements, "feed_flow": flow, "feed_salinity": x,
                "boron_ratio": boron, "temperature": at.temperature,
                "ph_total": ph_of(world.waters, corner.temperature),
                "permeate_pressure": inp("membrane.permeate_pressure"), "port_loss": inp("membrane.port_loss"),
                "water_viscosity": at.water_viscosity, "osmotic": at.osmotic_curve, "density": at.density_curve,
                "borate_shift": at.borate_shift, "borate_salinity": an.salinity}
            r = m.record(solution, i, f, lead_share=lead, wanted=permeate)
            if world.device.mixing is not None:
                for name, fig, raw, end in (("salinity", x, an.salinity, r["concentrate_salinity"]),
                                            ("boron", boron, world.waters.boron, t.ratio_of.at(
                                                "membrane.concentrate_boron_ratio",
                                                solute=r["concentrate_boron_flow"], water=r["concentrate_water"]))):
                    again = salinity_with_mixing.at(
                        f"membrane.feed_{name}_again", feed_salinity=raw, exchanger_mixing=world.device.mixing,
                        concentrate_water=r["concentrate_water"], water=water, concentrate_salinity=end)
                    left = salinity_left_over.at(f"membrane.residual_mixing_{name}", salinity=fig, found=again)
                    residual(fig, left, float(raw) or 1.0)
            perm[corner], conc[corner] = m.split_ions(an.molality, an.molar_mass, factors, r, water)
            recovery_of.at("membrane.recovery_at", title="Membrane recovery", symbol="Y_m",
                           permeate_flow=r["permeate_flow"], feed_flow=feed)
        by_corner[corner], mixed[corner], water_in[corner] = r, flow, water
    return by_corner, mixed, perm, conc, water_in


