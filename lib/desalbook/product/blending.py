"""Blending treated feed into the permeate: minerals for nothing, and boron, bromide and salt with them."""

from __future__ import annotations

from dataclasses import dataclass

from desalbook.product.course import Course
from desalbook.trail import Column, Figure, relation, scope, values
from desalbook.trail.inputs import Inputs
from desalbook.units import AsB, Concentration, Fraction, KgPerM3, Molality, Salinity
from desalbook.water.phreeqc import Water, complete

__all__ = ["Blend", "blend", "blended", "blended_boron", "finished_tds", "minerals_added"]


@dataclass(frozen=True)
class Blend:
    """Treated feed for blending: mol/kg by ion, pH (NBS) and temperature (K) as analysed."""

    molality: Column
    ph: Figure
    temperature: Figure


@relation("Blend", symbol="m_m", unit="mol/kg", source="definition")
def blended(molality: Molality, blend_molality: Molality, blend_fraction: Fraction) -> Molality:
    """Amount in a blend of two waters, per kilogram of water, by share of the water.

    For what is conserved (ions, alkalinity, total carbon); pH and carbon dioxide follow by speciation.
    """
    return molality * (1 - blend_fraction) + blend_molality * blend_fraction


@relation("Boron of the blend", symbol="C_Bb", unit="kg/m^3", source="definition",
          note="share by water; volume of treated feed taken as that of its water")
def blended_boron(
    boron_permeate: AsB, boron_ratio: Salinity, water_content: KgPerM3, blend_fraction: Fraction
) -> AsB:
    """Boron of permeate with its part of treated feed.

    The feed's boron is counted per kilogram of its water, and its volume as that of the water.
    """
    return boron_permeate * (1 - blend_fraction) + boron_ratio * water_content * blend_fraction


@relation("TDS of the product at another permeate", symbol="C_P", unit="kg/m^3", source="definition",
          note="doses of the post-treatment as sized; volume of treated feed taken as that of its water")
def finished_tds(permeate_tds: Concentration, salinity: Salinity, water_content: KgPerM3, blend_fraction: Fraction,
                 minerals: Concentration) -> Concentration:
    """TDS of the product from that of the permeate: its fraction of treated feed, and what the post-treatment adds.

    A balance of salt with the doses of the design; an operator who follows the hardness changes them.
    """
    return permeate_tds * (1 - blend_fraction) + salinity * water_content * blend_fraction + minerals


@relation("TDS that the post-treatment adds", symbol="C_m", unit="kg/m^3", source="definition")
def minerals_added(product_tds: Concentration, unfinished_tds: Concentration) -> Concentration:
    """TDS that minerals and chemicals add to the permeate and its fraction of treated feed.

    At the case that governs the product; carbon dioxide that turns to bicarbonate is in it.
    """
    return product_tds - unfinished_tds


def blend(inp: Inputs, course: Course, feed: Blend) -> None:
    """Blend treated feed into the water on its way."""
    share = inp.number("product.blend_fraction")
    ions = {k: float(v) for k, v in feed.molality.items()}
    other = complete(Water.of(ions, ph=float(feed.ph), temperature=float(feed.temperature)), "brine")
    mine, theirs = dict(course.water.molality), dict(other.molality)
    held, brought = course.water.conserved() or (0.0, 0.0), other.conserved() or (0.0, 0.0)
    keys = tuple(dict.fromkeys((*mine, *theirs)))

    def mixed(permeate: float, treated_feed: float) -> float:
        return float(blended.at("product.blended", molality=permeate, blend_molality=treated_feed,
                                blend_fraction=float(share)))

    with values(keep=False):
        ions_mixed = tuple((k, mixed(mine.get(k, 0.0), theirs.get(k, 0.0))) for k in keys)
        course.water = Water(ions_mixed, mixed(held[0], brought[0]), mixed(held[1], brought[1]), None,
                             course.temperature)
    course.basis |= {"blend": feed.molality, "blend_ph": feed.ph, "blend_temperature": feed.temperature,
                     "blend_fraction": share}
    with scope(because=list(course.chosen)):
        course.ph_after("minerals", "pH of the blend")
