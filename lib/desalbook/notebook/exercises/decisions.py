"""Exercises that ask for a decision: judged by sizing the student's own plant, or by calculations with one error.

The plant is the invented harbour plant with a few inputs drawn by the seed. Whatever a student answers is tried on
it, so the reply says what that answer would do.
"""

from __future__ import annotations

import contextlib
import random
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from html import escape
from typing import Any

from desalbook import api, paths
from desalbook.controls import trial
from desalbook.dosing.dechlorination import dechlorination_dose
from desalbook.notebook.exercises.kit import Exercise, Reply, said
from desalbook.notebook.exercises.pressure import PRESSURE
from desalbook.notebook.exercises.water import WATER, mass_ratio
from desalbook.problems import DesignError, Problem
from desalbook.trail import Ledger, assumed
from desalbook.trail.systems import case_words
from desalbook.trail.words import low_first, verdict_words
from desalbook.units import KINDS, parse, show

__all__ = ["DECISIONS", "Decision", "Posed"]

_LETTERS = "ABCDEF"
_CASES = ("cold-new", "cold-aged", "design-new", "design-aged", "hot-new", "hot-aged")


@dataclass(frozen=True)
class Decision:
    """An exercise that asks for a decision.

    Parameters
    ----------
    key, title : str
    level : int
    text : str
        The question.
    pose : callable
        (exercise, seed) -> `Posed`.
    """

    key: str
    title: str
    level: int
    text: str
    pose: Callable[[Decision, str], Posed]

    def draw(self, seed: object) -> Posed:
        """The question as it is put to one student."""
        return self.pose(self, str(seed))


@dataclass
class Posed:
    """A decision as it is put to one student.

    Parameters
    ----------
    exercise : Decision
    seed : str
    rows : callable
        Display set -> (title, value) of each given.
    judge : callable
        (text, display set) -> Reply.
    right : callable
        Display set -> the answer in words.
    steps : sequence of str
        Hints.
    form : str
        How an answer is written, with an example.
    listed : callable, optional
        Display set -> what is to be chosen from, as (mark, words).
    why : callable, optional
        Display set -> the way to the answer, as HTML.
    slips : callable, optional
        Display set -> (key, answer) of wrong answers that have a name.
    """

    exercise: Decision
    seed: str
    rows: Callable[[str], list[tuple[str, str]]]
    judge: Callable[[str, str], Reply]
    right: Callable[[str], str]
    steps: Sequence[str]
    form: str
    listed: Callable[[str], list[tuple[str, str]]] = field(default=lambda units: [])
    why: Callable[[str], str] = field(default=lambda units: "")
    slips: Callable[[str], list[tuple[str, str]]] = field(default=lambda units: [])

    def parts(self, units: str = "si") -> list[tuple[str, str, str, str]]:
        """Title, symbol, value and unit of each given apart, for a table."""
        return [(title, "", *_split(value)) for title, value in self.rows(units)]

    def question(self, units: str = "si") -> list[tuple[str, str]]:
        """Title and value of each given."""
        return self.rows(units)

    def check(self, text: str, units: str = "si") -> Reply:
        """Judge an answer."""
        if not text.strip():
            return Reply(False, f"Enter an answer, {self.form}.", judged=False)
        return self.judge(text.strip(), units)

    def hints(self) -> list[str]:
        """Steps in words."""
        return [f"Step {n} of {len(self.steps)}: {x}" for n, x in enumerate(self.steps, 1)]

    def answer(self, units: str = "si") -> str:
        """The answer in words."""
        return self.right(units)

    def wrong(self, units: str = "si") -> list[tuple[str, str]]:
        """Key and answer of wrong answers that have a name."""
        return self.slips(units)

    def solution(self, units: str = "si") -> str:
        """The way to the answer, as HTML."""
        return (f'<div class="desalbook"><p>{escape(self.right(units))}</p>{self.why(units)}</div>')

    def options(self, units: str = "si") -> list[tuple[str, str]]:
        """What is to be chosen from, as (mark, words)."""
        return self.listed(units)

    @property
    def within(self) -> str:
        """How exact an answer must be; a decision is right or not."""
        return ""

    @property
    def unit(self) -> str:
        """An answer as an example."""
        return self.form


