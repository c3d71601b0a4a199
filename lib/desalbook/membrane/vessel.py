"""A vessel along its length: for a given flux all that follows from it, and the record of what was solved.

Slices come in pairs, and the bulk of a slice is taken at its point of Gauss: fourth order. Slices that stand alone
take the mean of their ends: second order. The solver works on arrays over (cases, slices); the record puts one
solved case once through the same functions of `transport`, with a residual for every balance.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np

from desalbook.hydraulics.rows import row_line
from desalbook.membrane import residuals as rs
from desalbook.membrane import transport as t
from desalbook.membrane.cases import DENSITY, OSMOTIC, Cases, Laws, Solution, nodes_of
from desalbook.trail import Column, Figure, Values, assumed, current, engine, proving, relation, residual, scope, solved
from desalbook.trail.ledger import Later
from desalbook.units import Concentration, Count, DifferencePa, KgPerM3, Salinity

__all__ = ["SHIFT", "Recorded", "boron_per_water", "channel", "columns", "defaults", "end_of", "evaluate", "finish",
           "geometry", "in_service", "number", "osmotic_slope", "outlet", "record", "recorder", "salinity_residual",
           "shared", "shifts", "through", "train"]

SHIFT = 1 / np.sqrt(3.0) - 0.5  # of the bulk by the other slice of a pair: two points of Gauss
LEAST_LEFT = 1e-4  # share of what came in that is left in any guess


def number(law: Any, name: str, *, because: Any = None, title: str = "", symbol: str = "", **given: Any) -> Any:
    """A value by its relation, on arrays and unrecorded; a bare function in a law's place takes them in order."""
    plain = getattr(law, "plain", None)
    return law(*given.values()) if plain is None else plain(**given)


