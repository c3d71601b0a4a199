"""The rated test of an element, put through the recording relations."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np

from desalbook.membrane import left_over
from desalbook.membrane import transport as t
from desalbook.membrane.channel import laws_of
from desalbook.membrane.replay import boron_per_water, columns, defaults, geometry, vessel_boron
from desalbook.membrane.solve import Cases, Laws, Solution, solve
from desalbook.trail import assumed, relation, residual

__all__ = ["prove_element"]


@lru_cache(maxsize=16)
def _rated(numbers: tuple[float, ...], osmotic: tuple[float, ...], density: tuple[float, ...], slices: int,
           laws: Laws) -> Solution:
    """The rated test solved; kept by its numbers, for a sheet seldom changes."""
    names = ("feed_flow", "permeate_flow", "feed_pressure", "feed_salinity", "temperature", "water_permeability",
             "salt_permeability", "boric_acid_permeability", "borate_permeability", "boron_feed", "ph_total",
             "water_viscosity", "element_area", "element_length", "spacer_height", "spacer_porosity")
    cases = Cases(vessels=1.0, elements=1, permeate_pressure=0.0, osmotic=np.array([osmotic]),
                  density=np.array([density]), **dict(zip(names, numbers, strict=True)))
    return solve(cases, "permeate_flow", slices=slices, laws=laws)


def prove_element(sheet, a, b, acid, borate, salinity, osmotic, density, mu, ph, slices, law) -> None:
    """Put the rated test through the recording relations and bind the residuals to the permeabilities."""
    from desalbook.membrane.element import rejection, rejection_left_over

    def fixed(name, value, kind, title):
        return assumed(f"membrane.element.{name}", value, kind, title=title, source="definition")

    f: dict[str, Any] = geometry("membrane.element", sheet["area"], sheet["length"], sheet["spacer_height"],
                                 sheet["spacer_porosity"], slices) | law
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
    r = _rated(tuple(float(x) for x in (
        f["feed_flow"], sheet["rated_flow"], sheet["test_pressure"], salinity, sheet["test_temperature"], a, b, acid,
        borate, f["boron_ratio"], ph, mu, sheet["area"], sheet["length"], sheet["spacer_height"],
        sheet["spacer_porosity"])), tuple(osmotic.values), tuple(density.values), int(slices), laws_of(law))
    f["elements"] = f["vessels"]
    defaults("membrane.element", f)
    c = columns("membrane.element", r, 0, f, [f"1.{j + 1}" for j in range(int(slices))])
    rho_w, area, one = density["rho_0"], f["slice_area"], f["vessels"]
    w = t.permeate_water.at("membrane.element.permeate_water", flux=c["flux"], water_density=rho_w,
                            slice_area=area, vessels=one)
    s = t.permeate_solute.at("membrane.element.permeate_salt", salt_flux=c["salt_flux"], slice_area=area,
                             vessels=one)
    x = t.ratio_of.at("membrane.element.permeate_salinity", solute=s, water=w)
    rho = t.density_of.at("membrane.element.permeate_density", salinity=x, **dict(density.items()))
    q = t.volume_flow.at("membrane.element.permeate_flow", solute=s, water=w, density=rho)
    left = left_over.flow_left_over.at("membrane.element.residual_flow", permeate_flow=q,
                                   wanted_flow=sheet["rated_flow"])
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
