"""The signal chain against scipy's analogue filters, ngspice, and differences of the phase."""

import subprocess

import numpy as np
import pytest
from independent import NGSPICE, circuit, matrix_solution
from scipy import signal

from boxlab import Air, Driver, Radiator, RadiatorBox, SealedBox, solve
from boxlab.base.units import litres
from boxlab.model.chain import Chain, HighPass, LowPass, Peak, Shelf

F = np.geomspace(4, 400, 161)
W = 2 * np.pi * F
DRIVER = Driver(
    re=3.4, le=1.1e-3, bl=11.5, mms=0.125, cms=2.1e-4, rms=2.4, sd=0.0335, xmax=0.012, pe=400.0
)
RADIATOR = Radiator(sd=0.0335, mms=0.21, cms=3.1e-4, rms=1.3, xmax=0.02, added_mass=0.08)
BOX = RadiatorBox(litres(14.2), RADIATOR, ql=12.0)
CHAIN = Chain((HighPass(28, order=3), Peak(40, 6, 1), Shelf(55, -4), LowPass(90, order=4)))


@pytest.mark.parametrize("order", range(1, 11))
@pytest.mark.parametrize(("kind", "word"), [(HighPass, "highpass"), (LowPass, "lowpass")])
@pytest.mark.filterwarnings("ignore::boxlab.base.checks.UnitWarning")  # of an order over 8
def test_butterworth_is_scipy_s(kind, word, order):
    # reference program: scipy.signal.butter, analog
    want = signal.freqs_zpk(*signal.butter(order, 2 * np.pi * 31, word, True, "zpk"), W)[1]
    np.testing.assert_allclose(kind(31, order).response(F), want, rtol=1e-10)


@pytest.mark.parametrize("q", [0.5, 0.9, 3.0])
def test_a_given_q_is_the_prototype_carried_over_by_scipy(q):
    # reference program: scipy.signal.lp2hp and lp2lp of 1/(s² + s/Q + 1)
    w0 = 2 * np.pi * 27
    high = signal.freqs(*signal.lp2hp([1], [1, 1 / q, 1], w0), W)[1]
    low = signal.freqs(*signal.lp2lp([1], [1, 1 / q, 1], w0), W)[1]
    np.testing.assert_allclose(HighPass(27, q=q).response(F), high, rtol=1e-10)
    np.testing.assert_allclose(LowPass(27, q=q).response(F), low, rtol=1e-10)
    assert abs(HighPass(27, q=q).response(27.0)) == pytest.approx(q)


@pytest.mark.parametrize("gain", [-9.0, 3.0, 12.0])
@pytest.mark.parametrize("q", [0.6, 2.5])
def test_boost_and_shelf_keep_their_definitions(gain, q):
    # derived: gain at the centre, half of it in dB where the edges are f0/Q apart, none far away
    peak, shelf = Peak(40, gain, q), Shelf(40, gain, q)
    edges = 40 * (np.sqrt(1 + 1 / (4 * q * q)) + np.array([-0.5, 0.5]) / q)
    assert edges[1] - edges[0] == pytest.approx(40 / q)
    assert Chain(peak).gain_db(40.0) == pytest.approx(gain)
    assert Chain(peak).gain_db(edges) == pytest.approx(gain / 2)
    assert Chain(peak).gain_db([1e-4, 1e7]) == pytest.approx(0, abs=1e-6)
    assert Chain(shelf).gain_db([1e-4, 40, 1e7]) == pytest.approx([gain, gain / 2, 0], abs=1e-6)
    for kind in (Peak, Shelf):  # a cut undoes a boost
        undone = Chain((kind(40, gain, q), kind(40, -gain, q)))
        np.testing.assert_allclose(undone.response(F), 1, rtol=1e-12)


def test_boost_is_the_known_transfer_function_by_scipy():
    # reference program: scipy.signal.freqs of the polynomials as printed (cookbook, from memory)
    a, w0, q = 10 ** (6 / 40), 2 * np.pi * 40, 1.4
    top, bottom = [1, w0 * a / q, w0**2], [1, w0 / (a * q), w0**2]
    want = signal.freqs(top, bottom, W)[1]
    np.testing.assert_allclose(Peak(40, 6, 1.4).response(F), want, rtol=1e-10)
    root = np.sqrt(a) * w0 / q
    top, bottom = [a, a * root, a * a * w0**2], [a, root, w0**2]
    want = signal.freqs(top, bottom, W)[1]
    np.testing.assert_allclose(Shelf(40, 6, 1.4).response(F), want, rtol=1e-10)


