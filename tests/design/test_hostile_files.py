"""Design files, histories and marks that were cut, filled with rubbish or written by two: nothing is lost."""

from __future__ import annotations

import errno
import hashlib
import json
import os
import pathlib

import pytest

from desalbook import api
from desalbook import design as room
from desalbook.audit import Marks
from desalbook.design import store, write
from desalbook.notebook.board import Panel
from desalbook.notebook.session import Session
from desalbook.problems import Conflict, DesignError, Problem
from desalbook.summary import review
from tests import fakes
from tests.notebook.test_hostile import plain
from tests.notebook.test_session import BARE
from tests.shared import demo, plant

WHOLE = fakes.TEXT.encode()
GOOD = {"bom": b"\xef\xbb\xbf" + WHOLE, "crlf": WHOLE.replace(b"\n", b"\r\n"), "no last line end": WHOLE.rstrip()}
BAD = {
    "nothing": b"", "zeros": b"\0" * 500, "a zero": WHOLE.replace(b"2400", b"24\0"), "cr": WHOLE.replace(b"\n",
    b"\r"),
    "utf-16": fakes.TEXT.encode("utf-16"), "latin": WHOLE.replace(b"Test", b"T\xe9st"),
    "10 MB": WHOLE + b"#" * 10_000_000,
    "section twice": WHOLE + b"\n[duty]\ntrains = 2\n", "key twice": WHOLE.replace(b"ph = 8.1",
    b"ph = 8.1\nph = 8.2"),
    "unknown section": WHOLE + b"\n[nosuch]\na = 1\n", "unknown key": WHOLE.replace(b"ph =", b"hp ="),
    "newer": WHOLE.replace(b"format = 1", b"format = 2"), "format as text": WHOLE.replace(b"format = 1",
    b'format = "1"'),
    "nested": b"format = 1\na = " + b"[" * 3000 + b"]" * 3000, "list of sections": WHOLE.replace(b"[duty]",
    b"[[duty]]"),
    "table": WHOLE.replace(b"ph = 8.1", b"ph = { a = 1 }"), "list": WHOLE.replace(b"ph = 8.1", b"ph = [1, 2]"),
    "nan": WHOLE.replace(b"ph = 8.1", b"ph = nan"), "date": WHOLE.replace(b"ph = 8.1", b"ph = 2020-01-01"),
    "no such date": WHOLE.replace(b"ph = 8.1", b"ph = 2020-02-31"), "5000 digits": WHOLE.replace(b"8.1",
    b"1" + b"0" * 5000),
    "400 digits": WHOLE.replace(b"8.1", b"1" + b"0" * 400), "empty key": WHOLE.replace(b"ph = 8.1", b'"" = 3'),
    "long key": WHOLE.replace(b"ph = 8.1", b'"' + b"x" * 4000 + b'" = 3'), "line in key": WHOLE.replace(b"ph",
    b'"a\\nb"'),
    "escape in key": WHOLE.replace(b"ph", b'"a\\u001bb"'),
}


@pytest.mark.parametrize("which", GOOD)
def test_harmless_forms_are_read_and_kept(which, tmp_path):
    path = tmp_path / "a b'\"ü 🌊.toml"
    path.write_bytes(GOOD[which])
    design = api.read(path)
    assert design.get("water.ions") == fakes.design().get("water.ions")
    changed = api.write(design.with_value("duty.train_product_flow", "2500 m3/d"), path)
    assert "2500 m3/d" in path.read_text(encoding="utf-8-sig") and api.read(path).text == changed.text
    if which == "crlf":
        assert path.read_bytes().count(b"\r\n") == path.read_bytes().count(b"\n")


@pytest.mark.parametrize("which", BAD)
def test_rubbish_is_one_line(which, tmp_path):
    path = tmp_path / "a.toml"
    path.write_bytes(BAD[which])
    with pytest.raises(DesignError) as refused:
        api.read(path)
    plain(str(refused.value))
    assert path.read_bytes() == BAD[which]


def test_every_truncation_is_read_or_refused(tmp_path):
    path, read = tmp_path / "a.toml", 0
    for end in range(0, len(WHOLE), 5):
        path.write_bytes(WHOLE[:end])
        try:
            api.read(path)
            read += 1
        except DesignError as refused:
            plain(str(refused))
    assert read < 3  # the analysis is the last line: without it there is no design


