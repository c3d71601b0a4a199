"""Which changed input makes a difference between two designs: tested by sizing what lies between them.

Each change is taken alone into the old design and put back alone in the new one. A change is *enough* for a check
when, taken alone, it gives the check its new status; it is *needed* when the check leaves that status once it is put
back. Where no single change is enough, pairs are tried, those first whose two changes move the check most. What a
change carries of a value is the mean of what it moves alone and of what putting it back takes away: for two changes
the shares add up to all of it, for more the rest is what they do to one another.

Sizes are of values alone. Of n changes 2 n + 2 plants are sized, and of pairs as many as `_SIZES` leaves, `_PAIRS` at
least. A design that cannot be read with one change (a minimum above a maximum) is tried with the first other change
that mends it.
"""

from __future__ import annotations

import contextlib
import copy
import gc
import itertools
import json
import math
import threading
from collections.abc import Callable, Iterable, Iterator, Mapping
from concurrent.futures import BrokenExecutor, Executor, Future
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, NamedTuple

import tomlkit

from desalbook.design import Design, field_meta, from_text
from desalbook.design.sections import LISTS, key_field, split
from desalbook.plant import size
from desalbook.problems import DesignError, Problem
from desalbook.trail.figure import Column
from desalbook.trail.words import part_words
from desalbook.units import metas, show

__all__ = ["Cause", "Causes", "Change", "Effect", "State", "changes", "collector_paused"]

_SIZES = 26
"""Plants that a comparison sizes where its changes are few enough."""
_PAIRS = 4
"""Pairs that are tried at least."""
_MANY = 16
"""Changes above which those of one table, then of one section, are taken as one."""
_SAME = 1e-9
_ABSENT: Any = object()


class Change(NamedTuple):
    """One change between two designs, or several that are taken as one."""

    id: str
    """Key of the design; of several, the table or section they stand in."""
    title: str
    old: str
    new: str
    keys: tuple[str, ...]
    """Keys that are exchanged together."""
    parts: tuple[Change, ...] = ()
    """Of several that are taken as one, each."""


class State(NamedTuple):
    """What became of one design between the two."""

    verdicts: Mapping[str, tuple[str, float | None]]
    """Verdict and margin of every check."""
    values: Mapping[str, Any]
    problem: str = ""
    """Why there is no such plant; empty where there is one."""
    also: int = -1
    """Place of the change that had to go with the one tested; -1 where none."""


class Effect(NamedTuple):
    """What one change does to one number."""

    alone: float | None
    """Move when it is taken alone into the old design; None where that gives no plant."""
    back: float | None
    """Move that putting it back takes away from the new design."""

    @property
    def carried(self) -> float | None:
        """Mean of the two, as far as there are plants."""
        known = [x for x in self if x is not None]
        return math.fsum(known) / len(known) if known else None


class Cause(NamedTuple):
    """Why a check has its new status."""

    check: str
    how: str
    """``alone``: these changes, each alone enough; ``pair``: these two together; ``needed``: each of these is needed,
    and no single one is enough; ``back``: it leaves its status only when these two are put back; ``many``: no single
    change and no pair that was tried; ``other``: not tested, the kit gives the check another status than the record."""
    enough: tuple[int, ...] = ()
    """Places of the changes that are enough alone, or together for ``pair``."""
    needed: tuple[int, ...] = ()
    """Places of the changes that cannot be put back without the check leaving its status."""
    without: tuple[int, ...] = ()
    """Two that take the check out of its status when both are put back, where no single one does."""
    tried: bool = True
    """Whether every pair that could explain it was tried."""

    @property
    def changes(self) -> tuple[int, ...]:
        """Places of the changes that explain it, the first the one to follow."""
        return tuple(dict.fromkeys((*self.enough, *self.needed, *self.without)))


def _split(id: str) -> list[tuple[str, str | None]]:
    """Parts of an id, a whole section included."""
    return split(id) if "." in id or "[" in id else [(id, None)]


def _said(design: Design, id: str, units: str) -> str:
    """A value of a design as people read it."""
    value = design.get(id)
    if value is None:
        return "blank"
    m = field_meta(id)
    if m.form == "mapping" and id.endswith("]"):
        m = m.entry(_split(id)[-1][1] or "")
    if m.kind is not None and isinstance(value, (int, float)) and not isinstance(value, bool):
        digits = 6 if units == "si" else 5  # what was written, or what it is in other units
        return show(float(value), m.kind, units, pretty=True, digits=digits, trim=True) + (
            "" if design.stands(id) else " (if blank)")
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(m.options.get(value, value))