def differences(of, step=1e-5):
    """−dφ/dω by central differences, of a function of frequency, Hz."""
    turn = np.angle(of(F * (1 + step)) / of(F * (1 - step)))
    return -turn / (2 * step * W)


def test_group_delay_is_the_slope_of_the_phase():
    # derived: central differences of the phase
    np.testing.assert_allclose(CHAIN.group_delay(F), differences(CHAIN.response), rtol=1e-6)
    # derived: a first-order high-pass turns by 90° − atan(ω/ω0)
    own = 2 * np.pi * 28
    np.testing.assert_allclose(
        Chain(HighPass(28, 1)).group_delay(F), own / (own**2 + W**2), rtol=1e-12
    )


@pytest.mark.parametrize(
    "box", [None, SealedBox(litres(20)), BOX], ids=["free", "sealed", "radiator"]
)
def test_group_delay_of_the_whole_is_the_slope_of_the_pressure(box):
    # derived: central differences; the way to the listener is taken off
    air = Air()
    r = solve(DRIVER, box, F, chain=CHAIN)
    got = differences(lambda f: solve(DRIVER, box, f, chain=CHAIN).pressure)
    np.testing.assert_allclose(r.group_delay, got - 1.0 / air.speed_of_sound, rtol=2e-4, atol=1e-7)
    plain = solve(DRIVER, box, F)
    np.testing.assert_allclose(
        r.group_delay, plain.group_delay + CHAIN.group_delay(F), rtol=1e-9, atol=1e-12
    )


def test_solve_is_the_matrix_driven_through_scipy_s_filter():
    # derived: numpy.linalg.solve of the laws; reference program: scipy.signal.butter
    gain = signal.freqs_zpk(*signal.butter(4, 2 * np.pi * 33, "highpass", True, "zpk"), W)[1]
    r = solve(DRIVER, BOX, F, 20.0, chain=Chain(HighPass(33, order=4)))
    want = matrix_solution(circuit(DRIVER, BOX, Air(), voltage=20.0), F)
    np.testing.assert_allclose(r.impedance, want["impedance"], rtol=1e-9)
    for name in ("cone_velocity", "vent_volume_velocity", "box_pressure"):
        np.testing.assert_allclose(getattr(r, name), want[name] * gain, rtol=1e-9)
    drawn = np.abs(20 * gain / want["impedance"]) ** 2 * want["impedance"].real
    np.testing.assert_allclose(r.power, drawn, rtol=1e-9)


def spice_filters(folder):
    """High-pass 28 Hz of order 3, +6 dB at 40 Hz with Q 1, as coils, capacitors and resistors."""
    w1, w2, a = 2 * np.pi * 28, 2 * np.pi * 40, 10 ** (6 / 40)
    # order 3 from a source without resistance into 1 Ω: 2/3 F, 3/4 H, 2 F inverted for a high-pass
    c1, l2, c3 = 2 / 3 / w1, 3 / 4 / w1, 2 / w1
    # boost: the current through one series resonator with 1/(A·Q) is sent through one with A/Q
    r_low, r_all = 1 / a, a
    c, coil = 1 / w2, 1 / w2
    lines = [
        "filters", "V1 in 0 DC 0 AC 1",
        f"C1 in a {c1!r}", f"L2 a 0 {l2!r}", f"C3 a b {c3!r}", "R4 b 0 1",
        "E1 c 0 b 0 1", "Ve c d 0", f"R5 d e {r_low!r}", f"L5 e f {coil!r}", f"C5 f 0 {c!r}",
        "F1 0 g Ve 1", f"R6 g h {r_all!r}", f"L6 h i {coil!r}", f"C6 i 0 {c!r}", "Rdc g 0 1e12",
        "Rd2 f 0 1e12", "Rd3 b 0 1e12", ".control", "set numdgt=16", "set wr_singlescale",
        "ac dec 20 10 200", "wrdata out v(g)", "quit", ".endc", ".end", "",
    ]  # fmt: skip
    deck = folder / "deck.cir"
    deck.write_text("\n".join(lines))
    subprocess.run([NGSPICE, "-b", str(deck)], cwd=folder, capture_output=True, timeout=60)
    table = np.loadtxt(folder / "out")
    return table[:, 0], table[:, 1] + 1j * table[:, 2]


