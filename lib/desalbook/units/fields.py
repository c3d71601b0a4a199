"""Sections of a design: frozen pydantic models whose quantities are text outside and SI inside.

A section declares each field once, with everything that a reader, a notebook control or the trail
needs of it; limits and defaults are written as people write them:

    class Filters(Section):
        count: Count = field("count", "8", title="Filters", possible=("1", "60"), usual=("3", "24"))
        depth: M = field("length.small", "800 mm", title="Media depth", possible=("100 mm", "3 m"))
        wash_rate: FiltrationRate | None = field("filtration rate", None, title="Backwash rate")

A field without default (None) is picked or not used; one with default ``...`` must be given.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from functools import cache
from types import EllipsisType, MappingProxyType
from typing import Any, ClassVar, TypeVar, cast

from pydantic import BaseModel, ConfigDict, Field, ValidationError, ValidationInfo, model_validator

from desalbook.problems import DesignError, explained
from desalbook.units.fieldmeta import EachMeta, FieldMeta, Named, Range, nearest, renamed, within
from desalbook.units.kinds import KINDS, Kind
from desalbook.units.parse import parse

__all__ = ["FieldMeta", "Named", "Section", "choice", "custom", "field", "flag", "mapping", "meta", "metas",
           "own_list", "read_list", "section", "sections", "text_field", "unusual", "validate"]

S = TypeVar("S", bound="Section")
Text = str | int | float


class _Read(dict[str, Any]):
    """Values that have passed the door; tells the model not to read them again."""


def _refusal(error: ValidationError) -> DesignError | None:
    """What our own reader refused inside pydantic, which wraps every ValueError; None for what pydantic refused."""
    own = error.errors(include_url=False)[0].get("ctx", {}).get("error")
    return own if isinstance(own, DesignError) else None


_ModelType: Any = type(BaseModel)


class _Called(_ModelType):
    """A section made by calling its class refuses as `validate` does."""

    def __call__(cls, *args: Any, **named: Any) -> Any:
        try:
            return super().__call__(*args, **named)
        except ValidationError as error:
            raise _refusal(error) or error from None


class Section(BaseModel, metaclass=_Called):
    """Base of all sections: frozen, no unknown keys, every value through the strict reader.

    ``Filters(depth="0.8 m")`` and `validate` read the same way and raise the same `DesignError`.
    """

    either: ClassVar[tuple[tuple[str, str], ...]] = ()
    """Pairs of keys that state one thing in two ways: setting one clears the other."""

    model_config = ConfigDict(frozen=True, extra="forbid", arbitrary_types_allowed=True)

    @model_validator(mode="before")
    @classmethod
    def _door(cls, data: Any, info: ValidationInfo) -> Any:
        if isinstance(data, (_Read, cls)):
            return data
        return _read(cls, data, (info.context or {}).get("where", ""))

    @model_validator(mode="after")
    def _consistent(self, info: ValidationInfo):
        self.consistent((info.context or {}).get("where", ""))
        return self

    def consistent(self, where: str) -> None:
        """Override to refuse values that exclude one another.

        Parameters
        ----------
        where : str
            Path of this section; ``f"{where}.count"`` names one of its fields.

        Raises
        ------
        DesignError
        """

    def __getitem__(self, key: str) -> Any:
        found = self.__dict__
        if key not in found:
            raise KeyError(key)
        return found[key]


def _make(meta_: FieldMeta) -> Any:
    default = ... if meta_.required else meta_.default
    return Field(default=default, title=meta_.title, description=meta_.hint or None, json_schema_extra=meta_)


def _limits(limits: tuple | None, kind: Kind, title: str) -> Range | None:
    if limits is None:
        return None
    low, high = (None if end is None else parse(end, kind, title) for end in limits)
    if low is not None and high is not None and low > high:
        raise ValueError(f"{title}: the lower limit lies above the upper one")
    return low, high


def _settled(form: str, kind: Kind | str, default: Any, title: str, possible: tuple | None,
             usual: tuple | None, **more: Any) -> FieldMeta:
    """Meta with its texts read, and the author's own slips refused when the class is made."""
    k = kind if isinstance(kind, Kind) else KINDS[kind]
    hard, soft = _limits(possible, k, title), _limits(usual, k, title)
    if hard and soft and not all(end is None or within(end, hard) for end in soft):
        raise ValueError(f"{title}: the usual range reaches outside the possible one")
    text = "" if default is None or default is ... else (str(default) if form == "quantity" else "")
    bare = FieldMeta(form, title, kind=k, possible=hard, usual=soft, required=default is ..., **more)
    value = None if default is None or default is ... else bare.read(default, title)
    return FieldMeta(form, title, kind=k, possible=hard, usual=soft, required=default is ..., default=value,
                     default_text=text, **more)


