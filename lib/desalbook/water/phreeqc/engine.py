"""The only place that owns engine instances: loads a data set, runs a text, returns numbers.

Three data sets are pinned by checksum, because their versions change published results (gypsum in seawater
by 0.16 between two issues of one file). A run depends on its text alone: nothing is carried from one run to
the next, and the tests hold that to the last bit.
"""

from __future__ import annotations

import hashlib
import os
import re
import threading
from collections import OrderedDict
from dataclasses import dataclass
from functools import cache
from importlib.metadata import version
from importlib.resources import files
from typing import Any

from ...problems import EngineError

__all__ = ["DATABASES", "Database", "EngineRecord", "database", "engine_record",
           "forget_answers", "run"]


@dataclass(frozen=True)
class Database:
    """A pinned data set: file name, SHA-256 of its bytes, what it is for."""

    key: str
    file: str
    sha256: str
    use: str


DATABASES = {d.key: d for d in (
    Database("brine", "pitzer.dat", "06ab2debc0cdb333598118df953165499c2f762a79de5f2df55dec6b78b02589",
             "seawater and its concentrates: water activity, density, saturation"),
    Database("fresh", "phreeqc.dat", "59373961d648dfbf68a40744060c1d64f57ecbec98f4f5fb89f3a1b4213ccd10",
             "permeate and product water: pH, calcite; never for water activity"),
    Database("wateq", "wateq4f.dat", "7816c92eadd28f7e4703efa467a038a197748cd38f410d81aa7909fde1c8912f",
             "second opinion on product water; has no density and no conductivity"),
)}


@dataclass(frozen=True)
class EngineRecord:
    """What a trail line of kind 'engine' needs to name its engine."""

    library: str
    library_version: str
    engine_version: str
    database: str
    sha256: str


@dataclass(frozen=True)
class Outcome:
    """Columns by name, one value a solution, and the warnings that passed the allow-list."""

    columns: tuple[tuple[str, tuple[float, ...]], ...]
    warnings: tuple[str, ...]

    def row(self, number: int = -1) -> dict[str, float]:
        """Values of one solution (the last one unless told)."""
        return {name: values[number] for name, values in self.columns}


# The engine says these when it tries again with smaller steps and then succeeds; a run that does not
# succeed has an error count. Anything else it says is refused.
_ALLOWED = tuple(re.compile(p) for p in (
    r"^Maximum iterations exceeded, \d+",
    r"^Numerical method failed with this set of convergence parameters",
    r"^Trying (smaller step size|reduced tolerance|increased (tolerance|scaling)|diagonal scaling"
    r"|delay removal|scaling pure_phase columns|increased number of iterations)",
))

_lock = threading.Lock()
_instances: dict[str, list[Any]] = {}  # those that are free, by data set
_kept: OrderedDict[tuple[str, str], Outcome] = OrderedDict()
_MOST_KEPT = 1024


def _forget() -> None:
    """Start anew in a forked process: an instance and a held lock must not cross."""
    global _lock
    _lock = threading.Lock()
    _instances.clear()


def forget_answers() -> None:
    """Answers that are kept are found anew; for tests and measurements."""
    with _lock:
        _kept.clear()


if hasattr(os, "register_at_fork"):
    os.register_at_fork(after_in_child=_forget)


def database(key: str) -> Database:
    """The pinned data set of this key, or an `EngineError` that lists the keys."""
    try:
        return DATABASES[key]
    except KeyError:
        raise EngineError("no such chemistry data set", where="database", value=key,
                          allowed=", ".join(DATABASES)) from None


@cache
def _text(key: str) -> str:
    data = database(key)
    raw = files("phreeqc").joinpath("databases", data.file).read_bytes()
    found = hashlib.sha256(raw).hexdigest()
    if found != data.sha256:
        raise EngineError("the engine's data file is not the one the kit was checked with", where=data.file,
                          value=found, allowed=data.sha256, do="install the pinned version of phreeqc")
    return raw.decode("utf-8", errors="replace")


