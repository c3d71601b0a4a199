"""What an engineer types: each line gives the right answer, or the one right refusal; none a wrong number silently."""

from __future__ import annotations

import copy
import pickle
from collections.abc import Callable
from typing import Any

import numpy as np
import pandas as pd
import pytest

import desalbook as db
from desalbook import calc
from desalbook.pretreatment.filters import filtration_rate
from desalbook.pretreatment.granular_beds import ergun_head_loss
from desalbook.problems import DesignError
from desalbook.units import registry
from tests import shared

Q = registry().Quantity
TEXT = shared.plant().design.text
MINIMAL = {"duty": {"train_product_flow": "1000 m3/d"}, "water": {"sea_salinity": "38 g/kg"}}


@pytest.fixture(scope="module")
def plant():
    return shared.plant()


@pytest.fixture(scope="module")
def design(plant):
    return plant.design


def near(value: Any, expected: float) -> bool:
    return bool(np.allclose(value, expected, rtol=1e-9))


# design, plant -> truth
RIGHT: dict[str, Callable[[Any, Any], bool]] = {
    # a design: values in
    "a text with its unit": lambda d, p: near(d.with_value("filters.rate_limit", "10 m/h")["filters.rate_limit"],
                                              10 / 3600),
    "US units": lambda d, p: near(d.with_value("filters.rate_limit", "4 gpm/ft2")["filters.rate_limit"].to("gpm/ft2"),
                                  4),
    "a Quantity": lambda d, p: near(d.with_value("filters.rate_limit", Q(10, "m/hour"))["filters.rate_limit"].to("m/h"),
                                    10),
    "metres of depth": lambda d, p: near(d.with_value("filters.freeboard", Q(0.9, "m"))["filters.freeboard"], 0.9),
    "metres in feet": lambda d, p: near(d.with_value("filters.freeboard", Q(3, "ft"))["filters.freeboard"], 0.9144),
    "m3/day": lambda d, p: near(d.with_value("duty.train_product_flow", Q(2400, "m**3/day"))[
        "duty.train_product_flow"].to("m3/d"), 2400),
    "percent": lambda d, p: near(d.with_value("membrane.recovery", Q(42, "percent"))["membrane.recovery"], 0.42),
    "dimensionless": lambda d, p: near(d.with_value("membrane.recovery", Q(0.42, ""))["membrane.recovery"], 0.42),
    "a bare fraction": lambda d, p: near(d.with_value("membrane.recovery", 0.42)["membrane.recovery"], 0.42),
    "a bare count": lambda d, p: d.with_value("filters.count", 6)["filters.count"] == 6,
    "a numpy count": lambda d, p: d.with_value("filters.count", np.int64(6))["filters.count"] == 6,
    "degrees Celsius": lambda d, p: near(d.with_value("water.temperature_cold", Q(18, "degC"))[
        "water.temperature_cold"], 291.15),
    "degrees Fahrenheit": lambda d, p: near(d.with_value("water.temperature_cold", Q(64.4, "degF"))[
        "water.temperature_cold"], 291.15),
    "kelvin": lambda d, p: near(d.with_value("water.temperature_cold", Q(291.15, "K"))["water.temperature_cold"],
                                291.15),
    "a value of a plant": lambda d, p: near(d.with_value("filters.diameter", p["filters.diameter"])["filters.diameter"],
                                            float(p["filters.diameter"])),
    "yes and True": lambda d, p: d.with_value("hp_pump.drive", "yes").get("hp_pump.drive") == "yes",
    "an ion": lambda d, p: near(d.with_value("water.ions[Ca]", Q(450, "mg/L")).get("water.ions")["Ca"], 0.45),
    "all ions": lambda d, p: set(d.with_value("water.ions", {"Na": "11 g/L", "Cl": Q(19.9, "g/L"), "HCO3": "140 mg/L"}
                                              )["water.ions"]) == {"Na", "Cl", "HCO3"},
    "all layers": lambda d, p: [str(x.name) for x in d.with_value("filters.layers", [
        {"name": "sand", "media": "sand", "depth": Q(1, "m")}])["filters.layers"]] == ["sand"],
    "layers by name": lambda d, p: near(d.with_value("filters.layers", {"sand": {"media": "sand", "depth": "1 m"}})[
        "filters.layers[sand].depth"], 1.0),
    # a design: read from what stands at hand
    "a dictionary": lambda d, p: near(db.read(MINIMAL)["duty.train_product_flow"].to("m3/d"), 1000),
    "keys by id": lambda d, p: near(db.read({"duty.train_product_flow": Q(1000, "m**3/day"),
                                             "water.sea_salinity": "38 g/kg"})["water.sea_salinity"], 0.038),
    "a text": lambda d, p: db.read(TEXT) == d,
    "a design once more": lambda d, p: db.read({**MINIMAL, "filters.layers[sand].depth": "0.9 m"})[
        "filters.layers[sand].depth"].to("m") == 0.9,
    # a design: values out
    "a key": lambda d, p: d["membrane.recovery"].show().endswith("%"),
    "a key to another unit": lambda d, p: near(d["filters.rate_limit"].to("m/h"),
                                               float(d["filters.rate_limit"]) * 3600),
    "a choice": lambda d, p: d["energy_recovery.device"] == "isobaric",
    "a blank key": lambda d, p: d["cartridge.count"] is None,
    "a section": lambda d, p: d["filters"].rate_limit == float(d["filters.rate_limit"]),
    "a table of ions": lambda d, p: d["water.ions"]["Na"].to("mg/L") > 9000,
    "completion of keys": lambda d, p: "filters.rate_limit" in d._ipython_key_completions_(),
    "in": lambda d, p: "filters.rate_limit" in d and "filters.rate" not in d,
    # a plant
    "a value": lambda d, p: near(p["filters.rate"].to("m/h"), float(p["filters.rate"]) * 3600),
    "its quantity": lambda d, p: near(p["membrane.feed_pressure"].quantity.to("psi").magnitude,
                                      p["membrane.feed_pressure"].to("psi")),
    "its figures by id": lambda d, p: near(p.figures().loc["filters.rate", "value_si"], float(p["filters.rate"])),
    "in US units": lambda d, p: p.figures("us").loc["filters.rate", "unit"] == "gpm/ft2",
    "called for US units": lambda d, p: p.figures()("us").loc["filters.rate", "unit"] == "gpm/ft2",
    "completion of ids": lambda d, p: "filters.rate" in p._ipython_key_completions_(),
    "the unit of a column": lambda d, p: p.streams.attrs["units"]["volume_flow"] == "m^3/s",
    "a column in its unit": lambda d, p: near(p.streams("us")["volume_flow, gpm"].dropna(),
                                              p.streams["volume_flow"].dropna() * 15850.323141489),
    "a slice in its unit": lambda d, p: near(p.streams[["id", "pressure"]].head(2)("si")["pressure, barg"],
                                             p.streams["pressure"].head(2) / 1e5),
    "checks in US units": lambda d, p: "psi" in " ".join(p.checks("us")["unit"]),
    "what sets it": lambda d, p: "filters.count" in p.set_by("filters.rate"),
    "html": lambda d, p: all("<table" in x._repr_html_() for x in (d, p, p.streams, p.checks, p.figures())),
    "a copy": lambda d, p: copy.deepcopy(d) == d and pickle.loads(pickle.dumps(d)) == d,
    # rate and sweep
    "a temperature": lambda d, p: near(db.rate(p, temperature="18 degC")["temperature"], 291.15),
    "temperatures": lambda d, p: near(db.rate(p, temperature=Q([18, 25], "degC"))["temperature"], [291.15, 298.15]),
    "texts": lambda d, p: near(db.rate(p, temperature=["18 degC", "77 degF"])["temperature"], [291.15, 298.15]),
    "a recovery": lambda d, p: near(db.rate(p, recovery=[0.40, 0.42])["recovery"], [0.40, 0.42]),
    "percent of recovery": lambda d, p: near(db.rate(p, recovery=Q(40, "percent"))["recovery"], 0.40),
    "bars": lambda d, p: near(db.rate(p, feed_pressure=Q(60, "bar"), control="pressure")["feed_pressure"], 6e6),
    "a figure": lambda d, p: near(db.rate(p, temperature=p["water.temperature_hot"])["temperature"],
                                  float(p["water.temperature_hot"])),
    "a column of the rating before": lambda d, p: near(
        db.rate(p, feed_pressure=db.rate(p, age="1 year")["feed_pressure"], control="pressure")["feed_pressure"],
        db.rate(p, age="1 year")["feed_pressure"]),
    "cases in US units": lambda d, p: near(db.rate(p, temperature="25 degC")("us")["temperature, degF"], 77.0),
    "a sweep of texts": lambda d, p: len(db.sweep(d, {"membrane.recovery": ["40 %", "41 %"]}, follow=["filters.rate"]
                                                  )) == 2,
    "a sweep of Quantities": lambda d, p: near(db.sweep(d, {"filters.rate_limit": Q([9, 10], "m/hour")}, follow=[
        "filters.rate"])["filters.rate_limit, m/h"], [9, 10]),
    "a sweep of bare fractions": lambda d, p: near(db.sweep(d, {"membrane.recovery": np.array([0.40])}, follow=[
        "filters.rate"])["membrane.recovery, %"], 40),
    # relations and calculations
    "a relation": lambda d, p: near(filtration_rate(flow="0.05 m3/s", area=Q(5, "m**2"), filters_in_service=4).to(
        "m/h"), 9),
    "a relation over an array": lambda d, p: near(np.asarray(filtration_rate(
        flow=Q([180, 360], "m**3/hour"), area="5 m2", filters_in_service=4).to("m/h")), [9, 18]),
    "a calculation": lambda d, p: calc.filters(flow=Q(285, "m**3/hour"))["filters.count"] == 5,
    "one after another": lambda d, p: calc.pipe(flow=calc.backwash(flow="285 m3/h")["filters.backwash_flow"])[
        "piping.runs[pipe].velocity"].to("m/s") > 0.5,
}
# design, plant -> refused, and what the line says
REFUSED: dict[str, tuple[Callable[[Any, Any], Any], str]] = {
    "a bare flow": (lambda d, p: d.with_value("duty.train_product_flow", 2400), "no unit"),
    "a bare depth": (lambda d, p: d.with_value("filters.freeboard", 0.9), "no unit"),
    "a bare temperature": (lambda d, p: d.with_value("water.temperature_cold", 18.0), "no unit"),
    "metres for a flow": (lambda d, p: d.with_value("duty.train_product_flow", Q(2400, "m")), "no unit of a flow"),
    "a flow for a rate": (lambda d, p: d.with_value("filters.rate_limit", p["filters.backwash_flow"]),
                          "is a flow, and a"),
    "an array for one key": (lambda d, p: d.with_value("filters.rate_limit", Q([9, 10], "m/hour")), "several values"),
    "half a filter": (lambda d, p: d.with_value("filters.count", 6.5), "whole number"),
    "a percentage as a number": (lambda d, p: d.with_value("membrane.recovery", 42), "Enter 42 % if that is meant"),
    "a slip of the hand": (lambda d, p: d.with_value("filters.rate_limt", "10 m/h"), "rate_limit"),
    "a calculated value": (lambda d, p: d.with_value("filters.rate", "10 m/h"), "to change it set filters.diameter"),
    "a calculated value in a dictionary": (lambda d, p: db.read({**MINIMAL, "membrane": {"flux": "14 L/(m2 h)"}}),
                                           "to change it set"),
    "a bare flow in a dictionary": (lambda d, p: db.read({"duty": {"train_product_flow": 1000}}), "no unit"),
    "an unknown section": (lambda d, p: db.read({**MINIMAL, "filter": {"count": 5}}), "filters"),
    "an unknown id": (lambda d, p: p["filters.rat"], "filters.rate"),
    "a wrong unit out": (lambda d, p: p["filters.rate"].to("bar"), "no unit"),
    "bare years": (lambda d, p: db.rate(p, age=[0, 3, 6]), "no unit"),
    "a bare array": (lambda d, p: db.rate(p, temperature=np.array([288.0, 298.0])), "an array needs a unit"),
    "a bare series": (lambda d, p: db.rate(p, temperature=pd.Series([288.0])), "an array needs a unit"),
    "kilograms of age": (lambda d, p: db.rate(p, age=Q(3, "kg")), "no unit of a time"),
    "a bare salinity": (lambda d, p: db.rate(p, salinity=0.034), "no unit"),
    "a bare sweep": (lambda d, p: db.sweep(d, {"filters.rate_limit": [9, 10]}), "no unit"),
    "a bare array of a sweep": (lambda d, p: db.sweep(d, {"filters.rate_limit": np.array([9.0])}), "needs a unit"),
    "one text for a sweep": (lambda d, p: db.sweep(d, {"filters.rate_limit": "9 m/h"}), "several are asked for"),
    "a sweep of a calculated value": (lambda d, p: db.sweep(d, {"filters.rate": ["9 m/h"]}), "to change it set"),
    "a bare relation": (lambda d, p: filtration_rate(flow=0.05, area="5 m2", filters_in_service=4), "no unit"),
    "a relation in the wrong unit": (lambda d, p: filtration_rate(flow="5 bar", area="5 m2", filters_in_service=4),
                                     "bar"),
    "a bare Ergun": (lambda d, p: ergun_head_loss(0.6, 0.4, 0.00055, 0.0028, 998.0, 0.001, 110, 2.0), "unit"),
    "a bare calculation": (lambda d, p: calc.dose(flow=200, dose="3 mg/L", chemical="ferric-chloride"), "no unit"),
    "a dose of another basis": (lambda d, p: calc.dose(flow="200 m3/h", dose="3 mg/L", chemical="sodium-hypochlorite"),
                                "as Cl2"),
    "a comma": (lambda d, p: d.with_value("filters.freeboard", "0,9 m"), "0.9"),
    "an operator": (lambda d, p: d.with_value("filters.freeboard", "3*0.3 m"), "one number"),
    "a range": (lambda d, p: d.with_value("filters.freeboard", "0.6-0.9 m"), "one number"),
    "ppm": (lambda d, p: d.with_value("water.ions[Ca]", "450 ppm"), "mg/L"),
}


