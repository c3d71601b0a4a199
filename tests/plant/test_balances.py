"""Balances over the plant's stream table, by summing what flows into and out of each place."""

from __future__ import annotations

import copy

import pytest

from desalbook import design as designs
from desalbook import paths
from tests import shared

PLANTS = ("harbour-town.toml", "beach-well.toml")
DEVICES = ("isobaric", "turbocharger", "pelton", "none")
ENDS = ("sea", "waste", "product", "outfall")


def residuals(rows: list[dict]) -> dict[tuple[str, str], float]:
    """For each place and each conserved quantity: (in - out) over in."""
    flows = [r for r in rows if "water_kg_s" in r]
    names = [n for n in flows[0] if n == "water_kg_s" or n == "boron_kg_s" or n.endswith("_mol_s")]
    places = {r["from"] for r in flows} | {r["to"] for r in flows}
    found = {}
    for place in sorted(places - set(ENDS)):
        for name in names:
            into = sum(r[name] for r in flows if r["to"] == place)
            out = sum(r[name] for r in flows if r["from"] == place)
            scale = into
            if name == "charge_mol_s":  # small difference of large sums: compare with all cations
                scale = sum(r["Na_mol_s"] for r in flows if r["to"] == place)
            found[place, name] = abs(into - out) / abs(scale)
    # the whole plant, from its ends
    for name in names:
        into = sum(r[name] for r in flows if r["from"] == "sea")
        out = sum(r[name] for r in flows if r["to"] in ENDS)
        scale = into if name != "charge_mol_s" else sum(r["Na_mol_s"] for r in flows if r["from"] == "sea")
        found["plant", name] = abs(into - out) / abs(scale)
    return found


def sized(name: str, device: str | None = None):
    design = designs.read(paths.demo(name))
    if device:
        design = design.with_value("energy_recovery.device", device)
    return shared.sized(design)


@pytest.mark.parametrize("name", PLANTS)
@pytest.mark.parametrize("device", DEVICES)
def test_water_ions_boron_and_charge_close(name, device):
    worst = max(residuals(sized(name, device).streams).items(), key=lambda kv: kv[1])
    assert worst[1] < 1e-9, worst


@pytest.mark.parametrize("column", ["water_kg_s", "Na_mol_s", "SO4_mol_s", "boron_kg_s"])
def test_a_planted_error_of_a_hundredth_per_cent_is_seen(column):
    rows = copy.deepcopy(sized("harbour-town.toml").streams)
    next(r for r in rows if r["key"] == "permeate")[column] *= 1.0001
    clean = residuals(sized("harbour-town.toml").streams)
    spoilt = residuals(rows)
    assert max(spoilt.values()) > 1e-9 > 1e3 * max(clean.values())


def test_the_permeate_carries_no_charge_and_weighs_what_was_solved():
    plant = sized("harbour-town.toml")
    ledger, corner = plant.ledger, "design-aged"
    row = next(r for r in plant.streams if r["key"] == "permeate")
    assert abs(row["charge_mol_s"]) < 1e-12 * row["Na_mol_s"] * 1e3
    masses = ledger["water.ion_molar_mass"]
    split = sum(float(v) * float(masses[k]) for k, v in ledger[f"membrane.permeate_ions@{corner}"].items())
    assert split == pytest.approx(float(ledger[f"membrane.permeate_salinity@{corner}"]), rel=1e-9)


def test_salt_of_the_vessels_closes_without_a_difference():
    """Feed, permeate and concentrate salt are three sums of their own in the solver."""
    ledger = sized("harbour-town.toml", "turbocharger").ledger
    for corner in ("cold-new", "cold-aged", "design-new", "design-aged", "hot-new", "hot-aged"):
        fed = float(ledger[f"membrane.vessel_salt@{corner}"]) * float(ledger["membrane.vessels"])
        out = float(ledger[f"membrane.permeate_salt@{corner}"]) + float(ledger[f"membrane.concentrate_salt@{corner}"])
        assert out == pytest.approx(fed, rel=1e-9)
