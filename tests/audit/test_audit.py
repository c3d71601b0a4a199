"""Readers of the record: they agree with it, notice when it was altered, and need no calculation room."""

from __future__ import annotations

import copy
import os
import re
import subprocess
import sys
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote

import pytest

from desalbook.audit import recompute, table
from desalbook.audit.page.document import page
from desalbook.problems import DesignError
from desalbook.trail import record
from tests.trail.build import NASTY, calculation

ROOT = Path(__file__).parents[2]
VOID = {"meta", "br", "rect", "path", "mspace", "mtd/"}


@pytest.fixture(scope="module")
def made() -> dict:
    return record.to_record(
        calculation(), "text", kit="0", project={"name": f"Harbour {NASTY}", "revision": "B"}
    )


class Page(HTMLParser):
    """Ids, links and tags; fails on tags that do not close."""

    def __init__(self, text: str):
        super().__init__()
        self.ids, self.links, self.tags, self.open = [], [], set(), []
        self.text = ""
        self.feed(text)
        assert not self.open, self.open

    def handle_starttag(self, tag, attrs):
        attrs = dict(attrs)
        self.tags.add(tag)
        if "id" in attrs:
            self.ids.append(attrs["id"])
        if "href" in attrs:
            self.links.append(attrs["href"])
        assert not {k for k in attrs if k.startswith("on")} and "src" not in attrs
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.tags.add(tag)

    def handle_endtag(self, tag):
        assert self.open and self.open.pop() == tag, tag

    def handle_data(self, data):
        self.text += data


def test_the_table_has_one_row_a_number(made):
    frame = table(made, "us")
    assert list(frame["id"]) == list(dict.fromkeys(frame["id"]))
    assert len(frame) == sum(len(x["keys"]) if x["keys"] else 1 for x in made["lines"])
    row = frame.set_index("id").loc["filters.rate"]
    assert row.value_si == pytest.approx(0.03 / 56) and row.unit == "gpm/ft2"
    # 1 gpm/ft2 is 6.790e-4 m/s (3.785411784 L a gallon, 0.3048 m a foot)
    assert row.value == pytest.approx(0.03 / 56 / (3.785411784e-3 / 60 / 0.3048**2), rel=1e-12)
    assert frame.set_index("id").loc["water.scaled[Na]"].value_si == pytest.approx(16.2)
    assert frame.set_index("id").loc["filters.kind"].text == "pressure"
    assert frame.set_index("id").loc["filters.rate.check_low"].verdict == "fails"


def test_recomputing_agrees(made):
    got = recompute(made)
    assert got.holds and got.worst <= 1e-12 and got.checks == 2
    assert got.count == sum(x["sort"] == "computed" for x in made["lines"]) == 8


def altered(made, change):
    new = copy.deepcopy(made)
    change(new, {x["id"]: x for x in new["lines"]})
    return recompute(new)


def test_recomputing_notices_every_kind_of_alteration(made):
    def value(r, lines):
        lines["filters.rate"]["value"] *= 1 + 1e-6

    def given(r, lines):
        lines["filters.area"]["value"] = 7.1

    def equation(r, lines):
        r["relations"][lines["filters.rate"]["relation"]]["tree"][0] = "mul"

    def constant(r, lines):
        r["relations"][lines["pipe.drop@hot-new"]["relation"]]["constants"]["G"]["value"] = 9.81

    def verdict(r, lines):
        lines["filters.rate.check_low"]["more"]["verdict"] = "passes"

    def column(r, lines):
        lines["water.scaled"]["value"][1] = 16.3

    def lost(r, lines):
        del r["relations"][lines["water.mixed"]["relation"]]

    got = altered(made, value)
    assert got.worst == pytest.approx(1e-6, rel=1e-3) and got.id == "filters.rate"
    assert altered(made, given).id == "filters.rate"
    assert altered(made, equation).altered and not altered(made, equation).holds
    assert altered(made, constant).altered
    assert altered(made, verdict).misjudged == ("filters.rate.check_low",)
    assert altered(made, column).id == "water.scaled"
    assert altered(made, lost).worst == float("inf")


