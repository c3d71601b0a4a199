"""Data sheets and bids: a sheet for each item that is bought, a bid read back, what deviates found and nothing else."""

from __future__ import annotations

import csv
import re
from functools import cache
from pathlib import Path
from typing import Any

import pytest

import desalbook as db
from desalbook import cli
from desalbook.plant.bids import Bid, compare_bid, read_bid, take_bid, write_enquiry
from desalbook.plant.data_sheets import DataSheet, data_sheets
from desalbook.plant.fabrication import Fabricated, fabricate
from desalbook.plant.weights import item_of
from desalbook.problems import DesignError
from desalbook.tables import table
from desalbook.units import KINDS, to_display, unit_label
from tests import shared
from tests.every import every

DEMOS = ("harbour-town.toml", "beach-well.toml")
CIVIL = ("bund",)
"""Kinds of item that no sheet is written for, beside cartridges, which are bought with their housing."""


@cache
def sheets(name: str = "harbour-town.toml") -> list[DataSheet]:
    sized = shared.sized(name)
    book = sized.ledger.branch()
    return data_sheets(sized, book, fabricate(sized, book).weighed)


def complete(sized: Any, of: Fabricated, made: list[DataSheet]) -> None:
    """Each item that is bought has its sheet, a pump or blower two, and each sheet an item; no value is made up."""
    wanted = []
    for row in sized.equipment:
        kind = item_of(row).key
        if kind not in CIVIL and kind != "cartridge":
            wanted.append(f"DS-{row['tag']}")
            if item_of(row)["sheet"].value in ("pump", "blower"):
                wanted.append(f"DS-{row['tag']}-M")
    assert [s.number for s in made] == wanted
    for s in made:
        names = [x.name for x in s.fields]
        assert len(names) == len(set(names)), s.number
        assert {x.group for x in s.fields} >= ({"Duty"} if s.kind != "general" else {"Sizes and masses"}), s.number
        for x in s.fields:
            assert not x.kind or x.kind in KINDS, (s.number, x.name)
            assert x.required is not None or x.asked, (s.number, x.name)
            assert x.sense in ("info", "state", "yes", "text") or x.required is not None, (s.number, x.name)
            if x.id and isinstance(x.required, float):
                assert x.required == x.required, (s.number, x.name)
    by_tag = {w["tag"]: w for w in of.weights}
    for s in made:
        mass = next((x.required for x in s.fields if x.name == "mass_empty"), None)
        assert mass is None or mass == by_tag[s.tag]["mass_empty"], s.number


def test_every_item_that_is_bought_has_its_sheet():
    every(DEMOS, lambda name: complete(shared.sized(name), fabricate(
        shared.sized(name), shared.sized(name).ledger.branch()), sheets(name)))


def test_pumps_state_their_duty_in_all_cases():
    pump = next(s for s in sheets() if s.number == "DS-P-301")
    flows = [x.name for x in pump.fields if x.name.startswith("head@")]
    assert len(flows) == 6
    heads = {x.name: float(x.required) for x in pump.fields if x.name.startswith("head@")}
    assert max(heads.values()) == pytest.approx(float(shared.sized().ledger["hp_pump.head"]), rel=1e-9)
    low = next(s for s in sheets() if s.number == "DS-P-201")
    assert {"head@clean", "head@dirty"} <= {x.name for x in low.fields}


def answered(sheet: DataSheet, **changed: str) -> Bid:
    """A bid that offers just what is required, but for some fields."""
    offered = {}
    for x in sheet.fields:
        if x.asked:
            value = {"state": "stated by the bidder", "yes": "yes"}.get(x.sense, x.required)
            if x.sense == "state" and x.kind:
                value = 1.0
            offered[x.name] = str(value)
            if isinstance(value, float) and x.kind:
                offered[x.name] = f"{float(to_display(value, KINDS[x.kind], 'si')):.15g} {unit_label(x.kind)}".strip()
    offered |= changed
    return Bid(sheet.number, sheet.tag, "Invented", "bid.csv", offered, {}, dict.fromkeys(offered, 1), {})


def test_an_offer_of_just_the_duty_meets_it_on_every_sheet():
    def meets(sheet: DataSheet) -> None:
        found = compare_bid(sheets(), answered(sheet))
        assert {x.verdict for x in found} <= {"meets", "stated"}, [x for x in found if x.verdict not in (
            "meets", "stated")]
        assert any(x.verdict == "meets" for x in found)

    every({s.number: s for s in sheets()}, meets)


def test_planted_deviations_are_found_and_nothing_else():
    pump = next(s for s in sheets() if s.number == "DS-P-301")
    bid = answered(pump, head="600 m", noise="91", documents_manual="no", test="another standard",
                   mass_empty="9000 kg")  # thirty per cent more is within an estimate, less is no matter
    bid = Bid(**{**vars(bid), "offered": {k: v for k, v in bid.offered.items() if k != "seal"}})
    found = {x.field.name: x for x in compare_bid(sheets(), bid)}
    odd = {n: x.verdict for n, x in found.items() if x.verdict not in ("meets", "stated")}
    assert odd == {"head": "deviates", "noise": "deviates", "documents_manual": "deviates", "test": "review",
                   "seal": "missing"}
    head = float(shared.sized().ledger["hp_pump.head"])
    assert found["head"].by == pytest.approx(1 - 600 / head) and found["noise"].by == pytest.approx(6 / 85)


