"""Measured impedance: read a sweep from any plain table, find the tuning, fit driver and box."""

from boxlab.measure.fit.box_fit import fit_box
from boxlab.measure.fit.box_found import BoxFit
from boxlab.measure.fit.driver_fit import fit_driver
from boxlab.measure.fit.driver_found import DriverFit
from boxlab.measure.fit.estimate import Estimate
from boxlab.measure.fit.radiator_mass import (
    RadiatorFound,
    mass_table,
    mass_to_add,
    radiator_from_tunings,
)
from boxlab.measure.fit.standard import Rated, Resonance, rated_impedance, resonance_of
from boxlab.measure.fit.tuning import find_tuning
from boxlab.measure.fit.tuning_found import Route, Tuning
from boxlab.measure.fit.washers import (
    BOLT,
    INCH_WASHERS,
    WASHERS,
    Washer,
    in_inch_washers,
    in_washers,
)
from boxlab.measure.read.sweep import read_sweep
from boxlab.measure.read.value import Line, Sweep

__all__ = [
    "BOLT",
    "INCH_WASHERS",
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
    "in_inch_washers",
    "in_washers",
    "mass_table",
    "mass_to_add",
    "radiator_from_tunings",
    "rated_impedance",
    "read_sweep",
    "resonance_of",
]
