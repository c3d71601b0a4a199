"""The public functions: read a design, size it, look at the plant, write it back."""

from __future__ import annotations

import contextlib
import contextvars
import difflib
import os
from collections.abc import Iterable, Mapping
from concurrent.futures import CancelledError
from functools import cache, cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from desalbook.calculated import CHECKS, FIGURES, Calculated
from desalbook.export import Trail
from desalbook.guidelines import changed_limits
from desalbook.problems import EXPLAINERS, DesignError
from desalbook.trail import record as _record
from desalbook.trail.cancellation import Cancelled, telling, until
from desalbook.trail.ledger import Ledger, Values, moving
from desalbook.units.quantities import to_si

if TYPE_CHECKING:
    import pandas as pd

    from desalbook.plots import Plots

__all__ = ["CHECKS", "FIGURES", "Fabrication", "Plant", "Trail", "add_sheets", "blank_sheet", "hold", "rate",
           "read", "size", "sweep", "write"]

_HEAD = ("name", "client", "revision", "made_by", "checked_by", "date", "note")


@cache
def _standard() -> Plant:
    """The plant of a design that says nothing but what it must."""
    from desalbook import plant
    from desalbook.design import from_text

    return Plant(plant.size(from_text('format = 1\n[duty]\ntrain_product_flow = "1000 m3/d"\n[water]\n'
                                      'sea_salinity = "35 g/kg"\n[membrane]\nrecovery = "42 %"\n')))


_TYPO = 0.85  # likeness from which an unknown key is taken for a slip of the hand


def _set_by(key: str) -> str:
    """Which keys set a value that somebody took for a key; empty where it is no value of a plant either."""
    from desalbook.design import SECTIONS
    from desalbook.units import metas

    section, _, name = key.partition(".")
    if section not in SECTIONS or difflib.get_close_matches(name, metas(SECTIONS[section]), 1, _TYPO):
        return ""
    try:
        keys = _standard().set_by(key)
    except DesignError:
        return ""
    return f"it is calculated; to change it set {' or '.join([', '.join(keys[:-1]), keys[-1]] if keys[1:] else keys)}" \
        if keys else ""


EXPLAINERS.insert(0, _set_by)  # a value of that very name says more than a section that has such a key

def read(path: str | os.PathLike | Mapping[str, Any]) -> Any:
    """A design from its file, its text, or a dictionary.

    Parameters
    ----------
    path : path of a TOML design file, text of one, or mapping
        A text has a line break or an equals sign. A mapping holds sections of keys, ``{"duty":
        {"train_product_flow": "2400 m3/d"}}``, or keys by id, ``{"duty.train_product_flow": ...}``; values are texts,
        Quantities, Figures, and bare numbers where there is no unit.

    Returns
    -------
    Design

    Raises
    ------
    DesignError
        One line: field, value, allowed range, what to do.
    """
    from desalbook import design

    if isinstance(path, Mapping):
        return design.from_mapping(path)
    if isinstance(path, str) and ("\n" in path or "=" in path):
        return design.from_text(path)
    return design.read(Path(path))


def write(design: Any, path: str | os.PathLike, expected: str | None = None) -> Any:
    """Write a design file; refused when the file changed since ``expected`` was its hash.

    Parameters
    ----------
    design : Design
    path : path
    expected : str, optional
        Hash of the text the file had when it was read.

    Raises
    ------
    Conflict
        The file holds another text; both are kept.
    """
    from desalbook import design as room

    return room.write(design, Path(path), expected=expected)


