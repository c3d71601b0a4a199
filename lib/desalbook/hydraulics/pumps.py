"""Pumps: powers, specific speed, affinity, the efficiency that manufacturers reach, and sizing a pump and its motor.

High-pressure water injures and hoses whip; lock out electricity and stored pressure before work. A size
found here is checked against the curve of the pump bought.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from desalbook.hydraulics.constants import FOOT, GPM, RPM, G, Rotation
from desalbook.hydraulics.head import pressure_head, pressure_of_head
from desalbook.hydraulics.motors import Electric, motor_at, size_motor
from desalbook.hydraulics.rows import column_line, row_line
from desalbook.problems import TrailError
from desalbook.tables import Row, table
from desalbook.trail import Choice, Column, Figure, Lookup, assumed, exp, log10, lookup, note, picked, relation, scope
from desalbook.trail.words import unit_words
from desalbook.units import Count, DeltaK, DifferencePa, Factor, Fraction, Head, JPerKgK, M3PerS, W, show

__all__ = [
    "END_SUCTION",
    "HP_CLASSES",
    "MULTISTAGE",
    "POSITIVE_DISPLACEMENT",
    "PUMP_CLASSES",
    "SPEED_LOSS",
    "Pump",
    "PumpKind",
    "Running",
    "affinity_flow",
    "affinity_head",
    "affinity_power",
    "attainable",
    "attainable_pump_efficiency",
    "average_pump_efficiency",
    "compare_kinds",
    "efficiency_at_specific_speed",
    "hydraulic_power",
    "net_shaft_power",
    "pump_kind",
    "pump_kinds",
    "pump_temperature_rise",
    "register_pump",
    "run_pump",
    "shaft_power",
    "shaft_power_saved",
    "size_pump",
    "specific_speed",
]

def _speed_loss() -> Lookup:
    rows = table("pump_specific_speed").ascending("specific_speed")
    return Lookup(
        "SPEED_LOSS",
        "Efficiency loss, specific speed",
        tuple(row["specific_speed"].value for row in rows),
        tuple(row["loss"].value for row in rows),
        "1",
        "1",
        rows[0].source,
        rows[0].place,
    )


SPEED_LOSS = _speed_loss()


@relation("Hydraulic power", symbol="P_h", unit="W", source="definition")
def hydraulic_power(flow: M3PerS, pressure_rise: DifferencePa) -> W:
    """Hydraulic power: flow times pressure rise, what the water takes up.

    Water counts as incompressible; some 2 % of it is lost to compression at 60 bar.
    """
    return flow * pressure_rise


@relation("Shaft power", symbol="P_shaft", unit="W", source="hi-edb", place="Eq. 1.B.4")
def shaft_power(hydraulic_power: W, pump_efficiency: Fraction) -> W:
    """Shaft power of a pump: hydraulic power over the efficiency of the pump.

    Bearings and seals are in the efficiency; gears and belts are not.
    """
    return hydraulic_power / pump_efficiency


@relation("Shaft power left for the motor", symbol="P_net", unit="W", source="definition")
def net_shaft_power(shaft_power: W, recovered_power: W) -> W:
    """Shaft power left for the motor: that of the pump less what a turbine on the same shaft gives back.

    The coupling is taken without loss; a negative value means that the motor is driven.
    """
    return shaft_power - recovered_power


@relation(
    "Temperature rise in the pump",
    symbol="Delta_T",
    unit="K",
    source="definition",
    note="all losses heat the water; compression heating neglected",
)
def pump_temperature_rise(head: Head, pump_efficiency: Fraction, heat_capacity: JPerKgK) -> DeltaK:
    """Temperature rise of the water in a pump: its losses over the heat capacity of the water.

    At small flows the losses rise steeply; near shut-off the water boils.
    """
    return G * head * (1 / pump_efficiency - 1) / heat_capacity


@relation("Flow at another speed", symbol="Q_2", unit="m^3/s", source="hi-edb", place="Eq. 1.B.6")
def affinity_flow(flow: M3PerS, speed_ratio: Factor) -> M3PerS:
    """Affinity law for flow: proportional to speed.

    Equal impeller and equal specific losses; holds within some half of full speed.
    """
    return flow * speed_ratio


@relation("Head at another speed", symbol="H_2", unit="m", source="hi-edb", place="Eq. 1.B.6")
def affinity_head(head: Head, speed_ratio: Factor) -> Head:
    """Affinity law for head: with the square of speed.

    Equal impeller; static head of the system does not follow it.
    """
    return head * speed_ratio**2


@relation("Shaft power at another speed", symbol="P_2", unit="W", source="hi-edb", place="Eq. 1.B.6")
def affinity_power(shaft_power: W, speed_ratio: Factor) -> W:
    """Affinity law for shaft power: with the cube of speed, at equal efficiency.

    Efficiency falls at low speed, so that the power saved is a little less.
    """
    return shaft_power * speed_ratio**3


@relation(
    "Specific speed, US units",
    symbol="N_s",
    unit="1",
    source="hi-edb",
    place="turns a minute, gallons a minute and feet of one stage",
)
def specific_speed(rotation: Rotation, flow: M3PerS, head: Head, stages: Count) -> Factor:
    """Specific speed in US units: type number of one stage at its best-efficiency point.

    Flow of a double-suction impeller would count half; the kit has single suction only.
    """
    return rotation / RPM * (flow / GPM) ** 0.5 / (head / (stages * FOOT)) ** 0.75


@relation(
    "Average efficiency of such pumps",
    symbol="eta_av",
    unit="1",
    source="ornl-pump",
    place="fit after the curves of HI 20.3",
    within={"flow": ("1 gpm", "10 000 gpm")},
    note="at the best-efficiency point, clean water, before the loss for specific speed",
)
def average_pump_efficiency(
    flow: M3PerS, fit_0: Factor, fit_1: Factor, fit_2: Factor, fit_3: Factor, fit_4: Factor
) -> Fraction:
    """Average efficiency of centrifugal pumps at their best-efficiency point, over flow.

    A fit of two exponentials for clean water; the loss for low specific speed comes after.
    """
    return (fit_0 + fit_1 * exp(-fit_2 * (flow / GPM)) + fit_3 * exp(-fit_4 * (flow / GPM))) / 100


@relation(
    "Attainable efficiency of the pump type",
    symbol="eta_max",
    unit="1",
    source="ornl-pump",
    place="fit after the curves of HI 20.3",
    within={"flow": ("1 gpm", "10 000 gpm")},
    note="the best that manufacturers reach, before the loss for specific speed",
)
def attainable_pump_efficiency(
    average: Fraction,
    flow: M3PerS,
    fit_5: Factor,
    fit_6: Factor,
    fit_7: Factor,
    fit_8: Factor,
    fit_9: Factor,
) -> Fraction:
    """Attainable efficiency of centrifugal pumps: the average raised by a few per cent that shrink with size.

    Clean water at the best-efficiency point; a small or worn pump lies below.
    """
    return average * (
        1 + (fit_5 + fit_6 * exp(-fit_7 * log10(flow / GPM)) + fit_8 * exp(-fit_9 * log10(flow / GPM))) / 100
    )


@relation(
    "Efficiency at its specific speed",
    symbol="eta_p",
    unit="1",
    source="ornl-pump",
    within={"specific_speed": ("600", "2500")},
)
def efficiency_at_specific_speed(attainable: Fraction, specific_speed: Factor) -> Fraction:
    """Pump efficiency less the loss for a low specific speed, read from a table.

    Above the table it is held; very high specific speeds lose again.
    """
    return attainable - lookup(SPEED_LOSS, specific_speed)


@dataclass(frozen=True)
class PumpKind:
    """A kind of pump: what its casing is, how it moves water, where it may serve.

    Parameters
    ----------
    key, label : str
        In design files and tables; in lists of choice.
    displacement : bool
        It gives a flow at any pressure; a centrifugal pump has a curve of head over flow.
    stages : int or None
        Impellers it always has; None where they are chosen for the specific speed, or there are none.
    low_pressure : bool
        It may serve on the low-pressure side.
    """

    key: str
    label: str
    displacement: bool = False
    stages: int | None = None
    low_pressure: bool = True


_KINDS: dict[str, PumpKind] = {}


def register_pump(kind: PumpKind) -> PumpKind:
    """Enter a kind of pump.

    Raises
    ------
    TrailError
        The key is taken, or a row of a table is missing; named.
    """
    where = f"pump kind {kind.key}"
    if kind.key in _KINDS:
        raise TrailError("this kind of pump is registered already", where=where)
    if kind.key not in table("pump_shutoff"):
        raise TrailError("no row of the table pump_shutoff", where=where, do=f"add the row {kind.key}")
    if kind.displacement and kind.key not in table("displacement_pumps"):
        raise TrailError("no row of the table displacement_pumps", where=where, do=f"add the row {kind.key}")
    if not kind.displacement and not _efficiency_rows(kind.key):
        raise TrailError("no row of the table pump_efficiency", where=where,
                         do=f"add a row with pump_class {_class_name(kind.key)}")
    _KINDS[kind.key] = kind
    return kind


def pump_kinds() -> tuple[PumpKind, ...]:
    """All kinds, in the order of the lists of choice."""
    return tuple(_KINDS.values())


def pump_kind(key: str) -> PumpKind:
    """The kind of a key."""
    found = _KINDS.get(str(key))
    if found is None:
        raise TrailError("no such kind of pump", where=str(key), do=f"known: {', '.join(_KINDS)}")
    return found


class _Labels(Mapping[str, str]):
    """Keys and labels of the kinds that may serve somewhere; follows the registry."""

    def __init__(self, serves: Callable[[PumpKind], bool]):
        self._serves = serves

    def __getitem__(self, key: str) -> str:
        if not self._serves(_KINDS[key]):
            raise KeyError(key)
        return _KINDS[key].label

    def __iter__(self) -> Iterator[str]:
        return (key for key, kind in _KINDS.items() if self._serves(kind))

    def __len__(self) -> int:
        return len([key for key in self])  # noqa: C416  a list made by list() would ask for this length


PUMP_CLASSES: Mapping[str, str] = _Labels(lambda kind: kind.low_pressure)
"""Kinds of pump of the low-pressure side by key, with their labels."""

HP_CLASSES: Mapping[str, str] = _Labels(lambda kind: True)
"""Kinds of pump of the high-pressure side by key, with their labels."""


def _class_name(key: str) -> str:
    return key.replace("-", " ")


def _efficiency_rows(key: str) -> list[Row]:
    """Branches of the efficiency curve of a kind, by rising flow."""
    mine = [row for row in table("pump_efficiency").values() if row["pump_class"].value == _class_name(key)]
    return sorted(mine, key=lambda row: row["flow_low"].value)


END_SUCTION = register_pump(PumpKind("end-suction", "End suction", stages=1))
MULTISTAGE = register_pump(PumpKind("multistage", "Multistage"))
POSITIVE_DISPLACEMENT = register_pump(
    PumpKind("positive-displacement", "Positive displacement", displacement=True, low_pressure=False))
for _key in table("pump_shutoff"):
    pump_kind(_key)
_FIT = ("c0", "c1", "c2", "c3", "c4", "m0", "m1", "m2", "m3", "m4")


@dataclass(frozen=True)
class Pump:
    """A pump and its motor, SI; `efficiency` is the pump's, `motor_efficiency` the motor's at this load."""

    flow: Figure
    head: Figure
    pressure_rise: Figure
    efficiency: Figure
    hydraulic_power: Figure
    shaft_power: Figure
    motor_rating: Figure
    motor_full_load_efficiency: Figure
    motor_efficiency: Figure
    electric_power: Figure
    drive_efficiency: Figure | None = None
    own_shaft_power: Figure | None = None

    @property
    def gross_shaft_power(self) -> Figure:
        """Shaft power of the pump itself, whatever a turbine on its shaft gives back."""
        return self.shaft_power if self.own_shaft_power is None else self.own_shaft_power


@dataclass(frozen=True)
class Running:
    """A pump that has been sized, at another duty: powers in W."""

    shaft_power: Figure
    motor_efficiency: Figure
    electric_power: Figure


def attainable(prefix: str, flow: Figure, pump_class: Choice, specific_speed: Figure | None = None) -> Figure:
    """Efficiency that makers reach at this flow, ``{prefix}.efficiency``.

    Parameters
    ----------
    prefix : str
    flow : Figure
        At the best-efficiency point, m3/s.
    pump_class : Choice
        Key of a kind with efficiency rows.
    specific_speed : Figure, optional
        US units, one stage; None leaves its loss out, and the line says so.
    """
    fit = _fit(prefix, flow, pump_class)
    average = average_pump_efficiency.at(
        f"{prefix}.efficiency_average", flow=flow, **{f"fit_{n}": fit[f"c{n}"] for n in range(5)}
    )
    more: dict[str, Any] = {f"fit_{n + 5}": fit[f"m{n}"] for n in range(5)}
    if specific_speed is None:
        return attainable_pump_efficiency.at(
            f"{prefix}.efficiency",
            average=average,
            flow=flow,
            **more,
            note="the loss for specific speed is omitted: speed and stages are not given",
        )
    best = attainable_pump_efficiency.at(f"{prefix}.efficiency_attainable", average=average, flow=flow, **more)
    return efficiency_at_specific_speed.at(f"{prefix}.efficiency", attainable=best, specific_speed=specific_speed)


def _fit(prefix: str, flow: Figure, pump_class: Choice) -> Column:
    mine = _efficiency_rows(pump_class)
    won = next((row for row in mine if flow.value < row["flow_high"].value), mine[-1])
    with scope(because=[pump_class]):
        key = picked(
            f"{prefix}.efficiency_row",
            won.key,
            None,
            title="Branch of the efficiency curve",
            rule="the row whose range of flow holds the flow",
            candidates=[{"key": row.key, "value": row["flow_high"].value, "won": row is won} for row in mine],
            inputs={"flow": flow},
            table="pump_efficiency",
            source=won.source,
        )
    return column_line(
        f"{prefix}.efficiency_fit",
        "pump_efficiency",
        [(c, won[c]) for c in _FIT],
        axis="coefficient",
        title="Coefficients of the efficiency curve",
        because=[key],
    )



@relation("Shaft power saved by another kind of pump", symbol="x_s", unit="1", source="definition")
def shaft_power_saved(shaft_power: W, other_power: W) -> Fraction:
    """Fraction of its shaft power that another kind of pump would save at the same duty.

    Both at their best at this duty; control by speed or valve, and motors, are neglected.
    """
    return 1 - other_power / shaft_power


def compare_kinds(prefix: str, kind: Choice, pump: Pump, flow: Figure) -> None:
    """Ask whether another kind of pump would do the duty with less shaft power, and propose it.

    Records ``{prefix}.kinds[key].efficiency`` and ``.shaft_power`` of each kind that can give the head and, of
    displacement pumps, the flow with one pump; ``{prefix}.kind_proposed``; and the finding ``{prefix}.kind``.

    Parameters
    ----------
    kind : Choice
        Key of the pump's own kind.
    flow : Figure
        Of one pump, m3/s.
    """
    powers: dict[str, Figure] = {kind: pump.gross_shaft_power}
    margins: dict[str, Figure] = {}
    for other in pump_kinds():
        if other.key == kind or other.stages is not None:
            continue  # one impeller does not give the head of a membrane feed
        at = f"{prefix}.kinds[{other.key}]"
        if other.displacement:
            largest = row_line(f"{at}.flow_high", "displacement_pumps", other.key, "flow_high", because=[kind])
            margins[other.key] = row_line(f"{at}.worth_saving", "displacement_pumps", other.key, "worth_saving",
                                          because=[kind])
            if flow.value > largest.value:
                continue
            eta = row_line(f"{at}.efficiency", "displacement_pumps", other.key, "efficiency",
                           because=[kind, flow, largest])
        else:
            with scope(because=[kind]):
                named = assumed(f"{at}.key", other.key, None, title="Kind of pump compared", source="definition")
                eta = attainable(at, flow, named)
        with scope(because=[kind]):
            powers[other.key] = shaft_power.at(f"{at}.shaft_power", hydraulic_power=pump.hydraulic_power,
                                               pump_efficiency=eta)
    order = sorted(powers, key=lambda key: powers[key].value)
    with scope(because=[kind, *margins.values()]):
        picked(f"{prefix}.kind_proposed", order[0], None, title="Kind of pump with the minimum shaft power",
               rule="minimum shaft power at the duty", inputs={f"of_{n}": p for n, p in enumerate(powers.values())},
               candidates=[{"key": key, "value": p.value, "won": key == order[0]} for key, p in powers.items()],
               why=f"{pump_kind(order[0]).label.lower()} takes {powers[order[0]].show()}")
        saved = shaft_power_saved.at(f"{prefix}.kind_saving", shaft_power=powers[kind], other_power=powers[order[0]])
        worth = margins.get(order[0])
        better = order[0] != kind and (worth is None or saved.value > worth.value)
        why, do = "no other kind saves enough shaft power at this duty", "keep the kind of pump"
        if better:
            why = (f"a {pump_kind(order[0]).label.lower()} pump would take {show(saved, 'fraction', digits=2)} "
                   "less shaft power")
            do = f'set {prefix}.pump_class = "{order[0]}"'
        note(f"{prefix}.kind", title=f"Pump type, {unit_words(prefix)}", verdict="review" if better else "passes",
             why=why,
             do=do,
             inputs={"saved": saved})


def size_pump(
    prefix: str,
    *,
    flow: Figure,
    density: Figure,
    electric: Electric,
    head: Figure | None = None,
    pressure_rise: Figure | None = None,
    efficiency: Figure | Callable[[Figure], Figure] | None = None,
    pump_class: Choice | None = None,
    rotation: Figure | None = None,
    stages: Figure | Callable[[Figure], Figure] | None = None,
    motor_margin: Figure | None = None,
    motor: Figure | None = None,
    drive_efficiency: Figure | None = None,
    recovered: Figure | Callable[[Figure, Figure], Figure] | None = None,
    because: Sequence[Any] = (),
) -> Pump:
    """Power of a pump and its motor, from flow and head (or pressure rise).

    Records ``{prefix}.head`` or ``{prefix}.pressure_rise`` (the one not given), ``.hydraulic_power``,
    ``.shaft_power``, ``.motor`` (unless held), ``.motor_load``, ``.motor_efficiency``, ``.electric_power``,
    and ``.efficiency`` when none is given.

    Parameters
    ----------
    prefix : str
        Id of the unit, such as ``feed_pump``.
    flow : Figure
        Of one unit, m3/s.
    density : Figure
        kg/m3
    electric : Electric
        Motor list, class, poles and frequency.
    head, pressure_rise : Figure
        One of the two, m or Pa; both when both are recorded already.
    efficiency : Figure or callable, optional
        Of the pump; a callable is given the head; None takes what makers reach, for which `pump_class` is needed.
    rotation, stages : Figure, optional
        For the loss of efficiency at low specific speed; both or neither. Stages may be a callable of the head.
    motor_margin, motor, drive_efficiency : Figure, optional
        See `size_motor`.
    recovered : Figure, optional
        Shaft power that a Pelton turbine on the same shaft gives back, W; the motor is sized for what remains. A
        callable is given head and efficiency.
    because : sequence
        Choices that decided that this pump exists.
    """
    if head is None and pressure_rise is None:
        raise TrailError("wants a head or a pressure rise", where=prefix)
    with scope(because=because):
        if pressure_rise is None:
            pressure_rise = pressure_of_head.at(
                f"{prefix}.pressure_rise", head=head, density=density, title="Pressure rise of the pump"
            )
        elif head is None:
            head = pressure_head.at(
                f"{prefix}.head", pressure_rise=pressure_rise, density=density, title="Head of the pump"
            )
        assert head is not None and pressure_rise is not None
        gravity = float(pressure_rise) <= 0.0
        if gravity:
            note(f"{prefix}.gravity", title="Gravity flow", verdict="passes", inputs={"rise": pressure_rise},
                 why="the water runs down by itself at this duty: no pump is needed here",
                 do="omit the pump, or check the levels it draws from and delivers to")
        if callable(efficiency):
            efficiency = efficiency(head)
        if efficiency is None:
            if pump_class is None:
                raise TrailError("wants an efficiency or a kind of pump", where=prefix)
            speed = None
            if rotation is not None and stages is not None and not gravity:
                if callable(stages):
                    stages = stages(head)
                speed = specific_speed.at(
                    f"{prefix}.specific_speed", rotation=rotation, flow=flow, head=head, stages=stages
                )
            efficiency = attainable(prefix, flow, pump_class, speed)
        hydraulic = hydraulic_power.at(
            f"{prefix}.hydraulic_power", flow=flow, pressure_rise=pressure_rise
        )
        if callable(recovered):
            recovered = recovered(head, efficiency)
        gross: Figure | None = None
        if recovered is None:
            shaft = shaft_power.at(
                f"{prefix}.shaft_power", hydraulic_power=hydraulic, pump_efficiency=efficiency
            )
        else:
            gross = shaft_power.at(
                f"{prefix}.pump_shaft_power", hydraulic_power=hydraulic, pump_efficiency=efficiency
            )
            shaft = net_shaft_power.at(
                f"{prefix}.shaft_power", shaft_power=gross, recovered_power=recovered
            )
        m = size_motor(
            prefix, shaft, electric, margin=motor_margin, motor=motor, drive_efficiency=drive_efficiency
        )
    return Pump(
        flow,
        head,
        pressure_rise,
        efficiency,
        hydraulic,
        shaft,
        m.rating,
        m.full_load_efficiency,
        m.efficiency,
        m.electric_power,
        drive_efficiency,
        gross,
    )


def run_pump(
    prefix: str, pump: Pump, *, flow: Figure, pressure_rise: Figure, recovered: Figure | None = None
) -> Running:
    """Power of a sized pump at another duty; call it inside the scope of a case.

    The efficiency of the pump is held: its curve is not in the kit.

    Parameters
    ----------
    flow, pressure_rise : Figure
        m3/s, Pa
    recovered : Figure, optional
        Shaft power that a Pelton turbine on the same shaft gives back, W.
    """
    hydraulic = hydraulic_power.at(f"{prefix}.hydraulic_power", flow=flow, pressure_rise=pressure_rise)
    if recovered is None:
        shaft = shaft_power.at(
            f"{prefix}.shaft_power", hydraulic_power=hydraulic, pump_efficiency=pump.efficiency
        )
    else:
        gross = shaft_power.at(
            f"{prefix}.pump_shaft_power", hydraulic_power=hydraulic, pump_efficiency=pump.efficiency
        )
        shaft = net_shaft_power.at(f"{prefix}.shaft_power", shaft_power=gross, recovered_power=recovered)
    point = motor_at(
        prefix, shaft, pump.motor_rating, pump.motor_full_load_efficiency, pump.drive_efficiency
    )
    return Running(shaft, point.efficiency, point.electric_power)
