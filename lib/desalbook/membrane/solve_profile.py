"""All quantities along the vessels for a given flux; no unknown is solved here but the flux at one end.

Slices come in pairs, and the bulk of a slice is taken at its point of Gauss: fourth order. Slices that stand
alone take the mean of their ends: second order.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np

from desalbook.membrane import transport as t
from desalbook.membrane.solve_cases import Cases, Laws, Solution, nodes_of
from desalbook.water.boron import pkb_saline
from desalbook.water.seawater import practical_salinity

__all__ = ["SHIFT", "boron", "channel", "end_of", "evaluate", "film", "finish", "osmotic_slope", "outlet", "shifts",
           "through"]

SHIFT = 1 / np.sqrt(3.0) - 0.5  # of the bulk by the other slice of a pair: two points of Gauss
LEAST_LEFT = 1e-4  # share of what came in that is left in any guess


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


def through(into: np.ndarray, change: np.ndarray, order: int, mean=None) -> dict[str, np.ndarray]:
    """What enters and leaves each slice, and the bulk, from the inlet and the change in each slice."""
    mean = mean or t.slice_mean.plain
    end, both = into[:, None] - change.cumsum(axis=1), _pair(change, order)
    start = np.empty_like(end)
    start[:, 0], start[:, 1:] = into, end[:, :-1]
    return {"in": start, "out": end, "pair": both,
            "": mean(start, end, both, shifts(change.shape[1], order))}


def channel(c: Cases, slices: int, laws: Laws) -> dict[str, Any]:
    """What the iteration does not move: geometry, coefficients and the feed's density."""
    def col(name):
        return nodes_of(getattr(c, name), slices)

    density = [c.density[:, [i]] for i in range(c.density.shape[1])]
    porosity, height = col("spacer_porosity"), col("spacer_height")
    return {
        "osmotic": [c.osmotic[:, [i]] for i in range(c.osmotic.shape[1])],
        "density": density, "pure": laws.of("density")(np.zeros((len(c.density), 1)), *density),
        "height": height, "porosity": porosity, "area": t.slice_area.plain(col("element_area"), slices),
        "d_h": t.hydraulic_diameter.plain(height, porosity),
        "width": t.channel_width.plain(col("element_area"), col("element_length")),
        "length": t.slice_length.plain(col("element_length"), slices),
        "permeability": col("water_permeability"), "salt_permeability": col("salt_permeability"),
        "viscosity": c.water_viscosity[:, None], "temperature": c.temperature[:, None]}


def film(g: dict[str, Any], laws: Laws, s: dict[str, Any]) -> None:
    """From bulk water and salt, and flux: film, permeate, wall and friction at the same places."""
    s["salinity"] = t.node_salinity.plain(s["salt"], s["water"])
    s["density"] = laws.of("density")(s["salinity"], *g["density"])
    s["viscosity"] = laws.of("viscosity")(s["salinity"], g["viscosity"], g["temperature"])
    s["concentration"] = t.concentration_of.plain(s["salinity"], s["density"])
    s["diffusivity"] = laws.of("diffusivity")(s["concentration"], g["temperature"])
    s["flow"] = t.node_flow.plain(s["salt"], s["water"], s["density"])
    s["velocity"] = t.channel_velocity.plain(s["flow"], g["width"], g["height"], g["porosity"])
    s["reynolds"] = t.channel_reynolds.plain(s["velocity"], s["density"], g["d_h"], s["viscosity"])
    s["schmidt"] = t.schmidt.plain(s["viscosity"], s["density"], s["diffusivity"])
    s["sherwood"] = laws.of("sherwood")(s["reynolds"], s["schmidt"])
    s["mass_transfer"] = t.mass_transfer.plain(s["sherwood"], s["diffusivity"], g["d_h"])


def _wall(g: dict[str, Any], laws: Laws, s: dict[str, Any]) -> None:
    """From film and flux: permeate and wall."""
    s["beta"] = t.polarisation.plain(s["flux"], s["mass_transfer"])
    s["permeate_salinity"] = t.permeate_node_salinity.plain(g["salt_permeability"], s["beta"], s["salinity"],
                                                            s["flux"])
    s["wall_salinity"] = t.wall_salinity.plain(s["permeate_salinity"], s["salinity"], s["beta"])
    s["osmotic_wall"] = laws.of("osmotic")(s["wall_salinity"], *g["osmotic"])
    s["osmotic_permeate"] = laws.of("osmotic")(s["permeate_salinity"], *g["osmotic"])


def _joints(c: Cases, slices: int) -> np.ndarray:
    """Number of joints upstream of each slice."""
    return np.repeat(np.arange(c.elements, dtype=float), slices)


