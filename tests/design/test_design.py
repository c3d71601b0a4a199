"""The design file: strict to read, careful to write, and the first lines of every trail."""

from __future__ import annotations

import json
import os
import re
import threading
import time
from pathlib import Path

import pytest

from desalbook import paths
from desalbook.design import SECTIONS, digest, field_meta, from_text, hold, lines, moves, read, revisions, write
from desalbook.design.file import LARGEST
from desalbook.paths import beside
from desalbook.problems import Conflict, DesignError, TrailError
from desalbook.trail import Ledger, locks, what_if
from desalbook.units import parse
from tests.shared import demo

DEMO = Path(__file__).parents[2] / "data-demo"
HARBOUR = DEMO / "harbour-town.toml"
LAYER = "filters.layers[sand].depth"


@pytest.fixture
def design():
    return read(HARBOUR)


def refused(text: str) -> str:
    with pytest.raises(DesignError) as caught:
        from_text(text, "plant.toml")
    said = str(caught.value)
    assert "\n" not in said and "Traceback" not in said
    return said


@pytest.mark.parametrize("name", ["harbour-town.toml", "beach-well.toml"])
def test_the_quick_way_of_writing_a_value_is_that_of_the_whole_parser(name):
    """Each plain value of a demo file takes another one, in the text and through the parsed document alike."""
    import tomlkit

    from desalbook.design import edit

    got, quick, seen = read(DEMO / name), 0, 0
    for section, rows in got.written.items():
        plain = {f"{section}.{k}": v for k, v in rows.items()} if isinstance(rows, dict) else {}
        entries = {f"{k}[{e}]": x for k, v in plain.items() if isinstance(v, dict) for e, x in v.items()}
        for key, value in {**plain, **entries}.items():
            if isinstance(value, (dict, list)):
                continue
            for raw in ("yes", "no") if isinstance(value, bool) else ("12", "3.5 m", "it's # [odd]"):
                made = edit._swapped(got.text, key, raw)
                doc = tomlkit.parse(got.text)
                edit._put(doc, key, raw, got.get)
                seen, quick = seen + 1, quick + (made is not None)
                assert made is None or made == doc.as_string(), (key, raw)
    assert seen > 50 and quick > 0.9 * seen


@pytest.mark.parametrize("text", ['[filters]\nx = """\n[filters]\ncount = 3\n"""\ncount = 4',
                                  "[filters]\r\ncount = 4\r", "[filters.more]\ncount = 4",
                                  '[filters]\n"count" = 4', "[filters]\ncount = [\n4]"])
def test_the_quick_way_leaves_other_texts_to_the_parser(text):
    from desalbook.design import edit

    assert edit._swapped(text, "filters.count", "5") is None


@pytest.mark.parametrize("id", ["water.ions.Ca", "water.ions[Ca].value", "filters.count.most", "filters[x]"])
def test_a_key_below_a_value_is_refused_in_words(design, id):
    with pytest.raises(DesignError, match="unknown key") as caught:
        design.with_value(id, "3")
    assert str(caught.value).startswith(f"{id}: ") and "\n" not in str(caught.value)


@pytest.mark.parametrize("name", ["harbour-town.toml", "beach-well.toml"])
def test_demo_files_read(name):
    got = read(DEMO / name)
    assert got.hash == digest((DEMO / name).read_text(encoding="utf-8"))
    assert set(got.written) - {"format", "kit"} <= set(SECTIONS) and "invented" in got.text.lower()


@pytest.mark.parametrize("name", ["harbour-town.toml", "beach-well.toml"])
def test_demo_analyses_balance(name):
    """Cations and anions within 1 % (charges and molar masses of the ion table)."""
    from desalbook.water.species import IONS

    ions = read(DEMO / name).get("water.ions")
    eq = {k: v / IONS[k].basis_molar_mass * IONS[k].charge for k, v in ions.items()}
    plus = sum(x for x in eq.values() if x > 0)
    minus = -sum(x for x in eq.values() if x < 0)
    assert abs(plus - minus) / (plus + minus) < 0.01


def test_bad_file_is_refused_in_one_line():
    with pytest.raises(DesignError) as caught:
        read(DEMO / "bad-file.toml")
    said = str(caught.value)
    assert said == ('bad-file.toml, line 15: water.temperature_hot = "82 degC": outside its range; allowed 0.5 to '
                    "50 degC. Enter a value in that range, or clear it to use 32 degC.")


