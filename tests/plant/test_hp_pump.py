"""The high-pressure pump over the envelope: kinds, curves, ways of control, and corners out of reach."""

from __future__ import annotations

import pytest

from desalbook import design as designs
from desalbook import paths
from desalbook.plant.array import CORNERS
from desalbook.problems import DesignError
from tests import shared

PLANTS = ("harbour-town.toml", "beach-well.toml")
# invented pump: 750 m at no flow, 640 m and 80 % at 120 m3/h
CURVE = ((40, 738, 0.445), (80, 701, 0.71), (120, 640, 0.80), (150, 578, 0.75))


@pytest.fixture(scope="module")
def harbour():
    return designs.read(paths.demo("harbour-town.toml"))


def with_curve(tmp_path, points=CURVE, scale: float = 1.0, **keys: str):
    text = paths.demo("harbour-town.toml").read_text(encoding="utf-8")
    text += "\n[hp_pump]\n" + "".join(f'{k} = "{v}"\n' for k, v in keys.items())
    for n, (flow, head, eta) in enumerate(points):
        text += (f'\n[[hp_pump.curve]]\nname = "p{n}"\nflow = "{flow} m3/h"\nhead = "{head * scale:.3f} m"\n'
                 f'efficiency = "{100 * eta:.2f} %"\n')
    path = tmp_path / "curve.toml"
    path.write_text(text, encoding="utf-8")
    return designs.read(path)


@pytest.mark.parametrize("name", PLANTS)
def test_generated_curve_meets_every_corner(name):
    plant = shared.sized(name)
    ledger, p = plant.ledger, plant.pressure
    assert set(p.operating) == set(CORNERS) and all(o.met for o in p.operating.values())
    assert all(ledger.lines[f"hp_pump.reach@{c}"].more["verdict"] == "passes" for c in CORNERS)
    for c, o in p.operating.items():
        # the pump at its speed gives what the corner asks: the curve evaluated apart from the kit
        h = 1.2 * p.hp_pump.head * o.speed_ratio**2 - 0.2 * p.hp_pump.head * (o.flow / p.hp_pump.flow) ** 2
        assert h == pytest.approx(o.head, rel=1e-12), c
        assert o.pump_rise == o.pressure_rise and o.speed_ratio <= 1 + 1e-12
        assert o.efficiency <= p.hp_pump.efficiency * (1 + 1e-12)
    assert ledger["hp_pump.speed_ratio"] == max(o.speed_ratio for o in p.operating.values())


def test_a_valve_burns_what_the_drive_saves(harbour):
    drive, valve = (shared.sized(harbour.with_value("hp_pump.drive", x)) for x in ("yes", "no"))
    for c in CORNERS:
        a, b = (x.pressure.operating[c] for x in (drive, valve))
        assert b.speed_ratio == 1.0 and b.valve_loss >= 0
        assert b.pump_rise == pytest.approx(b.pressure_rise + b.valve_loss, rel=1e-12)
        assert b.shaft_power >= a.shaft_power * (1 - 1e-12)
    hot = valve.pressure.operating["hot-new"]
    assert hot.valve_loss > 3e5 and valve.ledger["hp_pump.shaft_power_maximum"] > 0


def test_displacement_pump_by_speed_and_by_spill(harbour):
    design = harbour.with_value("hp_pump.pump_class", "positive-displacement")
    by_speed = shared.sized(design)
    assert by_speed.pressure.curve is None
    assert by_speed.ledger["hp_pump.efficiency"] == pytest.approx(0.90)
    assert by_speed.ledger.lines["hp_pump.displacement"].more["caution"]
    spill = shared.sized(design.with_value("hp_pump.drive", "no"))
    for c in CORNERS:
        o = spill.pressure.operating[c]
        assert o.spill == pytest.approx(spill.pressure.hp_pump.flow - o.flow, abs=1e-15)
    assert "hp_pump.shutoff_head" not in spill.ledger


def test_a_written_curve_gives_efficiency_and_speed(tmp_path):
    plant = shared.sized(with_curve(tmp_path))
    p = plant.pressure
    assert plant.ledger.lines["hp_pump.shutoff_head"].sort == "engine"
    assert plant.ledger["hp_pump.bep_flow"] * 3600 == pytest.approx(121, abs=4)
    assert plant.ledger["hp_pump.best_efficiency"] == pytest.approx(0.80, abs=0.005)
    assert 0.95 < p.operating["cold-aged"].speed_ratio < 1.0 and all(o.met for o in p.operating.values())


