"""What a design file says of intake, tanks, filters and cartridges.

Sections ``[intake]``, ``[storage]``, ``[backwash_tank]``, ``[filters]``, ``[filter_vessel]``, ``[cartridge]``,
``[fouling]``.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Annotated, Any

from desalbook.pretreatment.backwash import SCOURS, TARGETS
from desalbook.pretreatment.backwash_schedule import PATTERNS
from desalbook.pretreatment.intake import CHLORINATION_POINTS
from desalbook.pretreatment.media import FILTERING, medium
from desalbook.pretreatment.storage import SOURCES
from desalbook.pretreatment.vessel_form import FORMS
from desalbook.problems import DesignError
from desalbook.tables import row_field, table
from desalbook.units import (
    KINDS,
    Count,
    DifferencePa,
    Factor,
    FiltrationRate,
    Fraction,
    GaugePa,
    Head,
    J,
    Kg,
    KgPerM2,
    KgPerM3,
    M,
    M3PerS,
    MPerS,
    S,
    ScourRate,
    Section,
    W,
    choice,
    field,
    own_list,
    sections,
    show,
    text_field,
)

__all__ = ["BackwashTank", "Cartridge", "FilterLayer", "FilterVessel", "Filters", "Fouling", "Intake", "ScourBlower",
           "Storage"]

FoulingIndex = Annotated[float, KINDS["fouling index"]]
Turbidity = Annotated[float, KINDS["turbidity"]]


def _titles(registry: dict[str, Any]) -> dict[str, str]:
    return {key: one.title for key, one in registry.items()}


class Intake(Section):
    """Section ``[intake]``: from the sea to the raw tank."""

    low_tide: M = field("length", "-1.5 m", title="Low-tide level above site datum", symbol="z_lt",
                        possible=("-60 m", "60 m"), usual=("-8 m", "0 m"),
                        hint="Level from which the intake pump must lift")
    screen_velocity: MPerS = field("velocity", "0.15 m/s", title="Maximum through-screen velocity",
                                   symbol="v_s", possible=("0.02 m/s", "1.5 m/s"), usual=("0.05 m/s", "0.15 m/s"),
                                   hint="0.15 m/s protects fish from impingement (0.5 ft/s in United States "
                                        "rules; from memory)")
    screen_open: Fraction = field("fraction", "50 %", title="Open fraction of the screen", symbol="x_o",
                                  possible=("5 %", "95 %"), usual=("30 %", "65 %"),
                                  hint="Fraction of the screen that water can pass")
    screen_clean: Fraction = field("fraction", "50 %", title="Fraction of the openings left clear", symbol="x_c",
                                   possible=("5 %", "100 %"), usual=("40 %", "80 %"),
                                   hint="What weed and shells leave open")
    screen_loss: Factor = field("factor", "2.5", title="Loss coefficient of the screen", symbol="K_s",
                                possible=("0.1", "30"), usual=("1", "5"), hint="On the velocity in the openings")
    strainer_drop: DifferencePa = field("pressure difference", "0.3 bar", title="Strainer, before it is cleaned",
                                        symbol="Delta_p_st", possible=("0 bar", "2 bar"), usual=("0.05 bar", "0.5 bar"),
                                        hint="Loss at which the strainer is cleaned; the intake pump overcomes it")
    friction_head: Head = field("head", "6 m", title="Pipes from sea to tank", symbol="h_p", possible=("0 m", "100 m"),
                                usual=("1 m", "20 m"), hint="Loss of the pipes at the full flow")
    chlorination_point: str = choice(_titles(CHLORINATION_POINTS), "screen", title="Chlorine injection point",
                                     hint="At the screen it keeps the whole line clear; mind the sea outside")
    contact_fraction: Fraction = field("fraction", "30 %",
                                       title="Baffling factor T10 of the raw tank",
                                    symbol="x_T", possible=("5 %", "100 %"), usual=("10 %", "50 %"),
                                    source="epa-profiling-1999", hint="0.1 unbaffled, 0.3 poor, 0.5 average baffling")
    cell_energy: J = field("energy", "4.5 kWh", title="Energy of on-site chlorine, for one kilogram", symbol="E_Cl",
                           possible=("2 kWh", "10 kWh"), usual=("3.5 kWh", "6 kWh"),
                           hint="Electrochlorination of seawater; vent its hydrogen")


class _Tank(Section):
    """What every water tank asks for."""

    usable: Fraction = field(
        "fraction",
        "85 %",
        title="Usable fraction of the volume",
        symbol="x_u",
        possible=("20 %", "100 %"),
        usual=("75 %", "95 %"),
        hint="Between the minimum and the maximum level",
    )
    count: Count | None = field("count", None, title="Tanks", symbol="n", possible=("1", "12"), usual=("1", "4"),
                                hint="Tanks side by side that share the volume; if blank, the smallest number")
    height: M = field(
        "length",
        "4 m",
        title="Maximum depth of water",
        symbol="h_max",
        possible=("0.5 m", "20 m"),
        usual=("2 m", "8 m"),
        hint="From the floor to the maximum level",
    )
    diameter: M | None = field(
        "length", None, title="Diameter (fixed)", symbol="D", possible=("0.5 m", "60 m"), usual=("1 m", "12 m"),
        hint="Of one tank; if blank, the smallest standard size that holds the volume",
    )
    elevation: M = field(
        "length",
        "0.2 m",
        title="Floor above site level",
        symbol="z_t",
        possible=("-30 m", "60 m"),
        usual=("-5 m", "10 m"),
        hint="Floor of the tank; raises the suction of the pumps downstream of it",
    )
    low_level: M = field(
        "length",
        "0.6 m",
        title="Minimum depth of water",
        symbol="h_LL",
        possible=("0.05 m", "10 m"),
        usual=("0.3 m", "1.5 m"),
        hint="At which pumps stop; heads are computed from it",
    )


class Storage(_Tank):
    """Section ``[storage]``: raw water for all trains."""

    retention_time: S = field(
        "time.minute",
        "60 min",
        title="Raw-water retention time",
        symbol="t_d",
        possible=("5 min", "600 min"),
        usual=("30 min", "120 min"),
        hint="Of the usable volume",
    )


class BackwashTank(_Tank):
    """Section ``[backwash_tank]``: filtrate or concentrate kept for backwashing filters."""

    washes: Factor = field(
        "factor",
        "2",
        title="Backwashes kept in the tank",
        symbol="n_w",
        possible=("1", "20"),
        usual=("1.5", "3"),
        hint="Full backwashes that it holds without make-up",
    )


class MediumSheet(Section):
    """A supplier's filter medium or support, ``[[media]]``: its sieve report, grains, and origin."""

    name: str = text_field(..., title="Name of the medium", max_length=40,
                           hint="As it is chosen in filters.layers")  # type: ignore[arg-type]
    source: str = text_field("", title="Where the data come from", hint="Supplier's sieve report and its number")
    date: str = text_field("", title="Date of the report", max_length=40, hint="Issue the values were taken from")
    based_on: str = choice(table("media").options(), "sand", title="Medium of the kit for what is blank",
                           hint="Says whether it filters or supports, too")
    effective_size: M = field("length.small", ..., title="Effective size", symbol="d_10", possible=("0.1 mm", "100 mm"),
                              usual=("0.3 mm", "60 mm"), hint="Sieve size passing 10 %")
    uniformity: Factor = field("factor", ..., title="Uniformity coefficient", symbol="U", possible=("1", "5"),
                               usual=("1.2", "1.7"), hint="Size passing 60 % over effective size")
    d60: M | None = field("length.small", None, title="Sieve size passing 60 %", symbol="d_60",
                          possible=("0.1 mm", "200 mm"), hint="Blank: effective size times uniformity")
    d90: M | None = field("length.small", None, title="Sieve size passing 90 %", symbol="d_90",
                          possible=("0.1 mm", "300 mm"), hint="Blank: by a log-normal grading")
    grain_density: KgPerM3 | None = field("density", None, title="Grain density", symbol="rho_s",
                                          possible=("1050 kg/m3", "5500 kg/m3"), usual=("1400 kg/m3", "4300 kg/m3"),
                                          hint="Of the grains, not of the bed")
    settled_porosity: Fraction | None = field("fraction", None, title="Settled porosity", symbol="epsilon_0",
                                              possible=("25 %", "75 %"), usual=("38 %", "60 %"),
                                              hint="Of the bed at rest after a backwash")
    sphericity: Factor | None = field("factor", None, title="Sphericity", symbol="psi", possible=("0.3", "1"),
                                      usual=("0.4", "0.95"), hint="One for a sphere")
    kappa_v: Factor | None = field("factor", None, title="Ergun coefficient, viscous, on effective size",
                                   symbol="kappa_V", possible=("50", "1000"), usual=("100", "350"),
                                   hint="From a test of the bed")
    kappa_i: Factor | None = field("factor", None, title="Ergun coefficient, inertial, on effective size",
                                   symbol="kappa_I", possible=("0.5", "20"), usual=("1.5", "6"),
                                   hint="From a test of the bed")

    def consistent(self, where: str) -> None:
        """Sieve sizes rise with what passes them."""
        at = f"{where}." if where else ""
        sizes = [("effective_size", self.effective_size), ("d60", self.d60), ("d90", self.d90)]
        stated = [(key, size) for key, size in sizes if size is not None]
        for (_, low), (key, high) in pairwise(stated):
            if high < low:
                raise DesignError("below the size that less passes", where=f"{at}{key}",
                                  value=show(high, "length.small"), allowed=f"from {show(low, 'length.small')}",
                                  do="check the sieve sizes of the report")


