"""Every accepted unit spelling and its exact factor to coherent SI.

The table is written out so that reading and showing need no unit library at run time; a test proves
each spelling against pint. A factor is a fraction of whole numbers made only of exact definitions:
inch 0.0254 m, pound 0.453 592 37 kg of 7000 grains, US gallon 231 cubic inches, imperial gallon 4.546 09 L,
standard gravity 9.806 65 m/s2, horsepower 550 ft lbf/s, day 86 400 s, year 365.25 days, month a twelfth of it,
standard atmosphere 101 325 Pa, conventional mercury 13 595.1 kg/m3. A gallon is a US gallon unless it says
imperial.

A bare ppm is no unit here: it says neither per volume nor per mass.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction as Fr
from itertools import product

from desalbook.units.kinds import KINDS

__all__ = ["SPELLINGS", "Scale", "tidy"]


@dataclass(frozen=True, slots=True)
class Scale:
    """How one spelling turns into SI: ``si = (number + shift) * num / den``.

    Parameters
    ----------
    unit : str
        The spelling this one is an alias of (itself for a main spelling).
    num, den : float
        Exact factor as a fraction; dividing by `den` last keeps 45 % at 0.45.
    shift : float
        Distance of the unit's zero from the SI zero, in that unit (temperatures).
    """

    unit: str
    num: float
    den: float
    shift: float = 0.0

    def to_si(self, number):
        """SI value of a number in this unit; floats or arrays."""
        return (number + self.shift) * self.num / self.den

    def from_si(self, value):
        """Number in this unit of an SI value; floats or arrays."""
        return value * self.den / self.num - self.shift


IN = Fr(254, 10000)
FT = 12 * IN
LB = Fr(45359237, 100000000)
GAL = 231 * IN**3
IGAL = Fr(454609, 10**8)
GRAIN = LB / 7000
GRAVITY = Fr(980665, 100000)
LBF = LB * GRAVITY
PSI = LBF / IN**2
HP = 550 * FT * LBF
MIN, HOUR, DAY = Fr(60), Fr(3600), Fr(86400)
YEAR = DAY * Fr(36525, 100)
LITRE = Fr(1, 1000)
KWH = Fr(3_600_000)

# spelling -> (factor, aliases); a row of a table below is (main spelling, factor, *aliases)
TIME = (("s", Fr(1), "sec", "second", "seconds"), ("min", MIN, "minute", "minutes"),
        ("h", HOUR, "hr", "hour", "hours"), ("d", DAY, "day", "days"), ("year", YEAR, "years", "yr"),
        ("week", 7 * DAY, "weeks"), ("month", YEAR / 12, "months"))
PER_TIME = (("s", Fr(1), "sec"), ("min", MIN), ("h", HOUR, "hr", "hour"), ("d", DAY, "day"),
            ("year", YEAR, "yr"), ("week", 7 * DAY), ("month", YEAR / 12))
VOLUME = (("m3", Fr(1)), ("L", LITRE, "l"), ("gal", GAL), ("mL", LITRE / 1000, "ml"), ("kgal", 1000 * GAL),
          ("ft3", FT**3), ("ML", Fr(1000)), ("imp gal", IGAL, "imperial gal", "igal"), ("Mgal", 10**6 * GAL))
LENGTH = (("m", Fr(1)), ("mm", Fr(1, 1000)), ("cm", Fr(1, 100)), ("um", Fr(1, 10**6)), ("km", Fr(1000)),
          ("ft", FT), ("inch", IN, "in", "inches"), ("mil", IN / 1000))
MASS = (("kg", Fr(1)), ("g", Fr(1, 1000)), ("lb", LB), ("mg", Fr(1, 10**6)), ("t", Fr(1000)))
PRESSURE = (("bar", Fr(10**5)), ("psi", PSI), ("kPa", Fr(1000)), ("MPa", Fr(10**6)), ("mbar", Fr(100)),
            ("hPa", Fr(100)), ("Pa", Fr(1)), ("GPa", Fr(10**9)))
# Units that are as often absolute as gauge, or a vacuum: where the reference matters it has to be said.
PRESSURE_TO_SAY = (("kg/cm2", GRAVITY * 10**4, "kgf/cm2"), ("atm", Fr(101325)),
                   ("inHg", Fr(135951, 10) * GRAVITY * IN), ("mmHg", Fr(135951, 10) * GRAVITY / 1000))
PER_VOLUME = (("mg/L", Fr(1, 1000), "mg/l", "g/m3"), ("g/L", Fr(1), "g/l", "kg/m3"),
              ("ug/L", Fr(1, 10**6), "ug/l", "mg/m3"), ("% w/v", Fr(10), "%w/v", "% (w/v)"),
              ("grains/gal", GRAIN / GAL, "grain/gal", "gr/gal", "gpg"), ("lb/MG", LB / (10**6 * GAL), "lb/Mgal"))
PERCENT = (("%", Fr(1, 100)),)
ONE = (("", Fr(1)),)


def _over(tops: tuple, bottoms: tuple) -> tuple:
    """All tops per all bottoms, with every pair of aliases."""
    rows = []
    for (top, up, *tops2), (bottom, down, *bottoms2) in product(tops, bottoms):
        names = [f"{a}/{b}" for a, b in product((top, *tops2), (bottom, *bottoms2))]
        names += [f"{a} {bottom}-1" for a in (top, *tops2)]
        rows.append((names[0], up / down, *names[1:]))
    return tuple(rows)


def _marked(marks: tuple[str, ...], plain: bool) -> tuple:
    """Pressures with a reference mark, and without one where that is what people mean."""
    short, *words = marks
    rows = []
    for p, f, *aliases in (*PRESSURE, *PRESSURE_TO_SAY):
        names = [f"{a}{end}" for a in (p, *aliases)
                 for end in (f" {short}", short, f"({short})", f" ({short})", *(f" {word}" for word in words))]
        rows.append((names[0], f, *names[1:], *((p,) if plain and (p, f) in PRESSURE else ())))
    return tuple(rows)


def _basis(basis: str) -> tuple:
    return tuple((f"{u} as {basis}", f, *(f"{a} as {basis}" for a in aliases), *(f"{a} {basis}" for a in (u, *aliases)))
                 for u, f, *aliases in PER_VOLUME)


def _inverse(*tops: tuple) -> tuple:
    """Per time. "/d" is no spelling: "11/d" could be 11 per day or 1 with the unit 1/d."""
    rows = []
    for top, f in tops:
        for t, down, *aliases in PER_TIME:
            more = [f"{top}/{a}" for a in aliases]
            if top == "1":
                more += [f"per {a}" for a in (t, *aliases)] + [f"{t}-1"]
            rows.append((f"{top}/{t}", f / down, *more))
    return tuple(rows)


_FLOW = (*_over(VOLUME, PER_TIME), ("gpm", GAL / MIN), ("gpd", GAL / DAY), ("gph", GAL / HOUR),
         ("mgd", 10**6 * GAL / DAY, "MGD"), ("cfm", FT**3 / MIN), ("MLD", 1000 / DAY, "Mld", "mld"),
         ("cmd", 1 / DAY, "CMD"), ("cmh", 1 / HOUR, "CMH"), ("lph", LITRE / HOUR, "LPH"), ("lpm", LITRE / MIN, "LPM"),
         ("lps", LITRE, "LPS"), ("igpm", IGAL / MIN, "imp gpm"), ("igpd", IGAL / DAY, "imp gpd"),
         ("MIGD", 10**6 * IGAL / DAY, "migd", "imgd"))
_SPEED = (*_over(LENGTH[:4], PER_TIME), ("ft/s", FT, "fps"), ("ft/min", FT / MIN), ("ft/h", FT / HOUR))
_FLUX = (("L/(m2 h)", LITRE / HOUR, "LMH", "L/m2/h", "L/m2h", "l/(m2 h)", "l/m2/h", "l/m2h", "L m-2 h-1",
          "L/(m2*h)", "L/(h m2)"),
         ("gfd", GAL / FT**2 / DAY, "gal/(ft2 d)", "gal/ft2/d", "gal/(ft2 day)"),
         ("m/s", Fr(1)), ("m/h", 1 / HOUR), ("m/d", 1 / DAY, "m/day"), ("um/s", Fr(1, 10**6)))

_TABLES: dict[str, tuple] = {
    "number": ONE,
    "fraction": (*PERCENT, *ONE),
    "ratio": (*ONE, ("kg/kg", Fr(1)), ("g/g", Fr(1)), ("mg/mg", Fr(1))),
    "flow": _FLOW,
    "mass flow": _over(MASS, PER_TIME),
    "mole flow": _over((("mol", Fr(1)), ("mmol", Fr(1, 1000)), ("kmol", Fr(1000))), PER_TIME),
    "area": (("m2", Fr(1)), ("ft2", FT**2), ("cm2", Fr(1, 10**4)), ("mm2", Fr(1, 10**6)), ("in2", IN**2)),
    "length": LENGTH,
    "volume": VOLUME,
    "velocity": _SPEED,
    "vibration velocity": (("mm/s", Fr(1, 1000)), ("in/s", IN), ("m/s", Fr(1))),
    "filtration rate": (("m/h", 1 / HOUR, "m/hr", "m3/(m2 h)", "m3/m2/h", "m3/m2h"),
                        ("gpm/ft2", GAL / MIN / FT**2), ("m/s", Fr(1)), ("mm/s", Fr(1, 1000)),
                        ("m/d", 1 / DAY, "m/day"), ("cm/s", Fr(1, 100)), ("cm/min", Fr(1, 100) / MIN)),
    "scour rate": (("m/h", 1 / HOUR, "m/hr", "m3/(m2 h)", "m3/m2/h"), ("cfm/ft2", FT / MIN),
                   ("m/s", Fr(1)), ("m/min", 1 / MIN)),
    "flux": _FLUX,
    "water permeability": (("L/(m2 h bar)", LITRE / HOUR / 10**5, "LMH/bar", "L/m2/h/bar", "l/(m2 h bar)",
                            "L m-2 h-1 bar-1"),
                           ("gfd/psi", GAL / FT**2 / DAY / PSI), ("m/(s Pa)", Fr(1), "m/s/Pa")),
    "salt flux": (("g/(m2 h)", Fr(1, 1000) / HOUR, "g/m2/h"), ("kg/(m2 s)", Fr(1), "kg/m2/s")),
    "gauge": _marked(("g", "gauge"), plain=True),
    "absolute": _marked(("a", "abs", "absolute"), plain=False),
    "pressure": (*PRESSURE, *PRESSURE_TO_SAY),
    "pressure gradient": (*_over(PRESSURE, LENGTH[:1]), ("psi/ft", PSI / FT)),
    "power": (("kW", Fr(1000)), ("hp", HP), ("W", Fr(1)), ("MW", Fr(10**6))),
    "specific energy": (("kWh/m3", KWH), ("kWh/kgal", KWH / (1000 * GAL), "kWh/1000 gal"),
                        ("MJ/m3", Fr(10**6)),
                        ("kJ/m3", Fr(1000)), ("J/m3", Fr(1))),
    "energy": (("kWh", KWH), ("MWh", 1000 * KWH), ("GWh", 10**6 * KWH), ("J", Fr(1)), ("kJ", Fr(1000)),
               ("MJ", Fr(10**6)), ("GJ", Fr(10**9))),
    "molar energy": (("kJ/mol", Fr(1000)), ("J/mol", Fr(1))),
    "difference": (("K", Fr(1)),),
    "density": (("kg/m3", Fr(1)), ("lb/ft3", LB / FT**3), ("g/cm3", Fr(1000)), ("kg/L", Fr(1000), "kg/l"),
                ("g/mL", Fr(1000), "g/ml")),
    "viscosity": (("mPa s", Fr(1, 1000), "mPa*s"), ("cP", Fr(1, 1000)), ("Pa s", Fr(1), "Pa*s")),
    "diffusivity": (("m2/s", Fr(1)), ("cm2/s", Fr(1, 10**4)), ("mm2/s", Fr(1, 10**6))),
    "heat capacity": (("kJ/(kg K)", Fr(1000), "kJ/kg/K"), ("J/(kg K)", Fr(1), "J/kg/K")),
    "concentration": PER_VOLUME,
    "as CaCO3": _basis("CaCO3"),
    "as Cl2": _basis("Cl2"),
    "as B": _basis("B"),
    "as product": _basis("product"),
    "salinity": (("g/kg", Fr(1, 1000)),),
    # one practical salinity unit is 35.165 04/35 g of salt per kg of seawater of reference composition
    "absolute salinity": (("g/kg", Fr(1, 1000)), ("psu", Fr(3516504, 35 * 10**8), "PSU")),
    "mass fraction": (("% w/w", Fr(1, 100), "%w/w", "% (w/w)", "% by mass", "% by weight"), ("kg/kg", Fr(1)),
                      ("mg/kg", Fr(1, 10**6))),
    "content": (("mg/kg", Fr(1, 10**6)), ("g/kg", Fr(1, 1000)), ("ug/kg", Fr(1, 10**9)), ("% w/w", Fr(1, 100))),
    "molality": (("mmol/kg", Fr(1, 1000)), ("mol/kg", Fr(1)), ("umol/kg", Fr(1, 10**6))),
    "molar mass": (("g/mol", Fr(1, 1000)), ("kg/mol", Fr(1))),
    "time": TIME,
    "money per volume": (("1/m3", Fr(1)), ("1/kgal", 1 / (1000 * GAL))),
    "money per flow": (("1/(m3/d)", DAY), ("1/gpd", DAY / GAL), ("1/(m3/h)", HOUR)),
    "carbon per volume": (("kg/m3", Fr(1)), ("lb/kgal", LB / (1000 * GAL))),
    "rate per time": _inverse(("%", Fr(1, 100)), ("1", Fr(1))),
    "frequency": (*_inverse(("1", Fr(1))), ("Hz", Fr(1))),
    "rotation": (("rpm", 1 / MIN, "r/min", "rev/min"), ("1/min", 1 / MIN), ("1/s", Fr(1))),
    "conductivity": (("mS/cm", Fr(1, 10)), ("uS/cm", Fr(1, 10**4)), ("S/m", Fr(1)), ("dS/m", Fr(1, 10)),
                     ("mS/m", Fr(1, 1000))),
    "turbidity": (("NTU", Fr(1)),),
    "thermal expansion": (("1/K", Fr(1), "per K"), ("%/K", Fr(1, 100))),
    "mass": MASS,
    "linear mass": (("kg/m", Fr(1)), ("lb/ft", LB / FT)),
    "area load": (("kg/m2", Fr(1)), ("lb/ft2", LB / FT**2), ("g/m2", Fr(1, 1000))),
    "acceleration": (("m/s2", Fr(1)), ("ft/s2", FT)),
    "velocity gradient": (("1/s", Fr(1), "per s", "s-1"),),
    "amount concentration": (("mmol/L", Fr(1), "mmol/l", "mol/m3"), ("mol/L", Fr(1000), "mol/l"),
                             ("umol/L", Fr(1, 1000), "umol/l")),
    "charge concentration": (("meq/L", Fr(1), "meq/l", "eq/m3"), ("eq/L", Fr(1000), "eq/l")),
    "exposure": (("mg h/L as Cl2", HOUR / 1000), ("mg min/L as Cl2", MIN / 1000),
                 ("mg s/L as Cl2", Fr(1, 1000))),
    "uv dose": (("mJ/cm2", Fr(10)), ("J/m2", Fr(1))),
    "potential": (("mV", Fr(1, 1000)), ("V", Fr(1))),
    "voltage": (("V", Fr(1)), ("kV", Fr(1000))),
    "current": (("A", Fr(1)), ("kA", Fr(1000)), ("mA", Fr(1, 1000))),
    "apparent power": (("kVA", Fr(1000)), ("VA", Fr(1)), ("MVA", Fr(10**6))),
    "reactive power": (("kvar", Fr(1000)), ("var", Fr(1)), ("Mvar", Fr(10**6))),
    "impedance": (("mohm", Fr(1, 1000)), ("ohm", Fr(1))),
    "impedance per length": (("ohm/km", Fr(1, 1000)), ("ohm/m", Fr(1)), ("mohm/m", Fr(1, 1000))),
    "conductor area": (("mm2", Fr(1, 10**6)), ("m2", Fr(1))),
    "thermal withstand": (("A s0.5/mm2", Fr(10**6)),),
    "let-through": (("kA2 s", Fr(10**6)), ("A2 s", Fr(1))),
    "heat transfer": (("W/(m2 K)", Fr(1)),),
}

# kind -> table, where the kind has no table of its own name
_TABLE_OF = {
    **dict.fromkeys(("count", "factor", "index", "exponent", "money", "charge number", "ph.nbs", "ph.total",
                     "fouling index"), "number"),
    **{f"concentration as {b}": f"as {b}" for b in ("CaCO3", "Cl2", "B", "product")},
    "mass ratio": "ratio", "head": "length", "mass transfer": "flux", "salt permeability": "flux",
    "gauge pressure": "gauge", "absolute pressure": "absolute", "pressure difference": "pressure",
    "osmotic pressure": "pressure", "temperature difference": "difference", "oxidant exposure": "exposure",
    "disinfection CT": "exposure",
}


def _flat(rows: tuple) -> dict[str, Scale]:
    found: dict[str, Scale] = {}
    for unit, factor, *aliases in rows:
        scale = Scale(unit, float(factor.numerator), float(factor.denominator))
        for text in (unit, *aliases):
            if found.setdefault(text, scale) is not scale:
                raise ValueError(f"the spelling {text!r} is given twice in one table")
    return found


def _temperature() -> dict[str, Scale]:
    scales = {"degC": Scale("degC", 1.0, 1.0, 273.15), "degF": Scale("degF", 5.0, 9.0, 459.67),
              "K": Scale("K", 1.0, 1.0)}
    return scales | {"deg C": scales["degC"], "deg F": scales["degF"]}


def _all() -> dict[str, dict[str, Scale]]:
    flat = {name: _flat(rows) for name, rows in _TABLES.items()} | {"temperature": _temperature()}
    made = {}
    for name, k in KINDS.items():
        table = _TABLE_OF.get(name) or next(t for t in (name, k.family, name.split(".")[0]) if t in flat)
        made[name] = flat[table]
    return made


#: kind name -> spelling -> scale. Main spellings come first in each table.
SPELLINGS: dict[str, dict[str, Scale]] = _all()

_TIDY = str.maketrans({
    "\N{SUPERSCRIPT TWO}": "2", "\N{SUPERSCRIPT THREE}": "3", "\N{SUPERSCRIPT ONE}": "1",
    "\N{SUPERSCRIPT MINUS}": "-", "\N{MINUS SIGN}": "-", "\N{MIDDLE DOT}": " ", "\N{DOT OPERATOR}": " ",
    "\N{MICRO SIGN}": "u", "\N{GREEK SMALL LETTER MU}": "u", "\N{DEGREE SIGN}": "deg",
    "\N{NO-BREAK SPACE}": " ", "\N{THIN SPACE}": " ", "\N{NARROW NO-BREAK SPACE}": " ",
    "\N{SUBSCRIPT TWO}": "2", "\N{SUBSCRIPT THREE}": "3",
})


_POWER = re.compile(r"(?<=[A-Za-z])\^(?=-?[0-9])")


def tidy(unit: str) -> str:
    """The unit in the letters of the table: ``m³·h⁻¹`` becomes ``m3 h-1``, ``m^3/d`` ``m3/d``."""
    return _POWER.sub("", unit.translate(_TIDY))