def _block(text: str, keyword: str) -> list[str]:
    lines, inside = [], False
    for raw in text.splitlines():
        line = raw.split("#")[0].rstrip()
        if re.fullmatch(r"[A-Z_]{4,}", line.strip()):
            inside = line.strip() == keyword
        elif inside and line.strip():
            lines.append(line)
    return lines


@cache
def elements(key: str) -> frozenset[str]:
    """Names of the elements and valence states a data set defines, ``Fe(+2)`` written ``Fe(2)``."""
    return frozenset(ln.split()[0].replace("(+", "(") for ln in _block(_text(key), "SOLUTION_MASTER_SPECIES"))


@cache
def phases(key: str) -> frozenset[str]:
    """Names of the minerals and gases a data set defines (lower case)."""
    return frozenset(ln.strip().split()[0].lower() for ln in _block(_text(key), "PHASES")
                     if not ln[0].isspace() and "=" not in ln)


@cache
def engine_record(key: str) -> EngineRecord:
    """Library, versions, data file and checksum of a data set."""
    import phreeqc

    data = database(key)
    return EngineRecord("phreeqc", version("phreeqc"), phreeqc.Phreeqc.GetVersionString(), data.file,
                        data.sha256)


def _made(key: str) -> Any:
    """A new instance with its data set."""
    import phreeqc

    made = phreeqc.Phreeqc()
    if made.LoadDatabaseString(_text(key)):
        raise EngineError("the engine cannot read its data file", where=database(key).file,
                          value=_first(made.GetErrorString()))
    made.SetErrorFileOn(False)
    return made


def _taken(key: str) -> Any:
    """A free instance, or a new one; whoever takes it gives it back unless it failed."""
    with _lock:
        free = _instances.setdefault(key, [])
        if free:
            return free.pop()
    return _made(key)


def _first(text: str) -> str:
    said = (ln.replace("ERROR:", "").strip() for ln in text.splitlines())
    return next((ln for ln in said if ln), "no reason given")


def _warnings(text: str) -> tuple[str, ...]:
    said = []
    for part in text.split("WARNING:"):
        line = " ".join(part.split())
        if not line:
            continue
        if not any(p.match(line) for p in _ALLOWED):
            raise EngineError(f"the engine warns: {line}", where="chemistry",
                              do="check the analysis; the result is not used")
        said.append(line)
    return tuple(said)


def run(key: str, text: str) -> Outcome:
    """Run one input text on one data set.

    Parameters
    ----------
    key : str
        ``"brine"``, ``"fresh"`` or ``"wateq"``.
    text : str
        Engine input, built by this package from numbers only.

    Returns
    -------
    Outcome
        Selected output. The same text gives the same bits, whatever ran before; so answers are kept.

    Raises
    ------
    EngineError
        The engine reports an error, says a warning that is not on the allow-list, or gives no numbers.
    """
    one = (key, text)
    with _lock:
        if one in _kept:
            _kept.move_to_end(one)
            return _kept[one]
    outcome = _answered(*one)
    with _lock:
        _kept[one] = outcome
        if len(_kept) > _MOST_KEPT:
            _kept.popitem(last=False)
    return outcome


def _answered(key: str, text: str) -> Outcome:
    engine = _taken(key)
    if key != "brine":
        # pure water first: the last bits of the ion-pair data depend on which elements the run before held;
        # those of the Pitzer data do not (both tested)
        engine.RunString("DELETE\n -all\nEND\nSOLUTION 0\n temp 25\nEND\n")
    errors = engine.RunString("DELETE\n -all\nEND\n" + text)
    said, failed = engine.GetWarningString(), engine.GetErrorString()
    if errors:
        raise EngineError(f"the engine finds no solution: {_first(failed)}", where="chemistry",
                          do="check composition, alkalinity and pH of this water")
    columns = engine.GetSelectedOutput()
    with _lock:
        _instances.setdefault(key, []).append(engine)
    warned = _warnings(said)
    kept = tuple((name, tuple(map(float, values))) for name, values in columns.items())
    if not kept or not kept[0][1]:
        raise EngineError("the engine returned no numbers", where="chemistry")
    return Outcome(kept, warned)
