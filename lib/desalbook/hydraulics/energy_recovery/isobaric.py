"""Isobaric energy recovery device: concentrate gives its pressure to feed in a chamber, a booster makes up the losses.

A number of like units stand side by side; their drops go with the square of the flow. Some salt passes from concentrate
to feed (mixing), and high-pressure water that lubricates the units leaves with the spent reject (leakage).
"""

from __future__ import annotations

from collections.abc import Mapping

from desalbook.balances import difference_of_flows, sum_of_flows, units_for_flow, units_with_one_out
from desalbook.hydraulics.energy_recovery.balance import (
    Balance,
    available_pressure_drop,
    hydraulic_power_of_two_streams,
    pressure_after_drop,
    pressure_drop_at_flow,
)
from desalbook.hydraulics.energy_recovery.device import (
    ID,
    BestPoint,
    Device,
    DeviceKind,
    Duty,
    Recovery,
    WaterLineRole,
    check_test,
    pump_duty,
    register,
)
from desalbook.hydraulics.pumps import hydraulic_power
from desalbook.trail import Figure, assumed, checked, govern, minimum, note, relation, scope
from desalbook.trail.inputs import Inputs
from desalbook.trail.limits import review_limit
from desalbook.units import Count, DifferencePa, Fraction, GaugePa, KgPerS, M3PerS, Salinity, show

__all__ = ["IsobaricDevice", "booster_pressure_rise", "exchanged_salinity", "isobaric_efficiency", "isobaric_leakage",
           "mixed_salinity", "over_flush_flow", "reject_taken_one_out", "salinity_rise_by_mixing"]


@relation("Concentrate capacity of remaining ERD units", symbol="x_l", unit="1", source="definition")
def reject_taken_one_out(flow: M3PerS, unit_flow: M3PerS, units: Count) -> Fraction:
    """Fraction of the concentrate that the units left take within their rating, at most all of it.

    What units can take above their rating for a while is neglected.
    """
    return minimum(units * unit_flow / flow, 1)


@relation("Leakage of the isobaric ERD", symbol="Q_l", unit="m^3/s", source="common-practice")
def isobaric_leakage(exchanger_leakage: Fraction, reject_flow: M3PerS) -> M3PerS:
    """Leakage (lubrication flow) of an isobaric device: high-pressure water that leaves with the spent concentrate.

    Taken as a constant fraction of the concentrate; real leakage follows pressure and wear more than flow.
    """
    return exchanger_leakage * reject_flow


@relation("Pressure rise of the booster pump", symbol="Delta_p_b", unit="Pa", source="definition")
def booster_pressure_rise(
    feed_pressure: GaugePa,
    concentrate_pressure: GaugePa,
    high_pressure_drop: DifferencePa,
    piping_loss: DifferencePa,
) -> DifferencePa:
    """Pressure rise of the booster pump: losses of vessels, device and piping of the high-pressure loop.

    Static lifts between the headers are neglected.
    """
    return feed_pressure - (concentrate_pressure - high_pressure_drop) + piping_loss


@relation(
    "Salinity downstream of the isobaric ERD",
    symbol="S_x",
    unit="1",
    source="stover-2007",
    note="mixing is measured by volume; taken here as fraction of water, which moves it by some 3 % of itself",
)
def exchanged_salinity(
    feed_salinity: Salinity, concentrate_salinity: Salinity, exchanger_mixing: Fraction
) -> Salinity:
    """Salinity of the feed leaving an isobaric device, by volumetric mixing with the concentrate.

    Balanced flow; with overflush mixing is smaller.
    """
    return feed_salinity + exchanger_mixing * (concentrate_salinity - feed_salinity)


@relation("Salinity of two streams that join", symbol="S_m", unit="1", source="definition")
def mixed_salinity(
    first_water: KgPerS, first_salinity: Salinity, second_water: KgPerS, second_salinity: Salinity
) -> Salinity:
    """Salinity of two streams that join: balance of salt over water.

    Flows are of water, salinities per kilogram of water: exact, whatever the densities.
    """
    return (first_water * first_salinity + second_water * second_salinity) / (first_water + second_water)


