"""Finding lines, and following a figure upstream."""

from __future__ import annotations

import xml.etree.ElementTree as ET

import pytest

from desalbook.audit.graph import parents
from desalbook.audit.search import find, upstream
from desalbook.notebook.pictures.upstream import upstream_picture
from desalbook.problems import DesignError
from desalbook.trail import record
from tests import shared
from tests.trail.build import NASTY, calculation


@pytest.fixture(scope="module")
def made():
    return shared.recorded()


def test_words_and_filters(made):
    rate = find(made, "Filtration RATE", chapter="filters")
    assert "filters.rate" in set(rate["id"]) and all(i.startswith("filters") for i in rate["id"])
    assert set(find(made, sort="given")["sort"]) == {"given"}
    assert set(find(made, corner="cold-aged")["corner"]) == {"cold-aged"}
    assert set(find(made, corner="none")["corner"]) == {""}
    assert set(find(made, verdict="marginal")["verdict"]) == {"marginal"}
    assert set(find(made, source="common-practice", sort="computed")["source"]) == {"common-practice"}
    line = next(x for x in made["lines"] if x["id"] == "filters.rate")
    assert "filters.rate" in set(find(made, relation=line["relation"])["id"])
    assert find(made, "no such words anywhere").empty and len(find(made)) > 4000
    ions = find(made, "water.ions", sort="given")
    assert {i for i in ions["id"] if i.startswith("water.ions[")} and "water.ions[Na]" in set(ions["id"])
    with pytest.raises(DesignError, match="given, assumed"):
        find(made, sort="calculated")


def test_words_in_the_equation(made):
    got = find(made, "sqrt", sort="computed")
    assert len(got) and all("sqrt" in str(made["relations"][r]["tree"]) for r in set(got["relation"]))


def test_upstream_is_the_graph_of_the_record(made):
    nodes = upstream(made, "filters.rate", depth=2)
    lines = {x["id"]: x for x in made["lines"]}
    assert nodes[0].id == "filters.rate" and nodes[0].depth == 0
    near = {n.id for n in nodes if n.depth == 1}
    assert near == set(parents(lines["filters.rate"]))
    for n in nodes:
        assert set(n.above) <= set(parents(lines[n.id])) and n.depth <= 2
        assert n.hidden <= len(parents(lines[n.id]))
    assert len(upstream(made, "membrane.feed_pressure", depth=9, most=25)) == 25
    with pytest.raises(DesignError):
        upstream(made, "no.such")


def test_the_picture_is_whole_and_names_every_node(made):
    html = upstream_picture(made, "filters.rate.check", depth=3)
    svg = html[html.index("<svg"):html.index("</svg>") + 6]
    root = ET.fromstring(svg.replace("var(", "(").replace("\N{NO-BREAK SPACE}", " "))
    titles = [t.text or "" for t in root.iter("{http://www.w3.org/2000/svg}title")]
    nodes = upstream(made, "filters.rate.check", depth=3)
    assert len(titles) == len(nodes) and all(n.id in t for n, t in zip(nodes, titles, strict=True))
    paths_ = [p for p in root.iter("{http://www.w3.org/2000/svg}path") if "C" in p.attrib["d"]]
    assert len(paths_) == sum(len(n.above) for n in nodes)
    wide, high = (float(v) for v in root.attrib["viewBox"].split()[2:])
    for t in root.iter("{http://www.w3.org/2000/svg}text"):
        assert 0 <= float(t.attrib["x"]) < wide and 0 < float(t.attrib["y"]) < high


def test_hostile_titles_are_text():
    made = record.to_record(calculation(), "text", kit="0")
    for x in made["lines"]:
        x["title"] = f"{NASTY}<script>alert(1)</script>"
    assert "<script>" not in upstream_picture(made, made["lines"][-1]["id"])
