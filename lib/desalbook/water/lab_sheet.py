"""From a laboratory's sheet (CSV or xlsx) to the text of section ``[water]`` of a design file.

One row a constituent, with columns for its name, its number and its unit. The decimal mark is declared, never
guessed. Each row is read through the same door as the design file; what is not understood is refused with row and
column, so that nothing is dropped in silence.
"""

from __future__ import annotations

import re
import zipfile
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from desalbook.problems import DesignError
from desalbook.units import metas
from desalbook.units.fieldmeta import nearest
from desalbook.water.basis import bases
from desalbook.water.inputs import OneWater, RawWater
from desalbook.water.species import table

__all__ = ["COLUMNS", "header_row", "read", "separator"]

COLUMNS: Mapping[str, str] = {"name": "Parameter", "value": "Result", "unit": "Unit"}
"""Headings expected unless others are named; ``"basis"`` may be mapped too."""
_LEAST_ROWS, _MOST_ROWS = 1, 2000
_NO_UNIT = ("", "-", "--", "\N{EN DASH}")
_BASIS = re.compile(r"(?P<unit>[^ (]+) ?(?:as |\()?(?P<basis>CaCO3|N|P|S|Si|SiO2|B|Cl2|H3BO3|NO3|NH4|SO4|PO4)\)?$")


def read(path: str | Path, columns: Mapping[str, str] | None = None, *, decimal: str = ".",
         separator: str | None = None, sheet: str | int = 0, header: int = 1, names: Mapping[str, str] | None = None,
         skip: Sequence[str] = (), below: str = "refuse", analysis: str = "", share: str = "") -> str:
    """Read a sheet and give the text that a design file wants.

    Parameters
    ----------
    path : str or Path
        ``.csv`` (UTF-8) or ``.xlsx``.
    columns : mapping, optional
        ``name``, ``value``, ``unit`` and, where there is one, ``basis`` to the headings of the sheet.
    decimal : {".", ","}
        The sheet's decimal mark. Thousands stand apart by a space or not at all.
    separator : str, optional
        Between fields of a CSV; ``;`` with a decimal comma, else ``,``.
    sheet : str or int
        Of a workbook.
    header : int
        Row of the headings, counted from 1.
    names : mapping, optional
        The sheet's own names to keys of the design (``{"Chlorures": "Cl"}``).
    skip : sequence of str
        Names that are known and not wanted.
    below : {"refuse", "limit", "zero"}
        What to write for ``<0.02``: nothing, the limit, or zero. The line says which.
    analysis, share : str
        Give the text as one of several analyses, with this name and share (``"40 %"``).

    Returns
    -------
    str
        TOML: ``[water]`` with ``[water.ions]``, or one ``[[water.analyses]]``. Every value is followed by its row.

    Raises
    ------
    DesignError
        One line: row, column, value, what is allowed, what to do.
    """
    if decimal not in (".", ","):
        raise DesignError("no such decimal mark", where="decimal", value=decimal, allowed=". or ,",
                          do="say which mark the sheet uses")
    if below not in ("refuse", "limit", "zero"):
        raise DesignError("not one of the choices", where="below", value=below, allowed="refuse, limit, zero",
                          do="say what stands for a number below detection")
    path = Path(path)
    heads = {**COLUMNS, **(columns or {})}
    odd = next((k for k in heads if k not in ("name", "value", "unit", "basis")), None)
    if odd:
        raise DesignError("no such column", where=f"columns[{odd}]", allowed="name, value, unit, basis")
    rows = _rows(path, separator or (";" if decimal == "," else ","), sheet, header)
    place = _places(rows[0], heads, path.name, header)
    known = _known(names or {})
    passed = {_plain(s) for s in skip}
    ions: dict[str, tuple[str, str]] = {}
    water: dict[str, tuple[str, str]] = {}
    titrated = False
    for number, row in enumerate(rows[1:], start=header + 1):
        cell = {k: row[n] if n < len(row) else None for k, n in place.items()}
        name = _plain(cell["name"])
        if not name and all(_blank(x) for x in row):
            continue
        if name in passed:
            continue
        at = f"{path.name} row {number}"
        key, home = _key(name, known, f"{at} column {heads['name']}", cell["name"])
        text, said = _number(cell["value"], decimal, below, f"{at} column {heads['value']}")
        unit, basis = _unit(cell, name, key, home)
        if home == "ions":
            titrated = titrated or name in table("lab_names")["titrated"].get(key, ())
            whole = f"{text} {unit}" + (f" as {basis}" if basis else "")
        else:
            whole = f"{text} {unit}".strip() + (f" as {basis}" if basis else "")
        target = ions if home == "ions" else water
        if key in target:
            raise DesignError("is given twice", where=f"{at} column {heads['name']}", value=str(cell["name"]),
                              do="keep one of the rows, or name the other in skip")
        _judge(key, home, whole, f"{at} column {heads['unit'] if unit else heads['value']}")
        target[key] = (whole, f"row {number}: {_words(cell['name'])}{said}")
    if not ions:
        raise DesignError("holds no ion", where=path.name, do="check the headings and the names")
    if titrated:
        water["bicarbonate_from"] = ("titration", "the sheet states alkalinity")
    return _text(path.name, ions, water, analysis, share)


