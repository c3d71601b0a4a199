"""Electric motors: rating, full-load and part-load efficiency, and the speed drive.

Supply, protection and earthing follow local codes and licensed practice; isolate and lock out before work.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from desalbook.hydraulics.constants import KILOWATT
from desalbook.hydraulics.rows import column_line, least_row, row_line
from desalbook.problems import DesignError, Infeasible
from desalbook.tables import Row, table
from desalbook.trail import (
    Choice,
    Column,
    Figure,
    Lookup,
    checked,
    constant,
    log10,
    lookup,
    minimum,
    picked,
    relation,
    scope,
    where,
)
from desalbook.trail.limits import check_limit
from desalbook.trail.words import unit_words
from desalbook.units import ElectricW, Factor, Fraction, W, show

__all__ = [
    "DRIVE_10",
    "DRIVE_50",
    "DRIVE_100",
    "DRIVE_200",
    "MOTOR_LISTS",
    "PART_LOAD",
    "Electric",
    "Motor",
    "MotorPoint",
    "drive_input_power",
    "drive_part_load_efficiency",
    "full_load_efficiency",
    "largest_motor",
    "motor_at",
    "motor_full_load_efficiency_50hz",
    "motor_input_power",
    "motor_load",
    "motor_part_load_efficiency",
    "motor_power_with_margin",
    "size_motor",
]

MOTOR_LISTS = {"iec": "motors", "nema": "motors_nema"}
_CLASSES = {"ie3": "premium", "ie4": "super_premium"}


def _part_load() -> Lookup:
    rows = table("motor_part_load").ascending("load")
    return Lookup(
        "PART_LOAD",
        "Motor efficiency over full-load efficiency",
        tuple(row["load"].value for row in rows),
        tuple(row["ratio"].value for row in rows),
        "1",
        "1",
        rows[0].source,
        rows[0].place,
    )


PART_LOAD = _part_load()


def _drive_load(row: Row) -> Lookup:
    loads = ("25", "50", "75", "100")
    full = row["at_100"].value
    return Lookup(
        row.key.replace("-", "_").upper(),
        f"Drive efficiency over its efficiency at full load, {row.title}",
        tuple(float(x) / 100 for x in loads),
        tuple(row[f"at_{x}"].value / full for x in loads),
        "1",
        "1",
        row.source,
        row.place,
    )


def _drive_from(row: Row) -> Any:
    return constant(f"P_{row.key.rpartition('-')[2]}", row["output"].value, "W", source=row.source,
                    title=f"Motor rating from which the drive data of {row.title} hold")


_DRIVES = table("drives").ascending("output")
DRIVE_10, DRIVE_50, DRIVE_100, DRIVE_200 = (_drive_load(row) for row in _DRIVES)
FROM_50, FROM_100, FROM_200 = (_drive_from(row) for row in _DRIVES[1:])


@dataclass(frozen=True)
class Electric:
    """What the plant says of its motors.

    Parameters
    ----------
    motor_list : Choice
        ``iec`` or ``nema``: the list of ratings.
    motor_class : Choice
        ``ie2``, ``ie3`` or ``ie4``.
    poles : Choice
        ``2`` or ``4``.
    frequency : Choice
        ``50-hz`` or ``60-hz``: which rule the efficiency follows.
    """

    motor_list: Choice
    motor_class: Choice
    poles: Choice
    frequency: Choice


@dataclass(frozen=True)
class Motor:
    """Rating (W), efficiency at full load and at this load, electrical power at the supply (W)."""

    rating: Figure
    full_load_efficiency: Figure
    efficiency: Figure
    electric_power: Figure


@dataclass(frozen=True)
class MotorPoint:
    """A motor at one load: shaft power over rating, efficiency, electrical power at the supply (W)."""

    load: Figure
    efficiency: Figure
    electric_power: Figure


@relation("Motor power with margin", symbol="P_n", unit="W", source="common-practice")
def motor_power_with_margin(shaft_power: W, motor_margin: Factor) -> W:
    """Motor power with margin: the rating may not be below it.

    The margin covers the tolerance of the pump curve and wear, not overload.
    """
    return shaft_power * motor_margin


@relation("Load of the motor", symbol="x_L", unit="1", source="definition")
def motor_load(shaft_power: W, motor_rating: W) -> Fraction:
    """Load of a motor: shaft power over rating.

    Above one the motor runs into its service factor, where it has one.
    """
    return shaft_power / motor_rating


@relation(
    "Full-load efficiency of the motor",
    symbol="eta_fl",
    unit="1",
    source="uk-si-2021-745",
    place="Schedule 16 paragraph 5, Table 28; as IEC 60034-30-1",
    within={"motor_rating": ("0.75 kW", "1000 kW")},
    note="nominal at 50 Hz; a motor of the class may lie below by the tolerance of the standard",
)
def motor_full_load_efficiency_50hz(
    motor_rating: W, plateau_output: W, fit_a: Factor, fit_b: Factor, fit_c: Factor, fit_d: Factor
) -> Fraction:
    """Full-load efficiency of a 50 Hz motor by the interpolation of the standard, in the logarithm of the rating.

    Nominal values; constant above the plateau, and a motor may lie below by the tolerance.
    """
    return (
        fit_a * log10(minimum(motor_rating, plateau_output) / KILOWATT) ** 3
        + fit_b * log10(minimum(motor_rating, plateau_output) / KILOWATT) ** 2
        + fit_c * log10(minimum(motor_rating, plateau_output) / KILOWATT)
        + fit_d
    ) / 100


@relation(
    "Efficiency of the motor at its load",
    symbol="eta_m",
    unit="1",
    source="ornl-pump",
    place="unit test, 200 hp, 1785 rpm",
    within={"load": ("25 %", "125 %")},
    note="shape of one 200 hp motor; smaller motors fall off sooner",
)
def motor_part_load_efficiency(motor_efficiency: Fraction, load: Fraction) -> Fraction:
    """Motor efficiency at part load: that at full load times a ratio read from a table.

    The shape of one large motor; smaller motors fall off sooner.
    """
    return motor_efficiency * lookup(PART_LOAD, load)


@relation("Electrical power of the motor", symbol="P_e", unit="W", source="definition")
def motor_input_power(shaft_power: W, motor_efficiency: Fraction) -> ElectricW:
    """Electrical power at the terminals of a motor: shaft power over efficiency.

    Losses of cables and of a drive are not in it.
    """
    return shaft_power / motor_efficiency


@relation(
    "Efficiency of the drive at its load",
    symbol="eta_v",
    unit="1",
    source="doe-motor-fact-sheet",
    place="drive part-load table, from memory; the next lower rating holds",
    note="held below a quarter of the load; smaller drives fall off sooner",
)
def drive_part_load_efficiency(drive_efficiency: Fraction, load: Fraction, motor_rating: W) -> Fraction:
    """Efficiency of a speed drive at part load: that at full load times a ratio read from a table by its size.

    The row of the next lower rating holds, below 10 hp that of 10 hp; held below a quarter of the load.
    """
    return drive_efficiency * where(
        motor_rating < FROM_50,
        lookup(DRIVE_10, load),
        where(
            motor_rating < FROM_100,
            lookup(DRIVE_50, load),
            where(motor_rating < FROM_200, lookup(DRIVE_100, load), lookup(DRIVE_200, load)),
        ),
    )


@relation("Electrical power through the drive", symbol="P_s", unit="W", source="definition")
def drive_input_power(electric_power: ElectricW, drive_efficiency: Fraction) -> ElectricW:
    """Electrical power at the supply side of a speed drive.

    Filters and the transformer are counted apart.
    """
    return electric_power / drive_efficiency


def size_motor(
    prefix: str,
    shaft_power: Figure,
    electric: Electric,
    *,
    margin: Figure | None = None,
    motor: Figure | None = None,
    drive_efficiency: Figure | None = None,
) -> Motor:
    """Rating, efficiencies and electrical power.

    Parameters
    ----------
    prefix : str
        Id of the unit, such as ``hp_pump``.
    shaft_power : Figure
        Maximum shaft power, W; the rating is sized on it.
    electric : Electric
    margin : Figure, optional
        Rating over shaft power; None takes the table of margins by rating.
    motor : Figure, optional
        A held rating (W); the rule becomes a check.
    drive_efficiency : Figure, optional
        Of a speed drive; None for a motor on line.
    """
    needed = _needed(prefix, shaft_power, margin)
    if motor is None:
        rating = _pick(prefix, needed, electric)
    else:
        rating = motor
        limit = needed if isinstance(needed, Figure) else _of_its_size(needed, motor)
        checked(
            f"{prefix}.motor.check",
            motor,
            ">=",
            limit,
            title=f"Motor rating with margin, {unit_words(prefix.rpartition('.')[2])}",
            do=f"increase {motor.id}, or clear it to size automatically",
            caution="An overloaded motor overheats and can start a fire. Protection and wiring follow local codes.",
        )
    full = full_load_efficiency(prefix, rating, electric)
    point = motor_at(prefix, shaft_power, rating, full, drive_efficiency)
    check_limit(f"{prefix}.motor_load.check", point.load, "motor-load", sized_by=[rating],
                title=f"Motor load at duty, {unit_words(prefix.rpartition('.')[2])}",
                do="select a larger motor" if prefix.startswith("power.") else f"increase {prefix}.motor, or clear it",
                caution="An overloaded motor overheats and can start a fire. Protection and wiring follow local codes.")
    return Motor(rating, full, point.efficiency, point.electric_power)


def motor_at(
    prefix: str, shaft_power: Figure, rating: Figure, full: Figure, drive_efficiency: Figure | None = None
) -> MotorPoint:
    """Load, efficiency and electrical power (W) of a motor at one shaft power.

    Parameters
    ----------
    shaft_power, rating : Figure
        W
    full : Figure
        Full-load efficiency.
    drive_efficiency : Figure, optional
        Of a speed drive; None for a motor on line.
    """
    load = motor_load.at(f"{prefix}.motor_load", shaft_power=shaft_power, motor_rating=rating)
    efficiency = motor_part_load_efficiency.at(f"{prefix}.motor_efficiency", motor_efficiency=full, load=load)
    if drive_efficiency is None:
        power = motor_input_power.at(
            f"{prefix}.electric_power", shaft_power=shaft_power, motor_efficiency=efficiency
        )
        return MotorPoint(load, efficiency, power)
    terminals = motor_input_power.at(
        f"{prefix}.motor_power", shaft_power=shaft_power, motor_efficiency=efficiency
    )
    at_load = drive_part_load_efficiency.at(f"{prefix}.drive_efficiency_at", drive_efficiency=drive_efficiency,
                                            load=load, motor_rating=rating)
    power = drive_input_power.at(f"{prefix}.electric_power", electric_power=terminals, drive_efficiency=at_load)
    return MotorPoint(load, efficiency, power)


def _needed(prefix: str, shaft_power: Figure, margin: Figure | None) -> Figure | Column:
    used: Figure | Column | None = margin
    if used is None:
        rows = table("motor_margin").ascending("up_to")
        used = column_line(
            f"{prefix}.motor_margins",
            "motor_margin",
            [(row.key, row["ratio"]) for row in rows],
            axis="motor size",
            title="Motor margin by rating",
        )
    return motor_power_with_margin.at(f"{prefix}.motor_needed", shaft_power=shaft_power, motor_margin=used)


def _of_its_size(needed: Column, rating: Figure) -> Figure:
    return needed[_size_class(rating.value)]


def largest_motor(electric: Electric) -> float:
    """Largest standard rating of the plant's list of motors, W."""
    return table(MOTOR_LISTS[electric.motor_list]).ascending("output")[-1]["output"].value


