"""Any limit of the guidelines can be stated in the design: one key each, which the check then judges by."""

from __future__ import annotations

import pytest

from desalbook.design import from_text
from desalbook.design.sections import SECTIONS, field_meta
from desalbook.guidelines import changed_limits, guideline, guideline_keys, limit_key
from desalbook.plant import size
from desalbook.plant.vessel_table import guideline_table
from desalbook.problems import DesignError
from desalbook.trail import Ledger, given, what_if
from desalbook.trail.limits import limit, limit_source
from desalbook.units import metas, show
from tests.every import every
from tests.shared import demo, sized


def test_every_row_of_the_guidelines_is_a_key():
    every({key: key for key in guideline_keys()}, is_key)


def is_key(key: str) -> None:
    row = guideline(key)
    design = demo().with_value(limit_key(key), show(row.value, row.kind, digits=12))
    assert design.get(limit_key(key)) == pytest.approx(row.value, rel=1e-9)
    assert demo().get(limit_key(key)) is None


def test_a_limit_has_one_home():
    with Ledger().recording() as book:
        given("limits.rating_used", 0.8, "fraction", title="Own")
        assert limit("rating-used").id == "limits.rating_used" and float(limit("rating-used")) == 0.8
        assert limit_source("rating-used") == "design-file"
        table = limit("element-recovery", id="limits.element_recovery_here")
        assert limit_source("element-recovery") == guideline("element-recovery").source
    assert float(table) == guideline("element-recovery").value
    assert book.lines[table.id].sort == "assumed" and book.lines[table.id].more["row"] == "element-recovery"


@pytest.mark.parametrize(("key", "text", "check"), [
    ("rating-used", "50 %", "membrane.rating_used.check"),
    ("average-flux-open-intake", "10 L/(m2 h)", "membrane.flux.check"),
    ("element-recovery", "5 %", "membrane.element_recovery.check"),
    ("sdi15", "0.5", "fouling.sdi.check"),
])
def test_a_stated_limit_is_judged_by(key, text, check):
    design = demo().with_values({limit_key(key): text, "membrane.vessels": "32"})
    line = size(design).ledger.lines[check]
    assert line.inputs["limit"].id == limit_key(key) and line.more["verdict"] == "fails"
    without = sized().ledger
    assert without.lines[without.lines[check].inputs["limit"].id].sort == "assumed"


def test_limits_that_differ_are_listed():
    design = demo().with_values({"limits.rating_used": "90 %", "limits.element_recovery": show(
        guideline("element-recovery").value, "fraction", digits=12)})
    (changed,) = changed_limits(design.sections["limits"])
    assert (changed.key, changed.value, changed.table) == ("limits.rating_used", 0.9, 0.95)
    assert changed_limits(demo().sections["limits"]) == []


def test_the_table_of_limits_takes_the_stated_one():
    plant = size(demo().with_value("limits.average_flux_open_intake", "14.5 L/(m2 h)"))
    rows = guideline_table(plant)
    assert rows[rows["limit"] == "flux"]["allowed"].iloc[0] == pytest.approx(14.5e-3 / 3600)


def test_a_limit_of_another_kind_is_refused():
    with pytest.raises(DesignError, match="rating_used"):
        demo().with_value("limits.rating_used", "5 bar")
    with pytest.raises(DesignError, match="limits"):
        demo().with_value("limits.no_such_limit", "5 bar")


def _row_defaults() -> dict[str, tuple[str, str]]:
    """Keys of the top sections whose default is a row of the guidelines, and that row."""
    return {f"{name}.{key}": m.row for name, section in SECTIONS.items() for key, m in metas(section).items()
            if m.row[0]}


def test_a_default_that_is_a_limit_is_read_from_its_row():
    rows = {id: row for id, row in _row_defaults().items() if row[0] == "guidelines"}
    assert len(rows) > 15 and len(_row_defaults()) > len(rows)
    for id, (_, key) in rows.items():
        assert demo().get(id) == guideline(key).value and field_meta(id).source == guideline(key).source, id


def test_a_stated_limit_takes_the_place_of_the_default_that_reads_its_row():
    """Where the key itself is written as well, it goes before."""
    design = demo().with_values({"limits.npsh_margin_ratio": "1.5", "limits.npsh_margin": "3 m",
                                 "feed_pump.npsh_ratio": "1.1"})
    assert design.get("hp_pump.npsh_ratio") == 1.5 and design.get("feed_pump.npsh_ratio") == 1.1
    assert not design.stands("hp_pump.npsh_ratio")
    for recording in (True, False):
        book = size(design, recording=recording).ledger
        assert float(book["hp_pump.npsh_wanted"]) == pytest.approx(8 * 1.5)
        assert float(book["feed_pump.npsh_wanted"]) == pytest.approx(3 + 3)
    wanted = size(design).ledger.lines["hp_pump.npsh_wanted"]
    assert wanted.inputs["npsh_ratio"].id == "limits.npsh_margin_ratio"
    with what_if({"limits.npsh_margin_ratio": 1.01}):
        assert float(size(design).ledger["hp_pump.npsh_wanted"]) == pytest.approx(8 * 1.5 * 1.01)


def test_a_limit_that_cannot_be_is_refused_by_its_own_name():
    """Though a section takes it for its own key, what was typed is named."""
    for text in ("1_000", "900 m/h"):
        with pytest.raises(DesignError) as said:
            demo().with_value("limits.filter_rate_one_out", text)
        assert said.value.where == "limits.filter_rate_one_out"


