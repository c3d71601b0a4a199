"""Inputs of a room by key: typed, and refused by name where the type is not what stands there."""

from __future__ import annotations

import pytest

from desalbook.design import lines
from desalbook.problems import TrailError
from desalbook.trail import Choice, Column, Figure, Ledger
from desalbook.trail.inputs import Inputs
from tests.shared import demo


@pytest.fixture(scope="module")
def inp() -> Inputs:
    with Ledger().recording():
        return lines(demo())


def test_each_type_is_given(inp):
    number, choice, row = inp.number("filters.rate_limit"), inp.choice("filters.present"), inp.column("water.ions")
    assert type(number) is Figure and number == inp("filters.rate_limit")
    assert type(choice) is Choice and choice == "yes"
    assert type(row) is Column and "Na" in row
    assert inp.optional("filters.count") is None and inp.selected("corrosion_inhibitor.reason") is None
    assert inp.names("filters.layers")[0] == "anthracite"


@pytest.mark.parametrize(("ask", "key", "said"), [
    ("number", "filters.count", "blank"),
    ("number", "filters.present", "holds Choice"),
    ("number", "water.ions", "holds Column"),
    ("optional", "membrane.element", "holds Choice"),
    ("choice", "filters.rate_limit", "holds Figure"),
    ("column", "filters.rate_limit", "holds Figure"),
    ("number", "filters.no_such_key", "no such key"),
    ("names", "filters.rate_limit", "no list"),
])
def test_the_wrong_type_is_refused_by_name(inp, ask, key, said):
    with pytest.raises(TrailError, match=said) as found:
        getattr(inp, ask)(key)
    assert key in str(found.value)


def test_inputs_without_lists_say_so():
    with pytest.raises(TrailError, match="no lists"):
        Inputs(lambda id: None).names("filters.layers")
