"""Schedules to read: the numbers of the tables, in the units of the set."""

from __future__ import annotations

import re

import pandas
import pytest

from desalbook.fine import fine
from desalbook.notebook import tables
from desalbook.units import show
from tests import shared
from tests.rate_si import rate_si


@pytest.fixture(scope="module")
def plant():
    return shared.plant()


def rows(html: str) -> list[list[str]]:
    return [re.findall(r"<t[hd][^>]*>(.*?)</t[hd]>", r) for r in html.split("<tr>")[1:]]


@pytest.mark.parametrize("units", ["si", "us"])
def test_chemicals(plant, units):
    head, *body = rows(tables.chemicals(plant, units)._repr_html_())
    assert ("Bulk storage, m³" in head) == (units == "si") and ("Bulk storage, gal" in head) == (units == "us")
    for shown, row in zip(body, plant.chemicals.to_dict("records"), strict=True):
        assert shown[0] == row["title"] and len(shown) == len(head)
        for k, (key, _, kind) in enumerate(tables._CHEMICALS):
            if kind:
                assert shown[k] == ("–" if row[key] != row[key] else show(row[key], kind, units, False, 3)), key
    assert "nan" not in str(body)


def test_washes_show_each_step_once(plant):
    head, *body = rows(tables.washes(plant)._repr_html_())
    assert head[:3] == ["Time, min", "Filters of train A", "Feed pump, m³/h"]
    assert [r[1] for r in body[:7]] == ["A1 drain", "A1 scour", "A1 backwash", "A1 settle", "A1 filter to waste",
                                        "A1 return",
                                        "all in service"]
    assert body[7][1] == "A2 drain" and float(body[2][3]) > 0 and len(body) == 16


def test_the_other_tables_say_what_the_plant_says(plant):
    _, *checks = rows(tables.checks(plant, 12)._repr_html_())
    assert [r[1] for r in checks] == list(plant.checks["title"].head(12)) and "membrane.recovery" not in str(checks)
    _, *limits = rows(tables.limits(plant)._repr_html_())
    spare = [float(r[3]) for r in limits]
    assert spare == sorted(spare) and len({r[0] for r in limits}) == len(limits)
    flux = next(r for r in limits if r[0] == "Average flux")
    assert flux[1].split() == plant.show("membrane.flux").replace("m2", "m²").split() and flux[2].startswith("at most")
    _, *parts = rows(tables.pressures(plant)._repr_html_())
    governing = [show(x, "gauge pressure", "si", False, 3) for x in plant.design_pressures["governing"]]
    assert [r[4] for r in parts] == governing
    _, *out = rows(tables.outages(plant, "us")._repr_html_())
    assert [r[4] for r in out] == [show(x, "fraction", "us", False, 3) for x in plant.outages["product_left"]]
    _, *machines = rows(tables.machines(plant)._repr_html_())
    assert [int(r[3]) for r in machines] == list(plant.equipment["installed_total"])
    assert "nan" not in str((checks, limits, parts, out, machines))


def test_ratings_and_a_case_that_cannot_be_reached(plant):
    _, good, *_ = rows(tables.ratings(rate_si(plant, temperature=[293.15]))._repr_html_())
    assert good[0] == "20.0" and float(good[2]) > 50
    head, bad = rows(tables.ratings(rate_si(plant, temperature=[275.15], recovery=[0.75]))._repr_html_())
    assert len(bad) == len(head) and bad[-1] and bad[2] == "–"


def test_a_study_without_ids_and_empty_columns(plant):
    frame = pandas.DataFrame({"id": ["a.b=1", "a.b=2"], "a.b_c, m3/h": [1.0, float("nan")], "fails": [0, 12],
                              "worst": ["x.y", ""], "problem": ["", ""]})
    head, one, two = rows(tables.tidy(frame)._repr_html_())
    assert [re.sub("<wbr>", "", h) for h in head] == ["a.b_c, m³/h", "fails", "worst"]
    assert one[:2] == ["1.000", "0"] and two[:2] == ["–", "12"] and one[2] == "x.<wbr>y"


def test_print_has_exponents_and_formulas_but_what_is_typed_stays():
    assert fine('<a title="m3">5 m3/h, 2 L/(m2 h) as CaCO3</a>') == '<a title="m3">5 m³/h, 2 L/(m² h) as CaCO₃</a>'
    assert fine("water.ions[HCO3], m30, am2, x.m3 and NaOH") == "water.ions[HCO3], m30, am2, x.m3 and NaOH"


def test_no_filters_is_said():
    well = shared.plant("beach-well.toml")
    assert "no filters" in tables.washes(well)._repr_html_()


@pytest.mark.parametrize("units", ("si", "us"))
def test_instruments_in_their_own_units(plant, units):
    head, *body = rows(tables.instruments(plant, units)._repr_html_())
    for shown, row in zip(body, plant.instruments.to_dict("records"), strict=True):
        assert shown[0].replace("\N{NON-BREAKING HYPHEN}", "-") == row["tag"] and len(shown) == len(head)
        assert shown[head.index("highest")] == show(row["normal_high"], row["kind"], units, False, trim=True)
        assert (shown[head.index("High trip")] == "–") == (row["trip_high"] != row["trip_high"])
    assert "nan" not in str(body)


@pytest.mark.parametrize("name", (shared.HARBOUR, "beach-well.toml"))
def test_sequences_number_their_steps(name):
    plant = shared.plant(name)
    head, *body = rows(tables.sequences(plant)._repr_html_())
    steps = plant.sequences
    assert [r[1] for r in body] == list(steps["title"])
    assert [r[0] for r in body] == [str(n + 1) for n in range(len(body))]
    for shown, then, otherwise in zip(body, steps["then"], steps["otherwise"], strict=True):
        assert list(steps["key"])[int(shown[head.index("Then")]) - 1] == then
        assert list(steps["key"])[int(shown[head.index("Otherwise")]) - 1] == otherwise
    asked = next(r for r in body if r[1] == "HP pump down its ramp")
    assert "HP pump down its ramp" in asked[3] and "concentrate in control" in asked[2]
    assert ("ORP" in str(body)) == (steps["dosing"] == "on").any()


def test_a_step_left_out_leads_to_the_next(plant, monkeypatch):
    steps = plant.sequences
    monkeypatch.setattr(type(plant), "sequences", property(lambda _: steps[steps["key"] != "balance"]))
    head, *body = rows(tables.sequences(plant)._repr_html_())
    purge = next(r for r in body if r[1].startswith("Purge"))
    assert body[int(purge[head.index("Then")]) - 1][1] == "Concentrate valve into control"


@pytest.mark.full
def test_a_trial_says_which_pairs_break_what(plant):
    _, *body = rows(tables.trial(plant, pairs=True)._repr_html_())
    broken = {r[0]: r[2:] for r in body if r[2] != "0"}
    assert len(body) == 9 and list(broken) == ["No chlorine at the membranes beyond its time",
                                               "No product off its specification to the tank unseen"]
    assert all(float(r[1]) > 0 for r in broken.values())
    assert [r[3] for r in broken.values()] == ["HP pump up its ramp", "In service"]  # where the shortest trace breaks


def test_money_has_its_currency(plant):
    heads = rows(tables.costs(plant, "us")._repr_html_())[0]
    assert "Capital, USD" in heads and "Water, USD/kgal" in heads and not any("1/kgal" in h for h in heads)
