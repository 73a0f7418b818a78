"""Rich display: both unit systems, nothing unescaped, arrays as ranges."""

import re
from dataclasses import replace

import numpy as np
import pytest

from boxlab import (
    MixedRadiatorBox,
    Port,
    PortedBox,
    RadiatorBox,
    SealedBox,
    cubic_feet,
    max_output,
    solve,
)  # fmt: skip
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


def test_printed_it_is_a_short_table_with_units():
    for thing in SHOWN:
        text = str(thing)
        assert "\n" in text and max(map(len, text.splitlines())) <= 90
        assert not re.search(r"\d\.\d{6}", text)
    lines = str(TEN_INCH_DRIVER).splitlines()
    assert lines[0] == f"{TEN_INCH_DRIVER.name}: driver"
    assert re.search(r"^ +Mms +moving mass +115 g +4\.06 oz$", str(TEN_INCH_DRIVER), re.M)


def test_a_response_shows_some_of_its_frequencies_with_their_values():
    f = np.geomspace(10, 200, 321)
    box = PortedBox.tuned(VOLUME, 45, 0.005, ql=7, max_length=3)
    r = solve(TEN_INCH_DRIVER, box, f)
    lines = str(r).splitlines()
    assert lines[0] == "Response, 8 of 321 frequencies"
    assert lines[1].split("  ")[1] == "Frequency" and "Air in port" in lines[1]
    assert len(lines) == 10
    assert f"{r.spl[-1]:.1f} dB" in lines[-1] and lines[-1].startswith("  200 Hz")
    assert "<td>" in r._repr_html_()
    many = solve(TEN_INCH_DRIVER, SealedBox(np.array([[0.01], [0.02]])[:, 0]), [30.0, 60.0])
    assert "the first of 2 designs" in str(many) and len(str(many).splitlines()) == 4
    one = solve(TEN_INCH_DRIVER, SealedBox(np.array([0.01, 0.02])), 30.0)
    assert "the first of 2 designs" in str(one) and f"{one.spl[0]:.1f} dB" in str(one)


def test_the_loudest_tone_says_what_stops_it():
    top = max_output(TEN_INCH_DRIVER, SealedBox(VOLUME), [20.0, 30.0])
    assert "cone excursion" in str(top).splitlines()[2]


def test_a_response_draws_itself_on_given_axes():
    from matplotlib.figure import Figure

    axes = Figure().subplots()
    r = solve(TEN_INCH_DRIVER, SealedBox(np.array([0.01, 0.02])), np.geomspace(20, 200, 9))
    lines = r.plot(axes, "impedance", color="k")
    assert len(lines) == 2 and axes.get_xscale() == "log"
    np.testing.assert_array_equal(lines[1].get_ydata(), abs(r.impedance[1]))
    assert axes.get_ylabel() == "impedance, Ω" and axes.get_xlabel() == "frequency, Hz"
    with pytest.raises(ValueError, match="no answer 'loudness' to draw; choose one of spl"):
        r.plot(axes, "loudness")
