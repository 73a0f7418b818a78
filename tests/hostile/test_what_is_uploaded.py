"""Tables, file names and designs that a learner may bring to the desk for their own sweep."""

import math
import tracemalloc
import warnings
from dataclasses import fields, replace

import numpy as np
import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from boxlab.base.checks import UnitWarning
from boxlab.draw import figures
from boxlab.gear.demo_sweeps import demo_table
from boxlab.measure import read_sweep
from boxlab.measure.fit.shape import peaks
from boxlab.measure.read.value import Sweep
from boxlab.panel import sweep_store
from boxlab.panel.sweep_desk import Desk
from boxlab.panel.sweep_plan import BUILDS, Plan
from boxlab.panel.sweep_report import report

quick = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
NAMES = [
    "../../../etc/passwd", "..\\..\\boot.ini", "/etc/shadow", "C:\\con", "~/.bashrc", ".", "..",
    "", " ", "...", "\0.csv", "a\nb.csv", "-rf", "$(touch ran).csv", "`ran`.csv", "\ud800.csv",
    "x $\\frac$ y.csv", "$$.csv", "^_{}.csv", "漢字" * 90 + ".csv", "é" * 300, "📷.csv", "‮vsc.csv",
    "<script>alert(1)</script>.csv", "' onerror='x.csv", "a|b`c*d.csv",
]  # fmt: skip


@pytest.fixture(scope="module")
def home(tmp_path_factory):
    folder = tmp_path_factory.mktemp("home")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("BOXLAB_HOME", str(folder))
        yield folder


@pytest.fixture(scope="module")
def desk(home):
    return Desk()


def data_of(path):
    return path.read_bytes() if path.is_file() else None


@quick
@given(st.binary(max_size=200) | st.text(max_size=80).map(str.encode))
@example(b"")
@example(b"\0" * 100)
@example(b"20 5\n30 6\n")
@example(b"20 5\n30 1e-300\n40 1e300\n")
def test_any_upload_is_kept_and_answered(desk, data):
    picture = desk.image.value
    desk.take("box.csv", data)
    assert desk.fault is None
    assert data in [data_of(path) for path in sweep_store.kept()]
    assert not desk.trouble or "boxlab-bad" in desk.message.value
    assert not desk.trouble or desk.image.value == picture


@quick
@given(st.text(max_size=300) | st.sampled_from(NAMES))
def test_any_file_name_stays_in_the_folder_and_finds_its_way_back(home, name):
    path = sweep_store.keep(name, name.encode(errors="replace") + b" of its own")
    assert path.parent == home / "sweeps"
    assert path.resolve().parent == (home / "sweeps").resolve()
    assert len(path.name.encode()) <= 255
    assert path in sweep_store.kept()
    assert sweep_store.title(path).endswith(path.name[9:11] + ":" + path.name[11:13])


@pytest.fixture(scope="module")
def made(home):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", UnitWarning)
        return report(read_sweep(demo_table("ported")), Plan(build="ported"))


@pytest.mark.parametrize("name", NAMES)
def test_any_file_name_can_be_drawn_and_written(made, name):
    """In the font that is there, with nothing taken for a formula; a warning would be an error."""
    for shown in (name, sweep_store.plain(name)):  # the plain one last: it can be written
        named = replace(made, sweep=replace(made.sweep, name=shown))
        figures.png(figures.footed(named.scene()), density=0.5, level=1)
    named.markdown().encode()
    named.csv().encode()


def test_a_name_that_reads_as_a_formula_is_drawn_in_full(made):
    scene = replace(made, sweep=replace(made.sweep, name="x $\\frac$ y.csv")).scene()
    assert scene.title.startswith("x _") and "y.csv" in scene.title


def test_what_is_pasted_is_never_taken_for_a_path(desk, tmp_path):
    secret = tmp_path / "secret.txt"
    secret.write_text(demo_table("ported"))
    for text in (str(secret), f"{secret}\n", secret.as_uri(), f"@{secret}"):
        desk.pasted.value = text
        before = desk.report
        desk.use.click()
        assert desk.trouble and desk.report is before
        assert desk.pasted.value == text


def test_half_a_character_that_was_pasted_is_no_trouble(desk):
    desk.pasted.value = "\ud800;20\n"
    desk.use.click()
    assert desk.fault is None and "no table" in desk.trouble
    assert desk.pasted.value == "\ud800;20\n"


def test_a_fault_of_our_own_is_said_and_loses_nothing(desk, monkeypatch):
    def broken(*_):
        raise KeyError("no such thing")

    before = desk.image.value
    monkeypatch.setattr("boxlab.panel.sweep_desk.report", broken)
    assert not desk.take("mine.csv", demo_table("ported").encode())
    assert "not in what you gave it" in desk.message.value
    assert isinstance(desk.fault, KeyError) and desk.image.value == before
    assert demo_table("ported").encode() in [data_of(path) for path in sweep_store.kept()]


# Tables that can be read, but of no loudspeaker.

