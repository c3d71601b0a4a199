"""System curves against pump curves: rows for a plot, on bare numbers of a sized plant."""

from __future__ import annotations

from typing import Any

import numpy as np

from desalbook.hydraulics import low_pressure as sc
from desalbook.hydraulics.head import pressure_head
from desalbook.trail import values

__all__ = ["curves", "operating_points"]

RATIOS = tuple(i / 20 for i in range(33))


def _systems(sized: Any) -> dict[str, dict[str, float]]:
    """By pump: flow of one, duty and shut-off head, static head, pipe loss, media loss clean and dirty (m, m3/s)."""
    book, ops = sized.ledger, sized
    pre, cold = ops.pretreated, ops.waters.at["cold"]
    rho, rho_f = float(cold.density), float(ops.array.by_corner["cold-aged"]["permeate_density"])

    def loss(pressure: float, density: float) -> float:
        with values(keep=False):
            return float(pressure_head.at("feed_pump.media_head", pressure_rise=pressure, density=density))

    def rise(id: str, density: float) -> float:
        return loss(float(book[id]), density)

    drops = pre.cartridges
    found = {"feed_pump": {
        "flow": float(pre.feed_pump.flow), "head": float(pre.feed_pump.head),
        "shutoff": rise("feed_pump.shutoff_rise", rho),
        "static": float(book["feed_pump.static_lift"]) + float(book["feed_pump.suction_head_wanted"]),
        "pipes": float(book["piping.runs[feed].loss@cold"]),
        "clean": loss(float(pre.clean_drop["cold"]) + float(drops.clean_drop), rho),
        "dirty": loss(float(pre.dirty_drop) + float(drops.dirty_drop), rho)}}
    if pre.wash_pump is not None:
        bed, rho_w = float(pre.wash_rate.bed_head), float((pre.wash_fluid or cold).density)
        found["backwash_pump"] = {
            "flow": float(pre.wash_pump.flow), "head": float(pre.wash_pump.head),
            "shutoff": rise("backwash_pump.shutoff_rise", rho_w),
            "static": float(book["backwash_pump.static_lift"]) + float(book["backwash_pump.outlet_head"]) + bed,
            "pipes": float(book["piping.runs[wash].loss@cold"]) + float(book["backwash_pump.underdrain_loss"]),
            "clean": 0.0, "dirty": 0.0}
    for name, of in ops.transfer.items():
        found[name] = {"flow": float(of.pump.flow), "head": float(of.pump.head),
                       "shutoff": rise(f"{name}.shutoff_rise", rho_f),
                       "static": float(of.static_head) + float(of.outlet_head), "pipes": float(of.friction_head),
                       "clean": 0.0, "dirty": 0.0}
    found["cip"] = {"flow": float(book["cip.flow"]), "head": float(book["cip.pump_head"]),
                    "shutoff": rise("cip.shutoff_rise", rho_f),
                    "static": float(book["cip.static_lift"]) + float(book["cip.outlet_head"]),
                    "pipes": float(book["piping.runs[cleaning].loss"]),
                    "clean": float(book["cip.cartridge_loss_clean"]),
                    "dirty": float(book["cip.cartridge_loss_dirty"])}
    return found


def curves(sized: Any) -> list[dict[str, Any]]:
    """Rows by pump and flow: head of the system clean and dirty, head of the pump (SI, one machine)."""
    rows, ratio = [], np.array(RATIOS)
    for pump, s in _systems(sized).items():
        with values(keep=False):
            system = {state: sc.system_curve_head.at(f"{pump}.system_head", static_head=s["static"],
                                                     friction_head=s["pipes"], media_head=s[state], flow_ratio=ratio)
                      for state in ("clean", "dirty")}
            head = sc.parabolic_pump_head.at(f"{pump}.curve_head", shutoff_head=s["shutoff"], pump_head=s["head"],
                                             flow_ratio=ratio)
        id = f"{pump}.head" if f"{pump}.head" in sized.ledger else f"{pump}.pump_head"
        rows += [{"id": id, "pump": pump, "flow": x * s["flow"], "system_clean": clean, "system_dirty": dirty,
                  "pump_head": given} for x, clean, dirty, given in zip(
                      RATIOS, system["clean"].tolist(), system["dirty"].tolist(), head.tolist(), strict=True)]
    return rows


def operating_points(sized: Any) -> list[dict[str, Any]]:
    """Where pump and system meet at full speed, clean and dirty (SI, one machine)."""
    rows = []
    for pump, s in _systems(sized).items():
        for state in ("clean", "dirty"):
            with values(keep=False):
                ratio = float(sc.operating_flow_ratio.at(
                    f"{pump}.flow_ratio", shutoff_head=s["shutoff"], pump_head=s["head"], static_head=s["static"],
                    friction_head=s["pipes"], media_head=s[state]))
                head = float(sc.parabolic_pump_head.at(f"{pump}.curve_head", shutoff_head=s["shutoff"],
                                                       pump_head=s["head"], flow_ratio=ratio))
            rows.append({"pump": pump, "state": state, "flow": ratio * s["flow"], "flow_ratio": ratio, "head": head})
    return rows
