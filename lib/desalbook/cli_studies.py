"""The command line of studies: a sweep, a map of two keys, a frontier, choices side by side.

A study that is stopped keeps the rows that are done; with a file, the same command goes on from there.
"""

from __future__ import annotations

import argparse
import contextlib
import sys
import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from desalbook.problems import DesignError

if TYPE_CHECKING:
    import pandas as pd

    from desalbook.study import Frontier, Map, Row, Sweep

__all__ = ["add_jobs"]

_WHOLE = 1e5  # from which on a number is written without decimals
_LISTED = 20  # plants of a frontier on the screen


def add_jobs(job: Callable[[str, Any, str], argparse.ArgumentParser]) -> None:
    """Add the commands of studies to a parser.

    Parameters
    ----------
    job : callable
        Makes a command of its name, what runs it, and what it says in the help.
    """
    sweep = job("sweep", _sweep, "size the plant over the values of one key and print a table")
    sweep.add_argument("file", metavar="FILE", help="design file")
    sweep.add_argument("key", metavar="KEY", help="key of the design, for example membrane.recovery")
    sweep.add_argument("--from", dest="low", metavar="VALUE",
                       help='start value with unit, e.g. "36 %%" (default: low end of the usual range)')
    sweep.add_argument("--to", dest="high", metavar="VALUE",
                       help="end value with unit (default: high end of the usual range)")
    sweep.add_argument("--steps", type=int, default=11, metavar="N", help="number of values (default 11)")
    _common(sweep)

    two = job("map", _map, "size the plant over two keys and print each value as a map, with what shapes it")
    two.add_argument("file", metavar="FILE", help="design file")
    two.add_argument("keys", metavar="KEY", nargs=2, help="keys of the design: along the map, then down it")
    _ranges(two, 7)
    _common(two)
    two.add_argument("--picture", metavar="FILE", help="also draw the first value as .svg")

    front = job("frontier", _frontier, "look for the plants that no other beats in several goals at once")
    front.add_argument("file", metavar="FILE", help="design file")
    front.add_argument("keys", metavar="KEY", nargs="+", help="keys of the design, numbers or choices")
    front.add_argument("--minimum", action="append", metavar="ID",
                       help="goal to be as small as possible; may be repeated (default: cost of water, specific "
                       "energy and capital)")
    front.add_argument("--maximum", action="append", metavar="ID", help="goal to be as large as possible")
    _ranges(front, 7)
    front.add_argument("--most", type=int, default=60, metavar="N", help="plants to size at most (60)")
    front.add_argument("--seed", type=int, default=0, metavar="N", help="of the points a large search begins with (0)")
    _common(front)
    front.add_argument("--picture", metavar="FILE", help="also draw the plants by the first two goals as .svg")
    front.add_argument("--save", nargs=3, metavar=("N", "FILE", "REASON"),
                       help="save plant N of the list as a design file, with the reason in its note")

    side = job("choices", _choices, "size the plant with each choice of a key and print them side by side")
    side.add_argument("file", metavar="FILE", help="design file")
    side.add_argument("key", metavar="KEY", help="key of the design, for example energy_recovery.device")
    side.add_argument("values", metavar="VALUE", nargs="*", help="its values (default: every choice it has)")
    side.add_argument("--also", action="append", nargs="+", metavar="KEY VALUE", default=[],
                      help="another key that changes along, with one value for each of those before; may be repeated")
    side.add_argument("--follow", action="append", metavar="ID", help="value to report, by id; may be repeated")
    side.add_argument("--units", choices=("si", "us"), default="si", help="unit system")
    side.add_argument("--out", metavar="FILE", help="save the table (.csv) instead of printing it")
    side.add_argument("--workers", type=int, default=1, metavar="N", help="processes that size plants (1)")