@lru_cache(maxsize=64)
def shifts(nodes: int, order: int) -> np.ndarray:
    """Weight of the other slice of a pair in the bulk of a slice; zero where slices stand alone."""
    return np.tile([SHIFT, -SHIFT], nodes // 2) if order == 4 else np.zeros(nodes)


def _pair(change: np.ndarray, order: int) -> np.ndarray:
    """Change over both slices of a pair, at each; of a slice alone its own, twice."""
    if order == 2:
        return 2 * change
    both = change.reshape(len(change), -1, 2)
    return (both[:, :, 0] + both[:, :, 1]).repeat(2, axis=1)


def through(name: str, into: np.ndarray, change: np.ndarray, order: int, c: dict[str, Any]) -> None:
    """What enters and leaves each slice, and the bulk, from the inlet and the change in each slice."""
    end, both = into[:, None] - change.cumsum(axis=1), _pair(change, order)
    start = np.empty_like(end)
    start[:, 0], start[:, 1:] = into, end[:, :-1]
    c[f"{name}_in"], c[f"{name}_out"], c[f"{name}_pair"] = start, end, both
    t.bulk(number, name, shifts(change.shape[1], order), c)


def channel(c: Cases, slices: int, laws: Laws) -> dict[str, Any]:
    """What the iteration does not move, by the names the record uses, as it broadcasts over (cases, slices)."""
    def col(name: str) -> np.ndarray:
        return nodes_of(getattr(c, name), slices)

    def row(name: str) -> np.ndarray:
        return getattr(c, name)[:, None]

    density = {k: c.density[:, [i]] for i, k in enumerate(DENSITY)}
    f = t.channel_geometry(number, col("element_area"), col("element_length"), col("spacer_height"),
                           col("spacer_porosity"), slices)
    return f | {
        "density": density, "osmotic": {k: c.osmotic[:, [i]] for i, k in enumerate(OSMOTIC)},
        "pure_density": number(laws.relation("density"), "pure", salinity=np.zeros((len(c.density), 1)), **density),
        "water_permeability": col("water_permeability"), "salt_permeability": col("salt_permeability"),
        "boric_acid_permeability": col("boric_acid_permeability"), "borate_permeability": col("borate_permeability"),
        "permeate_pressure": row("permeate_pressure"), "water_viscosity": row("water_viscosity"),
        "temperature": row("temperature"), "ph_total": row("ph_total"), "borate_salinity": row("borate_salinity"),
        "borate_shift": {"shift_1": c.borate_shift[:, [0]], "shift_2": c.borate_shift[:, [1]]}}


def train(c: Cases, g: Mapping[str, Any], slices: int) -> dict[str, Any]:
    """The same for what belongs to the whole train, one number a case."""
    lead = np.zeros(int(c.elements) * slices)
    lead[:slices] = 1 / slices
    area = c.element_area if c.element_area.ndim == 1 else np.mean(c.element_area, axis=1)
    return {"density": {k: v[:, 0] for k, v in g["density"].items()}, "pure_density": g["pure_density"][:, 0],
            "slice_area": g["slice_area"], "vessels": c.vessels, "elements": c.elements, "element_area": area,
            "interconnector_loss": c.interconnector_loss, "port_loss": c.port_loss, "lead_fraction": lead,
            "feed_salinity": c.feed_salinity}


def _joints(c: Cases, slices: int) -> np.ndarray:
    """Number of joints upstream of each slice."""
    return np.repeat(np.arange(c.elements, dtype=float), slices)


def evaluate(c: Cases, g: dict[str, Any], slices: int, order: int, laws: Laws, flux: np.ndarray,
             pressure: np.ndarray, feed_flow: np.ndarray, carried: np.ndarray,
             sweeps: int = 1) -> tuple[dict[str, Any], dict[str, Any]]:
    """Everything along the vessel; ``carried`` is the salt flux of the step before.

    Returns
    -------
    dict, dict
        Profiles (cases, slices) and sums (cases,).
    """
    s: dict[str, Any] = {"flux": flux}
    f = train(c, g, slices) | {"feed_flow": feed_flow, "feed_pressure": pressure}
    out: dict[str, Any] = {}
    t.inlet_of_train(number, f, laws, out)
    water0, salt0 = out["vessel_water"], out["vessel_salt"]
    through("water", water0, flux * g["pure_density"] * g["slice_area"], order, s)
    s["water"] = np.maximum(s["water"], LEAST_LEFT * water0[:, None])
    # the permeate's salinity depends on the bulk's mean, which it lowers a little: a few sweeps settle it
    change = np.zeros(len(flux))
    for _ in range(sweeps):
        through("salt", salt0, carried * g["slice_area"], order, s)
        s["salt"] = np.maximum(s["salt"], LEAST_LEFT * salt0[:, None])
        t.film(number, g, laws, s)
        t.passage(number, g, laws, s)
        t.salt_through(number, g, s)
        change = np.sum(np.abs(s["salt_flux"] - carried) * g["slice_area"], axis=1) / salt0
        carried = s["salt_flux"]
        if np.all(change < 1e-15):
            break
    s["salt_error"] = change
    t.friction(number, g, laws, s)
    through("pressure", out["inlet_pressure"], s["loss"], order, s)
    if c.elements > 1:
        fallen = c.interconnector_loss[:, None] * _joints(c, slices)
        for name in ("pressure_in", "pressure_out", "pressure"):
            s[name] = s[name] - fallen
    t.driving(number, g, s)
    t.permeate_of_train(number, f, laws, s, out)
    return s, out


def osmotic_slope(law: Any, x: np.ndarray, value: np.ndarray, coefficients: Mapping[str, Any]) -> np.ndarray:
    """Derivative of an osmotic law whose value at x is known."""
    return (number(law, "slope", salinity=x * (1 + 1e-6), **coefficients) - value) / (1e-6 * x)


def end_of(c: Cases, g: dict[str, Any], s: dict[str, Any], slices: int, order: int, laws: Laws) -> dict[str, Any]:
    """The end of an element where polarisation is highest, with flux and film of that very place.

    The end is found by drawing ln(beta) on from the two slices next to each end; what holds there is solved.
    """
    n, nodes = s["flux"].shape
    here = np.log(s["beta"]).reshape(n, c.elements, slices)
    on = (np.sqrt(3) - 1) / 2 if order == 4 else 0.5  # from the outer slice to the end, in gaps between both
    two = int(slices > 1)
    ends = np.stack([here[:, :, 0] + on * (here[:, :, 0] - here[:, :, two]),
                     here[:, :, -1] + on * (here[:, :, -1] - here[:, :, -1 - two])], axis=2).reshape(n, -1)
    which = np.argmax(ends, axis=1)
    node = which // 2 * slices + np.where(which % 2 == 0, 0, slices - 1)
    row = np.arange(n)

    def pick(x):
        return x[row, node][:, None] if x.shape[1] == nodes else x

    local = {k: v if isinstance(v, dict) else pick(v) for k, v in g.items() if k != "slices"}
    at_inlet = which % 2 == 0
    e = {k: np.where(at_inlet, s[f"{k}_in"][row, node], s[f"{k}_out"][row, node])[:, None]
         for k in ("water", "salt", "pressure")}
    e["water"], e["salt"] = np.maximum(e["water"], 1e-30), np.maximum(e["salt"], 1e-33)
    t.film(number, local, laws, e)
    most = 30 * e["mass_transfer"]  # a case without answer may ask for anything
    e["flux"] = np.clip(ends[row, which][:, None] * e["mass_transfer"], 1e-30, most)
    law = laws.relation("osmotic")
    before: Any = None
    for turn in range(40):
        t.passage(number, local, laws, e)
        t.driving(number, local, e)
        lack = e["flux"] - e["driven_flux"]
        done = np.abs(lack) <= 1e-12 * e["flux"]  # such a case stands still, whatever its company does
        if np.all(done):
            break
        steep = osmotic_slope(law, e["wall_salinity"], e["osmotic_wall"], local["osmotic"])
        gap = e["wall_salinity"] - e["permeate_salinity"]
        own = 1 + local["water_permeability"] * steep * gap / e["mass_transfer"]
        if turn > 7 and before is not None:
            # hardly any flux: the salt that passes counts as much as the water, and the slope above leaves it out
            gap = e["flux"] - before[0]
            with np.errstate(all="ignore"):
                found = (lack - before[1]) / gap
            own = np.where(np.isfinite(found) & (found > 0) & (np.abs(gap) > 1e-14 * e["flux"]), found, own)
        before = (e["flux"], lack)
        step = np.nan_to_num(lack / own)
        e["flux"] = np.where(done, e["flux"], np.clip(e["flux"] - step, 0.1 * e["flux"], most))
    return {f"end_{k}": v[:, 0] for k, v in e.items()} | {"end": which}


def boron(c: Cases, g: dict[str, Any], s: dict[str, Any], slices: int, order: int, into: np.ndarray) -> None:
    """Boron along the vessels; what passes is in proportion to the bulk's boron, so each pair of slices is linear."""
    t.boron_passage(number, number, g, s)
    # per bulk's boron and square metre: what passes for one kilogram a second of boron in the bulk
    one = {"flux": s["flux"], "permeate_salinity": s["boron_passage"]}
    t.salt_through(number, g, one)
    unit = one["salt_flux"] * g["slice_area"] / s["water"]
    through("boron", into, _chain(unit, into, order), order, s)
    t.boron_flux(number, g, s)


def _chain(unit: np.ndarray, into: np.ndarray, order: int) -> np.ndarray:
    """Change in each slice of a solute that falls by ``unit`` times its bulk: a small system for each pair."""
    fall = np.empty_like(unit)
    if order == 2:
        keep = (1 - unit / 2) / (1 + unit / 2)
        start = into[:, None] * np.concatenate([np.ones((len(unit), 1)), np.cumprod(keep, axis=1)[:, :-1]], axis=1)
        return start * unit / (1 + unit / 2)
    u, v = unit[:, 0::2], unit[:, 1::2]
    # fall_1 = u (in - fall_1/2 + h fall_2); fall_2 = v (in - (1 + h) fall_1 - fall_2/2)
    h = SHIFT
    base = (1 + u / 2) * (1 + v / 2) + u * v * h * (1 + h)
    first, second = u * (1 + v / 2 + h * v) / base, v * (1 + u / 2 - (1 + h) * u) / base
    keep = 1 - first - second
    start = into[:, None] * np.concatenate([np.ones((len(unit), 1)), np.cumprod(keep, axis=1)[:, :-1]], axis=1)
    fall[:, 0::2], fall[:, 1::2] = first * start, second * start
    return fall


def outlet(r: Solution, c: Cases, g: dict[str, Any]) -> None:
    """Boron along the vessels and what leaves their ends: what a torn stream asks for."""
    boron(c, g, r.state, r.slices, r.order, r.out["vessel_water"] * c.boron_feed)
    f = train(c, g, r.slices)
    t.boron_of_train(number, f, r.state, r.out)
    t.concentrate_of_train(number, f, r.state, r.out)


def finish(r: Solution, c: Cases, g: dict[str, Any], laws: Laws) -> None:
    """Boron, the end where polarisation is highest, and all that is asked of a train."""
    outlet(r, c, g)
    s, slices = r.state, r.slices
    s.update(end_of(c, g, s, slices, r.order, laws))
    for name in ("water", "pressure"):
        s[f"element_{name}_in"], s[f"element_{name}_out"] = (
            s[f"{name}_in"][:, ::slices], s[f"{name}_out"][:, slices - 1::slices])
    t.elements_of_vessel(number, s)
    f = train(c, g, slices) | {"feed_pressure": r.feed_pressure, "feed_flow": r.feed_flow}
    t.train_figures(number, f, laws, s, r.out)


@dataclass(frozen=True)
class Recorded:
    """Figures of one train in one case, by short name (``feed_pressure``, ``permeate_tds``, ...)."""

    figures: dict[str, Any]

    def __getitem__(self, name: str) -> Any:
        return self.figures[name]


@relation("Salinity residual", symbol="r_X", unit="1", source="definition")
def salinity_residual(salinity: Salinity, found: Salinity) -> Salinity:
    """Salinity of a tear stream less the salinity found again.

    Zero when the loop is closed.
    """
    return salinity - found


@relation("Boron per water", symbol="X_B", unit="1", source="definition")
def boron_per_water(boron_feed: t.Boron, density: KgPerM3, concentration: Concentration) -> Salinity:
    """Boron per mass of water, from boron per volume.

    By density and total salt of the same solution.
    """
    return boron_feed / (density - concentration)


AGEING = ("yearly_flow_loss", "yearly_salt_rise", "fouling_factor")
"""What the design may say of ageing; blank, the row of the water the membranes are fed with."""


def aged_by(inp: Any, name: str) -> Figure:
    """Ageing as the design has it, else of the row of its water, ``membrane.{name}``."""
    id = f"membrane.{name}"
    written = inp(id)
    if written is not None:
        return written
    if id in current():
        return current()[id]
    supply = inp("membrane.water_supply")
    return row_line(id, "ageing", str(supply), name, because=[supply])


def in_service(element, inp, temperature: Figure, age: Figure, fouling: Figure) -> dict[str, Figure]:
    """Permeabilities in one case's temperature and age, recorded."""
    factors = {name: t.temperature_factor.at(f"membrane.temperature_factor[{name}]",
                                             activation_energy=inp(f"membrane.{key}"), temperature=temperature)
               for name, key in (("water", "water_activation"), ("salt", "salt_activation"),
                                 ("boron", "boron_activation"), ("borate", "borate_activation"))}
    rise = aged_by(inp, "yearly_salt_rise")
    return {
        "water_permeability": t.water_permeability.at(
            "membrane.water_permeability", permeability=element.water_permeability,
            temperature_factor=factors["water"], yearly_loss=aged_by(inp, "yearly_flow_loss"), age=age,
            fouling_factor=fouling),
        "salt_permeability": t.salt_permeability.at(
            "membrane.salt_permeability", salt_permeability=element.salt_permeability,
            temperature_factor=factors["salt"], yearly_rise=rise, age=age),
        "boric_acid_permeability": t.salt_permeability.at(
            "membrane.boric_acid_permeability", title="Boric acid permeability in service", symbol="B_a",
            salt_permeability=element.boric_acid_permeability, temperature_factor=factors["boron"],
            yearly_rise=rise, age=age),
        "borate_permeability": t.salt_permeability.at(
            "membrane.borate_permeability_in_service", title="Borate permeability in service", symbol="B_b",
            salt_permeability=element.borate_permeability, temperature_factor=factors["borate"], yearly_rise=rise,
            age=age)}


class Profiles(dict[str, Any]):
    """Columns along a vessel by name; one that the solver holds is made when it is asked for."""

    def __getitem__(self, name: str) -> Any:
        found = super().__getitem__(name)
        if type(found) is Later:
            found = found.column()
            self[name] = found
        return found


def _elements(book: Values, prefix: str, s: dict[str, Any], i: int, keys: list[str]) -> t.Call:
    def call(rel: Any, name: str, *, because: Any = None, title: Any = None, symbol: Any = None, **given: Any) -> Any:
        found = {"element_fraction": "element_recovery"}.get(name, name)
        return book.defer(f"{prefix}.{name}", s[found][i], rel.kind, symbol=symbol or rel.symbol,
                          title=title or rel.title, axis="element", keys=keys)
    return call


def columns(prefix: str, r: Solution, i: int, given: dict[str, Any], keys: list[str]) -> dict[str, Any]:
    """Record the march: solved columns first, then every equation that ties them together."""
    s, f = r.state, shared(given)
    base = {k: v for k, v in given.items() if hasattr(v, "id")}
    method = "Newton on the flux of all slices together"
    elements = [str(e + 1) for e in range(len(keys) // r.slices)]

    book = current()
    held = book if isinstance(book, Values) and book.keep else None  # the solver's rows are these very numbers

    def state(name, key, kind, title, symbol, axis="node"):
        if held is not None:
            return held.defer(f"{prefix}.{name}", s[key][i], kind, symbol=symbol, title=title, axis=axis,
                              keys=keys if axis == "node" else elements)
        return solved(f"{prefix}.{name}", s[key][i], kind, title=title, symbol=symbol, inputs=base,
                      method=method, axis=axis, keys=keys if axis == "node" else elements)

    fixed = _weights(prefix, f, keys, elements)
    shift = fixed("pair_shift", shifts(len(keys), r.order), "fraction", "Fraction of the other slice of a pair")
    c: dict[str, Any] = {}
    c["flux"] = state("node_flux", "flux", "flux", "Water flux", "J")
    for solute, title, symbol in (("water", "Water", "M_w"), ("salt", "Salt", "M_s"), ("boron", "Boron", "M_B")):
        for end, words in (("in", "into each slice"), ("out", "out of each slice"), ("pair", "left by each pair")):
            c[f"{solute}_{end}"] = state(f"node_{solute}_{end}", f"{solute}_{end}", "mass flow",
                                         f"{title} {words}", f"{symbol}_{end}")
    for end, words in (("in", "into each slice"), ("out", "out of each slice")):
        c[f"pressure_{end}"] = state(f"node_pressure_{end}", f"pressure_{end}", "gauge pressure",
                                     f"Pressure {words}", f"p_{end}")
    c["pressure_pair"] = state("node_pressure_pair", "pressure_pair", "pressure difference",
                               "Pressure lost by each pair", "Delta_p_pair")
    for end in ("in", "out"):
        c[f"element_water_{end}"] = state(f"element_water_{end}", f"element_water_{end}", "mass flow",
                                          f"Water {end} of each element", f"M_w_{end}", "element")
        c[f"element_pressure_{end}"] = state(f"element_pressure_{end}", f"element_pressure_{end}", "gauge pressure",
                                             f"Pressure {end} of each element", f"p_{end}", "element")

    def whole(rel: Any, name: str, *, because: Any = None, **given: Any) -> Any:
        return rel.at(f"{prefix}.{name}", **given)

    def ready(rel: Any, name: str, *, because: Any = None, **given: Any) -> Any:
        assert held is not None
        return held.defer(f"{prefix}.node_{name}", s[name][i], rel.kind, symbol=rel.symbol, title=rel.title,
                          axis="node", keys=keys)

    at = recorder(f"{prefix}.node_") if held is None else ready
    for solute in ("water", "salt", "boron", "pressure"):
        t.bulk(at, solute, shift, c)
    t.film(at, f, r.laws, c)
    t.passage(at, f, r.laws, c)
    t.driving(at, f, c)
    t.salt_through(at, f, c)
    t.friction(at, f, r.laws, c)
    t.boron_passage(at, whole, f, c)
    t.boron_flux(at, f, c)
    t.elements_of_vessel(recorder(f"{prefix}.") if held is None else _elements(held, prefix, s, i, elements), c)
    if proving():
        _prove(prefix, r, f, c, keys)
    return c if held is None else Profiles(c)


def _weights(prefix: str, f: dict[str, Any], keys: list[str], elements: list[str]) -> Any:
    """Columns that follow from the number of slices and elements alone."""
    counts = {k: f[k] for k in ("slices", "elements") if k in f}

    def fixed(name: str, values: Any, kind: str, title: str, axis: str = "node") -> Column:
        return engine(f"{prefix}.{name}", values, kind, title=title, axis=axis, inputs=counts,
                      keys=keys if axis == "node" else elements, source="gauss-collocation", library="numpy",
                      version=np.__version__, data="")
    return fixed


def recorder(prefix: str) -> t.Call:
    """Lines whose names follow a prefix."""
    def call(rel: Any, name: str, *, because: Any = None, **given: Any) -> Any:
        if because is None:
            return rel.at(prefix + name, **given)
        with scope(because=[because]):
            return rel.at(prefix + name, **given)
    return call


def _prove(prefix: str, r: Solution, f: dict[str, Any], c: dict[str, Any], keys: list[str]) -> None:
    """Every balance along the vessel by its residual."""
    elements = [str(e + 1) for e in range(len(keys) // r.slices)]
    fixed = _weights(prefix, f, keys, elements)
    weights = [float(np.sqrt(e + 1.0)) for e in range(len(elements))]  # all different: no two errors cancel
    each = fixed("element_weight", weights, "factor", "Weight of each element in a proof", "element")
    pair = np.sqrt(1.0 + np.arange(len(keys)) // 2) if r.order == 4 else np.sqrt(1.0 + np.arange(len(keys)))
    weight = fixed("pair_weight", pair, "factor", "Weight of each pair in a proof")
    js, jb, loss, rho_w = c["salt_flux"], c["boron_flux"], c["loss"], f["pure_density"]
    area = f["slice_area"]
    for solute, flux in (("salt", js), ("boron", jb)):
        left = rs.solute_residual.at(f"{prefix}.residual_{solute}", node_in=c[f"{solute}_in"],
                                     node_out=c[f"{solute}_out"], salt_flux=flux, slice_area=area)
        for end in ("in", "out"):
            residual(c[f"{solute}_{end}"], left, float(c[f"{solute}_in"].values[0]))
    left = rs.water_residual.at(f"{prefix}.residual_water", node_in=c["water_in"], node_out=c["water_out"],
                                flux=c["flux"], water_density=rho_w, slice_area=area)
    for end in ("in", "out"):
        residual(c[f"water_{end}"], left, float(c["water_in"].values[0]))
    left = rs.pressure_residual.at(f"{prefix}.residual_pressure", pressure_in=c["pressure_in"],
                                   pressure_out=c["pressure_out"], slice_loss=loss)
    for end in ("in", "out"):
        residual(c[f"pressure_{end}"], left, float(np.max(c["pressure_in"].values)))
    _links(prefix, f, c, weight, each, [float(w) for w in np.repeat(weights, r.slices)], fixed)
    left = rs.flux_residual.at(f"{prefix}.residual_flux", flux=c["flux"], driven_flux=c["driven_flux"])
    residual(c["flux"], left, float(np.max(c["flux"].values)))


def _links(prefix: str, f: dict[str, Any], c: dict[str, Any], weight, each, repeated, fixed) -> None:
    """Residuals that tie slices, pairs and elements to one another."""
    by_node = fixed("node_weight", repeated, "factor", "Weight of each slice in a proof")
    start = float(f["inlet"])
    for solute in ("water", "salt", "boron"):
        scale = float(f[solute])
        left = rs.chain_residual.at(f"{prefix}.residual_{solute}_link", inlet_flow=f[solute],
                                  node_in=c[f"{solute}_in"], node_out=c[f"{solute}_out"])
        residual(c[f"{solute}_in"], left, scale)
        left = rs.pair_residual.at(f"{prefix}.residual_{solute}_pair", node_weight=weight,
                                 pair_change=c[f"{solute}_pair"], node_in=c[f"{solute}_in"],
                                 node_out=c[f"{solute}_out"])
        residual(c[f"{solute}_pair"], left, scale)
    left = rs.pressure_chain_residual.at(
        f"{prefix}.residual_pressure_link", inlet_pressure=f["inlet"], pressure_in=c["pressure_in"],
        pressure_out=c["pressure_out"], joint_sum=f["joint_sum"])
    residual(c["pressure_in"], left, start)
    left = rs.pressure_pair_residual.at(
        f"{prefix}.residual_pressure_pair", node_weight=weight, pair_loss=c["pressure_pair"],
        pressure_in=c["pressure_in"], pressure_out=c["pressure_out"])
    residual(c["pressure_pair"], left, start)
    left = rs.element_residual.at(
        f"{prefix}.residual_element_water",
        element_change=rs.weighted_change.at(f"{prefix}.element_change", node_weight=each,
                                          node_in=c["element_water_in"], node_out=c["element_water_out"]),
        node_change=rs.weighted_change.at(f"{prefix}.node_change", node_weight=by_node, node_in=c["water_in"],
                                       node_out=c["water_out"]))
    more = rs.chain_residual.at(f"{prefix}.residual_element_water_link", inlet_flow=f["water"],
                              node_in=c["element_water_in"], node_out=c["element_water_out"])
    for end in ("in", "out"):
        residual(c[f"element_water_{end}"], left, float(f["water"]))
        residual(c[f"element_water_{end}"], more, float(f["water"]))
    left = rs.element_pressure_residual.at(
        f"{prefix}.residual_element_pressure",
        element_fall=rs.weighted_loss.at(f"{prefix}.element_fall", node_weight=each,
                                      pressure_in=c["element_pressure_in"], pressure_out=c["element_pressure_out"]),
        node_fall=rs.weighted_loss.at(f"{prefix}.node_fall", node_weight=by_node, pressure_in=c["pressure_in"],
                                   pressure_out=c["pressure_out"]))
    more = rs.pressure_chain_residual.at(
        f"{prefix}.residual_element_pressure_link", inlet_pressure=f["inlet"], pressure_in=c["element_pressure_in"],
        pressure_out=c["element_pressure_out"], joint_sum=f["joint_sum"])
    for end in ("in", "out"):
        residual(c[f"element_pressure_{end}"], left, start)
        residual(c[f"element_pressure_{end}"], more, start)


def _end(prefix: str, r: Solution, i: int, f: dict[str, Any], c: dict[str, Any], keys: list[str]) -> Figure:
    """Polarisation at that end of an element where it is highest; the flux there is a root of its own."""
    where, base = int(r.state["end"][i]), {k: v for k, v in f.items() if hasattr(v, "id")}
    side = "out" if where % 2 else "in"
    key = keys[where // 2 * r.slices + (r.slices - 1 if where % 2 else 0)]
    e: dict[str, Any] = {k: c[f"{k}_{side}"][key] for k in ("water", "salt", "pressure")}
    local = shared({k: v[key] if getattr(v, "axis", None) == "node" else v for k, v in f.items()})
    e["flux"] = solved(f"{prefix}.end_flux", r.state["end_flux"][i], "flux", symbol="J_e", inputs=base | e,
                       title="Flux where the CP factor is highest",
                       method="Newton on the flux at one place",
                       note=f"{'outlet' if where % 2 else 'inlet'} of element {where // 2 + 1}; where another end "
                       "takes over as conditions move, these values step from one to the other, the factor does not")

    at = recorder(f"{prefix}.end_")
    t.film(at, local, r.laws, e)
    t.passage(at, local, r.laws, e)
    t.driving(at, local, e)
    if proving():
        left = rs.flux_residual.at(f"{prefix}.residual_end_flux", flux=e["flux"], driven_flux=e["driven_flux"])
        residual(e["flux"], left, float(e["flux"]))
    return e["beta"]


def defaults(prefix: str, f: dict[str, Any]) -> None:
    """Joints without loss and a pH that stays, where nothing else is said."""
    if "interconnector_loss" not in f:
        f["interconnector_loss"] = assumed(f"{prefix}.no_interconnector_loss", 0.0, "pressure difference",
                                           title="Interconnector loss", source="definition")
    if "borate_shift" not in f:
        f["borate_shift"] = assumed(f"{prefix}.no_borate_shift", [0.0, 0.0], "factor", axis="coefficient",
                                    keys=("shift_1", "shift_2"), source="definition",
                                    title="Boron speciation shift along the vessel")
    f.setdefault("borate_salinity", f["feed_salinity"])
    f["joint_sum"] = joint_sum.at(f"{prefix}.joint_sum", interconnector_loss=f["interconnector_loss"],
                                  elements_per_vessel=f["elements"])


@relation("Loss of all joints of a vessel", symbol="Delta_p_J", unit="Pa", source="definition")
def joint_sum(interconnector_loss: DifferencePa, elements_per_vessel: Count) -> DifferencePa:
    """Pressure lost in all joints between the elements of a vessel.

    One joint fewer than elements; each loses the same.
    """
    return interconnector_loss * (elements_per_vessel - 1)


def geometry(prefix: str, area: Any, length: Any, height: Any, porosity: Any, slices: Figure) -> dict[str, Any]:
    """Channel figures that do not depend on the case, recorded."""
    return t.channel_geometry(recorder(f"{prefix}."), area, length, height, porosity, slices)


def shared(f: dict[str, Any]) -> dict[str, Any]:
    """The same figures with the curves' coefficients by name, as the relations take them."""
    return f | {k: dict(f[k].items()) for k in ("density", "osmotic", "borate_shift") if k in f} | {
        "pure_density": f["density"]["rho_0"]}


def record(r: Solution, i: int, f: dict[str, Any], *, lead_fraction: Column, wanted: Figure | None) -> Recorded:
    """Record case ``i`` in the present scope and case.

    Parameters
    ----------
    r : Solution
    f : dict
        Figures by name: those of `geometry`, the fields of `Cases` that are figures (``vessels``,
        ``elements``, ``feed_salinity``, ``boron_ratio``, ...) and whichever of ``feed_flow`` and
        ``feed_pressure`` is not the unknown.
    lead_fraction : Column
        Along the nodes: one over the slices in the first element, zero elsewhere.
    wanted : Figure or None
        Permeate flow asked for; None when rated as built.
    """
    f = dict(f)
    base = {k: v for k, v in f.items() if hasattr(v, "id")} | ({"wanted": wanted} if wanted is not None else {})
    method = "bordered Newton with the flux of all slices"
    if r.unknown == "feed_pressure":
        f["feed_pressure"] = solved("membrane.feed_pressure", r.feed_pressure[i], "gauge pressure", symbol="p_f",
                                    title="Feed pressure", inputs=base, method=method)
    if r.unknown == "feed_flow":
        f["feed_flow"] = solved("membrane.feed_flow", r.feed_flow[i], "flow", symbol="Q_f", title="Feed flow",
                                inputs=base, method=method)
    defaults("membrane", f)
    at, laws, out = recorder("membrane."), r.laws, {}
    given = shared(f) | {"lead_fraction": lead_fraction}
    t.inlet_of_train(at, given, laws, out)
    boron = at(t.vessel_salt, "vessel_boron", title="Boron into one vessel", symbol="M_B",
               node_water=out["vessel_water"], feed_salinity=f["boron_ratio"])
    more = {"wanted": wanted} if wanted is not None else {}
    f |= more | {"inlet": out["inlet_pressure"], "water": out["vessel_water"], "salt": out["vessel_salt"],
                 "boron": boron}
    keys = list(lead_fraction.keys)
    c = columns("membrane", r, i, f, keys)
    c["end_beta"] = _end("membrane", r, i, f, c, keys)
    out |= {"feed_pressure": f["feed_pressure"], "feed_flow": f["feed_flow"], "columns": c, "solution": (r, i)}
    t.permeate_of_train(at, given, laws, c, out)
    t.boron_of_train(at, given, c, out)
    if wanted is not None and proving():
        left = rs.flow_residual.at("membrane.residual_flow", permeate_flow=out["permeate_flow"], wanted_flow=wanted)
        residual(f["feed_pressure"] if r.unknown == "feed_pressure" else f["feed_flow"], left, float(wanted))
    t.concentrate_of_train(at, given, c, out)
    t.train_figures(at, given, laws, c, out)
    return Recorded(out)
