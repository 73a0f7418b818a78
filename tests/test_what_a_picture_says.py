"""Words, marks and curves of one picture agree with each other in every state of it."""

import re

import numpy as np
import pytest

from boxlab.explainers import explainer
from boxlab.explainers.recoil import MOUNTINGS


@pytest.mark.parametrize("mounting", MOUNTINGS)
def test_recoil_says_of_an_opposed_pair_what_is_left_of_it(mounting):
    scene = explainer("recoil")(mounting=mounting)
    words = f"{scene.readout[0]} {scene.caption}"
    total = float(re.search(r"shaken with ([\d.]+) N", scene.message)[1])
    force = {line.label: line for line in scene.plots[0].lines}
    at = float(re.search(r"tuning, ([\d.]+) Hz", scene.message)[1])
    left = np.interp(at, force["radiators"].x, force["radiators"].y)
    if mounting == "two, on opposite faces":
        assert left == 0  # along the cone's axis, as the plot is headed
        assert "radiators push against each other with" in words
        assert "radiators push with" not in words and "radiators alone" not in words
        each = float(re.search(r"each radiator with (\d+) N, against the other", words)[1])
        cone = np.interp(at, force["cone"].x, force["cone"].y)
        assert total == pytest.approx(cone, abs=0.6) and each > 5 * total
    else:
        said = float(re.search(r"radiators push with (\d+) N", words)[1])
        assert said == pytest.approx(left, abs=1.0) and said < 1.1 * total
