"""Coil networks against a nodal solution; amplifier ratings; refusals."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from boxlab.base.checks import UnitWarning
from boxlab.car.wiring import Amplifier, networks


def nodal_load(network):
    """Load of the network from its conductance matrix: a driver is a block of coils, node by node.

    Returns the load and the spread of the coils' currents.
    """
    edges, nodes = [], [2]  # node 0 is ground, 1 is the amplifier

    def new():
        nodes[0] += 1
        return nodes[0] - 1

    def string(start, end, count, part):
        here = start
        for i in range(count):
            there = end if i == count - 1 else new()
            part(here, there)
            here = there

    def driver(start, end):
        for _ in range(network.coils // network.coils_in_series):
            string(start, end, network.coils_in_series, lambda a, b: edges.append((a, b)))

    for _ in range(network.drivers // network.drivers_in_series):
        string(1, 0, network.drivers_in_series, driver)
    assert len(edges) == network.coils * network.drivers
    g = np.zeros((nodes[0], nodes[0]))
    for a, b in edges:
        g[a, a] += 1 / network.coil
        g[b, b] += 1 / network.coil
        g[a, b] -= 1 / network.coil
        g[b, a] -= 1 / network.coil
    inject = np.zeros(nodes[0] - 1)
    inject[0] = 1.0
    v = np.concatenate(([0.0], np.linalg.solve(g[1:, 1:], inject)))
    currents = [abs(v[a] - v[b]) for a, b in edges]
    return v[1], np.ptp(currents)


@given(
    coil=st.sampled_from([1.0, 2.0, 4.0]),
    coils=st.integers(1, 4),
    drivers=st.integers(1, 6),
)
def test_every_network_against_the_conductance_matrix(coil, coils, drivers):
    for network in networks(coil, coils, drivers):
        load, spread = nodal_load(network)
        assert network.load == pytest.approx(load)
        assert spread < 1e-9  # equal split: no coil works harder than another


def test_all_divisors_are_there():
    loads = {round(n.load, 6) for n in networks(2, coils=2, drivers=3)}
    # 6 coils: s in series, 6/s branches, load 2 s²/6.
    assert loads == {round(2 * s * s / 6, 6) for s in (1, 2, 3, 6)}


def test_words_tell_how_to_wire():
    low, *_, high = networks(4, coils=2, drivers=2)
    assert low.words == "2 coils in parallel in each driver; then 2 drivers in parallel: 1 Ω"
    assert high.words == "2 coils in series in each driver; then 2 drivers in series: 16 Ω"
    assert networks(4)[0].words == "one coil, straight through: 4 Ω"


def test_amplifier_power_and_voltage():
    amp = Amplifier({4: 200, 2: 350})
    assert amp.minimum == 2
    assert amp.power(4) == 200
    assert amp.voltage(2) == pytest.approx(np.sqrt(700))
    assert amp.power(8) == pytest.approx(100)
    # Between ratings: never above either side's voltage.
    assert amp.voltage(3) == pytest.approx(np.sqrt(700))
    assert amp.voltage(3) <= amp.voltage(4)


def test_best_network():
    network, watts = Amplifier({4: 200, 2: 350}).best(4, coils=2)
    assert (network.load, watts) == (2, 350)
    network, watts = Amplifier({4: 200, 2: 350}).best(2, coils=2)
    assert (network.load, watts) == (4, 200)  # 1 Ω is not allowed


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: Amplifier({4: 200, 2: 350}).power(1), "below this amplifier's least rated load"),
        (lambda: Amplifier({4: 200}, minimum=2).power(2), "cannot be guessed"),
        (lambda: Amplifier({4: 200}).best(2), "higher impedance"),
        (lambda: Amplifier({}), "watts by load"),
        (lambda: Amplifier({4: -200}), "above zero"),
        (lambda: networks(4, coils=0), "above zero"),
        (lambda: networks(4, drivers=1.5), "whole number"),
    ],
)
def test_bad_input_says_what_to_do(call, words):
    with pytest.raises(ValueError, match=words):
        call()


def test_milliohms_are_suspected():
    with pytest.warns(UnitWarning, match="Give ohms"):
        networks(4000)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: Amplifier({4: 400, 2: 200}), "200 W at 2 Ω and 400 W at 4 Ω.*swapped"),
        (lambda: Amplifier({4: 100, 2: 350}), "350 W at 2 Ω and 100 W at 4 Ω.*more than twice"),
        (lambda: Amplifier({8: 100, 4: 190, 2: 150}), "150 W at 2 Ω and 190 W at 4 Ω"),
        (lambda: Amplifier({200: 4}), "Give ohms, then watts"),
        (lambda: Amplifier({4: 0.2}), "Give watts"),
        (lambda: Amplifier({4: 200}, minimum=2000), "Give ohms"),
        (lambda: Amplifier({4: 200}).power(4000), "Give ohms"),
    ],
)
def test_ratings_that_no_source_of_volts_has_are_doubted(call, words):
    with pytest.warns(UnitWarning, match=words):
        call()


@pytest.mark.parametrize(
    "ratings", [{4: 200, 2: 350}, {4: 200, 2: 400}, {4: 250, 2: 250}, {8: 60, 4: 100, 2: 150}]
)
def test_likely_ratings_are_taken_in_silence(ratings, recwarn):
    Amplifier(ratings)
    assert not recwarn.list