def _differences(old: Design, new: Design) -> Iterator[str]:
    """Ids of what differs in the texts: keys, entries of tables, and whole parts that only one of them has."""
    for name in dict.fromkeys((*old.written, *new.written)):
        a, b = old.written.get(name), new.written.get(name)
        if a == b or name in ("format", "kit", "project"):
            continue
        if name in LISTS:
            yield from _within_list(name, a, b)
        elif _present(old, name) != _present(new, name):
            yield name  # the keys of a step that is not there say nothing
        else:
            yield from _within(name, a or {}, b or {})


def _present(design: Design, name: str) -> Any:
    section = design.sections[name]
    return section["present"] if "present" in metas(type(section)) else None


def _within(at: str, a: Mapping[str, Any], b: Mapping[str, Any]) -> Iterator[str]:
    for key in dict.fromkeys((*a, *b)):
        id, x, y = f"{at}.{key}", a.get(key), b.get(key)
        if x == y:
            continue
        form = field_meta(id).form
        if form == "mapping":
            x, y = x or {}, y or {}
            yield from (f"{id}[{k}]" for k in dict.fromkeys((*x, *y)) if x.get(k) != y.get(k))
        elif form == "sections":
            yield from _within_list(id, x, y)
        elif form == "section" and x is not None and y is not None:
            yield from _within(id, x, y)
        elif form != "text":  # a reason, a note: it decides nothing
            yield id


def _within_list(id: str, a: Any, b: Any) -> Iterator[str]:
    name = key_field(id)
    rows = [{str(one.get(name)): one for one in many or ()} for many in (a, b)]
    if list(rows[0]) != list(rows[1]):
        yield id
        return
    for entry, one in rows[0].items():
        yield from _within(f"{id}[{entry}]", one, rows[1][entry])


def changes(old: Design, new: Design, units: str = "si") -> list[Change]:
    """What differs between two designs, each as it can be exchanged.

    A value that is written where it was assumed, and is the same, is no change of its own: all such are one. Above
    `_MANY` changes, those of a table are one, then those of a section.
    """
    found: list[Change] = []
    stated: list[str] = []
    for id in _differences(old, new):
        whole = _whole(id)
        if whole:
            title = f"{part_words(id)}, whole part"
            found.append(Change(id, title, _part(old, id), _part(new, id), (id,)))
        elif _equal(old.get(id), new.get(id)):
            if old.stands(id) != new.stands(id):
                stated.append(id)
        else:
            m = field_meta(id)
            title = m.entry(_split(id)[-1][1] or "").title if m.form == "mapping" else m.title
            found.append(Change(id, title, _said(old, id, units), _said(new, id, units), (id,)))
    if len(found) > _MANY:
        found = _together(found, lambda id: id.rpartition("[")[0] if id.endswith("]") else id)
    if len(found) > _MANY:
        found = _together(found, lambda id: _split(id)[0][0])
    if stated:
        found.append(Change(stated[0] if not stated[1:] else "", f"Values set as they were assumed, {len(stated)}",
                            "assumed" if new.stands(stated[0]) else "set",
                            "set" if new.stands(stated[0]) else "assumed", tuple(stated)))
    return found


def _whole(id: str) -> bool:
    """Whether an id is a list or a section, exchanged as a whole."""
    if "." not in id:
        return True
    m = field_meta(id)
    return m.form in ("section", "sections")


def _part(design: Design, id: str) -> str:
    if "." not in id and id not in LISTS:
        return "present" if _present(design, id) not in (False, "no", None) else "not in this plant"
    try:
        value = design.names(id) if id in LISTS or field_meta(id).form == "sections" else design.get(id)
    except DesignError:
        value = None
    if isinstance(value, tuple):
        return ", ".join(value) or "blank"
    return "blank" if value is None else "set"


def _equal(a: Any, b: Any) -> bool:
    if isinstance(a, float) and isinstance(b, float):
        return math.isclose(a, b, rel_tol=1e-12)
    return a == b


def _together(found: list[Change], of: Callable[[str], str]) -> list[Change]:
    groups: dict[str, list[Change]] = {}
    for one in found:
        groups.setdefault(of(one.id), []).append(one)
    return [some[0] if len(some) == 1 else
            Change(name, f"{part_words(name)}, {len(parts)} values", "", "",
                   tuple(k for x in some for k in x.keys), parts)
            for name, some in groups.items() for parts in [tuple(p for x in some for p in x.parts or (x,))]]


