"""A model is wired once: what is recorded with `.at` is not wired a second time from bare numbers with `.plain`.

The same functions run recorded and over cases (`desalbook.trail.values`); a second wiring can differ from the first
and nobody sees it.
"""

from __future__ import annotations

import ast

from tests.wiring import names_of, trees, uses, uses_of

# Relations that are used both ways for a reason; at most ten.
EXCEPTIONS: dict[str, str] = {}


def twice() -> dict[str, set[str]]:
    """Relations that are recorded in one place and computed plainly in another: where plainly."""
    return {key: used["plain"] for key, used in uses().items() if used["at"] and used["plain"]}


def test_no_relation_is_wired_twice():
    found = {key: places for key, places in twice().items() if key not in EXCEPTIONS}
    said = "\n".join(f"{key}: {', '.join(sorted(places))}" for key, places in sorted(found.items()))
    assert not found, f"{len(found)} relations are wired twice:\n{said}"


def test_exceptions_are_few_and_needed():
    assert len(EXCEPTIONS) <= 10 and all(len(why) > 20 for why in EXCEPTIONS.values())
    assert not EXCEPTIONS.keys() - twice().keys(), "no longer wired twice: take it off the list"


def test_uses_are_found_however_a_relation_is_named():
    module = "desalbook.plant.toy"
    tree = ast.parse(
        "from desalbook.trail.toy import other\nfrom desalbook import membrane as m\n"
        "from desalbook.membrane import transport as t\nimport desalbook.toy as duty\n"
        "from .near import close as near\n"
        "@relation('x')\ndef own(a):\n    return a\n"
        "def f():\n    own.at('x', a=1)\n    t.flux.plain(1)\n    duty.flows.at('y')\n    near.plain(2)\n"
        "    for r in (own, other):\n        r.plain(3)\n    other.plain.__name__\n    t.drop(4)\n")
    used = uses_of(tree, names_of(module, tree, False))
    got = {(what, how) for what, how, _ in used if what.partition(":")[2] != "relation"}
    assert got == {(f"{module}:own", "at"), ("desalbook.membrane.transport:flux", "plain"),
                   ("desalbook.toy:flows", "at"), ("desalbook.plant.near:close", "plain"),
                   ("desalbook.trail.toy:other", "plain"), ("desalbook.membrane.transport:drop", "plain")}


def test_the_kit_is_seen_whole():
    """Nearly every relation is used by name somewhere, so a wiring that is not seen is an exception itself."""
    seen = sum(bool(used["at"] or used["plain"]) for used in uses().values())
    assert seen > 0.9 * len(uses()) and len(trees()) > 100
