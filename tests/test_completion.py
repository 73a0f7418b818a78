"""Any sufficient set of figures leads to the same driver; what is assumed or false is said."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from boxlab.model.completion import complete_driver, complete_radiator
from boxlab.model.radiator import Radiator
from boxlab.model.relations import Known, corners

# Written out here from the definitions, not taken from the library.
DENSITY, SOUND = 1.2041, 343.2


class Plain:
    """Air with round numbers."""

    bulk_modulus = DENSITY * SOUND**2
    speed_of_sound = SOUND


def truth(seed):
    """A random driver's figures, by the definitions of Small (1972)."""
    rng = np.random.default_rng(seed)
    size = rng.uniform(6, 15)
    sd = math.pi / 4 * (0.82 * size * 0.0254) ** 2
    fs, qms, re = rng.uniform(20, 60), rng.uniform(2.5, 12), rng.uniform(1.2, 7.5)
    qes = rng.uniform(0.25, 1.2)
    mms = sd * rng.uniform(2.0, 6.0)
    w = 2 * math.pi * fs
    cms = 1 / (w**2 * mms)
    return {
        "fs": fs, "qms": qms, "qes": qes, "qts": qms * qes / (qms + qes), "re": re, "sd": sd,
        "mms": mms, "cms": cms, "rms": w * mms / qms, "bl": math.sqrt(w * mms * re / qes),
        "vas": DENSITY * SOUND**2 * sd**2 * cms,
    }  # fmt: skip


SETS = (
    "fs qes qms vas sd re", "fs qts qms vas sd re", "fs qts qes vas sd re", "mms cms rms bl sd re",
    "fs mms qms bl sd re", "fs cms qts qms sd re", "fs mms vas qes qms re", "fs qms bl vas sd re",
    "fs mms sd qes qms bl", "fs cms vas qts qes re", "fs rms qms sd qes re",
)  # fmt: skip


@pytest.mark.parametrize("names", SETS)
def test_500_random_drivers_come_back_from_each_sufficient_set(names):
    for seed in range(500):
        whole = truth(seed)
        found = complete_driver(Plain(), **{name: whole[name] for name in names.split()})
        assert not found.missing and not found.contradictions
        assert set(found.assumed) == {"le"}
        for name, value in whole.items():
            assert found.known[name].value == pytest.approx(value, rel=1e-9), (seed, name)


def test_a_forum_post_assumes_qms_and_says_so():
    found = complete_driver(fs=31, qts=0.36, vas=0.065, sd=0.0507, re=3.64, xmax=0.014, pe=500)
    assert set(found.assumed) == {"qms", "le"}
    qms = found.known["qms"]
    assert (qms.low, qms.high) == (3.0, 10.0)
    value, how = qms
    assert (value, how) == (5.0, "assumed")
    bl = found.known["bl"]  # by hand: Qes = Qts·Qms/(Qms − Qts) at the ends of the range of Qms
    mms = found.known["mms"].value
    ends = [math.sqrt(2 * math.pi * 31 * mms * 3.64 / (0.36 * q / (q - 0.36))) for q in (3.0, 10.0)]
    assert (bl.low, bl.high) == pytest.approx(sorted(ends), rel=1e-9)
    assert "assumed in part" in bl.why


@given(st.floats(1.06, 3.0), st.sampled_from(["fs", "vas", "qts", "bl", "cms"]), st.integers(0, 99))
@settings(max_examples=60, deadline=None)
def test_a_wrong_figure_is_named(factor, name, seed):
    whole = truth(seed)
    found = complete_driver(Plain(), **(whole | {name: whole[name] * factor}))
    assert found.contradictions
    assert any(name in (c.name, *c.inputs) for c in found.contradictions)
    with pytest.raises(ValueError, match="cannot all be true"):
        found.insist("Driver")


def test_both_values_of_a_contradiction_are_shown():
    found = complete_driver(fs=31, qts=0.5, qes=0.5, qms=5, vas=0.06, sd=0.05, re=3)
    (wrong,) = found.contradictions
    assert (wrong.given, round(wrong.computed, 4)) == (0.5, 0.4545)
    assert "0.5" in str(wrong) and "0.4545" in str(wrong)


def test_rounding_of_a_datasheet_is_no_contradiction():
    whole = truth(3)
    rounded = {name: float(f"{value:.2g}") for name, value in whole.items() if name != "bl"}
    worst = complete_driver(Plain(), **(whole | {"qts": rounded["qts"]})).contradictions
    assert worst == ()