def test_every_section_is_composed():
    for name in (
        "project",
        "site",
        "duty",
        "water",
        "dosing",
        "chlorination",
        "dechlorination",
        "antiscalant",
        "acid",
        "coagulation",
        "post_ph",
        "post_chlorination",
        "injection",
        "product",
        "cip",
    ):
        assert name in SECTIONS
    assert not {"injection_point", "pipe_run", "filter_layer"} & set(SECTIONS)


def test_refusals(design):
    text = design.text
    assert "newer" in refused(text.replace("format = 1", "format = 2"))
    assert "format" in refused(text.replace("format = 1\n", ""))
    assert "chlorination" in refused(text + "\n[chlorinatoin]\npresent = 'no'\n")
    assert "train_product_flow" in refused(text.replace("train_product_flow", "train_produkt_flow"))
    assert "duty.train_product_flow" in refused(re.sub(r"(?s)\[duty\].*?\n\n", "", text))
    assert "line 3" in refused("format = 1\n\nx = = 2\n")
    assert "line" in refused(text + "\n[duty]\n")
    assert "closed" in refused("[water\n") or "line 1" in refused("[water\n")
    assert "2,500" in refused(text.replace("2500 m3/d", "2,500 m3/d"))


SLIPS = (
    # what a person writes, in place of what, the line it stands on, and what would be read
    ('recovery = "42 %"', "recovery = 42 %", 'enter recovery = "42 %"'),
    ('recovery = "42 %"', 'recovery "42 %"', 'enter recovery = "42 %"'),
    ('recovery = "42 %"', "recovery: 42 %", 'enter recovery = "42 %"'),
    ('recovery = "42 %"', 'recovery = "42 %', 'enter recovery = "42 %"'),
    ("trains = 2", "trains = 2\ntrains = 3", "remove one of the two; it is given first in line"),
    ("[membrane]", "membrane]", "enter [membrane]"),
    ("[membrane]", "[membrane", "enter [membrane]"),
    ('present = "yes"', "present = yes", 'enter present = "yes"'),
    ('device = "isobaric"', "device = isobaric", 'enter device = "isobaric"'),
)


@pytest.mark.parametrize(("right", "slip", "mend"), SLIPS)
def test_what_a_slip_is_told_to_write_is_read(right, slip, mend):
    text = paths.demo("harbour-town.toml").read_text(encoding="utf-8")
    before = text[:text.index(right)]
    with pytest.raises(DesignError) as caught:
        from_text(text.replace(right, slip, 1))
    line = before.count("\n") + 1 + slip.count("\n")
    assert f"line {line}" in str(caught.value) and caught.value.do.casefold().startswith(mend.casefold())
    if mend.startswith("enter"):  # what it advises is read
        advised = caught.value.do.partition(" ")[2]
        assert from_text(text.replace(right, advised, 1)).sections


def test_a_truth_in_place_of_a_choice_is_told_the_choice():
    text = paths.demo("harbour-town.toml").read_text(encoding="utf-8")
    with pytest.raises(DesignError) as caught:
        from_text(text.replace('present = "yes"', "present = true", 1))
    assert caught.value.do == 'enter "yes" if that is meant'


def test_files_that_cannot_be_read(tmp_path):
    (tmp_path / "latin.toml").write_bytes(b"format = 1\n# caf\xe9\n")
    (tmp_path / "big.toml").write_bytes(b"#" * (LARGEST + 1))
    for name, word in (
        ("none.toml", "no such file"),
        ("latin.toml", "line 2"),
        ("big.toml", "too large"),
        (".", "folder"),
        ("a\0b", "cannot be read"),
    ):
        with pytest.raises(DesignError, match=word) as caught:
            read(tmp_path / name)
        assert "\n" not in str(caught.value)


def test_byte_order_mark_is_passed_over(tmp_path, design):
    path = tmp_path / "bom.toml"
    path.write_bytes(b"\xef\xbb\xbf" + design.text.encode())
    assert read(path) == design


def test_get(design):
    assert design.get("duty.trains") == 2
    assert design.get("water.ions[Na]") == pytest.approx(11.37)
    assert design.get("injection.points[orp].travel_time") == 15.0
    assert design.get("cip.vessels_at_once") is None
    for id, word in (
        ("duty.train", "trains"),
        ("duti.trains", "duty"),
        ("injection.points[orb].travel_time", "orp"),
        ("duty", "key"),
        ("duty.trains[x]", "key"),
    ):
        with pytest.raises(DesignError, match=word):
            design.get(id)


