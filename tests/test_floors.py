"""The house: a room imports only from the floors below it, and engineering stays in relations."""

from __future__ import annotations

import ast
import re
from functools import cache
from pathlib import Path

import desalbook
from tests.every import every

ROOT = Path(desalbook.__file__).parent
FLOORS = {
    **dict.fromkeys(("problems", "units", "sources", "tables", "guidelines", "data", "paths", "fine", "theme"), 0),
    **dict.fromkeys(("trail", "balances"), 1),
    **dict.fromkeys(("water", "hydraulics"), 2),
    **dict.fromkeys(("pretreatment", "membrane", "dosing", "product", "cleaning", "duty", "electrical", "controls",
                    "cost", "fabrication"), 3),
    "design": 4,
    "plant": 5,
    **dict.fromkeys(("audit", "study"), 6),
    **dict.fromkeys(("api", "calc", "calculated", "display", "drawings", "export", "frames", "pack", "plots"), 7),
    **dict.fromkeys(("one_page", "summary"), 7),
    **dict.fromkeys(("notebook", "reference", "cli", "cli_studies", "lab", "__main__"), 8),
}
FREE_OF_EACH_OTHER = {2, 3, 6}  # rooms of these floors do not import one another
# The package itself is the public interface: it may name everything up to floor 7, lazily.
PUBLIC = {"__init__": 7}
ROOMS = {2, 3, 5}
# Solvers iterate on bare arrays in the values context; they record nothing while they do.
SOLVERS = re.compile(r"(^|/)(solve\w*|solver\w*|march\w*|rate\w*|\w+_solver)\.py$|(^|/)phreeqc/")
LEDGER_CALLS = {"given", "assumed", "engine", "solved", "picked", "govern", "inp"}


# Circles of imports that are being taken out: the list may only shrink.
CIRCLES: tuple[set[str], ...] = ()


def room_of(path: Path) -> str:
    first = path.relative_to(ROOT).parts[0]
    return first.removesuffix(".py")


def floor_of(room: str) -> int:
    return PUBLIC.get(room, FLOORS.get(room, -1))


@cache
def sources() -> tuple[tuple[Path, ast.Module], ...]:
    return tuple((p, ast.parse(p.read_text(encoding="utf-8"), str(p))) for p in sorted(ROOT.rglob("*.py")))


def imported(path: Path, tree: ast.Module) -> list[tuple[str, int]]:
    """Rooms a module imports, at its top or inside a function, also by text."""
    package = path.relative_to(ROOT.parent).parent.parts
    found = []
    for n in ast.walk(tree):
        names: list[str] = []
        if isinstance(n, ast.Import):
            names = [a.name for a in n.names]
        elif isinstance(n, ast.ImportFrom):
            base = ".".join(package[: len(package) - n.level + 1]) if n.level else ""
            whole = ".".join(x for x in (base, n.module or "") if x)
            names = [f"{whole}.{a.name}" for a in n.names] if whole == "desalbook" else [whole]
        elif (
            isinstance(n, ast.Constant)
            and isinstance(n.value, str)
            and re.fullmatch(r"desalbook(\.\w+)+", n.value)
        ):
            names = [n.value]
        for name in names:
            parts = name.split(".")
            if parts[0] == "desalbook" and len(parts) > 1:
                found.append((parts[1], n.lineno))
    return found


def breaches(room: str, others: list[tuple[str, int]]) -> list[str]:
    """Imports that go up, or across a floor whose rooms stand apart."""
    mine, said = floor_of(room), []
    for other, line in others:
        theirs = FLOORS.get(other)
        if other == room or theirs is None:  # a name of the public interface, such as db.read
            continue
        if theirs > mine or (theirs == mine and mine in FREE_OF_EACH_OTHER):
            said.append(f"line {line}: {room} (floor {mine}) imports {other} (floor {theirs})")
    return said


def test_every_room_has_a_floor():
    unknown = {room_of(p) for p, _ in sources()} - set(FLOORS) - set(PUBLIC)
    assert not unknown, f"give {sorted(unknown)} a floor in this test and in the design"


