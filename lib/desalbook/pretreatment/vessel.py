"""The filter as a pressure vessel: plate, weight, nozzles, and the place the battery takes.

A first layout. The vessel code in force and a licensed engineer govern; relief, inspection and test belong to them.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from desalbook.hydraulics.rows import least_row, row_line
from desalbook.pretreatment import media_relations as m
from desalbook.pretreatment import vessel_relations as r
from desalbook.pretreatment.filters import Battery, Bed
from desalbook.trail import Choice, Figure, assumed, checked, scope

__all__ = ["Vessel", "places", "vessel"]

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
    nozzles: dict[str, Figure]


def vessel(inp: Callable[[str], Any], of: Battery, bed: Bed, *, service_flow: Figure, wash_flow: Figure,
           density: Figure, design_pressure: Figure) -> Vessel:
    """Plate, weight, nozzles and place of the filters of one train.

    Parameters
    ----------
    service_flow, wash_flow : Figure
        Greatest of one filter, m3/s.
    density : Figure
        Of the water the vessel holds, kg/m3.
    design_pressure : Figure
        Rating of the section of the filters, Pa gauge; what is credible there is judged with the section.
    """
    form: Choice = inp("filter_vessel.form")
    material = inp("filter_vessel.material")
    stress = row_line("filter_vessel.allowable_stress", "vessel_plates", material, "allowable_stress",
                      because=[material])
    plate_density = row_line("filter_vessel.plate_density", "vessel_plates", material, "plate_density",
                             because=[material])
    shared = {"design_pressure": design_pressure, "diameter": of.diameter, "allowable_stress": stress,
              "joint_efficiency": inp("filter_vessel.joint_efficiency"),
              "corrosion_allowance": inp("filter_vessel.corrosion_allowance")}
    plates = {}
    for name, relation in (("shell", r.shell_thickness), ("head", r.head_thickness)):
        needed = relation.at(f"filter_vessel.{name}_needed", **shared)
        plates[name], _ = least_row(f"filter_vessel.{name}_plate", "plates", "thickness", needed,
                                    title=f"Plate of the {name}", rule="least standard plate that is thick enough",
                                    do="choose a stronger filter_vessel.material or a lower "
                                       "design_pressure.class_filters, or write a smaller filters.diameter "
                                       "and more filters (filters.count)")
    with scope(because=[form]):
        support = (m.depth_of.at("filter_vessel.support_depth", depth=bed.support.depth, title="Depth of the support")
                   if bed.support is not None else
                   assumed("filter_vessel.support_depth", 0.0, "length", title="Depth of the support",
                           source="definition", place="no support layer"))
        if form == "vertical":
            length = r.shell_height.at(
                "filter_vessel.shell_length",
                bed_depth=m.depth_of.at("filter_vessel.bed_depth", depth=bed.media.depth), support_depth=support,
                freeboard=inp("filters.freeboard"), shell_allowance=inp("filter_vessel.shell_allowance"))
            pitch = reach = of.diameter
        else:
            length, pitch = inp("filter_vessel.drum_length"), of.diameter
            reach = r.drum_reach.at("filter_vessel.reach", drum_length=length, diameter=of.diameter)
            tall = r.shell_height.at(
                "filter_vessel.inside_height",
                bed_depth=m.depth_of.at("filter_vessel.bed_depth", depth=bed.media.depth), support_depth=support,
                freeboard=inp("filters.freeboard"), shell_allowance=inp("filter_vessel.shell_allowance"),
                title="Height that bed and freeboard take")
            checked("filter_vessel.inside_height.check", of.diameter, ">=", tall,
                    title="Horizontal shell high enough for bed and freeboard",
                    do="write a larger filters.diameter, a shallower bed, or the vertical form")
        shell = r.shell_mass.at("filter_vessel.shell_mass", diameter=of.diameter, shell_length=length,
                                plate=plates["shell"], plate_density=plate_density)
        heads = r.heads_mass.at("filter_vessel.heads_mass", diameter=of.diameter, plate=plates["head"],
                                plate_density=plate_density)
        empty = r.empty_of.at("filter_vessel.empty_weight", shell=shell, heads=heads,
                              fittings_share=inp("filter_vessel.fittings_share"))
        media = r.media_mass.at("filter_vessel.media_mass", depth=bed.media.depth, area=of.area,
                                settled_porosity=bed.media.settled_porosity, grain_density=bed.media.grain_density)
        grains = r.grains_volume.at("filter_vessel.grains", depth=bed.media.depth, area=of.area,
                                    settled_porosity=bed.media.settled_porosity)
        if bed.support is not None:
            below = r.media_mass.at("filter_vessel.support_mass", depth=bed.support.depth, area=of.area,
                                    settled_porosity=bed.support.settled_porosity,
                                    grain_density=bed.support.grain_density, title="Mass of the support")
            media = r.two_masses.at("filter_vessel.fill_mass", media=media, support=below)
            under = r.grains_volume.at("filter_vessel.support_grains", depth=bed.support.depth, area=of.area,
                                       settled_porosity=bed.support.settled_porosity)
            grains = r.two_grains.at("filter_vessel.all_grains", grain_volume=grains, support_grains=under)
        water = r.water_mass.at("filter_vessel.water_mass", diameter=of.diameter, shell_length=length,
                                heads_volume=r.head_volume.at("filter_vessel.heads_volume", diameter=of.diameter),
                                grain_volume=grains, density=density)
        operating = r.operating_of.at("filter_vessel.operating_weight", empty=empty, media=media, water_load=water)
        rows, gap = inp("filter_vessel.rows"), inp("filter_vessel.gap")
        long = r.footprint_length.at("filter_vessel.battery_length", filters=of.count, rows=rows, filter_pitch=pitch,
                                     gap=gap)
        wide = r.footprint_width.at("filter_vessel.battery_width", rows=rows, filter_reach=reach,
                                    aisle=inp("filter_vessel.aisle"), gap=gap)
    velocity, nozzles = inp("filter_vessel.nozzle_velocity"), {}
    for name, flow in (("service", service_flow), ("wash", wash_flow)):
        least = r.nozzle_bore.at(f"filter_vessel.{name}_nozzle_least", flow=flow, velocity=velocity)
        nozzles[name], _ = least_row(f"filter_vessel.{name}_nozzle", "pipe_bores", "bore", least,
                                     title=f"Nozzle, {name}", rule="least standard bore within the velocity",
                                     do="write a higher filter_vessel.nozzle_velocity, or more "
                                        "filters (filters.count)")
    return Vessel(form, plates["shell"], plates["head"], empty, operating, long, wide, pitch, reach, nozzles)


def places(of: Vessel, battery: Battery, inp: Callable[[str], Any]) -> list[dict[str, float]]:
    """Centres of the vessels of one battery, m from its corner, in the order of their numbers.

    Returns
    -------
    list of dict
        ``number``, ``x``, ``y`` (centre), ``length`` and ``width`` along x and y.
    """
    n, rows = int(battery.count), int(inp("filter_vessel.rows"))
    gap, aisle = float(inp("filter_vessel.gap")), float(inp("filter_vessel.aisle"))
    pitch, reach = float(of.pitch), float(of.reach)
    in_row = -(-n // rows)
    return [{"number": k + 1.0, "x": gap + pitch / 2 + (k % in_row) * (pitch + gap),
             "y": gap + reach / 2 + (k // in_row) * (reach + aisle), "length": pitch, "width": reach}
            for k in range(n)]