@pytest.mark.parametrize(
    ("names", "words"),
    [
        ("qts vas sd re", "fs is missing"),
        ("fs qts vas re", "area is missing"),
        ("fs qts sd re", "stiff or heavy"),
        ("fs qts vas sd", "re is missing"),
        ("fs vas sd re", "motor is missing"),
    ],
)
def test_what_is_missing_is_named_with_what_would_do(names, words):
    whole = truth(1)
    found = complete_driver(Plain(), **{name: whole[name] for name in names.split()})
    assert words in " ".join(found.missing)
    with pytest.raises(ValueError, match=words):
        found.insist("Driver")


def test_a_q_that_cannot_be_is_refused():
    found = complete_driver(fs=30, qts=0.5, qms=0.4, vas=0.05, sd=0.05, re=3)
    with pytest.raises(ValueError, match="qts must be below qms"):
        found.insist("Driver")


def test_a_high_qts_lifts_the_range_of_qms():
    qms = complete_driver(fs=30, qts=4.0, vas=0.05, sd=0.05, re=3).known["qms"]
    assert qms.low > 4.0


def test_unknown_figures_are_refused():
    with pytest.raises(ValueError, match="does not know qst"):
        complete_driver(qst=0.4)


def test_a_radiator_of_which_little_is_known_has_a_range_of_compliance():
    found = complete_radiator(mms=0.23, sd=0.0507, xmax=0.018)
    cms = found.known["cms"]
    assert cms.how == "assumed" and cms.low < cms.value < cms.high
    ends = [1 / (2 * math.pi * math.sqrt(0.23 * c)) for c in (cms.low, cms.high)]
    assert ends == pytest.approx([20.0, 8.0])


def test_a_radiator_follows_from_its_resonance_and_volume():
    k = 1 / ((2 * math.pi * 12) ** 2 * 0.2)
    vap = DENSITY * SOUND**2 * 0.05**2 * k
    found = complete_radiator(Plain(), fp=12, vap=vap, sd=0.05, qmp=8)
    assert found.known["mms"].value == pytest.approx(0.2)
    assert not found.assumed and not found.missing


def test_corners_of_two_assumptions_try_each_alone_and_both():
    two = {"a": Known(2.0, "assumed", 1.0, 3.0), "b": Known(5.0, "assumed", 4.0, 6.0)}
    tries = corners(two)
    assert {"a": 1.0} in tries and {"a": 3.0, "b": 4.0} in tries
    assert len(tries) == 8


RADIATOR_SETS = (
    "mms fp sd qmp", "mms cms sd rms", "mms vap sd qmp", "fp vap sd rms", "fp cms sd qmp",
    "fp cms vap qmp", "mms cms vap rms",
)  # fmt: skip


@pytest.mark.parametrize("names", RADIATOR_SETS)
def test_500_random_radiators_come_back_from_each_sufficient_set(names):
    for seed in range(500):
        rng = np.random.default_rng(seed)
        sd, fp, qmp = rng.uniform(0.01, 0.09), rng.uniform(8, 30), rng.uniform(3, 20)
        mms = sd * rng.uniform(2.0, 8.0)
        w = 2 * math.pi * fp
        cms = 1 / (w**2 * mms)
        whole = {
            "sd": sd, "fp": fp, "qmp": qmp, "mms": mms, "cms": cms, "rms": w * mms / qmp,
            "vap": DENSITY * SOUND**2 * sd**2 * cms,
        }  # fmt: skip
        made = Radiator.from_datasheet(
            air=Plain(), xmax=0.02, added_mass=0.1, **{n: whole[n] for n in names.split()}
        )
        got = [made.sd, made.mms, made.cms, made.rms, made.added_mass]
        assert got == pytest.approx([sd, mms, cms, whole["rms"], 0.1], rel=1e-9)
        hows = {name: made.known[name].how for name in whole}
        assert {n for n, how in hows.items() if how == "given"} == set(names.split())
        assert "assumed" not in hows.values()


def test_a_radiator_says_what_was_assumed_what_contradicts_and_what_is_missing():
    made = Radiator.from_datasheet(size=12, mms=0.2)
    assert {n for n, k in made.known.items() if k.how == "assumed"} >= {"sd", "cms", "qmp"}
    assert math.isinf(made.xmax)
    with pytest.raises(ValueError, match=r"mms.*cannot all be true|cannot all be true.*mms"):
        Radiator.from_datasheet(fp=12, mms=0.2, cms=2e-4, sd=0.05)
    with pytest.raises(ValueError, match="The mass is missing"):
        Radiator.from_datasheet(fp=12, sd=0.05)
    many = Radiator.from_datasheet(fp=[10, 12], qmp=8, vap=0.1, sd=0.05, xmax=0.02)
    assert many.fp == pytest.approx([10, 12])
