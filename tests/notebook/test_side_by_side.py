"""Two designs side by side: an option kept and taken up again, what differs in inputs, results, checks, pictures."""

from __future__ import annotations

import pytest

from desalbook import api, paths
from desalbook.notebook.board import Panel
from desalbook.notebook.session import Session
from desalbook.notebook.steps import step
from tests import shared

pytestmark = pytest.mark.full


@pytest.fixture
def panel(tmp_path, monkeypatch) -> Panel:
    monkeypatch.chdir(tmp_path)
    path = tmp_path / "mine.toml"
    path.write_text(paths.demo("harbour-town.toml").read_text(encoding="utf-8"), encoding="utf-8")
    return Panel(Session(api.read(path), lambda d: shared.plant(d), path), "si", step("membranes"))


def test_an_option_is_kept_compared_and_taken_up(panel, tmp_path):
    side = panel.beside
    assert side.page.html == "" and "option A" not in dict(side.other.options)
    side.kept.click()
    assert (tmp_path / ".desalbook" / "mine.toml.option-A").exists() and dict(side.other.options)["option A"]
    side.other.value = "option:A"
    assert "Inputs that differ</b> <span class=\"quiet\">none" in side.page.html
    first = panel.session.design.text
    panel.change("membrane.recovery", "46 %")
    html = side.page.html
    assert "RO recovery" in html and "+4 %" in html.replace("\N{NO-BREAK SPACE}", " ")
    here, other = panel.session.plant, shared.plant()
    for id in ("membrane.feed_pressure", "membrane.permeate_boron"):
        assert here.show(id).split()[0] in html and other.show(id).split()[0] in html
    assert "Boron of the product, with margin" in html and "✗ fails by 1.3 %" in html
    assert "<td>none</td>" in html and "e-1" not in html.partition("<svg")[0]  # the flux is held by the vessel count
    assert html.count("<figure>") == 2 * len(panel.step.pictures) and "option A</figcaption>" in html
    panel.set.value = "us"
    assert "psig" in side.page.html
    side.take.click()
    assert panel.session.design.text == first and panel.session.can_undo
    assert "Inputs that differ</b> <span class=\"quiet\">none" in side.page.html and not panel.session.errors
    again = Panel(Session(api.read(panel.session.path), lambda d: shared.plant(d), panel.session.path), "si",
                  step("membranes"))
    assert dict(again.beside.other.options)["option A"] == "option:A"  # it is there after a restart


def test_beside_the_saved_file_and_another(panel, tmp_path):
    side = panel.beside
    panel.change("duty.trains", "3")
    side.other.value = dict(side.other.options)["the saved file"]
    assert "Duty trains" in side.page.html and "+1" in side.page.html
    (tmp_path / "broken.toml").write_text("format = 1\n[duty]\n", encoding="utf-8")
    panel._moved()
    side.other.value = dict(side.other.options)["broken.toml"]
    assert "broken.toml:" in side.page.html and "alert" in side.page.html and not panel.session.errors
    side.other.value = ""
    assert side.page.html == ""