def test_imports_go_down():
    every({str(p.relative_to(ROOT)): (p, tree) for p, tree in sources()}, goes_down)


def goes_down(source: tuple[Path, ast.Module]) -> None:
    path, tree = source
    assert not breaches(room_of(path), imported(path, tree))


def test_the_floor_test_sees_a_breach():
    bad = ast.parse("def f():\n    from desalbook.plant import size\n    from .. import membrane\n")
    got = imported(ROOT / "dosing" / "x.py", bad)
    assert [r for r, _ in got] == ["plant", "membrane"]
    assert len(breaches("dosing", got)) == 2 and len(breaches("plant", got)) == 0
    assert breaches("water", [("hydraulics", 1)]) and not breaches("plant", [("water", 1)])


def module_of(path: Path) -> str:
    parts = path.relative_to(ROOT.parent).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def modules_imported(path: Path, tree: ast.Module, known: set[str]) -> set[str]:
    """Modules of the kit that a module imports: at its top, in a function, for the type checker, by its name."""
    package, found = path.relative_to(ROOT.parent).parent.parts, set()
    for n in ast.walk(tree):
        if isinstance(n, ast.Import):
            found |= {a.name for a in n.names}
        elif isinstance(n, ast.ImportFrom):
            base = ".".join(package[: len(package) - n.level + 1]) if n.level else ""
            whole = ".".join(x for x in (base, n.module or "") if x)
            for a in n.names:  # a name of a package is a module of it, or stands in the package itself
                found.add(f"{whole}.{a.name}" if f"{whole}.{a.name}" in known else whole)
        elif isinstance(n, ast.Constant) and isinstance(n.value, str) and "." in n.value:
            found.add(n.value)
    return found & known - {module_of(path)}


def circles(graph: dict[str, set[str]]) -> list[set[str]]:
    """Groups of modules each of which leads to each other (strongly connected components; Tarjan 1972)."""
    order: dict[str, int] = {}
    low: dict[str, int] = {}
    stack: list[str] = []
    found: list[set[str]] = []

    def visit(v: str) -> None:
        order[v] = low[v] = len(order)
        stack.append(v)
        for w in sorted(graph[v]):
            if w not in order:
                visit(w)
                low[v] = min(low[v], low[w])
            elif w in stack:
                low[v] = min(low[v], order[w])
        if low[v] == order[v]:
            group = set(stack[stack.index(v):])
            del stack[stack.index(v):]
            if len(group) > 1:
                found.append(group)

    for v in sorted(graph):
        if v not in order:
            visit(v)
    return found


def test_no_circle_by_any_kind_of_import():
    known = {module_of(p) for p, _ in sources()}
    found = circles({module_of(p): modules_imported(p, tree, known) for p, tree in sources()})
    new = [sorted(group) for group in found if not any(group <= old for old in CIRCLES)]
    assert not new, new


def test_a_circle_is_seen_however_it_is_closed():
    known = {"desalbook.a", "desalbook.b", "desalbook.c", "desalbook.d"}
    text = ("from __future__ import annotations\nfrom typing import TYPE_CHECKING\nimport desalbook.b\n"
            "if TYPE_CHECKING:\n    from desalbook import c\n"
            "def f():\n    from .d import g\n    return 'desalbook.b'\n")
    got = modules_imported(ROOT / "a.py", ast.parse(text), known)
    assert got == {"desalbook.b", "desalbook.c", "desalbook.d"}
    by_name = ast.parse("import importlib\nimportlib.import_module('desalbook.d')\n")
    assert modules_imported(ROOT / "a.py", by_name, known) == {"desalbook.d"}
    assert circles({"a": {"b"}, "b": {"c"}, "c": {"a", "d"}, "d": {"e"}, "e": set()}) == [{"a", "b", "c"}]
    assert circles({"a": {"b", "c"}, "b": {"c"}, "c": set()}) == []


def called(tree: ast.AST, names: set[str]) -> list[tuple[str, int]]:
    return [
        (n.func.id, n.lineno)
        for n in ast.walk(tree)
        if isinstance(n, ast.Call) and isinstance(n.func, ast.Name) and n.func.id in names
    ]


