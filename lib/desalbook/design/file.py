"""The design file: its text is the state; every change edits the text and reads it again, whole."""

from __future__ import annotations

import contextlib
import hashlib
import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from html import escape
from pathlib import Path
from types import MappingProxyType
from typing import Any

import tomlkit

from desalbook.design import edit, typed
from desalbook.design.place import line_of
from desalbook.design.sections import LISTS, SECTIONS, field_meta, key_field, own_limit, split
from desalbook.problems import DesignError, explained
from desalbook.trail import Choice, Figure
from desalbook.units import FieldMeta, Section, metas, read_list, validate
from desalbook.units.fieldmeta import nearest, renamed

__all__ = ["FORMAT", "LARGEST", "Design", "digest", "from_mapping", "from_text", "load", "place_of", "read",
           "texts_of"]

FORMAT = 1
LARGEST = 1_000_000
"""Bytes; a design file is some kilobytes."""


def digest(text: str) -> str:
    """SHA-256 of a text in UTF-8, hexadecimal."""
    return hashlib.sha256(text.encode("utf-8")).hexdigest()


def load(path: Path) -> str:
    """The text of a file, or a DesignError in one line."""
    try:
        with open(path, "rb") as file:
            data = file.read(LARGEST + 1)
    except FileNotFoundError:
        raise DesignError("no such file", where=path.name, do="check the name and the folder") from None
    except IsADirectoryError:
        raise DesignError("a folder, not a file", where=path.name or str(path), do="name the file in it") from None
    except (OSError, ValueError) as error:
        said = getattr(error, "strerror", None) or "not a file name"
        raise DesignError(
            f"cannot be read: {said.lower()}", where=path.name, do="check the file name and permissions"
        ) from None
    if len(data) > LARGEST:
        raise DesignError(
            "too large for a design file",
            where=path.name,
            allowed=f"up to {LARGEST // 1000} kB",
            do="check that this is the file you mean",
        )
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise DesignError(
            "not UTF-8 text", where=f"{path.name}, line {line}", do="save the file as UTF-8"
        ) from None


