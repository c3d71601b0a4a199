"""Arrays of stages and passes, rated: what their solution gives by the names of a plain train, and their pumps."""

from __future__ import annotations

from typing import Any

import numpy as np

from desalbook.hydraulics.energy import specific_energy
from desalbook.hydraulics.energy_recovery.balance import pressure_rise
from desalbook.membrane import transport as t
from desalbook.plant.array_relations import boosters_of, powers_of
from desalbook.plant.energy_relations import section_of
from desalbook.plant.rate_train import electric
from desalbook.plant.solve_stages import Answer
from desalbook.plant.stages import worst

__all__ = ["more_power", "staged_outputs"]


def staged_outputs(answer: Answer, density: np.ndarray, salinity: np.ndarray) -> dict[str, Any]:
    """Numbers by the names `rate` shows: the product of all passes, the worst stage of the first pass."""
    first, last = answer.first, answer.first.stages[-1]
    judged = worst(first.stages, answer.reason)
    feed, product, reject = answer.feed, answer.product, first.reject
    found: dict[str, Any] = dict(judged.out)
    found |= {
        "feed_pressure": first.pressure, "feed_flow": answer.raw.volume(density), "mixed_flow": feed.volume(density),
        "feed_salinity": t.ratio_of.plain(feed.salt, feed.water), "permeate_flow": answer.product_flow,
        "first_permeate_flow": first.permeate.volume(density),
        "permeate_tds": t.solute_concentration.plain(product.salt, answer.product_flow),
        "permeate_boron": t.boron_concentration.plain(product.boron, answer.product_flow),
        "concentrate_flow": reject.volume(density), "concentrate_salinity": t.ratio_of.plain(reject.salt, reject.water),
        "concentrate_tds": t.solute_concentration.plain(reject.salt, reject.volume(density)),
        "concentrate_pressure": last.out["concentrate_pressure"],
        "pressure_drop": np.sum([s.out["pressure_drop"] for s in first.stages], axis=0), "reason": answer.reason,
        "answer": answer}
    return found


def more_power(sized: Any, r: dict[str, Any], run: dict[str, Any]) -> dict[str, Any]:
    """Power of the pumps between stages and before the second pass, and the sums they enter."""
    plan, pumps, answer, book = sized.array.plan, sized.pressure.more, r["answer"], sized.ledger
    zero = np.zeros_like(run["hp_power"])
    stage, second = zero, zero
    for prefix, rows, passed in (("stage_pump", plan.rows, answer.first),
                                 ("second_stage_pump", plan.second_rows, answer.second)):
        for k, row in enumerate(rows):
            name = f"{prefix}[{row.name}]"
            if name in pumps:
                own, _ = electric(pumps[name], passed.stages[k].feed_flow, float(row.boost),
                                  float(pumps[name].efficiency))
                stage = powers_of.plain(stage, own)
    if "second_pass_pump" in pumps:
        pump = pumps["second_pass_pump"]
        rise = pressure_rise.plain(answer.second.pressure, float(book["membrane.second_pass.suction"]))
        second, _ = electric(pump, answer.second.stages[0].feed_flow, rise, float(pump.efficiency))
    booster = boosters_of.plain(run["booster_power"], stage, second)
    section = section_of.plain(run["hp_power"], booster)
    return {"booster_power": booster, "section_power": section,
            "specific_energy": specific_energy.plain(section, r["permeate_flow"])}
