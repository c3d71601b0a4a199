"""Backwash, CIP, shock, exchange, flush and power failure hold under every single fault; each property can fail."""

from __future__ import annotations

from dataclasses import replace

import pytest

from desalbook.controls import unit_trial as ut
from desalbook.controls.trial import SIGNALS, Case, Finding
from desalbook.controls.unit_sequences import ALIASES, SEQUENCES, UNTIL, Units, listed_steps, unit_steps
from desalbook.plant import size
from desalbook.plant.sequences import actuators, measured_by, units_of
from desalbook.tables import table
from tests import shared

PLANTS = (shared.HARBOUR, "beach-well.toml")
OF = units_of(shared.sized())
ACID = replace(OF, has=OF.has | {"dosing_acid"})
"""The harbour train with an acid pump, which the demo does without."""


def broken(finding: Finding) -> set[str]:
    return {name for name, cases in finding.broken.items() if cases}


@pytest.mark.full
@pytest.mark.parametrize("name", PLANTS)
def test_every_single_fault_at_every_step_is_borne(name):
    """All sequences of both demos: nothing breaks, every step is reached, and every case comes to rest."""
    of = units_of(shared.sized(name))
    assert set(of.sequences) == set(SEQUENCES) - (set() if name == shared.HARBOUR else {"backwash", "shock"})
    for sequence in of.sequences:
        if (name, sequence) == ("beach-well.toml", "cip"):
            continue  # the same machines as in the harbour plant, at other times
        finding = ut.unit_trial(of, sequence)
        rig, steps = ut.RIGS[sequence], unit_steps(of, sequence)
        assert broken(finding) == set(), {k: finding.worst(k) for k in broken(finding)}
        assert finding.visited == set(steps), set(steps) - finding.visited
        assert len(finding.cases) == 1 + len(steps) * len(ut.faults_of(of, sequence))
        stays = {"pw-lost"} if sequence == "power" else set()  # a supply that stays lost
        assert set(finding.ends) <= {*rig.at_rest, *stays}
        assert finding.ends[0] in rig.at_rest and not finding.ends[0].endswith(("held", "off"))


@pytest.mark.full
def test_pairs_of_faults_at_the_main_steps():
    """What two faults break is named: a probe that stands still while the hypochlorite pump gives all it can."""
    broken_by = {}
    for sequence in OF.sequences:
        cases = ut.unit_cases(OF, sequence, pairs=True)
        assert len(cases) > 20
        finding = ut.unit_trial(OF, sequence, None, cases)
        broken_by |= {name: {finding.cases[n].faults for _, n in some}
                      for name, some in finding.broken.items() if some}
    assert broken_by == {"shock-oxidant": {("orp frozen", "hypochlorite pump at full stroke")}}


@pytest.mark.parametrize("acid", (False, True))
def test_a_shock_is_borne_with_and_without_acid(acid):
    of = ACID if acid else OF
    finding = ut.unit_trial(of, "shock")
    assert broken(finding) == set() and len(finding.cases) > 60
    assert any("dosing_acid" in fault for fault in ut.faults_of(of, "shock")) == acid


def _of(sequence: str, of: Units = OF) -> ut.UnitProgramme:
    return ut.unit_programme(of, sequence)


def _without(sequence: str, *names: str, of: Units = OF) -> ut.UnitProgramme:
    return replace(_of(sequence, of), without=frozenset(names))


