"""Vessels solved along the membrane, many cases at once.

The water flux of all slices is found together by Newton's method, with the feed pressure (or the feed flow)
as one more unknown. Every equation is a relation's `plain`. The linearised vessel is solved by one march from
inlet to outlet, since a slice feels only what lies upstream; its derivatives are approximate (exponents of
the usual correlations), so the iteration ends on the residual of the relations themselves.

A slice takes the mean of its ends: second order, within 0.06 % of the differential equations with three
slices an element in the usual range. Flux never turns negative: where the driving pressure is spent, the
permeate grows as salty as the feed and the flux falls towards nothing.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from desalbook.membrane import transport as t
from desalbook.water.acid_constants import borate_share, pk_boric_saline, practical_salinity

__all__ = ["Cases", "Laws", "Solution", "solve"]

GREATEST_PRESSURE = 200e5
TOLERANCE = 1e-12
GOOD = 1e-9           # a case counts as solved below this
BLOCK = 512           # cases solved together; more do not fit the processor's cache
SALTIEST = 0.13       # kg/kg water, end of the water's curves
LEAST = 1e-13         # m/s, least flux tried
FILM, LOSS = 0.875, 1.7  # exponents of flow used in the derivatives only


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


def _take(c: Cases, which) -> Cases:
    return replace(c, **{n: getattr(c, n)[which] for n in c.__dataclass_fields__ if n != "elements"})


def _evaluate(c: Cases, slices: int, laws: Laws, flux, pressure, feed_flow, carried, sweeps: int = 2):
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
    # the permeate's salinity depends on the bulk's mean, which it lowers a little: a few sweeps settle it
    d_h = t.hydraulic_diameter.plain(col(c.spacer_height), col(c.spacer_porosity))
    width = t.channel_width.plain(col(c.element_area), col(c.element_length))
    length = t.slice_length.plain(col(c.element_length), slices)
    change = np.zeros(len(flux))
    for _ in range(sweeps):
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
        change = np.sum(np.abs(s["salt_flux"] - carried), axis=1) * area[:, 0] / salt0
        carried = s["salt_flux"]
        if np.all(change < 1e-15):
            break
    s["salt_error"] = change
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
        Slices per element.
    laws : Laws, optional
        Other relations for the water and the channel.
    steps : int
        Most Newton steps.

    Returns
    -------
    Solution
        ``solved`` is False where no answer exists; ``reason`` names why, and the row's other numbers, though
        finite, are no answer. Never raises on physics.
    """
    if unknown not in ("feed_pressure", "feed_flow", "permeate_flow"):
        raise ValueError(f"nothing solves for {unknown!r}")
    laws = laws or Laws()
    c, n = _rows(cases)
    with np.errstate(all="ignore"):
        blocks = [_take(c, slice(i, i + BLOCK)) for i in range(0, n, BLOCK)] if n > BLOCK else [c]
        parts = [_solve(block, unknown, slices, laws, steps) for block in blocks]
    if len(parts) == 1:
        return parts[0]

    def joined(name):
        return np.concatenate([getattr(p, name) for p in parts])

    return Solution(c, unknown, slices, joined("feed_pressure"), joined("feed_flow"), joined("permeate_flow"),
                    joined("solved"), [r for p in parts for r in p.reason],
                    {k: np.concatenate([p.state[k] for p in parts]) for k in parts[0].state},
                    {k: np.concatenate([p.out[k] for p in parts]) for k in parts[0].out})


def _start(c: Cases, unknown: str, nodes: int, pi_feed):
    """First guess of flux, pressure and feed flow."""
    membrane = c.vessels * c.elements * c.element_area
    pressure, feed = c.feed_pressure.copy(), c.feed_flow.copy()
    if unknown == "feed_flow":
        feed = c.permeate_flow / 0.4
    if unknown == "permeate_flow":
        guess = np.maximum(c.water_permeability * (pressure - c.permeate_pressure - 1.3 * pi_feed), 1e-8) * 0.6
        guess = np.minimum(guess, 0.5 * feed / membrane)
    else:
        guess = c.permeate_flow / membrane
    if unknown == "feed_pressure":
        recovery = np.minimum(guess * membrane / feed, 0.95)
        pressure = guess / c.water_permeability + 1.15 * pi_feed / np.sqrt(np.maximum(1 - recovery, 0.02)) + 1e5
    return guess[:, None] * np.linspace(1.5, 0.5, nodes), pressure, feed


