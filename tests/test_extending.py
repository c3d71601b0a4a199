"""What a person adds from outside the kit: it is sized, and shows wherever its kind shows."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator, Mapping
from dataclasses import replace

import openpyxl
import pytest

import desalbook as db
from desalbook import paths
from desalbook.hydraulics.energy_recovery import (
    DEVICES,
    Balance,
    BestPoint,
    Device,
    DeviceKind,
    Duty,
    Recovery,
    WaterLineRole,
    complete,
    registered,
)
from desalbook.hydraulics.energy_recovery.balance import (
    available_pressure_drop,
    hydraulic_power_of_stream,
    hydraulic_power_with_transfer,
    pressure_rise,
)
from desalbook.hydraulics.energy_recovery.turbine import shaft_power_recovered, turbine_loss
from desalbook.plant import compare_recovery
from desalbook.problems import DesignError, TrailError
from desalbook.tables import table
from desalbook.trail import Figure

ID = "energy_recovery"


class ScrewExpander(DeviceKind):
    """A positive-displacement expander on the pump's shaft, of one efficiency at every flow; a toy."""

    key = "screw-expander"
    label = "Screw expander on the shaft"
    columns = ("efficiency", "back_pressure")
    cost_key = "screw-expander"
    water_line = WaterLineRole.SHAFT
    stop_title = "Expander"
    on_shaft = True

    def size(self, of: Device, rejects: Mapping[str, tuple[Figure, Figure, Figure]]) -> BestPoint | None:
        return None

    def run(self, of: Device, duty: Duty, best: BestPoint | None) -> Recovery:
        rise = pressure_rise.at("hp_pump.pressure_rise", discharge_pressure=duty.feed_pressure,
                                suction_pressure=duty.suction_pressure)
        return Recovery(duty.feed_flow, duty.feed_pressure, rise, duty.exhaust_pressure)

    def shaft_power(self, of: Device, duty: Duty, recovery: Recovery, best: BestPoint | None,
                    speed_ratio: Figure | None) -> Recovery:
        return replace(recovery, recovered=shaft_power_recovered.at(
            f"{ID}.recovered_power", turbine_efficiency=of.need("efficiency"), reject_flow=duty.reject_flow,
            concentrate_pressure=duty.concentrate_pressure, exhaust_pressure=duty.exhaust_pressure))

    def power_balance(self, of: Device, duty: Duty, recovery: Recovery) -> Balance:
        drop = available_pressure_drop.at(f"{ID}.drop", concentrate_pressure=duty.concentrate_pressure,
                                          exhaust_pressure=duty.exhaust_pressure)
        return Balance(
            hydraulic_power_of_stream.at(f"{ID}.power_in", flow=duty.reject_flow,
                                         inlet_pressure=duty.concentrate_pressure),
            hydraulic_power_with_transfer.at(f"{ID}.power_out", flow=duty.reject_flow,
                                             exhaust_pressure=duty.exhaust_pressure,
                                             transferred_power=recovery.recovered),
            {"expander": turbine_loss.at(f"{ID}.loss_expander", flow=duty.reject_flow, pressure_drop=drop,
                                         transfer_efficiency=of.need("efficiency"))})

    def equipment(self, units: int) -> str:
        return "screw expander with gear"


DEVICE_ROW = {"key": "screw-expander", "title": "Screw expander", "source": "definition", "place": "a toy of the tests",
              "efficiency": "82 %", "back_pressure": "3.0 bar g"}
COST_ROW = {"key": "screw-expander", "title": "Screw expander with gear", "source": "definition",
            "place": "a toy of the tests", "per_kilowatt": "0", "per_flow": "640"}


@contextlib.contextmanager
def row(name: str, text: Mapping[str, str]) -> Iterator[None]:
    table(name).add(text)
    try:
        yield
    finally:
        table(name).remove(text["key"])


@pytest.fixture(scope="module")
def toy_device():
    with row("energy_recovery", DEVICE_ROW), row("machine_costs", COST_ROW), registered(ScrewExpander()):
        complete()
        yield
    assert "screw-expander" not in DEVICES
    complete()


@pytest.fixture(scope="module")
def plant(toy_device):
    design = db.read(paths.demo("harbour-town.toml"))
    return db.size(design.with_value("energy_recovery.device", "screw-expander"))


def test_a_key_that_nobody_registered_is_refused():
    design = db.read(paths.demo("harbour-town.toml"))
    with pytest.raises(DesignError):
        design.with_value("energy_recovery.device", "screw-expander")


def test_a_device_is_sized_and_its_balance_closes(plant):
    book = plant.sized.ledger
    assert str(book["energy_recovery.device"]) == "screw-expander"
    assert float(book["energy_recovery.efficiency"]) == 0.82
    for r in plant.sized.pressure.by_corner.values():
        lost = float(r.balance.losses["expander"])
        assert float(r.balance.into) == pytest.approx(float(r.balance.out) + lost, rel=1e-12)
        assert r.recovered > 0


def test_a_device_shows_in_streams_equipment_and_the_picture(plant):
    from desalbook.notebook.picture import picture

    reject = plant.streams.set_index("key").loc["reject"]
    assert reject["pressure"] == pytest.approx(3.0e5)  # the back-pressure of the toy
    assert any("Screw expander on the shaft" in str(x) for x in plant.sized.equipment)
    assert plant.sized.stops["recovery"] == WaterLineRole.SHAFT
    assert "Expander" in picture(plant)


def test_a_device_stands_in_the_comparison_and_between_others_in_energy(toy_device):
    design = db.read(paths.demo("harbour-town.toml"))
    frame = compare_recovery(design).set_index("device")
    toy = frame.loc["screw-expander"]
    assert toy["title"] == "Screw expander on the shaft" and "screw expander with gear" in toy["extra_equipment"]
    assert frame.loc["isobaric", "specific_energy"] < toy["specific_energy"] < frame.loc["none", "specific_energy"]
    assert toy["cost_machines"] > 0


def test_a_device_is_rated_at_its_corners(plant):
    corner = plant.sized.array.by_corner["cold-aged"]
    got = db.rate(plant, temperature=float(plant.sized.waters.at["cold"].temperature))
    assert got["feed_pressure"][0] == pytest.approx(float(corner["feed_pressure"]), rel=1e-9)
    assert got["hp_power"][0] == pytest.approx(float(plant.sized.pressure.runs["cold-aged"].hp_power), rel=1e-9)


def test_a_device_stands_in_the_workbook(plant, tmp_path):
    path = tmp_path / "toy.xlsx"
    plant.trail.workbook(path)
    texts = {str(c.value) for sheet in openpyxl.load_workbook(path) for line in sheet.iter_rows() for c in line}
    assert any("screw-expander" in x or "Screw expander" in x for x in texts)
    assert any("energy_recovery.loss_expander" in x for x in texts)


def test_an_incomplete_device_is_refused_by_name(toy_device):
    class Nameless(ScrewExpander):
        key = "nameless"

    with pytest.raises(TrailError, match="energy_recovery"), registered(Nameless()):
        pass
    with row("energy_recovery", DEVICE_ROW | {"key": "nameless"}), pytest.raises(TrailError, match="nameless"):
        complete()

    class Half(DeviceKind):
        key = "half"

    with pytest.raises(TypeError, match="power_balance"):
        Half()  # type: ignore[abstract]  # that is what is tried

    class NoStop(ScrewExpander):
        cost_key = "nothing"
        key = "other"

    with row("energy_recovery", DEVICE_ROW | {"key": "other"}), pytest.raises(TrailError, match="machine_costs"), \
            registered(NoStop()):
        pass