@relation(
    "Efficiency of the isobaric ERD",
    symbol="eta_x",
    unit="1",
    source="macharg-2008",
    note="efficiency: sum of pressure times flow out over in, gauge",
)
def isobaric_efficiency(
    high_out_pressure: GaugePa,
    high_out_flow: M3PerS,
    exhaust_pressure: GaugePa,
    low_out_flow: M3PerS,
    concentrate_pressure: GaugePa,
    reject_flow: M3PerS,
    low_in_pressure: GaugePa,
    low_in_flow: M3PerS,
) -> Fraction:
    """Energy transfer efficiency of an isobaric device: hydraulic power of both streams out over in.

    Gauge pressures; the booster is not in it.
    """
    return (high_out_pressure * high_out_flow + exhaust_pressure * low_out_flow) / (
        concentrate_pressure * reject_flow + low_in_pressure * low_in_flow
    )


@relation("Over-flush of an isobaric ERD", symbol="Q_of", unit="m^3/s", source="definition",
          place="low-pressure feed beyond the high-pressure feed, over the latter")
def over_flush_flow(over_flush: Fraction, reject_flow: M3PerS, exchanger_leakage: Fraction) -> M3PerS:
    """Low-pressure feed that flushes an isobaric device and leaves with the spent concentrate.

    A fraction of the feed that leaves at high pressure, which is the concentrate less leakage. It is pretreated water
    that makes no product.
    """
    return over_flush * reject_flow * (1 - exchanger_leakage)


@relation("Rise of the RO feed salinity by mixing", symbol="r_S", unit="1", source="definition",
          place="salt and flow balance of membranes, device and HP pump",
          note="membranes that pass no salt, balanced flow, volumes for masses")
def salinity_rise_by_mixing(exchanger_mixing: Fraction, exchanger_leakage: Fraction, recovery: Fraction) -> Fraction:
    """Rise of the RO feed salinity over that of the seawater, by mixing in an isobaric device.

    The concentrate of the raised feed mixes into that part of the feed which passes the device; the balance is closed.
    Membranes are taken to pass no salt, which moves the rise by less than a hundredth of itself.
    """
    return (1 - exchanger_mixing * (1 - recovery) * (1 - exchanger_leakage)) / (
        1 - exchanger_mixing * (1 - exchanger_leakage)) - 1


