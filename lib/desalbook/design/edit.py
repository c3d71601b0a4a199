"""Edits of the text of a design file that keep its comments, order and spacing."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any

import tomlkit
from tomlkit.items import AoT, Array

from desalbook.design.sections import LISTS, field_meta, key_field, split
from desalbook.problems import DesignError
from desalbook.units import FieldMeta, Section, metas, parse, show, to_display, unit_label

__all__ = ["add", "drop", "put", "step", "written_as"]

_NUMBER = re.compile(r"-?(0|[1-9][0-9]{0,14})(\.[0-9]{1,12})?")  # as `units.parse` reads a bare number
_VALUE = r'"[^"\\\n]*"|[-+]?\d[\d.]*|true|false'  # what a line of a design file holds when it is plain
_ENTRY = re.compile(r"([a-z_.]+)\[([A-Za-z0-9_-]+)\]")
_YES = {"yes": True, "true": True, "no": False, "false": False}


def step(here: Any, name: str, key: str | None, key_field: str = "name") -> Any:
    """One step along an id through TOML values; None when the file does not go there."""
    here = here.get(name) if isinstance(here, Mapping) else None
    if key is None or here is None:
        return here
    if isinstance(here, Mapping):
        return here.get(key)
    return next((one for one in here if isinstance(one, Mapping) and one.get(key_field) == key), None)


def put(text: str, values: Mapping[str, Any], get: Callable[[str], Any]) -> str:
    """Write keys into a text.

    Parameters
    ----------
    values : mapping of id to text
        Of a table of named values a mapping of texts, of a list a list of mappings; either takes the place of all.
    get : callable
        Value at an id of the design as it is now; a list that stands at its default is written out whole
        before one of its entries is changed.
    """
    left = dict(values)
    for id, raw in values.items():  # most changes are of one value that stands on a line of its own
        swapped = _swapped(text, id, raw)
        if swapped is None:
            break
        text = swapped
        del left[id]
    if not left:
        return text
    doc = tomlkit.parse(text)
    for id, raw in left.items():
        _put(doc, id, raw, get)
    return doc.as_string()


def add(text: str, id: str, entries: Mapping[str, Mapping[str, str]], get: Callable[[str], Any],
        after: str = "") -> str:
    """Add entries at the end of a list, or an optional section that is not there; comments stay.

    Parameters
    ----------
    text : str
    id : str
        The list or section, ``membrane.stages`` or ``membrane.second_pass``.
    entries : mapping of name to mapping of key to text
        Of a section one, whose name is passed over.
    get : callable
        As for `put`.
    after : str
        The entry of the list that they follow; the last one if blank.

    Raises
    ------
    DesignError
        An entry of that name is there, or none of the name to follow.
    """
    doc = tomlkit.parse(text)
    m = _meta(id)
    if m is None or m.form not in ("section", "sections"):
        raise DesignError("no list or section that can be added to", where=id, do="name one, as membrane.stages")
    table, path = doc, ""
    *parts, (name, _) = split(id) if "." in id else [(id, None)]
    for part, key in parts:
        path = f"{path}.{part}" if path else part
        if part not in table:
            table.append(part, tomlkit.table())
        table = step(table, part, key, key_field(path) if key is not None else "name")
        path = f"{path}[{key}]" if key is not None else path
    if m.form == "sections" and name not in table:
        if table is doc and not text.endswith("\n\n"):
            doc.add(tomlkit.nl())
        table.append(name, _list(m, () if id in LISTS else tuple(get(id) or ())))
    for entry, values in entries.items():
        made = tomlkit.table()
        if m.form == "sections":
            made.append(m.key, entry)
        for key, raw in values.items():
            made.append(key, _item(field_meta(f"{id}[{entry}].{key}" if m.form == "sections" else f"{id}.{key}"),
                                   raw, None, id))
        if entry == [*entries][-1]:
            made.add(tomlkit.nl())
        if m.form == "section":
            if name in table:
                raise DesignError("is there already", where=id, do="change its fields")
            table.append(name, made)
            continue
        if step(table, name, entry, m.key) is not None:
            raise DesignError("an entry of that name is there", where=f"{id}[{entry}]", do="give another name")
        if after and step(table, name, after, m.key) is None:
            raise DesignError("no such entry to follow", where=f"{id}[{after}]", do="name one that is there")
        place = next((n + 1 for n, one in enumerate(table[name]) if one.get(m.key) == after), len(table[name]))
        table[name].insert(place, _inline(made.unwrap()) if isinstance(table[name], Array) else made)
        after = entry if after else ""
    return doc.as_string()


def _meta(path: str) -> FieldMeta | None:
    """What the schema knows of a part of the path to a key; None of a section."""
    return LISTS.get(path) or (field_meta(path) if "." in path else None)


def _swapped(text: str, id: str, raw: Any) -> str | None:
    """The text with a value that stands alone on its line replaced; None when that is not how it stands."""
    if isinstance(raw, (Mapping, list)):
        return None
    whole = _ENTRY.fullmatch(id)  # a mapping may stand as a table of its own, an entry on each line
    section, name = (whole[1], whole[2]) if whole else id.rpartition(".")[::2]
    if "[" in section or not section or '"""' in text or "'''" in text:
        return None
    if whole and field_meta(id).form != "mapping":
        return None
    head = re.search(rf"^\[{re.escape(section)}\][ \t]*(?:#.*)?$", text, re.MULTILINE)
    if head is None:
        return None
    after = re.compile(r"^[ \t]*\[", re.MULTILINE).search(text, head.end())
    end = after.start() if after is not None else len(text)
    found = re.compile(rf"^{re.escape(name)}[ \t]*=[ \t]*({_VALUE})[ \t]*(?:#.*)?$", re.MULTILINE).search(
        text, head.end(), end)
    if found is None:
        return None
    made = _item(field_meta(id), raw, "" if found[1].startswith('"') else 0, id)
    said = tomlkit.item(made).as_string()
    return text[:found.start(1)] + said + text[found.end(1):]


