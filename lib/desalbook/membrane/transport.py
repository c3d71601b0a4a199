"""Transport along a spiral-wound element: one relation for each step, used by the solver and the record.

Composition is per kilogram of water; a concentration here is that times the density of pure water, so that
film theory, solution-diffusion and the balances of mass close without a volume of mixing.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Annotated, Any

from desalbook.trail import constant, dot, exp, largest, last, log, maximum, minimum, relation, sqrt, total
from desalbook.units import (
    KINDS,
    M2,
    Concentration,
    Count,
    DifferencePa,
    Factor,
    Flux,
    Fraction,
    GaugePa,
    JPerMol,
    K,
    KgPerM3,
    KgPerS,
    M,
    M2PerS,
    M3PerS,
    MassTransfer,
    MPerS,
    OsmoticPa,
    PaS,
    PHTotal,
    S,
    Salinity,
    SaltFlux,
    SaltPermeability,
    WaterPermeability,
)
from desalbook.water.boron import pkb_saline
from desalbook.water.seawater import practical_salinity

Small = Annotated[float, KINDS["length.small"]]
Boron = Annotated[float, KINDS["concentration as B"]]

GAS = constant("R", 8.31446261815324, "J/(mol K)", source="codata-2018", title="Gas constant")
STANDARD = constant("T_0", 298.15, "K", source="definition", title="25 degC")
ICE = constant("T_ice", 273.15, "K", source="definition", title="0 degC")
KELVIN = constant("K", 1.0, "K", source="definition", title="One kelvin")
YEAR = constant("yr", 31557600.0, "s", source="definition", title="One year of 365.25 days")
D_ZERO = constant("D_0", 6.725e-6, "m^2/s", source="taniguchi-2001", title="Diffusivity scale")
PER_M3 = constant("c_1", 1.0, "kg/m^3", source="definition", title="One kilogram per cubic metre")
CURVES_END = constant("X_end", 0.13, "1", source="phreeqc-2013", title="Salt per water where the water's curves end")
MU_ONE = constant("mu_1", 1.0, "Pa s", source="definition", title="One pascal second")


@relation("Temperature factor", symbol="F_T", unit="1", source="astm-d4516",
          note="one activation energy over the whole range",
          within={"temperature": ("0 degC", "45 degC")})
def temperature_factor(activation_energy: JPerMol, temperature: K) -> Factor:
    """Temperature correction factor: permeability relative to 25 degC.

    Arrhenius with one activation energy; near freezing and above 45 degC it is an extrapolation.
    """
    return exp(activation_energy / GAS * (1 / STANDARD - 1 / temperature))


@relation("Water permeability in service", symbol="A_w", unit="m/(s Pa)", source="common-practice")
def water_permeability(permeability: WaterPermeability, temperature_factor: Factor, yearly_loss: Fraction,
                       age: S, fouling_factor: Factor) -> WaterPermeability:
    """Water permeability in service: temperature, age and fouling applied.

    Loss compounds from year to year; a membrane that is cleaned well keeps more.
    """
    return permeability * temperature_factor * (1 - yearly_loss) ** (age / YEAR) * fouling_factor


@relation("Salt permeability in service", symbol="B_s", unit="m/s", source="common-practice")
def salt_permeability(salt_permeability: SaltPermeability, temperature_factor: Factor, yearly_rise: Fraction,
                      age: S) -> SaltPermeability:
    """Salt permeability in service: temperature and age applied.

    The rise is linear in age; oxidation or leaks are not in it.
    """
    return salt_permeability * temperature_factor * (1 + yearly_rise * age / YEAR)


@relation("Hydraulic diameter of the feed channel", symbol="d_h", unit="m", source="schock-miquel-1987")
def hydraulic_diameter(spacer_height: Small, spacer_porosity: Fraction) -> Small:
    """Hydraulic diameter of the feed channel with its spacer.

    Two layers of round filaments, each half the channel high.
    """
    return 4 * spacer_porosity / (2 / spacer_height + (1 - spacer_porosity) * 8 / spacer_height)


@relation("Width of all leaves", symbol="W", unit="m", source="definition")
def channel_width(element_area: M2, element_length: M) -> M:
    """Width of all feed channels of an element, side by side.

    Both sides of a leaf filter, so it is half the membrane area over the length; glue lines are neglected.
    """
    return element_area / (2 * element_length)


@relation("Density", symbol="rho", unit="kg/m^3", source="phreeqc-2013",
          note="polynomial through the engine's points for this water")
def density_of(salinity: Salinity, rho_0: KgPerM3, rho_1: KgPerM3, rho_15: KgPerM3,
               rho_2: KgPerM3) -> KgPerM3:
    """Density of this very water at one temperature, by its salinity.

    A polynomial through the engine's points; it ends where the points end, at 130 g/kg.
    """
    return rho_0 + salinity * (rho_1 + rho_15 * sqrt(salinity) + rho_2 * salinity)


@relation("Osmotic pressure", symbol="pi", unit="Pa", source="phreeqc-2013",
          note="smooth curve through the engine's points for this water",
          within={"salinity": ("0 g/kg", "130 g/kg")})
def osmotic_of(salinity: Salinity, osm_0: OsmoticPa, osm_1: OsmoticPa, osm_2: OsmoticPa, osm_3: OsmoticPa,
               osm_4: OsmoticPa, osm_5: OsmoticPa) -> OsmoticPa:
    """Osmotic pressure of this very water at one temperature, by its salinity.

    A smooth curve through the engine's points up to 130 g/kg. Beyond, it goes on rising with the power 1.5, so that
    a search does not run into a false root; a number found there is no answer.
    """
    return minimum(salinity, CURVES_END) * (
        osm_0 + osm_1 * sqrt(minimum(salinity, CURVES_END)) + minimum(salinity, CURVES_END) * (
            osm_2 + osm_3 * sqrt(minimum(salinity, CURVES_END)) + minimum(salinity, CURVES_END) * (
                osm_4 + osm_5 * sqrt(minimum(salinity, CURVES_END))))) * (
        maximum(salinity, CURVES_END) / CURVES_END) ** 1.5


@relation("Viscosity", symbol="mu", unit="Pa s", source="sharqawy-2010", place="eqs 22 and 23, salt factor",
          within={"salinity": ("0 g/kg", "170 g/kg"), "temperature": ("0 degC", "180 degC")})
def viscosity_of(salinity: Salinity, water_viscosity: PaS, temperature: K) -> PaS:
    """Viscosity of seawater: that of pure water times the effect of sea salt.

    For seawater's proportions of ions; other waters are within a few per cent.
    """
    return water_viscosity * (
        1 + (1.541 + 0.01998 * ((temperature - ICE) / KELVIN) - 9.52e-5 * ((temperature - ICE) / KELVIN) ** 2)
        * (salinity / (1 + salinity))
        + (7.974 - 0.07561 * ((temperature - ICE) / KELVIN) + 4.724e-4 * ((temperature - ICE) / KELVIN) ** 2)
        * (salinity / (1 + salinity)) ** 2)


@relation("Diffusivity of the salt", symbol="D_s", unit="m^2/s", source="taniguchi-2001",
          within={"temperature": ("5 degC", "45 degC")})
def diffusivity_of(concentration: Concentration, temperature: K) -> M2PerS:
    """Diffusivity of the salt in the bulk.

    Sodium chloride, as used for seawater elements; other salts diffuse more slowly.
    """
    return D_ZERO * exp(0.1546e-3 * (concentration / PER_M3) - 2513 / (temperature / KELVIN))


@relation("Salt concentration", symbol="C", unit="kg/m^3", source="definition")
def concentration_of(salinity: Salinity, density: KgPerM3) -> Concentration:
    """Salt concentration: per volume of solution, from salt per water.

    By the density of the solution itself.
    """
    return salinity * density / (1 + salinity)


@relation("Velocity in the channel", symbol="u", unit="m/s", source="schock-miquel-1987")
def channel_velocity(node_flow: M3PerS, width: M, spacer_height: Small, spacer_porosity: Fraction) -> MPerS:
    """Velocity in the feed channel, in the void of the spacer.

    Even flow over the width; dead zones are neglected.
    """
    return node_flow / (width * spacer_height * spacer_porosity)


@relation("Reynolds number", symbol="Re", unit="1", source="definition")
def channel_reynolds(channel_velocity: MPerS, density: KgPerM3, hydraulic_diameter: Small,
                     viscosity: PaS) -> Factor:
    """Reynolds number of the feed channel, on its hydraulic diameter.

    The velocity is that in the void of the spacer, as the correlations have it.
    """
    return density * channel_velocity * hydraulic_diameter / viscosity


@relation("Schmidt number", symbol="Sc", unit="1", source="definition")
def schmidt(viscosity: PaS, density: KgPerM3, diffusivity: M2PerS) -> Factor:
    """Schmidt number: momentum over salt diffusion.

    Of the bulk; at the membrane the viscosity is a little higher.
    """
    return viscosity / (density * diffusivity)


@relation("Sherwood number", symbol="Sh", unit="1", source="schock-miquel-1987",
          note="measured between Re 100 and 1000; other correlations differ by up to half",
          within={"reynolds": ("50", "1200")})
def sherwood_schock(reynolds: Factor, schmidt: Factor) -> Factor:
    """Mass transfer in the spacer-filled channel, measured.

    Measured between Reynolds numbers of 100 and 1000 with sodium chloride; other correlations differ by up to
    half.
    """
    return 0.065 * reynolds ** 0.875 * schmidt ** 0.25


@relation("Friction factor", symbol="f", unit="1", source="schock-miquel-1987",
          note="Darcy form; measured between Re 100 and 1000", within={"reynolds": ("50", "1200")})
def friction_schock(reynolds: Factor) -> Factor:
    """Darcy friction factor of the spacer-filled channel, measured.

    Clean spacers between Reynolds numbers of 100 and 1000; fouling raises it.
    """
    return 6.23 * reynolds ** (-0.3)


@relation("Mass-transfer coefficient", symbol="k", unit="m/s", source="definition")
def mass_transfer(sherwood: Factor, diffusivity: M2PerS, hydraulic_diameter: Small) -> MassTransfer:
    """Mass-transfer coefficient of the feed channel, from the Sherwood number.

    On the hydraulic diameter; an average over the spacer's cells.
    """
    return sherwood * diffusivity / hydraulic_diameter


@relation("CP factor", symbol="beta", unit="1", source="schock-miquel-1987", place="film theory")
def concentration_polarisation(flux: Flux, mass_transfer: MassTransfer) -> Factor:
    """Concentration-polarisation factor: excess at the membrane over the bulk, both above the permeate.

    Film theory: a stagnant film of even thickness, no suction effect on the mass transfer; fails where salt
    precipitates on the membrane.
    """
    return exp(flux / mass_transfer)


@relation("Salt passage", symbol="SP", unit="1", source="schock-miquel-1987",
          place="solution-diffusion with film theory, solved for the permeate")
def salt_passage(salt_permeability: SaltPermeability, beta: Factor, flux: Flux) -> Fraction:
    """Observed passage of a solute at one place: permeate over bulk, both per water.

    Solution-diffusion with constant permeability; coupling to the water flux and charge are neglected, so that
    divalent ions need a permeability of their own.
    """
    return salt_permeability * beta / (flux + salt_permeability * beta)


@relation("Solute in the permeate, per water", symbol="X_p", unit="1", source="definition")
def permeate_salinity(salt_passage: Fraction, salinity: Salinity) -> Salinity:
    """Solute per water in the permeate made at one place.

    Bulk times observed passage; what was made upstream does not mix in here.
    """
    return salt_passage * salinity


@relation("Salt at the wall, per water", symbol="X_w", unit="1", source="schock-miquel-1987", place="film theory")
def wall_salinity(permeate_salinity: Salinity, salinity: Salinity, beta: Factor) -> Salinity:
    """Salt at the membrane's surface, per water, by film theory.

    One polarisation for all ions; where salt precipitates it is too high.
    """
    return permeate_salinity + (salinity - permeate_salinity) * beta


@relation("Net driving pressure", symbol="NDP", unit="Pa", source="lu-2007", place="solution-diffusion")
def net_driving_pressure(node_pressure: GaugePa, permeate_pressure: GaugePa, osmotic_wall: OsmoticPa,
                         osmotic_permeate: OsmoticPa) -> DifferencePa:
    """Hydraulic less osmotic pressure across the membrane, at the membrane's surface.

    A reflection coefficient of one is assumed; where it falls to zero no water passes.
    """
    return node_pressure - permeate_pressure - (osmotic_wall - osmotic_permeate)


@relation("Water flux by the driving pressure", symbol="J", unit="m/s", source="lu-2007",
          place="solution-diffusion")
def water_flux(permeability: WaterPermeability, net_driving_pressure: DifferencePa) -> Flux:
    """Volume of pure water per area and time.

    Solution-diffusion with constant permeability; compaction with pressure is neglected.
    """
    return permeability * net_driving_pressure


@relation("Solute flux", symbol="J_s", unit="kg/(m^2 s)", source="definition")
def salt_flux(flux: Flux, water_density: KgPerM3, permeate_salinity: Salinity) -> SaltFlux:
    """Solute flux: carried by the water that passes.

    Steady state, so that what passes is what the permeate holds.
    """
    return flux * water_density * permeate_salinity


@relation("Pressure drop across one slice", symbol="Delta_p_i", unit="Pa", source="schock-miquel-1987")
def slice_loss(friction_factor: Factor, slice_length: M, hydraulic_diameter: Small, density: KgPerM3,
               channel_velocity: MPerS) -> DifferencePa:
    """Friction along one slice of the feed channel, Darcy form.

    Velocity and density of the slice's bulk.
    """
    return friction_factor * slice_length / hydraulic_diameter * density * channel_velocity ** 2 / 2


@relation("Boron permeability", symbol="B_B", unit="m/s", source="tu-2010",
          place="two species, boric acid and borate",
          note="species of the bulk; at the wall the pH is taken to be the same")
def boron_permeability(boric_acid_permeability: SaltPermeability, borate_permeability: SaltPermeability,
                       borate_fraction: Fraction) -> SaltPermeability:
    """Boron permeability of the mixture of boric acid and borate.

    Weighted with the species at the bulk's pH and salinity; the film is taken to have the same.
    """
    return boric_acid_permeability * (1 - borate_fraction) + borate_permeability * borate_fraction


@relation("Borate fraction along the vessel", symbol="f_B", unit="1", source="phreeqc-2013",
          note="pH and constant both move with the concentration of the bulk, as the engine finds it for this water; "
               "salt that passes the membrane is omitted of that, and the film takes the bulk's share")
def borate_along(ph_total: PHTotal, pk: Factor, salinity: Salinity, borate_salinity: Salinity,
                 shift_1: Factor, shift_2: Factor) -> Fraction:
    """Fraction of boron that is borate along the vessel.

    pH and constant move with the bulk's concentration as the engine finds for this water; salt that passes is
    neglected.
    """
    return 1 / (1 + 10 ** (pk - ph_total - shift_1 * log(salinity / borate_salinity)
                           - shift_2 * log(salinity / borate_salinity) ** 2))


# --- what leaves the vessel -----------------------------------------------------------------------------

@relation("Water into one vessel", symbol="M_w", unit="kg/s", source="definition")
def vessel_water(feed_flow: M3PerS, feed_density: KgPerM3, feed_salinity: Salinity, vessels: Count) -> KgPerS:
    """Water into one vessel.

    Even distribution of the feed over the vessels of a train.
    """
    return feed_flow * feed_density / (1 + feed_salinity) / vessels


@relation("Salt into one vessel", symbol="M_s", unit="kg/s", source="definition")
def vessel_salt(node_water: KgPerS, feed_salinity: Salinity) -> KgPerS:
    """Solute into one vessel, from the water and the solute per water.

    Even distribution of the feed over the vessels of a train.
    """
    return node_water * feed_salinity


@relation("Bulk of a slice", symbol="M_m", unit="kg/s", source="gauss-collocation",
          note="fourth order where slices stand in pairs, second where they stand alone")
def slice_mean(node_in: KgPerS, node_out: KgPerS, pair_change: KgPerS, pair_shift: Fraction) -> KgPerS:
    """Bulk flow at a slice's point of Gauss.

    Half the sum of both ends, moved by what the other slice of the pair changes; of second order where slices
    stand alone.
    """
    return (node_in + node_out) / 2 + pair_shift * (pair_change - (node_in - node_out))


@relation("Bulk pressure of a slice", symbol="p_m", unit="Pa", source="gauss-collocation",
          note="fourth order where slices stand in pairs, second where they stand alone")
def slice_pressure(pressure_in: GaugePa, pressure_out: GaugePa, pair_loss: DifferencePa,
                   pair_shift: Fraction) -> GaugePa:
    """Bulk pressure at a slice's point of Gauss.

    Half the sum of both ends, moved by what the other slice of the pair loses; of second order where slices
    stand alone.
    """
    return (pressure_in + pressure_out) / 2 + pair_shift * (pair_loss - (pressure_in - pressure_out))


@relation("Membrane area of one slice", symbol="A_i", unit="m^2", source="definition")
def slice_area(element_area: M2, slices: Count) -> M2:
    """Membrane area of one slice of one vessel.

    Slices of an element are alike.
    """
    return element_area / slices


@relation("Length of one slice", symbol="l_i", unit="m", source="definition")
def slice_length(element_length: M, slices: Count) -> M:
    """Length of one slice along the feed.

    Slices of an element are alike.
    """
    return element_length / slices


@relation("Water in the permeate", symbol="M_pw", unit="kg/s", source="definition")
def permeate_water(flux: Flux, water_density: KgPerM3, slice_area: M2, vessels: Count) -> KgPerS:
    """Water in the permeate of all vessels of a train.

    Vessels are alike and fed alike.
    """
    return total(flux * slice_area) * water_density * vessels


@relation("Solute in the permeate", symbol="M_ps", unit="kg/s", source="definition")
def permeate_solute(salt_flux: SaltFlux, slice_area: M2, vessels: Count) -> KgPerS:
    """Solute in the permeate of all vessels of a train.

    Vessels are alike and fed alike.
    """
    return total(salt_flux * slice_area) * vessels


@relation("Solute per water", symbol="X", unit="1", source="definition")
def ratio_of(solute: KgPerS, water: KgPerS) -> Salinity:
    """Solute per water, by mass.

    Per water, not per solution: it concentrates and blends exactly.
    """
    return solute / water


@relation("Volume flow", symbol="Q", unit="m^3/s", source="definition")
def volume_flow(solute: KgPerS, water: KgPerS, density: KgPerM3) -> M3PerS:
    """Volume flow of a solution, over its own density.

    Solute and water together; volumes of different streams are not added.
    """
    return (solute + water) / density


@relation("Flow left at the end", symbol="M_c", unit="kg/s", source="definition")
def train_last(node_out: KgPerS, vessels: Count) -> KgPerS:
    """Mass flow out of the last slice, all vessels of a train.

    Vessels are alike and fed alike.
    """
    return last(node_out) * vessels


@relation("Concentration", symbol="C", unit="kg/m^3", source="definition")
def solute_concentration(solute: KgPerS, flow: M3PerS) -> Concentration:
    """Concentration: mass flow of a solute over volume flow.

    Per volume of the solution at its own temperature.
    """
    return solute / flow


@relation("Boron concentration", symbol="C_B", unit="kg/m^3", source="definition")
def boron_concentration(solute: KgPerS, flow: M3PerS) -> Boron:
    """Boron concentration, as boron: its mass flow over volume flow.

    Boron itself, not boric acid.
    """
    return solute / flow


@relation("Pressure drop from feed to concentrate", symbol="Delta_p", unit="Pa", source="definition")
def train_pressure_drop(vessel_drop: DifferencePa, port_loss: DifferencePa) -> DifferencePa:
    """Pressure drop of a train from feed to concentrate header.

    One vessel, and its ports and headers; vessels are in parallel.
    """
    return vessel_drop + port_loss


@relation("Pressure drop of one vessel", symbol="Delta_p_v", unit="Pa", source="definition")
def vessel_pressure_drop(slice_loss: DifferencePa, interconnector_loss: DifferencePa,
                         elements_per_vessel: Count) -> DifferencePa:
    """Pressure drop of one vessel, without ports and headers.

    Channels and joints between the elements; clean spacers.
    """
    return total(slice_loss) + interconnector_loss * (elements_per_vessel - 1)


@relation("Recovery of each element", symbol="Y_e", unit="1", source="definition", note="by mass of water")
def recovery_along(node_in: KgPerS, node_out: KgPerS) -> Fraction:
    """Recovery of each element, by mass of water.

    Water that passes over water that enters this element, not the vessel.
    """
    return 1 - node_out / node_in


@relation("Pressure drop of each element", symbol="Delta_p_e", unit="Pa", source="definition")
def loss_along(pressure_in: GaugePa, pressure_out: GaugePa) -> DifferencePa:
    """Pressure drop of each element, from its inlet to its outlet.

    The joints between elements are counted apart.
    """
    return pressure_in - pressure_out


@relation("Largest pressure drop of one element", symbol="Delta_p_e", unit="Pa", source="definition")
def element_pressure_drop(element_loss: DifferencePa) -> DifferencePa:
    """Maximum pressure drop of one element in a vessel.

    The first element's, as a rule, for it has the most flow.
    """
    return largest(element_loss)


@relation("Pressure into the vessel", symbol="p_1", unit="Pa", source="definition")
def inlet_pressure(feed_pressure: GaugePa, port_loss: DifferencePa) -> GaugePa:
    """Pressure into a vessel: feed pressure less half of the port and header loss.

    The other half is taken on the concentrate side.
    """
    return feed_pressure - port_loss / 2


@relation("Concentrate pressure at vessel outlet", symbol="p_c", unit="Pa", source="definition")
def concentrate_pressure(feed_pressure: GaugePa, pressure_drop: DifferencePa) -> GaugePa:
    """Concentrate pressure at its header.

    Feed pressure less the drop of the train.
    """
    return feed_pressure - pressure_drop


@relation("Average flux", symbol="J_m", unit="m/s", source="definition")
def average_flux(permeate_flow: M3PerS, vessels: Count, elements_per_vessel: Count, element_area: M2) -> Flux:
    """Average flux: permeate over all membrane of a train.

    The lead element has up to twice as much.
    """
    return permeate_flow / (vessels * elements_per_vessel * element_area)


@relation("Flux of the lead element", symbol="J_1", unit="m/s", source="definition")
def lead_flux(flux: Flux, lead_fraction: Fraction) -> Flux:
    """Flux of the lead element, the mean over its slices.

    It is highest with clean warm water; where open elements stand further down another may have more.
    """
    return dot(flux, lead_fraction)


@relation("Maximum recovery of one element", symbol="Y_e", unit="1", source="definition")
def element_recovery(element_fraction: Fraction) -> Fraction:
    """Maximum recovery of one element in a vessel.

    The lead element's, as a rule; after a low-pressure front another's.
    """
    return largest(element_fraction)


@relation("CP factor by element recovery", symbol="beta_Y", unit="1", source="common-practice",
          note="the trade's measure, by which the guideline of 1.2 is meant; it does not know flux or spacer")
def polarisation_by_recovery(element_recovery: Fraction) -> Factor:
    """Concentration-polarisation factor as the trade states it, from the recovery of one element.

    An empirical stand-in for film theory in usual spacers at usual flows; at low cross-flow or high flux it says
    too little.
    """
    return exp(0.7 * element_recovery)


@relation("Maximum CP factor", symbol="beta_max", unit="1", source="definition",
          note="of all slices and of that end of an element where it is highest")
def highest(beta: Factor, end_beta: Factor) -> Factor:
    """Maximum concentration-polarisation factor in a vessel.

    Over all slices and that end of an element where it is highest; at the inlet of the lead element, as a rule.
    """
    return maximum(largest(beta), end_beta)


@relation("Flow per vessel", symbol="q_v", unit="m^3/s", source="definition")
def per_vessel(flow: M3PerS, vessels: Count) -> M3PerS:
    """Flow per vessel of a train.

    Even distribution; `flow_spread` is the margin for what is not.
    """
    return flow / vessels


# --- how the relations are joined, for the solver's arrays and for the record alike ----------------------

Call = Callable[..., Any]
"""``call(relation, name, **arguments)``: computes the value called ``name``, or records it (see `vessel`)."""


def channel_geometry(call: Call, area: Any, length: Any, height: Any, porosity: Any, slices: Any) -> dict[str, Any]:
    """The feed channel and its slices, from the element's sheet."""
    return {"spacer_height": height, "spacer_porosity": porosity, "element_area": area, "element_length": length,
            "slices": slices,
            "hydraulic_diameter": call(hydraulic_diameter, "hydraulic_diameter", spacer_height=height,
                                       spacer_porosity=porosity),
            "width": call(channel_width, "channel_width", element_area=area, element_length=length),
            "slice_area": call(slice_area, "slice_area", element_area=area, slices=slices),
            "slice_length": call(slice_length, "slice_length", element_length=length, slices=slices)}


