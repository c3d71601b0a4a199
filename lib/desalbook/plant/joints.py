"""Where streams of a membrane array part and join: balances of water, salts and ions, pressures between stages.

One equation each, used by the solver of the array and by its record. Volumes are never added: mass flows are.
"""

from __future__ import annotations

from desalbook.trail import constant, dot, maximum, relation, up
from desalbook.units import (
    M2,
    Count,
    DifferencePa,
    ElectricW,
    Flux,
    Fraction,
    GaugePa,
    KgPerM3,
    KgPerS,
    M3PerS,
    Molality,
    Salinity,
    SaltFlux,
)

__all__ = [
    "areas_of",
    "best_served",
    "boosted",
    "boosters_of",
    "carbon_dioxide_left",
    "carried_over",
    "caustic_salinity",
    "feed_water_of",
    "first_pass_permeate",
    "flow_of_water",
    "ion_residual",
    "joined",
    "least_served",
    "membrane_of",
    "mixed_molality",
    "part_of",
    "pass_flux",
    "raised_molality",
    "rear_solute",
    "rear_water",
    "rest_of",
    "salinity_with_mixing",
    "scaled_molality",
    "stage_vessels",
]

BICARBONATE = constant("M_NaHCO3", 0.084007, "kg/mol", source="iupac-weights",
                       title="Molar mass of sodium bicarbonate")


@relation("Fraction of a flow", symbol="M_i", unit="kg/s", source="definition")
def part_of(mass_flow: KgPerS, taken_part: Fraction) -> KgPerS:
    """Part of a mass flow that is led off.

    A split changes the flow and no concentration.
    """
    return mass_flow * taken_part


@relation("Two flows joined", symbol="M_j", unit="kg/s", source="definition")
def joined(mass_flow: KgPerS, other_flow: KgPerS) -> KgPerS:
    """Two mass flows joined.

    One substance at a time; volumes do not add exactly and are not used.
    """
    return mass_flow + other_flow


@relation("Salt with the sodium hydroxide", symbol="M_s", unit="kg/s", source="definition")
def caustic_salinity(mass_flow: KgPerS, caustic: Molality, water: KgPerS) -> KgPerS:
    """Salt of the second-pass feed with the caustic dosed.

    Sodium hydroxide counts as the sodium bicarbonate it makes; an excess of hydroxide is counted too heavy.
    """
    return mass_flow + caustic * BICARBONATE * water


@relation("Permeate of the first pass, about", symbol="Q_p1", unit="m^3/s", source="definition",
          note="volumes taken as additive; the solved value closes on mass")
def first_pass_permeate(product_flow: M3PerS, second_share: Fraction, second_recovery: Fraction) -> M3PerS:
    """First-pass permeate a product flow needs, as a first estimate.

    Product and what the second pass rejects, volumes taken as additive; the solved value closes on mass.
    """
    return product_flow / (1 - second_share * (1 - second_recovery))


@relation("Feed pressure of the next stage", symbol="p_f", unit="Pa", source="definition")
def boosted(concentrate_pressure: GaugePa, stage_boost: DifferencePa) -> GaugePa:
    """Feed pressure of the next stage.

    Concentrate pressure of the stage before with the boost between; friction of the joint has to be in the
    boost.
    """
    return concentrate_pressure + stage_boost


@relation("Vessels of the next stage", symbol="n_v", unit="1", source="definition")
def stage_vessels(vessels: Count, vessel_fraction: Fraction, row_height: Count) -> Count:
    """Vessels of the next stage.

    A fraction of the vessels of the stage before, rounded up to whole rows of the rack.
    """
    return up(vessels * vessel_fraction / row_height) * row_height


@relation("Feed of the best-served vessel", symbol="q_max", unit="m^3/s", source="common-practice")
def best_served(vessel_feed: M3PerS, flow_spread: Fraction) -> M3PerS:
    """Feed flow of the best-served vessel.

    Mean flow raised by the unevenness between vessels, which headers and U or Z piping decide.
    """
    return vessel_feed * (1 + flow_spread)


@relation("Concentrate of the worst-served vessel", symbol="q_min", unit="m^3/s", source="common-practice",
          note="its permeate is taken as that of the mean vessel, on the safe side")
def least_served(vessel_concentrate: M3PerS, vessel_feed: M3PerS, flow_spread: Fraction) -> M3PerS:
    """Concentrate flow of the least-served vessel.

    What its feed lacks its concentrate lacks, for its permeate is taken as that of the mean vessel.
    """
    return vessel_concentrate - vessel_feed * flow_spread


@relation("Molality of two streams that join", symbol="b_j", unit="mol/kg", source="definition")
def mixed_molality(molality: Molality, water: KgPerS, other_molality: Molality, other_water: KgPerS) -> Molality:
    """Molality of each ion where two streams join.

    A balance over water, so it conserves amount and charge; pH follows from it and is not blended.
    """
    return (molality * water + other_molality * other_water) / (water + other_water)


@relation("Ions downstream of the isobaric ERD", symbol="b_m", unit="mol/kg", source="stover-2007")
def carried_over(molality: Molality, exchanger_mixing: Fraction, concentrate_water: KgPerS, water: KgPerS,
                 other_molality: Molality) -> Molality:
    """Ions in the RO feed downstream of an isobaric energy recovery device.

    The part of the feed that passes the device takes up concentrate, each ion in one proportion.
    """
    return molality + exchanger_mixing * concentrate_water / water * (other_molality - molality)


@relation("Ions with the sodium hydroxide", symbol="b_d", unit="mol/kg", source="common-practice",
          note="hydroxide stands as alkalinity, with the bicarbonate it makes")