@dataclass(frozen=True, eq=False)
class Design:
    """A valid design file.

    Parameters
    ----------
    text : str
        The file, as it stands or would stand on disk.
    path : Path or None
        Where it was read.
    hash : str
        SHA-256 of the text in UTF-8, hexadecimal.
    sections : mapping of str to Section
        Every section, with defaults where the file says nothing.
    written : mapping
        Only what the file says, as TOML gives it.
    lists : mapping of str to tuple of Section
        Sheets of the design's own by list, ``elements`` for one; empty where the file has none.
    ancestors : tuple of str
        Hashes of the texts this one was edited from; a file on disk that is one of them holds nothing
        that would be lost.
    """

    text: str
    path: Path | None
    hash: str
    sections: Mapping[str, Section]
    written: Mapping[str, Any] = field(repr=False)
    ancestors: tuple[str, ...] = field(default=(), repr=False)
    lists: Mapping[str, tuple[Section, ...]] = field(default_factory=dict)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Design) and other.text == self.text

    def __hash__(self) -> int:
        return hash(self.hash)

    def __repr__(self) -> str:
        return f"<Design {self.path.name if self.path else 'without file'}, {self.hash[:8]}>"

    def __reduce__(self) -> tuple[Any, ...]:
        """By its text, which is read again: no design that is not valid comes out of a pickle."""
        return _unpickled, (self.text, self.path, self.ancestors)

    def __copy__(self) -> Design:
        return self  # nothing in it can be written to

    def __deepcopy__(self, memo: Any) -> Design:
        return self

    def get(self, id: str) -> Any:
        """SI value, key of a choice, text, or section that stands at an id; None when optional and not set.

        Raises
        ------
        DesignError
            When there is no such key, or no such entry in a list.
        """
        _known(id)
        value: Any = self.lists if split(id)[0][0] in LISTS else self.sections
        path = ""
        for name, key in split(id):
            path = f"{path}.{name}" if path else name
            value = None if value is None else value[name]
            if key is None or value is None:
                continue
            if isinstance(value, Mapping):
                value = value.get(key)
            else:
                named = {str(one[key_field(path)]): one for one in value}
                if key not in named:
                    raise DesignError("no such entry", where=id, do=nearest(key, named))
                value = named[key]
            path = f"{path}[{key}]"
        return value

    def names(self, id: str) -> tuple[str, ...]:
        """Names of the entries of a list, in their order; none where the section or the list is blank."""
        value: Any = self.lists.get(id, ()) if id in LISTS else self.get(id)
        return tuple(str(one[key_field(id)]) for one in value or ())

    def meta(self, id: str) -> FieldMeta:
        """What the schema knows of a key, with the design's own sheets among the choices.

        Raises
        ------
        KeyError
            No such key.
        """
        m = field_meta(id)
        return m.with_own(self.names(m.own)) if m.own else m

    def stated(self, id: str, units: str = "si") -> str:
        """An entry as it was stated, basis and all (``118 mg/L as CaCO3``); empty where its kind says it already."""
        if not id.endswith("]"):  # asked of every value that is shown
            return ""
        try:
            m, (_, name) = field_meta(id), split(id)[-1]
        except KeyError:
            return ""
        return m.stated(name, self.get(id.rpartition("[")[0]), units) if name and m.form == "mapping" else ""

    def stands(self, id: str) -> bool:
        """Whether the file itself says it."""
        here: Any = self.written
        path = ""
        for name, key in split(id):
            path = f"{path}.{name}" if path else name
            here = edit.step(here, name, key, key_field(path))
            if here is None:
                return False
            path = f"{path}[{key}]" if key is not None else path
        return True

    def with_value(self, id: str, value: Any) -> Design:
        """The design with one key written, comments kept.

        Parameters
        ----------
        id : str
            ``filters.count``, ``filters.layers[sand].depth``, ``water.ions[Na]``; or a whole table or list,
            ``water.ions``.
        value : str, Quantity, Figure, bool, number, mapping, or list of mappings
            As people write it; a bare number only where the quantity has no unit.

        Raises
        ------
        DesignError
            No such key, a value that cannot be converted or is not possible.
        """
        return self.with_values({id: value})

    def with_values(self, values: Mapping[str, Any], without: Iterable[str] = ()) -> Design:
        """As `with_value`, for several keys that make sense together only; those ``without`` are removed first.

        A key that states the same as one of ``values`` in another way gives way to it.
        """
        gone = tuple(without)
        for id in (*values, *gone):
            _known(id)
        gone = (*gone, *(x for id in values for x in self._instead(id) if x not in values and x not in gone))
        texts = {id: typed.written(self._entry_meta(id), value, id) for id, value in values.items()}
        text = self.text
        for id in gone:
            text = edit.drop(text, id)
        return self._edited(edit.put(text, texts, self.get))

    def _instead(self, id: str) -> tuple[str, ...]:
        """Keys in the file that state the same as this one in another way."""
        section, _, name = id.partition(".")
        pairs = SECTIONS[section].either if section in SECTIONS else ()
        return tuple(f"{section}.{x}" for pair in pairs if name in pair for x in pair
                     if x != name and self.stands(f"{section}.{x}"))

    def _entry_meta(self, id: str) -> FieldMeta:
        m = self.meta(id)
        _, bracket, name = id.removesuffix("]").rpartition("[")
        return m.entry(name) if bracket and id.endswith("]") and m.form == "mapping" else m

    def __getitem__(self, id: str) -> Any:
        """What stands at a key, with its unit: ``design["membrane.recovery"].to("%")``.

        Returns
        -------
        Figure, Choice, bool, str, dict of Figure, section or tuple of sections
            None where the key is optional and blank.

        Raises
        ------
        DesignError
            No such key; of a calculated value it says which keys set it.
        """
        if id in self.sections:
            return self.sections[id]
        value, m = self.get(id), self._entry_meta(id)
        if value is None:
            return None
        if m.form == "mapping":
            return {name: Figure(x, id=id, kind=one.kind, symbol=m.symbol, title=one.title, key=name)
                    for name, x in value.items() if (one := m.entry(name, value)).kind is not None}
        if m.form == "quantity" and m.kind is not None:
            return Figure(value, id=id, kind=m.kind, symbol=m.symbol, title=m.title)
        return Choice(value, id=id, title=m.title) if m.form == "choice" else value

    def keys(self) -> list[str]:
        """Every key of the design that takes one value, in the order of the file."""
        found: list[str] = []
        for name, section in self.sections.items():
            _keys(name, section, found)
        for name, rows in self.lists.items():
            for one in rows:
                _keys(f"{name}[{one[LISTS[name].key]}]", one, found)
        return found

    def __iter__(self) -> Iterator[str]:
        return iter(self.keys())

    def __contains__(self, id: object) -> bool:
        try:
            self.get(str(id))
        except (DesignError, KeyError):
            return False
        return True

    def _ipython_key_completions_(self) -> list[str]:
        return [*self.sections, *self.keys()]

    def _repr_html_(self) -> str:
        rows = []
        for id in self.keys():
            if not self.stands(id):
                continue
            value, m = self[id], self._entry_meta(id)
            shown = self.stated(id) or (value.show() if isinstance(value, Figure) else str(m.options.get(value, value)))
            rows.append(f"<tr><td>{escape(m.title)}</td><td>{escape(shown)}</td><td><code>{escape(id)}</code></td></tr>")
        name = self.path.name if self.path else "Design"
        return (f"<table><caption>{escape(name)}: what is given; all else is assumed or selected</caption><thead><tr>"
                f"<th>Quantity</th><th>Value</th><th>Key</th></tr></thead><tbody>{''.join(rows)}</tbody></table>")

    def with_entries(self, id: str, entries: Mapping[str, Mapping[str, Any]], after: str = "") -> Design:
        """The design with entries added to a list, or with an optional section that was not there.

        Parameters
        ----------
        id : str
            ``membrane.stages``, ``elements``; ``membrane.second_pass`` of a section.
        entries : mapping of name to mapping of key to value
            Values as people write them; of a section one entry, whose name is passed over.
        after : str
            The entry of the list that they follow; the last one if blank.

        Raises
        ------
        DesignError
            No such list, a name that is taken, a value that is not possible.
        """
        listed = id in LISTS
        if not listed:
            _known(id)
        for name in entries if listed or field_meta(id).form == "sections" else ():
            if not re.fullmatch(r"[A-Za-z0-9_-]{1,60}", name):
                raise DesignError("not a name of an entry", where=id, value=name,
                                  allowed="letters, digits, - and _", do="give another name")
        return self._edited(edit.add(self.text, id, entries, self.get, after))

    def without(self, id: str) -> Design:
        """The design with one key removed, so that its default, or a pick, takes over; or without an entry of a list.

        A list that is filled in by default is written out whole before one of its entries goes.
        """
        _known(id)
        many, bracket, _ = id.rpartition("[")
        text = self.text
        listed = bracket and id.endswith("]") and (many in LISTS or field_meta(many).form == "sections")
        if listed and not self.stands(id):
            text = edit.add(text, many, {}, self.get)
        return self._edited(edit.drop(text, id))

    def _edited(self, text: str) -> Design:
        return from_text(text, self.path, ancestors=(*self.ancestors, self.hash))


