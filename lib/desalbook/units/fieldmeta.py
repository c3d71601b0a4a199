"""What the schema knows of one field: enough to build a control, a trail line or a refusal from it."""

from __future__ import annotations

import difflib
import functools
import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, fields, replace
from importlib import resources
from types import MappingProxyType
from typing import Any

from desalbook.problems import DesignError, explained
from desalbook.units.display import show, show_range
from desalbook.units.kinds import Kind
from desalbook.units.parse import parse, unit_written
from desalbook.units.spellings import SPELLINGS

__all__ = ["FieldMeta", "Named", "Range", "nearest"]

Range = tuple[float | None, float | None]
_SLACK = 1e-12  # a limit written in psi and a value written in bar may differ by one rounding
_HINT = 4  # digits of a usual range, which is advice
_KEY = re.compile(r"[A-Za-z0-9][A-Za-z0-9_.+-]{0,39}")


class Named(Mapping):
    """Read-only named quantities, for example the ions of an analysis; name -> SI value."""

    def __init__(self, values: Mapping[str, float] | Iterable[tuple[str, float]] = ()):
        self._values = dict(values)

    def __getitem__(self, key: str) -> float:
        return self._values[key]

    def __iter__(self) -> Iterator[str]:
        return iter(self._values)

    def __len__(self) -> int:
        return len(self._values)

    def __hash__(self) -> int:
        return hash(frozenset(self._values.items()))

    def __repr__(self) -> str:
        return f"Named({self._values!r})"


@functools.cache
def _renamed() -> dict[str, dict[str, str]]:
    return tomllib.loads((resources.files("desalbook.data") / "renamed" / "keys.toml").read_text(encoding="utf-8"))


def renamed(key: str) -> str:
    """The remedy for a key that had another name before; empty where it never had one.

    Parameters
    ----------
    key : str
        With its section; names of entries of lists do not count.
    """
    plain = re.sub(r"\[[^\]]*\]", "", key)
    if plain in _renamed()["gone"]:
        return f"{_renamed()['gone'][plain]}; remove the key"
    new = _renamed()["keys"].get(plain, "")
    if not new:
        return ""
    section, _, last = new.rpartition(".")
    moved = f" in [{section}]" if section != plain.rpartition(".")[0] and section else ""
    if not section and "." in plain:
        last = f"[[{new}]]"  # a list that moved to the top of the file
    return f"it is called {new} now; use {last}{moved}"


def nearest(key: object, known: Iterable[str]) -> str:
    """The remedy for a key that is not known: the one most like it, or all of them when few."""
    known = list(known)
    like = difflib.get_close_matches(str(key), known, 1, 0.5)
    if like:
        return f"did you mean {like[0]}? Change or remove the key"
    return "remove the key" + (f"; known keys are {', '.join(known)}" if 0 < len(known) <= 12 else "")


def offered(name: object, known: Iterable[str]) -> str:
    """The remedy for a name somebody gave on the command line: the one most like it, or those there are."""
    known = sorted(known)
    like = difflib.get_close_matches(str(name), known, 1, 0.6)
    if like:
        return f"did you mean {like[0]}?"
    return f"give one of {', '.join(known[:12])}" + (f" and {len(known) - 12} more" if len(known) > 12 else "")


