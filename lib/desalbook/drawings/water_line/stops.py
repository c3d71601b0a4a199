"""What the water line is drawn from: the steps the water passes, with pressure, flow and salinity after each."""

from __future__ import annotations

import math
from dataclasses import dataclass

from desalbook.hydraulics.energy_recovery import WaterLineRole as Role
from desalbook.problems import DesignError

__all__ = ["KINDS", "RECOVERIES", "Line", "Stop"]

KINDS = ("sea", "tank", "pump", "resistance", "vessels", "recovery", "product", "outfall")
RECOVERIES = (Role.IN_FEED, Role.BRANCH, Role.SHAFT, Role.VALVE)


@dataclass(frozen=True)
class Stop:
    """One step the water passes.

    Parameters
    ----------
    key : str
        Short name, by which a notebook says which step it is about. The two sides of one device may
        share a key.
    title : str
        What people call it.
    pressure : float
        Gauge pressure after the step, Pa. For the vessels: of the concentrate leaving them.
    flow : float
        Flow after the step, m3/s. For the vessels: of the feed entering them.
    salinity : float
        After the step, kg salt per kg water. For the vessels: of the feed entering them.
    kind : str
        One of `KINDS`.
    note : str
        A few words on energy for a recovery device ("gives 25.3 bar to the feed"); said, and for a
        concentrate-side recovery step also written into the picture.
    """

    key: str
    title: str
    pressure: float
    flow: float
    salinity: float
    kind: str
    note: str = ""

    def __post_init__(self) -> None:
        where = f"water_line.{self.key}"
        if self.kind not in KINDS:
            raise DesignError("no such kind of step", where=where, value=self.kind, allowed=", ".join(KINDS),
                              do="use one of these kinds")
        for name, unit, low, high in (("pressure", "Pa", -1.02e5, 5e7), ("flow", "m3/s", 0.0, 1e4),
                                      ("salinity", "kg/kg", 0.0, 1.0)):
            value = float(getattr(self, name))
            object.__setattr__(self, name, value)  # plain, so that equal figures give equal ids
            if not (math.isfinite(value) and low <= value <= high) or (name == "flow" and value == 0):
                raise DesignError("cannot be drawn", where=f"{where}.{name}", value=value, unit=unit,
                                  allowed=f"{'above ' if name == 'flow' else ''}{low:g} to {high:g} {unit}",
                                  do="check the table of streams")


@dataclass(frozen=True)
class Line:
    """The steps of a plant in the order the water meets them.

    Parameters
    ----------
    stops : tuple of Stop
        Feed path from the sea to the vessels, which are last. With a turbocharger it has a ``recovery``
        step, the boost. With an isobaric ERD the last pump before the vessels is the high-pressure pump.
    permeate : tuple of Stop
        From downstream of the vessels to the product.
    reject : tuple of Stop
        From downstream of the vessels to the outfall. Unless `recovery` is a valve the first is the device.
    exchanger_branch : tuple of Stop or None
        The feed that passes the isobaric ERD and its booster; it leaves before the last pump and joins
        before the vessels. Given exactly when `recovery` is a branch.
    chemicals : tuple of (str, str, str)
        Key of the step after which it enters, name, dose as text.
    recovery : WaterLineRole
        One of `RECOVERIES`.
    """

    stops: tuple[Stop, ...]
    permeate: tuple[Stop, ...]
    reject: tuple[Stop, ...]
    exchanger_branch: tuple[Stop, ...] | None = None
    chemicals: tuple[tuple[str, str, str], ...] = ()
    recovery: Role = Role.VALVE

    @property
    def branch(self) -> tuple[Stop, ...]:
        """The feed that passes the isobaric ERD; none without one."""
        return self.exchanger_branch or ()

    def __post_init__(self) -> None:
        for name in ("stops", "permeate", "reject", "chemicals"):
            object.__setattr__(self, name, tuple(getattr(self, name)))
        branch = self.exchanger_branch
        object.__setattr__(self, "exchanger_branch", tuple(branch) if branch else None)
        self._check(self.recovery in RECOVERIES, "no such ERD", ", ".join(RECOVERIES))
        self._check(len(self.stops) > 1 and self.stops[-1].kind == "vessels",
                    "feed path without vessels at its end", "two steps or more, vessels last")
        self._check(not any(s.kind == "vessels" for s in (*self.stops[:-1], *self.permeate, *self.reject)),
                    "vessels inside a path", "one step of kind vessels, last of the feed")
        self._check(bool(self.permeate), "no permeate path", "one step or more")
        self._check(bool(self.reject), "no concentrate path", "one step or more")
        self._check(self.recovery == Role.VALVE or self.reject[0].kind == "recovery",
                    "concentrate does not begin at the ERD", "first step of kind recovery")
        self._check((self.exchanger_branch is not None) == (self.recovery == Role.BRANCH),
                    "isobaric ERD and its branch do not go together", "a branch with an isobaric ERD only")
        if self.recovery == Role.IN_FEED:
            self._check(any(s.kind == "recovery" for s in self.stops),
                        "turbocharger without boost on the feed", "a step of kind recovery in the feed path")
        if self.recovery == Role.BRANCH:
            self._check(any(s.kind == "recovery" for s in self.branch),
                        "branch without the isobaric ERD", "a step of kind recovery in the branch")
        if self.recovery in (Role.BRANCH, Role.SHAFT):
            self._check(any(s.kind == "pump" for s in self.stops[1:]), "no HP pump",
                        "a step of kind pump in the feed path, not first")
        known = {s.key for s in self.everything()}
        for key, name, _ in self.chemicals:
            self._check(key in known, f"{name} enters after an unknown step {key}", ", ".join(sorted(known)))

    def _check(self, good: bool, what: str, allowed: str) -> None:
        if not good:
            raise DesignError(what, where="water_line", allowed=allowed, do="check the table of streams")

    def everything(self) -> tuple[Stop, ...]:
        """All steps in reading order: feed, branch, product, concentrate."""
        return (*self.stops, *self.branch, *self.permeate, *self.reject)
