"""What people read first: the figures that matter, in order, and a check said in words."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from desalbook.api import Plant
from desalbook.design.words import part_words, titled
from desalbook.plant.guarantees import shown_rows
from desalbook.study import HEADLINES
from desalbook.trail.ledger import Line
from desalbook.trail.words import chapter, verdict_words

__all__ = ["CAUTIONS", "HEADLINES", "PARTS", "STEPS", "headlines", "names", "review", "said", "text"]

PARTS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("Duty", ("duty.product_flow", "duty.train_product_flow", "duty.availability", "duty.permeate_gross",
              "duty.raw_flow", "storage.volume", "duty.feed_flow", "duty.plant_recovery", "water.tds",
              "water.temperature_cold", "water.temperature_hot")),
    ("Pretreatment", ("feed_pump.flow", "feed_pump.head", "feed_pump.motor", "filters.count",
        "filters.diameter", "filters.rate", "filters.rate_one_backwashing",
                      "filters.backwash_flow", "cartridge.count", "chlorination.dose", "dechlorination.dose",
                      "antiscalant.dose")),
    ("Membrane", ("membrane.recovery", "membrane.vessels", "membrane.elements", "membrane.flux",
                  "membrane.permeate_tds", "membrane.permeate_boron", "membrane.concentrate_tds",
                  "membrane.beta_max")),
    ("Pressure and energy", ("membrane.feed_pressure", "membrane.concentrate_pressure", "hp_pump.flow",
                             "hp_pump.suction_pressure", "hp_pump.discharge_pressure", "hp_pump.shaft_power",
                             "hp_pump.motor", "hp_pump.electric_power", "energy_recovery.boost",
                                 "energy.membrane_specific",
                             "energy.plant_specific", "energy.least_work")),
    ("Product", ("product.tds", "product.boron", "product.calcium", "product.alkalinity", "product.ph",
                 "product.lsi", "product.ccpp")),
    ("Cleaning", ("cip.tank_volume", "cip.flow")),
)
"""Headings of the one-page summary and the ids under each."""

_NAMES = {"feed_pump.flow": "Feed pump, flow", "feed_pump.head": "Feed pump, head",
          "feed_pump.motor": "Feed pump, motor rating", "antiscalant.dose": "Antiscalant dose",
          "hp_pump.shaft_power": "HP pump, shaft power",
          "hp_pump.motor": "HP pump, motor rating",
          "hp_pump.electric_power": "HP pump, electrical power",
          "cip.pump_power": "CIP pump, electrical power",
          "chlorination.storage": "Chlorination, solution in store",
          "water.temperature_cold": "Coldest water", "water.temperature_hot": "Hottest water"}
"""Titles that need their machine beside them once they stand on a page of everything."""
_EXTENSIVE = {"flow", "count", "power", "volume", "mass flow", "area"}

STEPS = {"intake": "sea", "water": "sea", "storage": "storage", "feed_pump": "feed_pump",
         "coagulation": "feed_pump", "filters": "filters", "cartridge": "cartridge", "acid": "feed_pump",
         "antiscalant": "cartridge", "dechlorination": "cartridge", "membrane": "vessels",
         "hp_pump": "hp_pump", "energy_recovery": "recovery", "chlorination": "sea", "product": "product",
         "post_chlorination": "product"}
"""Step of the water line that belongs to a section of the design."""

CAUTIONS = (
    "High pressure: isolate, drain and prove zero pressure before opening anything.",
    "Chemicals: acids, hypochlorite and bisulfite do harm and react with one another; keep to the safety "
    "data sheets.",
    "Electricity: work on motors and drives is for licensed electricians, isolated and locked.",
    "Drinking water: local law, an approved laboratory and licensed practice decide, not this sheet.",
)


def headlines(plant: Plant, units: str = "si", ids: Iterable[str] = HEADLINES) -> str:
    """Figures of a plant by their ids, one a line, rounded as people read them."""
    there = [i for i in ids if i in plant]
    rows = [(name, plant.show(i, units)) for i, name in zip(there, names(plant, there), strict=True)]
    wide = max((len(t) for t, _ in rows), default=0)
    return "\n".join(f"{t:<{wide}}  {v}" for t, v in rows)


def names(plant: Plant, ids: Iterable[str]) -> list[str]:
    """What figures are called beside one another: with the machine where needed, with the part where two are alike."""
    every = list(ids)
    titles = [_NAMES.get(i, plant[i].title if i in plant.ids else i) for i in every]
    return [f"{title} ({part_words(chapter(i))})" if titles.count(title) > 1 else title
            for i, title in zip(every, titles, strict=True)]


def said(check: Mapping[str, Any]) -> str:
    """A row of the checks in words: ``passes, margin 12 %``, ``fails by 3 % · add a filter``."""
    words = verdict_words(check["verdict"], check["margin"], check.get("assumed"))
    return words + (f" · {check['do']}" if check["do"] and check["verdict"] != "passes" else "")


def text(plant: Plant, units: str = "si") -> str:
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
        rows = [i for i in ids if i in plant.ids]
        if rows:
            out += ["", title]
        governed = {x.id: x for x in plant.picks if x.id in rows and x.corner is None}
        for i in rows:
            name, at = _NAMES.get(i, plant[i].title), _worst(governed[i]) if i in governed else ""
            out.append(f"  {name:<46} {plant.show(i, units):>18}{_each(plant, i)}{at}".rstrip())
    out += ["", "Guaranteed and expected", *_guaranteed(plant, units)]
    out += ["", "Checks, worst first"]
    marks = {"fails": "x", "review": "!", "marginal": "!", "passes": "+"}
    out += [f"  {marks.get(row['verdict'], '?')} {words}" for row, words in _rows(plant, units)]
    return "\n".join([*out, "", "Cautions", *(f"  ! {c}" for c in _cautions(plant))]) + "\n"


def _guaranteed(plant: Plant, units: str) -> list[str]:
    """The table of guarantees, one figure a line under a head: expected, margin, guaranteed, case, standard."""
    head = {"title": "", "expected": "Expected", "margin": "Margin", "guaranteed": "Guaranteed", "corner": "Case",
            "standard": "Measured by"}
    rows = [head, *shown_rows(plant.guarantees.to_dict("records"), lambda id: plant.show(id, units))]
    wide = {key: max(len(r[key]) for r in rows) for key in head}
    right = ("expected", "margin", "guaranteed")
    return ["  " + "  ".join(r[k].rjust(wide[k]) if k in right else r[k].ljust(wide[k]) for k in head).rstrip()
            for r in rows]


def _each(plant: Plant, id: str) -> str:
    """What an amount belongs to; a concentration or a pressure belongs to the water."""
    (scope, count), kind = plant.belongs(id), getattr(plant[id], "kind", None)
    if scope == "plant" or kind is None or kind.family not in _EXTENSIVE:
        return ""
    return f"  per {scope}" + (f", {count} in the plant" if count else "")


def _worst(line: Line) -> str:
    """The corner that governs a figure picked among corners."""
    corners = [c for c, x in line.inputs.items() if isinstance(x, float) and "@" in getattr(x, "id", "")]
    same = [c for c in corners if float(line.inputs[c]) == line.value]
    return f"  at {same[0]}" if same and len(same) < len(corners) else ""


def _rows(plant: Plant, units: str) -> list[tuple[Mapping[str, Any], str]]:
    """Checks in words; one that says the same at several corners stands once, at its worst."""
    rows = plant.judged(units)
    owners: dict[str, set[str]] = {}
    for row in rows:
        owners.setdefault(row["title"], set()).add(_owner(row["id"]))
    out: list[tuple[Mapping[str, Any], str]] = []
    groups: dict[tuple, list] = {}
    for row in rows:
        key = (row["id"].partition("@")[0], row["verdict"]) if row["corner"] else (row["id"],)
        groups.setdefault(key, []).append(row)
    for same in groups.values():
        row = same[0]
        of = f" ({_owner(row['id'])})" if len(owners[row["title"]]) > 1 else ""
        at = f" at {row['corner']}" if row["corner"] else ""
        more = f" and {len(same) - 1} more cases" if len(same) > 1 else ""
        why = f" ({row['why']})" if row["why"] else ""
        out.append((row, f"{row['title']}{of}{at}{more}: {titled(said(row))}{why}"))
    return out


def _owner(id: str) -> str:
    return id.partition(".")[0].replace("_", " ")


def _cautions(plant: Plant) -> list[str]:
    """Every caution once, with the relation it is about; of two the longer when one begins the other."""
    own = [f"{plant[id].title}: {c}" for id, said in plant.cautions.items() for c in said]
    own += [c for x in plant.verdicts.values() if (c := x.more.get("caution", ""))]
    whole = [c[0].upper() + c[1:].rstrip(".") + "." for c in dict.fromkeys((*own, *CAUTIONS))]
    return [c for c in whole if not any(o != c and o.startswith(c[:-1]) for o in whole)]


def review(marks: Any, record: Mapping[str, Any], units: str = "si") -> str:
    """The state of a review in words: coverage by chapter, then each mark that asks for something.

    Parameters
    ----------
    marks : Marks
    record : mapping
    units : {"si", "us"}
    """
    cover, standing = marks.coverage(record), marks.standing(record, units)
    heads = ("chapter", "lines", "accepted", "questioned", "rejected", "stale", "unmarked", "seen")
    rows = [heads] + [(r["id"].replace("_", " "), *(str(r[h]) for h in heads[1:-1]), f"{r['share'] * 100:.0f} %")
                      for r in cover.to_dict("records")]
    wide = [max(len(r[i]) for r in rows) for i in range(len(heads))]
    out = ["  ".join(c.ljust(w) if i == 0 else c.rjust(w) for i, (c, w) in enumerate(zip(r, wide, strict=True)))
           for r in rows]
    for state in ("rejected", "questioned", "stale"):
        some = standing[standing["state"] == state].to_dict("records")
        if some:
            out += ["", f"{state.capitalize()}: {len(some)}"]
        for r in some:
            note = f": {' '.join(r['note'].split())}" if r["note"] else ""
            stale = f" · {r['stale']}" if r["stale"] else ""
            out.append(f"  {r['id']} {r['verdict']} by {r['by']}{note}{stale}")
    if marks.damaged:
        out += ["", f"Damaged lines in {marks.path.name}: {', '.join(map(str, marks.damaged))}"]
    return "\n".join(out) + "\n"
