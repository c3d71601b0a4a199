"""The line list of the demo plants: sizes, walls and surge, and what a heavier duty does to them."""

from __future__ import annotations

import pytest

from desalbook import design as designs
from desalbook import paths
from desalbook.design.file import from_text
from desalbook.guidelines import guideline
from desalbook.hydraulics import walls
from desalbook.plant import size
from desalbook.problems import Infeasible
from desalbook.tables import table
from tests import shared


@pytest.fixture(scope="module")
def demo():
    return designs.read(paths.demo("harbour-town.toml"))


@pytest.fixture(scope="module")
def plant(demo):
    return shared.plant(demo)


def test_every_run_is_in_the_list_and_leads_into_the_trail(plant):
    lines = plant.lines.set_index("key")
    assert {"feed-suction", "feed", "high-pressure", "concentrate-high", "concentrate", "permeate", "flush",
            "backwash", "product",
            "cleaning"} == set(lines.index)
    assert all(id in plant for id in lines["id"])
    assert (lines["velocity"] <= lines["velocity_limit"]).all() and (lines["surge"] > 0).all()
    assert lines.loc["high-pressure", "size"] == "DN 200 schedule 40S"


def test_pipe_of_the_high_pressure_side_holds_its_rating(plant):
    """Each pick is the minimum: the wall of a thinner schedule, or the bore of a smaller size, would not do."""
    book = plant.ledger
    for run in ("high-pressure", "concentrate-high"):
        prefix = f"piping.runs[{run}]"
        candidates = book.lines[f"{prefix}.nominal"].more["candidates"]
        assert [c["won"] for c in candidates] == [False] * (len(candidates) - 1) + [True]
        need = walls.nominal_wall_thickness.plain(
            walls.design_wall_thickness.plain(float(book["membrane.pressure_rating"]),
                                              float(book[f"{prefix}.outer_diameter"]),
                                              267e6, 0.4), 0.0, 0.125)
        assert float(book[f"{prefix}.thickness"]) >= need


def test_weaker_metal_takes_a_thicker_schedule(demo):
    runs = [{"name": n} for n in ("feed-suction", "feed", "backwash", "concentrate")]
    weak = [*runs, {"name": "high-pressure", "service": "high-pressure", "material": "stainless", "length": "8 m"}]
    book = shared.sized(_with_runs(demo, weak)).ledger
    thick = float(book["piping.runs[high-pressure].thickness"])
    assert thick > 0.0038 and str(book["piping.runs[high-pressure].nominal"]) != "DN 200 schedule 10S"
    assert book.lines["piping.runs[high-pressure].pren.check"].more["verdict"] == "fails"
    # a run the file leaves out is taken from the table of runs
    assert book.lines["piping.runs[product].length"].sort == "assumed"
    plastic = [*runs, {"name": "high-pressure", "service": "high-pressure", "material": "grp"}]
    with pytest.raises(Infeasible, match="no schedule"):
        shared.sized(_with_runs(demo, plastic))


def _with_runs(demo, runs):
    text = demo.text + "\n" + "\n".join(
        "[[piping.runs]]\n" + "\n".join(f'{k} = "{v}"' for k, v in run.items()) for run in runs)
    return from_text(text)


def test_the_grade_that_may_fall_short_asks_for_its_certificate(plant):
    line = plant.ledger.lines["piping.runs[high-pressure].pren.certificate"]
    assert "certificate" in line.more["do"] and float(plant["piping.runs[high-pressure].pren_minimum"]) < 40
    assert plant.ledger.lines["piping.runs[high-pressure].pren.check"].more["verdict"] == "passes"


def test_catalogue_rises():
    sizes = walls.pipe_catalogue()
    for schedule in walls.SCHEDULES:
        bores = [s.inner for s in sizes if s.schedule == schedule]
        assert bores == sorted(bores)
    assert walls.nearest_size(0.2).title == "DN 200" and walls.nearest_size(99.0).title == "DN 600"


def test_a_wall_has_the_strength_of_its_own_grade():
    """A third of the minimum tensile strength of the grade (B31.3, 302.3.2; strengths from memory)."""
    strength = {"s32205": 655e6, "s32750": 800e6, "s31254": 650e6}
    rows = {row["alloy"].value: row["allowable_stress"].value for row in table("pipes").values() if row.get("alloy")}
    for grade, tensile in strength.items():
        assert rows[grade] == pytest.approx(tensile / 3, rel=5e-3), grade


def test_the_limit_of_pitting_is_nobodys_standard():
    """The trade asks for 40; the pitting test judges a heat and sets no number."""
    assert guideline("pitting-number").source == "common-practice"


def test_counted_fittings_go_before_the_sum_of_coefficients():
    """Six elbows, two gate valves and an exit: (6 x 30 + 2 x 8) fT + 1, fT that of the bore (crane-tp410)."""
    run = "piping.runs[feed]"
    design = shared.demo().with_values({f"{run}.fittings[elbow-90]": "6", f"{run}.fittings[gate-valve]": "2",
                                        f"{run}.fittings[exit]": "1"})
    counted, stated = size(design).ledger, shared.sized().ledger
    assert float(counted[f"{run}.fittings_sum"]) == pytest.approx(
        196 * float(counted[f"{run}.turbulent_friction"]) + 1, rel=1e-12)
    assert f"{run}.fittings_sum" not in stated
    assert float(counted[f"{run}.loss@cold"]) < float(stated[f"{run}.loss@cold"])


def test_the_pitting_number_says_whose_limit_it_is(plant):
    """It is the owners' of seawater plants (common practice); no paper and no test method sets it."""
    lines = plant.ledger.lines
    check = lines["piping.runs[high-pressure].pren.check"]
    assert check.source == guideline("pitting-number").source == "common-practice"
    assert "owners" in lines[check.inputs["limit"].id].place


def test_a_small_bore_is_chosen_by_its_head_loss_and_a_large_one_by_its_velocity(demo):
    """At 2.9 m/s a line of DN 40 loses some 20 m in 100 m; the limit of 5 m asks for a wider one."""
    small = shared.sized(demo.with_values({"duty.train_product_flow": "250 m3/d", "duty.trains": "1"})).ledger
    large = shared.sized(demo.with_value("duty.train_product_flow", "5000 m3/d")).ledger
    run = "piping.runs[concentrate]"
    of, free = ([c for c in book.lines[f"{run}.diameter"].more["candidates"] if "friction_slope" in c]
                for book in (small, large))
    assert len(of) > 1 and of[-2]["friction_slope"] > 0.05 >= of[-1]["friction_slope"] > 0
    assert len(free) == 1
    # what was compared is what the run then loses, to the difference of the waters
    v, bore = float(small[f"{run}.velocity"]), float(small[f"{run}.diameter"])
    lost = float(small[f"{run}.friction_factor"]) / bore * v**2 / (2 * 9.80665)
    assert lost == pytest.approx(of[-1]["friction_slope"], rel=0.05)


def test_a_large_train_takes_composite_pipe_wider_than_steel_is_made(demo):
    large = shared.plant(demo.with_values({"duty.train_product_flow": "25000 m3/d", "duty.trains": "1",
                                           "hp_pump.duty_count": "4"}))
    run = large.lines.set_index("key").loc["feed-suction"]
    assert run["size"].startswith("DN ") and float(large["piping.runs[feed-suction].diameter"]) > 0.6
    assert run["velocity"] <= run["velocity_limit"]
