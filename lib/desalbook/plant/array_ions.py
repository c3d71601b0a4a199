"""Ions of every stream of an array of stages and passes, found again from what returns to the feed."""

from __future__ import annotations

from typing import Any

import numpy as np

from desalbook import membrane as m
from desalbook.membrane import ions as mi
from desalbook.membrane.ions import march_ions
from desalbook.plant import joints as ar
from desalbook.plant.array_plan import Plan, Row
from desalbook.plant.array_record import Staged, Stream
from desalbook.trail import Column, Figure, assumed, in_values, proving, residual, scope, solved
from desalbook.trail.corner import Corner

__all__ = ["ions_of", "sodium_hydroxide_part"]


def sodium_hydroxide_part(p: Plan) -> Column | None:
    """Which ions the caustic brings; None without caustic."""
    if not p.caustic or p.second is None:
        return None
    names = p.waters.analysis.molality.keys
    with scope(because=[p.second["chemical"], *p.second["stated"]]):
        return assumed("second_pass.sodium_hydroxide_part", [float(k in ("Na", "HCO3")) for k in names], "fraction",
                       title="One for the ions the sodium hydroxide brings", axis="ion", keys=names,
                       source="definition")


def ions_of(p: Plan, made: Staged, corner: Corner, factors: dict[str, Column], part: Column | None) -> dict[str, Any]:
    """Ions of every stream of one case, recorded; the feed's are found again from what returns."""
    an, s = p.waters.analysis, made.streams
    if not p.joined:  # one stage keeps the proportions of the raw water, whatever the isobaric ERD carries over
        product, left = m.split_ions(an.molality, an.molar_mass, factors, made.stages[p.rows[0].prefix],
                                     made.train_water)
        return {"raw": an.molality, "product": product, "reject": left}
    key = corner.temperature
    consts = {k: np.asarray(v.values) for k, v in factors.items()} | {"mass": np.asarray(an.molar_mass.values)}
    names = an.molality.keys
    caustic = p.caustic.get(key)
    def num(x: Any) -> float:
        return float(x)

    @in_values
    def march(rows: list[Row], b: np.ndarray, water: float) -> tuple[np.ndarray, np.ndarray]:
        """Numbers: permeate and concentrate ions of a pass."""
        out, out_w = None, 0.0
        for row in rows:
            r = made.stages[row.prefix]
            w_p, w_c = num(r["permeate_water"]), num(r["concentrate_water"])
            solution, i = r["solution"]
            permeate = march_ions(solution.only(i), b, consts["mass"], consts["passage"],
                                  consts["cation"] - consts["anion"]).permeate[0]
            b = mi.concentrate_ions.at("value", molality=b, feed_water=water, permeate_molality=permeate,
                                       permeate_water=w_p, concentrate_water=w_c)
            out = permeate if out is None else ar.mixed_molality.at("value", molality=out, water=out_w,
                                                                    other_molality=permeate, other_water=w_p)
            out_w, water = out_w + w_p, w_c
        assert out is not None
        return out, b

    raw = np.asarray(an.molality.values)
    b = raw.copy()
    back = p.second is not None and p.second["concentrate_to"] == "feed"

    @in_values
    def again(b: np.ndarray) -> np.ndarray:
        permeate, reject = march(p.rows, b, num(s["feed"].water))
        mixed, water = raw, num(s["raw"].water)
        if p.recycle is not None:
            w = num(s["recycle"].water)
            mixed, water = ar.mixed_molality.at("value", molality=mixed, water=water, other_molality=reject,
                                                other_water=w), water + w
        if back:
            fed = ar.scaled_molality.at("value", molality=permeate, salinity=num(s["second_taken"].salinity),
                                        permeate_salinity=num(s["first_permeate"].salinity))
            if caustic is not None and part is not None:
                fed = ar.raised_molality.at("value", molality=fed, caustic=num(caustic),
                                            sodium_hydroxide_part=np.asarray(part.values))
            _, second = march(p.second_rows, fed, num(s["second_feed"].water))
            w = num(s["second_reject"].water)
            mixed, water = ar.mixed_molality.at("value", molality=mixed, water=water, other_molality=second,
                                                other_water=w), water + w
        if p.device.mixing is not None:
            mixed = ar.carried_over.at("value", molality=mixed, exchanger_mixing=num(p.device.mixing),
                                       concentrate_water=num(s["reject"].water), water=num(s["feed"].water),
                                       other_molality=reject)
        return mixed

    if p.looped:
        scale = np.where(raw > 0, raw, 1.0)
        last: tuple[np.ndarray, np.ndarray] | None = None
        for _ in range(60):  # each ion with a secant of its own: they hardly feel one another
            new = again(b)
            if np.max(np.abs(new - b) / scale) < 1e-13:
                break
            slope = np.zeros_like(b)
            if last is not None:
                moved = b - last[0]
                slope = np.where(np.abs(moved) > 1e-14 * scale, (new - last[1]) / np.where(moved == 0, 1.0, moved), 0.0)
            last, b = (b, new), b + (new - b) / (1 - np.clip(slope, -2.0, 0.9))
        base = {"molality": an.molality, "molar_mass": an.molar_mass, **{f"stream_{k}_{n}": f for k, v in s.items()
                for n, f in (("water", v.water), ("salinity", v.salinity)) if f is not None},
                **{f"factor_{k}": v for k, v in factors.items()}}
        for name, r in made.stages.items():
            if "permeate_water" in r.figures:
                base |= {f"{name}_{k}": r[k] for k in ("permeate_water", "permeate_salinity", "concentrate_water")}
        if caustic is not None:
            base |= {"caustic": caustic, "part": part}
        if p.recycle is not None:
            base["recycle"] = p.recycle
        if p.device.mixing is not None:
            base["mixing"] = p.device.mixing
        with scope(because=p.because):
            ions = solved("membrane.feed_ions", b, "molality", title="Ions into the membranes", symbol="b_f",
                          inputs=base, method="secants, ion by ion, each slice marched", axis="ion", keys=names)
    else:
        ions = an.molality
    found: dict[str, Any] = {"raw": an.molality, "feed": ions}
    permeate, reject = _march_ions(p.rows, made, ions, s["feed"].water, factors, an, "membrane", found)
    found |= {"first_permeate": permeate, "reject": reject, "product": permeate}
    if p.second is not None:
        fed = _second_fed(p, s, permeate, caustic, part)
        found["second_taken"] = fed[0]
        found["second_feed"] = fed[1]
        two, second_reject = _march_ions(p.second_rows, made, fed[1], s["second_feed"].water, factors, an,
                                         "second_pass", found)
        found |= {"second_permeate": two, "second_reject": second_reject, "product": two}
        if "bypass" in s:
            by = ar.scaled_molality.at("second_pass.bypass_ions", molality=permeate, salinity=s["bypass"].salinity,
                                       permeate_salinity=s["first_permeate"].salinity,
                                       title="Ions of the permeate that by-passes")
            found["bypass"] = by
            found["product"] = ar.mixed_molality.at("membrane.blend_ions", molality=by, water=s["bypass"].water,
                                                    other_molality=two, other_water=s["second_permeate"].water,
                                                    title="Ions of the blend")
    if p.looped:
        _prove_ions(p, s, found, back)
    return found


