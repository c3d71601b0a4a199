"""The sequence of a cleaning along time."""

from __future__ import annotations

from typing import Any

from desalbook.cleaning.solutions import steps as cleaning_steps
from desalbook.drawings import svg
from desalbook.units import show

__all__ = ["cleaning_picture"]


def cleaning_picture(plant: Any, units: str = "si", width: int = 520) -> str:
    """Sequence of a cleaning of one bank along time.

    Parameters
    ----------
    plant : Sized or Plant
    units : {"si", "us"}
        Time is in hours and minutes in both.
    width : int
    """
    rows = {one.key: one for one in cleaning_steps()}
    steps, whole = plant["cip.steps"], float(plant["cip.sequence_time"])
    left, right, y, now = 16.0, width - 16.0, 78.0, 0.0

    def of(id: str, digits: int | None = None) -> str:
        figure = plant[f"cip.{id}"]
        return show(float(figure), figure.kind, units, digits=digits, trim=True)

    bank, turns = of("sequence_time", 3), int(plant["cip.batches"])
    train = "" if turns == 1 else f", {of('train_time', 3)} for one train in {turns} batches"
    body = [svg.text(left, 22, f"{bank} for one bank{train}", "start", "bold"),
            svg.text(left, 41, f"circulated at {of('flow', 3)} and {of('temperature')}", "start", "small")]
    said = []
    for n, (key, time) in enumerate(zip(steps.keys, steps.values, strict=True)):
        solution = rows[key].solution
        ink = solution.role
        word = f"{solution.title}, pH {of(f'{solution.step}_ph')}" if solution.step else solution.title
        minutes = show(float(time), "time.minute", units, trim=True)
        x0, x1 = (left + (right - left) * t / whole for t in (now, now + float(time)))
        body += [svg.rectangle(x0, y, x1 - x0 - 1, 30, ink, 0.85 if "soak" not in key else 0.4,
                              f"{rows[key].title}: {minutes}, {word}"),
                 svg.text((x0 + x1) / 2, y - 6, str(n + 1), "middle", "small"),
                 svg.text(left + 16, y + 78 + 20 * n, str(n + 1), "end", "", ink),
                 svg.text(left + 26, y + 78 + 20 * n, rows[key].title),
                 svg.text(left + 250, y + 78 + 20 * n, word, "start", "", ink),
                 svg.text(right, y + 78 + 20 * n, minutes, "end")]
        said.append(f"{rows[key].title} {minutes}, {word}")
        now += float(time)
    for hour in range(int(whole // 3600) + 1):
        x = left + (right - left) * hour * 3600 / whole
        body += [svg.line(x, y + 30, x, y + 37),
                 svg.text(x, y + 51, f"{hour} h", "middle" if hour else "start", "small")]
    height = y + 88 + 20 * (len(said) - 1)
    return svg.picture("cleaning", "Sequence of a cleaning", f"{bank} for one bank{train}: {'; '.join(said)}.", width,
                       height, body)
