"""Where a key stands in the text of a design file: its line, for whoever has to correct it."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from typing import Any

__all__ = ["line_of"]

_TOKEN = re.compile(r'"""(?:\\.|[^\\])*?"""' r"|'''.*?'''" r'|"(?:\\.|[^"\\\n])*"' r"|'[^'\n]*'"
                    r"|#[^\n]*|\n|[\[\]{},=]|[^\s\[\]{},=#\"']+", re.DOTALL)
_STEP = re.compile(r"([^.\[\]]+)(?:\[([^\]]*)\])?(?:\.|\Z)")
Path = tuple[str | int, ...]


def line_of(text: str, written: Mapping[str, Any], id: str) -> int:
    """Line of a key in the text of a valid TOML file, or of the nearest table around it; 0 where none is there.

    Parameters
    ----------
    text : str
    written : mapping
        What the text says, as TOML gives it.
    id : str
        As in messages: ``membrane.recovery``, ``filters.layers[sand].depth``, ``elements[2]`` by position from one.
    """
    wanted = _path(written, id)
    lines: dict[Path, int] = {}
    for path, line in _places(text):
        lines.setdefault(path, line)
    return next((lines[wanted[:n]] for n in range(len(wanted), 0, -1) if wanted[:n] in lines), 0)


def _path(written: Any, id: str) -> Path:
    """Steps from the top of the file to an id; entries of lists by their place from zero."""
    found: list[str | int] = []
    for name, key in _STEP.findall(id):
        found.append(name)
        written = written.get(name) if isinstance(written, Mapping) else None
        if not key:
            continue
        if isinstance(written, list):
            named = [n for n, one in enumerate(written) if isinstance(one, Mapping) and key in map(str, one.values())]
            at = named[-1] if named else int(key) - 1 if key.isdecimal() else 0  # of two of one name, the second
            found.append(at)
            written = written[at] if 0 <= at < len(written) else None
        else:
            found.append(key)
            written = written.get(key) if isinstance(written, Mapping) else None
    return tuple(found)


def _keys(text: str) -> list[str]:
    """The parts of a dotted key, quoted or bare."""
    parts, here = [], tomllib.loads(f"{text} = 0")
    while isinstance(here, dict):
        part, here = next(iter(here.items()))
        parts.append(part)
    return parts


def _places(text: str) -> Iterator[tuple[Path, int]]:
    """Every table, key and entry of an array with its line, in the order of the text."""
    table: Path = ()
    counts: dict[Path, int] = {}
    line, depth, head, path = 1, 0, "", None  # path: of the key whose value is being read
    opens, item, fresh = 0, 0, False
    for token in _TOKEN.finditer(text):
        what = token[0]
        if what == "\n":
            line += 1
            if depth == 0:
                if head:
                    table = yield from _header(head, counts, line - 1)
                head, path, opens = "", None, 0
            continue
        if what.startswith("#"):
            continue
        if path is not None:  # within a value
            if what in "[{":
                depth, opens = depth + 1, opens or (1 if what == "[" else 2)
                if opens == 1 and depth == 1:
                    item, fresh = 0, True
                    continue
            elif what in "]}":
                depth -= 1
            elif what == "," and depth == 1:
                item, fresh = item + 1, True
                continue
            if opens == 1 and fresh and depth:
                fresh = False
                yield (*path, item), line
        elif what == "=" and not head.startswith("["):
            path = (*table, *_keys(head))
            yield path, line
            head = ""
        else:
            head += what
        line += what.count("\n")
    if head:
        yield from _header(head, counts, line)


def _header(head: str, counts: dict[Path, int], line: int) -> Iterator[tuple[Path, int]]:
    """The table a header opens: told, and given back; a table inside an entry of a list belongs to its last one."""
    path: Path = ()
    keys = _keys(head.strip("[]"))
    for n, key in enumerate(keys):
        path = (*path, key)
        if head.startswith("[[") and n == len(keys) - 1:
            counts[path] = counts.get(path, -1) + 1
            yield path, line
        if path in counts:
            path = (*path, counts[path])
    yield path, line
    return path
