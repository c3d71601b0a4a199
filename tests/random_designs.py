"""Random designs of two known classes, from a seed: what an engineer would ask for, and what is only legal.

`feasible` draws duty, water and set points from the ranges an engineer works in; `wild` takes such a design and
moves some of its keys anywhere between what is possible. Neither is a test; ``python -m tests.random_designs 2000``
sizes so many of each and says what became of them.
"""

from __future__ import annotations

import random
import re
import sys
from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

from desalbook.design import Design, from_text
from desalbook.design.sections import SECTIONS
from desalbook.plant import size
from desalbook.problems import Problem, TrailError
from desalbook.units import metas, show

__all__ = ["DRAWS", "Tally", "feasible", "feasible_text", "of_draws", "tally", "wild"]

DRAWS = 200
"""Draws of each class that the long tier makes, as ``--draws`` says; the tests' own numbers are for 2000."""


def of_draws(whole: int) -> int:
    """How many of a test's own number of draws are made at this run."""
    return max(whole * DRAWS // 2000, 5)



DEVICES = {"none": 1, "pump-as-turbine": 2, "pelton": 2, "turbocharger": 3, "isobaric": 8}
STAGED = ('[[membrane.stages]]\nname = "second"\nvessel_fraction = "60 %"\n',
          '[[membrane.stages]]\nname = "second"\nvessel_fraction = "55 %"\nboost = "6 bar"\n')
US = {"m3/d": ("gpd", 264.172052, 0.0), "degC": ("degF", 1.8, 32.0), "m/h": ("gpm/ft2", 0.409022, 0.0),
      "m": ("ft", 3.2808399, 0.0)}
"""Unit in US practice, factor and offset, by the metric unit."""
OWN = ("area", ("35 m2", "37 m2", "40 m2")), ("rated_flow", ("24 m3/d", "27 m3/d", "7500 gpd")), (
    "rated_rejection", ("99.7 %", "99.8 %")), ("rated_boron_rejection", ("92 %", "94 %")), (
    "test_pressure", ("55 barg", "800 psig")), ("flow_tolerance", ("10 %", "15 %"))
"""Values of a manufacturer's element sheet, one of each drawn."""
SECOND = '[membrane.second_pass]\nph = 9.5\nshare = "60 %"\n'


def _of(draw: random.Random, weights: dict[str, int]) -> str:
    return draw.choices(list(weights), list(weights.values()))[0]


def feasible_text(seed: int) -> str:
    """Text of a design within the ranges an engineer works in."""
    draw = random.Random(f"feasible {seed}")
    salinity = draw.uniform(30, 44)
    cold = draw.uniform(10, 24)
    hot = cold + draw.uniform(4, 12)
    device = _of(draw, DEVICES)
    # what a single stage can give falls with salinity, for the pressure of the last element has its limit
    recovery = draw.uniform(32, 41 - 0.45 * (salinity - 30))
    well = draw.random() < 0.2
    # without a device that spares it, a larger train asks for a pump beyond the largest standard motor
    flow = round(10 ** draw.uniform(2.4, 3.8 if device in ("isobaric", "turbocharger") else 3.5), -1)
    trains = draw.choice((1, 1, 2, 2, 3, 4))
    use = _of(draw, {"drinking": 6, "process": 2, "irrigation": 1})
    route = "none" if use == "process" else _of(draw, {"calcite": 7, "lime": 1})
    staged = draw.random()
    american, small = draw.random() < 0.2, flow < 400 and draw.random() < 0.6
    sections = {
        "project": {"name": f"Random plant {seed}"},
        "duty": {"train_product_flow": f"{flow:g} m3/d", "trains": trains,
                 "availability": f"{draw.uniform(88, 96):.1f} %", "product_use": use},
        "water": {"source": "beach-well" if well else "open-intake", "sea_salinity": f"{salinity:.2f} g/kg",
                  "ph": round(draw.uniform(7.2, 8.3), 2), "temperature_cold": f"{cold:.1f} degC",
                  "temperature_design": f"{(cold + hot) / 2:.1f} degC", "temperature_hot": f"{hot:.1f} degC",
                  "turbidity": f"{draw.uniform(0.2, 0.5) if well else draw.uniform(1, 10):.2f} NTU",
                  "suspended_solids": f"{draw.uniform(0.2, 0.5) if well else draw.uniform(1, 12):.2f} mg/L",
                  "sdi": round(draw.uniform(1, 3), 1)},
        "filters": {"present": "no", "reason": "The ground filters the water"} if well else {
            "rate_limit": f"{draw.uniform(9, 14):.1f} m/h",
            "rate_limit_backwashing": f"{draw.uniform(14, 18):.1f} m/h"},
        "membrane": {"recovery": f"{recovery:.1f} %", "age": f"{draw.uniform(2, 5):.1f} year",
                     "water_supply": "well" if well else "open-intake"},
        "product": {"remineralisation": route},
        "energy_recovery": {"device": device},
    }
    # what an engineer settles before he looks at the checks: a cool store, a coagulant upstream of sand, doses that
    # meet the window, a second pass where boron must be low, a pump that suits a small flow
    sections |= {"dosing": {"storage_temperature": f"{draw.uniform(18, 22):.0f} degC"},
                 "cip": {"pump_head": f"{draw.uniform(50, 60):.0f} m"}}
    if use == "process":
        sections["specification"] = {"hardness": "40 mg/L as CaCO3"}
    elif draw.random() < 0.7:
        sections["product"] |= {"doses": "window"}
    if flow < 1000 and draw.random() < 0.7:
        sections["hp_pump"] = {"pump_class": "positive-displacement"}
    if small:
        sections["membrane"] |= {"element": "demo-c-small", "elements": draw.choice((5, 6)),
                                 "recovery": f"{min(recovery, 35):.1f} %"}
        sections["specification"] = sections.get("specification", {}) | {"tds": "600 mg/L"}
    if draw.random() < 0.15:
        sections["limits"] = {"average_flux_open_intake": f"{draw.uniform(13, 16):.1f} L/(m2 h)",
                              "lead_element_flux": f"{draw.uniform(32, 36):.1f} L/(m2 h)"}
    if american:
        sections["electric"] = {"motor_list": "nema", "frequency": "60-hz"}
    if not well:
        sections["coagulation"] = {"present": "yes", "dose": f"{draw.uniform(0.8, 2):.1f} mg/L",
                                   "dose_maximum": "5 mg/L"}
    if well:
        for step in ("chlorination", "dechlorination", "coagulation"):
            sections[step] = {"present": "no", "reason": "A well"}
    text = 'format = 1\nkit = "0.1.0"\n'
    for name, keys in sections.items():
        text += f"\n[{name}]\n" + "".join(
            f"{k} = {v if isinstance(v, (int, float)) else chr(34) + str(v) + chr(34)}\n" for k, v in keys.items())
        if name == "membrane" and use == "irrigation":
            text += SECOND.replace("9.5", "10").replace("60 %", "90 %")
        elif name == "membrane" and small:
            continue
        elif name == "membrane" and staged < 0.08:
            text += draw.choice(STAGED[:1] if device == "isobaric" else STAGED)  # a boost leaves it no booster
        elif name == "membrane" and staged < 0.16:
            text += SECOND
    if draw.random() < 0.15 and "\nelement = " not in text:
        text = _with_own_sheet(text, draw)
    return _in_us_units(text) if american else text


def _in_us_units(text: str) -> str:
    """The same design as it is written where units are US ones."""
    def other(found: re.Match[str]) -> str:
        there, factor, offset = US[found[2]]
        return f'"{float(found[1]) * factor + offset:.6g} {there}"'

    return re.sub(r'"(-?[\d.]+) (m3/d|degC|m/h|m)"', other, text)


def _with_own_sheet(text: str, draw: random.Random) -> str:
    """The design on an element sheet of its own."""
    sheet = "".join(f'{key} = "{draw.choice(texts)}"\n' for key, texts in OWN)
    return text.replace("[membrane]\n", '[membrane]\nelement = "own"\n') + (
        f'\n[[elements]]\nname = "own"\nsource = "random"\n{sheet}test_concentration = "32 000 mg/L"\n'
        'test_temperature = "25 degC"\ntest_recovery = "8 %"\n')


def feasible(seed: int) -> Design:
    """A design within the ranges an engineer works in."""
    return from_text(feasible_text(seed), Path("random.toml"))


@cache
def _keys() -> tuple[tuple[str, object], ...]:
    """Keys outside lists, with what is said of each."""
    found: list[tuple[str, object]] = []
    for name, section in SECTIONS.items():
        if name != "project":
            found += [(f"{name}.{key}", m) for key, m in metas(section).items() if m.form in ("quantity", "choice")]
    return tuple(found)


def wild(seed: int, most: int = 6) -> Design:
    """A feasible design with up to ``most`` keys anywhere between what is possible; what cannot be read is redrawn."""
    draw = random.Random(f"wild {seed}")
    design = feasible(seed)
    for _ in range(draw.randint(1, most)):
        for _ in range(20):
            id, m = draw.choice(_keys())
            if m.form == "choice" and not m.options:  # only sheets of the design's own could be chosen
                continue
            try:
                design = design.with_values({id: _anywhere(draw, m)})
            except Problem:
                continue
            break
    return design


def _anywhere(draw: random.Random, m) -> str:
    if m.form == "choice":
        return draw.choice(list(m.options))
    low, high = m.possible or m.usual or (0.0, 1.0)
    value = draw.uniform(low if low is not None else 0.0, high if high is not None else 2 * abs(low or 1.0))
    if m.kind.name in ("count", "charge number"):
        return str(round(value))
    return show(value, m.kind, digits=6)


@dataclass
class Tally:
    """What became of designs: how many were sized, refused in words and passed every check; and our own defects."""

    sized: int = 0
    refused: int = 0
    passed: int = 0
    fails: Counter[str] = field(default_factory=Counter)
    defects: dict[int, str] = field(default_factory=dict)


def tally(make: Callable[[int], Design], seeds: Iterable[int]) -> Tally:
    """Size the designs of some seeds."""
    found = Tally()
    for seed in seeds:
        try:
            lines = size(make(seed), recording=False).ledger.lines
        except TrailError as defect:
            found.defects[seed] = str(defect)
        except Problem:
            found.refused += 1
        except Exception as error:
            found.defects[seed] = repr(error)
        else:
            fails = [id for id, line in lines.items() if line.more.get("verdict") == "fails"]
            found.sized += 1
            found.passed += not fails
            found.fails.update(fails)
    return found


if __name__ == "__main__":
    for draw in (feasible, wild):
        print(draw.__name__, tally(draw, range(int(sys.argv[1]))))
