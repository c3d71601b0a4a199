"""The plots of one plant, by name."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from desalbook.plots.figure import Plot

__all__ = ["Plots"]


class Plots:
    """Plots of a sized plant; each gives a matplotlib figure in which a person may change anything.

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
        """Flux, pressures, salinity and CP factor along the vessels at one case."""
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
