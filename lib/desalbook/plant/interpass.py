"""Caustic between the passes: one target for the membranes and for the dosing line, and the line itself.

``membrane.second_pass.ph`` and ``[interpass_ph]`` are two doors to one dose: the first is for whoever designs the
membranes, the second for whoever designs the dosing. Where both are written the membranes' target holds.
"""

from __future__ import annotations

from typing import Any

from desalbook import dosing
from desalbook.balances import total_flow
from desalbook.membrane import transport as t
from desalbook.plant.waters import TEMPERATURES
from desalbook.problems import Infeasible
from desalbook.tables import table
from desalbook.trail import Choice, Figure, note, scope
from desalbook.trail.corner import Corner

__all__ = ["SECTION", "caustic_line", "target_of", "two_targets"]

SECTION = "membrane.second_pass"
CAUSTIC = "NaOH"
MEAN, AGE = "design", "aged"


def target_of(inp: Any) -> dict[str, Any]:
    """Target of the second pass's feed and its chemical, by whichever section states them.

    Returns
    -------
    dict
        ``ph`` (Figure, or None without caustic), ``chemical``, ``stated`` (choices that decide).

    Raises
    ------
    Infeasible
        The chemical is not sodium hydroxide, which the second pass is computed with.
    """
    present: Choice = inp("interpass_ph.present")
    own: Figure | None = inp(f"{SECTION}.ph")
    if own is not None or present != "yes":
        return {"ph": own, "chemical": inp(f"{SECTION}.chemical"), "stated": [present]}
    chemical: Choice = inp("interpass_ph.chemical")
    rows = table("chemicals")
    if rows.row(chemical, "interpass_ph.chemical")["formula"].value != CAUSTIC:
        allowed = [k for k in rows.options() if rows[k]["formula"].value == CAUSTIC]
        raise Infeasible("the second pass is computed with sodium hydroxide", where="interpass_ph.chemical",
                         value=str(chemical), allowed=", ".join(allowed), do=f'use "{allowed[0]}"')
    return {"ph": inp("interpass_ph.target_ph"), "chemical": chemical, "stated": [present]}


def two_targets(inp: Any) -> None:
    """A finding where both sections state the target."""
    present: Choice = inp("interpass_ph.present")
    own: Figure | None = inp(f"{SECTION}.ph")
    if present != "yes" or own is None:
        return
    other: Figure = inp("interpass_ph.target_ph")
    same = float(own) == float(other) and str(inp(f"{SECTION}.chemical")) == str(inp("interpass_ph.chemical"))
    note("interpass_ph.one_target", title="pH between the passes", verdict="passes" if same else "review",
         why="both sections state the same" if same
         else f"{SECTION} and interpass_ph state it differently; the first holds, for membranes and dosing alike",
         do="clear interpass_ph.present, or give the same target and chemical in both",
         inputs={"present": present, "ph": own, "target_ph": other, "chemical": inp(f"{SECTION}.chemical"),
                 "other": inp("interpass_ph.chemical")})


def caustic_line(inp: Any, a: Any, trains: Figure) -> Any:
    """The dosing line of the caustic that the second pass is computed with.

    The dose is that of the design temperature, of which store and use are made; the pump spans coldest to hottest.
    """
    plan, own = a.plan, a.plan.second
    two_targets(inp)
    if own["ph"] is None:
        return None
    because = [*own["stated"], own["chemical"], own["ph"]]
    with scope(because=because):
        amounts = {}
        for key in TEMPERATURES:
            feed = a.staged[Corner(key, AGE)].streams["second_feed"]
            with scope(corner=Corner(key, AGE)):
                solids = t.solute_concentration.at("second_pass.feed_tds", solute=feed.salt, flow=feed.flow,
                                                   title="TDS of the feed of the second pass")
            amounts[key] = (plan.caustic[key], feed.density, solids)
        fed = a.staged[f"{MEAN}-{AGE}"].streams["second_feed"].flow
        note("interpass_ph.second_pass", title="Second pass uses this alkali", verdict="passes",
             inputs={"ph": own["ph"], "chemical": own["chemical"]},
             why="dosed into the permeate that the second pass takes, and counted in its salt",
             do="",
             caution="Alkali in seawater forms scale that blocks the elements. Keep seawater away from the quill.")
        everywhere = total_flow.at("interpass_ph.flow", flow=fed, units=trains,
                                   title="Feed of the second passes, all trains")
        return dosing.interpass_caustic(inp, everywhere, fed, amounts, own["chemical"])
