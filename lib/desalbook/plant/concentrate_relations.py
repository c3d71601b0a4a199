"""Balances of the whole plant, and the near field of a dense jet."""

from __future__ import annotations

from desalbook.trail import constant, minimum, relation
from desalbook.units import (
    AsCl2,
    Concentration,
    Count,
    Factor,
    KgPerM3,
    KgPerS,
    M,
    M3PerS,
    Molality,
    MPerS,
    MPerS2,
    Salinity,
)

__all__ = [
    "carbon_dioxide_gone",
    "concentration_by_chloride",
    "excess_at",
    "excess_left",
    "impact_dilution",
    "impact_distance",
    "jet_froude",
    "jet_rise",
    "layer_thickness",
    "near_field_dilution",
    "near_field_length",
    "port_flow",
    "reduced_gravity",
    "residual_left",
    "solids_dry",
    "solids_of_wash",
]

G = constant("g", 9.80665, "m/s^2", source="codata-2018", title="Standard gravity")
JET = {"source": "roberts-1997", "place": "60 degrees, still deep water; from memory"}
NOTE = "one jet at 60 degrees in still, deep water, Froude number above 20; currents change it, neighbours merge"


@relation("Concentration factor of the reject", symbol="CF", unit="1", source="definition", note="by chloride")
def concentration_by_chloride(molality: Molality, feed_molality: Molality) -> Factor:
    """Chloride of the reject over that of the feed."""
    return molality / feed_molality


@relation("Carbon dioxide gone with the permeate, per water of the reject", symbol="b_CO2p", unit="mol/kg",
          source="definition", note="it passes membranes freely: as much per water in the permeate as in the feed")
def carbon_dioxide_gone(carbon_dioxide: Molality, concentration_factor: Factor) -> Molality:
    """Water of the permeate over water of the reject, times what it carries."""
    return (concentration_factor - 1) * carbon_dioxide


@relation("Flow of one port", symbol="Q_1", unit="m^3/s", source="definition")
def port_flow(reject_flow: M3PerS, trains: Count, ports: Count) -> M3PerS:
    """All trains, shared between like ports."""
    return reject_flow * trains / ports


@relation("Excess of salt", symbol="Delta_X", unit="1", source="definition")
def excess_left(salinity: Salinity, ambient_salinity: Salinity) -> Salinity:
    """Over the sea around."""
    return salinity - ambient_salinity


@relation("Solids that the filters hold back", symbol="W_ss", unit="kg/s", source="common-practice",
          note="all suspended solids of the raw water, and the coagulant as hydroxide")
def solids_dry(raw_flow: M3PerS, suspended_solids: Concentration, floc_solids: Concentration) -> KgPerS:
    """What the wash carries away, dry."""
    return raw_flow * (suspended_solids + floc_solids)


@relation("Solids in the wash waste", symbol="C_ss", unit="kg/m^3", source="definition")
def solids_of_wash(solids_rate: KgPerS, waste_flow: M3PerS) -> Concentration:
    """Mean over the waste."""
    return solids_rate / waste_flow


@relation("Residual chlorine at discharge", symbol="C_out", unit="kg/m^3", source="definition",
          note="the reducing agent's multiple leaves none where it is at least one")
def residual_left(residual_chlorine: AsCl2, bisulfite_multiple: Factor) -> AsCl2:
    """What is not dechlorinated."""
    return residual_chlorine * (1 - minimum(1, bisulfite_multiple))


@relation("Reduced gravity of the jet", symbol="g_0", unit="m/s^2", source="roberts-1997")
def reduced_gravity(jet_density: KgPerM3, ambient_density: KgPerM3) -> MPerS2:
    """Gravity on the difference of density."""
    return G * (jet_density - ambient_density) / ambient_density


@relation("Froude number of the jet", symbol="F", unit="1", source="roberts-1997")
def jet_froude(jet_velocity: MPerS, reduced_gravity: MPerS2, port_diameter: M) -> Factor:
    """Momentum over buoyancy at the port."""
    return jet_velocity / (reduced_gravity * port_diameter) ** 0.5


@relation("Highest rise of the jet", symbol="y_t", unit="m", **JET, note=NOTE)
def jet_rise(port_diameter: M, jet_froude: Factor) -> M:
    """Top of the jet over the port."""
    return 2.2 * port_diameter * jet_froude


@relation("Distance to where the jet lands", symbol="x_i", unit="m", **JET, note=NOTE)
def impact_distance(port_diameter: M, jet_froude: Factor) -> M:
    """Along the bed."""
    return 2.4 * port_diameter * jet_froude


@relation("Dilution where the jet lands", symbol="S_i", unit="1", **JET, note=NOTE + "; 1.6 within 0.12")
def impact_dilution(jet_froude: Factor) -> Factor:
    """Least dilution on the bed."""
    return 1.6 * jet_froude


@relation("Length of the near field", symbol="x_n", unit="m", **JET, note=NOTE)
def near_field_length(port_diameter: M, jet_froude: Factor) -> M:
    """Where the jet's own mixing ends."""
    return 9.0 * port_diameter * jet_froude


@relation("Dilution at the end of the near field", symbol="S_n", unit="1", **JET, note=NOTE)
def near_field_dilution(jet_froude: Factor) -> Factor:
    """Not to be taken for that where the jet lands."""
    return 2.6 * jet_froude


@relation("Thickness of the layer on the bed", symbol="y_l", unit="m", **JET, note=NOTE)
def layer_thickness(port_diameter: M, jet_froude: Factor) -> M:
    """Behind the near field."""
    return 0.7 * port_diameter * jet_froude


@relation("Salinity after dilution", symbol="X_d", unit="1", source="definition")
def excess_at(jet_salinity: Salinity, ambient_salinity: Salinity, jet_dilution: Factor) -> Salinity:
    """The excess shared by the dilution."""
    return ambient_salinity + (jet_salinity - ambient_salinity) / jet_dilution
