"""Tables and the drawing of the audit notebook: nothing is lost, and the drawing stands alone."""

from __future__ import annotations

import base64
import re
from xml.etree import ElementTree

import pytest

from desalbook.notebook import audit_view as view
from desalbook.theme import GROUNDS, colour
from tests import shared


@pytest.fixture(scope="module")
def made():
    return shared.recorded()


def test_coverage_shows_begun_chapters_and_adds_up(made):
    marks = view.trial_marks()
    assert "chapters not begun" in view.coverage(marks, made)._repr_html_()
    marks.mark(made, "filters.rate", "question", by="AB", note="with one filter being backwashed?")
    rows = [re.findall(r"<td[^>]*>(.*?)</td>", r) for r in view.coverage(marks, made)._repr_html_().split("<tr>")[2:]]
    assert [r[0] for r in rows[:1]] == ["filters"] and rows[-1][0] == "all" and "not begun" in rows[-2][0]
    for column in range(1, 7):
        assert sum(int(r[column]) for r in rows[:-1]) == int(rows[-1][column])
    assert int(rows[0][3]) == 1 and int(rows[-1][1]) == len(made["lines"])


def test_the_downloaded_drawing_has_its_colours(made):
    html = view.upstream(made, "filters.rate.check")._repr_html_()
    alone = base64.b64decode(re.search(r"base64,([^\"]+)", html)[1]).decode("utf-8")
    root = ElementTree.fromstring(alone)
    assert "var(" not in alone and colour("quiet") in alone
    assert root[0].tag.endswith("rect") and root[0].get("fill") == GROUNDS["light"]
    said = "".join(root.itertext())
    assert "Filtration rate" in said and "Filter vessel" in said and "○ assumed" in said