def field(kind: Kind | str, default: Text | EllipsisType | None = None, *, title: str, symbol: str = "", hint: str = "",
          possible: tuple[Text | None, Text | None] | None = None,
          usual: tuple[Text | None, Text | None] | None = None,
          source: str = "common-practice", scope: str = "plant", row: tuple[str, str] = ("", ""),
          place: str = "") -> Any:
    """A quantity: text outside, SI float inside.

    Parameters
    ----------
    kind : Kind or str
        What the number means.
    default : str, None or ...
        As people write it (``"45 %"``); None: not given, picked or not used; ``...``: must be given.
    title, symbol, hint : str
        Words for people.
    possible : (str or None, str or None), optional
        Refused outside of it.
    usual : (str or None, str or None), optional
        A caution outside of it.
    source : str
        Key in the bibliography for default and ranges.
    scope : str
        Of what one the value is: plant, train, unit, vessel, element.
    row : (str, str), optional
        Table and row the default was read from, by `desalbook.tables.row_field`; `place` says where in the source.
    """
    return _make(_settled("quantity", kind, default, title, possible, usual, symbol=symbol, hint=hint,
                          source=source, scope=scope, row=row, place=place))


def mapping(kind: Kind | str, keys: Sequence[str] = (),
            default: Mapping[str, Text] | EllipsisType | None = None, *, title: str, symbol: str = "",
            hint: str = "", possible: tuple | None = None, usual: tuple | None = None,
            source: str = "common-practice", scope: str = "plant") -> Any:
    """Named quantities of one kind, ``ions = { Na = "11100 mg/L" }``; annotate the field `Named`.

    Parameters
    ----------
    keys : sequence of str
        The names that are allowed; empty allows any.
    default : mapping, None or ...
        As for `field`; ``{}`` is an empty mapping.
    """
    return _make(_settled("mapping", kind, default, title, possible, usual, symbol=symbol, hint=hint,
                          source=source, scope=scope, keys=tuple(keys)))


def each(kind: Kind | str, keys: Sequence[str] = (), *, title: str, symbol: str = "", hint: str = "",
         possible: tuple | None = None, kinds: Mapping[str, Kind | str] | None = None, scope: str = "plant") -> Any:
    """Named quantities of which each is a line of its own, ``cable = { feed_pump = "35 mm2" }``; none by default.

    Parameters
    ----------
    keys : sequence of str
        The names that are allowed; empty allows any.
    kinds : mapping, optional
        Kind of each name where they differ.
    """
    bare = _settled("mapping", kind, {}, title, possible, None, symbol=symbol, hint=hint, source="definition",
                    scope=scope, keys=tuple(keys))
    own = {name: k if isinstance(k, Kind) else KINDS[k] for name, k in (kinds or {}).items()}
    return _make(EachMeta(**{f.name: getattr(bare, f.name) for f in dataclasses.fields(FieldMeta)},
                          kinds=MappingProxyType(own)))


def custom(meta_: FieldMeta) -> Any:
    """A field of a form of its own: `meta_` is a subclass of `FieldMeta` that reads its value itself."""
    return _make(meta_)


