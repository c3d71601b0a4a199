"""A train from rest to service and back to rest, along time, as the controller asks for it.

Hand-written SVG with colours of the theme and a text alternative. Times are those of a trial of the sequences
(`desalbook.controls.trial`); nothing of the plant is calculated here. What is drawn is asked for: a valve travels and a
pump runs up in a time of its own.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from itertools import pairwise
from textwrap import wrap
from typing import Any

from desalbook import theme
from desalbook.controls.trial import Case, Train, programme, steps_of, trace
from desalbook.drawings import read, svg
from desalbook.drawings.svg import number
from desalbook.tables import table
from desalbook.units import show

__all__ = ["fault_course", "fault_words", "start_and_stop"]

_PARTS = {"feed": "sea", "feed_dump": "sea", "discharge": "sea", "dump": "product", "product": "product",
          "concentrate": "reject", "flush": "product",
          "feed_pump": "energy", "booster": "energy", "hp_pump": "energy", "flush_pump": "energy",
          "dosing": "chemical"}
_STRONG = {"open": 0.85, "on": 0.85, "control": 0.85, "down": 0.4}
_ROW, _LINE = 21, 15
_LETTERS = 38
"""Of a title on one line, in the room left of the bars."""
_TICK = 300.0  # s
_TICKS = (5.0, 10.0, 20.0, 60.0, 120.0, 300.0, 600.0, 1800.0, 3600.0, 7200.0, 1e6)


def start_and_stop(plant: Any, units: str = "si", width: int = 720) -> str:
    """Steps of a train from rest to rest without a fault, and below them what each asks of valves and pumps.

    Parameters
    ----------
    plant : Sized or Plant
    units : {"si", "us"}
        Time is in seconds and minutes in both.
    width : int
    """
    of = getattr(plant, "sized", plant).control.train
    rows = {row["key"]: row for row in steps_of(of)}
    course = _course(*_key(of))
    whole = course[-1][2]
    x0, x1, y = 262.0, width - 66.0, 62.0
    service = show(programme().times["run"], "time.second", trim=True)

    def at(t: float) -> float:
        return x0 + (x1 - x0) * t / whole

    minutes = show(whole, "time.minute", units, digits=3)
    body = [svg.text(16, 22, f"From rest to rest in {minutes}; service is cut short to {service}", "start", "bold"),
            svg.text(16, 44, "Step", "start", "small")]
    said = []
    for key, begin, end in course:
        lasts = show(end - begin, "time.second", units, trim=True)
        x = at(begin)
        above, *below = wrap(rows[key]["title"], _LETTERS)
        body.append(svg.text(x0 - 10, y + 4, above, "end"))
        for more in below:  # the bar stands beside the last line
            y += _LINE
            body.append(svg.text(x0 - 10, y + 4, more, "end"))
        body += [_bar(x, y, at(end) - x, "passes" if key == "run" else "quiet", 0.85,
                      f"{rows[key]['title']}: {lasts}"),
                 svg.text(at(end) + 6, y + 4, lasts, "start", "figures")]
        said.append(f"{rows[key]['title']} {lasts}")
        y += _ROW
    y += 22
    body.append(svg.text(16, y - 18, "Valve open, pump on (pale: concentrate valve wide open, HP pump "
                         "running down)", "start", "small"))
    for name, role in _PARTS.items():
        if not any(row[name] for row in rows.values()):
            continue
        body.append(svg.text(x0 - 10, y + 4, _title(name), "end"))
        for asked, begin, end in _runs(name, rows, course):
            span = " to ".join(show(t, "time.minute", units, digits=3, trim=True) for t in (begin, end))
            body.append(_bar(at(begin), y, at(end) - at(begin), role, _strong(name, asked),
                             f"{_title(name)}: {asked} from {span}"))
        y += _ROW
    body.append(svg.line(x0, y - 4, x1, y - 4))
    for k in range(int(whole // _TICK) + 1):
        body += [svg.line(at(k * _TICK), y - 4, at(k * _TICK), y + 2),
                 svg.text(at(k * _TICK), y + 17, show(k * _TICK, "time.minute", units, False, trim=True), "middle",
                          "small")]
    body.append(svg.text((x0 + x1) / 2, y + 36, "time, min", "middle", "small"))
    return svg.picture("start-and-stop", "Start, service and stop of a train",
                       f"from rest to rest in {minutes}; " + "; ".join(said) + ".", width, y + 48, body)


def fault_course(told: Sequence[tuple[float, str, str]], title: str, width: int = 720) -> str:
    """The course of one case of a trial along time: its steps, when the faults come, and what breaks after them.

    Parameters
    ----------
    told : sequence of (time in s, step, what)
        As `desalbook.controls.trial.trace` or `desalbook.controls.unit_trial.unit_trace` gives it.
    title : str
    width : int
    """
    marks = [(t, what.partition(": ")[0], fault_words(what.partition(": ")[2])) for t, _, what in told
             if what.startswith(("fault: ", "broken: "))]
    steps = [(t, what) for t, _, what in told if not what.startswith(("fault: ", "broken: "))]
    first, last = (marks[0][0], marks[-1][0]) if marks else (0.0, steps[-1][0])
    long = max(last - first, 30.0)
    begin, end = max(first - 0.25 * long, 0.0), last + 0.25 * long
    x0, x1, y = 346.0, width - 16.0, 48.0
    tick = next(t for t in _TICKS if (end - begin) / t <= 8.0)

    def at(t: float) -> float:
        return x0 + (x1 - x0) * (min(max(t, begin), end) - begin) / (end - begin)

    body, said = [svg.text(16, 22, title, "start", "bold")], []
    for (since, words), (until, _) in pairwise([*steps, (end, "")]):
        if until <= begin or since >= end or until <= since:
            continue
        said.append(f"{words} from {show(max(since, begin), 'time.second', trim=True)}")
        body += [svg.text(x0 - 10, y + 4, words, "end"),
                 _bar(at(since), y, at(until) - at(since), "quiet", 0.85, said[-1])]
        y += _ROW
    top = y
    for t, kind, words in marks:
        role = "marginal" if kind == "fault" else "fails"
        body += [f'<line x1="{number(at(t))}" y1="36" x2="{number(at(t))}" y2="{number(top - 8)}" '
                 f'stroke="{theme.var(role)}" stroke-width="2"/>',
                 svg.text(x0 - 10, y + 4, f"{kind.capitalize()} at {show(t, 'time.second', trim=True)}", "end", "bold"),
                 svg.text(x0, y + 4, words[:1].upper() + words[1:])]
        said.append(f"{kind} at {show(t, 'time.second', trim=True)}: {words}")
        y += _ROW
    y += 6
    body += [svg.line(x0, y - 4, x1, y - 4), svg.line(x0, 36, x0, top - 8)]
    for k in range(int(begin // tick) + 1, int(end // tick) + 1):
        body += [svg.line(at(k * tick), y - 4, at(k * tick), y + 2),
                 svg.text(at(k * tick), y + 17, show(k * tick, "time.second", unit=False, trim=True), "middle",
                          "small")]
    body.append(svg.text((x0 + x1) / 2, y + 36, "time, s", "middle", "small"))
    return svg.picture("fault-course", title, "; ".join(said) + ".", width, y + 48, body)


def fault_words(text: str) -> str:
    """Faults of a case in words: abbreviations in capitals, no underscores."""
    return " ".join({"orp": "ORP", "hp": "HP", "cip": "CIP"}.get(w, w) for w in text.replace("_", " ").split(" "))


def _title(name: str) -> str:
    """Title of a column of the sequences without what it may say, which the bars show."""
    words = table("sequences").columns[name].title.partition(":")
    return f"{words[0]} in control" if name == "concentrate" else words[0]


def _strong(name: str, asked: str) -> float:
    return 0.25 if (name, asked) == ("concentrate", "open") else _STRONG[asked]


def _bar(x: float, y: float, wide: float, role: str, strong: float, reads: str) -> str:
    return (f'<rect x="{number(x)}" y="{number(y - 7)}" width="{number(max(wide, 2.0))}" height="14" '
            f'fill="{theme.var(role)}" opacity="{strong}"{read.mark(reads)}/>')


def _runs(name: str, rows: dict[str, Any], course: tuple[tuple[str, float, float], ...]) -> list[list[Any]]:
    """Stretches in which one thing is asked of a valve or a pump; shut and off are no stretch."""
    found: list[list[Any]] = []
    for key, begin, end in course:
        asked = rows[key][name]
        if found and found[-1][0] == asked and found[-1][2] == begin:
            found[-1][2] = end
        elif asked in _STRONG:
            found.append([asked, begin, end])
    return found


def _key(of: Train) -> tuple[Any, ...]:
    """What a course hangs on, to find it again: a train with its trips in order."""
    return tuple(sorted(of.trips.items())), tuple((k, v) for k, v in vars(of).items() if k != "trips")


@lru_cache(maxsize=16)  # a course takes some 0.3 s and most of what a person sets here leaves it alone
def _course(trips: tuple[tuple[str, float], ...], rest: tuple[tuple[str, Any], ...]) -> tuple[
        tuple[str, float, float], ...]:
    """Steps with begin and end, s; the rest at the end is omitted."""
    told = trace(Train(trips=dict(trips), **dict(rest)), Case((), "run"))
    return tuple((step, begin, end) for (begin, step, _), (end, _, _) in pairwise(told))