def _ranges(job: argparse.ArgumentParser, steps: int) -> None:
    job.add_argument("--range", dest="ranges", action="append", nargs=3, metavar=("KEY", "FROM", "TO"), default=[],
                     help="ends of a key, each with its unit (default: its usual range, for a count a fifth around "
                     "today's); may be repeated")
    job.add_argument("--values", action="append", nargs="+", metavar="KEY VALUE", default=[],
                     help="a key and its values, each with its unit; may be repeated")
    job.add_argument("--steps", type=int, default=steps, metavar="N", help=f"number of values of a range ({steps})")
    job.add_argument("--hardware", choices=("anew", "held"), default="anew",
                     help="sized anew for each plant, or fixed as the design has it (anew)")


def _common(job: argparse.ArgumentParser) -> None:
    job.add_argument("--follow", action="append", metavar="ID", help="value to report, by id; may be repeated")
    job.add_argument("--units", choices=("si", "us"), default="si", help="unit system")
    job.add_argument("--out", metavar="FILE", help="grow a table (.csv or .parquet) instead of printing it; "
                     "a study that was stopped goes on there")
    job.add_argument("--workers", type=int, default=1, metavar="N", help="processes that size plants (1)")


_MOST_WORKERS = 256
"""Beyond any one computer: a slip of the hand, and every process takes some 200 MB."""


@contextlib.contextmanager
def _workers(count: int) -> Iterator[Any]:
    """A pool of processes, or none for one worker; Ctrl-C is for this process alone."""
    if not 1 <= count <= _MOST_WORKERS:
        raise DesignError("not a number of workers", where="workers", value=count, allowed=f"1 to {_MOST_WORKERS}",
                          do="give the number of processes that size plants")
    if count == 1:
        yield None
        return
    from desalbook.study.executors import processes

    with processes(count) as pool:
        yield pool


def _sweep(given: argparse.Namespace) -> int:
    """Rows that are done are kept when the study is stopped; in a file, the same command goes on with them."""
    from desalbook import api, study
    from desalbook.study.progress import progress_of
    from desalbook.summary import HEADLINES

    with _workers(given.workers) as pool:
        design = api.read(given.file)
        texts = study.spread(design, given.key, given.low, given.high, given.steps)
        cases = study.Sweep(design, {given.key: texts}, given.follow or HEADLINES)
        file = cases.file(given.out, given.units) if given.out else None
        rows: list[study.Row] = []
        try:
            if file is None:
                tell = progress_of(True, len(cases), "cases")
                for row in cases.rows(pool):
                    rows.append(row)
                    tell(len(rows))
            else:
                study.swept(cases, given.units, pool, results=given.out, progress=True)
            stopped = False
        except KeyboardInterrupt:
            stopped = True
    if file is not None:
        with file.open():
            done = file.rows
        print(f"\rstopped after {done} of {len(cases)}; the same command goes on from there" if stopped else
              f"{done} rows written to {given.out}", file=sys.stderr if stopped else sys.stdout)
    else:
        if stopped:
            print(f"\rstopped after {len(rows)} of {len(cases)}", file=sys.stderr)
        print(_table(cases.frame(rows, given.units)))
    return 130 if stopped else 0


def _table(frame: pd.DataFrame) -> str:
    def words(value: float) -> str:
        return f"{value:.0f}" if abs(value) >= _WHOLE else f"{value:.5g}"

    return frame.to_string(index=False, float_format=words, na_rep="")


def _varied(given: argparse.Namespace, design: Any) -> dict[str, list[str]]:
    """Values of each key: those given, those of the range given, else of the usual range or all choices."""
    from desalbook.study import spread

    stated = {words[0]: words[1:] for words in given.values}
    ends = {key: (low, high) for key, low, high in given.ranges}
    for key in (*stated, *ends):
        if key not in given.keys:
            raise DesignError("not a key of this study", where="range" if key in ends else "values", value=key,
                              allowed=", ".join(given.keys), do="name it among the keys as well")
    for key, words in stated.items():
        if not words:
            raise DesignError("no values", where="values", value=key, do="give one or more after the key")
    found: dict[str, list[str]] = {}
    for key in given.keys:
        if key not in stated and key not in ends:
            ends[key] = _unstated(design, key)
        found[key] = stated.get(key) or spread(design, key, *ends[key], steps=given.steps)
    return found


