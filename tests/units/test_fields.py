"""Sections: text outside, SI inside; one plain line for the first thing that is wrong."""

from __future__ import annotations

import pickle

import pydantic
import pytest

from desalbook.problems import DesignError
from desalbook.units import (
    Concentration,
    Count,
    FiltrationRate,
    Fraction,
    M,
    M3PerS,
    Named,
    Section,
    choice,
    field,
    flag,
    mapping,
    meta,
    metas,
    section,
    sections,
    text_field,
    unusual,
    validate,
)


class Layer(Section):
    name: str = text_field(..., title="Name", max_length=40)
    depth: M = field("length.small", "600 mm", title="Depth", symbol="L", possible=("50 mm", "3 m"),
                     usual=("300 mm", "1.5 m"))


class Pump(Section):
    efficiency: Fraction = field("fraction", "84 %", title="Pump efficiency", possible=("10 %", "95 %"))


class Filters(Section):
    count: Count = field("count", 8, title="Filters", possible=(2, 60), usual=(3, 24), scope="plant")
    flow: M3PerS = field("flow.day", ..., title="Flow", possible=("100 m3/d", "20 000 m3/d"))
    rate: FiltrationRate | None = field("filtration rate", None, title="Rate", hint="picked when not given")
    wash: str = choice({"sea": "raw seawater", "filtrate": "filtered water"}, "filtrate", title="Backwash water")
    scour: bool = flag(True, title="Air scour")
    note: str = text_field("", title="Note", max_length=20)
    layers: tuple[Layer, ...] = sections(Layer, [{"name": "sand"}, {"name": "anthracite", "depth": "800 mm"}],
                                         title="Layers")
    ions: Named = mapping("concentration", ["Na", "Cl"], {"Na": "11 100 mg/L"}, title="Ions",
                          possible=("0 mg/L", "200 g/L"), usual=(None, "50 g/L"))
    pump: Pump = section(Pump, title="Backwash pump")
    extra: int = 3

    def consistent(self, where: str) -> None:
        if self.rate is not None and self.scour is False:
            raise DesignError("a rate without scour", where=f"{where}.rate", do="set scour")


GOOD = {"flow": "2 500 m3/d"}


def test_defaults_are_si_and_frozen():
    made = validate(Filters, GOOD, "filters")
    assert made.count == 8.0 and made.flow == pytest.approx(2500 / 86400) and made.rate is None
    assert [layer.name for layer in made.layers] == ["sand", "anthracite"]
    assert made.layers[1].depth == 0.8 and made.ions["Na"] == pytest.approx(11.1)
    assert made.pump.efficiency == 0.84
    assert made.model_fields_set == {"flow"}  # the others are assumed until their key stands in the file
    with pytest.raises(pydantic.ValidationError):
        made.count = 9
    assert hash(made) == hash(validate(Filters, GOOD)) and pickle.loads(pickle.dumps(made)) == made
    assert made["count"] == 8.0


def test_reads_everything():
    made = validate(Filters, {
        "count": 6, "flow": "440 gpm", "rate": "12 m/h", "wash": "sea", "note": "beach", "extra": 5,
        "layers": [{"name": "sand", "depth": "2 ft"}], "ions": {"Cl": "20 g/L", "Na": "11000 mg/L"},
        "pump": {"efficiency": "0.8"}}, "filters")
    assert made.rate == pytest.approx(12 / 3600) and made.layers[0].depth == pytest.approx(0.6096)
    assert list(made.ions) == ["Cl", "Na"] and made.pump.efficiency == 0.8 and made.extra == 5
    assert made == Filters(count="6", flow="440 gpm", rate="12 m/h", wash="sea", note="beach", extra=5,
                           layers=[{"name": "sand", "depth": "2 ft"}],
                           ions={"Cl": "20 g/L", "Na": "11000 mg/L"}, pump=Pump(efficiency="80 %"))


