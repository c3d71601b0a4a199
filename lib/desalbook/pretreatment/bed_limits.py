"""Limits of the backwash rate: media that reach the collector, inversion and intermixing of layers, settling.

Roots are found with the same functions that record them, in the values context; the record proves each by a residual.
"""

from __future__ import annotations

import functools
from collections.abc import Callable, Mapping
from typing import NamedTuple

import numpy as np

from desalbook.hydraulics.constants import G, Small
from desalbook.hydraulics.pipes import Fluid
from desalbook.pretreatment.granular_beds import (
    ExpansionIds,
    expanded_bed_rise,
    expanded_porosity,
    galileo_number,
    grain_drag_coefficient,
    grain_reynolds,
    layer_expansion,
    layer_expansions,
    superficial_reynolds,
)
from desalbook.pretreatment.media import Bed, Layers, Number
from desalbook.trail import (
    Column,
    Figure,
    checked,
    constant,
    maximum,
    minimum,
    note,
    proving,
    relation,
    residual,
    scope,
    solved,
    sqrt,
    values,
)
from desalbook.trail.inputs import Inputs
from desalbook.units import Factor, FiltrationRate, Fraction, KgPerM3, M

__all__ = [
    "Grains",
    "bed_limits",
    "bulk_density",
    "bulk_density_residual",
    "rate_at_collector",
    "rate_at_inversion",
    "remaining_freeboard",
    "richardson_zaki_porosity",
    "settling_residual",
    "settling_velocity",
    "solve_settling",
]

FASTEST = constant("v_b,max", 200 / 3600, "m/s", source="common-practice", title="Largest backwash rate of any filter")


@relation("Settling velocity of the grains", symbol="v_s", unit="m/s", source="davis-2010", place="example 11-3")
def settling_velocity(drag: Factor, grain_size: Small, grain_density: KgPerM3, density: KgPerM3) -> FiltrationRate:
    """Settling velocity of a single grain: weight in water against drag.

    For a sphere of the given size, unhindered and far from walls. Drag depends on the velocity, so that the two are
    solved together.
    """
    return sqrt(4 * G * (grain_density - density) * grain_size / (3 * drag * density))


@relation("Velocity by drag less velocity", symbol="Delta_v", unit="m/s", source="definition")
def settling_residual(settling_rate: FiltrationRate, wash_rate: FiltrationRate) -> FiltrationRate:
    """Residual of the settling velocity: velocity from drag less the velocity assumed for it.

    Zero at the root; it does not vanish where the drag was taken at another velocity.
    """
    return settling_rate - wash_rate


@relation(
    "Porosity of the backwashed bed, by settling",
    symbol="epsilon_s",
    unit="1",
    source="davis-2010",
    place="eq. 11-10 to 11-12, after Richardson and Zaki",
    note="not below the settled porosity, which the printed example forgets; held at 0.98",
)
def richardson_zaki_porosity(
    wash_rate: FiltrationRate, settling_rate: FiltrationRate, reynolds: Factor, settled_porosity: Fraction
) -> Fraction:
    """Porosity of an expanded layer from its settling velocity (after Richardson and Zaki).

    Not below the settled porosity; limited to 0.98, past which the grains are carried out. Fails for wide gradings,
    where one velocity does not stand for the layer.
    """
    return minimum(0.98, maximum(settled_porosity, (wash_rate / settling_rate) ** (0.2247 * reynolds**0.1)))


@relation(
    "Density of a backwashed layer",
    symbol="rho_b",
    unit="kg/m^3",
    source="amirtharajah-cleasby-1972",
    note="layers invert where the upper one is the heavier",
)
def bulk_density(expanded_porosity: Fraction, grain_density: KgPerM3, density: KgPerM3) -> KgPerM3:
    """Bulk density of an expanded layer: grains and water together.

    Layers of equal bulk density intermix, and invert where the upper one is the denser. Uniform in the layer; the
    sorting of sizes within it is neglected.
    """
    return (1 - expanded_porosity) * grain_density + expanded_porosity * density


@relation("Density of the lower layer over the upper one", symbol="Delta_rho", unit="1", source="definition")
def bulk_density_residual(lower_density: KgPerM3, upper_density: KgPerM3) -> Factor:
    """Residual of media inversion: bulk density of the lower layer over the upper one, less one.

    Zero where the two invert. Positive while the lower layer stays the denser.
    """
    return lower_density / upper_density - 1


