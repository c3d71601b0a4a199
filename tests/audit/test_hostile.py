"""A hostile project name through the whole command line: inert in every file that leaves the kit."""

from __future__ import annotations

import csv
import html
import json
import re
import zipfile

import pytest

import desalbook as db
from desalbook import cli, paths
from desalbook.problems import DesignError

NAMES = {
    "formula": '=HYPERLINK("https://example.invalid","open")',
    "script": "<script>alert(1)</script><img src=x onerror=alert(1)>",
    "long": "x" * 5000,
    "right-to-left": "محطة تحلية \u202eevil",
    "emoji": "💧🏭 plant",
}


@pytest.mark.full
@pytest.mark.parametrize("which", NAMES)
def test_a_hostile_name_is_inert(which, tmp_path):
    name = NAMES[which]
    design = db.read(paths.demo("beach-well.toml"))
    try:
        design = design.with_value("project.name", name)
    except DesignError as refused:  # too long, or not printable: refused in one plain line
        assert which in ("long", "right-to-left") and "\n" not in str(refused) and len(str(refused)) < 400
        return
    path = tmp_path / "mine.toml"
    path.write_text(design.text, encoding="utf-8")
    out = tmp_path / "out"
    assert cli.main(["size", str(path), "--out", str(out)]) == 0
    assert json.loads((out / "trail.json").read_text(encoding="utf-8"))["project"]["name"] == name
    page = (out / "trail.html").read_text(encoding="utf-8")
    assert html.escape(name, quote=False) in page or html.escape(name) in page
    assert "<script" not in page and "onerror=" not in re.sub(r"&lt;.*?&gt;", "", page)
    for file in out.glob("*.csv"):
        for row in csv.reader(file.open(encoding="utf-8", newline="")):
            assert not any(cell[:1] in "=@" for cell in row if cell), (file.name, row)
    with zipfile.ZipFile(out / "trail.xlsx") as book:
        formulas = [f for n in book.namelist() if n.startswith("xl/worksheets/")
                    for f in re.findall(r"<f[ >][^<]*</f>|<f>[^<]*</f>", book.read(n).decode())]
        assert formulas and not any("HYPERLINK" in f.upper() or "example.invalid" in f for f in formulas)
        assert not any(n.startswith("xl/worksheets/_rels") and b"example.invalid" in book.read(n)
                       for n in book.namelist())