SMALL = replace(OF, flush_tank=0.5 * OF.trains * OF.drawback)
TANK = replace(OF, source_volumes=1.2)
MISTAKES = {
    "filters": (_without("backwash", "one at a time"), OF, "all filters ask at once", "bw-isolate"),
    "unfiltered": (_of("backwash").changed("bw-rinse", until="time", least=30.0), OF, "", ""),
    "backwash-dead-head": (_without("backwash", "pump waits", "backwash-inlet-valve travel").changed(
        "bw-open", until="time"), OF, "backwash-inlet-valve stuck", "bw-open"),
    "media": (_of("backwash").changed("bw-drain", until="time", least=10.0), OF, "", ""),
    "backwash-dry": (_without("backwash", "source level", "low switch", of=TANK).changed(
        "bw-select", until="time"), TANK, "refill stops", "bw-select"),
    "cip-locked": (_without("cip", "lock", "HP lock"), OF, "HP pump not locked", "cip-idle"),
    "heater": (_without("cip", "heater waits", "thermostat", "cut-out", "hot").changed(
        "alkali-soak", run=("cip_heater",)), OF, "", ""),
    "hot": (_without("cip", "cut-out", "hot"), OF, "CIP temperature frozen", "alkali-make"),
    "acid-alkali": (_of("cip").changed("alkali-rinse", until="time", least=60.0), OF, "", ""),
    "release": (_of("cip").changed("acid-rinse", until="time", least=60.0), OF, "", ""),
    "cip-dead-head": (_without("cip", "pump waits", "CIP flow").changed("alkali-soak", run=("cip_pump",)), OF, "", ""),
    "acid-hypochlorite": (_without("shock", "acid feedback", of=ACID).changed(
        "shock-dose", run=(*_of("shock", ACID).steps["shock-dose"].run, "dosing_acid")), ACID, "", ""),
    "shock-oxidant": (_without("shock", "orp", "orp bad", "dosing"), OF, "dosing empty", "shock-dose"),
    "starved": (_of("exchange").changed("ex-start", run=("standby",)).changed("ex-refused", run=("standby",)), OF,
                "standby fails", "ex-start"),
    "both": (_without("exchange", "uncalled").changed("ex-stop", otherwise="ex-changed"), OF, "duty runs on",
             "ex-stop"),
    "draw-back": (_of("flush", SMALL), SMALL, "", ""),
    "flush-dry": (_without("flush", "reserve", "low switch", "flush level"), OF, "refill stops", "fl-rest"),
    "flush-dead-head": (_without("flush", "pump waits", "flush-valve travel").changed("fl-open", until="time"), OF,
                        "flush-valve stuck", "fl-open"),
    "one-train": (_without("flush", "flush-valve travel").changed("fl-shut", until="time"), OF, "flush-valve stuck",
                  "fl-shut"),
    "together": (_of("power").changed("pw-intake", run=("intake_pump", "product_pump")), OF, "", ""),
    "unasked": (_without("power", "a person"), OF, "", ""),
    "power-draw-back": (_of("power", SMALL), SMALL, "", ""),
}
"""By property: a mistake in the programme (or a plant that does not suit it), and the fault that shows it."""


def _told(name: str) -> list[str]:
    """What a trial of the mistake tells; the right programme bears the same fault."""
    own, of, fault, at = MISTAKES[name]
    sequence = next(s for s, rig in ut.RIGS.items() if name in rig.properties)
    case = Case((fault,) if fault else (), at)
    if fault:  # that it bears no fault at all is another test
        assert broken(ut.unit_trial(of, sequence, None, [case])) == set()
    return [what for _, _, what in ut.unit_trace(of, sequence, case, own)]


WORDS = {key: words for rig in ut.RIGS.values() for key, words in rig.properties.items()}
LONG = {p for s in ("cip", "backwash", "flush") for p in ut.RIGS[s].properties}


@pytest.mark.parametrize("name", sorted(set(MISTAKES) - LONG))
def test_a_planted_mistake_is_found(name):
    assert f"broken: {WORDS[name]}" in _told(name)


@pytest.mark.full
@pytest.mark.parametrize("name", sorted(LONG))
def test_a_planted_mistake_of_a_long_sequence_is_found(name):
    assert f"broken: {WORDS[name]}" in _told(name)


def test_a_trial_replays_from_its_case():
    own, of, fault, at = MISTAKES["shock-oxidant"]
    case = Case((fault,), at)
    told = ut.unit_trace(of, "shock", case, own)
    assert told == ut.unit_trace(of, "shock", case, own)
    assert any("broken" in what for _, _, what in told)


def test_every_property_can_fail():
    assert set(MISTAKES) == {p for rig in ut.RIGS.values() for p in rig.properties}


