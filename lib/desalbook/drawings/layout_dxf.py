"""The arrangement as DXF, for the layout engineer: plan and elevations at full size in millimetres, each on its sheet.

A unit, skid or tank is a block that bears its tag, title, supply and mass as attributes; layers have the words of the
trade. Sheets are A3 to A1, or their inch likes, with frame and title block (fields of ISO 7200, frame of ISO 5457,
scales of ISO 5455, all from memory). The library ``ezdxf`` is an optional extra. Nothing is calculated here.
"""

from __future__ import annotations

import importlib.util
import os
from collections.abc import Mapping, Sequence
from typing import Any

from desalbook import theme
from desalbook.drawings.arrangement import NOTE, SCALES, _items_of, _plain, _rows_of
from desalbook.plant.arrangement import Placed
from desalbook.problems import DesignError

__all__ = ["FIELDS", "LAYERS", "MISSING", "available", "layout_marks", "write_layout"]

MISSING = 'The layout as DXF needs the package ezdxf: pip install "desalbook[dxf]".'
"""What people read where the library is not installed."""
LAYERS = {"SKIDS": ("sea", 50), "RACKS": ("product", 50), "VESSELS": ("energy", 50), "TANKS": ("sea", 50),
          "SINGLE-ITEMS": ("quiet", 35), "BY-OTHERS": ("quiet", 25), "EQUIPMENT-ON-SKIDS": ("sea", 25),
          "CLEARANCES": ("quiet", 18), "GROUND": ("quiet", 35), "TAGS": ("", 25), "DIMENSIONS": ("", 18),
          "NOTES": ("", 18), "SHEET": ("", 70), "TITLE-BLOCK": ("", 35), "VIEWS": ("quiet", 0)}
"""Layers, each with the role of its colour and its width in hundredths of a millimetre."""
_LAYER = {"skid": "SKIDS", "rack": "RACKS", "vessel": "VESSELS", "tank": "TANKS", "item": "SINGLE-ITEMS"}
FIELDS = {"PROJECT": "Project", "CLIENT": "Client", "TITLE": "Title", "NUMBER": "Document", "REVISION": "Revision",
          "DATE": "Date", "SHEET": "Sheet", "SCALE": "Scale", "STATUS": "Status", "PREPARED": "Prepared by",
          "CHECKED": "Checked by", "DESIGN": "Design"}
"""Fields of the title block: tag of the attribute, and its words."""
_PAPERS = {"si": ((420.0, 297.0), (594.0, 420.0), (841.0, 594.0)),
           "us": ((431.8, 279.4), (558.8, 431.8), (863.6, 558.8))}
"""Sheets from small to large: A3 to A1, or 11 by 17 to 22 by 34 inches."""
_FINEST = 50
"""Ratio beyond which a plan for space is drawn no larger."""
_LEFT, _EDGE, _CELL, _TEXT, _ROOM = 20.0, 10.0, (60.0, 9.0), 2.5, 46.0
"""Frame, cell of the title block, lettering and room under the view for title block and notes, mm on paper."""


def available() -> bool:
    """Whether the library is installed."""
    return importlib.util.find_spec("ezdxf") is not None


def _mm(x: float) -> int:
    return round(1000.0 * x)


def layout_marks(plant: Any) -> tuple[str, ...]:
    """What the file depends on, a line a thing, to the millimetre and kilogram."""
    made = plant.fabrication.made
    return tuple(" ".join(map(str, (p.tag, p.title, p.kind, p.supply, p.strip, *map(_mm, (
        p.x, p.y, p.length, p.width, p.height, p.clear_begin, p.clear_end)), round(p.mass_operating))))
                 for p in made.placed) + tuple(" ".join(map(str, (i["skid"], i["tag"], *(
                     _mm(i[k]) for k in ("x", "y", "z", "length", "width", "height"))))) for i in made.items)


def write_layout(plant: Any, path: str | os.PathLike, head: Mapping[str, str], units: str = "si") -> None:
    """Write plan and elevations of a plant as DXF; the same bytes for the same plant and head.

    Parameters
    ----------
    plant : Plant
    path : path
    head : mapping
        Words of the title block by the tags of `FIELDS`; title, sheet and scale are made here.
    units : {"si", "us"}
        Paper of the sheets and unit of masses; the model is in millimetres.

    Raises
    ------
    DesignError
        The library is not installed.
    """
    if not available():
        raise DesignError("cannot be made", where="layout as DXF", do=MISSING)
    from ezdxf import options  # pyright: ignore[reportPrivateImportUsage]
    from ezdxf.filemanagement import new

    from desalbook.units import show

    # the library stamps the time, a random number and its version; a file that is compared has none of them
    was, options.write_fixed_meta_data_for_testing = options.write_fixed_meta_data_for_testing, True
    try:
        drawing = new("R2010", setup=["linetypes"])
        _prepared(drawing)
        sheet = _Model(drawing, plant, units, show)
        views = (("Plan of the plant", sheet.plan()), ("Elevations of the plant", sheet.elevations()))
        for n, (title, box) in enumerate(views, 1):
            _sheet(drawing, title, box, dict(head) | {"TITLE": title, "SHEET": f"{n} of {len(views)}"}, units)
        drawing.layouts.delete("Layout1")
        drawing.saveas(path)
    finally:
        options.write_fixed_meta_data_for_testing = was


