"""What a person adds from outside the kit: it is sized, and shows wherever its kind shows."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator, Mapping
from dataclasses import replace

import numpy as np
import pytest

import desalbook as db
from desalbook import paths
from desalbook.audit import recompute
from desalbook.audit.verify import derived
from desalbook.design import from_text
from desalbook.design.sections import field_meta
from desalbook.dosing import complete as chemicals_complete
from desalbook.dosing.chemical_tanks import incompatible
from desalbook.hydraulics.energy_recovery import (
    DEVICES,
    Balance,
    BestPoint,
    Device,
    DeviceKind,
    Duty,
    Recovery,
    WaterLineRole,
    complete,
    registered,
)
from desalbook.hydraulics.energy_recovery.balance import (
    available_pressure_drop,
    hydraulic_power_of_stream,
    hydraulic_power_with_transfer,
    pressure_rise,
)
from desalbook.hydraulics.energy_recovery.turbine import shaft_power_recovered, turbine_loss
from desalbook.plant import compare_recovery
from desalbook.pretreatment.media import FILTERING, media, medium
from desalbook.problems import DesignError, TrailError
from desalbook.tables import table
from desalbook.trail import Figure, assumed, checked, relation, values
from desalbook.units import Flux, M, PerS
from desalbook.water.species import add_reactant, remove_reactant
from tests.outside.office import values as cells_by_sheet
from tests.rate_si import rate_si

ID = "energy_recovery"


class ScrewExpander(DeviceKind):
    """A positive-displacement expander on the pump's shaft, of one efficiency at every flow; a toy."""

    key = "screw-expander"
    label = "Screw expander on the shaft"
    columns = ("back_pressure",)
    of_size = ("efficiency_high",)
    cost_key = "screw-expander"
    water_line = WaterLineRole.SHAFT
    stop_title = "Expander"
    on_shaft = True

    def size(self, of: Device, rejects: Mapping[str, tuple[Figure, Figure, Figure]]) -> BestPoint | None:
        return None

    def run(self, of: Device, duty: Duty, best: BestPoint | None) -> Recovery:
        rise = pressure_rise.at("hp_pump.pressure_rise", discharge_pressure=duty.feed_pressure,
                                suction_pressure=duty.suction_pressure)
        return Recovery(duty.feed_flow, duty.feed_pressure, rise, duty.exhaust_pressure)

    def shaft_power(self, of: Device, duty: Duty, recovery: Recovery, best: BestPoint | None,
                    speed_ratio: Figure | None) -> Recovery:
        return replace(recovery, recovered=shaft_power_recovered.at(
            f"{ID}.recovered_power", turbine_efficiency=of.need("efficiency_high"), reject_flow=duty.reject_flow,
            concentrate_pressure=duty.concentrate_pressure, exhaust_pressure=duty.exhaust_pressure))

    def power_balance(self, of: Device, duty: Duty, recovery: Recovery) -> Balance:
        drop = available_pressure_drop.at(f"{ID}.drop", concentrate_pressure=duty.concentrate_pressure,
                                          exhaust_pressure=duty.exhaust_pressure)
        return Balance(
            hydraulic_power_of_stream.at(f"{ID}.power_in", flow=duty.reject_flow,
                                         inlet_pressure=duty.concentrate_pressure),
            hydraulic_power_with_transfer.at(f"{ID}.power_out", flow=duty.reject_flow,
                                             exhaust_pressure=duty.exhaust_pressure,
                                             transferred_power=recovery.recovered),
            {"expander": turbine_loss.at(f"{ID}.loss_expander", flow=duty.reject_flow, pressure_drop=drop,
                                         transfer_efficiency=of.need("efficiency_high"))})

    def equipment(self, units: int) -> str:
        return "screw expander with gear"


DEVICE_ROW = {"key": "screw-expander", "title": "Screw expander", "source": "definition", "place": "a toy of the tests",
              "efficiency_high": "82 %", "back_pressure": "3.0 barg"}
COST_ROW = {"key": "screw-expander", "title": "Screw expander with gear", "source": "definition",
            "place": "a toy of the tests", "per_kilowatt": "0", "per_flow": "640"}


@contextlib.contextmanager
def row(name: str, text: Mapping[str, str]) -> Iterator[None]:
    table(name).add(text)
    try:
        yield
    finally:
        table(name).remove(text["key"])


