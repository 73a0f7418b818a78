"""Measured impedance: read a sweep from any plain table, find the tuning, fit driver and box."""

from boxlab.sweep.box_fit import fit_box
from boxlab.sweep.box_found import BoxFit
from boxlab.sweep.driver_fit import fit_driver
from boxlab.sweep.driver_found import DriverFit
from boxlab.sweep.estimate import Estimate
from boxlab.sweep.radiator import (
    WASHERS,
    RadiatorFound,
    Washer,
    in_washers,
    mass_table,
    mass_to_add,
    radiator_from_tunings,
)
from boxlab.sweep.reading import read_sweep
from boxlab.sweep.standard import Rated, Resonance, rated_impedance, resonance_of
from boxlab.sweep.tuning import find_tuning
from boxlab.sweep.tuning_found import Route, Tuning
from boxlab.sweep.value import Line, Sweep

__all__ = [
    "WASHERS",
    "BoxFit",
    "DriverFit",
    "Estimate",
    "Line",
    "RadiatorFound",
    "Rated",
    "Resonance",
    "Route",
    "Sweep",
    "Tuning",
    "Washer",
    "find_tuning",
    "fit_box",
    "fit_driver",
    "in_washers",
    "mass_table",
    "mass_to_add",
    "radiator_from_tunings",
    "rated_impedance",
    "read_sweep",
    "resonance_of",
]
