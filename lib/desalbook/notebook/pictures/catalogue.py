"""The catalogue of pictures: what each is called, and the function that draws it.

A step of the walk names its pictures by key. A key without an entry, an entry that no step shows and a function
that is not one of (plant, units) are refused when this is imported.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import partial

from desalbook.drawings.cleaning import cleaning_picture
from desalbook.drawings.filters import battery_plan, wash_timeline
from desalbook.drawings.outfall import jet_picture
from desalbook.drawings.supply import single_line
from desalbook.notebook.pictures import (
    controls,
    cost,
    dosing,
    filters,
    ions,
    margins,
    membranes,
    power,
    pressure,
    product,
    scaling,
    systems,
)
from desalbook.notebook.steps import STEPS, Step
from desalbook.problems import TrailError

__all__ = ["PICTURES", "Picture", "complete", "drawings"]

Draw = Callable[..., str]


@dataclass(frozen=True)
class Picture:
    """One picture of a sized plant.

    Parameters
    ----------
    key, title : str
    draw : callable
        (plant, units) gives HTML.
    fits : bool
        Drawn for the width it is shown at, with ``width`` in pixels, so that its words keep their size.
    """

    key: str
    title: str
    draw: Draw
    fits: bool = False

    def __post_init__(self) -> None:
        if tuple(inspect.signature(self.draw).parameters)[:2] != ("plant", "units"):
            raise TrailError("a picture is drawn from (plant, units)", where=f"pictures.{self.key}")


def complete(pictures: Iterable[Picture], steps: Iterable[Step]) -> Mapping[str, Picture]:
    """Pictures by key, when they are those that the steps show.

    Raises
    ------
    TrailError
        Names the key that is missing, not shown, or there twice.
    """
    by_key: dict[str, Picture] = {}
    for one in pictures:
        if one.key in by_key:
            raise TrailError("two pictures of one key", where=f"pictures.{one.key}")
        by_key[one.key] = one
    shown = {key for step in steps for key in step.pictures}
    for key in sorted(shown ^ by_key.keys()):
        raise TrailError("a step shows a picture that is not in the catalogue" if key in shown else
                         "a picture that no step shows", where=f"pictures.{key}")
    return by_key


PICTURES = complete((
    Picture("margins", "How near the limits", margins.margins_picture, fits=True),
    Picture("energy", "Energy by consumer", pressure.energy_picture),
    Picture("ions", "Ion balance", ions.ions_picture),
    Picture("scaling", "Saturation at the membrane over recovery", scaling.scaling_picture),
    Picture("battery-plan", "Plan of the battery", battery_plan),
    Picture("backwashes", "Backwashes of a day", wash_timeline),
    Picture("bed-expansion", "Expansion of the bed", filters.expansion_by_temperature),
    Picture("filter-head-loss", "Head loss through the day", filters.loss_through_day),
    Picture("vessel", "Along a vessel, cold and aged", membranes.governing_vessel),
    Picture("envelope", "Temperature and age", membranes.envelope_picture),
    Picture("hp-pump", "HP pump", pressure.pump_picture),
    Picture("pump-systems", "Low-pressure pumps and their systems", systems.system_picture),
    Picture("chemicals", "Chemicals along the plant", dosing.dosing_picture),
    Picture("product-window", "The window of the product", product.window_picture),
    Picture("cleaning", "Sequence of a cleaning", cleaning_picture),
    Picture("single-line", "Supply in a single line", single_line),
    Picture("start-dips", "Voltage when each motor starts", power.start_dips),
    Picture("water-cost", "Cost of water by part", cost.water_bars),
    Picture("capital", "Capital by item", cost.capital_bars),
    Picture("start-and-stop", "Start, service and stop of a train", controls.start_and_stop),
    Picture("outfall", "The concentrate at the outfall", jet_picture),
), STEPS.values())
"""Every picture by its key."""


def drawings(step: Step, width: int = 0) -> Iterator[tuple[str, Draw]]:
    """Title and drawing function of each picture of a step, drawn for a width where it fits one and one is given."""
    for key in step.pictures:
        one = PICTURES[key]
        yield one.title, partial(one.draw, width=width) if one.fits and width else one.draw
