"""Checks by the system they judge: some thirty rows in the order of the water, each with its worst line.

One grouping for terminal, panel, page and workbook. A check that no row names stands under the name of its chapter.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, NamedTuple

from desalbook.trail.words import chapter, part_words, verdict_words

__all__ = ["HAZARDS", "RANK", "SYSTEMS", "Group", "System", "case_words", "grouped", "plural", "safety_notes",
           "sentence", "system_of"]

RANK = {"fails": 0, "review": 1, "marginal": 2, "passes": 3}
"""Order of verdicts, worst first."""


class System(NamedTuple):
    """A row of the checks: what it is called, the ids it takes, and the hazard of its safety notes."""

    title: str
    pattern: str
    hazard: str


HAZARDS = ("High pressure", "Chemicals", "Electricity", "Drinking water", "Membranes and media",
           "Discharge and environment")
"""Headings of safety notes."""
_HIGH, _CHEMICAL, _ELECTRIC, _DRINK, _LOSS, _SEA = HAZARDS

SYSTEMS = tuple(System(*row) for row in (
    ("Duty and contract", r"duty|specification|guarantee|project|site", _LOSS),
    ("Intake", r"intake|piping\.runs\[intake", _SEA),
    ("Raw-water analysis", r"water", _DRINK),
    ("Raw-water storage", r"storage", _LOSS),
    ("Coagulation", r"coagulation\.(?!span|turndown|pressure|mixing|pump_capacity)", _CHEMICAL),
    ("Media filters", r"filters\.(absent|count|rate|run_|filtrate|depth_over|diameter)", _LOSS),
    ("Filter backwash", r"filters|backwash_tank|scour_blower|waste", _LOSS),
    ("Filter vessels", r"filter_vessel", _HIGH),
    ("Cartridge filters", r"cartridge", _LOSS),
    ("RO feed fouling index", r"fouling", _LOSS),
    ("Low-pressure pumps", r"feed_pump|backwash_pump|product_pump|flush_pump|intake_pump|hp_pump\.(npsh|suction)",
     _LOSS),
    ("Chlorination", r"(post_)?chlorination\.(?!span|turndown|pressure|mixing|pump_capacity)|biocide", _CHEMICAL),
    ("Dechlorination and ORP trip", r"dechlorination\.(?!span|turndown|pressure|mixing|pump_capacity)"
     r"|injection\.(probe|warning)", _LOSS),
    ("Acid, alkali and antiscalant",
     r"(acid|antiscalant|interpass_ph|post_ph)\.(?!span|turndown|pressure|mixing|pump_cap"
     r"acity)|scaling\.antiscalant|corrosion_inhibitor\.(?!span|turndown|pressure)", _CHEMICAL),
    ("Injection points", r"injection", _CHEMICAL),
    ("Dosing pumps and tanks", r"dosing|chemical_storage"
     r"|(?!cip|permeate|energy_recovery|booster)[a-z_]+\.(span|turndown|pressure|mixing|pump_capacity)\b", _CHEMICAL),
    ("Scaling", r"scaling", _LOSS),
    ("RO hydraulics and flux", r"membrane\.(?!element\.|temperature|feed_pressure|rating_used|exposure|free)", _LOSS),
    ("RO element limits", r"membrane|limits", _HIGH),
    ("Second pass", r"second_pass", _LOSS),
    ("HP pump", r"hp_pump", _HIGH),
    ("ERD and booster", r"energy_recovery|booster|concentrate_pump", _HIGH),
    ("Pressure ratings and relief", r"design_pressure|permeate", _HIGH),
    ("Piping: velocity and wall", r"piping\.runs\[[^\]]*\]\.(velocity|thickness|diameter)|piping(?!.*pren|.*material)",
     _HIGH),
    ("Piping: materials", r"piping", _HIGH),
    ("Remineralisation", r"contactor|product\.(contactor|buffer|window|corrosion|ph_target)|product\.alkalinity",
     _DRINK),
    ("Product water limits", r"product\.", _DRINK),
    ("Disinfection and product storage", r"product_tank", _DRINK),
    ("CIP", r"cip", _CHEMICAL),
    ("Flushing", r"flush", _LOSS),
    ("Concentrate discharge", r"concentrate|outfall", _SEA),
    ("Single failures (N-1)", r"outage", _LOSS),
    ("Cost", r"cost", _LOSS),
    ("Instruments and set points", r"control", _LOSS),
    ("Electrical", r"electrical|energy|power|transformer|cable", _ELECTRIC),
))
"""Rows in the order of the water; the first whose pattern an id begins with takes it."""
_RULES = tuple((re.compile(s.pattern), n) for n, s in enumerate(SYSTEMS))
_BURSTS = re.compile(r"\bbursts?\b", re.I)
_ELECTRICAL = re.compile(r"motor|starting|starts|electric", re.I)


@lru_cache(maxsize=4096)
def system_of(id: str) -> tuple[int, str, str]:
    """Place in the order of the water, title and hazard of the system a check belongs to."""
    for rule, n in _RULES:
        if rule.match(id):
            return n, SYSTEMS[n].title, _ELECTRIC if _ELECTRICAL.search(id) else SYSTEMS[n].hazard
    return len(SYSTEMS), part_words(chapter(id)), _LOSS


@dataclass(frozen=True)
class Group:
    """A system with its checks, worst first.

    Parameters
    ----------
    title : str
    rows : sequence of mapping
        Rows of checks with ``id``, ``title``, ``verdict``, ``margin``, ``corner``.
    """

    title: str
    order: int
    rows: Sequence[Mapping[str, Any]]

    @property
    def worst(self) -> Mapping[str, Any]:
        """The row that decides the verdict."""
        return self.rows[0]

    @property
    def verdict(self) -> str:
        """Verdict of the worst row."""
        return str(self.worst["verdict"])

    def count(self, verdict: str) -> int:
        """How many rows have that verdict."""
        return sum(r["verdict"] == verdict for r in self.rows)

    def counted(self) -> str:
        """How many checks, how many do not pass, and the smallest margin of checks that all pass."""
        bad = [f"{n} {'fail' if v == 'fails' and n != 1 else 'to review' if v == 'review' else v}"
               for v in ("fails", "review", "marginal") if (n := self.count(v))]
        head = f"{plural(len(self.rows), 'check')}, "
        if bad:
            return head + ", ".join(bad)
        said = verdict_words("passes", self.worst.get("margin"))
        return head + ("all pass" if len(self.rows) > 1 else "passes") + (
            f"; smallest margin {said.rpartition('margin ')[2]}" if "margin" in said and len(self.rows) > 1 else "")

    def words(self) -> str:
        """The group in words, with its worst line by name, for where its lines are folded away."""
        worst, head = self.worst, self.counted()
        at = f" ({case_words(worst['corner'])})" if worst.get("corner") else ""
        if worst["verdict"] == "passes":
            return head + (f", {worst['title']}{at}" if "margin" in head else "")
        return f"{head}; {worst['title']}{at}: {verdict_words(worst['verdict'], worst.get('margin'))}"


def grouped(rows: Iterable[Mapping[str, Any]]) -> list[Group]:
    """Rows of checks by system, in the order of the water; within a system the worst first.

    Parameters
    ----------
    rows : iterable of mapping
        As `Calculated.judged` gives them.
    """
    found: dict[tuple[int, str], list[Mapping[str, Any]]] = {}
    for row in rows:
        n, title, _ = system_of(row["id"])
        found.setdefault((n, title), []).append(row)
    return [Group(title, n, sorted(some, key=_bad)) for (n, title), some in sorted(found.items(), key=lambda x: x[0])]


def _bad(row: Mapping[str, Any]) -> tuple[int, float]:
    margin = row.get("margin")
    return RANK.get(row["verdict"], 0), float(margin) if margin is not None and margin == margin else 9.0


def case_words(corner: str) -> str:
    """A case as people read it: ``cold-aged`` is *cold, aged*."""
    return corner.replace("-", ", ")


def plural(n: int, noun: str, many: str = "") -> str:
    """A number with its noun: *1 case*, *2 cases*."""
    return f"{n} {noun if n == 1 else many or noun + 's'}"


def safety_notes(cautions: Iterable[tuple[str, str]]) -> dict[str, list[str]]:
    """Safety notes by hazard, each sentence once.

    Parameters
    ----------
    cautions : iterable of (id, text)
        Id of the check or line that carries the text.
    """
    found: dict[str, dict[str, None]] = {h: {} for h in HAZARDS}
    seen: set[str] = set()
    for id, text in cautions:
        whole = sentence(text)
        if whole and whole.lower() not in seen:
            seen.add(whole.lower())
            found[_HIGH if _BURSTS.search(whole) else system_of(id)[2]][whole] = None
    return {h: list(some) for h, some in found.items() if some}


def sentence(text: str) -> str:
    """A text as a sentence: a capital, but for pH and symbols, and one full stop; blank stays blank."""
    one = " ".join(text.split())
    if not one:
        return ""
    head = one[0].upper() + one[1:] if one[0].islower() and not re.match(r"pH\b|[a-z]+[A-Z_.]", one) else one
    return head if head[-1] in ".!?" else head + "."
