"""Names of files as typed: plain ones pass, whatever another system or eye would take otherwise is refused."""

from __future__ import annotations

import pytest

from desalbook.design.names import LONGEST, checked_name
from desalbook.problems import DesignError


@pytest.mark.parametrize("name", ["three-trains", "Plan B, 2.toml", "Werk Süd", "план", "a.b", "x" * LONGEST,
                                  "console"])
def test_plain_names_pass(name, tmp_path):
    assert checked_name(name, tmp_path) == name


@pytest.mark.parametrize(("name", "said"), [
    ("", "no name"), ("   ", "no name"), ("a/b", "holds a path"), ("a\\b", "holds a path"),
    ("../up", "leads out of this folder"), ("/etc/x", "leads out of this folder"), ("..\\up", "leads out"),
    ("a\nb", "control or direction mark"), ("a\x00b", "control"), ("a\u202egp.toml", "direction mark"),
    ("a\u200bb", "control or direction mark"), ("\ud800", "control"), (".hidden", "begins with a point"),
    ("end.", "ends with one"), (" x", "a space"), ("CON", "keeps for a device"), ("nul.toml", "keeps for a device"),
    ("Lpt1", "keeps for a device"), ('a"b', "sign"), ("a:b", "sign"), ("what?", "sign"), ("x" * 500, "too long"),
])
def test_other_names_are_refused_in_one_line(name, said, tmp_path):
    with pytest.raises(DesignError, match=said) as caught:
        checked_name(name, tmp_path)
    line = str(caught.value)
    assert "\n" not in line and line.isprintable() and len(line) < 600


def test_where_a_name_leads_is_shown(tmp_path):
    with pytest.raises(DesignError) as caught:
        checked_name("../elsewhere/plan", tmp_path / "work")
    assert str(tmp_path / "elsewhere") in str(caught.value) and str(tmp_path / "work") in caught.value.do
