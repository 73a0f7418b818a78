"""Each published route to tuning, Q and mass, against closed forms and worked examples."""

import numpy as np
import pytest

from boxlab.base.units import grams, litres, mm
from boxlab.measure import (
    BOLT,
    INCH_WASHERS,
    WASHERS,
    Estimate,
    Sweep,
    find_tuning,
    fit_driver,
    in_inch_washers,
    in_washers,
    mass_table,
    mass_to_add,
    radiator_from_tunings,
    rated_impedance,
    resonance_of,
)
from boxlab.measure.fit.motional import impedance
from boxlab.measure.fit.shape import extreme, zero_crossing
from boxlab.model.driver import Driver
from boxlab.model.enclosure import SealedBox
from boxlab.model.response import solve

F = np.geomspace(5, 400, 1200)

# Derived: poles and zeros of the lossless vented circuit, fs, fb, α -> fL, fH, fC.
LOSSLESS = [
    (30, 35, 2, 17.45043, 60.17045, 51.96152),
    (25, 25, 2**0.5, 14.22049, 43.95067, 38.84435),
    (40, 33.7, 1.24378, 20.54844, 65.60108, 59.91702),
]


def curve(f=F, **values):
    return Sweep.from_impedance(f, impedance(f, **({"re": 6.0, "qms": 400, "qes": 0.4} | values)))


@pytest.mark.parametrize(("fs", "fb", "alpha", "fl", "fh", "fc"), LOSSLESS)
def test_peaks_and_identities_of_the_lossless_circuit(fs, fb, alpha, fl, fh, fc):
    f = np.geomspace(10, 90, 40001)
    z = np.abs(impedance(f, 6.0, fs=fs, qms=1e5, qes=0.4, alpha=alpha, fb=fb))
    low, high = f < fb, f > fb
    assert f[low][np.argmax(z[low])] == pytest.approx(fl, rel=2e-4)
    assert f[high][np.argmax(z[high])] == pytest.approx(fh, rel=2e-4)
    # fB² = fL² + fH² − fC², fs·fB = fL·fH, and Small's α (Vented-box III, 1973, from memory)
    assert np.sqrt(fl**2 + fh**2 - fc**2) == pytest.approx(fb, rel=1e-5)
    assert fl * fh / fb == pytest.approx(fs, rel=1e-5)
    assert (fh**2 - fb**2) * (fb**2 - fl**2) / (fh * fl) ** 2 == pytest.approx(alpha, rel=1e-4)


@pytest.mark.parametrize(("fs", "fb", "alpha", "fl", "fh", "fc"), LOSSLESS)
def test_every_route_finds_the_tuning_of_an_almost_lossless_box(fs, fb, alpha, fl, fh, fc):
    s = curve(fs=fs, fb=fb, alpha=alpha, qms=60, leak=1 / 400)
    found = find_tuning(s, sealed=fc, fs=fs)
    by = {route.name: route.value for route in found.routes}
    assert by["full model fit"] == pytest.approx(fb, rel=1e-5)
    assert by["least magnitude"] == pytest.approx(fb, rel=2e-3)
    assert by["zero phase"] == pytest.approx(fb, rel=2e-3)
    assert by["√(fL² + fH² − fC²)"] == pytest.approx(fb, rel=5e-3)
    assert by["fL·fH/fs"] == pytest.approx(fb, rel=5e-3)
    assert found.fl == pytest.approx(fl, rel=3e-3)
    assert found.fh == pytest.approx(fh, rel=3e-3)


def test_the_disagreement_is_explained_by_inductance_and_loss():
    s = curve(re=3.4, le=1.5e-3, fs=30, qms=5, fb=35, alpha=2, leak=1 / 7)
    found = find_tuning(s)
    for route in found.routes[1:]:
        assert abs(route.value - found.fb) > 0.3, "the routes must differ here"
        assert route.coil + route.loss == pytest.approx(route.shift, abs=1e-9)
        assert route.corrected == pytest.approx(35, abs=0.05)
    without = find_tuning(curve(re=3.4, fs=30, qms=5, fb=35, alpha=2, leak=1 / 7))
    zero = next(r for r in without.routes if r.name == "zero phase")
    assert abs(zero.coil) < 0.01
    assert any("inductance" in words for words in found.words)


