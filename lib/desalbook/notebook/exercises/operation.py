"""Exercises on studies, cost, instruments, electrical supply and pressure tests."""

from __future__ import annotations

from desalbook.controls import set_points
from desalbook.controls.signals import signals_installed
from desalbook.cost import capital, levelised
from desalbook.duty.availability import state_probability, train_availability, train_unavailability
from desalbook.electrical import cables, load_list, starting, supply
from desalbook.fabrication import pressure_tests
from desalbook.notebook.exercises.kit import Exercise, Given, Mistake, scaled, taken_as
from desalbook.plant.control import permeate_conductivity
from desalbook.plant.energy import duty_weighted_power
from desalbook.trail import assumed

__all__ = ["OPERATION"]


def _fixed(name: str, value: float, kind: str, title: str, symbol: str):
    """A number the exercise takes for granted."""
    return assumed(name, value, kind, title=title, symbol=symbol, source="exercise")


def _mean_power(g, slip):
    return duty_weighted_power.at("pump.mean_power", electric_power=g["mild"], peak_power=g["cold"],
                                  peak_fraction=g["fraction"])


def _all_trains(g, slip):
    able = train_availability.at("train.availability", failure_interval=g["failure"],
                                              repair_time=g["repair"])
    unable = train_unavailability.at("train.unavailability", failure_interval=g["failure"],
                                                  repair_time=g["repair"])
    if slip == "unable":
        return unable
    one = _fixed("given.ways", 1.0, "count", "Ways all can run", "n_w")
    none = _fixed("given.stopped", 0.0, "count", "Trains stopped", "n_s")
    return state_probability.at(
        "plant.all_trains", state_ways=one, train_availability=able, train_unavailability=unable,
        trains_able=g["trains"], trains_stopped=none, title="Time fraction with all trains able to run")


def _scaled(g, slip):
    ratio = capital.rating_ratio.at("pump.size_ratio", item_power=g["size"], base_power=g["base_size"])
    cost = capital.scaled_cost.at("pump.scaled", base_cost=g["cost"], size_ratio=ratio, size_exponent=g["exponent"])
    return capital.escalated_cost.at("pump.cost", scaled_cost=cost, price_index=g["index"],
                                     base_price_index=g["base_index"])


def _levelised(g, slip):
    factor = levelised.capital_recovery.at("cost.factor", discount_rate=g["rate"], plant_life=g["life"])
    yearly = levelised.capital_of_a_year.at("cost.year", capital_cost=g["capital"], capital_recovery_factor=factor)
    return levelised.cost_per_volume.at("cost.water", yearly_cost=yearly, net_product=g["product"],
                                        title="Capital, per volume of net product")


def _capital(g, slip):
    none = _fixed("given.none", 0.0, "fraction", "Commissioning fraction", "f_c")
    indirect = capital.indirect_cost.at("cost.indirect", direct_cost=g["direct"], equipment_cost=g["equipment"],
                                        engineering_fraction=g["engineering"], commissioning_fraction=none,
                                        freight_fraction=g["freight"])
    base = _fixed("given.no_indirect", 0.0, "money", "Indirect cost forgotten", "C_N") if slip == "base" else indirect
    contingency = capital.contingency_cost.at("cost.contingency", direct_cost=g["direct"], indirect_cost=base,
                                              contingency_fraction=g["contingency"])
    return capital.capital_cost.at("cost.capital", direct_cost=g["direct"], indirect_cost=indirect,
                                   contingency_cost=contingency)


def _trip(g, slip):
    gap = set_points.order_gap.at("control.gap", accuracy=g["accuracy"], deadband=g["deadband"])
    steps = _fixed("given.gaps", 2.0, "factor", "Gaps to the trip", "n_g")
    side = _fixed("given.side", 1.0, "factor", "Upwards", "s")
    away = set_points.set_offset.at("control.distance", order_gap=gap, gap_steps=steps, set_side=side)
    zero = _fixed("given.low", 0.0, "gauge pressure", "Low end of the range", "p_0")
    return set_points.SET_POINT["gauge pressure"][1].at(
        "control.trip", normal_pressure=g["normal"], set_distance=away, pressure_range_high=g["range"],
        pressure_range_low=zero)


def _conductivity(g, slip):
    return permeate_conductivity.at("control.alarm", total_dissolved_solids=g["tds"], conductivity_factor=g["factor"])


