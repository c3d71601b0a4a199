"""Exercises on pipes, disinfection, fouling, recovery and motors."""

from __future__ import annotations

from desalbook import duty
from desalbook.balances import sum_of_flows
from desalbook.electrical import starting
from desalbook.hydraulics import energy, pipes, surge
from desalbook.membrane.element import rejection
from desalbook.membrane.transport import polarisation_by_recovery
from desalbook.notebook.exercises.kit import Exercise, Given, Mistake, misread, scaled, taken_as
from desalbook.pretreatment import fouling, intake

__all__ = ["EQUIPMENT"]

_GPM = "A flow in gpm was used as if it were in m3/h; 1 m3/h is 4.4 gpm."


def _recovery(g, slip):
    if slip == "concentrate":
        return duty.recovery_of.at("plant.recovery", permeate_flow=g["permeate"], feed_flow=g["concentrate"])
    feed = sum_of_flows.at("plant.feed", flow=g["permeate"], second_flow=g["concentrate"], title="RO feed",
                           symbol="Q_f")
    return duty.recovery_of.at("plant.recovery", permeate_flow=g["permeate"], feed_flow=feed)


def _concentrate(g, slip):
    water = energy.water_recovery.at("concentrate.water", recovery=g["recovery"], permeate_density=g["permeate"],
                                     feed_density=g["density"], feed_salinity=g["salinity"])
    return energy.concentrate_salinity.at("concentrate.salinity", feed_salinity=g["salinity"], water_share=water)


def _velocity(g, slip):
    return pipes.pipe_velocity.at("pipe.velocity", flow=g["flow"], inner_diameter=g["bore"])


def _surge(g, slip):
    velocity = pipes.pipe_velocity.at("pipe.velocity", flow=g["flow"], inner_diameter=g["bore"])
    return surge.joukowsky_surge.at("pipe.surge", density=g["density"], wave_speed=g["wave"], velocity=velocity,
                                    length=g["length"], stop_time=g["stop"])


def _ct(g, slip):
    time = intake.contact_time.at("tank.contact_time", volume=g["volume"], raw_flow=g["flow"],
                                  contact_fraction=g["baffling"])
    return intake.chlorine_ct.at("tank.ct", chlorine_residual=g["residual"], contact_time=time)


def _sdi(g, slip):
    plugging = fouling.plugging_factor.at("fouling.plugging", first_time=g["first"], last_time=g["last"])
    return fouling.silt_density_index.at("fouling.sdi", plugging=plugging, interval=g["interval"])


def _current(g, slip):
    return starting.motor_full_load_current.at("motor.current", motor_rating=g["rating"], voltage=g["voltage"],
                                               motor_efficiency=g["efficiency"], power_factor=g["factor"])


def _polarisation(g, slip):
    recovery = duty.recovery_of.at("element.recovery", permeate_flow=g["permeate"], feed_flow=g["feed"],
                                   title="Recovery of the element")
    return polarisation_by_recovery.at("element.beta", element_recovery=recovery)


def _rejection(g, slip):
    return rejection.at("element.rejection", permeate_concentration=g["permeate"],
                                feed_concentration=g["feed"])


