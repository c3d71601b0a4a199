"""What a design file says of cleaning and flushing: section ``[cip]``."""

from __future__ import annotations

from typing import Annotated

from desalbook.tables import row_field
from desalbook.units import (
    KINDS,
    M3,
    Count,
    ElectricW,
    Factor,
    Flux,
    Fraction,
    GaugePa,
    Head,
    K,
    M,
    M3PerS,
    MassFraction,
    MPerS,
    PHNbs,
    S,
    Section,
    W,
    choice,
    field,
)

__all__ = ["Cip"]


class Cip(Section):
    """Section ``[cip]``: how often a train is cleaned, the cleaning skid and the flush."""

    reference_cleanings: Factor = field(
        "factor", "4", title="Cleanings in a year at the reference", symbol="n_ref", possible=("0", "60"),
        usual=("1", "8"), source="common-practice",
        hint="At the reference flux and SDI15; 1 to 4 are normal, more than monthly is a fault of the pretreatment")
    reference_flux: Flux = field(
        "flux", "14 L/(m2 h)", title="Reference flux of cleaning", symbol="J_ref",
        possible=("5 L/(m2 h)", "40 L/(m2 h)"), usual=("12 L/(m2 h)", "17 L/(m2 h)"), source="common-practice",
        hint="Mean flux at which the reference number of cleanings holds")
    reference_sdi: Annotated[float, KINDS["fouling index"]] = field(
        "fouling index", "3", title="Reference SDI15 of cleaning", symbol="SDI_ref", possible=("0.5", "6"),
        usual=("2", "4"), source="common-practice", hint="Of the RO feed at which it holds")
    flux_exponent: Factor = field(
        "factor", "2", title="Exponent of flux in cleaning", symbol="m_J", possible=("0", "5"), usual=("1", "3"),
        source="common-practice", hint="2 for a cake at constant flux; near a critical flux it is steeper. Vary it")
    sdi_exponent: Factor = field(
        "factor", "1", title="Exponent of SDI15 in cleaning", symbol="m_SDI", possible=("0", "4"), usual=("0.5", "2"),
        source="common-practice", hint="1 where solids go with the index; it does not see slime. Vary it")

    bank: str = choice(
        {"column": "A column of the rack", "stage": "A stage", "train": "All vessels of a train"},
        "column",
        title="Bank cleaned at once",
        hint="Tank, pump, heater and cartridges follow; the rest of the train waits its turn",
    )
    column_vessels: Count = field(
        "count",
        "8",
        title="Vessels in one column of the rack",
        symbol="n_r",
        possible=("1", "24"),
        usual=("4", "10"),
        hint="As high as the rack is; banks are made even, none larger than a column",
    )
    vessels_at_once: Count | None = field(
        "count",
        None,
        title="Vessels cleaned at once",
        symbol="n_c",
        possible=("1", "200"),
        usual=("1", "30"),
        hint="If blank, even banks of the kind chosen",
    )
    flow_per_vessel: M3PerS | None = field(
        "flow",
        None,
        title="CIP flow of one vessel",
        symbol="Q_v",
        possible=("0.5 m3/h", "14 m3/h"),
        usual=("1.5 m3/h", "10 m3/h"),
        source="awwa-m46",
        scope="vessel",
        hint="Enough to carry solids out without making permeate; if blank, 8 m3/h in 8-inch vessels, less in smaller",
    )
    pipe_length: M | None = field(
        "length",
        None,
        title="Cleaning pipe, out and back",
        symbol="L_p",
        possible=("0 m", "500 m"),
        usual=("5 m", "100 m"),
        hint="From the skid to the furthest vessel and back; if blank, the run called cleaning",
    )
    pipe_diameter: M | None = field(
        "length.small",
        None,
        title="Inner diameter of the cleaning pipe",
        symbol="D_i",
        possible=("20 mm", "600 mm"),
        usual=("40 mm", "300 mm"),
        hint="If blank, that of the run of pipe called cleaning",
    )
    pipe_step: M | None = field(
        "length.small",
        None,
        title="Step of pipe diameters",
        symbol="d_D",
        possible=("5 mm", "100 mm"),
        usual=("20 mm", "50 mm"),
        hint="Diameters are rounded up to a multiple of this; if blank, to a standard bore",
    )
    pipe_velocity: MPerS | None = field(
        "velocity",
        None,
        title="Velocity in the cleaning pipe, at most",
        symbol="v_cl",
        possible=("0.5 m/s", "5 m/s"),
        usual=("1.5 m/s", "3 m/s"),
        hint="Sizes the pipe; if blank, the limit of the service of that run",
    )
    filter_factor: Factor = field(
        "factor",
        "1.5",
        title="CIP cartridge-filter oversizing factor",
        symbol="f_f",
        possible=("1", "4"),
        usual=("1", "2"),
        hint="Capacity for the solids of a CIP",
    )
    cartridge_flow: M3PerS = field(
        "flow",
        "0.8 m3/h",
        title="Flow of one 250 mm of cartridge, 5 to 10 um",
        symbol="Q_ct",
        possible=("0.1 m3/h", "5 m3/h"),
        usual=("0.5 m3/h", "1.2 m3/h"),
        hint="Decides how many cartridges the cleaning filter has",
    )
    volume_factor: Factor = row_field(
        "guidelines",
        "cleaning-volume-factor",
        title="Allowance on volume",
        symbol="f_V",
        possible=("1", "3"),
        hint="Over the volume of vessels and pipes",
    )
    submergence_volume: M3 = field(
        "volume",
        "0.3 m3",
        title="Pump submergence volume",
        symbol="V_s",
        possible=("0 m3", "20 m3"),
        usual=("0.1 m3", "3 m3"),
        hint="What must stay in the tank so that the pump draws no air",
    )
    pump_head: Head | None = field(
        "head",
        None,
        title="Head of the CIP pump",
        symbol="H",
        possible=("5 m", "80 m"),
        usual=("25 m", "45 m"),
        hint="At the CIP flow, with dirty cartridges; if blank, what these need in steps of 5 m",
    )
    pressure: GaugePa = field(
        "gauge pressure",
        "3 bar",
        title="Pressure at the vessels",
        symbol="p_cl",
        possible=("0.5 bar", "10 bar"),
        usual=("1.5 bar", "4 bar"),
        hint="Low, so that cleaning makes no permeate and presses no solids into the membrane",
    )
    pump_efficiency: Fraction = field(
        "fraction",
        "68 %",
        title="Pump efficiency",
        symbol="eta_p",
        possible=("20 %", "90 %"),
        usual=("50 %", "80 %"),
        hint="Hydraulic power over shaft power",
    )
    motor_efficiency: Fraction = field(
        "fraction",
        "90 %",
        title="Motor efficiency",
        symbol="eta_m",
        possible=("50 %", "98 %"),
        usual=("85 %", "96 %"),
        hint="Shaft power over electrical power",
    )
    temperature: K = field(
        "temperature",
        "32 degC",
        title="Temperature of the solution",
        symbol="T_cl",
        possible=("5 degC", "60 degC"),
        usual=("25 degC", "35 degC"),
        hint="A warm solution dissolves more; the element's sheet sets the limit for each pH",
    )
    heating_time: S = field(
        "time", "4 h", title="Time to heat", symbol="t_h", possible=("0.5 h", "48 h"), usual=("2 h", "12 h"),
        hint="From make-up to cleaning temperature; sizes the heater",
    )
    heater_efficiency: Fraction = field(
        "fraction",
        "95 %",
        title="Heater efficiency",
        symbol="eta_h",
        possible=("50 %", "100 %"),
        usual=("85 %", "100 %"),
        hint="Heat in the solution over power drawn",
    )
    acid_fraction: MassFraction = field(
        "mass fraction",
        "2 % w/w",
        title="Citric acid in the acid step",
        symbol="w_a",
        possible=("0.1 % w/w", "5 % w/w"),
        usual=("1 % w/w", "2.5 % w/w"),
        hint="Mass of acid in the solution",
    )
    alkali_fraction: MassFraction = field(
        "mass fraction",
        "0.1 % w/w",
        title="Sodium hydroxide in the alkaline step",
        symbol="w_b",
        possible=("0.01 % w/w", "2 % w/w"),
        usual=("0.05 % w/w", "0.2 % w/w"),
        hint="Mass of alkali in the solution",
    )
    pump_motor: W | None = field(
        "power", None, title="Motor rating of the CIP pump, fixed", symbol="P_m", possible=("0.1 kW", "2000 kW"),
        usual=("2.2 kW", "75 kW"), source="common-practice",
        hint="If blank, the next standard rating above shaft power and margin",
    )
    heater_rating: ElectricW | None = field(
        "power.electric",
        None,
        title="Heater rating, fixed",
        symbol="P_H",
        possible=("0 kW", "5000 kW"),
        usual=("5 kW", "500 kW"),
        hint="If blank, the next whole step above the power that heats the tank in time",
    )
    heater_step: ElectricW = field(
        "power.electric",
        "5 kW",
        title="Step of heater ratings",
        symbol="d_P",
        possible=("0.5 kW", "100 kW"),
        usual=("1 kW", "25 kW"),
        hint="Ratings are rounded up to a multiple of this",
    )
    acid_ph: PHNbs = field(
        "ph.nbs",
        "2.2",
        title="pH of the acid step (dosed)",
        symbol="pH_a",
        possible=("0.5", "6"),
        usual=("2", "3.5"),
        hint="Against scale and metals; the element's sheet sets the limit",
    )
    alkali_ph: PHNbs = field(
        "ph.nbs",
        "11",
        title="pH of the alkaline step (dosed)",
        symbol="pH_b",
        possible=("8", "13.5"),
        usual=("10", "12"),
        hint="Against organics and slime; the element's sheet sets the limit",
    )
    waste_ph: PHNbs = field(
        "ph.nbs",
        "8",
        title="pH of spent solution at discharge",
        symbol="pH_w",
        possible=("5.5", "10"),
        usual=("6.5", "9"),
        hint="Spent solution is neutralised to this before it leaves",
    )
    flush_tank: M3 | None = field(
        "volume",
        None,
        title="Flush tank, in use",
        symbol="V_ft",
        possible=("0.1 m3", "2000 m3"),
        usual=("1 m3", "200 m3"),
        hint="If blank, as large as the flush of all trains that trip together",
    )
    flush_hold_ups: Factor = row_field(
        "guidelines",
        "flush-volumes",
        symbol="n_h",
        possible=("1", "10"),
        hint="Volumes of water in the train that are pushed out when it stops; chlorine-free",
    )
    wet_fraction: Fraction = field(
        "fraction",
        "70 %",
        title="Water fraction of a loaded vessel",
        symbol="x_w",
        possible=("30 %", "100 %"),
        usual=("60 %", "80 %"),
        hint="The rest is membrane, spacer and shell",
    )
    flush_time: S = field(
        "time.minute",
        "12 min",
        title="Time of the flush",
        symbol="t_f",
        possible=("2 min", "60 min"),
        usual=("10 min", "15 min"),
        hint="In which the flush is given; sizes its pump",
    )
    flush_water: str = choice(
        {"permeate": "Permeate, before post-treatment", "product": "Product, after post-treatment"},
        "permeate",
        title="Flush water",
        hint="Permeate keeps scale and growth away; it must be free of chlorine",
    )
