"""The desk of the pack: documents are chosen, looked at and made; what goes wrong is said."""

from __future__ import annotations

import shutil

import pytest

from desalbook import paths
from desalbook.notebook.pack_board import PackDesk, headlines
from desalbook.notebook.session import Session
from tests import shared

pytestmark = pytest.mark.full


@pytest.fixture
def desk(tmp_path) -> PackDesk:
    file = tmp_path / "plant.toml"
    shutil.copy(paths.demo("harbour-town.toml"), file)
    shutil.copy(paths.shelf() / "data-demo" / "client-list.csv", tmp_path)
    plant = shared.plant()
    return PackDesk(Session(plant.design, lambda _: plant, file))


def test_a_document_is_chosen_and_looked_at(desk):
    assert desk.look.value == "offer" and "Guaranteed and expected values" in desk.shown.html
    desk.look.value = "spares"
    assert "Consumables" in desk.shown.html and "barg" not in desk.shown.html
    desk.look.value = "pressure-tests"
    assert "barg" in desk.shown.html
    desk.set.value = "us"
    assert "psig" in desk.shown.html
    desk.parts["spares"].value = False
    assert "spares" not in [key for _, key in desk.look.options] and desk.look.value == "pressure-tests"
    assert not desk.session.errors


def test_a_client_s_list_brings_the_matrix(desk):
    assert "compliance" not in desk.chosen
    desk.list.value = "client-list.csv"
    desk.look.value = "compliance"
    assert "8 deviate" in desk.shown.html
    desk.list.value = "nothing.csv"
    assert "no such file" in desk.told.html and not desk.session.errors


def test_the_pack_is_made_beside_the_design(desk, tmp_path):
    for key, box in desk.parts.items():
        box.value = key in ("spares", "calibrations")
    desk.make.click()
    assert "2 documents in pack" in desk.told.html and (tmp_path / "pack" / "index.html").is_file()
    desk.folder.value = "../away"
    desk.make.click()
    assert "is not a name of a folder" in desk.told.html and not desk.session.errors


def test_weights_skids_and_containers_are_seen(desk):
    """Drawing, mass by part, skids with centre of gravity and fit, containers; nothing is made before it is opened."""
    assert not desk.shipped.html
    desk.shipping.selected_index = 0
    assert "Plan of the plant" in desk.shipped.html and "Mass by part" in desk.shipped.html
    made = desk.session.plant.fabrication.made
    assert {s["tag"] for s in made.skids} <= {key for _, key in desk.drawing.options}
    desk.drawing.value = "SK-301"
    assert "Centre of gravity as shipped (red cross)" in desk.shipped.html
    for word in ("height by 39 mm", "40 ft high-cube container"):
        assert word in desk.shipped.html
    desk.set.value = "us"
    assert "height by 1.54 inch" in desk.shipped.html and "39 mm" not in desk.shipped.html
    assert not desk.session.errors


def test_headlines_are_the_documents():
    said = headlines(shared.plant()).splitlines()
    assert len(said) == 5 and said[2].split()[-2] == "120.4"