def _split(value: str) -> tuple[str, str]:
    number, _, unit = value.partition(" ")
    return (number, unit) if re.fullmatch(r"[-\d.\u2009]+", number) else (value, "")


# the plant ---------------------------------------------------------------------------------------------------


@lru_cache(maxsize=1)
def _base() -> Any:
    return api.read(paths.demo("harbour-town.toml"))


@lru_cache(maxsize=64)
def _plant(changes: tuple[tuple[str, str], ...]) -> Any:
    """The harbour plant with some keys written otherwise; a `Problem` where there is none."""
    design = _base()
    for key, text in changes:
        design = design.with_value(key, text)
    return api.size(design)


def _fails(changes: Sequence[tuple[str, str]], units: str = "si") -> list[dict[str, Any]]:
    return [r for r in _plant(tuple(changes)).judged(units) if r["verdict"] == "fails"]


def _told(rows: Sequence[dict[str, Any]]) -> str:
    """Failing checks in words, the first two by name."""
    some = "; ".join(f"{r['title']} {verdict_words(r['verdict'], r['margin'])}" for r in rows[:2])
    return some + (f"; and {len(rows) - 2} more" if len(rows) > 2 else "")


def _given(changes: Sequence[tuple[str, str]], keys: Sequence[str]) -> Callable[[str], list[tuple[str, str]]]:
    def rows(units: str) -> list[tuple[str, str]]:
        plant = _plant(tuple(changes))
        return [(plant[key].title or key, plant.show(key, units)) for key in keys]
    return rows


def _letter(text: str, options: Sequence[Any]) -> int | None:
    mark = text.strip(" .:,()").upper()
    n = _LETTERS.find(mark) if len(mark) == 1 else -1
    return n if 0 <= n < len(options) else None


# choose a recovery -------------------------------------------------------------------------------------------

_LOW, _HIGH = 36, 52


def _recovery(ex: Decision, seed: str) -> Posed:
    by = random.Random(f"{ex.key}/{seed}")
    changes = [("product.boron_limit", f"{by.choice((0.9, 0.95, 1.0, 1.05, 1.1, 1.2))} mg/L as B"),
               ("water.temperature_hot", f"{by.choice((27, 28, 29, 30))} degC"),
               ("water.temperature_cold", f"{by.choice((12, 14, 16))} degC")]

    def at(per_cent: int) -> list[dict[str, Any]]:
        return _fails([*changes, ("membrane.recovery", f"{per_cent} %")])

    @lru_cache(maxsize=1)
    def best() -> int:
        for y in range(_HIGH, _LOW - 1, -1):
            with contextlib.suppress(Problem):
                if not at(y):
                    return y
        raise DesignError("a check fails at every recovery", where=ex.key, value=seed, do="take another seed")

    def judge(text: str, units: str) -> Reply:
        try:
            value = parse(text, KINDS["fraction"], "answer") * 100
        except DesignError as problem:
            return Reply(False, str(problem), judged=False)
        if abs(value - round(value)) > 1e-6:
            return Reply(False, "Enter a whole per cent, such as 41 %.", judged=False)
        y = round(value)
        if not _LOW <= y <= _HIGH:
            return Reply(False, f"{y} % is outside what a single stage is asked here, {_LOW} to {_HIGH} %: less wastes "
                                "pretreated water, more scales and polarises.", "range")
        try:
            wrong = at(y)
        except Problem as problem:
            return Reply(False, f"At {y} % there is no plant: {problem}", "too-high")
        if wrong:
            return Reply(False, f"At {y} % a check fails: {_told(wrong)}. Lower the recovery.", "too-high")
        if y < best():
            return Reply(False, f"At {y} % no check fails, but a higher recovery passes as well.", "too-low")
        return Reply(True, f"Right: {y} %. At {y + 1} %: {_told(at(y + 1))}.")

    return Posed(ex, seed, _given(changes, ("product.boron_limit", "water.temperature_cold", "water.temperature_hot")),
                 judge, lambda units: f"{best()} %; at {best() + 1} %: {_told(at(best() + 1))}.",
                 ("Open 00-start, enter these values, and raise RO recovery in whole per cents.",
                  "Hot water and aged membranes pass the most boron: look at that check first.",
                  "The highest recovery at which no check fails is the answer; marginal counts as passing."),
                 "a whole per cent such as 41 %")


