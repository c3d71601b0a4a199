"""Comparison: the changed input is named first, and a chain of moved lines explains each turned check."""

from __future__ import annotations

import copy
import itertools
import sys
from types import SimpleNamespace

import pytest

from desalbook import api, cli, paths, plant
from desalbook.audit import compare
from desalbook.audit.compare import CHANGED, MOVED, RULES, TURNED
from desalbook.audit.compare_pages import carried
from desalbook.audit.graph import differs, parents
from desalbook.problems import DesignError
from desalbook.trail import record
from tests import fakes, shared
from tests.trail.build import calculation


@pytest.fixture(scope="module")
def harbour():
    return api.read(paths.demo("harbour-town.toml"))


@pytest.fixture(scope="module")
def base():
    return shared.recorded()


@pytest.fixture(scope="module")
def cold(harbour):
    """The same plant in colder water."""
    return api.size(harbour.with_values({"water.temperature_cold": "8 degC"})).record


def test_one_changed_input_is_named_first(base, cold):
    got = compare(base, cold)
    assert list(got.inputs["id"]) == ["water.temperature_cold"]
    row = got.inputs.iloc[0]
    assert row["sort"] == "given" and row["old"].startswith("14") and row["new"].startswith("8")
    assert tuple(got.inputs) == CHANGED and tuple(got.moved) == MOVED
    assert tuple(got.checks) == TURNED and tuple(got.rules) == RULES
    text = got.text()
    assert text.index("Minimum water temperature") < text.index("Checks that changed status")
    assert got.rules.empty and "the same" in text


@pytest.mark.full
@pytest.mark.parametrize("change", [
    {"water.temperature_cold": "8 degC"},
    {"duty.train_product_flow": "2700 m3/d"},
    {"water.temperature_hot": "36 degC"},
    {"chlorination.present": "no"},
])
def test_every_turned_check_has_a_chain_of_moved_lines(harbour, base, change):
    new = api.size(harbour.with_values(change)).record
    got = compare(base, new)
    key = next(iter(change))
    assert got.inputs["id"].iloc[0] == key
    # the keys of a step that goes are no longer there, and are listed below the choice that took it away
    assert len(got.inputs) == 1 or (key.endswith(".present") and all(
        id.startswith(f"{key.partition('.')[0]}.") for id in got.inputs["id"]))
    assert len(got.checks) > 0
    lines = {x["id"]: [x] for x in base["lines"]}
    for x in new["lines"]:
        lines.setdefault(x["id"], []).append(x)
    for row in got.checks.to_dict("records"):
        chain = row["chain"].split()
        assert chain[0] in set(got.inputs["id"]) and chain[-1] == row["id"] and len(chain) > 1
        for above, below in itertools.pairwise(chain):
            assert any(above in parents(x) for x in lines[below]), (above, below)
        assert all(id in got.change for id in chain)
        assert row["old"] != row["new"]


def test_nothing_moves_without_a_cause(base, cold):
    """Every moved line is reached from a changed input; a line that rests on none of them did not move."""
    got = compare(base, cold)
    assert all(got.chain(id)[0] == "water.temperature_cold" for id in got.moved["id"])
    assert "water.ions" not in got.change and "filters.rate" not in got.change


def test_figures_near_a_turned_check_come_first(base, cold):
    got = compare(base, cold)
    flips = list(got.moved["flips"] > 0)
    assert flips == sorted(flips, reverse=True) and any(flips) and not all(flips)
    judged = {x["inputs"]["provided"] for x in base["lines"] if x["id"] in set(got.checks["id"])}
    moved = got.moved.set_index("id")["flips"]
    assert judged & set(moved.index) and all(moved[i] > 0 for i in judged & set(moved.index))
    rest = got.moved[got.moved["flips"] == 0]["effect"]
    assert rest.is_monotonic_decreasing