EQUIPMENT = (
    Exercise(
        "recovery", "RO recovery from two flow meters", 1,
        "The flow meters of a train are in the permeate and in the concentrate. Find the RO recovery.",
        (Given("permeate", "Permeate", "Q_p", "flow", "40 m3/h", "140 m3/h"),
         Given("concentrate", "Concentrate", "Q_c", "flow", "70 m3/h", "180 m3/h")),
        "fraction", _recovery,
        (Mistake("concentrate", "The permeate was divided by the concentrate; recovery is permeate over RO feed."),
         Mistake("double", "The concentrate was counted twice in the feed.", scaled("concentrate", 2.0))), 0.004),
    Exercise(
        "concentrate", "Salinity of the concentrate", 2,
        "The membranes let almost no salt pass. Find the salinity of the concentrate; recovery is by volume, so the "
        "densities of permeate and feed make it a fraction of the water.",
        (Given("salinity", "Salinity of the RO feed", "X_f", "salinity", "36 g/kg", "45 g/kg"),
         Given("recovery", "RO recovery", "Y", "fraction", "38 %", "46 %"),
         Given("permeate", "Density of the permeate", "rho_p", "density", "996 kg/m3", "999 kg/m3"),
         Given("density", "Density of the RO feed", "rho_f", "density", "1024 kg/m3", "1031 kg/m3")),
        "salinity", _concentrate,
        (Mistake("none", "This is the salinity of the feed: the concentrate keeps the salt in less water.",
                 taken_as("recovery", "0 %", "fraction")),
         Mistake("light", "The feed was taken to be as light as the permeate, so volume was used as mass.",
                 taken_as("density", "980 kg/m3", "density"))), 0.004),
    Exercise(
        "velocity", "Velocity in a pipe", 1, "Find the velocity in the pipe.",
        (Given("flow", "Flow", "Q", "flow", "120 m3/h", "420 m3/h"),
         Given("bore", "Inside diameter", "D", "length", "0.2 m", "0.4 m")),
        "velocity", _velocity,
        (Mistake("gpm", _GPM, misread("flow", "flow")),
         Mistake("radius", "The diameter was taken for the radius.", scaled("bore", 2.0)))),
    Exercise(
        "surge", "Pressure surge on a pump trip", 3,
        "The flow stops in a time that may be longer or shorter than the wave takes to the end of the line and back. "
        "Find the rise of pressure.",
        (Given("flow", "Flow", "Q", "flow", "150 m3/h", "400 m3/h"),
         Given("bore", "Inside diameter", "D", "length", "0.25 m", "0.35 m"),
         Given("density", "Density", "rho", "density", "1022 kg/m3", "1030 kg/m3"),
         Given("wave", "Wave speed", "a", "velocity", "380 m/s", "1200 m/s"),
         Given("length", "Length of the line", "L", "length", "300 m", "900 m"),
         Given("stop", "Flow stoppage time", "t_s", "time.second", "0.6 s", "4 s")),
        "pressure difference", _surge,
        (Mistake("short", "The line was taken as short: the reflected wave was forgotten or doubled.",
                 scaled("length", 0.5)),
         Mistake("gpm", _GPM, misread("flow", "flow")))),
    Exercise(
        "ct", "Contact time of chlorine", 2,
        "A baffled tank holds the water for disinfection; only a fraction of the mean time counts. Find CT.",
        (Given("volume", "Volume of water in the tank", "V", "volume", "120 m3", "600 m3"),
         Given("flow", "Product flow", "Q", "flow", "80 m3/h", "240 m3/h"),
         Given("baffling", "Baffling factor T10", "f", "fraction", "30 %", "70 %"),
         Given("residual", "Free chlorine at the outlet", "C", "concentration as Cl2", "0.3 mg/L as Cl2",
               "0.9 mg/L as Cl2")),
        "disinfection CT", _ct,
        (Mistake("baffling", "The baffling factor was forgotten: some water takes a short cut.",
                 taken_as("baffling", "100 %", "fraction")),
         Mistake("gpm", _GPM, misread("flow", "flow")))),
    Exercise(
        "sdi", "SDI15 from a filter test", 2,
        "The same volume is filtered at the start of the test and at its end. Find the silt density index.",
        (Given("first", "Time of the first 500 mL", "t_i", "time.second", "25 s", "40 s"),
         Given("last", "Time of the last 500 mL", "t_f", "time.second", "50 s", "95 s"),
         Given("interval", "Duration of the test", "T", "time.minute", "14.5 min", "15.5 min")),
        "fouling index", _sdi,
        (Mistake("inverse", "The share of the first time in the last was used, not what is lost.",
                 lambda v: v | {"first": v["last"] - v["first"]}),
         Mistake("five", "The interval of the short test, 5 min, was used.",
                 taken_as("interval", "5 min", "time.minute"))),
        0.01),
    Exercise(
        "polarisation", "Concentration polarisation of the lead element", 2,
        "The trade estimates the factor from the recovery of one element, exp(0.7 Y). Find it for the lead element.",
        (Given("feed", "RO feed of one vessel", "Q_f", "flow", "7 m3/h", "13 m3/h"),
         Given("permeate", "Permeate of the lead element", "Q_p", "flow", "0.7 m3/h", "1.6 m3/h")),
        "factor", _polarisation,
        (Mistake("double", "The permeate of two elements was taken.", scaled("permeate", 2.0)),
         Mistake("gpm", _GPM, misread("feed", "flow"))), 0.004),
    Exercise(
        "rejection", "Rejection of an element", 1,
        "A probe downstream of one vessel gives the TDS of its permeate. Find the rejection.",
        (Given("feed", "TDS of the RO feed", "C_f", "concentration", "34 000 mg/L", "44 000 mg/L"),
         Given("permeate", "TDS of the permeate", "C_p", "concentration", "900 mg/L", "2600 mg/L")),
        "fraction", _rejection,
        (Mistake("passage", "This is the salt passage; rejection is what remains to the whole.",
                 lambda v: v | {"permeate": v["feed"] - v["permeate"]}),), 0.002),
    Exercise(
        "motor-current", "Full-load current of a motor", 1,
        "A three-phase motor is to be connected. Find its full-load current.",
        (Given("rating", "Motor rating", "P", "power", "75 kW", "400 kW"),
         Given("voltage", "Voltage between the lines", "U", "voltage", "400 V", "690 V"),
         Given("efficiency", "Motor efficiency", "eta", "fraction", "93 %", "96.5 %"),
         Given("factor", "Power factor", "cos phi", "fraction", "82 %", "89 %")),
        "current", _current,
        (Mistake("factor", "The power factor was forgotten.", taken_as("factor", "100 %", "fraction")),
         Mistake("efficiency", "The rating is at the shaft; what the motor loses was forgotten.",
                 taken_as("efficiency", "100 %", "fraction")),
         Mistake("phase", "The factor of three phases, the root of three, was forgotten.",
                 lambda v: v | {"voltage": v["voltage"] / 3 ** 0.5})), 0.01),
)
"""In order of the walk."""
