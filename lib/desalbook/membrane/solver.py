"""Vessels solved along the membrane, many cases at once.

The water flux of all slices is found together by Newton's method, with the feed pressure (or the feed flow)
as one more unknown. Every equation is a relation's, joined in `transport`. The linearised vessel is solved by one
march from inlet to outlet, since a pair of slices feels only what lies upstream; its derivatives are approximate
(exponents of the usual correlations), so the iteration ends on the residual of the relations themselves.

With an even number of slices an element the scheme is of fourth order: two slices an element are within 0.02 %
of the differential equations in the usual range. Flux never turns negative: where the driving pressure is
spent, the permeate grows as salty as the feed and the flux falls towards nothing.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from desalbook.membrane import transport as t
from desalbook.membrane.cases import Cases, Laws, Solution, rows, take
from desalbook.membrane.vessel import SHIFT, channel, evaluate, finish, number, osmotic_slope, outlet, through, train
from desalbook.trail.cancellation import check_cancelled

__all__ = ["Cases", "Laws", "Solution", "solve"]

GREATEST_PRESSURE = 200e5
TOLERANCE = 1e-11
GOOD = 1e-9           # a case counts as solved below this
BLOCK = 1024          # cases solved together: fewer cost more in calls, more do not fit the processor's cache
SALTIEST = t.CURVES_END.value  # kg/kg water, end of the water's curves
LEAST = 1e-13         # m/s, minimum flux tried
LEAST_GUESS = 1e-10   # m/s, in a first guess
MOST = 0.97           # share of the water that may pass in a guess
NEARLY_ALL = 0.995    # and in the last attempt
FILM, LOSS = 0.875, 1.7  # exponents of flow used in the derivatives only
KEPT = ("water_out", "salt_out", "boron_out", "pressure_out")


def solve(cases: Cases, unknown: str = "feed_pressure", slices: int = 2, laws: Laws | None = None,
          steps: int = 60, order: int | None = None, profiles: bool = True,
          near: Mapping[str, np.ndarray] | None = None,
          finished: bool = True, tolerance: float = TOLERANCE) -> Solution:
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
    order : {2, 4}, optional
        Order of accuracy; if blank, the fourth where ``slices`` is even and the second where it is odd.
    profiles : bool
        Keep the profiles along the vessel; without them a million cases take less than 2 GiB.
    near : mapping, optional
        Where the search begins, row by row: ``feed_pressure``, ``feed_flow``, and along the vessels ``flux`` and
        ``salt_flux``, as like cases were answered.
    finished : bool
        Work out all that is asked of a train; else only what leaves the vessels (see `outlet`).
    tolerance : float
        Lack of a case, in proportion, that ends its search; coarser for the first passes of a torn stream.

    Returns
    -------
    Solution
        ``solved`` is False where no answer exists; ``reason`` names why, and the row's other numbers, though
        finite, are no answer. Never raises on physics.
    """
    if unknown not in ("feed_pressure", "feed_flow", "permeate_flow"):
        raise ValueError(f"nothing solves for {unknown!r}")
    order = order or (2 if slices % 2 else 4)
    if order not in (2, 4) or (order == 4 and slices % 2):
        raise ValueError(f"order {order} with {slices} slices an element: the fourth order takes them in pairs")
    laws = laws or Laws()
    c, n = rows(cases)
    parts = []
    with np.errstate(all="ignore"):
        for i in range(0, n, BLOCK):
            block = slice(i, i + BLOCK)
            part = _solve(take(c, block), unknown, slices, order, laws, steps, _near(near, block), finished,
                          tolerance)
            if not profiles:
                part.state = {k: part.state[k][:, -1:] for k in KEPT}
            parts.append(part)

    def joined(name):
        return np.concatenate([getattr(p, name) for p in parts])

    if len(parts) == 1:
        return parts[0]
    return Solution(c, unknown, slices, joined("feed_pressure"), joined("feed_flow"), joined("permeate_flow"),
                    joined("solved"), [r for p in parts for r in p.reason],
                    {k: np.concatenate([p.state[k] for p in parts]) for k in parts[0].state},
                    {k: np.concatenate([p.out[k] for p in parts]) for k in parts[0].out}, laws, order)


