"""Review priorities: each rule lists what it should, and nothing that a reviewer has confirmed."""

from __future__ import annotations

import copy
import re
from html import escape

import pytest

from desalbook.audit import page
from desalbook.audit.doubt import CLOSURES, COLUMNS, GROUPS, closures, doubt
from desalbook.audit.page.shown import tiny
from desalbook.trail import record
from tests import shared
from tests.trail.build import calculation


@pytest.fixture(scope="module")
def made():
    return shared.recorded()


def of(frame, group):
    return frame[frame["group"] == group].set_index("id")


def test_every_group_is_complete(made):
    frame = doubt(made)
    assert tuple(frame) == COLUMNS and list(dict.fromkeys(frame["group"])) == [
        g for g in GROUPS if (frame["group"] == g).any()]
    lines = made["lines"]
    assert set(of(frame, "check").index) == {
        x["id"] for x in lines if x["sort"] == "checked" and x["more"]["verdict"] != "passes"}
    assert set(of(frame, "assumed").index) == {
        x["id"] for x in lines if x["sort"] == "assumed" and x["source"] != "definition"}
    assert set(of(frame, "residual").index) == {x["id"] for x in lines if x["sort"] == "solved"}
    cautious = {x["id"].partition("@")[0] for x in lines if x["cautions"] and x["sort"] != "engine"}
    assert {i.partition("@")[0] for i in of(frame, "range").index} == cautious
    noted = {x["id"].partition("@")[0] for x in lines if x["sort"] == "engine" and (x["note"] or x["cautions"])}
    assert {i.partition("@")[0] for i in of(frame, "gap").index} == noted
    soft = of(frame, "source")
    counted = [x for x in lines if x["sort"] != "given" and (
        made["sources"].get(x["source"], {}).get("kind") in ("common practice", "from memory")
        or re.search("from memory|common practice", x["place"], re.I))]
    assert soft["lines"].sum() == len(counted) > 100


def test_the_gravest_comes_first(made):
    frame = doubt(made)
    for group in GROUPS:
        assert frame[frame["group"] == group]["weight"].is_monotonic_decreasing
    new = copy.deepcopy(made)
    check = next(x for x in reversed(new["lines"]) if x["sort"] == "checked" and x["more"].get("margin"))
    check["more"] |= {"verdict": "fails", "margin": -0.3}
    first = doubt(new).iloc[0]
    assert first["id"] == check["id"] and first["what"] == "fails by 30 %"


def test_a_written_limit_is_listed(made):
    new = copy.deepcopy(made)
    line = next(x for x in new["lines"] if x["id"] == "limits.flux")
    line["sort"], line["source"] = "given", "design-file"
    got = of(doubt(new), "limit")
    assert "limits.flux" in got.index and "limits.flux" not in of(doubt(made), "limit").index
    assert got.loc["limits.flux", "what"].startswith("set to")
    assert "limits.flux" not in of(doubt(new), "assumed").index


def test_what_a_reviewer_accepted_is_confirmed(made):
    id = of(doubt(made), "assumed").index[0]
    assert id not in of(doubt(made, confirmed={id: "accepted"}), "assumed").index
    assert id in of(doubt(made, confirmed={id: "stale"}), "assumed").index


def test_balances_come_from_the_streams_and_see_a_hundredth_per_cent(made):
    clean = closures(made)
    assert tuple(clean) == CLOSURES and len(clean) > 40 and clean["relative"].max() < 1e-9
    new = copy.deepcopy(made)
    next(s for s in new["streams"] if s["key"] == "permeate")["water_kg_s"] *= 1.0001
    spoilt = closures(new)
    worst = spoilt.loc[spoilt["relative"].idxmax()]
    assert worst["id"] == "pressure section" and worst["component"] == "water, kg"
    assert worst["relative"] > 1e-6
    assert "water" in of(doubt(new), "balance").loc["pressure section", "what"]


def test_a_record_without_streams_is_read():
    old = record.to_record(calculation(), "text", kit="0")
    assert closures(old).empty and not of(doubt(old), "assumed").empty


def test_the_page_carries_the_gravest_of_it(made):
    html = page(made)
    part = html[html.index('<h2 id="watch">'):html.index('<h2 id="marks">')]
    for title in GROUPS.values():
        assert escape(title) in part
    assert part.count("<tr") <= 150 and "more</span>" in part


def test_a_bar_shows_where_a_value_stands_in_its_range(made):
    html = page(made)
    outside = re.findall(r'<p class="source range">.*?</p>', html)
    assert len(outside) > 10 and any("valid for" in x and "<svg" in x for x in outside)
    assert any("· outside" in x for x in outside) and any("· outside" not in x for x in outside)


def test_long_and_hostile_heads_do_not_spoil_the_page():
    made = record.to_record(calculation(), "text", kit="0", project={
        "name": "x" * 5000, "revision": "<script>alert(1)</script>\u202e", "client": '=HYPERLINK("a")'})
    html = page(made)
    assert "<script>" not in html and "x" * 91 not in re.search(r"<style>.*?</style>", html, re.S).group()
    assert "x" * 5000 in html  # the whole name stands in the head of the sheet
    assert 'dir="auto"' in html


def test_digits_and_numbers_of_things_are_as_people_write_them(made):
    assert [tiny(x) for x in (8.8123e-13, 0.0)] == ["8.8e-13", "0"] and tiny(1e-9, 1) == "1e-9"
    found = doubt(made)
    proofs = found[found["group"].isin(("residual", "balance"))]["what"]
    assert len(proofs) > 50 and not re.search(r"e-0\d|e\+00", " ".join(proofs))
    assert not re.search(r"\d%", " ".join(found["what"]))
    told = [f"{r.title}: {r.what}" for r in found.itertuples()]
    assert "Through-screen velocity: margin 1.6 %" in told
    words = re.sub(r"<style>.*?</style>|<[^>]*>", " ", page(made), flags=re.S)
    assert not re.search(r"\b1 (?:checks|lines)\b", words) and "1 check below" in words