def _unstated(design: Any, key: str) -> tuple[float | None, float | None]:
    """Ends of a key that nobody gave, see `first_look`."""
    from desalbook.plant import size
    from desalbook.study.sweep import first_look

    design.get(key)  # refuses what is no key
    m = design.meta(key)
    if m.kind is None or m.kind.name != "count":
        return None, None
    book = size(design, recording=False).ledger
    return first_look(m, float(book[key]) if key in book else None)


class _Stopping:
    """Rows of a study as they come; Ctrl-C ends it after what is done."""

    def __init__(self) -> None:
        self.cancel = threading.Event()
        self.study: Sweep | None = None
        self.rows: list[Row] = []

    def each(self, study: Sweep, row: Row) -> None:
        self.study = study
        self.rows.append(row)

    def said(self, out: str | None) -> int:
        """Tell that it was stopped."""
        left = "; the same command goes on from there" if out else ""
        print(f"\rstopped after {len(self.rows)} plants{left}", file=sys.stderr)
        return 130


def _map(given: argparse.Namespace) -> int:
    from desalbook import api, study
    from desalbook.study.tradeoff import mapped

    if len(set(given.keys)) != 2:
        raise DesignError("a map has two keys", where="KEY", value=given.keys[0], do="name another as the second")
    design, far = api.read(given.file), _Stopping()
    _drawable(given.picture)
    for key in given.keys if given.picture else ():
        design.get(key)  # refuses what is no key
        if design.meta(key).form != "quantity":
            raise DesignError("a picture of a map needs two keys that take numbers", where="picture", value=key,
                              do="read the printed map, or draw it on the desk of notebook 08")
    with _workers(given.workers) as pool:
        try:
            of, code = study.map(design, _varied(given, design), given.follow, hardware=given.hardware, executor=pool,
                                 results=given.out, progress=True, each=far.each), 0
        except KeyboardInterrupt:
            code = far.said(given.out)
            if far.study is None:
                return code
            of = mapped(far.study, far.rows)
    if given.out:
        print(f"{len(of.rows)} rows written to {given.out}")
    else:
        for id in of.study.follow:
            print(f"{_grid(of, id, given.units)}\n")
    print(of.words(given.units))
    if given.picture:
        _draw("two_keys", of, given)
    return code


def _grid(of: Map, id: str, units: str) -> str:
    """One value of a map: the second key down, the first along; x a check fails, - not feasible."""
    from desalbook.study.tradeoff import NO_PLANT
    from desalbook.units import show

    kx, ky = of.study.keys
    across, down = (of.study.cases.texts[k] for k in (kx, ky))
    kind = of.study.kinds().get(id)
    rows = {(r.texts[kx], r.texts[ky]): r for r in of.rows}
    cells = []
    for j, b in enumerate(down):
        line = [b]
        for i, a in enumerate(across):
            row = rows.get((a, b))
            value = row.figures.get(id) if row is not None else None
            text = show(value, kind, units, False) if isinstance(value, float) and kind else str(value)
            region = of.region[j, i]
            line.append("" if row is None else "-" if region == NO_PLANT else f"{text} x" if region else f"{text}  ")
        cells.append(line)
    wide = [max(len(line[n]) for line in (["", *across], *cells)) for n in range(len(across) + 1)]
    body = ["  ".join(t.rjust(w) for t, w in zip(line, wide, strict=True)).rstrip()
            for line in (["", *(f"{a}  " for a in across)], *cells)]
    title = of.study.base.titles.get(id, "")
    return "\n".join([f"{of.study.header(id, units, kind)}{f' ({title})' if title else ''}: {kx} along, {ky} down; "
                      "x: a check fails, -: not feasible", *body])


