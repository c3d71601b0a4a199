"""Fouling indices of the filtrate: plugging factor, silt density index, modified fouling index."""

from __future__ import annotations

from typing import Annotated

from desalbook.trail import Figure, assumed, checked, constant, note, relation
from desalbook.trail.inputs import Inputs
from desalbook.trail.limits import limit
from desalbook.units import KINDS, M2, DifferencePa, Fraction, PaS, S

__all__ = [
    "AREA",
    "MINUTE",
    "PRESSURE",
    "S_PER_L2",
    "VISCOSITY",
    "fouling",
    "modified_fouling_index",
    "plugging_factor",
    "silt_density_index",
]


FoulingIndex = Annotated[float, KINDS["fouling index"]]
Litres = Annotated[float, KINDS["volume.small"]]
MINUTE = constant("T_1", 60.0, "s", source="definition", title="One minute")
PRESSURE = constant("p_r", 207e3, "Pa", source="astm-d8002", title="Pressure of the test, 30 psi")
AREA = constant("A_r", 13.8e-4, "m^2", source="astm-d8002", title="Area of a 47 mm disc")
S_PER_L2 = constant("s/L2", 1e6, "s/m^6", source="definition", title="One second per litre squared")
VISCOSITY = constant("mu_20", 1.0016e-3, "Pa s", source="iapws-r12-08", title="Viscosity of water at 20 degC")


@relation("Plugging of the test filter", symbol="P_30", unit="1", source="astm-d4189")
def plugging_factor(first_time: S, last_time: S) -> Fraction:
    """Plugging factor of a timed filtration test: how much longer the last sample took than the first.

    Valid up to 75 %; past it the test is repeated over a shorter interval.
    """
    return 1 - first_time / last_time


@relation(
    "Silt density index",
    symbol="SDI",
    unit="1",
    source="astm-d4189",
    place="per cent a minute",
    within={"plugging": (None, "75 %")},
    note="beyond 75 % plugging the test is taken over ten or five minutes",
)
def silt_density_index(plugging: Fraction, interval: S) -> FoulingIndex:
    """Silt density index (SDI) from the plugging factor, in per cent per minute.

    Not proportional to solids and not comparable between intervals; particles well below 0.45 um are not seen.
    """
    return 100 * plugging / (interval / MINUTE)


@relation(
    "Modified fouling index",
    symbol="MFI",
    unit="1",
    source="astm-d8002",
    place="in s/L2, at 20 degC, 207 kPa and 13.8 cm2; from memory",
    note="between two readings on the straight part of the curve",
)
def modified_fouling_index(
    first_time: S,
    first_volume: Litres,
    last_time: S,
    last_volume: Litres,
    viscosity: PaS,
    pressure_drop: DifferencePa,
    area: M2,
) -> FoulingIndex:
    """Modified fouling index (MFI-0.45) from two readings on the straight part of the filtration curve.

    Corrected for viscosity, pressure and area of the test. Wrong where a reading lies in the initial blocking or in the
    final compression of the cake.
    """
    return (
        (last_time / last_volume - first_time / first_volume)
        / (last_volume - first_volume)
        / S_PER_L2
        * (VISCOSITY / viscosity)
        * (pressure_drop / PRESSURE)
        * (area / AREA) ** 2
    )


def fouling(inp: Inputs, filtered: bool = True) -> Figure:
    """Silt density index of the RO feed, by test or as expected, against what membranes take.

    Parameters
    ----------
    filtered : bool
        Whether filters stand upstream of the RO membranes; without, the index of the raw water is that of the RO feed.
    """
    first, last = inp.optional("fouling.first_time"), inp.optional("fouling.last_time")
    if first is not None and last is not None:
        plugging = plugging_factor.at("fouling.plugging", first_time=first, last_time=last)
        most = assumed(
            "fouling.plugging_limit",
            0.75,
            "fraction",
            title="Most plugging of a valid test",
            source="astm-d4189",
            place="from memory",
        )
        checked(
            "fouling.plugging.check",
            plugging,
            "<=",
            most,
            title="Test of the fouling index is valid",
            do="take the test over ten or five minutes and set fouling.interval",
        )
        index = silt_density_index.at("fouling.sdi", plugging=plugging, interval=inp.number("fouling.interval"))
    else:
        raw, expected = inp.optional("water.sdi"), inp.number("fouling.expected_sdi")
        index = expected if raw is None or filtered else raw
        if raw is not None and filtered:
            above = float(expected) > float(raw)
            note("fouling.raw.note", title="SDI15 of the raw water", verdict="review" if above else "passes",
                 why=f"{expected.show()} is expected of the filtrate, {raw.show()} is stated of the raw water",
                 do="lower fouling.expected_sdi, or test the filtrate" if above else "",
                 inputs={"raw": raw, "expected": expected})
        half = first if first is not None else last
        if half is not None:
            note(
                "fouling.test.note",
                title="Timed filtrations",
                verdict="review",
                why="one of the two times is missing: the expected index is judged",
                do="give fouling.first_time and fouling.last_time",
                inputs={"time": half},
            )
    highest = limit("sdi15", id="fouling.sdi_limit", title="Maximum SDI15 of RO feed", symbol="SDI_m",
                    kind="fouling index")
    checked(
        "fouling.sdi.check",
        index,
        "<=",
        highest,
        title="RO feed SDI15",
        do="coagulate, filter more slowly, filter twice, or find what plugs the disc",
    )
    return index
