"""Inputs of the demo plants that may be moved without moving anything, each with its reason.

Patterns are as narrow as the reason; the test also refuses an entry that explains nothing.
"""

from __future__ import annotations

__all__ = ["STILL"]

_RECORD = "stands in the record for the reader; no model takes it yet"
_MARGIN = "the ratio of suction heads asks for more than this length, and governs"
_LENGTH = "the length asks for more head than the ratio, and governs"
_REVIEW = "asks for review when it is crossed; no value of this plant is near it"
_CURVE = "the motor is smaller than where its efficiency stops rising"
_PLACE = "the places along the line keep their order"
_PART = "a fraction of itself: any number but zero says the same"
_STAGES = "a small step gives the same whole number of stages"
_ROUTE = "another route of remineralisation takes it"
_WRITTEN = "the doses of this plant are written, not solved"
_NO_B = "boron is not part of this split"
_NO_TEST = "no timed filtration is written"

_NO_PROBE = "no chlorine in this plant, so no probe"
_NO_BIOCIDE = "no biocide in this plant"
_NO_GENERATOR = "no generator in this plant"
_STEP = "ranges, signals and modules have whole steps, and a hundredth more is the same one"
_TRIAL = "moves the trial of the sequences, which is made on demand and stands in no record"
_PACK = "moves documents of the pack, which are made on demand and stand in no record"
_WRITTEN_RECOVERY = "the recovery of this plant is written, not proposed"
_FABRICATION = "moves weights, skids and shipping, which are made on demand and are no part of the plant's record"
_BOTH = {
    "fabrication.*": _FABRICATION,
    "membrane.recovery_maximum": _WRITTEN_RECOVERY, "membrane.recovery_concentrate": _WRITTEN_RECOVERY,
    "piping.runs[*].friction_slope": "the velocity decides on this bore", "piping.runs[*].wall_minimum": "the pressure "
    "asks for a thicker wall than the least one", "contactor.diameter_largest": "smaller contactors are enough",
    "filters.support.uniformity*": "the support is not graded by its uniformity",
    "cost.exponent[*": "the size is that of the curve, and one to any power is one",
    "cost.material_fraction[*": "the material is that of the curve, and their prices are equal",
    "offer.*": _PACK,
    "limits.membrane_oxidant": _TRIAL, "limits.pressure_ramp": _TRIAL,
    "control.range_factor": _STEP, "control.trip_in_range": _STEP, "control.spare_signals": _STEP,
    "control.analogue_inputs": _STEP, "control.digital_inputs": _STEP, "control.digital_outputs": _STEP,
    "power.rules": "the rules that the motor ratings bring are those of the next choice",
    "power.standby": "the largest load that is not continuous counts whole, which is more",
    "power.intermittent": "the largest load that is not continuous counts whole, which is more",
    "power.generator_*": _NO_GENERATOR,
    "power.medium_voltage_from": "no motor lies that near to it",
    "power.direct_up_to": "no motor lies that near to it",
    "power.metered_fraction": "no consumer's or panel's share of the energy lies that near to it",
    "power.submeter": "its class stands in the list of meters; the guarantee is proved at the incomer",
    "power.circuits": "the table has whole circuits, and a hundredth more is the same row",
    "power.harmonic_limits*": "the order nearest to its limit is another",
    "limits.voltage_drop_*": "the current decides on the section before the voltage does",
    "cip.column_vessels": "vessels cleaned at once are whole columns, and a hundredth more is the same number",
    **dict.fromkeys(("limits.beta_max", "limits.salt_rejection", "limits.backwash_off_line", "limits.backwash_rate",
                     "limits.feed_toc", "limits.meter_loading", "limits.isobaric_*", "limits.pump_flow_ratio_low",
                     "limits.product_boron_eu", "water.toc"), _REVIEW),
    "feed_pump.npsh_ratio": _LENGTH, "backwash_pump.npsh_ratio": _LENGTH,
    "hp_pump.kinds*.flow_high": "the duty lies far from the largest flow of a displacement pump",
    "hp_pump.kinds*.worth_saving": "what another kind of pump saves lies far from what is worth a change",
    "water.turbidity": _RECORD, "water.suspended_solids": _RECORD,
    "backwash_tank.*": "no backwash tank in this plant", "acid.chemical": "no acid in this plant",
    "acid.target_ph": "no acid in this plant", "filters.diameter_largest": "smaller filters are enough",
    "filters.fluidisation_factor": "the backwash rate aims at an expansion, not at a multiple of fluidisation",
    "injection.points*.travel_time": _PLACE, "*_pump.standby_count": _RECORD,
    "*_pump.drive_efficiency": "no speed drive on this pump", "*_pump.npsh_margin": _MARGIN,
    "*.motor_plateau": _CURVE, "piping.runs[backwash].service": "the next service has the same velocity limit",
    "piping.runs[flush].velocity_service": "the next service asks for the same bore",
    "hp_pump.specific_speed_wanted": _STAGES, "hp_pump.stages_maximum": _STAGES,
    "energy_recovery.concentrate_pump_efficiency": "no wheel in this plant",
    "hp_pump.inrush": "stands in the note on starting, for who sizes the supply",
    "scaling.*.limit_without": "the limit with antiscalant is judged; this one moves the finding when it is crossed",
    "fouling.interval": _NO_TEST, "cartridge.change_longest": "solids end the run of cartridges before slime does",
    "membrane.neutral_part*": _PART, "product.*molar_mass[B]": _NO_B,
    "dechlorination.orp_*": "set in commissioning; stands in a note",
    "biocide.dose": _NO_BIOCIDE, "biocide.shock_*": _NO_BIOCIDE,
    "interpass_ph.*": "no second pass in this plant", "design_pressure.*_second": "no second pass in this plant",
    "corrosion_inhibitor.dose": "no inhibitor in this plant",
    "dosing.containment_total": "one bulk tank a bund: 110 % of the largest is more",
    "chemical_storage.bays[*": "another wall stands between, or the neighbours do not react",
    "*.load_factor": "days of supply are more than a delivery",
    "outage.dosing_standby": "one on standby is enough for the whole duty",
    "piping.runs*.velocity_material": "the service asks for less than the material allows",
    "product.acid_dose": _ROUTE, "product.lime_dose": _ROUTE, "product.alkali_dose": _ROUTE,
    "product.blend_fraction": _ROUTE, "product.window_margin": _WRITTEN, "product.contactor_short": _WRITTEN,
    "product.degasifier_approach": "no degasifier in this plant",
    "product.air_carbon_dioxide": "no degasifier in this plant",
    "limits.cleaning_temperature_wide_step": "both steps lie within pH 1 to 11",
    "cip.cartridge_flow": "a small step gives the same whole number of cartridges",
}
_DRUM = "the vessels stand upright"
_NO_FILTERS = "no filters in this plant"
STILL: dict[str, dict[str, str]] = {
    "harbour-town.toml": _BOTH | {
        "cip.sdi_exponent": "the RO feed has the reference index, and one to any power is one",
        "filter_vessel.drum_length": _DRUM, "filters.support.sphericity*": "the loss of the support is Ergun's",
        "filters.support.d60*": "the support is judged by its coarse end only in its own check",
        "filters.support.d90*": "the support lies still by a wide margin",
    },
    "beach-well.toml": _BOTH | {
        "control.turbidity_trip": "no media filters in this plant, so no filtrate to watch",
        "control.tank_fraction[flush]": "the suction of the flush pump asks for more depth",
        "water.oxygen": _RECORD,
        "water.proportion_band": "no ion's departure lies between the two bands; for a well it is a note",
        "filters.*": _NO_FILTERS, "backwash_pump.*": _NO_FILTERS, "scour_blower.*": _NO_FILTERS,
        "fouling.expected_sdi": "no filters, so the index of the raw water is judged",
        "piping.runs[*].wall_ratio": "the least wall of so small a pipe is thicker",
        "filter_vessel.*": _NO_FILTERS, "intake.chlorination_point": "no chlorine in this plant",
        "intake.screen_*": "a well has no screen",
        "intake.contact_fraction": "no chlorine in this plant", "intake.cell_energy": "no chlorine in this plant",
        "piping.runs[backwash]*": _NO_FILTERS, "feed_pump.carries_filter_to_waste": _NO_FILTERS,
        "cip.bank": "the few vessels of this plant are one bank either way",
        "design_pressure.class_filters": _NO_FILTERS, "design_pressure.*_backwash": _NO_FILTERS,
        "energy_recovery.unit_flow": "one ERD unit is enough, before and after",
        "membrane.row": "steps of one vessel or two give the same count",
        "injection.probe_time": _NO_PROBE, "injection.delay_time": _NO_PROBE, "injection.valve_time": _NO_PROBE,
        "dosing.speed_span": "speed alone covers the turndown of each pump",
    },
}
