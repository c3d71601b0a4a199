"""The seal of a record: a digest of each line and of everything, so that a change is seen and its place named.

A seal shows what was changed after it was made. Who changes a record can make a new seal as well; what can be
derived again is therefore derived again (`audit.verify`), and a signature over the seal says who made it.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from typing import Any

__all__ = ["broken", "content_hash", "seal"]


def _digest(x: Any, length: int = 64) -> str:
    return hashlib.sha256(json.dumps(x, sort_keys=True, ensure_ascii=False).encode()).hexdigest()[:length]


def seal(record: Mapping[str, Any]) -> dict[str, Any]:
    """Digests of the parts of a record, of its lines by id, and of all of them together.

    Returns
    -------
    dict
        ``lines`` (16 hexadecimal digits by id), ``parts`` (by name, without the lines), ``content``.
    """
    lines = {line["id"]: _digest(line, 16) for line in record["lines"]}
    parts = {name: _digest(part) for name, part in sorted(record.items()) if name not in ("seal", "lines")}
    return {"lines": lines, "parts": parts, "content": _digest([list(lines.items()), parts])}


def content_hash(record: Mapping[str, Any]) -> str:
    """The digest over the whole record, as its seal says it; empty where it has none."""
    return str(record.get("seal", {}).get("content", ""))


def broken(record: Mapping[str, Any]) -> list[str]:
    """Where a record is not what its seal says: ids of lines, names of parts, in their order.

    Lines that are gone, new or moved count; a record without a seal is broken at ``seal``.
    """
    was = record.get("seal")
    if not isinstance(was, Mapping) or not isinstance(was.get("lines"), Mapping):
        return ["seal"]
    now = seal(record)
    found = [id for id, digest in now["lines"].items() if was["lines"].get(id) != digest]
    found += [id for id in was["lines"] if id not in now["lines"]]
    if len(now["lines"]) != len(record["lines"]):
        ids = [line["id"] for line in record["lines"]]
        found += sorted({id for id in ids if ids.count(id) > 1})
    parts = was.get("parts") or {}
    found += [name for name in {**now["parts"], **parts} if now["parts"].get(name) != parts.get(name)]
    if not found and was.get("content") != now["content"]:
        found.append("order of the lines, or the seal itself")
    return found
