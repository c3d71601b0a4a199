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
    """Water balance of a slice: in, less out, less through the membrane.

    Zero when solved; storage is neglected, for the state is steady.
    """
    return node_in - node_out - flux * water_density * slice_area


@relation("Balance of a solute in each slice", symbol="r_s", unit="kg/s", source="definition")
def solute_residual(node_in: KgPerS, node_out: KgPerS, salt_flux: SaltFlux, slice_area: M2) -> KgPerS:
    """Balance of a solute in a slice: in, less out, less through the membrane.

    Zero when solved; nothing precipitates in the channel.
    """
    return node_in - node_out - salt_flux * slice_area


@relation("Pressure balance of each slice", symbol="r_p", unit="Pa", source="definition")
def pressure_residual(pressure_in: GaugePa, pressure_out: GaugePa, slice_loss: DifferencePa) -> DifferencePa:
    """Pressure balance of a slice: in, less out, less friction.

    Zero when solved; changes of velocity head are neglected.
    """
    return pressure_in - pressure_out - slice_loss


@relation("Flux found less flux driven", symbol="r_J", unit="m/s", source="definition")
def flux_residual(flux: Flux, driven_flux: Flux) -> Flux:
    """Water flux less the flux the net driving pressure gives.

    Zero when solved.
    """
    return flux - driven_flux


@relation("Flow found less flow wanted", symbol="r_Q", unit="m^3/s", source="definition")
def flow_residual(permeate_flow: M3PerS, wanted_flow: M3PerS) -> M3PerS:
    """Permeate flow less the flow that is wanted.

    Zero when the feed pressure, or the feed flow, is found.
    """
    return permeate_flow - wanted_flow


@relation("Link of the slices", symbol="r_M", unit="kg/s", source="definition")
def chain_residual(inlet_flow: KgPerS, node_in: KgPerS, node_out: KgPerS) -> KgPerS:
    """Sum of what enters the slices less what the slices before them leave.

    Zero when each takes what the one upstream leaves, the first what enters the vessel.
    """
    return inlet_flow + total(node_out) - last(node_out) - total(node_in)


@relation("Link of the slices, pressure", symbol="r_M", unit="Pa", source="definition")
def pressure_chain_residual(inlet_pressure: GaugePa, pressure_in: GaugePa, pressure_out: GaugePa,
                             joint_sum: DifferencePa) -> DifferencePa:
    """Sum of inlet pressures less outlet pressures upstream, less the joints.

    Zero when each slice starts where the one upstream ends, the first at the inlet.
    """
    return inlet_pressure + total(pressure_out) - last(pressure_out) - total(pressure_in) - joint_sum


@relation("Pairs of slices", symbol="r_P", unit="kg/s", source="gauss-collocation")
def pair_residual(node_weight: Factor, pair_change: KgPerS, node_in: KgPerS, node_out: KgPerS) -> KgPerS:
    """Change of each pair of slices less the changes of its two slices, weighted.

    Zero when solved; different weights keep two errors from cancelling.
    """
    return dot(node_weight, pair_change - 2 * (node_in - node_out))


@relation("Pairs of slices, pressure", symbol="r_P", unit="Pa", source="gauss-collocation")
def pressure_pair_residual(node_weight: Factor, pair_loss: DifferencePa, pressure_in: GaugePa,
                            pressure_out: GaugePa) -> DifferencePa:
    """Loss of each pair of slices less the losses of its two slices, weighted.

    Zero when solved; different weights keep two errors from cancelling.
    """
    return dot(node_weight, pair_loss - 2 * (pressure_in - pressure_out))


@relation("Weighted change", symbol="W_M", unit="kg/s", source="definition")
def weighted_change(node_weight: Factor, node_in: KgPerS, node_out: KgPerS) -> KgPerS:
    """Water taken out along a vessel, each slice or element with its weight.

    Different weights keep two errors from cancelling.
    """
    return dot(node_weight, node_in - node_out)


@relation("Weighted loss", symbol="W_p", unit="Pa", source="definition")
def weighted_loss(node_weight: Factor, pressure_in: GaugePa, pressure_out: GaugePa) -> DifferencePa:
    """Pressure lost along a vessel, each slice or element with its weight.

    Different weights keep two errors from cancelling.
    """
    return dot(node_weight, pressure_in - pressure_out)


@relation("Elements and their slices", symbol="r_E", unit="kg/s", source="definition")
def element_residual(element_change: KgPerS, node_change: KgPerS) -> KgPerS:
    """Change over the elements less change over their slices.

    Zero when an element changes by what its slices change.
    """
    return element_change - node_change


@relation("Elements and their slices, pressure", symbol="r_E", unit="Pa", source="definition")
def element_pressure_residual(element_fall: DifferencePa, node_fall: DifferencePa) -> DifferencePa:
    """Loss over the elements less loss over their slices.

    Zero when an element loses what its slices lose.
    """
    return element_fall - node_fall