def inlet_of_train(call: Call, f: Mapping[str, Any], laws: Any, out: dict[str, Any]) -> None:
    """Pressure, water and salt into each vessel, from the feed of the train."""
    out["inlet_pressure"] = call(inlet_pressure, "inlet_pressure", feed_pressure=f["feed_pressure"],
                                 port_loss=f["port_loss"])
    rho = out["feed_density"] = call(laws.relation("density"), "feed_density", title="Density of the RO feed",
                                     salinity=f["feed_salinity"], **f["density"])
    water = out["vessel_water"] = call(vessel_water, "vessel_water", feed_flow=f["feed_flow"], feed_density=rho,
                                       feed_salinity=f["feed_salinity"], vessels=f["vessels"])
    out["vessel_salt"] = call(vessel_salt, "vessel_salt", node_water=water, feed_salinity=f["feed_salinity"])


def bulk(call: Call, name: str, shift: Any, c: dict[str, Any]) -> None:
    """Bulk of each slice between its ends: water, salt, boron or pressure."""
    if name == "pressure":
        c[name] = call(slice_pressure, name, pressure_in=c["pressure_in"], pressure_out=c["pressure_out"],
                       pair_loss=c["pressure_pair"], pair_shift=shift)
    else:
        c[name] = call(slice_mean, name, node_in=c[f"{name}_in"], node_out=c[f"{name}_out"],
                       pair_change=c[f"{name}_pair"], pair_shift=shift)


