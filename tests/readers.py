"""Who reads what: cells of the data tables and keys of the design that a battery of plants asks for.

Run as a program of its own (``python -m tests.readers``), for a table is read once in a process and what was read
before the watch began is not seen. It prints JSON; `tests/test_readers.py` judges it. Not a test itself.
"""

from __future__ import annotations

import json
import re
import sys
from collections.abc import Iterator, Mapping
from typing import Any

import desalbook.tables as tables

__all__ = ["battery", "choices", "main", "schema_keys", "watch"]

CELLS: set[tuple[str, str, str]] = set()
"""Table, row and column that somebody asked for."""
SERIES: set[tuple[str, str]] = set()
KEYS: set[str] = set()
"""Keys of the design that a room asked for, entries of lists without their names."""
NOT_READING = {"prove", "_has", "_field"}
"""Functions that look through a whole table without using what they see; `_field` makes the key of a limit."""
HINTS = {"_usual"}
"""Functions that read a column of every row for a hint: the column has a reader by that, the row has not."""
_NAME = re.compile(r"\[[^\]]*\]")


class _Watched(dict):
    """Cells of one row that note who is asked for."""

    def __init__(self, cells: Mapping[str, Any], where: str):
        super().__init__(cells)
        self.table, _, rest = where.partition("[")
        self.row = rest[:-1]

    def __getitem__(self, name: str) -> Any:
        frame = sys._getframe(1)
        if frame.f_code.co_name == "__getitem__":  # the row itself: who asked it?
            frame = frame.f_back or frame
        if frame.f_code.co_name in HINTS:
            CELLS.add((self.table, "", name))
        elif frame.f_code.co_name not in NOT_READING:
            CELLS.add((self.table, self.row, name))
        return super().__getitem__(name)

    def items(self) -> Any:
        CELLS.update((self.table, self.row, name) for name in self)
        return super().items()

    def values(self) -> Any:
        CELLS.update((self.table, self.row, name) for name in self)
        return super().values()


def watch() -> None:
    """Note every cell and every key that is asked for from now on."""
    from desalbook.trail import inputs

    made, listed, begun = tables._row, tables.Table.series, inputs.Inputs.__init__

    def row(key: str, given: Mapping[str, Any], columns: Mapping[str, Any], where: str) -> tables.Row:
        found = made(key, given, columns, where)
        object.__setattr__(found, "cells", _Watched(found.cells, where))
        return found

    def series(self: tables.Table, name: str) -> tables.Series:
        SERIES.add((self.name, name))
        return listed(self, name)

    def init(self: inputs.Inputs, value: Any, names: Any = None) -> None:
        def asked(id: str) -> Any:
            KEYS.add(_NAME.sub("", id))
            return value(id)

        begun(self, asked, names)

    tables._row, tables.Table.series, inputs.Inputs.__init__ = row, series, init  # type: ignore[method-assign]


def schema_keys() -> list[str]:
    """Every key a design may have, entries of lists without their names."""
    from desalbook.design.sections import LISTS, SECTIONS
    from desalbook.units import metas

    def below(prefix: str, section: Any, name: str) -> Iterator[str]:
        for key, m in metas(section).items():
            if m.item is not None:
                yield from below(f"{prefix}.{key}", m.item, m.key)
            elif key != name:
                yield f"{prefix}.{key}"

    # a key of [limits] is read where its row of the guidelines is, and that is watched for itself
    return [*(id for name, section in SECTIONS.items() if name != "limits" for id in below(name, section, "")),
            *(id for name, m in LISTS.items() for id in below(name, m.item, m.key))]


MIXED = '[[membrane.element_by_position]]\nname = "rear"\nelement = "demo-a-standard"\nfirst = 7\nlast = 7\n'
CURVE = "".join(f'\n[[hp_pump.curve]]\nname = "p{n}"\nflow = "{flow} m3/h"\nhead = "{head} m"\n'
                f'efficiency = "{eta} %"\n'
                for n, (flow, head, eta) in enumerate(((20, 700, 60), (60, 660, 78), (120, 560, 70))))