def _keys(at: str, section: Section, found: list[str]) -> None:
    for name, m in metas(type(section)).items():
        id, value = f"{at}.{name}", section[name]
        if m.form == "section":
            if value is not None:
                _keys(id, value, found)
        elif m.form == "sections":
            for one in value or ():
                _keys(f"{id}[{one[m.key]}]", one, found)
        elif m.form == "mapping" and value:
            found += [f"{id}[{key}]" for key in value]
        else:
            found.append(id)


def _unpickled(text: str, path: Path | None, ancestors: tuple[str, ...]) -> Design:
    return from_text(text, path, ancestors=ancestors)


def _known(id: str) -> None:
    try:
        field_meta(id)
    except KeyError as error:
        raise DesignError("unknown key", where=id, do=explained(id) or str(error.args[0])) from None


def read(path: str | Path) -> Design:
    """Read and validate a design file.

    Raises
    ------
    DesignError
        One plain line: not found, not readable, not UTF-8, not TOML, newer format, unknown key,
        impossible value. What is wrong with a key names its line in the file.
    """
    path = Path(path)
    text = load(path)
    try:
        return from_text(text, path)
    except DesignError as problem:
        with contextlib.suppress(ValueError, RecursionError):  # not TOML: its own refusal names the line
            if line := line_of(text, tomllib.loads(text), problem.where):
                problem.place = f"{path.name}, line {line}"
        raise