@pytest.mark.parametrize(("given", "where", "says"), [
    ({**GOOD, "cuont": 8}, "filters.cuont", "did you mean count"),
    ({"flow": "2,500 m3/d"}, "filters.flow", "enter 2500 m3/d"),
    ({"flow": "50 m3/d"}, "filters.flow", "allowed 100 to 20 000 m3/d"),
    ({"flow": 2500}, "filters.flow", "unit is missing"),
    ({**GOOD, "count": 80}, "filters.count", "allowed 2 to 60. enter a value in that range, or clear"),
    ({**GOOD, "count": None}, "filters.count", "not one number"),
    ({}, "filters.flow", "must be given"),
    ({**GOOD, "wash": "filtrat"}, "filters.wash", "enter filtrate if that is meant"),
    ({**GOOD, "scour": "yes"}, "filters.scour", "true or false"),
    ({**GOOD, "scour": 1}, "filters.scour", "true or false"),
    ({**GOOD, "note": "a\nb"}, "filters.note", "line break"),
    ({**GOOD, "note": "a" * 21}, "filters.note", "too long, 21"),
    ({**GOOD, "note": 5}, "filters.note", "not a text"),
    ({**GOOD, "layers": [{"name": "sand", "depth": "5 m"}]}, "filters.layers[sand].depth", "outside its range"),
    ({**GOOD, "layers": [{"name": "sand"}, {"name": "sand"}]}, "filters.layers[sand]", "is given twice"),
    ({**GOOD, "layers": [{"name": "sand"}, {"depth": "1 m"}]}, "filters.layers[2]", "has no name"),
    ({**GOOD, "layers": [{"name": "a]b"}]}, "filters.layers[1]", "no usable name"),
    ({**GOOD, "layers": {"name": "sand"}}, "filters.layers", "[[filters.layers]]"),
    ({**GOOD, "layers": ["sand"]}, "filters.layers[1]", "not a table"),
    ({**GOOD, "ions": {"K": "5 mg/L"}}, "filters.ions[K]", "known keys are Na, Cl"),
    ({**GOOD, "ions": {"Na": "5 ppm"}}, "filters.ions[Na]", "neither per volume"),
    ({**GOOD, "ions": {"Na": "300 g/L"}}, "filters.ions[Na]", "allowed 0 to 200 g/L"),
    ({**GOOD, "ions": "5 mg/L"}, "filters.ions", "table of named values"),
    ({**GOOD, "pump": {"eficiency": "80 %"}}, "filters.pump.eficiency", "did you mean efficiency"),
    ({**GOOD, "pump": "big"}, "filters.pump", "not a table"),
    ({**GOOD, "extra": "many"}, "filters.extra", "integer"),
    ({**GOOD, "rate": "10 m/h", "scour": False}, "filters.rate", "a rate without scour"),
    ("text", "filters", "not a table"),
])
def test_refuses_in_one_line(given, where, says):
    with pytest.raises(DesignError) as caught:
        validate(Filters, given, "filters")
    line = str(caught.value)
    assert caught.value.where == where and says.lower() in line.lower() and "\n" not in line


def test_first_problem_in_the_order_of_the_file():
    for given, first in (({"count": 99, "flow": "x"}, "count"), ({"flow": "x", "count": 99}, "flow")):
        with pytest.raises(DesignError) as caught:
            validate(Filters, given)
        assert caught.value.where == first


def test_limits_hold_in_any_unit():
    """The same limit in another unit is still inside, the next number is not."""
    assert validate(Pump, {"efficiency": "0.95"}).efficiency == 0.95
    assert validate(Layer, {"name": "x", "depth": "50000 um"}).depth == pytest.approx(0.05)
    with pytest.raises(DesignError):
        validate(Pump, {"efficiency": "95.0001 %"})


def test_meta():
    m = meta(Filters, "count")
    assert (m.form, m.kind.name, m.default, m.default_text) == ("quantity", "count", 8.0, "8")
    assert m.possible == (2.0, 60.0) and m.usual == (3.0, 24.0) and not m.required and not m.optional
    assert meta(Filters, "rate").optional and meta(Filters, "rate").hint == "picked when not given"
    assert meta(Filters, "flow").required and meta(Filters, "flow").possible_text("us").endswith("gpd")
    assert meta(Filters, "layers[sand].depth").symbol == "L"
    assert meta(Filters, "layers.depth").default_text == "600 mm"
    assert dict(meta(Filters, "wash").options) == {"sea": "raw seawater", "filtrate": "filtered water"}
    assert meta(Filters, "ions").keys == ("Na", "Cl") and "extra" not in metas(Filters)
    for path in ("nothing", "count.deeper", "layers.nothing"):
        with pytest.raises(KeyError):
            meta(Filters, path)


def test_unusual_is_a_caution_with_its_path():
    made = validate(Filters, {**GOOD, "count": 30, "layers": [{"name": "sand", "depth": "2 m"}],
                              "ions": {"Na": "60 g/L"}})
    found = dict(unusual(made, "filters"))
    assert set(found) == {"filters.count", "filters.layers[sand].depth", "filters.ions[Na]"}
    assert found["filters.count"] == "Filters 30 is unusual; usual is 3 to 24"
    assert unusual(validate(Filters, GOOD)) == []


def test_author_slips_are_refused_when_the_class_is_made():
    with pytest.raises(DesignError, match="outside its range"):
        field("fraction", "5 %", title="x", possible=("10 %", "20 %"))
    with pytest.raises(ValueError, match="lower limit"):
        field("fraction", "5 %", title="x", possible=("20 %", "10 %"))
    with pytest.raises(ValueError, match="usual range"):
        field("fraction", "15 %", title="x", possible=("10 %", "20 %"), usual=("5 %", "15 %"))
    with pytest.raises(DesignError, match="choices"):
        choice({"a": "A"}, "b", title="x")
    with pytest.raises(ValueError, match="no field"):
        sections(Pump, title="x")


def test_json_schema_says_the_unit():
    assert Pump.model_json_schema()["properties"]["efficiency"]["unit"] == "1"


def test_an_optional_section_may_be_absent():
    class Plant(Section):
        pump: Pump | None = section(Pump, None, title="Pump")
        dose: Concentration | None = field("concentration as product", None, title="Dose")

    assert validate(Plant, {}).pump is None
    assert validate(Plant, {"pump": {}}).pump == Pump()
