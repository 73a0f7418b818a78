"""What a quantity of a job file may be, so that a wrong unit is refused with the one meant.

The bounds are wide: whatever gear for cars, homes and halls may have lies within. Our own brackets:
no published source.
"""

from __future__ import annotations

import math

from boxlab.base.quantities import UNITS, digits

_SIZE = (2e-3, 0.25, 1.5)
_VOLUME = (1e-4, 0.04, 5.0)
_SUPPLY = (3.0, 13.0, 500.0)
_PASS = (1.0, 30.0, 5000.0)
_SLOT = (1e-3, 0.1, 3.0)
_GAP = (5e-3, 0.4, 10.0)
# key: (least, usual, most), in SI
BOUNDS = {
    "sd": (1e-3, 0.04, 0.6), "size": (0.02, 0.25, 1.2), "mms": (5e-4, 0.1, 3.0),
    "cms": (1e-6, 2e-4, 0.03), "rms": (0.02, 3.0, 300.0), "xmax": (1e-4, 0.012, 0.08),
    "frame": _SIZE, "cutout": _SIZE, "depth": _SIZE, "magnet": _SIZE, "magnet_depth": _SIZE,
    "weight": (0.02, 5.0, 500.0), "added_mass": (0.0, 0.1, 5.0),
    "fs": (0.5, 30.0, 3000.0), "fp": (0.5, 15.0, 500.0), "fb": (0.5, 35.0, 500.0),
    "vas": _VOLUME, "vap": _VOLUME, "volume": _VOLUME, "test_volume": _VOLUME,
    "re": (0.1, 4.0, 200.0), "bl": (0.2, 12.0, 200.0), "le": (1e-7, 1e-3, 0.1),
    "pe": (0.5, 300.0, 3e4),
    "port_diameter": (5e-3, 0.08, 1.0), "port_area": (1e-5, 5e-3, 1.0),
    "port_length": (1e-3, 0.2, 10.0), "slot_width": _SLOT, "slot_height": _SLOT,
    "port_flare": (1e-4, 0.02, 0.5), "board": (1e-3, 0.018, 0.2),
    "minimum": (0.1, 2.0, 64.0), "rail": (1.0, 60.0, 500.0), "current": (0.1, 30.0, 1000.0),
    "rated_at": _SUPPLY, "voltage": _SUPPLY, "least": _SUPPLY, "supply": _SUPPLY,
    "resistance": (1e-5, 0.03, 5.0), "resistor": (0.01, 10.0, 1e5),
    "high_pass": _PASS, "low_pass": _PASS, "boost_at": _PASS, "shelf_at": _PASS,
    "width": _GAP, "height": _GAP, "depth_bottom": _GAP, "depth_top": _GAP,
    "length": (0.05, 4.0, 60.0),
}  # fmt: skip


def unlikely(key: str, value: float, number: float, kind: str) -> str:
    """Why a quantity cannot be meant, with what probably is; "" where it may be.

    Parameters
    ----------
    key : of the job file
    value : in SI
    number : as typed, before its unit
    kind : of quantity

    >>> unlikely("xmax", 0.13, 13.0, "length")
    'that is more than there is (8 cm at most). Is "13 mm" meant?'
    """
    least, usual, most = BOUNDS.get(key, (-math.inf, 1.0, math.inf))
    if least <= value <= most or value <= 0:  # what is not above zero is refused elsewhere
        return ""
    told = f"less than there is ({_shown(least, kind)} at least)"
    if value > most:
        told = f"more than there is ({_shown(most, kind)} at most)"
    others = [(unit.into_si(number), unit) for unit in UNITS[kind]]
    fits = [
        (abs(math.log(si / usual)), unit) for si, unit in others if least <= si <= most and si > 0
    ]
    if not fits:
        return f"that is {told}."
    unit = min(fits, key=lambda each: each[0])[1]
    return f'that is {told}. Is "{digits(number)} {unit.symbol}" meant?'


def _shown(value, kind):
    """A bound in the largest unit in which it is one or more."""
    units = [u for u in UNITS[kind] if not u.symbol.startswith(("in", "ft", "lb", "oz"))]
    fitting = [u for u in units if abs(u.from_si(value)) >= 1] or units[:1]
    unit = max(fitting, key=lambda each: each.size)
    return f"{digits(unit.from_si(value))} {unit.symbol}"
