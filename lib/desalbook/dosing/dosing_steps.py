"""Dosing steps and the places along the water line: one ordered list that the whole kit reads.

A step knows its section and prefix of ids, the role of its chemical, where it enters the water, and how the water
line marks it. What follows from that (choices of the injection order, bays in storage, rows of the schedule, marks)
is read from here and written nowhere else.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum
from types import MappingProxyType

from desalbook.dosing.chemicals import ROLES
from desalbook.trail import Choice, note
from desalbook.trail.inputs import Inputs

__all__ = [
    "ALONG_THE_FEED",
    "FEED_CHEMISTRY",
    "INTO_PRODUCT",
    "MAY_BE_ABSENT",
    "PLACES",
    "STATIONS",
    "STEPS",
    "DosingStep",
    "Into",
    "Station",
    "absent",
]


class Into(Enum):
    """Water that a step doses."""

    RAW = "raw water"
    FEED = "RO feed"
    PERMEATE = "permeate of the first pass"
    PRODUCT = "product"


@dataclass(frozen=True)
class Station:
    """A place along the water line where nothing is dosed but the order matters.

    Parameters
    ----------
    key, title : str
    needs : str
        Dosing step or unit without which it is not there.
    """

    key: str
    title: str
    needs: str = field(default="", kw_only=True)


@dataclass(frozen=True)
class DosingStep(Station):
    """One chemical into the water.

    Parameters
    ----------
    key : str
        Section of the design and prefix of the ids.
    title : str
    role : str
        Key of `chemicals.ROLES`.
    into : Into
    stop : str
        Stop of the water line that its mark stands at.
    mark : str
        Words of that mark; the key in words where empty.
    optional : bool
        Whether it has a ``present`` of its own.
    shapes_feed : bool
        Whether it decides the pH of the RO feed, itself or through the step it calls for.
    """

    role: str
    into: Into
    stop: str
    mark: str = ""
    optional: bool = True
    shapes_feed: bool = False

    def __post_init__(self) -> None:
        if self.role not in ROLES:
            raise LookupError(f"the dosing step {self.key} has a role that is not registered: {self.role}")

    @property
    def words(self) -> str:
        """What its mark on the water line says."""
        return self.mark or self.key.replace("_", " ")


_ALONG: tuple[Station, ...] = (
    DosingStep("chlorination", "Hypochlorite", "oxidant", Into.RAW, "sea", "hypochlorite", shapes_feed=True),
    DosingStep("coagulation", "Coagulant", "coagulant", Into.RAW, "feed_pump", "coagulant", shapes_feed=True),
    Station("filter", "Media filters", needs="filters"),
    DosingStep("acid", "Acid", "acid", Into.FEED, "cartridge", shapes_feed=True),
    DosingStep("antiscalant", "Antiscalant", "scale inhibitor", Into.FEED, "cartridge"),
    DosingStep(
        "dechlorination",
        "Dechlorination agent",
        "dechlorination",
        Into.FEED,
        "cartridge",
        "dechlorination agent",
        shapes_feed=True,
    ),
    Station("orp", "ORP probe", needs="dechlorination"),
    DosingStep("biocide", "Biocide", "biocide", Into.FEED, "cartridge"),
    Station("cartridge", "Cartridge filters"),
    Station("pump", "HP pump"),
    DosingStep("interpass_ph", "Alkali before the second pass", "alkali", Into.PERMEATE, "permeate",
               "alkali between passes"),
    Station("second_pass", "Second pass"),
    DosingStep("post_ph", "Alkali for the product", "alkali", Into.PRODUCT, "product", "alkali", optional=False),
    DosingStep("corrosion_inhibitor", "Corrosion inhibitor", "corrosion inhibitor", Into.PRODUCT, "product"),
    DosingStep(
        "post_chlorination",
        "Hypochlorite for the product",
        "oxidant",
        Into.PRODUCT,
        "product",
        "hypochlorite",
        optional=False,
    ),
)

PLACES: Mapping[str, str] = MappingProxyType({place.key: place.title for place in _ALONG})
"""Titles of all places along the water line, steps and stations, in their usual order."""
STATIONS: Mapping[str, Station] = MappingProxyType({s.key: s for s in _ALONG if not isinstance(s, DosingStep)})
"""Places where nothing is dosed."""
STEPS: Mapping[str, DosingStep] = MappingProxyType({s.key: s for s in _ALONG if isinstance(s, DosingStep)})
"""Dosing steps by key, in the order of the water line."""
MAY_BE_ABSENT = tuple(k for k, s in STEPS.items() if s.optional)
"""Steps with a ``present`` of their own."""
ALONG_THE_FEED = tuple(k for k, s in STEPS.items() if s.into in (Into.RAW, Into.FEED))
"""Those that must have a place in ``injection.points``."""
INTO_PRODUCT = tuple(k for k, s in STEPS.items() if s.into in (Into.PERMEATE, Into.PRODUCT))
"""Those that dose permeate or product."""
FEED_CHEMISTRY = tuple(k for k, s in STEPS.items() if s.shapes_feed)
"""Those whose presence decides the pH of the RO feed."""


def absent(inp: Inputs, prefix: str) -> Choice | None:
    """The choice that leaves a step out, with its finding; None when the step is in this plant."""
    present = inp.choice(f"{prefix}.present")
    if present == "yes":
        return None
    reason = inp.selected(f"{prefix}.reason")
    note(
        f"{prefix}.absent",
        title=f"No {prefix} in this plant",
        verdict="passes" if reason else "review",
        why=str(reason) if reason else "no reason is given",
        do=f"state the reason ({prefix}.reason)",
        inputs={"present": present, **({"reason": reason} if reason else {})},
    )
    return present