def cells_of(path) -> list:
    """What stands in the cells of a workbook."""
    return [cell for rows in cells_by_sheet(path).values() for row in rows for cell in row]


@pytest.fixture(scope="module")
def toy_device():
    with row("energy_recovery", DEVICE_ROW), row("machine_costs", COST_ROW), registered(ScrewExpander()):
        complete()
        yield
    assert "screw-expander" not in DEVICES
    complete()


@pytest.fixture(scope="module")
def plant(toy_device):
    design = db.read(paths.demo("harbour-town.toml"))
    return db.size(design.with_value("energy_recovery.device", "screw-expander"))


def test_a_key_that_nobody_registered_is_refused():
    design = db.read(paths.demo("harbour-town.toml"))
    with pytest.raises(DesignError):
        design.with_value("energy_recovery.device", "screw-expander")


def test_a_device_is_sized_and_its_balance_closes(plant):
    book = plant.sized.ledger
    assert str(book["energy_recovery.device"]) == "screw-expander"
    assert float(book["energy_recovery.efficiency_high"]) == 0.82
    for r in plant.sized.pressure.by_corner.values():
        lost = float(r.balance.losses["expander"])
        assert float(r.balance.into) == pytest.approx(float(r.balance.out) + lost, rel=1e-12)
        assert r.recovered > 0


def test_a_device_shows_in_streams_equipment_and_the_picture(plant):
    from desalbook.drawings.water_line.plant import picture

    reject = plant.streams.set_index("key").loc["concentrate"]
    assert reject["pressure"] == pytest.approx(3.0e5)  # the back-pressure of the toy
    assert any("Screw expander on the shaft" in str(x) for x in plant.sized.equipment)
    assert plant.sized.stops["recovery"] == WaterLineRole.SHAFT
    assert "Expander" in picture(plant)


def test_a_device_stands_in_the_comparison_and_between_others_in_energy(toy_device):
    design = db.read(paths.demo("harbour-town.toml"))
    frame = compare_recovery(design).set_index("device")
    toy = frame.loc["screw-expander"]
    assert toy["title"] == "Screw expander on the shaft" and "screw expander with gear" in toy["extra_equipment"]
    assert frame.loc["isobaric", "specific_energy"] < toy["specific_energy"] < frame.loc["none", "specific_energy"]
    assert toy["cost_machines"] > 0


def test_a_device_is_rated_at_its_corners(plant):
    corner = plant.sized.array.by_corner["cold-aged"]
    got = rate_si(plant, temperature=float(plant.sized.waters.at["cold"].temperature))
    assert got["feed_pressure"][0] == pytest.approx(float(corner["feed_pressure"]), rel=1e-9)
    assert got["hp_power"][0] == pytest.approx(float(plant.sized.pressure.runs["cold-aged"].hp_power), rel=1e-9)


def test_a_device_stands_in_the_workbook(plant, tmp_path):
    path = tmp_path / "toy.xlsx"
    plant.trail.workbook(path)
    texts = {str(x) for x in cells_of(path)}
    assert any("screw-expander" in x or "Screw expander" in x for x in texts)
    assert any("energy_recovery.loss_expander" in x for x in texts)


def test_an_incomplete_device_is_refused_by_name(toy_device):
    class Nameless(ScrewExpander):
        key = "nameless"

    with pytest.raises(TrailError, match="energy_recovery"), registered(Nameless()):
        pass
    with row("energy_recovery", DEVICE_ROW | {"key": "nameless"}), pytest.raises(TrailError, match="nameless"):
        complete()

    class Half(DeviceKind):
        key = "half"

    with pytest.raises(TypeError, match="power_balance"):
        Half()  # type: ignore[abstract]  # that is what is tried

    class NoStop(ScrewExpander):
        cost_key = "nothing"
        key = "other"

    with row("energy_recovery", DEVICE_ROW | {"key": "other"}), pytest.raises(TrailError, match="machine_costs"), \
            registered(NoStop()):
        pass


# A medium: one row of the table; a layer of it is sized, drawn and exported as any other.

