"""Energy of the plant by consumer, over a weighted year, beside the least work of separation."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from desalbook.balances import flow_per_unit, flow_ratio, sum_of_heads, sum_of_pressure_drops
from desalbook.dosing import MAY_BE_ABSENT, Doses
from desalbook.dosing.chemical_tanks import YEAR
from desalbook.hydraulics.constants import G
from desalbook.hydraulics.energy import separation_energy, specific_energy
from desalbook.hydraulics.head import pressure_head, pressure_of_head
from desalbook.hydraulics.low_pressure import mean_service_head, parabolic_pump_head, system_curve_head
from desalbook.hydraulics.pumps import run_pump
from desalbook.plant.array import CORNERS, Array
from desalbook.plant.pressure import Pressure
from desalbook.plant.pressure_train import total_power
from desalbook.plant.pretreat import Pretreated
from desalbook.plant.waters import Waters
from desalbook.trail import Column, Figure, assumed, constant, dot, minimum, picked, relation, scope, total
from desalbook.trail.inputs import Inputs
from desalbook.units import (
    Count,
    ElectricW,
    Factor,
    Fraction,
    Head,
    J,
    JPerM3,
    Kg,
    KgPerM3,
    M3PerS,
    PerS,
    S,
)

__all__ = ["CONSUMERS", "EnergyYear", "energy"]

CONSUMERS = {
    "hp": "High-pressure pumps", "booster": "Booster", "concentrate": "Reject pump", "feed": "Feed pumps",
    "backwash": "Wash pumps", "intake": "Intake", "dosing": "Dosing", "product": "Product pumps",
    "cleaning": "Cleaning and its heater", "other": "Controls, light and the rest",
}


@dataclass(frozen=True)
class EnergyYear:
    """Energy of a mean year.

    Parameters
    ----------
    membrane, plant, least, limit : Figure
        Specific energy of the membrane section (per permeate) and of the plant (per net product), least work, and
        least energy of one stage, J/m3.
    feed, wash, other, mean_section : Figure
        Mean electrical power of one train, W.
    by_consumer : Column
        Specific energy of each consumer, J/m3.
    losses : Figure
        Of transformer and cables, J/m3.
    year, bill, emissions, of_ideal : Figure
        Energy (J), its cost, carbon dioxide (kg) of a year; least work over energy used.
    """

    membrane: Figure
    plant: Figure
    least: Figure
    limit: Figure
    feed: Figure
    wash: Figure
    other: Figure
    mean_section: Figure
    by_consumer: Column
    losses: Figure
    year: Figure
    bill: Figure
    emissions: Figure
    of_ideal: Figure


KWH = constant("kWh", 3.6e6, "J", source="definition", title="One kilowatt-hour")
KG = constant("kg", 1.0, "kg", source="definition", title="One kilogram")


@relation("Electric power of the wash, mean of a day", symbol="P_e", unit="W", source="definition")
def mean_backwash_power(electric_power: ElectricW, wash_duration: S, backwashes_per_day: PerS) -> ElectricW:
    """Electrical power of the backwash, mean of a day: power times the fraction of the time it runs.

    Washes of one length at regular intervals; starts and stops are left out.
    """
    return electric_power * wash_duration * backwashes_per_day


@relation("Electric power over the year's duty", symbol="P_e", unit="W", source="definition",
          note="mean over the time the train runs")
def duty_weighted_power(electric_power: ElectricW, peak_power: ElectricW, peak_fraction: Fraction) -> ElectricW:
    """Electrical power of a pump with two duties, weighted with the fraction of the time that each lasts.

    Service and peak each at one operating point; the way from one to the other is left out.
    """
    return electric_power * (1 - peak_fraction) + peak_power * peak_fraction


@relation("Part of the time that filters run to waste", symbol="x_p", unit="1", source="definition")
def filter_to_waste_time_fraction(backwashes_per_day: PerS, filter_to_waste_time: S) -> Fraction:
    """Fraction of the time that a train has a filter running to waste.

    Filters run to waste one after another; at most all of the time.
    """
    return minimum(1, backwashes_per_day * filter_to_waste_time)


@relation("Electric power of a lift", symbol="P_e", unit="W", source="definition")
def lift_power(density: KgPerM3, flow: M3PerS, head: Head, lift_efficiency: Fraction) -> ElectricW:
    """Electrical power of a lift: hydraulic power over the efficiency of pump and motor together.

    At one flow and head; the efficiency is a mean, not that of a pump bought.
    """
    return density * G * flow * head / lift_efficiency


@relation("Electric power of dosing, one train's share", symbol="P_e", unit="W", source="definition")
def mean_dosing_power(electric_power: ElectricW, dosing_pumps: Count, trains: Count) -> ElectricW:
    """Electrical power of dosing for one train: the pumps that run for the plant, shared by its trains.

    One mean power for each pump with its mixer, whatever it delivers.
    """
    return electric_power * dosing_pumps / trains


@relation("Electric power of cleaning, mean of the year", symbol="P_e", unit="W", source="definition")
def mean_cleaning_power(heater_power: ElectricW, heating_time: S, pump_power: ElectricW, cleaning_time: S,
                        batches: Count,
                  cleanings: Count) -> ElectricW:
    """Electrical power of cleaning, mean of the year: heating and circulation of each batch, spread over a year.

    Losses of heat while it circulates are left out.
    """
    return (heater_power * heating_time + pump_power * cleaning_time) * batches * cleanings / YEAR


@relation("Electric power of all machines of a train", symbol="P_e", unit="W", source="definition")
def train_power(hp_power: ElectricW, booster_power: ElectricW, concentrate_power: ElectricW, feed_power: ElectricW,
           backwash_power: ElectricW, intake_power: ElectricW, dosing_power: ElectricW, product_power: ElectricW,
           cleaning_power: ElectricW, other_power: ElectricW) -> ElectricW:
    """Electrical power of all consumers of one train at one corner.

    Each consumer once; what the plant shares is taken as one train's part.
    """
    return (hp_power + booster_power + concentrate_power + feed_power + backwash_power + intake_power + dosing_power
            + product_power + cleaning_power + other_power)


@relation("Mean of the year", symbol="P_y", unit="W", source="definition")
def year_mean_power(electric_power: ElectricW, year_fraction: Fraction) -> ElectricW:
    """Electrical power, mean of the year: corners weighted with their fraction of the year.

    The corners stand for the year; hours between them are not seen.
    """
    return dot(electric_power, year_fraction)


@relation("Energy per volume of net product", symbol="e_s", unit="J/m^3", source="definition")
def plant_specific_energy(electric_power: ElectricW, trains: Count, availability: Fraction, loss_fraction: Fraction,
                   net_product: M3PerS) -> JPerM3:
    """Specific energy of the plant per volume of net product, with losses of transformer and cables.

    Mean power of the running trains over a year of calendar days.
    """
    return electric_power * trains * availability / (1 - loss_fraction) / net_product


@relation("Energy per volume of net product, by consumer", symbol="e_i", unit="J/m^3", source="definition")
def consumer_specific_energy(electric_power: ElectricW, trains: Count, availability: Fraction,
                             net_product: M3PerS) -> JPerM3:
    """Specific energy of each consumer per volume of net product, at its own supply.

    Mean power of the running trains over a year; losses of transformer and cables are a consumer of their own.
    """
    return electric_power * trains * availability / net_product


@relation("Sum over the consumers", symbol="e", unit="J/m^3", source="definition")
def total_specific_energy(specific_energy: JPerM3) -> JPerM3:
    """Specific energy of all consumers together.

    Per volume of net product, before the losses of transformer and cables.
    """
    return total(specific_energy)


@relation("Losses of transformer and cables, per volume of net product", symbol="e_l", unit="J/m^3",
          source="definition")
def supply_loss_specific_energy(specific_energy: JPerM3, loss_fraction: Fraction) -> JPerM3:
    """Losses of transformer and cables per volume of net product.

    A fraction of what is bought; part-load losses of the transformer are in it as a mean.
    """
    return specific_energy * loss_fraction / (1 - loss_fraction)


@relation("Energy of a year", symbol="E_y", unit="J", source="definition")
def yearly_energy(specific_energy: JPerM3, net_product: M3PerS) -> J:
    """Energy of a year.

    Net product is that of calendar days: stops are in it.
    """
    return specific_energy * net_product * YEAR


@relation("Cost of energy in a year", symbol="C_y", unit="1", source="definition",
          note="in the currency of the price; demand charges and taxes left out")
def yearly_energy_cost(energy: J, tariff: Factor) -> Factor:
    """Cost of energy in a year: kilowatt-hours times their price.

    Demand charges and taxes are left out; in the currency of the price.
    """
    return energy / KWH * tariff


@relation("Carbon dioxide of a year", symbol="m_c", unit="kg", source="definition",
          note="of the electricity only")
def yearly_emissions(energy: J, emission_factor: Factor) -> Kg:
    """Carbon dioxide of a year: kilowatt-hours times the emission factor of the grid.

    Of the electricity only; chemicals, membranes and building are left out.
    """
    return energy / KWH * emission_factor * KG


@relation("Least work over energy used", symbol="eta_II", unit="1", source="definition",
          note="least work is per volume of permeate, energy per volume of net product")
def second_law_efficiency(least: JPerM3, specific_energy: JPerM3) -> Fraction:
    """Second-law efficiency: least work of separation over the energy used.

    Least work is per volume of permeate, energy per volume of net product; own use makes them differ a little.
    """
    return least / specific_energy


def energy(inp: Inputs, waters: Waters, a: Array, pre: Pretreated, p: Pressure, duty, cleaning,
           dosed: Doses, caustic: Figure | None) -> EnergyYear:
    """Power of every consumer, specific energy, cost and emissions of a year.

    Parameters
    ----------
    dosed : Doses
    caustic : Figure or None
        Dose that sets the pH of the product, which decides whether its pump runs.
    """
    trains = duty.trains
    with scope("train", count=trains):
        each = _constant(inp, waters, a, pre, duty, cleaning, dosed, caustic)
        section, whole = {}, {}
        for c in CORNERS:
            with scope(corner=c):
                section[c] = p.runs[c].section_power
                whole[c] = train_power.at("energy.train_power", **p.runs[c].power,
                                          **{f"{n}_power": f for n, f in each.items()})
        shares = assumed("energy.year_fraction", [0.125, 0.125, 0.25, 0.25, 0.125, 0.125], "fraction", symbol="x_y",
                         title="Share of the year of each corner", axis="corner", keys=CORNERS,
                         source="common-practice", note="half the year at the design temperature, half of it aged")

        def mean(id: str, by_corner: dict[str, Figure], title: str) -> Figure:
            column = _column(f"{id}s", by_corner, title)
            return year_mean_power.at(f"{id}_year", electric_power=column, year_fraction=shares,
                                      title=f"{title}, mean of the year")

        mean_section = mean("energy.section_power", section, "Power of the membrane section")
        mean_train = mean("energy.train_power", whole, "Power of a train")
        powers = {n: mean(f"energy.{n}_power", {c: p.runs[c].power[f"{n}_power"] for c in CORNERS}, CONSUMERS[n])
                  for n in ("hp", "booster", "concentrate")} | each
        membrane = specific_energy.at("energy.membrane_specific", electric_power=mean_section,
                                      product_flow=duty.train_permeate,
                                      title="Membrane section, per volume of permeate")
        row = _column("energy.consumer_powers", {n: powers[n] for n in CONSUMERS}, "Mean power of a train by consumer",
                      "consumer")
    base: dict[str, Any] = {"trains": trains, "availability": duty.availability, "net_product": duty.net_product}
    loss = inp("energy.loss_fraction")
    plant = plant_specific_energy.at("energy.plant_specific", electric_power=mean_train, loss_fraction=loss, **base)
    by = consumer_specific_energy.at("energy.by_consumer", electric_power=row, **base)
    used = total_specific_energy.at("energy.consumers_specific", specific_energy=by)
    losses = supply_loss_specific_energy.at("energy.losses_specific", specific_energy=used, loss_fraction=loss)
    year = yearly_energy.at("energy.year", specific_energy=plant, net_product=duty.net_product)
    bill = yearly_energy_cost.at("energy.bill_year", energy=year, tariff=inp("energy.tariff"))
    carbon = yearly_emissions.at("energy.emissions_year", energy=year, emission_factor=inp("energy.emission_factor"))
    at, r = waters.at["design"], a.by_corner["design-new"]
    least, limit = separation_energy(
        feed_salinity=waters.analysis.salinity, recovery=a.recovery, permeate_density=r["permeate_density"],
        feed_density=at.density, curve=tuple(at.osmotic_curve[k] for k in at.osmotic_curve.keys))
    ideal = second_law_efficiency.at("energy.of_ideal", least=least, specific_energy=plant)
    return EnergyYear(membrane, plant, least, limit, each["feed"], each["backwash"], each["other"], mean_section, by,
                      losses, year, bill, carbon, ideal)


def _constant(inp, waters: Waters, a: Array, pre: Pretreated, duty, cleaning,
              dosed: Doses, caustic: Figure | None) -> dict[str, Figure]:
    """Consumers that do not follow the corners."""
    density = waters.at["design"].density
    feed = total_power.at("energy.feed_power", electric_power=_feed_pump(inp, pre, waters.at["design"].density),
                          duty_count=inp("feed_pump.duty_count"), title="Feed pumps")
    if pre.wash_pump is not None and pre.wash is not None:
        with scope(because=[pre.present]):
            wash = mean_backwash_power.at("energy.backwash_power", electric_power=pre.wash_pump.electric_power,
                                        wash_duration=inp("filters.backwash_time"),
                                        backwashes_per_day=pre.wash.backwashes_per_day)
    else:
        with scope(because=[pre.present]):
            wash = assumed("energy.backwash_power", 0.0, "power.electric", title="Wash pumps", text="not in this plant",
                           source="definition")
    raw = flow_per_unit.at("energy.raw_flow", flow=pre.raw_flow, units=duty.trains,
                           title="Raw water of one train's share")
    intake = lift_power.at("energy.intake_power", density=density, flow=raw, head=inp("energy.intake_head"),
                           lift_efficiency=inp("energy.intake_efficiency"), title="Intake pumps")
    product = lift_power.at("energy.product_power", density=density, flow=duty.train_permeate,
                            head=inp("energy.product_head"), lift_efficiency=inp("energy.product_efficiency"),
                            title="Product pumps", note="density of the raw water, on the safe side by 3 %")
    lines = list(dosed.lines())
    with scope(because=[*[inp(f"{n}.present") for n in MAY_BE_ABSENT], inp("product.ph_adjustment"),
                        inp("duty.product_use"), *_second(a), caustic]):
        pumps = assumed("energy.dosing_pumps", float(len(lines)), "count", title="Dosing pumps that run", symbol="n_d",
                        source="definition", place=", ".join(lines) or "nothing is dosed")
    dose = mean_dosing_power.at("energy.dosing_mean", electric_power=inp("energy.dosing_power"), dosing_pumps=pumps,
                                trains=duty.trains)
    clean = mean_cleaning_power.at(
        "energy.cleaning_power", heater_power=cleaning.heater_power, heating_time=inp("cip.heating_time"),
        pump_power=cleaning.pump_power, cleaning_time=inp("energy.cleaning_time"), batches=inp("energy.batches"),
        cleanings=inp("energy.cleanings"))
    return {"feed": feed, "backwash": wash, "intake": intake, "dosing": dose, "product": product, "cleaning": clean,
            "other": inp("energy.other_power")}


def _feed_pump(inp: Inputs, pre: Pretreated, density: Figure) -> Figure:
    """Mean electrical power of one feed pump: service most of the time, its full duty while a filter runs to waste.

    On line it runs on its curve, whatever the beds lose: what they do not lose stands before the high-pressure pump.
    With a drive it follows the system from clean to dirty, by the affinity laws. Standby pumps stand still.
    """
    pump, shut = pre.feed_pump, pre.feed_shutoff_rise
    carries, drive = inp.choice("feed_pump.carries_filter_to_waste"), inp.choice("feed_pump.drive")
    if pre.wash is None or shut is None or carries == "no":
        return pump.electric_power
    name = "feed_pump.service"
    with scope(because=[pre.present, carries, drive]):
        each = flow_per_unit.at(f"{name}_flow", flow=pre.wash.schedule.through, units=inp("feed_pump.duty_count"),
                                title="Flow of one feed pump in service")
        ratio = flow_ratio.at(f"{name}_ratio", flow=each, reference_flow=pump.flow, title="Service flow over duty flow")
        if drive == "yes":
            head = _system_head(name, pre, density, ratio)
        else:
            head = parabolic_pump_head.at(
                f"{name}_head", shutoff_head=pressure_head.at(
                    f"{name}_shutoff", pressure_rise=shut, density=density, title="Head of the feed pump at shut-off"),
                pump_head=pump.head, flow_ratio=ratio, title="Head of the feed pump in service",
                note="on its curve: what clean beds do not lose is throttled or stands before the high-pressure pump")
        rise = pressure_of_head.at(f"{name}_rise", head=head, density=density,
                                   title="Pressure rise of the feed pump in service")
        service = run_pump(name, pump, flow=each, pressure_rise=rise).electric_power
        wasted = filter_to_waste_time_fraction.at(
            "filters.filter_to_waste_fraction", backwashes_per_day=pre.wash.backwashes_per_day,
            filter_to_waste_time=inp("filters.filter_to_waste_time"))
        return duty_weighted_power.at("feed_pump.mean_power", electric_power=service,
                                      peak_power=pump.electric_power, peak_fraction=wasted,
                                      title="Electric power of one feed pump, mean of a filter run")


def _system_head(name: str, pre: Pretreated, density: Figure, ratio: Figure) -> Figure:
    """Head the system asks for in service, mean of clean and dirty, m."""
    of, heads = pre.feed_head, {}
    static = sum_of_heads.at(f"{name}_static", head=of.static_lift, other_head=of.outlet,
                             title="Lift and pressure wanted of the feed pump")
    for state, bed, cartridges in (("clean", pre.clean_drop["design"], pre.cartridges.clean_drop),
                                   ("dirty", pre.dirty_drop, pre.cartridges.dirty_drop)):
        drop = sum_of_pressure_drops.at(f"{name}_drop_{state}", pressure_drop=bed, other_drop=cartridges,
                                        title=f"Pressure drop of {state} filters and cartridges")
        media = pressure_head.at(f"{name}_media_{state}", pressure_rise=drop, density=density,
                                 title=f"Head lost in {state} filters and cartridges")
        heads[state] = system_curve_head.at(f"{name}_head_{state}", static_head=static, friction_head=of.friction,
                                            media_head=media, flow_ratio=ratio,
                                            title=f"Head asked of the feed pump in service, {state}")
    return mean_service_head.at(f"{name}_head", clean_head=heads["clean"], dirty_head=heads["dirty"],
                                title="Head of the feed pump in service")


def _second(a: Array) -> list[Any]:
    """What decides on a dosing line between the passes, where there is a second."""
    second = a.plan.second
    return [] if second is None or second["ph"] is None else [second["ph"]]


def _column(id: str, figures: dict[str, Figure], title: str, axis: str = "corner") -> Column:
    return picked(id, [float(v) for v in figures.values()], "power.electric", title=title, symbol="P_e",
                  rule=f"the {axis}s in order", candidates=[{"key": k, "value": float(v), "won": True}
                                                            for k, v in figures.items()],
                  inputs=dict(figures), axis=axis, keys=tuple(figures))
