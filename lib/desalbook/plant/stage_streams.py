"""Streams between the joints of stages and passes, for the edge list of the plant."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from desalbook.plant.array_record import Stream
from desalbook.trail.corner import Corner

__all__ = ["staged_streams"]


def staged_streams(a: Any, corner: Corner, row: Callable[..., dict[str, Any]],
                   ions: Callable[..., dict[str, Any]]) -> list[dict[str, Any]]:
    """Edges from the feed's joint to product, outfall and waste.

    Parameters
    ----------
    a : Array
    corner : str
    row, ions : callable
        Makers of a row and of its ion columns.
    """
    p, made = a.plan, a.staged[corner]
    s, b, rows = made.streams, made.ions, []

    def edge(key: str, start: str, end: str, title: str, of: Stream, molality: Any, **more: Any) -> None:
        figures = {k: v for k, v in (("volume_flow", of.flow), ("salinity", of.salinity), ("density", of.density),
                                     ("pressure", of.pressure)) if v is not None}
        rows.append(ions(row(key, start, end, title, **figures, **more), float(of.water), molality, float(of.boron)))

    def pass_edges(stages: list[Any], start: str, feed: Stream, prefix: str, header: str, end: str) -> None:
        place, words = start, "" if prefix == "" else "second pass, "
        for k, r in enumerate(stages):
            own = made.stages[r.prefix]
            here = f"{words}stage {r.name}"
            edge(f"{prefix}feed_{r.name}", place, here, f"Into {here}", feed, b[f"{r.prefix} feed"])
            permeate = Stream(own["permeate_water"], own["permeate_salt"], own["permeate_boron_flow"],
                              own["permeate_flow"], own["permeate_salinity"], own["permeate_density"])
            edge(f"{prefix}permeate_{r.name}", here, header, f"Permeate of {here}", permeate, b[f"{r.prefix} permeate"])
            feed = Stream(own["concentrate_water"], own["concentrate_salt"], own["concentrate_boron_flow"],
                          own["concentrate_flow"], own["concentrate_salinity"], own["concentrate_density"],
                          own["concentrate_pressure"])
            place = here
            if k == len(stages) - 1:
                edge(f"{prefix}reject_{r.name}", here, end, f"Concentrate of {here}", feed,
                     b[f"{r.prefix} concentrate"])

    pass_edges(p.rows, "feed joint", s["feed"], "", "permeate header", "concentrate header")
    names = list(b["raw"].keys)
    reject, w_c = b["reject"], float(s["reject"].water)
    gone = 1.0
    if p.recycle is not None:
        gone = 1 - float(p.recycle)
        edge("recycle", "concentrate header", "feed joint", "Recycled concentrate", s["recycle"], reject)
    taken = dict.fromkeys(names, 0.0)
    boron = 0.0
    if p.device.mixing is not None:
        share, mixed = float(p.device.mixing) * w_c, s["mixed"]
        joined = _joined(p, s, b)
        taken = {k: share * (float(reject[k]) - joined[k]) for k in names}
        boron = share * (float(s["reject"].boron) / w_c - float(mixed.boron) / float(mixed.water))
        carried = row("exchanged", "concentrate header", "feed joint", "Salt carried over in the ERD")
        rows.append(ions(carried, 1.0, taken, boron) | {"water_kg_s": 0.0})
    water = gone * w_c
    out = {k: float(reject[k]) - taken[k] / water for k in names}
    rows.append(ions(row("concentrate", "concentrate header", "outfall", "Concentrate", pressure=s["reject"].pressure),
                     water,
                     out,
                     gone * float(s["reject"].boron) - boron))
    if p.second is None:
        edge("permeate", "permeate header", "product", "Permeate", s["product"], b["product"])
        return rows
    edge("second_taken", "permeate header", "second pass", "Permeate taken by the second pass", s["second_taken"],
         b["second_taken"])
    caustic = p.caustic.get(corner.temperature)
    if caustic is not None:
        w = float(s["second_taken"].water)
        dose = row("second_pass_caustic", "dosing", "second pass", "Sodium hydroxide, as sodium and alkalinity")
        rows.append(ions(dose, w, {k: float(caustic) if k in ("Na", "HCO3") else 0.0 for k in names}, 0.0)
                    | {"water_kg_s": 0.0})
    pass_edges(p.second_rows, "second pass", s["second_feed"], "second_", "blend",
               "feed joint" if p.second["concentrate_to"] == "feed" else "waste")
    if "bypass" in s:
        edge("bypass", "permeate header", "blend", "Permeate that by-passes", s["bypass"], b["bypass"])
    edge("permeate", "blend", "product", "Permeate, blended", s["product"], b["product"])
    return rows


def _joined(p: Any, s: dict[str, Stream], b: dict[str, Any]) -> dict[str, float]:
    """Ions of the feed before it passes the isobaric ERD, by summation."""
    parts = [(float(s["raw"].water), b["raw"])]
    if p.recycle is not None:
        parts.append((float(s["recycle"].water), b["reject"]))
    if p.second is not None and p.second["concentrate_to"] == "feed":
        parts.append((float(s["second_reject"].water), b["second_reject"]))
    total = sum(w for w, _ in parts)
    return {k: sum(w * float(m[k]) for w, m in parts) / total for k in b["raw"].keys}
