"""Drawings of the arrangement: to scale, every name known and there, no text on another, none cut off."""

from __future__ import annotations

import re
import xml.etree.ElementTree as xml
from functools import cache
from itertools import combinations
from typing import Any

import pytest

import desalbook as db
from desalbook import paths
from desalbook.drawings import arrangement as drawn
from desalbook.drawings import layout_dxf as dxf
from desalbook.plant.equipment import unit_tags
from desalbook.problems import DesignError
from desalbook.units import show
from tests.every import every

DEMOS = ("harbour-town.toml", "beach-well.toml")
TAG = re.compile(r"(?:\d+-)?[A-Z]{1,4}-\d{3}[A-Z]*(?:/\d+)?")


@cache
def plant(name: str = DEMOS[0]) -> Any:
    return db.size(db.read(paths.demo(name)))


@cache
def pictures(name: str, units: str) -> dict[str, str]:
    of = plant(name)
    return {"plan": drawn.plan(of, units), "elevation": drawn.elevation(of, units),
            **{tag: drawn.skid(of, tag, units) for tag in of.skids["tag"]}}


def root(html: str) -> xml.Element:
    found = re.search(r"<svg.*</svg>", html, re.S)
    assert found is not None
    return xml.fromstring(found[0])


def texts(html: str) -> list[tuple[str, tuple[float, float, float, float]]]:
    """Words of a drawing, each with the box it covers, on the narrow side."""
    found = []
    for e in root(html).iter():
        if e.tag.rpartition("}")[2] != "text" or "x" not in e.attrib:
            continue
        words, x, y = e.text or "", float(e.attrib["x"]), float(e.attrib["y"])
        wide = 6.0 * len(words)
        left = x - wide / 2 if e.get("text-anchor") == "middle" else x
        found.append((words, (left, y - 9, left + wide, y + 2)))
    return found


def known(of: Any) -> set[str]:
    units = {tag for row in of.sized.equipment for tag in unit_tags(row)}
    plain = {tag.partition("-")[2] if tag[0].isdigit() else tag for tag in units}
    skids = set(of.skids["tag"])
    return units | plain | skids | {f"{n + 1}-{tag}" for n in range(int(of["duty.trains"])) for tag in skids}


def readable(html: str) -> None:
    words = texts(html)
    box = [float(v) for v in root(html).attrib["viewBox"].split()]
    for text, (x0, y0, x1, y1) in words:
        assert x0 >= -1 and x1 <= box[2] + 1 and y0 >= 0 and y1 <= box[3] + 1, text
    over = [(a, b) for (a, r), (b, s) in combinations(words, 2)
            if r[0] < s[2] and s[0] < r[2] and r[1] < s[3] and s[1] < r[3]]
    assert not over, over[:4]
    assert "local codes and licensed practice" in html


@pytest.mark.full
@pytest.mark.parametrize("units", ["si", "us"])
def test_no_text_is_cut_off_or_on_another(units):
    every({f"{name} {key}": html for name in DEMOS for key, html in pictures(name, units).items()}, readable)


def test_each_name_is_known_and_what_is_on_the_plan_is_named():
    def named(name: str) -> None:
        of = plant(name)
        for key, html in pictures(name, "si").items():
            tags = {t for text, _ in texts(html) for t in TAG.findall(text)}
            assert not tags - known(of), (key, sorted(tags - known(of)))
        for key in ("plan", "elevation"):
            there = {t for text, _ in texts(pictures(name, "si")[key]) for t in TAG.findall(text)}
            wanted = {p.tag for p in of.fabrication.made.placed if key == "plan" or not p.strip.startswith("Train ")
                      or p.strip == "Train 1"}
            assert wanted <= there, (key, sorted(wanted - there))
        for tag in of.skids["tag"]:
            html = pictures(name, "si")[tag]
            items = of.skid_items[of.skid_items["skid"] == tag]
            equipment = items[items["of"].str[:2].isin(["P-", "F-", "T-", "CP", "ER"])]
            assert set(equipment["tag"]) <= {t for text, _ in texts(html) for t in TAG.findall(text)}

    every(DEMOS, named)


