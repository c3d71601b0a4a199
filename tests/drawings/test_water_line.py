"""The water line: geometry follows the figures, words never meet, and the picture can be read aloud."""

from __future__ import annotations

import re
from itertools import combinations, pairwise
from xml.etree import ElementTree

import pytest

from desalbook import api, theme
from desalbook.drawings.water_line.course import course, height
from desalbook.drawings.water_line.drawing import draw
from desalbook.drawings.water_line.labels import words
from desalbook.drawings.water_line.layout import Box, Label, Placer, extent, fit, wrap
from desalbook.drawings.water_line.plant import line
from desalbook.drawings.water_line.ribbon import Ribbon
from desalbook.drawings.water_line.stops import RECOVERIES, Line, Stop
from desalbook.problems import DesignError
from tests import plants, shared
from tests.notebook.plants import plausible, sample, stop

SVG = "{http://www.w3.org/2000/svg}"


def svg(text: str) -> ElementTree.Element:
    return ElementTree.fromstring(text[text.index("<svg"):text.index("</svg>") + 6])


def written(line: Line, units: str = "si", width: int = 1200, present: str | None = None):
    way = course(line, width)
    return way, words(line, way, units, width, present)


def meeting(labels: list[Label]) -> list[tuple]:
    return [(a.lines, b.lines) for a, b in combinations(labels, 2) if a.box.meets(b.box)]


# words that never meet ------------------------------------------------------------------------------


