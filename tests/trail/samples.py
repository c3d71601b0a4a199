"""Relations of the tests' own: one of each form the kit allows, and some that are wrong on purpose."""

from __future__ import annotations

from desalbook.trail import (
    Lookup,
    constant,
    dot,
    exp,
    largest,
    last,
    log,
    log10,
    lookup,
    maximum,
    minimum,
    relation,
    smallest,
    sqrt,
    total,
    up,
    where,
)
from desalbook.units.kinds import (
    M2,
    M3,
    Concentration,
    Count,
    DifferencePa,
    Factor,
    FiltrationRate,
    Head,
    KgPerM3,
    M3PerS,
    MPerS,
)

G = constant("g", 9.80665, "m/s^2", source="codata-2018")
TURN = constant("Re_t", 2000.0, "1", source="common-practice")
HOUR_WRONG = constant("t_h", 1.0, "h", source="common-practice")
CURVE = Lookup("CURVE", "clean loss", (0, 1.0, 3.0), (1.0, 2.5, 2.0), "1", "1", "common-practice")


@relation(
    "Filtration rate",
    symbol="v_f",
    unit="m/s",
    source="common-practice",
    note="even flow",
    within={"flow": (None, "200 m3/h")},
)
def filtration_rate(flow: M3PerS, area: M2, filters_in_service: Count) -> FiltrationRate:
    """Superficial velocity through the filters that are in service."""
    return flow / (area * filters_in_service)


@relation("Static pressure", symbol="Delta_p_h", unit="Pa", source="common-practice")
def static_pressure(density: KgPerM3, head: Head) -> DifferencePa:
    """Pressure of a column of water."""
    return density * G * head


@relation("Velocity from head", symbol="v", unit="m/s", source="common-practice")
def free_velocity(head: Head) -> MPerS:
    """Outflow without loss."""
    return sqrt(2 * G * head)


@relation("Friction factor", symbol="f", unit="1", source="common-practice")
def friction(x: Factor) -> Factor:
    """Two regimes and a third."""
    return where(x < TURN, 64 / x, where(x <= 1e5, 0.3164 / x**0.25, (1.8 * log10(x / 6.9)) ** -2))


@relation("Mixed concentration", symbol="c_m", unit="kg/m^3", source="common-practice")
def mixed(flow: M3PerS, concentration: Concentration) -> Concentration:
    """Blend by volume."""
    return dot(flow, concentration) / total(flow)


@relation("Scaled concentration", symbol="c_s", unit="kg/m^3", source="common-practice")
def scaled(concentration: Concentration, x: Factor) -> Concentration:
    """Entry by entry."""
    return concentration * x


@relation("Everything else", symbol="y", unit="1", source="common-practice")
def medley(x: Factor, z: Factor) -> Factor:
    """All remaining functions in one."""
    return (
        up(x / 0.3) + lookup(CURVE, z) * minimum(x, z) - exp(-(x - 1)) ** 2 + log(maximum(x, z)) - (-x) ** 2
    )


@relation("Over an axis", symbol="s", unit="1", source="common-practice")
def over(x: Factor, z: Factor) -> Factor:
    """Functions over an axis of expressions."""
    return (
        largest(x * z)
        - smallest(x)
        + last(x + z)
        + total(where(x < z, x, z**2))
        + total(up(x / z))
        + total(minimum(x, z) - maximum(x, 1))
        + dot(x, z + 1)
        + total(lookup(CURVE, x))
    )


@relation("Share", symbol="w", unit="1", source="common-practice")
def share(x: Factor) -> Factor:
    """Entry by entry, over the sum."""
    return x / total(x)


@relation("Guarded", symbol="y", unit="1", source="common-practice")
def guarded(x: Factor) -> Factor:
    """A branch that cannot be evaluated everywhere."""
    return where(x > 0, 1 / x, 1.0)


@relation("Powers", symbol="p", unit="1", source="common-practice")
def powers(x: Factor, z: Factor) -> Factor:
    """Where spreadsheets and Python differ."""
    return -(x**2) + 2**x**0.5 - (x - (z - 1)) / (x / z) - x * -z


# wrong on purpose: the unit test must see each


@relation("Rate over an hour", symbol="Q", unit="m^3/s", source="common-practice")
def wrong_hour(volume: M3) -> M3PerS:
    """A unit that is not coherent, so the factor 1/3600 is missing."""
    return volume / HOUR_WRONG


@relation("Velocity", symbol="v", unit="m/s", source="common-practice")
def wrong_root(flow: M3PerS, area: M2) -> MPerS:
    """One square root too many."""
    return sqrt(flow / area)


@relation("Sum", symbol="p", unit="Pa", source="common-practice")
def wrong_sum(density: KgPerM3, head: Head) -> DifferencePa:
    """A height added to a pressure."""
    return density * G * head + head


@relation("Hidden unit", symbol="v", unit="m/s", source="common-practice")
def wrong_fit(flow: M3PerS) -> MPerS:
    """A fit whose input still has its unit."""
    return 2.1 * flow**0.4


WRONG = (wrong_hour, wrong_root, wrong_sum, wrong_fit)
RIGHT = (
    filtration_rate,
    static_pressure,
    free_velocity,
    friction,
    mixed,
    scaled,
    medley,
    over,
    share,
    powers,
)