def film(call: Call, f: Mapping[str, Any], laws: Any, c: dict[str, Any]) -> None:
    """Bulk and mass transfer in the feed channel, from ``c["water"]`` and ``c["salt"]``.

    Parameters
    ----------
    call : callable
    f : mapping
        What the places share: geometry, temperature, curves of the water.
    laws : Laws
    c : dict
        What holds at the places; filled in.
    """
    x = c["salinity"] = call(ratio_of, "salinity", title="Salt on the feed side, per water", solute=c["salt"],
                             water=c["water"])
    rho = c["density"] = call(laws.relation("density"), "density", salinity=x, **f["density"])
    mu = c["viscosity"] = call(laws.relation("viscosity"), "viscosity", salinity=x,
                               water_viscosity=f["water_viscosity"], temperature=f["temperature"])
    conc = c["concentration"] = call(concentration_of, "concentration", salinity=x, density=rho)
    d = c["diffusivity"] = call(laws.relation("diffusivity"), "diffusivity", concentration=conc,
                                temperature=f["temperature"])
    q = c["flow"] = call(volume_flow, "flow", title="Flow in one vessel", symbol="Q_v", solute=c["salt"],
                         water=c["water"], density=rho)
    u = c["velocity"] = call(channel_velocity, "velocity", node_flow=q, width=f["width"],
                             spacer_height=f["spacer_height"], spacer_porosity=f["spacer_porosity"])
    re = c["reynolds"] = call(channel_reynolds, "reynolds", channel_velocity=u, density=rho,
                              hydraulic_diameter=f["hydraulic_diameter"], viscosity=mu)
    sc = c["schmidt"] = call(schmidt, "schmidt", viscosity=mu, density=rho, diffusivity=d)
    sh = c["sherwood"] = call(laws.relation("sherwood"), "sherwood", because=f.get("mass_transfer_law"), reynolds=re,
                              schmidt=sc)
    c["mass_transfer"] = call(mass_transfer, "mass_transfer", sherwood=sh, diffusivity=d,
                              hydraulic_diameter=f["hydraulic_diameter"])


