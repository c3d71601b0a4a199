"""A failing check never stands on a size the kit itself chose where the next size would pass.

Where the remedy of a failing check names a size that the design leaves blank, the plant is sized again with the next
size, smaller and larger: neither may pass that check without making another fail.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest

import desalbook as db
from desalbook.design import Design
from desalbook.plant import size
from desalbook.plant.hardware import chosen_hardware
from desalbook.pretreatment import storage
from desalbook.problems import Infeasible, Problem
from desalbook.trail import picked, values
from desalbook.units import KINDS
from desalbook.units.quantities import text_of
from tests.random_designs import feasible, of_draws
from tests.several import parted, several
from tests.shared import WELL, demo

_KEY = re.compile(r"\b[a-z_]+(?:\[[^\]]+\])?(?:\.[a-z_]+(?:\[[^\]]+\])?)+")


def failing(sized) -> dict[str, str]:
    """Remedy of each failing check, by id."""
    return {x.id: x.more["do"] for x in sized.ledger.lines.values()
            if x.sort == "checked" and x.more["verdict"] == "fails"}


def neighbours(line) -> Iterator[float]:
    """The next smaller and the next larger size of a pick: of its list, or one more and one less of a count."""
    here = float(line.value)
    if line.kind is KINDS["count"]:
        yield from (n for n in (here - 1, here + 1) if n >= 1)
        return
    sizes = sorted({float(c["value"]) for c in line.more["candidates"] if isinstance(c["value"], float | int)})
    yield from [x for x in sizes if x < here * (1 - 1e-9)][-1:]
    yield from [x for x in sizes if x > here * (1 + 1e-9)][:1]


def left_untried(design: Design) -> list[str]:
    """Checks that fail on a size of the kit's own while the next size passes, each with that size."""
    try:
        sized = size(design, recording=False)
    except Problem:
        return []
    own, before = chosen_hardware(sized), failing(sized)
    found = []
    for id, do in before.items():
        for key in dict.fromkeys(_KEY.findall(do)):
            line = sized.ledger.lines.get(key)
            if key not in own or line is None or line.sort != "picked" or isinstance(line.value, str):
                continue
            for value in neighbours(line):
                try:
                    after = failing(size(design.with_values({key: text_of(value, line.kind)}), recording=False))
                except Problem:
                    continue
                if id not in after and set(after) < set(before):
                    found.append(f"{id}: {key} = {value:g} passes, {float(line.value):g} was chosen")
    return found


def _share(seeds: list[int]) -> list[str]:
    return [f"{seed}: {x}" for seed in seeds for x in left_untried(feasible(seed))]


def test_a_size_left_untried_is_found(monkeypatch):
    """Planted: tanks counted one short, so that their water stands deeper than it may."""
    design = demo(WELL).with_values({"storage.retention_time": "600 min", "storage.height": "2 m"})
    assert left_untried(design) == []
    whole = storage._pick_count

    def short(prefix, *more):
        with values(keep=False):
            n = float(whole(prefix, *more))
        return picked(f"{prefix}.count", max(n - 1, 1.0), "count", title="Tanks", rule="one short", candidates=[],
                      inputs={})

    monkeypatch.setattr(storage, "_pick_count", short)
    (untried,) = left_untried(design)
    assert untried.startswith("storage.level.check: storage.count = ")


@pytest.mark.full
def test_no_failing_check_stands_on_a_size_where_the_next_passes():
    untried = [x for part in several(_share, parted(list(range(300, 300 + of_draws(150))), 10)) for x in part]
    assert not untried, "\n".join(untried)


@pytest.mark.parametrize(("device", "count"), [("isobaric", 2), ("pelton", 3)])
def test_more_hp_pumps_are_taken_where_no_motor_is_large_enough(device, count):
    """A train of 16 000 m3/d was refused whole because the list of motors ends at 1 000 kW."""
    large = demo().with_values({"duty.train_product_flow": "16 000 m3/d", "energy_recovery.device": device})
    plant = db.size(large)
    assert float(plant["hp_pump.duty_count"]) == count and float(plant["hp_pump.motor"]) <= 1e6
    pick = next(x for x in plant.picks if x.id == "hp_pump.duty_count")
    assert [c["won"] for c in pick.more["candidates"]] == [False] * (count - 1) + [True]
    row = plant.sized.equipment
    assert next(r for r in row if r["key"] == "hp_pump")["duty"] == count
    with pytest.raises(Infeasible, match="no standard motor is large enough"):
        db.size(large.with_value("hp_pump.duty_count", str(count - 1)))
    written = db.size(large.with_value("hp_pump.duty_count", str(count)))  # the same plant as with the key
    for id in ("hp_pump.motor", "energy.plant_specific", "cost.water"):
        if id in plant:
            assert float(plant[id]) == float(written[id]), id
    assert float(db.size(demo())["hp_pump.duty_count"]) == 1
