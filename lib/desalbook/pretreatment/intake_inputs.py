"""What a design file says of the intake and of fouling tests: ``[intake]``, ``[fouling]``."""

from __future__ import annotations

from typing import Annotated

from desalbook.units import (
    KINDS,
    DifferencePa,
    Factor,
    Fraction,
    Head,
    J,
    M,
    MPerS,
    S,
    Section,
    choice,
    field,
)

__all__ = ["Fouling", "Intake"]

FoulingIndex = Annotated[float, KINDS["fouling index"]]
POINTS = {"screen": "At the intake screen", "pump": "At the intake pump", "tank": "Into the raw tank"}


class Intake(Section):
    """Section ``[intake]``: from the sea to the raw tank."""

    low_tide: M = field("length", "-1.5 m", title="Lowest level of the sea over site level", symbol="z_lt",
                        possible=("-60 m", "60 m"), usual=("-8 m", "0 m"),
                        hint="From which the intake pump must lift")
    screen_velocity: MPerS = field("velocity", "0.15 m/s", title="Velocity through the screen, highest",
                                   symbol="v_s", possible=("0.02 m/s", "1.5 m/s"), usual=("0.05 m/s", "0.15 m/s"),
                                   hint="0.15 m/s lets fish swim away (0.5 ft/s in United States rules, from memory)")
    screen_open: Fraction = field("fraction", "50 %", title="Open part of the screen", symbol="x_o",
                                  possible=("5 %", "95 %"), usual=("30 %", "65 %"),
                                  hint="Share of the screen that water can pass")
    screen_clean: Fraction = field("fraction", "50 %", title="Part of the openings left clear", symbol="x_c",
                                   possible=("5 %", "100 %"), usual=("40 %", "80 %"), hint="Weed and shells")
    screen_loss: Factor = field("factor", "2.5", title="Loss coefficient of the screen", symbol="K_s",
                                possible=("0.1", "30"), usual=("1", "5"), hint="On the velocity in the openings")
    strainer_drop: DifferencePa = field("pressure difference", "0.3 bar", title="Strainer, before it is cleaned",
                                        symbol="Delta_p_st", possible=("0 bar", "2 bar"), usual=("0.05 bar", "0.5 bar"),
                                        hint="Loss at which the strainer is cleaned; the intake pump overcomes it")
    friction_head: Head = field("head", "6 m", title="Pipes from sea to tank", symbol="h_p", possible=("0 m", "100 m"),
                                usual=("1 m", "20 m"), hint="Loss of the pipes at the full flow")
    pump_efficiency: Fraction = field("fraction", "75 %", title="Efficiency of the intake pump", symbol="eta_p",
                                      possible=("20 %", "92 %"), usual=("60 %", "85 %"),
                                      hint="Hydraulic power over shaft power")
    chlorination_point: str = choice(POINTS, "screen", title="Where chlorine goes in",
                                     hint="At the screen it keeps the whole line clear; mind the sea outside")
    contact_share: Fraction = field("fraction", "30 %", title="Effective part of the tank's detention (T10)",
                                    symbol="x_T", possible=("5 %", "100 %"), usual=("10 %", "50 %"),
                                    source="epa-profiling-1999", hint="0.1 unbaffled, 0.3 poor, 0.5 average baffling")
    cell_energy: J = field("energy", "4.5 kWh", title="Energy of on-site chlorine, for one kilogram", symbol="E_Cl",
                           possible=("2 kWh", "10 kWh"), usual=("3.5 kWh", "6 kWh"),
                           hint="Electrochlorination of sea water; vent its hydrogen")


class Fouling(Section):
    """Section ``[fouling]``: timed filtrations of the filtrate (ASTM D4189), and what is wanted."""

    first_time: S | None = field("time.second", None, title="First 500 mL", symbol="t_i", possible=("1 s", "600 s"),
                                 source="astm-d4189", hint="0.45 um, 47 mm, 207 kPa", usual=("10 s", "60 s"))
    last_time: S | None = field("time.second", None, title="Last 500 mL", symbol="t_f", possible=("1 s", "6000 s"),
                                source="astm-d4189", hint="Time of the last sample in the filtration test",
                                usual=("12 s", "120 s"))
    interval: S = field("time.minute", "15 min", title="Time between them", symbol="T", possible=("5 min", "15 min"),
                        source="astm-d4189", hint="From the first sample to the last", usual=("5 min", "15 min"))
    expected_sdi: FoulingIndex = field("fouling index", "3", title="Index expected of the filtrate", symbol="SDI",
                                       possible=("0.1", "6.67"), usual=("1", "4"),
                                       hint="Where no test is written; a pilot or the plant says")
