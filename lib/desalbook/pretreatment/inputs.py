"""What a design file says of tanks and cartridges: ``[storage]``, ``[wash_tank]``, ``[cartridge]``."""

from __future__ import annotations

from desalbook.tables import table
from desalbook.units import (
    Count,
    DifferencePa,
    Factor,
    Fraction,
    Kg,
    M,
    M3PerS,
    S,
    Section,
    choice,
    field,
)

__all__ = ["Cartridge", "Storage", "WashTank"]


class _Tank(Section):
    """What every water tank asks for."""

    usable: Fraction = field(
        "fraction",
        "85 %",
        title="Usable part of the volume",
        symbol="x_u",
        possible=("20 %", "100 %"),
        usual=("75 %", "95 %"),
        hint="Between the lowest and the highest level",
    )
    count: Count = field("count", "1", title="Tanks", symbol="n", possible=("1", "12"), usual=("1", "4"),
                         hint="Tanks side by side that share the volume")
    height: M = field(
        "length",
        "4 m",
        title="Greatest depth of water",
        symbol="h_max",
        possible=("0.5 m", "20 m"),
        usual=("2 m", "8 m"),
        hint="From the floor to the highest level",
    )
    diameter: M | None = field(
        "length", None, title="Diameter, held", symbol="D", possible=("0.5 m", "60 m"), usual=("1 m", "12 m"),
        hint="Of one tank; left out, the least standard size that holds the volume",
    )
    elevation: M = field(
        "length",
        "0.2 m",
        title="Floor above site level",
        symbol="z_t",
        possible=("-30 m", "60 m"),
        usual=("-5 m", "10 m"),
        hint="Floor of the tank; raises the suction of the pumps behind it",
    )
    low_level: M = field(
        "length",
        "0.6 m",
        title="Lowest depth of water",
        symbol="h_LL",
        possible=("0.05 m", "10 m"),
        usual=("0.3 m", "1.5 m"),
        hint="At which pumps stop; heads are computed from it",
    )


class Storage(_Tank):
    """Section ``[storage]``: raw water for all trains."""

    detention: S = field(
        "time.minute",
        "60 min",
        title="Detention of the raw water",
        symbol="t_d",
        possible=("5 min", "600 min"),
        usual=("30 min", "120 min"),
        hint="Of the usable volume",
    )


class WashTank(_Tank):
    """Section ``[wash_tank]``: filtrate or reject kept for washing filters."""

    washes: Factor = field(
        "factor",
        "2",
        title="Washes kept in the tank",
        symbol="n_w",
        possible=("1", "20"),
        usual=("1.5", "3"),
        hint="Full washes that it holds without make-up",
    )


class Cartridge(Section):
    """Section ``[cartridge]``: cartridge filters of one train."""

    length: str = choice(table("cartridges").options(), "1000-mm", title="Cartridge",
                         hint="Nominal length of one cartridge")
    loading: M3PerS = field(
        "flow",
        "0.75 m3/h",
        title="Flow per 250 mm of cartridge",
        symbol="q_c",
        possible=("0.1 m3/h", "3 m3/h"),
        usual=("0.5 m3/h", "1.1 m3/h"),
        source="voutchkov-2013",
        scope="unit",
        hint="Aimed at with every housing in service; less lasts longer",
    )
    loading_limit: M3PerS = field(
        "flow",
        "1.1 m3/h",
        title="Greatest flow per 250 mm with a housing out",
        symbol="q_max",
        possible=("0.1 m3/h", "3 m3/h"),
        usual=("0.7 m3/h", "1.2 m3/h"),
        source="voutchkov-2013",
        scope="unit",
        hint="Not to be passed while a housing is opened for a change",
    )
    housings: Count = field(
        "count",
        "1",
        title="Housings on duty",
        symbol="n_h",
        possible=("1", "20"),
        usual=("1", "6"),
        scope="train",
        hint="In service together in one train",
    )
    housings_standby: Count = field(
        "count",
        "1",
        title="Housings on standby",
        symbol="n_s",
        possible=("0", "10"),
        usual=("0", "2"),
        scope="train",
        hint="That wait, so that cartridges are changed without stopping",
    )
    count: Count | None = field(
        "count",
        None,
        title="Cartridges on duty in one train, held",
        symbol="n_c",
        possible=("1", "4000"),
        scope="train",
        hint="Left out, the least number within the loading",
        usual=("5", "600"),
    )
    clean_drop: DifferencePa = field(
        "pressure difference",
        "0.15 bar",
        title="Pressure drop, clean",
        symbol="Delta_p_c",
        possible=("0 bar", "1 bar"),
        usual=("0.05 bar", "0.2 bar"),
        source="voutchkov-2013",
        hint="Loss of new cartridges and their housing",
    )
    dirty_drop: DifferencePa = field(
        "pressure difference",
        "0.7 bar",
        title="Pressure drop at which cartridges are changed",
        symbol="Delta_p_d",
        possible=("0.05 bar", "3 bar"),
        usual=("0.5 bar", "1.2 bar"),
        source="voutchkov-2013",
        hint="Loss at which they are changed; the feed pump must overcome it",
    )
    rating: M = field(
        "length.micro", "5 um", title="Rating, nominal", symbol="d_c", possible=("0.5 um", "100 um"),
        usual=("1 um", "20 um"),
        hint="Size of grain that is mostly held back",
    )
    capacity: Kg = field(
        "mass", "0.1 kg", title="Solids one length of 250 mm holds", symbol="m_c", possible=("0.005 kg", "2 kg"),
        usual=("0.05 kg", "0.3 kg"), source="from-memory", hint="By the maker's test; slime fills it sooner",
    )
    change_longest: S = field(
        "time.day", "56 d", title="Longest time between changes", symbol="t_c", possible=("1 d", "400 d"),
        usual=("30 d", "90 d"), source="voutchkov-2013", hint="Slime grows in them whatever the solids",
    )