@pytest.mark.parametrize("name", PLANTS)
def test_every_actuator_is_in_the_schedule_and_every_machine_in_a_sequence(name):
    plant = shared.sized(name)
    moved = actuators(plant)
    listed = {row["key"].removeprefix("valve[").rstrip("]") for row in plant.equipment if row["installed_total"]}
    assert set(moved) <= listed, set(moved) - listed
    powered = {row["key"] for row in plant.equipment if row.get("electric_power") is not None}
    valves = {row["key"] for row in plant.valves if row["type"] != "relief"}
    assert powered | valves | {r["key"] for r in plant.equipment if r["key"] == "scour_blower"} <= set(moved)
    assert all(moved.values())


@pytest.mark.parametrize("name", PLANTS)
def test_every_signal_has_an_instrument_and_every_hard_wired_device_a_tag(name):
    """What a trial reads or rests on is in the list and the schedule; what stops a sequence is in its trial."""
    plant = shared.sized(name)
    by = {x.key: x for x in plant.control.instruments}
    listed = {row["tag"]: row["installed_total"] for row in plant.equipment}
    read = {measured_by(plant, s) for sequence in units_of(plant).sequences for s in ut.RIGS[sequence].signals}
    read |= {measured_by(plant, s) for s in SIGNALS if s != "orp" or "dosing" in plant.control.train.has}
    assert read <= set(by), read - set(by)
    assert all(listed[by[key].tag] == by[key].units for key in read)
    safe = {x["trial"] for x in plant.control.safety}
    tanks = {"low switch"} if "flush_pump" in units_of(plant).has else set()
    assert set(ut.HARD_WIRED) - {"low switch"} | tanks <= safe <= {*ut.HARD_WIRED, "emergency"}
    assert all(listed[x["tag"]] == x["count"] for x in plant.control.safety)
    signals = {r["key"] for r in plant.control.signals.rows}
    assert {x["key"] for x in plant.control.safety if x["signals"]} <= signals
    for key, group in {x.key: x.row["stop"].value for x in by.values() if "stop" in x.row}.items():
        assert group in ("train", "divert", "product pump") or (key in read or key.startswith("cip-")), key


@pytest.mark.parametrize("name", PLANTS)
def test_the_steps_are_those_of_the_machines_with_durations_of_the_design(name):
    plant = shared.sized(name)
    rows = listed_steps(of := units_of(plant))
    keys = [r["key"] for r in rows]
    assert len(set(keys)) == len(keys) and {r["until"] for r in rows} <= set(UNTIL)
    assert {r["then"] for r in rows} | {r["otherwise"] for r in rows} <= set(keys)
    assert {w for r in rows for w in (*r["open"].split(), *r["run"].split())} <= of.has | set(ALIASES)
    book = plant.ledger
    timed = [r for r in rows if r["time"]]
    assert timed and all(r["least"] == pytest.approx(float(book[r["time"]])) for r in timed)
    # of the other rows of the table nothing is there
    here = {key for key, row in table("unit_sequences").items() if row["sequence"].value in of.sequences}
    assert {k for k in here if "needs" not in table("unit_sequences")[k]} <= set(keys)
    assert ("bw-scour" in keys) == ("scour_blower" in of.has)


def test_no_step_doses_where_nothing_is_dosed():
    assert "pw-dose" in unit_steps(OF, "power")
    steps = unit_steps(replace(OF, has=OF.has - {"raw_dosing"}), "power")
    assert "pw-dose" not in steps and not any("raw_dosing" in s.run for s in steps.values())
    assert any("product_dosing" in s.run for s in steps.values())


def test_every_step_of_a_cleaning_has_its_place_in_the_sequence():
    named = {row["time"].value for row in table("unit_sequences").values() if "time" in row}
    assert {f"cip.steps[{key}]" for key in table("cleaning_steps")} <= named


def test_a_longer_backwash_is_a_longer_step():
    design = shared.plant().design.with_value("filters.backwash_time", "9 min")
    assert unit_steps(units_of(size(design, recording=False)), "backwash")["bw-water"].least == 540.0