def evaluate(c: Cases, g: dict[str, Any], slices: int, order: int, laws: Laws, flux, pressure, feed_flow, carried,
             sweeps: int = 1):
    """Everything along the vessel; ``carried`` is the salt flux of the step before.

    Returns
    -------
    dict, dict
        Profiles (cases, slices) and sums (cases,).
    """
    s: dict[str, Any] = {"flux": flux}
    rho_w = g["pure"]
    feed_density = laws.of("density")(c.feed_salinity, *[r[:, 0] for r in g["density"]])
    water0 = t.vessel_water.plain(feed_flow, feed_density, c.feed_salinity, c.vessels)
    salt0 = t.vessel_salt.plain(water0, c.feed_salinity)
    passed = flux * rho_w * g["area"]
    for name, x in through(water0, passed, order).items():
        s[f"water_{name}".strip("_")] = x
    s["water"] = np.maximum(s["water"], LEAST_LEFT * water0[:, None])
    # the permeate's salinity depends on the bulk's mean, which it lowers a little: a few sweeps settle it
    change = np.zeros(len(flux))
    for _ in range(sweeps):
        for name, x in through(salt0, carried * g["area"], order).items():
            s[f"salt_{name}".strip("_")] = x
        s["salt"] = np.maximum(s["salt"], LEAST_LEFT * salt0[:, None])
        film(g, laws, s)
        _wall(g, laws, s)
        s["salt_flux"] = t.salt_flux.plain(flux, rho_w, s["permeate_salinity"])
        change = np.sum(np.abs(s["salt_flux"] - carried) * g["area"], axis=1) / salt0
        carried = s["salt_flux"]
        if np.all(change < 1e-15):
            break
    s["salt_error"] = change
    s["friction"] = laws.of("friction")(s["reynolds"])
    s["loss"] = t.slice_loss.plain(s["friction"], g["length"], g["d_h"], s["density"], s["velocity"])
    inlet = t.inlet_pressure.plain(pressure, c.port_loss)
    for name, x in through(inlet, s["loss"], order, t.slice_pressure.plain).items():
        s[f"pressure_{name}".strip("_")] = x
    if c.elements > 1:
        fallen = c.interconnector_loss[:, None] * _joints(c, slices)
        for name in ("pressure_in", "pressure_out", "pressure"):
            s[name] = s[name] - fallen
    s["driven"] = t.driven_flux.plain(g["permeability"], s["pressure"], c.permeate_pressure[:, None],
                                      s["osmotic_wall"], s["osmotic_permeate"])
    water_p = t.permeate_water.plain(flux, rho_w[:, 0], g["area"], c.vessels)
    salt_p = t.permeate_solute.plain(s["salt_flux"], g["area"], c.vessels)
    x_p = t.ratio_of.plain(salt_p, water_p)
    density_p = laws.of("density")(x_p, *[r[:, 0] for r in g["density"]])
    flow_p = t.volume_flow.plain(salt_p, water_p, density_p)
    return s, {"permeate_water": water_p, "permeate_salt": salt_p, "permeate_salinity": x_p,
               "permeate_flow": flow_p, "water0": water0, "salt0": salt0, "feed_density": feed_density}


def osmotic_slope(law, x, value, coefficients):
    """Derivative of an osmotic law whose value at x is known."""
    return (law(x * (1 + 1e-6), *coefficients) - value) / (1e-6 * x)


def end_of(c: Cases, g: dict[str, Any], s: dict[str, Any], slices: int, order: int, laws: Laws) -> dict[str, Any]:
    """The end of an element where polarisation is highest, with flux and film of that very place.

    The end is found by drawing ln(beta) on from the two slices next to each end; what holds there is solved.
    """
    n, nodes = s["flux"].shape
    here = np.log(s["beta"]).reshape(n, c.elements, slices)
    on = (np.sqrt(3) - 1) / 2 if order == 4 else 0.5  # from the outer slice to the end, in gaps between both
    two = min(1, slices - 1)
    ends = np.stack([here[:, :, 0] + on * (here[:, :, 0] - here[:, :, two]),
                     here[:, :, -1] + on * (here[:, :, -1] - here[:, :, -1 - two])], axis=2).reshape(n, -1)
    which = np.argmax(ends, axis=1)
    node = which // 2 * slices + np.where(which % 2 == 0, 0, slices - 1)
    row = np.arange(n)

    def pick(x):
        return x[row, node][:, None] if x.shape[1] == nodes else x

    local = {k: list(v) if isinstance(v, list) else pick(v) for k, v in g.items()}
    at_inlet = which % 2 == 0
    e = {k: np.where(at_inlet, s[f"{k}_in"][row, node], s[f"{k}_out"][row, node])[:, None]
         for k in ("water", "salt", "pressure")}
    e["water"], e["salt"] = np.maximum(e["water"], 1e-30), np.maximum(e["salt"], 1e-33)
    film(local, laws, e)
    most = 30 * e["mass_transfer"]  # a case without answer may ask for anything
    e["flux"] = np.clip(ends[row, which][:, None] * e["mass_transfer"], 1e-30, most)
    law = laws.of("osmotic")
    before: Any = None
    for turn in range(40):
        _wall(local, laws, e)
        driven = t.driven_flux.plain(local["permeability"], e["pressure"], c.permeate_pressure[:, None],
                                     e["osmotic_wall"], e["osmotic_permeate"])
        lack = e["flux"] - driven
        done = np.abs(lack) <= 1e-12 * e["flux"]  # such a case stands still, whatever its company does
        if np.all(done):
            break
        steep = osmotic_slope(law, e["wall_salinity"], e["osmotic_wall"], local["osmotic"])
        own = 1 + local["permeability"] * steep * (e["wall_salinity"] - e["permeate_salinity"]) / e["mass_transfer"]
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
    """Boron by its two species at each slice; passage is linear in the bulk's boron, so a few sweeps close it."""
    s["borate_pk"] = pkb_saline.plain(c.temperature, practical_salinity.plain(c.borate_salinity))
    s["borate"] = t.borate_along.plain(c.ph_total[:, None], s["borate_pk"][:, None], s["salinity"],
                                       c.borate_salinity[:, None], c.borate_shift[:, [0]], c.borate_shift[:, [1]])
    s["boron_permeability"] = t.boron_permeability.plain(nodes_of(c.boric_acid_permeability, slices),
                                                         nodes_of(c.borate_permeability, slices), s["borate"])
    rho_w = g["pure"]
    # per bulk's boron and square metre: what passes for one kilogram a second of boron in the bulk
    unit = t.salt_flux.plain(s["flux"], rho_w, t.permeate_node_salinity.plain(
        s["boron_permeability"], s["beta"], 1.0, s["flux"])) * g["area"] / s["water"]
    fall = _chain(unit, into, order)
    for name, x in through(into, fall, order).items():
        s[f"boron_{name}".strip("_")] = x
    s["boron_ratio"] = t.node_salinity.plain(s["boron"], s["water"])
    s["permeate_boron_ratio"] = t.permeate_node_salinity.plain(s["boron_permeability"], s["beta"], s["boron_ratio"],
                                                               s["flux"])
    s["boron_flux"] = t.salt_flux.plain(s["flux"], rho_w, s["permeate_boron_ratio"])


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


