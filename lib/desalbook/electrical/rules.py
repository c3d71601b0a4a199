"""The two ways an installation is calculated, as objects of a registry.

Each says its voltages, its tables of cables, devices and transformers, what current a motor's conductor is sized
for, and how the device is picked. They choose rows and factors; the code itself is read by a licensed person.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields

from desalbook.tables import table

__all__ = ["RULES", "WiringRules", "register"]


@dataclass(frozen=True)
class WiringRules:
    """One way.

    Parameters
    ----------
    key, title : str
    source : str
        Key of the bibliography.
    voltage, medium_voltage : str
        Usual between phases, where the design says nothing.
    cables, devices, transformers : str
        Tables.
    ampacity : callable
        Insulation and installation to the column of currents.
    conductor : callable
        Insulation to the temperature of the conductor the column stands for.
    conductor_factor : str
        Current a motor's conductor is sized for, over its full-load current.
    device_factor : str
        Rating of a motor's short-circuit device over full-load current, that is not passed by more than one size.
    motor_currents : str
        Table of full-load currents by rating; empty where they follow from efficiency and power factor.
    """

    key: str
    title: str
    source: str
    voltage: str
    medium_voltage: str
    cables: str
    devices: str
    transformers: str
    ampacity: Callable[[str, str], str]
    conductor: Callable[[str], str]
    conductor_factor: str
    device_factor: str
    motor_currents: str = ""


RULES: dict[str, WiringRules] = {}


def register(of: WiringRules) -> WiringRules:
    """Enter a way; refused by name where something is missing.

    Raises
    ------
    TypeError
        An attribute, table or column is missing, or the key is taken.
    """
    empty = [f.name for f in fields(of) if f.name != "motor_currents" and not getattr(of, f.name)]
    if empty or of.key in RULES:
        raise TypeError(f"rules {of.key}: {', '.join(empty) or 'entered already'}")
    columns = {"area", "resistance", *(of.ampacity(i, w) for i in ("xlpe", "pvc") for w in ("tray", "wall"))}
    lacking = sorted(columns - set(table(of.cables).columns))
    if lacking:
        raise TypeError(f"rules {of.key}: {of.cables} has no column {', '.join(lacking)}")
    RULES[of.key] = of
    return of


register(WiringRules(
    key="iec", title="IEC 60364", source="iec-60364-5-52", voltage="400 V", medium_voltage="6.6 kV",
    cables="cables_iec", devices="breakers_iec", transformers="transformers_iec",
    ampacity=lambda insulation, way: f"{insulation}_{way}",
    conductor=lambda insulation: {"xlpe": "90 degC", "pvc": "70 degC"}[insulation],
    conductor_factor="1", device_factor="1"))
register(WiringRules(
    key="nec", title="North American code", source="nec-430", voltage="480 V", medium_voltage="4.16 kV",
    cables="cables_nec", devices="breakers_nec", transformers="transformers_ansi",
    ampacity=lambda insulation, way: "copper_75", conductor=lambda insulation: "75 degC",
    conductor_factor="1.25", device_factor="2.5", motor_currents="motor_currents_nec"))
