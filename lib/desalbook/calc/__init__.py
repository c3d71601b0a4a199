"""Stand-alone calculations: one question, the same equations as in a whole plant, and an answer with its trail.

    from desalbook import calc
    battery = calc.filters(flow="285 m3/h", rate_limit="12 m/h")
    battery["filters.count"], battery.show("filters.diameter"), battery.checks

Arguments are named and take a text with its unit, a pint Quantity, or a value of another calculation; a bare number
only where the quantity has no unit. Ranges, defaults and cautions are those of the design file; any key of it goes in
``also={"filters.diameter": "2 m"}``, and ``design=`` takes all that is not written from a design. ``help`` of each
lists its arguments.
"""

from __future__ import annotations

import importlib
from typing import Any

_HOME: dict[str, tuple[str, str]] = {
    "tank": ("pretreatment", "Raw-water tanks for a flow and a retention time."),
    "filters": ("pretreatment", "Battery of pressure filters: number, diameter, filtration rates, clean head loss."),
    "backwash": ("pretreatment",
                 "Backwash of a filter battery: rate, flow, expansion by layer, volume, air scour, time, "
                 "waste."),
    "cartridges": ("pretreatment",
                   "Cartridge filters: number, housings, loading with one housing out, interval of changes."),
    "pump": ("pumping", "Pump: total dynamic head, NPSH available, hydraulic and shaft power, motor."),
    "hp_pump": ("pumping", "High-pressure pump: head, stages, efficiency, shaft power, motor, electrical power."),
    "energy_recovery": ("pumping",
                        "Energy recovery devices on one duty: none, turbines, turbocharger, isobaric; power"
                        " and specific energy of each."),
    "pipe": ("piping",
             "Run of pipe: bore for its velocity, Reynolds number, friction factor, head loss, surge when "
             "the flow stops."),
    "wall": ("piping", "Metal pipe under pressure: nominal size, schedule, and the wall the pressure asks for."),
    "surge": ("piping",
              "Surge when the flow in a pipe stops: speed of the pressure wave, and the rise of pressure "
              "after Joukowsky."),
    "membranes": ("membrane",
                  "Membrane array: vessels, flux, feed pressure, permeate salt and boron, cold to hot and "
                  "new to aged."),
    "element": ("membrane",
                "Membrane element: permeabilities for water, salt and boron fitted to the rated test of its"
                " sheet."),
    "least_work": ("membrane",
                   "Least work of separation of a water at a recovery, and the minimum energy of one stage "
                   "at constant pressure."),
    "water": ("waters",
              "Water: analysis, ion balance, TDS, and density, viscosity, osmotic and vapour pressure at "
              "three temperatures."),
    "scaling": ("waters",
                "Scaling: saturation indices of a water, as it is and concentrated, with Langelier and "
                "Stiff and Davis index."),
    "blend": ("waters", "Blend of waters: ions, pH, TDS and properties of several analyses by their shares."),
    "remineralisation": ("waters",
                         "Remineralisation of a permeate: pH, alkalinity, calcium, LSI and CCPP after "
                         "mineral, carbon dioxide and alkali."),
    "disinfection": ("chemicals",
                     "Disinfection by contact time: CT of product tanks against what Giardia and viruses "
                     "require, one tank out as well."),
    "dose": ("chemicals",
             "Chemical dose: mass and feed rate, dosing pump, day tank, bulk storage, deliveries, bund, use"
             " and cost of a year."),
    "dechlorination": ("chemicals",
                       "Dechlorination: dose of dechlorination agent for a residual, feed rate, pump and "
                       "tanks; oxygen and alkalinity it"),
    "antiscalant": ("chemicals", "Antiscalant: feed rate of a product, dosing pump, day tank, storage, deliveries."),
    "acid": ("chemicals",
             "Acid to a pH of the RO feed: amount by the carbonate and borate balance, dose, feed rate, "
             "pump and tanks."),
    "cip": ("membrane",
            "CIP system: tank, flow, pump, heater, cartridges, chemicals of each batch and time for a "
            "train."),
    "outfall": ("membrane",
                "Outfall: dense jets at 60 degrees, their rise, fall, dilution and the salt left at the end"
                " of the near field."),
}
"""Module and first line of each calculation, in the order of the water."""

__all__ = [*_HOME]
__doc__ = f"{__doc__}\n" + "\n".join(f"{name:<18}{said}" for name, (_, said) in _HOME.items()) + "\n"


def __getattr__(name: str) -> Any:
    """Load a calculation when it is asked for: the import itself stays short."""
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no calculation {name!r}; it has {', '.join(_HOME)}")
    found = getattr(importlib.import_module(f"{__name__}.{_HOME[name][0]}"), name)
    globals()[name] = found
    return found


def __dir__() -> list[str]:
    return [*_HOME]
