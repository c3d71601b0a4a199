"""Notebooks as they are delivered: short cells, no engineering, outputs only where they are compared."""

from __future__ import annotations

import ast
import json
import re
from functools import cache, lru_cache
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
NOTEBOOKS = sorted((ROOT / "notebooks").glob("*.ipynb"))
CHECK = "# NBVAL_CHECK_OUTPUT"


def cells(path: Path, kind: str = "code") -> list[dict]:
    return [c for c in json.loads(path.read_text(encoding="utf-8"))["cells"] if c["cell_type"] == kind]


def engineering(text: str) -> list[str]:
    """Arithmetic in a cell, which belongs into a relation."""
    tree = ast.parse(text)
    return [
        ast.unparse(n)
        for n in ast.walk(tree)
        if isinstance(n, (ast.BinOp, ast.FunctionDef, ast.Lambda))
        or (isinstance(n, ast.Import) and any(a.name in ("math", "numpy") for a in n.names))
    ]


def test_there_is_a_start():
    assert NOTEBOOKS and NOTEBOOKS[0].name == "00-start.ipynb"


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda p: p.name)
def test_cells_are_short_and_plain(path):
    code = cells(path)
    assert 1 <= len(code) <= 12
    for cell in code:
        text = "".join(cell["source"])
        assert len(text.splitlines()) <= 5 and not engineering(text), text
        assert not re.search(r"(?m)^\s*[!%]|(?<![\w.])/(work|home|opt|tmp|Users)/", text)
    whole = json.loads(path.read_text(encoding="utf-8"))
    assert whole["cells"][0]["cell_type"] == "markdown"
    assert whole["metadata"]["kernelspec"]["name"] == "python3" and "widgets" not in whole["metadata"]


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda p: p.name)
def test_outputs_stand_only_where_they_are_compared(path):
    compared = [c for c in cells(path) if "".join(c["source"]).startswith(CHECK)]
    for cell in cells(path):
        if cell not in compared:
            assert not cell["outputs"] and cell["execution_count"] is None
    assert len(compared) == 1
    # without stored output the comparison passes whatever the cell prints
    text = "".join(t for o in compared[0]["outputs"] for t in o.get("text", ()))
    assert (
        compared[0]["execution_count"] is not None and len(re.findall(r"(?m)\s{2,}-?\d[\d.\u2009]*( \S+)*$", text)) >= 5
    )


def test_links_lead_somewhere():
    """Other notebooks, and the reference page, which `desalbook lab` writes beside them."""
    from desalbook.reference import FILE

    for path in NOTEBOOKS:
        text = "\n".join("".join(c["source"]) for c in cells(path, "markdown"))
        links = re.findall(r"\]\(([^)#]+)\)", text)
        assert FILE in links, f"{path.name} does not lead to the reference"
        assert not [x for x in links if x != FILE and not (path.parent / x).exists()], path.name


def test_each_calculation_has_a_worked_example():
    from desalbook import calc

    text = "\n".join("".join(c["source"]) for c in cells(NOTEBOOKS[0].with_name("11-calculations.ipynb")))
    assert not [name for name in dir(calc) if f"calc.{name}(" not in text]


def test_engineering_is_seen():
    assert engineering("q = 3 * 4") and engineering("import numpy as np") and not engineering("a = f(b)")


DESKS = ("09", "10", "16")
"""Notebooks of reviewer, student and trainer, which have no equation of their own."""


@lru_cache(maxsize=1)
def fields() -> set[str]:
    """Titles of the fields a person may set."""
    import desalbook as db

    design = db.read(ROOT / "data-demo" / "harbour-town.toml")
    keys = design.keys()
    return {design.meta(key).title for key in keys}


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda p: p.name)
def test_a_notebook_teaches(path):
    """What its reader can do afterwards, an equation, three numbers, two changes to try, a mistake, the exercise."""
    from desalbook.notebook.exercises.book import BOOK, SETS

    texts, number = ["".join(c["source"]) for c in cells(path, "markdown")], path.name[:2]
    assert "After this notebook you can" in texts[0] and len(texts[0].split()) <= 240 + 60 * (number == "00")
    if number not in DESKS:
        assert texts[0].count("$") >= 2 and "hree numbers to keep in mind (" in texts[0]
    if number == "10":
        assert f"There are {len(BOOK)} exercises" in texts[0]
        return  # it holds the exercises themselves
    (tries,) = [t for t in texts if t.startswith("## Try")]
    assert len(re.findall(r"(?m)^- ", tries)) >= 2 and "*Common mistake:*" in tries
    named = re.findall(r"\b[Ss]et \*([^*]+)\*", tries)
    assert set(named) <= fields(), set(named) - fields()  # as the panel has them
    if number == "16":
        return
    _, found, said = tries.partition("Exercise in [10-exercises](10-exercises.ipynb): ")
    titles = re.findall(r"\*([^*]+)\*", said)
    # calculations of 11 are those of all other notebooks
    known = {e.title for k, e in BOOK.items() if number == "11" or k in SETS[path.stem]}
    assert found and titles and set(titles) <= known, set(titles) - known


