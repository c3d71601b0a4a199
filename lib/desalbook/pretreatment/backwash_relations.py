"""Relations of the wash: fluidisation, expansion, and the volumes and times of a wash."""

from __future__ import annotations

from typing import Annotated

from desalbook.hydraulics.constants import G
from desalbook.trail import dot, largest, maximum, minimum, relation, smallest, sqrt, total
from desalbook.units import (
    KINDS,
    M2,
    M3,
    Count,
    Factor,
    FiltrationRate,
    Fraction,
    Head,
    KgPerM3,
    M,
    M3PerS,
    PaS,
    PerS,
    S,
    ScourRate,
)

__all__ = [
    "all_trains",
    "average_flow",
    "bed_expansion_of",
    "bed_rise_of",
    "bed_weight_head",
    "before_rinse",
    "busy_share",
    "drain_volume_of",
    "expanded_porosity_of",
    "expansion_of",
    "fastest",
    "fluidised_parameter",
    "fluidised_reynolds",
    "galileo_of",
    "least_fluidisation",
    "mean_waste",
    "off_line_share",
    "off_line_time",
    "porosity_at_expansion",
    "rate_at_reynolds",
    "scour_flow_of",
    "slowest",
    "starts_of",
    "two_flows",
    "two_volumes",
    "until_rinsed",
    "volume_in_time",
    "wash_flow_of",
    "wash_rate_of",
    "wash_reynolds",
    "wash_share",
    "wash_target_rate",
    "washes_per_day_of",
]

Small = Annotated[float, KINDS["length.small"]]
Minutes = Annotated[float, KINDS["time.minute"]]


@relation("Galileo number of the grains", symbol="Ga", unit="1", source="wen-yu-1966")
def galileo_of(grain_size: Small, density: KgPerM3, grain_density: KgPerM3, viscosity: PaS) -> Factor:
    """Weight in water over viscosity."""
    return grain_size**3 * density * (grain_density - density) * G / viscosity**2


@relation(
    "Rate of least fluidisation",
    symbol="v_mf",
    unit="m/s",
    source="wen-yu-1966",
    place="as given by Hendricks, eq. 12.56 to 12.58; grain size d90",
    note="shape and porosity of usual media are in the two constants; some 20 % scatter",
)
def least_fluidisation(
    galileo: Factor, viscosity: PaS, density: KgPerM3, grain_size: Small
) -> FiltrationRate:
    """At which the weight of the coarse grains is carried."""
    return (sqrt(33.7**2 + 0.0408 * galileo) - 33.7) * viscosity / (density * grain_size)


@relation("Wash rate aimed at", symbol="v_w", unit="m/s", source="hendricks", place="1.3 times v_mf of d90")
def wash_target_rate(fluidisation_rate: FiltrationRate, fluidisation_factor: Factor) -> FiltrationRate:
    """A multiple of least fluidisation."""
    return fluidisation_rate * fluidisation_factor


@relation("Largest over the layers", symbol="v_w", unit="m/s", source="definition")
def fastest(wash_rate: FiltrationRate) -> FiltrationRate:
    """What the layer asks for that is hardest to lift."""
    return largest(wash_rate)


@relation("Smallest over the layers", symbol="v_w", unit="m/s", source="definition")
def slowest(wash_rate: FiltrationRate) -> FiltrationRate:
    """What the layer bears that is easiest to lift."""
    return smallest(wash_rate)


@relation("Porosity at an expansion", symbol="epsilon_E", unit="1", source="mwh-2012", place="chapter 11")
def porosity_at_expansion(settled_porosity: Fraction, expansion: Fraction) -> Fraction:
    """The grains stay; the height grows."""
    return 1 - (1 - settled_porosity) / (1 + expansion)


@relation(
    "Parameter of the fluidised bed",
    symbol="beta_w",
    unit="1",
    source="mwh-2012",
    place="chapter 11, Ergun's gradient equal to the weight of the grains",
)
def fluidised_parameter(galileo: Factor, expanded_porosity: Fraction) -> Factor:
    """Galileo number times the cube of porosity."""
    return galileo * expanded_porosity**3