def _exchange(doc: dict[str, Any], other: Mapping[str, Any], id: str) -> None:
    """Make what stands at an id in `doc` what stands there in the other design."""
    here, there, path = doc, other, ""
    parts = _split(id)
    steps: list[tuple[Any, str, str]] = []
    for n, (name, key) in enumerate(parts):
        path = f"{path}.{name}" if path else name
        if n < len(parts) - 1 or key is not None:
            there = there.get(name) if isinstance(there, Mapping) else None
            if name not in here:
                here[name] = {}
            steps.append((here, name, path))
            here = here[name]
            if key is not None and isinstance(here, list):
                field_ = key_field(path)
                here = next(one for one in here if one.get(field_) == key)
                there = next((one for one in there or () if one.get(field_) == key), None)
            elif key is not None:
                _put(here, there, key)
                if not here and there is None:
                    steps[-1][0].pop(name)
                return
        else:
            _put(here, there, name)
            if not here and there is None and steps:
                steps[-1][0].pop(steps[-1][1])


def _put(here: dict[str, Any], there: Any, key: str) -> None:
    value = there.get(key, _ABSENT) if isinstance(there, Mapping) else _ABSENT
    if value is _ABSENT:
        here.pop(key, None)
    else:
        here[key] = copy.deepcopy(value)


@contextlib.contextmanager
def collector_paused() -> Iterator[None]:
    """No search for unreachable cycles while one plant is sized: with two records at hand it took a third of the time.

    A plant lives a tenth of a second; what it leaves is found when the next one has been sized.
    """
    on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if on:
            gc.enable()


def _state(design: Design, values: tuple[str, ...]) -> State:
    """What becomes of one design: its checks and some of its values."""
    with collector_paused():
        try:
            book = size(design, recording=False).ledger
        except Problem as problem:
            return State({}, {}, str(problem))
        verdicts = {id: (x.more["verdict"], x.more.get("margin")) for id, x in book.lines.items()
                    if x.sort == "checked"}
        return State(verdicts, {id: _plain(book[id]) for id in values if id in book})