def raised_molality(molality: Molality, caustic: Molality, sodium_hydroxide_part: Fraction) -> Molality:
    """Ions of the second-pass feed with the caustic dosed.

    Sodium and alkalinity rise by the dose; hydroxide stands as alkalinity, with the bicarbonate it makes.
    """
    return molality + caustic * sodium_hydroxide_part


@relation("Electric power of boosters", symbol="P_eb", unit="W", source="definition")
def boosters_of(booster_power: ElectricW, stage_power: ElectricW, second_power: ElectricW) -> ElectricW:
    """Electrical power of the booster pumps of a train.

    Booster of the energy recovery device, boost between stages and feed of the second pass.
    """
    return booster_power + stage_power + second_power


@relation("CO2 left after the alkali", symbol="b_CO2", unit="mol/kg", source="common-practice",
          note="each hydroxide binds one carbon dioxide; the balance with carbonate is omitted")
def carbon_dioxide_left(carbon_dioxide: Molality, caustic: Molality) -> Molality:
    """Dissolved carbon dioxide left after a dose of caustic.

    Each hydroxide binds one carbon dioxide as bicarbonate; carbonate forms above pH 8.5 and is neglected.
    """
    return maximum(carbon_dioxide, caustic) - caustic


@relation("Water in the rear permeate", symbol="M_rw", unit="kg/s", source="definition")
def rear_water(flux: Flux, rear_fraction: Fraction, water_density: KgPerM3, slice_area: M2, vessels: Count) -> KgPerS:
    """Water in the permeate of the rear elements.

    Of the slices downstream of the split, all vessels; the front permeate is what is left.
    """
    return dot(flux * slice_area, rear_fraction) * water_density * vessels


@relation("Solute in the rear permeate", symbol="M_rs", unit="kg/s", source="definition")
def rear_solute(salt_flux: SaltFlux, rear_fraction: Fraction, slice_area: M2, vessels: Count) -> KgPerS:
    """Solute in the permeate of the rear elements.

    Of the slices downstream of the split, all vessels; the front permeate is what is left.
    """
    return dot(salt_flux * slice_area, rear_fraction) * vessels


@relation("Rest of a flow", symbol="M_r", unit="kg/s", source="definition")
def rest_of(mass_flow: KgPerS, other_flow: KgPerS) -> KgPerS:
    """Rest of a mass flow.

    What is not taken out; one substance at a time.
    """
    return mass_flow - other_flow


@relation("Ion residual", symbol="r_b", unit="mol/kg", source="definition")
def ion_residual(molality: Molality, other_molality: Molality) -> Molality:
    """Residual of the ions of a joined stream.

    Zero when solved; it proves the recycle's composition and means nothing else.
    """
    return molality - other_molality


@relation("Ions of a part of the permeate", symbol="b_i", unit="mol/kg", source="common-practice",
          note="the parts of a pass's permeate differ in strength, their ions are taken in one proportion")
def scaled_molality(molality: Molality, salinity: Salinity, permeate_salinity: Salinity) -> Molality:
    """Ions of one part of a permeate.

    In proportion to its salt: front and rear permeate differ in strength and are taken alike in composition.
    """
    return molality * salinity / permeate_salinity


@relation("Membrane of a stage", symbol="A_m", unit="m^2", source="definition")
def membrane_of(vessels: Count, elements_per_vessel: Count, element_area: M2) -> M2:
    """Membrane area of a stage.

    All elements of all vessels, each with the area of its sheet.
    """
    return vessels * elements_per_vessel * element_area


@relation("Membrane of two stages", symbol="A_m", unit="m^2", source="definition")
def areas_of(membrane_area: M2, other_area: M2) -> M2:
    """Membrane area of stages together.

    A sum over the stages in a row; each area counts once.
    """
    return membrane_area + other_area


@relation("Average flux of a pass", symbol="J_m", unit="m/s", source="definition")
def pass_flux(permeate_flow: M3PerS, membrane_area: M2) -> Flux:
    """Average flux of a pass.

    Permeate of all its stages over all its membrane; the front elements lie far above it.
    """
    return permeate_flow / membrane_area


@relation("Water in the feed of the train", symbol="M_fw", unit="kg/s", source="definition")
def feed_water_of(feed_flow: M3PerS, feed_density: KgPerM3, feed_salinity: Salinity) -> KgPerS:
    """Mass flow of water in the feed of a train.

    From volume flow through density and salinity; water is what the balances along the membrane count.
    """
    return feed_flow * feed_density / (1 + feed_salinity)


@relation("Flow into the membranes", symbol="Q_fm", unit="m^3/s", source="definition")
def flow_of_water(water: KgPerS, salinity: Salinity, density: KgPerM3) -> M3PerS:
    """Volume flow that carries a mass flow of water at a salinity.

    The inverse of the water in a feed; density is that of this very salinity and temperature.
    """
    return water * (1 + salinity) / density


@relation("Salinity into the membranes", symbol="X_fm", unit="1", source="stover-2007",
          note="mixing is measured by volume; taken here as fraction of water, which moves it by some 3 % of itself")
def salinity_with_mixing(feed_salinity: Salinity, exchanger_mixing: Fraction, concentrate_water: KgPerS,
                         water: KgPerS, concentrate_salinity: Salinity) -> Salinity:
    """Salinity of the RO feed with the mixing of an isobaric energy recovery device.

    The part of the feed that passes the device takes up concentrate; mixing by volume is taken as by water, 3 %
    of itself apart.
    """
    return feed_salinity + exchanger_mixing * concentrate_water / water * (concentrate_salinity - feed_salinity)
