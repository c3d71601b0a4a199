"""The panel: heat of drives and gear, and how it leaves.

Steady, still air. Enclosures near seawater are coated, gasketed and heated against condensation.
"""

from __future__ import annotations

from desalbook.trail import maximum, relation
from desalbook.units import M2, DeltaK, ElectricW, Fraction, JPerKgK, K, KgPerM3, M, M3PerS, WPerM2K

__all__ = ["cooling_air", "drive_loss", "panel_surface", "shed_heat", "surplus_heat"]


@relation("Heat of the drives", symbol="P_v", unit="W", source="definition")
def drive_loss(electric_power: ElectricW, drive_efficiency: Fraction) -> ElectricW:
    """Heat of speed drives: what they take and do not pass on.

    At the load they run at.
    """
    return electric_power * (1 - drive_efficiency)


@relation("Surface of a panel that gives off heat", symbol="A_p", unit="m^2", source="iec-60890",
          note="free standing on all sides, from memory")
def panel_surface(panel_height: M, panel_width: M, panel_depth: M) -> M2:
    """Effective surface of a free-standing enclosure: sides whole, top more, floor not at all.

    For one that stands free; against a wall it is less.
    """
    return 1.8 * panel_height * (panel_width + panel_depth) + 1.4 * panel_width * panel_depth


@relation("Heat that leaves through the walls", symbol="P_w", unit="W", source="iec-60890")
def shed_heat(panel_surface: M2, heat_transfer: WPerM2K, inside_temperature: K, room_temperature: K) -> ElectricW:
    """Heat that leaves through the walls of an enclosure, between its air and the room.

    Painted steel, still air; negative where the room is warmer and heat comes in.
    """
    return panel_surface * heat_transfer * (inside_temperature - room_temperature)


@relation("Heat for a fan or cooler", symbol="P_c", unit="W", source="definition")
def surplus_heat(drive_heat: ElectricW, gear_heat: ElectricW, wall_heat: ElectricW) -> ElectricW:
    """Heat that must be carried out by air or a cooler: what the walls do not shed.

    Nothing where they shed it all.
    """
    return maximum(drive_heat + gear_heat - wall_heat, 0)


@relation("Air flow of the panel", symbol="Q_a", unit="m^3/s", source="definition")
def cooling_air(heat: ElectricW, air_density: KgPerM3, air_heat_capacity: JPerKgK, air_rise: DeltaK) -> M3PerS:
    """Flow of room air that carries the heat of a panel out.

    Filtered air; salt air asks for a closed cooler instead.
    """
    return heat / (air_density * air_heat_capacity * air_rise)
