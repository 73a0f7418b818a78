"""Where the electrical power goes. Derived: every loss of the circuit counted one by one."""

import numpy as np
import pytest
from hypothesis import given, settings
from strategies import airs, boxes, drivers

from boxlab import solve

pytestmark = pytest.mark.filterwarnings("ignore::boxlab.base.checks.UnitWarning")
FREQUENCY = np.geomspace(6, 500, 80)


def losses(driver, box, r, air, current, source_resistance):
    """Watts in each resistance, at each frequency, from the solved motion."""
    coil = (driver.semi_k * (2j * np.pi * r.frequency) ** driver.semi_n).real
    watts = {
        "source": source_resistance * np.abs(current) ** 2,
        "coil": driver.re * np.abs(current) ** 2,
        "semi-inductance": coil * np.abs(current) ** 2,
        "cone suspension": driver.rms * np.abs(r.cone_velocity) ** 2,
    }
    if hasattr(box, "ql") and np.isfinite(box.ql):
        compliance = box.volume / (air.density * air.speed_of_sound**2)
        resistance = box.ql / (2 * np.pi * box.tuning(air) * compliance)
        watts["leak"] = np.abs(r.box_pressure) ** 2 / resistance
    if hasattr(box, "radiator"):
        velocity = r.vent_volume_velocity / (box.count * box.radiator.sd)
        watts["radiators"] = box.count * box.radiator.rms * np.abs(velocity) ** 2
    return watts


@settings(max_examples=60, deadline=None)
@given(driver=drivers(), box=boxes(), air=airs())
def test_input_equals_dissipation(driver, box, air):
    resistance, voltage = 0.15, 12.0
    r = solve(driver, box, FREQUENCY, voltage=voltage, air=air, source_resistance=resistance)
    current = voltage / (r.impedance + resistance)
    watts = losses(driver, box, r, air, current, resistance)
    np.testing.assert_allclose(sum(watts.values()), (voltage * current.conj()).real, rtol=1e-9)
    assert all(np.all(w >= 0) for w in watts.values())
