"""Titles of lines are written as titles."""

from __future__ import annotations

import pytest

from tests import shared


@pytest.mark.parametrize("name", [shared.HARBOUR, shared.WELL])
def test_titles_begin_with_a_capital(name):
    lines = shared.sized(name).ledger.lines.values()
    assert [x.id for x in lines if x.title[:1].islower() and not x.title.startswith("pH")] == []