STRICT = {
    "raw-storage": ("2 h", "storage.retention_time.check"),
    "media-depth": ("2 m", "filters.media_depth.check"),
    "collector-clearance": ("1 m", "filters.freeboard.check"),
    "vessel-side-shell": ("3 m", "filter_vessel.shell_length.check"),
    "filter-clean-pressure-drop": ("0.05 bar", "filters.clean_drop.check"),
    "filter-dirty-pressure-drop": ("0.5 bar", "filters.dirty_drop.check"),
    "filter-run": ("30 h", "filters.run_length.check"),
    "backwash-duration": ("20 min", "filters.backwash_time.check"),
    "backwash-water-fraction": ("1 %", "filters.backwash_fraction.check"),
    "backwash-water-stored": ("5 h", "storage.backwash_time.check"),
    "air-scour-low": ("60 m/h", "filters.scour_rate.check_low"),
    "air-scour-high": ("50 m/h", "filters.scour_rate.check_high"),
    "feed-turbidity": ("0.05 NTU", "fouling.turbidity.check"),
    "cartridge-rating": ("1 um", "cartridge.rating.check"),
    "cartridge-clean-pressure-drop": ("0.1 bar", "cartridge.clean_drop.check"),
    "cartridge-change-pressure-drop": ("0.5 bar", "cartridge.dirty_drop.check"),
    "suction-velocity-absolute": ("0.5 m/s", "piping.runs[feed-suction].velocity.check_suction"),
    "stagnant-velocity": ("4 m/s", "piping.runs[high-pressure].velocity.check_minimum"),
    "pump-efficiency-high-pressure": ("60 %", "hp_pump.efficiency.check"),
    "motor-load": ("50 %", "feed_pump.motor_load.check"),
    "elements-per-vessel": ("6", "membrane.elements.check"),
    "product-conductivity": ("100 uS/cm", "product.conductivity.check_product_conductivity"),
    "product-fluoride": ("0.001 mg/L", "product.fluoride.check_product_fluoride"),
    "product-nitrate": ("0.001 mg/L", "product.nitrate.check_product_nitrate"),
}
"""A limit that the demo plant does not keep, and the check that says so."""
REVIEWED = {
    "backwash-rate": ("90 m/h", "filters.backwash_rate.usual"),
    "backwash-off-line": ("60 min", "filters.off_line.check"),
    "feed-toc": ("1 mg/L", "water.toc.usual"),
    "pump-flow-ratio-low": ("110 %", "hp_pump.flow_fraction_minimum.preferred"),
    "isobaric-mixing": ("1 %", "energy_recovery.mixing.usual"),
    "isobaric-leakage": ("1 %", "energy_recovery.leakage.usual"),
    "isobaric-back-pressure": ("2 bar g", "energy_recovery.back_pressure.usual"),
    "salt-rejection": ("99.9 %", "membrane.salt_rejection.usual"),
    "product-boron-eu": ("0.1 mg/L as B", "product.boron.european"),
    "product-storage": ("12 h", "product_tank.storage_time.check"),
}
"""Limits that ask for review and fail nothing."""


def test_each_limit_that_is_not_kept_is_said():
    both = STRICT | REVIEWED
    usual = demo().with_values({"water.ions[NO3]": "2 mg/L"})
    strict = usual.with_values({limit_key(key): text for key, (text, _) in both.items()})
    kept, broken = size(usual).ledger.lines, size(strict).ledger.lines
    for key, (_, check) in both.items():
        assert kept[check].more["verdict"] in ("passes", "marginal"), check
        assert broken[check].more["verdict"] == ("fails" if key in STRICT else "review"), check
        assert broken[check].inputs["limit"].id == limit_key(key)


@pytest.mark.full
def test_every_limit_is_used_by_some_plant():
    """Each row stated as it stands in the table; some line of some plant rests on it."""
    keys = set(guideline_keys())
    stated = {limit_key(k): show(guideline(k).value, guideline(k).kind, digits=12) for k in keys}
    used: set[str] = set()
    for more in ({}, {"filters.present": "no"}, {"membrane.water_supply": "well"},
                 {"membrane.water_supply": "ultrafiltration"}, {"hp_pump.pump_class": "positive-displacement"},
                 {"water.ions[NO3]": "2 mg/L"}, {"acid.present": "yes", "acid.reason": ""}, {"cip.alkali_ph": "11.5"},
                 {"cip.alkali_ph": "9.9"}, {"power.generator": "yes"},
                 *({"duty.product_use": use} for use in ("process", "irrigation", "concrete", "boiler"))):
        used |= _limits_used(demo().with_values(stated | more))
    from tests.random_designs import SECOND

    text = demo().text.replace("[energy_recovery]", f"{SECOND}\n[energy_recovery]")
    used |= _limits_used(from_text(text).with_values(stated))
    # these judge logged data, which no plant holds: desalbook.cleaning.normalisation
    logged = {"cleaning-flow-loss", "cleaning-salt-rise", "cleaning-pressure-drop-rise"}
    # these the trial of the sequences judges by, which is made on demand and stands in no record
    on_trial = {"membrane-oxidant", "pressure-ramp"}
    assert keys - {k for k in keys if limit_key(k) in used} == logged | on_trial


def _limits_used(design) -> set[str]:
    lines = size(design).ledger.lines.values()
    return {x.id for line in lines for x in (*line.inputs.values(), *line.because) if x.id.startswith("limits.")}


def test_a_stated_limit_of_the_vessel_drop_reaches_the_trips():
    """The alarms and trips take the limit from the book, whichever of its two names it has there."""
    book = size(demo().with_value("limits.vessel_pressure_drop", "3 bar"), recording=False).ledger
    assert float(book["limits.vessel_pressure_drop"]) == pytest.approx(3e5) and "limits.vessel_drop" not in book
