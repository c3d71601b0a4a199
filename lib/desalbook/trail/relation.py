"""`@relation`: one engineering equation, written once.

From the text of the function come the number, the typeset equation, the unit test and the spreadsheet
formula. The text and the function cannot differ: the module's file is parsed once and both are made
from that tree.
"""

from __future__ import annotations

import ast
import functools
import hashlib
import inspect
import json
import math
import sys
import textwrap
import types
import typing
from dataclasses import dataclass, field

import numpy as np

from desalbook.problems import TrailError
from desalbook.trail import expression
from desalbook.trail import functions as f
from desalbook.trail.figure import Column, Figure
from desalbook.trail.functions import Lookup
from desalbook.trail.handbook import Called, Entry
from desalbook.trail.ledger import Line, Values, current, opened
from desalbook.units.kinds import Kind

__all__ = ["REGISTER", "Constant", "Relation", "constant", "relation"]

REGISTER: dict[str, Relation] = {}


@dataclass(frozen=True)
class Constant:
    """A named constant: symbol, value in coherent SI, unit, source."""

    symbol: str
    value: float
    unit: str
    source: str
    title: str = ""


def constant(symbol: str, value: float, unit: str, *, source: str, title: str = "") -> typing.Any:
    """A constant a relation may name; ``unit`` is coherent SI text, ``"1"`` when it has none."""
    return Constant(symbol, float(value), unit, source, title)


@dataclass(frozen=True)
class Argument:
    """One argument of a relation."""

    name: str
    kind: Kind


