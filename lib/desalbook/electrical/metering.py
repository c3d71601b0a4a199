"""Energy meters: which circuits have one, their current transformers, and how well they prove the specific energy.

One meter at each incomer proves the guarantee; panels and consumers with a stated share of the energy have their own.
The utility's own meter at the point of supply is not counted. Errors are those of the classes near power factor one and
above a fifth of the rated current; harmonics, wiring and the time between readings are neglected. A current
transformer is never opened under load: its voltage kills. Metering for payment follows the law of the place.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from desalbook.electrical.circuits import standard_row
from desalbook.electrical.installation import Installation
from desalbook.electrical.load_list import three_phase_current
from desalbook.hydraulics.rows import least_row, row_line
from desalbook.tables import table
from desalbook.trail import Column, Figure, assumed, checked, dot, note, picked, relation, scope
from desalbook.trail.inputs import Inputs
from desalbook.trail.limits import limit
from desalbook.trail.words import low_first
from desalbook.units import VA, Ampere, Count, Fraction, J, JPerM3, M3PerS, Voltage, show

__all__ = [
    "INCOMERS",
    "Meter",
    "Metering",
    "energy_fraction",
    "flow_meter_error",
    "judge_metering",
    "meter_loading",
    "metered_energy",
    "metering",
    "specific_energy_error",
    "specific_energy_uncertainty",
]

INCOMERS = {"incomer": "Low-voltage incomer", "medium_incomer": "Medium-voltage incomer"}
"""Meters that together see all energy of the plant, by key."""
_FIRST = 11  # number of the first tag in area 7, beyond panels and transformers


@relation("Fraction of the energy, by consumer", symbol="x_E", unit="1", source="definition")
def energy_fraction(energy: J, year_energy: J) -> Fraction:
    """Share of a consumer in the energy of the plant: its energy of a year over that of all.

    Losses of transformers and cables are in the whole alone.
    """
    return energy / year_energy


@relation("Fraction of the energy on a meter", symbol="x_m", unit="1", source="definition")
def metered_energy(energy_fraction: Fraction, circuits_counted: Count) -> Fraction:
    """Share of several consumers together: sum of the shares that are counted.

    A consumer counts once, whatever number of meters its energy passes.
    """
    return dot(energy_fraction, circuits_counted)


@relation("Current at a meter / rated current", symbol="x_i", unit="1", source="definition")
def meter_loading(apparent_power: VA, voltage: Voltage, units_in_service: Count, primary_current: Ampere) -> Fraction:
    """Current at an energy meter over the rated current of its current transformers.

    Balanced, shared evenly by the incomers; below a fifth the class of the transformers holds no more.
    """
    return apparent_power / (3**0.5 * voltage * units_in_service * primary_current)


@relation("Error of a flow meter, of the reading", symbol="e_Q", unit="1", source="definition")
def flow_meter_error(accuracy: Fraction, flow_range: M3PerS, flow: M3PerS) -> Fraction:
    """Limit of error of a flow meter at what it reads: its accuracy is of the range, and grows at a low reading.

    Straight runs of pipe and a full pipe, as the manufacturer asks.
    """
    return accuracy * flow_range / flow


@relation("Uncertainty of the specific energy", symbol="U_E", unit="1", source="jcgm-100",
          note="limits of error as rectangular distributions; coverage factor two, some 95 %")
def specific_energy_uncertainty(meter_class: Fraction, transformer_class: Fraction, voltage_class: Fraction,
                                flow_error: Fraction) -> Fraction:
    """Expanded relative uncertainty of a measured specific energy, from the classes of what measures it.

    Independent errors of meter, current and voltage transformers and flow meter; nothing of how steady the plant is.
    """
    return 2 * ((meter_class**2 + transformer_class**2 + voltage_class**2 + flow_error**2) / 3) ** 0.5


@relation("Uncertainty of the specific energy, absolute", symbol="U_E", unit="J/m^3", source="definition")
def specific_energy_error(plant_specific_energy: JPerM3, uncertainty: Fraction) -> JPerM3:
    """Uncertainty of a measured specific energy as energy per volume: the relative one times the specific energy.

    To either side of what is read.
    """
    return plant_specific_energy * uncertainty


@dataclass(frozen=True)
class Meter:
    """Energy meters of one kind of circuit, SI.

    Parameters
    ----------
    key, title : str
    number : float
        How many the plant has.
    share : Figure or None
        Of the plant's energy that passes them; None for an incomer.
    current : Figure
        What their current transformers are chosen for.
    primary : Figure
        Rated primary current.
    row : str
        Row of the table ``energy_meters``.
    medium : bool
        On medium voltage, with voltage transformers.
    per_train : bool
        Whether each train has its own.
    place : int
        Place of its circuit among incomers, panels and loads, for its tag.
    """

    key: str
    title: str
    number: float
    share: Figure | None
    current: Figure
    primary: Figure
    row: str
    medium: bool = False
    per_train: bool = False
    place: int = 0

    @property
    def tag(self) -> str:
        """Letters and number, such as ``JQI-711``."""
        return f"JQI-7{_FIRST + self.place}"

    @property
    def revenue(self) -> bool:
        """Whether it stands at an incomer."""
        return self.key in INCOMERS

    def listed(self) -> dict[str, Any]:
        """A row of the list of meters: SI, and the ids of its lines."""
        row = table("energy_meters").row(self.row, "power")
        figures = {"share": self.share, "current": self.current, "primary": self.primary}
        classes = ["meter_class", "transformer_class", *(["voltage_class"] if self.medium else [])]
        return {"key": self.key, "tag": self.tag, "title": self.title, "count": int(self.number), "class": row.title,
                "duty": "Guarantee" if self.revenue else "Submeter", "id": self.primary.id,
                **dict.fromkeys(("meter_class", "transformer_class", "voltage_class")),
                **{name: row[name].value for name in classes},
                **{name: None if f is None else float(f) for name, f in figures.items()},
                "ids": {name: f.id if f.key is None else [f.id, f.key] for name, f in figures.items()
                        if f is not None}}


@dataclass(frozen=True)
class Metering:
    """Energy meters of a plant.

    Parameters
    ----------
    meters : list of Meter
        Incomers first, then panels, then consumers.
    units : Column
        How many the plant has, by meter.
    covered : Figure
        Fraction of the energy that passes a meter of its consumer.
    """

    meters: list[Meter]
    units: Column
    covered: Figure
    rows: list[dict[str, Any]] = field(default_factory=list)


def metering(inp: Inputs, supplied: Installation, shares: Column, trains: Figure) -> Metering:
    """Choose the circuits with an energy meter, and the current transformers of each.

    Where current transformers are fixed, the circuits that they name have a meter and no other.

    Parameters
    ----------
    inp : Inputs
    supplied : Installation
    shares : Column
        Fraction of the energy of a year, by load; zero for a load that the year does not know by itself.
    trains : Figure
    """
    with scope("plant"):
        least = inp.number("power.metered_fraction")
        loads, circuits = supplied.loads.loads, supplied.circuits | (
            {} if supplied.medium is None else supplied.medium.circuits)
        found: dict[str, tuple[str, float, Figure | None, Figure, bool]] = {}
        _incomers(supplied, found)
        fixed = {k: held for k in (*INCOMERS, *supplied.feeders, *loads)
                 if (held := inp.optional(f"power.meter_primary[{k}]")) is not None}
        for panel, feeder in supplied.feeders.items():
            counted = picked(f"power.metered_panel[{panel}]", [float(x.panel == panel) * supplied.loads.low[k].value
                                                               for k, x in loads.items()], "count", symbol="b_m",
                             title=f"Loads of a metered panel: {low_first(feeder.title)}", rule="what the panel feeds",
                             candidates=[{"key": k, "value": float(x.panel == panel), "won": True}
                                         for k, x in loads.items()],
                             inputs={"low": supplied.loads.low}, axis="load", keys=tuple(loads))
            part = metered_energy.at(f"power.metered_share[{panel}]", energy_fraction=shares, circuits_counted=counted,
                                     title=f"Fraction of the energy: {low_first(feeder.title)}")
            if panel in fixed if fixed else float(part) >= float(least):
                found[panel] = (feeder.title, float(trains) if panel == "train" else 1.0, part, feeder.current, False)
        own = {k: k in fixed if fixed else float(shares[k]) >= float(least) for k in loads}
        metered = picked("power.metered", [float(x) for x in own.values()], "count", symbol="b_m",
                         title="Loads with an energy meter (1) or none (0)", rule=(
                             "the current transformers that are fixed (power.meter_primary)" if fixed else
                             "fraction of the energy at or above the one from which a meter is asked for"),
                         candidates=[{"key": k, "value": float(shares[k]), "won": x} for k, x in own.items()],
                         inputs={"share": shares, "least": least, **{f"fixed_{k}": x for k, x in fixed.items()}},
                         axis="load", keys=tuple(own))
        covered = metered_energy.at("power.metered_covered", energy_fraction=shares, circuits_counted=metered,
                                    title="Fraction of the energy by consumer meters")
        for key in (k for k, x in own.items() if x):
            load = loads[key]
            each = float(load.running) + float(load.spare)
            number = each * (float(trains) if load.panel == "train" else 1.0)
            found[key] = (load.title, number, shares[key], circuits[key].current, not supplied.loads.low[key].value)
        return _made(inp, supplied, found, fixed, trains, covered)


def _incomers(supplied: Installation, found: dict[str, tuple[str, float, Figure | None, Figure, bool]]) -> None:
    """Incomers at the secondary side of the transformers, each for the rated current of one."""
    medium = supplied.medium
    sides = [("incomer", supplied.transformer, supplied.voltage, supplied.transformers)]
    if medium is not None:
        sides.append(("medium_incomer", medium.transformer, medium.voltage, medium.transformers))
    for key, rating, voltage, number in sides:
        current = three_phase_current.at(f"power.meter_current[{key}]", apparent_power=rating, voltage=voltage,
                                         title=f"Rated current: {low_first(INCOMERS[key])}")
        found[key] = (INCOMERS[key], float(number), None, current, key == "medium_incomer")


def _made(inp: Inputs, supplied: Installation,
          found: Mapping[str, tuple[str, float, Figure | None, Figure, bool]], fixed: Mapping[str, Figure],
          trains: Figure, covered: Figure) -> Metering:
    """Current transformers of each circuit, the number of meters, and how far the first incomer is used."""
    made, loads = [], supplied.loads.loads
    places = (*INCOMERS, *supplied.feeders, *loads)
    kinds = {True: inp.choice("power.incomer_meter"), False: inp.choice("power.submeter")}
    for key, (title, number, share, current, medium) in found.items():
        primary = _primary(fixed.get(key), key, title, current)
        panel = loads[key].panel if key in loads else key
        made.append(Meter(key, title, number, share, current, primary, str(kinds[key in INCOMERS]), medium,
                          panel == "train", places.index(key)))
    counts: dict[str, Figure] = {f"{n}_{k}": f for k in found if k in loads
                                 for n, f in (("running", loads[k].running), ("spare", loads[k].spare))
                                 if isinstance(f, Figure)}
    units = picked("power.meters", [x.number for x in made], "count", title="Energy meters", symbol="n_m",
                   rule="one at each incomer, panel and unit that is metered",
                   candidates=[{"key": x.key, "value": x.number, "won": True} for x in made],
                   inputs={"trains": trains, "transformers": supplied.transformers, **counts}, axis="meter",
                   keys=tuple(x.key for x in made))
    loading = meter_loading.at("power.meter_loading", apparent_power=supplied.loads.case_apparent["one_train"],
                               voltage=supplied.voltage, units_in_service=supplied.transformers,
                               primary_current=made[0].primary, title="Current at the incomer meter, one train")
    low = limit("meter-loading")
    wide = float(loading) < float(low)
    note("power.meter_loading.check", title="Current at the incomer meter", verdict="review" if wide else "passes",
         why=f"with one train the meter carries {show(float(loading), 'fraction', digits=2)} of its rated current, "
             f"{'below' if wide else 'above'} {show(float(low), 'fraction', digits=2)}: its error "
             f"{'may exceed its class then' if wide else 'stays within its class'}",
         do="prove the energy with all trains running, take a better class (power.incomer_meter), or a smaller "
            "transformer (power.transformer)",
         inputs={"provided": loading, "limit": low},
         caution="a current transformer that is opened under load gives a voltage that kills")
    return Metering(made, units, covered, [x.listed() for x in made])


def _primary(held: Figure | None, key: str, title: str, current: Figure) -> Figure:
    """Primary current of a circuit's current transformers: as it is fixed, or the smallest standard one."""
    id, name = f"power.meter_primary[{key}]", f"Current transformer: {low_first(title)}"
    if held is None:
        return least_row(id, "current_transformers", "primary", current, title=name,
                         rule="smallest standard primary current not below the current of the circuit",
                         do="divide the supply among more transformers (power.transformers)")[0]
    standard_row(table("current_transformers").ascending("primary"), "primary", held)
    checked(f"{id}.check", held, ">=", current, title=name, do=f"raise {id}, or clear it",
            caution="a current transformer that is opened under load gives a voltage that kills")
    return held


