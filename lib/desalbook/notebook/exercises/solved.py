"""The way to an answer, step by step, typeset from its trail."""

from __future__ import annotations

from desalbook.audit.page.parts import Writer
from desalbook.display import inert
from desalbook.trail import Ledger, record

__all__ = ["typeset"]


def typeset(ledger: Ledger, units: str = "si") -> str:
    """Each computed line of a ledger with symbols, numbers and result.

    Parameters
    ----------
    ledger : Ledger
    units : {"si", "us"}

    Returns
    -------
    str
        HTML.
    """
    data = record.to_record(ledger)
    writer = Writer(data, units, {x["id"] for x in data["lines"]})
    steps = "".join(writer.step(x) for x in data["lines"] if x["sort"] == "computed")
    return f'<div class="desalbook">{inert(steps)}</div>'