def passage(call: Call, f: Mapping[str, Any], laws: Any, c: dict[str, Any]) -> None:
    """Polarisation, permeate and wall, from the film and ``c["flux"]``."""
    beta = c["beta"] = call(concentration_polarisation, "beta", flux=c["flux"], mass_transfer=c["mass_transfer"])
    c["salt_passage"] = call(salt_passage, "salt_passage", salt_permeability=f["salt_permeability"], beta=beta,
                             flux=c["flux"])
    x_p = c["permeate_salinity"] = call(permeate_salinity, "permeate_salinity", salt_passage=c["salt_passage"],
                                        salinity=c["salinity"])
    x_w = c["wall_salinity"] = call(wall_salinity, "wall_salinity", permeate_salinity=x_p, salinity=c["salinity"],
                                    beta=beta)
    osmotic = laws.relation("osmotic")
    c["osmotic_wall"] = call(osmotic, "osmotic_wall", salinity=x_w, **f["osmotic"])
    c["osmotic_permeate"] = call(osmotic, "osmotic_permeate", salinity=x_p, **f["osmotic"])


def salt_through(call: Call, f: Mapping[str, Any], c: dict[str, Any]) -> None:
    """Salt through the membrane."""
    c["salt_flux"] = call(salt_flux, "salt_flux", flux=c["flux"], water_density=f["pure_density"],
                          permeate_salinity=c["permeate_salinity"])


