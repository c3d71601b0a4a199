"""Arrays of every kind held to differential equations, integrated element by element apart from the library.

The recorded feed of the first pass at its recorded pressure goes through `tests.membrane.reference`; what comes out
must be the recorded permeate, and joined again with the raw water it must be the recorded feed.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_ivp

import desalbook as db
from desalbook import membrane as m
from desalbook.plant.cases import ph_of
from desalbook.problems import Infeasible
from desalbook.trail.corner import Corner
from tests import shared
from tests.membrane.reference import Vessel, _local, _pkb, _rho
from tests.plant.test_stages import SECOND, STAGES, text_of
from tests.rate_si import rate_si

TIGHT, OPEN = "demo-a-high-rejection", "demo-b-low-energy"
REAR = f'[[membrane.element_by_position]]\nname = "rear"\nelement = "{OPEN}"\nfirst = 4\nlast = 7\n'
SHORT = STAGES + 'elements = 6\n'
REL = 2e-4  # two slices an element against the differential equations
CORNER = Corner("hot", "aged")
BICARBONATE = 0.084007  # kg/mol
KINDS = {
    "mixed elements and stages": {"more": REAR + STAGES},
    "mixed elements and a shorter second stage": {"more": REAR + SHORT, "device": "turbocharger"},
    "mixed elements and a recycle": {"more": REAR, "recycle": "10 %", "vessels": 32},
    "mixed elements and a second pass": {"more": REAR + SECOND, "vessels": 32, "recovery": "36 %"},
    "mixed elements, permeate of the rear to the second pass": {
        "more": REAR + SECOND.replace('share = "60 %"', 'takes = "rear"\nfront_elements = 3'), "vessels": 32,
        "recovery": "36 %"},
    "all together": {"more": REAR + STAGES + SECOND, "vessels": 20, "recovery": "36 %", "recycle": "5 %"},
}
HELD = {
    "stages": {"more": STAGES, "vessels": 20},
    "recycle": {"recycle": "10 %", "vessels": 32},
    "second pass": {"more": SECOND, "vessels": 32, "recovery": "36 %"},
    "second pass whose vessels are picked": {"more": SECOND.replace("vessels = 6\n", ""), "vessels": 32,
                                             "recovery": "36 %"},
    "mixed elements": {"more": REAR, "vessels": 28},
    "all together": {"more": REAR + STAGES + SECOND, "vessels": 20, "recovery": "36 %", "recycle": "5 %"},
}


QUICK = ("mixed elements and stages", "mixed elements and a second pass", "stages", "second pass", "all together")


def some(names):
    """Each name; those that add no joint of their own in the full tier."""
    return [name if name in QUICK else pytest.param(name, marks=pytest.mark.full) for name in names]


def sized(folder, text: str):
    path = folder / "plant.toml"
    path.write_text(text, encoding="utf-8")
    return shared.plant(db.read(path))


@pytest.fixture(scope="module")
def plants(tmp_path_factory):
    folder = tmp_path_factory.mktemp("integration")
    return lambda options: sized(folder, text_of(**options))


@pytest.fixture(scope="module")
def held(plants, tmp_path_factory):
    """A plant sized for its recovery, and the same with the feed pressure held that this recovery asks for."""
    folder, made = tmp_path_factory.mktemp("held"), {}

    def of(name: str):
        if name not in made:
            by_recovery = plants(HELD[name])
            pressure = float(by_recovery["membrane.feed_pressure@cold-aged"])
            text = text_of(**HELD[name]).replace(f'recovery = "{HELD[name].get("recovery", "39 %")}"',
                                                 f'feed_pressure = "{pressure / 1e5:.17g} barg"', 1)
            made[name] = by_recovery, sized(folder, text)
        return made[name]

    return of


def elements_of(plant, row, at, ph: float) -> list[Vessel]:
    """One stage's elements by position, in service."""
    service, along = row.sheet.service[CORNER], row.sheet.along
    n = int(row.elements)

    def each(figure) -> np.ndarray:
        return np.broadcast_to(m.by_element(figure), (n,))

    columns = {"a": service["water_permeability"], "b": service["salt_permeability"],
               "b_acid": service["boric_acid_permeability"], "b_borate": service["borate_permeability"],
               "area": along["area"], "length": along["length"], "height": along["spacer_height"],
               "porosity": along["spacer_porosity"]}
    values = {k: each(v) for k, v in columns.items()}
    return [Vessel(
        elements=1, feed=np.nan, salinity=np.nan, temperature=float(at.temperature), port_loss=0.0, ph=ph,
        permeate_pressure=float(plant["membrane.permeate_pressure"]), boron=np.nan,
        water_viscosity=float(at.water_viscosity), osmotic=tuple(at.osmotic_curve.values),
        density=tuple(at.density_curve.values), **{k: float(v[i]) for k, v in values.items()}) for i in range(n)]


