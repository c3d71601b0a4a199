"""The plan of a membrane array: its stages and passes, what joins them, and how they are solved.

A plain train is one stage without loops but that of an isobaric ERD; see `array_record` for the lines of the trail.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

import numpy as np

from desalbook import membrane as m
from desalbook.hydraulics.energy_recovery import kinds
from desalbook.membrane import ions as mi
from desalbook.membrane import transport as t
from desalbook.membrane.element import Element
from desalbook.membrane.ions import march_ions
from desalbook.plant.cases import PERMEABILITIES, fields, ph_of
from desalbook.plant.interpass import target_of
from desalbook.plant.joints import first_pass_permeate, stage_vessels
from desalbook.plant.limits import SHEET
from desalbook.plant.solve_array import Answer, Loops, Pass, SecondPass, Stage, solve_array, solve_cached
from desalbook.plant.waters import TEMPERATURES
from desalbook.problems import Infeasible
from desalbook.tables import table
from desalbook.trail import Choice, Figure, engine, in_values, note, scope
from desalbook.trail.corner import Corner
from desalbook.trail.limits import limit
from desalbook.water.carbonate import total_from_nbs
from desalbook.water.phreeqc import Water, dose_to_ph, engine_record, permeate_ph

__all__ = ["Chemistry", "Plan", "Row", "Sheet", "chemistry", "plan", "record_chemistry", "second_limits", "sheet_of"]

SECOND_LIMITS = ("flux", "lead_flux", "element_recovery", "recovery_polarisation", "beta_max",
                 "vessel_drop")

@dataclass
class Sheet:
    """An element as it stands in its vessels: sheet, channel, permeabilities by case.

    ``along`` has columns along the vessel where element types stand by position (``mixed``); ``element`` is what the
    plant sees, with the mean area.
    """

    element: Element
    along: Element
    geo: dict[str, Any]
    service: dict[str, dict[str, Figure]] = field(default_factory=dict)
    mixed: m.Mixed | None = None


@dataclass
class Row:
    """One stage: its name, the prefix of its lines, and its figures; ``vessels`` comes with the pick."""

    name: str
    prefix: str
    key: str
    elements: Figure
    sheet: Sheet
    share: Figure | None = None
    held: Figure | None = None
    boost: Figure | None = None
    efficiency: Figure | None = None
    motor: Figure | None = None
    vessels: Figure | None = None


@dataclass
class Plan:
    """Stages of both passes and what joins them."""

    inp: Any
    waters: Any
    permeate: Figure
    device: Any
    rows: list[Row]
    recycle: Figure | None
    second: dict[str, Any] | None = None
    second_rows: list[Row] = field(default_factory=list)
    caustic: dict[str, Figure] = field(default_factory=dict)
    ph: dict[str, Figure] = field(default_factory=dict)

    @property
    def sheet(self) -> Sheet:
        """Of the first stage."""
        return self.rows[0].sheet

    @property
    def second_sheet(self) -> Sheet | None:
        """Of the second pass."""
        return self.second_rows[0].sheet if self.second_rows else None

    @property
    def joined(self) -> bool:
        """Whether stages, a second pass or a recycle make more of it than a plain train."""
        return len(self.rows) > 1 or self.second is not None or self.recycle is not None

    @property
    def sheets(self) -> list[tuple[str, Sheet]]:
        """Each sheet once, with the prefix of its inputs."""
        found: list[tuple[str, Sheet]] = []
        for tag, rows in (("", self.rows), ("second_", self.second_rows)):
            for row in rows:
                if all(row.sheet is not one for _, one in found):
                    found.append((tag if row is rows[0] else f"{tag}{row.name}_", row.sheet))
        return found

    @property
    def looped(self) -> bool:
        """Whether what leaves the membranes comes back into their feed."""
        back = self.second is not None and self.second["concentrate_to"] == "feed"
        return back or self.recycle is not None or self.device.mixing is not None

    @property
    def because(self) -> list[Any]:
        """Choices that made this array what it is."""
        found = [self.device.choice]
        if self.second is not None:
            found += [self.second[k] for k in ("element", "takes", "concentrate_to")] + self.second["stated"]
        return found

    @property
    def inputs(self) -> dict[str, Any]:
        """What a solved line of this array rests on."""
        inp, an = self.inp, self.waters.analysis
        rest: dict[str, Any] = {"permeate": self.permeate, "salinity": an.salinity, "boron": self.waters.boron,
                                "permeate_pressure": inp("membrane.permeate_pressure"),
                                "port_loss": inp("membrane.port_loss")}
        rest |= {c.id.rpartition(".")[2] + "_choice": c for c in self.because}
        if self.device.mixing is not None:
            rest["mixing"] = self.device.mixing
        if self.recycle is not None:
            rest["recycle"] = self.recycle
        for key, at in self.waters.at.items():
            rest |= {f"temperature_{key}": at.temperature, f"osmotic_{key}": at.osmotic_curve,
                     f"density_{key}": at.density_curve, f"viscosity_{key}": at.water_viscosity,
                     f"borate_shift_{key}": at.borate_shift, f"ph_{key}": ph_of(self.waters, key)}
        for tag, sheet in self.sheets:
            rest |= {tag + k: v for k, v in sheet.geo.items()}
            for corner, figures in sheet.service.items():
                rest |= {f"{tag}{name}_{corner}": v for name, v in figures.items()}
        for tag, rows in (("", self.rows), ("second_", self.second_rows)):
            for row in rows:
                for name in ("elements", "share", "boost", "vessels"):
                    if getattr(row, name) is not None:
                        rest[f"{tag}{row.name}_{name}"] = getattr(row, name)
        if self.second is not None:
            rest |= {f"second_{k}": self.second[k] for k in ("share", "recovery", "port_loss", "front_elements")
                     if self.second.get(k) is not None}
            if self.second["ph"] is not None:
                rest["second_ph_target"] = self.second["ph"]
            rest |= {f"caustic_{k}": v for k, v in self.caustic.items()}
            rest |= {f"second_ph_{k}": v for k, v in self.ph.items()}
        return rest

    def counts(self, rows: list[Row], first: np.ndarray, step: float) -> list[np.ndarray]:
        """Vessels of each stage for many counts of the first."""
        found = [first]
        for row in rows[1:]:
            found.append(np.full_like(first, float(row.held)) if row.held is not None
                         else stage_vessels.at("value", vessels=found[-1], vessel_fraction=float(row.share or 1.0),
                                               row_height=step))
        return found

    def _base(self, corners: Any) -> dict[str, Any]:
        """Fields of the cases at cases that all stages share."""
        at = [self.waters.at[c.temperature] for c in corners]
        return {"temperature": np.array([float(a.temperature) for a in at]),
                "water_viscosity": np.array([float(a.water_viscosity) for a in at]),
                "osmotic": np.array([a.osmotic_curve.values for a in at]),
                "density": np.array([a.density_curve.values for a in at])}

    def _pass(self, rows: list[Row], counts: list[Any], base: dict[str, Any], service: list[dict[str, Any]],
              port: float, ph: Any) -> Pass:
        base = base | {"permeate_flow": 1.0, "feed_pressure": 1e5, "port_loss": port, "ph_total": ph,
                       "interconnector_loss": float(self.sheet.geo["interconnector_loss"]),
                       "permeate_pressure": float(self.inp("membrane.permeate_pressure"))}
        return Pass(tuple(Stage(fields(r.sheet.along, vessels=n, elements=int(r.elements), **base, **own),
                                float(r.boost or 0.0))
                          for r, n, own in zip(rows, counts, service, strict=True)))

    def _loops(self, two: Pass | None, caustic: Any) -> Loops:
        s, more = self.second, None
        if two is not None and s is not None:
            front = int(s["front_elements"]) if s["front_elements"] is not None else 0
            more = SecondPass(two, float(s["share"]), front, float(s["recovery"]), s["concentrate_to"] == "feed",
                              caustic)
        return Loops(float(self.device.mixing or 0.0), float(self.recycle or 0.0), more)

    @in_values
    def rated(self, given: dict[str, np.ndarray], water: dict[str, np.ndarray], in_service: Any, *,
              shift: dict[str, Any], boron: np.ndarray, ph: Any, feed: np.ndarray | None = None,
              permeate: float | None = None, pressure: np.ndarray | None = None) -> Answer:
        """The sized array under other conditions, one row a case; two of feed, permeate and pressure are held.

        ``in_service`` gives the permeabilities of a sheet under these conditions.
        """
        inp, temperature = self.inp, given["temperature"]
        base = {"temperature": temperature, **water}
        one = self._pass(self.rows, [float(r.vessels or 0) for r in self.rows], base | shift,
                         [in_service(r.sheet.along) for r in self.rows], float(inp("membrane.port_loss")), ph)
        two, caustic = None, 0.0
        if self.second is not None:
            levels = sorted((float(self.waters.at[k].temperature), k) for k in self.ph)

            def between(of: dict[str, Figure]) -> np.ndarray:
                return np.interp(temperature, [x for x, _ in levels], [float(of[k]) for _, k in levels])

            two = self._pass(self.second_rows, [float(r.vessels or 0) for r in self.second_rows], base,
                             [in_service(r.sheet.along) for r in self.second_rows], float(self.second["port_loss"]),
                             between(self.ph))
            caustic = between(self.caustic) if self.caustic else 0.0
        return solve_array(one, self._loops(two, caustic), salinity=given["salinity"], boron=boron, feed_flow=feed,
                           permeate=permeate, pressure=pressure, slices=int(inp("membrane.slices")),
                           close=1e-10 if self.joined else 1e-11, laws=m.law_names(self.sheet.geo))

    @in_values
    def solve(self, first: np.ndarray, second: np.ndarray, feed: Any, corners, close: float | None = None,
              alone: bool = False, pressure: float | None = None,
              chemistry: Chemistry | None = None) -> Answer:
        """Counts of the first stages times cases, in one call.

        Parameters
        ----------
        first, second : array
            Vessels of the first stage of either pass, one a candidate.
        feed : float or array or None
            Raw feed of the train, m3/s; None to find it for a held ``pressure``.
        corners : sequence of Corner
        close : float, optional
            Largest relative gap of a torn stream.
        alone : bool
            Leave the second pass out; the permeate is then what it would take and by-pass.
        chemistry : Chemistry, optional
            pH and caustic of the second pass's feed, where they are not on record yet.
        """
        inp, k = self.inp, len(corners)
        close = close or (1e-10 if self.joined else 1e-12)
        every = list(corners) * len(first)

        def service(rows: list[Row]) -> list[dict[str, Any]]:
            return [{name: np.array([m.by_element(r.sheet.service[c][name]) for c in every])
                     for name in PERMEABILITIES} for r in rows]

        n1 = self.counts(self.rows, np.repeat(first, k), float(inp("membrane.row")))
        shift = {"borate_shift": np.array([self.waters.at[c.temperature].borate_shift.values for c in every]),
                 "borate_salinity": float(self.waters.analysis.salinity)}
        one = self._pass(self.rows, n1, self._base(every) | shift, service(self.rows),
                         float(inp("membrane.port_loss")),
                         np.array([float(ph_of(self.waters, c.temperature)) for c in every]))
        two, caustic = None, 0.0
        if self.second is not None and not alone:
            n2 = self.counts(self.second_rows, np.repeat(second, k), float(self.second["row"]))
            keys = [c.temperature for c in every]
            ph = chemistry.ph if chemistry is not None else {key: float(v) for key, v in self.ph.items()}
            dose = chemistry.caustic if chemistry is not None else {key: float(v) for key, v in self.caustic.items()}
            two = self._pass(self.second_rows, n2, self._base(every), service(self.second_rows),
                             float(self.second["port_loss"]), np.array([ph.get(c, 8.0) for c in keys]))
            caustic = np.array([dose[c] for c in keys]) if dose else 0.0
        permeate = float(self.permeate)
        if alone and self.second is not None:
            permeate = float(first_pass_permeate.at("value", product_flow=permeate,
                                                    second_share=float(self.second["share"]),
                                                    second_recovery=float(self.second["recovery"])))
        n = len(every)
        return solve_cached(
            one, self._loops(two, caustic), salinity=np.full(n, float(self.waters.analysis.salinity)),
            boron=np.full(n, float(self.waters.boron)), permeate=np.full(n, permeate),
            feed_flow=None if feed is None else np.full(n, feed, dtype=float),
            pressure=None if pressure is None else np.full(n, pressure),
            slices=int(inp("membrane.slices")), close=close, laws=m.law_names(self.sheet.geo))


def plan(inp: Any, waters: Any, permeate: Figure, device: Any, sheet: Sheet) -> Plan:
    """The plan of the design, without permeabilities in service and vessels yet; ``sheet`` is that of the first stage.

    Raises
    ------
    Infeasible
        A boost downstream of an isobaric ERD, or no element left for the second pass.
    """
    stage_names = inp.names("membrane.stages")
    takes, recycle = inp("membrane.second_pass.takes"), inp("membrane.recycle")
    plain = not stage_names and takes is None and recycle is None
    rows = [Row("first", "membrane" if plain else "stage[first]", "membrane", inp("membrane.elements"), sheet,
                held=inp("membrane.vessels"))]
    rows += _rows(inp, "membrane", stage_names, "stage", sheet)
    found = Plan(inp, waters, permeate, device, rows, recycle)
    boosted = [(r.name, r.boost) for r in rows if r.boost is not None and float(r.boost)]
    if boosted and device.kind.needs_booster:
        boosting = next(kind.key for kind in kinds() if kind.boosts_feed)
        raise Infeasible("the concentrate would be above the feed pressure, and an isobaric ERD would need no booster",
                         where=f"membrane.stages[{boosted[0][0]}].boost", value=boosted[0][1].show(),
                         do=f'clear the boost, or set energy_recovery.device = "{boosting}"')
    if takes is not None:
        _second(found, takes, inp.names("membrane.second_pass.stages"))
    return found


def sheet_of(inp: Any, element: Element, elements: Figure, like: m.Mixed | None = None) -> Sheet:
    """An element in its vessels, with other types by position where the design has some; ``like`` an earlier stage's.
    """
    slices, groups = inp("membrane.slices"), inp.names("membrane.element_by_position")
    mixed = m.mixed(inp, element, groups, elements, slices, like) if groups else None
    along = element if mixed is None else mixed.along
    geo = m.geometry("membrane", along["area"], along["length"], along["spacer_height"], along["spacer_porosity"],
                     slices) | m.channel_said(inp)
    if mixed is not None:
        element = mixed.with_area(geo["slice_area"], elements)
        geo["mean_area"] = element["area"]
    return Sheet(element, along, geo, mixed=mixed)


def _rows(inp: Any, key: str, names: tuple[str, ...], prefix: str, sheet: Sheet) -> list[Row]:
    found = []
    for name in names:
        at = f"{key}.stages[{name}]"
        row = Row(name, f"{prefix}[{name}]", at, inp(f"{at}.elements"), sheet, inp(f"{at}.vessel_fraction"),
                  inp(f"{at}.vessels"), inp(f"{at}.boost"), inp(f"{at}.pump_efficiency"), inp(f"{at}.pump_motor"))
        if sheet.mixed is not None and int(row.elements) != sheet.mixed.count:
            with scope(instead=("membrane", row.prefix)):  # other positions in a vessel of another length
                row.sheet = sheet_of(inp, sheet.mixed.base, row.elements, sheet.mixed)
        found.append(row)
    return found


def _second(p: Plan, takes: Choice, names: tuple[str, ...]) -> None:
    inp, at = p.inp, "membrane.second_pass"
    s = {k: inp(f"{at}.{k}") for k in ("element", "takes", "share", "recovery", "row", "concentrate_to", "port_loss",
                                       "chlorinated", "suction", "pump_efficiency", "pump_motor",
                                       "front_elements")} | target_of(inp)
    if takes != "rear":
        s["front_elements"] = None
    elif int(s["front_elements"]) >= int(p.rows[0].elements):
        raise Infeasible("no element is left at the rear end", where=f"{at}.front_elements",
                         value=int(s["front_elements"]), allowed=f"below {int(p.rows[0].elements)}",
                         do="set fewer")
    p.second = s
    with scope(instead=("membrane", "second_pass"), because=[s["element"]]):
        element = m.element(inp, s["element"])
        geo = m.geometry("membrane", element["area"], element["length"], element["spacer_height"],
                         element["spacer_porosity"], inp("membrane.slices")) | m.channel_said(inp)
    sheet = Sheet(element, element, geo)
    p.second_rows = [Row("first", "second_pass[first]", at, inp(f"{at}.elements"), sheet, held=inp(f"{at}.vessels"))]
    p.second_rows += _rows(inp, at, names, "second_pass", sheet)
    bad = s["chlorinated"] == "yes"
    note("second_pass.chlorine", title="Chlorine upstream of the second pass", verdict="fails" if bad else "passes",
         why="chlorine between the passes destroys the membranes of the second" if bad
         else "no chlorine between the passes",
         do="chlorinate the product downstream of the second pass, or remove the chlorine upstream of it",
         inputs={"chlorinated": s["chlorinated"], "element": s["element"]})


@dataclass(frozen=True)
class Chemistry:
    """By temperature: pH of the first permeate (NBS), total pH of the second pass's feed, its caustic in mol/kg."""

    permeate_ph: dict[str, float]
    ph: dict[str, float]
    caustic: dict[str, float]


