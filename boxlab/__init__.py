"""boxlab: compact bass enclosures for vehicles, modelled, measured and taught.

The names a lesson imports. Each is loaded when first used, so that `import boxlab` stays light.
"""

from importlib import import_module

_ROOMS = {
    "model.air": "Air",
    "base.checks": "UnitWarning",
    "base.units": """
        litres to_litres cubic_feet to_cubic_feet cubic_inches to_cubic_inches mm to_mm cm to_cm
        inches to_inches feet to_feet cm2 to_cm2 square_inches to_square_inches grams to_grams
        ounces to_ounces pounds to_pounds mh to_mh mm_per_newton to_mm_per_newton
        disc_area disc_diameter
    """,
    "model.driver": "Driver",
    "model.datasheet": "check_datasheet",
    "model.radiator": "Radiator",
    "model.vents": "Port",
    "model.enclosure": "SealedBox PortedBox RadiatorBox",
    "model.mixed_radiators": "MixedRadiatorBox each_radiator",
    "model.losses": "vent_q with_vent_q total_q",
    "model.response": "solve Response",
    "model.chain": "Chain HighPass LowPass Peak Shelf",
    "model.limits": "max_output Ceiling",
    "model.first_stop": "first_stop",
    "model.power_stage": "Supply PowerStage",
    "model.passband": "passband",
    "model.several": "together isobaric",
    "model.coil_heat": "CoilHeat usual_heat warmed",
    "model.warm_coil": "level_lost",
    "model.ports_built": "Slot Flare",
    "model.port_fitting": "length_for",
    "model.port_loss": "lost_in_port",
    "model.completion": "complete_driver complete_radiator",
    "measure": """
        read_sweep Sweep find_tuning fit_driver fit_box radiator_from_tunings mass_to_add in_washers
    """,
    "measure.fit.estimate": "Estimate",
    "measure.record": """
        test_signal read_recording near_field amplifier_on_music phase_between tuning_against_level
        play_and_record RecordingError
    """,
    "sound.hearing": "NIOSH OSHA allowed_time permitted dose weighting",
    "car.joinery": "Gap Carcass",
    "car.solids": "Block",
    "car.cut_list": "cut_list weight",
    "car.clearance": "Mounting clearances",
    "car.compare_builds": "compare_builds",
    "car.vehicle": "Cabin at_seat",
    "car.wiring": "Amplifier networks",
    "car.cable": "supply_current",
    "car.ampacity": "ampacity size_cable",
    "car.restraint": "holding_force",
    "design.radiator_need": "needed_ratio",
    "gear.job": "read_job Job",
    "gear.job_keys": "JobError",
    "gear.job_file": "new_job",
    "panel.live_panel": "Panel",
    "panel.own_box": "own_box",
    "publish.sheet.desk": "job_desk",
    "explainers": "explainer all_explainers",
}
_HOME = {name: room for room, names in _ROOMS.items() for name in names.split()}

__all__ = sorted(_HOME)


def __getattr__(name):
    if name not in _HOME:
        raise AttributeError(f"boxlab has no {name!r}; it has {', '.join(__all__)}")
    value = getattr(import_module(f"boxlab.{_HOME[name]}"), name)
    globals()[name] = value
    return value


def public_names():
    """(name, the module of boxlab that it comes from) of everything importable from here."""
    return tuple(_HOME.items())


def __dir__():
    return sorted([*globals(), *__all__])
