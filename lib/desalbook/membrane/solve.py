"""Vessels solved along the membrane, many cases at once.

The state is found for all slices together by Newton's method on the water flux, with the feed pressure (or
the feed flow) as one more unknown. Every equation is a relation's `plain`; the derivative is approximate, so
the iteration ends on the residual of those very relations.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from desalbook.membrane import transport as t
from desalbook.water.acid_constants import borate_share, pk_boric_saline, practical_salinity

__all__ = ["Cases", "Laws", "Solution", "solve"]

GREATEST_PRESSURE = 200e5
TOLERANCE = 3e-12


@dataclass(frozen=True)
class Laws:
    """The relations that describe the water and the channel; replace one to study its effect."""

    density: Any = None
    osmotic: Any = None
    viscosity: Any = None
    diffusivity: Any = None
    sherwood: Any = None
    friction: Any = None

    def of(self, name: str):
        """The function in use."""
        default = {"density": t.density_of, "osmotic": t.osmotic_of, "viscosity": t.viscosity_of,
                   "diffusivity": t.diffusivity_of, "sherwood": t.sherwood_schock,
                   "friction": t.friction_schock}[name].plain
        return getattr(self, name) or default


@dataclass(frozen=True)
class Cases:
    """What one train is asked to do; every field a number or an array over the cases, in coherent SI.

    ``osmotic`` and ``density`` hold the coefficients of the water's curves with shapes (cases, 6) and
    (cases, 4); permeabilities are those in service (temperature, age and fouling included).
    """

    vessels: Any
    elements: int
    feed_flow: Any
    permeate_flow: Any
    feed_pressure: Any
    feed_salinity: Any
    temperature: Any
    permeate_pressure: Any
    water_permeability: Any
    salt_permeability: Any
    boric_acid_permeability: Any
    borate_permeability: Any
    boron_feed: Any
    ph_total: Any
    water_viscosity: Any
    osmotic: Any
    density: Any
    element_area: float
    element_length: float
    spacer_height: float
    spacer_porosity: float
    port_loss: Any = 0.0


@dataclass
class Solution:
    """One row a case. ``state`` holds the profiles over slices, shape (cases, slices)."""

    cases: Cases
    unknown: str
    slices: int
    feed_pressure: np.ndarray
    feed_flow: np.ndarray
    permeate_flow: np.ndarray
    solved: np.ndarray
    reason: list[str]
    state: dict[str, np.ndarray] = field(default_factory=dict)
    out: dict[str, np.ndarray] = field(default_factory=dict)


def _rows(cases: Cases) -> tuple[Cases, int]:
    names = [n for n in cases.__dataclass_fields__ if n not in ("elements", "osmotic", "density")]
    arrays = {n: np.atleast_1d(np.asarray(getattr(cases, n), dtype=float)) for n in names}
    n = max([len(a) for a in arrays.values()] + [np.atleast_2d(cases.osmotic).shape[0]])
    full = {k: np.broadcast_to(a, (n,)).astype(float) for k, a in arrays.items()}
    for k in ("osmotic", "density"):
        a = np.atleast_2d(np.asarray(getattr(cases, k), dtype=float))
        full[k] = np.broadcast_to(a, (n, a.shape[1]))
    return replace(cases, **full), n


def _evaluate(c: Cases, slices: int, laws: Laws, flux, pressure, feed_flow, carried):
    """All quantities along the vessels for a given flux; no unknown is solved here."""
    def col(x):
        return np.asarray(x)[:, None]

    osm = [c.osmotic[:, [i]] for i in range(c.osmotic.shape[1])]
    rho = [c.density[:, [i]] for i in range(c.density.shape[1])]
    s: dict[str, Any] = {"flux": flux}
    feed_density = laws.of("density")(c.feed_salinity, *[r[:, 0] for r in rho])
    water0 = t.vessel_water.plain(feed_flow, feed_density, c.feed_salinity, c.vessels)
    salt0 = t.vessel_salt.plain(water0, c.feed_salinity)
    rho_w = rho[0]
    area = t.slice_area.plain(col(c.element_area), slices)
    passed = flux * rho_w * area
    s["water_out"] = col(water0) - np.cumsum(passed, axis=1)
    s["water_in"] = np.concatenate([col(water0), s["water_out"][:, :-1]], axis=1)
    s["water"] = t.slice_mean.plain(s["water_in"], s["water_out"])
    # salt: permeate salinity depends on the mean bulk; a few sweeps settle it (it is a small part of the whole)
    d_h = t.hydraulic_diameter.plain(col(c.spacer_height), col(c.spacer_porosity))
    width = t.channel_width.plain(col(c.element_area), col(c.element_length))
    length = t.slice_length.plain(col(c.element_length), slices)
    for _ in range(3):
        s["salt_out"] = col(salt0) - np.cumsum(carried * area, axis=1)
        s["salt_in"] = np.concatenate([col(salt0), s["salt_out"][:, :-1]], axis=1)
        s["salt"] = t.slice_mean.plain(s["salt_in"], s["salt_out"])
        s["salinity"] = t.node_salinity.plain(s["salt"], s["water"])
        s["density"] = laws.of("density")(s["salinity"], *rho)
        s["viscosity"] = laws.of("viscosity")(s["salinity"], col(c.water_viscosity), col(c.temperature))
        s["concentration"] = t.concentration_of.plain(s["salinity"], s["density"])
        s["diffusivity"] = laws.of("diffusivity")(s["concentration"], col(c.temperature))
        s["flow"] = t.node_flow.plain(s["salt"], s["water"], s["density"])
        s["velocity"] = t.channel_velocity.plain(s["flow"], width, col(c.spacer_height), col(c.spacer_porosity))
        s["reynolds"] = t.channel_reynolds.plain(s["velocity"], s["density"], d_h, s["viscosity"])
        s["schmidt"] = t.schmidt.plain(s["viscosity"], s["density"], s["diffusivity"])
        s["sherwood"] = laws.of("sherwood")(s["reynolds"], s["schmidt"])
        s["mass_transfer"] = t.mass_transfer.plain(s["sherwood"], s["diffusivity"], d_h)
        s["beta"] = t.polarisation.plain(flux, s["mass_transfer"])
        s["permeate_salinity"] = t.permeate_node_salinity.plain(col(c.salt_permeability), s["beta"],
                                                                s["salinity"], flux)
        s["salt_flux"] = t.salt_flux.plain(flux, rho_w, s["permeate_salinity"])
        change = np.max(np.abs(s["salt_flux"] - carried) / np.maximum(s["salt_flux"], 1e-30))
        carried = s["salt_flux"]
        if change < 1e-13:
            break
    s["salt_error"] = np.full(len(flux), change)
    s["wall_salinity"] = t.wall_salinity.plain(s["permeate_salinity"], s["salinity"], s["beta"])
    s["osmotic_wall"] = laws.of("osmotic")(s["wall_salinity"], *osm)
    s["osmotic_permeate"] = laws.of("osmotic")(s["permeate_salinity"], *osm)
    s["friction"] = laws.of("friction")(s["reynolds"])
    s["loss"] = t.slice_loss.plain(s["friction"], length, d_h, s["density"], s["velocity"])
    p0 = t.inlet_pressure.plain(pressure, c.port_loss)
    s["pressure_out"] = col(p0) - np.cumsum(s["loss"], axis=1)
    s["pressure_in"] = np.concatenate([col(p0), s["pressure_out"][:, :-1]], axis=1)
    s["pressure"] = t.slice_pressure.plain(s["pressure_in"], s["pressure_out"])
    s["driven"] = t.driven_flux.plain(col(c.water_permeability), s["pressure"], col(c.permeate_pressure),
                                      s["osmotic_wall"], s["osmotic_permeate"])
    water_p = t.permeate_water.plain(flux, rho_w[:, 0], area[:, 0], c.vessels)
    salt_p = t.permeate_solute.plain(s["salt_flux"], area[:, 0], c.vessels)
    x_p = t.ratio_of.plain(salt_p, water_p)
    density_p = laws.of("density")(x_p, *[r[:, 0] for r in rho])
    flow_p = t.volume_flow.plain(salt_p, water_p, density_p)
    out = {"permeate_water": water_p, "permeate_salt": salt_p, "permeate_salinity": x_p,
           "permeate_flow": flow_p, "water0": water0, "salt0": salt0, "feed_density": feed_density}
    return s, out, area, rho_w


def solve(cases: Cases, unknown: str = "feed_pressure", slices: int = 3, laws: Laws | None = None,
          steps: int = 60) -> Solution:
    """Solve every case for one unknown.

    Parameters
    ----------
    cases : Cases
    unknown : {"feed_pressure", "feed_flow", "permeate_flow"}
        What is found; the other two are taken from ``cases``.
    slices : int
        Slices per element; three are within 0.1 % of the differential equations in the usual range.

    Returns
    -------
    Solution
        ``solved`` is False where no answer exists; ``reason`` names why. Never raises on physics.
    """
    laws = laws or Laws()
    c, n = _rows(cases)
    nodes = int(c.elements) * slices
    with np.errstate(all="ignore"):
        return _solve(c, n, nodes, unknown, slices, laws, steps)


def _solve(c: Cases, n: int, nodes: int, unknown: str, slices: int, laws: Laws, steps: int) -> Solution:
    rho_w0 = c.density[:, 0]
    membrane = c.vessels * c.elements * c.element_area
    pressure, feed = c.feed_pressure.copy(), c.feed_flow.copy()
    osm = [c.osmotic[:, i] for i in range(c.osmotic.shape[1])]
    pi_feed = laws.of("osmotic")(c.feed_salinity, *osm)
    if unknown == "feed_flow":
        feed = c.permeate_flow / 0.4
    if unknown == "permeate_flow":
        guess = np.maximum(c.water_permeability * (pressure - c.permeate_pressure - 1.3 * pi_feed), 1e-8) * 0.6
        guess = np.minimum(guess, 0.5 * feed / membrane)
    else:
        guess = c.permeate_flow / membrane
    share = np.linspace(1.5, 0.5, nodes)
    flux = guess[:, None] * share
    if unknown == "feed_pressure":
        recovery = np.minimum(guess * membrane / feed, 0.95)
        pressure = guess / c.water_permeability + 1.15 * pi_feed / np.sqrt(np.maximum(1 - recovery, 0.02)) + 1e5
    eye = np.tril(np.ones((nodes, nodes)), -1) + 0.5 * np.eye(nodes)
    best, carried = np.full(n, np.inf), np.zeros_like(flux)
    for _ in range(steps):
        s, out, area, rho_w = _evaluate(c, slices, laws, flux, pressure, feed, carried)
        carried = s["salt_flux"]
        lack = flux - s["driven"]
        flow_lack = out["permeate_flow"] - c.permeate_flow
        scale = np.maximum(np.max(np.abs(flux), axis=1), 1e-12)
        error = np.max(np.abs(lack), axis=1) / scale
        if unknown != "permeate_flow":
            error = np.maximum(error, np.abs(flow_lack) / c.permeate_flow)
        error = np.maximum(error, s["salt_error"] * out["permeate_salinity"])
        best = np.where(np.isfinite(error), error, np.inf)
        if np.all(best < TOLERANCE):
            break
        a_w = c.water_permeability[:, None]
        slope = s["osmotic_wall"] / s["wall_salinity"] * 1.06
        gain = a_w * slope * s["beta"] * s["salinity"] * rho_w * area / s["water"]
        film = 1 + a_w * slope * s["wall_salinity"] / s["mass_transfer"]
        jac = gain[:, :, None] * eye
        jac[:, np.arange(nodes), np.arange(nodes)] += film
        if unknown == "permeate_flow":
            step = np.linalg.solve(jac, -lack[:, :, None])[:, :, 0]
            extra = np.zeros(n)
        else:
            big = np.zeros((n, nodes + 1, nodes + 1))
            big[:, :nodes, :nodes] = jac
            if unknown == "feed_pressure":
                big[:, :nodes, nodes] = -c.water_permeability[:, None]
            else:
                rise = s["salinity"] * (1 - out["water0"][:, None] / s["water"]) / feed[:, None]
                big[:, :nodes, nodes] = a_w * slope * s["beta"] * rise
            d_flow = out["permeate_flow"] / np.sum(flux, axis=1)
            big[:, nodes, :nodes] = d_flow[:, None]
            row = np.concatenate([-lack, -flow_lack[:, None]], axis=1)
            scale_x = np.ones(nodes + 1)
            scale_x[nodes] = 1e11 if unknown == "feed_pressure" else 1e3
            scaled = big * scale_x
            scaled[:, nodes, :] /= d_flow[:, None]
            row[:, nodes] /= d_flow
            full = np.linalg.solve(np.nan_to_num(scaled) + 1e-300 * np.eye(nodes + 1),
                                   np.nan_to_num(row)[:, :, None])[:, :, 0] * scale_x
            step, extra = full[:, :nodes], full[:, nodes]
        # never take more water out than comes in, never let the flux fall below nothing
        new = np.maximum(flux + step, 0.05 * flux)
        if unknown == "feed_flow":
            feed = np.clip(feed + extra, 0.6 * feed, 1.7 * feed)
            feed = np.maximum(feed, c.permeate_flow * 1.02)
        elif unknown == "feed_pressure":
            pressure = np.clip(pressure + extra, 0.5 * pressure, np.minimum(1.6 * pressure, 3e8))
        taken = np.sum(new, axis=1) * rho_w[:, 0] * area[:, 0]
        room = 0.97 * t.vessel_water.plain(feed, out["feed_density"], c.feed_salinity, c.vessels)
        new = new * np.minimum(1.0, room / np.maximum(taken, 1e-30))[:, None]
        flux = np.where(np.isfinite(new), new, flux)
    solved = best < 1e-9
    reason = [""] * n
    for i in np.flatnonzero(~solved | (pressure > GREATEST_PRESSURE)):
        solved[i] = False
        if unknown == "permeate_flow" and pressure[i] < 1.1 * pi_feed[i] + c.permeate_pressure[i]:
            reason[i] = "the osmotic pressure of the feed is above the feed pressure"
        elif unknown == "feed_flow":
            reason[i] = "no feed flow gives this permeate at this pressure"
        elif c.permeate_flow[i] > 0.9 * feed[i]:
            reason[i] = "the recovery asked for is beyond reach"
        elif pressure[i] > GREATEST_PRESSURE:
            reason[i] = "the feed pressure would pass 200 bar"
        else:
            reason[i] = "part of the vessel gives no permeate: reject osmotic pressure reaches the feed pressure"
    result = Solution(c, unknown, slices, pressure, feed, out["permeate_flow"], solved, reason, s, out)
    _finish(result, c, laws, area, rho_w)
    return result


def _finish(r: Solution, c: Cases, laws: Laws, area, rho_w) -> None:
    s, out = r.state, r.out
    boron_in = out["water0"] * c.boron_feed
    s["practical"] = practical_salinity.plain(s["salinity"])
    s["pk_boric"] = pk_boric_saline.plain(c.temperature[:, None], s["practical"])
    s["borate"] = borate_share.plain(c.ph_total[:, None], s["pk_boric"])
    s["boron_permeability"] = t.boron_permeability.plain(c.boric_acid_permeability[:, None],
                                                         c.borate_permeability[:, None], s["borate"])
    # passage is linear in the bulk's boron, so each slice is closed without iteration
    unit = t.permeate_node_salinity.plain(s["boron_permeability"], s["beta"], 1.0, s["flux"])
    fall = t.salt_flux.plain(s["flux"], rho_w, unit) * area / s["water"]
    keep = (1 - fall / 2) / (1 + fall / 2)
    s["boron_out"] = boron_in[:, None] * np.cumprod(keep, axis=1)
    s["boron_in"] = np.concatenate([boron_in[:, None], s["boron_out"][:, :-1]], axis=1)
    s["boron"] = t.slice_mean.plain(s["boron_in"], s["boron_out"])
    s["boron_ratio"] = t.node_salinity.plain(s["boron"], s["water"])
    s["permeate_boron_ratio"] = t.permeate_node_salinity.plain(s["boron_permeability"], s["beta"],
                                                              s["boron_ratio"], s["flux"])
    s["boron_flux"] = t.salt_flux.plain(s["flux"], rho_w, s["permeate_boron_ratio"])
    boron_p = t.permeate_solute.plain(s["boron_flux"], area[:, 0], c.vessels)
    water_c = t.train_last.plain(s["water_out"], c.vessels)
    salt_c = t.train_last.plain(s["salt_out"], c.vessels)
    x_c = t.ratio_of.plain(salt_c, water_c)
    rho_c = laws.of("density")(x_c, *[c.density[:, i] for i in range(c.density.shape[1])])
    flow_c = t.volume_flow.plain(salt_c, water_c, rho_c)
    drop = t.train_pressure_drop.plain(s["loss"], c.port_loss)
    lead = np.zeros(s["flux"].shape[1])
    lead[:r.slices] = 1 / r.slices
    out.update(
        concentrate_salinity=x_c, concentrate_flow=flow_c, pressure_drop=drop,
        concentrate_pressure=t.concentrate_pressure.plain(r.feed_pressure, drop),
        permeate_tds=t.solute_concentration.plain(out["permeate_salt"], out["permeate_flow"]),
        permeate_boron=t.boron_concentration.plain(boron_p, out["permeate_flow"]),
        concentrate_tds=t.solute_concentration.plain(salt_c, flow_c),
        beta_max=t.highest.plain(s["beta"]), lead_flux=t.lead_flux.plain(s["flux"], lead),
        flux=t.average_flux.plain(out["permeate_flow"], c.vessels, c.elements, c.element_area),
        element_recovery=t.element_recovery.plain(s["flux"], rho_w, area, s["water_in"], r.slices),
        vessel_drop=t.vessel_pressure_drop.plain(s["loss"]),
        element_drop=t.element_pressure_drop.plain(s["loss"], r.slices),
        vessel_feed=t.per_vessel.plain(r.feed_flow, c.vessels),
        vessel_concentrate=t.per_vessel.plain(flow_c, c.vessels))
