"""Doses that need more than one room: biocide, alkali between passes by the chemistry bridge, inhibitor."""

from __future__ import annotations

from desalbook import dosing
from desalbook.duty import DutyFlows
from desalbook.plant.array import Array
from desalbook.plant.interpass import caustic_line
from desalbook.plant.waters import Waters
from desalbook.problems import Infeasible
from desalbook.trail import Choice, Figure, engine, note, scope
from desalbook.trail.corner import Corner
from desalbook.trail.inputs import Inputs
from desalbook.water.phreeqc import Water, dose_to_ph, engine_record

__all__ = ["more_dosing"]

CORNER = Corner("hot", "aged")
"""Where boron, which the second pass is there for, is highest."""


def more_dosing(inp: Inputs, w: Waters, a: Array, d: DutyFlows, found: dosing.Doses, *, feed_flow: Figure,
                product_flow: Figure) -> None:
    """Lines of biocide, interpass alkali and corrosion inhibitor.

    Parameters
    ----------
    feed_flow, product_flow : Figure
        All trains, m3/s.
    found : Doses
        Is filled.
    """
    use: Choice = inp("duty.product_use")
    with scope("plant"):
        found.biocide = dosing.biocide(inp, feed_flow, use, a.pretreated_flow)
        found.corrosion_inhibitor = dosing.corrosion_inhibitor(inp, product_flow, d.train_permeate)
        found.interpass_ph = _interpass(inp, w, a, d, product_flow)


def _interpass(inp: Inputs, w: Waters, a: Array, d: DutyFlows, product_flow: Figure) -> dosing.Dose | None:
    if a.plan.second is not None:
        return caustic_line(inp, a, d.trains)
    present = inp.choice("interpass_ph.present")
    if present != "yes":
        if inp.selected("interpass_ph.reason"):
            dosing.absent(inp, "interpass_ph")
        return None
    r, at = a.by_corner[CORNER], w.at["hot"]
    ions = a.permeate_ions[CORNER]
    inputs = {"ions": ions, "carbon_dioxide": at.carbon_dioxide, "temperature": at.temperature}
    target = inp("interpass_ph.target_ph")
    amounts = {k: float(v) for k, v in ions.items() if k not in ("HCO3", "CO3")}
    alkalinity = float(ions["HCO3"])
    water = Water(tuple(amounts.items()), alkalinity, alkalinity + float(at.carbon_dioxide), None,
                  float(at.temperature))
    chosen: Choice = inp("interpass_ph.chemical")
    reagent = dosing.chemical(chosen, "interpass_ph.chemical").formula
    try:
        moles = dose_to_ph(water, water.temperature, float(target), reagent, "fresh")
    except Infeasible as problem:
        raise Infeasible(problem.what, where="interpass_ph.target_ph", value=float(target),
                         do="the permeate is above this pH already; raise the target or omit the step") from None
    about = engine_record("fresh")
    with scope(because=[present, chosen]):
        amount: Figure = engine(
            "interpass_ph.amount", moles, "molality", title="Alkali for the pH of the second pass", symbol="m_2",
            inputs={**inputs, "target_ph": target}, library=about.library, version=about.library_version,
            data=about.database, checksum=about.sha256, source="phreeqc-2013",
            note="all carbon dioxide of the feed passes the first pass; closed system; boric acid takes its share")
        places = inp.names("injection.points")
        seen = "second_pass" in places
        note("interpass_ph.second_pass", title="Second pass uses this alkali", inputs={"present": present},
             verdict="passes" if seen else "review",
             why="it stands among the places" if seen else "no second pass stands among the places",
             do='add name = "second_pass" to injection.points, in its order',
             caution="Alkali in seawater forms scale that blocks the elements. Keep seawater away from the quill.")
        return dosing.interpass_ph(inp, product_flow, amount, density=r["permeate_density"],
                                   total_dissolved_solids=r["permeate_tds"], lowest_flow=d.train_permeate)
