"""What a number means: unit, family and how it is shown.

A *kind* is more than a unit. Two numbers in pascal may be a gauge pressure and an osmotic
pressure; adding them by mistake is an error no unit check can see. Kinds of one *family* may stand
for one another in a relation; kinds of different families may not, whatever their units.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated


@dataclass(frozen=True)
class Kind:
    """One kind of number.

    Parameters
    ----------
    name : str
        The key in `KINDS`.
    family : str
        Kinds of one family are interchangeable as arguments of a relation.
    si : str
        Coherent SI unit, the unit inside the kit.
    show_si, show_us : str
        Unit shown in the two display sets, in the spelling that `units.parse` reads back.
    digits : int
        Significant digits shown.
    """

    name: str
    family: str
    si: str
    show_si: str
    show_us: str
    digits: int = 4

    @property
    def may_be_negative(self) -> bool:
        """Whether a number of this kind has a sign: a level, a gauge pressure, a difference, an index, a potential.

        A flow, a power, a mass, a concentration has none; a negative one is a defect.
        """
        return self.family in SIGNED


SIGNED = frozenset({
    "length", "head", "gauge pressure", "pressure difference", "pressure gradient", "temperature difference",
    "fraction", "factor", "index", "charge number", "charge concentration", "ph.nbs", "ph.total", "potential",
})
"""Families of numbers that may be negative: levels and lifts, differences, logarithms, charges, margins."""


def _make(*rows: tuple) -> dict[str, Kind]:
    made = {}
    for name, family, si, show_si, show_us, *rest in rows:
        made[name] = Kind(name, family or name, si, show_si, show_us, *rest)
    return made


# name, family ('' = its own), SI, shown in SI set, shown in US set, digits
KINDS: dict[str, Kind] = _make(
    ("count", "", "1", "", "", 6),
    ("fraction", "", "1", "%", "%", 4),
    ("factor", "", "1", "", "", 4),
    ("index", "", "1", "", "", 3),
    ("exponent", "factor", "1", "", "", 4),
    ("money", "", "1", "", "", 4),  # in the currency of the design
    ("money per volume", "", "1/m^3", "1/m3", "1/kgal", 4),
    ("money per flow", "", "s/m^3", "1/(m3/d)", "1/gpd", 4),
    ("carbon per volume", "", "kg/m^3", "kg/m3", "lb/kgal", 4),  # carbon dioxide a volume of product
    ("flow", "flow", "m^3/s", "m3/h", "gpm", 4),
    ("flow.day", "flow", "m^3/s", "m3/d", "gpd", 5),
    ("flow.dose", "flow", "m^3/s", "L/h", "gph", 3),
    ("flow.air", "flow", "m^3/s", "m3/h", "cfm", 4),  # at the conditions the relation states
    ("mass flow", "mass flow", "kg/s", "kg/h", "lb/h", 5),
    ("mole flow", "", "mol/s", "mol/h", "mol/h", 5),
    ("area", "", "m^2", "m2", "ft2", 4),
    ("length", "length", "m", "m", "ft", 4),
    ("length.small", "length", "m", "mm", "inch", 4),
    ("length.micro", "length", "m", "um", "um", 3),
    ("head", "", "m", "m", "ft", 4),
    ("volume", "volume", "m^3", "m3", "gal", 4),
    ("volume.small", "volume", "m^3", "L", "gal", 4),
    ("velocity", "", "m/s", "m/s", "ft/s", 4),
    ("vibration velocity", "", "m/s", "mm/s", "in/s", 2),
    ("filtration rate", "", "m/s", "m/h", "gpm/ft2", 4),
    ("flux", "", "m/s", "L/(m2 h)", "gfd", 4),
    ("mass transfer", "", "m/s", "L/(m2 h)", "gfd", 4),
    ("salt permeability", "", "m/s", "L/(m2 h)", "gfd", 4),
    ("water permeability", "", "m/(s Pa)", "L/(m2 h bar)", "gfd/psi", 4),
    ("salt flux", "", "kg/(m^2 s)", "g/(m2 h)", "g/(m2 h)", 4),
    ("gauge pressure", "", "Pa", "barg", "psig", 4),
    ("absolute pressure", "", "Pa", "bar a", "psi a", 4),
    ("pressure difference", "", "Pa", "bar", "psi", 4),
    ("osmotic pressure", "", "Pa", "bar", "psi", 4),
    ("pressure gradient", "", "Pa/m", "bar/m", "psi/ft", 4),
    ("power", "power", "W", "kW", "hp", 4),
    ("power.electric", "power", "W", "kW", "kW", 4),
    ("specific energy", "", "J/m^3", "kWh/m3", "kWh/kgal", 4),
    ("energy", "energy", "J", "kWh", "kWh", 4),
    ("molar energy", "", "J/mol", "kJ/mol", "kJ/mol", 3),
    ("temperature", "", "K", "degC", "degF", 3),
    ("temperature difference", "", "K", "K", "K", 3),
    ("density", "", "kg/m^3", "kg/m3", "lb/ft3", 5),
    ("viscosity", "", "Pa s", "mPa s", "cP", 4),
    ("diffusivity", "", "m^2/s", "m2/s", "m2/s", 4),
    ("heat capacity", "", "J/(kg K)", "kJ/(kg K)", "kJ/(kg K)", 4),
    ("concentration", "", "kg/m^3", "mg/L", "mg/L", 4),
    ("concentration as CaCO3", "", "kg/m^3", "mg/L as CaCO3", "mg/L as CaCO3", 4),
    ("concentration as Cl2", "", "kg/m^3", "mg/L as Cl2", "mg/L as Cl2", 3),
    ("concentration as B", "", "kg/m^3", "mg/L as B", "mg/L as B", 3),
    ("concentration as product", "", "kg/m^3", "mg/L as product", "mg/L as product", 3),
    ("salinity", "", "1", "g/kg", "g/kg", 5),  # kg of salt per kg of *water*
    ("absolute salinity", "", "1", "g/kg", "g/kg", 5),  # kg of sea salt per kg of *seawater*
    ("content", "", "1", "mg/kg", "mg/kg", 4),  # kg of one constituent per kg of the water as sampled
    ("mass fraction", "", "1", "% w/w", "% w/w", 4),  # kg per kg of solution
    ("mass ratio", "", "1", "", "", 4),  # kg of one thing per kg of another
    ("molality", "", "mol/kg", "mmol/kg", "mmol/kg", 5),
    ("charge number", "", "1", "", "", 2),
    ("molar mass", "", "kg/mol", "g/mol", "g/mol", 6),
    ("ph.nbs", "", "1", "", "", 3),
    ("ph.total", "", "1", "", "", 3),
    ("time", "time", "s", "h", "h", 4),
    ("time.minute", "time", "s", "min", "min", 4),
    ("time.second", "time", "s", "s", "s", 4),
    ("time.day", "time", "s", "d", "d", 4),
    ("time.year", "time", "s", "year", "year", 4),
    ("rate per time", "", "1/s", "%/year", "%/year", 3),
    ("frequency", "frequency", "1/s", "1/d", "1/d", 3),
    ("rotation", "frequency", "1/s", "rpm", "rpm", 4),
    ("conductivity", "", "S/m", "mS/cm", "mS/cm", 4),
    ("turbidity", "", "1", "NTU", "NTU", 3),
    ("fouling index", "", "1", "", "", 3),
    ("thermal expansion", "", "1/K", "1/K", "1/K", 4),
    ("mass", "", "kg", "kg", "lb", 4),
    ("mass flow.day", "mass flow", "kg/s", "kg/d", "lb/d", 4),
    ("linear mass", "", "kg/m", "kg/m", "lb/ft", 4),
    ("area load", "", "kg/m^2", "kg/m2", "lb/ft2", 3),
    ("scour rate", "", "m/s", "m/h", "cfm/ft2", 3),  # air, at the conditions the relation states
    ("velocity gradient", "", "1/s", "1/s", "1/s", 3),
    ("acceleration", "", "m/s^2", "m/s2", "ft/s2", 6),
    ("amount concentration", "", "mol/m^3", "mmol/L", "mmol/L", 4),
    ("charge concentration", "", "mol/m^3", "meq/L", "meq/L", 4),  # moles of charge
    ("oxidant exposure", "", "kg s/m^3", "mg h/L as Cl2", "mg h/L as Cl2", 3),
    ("disinfection CT", "", "kg s/m^3", "mg min/L as Cl2", "mg min/L as Cl2", 3),
    ("uv dose", "", "J/m^2", "mJ/cm2", "mJ/cm2", 3),
    ("potential", "", "V", "mV", "mV", 3),
    ("energy.year", "energy", "J", "MWh", "MWh", 4),
    ("voltage", "", "V", "V", "V", 4),
    ("current", "", "A", "A", "A", 4),
    ("apparent power", "", "V A", "kVA", "kVA", 4),
    ("reactive power", "", "V A", "kvar", "kvar", 4),
    ("impedance", "", "ohm", "mohm", "mohm", 4),
    ("impedance per length", "", "ohm/m", "ohm/km", "ohm/km", 4),
    ("conductor area", "", "m^2", "mm2", "mm2", 4),
    ("thermal withstand", "", "A s^0.5/m^2", "A s0.5/mm2", "A s0.5/mm2", 4),  # of a conductor in a short circuit
    ("let-through", "", "A^2 s", "kA2 s", "kA2 s", 3),
    ("heat transfer", "", "W/(m^2 K)", "W/(m2 K)", "W/(m2 K)", 3),
)


def kind(name: str) -> Kind:
    """The kind of that name; KeyError with the nearest known name is the caller's concern."""
    return KINDS[name]


