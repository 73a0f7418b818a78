"""Every panel says where the model stops in its state, and marks where a port and its box ring."""

import warnings

import numpy as np
import pytest

from boxlab import PortedBox, RadiatorBox, SealedBox, solve
from boxlab.base.units import disc_area, litres
from boxlab.draw.scene import Line, Plot, Scene, ringing
from boxlab.explainers import all_explainers, explainer
from boxlab.gear.scenario import TEN_INCH_DRIVER, TEN_INCH_RADIATOR
from boxlab.model.response import Response
from boxlab.model.validity import edges, resonances

EXPLAINERS = all_explainers()
FREQUENCY = np.geomspace(10, 200, 100)
# what solves boxes and shows no one of them
NONE = {
    "ceiling_of_k": "a cloud of boxes on paper, each at its own size",
    "faults_in_a_sweep": "a sweep as a meter gave it",
    "spot_the_fault": "a sweep as a meter gave it",
}
LONGEST = 120  # letters of one thing said: beside a headline, not over it
PORTED = PortedBox.tuned(litres(14), 45, disc_area(0.1), ql=7, max_length=3)


@pytest.mark.parametrize("item", EXPLAINERS, ids=lambda item: item.name)
def test_who_solves_a_box_shows_where_the_model_stops(item, monkeypatch):
    solved = []
    made = Response.__init__

    def listening(self, *given, **more):
        made(self, *given, **more)
        solved.append(self.box)

    monkeypatch.setattr(Response, "__init__", listening)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        scene = item.told()
    assert not (scene.shows and item.name in NONE)
    assert scene.shows or not any(box is not None for box in solved) or item.name in NONE
    for words in edges(scene.shows):
        assert words in scene.warnings
        assert all(len(each) <= LONGEST for each in words.split(". ")), words
        assert words != scene.message


def test_several_boxes_are_said_once_where_they_agree():
    boxes = {"sealed": SealedBox(litres(14)), "port": PORTED}
    said = edges({n: solve(TEN_INCH_DRIVER, box, FREQUENCY) for n, box in boxes.items()})
    rings = {each.part: each.frequency for each in resonances(PORTED)}
    port, box = rings["port"] / 4, rings["box"] / 4
    assert said[0] == (
        f"Not in the model: port waves above {port:.0f} Hz (it rings at {rings['port']:.0f} Hz), "
        f"waves in the box above {box:.0f} Hz."
    )
    loud = edges({n: solve(TEN_INCH_DRIVER, box, FREQUENCY, 80) for n, box in boxes.items()})
    assert any(words.startswith("Port: ") and "Port air over 17 m/s" in words for words in loud)
    same = edges({n: solve(TEN_INCH_DRIVER, PORTED, FREQUENCY, 30) for n in "ab"})
    assert same == edges(solve(TEN_INCH_DRIVER, PORTED, FREQUENCY, 30))


def test_the_edges_move_with_the_sliders():
    small, large = (explainer("port_or_radiator").told(volume=v).warnings for v in (10.0, 40.0))
    assert small != large
    quiet, loud = (explainer("recoil").told(drive=v).warnings for v in (2.0, 30.0))
    assert not any("Xmax" in words for words in quiet)
    assert any("Cone past Xmax" in words for words in loud)


def shown(boxes, *lines):
    r = {name: solve(TEN_INCH_DRIVER, box, FREQUENCY) for name, box in boxes.items()}
    frame = ("t", "frequency, Hz", "level, dB", (10, 2000), (60, 120))
    plots = tuple(Plot(*frame, (line,)) for line in lines)
    return ringing(Scene("t", plots, ("r",), (), "c", "alt", "code", shows=r))


def marks(scene):
    return [{m.label: m.at for m in plot.marks} for plot in scene.plots]


def test_port_and_box_are_marked_where_they_ring_and_only_on_the_ports_curve():
    line = {b: Line(FREQUENCY, FREQUENCY, "sum", b, b) for b in ("ported", "radiator")}
    radiator = RadiatorBox.tuned(litres(14), 45, TEN_INCH_RADIATOR)
    rings = {f"{r.part} rings": r.frequency for r in resonances(PORTED)}
    both = shown({"a": PORTED, "b": radiator}, line["ported"], line["radiator"])
    assert marks(both) == [rings, {}]
    assert marks(shown({"a": PORTED}, Line(FREQUENCY, FREQUENCY, "cone"))) == [rings]
    assert marks(shown({"a": radiator}, line["radiator"])) == [{}]
    # from first principles: half a wave in the tube with its ends, half a wave in the box
    c = 343.2
    long = PORTED.port.length + PORTED.port.end_correction
    assert rings["port rings"] == pytest.approx(c / 2 / long, rel=2e-3)


def test_a_long_port_rings_inside_the_usual_axis():
    scene = explainer("port_or_radiator")(volume=14.0, port=100.0, fb=40.0)
    at = [m.at for plot in scene.plots for m in plot.marks if m.label == "port rings"]
    assert at and all(10 < each < 200 for each in at)
