"""Runs of pipe as steel and plastic: mass by length, contents, flanges, and the spacing of their supports."""

from __future__ import annotations

from desalbook.hydraulics.constants import PI, G, Small
from desalbook.tables import table
from desalbook.trail import constant, relation, sqrt, up
from desalbook.units import Count, DifferencePa, Factor, Fraction, Kg, KgPerM, KgPerM3, M

__all__ = [
    "contents_linear_mass",
    "contents_mass",
    "flange_class",
    "flange_count",
    "flange_mass",
    "full_linear_mass",
    "long_term_modulus",
    "pipe_linear_mass",
    "run_fall",
    "run_mass",
    "support_count",
    "support_span",
]

FLANGE_SIZE = constant("D_100", 0.1, "m", source="definition", title="Nominal size 100")


@relation("Pipe mass per length", symbol="w_p", unit="kg/m", source="asme-b36-19",
          place="mass per length of plain-end pipe; nominal wall")
def pipe_linear_mass(outer_diameter: Small, thickness: Small, wall_density: KgPerM3) -> KgPerM:
    """Mass of a plain pipe per length: mean circumference, wall and density.

    On the nominal wall; the mill may leave out an eighth of it. Standards print it for carbon steel.
    """
    return PI * (outer_diameter - thickness) * thickness * wall_density


@relation("Contents per length of pipe", symbol="w_w", unit="kg/m", source="definition")
def contents_linear_mass(inner_diameter: M, density: KgPerM3) -> KgPerM:
    """Mass of the water in a pipe per length.

    A full pipe; a line that drains at rest carries it in operation only.
    """
    return PI / 4 * inner_diameter**2 * density


@relation("Full pipe per length", symbol="w_f", unit="kg/m", source="definition")
def full_linear_mass(linear_mass: KgPerM, contents_per_length: KgPerM) -> KgPerM:
    """Mass of pipe and water per length, which its supports carry.

    Without flanges, valves and insulation, which get a support beside them.
    """
    return linear_mass + contents_per_length


@relation("Flanges of a run of pipe", symbol="n_F", unit="1", source="common-practice",
          place="a flanged joint at each end of a spool")
def flange_count(length: M, spool_length: M) -> Count:
    """Number of flanges of a run: two for each spool it is shipped in.

    Flanges of valves and instruments in the run are those of the spools beside them.
    """
    return 2 * up(length / spool_length)


@relation("Mass of a flange", symbol="m_F", unit="kg", source="common-practice",
          place="fit to catalogues of welding-neck flanges, 20 % from DN 50 to DN 300")
def flange_mass(flange_reference: Kg, inner_diameter: M, flange_exponent: Factor) -> Kg:
    """Mass of one flange by its class and bore.

    A welding-neck flange of the class; slip-on and loose flanges weigh a quarter less. Valves follow the same form.
    """
    return flange_reference * (inner_diameter / FLANGE_SIZE)**flange_exponent


@relation("Mass of a run of pipe", symbol="m_R", unit="kg", source="definition")
def run_mass(linear_mass: KgPerM, length: M, pipe_fittings: Fraction, flange_count: Count, flange_mass: Kg) -> Kg:
    """Empty mass of a run: straight pipe, its fittings as a fraction of it, and its flanges.

    Valves and instruments stand in their own rows.
    """
    return linear_mass * length * (1 + pipe_fittings) + flange_count * flange_mass


@relation("Fall of a run of pipe", symbol="z_f", unit="m", source="definition")
def run_fall(length: M, slope: Fraction) -> M:
    """Height by which a run falls from its beginning to where it empties: its length times its slope.

    Straight length; what rises between skids and racks falls to a drain of its own.
    """
    return length * slope


@relation("Water in a run of pipe", symbol="m_W", unit="kg", source="definition")
def contents_mass(linear_mass: KgPerM, length: M) -> Kg:
    """Mass of the water in a run of pipe.

    On its straight length; the volume of fittings is in it.
    """
    return linear_mass * length


@relation("Spacing of pipe supports", symbol="L_y", unit="m", source="definition",
          place="beam on two supports under its own load: 5 w L4 / (384 E I)",
          note="sag alone; heat, valves and surge ask for supports of their own")
def support_span(elastic_modulus: DifferencePa, outer_diameter: Small, inner_diameter: M, linear_mass: KgPerM,
                 sag: Small) -> M:
    """Largest distance of supports at which a full pipe sags by no more than is allowed.

    Simply supported, the safe side of a run over many supports; take the long-term modulus.
    """
    return sqrt(sqrt(384 * elastic_modulus * PI / 64 * (outer_diameter**4 - inner_diameter**4) * sag
                     / (5 * linear_mass * G)))


@relation("Long-term elastic modulus", symbol="E_t", unit="Pa", source="common-practice",
          place="a third of the short-term one for plastics, from memory")
def long_term_modulus(elastic_modulus: DifferencePa, long_term_fraction: Fraction) -> DifferencePa:
    """Modulus under a load that stays: plastics creep, metals do not.

    At ambient temperature; warm plastics creep more.
    """
    return elastic_modulus * long_term_fraction


@relation("Supports of a run of pipe", symbol="n_S", unit="1", source="definition")
def support_count(length: M, support_span: M) -> Count:
    """Number of supports of a straight run: one at its beginning and one for each span.

    Bends, valves and risers come on top.
    """
    return up(length / support_span) + 1


def flange_class(rating: float) -> str:
    """Class of the flanges of a line: the lowest whose rating holds the rated pressure (Pa, gauge)."""
    rows = table("flange_classes").ascending("rating")
    return next((r.key for r in rows if r["rating"].value >= float(rating) * (1 - 1e-9)), rows[-1].key)