Count = Annotated[float, KINDS["count"]]
Fraction = Annotated[float, KINDS["fraction"]]
Factor = Annotated[float, KINDS["factor"]]
Index = Annotated[float, KINDS["index"]]
Money = Annotated[float, KINDS["money"]]
MoneyPerM3 = Annotated[float, KINDS["money per volume"]]
MoneyPerFlow = Annotated[float, KINDS["money per flow"]]
CarbonPerM3 = Annotated[float, KINDS["carbon per volume"]]
M3PerS = Annotated[float, KINDS["flow"]]
KgPerS = Annotated[float, KINDS["mass flow"]]
MolPerS = Annotated[float, KINDS["mole flow"]]
M2 = Annotated[float, KINDS["area"]]
M = Annotated[float, KINDS["length"]]
Head = Annotated[float, KINDS["head"]]
M3 = Annotated[float, KINDS["volume"]]
MPerS = Annotated[float, KINDS["velocity"]]
FiltrationRate = Annotated[float, KINDS["filtration rate"]]
Flux = Annotated[float, KINDS["flux"]]
MassTransfer = Annotated[float, KINDS["mass transfer"]]
SaltPermeability = Annotated[float, KINDS["salt permeability"]]
WaterPermeability = Annotated[float, KINDS["water permeability"]]
SaltFlux = Annotated[float, KINDS["salt flux"]]
GaugePa = Annotated[float, KINDS["gauge pressure"]]
AbsolutePa = Annotated[float, KINDS["absolute pressure"]]
DifferencePa = Annotated[float, KINDS["pressure difference"]]
OsmoticPa = Annotated[float, KINDS["osmotic pressure"]]
PaPerM = Annotated[float, KINDS["pressure gradient"]]
W = Annotated[float, KINDS["power"]]
ElectricW = Annotated[float, KINDS["power.electric"]]
JPerM3 = Annotated[float, KINDS["specific energy"]]
J = Annotated[float, KINDS["energy"]]
JPerMol = Annotated[float, KINDS["molar energy"]]
K = Annotated[float, KINDS["temperature"]]
DeltaK = Annotated[float, KINDS["temperature difference"]]
KgPerM3 = Annotated[float, KINDS["density"]]
PaS = Annotated[float, KINDS["viscosity"]]
M2PerS = Annotated[float, KINDS["diffusivity"]]
JPerKgK = Annotated[float, KINDS["heat capacity"]]
Concentration = Annotated[float, KINDS["concentration"]]
AsCaCO3 = Annotated[float, KINDS["concentration as CaCO3"]]
AsCl2 = Annotated[float, KINDS["concentration as Cl2"]]
AsB = Annotated[float, KINDS["concentration as B"]]
AsProduct = Annotated[float, KINDS["concentration as product"]]
Salinity = Annotated[float, KINDS["salinity"]]
AbsoluteSalinity = Annotated[float, KINDS["absolute salinity"]]
Content = Annotated[float, KINDS["content"]]
MassFraction = Annotated[float, KINDS["mass fraction"]]
MassRatio = Annotated[float, KINDS["mass ratio"]]
Molality = Annotated[float, KINDS["molality"]]
ChargeNumber = Annotated[float, KINDS["charge number"]]
MolarMass = Annotated[float, KINDS["molar mass"]]
PHNbs = Annotated[float, KINDS["ph.nbs"]]
PHTotal = Annotated[float, KINDS["ph.total"]]
S = Annotated[float, KINDS["time"]]
PerTime = Annotated[float, KINDS["rate per time"]]
PerS = Annotated[float, KINDS["frequency"]]
SPerM = Annotated[float, KINDS["conductivity"]]
PerK = Annotated[float, KINDS["thermal expansion"]]
Kg = Annotated[float, KINDS["mass"]]
KgPerM = Annotated[float, KINDS["linear mass"]]
KgPerM2 = Annotated[float, KINDS["area load"]]
ScourRate = Annotated[float, KINDS["scour rate"]]
VelocityGradient = Annotated[float, KINDS["velocity gradient"]]
MPerS2 = Annotated[float, KINDS["acceleration"]]
MolPerM3 = Annotated[float, KINDS["amount concentration"]]
EqPerM3 = Annotated[float, KINDS["charge concentration"]]
OxidantExposure = Annotated[float, KINDS["oxidant exposure"]]
DisinfectionCT = Annotated[float, KINDS["disinfection CT"]]
UVDose = Annotated[float, KINDS["uv dose"]]
Turbidity = Annotated[float, KINDS["turbidity"]]
Volt = Annotated[float, KINDS["potential"]]
Voltage = Annotated[float, KINDS["voltage"]]
Ampere = Annotated[float, KINDS["current"]]
VA = Annotated[float, KINDS["apparent power"]]
Var = Annotated[float, KINDS["reactive power"]]
Ohm = Annotated[float, KINDS["impedance"]]
OhmPerM = Annotated[float, KINDS["impedance per length"]]
ConductorM2 = Annotated[float, KINDS["conductor area"]]
ThermalWithstand = Annotated[float, KINDS["thermal withstand"]]
LetThrough = Annotated[float, KINDS["let-through"]]
WPerM2K = Annotated[float, KINDS["heat transfer"]]

