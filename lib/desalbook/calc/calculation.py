"""How a stand-alone calculation is made: arguments by the schema, the rooms' own functions, a result with a trail."""

from __future__ import annotations

import contextvars
import inspect
import textwrap
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import tomlkit

from desalbook.calc.result import Result
from desalbook.design import Design, asked, field_meta, from_text
from desalbook.design.typed import written
from desalbook.problems import DesignError
from desalbook.trail.inputs import Inputs
from desalbook.trail.ledger import Ledger, Values
from desalbook.units import FieldMeta, Section, metas, unit_label, validate
from desalbook.units.fieldmeta import nearest

__all__ = ["TEMPERATURE", "WATER", "Argument", "Calculation", "calculation"]

TEMPERATURES = tuple(f"water.temperature_{key}" for key in ("cold", "design", "hot"))
WATER = ("salinity=water.sea_salinity", "ions=water.ions", "ph=water.ph", *TEMPERATURES)
"""Arguments of a calculation that runs at the cold, the design and the hot temperature."""
TEMPERATURE = ("salinity=water.sea_salinity", "ions=water.ions", "ph=water.ph",
               f"temperature={'+'.join(TEMPERATURES)}")
"""Arguments of a calculation at one temperature."""
_SEA = {"water.sea_salinity": "35 g/kg"}
"""What is assumed of the water where nothing is said: reference seawater."""
_LACKING = {"duty.train_product_flow": "1000 m3/d"}
"""Keys a design must have and a calculation of a part has no use for, with a text that reads."""


@dataclass(frozen=True)
class Argument:
    """One argument of a calculation.

    Parameters
    ----------
    name : str
    ids : tuple of str
        Keys it sets; more than one where a single value stands for several.
    meta : FieldMeta
        What the schema knows of the first of them.
    default : str
        As people write it; empty where there is none.
    required : bool
        Whether it must be given where no design stands behind.
    """

    name: str
    ids: tuple[str, ...]
    meta: FieldMeta
    default: str = ""
    required: bool = False

    @property
    def unit(self) -> str:
        """Unit in which it is usually given; ``1`` for a plain number, otherwise what it holds."""
        m = self.meta
        if m.form == "choice":
            return "choice"
        if m.form == "quantity" and m.kind is not None:
            return unit_label(m.kind) or "1"
        return {"flag": "yes or no", "text": "text", "mapping": "table", "sections": "list"}.get(m.form, m.form)

    @property
    def example(self) -> str:
        """What is written for it, as a pattern."""
        m = self.meta
        if m.form == "mapping":
            return '{"Na": "...", ...}' if m.keys else '{"name": "..."}'
        if m.form == "sections":
            return f'{{"a": {{...}}, "b": {{...}}}}, each with {", ".join([*metas(m.item)][1:4])}'
        if m.form == "choice":
            return f'"{next(iter(m.options))}"'
        return f'"... {self.unit}"' if self.unit != "1" else "..."

    def entry(self) -> str:
        """Its entry in the documentation: title, default, range, hint."""
        m = self.meta
        unit = self.unit
        if m.form == "choice":
            unit = "{" + ", ".join(m.options) + "}"
        elif m.form == "mapping" and m.kind is not None:
            unit = f"table of {unit_label(m.kind) or 'numbers'}"
        head = f"{self.name} : {unit}" + (f", default {self.default}" if self.default else
                                          "" if self.required else ", optional")
        says = [m.title.rstrip(".") + "."]
        if m.possible_text():
            says.append(f"Allowed {m.possible_text()}" + (f", usual {m.usual_text()}." if m.usual_text() else "."))
        if m.hint:
            says.append(m.hint.rstrip(".") + ".")
        if len(self.ids) == 1 and "." in self.ids[0]:
            says.append(f"Key {self.ids[0]}.")
        body = textwrap.fill(" ".join(says), 100, initial_indent="    ", subsequent_indent="    ",
                             break_long_words=False, break_on_hyphens=False)
        return "\n".join([*textwrap.wrap(head, 104, subsequent_indent="        "), body])


class _Default(str):
    """A default in a signature: shown as it is written."""

    def __repr__(self) -> str:
        return f"'{self}'" if self else "None"


