"""What a design file says of the electrical supply: section ``[power]``."""

from __future__ import annotations

from desalbook.electrical.load_list import DUTIES
from desalbook.electrical.rules import RULES
from desalbook.tables import table
from desalbook.units import (
    VA,
    Ampere,
    Count,
    ElectricW,
    Fraction,
    K,
    M,
    Named,
    S,
    Section,
    Var,
    Voltage,
    W,
    choice,
    each,
    field,
    sections,
    text_field,
)

__all__ = ["OwnConsumer", "Power"]

YES_NO = {"yes": "Yes", "no": "No"}
INSULATION = {"xlpe": "XLPE, 90 degC", "pvc": "PVC, 70 degC"}
METERS = table("energy_meters").options()
INSTALLATION = {"tray": "Perforated tray", "wall": "Clipped to a wall"}


PANELS = {"common": "Common panel, once", "train": "Panel of each train"}


class OwnConsumer(Section):
    """One load of the owner's, such as air conditioning, a workshop, lighting or distribution pumps."""

    name: str = text_field(..., title="Name of the load", max_length=30, hint="Short, as workshop; part of its ids")
    service: str = text_field("", title="Service", max_length=30, hint="As lists show it; if blank, the name")
    kind: str = choice(table("own_loads").options(), "motor", title="Kind of load",
                       hint="Decides power factor and load factor where those are blank")
    power: ElectricW = field(
        "power.electric", ..., title="Rated power of one, electrical", symbol="P_r", possible=("0.01 kW", "5000 kW"),
        usual=("0.5 kW", "500 kW"), scope="unit",
        hint="Nameplate input; three-phase, or a board of single-phase circuits spread over the phases",
    )
    load_factor: Fraction | None = field(
        "fraction", None, title="Load factor while it runs", symbol="x_P", possible=("1 %", "100 %"),
        usual=("30 %", "100 %"), scope="unit", hint="Absorbed over rated power, mean; auto goes by the kind of load",
    )
    count: Count = field("count", "1", title="Number in service", symbol="n", possible=("1", "500"), usual=("1", "20"),
                         hint="Of each train where it is fed from the panel of a train")
    standby_count: Count = field("count", "0", title="Number on standby", symbol="n_s", possible=("0", "100"),
                                 usual=("0", "2"), hint="Installed, never running together with the others")
    hours: S = field("time", "24 h", title="Running time on a day it runs", symbol="t_d", possible=("0 h", "24 h"),
                     usual=("2 h", "24 h"), source="common-practice", scope="unit", hint="Mean of such days")
    season: Fraction = field(
        "fraction", "100 %", title="Fraction of the year it runs", symbol="x_y", possible=("0 %", "100 %"),
        usual=("25 %", "100 %"), source="common-practice", scope="unit", hint="Cooling may run half the year",
    )
    duty: str = choice(DUTIES, "continuous", title="Duty in the load list",
                       hint="Continuous loads count whole in each case; the others by the demand counted of them")
    panel: str = choice(PANELS, "common", title="Fed from", hint="On the panel of a train it counts for each train")
    power_factor: Fraction | None = field(
        "fraction", None, title="Power factor at its load", symbol="cos_phi", possible=("30 %", "100 %"),
        usual=("75 %", "100 %"), scope="unit", hint="Auto goes by the motor, else by the kind of load",
    )
    motor: W | None = field(
        "power", None, title="Rated output of its motor", symbol="P_m", possible=("0.1 kW", "5000 kW"),
        usual=("0.55 kW", "500 kW"), scope="unit",
        hint="One motor on a starter of this plant; blank for a packaged unit or a board",
    )
    drive: str = choice(YES_NO, "no", title="Speed drive of its motor", hint="Only with a motor of its own")
    on_generator: str = choice(YES_NO, "no", title="On the standby generator",
                               hint="Counts whole there, whatever its duty")


