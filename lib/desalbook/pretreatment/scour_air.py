"""Scour-air blower of the filters: discharge pressure, power, motor, and heat of the air.

A blower compresses air of one standard atmosphere against the water that stands over the underdrain and the losses of
line and nozzles. Altitude is left to its manufacturer, who finds it on the data sheet: at 2000 m the same volume of
thinner air takes some 3 % less power and leaves some 10 K warmer. A blower is loud and its discharge is hot: hearing
protection, guards and lagging follow local codes, and a relief valve of its own protects it against a shut valve.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from desalbook.balances import sum_of_pressure_drops
from desalbook.hydraulics.head import pressure_of_head
from desalbook.hydraulics.motors import Electric, size_motor
from desalbook.pretreatment.media import Bed, total_depth
from desalbook.trail import Figure, assumed, checked, constant, maximum, relation
from desalbook.trail.inputs import Inputs
from desalbook.trail.limits import check_limit
from desalbook.units import KINDS, M2, AbsolutePa, Count, DifferencePa, Factor, Fraction, Head, K, M, ScourRate, W

__all__ = [
    "Blower",
    "adiabatic_blower_power",
    "air_flow_per_blower",
    "blower_outlet_temperature",
    "blower_pressure_ratio",
    "scour_blower",
    "water_over_underdrain",
]

AirFlow = Annotated[float, KINDS["flow.air"]]
HEAT_RATIO = constant("k_a", 1.4, "1", source="common-practice", title="Ratio of the heat capacities of air")


@relation("Air flow of one blower", symbol="Q_a1", unit="m^3/s", source="definition")
def air_flow_per_blower(air_scour_rate: ScourRate, area: M2, at_once: Count, duty_count: Count) -> AirFlow:
    """Air flow of one of the blowers on duty, at inlet conditions.

    All filters in backwash at one time are scoured together, and the blowers share their air evenly.
    """
    return air_scour_rate * area * at_once / duty_count


@relation("Water over the underdrain at scour", symbol="h_w", unit="m", source="definition")
def water_over_underdrain(media_depth: M, support_depth: M, freeboard: M, drain_depth: M) -> Head:
    """Depth of water over the underdrain when the scour begins: bed, and what is left above it once drained.

    Water stands at the backwash collector before it is drained, and never below the top of the media. On the safe
    side: air in the bed makes the column lighter than the water counted here.
    """
    return media_depth + support_depth + maximum(freeboard - drain_depth, 0)


@relation("Pressure ratio of the blower", symbol="r_p", unit="1", source="definition")
def blower_pressure_ratio(ambient_pressure: AbsolutePa, pressure_rise: DifferencePa) -> Factor:
    """Pressure ratio of a blower: absolute pressure at its outlet over that of the air around.

    The air comes from around at rest; the loss of inlet filter and silencer belongs to the pressure rise.
    """
    return (ambient_pressure + pressure_rise) / ambient_pressure


@relation("Shaft power of the blower", symbol="P_s", unit="W", source="tchobanoglous-2003",
          place="adiabatic compression of blowers, from memory", within={"pressure_ratio": ("1", "2")},
          note="flow at inlet conditions; ideal gas, one stage without cooling")
def adiabatic_blower_power(air_flow: AirFlow, ambient_pressure: AbsolutePa, pressure_ratio: Factor,
                           blower_efficiency: Fraction) -> W:
    """Shaft power of a blower: adiabatic compression of an ideal gas over its efficiency.

    One stage without cooling, dry air, flow at inlet conditions. A lobe blower does not compress inside and falls
    short of it the more the ratio rises: its efficiency at the duty comes from the manufacturer.
    """
    return (air_flow * ambient_pressure * HEAT_RATIO / (HEAT_RATIO - 1)
            * (pressure_ratio ** ((HEAT_RATIO - 1) / HEAT_RATIO) - 1) / blower_efficiency)


@relation("Air temperature at the blower outlet", symbol="T_2", unit="K", source="tchobanoglous-2003",
          place="adiabatic compression of blowers, from memory", within={"pressure_ratio": ("1", "2")},
          note="all of the shaft power warms the air")
def blower_outlet_temperature(air_temperature: K, pressure_ratio: Factor, blower_efficiency: Fraction) -> K:
    """Air temperature at the outlet of a blower: adiabatic rise over its efficiency.

    All of the shaft power warms the air; what casing and pipe give off cools it, and is neglected.
    """
    return air_temperature * (
        1 + (pressure_ratio ** ((HEAT_RATIO - 1) / HEAT_RATIO) - 1) / blower_efficiency)


@dataclass(frozen=True)
class Blower:
    """The scour-air blower at its duty, SI; figures are of one.

    Parameters
    ----------
    flow : Figure
        Air at inlet conditions, m3/s.
    pressure_rise, outlet_temperature : Figure
        Pa and K.
    shaft_power, motor_rating, electric_power : Figure
        W.
    motor_full_load_efficiency : Figure
    """

    flow: Figure
    pressure_rise: Figure
    outlet_temperature: Figure
    shaft_power: Figure
    motor_rating: Figure
    motor_full_load_efficiency: Figure
    electric_power: Figure


def scour_blower(inp: Inputs, of: Bed, area: Figure, at_once: Figure, *, density: Figure,
                 electric: Electric) -> Blower:
    """Discharge pressure, power and motor of the blower that scours the filters of the plant.

    Parameters
    ----------
    of : Bed
    area : Figure
        Of one filter, m2.
    at_once : Figure
        Filters in backwash at one time, of the whole plant.
    density : Figure
        Of the coldest water that stands in a filter, kg/m3.
    electric : Electric

    Returns
    -------
    Blower
    """
    at = "scour_blower"
    flow = air_flow_per_blower.at(f"{at}.flow", air_scour_rate=inp.number("filters.scour_rate"), area=area,
                                  at_once=at_once, duty_count=inp.number(f"{at}.duty_count"))
    media = total_depth.at(f"{at}.media_depth", depth=of.media.depth, title="Depth of the media under the water")
    if of.support is None:
        support = assumed(f"{at}.support_depth", 0.0, "length", title="Support under the media", symbol="L_su",
                          text="no support layers", source="definition")
    else:
        support = total_depth.at(f"{at}.support_depth", depth=of.support.depth, title="Support under the media",
                                 symbol="L_su")
    water = water_over_underdrain.at(f"{at}.water_depth", media_depth=media, support_depth=support,
                                     freeboard=inp.number("filters.freeboard"),
                                     drain_depth=inp.number("filters.drain_depth"))
    standing = pressure_of_head.at(f"{at}.water_pressure", head=water, density=density,
                                   title="Pressure of the water over the underdrain", symbol="Delta_p_h")
    losses = sum_of_pressure_drops.at(f"{at}.losses", pressure_drop=inp.number(f"{at}.nozzle_drop"),
                                      other_drop=inp.number(f"{at}.line_drop"),
                                      title="Losses of air line and nozzles", symbol="Delta_p_l")
    held = inp.optional(f"{at}.pressure_rise")
    rise = sum_of_pressure_drops.at(f"{at}.pressure_rise" if held is None else f"{at}.pressure_needed",
                                    pressure_drop=standing, other_drop=losses,
                                    title="Pressure rise of the scour-air blower", symbol="Delta_p_b")
    if held is not None:
        checked(f"{at}.pressure_rise.check", held, ">=", rise, title="Scour-air blower pressure",
                do=f"raise {at}.pressure_rise, or clear it")
        rise = held
    inlet = assumed(f"{at}.inlet_pressure", 101325.0, "absolute pressure", title="Blower inlet pressure", symbol="p_1",
                    text="1 atm", source="common-practice", place="blowers are rated at one standard atmosphere",
                    note="the manufacturer corrects for the altitude of the site")
    ratio = blower_pressure_ratio.at(f"{at}.pressure_ratio", ambient_pressure=inlet, pressure_rise=rise)
    efficiency = inp.number(f"{at}.efficiency")
    shaft = adiabatic_blower_power.at(f"{at}.shaft_power", air_flow=flow, ambient_pressure=inlet,
                                      pressure_ratio=ratio, blower_efficiency=efficiency)
    outlet = blower_outlet_temperature.at(f"{at}.outlet_temperature", air_temperature=inp.number("power.ambient"),
                                          pressure_ratio=ratio, blower_efficiency=efficiency)
    check_limit(f"{at}.outlet_temperature.check", outlet, "scour-air-temperature",
                do=f"drain more water before the air (filters.drain_depth), or lower the losses ({at}.line_drop, "
                   f"{at}.nozzle_drop)",
                caution="A blower and its discharge pipe are hot and loud, and a shut valve overloads it. Guard or lag "
                        "them, wear hearing protection, and fit the blower with a relief valve.")
    motor = size_motor(at, shaft, electric, margin=inp.optional(f"{at}.motor_margin"),
                       motor=inp.optional(f"{at}.motor"))
    return Blower(flow, rise, outlet, shaft, motor.rating, motor.full_load_efficiency, motor.electric_power)
