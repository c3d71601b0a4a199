"""Ions along vessels that are already solved: which ions the passing salt is made of, slice by slice.

The salt that passes at a place is split among the ions there: each in proportion to its bulk and its relative
passage, cations and anions moved by one factor so that the permeate carries no charge, all scaled so that
together they weigh what the solved salt weighs. The bulk of each ion is the same collocation as that of water
and salt. Boron and dissolved carbon dioxide are not among what is split.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from desalbook.membrane import transport as t
from desalbook.membrane.cases import Solution
from desalbook.membrane.vessel import Recorded, shifts
from desalbook.tables import table
from desalbook.trail import Column, Figure, assumed, dot, in_values, relation, residual, solved, sqrt
from desalbook.units import ChargeNumber, Count, Factor, KgPerS, Molality, MolarMass, Salinity

__all__ = ["IonMarch", "ion_factors", "march_ions", "split_ions"]


@relation("Charge passing, of one sign", symbol="e_z", unit="mol/kg", source="definition")
def passing_charge(molality: Molality, ion_passage: Factor, charge_number: ChargeNumber) -> Molality:
    """Charge of one sign that would pass, each ion of that sign by its relative passage; zero is put for the others.

    Passages are orders of magnitude for seawater membranes; nanofiltration needs others.
    """
    return dot(molality * ion_passage, charge_number)


@relation("Neutral fraction of each ion", symbol="b_n", unit="mol/kg", source="common-practice",
          note="cations are raised and anions lowered by one factor, so that the permeate carries no charge")
def neutral_share(molality: Molality, ion_passage: Factor, cation_charge: ChargeNumber,
                  anion_charge: ChargeNumber, neutral_part: Factor, positive: Molality,
                  negative: Molality) -> Molality:
    """Share of each ion in what passes, with no charge left over.

    Cations are raised and anions lowered by one factor, the root of the ratio of charges; of the three parts
    one is not zero for each ion.
    """
    return molality * ion_passage * (
        (cation_charge / (cation_charge + anion_charge + neutral_part)) * sqrt(negative / positive)
        + (anion_charge / (cation_charge + anion_charge + neutral_part)) * sqrt(positive / negative)
        + neutral_part / (cation_charge + anion_charge + neutral_part))


@relation("Mass of the neutral share", symbol="w_n", unit="1", source="definition")
def share_mass(share: Molality, molar_mass: MolarMass) -> Salinity:
    """Mass of the ions in a share, per water.

    Ions alone: boron and dissolved gases are not among them.
    """
    return dot(share, molar_mass)


@relation("Permeate ions", symbol="b_p", unit="mol/kg", source="common-practice",
          note="relative passages of the ions are orders of magnitude; at each place along the vessel")
def permeate_ions(share: Molality, permeate_salinity: Salinity, share_mass: Salinity) -> Molality:
    """Ions of the permeate, scaled to weigh what the solved salt weighs.

    The permeate's total comes from the salt's own balance; only its make-up from the ions' passages.
    """
    return share * permeate_salinity / share_mass


@relation("Concentrate ions", symbol="b_c", unit="mol/kg", source="definition")
def concentrate_ions(molality: Molality, feed_water: KgPerS, permeate_molality: Molality,
                     permeate_water: KgPerS, concentrate_water: KgPerS) -> Molality:
    """Ions of the concentrate: what was fed and did not pass.

    A balance over one pass; nothing precipitates in it.
    """
    return (molality * feed_water - permeate_molality * permeate_water) / concentrate_water


@relation("Water fed to the train", symbol="M_fw", unit="kg/s", source="definition")
def train_water(node_water: KgPerS, vessels: Count) -> KgPerS:
    """Water fed to all vessels of a train together.

    Vessels are fed alike.
    """
    return node_water * vessels


SWEEPS = 40


@dataclass(frozen=True)
class IonMarch:
    """Ions along the vessels, mol/s of one vessel and mol/kg water; ``flow_in`` etc. (cases, slices, ions).

    ``permeate`` and ``concentrate``, (cases, ions), are mol/kg water of the train's permeate and concentrate.
    """

    flow_in: np.ndarray
    flow_out: np.ndarray
    bulk: np.ndarray
    passed: np.ndarray
    permeate: np.ndarray
    concentrate: np.ndarray


@in_values
def march_ions(r: Solution, molality: np.ndarray, molar_mass: np.ndarray, passage: np.ndarray,
               charge: np.ndarray) -> IonMarch:
    """March ions through solved vessels.

    Parameters
    ----------
    r : Solution
        With profiles.
    molality : array, (ions,) or (cases, ions)
        mol/kg water at the inlet of the vessels; any scale, for it is brought to the inlet's salinity.
    molar_mass, passage, charge : array, (ions,)
        kg/mol, passage relative to the salt, charge number.

    Returns
    -------
    IonMarch
        The sum of the masses that pass is the solver's salt to rounding, and the permeate of every slice is
        neutral whatever the charge balance of the feed.
    """
    s, inlet = r.state, r.cases.feed_salinity
    n, nodes = s["flux"].shape
    cation, anion = np.clip(charge, 0, None), np.clip(-charge, 0, None)
    neutral = (charge == 0).astype(float)
    feed = np.broadcast_to(molality, (n, len(charge)))
    feed = feed * (inlet / share_mass.at("value", share=feed, molar_mass=molar_mass))[:, None]
    into = feed * r.out["vessel_water"][:, None]
    water, x_p = s["water"], s["permeate_salinity"]
    # water through each slice, kg/s
    through = (s["water_in"] - s["water_out"])[:, :, None]
    shift = shifts(nodes, r.order)[None, :, None]
    bulk = feed[:, None, :] * (s["salinity"] / inlet[:, None])[:, :, None]
    passed, scale = np.zeros((n, nodes, len(charge))), np.maximum(into[:, None, :], 1e-300)
    last = passed
    for _ in range(SWEEPS):
        share = _share(bulk, passage, cation, anion, neutral)
        mass = share_mass.at("value", share=share, molar_mass=molar_mass)
        here = permeate_ions.at("value", share=share, permeate_salinity=x_p[:, :, None], share_mass=mass[:, :, None])
        passed = here * through
        end = into[:, None, :] - np.cumsum(passed, axis=1)
        start = np.concatenate([into[:, None, :], end[:, :-1]], axis=1)
        both = _pairs(passed, r.order)
        bulk = t.ratio_of.at("value", solute=t.slice_mean.at("value", node_in=start, node_out=end, pair_change=both,
                                                             pair_shift=shift), water=water[:, :, None])
        if np.maximum.reduce(np.abs(passed - last) / scale, axis=None, initial=0.0) < 1e-14:
            break
        last = passed
    water_p = np.sum(s["water_in"] - s["water_out"], axis=1)[:, None]
    permeate = np.sum(passed, axis=1) / water_p
    left = concentrate_ions.at("value", molality=feed, feed_water=r.out["vessel_water"][:, None],
                               permeate_molality=permeate, permeate_water=water_p,
                               concentrate_water=s["water_out"][:, -1:])
    return IonMarch(start, end, bulk, passed, permeate, left)


def _share(bulk, passage, cation, anion, neutral):
    positive = passing_charge.at("value", molality=bulk, ion_passage=passage, charge_number=cation)[..., None]
    negative = passing_charge.at("value", molality=bulk, ion_passage=passage, charge_number=anion)[..., None]
    return neutral_share.at("value", molality=bulk, ion_passage=passage, cation_charge=cation, anion_charge=anion,
                            neutral_part=neutral, positive=positive, negative=negative)


def _pairs(passed: np.ndarray, order: int) -> np.ndarray:
    if order == 2:
        return 2 * passed
    n, nodes, count = passed.shape
    both = passed.reshape(n, nodes // 2, 2, count).sum(axis=2)
    return np.repeat(both, 2, axis=1)


def ion_factors(ions: Column) -> dict[str, Column]:
    """Relative passage and charges of the ions, from the table, as columns."""
    data = table("ion_passage")
    known = {k: data[k] for k in ions.keys}
    said = {"axis": "ion", "keys": ions.keys, "source": "common-practice", "table": "ion_passage"}
    charge = {k: float(known[k]["charge"].value) for k in ions.keys}
    return {
        "passage": assumed("membrane.ion_passage", [known[k]["passage"].value for k in ions.keys], "factor",
                           title="Passage of each ion relative to the salt", symbol="r", **said),
        "cation": assumed("membrane.cation_charge", np.clip([charge[k] for k in ions.keys], 0.0, None), "charge number",
                          title="Charge of the cations", symbol="z_pos", **said),
        "anion": assumed("membrane.anion_charge", np.clip([-charge[k] for k in ions.keys], 0.0, None), "charge number",
                         title="Charge of the anions", symbol="z_neg", **said),
        "neutral": assumed("membrane.neutral_part", [float(charge[k] == 0) for k in ions.keys], "factor",
                           title="One for uncharged species", symbol="o", **said)}


@relation("Charge of the permeate", symbol="r_e", unit="mol/kg", source="definition")
def charge_residual(permeate_molality: Molality, cation_charge: ChargeNumber,
                     anion_charge: ChargeNumber) -> Molality:
    """Net charge of the permeate's ions.

    Zero when solved; not zero where no ion of one sign passes.
    """
    return dot(permeate_molality, cation_charge - anion_charge)


@relation("Mass of the permeate's ions less salt solved", symbol="r_m", unit="1", source="definition")
def ion_mass_residual(permeate_molality: Molality, molar_mass: MolarMass, permeate_salinity: Salinity) -> Salinity:
    """Mass of the permeate's ions less its salt.

    Zero when solved, whatever the charge balance of the feed.
    """
    return dot(permeate_molality, molar_mass) - permeate_salinity


def split_ions(molality: Column, molar_mass: Column, factors: dict[str, Column], r: Recorded,
               feed_water: Figure) -> tuple[Column, Column]:
    """Permeate and concentrate molalities of every ion, recorded; marched slice by slice.

    The inlet of the vessels is taken to hold the ions in the proportions of ``molality`` at the salinity the
    vessels see; the concentrate closes the balance of the whole train with ``feed_water``. Boron has a passage of
    zero here, for it is solved by itself.
    """
    solution, i = r["solution"]
    charge = factors["cation"].values - factors["anion"].values
    found = march_ions(solution.only(i), molality.values, molar_mass.values, factors["passage"].values, charge)
    figures = {f"node_{k}": v for k, v in r["columns"].items() if k in (
        "flux", "water_in", "water_out", "salinity", "permeate_salinity")}
    permeate = solved(
        "membrane.permeate_ions", found.permeate[0], "molality", title="Permeate ions", symbol="b_p", axis="ion",
        keys=molality.keys, inputs={"molality": molality, "molar_mass": molar_mass, **{
            f"ion_{k}": v for k, v in factors.items()}} | figures,
        method="each ion through each slice, by relative passage, the permeate of every slice without charge",
        note="the film takes the salt's own polarisation for every ion; boron is solved by itself")
    scale = float(np.sum(found.permeate[0] * np.abs(charge)))
    residual(permeate, charge_residual.at("membrane.residual_charge", permeate_molality=permeate,
                                           cation_charge=factors["cation"], anion_charge=factors["anion"]), scale)
    residual(permeate, ion_mass_residual.at(
        "membrane.residual_ion_mass", permeate_molality=permeate, molar_mass=molar_mass,
        permeate_salinity=r["permeate_salinity"]), float(r["permeate_salinity"]))
    reject = concentrate_ions.at("membrane.concentrate_ions", molality=molality, feed_water=feed_water,
                                 permeate_molality=permeate, permeate_water=r["permeate_water"],
                                 concentrate_water=r["concentrate_water"])
    return permeate, reject
