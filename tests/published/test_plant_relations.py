"""Balances and sums of the plant, by hand arithmetic."""

from __future__ import annotations

from tests.points import Point

_BY_HAND = {"source": "definition", "status": "hand arithmetic"}

POINTS = [
    *[Point(f"plant.guarantees:{name}", inputs, expect, 1e-9, **_BY_HAND) for name, inputs, expect in (
        ("guaranteed_concentration", {"concentration": 0.4, "margin": 0.15}, 0.46),
        ("guaranteed_hardness", {"hardness": 0.08, "margin": 0.15}, 0.092),
        ("guaranteed_conductivity", {"conductivity": 0.06, "margin": 0.15}, 0.069),
        ("guaranteed_index", {"sdi": 3.0, "margin": 0.2}, 3.6),
        ("guaranteed_energy", {"specific_energy": 11e6, "margin": 0.05}, 11.55e6),
        ("guaranteed_chemical", {"mass_flow": 2e-4, "margin": 0.15}, 2.3e-4),
        ("guaranteed_ph_low", {"ph": 8.2, "ph_band": 0.3}, 7.9),
        ("guaranteed_ph_high", {"ph": 8.2, "ph_band": 0.3}, 8.5),
        ("guaranteed_availability", {"availability": 0.95, "margin": 0.01}, 0.94))],
    Point("plant.arrangement:footprint", {"length": 44.0, "width": 47.5, "aisle": 1.2}, 2315.36, 1e-12, **_BY_HAND),
    Point("plant.minerals:mass_in_year", {"mass_flow": 0.005, "strength": 0.8, "availability": 0.95}, 187373.25,
          1e-9, **_BY_HAND),
    Point("plant.minerals:cleaning_in_year", {"batch_mass": 75.0, "strength": 0.5, "cleaning_turns": 2.0,
                                               "cleanings": 4, "trains": 3}, 3600.0, 1e-9, **_BY_HAND),
    Point("plant.pretreat:raw_flow_of", {"feed_flow": 0.08, "backwash_average": 0.002, "filter_to_waste_average": 0.001,
                                         "trains": 2}, 0.166, 1e-9, **_BY_HAND),
    Point("plant.pretreat:discharge_of", {"pressure_rise": 4.2e5, "density": 1000.0, "static_head": 2.0,
                                          "friction_head": 0.5}, 434709.975, 1e-9, **_BY_HAND),
    Point("plant.joints:feed_water_of", {"feed_flow": 0.08, "feed_density": 1025.0, "feed_salinity": 0.025},
          80.0, 1e-9, **_BY_HAND),
    Point("plant.joints:flow_of_water", {"water": 80.0, "salinity": 0.025, "density": 1025.0}, 0.08, 1e-9,
          **_BY_HAND),
    Point("plant.joints:salinity_with_mixing", {"feed_salinity": 0.036, "exchanger_mixing": 0.05,
                                                      "concentrate_water": 48.0, "water": 80.0,
                                                      "concentrate_salinity": 0.06}, 0.03672, 1e-9, **_BY_HAND),
    Point("plant.array:proposed_recovery", {"feed_salinity": 0.039, "concentrate_salinity": 0.065,
                                            "stage_recovery": 0.45, "stages": 1}, 0.4, 1e-9, **_BY_HAND),
    Point("plant.array:proposed_recovery", {"feed_salinity": 0.013, "concentrate_salinity": 0.065,
                                            "stage_recovery": 0.4, "stages": 2}, 0.64, 1e-9, **_BY_HAND),
    Point("plant.array:proposed_recovery", {"feed_salinity": 0.07, "concentrate_salinity": 0.065,
                                            "stage_recovery": 0.4, "stages": 2}, 0.0, 1e-9, **_BY_HAND),
    Point("plant.array:held_pressure_residual", {"feed_pressure": 62e5, "held_pressure": 60e5}, 2e5, 1e-9,
          **_BY_HAND),
    Point("plant.energy:duty_weighted_power", {"electric_power": 40e3, "peak_power": 52e3, "peak_fraction": 0.25}, 43e3,
          1e-9, **_BY_HAND),
    # nine starts a day of twelve minutes: 108 of 1440 minutes
    Point("plant.energy:filter_to_waste_time_fraction", {"backwashes_per_day": 9 / 86400,
                                                         "filter_to_waste_time": 720.0}, 0.075, 1e-9, **_BY_HAND),
    Point("plant.energy:filter_to_waste_time_fraction", {"backwashes_per_day": 200 / 86400,
                                                         "filter_to_waste_time": 720.0}, 1.0, 1e-9, **_BY_HAND),
    Point("plant.energy:year_mean_power", {"electric_power": [200e3, 300e3], "year_fraction": [0.25, 0.75]}, 275e3,
          1e-9, **_BY_HAND),
    Point("plant.energy:plant_specific_energy", {"specific_energy": 11.4e6, "loss_fraction": 0.05}, 12e6, 1e-9,
          **_BY_HAND),
    Point("plant.energy:train_running_time", {"availability": 0.95}, 0.95 * 8766 * 3600, 1e-9, **_BY_HAND),
    # 4800 m3/d delivered by pumps of 5000 m3/d
    Point("plant.energy:delivery_running_time", {"net_product": 0.048, "product_flow": 0.05}, 0.96 * 8766 * 3600, 1e-9,
          **_BY_HAND),
    # five starts a day of twelve minutes in each of two trains, 90 % of 365.25 days
    Point("plant.energy:backwash_running_time", {"backwashes_per_day": 5 / 86400, "backwash_duration": 720.0,
                                                 "trains": 2, "availability": 0.9}, 5 * 720 * 2 * 0.9 * 365.25, 1e-9,
          **_BY_HAND),
    # two batches of eight hours for each of four banks, three times a year, two trains: 384 h
    Point("plant.energy:cleaning_running_time", {"batch_time": 28800.0, "batches": 2, "cleaning_turns": 4,
                                                 "cleanings": 3, "trains": 2}, 384 * 3600.0, 1e-9, **_BY_HAND),
    Point("plant.energy:flush_running_time", {"flush_time": 720.0, "stops": 100, "trains": 2}, 144e3, 1e-9, **_BY_HAND),
    # 45 kW, two of them, 8000 h: 720 MWh
    Point("plant.energy:consumer_yearly_energy", {"electric_power": 45e3, "running_count": 2,
                                                   "running_time": 8000 * 3600.0},
          720e3 * 3.6e6, 1e-9, **_BY_HAND),
    # a kilowatt-hour a cubic metre
    Point("plant.energy:consumer_specific_energy", {"energy": 1577880 * 3.6e6, "net_product": 0.05}, 3.6e6, 1e-9,
          **_BY_HAND),
    Point("plant.energy:lost_energy", {"energy": 5787e3 * 3.6e6, "loss_fraction": 0.02}, 115.74e3 * 3.6e6, 1e-9,
          **_BY_HAND),
    Point("plant.energy:total_specific_energy", {"specific_energy": [8e6, 3e6, 0.5e6]}, 11.5e6, 1e-9, **_BY_HAND),
    Point("plant.energy:supply_loss_specific_energy", {"specific_energy": 11.4e6, "loss_fraction": 0.05}, 0.6e6, 1e-9,
          **_BY_HAND),
    # 3.6 MJ/m3 is a kilowatt-hour: 0.05 m3/s over 8766 h is 1 577 880 m3
    Point("plant.energy:yearly_energy", {"specific_energy": 3.6e6, "net_product": 0.05},
          1577880 * 3.6e6, 1e-9, **_BY_HAND),
    Point("plant.energy:yearly_energy_cost", {"energy": 1000 * 3.6e6, "tariff": 0.12}, 120.0, 1e-9, **_BY_HAND),
    Point("plant.energy:yearly_emissions", {"energy": 1000 * 3.6e6, "emission_factor": 0.45}, 450.0, 1e-9,
          **_BY_HAND),
    # 3.6 kWh/m3 over 167 900 m3/y at 0.177 kg/kWh: 106.99 t a year
    Point("plant.energy:specific_emissions", {"yearly_carbon": 106985.88, "net_product": 167900 / 31557600.0}, 0.6372,
          1e-7, **_BY_HAND),
    Point("plant.energy:second_law_efficiency", {"least": 3.6e6, "specific_energy": 10.8e6}, 1 / 3, 1e-9, **_BY_HAND),
    Point("plant.comparison:cost_by_rating", {"motor_rating": 315e3, "cost_rate": 600.0, "machines": 2.0}, 378e3, 1e-9,
          **_BY_HAND),
    Point("plant.comparison:simple_payback", {"cost_more": 120e3, "saved_year": 48e3}, 2.5, 1e-9, **_BY_HAND),
    Point("plant.pressure_train:total_power", {"electric_power": 40e3, "duty_count": 2}, 80e3, 1e-9, **_BY_HAND),
    Point("plant.pressure_train:power_per_unit", {"shaft_power": 90e3, "duty_count": 2}, 45e3, 1e-9, **_BY_HAND),
    Point("plant.walk:with_margin", {"boron_permeate": 8e-4, "margin": 0.1}, 8.8e-4, 1e-9, **_BY_HAND),
    Point("plant.waters:boron_ratio_of", {"molality": 4.5e-4, "molar_mass": 0.01081}, 4.8645e-6, 1e-9, **_BY_HAND),
]