LISTS = {"media": own_list(MediumSheet, title="Filter media of this design",
                           hint="From the supplier's sieve report; one is used by its name in a layer")}


class FilterLayer(Section):
    """One layer, ``[[filters.layers]]``, written from the top down."""

    name: str = text_field(..., title="Name", max_length=40,
                           hint="Part of the names of its figures")  # type: ignore[arg-type]
    media: str = choice(table("media").options(), "sand", title="Media", own="media",
                        hint="Grain size, density and porosity come from its row of the table, or from [[media]]")
    depth: M = field(
        "length", "0.5 m", title="Depth", symbol="L", possible=("0.05 m", "3 m"), usual=("0.07 m", "1.8 m"),
        hint="Settled depth of the layer",
    )


def _rate(row: str, title: str, hint: str = "") -> Any:
    return row_field("guidelines", row, title=title, symbol="v_max", possible=("2 m/h", "60 m/h"),
                     usual=("6 m/h", "30 m/h"), hint=hint)


def _minutes(default: str, title: str, symbol: str, usual: tuple[str, str], hint: str = "") -> Any:
    return field(
        "time.minute", default, title=title, symbol=symbol, possible=("0 min", "120 min"), usual=usual,
        hint=hint,
    )


class Filters(Section):
    """Section ``[filters]``: the battery of pressure filters of one train."""

    present: str = choice({"yes": "Filters", "no": "No filters"}, "yes", title="Media filters",
                          hint="Whether there are media filters at all")
    reason: str = text_field("", title="Why there are no filters",
                             hint="Reason printed on the calculation sheet when they are omitted")
    count: Count | None = field(
        "count", None, title="Filters per train (fixed)", symbol="n_f", possible=("3", "60"), scope="train",
        hint="Filters side by side in one train; if blank, count and diameter are selected together",
        usual=("3", "24"),
    )
    count_minimum: Count = row_field(
        "guidelines",
        "filter-count",
        title="Minimum number of filters",
        symbol="n_min",
        possible=("3", "60"),
        usual=("3", "16"),
        scope="train",
        hint="So that the others can carry the flow while one is backwashed",
    )
    diameter: M | None = field(
        "length",
        None,
        title="Diameter (fixed)",
        symbol="D",
        possible=("0.3 m", "6 m"),
        usual=("0.6 m", "3.6 m"),
        hint="Inside, of one filter; if blank, count and diameter are selected together",
    )
    diameter_largest: M = field(
        "length",
        "2.5 m",
        title="Maximum diameter to select",
        symbol="D_max",
        possible=("0.6 m", "6 m"),
        usual=("1 m", "3.6 m"),
        hint="Transport limit",
    )
    rate_limit: FiltrationRate = _rate("filter-rate", "Rate limit, all in service",
        hint="Flow over area with every filter in service; faster, and solids break through")
    rate_limit_backwashing: FiltrationRate = _rate("filter-rate-one-backwashing",
                                                   "Maximum filtration rate, one out (N-1)",
        hint="The same with one filter in backwash and the others carrying its flow")
    rate_limit_outage: FiltrationRate = _rate("filter-rate-one-out", "Maximum filtration rate, N-2",
                                              hint="The same with one in backwash and another out of service")
    layers: tuple[FilterLayer, ...] = sections(
        FilterLayer,
        (
            {"name": "anthracite", "media": "anthracite", "depth": "0.6 m"},
            {"name": "sand", "media": "sand", "depth": "0.4 m"},
            {"name": "gravel", "media": "gravel-fine", "depth": "0.15 m"},
        ),
        title="Layers from the top down",
        key="name",
    )
    depth_over_size_minimum: Factor = row_field(
        "guidelines",
        "depth-over-size",
        title="Minimum sum of depth over effective size",
        symbol="r_min",
        possible=("100", "5000"),
        usual=("800", "1500"),
        hint="Depth over grain size, summed over layers: a measure of how well the bed holds solids",
    )
    internals_drop: DifferencePa = field(
        "pressure difference",
        "0.15 bar",
        title="Underdrain, distributor and valves at service",
        symbol="Delta_p_i",
        possible=("0 bar", "2 bar"),
        usual=("0.05 bar", "0.4 bar"),
        hint="Loss at the service flow, beside that of the bed",
    )
    dirty_drop: DifferencePa = field(
        "pressure difference",
        "0.7 bar",
        title="Terminal head loss (backwash trigger)",
        symbol="Delta_p_w",
        possible=("0.05 bar", "5 bar"),
        usual=("0.4 bar", "1 bar"),
        hint="Loss of bed and solids at which a backwash begins; the feed pump must overcome it",
    )
    run_length: S = field(
        "time",
        "24 h",
        title="Filter run time",
        symbol="t_run",
        possible=("2 h", "240 h"),
        usual=("12 h", "72 h"),
        scope="unit",
        hint="Service between two backwashes of the same filter",
    )
    backwash_source: str = choice(_titles(SOURCES), "raw", title="Backwash water",
                              hint="Raw water needs no tank; filtrate and concentrate are cleaner or denser")
    backwash_target: str = choice(
        _titles(TARGETS),
        "expansion",
        title="What the backwash rate aims at",
        hint="At maximum water temperature, where bed expansion is smallest",
    )
    fluidisation_factor: Factor = field(
        "factor",
        "1.3",
        title="Backwash rate / minimum fluidisation",
        symbol="m_f",
        possible=("1", "3"),
        usual=("1.1", "1.5"),
        source="hendricks",
        hint="How far the backwash goes beyond the rate at which grains just float",
    )
    backwash_expansion: Fraction = field(
        "fraction",
        "20 %",
        title="Expansion aimed at",
        symbol="e_w",
        possible=("1 %", "100 %"),
        usual=("15 %", "30 %"),
        hint="Of the layer with the smallest expansion, at maximum water temperature",
    )
    expansion_minimum: Fraction = row_field(
        "guidelines",
        "backwash-expansion",
        title="Minimum expansion of each layer",
        symbol="e_min",
        possible=("0 %", "100 %"),
        hint="At every temperature; a layer at rest is not cleaned",
    )
    backwash_rate: FiltrationRate | None = field(
        "filtration rate",
        None,
        title="Backwash rate (fixed)",
        symbol="v_b",
        possible=("5 m/h", "120 m/h"),
        usual=("30 m/h", "60 m/h"),
        hint="Upward flow over area; if blank, computed from the media",
    )
    backwash_flow: M3PerS | None = field(
        "flow", None, title="Backwash flow (fixed)", symbol="Q_b", possible=("1 m3/h", "3000 m3/h"), scope="unit",
        hint="Of one backwash; if blank, rate times area",
        usual=("50 m3/h", "800 m3/h"),
    )
    freeboard: M = field(
        "length",
        "0.6 m",
        title="Freeboard, media to backwash collector",
        symbol="h_fb",
        possible=("0.05 m", "3 m"),
        usual=("0.45 m", "1.2 m"),
        source="wi-nr-811",
        hint="Room for the bed to expand before grains are lost",
    )
    underdrain_drop: DifferencePa = field(
        "pressure difference",
        "0.4 bar",
        title="Underdrain and nozzles at the backwash flow",
        symbol="Delta_p_u",
        possible=("0 bar", "3 bar"),
        usual=("0.15 bar", "0.8 bar"),
        hint="Spreads the backwash evenly; the backwash pump overcomes it",
    )
    face_piping_drop: DifferencePa = field(
        "pressure difference",
        "0.3 bar",
        title="Valves and face piping at backwash flow",
        symbol="Delta_p_v",
        possible=("0 bar", "3 bar"),
        usual=("0.15 bar", "0.6 bar"),
        hint="Between the backwash line and the underdrain; the backwash pump overcomes it",
    )
    scour: str = choice(
        _titles(SCOURS),
        "air",
        title="Air scour",
        hint="Deep beds need air; beds below some 0.75 m are disturbed by it",
    )
    orifice_fraction: Fraction = field(
        "fraction",
        "0.3 %",
        title="Openings of the underdrain over the area",
        symbol="x_o",
        possible=("0.05 %", "5 %"),
        usual=("0.2 %", "1.5 %"),
        source="wi-nr-811",
        hint="Small openings spread the water evenly and cost pressure",
    )
    orifice_coefficient: Factor = field(
        "factor",
        "0.65",
        title="Flow coefficient of the openings",
        symbol="C_o",
        possible=("0.3", "1"),
        usual=("0.6", "0.85"),
        hint="Flow through an opening over that of an ideal one",
    )
    solids_fraction: Fraction = field(
        "fraction",
        "30 %",
        title="Usual / worst suspended solids",
        symbol="x_u",
        possible=("0 %", "100 %"),
        usual=("10 %", "60 %"),
        hint="The run is judged with usual water; the worst is reported",
    )
    solids_removal: Fraction = field(
        "fraction",
        "95 %",
        title="Solids removal",
        symbol="x_r",
        possible=("10 %", "100 %"),
        usual=("85 %", "99 %"),
        hint="Fraction of suspended solids that stays in the bed",
    )
    load_per_metre: KgPerM2 = field(
        "area load",
        "0.55 kg/m2",
        title="Solids loading per metre of head loss",
        symbol="w_1",
        possible=("0.05 kg/m2", "10 kg/m2"),
        usual=("0.2 kg/m2", "2 kg/m2"),
        source="from-memory",
        hint="Found on the plant's own water; flocs fill a bed sooner than silt",
    )
    filtrate_turbidity: Turbidity = field(
        "turbidity",
        "0.1 NTU",
        title="Filtrate turbidity target",
        symbol="Tu_f",
        possible=("0.01 NTU", "5 NTU"),
        usual=("0.05 NTU", "0.5 NTU"),
        hint="What the filters must give; compared with what they are expected to",
    )
    turbidity_removal: Fraction = field(
        "fraction",
        "99 %",
        title="Turbidity removal",
        symbol="x_Tu",
        possible=("10 %", "99.99 %"),
        usual=("95 %", "99.5 %"),
        hint="With a coagulant; without one, 90 % is high",
    )
    scour_rate: ScourRate = field(
        "scour rate",
        "55 m/h",
        title="Air scour",
        symbol="v_a",
        possible=("0 m/h", "150 m/h"),
        usual=("36 m/h", "92 m/h"),
        source="wi-nr-811",
        hint="Air at inlet conditions",
    )
    drain_depth: M = field(
        "length",
        "0.5 m",
        title="Water drained before the air",
        symbol="h_d",
        possible=("0 m", "5 m"),
        usual=("0.2 m", "1 m"),
        hint="Lowered so that air does not carry grains over the weir",
    )
    drain_time: S = _minutes("3 min", "Drain", "t_1", ("2 min", "6 min"),
                             hint="First step of a backwash: water is let down")
    scour_time: S = _minutes("4 min", "Air scour", "t_2", ("2 min", "8 min"),
                             hint="Step of a backwash in which air loosens the solids")
    backwash_time: S = _minutes("12 min", "Backwash", "t_3", ("8 min", "20 min"),
                            hint="Step of a backwash in which water lifts the solids out")
    settle_time: S = _minutes("2 min", "Settle", "t_4", ("1 min", "5 min"),
                              hint="Step of a backwash in which the layers sort themselves")
    filter_to_waste_time: S = _minutes("10 min", "Filter-to-waste", "t_5", ("5 min", "30 min"),
                             hint="Step of a backwash in which the first filtrate goes to waste")
    return_time: S = _minutes("1 min", "Valves back to service", "t_6", ("0.5 min", "3 min"),
                              hint="Step of a backwash in which valves go back to service")
    backwashes_together: Count = field(
        "count",
        "1",
        title="Filters in backwash at once, per train",
        symbol="n_w1",
        possible=("1", "8"),
        usual=("1", "2"),
        scope="train",
        hint="One, unless the backwash pump, the waste line and the battery were laid out for more",
    )
    trains_together: str = choice(
        {"no": "One train at a time", "yes": "Trains backwash at the same time"}, "no", title="Trains in backwash",
        hint="Whether two trains may backwash at once; that doubles waste and backwash water",
    )
    backwash_pattern: str = choice(
        _titles(PATTERNS),
        "spread",
        title="Backwashes over the run",
        hint="One after another is usual with a manual start; the tanks then cover the whole series",
    )

    def consistent(self, where: str) -> None:
        """Rate and flow of the backwash are one figure; a bed needs a layer that filters."""
        at = f"{where}." if where else ""
        if self.backwash_rate is not None and self.backwash_flow is not None:
            raise DesignError(
                "excludes backwash_rate", where=f"{at}backwash_flow", do="clear one of the two"
            )
        known = table("media")  # of a medium of the design's own, only the whole design can say what it does
        if all(layer.media in known and medium(layer.media).role is not FILTERING for layer in self.layers):
            raise DesignError(
                "no layer filters", where=f"{at}layers", do="add a layer of anthracite, sand or garnet"
            )


