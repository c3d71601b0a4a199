"""The printed record on paper: printed by a browser, every page measured, contents held against the pages."""

from __future__ import annotations

import re
import subprocess
from html import unescape
from typing import Any, NamedTuple

import pytest

from desalbook import api, paths
from desalbook.audit.page.document import page
from desalbook.audit.page.sheets import PAPERS
from desalbook.drawings.water_line.plant import picture

pytestmark = pytest.mark.outside
POINT = 72 / 25.4  # points in a millimetre
PLANTS = ("harbour-town.toml", "beach-well.toml")
SHORT = [(plant, units, depth) for plant in PLANTS for units in ("si", "us") for depth in ("summary", "review")]
LONG = [("harbour-town.toml", "si", "full"), ("beach-well.toml", "us", "full")]
MOST = {"summary": 2, "review": 60, "full": 900}


class Printed(NamedTuple):
    """What a browser made of a page: for each sheet its words and the box that all its text lies in."""

    html: str
    paper: Any
    words: list[str]
    boxes: list[tuple[float, float, float, float]]
    size: list[tuple[float, float]]


@pytest.fixture(scope="module")
def press(program, tmp_path_factory):
    """A function that prints a page of a plant."""
    chromium = program("chromium", "chromium-browser", "google-chrome")
    reader = pytest.importorskip("pypdfium2")
    folder, plants = tmp_path_factory.mktemp("paper"), {}

    def printing(name: str, units: str, depth: str) -> Printed:
        if name not in plants:
            plants[name] = api.size(api.read(paths.demo(name)))
        plant = plants[name]
        html = page(plant.record, units, depth=depth, picture=picture(plant, units, width=880))
        (folder / "p.html").write_text(html, encoding="utf-8")
        subprocess.run([chromium, "--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer",
                        "--disable-pdf-tagging",  # for a reading program: nothing of it is seen
                        f"--user-data-dir={folder / 'own'}", "--virtual-time-budget=100000",
                        f"--print-to-pdf={folder / 'p.pdf'}", (folder / "p.html").as_uri()],
                       check=True, capture_output=True, timeout=400)
        words, boxes, size = [], [], []
        for one in reader.PdfDocument(folder / "p.pdf"):
            text = one.get_textpage()
            many = [text.get_rect(n) for n in range(text.count_rects())]
            words.append(text.get_text_bounded())
            size.append(one.get_size())
            top, _, bottom, _ = (m * POINT for m in PAPERS["letter" if units == "us" else "a4"].margins)
            inside = [r for r in many if r[1] > bottom - 4 and r[3] < size[-1][1] - top + 4]
            boxes.append((min(r[0] for r in inside), min(r[1] for r in inside), max(r[2] for r in inside),
                          max(r[3] for r in inside)))
        return Printed(html, PAPERS["letter" if units == "us" else "a4"], words, boxes, size)

    return printing


def judge(got: Printed, depth: str) -> None:
    sheets = re.findall(r'<section class="sheet">(.*?)(?=<section class="sheet">|</body>)', got.html, re.S)
    assert len(got.words) == len(sheets) <= MOST[depth]
    top, right, bottom, left = (m * POINT for m in got.paper.margins)
    for n, (box, (wide, high)) in enumerate(zip(got.boxes, got.size, strict=True), 1):
        assert (wide, high) == pytest.approx((got.paper.wide * POINT, got.paper.high * POINT), abs=1)
        assert box[0] >= left - 1 and box[2] <= wide - right + 1, (n, box)  # nothing is cut at the side
        assert box[1] >= bottom - 4 and box[3] <= high - top + 4, (n, box)
    for n, words in enumerate(got.words, 1):
        assert f"page{n}of{len(sheets)}" in plain(words)
    for sheet in sheets:  # a table that goes on begins with its head
        for table in re.findall(r"<table.*?</table>", sheet, re.S):
            assert "<thead>" in table
    if depth == "summary":
        return
    begins = {name: n for n, sheet in enumerate(sheets, 1) for name in re.findall(r'<h[23] id="([^"]+)"', sheet)}
    start = begins["contents"] - 1
    contents = "".join(sheets[start:start + 3])
    listed = re.findall(r'<a href="#([^"]+)">([^<]*)</a></td><td class="n">(\d+)</td>', contents)
    assert len(listed) > 20 and {name for name, _, _ in listed} == set(begins) - {"contents"}
    for name, title, number in listed:
        assert begins[name] == int(number), name
        assert plain(title) in plain(got.words[int(number) - 1]), title


def plain(text: str) -> str:
    return re.sub(r"\W", "", unescape(text))


@pytest.mark.parametrize(("name", "units", "depth"), SHORT)
def test_a_page_to_sign_and_one_to_review(press, name, units, depth):
    judge(press(name, units, depth), depth)


@pytest.mark.parametrize(("name", "units", "depth"), LONG)
def test_the_whole_trail(press, name, units, depth):
    judge(press(name, units, depth), depth)
