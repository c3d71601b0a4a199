"""What a design file says of the duty: sections ``[project]``, ``[site]`` and ``[duty]``."""

from __future__ import annotations

from typing import Any, ClassVar

from desalbook.problems import DesignError
from desalbook.tables import table
from desalbook.units import Count, Factor, Fraction, Index, M, M3PerS, S, Section, choice, field, own_list, text_field

__all__ = ["DISTRIBUTIONS", "LISTS", "PRODUCT_USES", "Duty", "Guarantees", "InputSpread", "Project", "Site"]

PRODUCT_USES = table("product_uses").options()


DISTRIBUTIONS = {"uniform": "Uniform", "normal": "Normal", "lognormal": "Lognormal", "triangular": "Triangular"}


class InputSpread(Section):
    """One entry of ``[[spreads]]``: how an input of the design scatters, for studies of what is uncertain."""

    input: str = text_field(..., title="Input that scatters", max_length=60,
                            hint="A condition of a rating, as temperature or salt_factor, or a key, as energy.tariff")
    distribution: str = choice(DISTRIBUTIONS, "uniform", title="Distribution",
                               hint="Uniform where only bounds are known, triangular where one value is likeliest")
    low: str = text_field("", title="Lower bound", max_length=40, hint="With its unit; nothing below it is drawn")
    high: str = text_field("", title="Upper bound", max_length=40, hint="With its unit; nothing above it is drawn")
    mean: str = text_field("", title="Mean", max_length=40, hint="Of a normal or lognormal distribution, with its unit")
    deviation: str = text_field("", title="Standard deviation", max_length=40,
                                hint="In the unit of the mean; of a temperature a difference in K")
    mode: str = text_field("", title="Likeliest value", max_length=40, hint="Of a triangular distribution")
    with_input: str = text_field("", title="Correlated with", max_length=60, hint="Another input of this list")
    correlation: Factor = field("factor", "0", title="Rank correlation with it", symbol="rho",
                                possible=("-0.999", "0.999"), usual=("-0.9", "0.9"), source="common-practice",
                                hint="Temperature and salinity of a sea often rise together")
    basis: str = text_field("", title="Where it comes from", hint="Years of data, a contract, an opinion")


LISTS = {"spreads": own_list(InputSpread, title="Spreads of inputs", key="input",
                             hint="What is uncertain and by how much; studies draw from it")}


class Project(Section):
    """Section ``[project]``: whose sheet this is."""

    name: str = text_field("Untitled plant", title="Project", hint="Printed on every sheet")
    client: str = text_field("", title="Client", hint="Client, printed on the sheet")
    revision: str = text_field("A", title="Revision", max_length=20,
                               hint="Letter or number of this issue of the design")
    made_by: str = text_field("", title="Prepared by", max_length=80, hint="Initials of who made it")
    checked_by: str = text_field("", title="Checked by", max_length=80,
                                 hint="Initials of who checked it; empty until somebody has")
    note: str = text_field("", title="Note", hint="Printed on the sheet beside its name")


class Site(Section):
    """Section ``[site]``: where it stands."""

    altitude: M = field(
        "length",
        "5 m",
        title="Altitude",
        symbol="z_s",
        possible=("-400 m", "5000 m"),
        usual=("-10 m", "2500 m"),
        hint="Site elevation above sea level; reduces atmospheric pressure and NPSH available",
    )


class Guarantees(Section):
    """Section ``[guarantees]``: margins between what is expected and what is promised."""

    quality: Fraction = field("fraction", "15 %", title="Margin on salt, conductivity and hardness", symbol="m_q",
                              possible=("0 %", "100 %"), usual=("10 %", "25 %"),
                              hint="Over the expected value at maximum temperature and with aged membranes")
    ph: Index = field("index", "0.3", title="Band of pH to either side", symbol="m_pH", possible=("0", "2"),
                      usual=("0.2", "0.5"), hint="Within which dosing by a pH meter keeps it")
    sdi: Fraction = field("fraction", "20 %", title="Margin on the silt density index", symbol="m_SDI",
                          possible=("0 %", "100 %"), usual=("10 %", "30 %"), hint="Over the index that is expected")
    energy: Fraction = field("fraction", "5 %", title="Margin on specific energy", symbol="m_E",
                             possible=("0 %", "50 %"), usual=("2 %", "10 %"),
                             hint="Over the mean of a year; meters have some 1 %")
    chemicals: Fraction = field("fraction", "15 %", title="Margin on chemicals", symbol="m_C",
                                possible=("0 %", "100 %"), usual=("10 %", "25 %"),
                                hint="Over the mean dose at full flow")
    availability: Fraction = field("fraction", "1 %", title="Margin on availability", symbol="m_A",
                                   possible=("0 %", "20 %"), usual=("0 %", "3 %"), hint="Below what is planned")


_OWN: dict[str, Any] = {"possible": ("0 m3/d", "5000 m3/d")}