def judge_metering(inp: Inputs, of: Metering, specific_energy: Figure, accuracy: Figure, flow_range: Figure,
                   flow: Figure, margin: Figure) -> Figure:
    """Judge whether what is measured can prove the guaranteed specific energy.

    Parameters
    ----------
    inp : Inputs
    of : Metering
    specific_energy : Figure
        Of the plant over a year, J/m3.
    accuracy, flow_range, flow : Figure
        Of the flow meter of the product: accuracy of its range, range and flow.
    margin : Figure
        Between the expected and the guaranteed specific energy, as a fraction.

    Returns
    -------
    Figure
        Expanded relative uncertainty.
    """
    chosen = inp.choice("power.incomer_meter")
    classes = {name: row_line(f"power.{name}", "energy_meters", str(chosen), name, because=[chosen])
               for name in ("meter_class", "transformer_class")}
    if any(x.medium and x.revenue for x in of.meters):
        classes["voltage_class"] = row_line("power.voltage_class", "energy_meters", str(chosen), "voltage_class",
                                            because=[chosen])
    else:
        classes["voltage_class"] = assumed(
            "power.voltage_class", 0.0, "fraction", title="Class of its voltage transformers", symbol="e_vt",
            source="definition", note="none: low voltage is measured directly")
    error = flow_meter_error.at("power.flow_error", accuracy=accuracy, flow_range=flow_range, flow=flow)
    doubt = specific_energy_uncertainty.at("power.measured_uncertainty", flow_error=error, **classes)
    specific_energy_error.at("power.measured_error", plant_specific_energy=specific_energy, uncertainty=doubt)
    checked("power.measured_uncertainty.check", doubt, "<=", margin, title="Energy meters against the guarantee",
            do="choose a better class (power.incomer_meter), a flow meter with a smaller range, or a wider margin "
               "(guarantees.energy)")
    return doubt