def calculation(title: str, *, own: Mapping[str, type[Section]] | None = None, keys: Iterable[str] = (),
                shows: Iterable[str] = (), needs: Mapping[str, str] | None = None,
                base: Mapping[str, str] | None = None, requires: Iterable[str] = (), omits: Iterable[str] = (),
                water_checks: str = "given") -> Callable[[Callable[[Inputs], Any]], Any]:
    """Make a stand-alone calculation of a function of inputs.

    Parameters
    ----------
    title : str
        Heading of the result.
    own : mapping of str to section class
        Arguments that are no keys of the design, by the id they stand at.
    keys : iterable of str
        Keys of the design that are arguments, as ``filters.rate_limit``, or under another name as
        ``salinity=water.sea_salinity``; one name may set several, joined by ``+``.
    shows : iterable of str
        Ids of the values that head the result; those that are not there are passed over.
    needs : mapping of id to str, optional
        Keys that are so in this calculation unless they are written, whatever a design says.
    base : mapping of id to str, optional
        Keys that are so unless they are written or a design is given.
    requires : iterable of str
        Arguments that must be given unless a design is.
    omits : iterable of str
        Keys of its own sections that are no arguments.
    water_checks : {"given", "always", "never"}
        When checks of the water are shown: where an analysis is given, or in any case, or not at all.

    Returns
    -------
    callable
        The decorator; what it gives has the arguments of the schema in its signature and documentation.
    """
    def make(body: Callable[[Inputs], Any]) -> Any:
        one = Calculation(body, title, dict(own or {}), tuple(keys), tuple(shows), dict(needs or {}), dict(base or {}),
                          frozenset(requires), frozenset(omits), water_checks)

        def run(*args: Any, also: Mapping[str, Any] | None = None, design: Design | None = None,
                **given: Any) -> Result:
            if args:
                raise DesignError("takes its arguments by name", where=f"calc.{one.name}",
                                  do=f"call {one.name}({next(iter(one.arguments))}=...)")
            return one(given, also, design)

        run.__name__ = run.__qualname__ = body.__name__
        run.__module__ = "desalbook.calc"
        run.__doc__ = one.documentation
        run.__signature__ = one.signature  # pyright: ignore[reportFunctionMemberAccess]
        run.calculation = one  # pyright: ignore[reportFunctionMemberAccess]
        return run
    return make