@dataclass(frozen=True)
class FieldMeta:
    """One field of a section.

    Parameters
    ----------
    form : str
        ``quantity``, ``choice``, ``text``, ``flag``, ``mapping``, ``section`` or ``sections``.
    title, symbol, hint, source, scope : str
        Words for people; `source` is a key of the bibliography; `scope` says of what one the value
        is (plant, train, unit, vessel, element).
    kind : Kind or None
        Of a quantity or of the values of a mapping.
    default : object
        SI value (key of a choice, text, bool, ...); None when nothing is assumed.
    default_text : str
        The default as its author wrote it; empty when there is none.
    required : bool
        The key must stand in the file.
    possible, usual : (float or None, float or None) or None
        SI limits. Outside *possible* is refused; outside *usual* is a caution.
    options : mapping of str to str
        Keys of a choice and their plain words.
    max_length : int
        Of a text.
    item : type or None
        The section class inside a section or a list of sections.
    key : str
        The field that names each section of a list.
    keys : tuple of str
        Names allowed in a mapping; empty allows any.
    own : str
        List of the design file whose entries are choices as well, such as ``elements``.
    row : (str, str)
        Table and row that the default is read from; both empty where the schema states it.
    place : str
        Where in the source that row stands.
    """

    form: str
    title: str
    symbol: str = ""
    hint: str = ""
    source: str = ""
    scope: str = "plant"
    kind: Kind | None = None
    default: Any = None
    default_text: str = ""
    required: bool = False
    possible: Range | None = None
    usual: Range | None = None
    options: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    max_length: int = 0
    item: Any = None
    key: str = ""
    keys: tuple[str, ...] = ()
    own: str = ""
    row: tuple[str, str] = ("", "")
    place: str = ""

    def __call__(self, schema: dict) -> None:
        """Let pydantic's JSON schema say the unit; the data itself is this object."""
        if self.kind is not None:
            schema["unit"] = self.kind.si

    @property
    def optional(self) -> bool:
        """Not given means: will be picked, or is not used."""
        return not self.required and self.default is None

    def parts(self, value: Any) -> Iterable[tuple[str, FieldMeta, Any]]:
        """(suffix of the id, meta, value) of each line the value makes; most make one, of their own id."""
        return (("", self, value),)

    def assumed_text(self, value: Any) -> str:
        """The default as its author wrote it; empty for another value, as a list that the kit fills in may hold."""
        return self.default_text if value == self.default else ""

    def entry(self, name: str, value: Any = None) -> FieldMeta:
        """Meta of one named value of a mapping, as a quantity of its own; `value` is the mapping as it stands."""
        return replace(self, form="quantity", default=None, default_text="", required=False, keys=(),
                       title=f"{self.title}, {name}")

    def stated(self, name: str, value: Any, units: str = "si") -> str:
        """One named value as it was stated, where its own kind does not say that; `value` is the whole mapping."""
        return ""

    def possible_text(self, units: str = "si") -> str:
        """The possible range in a display set, empty if there is none."""
        return show_range(*self.possible, self.kind, units) if self.possible and self.kind else ""

    def usual_text(self, units: str = "si") -> str:
        """The usual range in a display set, to the digits of a hint; empty if there is none."""
        return show_range(*self.usual, self.kind, units, _HINT) if self.usual and self.kind else ""

    def unusual(self, value: float | None, units: str = "si") -> str:
        """The caution for a value outside the usual range; empty when there is none."""
        if value is None or self.usual is None or self.kind is None or within(value, self.usual):
            return ""
        return (f"{self.title} {show(value, self.kind, units)} is unusual; "
                f"usual is {self.usual_text(units)}")

    def read(self, raw: object, where: str) -> Any:
        """Value of a field from what stands in the file (quantity, choice, text, flag, mapping).

        Raises
        ------
        DesignError
            When it cannot be read or is not possible.
        """
        if raw is None and self.optional:
            return None
        return getattr(self, f"_read_{self.form}")(raw, where)

    def _read_quantity(self, raw: Any, where: str) -> float:
        assert self.kind is not None  # quantities and mappings are never made without one
        try:
            value = parse(raw, self.kind, where)
        except DesignError as problem:
            raise self._checked(problem) from None
        if self.possible is not None and not within(value, self.possible):
            do = "enter a value in that range"
            if self.default_text:
                do += f", or clear it to use {self.default_text}"
            allowed = self._range_in(unit_written(raw, self.kind))
            raise DesignError("outside its range", where=where, value=raw, allowed=allowed, do=do)
        return value

    def _checked(self, problem: DesignError) -> DesignError:
        """A refusal whose advice would be refused in its turn speaks of the range instead."""
        meant = re.match(r"enter (.+?) if that is meant", problem.do)
        if meant is None or self.possible is None or self.kind is None:
            return problem
        try:
            good = within(parse(meant[1], self.kind), self.possible)
        except DesignError:
            good = False
        return problem if good else DesignError(problem.what, where=problem.where, value=problem.value,
                                                allowed=self.possible_text(), do="enter a value in that range")

    def _range_in(self, unit: str) -> str:
        """The possible range in a unit somebody wrote; in the display unit where he wrote none."""
        assert self.kind is not None and self.possible is not None
        if not unit or unit == self.kind.show_si:
            return self.possible_text()
        scale = SPELLINGS[self.kind.name][unit]
        low, high = (None if end is None else f"{scale.from_si(end):.6g}" for end in self.possible)
        if low is not None and high is not None:
            return f"{low} to {high} {unit}"
        return f"from {low} {unit}" if low is not None else f"up to {high} {unit}"

    def with_own(self, names: Iterable[str]) -> FieldMeta:
        """With these entries of a design's own list among the choices."""
        named = {name: f"{name} (own sheet)" for name in names}
        return replace(self, options=MappingProxyType({**self.options, **named})) if named else self

    def _read_choice(self, raw: object, where: str) -> str:
        if self.own and isinstance(raw, str) and _KEY.fullmatch(raw):
            return str(raw)  # whether it is there, only the whole design can say
        return self.chosen(raw, where)

    def chosen(self, raw: object, where: str) -> str:
        """The key of a choice, or a refusal that names what may be chosen."""
        if not isinstance(raw, str) or raw not in self.options:
            plain = re.sub(r"\[[^\]]*\]", "", where)
            now = _renamed()["choices"].get(f"{plain} = {raw}")
            if isinstance(raw, bool) and {"yes", "no"} <= set(self.options):
                now = '"yes"' if raw else '"no"'
            like = [now] if now else difflib.get_close_matches(str(raw), list(self.options), 1, 0.5)
            raise DesignError("not one of the choices", where=where, value=raw,
                              allowed=_some(self.options),
                              do=f"enter {like[0]} if that is meant" if like else "enter one of them")
        return str(raw)  # an editor of the file may hand over a text of its own type

    def _read_text(self, raw: object, where: str) -> str:
        if not isinstance(raw, str):
            raise DesignError("not a text", where=where, value=raw, do="enter it between quotation marks")
        if any(not c.isprintable() for c in raw):
            raise DesignError("holds a line break or a control character", where=where, value=raw,
                              do="enter one plain line")
        if len(raw) > self.max_length:
            raise DesignError(f"too long, {len(raw)} characters", where=where, value=raw,
                              allowed=f"up to {self.max_length} characters", do="shorten it")
        return str(raw)

    def _read_flag(self, raw: object, where: str) -> bool:
        if not isinstance(raw, bool):
            raise DesignError("not yes or no", where=where, value=raw, allowed="true, false",
                              do="enter true or false without quotation marks")
        return raw

    def _read_mapping(self, raw: object, where: str) -> Named:
        if not isinstance(raw, Mapping):
            raise DesignError("not a table of named values", where=where, value=raw,
                              do="enter it as { name = value, ... }")
        values = {}
        for key, text in raw.items():
            if not isinstance(key, str) or (key not in self.keys if self.keys else not _KEY.fullmatch(key)):
                raise DesignError("unknown key", where=f"{where}[{key}]",
                                  do=explained(f"{where}[{key}]") or nearest(key, self.keys))
            values[key] = self._read_quantity(text, f"{where}[{key}]")
        return Named(values)

    def item_key(self, raw: Mapping, position: int, where: str) -> str:
        """The lasting name of one section of a list, which its id carries."""
        name = raw.get(self.key)
        if not isinstance(name, str) or not _KEY.fullmatch(name):
            raise DesignError("has no usable name" if self.key in raw else "has no name",
                              where=f"{where}[{position}]", value=name,
                              allowed="letters, digits, - and _, up to 40",
                              do=f'set {self.key} = "..." in each of them')
        return str(name)


