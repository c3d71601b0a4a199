"""The high-pressure side at every corner: recovery device, pump, booster, and the energy of the plant."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from desalbook.hydraulics import piping
from desalbook.hydraulics.energy import specific_energy_of, work_of_separation
from desalbook.hydraulics.low_pressure import each_of, lift_of
from desalbook.hydraulics.pump import Pump, run_pump, size_pump
from desalbook.hydraulics.pump_curve import Curve, Operating, operate, speed_at
from desalbook.hydraulics.recovery import Device, Recovery, Reject, exhaust, give_back, recover
from desalbook.hydraulics.recovery_envelope import Best, size_device
from desalbook.hydraulics.recovery_relations import rise_of
from desalbook.plant.array import CORNERS, Array
from desalbook.plant.hp_pump import hp_checks, hp_pump
from desalbook.plant.pretreat import Pretreated, electric
from desalbook.plant.waters import Waters
from desalbook.trail import Column, Figure, assumed, current, dot, govern, picked, relation, scope
from desalbook.units import Count, ElectricW, Fraction, JPerM3, M3PerS, PerS, S, W

__all__ = ["Pressure", "energy", "pressure"]


@dataclass(frozen=True)
class Pressure:
    """Machines of the high-pressure side, and their power by corner."""

    by_corner: dict[str, Recovery]
    hp_pump: Pump
    booster: Pump | None
    power: dict[str, dict[str, Figure]]
    curve: Curve | None = None
    operating: dict[str, Operating] = field(default_factory=dict)


@relation("Electric power of the wash, mean of a day", symbol="P_e", unit="W", source="definition")
def mean_wash_power(electric_power: ElectricW, wash_duration: S, washes_per_day: PerS) -> ElectricW:
    """Power times the share of the time it runs."""
    return electric_power * wash_duration * washes_per_day


@relation("Electric power of all machines of a train", symbol="P_e", unit="W", source="definition")
def sum_of(hp_power: ElectricW, booster_power: ElectricW, feed_power: ElectricW, wash_power: ElectricW,
           other_power: ElectricW) -> ElectricW:
    """High pressure, booster, feed, wash, and the rest."""
    return hp_power + booster_power + feed_power + wash_power + other_power


@relation("Electric power of the membrane section", symbol="P_m", unit="W", source="definition")
def section_of(hp_power: ElectricW, booster_power: ElectricW) -> ElectricW:
    """High-pressure pump and booster."""
    return hp_power + booster_power


@relation("Mean of the year", symbol="P_y", unit="W", source="definition")
def year_mean(electric_power: ElectricW, year_share: Fraction) -> ElectricW:
    """Weighted with the share of the year of each corner."""
    return dot(electric_power, year_share)


@relation("Energy per volume of net product", symbol="e_s", unit="J/m^3", source="definition",
          note="intake, dosing, product pumping, heating and lighting come in as one allowance")
def plant_specific(electric_power: ElectricW, trains: Count, availability: Fraction, loss_share: Fraction,
                   net_product: M3PerS) -> JPerM3:
    """Mean power of the running trains over a year, with losses of transformer and cables."""
    return electric_power * trains * availability / (1 - loss_share) / net_product


@relation("Power of machines on duty", symbol="P_e", unit="W", source="definition")
def of_all(electric_power: ElectricW, duty_count: Count) -> ElectricW:
    """One machine times those that run."""
    return electric_power * duty_count


@relation("Power given to one shaft", symbol="P_1", unit="W", source="definition")
def one_power(shaft_power: W, duty_count: Count) -> W:
    """Shared evenly."""
    return shaft_power / duty_count


def pressure(inp, waters: Waters, of: Device, a: Array, pre: Pretreated, trains: Figure) -> Pressure:
    """Size pump, device and booster on their governing corners and run them at all."""
    with scope("train", count=trains):
        most = govern("membrane.concentrate_flow", {c: r["concentrate_flow"] for c, r in a.by_corner.items()},
                      "largest", title="Reject flow")
        pipe = piping.bore("piping.runs[reject]", inp, most)
        lift = lift_of.at("energy_recovery.outfall_rise", elevation_to=inp("energy_recovery.outfall_elevation"),
                          elevation_from=inp("energy_recovery.elevation"))
        out = {c: _exhaust(waters, of, a, c, pipe, lift) for c in CORNERS}
        best = size_device(of, {c: (r["concentrate_flow"], r["concentrate_pressure"], out[c])
                                for c, r in a.by_corner.items()})
        by_corner = {c: _device(inp, of, a, pre, c, out[c], best) for c in CORNERS}
        _boost(of, by_corner, pre)
        exhausts = {c: r.exhaust_pressure for c, r in by_corner.items() if r.exhaust_pressure is not None}
        govern("energy_recovery.exhaust_pressure", exhausts, "largest",
               title="Pressure at the exhaust of the device")
        govern("hp_pump.discharge_pressure", {c: r.hp_discharge for c, r in by_corner.items()}, "largest",
               title="Discharge pressure of the high-pressure pump")
        flow = govern("hp_pump.flow", {c: r.hp_flow for c, r in by_corner.items()}, "largest",
                      title="Flow of the high-pressure pumps of a train")
        rise = govern("hp_pump.pressure_rise", {c: r.hp_rise for c, r in by_corner.items()}, "largest",
                      title="Pressure rise of the high-pressure pump")
        n = inp("hp_pump.duty_count")
        each = each_of.at("hp_pump.flow_each", flow=flow, duty_count=n)
        speeds: dict[str, tuple[Figure, Figure, Figure]] = {}

        def turn(curve: Curve | None) -> None:
            for c, r in by_corner.items():
                with scope(corner=c, because=[inp("hp_pump.pump_class")]):
                    q1 = each_of.at("hp_pump.flow_each", flow=r.hp_flow, duty_count=n)
                    head = piping.head_of.at("hp_pump.head", pressure_rise=r.hp_rise, title="Head asked of the pump",
                                             density=waters.at[c.split("-")[0]].density)
                    speeds[c] = q1, head, speed_at("hp_pump", each, curve, inp("hp_pump.drive"), flow=q1, head=head)

        def given_back(curve: Curve | None) -> Figure:
            turn(curve)
            for c, r in by_corner.items():
                with scope(corner=c):
                    by_corner[c] = give_back(of, r, best, reject_flow=a.by_corner[c]["concentrate_flow"],
                                             concentrate_pressure=a.by_corner[c]["concentrate_pressure"],
                                             speed_ratio=speeds[c][2])
            least = govern("energy_recovery.recovered_power", {c: r.recovered for c, r in by_corner.items()
                                                               if r.recovered is not None}, "smallest",
                           title="Shaft power given back, least")
            return one_power.at("hp_pump.recovered_each", shaft_power=least, duty_count=n)

        on_shaft = of.choice in ("pelton", "reverse-running-pump")
        hp, curve = hp_pump(inp, waters, each, rise, given_back if on_shaft else None)
        if not speeds:
            turn(curve)
        boost = None
        if of.choice == "isobaric":
            with scope(because=[of.choice]):
                q = govern("booster.flow", {c: r.booster_flow for c, r in by_corner.items()}, "largest",
                           title="Flow of the booster")
                dp = govern("booster.pressure_rise", {c: r.booster_pressure_rise for c, r in by_corner.items()},
                            "largest", title="Pressure rise of the booster")
                args = _booster(inp)
                boost = size_pump("booster", flow=q, density=waters.at["cold"].density, electric=electric(inp),
                                  pressure_rise=dp, **args)
        power: dict[str, dict[str, Figure]] = {}
        runs: dict[str, Operating] = {}
        with scope(because=[of.choice]):
            none = assumed("booster.power_absent", 0.0, "power.electric", title="Booster",
                           text="not in this plant", source="definition") if boost is None else None
        for c, r in by_corner.items():
            with scope(corner=c, because=[inp("hp_pump.pump_class")]):
                back = one_power.at("hp_pump.recovered_each", shaft_power=r.recovered,
                                    duty_count=n) if r.recovered is not None else None
                q1, head, speed = speeds[c]
                runs[c] = operate("hp_pump", hp, curve, inp("hp_pump.drive"), inp("hp_pump.speed_limit"), flow=q1,
                                  pressure_rise=r.hp_rise, head=head, speed=speed, recovered=back, corner=c,
                                  density=waters.at[c.split("-")[0]].density)
                p_hp = of_all.at("hp_pump.power_all", electric_power=runs[c].electric_power, duty_count=n)
                p_b = none if boost is None else run_pump(
                    "booster", boost, flow=r.booster_flow, pressure_rise=r.booster_pressure_rise).electric_power
                power[c] = {"hp_power": p_hp, "booster_power": p_b}
        hp_checks(inp, waters, hp, curve, runs)
    return Pressure(by_corner, hp, boost, power, curve, runs)


def _boost(of: Device, by_corner: dict[str, Recovery], pre: Pretreated) -> None:
    """What the device adds to the pressure of the feed, or of the part of the feed that passes it."""
    title = "Pressure the recovery device adds"
    with scope(because=[of.choice]):
        boosts = {c: r.boost for c, r in by_corner.items() if r.boost is not None}
        if of.choice == "isobaric":
            for c in by_corner:
                out = current()[f"energy_recovery.high_pressure_out@{c}"]
                with scope(corner=c):
                    boosts[c] = rise_of.at("energy_recovery.boost", discharge_pressure=out,
                                           suction_pressure=pre.suction.pressure, title=title)
        if boosts:
            govern("energy_recovery.boost", boosts, "largest", title=title)
        else:
            assumed("energy_recovery.boost", 0.0, "pressure difference", title=title, text="not in this plant",
                    source="definition", place="this device gives its energy to the shaft, or there is none")


def _booster(inp) -> dict[str, Any]:
    drive = inp("booster.drive")
    return {"efficiency": inp("booster.efficiency"), "pump_class": inp("booster.pump_class"),
            "motor_margin": inp("booster.motor_margin"), "motor": inp("booster.motor"),
            "because": [drive, inp("electric.frequency")],
            "drive_efficiency": inp("booster.drive_efficiency") if drive == "yes" else None}


def _exhaust(waters: Waters, of: Device, a: Array, corner: str, pipe: Any, lift: Figure) -> Figure:
    at, r = waters.at[corner.split("-")[0]], a.by_corner[corner]
    with scope(corner=corner):
        fluid = piping.Fluid(r.figures["concentrate_density"], at.viscosity)
        run = piping.loss("piping.runs[reject]", pipe, r["concentrate_flow"], fluid)
        return exhaust(of, Reject(lift, run.head, fluid.density))


def _device(inp, of: Device, a: Array, pre: Pretreated, corner: str, out: Figure, best: Best | None) -> Recovery:
    r = a.by_corner[corner]
    with scope(corner=corner):
        return recover(of, feed_flow=a.mixed_flow[corner], permeate_flow=r["permeate_flow"],
                       reject_flow=r["concentrate_flow"], feed_pressure=r["feed_pressure"],
                       concentrate_pressure=r["concentrate_pressure"], suction_pressure=pre.suction.pressure,
                       exhaust_pressure=out, piping_loss=inp("booster.piping_loss"), best=best, shaft_later=True)


def energy(inp, waters: Waters, a: Array, pre: Pretreated, p: Pressure, duty, trains: Figure) -> Mapping[str, Figure]:
    """Energy by consumer, of the membrane section and of the plant, beside the least work of separation."""
    with scope("train", count=trains):
        feed = of_all.at("energy.feed_power", electric_power=pre.feed_pump.electric_power,
                         duty_count=inp("feed_pump.duty_count"), title="Feed pumps")
        if pre.wash_pump is not None and pre.wash is not None:
            with scope(because=[pre.present]):
                wash = mean_wash_power.at("energy.wash_power", electric_power=pre.wash_pump.electric_power,
                                          wash_duration=inp("filters.wash_time"),
                                          washes_per_day=pre.wash.washes_per_day)
        else:
            wash = assumed("energy.wash_power", 0.0, "power.electric", title="Wash pumps", text="not in this plant",
                           source="definition")
        other = inp("energy.other_power")
        section, total = {}, {}
        for c in CORNERS:
            with scope(corner=c):
                section[c] = section_of.at("energy.section_power", **p.power[c])
                total[c] = sum_of.at("energy.train_power", **p.power[c], feed_power=feed, wash_power=wash,
                                     other_power=other)
        shares = assumed("energy.year_share", [0.125, 0.125, 0.25, 0.25, 0.125, 0.125], "fraction", symbol="x_y",
                         title="Share of the year of each corner", axis="corner", keys=CORNERS,
                         source="common-practice", note="half the year at the design temperature, half of it aged")
        mean_section = year_mean.at("energy.section_power_year", electric_power=_column(
            "energy.section_powers", section, "Power of the membrane section"), year_share=shares,
            title="Membrane section, mean of the year")
        mean = year_mean.at("energy.train_power_year", electric_power=_column(
            "energy.train_powers", total, "Power of a train"), year_share=shares, title="Train, mean of the year")
        membrane = specific_energy_of.at("energy.membrane_specific", electric_power=mean_section,
                                         product_flow=duty.train_permeate,
                                         title="Membrane section, per volume of permeate")
    plant = plant_specific.at("energy.plant_specific", electric_power=mean, trains=trains,
                              availability=duty.availability, loss_share=inp("energy.loss_share"),
                              net_product=duty.net_product)
    at, r = waters.at["design"], a.by_corner["design-new"]
    least, limit = work_of_separation(
        feed_salinity=waters.analysis.salinity, recovery=a.recovery, permeate_density=r["permeate_density"],
        feed_density=at.density, curve=tuple(at.osmotic_curve[k] for k in at.osmotic_curve.keys))
    return {"membrane": membrane, "plant": plant, "least": least, "limit": limit, "feed": feed, "wash": wash,
            "other": other, "mean_section": mean_section}


def _column(id: str, by_corner: dict[str, Figure], title: str) -> Column:
    return picked(id, [float(v) for v in by_corner.values()], "power.electric", title=title, symbol="P_e",
                  rule="the corners in order", candidates=[{"key": k, "value": float(v), "won": True}
                                                           for k, v in by_corner.items()],
                  inputs=dict(by_corner), axis="corner", keys=tuple(by_corner))
