"""The answer in 40 words about somebody's own box: with its doubt, and with what it hangs on."""

import re

import numpy as np
import pytest
from any_job import job_of
from test_job_follows import SLOT

from boxlab.explainers import explainer
from boxlab.explainers._own import with_job
from boxlab.model.response import solve
from boxlab.panel import share_text

TENS = """\
[job]
name = "r10"
[driver]
fs = "32 Hz"
qts = "0.42"
vas = "30 L"
sd = "330 cm2"
re = "3.5 ohm"
xmax = "14 mm"
pe = "400 W"
[radiator]
count = 2
sd = "330 cm2"
mms = "160 g"
fp = "18 Hz"
xmax = "16 mm"
added_mass = "3 oz"
[box]
kind = "radiator"
volume = "0.75 ft3"
[amplifier]
"4 ohm" = "450 W"
"""
FIFTEEN = SLOT + 'port_kind = "slot"\n[amplifier]\n"4 ohm" = "600 W"\n'
ROUND = """\
[job]
name = "f12"
[driver]
fs = "28 Hz"
qts = "0.40"
vas = "2.6 ft3"
sd = "80 in2"
re = "1.8 ohm"
xmax = "14 mm"
pe = "700 W"
[box]
kind = "ported"
volume = "1.75 ft3"
port_diameter = "4 in"
port_length = "15 in"
[amplifier]
"2 ohm" = "800 W"
"""
CABLED = """\
[job]
name = "c12"
[driver]
count = 2
wiring = "parallel"
fs = "31 Hz"
qts = "0.44"
vas = "2.2 ft3"
sd = "79 in2"
re = "3.5 ohm"
xmax = "12 mm"
pe = "500 W"
[box]
kind = "sealed"
volume = "2 ft3"
[amplifier]
"2 ohm" = "1000 W"
[cable]
length = "18 ft"
laid = "closed in"
"""
DUAL = """\
[job]
name = "d12"
[driver]
coils = 2
coil_wiring = "series"
fs = "29 Hz"
qts = "0.45"
vas = "2.1 ft3"
sd = "78 in2"
re = "7.4 ohm"
xmax = "13 mm"
pe = "600 W"
[box]
kind = "sealed"
volume = "1.1 ft3"
[amplifier]
"4 ohm" = "350 W"
"2 ohm" = "600 W"
"""


@pytest.fixture
def ask(tmp_path):
    """Of a question and a job's text: the explainer, its scene, and its first short line."""

    def asked(name, text):
        item = with_job(explainer(name), job_of(tmp_path, text))
        scene = item()
        short = share_text.in_short(item, scene).splitlines()[0]
        assert len(short.split()) <= share_text.SHORT
        return item, scene, short

    return asked


def test_a_verdict_in_doubt_says_so_in_short(ask):
    """Was: "2.27 to 3.10 ...; the 2.29 fitted is too little", which lies within that range."""
    _, scene, short = ask("radiator_need", TENS)
    low, high, fitted = map(
        float, re.search(r"([\d.]+) to ([\d.]+) times.*the ([\d.]+) fitted", short).groups()
    )
    assert low < fitted < high and "depends on an assumed value" in scene.message
    assert "(Depends on an assumed value.)" in short


def test_what_no_assumed_value_turns_is_in_no_doubt(ask):
    """Was: "23 to 25 m/s. Above 17 m/s: expect to hear it. (Whether this is so depends ...)"."""
    _, scene, short = ask("slot_or_tube", FIFTEEN)
    speed = next(each for each in scene.readout if "its air reaches" in each)
    low = float(re.search(r"reaches (\d+)", speed)[1])
    assert low > 17 and "expect to hear it" in speed and "depends" not in speed
    span = re.search(r"[\d.]+ to [\d.]+ Hz", scene.readout[1])[0]
    assert span in short


def test_a_high_pass_in_short_is_that_one_and_says_the_travel(ask):
    """Was: "leaves room for 1.0 to 1.5 dB more", of no frequency, no slope and no travel."""
    item, scene, short = ask("what_a_high_pass_saves", ROUND)
    assert f"{item.start['high_pass']:g} Hz, {item.start['order']}" in short
    spans = re.findall(r"([\d.]+ to [\d.]+ mm)", scene.readout[1])
    assert len(spans) == 2 and all(span in short for span in spans)
    assert "depends" not in scene.readout[0]  # was, of "at 31 Hz" against "from 30 to 32 Hz"


def test_a_cable_in_short_says_what_it_is_for(ask):
    """Was: "take 0 AWG behind a fuse of 100 A", of no length, no volts and no larger current."""
    _, _, short = ask("cable_and_fuse", CABLED)
    for said in ("18.0 ft", "closed in", "13.8 V", "75 %", "0 AWG", "100 A"):
        assert said in short
    assert f"{1000 / 0.75 / 12:.0f} A at 12 V, rails held" in short
    told = CABLED.replace("[cable]", '[cable]\nsupply = "13 V"')
    assert "rails held" not in ask("cable_and_fuse", told)[2]


def test_coils_are_told_on_the_box_of_the_job(ask, tmp_path):
    """Was: "On a radiator box that is 1.9 to 20 ohm", and two peaks, of a sealed box."""
    _, scene, _ = ask("coil_wiring", DUAL)
    line = next(each for each in scene.readout if "depending on the note" in each)
    least, most = map(float, re.search(r"([\d.]+) to ([\d.]+) Ω", line).groups())
    every = " ".join([*scene.readout, scene.caption, scene.alt])
    assert "your sealed box" in line and "radiator" not in every and "one peak" in scene.alt
    curve = next(plot for plot in scene.plots if "on a box" in plot.title).lines[0].y
    assert np.sum((curve[1:-1] > curve[:-2]) & (curve[1:-1] > curve[2:])) == 1
    mine = job_of(tmp_path, DUAL)
    z = np.abs(solve(mine.driver, mine.box, np.geomspace(10, 200, 2000)).impedance)
    scale = float(re.match(r".*?make ([\d.]+) Ω", scene.readout[0])[1]) / mine.load
    assert least <= scale * z.min() * 1.05 and scale * z.max() <= 1.05 * most
