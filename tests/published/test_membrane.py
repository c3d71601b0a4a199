"""Membranes: printed correlations, worked cases of textbooks and hand arithmetic."""

from __future__ import annotations

import pytest

from desalbook.membrane import transport as t
from tests.points import Point

LMH = 1e-3 / 3600
BAR = 1e5
ATM = 101325.0
YEAR = 31557600.0


def _p(name: str, inputs: dict, expect, rel: float = 1e-9, source: str = "definition", place: str = "",
       status: str = "hand arithmetic", module: str = "transport") -> Point:
    return Point(f"membrane.{module}:{name}", inputs, expect, rel, source, place, status)


def _viscosity(salinity_of_solution: float, celsius: float, pure: float, printed: float) -> Point:
    """The printed correlation for seawater over the printed one for pure water, both in Pa s."""
    x = salinity_of_solution / (1 - salinity_of_solution)
    return _p("viscosity_of", {"salinity": x, "water_viscosity": pure, "temperature": celsius + 273.15}, printed,
              1.2e-5, "sharqawy-2010", "eqs 22 and 23, computed apart", "computed with a reference library")


def _tcf(fahrenheit: float, factor: float) -> Point:
    return _p("temperature_factor", {"activation_energy": 20e3, "temperature": (fahrenheit - 32) / 1.8 + 273.15},
              factor, 0.05, "us-army-tm-10-4610", "work package 0083, Table 3", "printed")


H1 = "one 37.16 m2 element, 0.71 mm channel, porosity 0.89, 1023 kg/m3, 0.96 mPa s, 1.47e-9 m2/s"
WC10 = "a rating point inverted by hand, lumped"
CHANNEL = ((4, 0.0909, 85.0, 15.93, 2.669e-5, 1.643, 0.0759), (7, 0.1590, 148.7, 26.00, 4.355e-5, 1.389, 0.1965),
           (10, 0.2271, 212.4, 35.52, 5.949e-5, 1.248, 0.3603), (14, 0.3180, 297.4, 47.68, 7.986e-5, 1.128, 0.6384))
BETAS = ((2.669e-5, 1.169, 1.367), (4.355e-5, 1.100, 1.211), (5.949e-5, 1.073, 1.150), (7.986e-5, 1.054, 1.110))


# the same four flows by other correlations, Schmidt number 638.4: Sherwood, friction, Sherwood; three or four digits
OTHERS = ((85.0, 23.3, 2.648, 33.3), (148.7, 28.5, 1.693, 45.8), (212.4, 32.4, 1.311, 56.2), (297.4, 36.6, 1.057, 68.1))


def _others() -> list[Point]:
    made = []
    for re, guillen, f, koutsou in OTHERS:
        made += [_p("sherwood_guillen", {"reynolds": re, "schmidt": 638.4}, guillen, 2.5e-3, "guillen-hoek-2009", H1,
                    module="channel"),
                 _p("friction_guillen", {"reynolds": re}, f, 1e-3, "guillen-hoek-2009", H1, module="channel"),
                 _p("sherwood_koutsou", {"reynolds": re, "schmidt": 638.4}, koutsou, 2.5e-3, "koutsou-2009", H1,
                    module="channel")]
    return made


def _channel() -> list[Point]:
    """The printed table of one channel at four flows; printed to four digits."""
    made = []
    for (flow, u, re, sh, k, f, drop), (_, one, two) in zip(CHANNEL, BETAS, strict=True):
        made += [
            _p("channel_velocity", {"node_flow": flow / 3600, "width": 37.16 / 1.92, "spacer_height": 0.71e-3,
                                    "spacer_porosity": 0.89}, u, 6e-4, place=H1),
            _p("channel_reynolds", {"channel_velocity": u, "density": 1023.0, "hydraulic_diameter": 0.8776e-3,
                                    "viscosity": 0.96e-3}, re, 1e-3, place=H1),
            _p("sherwood_schock", {"reynolds": re, "schmidt": 638.4}, sh, 1e-3, "schock-miquel-1987", H1),
            _p("mass_transfer", {"sherwood": sh, "diffusivity": 1.47e-9, "hydraulic_diameter": 0.8776e-3}, k, 5e-4,
               place=H1),
            _p("friction_schock", {"reynolds": re}, f, 5e-4, "schock-miquel-1987", H1),
            _p("slice_loss", {"friction_factor": f, "slice_length": 0.96, "hydraulic_diameter": 0.8776e-3,
                              "density": 1023.0, "channel_velocity": u}, drop * BAR, 2e-3, place=H1),
            _p("concentration_polarisation", {"flux": 15 * LMH, "mass_transfer": k}, one, 5e-4, place=H1),
            _p("concentration_polarisation", {"flux": 30 * LMH, "mass_transfer": k}, two, 5e-4, place=H1),
        ]
    return made


