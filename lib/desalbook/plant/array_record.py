"""The solved array put once through the recording relations in each case; a plain train is one stage."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from desalbook import membrane as m
from desalbook.balances import partial_flow, sum_of_pressure_drops
from desalbook.duty.flows import recovery_of
from desalbook.membrane import residuals as rs
from desalbook.membrane import transport as t
from desalbook.membrane.vessel import salinity_residual
from desalbook.plant import joints as ar
from desalbook.plant.array_plan import Plan, Row
from desalbook.plant.cases import ph_of
from desalbook.plant.joints import feed_water_of, flow_of_water, salinity_with_mixing
from desalbook.plant.solve_array import Answer
from desalbook.trail import Column, Figure, assumed, proving, residual, scope, solved
from desalbook.trail.corner import Corner

__all__ = ["Staged", "Stream", "record_array"]


@dataclass(frozen=True)
class Stream:
    """Water, salt and boron (kg/s) as figures, volume flow, and ions (mol/kg)."""

    water: Figure
    salt: Figure
    boron: Figure
    flow: Figure | None = None
    salinity: Figure | None = None
    density: Figure | None = None
    pressure: Figure | None = None
    ions: Any = None

    @property
    def volume_flow(self) -> Figure:
        """m3/s; only of a stream whose density is known."""
        assert self.flow is not None
        return self.flow


@dataclass
class Staged:
    """One case: water into the train, flow into the membranes, each stage as it was recorded, streams by name.

    A plain train has no other streams than those of its one stage.
    """

    train_water: Figure
    feed_flow: Figure
    streams: dict[str, Stream] = field(default_factory=dict)
    stages: dict[str, m.Recorded] = field(default_factory=dict)
    carbon_dioxide: Figure | None = None
    ions: dict[str, Any] = field(default_factory=dict)


def _sub(id: str, name: str) -> str:
    return f"{id}.{name}" if id.endswith("]") else f"{id}_{name}"


def _stream(id: str, title: str, water: Figure, salt: Figure, boron: Figure, curve: Column, **more: Any) -> Stream:
    x = t.ratio_of.at(_sub(id, "salinity"), title=f"Salt per water, {title}", solute=salt, water=water)
    rho = t.density_of.at(_sub(id, "density"), title=f"Density, {title}", salinity=x, **dict(curve.items()))
    flow = t.volume_flow.at(_sub(id, "flow"), title=f"Flow, {title}", solute=salt, water=water, density=rho)
    return Stream(water, salt, boron, flow, x, rho, **more)


def _join(id: str, title: str, a: Stream, b: Stream) -> tuple[Figure, Figure, Figure]:
    made = [ar.joined.at(_sub(id, k), title=f"{k.capitalize()}, {title}", mass_flow=getattr(a, k),
                         other_flow=getattr(b, k)) for k in ("water", "salt", "boron")]
    return made[0], made[1], made[2]


def _of(r: m.Recorded, which: str, pressure: Figure | None = None) -> Stream:
    return Stream(r[f"{which}_water"], r[f"{which}_salt"], r[f"{which}_boron_flow"], r[f"{which}_flow"],
                  r[f"{which}_salinity"], r[f"{which}_density"], pressure)


FRESH = ("osmotic pressure and density by the seawater's curves at low salinity: against the engine's answer for the "
         "permeate's own ions, up to six times as strong, osmotic pressure is 4 to 6 % low, at the last "
         "element below 1.5 % of this pressure, and density within 0.01 %")
"""Of the second pass; see tests/plant/test_second_pass_curves.py."""


class Recorder:
    """Writes the lines of one case."""

    def __init__(self, p: Plan, answer: Answer, i: int, corner: Corner, feed: Figure, leads: Mapping[Any, Column]):
        self.p, self.answer, self.i, self.corner, self.feed, self.leads = p, answer, i, corner, feed, leads
        self.key = corner.temperature
        self.at, self.an = p.waters.at[self.key], p.waters.analysis
        self.base = p.inputs | {"feed": feed}

    def solved(self, id: str, value: float, kind: str, title: str, symbol: str, note: str = "") -> Figure:
        return solved(id, float(value), kind, title=title, symbol=symbol, inputs=self.base, note=note,
                      method="secants on all torn streams together")

    def vessels(self, row: Row, solution: m.Solution, port: Figure, ph: Figure, wanted: Figure | None,
                **feed: Figure) -> m.Recorded:
        """One stage on record, from its feed."""
        f = dict(row.sheet.geo) | row.sheet.service[self.corner] | feed | {
            "vessels": row.vessels, "elements": row.elements, "temperature": self.at.temperature, "ph_total": ph,
            "permeate_pressure": self.p.inp("membrane.permeate_pressure"), "port_loss": port,
            "water_viscosity": self.at.water_viscosity, "osmotic": self.at.osmotic_curve,
            "density": self.at.density_curve}
        if row in self.p.rows:  # the feed of a second pass keeps its pH along the vessel
            f |= {"borate_shift": self.at.borate_shift, "borate_salinity": self.an.salinity}
        with scope(instead=("membrane", row.prefix)):
            return m.record(solution, self.i, f, lead_fraction=self.lead(row), wanted=wanted)

    def march(self, rows: list[Row], run: Any, prefix: str, feed: Stream, pressure: Figure,
              port: Figure, ph: Figure) -> tuple[Stream, Stream, Figure]:
        """Every stage of a pass: permeate, concentrate, drop."""
        assert feed.salinity is not None
        flow, x, xb = feed.volume_flow, feed.salinity, t.ratio_of.at(f"{prefix}.feed_boron_ratio", solute=feed.boron,
                                                              water=feed.water, title="Boron per water of the feed")
        permeate = reject = drop = None
        for k, row in enumerate(rows):
            if k:
                assert reject is not None and reject.salinity is not None
                flow, x = reject.volume_flow, reject.salinity
                with scope(instead=("membrane", row.prefix)):
                    xb = t.ratio_of.at("membrane.feed_boron_ratio", solute=reject.boron, water=reject.water,
                                       title="Boron per water of the feed")
                    pressure = ar.boosted.at("membrane.feed_pressure", concentrate_pressure=reject.pressure,
                                             stage_boost=row.boost)
            made = self.vessels(row, replace(run.stages[k], unknown="permeate_flow"), port, ph, None, feed_flow=flow,
                                feed_salinity=x, boron_ratio=xb, feed_pressure=pressure)
            self.made.stages[row.prefix] = made
            own, reject = _of(made, "permeate"), _of(made, "concentrate", made["concentrate_pressure"])
            if permeate is None:
                permeate, drop = own, made["pressure_drop"]
            else:
                tag = f"{prefix}.permeate_to[{row.name}]"
                permeate = _stream(tag, f"permeate to stage {row.name}", *_join(
                    tag, f"permeate to stage {row.name}", permeate, own), self.at.density_curve)
                drop = sum_of_pressure_drops.at(f"{prefix}.drop_to[{row.name}]", title="Pressure drops in a row",
                                                symbol="Delta_p", pressure_drop=drop,
                                      other_drop=made["pressure_drop"])
        assert permeate is not None and reject is not None and drop is not None
        return permeate, reject, drop

    def lead(self, row: Row) -> Column:
        return self.leads[row.prefix]

    def run(self) -> tuple[m.Recorded, Staged]:
        p, i, answer, at, an = self.p, self.i, self.answer, self.at, self.an
        raw_water = feed_water_of.at("membrane.train_water", feed_flow=self.feed, feed_density=at.density,
                                     feed_salinity=an.salinity)
        x, xb, water, flow = an.salinity, p.waters.boron, raw_water, self.feed
        into = answer.feed
        if p.looped:
            if p.joined:
                water = self.solved("membrane.feed_water", into.water[i], "mass flow", "Water into the membranes",
                                    "M_fm")
            x = self.solved("membrane.feed_salinity", into.salt[i] / into.water[i], "salinity",
                            "Salinity into the membranes", "X_fm")
            xb = self.solved("membrane.feed_boron", into.boron[i] / into.water[i], "salinity",
                             "Boron per water into the membranes", "X_fB")
        rho = at.density
        if p.looped or p.joined:
            rho = t.density_of.at("membrane.mixed_density", salinity=x, **dict(at.density_curve.items()))
            flow = flow_of_water.at("membrane.feed_flow", water=water, salinity=x, density=rho)
        self.made = Staged(raw_water, flow)
        if not p.joined:
            out = self.plain(raw_water, flow, x, xb)
            product_flow = out["permeate_flow"]
        else:
            out, product_flow = self.joined(raw_water, Stream(
                water, t.vessel_salt.at("membrane.feed_salt", node_water=water, feed_salinity=x,
                                        title="Salt into the membranes"),
                t.vessel_salt.at("membrane.feed_boron_flow", node_water=water, feed_salinity=xb,
                                 title="Boron into the membranes"), flow, x, rho), xb)
        recovery_of.at("membrane.recovery_at", title="RO recovery", symbol="Y_m", permeate_flow=product_flow,
                       feed_flow=self.feed)
        return out, self.made

    def plain(self, water: Figure, flow: Figure, x: Figure, xb: Figure) -> m.Recorded:
        """One stage, whose feed at most takes up concentrate in an isobaric ERD."""
        p, row, waters = self.p, self.p.rows[0], self.p.waters
        r = self.made.stages[row.prefix] = self.vessels(
            row, self.answer.first.stages[0], p.inp("membrane.port_loss"), ph_of(waters, self.key), p.permeate,
            feed_flow=flow, feed_salinity=x, boron_ratio=xb)
        if p.looped and proving():
            ends = (("salinity", x, self.an.salinity, r["concentrate_salinity"]),
                    ("boron", xb, waters.boron, t.ratio_of.at(
                        "membrane.concentrate_boron_ratio", solute=r["concentrate_boron_flow"],
                        water=r["concentrate_water"])))
            for name, figure, raw, end in ends:
                again = salinity_with_mixing.at(
                    f"membrane.feed_{name}_again", feed_salinity=raw, exchanger_mixing=p.device.mixing,
                    concentrate_water=r["concentrate_water"], water=water, concentrate_salinity=end)
                left = salinity_residual.at(f"membrane.residual_mixing_{name}", salinity=figure, found=again)
                residual(figure, left, float(raw) or 1.0)
        return r

    def joined(self, raw_water: Figure, feed: Stream, xb: Figure) -> tuple[m.Recorded, Figure]:
        """Stages and passes, and what joins them."""
        p, at, an = self.p, self.at, self.an
        raw_salt = t.vessel_salt.at("membrane.train_salt", node_water=raw_water, feed_salinity=an.salinity,
                                    title="Salt in the feed of the train")
        raw_boron = t.vessel_salt.at("membrane.train_boron", node_water=raw_water, feed_salinity=p.waters.boron,
                                     title="Boron in the feed of the train")
        raw = Stream(raw_water, raw_salt, raw_boron, self.feed, an.salinity, at.density)
        pressure = self.solved("membrane.feed_pressure", self.answer.first.pressure[self.i], "gauge pressure",
                               "Feed pressure", "p_f")
        first, reject, drop = self.march(p.rows, self.answer.first, "membrane", feed, pressure,
                                         p.inp("membrane.port_loss"), ph_of(p.waters, self.key))
        self.made.streams |= {"raw": raw, "feed": feed, "first_permeate": first, "reject": reject}
        product, second = first, None
        if p.second is not None:
            product, second = self.second(first)
        self.made.streams["product"] = product
        assert product.flow is not None and product.salinity is not None and reject.pressure is not None
        if proving():
            left = rs.flow_residual.at("membrane.residual_flow", permeate_flow=product.flow,
                                               wanted_flow=p.permeate)
            residual(pressure, left, float(p.permeate))
        if p.looped:
            self.mix(raw, feed, reject, second, xb)
        out = self.totals(feed, first, reject, product, drop, pressure)
        recovery_of.at("membrane.first_pass_recovery", title="Recovery of the first pass", symbol="Y_1",
                       permeate_flow=first.flow, feed_flow=feed.flow)
        return m.Recorded(out), product.flow

    def totals(self, feed: Stream, first: Stream, reject: Stream, product: Stream, drop: Figure,
               pressure: Figure) -> dict[str, Any]:
        """Short names the rest of the plant reads; the product is what the passes give together."""
        stages = self.made.stages
        tds = t.solute_concentration.at("membrane.permeate_tds", solute=product.salt, flow=product.flow,
                                        title="Permeate TDS", symbol="C_p")
        boron = t.boron_concentration.at("membrane.permeate_boron", solute=product.boron, flow=product.flow,
                                         title="Permeate boron", symbol="C_pB")
        last = stages[self.p.rows[-1].prefix]
        return {
            "feed_pressure": pressure, "feed_flow": feed.flow, "columns": stages[self.p.rows[0].prefix]["columns"],
            "permeate_water": product.water, "permeate_salt": product.salt, "permeate_boron_flow": product.boron,
            "permeate_flow": product.flow, "permeate_salinity": product.salinity,
            "permeate_density": product.density, "permeate_tds": tds, "permeate_boron": boron,
            "first_permeate_flow": first.flow, "pressure_drop": drop,
            **{f"concentrate_{k}": last[f"concentrate_{k}"] for k in (
                "water", "salt", "boron_flow", "flow", "salinity", "density", "tds", "pressure")}}

    def second(self, first: Stream) -> tuple[Stream, Stream]:
        """Feed of the second pass, its stages, and the blend."""
        p, i, answer, s = self.p, self.i, self.answer, self.p.second
        assert s is not None and p.second_sheet is not None and answer.second is not None
        source = first
        with scope(because=p.because):
            if s["front_elements"] is not None:
                source = self.rear(first)
            taken = [ar.part_of.at(f"second_pass.taken_{k}", mass_flow=getattr(source, k), taken_part=s["share"],
                                   title=f"{k.capitalize()} taken by the second pass")
                     for k in ("water", "salt", "boron")]
            by = None
            if float(s["share"]) < 1 or s["front_elements"] is not None:
                rest = [ar.rest_of.at(f"second_pass.bypass_{k}", mass_flow=getattr(first, k), other_flow=v,
                                      title=f"{k.capitalize()} that by-passes")
                        for k, v in zip(("water", "salt", "boron"), taken, strict=True)]
                by = _stream("second_pass.bypass", "permeate that by-passes", rest[0], rest[1], rest[2],
                             self.at.density_curve)
            salt = taken[1]
            caustic = p.caustic.get(self.key)
            if caustic is not None:
                salt = ar.caustic_salinity.at("second_pass.feed_salt", mass_flow=salt, caustic=caustic, water=taken[0])
            feed = _stream("second_pass.feed", "feed of the second pass", taken[0], salt, taken[2],
                           self.at.density_curve)
            pressure = self.solved("second_pass.feed_pressure", answer.second.pressure[i], "gauge pressure",
                                   "Feed pressure of the second pass", "p_f2", FRESH)
            permeate, reject, _ = self.march(p.second_rows, answer.second, "second_pass", feed,
                                             pressure, s["port_loss"], p.ph[self.key])
            wanted = partial_flow.at("second_pass.permeate_wanted", title="Permeate of the second pass", symbol="Q_p2",
                                     flow=feed.flow, fraction=s["recovery"])
            if proving():
                left = rs.flow_residual.at("second_pass.residual_flow", permeate_flow=permeate.flow,
                                                   wanted_flow=wanted)
                residual(pressure, left, float(wanted))
            self.made.streams["second_taken"] = Stream(*taken, salinity=t.ratio_of.at(
                "second_pass.taken_salinity", solute=taken[1], water=taken[0],
                title="Salt per water of the permeate taken"))
            self.made.streams |= {"second_feed": feed, "second_permeate": permeate, "second_reject": reject}
            self.made.stages["second"] = m.Recorded({"feed_pressure": pressure})
            if by is None:
                return permeate, reject
            self.made.streams["bypass"] = by
            blend = _stream("membrane.blend", "blended permeate", *_join("membrane.blend", "blended permeate", by,
                                                                        permeate), self.at.density_curve)
        return blend, reject

    def rear(self, first: Stream) -> Stream:
        p, s = self.p, self.p.second
        assert s is not None
        c, share = self.made.stages[p.rows[0].prefix]["columns"], self.leads["rear"]
        area, n = p.rows[0].sheet.geo["slice_area"], p.rows[0].vessels
        water = ar.rear_water.at("second_pass.rear_water", flux=c["flux"], rear_fraction=share, slice_area=area,
                                 water_density=self.at.density_curve["rho_0"], vessels=n)
        salt, boron = (ar.rear_solute.at(f"second_pass.rear_{k}", salt_flux=c[f"{k}_flux"], rear_fraction=share,
                                         slice_area=area, vessels=n, title=f"{k.capitalize()} in the rear permeate")
                       for k in ("salt", "boron"))
        found = Stream(water, salt, boron)
        for row in p.rows[1:]:
            made = self.made.stages[row.prefix]
            found = Stream(*_join(f"second_pass.rear_to[{row.name}]", "rear permeate", found, _of(made, "permeate")))
        return found

    def mix(self, raw: Stream, feed: Stream, reject: Stream, second: Stream | None, boron_ratio: Figure) -> None:
        """What joins the feed; and, on record, the tear streams found again from what the membranes made of them."""
        p = self.p
        mixed = raw
        with scope(because=p.because):
            if p.recycle is not None:
                back = Stream(*[ar.part_of.at(f"membrane.recycle_{k}", mass_flow=getattr(reject, k),
                                              taken_part=p.recycle,
                                              title=f"{k.capitalize()} in the recycled concentrate")
                                for k in ("water", "salt", "boron")])
                self.made.streams["recycle"] = back
                mixed = Stream(*_join("membrane.with_recycle", "feed with the recycled concentrate", mixed, back))
            if second is not None and p.second is not None and p.second["concentrate_to"] == "feed":
                mixed = Stream(*_join("membrane.with_return", "feed with the returned concentrate", mixed, second))
            self.made.streams["mixed"] = mixed
            if not proving():
                return
            left = ar.rest_of.at("membrane.residual_feed_water", mass_flow=feed.water, other_flow=mixed.water,
                                 title="Mass-flow residual", symbol="r_M")
            residual(feed.water, left, float(feed.water))
            for name, figure in (("salt", feed.salinity), ("boron", boron_ratio)):
                assert figure is not None
                again = t.ratio_of.at(f"membrane.mixed_{name}_ratio", solute=getattr(mixed, name), water=mixed.water,
                                      title=f"{name.capitalize()} per water of the joined feed")
                if p.device.mixing is not None:
                    end = t.ratio_of.at(f"membrane.concentrate_{name}_ratio", solute=getattr(reject, name),
                                        water=reject.water, title=f"{name.capitalize()} per water of the concentrate")
                    again = salinity_with_mixing.at(
                        f"membrane.feed_{name}_again", feed_salinity=again, exchanger_mixing=p.device.mixing,
                        concentrate_water=reject.water, water=feed.water, concentrate_salinity=end)
                left = salinity_residual.at(f"membrane.residual_feed_{name}", salinity=figure, found=again)
                residual(figure, left, float(again) or 1.0)


def record_array(p: Plan, answer: Answer, corners: tuple[Corner, ...], feed: Figure) -> tuple[
        dict[str, m.Recorded], dict[Corner, Staged]]:
    """All cases.

    Returns
    -------
    dict, dict
        By case: the short names of `membrane.Recorded`, and the streams and stages.
    """
    slices = p.sheet.geo["slices"]
    leads = {}
    for row in [*p.rows, *p.second_rows]:
        keys = [f"{e + 1}.{s + 1}" for e in range(int(row.elements)) for s in range(int(slices))]
        with scope(because=[row.elements, slices], instead=("membrane", row.prefix)):
            leads[row.prefix] = assumed(
                "membrane.lead_fraction", [1 / int(slices) if k.startswith("1.") else 0.0 for k in keys], "fraction",
                title="Fraction of each slice in the lead element", axis="node", keys=keys, source="definition")
    if p.second is not None and p.second["front_elements"] is not None:
        keys, front = leads[p.rows[0].prefix].keys, int(p.second["front_elements"])
        with scope(because=[p.second["front_elements"], p.second["takes"], p.rows[0].elements, slices]):
            leads["rear"] = assumed(
                "second_pass.rear_fraction", [float(int(k.split(".")[0]) > front) for k in keys], "fraction",
                title="One for the slices whose permeate leaves at the rear", axis="node", keys=keys,
                source="definition")
    by_corner, staged = {}, {}
    for i, corner in enumerate(corners):
        with scope(corner=corner):
            by_corner[corner], staged[corner] = Recorder(p, answer, i, corner, feed, leads).run()
    return by_corner, staged
