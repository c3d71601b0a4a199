"""The register of relations is what the relations and the check points of the tests make it."""

from __future__ import annotations

import json

from desalbook.audit.register import FILE, register_page
from desalbook.audit.register import register as kept
from desalbook.trail import REGISTER
from tests import make_register, register
from tests.points import Point


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
        assert row["hash"] == REGISTER[str(key)].hash and row["units"] == "holds" and row["unit"] and row["source"]
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
