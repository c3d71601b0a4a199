"""The page in three depths, cut into sheets whose numbers stand in the list of contents."""

from __future__ import annotations

import re

import pytest

from desalbook.audit.chapters import ORDER, in_process_order
from desalbook.audit.page.document import DEPTHS, page
from desalbook.audit.page.sheets import PAPERS, Block, Section, Table, cut, grid, lines
from desalbook.problems import DesignError
from tests import shared


@pytest.fixture(scope="module")
def pages() -> dict[str, str]:
    return {depth: page(shared.recorded(), depth=depth) for depth in ("summary", "review")}


def sheets(html: str) -> list[str]:
    return re.findall(r'<section class="sheet">(.*?)(?=<section class="sheet">|</body>)', html, re.S)


def test_two_pages_to_sign(pages):
    first, second = sheets(pages["summary"])
    for part in ("Prepared by", "Checked by", "Duty", "Guaranteed", "Expected", shared.recorded()["seal"]["content"]):
        assert part in first
    assert "Ten values that matter" in first and "What does not pass" in second
    assert second.count("<tr") > 11 and "href" not in pages["summary"]  # nothing to go to


@pytest.mark.parametrize("name", ["harbour-town.toml", "beach-well.toml"])
def test_what_is_signed_lists_all_that_does_not_pass_and_no_zero_of_an_absent_step(name):
    from desalbook.drawings.water_line.plant import picture

    plant = shared.sized(name)
    plant = shared.plant(shared.demo(name)) if not hasattr(plant, "record") else plant
    html = page(plant.record, depth="summary", picture=picture(plant, width=880))
    failed = {x.title for x in plant.verdicts.values() if x.more["verdict"] != "passes"}
    assert len(failed) > 5 and not {title for title in failed if title not in html}
    assert "more at review depth" not in html
    absent = name == "beach-well.toml"
    assert ("Filters per train" in html) is ("Filtration rate" in html) is not absent


def test_a_review_fits_sixty_pages_and_lists_where_each_part_begins(pages):
    cuts = sheets(pages["review"])
    assert 20 < len(cuts) <= 60
    begins = {name: n for n, text in enumerate(cuts, 1) for name in re.findall(r'<h[23] id="([^"]+)"', text)}
    listed = dict(re.findall(r'<a href="#([^"]+)">[^<]*</a></td><td class="n">(\d+)</td>', cuts[2]))
    assert {"basis", "streams", "equipment", "checks", "watch", "marks", "chapter-membrane"} <= set(listed)
    assert all(begins[name] == int(number) for name, number in listed.items())
    chapters = [name.removeprefix("chapter-") for name in begins if name.startswith("chapter-")]
    assert chapters == in_process_order(chapters) and chapters.index("filters") < chapters.index("membrane")
    links = set(re.findall(r'href="#([^"]+)"', pages["review"]))
    assert links and not {x for x in links if f'id="{x.replace("%40", "@").replace("%5B", "[").replace("%5D", "]")}"'
                          not in pages["review"]}


def test_a_root_shows_the_balances_it_closes(pages):
    step = re.search(r'<section class="step" id="membrane\.element\.water_permeability">.*?</section>',
                     pages["review"], re.S).group()
    assert re.search(r"Closes .*; left over \S+ of its scale, allowed 1e-9", step) and step.count("<math display") >= 1


def test_a_table_that_goes_on_has_its_head_again_and_nothing_is_lost():
    room = PAPERS["a4"].room
    rows = [(f"row {n}", "words " * (n % 40)) for n in range(300)]
    table = grid(("Name", "Words"), (1, 3), rows, room=room[0])
    cuts, begins = cut([Section("a", "A", [Block("<p>one</p>", 5.0), table]), Section("b", "B", [])], room, 4)
    assert len(cuts) > 3 and begins == {"a": 4, "b": 3 + len(cuts)}
    assert all(text.count("<thead>") == text.count("<table") for text in cuts)
    assert [int(n) for n in re.findall(r"row (\d+)<", "".join(cuts))] == list(range(300))


def test_lines_of_a_text():
    assert lines("", 50) == 1 and lines("one", 50) == 1
    assert lines("word " * 100, 50) > 10 and lines("x" * 500, 50) > 10
    assert lines("word " * 100, 50) > lines("word " * 100, 100)
    assert isinstance(Table("", 1.0, []).html, str)


def test_chapters_follow_the_water_and_strangers_keep_their_place():
    assert in_process_order(["membrane", "zebra", "water"]) == ["water", "membrane", "zebra"]
    assert len(set(ORDER)) == len(ORDER)


def test_depths_have_names(pages):
    with pytest.raises(DesignError, match="summary, review"):
        page(shared.recorded(), depth="deep")
    assert DEPTHS == ("summary", "review", "full") and len(pages["summary"]) < len(pages["review"])
