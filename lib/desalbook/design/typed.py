"""What a person types in Python for a key of the design, as the text the design file would hold."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from desalbook.problems import DesignError
from desalbook.trail import Choice
from desalbook.units import FieldMeta, metas
from desalbook.units.fieldmeta import nearest
from desalbook.units.quantities import text_of, to_si

__all__ = ["several", "written"]


def written(m: FieldMeta, value: Any, where: str) -> Any:
    """A value as TOML holds it: a text, yes or no, a table of texts, or a list of tables.

    Parameters
    ----------
    m : FieldMeta
    value : str, bool, Quantity, Figure, number, mapping, or sequence of mappings
        A bare number only where the quantity has no unit. A list of entries may be a mapping of their names.
    where : str

    Raises
    ------
    DesignError
        No unit, or one of another dimension; a kind of value the key does not hold.
    """
    if m.form == "sections":
        return _entries(m, value, where)
    if m.form == "mapping":
        if not isinstance(value, Mapping) and hasattr(value, "items"):
            value = dict(value.items())
        if not isinstance(value, Mapping):
            raise DesignError("not a table of named values", where=where, value=value,
                              do="give a dictionary of names and values")
        return {str(name): written(m.entry(name), x, f"{where}[{name}]") for name, x in value.items()}
    if isinstance(value, Choice):
        return str(value)
    if m.form != "quantity" or m.kind is None or isinstance(value, (str, bool)):
        return value
    found = to_si(value, m.kind, where)
    if getattr(found, "ndim", 0):
        raise DesignError("several values for one key", where=where, do="give one; `sweep` takes several")
    return text_of(float(found), m.kind)


def several(m: FieldMeta, values: Any, where: str) -> list[Any]:
    """Many values of one key, each as the design file would hold it.

    Parameters
    ----------
    values : sequence of what `written` takes, an array Quantity, a Column, a column of a table that says its unit,
        or an array of numbers where there is no unit
    """
    if isinstance(values, str):
        raise DesignError("one value, where several are asked for", where=where, value=values,
                          do=f'give a list, ["{values}"]')
    if isinstance(values, Mapping) or not hasattr(values, "__iter__"):
        raise DesignError("not a list of values", where=where, value=values, do="give a list of values")
    if m.form == "quantity" and m.kind is not None and not isinstance(values, (list, tuple)):
        found = to_si(values, m.kind, where)
        return [text_of(float(x), m.kind) for x in found]
    return [written(m, x, where) for x in values]


def _entries(m: FieldMeta, value: Any, where: str) -> list[dict[str, Any]]:
    if isinstance(value, Mapping):
        value = [{m.key: name, **_fields(one, f"{where}[{name}]")} for name, one in value.items()]
    if isinstance(value, str) or not isinstance(value, Sequence):
        raise DesignError("not a list of entries", where=where, value=value,
                          do=f"give a list of dictionaries, each with its {m.key}")
    known, made = metas(m.item), []
    for number, one in enumerate(value, 1):
        fields = _fields(one, f"{where}[{number}]")
        at = f"{where}[{fields.get(m.key, number)}]"
        for key in fields:
            if key not in known:
                raise DesignError("unknown key", where=f"{at}.{key}", do=nearest(key, known))
        made.append({key: written(known[key], x, f"{at}.{key}") for key, x in fields.items() if x is not None})
    return made


def _fields(one: Any, where: str) -> dict[str, Any]:
    if not isinstance(one, Mapping):
        raise DesignError("not a table of keys and values", where=where, value=one, do="give a dictionary")
    return dict(one)
