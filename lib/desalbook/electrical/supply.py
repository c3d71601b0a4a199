"""The supply: transformer, short-circuit current, correction of the power factor, standby generator.

A first sizing for the panel builder and the utility; the study of the network, protection and earthing are licensed
work under the local code.
"""

from __future__ import annotations

from desalbook.trail import maximum, relation, sqrt
from desalbook.units import VA, Ampere, Count, ElectricW, Fraction, Ohm, Var, Voltage

__all__ = [
    "corrected_power_factor",
    "correction_power",
    "generator_dip",
    "generator_rating",
    "rating_needed",
    "series_impedance",
    "short_circuit_current",
    "source_impedance",
    "supply_loading",
    "transformer_impedance",
]


@relation("Transformer rating needed", symbol="S_n", unit="V A", source="common-practice")
def rating_needed(apparent_power: VA, spare_fraction: Fraction, loading_limit: Fraction,
                  units_in_service: Count) -> VA:
    """Rated power a transformer needs: the largest case with its spare, over the loading it may have.

    Steady loads; harmonic losses of large drives ask for a rating above it.
    """
    return apparent_power * (1 + spare_fraction) / loading_limit / units_in_service


@relation("Loading of the supply", symbol="x_T", unit="1", source="definition")
def supply_loading(apparent_power: VA, units_in_service: Count, rated_power_va: VA) -> Fraction:
    """Loading of a transformer or generator: apparent power of each over its rating.

    Shared evenly among those in service.
    """
    return apparent_power / units_in_service / rated_power_va


@relation("Impedance of a transformer", symbol="Z_T", unit="ohm", source="definition")
def transformer_impedance(impedance_fraction: Fraction, voltage: Voltage, rated_power_va: VA) -> Ohm:
    """Short-circuit impedance of a transformer at the voltage it feeds.

    Per phase; resistance and reactance are not told apart.
    """
    return impedance_fraction * voltage**2 / rated_power_va


@relation("Impedance of the network", symbol="Z_q", unit="ohm", source="definition")
def source_impedance(voltage: Voltage, fault_power: VA) -> Ohm:
    """Impedance of the network at a voltage, from its fault level.

    Without a voltage factor.
    """
    return voltage**2 / fault_power


@relation("Impedance up to the busbar", symbol="Z_k", unit="ohm", source="definition")
def series_impedance(source_impedance: Ohm, transformer_impedance: Ohm, units_in_service: Count) -> Ohm:
    """Impedance from the network to the busbar: network in series with transformers side by side.

    Added as numbers, which gives the least current.
    """
    return source_impedance + transformer_impedance / units_in_service


@relation("Short-circuit current", symbol="I_k", unit="A", source="definition",
          note="three-phase, initial, without a voltage factor and without what motors add in the first cycle")
def short_circuit_current(voltage: Voltage, impedance: Ohm) -> Ampere:
    """Prospective three-phase short-circuit current at a busbar.

    Without a voltage factor; running motors add some four to six times their current in the first cycle.
    """
    return voltage / (3**0.5 * impedance)


@relation("Correction of the power factor", symbol="Q_C", unit="V A", source="definition")
def correction_power(electric_power: ElectricW, power_factor: Fraction, power_factor_wanted: Fraction) -> Var:
    """Reactive power of capacitors that raise the power factor of a load to a value wanted.

    Nothing where it is there already. Not at the output of a drive; detuned where drives are a large part of the load.
    """
    return electric_power * maximum(
        sqrt(1 - power_factor**2) / power_factor - sqrt(1 - power_factor_wanted**2) / power_factor_wanted, 0)


@relation("Power factor with correction", symbol="cos_phi", unit="1", source="definition")
def corrected_power_factor(electric_power: ElectricW, reactive_power: Var, correction: Var) -> Fraction:
    """Power factor of a load beside its capacitors.

    Displacement alone.
    """
    return electric_power / (electric_power**2 + (reactive_power - correction) ** 2) ** 0.5


@relation("Generator rating needed", symbol="S_G", unit="V A", source="common-practice")
def generator_rating(electric_power: ElectricW, generator_power_factor: Fraction, loading_limit: Fraction) -> VA:
    """Rating of a generator for a load: power over its rated power factor and the loading it may have.

    Power of the engine governs; altitude and hot air take some of it away.
    """
    return electric_power / generator_power_factor / loading_limit


@relation("Voltage dip on a generator", symbol="Delta_u", unit="1", source="common-practice",
          note="constant impedance of the motor; no regulator acts in the first cycles")
def generator_dip(starting_power: VA, generator_reactance: Fraction, rated_power_va: VA) -> Fraction:
    """Voltage dip at a generator when a motor starts: its starting power against the transient reactance.

    As a divider of two reactances.
    """
    return (generator_reactance * starting_power / rated_power_va
            / (1 + generator_reactance * starting_power / rated_power_va))
