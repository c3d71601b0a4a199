"""The sequences hold under every single fault, each property can fail, and a trial replays from its case."""

from __future__ import annotations

from dataclasses import replace

import pytest

from desalbook.controls import trial as tr
from desalbook.notebook.pictures.controls import fault_course
from tests import shared

STEPS = tuple(tr.programme().steps)
OF = shared.sized().control.train


def found(own: tr.Programme, *faults: str, at: tuple[str, ...] = STEPS, of: tr.Train = OF) -> tr.Finding:
    """A trial of some faults at some steps, beside the case without one."""
    return tr.trial(of, own, tr.cases(at, faults))


def broken(finding: tr.Finding) -> set[str]:
    return {name for name, cases in finding.broken.items() if cases}


@pytest.mark.full
@pytest.mark.parametrize("name", (shared.HARBOUR, "beach-well.toml"))
def test_every_single_fault_at_every_step_is_borne(name):
    """All faults at all steps of both demo plants: nothing that must not happen does, and every case comes to rest."""
    of = shared.sized(name).control.train
    finding = tr.trial(of)
    assert len(finding.cases) > 400
    assert broken(finding) == set(), {k: finding.worst(k) for k in broken(finding)}
    assert set(finding.ends) <= {"idle", "locked"}
    assert finding.ends[0] == "idle"
    absent = set() if "booster" in of.has else {"balance"}
    assert finding.visited == set(STEPS) - absent


def test_a_train_without_fault_starts_runs_stops_and_rests():
    told = tr.trace(OF, tr.Case((), "run"))
    steps = [step for _, step, what in told if not what.startswith("fault")]
    assert steps == ["idle", "permit", "fill", "purge", "balance", "throttle", "ramp", "quality", "divert", "run",
                     "end-divert", "end-shut", "end-ramp", "end-rest", "flush", "drain", "idle"]


def test_a_trial_is_the_same_twice():
    case = tr.Case(("dosing empty", "orp frozen"), "run")
    assert tr.trace(OF, case) == tr.trace(OF, case)


RIGHT = tr.programme()
NO_FLOW = frozenset({"suction", "feed_pump feedback", "feed travel", "concentrate_flow"})
MISTAKES = {
    "no ORP trip and no switch in the day tank": (
        replace(RIGHT, without=frozenset({"orp", "dosing", "orp bad"})), OF, "dosing empty", "oxidant"),
    "a probe that is waited for too long": (RIGHT, replace(OF, orp_delay=150.0), "chlorine high", "oxidant"),
    "no high-pressure trips": (
        replace(RIGHT, without=frozenset({"discharge", "permeate"})), OF, "concentrate shuts", "over-pressure"),
    "the dump shuts before there is a way to product": (
        replace(RIGHT, without=frozenset({"permeate"})).changed("quality", dump="shut"), OF, "suction frozen",
        "back-pressure"),
    "no alarm of quality": (replace(RIGHT, without=frozenset({"quality alarm"})), OF, "seal leaks", "product"),
    "an alarm of quality that comes too late": (
        replace(RIGHT, times={**RIGHT.times, "quality-delay": 1200.0}), OF, "seal leaks", "product"),
    "a ramp three times too fast": (replace(RIGHT, ramp_factor=2.1), OF, "suction frozen", "ramp"),
    "the feed valve shuts before the HP pump stands": (
        replace(RIGHT, without=NO_FLOW).changed("end-ramp", feed="shut"), OF, "suction frozen", "dry"),
    "dosing stops with the way to product": (RIGHT.changed("end-ramp", dosing="off"), OF, "suction frozen", "undosed"),
    "a trip leaves the feed running without dosing": (
        RIGHT.changed("trip", feed="open", feed_pump="on"), OF, "permeate high", "undosed"),
    "the flush valve opens while the HP pump runs down": (
        RIGHT.changed("end-ramp", flush="open"), OF, "suction frozen", "mixed"),
    "pumps do not wait for their valves": (replace(RIGHT, interlocked=False), OF, "flush stuck", "dead-head"),
}
"""A mistake in the programme (or a train that does not suit it), the fault that shows it, the property it breaks."""


@pytest.mark.parametrize("name", MISTAKES)
def test_a_planted_mistake_is_found(name):
    own, of, fault, wanted = MISTAKES[name]
    finding = found(own, fault, at=("quality", "run", "flush"), of=of)
    assert wanted in broken(finding)
    seconds, case = finding.worst(wanted)
    assert case.faults in ((), (fault,))
    assert any(tr.PROPERTIES[wanted] in what for _, _, what in tr.trace(of, case, own))
    assert seconds < 2000.0


def test_every_property_can_fail():
    assert {wanted for *_, wanted in MISTAKES.values()} == set(tr.PROPERTIES)


def test_the_right_programme_bears_what_finds_the_mistakes():
    faults = tuple(sorted({fault for _, _, fault, _ in MISTAKES.values()}))
    assert broken(found(RIGHT, *faults, at=("quality", "run", "flush"))) == set()


@pytest.mark.full
def test_pairs_of_faults():
    """Pairs within a budget: at start, in service, at stop and flush; what they break is named, not hidden."""
    finding = tr.trial(OF, None, tr.cases(tr.PAIRS_AT, pairs=True))
    assert 2000 < len(finding.cases) < 3000
    pairs = {name: {finding.cases[n].faults for _, n in cases} for name, cases in finding.broken.items() if cases}
    # a probe that stands still while more chlorine comes than the agent takes; a cell that stands still over a leak
    assert pairs == {"oxidant": {("orp frozen", "chlorine high")}, "product": {("conductivity frozen", "seal leaks")}}
    assert {finding.cases[n].at for _, n in finding.broken["oxidant"]} == {"ramp", "run", "end-ramp"}
    seconds, case = finding.worst("product")
    drawn = fault_course(tr.trace(OF, case), "Broken")
    assert "conductivity frozen, seal leaks" in drawn and tr.PROPERTIES["product"][3:] in drawn and seconds > 0


def test_the_plant_tells_its_sequences_and_what_a_trial_found():
    plant = shared.plant()
    steps = plant.sequences
    assert list(steps["key"])[:3] == ["idle", "permit", "fill"] and set(steps["then"]) <= set(steps["key"])
    assert not (steps["feed_pump"] == "on")[steps["key"].isin(["trip", "locked"])].any()
    well = shared.plant("beach-well.toml").sequences
    assert (well["dosing"] == "").all() and (steps["dosing"] == "on").any()


def test_a_trial_ends_when_all_is_at_rest():
    """Counted in seconds of the trial: it was 4054 whatever happened."""
    seconds = []
    tr.trial(OF, None, [tr.Case((), "run")], lambda: bool(seconds.append(1)))
    rest = tr.trace(OF, tr.Case((), "run"))[-1][0]
    assert rest < 64 * len(seconds) < rest + OF.level + 130
