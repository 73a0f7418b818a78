"""Whatever is thrown at the reader: a sweep that keeps every line, or a clear ValueError."""

import warnings

import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from boxlab.base.checks import UnitWarning
from boxlab.measure import read_sweep

quick = settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.too_slow])

CELLS = st.one_of(
    st.floats(allow_nan=True, allow_infinity=True).map(repr),
    st.floats(0.001, 1e5).map(lambda v: f"{v:.4g}"),
    st.floats(0.1, 1e4).map(lambda v: f"{v:.3f}".replace(".", ",")),
    st.integers(-10, 10**6).map(str),
    st.sampled_from(["", "-", "OL", "Hz", "ohm", "1.2k", "20 Hz", "1e400", '"', '"5,5"', "±3"]),
    st.text(max_size=6),
)
LINES = st.lists(st.lists(CELLS, max_size=5), min_size=1, max_size=14)
SEPARATORS = st.sampled_from([",", ";", "\t", " ", ", ", " | "])
ENDS = st.sampled_from(["\n", "\r\n", "\r"])


def read_or_refuse(source):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", UnitWarning)
        try:
            s = read_sweep(source)
        except ValueError as refusal:
            assert len(str(refusal)) > 30, "an error must say what was expected"
            return None
    assert np.all(np.isfinite(s.frequency)) and np.all(s.frequency > 0)
    assert np.all(np.isfinite(s.magnitude)) and np.all(s.magnitude > 0)
    assert np.all(np.diff(s.frequency) > 0)
    if s.phase is not None:
        assert np.all(np.abs(s.phase) <= 180)
    kinds = [line.kind for line in s.lines]
    assert set(kinds) <= {"data", "header", "comment", "blank", "set aside"}
    assert all(line.why for line in s.set_aside)
    assert kinds.count("data") >= len(s)
    assert [line.number for line in s.lines] == list(range(1, len(s.lines) + 1))
    kept = "".join(line.text for line in s.lines)
    for character in set(s.raw) - set("\r\n\x0b\x0c\x85\u2028\u2029"):
        assert kept.count(character) == s.raw.count(character)
    return s


@quick
@given(st.text(max_size=300))
def test_any_text(text):
    read_or_refuse(text + "\n")


@quick
@given(st.binary(max_size=300))
def test_any_bytes(data):
    read_or_refuse(data)


@quick
@given(LINES, SEPARATORS, ENDS)
def test_tables_of_odd_cells(lines, separator, end):
    read_or_refuse(end.join(separator.join(cells) for cells in lines) + end)


@quick
@given(
    st.lists(
        st.tuples(st.floats(5, 2000), st.floats(0.5, 200), st.floats(-90, 90)),
        min_size=9,
        max_size=40,
        unique_by=lambda row: round(row[0], 2),
    ),
    st.sampled_from([(",", "."), (";", "."), (";", ","), ("\t", "."), ("\t", ","), ("  ", ".")]),
    ENDS,
    st.lists(st.sampled_from(["# note", "", "* x 1 y", "no numbers here"]), max_size=3),
)
def test_good_tables_survive_their_surroundings(rows, layout, end, noise):
    """Every row that was written comes back, whatever remarks stand around and in the table."""
    separator, decimal = layout
    rows = sorted(rows)
    body = [separator.join(f"{value:.3f}".replace(".", decimal) for value in row) for row in rows]
    head = separator.join(["Frequency (Hz)", "Impedance (ohm)", "Phase (deg)"])
    half = len(body) // 2
    text = end.join([*noise, head, *body[:half], *noise, *body[half:]]) + end
    s = read_or_refuse(text)
    assert s is not None
    written = np.array([[float(f"{value:.3f}") for value in row] for row in rows])
    assert len(s) == len(np.unique(written[:, 0]))
    np.testing.assert_allclose(s.frequency, np.unique(written[:, 0]))
    if len(s) == len(rows):
        np.testing.assert_allclose(s.magnitude, written[:, 1])
        np.testing.assert_allclose(s.phase, written[:, 2])
