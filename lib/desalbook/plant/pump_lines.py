"""The high-pressure pump as lines to draw: its curve at full speed and in each case's speed, and the points."""

from __future__ import annotations

from typing import Any

import numpy as np

from desalbook.hydraulics import pump_curves as c
from desalbook.trail import values

__all__ = ["pump_lines"]


def pump_lines(sized: Any, points: int = 41) -> dict[str, Any] | None:
    """Curve and operating points of one high-pressure pump, SI.

    Parameters
    ----------
    sized : Sized
    points : int
        Along the flow, from none to run-out.

    Returns
    -------
    dict or None
        ``flow`` (m3/s), ``head`` (m) and ``efficiency`` at full speed, shape (points,); ``least``, ``runout`` (m3/s);
        ``corners``: dicts of `corner`, flow, head, speed_ratio, efficiency, met, and ``line`` (flow, head) there.
        None for a displacement pump, which has no curve.
    """
    p, ledger = sized.pressure, sized.ledger
    curve = p.curve
    if curve is None:
        return None
    line = {k: float(v) for k, v in curve.head_line.items()}
    runout = float(ledger["hp_pump.runout_flow"])
    flow = np.linspace(0.0, runout, points)
    best, idle = float(curve.bep_flow), float(curve.no_load_fraction)

    def head_at(flow: np.ndarray, speed: float) -> np.ndarray:
        with values(keep=False):
            return c.pump_curve_head.at("hp_pump.head", **line, flow=flow, speed_ratio=speed)

    with values(keep=False):
        share = c.bep_flow_ratio.at("hp_pump.flow_over_best", flow=flow, bep_flow=best, speed_ratio=1.0)
        eta = c.efficiency_off_bep.at("hp_pump.efficiency", best_efficiency=float(curve.best_efficiency),
                                      flow_fraction=share, no_load_fraction=idle)
    corners = []
    for name, o in p.operating.items():
        speed = float(o.speed_ratio)
        at = flow * speed
        corners.append({"corner": name, "flow": float(o.flow), "head": float(o.head), "speed_ratio": speed,
                        "efficiency": float(o.efficiency), "met": o.met,
                        "line": (at, head_at(at, speed))})
    return {"flow": flow, "head": head_at(flow, 1.0), "efficiency": eta,
            "least": float(ledger["hp_pump.minimum_continuous"]), "runout": runout, "corners": corners}