def driving(call: Call, f: Mapping[str, Any], c: dict[str, Any]) -> None:
    """Water flux that the pressure at the places drives."""
    c["net_driving_pressure"] = call(net_driving_pressure, "net_driving_pressure", node_pressure=c["pressure"],
                                 permeate_pressure=f["permeate_pressure"], osmotic_wall=c["osmotic_wall"],
                                 osmotic_permeate=c["osmotic_permeate"])
    c["driven_flux"] = call(water_flux, "driven_flux", permeability=f["water_permeability"],
                            net_driving_pressure=c["net_driving_pressure"])


def friction(call: Call, f: Mapping[str, Any], laws: Any, c: dict[str, Any]) -> None:
    """Pressure lost along the slices."""
    c["friction"] = call(laws.relation("friction"), "friction", because=f.get("friction_law"), reynolds=c["reynolds"])
    c["loss"] = call(slice_loss, "loss", friction_factor=c["friction"], slice_length=f["slice_length"],
                     hydraulic_diameter=f["hydraulic_diameter"], density=c["density"],
                     channel_velocity=c["velocity"])


def boron_passage(call: Call, whole: Call, f: Mapping[str, Any], c: dict[str, Any]) -> None:
    """Boron's two species in the bulk and the permeability their mixture has, and its passage."""
    practical = whole(practical_salinity, "practical_salinity", salinity=f["borate_salinity"])
    pk = whole(pkb_saline, "pk_boric", temperature=f["temperature"], practical_salinity=practical)
    share = c["borate_fraction"] = call(borate_along, "borate_fraction", ph_total=f["ph_total"], pk=pk,
                                     salinity=c["salinity"], borate_salinity=f["borate_salinity"],
                                     **f["borate_shift"])
    b = c["boron_permeability"] = call(
        boron_permeability, "boron_permeability", boric_acid_permeability=f["boric_acid_permeability"],
        borate_permeability=f["borate_permeability"], borate_fraction=share)
    c["boron_passage"] = call(salt_passage, "boron_passage", title="Boron passage", salt_permeability=b,
                              beta=c["beta"], flux=c["flux"])