def _second_fed(p: Plan, s: dict[str, Stream], permeate: Any, caustic: Figure | None, part: Any) -> tuple[Any, Any]:
    taken = ar.scaled_molality.at("second_pass.taken_ions", molality=permeate, salinity=s["second_taken"].salinity,
                                  permeate_salinity=s["first_permeate"].salinity,
                                  title="Ions taken by the second pass")
    if caustic is None:
        return taken, taken
    return taken, ar.raised_molality.at("second_pass.feed_ions", molality=taken, caustic=caustic,
                                        sodium_hydroxide_part=part)


def _march_ions(rows: list[Row], made: Staged, ions: Any, water: Figure, factors: dict[str, Column], an: Any,
                prefix: str, found: dict[str, Any]) -> tuple[Any, Any]:
    permeate = permeate_water = None
    for row in rows:
        r = made.stages[row.prefix]
        found[f"{row.prefix} feed"] = ions
        with scope(instead=("membrane", row.prefix)):
            own, ions = m.split_ions(ions, an.molar_mass, factors, r, water)
        found[f"{row.prefix} permeate"], found[f"{row.prefix} concentrate"] = own, ions
        if permeate is None:
            permeate, permeate_water = own, r["permeate_water"]
        else:
            assert permeate_water is not None
            permeate = ar.mixed_molality.at(f"{prefix}.ions_to[{row.name}]", molality=permeate, water=permeate_water,
                                            other_molality=own, other_water=r["permeate_water"],
                                            title=f"Permeate ions to stage {row.name}")
            permeate_water = ar.joined.at(f"{prefix}.ion_water_to[{row.name}]", mass_flow=permeate_water,
                                          other_flow=r["permeate_water"])
        water = r["concentrate_water"]
    return permeate, ions


def _prove_ions(p: Plan, s: dict[str, Stream], found: dict[str, Any], back: bool) -> None:
    if not proving():
        return
    mixed, water = found["raw"], s["raw"].water
    with scope(because=p.because):
        if p.recycle is not None:
            mixed = ar.mixed_molality.at("membrane.ions_with_recycle", molality=mixed, water=water,
                                         other_molality=found["reject"], other_water=s["recycle"].water)
            water = ar.joined.at("membrane.ion_water_with_recycle", mass_flow=water, other_flow=s["recycle"].water)
        if back:
            mixed = ar.mixed_molality.at("membrane.ions_with_return", molality=mixed, water=water,
                                         other_molality=found["second_reject"], other_water=s["second_reject"].water)
        if p.device.mixing is not None:
            mixed = ar.carried_over.at("membrane.ions_again", molality=mixed, exchanger_mixing=p.device.mixing,
                                       concentrate_water=s["reject"].water, water=s["feed"].water,
                                       other_molality=found["reject"])
        left = ar.ion_residual.at("membrane.residual_ions", molality=found["feed"], other_molality=mixed)
        residual(found["feed"], left, float(np.max(np.abs(found["feed"].values))))
