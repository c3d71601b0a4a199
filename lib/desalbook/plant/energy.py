"""Energy of the plant by consumer, over a weighted year, beside the least work of separation."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from desalbook.balances import YEAR, flow_per_unit, flow_ratio, items_of_groups, sum_of_heads, sum_of_pressure_drops
from desalbook.electrical import OwnLoad
from desalbook.hydraulics.energy import separation_energy, specific_energy
from desalbook.hydraulics.head import pressure_head, pressure_of_head
from desalbook.hydraulics.low_pressure import mean_service_head, parabolic_pump_head, system_curve_head
from desalbook.hydraulics.pumps import run_pump
from desalbook.plant.array import CORNERS
from desalbook.plant.operations import UnitOperations, decides_on_dosing, dosing_title
from desalbook.plant.pretreat import Pretreated
from desalbook.plant.transfer import Transfer
from desalbook.problems import Infeasible
from desalbook.trail import Column, Figure, assumed, constant, dot, minimum, picked, relation, scope, total
from desalbook.trail.corner import Corner
from desalbook.trail.inputs import Inputs
from desalbook.units import (
    CarbonPerM3,
    Count,
    ElectricW,
    Factor,
    Fraction,
    J,
    JPerM3,
    Kg,
    M3PerS,
    Money,
    PerS,
    S,
)

__all__ = ["Consumer", "EnergyYear", "energy"]

@dataclass(frozen=True)
class Consumer:
    """One consumer over a year: a unit of the equipment list, or an allowance.

    Parameters
    ----------
    key, title : str
        Key as in the equipment list.
    power : Figure
        Electrical power of one unit, mean while it runs, W.
    machines : Figure
        Running together, all trains.
    time : Figure
        Running time of each in a year, s.
    year, cost : Figure
        Energy of all in a year, J, and its cost.
    basis : str
        What decides the running time and the mean power, in words.
    """

    key: str
    title: str
    power: Figure
    machines: Figure
    time: Figure
    year: Figure
    cost: Figure
    basis: str


@dataclass(frozen=True)
class EnergyYear:
    """Energy of a mean year.

    Parameters
    ----------
    membrane, plant, least, limit : Figure
        Specific energy of the membrane section (per permeate) and of the plant (per net product), least work, and
        minimum energy of one stage, J/m3.
    mean_section : Figure
        Mean electrical power of the membrane section of one train, W.
    consumers : tuple of Consumer
    by_consumer : Column
        Specific energy of each consumer, J/m3.
    losses, lost, lost_cost : Figure
        Of transformer and cables, J/m3; in a year, J, and their cost.
    year, bill, emissions, of_ideal : Figure
        Energy (J), its cost, carbon dioxide (kg) of a year; least work over energy used.
    """

    membrane: Figure
    plant: Figure
    least: Figure
    limit: Figure
    mean_section: Figure
    consumers: tuple[Consumer, ...]
    by_consumer: Column
    losses: Figure
    lost: Figure
    lost_cost: Figure
    year: Figure
    bill: Figure
    emissions: Figure
    of_ideal: Figure

    def rows(self) -> list[dict[str, Any]]:
        """One row a consumer, SI: power of one unit (W), number, running time (s), energy (J), cost.

        The last row is what transformer and cables lose; energy and cost of all rows are those of the year.
        """
        rows = [{"key": x.key, "title": x.title, "machines": int(float(x.machines)), "electric_power": float(x.power),
                 "running_time": float(x.time), "energy": float(x.year),
                 "specific_energy": float(self.by_consumer[x.key]), "cost": float(x.cost), "basis": x.basis,
                 "id": x.year.id, "ids": {"machines": x.machines.id, "electric_power": x.power.id,
                                          "running_time": x.time.id, "energy": x.year.id, "cost": x.cost.id}}
                for x in self.consumers]
        rows.append({"key": "losses", "title": "Transformer and cables", "energy": float(self.lost),
                     "specific_energy": float(self.losses), "cost": float(self.lost_cost),
                     "basis": "a fraction of what is bought", "id": self.lost.id, "ids": {
                         "energy": self.lost.id, "specific_energy": self.losses.id, "cost": self.lost_cost.id}})
        return rows


KWH = constant("kWh", 3.6e6, "J", source="definition", title="One kilowatt-hour")
KG = constant("kg", 1.0, "kg", source="definition", title="One kilogram")


@relation("Electric power over the year's duty", symbol="P_e", unit="W", source="definition",
          note="mean over the time the train runs")
def duty_weighted_power(electric_power: ElectricW, peak_power: ElectricW, peak_fraction: Fraction) -> ElectricW:
    """Electrical power of a pump with two duties, weighted with the fraction of the time that each lasts.

    Service and peak each at one operating point; the way from one to the other is neglected.
    """
    return electric_power * (1 - peak_fraction) + peak_power * peak_fraction


@relation("Filter-to-waste time fraction", symbol="x_p", unit="1", source="definition")
def filter_to_waste_time_fraction(backwashes_per_day: PerS, filter_to_waste_time: S) -> Fraction:
    """Fraction of the time that a train has a filter running to waste.

    Filters run to waste one after another; at most all of the time.
    """
    return minimum(1, backwashes_per_day * filter_to_waste_time)


@relation("Running time of a train in a year", symbol="t_y", unit="s", source="definition")
def train_running_time(availability: Fraction) -> S:
    """Running time of a train in a year: availability times the year.

    What runs with the train runs as long; standby units take turns and add nothing.
    """
    return availability * YEAR


@relation("Time to deliver the net product of a year", symbol="t_y", unit="s", source="definition")
def delivery_running_time(net_product: M3PerS, product_flow: M3PerS) -> S:
    """Running time of the product pumps in a year: net product over their flow at duty.

    Own use is drawn from the tank and is not delivered; at another flow the pump moves along its curve.
    """
    return net_product / product_flow * YEAR


@relation("Running time of the backwash pump in a year", symbol="t_y", unit="s", source="definition")
def backwash_running_time(backwashes_per_day: PerS, backwash_duration: S, trains: Count, availability: Fraction) -> S:
    """Running time of backwash pump or scour-air blower in a year: starts of all trains times the length of its step.

    By the clock of the filter run, while the trains run; the pump rests while a filter drains, is scoured or runs to
    waste, and the blower in all steps but the scour.
    """
    return backwashes_per_day * backwash_duration * trains * availability * YEAR


@relation("Running time of the cleaning in a year", symbol="t_y", unit="s", source="definition")
def cleaning_running_time(batch_time: S, batches: Count, cleaning_turns: Factor, cleanings: Factor, trains: Count) -> S:
    """Running time of pump or heater of the CIP skid in a year: batches of all banks and trains, each of one length.

    Over the calendar year, whatever the availability; heat lost while the solution circulates is neglected.
    """
    return batch_time * batches * cleaning_turns * cleanings * trains


@relation("Running time of the flush pump in a year", symbol="t_y", unit="s", source="definition")
def flush_running_time(flush_time: S, stops: Count, trains: Count) -> S:
    """Running time of the flush pump in a year: stops of all trains, each flushed once.

    One train after another; a flush of the same train a day later is a stop of its own.
    """
    return flush_time * stops * trains


@relation("Energy of a consumer in a year", symbol="E_i", unit="J", source="definition")
def consumer_yearly_energy(electric_power: ElectricW, running_count: Count, running_time: S) -> J:
    """Energy of one consumer in a year: power while it runs, times number, times running time.

    At the supply of the unit, downstream of transformer and cables; starting currents are neglected.
    """
    return electric_power * running_count * running_time


@relation("Mean of the year", symbol="P_y", unit="W", source="definition")
def year_mean_power(electric_power: ElectricW, year_fraction: Fraction) -> ElectricW:
    """Electrical power, mean of the year: cases weighted with their fraction of the year.

    The cases stand for the year; hours between them are not seen.
    """
    return dot(electric_power, year_fraction)


@relation("Specific energy, whole plant", symbol="e_s", unit="J/m^3", source="definition")
def plant_specific_energy(specific_energy: JPerM3, loss_fraction: Fraction) -> JPerM3:
    """Specific energy of the plant per volume of net product, with the losses of transformer and cables.

    All consumers over a calendar year; losses are a fraction of what is bought.
    """
    return specific_energy / (1 - loss_fraction)


@relation("Specific energy by consumer, per net product", symbol="e_i", unit="J/m^3", source="definition")
def consumer_specific_energy(energy: J, net_product: M3PerS) -> JPerM3:
    """Specific energy of each consumer: its energy of a year over the net product of a year.

    At the consumer's own supply; losses of transformer and cables are a consumer of their own.
    """
    return energy / (net_product * YEAR)


@relation("Sum of consumers", symbol="e", unit="J/m^3", source="definition")
def total_specific_energy(specific_energy: JPerM3) -> JPerM3:
    """Specific energy of all consumers together.

    Per volume of net product, before the losses of transformer and cables.
    """
    return total(specific_energy)


@relation("Transformer and cable losses per m3", symbol="e_l", unit="J/m^3",
          source="definition")
def supply_loss_specific_energy(specific_energy: JPerM3, loss_fraction: Fraction) -> JPerM3:
    """Losses of transformer and cables per volume of net product.

    A fraction of what is bought; part-load losses of the transformer are in it as a mean.
    """
    return specific_energy * loss_fraction / (1 - loss_fraction)


@relation("Annual transformer and cable losses", symbol="E_l", unit="J", source="definition")
def lost_energy(energy: J, loss_fraction: Fraction) -> J:
    """Energy of a year that transformer and cables lose: a fraction of what is bought.

    One fraction for the year; losses at no load are in it.
    """
    return energy * loss_fraction


@relation("Energy of a year", symbol="E_y", unit="J", source="definition")
def yearly_energy(specific_energy: JPerM3, net_product: M3PerS) -> J:
    """Energy of a year.

    Net product is that of calendar days: stops are in it.
    """
    return specific_energy * net_product * YEAR


@relation("Cost of energy in a year", symbol="C_y", unit="1", source="definition",
          note="in the currency of the price; demand charges and taxes neglected")
def yearly_energy_cost(energy: J, tariff: Factor) -> Money:
    """Cost of energy in a year: kilowatt-hours times their price.

    Demand charges and taxes are neglected; in the currency of the price.
    """
    return energy / KWH * tariff


@relation("Carbon dioxide of a year", symbol="m_c", unit="kg", source="definition",
          note="of the electricity only")
def yearly_emissions(energy: J, emission_factor: Factor) -> Kg:
    """Carbon dioxide of a year: kilowatt-hours times the emission factor of the grid.

    Of the electricity only; chemicals, membranes and building are neglected.
    """
    return energy / KWH * emission_factor * KG


@relation("Carbon dioxide per volume of product", symbol="e_c", unit="kg/m^3", source="definition",
          note="of the electricity only")
def specific_emissions(yearly_carbon: Kg, net_product: M3PerS) -> CarbonPerM3:
    """Carbon dioxide of a year over the net product of a year.

    Where the electricity is used, by the mean factor of the grid; chemicals, membranes and building are neglected.
    """
    return yearly_carbon / (net_product * YEAR)


@relation("Minimum work / energy used", symbol="eta_II", unit="1", source="definition",
          note="least work is per volume of permeate, energy per volume of net product")
def second_law_efficiency(least: JPerM3, specific_energy: JPerM3) -> Fraction:
    """Second-law efficiency: least work of separation over the energy used.

    Least work is per volume of permeate, energy per volume of net product; own use makes them differ a little.
    """
    return least / specific_energy


def energy(inp: Inputs, ops: UnitOperations, pumps: dict[str, Transfer],
           own: Sequence[OwnLoad] = ()) -> EnergyYear:
    """Energy of every consumer over a year, specific energy, cost and emissions.

    Each unit of the equipment list with its own electrical power, for the hours it runs; a step that the plant does
    not have is no consumer.

    Parameters
    ----------
    pumps : dict
        Product and flush pump, where the plant has them.
    own : sequence of OwnLoad
        What the design lists beside the kit's own equipment.
    """
    duty, a, waters = ops.duty, ops.array, ops.waters
    year = _Year(inp, ops)
    year.train_machines()
    year.shared_machines(pumps)
    year.own(own)
    year.allowances()
    found = tuple(year.found)
    with scope(because=year.because):
        energies = _column("energy.consumers", {x.key: x.year for x in found}, "Energy of a year by consumer",
                           "consumer", "energy.year")
    by = consumer_specific_energy.at("energy.by_consumer", energy=energies, net_product=duty.net_product)
    used = total_specific_energy.at("energy.consumers_specific", specific_energy=by)
    loss = inp("energy.loss_fraction")
    losses = supply_loss_specific_energy.at("energy.losses_specific", specific_energy=used, loss_fraction=loss)
    plant = plant_specific_energy.at("energy.plant_specific", specific_energy=used, loss_fraction=loss)
    whole = yearly_energy.at("energy.year", specific_energy=plant, net_product=duty.net_product)
    bill = yearly_energy_cost.at("energy.bill_year", energy=whole, tariff=inp("energy.tariff"))
    lost = lost_energy.at("energy.losses_year", energy=whole, loss_fraction=loss)
    lost_cost = yearly_energy_cost.at("energy.losses_cost", energy=lost, tariff=inp("energy.tariff"),
                                      title="Cost of a year, transformer and cables")
    carbon = yearly_emissions.at("energy.emissions_year", energy=whole, emission_factor=inp("energy.emission_factor"))
    specific_emissions.at("energy.emissions_specific", yearly_carbon=carbon, net_product=duty.net_product)
    membrane = specific_energy.at("energy.membrane_specific", electric_power=year.mean_section,
                                  product_flow=duty.train_permeate,
                                  title="Specific energy, RO section")
    at, r = waters.at["design"], a.by_corner["design-new"]
    least, limit = separation_energy(
        feed_salinity=waters.analysis.salinity, recovery=a.recovery, permeate_density=r["permeate_density"],
        feed_density=at.density, curve=tuple(at.osmotic_curve[k] for k in at.osmotic_curve.keys))
    ideal = second_law_efficiency.at("energy.of_ideal", least=least, specific_energy=plant)
    return EnergyYear(membrane, plant, least, limit, year.mean_section, found, by, losses, lost, lost_cost, whole,
                      bill, carbon, ideal)


class _Year:
    """Consumers of a year, one after another, each with power, number and running time."""

    def __init__(self, inp: Inputs, ops: UnitOperations):
        self.inp, self.ops, self.found = inp, ops, []
        self.because: list[Any] = []
        self.trains = ops.duty.trains
        self.one = assumed("energy.one", 1.0, "count", title="One unit per train, or common", source="definition")
        self.train_time = train_running_time.at("energy.train_time", availability=ops.duty.availability)
        shares = assumed("energy.year_fraction", [0.125, 0.125, 0.25, 0.25, 0.125, 0.125], "fraction", symbol="x_y",
                         title="Fraction of the year of each case", axis="corner", keys=CORNERS,
                         source="common-practice", note="half the year at the design temperature, half of it aged")
        self.shares = shares
        with scope("train", count=self.trains):
            self.mean_section = self._mean("section", "Power of the membrane section",
                                           {c: run.section_power for c, run in ops.pressure.runs.items()},
                                           "energy.section_power")

    def add(self, key: str, title: str, power: Figure, machines: Figure, time: Figure, basis: str,
            because: Sequence[Any] = ()) -> None:
        """Enter one consumer, with its energy and cost of a year."""
        with scope(because=because):
            year = consumer_yearly_energy.at(f"energy.consumer[{_key(key)}].year", electric_power=power,
                                             running_count=machines, running_time=time,
                                             title=f"Annual energy, {_within(title)}")
            cost = yearly_energy_cost.at(f"energy.consumer[{_key(key)}].cost", energy=year,
                                         tariff=self.inp("energy.tariff"),
                                         title=f"Annual cost, {_within(title)}")
        self.because += because
        self.found.append(Consumer(_key(key), title, power, machines, time, year, cost, basis))

    def _mean(self, key: str, title: str, by_corner: dict[Corner, Figure], id: str = "") -> Figure:
        id = id or f"energy.consumer[{_key(key)}].power"
        column = _column(f"{id}s", by_corner, title)
        return year_mean_power.at(f"{id}_year", electric_power=column, year_fraction=self.shares,
                                  title=f"{title}, annual average")

    def _together(self, key: str, duty: Figure) -> Figure:
        return items_of_groups.at(f"energy.consumer[{_key(key)}].machines", groups=self.trains, group_size=duty,
                                  title="Units running together")

    def train_machines(self) -> None:
        """Pumps that run with their train: feed, HP, booster, concentrate, between stages."""
        inp, pre, p = self.inp, self.ops.pretreated, self.ops.pressure
        with scope("train", count=self.trains):
            feed = _feed_pump(inp, pre, self.ops.waters.at["design"].density)
        self.add("feed_pump", "Feed pump", feed, self._together("feed_pump", inp("feed_pump.duty_count")),
                 self.train_time, "with the trains; mean of a filter run, clean to dirty, with filter-to-waste")
        for key, title in p.machines.titles.items():
            decides = list(p.machines.because) if key in p.machines.stage_pumps else [self.ops.device.choice]
            duty = inp("hp_pump.duty_count") if key == "hp_pump" else self.one
            with scope("train", count=self.trains, because=decides):
                power = self._mean(key, title, {c: run.machines[key] for c, run in p.runs.items()})
            with scope(because=decides):
                together = self._together(key, duty)
            self.add(key, title, power, together, self.train_time,
                     "with the trains; mean over temperature and age, by its curve and drive", because=decides)

    def shared_machines(self, pumps: dict[str, Transfer]) -> None:
        """Equipment that serves all trains: intake, backwash, product, flush, cleaning."""
        inp, ops, duty = self.inp, self.ops, self.ops.duty
        pre, clean = ops.pretreated, ops.cleaning
        if ops.intake_pump is not None:
            self.add("intake_pump", "Intake pump", ops.intake_pump.electric_power, inp("intake_pump.duty_count"),
                     self.train_time, "with the trains; throttled to its flow, so that a high tide saves nothing",
                     because=[inp("intake_pump.present")])
        if pre.wash_pump is not None and pre.wash is not None:
            with scope(because=[pre.present]):
                time = backwash_running_time.at(
                    "energy.backwash_time", backwashes_per_day=pre.wash.backwashes_per_day,
                    backwash_duration=inp("filters.backwash_time"), trains=self.trains, availability=duty.availability)
            _within_a_year(time, "the backwash pump would run", "filters.backwash_time",
                           f"{inp('filters.backwash_time').show()}, {pre.wash.backwashes_per_day.show()} in each train",
                           "lengthen the run (filters.run_length), shorten the backwash, or let more filters backwash "
                           "together (filters.backwashes_together)")
            self.add("backwash_pump", "Backwash pump", pre.wash_pump.electric_power, inp("backwash_pump.duty_count"),
                     time, "backwashes of all filters, each at the full backwash rate", because=[pre.present])
        if pre.blower is not None and pre.wash is not None:
            decides = [pre.present, inp("filters.scour")]
            with scope(because=decides):
                time = backwash_running_time.at(
                    "energy.scour_time", backwashes_per_day=pre.wash.backwashes_per_day,
                    backwash_duration=inp("filters.scour_time"), trains=self.trains, availability=duty.availability,
                    title="Running time of the blower in a year")
            _within_a_year(time, "the scour-air blower would run", "filters.scour_time",
                           f"{inp('filters.scour_time').show()}, {pre.wash.backwashes_per_day.show()} in each train",
                           "lengthen the run (filters.run_length), shorten the scour, or let more filters backwash "
                           "together (filters.backwashes_together)")
            self.add("scour_blower", "Scour-air blower", pre.blower.electric_power, inp("scour_blower.duty_count"),
                     time, "air scour before each backwash, at the full air rate", because=decides)
        for name, of in pumps.items():
            with scope(because=[of.present]):
                if name == "product_pump":
                    time = delivery_running_time.at("energy.delivery_time", net_product=duty.net_product,
                                                    product_flow=ops.product_flow)
                    basis = "until the net product of the year is delivered, at its duty"
                else:
                    time = flush_running_time.at("energy.flush_time", flush_time=inp("cip.flush_time"),
                                                 stops=inp("energy.stops"), trains=self.trains)
                    basis = "one flush after each stop of a train"
            title = f"{name.partition('_')[0].capitalize()} pump"
            self.add(name, title, of.pump.electric_power, inp(f"{name}.duty_count"), time, basis, because=[of.present])
        each = {"batches": inp("energy.batches"), "cleaning_turns": clean.turns, "cleanings": ops.cleanings,
                "trains": self.trains}
        spent = cleaning_running_time.at("energy.cleaning_pump_time", batch_time=inp("energy.cleaning_time"), **each)
        _within_a_year(spent, "the CIP pump would circulate", "energy.cleanings",
                       f"{float(ops.cleanings):.3g} of a train, each of {float(clean.turns):.0f} banks",
                       "clean more vessels at once (cip.vessels_at_once), or improve the RO feed "
                       "(fouling.expected_sdi)")
        self.add("cip_pump", "CIP pump", clean.pump_power, self.one, spent,
                 "circulation of each batch of each bank")
        with scope(because=[clean.heater_rating]):
            warm = cleaning_running_time.at("energy.cleaning_heater_time", batch_time=clean.warm_up, **each)
        if float(clean.heater_rating) > 0.0:
            self.add("cip_heater", "Heater of the CIP tank", clean.heater_rating, self.one, warm,
                     "warming of each batch of each bank, at the heater's rating", because=[clean.heater_rating])

    def own(self, loads: Sequence[OwnLoad]) -> None:
        """Loads of the owner's, each by the hours that the design says."""
        for of in loads:
            load, number = of.load, of.load.running
            assert isinstance(number, Figure), "a key of the design"
            if load.panel == "train":
                with scope(because=[of.panel]):
                    number = self._together(load.key, number)
            self.add(load.key, load.title, load.electric_power, number, of.time, of.basis, because=[of.panel])

    def allowances(self) -> None:
        """What is no unit of the equipment list with a power of its own: dosing, and the rest."""
        inp, ops = self.inp, self.ops
        decides = decides_on_dosing(inp, ops)
        for name in ops.doses.lines():
            self.add(f"dosing_{name}", dosing_title(name), inp("energy.dosing_power"), self.one, self.train_time,
                     "with the trains; mean of a pump with mixer",
                     because=decides)
        self.add("other", "Controls, light and the rest", inp("energy.other_power"), self.trains,
                 assumed("energy.whole_year", YEAR.value, "time", title="Whole year", symbol="t_y",
                         source="definition"),
                 "an allowance, all the year")