def outlet(r: Solution, c: Cases, g: dict[str, Any], laws: Laws) -> None:
    """Boron along the vessels and the reject's salinity: what a torn stream asks for."""
    boron(c, g, r.state, r.slices, r.order, r.out["water0"] * c.boron_feed)
    water = r.out["concentrate_water"] = t.train_last.plain(r.state["water_out"], c.vessels)
    r.out["concentrate_salinity"] = t.ratio_of.plain(t.train_last.plain(r.state["salt_out"], c.vessels), water)


def finish(r: Solution, c: Cases, g: dict[str, Any], laws: Laws) -> None:
    """Boron, the end where polarisation is highest, and all that is asked of a train."""
    outlet(r, c, g, laws)
    s, out, slices, n = r.state, r.out, r.slices, len(r.feed_pressure)
    s.update(end_of(c, g, s, slices, r.order, laws))
    boron_p = t.permeate_solute.plain(s["boron_flux"], g["area"], c.vessels)
    salt_c, x_c = t.train_last.plain(s["salt_out"], c.vessels), out["concentrate_salinity"]
    rho_c = laws.of("density")(x_c, *[c.density[:, i] for i in range(c.density.shape[1])])
    flow_c = t.volume_flow.plain(salt_c, out["concentrate_water"], rho_c)
    s["element_water_in"], s["element_water_out"] = s["water_in"][:, ::slices], s["water_out"][:, slices - 1::slices]
    s["element_pressure_in"] = s["pressure_in"][:, ::slices]
    s["element_pressure_out"] = s["pressure_out"][:, slices - 1::slices]
    s["element_recovery"] = t.recovery_along.plain(s["element_water_in"], s["element_water_out"])
    s["element_loss"] = t.loss_along.plain(s["element_pressure_in"], s["element_pressure_out"])
    vessel = t.vessel_pressure_drop.plain(s["loss"], c.interconnector_loss, c.elements)
    drop = t.train_pressure_drop.plain(vessel, c.port_loss)
    lead = np.zeros(s["flux"].shape[1])
    lead[:slices] = 1 / slices
    area = c.element_area if c.element_area.ndim == 1 else np.mean(c.element_area, axis=1)
    out.update(
        concentrate_flow=flow_c, pressure_drop=drop,
        concentrate_pressure=t.concentrate_pressure.plain(r.feed_pressure, drop),
        permeate_tds=t.solute_concentration.plain(out["permeate_salt"], out["permeate_flow"]),
        permeate_boron=t.boron_concentration.plain(boron_p, out["permeate_flow"]),
        concentrate_tds=t.solute_concentration.plain(salt_c, flow_c),
        beta_max=t.highest.plain(s["beta"], s["end_beta"]), lead_flux=t.lead_flux.plain(s["flux"], lead),
        flux=t.average_flux.plain(out["permeate_flow"], c.vessels, c.elements, area),
        element_recovery=t.element_recovery.plain(s["element_recovery"]), vessel_drop=vessel,
        element_drop=t.element_pressure_drop.plain(s["element_loss"]),
        vessel_feed=t.per_vessel.plain(r.feed_flow, c.vessels),
        vessel_concentrate=t.per_vessel.plain(flow_c, c.vessels), boron_permeate=boron_p * np.ones(n))
