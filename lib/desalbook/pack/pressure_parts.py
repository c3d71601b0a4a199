"""Pressure tests of each part, examination of joints, and treatment of surfaces."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from desalbook.fabrication.pressure_tests import (
    CAUTION,
    code_stress_fraction,
    factored_test_pressure,
    metal_pipe_test_pressure,
    plastic_pipe_test_pressure,
    vessel_test_pressure_asme,
    vessel_test_pressure_en,
)
from desalbook.pack.document import Block, Cell, Column, Document, Heading, Note, Paragraph, Points, Table
from desalbook.pack.plant_source import Source
from desalbook.plant.design_pressures import SECTION_OF
from desalbook.tables import Row, table

__all__ = ["examinations", "parts_under_test", "pressure_tests"]

_CASINGS = ("_pump", "booster", "energy_recovery", "stage")
_HOUSINGS = ("cartridge_housing", "cip_cartridge")
_PLATES = ("Carbon steel", "carbon steel", "Stainless steel", "uplex stainless")


def _kind_of_pipe(material: str) -> str:
    if table("pipes").row(material, "tests")["metal"].value == "yes":
        return "metal-pipe"
    return "grp-pipe" if material == "grp" else "plastic-pipe"


def parts_under_test(of: Source) -> Table:
    """A row for each run of pipe, vessel, housing, casing and tank: design pressure, ratio of stresses, test."""
    rows = []
    for line in of.lines:
        rows.append(_row(of, line["title"], line["size"], _kind_of_pipe(line["material"]),
                         of.sections.get(SECTION_OF[line["key"]]), line["material"]))
    code = f"vessel-{of.choice('offer.vessel_code')}"
    for item in of.equipment:
        key, listed = item["key"].partition("[")[0], of.listed(item)
        held = listed["section"].value if listed is not None and "section" in listed else ""
        if held == "atmospheric" and item["tag"][:2] in ("T-", "DG"):
            rows.append(_row(of, item["title"], item["tag"], "tank", None, ""))
        elif held in of.sections or key.startswith("stage"):
            section = of.sections[held] if held in of.sections else of.sections["vessels"]
            kind = "plastic-vessel" if key in ("vessels", *_HOUSINGS) else "casing" if (
                any(word in item["key"] for word in _CASINGS) or item["tag"].startswith("P-")) else (
                code if any(word in item["material"] for word in _PLATES) else "plastic-vessel")
            rows.append(_row(of, item["title"], item["tag"], kind, section, _plate(item), key))
    return Table("Test pressure of each part", (
        Column("part", "Part", width=1.8), Column("tag", "Tag or size", width=1.1), Column("code", "Code", width=1.5),
        Column("design", "Design pressure", "gauge pressure", 0.8), Column("ratio", "Hot over cold stress", "fraction",
                                                                           0.7),
        Column("test", "Test pressure", "gauge pressure", 0.8),
        Column("limit", "1.5 × class", "gauge pressure", 0.8), Column("hold", "Hold", "time.minute", 0.6),
        Column("medium", "Medium", width=1.5), Column("place", "Where", width=2.2),
        Column("accepted", "Accepted when", width=1.6)), rows, ("part", "tag"),
        "Design pressure: the larger of the governing pressure and the set pressure of the relief valve of the "
        "section, not the rating of its flanges; of membrane vessels their rating. Gauge, at the lowest point.")


def _plate(item: Mapping[str, Any]) -> str:
    text = item["material"]
    return "super-duplex" if "uper duplex" in text else "stainless" if "S31603" in text else "carbon-steel"


def _row(of: Source, part: str, tag: str, kind: str, section: Mapping[str, Any] | None,
         material: str, part_of: str = "") -> dict[str, Cell]:
    code = table("pressure_test_codes").row(kind, "tests")
    row: dict[str, Cell] = {"part": part, "tag": tag, "code": code["code"].value, "hold": code["hold"].value,
                            "medium": code["medium"].value, "place": code["place_of_test"].value,
                            "accepted": code["accepted"].value}
    if section is None:
        return row if kind == "tank" else row | {"accepted": "no leak, full to the level of its tank"}
    design = max(section["governing"], section["relief"] or 0.0) if part_of != "vessels" else section["rating"]
    left = _stress_left(of, material)
    test = _test_pressure(of, kind, code, design, left)
    factor = table("pressure_test_codes").row("flange", "tests")["test_factor"].value
    limit = of.at(factored_test_pressure, "gauge pressure", design_pressure=section["rating"], test_factor=factor)
    row |= {"design": design, "test": test, "limit": limit.value}
    if kind in ("metal-pipe", "vessel-asme", "vessel-en"):
        row["ratio"] = left
    if test > limit.value:
        row["accepted"] = f"{row['accepted']}; beyond 1.5 times the class: flanges are blanked off or a higher class " \
                          "is taken"
    return row


def _stress_left(of: Source, material: str) -> float:
    warm = of.number("water.temperature_hot")
    if warm is None or material not in table("hot_stress"):
        return 1.0
    left = table("hot_stress").row(material, "tests")["hot_fraction"].value
    return of.at(code_stress_fraction, "fraction", temperature=warm, hot_fraction=left).value


def _test_pressure(of: Source, kind: str, code: Row, design: float, left: float) -> float:
    by = {"metal-pipe": metal_pipe_test_pressure, "vessel-asme": vessel_test_pressure_asme,
          "vessel-en": vessel_test_pressure_en}.get(kind)
    if by is not None:
        return of.at(by, "gauge pressure", design_pressure=design, stress_fraction=left).value
    if kind == "plastic-pipe":
        return of.at(plastic_pipe_test_pressure, "gauge pressure", design_pressure=design).value
    return of.at(factored_test_pressure, "gauge pressure", design_pressure=design,
                 test_factor=code["test_factor"].value).value


def examinations(of: Source) -> list[Block]:
    """Shares of joints examined, for the kinds of joint the plant has, and treatment of surfaces."""
    kinds = {"frame"}
    for line in of.lines:
        if table("pipes").row(line["material"], "tests")["metal"].value == "yes":
            kinds.add("metal-high" if line["service"] == "high-pressure" else "metal-low")
        else:
            kinds.add("plastic")
    if any("arbon steel" in r["material"] and r["tag"].startswith("F-") for r in of.equipment):
        kinds.add("lined-vessel")
    rows = [{"kind": r.title, **{c: r[c].value for c in ("visual", "volumetric", "surface", "identification",
                                                        "further", "treatment")}}
            for r in table("examinations").values() if r["applies"].value in kinds]
    coat = table("coatings").row(of.choice("offer.coating"), "tests")
    return [Table("Examination and treatment of joints", (
        Column("kind", "Joints", width=1.6), Column("visual", "Visual", "fraction", 0.6),
        Column("volumetric", "Volumetric", "fraction", 0.8), Column("surface", "Surface", "fraction", 0.6),
        Column("identification", "PMI", "fraction", 0.6), Column("further", "Further", width=2.2),
        Column("treatment", "Cleaning, passivation, coating", width=2.2)), rows, ("kind",),
        "Share of joints; the code, the client or the inspector may ask for more. Common practice over the minimum of "
        "the code."),
        Paragraph(f"Carbon steel outdoors is coated for category {coat['category'].value}, {coat['durability'].value}: "
                  f"zinc-rich primer and {int(coat['coats'].value) - 1} further "
                  f"coat{'s' if coat['coats'].value > 2 else ''}, nominal dry film "
                  f"{of.text(coat['thickness'].value, 'length.micro')} in all, on steel blasted to Sa 2 1/2. Stainless "
                  "steel is pickled and passivated, not painted.")]


def pressure_tests(of: Source) -> Document:
    """The document on pressure tests and examinations."""
    blocks: list[Block] = [
        Heading("Pressure tests"), Note(CAUTION), parts_under_test(of),
        Points(("Membrane elements are not in the vessels during a test, and vessels are not tested at site beyond the "
                "manufacturer's limit.",
                "Relief valves, instruments and pump seals are isolated or taken out and listed before the test.",
                "Water is drained and the part dried within 48 h; stainless steel sees no more than 50 mg/L chloride.",
                "Two calibrated gauges, with a range of 1.5 to 4 times the test pressure, one at the lowest point.",
                "No pneumatic test of plastic pipe.")),
        Heading("Examination and treatment"), *examinations(of)]
    return Document("pressure-tests", "402", "Pressure tests and examinations", blocks, wide=True,
                    group="Materials and tests")
