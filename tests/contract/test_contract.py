"""What others build on: names, signatures, commands, exit codes, columns and ids, as one text file."""

from __future__ import annotations

import argparse
import inspect
from pathlib import Path

import pytest

import desalbook
from desalbook import api, cli, problems
from desalbook.audit.table import COLUMNS
from desalbook.trail.record import FORMAT
from tests import shared

FILE = Path(__file__).with_name("contract.txt")


def names() -> list[str]:
    """The contract as the code has it now."""
    out = []
    for name in desalbook.__all__:
        if name == "calc":
            out += [f"desalbook.calc.{one}" for one in desalbook.calc.__all__]
        elif name != "__version__":
            out.append(f"desalbook.{name}{inspect.signature(getattr(desalbook, name))}")
    for cls in (api.Plant, api.Trail):
        for name in sorted(n for n in dir(cls) if not n.startswith("_")):
            member = inspect.getattr_static(cls, name)
            out.append(
                f"{cls.__name__}.{name}" + (str(inspect.signature(member)) if callable(member) else "")
            )
    parser = cli._parser()
    jobs = next(a for a in parser._actions if isinstance(a, argparse._SubParsersAction))
    for name, job in sorted(jobs.choices.items()):
        words = [
            a.option_strings[0] if a.option_strings else a.metavar for a in job._actions if a.dest != "help"
        ]
        out.append(f"command {name} {' '.join(words)}")
    out += [
        f"exit {p.exit_code} {p.__name__}"
        for p in vars(problems).values()
        if isinstance(p, type) and issubclass(p, problems.Problem) and p is not problems.Problem
    ]
    out.append("files " + " ".join(cli.FILES))
    out.append("figures.csv " + " ".join(api.FIGURES))
    out.append("checks.csv " + " ".join(api.CHECKS))
    out.append("trail.table " + " ".join(COLUMNS))
    out.append(f"record format {FORMAT}")
    return out


def stored() -> list[str]:
    return [x for x in FILE.read_text(encoding="utf-8").splitlines() if x and not x.startswith("#")]


def test_names_signatures_commands_and_columns():
    assert [x for x in stored() if not x.startswith("id ")] == names()


def test_ids():
    wanted = [x.removeprefix("id ") for x in stored() if x.startswith("id ")]
    assert len(wanted) > 50 and len(set(wanted)) == len(wanted)
    plant = shared.plant()
    missing = [x for x in wanted if x not in plant]
    assert not missing, ", ".join(missing)


def test_the_contract_sees_a_change(monkeypatch):
    monkeypatch.setattr(cli, "FILES", ("other.csv",))
    with pytest.raises(AssertionError):
        test_names_signatures_commands_and_columns()
