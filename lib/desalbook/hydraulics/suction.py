"""Suction: net positive suction head (NPSH) available and required, and what reaches the high-pressure pump.

The feed pump is fixed at its duty; the suction pressure of the high-pressure pump is a result.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from desalbook.hydraulics.constants import G
from desalbook.hydraulics.head import static_lift
from desalbook.hydraulics.pipes import Fluid
from desalbook.trail import Figure, checked, govern, maximum, relation
from desalbook.trail.words import unit_words
from desalbook.units import AbsolutePa, DifferencePa, Factor, GaugePa, Head, KgPerM3

__all__ = [
    "OpenSuction",
    "Suction",
    "check_npsh",
    "hp_suction",
    "hp_suction_pressure",
    "npsh_available",
    "npsh_available_from_pressure",
    "npsh_required_with_margin",
    "suction_limits",
]


@dataclass(frozen=True)
class OpenSuction:
    """At a pump that draws from an open tank: level over the pump and suction head available (m)."""

    static_head: Figure
    npsh_available: Figure


@dataclass(frozen=True)
class Suction:
    """At the high-pressure pump: gauge pressure (Pa) and suction head available (m)."""

    pressure: Figure
    npsh_available: Figure


@relation(
    "NPSH available",
    symbol="NPSH_a",
    unit="m",
    source="hi-9-6-1",
    place="absolute head less vapour pressure; velocity head neglected, on the safe side",
)
def npsh_available(
    ambient_pressure: AbsolutePa,
    vapour_pressure: AbsolutePa,
    density: KgPerM3,
    static_head: Head,
    friction_head: Head,
) -> Head:
    """NPSH available at a pump that draws from an open tank.

    Atmosphere and level over the pump, less vapour pressure and losses. Velocity head is neglected, on the safe
    side; dissolved gas that comes out and swirl at the inlet are not in it.
    """
    return (ambient_pressure - vapour_pressure) / (density * G) + static_head - friction_head


@relation(
    "NPSH available",
    symbol="NPSH_a",
    unit="m",
    source="hi-9-6-1",
    place="velocity head neglected, on the safe side",
)
def npsh_available_from_pressure(
    suction_pressure: GaugePa, ambient_pressure: AbsolutePa, vapour_pressure: AbsolutePa, density: KgPerM3
) -> Head:
    """NPSH available from the gauge pressure at the suction flange, brought to the pump's centre line.

    Velocity head is neglected, on the safe side; at or below none the water boils in the suction: cavitation.
    """
    return (suction_pressure + ambient_pressure - vapour_pressure) / (density * G)


@relation("Suction pressure of the HP pump", symbol="p_s", unit="Pa", source="definition")
def hp_suction_pressure(
    pump_head: Head,
    static_head: Head,
    friction_head: Head,
    density: KgPerM3,
    filter_drop: DifferencePa,
    cartridge_drop: DifferencePa,
) -> GaugePa:
    """Suction pressure of the high-pressure pump: what pipes, filters and cartridges leave of the feed pump's head.

    Takes the head of the feed pump as that of its duty in every water; pump curves move it by a few per cent.
    """
    return density * G * (pump_head - static_head - friction_head) - filter_drop - cartridge_drop


@relation(
    "NPSH required with margin",
    symbol="NPSH_m",
    unit="m",
    source="hi-9-6-1",
    note="a ratio, and at least a length; both are inputs",
)
def npsh_required_with_margin(npsh_required: Head, npsh_ratio: Factor, npsh_margin: Head) -> Head:
    """NPSH required with its margin against cavitation: the larger of a ratio and a fixed addition to NPSH3.

    NPSH3 is where head has already fallen by 3 %; the margin keeps the pump clear of erosion, not of every bubble.
    """
    return maximum(npsh_required * npsh_ratio, npsh_required + npsh_margin)


def hp_suction(
    *,
    head: Figure,
    static_lift: Figure,
    friction_head: Figure,
    fluid: Fluid,
    filter_drop: Figure,
    cartridge_drop: Figure,
    ambient_pressure: Figure,
    vapour_pressure: Figure,
) -> Suction:
    """Suction of the high-pressure pump in one case; call it inside the scope of that case.

    Parameters
    ----------
    head : Figure
        Of the feed pump, m; the same in all water.
    static_lift, friction_head : Figure
        m
    filter_drop, cartridge_drop : Figure
        At this case, Pa.
    ambient_pressure, vapour_pressure : Figure
        Absolute, Pa.
    """
    pressure = hp_suction_pressure.at(
        "hp_pump.suction_pressure",
        pump_head=head,
        static_head=static_lift,
        friction_head=friction_head,
        density=fluid.density,
        filter_drop=filter_drop,
        cartridge_drop=cartridge_drop,
    )
    available = npsh_available_from_pressure.at(
        "hp_pump.npsh_available",
        suction_pressure=pressure,
        ambient_pressure=ambient_pressure,
        vapour_pressure=vapour_pressure,
        density=fluid.density,
    )
    return Suction(pressure, available)


def suction_limits(
    by_corner: Mapping[str, Suction],
    *,
    npsh_required: Figure,
    npsh_ratio: Figure,
    npsh_margin: Figure,
    trip: Figure,
    limit: Figure,
) -> Suction:
    """Governing suction of the high-pressure pump, and its three checks.

    Parameters
    ----------
    by_corner : mapping of case to Suction
    npsh_required, npsh_margin : Figure
        m
    npsh_ratio : Figure
    trip, limit : Figure
        Low-pressure trip and maximum suction pressure of the casing, gauge, Pa.

    Returns
    -------
    Suction
        The smallest of each.
    """
    pressures = {c: s.pressure for c, s in by_corner.items()}
    least = govern("hp_pump.suction_pressure", pressures, "smallest", title="Suction pressure, minimum")
    most = govern("hp_pump.suction_pressure_maximum", pressures, "largest", title="Suction pressure, maximum")
    available = govern(
        "hp_pump.npsh_available",
        {c: s.npsh_available for c, s in by_corner.items()},
        "smallest",
        title="NPSH available, minimum",
    )
    needed = npsh_required_with_margin.at(
        "hp_pump.npsh_wanted", npsh_required=npsh_required, npsh_ratio=npsh_ratio, npsh_margin=npsh_margin
    )
    checked(
        "hp_pump.npsh_available.check",
        available,
        ">=",
        needed,
        title="HP pump NPSH available, dirty filters",
        do="raise hp_pump.suction_wanted or the feed pump's head",
        caution="Cavitation can destroy the pump within hours. Keep the NPSH margin at low level and in the "
                "hottest water.",
    )
    checked(
        "hp_pump.suction_pressure.check",
        least,
        ">=",
        trip,
        title="HP suction above the low-pressure trip",
        do="raise hp_pump.suction_wanted, or clean filters at a lower loss",
    )
    checked(
        "hp_pump.suction_pressure_maximum.check",
        most,
        "<=",
        limit,
        title="HP suction below the casing limit",
        do="lower the feed pump's head or fit a pressure control valve",
        caution="A casing above its rating can burst. Pressure parts follow the local pressure-vessel code.",
    )
    return Suction(least, available)


def check_npsh(
    prefix: str,
    *,
    level: Figure,
    pump_elevation: Figure,
    friction_head: Figure,
    density: Figure,
    ambient_pressure: Figure,
    vapour_pressure: Figure,
    npsh_required: Figure,
    npsh_ratio: Figure,
    npsh_margin: Figure,
) -> OpenSuction:
    """Suction head of a pump that draws from an open tank, ``{prefix}.npsh_available`` (m), with its check.

    Parameters
    ----------
    level, pump_elevation, friction_head : Figure
        m; the minimum level, and the hottest water, are on the safe side.
    ambient_pressure, vapour_pressure : Figure
        Absolute, Pa.
    """
    static = static_lift.at(
        f"{prefix}.suction_static",
        elevation_to=level,
        elevation_from=pump_elevation,
        title="Level over the pump",
    )
    available = npsh_available.at(
        f"{prefix}.npsh_available",
        ambient_pressure=ambient_pressure,
        vapour_pressure=vapour_pressure,
        density=density,
        static_head=static,
        friction_head=friction_head,
    )
    needed = npsh_required_with_margin.at(
        f"{prefix}.npsh_wanted", npsh_required=npsh_required, npsh_ratio=npsh_ratio, npsh_margin=npsh_margin
    )
    checked(
        f"{prefix}.npsh_available.check",
        available,
        ">=",
        needed,
        title=f"NPSH available, {unit_words(prefix)}",
        do="raise the tank, lower the pump, or widen the suction pipe",
        caution="Cavitation can destroy the pump within hours. Keep the NPSH margin at low level and in the "
                "hottest water.",
    )
    return OpenSuction(static, available)
