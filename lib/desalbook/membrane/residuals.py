"""Residuals of the balances along a vessel: zero when it is solved."""

from __future__ import annotations

from desalbook.trail import dot, last, relation, total
from desalbook.units import M2, DifferencePa, Factor, Flux, GaugePa, KgPerM3, KgPerS, M3PerS, SaltFlux

__all__ = [
    "chain_residual",
    "element_pressure_residual",
    "element_residual",
    "flow_residual",
    "flux_residual",
    "pair_residual",
    "pressure_chain_residual",
    "pressure_pair_residual",
    "pressure_residual",
    "solute_residual",
    "water_residual",
    "weighted_change",
    "weighted_loss",
]


@relation("Water balance of each slice", symbol="r_w", unit="kg/s", source="definition")
def water_residual(node_in: KgPerS, node_out: KgPerS, flux: Flux, water_density: KgPerM3,
                    slice_area: M2) -> KgPerS:
    """In, less out, less through the membrane; zero when solved."""
    return node_in - node_out - flux * water_density * slice_area


@relation("Balance of a solute in each slice", symbol="r_s", unit="kg/s", source="definition")
def solute_residual(node_in: KgPerS, node_out: KgPerS, salt_flux: SaltFlux, slice_area: M2) -> KgPerS:
    """In, less out, less through the membrane; zero when solved."""
    return node_in - node_out - salt_flux * slice_area


@relation("Pressure balance of each slice", symbol="r_p", unit="Pa", source="definition")
def pressure_residual(pressure_in: GaugePa, pressure_out: GaugePa, slice_loss: DifferencePa) -> DifferencePa:
    """In, less out, less friction; zero when solved."""
    return pressure_in - pressure_out - slice_loss


@relation("Flux found less flux driven", symbol="r_J", unit="m/s", source="definition")
def flux_residual(flux: Flux, driven_flux: Flux) -> Flux:
    """Zero when solved."""
    return flux - driven_flux


@relation("Flow found less flow wanted", symbol="r_Q", unit="m^3/s", source="definition")
def flow_residual(permeate_flow: M3PerS, wanted_flow: M3PerS) -> M3PerS:
    """Zero when solved."""
    return permeate_flow - wanted_flow


@relation("Link of the slices", symbol="r_M", unit="kg/s", source="definition")
def chain_residual(inlet_flow: KgPerS, node_in: KgPerS, node_out: KgPerS) -> KgPerS:
    """Each slice takes what the slice before leaves, the first what enters the vessel; zero when solved."""
    return inlet_flow + total(node_out) - last(node_out) - total(node_in)


@relation("Link of the slices, pressure", symbol="r_M", unit="Pa", source="definition")
def pressure_chain_residual(inlet_pressure: GaugePa, pressure_in: GaugePa, pressure_out: GaugePa,
                             joint_sum: DifferencePa) -> DifferencePa:
    """Each slice starts where the slice before ends, less the joints, the first at the inlet; zero when solved."""
    return inlet_pressure + total(pressure_out) - last(pressure_out) - total(pressure_in) - joint_sum


@relation("Pairs of slices", symbol="r_P", unit="kg/s", source="gauss-collocation")
def pair_residual(node_weight: Factor, pair_change: KgPerS, node_in: KgPerS, node_out: KgPerS) -> KgPerS:
    """Both slices of a pair change by the pair's change, weighted pair by pair; zero when solved."""
    return dot(node_weight, pair_change - 2 * (node_in - node_out))


@relation("Pairs of slices, pressure", symbol="r_P", unit="Pa", source="gauss-collocation")
def pressure_pair_residual(node_weight: Factor, pair_loss: DifferencePa, pressure_in: GaugePa,
                            pressure_out: GaugePa) -> DifferencePa:
    """Both slices of a pair lose the pair's loss, weighted pair by pair; zero when solved."""
    return dot(node_weight, pair_loss - 2 * (pressure_in - pressure_out))


@relation("Weighted change", symbol="W_M", unit="kg/s", source="definition")
def weighted_change(node_weight: Factor, node_in: KgPerS, node_out: KgPerS) -> KgPerS:
    """What slices or elements take out of the water, each with its weight."""
    return dot(node_weight, node_in - node_out)


@relation("Weighted loss", symbol="W_p", unit="Pa", source="definition")
def weighted_loss(node_weight: Factor, pressure_in: GaugePa, pressure_out: GaugePa) -> DifferencePa:
    """What slices or elements lose, each with its weight."""
    return dot(node_weight, pressure_in - pressure_out)


@relation("Elements and their slices", symbol="r_E", unit="kg/s", source="definition")
def element_residual(element_change: KgPerS, node_change: KgPerS) -> KgPerS:
    """An element changes by what its slices change; zero when solved."""
    return element_change - node_change


@relation("Elements and their slices, pressure", symbol="r_E", unit="Pa", source="definition")
def element_pressure_residual(element_fall: DifferencePa, node_fall: DifferencePa) -> DifferencePa:
    """An element loses what its slices lose; zero when solved."""
    return element_fall - node_fall
