"""The filter as a pressure vessel: plate, mass, nozzles, and the floor the battery takes.

A first layout. The vessel code in force and a licensed engineer govern; relief, inspection and test belong to them.
"""

from __future__ import annotations

from dataclasses import dataclass

from desalbook.balances import sum_of_two_masses, sum_of_volumes
from desalbook.hydraulics.constants import PI, Small
from desalbook.hydraulics.materials import alloy_pren
from desalbook.hydraulics.pipes import minimum_diameter
from desalbook.hydraulics.rows import row_line, standard_size
from desalbook.pretreatment.filters import Battery
from desalbook.pretreatment.media import Bed, total_depth
from desalbook.pretreatment.vessel_construction import construction_of
from desalbook.pretreatment.vessel_form import FORMS
from desalbook.tables import table
from desalbook.trail import Choice, Figure, assumed, dot, maximum, note, relation, scope, up
from desalbook.trail.inputs import Inputs
from desalbook.trail.limits import check_limit
from desalbook.units import M2, M3, Count, Fraction, Kg, KgPerM3, M

__all__ = [
    "Vessel",
    "battery_length",
    "battery_width",
    "empty_mass",
    "grain_volume",
    "heads_mass",
    "heads_volume",
    "media_mass",
    "operating_mass",
    "places",
    "shell_mass",
    "vessel",
    "water_mass",
]


@relation("Mass of the shell", symbol="m_s", unit="kg", source="definition")
def shell_mass(diameter: M, shell_length: M, plate: Small, plate_density: KgPerM3) -> Kg:
    """Mass of the cylindrical shell.

    On the mean diameter; flanges and stiffeners belong to the fraction for fittings.
    """
    return PI * (diameter + plate) * shell_length * plate * plate_density


@relation("Volume of two heads", symbol="V_h", unit="m^3", source="definition")
def heads_volume(diameter: M) -> M3:
    """Volume of two 2:1 ellipsoidal heads.

    Inside, without internals.
    """
    return PI * diameter**3 / 12


@relation("Mass of two heads", symbol="m_h", unit="kg", source="common-practice", place="1.084 D2 of a 2:1 ellipsoid")
def heads_mass(diameter: M, plate: Small, plate_density: KgPerM3) -> Kg:
    """Mass of two 2:1 ellipsoidal heads: surface times thickness.

    Thinning in forming and the straight flange are neglected.
    """
    return 2 * 1.084 * (diameter + plate) ** 2 * plate * plate_density


@relation("Empty vessel", symbol="m_e", unit="kg", source="definition")
def empty_mass(shell: Kg, heads: Kg, fittings_fraction: Fraction) -> Kg:
    """Mass of the empty vessel with nozzles, manways, feet and lining.

    A fraction on top of shell and heads; a first figure for lifting and transport.
    """
    return (shell + heads) * (1 + fittings_fraction)


@relation("Mass of the media", symbol="m_m", unit="kg", source="definition")
def media_mass(depth: M, settled_porosity: Fraction, grain_density: KgPerM3, area: M2) -> Kg:
    """Mass of the grains of all layers, dry.

    On the settled porosity; delivered media carry water and fines on top.
    """
    return dot(depth, (1 - settled_porosity) * grain_density) * area


@relation("Volume of the grains", symbol="V_g", unit="m^3", source="definition")
def grain_volume(depth: M, settled_porosity: Fraction, area: M2) -> M3:
    """Volume of the grains of all layers without their pores.

    What the water in the vessel does not take.
    """
    return dot(depth, 1 - settled_porosity) * area


@relation("Mass of water", symbol="m_w", unit="kg", source="definition")
def water_mass(diameter: M, shell_length: M, heads_volume: M3, grain_volume: M3, density: KgPerM3) -> Kg:
    """Mass of water in a full vessel less its grains.

    Full to the top, as in a pressure test; none where the shell is too small for its grains.
    """
    return maximum(PI / 4 * diameter**2 * shell_length + heads_volume - grain_volume, 0) * density