def separator(path: str | Path) -> str | None:
    """What parts the fields of a CSV: the one of ``;`` and ``,`` that its heading has more of; None of a workbook."""
    path = Path(path)
    if path.suffix.lower() != ".csv" or not path.is_file():
        return None
    text = path.read_text(encoding="utf-8-sig", errors="replace")
    return ";" if text.count(";") > text.count(",") else ","


def header_row(path: str | Path, columns: Mapping[str, str] | None = None) -> int:
    """Row of a sheet, counted from 1, that has all the headings; 1 where none has, so that `read` names them."""
    path = Path(path)
    wanted = {_plain(x) for x in {**COLUMNS, **(columns or {})}.values()}
    rows = _rows(path, separator(path) or ",", 0, 1)
    return next((n for n, row in enumerate(rows, 1) if wanted <= {_plain(x) for x in row}), 1)


def _rows(path: Path, separator: str, sheet: str | int, header: int) -> list[list[Any]]:
    import pandas as pd

    end = path.suffix.lower()
    if end not in (".csv", ".xlsx"):
        raise DesignError("not a sheet this reads", where=path.name, allowed=".csv or .xlsx",
                          do="save it in one of these forms")
    if not path.is_file():
        raise DesignError("no such file", where=path.name, do="check the path")
    try:
        if end == ".csv":
            frame = pd.read_csv(path, sep=separator, header=None, dtype=str, keep_default_na=False,
                                encoding="utf-8-sig", skip_blank_lines=False, engine="python")
        else:
            frame = pd.read_excel(path, sheet_name=sheet, header=None, dtype=object, keep_default_na=False,
                                  engine="openpyxl")
    except UnicodeDecodeError:
        raise DesignError("not UTF-8", where=path.name, do="save the sheet as CSV UTF-8") from None
    except (ValueError, OSError, KeyError, zipfile.BadZipFile) as error:
        said = " ".join(str(error).split())
        raise DesignError(f"the sheet cannot be read: {said}", where=path.name,
                          do="check the separator and the name of the sheet") from None
    rows = [[None if isinstance(x, float) and x != x else x for x in row] for row in frame.values.tolist()]
    if not _LEAST_ROWS <= header < len(rows) or len(rows) > _MOST_ROWS:
        raise DesignError("has no rows under its headings" if len(rows) <= _MOST_ROWS else "has too many rows",
                          where=path.name, value=len(rows), allowed=f"up to {_MOST_ROWS} rows",
                          do="name the row of the headings with header")
    return rows[header - 1:]


def _blank(cell: Any) -> bool:
    return cell is None or str(cell).strip() == ""


def _words(cell: Any) -> str:
    text = "" if cell is None else "".join(c if c.isprintable() else " " for c in str(cell))
    return " ".join(text.split())


def _plain(cell: Any) -> str:
    return _words(cell).lower()


def _places(head: list[Any], wanted: Mapping[str, str], file: str, row: int) -> dict[str, int]:
    found = [_plain(x) for x in head]
    places = {}
    for key, title in wanted.items():
        hits = [n for n, x in enumerate(found) if x == _plain(title)]
        if len(hits) != 1:
            there = ", ".join(_words(x) for x in head if not _blank(x))
            raise DesignError("no such heading" if not hits else "the heading is given twice",
                              where=f"{file} row {row} column {title}", allowed=there[:200],
                              do=f"say which heading holds the {key}: columns={{'{key}': ...}}")
        places[key] = hits[0]
    return places


def _known(names: Mapping[str, str]) -> dict[str, tuple[str, str]]:
    data = table("lab_names")
    known = {n: (key, home) for home in ("ions", "water") for key, said in data[home].items() for n in said}
    for theirs, ours in names.items():
        home = "ions" if ours in data["ions"] else "water"
        if ours not in data[home]:
            raise DesignError("no such key of the design", where=f"names[{theirs}]", value=ours,
                              do=nearest(ours, (*data["ions"], *data["water"])))
        known[_plain(theirs)] = (ours, home)
    return known


