"""Relations of the media: three published losses of a clean bed, bulk density, nozzles, solids that fill a bed."""

from __future__ import annotations

from typing import Annotated

from desalbook.hydraulics.constants import G
from desalbook.trail import constant, maximum, minimum, relation, sqrt, total, where
from desalbook.units import (
    KINDS,
    Concentration,
    DifferencePa,
    Factor,
    FiltrationRate,
    Fraction,
    Head,
    KgPerM2,
    KgPerM3,
    M,
    PaS,
    S,
    ScourRate,
)

__all__ = [
    "bulk_density",
    "captured",
    "depth_of",
    "drag_of_grain",
    "equal_density_left",
    "filtrate_turbidity_of",
    "freeboard_left",
    "grain_reynolds",
    "growth_left",
    "kozeny_loss",
    "load_rate",
    "nozzle_drop_of",
    "porosity_by_settling",
    "pulsing_rate",
    "ratio_of_losses",
    "rose_loss",
    "run_by_load",
    "settling_left",
    "settling_of",
    "solids_in",
    "solids_out",
    "sphere_reynolds",
    "sum_of_layers",
    "support_step",
]

Small = Annotated[float, KINDS["length.small"]]
Turbidity = Annotated[float, KINDS["turbidity"]]
METRE = constant("L_1", 1.0, "m", source="definition", title="One metre")
CFM_FT2 = constant("cfm/ft2", 0.00508, "m/s", source="definition", title="One cubic foot a minute on a square foot")


@relation("Reynolds number of the grains", symbol="Re_g", unit="1", source="davis-2010", place="Table 11-2",
          note="the losses of Rose and Carman-Kozeny hold to some 6")
def grain_reynolds(sphericity: Factor, grain_size: Small, filter_rate: FiltrationRate, density: KgPerM3,
                   viscosity: PaS) -> Factor:
    """On the superficial velocity, with the shape."""
    return sphericity * grain_size * filter_rate * density / viscosity


@relation("Reynolds number of the grains, without shape", symbol="Re_s", unit="1", source="davis-2010",
          place="example 11-3: the exponent of the expansion takes no shape factor")
def sphere_reynolds(grain_size: Small, filter_rate: FiltrationRate, density: KgPerM3, viscosity: PaS) -> Factor:
    """On size and velocity."""
    return grain_size * filter_rate * density / viscosity


@relation("Head lost in a clean layer, Carman-Kozeny", symbol="h_CK", unit="m", source="davis-2010",
          place="Table 11-2", note="the friction factor of Ergun in it makes it Ergun's equation on shape times size")
def kozeny_loss(sphericity: Factor, settled_porosity: Fraction, reynolds: Factor, depth: M, grain_size: Small,
                filter_rate: FiltrationRate) -> Head:
    """Friction factor 150 (1 - porosity) / Re + 1.75."""
    return (
        (150 * (1 - settled_porosity) / reynolds + 1.75) / sphericity * (1 - settled_porosity)
        / settled_porosity**3 * depth / grain_size * filter_rate**2 / G
    )


@relation("Drag coefficient of the grains", symbol="C_D", unit="1", source="davis-2010", place="Table 11-2")
def drag_of_grain(reynolds: Factor) -> Factor:
    """Stokes to half, then with two terms more."""
    return where(reynolds < 0.5, 24 / reynolds, 24 / reynolds + 3 / sqrt(reynolds) + 0.34)


@relation("Head lost in a clean layer, Rose", symbol="h_R", unit="m", source="davis-2010", place="Table 11-2",
          note="about a third above Ergun with its usual constants")
def rose_loss(drag: Factor, sphericity: Factor, settled_porosity: Fraction, depth: M, grain_size: Small,
              filter_rate: FiltrationRate) -> Head:
    """On the drag of single grains."""
    return 1.067 / sphericity * drag * depth / grain_size * filter_rate**2 / (G * settled_porosity**4)


@relation("Other model over this one", symbol="r_h", unit="1", source="definition")
def ratio_of_losses(other_head: Head, bed_head: Head) -> Factor:
    """How far two published models lie apart."""
    return other_head / bed_head


@relation("Settling velocity of the grains", symbol="v_s", unit="m/s", source="davis-2010", place="example 11-3")
def settling_of(drag: Factor, grain_size: Small, grain_density: KgPerM3, density: KgPerM3) -> FiltrationRate:
    """Weight in water against drag."""
    return sqrt(4 * G * (grain_density - density) * grain_size / (3 * drag * density))


@relation("Velocity by drag less velocity", symbol="Delta_v", unit="m/s", source="definition")
def settling_left(settling_rate: FiltrationRate, wash_rate: FiltrationRate) -> FiltrationRate:
    """Nothing at the root."""
    return settling_rate - wash_rate


@relation("Porosity of the washed bed, by settling", symbol="epsilon_s", unit="1", source="davis-2010",
          place="eq. 11-10 to 11-12, after Richardson and Zaki",
          note="not below the settled porosity, which the printed example forgets; held at 0.98")
