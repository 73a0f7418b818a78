"""Ranges that an assumed size leaves in an answer, by hand, and where they once were lost."""

import math
import re

import pytest

from boxlab import read_job
from boxlab.explainers import explainer
from boxlab.explainers._own import with_job
from boxlab.panel import share_text

RADIATOR = """\
[job]
name = "ten with radiator"
[driver]
fs = "29 Hz"
qts = "0.44"
vas = "1.15 ft3"
size = "10 in"
re = "3.3 ohm"
xmax = "0.55 in"
pe = "400 W"
[radiator]
count = 1
size = "12 in"
mms = "8 oz"
fp = "15 Hz"
xmax = "0.7 in"
[box]
kind = "radiator"
volume = "0.6 ft3"
[amplifier]
"4 ohm" = "400 W"
"""
MASS, VOLUME = 8 * 0.0283495, 0.6 * 0.0283168  # kg, m³
SIZES = [math.pi / 4 * (share * 12 * 0.0254) ** 2 for share in (0.79, 0.82, 0.86)]  # m²


def stiffness(sd):
    """N/m of the radiator's suspension and of the air behind it, written out here."""
    return MASS * (2 * math.pi * 15) ** 2 + 1.2041 * 343.2**2 * sd**2 / VOLUME


def to_add(sd, wanted):
    return stiffness(sd) / (2 * math.pi * wanted) ** 2 - MASS  # kg


def tuning(sd):
    return math.sqrt(stiffness(sd) / MASS) / (2 * math.pi)  # Hz


@pytest.fixture
def ten(tmp_path):
    path = tmp_path / "ten.job.toml"
    path.write_text(RADIATOR, encoding="utf-8")
    return read_job(path)


def numbers(text):
    return [float(each) for each in re.findall(r"\d+(?:\.\d+)?", text)]


def test_weights_hold_what_is_assumed_of_the_radiator(ten):
    """Was: "add 124 ± 7 g" of an assumed area, and "the tuning fell by 15 %" that nobody saw."""
    scene = with_job(explainer("weights_for_a_tuning"), ten)(wanted=40.0)
    told = scene.readout[0].partition("40 Hz")[2]
    least, most = numbers(told)[:2]
    assert (least, most) == pytest.approx(
        (1e3 * to_add(SIZES[0], 40), 1e3 * to_add(SIZES[2], 40)), abs=1.0
    )
    every = " ".join([*scene.readout, scene.caption, scene.title])
    assert "fell by" not in every and "±" not in every and "not measured" in every
    assert f"{tuning(SIZES[0]):.1f} to {tuning(SIZES[2]):.1f} Hz" in every
    short = share_text.in_short(with_job(explainer("weights_for_a_tuning"), ten), scene)
    assert f"{least:.0f} to {most:.0f} g" in short
    assert not any("measured" in line.label for plot in scene.plots for line in plot.lines)


def test_two_tunings_that_somebody_typed_are_still_two_measurements(ten):
    scene = with_job(explainer("weights_for_a_tuning"), ten)(first=46.0, second=38.0, wanted=40.0)
    assert "±" in scene.readout[0] and "fell by 17 %" in scene.readout[1]
