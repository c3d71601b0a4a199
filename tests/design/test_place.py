"""A refusal of the schema names the line of the file as well as the key."""

from __future__ import annotations

import pickle
import random
import re
import tomllib
from pathlib import Path

import pytest

import desalbook as db
from desalbook import cli, paths
from desalbook.design.file import place_of
from desalbook.design.place import line_of
from desalbook.problems import DesignError, Infeasible

FILES = [paths.demo("harbour-town.toml"), paths.demo("beach-well.toml"),
         *sorted((Path(__file__).parents[1] / "plants").glob("*.toml"))]
AWKWARD = '''format = 1
[a]
x = """
y = 3
"""
y = [ # [
  {name = "s1", z = 1},
  {name = "s2", z = 2}, "]",
]
[[list]]
name = "p"
[list.sub]
k = 3
[[list]]
name = "r"
deep.q = 1
"w z".v = '#' # end
[b.c]
d=1'''


@pytest.mark.parametrize(("id", "line"), [
    ("format", 1), ("a", 2), ("a.x", 3), ("a.y", 6), ("a.y[s2].z", 8), ("a.y[1]", 7), ("list[p].sub.k", 13),
    ("list[r].name", 15), ("list[r].deep.q", 16), ("list[r].not_there", 14), ("list[2]", 14), ("b.c.d", 19),
    ("not_there.key", 0)])
def test_a_line_is_found_in_any_form_of_the_file(id, line):
    assert line_of(AWKWARD, tomllib.loads(AWKWARD), id) == line


def test_every_key_of_every_plant_is_found_at_its_line():
    seen = 0
    for path in FILES:
        text = path.read_text(encoding="utf-8")
        written, rows = tomllib.loads(text), text.splitlines()
        for section, keys in written.items():
            for key in keys if isinstance(keys, dict) else ():
                row = rows[line_of(text, written, f"{section}.{key}") - 1]
                assert re.match(rf"\s*{key}\s*=|\[+{section}\.{key}\]+", row), (path.name, section, key, row)
                seen += 1
    assert seen > 200


def test_a_value_that_is_refused_is_named_with_its_line(tmp_path):
    text = FILES[0].read_text(encoding="utf-8")
    rows = text.splitlines()
    some = [n for n, row in enumerate(rows) if re.match(r'[a-z_]+ = "[\d.]+ ', row)]
    for n in random.Random(4).sample(some, 12):
        key = rows[n].partition(" ")[0]
        bad = [*rows[:n], f'{key} = "three barrels"', *rows[n + 1:]]
        path = tmp_path / "mine.toml"
        path.write_text("\n".join(bad), encoding="utf-8")
        with pytest.raises(DesignError) as caught:
            db.read(path)
        told = str(caught.value)
        assert told.startswith(f"mine.toml, line {n + 1}: ") and f".{key} = " in told, told
        assert "\n" not in told and caught.value.where.endswith(f".{key}")
        assert str(pickle.loads(pickle.dumps(caught.value))) == told


@pytest.mark.parametrize(("more", "line"), [
    ('[[elements]]\nname = "a"\nbased_on = "demo-a-standard"\naera = "3 m2"\n', 4),
    ('[[elements]]\nname = "a"\nbased_on = "demo-a-standard"\n[[elements]]\nname = "a"\n', 4),
    ("[membranes]\n", 1), ("[limits]\nflux_seawater_open = 0.2\n", 2)])
def test_keys_and_tables_that_are_none_are_named_with_their_line(more, line, tmp_path, capsys):
    text = FILES[0].read_text(encoding="utf-8")
    path = tmp_path / "mine.toml"
    path.write_text(f"{text}\n{more}", encoding="utf-8")
    assert cli.main(["size", str(path)]) == 2
    told = capsys.readouterr().err
    assert told.startswith(f"mine.toml, line {text.count(chr(10)) + 1 + line}: "), told


def test_beside_a_field_the_key_alone_is_named():
    with pytest.raises(DesignError) as caught:
        db.read(FILES[0]).with_value("membrane.recovery", "39 m")
    assert str(caught.value).startswith("membrane.recovery = ")


