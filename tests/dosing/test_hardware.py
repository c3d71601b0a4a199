"""What a dosing line is built of, and its named findings."""

from __future__ import annotations

import pytest

from desalbook import dosing
from desalbook.problems import DesignError
from desalbook.trail import given
from tests.dosing.test_dosing import LH, made

PLACES = ("chlorination", "coagulation", "filter")


def built(step=dosing.chlorination, name="chlorination", shut_off=4e5, bore=0.25, **written):
    def job(inp, flow, low):
        found = step(inp, flow, low)
        line = getattr(found, "line", found)
        place = dosing.Place(given("pipe.bore", bore, "length", title="Bore"), low,
                             given("pipe.shut_off", shut_off, "gauge pressure", title="Shut-off"))
        share = given("duty.availability", 0.95, "fraction", title="Availability")
        return line, dosing.hardware(inp, name, line, place, availability=share, places=PLACES)

    book, (line, hardware) = made(job, **written)
    return book.lines, line, hardware


def verdict(lines, id):
    return lines[id].more["verdict"]


def test_pump_covers_lowest_of_one_train_to_shock_of_all():
    """1.5 L/h (one train) to 16 L/h (shock): 25 L/h pump, 16.7 to one, ten by speed and the rest by stroke."""
    lines, line, of = built()
    assert float(line.feed_rate_minimum) / LH == pytest.approx(1.5, rel=1e-3)
    assert float(of.pump_capacity) / LH == pytest.approx(25.0)
    assert float(of.turndown) == pytest.approx(25 / 1.5, rel=1e-3)
    speed, stroke = (lines[f"chlorination.{n}_turndown"].value for n in ("speed", "stroke"))
    assert speed == pytest.approx(10) and speed * stroke == pytest.approx(float(of.turndown), rel=1e-12)
    assert lines["chlorination.speed_minimum"].value == pytest.approx(0.1, rel=1e-9)
    assert lines["chlorination.speed_maximum"].value == pytest.approx(16 / 25, rel=1e-3)
    assert verdict(lines, "chlorination.turndown.check") == "passes"


def test_pump_that_cannot_cover_the_range_is_named():
    lines, *_ = built(dosing={"span": "15"})
    assert verdict(lines, "chlorination.span.check") == "passes"  # the range alone would do
    assert verdict(lines, "chlorination.turndown.check") == "fails"
    assert "two pumps" in lines["chlorination.turndown.check"].more["do"]


def test_a_held_pump_is_judged():
    lines, _, of = built(chlorination={"pump_capacity": "10 L/h"})
    assert float(of.pump_capacity) / LH == pytest.approx(10)
    assert verdict(lines, "chlorination.pump_capacity.check") == "fails"


@pytest.mark.parametrize(("shut_off", "expect"), [(7.9e5, "passes"), (9.1e5, "fails")])
def test_pump_against_the_line_at_shut_off(shut_off, expect):
    """10 bar pump, 1 bar over the line."""
    assert verdict(built(shut_off=shut_off)[0], "chlorination.pressure.check") == expect


def test_open_pipe_mixes_too_late_and_a_mixer_does_not():
    """25 m of 250 mm pipe at 100 m3/h: 44 s, downstream of a quill with 15 s; a mixer takes a tenth."""
    lines, *_ = built(dosing={"mixing": "open-pipe"})
    assert lines["chlorination.mixing_length"].value == pytest.approx(25.0)
    assert lines["chlorination.mixing_time"].value == pytest.approx(44.18, abs=0.01)
    assert verdict(lines, "chlorination.mixing.check") == "fails"
    assert verdict(built()[0], "chlorination.mixing.check") == "passes"


