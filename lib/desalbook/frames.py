"""Tables that know their units: coherent SI as they stand, and in a display set when they are called.

``plant.streams`` is an ordinary DataFrame whose numbers are coherent SI and whose ``attrs["units"]`` says the unit of
each column. ``plant.streams("us")`` is the same table as people read it, each header with its unit.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import pandas as pd

from desalbook.plant.rating import RATED
from desalbook.units import KINDS, in_currency, show, to_display, unit_label

__all__ = ["COLUMNS", "Table", "kinds_of", "table"]

COLUMNS: dict[str, dict[str, str]] = {
    "rate": dict(RATED),
    "streams": {
        "volume_flow": "flow", "pressure": "gauge pressure", "temperature": "temperature", "salinity": "salinity",
        "density": "density", "chemical_kg_s": "mass flow", "chemical_mean_kg_s": "mass flow"},
    "equipment": {
        "running_flow": "flow", "running_power": "power.electric", "installed_power": "power", "flow": "flow",
        "air_flow": "flow.air", "head": "head", "shaft_power": "power", "motor": "power",
        "electric_power": "power.electric", "mean_power": "power.electric", "running_time": "time", "volume": "volume",
        "diameter": "length",
        "day_tank": "volume.small", "bulk_storage": "volume", "calibration_column": "volume.small", "area": "area",
        "pressure_rise": "pressure difference", "capacity": "flow.dose",
        "rated_pressure": "gauge pressure", "apparent_power": "apparent power", "count": "count", "elements": "count",
        "modules": "count", "mass_empty": "mass", "mass_operating": "mass"},
    "weights": {
        "count": "count", "spread": "fraction", "mass_empty": "mass", "mass_operating": "mass", "mass_test": "mass",
        "total_empty": "mass", "total_operating": "mass", "total_test": "mass", "length": "length", "width": "length",
        "height": "length"},
    "skids": {
        "count": "count", "length": "length", "width": "length", "height": "length", "mass_empty": "mass",
        "mass_operating": "mass", **{f"centre_{axis}{end}": "length" for axis in "xyz" for end in ("", "_operating")},
        "lifted_mass": "mass", "leg_load": "mass", "lug_share": "fraction", "floor_load": "linear mass",
        "area_load": "area load"},
    "skid_items": {
        "x": "length", "y": "length", "z": "length", "length": "length", "width": "length", "height": "length",
        "mass_empty": "mass", "mass_operating": "mass"},
    "arrangement": {
        "x": "length", "y": "length", "length": "length", "width": "length", "height": "length",
        "clear_begin": "length", "clear_end": "length", "mass_operating": "mass"},
    "containers": {
        "items": "count", "mass": "mass", "payload": "mass", "length_used": "length", "floor_load": "linear mass",
        "floor_limit": "linear mass"},
    "line_list": {
        "count": "count", "outer_diameter": "length.small", "thickness": "length.small", "length": "length",
        "flow": "flow", "velocity": "velocity", "rated_pressure": "gauge pressure", "flanges": "count",
        "support_span": "length", "supports": "count", "slope": "fraction", "fall": "length",
        "mass_empty": "mass", "mass_full": "mass"},
    "valves": {"count": "count", "rated_pressure": "gauge pressure", "set_pressure": "gauge pressure",
               "relief_flow": "flow"},
    "hand_valves": {"count": "count", "rated_pressure": "gauge pressure"},
    "lines": {
        "flow": "flow", "inner_diameter": "length.small", "outer_diameter": "length.small",
        "thickness": "length.small", "wall_needed": "length.small", "length": "length", "velocity": "velocity",
        "velocity_limit": "velocity", "pressure_drop": "pressure difference", "wave_speed": "velocity",
        "surge": "pressure difference", "pren": "factor"},
    "design_pressures": {
        "working": "gauge pressure", "surge": "pressure difference", "credible": "gauge pressure",
        "governing": "gauge pressure", "rating": "gauge pressure", "rating_used": "fraction", "trip": "gauge pressure",
        "relief": "gauge pressure", "relief_flow": "flow"},
    "outages": {"share": "fraction", "product_left": "fraction", "product_flow": "flow.day"},
    "energy": {"machines": "count", "electric_power": "power.electric", "running_time": "time", "energy": "energy",
               "specific_energy": "specific energy", "cost": "money"},
    "loads": {"running": "count", "spare": "count", "rating": "power", "electric_power": "power.electric",
              "power_factor": "factor", "apparent_power": "apparent power", "current": "current",
              "start_current": "current", "cables": "count", "area": "conductor area", "voltage_drop": "fraction",
              "device": "current", "protective_area": "conductor area"},
    "meters": {"count": "count", "meter_class": "fraction", "transformer_class": "fraction",
               "voltage_class": "fraction", "share": "fraction", "current": "current", "primary": "current"},
    "costs": {"installed": "count", "unit_price": "money", "capital": "money", "spread": "fraction",
              "yearly_cost": "money", "water_cost": "money per volume"},
    # range and set points have the kind their row names
    "instruments": {"count": "count", "range_used": "fraction", "delay": "time.second", "respond": "time.minute"},
    "safety_devices": {"count": "count"},
    "sequences": {"least": "time.second", "watch": "time.second"},
    # a set point has the kind its row names
    "cause_effect": {"delay": "time.second"}, "permissives": {},
    "alarms": {"count": "count", "delay": "time.second", "respond": "time.minute"},
    "alarm_load": {"trains": "count", "plain": "count", "suppressed": "count"},
    "unit_sequences": {"least": "time.second", "watch": "time.second"},
    "trial": {"cases": "count", "broken": "count", "after": "time.second"},
    "signals": {"count": "count", "di": "count", "do": "count", "ai": "count", "ao": "count"},
    "guarantees": {"margin": "fraction"},
    "curves": {"flow": "flow", "system_clean": "head", "system_dirty": "head", "pump_head": "head"},
    "operating_points": {"flow": "flow", "flow_ratio": "fraction", "head": "head"},
    "chemicals": {
        "dose": "concentration", "mean_dose": "concentration", "flow": "flow", "mass_rate": "mass flow",
        "mean_mass_rate": "mass flow", "strength": "mass fraction", "solution_rate": "flow.dose",
        "lowest_rate": "flow.dose", "highest_rate": "flow.dose", "pump_capacity": "flow.dose", "turndown": "factor",
        "monthly_use": "mass", "yearly_use": "mass", "yearly_cost": "money", "day_tank": "volume", "store": "volume",
        "bund": "volume", "delivery_interval": "time.day"},
    "backwash_schedule": {"time": "time.minute", "intake": "flow", "raw_drawn": "flow", "raw_tank_short": "volume",
                      "wash_tank_short": "volume", "waste": "flow"},
}
"""Kind of each column of a table that is a number with a meaning, by the name of the table."""
_ENDS = {"_mol_s": "mole flow", "_kg_s": "mass flow", " feed pump": "flow", " RO feed": "flow",
         " backwash water": "flow", " waste": "flow", " filtered": "flow"}
"""Kind of a column by how its name ends, where there is one for each ion, train or filter."""


def kinds_of(name: str, columns: Any) -> dict[str, str]:
    """Kind of each column of a table that has one."""
    known = COLUMNS[name]
    found = {c: known.get(c) or next((kind for end, kind in _ENDS.items() if str(c).endswith(end)), None)
             for c in columns}
    return {c: kind for c, kind in found.items() if kind}


class Table(pd.DataFrame):
    """A table in coherent SI; call it with ``"si"`` or ``"us"`` for display units and headers that say them.

    ``attrs["kinds"]`` holds the kind of each column that is a number with a meaning, ``attrs["units"]`` its unit.
    """

    _shown: Callable[[str], pd.DataFrame] | None = None

    @property
    def _constructor(self) -> Any:
        return Table

    def __call__(self, units: str = "si") -> pd.DataFrame:
        """The table in display units.

        Parameters
        ----------
        units : {"si", "us"}

        Returns
        -------
        pandas.DataFrame
            Headers are ``name, unit``; ``attrs["units"]`` has them as well.
        """
        if self._shown is not None:
            return self._shown(units)
        frame, said = pd.DataFrame(self), {}
        names: dict[Any, Any] = {}
        for column, kind in self._kinds().items():
            unit = in_currency(unit_label(kind, units), kind, self.attrs.get("currency", ""))
            plain = str(column).removesuffix("_kg_s").removesuffix("_mol_s")  # the header says the unit shown
            names[column] = f"{plain}, {unit}" if unit else column
            frame[column] = to_display(frame[column].to_numpy(dtype=float), kind, units)
            said[names[column]] = unit
        frame = self._by_row(frame, units).rename(columns=names)
        frame.attrs = {"units": said, "display": units}
        return frame

    def _by_row(self, frame: pd.DataFrame, units: str) -> pd.DataFrame:
        """Where a column ``kind`` says what the numbers of a row are, they are shown so, with their unit."""
        bare = self._bare()
        if not bare:
            return frame
        for column in bare:
            frame[column] = [to_display(x, kind, units) if kind in KINDS else x
                             for x, kind in zip(self[column], self["kind"], strict=True)]
        frame["unit"] = [unit_label(kind, units) if kind in KINDS else "" for kind in self["kind"]]
        return frame

    def _bare(self) -> list[Any]:
        """Columns with a number of the kind of the row."""
        if "kind" not in self.columns:
            return []
        return [c for c in self.columns if self[c].dtype.kind == "f" and c not in self._kinds()]

    def _kinds(self) -> dict[Any, str]:
        return {c: kind for c, kind in self.attrs.get("kinds", {}).items() if c in self.columns}

    def _repr_html_(self) -> str | None:
        if self._shown is not None:
            return pd.DataFrame(self)._repr_html_()  # pyright: ignore[reportCallIssue, reportAttributeAccessIssue]
        frame, kinds = pd.DataFrame(self).astype(object), self._kinds()
        for column, kind in kinds.items():
            frame[column] = ["" if x is None or x != x else show(float(x), kind, unit=False) for x in self[column]]
        for column in self._bare():
            frame[column] = ["" if x != x else show(float(x), kind) if kind in KINDS else x
                             for x, kind in zip(self[column], self["kind"], strict=True)]
        frame.columns = pd.MultiIndex.from_tuples(
            [(c, unit_label(kinds[c], pretty=True) if c in kinds else "") for c in frame.columns])
        return frame._repr_html_()  # pyright: ignore[reportCallIssue, reportAttributeAccessIssue]


def table(frame: pd.DataFrame, kinds: Mapping[Any, str] | None = None,
          shown: Callable[[str], pd.DataFrame] | None = None, currency: str = "") -> Table:
    """A DataFrame as a table that knows its units.

    Parameters
    ----------
    frame : DataFrame
    kinds : mapping of column to kind, optional
    shown : callable, optional
        Gives the table in a display set, where its rows have units of their own.
    currency : str, optional
        Of its columns of money, which say it in their heads.
    """
    made = Table(frame)
    kinds = dict(kinds or {})
    made.attrs = {"kinds": kinds, "units": {c: KINDS[kind].si for c, kind in kinds.items()}}
    if currency:
        made.attrs["currency"] = currency
    made._shown = shown
    return made