def _slope(law, x, coefficients):
    """Derivative of an osmotic law."""
    return (law(x * (1 + 1e-6), *coefficients) - law(x, *coefficients)) / (1e-6 * x)


def _newton(c: Cases, unknown: str, laws: Laws, s, out, area, rho_w, lack, feed):
    """Change of flux that cancels the lack, and change of flux for one unit of the unknown."""
    osm = [c.osmotic[:, [i]] for i in range(c.osmotic.shape[1])]
    x, x_p, beta, flux = s["salinity"], s["permeate_salinity"], s["beta"], s["flux"]
    a, k, passing = c.water_permeability[:, None], s["mass_transfer"], x_p / x
    at_wall = _slope(laws.of("osmotic"), s["wall_salinity"], osm) * a * x
    at_permeate = _slope(laws.of("osmotic"), np.maximum(x_p, 1e-12), osm) * a * x

    def through(film, flux_too):
        """Osmotic difference moved by ln(beta), and by the flux itself through the permeate."""
        moved = passing * ((1 - passing) * film - flux_too)
        return at_wall * (moved * (1 - beta) + (1 - passing) * beta * film) - at_permeate * moved

    own = 1 + through(1 / k, 1 / (flux + c.salt_permeability[:, None] * beta))
    by_salt = at_wall * s["wall_salinity"] / x - at_permeate * passing
    by_water = through(-FILM * flux / k, 0.0) - by_salt + 0.5 * LOSS * a * s["loss"]
    take = rho_w * area  # kg/s of water for one unit of flux
    carry = passing * x_p
    more_water, more_salt, press = np.zeros((2, 1)), np.zeros((2, 1)), np.zeros((2, 1))
    if unknown == "feed_flow":
        more_water = np.stack([np.zeros_like(feed), out["water0"] / feed])
        more_salt = np.stack([np.zeros_like(feed), out["salt0"] / feed])
    elif unknown == "feed_pressure":
        press = np.array([[0.0], [1.0]])
    pivot = own - by_water * take / (2 * s["water"]) - by_salt * take * carry / (2 * s["salt"])
    y = np.zeros((flux.shape[1], 2, len(feed)))
    water, salt, lost = more_water + y[0], more_salt + y[0], y[0].copy()
    right = np.stack([-lack, np.zeros_like(lack)])
    for i in range(flux.shape[1]):  # a slice feels what lies upstream only
        w, b = s["water"][:, i], by_water[:, i]
        y[i] = (right[:, :, i] - b * water / w - by_salt[:, i] * salt / s["salt"][:, i]
                + a[:, 0] * (press - lost)) / pivot[:, i]
        half = water - take[:, 0] * y[i] / 2
        lost = lost + LOSS * s["loss"][:, i] * half / w
        water = water - take[:, 0] * y[i]
        salt = salt - take[:, 0] * carry[:, i] * y[i]
    return y[:, 0].T, y[:, 1].T


