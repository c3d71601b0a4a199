"""What people read first: the figures that matter, in order, and a check said in words."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from desalbook.api import Plant
from desalbook.design.words import part_words, titled
from desalbook.one_page import WIDTH, Ink, governing_case, marks, one_page, plain
from desalbook.plant.guarantees import shown_rows
from desalbook.study import HEADLINES
from desalbook.trail.systems import RANK, case_words, grouped, plural, safety_notes, sentence
from desalbook.trail.words import chapter, verdict_words, wrapped
from desalbook.units import show, unit_label

__all__ = ["GENERAL", "HEADLINES", "PARTS", "PAST", "STEPS", "bid_text", "checks_text", "full",
           "headlines", "names", "review", "safety", "said", "skids_text", "text"]

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
          "chlorination.storage": "Chlorination, bulk storage",
          "water.temperature_cold": "Minimum water temperature", "water.temperature_hot": "Maximum water temperature"}
"""Titles that need their unit beside them once they stand on a page of everything."""
_EXTENSIVE = {"flow", "count", "power", "volume", "mass flow", "area"}

STEPS = {"intake": "sea", "water": "sea", "storage": "storage", "feed_pump": "feed_pump",
         "coagulation": "feed_pump", "filters": "filters", "cartridge": "cartridge", "acid": "feed_pump",
         "antiscalant": "cartridge", "dechlorination": "cartridge", "membrane": "vessels",
         "hp_pump": "hp_pump", "energy_recovery": "recovery", "chlorination": "sea", "product": "product",
         "post_chlorination": "product"}
"""Step of the water line that belongs to a section of the design."""

PAST = {"accept": "accepted", "question": "questioned", "reject": "rejected"}
"""What a mark says of its line."""
GENERAL = {
    "High pressure": "isolate, drain and prove zero pressure before opening anything.",
    "Chemicals": "acids, hypochlorite and bisulfite burn and react with one another; keep to the safety data sheets.",
    "Electricity": "only licensed electricians work on motors and drives, isolated and locked out.",
    "Drinking water": "local law, an approved laboratory and licensed practice decide, not this sheet.",
}
"""What holds for a whole hazard, said before its notes."""


def headlines(plant: Plant, units: str = "si", ids: Iterable[str] = HEADLINES) -> str:
    """Figures of a plant by their ids, one a line, rounded as people read them."""
    there = [i for i in ids if i in plant]
    rows = [(name, plant.show(i, units)) for i, name in zip(there, names(plant, there), strict=True)]
    wide = max((len(t) for t, _ in rows), default=0)
    return "\n".join(f"{t:<{wide}}  {v}" for t, v in rows)


def names(plant: Plant, ids: Iterable[str]) -> list[str]:
    """What figures are called beside one another: with the unit where needed, with the part where two are alike."""
    every = list(ids)
    titles = [_NAMES.get(i, plant[i].title if i in plant.ids else i) for i in every]
    return [f"{title} ({part_words(chapter(i))})" if titles.count(title) > 1 else title
            for i, title in zip(every, titles, strict=True)]


def said(check: Mapping[str, Any]) -> str:
    """A row of the checks in words: ``passes, margin 12 %``, ``fails by 3 % · add a filter``."""
    words = verdict_words(check["verdict"], check["margin"], check.get("assumed"))
    return words + (f" · {check['do']}" if check["do"] and check["verdict"] != "passes" else "")


def text(plant: Plant, units: str = "si", ink: Ink = plain) -> str:
    """One page of plain text: see `one_page`.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
    ink : callable, optional
        Paints a text in a role; plain where it is omitted.
    """
    return one_page(plant, units, ink)


def full(plant: Plant, units: str = "si", ink: Ink = plain) -> str:
    """Everything in plain text: all headline values, every check by system, safety notes by hazard."""
    head = plant.project
    out = [ink(head.get("name", "Untitled plant"), "bold")]
    out.append(" · ".join(f"{w} {head[k]}" for k, w in (("revision", "revision"), ("client", "for"),
               ("made_by", "prepared by"), ("checked_by", "checked by")) if k in head))
    out.append(f"design {plant.design.hash[:12]}")
    governed = {x.id: x for x in plant.picks if x.corner is None}
    for title, ids in PARTS:
        rows = [i for i in ids if i in plant.ids and _there(plant, i)]
        if rows:
            out += ["", ink(title, "bold")]
        for i in rows:
            name, case = _NAMES.get(i, plant[i].title), governing_case(governed[i]) if i in governed else ""
            after = _each(plant, i) + (f"  {case}" if case else "")
            out.append(f"  {name:<46} {plant.show(i, units):>18}{after}".rstrip())
    if getattr(plant.sized, "guarantees", ()):
        out += ["", ink("Guaranteed and expected", "bold"), *_guaranteed(plant, units)]
    return "\n".join(out) + "\n\n" + checks_text(plant, units, everything=True, ink=ink)


def checks_text(plant: Plant, units: str = "si", everything: bool = False, ink: Ink = plain) -> str:
    """Checks by system in the order of the water: what does not pass with its advice, or everything.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
    everything : bool
        Also what passes, and the safety notes.
    ink : callable, optional
        Paints a text in a role; plain where it is omitted.
    """
    out: list[str] = []
    for group in grouped(plant.judged(units)):
        if group.verdict == "passes" and not everything:
            continue
        out.append(ink(f"{marks[group.verdict]} {group.title}: {group.counted()}", group.verdict))
        for row in group.rows:
            if everything or row["verdict"] != "passes":
                out += _check_lines(row, ink)
    n = [x.more["verdict"] for x in plant.verdicts.values()]
    counts = {v: n.count(v) for v in RANK}
    if out:
        out.append("")
    out.append(f"{plural(len(n), 'check')}: {counts['fails']} fail{'s' if counts['fails'] == 1 else ''}, "
               f"{counts['review']} to review, {counts['marginal']} marginal, {counts['passes']} pass")
    if everything:
        out += ["", *safety(plant, ink)]
    elif counts["passes"]:
        out.append("What passes and the safety notes: check FILE --all")
    return "\n".join(out) + "\n"


def _check_lines(row: Mapping[str, Any], ink: Ink) -> list[str]:
    """One check: its title, case, verdict and reason; below, what to do."""
    case = f" ({case_words(row['corner'])})" if row["corner"] else ""
    words = verdict_words(row["verdict"], row["margin"], row.get("assumed"))
    why = f" ({row['why']})" if row["why"] else ""
    first = wrapped(f"{marks[row['verdict']]} {row['title']}{case}: {words}{why}", WIDTH - 4, then="  ")
    out = [f"    {x}" if n else ink(f"    {x}", row["verdict"]) for n, x in enumerate(first)]
    if row["do"] and row["verdict"] != "passes":
        out += _bullet(titled(str(row["do"])), "      > ")
    return out


def safety(plant: Plant, ink: Ink = plain) -> list[str]:
    """Safety notes by hazard, each once, and values outside the range of a relation."""
    said = [(id, x.more["caution"]) for id, x in plant.verdicts.items() if x.more.get("caution")]
    out = [ink("Safety notes", "bold")]
    for hazard, notes in safety_notes(said).items():
        out += _bullet(f"{hazard}: {GENERAL[hazard]}", "  ") if hazard in GENERAL else [f"  {hazard}"]
        out += [line for one in notes for line in _bullet(one)]
    outside = [c if c.startswith(plant[id].title) else f"{plant[id].title}: {c}"
               for id, some in plant.cautions.items() for c in some]
    if outside:
        out += ["", ink("Outside the usual range", "bold")]
        out += [line for c in dict.fromkeys(outside) for line in _bullet(c)]
    return out


def _bullet(text: str, head: str = "    - ") -> list[str]:
    """A sentence as a point of a list, no line wider than the page."""
    return wrapped(sentence(text), WIDTH - 2, head, " " * len(head))


def _there(plant: Plant, id: str) -> bool:
    """Whether the step of a headline value is in this plant; an absent step prints no zeros."""
    switch = f"{chapter(id)}.present"
    return switch not in plant.ids or str(plant[switch]) != "no"


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


def review(marks: Any, record: Mapping[str, Any], units: str = "si") -> str:
    """The state of a review in words: coverage by chapter, then each mark that asks for something.

    Parameters
    ----------
    marks : Marks
    record : mapping
    units : {"si", "us"}
    """
    cover, standing = marks.coverage(record), marks.standing(record, units)
    heads = ("chapter", "lines", "accepted", "questioned", "rejected", "stale", "unmarked", "reviewed")
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
            out.append(f"  {r['id']} {PAST.get(r['verdict'], r['verdict'])} by {r['by']}{note}{stale}")
    if marks.damaged:
        out += ["", f"Damaged lines in {marks.path.name}: {', '.join(map(str, marks.damaged))}"]
    return "\n".join(out) + "\n"


_BID = {"deviates": "fails", "missing": "marginal", "review": "review", "meets": "passes", "stated": "quiet"}
"""Ink of each verdict on an offer."""
_VERDICTS = {"deviates": ("deviates", "deviate"), "missing": ("is missing", "are missing"),
             "review": ("is for review", "are for review"), "meets": ("meets the duty", "meet the duty"),
             "stated": ("is stated", "are stated")}


def bid_text(bid: Any, found: Any, units: str = "si", ink: Any = plain) -> str:
    """A filled enquiry against the duty: what deviates, is missing or is for a person to judge, then what meets it.

    Parameters
    ----------
    bid : Bid
    found : list of Compared
    units : {"si", "us"}
    ink : callable
        Text and role to text.
    """
    from desalbook.plant.bids import offered_words

    counts = {v: sum(x.verdict == v for x in found) for v in _BID}
    head = f"{bid.number}, offer of {bid.bidder or 'a bidder without a name'}: " + ", ".join(
        f"{plural(n, 'field')} {ink(_VERDICTS[v][n != 1], _BID[v])}" for v, n in counts.items() if n)
    lines = [head]
    for verdict in _BID:
        for x in found:
            if x.verdict != verdict:
                continue
            required, unit = x.field.words(units)
            words = f"{x.field.title}: {offered_words(x, units) or 'nothing is offered'}"
            if required and x.field.sense not in ("state", "yes"):
                limit = {">=": "at least ", "<=": "at most "}.get(x.field.sense, "")
                words += f"; required {limit}{required} {unit}".rstrip()
            if x.by is not None:
                words += f" ({100 * x.by:.3g} % on the wrong side)"
            if x.remark:
                words += f"; remark: {x.remark}"
            lines.append(f"  {ink(verdict.ljust(8), _BID[verdict])} {words}")
    return "\n".join(lines) + "\n"


def skids_text(plant: Plant, units: str = "si", ink: Any = plain) -> str:
    """Skids with size, mass and fit, containers and loose goods, checks that do not pass, safety notes.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
    ink : callable
        Text and role to text.
    """
    made = plant.fabrication.made

    def said(value: float, kind: str) -> str:
        return show(value, kind, units, digits=3)

    lines = [ink("Skids", "bold")]
    for s in made.skids:
        size = " x ".join(show(s[k], "length", units, False, digits=3) for k in ("length", "width", "height"))
        alike = f" ({s['count']} alike)" if s["count"] > 1 else ""
        lines.append(f"  {s['tag']:8} {s['title']}{alike}")
        lines.append(f"           {size} {unit_label('length', units)}; {said(s['mass_empty'], 'mass')} as shipped, "
                     f"{said(s['mass_operating'], 'mass')} in operation")
        lines.append(f"           hoist {said(s['lifted_mass'], 'mass')}, sling leg {said(s['leg_load'], 'mass')}; "
                     + (f"fits a {s['container'].lower()}" if s["fits"] == "yes" else
                        ink(f"sticks out of a {s['container'].lower()}: {s['sticks_out']}", "review")))
    lines += ["", ink("Containers and loose goods", "bold")]
    for c in made.containers:
        mass = said(c["mass"], "mass")
        of = f" of {said(c['payload'], 'mass')}" if c["payload"] else ""
        lines.append(f"  {c['number']:2}  {c['kind']}: {c['contents']}; {mass}{of}"
                     + (f"; {c['remark']}" if c["remark"] else ""))
    odd = [x for x in plant.fabrication.judged(units) if x["verdict"] != "passes"]
    lines += ["", ink("Checks that do not pass", "bold"), *(
        f"  {ink(x['verdict'], x['verdict'])}: {x['title']}: {x['why']}"
        + (f". {_capital(x['do'])}." if x["do"] else "") for x in odd)] if odd else [
            "", "All checks of lifting and shipping pass."]
    notes = dict.fromkeys(x["caution"] for x in plant.fabrication.judged(units) if x["caution"])
    lines += ["", ink("Safety", "bold"), *(f"  {note}" for note in notes)]
    return "\n".join(lines) + "\n"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