def choice(options: Mapping[str, str], default: str | EllipsisType | None = None, *, title: str, hint: str = "",
           source: str = "common-practice", symbol: str = "", scope: str = "plant", own: str = "") -> Any:
    """One of several keys, each with its plain words; the value is the key. A view of a table's rows stays a view.

    `own` names a list of the design file whose entries may be chosen as well.
    """
    return _simple("choice", default, title, hint, source, symbol=symbol, scope=scope,
                   options=MappingProxyType(options), own=own)


def text_field(default: str | EllipsisType | None = "", *, title: str, hint: str = "", max_length: int = 200,
               source: str = "", scope: str = "plant") -> Any:
    """One plain line of text."""
    return _simple("text", default, title, hint, source, scope=scope, max_length=max_length)


def flag(default: bool | None = False, *, title: str, hint: str = "", source: str = "common-practice",
         scope: str = "plant") -> Any:
    """Yes or no."""
    return _simple("flag", default, title, hint, source, scope=scope)


def _simple(form: str, default: Any, title: str, hint: str, source: str, **more: Any) -> Any:
    required = default is ...
    bare = FieldMeta(form, title, hint=hint, source=source, required=required, **more)
    if default is None or required:
        return _make(bare)
    shown = default if isinstance(default, str) else str(default).lower()
    return _make(FieldMeta(form, title, hint=hint, source=source, default=bare.read(default, title),
                           default_text=shown, **more))


def section(item: type[Section], default: Any = ..., *, title: str, hint: str = "",
            scope: str = "plant") -> Any:
    """A section inside a section.

    Parameters
    ----------
    default : mapping, None or ...
        Texts of the default; None makes the section optional; if omitted, the section stands with
        its own defaults, or must be given if one of its fields must.
    """
    if default is ...:
        required = any(m.required for m in metas(item).values())
        value = None if required else item()
    else:
        required, value = False, None if default is None else validate(item, default, title)
    return _make(FieldMeta("section", title, hint=hint, scope=scope, item=item, required=required,
                           default=value))


def sections(item: type[Section], default: Any = (), *, title: str, key: str = "name", hint: str = "",
             source: str = "common-practice", scope: str = "plant") -> Any:
    """A list of sections, each named by its field `key`; annotate ``tuple[Item, ...]``.

    Parameters
    ----------
    default : sequence of mappings, None or ...
        As for `field`.
    """
    if key not in metas(item):
        raise ValueError(f"{title}: {item.__name__} has no field {key!r}")
    bare = FieldMeta("sections", title, hint=hint, source=source, scope=scope, item=item, key=key,
                     required=default is ...)
    if default is None or default is ...:
        return _make(bare)
    return _make(FieldMeta("sections", title, hint=hint, source=source, scope=scope, item=item, key=key,
                           default=_list(bare, default, title)))


def own_list(item: type[Section], *, title: str, key: str = "name", hint: str = "") -> FieldMeta:
    """A list of sections at the top of a design file, ``[[elements]]``, each named by its field `key`."""
    if key not in metas(item):
        raise ValueError(f"{title}: {item.__name__} has no field {key!r}")
    return FieldMeta("sections", title, hint=hint, item=item, key=key, default=())


def read_list(m: FieldMeta, raw: Any, at: str) -> tuple[Any, ...]:
    """The sections of a list from what stands in a file.

    Raises
    ------
    DesignError
        The first problem, at its own entry.
    """
    return _list(m, raw, at)


def metas(cls: type[Section]) -> dict[str, FieldMeta]:
    """Every field of a section that was declared with a maker of this module, in order."""
    return dict(_metas(cls))


@cache
def _metas(cls: type[Section]) -> dict[str, FieldMeta]:
    return {key: info.json_schema_extra for key, info in cls.model_fields.items()
            if isinstance(info.json_schema_extra, FieldMeta)}