def _osmotic_of_feed(c: Cases, g: dict[str, Any], laws: Laws) -> np.ndarray:
    return number(laws.relation("osmotic"), "feed", salinity=c.feed_salinity,
                  **{k: v[:, 0] for k, v in g["osmotic"].items()})


def _march(g: dict[str, Any], c: Cases, pressure, k, pi, part, loss):
    """Flux of each slice and share of the water passed, for salt that stays behind and friction that is even."""
    nodes = part.shape[1]
    y, j = np.zeros(len(pressure)), np.zeros(len(pressure))
    made = np.empty((nodes, len(pressure)))
    least = np.maximum(0.05 * np.mean(g["water_permeability"], axis=1) * (pressure - pi), LEAST_GUESS)
    a = np.broadcast_to(g["water_permeability"], part.shape)
    for i in range(nodes):
        left = np.maximum(1 - y, 0.03)
        wall = pi / left * np.exp(np.minimum(j / (k * left**0.875), 0.7))
        drive = pressure - loss * (i + 0.5) / nodes - wall
        slope = a[:, i] * (wall / left * part[:, i] / 2 + wall / (k * left**0.875) * (i == 0))
        j = np.maximum(a[:, i] * drive / (1 + slope), least)
        y = np.minimum(y + j * part[:, i], 0.99)
        made[i] = j
    return made.T, y


def start(c: Cases, unknown: str, slices: int, laws: Laws, g: dict[str, Any]):
    """Flux (cases, slices), pressure and feed flow (cases,)."""
    pi_feed = _osmotic_of_feed(c, g, laws)
    nodes, n = int(c.elements) * slices, len(pi_feed)
    pressure, feed = c.feed_pressure.copy(), c.feed_flow.copy()
    if unknown == "feed_flow":
        feed = c.permeate_flow / 0.4
    one = {k: v[:, :1] for k, v in g.items() if np.ndim(v) == 2} | {k: g[k] for k in ("density", "osmotic")}
    inlet = train(c, g, slices) | {"feed_pressure": pressure}

    def world(feed):
        out: dict[str, Any] = {}
        t.inlet_of_train(number, inlet | {"feed_flow": feed}, laws, out)
        water = out["vessel_water"]
        s = {"water": water[:, None], "salt": out["vessel_salt"][:, None]}
        t.film(number, one, laws, s)
        t.friction(number, one, laws, s)
        lost = s["loss"][:, 0] * nodes
        part = np.broadcast_to(g["pure_density"] * g["slice_area"] / water[:, None], (n, nodes))
        return np.maximum(s["mass_transfer"][:, 0], 1e-9), 0.7 * lost + c.interconnector_loss * (c.elements - 1), part

    k, loss, part = world(feed)
    fixed = c.port_loss / 2 + c.permeate_pressure
    if unknown == "permeate_flow":
        flux, _ = _march(g, c, pressure - fixed, k, pi_feed, part, loss)
        return flux, pressure, feed
    wanted = np.minimum(c.permeate_flow / feed, 0.95)
    if unknown == "feed_pressure":
        low = wanted / np.sum(part * g["water_permeability"], axis=1) + pi_feed + loss / 2
        first = low + 0.35 * pi_feed * wanted
        _, y0 = _march(g, c, low, k, pi_feed, part, loss)
        flux, y1 = _march(g, c, first, k, pi_feed, part, loss)
        for _ in range(3):  # secant on the pressure
            slope = np.maximum((y1 - y0) / np.where(first == low, 1.0, first - low), 0.2 * y1 / first)
            low, y0 = first, y1
            first = first + np.clip((wanted - y1) / slope, -0.3 * first, 0.5 * first)
            first = np.maximum(first, 1.01 * pi_feed)
            flux, y1 = _march(g, c, first, k, pi_feed, part, loss)
        pressure = np.minimum(first + fixed, 3e8)
        return flux * (wanted / y1)[:, None], pressure, feed
    low, high = c.permeate_flow / 0.96, c.permeate_flow / 0.04
    for _ in range(9):  # more feed gives more permeate, until friction counts
        feed = np.sqrt(low * high)
        k, loss, part = world(feed)
        flux, y = _march(g, c, pressure - fixed, k, pi_feed, part, loss)
        short = y * feed < c.permeate_flow
        low, high = np.where(short, feed, low), np.where(short, high, feed)
    return flux, pressure, feed