@pytest.mark.parametrize("units", ["si", "us"])
def test_the_page_is_whole_and_alone(made, units):
    html = page(made, units)
    got = Page(html)
    assert not {"script", "link", "img", "iframe", "object", "base", "form"} & got.tags
    assert "http:" not in html and "https:" not in html and "url(" not in html and "@import" not in html
    assert len(got.ids) == len(set(got.ids))
    for link in got.links:
        assert link.startswith("#") and unquote(link[1:]) in got.ids, link
    assert {x["id"] for x in made["lines"]} <= set(got.ids)  # every line has its place


def test_what_people_wrote_is_escaped(made):
    html = page(made)
    assert "<script>alert" not in html and html.count("</style>") == 1
    assert NASTY in Page(html).text  # and is still there to read


def test_the_page_is_a_calculation_sheet(made):
    html = page(made)
    for part in (
        "Revision",
        "Date",
        "Prepared by",
        "Checked by",
        made["input_hash"],
        'counter(page) " of "',
        "size: A4",
    ):
        assert part in html
    assert "size: letter" in page(made, "us")
    assert html.index("Scour by water alone") < html.index(">Filtration rate<")  # worst first
    assert "fails by" in html and "margin " in html and "What to do: Scour" in html


def test_three_lines_a_step(made):
    html = page(made)
    step = re.search(r'<section class="step" id="filters\.rate">.*?</section>', html, re.S).group()
    assert step.count("<math display") == 2 and 'class="result"' in step
    words = re.sub(r"<[^>]+>", "", step)
    assert "= 1.929 m/h" in words and "0.000535714" not in words
    assert "per unit, 8 in the plant" in step and 'href="#filters.kind"' in step


def test_the_governing_corner_is_in_full_and_the_others_in_a_table(made):
    html = page(made)
    assert 'class="step" id="pipe.drop@cold-aged"' in html
    assert 'class="step" id="pipe.drop@hot-new"' not in html and 'tr id="pipe.drop@hot-new"' in html


def test_same_record_same_page(made, tmp_path):
    path = record.write(made, tmp_path / "r.json")
    assert page(record.read(path)) == page(made)


def test_wrong_words_are_refused(made):
    for call in (
        lambda: page(made, "metric"),
        lambda: page(made, paper="a3"),
        lambda: table(made, "imperial"),
    ):
        with pytest.raises(DesignError):
            call()


def test_a_kind_this_kit_does_not_know_is_shown_in_si(made):
    new = copy.deepcopy(made)
    line = next(x for x in new["lines"] if x["id"] == "pipe.head")
    line["kind"], new["kinds"]["later"] = "later", {"name": "later", "si": "m^7"}
    assert "10 m⁷" in page(new)


def test_readers_need_no_calculation_room(made, tmp_path):
    """In a process where only units, sources, trail and audit exist."""
    record.write(made, tmp_path / "r.json")
    code = """
import sys
ALLOWED = {"units", "sources", "problems", "data", "trail", "audit", "paths"}
class Wall:
    def find_spec(self, name, path=None, target=None):
        parts = name.split(".")
        if parts[0] == "desalbook" and len(parts) > 1 and parts[1] not in ALLOWED:
            raise ImportError("beyond the wall: " + name)
sys.meta_path.insert(0, Wall())
from desalbook.trail import record
from desalbook.audit import recompute, table
from desalbook.audit.page.document import page
r = record.read(sys.argv[1])
assert len(page(r)) > 1000 and recompute(r).holds and len(table(r))
try:
    import desalbook.water
except ImportError:
    print("done")
"""
    run = subprocess.run(
        [sys.executable, "-c", code, str(tmp_path / "r.json")],
        capture_output=True,
        text=True,
        env={**os.environ, "PYTHONPATH": str(ROOT / "lib")},
        check=False,
    )
    assert run.stdout.strip() == "done", run.stderr
