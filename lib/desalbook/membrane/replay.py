"""The converged state of a vessel, put once through the recording relations.

What stands in the record are the very equations the solver used, with their residuals.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from desalbook.membrane import left_over
from desalbook.membrane import transport as t
from desalbook.membrane.solve_cases import Laws, Solution
from desalbook.membrane.solve_profile import shifts
from desalbook.trail import Column, Figure, assumed, engine, relation, residual, scope, solved
from desalbook.units import Concentration, Count, DifferencePa, KgPerM3, KgPerS, Salinity
from desalbook.water.boron import pkb_saline
from desalbook.water.seawater import practical_salinity

__all__ = ["Recorded", "in_service", "record", "salinity_left_over"]


@dataclass(frozen=True)
class Recorded:
    """Figures of one train at one corner, by short name (``feed_pressure``, ``permeate_tds``, ...)."""

    figures: dict[str, Any]

    def __getitem__(self, name: str) -> Any:
        return self.figures[name]


@relation("Salinity less salinity found again", symbol="r_X", unit="1", source="definition")
def salinity_left_over(salinity: Salinity, found: Salinity) -> Salinity:
    """Zero when solved."""
    return salinity - found


@relation("Boron per water", symbol="X_B", unit="1", source="definition")
def boron_per_water(boron_feed: t.Boron, density: KgPerM3, concentration: Concentration) -> Salinity:
    """Mass of boron per mass of water."""
    return boron_feed / (density - concentration)


@relation("Boron into one vessel", symbol="M_B", unit="kg/s", source="definition")
def vessel_boron(node_water: KgPerS, boron_ratio: Salinity) -> KgPerS:
    """Mass flow of boron."""
    return node_water * boron_ratio


def in_service(element, inp, temperature: Figure, age: Figure, fouling: Figure) -> dict[str, Figure]:
    """Permeabilities at one corner's temperature and age, recorded."""
    factors = {name: t.temperature_factor.at(f"membrane.temperature_factor[{name}]",
                                             activation_energy=inp(f"membrane.{key}"), temperature=temperature)
               for name, key in (("water", "water_activation"), ("salt", "salt_activation"),
                                 ("boron", "boron_activation"))}
    rise = inp("membrane.yearly_salt_rise")
    return {
        "water_permeability": t.water_permeability.at(
            "membrane.water_permeability", permeability=element.water_permeability,
            temperature_factor=factors["water"], yearly_loss=inp("membrane.yearly_flow_loss"), age=age,
            fouling_factor=fouling),
        "salt_permeability": t.salt_permeability.at(
            "membrane.salt_permeability", salt_permeability=element.salt_permeability,
            temperature_factor=factors["salt"], yearly_rise=rise, age=age),
        "boric_acid_permeability": t.salt_permeability.at(
            "membrane.boric_acid_permeability", title="Boric acid permeability in service", symbol="B_a",
            salt_permeability=element.boric_acid_permeability, temperature_factor=factors["boron"],
            yearly_rise=rise, age=age),
        "borate_permeability": t.salt_permeability.at(
            "membrane.borate_permeability_in_service", title="Borate permeability in service", symbol="B_b",
            salt_permeability=element.borate_permeability, temperature_factor=factors["salt"], yearly_rise=rise,
            age=age)}


