"""Harmonics of speed drives, judged where the utility meets the plant.

Characteristic odd orders of balanced drives, added without diversity; resonance with capacitors is not modelled.
"""

from __future__ import annotations

from desalbook.trail import dot, largest, relation, total
from desalbook.units import Ampere, Factor, Fraction, Ohm, Voltage

__all__ = ["harmonic_current", "harmonic_use", "short_circuit_ratio", "total_demand_distortion",
           "voltage_distortion"]


@relation("Harmonic current", symbol="I_h", unit="A", source="definition")
def harmonic_current(drive_current: Ampere, harmonic_ratio: Fraction) -> Ampere:
    """Harmonic current of the drives: their fundamental times the ratio of each order.

    All drives in phase, which is the worst.
    """
    return drive_current * harmonic_ratio


@relation("Harmonic currents over their limits", symbol="x_u", unit="1", source="definition")
def harmonic_use(harmonic_fraction: Fraction, harmonic_limit: Fraction) -> Fraction:
    """Largest harmonic current over the limit of its order.

    Above one an order passes its limit.
    """
    return largest(harmonic_fraction / harmonic_limit)


@relation("Total demand distortion", symbol="TDD", unit="1", source="ieee-519", place="clause 3")
def total_demand_distortion(harmonic_current: Ampere, demand_current: Ampere) -> Fraction:
    """Total demand distortion: root of the sum of squares of the harmonic currents, over the demand current.

    Orders of the table alone; higher ones add little.
    """
    return total(harmonic_current**2) ** 0.5 / demand_current


@relation("Distortion of the voltage", symbol="THD_v", unit="1", source="ieee-519", place="clause 3",
          note="inductive network, no resonance")
def voltage_distortion(harmonic_current: Ampere, harmonic_order: Factor, impedance: Ohm, voltage: Voltage) -> Fraction:
    """Total harmonic distortion of the voltage at a busbar from harmonic currents through its impedance.

    The impedance grows with the order; no resonance.
    """
    return dot(harmonic_current**2, harmonic_order**2) ** 0.5 * impedance * 3**0.5 / voltage


@relation("Short-circuit current over demand current", symbol="r_k", unit="1", source="definition")
def short_circuit_ratio(fault_current: Ampere, demand_current: Ampere) -> Factor:
    """Short-circuit current over demand current at the point of coupling: it picks the row of limits.

    A strong network bears more distortion.
    """
    return fault_current / demand_current
