"""Element types by position in one vessel: each position judged by the sheet of the type that stands there.

Along a vessel feed and pressure fall, so of a type the first position takes the most feed and the last leaves the
minimum concentrate. The average flux, polarisation and the drop of the vessel belong to the whole vessel; see `limits`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from desalbook import membrane as m
from desalbook.balances import flow_fraction
from desalbook.guidelines import guideline
from desalbook.hydraulics.design_pressure import rating_fraction_used
from desalbook.membrane import transport as t
from desalbook.membrane.cases import curve
from desalbook.plant.joints import best_served, least_served
from desalbook.plant.limits import LIMITS, PRESSURE, SHEET
from desalbook.trail import Figure, checked, govern, in_values, relation, scope
from desalbook.trail.corner import Corner
from desalbook.units import M2, DifferencePa, Flux, Fraction, KgPerM3, KgPerS

__all__ = ["judge_positions", "position_limits", "position_rows", "with_positions"]

OWN = ("lead_flux", "element_recovery", "vessel_feed", "vessel_concentrate", "element_drop", "feed_pressure")
"""Limits judged position by position."""
TEXT = {name: (title, do) for name, _, title, _, do in LIMITS} | {
    "feed_pressure": (PRESSURE, "increase membrane.vessels, lower membrane.recovery, or choose elements of higher "
                                "permeability")}
TITLE = {"lead_flux": "Flux of one element", "vessel_feed": "Feed of one element",
         "vessel_concentrate": "Concentrate of one element", "feed_pressure": "Pressure before one element"}


@relation("Allowable pressure-drop fraction", symbol="x_d", unit="1", source="definition")
def drop_used(pressure_drop: DifferencePa, drop_limit: DifferencePa) -> Fraction:
    """Fraction of the allowed pressure drop an element uses.

    Against its sheet's; a new and clean element, so fouling has to find room below one.
    """
    return pressure_drop / drop_limit


@relation("Average flux of one element", symbol="J_e", unit="m/s", source="definition")
def element_flux(node_in: KgPerS, node_out: KgPerS, water_density: KgPerM3, element_area: M2) -> Flux:
    """Average flux of one element.

    Water that passes over the area of the element that stands at that position.
    """
    return (node_in - node_out) / (water_density * element_area)


def position_limits() -> list[m.Limit]:
    """What `with_positions` puts in place of the limits of the sheets: shares of what each position may bear."""
    return [m.Limit(f"{name}_used", TEXT[name][0], "<=", 1.0) for name in OWN if name in SHEET]


@in_values
def with_positions(mixed: m.Mixed, solution: Any, spread: Figure | None) -> Any:
    """The solution with the maximum share of each sheet's limit over all positions, and the maximum flux of any."""
    s, n, x = solution.state, solution.slices, 0.0 if spread is None else float(spread)
    density = np.asarray(solution.cases.density)

    def column(name: str) -> np.ndarray:
        return np.array([float(mixed.at(p)[name]) for p in range(1, mixed.count + 1)])

    def flow(salt: np.ndarray, water: np.ndarray) -> np.ndarray:
        rho = t.density_of.at("value", salinity=t.ratio_of.at("value", solute=salt, water=water),
                              **{k: v[:, None] for k, v in curve(density).items()})
        return t.volume_flow.at("value", solute=salt, water=water, density=rho)

    def most(share: np.ndarray) -> np.ndarray:
        return np.max(share, axis=1)

    before = np.concatenate([solution.feed_pressure[:, None], s["element_pressure_in"][:, 1:]], axis=1)
    came, left = (flow(s[f"salt_{end}"][:, at::n], s[f"water_{end}"][:, at::n]) for end, at in (
        ("in", 0), ("out", n - 1)))
    flux = element_flux.at("value", node_in=s["element_water_in"], node_out=s["element_water_out"],
                           water_density=density[:, [0]], element_area=column("area"))
    feed = best_served.at("value", vessel_feed=came, flow_spread=x)
    reject = np.maximum(least_served.at("value", vessel_concentrate=left, vessel_feed=came[:, [0]], flow_spread=x),
                        1e-12)
    return replace(solution, out=solution.out | {
        "lead_flux": most(flux),
        "element_drop_used": most(drop_used.at("value", pressure_drop=s["element_loss"],
                                               drop_limit=column("max_pressure_drop"))),
        "feed_pressure_used": most(rating_fraction_used.at("value", governing_pressure=before,
                                                           pressure_rating=column("max_pressure"))),
        "vessel_feed_used": most(flow_fraction.at("value", flow=feed, reference_flow=column("max_feed_flow"))),
        "vessel_concentrate_used": most(flow_fraction.at("value", flow=column("min_concentrate_flow"),
                                                         reference_flow=reject))})


def _flow(r: m.Recorded, place: int, end: str, node: str, density: Any) -> Figure:
    """Into or out of an element of one vessel, by its own density."""
    c, of = r["columns"], f"[{place}]"
    salt, water = c[f"salt_{end}"][node], c[f"water_{end}"][node]
    words = f"{'into' if end == 'in' else 'out of'} element {place}"
    x = t.ratio_of.at(f"membrane.element_ratio_{end}{of}", solute=salt, water=water, title=f"Salt per water {words}")
    rho = t.density_of.at(f"membrane.element_density_{end}{of}", salinity=x, title=f"Density {words}",
                          **dict(density.items()))
    return t.volume_flow.at(f"membrane.element_flow_{end}{of}", solute=salt, water=water, density=rho,
                            title=f"Flow {words}")