@pytest.mark.parametrize("ending", ["csv", "xlsx"])
def test_a_filled_enquiry_is_read_back(tmp_path: Path, ending: str):
    pump = next(s for s in sheets() if s.number == "DS-P-301")
    path = write_enquiry(pump, tmp_path / f"ask.{ending}", "us", "Invented")
    with pytest.raises(DesignError, match="exists already"):
        write_enquiry(pump, path)
    offers = {"flow": "500", "efficiency": "78", "mass_empty": "12000 lb"}
    _fill(path, offers)
    bid = read_bid(path)
    assert bid.number == "DS-P-301" and bid.bidder == "Invented pumps" and bid.offered == offers
    found = {x.field.name: x for x in compare_bid(sheets(), bid)}
    assert found["flow"].offered == pytest.approx(500 * 6.30901964e-5) and found["flow"].verdict == "meets"
    assert found["mass_empty"].offered == pytest.approx(12000 * 0.45359237)
    assert found["head"].verdict == "missing" and found["deviations"].verdict == "stated"


def _fill(path: Path, offers: dict[str, str]) -> None:
    if path.suffix == ".csv":
        rows = list(csv.reader(path.read_text(encoding="utf-8").splitlines()))
        for row in rows:
            if row and row[0] in offers:
                row[5] = offers[row[0]]
            if row[:1] == ["bidder"]:
                row[1] = "Invented pumps"
        path.write_text("\n".join(",".join(f'"{c}"' for c in row) for row in rows), encoding="utf-8")
        return
    from openpyxl import load_workbook

    book = load_workbook(path)
    assert book.active is not None
    for row in book.active.iter_rows():
        if row[0].value in offers:
            row[5].value = offers[str(row[0].value)]
        if row[0].value == "bidder":
            row[1].value = "Invented pumps"
    book.save(path)


@pytest.mark.full
def test_an_offer_is_taken_into_the_design_as_given():
    pump = next(s for s in sheets() if s.number == "DS-P-301")
    taken = take_bid(shared.demo(), sheets(), answered(pump, efficiency="80 %", npsh="4 m", mass_empty="5200 kg"))
    plant = db.size(taken)
    assert "hp_pump.efficiency" in plant.inputs and plant.show("hp_pump.efficiency") == "80.00 %"
    row = plant.weights.set_index("tag").loc["P-301"]
    assert row["mass_empty"] == 5200.0 and row["basis"] == "as given"
    less = take_bid(shared.demo(), sheets(), answered(pump, efficiency="80 %"), ["efficiency"])
    assert less.written["hp_pump"] == {"efficiency": "80 %"} and "fabrication" not in less.written
    with pytest.raises(DesignError, match="no field that a design takes"):
        take_bid(shared.demo(), sheets(), answered(pump), ["noise"])


def test_every_key_an_offer_goes_to_is_one_of_the_design():
    known = {re.sub(r"\[[^]]*\]", "", k) for k in [*shared.demo().keys()]}
    for s in sheets():
        for x in s.fields:
            assert not x.takes or re.sub(r"\[[^]]*\]", "", x.takes) in known, (s.number, x.takes)


@pytest.mark.parametrize(("offered", "message"), [
    ({"flow": "fast"}, "bid.csv, row 1"), ({"colour": "blue"}, "unknown field"), ({"flow": "3 bar"}, "bid.csv, row 1")])
def test_what_cannot_be_read_is_refused_by_row(offered: dict[str, str], message: str):
    pump = next(s for s in sheets() if s.number == "DS-P-301")
    with pytest.raises(DesignError, match=message):
        compare_bid(sheets(), answered(pump, **offered))


@pytest.mark.full
def test_the_command_line_asks_compares_and_takes(tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    file = tmp_path / "well.toml"
    file.write_text(shared.demo("beach-well.toml").text, encoding="utf-8")
    assert cli.main(["enquiry", str(file), "--out", str(tmp_path / "ask"), "--tags", "P-301", "--format", "csv"]) == 0
    asked = sorted(p.name for p in (tmp_path / "ask").iterdir())
    assert asked == ["DS-P-301-M.csv", "DS-P-301.csv"]
    assert cli.main(["enquiry", str(file), "--out", str(tmp_path / "ask"), "--tags", "P-301", "--format", "csv"]) == 2
    _fill(tmp_path / "ask" / "DS-P-301.csv", {"efficiency": "86 %", "noise": "99"})
    assert cli.main(["bid", str(file), str(tmp_path / "ask" / "DS-P-301.csv"), "--take"]) == 1
    said = capsys.readouterr().out
    assert "deviates Sound pressure level at 1 m: 99 dB(A); required at most 85 dB(A)" in said
    assert 'efficiency = "86 %"' in file.read_text(encoding="utf-8")
    assert cli.main(["enquiry", str(file), "--out", str(tmp_path / "other"), "--tags", "P-999"]) == 2
    assert "no data sheet has this tag" in capsys.readouterr().err


def test_the_fields_are_of_sheets_that_are_written():
    written = {row["sheet"].value for row in table("item_weights").values() if "sheet" in row} | {"motor"}
    assert {row["sheet"].value for row in table("sheet_fields").values()} == written


def test_a_pump_sheet_states_its_suction():
    """From a full tank, from the section it draws from; the intake's is the purchaser's."""
    plant = shared.plant()
    found = {x.tag: {f.name: f.required for f in x.fields} for x in plant.data_sheets() if x.kind == "pump"}
    assert found["P-201"]["suction_pressure"] == float(plant["feed_pump.suction_maximum"])
    assert found["P-302"]["suction_pressure"] == float(plant.sized.sections["concentrate-high"].governing)
    assert "purchaser" in found["P-101"]["suction_limit"] and "suction_pressure" not in found["P-101"]
    assert all("suction_pressure" in x or "suction_limit" in x for x in found.values())
