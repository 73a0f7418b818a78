"""Rich display: both unit systems, nothing unescaped, arrays as ranges."""

from dataclasses import replace

import numpy as np
import pytest

from boxlab import MixedRadiatorBox, Port, PortedBox, RadiatorBox, SealedBox, cubic_feet
from boxlab.gear.scenario import TEN_INCH_DRIVER, TEN_INCH_RADIATOR

VOLUME = cubic_feet(0.5)
SHOWN = [
    TEN_INCH_DRIVER,
    TEN_INCH_RADIATOR,
    Port.round(0.1, 0.2),
    SealedBox(VOLUME),
    PortedBox.tuned(VOLUME, 45, 0.005, ql=7, max_length=3),
    RadiatorBox.tuned(VOLUME, 45, TEN_INCH_RADIATOR),
]


@pytest.mark.parametrize("thing", SHOWN, ids=lambda t: type(t).__name__)
def test_cards_are_well_formed_and_in_both_systems(thing):
    from xml.etree import ElementTree

    shown = thing._repr_html_()
    rows = ElementTree.fromstring(shown).findall(".//tbody/tr")
    assert rows
    assert all(len(row) == 4 for row in rows)
    assert any(unit in shown for unit in (" ft³", " in", " oz"))


def test_a_box_shows_its_volume_and_tuning():
    shown = RadiatorBox.tuned(VOLUME, 45, TEN_INCH_RADIATOR)._repr_html_()
    assert "14.2 L" in shown
    assert "0.500 ft³" in shown
    assert "45.0 Hz" in shown


def test_names_are_escaped():
    shown = replace(TEN_INCH_DRIVER, name="<script>alert(1)</script>")._repr_html_()
    assert "<script>" not in shown
    assert "&lt;script&gt;" in shown


def test_designs_show_as_a_range():
    shown = SealedBox(np.array([0.01, 0.02]))._repr_html_()
    assert "10.0 to 20.0 L (2 designs)" in shown
    assert "semi-inductance" in replace(TEN_INCH_DRIVER, semi_k=0.02)._repr_html_()


def test_a_box_with_radiators_that_differ_shows_each():
    pair = MixedRadiatorBox.weighted(0.02, TEN_INCH_RADIATOR, [0.15, 0.0], ql=8.0)
    html = pair._repr_html_()
    assert "radiator 1" in html and "radiator 2" in html
    assert "15.4 to 58.6 Hz" in html and "150 g" in html


def test_absorption_and_friction_are_shown_where_there_are_any():
    plain = PortedBox(0.03, Port(0.006, 0.3))._repr_html_()
    lossy = PortedBox(0.03, Port(0.006, 0.3), qa=60, qp=35)._repr_html_()
    assert ">QA<" not in plain and ">QP<" not in plain
    assert ">QA<" in lossy and "60.0" in lossy and ">QP<" in lossy and "35.0" in lossy