@dataclass(eq=False)
class Relation:
    """A recorded, typesettable, testable equation.

    Attributes
    ----------
    key : str
        Module and function, the lasting name in the register.
    title, symbol, source, place, note : str
    kind : Kind
        What the result means.
    args : tuple of Argument
    tree : list
        The expression (see `expression`).
    plain : callable
        The equation on floats or arrays, in coherent SI.
    within : dict
        Range of validity by argument (or ``"result"``) as pairs of text with units, None when open.
    """

    __doc__ = Entry(__doc__)  # pyright: ignore[reportAssignmentType]  # of a relation: its entry, for `help`
    __signature__ = Called()

    key: str
    title: str
    symbol: str
    kind: Kind
    args: tuple[Argument, ...]
    tree: list
    constants: dict[str, Constant]
    tables: dict[str, Lookup]
    plain: typing.Callable
    source: str
    place: str = ""
    note: str = ""
    doc: str = ""
    within: dict[str, tuple[str | None, str | None]] = field(default_factory=dict)
    site: str = ""

    @property
    def __name__(self) -> str:
        return self.key.rpartition(":")[2]

    def __repr__(self) -> str:
        return f"<relation {self.key}>"

    @functools.cached_property
    def hash(self) -> str:
        """Changes when the equation, its units, constants or source change."""
        stuff = [self.tree, [(a.name, a.kind.family, a.kind.si) for a in self.args], self.kind.si,
                 self.source, self.place,
                 [[n, c.value, c.unit] for n, c in sorted(self.constants.items())],
                 [[n, t.x, t.y] for n, t in sorted(self.tables.items())]]
        return hashlib.sha256(json.dumps(stuff).encode()).hexdigest()[:16]

    @functools.cached_property
    def _names(self) -> list[str]:
        return [a.name for a in self.args]

    @functools.cached_property
    def _names_set(self) -> frozenset[str]:
        return frozenset(self._names)

    @functools.cached_property
    def _rational(self) -> bool:
        """Plain numbers give what numpy's give, and are quicker: no power that asks for more than products."""
        return _products_only(self.tree)

    @functools.cached_property
    def _wants(self) -> tuple[tuple[str, Kind], ...]:
        return tuple((a.name, a.kind) for a in self.args)

    @functools.cached_property
    def limits(self) -> dict[str, tuple[float | None, float | None]]:
        """Range of validity in coherent SI."""
        if not self.within:
            return {}
        from desalbook.units import parse

        kinds = {a.name: a.kind for a in self.args} | {"result": self.kind}
        return {n: (None if low is None else parse(low, kinds[n]), None if high is None else parse(high, kinds[n]))
                for n, (low, high) in self.within.items()}

    def at(self, id: str, /, *, title: typing.Any = None, symbol: typing.Any = None,
           note: typing.Any = None, **given: typing.Any) -> typing.Any:
        """Compute one value; under a ledger, record the line that made it.

        Parameters
        ----------
        id : str
            Without the case, which comes from the scope.
        title, symbol, note : str, optional
            Override the relation's own.
        **given : Figure or Column
            The arguments by name; in the values context also bare numbers and arrays over cases, in coherent SI.

        Returns
        -------
        Figure, or Column when an argument is one and the equation does not sum over it; an array where an array
        over cases went in; a bare number in a values context that keeps nothing.

        Raises
        ------
        TrailError
            An argument is missing, unknown, of the wrong kind, or not a Figure or Column.
        """
        book = opened()
        if type(book) is Values:
            return self._value(book, id, title, symbol, given)
        if book is None:
            book = current()
        # named in their order, as nearly always, they are the inputs as they stand
        inputs = given if [*given] == self._names else {name: given.get(name) for name in self._names}
        number = float if self._rational else np.float64
        values, axis = [], None
        for (name, kind), x in zip(self._wants, inputs.values(), strict=True):
            single = isinstance(x, Figure)
            if not single and not isinstance(x, Column):
                raise self._defect(f"argument {name} is {type(x).__name__}, not a Figure or Column", id)
            if x.kind is not kind and x.kind.family != kind.family:
                raise self._defect(f"argument {name} wants {kind.family}, got {x.kind.family} ({x.id})", id)
            if single:
                values.append(number(x))
            else:
                if axis is not None and ((axis.keys is not x.keys and axis.keys != x.keys) or axis.axis != x.axis):
                    raise self._defect(f"argument {name} lies along another axis ({axis.id}, {x.id})", id)
                axis = x
                values.append(x.values)
        if len(given) > len(inputs):
            raise self._defect(f"no argument {sorted(set(given) - set(inputs))[0]}", id)
        try:
            found = self.plain(*values)  # numpy's warnings are off while a ledger records: the result is judged below
        except (ZeroDivisionError, OverflowError):  # numpy's numbers go on, for the branch may not be taken
            found = self.plain(*[np.float64(x) if isinstance(x, float) else x for x in values])
        result, along = found, None
        if axis is not None:
            result = np.asarray(found, dtype=float)
            along = axis if result.ndim else None
        if along is None:
            result = float(result)
            finite = math.isfinite(result)
        else:
            result.setflags(write=False)
            # the sum of squares is finite only where all of them are, and asked for at once
            finite = math.isfinite(result.dot(result)) or bool(np.isfinite(result).all())
        if not finite:
            raise self._defect("the result is not a finite number", id)
        line = Line(id, "computed", title or self.title, symbol or self.symbol, self.kind, result,
                    along.axis if along else None, along.keys if along else None, inputs, self, self.source,
                    self.place, self.note if note is None else note)
        if self.within:
            line.cautions.extend(self._outside(inputs, result))
        return book.add(line)

    def _value(self, book: Values, id: str, title: typing.Any, symbol: typing.Any, given: dict) -> typing.Any:
        """The value alone: the same arithmetic as a recorded line, to the last bit."""
        if not book.keep:
            try:
                return self.plain(**given)
            except TypeError:
                pass  # a Column among them, or an argument that is wrong: told apart below
        names = self._names
        inputs = given
        if [*given] != names:
            if given.keys() != self._names_set:
                wrong = sorted(self._names_set ^ given.keys())[0]
                raise self._defect(f"argument {wrong} is {'missing' if wrong in self._names_set else 'unknown'}", id)
            inputs = {name: given[name] for name in names}
        numbers, axis, cases = [], None, False
        rational = self._rational
        for x in inputs.values():
            kind = type(x)
            if kind is Figure:
                numbers.append(x if rational else np.float64(x))  # arithmetic on a Figure is that of its float
            elif kind is Column:
                axis = x
                numbers.append(x.values)
            elif kind is np.ndarray and x.ndim:
                cases = True
                numbers.append(x)
            else:
                numbers.append(float(x) if rational else np.float64(x))
        try:
            found = self.plain(*numbers)
        except (ZeroDivisionError, OverflowError):
            found = self.plain(*[np.float64(x) if isinstance(x, float) else x for x in numbers])
        if not book.keep:
            return found
        symbol, title = symbol or self.symbol, title or self.title
        if cases:
            if self.within:
                self._caution_cases(book, id, dict(zip(names, numbers, strict=True)), found)
            return book.enter(id, np.asarray(found, dtype=float), self.kind)
        result: typing.Any = found
        if axis is not None:
            result = np.asarray(found, dtype=float)
            if result.ndim:
                if not (math.isfinite(result.dot(result)) or np.isfinite(result).all()):
                    raise self._defect("the result is not a finite number", id)
                result.setflags(write=False)
                made = book.enter(id, result, self.kind, symbol=symbol, title=title, axis=axis.axis, keys=axis.keys)
        if axis is None or not result.ndim:
            result = float(result)
            if not math.isfinite(result):
                raise self._defect("the result is not a finite number", id)
            made = book.number(id, result, self.kind, symbol, title)
        if self.within and (outside := self._outside(inputs, result)):
            book.cautions[made.id] = outside
        return made

    def _caution_cases(self, book: Values, id: str, given: dict, result: typing.Any) -> None:
        for name, (low, high) in self.limits.items():
            x = np.asarray(result if name == "result" else given[name])
            out = (x < low if low is not None else False) | (x > high if high is not None else False)
            if np.any(out):
                what = "the result" if name == "result" else name.replace("_", " ")
                lo, hi = self.within[name]
                book.cautions.setdefault(book._at(id), []).append(
                    (f"{what} lies outside the range of this relation ({lo or 'open'} to {hi or 'open'})", out))

    def _outside(self, given: dict, result) -> list[str]:
        said = []
        for name, (low, high) in self.limits.items():
            x = result if name == "result" else getattr(given[name], "values", given[name])
            if isinstance(x, float):
                out = (low is not None and x < low) or (high is not None and x > high)
            else:
                out = (low is not None and np.any(x < low)) or (high is not None and np.any(x > high))
            if out:
                what = "the result" if name == "result" else name.replace("_", " ")
                lo, hi = self.within[name]
                said.append(f"{what} lies outside the range of this relation ({lo or 'open'} to {hi or 'open'})")
        return said

    def _defect(self, what: str, id: str) -> TrailError:
        frame = sys._getframe(2)
        return TrailError(f"{self.key}: {what}", where=id,
                          do=f"see {frame.f_code.co_filename.rsplit('/', 1)[-1]} line {frame.f_lineno}")

    called: typing.ClassVar[typing.Callable[..., typing.Any]]

    def __call__(self, *args: typing.Any, **named: typing.Any) -> typing.Any:
        """Evaluate it by hand, with quantities, texts with units or Figures; see `answers.call`."""
        return type(self).called(self, *args, **named)