def integrate(elements: list[Vessel], vessels: float, flow: np.ndarray, pressure: float, port: float, stands: float,
              shift) -> tuple[list[np.ndarray], np.ndarray, float]:
    """Permeate of each element, what is left (water, salt, boron in kg/s of the train) and its pressure."""
    first = elements[0]
    pk = _pkb(first.temperature, 35 * stands / (1 + stands) / 0.03516504)
    y = np.array([*(flow / vessels), pressure - port / 2])
    permeates = []
    for v in elements:
        def slopes(_, y, v=v):
            water, salt, boron, p = y
            j, through, beta, slope, _ = _local(v, water, salt, p)
            more = np.log(salt / water / stands)
            share = 1 / (1 + 10 ** (pk - v.ph - shift[0] * more - shift[1] * more**2))
            b = v.b_acid + (v.b_borate - v.b_acid) * share
            drawn = j * v.area * v.density[0]
            return [-drawn, -drawn * through, -drawn * b * beta * (boron / water) / (j + b * beta), -slope * v.length]

        end = solve_ivp(slopes, (0.0, 1.0), y, method="DOP853", rtol=1e-8, atol=[1e-11, 1e-13, 1e-17, 1e-3]).y[:, -1]
        permeates.append((y[:3] - end[:3]) * vessels)
        y = end
    return permeates, y[:3] * vessels, y[3] - port / 2


def run(plant, rows, flow, pressure, port, ph, local: bool):
    """All stages of a pass: permeates by stage and element, concentrate."""
    at, made = plant.sized.waters.at[CORNER.temperature], []
    stands = float(plant["water.salinity"]) if local else flow[1] / flow[0]
    shift = at.borate_shift.values if local else (0.0, 0.0)
    for k, row in enumerate(rows):
        if k:
            pressure += float(row.boost or 0.0)
            stands = stands if local else flow[1] / flow[0]
        permeates, flow, pressure = integrate(elements_of(plant, row, at, ph), float(row.vessels), flow, pressure, port,
                                              stands, shift)
        made.append(permeates)
    return made, flow


def volume(flow: np.ndarray, curve) -> float:
    return float((flow[0] + flow[1]) / _rho(flow[1] / flow[0], curve))


