"""Numbers below one another, names beside one another, words at their buttons."""

from __future__ import annotations

import re

from desalbook import summary
from desalbook.notebook import blocks, keys, tables
from desalbook.notebook.pictures import column
from desalbook.notebook.steps import STEPS, headlines
from tests import shared


def test_points_stand_below_one_another():
    numbers = ["46.73", "0.4215", "100", "–", "0"]
    wide = [len(n) - len(n.partition(".")[0]) + len("".join(re.findall(r'data-tail="([^"]*)"', tail)))
            for n, tail in zip(numbers, column.tails(numbers), strict=True)]
    assert wide == [5] * 5
    assert column.tails(["3", "12"]) == ["", ""] and column.tails([]) == []
    assert [column.minus(x) for x in ("-0.4", "0.4", "–")] == ["−0.4", "0.4", "–"]


def test_figures_that_follow_stand_below_one_another():
    plant = shared.plant()
    html = blocks.follows(plant, STEPS["pretreatment"].follows, plant.judged("si"), "si")
    cells = re.findall(r'<dd class="n"(?: data-tail="([^"]*)")?>([^<]*)</dd>', html)
    assert len(cells) == 6 and len({len(f"{n}{tail}".partition(".")[2]) for tail, n in cells}) == 1


def test_a_figure_far_within_its_limit_has_the_decimals_of_the_limit():
    plant = shared.plant()
    html = blocks.follows(plant, ("water.balance", "product.boron"), plant.judged("si"), "si")
    assert plant.show("water.balance") == "0.004842 %" and re.findall(r">(0\.\d+)</dd>", html) == ["0.005", "0.969"]


def test_a_table_says_thin_where_its_check_does():
    plant = shared.plant(shared.plant().design.with_value("design_pressure.class_cleaning", "pn-6"))
    high = shared.plant(plant.design.with_value("membrane.recovery", "48 %"))
    count = high.show("membrane.vessels")
    high = shared.plant(high.design.with_value("membrane.vessels", count))
    for one, title in ((plant, "CIP circuit: pressure / rating"), (high, "Recovery of one element")):
        assert dict(zip(one.checks["title"], one.checks["verdict"], strict=True))[title] == "marginal"
    limits, parts = ({re.findall(r"<td[^>]*>(.*?)</td>", r)[0]: re.findall(r"<td[^>]*>(.*?)</td>", r)[-1]
                      for r in made._repr_html_().split("<tr>")[2:]}
                     for made in (tables.limits(high), tables.pressures(plant)))
    assert limits["Recovery of one element"] == parts["CIP circuit"] == "marginal"
    assert limits["Average flux"] == parts["Filters"] == "passes"
    assert "PN 10" in tables.pressures(plant).text and "pn-10" not in tables.pressures(plant).text


def test_no_two_figures_of_a_step_bear_one_name():
    plant = shared.plant()
    for key, step in STEPS.items():
        told = summary.names(plant, step.follows)
        assert len(set(told)) == len(told), key
        html = blocks.follows(plant, step.follows, plant.judged("si"), "si")
        assert re.findall(r"<dt>([^<]*)</dt>", html) == [blocks.fine(t) for t in told]
        assert [line.partition("  ")[0] for line in headlines(key, plant).splitlines()] == told


def test_brackets_and_commas_stay_with_their_button():
    html = keys.linked("add a tank (product_tank.count), or lower product.ph_target, or wait")
    whole = re.findall(r'<span class="db-whole">(.*?)</span>', html)
    assert [re.sub("<[^>]*>", "", w) for w in whole] == ["(Product tanks (Product tank)),",
                                                         "pH of the product (Product),"]
    assert "db-whole" not in keys.linked("lower product.ph_target now")
