"""Other correlations for the spacer-filled channel, and which of them a name stands for."""

from __future__ import annotations

from typing import Any

from desalbook.membrane import transport as t
from desalbook.membrane.cases import Laws
from desalbook.trail import relation
from desalbook.units import Factor

__all__ = ["FRICTION", "MASS_TRANSFER", "channel_said", "friction_guillen", "law_names", "laws_named", "laws_of",
           "sherwood_guillen", "sherwood_koutsou"]


@relation("Sherwood number", symbol="Sh", unit="1", source="koutsou-2009",
          note="computed flow, one geometry of non-woven spacer; read in a secondary source",
          within={"reynolds": ("50", "1200")})
def sherwood_koutsou(reynolds: Factor, schmidt: Factor) -> Factor:
    """Mass transfer in the spacer-filled channel, computed flow.

    One geometry of non-woven spacer between Reynolds numbers of 50 and 1200; other spacers differ by up to
    half.
    """
    return 0.2 * reynolds ** 0.57 * schmidt ** 0.4


@relation("Sherwood number", symbol="Sh", unit="1", source="guillen-hoek-2009",
          note="computed flow; read in a secondary source", within={"reynolds": ("50", "1200")})
def sherwood_guillen(reynolds: Factor, schmidt: Factor) -> Factor:
    """Mass transfer in the spacer-filled channel, computed flow.

    Laminar unsteady flow; outside Reynolds numbers of 50 to 1200 the exponent is not kept.
    """
    return 0.46 * (reynolds * schmidt) ** 0.36


@relation("Friction factor", symbol="f", unit="1", source="guillen-hoek-2009", place="from memory",
          note="Darcy form, computed flow", within={"reynolds": ("50", "1200")})
def friction_guillen(reynolds: Factor) -> Factor:
    """Darcy friction factor of the spacer-filled channel, computed flow.

    A laminar and a form part; outside Reynolds numbers of 50 to 1200 it is an extrapolation.
    """
    return 0.42 + 189.3 / reynolds


MASS_TRANSFER = {"schock-miquel": t.sherwood_schock, "koutsou": sherwood_koutsou, "guillen-hoek": sherwood_guillen}
FRICTION = {"schock-miquel": t.friction_schock, "guillen-hoek": friction_guillen}


def laws_named(mass_transfer: str = "schock-miquel", friction: str = "schock-miquel") -> Laws:
    """The correlations of a name, for the solver and the record alike.

    Parameters
    ----------
    mass_transfer : {"schock-miquel", "koutsou", "guillen-hoek"}
    friction : {"schock-miquel", "guillen-hoek"}
    """
    return Laws(sherwood=MASS_TRANSFER[mass_transfer], friction=FRICTION[friction])


def channel_said(inp: Any) -> dict[str, Any]:
    """Choices of the correlations and the loss of a joint, for the record and as inputs of what is solved."""
    return {"mass_transfer_law": inp("membrane.mass_transfer"), "friction_law": inp("membrane.friction"),
            "interconnector_loss": inp("membrane.interconnector_loss")}


def law_names(said: Any) -> tuple[str, str]:
    """Names of those correlations, for `laws_named`."""
    return str(said["mass_transfer_law"]), str(said["friction_law"])


def laws_of(said: Any) -> Laws:
    """The correlations those choices stand for."""
    return laws_named(*law_names(said))
