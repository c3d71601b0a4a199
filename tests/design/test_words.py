"""Keys in sentences as people read them."""

from __future__ import annotations

import re

import pytest

import desalbook as db
from desalbook import paths, summary
from desalbook.design.words import KEY, entry, place, titled
from desalbook.notebook.keys import linked


def test_a_key_in_a_remedy_has_its_title_beside_it():
    assert titled("choose a higher design_pressure.class_cleaning") == (
        'choose a higher "Class of the CIP circuit" (design_pressure.class_cleaning)')
    assert titled("set filters.scour = none, or deepen the bed").endswith("(filters.scour = none), or deepen the bed")
    assert titled("at 2.5 m/s, see e.g. the sheet") == "at 2.5 m/s, see e.g. the sheet"


def test_an_entry_of_a_list_is_named_too():
    assert entry("piping.runs[permeate]") == "Piping, run permeate" and entry("piping.runs") is None
    assert '"Piping, run permeate" (piping.runs[permeate])' in titled("widen piping.runs[permeate]")
    assert '<span title="piping.runs[permeate]">Piping, run permeate</span>' in linked("widen piping.runs[permeate]")


@pytest.mark.parametrize("name", ["harbour-town.toml", "beach-well.toml"])
def test_no_remedy_shows_a_bare_key(name):
    plant = db.size(db.read(paths.demo(name)))
    seen = 0
    for line in plant.ledger.lines.values():
        do = line.more.get("do", "") if line.sort == "checked" else ""
        for hit in KEY.finditer(do):
            if place(hit[0]) or entry(hit[0]):
                seen += 1
                assert f"({hit[0]}" in titled(do) or f'", {hit[0]}' in titled(do), do
                plain = re.sub(r"<[^>]*>", "", linked(do))
                assert hit[0] not in plain, plain
    assert seen > 20
    assert "design_pressure." not in re.sub(r"\([^)]*\)", "", summary.text(plant))
