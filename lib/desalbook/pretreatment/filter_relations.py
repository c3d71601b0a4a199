"""Relations of the filter battery: rates, area, and the loss of a clean bed."""

from __future__ import annotations

from typing import Annotated

from desalbook.hydraulics.constants import PI, G
from desalbook.trail import maximum, relation, total
from desalbook.units import (
    KINDS,
    M2,
    Count,
    DifferencePa,
    Factor,
    FiltrationRate,
    Fraction,
    Head,
    KgPerM3,
    M,
    M3PerS,
    PaS,
)

__all__ = [
    "area_needed",
    "bed_loss",
    "clean_drop_of",
    "depth_over_size_of",
    "filtration_rate",
    "layer_loss",
    "left_in_service",
    "two_losses",
    "washing_and_down",
    "width_for",
]

Small = Annotated[float, KINDS["length.small"]]


@relation("Filters in service", symbol="n_s", unit="1", source="definition")
def left_in_service(filters: Count, filters_out: Count) -> Count:
    """All less those that wash or are down."""
    return filters - filters_out


@relation("Filters out: washing, and one down", symbol="n_o", unit="1", source="definition")
def washing_and_down(washes_together: Count) -> Count:
    """One more than those that wash."""
    return washes_together + 1


@relation("Filtration rate", symbol="v_f", unit="m/s", source="common-practice")
def filtration_rate(flow: M3PerS, area: M2, filters_in_service: Count) -> FiltrationRate:
    """Superficial velocity through the filters that are in service."""
    return flow / (area * filters_in_service)


@relation(
    "Area one filter needs",
    symbol="A_n",
    unit="m^2",
    source="wi-nr-811",
    place="811.495(1): capacity at the approved rate with units out; three limits here",
    within={"filters": ("3", None)},
)
def area_needed(
    flow: M3PerS,
    filters: Count,
    washes_together: Count,
    rate_limit: FiltrationRate,
    rate_limit_washing: FiltrationRate,
    rate_limit_outage: FiltrationRate,
) -> M2:
    """Largest of three: all in service, those out that wash together, and one down beside them."""
    return maximum(
        flow / (filters * rate_limit),
        maximum(
            flow / ((filters - washes_together) * rate_limit_washing),
            flow / ((filters - washes_together - 1) * rate_limit_outage),
        ),
    )


@relation("Diameter for an area", symbol="D_n", unit="m", source="definition")
def width_for(area: M2) -> M:
    """Of a circle."""
    return (4 * area / PI) ** 0.5


@relation(
    "Head lost in a clean layer",
    symbol="h_L",
    unit="m",
    source="mwh-2012",
    place="Ergun's form on the effective size, chapter 11",
    note="clean, settled, uniform along the depth; coefficients of a class of media scatter by 5 to 10 %",
)
def layer_loss(
    kappa_v: Factor,
    kappa_i: Factor,
    settled_porosity: Fraction,
    effective_size: Small,
    depth: M,
    filter_rate: FiltrationRate,
    density: KgPerM3,
    viscosity: PaS,
) -> Head:
    """A viscous and an inertial part."""
    return kappa_v * ((1 - settled_porosity) ** 2 / settled_porosity**3) * (
        viscosity * depth * filter_rate / (density * G * effective_size**2)
    ) + kappa_i * ((1 - settled_porosity) / settled_porosity**3) * (
        depth * filter_rate**2 / (G * effective_size)
    )


@relation("Head lost in clean layers", symbol="h_0", unit="m", source="definition")
def bed_loss(layer_head: Head) -> Head:
    """Sum over the layers."""
    return total(layer_head)


@relation("Head lost in the clean bed", symbol="h_0", unit="m", source="definition")
def two_losses(bed_head: Head, support_head: Head) -> Head:
    """Filter layers and support layers."""
    return bed_head + support_head


@relation("Pressure drop of a clean filter", symbol="Delta_p_0", unit="Pa", source="definition")
def clean_drop_of(bed_head: Head, density: KgPerM3, internals_drop: DifferencePa) -> DifferencePa:
    """Bed and internals."""
    return density * G * bed_head + internals_drop


@relation(
    "Sum of depth over effective size",
    symbol="r_L",
    unit="1",
    source="kawamura-2000",
    note="a guide to the depth of a bed, 1000 for sand and dual media",
)
def depth_over_size_of(depth: M, effective_size: Small) -> Factor:
    """Over the layers that filter."""
    return total(depth / effective_size)