class ScourBlower(Section):
    """Section ``[scour_blower]``: gives the scour air of the filters in backwash, for all trains."""

    duty_count: Count = field("count", "1", title="Duty scour-air blowers", symbol="n", possible=("1", "6"),
                              usual=("1", "2"), hint="Running side by side during the scour")
    standby_count: Count = field("count", "0", title="Standby scour-air blowers", symbol="n", possible=("0", "6"),
                                 usual=("0", "1"), hint="Installed standby units; none is usual, water alone bridges "
                                                        "a repair")
    pressure_rise: DifferencePa | None = field(
        "pressure difference", None, title="Blower pressure rise (fixed)", symbol="Delta_p_b",
        possible=("0.02 bar", "1 bar"), usual=("0.2 bar", "0.7 bar"),
        hint="If blank, water over the underdrain and the losses of line and nozzles")
    nozzle_drop: DifferencePa = field(
        "pressure difference", "0.05 bar", title="Air loss of underdrain and nozzles", symbol="Delta_p_na",
        possible=("0 bar", "0.5 bar"), usual=("0.02 bar", "0.1 bar"), source="common-practice",
        hint="At the scour rate, with the air cushion under the nozzle plate; from the underdrain's manufacturer")
    line_drop: DifferencePa = field(
        "pressure difference", "0.08 bar", title="Air loss of line, valves and silencers", symbol="Delta_p_la",
        possible=("0 bar", "0.5 bar"), usual=("0.03 bar", "0.15 bar"), source="common-practice",
        hint="From the inlet filter to the filter vessel, with check valve and scour valve")
    efficiency: Fraction = field(
        "fraction", "60 %", title="Adiabatic efficiency of the blower", symbol="eta_b", possible=("20 %", "90 %"),
        usual=("45 %", "75 %"), source="common-practice",
        hint="Adiabatic power over shaft power; some 60 % for a small lobe blower, more for screw and turbo")
    motor_margin: Factor | None = field(
        "factor", None, title="Motor margin of the blower", symbol="m_m", possible=("1", "3"), usual=("1.05", "1.3"),
        source="api-610", hint="Rating over shaft power; if blank, by rating from the table")
    motor: W | None = field(
        "power", None, title="Blower motor rating (fixed)", symbol="P_r", possible=("0.1 kW", "1000 kW"),
        usual=("1 kW", "110 kW"),
        hint="Of one motor; if blank, the smallest of the list that carries the power with its margin")