def add_sheets(design: Any, path: str | os.PathLike, *, replace: bool = False) -> Any:
    """A design with manufacturers' sheets of a CSV or spreadsheet file written into it, as the file states them.

    Parameters
    ----------
    design : Design or path
    path : path
        As `blank_sheet` writes it, filled in: one property a row, one sheet a column; of a list within a section,
        such as ``hp_pump.curve``, one entry a row.
    replace : bool
        Whether a sheet of the same name, or the list that is there, gives way.

    Returns
    -------
    Design
        Not written yet; see `write`.

    Raises
    ------
    DesignError
        One line that names the row of the file.
    """
    from desalbook.design.sheets import add_sheets as add

    if isinstance(design, (str, os.PathLike)):
        design = read(design)
    return add(design, Path(path), replace=replace)


def blank_sheet(of: str, path: str | os.PathLike, units: str = "si") -> Path:
    """Write an empty table for manufacturers' sheets, CSV or spreadsheet by the ending of its name.

    Parameters
    ----------
    of : str
        List of the design file, such as ``elements``, ``recovery_devices`` or ``hp_pump.curve``.
    path : path
        Ends in ``.csv`` or ``.xlsx``; a file that is there is left alone.
    units : {"si", "us"}
        Of the unit column.

    Raises
    ------
    DesignError
    """
    from desalbook.design.sheets import blank_sheet as blank

    return blank(of, Path(path), units)


def size(design: Any, *, progress: Any = None, cancel: Any = None) -> Plant:
    """Size the plant of a design: hardware picked by the governing case, rated in all cases.

    Parameters
    ----------
    design : Design, or what `read` takes
    progress : callable, optional
        Called by each search for vessels, before each batch of candidates, with what is searched for, how many
        candidates were tried, and how many may be tried at most.
    cancel : threading.Event, optional
        Ends the calculation, at its next step, when it is set.

    Returns
    -------
    Plant

    Raises
    ------
    DesignError, Infeasible, EngineError
        A failed check is no error; it stands in `Plant.checks`.
    concurrent.futures.CancelledError
        It was cancelled.
    """
    from desalbook import plant
    from desalbook.design import Design

    if not isinstance(design, Design):
        design = read(design)
    with contextlib.ExitStack() as asked:
        if progress is not None:
            asked.enter_context(telling(progress))
        if cancel is not None:
            asked.enter_context(until(cancel))
        try:
            return Plant(plant.size(design, recording=moving()))
        except Cancelled:
            if cancel is None or not cancel.is_set():
                raise  # by whoever called this, and for him to catch
            raise CancelledError("sizing was cancelled") from None


def rate(plant: Plant, *, temperature: Any = None, salinity: Any = None, age: Any = None, fouling: Any = None,
         recovery: Any = None, feed_pressure: Any = None, water_factor: Any = None, salt_factor: Any = None,
         water_activation: Any = None, control: str = "product-flow", executor: Any = None, chunk: int | None = None,
         results: str | os.PathLike[str] | None = None, progress: Any = None, cancel: Any = None) -> pd.DataFrame:
    """Rate membranes and pressure train over arrays of conditions, one row a case; see `plant.rate`.

    Parameters
    ----------
    temperature, salinity, age, fouling : text, Quantity, Figure, or a sequence of them, optional
        Salt per water; permeability left (1 when clean). If omitted: design, analysis, aged, with age.
    recovery, feed_pressure, water_factor, salt_factor, water_activation : as above, optional
        Gauge; factors on the permeabilities to water and solutes; energy per mole. If omitted: as sized. A bare number
        or array only where there is no unit; a column of an earlier result has its own.
    control : {"product-flow", "speed", "throttle", "pressure", "recovery"}
        Held: permeate and recovery, as the plant does it, by speed or a valve; pressure and feed, or permeate.
    executor : concurrent.futures.Executor, optional
        Shares the cases among its workers; any of `concurrent.futures`, or dask's
        ``client.get_executor(pure=False)``. The answers are the same to the last bit.
    chunk : int, optional
        Cases a worker takes at a time; rounded up to whole blocks of 1024.
    results : path, optional
        A ``.csv`` or ``.parquet`` file that grows while cases are rated. A run that was stopped goes on there.
    progress : bool or callable, optional
        True writes a line to the terminal; a function is called with the cases done and all there are.
    cancel : threading.Event, optional
        Once set, no more cases are begun, and the rows that are done are returned.

    Returns
    -------
    DataFrame
        Coherent SI, units in ``attrs["units"]``; call it, ``cases("us")``, for display units. Column ``id`` names the
        case, ``reason`` says why a case has no answer.

    Raises
    ------
    DesignError
        A control or condition that cannot be, a results file that cannot be written to.
    Conflict
        The results file is of another study.
    """
    from desalbook import frames
    from desalbook.plant.rating import CONDITIONS
    from desalbook.study import Rating, rated

    given = {"temperature": temperature, "salinity": salinity, "age": age, "fouling": fouling, "recovery": recovery,
             "feed_pressure": feed_pressure, "water_factor": water_factor, "salt_factor": salt_factor,
             "water_activation": water_activation}
    said = {name: None if value is None else to_si(value, CONDITIONS[name], name) for name, value in given.items()}
    found = rated(Rating(plant, control, **said), executor, chunk, results, progress, cancel)
    return frames.table(found, frames.kinds_of("rate", found.columns))


