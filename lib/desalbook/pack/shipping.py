"""Preservation, packing and marking, dangerous goods, and spares for a stated time."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from desalbook.fabrication.spares import consumed_in_time, desiccant_units, spares_in_stock
from desalbook.pack.document import Block, Cell, Column, Document, Heading, Note, Paragraph, Points, Table
from desalbook.pack.plant_source import Source
from desalbook.tables import Row, table
from desalbook.trail.words import low_first

__all__ = ["shipping", "spares", "spares_rows"]

YEAR = 31557600.0
CASE = {"case_volume": 1.0, "air_moisture": 20.0, "foil_area": 6.0, "foil_moisture": 0.3, "storage_days": 180.0,
        "unit_uptake": 6.0}
"""A case of 1 m3 with 6 m2 of barrier foil, warm moist air, half a year, 40 % relative humidity (DIN 55474, from
memory)."""


def preserved(of: Source) -> list[Block]:
    """How each kind of wetted part goes through transport and store."""
    rows: list[dict[str, Cell]] = [
        {"part": "Membrane elements", "tag": _tags(of, "elements"),
         "how": "sealed bags with 1 % sodium bisulfite, or dry; 5 to 35 °C, dark, never frozen, never dried out",
         "renew": "sealed stock about one year"},
        {"part": "Membrane vessels once loaded", "tag": _tags(of, "vessels"),
         "how": "filled with 1 to 1.5 % sodium bisulfite, closed", "renew": "pH 3 minimum, looked at monthly; renewed "
         "every 3 months, monthly above 27 °C"},
        {"part": "Pumps", "tag": ", ".join(r["tag"] for r in of.equipment if r["tag"].startswith("P-")
                                           and not r["key"].startswith("dosing")),
         "how": "drained, dried, nozzles blanked; inhibitor where parts can rust", "renew": "shaft turned monthly"},
        {"part": "Pipe and skids", "tag": "", "how": "drained, dried, all nozzles blanked with metal or bolted plastic",
         "renew": "blanks looked at monthly"},
        {"part": "Panels and drives", "tag": ", ".join(r["tag"] for r in of.equipment if r["tag"].startswith("CP-")),
         "how": "sealed foil with desiccant; heaters on where they are stored", "renew": "humidity card monthly"},
        {"part": "Instruments and probes", "tag": "", "how": "probes taken out, wet cap, own box; pH 5 to 35 °C",
         "renew": "as the manufacturer says"}]
    if of.has("filters"):
        rows.append({"part": "Filter media", "tag": _tags(of, "filters"), "how": "in bags, filled at site; vessels "
                     "empty", "renew": ""})
    if of.has("energy_recovery"):
        rows.append({"part": "Energy recovery device", "tag": _tags(of, "energy_recovery"),
                     "how": "flushed with fresh water, filled as its manufacturer says, ports blanked", "renew": ""})
    return [Table("Preservation of wetted parts", (
        Column("part", "Part", width=1.6), Column("tag", "Tags", width=2), Column("how", "How", width=3),
        Column("renew", "Renewed", width=2)), rows, ("part",), "Common practice; the manufacturer's instruction comes "
        "first.")]


def _tags(of: Source, key: str) -> str:
    return ", ".join(r["tag"] for r in of.equipment if r["key"].partition("[")[0] == key)


def dangerous(of: Source) -> list[Block]:
    """Chemicals of the plant by transport class, and what else travels under rules."""
    rows: list[dict[str, Cell]] = []
    for c in of.chemicals:
        key = next((k for k, r in table("chemicals").items() if r.title == c["chemical"]), "")
        row: dict[str, Cell] = {"line": c["title"], "chemical": c["chemical"], "hazard": c["hazard"],
                                "name": "By the safety data sheet", "hazard_class": "by data sheet"}
        if key in table("chemical_transport"):
            r = table("chemical_transport").row(key, "packing")
            row |= {k: r[k].value for k in ("name", "number", "hazard_class", "group") if k in r}
        rows.append(row)
    return [Note("Chemicals are not shipped with the plant: buy them near the site. Class and packing group are from "
                 "memory; the safety data sheet and the present transport code decide."),
            Table("Dangerous goods", (
                Column("line", "Line", width=1.5), Column("chemical", "Chemical", width=1.9),
                Column("name", "Name for transport", width=2), Column("number", "UN number", width=1),
                Column("hazard_class", "Class", width=0.8), Column("group", "Packing group", width=0.8),
                Column("hazard", "Hazard", width=2)), rows, ("line",)),
            Points(("Membrane elements in 1 % sodium bisulfite: not regulated.",
                    "Batteries of the uninterruptible supply: UN 2800 (lead, sealed) or UN 3480 (lithium ion), "
                    "declared apart.",
                    "Compressed gases of the works (nitrogen for preservation): UN 1066, class 2.2, vented before "
                    "shipping."))]


def shipping(of: Source) -> Document:
    """Preservation, packing and marking, dangerous goods."""
    units = of.at(desiccant_units, "count", **CASE)
    blocks: list[Block] = [
        Heading("Preservation"), *preserved(of),
        Heading("Packing and marking"),
        Points((
            "Wood is heat treated to ISPM 15, debarked and marked; processed plywood is exempt.",
            "Each case is marked with number of total, gross and net mass, dimensions, centre of gravity, slinging "
            "points, this way up, keep dry, stacking limit, and temperature limits where it holds elements or probes.",
            f"Sealed foil takes {units.text(of.units)} units of desiccant for each cubic metre of air, for 180 days "
            "and 6 m² of foil.",
            "The packing list states for each case: number, kind, tags, quantity, description, net and gross mass, "
            "dimensions, volume, dangerous goods, storage class; with photographs of seals and lashings.",
            "Loads are lashed for 0.8 g forward and 0.5 g to side and rear by road; more by sea, as the carrier's code "
            "says.")),
        Heading("Dangerous goods"), *dangerous(of)]
    return Document("shipping", "406", "Preservation, packing and dangerous goods", blocks, wide=True,
                    group="Materials and tests")


def _items(of: Source, what: str) -> list[tuple[str, str, float]]:
    """Tag, words and number installed of what a row of the table of spares is for."""
    def rows(test: Any) -> list[Mapping[str, Any]]:
        return [r for r in of.equipment if test(r) and r["supply"] == "package"]

    base = {r["key"]: r["key"].partition("[")[0] for r in of.equipment}
    if what in ("cartridge", "element", "vessel"):
        name = {"cartridge": "cartridge", "element": "elements", "vessel": "vessels"}[what]
        return [(r["tag"], r["title"], r["installed_total"]) for r in rows(lambda r: base[r["key"]] == name)]
    plunger = [r for r in rows(lambda r: True) if f"{r['key']}.pump_class" in of.ids
               and of.choice(f"{r['key']}.pump_class") == "positive-displacement"]
    if what == "plunger":
        return [(r["tag"], r["title"], r["installed_total"]) for r in plunger]
    found = {
        "pump": rows(lambda r: "head" in r and r not in plunger),
        "dosing": rows(lambda r: r["key"].startswith("dosing_")),
        "recovery": rows(lambda r: base[r["key"]] == "energy_recovery"), "hp": rows(lambda r: r["key"] == "hp_pump"),
        "controller": rows(lambda r: r["key"] == "controller"),
        "panel": rows(lambda r: r["key"].startswith("panel_")),
    }.get(what)
    if found is not None:
        return [(r["tag"], r["title"], r["modules"] if what == "controller" else r["installed_total"]) for r in found]
    if what == "valve":
        moved = [v for v in of.valves if v["set_pressure"] is None]
        return [("XV, PV", "Moved valves", float(sum(v["count"] for v in moved)))] if moved else []
    if what == "line":
        return [("", x["title"], 1.0) for x in of.lines]
    probes = {"probe": ("ph.nbs", "ph.total", "potential"), "cell": ("conductivity",)}
    if what in probes:
        return [(i["tag"], i["title"], float(i["count"])) for i in of.instruments if i["kind"] in probes[what]]
    alike: dict[str, list[Mapping[str, Any]]] = {}
    for i in of.instruments:
        if i["kind"] not in probes["probe"]:
            alike.setdefault(f"{i['letters']}, {low_first(i['principle'])}", []).append(i)
    return [(", ".join(i["tag"] for i in some), name, float(sum(i["count"] for i in some)))
            for name, some in alike.items()]


def spares_rows(of: Source) -> list[dict[str, Cell]]:
    """Each spare with the number installed and the number for the stated time."""
    time = of.number("offer.spares_time") or 0.0
    made: list[dict[str, Cell]] = []
    for row in table("spares").values():
        for tag, title, installed in _items(of, row["of"].value):
            number, why = _how_many(of, row, installed, time)
            made.append({"group": row["group"].value, "tag": tag, "of": title, "item": row["item"].value,
                         "installed": float(installed), "number": number, "why": why})
    return made


def _how_many(of: Source, row: Row, installed: float, time: float) -> tuple[float, str]:
    if "stock_fraction" in row:
        found = of.at(spares_in_stock, "count", items_installed=float(installed),
                      stock_fraction=row["stock_fraction"].value, stock_minimum=row["stock_minimum"].value)
        least = f"{row['stock_minimum'].value:.0f}"
        if row["stock_fraction"].value <= 0.0:
            return found.value, f"{least} in stock, for a long delivery time"
        part = of.text(row["stock_fraction"].value, "fraction")
        if row["stock_fraction"].value > 1.0:
            return found.value, f"{row['stock_fraction'].value:.0f} for each installed"
        return found.value, f"{part} of those installed, minimum {least}"
    usual = row["interval"].value
    interval = _interval(of, row.key) or usual
    found = of.at(consumed_in_time, "count", items_installed=float(installed), spares_time=time,
                  change_interval=interval)
    words = of.text(interval, "time.day", 3) if interval < 0.5 * YEAR else plural_time(interval)
    return found.value, f"all changed every {words}"


def plural_time(interval: float) -> str:
    """Years in words."""
    years = interval / YEAR
    return "year" if abs(years - 1) < 1e-9 else f"{years:.3g} years"


def _interval(of: Source, key: str) -> float | None:
    """Change interval of what the design itself says how long lasts, s."""
    if key == "cartridges":
        return of.number("cartridge.change_interval")
    yearly = of.number("cost.element_replacement")
    return YEAR / yearly if key == "elements" and yearly else None


_GROUPS = {"start-up": "Start-up spares", "consumable": "Consumables", "two years": "Spares for operation",
           "capital": "Capital spares"}


def spares(of: Source) -> Document:
    """Spares and consumables for the stated time."""
    columns = (Column("group", "Class", width=0.9), Column("tag", "Tag", width=1.3), Column("of", "Of", width=2),
               Column("item", "Item", width=2.2), Column("installed", "Installed", "count", 0.8),
               Column("number", "For the time", "count", 0.8), Column("why", "Counted by", width=2.4))
    rows = spares_rows(of)
    blocks: list[Block] = [
        Paragraph(f"For {of.duration('offer.spares_time')} of operation. Start-up spares come with the plant; "
                  "consumables and spares for operation are priced apart; capital spares shorten the longest stops. "
                  "Rubber has a shelf life: nitrile and chloroprene 5 years, EPDM 7, FKM 10 (ISO 2230, from memory)."),
        *(Table(_GROUPS[name], columns,
                [r for r in rows if r["group"] == name], ("tag", "of", "item"))
          for name in _GROUPS if any(r["group"] == name for r in rows))]
    return Document("spares", "407", "Spares and consumables", blocks, wide=True, group="Materials and tests")