def _size_class(rating: float) -> str:
    rows = table("motor_margin").ascending("up_to")
    return next((row.key for row in rows if rating <= row.cells["up_to"].value * (1 + 1e-9)), rows[-1].key)


def _pick(prefix: str, needed: Figure | Column, electric: Electric) -> Figure:
    of = MOTOR_LISTS[electric.motor_list]
    id, because = f"{prefix}.motor", [electric.motor_list]
    if isinstance(needed, Figure):
        rule = "smallest standard rating that is not below shaft power times margin"
        return least_row(id, of, "output", needed, title="Motor rating", rule=rule, because=because,
                         do=f"set {id} to a special size, or divide the flow among more trains (duty.trains)")[0]
    rows = table(of).ascending("output")
    by_size = dict(zip(needed.keys, needed.values.tolist(), strict=True))
    judged = [(row, size := row.cells["output"].value, by_size[_size_class(size)]) for row in rows]
    at = next((i for i, (_, size, least) in enumerate(judged) if size >= least * (1 - 1e-9)), None)
    if at is None:
        raise Infeasible(
            "no standard motor is large enough",
            where=id,
            value=show(judged[-1][2], needed.kind),
            allowed=f"up to {rows[-1]['output'].text}",
            do=f"set {id} to a special size, or divide the flow among more trains (duty.trains)",
        )
    won = rows[at]
    why = (
        f"the next smaller, {rows[at - 1].title}, is below {show(judged[at - 1][2], needed.kind)}, "
        "shaft power times the margin of its size"
        if at
        else "the smallest there is"
    )
    with scope(because=because):
        return picked(
            id,
            won["output"].value,
            "power",
            title="Motor rating",
            symbol="P_r",
            rule="smallest standard rating that is not below shaft power times the margin of its size",
            candidates=[
                {"key": row.key, "value": size, "needed": least, "won": row is won}
                for row, size, least in judged
            ],
            inputs={"needed": needed},
            why=why,
            table=of,
            source=won.source,
        )