def _prepared(drawing: Any) -> None:
    from ezdxf.colors import RGB

    drawing.header["$INSUNITS"] = 4
    drawing.header["$MEASUREMENT"] = 1
    drawing.header["$LWDISPLAY"] = 1
    drawing.header["$LTSCALE"] = 600.0
    drawing.header["$PSLTSCALE"] = 0
    for name, (role, width) in LAYERS.items():
        layer = drawing.layers.add(name, linetype="DASHED" if name in ("BY-OTHERS", "CLEARANCES") else "CONTINUOUS",
                                   lineweight=width)
        if role:
            layer.rgb = RGB.from_hex(theme.colour(role, "light"))
        else:
            layer.color = 7  # black on white paper, white on a dark screen
    drawing.layers.get("VIEWS").dxf.plot = 0
    title = drawing.blocks.new("TITLE-BLOCK")
    wide, high = _CELL
    for n, (tag, words) in enumerate(FIELDS.items()):
        x, y = (n % 3) * wide, -(n // 3 + 1) * high
        _rectangle(title, x, y, wide, high, "TITLE-BLOCK")
        title.add_text(words, height=1.8, dxfattribs={"layer": "TITLE-BLOCK"}).set_placement((x + 1.5, y + high - 3))
        title.add_attdef(tag, (x + 1.5, y + 1.5), height=_TEXT, dxfattribs={"layer": "TITLE-BLOCK"})


def _rectangle(space: Any, x: float, y: float, wide: float, high: float, layer: str) -> None:
    space.add_lwpolyline([(x, y), (x + wide, y), (x + wide, y + high), (x, y + high)], close=True,
                         dxfattribs={"layer": layer})


class _Model:
    """Model space: millimetres, the plan with its upper left at the origin, elevations beside it."""

    def __init__(self, drawing: Any, plant: Any, units: str, show: Any):
        self.drawing, self.space, self.units, self.show = drawing, drawing.modelspace(), units, show
        self.made = plant.fabrication.made
        self.placed: list[Placed] = self.made.placed
        self.items = _items_of(self.made)
        self.long = max(_mm(p.x + p.length + p.clear_end) for p in self.placed)
        self.deep = max(_mm(p.y + p.width) for p in self.placed)

    def plan(self) -> tuple[float, float, float, float]:
        """The plan; the box it covers."""
        for p in self.placed:
            for x, wide in ((p.x - p.clear_begin, p.clear_begin), (p.x + p.length, p.clear_end)):
                if wide:
                    _rectangle(self.space, _mm(x), -_mm(p.y + p.width), _mm(wide), _mm(p.width), "CLEARANCES")
            pieces = [(_mm(i["x"]), _mm(p.width - i["y"] - i["width"]), _mm(i["length"]), _mm(i["width"]), i)
                      for i in self.items.get(_plain(p.tag), ())]
            self._block(p, "PLAN", _mm(p.width), pieces, p.round, (_mm(p.x), -_mm(p.y + p.width)))
        for ends, base, angle in ((((0, 0), (self.long, 0)), (0, 1200), 0),
                                  (((self.long, -self.deep), (self.long, 0)), (self.long + 1200, 0), 90)):
            self.space.add_linear_dim(base=base, p1=ends[0], p2=ends[1], angle=angle, override={
                "dimtxt": 350, "dimasz": 250, "dimexe": 200, "dimexo": 150, "dimdec": 0, "dimtad": 1},
                dxfattribs={"layer": "DIMENSIONS"}).render()
        return 0.0, -float(self.deep), float(self.long) + 2200, 2200.0

    def elevations(self) -> tuple[float, float, float, float]:
        """The elevations row by row, right of the plan; the box they cover."""
        trains = [s for s in dict.fromkeys(p.strip for p in self.placed) if s.startswith("Train")]
        left, y, top = self.long + 8000, 0, 0
        for strip in (s for s in dict.fromkeys(p.strip for p in self.placed) if s not in trains[1:]):
            for n, row in enumerate(_rows_of(p for p in self.placed if p.strip == strip), 1):
                y -= max(_mm(p.height) for p in row) + 1800
                self._words(f"{strip}, row {n}", left, y + max(_mm(p.height) for p in row) + 500, 350, "NOTES")
                self.space.add_line((left, y), (left + self.long, y), dxfattribs={"layer": "GROUND"})
                for p in sorted(row, key=lambda p: p.y):
                    pieces = [(_mm(i["x"]), _mm(i["z"]), _mm(i["length"]), _mm(i["height"]), i)
                              for i in self.items.get(_plain(p.tag), ())]
                    self._block(p, "ELEVATION", _mm(p.height), pieces, False, (left + _mm(p.x), y))
        return float(left), float(y), float(left + self.long), float(top)

    def _block(self, p: Placed, view: str, high: int, pieces: Sequence[tuple[int, int, int, int, Any]], round: bool,
               at: tuple[int, int]) -> None:
        """One thing as a block with its attributes, outline at the block's origin."""
        layer = "BY-OTHERS" if p.supply == "others" else _LAYER[p.kind]
        wide, name = _mm(p.length), f"{view}-{p.tag.replace('/', '-')}"
        block = self.drawing.blocks.new(name)
        if round:
            block.add_circle((wide / 2, high / 2), wide / 2, dxfattribs={"layer": layer})
        else:
            _rectangle(block, 0, 0, wide, high, layer)
        for x, y, w, h, i in pieces:
            on = "EQUIPMENT-ON-SKIDS"
            if view == "PLAN" and i["round"] == "yes":
                block.add_circle((x + w / 2, y + h / 2), w / 2, dxfattribs={"layer": on})
            else:
                _rectangle(block, x, y, w, h, on)
            block.add_text(i["tag"], height=min(150.0, w / max(len(i["tag"]), 4), 0.5 * h), dxfattribs={
                "layer": "TAGS"}).set_placement((x + w / 2, y + h / 2), align=_align())
        height = min(350.0, 0.8 * wide / max(len(p.tag), 4), 0.5 * high)
        insert = self.space.add_blockref(name, at, dxfattribs={"layer": layer})
        for n, (tag, text) in enumerate((("TAG", p.tag), ("TITLE", p.title), ("SUPPLY", p.supply), (
                "MASS-IN-OPERATION", self.show(p.mass_operating, "mass", self.units)))):
            attrib = insert.add_attrib(tag, text, dxfattribs={"layer": "TAGS", "height": height})
            up = high + height if pieces else -height if p.tag.startswith("BU-") else high / 2
            attrib.set_placement((at[0] + wide / 2, at[1] + up), align=_align())
            attrib.is_invisible = n > 0

    def _words(self, text: str, x: float, y: float, height: float, layer: str) -> None:
        self.space.add_text(text, height=height, dxfattribs={"layer": layer}).set_placement((x, y))


def _align() -> Any:
    from ezdxf.enums import TextEntityAlignment

    return TextEntityAlignment.MIDDLE_CENTER


def _sheet(drawing: Any, title: str, box: tuple[float, float, float, float], head: Mapping[str, str],
           units: str) -> None:
    """A sheet with one view, in the largest ratio and on the smallest paper that hold it, frame and title block."""
    size = (box[2] - box[0], box[3] - box[1])
    (wide, high), scale = next(
        (some for scale in SCALES if scale >= _FINEST for some in ((p, scale) for p in _PAPERS[units])
         if size[0] / scale <= some[0][0] - _LEFT - _EDGE - 10 and size[1] / scale <= some[0][1] - 2 * _EDGE - _ROOM),
        (_PAPERS[units][-1], SCALES[-1]))
    paper = drawing.layouts.new(title.partition(" ")[0])
    paper.page_setup(size=(wide, high), margins=(0, 0, 0, 0), units="mm")
    _rectangle(paper, _LEFT, _EDGE, wide - _LEFT - _EDGE, high - 2 * _EDGE, "SHEET")
    view = (_LEFT + 5 + size[0] / scale / 2, high - _EDGE - 3 - size[1] / scale / 2)
    paper.add_viewport(center=view, size=(size[0] / scale, size[1] / scale), view_height=size[1], view_center_point=(
        (box[0] + box[2]) / 2, (box[1] + box[3]) / 2), dxfattribs={"layer": "VIEWS"})
    rows = -(-len(FIELDS) // 3)
    corner = (wide - _EDGE - 3 * _CELL[0], _EDGE + rows * _CELL[1])
    words = {tag: head.get(tag, "") for tag in FIELDS} | {"SCALE": f"1:{scale}"}
    insert = paper.add_blockref("TITLE-BLOCK", corner, dxfattribs={"layer": "TITLE-BLOCK"})
    most = int(_CELL[0] / (_TEXT * 0.75))
    insert.add_auto_attribs({tag: text if len(text) <= most else f"{text[:most - 1]}…" for tag, text in words.items()})
    from textwrap import wrap

    for n, line in enumerate(wrap(f"{NOTE} Dashed: by others, or space kept clear. Millimetres.", 92)):
        paper.add_text(line, height=1.8, dxfattribs={"layer": "NOTES"}).set_placement(
            (_LEFT + 3, _EDGE + rows * _CELL[1] - 4 - 3.2 * n))