def plain_start(c: Cases, unknown: str, slices: int, laws: Laws, g: dict[str, Any]):
    """Flux that falls evenly, for cases the march misleads."""
    pi_feed = _osmotic_of_feed(c, g, laws)
    nodes = int(c.elements) * slices
    membrane = c.vessels * np.sum(g["slice_area"] * np.ones((len(pi_feed), nodes)), axis=1)
    permeability = np.mean(g["water_permeability"], axis=1)
    pressure, feed = c.feed_pressure.copy(), c.feed_flow.copy()
    if unknown == "feed_flow":
        feed = c.permeate_flow / 0.4
    guess = c.permeate_flow / membrane
    if unknown == "permeate_flow":
        guess = np.maximum(permeability * (pressure - c.permeate_pressure - 1.3 * pi_feed), 1e-8) * 0.6
        guess = np.minimum(guess, 0.5 * feed / membrane)
    if unknown == "feed_pressure":
        recovery = np.minimum(guess * membrane / feed, 0.95)
        pressure = guess / permeability + 1.15 * pi_feed / np.sqrt(np.maximum(1 - recovery, 0.02)) + 1e5
    return guess[:, None] * np.linspace(1.5, 0.5, nodes), pressure, feed


def _carry(s):
    """Change of the permeate's salt, per water, for one unit of flux: its own and the film's."""
    passing = s["salt_passage"]
    return s["permeate_salinity"] * (passing + (1 - passing) * s["flux"] / s["mass_transfer"])


