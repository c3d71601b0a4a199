"""What a design file says of dosing: one section a chemical, one for what they share, one for their order."""

from __future__ import annotations

from desalbook.problems import DesignError
from desalbook.units import (
    AsCl2,
    AsProduct,
    Concentration,
    Factor,
    Fraction,
    KgPerM3,
    MassFraction,
    PHNbs,
    S,
    Section,
    choice,
    field,
    sections,
    text_field,
)

__all__ = [
    "ACIDS",
    "ALKALIS",
    "DOSED",
    "REDUCERS",
    "YES_NO",
    "Acid",
    "Antiscalant",
    "Chlorination",
    "Coagulation",
    "Dechlorination",
    "Dosing",
    "Injection",
    "InjectionPoint",
    "PostChlorination",
    "PostPh",
]

YES_NO = {"yes": "Yes", "no": "No"}
REDUCERS = {
    "sodium-bisulfite": "Sodium bisulfite solution",
    "sodium-metabisulfite": "Sodium metabisulfite, made up",
}
ACIDS = {
    "sulfuric-acid": "Sulfuric acid, 98 %",
    "sulfuric-acid-93": "Sulfuric acid, 93 %",
    "hydrochloric-acid": "Hydrochloric acid, 32 %",
}
ALKALIS = {"caustic-soda": "Sodium hydroxide, 50 %", "caustic-soda-30": "Sodium hydroxide, 30 %"}
DOSED = {
    "chlorination": "Hypochlorite",
    "coagulation": "Coagulant",
    "filter": "Media filters",
    "acid": "Acid",
    "antiscalant": "Antiscalant",
    "dechlorination": "Reducing agent",
    "cartridge": "Cartridge filters",
    "orp": "Redox probe",
    "pump": "High-pressure pump",
}


def _strength() -> MassFraction | None:
    return field(
        "mass fraction",
        None,
        title="Strength, in the basis of the dose",
        symbol="w_s",
        possible=("0.5 % w/w", "100 % w/w"),
        hint="By the delivery's certificate; else by the table",
    )


def _density() -> KgPerM3 | None:
    return field(
        "density",
        None,
        title="Density of the solution",
        symbol="rho_c",
        possible=("900 kg/m3", "2000 kg/m3"),
        hint="By the delivery's certificate; else by the table",
    )


class Dosing(Section):
    """Section ``[dosing]``: what all dosing lines share."""

    day_tank_time: S = field(
        "time",
        "24 h",
        title="Supply of a day tank",
        symbol="t_d",
        possible=("4 h", "72 h"),
        usual=("12 h", "30 h"),
        source="ten-state-standards",
    )
    storage_time: S = field(
        "time.day",
        "30 d",
        title="Supply in store",
        symbol="t_s",
        possible=("3 d", "180 d"),
        usual=("15 d", "60 d"),
        source="ten-state-standards",
    )
    span: Factor = field(
        "factor",
        "100",
        title="Span of a dosing pump, stroke times speed",
        symbol="r_q",
        possible=("5", "1000"),
        usual=("10", "100"),
        source="api-675",
    )


class Chlorination(Section):
    """Section ``[chlorination]``: hypochlorite ahead of the filters."""

    present: str = choice(YES_NO, "yes", title="Chlorination")
    reason: str = text_field("", title="Why not")
    chemical: str = choice(
        {"sodium-hypochlorite": "Sodium hypochlorite"}, "sodium-hypochlorite", title="Chemical"
    )
    demand: AsCl2 = field(
        "concentration as Cl2",
        "1.0 mg/L as Cl2",
        title="Chlorine demand",
        symbol="D_d",
        possible=("0 mg/L as Cl2", "20 mg/L as Cl2"),
        usual=("0.3 mg/L as Cl2", "3 mg/L as Cl2"),
    )
    residual: AsCl2 = field(
        "concentration as Cl2",
        "0.5 mg/L as Cl2",
        title="Residual where it is removed",
        symbol="C_r",
        possible=("0 mg/L as Cl2", "5 mg/L as Cl2"),
        usual=("0.2 mg/L as Cl2", "1 mg/L as Cl2"),
        hint="Total residual oxidant after demand and hold time",
    )
    shock: str = choice(YES_NO, "yes", title="Shock dosing")
    shock_dose: AsCl2 = field(
        "concentration as Cl2",
        "8 mg/L as Cl2",
        title="Shock dose",
        symbol="D_sh",
        possible=("1 mg/L as Cl2", "30 mg/L as Cl2"),
        usual=("5 mg/L as Cl2", "15 mg/L as Cl2"),
    )
    shock_time: S = field(
        "time",
        "1 h",
        title="Time of one shock",
        symbol="t_sh",
        possible=("0.1 h", "24 h"),
        usual=("0.5 h", "4 h"),
    )
    shock_interval: S = field(
        "time.day",
        "3 d",
        title="Interval of shocks",
        symbol="t_i",
        possible=("0.2 d", "60 d"),
        usual=("0.5 d", "14 d"),
    )
    strength: MassFraction | None = _strength()
    density: KgPerM3 | None = _density()
    strength_left: Fraction = field(
        "fraction",
        "80 %",
        title="Strength left in storage",
        symbol="x_w",
        possible=("20 %", "100 %"),
        usual=("70 %", "95 %"),
        source="gordon-hypochlorite",
    )