@pytest.mark.parametrize("name", ["", ".", "no/x.toml", "a\0b", "x" * 5000, "\udcff.toml", "loop.toml"])
def test_names_that_are_no_files(name, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    os.symlink("loop.toml", "loop.toml")
    with pytest.raises(DesignError) as refused:
        api.read(name)
    said = str(refused.value)
    assert said == " ".join(said.split()) and len(said) < 400
    if name in ("\udcff.toml", "loop.toml"):
        return  # a name can be free, and a link that leads nowhere holds nothing
    with pytest.raises(DesignError) as refused:
        api.write(fakes.design(), name)
    assert len(str(refused.value)) < 400 and not list(tmp_path.glob("**/*.toml"))[1:]


def test_a_link_stays_a_link(tmp_path):
    real, link = tmp_path / "real.toml", tmp_path / "link.toml"
    real.write_bytes(WHOLE)
    link.symlink_to(real)
    api.write(api.read(link).with_value("duty.trains", "3"), link)
    assert link.is_symlink() and api.read(real).get("duty.trains") == 3


@pytest.mark.parametrize("call", ["fsync", "replace"])
@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EROFS, errno.EACCES])
def test_a_full_or_locked_disk_loses_nothing(call, code, tmp_path, monkeypatch):
    path = tmp_path / "a.toml"
    path.write_bytes(WHOLE)
    session = Session(api.read(path), fakes.size, path)
    session.apply("duty.train_product_flow", "2500 m3/d")

    def full(*_args, **_more):
        raise OSError(code, os.strerror(code))

    with monkeypatch.context() as m:
        m.setattr(store.os, call, full)
        assert not session.save(api.write) and session.unsaved
        plain(session.messages["save"], "a.toml")
    assert path.read_bytes() == WHOLE and not list(tmp_path.glob("*.part")) and not list(tmp_path.glob(".*.part"))
    assert session.save(api.write) and "2500 m3/d" in path.read_text(encoding="utf-8")


def test_two_writers_keep_both_texts(tmp_path):
    path = tmp_path / "a.toml"
    path.write_bytes(WHOLE)
    mine, other = api.read(path).with_value("duty.trains", "3"), api.read(path).with_value("duty.trains", "4")
    api.write(other, path)
    with pytest.raises(Conflict) as refused:
        api.write(mine, path)
    plain(str(refused.value), "a.toml")
    kept = list(tmp_path.glob("a.mine-*.toml"))
    assert api.read(path).text == other.text and [api.read(x).text for x in kept] == [mine.text]


@pytest.mark.parametrize("name", ["a\0b", "\ud800", ".", "/", "x" * 300, "no/such/folder", ""])
def test_save_as_under_no_name(name, tmp_path):
    path = tmp_path / "a.toml"
    path.write_bytes(WHOLE)
    session = Session(api.read(path), fakes.size, path)
    session.apply("duty.trains", "3")
    panel = Panel(session, step=BARE)
    if name.isascii():
        panel.files.name.value = name
        panel.files.saved_as.click()
    else:  # no widget carries half a character
        assert not session.save(api.write, name)
    said = session.messages["save"]
    assert not session.errors and session.unsaved and session.path == path and said == " ".join(said.split()), said
    assert path.read_bytes() == WHOLE and not session.stale


def test_save_as_through_a_folder_that_is_not_there(tmp_path):
    """Once it was written, and then could not be found again."""
    path = tmp_path / "a.toml"
    path.write_bytes(WHOLE)
    session = Session(api.read(path), fakes.size, path)
    assert session.save(api.write, "no/../b") and api.read(session.path).text == session.design.text


# histories and marks ------------------------------------------------------------------------------------------

def histories(good: bytes) -> dict[str, tuple[bytes, int]]:
    """Damaged histories, and how many revisions are left in each."""
    return {
        "binary": (b"\xff\xfe\0\0\n" + good, 1), "number": (b"3\n" + good, 1), "list": (b"[]\n" + good, 1),
        "empty entry": (b"{}\n" + good, 1), "hash only": (b'{"hash": "a"}\n' + good, 1),
        "nan": (b'{"hash": NaN}\n' + good, 1),
        "deep": (b"[" * 100_000 + b"\n" + good, 1), "cut": (good + good[:60], 1), "crlf": (good.replace(b"\n",
        b"\r\n"), 1),
        "revision as text": (good.replace(b'"revision": 1', b'"revision": "x"'), 0),
        "no time": (good.replace(b'"time"', b'"tame"'), 0), "text as number": (good.replace(b'"text": "',
        b'"text": 3, "x": "'), 0),
        "another text": (good.replace(b"2400", b"9900"), 0),
    }


@pytest.mark.parametrize("which", histories(b""))
def test_a_damaged_history(which, tmp_path):
    path = tmp_path / "a.toml"
    api.write(fakes.design(), path)
    history = tmp_path / ".desalbook" / "a.toml.revisions.jsonl"
    data, left = histories(history.read_bytes())[which]
    history.write_bytes(data)
    assert len(room.revisions(path)) == left and bool(room.damaged(path)) == (which != "crlf")
    panel = Panel(Session(api.read(path), fakes.size, path), step=BARE)
    assert len(panel.files.past.options) == left + 1 and ("damaged lines" in panel.head.html) == (which != "crlf")
    panel.change("duty.trains", "3")
    panel.files.save.click()
    assert not panel.session.errors and not panel.session.unsaved
    assert history.read_bytes().startswith(data) and room.revisions(path)[-1]["text"] == panel.session.design.text
    panel.files.past.value = panel.files.past.options[-1][1]
    panel.files.take.click()
    assert not panel.session.errors


