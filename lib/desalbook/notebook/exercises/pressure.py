"""Exercises on membranes, pressure, energy and cleaning."""

from __future__ import annotations

from desalbook.balances import difference_of_flows
from desalbook.cleaning import skid as cleaning
from desalbook.hydraulics import energy, motors, pumps, suction
from desalbook.hydraulics.energy_recovery import balance, isobaric, turbocharger
from desalbook.membrane import transport as membrane
from desalbook.notebook.exercises.kit import Exercise, Given, Mistake, misread, scaled, taken_as
from desalbook.trail import assumed
from desalbook.water import boron, carbonate, seawater

__all__ = ["PRESSURE"]

_GPM = "A flow in gpm was used as if it were in m3/h; 1 m3/h is 4.4 gpm."


def _flux(g, slip):
    return membrane.average_flux.at(
        "membrane.flux",
        permeate_flow=g["permeate"],
        vessels=g["vessels"],
        elements_per_vessel=g["elements"],
        element_area=g["area"],
    )


def _wall(g, slip):
    beta = membrane.concentration_polarisation.at("membrane.beta", flux=g["flux"], mass_transfer=g["transfer"])
    if slip == "polarisation":
        beta = assumed("membrane.none", 1.0, "factor", title="No polarisation", symbol="beta", source="exercise")
    return membrane.wall_salinity.at(
        "membrane.wall", permeate_salinity=g["permeate"], salinity=g["salinity"], beta=beta
    )


def _driven(g, slip):
    none = assumed(
        "membrane.osmotic_permeate",
        0.0,
        "osmotic pressure",
        title="Osmotic pressure of the permeate",
        symbol="pi_p",
        source="exercise",
    )
    driving = membrane.net_driving_pressure.at(
        "membrane.net_driving_pressure",
        node_pressure=g["pressure"],
        permeate_pressure=g["back"],
        osmotic_wall=g["bulk"] if slip == "bulk" else g["wall"],
        osmotic_permeate=none,
    )
    return membrane.water_flux.at("membrane.flux", permeability=g["permeability"], net_driving_pressure=driving)


def _aged(g, slip):
    factor = membrane.temperature_factor.at(
        "membrane.factor", activation_energy=g["energy"], temperature=g["temperature"]
    )
    clean = assumed("membrane.fouling", 1.0, "factor", title="Fouling factor", symbol="F", source="exercise")
    return membrane.water_permeability.at(
        "membrane.permeability",
        permeability=g["permeability"],
        temperature_factor=factor,
        yearly_loss=g["loss"],
        age=g["age"],
        fouling_factor=clean,
    )


def _boron(g, slip):
    total = carbonate.total_from_nbs.at("boron.ph", ph=g["ph"])
    if slip == "scale":
        total = assumed(
            "boron.mixed", float(g["ph"]), "ph.total", title="pH, its scale mixed up", symbol="pH", source="exercise"
        )
    pk = (
        boron.pkb_fresh.at("boron.pk", temperature=g["temperature"])
        if slip == "fresh"
        else boron.pkb_saline.at(
            "boron.pk",
            temperature=g["temperature"],
            practical_salinity=seawater.practical_salinity.at("boron.s", salinity=g["salinity"]),
        )
    )
    return membrane.boron_permeability.at(
        "boron.permeability",
        boric_acid_permeability=g["acid"],
        borate_permeability=g["borate"],
        borate_fraction=boron.borate_fraction.at("boron.share", ph_total=total, pk=pk),
    )


def _shaft(g, slip):
    rise = balance.pressure_rise.at("pump.rise", discharge_pressure=g["discharge"], suction_pressure=g["suction"])
    power = pumps.hydraulic_power.at("pump.hydraulic", flow=g["flow"], pressure_rise=rise)
    return pumps.shaft_power.at("pump.shaft", hydraulic_power=power, pump_efficiency=g["efficiency"])


def _boost(g, slip):
    reject = recovery_flow(g)
    if slip == "ratio":
        reject = g["feed"]
    return turbocharger.turbocharger_boost.at(
        "device.boost",
        transfer_efficiency=g["transfer"],
        reject_flow=reject,
        feed_flow=g["feed"],
        concentrate_pressure=g["concentrate"],
        exhaust_pressure=g["exhaust"],
    )


def recovery_flow(g):
    """Concentrate downstream of the RO membranes."""
    return difference_of_flows.at("device.reject", flow=g["feed"], second_flow=g["permeate"], title="Concentrate",
                                  symbol="Q_r")


