"""The plots and drawings of one plant, by name."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from desalbook.problems import DesignError

if TYPE_CHECKING:
    from desalbook.drawings.drawing import Drawing
    from desalbook.plots.figure import Plot

__all__ = ["Plots"]


class Plots:
    """Plots of a sized plant, each a matplotlib figure in which a person may change anything; and its drawings as SVG.

    Parameters
    ----------
    plant : Plant
    """

    def __init__(self, plant: Any):
        self._plant = plant

    def __repr__(self) -> str:
        return f"<plots: {', '.join(n for n in dir(self) if not n.startswith('_'))}>"

    def pump_curve(self, units: str = "si") -> Plot:
        """Head over flow of one HP pump, full speed and each case; see `plots.pressure.pump_curve`."""
        from desalbook.plots import pressure

        return pressure.pump_curve(self._plant, units)

    def low_pressure_pumps(self, units: str = "si") -> Plot:
        """Head of each low-pressure pump and of its system, clean and dirty."""
        from desalbook.plots import pressure

        return pressure.low_pressure_pumps(self._plant, units)

    def energy(self, units: str = "si") -> Plot:
        """Energy per net product by consumer."""
        from desalbook.plots import pressure

        return pressure.energy(self._plant, units)

    def vessel_profile(self, case: str = "cold-aged", units: str = "si") -> Plot:
        """Flux, pressures, salinity and CP factor along the vessels in one case."""
        from desalbook.plots import membrane

        return membrane.vessel_profile(self._plant, case, units)

    def envelope(self, units: str = "si") -> Plot:
        """Feed pressure and permeate boron over temperature and age."""
        from desalbook.plots import membrane

        return membrane.envelope(self._plant, units)

    def scaling(self, units: str = "si", temperature: str = "hot") -> Plot:
        """Saturation index of each mineral at the membrane over recovery."""
        from desalbook.plots import membrane

        return membrane.scaling(self._plant, units, temperature)

    def bed(self, units: str = "si") -> Plot:
        """Expansion of the filter bed over the temperature of the backwash water."""
        from desalbook.plots import filters

        return filters.bed(self._plant, units)

    def filter_run(self, units: str = "si") -> Plot:
        """Pressure drop of the filters through a run."""
        from desalbook.plots import filters

        return filters.filter_run(self._plant, units)

    def limits(self, units: str = "si", most: int = 20) -> Plot:
        """How much of its limit each check uses, the tightest first."""
        from desalbook.plots import limits

        return limits.limits(self._plant, units, most)

    def ions(self, units: str = "si", analysis: str = "water") -> Plot:
        """Equivalents of each ion of the raw water, cations against anions."""
        from desalbook.plots import waters

        return waters.ions(self._plant, units, analysis)

    def motor_starts(self, units: str = "si") -> Plot:
        """Voltage dip of each motor when it starts, with its limit."""
        from desalbook.plots import power

        return power.motor_starts(self._plant, units)

    def water_line(self, units: str = "si", width: int = 1200) -> Drawing:
        """The plant as one ribbon of water: height is pressure, width flow, tint salinity."""
        from desalbook.drawings.water_line.plant import picture

        if not self._plant.stops:
            raise DesignError("this plant has no water line", where="plot.water_line",
                              do="size a plant with a course of water")
        return self._drawing(picture(self._plant, units, width=width), "Water line")

    def battery_plan(self, units: str = "si") -> Drawing:
        """Plan of the filters of one train, to scale."""
        from desalbook.drawings.filters import battery_plan

        self._filters("battery_plan")
        return self._drawing(battery_plan(self._plant, units), "Plan of the battery of one train")

    def backwashes(self, units: str = "si") -> Drawing:
        """Whose backwash is when through a run, and the steps of one."""
        from desalbook.drawings.filters import wash_timeline

        self._filters("backwashes")
        return self._drawing(wash_timeline(self._plant, units), "Backwash schedule")

    def cleaning(self, units: str = "si") -> Drawing:
        """Sequence of a cleaning of one bank along time."""
        from desalbook.drawings.cleaning import cleaning_picture

        return self._drawing(cleaning_picture(self._plant, units), "Sequence of a cleaning")

    def supply(self, units: str = "si") -> Drawing:
        """Network, transformer, panels and their loads in a single line."""
        from desalbook.drawings.supply import single_line

        return self._drawing(single_line(self._plant, units), "Supply in a single line")

    def outfall(self, units: str = "si") -> Drawing:
        """The jet of the concentrate in the sea, to scale."""
        from desalbook.drawings.outfall import jet_picture

        return self._drawing(jet_picture(self._plant, units), "Jet of the concentrate")

    def _filters(self, name: str) -> None:
        if self._plant.sized.pretreated.wash is None:
            raise DesignError("this plant has no filters", where=f"plot.{name}", do="set filters.present to add them")

    def _drawing(self, html: str, name: str) -> Drawing:
        from desalbook.drawings.drawing import Drawing
        from desalbook.fine import fine

        return Drawing(fine(html), name)