def _put(doc: Any, id: str, raw: Any, get: Callable[[str], Any]) -> None:
    parts, path, table = split(id), "", doc
    for name, key in parts[:-1]:
        path = f"{path}.{name}" if path else name
        m = _meta(path)
        if m is not None and m.form == "sections":
            if name not in table:
                table.append(name, _list(m, () if path in LISTS else get(path)))
            found = step(table, name, key, m.key)
            if found is None:
                raise DesignError("no such entry", where=id, do=f'add one with {m.key} = "{key}"')
            table, path = found, f"{path}[{key}]"
            continue
        if name not in table:
            if table is doc and len(doc.as_string().rstrip()) < len(doc.as_string()):
                doc.add(tomlkit.nl())
            table.append(name, tomlkit.table())
        table = table[name]
    name, key = parts[-1]
    m = field_meta(id)
    if key is None and (isinstance(raw, list) if m.form == "sections" else isinstance(raw, Mapping)):
        table[name] = tomlkit.item(raw) if m.form == "sections" else _inline(raw)
        return
    if m.form in ("section", "sections") or (m.form == "mapping") != (key is not None):
        raise DesignError("not one value", where=id, do="name one key, as in filters.count or water.ions[Na]")
    if key is not None:
        if name not in table:
            table.append(name, tomlkit.inline_table())
        table, name = table[name], key
    table[name] = _item(m, raw, table.get(name), id)


def _inline(values: Mapping[str, Any]) -> Any:
    table = tomlkit.inline_table()
    table.update(values)
    return table


def _item(m: FieldMeta, raw: str, was: Any, id: str) -> Any:
    if m.form == "flag":
        if str(raw).lower() not in _YES:
            raise DesignError("not yes or no", where=id, value=raw, allowed="yes, no", do="enter yes or no")
        return _YES[str(raw).lower()]
    number = m.form in ("quantity", "mapping") and _NUMBER.fullmatch(str(raw))
    if number and not isinstance(was, str):
        return float(raw) if "." in str(raw) else int(raw)
    return str(raw)


def _list(m: FieldMeta, items: tuple[Section, ...]) -> Any:
    made = tomlkit.aot()
    for one in items:
        table = tomlkit.table()
        for key, inner in metas(type(one)).items():
            if key == m.key:
                table.append(key, str(one[key]))
            elif (own := _own(inner, one[key])) is not None:
                table.append(key, own)
        made.append(table)
    return made


def _own(m: FieldMeta, value: Any) -> Any:
    """What is written of a value in an entry; None of one that such an entry takes by default."""
    if value is None or value == m.default or m.form not in ("quantity", "choice", "text", "flag"):
        return None
    return bool(value) if m.form == "flag" else written_as(m, value)


def written_as(m: FieldMeta, value: Any) -> str:
    """A text that reads back as this value."""
    if m.form != "quantity" or m.kind is None:
        return str(value)
    text = show(value, m.kind)
    if abs(parse(text, m.kind) - value) <= 1e-12 * abs(value):
        return text
    return f"{to_display(value, m.kind, 'si'):.12g} {unit_label(m.kind, 'si')}".strip()


def drop(text: str, id: str) -> str:
    """Remove a key, an entry of a table or of a list; refuse when it does not stand there.

    A key of an entry that the kit itself fills in takes the kit's value again; a list in which nothing else was
    changed goes with it.
    """
    doc = tomlkit.parse(text)
    table: Any = doc
    parts, path = split(id), ""
    around: Any = None
    m: FieldMeta | None = None
    for name, key in parts[:-1]:
        path = f"{path}.{name}" if path else name
        m = _meta(path)
        around, table = table, step(table, name, key, m.key if m is not None else "name")
        path = f"{path}[{key}]" if key is not None else path
        if table is None:
            break
    name, key = parts[-1]
    parent, many_of = table, name
    if table is not None and key is not None and name in table:
        table, name = table[name], key
        if isinstance(table, (AoT, Array)):
            field = key_field(id.rpartition("[")[0])
            index = next((n for n, one in enumerate(table) if one.get(field) == key), None)
            table, name = (table, index) if index is not None else (None, name)
    if table is None or (not isinstance(name, int) and name not in table):
        raise DesignError("does not stand in the file", where=id, do="nothing to remove")
    if m is None or m.form != "sections" or not m.default:
        del table[name]
        listed = _meta(id.rpartition("[")[0]) if isinstance(name, int) else None
        if parent is not None and listed is not None and not table and not listed.default:
            del parent[many_of]  # a list without entries says no more than none
            return doc.as_string().rstrip() + "\n"
        return doc.as_string()
    many, entry = parts[-2]
    filled = next((one for one in m.default if str(one[m.key]) == entry), None)
    own = _own(metas(m.item)[name], filled[name]) if filled is not None and name in metas(m.item) else None
    if own is not None:
        table[name] = own
    else:
        del table[name]
    if "#" not in around[many].as_string() and around[many].unwrap() == _list(m, m.default).unwrap():
        del around[many]
        return doc.as_string().rstrip() + "\n"
    return doc.as_string()
