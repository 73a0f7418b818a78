"""A slip of a unit is warned of or refused, and nothing that is no number gets further in."""

import re
import warnings

import numpy as np
import pytest

from boxlab import (
    Air,
    Driver,
    Port,
    PortedBox,
    Radiator,
    RadiatorBox,
    SealedBox,
    UnitWarning,
    check_datasheet,
    cm2,
    litres,
    max_output,
    solve,
)
from boxlab.base import units
from boxlab.car import vehicle
from boxlab.design import swept_volume
from boxlab.design.radiator_choices import programme_limit
from boxlab.gear.scenario import TEN_INCH_DRIVER, TEN_INCH_RADIATOR
from boxlab.model.motion import delays
from boxlab.model.recoil import shake
from boxlab.sound import hearing

DRIVER = {"re": 3.4, "le": 1e-3, "bl": 12.0, "mms": 0.115, "cms": 2.2e-4, "rms": 4.0, "sd": 0.0335,
          "xmax": 0.012, "pe": 350.0}  # fmt: skip
SHEET = {"fs": 30, "qes": 0.5, "qms": 5, "vas": 0.04, "sd": 0.035, "re": 3.5, "xmax": 0.01,
         "pe": 300}  # fmt: skip
RADIATOR = {"sd": 0.035, "mms": 0.1, "cms": 6e-4, "rms": 1.5, "xmax": 0.02}
BARE = {"fp": 20, "qmp": 8, "vap": 0.08, "sd": 0.035, "xmax": 0.02}
TUNED = {"volume": 0.03, "fb": 35, "area": 0.005, "end_correction": 0.06, "max_length": 1.0}
BOX = SealedBox(0.014)


def solved(**given):
    return solve(TEN_INCH_DRIVER, BOX, **given)


def loudest(**given):
    return max_output(TEN_INCH_DRIVER, BOX, [40.0], **given)


def heavier(**given):
    return RadiatorBox.tuned(radiator=TEN_INCH_RADIATOR, **given)


def equalised(**given):
    return swept_volume.equalise(TEN_INCH_DRIVER, BOX, **given)


def rated(**given):
    return swept_volume.rate("", TEN_INCH_DRIVER, BOX, **given)


def programme(**given):
    return programme_limit(TEN_INCH_DRIVER, heavier(volume=0.014, fb=36.0), **given)


# what is called -> arguments that are right
RIGHT = {
    Driver: DRIVER,
    Driver.from_datasheet: SHEET,
    Radiator: RADIATOR,
    Radiator.from_datasheet: BARE,
    Port: {"area": 0.005, "length": 0.2},
    Port.round: {"diameter": 0.08, "length": 0.2},
    Port.slot: {"width": 0.2, "height": 0.03, "length": 0.2},
    SealedBox: {"volume": 0.014},
    PortedBox.tuned: TUNED,
    heavier: {"volume": 0.014, "fb": 36.0},
    Air: {"temperature": 20.0, "pressure": 101325.0, "humidity": 0.4},
    vehicle.Cabin: {"length": 2.6, "width": 1.45, "height": 1.15, "filled": 0.75},
    vehicle.pressure_lift: {"frequency": 30.0, "volume": 3.0, "distance": 1.0},
    vehicle.boundary_loading: {"frequency": 30.0, "distances": [0.3]},
    solved: {"frequency": [40.0], "voltage": 2.83, "distance": 1.0},
    loudest: {"power": 300.0, "load": 4.0},
    hearing.allowed_time: {"level": 94.0},
    hearing.dose: {"levels": [94.0], "times": [1800.0]},
    hearing.average_level: {"percent": 50.0},
    hearing.weighting: {"frequency": 40.0},
    hearing.threshold: {"frequency": 40.0},
    hearing.weighted_level: {"frequency": [40.0], "spl": [90.0]},
    hearing.third_octaves: {"low": 20.0, "high": 80.0},
    hearing.clock: {"seconds": 90.0},
    swept_volume.swept_volume: {"frequency": 30.0, "spl": 94.0, "distance": 1.0},
    equalised: {"f3": 30.0, "spl": 90.0, "frequency": [40.0]},
    rated: {"count": 1, "frequency": [40.0]},
    delays: {"phase": 10.0, "frequency": 40.0, "cycles": 3},
    programme: {"low": 30.0, "points": 9, "swept": 2.0},
    shake: {"force": 100.0, "box_mass": 12.0},
    vehicle.Cabin().modes: {"count": 3},
    units.inside_edges: {"volume": 0.014},
    check_datasheet: {"fs": 30.0, "qes": 0.5, "vas": 0.04},
    **{getattr(units, name): {"value": 7.0} for name in vars(units) if f"to_{name}" in vars(units)},
    units.disc_area: {"diameter": 0.1},
    units.disc_diameter: {"area": 0.01},
}
PLACES = [(call, name) for call, given in RIGHT.items() for name in given]
LEFT_OUT = {"power", "load", "end_correction", "max_length", "low", "swept"}
NAMES = [f"{call.__qualname__}-{name}" for call, name in PLACES]


@pytest.mark.parametrize("call", RIGHT, ids=lambda call: call.__qualname__)
def test_right_values_pass_without_a_word(call):
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        call(**RIGHT[call])


def may_be(call, name, odd):
    """Whether this call takes it, with a meaning of its own."""
    if isinstance(odd, float) and name != "volume" and call.__module__ == units.__name__:
        return True  # NaN is a gap there
    if odd is None and (name in LEFT_OUT or call in (check_datasheet, equalised)):
        return True  # None means not given
    if odd is None and call == Radiator.from_datasheet and name in ("qmp", "xmax"):
        return True  # assumed, with a range, and no stop
    # so it does there, where the rest is enough
    return odd is None and call == Driver.from_datasheet and name in ("qms", "xmax", "pe")


