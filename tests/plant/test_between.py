"""Runs between stages and passes: sized, rated and listed, and every valve on them bears a size."""

from __future__ import annotations

import pytest

from desalbook.api import Plant
from desalbook.plant import size
from tests import shared
from tests.plant.test_hand_valves import judge
from tests.plants import path as plant_file
from tests.random_designs import feasible

BARE = ("intake_pump", "scour_blower", "dosing_")
"""Units on no run of the line list: others' intake, air, and the valves of a dosing skid."""


def sized_valves(plant) -> None:
    judge(plant)
    owners = {r["tag"]: r["key"] for r in plant.sized.equipment}
    blank = [r["tag"] for r in plant.hand_valves.to_dict("records") if not r["size"]
             and not owners.get(r["of"], "").startswith(BARE)]
    assert not blank


@pytest.mark.full
def test_a_second_pass_has_lines_of_its_own():
    plant = shared.plant(shared.designs.read(plant_file("boron")))
    sized_valves(plant)
    lines = plant.line_list.set_index("key")
    ends = {k: (lines.loc[k, "begins"], lines.loc[k, "ends"]) for k in lines.index if str(k).startswith("second-")}
    assert ends == {"second-suction": ("V-301", "P-311"), "second-feed": ("P-311", "V-302"),
                    "second-stages": ("V-302", "V-303"), "second-return": ("V-303", "P-301")}
    pump = plant.sized.pressure.machines.stage_pumps["second_pass_pump"]
    assert lines.loc["second-feed", "flow"] == float(pump.flow)
    found = plant.sized.sections["second-pass"]
    assert float(found.pressures.credible) == pytest.approx(
        float(plant["membrane.second_pass.suction"]) + 1.25 * float(pump.pressure_rise)
        + float(found.pressures.surge), rel=1e-12)
    schedule = plant.equipment.set_index("tag")
    assert schedule.loc["V-302", "rated_pressure"] == float(found.rating) < schedule.loc["V-301", "rated_pressure"]
    assert "S31603" in schedule.loc["P-311", "material"], "permeate asks for no super duplex"


@pytest.mark.full
def test_a_second_stage_is_fed_by_a_line_of_the_class_of_its_vessels():
    plant = Plant(size(feasible(4), recording=False))
    sized_valves(plant)
    line = plant.line_list.set_index("key").loc["interstage"]
    assert (line["begins"], line["ends"]) == ("V-301", "V-302")
    rows = plant.hand_valves.set_index("tag")
    assert rows.loc["HV-V301-5", "line"] == rows.loc["HV-V302-1", "line"] == "interstage"
    assert rows.loc["HV-V302-5", "line"] == "concentrate-high"
    assert line["flow"] == max(float(made.stages[plant.sized.array.plan.rows[1].prefix]["feed_flow"])
                               for made in plant.sized.array.staged.values())


def test_a_plain_train_has_none():
    assert not [k for k in shared.plant().sized.pipes if k.startswith(("second-", "interstage"))]