def _film(at, f: dict[str, Any], laws: Laws, c: dict[str, Any]) -> None:
    """Film, permeate and wall at the places of ``c``: the slices, or one end of an element."""
    density = dict(f["density"].items())
    x = at(t.node_salinity, "salinity", node_salt=c["salt"], node_water=c["water"])
    rho = at(t.density_of, "density", salinity=x, **density)
    mu = at(t.viscosity_of, "viscosity", salinity=x, water_viscosity=f["water_viscosity"],
            temperature=f["temperature"])
    conc = at(t.concentration_of, "concentration", salinity=x, density=rho)
    d = at(t.diffusivity_of, "diffusivity", concentration=conc, temperature=f["temperature"])
    q = at(t.node_flow, "flow", node_salt=c["salt"], node_water=c["water"], density=rho)
    u = at(t.channel_velocity, "velocity", node_flow=q, width=f["width"], spacer_height=f["spacer_height"],
           spacer_porosity=f["spacer_porosity"])
    re = at(t.channel_reynolds, "reynolds", channel_velocity=u, density=rho,
            hydraulic_diameter=f["hydraulic_diameter"], viscosity=mu)
    sc = at(t.schmidt, "schmidt", viscosity=mu, density=rho, diffusivity=d)
    with scope(because=[f.get("mass_transfer_law")]):
        sh = at(laws.relation("sherwood"), "sherwood", reynolds=re, schmidt=sc)
    k = at(t.mass_transfer, "mass_transfer", sherwood=sh, diffusivity=d,
           hydraulic_diameter=f["hydraulic_diameter"])
    beta = at(t.polarisation, "beta", flux=c["flux"], mass_transfer=k)
    x_p = at(t.permeate_node_salinity, "permeate_salinity", salt_permeability=f["salt_permeability"], beta=beta,
             salinity=x, flux=c["flux"])
    x_w = at(t.wall_salinity, "wall_salinity", permeate_salinity=x_p, salinity=x, beta=beta)
    osm = dict(f["osmotic"].items())
    pi_w = at(t.osmotic_of, "osmotic_wall", salinity=x_w, **osm)
    pi_p = at(t.osmotic_of, "osmotic_permeate", salinity=x_p, **osm)
    at(t.driven_flux, "driven_flux", permeability=f["water_permeability"], node_pressure=c["pressure"],
       permeate_pressure=f["permeate_pressure"], osmotic_wall=pi_w, osmotic_permeate=pi_p)


