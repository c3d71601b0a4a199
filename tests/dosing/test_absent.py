"""A step that is not in the plant has no figures: not its dose, its strength, nor anything else of its section."""

from __future__ import annotations

import pytest

import desalbook as db
from desalbook import paths
from desalbook.dosing import MAY_BE_ABSENT

DEMOS = {name: db.read(paths.demo(f"{name}.toml")) for name in ("harbour-town", "beach-well")}
REASON = "tried without"


def of_step(plant: db.Plant, step: str) -> set[str]:
    return {i for i in plant.figures().index if i.startswith(f"{step}.")}


@pytest.mark.parametrize("name", DEMOS)
def test_absent_steps_have_no_figures(name):
    plant = db.size(DEMOS[name])
    absent = [s for s in MAY_BE_ABSENT if str(plant.sized.ledger[f"{s}.present"]) == "no"]
    assert len(absent) >= 3
    for step in absent:
        assert not of_step(plant, step), step


def test_a_dose_that_is_written_for_an_absent_step_is_no_figure():
    design = DEMOS["harbour-town"].with_values({"antiscalant.present": "no", "antiscalant.reason": REASON,
                                                "coagulation.present": "no", "coagulation.reason": REASON})
    assert {"dose"} <= set(design.written["antiscalant"]) & set(design.written["coagulation"])
    plant = db.size(design)
    for step in ("antiscalant", "coagulation"):
        assert not of_step(plant, step)
        assert f"{step}.dose" not in plant
        assert step not in set(plant.chemicals["key"]) and step not in set(plant.streams["key"])
    assert "dechlorination.dose" in plant