def test_what_cannot_be_sized_is_named_with_its_line(tmp_path, capsys):
    """A design that is read and has no answer: file, line and key, as of a refusal of the schema."""
    text = FILES[0].read_text(encoding="utf-8")
    row = next(n for n, x in enumerate(text.splitlines(), 1) if x.startswith("recovery = "))
    held = re.sub(r'(?m)^recovery = .*$', 'recovery = "39 %"\nvessels = 2', text)
    path = tmp_path / "mine.toml"
    path.write_text(held, encoding="utf-8")
    assert cli.main(["size", str(path)]) == 4
    told = capsys.readouterr().err
    assert told.startswith(f"mine.toml, line {row + 1}: membrane.vessels = "), told
    # a key that the file leaves blank: the line of its table; one that was edited since is at no line of the file
    with pytest.raises(Infeasible) as caught:
        db.size(db.read(FILES[0]).with_value("membrane.vessels", "2"))
    assert str(caught.value).startswith("membrane.vessels = ")
    table = text.splitlines().index("[membrane]") + 1
    assert place_of(db.read(FILES[0]), "membrane.vessels") == f"{FILES[0].name}, line {table}"


SLIPS = {  # what a line of a file says, and the end of the refusal
    'ph\N{NO-BREAK SPACE}= 8.1': "Enter ph = 8.1 with plain spaces in place of a no-break space.",
    "trains = 2 // two": "Enter trains = 2 # two.",
    "trains = 2,": "Enter trains = 2.",
    'recovery = \N{LEFT DOUBLE QUOTATION MARK}42 %\N{RIGHT DOUBLE QUOTATION MARK};': 'Enter recovery = "42 %".',
    'temperature cold = "14 degC"': 'Enter temperature_cold = "14 degC".',
    "[post chlorination]": "Enter [post_chlorination].",
    "; a remark": "Begin a remark with #.",
    "> [duty]": 'Remove the ">" at the beginning of the lines, which a mail program set there.',
    'name = "a\0b"': "Remove the character in it that cannot be seen.",
}
SALT = '[water]\nsea_salinity = "35 g/kg"\n'
MISPLACED = {  # a text of a file, and the end of the refusal
    '[water]\nboron_limit = "1 mg/L as B"': "Move it to its section, [product].",
    '[water.ions]\nSodium = "11 g/L"': "Enter Na.",
    '[water.ions]\nBa = "<0.01 mg/L"': "Enter 0.01 mg/L to stay on the safe side, or clear it.",
    '[water.ions]\nB = "4.7 \N{PLUS-MINUS SIGN} 0.2 mg/L"': "Enter 4.7 mg/L.",
    '[water]\ntemperature_hot = "29 \N{MASCULINE ORDINAL INDICATOR}C"': "Enter 29 degC.",
    '[water]\ntemperature_hot = "84 Fahrenheit"': "Enter 84 degF.",
    f"{SALT}[acid]\npresent = false": 'acid.present = false: not one of the choices; allowed yes, no. Enter "no" if '
                                      "that is meant.",
    f"{SALT}[membrane]\nage = 2024-01-01": "Enter one number and one unit, such as 10 year.",
}


def test_a_slip_is_refused_with_the_line_as_it_was_meant():
    for row, end in SLIPS.items():
        with pytest.raises(DesignError) as caught:
            db.read(f"format = 1\n{row}\n")
        assert str(caught.value).endswith(end) and "line 2" in str(caught.value), (row, str(caught.value))


def test_what_stands_in_the_wrong_place_or_words_is_refused_with_what_was_meant():
    for text, end in MISPLACED.items():
        with pytest.raises(DesignError) as caught:
            db.read(f'format = 1\n[duty]\ntrain_product_flow = "2400 m3/d"\n{text}\n')
        assert str(caught.value).endswith(end) and "datetime" not in str(caught.value), (text, str(caught.value))


def test_a_file_of_carriage_returns_alone_says_so():
    with pytest.raises(DesignError, match="Save the file with line ends LF or CRLF"):
        db.read("format = 1\r[duty]\r")
