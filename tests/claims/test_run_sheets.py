"""What the workshop pages say in numbers: of the class's gear, and of the lessons' own minutes."""

import re

import numpy as np
from said import ROOT, about, claim, figures, pages, read

from boxlab import cubic_feet, disc_area, litres, mm, to_cm
from boxlab.car.wiring import networks
from boxlab.explainers import explainer
from boxlab.gear.scenario import TEN_INCH_DRIVER
from boxlab.measure.fit.washers import WASHERS
from boxlab.model.port_equivalent import pipe_length, smallest_quiet


def minutes(lesson, pattern):
    """The first number that `pattern` finds on the page of a lesson."""
    (name,) = (each for each in pages() if each.startswith(lesson) and each.endswith(".ipynb"))
    return int(re.search(pattern, pages()[name])[1])


def asked(lesson):
    """What it takes with a class and no exercises, by its note for instructors."""
    return minutes(lesson, r"For instructors: (\d+) minutes")


def alone(lesson):
    """What it takes a learner, exercises and all."""
    return minutes(lesson, r"Time needed: (\d+) minutes")


def spare(lesson):
    """What the exercises take on top, as the note for instructors says."""
    return minutes(lesson, r"instructors: \d+ minutes, or (\d+) with all") - asked(lesson)


def test_length_of_the_classes():
    hours = {
        name: [int(n) / 60 for n in re.findall(r"inute by minute[^|]*?: (\d+) minutes", page)]
        for name, page in pages().items() if name.startswith("workshop/")
    }  # fmt: skip
    (two,), (half,) = hours["workshop/two-hour-class.md"], hours["workshop/half-day.md"]
    evenings = hours["workshop/four-evenings.md"]
    claim("port or radiator, and why | {} hours", two)
    claim("choose, fit, wire | {} hours", half)
    claim("three more for home | {} × {} hours", len(evenings), evenings[0])


def test_two_at_a_laptop_count_as_one():
    people = 16
    assert sum("up to sixteen people, two to a laptop" in text for text in pages().values()) == 3
    claim("the summary of what was handed in shows {} at most", people / 2)
    claim("of sixteen in pairs the summary shows {}", people / 2)


def test_what_is_left_for_home():
    claim("Try it, of lesson 01 | {} minutes", spare("01"))
    halves = minutes("03", r"or two halves of (\d+) with all")
    claim("Try it, of lessons 03 and 04 | {} minutes", 2 * halves - asked("03") + spare("04"))
    first = minutes("08", r"\| (\d+) \| See \|")
    claim("who wants to measures the own car as it says | {} minutes",
          asked("08") + spare("08") - first)  # fmt: skip
    first = minutes("09", r"\| (\d+) \| See \|")
    check = int(
        re.search(r"\[Self-check\]\S* \|[^|]*\| (\d+)", (ROOT / "README.md").read_text("utf-8"))[1]
    )
    claim("and Try it; then the self-check | {} and {} minutes",
          about(asked("09") + spare("09") - first), check)  # fmt: skip
    claim("Lesson 11, a step a day | {} × {} minutes", 6, asked("11") / 6)
    more = minutes("12", r"or (\d+) with a bench") - asked("12")
    claim("with a bench of one's own {} hour more | {} minutes", more / 60, alone("12"))
    claim("they ask for {} minutes more", sum(map(asked, ("08", "09", "11", "12"))))


def test_the_pipe_and_the_box_on_the_table():
    box = cubic_feet(0.5)
    long = to_cm(pipe_length(litres(14), 45.0, disc_area(mm(100))))
    claim("Closed box of about {} L (half a cubic foot)", 1e3 * box)
    claim("Pipe of {} mm (4 in), cut to {} cm", 100, long)
    claim("the {} mm pipe cut to {} cm", 100, long)
    claim("Hand round the {} mm pipe and the small box", 100)
    quiet = smallest_quiet(TEN_INCH_DRIVER, litres(14), 45.0, 32, speed=17, ql=7)
    assert quiet == np.clip(quiet, mm(95), mm(105))  # so a pipe of 100 mm is about the one at 32 V
    claim("let them read out the space it takes at {} V", 32)


def test_washers_on_the_scale():
    each = 1e3 * WASHERS["M16"].mass
    one, _, _, two, *_ = read("radiator_choices", 2)
    claim("come to about {} g each by the class's own figure: {} g are {}, {} g are {}",
          each, one, round(one / each), two, round(two / each))  # fmt: skip


def test_coils_on_the_table():
    coil = 4
    assert coil not in [n.load for n in networks(coil, coils=2)]
    claim("Let them look for {} Ω", coil)
    claim("Coils or resistors of {} Ω, and an ohmmeter", coil)


def test_first_experiment():
    """As far as it is dragged the cone's rest goes well down, and the control reaches so far."""
    item, most = explainer("first_experiment"), 200
    claim("Everybody drags Weights to {} g and back", most)
    claim("Drag Weights on the radiator to {} g, and back to 0", most)
    usual, far = (figures(item(weights=g).readout[0]) for g in (item.start["weights"], most))
    assert far[0] < 0.8 * usual[0] and far[1] < 0.8 * usual[1]
    (control,) = (c for c in item.controls if c.name == "weights")
    assert control.low <= most <= control.high


def test_notes_and_watts_to_show():
    claim("than the port that fits.” Then show {} Hz", 45 / 2)
    low, high = 29, 31
    back, on = (
        explainer("what_a_camera_sees")(tone=tone, fb=30, rate=30).readout for tone in (low, high)
    )
    assert "running backwards" in back[0] and "backwards" not in on[0]
    claim("Film a box at {} and {} Hz", low, high)
    few, many = 50, 1000
    first, last = (explainer("small_or_large")(amplifier=watts).readout[0] for watts in (few, many))
    assert first.endswith("apart.") and last.endswith("the same.")
    claim("or for all the watts you have?” Then {} W and {} W", few, many)