def test_a_change_touches_its_line_only(design):
    new = design.with_value("duty.train_product_flow", "2600 m3/d")
    before, after = design.text.splitlines(), new.text.splitlines()
    changed = [(a, b) for a, b in zip(before, after, strict=True) if a != b]
    assert len(changed) == 1 and "2600 m3/d" in changed[0][1] and "# net, delivered" in changed[0][1]
    assert new.get("duty.train_product_flow") * 86400 == pytest.approx(2600)
    assert design.get("duty.train_product_flow") * 86400 == pytest.approx(2500)
    assert new.with_value("duty.train_product_flow", "2500 m3/d") == design


def test_with_value_elsewhere(design):
    assert design.with_value("duty.trains", "3").get("duty.trains") == 3
    assert design.with_value("water.ions[Na]", "11 400 mg/L").get("water.ions[Na]") == pytest.approx(11.4)
    new = design.with_value("injection.points[orp].travel_time", "22 s")  # the list stood at its default
    for name in ("chlorination", "pump", "acid"):
        id = f"injection.points[{name}].travel_time"
        assert new.get(id) == design.get(id)
    assert new.get("injection.points[orp].travel_time") == 22.0
    again = new.with_value("injection.points[orp].travel_time", "25 s")
    assert again.get("injection.points[orp].travel_time") == 25.0
    assert [p.name for p in again.sections["injection"].points] == [
        p.name for p in design.sections["injection"].points
    ]
    with pytest.raises(DesignError, match="outside its range"):
        design.with_value("site.altitude", "9000 m")
    with pytest.raises(DesignError, match="trains"):
        design.with_value("duty.trans", "3")


@pytest.mark.skipif("filters" not in SECTIONS, reason="a design without media filters")
def test_filter_layers(design):
    new = design.with_value(LAYER, "450 mm").with_value("filters.count", "8")
    assert new.get(LAYER) == pytest.approx(0.45) and new.get("filters.count") == 8
    assert new.get("filters.layers[anthracite].depth") == design.get("filters.layers[anthracite].depth")
    assert from_text(new.text) == new


def test_without(design):
    new = design.without("site.altitude")
    assert not new.stands("site.altitude") and new.get("site.altitude") == 5.0
    assert "# also for washing" in new.text
    assert "Ba" not in design.without("water.ions[Ba]").get("water.ions")
    with pytest.raises(DesignError, match="stand"):
        new.without("site.altitude")
    with pytest.raises(DesignError, match="must be given"):
        design.without("duty.train_product_flow")


def test_write_and_history(tmp_path, design):
    path = tmp_path / "mine.toml"
    write(design, path)
    assert path.read_text(encoding="utf-8") == design.text  # as it is: unset keys stay unset
    new = design.with_value("duty.trains", "3").with_value("duty.trains", "4")
    write(new, path, made_by="A. B.")
    write(new, path)  # nothing new: no revision
    assert read(path) == new
    past = revisions(path)
    assert [p["revision"] for p in past] == [1, 2] and past[1]["made_by"] == "A. B."
    assert past[1]["previous"] == past[0]["hash"] == design.hash and past[0]["text"] == design.text
    assert past[1]["time"].endswith("+00:00")
    assert not list(tmp_path.glob("*.part")) and not list(tmp_path.glob(".*.part"))


def test_conflict_keeps_both(tmp_path, design):
    path = tmp_path / "mine.toml"
    write(design, path)
    theirs = design.with_value("duty.trains", "3")
    write(theirs, path, expected=design.hash)
    ours = design.with_value("duty.trains", "4")
    for expected in (None, design.hash):
        with pytest.raises(Conflict) as caught:
            write(ours, path, expected=expected)
        assert "\n" not in str(caught.value) and caught.value.exit_code == 3
    assert read(path) == theirs
    assert read(tmp_path / f"mine.mine-{ours.hash[:8]}.toml") == ours
    write(ours, path, expected=theirs.hash)
    assert read(path) == ours
    path.unlink()
    with pytest.raises(Conflict, match="gone"):
        write(ours, path, expected=ours.with_value("duty.trains", "5").hash)


