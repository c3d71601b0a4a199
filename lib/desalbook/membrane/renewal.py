"""Elements of several ages in one train: which are replaced, and what the mix passes."""

from __future__ import annotations

import numpy as np

from desalbook.problems import DesignError
from desalbook.trail import dot, relation
from desalbook.units import Factor, Fraction

__all__ = ["POLICIES", "aged_water_factor", "mean_over_ages", "renewed", "salt_rise_factor"]

POLICIES = {
    "oldest-first": "a fraction each year, the oldest first",
    "any": "a fraction each year, without regard to age",
    "at-once": "all at once, every few years",
}


@relation("Mean over ages", symbol="F_m", unit="1", source="definition",
          note="elements in parallel at one net driving pressure; new ones among old in a vessel take more flux")
def mean_over_ages(age_fraction: Fraction, age_factor: Factor) -> Factor:
    """Mean permeability factor of elements of several ages, each weighted with its fraction of all.

    Flow goes with the permeability to water and salt with that to salt, so each is the plain mean; what one vessel with
    mixed ages does along its length is neglected.
    """
    return dot(age_fraction, age_factor)


@relation("Permeability left at an age", symbol="F_A", unit="1", source="common-practice")
def aged_water_factor(yearly_loss: Fraction, age_years: Factor) -> Factor:
    """Permeability to water at an age over that when new: the loss compounds from year to year.

    Irreversible part; what a cleaning brings back stands in the fouling factor.
    """
    return (1 - yearly_loss) ** age_years


@relation("Salt permeability at an age", symbol="F_B", unit="1", source="common-practice")
def salt_rise_factor(yearly_rise: Fraction, age_years: Factor) -> Factor:
    """Permeability to salt at an age over that when new, linear in age.

    Oxidation or a leak is not in it.
    """
    return 1 + yearly_rise * age_years


def renewed(policy: str, years: int, fraction: float = 0.0, every: int = 0) -> tuple[np.ndarray, np.ndarray]:
    """Fractions of the elements by age at the end of each year, before any is replaced, and what is then replaced.

    Parameters
    ----------
    policy : str
        One of `POLICIES`.
    years : int
        From a new train on; nothing is replaced at the end of the last.
    fraction : float
        Of all elements, replaced each year.
    every : int
        Years between replacements of all.

    Returns
    -------
    ages : array of shape (years, years + 1)
        Row t, column a: fraction that is a years old at the end of year t + 1.
    replaced : array of shape (years,)
        Fraction of all elements.

    Raises
    ------
    DesignError
        An unknown policy, a fraction or an interval that cannot be.
    """
    if policy not in POLICIES:
        raise DesignError("no such replacement policy", where="policy", value=policy, allowed=", ".join(POLICIES),
                          do="name one of these")
    if policy == "at-once" and not (isinstance(every, int) and every >= 1):
        raise DesignError("not a number of years between replacements", where="every", value=every,
                          allowed="1 or more, whole", do="enter 5, for example")
    if policy != "at-once" and not 0 <= fraction <= 1:
        raise DesignError("not a fraction of the elements", where="fraction", value=fraction, allowed="0 to 1",
                          do="enter 0.125, for example")
    now = np.zeros(years + 1)
    now[0] = 1.0
    ages, replaced = np.zeros((years, years + 1)), np.zeros(years)
    for t in range(years):
        now = np.concatenate([[0.0], now[:-1]])
        ages[t] = now
        if t == years - 1:
            break
        if policy == "at-once":
            gone = now.copy() if (t + 1) % every == 0 else np.zeros_like(now)
        elif policy == "any":
            gone = now * fraction
        else:
            older = np.cumsum(now[::-1])[::-1] - now  # elements older than each age
            gone = np.clip(np.minimum(now, fraction - older), 0.0, None)
        now = now - gone
        replaced[t] = gone.sum()
        now[0] += replaced[t]
    return ages, replaced
