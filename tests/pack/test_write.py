"""The pack on disk: the same twice, its index true, and what changed named with its cause."""

from __future__ import annotations

import json

import pytest

from desalbook.audit import Marks
from desalbook.cli import main
from desalbook.pack import PARTS, write_pack
from desalbook.problems import DesignError
from tests import shared

SOME = ("equipment", "calibrations", "pressure-tests", "shipping")


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
    """Two changes: the length of the spares, and the acceptance grade. Each document names the one that changed it."""
    some = ("factory-test", "spares", "equipment")
    write_pack(shared.plant(), tmp_path / "old", only=some, pdf=False)
    design = shared.demo().with_values({"offer.spares_time": "1 year", "offer.pump_grade": "1b"})
    made = write_pack(shared.plant(design), tmp_path / "new", only=some, since=tmp_path / "old", pdf=False)
    why = {key: e["why"] for key, e in made.index["documents"].items()}
    assert "offer.spares_time" in why["spares"] and "offer.pump_grade" not in why["spares"]
    assert "offer.pump_grade" in why["factory-test"] and "offer.spares_time" not in why["factory-test"]
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
