"""Write the register of relations that the kit carries, and their check points: ``python -m tests.make_register``.

The check points live in the tests; what they prove is stored beside the library, so that a reader of an
installed kit sees it. A test asks that the file is what this module makes.
"""

from __future__ import annotations

import json
from typing import Any

import numpy as np

from desalbook.audit.register import FILE
from desalbook.sources import source
from desalbook.trail.stored import stored_relation
from desalbook.trail.written import expression_text
from tests.points import SOFT, STATUS
from tests.register import points, relations
from tests.trail.mutants import value
from tests.trail.test_units import LIMIT, compare

__all__ = ["EXAMPLES", "examples", "lined", "main", "rows"]

EXAMPLES = FILE.with_name("examples.json")

FLOOR = 1e-12  # below it a deviation is the rounding of this machine


def deviation(relation: Any, point: Any) -> float:
    """Relative difference between a relation and one of its check points."""
    got = value(relation, relation.tree, {n: c.value for n, c in relation.constants.items()}, point.inputs)
    got, wanted = np.asarray(got, dtype=float), np.asarray(point.expect, dtype=float)
    scale = np.maximum(np.abs(wanted), 1e-300)
    worst = float(np.max(np.where(got == wanted, 0.0, np.abs(got - wanted) / scale)))
    return 0.0 if worst < FLOOR else float(f"{worst:.1e}")


def rows() -> list[dict[str, Any]]:
    """One row a relation, from the register of the kit and the check points of the tests."""
    made = []
    for key, r in relations().items():
        mine = [p for p in points() if p.relation == key]
        cited = sorted({p.source for p in mine if p.source})
        made.append({
            "id": key,
            "title": r.title,
            "symbol": r.symbol,
            "unit": r.kind.si,
            "equation": expression_text(stored_relation(r)),
            "hash": r.hash,
            "source": r.source,
            "kind": source(r.source).kind,
            "place": r.place,
            "range": "; ".join(f"{n.replace('_', ' ')} {lo or 'open'} to {hi or 'open'}"
                               for n, (lo, hi) in sorted(r.within.items())),
            "note": r.note,
            "units": "passes" if max(compare(r, seed) for seed in range(2)) <= LIMIT else "fails",
            "points": len(mine),
            "published": (known := sum(p.published for p in mine)),
            "unpublished": "" if known or source(r.source).kind in SOFT else source(r.source).unpublished,
            "status": "; ".join(f"{n} {s}" for s in STATUS if (n := sum(p.status == s for p in mine))),
            "proved_by": " ".join(cited),
            "worst": max((deviation(r, p) for p in mine), default=None),
        })
    return made


def examples() -> list[dict[str, Any]]:
    """Every check point, relation by relation, the best proved first: a printed one before one worked by hand."""
    made = []
    for key in relations():
        for point in sorted((p for p in points() if p.relation == key), key=lambda p: STATUS.index(p.status)):
            made.append({"id": key, "inputs": {n: _plain(x) for n, x in point.inputs.items()},
                         "result": _plain(point.expect), "source": point.source, "place": point.place,
                         "status": point.status})
    return made


def _plain(x: Any) -> Any:
    return [float(one) for one in x] if np.ndim(x) else float(x)


def lined(rows: list[dict[str, Any]]) -> str:
    """One line a row, so that two people's additions merge."""
    return "[\n" + ",\n".join(json.dumps(row, ensure_ascii=False) for row in rows) + "\n]\n"


def main() -> None:
    """Write the files."""
    for file, made in ((FILE, rows()), (EXAMPLES, examples())):
        file.write_text(lined(made), encoding="utf-8", newline="\n")
        print(f"{file.name}: {len(made)} rows")


if __name__ == "__main__":
    main()