def test_the_plan_is_to_scale():
    """The first tank by its own diameter, against the whole width that the measure tells."""
    of = plant()
    svg = root(drawn.plan(of))
    boxes = [e for e in svg.iter() if e.tag.rpartition("}")[2] == "rect"]
    placed = {p.tag: p for p in of.fabrication.made.placed}
    long = max(p.x + p.length + p.clear_end for p in placed.values())
    scale = (drawn.WIDTH - 2 * 58 - 50) / long
    widths = [float(e.attrib["width"]) for e in boxes]
    for tag in ("T-101A", "1-SK-301", "F-401A"):
        assert any(abs(w - placed[tag].length * scale) < 0.06 for w in widths), tag
    bar = re.search(r">(\d+) m<", drawn.plan(of).rpartition("dashed outline")[0][-4000:])
    assert bar is not None and float(bar[1]) * scale >= 80


def test_a_skid_that_is_not_there_is_refused():
    with pytest.raises(DesignError, match="no such skid"):
        drawn.skid(plant(), "SK-999")


def test_the_layout_as_dxf_is_the_arrangement(tmp_path):
    """Read back: each block as long and broad as the arrangement says, at its place; tags of the schedule."""
    ezdxf = pytest.importorskip("ezdxf")
    of, words = plant(), {"PROJECT": "Invented", "NUMBER": "304", "REVISION": "B", "STATUS": "For review"}
    for name in ("one", "two"):
        dxf.write_layout(of, tmp_path / f"{name}.dxf", words)
    assert (tmp_path / "one.dxf").read_bytes() == (tmp_path / "two.dxf").read_bytes()
    read = ezdxf.readfile(tmp_path / "one.dxf")
    assert not read.audit().errors and read.header["$INSUNITS"] == 4
    placed = {p.tag: p for p in of.fabrication.made.placed}
    there = {"PLAN": {}, "ELEVATION": {}}
    for insert in read.modelspace().query("INSERT"):
        there[insert.dxf.name.partition("-")[0]][insert.get_attrib_text("TAG")] = insert
        p = placed[insert.get_attrib_text("TAG")]
        first = read.blocks[insert.dxf.name][0]
        if first.dxftype() == "CIRCLE":
            outline = 2 * first.dxf.radius, 2 * first.dxf.radius
        else:
            points = list(first.get_points("xy"))
            outline = tuple(max(q[k] for q in points) - min(q[k] for q in points) for k in (0, 1))
        across = p.width if insert.dxf.name.startswith("PLAN") else p.height
        assert outline == pytest.approx((1000 * p.length, 1000 * across), abs=0.6)
        if insert.dxf.name.startswith("PLAN"):
            assert tuple(insert.dxf.insert)[:2] == pytest.approx((1000 * p.x, -1000 * (p.y + p.width)), abs=1.1)
        assert insert.dxf.layer == ("BY-OTHERS" if p.supply == "others" else dxf._LAYER[p.kind])
        assert insert.get_attrib_text("TITLE") == p.title and show(p.mass_operating, "mass") == insert.get_attrib_text(
            "MASS-IN-OPERATION")
    assert set(there["PLAN"]) == set(placed) and set(there["ELEVATION"]) == {
        t for t, p in placed.items() if not p.strip.startswith("Train ") or p.strip == "Train 1"}
    written = {e.dxf.text for b in read.blocks if b.name.startswith(("PLAN-", "ELEV")) for e in b.query("TEXT")}
    assert set(placed) <= known(of) and {t for text in written for t in TAG.findall(text)} <= known(of)
    assert {"P-301", "ER-301A"} <= {t for text in written for t in TAG.findall(text)}
    used = {e.dxf.layer for e in read.entitydb.values() if e.dxf.hasattr("layer")}
    assert used - {"0", "Defpoints", "VIEWPORTS"} == set(dxf.LAYERS) - {"SINGLE-ITEMS"}, "all single ones are by others"
    for name, sheet in (("Plan", "1 of 2"), ("Elevations", "2 of 2")):
        title = next(i for i in read.layouts.get(name).query("INSERT") if i.dxf.name == "TITLE-BLOCK")
        found = {tag: title.get_attrib_text(tag) for tag in dxf.FIELDS}
        assert found | words | {"SHEET": sheet} == found and found["SCALE"] in ("1:50", "1:100", "1:200")


def test_without_the_library_one_line_says_so(tmp_path, monkeypatch):
    monkeypatch.setattr("desalbook.drawings.layout_dxf.available", lambda: False)
    with pytest.raises(DesignError, match="pip install"):
        dxf.write_layout(plant(), tmp_path / "x.dxf", {})
    assert not list(tmp_path.iterdir())