@relation(
    "Reynolds number of the fluidised bed",
    symbol="Re_w",
    unit="1",
    source="mwh-2012",
    place="chapter 11; with grain size d90 and Ergun's coefficients of the settled bed",
)
def fluidised_reynolds(
    kappa_v: Factor, kappa_i: Factor, expanded_porosity: Fraction, fluidised: Factor
) -> Factor:
    """Positive root of the balance of drag and weight."""
    return (
        sqrt(kappa_v**2 * (1 - expanded_porosity) ** 2 + 4 * kappa_i * fluidised)
        - kappa_v * (1 - expanded_porosity)
    ) / (2 * kappa_i)


@relation("Rate at a Reynolds number", symbol="v_w", unit="m/s", source="definition")
def rate_at_reynolds(reynolds: Factor, viscosity: PaS, density: KgPerM3, grain_size: Small) -> FiltrationRate:
    """Superficial velocity."""
    return reynolds * viscosity / (density * grain_size)


@relation("Reynolds number of the wash", symbol="Re_w", unit="1", source="cleasby-fan-1981")
def wash_reynolds(density: KgPerM3, wash_rate: FiltrationRate, grain_size: Small, viscosity: PaS) -> Factor:
    """On the grain size and the superficial velocity."""
    return density * wash_rate * grain_size / viscosity


@relation(
    "Porosity of the washed bed",
    symbol="epsilon_w",
    unit="1",
    source="cleasby-fan-1981",
    place="as given by Hendricks, eq. 12.52 to 12.55, solved for porosity; grain size d60",
    note="not below the settled porosity; held at 0.98, above which the grains are washed out",
)
def expanded_porosity_of(reynolds: Factor, galileo: Factor, settled_porosity: Fraction) -> Fraction:
    """Porosity at which drag carries the grains."""
    return minimum(
        0.98,
        maximum(settled_porosity, ((18 * reynolds + 2.7 * reynolds**1.687) / galileo) ** (1 / 4.7)),
    )


@relation("Expansion of a layer", symbol="e_L", unit="1", source="hendricks", place="eq. 12.55")
def expansion_of(expanded_porosity: Fraction, settled_porosity: Fraction) -> Fraction:
    """Rise of its top over its settled depth."""
    return (expanded_porosity - settled_porosity) / (1 - expanded_porosity)


@relation("Rise of the bed", symbol="h_e", unit="m", source="definition")
def bed_rise_of(depth: M, expansion: Fraction) -> M:
    """All layers."""
    return dot(depth, expansion)


@relation("Head that carries the bed", symbol="h_b", unit="m", source="mwh-2012", place="chapter 11")
def bed_weight_head(depth: M, settled_porosity: Fraction, grain_density: KgPerM3, density: KgPerM3) -> Head:
    """Weight of the grains in water; the loss of a fluidised bed, whatever the rate."""
    return dot(depth, (1 - settled_porosity) * (grain_density - density)) / density


@relation("Wash flow", symbol="Q_b", unit="m^3/s", source="definition")
def wash_flow_of(wash_rate: FiltrationRate, area: M2) -> M3PerS:
    """Of one filter."""
    return wash_rate * area


@relation("Wash rate", symbol="v_b", unit="m/s", source="definition")
def wash_rate_of(wash_flow: M3PerS, area: M2) -> FiltrationRate:
    """From a flow that is held."""
    return wash_flow / area


@relation("Flow of scour air", symbol="Q_a", unit="m^3/s", source="definition")
def scour_flow_of(air_scour_rate: ScourRate, area: M2) -> M3PerS:
    """Of one filter, at inlet conditions."""
    return air_scour_rate * area


@relation("Volume of a step", symbol="V", unit="m^3", source="definition")
def volume_in_time(flow: M3PerS, wash_duration: Minutes) -> M3:
    """Flow over its time."""
    return flow * wash_duration


@relation("Volume drained", symbol="V_d", unit="m^3", source="definition")
def drain_volume_of(area: M2, drain_depth: M) -> M3:
    """Water above the media."""
    return area * drain_depth


