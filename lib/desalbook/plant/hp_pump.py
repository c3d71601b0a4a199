"""The high-pressure pump of a train: its kind, its curve, and what is checked over all cases."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from desalbook.hydraulics import pump_curves as pc
from desalbook.hydraulics.pump_curves import required_suction_pressure
from desalbook.hydraulics.pumps import Pump, compare_kinds, pump_kind, pump_temperature_rise, size_pump
from desalbook.hydraulics.rows import row_line
from desalbook.plant.pretreat import electric, motor_inputs
from desalbook.plant.waters import Waters
from desalbook.trail import Figure, assumed, current, note, scope
from desalbook.trail.corner import Corner
from desalbook.trail.inputs import Inputs
from desalbook.trail.limits import check_limit

__all__ = ["hp_checks", "hp_pump"]

NAME = "hp_pump"


def hp_pump(inp: Inputs, waters: Waters, flow: Figure, rise: Figure,
            recovered: Callable[[pc.Curve | None], Figure] | None) -> tuple[Pump, pc.Curve | None]:
    """Size one pump on the largest flow and the largest rise of the envelope, and give its curve.

    Parameters
    ----------
    flow, rise : Figure
        Of one pump, m3/s, Pa.
    recovered : callable or None
        Minimum shaft power given back to one pump, W, once its curve is known.

    Returns
    -------
    Pump, Curve or None
        No curve for a displacement pump.
    """
    kind = inp.choice(f"{NAME}.pump_class")
    displacement = pump_kind(kind).displacement
    more, names = motor_inputs(inp, NAME), inp.names(f"{NAME}.curve")
    curve: pc.Curve | None = None
    if displacement:
        if more["efficiency"] is None:
            more["efficiency"] = row_line(f"{NAME}.efficiency", "displacement_pumps", str(kind), "efficiency",
                                          because=[kind])
    elif names:
        curve = pc.curve_of_points(NAME, [{k: inp(f"{NAME}.curve[{n}].{k}") for k in ("flow", "head", "efficiency")}
                                          for n in names])
        written, held = more["efficiency"], curve
        if written is not None:
            note(f"{NAME}.two_efficiencies", title="Efficiency of the HP pump", verdict="review",
                 why="both an efficiency and a curve are given; the curve is used",
                 do=f"clear {NAME}.efficiency", inputs={"efficiency": written})
        name = "efficiency" if written is None else "curve_efficiency"
        more["efficiency"] = lambda head: pc.efficiency_on(NAME, held, flow=flow, head=head, name=name)
    elif more["efficiency"] is None:
        with scope(because=[kind]):
            rotation = pc.rotation_of(NAME, inp)
        more["rotation"] = rotation
        more["stages"] = lambda head: pc.stages_of(NAME, inp, rotation=rotation, flow=flow, head=head)
    more["because"] = [*more["because"], kind]
    made: list[pc.Curve | None] = [curve]

    def known(head: Figure, efficiency: Figure) -> pc.Curve | None:
        if made[0] is None and not displacement:
            made[0] = pc.curve_of_duty(NAME, flow, head, efficiency, inp(f"{NAME}.shutoff_ratio"))
        return made[0]

    back = None if recovered is None else lambda head, eta: recovered(known(head, eta))
    pump = size_pump(NAME, flow=flow, density=waters.at["cold"].density, electric=electric(inp), pressure_rise=rise,
                     recovered=back, **more)
    with scope(because=[kind]):
        if displacement:
            note(f"{NAME}.displacement", title="Positive-displacement HP pump", verdict="review",
                 why="it delivers against any pressure, and its flow pulses",
                 do="fit a relief valve for its full flow upstream of any valve that can close, and a pulsation "
                    "damper; allow NPSH for the pulses on top of the value here", inputs={"flow": pump.flow},
                 caution="A displacement pump against a closed valve bursts the weakest part. Fit a full-flow "
                         "relief valve; pressure parts "
                         "follow the local pressure-vessel code.")
        return pump, known(pump.head, pump.efficiency)


def hp_checks(inp: Inputs, waters: Waters, pump: Pump, curve: pc.Curve | None,
              by_corner: Mapping[Corner, pc.Operating]) -> None:
    """Envelope, suction, temperature rise, service factor and starting of the motor."""
    drive, motors = inp(f"{NAME}.drive"), inp("electric.motor_list")
    row = f"{motors}-{'drive' if drive == 'yes' else 'on-line'}"
    factor, inrush = (row_line(f"{NAME}.{k}", "motor_starting", row, k, because=[drive, motors])
                      for k in ("service_factor", "inrush"))
    compare_kinds(NAME, inp.choice(f"{NAME}.pump_class"), pump, pump.flow)
    with scope(because=[inp(f"{NAME}.pump_class"), drive]):
        pc.envelope(NAME, by_corner, pump, curve, inp, factor)
        displacement = pump_kind(inp.choice(f"{NAME}.pump_class")).displacement
        check_limit(f"{NAME}.efficiency.check", pump.efficiency,
                    "pump-efficiency-displacement" if displacement else "pump-efficiency-high-pressure",
                    do=f"lower {NAME}.efficiency, or obtain the manufacturer's test certificate")
        note(f"{NAME}.starting", title="Starting current of the HP motor",
             verdict="passes" if drive == "yes" else "review",
             why=f"about {float(inrush):g} times full-load current at start",
             do="size transformer, cables and generator for it; a soft starter or a drive lowers it",
             inputs={"inrush": inrush, "motor": pump.motor_rating},
             caution="Motor circuits can kill. Only licensed electricians work on them, isolated and locked "
                     "out; starting follows "
                     "the utility's rules.")
        hot = waters.at["hot"]
        required_suction_pressure.at(f"{NAME}.npsh_suction_required", npsh_wanted=current()[f"{NAME}.npsh_wanted"],
                          density=hot.density, vapour_pressure=hot.vapour_pressure,
                          ambient_pressure=current()["site.ambient_pressure"])
        heat = assumed(f"{NAME}.heat_capacity", 3990.0, "heat capacity", title="Heat capacity of seawater",
                       symbol="c_p", source="sharqawy-2010", place="35 g/kg, 25 degC, from memory",
                       note="falls some 1 % for each 8 g/kg of salt more")
        pump_temperature_rise.at(f"{NAME}.temperature_rise", head=pump.head, pump_efficiency=pump.efficiency,
                               heat_capacity=heat)
