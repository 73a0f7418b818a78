"""What the answers to predictions say in fixed words; their other numbers are the model's own."""

import numpy as np
import worked_job as made
from said import about, claim

from boxlab.explainers._one_box import box_of
from boxlab.gear.scenario import TEN_INCH_DRIVER
from boxlab.model.motion import phase_at_tuning
from boxlab.quiz.exercises import a_box_comes_in as tasks


def test_losses_hardly_turn_the_quarter_cycle():
    ours, wreck = box_of("radiator", 36), box_of("radiator", 36, 2, 2)
    off = [float(phase_at_tuning(TEN_INCH_DRIVER, box)) - 90 for box in (wreck, ours)]
    claim("The right way, but by {}° for that box and {}° for ours", *off)


def test_half_a_motor():
    half = 20 * np.log10(2)
    claim("Half the force is {} dB, and that would be all", half)
    claim("for the same volts, which is {} dB. Near an impedance peak", half)
    claim("Half the watts from the same motor would be {} dB", half / 2)
    told = tasks._coil()
    claim("{} to {} dB, by the note", told["least"], told["most"])
    claim("From {} to {} Hz it is …", 30, 80)


def test_weights_and_room():
    moves = made.R_MMS + made.FOUND
    fb = made.TRUTH["box"]["fb"]
    more = 1e3 * (made.AFTER - made.FOUND)
    claim("About {} g ({} oz) ¶ The amplifier", about(more), more / 28.35)
    claim("would bring the tuning down by √{}, to {} Hz", (moves + moves) / moves, fb / np.sqrt(2))
    travel = tasks.measured(tasks.HANDED).radiator.xmax
    claim("They move more than before, and have {} mm", 1e3 * travel)
    claim("Now {} Hz lies closer to the tuning", 30)