@pytest.mark.parametrize(("call", "name"), PLACES, ids=NAMES)
def test_what_is_no_number_is_refused_in_words(call, name):
    for odd in ("14", "fourteen", None, True, np.nan, [1.0, "2"], {}, 1j):
        if may_be(call, name, odd):
            continue
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", UnitWarning)
            try:
                call(**RIGHT[call] | {name: odd})
            except ValueError as refused:
                assert "boxlab/" not in str(refused)
            else:
                raise AssertionError(f"{odd!r} was taken")


# A slip of a thousand that cannot be told from a right value: whole -> small.
SMALL = {
    ("Driver", "le"),
    ("Port", "area"), ("Driver", "rms"), ("Radiator", "rms"), ("Port", "length"),
    ("Port.round", "length"), ("Port.slot", "length"), ("solved", "voltage"), ("loudest", "power"),
}  # fmt: skip
SCALED = [
    (call, name)
    for call in (Driver, Driver.from_datasheet, Radiator, Radiator.from_datasheet, Port, Port.round,
                 Port.slot, SealedBox, PortedBox.tuned, heavier, vehicle.Cabin,
                 vehicle.pressure_lift, solved, loudest)
    for name in RIGHT[call]
    if name not in ("filled", "frequency", "distance", "end_correction", "max_length")
]  # fmt: skip


@pytest.mark.parametrize("factor", [1000, 1e-3])
@pytest.mark.parametrize(("call", "name"), SCALED)
def test_a_slip_of_a_thousand_is_noticed(call, name, factor):
    if factor < 1 and (call.__qualname__, name) in SMALL:
        return
    given = RIGHT[call] | {name: factor * np.asarray(RIGHT[call][name])}
    with warnings.catch_warnings(record=True) as heard:
        warnings.simplefilter("always")
        try:
            call(**given)
        except ValueError:
            return
    assert any(issubclass(w.category, UnitWarning) for w in heard)


@pytest.mark.parametrize(
    ("slip", "words"),
    [
        (lambda: SealedBox(0.4), r"volume = 0\.4 .*cubic_feet\(0\.5\)"),
        (lambda: Air(68), "Fahrenheit"),
        (lambda: Air(pressure=1013.25), "Sea level"),
        (lambda: hearing.dose([94], [30]), "half an hour is 1800"),
        (lambda: hearing.dose([85], [480]), "seconds"),
        (lambda: hearing.dose([94], [0.5]), "seconds"),
        (lambda: hearing.allowed_time(940), "dBA"),
        (lambda: Driver(**DRIVER | {"sd": 0.335}), r"cm2\(350\)"),
        (lambda: Driver(**DRIVER | {"mms": 1.15}), r"grams\(60\)"),
        (lambda: Driver(**DRIVER | {"pe": 0.35}), "watts"),
        (lambda: Driver.from_datasheet(**SHEET | {"vas": 1.4}), r"litres\(40\)"),
        (lambda: check_datasheet(sd=0.335, mms=0.1), r"cm2\(350\)"),
        (lambda: Radiator(**RADIATOR | {"sd": 0.35}), r"cm2\(350\)"),
        (lambda: Radiator(**RADIATOR | {"mms": 10.0}), r"grams\(60\)"),
        (lambda: PortedBox.tuned(litres(14), 45, cm2(50)), r"0\.47 m.*longest inside edge"),
        (lambda: vehicle.Cabin(length=8.5), r"feet\(8\)"),
    ],
)
def test_slips_that_once_went_unnoticed_are_warned_of(slip, words):
    with warnings.catch_warnings(record=True) as heard:
        warnings.simplefilter("always")
        slip()
    said = [str(w.message) for w in heard if issubclass(w.category, UnitWarning)]
    assert any(re.search(words, each) for each in said), said


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        (lambda: hearing.weighting(-40), "frequency must be above zero"),
        (lambda: hearing.weighting(0, "Z"), "frequency must be above zero"),
        (lambda: hearing.threshold(-40), "frequency must be zero or more"),
        (lambda: hearing.dose([94], [90000]), "a day"),
        (lambda: hearing.third_octaves(80, 20), "low"),
        (lambda: Driver.from_datasheet(**SHEET, qts=0.4), "qts.*qes"),
        (lambda: Driver.from_datasheet(**SHEET, fq=0.4), "fq"),
        (lambda: Driver.from_datasheet(**{k: v for k, v in SHEET.items() if k != "vas"}), "vas"),
        (lambda: Radiator.from_datasheet(**BARE, mms=0.1), "mms"),
        (lambda: litres("14"), r"'14'.*litres\(14\)"),
        (lambda: units.to_litres(None), "None"),
    ],
)
def test_what_cannot_be_is_refused_in_words(wrong, words):
    with pytest.raises(ValueError, match=words):
        wrong()


def test_lists_are_converted_and_gaps_in_them_stay_gaps():
    np.testing.assert_allclose(units.litres([14, 20]), [0.014, 0.02])
    assert np.isnan(units.to_litres(np.nan))  # shown as a gap


@pytest.mark.parametrize("length", [2.743, 3.353, 4.115])
def test_a_cabin_of_any_length_ends_where_its_end_is(length):
    """Seen red at 2.743 m (9 ft): its whole length, worked out by per cent, was a hair longer."""
    from boxlab.explainers import explainer

    assert "dB" in explainer("where_you_sit")(length=length).message
