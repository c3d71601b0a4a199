"""Guideline limits of dosing: each has one home, a check that it moves, and a key by which a design states its own."""

from __future__ import annotations

import pytest

import desalbook as db
from desalbook import paths
from desalbook.design import from_text

HARBOUR = db.read(paths.demo("harbour-town.toml"))
# check, what fails it, and the limit that lets the same pass
CASES = {
    "chlorination.dose.check": ({"chlorination.demand": "2.0 mg/L as Cl2"},
                                {"limits.hypochlorite_continuous": "3 mg/L as Cl2"}),
    "chlorination.shock_dose.check": ({"chlorination.shock_dose": "20 mg/L as Cl2"},
                                      {"limits.hypochlorite_shock": "25 mg/L as Cl2"}),
    "coagulation.dose_maximum.check": ({"coagulation.dose_maximum": "12 mg/L"}, {"limits.coagulant_iron": "15 mg/L"}),
    "antiscalant.dose.check": ({"antiscalant.dose": "6 mg/L as product"},
                               {"limits.antiscalant_dose": "8 mg/L as product"}),
    "acid.target_ph.check": ({"acid.present": "yes", "acid.target_ph": "6.2"}, {"limits.acid_ph": "6.0"}),
    "dosing.day_tank_time.check": ({"dosing.day_tank_time": "36 h"}, {"limits.day_tank_high": "48 h"}),
    "dosing.draw_down_time.check": ({"dosing.draw_down_time": "20 s"}, {"limits.calibration_time": "15 s"}),
    "injection.probe.check": ({"injection.points[dechlorination].travel_time": "5 s"}, {"limits.probe_time": "4 s"}),
    "injection.probe_late.check": ({"injection.points[dechlorination].travel_time": "30 s"},
                                   {"limits.probe_time_late": "40 s"}),
}
POINTS = "".join(f'[[injection.points]]\nname = "{n}"\ntravel_time = "15 s"\n' for n in (
    "chlorination", "coagulation", "filter", "acid", "antiscalant", "dechlorination", "orp", "biocide", "cartridge",
    "pump"))


DESIGN = from_text(HARBOUR.text + "\n" + POINTS, HARBOUR.path)


def checks(changes: dict[str, str]):
    return db.size(DESIGN.with_values(changes)).checks.set_index("id")["verdict"]


@pytest.fixture(scope="module")
def usual():
    return checks({})


@pytest.mark.parametrize("id", CASES)
def test_a_limit_is_judged_and_may_be_stated_by_the_design(usual, id):
    beyond, own = CASES[id]
    assert usual.get(id, "passes") in ("passes", "marginal")
    assert checks(beyond)[id] == "fails"
    assert checks(beyond | own)[id] in ("passes", "marginal")


def test_a_verdict_that_hangs_on_a_default_says_so():
    plant = db.size(HARBOUR)
    for id in ("injection.probe.check", "chlorination.ageing.check", "chlorination.pressure.check"):
        assert plant.sized.ledger.lines[id].more.get("assumed"), id
    written = db.size(DESIGN).sized.ledger.lines["injection.probe.check"]
    assert not written.more.get("assumed")
