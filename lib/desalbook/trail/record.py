"""The record: one calculation as one JSON file, from which every page, table and workbook is made.

The same calculation gives the same bytes: lines keep the order they were made in, keys are sorted, and
there is no time stamp and no path in it.
"""

from __future__ import annotations

import hashlib
import json
import os
import tempfile
from collections.abc import Mapping, Sequence
from functools import cache
from importlib import metadata
from pathlib import Path
from typing import Any, Protocol

from desalbook.problems import DesignError
from desalbook.sources import source
from desalbook.trail.ledger import Ledger, Line
from desalbook.trail.relation import Relation
from desalbook.trail.seal import seal
from desalbook.trail.stored import clean, stored_kind, stored_line, stored_relation

__all__ = ["FORMAT", "dumps", "kit_version", "read", "to_record", "write"]

FORMAT = 1


class _Lines(Protocol):
    lines: dict[str, Any]


def to_record(
    ledger: Ledger | _Lines,
    design_text: str = "",
    kit: str | None = None,
    project: Mapping[str, str] | None = None,
    tables: Mapping[str, Sequence[Mapping[str, Any]]] | None = None,
    with_text: bool = False,
    sealed: bool = True,
) -> dict[str, Any]:
    """All of a calculation as plain data.

    Parameters
    ----------
    ledger : Ledger, or anything with its ``lines``
    design_text : str
        Text of the design file; its SHA-256 is stored.
    kit : str, optional
        Version of this kit; the installed one when not said.
    project : mapping, optional
        What the head of the page prints: name, revision, made_by, checked_by, date.
    tables : mapping, optional
        Further tables by name (``streams``, ``equipment``), each a sequence of rows. A row may hold ``ids``,
        the line of each of its figures by column.
    with_text : bool
        Store the text too, so that whoever has the record alone can size the plant again, and what lies between
        two plants.
    sealed : bool
        With a digest of each line and of everything; who only reads the record at once needs none.

    Raises
    ------
    TrailError
        A number is not finite, or a line names a source the bibliography lacks.
    """
    lines, edges = [], []
    relations: dict[str, Any] = {}
    kinds: dict[str, Any] = {}
    sources: dict[str, Any] = {}
    engines: dict[tuple, dict] = {}

    def cite(key: str) -> None:
        if key and key not in sources:
            s = source(key)
            sources[key] = {
                "author": s.author,
                "year": s.year,
                "title": s.title,
                "where": s.where,
                "kind": s.kind,
                "citation": s.citation,
            }

    for line in ledger.lines.values():
        stored = stored_line(line)
        lines.append(stored if isinstance(line, Line) else clean(stored, stored["id"]))  # a Line comes out clean
        edges += [[x.id, line.id, name] for name, x in line.inputs.items()]
        edges += [[x.id, line.id, "because"] for x in line.because]
        cite(line.source)
        if line.kind and line.kind.name not in kinds:
            kinds[line.kind.name] = stored_kind(line.kind)
        if isinstance(line.relation, Relation) and line.relation.key not in relations:
            rule = stored_relation(line.relation)
            relations[rule["key"]] = rule
            for a in line.relation.args:
                kinds[a.kind.name] = stored_kind(a.kind)
            for part in (rule, *rule["constants"].values(), *rule["tables"].values()):
                cite(part["source"])
        if line.sort == "engine":
            what = {k: line.more.get(k, "") for k in ("library", "version", "data", "checksum")}
            engines[tuple(what.values())] = what
    record = {
        "format": FORMAT,
        "kit": kit if kit is not None else kit_version(),
        "project": {str(k): str(v) for k, v in (project or {}).items()},
        "input_hash": hashlib.sha256(design_text.encode()).hexdigest(),
        "relations": relations,
        "kinds": kinds,
        "sources": sources,
        "engines": [engines[k] for k in sorted(engines)],
    }
    if with_text:
        record["design"] = design_text
    for name, rows in (tables or {}).items():
        record[name] = [dict(row) for row in rows]
    whole = {**clean(record, "record"), "lines": lines, "edges": edges}
    made = json.loads(json.dumps(whole, sort_keys=True, allow_nan=False))  # as read from its file
    if sealed:
        made["seal"] = seal(made)
    return made


@cache
def kit_version() -> str:
    """The version of this kit that is installed; ``unknown`` where it is run without being installed."""
    try:
        return metadata.version("desalbook")
    except metadata.PackageNotFoundError:
        return "unknown"


def dumps(record: Mapping[str, Any]) -> str:
    """Text of the file: sorted keys, one line of text for each line of the trail."""

    def one(x: Any) -> str:
        return json.dumps(x, sort_keys=True, ensure_ascii=False, allow_nan=False)

    parts = []
    for key in sorted(record):
        value = record[key]
        if isinstance(value, list) and value:
            body = "[\n" + ",\n".join(one(v) for v in value) + "\n]"
        elif isinstance(value, dict) and value:
            body = "{\n" + ",\n".join(f"{one(k)}: {one(value[k])}" for k in sorted(value)) + "\n}"
        else:
            body = one(value)
        parts.append(f"{one(key)}: {body}")
    return "{\n" + ",\n".join(parts) + "\n}\n"


def write(record: Mapping[str, Any], path: str | os.PathLike) -> Path:
    """Write the record; a reader never sees half a file."""
    path = Path(path)
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as file:
            file.write(dumps(record))
            file.flush()
            os.fsync(file.fileno())
        os.chmod(temporary, 0o644)
        os.replace(temporary, path)
    except BaseException:
        Path(temporary).unlink(missing_ok=True)
        raise
    return path


def read(path: str | os.PathLike) -> dict[str, Any]:
    """A record from its file.

    Raises
    ------
    DesignError
        No such file, not a record, or one of a newer format.
    """
    name = Path(path).name
    try:
        record = json.loads(Path(path).read_text(encoding="utf-8"))
    except OSError:
        raise DesignError(
            "cannot be read", where="record", value=name, do="give the path of a record"
        ) from None
    except (ValueError, RecursionError):
        raise DesignError(
            "is not a record of a calculation",
            where="record",
            value=name,
            do="export it again from the design file",
        ) from None
    form = record.get("format") if isinstance(record, dict) else None
    if not isinstance(form, int) or isinstance(form, bool) or form < 1:
        raise DesignError(
            "is not a record of a calculation",
            where="record",
            value=name,
            do="export it again from the design file",
        )
    if form > FORMAT:
        raise DesignError(
            "was written by a newer kit",
            where="record.format",
            value=form,
            allowed=f"up to {FORMAT}",
            do="update the kit",
        )
    lacking = {"lines", "relations", "kinds", "sources", "engines", "edges", "input_hash"} - set(record)
    if lacking:
        raise DesignError(
            "is not whole",
            where=f"record.{sorted(lacking)[0]}",
            value=name,
            do="export it again from the design file",
        )
    odd = next((key for key, form in _FORMS.items() if not isinstance(record.get(key, form()), form)), "")
    rows = [] if odd else record["lines"]
    if not odd and not all(isinstance(x, dict) and x.keys() >= _LINE for x in rows):
        odd = "lines"
    if odd:
        raise DesignError(
            "is damaged",
            where=f"record.{odd}",
            value=name,
            do="export it again from the design file",
        )
    return record


_FORMS = {"lines": list, "relations": dict, "kinds": dict, "sources": dict, "engines": list, "edges": list,
          "input_hash": str, "project": dict, "marks": list, "design": str}
_LINE = {"id", "sort", "title", "value", "unit", "kind", "inputs", "because", "source", "place", "relation", "more",
         "axis", "keys", "corner"}
"""What every line of a record says."""
