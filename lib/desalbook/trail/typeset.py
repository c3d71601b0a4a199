"""Presentation MathML from a relation's tree, in the author's order, with no more parentheses than needed."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from html import escape
from typing import Any

from desalbook.problems import TrailError
from desalbook.trail import symbols as sym
from desalbook.trail.extent import extent
from desalbook.trail.glossary import symbol_of
from desalbook.trail.ledger import Line
from desalbook.trail.stored import stored_line, stored_relation, value_at

__all__ = ["LINE", "argument_symbols", "equation", "number", "numbers", "quantity", "unit_text"]

_SUPER = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")
# how tightly a piece holds together; a piece is wrapped where something tighter is wanted
CASES, SUM, NEG, PRODUCT, CALL, ATOM = range(6)
_SIGN = {"lt": "&lt;", "le": "\N{LESS-THAN OR EQUAL TO}", "gt": "&gt;", "ge": "\N{GREATER-THAN OR EQUAL TO}"}
_NAMED = {
    "log": "<mi>ln</mi>",
    "log10": "<msub><mi>log</mi><mn>10</mn></msub>",
    "exp": "<mi>exp</mi>",
    "minimum": "<mi>min</mi>",
    "maximum": "<mi>max</mi>",
}
LINE = 42.0
"""Width of a line of equations in em: what the narrower paper holds at the size of its equations."""
_SHOWN_KEYS = 4  # a short column is written out where it is summed

Piece = tuple[str, int]


def unit_text(unit: str | None) -> str:
    """A coherent unit with superscripts: ``kg/(m³ s)``; empty for a bare number."""
    if not unit or unit == "1":
        return ""
    out, i = "", 0
    while i < len(unit):
        if unit[i] == "^":
            j = i + 1
            while j < len(unit) and unit[j] in "-0123456789":
                j += 1
            out += unit[i + 1 : j].translate(_SUPER)
            i = j
        else:
            out += unit[i]
            i += 1
    return out


def number(value: float | str, digits: int = 5) -> str:
    """MathML of a number: a literal as its author wrote it, a float to so many significant digits."""
    if isinstance(value, str):
        plain = value.lower()
        if "e" not in plain:
            return f"<mn>{escape(plain.removesuffix('.0'))}</mn>"
        mantissa, _, power = plain.partition("e")
        return _scientific(mantissa.removesuffix(".0"), int(power))
    if value == 0 or not math.isfinite(value):
        return f"<mn>{value:g}</mn>"
    power = math.floor(math.log10(abs(value)))
    if -4 <= power < 6:
        shown = f"{value:.{digits}g}"
        if "e" in shown:
            shown = f"{float(shown):.0f}"
        return f"<mn>{_grouped(shown)}</mn>".replace("<mn>-", "<mo>\N{MINUS SIGN}</mo><mn>")
    mantissa, _, ten = f"{value:.{digits - 1}e}".partition("e")
    return _scientific(mantissa.rstrip("0").rstrip("."), int(ten))


def _grouped(shown: str) -> str:
    sign, body = ("-", shown[1:]) if shown[0] == "-" else ("", shown)
    whole, point, rest = body.partition(".")
    return (
        sign + (f"{int(whole):,}".replace(",", "\N{THIN SPACE}") if len(whole) > 3 else whole) + point + rest
    )


def _scientific(mantissa: str, power: int) -> str:
    ten = f"<msup><mn>10</mn><mn>{str(power).replace('-', chr(0x2212))}</mn></msup>"
    minus = "<mo>\N{MINUS SIGN}</mo>" if mantissa.startswith("-") else ""
    front = mantissa.lstrip("-")
    return f"{minus}{ten}" if front == "1" else f"{minus}<mn>{front}</mn><mo>×</mo>{ten}"


def quantity(value: float, unit: str | None, digits: int = 5) -> str:
    """MathML of a number and its unit, as one row."""
    shown = unit_text(unit)
    tail = f'<mspace width="0.17em"/><mtext>{escape(shown)}</mtext>' if shown else ""
    return f"<mrow>{number(float(value), digits)}{tail}</mrow>"


def _wrap(piece: Piece, least: int) -> str:
    text, holds = piece
    return text if holds >= least else _fence("(", text, ")")


def _fence(left: str, text: str, right: str) -> str:
    """Brackets as high as what they hold: plain round one line, grown round a fraction and no higher than it.

    Without a mathematical font a browser grows them evenly about the line, to twice the height that is needed.
    """
    tall = left in "([" and any(sign in text for sign in ("<mfrac>", "<mtable", "<munder>"))
    grows = 'symmetric="false"' if tall else 'stretchy="false"'
    return f"<mrow><mo {grows}>{left}</mo>{text}<mo {grows}>{right}</mo></mrow>"


class _Setter:
    """One walk over a tree; `leaf` says how an argument or a constant is shown."""

    def __init__(
        self,
        leaf: Callable[[str, str, bool], Piece],
        index: str,
        tables: Mapping[str, Any],
        column: Callable[[str], list[Piece] | None],
        times: str,
    ):
        self.leaf, self.index, self.tables, self.column, self.times = leaf, index, tables, column, times

    def walk(self, t: list, summed: bool = False) -> Piece:
        op = t[0]
        if op == "num":
            shown = number(t[1])
            return f"<mrow>{shown}</mrow>" if "<mo>" in shown else shown, PRODUCT if "<mo>" in shown else ATOM
        if op in ("arg", "const"):
            return self.leaf(op, t[1], summed)
        if op == "neg":
            return f"<mrow><mo>\N{MINUS SIGN}</mo>{_wrap(self.walk(t[1], summed), PRODUCT)}</mrow>", NEG
        if op == "call":
            return self.call(t[1], t[2:], summed)
        a = self.walk(t[1], summed)
        b = self.walk(t[2], summed)
        if op == "add":
            return f"<mrow>{_wrap(a, SUM)}<mo>+</mo>{_wrap(b, PRODUCT)}</mrow>", SUM
        if op == "sub":
            return f"<mrow>{_wrap(a, SUM)}<mo>\N{MINUS SIGN}</mo>{_wrap(b, PRODUCT)}</mrow>", SUM
        if op == "mul":
            return f"<mrow>{_wrap(a, PRODUCT)}{self.sign(t)}{_wrap(b, PRODUCT)}</mrow>", PRODUCT
        if op == "div":
            return f"<mfrac>{_row(a[0])}{_row(b[0])}</mfrac>", PRODUCT
        if op == "pow":
            return f"<msup>{_wrap(a, ATOM)}{_row(b[0])}</msup>", CALL
        return f"<mrow>{_wrap(a, SUM)}<mo>{_SIGN[op]}</mo>{_wrap(b, SUM)}</mrow>", CASES

    def sign(self, t: list) -> str:
        """A product is shown by a thin space, by a cross where two numbers would run together."""
        first = t[2]
        while first[0] in ("mul", "div", "pow", "add", "sub"):
            first = first[1]
        return self.times if first[0] != "num" else "<mo>×</mo>"

    def chain(self, t: list, room: float) -> list[str]:
        """The expression in pieces that may stand on lines of their own, each with the sign it begins with.

        The terms of a sum at the top, else the factors of a product; a piece that is wider than the room is broken
        further, at the operators inside its parentheses, and a wide fraction is written along the line.
        """
        return self.pieces(t, room, self.terms(t) if t[0] in ("add", "sub") else self.factors(t, room))

    def pieces(self, t: list, room: float, parts: list[tuple[str, list, int]]) -> list[str]:
        found = []
        for sign, part, least in parts:
            text = sign + _wrap(self.walk(part), least)
            if extent(text).wide <= room:
                found.append(text)
                continue
            first, *rest = self.broken(part, least, room)
            found += [sign + first, *rest]
        return found

    def terms(self, t: list) -> list[tuple[str, list, int]]:
        """Terms of a sum: sign, tree, how tightly it must hold together."""
        if t[0] not in ("add", "sub"):
            return [("", t, SUM)]
        sign = "<mo>+</mo>" if t[0] == "add" else "<mo>\N{MINUS SIGN}</mo>"
        return [*self.terms(t[1]), (sign, t[2], PRODUCT)]

    def factors(self, t: list, room: float) -> list[tuple[str, list, int]]:
        """Factors of a product; anything else is one piece."""
        if t[0] != "mul":
            return [("", t, CASES)]
        first = self.factors(t[1], room)
        return [(s, p, max(least, PRODUCT)) for s, p, least in first] + [(self.sign(t), t[2], PRODUCT)]

    def broken(self, t: list, least: int, room: float) -> list[str]:
        """A piece that is too wide, as pieces that are not, with the parentheses that hold it together."""
        op, inner = t[0], room - 1.0
        if op in ("add", "sub"):
            found, holds = self.pieces(t, inner, self.terms(t)), SUM
        elif op == "mul":
            found, holds = self.pieces(t, inner, self.factors(t, inner)), PRODUCT
        elif op == "div":
            above = self.pieces(t[1], inner, [("", t[1], PRODUCT)])
            below = self.pieces(t[2], inner, [("<mo>/</mo>", t[2], CALL)])
            found, holds = [*above, *below], PRODUCT
        elif op == "neg":
            found, holds = self.pieces(t, inner, [("<mo>\N{MINUS SIGN}</mo>", t[1], PRODUCT)]), NEG
        elif op == "pow":
            *found, last = self.pieces(t[1], inner, [("", t[1], ATOM)])
            found, holds = [*found, f"<msup><mrow>{last}</mrow>{_row(self.walk(t[2])[0])}</msup>"], CALL
        elif op == "call" and t[1] == "where":
            found, holds = self.branches(t, inner), SUM
        elif op == "call" and t[1] in ("up", "sqrt", "exp", "log", "log10", "minimum", "maximum"):
            name = {"up": "<mi>ceil</mi>", "sqrt": "<mi>sqrt</mi>"}.get(t[1]) or _NAMED[t[1]]
            parts = [("<mo>,</mo>" if n else "", a, SUM) for n, a in enumerate(t[2:])]
            found, holds = _held(self.pieces(t, inner, parts), name), CALL
        else:
            return [_wrap(self.walk(t), least)]
        return _held(found) if holds < least else found

    def branches(self, t: list, room: float) -> list[str]:
        """A choice along the line: value if condition, value otherwise."""
        found, rest = [], t
        while rest[0] == "call" and rest[1] == "where":
            condition, value, rest = rest[2], rest[3], rest[4]
            sign = "<mo>;</mo>" if found else ""
            found += self.pieces(t, room, [(sign, value, SUM),
                                           ("<mtext>\N{NO-BREAK SPACE}if\N{NO-BREAK SPACE}</mtext>", condition, SUM)])
        return [*found, *self.pieces(t, room, [("<mo>;</mo>", rest, SUM)]),
                "<mtext>\N{NO-BREAK SPACE}otherwise</mtext>"]

    def call(self, name: str, args: list, summed: bool) -> Piece:
        if name == "where":
            return self.cases(args, summed), CASES
        if name == "sqrt":
            return f"<msqrt>{self.walk(args[0], summed)[0]}</msqrt>", CALL
        if name == "up":
            return _fence("\N{LEFT CEILING}", self.walk(args[0], summed)[0], "\N{RIGHT CEILING}"), ATOM
        if name == "lookup":
            title = self.tables.get(args[0][1], {}).get("title") or args[0][1]
            return (
                f"<mrow><mtext>{escape(title)}</mtext>"
                f"{_fence('(', self.walk(args[1], summed)[0], ')')}</mrow>",
                CALL,
            )
        if name in ("total", "dot"):
            return self.sum(name, args), PRODUCT if len(args) == 2 else SUM
        if name in ("largest", "smallest", "last"):
            return self.of_axis(name, args[0])
        inner = "<mo>,</mo>".join(self.walk(a, summed)[0] for a in args)
        return f"<mrow>{_NAMED[name]}<mo>\N{FUNCTION APPLICATION}</mo>{_fence('(', inner, ')')}</mrow>", CALL

    def written_out(self, args: list) -> list[list[Piece]] | None:
        if any(a[0] != "arg" for a in args):
            return None
        rows = [r for a in args if (r := self.column(a[1])) is not None and len(r) <= _SHOWN_KEYS]
        return rows if len(rows) == len(args) and len({len(r) for r in rows}) == 1 else None

    def sum(self, name: str, args: list) -> str:
        rows = self.written_out(args)
        if rows is not None:
            terms = ["<mo>×</mo>".join(_wrap(p, PRODUCT) for p in term) for term in zip(*rows, strict=True)]
            return _fence("(", "<mo>+</mo>".join(terms), ")")
        inner = self.times.join(_wrap(self.walk(a, True), PRODUCT) for a in args)
        return f"<mrow><munder><mo>∑</mo><mi>{self.index}</mi></munder>{inner}</mrow>"

    def of_axis(self, name: str, arg: list) -> Piece:
        rows = self.written_out([arg])
        word = {"largest": "max", "smallest": "min", "last": "last"}[name]
        if rows is not None:
            inner = "<mo>,</mo>".join(p[0] for p in rows[0])
            return f"<mrow><mi>{word}</mi>{_fence('(', inner, ')')}</mrow>", CALL
        inner = _fence("(", self.walk(arg, True)[0], ")")
        return f"<mrow><munder><mi>{word}</mi><mi>{self.index}</mi></munder>{inner}</mrow>", CALL

    def cases(self, args: list, summed: bool) -> str:
        rows, rest = [], ["call", "where", *args]
        while rest[0] == "call" and rest[1] == "where":
            condition, value, rest = rest[2], rest[3], rest[4]
            rows.append(
                (
                    self.walk(value, summed)[0],
                    f"<mtext>if\N{NO-BREAK SPACE}</mtext>{self.walk(condition, summed)[0]}",
                )
            )
        rows.append((self.walk(rest, summed)[0], "<mtext>otherwise</mtext>"))
        body = "".join(f"<mtr>{_left(v)}{_left(c)}</mtr>" for v, c in rows)
        # a ruled edge instead of a brace: a brace grows only where a mathematical font is installed
        return (
            '<mtable displaystyle="true" style="border-left:0.08em solid currentcolor;padding-left:0.35em">'
            f"{body}</mtable>"
        )


def _left(text: str) -> str:
    return f'<mtd columnalign="left" style="text-align:left">{_row(text)}</mtd>'


def _row(text: str) -> str:
    return (
        text
        if text.startswith(("<mrow>", "<mn>", "<mi", "<msub", "<msup", "<mfrac", "<msqrt")) and _single(text)
        else f"<mrow>{text}</mrow>"
    )


def _single(text: str) -> bool:
    """True when the text is one element."""
    depth, i = 0, 0
    while i < len(text):
        if text[i] != "<":
            i += 1
            continue
        end = text.index(">", i)
        if text[i + 1] == "/":
            depth -= 1
        elif text[end - 1] != "/":
            depth += 1
        i = end + 1
        if depth == 0 and i < len(text):
            return False
    return True


def _held(parts: list[str], name: str = "") -> list[str]:
    """Pieces in parentheses that do not grow, for what they hold may stand on several lines."""
    if len(parts) == 1:
        return [f'{name}<mo stretchy="false">(</mo>{parts[0]}<mo stretchy="false">)</mo>']
    return [f'{name}<mo stretchy="false">(</mo>{parts[0]}', *parts[1:-1], f'{parts[-1]}<mo stretchy="false">)</mo>']


def _math(left: str, parts: list[str], result: str = "") -> str:
    """Symbol, expression and result; a long expression goes over several lines, broken before an operator."""
    tail = f"<mo>=</mo>{result}" if result else ""
    wide, own = [extent(p).wide for p in parts], extent(left).wide + 1.5
    if own + sum(wide) + extent(tail).wide <= LINE:
        return f'<math display="block"><mrow>{left}<mo>=</mo>{"".join(parts)}{tail}</mrow></math>'
    rows, room = [""], own
    for part, width in zip(parts, wide, strict=True):
        room += width
        if room > LINE - 1.2 and rows[-1]:
            rows.append("")
            room = own + width
        rows[-1] += part
    cells = [f"<mtd>{left}</mtd>" + _left(f"<mo>=</mo>{rows[0]}")]
    cells += ["<mtd></mtd>" + _left(f'<mspace width="1.2em"/>{row}') for row in rows[1:]]
    if tail:
        cells.append(f"<mtd></mtd>{_left(tail)}")
    body = "".join(f"<mtr>{c}</mtr>" for c in cells)
    return f'<math display="block"><mtable displaystyle="true">{body}</mtable></math>'


def _direct_columns(tree: list) -> set[str]:
    """Arguments that stand bare inside a function over an axis: columns whatever the line."""
    found: set[str] = set()
    if tree[0] == "call" and tree[1] in ("total", "dot", "largest", "smallest", "last"):
        found |= {a[1] for a in tree[2:] if a[0] == "arg"}
    for part in tree[1:]:
        if isinstance(part, list):
            found |= _direct_columns(part)
    return found


def equation(
    relation: Any,
    symbols: Mapping[str, str] | None = None,
    *,
    columns: Mapping[str, str] | None = None,
    symbol: str | None = None,
    along: str | None = None,
) -> str:
    """Symbol = expression.

    Parameters
    ----------
    relation : Relation or its stored form
    symbols : mapping, optional
        Symbol by argument; the glossary's where it is silent.
    columns : mapping, optional
        Axis by argument, for arguments that are columns; those that stand bare inside a sum are known.
    symbol : str, optional
        Of the result, instead of the relation's.
    along : str, optional
        Axis of the result.

    Returns
    -------
    str
        One ``<math>`` element.
    """
    r = stored_relation(relation)
    shown = {a["name"]: (symbols or {}).get(a["name"]) or a["symbol"] for a in r["args"]}
    axis = dict(columns) if columns is not None else dict.fromkeys(_direct_columns(r["tree"]), "")
    index = sym.AXIS_INDEX.get(next(iter(axis.values()), ""), "i")

    def leaf(what: str, name: str, summed: bool) -> Piece:
        if what == "const":
            return sym.mathml(r["constants"][name]["symbol"]), ATOM
        return sym.mathml(shown[name], index if name in axis else None), ATOM

    space = '<mo>\N{INVISIBLE TIMES}</mo><mspace width="0.17em"/>'
    left = sym.mathml(symbol or r["symbol"], index if along else None)
    setter = _Setter(leaf, index, r["tables"], lambda name: None, space)
    parts = setter.chain(r["tree"], LINE - 2.7 - extent(left).wide)
    return _math(left, parts)


def argument_symbols(line: Any, lines: Mapping[str, Any] | None = None) -> dict[str, str]:
    """Symbol by argument: the input line's own, the glossary's where two inputs would share one."""
    stored = stored_line(line)
    own: dict[str, str] = {}
    for name, where in stored["inputs"].items():
        if isinstance(line, Line):
            own[name] = getattr(line.inputs[name], "symbol", "")
        elif lines is not None:
            own[name] = lines[where if isinstance(where, str) else where[0]]["symbol"]
        key = None if isinstance(where, str) else where[1]
        if own.get(name) and key is not None:
            own[name] += f"_{key}"
    taken = [s for s in own.values() if s] + [stored["symbol"]]
    return {name: s if s and taken.count(s) == 1 else symbol_of(name) for name, s in own.items()}


Read = Callable[[float, str | None, str | None], tuple[float, str]]
"""Of a value in coherent SI, its kind (None for a constant) and unit: the number and unit to show."""


def numbers(
    line: Any, lines: Mapping[str, Any] | None = None, relations: Mapping[str, Any] | None = None,
    read: Read | None = None,
) -> str:
    """Symbol = expression with numbers and units = result; each number carries its unit, so it holds as it stands.

    Parameters
    ----------
    line : Line, or a stored line with `lines` and `relations` of its record by id and key
    read : callable, optional
        How numbers are shown; coherent SI without it. Its units must differ from coherent SI by a factor alone.

    Returns
    -------
    str
        One ``<math>`` element. A column keeps its symbol with an index, unless it is short and summed.
    """
    stored = stored_line(line)
    if isinstance(line, Line):
        r = stored_relation(line.relation)
        values = {n: (getattr(x, "values", x), x.kind.name, x.kind.si) for n, x in line.inputs.items()}
        axes = {n: x.axis for n, x in line.inputs.items() if hasattr(x, "keys")}
    else:
        if lines is None or relations is None:
            raise TrailError("a stored line is set with the lines and relations of its record", where=stored["id"])
        r = relations[stored["relation"]]
        values, axes = {}, {}
        for name, where in stored["inputs"].items():
            source, value = value_at(lines, where)
            values[name] = (value, source["kind"], source["unit"])
            if isinstance(value, list):
                axes[name] = source["axis"]
    symbols = argument_symbols(line, lines)
    index = sym.AXIS_INDEX.get(next(iter(axes.values()), ""), "i")

    def amount(number: Any, kind: str | None, unit: str | None) -> Piece:
        value = float(number)
        if read is not None:
            value, unit = read(value, kind, unit)
        text = quantity(value, unit)
        bare = not unit_text(unit) and value >= 0 and "<mo>" not in text
        return text, ATOM if bare else NEG if value < 0 else PRODUCT

    def leaf(what: str, name: str, summed: bool) -> Piece:
        if what == "const":
            c = r["constants"][name]
            return amount(c["value"], None, c["unit"])
        if name in axes:
            return sym.mathml(symbols.get(name) or symbol_of(name), index), ATOM
        one, kind, unit = values[name]
        return amount(one, kind, unit)

    def column(name: str) -> list[Piece] | None:
        if name not in axes:
            return None
        many, kind, unit = values[name]
        return [amount(v, kind, unit) for v in many]

    setter = _Setter(leaf, index, r["tables"], column, "<mo>×</mo>")
    along = stored["axis"] if isinstance(stored["value"], list) else None
    left = sym.mathml(stored["symbol"] or r["symbol"], index if along else None)
    parts = setter.chain(r["tree"], LINE - 2.7 - extent(left).wide)
    return _math(left, parts, "" if along else amount(stored["value"], stored["kind"], stored["unit"])[0])
