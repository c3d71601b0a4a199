"""Set points: alarm and trip from what is normal, the gap that keeps them apart, and the room between them.

One relation for each kind of number, for a set point has the kind of what it judges. A programme's trips come on top
of relief valves and of what the pressure law asks; they do not take their place.
"""

from __future__ import annotations

from desalbook.trail import Relation, relation
from desalbook.units import (
    AsCl2,
    DifferencePa,
    Factor,
    Fraction,
    GaugePa,
    K,
    M,
    M3PerS,
    PHNbs,
    SPerM,
    Turbidity,
    Volt,
)

__all__ = ["ROOM", "SET_POINT", "alarm_steps", "order_gap", "room_wanted", "set_offset"]


@relation("Gap between set points", symbol="g", unit="1", source="common-practice")
def order_gap(accuracy: Fraction, deadband: Fraction) -> Fraction:
    """Gap that two neighbouring set points keep, as a fraction of the range: twice the accuracy and the deadband.

    So that neither noise nor a tolerance turns their order.
    """
    return 2 * accuracy + deadband


@relation("Room wanted to a trip", symbol="r_w", unit="1", source="common-practice")
def room_wanted(order_gap: Fraction) -> Fraction:
    """Room wanted between what is normal and a trip: a gap to the alarm, and another to the trip.

    As a fraction of the range.
    """
    return 2 * order_gap


@relation("Steps from normal to the alarm", symbol="n_a", unit="1", source="common-practice")
def alarm_steps(set_point_room: Fraction, order_gap: Fraction) -> Factor:
    """Gaps between what is normal and the alarm, where the trip is fixed: half of the way.

    An alarm near what is normal rings for nothing; one near the trip leaves no time.
    """
    return set_point_room / order_gap / 2


@relation("Distance of a set point", symbol="d", unit="1", source="definition")
def set_offset(order_gap: Fraction, gap_steps: Factor, set_side: Factor) -> Fraction:
    """Distance of a set point from what is normal, as a fraction of the range, upwards or downwards.

    Whole gaps, but where the room is short.
    """
    return order_gap * gap_steps * set_side


@relation("Set point, gauge pressure", symbol="p_s", unit="Pa", source="definition")
def set_pressure(normal_pressure: GaugePa, set_distance: Fraction,
                 pressure_range_high: GaugePa, pressure_range_low: GaugePa) -> GaugePa:
    """Set point of a gauge pressure: what is normal, and a fraction of the range of the instrument.

    Whether the plant bears it is judged apart.
    """
    return normal_pressure + set_distance * (pressure_range_high - pressure_range_low)


@relation("Room to the trip, gauge pressure", symbol="r_s", unit="1", source="definition")
def room_pressure(trip_pressure: GaugePa, normal_pressure: GaugePa,
                  pressure_range_high: GaugePa, pressure_range_low: GaugePa,
                  set_side: Factor) -> Fraction:
    """Room between what is normal and the trip of a gauge pressure, as a fraction of the range.

    Negative where the trip lies within what is normal.
    """
    return (trip_pressure - normal_pressure) * set_side / (pressure_range_high - pressure_range_low)


@relation("Set point, pressure drop", symbol="Delta_p_s", unit="Pa", source="definition")
def set_drop(normal_drop: DifferencePa, set_distance: Fraction,
             drop_range_high: DifferencePa, drop_range_low: DifferencePa) -> DifferencePa:
    """Set point of a pressure drop: what is normal, and a fraction of the range of the instrument.

    Whether the plant bears it is judged apart.
    """
    return normal_drop + set_distance * (drop_range_high - drop_range_low)


@relation("Room to the trip, pressure drop", symbol="r_s", unit="1", source="definition")
def room_drop(trip_drop: DifferencePa, normal_drop: DifferencePa,
              drop_range_high: DifferencePa, drop_range_low: DifferencePa,
              set_side: Factor) -> Fraction:
    """Room between what is normal and the trip of a pressure drop, as a fraction of the range.

    Negative where the trip lies within what is normal.
    """
    return (trip_drop - normal_drop) * set_side / (drop_range_high - drop_range_low)