def _mixing(g, slip):
    return isobaric.exchanged_salinity.at(
        "device.salinity", feed_salinity=g["salinity"], concentrate_salinity=g["reject"], exchanger_mixing=g["mixing"]
    )


def _specific(g, slip):
    shaft = _shaft({**g, "flow": g["permeate"]}, slip)
    drawn = motors.motor_input_power.at("pump.electric", shaft_power=shaft, motor_efficiency=g["motor"])
    per = g["feed"] if slip == "feed" else g["permeate"]
    return energy.specific_energy.at("pump.specific", electric_power=drawn, product_flow=per)


def _npsh(g, slip):
    return suction.npsh_available_from_pressure.at(
        "pump.npsh",
        suction_pressure=g["suction"],
        ambient_pressure=g["ambient"],
        vapour_pressure=g["vapour"],
        density=g["density"],
    )


def _cip(g, slip):
    vessel = cleaning.vessel_contents.at(
        "cip.vessel", inner_diameter=g["bore"], element_length=g["length"], elements_per_vessel=g["elements"]
    )
    bank = cleaning.total_volume.at("cip.bank", volume_each=vessel, count=g["vessels"],
                                    title="Empty volume of the bank", symbol="V_b")
    return cleaning.tank_for.at(
        "cip.tank",
        bank_volume=bank,
        pipe_volume=g["pipes"],
        volume_factor=g["factor"],
        submergence_volume=g["submergence"],
    )