@lru_cache(maxsize=64)
def _dose(ions: tuple, temperature: float, co2: float, bicarbonate: float, target: float | None,
          where: str = "") -> tuple[float, float]:
    """pH of the first permeate, and hydroxide (mol/kg) to the target."""
    amounts = {k: v for k, v in ions if k not in ("HCO3", "B")}
    boron = {k: v for k, v in ions if k == "B"}
    found = permeate_ph({**amounts, **boron}, temperature, co2=co2, bicarbonate=bicarbonate)
    if target is None:
        return found.ph, 0.0
    if found.ph >= target:
        raise Infeasible("the permeate is above the target before any sodium hydroxide", where=where,
                         value=target, do="set a higher pH, or clear the key")
    water = Water.of({**amounts, **boron}, ph=found.ph, temperature=temperature)
    return found.ph, dose_to_ph(water, temperature, target, "NaOH", "fresh")


@in_values
def chemistry(p: Plan, first: float, feed: float) -> Chemistry | None:
    """pH and caustic of the second pass's feed at each temperature, aged; None without a second pass.

    The permeate is that of the first pass before its feed takes up what the second returns.
    """
    if p.second is None:
        return None
    s, an = p.second, p.waters.analysis
    corners = [Corner(k, "aged") for k in TEMPERATURES]
    r = p.solve(np.array([first]), np.array([1.0]), feed, corners, close=1e-8, alone=True)
    wrong = [f"{x} ({c})" for c, x in zip(corners, r.reason, strict=True) if x]
    if wrong:
        raise Infeasible(wrong[0], where="membrane.vessels", value=int(first),
                         do="add vessels, lower the recovery, or choose another element")
    data = table("ion_passage")
    keys = list(an.molality.keys)
    passage = np.array([float(data[k]["passage"].value) for k in keys])
    z = np.array([float(data[k]["charge"].value) for k in keys])
    raw, mass = np.asarray(an.molality.values), np.asarray(an.molar_mass.values)
    target = None if s["ph"] is None else float(s["ph"])
    own, total, caustic = {}, {}, {}
    for i, key in enumerate(TEMPERATURES):
        permeate = r.first.permeate
        x = t.ratio_of.at("value", solute=permeate.salt[i], water=permeate.water[i])
        b = march_ions(r.first.stages[0].only(i), raw, mass, passage, z).permeate[0]
        b = mi.permeate_ions.at("value", share=b, permeate_salinity=x, share_mass=mi.share_mass.at(
            "value", share=b, molar_mass=mass))
        ions = dict(zip(keys, b, strict=True))
        if "B" in ions:
            ions["B"] = float(permeate.boron[i] / permeate.water[i] / float(p.waters.boron_molar_mass))
        at = p.waters.at[key]
        own[key], dose = _dose(tuple((k, float(f"{v:.12e}")) for k, v in ions.items()), float(at.temperature),
                               float(at.carbon_dioxide), float(f"{ions.get('HCO3', 0.0):.12e}"), target,
                               "" if s["ph"] is None else s["ph"].id)
        total[key] = float(total_from_nbs.at("value", ph=own[key] if target is None else target))
        if target is not None:
            caustic[key] = dose
    return Chemistry(own, total, caustic)