@relation("Freeboard left", symbol="h_l", unit="m", source="definition")
def remaining_freeboard(freeboard: M, bed_rise: M) -> M:
    """Freeboard that remains between the expanded bed and the backwash-water collector.

    Zero where media reach the collector. Air left in the bed carries grains sooner than this says.
    """
    return freeboard - bed_rise


def _root(f: Callable[[float], float], low: float, high: float) -> float | None:
    """Where a falling function passes zero; None where it does not."""
    if not f(low) > 0 > f(high):
        return None
    at_low, at_high, kept = f(low), f(high), 0
    for _ in range(100):  # false position; the end that stays twice counts half (Illinois)
        middle = high - at_high * (high - low) / (at_high - at_low)
        here = f(middle)
        if abs(here) < 1e-12 or high - low < 1e-15:
            return middle
        if here > 0:
            low, at_low, at_high = middle, here, at_high / 2 if kept == 1 else at_high
            kept = 1
        else:
            high, at_high, at_low = middle, here, at_low / 2 if kept == -1 else at_low
            kept = -1
    return low if abs(f(low)) < abs(f(high)) else high


_LOSS = ExpansionIds.under("filters.loss_")


def _rise_to_collector(layers: Layers, freeboard: Figure, rate: Number, fluid: Fluid) -> Figure:
    expansion = layer_expansions(_LOSS, "filters.loss_expansion", layers, rate, fluid)
    rise = expanded_bed_rise.at("filters.loss_rise", depth=layers.depth, expansion=expansion)
    return remaining_freeboard.at("filters.loss_left", freeboard=freeboard, bed_rise=rise)


def rate_at_collector(layers: Layers, freeboard: Figure, fluid: Fluid) -> float | None:
    """Backwash rate (m/s) at which media reach the collector; None where no rate of any filter lifts them so far."""
    with values(keep=False):
        return _root(lambda rate: float(_rise_to_collector(layers, freeboard, rate, fluid)), 0.0, FASTEST.value)


class Grains(NamedTuple):
    """One size of grains of a layer: size (m), grain density (kg/m3), settled porosity."""

    size: float
    grain_density: float
    settled_porosity: float


def _density_difference(
    id: str, upper: tuple[str, Grains], lower: tuple[str, Grains], rate: Number, density: Number, viscosity: Number
) -> Figure:
    """Residual of media inversion of two layers, each with its name.

    Porosity by Cleasby and Fan: layers invert far above fluidisation, where Ergun with the coefficients of the settled
    bed overstates the expansion of coarse grains and would call a bed stable that is not.
    """
    dense = []
    for name, grains in (upper, lower):
        galileo = galileo_number.at(
            f"{id}.galileo[{name}]",
            grain_size=grains.size,
            density=density,
            grain_density=grains.grain_density,
            viscosity=viscosity,
        )
        reynolds = superficial_reynolds.at(
            f"{id}.reynolds[{name}]",
            grain_size=grains.size,
            superficial_velocity=rate,
            density=density,
            viscosity=viscosity,
            title="Reynolds number of the backwash",
            symbol="Re_w",
        )
        porosity = expanded_porosity.at(
            f"{id}.porosity[{name}]",
            reynolds=reynolds,
            galileo=galileo,
            settled_porosity=grains.settled_porosity,
        )
        dense.append(
            bulk_density.at(
                f"{id}.density[{name}]", expanded_porosity=porosity, grain_density=grains.grain_density, density=density
            )
        )
    return bulk_density_residual.at(f"{id}.left", lower_density=dense[1], upper_density=dense[0])


@functools.lru_cache(maxsize=512)
def rate_at_inversion(upper: Grains, lower: Grains, density: float, viscosity: float) -> float | None:
    """Smallest backwash rate (m/s) at which two layers have one bulk density; None where the lower stays the denser."""

    def left(rate: Number) -> Figure:
        return _density_difference("filters.inversion", ("upper", upper), ("lower", lower), rate, density, viscosity)

    with values(keep=False):
        rates = np.linspace(0.0, FASTEST.value, 401)
        below = np.flatnonzero(np.asarray(left(rates)) <= 0)
        if not len(below):
            return None
        if below[0] == 0:
            return 0.0
        return _root(lambda rate: float(left(rate)), float(rates[below[0] - 1]), float(rates[below[0]]))