MEDIUM_ROW = {"key": "expanded-clay", "title": "Expanded clay, 1.3 mm", "source": "definition",
              "place": "a toy of the tests", "role": "filter", "effective_size": "1.3 mm", "uniformity": "1.4",
              "d60": "1.82 mm", "d90": "2.28 mm", "grain_density": "1480 kg/m3", "settled_porosity": "45 %",
              "sphericity": "0.65", "kappa_v": "260", "kappa_i": "4.8", "usual_size_low": "1 mm",
              "usual_size_high": "2 mm"}
LAYERS = """
[[filters.layers]]
name = "clay"
media = "expanded-clay"
depth = "0.7 m"
[[filters.layers]]
name = "sand"
media = "sand"
depth = "0.4 m"
"""


def bed_of_clay() -> db.Design:
    harbour = db.read(paths.demo("harbour-town.toml"))
    return from_text(harbour.text + LAYERS, harbour.path)


@pytest.fixture(scope="module")
def clay():
    with row("media", MEDIUM_ROW):
        yield db.size(bed_of_clay())


def test_a_medium_that_is_not_in_the_table_is_refused_by_name():
    with pytest.raises(DesignError, match="expanded-clay"):
        bed_of_clay()


def test_a_medium_is_a_choice_as_long_as_its_row_is_there():
    with row("media", MEDIUM_ROW):
        assert field_meta("filters.layers[clay].media").options["expanded-clay"] == "Expanded clay, 1.3 mm"
        assert media()["expanded-clay"].role is FILTERING
    assert "expanded-clay" not in media() and "expanded-clay" not in field_meta("filters.layers[clay].media").options


def test_a_medium_shows_in_figures_of_its_own(clay):
    """Ergun's head loss of the layer, written out here once more, on the toy's own numbers."""
    book = clay.sized.ledger
    assert float(book["filters.media.grain_density"]["clay"]) == 1480.0
    rate, e, d = float(book["filters.rate"]), 0.45, 1.3e-3
    rho, mu = (float(book[f"water.{what}@cold"]) for what in ("density", "viscosity"))
    wanted = (260 * (1 - e) ** 2 / e**3 * mu * 0.7 * rate / (rho * 9.80665 * d**2)
              + 4.8 * (1 - e) / e**3 * 0.7 * rate**2 / (9.80665 * d))
    assert float(book["filters.clean_head_loss_by_layer@cold"]["clay"]) == pytest.approx(wanted, rel=1e-12)
    assert "filters.inversion[clay].note@cold" in book or "filters.inversion[clay].rate@cold" in book
    mass = 0.7 * 0.55 * 1480 + 0.4 * 0.585 * 2650
    assert float(book["filter_vessel.media_mass"]) == pytest.approx(mass * float(book["filters.area"]), rel=1e-12)


def test_a_medium_moves_the_picture_of_the_bed(clay):
    from desalbook.notebook.pictures.filters import expansion_by_temperature

    expanded = clay.sized.ledger["filters.backwash_expansion_by_layer@cold"]["clay"]
    assert f"clay {100 * float(expanded):.0f} % in the coldest" in expansion_by_temperature(clay)
    with row("media", MEDIUM_ROW | {"key": "heavy-clay", "grain_density": "2300 kg/m3"}):
        design = bed_of_clay().with_value("filters.layers[clay].media", "heavy-clay")
        design = design.with_value("filters.backwash_rate", str(clay.show("filters.backwash_rate")))
        heavier = db.size(design)
        assert float(heavier.sized.ledger["filters.backwash_expansion_by_layer@cold"]["clay"]) < 0.5 * float(expanded)
        assert expansion_by_temperature(heavier) != expansion_by_temperature(clay)


def test_a_medium_stands_in_the_workbook(clay, tmp_path):
    path = tmp_path / "clay.xlsx"
    clay.trail.workbook(path)
    cells = cells_of(path)
    assert any("expanded-clay" in str(x) or "Expanded clay" in str(x) for x in cells)
    assert any(isinstance(x, (int, float)) and abs(x - 1480.0) < 1e-9 for x in cells)


def test_an_incomplete_medium_is_refused_by_the_missing_name():
    for name in ("role", "d60", "kappa_v"):
        with pytest.raises(DesignError, match=f"has no {name}"):
            table("media").add({k: text for k, text in MEDIUM_ROW.items() if k != name} | {"key": "half"})
    with row("media", MEDIUM_ROW | {"key": "idle", "role": "ornament"}), pytest.raises(DesignError, match="ornament"):
        medium("idle")


