"""A sheet of the trade, through the functions of the rooms: eight filters, a turbocharger, NEMA motors.

Common practice, no source: a feed of 750 gpm for 1 850 m3/d of permeate, as such plants are laid out. Each
expectation is a band that hand arithmetic on the same inputs falls into; nothing in the kit exists only for
this test.
"""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from desalbook.duty import train_flows
from desalbook.hydraulics.energy_recovery import Duty, device, recover
from desalbook.hydraulics.inputs import BackwashPump, EnergyRecovery, FeedPump, HpPump
from desalbook.hydraulics.inputs import Electric as ElectricInputs
from desalbook.hydraulics.motors import Electric
from desalbook.hydraulics.pipes import Fluid
from desalbook.hydraulics.pumps import Pump, size_pump
from desalbook.pretreatment.backwash import backwash_rate
from desalbook.pretreatment.filters import battery
from desalbook.pretreatment.inputs import Filters, FilterVessel
from desalbook.pretreatment.media import bed
from desalbook.trail import Figure, Ledger, given
from desalbook.units import to_display
from tests.rooms import figures, inputs

PERMEATE = 1850 / 86400
FEED = 750 * 231 * 0.0254**3 / 60


@pytest.fixture(scope="module")
def plant() -> SimpleNamespace:
    with Ledger().recording() as ledger:
        return _plant(ledger)


def _plant(ledger: Ledger) -> SimpleNamespace:
    inp = inputs(
        {
            "filters": (
                Filters,
                {"count": "8", "diameter": "63 inch", "backwash_flow": "350 gpm"},
            ),
            "filter_vessel": (FilterVessel, {}),
            "electric": (ElectricInputs, {"motor_list": "nema", "frequency": "60-hz"}),
            "feed_pump": (
                FeedPump,
                {"pressure_rise": "60 psi", "efficiency": "70 %", "motor_margin": "1.15"},
            ),
            "backwash_pump": (
                BackwashPump,
                {"pressure_rise": "40 psi", "efficiency": "65 %", "motor_margin": "1.25"},
            ),
            "hp_pump": (HpPump, {"efficiency": "80 %", "motor_margin": "1.1", "suction_wanted": "30 psi"}),
            "energy_recovery": (EnergyRecovery, {"device": "turbocharger", "efficiency": "75 %"}),
        }
    )
    psi = 6894.757293168361
    f = figures(
        {
            "duty.train_permeate": (PERMEATE, "flow"),
            "duty.trains": (1, "count"),
            "membrane.recovery": (PERMEATE / FEED, "fraction"),
            "water.density": (1024.0, "density"),
            "water.viscosity": (1.0e-3, "viscosity"),
            "membrane.feed_pressure": (975 * psi, "gauge pressure"),
            "membrane.concentrate_pressure": ((975 - 22) * psi, "gauge pressure"),
            "energy_recovery.exhaust_pressure": (15 * psi, "gauge pressure"),
        }
    )
    trains, density = f["duty.trains"], f["water.density"]
    flows = train_flows(f["duty.train_permeate"], f["membrane.recovery"], trains)
    of = battery(inp, flows.feed, trains)
    fluid = Fluid(density, f["water.viscosity"])
    layers = bed(inp, ("anthracite", "sand", "gravel"))
    wash = backwash_rate(inp, layers, of.area, {"cold": fluid, "hot": fluid})
    electric = Electric(*(inp(f"electric.{k}") for k in ("motor_list", "motor_class", "poles", "frequency")))

    def pump(name: str, flow: Figure, rise: Figure) -> Pump:
        return size_pump(
            name,
            flow=flow,
            density=density,
            electric=electric,
            pressure_rise=rise,
            efficiency=inp(f"{name}.efficiency"),
            motor_margin=inp(f"{name}.motor_margin"),
        )

    recovery = recover(
        device(inp), Duty(
        feed_flow=flows.feed,
        permeate_flow=flows.permeate,
        reject_flow=flows.reject,
        feed_pressure=f["membrane.feed_pressure"],
        concentrate_pressure=f["membrane.concentrate_pressure"],
        suction_pressure=inp("hp_pump.suction_wanted"),
        exhaust_pressure=f["energy_recovery.exhaust_pressure"],
    ))
    return SimpleNamespace(
        flows=flows,
        filters=of,
        wash=wash,
        recovery=recovery,
        hp=pump("hp_pump", recovery.hp_flow, recovery.hp_rise),
        feed=pump("feed_pump", flows.feed, inp("feed_pump.pressure_rise")),
        washer=pump("backwash_pump", wash.flow, inp("backwash_pump.pressure_rise")),
        ledger=ledger,
    )


def _us(x: Figure) -> float:
    return float(to_display(x, x.kind, "us"))


def test_filters_and_wash(plant):
    assert 0.452 <= PERMEATE / plant.flows.feed <= 0.453
    assert 4.32 <= _us(plant.filters.rate) <= 4.34
    assert 4.94 <= _us(plant.filters.rate_washing) <= 4.96
    assert 16.1 <= _us(plant.wash.rate) <= 16.2


def test_turbocharger_and_pump(plant):
    assert 383 <= _us(plant.recovery.boost) <= 388
    assert 587 <= _us(plant.recovery.hp_discharge) <= 592


@pytest.mark.parametrize(
    ("name", "low", "high", "motor"), [("hp", 304, 308, 350), ("feed", 37, 38, 50), ("washer", 12, 13, 20)]
)
def test_shaft_powers_and_motors(plant, name, low, high, motor):
    pump = getattr(plant, name)
    assert low <= _us(pump.shaft_power) <= high
    assert _us(pump.motor_rating) == pytest.approx(motor, rel=1e-9)


def test_every_figure_has_its_line(plant):
    lines = plant.ledger.lines
    for id in ("filters.rate", "filters.backwash_rate", "energy_recovery.boost", "hp_pump.motor"):
        assert lines[id].sort in ("computed", "picked")
    assert lines["hp_pump.motor"].more["why"].startswith("the next smaller, 300 hp")
    with plant.ledger.recording(), pytest.raises(Exception, match="already"):
        given("filters.rate", 1.0, "filtration rate", title="twice")
