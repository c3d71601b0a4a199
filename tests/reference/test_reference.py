"""The reference page: nothing public is left out or unexplained, and every link in it leads somewhere."""

from __future__ import annotations

import re
import subprocess
import sys
from functools import cache
from urllib.parse import unquote

import pytest

import desalbook
from desalbook import calc, cli, reference
from desalbook.calc.examples import EXAMPLES, called
from desalbook.design import SECTIONS
from desalbook.reference.checks import GAP
from desalbook.sources import source_keys
from desalbook.tables import table, table_names
from desalbook.trail import REGISTER
from desalbook.units import metas
from tests import shared
from tests.every import every
from tests.register import points, relations


@cache
def page() -> str:
    relations()  # those of all modules
    return reference.page()


def article(anchor: str) -> str:
    """One entry of the page."""
    found = re.search(rf'<article class="entry" id="{re.escape(anchor)}">.*?</article>', page(), re.S)
    assert found, f"{anchor} is not on the page"
    return found[0]


def test_every_link_leads_somewhere_and_no_anchor_stands_twice():
    anchors = re.findall(r'\bid="([^"]+)"', page())
    assert len(anchors) == len(set(anchors)) > 2000
    links = {unquote(x) for x in re.findall(r'href="#([^"]+)"', page())}
    assert len(links) > 500 and not links - set(anchors)
    assert not re.search(r'(?:href|src)="(?!#)', page())  # it needs nothing but itself


def test_no_public_name_without_words_and_no_argument_without_its_own():
    every({e.name: e for e in reference.entries()}, is_explained)
    named = {e.name for e in reference.entries()}
    assert {f"desalbook.{n}" for n in desalbook.__all__ if callable(getattr(desalbook, n))} <= named
    assert {f"calc.{n}" for n in dir(calc)} <= named


def is_explained(e: reference.Entry) -> None:
    first = e.doc.strip().partition("\n\n")[0]
    assert len(first.split()) >= 3 and first.rstrip().endswith((".", ":", ";")), first
    if e.name.startswith(("desalbook.", "calc.", "study.")):
        text = e.doc.replace("*", "")
        missing = [p for p in re.findall(r"(?:\(|, )\*{0,2}([a-z_]+)(?=[:=,) ])", e.signature) if p not in text]
        assert not missing, f"nothing is said of {missing}"


@pytest.mark.parametrize("name", dir(calc))
def test_a_calculation_has_units_an_example_and_sources(name):
    text = article(f"calc.{name}")
    assert called(name).replace('"', "&quot;") in text and EXAMPLES.keys() == set(dir(calc))
    assert "<h5>Relations and sources</h5>" in text and text.count("#source-") >= 1
    terms = re.findall(r"(?m)^(\w+) : (.+?)(?:,|$)", getattr(calc, name).__doc__)
    assert terms and all(unit for _, unit in terms)
    assert eval(called(name), {"calc": calc}).ledger.lines


def test_every_relation_has_equation_symbols_source_and_points():
    every({key: r for key, r in REGISTER.items() if key in relations()}, is_complete)


def is_complete(r) -> None:
    text = article(f"relation-{r.key}")
    assert "<math" in text and f'href="#source-{r.source}"' in text
    assert text.count("<tr>") >= 1 + len(r.args) and len(r.doc.split()) >= 6
    many = sum(p.relation == r.key for p in points())
    assert text.count("<li>") == many and f"{many} check point" in text


def test_every_key_has_a_unit_a_range_and_a_source():
    keys = dict(of_sections())
    assert len(keys) > 600
    every({id: (id, m) for id, m in keys.items()}, lambda one: has_its_own(*one))


def of_sections():
    def walk(path, cls):
        for name, m in metas(cls).items():
            yield f"{path}.{name}", m
            if m.item is not None:
                yield from walk(f"{path}.{name}[{GAP}]" if m.form == "sections" else f"{path}.{name}", m.item)

    for name, cls in SECTIONS.items():
        yield from walk(name, cls)


def has_its_own(id: str, m) -> None:
    text = article(f"key-{id}")
    assert "<dt>Takes</dt>" in text and "<dt>Default</dt>" in text
    if m.form == "quantity":
        assert m.source in source_keys() and f"#source-{m.source}" in text
        assert not m.possible or "<dt>Allowed</dt>" in text
    assert all(f"<code>{option}</code>" in text for option in m.options)


def test_every_row_of_every_table_has_a_source():
    for name in table_names():
        text = article(f"table-{name}-all")
        for row in table(name).rows.values():
            assert f'id="table-{name}-{row.key}"' in text
            assert row.source in source_keys()


def test_every_check_of_a_plant_is_among_those_of_the_page():
    told = [j for j in reference.judgements() if re.search("[a-z]", j.id)]
    for design in (shared.demo(), shared.demo("beach-well.toml"),
                   shared.demo().with_value("energy_recovery.device", "pelton")):
        verdicts = shared.plant(design).verdicts
        lost = [id for id in verdicts if not any(j.matches(id) for j in told)]
        assert len(verdicts) > 200 and not lost
    assert all(f"id=\"check-{j.id.replace(' ', '-')}" in page() for j in told)


def test_the_command_writes_it(tmp_path, capsys):
    assert cli.main(["reference", str(tmp_path / "a")]) == 0
    text = (tmp_path / "a" / reference.FILE).read_text(encoding="utf-8")
    assert text == page() and str(tmp_path / "a") in capsys.readouterr().out
    (tmp_path / "b").write_text("")
    assert cli.main(["reference", str(tmp_path / "b")]) == 2
    assert "cannot be written to" in capsys.readouterr().err


def test_the_page_is_written_where_nothing_draws(tmp_path):
    """As after a plain install: without matplotlib and the notebook programs."""
    code = """
import sys
class Wall:
    def find_spec(self, name, path=None, target=None):
        if name.split(".")[0] in ("matplotlib", "IPython", "ipywidgets", "anywidget", "jupyterlab"):
            raise ImportError(name)
sys.meta_path.insert(0, Wall())
from desalbook import reference
print(reference.write(sys.argv[1]))
"""
    run = subprocess.run([sys.executable, "-c", code, str(tmp_path)], capture_output=True, text=True)
    assert run.returncode == 0, run.stderr
    assert (tmp_path / "reference.html").stat().st_size > 1_000_000
