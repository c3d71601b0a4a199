"""How often a train is cleaned, and how long its elements last, by flux and by what the RO feed carries.

There is no general law: data are bound to their site. The form is that of a cake at constant flux, whose resistance
grows with what the flux carries to it; exponents and reference are inputs to be varied, and a log replaces them.
"""

from __future__ import annotations

from typing import Annotated

from desalbook.balances import YEAR
from desalbook.trail import Figure, note, relation
from desalbook.trail.inputs import Inputs
from desalbook.units import KINDS, Factor, Flux, Fraction

Years = Annotated[float, KINDS["time.year"]]
FoulingIndex = Annotated[float, KINDS["fouling index"]]

__all__ = ["cleanings_expected", "element_life", "expected_cleanings", "replaced_in_year"]


@relation("Cleanings in a year, by flux and feed", symbol="n_c", unit="1", source="common-practice",
          note="no general law: the exponent of flux is that of cake filtration, the rest is habit of the trade",
          within={"flux": ("8 L/(m2 h)", "25 L/(m2 h)"), "sdi": ("1", "5")})
def expected_cleanings(reference_cleanings: Factor, flux: Flux, reference_flux: Flux, flux_exponent: Factor,
                       sdi: FoulingIndex, reference_sdi: FoulingIndex, sdi_exponent: Factor) -> Factor:
    """Cleanings of a train in a year from those at a reference flux and silt density index of the RO feed.

    A cake at constant flux reaches a pressure drop after a time as flux to the power of minus two; organic and
    biological fouling, blooms and a critical flux do not follow it. Vary the exponents: a result that hangs on them is
    none.
    """
    return reference_cleanings * (flux / reference_flux) ** flux_exponent * (sdi / reference_sdi) ** sdi_exponent


@relation("Element life", symbol="t_e", unit="s", source="common-practice",
          note="7 to 10 years where the RO feed is good, 5 where cleaning is monthly; from memory")
def element_life(longest_life: Years, cleanings: Factor, cleanings_of_life: Factor) -> Years:
    """Mean life of an element: its longest life, shortened by the cleanings it stands in all.

    Wear of time and of cleaning add up; oxidation and damage end a life at once and are in neither.
    """
    return 1 / (1 / longest_life + cleanings / (cleanings_of_life * YEAR))


@relation("Elements replaced in a year", symbol="x_e", unit="1", source="definition")
def replaced_in_year(element_life: Years) -> Fraction:
    """Fraction of all elements that is replaced in a year, once the plant is older than its elements.

    In a new plant fewer are replaced in the first years.
    """
    return YEAR / element_life


def cleanings_expected(inp: Inputs, flux: Figure, sdi: Figure) -> Figure:
    """Cleanings of a train in a year: those that are stated, else by flux and feed; the two are compared."""
    found = expected_cleanings.at(
        "cip.cleanings_expected", reference_cleanings=inp.number("cip.reference_cleanings"), flux=flux,
        reference_flux=inp.number("cip.reference_flux"), flux_exponent=inp.number("cip.flux_exponent"), sdi=sdi,
        reference_sdi=inp.number("cip.reference_sdi"), sdi_exponent=inp.number("cip.sdi_exponent"))
    stated = inp.optional("energy.cleanings")
    if stated is None:
        return found
    few = float(stated) < float(found) * (1 - 1e-9)
    note("cip.cleanings.check", title="Cleanings stated, by flux and feed", verdict="review" if few else "passes",
         why=f"{stated.show()} a year are counted on, flux and feed suggest {found.show()}",
         do="Clear energy.cleanings, lower the flux or improve the RO feed, or enter the habit of the site "
            "(cip.reference_cleanings).",
         inputs={"stated": stated, "cleanings_expected": found})
    return stated