def _within_a_year(time: Figure, does: str, where: str, value: str, do: str) -> None:
    """Refuse what runs for more hours than a year has, naming what to change."""
    if float(time) > YEAR.value:
        raise Infeasible(f"{does} for longer than the year lasts", where=where, value=value, do=do)


def _feed_pump(inp: Inputs, pre: Pretreated, density: Figure) -> Figure:
    """Mean electrical power of one feed pump: service most of the time, its full duty while a filter runs to waste.

    On line it runs on its curve, whatever the beds lose: what they do not lose stands before the high-pressure pump.
    With a drive it follows the system from clean to dirty, by the affinity laws. Standby pumps stand still.
    """
    pump, shut = pre.feed_pump, pre.feed_shutoff_rise
    carries, drive = inp.choice("feed_pump.carries_filter_to_waste"), inp.choice("feed_pump.drive")
    wash = pre.wash if carries == "yes" else None
    if drive == "no" and wash is None:
        return pump.electric_power  # its one duty, all the time, whatever the beds lose
    name = "feed_pump.service"
    with scope(because=[pre.present, carries, drive]):
        each = pump.flow if wash is None else flow_per_unit.at(
            f"{name}_flow", flow=wash.schedule.through, units=inp("feed_pump.duty_count"),
            title="Flow of one feed pump in service")
        ratio = flow_ratio.at(f"{name}_ratio", flow=each, reference_flow=pump.flow, title="Service flow / duty flow")
        if drive == "yes":
            head = _system_head(name, pre, density, ratio)
        else:
            assert shut is not None, "a plant with filters knows its feed pump at shut-off"
            head = parabolic_pump_head.at(
                f"{name}_head", shutoff_head=pressure_head.at(
                    f"{name}_shutoff", pressure_rise=shut, density=density, title="Head of the feed pump at shut-off"),
                pump_head=pump.head, flow_ratio=ratio, title="Head of the feed pump in service",
                note="on its curve: what clean beds do not lose is throttled or stands before the HP pump")
        rise = pressure_of_head.at(f"{name}_rise", head=head, density=density,
                                   title="Pressure rise of the feed pump in service")
        service = run_pump(name, pump, flow=each, pressure_rise=rise).electric_power
        if wash is None:
            return service
        wasted = filter_to_waste_time_fraction.at(
            "filters.filter_to_waste_fraction", backwashes_per_day=wash.backwashes_per_day,
            filter_to_waste_time=inp("filters.filter_to_waste_time"))
        return duty_weighted_power.at("feed_pump.mean_power", electric_power=service,
                                      peak_power=pump.electric_power, peak_fraction=wasted,
                                      title="Feed-pump electric power, filter-run average")


