"""Hearing rules and weightings against the published tables."""

import numpy as np
import pytest

from boxlab.sound import hearing as h

# NIOSH 98-126, Table 1-1 as h:mm:ss, to the minute where that is how it is printed. The rows for
# 85, 88, 91, 94, 97 and 100 dBA were read in a public topic page; the others are from memory.
NIOSH_TABLE = {
    80: "25:24", 82: "16:00", 85: "8:00", 86: "6:21", 87: "5:02", 88: "4:00", 89: "3:10",
    90: "2:31", 91: "2:00", 92: "1:35", 93: "1:16", 94: "1:00", 95: "0:47:37", 96: "0:37:48",
    97: "0:30:00", 98: "0:23:49", 100: "0:15:00", 101: "0:11:54", 103: "0:07:30", 106: "0:03:45",
    112: "0:00:56", 115: "0:00:28", 118: "0:00:14",
}  # fmt: skip

# 29 CFR 1910.95 Table G-16, hours (from memory).
G16 = {90: 8, 92: 6, 95: 4, 97: 3, 100: 2, 102: 1.5, 105: 1, 110: 0.5, 115: 0.25}
# 29 CFR 1910.95 Appendix A, Table G-16a, hours to three figures.
G16A = {80: 32, 81: 27.9, 82: 24.3, 83: 21.1, 84: 18.4, 85: 16, 86: 13.9, 92: 6.1}

# IEC 61672-1, table of weightings, at the exact band centres 1000 · 10^(n/10) Hz: n, A, C.
IEC = [
    (-20, -70.4, -14.3), (-19, -63.4, -11.2), (-18, -56.7, -8.5), (-17, -50.5, -6.2),
    (-16, -44.7, -4.4), (-15, -39.4, -3.0), (-14, -34.6, -2.0), (-13, -30.2, -1.3),
    (-12, -26.2, -0.8), (-11, -22.5, -0.5), (-10, -19.1, -0.3), (-9, -16.1, -0.2),
    (-8, -13.4, -0.1), (-7, -10.9, 0.0),
]  # fmt: skip


@pytest.mark.parametrize(("level", "text"), NIOSH_TABLE.items())
def test_niosh_table(level, text):
    hours, minutes, *seconds = map(int, text.split(":"))
    printed = 3600 * hours + 60 * minutes + sum(seconds)
    assert h.allowed_time(level) == pytest.approx(printed, abs=0.5 if seconds else 30)


@pytest.mark.parametrize(("level", "hours"), G16.items())
def test_osha_table_g16(level, hours):
    # The table is printed to the nearest practical step: 92, 97 and 102 dBA are cut by up to 2 %.
    assert h.allowed_time(level, h.OSHA) / 3600 == pytest.approx(hours, rel=0.02)


@pytest.mark.parametrize(("level", "hours"), G16A.items())
def test_osha_table_g16a(level, hours):
    assert h.allowed_time(level, h.OSHA) / 3600 == pytest.approx(hours, abs=0.05)


def test_dose_adds_up_and_leaves_quiet_out():
    # Half the allowance at 94 dBA and a quarter at 100 dBA, then an evening at 70 dBA.
    assert h.dose([94, 100, 70], [1800, 225, 14400]) == pytest.approx(75)
    assert h.dose(85, 8 * 3600) == pytest.approx(100)
    assert h.dose(100, 3600, h.OSHA) == pytest.approx(50)


def test_average_level():
    # NIOSH 98-126: 200 % is 88 dBA, 500 % 92.0, 1000 % 95.0 over eight hours.
    assert h.average_level([100, 200, 500, 1000]) == pytest.approx([85, 88, 92.0, 95.0], abs=0.05)
    # 29 CFR 1910.95 Appendix A: TWA = 16.61 log10(D/100) + 90.
    assert h.average_level(50, h.OSHA) == pytest.approx(16.61 * np.log10(0.5) + 90, abs=0.01)


@pytest.mark.parametrize(("step", "a", "c"), IEC)
def test_weightings_against_the_table(step, a, c):
    exact = 1000 * 10 ** (step / 10)
    assert round(float(h.weighting(exact)), 1) == a
    assert abs(h.weighting(exact, "C") - c) < 0.06


def test_weightings_against_a_reference_library():
    tables = pytest.importorskip("acoustic_toolbox.standards.iec_61672_1_2013")
    exact = tables.NOMINAL_THIRD_OCTAVE_CENTER_FREQUENCIES
    assert len(exact) >= 30
    ours = h.weighting(1000 * 10 ** (np.round(10 * np.log10(exact / 1000)) / 10))
    assert ours == pytest.approx(tables.WEIGHTING_A, abs=0.06)


def test_threshold_of_hearing():
    # ISO 226:2003, from memory: at the table's own frequencies, and between two of them.
    assert h.threshold([20, 40, 100, 1000]) == pytest.approx([78.5, 51.1, 26.5, 2.4])
    assert h.threshold(np.sqrt(40 * 50)) == pytest.approx((51.1 + 44.0) / 2)
    assert np.isnan(h.threshold([0.0, 15, 2000])).all()
    assert (np.diff(h.threshold(np.geomspace(20, 800, 50))) < 0).all()


def test_third_octaves_are_the_standard_ones():
    # ISO 266 nominal values.
    nominal = [10, 12.5, 16, 20, 25, 31.5, 40, 50, 63, 80, 100, 125, 160, 200, 250, 315]
    assert h.third_octaves() == pytest.approx(nominal, rel=0.02)


def test_two_equal_tones_read_three_decibels_more():
    assert h.weighted_level([1000, 1000], [90, 90]) == pytest.approx(93.01, abs=0.01)


def test_dba_hides_deep_bass():
    # 31.6 Hz at 120 dB: table A −39.4, C −3.0.
    e = h.exposure([1000 * 10**-1.5], [120])
    assert e.dba == pytest.approx(80.6, abs=0.06)
    assert e.dbc == pytest.approx(117.0, abs=0.06)
    assert e.niosh > 16 * 3600
    assert e.if_flat < 30


def test_no_time_is_allowed_above_the_ceiling():
    assert h.above_ceiling([115, 115.1]).tolist() == [False, True]


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: h.weighting(0), "above zero"),
        (lambda: h.weighting(100, "B"), "choose 'A', 'C' or 'Z'"),
        (lambda: h.dose([90, 95], [60]), "one time"),
        (lambda: h.dose(90, -1), "zero or more"),
        (lambda: h.average_level(0), "above zero"),
        (lambda: h.allowed_time("loud"), "not a number"),
    ],
)
def test_bad_input_says_what_to_do(call, words):
    with pytest.raises(ValueError, match=words):
        call()