PRESSURE = (
    Exercise(
        "flux",
        "Average flux",
        1,
        "Find the average flux of the train.",
        (
            Given("permeate", "Permeate of the train", "Q_p", "flow", "40 m3/h", "160 m3/h"),
            Given("vessels", "Vessels", "n_v", "count", "12", "40"),
            Given("elements", "Elements per vessel", "n_e", "count", "6", "8"),
            Given("area", "Area of an element", "A_e", "area", "35 m2", "41 m2"),
        ),
        "flux",
        _flux,
        (
            Mistake("gpm", _GPM, misread("permeate", "flow")),
            Mistake(
                "vessel", "The area of one element was taken for the whole vessel.", taken_as("elements", "1", "count")
            ),
            Mistake("feet", "The area in square feet was used as if it were square metres.", misread("area", "area")),
        ),
    ),
    Exercise(
        "wall",
        "Salinity at the membrane",
        2,
        "Salt piles up in front of the membrane. Find the salinity at the wall.",
        (
            Given("flux", "Local flux", "J", "flux", "18 L/(m2 h)", "36 L/(m2 h)"),
            Given("transfer", "Mass transfer coefficient", "k", "mass transfer", "4e-5 m/s", "8e-5 m/s"),
            Given("salinity", "Salinity of the bulk", "X_b", "salinity", "36 g/kg", "60 g/kg"),
            Given("permeate", "Salinity of the permeate", "X_p", "salinity", "0.15 g/kg", "0.4 g/kg"),
        ),
        "salinity",
        _wall,
        (
            Mistake("polarisation", "Polarisation was forgotten: the wall is saltier than the bulk."),
            Mistake("gfd", "A flux in gfd was used as if it were in L/(m2 h).", misread("flux", "flux")),
        ),
        0.005,
    ),
    Exercise(
        "driving",
        "Flux from pressures",
        2,
        "Find the flux at one point of the membrane. The osmotic pressure of the permeate may be neglected.",
        (
            Given(
                "permeability", "Water permeability", "A", "water permeability", "0.9 L/(m2 h bar)", "1.4 L/(m2 h bar)"
            ),
            Given("pressure", "Pressure of the feed", "p", "gauge pressure", "55 barg", "66 barg"),
            Given("back", "Pressure of the permeate", "p_p", "gauge pressure", "0.8 barg", "2 barg"),
            Given("bulk", "Osmotic pressure of the bulk", "pi_b", "osmotic pressure", "30 bar", "34 bar"),
            Given("wall", "Osmotic pressure at the wall", "pi_w", "osmotic pressure", "36 bar", "41 bar"),
        ),
        "flux",
        _driven,
        (
            Mistake("bulk", "The osmotic pressure of the bulk was used; the membrane feels that at its wall."),
            Mistake(
                "back", "The pressure of the permeate was forgotten.", taken_as("back", "0 barg", "gauge pressure")
            ),
        ),
    ),
    Exercise(
        "aged",
        "Permeability, cold and aged",
        2,
        "An element sheet gives the permeability new and at 25 degC. Find it in service.",
        (
            Given(
                "permeability",
                "Water permeability, new, 25 degC",
                "A_0",
                "water permeability",
                "0.9 L/(m2 h bar)",
                "1.4 L/(m2 h bar)",
            ),
            Given("energy", "Activation energy", "E", "molar energy", "18 kJ/mol", "25 kJ/mol"),
            Given("temperature", "Minimum water temperature", "T", "temperature", "11 degC", "19 degC"),
            Given("loss", "Annual permeability decline", "f", "fraction", "4 %", "8 %"),
            Given("age", "Age", "t", "time.year", "2.5 year", "5 year"),
        ),
        "water permeability",
        _aged,
        (
            Mistake(
                "warm",
                "The value at 25 degC was used for cold water.",
                taken_as("temperature", "25 degC", "temperature"),
            ),
            Mistake("new", "The membrane was taken as new.", taken_as("age", "0 year", "time.year")),
        ),
    ),
    Exercise(
        "boron",
        "Boron permeability at a pH",
        3,
        "Boric acid passes, borate hardly. The laboratory gives the pH on the NBS scale. Find the permeability of "
        "boron in seawater.",
        (
            Given("ph", "pH, NBS scale", "pH", "ph.nbs", "7.9", "8.5"),
            Given("temperature", "Temperature", "T", "temperature", "16 degC", "30 degC"),
            Given("salinity", "Salinity", "X", "salinity", "36 g/kg", "43 g/kg"),
            Given("acid", "Permeability of boric acid", "B_a", "salt permeability", "0.9 L/(m2 h)", "1.6 L/(m2 h)"),
            Given("borate", "Permeability of borate", "B_b", "salt permeability", "0.02 L/(m2 h)", "0.06 L/(m2 h)"),
        ),
        "salt permeability",
        _boron,
        (
            Mistake("scale", "The NBS pH was used on the total scale; in seawater it lies about 0.13 higher."),
            Mistake("fresh", "The constant of fresh water was used in seawater."),
        ),
        0.01,
    ),
    Exercise(
        "shaft",
        "Power of the HP pump",
        1,
        "Find the power at the pump's shaft.",
        (
            Given("flow", "Flow", "Q", "flow", "50 m3/h", "160 m3/h"),
            Given("discharge", "Discharge pressure", "p_2", "gauge pressure", "55 barg", "67 barg"),
            Given("suction", "Suction pressure", "p_1", "gauge pressure", "2.4 barg", "4 barg"),
            Given("efficiency", "Pump efficiency", "eta", "fraction", "74 %", "87 %"),
        ),
        "power",
        _shaft,
        (
            Mistake(
                "suction",
                "The suction pressure was forgotten; the pump only adds the difference.",
                taken_as("suction", "0 barg", "gauge pressure"),
            ),
            Mistake(
                "efficiency",
                "This is the power given to the water; the shaft needs more.",
                taken_as("efficiency", "100 %", "fraction"),
            ),
            Mistake("gpm", _GPM, misread("flow", "flow")),
        ),
    ),
    Exercise(
        "boost",
        "Boost of a turbocharger",
        2,
        "A turbocharger gives the concentrate's pressure to the feed. Find the boost.",
        (
            Given("feed", "Feed", "Q_f", "flow", "98 m3/h", "125 m3/h"),
            Given("permeate", "Permeate", "Q_p", "flow", "38 m3/h", "48 m3/h"),
            Given("transfer", "Transfer efficiency", "eta_t", "fraction", "62 %", "78 %"),
            Given("concentrate", "Pressure of the concentrate", "p_c", "gauge pressure", "54 barg", "66 barg"),
            Given("exhaust", "Pressure at the exhaust", "p_e", "gauge pressure", "2 barg", "4 barg"),
        ),
        "pressure difference",
        _boost,
        (
            Mistake("ratio", "The flow ratio was forgotten: only the concentrate gives, the whole feed receives."),
            Mistake(
                "exhaust",
                "The pressure left at the exhaust was forgotten.",
                taken_as("exhaust", "0 barg", "gauge pressure"),
            ),
        ),
    ),
    Exercise(
        "mixing",
        "Salinity downstream of an isobaric ERD",
        1,
        "Some concentrate mixes into the feed in the isobaric ERD. Find the salinity of what leaves it for the "
        "booster.",
        (
            Given("salinity", "Salinity of the feed", "X_f", "salinity", "36 g/kg", "44 g/kg"),
            Given("reject", "Salinity of the concentrate", "X_c", "salinity", "60 g/kg", "78 g/kg"),
            Given("mixing", "Mixing", "M", "fraction", "3 %", "7 %"),
        ),
        "salinity",
        _mixing,
        (Mistake("none", "Mixing was forgotten.", taken_as("mixing", "0 %", "fraction")),),
        0.005,
    ),
    Exercise(
        "specific",
        "Specific energy downstream of an isobaric ERD",
        3,
        "With an isobaric ERD the HP pump carries the permeate only. Find its energy per volume of "
        "permeate; leakage and booster are left aside.",
        (
            Given("permeate", "Permeate", "Q_p", "flow", "50 m3/h", "120 m3/h"),
            Given("feed", "RO feed", "Q_f", "flow", "130 m3/h", "300 m3/h"),
            Given("discharge", "Discharge pressure", "p_2", "gauge pressure", "55 barg", "67 barg"),
            Given("suction", "Suction pressure", "p_1", "gauge pressure", "2.4 barg", "4 barg"),
            Given("efficiency", "Pump efficiency", "eta", "fraction", "74 %", "87 %"),
            Given("motor", "Motor efficiency", "eta_m", "fraction", "93 %", "96 %"),
        ),
        "specific energy",
        _specific,
        (
            Mistake("feed", "The energy was divided by the feed; it is reported per volume of permeate."),
            Mistake("motor", "The motor's loss was forgotten.", taken_as("motor", "100 %", "fraction")),
            Mistake("suction", "The suction pressure was forgotten.", taken_as("suction", "0 barg", "gauge pressure")),
        ),
        0.008,
    ),
    Exercise(
        "npsh",
        "NPSH of the HP pump",
        2,
        "Find the NPSH (net positive head at the suction) available at the pump's inlet.",
        (
            Given("suction", "Suction pressure, gauge", "p_1", "gauge pressure", "0.6 barg", "2.5 barg"),
            Given("ambient", "Atmospheric pressure", "p_a", "absolute pressure", "0.85 bar a", "1.013 bar a"),
            Given("vapour", "Vapour pressure", "p_v", "absolute pressure", "0.03 bar a", "0.07 bar a"),
            Given("density", "Density", "rho", "density", "1021 kg/m3", "1031 kg/m3"),
        ),
        "head",
        _npsh,
        (
            Mistake(
                "gauge",
                "The gauge pressure was used as absolute; the air's pressure must be added.",
                taken_as("ambient", "0 bar a", "absolute pressure"),
            ),
            Mistake("vapour", "The vapour pressure was forgotten.", taken_as("vapour", "0 bar a", "absolute pressure")),
        ),
        0.004,
    ),
    Exercise(
        "cip",
        "CIP tank",
        2,
        "The CIP tank holds the water of the vessels cleaned at once and of the pipes, with a margin, and what "
        "keeps the pump covered. Find its volume.",
        (
            Given("bore", "Bore of a vessel", "D", "length", "0.2 m", "0.204 m"),
            Given("length", "Length of an element", "L", "length", "1 m", "1.02 m"),
            Given("elements", "Elements per vessel", "n_e", "count", "6", "8"),
            Given("vessels", "Vessels cleaned at once", "n_v", "count", "8", "20"),
            Given("pipes", "Water in the pipes", "V_p", "volume", "0.6 m3", "1.4 m3"),
            Given("factor", "Margin", "f", "factor", "1.2", "1.3"),
            Given("submergence", "Water that covers the pump", "V_s", "volume", "0.3 m3", "0.8 m3"),
        ),
        "volume",
        _cip,
        (
            Mistake("factor", "The margin was forgotten.", taken_as("factor", "1", "factor")),
            Mistake("pipes", "The water in the pipes was forgotten.", taken_as("pipes", "0 m3", "volume")),
            Mistake(
                "submergence",
                "The water that keeps the pump covered was forgotten.",
                taken_as("submergence", "0 m3", "volume"),
            ),
            Mistake("radius", "The bore was taken for the radius.", scaled("bore", 2.0)),
        ),
    ),
)
"""In order of the walk."""