def test_column_tanks_bund_and_delivery():
    """25 L/h for 60 s: 0.417 L, column 0.5 L; mean 3.18 L/h: 2.29 m3 in 30 d, 1.07 m3 in 14 d, so a small tanker.

    Its load and a half would last 98 d, too long for hypochlorite within 30 d: a container of 1 m3 every 13 d. Stored
    for 100 d the tanker does.
    """
    short, _, of = built()
    assert of.delivery.startswith("Intermediate bulk container") and float(of.store) == pytest.approx(3.0)
    assert float(of.delivery_interval) / 86400 == pytest.approx(13.1, abs=0.1)
    assert short["chlorination.storage_age"].value / 86400 == pytest.approx(30.0)  # filled to what is wanted
    lines, _, of = built(dosing={"storage_time": "100 d"})
    assert lines["chlorination.calibration_column"].value == pytest.approx(0.5e-3)
    assert float(of.day_tank) == pytest.approx(0.1) and of.delivery.startswith("Small tanker")
    assert float(of.store) == pytest.approx(10.0) and float(of.bund) == pytest.approx(11.0)
    assert float(of.delivery_interval) / 86400 == pytest.approx(5 / (3.1806e-3 * 24), rel=1e-3)
    assert float(of.yearly_use) == pytest.approx(3.1806 * 1.2 * 8766 * 0.95, rel=1e-3)
    assert float(of.yearly_cost) == pytest.approx(float(of.yearly_use) * 0.35, rel=1e-9)


def test_warm_and_long_storage_fails_where_cool_and_short_holds():
    lines, _, of = built(dosing={"storage_temperature": "35 degC"})
    assert verdict(lines, "chlorination.ageing.check") == "fails"
    lines, *_ = built(dosing={"storage_temperature": "15 degC"})
    assert verdict(lines, "chlorination.ageing.check") == "passes"
    # 1.5 mg/L at 80 %: 0.375 mg/L lost x 0.3923
    assert float(of.chlorate) * 1e3 == pytest.approx(0.1471, abs=1e-4)


def test_a_written_strength_brings_its_density():
    """30 % bisulfite is 1254.1 kg/m3 by the table, not the 1332 of the 38 % row."""
    def job(inp, flow, low):
        return dosing.dechlorination(inp, flow, dosing.chlorination(inp, flow, low), low)

    book, d = made(job, dechlorination={"strength": "30 % w/w"})
    assert float(d.line.neat.density) == pytest.approx(1254.1, rel=1e-9)
    assert "dechlorination.density_used" in book.lines
    book, d = made(job, dechlorination={"strength": "30 % w/w", "density": "1260 kg/m3"})
    assert float(d.line.neat.density) == 1260
    with pytest.raises(DesignError, match=r"dechlorination\.strength"):
        made(job, dechlorination={"strength": "60 % w/w"})


def test_dilution_feeds_more_and_buys_the_same():
    """38 % bisulfite thinned to 10 %: 3.8 times the mass is fed, what is bought stays."""
    def job(inp, flow, low):
        return dosing.dechlorination(inp, flow, dosing.chlorination(inp, flow, low), low).line

    _, neat = made(job)
    book, thin = made(job, dechlorination={"fed_strength": "10 % w/w"})
    assert float(thin.solution.density) == pytest.approx(1075.8)
    fed = float(thin.feed_rate) * 1075.8
    assert fed == pytest.approx(3.8 * float(neat.feed_rate) * 1332, rel=1e-9)
    assert float(thin.monthly_use) == pytest.approx(float(neat.monthly_use), rel=1e-12)
    water = book.lines["dechlorination.dilution_water"].value
    assert water + float(thin.mean_neat) * 1332 == pytest.approx(fed, rel=1e-12)
    book, _ = made(job, dechlorination={"fed_strength": "39 % w/w"})
    assert verdict(book.lines, "dechlorination.fed_strength.check") == "fails"


def test_handling_of_a_chemical_is_a_safety_note_and_no_check():
    lines, *_ = built()
    assert not any(id.endswith(".handling") for id in lines)
    said = lines["chlorination.turndown.check"].more["caution"]
    assert said.startswith("Sodium hypochlorite: ") and "Vent valves" in said and "Keep apart from acids" in said


def test_a_column_past_the_largest_is_a_finding_and_no_refusal():
    lines, *_ = built(dosing={"draw_down_time": "10 min"}, chlorination={"pump_capacity": "1500 L/h"})
    assert lines["chlorination.calibration_column"].value == pytest.approx(0.2)
    assert verdict(lines, "chlorination.calibration_column.check") == "fails"