__all__ = [
    "KINDS",
    "M2",
    "M3",
    "VA",
    "AbsolutePa",
    "AbsoluteSalinity",
    "Ampere",
    "AsB",
    "AsCaCO3",
    "AsCl2",
    "AsProduct",
    "CarbonPerM3",
    "ChargeNumber",
    "Concentration",
    "ConductorM2",
    "Content",
    "Count",
    "DeltaK",
    "DifferencePa",
    "DisinfectionCT",
    "ElectricW",
    "EqPerM3",
    "Factor",
    "FiltrationRate",
    "Flux",
    "Fraction",
    "GaugePa",
    "Head",
    "Index",
    "J",
    "JPerKgK",
    "JPerM3",
    "JPerMol",
    "K",
    "Kg",
    "KgPerM",
    "KgPerM2",
    "KgPerM3",
    "KgPerS",
    "Kind",
    "LetThrough",
    "M",
    "M2PerS",
    "M3PerS",
    "MPerS",
    "MPerS2",
    "MassFraction",
    "MassRatio",
    "MassTransfer",
    "MolPerM3",
    "MolPerS",
    "Molality",
    "MolarMass",
    "Money",
    "MoneyPerFlow",
    "MoneyPerM3",
    "Ohm",
    "OhmPerM",
    "OsmoticPa",
    "OxidantExposure",
    "PHNbs",
    "PHTotal",
    "PaPerM",
    "PaS",
    "PerK",
    "PerS",
    "PerTime",
    "S",
    "SPerM",
    "Salinity",
    "SaltFlux",
    "SaltPermeability",
    "ScourRate",
    "ThermalWithstand",
    "Turbidity",
    "UVDose",
    "Var",
    "VelocityGradient",
    "Volt",
    "Voltage",
    "W",
    "WPerM2K",
    "WaterPermeability",
    "kind",
]
