"""Energy of the plant by consumer, over a weighted year, beside the least work of separation."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from desalbook.hydraulics.energy import separation_energy, specific_energy
from desalbook.plant import energy_relations as e
from desalbook.plant.array import CORNERS, Array
from desalbook.plant.pressure import Pressure
from desalbook.plant.pressure_train import total_power
from desalbook.plant.pretreat import Pretreated
from desalbook.plant.waters import Waters
from desalbook.trail import Column, Figure, assumed, current, picked, scope

__all__ = ["CONSUMERS", "energy"]

CONSUMERS = {
    "hp": "High-pressure pumps", "booster": "Booster", "reject": "Reject pump", "feed": "Feed pumps",
    "wash": "Wash pumps", "intake": "Intake", "dosing": "Dosing", "product": "Product pumps",
    "cleaning": "Cleaning and its heater", "other": "Controls, light and the rest",
}
_DOSED = ("chlorination", "coagulation", "acid", "antiscalant", "dechlorination",
          "biocide", "interpass_ph", "corrosion_inhibitor")


def energy(inp, waters: Waters, a: Array, pre: Pretreated, p: Pressure, duty, cleaning,
           dosed: Mapping[str, Any]) -> dict[str, Any]:
    """Power of every consumer, specific energy, cost and emissions of a year.

    Returns
    -------
    dict
        Figures by name; ``by_consumer`` is a Column of specific energies, ``losses`` those of the transformer.
    """
    trains = duty.trains
    with scope("train", count=trains):
        each = _constant(inp, waters, a, pre, duty, cleaning, dosed)
        section, total = {}, {}
        for c in CORNERS:
            with scope(corner=c):
                section[c] = p.runs[c].section_power
                total[c] = e.sum_of.at("energy.train_power", **p.runs[c].power,
                                       **{f"{n}_power": f for n, f in each.items()})
        shares = assumed("energy.year_share", [0.125, 0.125, 0.25, 0.25, 0.125, 0.125], "fraction", symbol="x_y",
                         title="Share of the year of each corner", axis="corner", keys=CORNERS,
                         source="common-practice", note="half the year at the design temperature, half of it aged")

        def mean(id: str, by_corner: dict[str, Figure], title: str) -> Figure:
            column = _column(f"{id}s", by_corner, title)
            return e.year_mean.at(f"{id}_year", electric_power=column, year_share=shares,
                                  title=f"{title}, mean of the year")

        mean_section = mean("energy.section_power", section, "Power of the membrane section")
        mean_train = mean("energy.train_power", total, "Power of a train")
        powers = {n: mean(f"energy.{n}_power", {c: p.runs[c].power[f"{n}_power"] for c in CORNERS}, CONSUMERS[n])
                  for n in ("hp", "booster", "reject")} | each
        membrane = specific_energy.at("energy.membrane_specific", electric_power=mean_section,
                                      product_flow=duty.train_permeate,
                                      title="Membrane section, per volume of permeate")
        row = _column("energy.consumer_powers", {n: powers[n] for n in CONSUMERS}, "Mean power of a train by consumer",
                      "consumer")
    base: dict[str, Any] = {"trains": trains, "availability": duty.availability, "net_product": duty.net_product}
    loss = inp("energy.loss_share")
    plant = e.plant_specific.at("energy.plant_specific", electric_power=mean_train, loss_share=loss, **base)
    by = e.consumer_specific.at("energy.by_consumer", electric_power=row, **base)
    used = e.total_of.at("energy.consumers_specific", specific_energy=by)
    losses = e.loss_specific.at("energy.losses_specific", specific_energy=used, loss_share=loss)
    year = e.energy_of_year.at("energy.year", specific_energy=plant, net_product=duty.net_product)
    bill = e.bill_of.at("energy.bill_year", energy=year, tariff=inp("energy.tariff"))
    carbon = e.emissions_of.at("energy.emissions_year", energy=year, emission_factor=inp("energy.emission_factor"))
    at, r = waters.at["design"], a.by_corner["design-new"]
    least, limit = separation_energy(
        feed_salinity=waters.analysis.salinity, recovery=a.recovery, permeate_density=r["permeate_density"],
        feed_density=at.density, curve=tuple(at.osmotic_curve[k] for k in at.osmotic_curve.keys))
    ideal = e.of_ideal.at("energy.of_ideal", least=least, specific_energy=plant)
    return {"membrane": membrane, "plant": plant, "least": least, "limit": limit, "feed": each["feed"],
            "wash": each["wash"], "other": each["other"], "mean_section": mean_section, "by_consumer": by,
            "losses": losses, "year": year, "bill": bill, "emissions": carbon, "of_ideal": ideal}


def _constant(inp, waters: Waters, a: Array, pre: Pretreated, duty, cleaning,
              dosed: Mapping[str, Any]) -> dict[str, Figure]:
    """Consumers that do not follow the corners."""
    density = waters.at["design"].density
    feed = total_power.at("energy.feed_power", electric_power=pre.feed_pump.electric_power,
                     duty_count=inp("feed_pump.duty_count"), title="Feed pumps")
    if pre.wash_pump is not None and pre.wash is not None:
        with scope(because=[pre.present]):
            wash = e.mean_wash_power.at("energy.wash_power", electric_power=pre.wash_pump.electric_power,
                                        wash_duration=inp("filters.wash_time"), washes_per_day=pre.wash.washes_per_day)
    else:
        with scope(because=[pre.present]):
            wash = assumed("energy.wash_power", 0.0, "power.electric", title="Wash pumps", text="not in this plant",
                           source="definition")
    raw = e.share_of_train.at("energy.raw_flow", raw_flow=pre.raw_flow, trains=duty.trains,
                              title="Raw water of one train's share")
    intake = e.lifting_power.at("energy.intake_power", density=density, flow=raw, head=inp("energy.intake_head"),
                                lift_efficiency=inp("energy.intake_efficiency"), title="Intake pumps")
    product = e.lifting_power.at("energy.product_power", density=density, flow=duty.train_permeate,
                                 head=inp("energy.product_head"), lift_efficiency=inp("energy.product_efficiency"),
                                 title="Product pumps", note="density of the raw water, on the safe side by 3 %")
    lines = [n for n, d in dosed.items() if getattr(d, "line", d) is not None]
    with scope(because=[*[inp(f"{n}.present") for n in _DOSED], inp("product.ph_adjustment"),
                        inp("duty.product_use"), *_second(a),
                        *[current()[i] for i in ("product.caustic_dose",) if i in current()]]):
        pumps = assumed("energy.dosing_pumps", float(len(lines)), "count", title="Dosing pumps that run", symbol="n_d",
                        source="definition", place=", ".join(lines) or "nothing is dosed")
    dose = e.dosing_mean.at("energy.dosing_mean", electric_power=inp("energy.dosing_power"), dosing_pumps=pumps,
                            trains=duty.trains)
    clean = e.cleaning_mean.at(
        "energy.cleaning_power", heater_power=cleaning.heater_power, heating_time=inp("cip.heating_time"),
        pump_power=cleaning.pump_power, cleaning_time=inp("energy.cleaning_time"), batches=inp("energy.batches"),
        cleanings=inp("energy.cleanings"))
    return {"feed": feed, "wash": wash, "intake": intake, "dosing": dose, "product": product, "cleaning": clean,
            "other": inp("energy.other_power")}


def _second(a: Array) -> list[Any]:
    """What decides on a dosing line between the passes, where there is a second."""
    second = a.plan.second
    return [] if second is None or second["ph"] is None else [second["ph"]]


def _column(id: str, figures: dict[str, Figure], title: str, axis: str = "corner") -> Column:
    return picked(id, [float(v) for v in figures.values()], "power.electric", title=title, symbol="P_e",
                  rule=f"the {axis}s in order", candidates=[{"key": k, "value": float(v), "won": True}
                                                            for k, v in figures.items()],
                  inputs=dict(figures), axis=axis, keys=tuple(figures))
