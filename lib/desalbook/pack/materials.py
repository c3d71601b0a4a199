"""Materials: metals with their PREN, pairs in contact, plastics in warm water, and what resists each chemical."""

from __future__ import annotations

from desalbook.fabrication.couples import couple_voltage
from desalbook.hydraulics.materials import CAUTION, pren
from desalbook.pack.document import Block, Column, Document, Heading, Note, Paragraph, Table, Value
from desalbook.pack.plant_source import Source
from desalbook.plant.design_pressures import SECTION_OF
from desalbook.tables import Row, table

__all__ = ["CONTACT", "chemicals_resisted", "couples", "materials", "metals", "plastics"]

CONTACT = 0.15
"""Volts between two metals in seawater over which a joint is insulated; common practice, no source."""
_NOBLE = {"super-duplex": "super-duplex", "super-duplex-tungsten": "super-duplex", "six-molybdenum": "super-duplex",
          "high-nickel": "super-duplex", "duplex": "s31603", "stainless": "s31603", "titanium": "titanium",
          "copper-nickel": "copper-nickel", "carbon-steel": "carbon-steel", "carbon-steel-corroded": "carbon-steel"}
"""Row of the galvanic series of each metal of the pipes."""
_WORDS = (("Titanium", "titanium"), ("Super duplex", "super-duplex"), ("opper-nickel", "copper-nickel"),
          ("S31603", "s31603"), ("S31254", "super-duplex"), ("N10276", "super-duplex"),
          ("arbon steel", "carbon-steel"), ("Cast iron", "carbon-steel"))
_MEASURED = {"feed-pressure": "feed", "feed-temperature": "feed", "suction": "feed", "discharge": "high-pressure",
             "vessel-drop": "high-pressure", "concentrate-pressure": "concentrate-high",
             "concentrate-flow": "concentrate"}
"""Run of pipe an instrument with a metal in seawater stands in."""
_ROLES = ("elastomer", "plastic", "metal")


def metals(of: Source) -> Table:
    """Metals of the runs of pipe: composition, PREN of the usual and of the smallest composition, and the limit."""
    wanted = of.number("limits.pitting_number")
    rows = []
    for line in of.lines:
        pipe = table("pipes").row(line["material"], "materials")
        if pipe["metal"].value != "yes":
            continue
        sea = table("pipe_runs").row(line["key"], "materials")["water"].value == "sea"
        row = {"run": line["title"], "size": line["size"], "metal": pipe.title, "water": "seawater" if sea else "fresh"}
        if (alloy := pipe.get("alloy")) is None:
            rows.append(row | {"verdict": "no PREN: the owner's material standard decides"})
            continue
        usual, smallest = (table("alloys").row(x, "materials") for x in (alloy.value, pipe["alloy_least"].value))
        numbers = [_pren(of, x) for x in (usual, smallest)]
        rows.append(row | {"alloy": usual.title.partition(" (")[0], "usual": numbers[0], "smallest": numbers[1]} | (
            {"wanted": wanted, "verdict": "passes" if min(numbers) >= wanted else "passes with the certificate of the "
             "heat" if max(numbers) >= wanted else "fails"} if sea and wanted is not None else
            {"verdict": "not in seawater"}))
    return Table("Metals and pitting resistance", (
        Column("run", "Run of pipe", width=2.2), Column("size", "Size", width=1.4), Column("metal", "Metal", width=1.6),
        Column("alloy", "Alloy", width=1.2), Column("water", "Water", width=0.8),
        Column("usual", "PREN, usual", "factor", 0.7), Column("smallest", "PREN, minimum", "factor", 0.8),
        Column("wanted", "PREN asked", "factor", 0.7), Column("verdict", "Result", width=1.4)), rows, ("run",),
        "PREN = Cr + 3.3 (Mo + 0.5 W) + 16 N, per cent by mass. The minimum composition of the grade decides at "
        "acceptance; the mill certificate of each heat is kept.")


def _pren(of: Source, alloy: Row) -> float:
    return of.at(pren, "factor", **{x: alloy[x].value for x in ("chromium", "molybdenum", "tungsten",
                                                                "nitrogen")}).value


def _galvanic(text: str) -> str:
    """Row of the galvanic series of a material in words; empty for plastics and the like."""
    return next((key for word, key in _WORDS if word in text), "")


def couples(of: Source) -> Table:
    """Each metal part with a tag, against the metal of the run it stands in, and lengths of pipe against others."""
    rows = []
    series = table("galvanic")
    lines = {x["key"]: x for x in of.lines}
    meets = [(r["tag"], r["material"], listed["run"].value) for r in of.equipment
             if (listed := of.listed(r)) is not None and "run" in listed]
    meets += [(v["tag"], v["material"], v["line"]) for v in of.valves]
    meets += [(i["tag"], i["wetted"], _MEASURED[i["key"]]) for i in of.instruments if i["key"] in _MEASURED]
    for tag, material, run in meets:
        if run not in lines or table("pipe_runs").row(run, "materials")["water"].value != "sea":
            continue
        one, other = _galvanic(material), _NOBLE.get(lines[run]["material"], "")
        if not one:
            continue
        row = {"tag": tag, "material": material, "run": lines[run]["title"]}
        if not other:
            rows.append(row | {"result": "pipe of plastic: no couple with it"})
            continue
        levels = sorted((_middle(series.row(x, "materials")) for x in (one, other)), reverse=True)
        gap = of.at(couple_voltage, "potential", noble_potential=levels[0], base_potential=levels[1])
        pipe = table("pipes").row(lines[run]["material"], "materials").title
        rows.append(row | {"pipe": pipe, "voltage": gap.value, "result": "passes" if gap.value <= CONTACT else
                           "insulate the joint, or coat the nobler metal"})
    return Table("Pairs in contact in seawater", (
        Column("tag", "Tag", width=0.9), Column("material", "Material", width=2.6),
        Column("run", "Run of pipe", width=2.2), Column("pipe", "Pipe", width=1.6),
        Column("voltage", "Between them", "potential", 0.9), Column("result", "Result", width=2)), rows, ("tag", "run"),
        "Middle of the ranges of a galvanic series in flowing seawater; up to "
        f"{Value(CONTACT, 'potential').text('si')} passes (common practice). "
        "Never a small less noble part on a large noble one; no graphite gaskets.")