def full_load_efficiency(prefix: str, rating: Figure, electric: Electric) -> Figure:
    """Efficiency of a motor at full load, by its rating (W), class, poles and frequency.

    Parameters
    ----------
    prefix : str
        Id of the unit, such as ``hp_pump``.
    rating : Figure
        W
    electric : Electric

    Raises
    ------
    DesignError
        The tables have no such class at 60 Hz.
    """
    id = f"{prefix}.motor_efficiency_full_load"
    because = [rating, electric.motor_class, electric.poles, electric.frequency]
    if electric.frequency == "60-hz":
        if electric.motor_class not in _CLASSES:
            raise DesignError(
                "no table for this class at 60 Hz",
                where=electric.motor_class.id,
                value=str(electric.motor_class),
                allowed=", ".join(_CLASSES),
                do="use ie3 or ie4",
            )
        row = _row_60hz(rating.value)
        name = f"{_CLASSES[electric.motor_class]}_{electric.poles}p"
        return row_line(id, "motor_efficiency_60hz", row, name, because=because)
    row = table("motor_efficiency").row(f"{electric.motor_class}-{electric.poles}p", id)
    fit = column_line(
        f"{prefix}.motor_fit",
        "motor_efficiency",
        [(name, row[name]) for name in ("a", "b", "c", "d")],
        axis="coefficient",
        title=f"Coefficients of {row.title}",
        because=[electric.motor_class, electric.poles, electric.frequency],
    )
    plateau = row_line(
        f"{prefix}.motor_plateau",
        "motor_efficiency",
        row.key,
        "plateau_output",
        because=[electric.motor_class, electric.poles, electric.frequency],
    )
    return motor_full_load_efficiency_50hz.at(
        id,
        motor_rating=rating,
        plateau_output=plateau,
        fit_a=fit["a"],
        fit_b=fit["b"],
        fit_c=fit["c"],
        fit_d=fit["d"],
    )


def _row_60hz(rating: float) -> str:
    """Row for a rating: between two, the higher from their midpoint on (Schedule 16 paragraph 5)."""
    rows = table("motor_efficiency_60hz").ascending("output")
    key = rows[0].key
    for below, above in pairwise(rows):
        if rating >= (below["output"].value + above["output"].value) / 2:
            key = above.key
    return key