def sweep(design: Any, vary: str | Mapping[str, Any], *, follow: Iterable[str] | None = None, steps: int = 11,
          units: str = "si", executor: Any = None, chunk: int = 1, results: str | os.PathLike[str] | None = None,
          progress: Any = None, cancel: Any = None) -> pd.DataFrame:
    """Size the plant anew over the values of one key, or of several; see `desalbook.study` for rows one at a time.

    Parameters
    ----------
    design : Design, or what `read` takes
        `hold` of a plant, to keep its hardware.
    vary : str, or mapping of key to values
        Texts with units, Quantities, Figures; bare numbers only where there is no unit; the usual range of a key in so
        many ``steps`` where no values are given.
    follow : iterable of str, optional
        Ids of figures; the headline figures if omitted.
    units : {"si", "us"}
    executor, results, progress, cancel : optional
        As for `rate`: workers of any executor, a table that grows on disk, how far it is, an event that stops it.
    chunk : int
        Plants a worker sizes at a time.

    Returns
    -------
    DataFrame
        One row a case: ``id``, keys and figures with their units, checks that fail or are marginal, the worst of them;
        ``problem`` says why a case has no plant.
    """
    from desalbook import design as room
    from desalbook.study import HEADLINES, Sweep, swept

    if not isinstance(design, room.Design):
        design = read(design)
    keys = {vary: None} if isinstance(vary, str) else vary
    texts = {key: None if values is None else room.texts_of(design, key, values) for key, values in keys.items()}
    study = Sweep(design, texts, HEADLINES if follow is None else follow, steps)
    return swept(study, units, executor, chunk, results, progress, cancel)


def hold(plant: Plant) -> Any:
    """The design with all hardware of the plant written into it, so that it stays where the conditions move.

    Returns
    -------
    Design
        Figures that are no keys of a design file are passed over.
    """
    from desalbook import design
    from desalbook.plant.hardware import chosen_hardware

    return design.hold(plant.design, chosen_hardware(plant.sized))