class Duty(Section):
    """Section ``[duty]``: what is guaranteed, and what the plant takes for itself."""

    either: ClassVar[tuple[tuple[str, str], ...]] = (("product_flow", "train_product_flow"),)

    def consistent(self, where: str) -> None:
        """The net product is that of the plant or that of one train."""
        if self.product_flow is None and self.train_product_flow is None:
            raise DesignError("must be given", where=f"{where}.train_product_flow", allowed="20 to 30 000 m3/d",
                              do=f"enter the net product of one train, or of the plant ({where}.product_flow)")
        if self.product_flow is not None and self.train_product_flow is not None:
            raise DesignError("the net product is given twice", where=f"{where}.product_flow",
                              do=f"clear it, or clear {where}.train_product_flow")

    product_flow: M3PerS | None = field(
        "flow.day", None, title="Net product flow, whole plant", symbol="Q_net", possible=("20 m3/d", "720 000 m3/d"),
        usual=("100 m3/d", "60 000 m3/d"),
        hint="Of all duty trains, on the average of a year; give it or that of one train",
    )
    train_product_flow: M3PerS | None = field(
        "flow.day",
        None,
        title="Net product per train, calendar-day average",
        symbol="Q_t",
        possible=("20 m3/d", "30 000 m3/d"),
        usual=("100 m3/d", "15 000 m3/d"),
        scope="train",
        hint="Delivered on the average of a year, after own use and standstill; give it or that of the plant",
    )
    trains: Count = field(
        "count", "1", title="Duty trains", symbol="n_t", possible=("1", "24"), usual=("1", "8"),
        hint="Trains that make the product together; each gives the net product of one train",
    )
    trains_standby: Count = field(
        "count", "0", title="Standby trains", symbol="n_s", possible=("0", "8"), usual=("0", "2"),
        hint="Installed spare trains, not in operation",
    )
    availability: Fraction = field(
        "fraction",
        "95 %",
        title="Availability",
        symbol="A",
        possible=("40 %", "100 %"),
        usual=("85 %", "98 %"),
        hint="Fraction of the year in which all these trains run",
    )
    failure_interval: S = field(
        "time", "8000 h", title="Time between failures of a train, mean", symbol="t_F",
        possible=("24 h", "200 000 h"), usual=("1000 h", "20 000 h"), source="common-practice",
        hint="Unplanned stops for whatever reason; the log of a like plant is better")
    repair_time: S = field(
        "time", "120 h", title="Time to repair a train, mean", symbol="t_R", possible=("0 h", "8760 h"),
        usual=("8 h", "500 h"), source="common-practice",
        hint="With waiting for parts and people; long where spares come from far away")
    shared_availability: Fraction = field(
        "fraction", "99 %", title="Availability of what all trains share", symbol="A_s", possible=("50 %", "100 %"),
        usual=("95 %", "99.9 %"), source="common-practice",
        hint="Power, intake in a storm or bloom, common control: they stop all trains at once")
    planned_stop: Fraction = field(
        "fraction", "2 %", title="Planned stops, fraction of the year", symbol="x_pl", possible=("0 %", "50 %"),
        usual=("0.5 %", "5 %"), source="common-practice",
        hint="Cleaning, change of elements, inspection: some seven days a year")
    product_use: str = choice(PRODUCT_USES, "drinking", title="Use of the product",
                              hint="Decides which limits the product is judged by")
    own_use_flush: M3PerS | None = field("flow.day", None, title="Own use: flushing", symbol="Q_fl", **_OWN,
        hint="Permeate for flushing trains that stop; if blank, a fraction of the product", usual=("1 m3/d",
                                                                                                   "500 m3/d"))
    own_use_cleaning: M3PerS | None = field(
        "flow.day", None, title="Own use: CIP and rinse", symbol="Q_cl", **_OWN,
        hint="Permeate to make up and rinse cleaning solutions; if blank, a fraction of the product",
        usual=("0 m3/d", "100 m3/d"),
    )
    own_use_makedown: M3PerS | None = field(
        "flow.day", None, title="Own use: chemical make-down", symbol="Q_md", **_OWN,
        hint="Permeate to dissolve and thin chemicals; if blank, a fraction of the product",
        usual=("0 m3/d", "200 m3/d"),
    )
    own_use_contactor: M3PerS | None = field(
        "flow.day",
        None,
        title="Own use: contactor backwash",
        symbol="Q_co",
        **_OWN,
        hint="Nothing is assumed where the plant has no contactor",
        usual=("0 m3/d", "500 m3/d"),
    )
    own_use_startup: M3PerS | None = field(
        "flow.day", None, title="Own use: start-up diversion to waste", symbol="Q_su", **_OWN,
        hint="Permeate sent to waste until it is fit, after each start; if blank, a fraction of the product",
        usual=("0 m3/d", "200 m3/d"),
    )
    train_permeate: M3PerS | None = field(
        "flow",
        None,
        title="Permeate per train (fixed)",
        symbol="Q_p",
        scope="train",
        possible=("0.5 m3/h", "2000 m3/h"),
        usual=("4 m3/h", "800 m3/h"),
        hint="For rating: the permeate while running, in place of that from the net product",
    )