@relation("Vessel in operation", symbol="m_o", unit="kg", source="definition")
def operating_mass(empty: Kg, media: Kg, water_load: Kg) -> Kg:
    """Mass of a vessel in operation: plate, media and water.

    For foundations; pipes, wind and earthquake come on top.
    """
    return empty + media + water_load


@relation("Length of the battery", symbol="L_b", unit="m", source="definition")
def battery_length(filters: Count, rows: Count, filter_pitch: M, gap: M) -> M:
    """Length of a battery of filters: vessels of one row and the gaps beside them.

    Equal vessels in straight rows; pipes at the ends come on top.
    """
    return up(filters / rows) * (filter_pitch + gap) + gap


@relation("Width of the battery", symbol="B_b", unit="m", source="definition")
def battery_width(rows: Count, filter_reach: M, aisle: M, gap: M) -> M:
    """Width of a battery of filters: rows, aisles of valves between them, a gap outside.

    Pipes outside the battery come on top.
    """
    return rows * filter_reach + (rows - 1) * aisle + 2 * gap


@dataclass(frozen=True)
class Vessel:
    """Form, plates (m), masses (kg) and the place of one battery (m)."""

    form: Choice
    shell: Figure
    head: Figure
    empty: Figure
    operating: Figure
    length: Figure
    width: Figure
    pitch: Figure
    reach: Figure
    rows: Figure
    gap: Figure
    aisle: Figure
    nozzles: dict[str, Figure]