# pure water by eq. 23 with all its digits, Pa s
PURE = {5: 1.518074690e-03, 25: 8.901394914e-04, 35: 7.192007336e-04, 40: 6.528132429e-04}
NODES = [4e-6, 3e-6, 1e-6]

POINTS = [
    *_others(),
    *(_tcf(*row) for row in ((50, 0.66), (59, 0.75), (68, 0.87), (86, 1.15), (95, 1.32))),
    _p("temperature_factor", {"activation_energy": 20e3, "temperature": 308.15}, 1.2992895, 1e-6),
    _p("temperature_factor", {"activation_energy": 49e3, "temperature": 283.15}, 0.3509425, 1e-6),
    _p("water_permeability", {"permeability": 3e-12, "temperature_factor": 1.3, "yearly_loss": 0.06,
                              "age": 3 * YEAR, "fouling_factor": 0.95}, 3e-12 * 1.3 * 0.830584 * 0.95),
    _p("salt_permeability", {"salt_permeability": 2e-8, "temperature_factor": 1.5, "yearly_rise": 0.1,
                             "age": 3 * YEAR}, 3.9e-8),
    # hydraulic diameter in mm over spacer height and porosity
    *(_p("hydraulic_diameter", {"spacer_height": h * 1e-3, "spacer_porosity": e}, d * 1e-3, 7e-5,
         "schock-miquel-1987", "form 4 e / (2/h + (1 - e) S)")
      for h, e, d in ((0.71, 0.85, 0.7544), (0.71, 0.89, 0.8776), (0.79, 0.90, 1.0157), (0.86, 0.92, 1.1988))),
    _p("channel_width", {"element_area": 37.16, "element_length": 0.96}, 19.354167, 1e-7, place="19.35 m"),
    *_channel(),
    _p("schmidt", {"viscosity": 0.96e-3, "density": 1023.0, "diffusivity": 1.47e-9}, 638.4, 1e-4, place=H1),
    # printed to six digits; pure water by the same correlation
    _viscosity(0.035, 5.0, PURE[5], 1.61928e-3),
    _viscosity(0.080, 5.0, PURE[5], 1.79097e-3),
    _viscosity(0.035, 25.0, PURE[25], 0.95881e-3),
    _viscosity(0.060, 35.0, PURE[35], 0.82613e-3),
    _viscosity(0.080, 40.0, PURE[40], 0.79091e-3),
    _p("diffusivity_of", {"concentration": 35.0, "temperature": 298.15}, 1.4775051e-09, 1e-6, "taniguchi-2001",
       "as a public code writes it; evaluated by hand"),
    _p("diffusivity_of", {"concentration": 700.0, "temperature": 308.15}, 2.1526248e-09, 1e-6, "taniguchi-2001",
       "as a public code writes it; evaluated by hand"),
    _p("density_of", {"salinity": 0.04, "rho_0": 1000.0, "rho_1": 700.0, "rho_15": 50.0, "rho_2": -200.0},
       1000 + 28 + 0.4 - 0.32),
    _p("osmotic_of", {"salinity": 0.04, "osm_0": 7e7, "osm_1": -2e7, "osm_2": 5e7, "osm_3": 3e7, "osm_4": 4e7,
                      "osm_5": 6e7}, 2.8e6 - 1.6e5 + 8e4 + 9.6e3 + 2.56e3 + 768),
    # beyond the end of the curves, 130 g/kg, the last value rises with the power 1.5: twice as salt, 2.828 times
    _p("osmotic_of", {"salinity": 0.26, "osm_0": 7e7, "osm_1": -2e7, "osm_2": 5e7, "osm_3": 3e7, "osm_4": 4e7,
                      "osm_5": 6e7}, 9.325766495e+06 * 2.8284271, 1e-7),
    _p("concentration_of", {"salinity": 0.25, "density": 1100.0}, 220.0),
    # a rating point inverted by hand: 28.8168 L/(m2 h), 266.73 L/(m2 h), 33.3526 kg/m3 of sodium chloride
    _p("concentration_polarisation", {"flux": 28.8168 * LMH, "mass_transfer": 266.73 * LMH}, 1.11409, 5e-6, place=WC10),
    _p("wall_salinity", {"permeate_salinity": 80e-6, "salinity": 33352.6e-6, "beta": 1.11409}, 37148.7e-6, 1e-5,
       place=WC10),
    _p("salt_passage", {"salt_permeability": 0.06219 * LMH, "beta": 1.11409, "flux": 28.8168 * LMH}, 80 / 33352.6,
       1e-4, place=WC10),
    _p("salt_passage", {"salt_permeability": 3e-6, "beta": 2.0, "flux": 2e-6}, 0.75),
    _p("permeate_salinity", {"salt_passage": 0.75, "salinity": 0.04}, 0.03),
    _p("net_driving_pressure", {"node_pressure": 55.1 * BAR, "permeate_pressure": 0.0, "osmotic_wall": 30.5295 * BAR,
                                "osmotic_permeate": 0.0633 * BAR}, 24.6338 * BAR, 1e-5, place=WC10),
    _p("net_driving_pressure", {"node_pressure": 60e5, "permeate_pressure": 1e5, "osmotic_wall": 30e5,
                                "osmotic_permeate": 2e5}, 31e5),
    _p("water_flux", {"permeability": 1.16981 * LMH / BAR, "net_driving_pressure": 24.6338 * BAR}, 28.8168 * LMH, 1e-5,
       place=WC10),
    _p("water_flux", {"permeability": 2.039e-4 / 997 / ATM, "net_driving_pressure": (54.42 - 7.80 + 0.32) * ATM},
       9.571e-3 / 997, 2e-4,
       "geankoplis-1993", "example on membrane constants, N_w = 9.571e-3 kg/(m2 s); from memory, recomputed",
       "from memory"),
    _p("salt_flux", {"flux": 9.571e-3 / 997, "water_density": 997.0, "permeate_salinity": 0.39 / 997}, 3.744e-6, 2e-4,
       "geankoplis-1993", "same example, N_s; from memory, recomputed", "from memory"),
    _p("boron_permeability", {"boric_acid_permeability": 5e-7, "borate_permeability": 3e-8, "borate_fraction": 0.25},
       3.825e-7),
    _p("vessel_water", {"feed_flow": 0.1, "feed_density": 1040.0, "feed_salinity": 0.04, "vessels": 20}, 5.0),
    _p("vessel_salt", {"node_water": 5.0, "feed_salinity": 0.04}, 0.2),
    # the other slice of the pair takes 0.9 and 0.8 bar; 0.0773503 is 1/sqrt(3) - 1/2 of the two-point rule of Gauss
    _p("slice_mean", {"node_in": 5.0, "node_out": 4.0, "pair_change": 1.9, "pair_shift": 0.0773503}, 4.56961527,
       1e-9, "gauss-collocation"),
    _p("slice_pressure", {"pressure_in": 60e5, "pressure_out": 59e5, "pair_loss": 1.8e5, "pair_shift": -0.0773503},
       5943811.976, 1e-9, "gauss-collocation"),
    # twice as strong: 8.6 - 8.0 - 0.2 ln 2 - 0.1 (ln 2)^2 = 0.4133253
    _p("borate_along", {"ph_total": 8.0, "pk": 8.6, "salinity": 0.08, "borate_salinity": 0.04, "shift_1": 0.2,
                        "shift_2": 0.1}, 1 / (1 + 10 ** 0.41332526), 1e-6),
    _p("slice_area", {"element_area": 37.2, "slices": 3}, 12.4),
    _p("slice_length", {"element_length": 0.96, "slices": 3}, 0.32),
    _p("water_residual", {"node_in": 5.0, "node_out": 4.8, "flux": 4e-6, "water_density": 1000.0,
                           "slice_area": 12.5}, 0.15, module="residuals"),
    _p("solute_residual", {"node_in": 0.2, "node_out": 0.19, "salt_flux": 4e-4, "slice_area": 12.5}, 0.005,
       module="residuals"),
    _p("pressure_residual", {"pressure_in": 60e5, "pressure_out": 59e5, "slice_loss": 0.7e5}, 0.3e5,
       module="residuals"),
    _p("flux_residual", {"flux": 5e-6, "driven_flux": 4e-6}, 1e-6, module="residuals"),
    _p("flow_residual", {"permeate_flow": 0.05, "wanted_flow": 0.04}, 0.01, module="residuals"),
    _p("permeate_water", {"flux": NODES, "water_density": 1000.0, "slice_area": 12.5, "vessels": 10}, 1.0),
    _p("permeate_solute", {"salt_flux": NODES, "slice_area": 12.5, "vessels": 10}, 1e-3),
    _p("ratio_of", {"solute": 0.2, "water": 5.0}, 0.04),
    _p("volume_flow", {"solute": 0.2, "water": 5.0, "density": 1040.0}, 0.005),
    _p("train_last", {"node_out": [5.0, 4.0, 3.0], "vessels": 10}, 30.0),
    _p("solute_concentration", {"solute": 0.2, "flow": 0.005}, 40.0),
    _p("boron_concentration", {"solute": 2e-5, "flow": 0.02}, 1e-3),
    _p("train_pressure_drop", {"vessel_drop": 0.9e5, "port_loss": 0.3e5}, 1.2e5),
    _p("vessel_pressure_drop", {"slice_loss": [0.4e5, 0.3e5, 0.2e5], "interconnector_loss": 0.02e5,
                                "elements_per_vessel": 6}, 1.0e5),
    _p("element_pressure_drop", {"element_loss": [0.1e5, 0.3e5, 0.2e5]}, 0.3e5),
    _p("recovery_along", {"node_in": 2.0, "node_out": 1.8}, 0.1),
    _p("loss_along", {"pressure_in": 60e5, "pressure_out": 59.8e5}, 0.2e5),
    _p("inlet_pressure", {"feed_pressure": 60e5, "port_loss": 0.4e5}, 59.8e5),
    _p("concentrate_pressure", {"feed_pressure": 60e5, "pressure_drop": 1.2e5}, 58.8e5),
    _p("average_flux", {"permeate_flow": 0.104, "vessels": 10, "elements_per_vessel": 7, "element_area": 37.0},
       0.104 / 2590),
    _p("lead_flux", {"flux": NODES, "lead_fraction": [0.5, 0.5, 0.0]}, 3.5e-6),
    _p("element_recovery", {"element_fraction": [0.08, 0.1, 0.06]}, 0.1),
    _p("highest", {"beta": [1.1, 1.2, 1.05], "end_beta": 1.15}, 1.2),
    _p("highest", {"beta": [1.1, 1.2, 1.05], "end_beta": 1.25}, 1.25),
    _p("polarisation_by_recovery", {"element_recovery": 0.15}, 1.1107, 5e-5, "common-practice",
       "exp(0.7 x 15 %), evaluated by hand"),
    _p("per_vessel", {"flow": 0.1, "vessels": 40}, 0.0025),
    # the record
    _p("salinity_residual", {"salinity": 0.05, "found": 0.04}, 0.01, module="vessel"),
    _p("boron_per_water", {"boron_feed": 4.94e-3, "density": 1026.0, "concentration": 38.0}, 5e-6, module="vessel"),
    _p("test_feed", {"permeate_flow": 3e-4, "recovery": 0.08}, 3.75e-3, module="element"),
    _p("boron_rejection", {"boron_permeate": 4e-4, "boron_feed": 5e-3}, 0.92, module="element"),
    _p("chain_residual", {"inlet_flow": 5.0, "node_in": [5.0, 4.0, 3.5], "node_out": [4.0, 3.0, 2.0]}, -0.5,
       module="residuals"),
    _p("pressure_chain_residual", {"inlet_pressure": 6e6, "pressure_in": [6e6, 5.9e6, 5.8e6],
                                    "pressure_out": [5.9e6, 5.7e6, 5.6e6], "joint_sum": 3e4}, -1.3e5,
       module="residuals"),
    _p("joint_sum", {"interconnector_loss": 0.02e5, "elements_per_vessel": 7}, 0.12e5, module="vessel"),
    _p("pair_residual", {"node_weight": [1.0, 2.0], "pair_change": [3.0, 4.0], "node_in": [5.0, 4.0],
                          "node_out": [4.0, 3.5]}, 7.0, module="residuals"),
    _p("pressure_pair_residual", {"node_weight": [1.0, 2.0], "pair_loss": [3.0, 4.0], "pressure_in": [5.0, 4.0],
                                   "pressure_out": [4.0, 3.5]}, 7.0, module="residuals"),
    _p("weighted_change", {"node_weight": [1.0, 2.0], "node_in": [5.0, 4.0], "node_out": [4.0, 3.5]}, 2.0,
       module="residuals"),
    _p("weighted_loss", {"node_weight": [1.0, 2.0], "pressure_in": [5.0, 4.0], "pressure_out": [4.0, 3.5]}, 2.0,
       module="residuals"),
    _p("element_residual", {"element_change": 3.0, "node_change": 2.0}, 1.0, module="residuals"),
    _p("element_pressure_residual", {"element_fall": 3.0, "node_fall": 2.0}, 1.0, module="residuals"),
    _p("rejection", {"permeate_concentration": 0.39, "feed_concentration": 10.0}, 0.961, 1e-9, "geankoplis-1993",
       "example on membrane constants, R = 0.961; from memory, recomputed", "from memory", "element"),
    _p("rejection_residual", {"rated_rejection": 0.9975, "rejection": 0.9970}, 5e-4, module="element"),
    _p("test_salinity", {"concentration": 32.0, "density": 1018.6}, 32 / 986.6, module="element"),
    # two cations that pass 0.01 and two anions that pass 0.04 meet at the geometric mean
    _p("passing_charge", {"molality": [0.5, 0.1, 0.7], "ion_passage": [1.0, 0.25, 1.0],
                           "charge_number": [1.0, 2.0, 0.0]}, 0.55, module="ions"),
    _p("passing_charge", {"molality": [0.5, 0.1, 0.7], "ion_passage": [1.0, 0.25, 1.0],
                          "charge_number": [0.0, 0.0, 1.0]}, 0.7, module="ions"),
    *(_p("neutral_share", {"molality": 0.5, "ion_passage": 0.2, "cation_charge": c, "anion_charge": a,
                           "neutral_part": n, "positive": 0.1, "negative": 0.4}, e, module="ions")
      for c, a, n, e in ((1.0, 0.0, 0.0, 0.2), (2.0, 0.0, 0.0, 0.2), (0.0, 2.0, 0.0, 0.05), (0.0, 0.0, 1.0, 0.1),
                         (1.0, 1.0, 1.0, 0.35 / 3))),
    _p("share_mass", {"share": [0.01, 0.02], "molar_mass": [0.023, 0.035]}, 9.3e-4, module="ions"),
    _p("permeate_ions", {"share": 0.02, "permeate_salinity": 3e-4, "share_mass": 0.03}, 2e-4, module="ions"),
    _p("concentrate_ions", {"molality": 0.5, "feed_water": 10.0, "permeate_molality": 0.01, "permeate_water": 4.0,
                            "concentrate_water": 6.0}, 4.96 / 6, module="ions"),
    _p("charge_residual", {"permeate_molality": [0.5, 0.1, 0.4], "cation_charge": [1.0, 2.0, 0.0],
                            "anion_charge": [0.0, 0.0, 1.0]}, 0.3, module="ions"),
    _p("ion_mass_residual", {"permeate_molality": [0.01, 0.02], "molar_mass": [0.023, 0.035],
                              "permeate_salinity": 9e-4}, 3e-5, module="ions"),
    _p("train_water", {"node_water": 2.0, "vessels": 30}, 60.0, module="ions"),
]


