"""Relations of the intake, of fouling tests and of the life of cartridges."""

from __future__ import annotations

from typing import Annotated

from desalbook.hydraulics.constants import G
from desalbook.trail import constant, minimum, relation
from desalbook.units import (
    KINDS,
    M2,
    M3,
    Concentration,
    Count,
    DifferencePa,
    ElectricW,
    Factor,
    Fraction,
    Head,
    J,
    Kg,
    KgPerM3,
    KgPerS,
    M,
    M3PerS,
    MPerS,
    PaS,
    S,
    W,
)

__all__ = [
    "cartridge_life",
    "cell_power",
    "change_interval",
    "contact_of_tank",
    "intake_head_of",
    "intake_power",
    "mfi_of",
    "opening_velocity",
    "plugging_of",
    "screen_area",
    "screen_head",
    "sdi_of",
    "time_left",
]

FoulingIndex = Annotated[float, KINDS["fouling index"]]
Litres = Annotated[float, KINDS["volume.small"]]
MINUTE = constant("T_1", 60.0, "s", source="definition", title="One minute")
KILOGRAM = constant("m_1", 1.0, "kg", source="definition", title="One kilogram")
PRESSURE = constant("p_r", 207e3, "Pa", source="astm-d8002", title="Pressure of the test, 30 psi")
AREA = constant("A_r", 13.8e-4, "m^2", source="astm-d8002", title="Area of a 47 mm disc")
S_PER_L2 = constant("s/L2", 1e6, "s/m^6", source="definition", title="One second per litre squared")
VISCOSITY = constant("mu_20", 1.0016e-3, "Pa s", source="iapws-r12-08", title="Viscosity of water at 20 degC")


@relation("Area of the screen", symbol="A_s", unit="m^2", source="common-practice")
def screen_area(raw_flow: M3PerS, velocity: MPerS, open_share: Fraction, clean_share: Fraction) -> M2:
    """Gross area, part of its openings blocked."""
    return raw_flow / (velocity * open_share * clean_share)


@relation("Velocity in the openings, screen clean", symbol="v_o", unit="m/s", source="definition")
def opening_velocity(raw_flow: M3PerS, area: M2, open_share: Fraction) -> MPerS:
    """All openings clear."""
    return raw_flow / (area * open_share)


@relation("Head lost at the screen", symbol="h_s", unit="m", source="common-practice")
def screen_head(loss_coefficient: Factor, velocity: MPerS) -> Head:
    """On the velocity in the openings."""
    return loss_coefficient * velocity**2 / (2 * G)


@relation("Head of the intake pump", symbol="H_i", unit="m", source="definition")
def intake_head_of(elevation_to: M, elevation_from: M, screen_loss: Head, friction_head: Head,
                   strainer_drop: DifferencePa, density: KgPerM3) -> Head:
    """Lowest tide to full tank, screen, pipes, strainer."""
    return elevation_to - elevation_from + screen_loss + friction_head + strainer_drop / (density * G)


@relation("Shaft power of the intake pumps", symbol="P_i", unit="W", source="definition")
def intake_power(raw_flow: M3PerS, pump_head: Head, density: KgPerM3, pump_efficiency: Fraction) -> W:
    """All of the raw water."""
    return raw_flow * pump_head * density * G / pump_efficiency


@relation("Time the raw tank lasts without intake", symbol="t_l", unit="s", source="definition")
def time_left(volume: M3, flow: M3PerS) -> S:
    """Usable volume over what is drawn."""
    return volume / flow


@relation("Contact time of the tank (T10)", symbol="t_10", unit="s", source="epa-profiling-1999",
          note="a share of the mean detention by its baffling; a tracer test replaces it")
def contact_of_tank(volume: M3, raw_flow: M3PerS, contact_share: Fraction) -> S:
    """Effective part of the detention."""
    return contact_share * volume / raw_flow


@relation("Power of on-site chlorine", symbol="P_Cl", unit="W", source="common-practice",
          note="alternating current at the rectifier; its hydrogen is diluted and vented")
def cell_power(mass_flow: KgPerS, energy: J) -> ElectricW:
    """Rate times energy of a kilogram."""
    return mass_flow * energy / KILOGRAM


@relation("Plugging of the test filter", symbol="P_30", unit="1", source="astm-d4189")
def plugging_of(first_time: S, last_time: S) -> Fraction:
    """How much longer the last sample took."""
    return 1 - first_time / last_time


@relation("Silt density index", symbol="SDI", unit="1", source="astm-d4189", place="per cent a minute",
          within={"plugging": (None, "75 %")},
          note="beyond 75 % plugging the test is taken over ten or five minutes")
def sdi_of(plugging: Fraction, interval: S) -> FoulingIndex:
    """Plugging over the interval."""
    return 100 * plugging / (interval / MINUTE)


@relation("Modified fouling index", symbol="MFI", unit="1", source="astm-d8002",
          place="in s/L2, at 20 degC, 207 kPa and 13.8 cm2; from memory",
          note="between two readings on the straight part of the curve")
def mfi_of(first_time: S, first_volume: Litres, last_time: S, last_volume: Litres, viscosity: PaS,
           pressure_drop: DifferencePa, area: M2) -> FoulingIndex:
    """Slope of time over volume against volume, brought to the conditions of the test."""
    return (
        (last_time / last_volume - first_time / first_volume) / (last_volume - first_volume) / S_PER_L2
        * (VISCOSITY / viscosity) * (pressure_drop / PRESSURE) * (area / AREA) ** 2
    )


@relation("Life of cartridges by their solids", symbol="t_m", unit="s", source="from-memory")
def cartridge_life(capacity: Kg, cartridges: Count, cartridge_equivalents: Count, flow: M3PerS,
                   solids: Concentration) -> S:
    """What they hold over what comes; all is taken to be caught, which is on the safe side."""
    return capacity * cartridges * cartridge_equivalents / (flow * solids)


@relation("Cartridges changed after", symbol="t_c", unit="s", source="common-practice")
def change_interval(by_solids: S, change_longest: S) -> S:
    """The sooner of solids and slime."""
    return minimum(by_solids, change_longest)
