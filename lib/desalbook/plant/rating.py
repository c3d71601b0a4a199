"""`rate`: the sized membranes and their pressure train held, the conditions varied, all cases at once."""

from __future__ import annotations

from typing import Any

import numpy as np

from desalbook.duty.flows import feed_for, recovery_of
from desalbook.membrane import transport as t
from desalbook.plant.cases import fields, in_service, waters_at
from desalbook.plant.local_ph import between
from desalbook.plant.rate_stages import more_power, staged_outputs
from desalbook.plant.rate_train import train
from desalbook.plant.solve_closed import solve_closed
from desalbook.problems import DesignError

__all__ = ["CONTROLS", "rate"]

CONTROLS = {
    "product-flow": "permeate and recovery held, by drive or valve as the plant has it; the feed pressure follows",
    "speed": "permeate and recovery held by the speed of the pump",
    "throttle": "permeate and recovery held by a valve behind the pump at full speed",
    "pressure": "feed pressure and feed flow held; permeate and recovery follow",
    "recovery": "permeate and feed pressure held; the feed flow, and so the recovery, follows",
}
_UNKNOWN = {"product-flow": "feed_pressure", "speed": "feed_pressure", "throttle": "feed_pressure",
            "pressure": "permeate_flow",
            "recovery": "feed_flow"}
_SHOWN = ("permeate_tds", "permeate_boron", "concentrate_tds", "pressure_drop", "concentrate_pressure", "beta_max",
          "lead_flux", "flux", "element_recovery", "concentrate_flow", "vessel_feed", "vessel_concentrate")
CHUNK = 1024  # cases at a time, as many as the vessel solver takes together; profiles not kept


def rate(sized: Any, *, temperature: Any = None, salinity: Any = None, age: Any = None, fouling: Any = None,
         recovery: Any = None, feed_pressure: Any = None, water_factor: Any = None, salt_factor: Any = None,
         water_activation: Any = None, control: str = "product-flow") -> dict[str, Any]:
    """Rate the membranes of one train and its pressure train over broadcast arrays of conditions.

    Parameters
    ----------
    sized : Sized
    temperature : array_like, optional
        K; the design temperature where left out.
    salinity : array_like, optional
        Kilogram of salt per kilogram of water, the ions in the proportions of the analysis.
    age : array_like, optional
        s; the age of the aged corner where left out.
    fouling : array_like, optional
        Permeability left, 1 when clean; where left out it goes in with age, in proportion.
    recovery : array_like, optional
        Permeate over raw feed of the train; as sized where left out. A result, not to be given, under control
        ``recovery``; under ``pressure`` it sets the feed flow by the sized permeate.
    feed_pressure : array_like, optional
        Gauge, Pa, for the controls ``pressure`` and ``recovery``; the governing one where left out.
    water_factor, salt_factor : array_like, optional
        Scatter of the elements: factors on the permeabilities to water and to solutes.
    water_activation : array_like, optional
        Activation energy of the permeability to water, J/mol.
    control : {"product-flow", "speed", "throttle", "pressure", "recovery"}
        What is held; see `CONTROLS`.

    Returns
    -------
    dict of arrays
        A row a case, SI units; NaN where ``reason`` says why a case has no answer.

    Raises
    ------
    DesignError
        An unknown control, or a condition that this control gives back.
    """
    if control not in CONTROLS:
        raise DesignError("no such control", where="control", value=control, allowed=", ".join(CONTROLS))
    if control == "recovery" and recovery is not None:
        raise DesignError("the recovery is what this control gives back", where="recovery", value=control,
                          do="leave recovery out, or take another control")
    if feed_pressure is not None and _UNKNOWN[control] == "feed_pressure":
        raise DesignError("the feed pressure is what this control gives back", where="feed_pressure", value=control,
                          do="leave feed_pressure out, or take control pressure or recovery")
    _checked(control, sized.array.plan)
    ledger, a, an = sized.ledger, sized.array, sized.waters.analysis
    oldest = float(ledger["membrane.age"])
    said = {"temperature": (temperature, float(sized.waters.at["design"].temperature)),
            "salinity": (salinity, float(an.salinity)), "age": (age, oldest), "fouling": (fouling, np.nan),
            "recovery": (recovery, float(a.recovery)),
            "feed_pressure": (feed_pressure, float(a.governing["feed_pressure"])),
            "water_factor": (water_factor, 1.0), "salt_factor": (salt_factor, 1.0),
            "water_activation": (water_activation, float(ledger["membrane.water_activation"]))}
    grid = np.broadcast_arrays(*[np.atleast_1d(np.asarray(default if v is None else v, dtype=float))
                                 for v, default in said.values()])
    given = {name: g.ravel() for name, g in zip(said, grid, strict=True)}
    n = len(given["age"])
    if fouling is None:
        left = 1 - float(ledger["membrane.fouling_factor"])
        given["fouling"] = 1 - left * (given["age"] / oldest if oldest else np.zeros(n))
    wrong = _impossible(given)
    safe = {k: default for k, (_, default) in said.items()} | {"fouling": 1.0, "age": 0.0}
    used = {k: np.where(wrong == "", v, safe[k]) for k, v in given.items()}  # then blanked
    water = waters_at(sized.waters, used["temperature"])
    parts = [_chunk(sized, control, wrong[i:i + CHUNK], {k: v[i:i + CHUNK] for k, v in used.items()},
                    {k: v[i:i + CHUNK] for k, v in water.items()}) for i in range(0, n, CHUNK)]
    answer: dict[str, Any] = {"id": [f"rate[{i}]" for i in range(n)]}
    answer |= {k: given[k] for k in ("temperature", "salinity", "age", "fouling", "water_factor", "salt_factor")}
    return answer | {k: np.concatenate([p[k] for p in parts]) for k in parts[0]}