def _signals(g, slip):
    return signals_installed.at("control.signals", signals_used=g["used"], spare_signals=g["spare"])


def _apparent(g, slip):
    power = load_list.column("load.power", {n: g[f"power_{n}"] for n in "12"}, "power.electric", "Electric power", "P")
    factor = load_list.column("load.factor", {n: g[f"factor_{n}"] for n in "12"}, "fraction", "Power factor", "cos_phi")
    one = _fixed("given.one", 1.0, "count", "One is running", "n")
    none = _fixed("given.none", 0.0, "count", "Not counted", "n")
    running = load_list.column("load.running", {"1": one, "2": one}, "count", "Units running", "n")
    counted = load_list.column("load.counted", {"1": one, "2": none}, "count", "Units whose reactive power counts", "n")
    each = load_list.reactive_power.at("load.each_reactive", electric_power=power, power_factor=factor)
    active = load_list.case_power.at("load.active", load_power=power, units_running=running,
                                     title="Active power together")
    reactive = load_list.case_reactive_power.at("load.reactive", load_reactive_power=each,
                                                units_running=counted if slip == "active" else running,
                                                title="Reactive power together")
    return load_list.apparent_power.at("load.apparent", electric_power=active, reactive_power=reactive)


def _transformer(g, slip):
    one = _fixed("given.one", 1.0, "count", "Transformers in service", "n")
    return supply.rating_needed.at("supply.rating", apparent_power=g["apparent"], spare_fraction=g["spare"],
                                   loading_limit=g["loading"], units_in_service=one)


def _dip(g, slip):
    full = starting.motor_full_load_current.at("motor.current", motor_rating=g["rating"], voltage=g["voltage"],
                                               motor_efficiency=g["efficiency"], power_factor=g["cosine"])
    start = starting.current_multiple.at("motor.start", load_current=full, current_ratio=g["ratio"],
                                         title="Starting current")
    impedance = supply.transformer_impedance.at("supply.impedance", impedance_fraction=g["impedance"],
                                                voltage=g["voltage"], rated_power_va=g["transformer"])
    fault = supply.short_circuit_current.at("supply.fault", voltage=g["voltage"], impedance=impedance)
    if slip == "plain":
        return starting.current_fraction.at("supply.plain", line_current=start, reference_current=fault)
    return starting.voltage_dip.at("supply.dip", line_current=start, fault_current=fault)


def _drop(g, slip):
    warm = g["cold"] if slip == "cold" else cables.conductor_resistance.at(
        "cable.resistance", resistance_20=g["cold"], conductor_temperature=g["temperature"])
    one = _fixed("given.one", 1.0, "count", "Cables in parallel", "n")
    drop = cables.voltage_drop.at("cable.drop", load_current=g["current"], cable_length=g["length"],
                                  conductor_resistance=warm, conductor_reactance=g["reactance"],
                                  power_factor=g["cosine"], cables_in_parallel=one)
    return cables.drop_fraction.at("cable.fraction", voltage_drop=drop, voltage=g["voltage"])


def _correction(g, slip):
    return supply.correction_power.at("supply.correction", electric_power=g["power"], power_factor=g["cosine"],
                                      power_factor_wanted=g["wanted"])


def _test_pressure(g, slip):
    of = pressure_tests.metal_pipe_test_pressure if slip == "pipe" else pressure_tests.vessel_test_pressure_asme
    return of.at("vessel.test_pressure", design_pressure=g["pressure"], stress_fraction=g["stress"])


_POWER_FACTOR = "cos_phi"