# mend a failing plant ----------------------------------------------------------------------------------------

_BROKEN = (
    ("membrane.vessels", "24"), ("membrane.recovery", "48 %"), ("product.ph_target", "8.7"),
    ("dechlorination.dose_ratio", "1"), ("membrane.pressure_class", "vessel-69"), ("cartridge.count", "60"),
    ("hp_pump.motor", "200 kW"), ("cip.flow_per_vessel", "5 m3/h"), ("backwash_pump.motor", "11 kW"),
    ("membrane.element", "demo-a-standard"), ("storage.retention_time", "0.2 h"), ("membrane.vessels", "44"),
)
_ANSWER = re.compile(r"^([a-z_0-9.\[\]-]+)\s*=\s*\"?(.+?)\"?$")


def _mend(ex: Decision, seed: str) -> Posed:
    key, bad = random.Random(f"{ex.key}/{seed}").choice(_BROKEN)
    broken = [(key, bad)]

    def judge(text: str, units: str) -> Reply:
        got = _ANSWER.match(text)
        if got is None:
            return Reply(False, "Enter one key and its new value, such as membrane.vessels = 30.", judged=False)
        what, value = got[1], got[2]
        if what.startswith(("limits.", "specification.")) or what.endswith(("_limit", "_margin")) or "limit" in what:
            return Reply(False, f"{what} moves the limit, not the plant: the person who set it would have to agree.",
                         "moved-the-limit")
        try:
            left = _fails([*broken, (what, value)], units)
        except Problem as problem:
            return Reply(False, str(problem), "no-plant")
        was = {r["id"] for r in _fails(broken)}
        still, new = [r for r in left if r["id"] in was], [r for r in left if r["id"] not in was]
        if still:
            return Reply(False, f"With {what} = {value} it still fails: {_told(still)}.", "still-fails")
        if new:
            return Reply(False, f"That passes, but now another check fails: {_told(new)}.", "moved-the-fault")
        return Reply(True, f"Right: with {what} = {value} no check fails.")

    def rows(units: str) -> list[tuple[str, str]]:
        return [(r["title"], verdict_words(r["verdict"], r["margin"])) for r in _fails(broken, units)]

    def why(units: str) -> str:
        todo = "".join(f"<li>{escape(r['title'])}: {escape(r['do'])}</li>" for r in _fails(broken, units))
        return f"<p>{escape(key)} was set to {escape(bad)}. What the checks advise:</p><ul>{todo}</ul>"

    was = str(_base().get(key)) if _base().stands(key) else "auto"
    return Posed(ex, seed, rows, judge,
                 lambda units: f"{key} back from {bad} to what it was ({_shown(key, was)}), or another change of one "
                               "key after which no check fails.",
                 ("Read which checks fail, and what they have in common.",
                  "Ask which one input they all follow: a count, a rating, a set point.",
                  "Enter that key with a value that leaves some margin; a limit is not yours to move."),
                 "one key and its value, such as membrane.vessels = 30", why=why)


def _shown(key: str, was: str) -> str:
    if was == "auto":
        return "auto"
    value = _base().get(key)
    return _plant(()).show(key) if isinstance(value, float) else str(value)


# find the planted error --------------------------------------------------------------------------------------

_CALCULATIONS = tuple(e for e in (*WATER, *PRESSURE) if e.level < 3)
_ROWS = 5