def place_of(design: Design, id: str) -> str:
    """File and line of a key of a design that is as it was read; empty for one that is in no file or was edited."""
    if design.path is None or design.ancestors:
        return ""
    line = line_of(design.text, design.written, id)
    return f"{design.path.name}, line {line}" if line else design.path.name


def from_text(text: str, path: str | Path | None = None, *, ancestors: tuple[str, ...] = ()) -> Design:
    """Validate the text of a design file.

    Parameters
    ----------
    path : str or Path, optional
        Where it belongs; for messages.
    """
    where = Path(path).name if path is not None else "design"
    _bounded(text, where)
    try:
        written = tomllib.loads(text)
    except (ValueError, RecursionError) as error:  # not TOML, a number of thousands of digits, nested too deep
        raise _syntax(text, error, where) from None
    _head(written, where)
    for name, value in written.items():
        if name in ("format", "kit"):
            continue
        if name not in SECTIONS and name not in LISTS:
            raise DesignError(
                "unknown section" if isinstance(value, dict) else "unknown key",
                where=name,
                do=renamed(name) or nearest(name, [*SECTIONS, *LISTS]),
            )
    own = written.get("limits", {})
    validate(SECTIONS["limits"], own, "limits")  # first, for other sections take what it says
    sections = {name: _limited(cls, name, written.get(name, {}), own) for name, cls in SECTIONS.items()}
    lists = {name: read_list(m, written.get(name, ()), name) for name, m in LISTS.items()}
    _own_names(lists, sections)
    return Design(
        text,
        Path(path) if path is not None else None,
        digest(text),
        MappingProxyType(sections),
        MappingProxyType(written),
        ancestors,
        MappingProxyType(lists),
    )


def _choices(at: str, section: Section) -> Iterator[tuple[str, FieldMeta, str]]:
    """Every choice among the kit's rows and the design's own sheets: id, meta, key chosen."""
    for key, m in metas(type(section)).items():
        value, id = section[key], f"{at}.{key}"
        if m.form == "section" and value is not None:
            yield from _choices(id, value)
        elif m.form == "sections":
            for one in value or ():
                yield from _choices(f"{id}[{one[m.key]}]", one)
        elif m.own and value is not None:
            yield id, m, value


def _own_names(lists: Mapping[str, tuple[Section, ...]], sections: Mapping[str, Section]) -> None:
    """A choice must be a row of the kit or a sheet of the design, and no sheet may bear the name of a row."""
    own = {name: [str(one[LISTS[name].key]) for one in rows] for name, rows in lists.items()}
    for name, section in sections.items():
        for id, m, value in _choices(name, section):
            taken = next((one for one in own[m.own] if one in m.options), None)
            if taken is not None:
                raise DesignError("a row of the kit has this name", where=f"{m.own}[{taken}]", value=taken,
                                  do="give the sheet a name of its own")
            m.with_own(own[m.own]).chosen(value, id)


