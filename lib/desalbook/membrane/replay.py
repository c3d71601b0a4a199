"""The converged state of a vessel, put once through the recording relations.

What stands in the record are the very equations the solver used, with their residuals.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from desalbook.membrane import transport as t
from desalbook.membrane.solve import Cases, Solution, solve
from desalbook.trail import Column, Figure, assumed, last, relation, residual, solved, total
from desalbook.units import Concentration, DifferencePa, GaugePa, KgPerM3, KgPerS, Salinity
from desalbook.water.acid_constants import borate_share, pk_boric_saline, practical_salinity

__all__ = ["Recorded", "in_service", "prove_element", "record", "salinity_left_over"]


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


@relation("Link of the slices", symbol="r_M", unit="kg/s", source="definition")
def chain_left_over(inlet_flow: KgPerS, node_in: KgPerS, node_out: KgPerS) -> KgPerS:
    """Each slice takes what the slice before leaves, the first what enters the vessel; zero when solved."""
    return inlet_flow + total(node_out) - last(node_out) - total(node_in)


@relation("Link of the slices, pressure", symbol="r_M", unit="Pa", source="definition")
def pressure_chain_left_over(inlet_pressure: GaugePa, pressure_in: GaugePa, pressure_out: GaugePa) -> DifferencePa:
    """Each slice starts where the slice before ends, the first at the inlet; zero when solved."""
    return inlet_pressure + total(pressure_out) - last(pressure_out) - total(pressure_in)


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


def _columns(prefix: str, s: dict, i: int, f: dict[str, Any], keys: list[str]) -> dict[str, Any]:
    """Record the march: solved columns first, then every equation that ties them together."""
    base = {k: v for k, v in f.items() if hasattr(v, "id")}
    method = "Newton on the flux of all slices together"

    def state(name, key, kind, title, symbol):
        return solved(f"{prefix}.{name}", s[key][i], kind, title=title, symbol=symbol, inputs=base,
                      method=method, axis="node", keys=keys)

    c: dict[str, Any] = {}
    c["flux"] = state("node_flux", "flux", "flux", "Water flux", "J")
    for solute, title, symbol in (("water", "Water", "M_w"), ("salt", "Salt", "M_s"), ("boron", "Boron", "M_B")):
        for end, words in (("in", "into each slice"), ("out", "out of each slice")):
            c[f"{solute}_{end}"] = state(f"node_{solute}_{end}", f"{solute}_{end}", "mass flow",
                                         f"{title} {words}", f"{symbol}_{end}")
    for end, words in (("in", "into each slice"), ("out", "out of each slice")):
        c[f"pressure_{end}"] = state(f"node_pressure_{end}", f"pressure_{end}", "gauge pressure",
                                     f"Pressure {words}", f"p_{end}")

    def at(rel, name, **args):
        c[name] = rel.at(f"{prefix}.node_{name}", **args)
        return c[name]

    for solute in ("water", "salt", "boron"):
        at(t.slice_mean, solute, node_in=c[f"{solute}_in"], node_out=c[f"{solute}_out"])
    at(t.slice_pressure, "pressure", pressure_in=c["pressure_in"], pressure_out=c["pressure_out"])
    x = at(t.node_salinity, "salinity", node_salt=c["salt"], node_water=c["water"])
    rho = at(t.density_of, "density", salinity=x, **dict(f["density"].items()))
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
    sh = at(t.sherwood_schock, "sherwood", reynolds=re, schmidt=sc)
    k = at(t.mass_transfer, "mass_transfer", sherwood=sh, diffusivity=d,
           hydraulic_diameter=f["hydraulic_diameter"])
    beta = at(t.polarisation, "beta", flux=c["flux"], mass_transfer=k)
    x_p = at(t.permeate_node_salinity, "permeate_salinity", salt_permeability=f["salt_permeability"], beta=beta,
             salinity=x, flux=c["flux"])
    x_w = at(t.wall_salinity, "wall_salinity", permeate_salinity=x_p, salinity=x, beta=beta)
    osm = dict(f["osmotic"].items())
    pi_w = at(t.osmotic_of, "osmotic_wall", salinity=x_w, **osm)
    pi_p = at(t.osmotic_of, "osmotic_permeate", salinity=x_p, **osm)
    js = at(t.salt_flux, "salt_flux", flux=c["flux"], water_density=f["density"]["rho_0"], permeate_salinity=x_p)
    fr = at(t.friction_schock, "friction", reynolds=re)
    loss = at(t.slice_loss, "loss", friction_factor=fr, slice_length=f["slice_length"],
              hydraulic_diameter=f["hydraulic_diameter"], density=rho, channel_velocity=u)
    drive = at(t.driven_flux, "driven_flux", permeability=f["water_permeability"], node_pressure=c["pressure"],
               permeate_pressure=f["permeate_pressure"], osmotic_wall=pi_w, osmotic_permeate=pi_p)
    practical = at(practical_salinity, "practical_salinity", salinity=x)
    pk = at(pk_boric_saline, "pk_boric", temperature=f["temperature"], practical_salinity=practical)
    share = at(borate_share, "borate_share", ph_total=f["ph_total"], pk=pk)
    bb = at(t.boron_permeability, "boron_permeability", boric_acid_permeability=f["boric_acid_permeability"],
            borate_permeability=f["borate_permeability"], borate_share=share)
    x_b = at(t.node_salinity, "boron_ratio", node_salt=c["boron"], node_water=c["water"])
    x_bp = at(t.permeate_node_salinity, "permeate_boron_ratio", salt_permeability=bb, beta=beta, salinity=x_b,
              flux=c["flux"])
    jb = at(t.salt_flux, "boron_flux", flux=c["flux"], water_density=f["density"]["rho_0"],
            permeate_salinity=x_bp)
    area = f["slice_area"]
    for solute, flux in (("salt", js), ("boron", jb)):
        left = t.solute_left_over.at(f"{prefix}.residual_{solute}", node_in=c[f"{solute}_in"],
                                     node_out=c[f"{solute}_out"], salt_flux=flux, slice_area=area)
        for end in ("in", "out"):
            residual(c[f"{solute}_{end}"], left, float(c[f"{solute}_in"].values[0]))
    left = t.water_left_over.at(f"{prefix}.residual_water", node_in=c["water_in"], node_out=c["water_out"],
                                flux=c["flux"], water_density=f["density"]["rho_0"], slice_area=area)
    for end in ("in", "out"):
        residual(c[f"water_{end}"], left, float(c["water_in"].values[0]))
    left = t.pressure_left_over.at(f"{prefix}.residual_pressure", pressure_in=c["pressure_in"],
                                   pressure_out=c["pressure_out"], slice_loss=loss)
    for end in ("in", "out"):
        residual(c[f"pressure_{end}"], left, float(np.max(c["pressure_in"].values)))
    for solute in ("water", "salt", "boron"):
        left = chain_left_over.at(f"{prefix}.residual_{solute}_link", inlet_flow=f[solute],
                                  node_in=c[f"{solute}_in"], node_out=c[f"{solute}_out"])
        residual(c[f"{solute}_in"], left, float(f[solute]))
    left = pressure_chain_left_over.at(f"{prefix}.residual_pressure_link", inlet_pressure=f["inlet"],
                                       pressure_in=c["pressure_in"], pressure_out=c["pressure_out"])
    residual(c["pressure_in"], left, float(f["inlet"]))
    left = t.flux_left_over.at(f"{prefix}.residual_flux", flux=c["flux"], driven_flux=drive)
    residual(c["flux"], left, float(np.max(c["flux"].values)))
    return c


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
    c = _columns("membrane", r.state, i, f | ({"wanted": wanted} if wanted is not None else {}),
                 list(lead_share.keys))
    out: dict[str, Any] = {"feed_pressure": f["feed_pressure"], "feed_flow": f["feed_flow"], "columns": c}
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
        left = t.flow_left_over.at("membrane.residual_flow", permeate_flow=q_p, wanted_flow=wanted)
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
    drop = at(t.train_pressure_drop, "pressure_drop", slice_loss=c["loss"], port_loss=f["port_loss"])
    at(t.concentrate_pressure, "concentrate_pressure", feed_pressure=f["feed_pressure"], pressure_drop=drop)
    at(t.highest, "beta_max", beta=c["beta"])
    at(t.lead_flux, "lead_flux", flux=c["flux"], lead_share=lead_share)
    at(t.average_flux, "flux", permeate_flow=q_p, vessels=vessels, elements_per_vessel=f["elements"],
       element_area=f["element_area"])
    at(t.element_recovery, "element_recovery", flux=c["flux"], water_density=rho_w, slice_area=area,
       node_in=c["water_in"], slices=f["slices"])
    at(t.vessel_pressure_drop, "vessel_drop", slice_loss=c["loss"])
    at(t.element_pressure_drop, "element_drop", slice_loss=c["loss"], slices=f["slices"])
    at(t.per_vessel, "vessel_feed", title="Feed per vessel", flow=f["feed_flow"], vessels=vessels)
    at(t.per_vessel, "vessel_concentrate", title="Reject per vessel", flow=q_c, vessels=vessels)
    return Recorded(out)


def prove_element(sheet, a, b, acid, borate, salinity, osmotic, density, mu, ph, slices) -> None:
    """Put the rated test through the recording relations and bind the residuals to the permeabilities."""
    from desalbook.membrane.element import rejection, rejection_left_over

    def fixed(name, value, kind, title):
        return assumed(f"membrane.element.{name}", value, kind, title=title, source="definition")

    f: dict[str, Any] = geometry("membrane.element", sheet["area"], sheet["length"], sheet["spacer_height"],
                                 sheet["spacer_porosity"], slices)
    f |= {"water_permeability": a, "salt_permeability": b, "boric_acid_permeability": acid,
          "borate_permeability": borate, "feed_salinity": salinity, "osmotic": osmotic, "density": density,
          "water_viscosity": mu, "temperature": sheet["test_temperature"], "ph_total": ph,
          "permeate_pressure": fixed("test_permeate_pressure", 0.0, "gauge pressure", "Test: permeate pressure"),
          "vessels": fixed("test_vessels", 1, "count", "Test: one element"), "feed_pressure": sheet["test_pressure"]}
    f["feed_flow"] = test_feed.at("membrane.element.test_feed_flow", permeate_flow=sheet["rated_flow"],
                                  recovery=sheet["test_recovery"])
    test_density = t.density_of.at("membrane.element.test_feed_density", salinity=salinity,
                                   **dict(density.items()))
    f["boron_ratio"] = boron_per_water.at("membrane.element.test_boron_ratio", boron_feed=sheet["test_boron"],
                                          density=test_density, concentration=sheet["test_concentration"])
    f["inlet"] = f["feed_pressure"]  # the test's pressure is that at the element
    f["water"] = t.vessel_water.at("membrane.element.test_water", feed_flow=f["feed_flow"],
                                   feed_density=test_density, feed_salinity=salinity, vessels=f["vessels"])
    f["salt"] = t.vessel_salt.at("membrane.element.test_salt", node_water=f["water"], feed_salinity=salinity)
    f["boron"] = vessel_boron.at("membrane.element.test_boron_flow", node_water=f["water"],
                                 boron_ratio=f["boron_ratio"])
    r = solve(Cases(
        vessels=1.0, elements=1, feed_flow=float(f["feed_flow"]), permeate_flow=float(sheet["rated_flow"]),
        feed_pressure=float(sheet["test_pressure"]), feed_salinity=float(salinity),
        temperature=float(sheet["test_temperature"]), permeate_pressure=0.0, water_permeability=float(a),
        salt_permeability=float(b), boric_acid_permeability=float(acid), borate_permeability=float(borate),
        boron_feed=float(f["boron_ratio"]), ph_total=float(ph), water_viscosity=float(mu),
        osmotic=osmotic.values[None], density=density.values[None], element_area=float(sheet["area"]),
        element_length=float(sheet["length"]), spacer_height=float(sheet["spacer_height"]),
        spacer_porosity=float(sheet["spacer_porosity"])), "permeate_flow", slices=int(slices))
    c = _columns("membrane.element", r.state, 0, f, [f"1.{j + 1}" for j in range(int(slices))])
    rho_w, area, one = density["rho_0"], f["slice_area"], f["vessels"]
    w = t.permeate_water.at("membrane.element.permeate_water", flux=c["flux"], water_density=rho_w,
                            slice_area=area, vessels=one)
    s = t.permeate_solute.at("membrane.element.permeate_salt", salt_flux=c["salt_flux"], slice_area=area,
                             vessels=one)
    x = t.ratio_of.at("membrane.element.permeate_salinity", solute=s, water=w)
    rho = t.density_of.at("membrane.element.permeate_density", salinity=x, **dict(density.items()))
    q = t.volume_flow.at("membrane.element.permeate_flow", solute=s, water=w, density=rho)
    left = t.flow_left_over.at("membrane.element.residual_flow", permeate_flow=q, wanted_flow=sheet["rated_flow"])
    residual(a, left, float(sheet["rated_flow"]))
    for solute, flux, feed, wanted, bind in (
            ("salt", "salt_flux", sheet["test_concentration"], sheet["rated_rejection"], b),
            ("boron", "boron_flux", None, sheet["rated_boron_rejection"], acid)):
        if solute == "salt":
            found = t.solute_concentration.at("membrane.element.permeate_tds", solute=s, flow=q)
            keep = rejection.at("membrane.element.rejection", permeate_concentration=found, feed_concentration=feed)
        else:
            m = t.permeate_solute.at("membrane.element.permeate_boron_flow", salt_flux=c[flux], slice_area=area,
                                     vessels=one)
            found = t.boron_concentration.at("membrane.element.permeate_boron", solute=m, flow=q)
            keep = boron_rejection.at("membrane.element.boron_rejection", boron_permeate=found,
                                      boron_feed=sheet["test_boron"])
        left = rejection_left_over.at(f"membrane.element.residual_{solute}_rejection", rated_rejection=wanted,
                                      rejection=keep)
        residual(bind, left, 1 - float(wanted))


@relation("Feed flow of the test", symbol="Q_t", unit="m^3/s", source="definition")
def test_feed(permeate_flow: t.M3PerS, recovery: t.Fraction) -> t.M3PerS:
    """From permeate and recovery."""
    return permeate_flow / recovery


@relation("Boron rejection", symbol="R_B", unit="1", source="definition")
def boron_rejection(boron_permeate: t.Boron, boron_feed: t.Boron) -> t.Fraction:
    """Share of boron kept back."""
    return 1 - boron_permeate / boron_feed
