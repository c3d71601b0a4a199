"""The register of relations is what the relations and the check points of the tests make it."""

from __future__ import annotations

import json

from desalbook.audit.register import FILE, register_page
from desalbook.audit.register import register as kept
from desalbook.sources import source, source_keys
from desalbook.trail import REGISTER
from tests import make_register, register
from tests.points import SOFT, Point

LEAST = 42
"""Relations with a printed result, which may only become more."""


def test_the_file_is_up_to_date():
    """Made again with ``python -m tests.make_register`` after a relation or a point was added."""
    stored = {r["id"]: r for r in json.loads(FILE.read_text(encoding="utf-8"))}
    made = {r["id"]: r for r in make_register.rows()}
    assert stored.keys() == made.keys(), sorted(stored.keys() ^ made.keys())
    assert [k for k in made if made[k] != stored[k]] == []
    examples = json.loads(make_register.EXAMPLES.read_text(encoding="utf-8"))
    assert examples == make_register.examples()


def test_every_relation_and_every_point_is_in_it():
    frame = kept().set_index("id")
    assert set(frame.index) == set(register.relations()) and frame["points"].sum() == len(register.points())
    for key, row in frame.iterrows():
        assert row["hash"] == REGISTER[str(key)].hash and row["units"] == "passes" and row["unit"] and row["source"]
        assert (row["worst"] == row["worst"]) == (row["points"] > 0)


def test_a_deviation_is_measured():
    key, r = next((k, r) for k, r in register.relations().items() if any(p.relation == k for p in register.points()))
    point = next(p for p in register.points() if p.relation == key)
    exact = float(r.plain(**point.inputs)) if not isinstance(point.expect, (list, tuple)) else None
    assert exact is not None
    off = Point(key, point.inputs, exact / 1.01, 0.1, point.source)
    assert make_register.deviation(r, off) == 0.01
    assert make_register.deviation(r, Point(key, point.inputs, exact, 0.1, point.source)) == 0.0


def test_the_page_stands_alone():
    html = register_page()
    assert html.count("<tr id=") == len(kept())
    for word in ("http:", "https:", "<script", "url("):
        assert word not in html.replace("Content-Security-Policy", "")


def test_a_published_correlation_has_a_published_point_or_says_why_not():
    """Of the relations that cite a source from outside; a definition or common practice prints no result."""
    frame = kept().set_index("id")
    for key, r in register.relations().items():
        row, soft = frame.loc[key], source(r.source).kind in SOFT
        assert row["published"] == sum(p.published for p in register.points() if p.relation == key)
        if not soft:
            assert row["published"] or row["unpublished"], f"{key}: neither a result nor a reason"
        assert not (row["published"] and row["unpublished"]) and not (soft and row["unpublished"]), key
    assert sum(frame["published"] > 0) >= LEAST


def test_a_reason_that_nobody_needs_is_taken_out():
    lacking = {r.source for r in register.relations().values()
               if not any(p.published for p in register.points() if p.relation == r.key)}
    idle = [k for k in source_keys() if source(k).unpublished and k not in lacking]
    assert not idle, f"take out `unpublished` of {', '.join(idle)}"


def test_only_a_result_printed_outside_counts_as_published():
    printed = Point("a:b", {}, 1.0, 0.1, "davis-2010")
    assert printed.published
    for source_key, status in (("definition", "printed"), ("common-practice", "printed"),
                               ("davis-2010", "hand arithmetic"), ("davis-2010", "from memory"),
                               ("pyco2sys", "computed with a reference library")):
        assert not Point("a:b", {}, 1.0, 0.1, source_key, status=status).published


def test_the_page_says_what_is_published():
    html = register_page()
    assert "results printed in a source from outside" in html
    assert html.count("No printed result: ") == sum(bool(r) for r in kept()["unpublished"])