def columns(prefix: str, r: Solution, i: int, f: dict[str, Any], keys: list[str]) -> dict[str, Any]:
    """Record the march: solved columns first, then every equation that ties them together."""
    s = r.state
    base = {k: v for k, v in f.items() if hasattr(v, "id")}
    method = "Newton on the flux of all slices together"
    elements = [str(e + 1) for e in range(len(keys) // r.slices)]
    counts = {k: f[k] for k in ("slices", "elements") if k in f}

    def state(name, key, kind, title, symbol, axis="node"):
        return solved(f"{prefix}.{name}", s[key][i], kind, title=title, symbol=symbol, inputs=base,
                      method=method, axis=axis, keys=keys if axis == "node" else elements)

    def fixed(name, values, kind, title, axis="node"):
        return engine(f"{prefix}.{name}", values, kind, title=title, axis=axis, inputs=counts,
                      keys=keys if axis == "node" else elements, source="gauss-collocation", library="numpy",
                      version=np.__version__, data="")

    shift = fixed("pair_shift", shifts(len(keys), r.order), "fraction", "Share of the other slice of a pair")
    weights = [float(np.sqrt(e + 1.0)) for e in range(len(elements))]  # all different: no two errors cancel
    each = fixed("element_weight", weights, "factor", "Weight of each element in a proof", "element")
    pair = np.sqrt(1.0 + np.arange(len(keys)) // 2) if r.order == 4 else np.sqrt(1.0 + np.arange(len(keys)))
    weight = fixed("pair_weight", pair, "factor", "Weight of each pair in a proof")
    c: dict[str, Any] = {}
    c["flux"] = state("node_flux", "flux", "flux", "Water flux", "J")
    for solute, title, symbol in (("water", "Water", "M_w"), ("salt", "Salt", "M_s"), ("boron", "Boron", "M_B")):
        for end, words in (("in", "into each slice"), ("out", "out of each slice"), ("pair", "left by each pair")):
            c[f"{solute}_{end}"] = state(f"node_{solute}_{end}", f"{solute}_{end}", "mass flow",
                                         f"{title} {words}", f"{symbol}_{end}")
    for end, words in (("in", "into each slice"), ("out", "out of each slice")):
        c[f"pressure_{end}"] = state(f"node_pressure_{end}", f"pressure_{end}", "gauge pressure",
                                     f"Pressure {words}", f"p_{end}")
    c["pressure_pair"] = state("node_pressure_pair", "pressure_pair", "pressure difference",
                               "Pressure lost by each pair", "Delta_p_pair")
    for end in ("in", "out"):
        c[f"element_water_{end}"] = state(f"element_water_{end}", f"element_water_{end}", "mass flow",
                                          f"Water {end} of each element", f"M_w_{end}", "element")
        c[f"element_pressure_{end}"] = state(f"element_pressure_{end}", f"element_pressure_{end}", "gauge pressure",
                                             f"Pressure {end} of each element", f"p_{end}", "element")

    def at(rel, name, **args):
        c[name] = rel.at(f"{prefix}.node_{name}", **args)
        return c[name]

    for solute in ("water", "salt", "boron"):
        at(t.slice_mean, solute, node_in=c[f"{solute}_in"], node_out=c[f"{solute}_out"],
           pair_change=c[f"{solute}_pair"], pair_shift=shift)
    at(t.slice_pressure, "pressure", pressure_in=c["pressure_in"], pressure_out=c["pressure_out"],
       pair_loss=c["pressure_pair"], pair_shift=shift)
    _film(at, f, r.laws, c)
    rho_w = f["density"]["rho_0"]
    js = at(t.salt_flux, "salt_flux", flux=c["flux"], water_density=rho_w, permeate_salinity=c["permeate_salinity"])
    with scope(because=[f.get("friction_law")]):
        fr = at(r.laws.relation("friction"), "friction", reynolds=c["reynolds"])
    loss = at(t.slice_loss, "loss", friction_factor=fr, slice_length=f["slice_length"],
              hydraulic_diameter=f["hydraulic_diameter"], density=c["density"], channel_velocity=c["velocity"])
    practical = practical_salinity.at(f"{prefix}.practical_salinity", salinity=f["borate_salinity"])
    pk = pkb_saline.at(f"{prefix}.pk_boric", temperature=f["temperature"], practical_salinity=practical)
    share = at(t.borate_along, "borate_share", ph_total=f["ph_total"], pk=pk, salinity=c["salinity"],
               borate_salinity=f["borate_salinity"], **dict(f["borate_shift"].items()))
    bb = at(t.boron_permeability, "boron_permeability", boric_acid_permeability=f["boric_acid_permeability"],
            borate_permeability=f["borate_permeability"], borate_share=share)
    x_b = at(t.node_salinity, "boron_ratio", node_salt=c["boron"], node_water=c["water"])
    x_bp = at(t.permeate_node_salinity, "permeate_boron_ratio", salt_permeability=bb, beta=c["beta"], salinity=x_b,
              flux=c["flux"])
    jb = at(t.salt_flux, "boron_flux", flux=c["flux"], water_density=rho_w, permeate_salinity=x_bp)
    area = f["slice_area"]
    for solute, flux in (("salt", js), ("boron", jb)):
        left = left_over.solute_left_over.at(f"{prefix}.residual_{solute}", node_in=c[f"{solute}_in"],
                                     node_out=c[f"{solute}_out"], salt_flux=flux, slice_area=area)
        for end in ("in", "out"):
            residual(c[f"{solute}_{end}"], left, float(c[f"{solute}_in"].values[0]))
    left = left_over.water_left_over.at(f"{prefix}.residual_water", node_in=c["water_in"], node_out=c["water_out"],
                                flux=c["flux"], water_density=rho_w, slice_area=area)
    for end in ("in", "out"):
        residual(c[f"water_{end}"], left, float(c["water_in"].values[0]))
    left = left_over.pressure_left_over.at(f"{prefix}.residual_pressure", pressure_in=c["pressure_in"],
                                   pressure_out=c["pressure_out"], slice_loss=loss)
    for end in ("in", "out"):
        residual(c[f"pressure_{end}"], left, float(np.max(c["pressure_in"].values)))
    _links(prefix, f, c, weight, each, [float(w) for w in np.repeat(weights, r.slices)], fixed)
    left = left_over.flux_left_over.at(f"{prefix}.residual_flux", flux=c["flux"], driven_flux=c["driven_flux"])
    residual(c["flux"], left, float(np.max(c["flux"].values)))
    c["element_recovery"] = t.recovery_along.at(f"{prefix}.element_share", node_in=c["element_water_in"],
                                                node_out=c["element_water_out"])
    c["element_loss"] = t.loss_along.at(f"{prefix}.element_loss", pressure_in=c["element_pressure_in"],
                                        pressure_out=c["element_pressure_out"])
    return c


def _links(prefix: str, f: dict[str, Any], c: dict[str, Any], weight, each, repeated, fixed) -> None:
    """Residuals that tie slices, pairs and elements to one another."""
    by_node = fixed("node_weight", repeated, "factor", "Weight of each slice in a proof")
    start = float(f["inlet"])
    for solute in ("water", "salt", "boron"):
        scale = float(f[solute])
        left = left_over.chain_left_over.at(f"{prefix}.residual_{solute}_link", inlet_flow=f[solute],
                                  node_in=c[f"{solute}_in"], node_out=c[f"{solute}_out"])
        residual(c[f"{solute}_in"], left, scale)
        left = left_over.pair_left_over.at(f"{prefix}.residual_{solute}_pair", node_weight=weight,
                                 pair_change=c[f"{solute}_pair"], node_in=c[f"{solute}_in"],
                                 node_out=c[f"{solute}_out"])
        residual(c[f"{solute}_pair"], left, scale)
    left = left_over.pressure_chain_left_over.at(
        f"{prefix}.residual_pressure_link", inlet_pressure=f["inlet"], pressure_in=c["pressure_in"],
        pressure_out=c["pressure_out"], joint_sum=f["joint_sum"])
    residual(c["pressure_in"], left, start)
    left = left_over.pressure_pair_left_over.at(
        f"{prefix}.residual_pressure_pair", node_weight=weight, pair_loss=c["pressure_pair"],
        pressure_in=c["pressure_in"], pressure_out=c["pressure_out"])
    residual(c["pressure_pair"], left, start)
    left = left_over.element_left_over.at(
        f"{prefix}.residual_element_water",
        element_change=left_over.weighted_change.at(f"{prefix}.element_change", node_weight=each,
                                          node_in=c["element_water_in"], node_out=c["element_water_out"]),
        node_change=left_over.weighted_change.at(f"{prefix}.node_change", node_weight=by_node, node_in=c["water_in"],
                                       node_out=c["water_out"]))
    more = left_over.chain_left_over.at(f"{prefix}.residual_element_water_link", inlet_flow=f["water"],
                              node_in=c["element_water_in"], node_out=c["element_water_out"])
    for end in ("in", "out"):
        residual(c[f"element_water_{end}"], left, float(f["water"]))
        residual(c[f"element_water_{end}"], more, float(f["water"]))
    left = left_over.element_pressure_left_over.at(
        f"{prefix}.residual_element_pressure",
        element_fall=left_over.weighted_loss.at(f"{prefix}.element_fall", node_weight=each,
                                      pressure_in=c["element_pressure_in"], pressure_out=c["element_pressure_out"]),
        node_fall=left_over.weighted_loss.at(f"{prefix}.node_fall", node_weight=by_node, pressure_in=c["pressure_in"],
                                   pressure_out=c["pressure_out"]))
    more = left_over.pressure_chain_left_over.at(
        f"{prefix}.residual_element_pressure_link", inlet_pressure=f["inlet"], pressure_in=c["element_pressure_in"],
        pressure_out=c["element_pressure_out"], joint_sum=f["joint_sum"])
    for end in ("in", "out"):
        residual(c[f"element_pressure_{end}"], left, start)
        residual(c[f"element_pressure_{end}"], more, start)


def _end(prefix: str, r: Solution, i: int, f: dict[str, Any], c: dict[str, Any], keys: list[str]) -> Figure:
    """Polarisation at that end of an element where it is highest; the flux there is a root of its own."""
    where, base = int(r.state["end"][i]), {k: v for k, v in f.items() if hasattr(v, "id")}
    side = "out" if where % 2 else "in"
    key = keys[where // 2 * r.slices + (r.slices - 1 if where % 2 else 0)]
    e: dict[str, Any] = {k: c[f"{k}_{side}"][key] for k in ("water", "salt", "pressure")}
    local = {k: v[key] if getattr(v, "axis", None) == "node" else v for k, v in f.items()}
    e["flux"] = solved(f"{prefix}.end_flux", r.state["end_flux"][i], "flux", symbol="J_e", inputs=base | e,
                       title="Flux at the end of an element where polarisation is highest",
                       method="Newton on the flux at one place")

    def at(rel, name, **args):
        e[name] = rel.at(f"{prefix}.end_{name}", **args)
        return e[name]

    _film(at, local, r.laws, e)
    left = left_over.flux_left_over.at(f"{prefix}.residual_end_flux", flux=e["flux"], driven_flux=e["driven_flux"])
    residual(e["flux"], left, float(e["flux"]))
    return e["beta"]


def defaults(prefix: str, f: dict[str, Any]) -> None:
    """Joints without loss and a pH that stays, where nothing else is said."""
    if "interconnector_loss" not in f:
        f["interconnector_loss"] = assumed(f"{prefix}.no_interconnector_loss", 0.0, "pressure difference",
                                           title="Loss of a joint between elements", source="definition")
    if "borate_shift" not in f:
        f["borate_shift"] = assumed(f"{prefix}.no_borate_shift", [0.0, 0.0], "factor", axis="coefficient",
                                    keys=("shift_1", "shift_2"), source="definition",
                                    title="Shift of the species of boron along the vessel")
    f.setdefault("borate_salinity", f["feed_salinity"])
    f["joint_sum"] = joint_sum.at(f"{prefix}.joint_sum", interconnector_loss=f["interconnector_loss"],
                                  elements_per_vessel=f["elements"])


@relation("Loss of all joints of a vessel", symbol="Delta_p_J", unit="Pa", source="definition")
def joint_sum(interconnector_loss: DifferencePa, elements_per_vessel: Count) -> DifferencePa:
    """One joint fewer than elements."""
    return interconnector_loss * (elements_per_vessel - 1)


def geometry(prefix: str, area: Figure, length: Figure, height: Figure, porosity: Figure,
             slices: Figure) -> dict[str, Figure]:
    """Channel figures that do not depend on the corner, recorded."""
    return {"spacer_height": height, "spacer_porosity": porosity, "element_area": area, "element_length": length,
            "slices": slices,
            "hydraulic_diameter": t.hydraulic_diameter.at(f"{prefix}.hydraulic_diameter", spacer_height=height,
                                                          spacer_porosity=porosity),
            "width": t.channel_width.at(f"{prefix}.channel_width", element_area=area, element_length=length),
            "slice_area": t.slice_area.at(f"{prefix}.slice_area", element_area=area, slices=slices),
            "slice_length": t.slice_length.at(f"{prefix}.slice_length", element_length=length, slices=slices)}


def record(r: Solution, i: int, f: dict[str, Any], *, lead_share: Column, wanted: Figure | None) -> Recorded:
    """Record case ``i`` in the present scope and corner.

    Parameters
    ----------
    r : Solution
    f : dict
        Figures by name: those of `geometry`, the fields of `Cases` that are figures (``vessels``,
        ``elements``, ``feed_salinity``, ``boron_ratio``, ...) and whichever of ``feed_flow`` and
        ``feed_pressure`` is not the unknown.
    lead_share : Column
        Along the nodes: one over the slices in the first element, zero elsewhere.
    wanted : Figure or None
        Permeate flow asked for; None when rated as built.
    """
    f = dict(f)
    base = {k: v for k, v in f.items() if hasattr(v, "id")} | ({"wanted": wanted} if wanted is not None else {})
    method = "bordered Newton with the flux of all slices"
    if r.unknown == "feed_pressure":
        f["feed_pressure"] = solved("membrane.feed_pressure", r.feed_pressure[i], "gauge pressure", symbol="p_f",
                                    title="Feed pressure", inputs=base, method=method)
    if r.unknown == "feed_flow":
        f["feed_flow"] = solved("membrane.feed_flow", r.feed_flow[i], "flow", symbol="Q_f", title="Feed flow",
                                inputs=base, method=method)
    inlet = t.inlet_pressure.at("membrane.inlet_pressure", feed_pressure=f["feed_pressure"],
                                port_loss=f["port_loss"])
    feed_density = t.density_of.at("membrane.feed_density", title="Density of the membrane feed",
                                   salinity=f["feed_salinity"], **dict(f["density"].items()))
    water = t.vessel_water.at("membrane.vessel_water", feed_flow=f["feed_flow"], feed_density=feed_density,
                              feed_salinity=f["feed_salinity"], vessels=f["vessels"])
    salt = t.vessel_salt.at("membrane.vessel_salt", node_water=water, feed_salinity=f["feed_salinity"])
    boron = vessel_boron.at("membrane.vessel_boron", node_water=water, boron_ratio=f["boron_ratio"])
    f |= {"inlet": inlet, "water": water, "salt": salt, "boron": boron}
    defaults("membrane", f)
    more, keys = {"wanted": wanted} if wanted is not None else {}, list(lead_share.keys)
    c = columns("membrane", r, i, f | more, keys)
    end_beta = _end("membrane", r, i, f | more, c, keys)
    out: dict[str, Any] = {"feed_pressure": f["feed_pressure"], "feed_flow": f["feed_flow"], "columns": c,
                           "solution": (r, i)}
    rho_w, area, vessels = f["density"]["rho_0"], f["slice_area"], f["vessels"]

    def at(rel, name, **args):
        out[name] = rel.at(f"membrane.{name}", **args)
        return out[name]

    w_p = at(t.permeate_water, "permeate_water", flux=c["flux"], water_density=rho_w, slice_area=area,
             vessels=vessels)
    s_p = at(t.permeate_solute, "permeate_salt", title="Salt in the permeate", salt_flux=c["salt_flux"],
             slice_area=area, vessels=vessels)
    b_p = at(t.permeate_solute, "permeate_boron_flow", title="Boron in the permeate", salt_flux=c["boron_flux"],
             slice_area=area, vessels=vessels)
    x_p = at(t.ratio_of, "permeate_salinity", title="Salt per water in the permeate", solute=s_p, water=w_p)
    rho_p = at(t.density_of, "permeate_density", title="Density of the permeate", salinity=x_p,
               **dict(f["density"].items()))
    q_p = at(t.volume_flow, "permeate_flow", title="Permeate flow", symbol="Q_p", solute=s_p, water=w_p,
             density=rho_p)
    if wanted is not None:
        left = left_over.flow_left_over.at("membrane.residual_flow", permeate_flow=q_p, wanted_flow=wanted)
        residual(f["feed_pressure"] if r.unknown == "feed_pressure" else f["feed_flow"], left, float(wanted))
    w_c = at(t.train_last, "concentrate_water", title="Water in the reject", node_out=c["water_out"],
             vessels=vessels)
    s_c = at(t.train_last, "concentrate_salt", title="Salt in the reject", node_out=c["salt_out"], vessels=vessels)
    at(t.train_last, "concentrate_boron_flow", title="Boron in the reject", node_out=c["boron_out"],
       vessels=vessels)
    x_c = at(t.ratio_of, "concentrate_salinity", title="Salt per water in the reject", solute=s_c, water=w_c)
    rho_c = at(t.density_of, "concentrate_density", title="Density of the reject", salinity=x_c,
               **dict(f["density"].items()))
    q_c = at(t.volume_flow, "concentrate_flow", title="Reject flow", symbol="Q_c", solute=s_c, water=w_c,
             density=rho_c)
    at(t.solute_concentration, "permeate_tds", title="Permeate dissolved solids", symbol="C_p", solute=s_p,
       flow=q_p)
    at(t.boron_concentration, "permeate_boron", title="Permeate boron", symbol="C_pB", solute=b_p, flow=q_p)
    at(t.solute_concentration, "concentrate_tds", title="Reject dissolved solids", symbol="C_c", solute=s_c,
       flow=q_c)
    vessel = at(t.vessel_pressure_drop, "vessel_drop", slice_loss=c["loss"],
                interconnector_loss=f["interconnector_loss"], elements_per_vessel=f["elements"])
    drop = at(t.train_pressure_drop, "pressure_drop", vessel_drop=vessel, port_loss=f["port_loss"])
    at(t.concentrate_pressure, "concentrate_pressure", feed_pressure=f["feed_pressure"], pressure_drop=drop)
    at(t.highest, "beta_max", beta=c["beta"], end_beta=end_beta)
    at(t.lead_flux, "lead_flux", flux=c["flux"], lead_share=lead_share)
    at(t.average_flux, "flux", permeate_flow=q_p, vessels=vessels, elements_per_vessel=f["elements"],
       element_area=f.get("mean_area", f["element_area"]))
    at(t.element_recovery, "element_recovery", element_share=c["element_recovery"])
    at(t.element_pressure_drop, "element_drop", element_loss=c["element_loss"])
    at(t.per_vessel, "vessel_feed", title="Feed per vessel", flow=f["feed_flow"], vessels=vessels)
    at(t.per_vessel, "vessel_concentrate", title="Reject per vessel", flow=q_c, vessels=vessels)
    return Recorded(out)