def _middle(row: Row) -> float:
    return (row["potential_low"].value + row["potential_high"].value) / 2


def plastics(of: Source) -> Table:
    """Runs of plastic: the rating left in the warmest water, against the governing pressure of their section."""
    rows = []
    hot = of.number("water.temperature_hot") or 0.0
    clean = of.number("cip.temperature") or hot
    for line in of.lines:
        if table("pipes").row(line["material"], "materials")["metal"].value == "yes":
            continue
        warm = max(hot, clean) if line["key"] == "cleaning" else hot
        fits = [r for r in table("plastic_derating").values()
                if r["material"].value == line["material"] and r["temperature"].value >= warm - 1e-6]
        if (section := of.sections.get(SECTION_OF[line["key"]])) is None:
            continue  # no pump of this plant presses it: it runs by the level of its tank
        left = min(fits, key=lambda r: r["temperature"].value)["pressure_left"].value if fits else 0.0
        allowed = left * section["rating"]
        rows.append({"run": line["title"], "pipe": table("pipes").row(line["material"], "materials").title,
                     "size": line["size"], "warm": warm, "rating": section["rating"], "left": left, "allowed": allowed,
                     "governing": section["governing"],
                     "result": "passes" if allowed >= section["governing"] else "fails: take a higher class"})
    return Table("Plastic pipe in the warmest water", (
        Column("run", "Run of pipe", width=2.2), Column("pipe", "Material", width=1.6),
        Column("size", "Size", width=0.8), Column("warm", "Warmest", "temperature", 0.8),
        Column("rating", "Rated", "gauge pressure", 0.8), Column("left", "Left", "fraction", 0.6),
        Column("allowed", "Allowed", "gauge pressure", 0.8), Column("governing", "Governing", "gauge pressure", 0.9),
        Column("result", "Result", width=1)), rows, ("run",),
        "Rated at 20 to 25 degC; the fraction left is that of the next warmer step of the standard.")


def chemicals_resisted(of: Source) -> list[Block]:
    """For each chemical of the plant: which elastomers, plastics and metals resist it."""
    rows = []
    for chemical in of.chemicals:
        key = next((k for k, r in table("chemicals").items() if r.title == chemical["chemical"]), "")
        if key not in table("chemical_transport"):
            continue
        column = table("chemical_transport").row(key, "materials").get("resists")
        if column is None:
            continue
        row = {"line": chemical["title"], "chemical": chemical["chemical"]}
        for kind in _ROLES:
            of_kind = [r for r in table("compatibility").values() if r["kind"].value == kind]
            for letter, where in (("A", "good"), ("B", "limited"), ("C", "no")):
                row[f"{kind}_{where}"] = ", ".join(r.title for r in of_kind if r[column.value].value == letter)
        rows.append(row)
    made: list[Block] = []
    for kind, head in zip(_ROLES, ("Elastomers", "Plastics", "Metals"), strict=True):
        made.append(Table(f"{head} against each chemical", (
            Column("line", "Line", width=1.4), Column("chemical", "Chemical", width=2),
            Column(f"{kind}_good", "Resists", width=2.2), Column(f"{kind}_limited", "Limited", width=1.6),
            Column(f"{kind}_no", "Not to be used", width=2)), rows, ("line",),
            "At 20 to 30 degC, common practice: the manufacturer confirms grade, strength and temperature."))
    chart = table("compatibility")
    columns = [c for c in chart.columns if c != "kind"]
    made.append(Table("Chart of materials and chemicals", (
        Column("material", "Material", width=2.2), *(Column(c, chart.columns[c].title, width=1) for c in columns)),
        [{"material": r.title, **{c: r[c].value for c in columns}} for r in chart.values()], ("material",),
        "A resists, B limited, C not to be used. The manufacturer confirms."))
    return made


def materials(of: Source) -> Document:
    """The document on materials."""
    blocks: list[Block] = [
        Heading("Seawater and concentrate"), Note(CAUTION), metals(of), couples(of),
        Heading("Plastics"), plastics(of),
        Heading("Chemicals"),
        Paragraph("Wetted parts of tanks, dosing pumps, lines and seals are taken from the column that resists. "
                  "Chemicals of different lines never share a bund, a drain or a vent."),
        *chemicals_resisted(of)]
    return Document("materials", "401", "Materials", blocks, wide=True, group="Materials and tests")