@functools.cache
def _lines_of(path: str) -> list[str]:
    with open(path, encoding="utf-8") as file:
        return file.readlines()


def _function_at(path: str, first: int) -> ast.FunctionDef | None:
    """The function whose decorator stands on a line of a file, parsed by itself: its first line is line 1.

    A topic module is mostly rooms; to parse all of it for its equations would double the time of an import.
    """
    lines = _lines_of(path)
    start = first - 1
    margin = len(lines[start]) - len(lines[start].lstrip())
    end = start
    while end < len(lines) and not lines[end].lstrip().startswith("def "):
        end += 1
    end += 1
    while end < len(lines):
        text = lines[end]
        if text.strip() and len(text) - len(text.lstrip()) <= margin and not text.lstrip().startswith(")"):
            break
        end += 1
    found = ast.parse(textwrap.dedent("".join(lines[start:end])), path).body
    return found[0] if len(found) == 1 and isinstance(found[0], ast.FunctionDef) else None


def relation(title: str, *, symbol: str, unit: str, source: str, place: str = "", note: str = "",
             within: dict | None = None) -> typing.Callable[[typing.Callable], Relation]:
    """Turn a one-expression function into a `Relation`.

    Parameters
    ----------
    title, symbol : str
    unit : str
        Coherent SI unit of the result; must agree with the return annotation.
    source : str
        Key in the bibliography.
    place : str
        Equation, table or page there.
    note : str
        Limits of the model; stands on every line it makes.
    within : dict
        ``{"argument": ("low with unit", "high with unit")}``; outside it the number is given with a caution.
    """

    def make(function) -> Relation:
        key = f"{function.__module__.removeprefix('desalbook.')}:{function.__name__}"
        code = function.__code__
        path, above = code.co_filename, code.co_firstlineno - 1
        node = _function_at(path, code.co_firstlineno)
        if node is None or node.name != function.__name__:
            raise TrailError("the text of the relation was not found", where=key)
        body = [s for s in node.body
                if not (isinstance(s, ast.Expr) and isinstance(s.value, ast.Constant))]
        if len(body) != 1 or not isinstance(body[0], ast.Return) or body[0].value is None:
            raise TrailError("a relation is one return expression", where=key)
        names = code.co_varnames[:code.co_argcount + code.co_kwonlyargcount]
        if function.__defaults__ or function.__kwdefaults__:
            some = [*names[code.co_argcount - len(function.__defaults__ or ()):code.co_argcount],
                    *(function.__kwdefaults__ or ())]
            raise TrailError(f"argument {some[0]} may not have a default", where=key)
        arguments = [Argument(name, _kind_of(_hint(function, name), f"{key} argument {name}")) for name in names]
        kind = _kind_of(_hint(function, "return"), f"{key} result")
        if kind.si.replace(" ", "") != unit.replace(" ", ""):
            raise TrailError(f"unit {unit} is not the unit of {kind.name}, {kind.si}", where=key)
        space = function.__globals__
        constants = {n: v for n, v in space.items() if isinstance(v, Constant)}
        tables = {n: v for n, v in space.items() if isinstance(v, Lookup)}
        tree = expression.to_tree(body[0].value, {a.name for a in arguments}, constants, tables, key, above)
        unused = {a.name for a in arguments} - set(expression.names(tree, "arg"))
        if unused:
            raise TrailError(f"argument {sorted(unused)[0]} is not used", where=key)
        made = Relation(key=key, title=title, symbol=symbol, kind=kind, args=tuple(arguments), tree=tree,
                        constants={n: constants[n] for n in expression.names(tree, "const")},
                        tables={n: tables[n] for n in expression.names(tree, "table")},
                        plain=_compile(node, body[0].value, constants, tables, path, above), source=source,
                        place=place, note=note, doc=inspect.getdoc(function) or "", within=within or {},
                        site=f"{path.rsplit('/', 1)[-1]}:{node.lineno + above}")
        if key in REGISTER and REGISTER[key].hash != made.hash:
            raise TrailError("two relations of one name", where=key)
        made.__module__ = function.__module__  # `help` names it so
        REGISTER[key] = made
        return made

    return make