def _velocity_by_drag(
    rate: Number, *, grain_size: Number, grain_density: Number, sphericity: Number, density: Number, viscosity: Number
) -> Column:
    """Settling velocity from the drag at an assumed velocity."""
    reynolds = grain_reynolds.at(
        "filters.settling_reynolds",
        sphericity=sphericity,
        grain_size=grain_size,
        filter_rate=rate,
        density=density,
        viscosity=viscosity,
        note="",
    )
    drag = grain_drag_coefficient.at("filters.settling_drag", reynolds=reynolds)
    return settling_velocity.at(
        "filters.settling_by_drag", drag=drag, grain_size=grain_size, grain_density=grain_density, density=density
    )


def solve_settling(
    size: np.ndarray, grain_density: np.ndarray, sphericity: np.ndarray, density: float, viscosity: float
) -> np.ndarray:
    """Settling velocities of single grains, m/s: drag and weight in balance."""
    size, dense, shape = (np.asarray(x, dtype=float) for x in (size, grain_density, sphericity))
    key = (*map(float, size), *map(float, dense), *map(float, shape))
    return np.array(_solve_settling(key, density, viscosity))


@functools.lru_cache(maxsize=512)
def _solve_settling(key: tuple[float, ...], density: float, viscosity: float) -> tuple[float, ...]:
    size, dense, shape = np.array(key).reshape(3, -1)
    low, high = np.full(size.shape, 1e-9), np.full(size.shape, 5.0)
    with values(keep=False):
        for _ in range(60):
            middle = (low + high) / 2
            above = (
                np.asarray(
                    _velocity_by_drag(
                        middle,
                        grain_size=size,
                        grain_density=dense,
                        sphericity=shape,
                        density=density,
                        viscosity=viscosity,
                    )
                )
                > middle
            )
            low, high = np.where(above, middle, low), np.where(above, high, middle)
    return tuple((low + high) / 2)


def bed_limits(inp: Inputs, of: Bed, wash_rate: Figure, waters: Mapping[str, Fluid]) -> None:
    """Backwash rates at which media reach the collector, and at which neighbouring layers invert or intermix."""
    fluid, freeboard, media = waters["cold"], inp.number("filters.freeboard"), of.media
    with scope(corner="cold"):
        root = rate_at_collector(media.bare, freeboard, fluid)
        if root is None:
            note(
                "filters.loss_rate.note",
                title="Media reach the collector",
                verdict="passes",
                why="no backwash rate of any filter lifts the bed that far",
                do="",
                inputs={"freeboard": freeboard, "depth": media.depth},
            )
        else:
            _loss_rate(media, freeboard, wash_rate, fluid, root)
    for corner in ("cold", "hot"):
        with scope(corner=corner):
            _by_settling(media, wash_rate, waters[corner])
            for k in range(len(media.depth) - 1):
                _order(media, k, wash_rate, waters[corner])


def _by_settling(media: Layers, wash_rate: Figure, fluid: Fluid) -> None:
    """Rise of the bed by another published model, beside the one the checks use."""
    root = solve_settling(
        media.d60.values,
        media.grain_density.values,
        media.sphericity.values,
        float(fluid.density),
        float(fluid.viscosity),
    )
    inputs = {
        "size": media.d60,
        "grain_density": media.grain_density,
        "sphericity": media.sphericity,
        "density": fluid.density,
        "viscosity": fluid.viscosity,
    }
    velocity = solved(
        "filters.settling",
        root,
        "filtration rate",
        title="Settling velocity of the grains, d60",
        symbol="v_s",
        method="bisection",
        inputs=inputs,
        axis=media.d60.axis,
        keys=media.d60.keys,
    )
    if proving():
        again = _velocity_by_drag(
            velocity,
            grain_size=media.d60,
            grain_density=media.grain_density,
            sphericity=media.sphericity,
            density=fluid.density,
            viscosity=fluid.viscosity,
        )
        left = settling_residual.at("filters.settling_left", settling_rate=again, wash_rate=velocity)
        residual(velocity, left, float(np.max(root)), 1e-9)
    reynolds = superficial_reynolds.at(
        "filters.settling_reynolds_sphere",
        grain_size=media.d60,
        superficial_velocity=velocity,
        density=fluid.density,
        viscosity=fluid.viscosity,
        title="Reynolds number of the grains, without shape",
        symbol="Re_s",
    )
    porosity = richardson_zaki_porosity.at(
        "filters.settling_porosity",
        wash_rate=wash_rate,
        settling_rate=velocity,
        reynolds=reynolds,
        settled_porosity=media.settled_porosity,
    )
    expansion = layer_expansion.at(
        "filters.settling_expansion", expanded_porosity=porosity, settled_porosity=media.settled_porosity
    )
    expanded_bed_rise.at(
        "filters.settling_rise",
        depth=media.depth,
        expansion=expansion,
        title="Bed expansion by settling of the grains",
    )


