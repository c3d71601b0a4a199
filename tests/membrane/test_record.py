"""The record of a vessel: the equations that hold, their residuals, and what the answer rests on."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from desalbook import membrane as m
from desalbook.membrane import Solution
from desalbook.membrane.inputs import Membrane
from desalbook.membrane.ions import train_water
from desalbook.membrane.vessel import AGEING, aged_by
from desalbook.problems import TrailError
from desalbook.tables import table
from desalbook.trail import Ledger, assumed, given, scope
from desalbook.trail.ledger import what_if
from desalbook.water.species import IONS
from tests.membrane.reference import SEA
from tests.rooms import inputs

HOUR = 3600.0
IONS_FED = {"Na": 0.4860, "Mg": 0.0547, "Ca": 0.0107, "K": 0.0106, "Cl": 0.5657, "SO4": 0.0293, "HCO3": 0.0024,
            "Br": 0.0009, "SiO2": 0.00003, "B": 0.00043}
GIVEN = {
    "permeate": (102 / HOUR, "flow"), "feed": (240 / HOUR, "flow"), "salinity": (0.0364, "salinity"),
    "boron": (4.6e-6, "salinity"), "ph": (7.95, "ph.total"), "hot": (301.15, "temperature"),
    "mu": (8.3e-4, "viscosity"), "vessels": (30, "count"),
}


def run(unknown: str = "feed_pressure", spoil=None):
    """Record one corner; returns the ledger, what was recorded and the solver's answer."""
    ledger = Ledger()
    with ledger.recording():
        inp = inputs({"membrane": (Membrane, {})})
        g = {k: given(f"test.{k}", *v, title=k) for k, v in GIVEN.items()}
        osmotic = given("test.osmotic", SEA["osmotic"] + (0.0,) * (6 - len(SEA["osmotic"])), "osmotic pressure",
                        title="osmotic", axis="coefficient", keys=[f"osm_{i}" for i in range(6)])
        density = given("test.density", SEA["density"], "density", title="density", axis="coefficient",
                        keys=["rho_0", "rho_1", "rho_15", "rho_2"])
        found = m.element(inp)
        slices, elements = inp("membrane.slices"), inp("membrane.elements")
        geo = m.geometry("membrane", found["area"], found["length"], found["spacer_height"],
                         found["spacer_porosity"], slices)
        keys = [f"{e + 1}.{s + 1}" for e in range(int(elements)) for s in range(int(slices))]
        lead = assumed("membrane.lead_fraction", [1 / int(slices) * k.startswith("1.") for k in keys], "fraction",
                       title="lead", axis="node", keys=keys, source="definition")
        factors = m.ion_factors(given("test.ions", list(IONS_FED.values()), "molality", title="ions", axis="ion",
                                      keys=list(IONS_FED)))
        mass = given("test.mass", [IONS[k].molar_mass for k in IONS_FED], "molar mass", title="mass", axis="ion",
                     keys=list(IONS_FED))
        fouling = {name: aged_by(inp, name) for name in AGEING}["fouling_factor"]
        held = given("test.pressure", 61e5, "gauge pressure", title="pressure")
        with scope(corner="hot-aged"):
            service = m.in_service(found, inp, g["hot"], inp("membrane.age"), fouling)
            cases = m.Cases(
                vessels=float(g["vessels"]), elements=int(elements), feed_flow=float(g["feed"]),
                permeate_flow=float(g["permeate"]), feed_pressure=float(held), feed_salinity=float(g["salinity"]),
                temperature=float(g["hot"]), permeate_pressure=float(inp("membrane.permeate_pressure")),
                **{k: float(v) for k, v in service.items()}, boron_feed=float(g["boron"]), ph_total=float(g["ph"]),
                water_viscosity=float(g["mu"]), osmotic=osmotic.values[None], density=density.values[None],
                element_area=float(found["area"]), element_length=float(found["length"]),
                spacer_height=float(found["spacer_height"]), spacer_porosity=float(found["spacer_porosity"]),
                port_loss=float(inp("membrane.port_loss")))
            answer = m.solve(cases, unknown, int(slices))
            assert answer.solved[0], answer.reason
            if spoil:
                answer = spoil(answer)
            f = dict(geo) | service | {
                "vessels": g["vessels"], "elements": elements, "feed_salinity": g["salinity"],
                "boron_ratio": g["boron"], "temperature": g["hot"], "ph_total": g["ph"],
                "permeate_pressure": inp("membrane.permeate_pressure"), "port_loss": inp("membrane.port_loss"),
                "water_viscosity": g["mu"], "osmotic": osmotic, "density": density}
            if unknown != "feed_flow":
                f["feed_flow"] = g["feed"]
            if unknown != "feed_pressure":
                f["feed_pressure"] = held
            r = m.record(answer, 0, f, lead_fraction=lead, wanted=None if unknown == "permeate_flow" else g["permeate"])
            water = train_water.at("test.feed_water", node_water=ledger["membrane.vessel_water@hot-aged"],
                                   vessels=g["vessels"])
            split = m.split_ions(ledger["test.ions"], mass, factors, r, water)
    return ledger, r, answer, split


