"""The pack on disk: the same twice, its index true, and what changed named with its cause."""

from __future__ import annotations

import json

import pytest

from desalbook.audit import Marks
from desalbook.cli import main
from desalbook.pack import PARTS, write_pack
from desalbook.problems import DesignError
from tests import shared

SOME = ("equipment", "calibrations", "pressure-tests", "shipping", "offer")


def files(folder):
    return {str(p.relative_to(folder)): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


@pytest.mark.full
def test_a_pack_is_the_same_twice(tmp_path):
    for name in ("one", "two"):
        write_pack(shared.plant(), tmp_path / name, only=SOME, pdf=False)
    one, two = files(tmp_path / "one"), files(tmp_path / "two")
    assert one == two and {"index.html", "index.json", "record.json"} <= set(one)
    write_pack(shared.plant(), tmp_path / "two", only=SOME, pdf=False)  # and once more in its own place
    assert files(tmp_path / "two") == one


@pytest.mark.full
def test_the_index_says_exactly_what_changed(tmp_path):
    """A device is swapped: a document is issued anew where its file differs, and nowhere else."""
    write_pack(shared.plant(), tmp_path / "old", only=SOME, pdf=False)
    design = shared.demo().with_values({"energy_recovery.device": "turbocharger", "project.revision": "B"})
    made = write_pack(shared.plant(design), tmp_path / "new", only=SOME, since=tmp_path / "old", pdf=False)
    old, new = files(tmp_path / "old"), files(tmp_path / "new")
    differ = {name for name in new if name.startswith("documents/") and new[name] != old.get(name)}
    entries = made.index["documents"]
    assert {f"documents/{e['file']}" for e in entries.values() if e["state"] == "changed"} == differ
    assert entries["calibrations"]["state"] == "unchanged" and entries["calibrations"]["revision"] == "A"
    assert entries["equipment"]["revision"] == "B" and "P-302" in entries["equipment"]["what"]
    assert all(e["why"].startswith("Energy recovery (energy_recovery.device)") for e in entries.values()
               if e["state"] == "changed")
    said = (tmp_path / "new" / "index.html").read_text(encoding="utf-8")
    assert "Documents issued anew" in said and "Hydraulic turbocharger" in said


@pytest.mark.full
def test_each_change_has_its_own_documents(tmp_path):
    """Length of the spares, acceptance grade, delivery time: each document names the one that changed it."""
    some = ("factory-test", "spares", "equipment", "offer")
    write_pack(shared.plant(), tmp_path / "old", only=some, pdf=False)
    design = shared.demo().with_values({"offer.spares_time": "1 year", "offer.pump_grade": "1b",
                                          "offer.delivery_time": "30 weeks"})
    made = write_pack(shared.plant(design), tmp_path / "new", only=some, since=tmp_path / "old", pdf=False)
    why = {key: e["why"] for key, e in made.index["documents"].items()}
    assert "offer.spares_time" in why["spares"] and "offer.pump_grade" not in why["spares"]
    assert "offer.pump_grade" in why["factory-test"] and "offer.spares_time" not in why["factory-test"]
    assert "offer.delivery_time" in why["offer"] and "offer.spares_time" not in why["offer"]
    assert made.index["documents"]["equipment"]["state"] == "unchanged"
    said = (tmp_path / "new" / "index.html").read_text(encoding="utf-8")
    assert "set the next one" in said, "both are revision A"


@pytest.mark.full
def test_it_is_for_review_until_a_person_has_looked(tmp_path):
    design = shared.demo().with_values({"project.checked_by": "XY"})
    file = tmp_path / "plant.toml"
    file.write_text(design.text, encoding="utf-8")
    from desalbook import api

    plant = api.size(api.read(file))
    assert write_pack(plant, tmp_path / "a", only=("shipping",), pdf=False).index["head"]["status"] == "For review"
    marks = Marks(file)
    for id, x in plant.verdicts.items():
        if x.more["verdict"] in ("fails", "review"):
            marks.mark(plant.record, id, "accept", "XY")
    done = write_pack(plant, tmp_path / "b", only=("shipping",), pdf=False, since=tmp_path / "a")
    assert done.index["head"]["status"] == "Reviewed"
    assert done.index["documents"]["shipping"]["state"] == "changed", "its head says another status"
    marks.mark(plant.record, "duty.product_flow", "question", "XY", "really?")
    assert write_pack(plant, tmp_path / "c", only=("shipping",), pdf=False).index["head"]["status"] == "For review"


@pytest.mark.full
def test_a_sign_off_of_the_desk_is_read_and_the_calculation_bears_the_marks(tmp_path):
    """Nobody is named in the design: who signed this very calculation is who checked it, until the design changes."""
    from desalbook import api

    file = tmp_path / "plant.toml"
    file.write_text(shared.demo().with_values({"project.checked_by": ""}).text, encoding="utf-8")
    plant = api.size(api.read(file))
    some = ("shipping", "equipment", "calculation")
    marks = Marks(file)
    for id, x in plant.verdicts.items():
        if x.more["verdict"] in ("fails", "review"):
            marks.mark(plant.record, id, "accept", "AB")
    marks.mark(plant.record, "duty.product_flow", "accept", "AB")
    assert write_pack(plant, tmp_path / "a", only=some, pdf=False).index["head"]["status"] == "For review"
    fails = [x for x in plant.verdicts.values() if x.more["verdict"] == "fails"]
    marks.sign(plant.record, "Ada Brook", note="accepted as it stands" if fails else "")
    done = write_pack(plant, tmp_path / "b", only=some, since=tmp_path / "a", pdf=False)
    assert (done.index["head"]["status"], done.index["head"]["checked_by"]) == ("Reviewed", "Ada Brook")
    assert "Ada Brook" in (tmp_path / "b" / "index.html").read_text(encoding="utf-8")
    calculation = (tmp_path / "b" / "documents" / "601-calculation.html").read_text(encoding="utf-8")
    assert "Ada Brook" in calculation and calculation.count("accepted") >= 1
    sheets = calculation.split('<section class="sheet">')[1:]
    rows = [r for t in done.index["documents"]["equipment"]["tables"].values() for r in t.values()]
    for said in (r[-1] for r in rows if "page" in r[-1]):
        part, _, n = said.rpartition(", page ")
        assert f"page {n} of {len(sheets)}" in sheets[int(n) - 1] and part.lower()[:6] in sheets[int(n) - 1].lower()
    assert sum("page" in r[-1] for r in rows) > 0.8 * len(rows)
    file.write_text(plant.design.with_values({"membrane.recovery": "0.41"}).text, encoding="utf-8")
    later = write_pack(api.size(api.read(file)), tmp_path / "c", only=some, pdf=False).index
    assert later["head"]["status"] == "For review" and "changed since" in later["review"]["signed"][0]["holds"]


def test_the_command(tmp_path, capsys):
    demo = str(shared.demo().path)
    goal = tmp_path / "pack"
    assert main(["pack", demo, "--out", str(goal), "--only", "spares, shipping", "--units", "us", "--no-pdf"]) == 0
    said = capsys.readouterr().out
    assert "407  Spares and consumables (spares)" in said and "for review" in said
    page = (goal / "documents" / "407-spares.html").read_text(encoding="utf-8")
    assert "size: letter landscape" in page and "Design SHA-256" in page
    held = json.loads((goal / "index.json").read_text(encoding="utf-8"))
    assert set(held["documents"]) == {"spares", "shipping"} <= set(PARTS)
    assert main(["pack", demo, "--out", str(goal), "--only", "cake"]) == 2
    assert "is not a document of the pack" in capsys.readouterr().err


def test_a_folder_of_another_sort_is_left_alone(tmp_path):
    (tmp_path / "mine.txt").write_text("keep", encoding="utf-8")
    with pytest.raises(DesignError, match="not empty and holds no pack"):
        write_pack(shared.plant(), tmp_path, only=("spares",), pdf=False)
    with pytest.raises(DesignError, match="holds no pack"):
        write_pack(shared.plant(), tmp_path / "x", only=("spares",), since=tmp_path, pdf=False)
    assert [p.name for p in tmp_path.iterdir()] == ["mine.txt"]