def _limited(cls: type[Section], name: str, written: Any, own: Mapping[str, Any]) -> Section:
    """A section: a key left blank takes the limit the design states for the row of its default."""
    if not own or not isinstance(written, Mapping):
        return validate(cls, written, name)
    by = {key: id for key, m in metas(cls).items() if key not in written and (id := own_limit(m, own))}
    stated = {key: own[id.partition(".")[2]] for key, id in by.items()}
    try:
        return validate(cls, {**written, **stated}, name)
    except DesignError as problem:
        id = by.get(problem.where.removeprefix(f"{name}."), "")
        if not id:
            raise
        raise DesignError(problem.what, where=id, value=problem.value, allowed=problem.allowed,
                          do="enter a value in that range, or clear the limit") from None


def from_mapping(values: Mapping[str, Any]) -> Design:
    """A design from sections of keys, or from keys by id; values as people hold them in Python.

    Parameters
    ----------
    values : mapping
        ``{"duty": {"train_product_flow": Q(2400, "m**3/day")}}`` or ``{"duty.train_product_flow": "2400 m3/d"}``.

    Raises
    ------
    DesignError
        As of a file.
    """
    tree: dict[str, Any] = {"format": values.get("format", FORMAT)}
    inside: dict[str, Any] = {}
    for name, value in values.items():
        if name in ("format", "kit"):
            tree[name] = value
        elif name in LISTS:
            tree[name] = typed.written(LISTS[name], value, name)
        elif name in SECTIONS:
            if not isinstance(value, Mapping):
                raise DesignError("not a table of keys and values", where=name, value=value, do="give a dictionary")
            known = metas(SECTIONS[name])
            for key, one in value.items():
                if key in known and known[key].form == "section":
                    tree.setdefault(name, {})[key] = {
                        k: typed.written(m, x, f"{name}.{key}.{k}") if (m := metas(known[key].item).get(k)) else x
                        for k, x in dict(one).items()}
                else:  # an unknown key is refused where the text is read
                    tree.setdefault(name, {})[key] = typed.written(
                        known[key], one, f"{name}.{key}") if key in known else one
        elif "." in name:
            _known(name)
            at, _, key = name.partition(".")
            if "[" in name or "." in key:
                inside[name] = value
            else:
                tree.setdefault(at, {})[key] = typed.written(field_meta(name), value, name)
        else:
            raise DesignError("unknown section", where=name, do=renamed(name) or nearest(name, SECTIONS))
    made = from_text(tomlkit.dumps(tree))
    return made.with_values(inside) if inside else made


def texts_of(design: Design, id: str, values: Any) -> list[Any]:
    """Values of a key as the design file would hold them; see `typed.several`."""
    _known(id)
    return typed.several(design._entry_meta(id), values, id)


def _head(written: dict[str, Any], where: str) -> None:
    if "format" not in written:
        raise DesignError(
            "the file does not say its format", where=where, do=f"set format = {FORMAT} at its top"
        )
    found = written["format"]
    if type(found) is not int or found < 1:
        raise DesignError(
            "not a format number",
            where="format",
            value=found,
            allowed=str(FORMAT),
            do=f"set format = {FORMAT}",
        )
    if found > FORMAT:
        raise DesignError(
            "the file is of a newer format than this kit reads",
            where="format",
            value=found,
            allowed=f"up to {FORMAT}",
            do="update desalbook to open it",
        )
    kit = written.get("kit", "")
    if not isinstance(kit, str) or len(kit) > 40:
        raise DesignError("not a version", where="kit", value=kit, do='set kit = "0.1.0", or clear it')


_LONGEST = 50_000
"""Characters of one line; a design has some hundred in each, and a long text is refused where its key is read."""
_DEEPEST = 12
"""Parts of a dotted key, and brackets within one another: a design needs three."""


