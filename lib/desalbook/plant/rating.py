"""`rate`: the sized membranes and their pressure train held, the conditions varied, all cases at once."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from desalbook.duty.flows import feed_for, recovery_of
from desalbook.hydraulics.energy import specific_energy
from desalbook.hydraulics.pipes import Fluid
from desalbook.membrane import transport as t
from desalbook.membrane.transport import YEAR
from desalbook.plant.array_plan import Plan
from desalbook.plant.cases import in_service, waters_at
from desalbook.plant.local_ph import between
from desalbook.plant.pressure_train import SECOND_PASS_PUMP, Case, StagePumpDuty, run_train, throttling_loss
from desalbook.plant.rate_cautions import cautions
from desalbook.plant.search import worst
from desalbook.plant.solve_array import Answer
from desalbook.plant.stage_pumps import boosted_stages
from desalbook.plant.walk import Sized
from desalbook.problems import DesignError
from desalbook.trail import Choice, in_values, values

__all__ = ["CHUNK", "CONDITIONS", "CONTROLS", "RATED", "conditions", "labelled", "rate", "rate_cases"]

CONTROLS = {
    "product-flow": "permeate and recovery held, by drive or valve as the plant has it; the feed pressure follows",
    "speed": "permeate and recovery held by the speed of the pump",
    "throttle": "permeate and recovery held by a valve downstream of the pump at full speed",
    "pressure": "feed pressure and feed flow held; permeate and recovery follow",
    "recovery": "permeate and feed pressure held; the feed flow, and so the recovery, follows",
}
_UNKNOWN = {"product-flow": "feed_pressure", "speed": "feed_pressure", "throttle": "feed_pressure",
            "pressure": "permeate_flow",
            "recovery": "feed_flow"}
_SHOWN = ("permeate_tds", "permeate_boron", "concentrate_tds", "pressure_drop", "concentrate_pressure", "beta_max",
          "recovery_polarisation",
          "lead_flux", "flux", "element_recovery", "concentrate_flow", "vessel_feed", "vessel_concentrate")
CONDITIONS = {"temperature": "temperature", "salinity": "salinity", "age": "time.year", "fouling": "factor",
              "recovery": "fraction", "feed_pressure": "gauge pressure", "water_factor": "factor",
              "salt_factor": "factor", "water_activation": "molar energy"}
"""Kinds of the conditions of `rate`."""
RATED = {
    "temperature": "temperature", "salinity": "salinity", "age": "time.year", "fouling": "factor",
    "water_factor": "factor", "salt_factor": "factor", "feed_pressure": "gauge pressure", "feed_flow": "flow",
    "permeate_flow": "flow", "feed_salinity": "salinity", "permeate_tds": "concentration",
    "permeate_boron": "concentration as B", "concentrate_tds": "concentration", "pressure_drop": "pressure difference",
    "concentrate_pressure": "gauge pressure", "beta_max": "factor", "recovery_polarisation": "factor",
    "lead_flux": "flux", "flux": "flux", "element_recovery": "fraction", "concentrate_flow": "flow",
    "vessel_feed": "flow", "vessel_concentrate": "flow", "recovery": "fraction", "hp_flow": "flow",
    "hp_rise": "pressure difference", "hp_speed": "fraction", "hp_power": "power.electric", "hp_load": "fraction",
    "hp_reaches": "factor", "booster_power": "power.electric", "concentrate_power": "power.electric",
    "section_power": "power.electric", "specific_energy": "specific energy", "throttle_loss": "power",
    "exhaust_pressure": "gauge pressure"}
"""Kinds of what `rate` gives."""
CHUNK = 1024  # cases at a time, as many as the vessel solver takes together; profiles not kept


def rate(sized: Sized, *, temperature: Any = None, salinity: Any = None, age: Any = None, fouling: Any = None,
         recovery: Any = None, feed_pressure: Any = None, water_factor: Any = None, salt_factor: Any = None,
         water_activation: Any = None, control: str = "product-flow") -> dict[str, Any]:
    """Rate the membranes of one train and its pressure train over broadcast arrays of conditions.

    Parameters
    ----------
    sized : Sized
    temperature : array_like, optional
        K; the design temperature if omitted.
    salinity : array_like, optional
        Kilogram of salt per kilogram of water, the ions in the proportions of the analysis.
    age : array_like, optional
        s; the age of the aged case if omitted.
    fouling : array_like, optional
        Permeability left, 1 when clean; if omitted it goes in with age, in proportion.
    recovery : array_like, optional
        Permeate over raw feed of the train; as sized if omitted. A result, not to be given, under control
        ``recovery``; under ``pressure`` it sets the feed flow by the sized permeate.
    feed_pressure : array_like, optional
        Gauge, Pa, for the controls ``pressure`` and ``recovery``; the governing one if omitted.
    water_factor, salt_factor : array_like, optional
        Scatter of the elements: factors on the permeabilities to water and to solutes.
    water_activation : array_like, optional
        Activation energy of the permeability to water, J/mol.
    control : {"product-flow", "speed", "throttle", "pressure", "recovery"}
        What is held; see `CONTROLS`.

    Returns
    -------
    dict of arrays
        A row a case, SI units; NaN where ``reason`` says why a case has no answer. ``caution`` names the checks of
        the sized plant that a case fails, and relations out of their range.

    Raises
    ------
    DesignError
        An unknown control, or a condition that this control gives back.
    """
    given = conditions(sized, temperature=temperature, salinity=salinity, age=age, fouling=fouling, recovery=recovery,
                       feed_pressure=feed_pressure, water_factor=water_factor, salt_factor=salt_factor,
                       water_activation=water_activation, control=control)
    return labelled(given) | rate_cases(sized, given, control)


def conditions(sized: Sized, *, control: str = "product-flow", **said: Any) -> dict[str, np.ndarray]:
    """The conditions of `rate` broadcast to one flat array each, with what the plant says if one is omitted.

    Raises
    ------
    DesignError
        An unknown control, a condition that this control gives back, arrays whose shapes do not go together.
    """
    if control not in CONTROLS:
        raise DesignError("no such control", where="control", value=control, allowed=", ".join(CONTROLS))
    if control == "recovery" and said.get("recovery") is not None:
        raise DesignError("the recovery is what this control gives back", where="recovery", value=control,
                          do="omit recovery, or take another control")
    if said.get("feed_pressure") is not None and _UNKNOWN[control] == "feed_pressure":
        raise DesignError("the feed pressure is what this control gives back", where="feed_pressure", value=control,
                          do="omit feed_pressure, or take control pressure or recovery")
    ledger = sized.ledger
    usual = _usual(sized)
    try:
        grid = np.broadcast_arrays(*[np.atleast_1d(np.asarray(default if said.get(k) is None else said[k],
                                                              dtype=float)) for k, default in usual.items()])
    except ValueError:
        shapes = ", ".join(f"{k} {np.shape(v)}" for k, v in said.items() if np.ndim(v))
        raise DesignError("the conditions have numbers of cases that do not go together", where="rate", value=shapes,
                          do="give each as many values as there are cases, or one") from None
    given = {name: g.ravel() for name, g in zip(usual, grid, strict=True)}
    if said.get("fouling") is None:
        oldest, left = float(ledger["membrane.age"]), 1 - float(ledger["membrane.fouling_factor"])
        given["fouling"] = 1 - left * (given["age"] / oldest if oldest else np.zeros(len(given["age"])))
    return given


def _usual(sized: Sized) -> dict[str, float]:
    """Where a condition is omitted."""
    ledger, a = sized.ledger, sized.array
    return {"temperature": float(sized.waters.at["design"].temperature),
            "salinity": float(sized.waters.analysis.salinity), "age": float(ledger["membrane.age"]),
            "fouling": np.nan, "recovery": float(a.recovery), "feed_pressure": float(a.governing["feed_pressure"]),
            "water_factor": 1.0, "salt_factor": 1.0,
            "water_activation": float(ledger["membrane.water_activation"])}


def labelled(given: dict[str, np.ndarray], first: int = 0) -> dict[str, Any]:
    """Ids of the cases and the conditions that stand beside their answers."""
    return {"id": [f"rate[{i}]" for i in range(first, first + len(given["age"]))]} | {
        k: given[k] for k in ("temperature", "salinity", "age", "fouling", "water_factor", "salt_factor")}


def rate_cases(sized: Sized, given: dict[str, np.ndarray], control: str = "product-flow") -> dict[str, Any]:
    """The answers of `rate` to flat arrays of `conditions`, `CHUNK` cases at a time.

    Cases of one such block are solved together, which moves last bits alone; so whoever shares cases out gives
    whole blocks, and gets the same bits in whatever pieces.
    """
    usual = _usual(sized)
    wrong = _impossible(given)
    safe = usual | {"fouling": 1.0, "age": 0.0}
    used = {k: np.where(wrong == "", v, safe[k]) for k, v in given.items()}  # then blanked
    water = waters_at(sized.waters, used["temperature"])
    n = len(given["age"])
    parts = [_chunk(sized, control, wrong[i:i + CHUNK], {k: v[i:i + CHUNK] for k, v in used.items()},
                    {k: v[i:i + CHUNK] for k, v in water.items()}) for i in range(0, n, CHUNK)]
    return {k: np.concatenate([p[k] for p in parts]) for k in parts[0]}


def _impossible(given: dict[str, np.ndarray]) -> np.ndarray:
    """Conditions that are no conditions: their reason, before anything is solved."""
    reason = np.full(len(given["age"]), "", dtype=object)
    for name, low, high, words in (
            ("temperature", 273.15, 323.15, "the temperature is outside 0 to 50 degC"),
            ("salinity", 1e-5, 0.13, "the salinity is outside the water's curves, which end at 130 g/kg"),
            ("age", 0.0, 20 * YEAR.value, "the age is below zero or above 20 years"),
            ("fouling", 1e-3, 1.5, "the permeability left is outside 0.001 to 1.5"),
            ("recovery", 1e-3, 0.95, "the recovery is outside 0.1 to 95 %"),
            ("feed_pressure", 1e4, 200e5, "the feed pressure is outside 0.1 to 200 bar"),
            ("water_activation", 0.0, 90e3, "the activation energy is outside 0 to 90 kJ/mol"),
            ("water_factor", 1e-3, 1e3, "the factor on the permeabilities is outside 0.001 to 1000"),
            ("salt_factor", 1e-3, 1e3, "the factor on the permeabilities is outside 0.001 to 1000")):
        wrong = ~((given[name] >= low) & (given[name] <= high))
        reason[wrong & (reason == "")] = words
    return reason


@in_values
def _chunk(sized: Sized, control: str, wrong: np.ndarray, given: dict[str, np.ndarray],
           water: dict[str, np.ndarray]) -> dict[str, Any]:
    permeate = float(sized.duty.train_permeate)
    feed = None if control == "recovery" else feed_for.at("value", permeate_flow=permeate, recovery=given["recovery"])
    with np.errstate(all="ignore"):
        r = _array(sized, control, given, water, feed)
    with values(keep=False):
        run = _pressure_train(sized, control, r, given, water)
        said = run.pop("caution")
        recovery = recovery_of.at("recovery", permeate_flow=r["permeate_flow"], feed_flow=r["feed_flow"])
    reason = np.where(wrong != "", wrong, r["reason"])
    if control in _CONTROL_DRIVE:
        reason[(run["hp_reaches"] < 1) & (reason == "")] = _CONTROL_DRIVE[control][1]
    good = reason == ""
    answer = {k: r[k] for k in ("feed_pressure", "feed_flow", "permeate_flow", "feed_salinity", *_SHOWN) if k in r}
    answer |= {"recovery": recovery} | run
    return {k: np.where(good, v, np.nan) for k, v in answer.items()} | {
        "reason": reason, "caution": np.where(good, said, "")}


_CONTROL_DRIVE = {"throttle": ("no", "the pump at full speed does not reach the feed pressure"),
                  "speed": ("yes", "the pump would pass its maximum speed")}
"""Controls that say how the HP pump follows: with a speed drive or without, and what a case out of reach is told."""


def _pressure_train(sized: Sized, control: str, r: dict[str, Any], given: dict[str, np.ndarray],
                    water: dict[str, np.ndarray]) -> dict[str, Any]:
    """The sized equipment in all cases, in the values context."""
    machines = sized.pressure.machines
    if control in _CONTROL_DRIVE:
        drive = Choice(_CONTROL_DRIVE[control][0], id=machines.hp.drive.id)
        machines = replace(machines, hp=replace(machines.hp, drive=drive))
    line = dict(zip(("rho_0", "rho_1", "rho_15", "rho_2"), water["density"].T, strict=True))
    reject = Fluid(t.density_of.at("density", salinity=r["concentrate_salinity"], **line),
                   t.viscosity_of.at("viscosity", salinity=r["concentrate_salinity"],
                                     water_viscosity=water["water_viscosity"], temperature=given["temperature"]))
    case = Case(r["mixed_flow"], r["first_permeate_flow"], r["concentrate_flow"], r["feed_pressure"],
                r["concentrate_pressure"], sized.pretreated.suction.pressure,
                t.density_of.at("density", salinity=given["salinity"], **line), reject, _stage_pumps(sized, r))
    with values() as book:
        run = run_train(machines, case)
    passes = {"membrane": r}
    second = r["answer"].second
    if second is not None:
        passes["second_pass"] = worst(second.stages, r["answer"].reason).out | {"feed_pressure": second.pressure}
    found = {
        "hp_flow": run.recovery.hp_flow, "hp_rise": run.hp.pump_rise, "hp_speed": run.hp.speed_ratio,
        "hp_power": run.hp_power, "hp_load": run.hp.motor_load, "hp_reaches": run.hp.reaches,
        "booster_power": run.booster_power, "concentrate_power": run.concentrate_power,
        "section_power": run.section_power,
        "specific_energy": specific_energy.at("specific_energy", electric_power=run.section_power,
                                              product_flow=r["permeate_flow"]),
        "throttle_loss": throttling_loss.at("throttle_loss", flow=run.recovery.hp_flow,
                                            pressure_rise=run.hp.pump_rise, needed_rise=run.recovery.hp_rise),
        "exhaust_pressure": run.recovery.exhaust_pressure}
    return {k: np.broadcast_to(v, given["temperature"].shape) for k, v in found.items()} | {
        "caution": cautions(sized, passes, run, given["temperature"], r["feed_pressure"], book)}


def _stage_pumps(sized: Sized, r: dict[str, Any]) -> dict[str, StagePumpDuty]:
    plan: Plan = sized.array.plan
    answer: Answer = r["answer"]
    found: dict[str, StagePumpDuty] = {}
    for name, (row, place, second) in boosted_stages(plan).items():
        run = answer.second if second else answer.first
        assert run is not None
        found[name] = StagePumpDuty(run.stages[place].feed_flow, rise=row.boost)
    if answer.second is not None and plan.second is not None:
        found[SECOND_PASS_PUMP] = StagePumpDuty(answer.second.stages[0].feed_flow, discharge=answer.second.pressure,
                                                suction=plan.second["suction"])
    return found


def _sheet(sized: Sized, element: Any, given: dict[str, np.ndarray]) -> dict[str, Any]:
    book = sized.ledger
    return in_service(
        element, {"water": given["water_activation"]} | {k: float(book[f"membrane.{k}_activation"])
                                                         for k in ("salt", "boron", "borate")},
        given["temperature"], age=given["age"], fouling=given["fouling"],
        yearly_loss=float(book["membrane.yearly_flow_loss"]), yearly_rise=float(book["membrane.yearly_salt_rise"]),
        water_factor=given["water_factor"], salt_factor=given["salt_factor"])


def _array(sized: Sized, control: str, given: dict[str, np.ndarray], water: dict[str, np.ndarray],
           feed: np.ndarray | None) -> dict[str, Any]:
    """Stages and passes, with the caustic of the sized cases at the temperature between them."""
    w, plan = sized.waters, sized.array.plan
    ratio = given["salinity"] / float(w.analysis.salinity)
    held = _UNKNOWN[control]
    answer = plan.rated(
        given, water, lambda along: _sheet(sized, along, given),
        shift={"borate_shift": between(w, given["temperature"]), "borate_salinity": given["salinity"]},
        boron=float(w.boron) * ratio, ph=sized.feed.ph_total_at(given["temperature"], ratio), feed=feed,
        permeate=None if held == "permeate_flow" else float(sized.duty.train_permeate),
        pressure=None if held == "feed_pressure" else given["feed_pressure"])
    return _outputs(answer, water["density"])


def _outputs(answer: Answer, density: np.ndarray) -> dict[str, Any]:
    """Numbers by the names `rate` shows: the product of all passes, the worst stage of the first pass."""
    first, last = answer.first, answer.first.stages[-1]
    judged = worst(first.stages, answer.reason)
    feed, product, reject = answer.feed, answer.product, first.reject
    found: dict[str, Any] = dict(judged.out)
    found |= {
        "feed_pressure": first.pressure, "feed_flow": answer.raw.volume(density), "mixed_flow": feed.volume(density),
        "feed_salinity": t.ratio_of.at("value", solute=feed.salt,
                                       water=feed.water), "permeate_flow": answer.product_flow,
        "first_permeate_flow": first.permeate.volume(density),
        "permeate_tds": t.solute_concentration.at("value", solute=product.salt, flow=answer.product_flow),
        "permeate_boron": t.boron_concentration.at("value", solute=product.boron, flow=answer.product_flow),
        "concentrate_flow": reject.volume(density), "concentrate_salinity": t.ratio_of.at(
            "value", solute=reject.salt, water=reject.water),
        "concentrate_tds": t.solute_concentration.at("value", solute=reject.salt, flow=reject.volume(density)),
        "concentrate_pressure": last.out["concentrate_pressure"],
        "pressure_drop": np.sum([s.out["pressure_drop"] for s in first.stages], axis=0), "reason": answer.reason,
        "answer": answer}
    return found
