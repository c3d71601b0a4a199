"""The generic sheets: each is read back through the solver, and there is one for each use."""

from __future__ import annotations

import pytest

import desalbook as db
from desalbook import paths
from desalbook.membrane import element
from desalbook.membrane.inputs import Membrane
from desalbook.plant import size
from desalbook.tables import table
from desalbook.trail import Ledger
from tests.every import every
from tests.rooms import inputs

ROWS = tuple(table("elements").rows)


def fitted(key: str) -> Ledger:
    with Ledger().recording() as ledger:
        inp = inputs({"membrane": (Membrane, {})})
        element(inp, type(inp("membrane.element"))(key, id="membrane.element", title=""))
    return ledger


def test_each_sheet_gives_its_rated_test_back():
    def check(key: str) -> None:
        lines = fitted(key).lines
        for found, wanted in (("permeate_flow", "rated_flow"), ("rejection", "rated_rejection"),
                              ("boron_rejection", "rated_boron_rejection")):
            assert float(lines[f"membrane.element.{found}"].value) == pytest.approx(
                float(lines[f"membrane.element.{wanted}"].value), rel=1e-9), found
    every(ROWS, check)


def test_permeabilities_of_seawater_sheets_lie_in_the_published_range():
    """0.5 to 2.5 L/(m2 h bar) of water permeability and 0.01 to 0.2 L/(m2 h) of salt, for sea and weaker waters."""
    def check(key: str) -> None:
        lines, service = fitted(key).lines, table("elements")[key]["service"].value
        a, b = (float(lines[f"membrane.element.{k}_permeability"].value) * 3.6e6 for k in ("water", "salt"))
        low, high = (0.6, 2.2) if service == "seawater" else (2.5, 6.0)
        assert low < a * 1e5 < high and 0.01 < b < (0.15 if service == "seawater" else 0.4), (a * 1e5, b)
    every(ROWS, check)


def test_a_weak_water_takes_brackish_elements():
    """6 g/kg: the brackish sheet asks for much less pressure than the seawater one, and bears it."""
    design = db.read(paths.demo("harbour-town.toml"))
    text = design.text
    assert text
    weak = {}
    for key in ("demo-f-weak-water", "demo-b-low-energy"):
        one = design.with_value("membrane.element", key).with_value("membrane.recovery", "60 %")
        one = one.with_value("energy_recovery.device", "none")
        ions = dict(one.sections["water"]["ions"].items())
        for name, amount in ions.items():
            one = one.with_value(f"water.ions[{name}]", f"{amount * 1e3 / 6:.6g} mg/L")
        lines = size(one).ledger.lines
        weak[key] = float(lines["membrane.feed_pressure"].value)
        assert lines["membrane.feed_pressure.check"].more["verdict"] != "fails"
    assert weak["demo-f-weak-water"] < 0.7 * weak["demo-b-low-energy"]