def _planted(ex: Decision, seed: str) -> Posed:
    by = random.Random(f"{ex.key}/{seed}")
    some: list[Exercise] = by.sample(_CALCULATIONS, _ROWS)
    drawn = [e.draw(f"{seed}/{n}") for n, e in enumerate(some)]
    at = by.randrange(_ROWS)
    slip = by.choice(drawn[at].exercise.mistakes)

    def result(n: int, units: str) -> str:
        d = drawn[n]
        return said(d.exercise.wrong(d.values, slip) if n == at else d.right, d.exercise.answer, units)

    def listed(units: str) -> list[tuple[str, str]]:
        return [(str(n + 1), f"{d.exercise.title}: " + ", ".join(f"{low_first(t)} {v}"
                                                                for t, v in d.question(units))
                 + f". Result: {result(n, units)}.") for n, d in enumerate(drawn)]

    def judge(text: str, units: str) -> Reply:
        text = re.sub(r"^calculation\s+", "", text.strip(" .()"), flags=re.IGNORECASE)
        if not re.fullmatch(r"[1-9]", text) or int(text) > _ROWS:
            return Reply(False, f"Enter the number of the calculation that is wrong, 1 to {_ROWS}.", judged=False)
        n = int(text) - 1
        if n != at:
            return Reply(False, f"Calculation {text} is right: its numbers give {result(n, units)}. Do it again step "
                                "by step, then the next one.", "sound-line")
        return Reply(True, f"Right. {slip.words} The result should be {drawn[at].answer(units)}.")

    return Posed(ex, seed, lambda units: [], judge,
                 lambda units: f"Calculation {at + 1}, {drawn[at].exercise.title}: {slip.words} The result should be "
                               f"{drawn[at].answer(units)}.",
                 ("Do each calculation roughly, to one digit: an error of a unit or of a square shows at once.",
                  "Where the rough value fits, ask whether each given was used.",
                  "What is left is done exactly."),
                 f"the number of the wrong calculation, 1 to {_ROWS}", listed=listed,
                 why=lambda units: drawn[at].solution(units))


# defend a dose -----------------------------------------------------------------------------------------------


def _dose(ex: Decision, seed: str) -> Posed:
    by = random.Random(f"{ex.key}/{seed}")
    residual, multiple = round(by.uniform(0.3, 0.9), 2), by.choice((1.5, 1.75, 2.0, 2.5))
    dosed = round(residual + by.uniform(0.8, 2.0), 2)

    def of(chlorine: float, row: str, times: float) -> float:
        book = Ledger()
        with book.recording():
            c, m = (assumed(f"given.{n}", v, k, title=t, symbol=s, source="exercise") for n, v, k, t, s in (
                ("residual", chlorine * 1e-3, "concentration as Cl2", "Chlorine, as Cl2", "C"),
                ("multiple", times, "factor", "Dose ratio to stoichiometric", "m")))
            return float(dechlorination_dose.at("dechlorination.dose", residual_chlorine=c,
                                                per_chlorine=mass_ratio(row), bisulfite_multiple=m))

    right = of(residual, "nahso3-per-cl2", multiple)
    claims = [
        ("", right, "It follows from the residual where it is dosed, the mass of NaHSO3 for each mass of chlorine, and "
                    "the stated dose ratio; ORP confirms it in operation.", ""),
        ("dosed", of(dosed, "nahso3-per-cl2", multiple), "It follows from the chlorine dosed at the intake, so that "
         "nothing can pass.", "The seawater takes up most of the chlorine on its way: only the residual where "
                              "bisulfite is dosed must go. The rest uses up oxygen."),
        ("bare", of(residual, "nahso3-per-cl2", 1.0), "It is exactly stoichiometric; more would be wasted.",
         "Flow, residual and strength vary: without the dose ratio any swing leaves chlorine for the polyamide."),
        ("meta", of(residual, "na2s2o5-per-cl2", multiple), "It follows from the residual, the dose ratio and the "
         "mass ratio of metabisulfite.", "The tank holds NaHSO3, with one sulfur a molecule; the ratio of Na2S2O5, "
                                         "which has two, gives too little."),
    ]
    by.shuffle(claims)
    at = next(n for n, c in enumerate(claims) if not c[0])

    def listed(units: str) -> list[tuple[str, str]]:
        return [(_LETTERS[n], f"{show(dose, 'concentration', units)} of NaHSO3. {words}")
                for n, (_, dose, words, _) in enumerate(claims)]

    def judge(text: str, units: str) -> Reply:
        n = _letter(text, claims)
        if n is None:
            return Reply(False, f"Enter one letter, {_LETTERS[0]} to {_LETTERS[len(claims) - 1]}.", judged=False)
        key, _, _, flaw = claims[n]
        if key:
            return Reply(False, f"Not this one. {flaw}", key)
        return Reply(True, f"Right: {show(right, 'concentration', units)}, and each factor in it has a reason.")

    def rows(units: str) -> list[tuple[str, str]]:
        return [("Chlorine dosed at the intake, as Cl2", show(dosed * 1e-3, "concentration as Cl2", units, trim=True)),
                ("Residual where bisulfite is dosed, as Cl2",
                 show(residual * 1e-3, "concentration as Cl2", units, trim=True)),
                ("Dose ratio to stoichiometric", f"{multiple:g}")]

    return Posed(ex, seed, rows, judge,
                 lambda units: f"{_LETTERS[at]}: {show(right, 'concentration', units)}. {claims[at][2]}",
                 ("What must be removed: what was dosed, or what is left at that point?",
                  "NaHSO3 has a molar mass of 104 g/mol and takes one Cl2 of 70.9 g/mol.",
                  "The dose ratio covers what varies; say so, and what it costs."),
                 "one letter", listed=listed)


