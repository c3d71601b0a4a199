"""How the two species of boron move along the vessels: the engine's answer for the membrane feed, all doses in.

Recorded once for each temperature of the walk; rating reads between these temperatures.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from desalbook import membrane as m
from desalbook.dosing import FEED_CHEMISTRY
from desalbook.plant.feedwater import FeedWater
from desalbook.plant.waters import TEMPERATURES
from desalbook.trail import engine, scope
from desalbook.trail.inputs import Inputs
from desalbook.water.phreeqc import engine_record

__all__ = ["between", "local_ph"]

KEYS = ("shift_1", "shift_2")


def local_ph(inp: Inputs, fed: FeedWater) -> FeedWater:
    """Record the shift of the borate share with concentration at each temperature.

    Returns
    -------
    FeedWater
        Its ``waters.at[temperature].borate_shift`` filled.
    """
    about, an, at = engine_record("brine"), fed.waters.analysis, {}
    steps = [inp(f"{n}.present") for n in FEED_CHEMISTRY]
    asked = {key: (fed.water(key), float(fed.waters.at[key].temperature)) for key in TEMPERATURES}
    for key in TEMPERATURES:
        temperature = fed.waters.at[key].temperature
        chain = {k: v for k, v in fed.inputs.items() if not k.startswith("acid_")}
        if f"acid_{key}" in fed.inputs:
            chain["acid"] = fed.inputs[f"acid_{key}"]
        with scope(corner=key, because=steps):
            shift = engine(
                "feed.borate_shift", m.borate_shift(*asked[key]), "factor", symbol="s",
                title="Boron speciation shift along the vessel", axis="coefficient", keys=KEYS,
                inputs=chain | {"temperature": temperature, "lab_temperature": an.temperature},
                library=about.library, version=about.library_version, data=about.database, checksum=about.sha256,
                source="phreeqc-2013",
                note="log10(borate/boric acid) with the logarithm of the concentration factor and its square; carbon "
                     "dioxide passes the membrane, so it does not concentrate; salt that passes is omitted")
        at[key] = replace(fed.waters.at[key], borate_shift=shift)
    return replace(fed, waters=replace(fed.waters, at=at))


def between(waters: Any, temperature: np.ndarray) -> np.ndarray:
    """Shifts at other temperatures, (cases, 2): straight lines between the recorded ones, held beyond them."""
    ends = sorted((float(waters.at[k].temperature), tuple(waters.at[k].borate_shift.values)) for k in TEMPERATURES)
    levels, values = [x for x, _ in ends], np.array([v for _, v in ends])
    return np.column_stack([np.interp(temperature, levels, values[:, i]) for i in range(len(KEYS))])
