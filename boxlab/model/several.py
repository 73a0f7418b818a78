"""Several equal drivers in one box, as the one driver that they act as together."""

from __future__ import annotations

from dataclasses import replace

from boxlab.base.checks import whole
from boxlab.model.driver import Driver

WIRINGS = ("parallel", "series")


def together(driver: Driver, count: int, wiring: str = "parallel") -> Driver:
    """`count` equal drivers that share a box and a signal, as one driver.

    Areas, masses and friction add up, and so do the watts; suspensions stand side by side. In
    parallel the coils share the current, in series the voltage.

    Parameters
    ----------
    driver : one of them
    count : int
    wiring : "parallel" or "series", from driver to driver

    Raises
    ------
    ValueError
        For another wiring or count.

    >>> from boxlab import Driver
    >>> one = Driver(re=3.4, le=0, bl=15, mms=0.1, cms=2e-4, rms=4, sd=0.03, xmax=0.01, pe=300)
    >>> two = together(one, 2)
    >>> [round(float(x), 2) for x in (two.re, two.fs / one.fs, two.qes / one.qes)]
    [1.7, 1.0, 1.0]
    """
    n = whole("count", count)
    if wiring not in WIRINGS:
        raise ValueError(f"wiring = {wiring!r}: choose one of {', '.join(WIRINGS)}")
    if n == 1:
        return driver
    ways = n if wiring == "series" else 1 / n
    return replace(
        driver,
        re=driver.re * ways,
        le=driver.le * ways,
        semi_k=driver.semi_k * ways,
        bl=driver.bl * (n if wiring == "series" else 1),
        mms=n * driver.mms,
        cms=driver.cms / n,
        rms=n * driver.rms,
        sd=n * driver.sd,
        pe=n * driver.pe,
        name=f"{n} × {driver.name}, in {wiring}",
    )
