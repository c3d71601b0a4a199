"""The membranes as tables: along the vessel, against the guidelines, over the envelope of temperature and age.

All from the figures of a sized plant; SI.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from desalbook.design.sections import field_meta
from desalbook.guidelines import limit_key
from desalbook.membrane import transport as t
from desalbook.plant.array import CORNERS
from desalbook.plant.limits import LIMITS, SHEET, uneven
from desalbook.plant.rating import rate
from desalbook.trail import values
from desalbook.trail.corner import Corner

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["envelope", "guideline_table", "vessel_profile"]

QUALITY = ("permeate_boron", "permeate_tds")
_NODES = ("flux", "pressure", "salinity", "osmotic_wall", "beta", "loss", "flow", "water_in", "water_out")


def _stages(sized: Any) -> list[tuple[str, str, str]]:
    """Prefix of the lines, words, pass of each stage."""
    plan = sized.array.plan
    return [(r.prefix, r.name, "membrane") for r in plan.rows] + [
        (r.prefix, f"second pass, {r.name}", "second_pass") for r in plan.second_rows]


def vessel_profile(plant: Any, corner: str = "design-aged") -> pd.DataFrame:
    """By stage and element: flux, pressure, osmotic pressure, salinity, polarisation.

    Parameters
    ----------
    plant : Sized or Plant
    corner : str
        Such as ``cold-aged``.

    Returns
    -------
    DataFrame
        ``stage``, ``element`` (from 1); ``flux`` m/s, ``pressure`` (mean, gauge), ``osmotic`` of the bulk,
        ``osmotic_wall`` and ``loss`` Pa, ``salinity`` kg/kg water, ``beta``, ``recovery`` and ``flow`` (m3/s into the
        element's first slice) of each element; means over the element's slices.
    """
    import pandas

    sized = getattr(plant, "sized", plant)
    book = sized.ledger
    curve = sized.waters.at[Corner.of(corner).temperature].osmotic_curve
    rows = []
    for prefix, words, _ in _stages(sized):
        node = {name: np.asarray(book[f"{prefix}.node_{name}@{corner}"].values) for name in _NODES}
        keys = book[f"{prefix}.node_flux@{corner}"].keys
        place = np.array([int(k.split(".")[0]) for k in keys])
        entering, leaving = node["water_in"], node["water_out"]
        with values(keep=False):
            osmotic = t.osmotic_of.at(f"{prefix}.osmotic", salinity=node["salinity"], **dict(curve.items()))
        for e in np.unique(place):
            at = place == e
            mean = {n: float(np.mean(node[n][at])) for n in ("flux", "pressure", "salinity", "osmotic_wall", "beta")}
            rows.append({
                "stage": words, "element": int(e), **mean, "loss": float(np.sum(node["loss"][at])),
                "osmotic": float(np.mean(osmotic[at])),
                "recovery": float(1 - leaving[at][-1] / entering[at][0]), "flow": float(node["flow"][at][0])})
    return pandas.DataFrame(rows)


def _where(profile: Any, name: str) -> str:
    """Where in the vessel a limit binds."""
    if name in ("flux", "vessel_drop"):
        return "whole vessel" if name == "vessel_drop" else "all elements"
    if name in ("lead_flux", "vessel_feed", "feed_pressure"):
        return "inlet, element 1"
    if name == "vessel_concentrate":
        return f"outlet, element {int(profile['element'].max())}"
    column = {"recovery_polarisation": "recovery", "element_recovery": "recovery", "element_drop": "loss"}[name]
    return f"element {int(profile.loc[profile[column].idxmax(), 'element'])}"


def _by_position(name: str, title: str, rule: str, words: str, corner: str, every: list) -> list[dict[str, Any]]:
    """Each position of a vessel of several types, judged by the sheet of what stands there."""
    found = []
    for place, figure, limit, _ in every:
        value, most = float(figure), float(limit)
        margin = (most - value) / most if rule == "largest" else (value - most) / most
        found.append({"limit": name, "title": title, "pass": "membrane", "stage": words, "corner": corner,
                      "where": f"element {place}", "value": value, "allowed": most,
                      "sense": "<=" if rule == "largest" else ">=", "margin": margin,
                      "passes": bool(margin >= -1e-9), "id": figure.id})
    return found


def guideline_table(plant: Any) -> pd.DataFrame:
    """Every limit in every case and stage, with its margin and where in the vessel it binds.

    Returns
    -------
    DataFrame
        ``limit`` (its short name), ``title``, ``stage``, ``corner``, ``where``, ``value``, ``allowed``, ``sense``,
        ``margin`` (share of the limit), ``holds``, ``governs`` (the minimum margin of that limit in that pass), ``id``
        of the figure.
    """
    import pandas

    sized = getattr(plant, "sized", plant)
    book, a, rows = sized.ledger, sized.array, []
    supply = sized.design.get("membrane.water_supply")
    wanted = [(name, f"{key}-{supply}" if key == "average-flux" else key, title, rule)
              for name, key, title, rule, _ in LIMITS]
    wanted.append(("feed_pressure", "", "Feed pressure within the element", "largest"))
    spread = next((book[i] for i in ("membrane.flow_spread",) if i in book), None)
    for corner in CORNERS:
        whole = vessel_profile(sized, corner)
        for prefix, words, of in _stages(sized):
            own = a.staged[corner].stages[prefix]
            part = whole[whole["stage"] == words]
            for name, key, title, rule in wanted:
                if prefix in a.positions and name in a.positions[prefix][corner]:
                    rows += _by_position(name, title, rule, words, corner, a.positions[prefix][corner][name])
                    continue
                first = "limits.second_pass_" if of == "second_pass" else "limits."
                ids = (f"{first}{name}", limit_key(key), f"{of}.element.{SHEET.get(name)}")
                limit = next((book[i] for i in ids if i in book), None)
                if limit is None:
                    continue
                figure = own[name]
                if name == "flux" and a.plan.joined:
                    figure = book[f"{of}.flux@{corner}"]  # the guideline is for the pass
                with values(keep=False):
                    value = float(uneven(spread, name, {"vessel_feed": own["vessel_feed"], name: figure}, of))
                most = float(limit)
                margin = (most - value) / most if rule == "largest" else (value - most) / most
                rows.append({"limit": name, "title": title, "pass": of, "stage": words, "corner": corner,
                             "where": _where(part, name), "value": value, "allowed": most,
                             "sense": "<=" if rule == "largest" else ">=", "margin": margin,
                             "passes": bool(margin >= -1e-9), "id": figure.id})
    made = pandas.DataFrame(rows)
    nearest = set(made.groupby(["pass", "limit"])["margin"].idxmin().to_numpy().ravel().tolist())
    made["governs"] = [i in nearest for i in made.index]
    return made


def envelope(plant: Any) -> pd.DataFrame:
    """Cases of temperature and age, which govern, and the cold pressure at both ends of the activation energy.

    Returns
    -------
    DataFrame
        ``temperature`` K, ``age``; ``feed_pressure``, ``permeate_tds``, ``permeate_boron``, ``pressure_drop``,
        ``concentrate_tds``; ``governs``: ``pressure``, ``quality``, both or nothing. The last two rows have the cold
        aged pressure at the ends of the usual activation energy, named in ``case``.
    """
    import pandas

    sized = getattr(plant, "sized", plant)
    book, a = sized.ledger, sized.array
    names = ("feed_pressure", "permeate_tds", "permeate_boron", "pressure_drop", "concentrate_tds")
    rows = []
    for corner in CORNERS:
        key, age = corner.temperature, corner.membranes
        rows.append({"case": corner, "temperature": float(sized.waters.at[key].temperature), "age": age,
                     "water_activation": float(book["membrane.water_activation"]),
                     **{n: float(a.by_corner[corner][n]) for n in names}})
    made = pandas.DataFrame(rows)
    hardest = int(np.argmax(made["feed_pressure"]))
    worst = {int(np.argmax(made[q])) for q in QUALITY}
    made["governs"] = [", ".join(w for w, yes in (("pressure", i == hardest), ("quality", i in worst)) if yes)
                       for i in made.index]
    usual = field_meta("membrane.water_activation").usual
    ends = [float(x) for x in usual or () if x is not None]
    cold = float(np.min(made["temperature"].to_numpy()))
    cases = rate(sized, temperature=cold, water_activation=ends)
    for i, end in enumerate(ends):
        rows.append({"case": f"cold-aged, {end / 1e3:g} kJ/mol", "temperature": cold, "age": "aged",
                     "water_activation": end, **{n: float(cases[n][i]) for n in names}, "governs": ""})
    return pandas.concat([made, pandas.DataFrame(rows[len(CORNERS):])], ignore_index=True)
