"""Schedules to read: the numbers of the tables, in the units of the set."""

from __future__ import annotations

import re

import pytest

from desalbook import face, paths
from desalbook.notebook import schedule_view
from desalbook.units import show


@pytest.fixture(scope="module")
def plant():
    return face.size(face.read(paths.demo("harbour-town.toml")))


def rows(html: str) -> list[list[str]]:
    return [re.findall(r"<t[hd][^>]*>(.*?)</t[hd]>", r) for r in html.split("<tr>")[1:]]


@pytest.mark.parametrize("units", ["si", "us"])
def test_chemicals(plant, units):
    head, *body = rows(schedule_view.chemicals(plant, units)._repr_html_())
    assert ("Store, m3" in head) == (units == "si") and ("Store, gal" in head) == (units == "us")
    for shown, row in zip(body, plant.chemicals.to_dict("records"), strict=True):
        assert shown[0] == row["title"] and len(shown) == len(head)
        for k, (key, _, kind) in enumerate(schedule_view._CHEMICALS):
            if kind:
                assert shown[k] == ("–" if row[key] != row[key] else show(row[key], kind, units, False, 3)), key
    assert "nan" not in str(body)


def test_washes_show_each_step_once(plant):
    head, *body = rows(schedule_view.washes(plant)._repr_html_())
    assert head[:3] == ["Time, min", "Filters of train A", "Feed pump, m3/h"]
    assert [r[1] for r in body[:7]] == ["A1 drain", "A1 scour", "A1 wash", "A1 settle", "A1 rinse", "A1 return",
                                        "all in service"]
    assert body[7][1] == "A2 drain" and float(body[2][3]) > 0 and len(body) == 16


def test_no_filters_is_said():
    well = face.size(face.read(paths.demo("beach-well.toml")))
    assert "no filters" in schedule_view.washes(well)._repr_html_()