class Power(Section):
    """Section ``[power]``: supply, starting, cables, power factor, harmonics, standby generator."""

    rules: str = choice(
        {"auto": "As the motor ratings", **{key: of.title for key, of in RULES.items()}}, "auto",
        title="Rules of the installation", hint="Local code and licensed practice come first",
    )
    voltage: Voltage | None = field(
        "voltage", None, title="Low voltage of the supply", symbol="U", possible=("200 V", "1000 V"),
        usual=("380 V", "690 V"), hint="Between phases; auto takes what is usual under the rules",
    )
    medium_voltage: Voltage | None = field(
        "voltage", None, title="Medium voltage of the supply", symbol="U_m", possible=("1 kV", "36 kV"),
        usual=("3.3 kV", "13.8 kV"), hint="Of motors too large for low voltage; auto takes what is usual",
    )
    medium_voltage_from: W = field(
        "power", "500 kW", title="Motors on medium voltage from", symbol="P_m", possible=("100 kW", "5000 kW"),
        usual=("355 kW", "800 kW"), source="common-practice",
        hint="Rated output of one motor; from here a transformer, starter and cable of medium voltage are sized",
    )
    source_fault_level: VA = field(
        "apparent power", "250 MVA", title="Fault level of the network", symbol="S_q", possible=("5 MVA", "2000 MVA"),
        usual=("100 MVA", "500 MVA"), source="common-practice", hint="At the primary side; the utility states it",
    )
    transformers: Count | None = field(
        "count", None, title="Transformers in service", symbol="n_T", possible=("1", "20"), usual=("1", "4"),
        hint="They share the low-voltage load; auto takes the fewest that a standard rating serves",
    )
    transformer_loading: Fraction = field(
        "fraction", "85 %", title="Loading of the transformer, maximum", symbol="x_T", possible=("30 %", "100 %"),
        usual=("70 %", "90 %"), source="common-practice", hint="At the largest case, spare included",
    )
    transformer: VA | None = field(
        "apparent power", None, title="Rating of a transformer, fixed", symbol="S_T", possible=("10 kVA", "10000 kVA"),
        usual=("160 kVA", "2500 kVA"), source="common-practice",
        hint="A standard rating; auto takes the smallest that serves",
    )
    medium_transformers: Count | None = field(
        "count", None, title="Transformers to medium voltage, fixed", symbol="n_T", possible=("1", "6"),
        usual=("1", "2"), source="common-practice", hint="Auto takes the fewest of which a standard rating serves",
    )
    medium_transformer: VA | None = field(
        "apparent power", None, title="Rating of each, to medium voltage, fixed", symbol="S_T",
        possible=("10 kVA", "10000 kVA"), usual=("630 kVA", "2500 kVA"), source="common-practice",
        hint="A standard rating; auto takes the smallest that serves",
    )
    breaking_capacity: Ampere | None = field(
        "current", None, title="Breaking capacity of the devices, fixed", symbol="I_cu",
        possible=("1000 A", "200000 A"), usual=("10 kA", "50 kA"), source="common-practice",
        hint="Auto takes the smallest standard one above the fault current",
    )
    cable: Named = each(
        "conductor area", title="Section of each cable, fixed", symbol="S_c", possible=("0.5 mm2", "1500 mm2"),
        hint="By load or panel, a section of the table; auto takes the smallest that serves",
    )
    cables: Named = each(
        "count", title="Cables side by side, fixed", symbol="n_k", possible=("1", "8"),
        hint="By load or panel; auto takes the fewest that serve",
    )
    device: Named = each(
        "current", title="Rating of protective devices, fixed", symbol="I_n", possible=("1 A", "10000 A"),
        hint="By load or panel; auto takes the smallest standard one that serves",
    )
    meter_primary: Named = each(
        "current", title="Current transformers of meters, fixed", symbol="I_p", possible=("1 A", "10000 A"),
        hint="Primary, by incomer, panel or load: those named have a meter; auto goes by the share of the energy",
    )
    correction_bank: Var | None = field(
        "reactive power", None, title="Capacitor bank, fixed", symbol="Q_C", possible=("0 kvar", "20000 kvar"),
        usual=("0 kvar", "600 kvar"), source="common-practice",
        hint="Zero is none; auto takes what the power factor asks for",
    )
    spare: Fraction = field(
        "fraction", "20 %", title="Spare capacity of the supply", symbol="x_s", possible=("0 %", "100 %"),
        usual=("15 %", "25 %"), source="common-practice", hint="Over the largest case",
    )
    intermittent: Fraction = field(
        "fraction", "30 %", title="Demand counted of intermittent loads", symbol="x_I", possible=("0 %", "100 %"),
        usual=("20 %", "50 %"), source="common-practice", hint="The largest single one counts whole where that is more",
    )
    standby: Fraction = field(
        "fraction", "10 %", title="Demand counted of standby loads", symbol="x_S", possible=("0 %", "100 %"),
        usual=("0 %", "20 %"), source="common-practice", hint="Loads that run in place of others",
    )
    direct_up_to: W = field(
        "power", "55 kW", title="Motors started direct on line up to", symbol="P_d", possible=("0.5 kW", "1000 kW"),
        usual=("7.5 kW", "75 kW"), source="common-practice", hint="Above it a soft starter; the utility may set less",
    )
    insulation: str = choice(INSULATION, "xlpe", title="Insulation of the cables",
                             hint="With its conductor temperature")
    installation: str = choice(INSTALLATION, "tray", title="Installation of the cables",
                               hint="Decides what a cable carries")
    ambient: K = field(
        "temperature", "40 degC", title="Air temperature around the cables", symbol="theta_a",
        possible=("10 degC", "60 degC"), usual=("30 degC", "50 degC"), source="common-practice",
        hint="Hottest place along the way",
    )
    circuits: Count = field(
        "count", "6", title="Circuits side by side", symbol="n_c", possible=("1", "9"), usual=("3", "9"),
        source="common-practice", hint="Loaded cables in one layer",
    )
    motor_cable: M = field(
        "length", "40 m", title="Cable length, panel to motor", symbol="L_m", possible=("1 m", "1000 m"),
        usual=("10 m", "150 m"), source="common-practice", hint="Longest way of one train",
    )
    feeder_cable: M = field(
        "length", "30 m", title="Cable length, main board to panel", symbol="L_f", possible=("1 m", "1000 m"),
        usual=("10 m", "200 m"), source="common-practice", hint="Longest way",
    )
    clearing_time: S = field(
        "time.second", "0.1 s", title="Clearing time of a feeder fault", symbol="t_k", possible=("0.1 s", "5 s"),
        usual=("0.1 s", "1 s"), source="common-practice", hint="Of the device upstream of a feeder, with its delay",
    )
    power_factor: Fraction = field(
        "fraction", "95 %", title="Power factor wanted", symbol="cos_phi_2", possible=("80 %", "100 %"),
        usual=("90 %", "98 %"), source="common-practice", hint="At the point of supply; the tariff states it",
    )
    front_end: str = choice(
        {"auto": "Smallest that meets the limits", **table("drive_fronts").options()}, "auto",
        title="Line side of the speed drives", hint="Decides the harmonic currents",
    )
    coupling: str = choice(
        {"low": "Low-voltage busbar", "medium": "Primary side of the transformer"}, "medium",
        title="Point of common coupling", hint="Where the utility judges harmonics",
    )
    panel_height: M = field("length", "2 m", title="Height of a panel", symbol="H_p", possible=("0.3 m", "3 m"),
                            usual=("1.2 m", "2.2 m"), source="common-practice", hint="Of one train, free standing")
    panel_width: M = field("length", "2.4 m", title="Width of a panel", symbol="W_p", possible=("0.3 m", "12 m"),
                           usual=("0.8 m", "4 m"), source="common-practice", hint="Of all its sections")
    panel_depth: M = field("length", "0.6 m", title="Depth of a panel", symbol="D_p", possible=("0.15 m", "1.5 m"),
                           usual=("0.4 m", "0.8 m"), source="common-practice", hint="Of one section")
    panel_inside: K = field(
        "temperature", "45 degC", title="Air temperature in the panel, maximum", symbol="theta_i",
        possible=("30 degC", "60 degC"), usual=("40 degC", "50 degC"), source="common-practice",
        hint="What drives and controls bear without derating",
    )
    panel_room: K = field(
        "temperature", "35 degC", title="Air temperature of the room, maximum", symbol="theta_r",
        possible=("10 degC", "55 degC"), usual=("30 degC", "40 degC"), source="common-practice",
        hint="Around the panels",
    )
    metered_fraction: Fraction = field(
        "fraction", "10 %", title="Own energy meter from, of the energy", symbol="x_m", possible=("0.1 %", "100 %"),
        usual=("5 %", "15 %"), source="common-practice",
        hint="Share of the plant's energy from which a consumer or a panel has a meter",
    )
    incomer_meter: str = choice(METERS, "class-05s", title="Energy meter of the incomer",
                                hint="Proves the guaranteed specific energy")
    submeter: str = choice(METERS, "class-1", title="Energy meters of panels and consumers",
                           hint="Show where the energy goes; the incomer proves the guarantee")
    consumers: tuple[OwnConsumer, ...] = sections(
        OwnConsumer, (), title="Other loads of the site",
        hint="What the kit does not size: in load list, supply, energy of the year, its cost and carbon",
    )
    generator: str = choice(YES_NO, "no", title="Standby generator", hint="For one train and what it needs")
    generator_rating: VA | None = field(
        "apparent power", None, title="Rating of the generator, fixed", symbol="S_G", possible=("5 kVA", "10000 kVA"),
        usual=("20 kVA", "2000 kVA"), source="common-practice",
        hint="Auto takes the smallest standard one that serves",
    )
    generator_reactance: Fraction = field(
        "fraction", "20 %", title="Transient reactance of the generator", symbol="X_d", possible=("8 %", "40 %"),
        usual=("12 %", "25 %"), source="common-practice", hint="On its own rating",
    )
    generator_loading: Fraction = field(
        "fraction", "80 %", title="Loading of the generator, maximum", symbol="x_G", possible=("30 %", "100 %"),
        usual=("60 %", "80 %"), source="common-practice", hint="Of its prime rating",
    )