def _system_head(name: str, pre: Pretreated, density: Figure, ratio: Figure) -> Figure:
    """Head the system asks for in service, mean of clean and dirty, m."""
    of, heads = pre.feed_head, {}
    static = sum_of_heads.at(f"{name}_static", head=of.static_lift, other_head=of.outlet,
                             title="Feed-pump lift and delivery pressure")
    for state, bed, cartridges in (("clean", pre.clean_drop["design"], pre.cartridges.clean_drop),
                                   ("dirty", pre.dirty_drop, pre.cartridges.dirty_drop)):
        drop = sum_of_pressure_drops.at(f"{name}_drop_{state}", pressure_drop=bed, other_drop=cartridges,
                                        title=f"Pressure drop of {state} filters and cartridges")
        media = pressure_head.at(f"{name}_media_{state}", pressure_rise=drop, density=density,
                                 title=f"Head loss in {state} filters and cartridges")
        heads[state] = system_curve_head.at(f"{name}_head_{state}", static_head=static, friction_head=of.friction,
                                            media_head=media, flow_ratio=ratio,
                                            title=f"Required feed-pump head, {state}")
    return mean_service_head.at(f"{name}_head", clean_head=heads["clean"], dirty_head=heads["dirty"],
                                title="Head of the feed pump in service")


_DOSING = "Dosing pump, "


def _within(title: str) -> str:
    """A title inside a sentence: small at its head, unless that is an abbreviation; a dosing pump by what it doses."""
    if title.startswith(_DOSING):
        return f"{title.removeprefix(_DOSING)} dosing"
    return title if title[:2].isupper() else title[:1].lower() + title[1:]


def _key(key: str) -> str:
    """A key of the equipment list as it stands in an id."""
    return key.replace("[", "-").rstrip("]")


def _column(id: str, figures: Mapping[Any, Figure], title: str, axis: str = "corner",
            kind: str = "power.electric") -> Column:
    return picked(id, [float(v) for v in figures.values()], kind, title=title,
                  symbol="P_e" if axis == "corner" else "E",
                  rule=f"the {axis}s in order", candidates=[{"key": k, "value": float(v), "won": True}
                                                            for k, v in figures.items()],
                  inputs=dict(figures), axis=axis, keys=tuple(figures))