def test_the_same_design_twice_differs_in_nothing(base, harbour):
    again = api.size(harbour).record
    got = compare(base, again)
    assert got.same and "Nothing differs" in got.text()


def test_rounding_of_another_machine_is_no_move(base):
    new = copy.deepcopy(base)
    for x in new["lines"]:
        if isinstance(x["value"], float):
            x["value"] *= 1 + 3e-12
    assert compare(base, new).same
    assert differs(1.0, 1.0 + 2e-9) and not differs(1.0, 1.0 + 5e-10)
    assert not differs(1e-17, -3e-17, [5.0]) and differs(1e-17, -3e-17)


def test_another_version_of_the_kit(base):
    """Equation, source, constant, range and engine: each change is named with the lines that use it."""
    new = copy.deepcopy(base)
    line = next(x for x in new["lines"] if x["id"] == "filters.rate")
    r = new["relations"][line["relation"]]
    r["tree"] = ["mul", r["tree"], ["num", 1.1]]
    r["hash"], r["source"] = "0" * 16, "from-memory"
    line["value"] *= 1.1
    name, other = next((k, x) for k, x in new["relations"].items() if x["constants"])
    constant = next(iter(other["constants"]))
    other["constants"][constant]["value"] *= 2
    new["engines"][0]["version"] = "99"
    new["kit"] = "later"
    got = compare(base, new)
    rows = got.rules.set_index(["id", "part"])
    assert "* 1.1" in rows.loc[(line["relation"], "equation")]["new"]
    assert rows.loc[(line["relation"], "source")]["new"] == "from-memory"
    assert rows.loc[(line["relation"], "equation")]["lines"] >= 1
    assert (name, f"constant {constant}") in rows.index
    assert ("kit", "version") in rows.index and (got.rules["what"] == "engine").any()
    assert got.inputs.empty and got.roots["filters.rate"] == "rule"
    assert got.chain("filters.rate") == ["filters.rate"]


def test_the_head_of_the_sheet_is_named_last(harbour, base):
    new = api.size(harbour.with_values({"project.revision": "B", "water.ph": "7.9"})).record
    got = compare(base, new)
    assert list(got.inputs["id"]) == ["water.ph", "project.revision"]
    assert got.inputs["flips"].iloc[1] == 0


def test_a_choice_that_moves_table_values_is_the_cause(harbour, base):
    """Assumed values that follow from another choice have moved; they were not changed by anybody."""
    elements = next(x for x in base["lines"] if x["id"] == "membrane.element")
    rows = [x["id"] for x in base["lines"] if x["sort"] == "assumed" and "membrane.element" in parents(x)]
    assert rows and elements["value"]
    new = copy.deepcopy(base)
    for x in new["lines"]:
        if x["id"] == "membrane.element":
            x["value"] = "another"
        elif x["id"] == rows[0] and isinstance(x["value"], float):
            x["value"] *= 1.2
    got = compare(base, new)
    assert list(got.inputs["id"]) == ["membrane.element"] and rows[0] in set(got.moved["id"])


def test_command(tmp_path, monkeypatch, capsys):
    monkeypatch.setattr(api, "size", fakes.size)
    monkeypatch.setattr(plant, "size", lambda design: fakes.size(design).sized)
    old, new = tmp_path / "old.toml", tmp_path / "new.toml"
    old.write_text(fakes.TEXT, encoding="utf-8")
    new.write_text(fakes.TEXT.replace("2400 m3/d", "12000 m3/d"), encoding="utf-8")
    assert cli.main(["compare", str(old), str(new)]) == 0
    out = capsys.readouterr().out
    assert out.index("duty.train_product_flow") < out.index("Checks that changed status") < out.index("Other values")
    assert "fails by" in out
    fakes.size(api.read(old)).trail.record(tmp_path / "trail.json")
    assert cli.main(["compare", str(tmp_path / "trail.json"), str(new), "--units", "us"]) == 0
    assert "gpm" in capsys.readouterr().out
    assert cli.main(["compare", str(old), str(old)]) == 0
    assert "Nothing differs" in capsys.readouterr().out
    assert cli.main(["compare", str(old), str(tmp_path / "none.json")]) == 2