def _bounded(text: str, where: str) -> None:
    """Refuse what costs the reader of TOML more than it can be worth: it takes a second for some thousand dots."""
    if "\r" in text and "\n" not in text:
        raise DesignError("its lines end in a carriage return alone", where=where,
                          do="save the file with line ends LF or CRLF")
    for number, line in enumerate(text.split("\n"), 1):
        if len(line) > _LONGEST:
            raise DesignError("a line is too long", where=f"{where}, line {number}", value=f"{len(line)} characters",
                              allowed=f"up to {_LONGEST} characters", do="check that this is the file you mean")
        head = line.partition("#")[0] if '"' not in line and "'" not in line else line
        key = head.partition("=")[0]
        if key.count(".") >= _DEEPEST or head.count("[") > _DEEPEST or head.count("{") > _DEEPEST:
            raise DesignError("nested too deep", where=f"{where}, line {number}", value=f"{line[:40]}…",
                              allowed=f"up to {_DEEPEST} levels", do="enter the key under its section")


def _syntax(text: str, error: Exception, where: str) -> DesignError:
    said = str(error)
    at = re.search(r"\(at line (\d+), column (\d+)\)$", said)
    rows = text.splitlines()
    line = int(at[1]) if at else len(rows) or 1 if said.endswith("(at end of document)") else 0
    plain = re.sub(r"\s*\(at [^()]*\)$", "", said)
    if isinstance(error, RecursionError):
        plain = "nested too deep"
    elif not isinstance(error, tomllib.TOMLDecodeError):
        plain = "a number or a date in it cannot be held"
    if plain == "Cannot overwrite a value":
        plain = "this key is given twice"
    elif (twice := re.fullmatch(r"Cannot declare \((.*?),?\) twice", plain)) is not None:
        plain = f"section [{'.'.join(re.findall(r'[A-Za-z0-9_-]+', twice[1]))}] is given twice"
    opened = _unclosed(rows) if "(at end of document)" in said or not 0 < line <= len(rows) else 0
    line = opened or line
    value = rows[line - 1].strip() if 0 < line <= len(rows) else None
    return DesignError(
        f"the file cannot be read: {plain[:1].lower()}{plain[1:]}",
        where=f"{where}, line {line}" if line else where,
        value=value,
        do=_twice(rows, line, plain) or (_mend(value) if value is not None else None)
        or 'correct the line; a value is given as key = "8 m3/h"',
    )


def _twice(rows: list[str], line: int, plain: str) -> str | None:
    """What to do where a key or a section is given twice: where it stands first."""
    if not plain.endswith("given twice") or not 0 < line <= len(rows):
        return None
    name = rows[line - 1].partition("=")[0].strip()
    first = 0
    for number, row in enumerate(rows[:line - 1], 1):
        head = row.partition("#")[0].strip()
        if head.partition("=")[0].strip() == name:
            first = number
        elif head.startswith("[") and not name.startswith("["):
            first = 0  # another section has keys of its own
    return f"remove one of the two; it is given first in line {first}" if first else "remove one of the two"


def _unclosed(rows: list[str]) -> int:
    """The line of a text that nothing ends, in three quotation marks or in single ones; 0 where there is none."""
    opened = 0
    for number, row in enumerate(rows, 1):
        if (row.count('"""') + row.count("\'\'\'")) % 2:
            opened = 0 if opened else number
    return opened or next((n for n, row in enumerate(rows, 1)
                           if '"' not in row and row.partition("#")[0].count("'") % 2), 0)


