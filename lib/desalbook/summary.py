"""What people read first: the figures that matter, in order, and a check said in words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

__all__ = ["CAUTIONS", "HEADLINES", "PARTS", "STEPS", "headlines", "said", "text"]

PARTS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("Duty", ("duty.product_flow", "duty.train_product_flow", "duty.availability", "duty.permeate_gross",
              "duty.raw_flow", "duty.feed_flow", "duty.plant_recovery", "water.tds")),
    ("Pretreatment", ("filters.count", "filters.diameter", "filters.rate", "filters.rate_one_washing",
                      "filters.backwash_flow", "cartridge.count", "chlorination.dose", "dechlorination.dose",
                      "antiscalant.dose")),
    ("Membrane", ("membrane.recovery", "membrane.vessels", "membrane.elements", "membrane.flux",
                  "membrane.permeate_tds", "membrane.permeate_boron", "membrane.concentrate_tds",
                  "membrane.beta_max")),
    ("Pressure and energy", ("membrane.feed_pressure", "membrane.concentrate_pressure", "hp_pump.flow",
                             "hp_pump.suction_pressure", "hp_pump.discharge_pressure", "hp_pump.shaft_power",
                             "hp_pump.motor", "energy_recovery.boost", "energy.membrane_specific",
                             "energy.plant_specific", "energy.least_work")),
    ("Product", ("product.ph", "product.lsi", "storage.volume")),
    ("Cleaning", ("cip.tank_volume", "cip.flow")),
)
"""Headings of the one-page summary and the ids under each."""

HEADLINES = ("membrane.recovery", "membrane.flux", "membrane.feed_pressure", "membrane.permeate_tds",
             "energy.plant_specific", "filters.rate")
"""The figures a panel shows at once."""

STEPS = {"intake": "feed_pump", "feed_pump": "feed_pump", "filters": "filters", "cartridge": "cartridge",
         "membrane": "membrane", "hp_pump": "hp_pump", "energy_recovery": "energy_recovery",
         "product": "product"}
"""Step of the water line that belongs to a section of the design."""

CAUTIONS = (
    "High pressure: isolate, drain and prove zero pressure before opening anything.",
    "Chemicals: acids, hypochlorite and bisulphite do harm and react with one another; keep to the safety "
    "data sheets.",
    "Electricity: work on motors and drives is for licensed electricians, isolated and locked.",
    "Drinking water: local law, an approved laboratory and licensed practice decide, not this sheet.",
)


def headlines(plant: Any, units: str = "si") -> str:
    """The headline figures of a plant, one a line, rounded as people read them."""
    rows = [(plant.ledger.lines[i].title, plant.show(i, units)) for i in HEADLINES if i in plant]
    wide = max((len(t) for t, _ in rows), default=0)
    return "\n".join(f"{t:<{wide}}  {v}" for t, v in rows)


def said(check: Mapping[str, Any]) -> str:
    """A row of the checks in words: ``holds, 12 % to spare``, ``fails by 3 % · add a filter``."""
    margin, verdict = check["margin"], check["verdict"]
    do = f" · {check['do']}" if check["do"] and verdict != "holds" else ""
    if margin is None or margin != margin:
        return f"{verdict}{do}"
    part = abs(margin) * 100
    share = f"{part:.1f} %" if part < 9.95 else f"{part:.0f} %"
    return (f"fails by {share}" if verdict == "fails" else f"{_word(verdict)}, {share} to spare") + do


def _word(verdict: str) -> str:
    return "thin margin" if verdict == "thin" else verdict


def text(plant: Any, units: str = "si") -> str:
    """One page of plain text.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
    """
    head = plant.project
    out = [head.get("name", "Untitled plant")]
    out.append(" · ".join(f"{w} {head[k]}" for k, w in (("revision", "revision"), ("client", "for"),
               ("made_by", "made by"), ("checked_by", "checked by")) if k in head))
    out.append(f"design {plant.design.hash[:12]}")
    for title, ids in PARTS:
        rows = [(plant.ledger.lines[i], i) for i in ids if i in plant.ledger.lines]
        if rows:
            out += ["", title]
        for line, i in rows:
            shown = plant.show(i, units)
            each = f"  per {line.scope}" if line.scope != "plant" else ""
            each += f", {line.count} in the plant" if line.count and line.scope != "plant" else ""
            out.append(f"  {line.title:<46} {shown:>18}{each}".rstrip())
    out += ["", "Checks, worst first"]
    marks = {"fails": "x", "caution": "!", "thin": "!", "holds": "+"}
    for row in plant.checks_in(units).to_dict("records"):
        at = f" at {row['corner']}" if row["corner"] else ""
        why = f" ({row['why']})" if row["why"] else ""
        out.append(f"  {marks.get(row['verdict'], '?')} {row['title']}{at}: {said(row)}{why}")
    own = [c for x in plant.ledger.lines.values() for c in (*x.cautions, x.more.get("caution", "")) if c]
    out += ["", "Cautions", *(f"  ! {c}" for c in dict.fromkeys((*own, *CAUTIONS)))]
    return "\n".join(out) + "\n"
