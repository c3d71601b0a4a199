"""Cautions of rated cases: the checks of the sized plant, asked again of each case, and relations out of range.

Limits are those of the plant's own checks, whether a person, a sheet or a table gave them.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from desalbook.hydraulics.design_pressure import rating_fraction_used
from desalbook.plant.pressure_train import TrainRun
from desalbook.plant.walk import Sized
from desalbook.trail import Figure, Line, Values, values
from desalbook.units import show

__all__ = ["cautions"]

FIRST_PASS = ("flux", "lead_flux", "element_recovery", "recovery_polarisation", "vessel_feed", "vessel_concentrate",
              "element_drop", "vessel_drop", "feed_pressure")
"""Membrane quantities that have a check under their own name."""


def cautions(sized: Sized, passes: Mapping[str, Mapping[str, np.ndarray]], run: TrainRun, temperature: np.ndarray,
             feed_pressure: np.ndarray, book: Values) -> np.ndarray:
    """What to be warned of in each case, sentences joined; empty where nothing is.

    Parameters
    ----------
    passes : mapping
        Outputs of the worst stage by pass, under the first part of the ids of its checks.
    run : TrainRun
        The pressure train over the cases.
    temperature, feed_pressure : array
        K; gauge, Pa.
    book : Values
        Of the run; relations out of their range are in it.
    """
    lines = sized.ledger.lines
    found = np.full(len(temperature), "", dtype=object)

    def say(mask: np.ndarray, words: str) -> None:
        mask = np.broadcast_to(mask, found.shape)
        if mask.any():
            found[mask] += np.where(found[mask] == "", words, f"; {words}")

    def judge(id: str, provided: np.ndarray | Figure) -> None:
        line = lines.get(id)
        if line is not None and line.kind is not None:
            say(breaks(line, provided), f"{line.title}: {'above' if line.more['sense'] == '<=' else 'below'} "
                                        f"{show(line.more['limit'], line.kind)}")

    for prefix, out in passes.items():
        for name in FIRST_PASS:
            if name in out:
                judge(f"{prefix}.{name}.check", out[name])
    with values(keep=False):
        used = rating_fraction_used.at("membrane.rating_used", governing_pressure=feed_pressure,
                                       pressure_rating=sized.ledger["membrane.pressure_rating"])
    judge("membrane.rating_used.check", used)
    judge("membrane.temperature.check", temperature)
    if run.hp.flow_fraction is not None:
        judge("hp_pump.flow_fraction_minimum.check", run.hp.flow_fraction)
        judge("hp_pump.flow_fraction_maximum.check", run.hp.flow_fraction)
    judge("hp_pump.motor_usable.check", run.hp.shaft_power)
    if run.recovery.reject_out is not None:
        say(np.asarray(run.recovery.reject_out < run.recovery.exhaust_pressure),
            "Low-pressure outlet of the energy recovery device: below its back-pressure")
    say(np.asarray(run.hp.reaches) < 1, "The HP pump does not reach the case")
    for id, said in book.cautions.items():
        for sentence, mask in said:
            say(mask, f"{id}: {sentence}")
    return found


def breaks(line: Line, provided: np.ndarray | Figure) -> np.ndarray:
    """Where the provided numbers break the limit of a check; to a billionth of it, as sizes are picked."""
    limit, slack = line.more["limit"], 1e-9 * abs(line.more["limit"])
    broken = provided > limit + slack if line.more["sense"] == "<=" else provided < limit - slack
    return np.asarray(broken)
