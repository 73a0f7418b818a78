"""Hypothesis strategies: any valid driver, radiator, box and air the library should take."""

import numpy as np
from hypothesis import strategies as st

from boxlab import Air, Driver, Port, PortedBox, Radiator, RadiatorBox, SealedBox


def spread(low, high):
    """Floats spread evenly in the logarithm."""
    return st.floats(np.log(low), np.log(high)).map(lambda x: float(np.exp(x)))


@st.composite
def drivers(draw, le=None, semi=True):
    return Driver(
        re=draw(spread(1.0, 12.0)),
        le=draw(st.just(0.0) | spread(1e-5, 5e-3)) if le is None else le,
        bl=draw(spread(3.0, 35.0)),
        mms=draw(spread(5e-3, 0.6)),
        cms=draw(spread(4e-5, 2e-3)),
        rms=draw(spread(0.2, 15.0)),
        sd=draw(spread(4e-3, 0.15)),
        xmax=draw(spread(2e-3, 4e-2)),
        pe=draw(spread(20.0, 3000.0)),
        semi_k=draw(st.just(0.0) | spread(1e-3, 0.3)) if semi else 0.0,
        semi_n=draw(st.floats(0.4, 0.95)) if semi else 0.7,
    )


@st.composite
def radiators(draw):
    return Radiator(
        sd=draw(spread(5e-3, 0.15)),
        mms=draw(spread(2e-2, 1.0)),
        cms=draw(spread(5e-5, 3e-3)),
        rms=draw(spread(0.1, 10.0)),
        xmax=draw(spread(3e-3, 4e-2)),
        added_mass=draw(st.just(0.0) | spread(1e-3, 1.0)),
    )


@st.composite
def ports(draw):
    return Port(draw(spread(8e-4, 0.04)), draw(spread(0.03, 1.0)), draw(spread(5e-3, 0.15)))


VOLUMES = spread(3e-3, 0.25)
COUNTS = st.integers(1, 4)
QLS = st.just(np.inf) | spread(2.0, 100.0)


def sealed():
    return st.builds(SealedBox, VOLUMES)


def ported(ql=QLS):
    return st.builds(PortedBox, VOLUMES, ports(), COUNTS, ql)


def with_radiator(ql=QLS):
    return st.builds(RadiatorBox, VOLUMES, radiators(), COUNTS, ql)


def boxes():
    return sealed() | ported() | with_radiator()


def airs():
    return st.builds(
        Air,
        temperature=st.floats(-10.0, 45.0),
        pressure=st.floats(8e4, 1.05e5),
        humidity=st.floats(0.0, 1.0),
    )
