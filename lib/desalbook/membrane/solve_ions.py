"""Every ion marched slice by slice along vessels that are already solved.

The salt that passes at a place is split among the ions there: each in proportion to its bulk and its relative
passage, cations and anions moved by one factor so that the permeate carries no charge, all scaled so that
together they weigh what the solved salt weighs. The bulk of each ion is the same collocation as that of water
and salt. Boron and dissolved carbon dioxide are not among what is split.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from desalbook.membrane import ions as relations
from desalbook.membrane import transport as t
from desalbook.membrane.solve_cases import Solution
from desalbook.membrane.solve_profile import shifts

__all__ = ["IonMarch", "march_ions"]

SWEEPS = 40


@dataclass(frozen=True)
class IonMarch:
    """Ions along the vessels, mol/s of one vessel and mol/kg water; ``flow_in`` etc. (cases, slices, ions).

    ``permeate`` and ``concentrate``, (cases, ions), are mol/kg water of the train's permeate and reject.
    """

    flow_in: np.ndarray
    flow_out: np.ndarray
    bulk: np.ndarray
    passed: np.ndarray
    permeate: np.ndarray
    concentrate: np.ndarray


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
    feed = feed * (inlet / relations.share_mass.plain(feed, molar_mass))[:, None]
    into = feed * r.out["water0"][:, None]
    water, x_p = s["water"], s["permeate_salinity"]
    # water through each slice, kg/s
    through = (s["water_in"] - s["water_out"])[:, :, None]
    shift = shifts(nodes, r.order)[None, :, None]
    bulk = feed[:, None, :] * (s["salinity"] / inlet[:, None])[:, :, None]
    passed, scale = np.zeros((n, nodes, len(charge))), np.maximum(into[:, None, :], 1e-300)
    last = passed
    for _ in range(SWEEPS):
        share = _share(bulk, passage, cation, anion, neutral)
        mass = relations.share_mass.plain(share, molar_mass)
        here = relations.permeate_ions.plain(share, x_p[:, :, None], mass[:, :, None])
        passed = here * through
        end = into[:, None, :] - np.cumsum(passed, axis=1)
        start = np.concatenate([into[:, None, :], end[:, :-1]], axis=1)
        both = _pairs(passed, r.order)
        bulk = t.ratio_of.plain(t.slice_mean.plain(start, end, both, shift), water[:, :, None])
        if np.maximum.reduce(np.abs(passed - last) / scale, axis=None, initial=0.0) < 1e-14:
            break
        last = passed
    water_p = np.sum(s["water_in"] - s["water_out"], axis=1)[:, None]
    permeate = np.sum(passed, axis=1) / water_p
    return IonMarch(start, end, bulk, passed, permeate, relations.concentrate_ions.plain(
        feed, r.out["water0"][:, None], permeate, water_p, s["water_out"][:, -1:]))


def _share(bulk, passage, cation, anion, neutral):
    positive = relations.passing_cations.plain(bulk, passage, cation)[..., None]
    negative = relations.passing_anions.plain(bulk, passage, anion)[..., None]
    return relations.neutral_share.plain(bulk, passage, cation, anion, neutral, positive, negative)


def _pairs(passed: np.ndarray, order: int) -> np.ndarray:
    if order == 2:
        return 2 * passed
    n, nodes, count = passed.shape
    both = passed.reshape(n, nodes // 2, 2, count).sum(axis=2)
    return np.repeat(both, 2, axis=1)
