"""Plots of a sized plant: matplotlib figures that a person can restyle and save.

``plant.plot.pump_curve()`` gives a `Plot`, an ordinary ``matplotlib.figure.Figure`` without any state of pyplot: change
its axes, ``savefig`` it, put it in a report. Colours are those of the one theme; in a notebook it follows the ground.
"""

from desalbook.plots.plant import Plots

__all__ = ["Plots"]