def boron_flux(call: Call, f: Mapping[str, Any], c: dict[str, Any]) -> None:
    """Boron through the membrane, from ``c["boron"]`` and its passage."""
    x = c["boron_ratio"] = call(ratio_of, "boron_ratio", title="Boron on the feed side, per water", solute=c["boron"],
                                water=c["water"])
    x_p = c["permeate_boron_ratio"] = call(permeate_salinity, "permeate_boron_ratio", salt_passage=c["boron_passage"],
                                           salinity=x)
    c["boron_flux"] = call(salt_flux, "boron_flux", flux=c["flux"], water_density=f["pure_density"],
                           permeate_salinity=x_p)


def elements_of_vessel(call: Call, c: dict[str, Any]) -> None:
    """Recovery and pressure drop of each element."""
    c["element_recovery"] = call(recovery_along, "element_fraction", node_in=c["element_water_in"],
                                 node_out=c["element_water_out"])
    c["element_loss"] = call(loss_along, "element_loss", pressure_in=c["element_pressure_in"],
                             pressure_out=c["element_pressure_out"])


def permeate_of_train(call: Call, f: Mapping[str, Any], laws: Any, c: Mapping[str, Any],
                      out: dict[str, Any]) -> None:
    """Water and salt of all vessels' permeate together, its density and flow."""
    w = out["permeate_water"] = call(permeate_water, "permeate_water", flux=c["flux"],
                                     water_density=f["pure_density"], slice_area=f["slice_area"], vessels=f["vessels"])
    s = out["permeate_salt"] = call(permeate_solute, "permeate_salt", title="Salt in the permeate",
                                    salt_flux=c["salt_flux"], slice_area=f["slice_area"], vessels=f["vessels"])
    x = out["permeate_salinity"] = call(ratio_of, "permeate_salinity", title="Salt per water in the permeate",
                                        solute=s, water=w)
    rho = out["permeate_density"] = call(laws.relation("density"), "permeate_density",
                                         title="Density of the permeate", salinity=x, **f["density"])
    out["permeate_flow"] = call(volume_flow, "permeate_flow", title="Permeate flow", symbol="Q_p", solute=s, water=w,
                                density=rho)