@pytest.mark.parametrize("drive", ["yes", "no"])
def test_a_small_pump_names_the_corner_and_what_can(tmp_path, drive):
    plant = shared.sized(with_curve(tmp_path, scale=0.86, drive=drive))
    lines = plant.ledger.lines
    verdicts = {c: lines[f"hp_pump.reach@{c}"].more["verdict"] for c in CORNERS}
    assert verdicts["cold-aged"] == "fails" and verdicts["hot-new"] == "passes"
    line = lines["hp_pump.reach@cold-aged"]
    assert line.corner == "cold-aged" and "only up to" in line.more["why"]
    assert "a pump whose curve passes" in line.more["do"]


def test_two_points_are_no_curve(tmp_path):
    with pytest.raises(DesignError, match="three points"):
        with_curve(tmp_path, CURVE[:2])
    rising = tuple((q, 500 + q, e) for q, _, e in CURVE)
    with pytest.raises(DesignError, match="not the curve"):
        shared.sized(with_curve(tmp_path, rising))


def test_curve_and_efficiency_together_are_a_caution(tmp_path):
    plant = shared.sized(with_curve(tmp_path, efficiency="70 %"))
    assert plant.ledger.lines["hp_pump.two_efficiencies"].more["verdict"] == "review"
    assert plant.ledger["hp_pump.curve_efficiency"] > 0.75


def test_run_out_and_least_flow_are_judged(tmp_path):
    wide = tuple((3 * q, h, e) for q, h, e in CURVE)
    plant = shared.sized(with_curve(tmp_path, wide, drive="no"))
    assert plant.ledger.lines["hp_pump.flow_fraction_minimum.check"].more["verdict"] == "fails"
    narrow = tuple((0.7 * q, h, e) for q, h, e in CURVE)
    plant = shared.sized(with_curve(tmp_path, narrow))
    assert plant.ledger.lines["hp_pump.flow_fraction_maximum.check"].more["verdict"] == "fails"


def test_suction_heat_and_starting(harbour):
    ledger = shared.sized(harbour).ledger
    needed = 10.4 * ledger["water.density@hot"] * 9.80665 + ledger["water.vapour_pressure@hot"]
    assert ledger["hp_pump.npsh_suction_required"] == pytest.approx(needed - ledger["site.ambient_pressure"], rel=1e-9)
    assert 0.3 < ledger["hp_pump.temperature_rise"] < 0.7
    assert ledger.lines["hp_pump.starting"].more["verdict"] == "passes"
    direct = shared.sized(harbour.with_values({"hp_pump.drive": "no", "electric.motor_list": "nema"})).ledger
    assert direct["hp_pump.service_factor"] == 1.15 and direct.lines["hp_pump.starting"].more["verdict"] == "review"


def test_a_small_train_is_proposed_a_displacement_pump_and_a_large_one_is_not():
    """At 250 m3/d a multistage pump reaches some 60 %, a plunger pump 90 %; past 60 m3/h one pump does not do it."""
    demo = shared.demo()
    small = demo.with_values({"duty.trains": "1", "duty.train_product_flow": "250 m3/d"})
    plant = shared.sized(small)
    found = plant.ledger.lines["hp_pump.kind"].more
    assert found["verdict"] == "review" and 'hp_pump.pump_class = "positive-displacement"' in found["do"]
    assert float(plant.ledger["hp_pump.efficiency"]) < 0.75
    saved = 1 - float(plant.ledger["hp_pump.efficiency"]) / 0.90
    assert float(plant.ledger["hp_pump.kind_saving"]) == pytest.approx(saved, rel=1e-9) and saved > 0.1
    taken = shared.sized(small.with_value("hp_pump.pump_class", "positive-displacement"))
    assert taken.ledger.lines["hp_pump.kind"].more["verdict"] == "passes"
    assert float(taken.ledger["energy.plant_specific"]) < 0.9 * float(plant.ledger["energy.plant_specific"])
    large = shared.sized(demo).ledger
    assert large.lines["hp_pump.kind"].more["verdict"] == "passes"
    assert "hp_pump.kinds[positive-displacement].shaft_power" not in large