def test_radiator_identities():
    """Derived: fL² + fH² = fb² + fs²(1 + α) and fL·fH = fs·fb·√(1 + α/(1 + δ))."""
    fs, fb, alpha, fp = 30.0, 36.0, 2.5, 14.0
    delta = (fb / fp) ** 2 - 1
    f = np.geomspace(8, 90, 60001)
    z = np.abs(impedance(f, 6.0, fs=fs, qms=1e5, qes=0.4, alpha=alpha, fb=fb, fp=fp))
    fl, fh = (f[part][np.argmax(z[part])] for part in (f < fb, f > fb))
    assert fl**2 + fh**2 == pytest.approx(fb**2 + fs**2 * (1 + alpha), rel=5e-4)
    assert fl * fh == pytest.approx(fs * fb * np.sqrt(1 + alpha / (1 + delta)), rel=5e-4)


def test_the_fitted_circuit_is_that_of_solve():
    """Two independent ways to the same impedance: ratios here, masses and compliances there."""
    d = Driver.from_datasheet(
        fs=40, qes=0.45, qms=4, vas=litres(25), sd=0.02, re=6, le=1e-3, xmax=mm(5), pe=50
    )
    ours = impedance(F, 6, 1e-3, fs=40, qms=4, qes=0.45, alpha=25 / 20.1)
    np.testing.assert_allclose(ours, solve(d, SealedBox(litres(20.1)), F).impedance, rtol=1e-9)


# Course example, DTU 34870 Electroacoustics, Lab D preparation note: fs 40 Hz, QMS 4, QES 0.45,
# VAS 25 L, VB 20.1 L; the note states free-air Zmax 59.3 Ω, f1 27.2 and f2 58.5 Hz, fC 59.9 Hz,
# VAS back 25.0 L. RE = 6.0 Ω follows from its Zmax.
DTU = Driver.from_datasheet(
    fs=40, qes=0.45, qms=4, vas=litres(25), sd=0.02, re=6.0, xmax=mm(5), pe=50
)


def test_course_example_free_air():
    s = Sweep.from_impedance(F, solve(DTU, None, F).impedance)
    found = resonance_of(s, 6.0)
    assert found.r0 * 6.0 == pytest.approx(59.3, abs=0.1)
    assert found.f1 == pytest.approx(27.2, abs=0.2)
    assert found.f2 == pytest.approx(58.5, abs=0.4)
    assert found.qms == pytest.approx(4, rel=3e-3)
    assert found.qes == pytest.approx(0.45, rel=3e-3)
    assert found.fs == pytest.approx(40, rel=1e-3)


def test_course_example_known_volume():
    free, boxed = (
        Sweep.from_impedance(F, solve(DTU, box, F).impedance)
        for box in (None, SealedBox(litres(20.1)))
    )
    fit = fit_driver(free, sd=0.02, known_volume=(boxed, litres(20.1)))
    assert find_tuning(boxed).resonance == pytest.approx(59.9, abs=0.05)
    assert fit.vas == pytest.approx(litres(25.0), rel=1e-4)


@pytest.mark.parametrize("level", [None, 1.5, 3.0, 6.0])
def test_total_q_by_three_frequencies_is_exact_for_a_plain_resonance(level):
    """Exact for a resistance with a parallel resonance, at any level r1 (derived)."""
    s = curve(np.geomspace(4, 400, 6000), fs=40, qms=5, qes=0.5)
    found = resonance_of(s, 6.0, level)
    assert found.qts == pytest.approx(1 / (1 / 5 + 1 / 0.5), rel=1e-3)
    assert found.balance == pytest.approx(1, abs=1e-3)


def test_total_q_covers_at_one_per_cent_noise():
    rng = np.random.default_rng(2)
    f = np.geomspace(8, 400, 150)
    inside = []
    for _ in range(60):
        z = impedance(f, 6.0, fs=40, qms=5, qes=0.5) * np.exp(0.01 * rng.standard_normal(len(f)))
        found = resonance_of(Sweep(f, np.abs(z)), 6.0)
        inside.append(abs(found.qts - 5 / 11) < 1.96 * found.qts.u)
    assert 0.85 <= np.mean(inside) <= 1.0


