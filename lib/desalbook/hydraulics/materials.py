"""Materials in seawater: the pitting resistance equivalent number (PREN) of an alloy, and what it must reach."""

from __future__ import annotations

from desalbook.hydraulics.rows import row_line
from desalbook.tables import table
from desalbook.trail import Choice, Figure, checked, note, relation, scope
from desalbook.trail.limits import limit, limit_source
from desalbook.trail.words import part_key
from desalbook.units import Factor, MassFraction

__all__ = ["alloy_pren", "check_pitting", "pren", "required_pren"]

CAUTION = (
    "Even alloys above the PREN limit pit under deposits, at gaskets and in stagnant seawater, sooner with heat and "
    "chlorine. Avoid crevices, drain or preserve at standstill, and follow the owner's material standard."
)


@relation(
    "Pitting resistance number",
    symbol="PREN",
    unit="1",
    source="nace-1993-267",
    place="with tungsten at half its share; another version weighs nitrogen with 30",
    note="ranks alloys, does not predict a life; crevices, chlorine and temperature decide",
)
def pren(chromium: MassFraction, molybdenum: MassFraction, tungsten: MassFraction, nitrogen: MassFraction) -> Factor:
    """Pitting resistance equivalent number (PREN) of an alloy, from its chromium, molybdenum, tungsten and nitrogen.

    Per cent by mass, tungsten at half the weight of molybdenum. Ranks alloys of one family; crevices,
    deposits, chlorine and temperature decide, and no life follows from it.
    """
    return 100 * (chromium + 3.3 * (molybdenum + 0.5 * tungsten) + 16 * nitrogen)


def alloy_pren(id: str, alloy: str, because: list) -> Figure:
    """Number of one row of the alloys.

    Parameters
    ----------
    id : str
        Of the number; its four shares are recorded below it.
    alloy : str
        Row of the table of alloys.
    because : list
        What named the row.
    """
    shares = {
        name: row_line(f"{id}_{name}", "alloys", alloy, name, because=because)
        for name in ("chromium", "molybdenum", "tungsten", "nitrogen")
    }
    return pren.at(id, title=f"PREN, {table('alloys').row(alloy, id).title}", **shares)


def check_pitting(prefix: str, material: Choice, wanted: Figure) -> Figure | None:
    """Judge the metal of a run in seawater; a plastic needs no number.

    Parameters
    ----------
    prefix : str
        Id of the run.
    material : Choice
        Row of the table of pipes.
    wanted : Figure
        Minimum pitting resistance number with crevices.

    Returns
    -------
    Figure or None
        Pitting resistance number of the alloy; None for plastics and steels without one.
    """
    row = table("pipes").row(str(material), f"{prefix}.material")
    with scope(because=[material]):
        if row["metal"].value == "no":
            return None
        alloy = row.get("alloy")
        if alloy is None:
            steel = row.key.startswith("carbon")
            note(
                f"{prefix}.material.check",
                title=f"Material in seawater, {part_key(prefix)}",
                verdict="fails" if steel else "review",
                why="carbon steel rusts, and its iron fouls the membranes"
                if steel
                else "this metal has no pitting resistance number: velocity, sulfide and pH decide",
                do="choose a plastic or a high alloy" if steel else "keep to its velocity, and ask its manufacturer",
                inputs={"material": material},
                caution=CAUTION,
            )
            return None
        number = alloy_pren(f"{prefix}.pren", alloy.value, [material])
        checked(
            f"{prefix}.pren.check",
            number,
            ">=",
            wanted,
            title=f"PREN in seawater, {part_key(prefix)}",
            do="choose a higher alloy or a plastic",
            caution=CAUTION,
            source=limit_source("pitting-number"),
        )
        if row["alloy_least"].value != alloy.value:
            least = alloy_pren(f"{prefix}.pren_minimum", row["alloy_least"].value, [material])
            note(
                f"{prefix}.pren.certificate",
                title=f"PREN on the certificate, {part_key(prefix)}",
                verdict="passes",
                why="the smallest composition of this grade is below the limit: only the certificate of the heat "
                "shows that what is delivered is not",
                do="specify the minimum PREN in the order, and keep the mill certificate of each heat",
                inputs={"least": least, "wanted": wanted},
            )
        return number


def required_pren() -> Figure:
    """Smallest number with crevices, ``limits.pitting_number``."""
    return limit("pitting-number", symbol="PREN_0")