def _impossible(given: dict[str, np.ndarray]) -> np.ndarray:
    """Conditions that are no conditions: their reason, before anything is solved."""
    reason = np.full(len(given["age"]), "", dtype=object)
    for name, low, high, words in (
            ("temperature", 273.15, 323.15, "the temperature is outside 0 to 50 degC"),
            ("salinity", 1e-5, 0.13, "the salinity is outside the water's curves, which end at 130 g/kg"),
            ("age", 0.0, 20 * 31557600.0, "the age is below zero or above 20 years"),
            ("fouling", 1e-3, 1.5, "the permeability left is outside 0.001 to 1.5"),
            ("recovery", 1e-3, 0.95, "the recovery is outside 0.1 to 95 %"),
            ("feed_pressure", 1e4, 200e5, "the feed pressure is outside 0.1 to 200 bar"),
            ("water_activation", 0.0, 90e3, "the activation energy is outside 0 to 90 kJ/mol"),
            ("water_factor", 1e-3, 1e3, "the factor on the permeabilities is outside 0.001 to 1000"),
            ("salt_factor", 1e-3, 1e3, "the factor on the permeabilities is outside 0.001 to 1000")):
        wrong = ~((given[name] >= low) & (given[name] <= high))
        reason[wrong & (reason == "")] = words
    return reason


def _chunk(sized: Any, control: str, wrong: np.ndarray, given: dict[str, np.ndarray],
           water: dict[str, np.ndarray]) -> dict[str, Any]:
    ops, a = sized, sized.array
    temp, sal = given["temperature"], given["salinity"]
    permeate = float(ops.duty.train_permeate)
    feed = None if control == "recovery" else feed_for.plain(permeate, given["recovery"])
    with np.errstate(all="ignore"):
        solve = _plain if a.plan is None else _staged
        r = solve(sized, control, given, water, feed)
        viscosity = t.viscosity_of.plain(r["concentrate_salinity"], water["water_viscosity"], temp)
        run = train(sized, control, feed_flow=r["mixed_flow"], permeate_flow=r["first_permeate_flow"],
                    reject_flow=r["concentrate_flow"], feed_pressure=r["feed_pressure"],
                    concentrate_pressure=r["concentrate_pressure"],
                    reject_density=t.density_of.plain(r["concentrate_salinity"], *water["density"].T),
                    density=t.density_of.plain(sal, *water["density"].T), reject_viscosity=viscosity)
        if a.plan is not None:
            run |= more_power(sized, r, run)
    reason = np.where(wrong != "", wrong, r["reason"])
    if control == "throttle":
        reason[(run["hp_reaches"] < 1) & (reason == "")] = "the pump at full speed does not reach the feed pressure"
    if control == "speed":
        reason[(run["hp_reaches"] < 1) & (reason == "")] = "the pump would pass its greatest speed"
    good = reason == ""
    answer = {k: r[k] for k in ("feed_pressure", "feed_flow", "permeate_flow", "feed_salinity", *_SHOWN) if k in r}
    answer |= {"recovery": recovery_of.plain(r["permeate_flow"], r["feed_flow"])} | run
    return {k: np.where(good, v, np.nan) for k, v in answer.items()} | {"reason": reason}