class IsobaricDevice(DeviceKind):
    """Pressure exchange in chambers, with a booster pump."""

    key = "isobaric"
    label = "Isobaric ERD with booster pump"
    columns = ("mixing", "leakage", "high_pressure_drop", "low_pressure_drop", "back_pressure", "unit_flow")
    cost_key = "isobaric"
    water_line = WaterLineRole.BRANCH
    stop_title = "Isobaric ERD"
    mixes = True
    needs_booster = True
    parallel_units = True
    results = ("stated_efficiency", "stated_salinity_rise")

    def run_test(self, of: Device, inp: Inputs, at: str) -> None:
        stated, rise = (inp.optional(f"{at}.{key}") for key in self.results)
        if stated is not None:
            high, low = (inp.number(f"{at}.{key}") for key in ("test_pressure", "test_low_pressure"))
            flow = inp.optional(f"{at}.test_flow")
            flow = of.need("unit_flow") if flow is None else flow
            leakage = isobaric_leakage.at(f"{ID}.test_leakage", exchanger_leakage=of.need("leakage"), reject_flow=flow)
            feed = difference_of_flows.at(f"{ID}.test_feed", flow=flow, second_flow=leakage,
                                          title="Test: feed through the device")
            found = isobaric_efficiency.at(
                f"{ID}.test_efficiency", high_out_flow=feed, low_out_flow=flow, concentrate_pressure=high,
                reject_flow=flow, low_in_pressure=low, low_in_flow=feed,
                high_out_pressure=pressure_after_drop.at(
                    f"{ID}.test_high_out", inlet_pressure=high, pressure_drop=of.need("high_pressure_drop"),
                    title="Test: feed pressure at the outlet"),
                exhaust_pressure=pressure_after_drop.at(
                    f"{ID}.test_low_out", inlet_pressure=low, pressure_drop=of.need("low_pressure_drop"),
                    title="Test: pressure of the spent concentrate"))
            near = assumed(
                f"{ID}.test_efficiency_tolerance", 0.005, "fraction", title="Test run back: tolerance", symbol="x_t",
                source="common-practice", place="drops are printed to 0.1 bar, 0.2 % of 60 bar")
            check_test("test_efficiency", "ERD test: efficiency from drops and leakage", found, stated, near)
        if rise is not None:
            found = salinity_rise_by_mixing.at(
                f"{ID}.test_salinity_rise", exchanger_mixing=of.need("mixing"), exchanger_leakage=of.need("leakage"),
                recovery=inp.number(f"{at}.test_recovery"))
            near = assumed(
                f"{ID}.test_salinity_rise_tolerance", 0.05, "fraction", title="Test run back: tolerance", symbol="x_t",
                source="common-practice", place="mixing and rise are printed to two digits")
            check_test("test_salinity_rise", "ERD test: rise of salinity from mixing", found, rise, near)

    def size(self, of: Device, rejects: Mapping[str, tuple[Figure, Figure, Figure]]) -> BestPoint | None:
        with scope(because=[of.choice]):
            most = govern(f"{ID}.bep_flow", {n: q for n, (q, _, _) in rejects.items()}, "largest",
                          title="ERD design concentrate flow", symbol="Q_b")
            unit_flow = of.need("unit_flow")
            for key, do in (("mixing", "ask the manufacturer: more salt in the feed costs pressure"),
                            ("leakage", "ask the manufacturer: worn end covers leak"),
                            ("back_pressure", "ask the manufacturer: below it the device cavitates")):
                review_limit(f"{ID}.{key}.usual", of.need(key), f"isobaric-{key.replace('_', '-')}",
                             do=f"{do} ({ID}.{key})")
            held = of.held_units
            units = units_for_flow.at(f"{ID}.units" if held is None else f"{ID}.units_needed", flow=most,
                                      unit_flow=unit_flow, title="Devices side by side", symbol="n_x")
            if held is not None:
                checked(f"{ID}.units.check", held, ">=", units, title="ERD units side by side",
                        do=f"raise {ID}.units or clear it")
                units = held
            left = _one_out_of_service(most, units, unit_flow)
        return BestPoint(most, units=units, one_out=left)

    def spent_flow(self, of: Device, reject_flow: Figure, id: str) -> Figure:
        if of.over_flush is None:
            return reject_flow
        more = over_flush_flow.at(f"{id}_over_flush", over_flush=of.over_flush, reject_flow=reject_flow,
                                  exchanger_leakage=of.need("leakage"))
        return sum_of_flows.at(id, flow=reject_flow, second_flow=more, title="Spent concentrate with over-flush",
                               symbol="Q_sp")

    def run(self, of: Device, duty: Duty, best: BestPoint | None) -> Recovery:
        spent = self.spent_flow(of, duty.reject_flow, f"{ID}.spent_flow")
        high_drop, low_drop = of.need("high_pressure_drop"), of.need("low_pressure_drop")
        if best is not None:
            high_drop = pressure_drop_at_flow.at(
                f"{ID}.high_drop_at", reference_drop=high_drop, flow=duty.reject_flow, reference_flow=best.flow,
                title="Pressure drop of the high-pressure side")
            low_drop = pressure_drop_at_flow.at(
                f"{ID}.low_drop_at", reference_drop=low_drop, flow=spent, reference_flow=best.flow,
                title="Pressure drop of the low-pressure side")
        leakage = isobaric_leakage.at(f"{ID}.leakage_flow", exchanger_leakage=of.need("leakage"),
                                      reject_flow=duty.reject_flow)
        flow = sum_of_flows.at("hp_pump.flow", flow=duty.permeate_flow, second_flow=leakage,
                               title="Flow of the HP pump", symbol="Q_hp")
        lifted = difference_of_flows.at("booster.flow", flow=duty.reject_flow, second_flow=leakage,
                                        title="Flow of the booster pump", symbol="Q_b")
        rise = booster_pressure_rise.at(
            "booster.pressure_rise", feed_pressure=duty.feed_pressure, high_pressure_drop=high_drop,
            concentrate_pressure=duty.concentrate_pressure, piping_loss=duty.piping_loss)
        fed = lifted if of.over_flush is None else difference_of_flows.at(
            f"{ID}.low_pressure_feed", flow=spent, second_flow=leakage, title="Low-pressure feed with over-flush",
            symbol="Q_lf")
        return Recovery(
            flow, duty.feed_pressure, pump_duty(duty, duty.feed_pressure), duty.exhaust_pressure,
            booster_flow=lifted, booster_pressure_rise=rise, leakage=leakage,
            spent_flow=spent, low_feed=fed, high_drop=high_drop, low_drop=low_drop,
            feed_out=pressure_after_drop.at(
                f"{ID}.high_pressure_out", inlet_pressure=duty.concentrate_pressure, pressure_drop=high_drop,
                title="Feed pressure leaving the ERD"),
            reject_out=pressure_after_drop.at(
                f"{ID}.low_pressure_out", inlet_pressure=duty.suction_pressure, pressure_drop=low_drop,
                title="Concentrate pressure leaving the ERD"))

    def judge(self, of: Device, duty: Duty, recovery: Recovery) -> None:
        assert recovery.reject_out is not None
        checked(f"{ID}.low_pressure_out.check", recovery.reject_out, ">=", duty.exhaust_pressure,
                title="Low-pressure outlet of the isobaric ERD",
                do="raise hp_pump.suction_wanted, lower the outfall, or widen the concentrate line",
                caution="Below its minimum back-pressure the ERD cavitates and is damaged. Keep the outlet "
                        "pressure above it.")

    def power_balance(self, of: Device, duty: Duty, recovery: Recovery) -> Balance:
        """Concentrate and low-pressure feed in; high-pressure feed and spent concentrate out; leakage, two drops."""
        feed = recovery.booster_flow
        into = hydraulic_power_of_two_streams.at(
            f"{ID}.power_in", first_flow=duty.reject_flow, first_pressure=duty.concentrate_pressure,
            second_flow=recovery.low_feed, second_pressure=duty.suction_pressure,
            title="Hydraulic power into the isobaric ERD")
        out = hydraulic_power_of_two_streams.at(
            f"{ID}.power_out", first_flow=feed, first_pressure=recovery.feed_out, second_flow=recovery.spent_flow,
            second_pressure=recovery.reject_out, title="Hydraulic power out of the isobaric ERD")
        across = available_pressure_drop.at(f"{ID}.leakage_drop", concentrate_pressure=duty.concentrate_pressure,
                                            exhaust_pressure=duty.suction_pressure,
                                            title="Pressure that the leakage loses")
        efficiency = isobaric_efficiency.at(
            f"{ID}.device_efficiency", high_out_pressure=recovery.feed_out, high_out_flow=recovery.booster_flow,
            exhaust_pressure=recovery.reject_out, low_out_flow=recovery.spent_flow,
            concentrate_pressure=duty.concentrate_pressure, reject_flow=duty.reject_flow,
            low_in_pressure=duty.suction_pressure, low_in_flow=recovery.low_feed)
        return Balance(into, out, efficiency=efficiency, losses={
            "leakage": hydraulic_power.at(f"{ID}.loss_leakage", flow=recovery.leakage, pressure_rise=across,
                                             title="Power lost with the leakage"),
            "high_side": hydraulic_power.at(f"{ID}.loss_high_side", flow=feed, pressure_rise=recovery.high_drop,
                                               title="Power lost on the high-pressure side"),
            "low_side": hydraulic_power.at(f"{ID}.loss_low_side", flow=recovery.spent_flow,
                                              pressure_rise=recovery.low_drop,
                                              title="Power lost on the low-pressure side")})

    def equipment(self, units: int) -> str:
        return f"{units} isobaric ERD{'s' if units > 1 else ''}"


def _one_out_of_service(flow: Figure, units: Figure, unit_flow: Figure) -> Figure | None:
    """Fraction of the concentrate that the others take with one unit out of service; a single one stops the train."""
    if int(units) == 1:
        note(f"{ID}.one_out_of_service", title="One isobaric ERD unit out of service", verdict="review",
             why="there is one only: the train stops",
             do=f"use smaller ERD units in parallel ({ID}.unit_flow), or keep a spare unit in stock",
             inputs={"units": units})
        return None
    left: Figure = reject_taken_one_out.at(f"{ID}.concentrate_one_out_of_service", flow=flow, unit_flow=unit_flow,
                                   units=units_with_one_out.at(f"{ID}.units_left", units=units,
                                                                  title="Devices left with one out"))
    whole = int(left.value)
    note(f"{ID}.one_out_of_service", title="One isobaric ERD unit out of service",
         verdict="passes" if whole else "review",
         why=f"the others take {show(float(left), 'fraction', digits=3)} of the concentrate within their rating",
         do=f"add one ERD unit, or accept reduced output with one unit out of service ({ID}.unit_flow)",
         inputs={"left": left})
    return left


register(IsobaricDevice())
