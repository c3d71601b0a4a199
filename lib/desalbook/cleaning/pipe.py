"""The run of pipe of the cleaning skid: one bore and one length, whichever section of the design says them."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

from desalbook.cleaning.relations import next_step
from desalbook.hydraulics.pipes import Pipe, run_input, size_pipe
from desalbook.trail import Figure, is_given, note
from desalbook.units import show

__all__ = ["cleaning_pipe"]

RUN = "piping.runs[cleaning]"


def cleaning_pipe(inp: Callable[[str], Any], flow: Figure) -> Pipe:
    """Pipe of the cleaning circuit at its flow (m3/s): what ``[cip]`` says of it, else what its run says.

    The volume of the pipe, its loss, its wall and its surge all take this one.
    """
    step = inp("cip.pipe_step")

    def whole(id: str, least: Figure) -> Figure:
        return next_step.at(id, least_diameter=least, diameter_step=step)

    held, length = inp("cip.pipe_diameter"), inp("cip.pipe_length")
    for key, one, other in (("pipe_diameter", held, run_input(inp, RUN, "diameter")),
                            ("pipe_length", length, run_input(inp, RUN, "length"))):
        _compare(f"cip.{key}", one, other)
    return size_pipe(RUN, inp, flow, held=held, length=length, velocity_limit=inp("cip.pipe_velocity"),
                     pick=None if step is None else whole)


def _compare(id: str, one: Figure | None, other: Figure | None) -> None:
    """Where both sections say it, they say the same."""
    if one is None or other is None or not is_given(other.id):
        return
    same = math.isclose(float(one), float(other), rel_tol=1e-6)
    note(f"{id}.check", title=f"{one.title}: one figure in two places",
         verdict="holds" if same else "fails",
         why="both say the same" if same else
         f"it says {show(float(one), one.kind)}, {other.id} says {show(float(other), other.kind)}; the first is taken",
         do=f"leave out {id}, or write the same in both", inputs={"first": one, "second": other})