def test_a_stranger_s_change_goes_into_the_history(tmp_path, design):
    path = tmp_path / "mine.toml"
    write(design, path, made_by="me")
    by_hand = design.text + "\n# by hand\n"
    path.write_text(by_hand, encoding="utf-8")
    write(from_text(by_hand).with_value("duty.trains", "3"), path, made_by="me")
    assert [p["made_by"] for p in revisions(path)] == ["me", "", "me"]
    with open(beside(path, "revisions.jsonl"), "a", encoding="utf-8") as file:
        file.write('{"revision": 4, "ha')  # power lost
    write(read(path).with_value("duty.trains", "4"), path)
    assert [p["revision"] for p in revisions(path)] == [1, 2, 3, 4]


def test_writers_wait_for_the_lock(tmp_path, design, monkeypatch):
    path = tmp_path / "mine.toml"
    monkeypatch.setattr(locks, "PATIENCE", 0.1)
    with locks.locked(path.resolve(), "write again"), pytest.raises(Conflict, match="another program"):
        write(design, path)
    assert not path.exists()
    write(design, path)  # the lock file is left, and holds nobody up
    assert path.exists()


def test_one_of_many_writers_wins(tmp_path, design):
    path = tmp_path / "mine.toml"
    write(design, path)
    rivals = [design.with_value("duty.trains", str(n)) for n in range(3, 9)]
    won: list[str] = []

    def go(one):
        try:
            write(one, path, expected=design.hash)
            won.append(one.hash)
        except Conflict:
            pass

    threads = [threading.Thread(target=go, args=(r,)) for r in rivals]
    for t in threads:
        t.start()
    for t in threads:
        t.join()
    assert len(won) == 1 and read(path).hash == won[0]
    assert len(list(tmp_path.glob("mine.mine-*.toml"))) == len(rivals) - 1


def test_a_failed_write_leaves_the_file(tmp_path, design, monkeypatch):
    path = tmp_path / "mine.toml"
    write(design, path)
    monkeypatch.setattr(
        os, "replace", lambda *_: (_ for _ in ()).throw(OSError(28, "No space left on device"))
    )
    with pytest.raises(DesignError, match="no space"):
        write(design.with_value("duty.trains", "3"), path)
    assert path.read_text(encoding="utf-8") == design.text and not list(tmp_path.glob(".*.part"))
    with pytest.raises(DesignError, match="cannot be written"):
        write(design, tmp_path / "nowhere" / "mine.toml")


def test_given_and_assumed(design):
    ledger = Ledger()
    with ledger.recording():
        inp = lines(design)
    line = ledger.lines
    assert line["duty.trains"].sort == "given" and line["duty.trains"].more["text"] == "2"
    assert line["dosing.span"].sort == "assumed" and line["dosing.span"].source == "api-675"
    assert line["duty.train_product_flow"].scope == "train"
    assert (
        line["chlorination.present"].more["options"] == ["yes", "no"] and inp("chlorination.present") == "yes"
    )
    assert inp("water.ions").axis == "ion" and inp("water.ions[Na]") == pytest.approx(11.37)
    assert inp("cip.vessels_at_once") is None and inp("project.checked_by") is None
    assert inp("injection.points[orp].travel_time") == 15.0
    for id in ("duty.trans", "injection.points[x].travel_time", "nothing", "injection.points"):
        with pytest.raises(TrailError):
            inp(id)
    given = {id for id, one in line.items() if one.sort == "given"}
    assert {id for id in line if design.stands(id)} == given
    assert all(json.dumps(one.more) for one in line.values())


def test_unusual_values_are_cautioned(design):
    ledger = Ledger()
    with ledger.recording():
        lines(design.with_value("dosing.storage_time", "5 d"))
    assert any("unusual" in c for c in ledger.lines["dosing.storage_time"].cautions)
    assert not ledger.lines["dosing.span"].cautions


def test_sources_of_defaults_are_known():
    from desalbook.sources import source_keys
    from desalbook.units import metas

    for name, cls in SECTIONS.items():
        for key, m in metas(cls).items():
            assert not m.source or m.source in source_keys(), f"{name}.{key}: {m.source}"


def test_every_move_moves_its_line(design):
    ledger = Ledger()
    with ledger.recording():
        lines(design)
    plan = moves(design)
    assert ("water.ions[Na]", 1.01) in plan and ("chlorination.present", "no") in plan
    assert len({id for id, _ in plan}) == len(plan)
    other = Ledger()
    with other.recording(), what_if(dict(plan)):
        lines(design)
    for id, _ in plan:
        assert other[id] != ledger[id], id