@dataclass
class Causes:
    """The plants between two designs, each sized when it is first asked for.

    Parameters
    ----------
    old, new : Design
    checks : sequence of str
        Ids of the checks that changed status.
    values : sequence of str
        Ids of the values that are followed.
    units : {"si", "us"}
    told : callable, optional
        Called with how many plants are sized and how many there are to size.
    executor : concurrent.futures.Executor, optional
        Its workers size plants beside the caller, who takes over what they have not begun; the answers are the same.
    """

    old: Design
    new: Design
    checks: tuple[str, ...] = ()
    values: tuple[str, ...] = ()
    units: str = "si"
    told: Callable[[int, int], object] | None = None
    executor: Executor | None = None
    sized: int = field(default=0, init=False)
    """Plants sized so far."""
    _kept: dict[frozenset[int], State] = field(default_factory=dict, init=False, repr=False)
    _waiting: dict[frozenset[int], Design] = field(default_factory=dict, init=False, repr=False)
    _begun: dict[frozenset[int], Future[State]] = field(default_factory=dict, init=False, repr=False)
    _lock: Any = field(default_factory=threading.RLock, init=False, repr=False)
    _texts: dict[tuple[str, str], str] = field(default_factory=dict, init=False, repr=False)

    @cached_property
    def changes(self) -> list[Change]:
        """What differs, in the order of the file."""
        return changes(self.old, self.new, self.units)

    @cached_property
    def _all(self) -> frozenset[int]:
        return frozenset(range(len(self.changes)))

    def design(self, taken: Iterable[int]) -> Design:
        """The old design with these changes of the new one.

        Raises
        ------
        DesignError
            No design can have these alone.
        """
        of = frozenset(taken)
        if not of:
            return self.old
        if of == self._all:
            return self.new
        # whichever end is nearer: what both leave unsaid stays so
        base, other = (self.old, self.new) if len(of) * 2 <= len(self._all) else (self.new, self.old)
        swapped = of if base is self.old else self._all - of
        doc = copy.deepcopy(dict(base.written))
        for n in sorted(swapped):
            for key in self.changes[n].keys:
                _exchange(doc, other.written, key)
        return from_text(self._text(doc), base.path)

    def _text(self, doc: Mapping[str, Any]) -> str:
        """The text of a design, a section at a time: most are those of the plants before."""
        parts = []
        for name, value in sorted(doc.items(), key=lambda one: isinstance(one[1], (dict, list))):  # plain keys first
            key = name, json.dumps(value, default=str)
            if key not in self._texts:
                self._texts[key] = tomlkit.dumps({name: value})
            parts.append(self._texts[key])
        return "\n".join(parts)

    def state(self, taken: Iterable[int]) -> State:
        """Checks and values of the old design with these changes of the new one."""
        of = frozenset(taken)
        if of not in self._kept and not self._from_worker(of):
            try:
                design = self.design(of)
            except Problem as problem:
                self._kept[of] = State({}, {}, str(problem))
            else:
                self._kept[of] = self._size(design)
        return self._kept[of]

    def _from_worker(self, of: frozenset[int]) -> bool:
        """Take over what a worker is at or has done; False where none has begun it, or it died."""
        with self._lock:
            self._waiting.pop(of, None)
            future = self._begun.get(of)
        if future is None:
            return False
        with contextlib.suppress(BrokenExecutor):
            self._kept[of] = future.result()
            self._count()
        del self._begun[of]
        return of in self._kept

    def _size(self, design: Design) -> State:
        self._count()
        return _state(design, self.values)

    def _count(self) -> None:
        self.sized += 1
        if self.told is not None:
            self.told(self.sized, max(self.sized, 2 * len(self.changes) + 2))

    def begin(self) -> None:
        """Hand to the workers, where there are any, each change alone and put back alone."""
        every = range(len(self.changes))
        self._hand_over([frozenset([n]) for n in every] + [self._all - {n} for n in every])

    def _hand_over(self, wanted: Iterable[frozenset[int]]) -> None:
        for of in wanted if self.executor is not None else ():
            if 0 < len(of) < len(self._all) and not self._at_hand(of):
                with contextlib.suppress(Problem):  # said when it is asked for
                    self._waiting[of] = self.design(of)
                    self._feed()

    def _at_hand(self, of: frozenset[int]) -> bool:
        return of in self._kept or of in self._begun or of in self._waiting

    def _feed(self, _done: object = None) -> None:
        """Give each worker its next plant, one at a time: the caller takes what is left, and waits for one at most."""
        with self._lock, contextlib.suppress(BrokenExecutor, RuntimeError):  # it died, or is being shut down
            while self._waiting and sum(not f.done() for f in self._begun.values()) < _workers(self.executor):
                of = next(iter(self._waiting))
                assert self.executor is not None
                self._begun[of] = future = self.executor.submit(_state, self._waiting.pop(of), self.values)
                future.add_done_callback(self._feed)

    def ahead(self) -> None:
        """What is needed in any case; the caller begins at the end of what the workers were given."""
        self.begin()
        for of in [*reversed(self._waiting), *self._begun]:
            self.state(of)

    def _single(self, n: int, back: bool) -> State:
        """The design with one change alone, or without it alone, and with a second one where it cannot be read so."""
        of = self._all - {n} if back else frozenset([n])
        if of not in self._kept:
            for other in (-1, *sorted(self._all - {n}, key=lambda i: self._near(i, n))):
                with_other = of if other < 0 else (of - {other} if back else of | {other})
                try:
                    self.design(with_other)
                except Problem:
                    continue
                made = self.state(with_other)
                if other >= 0:
                    self._kept[of] = made._replace(also=other)
                break
        return self.state(of)

    def _near(self, i: int, n: int) -> tuple[bool, int]:
        a, b = (self.changes[k].id for k in (i, n))
        return _split(a)[0] != _split(b)[0] if a and b else True, abs(i - n)

    @cached_property
    def alone(self) -> list[State]:
        """Each change taken alone into the old design."""
        return [self._single(n, False) for n in range(len(self.changes))]

    @cached_property
    def back(self) -> list[State]:
        """Each change put back alone in the new design."""
        return [self._single(n, True) for n in range(len(self.changes))]

    def effects(self, id: str) -> list[Effect]:
        """What each change does to one value, or to the margin of one check, in the order of `changes`."""
        def number(state: State) -> float | None:
            if id in state.verdicts:
                return state.verdicts[id][1]
            value = state.values.get(id)
            return value if isinstance(value, float) else None

        a, b = (number(self.state(s)) for s in ((), self._all))
        found = []
        for alone, back in zip(self.alone, self.back, strict=True):
            x, y = number(alone), number(back)
            found.append(Effect(x - a if x is not None and a is not None else None,
                                b - y if y is not None and b is not None else None))
        return found

    def moves_nothing(self, n: int, id: str) -> bool:
        """Whether a check is the same to the last digits with or without this change, from both ends."""
        pairs = ((self.alone[n], self.state(())), (self.back[n], self.state(self._all)))
        return all(not x.problem and _alike(x.verdicts.get(id), y.verdicts.get(id)) for x, y in pairs)

    @cached_property
    def causes(self) -> dict[str, Cause]:
        """Why each check has its new status, by id."""
        self._left = max(_PAIRS, _SIZES - 2 * len(self.changes) - 2)
        # what one pair settles comes first, what is explained already last
        order = sorted(self.checks, key=lambda id: (bool(self._enough(id)), len(self._needed(id)) != 2))
        found = {id: self._cause(id) for id in order}
        return {id: found[id] for id in self.checks}

    def _enough(self, id: str) -> tuple[int, ...]:
        return tuple(n for n, state in enumerate(self.alone) if self._gives(state, id))

    def _needed(self, id: str) -> tuple[int, ...]:
        return tuple(n for n, state in enumerate(self.back) if not state.problem and not self._gives(state, id))

    def _gives(self, state: State, id: str) -> bool:
        """Whether a plant has the new status of a check; no plant has none."""
        return not state.problem and _status(state, id) == _status(self.state(self._all), id)

    def _cause(self, id: str) -> Cause:
        enough, needed = self._enough(id), self._needed(id)
        if enough:
            without: tuple[int, ...] = ()
            if not needed:
                without = self._pair(id, True, enough[:1])[0]
            return Cause(id, "alone", tuple(sorted(enough, key=lambda n: n not in needed)), needed, without)
        if len(needed) > 2:
            return Cause(id, "needed", (), needed)
        pair, tried = self._pair(id, False, needed)
        if pair:
            return Cause(id, "pair", pair, needed)
        if needed:
            return Cause(id, "needed", (), needed, tried=tried)
        without, again = self._pair(id, True, ())
        return Cause(id, "back" if without else "many", (), (), without, tried and again)

    def _pair(self, id: str, back: bool, among: tuple[int, ...]) -> tuple[tuple[int, ...], bool]:
        """The first pair that explains, those first that move the check most; whether all were tried.

        A pair explains when both changes alone give the check its new status; with `back`, when the check leaves it
        once both are put back.
        """
        weight = [max((abs(x) for x in e if x is not None), default=0.0) for e in self.effects(id)]
        idle = {n for n in range(len(self.changes)) if self.moves_nothing(n, id)}
        pairs = [p for p in itertools.combinations(range(len(self.changes)), 2)
                 if not set(p) <= idle and set(among) <= set(p)]
        pairs.sort(key=lambda p: (len(set(p) & idle), -weight[p[0]] - weight[p[1]]))
        for pair, next_ in itertools.zip_longest(pairs, pairs[1:]):
            before, of = self.sized, self._all - set(pair) if back else frozenset(pair)
            if self._left <= 0 and frozenset(pair) not in self._kept and self._all - set(pair) not in self._kept:
                return (), False
            if next_ is not None and self._left > 1 and not self._at_hand(of):  # a worker tries it meanwhile
                self._hand_over([self._all - set(next_) if back else frozenset(next_)])
            state = self.state(of)
            good = not state.problem and self._gives(state, id) is not back
            self._left -= self.sized - before
            if good:
                return pair, True
        return (), True


def _workers(executor: Executor | None) -> int:
    return getattr(executor, "_max_workers", 1)


def _plain(value: Any) -> Any:
    if isinstance(value, Column):
        return {k: float(v) for k, v in value.items()}
    return str(value) if isinstance(value, str) else float(value)


def _status(state: State, id: str) -> str:
    return state.verdicts[id][0] if id in state.verdicts else ""


def _alike(a: tuple[str, float | None] | None, b: tuple[str, float | None] | None) -> bool:
    if a is None or b is None:
        return a is b
    if a[0] != b[0] or (a[1] is None) != (b[1] is None):
        return False
    return a[1] is None or b[1] is None or math.isclose(a[1], b[1], rel_tol=_SAME, abs_tol=1e-12)
