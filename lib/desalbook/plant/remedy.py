"""What would lift a limit that no number of vessels meets: tried with the same solver, not guessed."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from desalbook.duty.flows import feed_for
from desalbook.trail import values

__all__ = ["lower_recovery"]

STEPS = (1, 3, 6, 10, 15, 21, 28)  # per cent of recovery below the next whole one; then each between two of these
LEAST = 5
COUNTS = 6
OTHER = "choose another element (membrane.element), or change membrane.elements"

Judge = Callable[[np.ndarray, np.ndarray, slice], list[str]]


def lower_recovery(judge: Judge, counts: np.ndarray, said: list[str], corners: tuple[str, ...], permeate: float,
                   recovery: float) -> str:
    """The maximum of a few lower recoveries that some number of vessels carries, in words.

    Parameters
    ----------
    judge : callable
        ``judge(counts, feeds, cases)``: one number of vessels and one feed of the train (m3/s) a candidate, and the
        cases it is judged in -> for each candidate and case the limit it breaks.
    counts, said : array, list of str
        Counts tried at the recovery of the design, and what they broke.
    permeate, recovery : float
        m3/s of one train; of the design.

    Returns
    -------
    str
        What to do.
    """
    k = len(corners)
    # the average flux does not know the recovery: fewer vessels than it asks for need not be tried
    enough = [j for j in range(len(counts)) if "Average flux" not in said[j * k:(j + 1) * k]]
    some = counts[enough[0]:enough[0] + COUNTS] if enough else counts[-COUNTS:]
    top = int(np.ceil(recovery * 100 - 1e-9))
    # what the hardest case refuses need not be solved in the others
    hard = int(np.argmax([np.count_nonzero(said[i::k]) for i in range(k)]))

    def carried(percents: list[int]) -> tuple[int, float] | None:
        """The first that some number of vessels carries: its place and that number."""
        lower = np.repeat([p / 100 for p in percents], len(some))
        with values(keep=False):
            feeds = feed_for.at("membrane.feed_flow", permeate_flow=permeate, recovery=lower)
        every = np.tile(some, len(percents))
        left = [i for i, words in enumerate(judge(every, feeds, slice(hard, hard + 1))) if not words]
        if left:
            answer = judge(every[left], feeds[left], slice(None))
            for j, i in enumerate(left):
                if not any(answer[j * k:(j + 1) * k]):
                    return i // len(some), float(every[i])
        return None

    lower = [top - s for s in STEPS if top - s > LEAST]
    found = carried(lower) if lower else None
    if found is None:
        return f"{OTHER}: a lower recovery alone does not help" + (f", tried down to {lower[-1]} %" if lower else "")
    best, vessels = lower[found[0]], found[1]
    between = list(range(lower[found[0] - 1] - 1, best, -1)) if found[0] else []
    closer = carried(between) if between else None
    if closer is not None:
        best, vessels = between[closer[0]], closer[1]
    return f"lower membrane.recovery to {best} %, which {vessels:.0f} vessels carry; or {OTHER}"