class Dechlorination(Section):
    """Section ``[dechlorination]``: bisulfite ahead of the membranes."""

    present: str = choice(YES_NO, "yes", title="Dechlorination")
    reason: str = text_field("", title="Why not")
    chemical: str = choice(REDUCERS, "sodium-bisulfite", title="Chemical")
    multiple: Factor = field(
        "factor",
        "2",
        title="Practical multiple of stoichiometry",
        symbol="f_s",
        possible=("1", "6"),
        usual=("1.5", "3"),
    )
    strength: MassFraction | None = _strength()
    density: KgPerM3 | None = _density()


class Antiscalant(Section):
    """Section ``[antiscalant]``."""

    present: str = choice(YES_NO, "yes", title="Antiscalant")
    reason: str = text_field("", title="Why not")
    dose: AsProduct = field(
        "concentration as product",
        "2 mg/L as product",
        title="Dose into the membrane feed",
        symbol="D_a",
        possible=("0.1 mg/L as product", "20 mg/L as product"),
        usual=("0.5 mg/L as product", "5 mg/L as product"),
    )
    strength: MassFraction | None = _strength()
    density: KgPerM3 | None = _density()


class Acid(Section):
    """Section ``[acid]``: off unless asked for; acid raises the passage of boron."""

    present: str = choice(YES_NO, "no", title="Acid")
    reason: str = text_field("", title="Why not")
    chemical: str = choice(ACIDS, "sulfuric-acid", title="Chemical")
    target_ph: PHNbs = field(
        "ph.nbs",
        "7.6",
        title="pH of the membrane feed",
        symbol="pH_f",
        possible=("4", "8.5"),
        usual=("6.8", "7.8"),
    )
    strength: MassFraction | None = _strength()
    density: KgPerM3 | None = _density()


class Coagulation(Section):
    """Section ``[coagulation]``: ferric chloride ahead of the filters."""

    present: str = choice(YES_NO, "no", title="Coagulation")
    reason: str = text_field("", title="Why not")
    chemical: str = choice({"ferric-chloride": "Ferric chloride"}, "ferric-chloride", title="Chemical")
    dose: Concentration = field(
        "concentration",
        "1 mg/L",
        title="Dose, counted as iron",
        symbol="D_Fe",
        possible=("0.1 mg/L", "20 mg/L"),
        usual=("0.5 mg/L", "5 mg/L"),
    )
    dose_highest: Concentration = field(
        "concentration",
        "5 mg/L",
        title="Highest dose, counted as iron",
        symbol="D_Fe,max",
        possible=("0.1 mg/L", "30 mg/L"),
        usual=("1 mg/L", "10 mg/L"),
    )
    strength: MassFraction | None = _strength()
    density: KgPerM3 | None = _density()

    def consistent(self, where: str) -> None:
        if self.dose_highest < self.dose:
            raise DesignError(
                "the highest dose lies below the dose",
                where=f"{where}.dose_highest",
                value=round(self.dose_highest * 1e3, 4),
                unit="mg/L",
                do=f"write at least {self.dose * 1e3:g} mg/L",
            )


class PostPh(Section):
    """Section ``[post_ph]``: the alkali that lifts the product's pH; its target stands in ``[product]``."""

    chemical: str = choice(ALKALIS, "caustic-soda-30", title="Chemical")
    strength: MassFraction | None = _strength()
    density: KgPerM3 | None = _density()


class PostChlorination(Section):
    """Section ``[post_chlorination]``: hypochlorite into the product."""

    present: str | None = choice(
        YES_NO,
        None,
        title="Chlorination of the product",
        hint="Where nothing is written the use of the product decides",
    )
    chemical: str = choice(
        {"sodium-hypochlorite": "Sodium hypochlorite"}, "sodium-hypochlorite", title="Chemical"
    )
    demand: AsCl2 = field(
        "concentration as Cl2",
        "0.1 mg/L as Cl2",
        title="Chlorine demand of the product",
        symbol="D_d",
        possible=("0 mg/L as Cl2", "5 mg/L as Cl2"),
        usual=("0 mg/L as Cl2", "0.5 mg/L as Cl2"),
    )
    residual: AsCl2 = field(
        "concentration as Cl2",
        "0.4 mg/L as Cl2",
        title="Residual leaving the plant",
        symbol="C_r",
        possible=("0 mg/L as Cl2", "5 mg/L as Cl2"),
        usual=("0.2 mg/L as Cl2", "1 mg/L as Cl2"),
    )
    strength: MassFraction | None = _strength()
    density: KgPerM3 | None = _density()
    strength_left: Fraction = field(
        "fraction",
        "80 %",
        title="Strength left in storage",
        symbol="x_w",
        possible=("20 %", "100 %"),
        usual=("70 %", "95 %"),
        source="gordon-hypochlorite",
    )


class InjectionPoint(Section):
    """One place along the water line."""

    name: str = choice(DOSED, ..., title="What is there")
    travel_time: S = field(
        "time.second",
        "10 s",
        title="Travel time to the next place",
        symbol="t",
        possible=("0 s", "86400 s"),
        usual=("0 s", "3600 s"),
    )


_ORDER = (
    "chlorination",
    "coagulation",
    "filter",
    "acid",
    "antiscalant",
    "dechlorination",
    "orp",
    "cartridge",
    "pump",
)


class Injection(Section):
    """Section ``[injection]``: the order of quills, filters and probe along the line."""

    points: tuple[InjectionPoint, ...] = sections(
        InjectionPoint,
        [{"name": n, "travel_time": "15 s"} for n in _ORDER],
        title="Places along the line",
        hint="In the order the water passes them; a chemical that is not present is passed over",
    )