def check_layout(seeds, width):
    for seed in seeds:
        units = ("si", "us")[seed // 4 % 2]
        _, said = written(plausible(seed), units, width, "hp" if seed % 3 else None)
        labels = said.labels()
        assert not meeting(labels), (seed, units)
        for label in labels:
            b = label.box
            assert b.x0 >= 0 and b.x1 <= width and b.y0 >= said.top and b.y1 <= said.bottom, (seed, label)


@pytest.mark.parametrize("width", (560, 700, 1200))
def test_no_two_labels_meet_and_all_stay_inside(width):
    """Sixteen plants hold each recovery device in each set of units; hundreds follow in the long run below."""
    check_layout(range(16), width)


@pytest.mark.full
@pytest.mark.parametrize("width", (560, 700, 940, 1200, 1800))
def test_no_two_labels_meet_in_many_plants(width):
    check_layout((*range(16, 40), *range(1000, 1100)), width)


def test_a_label_that_finds_no_place_ends_above_all_others():
    """Once a side reached to the last digit was called outside, and the search for a free height never ended."""
    check_layout((37,), 940)
    said = Label(["a text far too wide for its page"], 20.0, 100.0)
    full = Placer(0.0, 40.0, 200.0, placed=[Label(["other"], 20.0, 90.0)])
    put = full.put([said])
    assert put.box.y1 < 90.0


def test_labels_put_without_layout_would_meet():
    # The same figures, each simply centred under its step: the test above must be able to fail.
    collided = 0
    for seed in range(16):
        way, said = written(plausible(seed), "si", 700)
        naive = [Label(said.by_spot[i][0].lines, s.x, s.y + s.width / 2 + 4, bold=True)
                 for i, s in enumerate(way.spots)]
        collided += bool(meeting(naive))
    assert collided > 8


@pytest.mark.parametrize("width", (700, 1200))
def test_every_visible_text_is_a_label_of_the_layout(width):
    for seed in range(12):
        line = plausible(seed)
        _, said = written(line, "si", width)
        shown = [(t.text, float(t.get("x"))) for t in svg(draw(line, width=width)).iter(SVG + "text")
                 if t.get("class") not in ("told", "rest")]
        laid = [(text, label.x) for label in said.labels() for text in label.lines]
        assert sorted(t for t, _ in shown) == sorted(t for t, _ in laid)
        assert sorted(x for _, x in shown) == pytest.approx(sorted(x for _, x in laid), abs=0.051)


def test_labels_keep_off_the_ribbons_and_poles_off_the_labels():
    on, total = 0, 0
    for seed in range(40):
        way, said = written(plausible(seed), "si", 1200)
        water = [Box(*b) for s in way.strands for b in s.ribbon.boxes()]
        for label in said.labels():
            total += 1
            on += any(label.box.meets(w) for w in water)
        for label in said.chemicals:
            assert label.pole is not None
            assert not any(label.pole_box.meets(other.box) for other in said.labels() if other is not label)
        for x, y0, y1 in said.hairs:
            assert not any(Box(x, y0, x, y1).meets(label.box) for label in said.labels()), seed
    assert on / total < 0.02  # on a ribbon only where nothing else is free


@pytest.mark.parametrize("name", ["harbour-town.toml", "beach-well.toml"])
def test_the_demo_plants_keep_their_chemicals_off_the_water(name):
    """From the narrowest window to the widest; one name may touch it where the picture is narrowest."""
    plant = line(shared.plant(name).stops)
    for width in range(580, 1300, 60):
        way, said = written(plant, "si", width)
        water = [Box(*b) for s in way.strands for b in s.ribbon.boxes()]
        on = {" ".join(x.lines): sum(x.box.meets(w) for w in water) for x in said.chemicals}
        assert len([n for n in on.values() if n]) <= (width < 660) and max(on.values()) <= 1, (width, on)


def on_water(way, labels: list[Label]) -> list[tuple]:
    """Labels that lie on a ribbon by more than a hair."""
    water = [b for s in way.strands for b in s.ribbon.boxes()]
    boxes = [(x.lines, x.box) for x in labels]
    return [text for text, b in boxes
            if any(a0 < b.x1 - 1 and a1 > b.x0 + 1 and b0 < b.y1 - 2 and b1 > b.y0 + 2 for a0, b0, a1, b1 in water)]


@pytest.mark.full
@pytest.mark.parametrize("name", plants.NAMES)
def test_no_word_lies_on_the_water_from_900_to_1600_px(name):
    """A panel is some 730 px wide in a window of 900, and 1430 in one of 1600; slim it keeps its height too."""
    plant = shared.plant(api.read(plants.path(name)))
    drawn = line(plant.stops)
    for width in range(720, 1441, 120):
        for units in ("si", "us"):
            way, said = written(drawn, units, width, "vessels")
            found = on_water(way, [*(x for some in said.by_spot.values() for x in some), *said.axis, *said.chemicals,
                                   *said.energy])
            assert not found, (width, units, found)
            way = course(drawn, width, slim=True)
            said = words(drawn, way, units, width, "vessels", slim=True)
            labels = [x for some in said.by_spot.values() for x in some]
            assert len(labels) >= 8 and not on_water(way, labels) and not meeting(labels), (width, units)
            assert said.bottom - said.top < (180 if width > 1000 else 230)
    end = drawn.permeate[-1].title
    treated = plant.sized.stops["chemicals"] and any(key == "product" for key, *_ in drawn.chemicals)
    assert end == ("Product" if treated or len(drawn.permeate) > 1 else "Permeate")


def test_extents_are_not_below_those_of_a_wide_face():
    matplotlib = pytest.importorskip("matplotlib")
    font = pytest.importorskip("PIL.ImageFont")
    folder = matplotlib.get_data_path() + "/fonts/ttf/"
    samples = ["cartridge filters", "66.8 barg", "sodium hypochlorite 2.0 mg/L", "HP pump", "12 480 m³/h",
               "(7 elements)", "Pelton turbine", "gauge pressure, barg", "vessels", "ultrafiltration"]
    for bold, name in ((False, "DejaVuSans.ttf"), (True, "DejaVuSans-Bold.ttf")):
        face = font.truetype(folder + name, 1000)
        for text in samples:
            # Kerning and rounding of the table to a hundredth of the size: two per cent.
            assert extent(text, 12, bold) >= 0.98 * face.getlength(text) * 12 / 1000, text
    assert extent("mmm", 12) > 3 * extent("i", 12)


def test_text_is_broken_and_shortened_to_its_limit():
    assert wrap("cartridge filters", 12, 400) == ["cartridge filters"]
    assert wrap("cartridge filters", 12, 70) == ["cartridge", "filters"]
    short = fit("ultrafiltration", 12, 50)
    assert short.endswith("…") and extent(short, 12) <= 50


# geometry follows the figures ----------------------------------------------------------------------


@pytest.mark.parametrize("recovery", RECOVERIES)
def test_height_is_pressure_and_width_is_flow(recovery):
    line = sample(recovery)
    way = course(line, 1200)
    paired = [s for s in way.spots if line.exchanger_branch and (s.path == "branch" or s.stop.key == "hp")]
    for spot in way.spots:
        if spot not in paired:
            assert spot.y == pytest.approx(height(spot.stop.pressure, way.unit), abs=1e-9)
        assert spot.width == pytest.approx(way.per_flow * spot.stop.flow)
    if paired:  # side by side their middle lies on the height and their edges touch where pressures agree
        pump, booster = (next(s for s in paired if s.stop.key == k) for k in ("hp", "booster"))
        assert pump.y + pump.width / 2 == pytest.approx(booster.y - booster.width / 2)
        middle = (pump.y - pump.width / 2 + booster.y + booster.width / 2) / 2
        assert middle == pytest.approx(height(66.8e5, way.unit))


def test_low_and_high_pressures_are_both_readable():
    way = course(sample("in-feed"), 1200)
    y = {s.stop.key: s.y for s in way.spots if s.path == "feed"}
    assert y["sea"] - y["storage"] > 12  # 0 and 0.3 bar
    assert y["filters"] - y["feed"] > 10  # 4.1 and 3.2 bar
    assert y["hp"] - y["device"] > 20  # 41.5 and 66.8 bar
    assert y["sea"] - y["device"] == pytest.approx(290)


def test_split_at_the_vessels_shares_the_width():
    way = course(sample("in-feed"), 1200)
    vessels = next(s for s in way.spots if s.stop.kind == "vessels")
    starts = [s.ribbon for s in way.strands if s.path in ("product", "reject")]
    tops = {round(r.points[0][1] - r.widths[0] / 2, 6) for r in starts}
    ends = {round(r.points[0][1] + r.widths[0] / 2, 6) for r in starts}
    assert min(tops) == pytest.approx(vessels.y - vessels.width / 2, abs=1e-5)
    assert max(ends) == pytest.approx(vessels.y + vessels.width / 2, abs=1e-5)
    assert max(tops) == pytest.approx(min(ends), abs=1e-5)  # no gap, no overlap: 100 + 138 = 238


@pytest.mark.parametrize("recovery", RECOVERIES)
def test_shape_changes_with_the_recovery_device(recovery):
    way = course(sample(recovery), 1200)
    reject = next(s.ribbon for s in way.strands if s.path == "reject")
    vessels = next(s for s in way.spots if s.stop.kind == "vessels")
    xs, ys = [p[0] for p in reject.points], [p[1] for p in reject.points]
    turns_back = any(b < a - 0.01 for a, b in pairwise(xs))
    assert turns_back == (recovery != "valve")
    assert xs[-1] > vessels.x  # leaves to the right
    assert (way.contact is not None) == (recovery in ("in-feed", "branch"))
    assert (way.shaft is not None) == (recovery == "shaft")
    if turns_back:
        device = next(s for s in way.spots if s.stop.kind == "recovery" and s.path == "reject")
        assert min(xs[3:]) == pytest.approx(device.column, abs=0.01)  # falls in the device's own column
        assert min(ys) < vessels.y - vessels.width / 2 - reject.widths[0] / 2  # above the feed, not on it
    if way.contact:
        x, top, bottom, _ = way.contact
        feed = next(s for s in way.spots if s.stop.kind == "recovery" and s.path != "reject")
        assert (x, top, bottom) == (feed.x, feed.y - feed.width / 2, feed.y + feed.width / 2)
    if recovery == "shaft":
        assert device.y == 0.0 and way.shaft[1].stop.key == "hp"


def test_reject_is_painted_behind():
    for recovery in RECOVERIES:
        paths = [s.path for s in course(sample(recovery), 1200).strands]
        assert paths == sorted(paths, key=["reject", "feed", "product"].index)


def test_feed_through_the_exchanger_leaves_and_joins():
    line = sample("branch")
    way = course(line, 1200)
    feed = [s.ribbon for s in way.strands if s.path == "feed"]
    assert len(feed) == 4  # common, two ways, common
    main = feed[0]
    ways = sorted((r for r in feed[1:] if r.widths[0] < 0.9 * main.widths[-1]), key=lambda r: r.points[0][1])
    joint = next(r for r in feed[1:] if r not in ways)
    assert sum(r.widths[0] for r in ways) == pytest.approx(main.widths[-1])
    for way_in in ways:
        assert way_in.points[-1][0] == pytest.approx(joint.points[0][0] + 0.5)  # half a unit of overlap
    edge = joint.points[0][1] - joint.widths[0] / 2
    assert ways[0].points[-1][1] - ways[0].widths[-1] / 2 == pytest.approx(edge)


def test_more_pressure_or_flow_changes_the_picture():
    assert draw(sample("valve", 1.2)) != draw(sample("valve", 1.9))
    low, high = (course(sample("valve", p), 1200) for p in (1.2, 1.9))
    y = [next(s.y for s in w.spots if s.stop.kind == "product") for w in (low, high)]
    assert y[1] < y[0]


def test_beach_well_without_filters():
    feed = [stop("sea", "beach well", -0.35, 60, 34, "sea"), stop("hp", "HP pump", 58, 60, 34, "pump"),
            stop("vessels", "vessels", 57, 60, 34, "vessels")]
    line = Line(feed, [stop("product", "product", 0.8, 24, 0.3, "product")],
                [stop("valve", "control valve", 0.2, 36, 56, "resistance"),
                 stop("outfall", "outfall", 0, 36, 56, "outfall")])
    way, said = written(line)
    well = way.spots[0]
    assert well.y > 0 and said.figures(well.stop)[0] == "\N{MINUS SIGN}0.35 barg"
    assert not meeting(said.labels())
    text = draw(line, present="filters")
    assert "filter" not in text and 'class="lift"' not in text


@pytest.mark.parametrize("dx, dy", ((80, 20), (80, 170), (40, 250), (160, -90), (60, 0)))
def test_a_bend_arrives_where_it_should_and_keeps_its_width(dx, dy):
    ribbon = Ribbon(10, 5, 20)
    ribbon.bend(10 + dx, 5 + dy, 12)
    before = ribbon.points[-2]
    assert ribbon.here == (10 + dx, 5 + dy, 0.0) and (ribbon.widths[0], ribbon.widths[-1]) == (20, 12)
    assert abs(before[0] - ribbon.here[0]) <= dx and abs(before[1] - ribbon.here[1]) <= abs(dy) + 1e-9
    xs = [p[0] for p in ribbon.points]
    assert all(b >= a - 1e-6 for a, b in pairwise(xs))


# read aloud, styled, reproducible ------------------------------------------------------------------


@pytest.mark.parametrize("recovery", RECOVERIES)
def test_every_step_can_be_focused_and_names_its_figures(recovery):
    line = sample(recovery)
    root = svg(draw(line))
    steps = [g for g in root.iter(SVG + "g") if g.get("tabindex") == "0"]
    assert [g.get("data-key") for g in steps] == [s.key for s in line.everything()]
    for g in steps:
        assert g.get("role") == "group" and g.find(SVG + "title").text.startswith(g.get("aria-label"))
    said = {g.get("data-key"): g.get("aria-label") for g in steps}
    assert said["filters"] == "media filters, 3.2 barg, 238 m³/h, 36 g/kg"
    assert said["product"] == "product, 1.2 barg, 100 m³/h, 0.28 g/kg"
    assert root.get("role") == "group" and root.get("aria-label") == "Water line, sea to product"
    alternative = root.find(SVG + "desc").text
    assert root.get("aria-describedby") == root.find(SVG + "desc").get("id")
    for piece in ("HP pump", "antiscalant 2.5 mg/L after media filters",
                  "outfall, 0 barg, 138 m³/h, 62 g/kg"):
        assert piece in alternative


def test_small_pressures_are_not_shown_finer_than_they_are():
    _, said = written(sample("valve"))
    bars = (1e-9, -1e-9, 0.0934, 0.498, 66.83)
    shown = [said.figures(stop("x", "x", bar, 1, 1, "tank"))[0] for bar in bars]
    assert shown == ["0 barg", "0 barg", "0.09 barg", "0.5 barg", "66.8 barg"]


def test_us_units_are_shown_throughout():
    text = draw(sample("in-feed"), units="us")
    assert "psig" in text and "gpm" in text and "barg" not in text and "m³/h" not in text


def test_present_step_is_lifted_out():
    plain, lifted = draw(sample("in-feed")), draw(sample("in-feed"), present="filters")
    assert 'class="lift"' not in plain and "aria-current" not in plain and 'opacity=".8"' not in plain
    assert lifted.count('class="lift"') == 1 and lifted.count('aria-current="step"') == 1
    both = draw(sample("in-feed"), present="device")
    assert both.count('class="lift"') == 2  # both sides of the device
    assert 'class="lift"' not in draw(sample("in-feed"), present="nothing of the kind")
    rest = [t.text for t in svg(lifted).iter(SVG + "text") if t.get("class") == "rest"]
    assert rest == ["media filters  ·  3.2 barg  ·  238 m³/h  ·  36 g/kg"]


def test_output_is_reproducible_and_pictures_can_share_a_page():
    pictures = [draw(sample(r), present=p) for r in RECOVERIES for p in (None, "filters")]
    assert pictures == [draw(sample(r), present=p) for r in RECOVERIES for p in (None, "filters")]
    ids = [i for p in pictures for i in re.findall(r'\bid="([^"]+)"', p)]
    assert len(ids) == len(set(ids))
    assert all(i.startswith("a-") for i in re.findall(r'\bid="([^"]+)"', draw(sample("valve"), prefix="a")))
    for text in pictures:
        known = set(re.findall(r'\bid="([^"]+)"', text))
        assert set(re.findall(r"url\(#([^)]+)\)", text)) | set(re.findall(r'href="#([^"]+)"', text)) <= known


def test_colours_come_from_the_theme_only():
    line = sample("branch")
    text = draw(line, theme_css=False, present="filters")
    tints = {theme.tint(s.salinity) for s in line.everything()} | {theme.ramp(k / 8) for k in range(9)}
    assert set(re.findall(r"#[0-9a-f]{6}\b", text)) <= tints
    assert set(re.findall(r"var\(--db-([a-z]+)\)", text)) <= {*theme.ROLES, "ground"}
    assert theme.css() in draw(line) and theme.css() not in text


def test_titles_are_escaped_and_numbers_are_finite():
    feed = [stop("sea", 'A & "B" <sea>', 0, 60, 34, "sea"),
            stop("vessels", "<i>vessels</i>", 57, 60, 34, "vessels")]
    line = Line(feed, [stop("p", "product", 0.8, 24, 0.3, "product")],
                [stop("o", "outfall", 0, 36, 56, "outfall")], chemicals=[("sea", "a<b", "1 & 2")])
    text = draw(line)
    svg(text)
    assert "<i>" not in text and "nan" not in text and "inf" not in text.replace("infl", "")


@pytest.mark.parametrize("change, word", (
    ({"recovery": "windmill"}, "in-feed"), ({"stops": []}, "vessels"), ({"permeate": []}, "permeate"),
    ({"reject": []}, "concentrate"), ({"recovery": "branch"}, "recovery"), ({"recovery": "shaft"}, "recovery"),
    ({"chemicals": [("nowhere", "acid", "1 mg/L")]}, "nowhere")))
def test_impossible_lines_are_refused_in_one_line(change, word):
    base = sample("valve")
    fields = {"stops": base.stops, "permeate": base.permeate, "reject": base.reject, "recovery": "valve"}
    fields |= change
    with pytest.raises(DesignError) as caught:
        Line(**fields)
    assert word in str(caught.value) and "\n" not in str(caught.value)


@pytest.mark.parametrize("field, value", (("pressure", float("nan")), ("flow", 0.0), ("flow", -1.0),
                                          ("salinity", 36.0), ("kind", "valve")))
def test_impossible_steps_are_refused(field, value):
    good = {"key": "x", "title": "x", "pressure": 1e5, "flow": 0.1, "salinity": 0.03, "kind": "tank"}
    Stop(**good)
    with pytest.raises(DesignError, match="x"):
        Stop(**(good | {field: value}))


def test_width_is_checked():
    with pytest.raises(DesignError, match="560 to 2400"):
        draw(sample("valve"), width=300)


def test_two_pictures_on_one_page_share_no_id():
    """A gradient found in another picture would tint the permeate like the feed."""
    import re

    ids = [set(re.findall(r'id="([^"]+)"', draw(sample(kind)))) for kind in ("in-feed", "valve")]
    assert ids[0] and ids[1] and not ids[0] & ids[1]
