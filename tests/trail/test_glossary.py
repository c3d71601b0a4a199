"""A name means one kind everywhere; every relation cites a source that exists."""

from __future__ import annotations

import pytest

from desalbook.sources import source_keys
from desalbook.trail.glossary import clashes, glossary, symbol_of
from tests.every import every
from tests.register import by_room, relations


def test_no_two_files_disagree():
    assert clashes() == ()


def test_an_unknown_name_is_shown_in_words():
    assert symbol_of("no_such_name_here") == "no such name here"


@pytest.mark.parametrize("room", by_room())
def test_arguments_stand_in_the_glossary(room):
    every(by_room()[room], stands_in_the_glossary)


def stands_in_the_glossary(key: str) -> None:
    for a in relations()[key].args:
        assert a.name in glossary(), f"{a.name} ({a.kind.name}) is not in the glossary"
        known = glossary()[a.name].kind
        assert known.family == a.kind.family, (
            f"{a.name} is a {known.name} in the glossary, a {a.kind.name} here"
        )


@pytest.mark.parametrize("room", by_room())
def test_sources_exist(room):
    every(by_room()[room], cites_what_exists)


def cites_what_exists(key: str) -> None:
    r = relations()[key]
    cited = {r.source, *(c.source for c in r.constants.values()), *(t.source for t in r.tables.values())}
    assert cited <= set(source_keys()), sorted(cited - set(source_keys()))


@pytest.mark.parametrize("room", by_room())
def test_a_relation_says_what_it_is(room):
    every(by_room()[room], says_what_it_is)


def says_what_it_is(key: str) -> None:
    r = relations()[key]
    assert r.title and r.symbol and r.doc
    assert set(r.within) <= {a.name for a in r.args} | {"result"}
    assert isinstance(r.limits, dict)  # every range can be read
