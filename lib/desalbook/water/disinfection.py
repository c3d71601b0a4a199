"""Chlorine in water: exposure, contact time, and what bromide makes of it.

Contact-time tables are made for drinking water. In seawater chlorine turns to bromine within seconds, so a
table value there is an indication only. Local codes govern disinfection of drinking water.
"""

from __future__ import annotations

from desalbook.trail import Lookup, constant, exp, log, lookup, maximum, relation, where
from desalbook.units import (
    AsCl2,
    Concentration,
    DisinfectionCT,
    Factor,
    Fraction,
    K,
    MassRatio,
    MolPerM3,
    OxidantExposure,
    PerS,
    PHNbs,
    S,
)

__all__ = [
    "INDICATION",
    "bromide_holds",
    "bromination_half_life",
    "chlorine_ct",
    "giardia_ct",
    "hypobromous_share",
    "inactivation_ratio",
    "membrane_exposure",
    "residual_left",
    "virus_ct",
]

INDICATION = (
    "Contact-time tables are for chlorine in drinking water; in seawater, where bromine does the work, "
    "they are an indication only. Local codes govern."
)

ICE = constant("T_0", 273.15, "K", source="definition", title="Zero of the Celsius scale")
KELVIN = constant("T_1", 1.0, "K", source="definition", title="One kelvin")
MG_L = constant("C_1", 0.001, "kg/m^3", source="definition", title="One milligram per litre")
MG_MIN_L = constant("CT_1", 0.06, "kg s/m^3", source="definition", title="One milligram-minute per litre")
BROMINATION = constant(
    "k_Br",
    1.55,
    "m^3/(mol s)",
    source="kumar-margerum-1987",
    title="Rate constant, HOCl with bromide, 25 degC",
)

VIRUS = Lookup(
    "VIRUS",
    "CT for four-log virus inactivation, pH 6 to 9",
    (273.65, 278.15, 283.15, 288.15, 293.15, 298.15),
    (0.72, 0.48, 0.36, 0.24, 0.18, 0.12),
    "K",
    "kg s/m^3",
    "epa-profiling-1999",
    "Table E-7, from memory",
)


@relation(
    "Contact time product",
    symbol="CT",
    unit="kg s/m^3",
    source="epa-profiling-1999",
    note="contact time is T10, the time after which a tenth of the water has left",
)
def chlorine_ct(chlorine_residual: AsCl2, contact_time: S) -> DisinfectionCT:
    """CT of disinfection: free residual times contact time.

    Residual at the end and T10 of the tank, both on the safe side; the theoretical retention time would flatter
    it.
    """
    return chlorine_residual * contact_time


@relation(
    "CT for Giardia",
    symbol="CT_g",
    unit="kg s/m^3",
    source="smith-1995",
    place="as in the EPA manual, app. E; from memory",
    note="free chlorine in drinking water; an indication in seawater",
    within={
        "temperature": ("0.5 degC", "25 degC"),
        "ph": ("6", "9"),
        "chlorine_residual": ("0.4 mg/L as Cl2", "3 mg/L as Cl2"),
        "log_removal": ("0.5", "3"),
    },
)
def giardia_ct(temperature: K, ph: PHNbs, chlorine_residual: AsCl2, log_removal: Factor) -> DisinfectionCT:
    """CT required for inactivation of Giardia by free chlorine.

    Two regressions of the regulator's tables that meet at 12.5 degC; outside pH 6 to 9 they mean nothing.
    """
    return (
        log_removal
        * MG_MIN_L
        * where(
            (temperature - ICE) / KELVIN < 12.5,
            0.353
            * (
                12.006
                + exp(
                    2.46
                    - 0.073 * (temperature - ICE) / KELVIN
                    + 0.125 * chlorine_residual / MG_L
                    + 0.389 * ph
                )
            ),
            0.361
            * (
                -2.261
                + exp(
                    2.69
                    - 0.065 * (temperature - ICE) / KELVIN
                    + 0.111 * chlorine_residual / MG_L
                    + 0.361 * ph
                )
            ),
        )
    )


@relation(
    "CT for viruses",
    symbol="CT_v",
    unit="kg s/m^3",
    source="epa-profiling-1999",
    place="Table E-7, from memory",
    note="four-log inactivation by free chlorine, pH 6 to 9",
    within={"temperature": ("0.5 degC", "25 degC")},
)
def virus_ct(temperature: K) -> DisinfectionCT:
    """CT required for four-log inactivation of viruses by free chlorine.

    Read between the temperatures of the regulator's table; combined chlorine needs far more.
    """
    return lookup(VIRUS, temperature)


@relation("CT provided over CT required", symbol="r_CT", unit="1", source="epa-profiling-1999")
def inactivation_ratio(provided_ct: DisinfectionCT, required_ct: DisinfectionCT) -> Factor:
    """Ratio of CT provided to CT required.

    At least one where the inactivation is reached; segments in series add up, which is not done here.
    """
    return provided_ct / required_ct


@relation("Membrane oxidant exposure", symbol="E_ox", unit="kg s/m^3", source="common-practice")
def membrane_exposure(chlorine_residual: AsCl2, time: S) -> OxidantExposure:
    """Membrane oxidant exposure, residual times time.

    Element sheets state what a polyamide bears in its life; iron and other metals in the water make it far less.
    """
    return chlorine_residual * time


@relation(
    "Half-life of chlorine with bromide",
    symbol="t_half",
    unit="s",
    source="kumar-margerum-1987",
    place="from memory",
    note="hypochlorous acid only, 25 degC; hypochlorite waits to be protonated, which at "
    "pH 8 makes it several times slower",
)
def bromination_half_life(bromide: MolPerM3) -> S:
    """Half-life of hypochlorous acid with bromide in excess.

    Pseudo-first order at 25 degC; hypochlorite has to be protonated first, so at pH 8 it takes several times
    longer.
    """
    return log(2) / (BROMINATION * bromide)


@relation("Chlorine demand of bromide", symbol="C_Cl2", unit="kg/m^3", source="iupac-weights")
def bromide_holds(bromide_concentration: Concentration, bromide_per_chlorine: MassRatio) -> AsCl2:
    """Chlorine dose that the bromide of seawater turns into bromine.

    Below it all residual is bromine, reported as chlorine; at the pH of seawater that takes seconds.
    """
    return bromide_concentration / bromide_per_chlorine


@relation(
    "Hypobromous acid fraction of bromine",
    symbol="f_HOBr",
    unit="1",
    source="common-practice",
    place="pK 8.65 at 25 degC and infinite dilution, from memory; some 8.8 in seawater",
    note="the acid disinfects better than hypobromite; chlorine has a pK of 7.5, so bromine keeps its strength "
    "at the pH of seawater",
)
def hypobromous_share(ph: PHNbs, pk: Factor) -> Fraction:
    """Fraction of the bromine that is hypobromous acid.

    One half where pH equals pK; the acid disinfects better than the ion, and its pK above 8 keeps it strong in
    seawater.
    """
    return 1 / (1 + 10 ** (ph - pk))


@relation(
    "Residual after the hold time",
    symbol="C_r,t",
    unit="kg/m^3",
    source="common-practice",
    note="the fast demand at once, then first order; rates are measured on the water itself and rise with temperature",
)
def residual_left(chlorine_dose: AsCl2, chlorine_demand: AsCl2, decay_rate: PerS, time: S) -> AsCl2:
    """Total residual oxidant after a hold time.

    The fast demand is taken at once, then first-order decay; rates belong to one water and rise with
    temperature.
    """
    return maximum(chlorine_dose - chlorine_demand, 0) * exp(-decay_rate * time)
