"""Surge (water hammer): speed of a pressure wave in a pipe, and the Joukowsky pressure when the flow stops.

Air, column separation downstream of a pump that trips, and reflections of branched lines are not modelled: a long
line is given to a surge study.
"""

from __future__ import annotations

from dataclasses import dataclass

from desalbook.trail import Figure, minimum, relation, sqrt
from desalbook.units import DifferencePa, KgPerM3, M, MPerS, S

__all__ = ["Wave", "joukowsky_surge", "pressure_wave_speed", "run_surge"]


@dataclass(frozen=True)
class Wave:
    """Wave speed (m/s) and surge (Pa)."""

    speed: Figure
    surge: Figure


@relation(
    "Speed of a pressure wave",
    symbol="c_w",
    unit="m/s",
    source="wylie-streeter",
    place="thin elastic wall, factor of restraint 1",
    note="water without air, thin wall; air makes it slower and the wave lower",
)
def pressure_wave_speed(
    bulk_modulus: DifferencePa, density: KgPerM3, inner_diameter: M, elastic_modulus: DifferencePa, thickness: M
) -> MPerS:
    """Speed of a pressure wave in a pipe: stiffness of the water, made softer by the elastic wall.

    Thin wall, anchored throughout, water without air; a per cent of air slows the wave several times over.
    """
    return sqrt(bulk_modulus / density) / sqrt(1 + bulk_modulus * inner_diameter / (elastic_modulus * thickness))


@relation(
    "Surge when the flow stops",
    symbol="Delta_p_w",
    unit="Pa",
    source="wylie-streeter",
    place="Joukowsky for a stop within the return time of the wave, else in proportion to it",
    note="one pipe, even stop, friction neglected; a check valve that slams may go beyond it",
)
def joukowsky_surge(density: KgPerM3, wave_speed: MPerS, velocity: MPerS, length: M, stop_time: S) -> DifferencePa:
    """Joukowsky surge: density times wave speed times the velocity stopped, less where the stop is slow.

    One pipe, even stop, no friction; beyond twice the travel time of the wave the pressure falls in proportion to the
    time of the stop. A check valve that slams, and column separation, may go beyond it.
    """
    return density * wave_speed * velocity * minimum(1, 2 * length / (wave_speed * stop_time))


def run_surge(
    prefix: str,
    *,
    velocity: Figure,
    density: Figure,
    bulk_modulus: Figure,
    elastic_modulus: Figure,
    inner_diameter: Figure,
    thickness: Figure,
    length: Figure,
    stop_time: Figure,
) -> Wave:
    """Wave speed and surge of one run, ``{prefix}.wave_speed`` and ``{prefix}.surge``.

    Parameters
    ----------
    velocity : Figure
        The velocity that is stopped, m/s.
    density : Figure
        kg/m3
    bulk_modulus, elastic_modulus : Figure
        Of the water and of the wall, Pa.
    inner_diameter, thickness, length : Figure
        m
    stop_time : Figure
        s
    """
    speed = pressure_wave_speed.at(
        f"{prefix}.wave_speed",
        bulk_modulus=bulk_modulus,
        density=density,
        inner_diameter=inner_diameter,
        elastic_modulus=elastic_modulus,
        thickness=thickness,
    )
    surge = joukowsky_surge.at(
        f"{prefix}.surge",
        density=density,
        wave_speed=speed,
        velocity=velocity,
        length=length,
        stop_time=stop_time,
    )
    return Wave(speed, surge)