def _newton(c: Cases, g, unknown: str, order: int, laws: Laws, s, out, lack, behind, feed):
    """Change of flux that cancels the lack, and change of flux for one unit of the unknown."""
    osm, law = g["osmotic"], laws.relation("osmotic")
    x, x_p, beta, flux = s["salinity"], s["permeate_salinity"], s["beta"], s["flux"]
    a, k, passing = g["water_permeability"], s["mass_transfer"], s["salt_passage"]
    at_wall = osmotic_slope(law, s["wall_salinity"], s["osmotic_wall"], osm) * a * x
    at_permeate = osmotic_slope(law, np.maximum(x_p, 1e-12), s["osmotic_permeate"], osm) * a * x
    left = (1 - passing) * beta
    # the osmotic difference moved by ln(beta), and by the flux itself through the permeate
    film = at_wall * (passing * (1 - passing) * (1 - beta) + left) - at_permeate * passing * (1 - passing)
    own = 1 + film / k - (at_wall * (1 - beta) - at_permeate) * passing / (flux + g["salt_permeability"] * beta)
    by_salt = (at_wall * s["wall_salinity"] / x - at_permeate * passing) / s["salt"]
    lack = lack + by_salt * behind
    half_loss = 0.5 * LOSS * a * s["loss"] / s["water"]
    by_water = -film * FILM * flux / k / s["water"] - by_salt * s["salt"] / s["water"] + half_loss
    take_ = g["pure_density"] * g["slice_area"] * np.ones_like(flux)  # kg/s of water for one unit of flux
    carry = _carry(s)
    felt = by_water * take_  # by a slice, for one unit of its own flux less water
    felt_salt = by_salt * take_ * carry
    loss = LOSS * s["loss"] / s["water"]
    n, nodes = flux.shape
    more_water, more_salt, press = np.zeros((2, 1)), np.zeros((2, 1)), np.zeros((2, 1))
    if unknown == "feed_flow":
        more_water = np.stack([np.zeros_like(feed), out["vessel_water"] / feed])
        more_salt = np.stack([np.zeros_like(feed), out["vessel_salt"] / feed])
    elif unknown == "feed_pressure":
        press = np.array([[0.0], [1.0]])
    # nodes first: each row of these is contiguous
    lack, own, felt, felt_salt, by_water, by_salt, take_, carry, loss, a = (
        np.ascontiguousarray((v if v.shape == flux.shape else np.broadcast_to(v, flux.shape)).T) for v in (
            lack, own, felt, felt_salt, by_water, by_salt, take_, carry, loss, a))
    y = np.zeros((nodes, 2, n))
    water, salt, lost = more_water + y[0], more_salt + y[0], y[0].copy()
    both = felt + felt_salt
    if order == 2:
        pivot = own - both / 2
        for i in range(nodes):  # a slice feels what lies upstream only
            right = a[i] * (press - lost) - by_water[i] * water - by_salt[i] * salt
            right[0] -= lack[i]
            y[i] = right / pivot[i]
            part = take_[i] * y[i]
            lost += loss[i] * (water - part / 2)
            water -= part
            salt -= carry[i] * part
        return y[:, 0].T, y[:, 1].T
    # fall of the bulk by the fluxes of a pair: weights 1/2, -SHIFT; 1 + SHIFT, 1/2
    one, two = both[0::2], both[1::2]
    m11, m22 = own[0::2] - one / 2, own[1::2] - two / 2
    ratio = take_[1::2] / take_[0::2]
    m12 = SHIFT * (felt[0::2] + felt_salt[0::2] * carry[1::2] / np.maximum(carry[0::2], 1e-300)) * ratio
    m21 = -(1 + SHIFT) * (felt[1::2] + felt_salt[1::2] * carry[0::2] / np.maximum(carry[1::2], 1e-300)) / ratio
    m21 = m21 + a[1::2] * loss[0::2] * (-0.5) * take_[0::2]
    base = 1 / (m11 * m22 - m12 * m21)
    for p in range(nodes // 2):
        i, j = 2 * p, 2 * p + 1
        first = a[i] * (press - lost) - by_water[i] * water - by_salt[i] * salt
        second = a[j] * (press - lost - loss[i] * water) - by_water[j] * water - by_salt[j] * salt
        first[0] -= lack[i]
        second[0] -= lack[j]
        y[i] = (m22[p] * first - m12[p] * second) * base[p]
        y[j] = (m11[p] * second - m21[p] * first) * base[p]
        part, more = take_[i] * y[i], take_[j] * y[j]
        lost += loss[i] * (water - part / 2) + loss[j] * (water - part - more / 2)
        water -= part + more
        salt -= carry[i] * part + carry[j] * more
    return y[:, 0].T, y[:, 1].T


def _put(whole: dict[str, np.ndarray], which: np.ndarray, part: dict[str, np.ndarray]) -> dict[str, np.ndarray]:
    """State of some of the cases put into that of all; a case that is solved keeps the state it was solved with."""
    if len(which) == len(next(iter(whole.values()), ())) or not whole:
        return dict(part)
    for name, values in part.items():
        whole[name][which] = values
    return whole


def _felt(change: np.ndarray, order: int) -> np.ndarray:
    """Change of the bulk by a change in every slice."""
    c: dict[str, Any] = {}
    through("salt", np.zeros(len(change)), change, order, c)
    return c["salt"]


def _finite(x: np.ndarray) -> np.ndarray:
    """Numbers in place of what is none; all are, in most steps."""
    return x if np.isfinite(x).all() else np.nan_to_num(x)


def _iterate(c: Cases, unknown: str, slices: int, order: int, laws: Laws, steps: int, how,
             most: float, tolerance: float = TOLERANCE, hopeless: np.ndarray | None = None):
    """Newton from one kind of first guess.

    Each case goes by its own residual and stands still once it is solved, so that its answer does not depend on
    the company it is solved in; one that is hopeless stands still where it is guessed.

    Returns
    -------
    arrays and dicts
        Flux, pressure, feed flow, salt flux and the error left; the state of each case when it was last looked at.
    """
    g = channel(c, slices, laws)
    flux, pressure, feed, *known = how(c, unknown, slices, laws, g)
    carried, active = known[0] if known else np.zeros_like(flux), np.arange(len(feed))
    before, part_of_step = np.full(len(feed), np.inf), np.ones(len(feed))
    hope = np.ones(len(feed), dtype=bool) if hopeless is None else ~hopeless
    left = before.copy()
    part = c
    state: dict[str, np.ndarray] = {}
    sums: dict[str, np.ndarray] = {}
    for _ in range(steps):
        last = carried[active]
        s, out = evaluate(part, g, slices, order, laws, flux[active], pressure[active], feed[active], last)
        state, sums = _put(state, active, s), _put(sums, active, out)
        carried[active] = s["salt_flux"]
        lack, flow_lack = s["flux"] - s["driven_flux"], out["permeate_flow"] - part.permeate_flow
        error = _error(s, out, part, unknown)
        left[active] = error
        going = ~(error < tolerance) & hope[active]
        if not np.any(going):
            break
        # a step that made things worse is followed by shorter ones
        damp = np.where(error < before[active], np.minimum(1.5 * part_of_step[active], 1.0),
                        np.maximum(0.5 * part_of_step[active], 0.1))
        before[active], part_of_step[active] = error, damp
        # the bulk's salt has not yet felt the salt flux just found
        behind = _felt((s["salt_flux"] - last) * g["slice_area"], order)
        check_cancelled()
        step, unit = _newton(part, g, unknown, order, laws, s, out, lack, behind, feed[active])
        if unknown != "permeate_flow":
            gain = out["permeate_flow"] / np.sum(s["flux"] * g["slice_area"], axis=1)
            area = g["slice_area"]
            extra = -(flow_lack / gain + np.sum(step * area, axis=1)) / np.sum(unit * area, axis=1)
            old = pressure[active] if unknown == "feed_pressure" else feed[active]
            extra = np.clip(_finite(extra), -0.4 * old, 0.6 * old)
            step, extra = step + unit * extra[:, None], damp * extra
            if unknown == "feed_pressure":
                pressure[active] = np.where(going, np.minimum(old + extra, 3e8), old)
            else:
                feed[active] = np.where(going, np.maximum(old + extra, part.permeate_flow * 1.02), old)
        # the flux stays positive, and no more water leaves than comes in
        new = s["flux"] + damp[:, None] * _finite(step)
        new = np.clip(new, np.maximum(0.1 * s["flux"], LEAST), 10 * s["flux"])
        taken = np.sum(new * g["pure_density"] * g["slice_area"], axis=1)
        inlet: dict[str, Any] = {}
        t.inlet_of_train(number, train(part, g, slices) | {
            "feed_flow": feed[active], "feed_pressure": pressure[active]}, laws, inlet)
        room = most * inlet["vessel_water"]
        new *= np.minimum(1.0, room / np.maximum(taken, 1e-30))[:, None]
        moved = _carry(s) * (new - s["flux"]) * g["pure_density"]
        if np.all(going):
            carried[active] = np.maximum(s["salt_flux"] + moved, 0.1 * s["salt_flux"])
            flux[active] = new
        else:  # what is solved stands still
            active = active[going]
            carried[active] = np.maximum(s["salt_flux"] + moved, 0.1 * s["salt_flux"])[going]
            flux[active] = new[going]
            part = take(c, active)
            g = channel(part, slices, laws)
    return (flux, pressure, feed, carried, left), state, sums


def _near(near: Mapping[str, np.ndarray] | None, block: slice) -> dict[str, np.ndarray] | None:
    """Answers of like cases for some of the cases, and which of them have one: not a number where none is known."""
    if near is None:
        return None
    own = {name: values[block] for name, values in near.items()}
    return own | {"known": np.isfinite(own["feed_pressure"] + np.sum(own["flux"], axis=1))}


def _start_near(near: Mapping[str, np.ndarray]) -> Any:
    """First guess from answers of like cases; a case without one is guessed anew."""
    def how(c: Cases, unknown: str, slices: int, laws: Laws, g: dict[str, Any]) -> tuple[np.ndarray, ...]:
        pressure = near["feed_pressure"] if unknown == "feed_pressure" else c.feed_pressure
        feed = near["feed_flow"] if unknown == "feed_flow" else c.feed_flow
        found = [np.maximum(near["flux"], LEAST), np.array(pressure), np.array(feed),
                 np.maximum(near["salt_flux"], 0.0)]
        anew = np.flatnonzero(~near["known"])
        if len(anew):
            some = take(c, anew)
            for whole, one in zip(found, start(some, unknown, slices, laws, channel(some, slices, laws)), strict=False):
                whole[anew] = one
            found[3][anew] = 0.0
        return tuple(found)
    return how


def _solve(c: Cases, unknown: str, slices: int, order: int, laws: Laws, steps: int, near=None,
           finished: bool = True, tolerance: float = TOLERANCE) -> Solution:
    good = np.maximum(GOOD, 100 * tolerance)
    first = (start, MOST) if near is None else (_start_near(near), NEARLY_ALL)
    g = channel(c, slices, laws)
    # a given pressure that does not reach the feed's osmotic pressure has no answer: nothing is searched for
    net, pi_feed = c.feed_pressure - c.port_loss / 2 - c.permeate_pressure, _osmotic_of_feed(c, g, laws)
    below = (net <= pi_feed) & (unknown != "feed_pressure")
    found, s, out = _iterate(c, unknown, slices, order, laws, steps, *first, tolerance, below)
    flux, pressure, feed, carried, left = found
    # another first guess for those that went astray; one that was guessed anew has had the first of these
    for how, most in (*(((start, MOST),) if near else ()), (plain_start, MOST), (plain_start, NEARLY_ALL)):
        astray = ~(left < good) & ~below
        if near is not None and how is start:
            astray &= near["known"]
        again = np.flatnonzero(astray)
        if not len(again):
            continue
        other, s_other, out_other = _iterate(take(c, again), unknown, slices, order, laws, steps, how, most, tolerance)
        better = other[4] < good
        for whole, one in zip(found, other, strict=True):
            whole[again[better]] = one[better]
        for whole, one in ((s, s_other), (out, out_other)):
            for name, values in one.items():
                whole[name][again[better]] = values[better]
    if finished:
        s, out = evaluate(c, g, slices, order, laws, flux, pressure, feed, carried, sweeps=6)
    error = _error(s, out, c, unknown)
    net = pressure - c.port_loss / 2 - c.permeate_pressure
    salty = (error < good) & (np.max(s["wall_salinity"], axis=1) > SALTIEST)  # the curves mean nothing there
    solved = (error < good) & (pressure <= GREATEST_PRESSURE) & ~below & ~salty
    reason = [""] * len(solved)
    for i in np.flatnonzero(~solved).tolist():
        reason[i] = ("the water at the membrane would pass 130 g/kg" if salty[i] and not below[i]
                     else _reason(unknown, i, c, s, out, pressure, below, net))
    lost = ~np.isfinite(error) | (~solved & ~((s["water_out"][:, -1] > 0) & (s["salt_out"][:, -1] > 0)))
    if np.any(lost):  # the last guess of a case without answer made no sense: show an even flux instead
        for_each = np.sum(g["pure_density"] * g["slice_area"] * np.ones_like(flux), axis=1)
        flux[lost] = (0.4 * out["vessel_water"] / for_each)[lost, None]
        which, some = np.flatnonzero(lost), take(c, lost)
        shown = evaluate(some, channel(some, slices, laws), slices, order, laws, flux[lost], pressure[lost],
                         feed[lost], np.zeros_like(flux[lost]), sweeps=6)
        s, out = _put(s, which, shown[0]), _put(out, which, shown[1])
    result = Solution(c, unknown, slices, pressure, feed, out["permeate_flow"], solved, reason, s, out, laws, order)
    if finished:
        finish(result, c, g, laws)
    else:
        outlet(result, c, g)
    return result


def _error(s, out, c: Cases, unknown: str):
    """Largest lack of a case, each in proportion to its own scale."""
    scale = np.maximum(np.max(np.abs(s["flux"]), axis=1), 1e-12)
    error = np.maximum(np.max(np.abs(s["flux"] - s["driven_flux"]), axis=1) / scale, s["salt_error"])
    if unknown != "permeate_flow":
        error = np.maximum(error, np.abs(out["permeate_flow"] / c.permeate_flow - 1))
    return np.where(np.isfinite(error), error, np.inf)


def _reason(unknown: str, i: int, c: Cases, s, out, pressure, below, net) -> str:
    """Why a case has no answer."""
    if below[i]:
        return "the osmotic pressure of the feed is above the feed pressure"
    if unknown == "feed_flow":
        return "no feed flow gives this permeate at this pressure"
    passed = out["permeate_water"][i] / (out["vessel_water"][i] * c.vessels[i])
    if unknown == "feed_pressure":
        passed = max(passed, c.permeate_flow[i] / c.feed_flow[i])
    if not passed < min(0.75, 1 - c.feed_salinity[i] / SALTIEST):
        return "the recovery is beyond reach: too little concentrate is left"
    if pressure[i] > GREATEST_PRESSURE:
        return "the feed pressure would pass 200 bar"
    if np.sum(s["loss"][i]) > 0.5 * net[i]:
        return "friction along the vessel uses up the feed pressure"
    return "no steady state was found"