def vessel(
    inp: Inputs,
    of: Battery,
    bed: Bed,
    *,
    service_flow: Figure,
    wash_flow: Figure,
    density: Figure,
    design_pressure: Figure,
) -> Vessel:
    """Plate, weight, nozzles and place of the filters of one train.

    Parameters
    ----------
    service_flow, wash_flow : Figure
        Maximum of one filter, m3/s.
    density : Figure
        Of the water the vessel holds, kg/m3.
    design_pressure : Figure
        Rating of the section of the filters, Pa gauge; what is credible there is judged with the section.
    """
    selected, material = inp.choice("filter_vessel.form"), inp.choice("filter_vessel.material")
    form = FORMS[selected]
    plate_density = row_line(
        "filter_vessel.plate_density", "vessel_plates", material, "plate_density", because=[material]
    )
    with scope(because=[material]):
        _material(material)
        walls = construction_of(material).walls(inp, material, design_pressure, of.diameter)
    shell, head = walls.shell, walls.head
    with scope(because=[selected]):
        support = (
            total_depth.at("filter_vessel.support_depth", depth=bed.support.depth, title="Depth of the support")
            if bed.support is not None
            else assumed(
                "filter_vessel.support_depth",
                0.0,
                "length",
                title="Depth of the support",
                source="definition",
                place="no support layer",
            )
        )
        depth = total_depth.at("filter_vessel.bed_depth", depth=bed.media.depth)
        layout = form.layout(inp, of.diameter, depth, support)
        length, pitch, reach = layout.shell_length, layout.pitch, layout.reach
        mass = shell_mass.at(
            "filter_vessel.shell_mass",
            diameter=of.diameter,
            shell_length=length,
            plate=shell,
            plate_density=plate_density,
        )
        heads = heads_mass.at("filter_vessel.heads_mass", diameter=of.diameter, plate=head, plate_density=plate_density)
        empty = empty_mass.at(
            "filter_vessel.empty_weight",
            shell=mass,
            heads=heads,
            fittings_fraction=inp.number("filter_vessel.fittings_fraction"),
        )
        media = media_mass.at(
            "filter_vessel.media_mass",
            depth=bed.media.depth,
            area=of.area,
            settled_porosity=bed.media.settled_porosity,
            grain_density=bed.media.grain_density,
        )
        grains = grain_volume.at(
            "filter_vessel.grains", depth=bed.media.depth, area=of.area, settled_porosity=bed.media.settled_porosity
        )
        if bed.support is not None:
            below = media_mass.at(
                "filter_vessel.support_mass",
                depth=bed.support.depth,
                area=of.area,
                settled_porosity=bed.support.settled_porosity,
                grain_density=bed.support.grain_density,
                title="Mass of the support",
            )
            media = sum_of_two_masses.at("filter_vessel.fill_mass", mass=media, other_mass=below,
                                         title="Mass of media and support", symbol="m_m")
            under = grain_volume.at(
                "filter_vessel.support_grains",
                depth=bed.support.depth,
                area=of.area,
                settled_porosity=bed.support.settled_porosity,
            )
            grains = sum_of_volumes.at(
                "filter_vessel.all_grains",
                volume=grains,
                other_volume=under,
                title="Grains of media and support",
                symbol="V_g",
            )
        water = water_mass.at(
            "filter_vessel.water_mass",
            diameter=of.diameter,
            shell_length=length,
            heads_volume=heads_volume.at("filter_vessel.heads_volume", diameter=of.diameter),
            grain_volume=grains,
            density=density,
        )
        operating = operating_mass.at("filter_vessel.operating_weight", empty=empty, media=media, water_load=water)
        rows, gap = inp.number("filter_vessel.rows"), inp.number("filter_vessel.gap")
        aisle = inp.number("filter_vessel.aisle")
        long = battery_length.at(
            "filter_vessel.battery_length", filters=of.count, rows=rows, filter_pitch=pitch, gap=gap
        )
        wide = battery_width.at("filter_vessel.battery_width", rows=rows, filter_reach=reach, aisle=aisle, gap=gap)
    velocity, nozzles = inp.number("filter_vessel.nozzle_velocity"), dict[str, Figure]()
    for name, flow in (("service", service_flow), ("backwash", wash_flow)):
        least = minimum_diameter.at(
            f"filter_vessel.{name}_nozzle_minimum",
            flow=flow,
            velocity_limit=velocity,
            title="Bore of a nozzle, minimum",
            symbol="d_n",
        )
        nozzles[name] = standard_size(
            inp,
            f"filter_vessel.{name}_nozzle",
            "pipe_bores",
            "bore",
            least,
            title=f"Nozzle, {name}",
            rule="smallest standard bore within the velocity",
            do="increase filter_vessel.nozzle_velocity, or use more filters (filters.count)",
        )
    return Vessel(selected, shell, head, empty, operating, long, wide, pitch, reach, rows, gap, aisle, nozzles)


def _material(material: Choice) -> None:
    """What the material of the vessels means in seawater; metals by their pitting resistance."""
    note("filter_vessel.material.note", title="Material of the filter vessels", verdict="passes",
         why=table("vessel_plates").row(material, "filter_vessel.material")["remark"].value, do="",
         inputs={"material": material})
    if material in table("alloys"):
        check_limit("filter_vessel.pren.check", alloy_pren("filter_vessel.pren", material, [material]),
                    "pitting-number", title="Filter vessels in seawater with crevices",
                    do="choose a higher alloy, a lined or a composite vessel (filter_vessel.material)")


def places(of: Vessel, battery: Battery) -> list[dict[str, float]]:
    """Centres of the vessels of one battery, m from the corner of the hall, in the order of their numbers.

    Returns
    -------
    list of dict
        ``number``, ``x``, ``y`` (centre), ``length`` and ``width`` along x and y.
    """
    n, rows = int(battery.count), int(of.rows)
    gap, aisle = float(of.gap), float(of.aisle)
    pitch, reach = float(of.pitch), float(of.reach)
    in_row = -(-n // rows)
    return [
        {
            "number": k + 1.0,
            "x": gap + pitch / 2 + (k % in_row) * (pitch + gap),
            "y": gap + reach / 2 + (k // in_row) * (reach + aisle),
            "length": pitch,
            "width": reach,
        }
        for k in range(n)
    ]