@pytest.mark.skipif(NGSPICE is None, reason="ngspice is not installed")
def test_chain_is_that_of_coils_and_capacitors_in_ngspice(tmp_path):
    # reference program: ngspice, AC analysis of a ladder and of two resonators
    frequency, want = spice_filters(tmp_path)
    got = Chain((HighPass(28, order=3), Peak(40, 6, 1))).response(frequency)
    np.testing.assert_allclose(got, want, rtol=1e-6)


def test_designs_lead_and_frequency_is_last():
    corners = np.array([20.0, 25.0, 30.0])
    many = Chain((HighPass(corners, order=4), Peak(40, [0.0, 3.0, 6.0], 1)))
    assert many.response(F).shape == (3, F.size) and many.response(40.0).shape == (3,)
    r = solve(DRIVER, RadiatorBox(litres([12, 14, 16]), RADIATOR), F, chain=many)
    for n, (litre, corner, gain) in enumerate(zip((12, 14, 16), corners, (0, 3, 6), strict=True)):
        alone = Chain((HighPass(corner, order=4), Peak(40, gain, 1)))
        one = solve(DRIVER, RadiatorBox(litres(litre), RADIATOR), F, chain=alone)
        for name in ("spl", "group_delay", "current", "vent_excursion"):
            np.testing.assert_allclose(getattr(r, name)[n], getattr(one, name), rtol=1e-12)
    # in blocks, too
    volumes = litres(np.linspace(8, 40, 300))
    big = solve(DRIVER, SealedBox(volumes), F, chain=CHAIN).group_delay[299]
    one = solve(DRIVER, SealedBox(volumes[299]), F, chain=CHAIN).group_delay
    np.testing.assert_allclose(big, one, rtol=1e-12)


def test_no_stage_changes_nothing():
    plain, empty = solve(DRIVER, BOX, F), solve(DRIVER, BOX, F, chain=Chain())
    np.testing.assert_allclose(plain.spl, empty.spl, rtol=1e-14)
    np.testing.assert_array_equal(plain.group_delay, empty.group_delay)
    assert Chain().words == "no filter" and Chain().response(30.0) == 1


@pytest.mark.parametrize("kind", [HighPass, LowPass])
@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"frequency": 0.0}, "frequency must be above zero"),
        ({"frequency": float("nan")}, "frequency holds NaN"),
        ({"frequency": 28, "order": 0}, "order must be above zero"),
        ({"frequency": 28, "order": 2.5}, "order must be a whole number"),
        ({"frequency": 28, "order": [2, 4]}, "one whole number"),
        ({"frequency": 28, "q": -1}, "q must be above zero"),
        ({"frequency": 28, "order": 4, "q": 1}, "only a filter of order 2 has one Q"),
        ({"frequency": "28 Hz"}, "frequency = '28 Hz' is not a number"),
    ],
)
def test_impossible_filters_are_refused_in_words(kind, given, words):
    with pytest.raises(ValueError, match=words):
        kind(**given)


@pytest.mark.parametrize("kind", [Peak, Shelf])
@pytest.mark.parametrize(
    ("given", "words"),
    [
        ((-40, 6, 1), "frequency must be above zero"),
        ((40, float("nan"), 1), "gain_db holds NaN"),
        ((40, 6, 0), "q must be above zero"),
        ((40, 6, None), "q = None is not a number"),
        ((40, [3, 6], [1, 1, 1]), "do not broadcast"),
    ],
)
def test_impossible_boosts_are_refused_in_words(kind, given, words):
    with pytest.raises(ValueError, match=words):
        kind(*given)


def test_what_is_no_chain_is_refused_in_words():
    with pytest.raises(ValueError, match="stages holds 28: give HighPass"):
        Chain((28,))
    with pytest.raises(ValueError, match=r"stage 1 .*, stage 2 .*"):
        Chain((HighPass([20, 30]), HighPass([20, 25, 30])))
    with pytest.raises(ValueError, match="chain must be a Chain or None, got HighPass"):
        solve(DRIVER, BOX, F, chain=HighPass(28))
    with pytest.raises(ValueError, match=r"chain \(2,\)"):
        solve(DRIVER, SealedBox(litres([10, 20, 30])), F, chain=Chain(HighPass([20, 30])))
    with pytest.raises(ValueError, match="frequency must be above zero"):
        CHAIN.response([0.0, 20.0])


def test_unlikely_filters_are_doubted():
    with pytest.warns(UserWarning, match="frequency = 0.028 is implausible"):
        HighPass(0.028)
    with pytest.warns(UserWarning, match="gain_db = 60 is implausible"):
        Peak(40, 60, 1)
