"""Beds of grains: clean-bed head loss by three published models, minimum fluidisation, bed expansion.

Every function here runs recorded, and in the values context on bare numbers and arrays.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from desalbook.hydraulics.constants import G, Small
from desalbook.hydraulics.pipes import Fluid
from desalbook.pretreatment.media import Bed, Layers, Number
from desalbook.trail import Column, Figure, dot, maximum, minimum, relation, scope, sqrt, total, where
from desalbook.units import Factor, FiltrationRate, Fraction, Head, KgPerM3, M, PaS

__all__ = [
    "ExpansionIds",
    "bed_expansion",
    "bed_head_loss",
    "carman_kozeny_head_loss",
    "clean_head_loss",
    "compare_head_losses",
    "ergun_expanded_porosity",
    "ergun_head_loss",
    "expanded_bed_rise",
    "expanded_porosity",
    "expansion_constant_term",
    "expansion_viscous_term",
    "fluidised_bed_head_loss",
    "fluidised_bed_parameter",
    "fluidised_bed_reynolds",
    "galileo_number",
    "grain_drag_coefficient",
    "grain_reynolds",
    "head_loss_ratio",
    "layer_expansion",
    "layer_expansions",
    "layer_fluidisation_rate",
    "layer_porosity",
    "minimum_fluidisation_velocity",
    "porosity_at_expansion",
    "rate_at_reynolds",
    "rose_head_loss",
    "superficial_reynolds",
]


@relation(
    "Head loss in a clean layer",
    symbol="h_L",
    unit="m",
    source="mwh-2012",
    place="Ergun's form on the effective size, chapter 11",
    note="clean, settled, uniform along the depth; coefficients of a class of media scatter by 5 to 10 %",
)
def ergun_head_loss(
    kappa_v: Factor,
    kappa_i: Factor,
    settled_porosity: Fraction,
    effective_size: Small,
    depth: M,
    filter_rate: FiltrationRate,
    density: KgPerM3,
    viscosity: PaS,
) -> Head:
    """Clean-bed head loss of one media layer (Ergun).

    A viscous and an inertial part, on the effective size; the shape of the grains is in the two coefficients. For a
    settled, uniform and clean layer: solids held, air bound in the bed or intermixing of layers raise it.
    """
    return kappa_v * ((1 - settled_porosity) ** 2 / settled_porosity**3) * (
        viscosity * depth * filter_rate / (density * G * effective_size**2)
    ) + kappa_i * ((1 - settled_porosity) / settled_porosity**3) * (depth * filter_rate**2 / (G * effective_size))


@relation(
    "Reynolds number of the grains",
    symbol="Re_g",
    unit="1",
    source="davis-2010",
    place="Table 11-2",
    note="the losses of Rose and Carman-Kozeny hold to some 6",
)
def grain_reynolds(
    sphericity: Factor, grain_size: Small, filter_rate: FiltrationRate, density: KgPerM3, viscosity: PaS
) -> Factor:
    """Reynolds number of the grains on superficial velocity, with sphericity.

    For settled beds; Rose and Carman-Kozeny hold up to some 6.
    """
    return sphericity * grain_size * filter_rate * density / viscosity


@relation(
    "Head loss in a clean layer, Carman-Kozeny",
    symbol="h_CK",
    unit="m",
    source="davis-2010",
    place="Table 11-2",
    note="the friction factor of Ergun in it makes it Ergun's equation on shape times size",
)
def carman_kozeny_head_loss(
    sphericity: Factor,
    settled_porosity: Fraction,
    reynolds: Factor,
    depth: M,
    grain_size: Small,
    filter_rate: FiltrationRate,
) -> Head:
    """Clean-bed head loss of one media layer (Carman-Kozeny), with the friction factor of Ergun.

    On size times sphericity. Clean, settled and uniform as for `ergun_head_loss`; depends on porosity to the third
    power, so that an error of 1 % in porosity makes some 4 % in head loss.
    """
    return (
        (150 * (1 - settled_porosity) / reynolds + 1.75)
        / sphericity
        * (1 - settled_porosity)
        / settled_porosity**3
        * depth
        / grain_size
        * filter_rate**2
        / G
    )


@relation("Drag coefficient of the grains", symbol="C_D", unit="1", source="davis-2010", place="Table 11-2")
def grain_drag_coefficient(reynolds: Factor) -> Factor:
    """Drag coefficient of a grain that settles alone.

    Stokes up to a Reynolds number of 0.5, with two more terms above; not for Reynolds numbers past some 10 000. The
    two parts do not meet exactly at 0.5.
    """
    return where(reynolds < 0.5, 24 / reynolds, 24 / reynolds + 3 / sqrt(reynolds) + 0.34)


@relation(
    "Head loss in a clean layer, Rose",
    symbol="h_R",
    unit="m",
    source="davis-2010",
    place="Table 11-2",
    note="about a third above Ergun with its usual constants",
)
def rose_head_loss(
    drag: Factor,
    sphericity: Factor,
    settled_porosity: Fraction,
    depth: M,
    grain_size: Small,
    filter_rate: FiltrationRate,
) -> Head:
    """Clean-bed head loss of one media layer (Rose), from the drag of single grains.

    About a third above Ergun with its usual coefficients; depends on porosity to the fourth power. Clean, settled and
    uniform beds only.
    """
    return 1.067 / sphericity * drag * depth / grain_size * filter_rate**2 / (G * settled_porosity**4)


@relation("Head loss in clean layers", symbol="h_0", unit="m", source="definition")
def bed_head_loss(layer_head: Head) -> Head:
    """Head loss across a bed: sum over its layers.

    Layers act one after another; intermixing at the interfaces is neglected.
    """
    return total(layer_head)




@relation("Other model over this one", symbol="r_h", unit="1", source="definition")
def head_loss_ratio(other_head: Head, bed_head: Head) -> Factor:
    """Head loss by another published model over the one that is used.

    Shows how far models lie apart; it is no error bar, for all of them share the porosity.
    """
    return other_head / bed_head


@relation("Galileo number of the grains", symbol="Ga", unit="1", source="wen-yu-1966")
def galileo_number(grain_size: Small, density: KgPerM3, grain_density: KgPerM3, viscosity: PaS) -> Factor:
    """Galileo number of the grains: weight in water over viscous force.

    On the size given (d60 or d90 as the caller chooses), without sphericity.
    """
    return grain_size**3 * density * (grain_density - density) * G / viscosity**2


@relation(
    "Rate of minimum fluidisation",
    symbol="v_mf",
    unit="m/s",
    source="wen-yu-1966",
    place="as given by Hendricks, eq. 12.56 to 12.58; grain size d90",
    note="shape and porosity of usual media are in the two constants; some 20 % scatter",
)
def minimum_fluidisation_velocity(
    galileo: Factor, viscosity: PaS, density: KgPerM3, grain_size: Small
) -> FiltrationRate:
    """Minimum fluidisation velocity of a layer (Wen and Yu).

    Superficial velocity at which drag carries the coarse grains. Shape and porosity of usual media are in the two
    constants, with a scatter of some 20 %; flat or very light grains fall outside.
    """
    return (sqrt(33.7**2 + 0.0408 * galileo) - 33.7) * viscosity / (density * grain_size)


@relation("Porosity at an expansion", symbol="epsilon_E", unit="1", source="mwh-2012", place="chapter 11")
def porosity_at_expansion(settled_porosity: Fraction, expansion: Fraction) -> Fraction:
    """Porosity of a layer at a wanted expansion.

    Volume of the grains is conserved; the layer is taken as uniform over its height.
    """
    return 1 - (1 - settled_porosity) / (1 + expansion)


@relation(
    "Parameter of the fluidised bed",
    symbol="beta_w",
    unit="1",
    source="mwh-2012",
    place="chapter 11, Ergun's gradient equal to the weight of the grains",
)
def fluidised_bed_parameter(galileo: Factor, expanded_porosity: Fraction) -> Factor:
    """Dimensionless weight of a fluidised bed: Galileo number times porosity cubed.

    Head loss of the fluidised bed set equal to the weight of its grains; holds while all grains are carried.
    """
    return galileo * expanded_porosity**3


@relation(
    "Reynolds number of the fluidised bed",
    symbol="Re_w",
    unit="1",
    source="mwh-2012",
    place="chapter 11; with grain size d90 and Ergun's coefficients of the settled bed",
)
def fluidised_bed_reynolds(kappa_v: Factor, kappa_i: Factor, expanded_porosity: Fraction, fluidised: Factor) -> Factor:
    """Reynolds number at a wanted porosity: positive root of drag against weight (Ergun).

    With the coefficients of the settled bed, which overstate drag at high expansion; good to some 30 % expansion.
    """
    return (
        sqrt(kappa_v**2 * (1 - expanded_porosity) ** 2 + 4 * kappa_i * fluidised) - kappa_v * (1 - expanded_porosity)
    ) / (2 * kappa_i)


@relation("Rate at a Reynolds number", symbol="v_w", unit="m/s", source="definition")
def rate_at_reynolds(reynolds: Factor, viscosity: PaS, density: KgPerM3, grain_size: Small) -> FiltrationRate:
    """Superficial velocity of a Reynolds number.

    On the same grain size as the Reynolds number; another size gives another velocity without warning.
    """
    return reynolds * viscosity / (density * grain_size)


@relation("Reynolds number on grain size", symbol="Re", unit="1", source="definition")
def superficial_reynolds(
    grain_size: Small, superficial_velocity: FiltrationRate, density: KgPerM3, viscosity: PaS
) -> Factor:
    """Reynolds number on grain size and superficial velocity, without sphericity.

    Not the pore velocity: correlations on pore velocity need it divided by porosity.
    """
    return density * superficial_velocity * grain_size / viscosity


@relation(
    "Viscous term of the expanded bed",
    symbol="Y",
    unit="1",
    source="mwh-2012",
    place="chapter 11, Ergun's gradient equal to the weight of the grains, solved for porosity; from memory",
)
def expansion_viscous_term(kappa_v: Factor, reynolds: Factor, galileo: Factor) -> Factor:
    """Viscous term of the cubic equation for the porosity of an expanded bed.

    On the grain size of Reynolds and Galileo number, with the Ergun coefficients of the settled bed.
    """
    return kappa_v * reynolds / (3 * galileo)


@relation(
    "Constant term of the expanded bed",
    symbol="X",
    unit="1",
    source="mwh-2012",
    place="chapter 11, Ergun's gradient equal to the weight of the grains, solved for porosity; from memory",
)
def expansion_constant_term(kappa_v: Factor, kappa_i: Factor, reynolds: Factor, galileo: Factor) -> Factor:
    """Constant term of the cubic equation for the porosity of an expanded bed.

    On the grain size of Reynolds and Galileo number, with the Ergun coefficients of the settled bed.
    """
    return (kappa_v * reynolds + kappa_i * reynolds**2) / (2 * galileo)


@relation(
    "Porosity of the backwashed bed, by Ergun",
    symbol="epsilon_w",
    unit="1",
    source="mwh-2012",
    place="chapter 11, real root of the cubic equation; from memory",
    note="not below the settled porosity; held at 0.98, above which the grains are washed out",
)
def ergun_expanded_porosity(constant_term: Factor, viscous_term: Factor, settled_porosity: Fraction) -> Fraction:
    """Porosity of an expanded layer at a backwash rate: Ergun's gradient equal to the weight of the grains.

    Meets the settled porosity at the fluidisation velocity by the same law, so that no layer expands below it and
    none stays at rest above it. Coefficients of the settled bed; overstates drag past some 50 % expansion.
    """
    return minimum(
        0.98,
        maximum(
            settled_porosity,
            (constant_term + sqrt(constant_term**2 + viscous_term**3)) ** (1 / 3)
            - (sqrt(constant_term**2 + viscous_term**3) - constant_term) ** (1 / 3),
        ),
    )


@relation(
    "Porosity of the backwashed bed",
    symbol="epsilon_w",
    unit="1",
    source="cleasby-fan-1981",
    place="as given by Hendricks, eq. 12.52 to 12.55, solved for porosity; grain size d60",
    note="not below the settled porosity; held at 0.98, above which the grains are washed out",
)
def expanded_porosity(reynolds: Factor, galileo: Factor, settled_porosity: Fraction) -> Fraction:
    """Porosity of an expanded layer at a backwash rate (Cleasby and Fan, after Wen and Yu).

    Not below the settled porosity; limited to 0.98, past which the grains are carried out. On d60 for a whole layer;
    angular media expand more than it says at low rates.
    """
    return minimum(0.98, maximum(settled_porosity, ((18 * reynolds + 2.7 * reynolds**1.687) / galileo) ** (1 / 4.7)))


@relation("Expansion of a layer", symbol="e_L", unit="1", source="hendricks", place="eq. 12.55")
def layer_expansion(expanded_porosity: Fraction, settled_porosity: Fraction) -> Fraction:
    """Expansion of a layer: rise of its top over its settled depth.

    Volume of the grains is conserved and no grains intermix with the neighbours.
    """
    return (expanded_porosity - settled_porosity) / (1 - expanded_porosity)


@relation("Bed expansion height", symbol="h_e", unit="m", source="definition")
def expanded_bed_rise(depth: M, expansion: Fraction) -> M:
    """Rise of the top of an expanded bed over all its layers.

    Sum of depth times expansion; grains that are carried out of the layer are not in it.
    """
    return dot(depth, expansion)


@relation("Expansion of the bed", symbol="e_b", unit="1", source="definition")
def bed_expansion(bed_rise: M, depth: M) -> Fraction:
    """Bed expansion: rise of the bed over the settled depth of its filtering layers.

    A mean over the bed; single layers expand more or less.
    """
    return bed_rise / total(depth)


@relation("Head that carries the bed", symbol="h_b", unit="m", source="mwh-2012", place="chapter 11")
def fluidised_bed_head_loss(depth: M, settled_porosity: Fraction, grain_density: KgPerM3, density: KgPerM3) -> Head:
    """Head loss across a fluidised bed: the weight of its grains in water.

    The same at every rate past minimum fluidisation; mud and solids held add to it at the start of a backwash.
    """
    return dot(depth, (1 - settled_porosity) * (grain_density - density)) / density


class ExpansionIds(NamedTuple):
    """Ids of the lines that make the porosity of an expanded layer."""

    galileo: str
    reynolds: str
    constant_term: str
    viscous_term: str
    porosity: str

    @classmethod
    def under(cls, prefix: str, key: str = "") -> ExpansionIds:
        """Ids that begin alike; a key names the layer where each stands for itself."""
        end = f"[{key}]" if key else ""
        return cls(*(f"{prefix}{name}{end}" for name in ("galileo", "reynolds", "cubic_x", "cubic_y", "porosity")))


def clean_head_loss(prefix: str, layers: Layers, rate: Figure, fluid: Fluid) -> Figure:
    """Clean-bed head loss of the layers of one role (m); call it inside the scope of a case.

    Parameters
    ----------
    prefix : str
        Id of the sum; the layers stand under ``{prefix}_by_layer``.
    rate : Figure
        Filtration rate, m/s.
    """
    by_layer = ergun_head_loss.at(
        f"{prefix}_by_layer",
        kappa_v=layers.kappa_v,
        kappa_i=layers.kappa_i,
        settled_porosity=layers.settled_porosity,
        effective_size=layers.effective_size,
        depth=layers.depth,
        filter_rate=rate,
        density=fluid.density,
        viscosity=fluid.viscosity,
    )
    return bed_head_loss.at(prefix, layer_head=by_layer)


def compare_head_losses(of: Bed, rate: Figure, waters: Mapping[str, Fluid], ergun: Mapping[str, Figure]) -> None:
    """Clean-bed head loss by Carman-Kozeny and by Rose beside Ergun's, coldest and hottest water.

    Parameters
    ----------
    ergun : mapping
        Clean-bed head loss by case, m.
    """
    media = of.media
    for corner in ("cold", "hot"):
        with scope(corner=corner):
            reynolds = grain_reynolds.at(
                "filters.grain_reynolds",
                sphericity=media.sphericity,
                grain_size=media.effective_size,
                filter_rate=rate,
                density=waters[corner].density,
                viscosity=waters[corner].viscosity,
            )
            shared = {
                "sphericity": media.sphericity,
                "settled_porosity": media.settled_porosity,
                "depth": media.depth,
                "grain_size": media.effective_size,
                "filter_rate": rate,
            }
            kozeny = carman_kozeny_head_loss.at("filters.kozeny_loss_by_layer", reynolds=reynolds, **shared)
            drag = grain_drag_coefficient.at("filters.grain_drag", reynolds=reynolds)
            rose = rose_head_loss.at("filters.rose_loss_by_layer", drag=drag, **shared)
            for name, by_layer, title in (("kozeny", kozeny, "Carman-Kozeny"), ("rose", rose, "Rose")):
                head = bed_head_loss.at(
                    f"filters.{name}_loss", layer_head=by_layer, title=f"Head loss in clean layers, {title}"
                )
                head_loss_ratio.at(
                    f"filters.{name}_ratio",
                    other_head=head,
                    bed_head=ergun[corner],
                    title=f"{title} / Ergun, effective size",
                )


def layer_porosity(
    ids: ExpansionIds,
    rate: Number,
    *,
    grain_size: Number,
    grain_density: Number,
    settled_porosity: Number,
    kappa_v: Number,
    kappa_i: Number,
    density: Number,
    viscosity: Number,
) -> Column:
    """Porosity of expanded layers at a backwash rate (Ergun), recorded or in the values context."""
    galileo = galileo_number.at(
        ids.galileo, grain_size=grain_size, density=density, grain_density=grain_density, viscosity=viscosity
    )
    reynolds = superficial_reynolds.at(
        ids.reynolds,
        grain_size=grain_size,
        superficial_velocity=rate,
        density=density,
        viscosity=viscosity,
        title="Reynolds number of the backwash",
        symbol="Re_w",
    )
    constant_term = expansion_constant_term.at(
        ids.constant_term, kappa_v=kappa_v, kappa_i=kappa_i, reynolds=reynolds, galileo=galileo
    )
    viscous_term = expansion_viscous_term.at(ids.viscous_term, kappa_v=kappa_v, reynolds=reynolds, galileo=galileo)
    return ergun_expanded_porosity.at(
        ids.porosity, constant_term=constant_term, viscous_term=viscous_term, settled_porosity=settled_porosity
    )


def layer_fluidisation_rate(prefix: str, layers: Layers, fluid: Fluid) -> Column:
    """Rate at which whole layers (d60) begin to expand, by the law of their expansion; inside the scope of a case."""
    galileo = galileo_number.at(
        f"{prefix}_galileo",
        grain_size=layers.d60,
        density=fluid.density,
        grain_density=layers.grain_density,
        viscosity=fluid.viscosity,
    )
    parameter = fluidised_bed_parameter.at(
        f"{prefix}_parameter", galileo=galileo, expanded_porosity=layers.settled_porosity
    )
    reynolds = fluidised_bed_reynolds.at(
        f"{prefix}_reynolds",
        kappa_v=layers.kappa_v,
        kappa_i=layers.kappa_i,
        expanded_porosity=layers.settled_porosity,
        fluidised=parameter,
    )
    return rate_at_reynolds.at(
        prefix,
        reynolds=reynolds,
        viscosity=fluid.viscosity,
        density=fluid.density,
        grain_size=layers.d60,
        title="Rate at which a layer begins to expand",
        symbol="v_mf",
    )


def layer_expansions(ids: ExpansionIds, expansion: str, layers: Layers, rate: Number, fluid: Fluid) -> Column:
    """Expansion of each layer (d60) at a backwash rate, recorded or in the values context."""
    porosity = layer_porosity(
        ids,
        rate,
        grain_size=layers.d60,
        grain_density=layers.grain_density,
        settled_porosity=layers.settled_porosity,
        kappa_v=layers.kappa_v,
        kappa_i=layers.kappa_i,
        density=fluid.density,
        viscosity=fluid.viscosity,
    )
    return layer_expansion.at(expansion, expanded_porosity=porosity, settled_porosity=layers.settled_porosity)