_LOOSE = re.compile(r"""([A-Za-z0-9_.-]+)\s*(?::|={1,2})\s*(.*?)\s*(#.*)?$""")
_BARE = re.compile(r"""([A-Za-z0-9_.-]+)\s+(["'].*?["'])\s*(#.*)?$""")
"""A key and its value in quotation marks with no sign between them."""
_SPACED = re.compile(r"""(\[{0,2})([A-Za-z0-9_]+(?:[ -]+[A-Za-z0-9_]+)+)(\s*=.*|\]{1,2})$""")
"""A key, or the name of a section, of several words."""
_OTHER_REMARK = re.compile(r"""^([^"'#]*=\s*(?:"[^"]*"|'[^']*'|[^"'#\s]+))\s*(?://|;)\s*(.*)$""")
"""A remark behind a value that begins with the sign of another language."""
_NOT_A_DESIGN = {"<": "this is a page of the web or a drawing; open the design file itself",
                 "{": "this is another format; a design has sections in brackets and keys, as data-demo shows",
                 ">": 'remove the ">" at the beginning of the lines, which a mail program set there',
                 ";": "begin a remark with #", "/": "begin a remark with #", "%": "begin a remark with #"}
"""What the first sign of a line that is no TOML says of the file."""
_HEAD = re.compile(r"""\[{0,2}\s*[A-Za-z0-9_.-]+\s*\]{1,2}|\[{1,2}\s*[A-Za-z0-9_.-]+\s*\]{0,2}""")
"""The head of a section, whole or with a bracket lost."""
_MARKS = str.maketrans("", "", "\"'\N{LEFT DOUBLE QUOTATION MARK}\N{RIGHT DOUBLE QUOTATION MARK}"
                       "\N{DOUBLE LOW-9 QUOTATION MARK}\N{LEFT SINGLE QUOTATION MARK}\N{RIGHT SINGLE QUOTATION MARK}")


def _mend(row: str) -> str | None:
    """The line as it would be read, where one can tell what was meant: quotation marks, a decimal comma, one sign."""
    if row[:1] in _NOT_A_DESIGN:
        return _NOT_A_DESIGN[row[:1]]
    if any(c != "\t" and not c.isprintable() and not c.isspace() for c in row):
        return "remove the character in it that cannot be seen"
    plain = "".join(" " if c.isspace() else c for c in row)
    if plain != row and _reads(plain):
        return f"enter {plain} with plain spaces in place of a no-break space"
    if (remark := _OTHER_REMARK.fullmatch(row)) is not None:
        mended = f"{remark[1].strip()}  # {remark[2]}".rstrip(" #")
        return f"enter {mended}" if _reads(mended) else _mend(remark[1].strip())
    if row[-1:] in (",", ";") and (_reads(row[:-1]) or _LOOSE.fullmatch(row[:-1])):
        return f"enter {row[:-1]}" if _reads(row[:-1]) else _mend(row[:-1])
    if (words := _SPACED.fullmatch(row)) is not None:
        mended = words[1] + re.sub("[ -]+", "_", words[2].strip()) + words[3]
        return f"enter {mended}" if _reads(mended) else None
    if _HEAD.fullmatch(row):
        if row.startswith("[") and row.endswith("]"):
            return None
        pairs = "[[]]" if "[[" in row or "]]" in row else "[]"
        return f"enter {row.strip('[] ').join((pairs[:len(pairs) // 2], pairs[len(pairs) // 2:]))}"
    loose = _LOOSE.fullmatch(row) or _BARE.fullmatch(row)
    if loose is None or not (value := loose[2].translate(_MARKS).strip()):
        return None
    comma = re.sub(r"(?<=\d),(?=\d)", ".", value)
    if value.casefold() in ("yes", "no", "true", "false"):
        value = '"yes"' if value.casefold() in ("yes", "true") else '"no"'
    elif re.fullmatch(r"-?\d+(\.\d+)?", comma):
        value = comma
    else:
        value = f'"{comma}"'
    mended = f"{loose[1]} = {value}"
    return f"enter {mended}" if mended != row and _reads(mended) else None


def _reads(row: str) -> bool:
    """Whether a line by itself is TOML."""
    try:
        tomllib.loads(row)
    except ValueError:
        return False
    return True
