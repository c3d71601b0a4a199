"""The intake: screen, lift at minimum tide, power, where chlorine goes in, contact time of the raw tank."""

from __future__ import annotations

from dataclasses import dataclass

from desalbook.balances import time_to_empty
from desalbook.hydraulics.constants import G
from desalbook.pretreatment.storage import usable_volume
from desalbook.problems import TrailError
from desalbook.trail import Figure, assumed, checked, constant, maximum, note, relation, scope
from desalbook.trail.inputs import Inputs
from desalbook.units import (
    M2,
    M3,
    DifferencePa,
    ElectricW,
    Factor,
    Fraction,
    Head,
    J,
    KgPerM3,
    KgPerS,
    M,
    M3PerS,
    MPerS,
    S,
    meta,
    show,
)
from desalbook.water.disinfection import INDICATION, chlorine_ct, inactivation_ratio, virus_ct
from desalbook.water.inputs import RawWater

__all__ = [
    "CHLORINATION_POINTS",
    "KILOGRAM",
    "ChlorinationPoint",
    "contact",
    "contact_time",
    "electrochlorination_power",
    "intake",
    "intake_head",
    "opening_velocity",
    "screen_area",
    "screen_head_loss",
]


KILOGRAM = constant("m_1", 1.0, "kg", source="definition", title="One kilogram")


@dataclass(frozen=True)
class ChlorinationPoint:
    """Where chlorine goes in, and what of the intake stays untreated (nothing where empty)."""

    key: str
    title: str
    untreated: str


CHLORINATION_POINTS = {
    point.key: point
    for point in (
        ChlorinationPoint("screen", "At the intake screen", ""),
        ChlorinationPoint("pump", "At the intake pump", "the screen and the pipe to the pump"),
        ChlorinationPoint("tank", "Into the raw tank", "screen, pipe and intake pump"),
    )
}


@dataclass(frozen=True)
class IntakeKind:
    """Where raw water is taken: is there a screen, and what stops the intake."""

    key: str
    screened: bool
    event_title: str
    event: str
    event_do: str
    caution: str = ""


INTAKES = {
    kind.key: kind
    for kind in (
        IntakeKind(
            "open-intake",
            True,
            "Raw-water interruption",
            "the intake stops on oil, weed or turbidity",
            "provide bloom and spill monitoring, oil and turbidity analysers upstream of the raw tank, and a flush "
            "procedure",
            "Oil cannot be removed from filter media or membranes. Stop the intake on an oil alarm.",
        ),
        IntakeKind(
            "beach-well",
            False,
            "Wells fail or silt up",
            "a well pump that fails or a well that silts up takes its fraction of the raw water",
            "monitor level and turbidity of each well, provide a spare well or pump, and plan the cleaning of "
            "the wells",
        ),
    )
}

if INTAKES.keys() != meta(RawWater, "source").options.keys():
    raise TrailError(
        f"no kind of intake for {', '.join(sorted(meta(RawWater, 'source').options.keys() ^ INTAKES.keys()))}",
        where="water.source",
    )


@relation("Area of the screen", symbol="A_s", unit="m^2", source="common-practice")
def screen_area(raw_flow: M3PerS, velocity: MPerS, open_share: Fraction, clean_share: Fraction) -> M2:
    """Gross area of an intake screen for a velocity through its openings.

    With part of the openings blocked; a raked or travelling screen keeps more of them clear than a fixed one.
    """
    return raw_flow / (velocity * open_share * clean_share)


@relation("Velocity in the openings, screen clean", symbol="v_o", unit="m/s", source="definition")
def opening_velocity(raw_flow: M3PerS, area: M2, open_share: Fraction) -> MPerS:
    """Velocity through the openings of a clean screen.

    The mean over all openings; currents and uneven approach make it higher in places.
    """
    return raw_flow / (area * open_share)


@relation("Head loss at the screen", symbol="h_s", unit="m", source="common-practice")
def screen_head_loss(loss_coefficient: Factor, velocity: MPerS) -> Head:
    """Head loss across an intake screen on the velocity in its openings.

    One coefficient for all states; weed raises it without a limit, so that the level downstream of the screen is
    watched.
    """
    return loss_coefficient * velocity**2 / (2 * G)


@relation("Head of the intake pump", symbol="H_i", unit="m", source="definition")
def intake_head(
    elevation_to: M,
    elevation_from: M,
    screen_loss: Head,
    friction_head: Head,
    strainer_drop: DifferencePa,
    density: KgPerM3,
) -> Head:
    """Head of the intake pump: from the minimum tide to the full tank, with screen, pipes and strainer.

    Minimum tide and a dirty strainer together, which is on the safe side; none where the sea runs in by itself.
    """
    return maximum(elevation_to - elevation_from + screen_loss + friction_head + strainer_drop / (density * G), 0)


@relation(
    "Contact time of the tank (T10)",
    symbol="t_10",
    unit="s",
    source="epa-profiling-1999",
    note="a fraction of the mean retention time by its baffling; a tracer test replaces it",
)
def contact_time(volume: M3, raw_flow: M3PerS, contact_fraction: Fraction) -> S:
    """Contact time T10 of a tank: baffling factor times mean retention.

    The factor is judged from the shape of the tank; a tracer test replaces it. At the full volume: a lower level
    gives less.
    """
    return contact_fraction * volume / raw_flow