def test_resonance_refuses_what_it_cannot_know():
    s = curve(fs=40, qms=5, qes=0.5)
    with pytest.raises(ValueError, match="does not rise above re"):
        resonance_of(s, 80.0)
    with pytest.raises(ValueError, match="level"):
        resonance_of(s, 6.0, level=20)
    with pytest.raises(ValueError, match="does not fall to"):
        resonance_of(s.between(36, 400), 6.0, level=1.1)


def test_rated_impedance_and_the_80_per_cent_rule():
    """The lowest |Z| may not fall below 80 % of the rated value (IEC 60268-5, from memory)."""
    s = curve(re=3.4, le=1e-3, fs=40, qms=5, qes=0.5)
    found = rated_impedance(s)
    assert found.least == pytest.approx(s.magnitude[s.frequency > 40].min(), rel=2e-3)
    assert found.highest == pytest.approx(found.least / 0.8)
    assert found.usual == 4
    assert "keeps it" in rated_impedance(s, rated=4).words
    assert "breaks it" in rated_impedance(s, rated=6).words
    with pytest.raises(ValueError, match="no point"):
        rated_impedance(s, low=1e5)


def test_added_mass_and_known_volume_formulas():
    """Mms = Δm/((fs/fs′)² − 1) (derived) and Vas = Vb((fc/fs)² − 1): the fit finds the same."""
    heavy = Driver(DTU.re, 0, DTU.bl, DTU.mms + grams(10), DTU.cms, DTU.rms, DTU.sd, mm(5), 50)
    free, loaded = (Sweep.from_impedance(F, solve(d, None, F).impedance) for d in (DTU, heavy))
    f1, f2 = find_tuning(free).resonance, find_tuning(loaded).resonance
    by_hand = grams(10) / ((f1 / f2) ** 2 - 1)
    fit = fit_driver(free, sd=0.02, added_mass=(loaded, grams(10)))
    assert fit.mms == pytest.approx(by_hand, rel=1e-4)
    assert fit.mms == pytest.approx(DTU.mms, rel=1e-4)
    assert fit.bl == pytest.approx(DTU.bl, rel=1e-4)


def test_peak_and_crossing_by_local_curves():
    f = np.geomspace(10, 100, 300)
    s = Sweep.from_impedance(f, impedance(f, 6.0, fs=33.3, qms=6, qes=0.5))
    top = extreme(s, 25, 45, 1)
    assert top.frequency == pytest.approx(33.3, rel=1e-4)
    assert top.magnitude == pytest.approx(6 * (1 + 12), rel=1e-4)
    rising = Sweep(f, 0 * f + 5, 40 * np.log(f / 47.1))
    assert zero_crossing(rising, 30, 70) == pytest.approx(47.1, rel=1e-6)
    assert np.isnan(zero_crossing(Sweep(f, 0 * f + 5, 0 * f + 10), 30, 70))


def test_radiator_from_two_tunings():
    mass, spring, area, volume = 0.14, 1 / 0.6e-3, 0.035, 0.014
    air = 1.4188e5  # ρc², Pa, of the default air
    total = spring + area**2 * air / volume
    f1, f2 = (np.sqrt(total / (mass + m)) / (2 * np.pi) for m in (0, 0.08))
    found = radiator_from_tunings(
        Estimate(f1, f1 * 1e-3), Estimate(f2, f2 * 1e-3), 0.08, volume=volume, area=area, count=1
    )
    assert found.mass == pytest.approx(mass, rel=1e-6)
    assert found.cms == pytest.approx(0.6e-3, rel=1e-2)
    assert found.fp == pytest.approx(np.sqrt(spring / mass) / (2 * np.pi), rel=5e-3)
    # 0.1 % in each tuning: Monte Carlo of the same formula
    rng = np.random.default_rng(1)
    a, b = (f * (1 + 1e-3 * rng.standard_normal(20000)) for f in (f1, f2))
    assert found.mass.u == pytest.approx(np.std(0.08 * b**2 / (a**2 - b**2)), rel=0.03)
    vague = radiator_from_tunings(
        Estimate(f1, f1 * 0.01), Estimate(f2, f2 * 0.01), 0.08, volume=volume, area=area, count=1
    )
    assert "not identifiable" in str(vague.cms)
    with pytest.raises(ValueError, match="must fall"):
        radiator_from_tunings(32, 40, 0.06)
    with pytest.raises(ValueError, match="count is missing: say how many radiators"):
        radiator_from_tunings(f1, f2, 0.08, volume=volume, area=area)