def position_rows(mixed: m.Mixed, by_corner: Mapping[Corner, m.Recorded], curves: dict[str, Any], slices: int,
                  limits: dict[str, Figure], spread: Figure | None) -> dict[Corner, dict[str, list[tuple]]]:
    """Record every position in every case.

    Returns
    -------
    dict of dict of list
        By case and limit: (position, figure, what it is judged by, share of it or the figure itself).
    """
    found: dict[Corner, dict[str, list[tuple]]] = {}
    pressures = (rating_fraction_used, "governing_pressure", "pressure_rating",
                 "Allowable pressure fraction",
                 "x_p")
    shares = {"element_drop": (drop_used, "pressure_drop", "drop_limit", None, None),
              "feed_pressure": pressures,
              "vessel_feed": (flow_fraction, "flow", "reference_flow", "Allowable feed fraction", "x_q"),
              "vessel_concentrate": (flow_fraction, "reference_flow", "flow", "Minimum concentrate over concentrate",
                                     "x_c")}
    for corner, r in by_corner.items():
        rows: dict[str, list[tuple]] = {name: [] for name in OWN}
        c, curve = r["columns"], curves[corner.temperature]
        with scope(corner=corner, because=mixed.because):
            for place in range(1, mixed.count + 1):
                sheet, key = mixed.at(place), str(place)
                figures = {"element_drop": c["element_loss"][key], "feed_pressure": c["element_pressure_in"][key]}
                if place == 1:
                    figures |= {"feed_pressure": r["feed_pressure"], "vessel_feed": r["vessel_feed"]}
                elif mixed.first_of_type(place):
                    figures["vessel_feed"] = _flow(r, place, "in", f"{place}.1", curve)
                if place == mixed.count:
                    figures["vessel_concentrate"] = r["vessel_concentrate"]
                elif mixed.last_of_type(place):
                    figures["vessel_concentrate"] = _flow(r, place, "out", f"{place}.{slices}", curve)
                if spread is not None and "vessel_feed" in figures:
                    figures["vessel_feed"] = best_served.at(f"membrane.element_feed_best[{place}]",
                                                            vessel_feed=figures["vessel_feed"], flow_spread=spread)
                if spread is not None and "vessel_concentrate" in figures:
                    figures["vessel_concentrate"] = least_served.at(
                        f"membrane.element_reject_least[{place}]", vessel_feed=r["vessel_feed"], flow_spread=spread,
                        vessel_concentrate=figures["vessel_concentrate"])
                for name, figure in figures.items():
                    rel, value, limit, title, symbol = shares[name]
                    bound = sheet[SHEET[name]]
                    rows[name].append((place, figure, bound, rel.at(f"membrane.{name}_used[{place}]", title=title,
                                                                    symbol=symbol, **{value: figure, limit: bound})))
                flux = element_flux.at(f"membrane.element_flux[{place}]", node_in=c["element_water_in"][key],
                                       node_out=c["element_water_out"][key], water_density=curve["rho_0"],
                                       element_area=sheet["area"], title=f"Average flux of element {place}")
                rows["lead_flux"].append((place, flux, limits["lead_flux"], flux))
                part = c["element_recovery"][key]
                rows["element_recovery"].append((place, part, limits["element_recovery"], part))
        found[corner] = rows
    return found


def judge_positions(mixed: dict[str, m.Mixed], rows: dict[str, dict[Corner, dict[str, list[tuple]]]]) -> None:
    """One check a limit, of the stage, position and case that come nearest to what may be borne there.

    Parameters
    ----------
    mixed, rows : dict
        By the prefix of a stage's lines.
    """
    alone = len(rows) == 1
    for name in OWN:
        every = {f"{corner}, {'' if alone else f'{stage}, '}position {row[0]}": (stage, row)
                 for stage, corners in rows.items() for corner, of in corners.items() for row in of[name]}
        title, do = TEXT[name]
        top = govern(f"membrane.{name}_position", {k: row[3] for k, (_, row) in every.items()}, "largest",
                     title=f"{title}, by position")
        # the same one as picked: the first of the largest
        stage, (place, figure, bound, _) = list(every.values())[
            int(np.argmax([float(row[3]) for _, row in every.values()]))]
        own = mixed[stage].name_at(place) + ("" if alone else f", {stage}")
        with scope(because=[top]):
            checked(f"membrane.{name}.check", figure, ">=" if name == "vessel_concentrate" else "<=", bound,
                    title=f"{TITLE.get(name, title)}: position {place}, {own}",
                    do=f"{do}, or choose another type at position {place}",
                    source="common-practice" if name in SHEET else guideline(
                        {"lead_flux": "lead-element-flux", "element_recovery": "element-recovery"}[name]).source,
                    caution="A pressure part above its rating can burst. Pressure parts follow the local "
                            "pressure-vessel code; a "
                        "licensed engineer signs them."
                    if name == "feed_pressure" else "")
