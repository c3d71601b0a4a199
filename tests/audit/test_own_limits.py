"""Limits that a design states for itself stand on the page beside those of the guidelines."""

from __future__ import annotations

import re

from desalbook import api
from desalbook.audit.page.document import page
from tests import shared


def test_own_limits_are_listed_with_both_values_and_none_where_none_differ():
    plant = api.size(shared.demo().with_value("limits.rating_used", "90 %"))
    text = page(plant.record)
    (section,) = re.findall(r'<h2 id="limits">.*?</table>', text, re.S)
    assert "90.00 %" in section and "95.00 %" in section and "rating_used" in section and section.count("<tr>") == 2
    assert 'id="limits"' not in page(shared.recorded())
    assert "limits" not in shared.recorded()
