"""Cleaning solutions: limits of the element, neutralisation of what is spent, and the sequence in time."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import lru_cache
from typing import Any

from desalbook.cleaning import relations as r
from desalbook.guidelines import guideline, guideline_place
from desalbook.tables import table
from desalbook.trail import Figure, assumed, checked, engine, note
from desalbook.water.phreeqc_bridge import EngineRecord, Water, dose, dose_to_ph, engine_record

__all__ = ["CAUTION", "sequence", "solutions"]

CAUTION = (
    "Cleaning solutions burn; acid must never meet hypochlorite or bisulfite. Safety data sheets, the "
    "element maker's limits, local codes and licensed practice govern."
)
ROOM = 298.15  # K, at which spent solutions are neutralised


@lru_cache(maxsize=256)
def _spent(amount: float, target: float) -> tuple[float, float]:
    """pH of sodium hydroxide in permeate, and hydrochloric acid (mol/kg) that brings it to a pH."""
    water, found = dose(Water((("Na", 1e-3), ("Cl", 1e-3)), 0.0, 1e-5, None, ROOM), ROOM, {"NaOH": amount})
    return found.ph, dose_to_ph(water, ROOM, target, "HCl", "fresh")


def solutions(
    inp: Callable[[str], Any], *, tank: Figure, density: Figure, acid_mass: Figure, element: Mapping[str, Figure]
) -> None:
    """Judge pH and temperature of both steps against the element, and neutralise what is spent.

    Parameters
    ----------
    inp : callable
    tank, density : Figure
        Volume of one batch, m3, and its density, kg/m3.
    acid_mass : Figure
        kg of citric acid in one batch.
    element : mapping
        Limits of the element's sheet; what is missing is not judged.
    """
    _limits(inp, element)
    target = inp("cip.waste_ph")
    made = r.alkali_molality.at("cip.alkali_molality", solution_share=inp("cip.alkali_share"))
    ph, needed = _spent(float(made), float(target))
    record: EngineRecord = engine_record("fresh")

    def said(id: str, value: float, kind: str, title: str, symbol: str, inputs: dict[str, Any], remark: str) -> Figure:
        return engine(id, value, kind, title=title, symbol=symbol, inputs=inputs, library=record.library,
                      version=record.library_version, data=record.database, checksum=record.sha256,
                      source="phreeqc-2013", note=remark)

    alone = said("cip.alkali_ph_alone", ph, "ph.nbs", "pH of the sodium hydroxide alone", "pH",
                 {"amount": made}, "at 25 degC, in permeate, nothing else added")
    held = inp("cip.alkali_ph")
    over = float(alone) - float(held) > 0.1
    note("cip.alkali_ph.trim", title="pH of the alkaline step", verdict="caution" if over else "holds",
         why=f"the dose alone would reach pH {float(alone):.1f}, above the pH the step is held at" if over
         else "the dose reaches the pH the step is held at, and no more",
         do="add it by pH, with a meter in the return, not by weight; a buffering cleaner holds it",
         inputs={"alone": alone, "held": held}, caution=CAUTION)
    amount = said("cip.waste_acid_amount", needed, "molality", "Hydrochloric acid for the spent alkaline solution",
                  "m_HCl", {"alkali": made, "target": target}, "closed; carbon dioxide of the air left out")
    row = table("chemicals")["hydrochloric-acid"]
    mass = assumed("cip.waste_acid_molar_mass", row["molar_mass"].value, "molar mass", title="Molar mass of HCl",
                   symbol="M", text=row["molar_mass"].text, source="iupac-weights", table="chemicals", row=row.key)
    r.acid_for_alkali.at("cip.waste_acid", amount=amount, molar_mass=mass, tank_volume=tank, density=density,
                         title="Hydrochloric acid for one spent alkaline batch")
    charge = r.citrate_charge.at("cip.citrate_charge", ph=target)
    r.alkali_for_acid.at("cip.waste_alkali", acid_mass=acid_mass, citrate_charge=charge)


def _limits(inp: Callable[[str], Any], element: Mapping[str, Figure]) -> None:
    temperature = inp("cip.temperature")
    lines = {}
    for name, key in (("mild", "cleaning-temperature"), ("middle", "cleaning-temperature-middle"),
                      ("wide", "cleaning-temperature-wide")):
        limit = guideline(key)
        lines[f"{name}_temperature"] = assumed(
            f"limits.{key.replace('-', '_')}_step", limit.value, limit.kind, title=limit.title, source=limit.source,
            place=guideline_place(key), table="guidelines", row=key)
    for step in ("acid", "alkali"):
        ph = inp(f"cip.{step}_ph")
        allowed = r.temperature_allowed.at(f"cip.{step}_temperature_most", ph=ph, **lines)
        checked(f"cip.{step}_temperature_most.check", temperature, "<=", allowed,
                title=f"Temperature of the {step} step at its pH",
                do="lower cip.temperature, or bring the pH nearer to neutral", caution=CAUTION,
                source="common-practice")
    for step, sense, key in (("acid", ">=", "ph_cleaning_low"), ("alkali", "<=", "ph_cleaning_high")):
        if key in element:
            checked(f"cip.{step}_ph.check_element", inp(f"cip.{step}_ph"), sense, element[key],
                    title=f"Limit of the element in cleaning: pH of the {step} step",
                    do="the element's sheet forbids this pH in cleaning: bring it nearer to neutral", caution=CAUTION)
    if "max_temperature" in element:
        checked("cip.temperature.check_element", temperature, "<=", element["max_temperature"],
                title="Limit of the element in cleaning: temperature", do="lower cip.temperature", caution=CAUTION)


def sequence(turns: Figure) -> Figure:
    """The steps of one bank and the time for a train, in s."""
    rows = table("cleaning_steps").rows
    minutes = [row["time"].value for row in rows.values()]
    times = assumed("cip.steps", minutes, "time.minute", title="Steps of a cleaning", symbol="t_i", axis="step",
                    keys=tuple(rows), source="common-practice", table="cleaning_steps")
    whole = r.sequence_time.at("cip.sequence_time", step_times=times)
    return r.train_time.at("cip.train_time", sequence_time=whole, cleaning_turns=turns)