class Plant(Calculated):
    """A sized plant: figures by id, tables, and the trail.

    Values, picks, checks and tables are at hand; the record of how each value was made is made when it is first
    asked for, by the same functions, and its values are the same to the last bit.

    Parameters
    ----------
    sized : Sized
        What the walk through the plant made: values or ledger, design, streams, equipment, stops.
    """

    def __init__(self, sized: Any):
        super().__init__(sized.ledger)
        self._sized = sized

    def __reduce__(self) -> tuple[Any, ...]:
        """By the text of its design and its hardware: small, and good for another process or another day."""
        from desalbook.plant.hardware import chosen_hardware

        return _sized_again, (self.design, chosen_hardware(self.sized))

    def __copy__(self) -> Plant:
        return Plant(self._sized)  # nothing of a sized plant can be written to

    def __deepcopy__(self, memo: Any) -> Plant:
        return Plant(self._sized)

    def _recorded(self) -> Ledger:
        from desalbook import plant

        # in a context of its own: what happens to be open where it is asked for is no part of this plant
        made = contextvars.Context().run(plant.size, self.design).ledger
        assert isinstance(made, Ledger)
        return made

    _noun = "plant"

    def __repr__(self) -> str:
        return f"<Plant {self.project.get('name', '')}: {len(self.ids)} values>"

    def _repr_html_(self) -> str:
        from desalbook.display import plant_html

        return plant_html(self)

    @property
    def plot(self) -> Plots:
        """Plots of the plant as matplotlib figures: ``plant.plot.pump_curve()``, ``.vessel_profile()``, ``.energy()``.

        Needs matplotlib, which the extra ``lab`` brings.
        """
        from desalbook.plots import Plots

        return Plots(self)

    @property
    def sized(self) -> Any:
        """What the walk through the plant made; for pictures and for rating."""
        return self._sized

    @property
    def design(self) -> Any:
        """The design it was sized from."""
        return self._sized.design

    @property
    def project(self) -> dict[str, str]:
        """Head of the sheet: name, revision, made by, checked by, ... as far as written."""
        return head(self.design)

    @property
    def stops(self) -> Mapping[str, Any]:
        """The course of the water, for the picture."""
        return self._sized.stops

    @cached_property
    def trail(self) -> Trail:
        """The calculation trail and what can be made of it."""
        return Trail(lambda: self.record, lambda: self._responses, self._tried)

    def _tried(self) -> dict[str, Any]:
        """Alarm load for page and workbook; none for a plant without a controller."""
        if not hasattr(self._sized.control, "instruments"):
            return {}
        return {"alarm_load": self._alarm_load}

    @cached_property
    def _alarm_load(self) -> list[dict[str, Any]]:
        from desalbook.plant.cause_effect import alarm_load_rows

        return alarm_load_rows(self._sized)

    @cached_property
    def _responses(self) -> list[Any]:
        """How roots and engines' answers follow the main inputs, by some sixteen plants."""
        from desalbook.study import responses

        return responses(self.record, self.design, hold(self), size)

    @cached_property
    def record(self) -> dict[str, Any]:
        """The record: plain data, the same for the same design."""
        tables = {"streams": self._sized.streams, "equipment": self._weighed(),
                  "valves": getattr(self._sized, "valves", ()),
                  "energy": self._sized.energy.rows(),
                  "chemicals": _filled(getattr(self._sized, "chemicals", ())), "loads": self._sized.power.rows,
                  "meters": self._meters(),
                  "instruments": self._sized.control.rows(), **self._programme(), "costs": self._sized.cost.rows,
                  "guarantees": [row | {"ids": {"guaranteed": row["id"], "expected": row["expected_id"],
                                                "margin": row["margin_id"]}} for row in self._sized.guarantees]}
        own = [x._asdict() for x in changed_limits(self.design.sections["limits"])]
        return _record.to_record(self.ledger, self.design.text, project=self.project,
                                 tables=tables | ({"limits": own} if own else {}), with_text=True)

    def _meters(self) -> list[dict[str, Any]]:
        of = getattr(self._sized, "metering", None)
        return [] if of is None else of.rows

    def _programme(self) -> dict[str, Any]:
        """Lists of the programme for the record: alarms, cause and effect, permissives."""
        from desalbook.plant.cause_effect import alarm_rows, cause_rows, permissive_rows

        if not hasattr(self._sized.control, "instruments"):  # a plant without a controller has no programme
            return {}
        return {"safety_devices": self._sized.control.safety, "alarms": alarm_rows(self._sized),
                "cause_effect": cause_rows(self._sized),
                "permissives": permissive_rows(self._sized)}

    def advice(self, id: str, units: str = "si") -> str:
        """Advice on a failing check with a number, found by sizing other plants: it takes a second or two.

        Parameters
        ----------
        id : str
            Id of the check.
        units : {"si", "us"}

        Returns
        -------
        str
            The smallest change of one key with which the check passes, and what fails then; empty where no value of
            a key that the check's own advice names lets it pass.
        """
        from desalbook.study import smallest_change

        book = self._book
        found = smallest_change(self.design, id, book if isinstance(book, Values) else None)
        return "" if found is None else found.words(units)

    @property
    def streams(self) -> pd.DataFrame:
        """Streams of the plant: one row each, coherent SI, gauge pressure, flow of one train."""
        return self._rows("streams", self._sized.streams)

    @property
    def backwash_schedule(self) -> pd.DataFrame:
        """One run of the filters minute by minute, coherent SI; empty where the plant has no filters.

        Columns: time, what raw tank and backwash tank are short of, each train's pump, feed and waste, and each
        filter's step and filtrate (trains are letters, filters numbers).
        """
        import pandas as pd

        from desalbook import frames
        from desalbook.pretreatment.backwash_timetable import columns, timetable

        wash = self._sized.pretreated.wash
        made = pd.DataFrame(columns(timetable(wash.schedule)) if wash is not None else {})
        return frames.table(made, frames.kinds_of("backwash_schedule", made.columns))

    @property
    def equipment(self) -> pd.DataFrame:
        """Equipment schedule, SI: tag, service, train or plant, duty and standby, duty point, size, material, rating.

        Instruments and valves among them, as rows of their own; ``supply`` says whether it comes with the package,
        ``cost`` where the estimate counts it; ``id`` leads into the trail; masses are those of one unit (`weights` says
        on what they rest).
        """
        return self._rows("equipment", self._weighed())

    def _weighed(self) -> list[dict[str, Any]]:
        """Rows of the schedule with the masses of one unit; as they are where no pipes were sized."""
        if not hasattr(self._sized, "pipes"):
            return list(self._sized.equipment)
        masses = {x["tag"]: {"mass_empty": x["mass_empty"], "mass_operating": x["mass_operating"]}
                  for x in self.fabrication.made.weights}
        return [{**row, **masses.get(row["tag"], {})} for row in self._sized.equipment]

    @cached_property
    def fabrication(self) -> Fabrication:
        """Weights, line list, skids and containers, made when first asked for; values by id, checks and a trail."""
        return Fabrication(self)

    @property
    def weights(self) -> pd.DataFrame:
        """What each row of the schedule weighs, SI: one and all, empty, in operation, full of water; spread, basis.

        Geometry for vessels and tanks, correlations within their range for equipment, or as given under
        ``fabrication.weights``; ``id`` leads into the trail of `fabrication`.
        """
        return self._rows("weights", self.fabrication.made.weights)

    @property
    def skids(self) -> pd.DataFrame:
        """Skids of the package, SI: size, mass, centre of gravity, lifting, container; a row a kind and part.

        Masses without elements and cartridges where empty, with them in operation; ``fits`` says whether it goes
        into the container the design names, ``sticks_out`` what does not.
        """
        return self._rows("skids", self.fabrication.made.skids)

    @property
    def skid_items(self) -> pd.DataFrame:
        """What stands on each skid, SI: where it begins, its box, masses; frame, cables and pipes at the end."""
        return self._rows("skid_items", self.fabrication.made.items)

    @property
    def arrangement(self) -> pd.DataFrame:
        """Skids, vessels, tanks and single items on the plan of the plant, SI: place, size, clear length at ends."""
        return self._rows("arrangement", [p.row() for p in self.fabrication.made.placed])

    @property
    def containers(self) -> pd.DataFrame:
        """Containers and loose goods, SI: contents, mass and payload, load of the floor, whether it fits."""
        return self._rows("containers", self.fabrication.made.containers)

    def data_sheets(self) -> list[Any]:
        """Data and enquiry sheets of every item of the schedule; see `desalbook.plant.data_sheets`.

        Returns
        -------
        list of DataSheet
            In the order of the schedule, two for a pump; ``sheet.table`` is a DataFrame, ``write_enquiry`` of
            `desalbook.plant.bids` writes one for a bidder.
        """
        return self.fabrication.data_sheets

    @property
    def line_list(self) -> pd.DataFrame:
        """Lines as they are bought, SI: number, ends, class, flanges, spacing of supports, mass empty and full.

        A row a run of pipe, one of each train; ``id`` leads into the trail of `fabrication`.
        """
        return self._rows("line_list", self.fabrication.made.lines)

    @property
    def valves(self) -> pd.DataFrame:
        """List of valves, SI: tag, function, run of pipe, size, class, position on failure and at rest.

        Relief valves with set pressure and flow stand at its end; ``id`` leads into the trail.
        """
        return self._rows("valves", self._sized.valves)

    @property
    def hand_valves(self) -> pd.DataFrame:
        """Hand valves, check valves and reducers, SI: tag, unit or line, run of pipe, size, class, position in service.

        By stated rules (`desalbook.plant.hand_valves`), made when asked for; a row a group of like ones.
        """
        from desalbook.plant.hand_valves import hand_valves

        return self._rows("hand_valves", [x.row for x in hand_valves(self._sized)])

    @property
    def lines(self) -> pd.DataFrame:
        """The line list: one row for each run of pipe, figures in coherent SI; ``id`` leads into the trail."""
        return self._rows("lines", self._sized.lines)

    @property
    def design_pressures(self) -> pd.DataFrame:
        """Sections of the plant with their credible and governing pressure, class, trip and relief; gauge, Pa."""
        return self._rows("design_pressures", self._sized.design_pressures)

    @property
    def outages(self) -> pd.DataFrame:
        """Single outages: the product left (fraction, m3/s) and the checks that fail; ``id`` leads into the trail."""
        return self._rows("outages", self._sized.outages)

    @property
    def energy(self) -> pd.DataFrame:
        """Energy of a year by consumer, SI: power of one unit while it runs, number, running time, energy, cost.

        The last row is what transformer and cables lose, so that the sums are ``energy.year`` and ``energy.bill_year``;
        ``basis`` says what decides power and running time, ``id`` leads into the trail.
        """
        return self._rows("energy", self._sized.energy.rows())

    @property
    def loads(self) -> pd.DataFrame:
        """Load list, SI: equipment running and standing by, rating, power, current, start, cable, device of each.

        ``id`` leads into the trail; ``voltage_level`` says where it is fed.
        """
        return self._rows("loads", self._sized.power.rows)

    @property
    def costs(self) -> pd.DataFrame:
        """Cost table: price and capital of each item (``spread`` is that of its curve), parts of the works, a year.

        In ``energy.currency``; ``yearly_cost`` and ``water_cost`` (of a cubic metre of net product) stand in the rows
        of group ``year``. ``id`` leads into the trail. A comparison of designs, not a quotation: `cost.capital_low`
        and `cost.capital_high` are its band.
        """
        return self._rows("costs", self._sized.cost.rows)

    @property
    def meters(self) -> pd.DataFrame:
        """Energy meters, SI: what each measures, its share of the energy, current transformers and classes.

        ``id`` leads into the trail; how well they prove the specific energy is ``power.measured_uncertainty``.
        """
        return self._rows("meters", self._meters())

    @property
    def instruments(self) -> pd.DataFrame:
        """List of instruments, SI: tag, range, alarm and trip on each side, priority, response; ``kind`` is the unit's.

        ``id`` leads into the trail. Final set points are those of commissioning.
        """
        return self._rows("instruments", self._sized.control.rows())

    @property
    def safety_devices(self) -> pd.DataFrame:
        """Hard-wired safety devices, SI: emergency stop, contactors, locks and switches with what they do.

        ``id`` leads to the set point they share. A risk assessment by people decides which are needed.
        """
        return self._rows("safety_devices", self._sized.control.safety)

    @property
    def sequences(self) -> pd.DataFrame:
        """Sequences of a train, a row a step: valves, equipment, what it waits for, times (s), where it goes."""
        from desalbook.controls.trial import steps_of

        return self._rows("sequences", steps_of(self._sized.control.train))

    @property
    def unit_sequences(self) -> pd.DataFrame:
        """Sequences beside those of a train, a row a step: backwash, CIP, shock, exchange, flush, power failure.

        Valves that are open and equipment that runs, what it waits for, times (s), where it goes; ``time`` is the id of
        the duration in the trail. Only what the plant has.
        """
        from desalbook.controls.unit_sequences import listed_steps
        from desalbook.plant.sequences import units_of

        return self._rows("unit_sequences", listed_steps(units_of(self._sized)))

    @property
    def cause_effect(self) -> pd.DataFrame:
        """Table of cause and effect, a row a cause, a column a valve or unit by its tag.

        S stops, C shuts, O opens, R starts, as the sequences have it; SI set points with their kind; ``id`` leads into
        the trail.
        """
        from desalbook.plant.cause_effect import cause_rows

        return self._rows("cause_effect", cause_rows(self._sized))

    @property
    def permissives(self) -> pd.DataFrame:
        """What must be true before a train, a pump or a sequence may start."""
        from desalbook.plant.cause_effect import permissive_rows

        return self._rows("permissives", permissive_rows(self._sized))

    @property
    def alarms(self) -> pd.DataFrame:
        """Alarm list, SI: set point, delay, priority, consequence, response, time to respond, what it stops.

        ``id`` leads into the trail. Final alarms are those of commissioning.
        """
        from desalbook.plant.cause_effect import alarm_rows

        return self._rows("alarms", alarm_rows(self._sized))

    @property
    def alarm_load(self) -> pd.DataFrame:
        """Alarms in the ten minutes from a start and from faults that stop a train, by the trial of the sequences.

        ``plain`` as they come, ``suppressed`` with alarms that wait for their equipment to run; more than ten in ten
        minutes are a flood.
        """
        return self._rows("alarm_load", self._alarm_load)

    def trial(self, pairs: bool = False, sequence: str = "train") -> pd.DataFrame:
        """Try the sequences under faults, and say what breaks what must never happen.

        Parameters
        ----------
        pairs : bool
            Every pair of faults at some steps (start, service, stop, flush of a train; the main steps of the others)
            instead of every single fault at every step.
        sequence : str
            ``train``, or one that the plant has beside it: backwash, cip, shock, exchange, flush, power.

        Returns
        -------
        DataFrame
            A row a property: cases tried, cases that break it, the soonest after its fault (s), and its course.
            A trial does not replace a hazard study by people.

        Raises
        ------
        DesignError
            The plant has no such sequence.
        """
        from desalbook.controls.trial import PAIRS_AT, cases, summary, trial

        if sequence != "train":
            from desalbook.controls.unit_trial import unit_summary
            from desalbook.plant.sequences import units_of

            return self._rows("trial", unit_summary(units_of(self._sized), sequence, pairs))
        of = self._sized.control.train
        return self._rows("trial", summary(of, trial(of, None, cases(PAIRS_AT, pairs=True) if pairs else None)))

    @property
    def signals(self) -> pd.DataFrame:
        """Signals of the controller by what brings them: digital and analogue, inputs and outputs, of one of each."""
        return self._rows("signals", self._sized.control.signals.rows)

    @property
    def guarantees(self) -> pd.DataFrame:
        """Guaranteed and expected figures of a contract: margin, case and measuring standard; SI."""
        return self._rows("guarantees", self._sized.guarantees)

    @property
    def curves(self) -> pd.DataFrame:
        """Head of system and pump over flow for each low-pressure pump, clean and dirty; SI, for a plot."""
        from desalbook.plant.system_curves import curves

        return self._rows("curves", curves(self._sized))

    @property
    def operating_points(self) -> pd.DataFrame:
        """Where each low-pressure pump meets its system at full speed, clean and dirty; SI."""
        from desalbook.plant.system_curves import operating_points

        return self._rows("operating_points", operating_points(self._sized))

    def _rows(self, name: str, rows: Any) -> pd.DataFrame:
        import pandas as pd

        from desalbook import frames

        made = pd.DataFrame([{k: float(v) if isinstance(v, float) else str(v) if isinstance(v, str) else v
                              for k, v in dict(row).items() if k != "ids"} for row in rows])
        kinds = frames.kinds_of(name, made.columns)
        money = any(kind.startswith("money") for kind in kinds.values())
        return frames.table(made, kinds, currency=str(self.design.get("energy.currency")) if money else "")

    @property
    def chemicals(self) -> pd.DataFrame:
        """Schedule of chemicals, a row a dosing line; SI; ``id`` is that of the mass rate, in the basis it names."""
        return self._rows("chemicals", getattr(self._sized, "chemicals", ()))