def porosity_by_settling(wash_rate: FiltrationRate, settling_rate: FiltrationRate, reynolds: Factor,
                         settled_porosity: Fraction) -> Fraction:
    """Power of the wash over the settling velocity."""
    return minimum(0.98, maximum(settled_porosity, (wash_rate / settling_rate) ** (0.2247 * reynolds**0.1)))


@relation("Density of a washed layer", symbol="rho_b", unit="kg/m^3", source="amirtharajah-cleasby-1972",
          note="layers change places where the upper one is the heavier")
def bulk_density(expanded_porosity: Fraction, grain_density: KgPerM3, density: KgPerM3) -> KgPerM3:
    """Grains and water together."""
    return (1 - expanded_porosity) * grain_density + expanded_porosity * density


@relation("Density of the lower layer over the upper one", symbol="Delta_rho", unit="1", source="definition")
def equal_density_left(lower_density: KgPerM3, upper_density: KgPerM3) -> Factor:
    """Nothing is left where the two change places."""
    return lower_density / upper_density - 1


@relation("Freeboard left", symbol="h_l", unit="m", source="definition")
def freeboard_left(freeboard: M, bed_rise: M) -> M:
    """Between the washed bed and the collector."""
    return freeboard - bed_rise


@relation("Loss in the nozzles of the underdrain", symbol="Delta_p_n", unit="Pa", source="common-practice",
          note="sharp orifices; the maker's curve replaces it")
def nozzle_drop_of(wash_rate: FiltrationRate, orifice_share: Fraction, orifice_coefficient: Factor,
                   density: KgPerM3) -> DifferencePa:
    """Velocity head of the wash in its openings."""
    return density / 2 * (wash_rate / (orifice_share * orifice_coefficient)) ** 2


@relation("Coarse grains of the support over the layer above", symbol="r_s", unit="1", source="common-practice",
          note="support holds back what lies on it up to four or five (filter rule of soil mechanics, from memory)")
def support_step(effective_size: Small, size_above: Small) -> Factor:
    """Effective size of the support over the d90 above it."""
    return effective_size / size_above


@relation("Water beside the scour air", symbol="v_p", unit="m/s", source="amirtharajah-1993", place="from memory",
          note="collapse and pulsing: air and water together scour best here")
def pulsing_rate(air_scour_rate: ScourRate, fluidisation_rate: FiltrationRate) -> FiltrationRate:
    """Part of least fluidisation; nothing where the air alone is enough."""
    return fluidisation_rate * maximum(41.9 - 0.45 * (air_scour_rate / CFM_FT2) ** 2, 0) / 100


@relation("Solids into the filters", symbol="C_s", unit="kg/m^3", source="definition")
def solids_in(
    suspended_solids: Concentration, solids_share: Fraction, coagulant_solids: Concentration
) -> Concentration:
    """Of the raw water, and what the coagulant makes."""
    return suspended_solids * solids_share + coagulant_solids


@relation("Solids in the filtrate", symbol="C_f", unit="kg/m^3", source="definition")
def solids_out(solids: Concentration, removal: Fraction) -> Concentration:
    """What passes."""
    return solids * (1 - removal)


@relation("Solids caught on a square metre in a second", symbol="w_s", unit="kg/(m^2 s)", source="definition")
def load_rate(filter_rate: FiltrationRate, solids: Concentration, removal: Fraction) -> Annotated[
        float, KINDS["salt flux"]]:
    """Rate times what is held back."""
    return filter_rate * solids * removal


@relation("Loss that the solids may still add", symbol="h_g", unit="m", source="definition")
def growth_left(filter_drop: DifferencePa, clean_drop: DifferencePa, density: KgPerM3) -> Head:
    """From a clean filter to the loss at which it is washed."""
    return maximum(filter_drop - clean_drop, 0) / (density * G)


@relation("Run until the loss is reached", symbol="t_h", unit="s", source="common-practice",
          note="loss grows in proportion to the solids held; the load per metre is found on the plant's own water, "
          "0.2 to 2 kg/m2 from memory")
def run_by_load(growth: Head, load_per_metre: KgPerM2, caught: Annotated[float, KINDS["salt flux"]]) -> S:
    """Load that the loss allows, over what is caught."""
    return growth / METRE * load_per_metre / caught


@relation("Solids held at a wash", symbol="W_s", unit="kg/m^2", source="definition")
def captured(caught: Annotated[float, KINDS["salt flux"]], filter_run: S) -> KgPerM2:
    """Over one run."""
    return caught * filter_run


@relation("Turbidity of the filtrate", symbol="Tu_f", unit="1", source="common-practice",
          note="an estimate for the checks; a pilot or the plant itself says what is reached")
def filtrate_turbidity_of(turbidity: Turbidity, turbidity_removal: Fraction) -> Turbidity:
    """What passes."""
    return turbidity * (1 - turbidity_removal)


@relation("Sum over the layers", symbol="h_0", unit="m", source="definition")
def sum_of_layers(layer_head: Head) -> Head:
    """All layers that filter."""
    return total(layer_head)


@relation("Depth of the media", symbol="L", unit="m", source="definition")
def depth_of(depth: M) -> M:
    """All layers that filter."""
    return total(depth)