# the governing case, and the first limit ---------------------------------------------------------------------

_GOVERNED = {"membrane.feed_pressure": "the RO feed pressure",
             "membrane.permeate_boron": "the boron of the permeate",
             "membrane.permeate_tds": "the TDS of the permeate",
             "membrane.lead_flux": "the flux of the lead element"}


def _governing(ex: Decision, seed: str) -> Posed:
    by = random.Random(f"{ex.key}/{seed}")
    id = by.choice(tuple(_GOVERNED))
    changes = [("water.temperature_cold", f"{by.choice((10, 12, 14, 16))} degC"),
               ("water.temperature_hot", f"{by.choice((26, 28, 30))} degC"),
               ("membrane.age", f"{by.choice((2, 3, 4))} year")]
    cases = list(_CASES)
    by.shuffle(cases)

    def values() -> dict[str, float]:
        plant = _plant(tuple(changes))
        return {c: float(plant[f"{id}@{c}"]) for c in cases}

    def best() -> str:
        got = values()
        return max(got, key=lambda c: got[c])

    def listed(units: str) -> list[tuple[str, str]]:
        return [(_LETTERS[n], case_words(c)) for n, c in enumerate(cases)]

    def judge(text: str, units: str) -> Reply:
        n = _letter(text, cases)
        if n is None:
            return Reply(False, f"Enter one letter, {_LETTERS[0]} to {_LETTERS[len(cases) - 1]}.", judged=False)
        plant, case = _plant(tuple(changes)), best()
        here, there = plant.show(f"{id}@{cases[n]}", units), plant.show(f"{id}@{case}", units)
        if cases[n] != case:
            return Reply(False, f"When {case_words(cases[n])} it is {here}; there is a case in which it is higher.",
                         f"took-{cases[n]}")
        return Reply(True, f"Right: {there} when {case_words(case)}. {_REASON[id]}")

    rows = _given(changes, ("water.temperature_cold", "water.temperature_hot", "membrane.age"))
    return Posed(ex, seed, lambda units: [("Asked for", _GOVERNED[id]), *rows(units)], judge,
                 lambda units: f"{case_words(best())}: {_plant(tuple(changes)).show(f'{id}@{best()}', units)}. "
                               f"{_REASON[id]}",
                 ("Which property of water and membrane decides it: permeability for water, or for salt?",
                  "How does that change with temperature, and how with age?"), "one letter", listed=listed)


_REASON = {
    "membrane.feed_pressure": "Cold water and aged membranes resist the flow most: the highest pressure.",
    "membrane.permeate_boron": "Hot water and aged membranes pass the most boron.",
    "membrane.permeate_tds": "Hot water and aged membranes pass the most salt.",
    "membrane.lead_flux": "Hot water and new membranes make the first element draw more than its share.",
}