def boron_of_train(call: Call, f: Mapping[str, Any], c: Mapping[str, Any], out: dict[str, Any]) -> None:
    """Boron of all vessels' permeate together."""
    out["permeate_boron_flow"] = call(permeate_solute, "permeate_boron_flow", title="Boron in the permeate",
                                      salt_flux=c["boron_flux"], slice_area=f["slice_area"], vessels=f["vessels"])


def concentrate_of_train(call: Call, f: Mapping[str, Any], c: Mapping[str, Any], out: dict[str, Any]) -> None:
    """Water, salt and boron that leave the last slices of all vessels."""
    for solute, name in (("water", "concentrate_water"), ("salt", "concentrate_salt"),
                         ("boron", "concentrate_boron_flow")):
        out[name] = call(train_last, name, title=f"{solute.capitalize()} in the concentrate",
                         node_out=c[f"{solute}_out"],
                         vessels=f["vessels"])
    out["concentrate_salinity"] = call(ratio_of, "concentrate_salinity", title="Salt per water in the concentrate",
                                       solute=out["concentrate_salt"], water=out["concentrate_water"])


def train_figures(call: Call, f: Mapping[str, Any], laws: Any, c: Mapping[str, Any], out: dict[str, Any]) -> None:
    """All that is asked of a train besides: concentrations, pressures, and what its limits are judged by."""
    rho = out["concentrate_density"] = call(laws.relation("density"), "concentrate_density",
                                            title="Density of the concentrate", salinity=out["concentrate_salinity"],
                                            **f["density"])
    q_c = out["concentrate_flow"] = call(volume_flow, "concentrate_flow", title="Concentrate flow", symbol="Q_c",
                                         solute=out["concentrate_salt"], water=out["concentrate_water"], density=rho)
    q_p = out["permeate_flow"]
    out["permeate_tds"] = call(solute_concentration, "permeate_tds", title="Permeate TDS", symbol="C_p",
                               solute=out["permeate_salt"], flow=q_p)
    out["permeate_boron"] = call(boron_concentration, "permeate_boron", title="Permeate boron", symbol="C_pB",
                                 solute=out["permeate_boron_flow"], flow=q_p)
    out["concentrate_tds"] = call(solute_concentration, "concentrate_tds", title="Concentrate TDS",
                                  symbol="C_c", solute=out["concentrate_salt"], flow=q_c)
    vessel = out["vessel_drop"] = call(vessel_pressure_drop, "vessel_drop", slice_loss=c["loss"],
                                       interconnector_loss=f["interconnector_loss"],
                                       elements_per_vessel=f["elements"])
    drop = out["pressure_drop"] = call(train_pressure_drop, "pressure_drop", vessel_drop=vessel,
                                       port_loss=f["port_loss"])
    out["concentrate_pressure"] = call(concentrate_pressure, "concentrate_pressure", feed_pressure=f["feed_pressure"],
                                       pressure_drop=drop)
    out["beta_max"] = call(highest, "beta_max", beta=c["beta"], end_beta=c["end_beta"])
    out["lead_flux"] = call(lead_flux, "lead_flux", flux=c["flux"], lead_fraction=f["lead_fraction"])
    out["flux"] = call(average_flux, "flux", permeate_flow=q_p, vessels=f["vessels"],
                       elements_per_vessel=f["elements"], element_area=f.get("mean_area", f["element_area"]))
    out["element_recovery"] = call(element_recovery, "element_recovery", element_fraction=c["element_recovery"])
    out["recovery_polarisation"] = call(polarisation_by_recovery, "recovery_polarisation",
                                        element_recovery=out["element_recovery"])
    out["element_drop"] = call(element_pressure_drop, "element_drop", element_loss=c["element_loss"])
    out["vessel_feed"] = call(per_vessel, "vessel_feed", title="Feed per vessel", flow=f["feed_flow"],
                              vessels=f["vessels"])
    out["vessel_concentrate"] = call(per_vessel, "vessel_concentrate", title="Concentrate per vessel", flow=q_c,
                                     vessels=f["vessels"])