@pytest.mark.parametrize("unknown", ["feed_pressure", "feed_flow", "permeate_flow"])
def test_record_holds_what_the_solver_found(unknown):
    ledger, r, answer, _ = run(unknown)
    assert float(r["feed_pressure"]) == pytest.approx(answer.feed_pressure[0], rel=1e-12)
    assert float(r["feed_flow"]) == pytest.approx(answer.feed_flow[0], rel=1e-12)
    for name in ("permeate_flow", "permeate_tds", "permeate_boron", "concentrate_tds", "concentrate_flow", "beta_max",
                 "pressure_drop", "concentrate_pressure", "lead_flux", "flux", "element_recovery", "vessel_drop",
                 "element_drop", "vessel_feed", "vessel_concentrate", "permeate_salinity", "concentrate_salinity"):
        value = answer.permeate_flow[0] if name == "permeate_flow" else answer.out[name][0]
        assert float(r[name]) == pytest.approx(value, rel=1e-9), name
    assert r["columns"]["flux"].axis == "node" and len(r["columns"]["flux"]) == 14
    solved = [line for line in ledger.lines.values() if line.sort == "solved"]
    assert len(solved) > 10
    for line in solved:
        assert line.more["residual"], f"{line.id} has no residual"
        assert all(x["relative"] <= 1e-9 for x in line.more["residual"]), line.id
    assert ("membrane.feed_pressure@hot-aged" in ledger) is (unknown == "feed_pressure")


def _moved(part: str, factor: float = 1 + 1e-6):
    def spoil(answer: Solution) -> Solution:
        state = dict(answer.state)
        state[part] = state[part] * factor
        return replace(answer, state=state)
    return spoil


@pytest.mark.parametrize("part", ["flux", "water_out", "salt_out", "boron_out", "pressure_out"])
def test_a_state_that_does_not_hold_is_refused(part):
    """A millionth on any part of the converged state is seen by a residual."""
    with pytest.raises(TrailError, match="residual"):
        run(spoil=_moved(part))


def test_a_pressure_that_does_not_hold_is_refused():
    with pytest.raises(TrailError, match="residual"):
        run(spoil=lambda a: replace(a, feed_pressure=a.feed_pressure * (1 + 1e-6)))


INPUTS = (
    *(f"test.{k}" for k in GIVEN),
    "membrane.permeate_pressure", "membrane.port_loss", "membrane.yearly_flow_loss", "membrane.yearly_salt_rise",
    "membrane.fouling_factor", "membrane.age", "membrane.water_activation", "membrane.salt_activation",
    "membrane.boron_activation", "membrane.borate_permeability", "membrane.element.area",
    "membrane.element.spacer_height", "membrane.element.rated_flow", "membrane.element.rated_rejection",
    "membrane.element.rated_boron_rejection", "membrane.element.test_boron", "membrane.element.test_ph",
    "membrane.element.test_recovery", "membrane.element.length", "membrane.element.spacer_porosity")


def _descendants(ledger: Ledger, start: str) -> set[str]:
    found = {start}
    for line in ledger.lines.values():  # in the order they were made
        if found & set(line.parents()):
            found.add(line.id)
    return found


@pytest.mark.parametrize("moved", INPUTS)
def test_what_changes_is_a_descendant(moved):
    """Move an input by 1 %: every line that changes rests on it."""
    still, *_ = run()
    with what_if({moved: 0.999 if moved == "membrane.element.rated_rejection" else 1.01}):
        other, *_ = run()
    family = _descendants(still, moved)
    assert set(still.lines) == set(other.lines)
    changed = []
    for id, line in still.lines.items():
        if isinstance(line.value, str):
            continue
        a, b = np.asarray(line.value, dtype=float), np.asarray(other.lines[id].value, dtype=float)
        if line.sort in ("given", "assumed") or "residual" in id:
            continue
        if np.any(np.abs(a - b) > 1e-7 * np.maximum(np.abs(a), 1e-300)):
            changed.append(id)
    orphans = [i for i in changed if i not in family]
    assert not orphans, orphans
    assert len(changed) > 0 or moved == "membrane.element.test_boron", "moves nothing"


def test_ions_of_permeate_and_reject():
    ledger, r, _, (permeate, reject) = run()
    charge = np.array([float(table("ion_passage")[k]["charge"].value) for k in IONS_FED])
    mass = np.array([IONS[k].molar_mass for k in IONS_FED])
    fed = np.array(list(IONS_FED.values()))
    fed_charge = abs(np.sum(fed * charge)) / np.sum(fed * np.abs(charge))
    assert fed_charge > 1e-4, "the feed of this test is not neutral, so that the split has to mend it"
    assert abs(np.sum(permeate.values * charge)) < 1e-12 * np.sum(permeate.values * np.abs(charge))
    assert np.sum(permeate.values * mass) == pytest.approx(float(r["permeate_salinity"]), rel=1e-12)
    share = dict(zip(IONS_FED, permeate.values / fed, strict=True))
    assert share["SO4"] < share["Mg"] < share["Na"] < share["K"] and share["B"] == 0
    # what passes and what stays is what was fed
    into = fed * float(ledger["test.feed_water@hot-aged"])
    back = permeate.values * float(r["permeate_water"]) + reject.values * float(r["concentrate_water"])
    np.testing.assert_allclose(back, into, rtol=1e-12)