def _wall(title: str) -> Any:
    return field("length.small", None, title=title, symbol="t", possible=("1 mm", "200 mm"), usual=("3 mm", "40 mm"),
                 hint="If blank, the thinnest standard plate, or the laminate, that is thick enough")


def _nozzle(title: str) -> Any:
    return field("length.small", None, title=title, symbol="d_n", possible=("10 mm", "2000 mm"),
                 usual=("40 mm", "600 mm"), hint="If blank, the smallest standard bore within the velocity")


class FilterVessel(Section):
    """Section ``[filter_vessel]``: plate, pressure, nozzles, place."""

    form: str = choice(
        _titles(FORMS),
        "vertical", title="Form of the vessel",
        hint="Vertical for small ones, horizontal where much area must stand in little room",
    )
    drum_length: M = field("length", "6 m", title="Straight length of a horizontal shell", symbol="L_s",
                           possible=("1 m", "30 m"), usual=("4 m", "15 m"), hint="Between the two heads")
    material: str = choice(table("vessel_plates").options(), "k02700", title="Plate",
                           hint="Strength and corrosion allowance come from its row of the table")
    design_pressure: GaugePa | None = field(
        "gauge pressure", None, title="Design pressure of the filters", symbol="P",
        possible=("0.5 barg", "40 barg"), usual=("4 barg", "10 barg"),
        hint="If blank, the class of their section: what the feed pump can raise, and surge")
    joint_efficiency: Fraction = field(
        "fraction", "85 %", title="Joint efficiency", symbol="E", possible=("45 %", "100 %"), usual=("70 %", "100 %"),
        source="asme-bpvc-viii-1", hint="By the radiography of the welds")
    corrosion_allowance: M = field(
        "length.small", "1.5 mm", title="Corrosion allowance", symbol="c", possible=("0 mm", "10 mm"),
        usual=("0 mm", "3 mm"), hint="A sound lining needs little; every lining ages")
    shell_allowance: M = field(
        "length", "0.45 m", title="Shell beyond media and freeboard", symbol="h_s", possible=("0 m", "3 m"),
        usual=("0.2 m", "0.8 m"), source="wi-nr-811", hint="For the underdrain and the collector")
    nozzle_velocity: MPerS = field(
        "velocity", "2.5 m/s", title="Velocity in nozzles", symbol="v_n", possible=("0.3 m/s", "6 m/s"),
        usual=("1.5 m/s", "3 m/s"), hint="Sizes inlets and outlets")
    shell_plate: M | None = _wall("Wall of the shell, fixed")
    head_plate: M | None = _wall("Wall of the heads, fixed")
    service_nozzle: M | None = _nozzle("Bore of the service nozzles, fixed")
    backwash_nozzle: M | None = _nozzle("Bore of the backwash nozzles, fixed")
    fittings_fraction: Fraction = field(
        "fraction", "20 %", title="Fittings and lining / shell and heads, mass", symbol="x_f",
        possible=("0 %", "100 %"), usual=("10 %", "35 %"), hint="Added to the mass of shell and heads")
    rows: Count = field("count", "2", title="Rows of filters in the battery", symbol="n_r", possible=("1", "10"),
                        usual=("1", "3"), scope="train", hint="Layout of the filter battery")
    gap: M = field("length", "0.8 m", title="Gap between vessels", symbol="g", possible=("0.2 m", "5 m"),
                   usual=("0.6 m", "1.5 m"), hint="Room to pass between two vessels")
    aisle: M = field("length", "1.8 m", title="Aisle of valves between rows", symbol="g_a", possible=("0.3 m", "10 m"),
                     usual=("1.2 m", "3 m"), hint="Access for valves and maintenance")