SPREADS = ('\n[[spreads]]\ninput = "temperature"\nlow = "15 degC"\nhigh = "29 degC"\nmode = "22 degC"\n'
           'mean = "22 degC"\ndeviation = "3 K"\ndistribution = "triangular"\nwith_input = "salinity"\n'
           'correlation = 0.4\nbasis = "invented"\n[[spreads]]\ninput = "salinity"\nlow = "36 g/kg"\n'
           'high = "38 g/kg"\n')
LIFTED = '[[membrane.second_pass.stages]]\nname = "second"\nvessel_fraction = "50 %"\nboost = "3 bar"\n'
"""A second stage of a second pass, with a pump of its own."""
OWN_LOADS = '\n[power]\ngenerator = "yes"\n' + "".join(
    f'[[power.consumers]]\nname = "{kind}"\nkind = "{kind}"\npower = "30 kW"\nhours = "10 h"\n{more}'
    for kind, more in (("motor", ""), ("cooling", 'panel = "train"\non_generator = "yes"\n'), ("lighting", ""),
                       ("workshop", 'duty = "intermittent"\n'), ("heating", ""),
                       ("electronics", 'motor = "45 kW"\ndrive = "yes"\n')))
QUOTE = '\n[[cost.quotes]]\nitem = "hp_pump"\nprice = "210000"\noffer = "invented, 2024"\n'


def own_sheets() -> Iterator[str]:
    """Texts of designs with manufacturers' sheets of their own, each used."""
    from tests.plant import test_element_sheets, test_own_sheets, test_recovery

    yield test_own_sheets.design().text
    yield test_element_sheets.design().text
    yield test_element_sheets.design().with_value("dechlorination.present", "no").text  # chlorine reaches its elements
    for device, sheet in (("isobaric", "quote-a"), ("turbocharger", "quote-b"), ("pelton", "quote-c")):
        yield test_recovery.with_sheets(device, sheet).text


SHORT = 4
"""Options of a list that are tried at all its places; of a longer list at the first."""


MANY = 40
"""A list of so many options is one of sizes: its first and last are tried."""
BLANK = 'format = 1\n[duty]\ntrain_product_flow = "1000 m3/d"\n[water]\nsea_salinity = "40 g/kg"\n'
"""The duty and a salinity: the kit proposes all else."""


def choices() -> list[str]:
    """Every option of every choice of the schema: rows among them are chosen by a person."""
    from desalbook.design.sections import SECTIONS
    from desalbook.units import metas

    def below(section: Any) -> Iterator[str]:
        for m in metas(section).values():
            if m.item is not None:
                yield from below(m.item)
            elif m.form == "choice":
                yield from m.options

    return sorted({option for section in SECTIONS.values() for option in below(section)})


def battery() -> Iterator[str]:
    """Texts of designs: options of each choice, stages, passes, uses, a tested fouling index and random plants.

    A row that a person may choose has a reader where its neighbours have one.
    """
    from desalbook import paths
    from desalbook.design import Design, from_text
    from desalbook.design.sections import SECTIONS
    from desalbook.problems import Problem
    from desalbook.units import metas
    from tests.random_designs import SECOND, STAGED, feasible_text

    demos = [paths.demo(name).read_text(encoding="utf-8") for name in ("harbour-town.toml", "beach-well.toml")]
    yield from demos
    yield BLANK
    base = from_text(demos[0], paths.demo("harbour-town.toml"))

    def moved(design: Design, values: Mapping[str, Any]) -> Iterator[str]:
        try:
            yield design.with_values(values).text
        except Problem:
            return

    def places(prefix: str, section: Any) -> Iterator[tuple[list[str], Any]]:
        """Each key with the ids it has in the demo, one an entry of a list."""
        for key, m in metas(section).items():
            if m.form == "sections":
                here: Any = base.sections
                for part in f"{prefix}.{key}".split("."):
                    here = here[part] if here is not None else None
                for inner, mm in metas(m.item).items():
                    yield [f"{prefix}.{key}[{one[m.key]}].{inner}" for one in here or ()], mm
            elif m.item is None:
                yield [f"{prefix}.{key}"], m

    for name, section in SECTIONS.items():
        for ids, m in places(name, section):
            if m.form == "choice":
                options = [*m.options]
                for option in options if len(options) < MANY else (options[0], options[-1]):
                    yield from moved(base, dict.fromkeys(ids[:1] if len(m.options) > SHORT else ids, option))
    for more in (*STAGED, SECOND, STAGED[0] + SECOND, SECOND + LIFTED, MIXED):
        yield demos[0].replace("[energy_recovery]", f"{more}\n[energy_recovery]")
    yield demos[0] + CURVE
    yield demos[0] + QUOTE
    yield demos[0] + OWN_LOADS
    for use in metas(SECTIONS["duty"])["product_use"].options:
        yield from moved(base, {"duty.product_use": use, "product.doses": "window", "product.remineralisation": "lime"})
    yield from moved(base, {"acid.present": "yes", "acid.reason": "", "biocide.present": "yes", "biocide.reason": ""})
    for poles in ("2", "4"):
        for grade in ("ie2", "ie3", "ie4"):
            motors = {"electric.poles": poles, "electric.motor_class": grade}
            yield from moved(base, motors)
            yield from moved(base, motors | {"electric.frequency": "60-hz", "electric.motor_list": "nema",
                                             "hp_pump.drive": "no"})
    yield from moved(base, {f"piping.runs[feed].fittings[{name}]": "2" for name in tables.table("fittings")})
    yield from moved(base, {"fouling.first_time": "30 s", "fouling.last_time": "36 s"})
    for name, section in SECTIONS.items():
        if "strength" in metas(section):
            yield from moved(base, {f"{name}.strength": "10 % w/w"})
    yield from moved(base, {f"water.ions[{ion}]": "0.5 mg/L" for ion in ("NO3", "PO4", "NH4", "Al", "CO3")})
    yield from moved(base, {"power.medium_voltage_from": "150 kW"})
    yield from moved(base, {"power.insulation": "pvc", "power.installation": "wall"})
    yield from map(feasible_text, range(8))
    yield from own_sheets()
    yield from moved(base, {"energy_recovery.over_flush": "8 %"})