def _loss_rate(media: Layers, freeboard: Figure, wash_rate: Figure, fluid: Fluid, root: float) -> None:
    rate = solved(
        "filters.loss_rate",
        root,
        "filtration rate",
        title="Media-loss backwash rate",
        symbol="v_l",
        method="bisection",
        inputs={
            "freeboard": freeboard,
            "depth": media.depth,
            "size": media.d60,
            "grain_density": media.grain_density,
            "settled_porosity": media.settled_porosity,
            "kappa_v": media.kappa_v,
            "kappa_i": media.kappa_i,
            "density": fluid.density,
            "viscosity": fluid.viscosity,
        },
    )
    if proving():
        residual(rate, _rise_to_collector(media, freeboard, rate, fluid), float(freeboard), 1e-7)
    checked(
        "filters.loss_rate.check",
        wash_rate,
        "<=",
        rate,
        title="Backwash rate below media-loss velocity",
        do="lower the backwash rate in cold water, or increase the freeboard (filters.freeboard)",
        caution="Media that reach the collector are lost, and the bed no longer filters. Lower the rate in cold water.",
    )


def _order(media: Layers, k: int, wash_rate: Figure, fluid: Fluid) -> None:
    """Do two neighbours keep their order? Whole layers by d60; their ends, d90 over d10, intermix sooner."""
    upper, lower = media.depth.keys[k], media.depth.keys[k + 1]
    what = {
        "grain_density": media.grain_density,
        "settled_porosity": media.settled_porosity,
    }
    for name, sizes, verdict in (
        ("inversion", (media.d60, media.d60), "fails"),
        ("mixing", (media.d90, media.effective_size), "review"),
    ):
        ends = [
            Grains(size[key], media.grain_density[key], media.settled_porosity[key])
            for size, key in zip(sizes, (upper, lower), strict=True)
        ]
        inputs = {
            "upper": ends[0].size,
            "lower": ends[1].size,
            **what,
            "density": fluid.density,
            "viscosity": fluid.viscosity,
        }
        bare = [Grains(*map(float, one)) for one in ends]
        at = rate_at_inversion(bare[0], bare[1], float(fluid.density), float(fluid.viscosity))
        words = {"inversion": "invert", "mixing": "mix at their interface"}[name]
        what_fails = {"inversion": "Media inversion", "mixing": "Intermixing"}[name]
        title, id = f"{what_fails}, {upper} over {lower}", f"filters.{name}[{upper}]"
        if at is None:
            note(f"{id}.note", title=title, verdict="passes", why="not at any practicable backwash rate", do="",
                 inputs=inputs)
            continue
        if at == 0.0:
            note(
                f"{id}.note",
                title=title,
                verdict=verdict,
                why=f"{upper} is the heavier even at rest: they {words} at once",
                do="list the layers from the top down, the lightest grains first",
                inputs=inputs,
            )
            continue
        rate = solved(
            f"{id}.rate",
            at,
            "filtration rate",
            title=f"{what_fails} rate, {upper} over {lower}",
            symbol="v_x",
            method="bisection on the density of the backwashed layers",
            inputs=inputs,
            note="layers of equal density invert",
        )
        if proving():
            left = _density_difference(id, (upper, ends[0]), (lower, ends[1]), rate, fluid.density, fluid.viscosity)
            residual(rate, left, 1.0, 1e-7)
        if verdict == "fails":
            checked(
                f"{id}.check",
                wash_rate,
                "<=",
                rate,
                title=title,
                do="choose a finer or lighter upper layer, a coarser lower one, or backwash more slowly",
            )
        else:
            _mixing(id, title, wash_rate, rate)


def _mixing(id: str, title: str, wash_rate: Figure, rate: Figure) -> None:
    mixes = float(wash_rate) > float(rate)
    note(
        f"{id}.note",
        title=title,
        verdict="review" if mixes else "passes",
        why=f"coarse upper and fine lower grains weigh the same at {rate.show()}; the backwash runs at "
            f"{wash_rate.show()}",
        do="accept an interface of some centimetres, which is usual; a sharper one needs finer upper grains"
        if mixes
        else "",
        inputs={"wash_rate": wash_rate, "rate": rate},
    )
