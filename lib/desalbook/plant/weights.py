"""What each row of the equipment schedule weighs: empty, in operation and full of water, and the box it stands in.

Vessels, tanks and bunds by geometry, equipment by a correlation within its range, or as given under
``fabrication.weights``. Masses of one unit; first figures for an offer, replaced by certified ones.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from desalbook.balances import flow_ratio, sum_of_two_masses
from desalbook.cleaning.skid import pipe_contents
from desalbook.cost.capital import apparent_ratio, area_ratio, count_ratio, rating_ratio
from desalbook.fabrication.lifting import share_of_mass
from desalbook.fabrication.machine_weight import (
    envelope_side,
    machine_mass,
    pump_set_mass,
    reactive_ratio,
)
from desalbook.fabrication.pipe_weight import flange_mass
from desalbook.fabrication.vessel_weight import (
    bed_mass,
    bund_mass,
    dished_height,
    element_mass,
    element_water,
    fitted_mass,
    head_mass,
    head_volume,
    shell_above,
    square_side,
    tank_diameter,
    tank_height,
    tank_mass,
    tank_wall,
    two_heads_and_shell,
    vessel_height,
    vessel_length,
    vessel_mass,
    vessel_volume,
    vessel_water,
    water_in_bed,
    water_of,
)
from desalbook.hydraulics.rows import least_row, row_line
from desalbook.pretreatment.filter_vessel import shell_mass, water_mass
from desalbook.pretreatment.vessel_construction import shell_thickness
from desalbook.tables import Row, table
from desalbook.trail import Column, Figure, assumed, constant, current, picked, scope
from desalbook.trail.inputs import Inputs

__all__ = ["Box", "Weighed", "element_stem", "item_of", "weigh"]

GEOMETRY = constant("x_g", 0.15, "1", source="common-practice", title="Spread of what is weighed by its geometry").value
_GIVEN = constant("x_c", 0.03, "1", source="common-practice", title="Spread of a mass as given").value
_VESSEL = constant("x_v", 0.2, "1", source="common-practice", title="Spread of the mass of a vessel").value
_ELEMENT = constant("x_e", 0.15, "1", source="common-practice", title="Spread of the mass of an element").value
BEYOND = "correlation, beyond its range"
_PREFIXES = {"dosing_": "dosing", "day_tank_": "day_tank", "bulk_storage_": "bulk_storage", "bund_": "bund"}
_COLUMN = {"area": "base_area", "flow": "base_flow", "air_flow": "base_flow", "capacity": "base_flow",
           "relief_flow": "base_flow", "apparent_power": "base_apparent", "reactive_power": "base_reactive",
           "electric_power": "base_power", "motor": "base_power", "count": "base_places", "lengths": "base_places",
           "modules": "base_places", "one": "base_places"}
"""Column of the base size by what the size of an item is."""
_RATIO = {"base_area": lambda id, size, base: area_ratio.at(id, item_area=size, base_area=base),
          "base_flow": lambda id, size, base: flow_ratio.at(id, flow=size, reference_flow=base),
          "base_apparent": lambda id, size, base: apparent_ratio.at(id, item_apparent=size, base_apparent=base),
          "base_reactive": lambda id, size, base: reactive_ratio.at(id, item_reactive=size, base_reactive=base),
          "base_power": lambda id, size, base: rating_ratio.at(id, item_power=size, base_power=base),
          "base_places": lambda id, size, base: count_ratio.at(id, item_places=size, base_places=base)}
"""Ratio of the size of an item to the base size."""


@dataclass(frozen=True)
class Box:
    """Length, width and height of what an item stands in, m; `round` where it is an upright cylinder."""

    length: Figure
    width: Figure
    height: Figure
    round: bool = False


@dataclass(frozen=True)
class Weighed:
    """One row of the schedule, weighed; masses of one unit, kg.

    Parameters
    ----------
    row : mapping
        Of the schedule.
    basis : str
        Geometry, correlation, as given, or a correlation beyond its range.
    spread : float
        Fraction, up and down.
    empty, operating, test : Figure
    box : Box or None
        None where it has no place of its own: an element in its vessel, a cartridge in its housing.
    skid : str
        Row of ``skid_kinds`` it stands on; empty where it stands by itself.
    """

    row: Mapping[str, Any]
    basis: str
    spread: float
    empty: Figure
    operating: Figure
    test: Figure
    box: Box | None
    skid: str


def item_of(row: Mapping[str, Any]) -> Row:
    """Row of ``item_weights`` of a row of the schedule."""
    key = row["key"].partition("[")[0]
    known = table("item_weights")
    found = key if key in known else next((kind for at, kind in _PREFIXES.items() if key.startswith(at)), "stage_pump")
    return known.row(found, row["key"])


def weigh(inp: Inputs, sized: Any) -> list[Weighed]:
    """Every row of the schedule, weighed, but the owner's loads, of which the kit knows the power alone.

    Parameters
    ----------
    inp : Inputs
        Keys of ``[fabrication]`` and of the vessels.
    sized : Sized
    """
    given = inp("fabrication.weights")
    found = []
    for row in sized.equipment:
        if row["key"].startswith("own["):
            continue
        of = item_of(row)
        with scope("unit", count=row["installed_total"]):
            found.append(_METHODS[of["method"].value](_Item(inp, sized, row, of, given)))
    return found


class _Item:
    """What a method is handed: the row, its ids, and what the table says of its kind."""

    def __init__(self, inp: Inputs, sized: Any, row: Mapping[str, Any], of: Row, given: Any):
        self.inp, self.sized, self.row, self.of = inp, sized, row, of
        self.at = f"weight[{row['tag']}]"
        self.given = given[row["tag"]] if isinstance(given, Column) and row["tag"] in given else None
        self.density = sized.waters.at["cold"].density

    def figure(self, name: str) -> Figure | None:
        """Figure of a column of the schedule; None where the row has none."""
        id = self.row.get("ids", {}).get(name)
        return None if id is None or id not in current() else current()[id]

    def line(self, name: str, of: str, key: str, column: str, because: Any = None) -> Figure:
        return row_line(f"{self.at}.{name}", of, key, column, because=[] if because is None else [because])

    def none(self, name: str) -> Figure:
        return assumed(f"{self.at}.{name}", 0.0, "mass", title="Contents, none", source="definition")

    def done(self, empty: Figure, basis: str, spread: float, contents: Figure | None, box: Box | None,
             water: Figure | None = None) -> Weighed:
        """The row weighed; `contents` in operation, `water` in a test where that is not the same."""
        if self.given is not None:
            empty, basis, spread = self.given, "as given", _GIVEN
        if contents is None:
            return Weighed(self.row, basis, spread, empty, empty, empty, box, self.skid)
        operating = sum_of_two_masses.at(f"{self.at}.operating", mass=empty, other_mass=contents,
                                    title="Mass in operation", symbol="m_o")
        test = operating if water is None else sum_of_two_masses.at(
            f"{self.at}.test", mass=empty, other_mass=water, title="Mass full of water", symbol="m_t")
        return Weighed(self.row, basis, spread, empty, operating, test, box, self.skid)

    @property
    def skid(self) -> str:
        return self.of["skid"].value if "skid" in self.of else ""

    def envelope(self, mass: Figure, of: str, key: str) -> Box:
        """Box of a unit by its mass."""
        wide = self.line("width_ratio", of, key, "width_ratio")
        high = self.line("height_ratio", of, key, "height_ratio")
        long = assumed(f"{self.at}.length_ratio", 1.0, "factor", title="Length / length", source="definition")
        bulk = self.line("bulk_density", of, key, "bulk_density")
        return Box(*(envelope_side.at(f"{self.at}.{name}", empty_mass=mass, bulk_density=bulk, width_ratio=wide,
                                      height_ratio=high, side_ratio=ratio, title=f"{name.capitalize()} of the envelope")
                     for name, ratio in (("length", long), ("width", wide), ("height", high))))


def _by_correlation(x: _Item, key: str, measure: str, size: Figure, name: str = "empty") -> tuple[Figure, str, float]:
    """Mass by a row of the tables, what it rests on, and its spread."""
    row = table("machine_weights").row(key, x.at)
    column = _COLUMN[measure]
    ratio = _RATIO[column](f"{x.at}.size_ratio", size, x.line("base_size", "machine_weights", key, column))
    mass = machine_mass.at(f"{x.at}.{name}", base_mass=x.line("base_mass", "machine_weights", key, "mass"),
                              size_ratio=ratio, size_exponent=x.line("exponent", "machine_weights", key, "exponent"))
    within = row["smallest"].value * (1 - 1e-9) <= float(ratio) <= row["largest"].value * (1 + 1e-9)
    return mass, "correlation" if within else BEYOND, row["spread"].value * (1 if within else 2)


def _contents(x: _Item, mass: Figure, of: str, key: str) -> Figure | None:
    share = table(of).row(key, x.at)["contents"]
    if not share.value:
        return None
    return share_of_mass.at(f"{x.at}.contents", base_mass=mass, title="Water in it",
                            mass_fraction_of=x.line("contents_fraction", of, key, "contents"))


def _machine(x: _Item, key: str, measure: str, size: Figure) -> Weighed:
    mass, basis, spread = _by_correlation(x, key, measure, size)
    empty = x.given if x.given is not None else mass
    return x.done(mass, basis, spread, _contents(x, empty, "machine_weights", key),
                  None if key == "cartridge" else x.envelope(mass, "machine_weights", key))


def _correlation(x: _Item) -> Weighed:
    key, measure = x.of["row"].value, x.of["size"].value
    return _machine(x, key, measure, _size(x, measure))


def _size(x: _Item, measure: str) -> Figure:
    if measure == "one":
        return assumed(f"{x.at}.one", 1.0, "count", title="One of it", source="definition")
    if measure == "lengths":
        return current()["cartridge.equivalents"]
    if measure == "modules":
        return picked(f"{x.at}.modules", float(x.row["modules"]), "count", title="Modules of the controller",
                      symbol="n_m", rule="all types together", candidates=[], inputs=dict(
                          x.sized.control.signals.modules))
    found = x.figure("apparent_power" if measure == "reactive_power" else measure)
    assert found is not None, (x.row["key"], measure)
    return found


def _pump(x: _Item) -> Weighed:
    key = f"{x.row['key']}.pump_class"
    chosen = x.inp(key)
    known = table("pump_sets")
    row = str(chosen) if chosen is not None and str(chosen) in known else x.of["row"].value
    power = x.figure("motor")
    motor, basis, _ = _by_correlation(x, "motor", "motor", power if power is not None else _size(x, "shaft_power"),
                                           "motor_mass")
    mass = pump_set_mass.at(f"{x.at}.empty", motor_mass=motor,
                               pump_ratio=x.line("pump_ratio", "pump_sets", row, "pump_ratio", chosen),
                               base_fraction=x.line("base_fraction", "pump_sets", row, "base_fraction", chosen))
    empty = x.given if x.given is not None else mass
    return x.done(mass, basis, known[row]["spread"].value * (1 if basis == "correlation" else 2),
                  _contents(x, empty, "pump_sets", row), x.envelope(mass, "pump_sets", row))


def _recovery(x: _Item) -> Weighed:
    """Isobaric units by the flow of one, turbines by the flow of the concentrate."""
    device = x.sized.device
    if device.kind.parallel_units and device.unit_flow is not None:
        return _machine(x, "erd-isobaric", "flow", device.unit_flow)
    return _machine(x, "erd-turbine", "flow", x.sized.pressure.concentrate_flow)


def _valve(x: _Item) -> Weighed:
    if x.row["key"].startswith("valve[relief"):
        id = next(v["ids"]["relief_flow"] for v in x.sized.valves if v["tag"] == x.row["tag"])
        return _machine(x, "relief", "relief_flow", current()[id])
    of = next(v for v in x.sized.valves if v["tag"] == x.row["tag"])
    bore = x.sized.pipes[of["line"]].pipe.diameter
    high = float(x.row["rated_pressure"]) > table("flange_classes")["class-150"]["rating"].value
    key = "ball-high-pressure" if high else "butterfly"
    row = table("machine_weights").row(key, x.at)
    mass = flange_mass.at(f"{x.at}.empty", inner_diameter=bore, title="Mass of a valve", symbol="m_V",
                          flange_reference=x.line("base_mass", "machine_weights", key, "mass"),
                          flange_exponent=x.line("exponent", "machine_weights", key, "exponent"))
    ratio = float(bore) / row["base_bore"].value
    within = row["smallest"].value <= ratio <= row["largest"].value
    empty = x.given if x.given is not None else mass
    return x.done(mass, "correlation" if within else BEYOND, row["spread"].value * (1 if within else 2),
                  _contents(x, empty, "machine_weights", key), x.envelope(mass, "machine_weights", key))


def _tank(x: _Item) -> Weighed:
    """An upright tank: wall by its own water, floor and roof of the same thickness."""
    inp = x.inp
    volume, diameter = x.figure("volume"), x.figure("diameter")
    assert volume is not None
    chemical = x.of["row"].value == "chemical"
    material = inp.choice("fabrication.chemical_tank_material" if chemical else "fabrication.tank_material")
    if diameter is None:
        diameter = tank_diameter.at(f"{x.at}.diameter", volume=volume,
                                       slenderness=inp.number("fabrication.tank_slenderness"))
    height = tank_height.at(f"{x.at}.height", volume=volume, diameter=diameter)
    density = _solution(x) if chemical else x.density
    wall = tank_wall.at(f"{x.at}.wall", density=density, tank_height=height, diameter=diameter,
                           wall_stress=x.line("wall_stress", "tank_materials", material, "wall_stress", material),
                           wall_least=x.line("wall_least", "tank_materials", material, "wall_least", material))
    bare = tank_mass.at(f"{x.at}.bare", diameter=diameter, tank_height=height, thickness=wall,
                           wall_density=x.line("wall_density", "tank_materials", material, "wall_density", material))
    empty = fitted_mass.at(f"{x.at}.empty", bare_mass=bare,
                              fittings_fraction=inp.number("fabrication.vessel_fittings"))
    held = water_of.at(f"{x.at}.contents", volume=volume, density=density, title="Contents")
    water = None
    if chemical:
        water = water_of.at(f"{x.at}.water", volume=volume, density=x.density, title="Water of a test")
    return x.done(empty, "geometry", GEOMETRY * 2, held, Box(diameter, diameter, height, round=True), water)


def _solution(x: _Item) -> Figure:
    """Density of what a chemical tank holds; that of seawater where the solution has none of its own."""
    for at in _PREFIXES:
        id = f"{x.row['key'][len(at):]}.density"
        if x.row["key"].startswith(at) and id in current():
            return current()[id]
    return x.density


def _bund(x: _Item) -> Weighed:
    volume, depth = x.figure("volume"), x.inp.number("fabrication.bund_depth")
    assert volume is not None
    mass = bund_mass.at(f"{x.at}.empty", volume=volume, bund_depth=depth,
                           bund_wall=x.inp.number("fabrication.bund_wall"))
    side = square_side.at(f"{x.at}.side", volume=volume, bund_depth=depth)
    return x.done(mass, "geometry", GEOMETRY * 2, water_of.at(f"{x.at}.contents", volume=volume, density=x.density,
                                                                 title="Contents of a spill"), Box(side, side, depth))


def _filter(x: _Item) -> Weighed:
    """A media filter as its own room weighs it; the test without media, full of water."""
    book, vessel = current(), x.sized.pretreated.vessel
    empty = vessel.empty
    nothing = assumed(f"{x.at}.no_grains", 0.0, "volume", title="Volume of the grains in a test", source="definition")
    shell = book["filter_vessel.shell_length" if "filter_vessel.shell_length" in book else "filter_vessel.drum_length"]
    inside = water_mass.at(f"{x.at}.water", diameter=book["filters.diameter"], grain_volume=nothing,
                           shell_length=shell, density=x.density,
                           heads_volume=book["filter_vessel.heads_volume"], title="Water of a test")
    fill = "filter_vessel.fill_mass" if "filter_vessel.fill_mass" in book else "filter_vessel.media_mass"
    held = sum_of_two_masses.at(f"{x.at}.contents", title="Media and water",
                                mass=book[fill],
                                other_mass=book["filter_vessel.water_mass"])
    high = vessel_height.at(f"{x.at}.height", shell_length=shell,
                               diameter=book["filters.diameter"]) if vessel.form == "vertical" else vessel.reach
    return x.done(empty, "geometry", GEOMETRY, held, Box(vessel.pitch, vessel.reach, high,
                                                         round=str(vessel.form) == "vertical"), inside)


def _contactor(x: _Item) -> Weighed:
    """A calcite contactor: a steel vessel with dished heads, its bed in bulk, water in and above it."""
    book, inp = current(), x.inp
    diameter, form = book["contactor.diameter"], inp.choice("fabrication.heads")
    rated = x.figure("rated_pressure")
    assert rated is not None
    flange = inp.number("fabrication.head_flange")
    shell = shell_above.at(f"{x.at}.shell_length", bed_depth=book["contactor.bed_depth"],
                              freeboard=inp.number("fabrication.vessel_freeboard"))
    needed = shell_thickness.at(
        f"{x.at}.wall_needed", design_pressure=rated, diameter=diameter,
        allowable_stress=x.line("allowable_stress", "vessel_plates", "k02700", "allowable_stress"),
        joint_efficiency=inp.number("filter_vessel.joint_efficiency"),
        corrosion_allowance=inp.number("filter_vessel.corrosion_allowance"))
    plate = needed  # beyond plate as stocked the wall itself is weighed
    if float(needed) <= table("plates").ascending("thickness")[-1]["thickness"].value:
        plate, _ = least_row(f"{x.at}.plate", "plates", "thickness", needed, title="Plate of a contactor",
                             rule="thinnest plate that holds the pressure",
                             do="use more contactors of a smaller diameter (contactor.diameter)")
    density = x.line("plate_density", "vessel_plates", "k02700", "plate_density")
    body = shell_mass.at(f"{x.at}.shell", diameter=diameter, shell_length=shell, plate=plate, plate_density=density)
    factor = x.line("area_factor", "head_forms", form, "area_factor", form)
    head = head_mass.at(f"{x.at}.head", diameter=diameter, plate=plate, area_factor=factor, head_flange=flange,
                           plate_density=density)
    bare = two_heads_and_shell.at(f"{x.at}.bare", shell=body, one_head=head)
    empty = fitted_mass.at(f"{x.at}.empty", bare_mass=bare,
                              fittings_fraction=inp.number("fabrication.vessel_fittings"))
    one = head_volume.at(f"{x.at}.head_volume", diameter=diameter, head_flange=flange,
                            volume_factor=x.line("volume_factor", "head_forms", form, "volume_factor", form))
    volume = vessel_volume.at(f"{x.at}.volume", diameter=diameter, shell_length=shell, head_volume=one)
    bed = bed_mass.at(f"{x.at}.bed", area=book["contactor.area"], bed_depth=book["contactor.bed_depth"],
                      bulk_density=book["contactor.bulk_density"])
    wet = water_in_bed.at(f"{x.at}.bed_water", volume=volume, bed_mass=bed, density=x.density,
                             grain_density=assumed(f"{x.at}.grain_density", 2700.0, "density", symbol="rho_g",
                                                   title="Density of calcite grains", source="common-practice",
                                                   place="from memory"))
    held = sum_of_two_masses.at(f"{x.at}.contents", mass=bed, other_mass=wet, title="Bed and water")
    test = water_of.at(f"{x.at}.water", volume=volume, density=x.density, title="Water of a test")
    depth = x.line("depth_factor", "head_forms", form, "depth_factor", form)
    high = dished_height.at(f"{x.at}.height", shell_length=shell, diameter=diameter, depth_factor=depth)
    return x.done(empty, "geometry", GEOMETRY, held, Box(diameter, diameter, high, round=True), test)


def element_stem(book: Any, area: str) -> str:
    """Id of the sheet of the elements whose area is named; that of the first ones where a vessel holds several."""
    stem = area.removesuffix(".area")
    return stem if f"{stem}.outer_diameter" in book else "membrane.element"


def _element_figures(x: _Item) -> tuple[Figure, Figure]:
    """Outer diameter and overall length of the elements in a row of vessels or elements."""
    key = x.row["key"].partition("[")[2].rstrip("]")
    area = next(r["ids"]["area"] for r in x.sized.equipment if r["key"].startswith("elements")
                and r["key"].partition("[")[2].rstrip("]") == key)
    book = current()
    stem = element_stem(book, area)
    return book[f"{stem}.outer_diameter"], book[f"{stem}.length_overall"]


def _vessel(x: _Item) -> Weighed:
    """A membrane vessel without its elements; they stand in their own row."""
    bore, each = _element_figures(x)
    elements, rated = x.figure("elements"), x.figure("rated_pressure")
    assert elements is not None and rated is not None
    mass = vessel_mass.at(f"{x.at}.empty", elements_per_vessel=elements, bore=bore, rated_pressure=rated)
    ends = vessel_water.at(f"{x.at}.contents", bore=bore)
    length = vessel_length.at(f"{x.at}.length", elements_per_vessel=elements, element_length=each)
    pitch = x.inp.number("fabrication.vessel_pitch")
    return x.done(mass, "correlation", _VESSEL, ends, Box(length, pitch, pitch))


def _element(x: _Item) -> Weighed:
    """An element, wet and drained; in operation with the water it takes."""
    outer, length = _element_figures(x)
    envelope = pipe_contents.at(f"{x.at}.envelope", inner_diameter=outer, length=length,
                                title="Envelope of an element", symbol="V_e")
    mass = element_mass.at(f"{x.at}.empty", envelope_volume=envelope)
    water = element_water.at(f"{x.at}.contents", envelope_volume=envelope, density=x.density)
    return x.done(mass, "correlation", _ELEMENT, water, None)


_METHODS = {"correlation": _correlation, "pump": _pump, "recovery": _recovery, "valve": _valve, "tank": _tank,
            "bund": _bund, "filter": _filter, "contactor": _contactor, "vessel": _vessel, "element": _element}
