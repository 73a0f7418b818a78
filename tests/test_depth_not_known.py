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


@pytest.mark.parametrize("depth", [None, 100.0])
def test_the_short_text_on_builds_is_the_verdict(job, depth):
    """Was: "With radiators: cannot be built here", of a radiator that is made up."""
    mine = job(TWELVE if depth is None else deep(depth))
    item = with_job(explainer("builds_for_the_gap"), mine)
    scene = item()
    short = first_of(item, scene)
    assert "radiator" not in short and "cannot" not in short
    assert "ealed and ported fit" in short and scene.message.split(":")[0] in short
    if depth is None:
        most = told_depth(short)
        assert most >= depth_that_fits(job, most) and "measure it" in short
    else:
        assert "the ported goes lowest" in short
    of_it = next(each for each in scene.readout if each.startswith("With radiators"))
    assert "made up" in of_it


def depth_that_fits(job, most):
    """`most`, mm, once it is seen that such a driver fits and one 1.1 mm deeper does not."""
    at, past = (
        with_job(explainer("builds_for_the_gap"), job(deep(most + more)))() for more in (0, 1.1)
    )
    assert "ealed and ported fit" in at.message and "None of these fits" in past.message
    assert "depth, " in past.message and "mm short" in past.message
    assert past.message in past.caption
    return most


def test_the_whole_of_a_wide_gap_is_on_the_picture(job):
    """Was: an axis that ended at 680 mm of 1118, and "Solid: radiator" where no line is solid."""
    for name in ("builds_for_the_gap", "does_it_go_in"):
        scene = with_job(explainer(name), job(TWELVE))()
        plots = [p for p in scene.plots if "from the front" in p.title.lower()]
        assert len(plots) == 1
        xs = [x for line in plots[0].lines for x in line.x]
        assert max(xs) == pytest.approx(44 * 25.4, abs=1) and plots[0].xlim[1] > max(xs)
        if name == "builds_for_the_gap":
            assert "Solid" not in scene.caption and "Dashed: port of 76 mm; dotted" in scene.caption
            assert scene.readout[0] in scene.caption


@pytest.mark.parametrize(("high", "verdict"), [("330 mm", "goes in"), ("290 mm", "does not go in")])
def test_a_width_that_nobody_told_is_said_to_be_a_usual_one(job, high, verdict):
    text = deep(60).replace('height = "15 in"', f'height = "{high}"').replace("8 1/2", "12")
    text = text.replace("4 3/4", "12")
    told = with_job(explainer("does_it_go_in"), job(text))().message
    assert verdict in told and "if it is as wide as a usual one" in told
    known = text.replace("[gap]", 'frame = "314 mm"\ncutout = "280 mm"\n[gap]')
    assert "usual" not in with_job(explainer("does_it_go_in"), job(known))().message