def test_no_notebook_shows_scaffolding_of_tests():
    for path in NOTEBOOKS:
        text = "\n".join("".join(c["source"]) for c in cells(path) + cells(path, "markdown"))
        assert "assert " not in text and "must be empty" not in text, path.name


TRIED = (
    ("00-start", {"membrane.recovery": "46 %"}, "membrane.feed_pressure", "67 barg", "product.boron.check_limit"),
    ("01-raw-water", {"water.ph": "7.6"}, "scaling.calcite", "0.48", "product.boron.check_limit"),
    ("02-pretreatment", {"filters.count": "4"}, "filters.diameter", "2.8 m", ""),
    ("02-pretreatment", {"water.temperature_cold": "8 degC"}, "filters.clean_head_loss", "0.50 m", ""),
    ("03-membranes", {"membrane.recovery": "46 %"}, "membrane.beta_max", "1.27", "product.boron.check_limit"),
    ("03-membranes", {"membrane.age": "5 year"}, "membrane.feed_pressure", "66 barg", "product.boron.check_limit"),
    ("04-pressure-and-energy", {"energy_recovery.device": "pelton"}, "energy.plant_specific", "3.65 kWh", ""),
    ("04-pressure-and-energy", {"energy_recovery.mixing": "3 %"}, "energy.plant_specific", "3.13 kWh", ""),
    ("05-dosing", {"dechlorination.dose_ratio": "1"}, "", "9 %", "dechlorination.field.check"),
    ("06-product-water", {"product.ph_target": "8.7"}, "product.lsi", "0.89", "product.lsi.check_product_lsi_high"),
    ("06-product-water", {"product.calcite_dose": "60 mg/L"}, "", "", "product.calcium.check_product_calcium_low"),
    ("07-cleaning", {"cip.flow_per_vessel": "5 m3/h"}, "", "17 %", "cip.flow_per_vessel.check"),
    ("07-cleaning", {"cip.temperature": "40 degC"}, "cip.heater_power", "22 kW", ""),
    ("08-studies", {"membrane.recovery": "40 %"}, "energy.plant_specific", "3.156 kWh", ""),
    ("08-studies", {"membrane.recovery": "46 %"}, "", "", "product.boron.check_limit"),
    ("08-studies", {"energy_recovery.device": "pelton"}, "energy.plant_specific", "3.648 kWh", ""),
    ("12-cost", {"cost.discount_rate": "4 %"}, "cost.water", "0.900 USD/m", ""),
    ("12-cost", {"cost.plant_life": "10 year"}, "cost.water", "1.167 USD/m", ""),
    ("13-controls", {"control.trip_in_range": "65 %"}, "control.range[discharge]", "160 barg", ""),
    ("13-controls", {"control.trip_in_range": "65 %"}, "", "14 %", "control.high_order[discharge].check"),
    ("13-controls", {"control.conductivity_factor": "1.05"}, "control.alarm_high[permeate-conductivity]",
     "0.689 mS/cm", ""),
    ("14-power", {"power.front_end": "six-pulse-3"}, "power.demand_distortion", "29.1 %",
     "power.demand_distortion.check"),
    ("14-power", {"power.motor_cable": "150 m"}, "power.start_dip_largest", "11.8 %", ""),
)
"""What a reader is asked to try: notebook, keys, a value with the words of the text, and the check that fails."""


@pytest.mark.full
def test_what_a_reader_is_asked_to_try_is_so():
    import desalbook as db
    from tests.every import every

    @cache
    def sized(keys: tuple) -> object:
        return db.size(db.read(ROOT / "data-demo" / "harbour-town.toml").with_values(dict(keys)))

    def tried(case: tuple) -> None:
        name, keys, id, words, check = case
        (text,) = [t for c in cells(ROOT / "notebooks" / f"{name}.ipynb", "markdown")
                   if (t := "".join(c["source"])).startswith("## Try")]
        assert words in text
        plant = sized(tuple(keys.items()))
        rows = {r["id"]: r for r in plant.judged()}
        if id:
            digits = len(words.split()[0].partition(".")[2])
            assert f"{float(plant.show(id).split()[0]):.{digits}f}" == words.split()[0], plant.show(id)
        if check:
            assert rows[check]["verdict"] == "fails"
            assert id or "%" not in words or f"{-rows[check]['margin'] * 100:.0f} %" == words

    every({f"{c[0]} {c[1]}": c for c in TRIED}, tried)
