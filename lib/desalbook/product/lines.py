"""Lines the finishing of the product makes more than once, and what it warns of."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from desalbook.product import relations as r
from desalbook.tables import table
from desalbook.trail import Choice, Column, Figure, assumed, checked, engine, note
from desalbook.water.phreeqc_bridge import EngineRecord

__all__ = ["answer", "chased", "corrosion", "drift", "masses", "molar_mass", "moles"]

Inp = Callable[[str], Any]


def drift(inp: Inp, alkalinity: Figure, ph: Figure) -> None:
    """A pH on almost no alkalinity is none."""
    checked(
        "product.alkalinity.check_buffer",
        alkalinity,
        ">=",
        inp("product.buffer_limit"),
        title=f"Buffer that holds pH {float(ph):.1f}",
        source="common-practice",
        do="remineralise, or state no pH target: the pH will drift with air and with each dosing error",
    )


def corrosion(lsi: Figure | None, ph: Figure, alkalinity: Figure) -> None:
    """The index is information; soft water attacks metal and cement whatever it says."""
    negative = lsi is None or not float(lsi) >= 0.0
    note(
        "product.corrosion",
        title="What the product does to pipes",
        verdict="caution" if negative else "holds",
        why="it dissolves calcite, and attacks cement and bare metal"
        if negative
        else "it does not dissolve calcite; chloride and oxygen still attack metal",
        do="use plastic or resistant alloys, or remineralise",
        inputs={"ph": ph, "alkalinity": alkalinity, **({"index": lsi} if lsi is not None else {})},
    )


def chased(inp: Inp, use: Choice, lsi: Figure | None) -> None:
    """Minerals and an index have no place in boiler make-up or process water."""
    route: Choice = inp("product.remineralisation")
    soft = use in ("boiler", "process")
    wrong = soft and route != "none"
    note(
        "product.index_use",
        title="Langelier index and the use of the product",
        verdict="fails" if wrong else "holds",
        why=f"the product is for {use}: hardness that is added for the index becomes scale, or load on the polisher"
        if wrong
        else "the index is information here; soft water corrodes bare steel, copper and cement"
        if soft
        else "minerals and use go together",
        do='write product.remineralisation = "none"; protect pipes by material, oxygen removal and pH',
        inputs={"use": use, "route": route, **({"index": lsi} if lsi is not None else {})},
    )


def molar_mass(chemical: str, id: str) -> Figure:
    """Molar mass of one chemical of the table."""
    row = table("chemicals")[chemical]
    return assumed(
        id,
        row["molar_mass"].value,
        "molar mass",
        title=f"Molar mass, {row.title}",
        symbol="M",
        text=row["molar_mass"].text,
        source="iupac-weights",
        table="chemicals",
        row=row.key,
    )


def moles(chemical: str, id: str, given_dose: Figure, content: Figure) -> Figure:
    """A dose as moles per kilogram of water."""
    mass = molar_mass(chemical, f"{id}_molar_mass")
    return r.dose_amount.at(f"{id}_amount", dose=given_dose, molar_mass=mass, water_content=content)


def masses(id: str, keys: tuple[str, ...], values: list[float], how: str) -> Column:
    return assumed(
        id,
        values,
        "molar mass",
        title=f"Molar mass, {how}",
        symbol="M",
        axis="ion",
        keys=keys,
        source="iupac-weights",
        table="chemistry/ions",
    )


def answer(
    id: str,
    value: Any,
    kind: str,
    title: str,
    symbol: str,
    inputs: Mapping[str, Any],
    record: EngineRecord,
    remark: str,
    keys: tuple[str, ...] | None = None,
) -> Any:
    return engine(
        id,
        value,
        kind,
        title=title,
        symbol=symbol,
        inputs=inputs,
        library=record.library,
        version=record.library_version,
        data=record.database,
        checksum=record.sha256,
        source="phreeqc-2013",
        note=remark,
        axis="ion" if keys else None,
        keys=keys,
    )
