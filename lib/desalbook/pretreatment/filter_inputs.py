"""What a design file says of the filters and their wash: section ``[filters]``."""

from __future__ import annotations

from typing import Annotated, Any

from desalbook.problems import DesignError
from desalbook.tables import table
from desalbook.units import (
    KINDS,
    Count,
    DifferencePa,
    Factor,
    FiltrationRate,
    Fraction,
    KgPerM2,
    M,
    M3PerS,
    S,
    ScourRate,
    Section,
    choice,
    field,
    sections,
    text_field,
)

__all__ = ["WASH_SOURCES", "FilterLayer", "Filters"]

WASH_SOURCES = {
    "raw": "Raw water",
    "filtrate": "Filtered water from a tank",
    "reject": "Reject from a tank behind the recovery device",
}


Turbidity = Annotated[float, KINDS["turbidity"]]


class FilterLayer(Section):
    """One layer, ``[[filters.layers]]``, written from the top down."""

    name: str = text_field(..., title="Name", max_length=40,
                           hint="Part of the names of its figures")  # type: ignore[arg-type]
    media: str = choice(table("media").options(), "sand", title="Media",
                        hint="Grain size, density and porosity come from its row of the table")
    depth: M = field(
        "length", "0.5 m", title="Depth", symbol="L", possible=("0.05 m", "3 m"), usual=("0.07 m", "1.8 m"),
        hint="Settled depth of the layer",
    )


def _rate(default: str, title: str, hint: str = "") -> Any:
    return field(
        "filtration rate",
        default,
        title=title,
        symbol="v_max",
        possible=("2 m/h", "60 m/h"),
        usual=("6 m/h", "30 m/h"),
        source="voutchkov-2017",
        hint=hint,
    )


def _minutes(default: str, title: str, symbol: str, usual: tuple[str, str], hint: str = "") -> Any:
    return field(
        "time.minute", default, title=title, symbol=symbol, possible=("0 min", "120 min"), usual=usual,
        hint=hint,
    )


