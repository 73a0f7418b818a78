"""A driver whose depth nobody told: whether it goes in is said with its condition."""

import re
from functools import partial

import pytest
from any_job import job_of

from boxlab.explainers import explainer
from boxlab.explainers._own import with_job
from boxlab.panel import share_text

TWELVE = """\
[job]
name = "a twelve in a gap"
[driver]
fs = "30 Hz"
qts = "0.48"
vas = "62 L"
sd = "500 cm2"
re = "3.6 ohm"
xmax = "12 mm"
pe = "400 W"
[gap]
width = "44 in"
height = "15 in"
depth_bottom = "8 1/2 in"
depth_top = "4 3/4 in"
[amplifier]
"4 ohm" = "400 W"
"""


def deep(depth):
    return TWELVE.replace("[gap]", f'depth = "{depth:g} mm"\n[gap]')


@pytest.fixture
def job(tmp_path):
    return partial(job_of, tmp_path)


def first_of(item, scene):
    return share_text.in_short(item, scene).splitlines()[0]


def told_depth(text):
    return float(re.search(r"at most (\d+) mm", text)[1])


def test_it_goes_in_if_it_is_no_deeper_than_is_told(job):
    """Was: "does not go in: 37 mm short", of a depth taken from its size; a shallow one goes in."""
    item = with_job(explainer("does_it_go_in"), job(TWELVE))
    scene = item()
    most = told_depth(scene.message)
    for text in (scene.message, scene.caption, first_of(item, scene)):
        assert told_depth(text) == most and "measure it" in text and "139 mm" in text
        assert "does not go in" not in text
    assert not any("does not fit" in each for each in scene.readout)
    with_depth = [
        with_job(explainer("does_it_go_in"), job(deep(most + more)))().message for more in (0, 1.1)
    ]
    assert "goes in; tightest: depth" in with_depth[0] and "does not go in" in with_depth[1]