def _sheet(sized: Any, element: Any, given: dict[str, np.ndarray]) -> dict[str, Any]:
    book = sized.ledger
    return in_service(
        element, {"water": given["water_activation"]} | {k: float(book[f"membrane.{k}_activation"])
                                                         for k in ("salt", "boron")},
        given["temperature"], age=given["age"], fouling=given["fouling"],
        yearly_loss=float(book["membrane.yearly_flow_loss"]), yearly_rise=float(book["membrane.yearly_salt_rise"]),
        water_factor=given["water_factor"], salt_factor=given["salt_factor"])


def _local(waters: Any, given: dict[str, np.ndarray]) -> dict[str, Any]:
    """Shift of the species of boron along the vessels of the first pass."""
    return {"borate_shift": between(waters, given["temperature"]), "borate_salinity": given["salinity"]}


def _plain(sized: Any, control: str, given: dict[str, np.ndarray], water: dict[str, np.ndarray],
           feed: np.ndarray | None) -> dict[str, Any]:
    """One stage, one pass."""
    book, ops = sized.ledger, sized
    w, a, sal = ops.waters, ops.array, given["salinity"]
    fixed = fields(
        a.along, **_local(w, given), vessels=float(a.vessels), elements=int(book["membrane.elements"]),
        permeate_flow=float(ops.duty.train_permeate), feed_pressure=given["feed_pressure"],
        temperature=given["temperature"], **water, permeate_pressure=float(book["membrane.permeate_pressure"]),
        port_loss=float(book["membrane.port_loss"]), interconnector_loss=float(book["membrane.interconnector_loss"]),
        ph_total=ops.feed.ph_total_at(given["temperature"], sal / float(w.analysis.salinity)),
        **_sheet(sized, a.along, given))
    boron = float(w.boron) * sal / float(w.analysis.salinity)
    r, (x, _), raw = solve_closed(fixed, sal, boron, feed, float(ops.device.mixing or 0.0),
                                  int(book["membrane.slices"]), 1e-11, _UNKNOWN[control],
                                (str(book["membrane.mass_transfer"]), str(book["membrane.friction"])),
                                profiles=False)
    return {k: r.out[k] for k in (*_SHOWN, "concentrate_salinity")} | {
        "feed_pressure": r.feed_pressure, "feed_flow": raw, "mixed_flow": r.feed_flow, "feed_salinity": x,
        "permeate_flow": r.permeate_flow, "first_permeate_flow": r.permeate_flow,
        "reason": np.array(r.reason, dtype=object)}


def _staged(sized: Any, control: str, given: dict[str, np.ndarray], water: dict[str, np.ndarray],
            feed: np.ndarray | None) -> dict[str, Any]:
    """Stages and passes, with the caustic of the sized corners at the temperature between them."""
    ops, w, plan = sized, sized.waters, sized.array.plan
    assert feed is not None
    answer = plan.rated(given, water, feed, permeate=float(ops.duty.train_permeate)
                        if _UNKNOWN[control] == "feed_pressure" else None,
                        first=_sheet(sized, plan.sheet.element, given) | _local(w, given),
                        second=_sheet(sized, plan.second_sheet.element, given) if plan.second_sheet else None,
                        boron=float(w.boron) * given["salinity"] / float(w.analysis.salinity),
                        ph=ops.feed.ph_total_at(given["temperature"],
                                                     given["salinity"] / float(w.analysis.salinity)))
    return staged_outputs(answer, water["density"], given["salinity"])


def _checked(control: str, plan: Any) -> None:
    if control == "recovery" and plan is not None:
        raise DesignError("stages, second pass and recycle are rated at a held recovery", where="control",
                          value=control, allowed=", ".join(k for k in CONTROLS if k != "recovery"))
