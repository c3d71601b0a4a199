"""A plant of the tests' own: a real design and a real ledger, small and quick, for the public functions and the kit."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

from desalbook.api import Plant
from desalbook.design import from_text
from desalbook.problems import Infeasible
from desalbook.trail import Ledger, Values, assumed, checked, given, picked, scope, values
from desalbook.trail.ledger import note
from tests.trail import samples

TEXT = """format = 1

[project]
name = "Test & <plant>"
revision = "B"

[duty]
train_product_flow = "2400 m3/d"  # what the contract says

[water]
ph = 8.1
ions = { Na = "11100 mg/L", Cl = "19900 mg/L", HCO3 = "145 mg/L" }
"""
STOPS = {
    "feed": [
        {"key": "sea", "title": "Sea", "pressure": 0.0, "flow": 0.05, "salinity": 0.036, "kind": "sea"},
        {
            "key": "hp_pump",
            "title": "HP pump",
            "pressure": 6e6,
            "flow": 0.05,
            "salinity": 0.036,
            "kind": "pump",
        },
        {
            "key": "membrane",
            "title": "Vessels",
            "pressure": 5.9e6,
            "flow": 0.05,
            "salinity": 0.036,
            "kind": "vessels",
        },
    ],
    "permeate": [
        {
            "key": "product",
            "title": "Product",
            "pressure": 5e4,
            "flow": 0.02,
            "salinity": 0.0003,
            "kind": "product",
        }
    ],
    "reject": [
        {
            "key": "outfall",
            "title": "Outfall",
            "pressure": 1e4,
            "flow": 0.03,
            "salinity": 0.06,
            "kind": "outfall",
        }
    ],
    "exchanger_branch": None,
    "chemicals": [],
    "recovery": "valve",
}


def ledger(flow: float, fails: bool = False) -> Ledger:
    """A few lines of every sort that the kit shows, recorded."""
    book = Ledger()
    with book.recording():
        calculate(flow, fails)
    return book


def calculate(flow: float, fails: bool) -> None:
    """The few lines, in whatever book is open."""
    q = given("duty.train_product_flow", flow, "flow.day", title="Net product", symbol="Q", text="x")
    area = assumed(
        "filters.area", 7.0, "area", title="Area", symbol="A", text="7 m2", source="common-practice"
    )
    count = picked(
        "filters.count",
        4.0,
        "count",
        title="Filters",
        symbol="N",
        rule="minimum that holds",
        candidates=[{"key": "4", "value": 4.0, "won": True}],
        inputs={"area": area},
    )
    with scope("unit", count=4):
        rate = samples.filtration_rate.at("filters.rate", flow=q, area=area, filters_in_service=count)
    row = given(
        "water.flows", [0.4, 0.8], "flow", title="Flows", symbol="Q_i", axis="ion", keys=["Ca", "Na"]
    )
    row2 = given(
        "water.strengths",
        [1.0, 2.0],
        "concentration",
        title="Strengths",
        symbol="c",
        axis="ion",
        keys=["Ca", "Na"],
    )
    samples.mixed.at("water.mixed", flow=row, concentration=row2)
    x = given("water.factor", 1.5, "factor", title="Factor", symbol="k")
    samples.scaled.at("water.scaled", concentration=row2, x=x)
    low = given("filters.low", 1e-5 if fails else 0.01, "filtration rate", title="Limit", symbol="v_max")
    checked(
        "filters.rate.check",
        rate,
        "<=",
        low,
        title="Filtration rate",
        do="add a filter",
        caution="Isolate and drain first",
    )
    note(
        "water.note",
        title="Bromide",
        verdict="review",
        why="not given",
        do="have it analysed",
        inputs={},
    )


def size(design: Any, **asked: object) -> Plant:
    """As the kit's own, but for this small ledger; beyond 20 000 m3/d nothing can be built."""
    flow = design.get("duty.train_product_flow")
    if flow > 20_000 / 86_400:
        raise Infeasible("no pump in the table gives this flow", where="hp_pump.flow", do="take more trains")
    return Plant(_sized(ledger(flow, fails=flow > 10_000 / 86_400), design))


def sized(design: Any) -> SimpleNamespace:
    """The same plant as a sweep takes it: values alone."""
    flow = size(design).design.get("duty.train_product_flow")
    with values() as book:
        calculate(flow, flow > 10_000 / 86_400)
    return _sized(book, design)


def _sized(book: Ledger | Values, design: Any) -> SimpleNamespace:
    streams = [{"key": "raw", "from": "sea", "to": "filters", "pressure": 1e5, "mass_flow_water": 1 / 3}]
    equipment = [{"key": "filters", "title": "Filters, dual media", "trains": 1, "duty": 4}]
    return SimpleNamespace(ledger=book, design=design, streams=streams, equipment=equipment, stops=STOPS,
                           energy=SimpleNamespace(rows=list), power=SimpleNamespace(rows=[]),
                           cost=SimpleNamespace(rows=[]),
                           control=SimpleNamespace(rows=list, signals=SimpleNamespace(rows=[])),
                           sections={}, guarantees=[], valves=[])


def design(flow: str = "2400 m3/d") -> Any:
    """The small design at another flow."""
    return from_text(TEXT.replace("2400 m3/d", flow))