def test_given_is_made_by_the_design_reader_only():
    for path, tree in sources():
        if room_of(path) != "design" and path != ROOT / "trail" / "ledger.py":
            assert not called(tree, {"given"}), f"{path.relative_to(ROOT)}: {called(tree, {'given'})}"


def records(tree: ast.Module) -> bool:
    """A module that makes lines: it calls `.at(...)` or one of the ledger's functions."""
    at = any(
        isinstance(n, ast.Call) and isinstance(n.func, ast.Attribute) and n.func.attr == "at"
        for n in ast.walk(tree)
    )
    return at or bool(called(tree, LEDGER_CALLS | {"checked"}))


def lint(tree: ast.Module) -> list[str]:
    """Choices between figures outside a relation, as far as the text alone can tell."""
    said = [
        f"line {line}: built-in {name}(): use a relation or a pick"
        for name, line in called(tree, {"min", "max", "sum"})
    ]
    for function in (n for n in ast.walk(tree) if isinstance(n, ast.FunctionDef)):
        figures = set()
        for n in ast.walk(function):
            if isinstance(n, (ast.Assign, ast.AnnAssign)) and n.value is not None and makes_figure(n.value):
                targets = n.targets if isinstance(n, ast.Assign) else [n.target]
                figures |= {t.id for t in targets if isinstance(t, ast.Name)}
        for n in ast.walk(function):
            if isinstance(n, ast.Compare) and any(
                isinstance(o, (ast.Lt, ast.LtE, ast.Gt, ast.GtE)) for o in n.ops
            ):
                for side in (n.left, *n.comparators):
                    if (isinstance(side, ast.Name) and side.id in figures) or makes_figure(side):
                        said.append(
                            f"line {n.lineno}: {ast.unparse(n)}: use `where` in a relation, or a pick"
                        )
                        break
    return said


def makes_figure(n: ast.AST) -> bool:
    if not isinstance(n, ast.Call):
        return False
    if isinstance(n.func, ast.Attribute):
        return n.func.attr == "at"
    return isinstance(n.func, ast.Name) and n.func.id in LEDGER_CALLS


def test_rooms_choose_in_relations():
    every({
        str(p.relative_to(ROOT)): tree for p, tree in sources()
        if floor_of(room_of(p)) in ROOMS and records(tree) and not SOLVERS.search(p.relative_to(ROOT).as_posix())
    }, chooses_in_relations)


def chooses_in_relations(tree: ast.Module) -> None:
    assert not lint(tree)


def test_the_lint_sees_what_it_should():
    bad = ast.parse(
        "def f(inp):\n    a = rate.at('x', flow=q)\n    b = inp('y')\n    if a < b:\n        pass\n"
        "    return max(a, b) if b > 2 else 0\n"
    )
    assert len(lint(bad)) == 3 and records(bad)
    good = ast.parse(
        "def f(inp):\n    a = inp('y')\n    if a is None or a == 'none':\n        return len(x) > 2\n"
    )
    assert lint(good) == []


def test_a_file_holds_one_subject():
    """A file is one machine or subject, with its equations in it; past 900 lines it holds two."""
    long = [
        f"{p.relative_to(ROOT)} ({n})"
        for p, _ in sources()
        if (n := len(p.read_text(encoding="utf-8").splitlines())) > 900
    ]
    assert not long, ", ".join(long)


def test_the_floors_name_the_rooms_that_exist_and_no_others():
    named = set(FLOORS) - {"data", "__main__"}
    there = {p.stem for p in ROOT.glob("*.py") if not p.stem.startswith("__")} | {
        p.name for p in ROOT.iterdir() if (p / "__init__.py").exists() and p.name != "data"}
    assert named == there
    developers = (ROOT.parents[1] / "DEVELOPERS.md").read_text(encoding="utf-8")
    table = developers.partition("| floor | rooms |")[2].partition("\n\n")[0]
    assert set(re.findall(r"`(\w+)`", table)) == there