def _frontier(given: argparse.Namespace) -> int:
    from desalbook import api, study
    from desalbook.study.tradeoff import GOALS, front_of

    goals: dict[str, str] = dict.fromkeys(given.minimum or (), "minimum")
    goals |= dict.fromkeys(given.maximum or (), "maximum")
    goals = goals or dict(GOALS)
    design, far = api.read(given.file), _Stopping()
    _drawable(given.picture)
    with _workers(given.workers) as pool:
        try:
            of, code = study.frontier(design, _varied(given, design), goals, follow=given.follow or (),
                                      most=given.most, hardware=given.hardware, seed=given.seed, executor=pool,
                                      results=given.out, progress=True, each=far.each), 0
        except KeyboardInterrupt:
            code = far.said(given.out)
            if far.study is None:
                return code
            of = study.Frontier(far.study, goals, tuple(far.rows), front_of(far.rows, goals), False)
    if given.out:
        print(f"{len(of.rows)} rows written to {given.out}")
    print(of.words(given.units))
    if of.front:
        print(f"\n{_front(of, given.units)}")
    if given.picture:
        _draw("frontier", of, given)
    if given.save and not code:
        _saved(of, design, *given.save)
    return code


def _front(of: Frontier, units: str) -> str:
    """The plants that are not beaten, numbered."""
    frame = of.frame(units).drop(columns=["id", "fails", "problem"])
    frame.insert(0, "no.", list(map(str, range(1, len(frame) + 1))))
    left = len(frame) - _LISTED
    return _table(frame.head(_LISTED)) + (f"\nand {left} more" if left > 0 else "")


def _saved(of: Frontier, design: Any, number: str, path: str, reason: str) -> None:
    from desalbook import study

    count = len(of.front)
    if not number.isdecimal() or not 1 <= int(number) <= count:
        raise DesignError("no plant of that number", where="save", value=number,
                          allowed=f"1 to {count}" if count else "none, for no plant meets every limit",
                          do="take a number of the list")
    if Path(path).exists():
        raise DesignError("a file of that name is there", where="save", value=path, do="give another name")
    made = study.save(of.study.design, of.front[int(number) - 1], path, reason)
    print(f"plant {number} written to {path}, design SHA-256 {made.hash[:16]}: {made.get('project.note')}")


def _choices(given: argparse.Namespace) -> int:
    from desalbook import api, study

    design = api.read(given.file)
    design.get(given.key)  # refuses what is no key
    cases: Any = {value: {given.key: value} for value in given.values} or given.key
    for key, *values in given.also:
        if len(values) != len(given.values):
            raise DesignError("not one value for each choice", where="also", value=f"{key}, {len(values)} of them",
                              allowed=f"{len(given.values)}", do="give as many as there are values of the first key")
        design.get(key)
        for case, value in zip(given.values, values, strict=True):
            cases[case][key] = value
    if not given.values and not design.meta(given.key).options:
        raise DesignError("takes a number, not a choice", where="KEY", value=given.key,
                          do="give its values after it, each with its unit")
    with _workers(given.workers) as pool:
        table = study.columns(design, cases, given.follow, units=given.units, executor=pool)
    if given.out:
        try:
            table.to_csv(given.out, index=False, lineterminator="\n", encoding="utf-8")
        except OSError as error:
            raise DesignError("cannot be written to", where="out", value=given.out,
                              do=f"give another file ({error.strerror})") from None
        print(f"{len(table)} rows written to {given.out}")
    else:
        print(table.to_string(index=False, header=[str(c) for c in table.columns]))
    return 0


def _drawable(path: str | None) -> None:
    """Refuse a name that no picture can have, before anything is sized."""
    if path and not path.lower().endswith(".svg"):
        raise DesignError("not a picture this kit draws", where="picture", value=path,
                          allowed="names that end in .svg", do="give such a name")


def _draw(name: str, of: Any, given: argparse.Namespace) -> None:
    """Draw a study to a file."""
    try:
        from desalbook.plots import studies as plots
    except ImportError:
        raise DesignError("pictures need the optional library matplotlib", where="picture", value=given.picture,
                          do='run pip install "desalbook[lab]"') from None
    try:
        Path(given.picture).write_text(getattr(plots, name)(of, units=given.units).svg(), encoding="utf-8")
    except OSError as error:
        raise DesignError("cannot be written to", where="picture", value=given.picture,
                          do=f"give another file ({error.strerror})") from None
    print(f"picture written to {given.picture}")
