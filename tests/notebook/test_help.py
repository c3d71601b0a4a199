"""Help on every control: what it means, the usual range, where it comes from."""

from __future__ import annotations

import re

import pytest

from desalbook import api, paths
from desalbook.design import SECTIONS
from desalbook.notebook import controls
from desalbook.notebook.session import Session
from desalbook.sources import source
from desalbook.units.fields import metas


def _every(path, cls, found):
    for key, m in metas(cls).items():
        if m.item is not None:
            _every(f"{path}.{key}[]", m.item, found)
        else:
            found[f"{path}.{key}"] = m
    return found


EVERY = {k: m for name, cls in SECTIONS.items() for k, m in _every(name, cls, {}).items()}


def test_there_are_many():
    assert len(EVERY) > 500


def test_meaning():
    assert not [k for k, m in EVERY.items() if not m.hint]
    assert not [k for k, m in EVERY.items() if len(m.hint) < 8 or m.hint.strip(" .").lower() == m.title.lower()]


def test_usual_range():
    """Of every quantity, within what is possible; a choice says its choices."""
    bare = {k for k, m in EVERY.items() if m.form == "quantity" and not m.usual}
    assert not bare, sorted(bare)
    for key, m in EVERY.items():
        if m.form == "choice":
            assert m.options or m.own, key  # a list of the design alone may be empty
        if m.usual and m.possible:
            for end, limit, sense in ((0, m.possible[0], 1), (1, m.possible[1], -1)):
                if m.usual[end] is not None and limit is not None:
                    assert sense * (m.usual[end] - limit) >= -1e-9 * max(1.0, abs(limit)), key


def test_source():
    """Of everything but a text, which is the reader's own."""
    for key, m in EVERY.items():
        if m.form != "text":
            assert source(m.source).kind, key


@pytest.mark.parametrize("units", ["si", "us"])
def test_the_control_shows_all_three(units):
    session = Session(api.read(paths.demo("harbour-town.toml")), lambda design: None)
    rows = 0
    for fields in controls.fields(session.design).values():
        for key, m in fields.items():
            text = controls.row(session, key, m, units)["help"]
            assert m.hint in text and f"key {key}" in text
            if m.form != "text":
                assert "source: " in text
            if m.form == "quantity" and (key.startswith("water.ions[") or "[" not in key.rpartition(".")[2]):
                assert m.usual_text(units)
            rows += 1
    assert rows > 400


def test_a_usual_range_has_few_digits_and_a_limit_enough():
    long = re.compile(r"\d[\d.\N{THIN SPACE}]*")
    for key, m in EVERY.items():
        for units in ("si", "us"):
            for number in long.findall(m.usual_text(units)):
                assert len(number.replace("\N{THIN SPACE}", "").replace(".", "").strip("0")) <= 4, (key, units)
    pressure = next(m for k, m in EVERY.items() if k.endswith("membrane.feed_pressure"))
    assert pressure.usual_text("us") == "652.7 to 1\N{THIN SPACE}088 psig"
    assert len(pressure.possible_text("us")) > len("435.1 to 1740 psig")