# An acid: a substance of its own and a row of the table of chemicals; it is dosed, bought, drawn and exported.

SUBSTANCE = {"name": "hydrobromic acid", "atoms": {"H": 1, "Br": 1}, "alkalinity": -1, "carbon": 0, "ions": {"Br": 1}}
ACID_ROW = {"key": "hydrobromic-acid", "title": "Hydrobromic acid, 48 %", "source": "definition",
            "place": "a toy of the tests", "role": "acid", "formula": "HBr", "dose_basis": "as HBr",
            "molar_mass": "80.912 g/mol", "strength": "48 % w/w", "density": "1490 kg/m3",
            "hazard": "Severe burns; a toy.", "caution": "Of the tests only.", "keeping": "Nowhere.",
            "incompatible": "hypochlorite", "price": "2.5"}


@contextlib.contextmanager
def substance(key: str, made: Mapping[str, object]) -> Iterator[None]:
    add_reactant(key, made)
    try:
        yield
    finally:
        remove_reactant(key)


def with_acid(key: str) -> db.Design:
    harbour = db.read(paths.demo("harbour-town.toml"))
    return harbour.with_value("acid.present", "yes").with_value("acid.chemical", key)


@pytest.fixture(scope="module")
def acidified():
    with substance("HBr", SUBSTANCE), row("chemicals", ACID_ROW):
        chemicals_complete()
        yield db.size(with_acid("hydrobromic-acid"))
    assert "hydrobromic-acid" not in field_meta("acid.chemical").options


@pytest.fixture(scope="module")
def hydrochloric():
    """The same plant with an acid of the kit, which yields as many hydrogen ions a mole."""
    return db.size(with_acid("hydrochloric-acid"))


def test_an_acid_is_a_choice_as_long_as_its_row_is_there(acidified):
    assert field_meta("acid.chemical").options["hydrobromic-acid"] == "Hydrobromic acid, 48 %"
    with pytest.raises(DesignError, match="muriatic"):
        with_acid("muriatic")


def test_an_acid_is_dosed_by_its_own_molar_mass_and_strength(acidified, hydrochloric):
    mine, theirs = acidified.sized.ledger, hydrochloric.sized.ledger
    assert float(mine["acid.amount"]) == pytest.approx(float(theirs["acid.amount"]), rel=1e-12)
    assert float(mine["acid.dose"]) == pytest.approx(float(theirs["acid.dose"]) * 80.912 / 36.458, rel=1e-9)
    rate = float(mine["acid.dose"]) * float(mine["acid.flow"]) / (0.48 * 1490.0)
    assert float(mine["acid.feed_rate"]) == pytest.approx(rate, rel=1e-12)


def test_an_acid_shows_in_the_water_and_the_streams(acidified, hydrochloric):
    feed, other = (dict(p.sized.feed.water("cold").molality) for p in (acidified, hydrochloric))
    amount = float(acidified.sized.ledger["acid.amount@cold"])
    assert feed["Br"] - other["Br"] == pytest.approx(amount, rel=1e-9)
    assert other["Cl"] - feed["Cl"] == pytest.approx(amount, rel=1e-6)
    stream = acidified.streams.set_index("key").loc["acid"]
    assert stream["chemical_kg_s"] == pytest.approx(float(acidified.sized.ledger["acid.mass_rate"]), rel=1e-12)
    assert "1 Br" in stream["not_followed"]


def test_an_acid_shows_in_the_schedule_with_its_price(acidified):
    entry = acidified.chemicals.set_index("key").loc["acid"]
    assert entry["chemical"] == "Hydrobromic acid, 48 %" and entry["basis"] == "as HBr"
    assert entry["yearly_cost"] == pytest.approx(2.5 * entry["yearly_use"], rel=1e-12) and entry["yearly_use"] > 0.0
    assert entry["hazard"] == "Severe burns; a toy." and entry["pump_capacity"] >= entry["highest_rate"]
    pair = incompatible("hydrobromic-acid", "sodium-hypochlorite")
    assert pair is not None and pair["makes"].value == "chlorine gas"