class Calculation:
    """One stand-alone calculation; see `calculation` for its parts."""

    def __init__(self, body: Callable[[Inputs], Any], title: str, own: dict[str, type[Section]],
                 keys: tuple[str, ...], shows: tuple[str, ...], needs: dict[str, str], base: dict[str, str],
                 requires: frozenset[str], omits: frozenset[str], water_checks: str):
        self.body, self.title, self.own, self.shows, self.water_checks = body, title, own, shows, water_checks
        self.name = body.__name__
        self.needs, self.base, self.requires, self.omits, self._keys = needs, base, requires, omits, keys

    @cached_property
    def arguments(self) -> dict[str, Argument]:
        """Its arguments by name, those it must have first."""
        found: dict[str, Argument] = {}
        for prefix, cls in self.own.items():
            for key, m in metas(cls).items():
                if m.form != "text" and key not in self.omits:  # names and notes of entries of a list are none
                    found[key] = Argument(key, (f"{prefix}.{key}",), m, m.default_text, m.required)
        for entry in self._keys:
            name, _, ids = entry.rpartition("=")
            every: tuple[str, ...] = tuple(ids.split("+"))
            m = field_meta(every[0])
            default = (self.needs | self.base | _SEA).get(every[0], m.default_text)
            if len(every) > 1:  # one value in place of several: the middle one says what is assumed
                m = field_meta([*every][len(every) // 2])
                default = m.default_text
            name = name or ids.rpartition(".")[2]
            if name in found:
                raise ValueError(f"{self.name}: two arguments are called {name}")
            must = name in self.requires
            found[name] = Argument(name, every, m, "" if must else default, must)
        return dict(sorted(found.items(), key=lambda kv: not kv[1].required))

    @cached_property
    def signature(self) -> inspect.Signature:
        """Its arguments with unit and default."""
        named = [inspect.Parameter(a.name, inspect.Parameter.KEYWORD_ONLY, annotation=a.unit,
                                   default=inspect.Parameter.empty if a.required else _Default(a.default))
                 for a in self.arguments.values()]
        more = [inspect.Parameter(name, inspect.Parameter.KEYWORD_ONLY, default=None) for name in ("also", "design")]
        return inspect.Signature([*named, *more])

    @cached_property
    def documentation(self) -> str:
        """What the author wrote, then each argument by the schema."""
        entries = [a.entry() for a in self.arguments.values()]
        entries.append("also : mapping, optional\n    Any other key of the design file and its value, such as "
                       '{"filters.diameter": "2 m"}.')
        entries.append("design : Design, optional\n    Gives what is not stated here, in place of the defaults.")
        shown = ", ".join(self.shows)
        shown = textwrap.fill(f"Values by id, among them {shown}; checks; trail; tables.", 100, initial_indent="    ",
                              subsequent_indent="    ", break_long_words=False, break_on_hyphens=False)
        return "\n".join([
            inspect.cleandoc(self.body.__doc__ or ""), "", "Parameters", "----------",
            "Each takes a text with its unit, a pint Quantity or a value of another calculation; a bare number only",
            "where the quantity has no unit.", "", *entries, "", "Returns", "-------", "Result", shown])

    def __call__(self, given: Mapping[str, Any], also: Mapping[str, Any] | None, design: Design | None) -> Result:
        arguments = self.arguments
        values: dict[str, Any] = {}
        for name, value in given.items():
            if name not in arguments:
                raise DesignError("unknown argument", where=f"{self.name}({name})",
                                  do=_known(name, arguments, self.name))
            if value is None:
                continue
            a = arguments[name]
            text = written(a.meta, value, name)
            for id in a.ids:
                values[id] = text
        for id, value in (also or {}).items():
            values[id] = written(_meta_of(id), value, id)
        for a in self.arguments.values():
            if a.required and not any(id in values for id in a.ids) and (design is None or a.meta.required):
                raise DesignError("must be given", where=f"{self.name}({a.name})", allowed=a.meta.possible_text(),
                                  do=f"pass {a.name}={a.example} ({a.meta.title})")
        own = self._own(values)
        stated = {id: x for id, x in values.items() if not any(id.startswith(f"{p}.") and id[len(p) + 1:] in metas(cls)
                                                              for p, cls in self.own.items())}
        assumed = {id: x for id, x in (self.needs if design is not None else self._without_design(stated)).items()
                   if id not in stated}
        whole = self._design(stated, assumed, design)
        calculate = _Run(self, whole, own, assumed, design is None and _LACKING.keys() - stated.keys())
        book = Values()
        calculate(book)
        return Result(self, whole, book, calculate, values)

    def _without_design(self, stated: Mapping[str, Any]) -> dict[str, str]:
        water = any(f"water.{way}" in stated for way in ("ions", "analyses", "sea_salinity"))
        lacking = {} if "duty.product_flow" in stated else _LACKING
        return lacking | ({} if water else _SEA) | self.base | self.needs

    def _own(self, values: Mapping[str, Any]) -> dict[str, tuple[Section, dict[str, Any]]]:
        found = {}
        for prefix, cls in self.own.items():
            mine = {key: values[f"{prefix}.{key}"] for key in metas(cls) if f"{prefix}.{key}" in values}
            found[prefix] = (validate(cls, mine, prefix), mine)
        return found

    def _design(self, stated: Mapping[str, Any], assumed: Mapping[str, str], design: Design | None) -> Design:
        if design is not None:
            return design.with_values({**assumed, **stated}) if assumed or stated else design
        tree: dict[str, Any] = {"format": 1}
        inside = {id: x for id, x in stated.items() if "[" in id}
        for id, x in (dict(assumed) | {id: x for id, x in stated.items() if id not in inside}).items():
            *parts, last = id.split(".")
            here = tree
            for part in parts:
                here = here.setdefault(part, {})
            here[last] = x
        made = from_text(tomlkit.dumps(tree))
        return made.with_values(inside) if inside else made


class _Run:
    """One calculation on its inputs, in whatever book is handed to it; the same each time."""

    def __init__(self, of: Calculation, design: Design, own: Mapping[str, tuple[Section, dict[str, Any]]],
                 assumed: Mapping[str, str], lacking: Any):
        self.of, self.design, self.own = of, design, own
        self.written: dict[str, Any] = {k: dict(v) if isinstance(v, Mapping) else v for k, v in design.written.items()}
        self.lacking = {id: f"give it in also={{{id!r}: {_LACKING[id]!r}}}" for id in lacking or ()}
        for id in assumed:  # what stands in the text only so that it reads was written by nobody
            here: Any = self.written
            *parts, last = id.split(".")
            for part in parts:
                here = here.get(part, {})
            here.pop(last, None)
        for prefix, (_, mine) in own.items():
            self.written[prefix] = {**self.written.get(prefix, {}), **mine}

    def __call__(self, book: Ledger | Values) -> None:
        # in a context of its own: what happens to be open where it is called is no part of it
        contextvars.Context().run(self._run, book)

    def _run(self, book: Ledger | Values) -> None:
        with book.recording() if isinstance(book, Ledger) else book.running():
            self.of.body(asked(self.design, {p: section for p, (section, _) in self.own.items()}, self.written,
                               self.lacking))


def _known(name: str, arguments: Iterable[str], calculation: str) -> str:
    return nearest(name, arguments).replace("remove the key", "remove it").replace(
        "Change or remove it", "change or remove it").replace("known keys are", "it takes") + (
            f'; any other key of the design goes in also={{"{calculation}...": ...}}' if "." in name else "")


def _meta_of(id: str) -> FieldMeta:
    try:
        m = field_meta(id)
    except KeyError as error:
        raise DesignError("unknown key", where=id, do=str(error.args[0])) from None
    if id.endswith("]") and m.form == "mapping":
        return m.entry(id.rpartition("[")[2][:-1])
    return m
