"""State that lasts: drafts of unsaved text, the last file, units and open groups, and side files out of sight."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys

import pytest

from desalbook import api, paths
from desalbook import design as room
from desalbook.notebook import board, drafts
from desalbook.notebook.session import Session
from desalbook.notebook.steps import step
from tests import fakes, shared

FLOW = "duty.train_product_flow"


@pytest.fixture
def file(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv(paths.DESIGN, raising=False)
    path = tmp_path / "mine.toml"
    path.write_text(fakes.design().text, encoding="utf-8")
    return path


def session(path) -> Session:
    return Session(api.read(path), fakes.size, path, keeps=True)


def left_by_another(path, text: str):
    """What a kernel that ended left behind: a process that is no more."""
    gone = subprocess.Popen([sys.executable, "-c", ""])
    gone.wait()
    kept = drafts.Drafts()
    kept._own = f"{gone.pid}-1"
    kept.keep(path.parent, path, text)


def test_unsaved_text_is_kept_until_it_is_saved(file):
    one = session(file)
    folder = paths.hidden(file.parent)
    one.apply(FLOW, "2600 m3/d")
    (draft,) = folder.glob("*.draft")
    assert json.loads(draft.read_text(encoding="utf-8"))["text"] == one.design.text
    one.apply(FLOW, "2700 m3/d")
    assert json.loads(draft.read_text(encoding="utf-8"))["text"] == one.design.text
    one.undo()
    one.undo()
    assert not list(folder.glob("*.draft"))  # it is the file's own text again
    one.redo()
    assert len(list(folder.glob("*.draft"))) == 1
    assert one.save(api.write) and not list(folder.glob("*.draft"))
    assert sorted(p.name for p in file.parent.iterdir() if not p.name.startswith(".")) == ["mine.toml"]
    assert (folder / "mine.toml.revisions.jsonl").exists()  # the history is out of sight as well
    quiet = Session(api.read(file), fakes.size, file)
    quiet.apply(FLOW, "9600 m3/d")
    assert not list(folder.glob("*.draft"))  # a session of a test or a script keeps none


def test_a_draft_that_was_left_is_offered_and_never_taken_silently(file):
    text = api.read(file).with_value(FLOW, "2600 m3/d").text
    left_by_another(file, text)
    one = session(file)
    assert one.design.text != text and not one.unsaved
    (draft,) = one.left()
    assert draft.text == text
    assert one.restore(draft, lambda t: room.from_text(t, file)) and one.design.text == text and one.unsaved
    assert not one.left()
    assert one.undo() and one.design.text != text
    left_by_another(file, text)
    one.left()[0].discard()
    assert not one.left()
    left_by_another(file, one.design.text)
    assert not one.left() and not list(paths.hidden(file.parent).glob("*.draft"))  # it says nothing new


def test_two_notebooks_on_one_file_keep_both_texts(file):
    one, other = session(file), session(file)
    one.apply(FLOW, "2600 m3/d")
    other.apply(FLOW, "2800 m3/d")
    kept = [json.loads(p.read_text(encoding="utf-8"))["text"] for p in paths.hidden(file.parent).glob("*.draft")]
    assert sorted(kept) == sorted((one.design.text, other.design.text)) and len(set(kept)) == 2
    assert drafts._runs(str(os.getppid())) and not drafts._runs("x")
    assert one.save(api.write)
    assert not other.save(api.write) and "changed since" in other.messages["save"]  # and its draft is still there
    assert len(list(paths.hidden(file.parent).glob("*.draft"))) == 1


def test_a_draft_that_is_damaged_or_of_another_file_is_passed_over(file):
    other = file.with_name("other.toml")
    shutil.copyfile(file, other)
    left_by_another(other, "text")
    one = session(file)
    assert not one.left() and session(other).left()
    (paths.hidden(file.parent) / f"{drafts._stem(file)}.1x-1.draft").write_text("{", encoding="utf-8")
    assert not one.left()


def test_the_last_file_is_opened_by_the_next_notebook(file, monkeypatch):
    assert paths.chosen("harbour-town.toml") == paths.demo("harbour-town.toml")
    one = session(file)
    one.apply(FLOW, "2600 m3/d")
    assert paths.chosen("harbour-town.toml") == file
    monkeypatch.setenv(paths.DESIGN, str(paths.demo("beach-well.toml")))
    assert paths.chosen("harbour-town.toml").name == "beach-well.toml"  # named anew on the command line
    one.apply(FLOW, "2700 m3/d")
    assert paths.chosen("harbour-town.toml") == file
    file.unlink()
    assert paths.chosen("harbour-town.toml").name == "beach-well.toml"
    (paths.hidden(file.parent) / "desk.json").write_text("[", encoding="utf-8")
    assert paths.remembered() == {}


@pytest.fixture
def harbour(file, monkeypatch):
    """A copy of the demo design, whose plant is sized once for all panels of these tests."""
    plant = shared.plant()
    monkeypatch.setattr(api, "size", lambda _: plant)
    file.write_text(paths.demo("harbour-town.toml").read_text(encoding="utf-8"), encoding="utf-8")
    return file


def test_units_and_open_groups_are_as_they_were_left(harbour):
    file = harbour
    first = board.panel("pretreatment", file)
    assert first.units == "si"
    first.set.value = "us"
    first.unfold("storage")
    again = board.panel("pretreatment", file)
    assert again.units == "us" and "storage" in again.fields.open
    assert "storage" not in board.panel("membranes", file).fields.open
    again.unfold("storage", False)
    assert "storage" not in board.panel("pretreatment", file).fields.open
    assert board.panel("pretreatment", file, "si").units == "si"
    alone = board.Panel(Session(api.read(file), api.size, file), "si", step("pretreatment"))
    alone.set.value = "us"
    alone.unfold("media")
    assert "media" not in board.panel("pretreatment", file).fields.open  # who is not asked to remember does not


def test_the_panel_offers_a_draft(harbour):
    file = harbour
    text = api.read(file).with_value(FLOW, "2600 m3/d").text
    left_by_another(file, text)
    panel = board.panel("start", file)
    assert "Restore the draft" in panel.head.html and "unsaved changes" not in panel.head.html
    name = panel.session.left()[0].path.name
    panel.head.ask({"draft": name, "restore": True})
    assert panel.session.design.text == text and "unsaved changes" in panel.head.html
    assert "Restore the draft" not in panel.head.html
    panel.head.ask({"draft": name, "restore": True})
    assert "That draft is gone" in panel.head.html and not panel.session.errors
    left_by_another(file, api.read(file).text)
    panel.refresh()
    name = panel.session.left()[0].path.name
    assert "changed after it" not in panel.head.html
    later = file.stat().st_mtime + 3600
    os.utime(file, (later, later))  # by another program, say
    panel.refresh()
    assert "The file was changed after it" in panel.head.html
    panel.head.ask({"draft": name, "restore": False})
    assert "Discard it" not in panel.head.html and panel.session.design.text == text