def test_an_acid_draws_power_and_stands_on_both_pictures(acidified):
    from desalbook.notebook.pictures.dosing import dosing_picture

    bare = db.size(db.read(paths.demo("harbour-town.toml")))
    rows = [set(p.energy["key"]) for p in (acidified, bare)]
    assert rows[0] - rows[1] == {"dosing_acid"} and not rows[1] - rows[0]
    assert "Hydrobromic acid, 48 %" in dosing_picture(acidified)
    dose = acidified.sized.ledger["acid.dose"].show()
    assert ("cartridge", "acid", dose) in acidified.sized.stops["chemicals"]
    assert "acid" not in [mark for _, mark, _ in bare.sized.stops["chemicals"]]


def test_an_acid_stands_in_the_workbook(acidified, tmp_path):
    path = tmp_path / "acid.xlsx"
    acidified.trail.workbook(path)
    texts = {str(x) for x in cells_of(path)}
    assert any("hydrobromic acid" in x for x in texts) and any("acid.molar_mass" in x for x in texts)


def test_an_incomplete_chemical_is_refused_by_the_missing_name():
    other = ACID_ROW | {"key": "half", "formula": "HJ", "dose_basis": "as HJ"}
    for name in ("role", "strength", "price"):
        with pytest.raises(DesignError, match=f"has no {name}"):
            table("chemicals").add({k: text for k, text in other.items() if k != name})
    for change, lost in (({"molar_mass": None}, "molar_mass"), ({"formula": "HQ", "dose_basis": "as HQ"}, "HQ"),
                         ({"dose_basis": "as Cl2"}, "as HJ"), ({"role": "ornament"}, "ornament"),
                         ({"role": "dechlorination"}, "hj-per-cl2"), ({"role": "alkali"}, "sign of its role")):
        made = {k: text for k, text in (other | change).items() if text is not None}
        with substance("HJ", SUBSTANCE), row("chemicals", made), pytest.raises(DesignError) as refused:
            chemicals_complete()
        assert lost in str(refused.value)
    with pytest.raises(DesignError, match="charge is not conserved"):
        add_reactant("HJ", SUBSTANCE | {"alkalinity": -2})
    chemicals_complete()


@relation("Specific flux tried", symbol="S_J", unit="1/s", source="common-practice", place="a toy of the tests")
def specific_flux_tried(flux: Flux, element_length: M) -> PerS:
    """Flux over the length of an element; a toy.

    It means nothing: it shows where a relation of one's own turns up.
    """
    return flux / element_length


@pytest.fixture
def extended():
    """The demo plant with one line of a relation of one's own, and a check of it."""
    plant = db.size(paths.demo("harbour-town.toml"))
    with plant.ledger.recording():
        made = specific_flux_tried.at("toy.specific_flux", flux=plant.ledger["membrane.flux"],
                                      element_length=plant.ledger["membrane.element.length"])
        limit = assumed("toy.limit", 1.0, "frequency", title="Limit of the toy", source="common-practice")
        checked("toy.specific_flux.check", made, "<=", limit, title="Toy within its limit", do="leave it")
    return plant


def test_a_relation_is_computed_called_and_explained(extended):
    expected = float(extended.ledger["membrane.flux"]) / float(extended.ledger["membrane.element.length"])
    assert float(extended.ledger["toy.specific_flux"]) == pytest.approx(expected, rel=1e-15)
    assert specific_flux_tried("14 L/(m2 h)", "1 m") == pytest.approx(14e-3 / 3600, rel=1e-12)
    assert "Flux over the length" in specific_flux_tried.__doc__ and "1/s" in specific_flux_tried.__doc__


def test_a_relation_stands_in_record_table_page_and_workbook(extended, tmp_path):
    record = extended.record
    line = next(x for x in record["lines"] if x["id"] == "toy.specific_flux")
    assert line["sort"] == "computed" and record["relations"][line["relation"]]["title"] == "Specific flux tried"
    assert "toy.specific_flux" in set(extended.trail.table()["id"])
    assert recompute(record).holds and not derived(record)
    page = extended.trail.page(tmp_path / "page.html").read_text(encoding="utf-8")
    assert "Specific flux tried" in page and "Toy within its limit" in page
    assert "toy.specific_flux" in cells_of(extended.trail.workbook(tmp_path / "toy.xlsx"))


def test_a_relation_runs_without_a_record_and_over_cases():
    with values() as book:
        found = specific_flux_tried.at("toy.flux", flux=np.array([4e-6, 8e-6]), element_length=2.0)
    assert found.tolist() == [2e-6, 4e-6] and book["toy.flux"] is found
