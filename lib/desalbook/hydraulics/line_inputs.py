"""What a design file says of pipes and of energy recovery: ``[piping]`` and ``[energy_recovery]``."""

from __future__ import annotations

from desalbook.hydraulics.recovery import DEVICES
from desalbook.problems import DesignError
from desalbook.tables import table
from desalbook.units import (
    DifferencePa,
    Factor,
    Fraction,
    GaugePa,
    M,
    M3PerS,
    S,
    Section,
    choice,
    field,
    sections,
    text_field,
)

__all__ = ["RUNS", "EnergyRecovery", "PipeRun", "Piping"]

RUNS = {key: row.title for key, row in table("pipe_runs").items()}
_NEEDED = ("feed-suction", "feed", "wash", "reject")  # what a file that writes its runs must have


class PipeRun(Section):
    """One run of pipe, ``[[piping.runs]]``."""

    name: str = text_field(..., title="Name", max_length=40,
                           hint="Part of the names of its figures")  # type: ignore[arg-type]
    service: str = choice(table("velocities").options(), "low-pressure", title="Service",
                          hint="What flows in it; decides the velocity that is usual")
    material: str = choice(table("pipes").options(), "grp", title="Material",
                           hint="Roughness, strength and resistance come from its row of the table")
    length: M = field(
        "length", "20 m", title="Length", symbol="L", possible=("0 m", "20 000 m"), usual=("1 m", "2000 m"),
        hint="Straight pipe",
    )
    fitting_losses: Factor = field(
        "factor",
        "5",
        title="Sum of loss coefficients of fittings",
        symbol="Sigma_K",
        possible=("0", "500"),
        usual=("1", "60"),
        source="crane-tp410",
        hint="Bends, valves, entries and exits together",
    )
    diameter: M | None = field(
        "length.small",
        None,
        title="Inner diameter, held",
        symbol="D_i",
        possible=("10 mm", "3000 mm"),
        usual=("25 mm", "1200 mm"),
        hint="Inside; left out, the least standard bore within the velocity",
    )
    stop_time: S = field(
        "time.second",
        "5 s",
        title="Time the flow takes to stop",
        symbol="t_c",
        possible=("0 s", "600 s"),
        usual=("1 s", "60 s"),
        hint="Run-down of the pump or closing of the valve, whichever is shorter",
    )


_DEFAULT = tuple(
    {"name": key}
    | {n: row[n].text for n in ("service", "material", "length", "fitting_losses", "stop_time")}
    for key, row in table("pipe_runs").items()
)


class Piping(Section):
    """Section ``[piping]``: the runs of pipe; one that a file leaves out is taken from the table of runs."""

    runs: tuple[PipeRun, ...] = sections(PipeRun, _DEFAULT, title="Runs of pipe", key="name")

    def consistent(self, where: str) -> None:
        """Every run that the pressure train needs must be there."""
        missing = [name for name in _NEEDED if name not in {run.name for run in self.runs}]
        if missing:
            raise DesignError(
                f"the run {missing[0]} is missing",
                where=f"{where}.runs" if where else "runs",
                do=f'add one with name = "{missing[0]}" ({RUNS[missing[0]].lower()})',
            )


class EnergyRecovery(Section):
    """Section ``[energy_recovery]``: the device, and the line behind it."""

    device: str = choice(DEVICES, "isobaric", title="Energy recovery",
                         hint="How the pressure of the reject is given back to the feed")
    efficiency: Fraction | None = field(
        "fraction",
        None,
        title="Efficiency of the transfer",
        symbol="eta_r",
        possible=("10 %", "98 %"),
        usual=("55 %", "90 %"),
        hint="Of a wheel, a reverse-running pump or a turbocharger, as its table row defines it",
    )
    mixing: Fraction | None = field(
        "fraction",
        None,
        title="Mixing of the exchanger",
        symbol="M_x",
        possible=("0 %", "30 %"),
        usual=("0 %", "7 %"),
        hint="Share of salt that passes from reject to feed inside the exchanger",
    )
    leakage: Fraction | None = field(
        "fraction",
        None,
        title="Leakage of the exchanger, of the reject",
        symbol="x_l",
        possible=("0 %", "15 %"),
        usual=("0.5 %", "4 %"),
        hint="Reject lost through the bearings to the low-pressure side",
    )
    high_pressure_drop: DifferencePa | None = field(
        "pressure difference",
        None,
        title="Pressure drop, high-pressure side",
        symbol="Delta_p_h",
        possible=("0 bar", "5 bar"),
        usual=("0.3 bar", "1.2 bar"),
        hint="From the reject of the vessels to the feed that leaves the device",
    )
    low_pressure_drop: DifferencePa | None = field(
        "pressure difference",
        None,
        title="Pressure drop, low-pressure side",
        symbol="Delta_p_l",
        possible=("0 bar", "5 bar"),
        usual=("0.3 bar", "1.2 bar"),
        hint="From the feed that enters the device to its outlet",
    )
    back_pressure: GaugePa | None = field(
        "gauge pressure",
        None,
        title="Least pressure at the low-pressure outlet",
        symbol="p_b",
        possible=("0 bar", "10 bar"),
        usual=("0.5 bar", "2 bar"),
        hint="Below it the device cavitates",
    )
    idle_share: Fraction | None = field(
        "fraction",
        None,
        title="Flow that gives nothing, of the best flow",
        symbol="x_0",
        possible=("0 %", "90 %"),
        usual=("0 %", "50 %"),
        hint="Of a wheel, a reverse-running pump or a turbocharger: how fast it falls off",
    )
    idle_drop: Fraction | None = field(
        "fraction",
        None,
        title="Pressure held without flow at full speed, of the best",
        symbol="x_d",
        possible=("0 %", "90 %"),
        usual=("0 %", "50 %"),
        hint="What a turbine holds at no flow",
    )
    reject_pump_efficiency: Fraction = field(
        "fraction",
        "75 %",
        title="Efficiency of the pump that lifts a wheel's reject",
        symbol="eta_p",
        possible=("10 %", "95 %"),
        usual=("60 %", "85 %"),
        hint="Hydraulic power over electrical power",
    )
    unit_flow: M3PerS | None = field(
        "flow",
        None,
        title="Reject of one exchanger",
        symbol="Q_1",
        possible=("0.5 m3/h", "500 m3/h"),
        usual=("5 m3/h", "80 m3/h"),
        hint="Rating of one device; several stand side by side",
    )
    elevation: M = field(
        "length",
        "0.8 m",
        title="Exhaust of the device above site level",
        symbol="z_d",
        possible=("-30 m", "60 m"),
        usual=("-5 m", "15 m"),
        hint="Where the reject leaves it",
    )
    outfall_elevation: M = field(
        "length",
        "1 m",
        title="Outfall above site level",
        symbol="z_o",
        possible=("-60 m", "200 m"),
        usual=("-10 m", "30 m"),
        hint="Highest point of the line, or the level it discharges to",
    )