def meta(cls: type[Section], path: str) -> FieldMeta:
    """Meta of one field; a dotted path goes into sections and lists: ``layers[sand].depth``.

    Raises
    ------
    KeyError
        Unknown field.
    """
    head, _, rest = path.partition(".")
    found = _metas(cls).get(head.partition("[")[0])
    if found is None:
        raise KeyError(f"{cls.__name__} has no field {head!r}")
    if not rest:
        return found
    if found.item is None:
        raise KeyError(f"{cls.__name__}.{head} holds no section")
    return meta(found.item, rest)


def validate(cls: type[S], given: Mapping[str, Any], where: str = "") -> S:
    """A section from what stands in a file.

    Parameters
    ----------
    cls : type
        The section class.
    given : mapping
        Keys and values as TOML gives them.
    where : str
        Path of this section, for the messages.

    Raises
    ------
    DesignError
        The first problem, in the order of the keys as given; then a missing key.
    """
    values = _read(cls, given, where)
    try:
        return cls.model_validate(values, context={"where": where})
    except ValidationError as error:
        own = _refusal(error)
        if own is not None:
            raise own from None
        first = error.errors(include_url=False)[0]
        at = _join(where, ".".join(str(part) for part in first["loc"]))
        raise DesignError(first["msg"].lower(), where=at, value=first.get("input"),
                          do="correct or remove the key") from None


def _join(where: str, key: str) -> str:
    return f"{where}.{key}" if where and key else where or key


def _read(cls: type[Section], given: Any, where: str) -> _Read:
    if not isinstance(given, Mapping):
        raise DesignError("not a table of keys and values", where=where or cls.__name__, value=given,
                          do="enter a table here")
    known, values = _metas(cls), _Read()
    for key, raw in given.items():
        at = _join(where, str(key))
        if key not in cls.model_fields:
            raise DesignError("unknown key", where=at,
                              do=renamed(at) or explained(at) or nearest(key, cls.model_fields))
        m = known.get(key)
        values[key] = raw if m is None else _value(m, raw, at)
    for key, m in known.items():
        if m.required and key not in values:
            example = m.possible_text()
            raise DesignError("must be given", where=_join(where, key), allowed=example,
                              do=f"set {key} ({m.title})")
    return values


def _value(m: FieldMeta, raw: Any, at: str) -> Any:
    if raw is None and m.optional:
        return None
    if m.form == "section":
        return raw if isinstance(raw, m.item) else validate(m.item, cast(Any, raw), at)
    if m.form == "sections":
        return _list(m, raw, at)
    return m.read(raw, at)


def _list(m: FieldMeta, raw: Any, at: str) -> tuple[Section, ...]:
    if isinstance(raw, (str, Mapping)) or not isinstance(raw, Sequence):
        raise DesignError("not a list of tables", where=at, value=raw,
                          do=f"put [[{at}]] before each of them")
    made: dict[str, Section] = {}
    for position, one in enumerate(raw, start=1):
        if isinstance(one, m.item):
            name = str(one[m.key])
        elif isinstance(one, Mapping):
            name = m.item_key(one, position, at)
            one = validate(m.item, one, f"{at}[{name}]")
        else:
            raise DesignError("not a table of keys and values", where=f"{at}[{position}]", value=one,
                              do="enter a table here")
        if name in made:
            raise DesignError("the name is given twice", where=f"{at}[{name}]",
                              do="give each a name of its own")
        made[name] = one
    return tuple(made.values())


def unusual(given: Section, where: str = "") -> list[tuple[str, str]]:
    """Cautions for all values outside their usual range: pairs of path and sentence."""
    found: list[tuple[str, str]] = []
    for key, m in _metas(type(given)).items():
        value, at = getattr(given, key), _join(where, key)
        if value is None:
            continue
        if m.form == "quantity":
            found += [(at, caution)] if (caution := m.unusual(value)) else []
        elif m.form == "mapping":
            found += [(f"{at}[{k}]", caution) for k, v in value.items() if (caution := m.entry(k, value).unusual(v))]
        elif m.form == "section":
            found += unusual(value, at)
        elif m.form == "sections":
            for one in value:
                found += unusual(one, f"{at}[{one[m.key]}]")
    return found