def _solve(c: Cases, unknown: str, slices: int, laws: Laws, steps: int) -> Solution:
    osm = [c.osmotic[:, i] for i in range(c.osmotic.shape[1])]
    pi_feed = laws.of("osmotic")(c.feed_salinity, *osm)
    flux, pressure, feed = _start(c, unknown, int(c.elements) * slices, pi_feed)
    carried, active = np.zeros_like(flux), np.arange(len(feed))
    before, part_of_step = np.full(len(feed), np.inf), np.ones(len(feed))
    for _ in range(steps):
        part = _take(c, active)
        s, out, area, rho_w = _evaluate(part, slices, laws, flux[active], pressure[active], feed[active],
                                        carried[active])
        carried[active] = s["salt_flux"]
        lack, flow_lack = s["flux"] - s["driven"], out["permeate_flow"] - part.permeate_flow
        error = _error(s, out, part, unknown)
        going = ~(error < TOLERANCE)
        if not np.any(going):
            break
        # a step that made things worse is followed by shorter ones
        damp = np.where(error < before[active], np.minimum(1.5 * part_of_step[active], 1.0),
                        np.maximum(0.5 * part_of_step[active], 0.1))
        before[active], part_of_step[active] = error, damp
        step, unit = _newton(part, unknown, laws, s, out, area, rho_w, lack, feed[active])
        if unknown != "permeate_flow":
            gain = out["permeate_flow"] / np.sum(s["flux"], axis=1)
            extra = -(flow_lack / gain + np.sum(step, axis=1)) / np.sum(unit, axis=1)
            old = pressure[active] if unknown == "feed_pressure" else feed[active]
            extra = np.clip(np.nan_to_num(extra), -0.4 * old, 0.6 * old)
            step, extra = step + unit * extra[:, None], damp * extra
            if unknown == "feed_pressure":
                pressure[active] = np.minimum(old + extra, 3e8)
            else:
                feed[active] = np.maximum(old + extra, part.permeate_flow * 1.02)
        # the flux stays positive, and no more water leaves than comes in
        new = s["flux"] + damp[:, None] * np.nan_to_num(step)
        new = np.clip(new, np.maximum(0.1 * s["flux"], LEAST), 10 * s["flux"])
        taken = np.sum(new, axis=1) * rho_w[:, 0] * area[:, 0]
        room = 0.97 * t.vessel_water.plain(feed[active], out["feed_density"], part.feed_salinity, part.vessels)
        flux[active] = new * np.minimum(1.0, room / np.maximum(taken, 1e-30))[:, None]
        active = active[going]
    s, out, area, rho_w = _evaluate(c, slices, laws, flux, pressure, feed, carried, sweeps=2 * slices)
    error = _error(s, out, c, unknown)
    net = pressure - c.port_loss / 2 - c.permeate_pressure
    below = (net <= pi_feed) & (unknown != "feed_pressure")
    salty = (error < GOOD) & (np.max(s["wall_salinity"], axis=1) > SALTIEST)  # the curves mean nothing there
    solved = (error < GOOD) & (pressure <= GREATEST_PRESSURE) & ~below & ~salty
    reason = ["" if solved[i] else "the water at the membrane would pass 130 g/kg" if salty[i] and not below[i]
              else _reason(unknown, i, c, s, out, pressure, below, net) for i in range(len(solved))]
    lost = ~np.isfinite(error)
    if np.any(lost):  # the last guess of a case without answer made no sense: show an even flux instead
        flux[lost] = (0.4 * out["water0"] / (rho_w * area * flux.shape[1])[:, 0])[lost, None]
        s, out, area, rho_w = _evaluate(c, slices, laws, flux, pressure, feed, np.where(lost[:, None], 0.0, carried),
                                        sweeps=2 * slices)
    result = Solution(c, unknown, slices, pressure, feed, out["permeate_flow"], solved, reason, s, out)
    _finish(result, c, laws, area, rho_w)
    return result


def _error(s, out, c: Cases, unknown: str):
    """Largest lack of a case, each in proportion to its own scale."""
    scale = np.maximum(np.max(np.abs(s["flux"]), axis=1), 1e-12)
    error = np.maximum(np.max(np.abs(s["flux"] - s["driven"]), axis=1) / scale, s["salt_error"])
    if unknown != "permeate_flow":
        error = np.maximum(error, np.abs(out["permeate_flow"] / c.permeate_flow - 1))
    return np.where(np.isfinite(error), error, np.inf)


def _reason(unknown: str, i: int, c: Cases, s, out, pressure, below, net) -> str:
    """Why a case has no answer."""
    if below[i]:
        return "the osmotic pressure of the feed is above the feed pressure"
    if unknown == "feed_flow":
        return "no feed flow gives this permeate at this pressure"
    passed = out["permeate_water"][i] / (out["water0"][i] * c.vessels[i])
    if unknown == "feed_pressure":
        passed = max(passed, c.permeate_flow[i] / c.feed_flow[i])
    if not passed < min(0.75, 1 - c.feed_salinity[i] / SALTIEST):
        return "the recovery is beyond reach: too little reject is left"
    if pressure[i] > GREATEST_PRESSURE:
        return "the feed pressure would pass 200 bar"
    if np.sum(s["loss"][i]) > 0.5 * net[i]:
        return "friction along the vessel uses up the feed pressure"
    return "no steady state was found"


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
