"""Intake, contact of chlorine in the raw tank, fouling indices of the filtrate, life of the cartridges."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from desalbook.guidelines import guideline
from desalbook.pretreatment import intake_relations as r
from desalbook.pretreatment.cartridge import Cartridges
from desalbook.pretreatment.storage import usable_of
from desalbook.trail import Figure, assumed, checked, current, note, scope
from desalbook.units import show
from desalbook.water.disinfection import INDICATION, chlorine_ct, inactivation_ratio, virus_ct

__all__ = ["cartridge_changes", "contact", "fouling", "intake"]

Inp = Callable[[str], Any]


def intake(inp: Inp, raw_flow: Figure, full_level: Figure, tank_volume: Figure, drawn: Figure,
           density: Figure) -> None:
    """Screen, lift at lowest tide, power, and how long the tank lasts when the intake stops.

    Parameters
    ----------
    raw_flow, drawn : Figure
        Into the tank, and what pumps draw from it with a filter on rinse, m3/s.
    full_level : Figure
        Over site level, m.
    tank_volume : Figure
        Of all raw tanks, m3.
    """
    velocity, opened = inp("intake.screen_velocity"), inp("intake.screen_open")
    r.screen_area.at("intake.screen_area", raw_flow=raw_flow, velocity=velocity, open_share=opened,
                     clean_share=inp("intake.screen_clean"))
    r.opening_velocity.at("intake.velocity_clean", raw_flow=raw_flow, area=current()["intake.screen_area"],
                          open_share=opened)
    limit = assumed("intake.velocity_limit", 0.1524, "velocity", title="Velocity fish swim away from",
                    symbol="v_f", source="from-memory", place="0.5 ft/s in United States rules; local rules govern")
    checked("intake.screen_velocity.check", velocity, "<=", limit, title="Velocity through the screen",
            do="give a larger screen, that is a lower intake.screen_velocity")
    lost = r.screen_head.at("intake.screen_head", loss_coefficient=inp("intake.screen_loss"), velocity=velocity)
    head = r.intake_head_of.at("intake.head", elevation_to=full_level, elevation_from=inp("intake.low_tide"),
                               screen_loss=lost, friction_head=inp("intake.friction_head"),
                               strainer_drop=inp("intake.strainer_drop"), density=density)
    r.intake_power.at("intake.shaft_power", raw_flow=raw_flow, pump_head=head, density=density,
                      pump_efficiency=inp("intake.pump_efficiency"))
    usable = usable_of.at("intake.tank_usable", volume=tank_volume, usable=inp("storage.usable"))
    left = r.time_left.at("intake.tank_lasts", volume=usable, flow=drawn)
    note("intake.event.note", title="Algae or oil at the intake", verdict="caution",
         why="the intake stops on oil, weed or turbidity; the raw tank then lasts "
             f"{show(float(left), 'time.minute', digits=2)}, and pumps stop at "
         "its lowest level: feed pumps, high-pressure pumps, then dosing",
         do="a watch on the sea, an oil and turbidity probe ahead of the tank, a plan for the flush that must follow",
         inputs={"left": left, "source": inp("water.source")},
         caution="oil that reaches media or membranes is not washed out again")


def contact(inp: Inp, raw_flow: Figure, tank_volume: Figure, temperature: Figure, residual: Figure,
            mass_rate: Figure) -> None:
    """CT of the raw tank as an indication, and the power of on-site chlorine as an alternative.

    Parameters
    ----------
    residual : Figure
        kg/m3 as Cl2.
    mass_rate : Figure
        Chlorine dosed, kg/s.
    """
    place = inp("intake.chlorination_point")
    bare = {"screen": "", "pump": "the screen and the pipe to the pump", "tank": "screen, pipe and intake pump"}[place]
    note("intake.chlorination_point.note", title="Where chlorine goes in", verdict="caution" if bare else "holds",
         why=f"{bare} are not kept clear of growth" if bare else "the whole intake is kept clear of growth",
         do="clean them by pigging or by hand, or dose at the screen" if bare else "", inputs={"place": place},
         caution="what is dosed at the screen must not reach the open sea: dose only while the pump draws")
    with scope(because=[place]):
        time = r.contact_of_tank.at("chlorination.contact_time", volume=tank_volume, raw_flow=raw_flow,
                                    contact_share=inp("intake.contact_share"))
        given = chlorine_ct.at("chlorination.ct", chlorine_residual=residual, contact_time=time, note=INDICATION)
        wanted = virus_ct.at("chlorination.ct_virus", temperature=temperature, note=INDICATION)
        inactivation_ratio.at("chlorination.ct_ratio", provided_ct=given, required_ct=wanted, note=INDICATION)
    r.cell_power.at("chlorination.cell_power", mass_flow=mass_rate, energy=inp("intake.cell_energy"))


def fouling(inp: Inp) -> Figure:
    """Silt density index of the filtrate, by test or as expected, against what membranes take."""
    first, last = inp("fouling.first_time"), inp("fouling.last_time")
    if first is not None and last is not None:
        plugging = r.plugging_of.at("fouling.plugging", first_time=first, last_time=last)
        most = assumed("fouling.plugging_limit", 0.75, "fraction", title="Most plugging of a valid test",
                       source="astm-d4189", place="from memory")
        checked("fouling.plugging.check", plugging, "<=", most, title="Test of the fouling index is valid",
                do="take the test over ten or five minutes and write fouling.interval")
        index = r.sdi_of.at("fouling.sdi", plugging=plugging, interval=inp("fouling.interval"))
    else:
        index = inp("fouling.expected_sdi")
        half = first if first is not None else last
        if half is not None:
            note("fouling.test.note", title="Timed filtrations", verdict="caution",
                 why="one of the two times is missing: the expected index is judged",
                 do="write fouling.first_time and fouling.last_time", inputs={"time": half})
    row = guideline("sdi15")
    limit = assumed("fouling.sdi_limit", row.value, "fouling index", title="Index that membranes take", symbol="SDI_m",
                    source=row.source, place="5 in 15 min as most, 3 wanted; the element's own warranty governs")
    checked("fouling.sdi.check", index, "<=", limit, title="Fouling index of the feed of the membranes",
            do="coagulate, filter more slowly, filter twice, or look for what plugs the disc")
    return index


def cartridge_changes(inp: Inp, of: Cartridges, flow: Figure, solids: Figure) -> None:
    """Rating ahead of membranes, and when cartridges are changed: by their solids or by slime."""
    coarse = assumed("cartridge.rating_limit", 10e-6, "length.micro", title="Coarsest rating ahead of membranes",
                     symbol="d_c", source="common-practice", place="5 um nominal is usual")
    checked("cartridge.rating.check", inp("cartridge.rating"), "<=", coarse, title="Rating of the cartridges",
            do="write a finer cartridge.rating")
    if not solids.value:
        return
    life = r.cartridge_life.at("cartridge.life", capacity=inp("cartridge.capacity"), cartridges=of.count, flow=flow,
                               cartridge_equivalents=current()["cartridge.equivalents"], solids=solids)
    every = r.change_interval.at("cartridge.change_interval", by_solids=life,
                                 change_longest=inp("cartridge.change_longest"))
    least = assumed("cartridge.change_least", 14 * 86400.0, "time.day", title="Shortest interval people bear",
                    symbol="t_cl", source="common-practice", place="six to eight weeks are usual")
    checked("cartridge.change_interval.check", every, ">=", least, title="Interval of cartridge changes",
            do="filter better ahead of them, or give more cartridges (cartridge.count)")
