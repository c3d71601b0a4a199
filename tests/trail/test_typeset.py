"""MathML: well formed, in the author's order, with the parentheses that are needed and no others."""

from __future__ import annotations

import xml.etree.ElementTree as ET

import pytest

from desalbook.trail import Ledger, given, symbols, typeset
from tests.every import every
from tests.register import by_room, relations
from tests.trail import samples


def read(mathml: str) -> str:
    """A plain reading of MathML: fractions as (a)/(b), powers as ^{b}; also proves it is well formed."""

    def walk(e) -> str:
        kids = [walk(k) for k in e]
        match e.tag:
            case "mfrac":
                return f"[{kids[0]}/{kids[1]}]"
            case "msup":
                return f"{kids[0]}^{{{kids[1]}}}"
            case "msub" | "munder":
                return f"{kids[0]}_{{{kids[1]}}}"
            case "msqrt":
                return "√{" + "".join(kids) + "}"
            case "mtr":
                return ";".join(kids) + "|"
        return (e.text or "") + "".join(kids)

    text = walk(ET.fromstring(mathml))
    return (
        text.replace("\N{INVISIBLE TIMES}", " ").replace("\N{FUNCTION APPLICATION}", "").replace("\xa0", " ")
    )


@pytest.mark.parametrize(
    ("symbol", "reads", "text"),
    [
        ("v_f", "v_{f}", "v_f"),
        ("rho_f", "ρ_{f}", "ρ_f"),
        ("Delta_p", "Δp", "Δp"),
        ("Delta_p_f", "Δp_{f}", "Δp_f"),
        ("d_10", "d_{10}", "d_10"),
        ("kappa_V", "κ_{V}", "κ_V"),
        ("Sigma", "Σ", "Σ"),
        ("sigma", "σ", "σ"),
        ("omega", "ω", "ω"),
        ("pH", "pH", "pH"),
        ("x_in_max", "x_{in,max}", "x_in,max"),
        ("K_w^*", None, "K_w*"),
        ("bar_c", None, "c\N{COMBINING MACRON}"),
        ("T", "T", "T"),
    ],
)
def test_symbols(symbol, reads, text):
    assert symbols.text(symbol) == text
    if reads:
        assert read(symbols.mathml(symbol)) == reads
    ET.fromstring(symbols.mathml(symbol, "i"))


def test_a_symbol_is_escaped():
    assert "<script" not in symbols.mathml("<script>") and "<script" not in symbols.mathml("a_<script>_b")


def test_author_order_and_parentheses():
    read_of = {
        r.key.partition(":")[2]: read(typeset.equation(r, {"x": "x", "z": "z"})) for r in samples.RIGHT
    }
    assert read_of["powers"] == "p=−x^{2}+2^{x^{0.5}}−[x−(z−1)/[x/z]]−x (−z)"
    assert read_of["static_pressure"].endswith("g h") or " g " in read_of["static_pressure"]
    assert read_of["free_velocity"].startswith("v=√{2 g")
    assert (
        read(typeset.equation(samples.filtration_rate, {"flow": "Q", "area": "A", "filters_in_service": "N"}))
        == "v_{f}=[Q/A N]"
    )


def test_cases_are_one_list():
    shown = read(typeset.equation(samples.friction, {"x": "Re"}))
    assert shown == (
        "f=[64/Re];if Re<Re_{t}|[0.3164/Re^{0.25}];if Re≤100000|(1.8 log_{10}([Re/6.9]))^{−2};otherwise|"
    )


def test_sums_carry_an_index():
    shown = read(typeset.equation(samples.mixed, {"flow": "Q", "concentration": "c"}))
    assert shown == "c_{m}=[∑_{i}Q_{i} c_{i}/∑_{i}Q_{i}]"


def test_numbers_with_units_and_result():
    with Ledger().recording() as book:
        samples.filtration_rate.at(
            "f.rate",
            flow=given("f.q", 0.03, "flow", title="q"),
            area=given("f.a", 7.0, "area", title="a"),
            filters_in_service=given("f.n", 8, "count", title="n"),
        )
        shown = read(typeset.numbers(book.lines["f.rate"]))
    assert shown == "v_{f}=[0.03m³/s/7m²×8]=0.00053571m/s"


def test_negative_numbers_are_wrapped_where_they_must_be():
    with Ledger().recording() as book:
        samples.powers.at(
            "f.p", x=given("f.x", 2.0, "factor", title="x"), z=given("f.z", -3.0, "factor", title="z")
        )
        shown = read(typeset.numbers(book.lines["f.p"]))
    assert "2−(−3−1)" in shown and "(−(−3))" in shown


def test_a_short_column_is_written_out_and_a_long_one_is_not():
    def shown(n):
        keys = [f"K{i}" for i in range(n)]
        with Ledger().recording() as book:
            samples.mixed.at(
                "f.m",
                flow=given("f.q", [1.0] * n, "flow", title="q", axis="ion", keys=keys),
                concentration=given("f.c", [2.0] * n, "concentration", title="c", axis="ion", keys=keys),
            )
            return read(typeset.numbers(book.lines["f.m"]))

    assert "1m³/s×2kg/m³+1m³/s×2kg/m³" in shown(2) and "∑" not in shown(2)
    assert "∑_{i}" in shown(9)


def test_two_inputs_of_one_symbol_are_told_apart():
    with Ledger().recording() as book:
        samples.medley.at(
            "f.y",
            x=given("f.a", 2.0, "factor", title="a", symbol="k"),
            z=given("f.b", 2.0, "factor", title="b", symbol="k"),
        )
        got = typeset.argument_symbols(book.lines["f.y"])
    assert got["x"] != got["z"]


@pytest.mark.parametrize(
    ("value", "reads"),
    [
        (1025.0, "1\N{THIN SPACE}025"),
        (0.0, "0"),
        (1.2e-9, "1.2×10^{−9}"),
        (-0.5, "−0.5"),
        (123456.0, "123\N{THIN SPACE}460"),
        (1e-9, "10^{−9}"),
        (6.02e23, "6.02×10^{23}"),
    ],
)
def test_numbers(value, reads):
    assert read(f"<mrow>{typeset.number(value)}</mrow>") == reads


def test_units_have_superscripts():
    assert typeset.unit_text("kg/(m^3 s)") == "kg/(m³ s)" and typeset.unit_text("m^-2") == "m⁻²"
    assert typeset.unit_text("1") == ""


@pytest.mark.parametrize("room", by_room())
def test_every_relation_is_well_formed(room):
    every(by_room()[room], is_well_formed)


def is_well_formed(key: str) -> None:
    root = ET.fromstring(typeset.equation(relations()[key]))
    assert root.tag == "math" and not [e for e in root.iter("mfrac") if len(e) != 2]
    assert all(len(e) == 2 for tag in ("msup", "msub", "munder") for e in root.iter(tag))


def test_an_index_that_stands_in_a_symbol_is_not_said_twice():
    assert symbols.mathml("C_i", "i") == symbols.mathml("C_i") and symbols.text("C_i", "i") == "C_i"
    assert symbols.text("x_y", "i") == "x_y,i" and symbols.text("C_i", "Na") == "C_i,Na"