class Cartridge(Section):
    """Section ``[cartridge]``: cartridge filters of one train."""

    length: str = choice(table("cartridges").options(), "1000-mm", title="Cartridge",
                         hint="Nominal length of one cartridge")
    loading: M3PerS = field(
        "flow",
        "0.75 m3/h",
        title="Flow per 250 mm of cartridge",
        symbol="q_c",
        possible=("0.1 m3/h", "3 m3/h"),
        usual=("0.5 m3/h", "1.1 m3/h"),
        source="voutchkov-2013",
        scope="unit",
        hint="Aimed at with every housing in service; less lasts longer",
    )
    loading_limit: M3PerS = row_field(
        "guidelines",
        "cartridge-loading",
        title="Maximum flow per 250 mm, one out (N-1)",
        symbol="q_max",
        possible=("0.1 m3/h", "3 m3/h"),
        scope="unit",
        hint="Not to be exceeded while a housing is opened for a change",
    )
    housings: Count | None = field(
        "count",
        None,
        title="Housings on duty",
        symbol="n_h",
        possible=("1", "20"),
        usual=("1", "6"),
        scope="train",
        hint="In service together in one train; if blank, the smallest number that takes the cartridges",
    )
    housings_standby: Count = field(
        "count",
        "1",
        title="Standby housings",
        symbol="n_s",
        possible=("0", "10"),
        usual=("0", "2"),
        scope="train",
        hint="Installed standby units, so that cartridges are changed without a stop",
    )
    count: Count | None = field(
        "count",
        None,
        title="Cartridges in service per train (fixed)",
        symbol="n_c",
        possible=("1", "4000"),
        scope="train",
        hint="If blank, the smallest number within the loading",
        usual=("5", "600"),
    )
    clean_drop: DifferencePa = field(
        "pressure difference",
        "0.15 bar",
        title="Pressure drop, clean",
        symbol="Delta_p_c",
        possible=("0 bar", "1 bar"),
        usual=("0.05 bar", "0.2 bar"),
        source="voutchkov-2013",
        hint="Loss of new cartridges and their housing",
    )
    dirty_drop: DifferencePa = field(
        "pressure difference",
        "0.7 bar",
        title="Cartridge change-out pressure drop",
        symbol="Delta_p_d",
        possible=("0.05 bar", "3 bar"),
        usual=("0.5 bar", "1.2 bar"),
        source="voutchkov-2013",
        hint="Loss at which they are changed; the feed pump must overcome it",
    )
    rating: M = field(
        "length.micro", "5 um", title="Nominal filtration rating", symbol="d_c", possible=("0.5 um", "100 um"),
        usual=("1 um", "20 um"),
        hint="Particle size that is mostly retained",
    )
    capacity: Kg = field(
        "mass", "0.1 kg", title="Solids one length of 250 mm holds", symbol="m_c", possible=("0.005 kg", "2 kg"),
        usual=("0.05 kg", "0.3 kg"), source="from-memory", hint="By the manufacturer's test; slime fills it sooner",
    )
    change_longest: S = field(
        "time.day", "56 d", title="Maximum time between changes", symbol="t_c", possible=("1 d", "400 d"),
        usual=("30 d", "90 d"), source="voutchkov-2013", hint="Slime grows in them whatever the solids",
    )


class Fouling(Section):
    """Section ``[fouling]``: timed filtrations of the filtrate (ASTM D4189), and what is wanted."""

    first_time: S | None = field("time.second", None, title="First 500 mL", symbol="t_i", possible=("1 s", "600 s"),
                                 source="astm-d4189", hint="0.45 um, 47 mm, 207 kPa", usual=("10 s", "60 s"))
    last_time: S | None = field("time.second", None, title="Last 500 mL", symbol="t_f", possible=("1 s", "6000 s"),
                                source="astm-d4189", hint="Time of the last sample in the filtration test",
                                usual=("12 s", "120 s"))
    interval: S = field("time.minute", "15 min", title="Time between them", symbol="T", possible=("5 min", "15 min"),
                        source="astm-d4189", hint="From the first sample to the last", usual=("5 min", "15 min"))
    expected_sdi: FoulingIndex = field("fouling index", "3", title="Expected filtrate SDI15", symbol="SDI",
                                       possible=("0.1", "6.67"), usual=("1", "4"),
                                       hint="If no test is given; a pilot or the plant decides")