def test_hold(design):
    picks = {
        "cip.vessels_at_once": "12",
        "injection.points[orp].travel_time": "20 s",
        "plant.made_up": "3",
        "membrane.feed_pressure@cold-aged": "60 bar",
        "injection.points[none].travel_time": "3 s",
    }
    held = hold(design, picks)
    assert held.stands("cip.vessels_at_once") and held.get("cip.vessels_at_once") == 12
    assert held.get("injection.points[orp].travel_time") == 20 and "made_up" not in held.text
    assert hold(design, {"plant.made_up": "3"}) is design
    assert from_text(held.text) == held


@pytest.mark.parametrize(("written", "said"), [
    ("recovery = 39 %", 'enter recovery = "39 %"'), ("recovery = 39 % # mean", 'enter recovery = "39 %"'),
    ("recovery = 39,5 %", 'enter recovery = "39.5 %"'), ("recovery = 0,39", "enter recovery = 0.39"),
    ('recovery = "39 %', 'enter recovery = "39 %"'), ("recovery = '39 %", 'enter recovery = "39 %"'),
    ('recovery = """39 %', 'enter recovery = "39 %"'), ("recovery = \u201c39 %\u201d", 'enter recovery = "39 %"'),
    ('recovery == "39 %"', 'enter recovery = "39 %"'), ("recovery: 0.39", "enter recovery = 0.39"),
    ("recovery 39", "correct the line"), ("recovery = ", "correct the line"), ("[membrane", "enter [membrane]"),
    ('recovery = "39 %"\nrecovery = "39 %"', "given twice"), ("[duty]", "section [duty] is given twice"),
])
def test_a_slip_is_told_at_its_own_line_with_what_was_meant(written, said):
    text = demo().text
    line = "[membrane]" if written.startswith("[") else next(x for x in text.splitlines() if x.startswith("recovery ="))
    bad = text.replace(line, written, 1)
    place = text[:text.index(line)].count("\n") + 1 + written.count("\n")
    with pytest.raises(DesignError) as caught:
        from_text(bad, "my.toml")
    told = str(caught.value)
    assert f"my.toml, line {place} " in told and said.lower() in told.lower(), told
    mended = re.search(r"Enter (recovery = .*|\[membrane\])\.$", told)
    if mended:  # what is proposed is itself read
        assert from_text(bad.replace(written, mended[1]), "my.toml").get("membrane.recovery") is not None


@pytest.mark.parametrize("row", ["a." * 9000 + "b = 1", ".".join("abcdefghijklmnop") + " = 1",
                                 "x = " + "[" * 100 + "]" * 100, "[" + ".".join(["a"] * 60) + "]",
                                 "note = " + '"' + "x" * 60_000 + '"'])
def test_what_is_nested_or_long_beyond_sense_is_refused_before_it_is_read(row):
    text, began = demo().text, time.process_time()
    for _ in range(5):
        from_text(text, "my.toml")
    usual = time.process_time() - began
    began = time.process_time()
    with pytest.raises(DesignError, match=r"nested too deep|too long"):
        from_text(f"{text}\n{row}\n", "my.toml")
    assert time.process_time() - began < 2 * usual  # the reader of TOML took a minute for nine thousand dots


def test_a_range_is_told_in_the_unit_that_was_written():
    with pytest.raises(DesignError) as caught:
        demo().with_value("filters.rate_limit", "90 gpm/ft2")
    assert " gpm/ft2" in caught.value.allowed and "m/h" not in caught.value.allowed
    low, high = (float(x) for x in re.findall(r"[\d.]+(?= to| gpm)", caught.value.allowed))
    assert parse(f"{low} gpm/ft2", "filtration rate") == pytest.approx(
        field_meta("filters.rate_limit").possible[0], rel=1e-5) and high > low
    with pytest.raises(DesignError, match="m/h"):
        demo().with_value("filters.rate_limit", "900 m/h")


def test_no_advice_repeats_the_fault():
    """1.3 % is no recovery either, so it is not proposed for 1.3."""
    with pytest.raises(DesignError) as caught:
        demo().with_value("membrane.recovery", "1.3")
    assert "1.3 %" not in caught.value.do and "%" in caught.value.allowed
    with pytest.raises(DesignError, match="Enter 39 %"):
        demo().with_value("membrane.recovery", "39")