class Fabrication(Calculated):
    """What is built and shipped of a plant: its own values by id, checks, and a trail that begins with the plant's.

    Parameters
    ----------
    plant : Plant
    """

    _noun = "fabrication"

    def __init__(self, plant: Plant):
        from desalbook.plant.fabrication import fabricate

        book = plant.sized.ledger.branch()
        # in a context of its own: what happens to be open where it is asked for is no part of it
        self.made = contextvars.Context().run(fabricate, plant.sized, book)
        self._plant = plant
        super().__init__(book)

    def __repr__(self) -> str:
        return f"<Fabrication of {self.project.get('name', 'a plant')}: {len(self.made.weights)} items weighed>"

    @property
    def design(self) -> Any:
        """The design of the plant."""
        return self._plant.design

    @property
    def project(self) -> dict[str, str]:
        """Head of the sheet."""
        return self._plant.project

    @property
    def verdicts(self) -> dict[str, Any]:
        """Checks and findings of fabrication and shipping; those of the plant are its own."""
        return {id: x for id, x in super().verdicts.items() if id not in self._plant}

    @cached_property
    def data_sheets(self) -> list[Any]:
        """Data and enquiry sheets of the items of the schedule."""
        from desalbook.plant.data_sheets import data_sheets

        return contextvars.Context().run(data_sheets, self._plant.sized, self._book, self.made.weighed)

    @cached_property
    def record(self) -> dict[str, Any]:
        """The record of plant and fabrication: plain data, the same for the same design."""
        return _record.to_record(self.ledger, self.design.text, project=self.project, with_text=True)

    def _recorded(self) -> Ledger:
        from desalbook.plant.fabrication import fabricate

        made = self._plant.ledger.branch()
        contextvars.Context().run(fabricate, self._plant.sized, made)
        return made


def _sized_again(design: Any, hardware: dict[str, str]) -> Plant:
    """A plant that was pickled: sized from its design, with its hardware fixed where this kit chooses another."""
    from desalbook import design as room
    from desalbook import plant
    from desalbook.plant.hardware import chosen_hardware

    made = plant.size(design, recording=moving())
    if chosen_hardware(made) != hardware:
        made = plant.size(room.hold(design, hardware), recording=moving())
    return Plant(made)


def _filled(rows: Iterable[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Rows of a table without what does not apply to them."""
    return [{k: v for k, v in row.items() if v is not None and v == v} for row in rows]


def head(design: Any) -> dict[str, str]:
    """Head of the sheet as the design says it; what is not written is omitted."""
    section = design.sections.get("project")
    said = {k: getattr(section, k, None) for k in _HEAD}
    return {k: str(v) for k, v in said.items() if v}