def test_two_radiators_taken_for_one_would_have_another_resonance():
    """Two of 0.14 kg on 0.6 mm/N in 14 L, their tunings derived here."""
    mass, spring, area, volume, air = 0.14, 1 / 0.6e-3, 0.035, 0.014, 1.4188e5
    total = spring + 2 * area**2 * air / volume
    f1, f2 = (np.sqrt(total / (mass + m)) / (2 * np.pi) for m in (0, 0.08))
    one, two = (
        radiator_from_tunings(f1, f2, 0.08, volume=volume, area=area, count=n) for n in (1, 2)
    )
    assert two.fp == pytest.approx(np.sqrt(spring / mass) / (2 * np.pi), rel=5e-3)
    assert one.fp > 1.5 * two.fp


def test_weights_for_a_wanted_tuning():
    added = mass_to_add(32.0, Estimate(40.0, 0.2, "Hz"), Estimate(0.1, 0.002, "kg"))
    assert added == pytest.approx(0.1 * ((40 / 32) ** 2 - 1))
    assert 0 < added.u < 0.01
    assert mass_to_add(45, 40, 0.1) < 0
    printed = mass_table(40, 0.1, [42, 40, 36, 32])
    assert "take off" in printed and "none" in printed
    assert len(printed.splitlines()) == 8


def test_washers():
    """ISO 7089 nominal sizes (from memory) and steel at 7850 kg/m³."""
    m10 = WASHERS["M10"]
    by_hand = 7850 * np.pi / 4 * (20e-3**2 - 10.5e-3**2) * 2e-3
    assert m10.mass == pytest.approx(by_hand)
    masses = [washer.mass for washer in WASHERS.values()]
    assert masses == sorted(masses)
    for wanted in (0.0, 0.012, 0.0503, 0.2, 0.3, 0.34):
        counts = in_washers(wanted)
        assert len(counts) == (wanted > 0)  # one size only: they go on one bolt
        made = sum(WASHERS[name].mass * n for name, n in counts.items())
        assert abs(made - wanted) <= max(0.001, 0.03 * wanted) + 1e-12
    assert in_washers(0.3) == {"M16": 27}  # 11.3 g each: 305 g, and 26 would be 294 g
    assert in_washers(0.038) == {"M12": 6}  # three of M16 would be 4 g short
    assert in_washers(0.3, ("M8", "M5")) == {"M8": 164}
    for text in (mass_table(40, 0.1, [36]), BOLT):
        assert "bolt and its nut" in text and "leave out as many washers" in text
    half = INCH_WASHERS["1/2 in"]  # by hand: 1.062 and 0.531 in across, 0.095 in, steel
    ring = np.pi / 4 * (1.062**2 - 0.531**2) * 0.095 * 0.0254**3
    assert half.mass == pytest.approx(7850 * ring)
    table = mass_table(40, 0.1, [42, 36])
    assert f"1/2 in {half.mass / 0.028349523125:.2f} oz" in table and "take off" in table
    for line in table.splitlines()[:4]:
        assert line.count("|") == 6
    for wanted in (0.012, 0.0503, 0.2, 0.34):
        ((name, n),) = in_inch_washers(wanted).items()
        assert abs(INCH_WASHERS[name].mass * n - wanted) <= max(0.001, 0.03 * wanted) + 1e-12
    with pytest.raises(ValueError, match="only add"):
        in_washers(-0.01)
    with pytest.raises(ValueError, match="no washer 'M99'"):
        in_washers(0.01, ("M99",))