def _products_only(tree: list) -> bool:
    if tree[0] == "pow" and not (tree[2][0] == "num" and float(tree[2][1]).is_integer()):
        return False  # of a negative number, Python makes a complex one and numpy none
    return all(_products_only(part) for part in tree[1:] if isinstance(part, list))


def _kind_of(hint, where: str) -> Kind:
    for extra in getattr(hint, "__metadata__", ()):
        if isinstance(extra, Kind):
            return extra
    raise TrailError("needs an annotation that carries a kind", where=where)


def _hint(function: typing.Callable, name: str) -> typing.Any:
    """An annotation: a name of the module as nearly all, or what `typing` makes of another."""
    text = function.__annotations__.get(name)
    if isinstance(text, str) and hasattr(known := function.__globals__.get(text), "__metadata__"):
        return known
    return typing.get_type_hints(function, include_extras=True).get(name)


def _compile(node: ast.FunctionDef, expr: ast.expr, constants, tables, path, above: int) -> types.FunctionType:
    args = [ast.copy_location(ast.arg(arg=a.arg), a) for a in node.args.args]
    bare = ast.FunctionDef(name=node.name, args=ast.arguments(
        posonlyargs=[], args=args, kwonlyargs=[], kw_defaults=[], defaults=[]),
        body=[ast.copy_location(ast.Return(value=expr), node)], decorator_list=[])
    module = ast.Module(body=[ast.copy_location(bare, node)], type_ignores=[])
    space: dict = {"__builtins__": {}, **f.ELEMENTWISE, **f.AXIS, "lookup": f.lookup,
                   **{n: c.value for n, c in constants.items()}, **tables}
    exec(compile(module, path, "exec"), space)
    made = space[node.name]
    # its lines are those of the file; to add that to each part of the tree took a tenth of an import
    made.__code__ = made.__code__.replace(co_firstlineno=made.__code__.co_firstlineno + above)
    return made
