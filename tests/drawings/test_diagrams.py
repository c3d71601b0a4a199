"""Process and line diagram: every tag of the schedule that water meets is drawn, and none that is not there."""

from __future__ import annotations

import re

import pytest

from desalbook.api import Plant
from desalbook.drawings.diagrams import Item, line_diagram, process_diagram, strips
from tests import shared
from tests.pack.test_offer import AREA
from tests.plants import path as plant_file
from tests.random_designs import feasible

DRY = ("TR-", "G-", "CP-", "PFC-", "BU-", "RO-", "FC-")
"""Units on no way of the water, and elements and cartridges, which are inside what is drawn."""


def tags(plant) -> tuple[set[str], set[str], set[str]]:
    of = plant.sized
    rows = {r["tag"] for r in of.equipment if not r["key"].startswith(("instrument[", "valve["))
            and not r["tag"].startswith(DRY) and not r["key"].startswith(("day_tank", "bulk_storage"))}
    return rows, {v["tag"] for v in of.valves}, {
        i["tag"] for i in of.control.rows()} | {x["tag"] for x in of.control.safety if x["kind"]}


def drawn(plant) -> list[str]:
    """Tags of what is drawn as itself, ways to it apart."""
    found = []
    for strip in strips(plant):
        for i in strip.items:
            found += [i.tag] if i.kind not in ("way", "pipe", "fittings", "hook-up") else []
            found += [*i.valves, *i.instruments, *i.doses, *(tag for _, tag in i.marks)]
    return found


BY_HAND = re.compile(r"\b(?:HV|NRV|RD)-[A-Z]+\d{3}-\d\b")


def judge(plant) -> None:
    rows, valves, instruments = tags(plant)
    found = drawn(plant)
    assert len(found) == len(set(found)), "drawn twice"
    hands = set(plant.hand_valves["tag"])
    assert set(found) == rows | valves | instruments | hands, (set(found) ^ (rows | valves | instruments | hands))
    said = "".join(line_diagram(plant))
    assert set(AREA.findall(said)) <= rows | valves | instruments
    assert set(BY_HAND.findall(said)) == hands and not BY_HAND.findall("".join(process_diagram(plant)))


def test_the_line_diagram_of_the_harbour_is_whole():
    judge(shared.plant())


@pytest.mark.full
@pytest.mark.parametrize("name", ("beach-well", "boron", "industrial-us"))
def test_the_line_diagram_of_each_plant_is_whole(name):
    judge(shared.plant(shared.designs.read(plant_file(name))))


@pytest.mark.full
def test_the_line_diagram_of_drawn_plants_is_whole():
    from desalbook.plant import size
    from desalbook.problems import Problem

    done = 0
    for seed in range(40, 43):
        try:
            plant = Plant(size(feasible(seed), recording=False))
        except Problem:
            continue
        judge(plant)
        done += 1
    assert done >= 2


@pytest.mark.parametrize("draw", (process_diagram, line_diagram))
def test_nothing_leaves_the_sheet_and_no_word_is_on_another(draw):
    """By the place of each text and an upper bound of its width; labels of one row stand apart."""
    for sheet in draw(shared.plant()):
        wide, high = (float(x) for x in re.search(r'viewBox="0 0 (\S+) (\S+)"', sheet).groups())
        boxes = []
        for x, y, anchor, words in re.findall(r'<text x="(\S+)" y="(\S+)" text-anchor="(\w+)"[^>]*>([^<]*)<', sheet):
            size = 6.3 * len(words)
            left = float(x) - {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor] * size
            assert left >= 0 and left + size <= wide and 12 <= float(y) <= high, words
            boxes.append((left, left + size, float(y), words))
        for n, (a, b, y, one) in enumerate(boxes):
            for c, d, z, other in boxes[n + 1:]:
                assert abs(y - z) > 9 or b <= c + 1 or d <= a + 1, (one, other)


def test_streams_are_the_plants():
    """Flow and pressure beside a run of the process diagram are those of the list of streams, in both systems."""
    from desalbook.units import show

    plant = shared.plant()
    stream = next(s for s in plant.sized.streams if s["key"] == "permeate")
    for units in ("si", "us"):
        said = "".join(process_diagram(plant, units))
        assert show(stream["volume_flow"], "flow", units, digits=3, trim=True, pretty=True) in said
        pump = next(s for s in plant.sized.stops["feed"] if s["key"] == "hp_pump")
        assert show(pump["pressure"], "gauge pressure", units, digits=3, trim=True) in said


def test_a_missing_unit_is_seen():
    plant = shared.plant()
    whole = strips(plant)
    assert any(i.tag == "F-201" for s in whole for i in s.items if i.kind == "filter")
    assert Item("way", "F-201", "Media filter") not in whole[0].items