def test_there_are_enough_of_them():
    assert len(RIGHT) + len(REFUSED) >= 60


@pytest.mark.parametrize("line", RIGHT)
def test_right_answer(line, design, plant):
    assert RIGHT[line](design, plant)


@pytest.mark.parametrize("line", REFUSED)
def test_right_refusal(line, design, plant):
    typed, says = REFUSED[line]
    with pytest.raises(ValueError) as refused:  # a DesignError is one
        typed(design, plant)
    assert isinstance(refused.value, DesignError)
    assert says.casefold() in str(refused.value).casefold() and "\n" not in str(refused.value)


def test_three_ages_are_three_single_ratings(plant):
    many = db.rate(plant, age=Q([0, 3, 6], "year"))
    for row, years in enumerate((0, 3, 6)):
        alone = db.rate(plant, age=f"{years} year").iloc[0]
        for name in ("feed_pressure", "permeate_tds", "permeate_boron", "specific_energy"):
            assert many[name].iloc[row] == pytest.approx(alone[name], rel=1e-12), (name, years)
    assert (np.diff(many["permeate_tds"]) > 0).all() and (np.diff(many["feed_pressure"]) > 0).all()


def test_every_number_of_a_table_has_a_kind_of_its_line(plant):
    """The unit of a column is that of the lines its numbers come from."""
    from desalbook.frames import COLUMNS, kinds_of
    from desalbook.units import KINDS

    rows = {"streams": plant.sized.streams, "equipment": plant.sized.equipment, "energy": plant.sized.energy.rows(),
            "loads": plant.sized.power.rows}
    for name, some in rows.items():
        for row in some:
            for column, where in (row.get("ids") or {}).items():
                id = where if isinstance(where, str) else f"{where[0]}[{where[1]}]"
                kind = COLUMNS[name].get(column)
                if kind is not None:
                    assert KINDS[kind].si == plant[id].kind.si, (name, column)
    for name in COLUMNS.keys() - {"rate"}:
        table = getattr(plant, name)
        table = table if hasattr(table, "columns") else table()
        if "unit" in table.columns:
            continue  # each row has a unit of its own
        assert set(table.attrs["units"]) == set(kinds_of(name, table.columns)), name
        bare = {c for c in table.columns if table[c].dtype.kind == "f"} - table.attrs["units"].keys()
        by_row = bare if "kind" in table.columns else ()
        assert bare <= {*by_row}, (name, bare)  # rows of kinds of their own
        money = [c for c, kind in table.attrs["kinds"].items() if kind.startswith("money")]
        assert all(", USD" in head for head in table("us").columns if str(head).partition(",")[0] in money), name


def test_a_guarantee_is_in_the_unit_of_its_row(plant):
    raw, us = plant.guarantees.set_index("key"), plant.guarantees("us").set_index("key")
    for key, row in raw.iterrows():
        assert us.loc[key, "expected"] == pytest.approx(plant[row["expected_id"]].to(plant[row["id"]].kind.show_us))
    assert us.loc["boron", "unit"] == "mg/L as B" and us.loc["energy", "unit"] == "kWh/kgal"
    assert f"<td>{plant.show('guarantee[energy]')}</td>" in plant.guarantees._repr_html_()


def test_rows_of_kinds_of_their_own_are_shown_in_their_units(plant):
    raw, shown = plant.instruments, plant.instruments("us")
    row = raw.index[raw["kind"] == "gauge pressure"][0]
    assert shown.loc[row, "unit"] == "psig"
    assert shown.loc[row, "range_high"] == pytest.approx(raw.loc[row, "range_high"] / 6894.757293168)