@relation("Set point, level", symbol="h_s", unit="m", source="definition")
def set_level(normal_level: M, set_distance: Fraction, level_range_high: M, level_range_low: M) -> M:
    """Set point of a level: what is normal, and a fraction of the range of the instrument.

    Whether the plant bears it is judged apart.
    """
    return normal_level + set_distance * (level_range_high - level_range_low)


@relation("Room to the trip, level", symbol="r_s", unit="1", source="definition")
def room_level(trip_level: M, normal_level: M, level_range_high: M, level_range_low: M,
               set_side: Factor) -> Fraction:
    """Room between what is normal and the trip of a level, as a fraction of the range.

    Negative where the trip lies within what is normal.
    """
    return (trip_level - normal_level) * set_side / (level_range_high - level_range_low)


@relation("Set point, flow", symbol="Q_s", unit="m^3/s", source="definition")
def set_flow(normal_flow: M3PerS, set_distance: Fraction, flow_range_high: M3PerS, flow_range_low: M3PerS) -> M3PerS:
    """Set point of a flow: what is normal, and a fraction of the range of the instrument.

    Whether the plant bears it is judged apart.
    """
    return normal_flow + set_distance * (flow_range_high - flow_range_low)


@relation("Room to the trip, flow", symbol="r_s", unit="1", source="definition")
def room_flow(trip_flow: M3PerS, normal_flow: M3PerS, flow_range_high: M3PerS, flow_range_low: M3PerS,
              set_side: Factor) -> Fraction:
    """Room between what is normal and the trip of a flow, as a fraction of the range.

    Negative where the trip lies within what is normal.
    """
    return (trip_flow - normal_flow) * set_side / (flow_range_high - flow_range_low)


@relation("Set point, temperature", symbol="theta_s", unit="K", source="definition")
def set_temperature(normal_temperature: K, set_distance: Fraction,
                    temperature_range_high: K, temperature_range_low: K) -> K:
    """Set point of a temperature: what is normal, and a fraction of the range of the instrument.

    Whether the plant bears it is judged apart.
    """
    return normal_temperature + set_distance * (temperature_range_high - temperature_range_low)


@relation("Room to the trip, temperature", symbol="r_s", unit="1", source="definition")
def room_temperature(trip_temperature: K, normal_temperature: K, temperature_range_high: K, temperature_range_low: K,
                     set_side: Factor) -> Fraction:
    """Room between what is normal and the trip of a temperature, as a fraction of the range.

    Negative where the trip lies within what is normal.
    """
    return (trip_temperature - normal_temperature) * set_side / (temperature_range_high - temperature_range_low)


@relation("Set point, conductivity", symbol="kappa_s", unit="S/m", source="definition")
def set_conductivity(normal_conductivity: SPerM, set_distance: Fraction,
                     conductivity_range_high: SPerM, conductivity_range_low: SPerM) -> SPerM:
    """Set point of a conductivity: what is normal, and a fraction of the range of the instrument.

    Whether the plant bears it is judged apart.
    """
    return normal_conductivity + set_distance * (conductivity_range_high - conductivity_range_low)


@relation("Room to the trip, conductivity", symbol="r_s", unit="1", source="definition")
def room_conductivity(trip_conductivity: SPerM, normal_conductivity: SPerM,
                      conductivity_range_high: SPerM, conductivity_range_low: SPerM,
                      set_side: Factor) -> Fraction:
    """Room between what is normal and the trip of a conductivity, as a fraction of the range.

    Negative where the trip lies within what is normal.
    """
    return (trip_conductivity - normal_conductivity) * set_side / (conductivity_range_high - conductivity_range_low)


@relation("Set point, pH", symbol="pH_s", unit="1", source="definition")
def set_ph(normal_ph: PHNbs, set_distance: Fraction, ph_range_high: PHNbs, ph_range_low: PHNbs) -> PHNbs:
    """Set point of a pH: what is normal, and a fraction of the range of the instrument.

    Whether the plant bears it is judged apart.
    """
    return normal_ph + set_distance * (ph_range_high - ph_range_low)


@relation("Room to the trip, pH", symbol="r_s", unit="1", source="definition")
def room_ph(trip_ph: PHNbs, normal_ph: PHNbs, ph_range_high: PHNbs, ph_range_low: PHNbs,
            set_side: Factor) -> Fraction:
    """Room between what is normal and the trip of a pH, as a fraction of the range.

    Negative where the trip lies within what is normal.
    """
    return (trip_ph - normal_ph) * set_side / (ph_range_high - ph_range_low)