@relation("Filter off line for one wash", symbol="t_o", unit="s", source="definition")
def off_line_time(
    drain_time: Minutes, scour_time: Minutes, wash_time: Minutes, settle_time: Minutes, rinse_time: Minutes,
    return_time: Minutes
) -> Minutes:
    """All steps of the wash."""
    return drain_time + scour_time + wash_time + settle_time + rinse_time + return_time


@relation("Part of the time off line", symbol="x_o", unit="1", source="definition")
def off_line_share(off_line: Minutes, filter_run: S) -> Fraction:
    """Of one filter; its run counts from wash to wash."""
    return off_line / filter_run


@relation("Washes a day", symbol="n_w", unit="1/s", source="definition")
def washes_per_day_of(filters: Count, filter_run: S) -> PerS:
    """Of all filters of one train."""
    return filters / filter_run


@relation("Part of the time that a filter is washing", symbol="x_q", unit="1", source="definition")
def busy_share(washes_per_day: PerS, trains: Count, off_line: Minutes, at_once: Count) -> Fraction:
    """Of the one wash system: turns follow one another."""
    return washes_per_day * trains * off_line / at_once


@relation("Average flow of a step", symbol="Q_m", unit="m^3/s", source="definition")
def average_flow(volume: M3, washes_per_day: PerS) -> M3PerS:
    """Volume of one wash times washes."""
    return volume * washes_per_day


@relation("Average flow to waste", symbol="Q_w", unit="m^3/s", source="definition")
def mean_waste(wash_average: M3PerS, rinse_average: M3PerS) -> M3PerS:
    """Wash water and rinse; the wash fills again what was drained, so drained water is counted in it."""
    return wash_average + rinse_average


@relation("Wash water over filtered water", symbol="x_w", unit="1", source="mwh-2012", place="chapter 11")
def wash_share(waste_average: M3PerS, flow: M3PerS) -> Fraction:
    """Waste as a share of the feed of the membranes; 1 to 6 % is usual."""
    return waste_average / flow


@relation("Flow of all trains", symbol="Q", unit="m^3/s", source="definition")
def all_trains(flow: M3PerS, trains: Count) -> M3PerS:
    """One train times trains."""
    return flow * trains


@relation("Raw water of one wash", symbol="V", unit="m^3", source="definition")
def two_volumes(wash_volume: M3, rinse_volume: M3) -> M3:
    """Wash and rinse."""
    return wash_volume + rinse_volume


@relation("Raw water beside the feed, mean", symbol="Q_m", unit="m^3/s", source="definition")
def two_flows(wash_average: M3PerS, rinse_average: M3PerS, trains: Count) -> M3PerS:
    """Wash and rinse of all trains."""
    return (wash_average + rinse_average) * trains


@relation("From the start of the wash to the end of the rinse", symbol="t", unit="s", source="definition")
def until_rinsed(wash_time: Minutes, settle_time: Minutes, rinse_time: Minutes) -> Minutes:
    """Three steps."""
    return wash_time + settle_time + rinse_time


@relation("Raw water drawn beyond the mean, after each wash", symbol="V_kw", unit="m^3", source="definition",
          note="the rinse of this turn is still to come")
def before_rinse(
    turn: Count, at_once: Count, volume: M3, rinse_volume: M3, make_up: M3PerS, turn_interval: S,
    wash_duration: Minutes
) -> M3:
    """As after the rinse, less that rinse, and at the end of the wash."""
    return at_once * (turn * volume - rinse_volume) - make_up * ((turn - 1) * turn_interval + wash_duration)


@relation("Starts of the wash pump for one train", symbol="n_s", unit="1/s", source="definition")
def starts_of(washes_per_day: PerS, at_once: Count) -> PerS:
    """Those that wash together share a start."""
    return washes_per_day / at_once


@relation("Expansion of the bed", symbol="e_b", unit="1", source="definition")
def bed_expansion_of(bed_rise: M, depth: M) -> Fraction:
    """Rise over the depth of all layers that filter."""
    return bed_rise / total(depth)
