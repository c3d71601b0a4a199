"""The design on one page of plain text: at most 64 lines of 100 columns, in two columns, then what does not pass."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from textwrap import shorten
from typing import Any, NamedTuple

from desalbook.api import Plant
from desalbook.trail.figure import Figure
from desalbook.trail.systems import RANK, Group, case_words, grouped, plural, sentence
from desalbook.trail.words import verdict_words, wrapped
from desalbook.units import pair, show

__all__ = ["LINES", "WIDTH", "Ink", "governing_case", "marks", "one_page", "plain"]

LINES, WIDTH = 64, 100
"""What a page holds."""
_HALF = 48  # columns of the left half
_LABEL = 18

Ink = Callable[[str, str], str]
"""Paints a text in a role: ``bold``, ``fails``, ``review``, ``marginal``, ``passes``, ``quiet``."""
marks = {"fails": "x", "review": "?", "marginal": "!", "passes": "+"}
"""One character of each verdict, which says without colour what the colour says."""
_ABSENT = "not in this plant"


def plain(text: str, _role: str) -> str:
    """The text as it is, for files and pipes."""
    return text


class _Row(NamedTuple):
    label: str
    value: str
    case: str = ""


class _Reader:
    """Values of a plant as the page prints them: three significant digits, limits and inputs as written."""

    def __init__(self, plant: Plant, units: str):
        self.plant, self.units = plant, units
        self.governed = {x.id: x for x in plant.picks if x.corner is None}
        self.sizes = {x.id for x in plant.picks if x.more.get("table")}
        self.schedule = list(getattr(plant.sized, "chemicals", ()))
        self.promises = list(getattr(plant.sized, "guarantees", ()))

    def has(self, id: str) -> bool:
        return id in self.plant.ids

    def is_yes(self, id: str) -> bool:
        """A step is there unless its key says no."""
        return not self.has(id) or str(self.plant[id]) != "no"

    def number(self, id: str, digits: int = 3, unit: bool = True, trim: bool = False) -> str:
        x = self.plant[id]
        if not isinstance(x, Figure):
            return str(x)
        value, kind = float(x), x.kind
        if self.units == "us" and kind.name == "flow.day" and value > 0.0438:  # a million gallons a day
            return f"{value / 0.0438126364:.3g} mgd"
        if self.units == "us" and id == "filters.diameter":
            return show(value, "length.small", "us", digits=3, trim=True)
        if id.endswith(".motor"):
            return self._rating(value)
        return show(value, kind, self.units, unit=unit, digits=None if kind.name == "count" else digits,
                    trim=trim or id in self.plant.inputs or id in self.sizes)

    def _rating(self, watts: float) -> str:
        """A motor in the unit of its catalogue: hp where that is round, else kW."""
        hp = watts / 745.69987
        return f"{hp:g} hp" if abs(hp - round(hp)) < 1e-6 * hp else f"{watts / 1000:g} kW"

    def row(self, label: str, id: str, after: str = "", digits: int = 3, trim: bool = False) -> list[_Row]:
        """The row of a figure with its governing case; none where the plant has no such figure."""
        if not self.has(id):
            return []
        line = self.governed.get(id)
        case = governing_case(line) if line is not None else ""
        return [_Row(label, self.number(id, digits, trim=trim) + after, case)]


def governing_case(line: Any) -> str:
    """The case that governs a figure selected among cases, in words; empty where all agree."""
    corners = [c for c, x in line.inputs.items() if isinstance(x, float) and "@" in getattr(x, "id", "")]
    same = [c for c in corners if float(line.inputs[c]) == line.value]
    return case_words(same[0]) if same and len(same) < len(corners) else ""


def one_page(plant: Plant, units: str = "si", ink: Ink = plain) -> str:
    """The design on one page of text.

    Parameters
    ----------
    plant : Plant
    units : {"si", "us"}
    ink : callable, optional
        Paints a text in a role; plain if it is omitted.

    Returns
    -------
    str
        At most `LINES` lines of `WIDTH` columns.
    """
    r = _Reader(plant, units)
    out = _head(plant, units, ink)
    out += _pair(("DUTY", _duty(r)), ("RO SECTION, per train", _ro(r)), ink)
    out += _pair(("PRETREATMENT, per train", _pretreatment(r)), ("PUMPS AND ENERGY, per train", _pumps(r)), ink)
    out += _pair(("CHEMICALS AND CLEANING", _chemicals(r)), ("PRODUCT WATER", _product(r)), ink, "limit")
    promised = _guaranteed(r)
    if promised:
        out += ["", ink("GUARANTEED (expected)", "bold"), *promised]
    foot = _foot(ink)
    out += _attention(plant, units, ink, LINES - len(out) - len(foot))
    return "\n".join(x.rstrip() for x in [*out, *foot]) + "\n"


def _head(plant: Plant, units: str, ink: Ink) -> list[str]:
    head = plant.project
    name = shorten(head.get("name", "Untitled plant"), 56, placeholder=" ...")
    right = " · ".join(([f"rev {shorten(head['revision'], 8, placeholder='...')}"] if "revision" in head else [])
                       + [f"design {plant.design.hash[:12]}", units.upper()])
    first = name.upper() + " " * max(2, WIDTH - len(name) - len(right)) + right
    verdicts = [x.more["verdict"] for x in plant.verdicts.values()]
    n = {v: verdicts.count(v) for v in RANK}
    open_ = _unconfirmed(plant)
    counts = (f"{plural(n['fails'], 'check')} {'fails' if n['fails'] == 1 else 'fail'} · {n['marginal']} marginal · "
              f"{n['review']} to review · {n['passes']} pass · {plural(open_, 'default')} not confirmed")
    return [ink(first, "bold"), ink(counts, "fails" if n["fails"] else "quiet")]


def _unconfirmed(plant: Plant) -> int:
    """Keys of the design that stand at a default nobody confirmed."""
    from desalbook.design.words import place

    return sum(1 for id in plant.inputs if "@" not in id and place(id) is not None and not plant.design.stands(id))


def _pair(left: tuple[str, list[_Row]], right: tuple[str, list[_Row]], ink: Ink,
          last: str = "governing case") -> list[str]:
    """Two blocks side by side under their headings."""
    cases = any(x.case for x in right[1])
    one, two = _block(left[1], _HALF), _block(right[1], WIDTH - _HALF)
    head = f"{left[0]:<{_HALF}}{right[0]:<38}" + (last if cases else "")
    out = ["", ink(head.rstrip(), "bold")]
    for n in range(max(len(one), len(two))):
        out.append(f"{one[n] if n < len(one) else '':<{_HALF}}{two[n] if n < len(two) else ''}".rstrip())
    return out


def _block(rows: Sequence[_Row], wide: int) -> list[str]:
    """Rows of one block: values start below one another, cases stand at the right."""
    out = []
    for x in rows:
        text = f"  {x.label:<{_LABEL - 2}} {x.value}" if x.label else f"  {x.value}"
        if x.case:
            text = f"{text:<37} {x.case}"
        out.append(text if len(text) <= wide - 1 else text[: wide - 4].rstrip() + " ...")
    return out


def _duty(r: _Reader) -> list[_Row]:
    rows = r.row("Net product", "duty.product_flow", digits=4, trim=True)
    rows += r.row("Gross permeate", "duty.permeate_gross")
    rows += r.row("Raw seawater", "duty.raw_flow") + r.row("Overall recovery", "duty.plant_recovery")
    if r.has("duty.trains"):
        spare = r.number("duty.trains_standby") if r.has("duty.trains_standby") else "0"
        rows.append(_Row("Trains", f"{r.number('duty.trains')} duty, {spare} standby"))
    rows += r.row("Availability", "duty.availability") + r.row("Seawater TDS", "water.tds")
    if r.has("water.temperature_cold") and r.has("water.temperature_hot"):
        rows.append(_Row("Temperature", f"{r.number('water.temperature_cold', unit=False)} to "
                                        f"{r.number('water.temperature_hot')}"))
    return rows


def _vessels(r: _Reader, first: str, elements: str, stages: str) -> str:
    """Vessels of each stage with their elements: ``32 x 7 elements``, ``20 + 10 x 6 elements``."""
    counts = [r.number(first)] + [r.number(i) for i in r.plant.ids if i.startswith(f"{stages}[")
                                  and i.endswith("].vessels")]
    return f"{' + '.join(counts)} x {r.number(elements)} elements"


def _ro(r: _Reader) -> list[_Row]:
    rows = r.row("Recovery", "membrane.recovery")
    if r.has("membrane.vessels"):
        rows.append(_Row("Vessels", _vessels(r, "membrane.vessels", "membrane.elements", "membrane.stages")))
    for label, id in (("Average flux", "membrane.flux"), ("Feed pressure", "membrane.feed_pressure"),
                      ("Permeate TDS", "membrane.permeate_tds"), ("Permeate boron", "membrane.permeate_boron"),
                      ("Concentrate TDS", "membrane.concentrate_tds"), ("CP factor", "membrane.beta_max")):
        rows += r.row(label, id, digits=4 if id == "membrane.beta_max" else 3)
    if r.has("membrane.second_pass.vessels"):
        words = _vessels(r, "membrane.second_pass.vessels", "membrane.second_pass.elements",
                         "membrane.second_pass.stages")
        rows.append(_Row("Second pass", words))
        rows += r.row("  recovery", "membrane.second_pass.recovery")
        rows += r.row("  feed pressure", "second_pass.feed_pressure")
    return rows


def _pretreatment(r: _Reader) -> list[_Row]:
    rows = r.row("Raw storage", "storage.volume", " (plant)")
    if r.is_yes("filters.present") and r.has("filters.count"):
        wide = f" x {r.number('filters.diameter')} diameter" if r.has("filters.diameter") else ""
        rows.append(_Row("Media filters", r.number("filters.count") + wide))
        rows += r.row("Filtration rate", "filters.rate") + r.row("  one out (N-1)", "filters.rate_one_backwashing")
        rows += r.row("Backwash flow", "filters.backwash_flow")
    else:
        rows.append(_Row("Media filters", _ABSENT))
    if r.has("cartridge.count"):
        rows.append(_Row("Cartridges", r.number("cartridge.count")))
    return rows


def _pump(r: _Reader, label: str, prefix: str, head: str) -> list[_Row]:
    if not r.has(f"{prefix}.flow"):
        return []
    parts = [r.number(i) for i in (f"{prefix}.flow", head, f"{prefix}.motor") if r.has(i)]
    return [_Row(label, ", ".join(parts))]


def _pumps(r: _Reader) -> list[_Row]:
    rows = _pump(r, "Feed pump", "feed_pump", "feed_pump.head")
    rows += _pump(r, "HP pump", "hp_pump", "hp_pump.discharge_pressure")
    from desalbook.hydraulics.energy_recovery.device import kind_of

    if r.has("energy_recovery.device"):
        kind = kind_of(str(r.plant["energy_recovery.device"]))
        boost: Any = r.plant["energy_recovery.boost"] if r.has("energy_recovery.boost") else 0.0
        added = f"{r.number('energy_recovery.boost')} recovered" if float(boost) > 0 else ""
        rows.append(_Row("Energy recovery", f"{kind.stop_title}{', ' + added if added else ''}"))
    for label, id, per in (("RO section", "energy.membrane_specific", " permeate"),
                           ("Whole plant", "energy.plant_specific", " net product"),
                           ("Minimum work", "energy.least_work", " permeate")):
        rows += r.row(label, id, per)
    return rows


def _chemicals(r: _Reader) -> list[_Row]:
    rows = []
    for key, label in (("chlorination", "Hypochlorite"), ("coagulation", "Coagulant"), ("acid", "Acid"),
                       ("antiscalant", "Antiscalant"), ("dechlorination", "Bisulfite")):
        there = r.has(f"{key}.dose") and r.is_yes(f"{key}.present")
        rows.append(_Row(label, _dose(r, key) if there else _ABSENT))
    if r.has("cip.tank_volume"):
        rows.append(_Row("CIP", f"tank {r.number('cip.tank_volume')}, {r.number('cip.flow')}"))
    return rows


def _dose(r: _Reader, key: str) -> str:
    """The dose with its basis; the schedule knows the basis where the figure does not say it."""
    row = next((c for c in r.schedule if c["key"] == key), None)
    if row is None:
        return r.number(f"{key}.dose")
    return f"{show(row['dose'], 'concentration', r.units, digits=3, trim=True)} {row['basis']}".rstrip()


def _product(r: _Reader) -> list[_Row]:
    rows = []
    for label, id, stems in (("TDS", "product.tds", ("check_product_tds",)),
                             ("Boron + margin", "product.boron", ("check_limit", "check_product_boron")),
                             ("pH", "product.ph", ("check_product_ph_high",)),
                             ("LSI", "product.lsi", ("check_product_lsi_low",)),
                             ("CCPP", "product.ccpp", ("check_product_ccpp_high",)),
                             ("Calcium", "product.calcium", ("check_product_calcium_low",)),
                             ("Alkalinity", "product.alkalinity", ("check_product_alkalinity",))):
        if not r.has(id):
            continue
        value, limit = r.number(id), ""
        for stem in stems:
            line = r.plant.verdicts.get(f"{id}.{stem}")
            if line is not None and "limit" in line.more:
                bound = show(line.more["limit"], line.kind or "factor", r.units, unit=False, trim=True)
                limit = f"{'max' if line.more['sense'] == '<=' else 'min'} {bound}"
                break
        rows.append(_Row(label, value, limit))
    return rows


def _guaranteed(r: _Reader) -> list[str]:
    """The guaranteed values in short, the expected ones in brackets; empty where nothing is promised."""
    found = []
    for key, label in (("tds", "TDS"), ("boron", "boron"), ("energy", "energy"), ("availability", "availability")):
        row = next((g for g in r.promises if g["key"] == key), None)
        if row is None:
            continue
        kind = getattr(r.plant[row["id"]], "kind", None)
        if kind is None:
            continue
        bound = "max" if str(row["sense"]) in ("≤", "<=") else "min"
        found.append(f"{label} {bound} {show(row['guaranteed'], kind, r.units, digits=3)} "
                     f"({show(row['expected'], kind, r.units, unit=False, digits=3)})")
    return ["  " + " · ".join(found[:2]), *(["  " + " · ".join(found[2:])] if found[2:] else [])] if found else []


def _attention(plant: Plant, units: str, ink: Ink, room: int) -> list[str]:
    """What does not pass, a row a system, worst first, with its advice where there is room."""
    from desalbook.design.words import titled

    groups = [g for g in grouped(plant.judged(units)) if g.verdict != "passes"]
    groups.sort(key=lambda g: (RANK[g.verdict], g.worst["margin"] if g.worst["margin"] is not None else 0.0))
    total = sum(len(g.rows) - g.count("passes") for g in groups)
    if not groups:
        return ["", ink("NEEDS ATTENTION", "bold"), "  Nothing: every check passes."]
    out = ["", ink(f"NEEDS ATTENTION, worst first ({total}; +n: n more of the same system)", "bold")]
    room -= len(out)
    shown = groups if len(groups) <= room else groups[: room - 1]
    spare = room - len(shown) - (len(groups) > len(shown))
    for g in shown:
        out.append(ink(f"  {marks[g.verdict]} {_said(g, plant, units)}", g.verdict))
        do = wrapped(sentence(titled(str(g.worst["do"]))), WIDTH - 8)
        if do and len(do) <= spare:
            out += [f"      {x}" for x in do]
            spare -= len(do)
    if len(groups) > len(shown):
        out.append(f"  {len(groups) - len(shown)} more: desalbook check FILE")
    return out


def _said(g: Group, plant: Plant, units: str) -> str:
    """The worst line of a group on one line: title, value against limit, margin, how many more."""
    row = g.worst
    more = len(g.rows) - g.count("passes") - 1
    case = f" ({case_words(row['corner'])})" if row["corner"] else ""
    words = verdict_words(row["verdict"], row["margin"]).replace("marginal, ", "")
    tail = f"{words}{f'  (+{more})' if more else ''}"
    if row["provided"] is not None:
        tail = f"{_against(plant.verdicts[row['id']], units):<30} {tail}"
    title = shorten(row["title"] + case, min(45, WIDTH - 5 - len(tail)), placeholder=" ...")
    return f"{title:<{min(42, WIDTH - 5 - len(tail))}} {tail}"


def _against(line: Any, units: str) -> str:
    """Value and limit, the unit once: ``94.2, max 95 %``."""
    value, limit, unit = pair(line.value, line.more["limit"], line.kind, units)
    return f"{value}, {'max' if line.more['sense'] == '<=' else 'min'} {limit} {unit}".rstrip()


def _foot(ink: Ink) -> list[str]:
    return ["", ink("SAFETY", "bold")
            + "  High pressure, chemicals, electricity, drinking water: local codes and licensed practice",
            "  govern; this page is a calculation aid. More: size FILE --full; safety notes: check FILE --all."]