class Filters(Section):
    """Section ``[filters]``: the battery of pressure filters of one train."""

    present: str = choice({"yes": "Filters", "no": "No filters"}, "yes", title="Media filters",
                          hint="Whether there are media filters at all")
    reason: str = text_field("", title="Why there are no filters", hint="Said on the sheet where they are left out")
    count: Count | None = field(
        "count", None, title="Filters of one train, held", symbol="n_f", possible=("3", "60"), scope="train",
        hint="Filters side by side in one train; left out, the kit picks count and diameter together",
        usual=("3", "24"),
    )
    count_minimum: Count = field(
        "count",
        "4",
        title="Least number of filters",
        symbol="n_min",
        possible=("3", "60"),
        usual=("3", "16"),
        scope="train",
        hint="So that the others can carry the flow while one is washed",
    )
    diameter: M | None = field(
        "length",
        None,
        title="Diameter, held",
        symbol="D",
        possible=("0.3 m", "6 m"),
        usual=("0.6 m", "3.6 m"),
        hint="Inside, of one filter; left out, the kit picks count and diameter together",
    )
    diameter_largest: M = field(
        "length",
        "2.5 m",
        title="Largest diameter to pick",
        symbol="D_max",
        possible=("0.6 m", "6 m"),
        usual=("1 m", "3.6 m"),
        hint="What can be carried",
    )
    rate_limit: FiltrationRate = _rate("12 m/h", "Rate limit, all in service",
        hint="Flow over area with every filter in service; faster, and solids break through")
    rate_limit_washing: FiltrationRate = _rate("15 m/h", "Rate limit, one washing",
        hint="The same while one filter is washed and the others carry its flow")
    rate_limit_outage: FiltrationRate = _rate("25 m/h", "Rate limit, one washing and one down",
                                              hint="The same with one washed and another out of service")
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
    depth_over_size_least: Factor = field(
        "factor",
        "1000",
        title="Least sum of depth over effective size",
        symbol="r_min",
        possible=("100", "5000"),
        usual=("800", "1500"),
        source="kawamura-2000",
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
        title="Pressure drop at which a filter is washed",
        symbol="Delta_p_w",
        possible=("0.05 bar", "5 bar"),
        usual=("0.4 bar", "1 bar"),
        hint="Loss of bed and solids at which a wash begins; the feed pump must overcome it",
    )
    run_length: S = field(
        "time",
        "24 h",
        title="Time from wash to wash of one filter",
        symbol="t_run",
        possible=("2 h", "240 h"),
        usual=("12 h", "72 h"),
        scope="unit",
        hint="Service between two washes of the same filter",
    )
    wash_source: str = choice(WASH_SOURCES, "raw", title="Wash water",
                              hint="Raw water needs no tank; filtrate and reject are cleaner or denser")
    wash_target: str = choice(
        {"fluidisation": "A multiple of least fluidisation", "expansion": "An expansion"},
        "fluidisation",
        title="What the wash rate aims at",
        hint="In the hottest water, where the bed expands least",
    )
    fluidisation_factor: Factor = field(
        "factor",
        "1.3",
        title="Wash rate over least fluidisation",
        symbol="m_f",
        possible=("1", "3"),
        usual=("1.1", "1.5"),
        source="hendricks",
        hint="How far the wash goes beyond the rate at which grains just float",
    )
    wash_expansion: Fraction = field(
        "fraction",
        "25 %",
        title="Expansion aimed at",
        symbol="e_w",
        possible=("1 %", "100 %"),
        usual=("15 %", "40 %"),
        hint="By how much the bed grows in the wash",
    )
    expansion_least: Fraction = field(
        "fraction",
        "5 %",
        title="Least expansion of the bed in the hottest water",
        symbol="e_min",
        possible=("0 %", "100 %"),
        usual=("5 %", "30 %"),
        hint="Of the whole bed; with air scour little is enough",
    )
    backwash_rate: FiltrationRate | None = field(
        "filtration rate",
        None,
        title="Wash rate, held",
        symbol="v_b",
        possible=("5 m/h", "120 m/h"),
        usual=("30 m/h", "60 m/h"),
        hint="Upward flow over area; left out, the kit computes it from the media",
    )
    backwash_flow: M3PerS | None = field(
        "flow", None, title="Wash flow, held", symbol="Q_b", possible=("1 m3/h", "3000 m3/h"), scope="unit",
        hint="Of one wash; left out, rate times area",
        usual=("50 m3/h", "800 m3/h"),
    )
    freeboard: M = field(
        "length",
        "0.6 m",
        title="From the media to the wash collector",
        symbol="h_fb",
        possible=("0.05 m", "3 m"),
        usual=("0.45 m", "1.2 m"),
        source="wi-nr-811",
        hint="Room for the bed to expand before grains are lost",
    )
    underdrain_drop: DifferencePa = field(
        "pressure difference",
        "0.4 bar",
        title="Underdrain, nozzles and valves at the wash flow",
        symbol="Delta_p_u",
        possible=("0 bar", "3 bar"),
        usual=("0.15 bar", "0.8 bar"),
        hint="Spreads the wash evenly; the wash pump overcomes it",
    )
    scour: str = choice(
        {"air": "Air, then water", "air-with-water": "Air with some water, then water", "none": "Water alone"},
        "air",
        title="Air scour",
        hint="Deep beds want air; beds of less than some 0.75 m are churned by it",
    )
    orifice_share: Fraction = field(
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
    solids_share: Fraction = field(
        "fraction",
        "30 %",
        title="Usual suspended solids over the worst",
        symbol="x_u",
        possible=("0 %", "100 %"),
        usual=("10 %", "60 %"),
        hint="The run is judged with usual water; the worst is reported",
    )
    solids_removal: Fraction = field(
        "fraction",
        "95 %",
        title="Solids held back",
        symbol="x_r",
        possible=("10 %", "100 %"),
        usual=("85 %", "99 %"),
        hint="Share of suspended solids that stays in the bed",
    )
    load_per_metre: KgPerM2 = field(
        "area load",
        "0.55 kg/m2",
        title="Solids that raise the loss by one metre",
        symbol="w_1",
        possible=("0.05 kg/m2", "10 kg/m2"),
        usual=("0.2 kg/m2", "2 kg/m2"),
        source="from-memory",
        hint="Found on the plant's own water; flocs fill a bed sooner than silt",
    )
    filtrate_turbidity: Turbidity = field(
        "turbidity",
        "0.1 NTU",
        title="Turbidity wanted in the filtrate",
        symbol="Tu_f",
        possible=("0.01 NTU", "5 NTU"),
        usual=("0.05 NTU", "0.5 NTU"),
        hint="What the filters must give; compared with what they are expected to",
    )
    turbidity_removal: Fraction = field(
        "fraction",
        "99 %",
        title="Turbidity held back",
        symbol="x_Tu",
        possible=("10 %", "99.99 %"),
        usual=("95 %", "99.5 %"),
        hint="With a coagulant; without, 90 % is much",
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
                             hint="First step of a wash: water is let down")
    scour_time: S = _minutes("4 min", "Air scour", "t_2", ("2 min", "8 min"),
                             hint="Step of a wash in which air loosens the solids")
    wash_time: S = _minutes("12 min", "Wash", "t_3", ("8 min", "20 min"),
                            hint="Step of a wash in which water lifts the solids out")
    settle_time: S = _minutes("2 min", "Settle", "t_4", ("1 min", "5 min"),
                              hint="Step of a wash in which the layers sort themselves")
    rinse_time: S = _minutes("10 min", "Rinse to waste", "t_5", ("5 min", "30 min"),
                             hint="Step of a wash in which the first filtrate goes to waste")
    return_time: S = _minutes("1 min", "Valves back to service", "t_6", ("0.5 min", "3 min"),
                              hint="Step of a wash in which valves go back to service")
    washes_together: Count = field(
        "count",
        "1",
        title="Filters of one train that may wash together",
        symbol="n_w1",
        possible=("1", "8"),
        usual=("1", "2"),
        scope="train",
        hint="One, unless the wash pump, the waste line and the battery were laid out for more",
    )
    trains_together: str = choice(
        {"no": "One train at a time", "yes": "Trains wash at the same time"}, "no", title="Trains that wash",
        hint="Whether two trains may wash at once; that doubles waste and wash water",
    )
    wash_pattern: str = choice(
        {"spread": "Spread evenly over the run", "row": "In a row, one turn right after another"},
        "spread",
        title="Washes over the run",
        hint="In a row is usual where people start them; the tanks then bridge the whole row",
    )

    def consistent(self, where: str) -> None:
        """Rate and flow of the wash are one figure; a bed needs a layer that filters."""
        at = f"{where}." if where else ""
        if self.backwash_rate is not None and self.backwash_flow is not None:
            raise DesignError(
                "excludes backwash_rate", where=f"{at}backwash_flow", do="leave one of the two out"
            )
        media = table("media")
        if not any(media[layer.media]["role"].value == "filter" for layer in self.layers):
            raise DesignError(
                "no layer filters", where=f"{at}layers", do="add a layer of anthracite, sand or garnet"
            )