def _first(ex: Decision, seed: str) -> Posed:
    by = random.Random(f"{ex.key}/{seed}")
    changes = [("product.boron_limit", by.choice(("1.0 mg/L as B", "1.05 mg/L as B", "2.4 mg/L as B"))),
               ("water.temperature_hot", f"{by.choice((27, 28, 29, 30))} degC"),
               ("membrane.age", f"{by.choice((2, 3, 4))} year")]

    @lru_cache(maxsize=1)
    def found() -> tuple[int, list[dict[str, Any]]]:
        for y in range(38, 61):
            rows = [r for r in _fails([*changes, ("membrane.recovery", f"{y} %")]) if r["margin"] is not None]
            if rows:
                return y, rows
        raise DesignError("no check fails below 60 %", where=ex.key, value=seed, do="take another seed")

    others = ("Boron of the product, with margin", "TDS in product, max", "Average flux", "Retention time of the raw "
              "water tank", "Recovery of one element", "Filtration rate, all in service", "pH of the product, max")

    @lru_cache(maxsize=1)
    def titles() -> tuple[str, ...]:
        bad = [r["title"] for r in found()[1]]
        some = [t for t in others if t not in bad]  # of what fails together, one alone is offered
        order = random.Random(f"{ex.key}/{seed}/order")
        whole = [bad[0], *order.sample(some, 3)]
        order.shuffle(whole)
        return tuple(whole)

    def judge(text: str, units: str) -> Reply:
        got = _letter(text, titles())
        if got is None:
            return Reply(False, f"Enter one letter, {_LETTERS[0]} to {_LETTERS[len(titles()) - 1]}.", judged=False)
        y, rows = found()
        if titles()[got] != rows[0]["title"]:
            at = next(r for r in _plant((*changes, ("membrane.recovery", f"{y} %"))).judged(units)
                      if r["title"] == titles()[got])
            return Reply(False, f"Not that one: at {y} %, where another check fails, it is still within its limit "
                                f"({verdict_words(at['verdict'], at['margin'])}).", "another-check")
        return Reply(True, f"Right: at {y} %. {rows[0]['title']}: {verdict_words('fails', rows[0]['margin'])}.")

    return Posed(ex, seed, _given(changes, [key for key, _ in changes]), judge,
                 lambda units: f"{found()[1][0]['title']}, at {found()[0]} %.",
                 ("More recovery concentrates what the last element sees, and asks more pressure.",
                  "Compare how near each check is at 42 %: 03-membranes lists the limits, the nearest first."),
                 "one letter", listed=lambda units: [(_LETTERS[n], t) for n, t in enumerate(titles())])


# where the energy is lowest ----------------------------------------------------------------------------------

_TRIED = (36, 40, 44, 48)
_DEVICES = {"isobaric": "isobaric ERD with booster pump", "pelton": "Pelton turbine on the shaft",
            "turbocharger": "hydraulic turbocharger"}


def _lowest(ex: Decision, seed: str) -> Posed:
    by = random.Random(f"{ex.key}/{seed}")
    device = by.choice(tuple(_DEVICES))
    changes = [("energy_recovery.device", device), ("membrane.age", f"{by.choice((2, 3, 4, 5))} year"),
               ("water.temperature_design", f"{by.choice((18, 20, 22, 24, 26))} degC")]
    id = "energy.plant_specific"

    @lru_cache(maxsize=1)
    def plants() -> list[Any]:
        return [_plant((*changes, ("membrane.recovery", f"{y} %"))) for y in _TRIED]

    def best() -> int:
        return min(range(len(_TRIED)), key=lambda n: float(plants()[n][id]))

    def judge(text: str, units: str) -> Reply:
        n = _letter(text, _TRIED)
        if n is None:
            return Reply(False, f"Enter one letter, {_LETTERS[0]} to {_LETTERS[len(_TRIED) - 1]}.", judged=False)
        here = f"At {_TRIED[n]} % the plant takes {plants()[n].show(id, units)}"
        if n != best():
            side = "higher" if n < best() else "lower"
            return Reply(False, f"{here}; at a {side} recovery it takes less. {_WEIGHED}", f"too-{_SIDE[side]}")
        return Reply(True, f"Right. {here}. {_WEIGHED}")

    rows = _given(changes, ("membrane.age", "water.temperature_design"))
    return Posed(ex, seed, lambda units: [("Energy recovery", _DEVICES[device]), *rows(units)], judge,
                 lambda units: f"{_LETTERS[best()]}, {_TRIED[best()]} %: {plants()[best()].show(id, units)}. "
                               f"{_WEIGHED}",
                 ("More recovery means less seawater to pump and filter, and a higher feed pressure.",
                  "Ask how much of the pressure in the concentrate the device gives back: the less, the more a large "
                  "concentrate flow costs.",
                  "Open 08-studies, set the device, and move RO recovery through these values."),
                 "one letter", listed=lambda units: [(_LETTERS[n], f"{y} %") for n, y in enumerate(_TRIED)])


_WEIGHED = "Pretreatment is spread over more product as recovery rises, and the feed pressure rises with it."
_SIDE = {"higher": "low", "lower": "high"}


# what stops the train ----------------------------------------------------------------------------------------