def test_words_need_no_frames_and_no_tables(base, cold, monkeypatch):
    """Text and page are the same from the lines alone, and without the library of frames, which takes its time."""
    want = compare(base, cold)
    less = [{k: r[k] for k in ("format", "kit", "project", "input_hash", "relations", "kinds", "sources", "engines",
                               "lines", "edges", "design")} for r in (base, cold)]
    got = compare(*less)
    text, page = want.text(full=True), want.html()
    monkeypatch.setitem(sys.modules, "pandas", None)
    assert got.text(full=True) == text and got.html() == page


def test_lines_without_seal_are_those_of_the_record(base, harbour, tmp_path):
    harbour_again = tmp_path / "a.toml"
    harbour_again.write_text(harbour.text, encoding="utf-8")
    got = cli._lines_of(str(harbour_again))
    assert len(got["lines"]) > 3000 and "seal" not in got
    assert all(base[name] == part for name, part in got.items())


def test_a_record_of_every_sort_compares():
    made = record.to_record(calculation(), "text", kit="0")
    assert compare(made, made).same
    less = copy.deepcopy(made)
    less["lines"] = [x for x in less["lines"] if x["id"] != "water.scaled"]
    got = compare(made, less)
    assert got.moved["new"].tolist() == ["absent"]
    assert compare(less, made).moved["old"].tolist() == ["absent"]


def test_a_comparison_is_one_page_that_needs_nothing_but_itself(tmp_path, capsys):
    from html.parser import HTMLParser

    old, new = tmp_path / "old.toml", tmp_path / "new.toml"
    text = paths.demo("harbour-town.toml").read_text(encoding="utf-8")
    old.write_text(text.replace('name = "', 'name = "<b>x</b> ', 1), encoding="utf-8")
    new.write_text(text.replace('recovery = "42 %"', 'recovery = "44 %"', 1), encoding="utf-8")
    out = tmp_path / "changes.html"
    assert cli.main(["compare", str(old), str(new), "--out", str(out)]) == 0
    page, said = out.read_text(encoding="utf-8"), capsys.readouterr().out
    assert said.endswith(f"written to {out}\n") and not [*tmp_path.glob(".*")]
    assert page.startswith("<!DOCTYPE html>") and "http://" not in page and "https://" not in page
    assert "old.toml → new.toml" in page and "RO recovery" in page and "Ten values that matter" in page
    assert "<b>x</b>" not in page and "data-ask" not in page
    told = [line for line in said.splitlines() if line.startswith("Checks that changed status")]
    assert told[0] in page  # the same count as in the terminal
    opened = []

    class Tags(HTMLParser):
        def handle_starttag(self, tag, attrs):
            if tag not in ("meta", "br"):
                opened.append(tag)

        def handle_endtag(self, tag):
            assert opened.pop() == tag

    Tags().feed(page)
    assert not opened
    with pytest.raises(DesignError, match="cannot be written to"):
        compare(shared.recorded(), shared.recorded()).page(tmp_path / "nowhere" / "a.html")


def test_parts_of_a_small_difference_are_not_told_as_thousands_of_per_cent():
    """Cold and warm water moved the pump's power by 2 % up and down: 1405 % and -1307 % of what was left."""
    effects = [SimpleNamespace(carried=x) for x in (14.05, -13.07, 0.02)]
    shown = SimpleNamespace(causes=SimpleNamespace(effects=lambda id: effects), whole=lambda id: 1.0)
    assert carried(shown, "hp_pump.electric_power") == "1 and 2, which nearly cancel"
    effects[:2] = [SimpleNamespace(carried=x) for x in (0.75, 0.23)]
    assert carried(shown, "hp_pump.electric_power") == "1: 75 %, 2: 23 %, 3: 2 %"