OPERATION = (
    # studies
    Exercise(
        "season-power", "Mean power over two seasons", 1,
        "A pump takes more power in the cold season than in the rest of the year. Find its mean electric power while "
        "it runs.",
        (Given("cold", "Electric power, cold season", "P_c", "power.electric", "300 kW", "420 kW"),
         Given("mild", "Electric power, rest of the year", "P_m", "power.electric", "220 kW", "285 kW"),
         Given("fraction", "Cold season, fraction of the time", "x_c", "fraction", "15 %", "35 %")),
        "power.electric", _mean_power,
        (Mistake("plain", "The plain mean of the two was taken; each counts by its time.",
                 taken_as("fraction", "50 %", "fraction")),
         Mistake("swapped", "The fractions were swapped: the cold season has the smaller one.",
                 lambda v: v | {"fraction": 1 - v["fraction"]}),
         Mistake("peak", "This is the power of the cold season; it sizes the motor, not the energy of a year.",
                 taken_as("fraction", "100 %", "fraction"))), 0.004),
    Exercise(
        "all-trains", "Time with all trains able to run", 2,
        "Trains fail independently of one another. Find the fraction of the time in which all of them are able to run.",
        (Given("failure", "Mean time between failures of a train", "t_f", "time", "600 h", "2400 h"),
         Given("repair", "Mean time to repair", "t_r", "time", "30 h", "120 h"),
         Given("trains", "Trains", "n", "count", "2", "4")),
        "fraction", _all_trains,
        (Mistake("one", "This is the availability of one train; all of them must run at once.",
                 taken_as("trains", "1", "count")),
         Mistake("unable", "This is the fraction in which one train is under repair."),
         Mistake("more", "One train too many was counted.", lambda v: v | {"trains": v["trains"] + 1})), 0.003),
    # cost
    Exercise(
        "scaled-cost", "Price of a pump of another size and year", 2,
        "The price of a smaller pump of the same type is known from some years ago. Estimate that of the larger one in "
        "the price year.",
        (Given("cost", "Price of the known pump", "C_b", "money", "40 000", "90 000"),
         Given("base_size", "Motor of the known pump", "P_b", "power", "75 kW", "160 kW"),
         Given("size", "Motor of the pump wanted", "P", "power", "200 kW", "450 kW"),
         Given("exponent", "Size exponent", "m", "exponent", "0.5", "0.75"),
         Given("index", "Price index, price year", "I", "factor", "780", "830"),
         Given("base_index", "Price index, known price", "I_b", "factor", "540", "660")),
        "money", _scaled,
        (Mistake("proportional", "Twice the size was taken for twice the price; the exponent was forgotten.",
                 taken_as("exponent", "1", "exponent")),
         Mistake("index", "The price index was turned over: prices have risen since.",
                 lambda v: v | {"index": v["base_index"], "base_index": v["index"]}),
         Mistake("year", "The price index was forgotten; this is the price of the earlier year.",
                 lambda v: v | {"index": v["base_index"]})), 0.01),
    Exercise(
        "capital-per-volume", "Capital in the cost of water", 3,
        "The capital is recovered in equal payments at the end of each year. Find what it adds to a volume of water; "
        "net product is the mean of the calendar year.",
        (Given("capital", "Capital", "C_0", "money", "4 000 000", "12 000 000"),
         Given("rate", "Discount rate", "i", "fraction", "5 %", "10 %"),
         Given("life", "Plant life", "n", "time.year", "15 year", "25 year"),
         Given("product", "Net product", "Q_n", "flow.day", "3000 m3/d", "9000 m3/d")),
        "money per volume", _levelised,
        (Mistake("straight", "The capital was divided by the years; money has its price too.",
                 taken_as("rate", "0 %", "fraction")),
         Mistake("interest", "This is the interest alone; the capital itself must come back over the life.",
                 taken_as("life", "1000 year", "time.year"))), 0.01),
    Exercise(
        "capital", "Capital with fractions on the right base", 2,
        "Engineering is a fraction of the direct cost, freight of the equipment, contingency of direct and indirect "
        "cost together. Find the capital.",
        (Given("direct", "Direct cost", "C_D", "money", "3 000 000", "7 000 000"),
         Given("equipment", "Equipment cost, in the direct cost", "C_E", "money", "1 500 000", "2 800 000"),
         Given("engineering", "Engineering", "f_e", "fraction", "8 %", "14 %"),
         Given("freight", "Freight", "f_f", "fraction", "5 %", "9 %"),
         Given("contingency", "Contingency", "f_k", "fraction", "12 %", "20 %")),
        "money", _capital,
        (Mistake("freight", "Freight was charged on the direct cost; only the equipment is shipped.",
                 lambda v: v | {"equipment": v["direct"]}),
         Mistake("base", "Contingency was taken of the direct cost alone."),
         Mistake("engineering", "Engineering was forgotten.", taken_as("engineering", "0 %", "fraction"))), 0.004),
    # instruments
    Exercise(
        "trip", "Lowest trip above a normal pressure", 2,
        "The alarm stands one gap above the normal pressure and the trip two, so that neither noise nor tolerance "
        "changes their order. A gap is twice the accuracy and the deadband, as fractions of the range, which begins at "
        "0 barg. Find the trip.",
        (Given("normal", "Normal pressure", "p_n", "gauge pressure", "54 barg", "64 barg"),
         Given("range", "High end of the range", "p_r", "gauge pressure", "90 barg", "160 barg"),
         Given("accuracy", "Accuracy, of the range", "a", "fraction", "0.5 %", "1 %"),
         Given("deadband", "Deadband of the alarm, of the range", "b", "fraction", "0.8 %", "1.5 %")),
        "gauge pressure", _trip,
        (Mistake("once", "The accuracy was counted once; both set points may be off, one up and one down.",
                 scaled("accuracy", 0.5)),
         Mistake("deadband", "The deadband was forgotten.", taken_as("deadband", "0 %", "fraction")),
         Mistake("value", "The fractions were taken of the normal pressure; they are fractions of the range.",
                 lambda v: v | {"range": v["normal"]})), 0.002),
    Exercise(
        "conductivity-alarm", "Conductivity at which the permeate alarms", 1,
        "Permeate conducts 2 µS/cm for each 1 mg/L of its TDS, the usual ratio for sodium chloride at 25 °C. The alarm "
        "is a factor above what is expected. Find the conductivity at which it comes.",
        (Given("tds", "Expected TDS of the permeate", "C_p", "concentration", "180 mg/L", "420 mg/L"),
         Given("factor", "Alarm / expected conductivity", "f_a", "factor", "1.2", "1.6")),
        "conductivity", _conductivity,
        (Mistake("factor", "This is the conductivity that is expected; an alarm there rings all the time.",
                 taken_as("factor", "1", "factor")),
         Mistake("sea", "The ratio of seawater was used; the salt of permeate conducts better per milligram.",
                 scaled("tds", 0.5 / 0.7)),
         Mistake("same", "TDS in mg/L was taken for conductivity in µS/cm.", scaled("tds", 0.5)))),
    Exercise(
        "signals", "Signals of a controller with their spare", 1,
        "A controller is bought with spare signals, as a fraction of those used. Find how many are installed, a whole "
        "number.",
        (Given("used", "Signals used", "n_u", "count", "60", "140"),
         Given("spare", "Spare, of those used", "f_s", "fraction", "15 %", "30 %")),
        "count", _signals,
        (Mistake("none", "The spare was forgotten.", taken_as("spare", "0 %", "fraction")),
         Mistake("installed", "The spare was taken of the signals installed, not of those used.",
                 lambda v: v | {"spare": v["spare"] / (1 - v["spare"])})), 0.003),
    # electrical supply
    Exercise(
        "apparent", "Apparent power of two loads", 2,
        "A pump on a speed drive and one direct on line run together. Find the apparent power of both.",
        (Given("power_1", "Electric power, pump on the drive", "P_1", "power.electric", "250 kW", "420 kW"),
         Given("factor_1", "Power factor, pump on the drive", _POWER_FACTOR, "fraction", "94 %", "98 %"),
         Given("power_2", "Electric power, pump on line", "P_2", "power.electric", "110 kW", "280 kW"),
         Given("factor_2", "Power factor, pump on line", _POWER_FACTOR, "fraction", "72 %", "83 %")),
        "apparent power", _apparent,
        (Mistake("active", "The reactive power of the pump on line was forgotten."),
         Mistake("unity", "Active powers were added: kW were taken for kVA.",
                 lambda v: v | {"factor_1": 1.0, "factor_2": 1.0})), 0.004),
    Exercise(
        "transformer", "Rating of a transformer", 1,
        "One transformer feeds the plant. Find the rating it needs for the largest case with its spare.",
        (Given("apparent", "Apparent power, largest case", "S", "apparent power", "600 kVA", "1600 kVA"),
         Given("spare", "Spare for later loads", "f_s", "fraction", "10 %", "25 %"),
         Given("loading", "Maximum loading", "x_m", "fraction", "75 %", "90 %")),
        "apparent power", _transformer,
        (Mistake("spare", "The spare was forgotten.", taken_as("spare", "0 %", "fraction")),
         Mistake("loading", "The maximum loading was forgotten: a transformer is not run full.",
                 taken_as("loading", "100 %", "fraction")),
         Mistake("times", "The rating was multiplied by the loading where it is divided by it.",
                 lambda v: v | {"loading": 1 / v["loading"]})), 0.01),
    Exercise(
        "dip", "Voltage dip when a motor starts", 3,
        "A motor starts direct on line at a transformer; network and running load are neglected. Find the voltage dip "
        "at the busbar.",
        (Given("rating", "Motor rating", "P", "power", "110 kW", "250 kW"),
         Given("efficiency", "Motor efficiency", "eta", "fraction", "94 %", "96.5 %"),
         Given("cosine", "Power factor", _POWER_FACTOR, "fraction", "84 %", "89 %"),
         Given("ratio", "Starting current / full-load current", "r_s", "factor", "6", "8"),
         Given("voltage", "Voltage between the lines", "U", "voltage", "400 V", "480 V"),
         Given("transformer", "Rating of the transformer", "S_T", "apparent power", "1000 kVA", "2000 kVA"),
         Given("impedance", "Impedance of the transformer", "u_k", "fraction", "5 %", "6.5 %")),
        "fraction", _dip,
        (Mistake("full", "The full-load current was used; a motor draws several times that when it starts.",
                 taken_as("ratio", "1", "factor")),
         Mistake("plain", "Starting current over short-circuit current; the two share the voltage, so the sum stands "
                 "below."),
         Mistake("shaft", "The rating is at the shaft; efficiency and power factor were forgotten.",
                 lambda v: v | {"efficiency": 1.0, "cosine": 1.0})), 0.01),
    Exercise(
        "cable-drop", "Voltage drop of a cable", 2,
        "A three-phase copper cable feeds a motor and is warm from its load. Find its voltage drop as a fraction of "
        "the voltage between the lines.",
        (Given("current", "Load current", "I", "current", "150 A", "320 A"),
         Given("length", "Length of the cable", "l", "length", "60 m", "180 m"),
         Given("cold", "Resistance of a conductor at 20 °C", "r_20", "impedance per length", "0.15 ohm/km",
               "0.3 ohm/km"),
         Given("reactance", "Reactance of a conductor", "x", "impedance per length", "0.075 ohm/km", "0.09 ohm/km"),
         Given("temperature", "Temperature of the conductor", "theta", "temperature", "65 degC", "85 degC"),
         Given("cosine", "Power factor", _POWER_FACTOR, "fraction", "82 %", "88 %"),
         Given("voltage", "Voltage between the lines", "U", "voltage", "400 V", "480 V")),
        "fraction", _drop,
        (Mistake("cold", "The resistance at 20 °C was used; a warm conductor has a fifth more."),
         Mistake("reactance", "The reactance was forgotten.",
                 taken_as("reactance", "0 ohm/km", "impedance per length")),
         Mistake("single", "The factor 2 of a single-phase line was used in place of root three.",
                 scaled("length", 2 / 3**0.5))), 0.01),
    Exercise(
        "correction", "Capacitors for a power factor", 2,
        "The utility asks for a better power factor. Find the reactive power of the capacitors.",
        (Given("power", "Active power", "P", "power.electric", "300 kW", "900 kW"),
         Given("cosine", "Power factor now", _POWER_FACTOR, "fraction", "76 %", "86 %"),
         Given("wanted", "Power factor wanted", "cos_phi_w", "fraction", "93 %", "97 %")),
        "reactive power", _correction,
        (Mistake("all", "All reactive power was compensated; some may remain.",
                 taken_as("wanted", "100 %", "fraction")),
         Mistake("apparent", "The apparent power was used in place of the active power.",
                 lambda v: v | {"power": v["power"] / v["cosine"]})), 0.01),
    # the pack
    Exercise(
        "test-pressure", "Test pressure of a metal filter", 1,
        "A filter is built to the American code for pressure vessels, which asks 1.3 times the design pressure, raised "
        "by the stress allowed cold over that allowed at the design temperature. Find the test pressure.",
        (Given("pressure", "Design pressure", "p_d", "gauge pressure", "4 barg", "10 barg"),
         Given("stress", "Stress allowed hot / cold", "f_S", "fraction", "88 %", "96 %")),
        "gauge pressure", _test_pressure,
        (Mistake("pipe", "The factor 1.5 is that of pipes; a vessel has its own."),
         Mistake("cold", "The ratio of the stresses was forgotten.", taken_as("stress", "100 %", "fraction")),
         Mistake("times", "The ratio of the stresses was turned over: the cold vessel bears more, so it is tested "
                 "higher.", lambda v: v | {"stress": 1 / v["stress"]})), 0.01),
)
"""In order of the notebooks."""