def test_a_history_that_cannot_be_read(tmp_path):
    path = tmp_path / "a.toml"
    path.write_bytes(WHOLE)
    (tmp_path / "a.toml.revisions.jsonl").mkdir()
    panel = Panel(Session(api.read(path), fakes.size, path), step=BARE)
    assert "history cannot be read" in panel.head.html and not panel.session.errors
    panel.change("duty.trains", "3")
    panel.files.save.click()
    assert path.read_bytes() == WHOLE and panel.session.unsaved and not panel.session.errors
    plain(panel.session.messages["save"], "revisions")


def line(mark: dict | str) -> bytes:
    body = mark if isinstance(mark, str) else json.dumps(mark, sort_keys=True)
    return f"{hashlib.sha256(body.encode()).hexdigest()[:12]} {body}\n".encode()


def marks(good: bytes) -> dict[str, tuple[bytes, int]]:
    """What somebody put downstream of a good mark, and how many marks there are then."""
    body = json.loads(good.decode().partition(" ")[2]) if good else {}
    return {
        "binary": (b"\xff\xfe\0\n", 1), "empty": (line({}), 1), "list": (line("[]"), 1),
        "deep": (line("[" * 100_000), 1),
        "nobody": (line({k: v for k, v in body.items() if k != "by"}), 1),
        "id of a list": (line(body | {"id": ["a"]}), 1),
        "bound to text": (line(body | {"bound": "x"}), 1),
        "verdict of a list": (line(body | {"verdict": ["maybe"]}), 1),
        "unknown verdict": (line(body | {"verdict": "maybe"}), 2), "scale of text": (line(body | {"scale": "x"}),
        1),
        "scale too long": (line(body | {"scale": [1.0, 2.0]}), 2), "value of text": (line(body | {"value": "x"}),
        2),
        "value of tables": (line(body | {"value": [{}]}), 1), "altered": (good.replace(b"AB", b"CD"), 1),
        "cut": (good[:-20], 1),
        "no end": (good[:-1], 2), "line ends": (good.replace(b"\n", b"\r\n"), 2),
        "no time": (line(body | {"time": None}), 1),
    }


@pytest.mark.parametrize("which", marks(b""))
def test_damaged_marks(which, tmp_path):
    path, record = tmp_path / "a.toml", fakes.size(fakes.design()).record
    path.write_bytes(WHOLE)
    kept = Marks(path)
    kept.mark(record, "filters.rate", "accept", "AB")
    good = kept.path.read_bytes()
    data, count = marks(good)[which]
    kept.path.write_bytes(good + data)
    assert len(kept.all) == count and bool(kept.damaged) == (count == 1 and which != "cut")
    assert len(kept.standing(record)) == 1 and ("Damaged" in review(kept, record)) == bool(kept.damaged)
    assert kept.mark(record, "filters.count", "reject", "CD", "why")["id"] == "filters.count"
    assert len(kept.all) == count + 1 and kept.path.read_bytes().startswith(good + (b"" if which == "cut" else data))


def test_marks_that_cannot_be_kept(tmp_path):
    kept = Marks(tmp_path / "a.toml")
    kept.path.mkdir(parents=True)
    for what in (lambda: kept.all, lambda: kept.mark(fakes.size(fakes.design()).record, "filters.rate", "accept",
        "AB")):
        with pytest.raises(Problem) as refused:
            what()
        plain(str(refused.value), "a.toml.marks")


def test_a_file_that_is_gone_is_not_made_anew_unasked(tmp_path):
    path = tmp_path / "plan.toml"
    design = write(demo(), path)
    path.unlink()
    with pytest.raises(Conflict, match="gone"):
        write(design, path)
    assert not path.exists() and [p.name for p in tmp_path.glob("plan.mine-*.toml")]
    assert write(demo(), path).path == path  # asked for under its name, it is


def test_what_a_killed_write_left_is_swept(tmp_path):
    path = tmp_path / "plan.toml"
    left = tmp_path / ".plan.toml.4711-12345.part"
    other = tmp_path / ".another.toml.4711-12345.part"
    left.write_text("half")
    other.write_text("half")
    write(demo(), path)
    assert not left.exists() and other.exists()


def test_a_full_disk_leaves_no_half_of_an_export(tmp_path, monkeypatch):
    whole = pathlib.Path.write_text

    def full(self, data, *rest, **more):
        whole(self, data[:100], *rest, **more)
        raise OSError(errno.ENOSPC, "No space left on device")

    trail = plant().trail
    monkeypatch.setattr(pathlib.Path, "write_text", full)
    with pytest.raises(OSError, match="No space"):
        trail.page(tmp_path / "plan.html")
    assert list(tmp_path.iterdir()) == []