@pytest.mark.parametrize("sr", [1.1, 1.4, 1.8])
def test_film_theory_and_solution_diffusion_close(sr):
    """Flux of salt by its permeability across the wall equals what the permeate carries away."""
    b, j, k, x = 2e-8, 8e-6, 8e-6 / (sr - 1), 0.05
    beta = t.concentration_polarisation.plain(j, k)
    through = t.salt_passage.plain(b, beta, j) * x
    wall = t.wall_salinity.plain(through, x, beta)
    assert b * (wall - through) == pytest.approx(j * through, rel=1e-12)


def test_ignoring_polarisation_misleads_by_a_tenth():
    """A rating inverted without the film: 1.0343 L/(m2 h bar) and 0.06929 L/(m2 h), 12 % low and 11 % high."""
    j, bulk, permeate = 28.8168 * LMH, 33352.6e-6, 80e-6

    def osmotic(x):  # kPa after ASTM D4516, x in kg/kg taken as kg/L
        c = x * 1e6
        return 0.2654 * c * 298.15 / (1000 - c / 1000) * 1e3

    a = j / t.net_driving_pressure.plain(55.1e5, 0.0, osmotic(bulk), osmotic(permeate))
    b = j * permeate / (bulk - permeate)
    assert a / LMH * BAR == pytest.approx(1.0343, rel=1e-4)
    assert b / LMH == pytest.approx(0.06929, rel=1e-3)
    wall = t.wall_salinity.plain(permeate, bulk, t.concentration_polarisation.plain(j, 266.73 * LMH))
    with_film = j / t.net_driving_pressure.plain(55.1e5, 0.0, osmotic(wall), osmotic(permeate))
    assert with_film / LMH * BAR == pytest.approx(1.16981, rel=1e-4)