def against_integration(plant) -> None:
    sized_, plan = plant.sized, plant.sized.array.plan
    at, made = sized_.waters.at[CORNER.temperature], sized_.array.staged[CORNER]
    curve, s = tuple(at.density_curve.values), made.streams

    def of(stream) -> np.ndarray:
        return np.array([float(stream.water), float(stream.salt), float(stream.boron)])

    if plan.joined:
        feed, raw = of(s["feed"]), of(s["raw"])
    else:
        r = sized_.array.by_corner[CORNER]
        water = float(made.train_water)
        raw = water * np.array([1.0, float(plant["water.salinity"]), float(sized_.waters.boron)])
        feed = water * np.array([1.0, float(plant[f"membrane.feed_salinity@{CORNER}"]),
                                 float(plant[f"membrane.feed_boron@{CORNER}"])])
    r = sized_.array.by_corner[CORNER]
    stages, reject = run(plant, plan.rows, feed, float(r["feed_pressure"]), float(plant["membrane.port_loss"]),
                         float(ph_of(sized_.waters, CORNER.temperature)), True)
    product = first = np.sum([p for stage in stages for p in stage], axis=0)
    mixed = raw + (float(plan.recycle) * reject if plan.recycle is not None else 0.0)
    if plan.second is not None:
        front = int(plan.second["front_elements"] or 0)
        source = first - np.sum(stages[0][:front], axis=0) if front else first
        taken = float(plan.second["share"]) * source
        dosed = taken + np.array([0.0, float(plan.caustic[CORNER.temperature]) * BICARBONATE * taken[0], 0.0])
        two, second_reject = run(plant, plan.second_rows, dosed, float(made.stages["second"]["feed_pressure"]),
                                 float(plan.second["port_loss"]), float(plan.ph[CORNER.temperature]), False)
        permeate = np.sum([p for stage in two for p in stage], axis=0)
        assert volume(permeate, curve) == pytest.approx(float(plan.second["recovery"]) * volume(dosed, curve), rel=REL)
        product = first - taken + permeate
        mixed = mixed + second_reject * (plan.second["concentrate_to"] == "feed")
    assert volume(product, curve) == pytest.approx(float(plant["duty.train_permeate"]), rel=REL)
    for i, name in ((1, "permeate_tds"), (2, "permeate_boron")):
        assert product[i] / volume(product, curve) == pytest.approx(float(r[name]), rel=2 * REL), name
    if plan.looped:
        joined, mixing = mixed / mixed[0], float(sized_.device.mixing or 0.0)
        again = joined + mixing * reject[0] / feed[0] * (reject / reject[0] - joined)
        assert mixed[0] == pytest.approx(feed[0], rel=REL)
        assert again[1:] == pytest.approx(feed[1:] / feed[0], rel=REL)


def proofs(plant) -> float:
    return max(r["relative"] for x in plant.ledger.lines.values() if x.sort == "solved" for r in x.more["residual"])


@pytest.mark.parametrize("name", some(KINDS))
def test_mixed_elements_in_any_array(plants, name):
    plant = plants(KINDS[name])
    assert proofs(plant) < 1e-9
    against_integration(plant)


@pytest.mark.parametrize("name", ["mixed elements and stages", "all together"])
def test_each_position_of_each_stage_is_judged(plants, name):
    plant = plants(KINDS[name])
    positions = plant.sized.array.positions
    assert set(positions) == {"stage[first]", "stage[second]"}
    shares = [row[3] for corners in positions.values() for of in corners.values() for row in of["feed_pressure"]]
    line = plant.ledger.lines["membrane.feed_pressure_position"]
    assert float(line.value) == max(float(x) for x in shares)
    check = plant.ledger.lines["membrane.feed_pressure.check"]
    assert "position" in check.title and "stage[" in check.title


@pytest.mark.parametrize("name", some(HELD))
def test_a_held_feed_pressure_finds_the_recovery(held, name):
    by_recovery, by_pressure = held(name)
    assert by_pressure.ledger.lines["membrane.recovery"].sort == "solved"
    for id in ("membrane.recovery", "membrane.permeate_boron@hot-aged", "energy.plant_specific"):
        assert float(by_pressure[id]) == pytest.approx(float(by_recovery[id]), rel=1e-7), id
    assert float(by_pressure["membrane.feed_pressure@cold-aged"]) == pytest.approx(
        float(by_pressure["membrane.feed_pressure"]), rel=1e-8)


@pytest.mark.parametrize("name", ["stages", "all together"])
def test_a_held_feed_pressure_against_integration(held, name):
    against_integration(held(name)[1])


@pytest.mark.parametrize("name", some(HELD))
def test_control_recovery_takes_back_what_the_pressure_was_found_for(held, name):
    plant = held(name)[0]
    rows = {"temperature": [290.0, 299.0], "salinity": [0.0365, 0.039]}
    found = rate_si(plant, **rows)
    assert not found["reason"].any()
    back = rate_si(plant, **rows, feed_pressure=found["feed_pressure"], control="recovery")
    assert not back["reason"].any(), list(back["reason"])
    for column in ("recovery", "permeate_tds", "concentrate_flow", "specific_energy"):
        assert back[column].to_numpy() == pytest.approx(found[column].to_numpy(), rel=1e-7), column


def test_a_held_pressure_that_is_too_low_says_so(tmp_path):
    with pytest.raises(Infeasible, match=r"feed_pressure") as caught:
        sized(tmp_path, text_of(STAGES, vessels=20).replace('recovery = "39 %"', 'feed_pressure = "30 barg"'))
    assert "\n" not in str(caught.value)