def main() -> None:
    """Size the battery, draw and export the demos, and print what was read."""
    watch()
    from pathlib import Path

    from desalbook.api import Plant
    from desalbook.design import from_text
    from desalbook.pack import documents
    from desalbook.plant import size
    from desalbook.problems import Problem

    done = 0
    for text in dict.fromkeys(battery()):  # some options are the demo's own
        try:
            made = size(from_text(text, Path("battery.toml")), recording=False)
            plant = Plant(made)
            plant.data_sheets()
            documents(plant)  # read on demand, not while a plant is sized
            done += 1
        except Problem:
            continue
    _read_by_people()
    by_table = {name: {"rows": {key: [c for c in row.columns if c in row] for key, row in table.rows.items()},
                       "numbers": [c for c, column in table.columns.items() if column.kind is not None],
                       "columns": list(table.columns), "series": list(table.lists)}
                for name in tables.table_names() for table in [tables.table(name)]}
    print(json.dumps({"plants": done, "cells": sorted(CELLS), "series": sorted(SERIES), "keys": sorted(KEYS),
                      "schema": schema_keys(), "choices": choices(), "tables": by_table}))


def _read_by_people() -> None:
    """What is read beside the sizing: comparison of devices, pictures and tables of the steps."""
    import desalbook as db
    from desalbook import paths
    from desalbook.notebook import tables as views
    from desalbook.notebook.pictures.catalogue import PICTURES
    from desalbook.pack import documents
    from desalbook.plant.comparison import compare_recovery
    from desalbook.study import spreads_of

    for name in ("harbour-town.toml", "beach-well.toml"):
        plant = db.size(db.read(paths.demo(name)))
        for picture in PICTURES.values():
            picture.draw(plant, "si")
        for view in (views.chemicals, views.washes, views.checks, views.limits, views.pressures, views.outages,
                     views.machines, views.loads, views.guarantees):
            view(plant)
        documents(plant, only=("compliance",), requirements=paths.shelf() / "data-demo" / "client-list.csv")
        _ = plant.instruments, plant.signals, plant.sequences, plant.unit_sequences, plant.alarms
    compare_recovery(db.read(paths.demo("harbour-town.toml")))
    _ = db.size(db.read(paths.demo("harbour-town.toml")).with_values(
        {"acid.present": "yes", "acid.reason": ""})).unit_sequences  # acid is off during a shock of hypochlorite
    spreads_of(db.read(paths.demo("harbour-town.toml").read_text(encoding="utf-8") + SPREADS))


if __name__ == "__main__":
    main()