def _key(name: str, known: Mapping[str, tuple[str, str]], at: str, cell: Any) -> tuple[str, str]:
    if name in known:
        return known[name]
    raise DesignError("the name is not known" if name else "has no name", where=at, value=_words(cell),
                      do="map it with names={...} to a key of the design, or omit it with skip=[...]")


def _number(cell: Any, decimal: str, below: str, at: str) -> tuple[str, str]:
    """The number as text with a point, and what to say of it."""
    if isinstance(cell, (int, float)) and not isinstance(cell, bool):
        return f"{cell:.15g}", ""
    text = _words(cell).replace("\N{NO-BREAK SPACE}", " ").replace("\N{MINUS SIGN}", "-")
    said = ""
    if text.startswith("<"):
        if below == "refuse":
            raise DesignError("is below detection", where=at, value=text, allowed="a number",
                              do='say below="limit" or below="zero"')
        said, text = (f" {text}, the limit stands", text[1:].strip()) if below == "limit" else (
            f" {text}, zero stands", "0")
    mark = re.escape(decimal)
    if not re.fullmatch(rf"-?(\d+|\d{{1,3}}( \d{{3}})+)({mark}\d+)?([eE][+-]?\d+)?", text):
        other = "," if decimal == "." else "."
        do = (f"the declared decimal mark is {decimal!r}; declare the other one, or enter the number without "
              "separators of thousands") if other in text else "enter one number in this cell"
        raise DesignError("not a number" if text else "is empty", where=at, value=text,
                          allowed=f"digits with {decimal!r} as decimal mark", do=do)
    return text.replace(decimal, "."), said


def _unit(cell: Mapping[str, Any], name: str, key: str, home: str) -> tuple[str, str]:
    unit, basis = _words(cell["unit"]), _words(cell.get("basis"))
    if unit in _NO_UNIT:
        unit = ""
    within = _BASIS.fullmatch(unit)
    if within and not basis:
        unit, basis = within["unit"], within["basis"]
    if basis.startswith("as "):
        basis = basis[3:]
    if not basis and home == "ions":
        data = table("lab_names")
        if name in data["titrated"].get(key, ()) and "eq" not in unit and "mol" not in unit:
            basis = "CaCO3"
        basis = basis or next((b for b, said in data["named_basis"].items() if name in said), "")
    if home == "water":
        if key == "sulfide" and basis in ("H2S", "ion"):
            basis = ""
        if key == "residual_oxidant" and not basis:
            basis = "Cl2"
    return unit, basis


def _judge(key: str, home: str, text: str, at: str) -> None:
    """Through the door of the design file, with the place in the sheet."""
    meta = metas(RawWater)["ions" if home == "ions" else key]
    try:
        if home == "ions":
            meta.read({key: text}, "ions")
        else:
            meta.read(text, at)
    except DesignError as error:
        allowed = error.allowed or (f"the ion, or as {', '.join(b for b in bases(key) if b != 'ion')}"
                                    if home == "ions" else "")
        raise DesignError(error.what, where=at, value=text, allowed=allowed,
                          do=error.do or "correct the cell") from None


def _text(file: str, ions: Mapping[str, tuple[str, str]], water: Mapping[str, tuple[str, str]], analysis: str,
          share: str) -> str:
    out = [f"# From the laboratory sheet {_words(file)}"]
    if not analysis:
        out += ["[water]", *(f'{k} = "{v}"  # {why}' for k, (v, why) in water.items()), "", "[water.ions]",
                *(f'{k} = "{v}"  # {why}' for k, (v, why) in ions.items())]
        return "\n".join(out) + "\n"
    for key, value in (("name", analysis), ("share", share)):
        metas(OneWater)[key].read(value, f"water.analyses.{key}")
    inner = metas(OneWater)
    away = [k for k in water if k not in inner]
    out += ["[[water.analyses]]", f'name = "{analysis}"', f'share = "{share}"',
            *(f'{k} = "{v}"  # {why}' for k, (v, why) in water.items() if k in inner),
            "ions = { " + ", ".join(f'{k} = "{v}"' for k, (v, _) in ions.items()) + " }",
            *(f"# of the plant, under [water]: {k} = \"{water[k][0]}\"" for k in away)]
    return "\n".join(out) + "\n"
