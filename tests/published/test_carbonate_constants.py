"""Acid constants: check values of the handbook, and of the library that follows it."""

from __future__ import annotations

from tests.points import Point

ROOM = "water.carbonate"
PRINTED = "printed"
LIBRARY = "computed with a reference library"
MEMORY = "from memory"


def _sea(name: str, rows: list, source: str, room: str = ROOM) -> list[Point]:
    return [
        Point(f"{room}:{name}", {"temperature": t + 273.15, "practical_salinity": s}, v, 0.6e-4 / v, *where)
        for s, t, v, where in rows
    ]


_BOOK = ("dickson-2007", "chapter 5, check values at S 35 and 25 degC", PRINTED)
_LIB = ("pyco2sys", "opt_k_carbonic 10, total scale", LIBRARY)

POINTS = [
    *_sea(
        "pk1_saline",
        [(35, 25, 5.8472, _BOOK), (35, 5, 6.0515, _LIB), (35, 35, 5.7709, _LIB), (45, 25, 5.8238, _LIB)],
        "lueker-2000",
    ),
    *_sea(
        "pk2_saline",
        [(35, 25, 8.9660, _BOOK), (35, 5, 9.2998, _LIB), (35, 35, 8.8100, _LIB), (45, 25, 8.8776, _LIB)],
        "lueker-2000",
    ),
    *_sea(
        "pkb_saline",
        [
            (35, 25, 8.5975, ("dickson-2007", "ln KB -19.7964", PRINTED)),
            (35, 5, 8.8444, _LIB),
            (35, 40, 8.4272, _LIB),
            (45, 25, 8.5498, _LIB),
            (80, 25, 8.5004, ("pyco2sys", "extrapolated beyond S 45", LIBRARY)),
        ],
        "dickson-1990",
        "water.boron",
    ),
    *[
        Point(
            f"{ROOM}:{name}",
            {"temperature": t + 273.15},
            v,
            0.6e-3 / v,
            "plummer-busenberg-1982",
            "table of constants; the equations are from memory, two engine data sets give the same numbers",
            LIBRARY,
        )
        for name, values in {
            "pk1_fresh": (6.579, 6.516, 6.419, 6.352, 6.310, 6.297),
            "pk2_fresh": (10.629, 10.554, 10.428, 10.329, 10.252, 10.222),
            "pk_henry": (1.108, 1.192, 1.341, 1.468, 1.577, 1.625),
        }.items()
        for t, v in zip((0, 5, 15, 25, 35, 40), values, strict=True)
    ],
    *[
        # 9.236 at 25 degC is the usual handbook figure 9.24
        Point("water.boron:pkb_fresh", {"temperature": t + 273.15}, v, 6e-4, "owen-1934", "table", MEMORY)
        for t, v in ((10, 9.380), (25, 9.236), (40, 9.132))
    ],
    *[
        Point(
            "water.boron:borate_fraction",
            {"ph_total": ph, "pk": 8.597},
            v,
            0.0006 / v,
            "definition",
            "",
            "hand arithmetic",
        )
        for ph, v in ((7.0, 0.025), (8.0, 0.202), (8.5, 0.444), (9.0, 0.717), (10.0, 0.962))
    ],
    *[
        Point(
            "water.boron:borate_fraction_fresh",
            {"ph": ph, "pk": 9.24},
            v,
            0.0006 / v,
            "definition",
            "",
            "hand arithmetic",
        )
        for ph, v in ((8.0, 0.054), (9.0, 0.365), (10.0, 0.852), (10.5, 0.948))
    ],
    Point(
        f"{ROOM}:total_from_nbs",
        {"ph": 8.18},
        8.05,
        1e-4,
        "common-practice",
        "some 0.13 lower",
        "common practice",
    ),
    Point(f"{ROOM}:nbs_from_total", {"ph_total": 8.05}, 8.18, 1e-4, "common-practice", "", "common practice"),
    Point(
        "water.seawater:practical_salinity",
        {"salinity": 0.03516504 / (1 - 0.03516504)},
        35.0,
        1e-9,
        "millero-2008",
        "S_R = 35.16504/35 S_P",
    ),
    # 0.9812 is the activity of water in seawater of S 35 at 25 degC
    Point(
        "water.seawater:vapour_pressure_lowered",
        {"vapour_pressure": 3169.7, "practical_salinity": 35},
        3169.7 * 0.98121,
        1e-5,
        "robinson-1954",
        "equation, from memory",
        MEMORY,
    ),
]


def test_alone():
    """These points are held to their relations by the test of all points."""
    assert len(POINTS) > 40
