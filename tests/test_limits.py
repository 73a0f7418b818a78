"""The loudest level keeps to a port's air speed, and no power goes without its load."""

import numpy as np
import pytest

from boxlab import PortedBox, disc_area, litres, max_output, mm, solve
from boxlab.gear.scenario import TEN_INCH_DRIVER as DRIVER
from boxlab.model.limits import AIR_SPEED
from boxlab.model.validity import PORT_SPEED as SAME
from boxlab.model.vents import PORT_SPEED

BOX = PortedBox.tuned(litres(14), 45, disc_area(mm(50)), ql=7)


def air_speed(top):
    return top.voltage * solve(DRIVER, BOX, top.frequency, 1.0).vent_air_speed


def test_a_port_is_not_driven_past_its_air_speed_unless_asked():
    kept = max_output(DRIVER, BOX, [45.0], power=300, load=4)
    free = max_output(DRIVER, BOX, [45.0], power=300, load=4, air_speed=None)
    assert PORT_SPEED == SAME == 17.0
    assert kept.limit[0] == AIR_SPEED and air_speed(kept)[0] == pytest.approx(PORT_SPEED)
    assert air_speed(free)[0] > 60
    # the level falls with the speed: the model is linear
    assert free.spl - kept.spl == pytest.approx(20 * np.log10(air_speed(free) / PORT_SPEED))
    assert max_output(DRIVER, BOX, [45.0], power=300, load=4, air_speed=np.inf).spl == free.spl
    assert max_output(DRIVER, BOX, [45.0], power=300, load=4, air_speed=17.0).spl == kept.spl


def test_a_power_without_its_load_is_refused_and_the_words_say_what_to_do():
    with pytest.raises(ValueError, match=r"power = 500 W .* load=4 .* load=driver\.re"):
        max_output(DRIVER, BOX, [45.0], power=500)
    into_coil = max_output(DRIVER, BOX, [45.0], power=500, load=DRIVER.re)
    same = max_output(DRIVER, BOX, [45.0], voltage=np.sqrt(500 * DRIVER.re))
    assert into_coil.spl == same.spl
    assert max_output(DRIVER, BOX, [45.0], voltage=20).voltage[0] <= 20
