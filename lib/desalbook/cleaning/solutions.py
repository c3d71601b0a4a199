"""Cleaning solutions and steps: what circulates, how hot it may be, what is spent, and the sequence in time."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Literal

from desalbook.cleaning.inputs import Cip
from desalbook.guidelines import limit_key
from desalbook.problems import DesignError, TrailError
from desalbook.tables import table
from desalbook.trail import Figure, assumed, checked, constant, engine, note, relation, total, where
from desalbook.trail.inputs import Inputs
from desalbook.trail.limits import limit
from desalbook.units import M3, Factor, K, Kg, KgPerM3, MassFraction, Molality, MolarMass, PHNbs, S, metas
from desalbook.water.phreeqc import EngineRecord, Water, dose, dose_to_ph, engine_record

__all__ = [
    "CAUTION", "SOLUTIONS", "Solution", "Step", "acid_for_alkali", "alkali_for_acid", "alkali_molality",
    "chemical_solutions", "citrate_charge", "sequence", "sequence_time", "solutions", "steps", "temperature_allowed",
    "train_time",
]

CAUTION = (
    "CIP solutions cause burns; acid and hypochlorite make chlorine gas. Wear face shield, gloves and apron, keep "
    "safety showers near, and never let acid meet hypochlorite or bisulfite."
)
CITRIC = constant("M_cit", 0.192124, "kg/mol", source="iupac-weights", title="Molar mass of citric acid")
CAUSTIC = constant("M_NaOH", 0.039997, "kg/mol", source="iupac-weights", title="Molar mass of NaOH")
PK_1 = constant("pK_1", 3.13, "1", source="crc-handbook", title="First constant of citric acid at 25 degC")
PK_2 = constant("pK_2", 4.76, "1", source="crc-handbook", title="Second constant of citric acid at 25 degC")
PK_3 = constant("pK_3", 6.40, "1", source="crc-handbook", title="Third constant of citric acid at 25 degC")
ROOM_TEMPERATURE = constant("T_r", 298.15, "K", source="definition",
                            title="Neutralisation temperature")


@dataclass(frozen=True)
class Solution:
    """What circulates in a cleaning.

    Parameters
    ----------
    key, title : str
        What the table of steps writes, and what people read.
    step : str
        Stem of its keys in the design (``cip.<step>_ph``, ``cip.<step>_share``); empty where nothing is added.
    batch : str
        Title of the chemical for one batch.
    limit, sense : str
        Key of the element's limit of pH in cleaning, and how the pH must lie to it.
    role : str
        Role of its colour in pictures.
    """

    key: str
    title: str
    role: str
    step: str = ""
    batch: str = ""
    limit: str = ""
    sense: Literal["", "<=", ">="] = ""

    def __post_init__(self) -> None:
        if self.step:
            for name in ("batch", "limit", "sense"):
                if not getattr(self, name):
                    raise TrailError(f"a solution with a chemical needs its {name}", where=self.key)
            for name in (f"{self.step}_ph", f"{self.step}_fraction"):
                if name not in metas(Cip):
                    raise TrailError("the section has no such key", where=f"cip.{name}")


SOLUTIONS: dict[str, Solution] = {
    one.key: one for one in (
        Solution("permeate", "permeate", "product"),
        Solution("alkaline", "alkaline", "chemical", "alkali", "Sodium hydroxide for one batch", "ph_cleaning_high",
                 "<="),
        Solution("acid", "acid", "energy", "acid", "Citric acid for one batch", "ph_cleaning_low", ">="),
    )
}


@dataclass(frozen=True)
class Step:
    """One step of a cleaning: what circulates, how long (s), what is done."""

    key: str
    title: str
    solution: Solution
    time: float
    does: str


def steps() -> tuple[Step, ...]:
    """Steps of a cleaning, in their order.

    Raises
    ------
    DesignError
        A row names a solution that is not registered.
    """
    made = []
    for row in table("cleaning_steps").rows.values():
        if (solution := row["solution"].value) not in SOLUTIONS:
            raise DesignError("no such solution", where=f"{row.where}.solution", value=solution,
                              do=f"enter one of {', '.join(SOLUTIONS)}")
        made.append(Step(row.key, row.title, SOLUTIONS[solution], row["time"].value, row["does"].value))
    return tuple(made)


table("cleaning_steps").require("solution", "time", "does")
steps()


def chemical_solutions() -> tuple[Solution, ...]:
    """Solutions with a chemical, acid before alkali, as their chemicals are listed."""
    return tuple(sorted((one for one in SOLUTIONS.values() if one.step), key=lambda one: one.step))


@relation(
    "Maximum temperature at this pH",
    symbol="T_max",
    unit="K",
    source="common-practice",
    note="from memory: 45 degC at pH 2 to 10, 35 degC at pH 1 to 11, 30 degC beyond; the element's sheet governs",
)
def temperature_allowed(ph: PHNbs, middle_temperature: K, mild_temperature: K, wide_temperature: K) -> K:
    """Maximum cleaning temperature at a pH: the further from neutral, the cooler.

    A common staircase from memory; the element's own sheet governs, and steps need a margin of pH.
    """
    return where(
        (ph >= 2) * (ph <= 10), mild_temperature, where((ph >= 1) * (ph <= 11), middle_temperature, wide_temperature)
    )


@relation(
    "Charge of citrate",
    symbol="z_cit",
    unit="1",
    source="crc-handbook",
    place="pK 3.13, 4.76, 6.40 at 25 degC; from memory",
    note="activities neglected, some 0.3 in pK in such solutions",
)
def citrate_charge(ph: PHNbs) -> Factor:
    """Charge of citrate: moles of alkali that a mole of citric acid has taken up at a pH.

    Constants at infinite dilution: in a solution of 2 % they lie some 0.3 lower.
    """
    return (10 ** (ph - PK_1) + 2 * 10 ** (2 * ph - PK_1 - PK_2) + 3 * 10 ** (3 * ph - PK_1 - PK_2 - PK_3)) / (
        1 + 10 ** (ph - PK_1) + 10 ** (2 * ph - PK_1 - PK_2) + 10 ** (3 * ph - PK_1 - PK_2 - PK_3)
    )


@relation("Sodium hydroxide to neutralise the acid step", symbol="m_n", unit="kg", source="definition")
def alkali_for_acid(acid_mass: Kg, citrate_charge: Factor) -> Kg:
    """Sodium hydroxide to neutralise the spent acid step.

    From the acid's own pH, where hardly any is charged; scale it dissolved has taken up part already.
    """
    return acid_mass / CITRIC * citrate_charge * CAUSTIC


@relation("Acid to neutralise the alkaline step", symbol="m_n", unit="kg", source="definition")
def acid_for_alkali(amount: Molality, molar_mass: MolarMass, tank_volume: M3, density: KgPerM3) -> Kg:
    """Acid to neutralise the spent alkaline step of one full tank.

    Rinse water dilutes and changes nothing; carbon dioxide of the air saves some acid.
    """
    return amount * molar_mass * tank_volume * density


@relation("Sodium hydroxide in the alkaline solution", symbol="m_OH", unit="mol/kg", source="definition")
def alkali_molality(solution_share: MassFraction) -> Molality:
    """Sodium hydroxide in the alkaline solution, moles per kilogram of water.

    Nothing else in it: cleaners with complexing agents or buffers hold more.
    """
    return solution_share / (CAUSTIC * (1 - solution_share))


@relation("Time of one sequence", symbol="t_seq", unit="s", source="definition")
def sequence_time(step_times: S) -> S:
    """Time of one cleaning sequence: all steps one after another.

    Without warming the next batch, which can go on beside it.
    """
    return total(step_times)


@relation("Time to clean one train", symbol="t_tr", unit="s", source="definition")
def train_time(sequence_time: S, cleaning_turns: Factor) -> S:
    """Time to clean one train: bank after bank.

    A batch may serve two banks; then it is shorter.
    """
    return sequence_time * cleaning_turns


@lru_cache(maxsize=256)
def _spent(amount: float, target: float) -> tuple[float, float]:
    """pH of sodium hydroxide in permeate, and hydrochloric acid (mol/kg) that brings it to a pH."""
    room = ROOM_TEMPERATURE.value
    water, found = dose(Water((("Na", 1e-3), ("Cl", 1e-3)), 0.0, 1e-5, None, room), room, {"NaOH": amount})
    return found.ph, dose_to_ph(water, room, target, "HCl", "fresh")


def solutions(
    inp: Inputs, *, tank: Figure, density: Figure, batches: Mapping[str, Figure], element: Mapping[str, Figure]
) -> None:
    """Judge pH and temperature of both steps against the element, and neutralise what is spent.

    Parameters
    ----------
    inp : Inputs
    tank, density : Figure
        Volume of one batch, m3, and its density, kg/m3.
    batches : mapping
        kg of chemical in one batch, by step.
    element : mapping
        Limits of the element's sheet; what is missing is not judged.
    """
    _limits(inp, element)
    target = inp.number("cip.waste_ph")
    made = alkali_molality.at("cip.alkali_molality", solution_share=inp.number("cip.alkali_fraction"))
    ph, needed = _spent(float(made), float(target))
    record: EngineRecord = engine_record("fresh")

    def said(id: str, value: float, kind: str, title: str, symbol: str, inputs: dict[str, Any], remark: str) -> Figure:
        return engine(id, value, kind, title=title, symbol=symbol, inputs=inputs, library=record.library,
                      version=record.library_version, data=record.database, checksum=record.sha256,
                      source="phreeqc-2013", note=remark)

    alone = said("cip.alkali_ph_alone", ph, "ph.nbs", "pH of the sodium hydroxide alone", "pH",
                 {"amount": made}, "at 25 degC, in permeate, nothing else added")
    held = inp.number("cip.alkali_ph")
    over = float(alone) - float(held) > 0.1
    note("cip.alkali_ph.trim", title="CIP alkaline pH", verdict="review" if over else "passes",
         why=f"the dose alone would reach pH {float(alone):.1f}, above the target pH of the step" if over
         else "the dose reaches the pH the step is held at, and no more",
         do="dose to pH using a pH meter in the CIP return line, not by mass; or use a buffered cleaner",
         inputs={"alone": alone, "held": held}, caution=CAUTION)
    amount = said("cip.waste_acid_amount", needed, "molality", "HCl per litre of spent alkaline solution",
                  "m_HCl", {"alkali": made, "target": target}, "closed; carbon dioxide of the air neglected")
    row = table("chemicals")["hydrochloric-acid"]
    mass = assumed("cip.waste_acid_molar_mass", row["molar_mass"].value, "molar mass", title="Molar mass of HCl",
                   symbol="M", text=row["molar_mass"].text, source="iupac-weights", table="chemicals", row=row.key)
    acid_for_alkali.at("cip.waste_acid", amount=amount, molar_mass=mass, tank_volume=tank, density=density,
                         title="HCl per spent alkaline batch")
    charge = citrate_charge.at("cip.citrate_charge", ph=target)
    alkali_for_acid.at("cip.waste_alkali", acid_mass=batches["acid"], citrate_charge=charge)


def _limits(inp: Inputs, element: Mapping[str, Figure]) -> None:
    temperature = inp.number("cip.temperature")
    lines = {}
    for name, key in (("mild", "cleaning-temperature"), ("middle", "cleaning-temperature-middle"),
                      ("wide", "cleaning-temperature-wide")):
        lines[f"{name}_temperature"] = limit(key, id=f"{limit_key(key)}_step")
    for step in (one.step for one in chemical_solutions()):
        ph = inp.number(f"cip.{step}_ph")
        allowed = temperature_allowed.at(f"cip.{step}_temperature_maximum", ph=ph, **lines)
        checked(f"cip.{step}_temperature_maximum.check", temperature, "<=", allowed,
                title=f"CIP temperature at its pH, {step} step",
                do="lower cip.temperature, or bring the pH nearer to neutral", caution=CAUTION,
                source="common-practice")
    for one in chemical_solutions():
        if one.limit in element:
            checked(f"cip.{one.step}_ph.check_element", inp.number(f"cip.{one.step}_ph"), one.sense,
                    element[one.limit], title=f"CIP pH within element limit, {one.step} step",
                    do="the element's sheet forbids this pH in cleaning: bring it nearer to neutral", caution=CAUTION)
    if "max_temperature" in element:
        checked("cip.temperature.check_element", temperature, "<=", element["max_temperature"],
                title="CIP temperature within element limit", do="lower cip.temperature", caution=CAUTION)


def sequence(turns: Figure) -> Figure:
    """The steps of one bank and the time for a train, in s."""
    done = steps()
    times = assumed("cip.steps", [one.time for one in done], "time.minute", title="Steps of a cleaning", symbol="t_i",
                    axis="step", keys=tuple(one.key for one in done), source="common-practice", table="cleaning_steps")
    whole = sequence_time.at("cip.sequence_time", step_times=times)
    return train_time.at("cip.train_time", sequence_time=whole, cleaning_turns=turns)