count = st.shared(st.integers(40, 70), key="count")
SHAPES = {
    "flat": lambda x, rng: np.full_like(x, 5.0),
    "saw": lambda x, rng: 5 + 40 * (np.arange(len(x)) % 2),
    "noise": lambda x, rng: rng.lognormal(2, 2, len(x)),
    "rising": lambda x, rng: x,
    "falling": lambda x, rng: 1e4 / x,
    "cliff": lambda x, rng: np.where(x < np.median(x), 1e-6, 1e9),
    "one spike": lambda x, rng: 5 + 1e8 * (np.arange(len(x)) == len(x) // 2),
    "two humps": lambda x, rng: 4 + 30 / (1 + (np.log(x / 20) * 9) ** 2) + 30 / x,
    "least": lambda x, rng: np.full_like(x, 1e-9),
    "most": lambda x, rng: np.full_like(x, 1e12),
}
SPANS = [(10, 500), (1e-3, 1e9), (20, 20.1), (1e-9, 1e-8), (1e5, 1e6)]


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    st.sampled_from(sorted(SHAPES)), st.sampled_from(SPANS), count, st.integers(0, 99),
    st.sampled_from(["none", "flat", "wild"]), st.sampled_from(BUILDS),
)  # fmt: skip
def test_any_curve_is_reported_or_refused(shape, span, points, seed, phases, build):
    rng = np.random.default_rng(seed)
    x = np.geomspace(*span, points)
    phase = {"none": None, "flat": 0 * x, "wild": rng.uniform(-180, 180, points)}[phases]
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", UserWarning)
        sweep = Sweep(x, np.asarray(SHAPES[shape](x, rng), float), phase, "odd.csv")
        try:
            made = report(sweep, Plan(build=build))
            scene = made.scene()
        except ValueError as refusal:
            assert len(str(refusal)) > 30
            return
    assert all(words.strip() and "nan" not in words.split() for words in scene.readout)
    assert made.markdown() and len(made.csv().splitlines()) == points + 1


@quick
@given(
    st.sampled_from(BUILDS),
    st.dictionaries(
        st.sampled_from([each.name for each in fields(Plan) if each.name != "build"]),
        st.floats() | st.sampled_from([1e-3, 1e6, 0.0, -1.0, math.nan, math.inf, 1e3]),
        max_size=4,
    ),
)
@example("radiator", {"re": 1e308})
@example("radiator", {"fs": 1e-308})
@example("ported", {"sd": 1e308})
@example("radiator", {"compliance": math.inf})
@example("radiator", {"ql": 1e-308})
def test_any_design_has_a_curve_or_is_refused(build, numbers):
    frequency = np.geomspace(10, 1000, 30)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", UnitWarning)
        try:
            curve = Plan(build=build, **numbers).curve(frequency)
        except ValueError as refusal:
            assert len(str(refusal)) > 20
        else:
            assert np.all(np.isfinite(curve.magnitude)) and np.all(curve.magnitude > 0)


def test_an_implausible_design_is_warned_of_on_the_desk(desk):
    desk.boxes["vas"].value = "35000"
    desk.compare.click()
    desk.boxes["vas"].value = "35"
    assert "implausible" in desk.said.value + desk.message.value


def test_the_longest_table_fits_into_a_small_memory():
    """90 000 lines, about the largest upload; every weight at once would take a gigabyte."""
    frequency = np.geomspace(10, 20_000, 90_000)
    hump = 4 + 40 / (1 + (8 * np.log(frequency / 40)) ** 2)
    sweep = Sweep(frequency, hump)
    tracemalloc.start()
    try:
        found, _ = peaks(sweep)
        most = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert found[0] == pytest.approx(40, rel=0.02)
    assert most < 300e6


CELLS = [
    "1e999", "-1e999", "1e308", "-1.7e308", "1e-320", "1e100", "nan", "inf", "1" * 400, "-0",
    "9" * 5000, "٤٥", "４５,２", "²³", "½", "1_000", "0x10", "1e", "--5", "$5", "", "1,5",
    "1e308 kohm",
]  # fmt: skip
cell = st.sampled_from(CELLS) | st.floats(5, 90).map("{:.3f}".format)
row = st.lists(cell, min_size=2, max_size=4).map(";".join)


@settings(quick, max_examples=300)
@given(st.lists(row, max_size=40))
@example(["20;6;1e308", "25;7;-1e308", "30;8;1e308", "35;9;-1e308"])
@example(["20;6", "7" * 300_000, "25;7"])
@example(["x" * 300_000 + ";y", "20;6"])
def test_cells_of_any_size_are_read_or_refused_in_words(rows):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", UserWarning)
        try:
            sweep = read_sweep({"name": "a.csv", "content": "\n".join(rows).encode()})
        except ValueError as refusal:
            assert 20 < len(str(refusal)) < 2000
        else:
            assert np.isfinite(sweep.magnitude).all() and (sweep.magnitude < 1e100).all()