def record_chemistry(p: Plan, found: Chemistry | None, feed: Figure) -> None:
    """Put pH and caustic of the second pass's feed on record."""
    if p.second is None or found is None:
        return
    s, about = p.second, engine_record("fresh")
    with scope(instead=("membrane", "second_pass"), because=s["stated"]):
        target = total_from_nbs.at("membrane.feed_ph_total", ph=s["ph"]) if s["ph"] is not None else None
    base = {k: v for k, v in p.inputs.items() if not k.startswith("second_")} | {
        "ions": p.waters.analysis.molality, "second_share": s["share"], "second_recovery": s["recovery"], "feed": feed}
    for key in TEMPERATURES:
        at = p.waters.at[key]
        said = {"library": about.library, "version": about.library_version, "data": about.database,
                "checksum": about.sha256, "source": "phreeqc-2013",
                "inputs": base | {"temperature": at.temperature, "carbon_dioxide": at.carbon_dioxide}
                | ({"target": s["ph"]} if s["ph"] is not None else {}),
                "note": "permeate of the first pass, aged, before its feed takes up what the second pass returns"}
        with scope(corner=key, because=p.because):
            own = engine("second_pass.permeate_ph", found.permeate_ph[key], "ph.nbs",
                         title="pH of the first pass's permeate", symbol="pH_p1", **said)
            if target is None:
                p.ph[key] = total_from_nbs.at("second_pass.ph_total", ph=own)
                continue
            p.ph[key] = target
            p.caustic[key] = engine("second_pass.caustic", found.caustic[key], "molality", symbol="b_OH",
                                    title="Sodium hydroxide for the pH of the second pass", **said)


def second_limits(p: Plan) -> dict[str, Figure]:
    """Limits of the second pass: guidelines of its own and its sheet."""
    assert p.second_sheet is not None
    found = {}
    for name in SECOND_LIMITS:
        found[name] = limit(f"second-pass-{name.replace('_', '-')}")
    return found | {name: p.second_sheet.element[column] for name, column in SHEET.items()}