_STOPS = {
    "feed_pump fails": ("the feed pump stops", "low suction pressure",
                        "The HP pump loses its suction before anything else changes."),
    "hp_pump fails": ("the HP pump stops", "low concentrate flow",
                      "Without pressure nothing flows through the vessels to the concentrate."),
    "dosing empty": ("the day tank of the dechlorination agent runs empty", "empty day tank",
                     "The level of the day tank acts before chlorine comes to the probe."),
    "chlorine high": ("more chlorine comes than the dechlorination agent takes", "high ORP",
                      "The ORP probe sees what chlorine is left, upstream of the RO membranes."),
    "concentrate shuts": ("the concentrate control valve shuts", "high feed pressure",
                          "What cannot leave raises the pressure in the vessels within seconds."),
    "raw water stops": ("no raw water comes", "low level of the raw tank",
                        "The tank carries the train for its retention time, then its level stops it."),
    "orp frozen": ("the signal of the ORP probe stands still", "nothing",
                   "A signal that stands still within its range looks healthy; a test of the probe finds it."),
}
"""Fault of the trial: in words, what stops the train first, and why. The trial judges; a test compares the two."""


@lru_cache(maxsize=len(_STOPS))
def _stopped(fault: str) -> str:
    """What stops the train first, by the trial."""
    return trial.first_cause(_plant(()).sized.control.train, trial.Case((fault,), "run")) or "nothing"


def _stop(ex: Decision, seed: str) -> Posed:
    by = random.Random(f"{ex.key}/{seed}")
    fault = by.choice(tuple(_STOPS))
    words, usual, why = _STOPS[fault]
    others = [what for _, what, _ in _STOPS.values() if what != usual]
    options = [usual, *by.sample(others, 4)]
    by.shuffle(options)

    def judge(text: str, units: str) -> Reply:
        n = _letter(text, options)
        if n is None:
            return Reply(False, f"Enter one letter, {_LETTERS[0]} to {_LETTERS[len(options) - 1]}.", judged=False)
        if options[n] != _stopped(fault):
            return Reply(False, f"Not {options[n]}. Follow the water from the place of the fault: what is measured "
                                "there moves first.", f"took-{options[n].replace(' ', '-')}")
        return Reply(True, f"Right: {options[n]}. {why}")

    return Posed(ex, seed, lambda units: [("Train", "in service"), ("Fault", words)], judge,
                 lambda units: f"{_stopped(fault)}. {why}",
                 ("Where in the train does it happen, and what is measured next to it?",
                  "A trip needs a value that moves beyond its set point and stays there for its delay.",
                  "A signal that stands still within its range does not trip."),
                 "one letter", listed=lambda units: [(_LETTERS[n], x) for n, x in enumerate(options)])


DECISIONS = (
    Decision("choose-recovery", "Choose a recovery", 3,
             "The harbour plant of the demo, with the water and the contract below and all else as delivered. Find the "
             "highest RO recovery, in whole per cents, at which no check fails.", _recovery),
    Decision("mend", "Mend a failing plant", 3,
             "Somebody changed one input of the harbour plant, and these checks fail now. Give one key and a value "
             "with which no check fails.", _mend),
    Decision("planted-error", "Find the planted error", 2,
             "Of these calculations one has a usual mistake in it; the others are right. Which one is wrong?",
             _planted),
    Decision("defend-dose", "Defend a dose", 2,
             "A reviewer asks why sodium bisulfite is dosed as it is. Which of these answers can be defended?", _dose),
    Decision("governing-case", "Which case governs", 2,
             "The harbour plant is calculated with cold, design and hot water, with new and aged membranes. In which "
             "case is the value asked for at its highest?", _governing),
    Decision("first-limit", "Which check fails first", 3,
             "The recovery of the harbour plant is raised from 38 % in whole per cents, and the plant is sized anew "
             "each time. Which check is the first to fail?", _first),
    Decision("lowest-energy", "Where the energy is lowest", 3,
             "The harbour plant is sized at four RO recoveries, with the ERD and the water below and all else as "
             "delivered. At which of them is the energy of the whole plant, for its net product, lowest?", _lowest),
    Decision("first-trip", "What stops the train first", 2,
             "A train of the harbour plant is in service when a fault comes, and nobody does anything. What stops the "
             "train first?", _stop),
)
"""In the order they are set."""