@relation(
    "Power of on-site chlorine",
    symbol="P_Cl",
    unit="W",
    source="common-practice",
    note="alternating current at the rectifier; its hydrogen is diluted and vented",
)
def electrochlorination_power(mass_flow: KgPerS, energy: J) -> ElectricW:
    """Electric power of on-site chlorine generation.

    Alternating current at the rectifier, at one specific energy; cold or weak seawater needs more. Its hydrogen is
    diluted and vented.
    """
    return mass_flow * energy / KILOGRAM


def _screen(inp: Inputs, raw_flow: Figure) -> Figure:
    """Area and velocity of the screen; its head loss (m)."""
    velocity, opened = inp.number("intake.screen_velocity"), inp.number("intake.screen_open")
    screen = screen_area.at(
        "intake.screen_area",
        raw_flow=raw_flow,
        velocity=velocity,
        open_share=opened,
        clean_share=inp.number("intake.screen_clean"),
    )
    opening_velocity.at("intake.velocity_clean", raw_flow=raw_flow, area=screen, open_share=opened)
    limit = assumed(
        "intake.velocity_limit",
        0.1524,
        "velocity",
        title="Velocity fish swim away from",
        symbol="v_f",
        source="from-memory",
        place="0.5 ft/s in United States rules; local rules govern",
    )
    checked(
        "intake.screen_velocity.check",
        velocity,
        "<=",
        limit,
        title="Through-screen velocity",
        do="use a larger screen: lower intake.screen_velocity",
    )
    return screen_head_loss.at(
        "intake.screen_head", loss_coefficient=inp.number("intake.screen_loss"), velocity=velocity
    )


def intake(
    inp: Inputs, raw_flow: Figure, full_level: Figure, tank_volume: Figure, drawn: Figure, density: Figure
) -> Figure:
    """Screen, lift at minimum tide (m), and how long the tank lasts when the intake stops.

    Parameters
    ----------
    raw_flow, drawn : Figure
        Into the tank, and what pumps draw from it with a filter on rinse, m3/s.
    full_level : Figure
        Over site level, m.
    tank_volume : Figure
        Of all raw tanks, m3.
    """
    source = inp.choice("water.source")
    kind = INTAKES[source]
    with scope(because=[source]):
        lost = (
            _screen(inp, raw_flow)
            if kind.screened
            else assumed(
                "intake.screen_head",
                0.0,
                "head",
                title="Head loss at the screen",
                source="definition",
                place="the ground filters the water: there is no screen",
            )
        )
    head = intake_head.at(
        "intake.head",
        elevation_to=full_level,
        elevation_from=inp.number("intake.low_tide"),
        screen_loss=lost,
        friction_head=inp.number("intake.friction_head"),
        strainer_drop=inp.number("intake.strainer_drop"),
        density=density,
    )
    if float(head) <= 0.0:
        note("intake.gravity", title="Intake by gravity", verdict="passes", inputs={"head": head},
             why="the sea stands above the full tank at its lowest: no intake pump is needed",
             do="fit a valve that shuts the intake; compare intake.low_tide with storage.elevation")
    usable = usable_volume.at("intake.tank_usable", volume=tank_volume, usable=inp.number("storage.usable"))
    left = time_to_empty.at(
        "intake.tank_lasts", volume=usable, flow=drawn, title="Time the raw tank lasts without intake", symbol="t_l"
    )
    with scope(because=[source]):
        note(
            "intake.event.note",
            title=kind.event_title,
            verdict="review",
            why=f"{kind.event}; the raw tank then lasts {show(float(left), 'time.minute', digits=2)}, and pumps stop "
            "at its lowest level: feed pumps, HP pumps, then dosing",
            do=kind.event_do,
            inputs={"left": left, "source": source},
            caution=kind.caution,
        )
    return head


def contact(
    inp: Inputs, raw_flow: Figure, tank_volume: Figure, temperature: Figure, residual: Figure, mass_rate: Figure
) -> None:
    """CT of the raw tank as an indication, and the power of on-site chlorine as an alternative.

    Parameters
    ----------
    residual : Figure
        kg/m3 as Cl2.
    mass_rate : Figure
        Chlorine dosed, kg/s.
    """
    place = inp.choice("intake.chlorination_point")
    bare = CHLORINATION_POINTS[place].untreated
    note(
        "intake.chlorination_point.note",
        title="Chlorine injection point",
        verdict="review" if bare else "passes",
        why=f"{bare} are not kept clear of growth" if bare else "the whole intake is kept clear of growth",
        do="clean them by pigging or by hand, or dose at the screen" if bare else "",
        inputs={"place": place},
        caution="Chlorine dosed at the screen can reach the open sea and harm marine life. Dose only while the "
                "pump draws.",
    )
    with scope(because=[place]):
        time = contact_time.at(
            "chlorination.contact_time",
            volume=tank_volume,
            raw_flow=raw_flow,
            contact_fraction=inp.number("intake.contact_fraction"),
        )
        given = chlorine_ct.at("chlorination.ct", chlorine_residual=residual, contact_time=time, note=INDICATION)
        wanted = virus_ct.at("chlorination.ct_virus", temperature=temperature, note=INDICATION)
        inactivation_ratio.at("chlorination.ct_ratio", provided_ct=given, required_ct=wanted, note=INDICATION)
    electrochlorination_power.at(
        "chlorination.cell_power", mass_flow=mass_rate, energy=inp.number("intake.cell_energy")
    )