@dataclass(frozen=True)
class EachMeta(FieldMeta):
    """Named quantities of which each makes a line of its own, ``power.cable[feed_pump]``.

    Parameters
    ----------
    kinds : mapping of str to Kind
        Kind of each name where they differ; empty where all are of one.
    """

    kinds: Mapping[str, Kind] = field(default_factory=dict)

    def entry(self, name: str, value: Any = None) -> FieldMeta:
        """Meta of one named value, of its own kind."""
        one = super().entry(name, value)
        return replace(FieldMeta(**{f.name: getattr(one, f.name) for f in fields(FieldMeta)}),
                       kind=self.kinds.get(name, self.kind))

    def _read_mapping(self, raw: object, where: str) -> Named:
        if not isinstance(raw, Mapping):
            return super()._read_mapping(raw, where)
        for key in raw:
            if not isinstance(key, str) or (key not in self.keys if self.keys else not _KEY.fullmatch(key)):
                raise DesignError("unknown key", where=f"{where}[{key}]",
                                  do=explained(f"{where}[{key}]") or nearest(key, self.keys))
        return Named({key: self.entry(key).read(text, f"{where}[{key}]") for key, text in raw.items()})

    def parts(self, value: Any) -> Iterable[tuple[str, FieldMeta, Any]]:
        """A line for each name."""
        return [(f"[{name}]", self.entry(name), x) for name, x in (value or {}).items()]


def within(value: float, limits: Range) -> bool:
    """Inside the limits, an open end being None, to a rounding error."""
    low, high = limits
    return ((low is None or value >= low - _SLACK * abs(low))
            and (high is None or value <= high + _SLACK * abs(high)))


_SHOWN = 12
"""Options that a refusal lists; of a longer list of sizes it names the ends."""


def _some(options: Iterable[str]) -> str:
    """Options in one line: all of a short list, the first and the last of a long one."""
    listed = list(options)
    if len(listed) <= _SHOWN:
        return ", ".join(listed)
    return f"{', '.join(listed[:3])} ... {listed[-1]} ({len(listed)} in all)"