@relation("Set point, potential", symbol="E_s", unit="V", source="definition")
def set_potential(normal_potential: Volt, set_distance: Fraction,
                  potential_range_high: Volt, potential_range_low: Volt) -> Volt:
    """Set point of a potential: what is normal, and a fraction of the range of the instrument.

    Whether the plant bears it is judged apart.
    """
    return normal_potential + set_distance * (potential_range_high - potential_range_low)


@relation("Room to the trip, potential", symbol="r_s", unit="1", source="definition")
def room_potential(trip_potential: Volt, normal_potential: Volt,
                   potential_range_high: Volt, potential_range_low: Volt,
                   set_side: Factor) -> Fraction:
    """Room between what is normal and the trip of a potential, as a fraction of the range.

    Negative where the trip lies within what is normal.
    """
    return (trip_potential - normal_potential) * set_side / (potential_range_high - potential_range_low)


@relation("Set point, free chlorine", symbol="C_Cl_s", unit="kg/m^3", source="definition")
def set_chlorine(normal_chlorine: AsCl2, set_distance: Fraction,
                 chlorine_range_high: AsCl2, chlorine_range_low: AsCl2) -> AsCl2:
    """Set point of a free chlorine: what is normal, and a fraction of the range of the instrument.

    Whether the plant bears it is judged apart.
    """
    return normal_chlorine + set_distance * (chlorine_range_high - chlorine_range_low)


@relation("Room to the trip, free chlorine", symbol="r_s", unit="1", source="definition")
def room_chlorine(trip_chlorine: AsCl2, normal_chlorine: AsCl2, chlorine_range_high: AsCl2, chlorine_range_low: AsCl2,
                  set_side: Factor) -> Fraction:
    """Room between what is normal and the trip of a free chlorine, as a fraction of the range.

    Negative where the trip lies within what is normal.
    """
    return (trip_chlorine - normal_chlorine) * set_side / (chlorine_range_high - chlorine_range_low)


@relation("Set point, turbidity", symbol="N_s", unit="1", source="definition")
def set_turbidity(normal_turbidity: Turbidity, set_distance: Fraction,
                  turbidity_range_high: Turbidity, turbidity_range_low: Turbidity) -> Turbidity:
    """Set point of a turbidity: what is normal, and a fraction of the range of the instrument.

    Whether the plant bears it is judged apart.
    """
    return normal_turbidity + set_distance * (turbidity_range_high - turbidity_range_low)


@relation("Room to the trip, turbidity", symbol="r_s", unit="1", source="definition")
def room_turbidity(trip_turbidity: Turbidity, normal_turbidity: Turbidity,
                   turbidity_range_high: Turbidity, turbidity_range_low: Turbidity,
                   set_side: Factor) -> Fraction:
    """Room between what is normal and the trip of a turbidity, as a fraction of the range.

    Negative where the trip lies within what is normal.
    """
    return (trip_turbidity - normal_turbidity) * set_side / (turbidity_range_high - turbidity_range_low)


SET_POINT: dict[str, tuple[str, Relation]] = {
    "gauge pressure": ("pressure", set_pressure),
    "pressure difference": ("drop", set_drop),
    "length": ("level", set_level),
    "flow": ("flow", set_flow),
    "temperature": ("temperature", set_temperature),
    "conductivity": ("conductivity", set_conductivity),
    "ph.nbs": ("ph", set_ph),
    "potential": ("potential", set_potential),
    "concentration as Cl2": ("chlorine", set_chlorine),
    "turbidity": ("turbidity", set_turbidity),
}
"""Set point by kind of number: stem of its arguments' names, and the relation."""
ROOM: dict[str, Relation] = {
    "gauge pressure": room_pressure,
    "pressure difference": room_drop,
    "length": room_level,
    "flow": room_flow,
    "temperature": room_temperature,
    "conductivity": room_conductivity,
    "ph.nbs": room_ph,
    "potential": room_potential,
    "concentration as Cl2": room_chlorine,
    "turbidity": room_turbidity,
}
"""Room to the trip, by kind of number."""
