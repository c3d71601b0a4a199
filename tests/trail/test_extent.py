"""Equations that fit a sheet: each is broken at its operators before it is wider than a line."""

from __future__ import annotations

import re

from desalbook.trail import typeset
from desalbook.trail.extent import extent
from tests import shared
from tests.trail.build import calculation


def balanced(mathml: str) -> bool:
    depth = 0
    for close, bare in re.findall(r"<(/?)[a-z]+[^>]*?(/?)>", mathml):
        depth += 0 if bare else -1 if close else 1
    return depth == 0


def test_no_equation_of_a_demo_plant_is_wider_than_a_line():
    """Symbols and numbers of every computed line; some lines of the plant are far wider unbroken."""
    for name in (shared.HARBOUR, shared.WELL):
        record = shared.recorded(name)
        lines = {x["id"]: x for x in record["lines"]}
        broken = 0
        for x in {x["relation"]: x for x in record["lines"] if x["sort"] == "computed"}.values():
            r = record["relations"][x["relation"]]
            for text in (typeset.equation(r, typeset.argument_symbols(x, lines), symbol=x["symbol"] or None),
                         typeset.numbers(x, lines, record["relations"])):
                assert extent(text).wide <= typeset.LINE * 1.05, (x["id"], extent(text).wide)
                assert balanced(text), x["id"]
                broken += text.count("stretchy") and "<mtable" in text
        assert broken > 10


def test_a_broken_equation_says_the_same_as_an_unbroken_one(monkeypatch):
    """All its letters and figures, in their order; only brackets, fractions and lines are others."""
    record = shared.recorded()
    lines = {x["id"]: x for x in record["lines"]}

    def said(text: str) -> str:
        return re.sub(r"[^\w.,∑]", "", re.sub(r"<[^>]*>", "", text)).replace("if", "").replace("ceil", "")

    some = {x["relation"]: x for x in record["lines"] if x["sort"] == "computed"}
    narrow = {key: typeset.numbers(x, lines, record["relations"]) for key, x in some.items()}
    monkeypatch.setattr(typeset, "LINE", 1e6)
    for key, x in some.items():
        assert said(typeset.numbers(x, lines, record["relations"])) == said(narrow[key]), key


def test_width_and_height_grow_with_what_is_set():
    line = next(x for x in calculation().lines.values() if x.sort == "computed")
    text = typeset.numbers(line)
    assert extent(text).wide > extent(typeset.equation(line.relation)).wide > 2
    assert extent(f"<mfrac>{text}{text}</mfrac>").high > 2 * extent(text).high
