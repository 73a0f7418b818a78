"""How much radiator a box needs: swept volume, weights, null, stops and shaking.

Small (Passive-radiator loudspeaker systems, J. Audio Eng. Soc. 22 (1974) 592, abstract) asks for a
radiator with a linear volume displacement limit "at least twice that of the system driver". Here
the need is computed for any box, band and programme, with the driver used to its own limit.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from boxlab.checks import not_negative, positive
from boxlab.designs import Designs, random_designs, take
from boxlab.driver import beside
from boxlab.enclosure import RadiatorBox
from boxlab.limits import max_output
from boxlab.response import solve
from boxlab.tradeoff import Passband, levels, passband


@dataclass(frozen=True, eq=False)
class Need:
    """Radiator swept volume needed, against the driver's; arrays of the designs' shape.

    Attributes
    ----------
    ratio : swept volume of all radiators over Sd·Xmax of the driver, no unit
    radiator_at : Hz, where the radiators need it
    cone_at : Hz, where the cone first reaches its Xmax
    voltage : V rms that brings it there
    """

    ratio: np.ndarray
    radiator_at: np.ndarray
    cone_at: np.ndarray
    voltage: np.ndarray


def needed_ratio(driver, box, low=None, high=None, *, headroom=0.0, points=97, air=None):
    """Swept volume the radiators (or ports) need over that of the driver, both one way.

    The programme is level from `low` to `high` and turned up until the cone just reaches Xmax at
    one frequency of the band. What the vents then sweep, at their own worst frequency of the band,
    is the need: both at one setting of the volume knob, as in Small's displacement ratings.

    Parameters
    ----------
    low : Hz, lowest frequency of the programme; below it a high-pass filter is taken to remove
        everything. Left out, it is the box's f3 or its tuning, whichever is lower: the band that a
        radiator is put in for. From f3 alone, a box tuned below f3 needs less, since its radiator
        is never asked for its largest swing; a programme that goes below tuning needs less against
        the driver too, because there the cone runs out first.
    high : Hz; four times `low` if left out (the need hardly depends on it)
    headroom : dB by which the programme is turned up further, while at each frequency a limiter
        still keeps the cone at Xmax. The need then grows, round the tuning, where the cone has
        room left. Infinite headroom asks for the vents' flow over the cone's, at its largest.
    points : frequencies solved in the band

    Returns
    -------
    Need

    Raises
    ------
    ValueError
        For a band edge that is not above zero, or a band without width.
    """
    low = working_low(driver, box, air) if low is None else positive("low", low, "It is in hertz.")
    high = 4 * low if high is None else positive("high", high, "It is in hertz.")
    headroom = not_negative("headroom", headroom, "It is in dB.", infinite=True)
    low, high = np.broadcast_arrays(low, high)
    if (high <= low).any():
        raise ValueError("high must be above low; both are in hertz.")
    known = np.isfinite(low)
    low, high = np.where(known, low, 30.0), np.where(known, high, 120.0)
    grid = low[..., None] * (high / low)[..., None] ** np.linspace(0, 1, points)
    r = solve(driver, box, grid, 1.0, air)
    cone = np.sqrt(2) * np.abs(r.cone_volume_velocity) / (2 * np.pi * grid)
    vent = np.sqrt(2) * np.abs(r.vent_volume_velocity) / (2 * np.pi * grid)
    vd = beside(driver.vd, grid)
    knob = vd / np.max(cone, axis=-1, keepdims=True)
    with np.errstate(divide="ignore"):
        voltage = np.minimum(knob * 10 ** (headroom / 20), vd / cone)
    ratio = vent * voltage / vd
    worst = np.argmax(ratio, axis=-1)[..., None]
    stops = np.argmax(cone, axis=-1)[..., None]

    def at(values, place):
        return np.where(known, np.take_along_axis(values, place, axis=-1)[..., 0], np.nan)[()]

    return Need(at(ratio, worst), at(grid, worst), at(grid, stops), knob[..., 0])


def working_low(driver, box, air=None):
    """Low end of the band a vented box works in, Hz: the lower of f3 and tuning; designs' shape."""
    return np.minimum(passband(driver, box, air).f3, box.tuning(air))


def smooth(found, peak=1.0, sag=1.5):
    """Which designs of a `Passband` are worth building: a mask, by their peak and sag in dB."""
    return np.isfinite(found.f3) & (found.peak <= peak) & (found.sag <= sag)


@dataclass(frozen=True, eq=False)
class Study:
    """The need of many random radiator boxes worth building; arrays of shape (n,)."""

    designs: Designs
    found: Passband
    low: np.ndarray  # Hz, low end of each one's band
    need: Need

    @property
    def quartiles(self):
        """Lower quartile, median and upper quartile of the needed ratio."""
        return tuple(float(q) for q in np.quantile(self.need.ratio, (0.25, 0.5, 0.75)))

    def share_above(self, ratio):
        """Share of the boxes, 0 to 1, that need more than `ratio`."""
        return float(np.mean(self.need.ratio > ratio))


def study(count=20_000, *, seed=1, band=1.0, headroom=0.0, air=None):
    """The needed ratio over random radiator boxes with usual losses (QL 5 to 50, Q 3 to 20).

    Parameters
    ----------
    count : boxes drawn; those with a smooth response are kept, see `smooth`
    band : the programme begins at this many times each box's `working_low`; below 1 it goes under
        the tuning
    headroom : dB, as for `needed_ratio`
    """
    drawn = random_designs("radiator", count, seed=seed, lossless=0.0, air=air)
    found = passband(drawn.driver, drawn.box, air)
    keep = smooth(found)
    designs, found = drawn[keep], take(found, keep, count)
    low = band * np.minimum(found.f3, designs.box.tuning(air))
    need = needed_ratio(designs.driver, designs.box, low, headroom=headroom, air=air)
    return Study(designs, found, low, need)


@dataclass(frozen=True, eq=False)
class Variant:
    """One choice of radiators for a given box and tuning."""

    name: str
    box: RadiatorBox
    swept_ratio: float  # what the radiators can sweep over what the driver can
    needed: float  # what they need, from needed_ratio
    null: float  # Hz, their own resonance: the output's null
    octave_below: float  # dB against the plateau, an octave under the tuning
    moving_mass: float  # kg, all radiators with their weights
    added_mass: float  # kg, on each
    panel_area: float  # m², all radiators
    sag: float  # m by which gravity shifts one mounted face up or down
    recoil: float  # N peak from the radiators at tuning per Pa rms of far field at 1 m
    frequency: np.ndarray  # Hz
    spl: np.ndarray  # dB, the loudest at each frequency
    limit: np.ndarray  # which limit stops it there

    @property
    def enough(self):
        """True where the radiators can sweep all they need."""
        return self.swept_ratio >= self.needed


def variant(name, driver, box, frequency=(25, 31.5, 40, 50, 63), *, low=None, air=None, **caps):
    """Work out one choice of radiators; `low` as for `needed_ratio`, `caps` as for `max_output`."""
    radiator, count = box.radiator, box.count
    fb = box.tuning(air)
    top = max_output(driver, box, frequency, air=air, **caps)
    tuned = solve(driver, box, fb, 1.0, air)
    force = recoil(tuned, cone=0.0, radiators=1.0) / np.abs(tuned.pressure)
    return Variant(
        name=name,
        box=box,
        swept_ratio=float(count * radiator.vd / driver.vd),
        needed=float(needed_ratio(driver, box, low, air=air).ratio),
        null=float(radiator.fp),
        octave_below=float(levels(driver, box, np.array([fb / 2]), air)[0]),
        moving_mass=float(count * radiator.moving_mass),
        added_mass=float(radiator.added_mass),
        panel_area=float(count * radiator.sd),
        sag=float(9.80665 * radiator.moving_mass * radiator.cms),
        recoil=float(force),
        frequency=top.frequency,
        spl=top.spl,
        limit=top.limit,
    )


def variants(driver, volume, fb, radiator, *, larger=1.4, ql=np.inf, air=None, **options):
    """One radiator as it is, and the three usual ways to get more, all tuned to `fb`.

    "double travel": the same with twice the Xmax; "a size larger": `larger` times the area, with
    bare mass in proportion, the same suspension and travel; "two the same".

    Returns
    -------
    tuple of Variant

    Raises
    ------
    ValueError
        As `RadiatorBox.tuned`, where a radiator is too heavy for the tuning.
    """
    larger = positive("larger", larger, "It is the ratio of the areas, about 1.4 a size.")
    bigger = replace(radiator, sd=radiator.sd * larger, mms=radiator.mms * larger)
    choices = (
        ("one", radiator, 1),
        ("double travel", replace(radiator, xmax=2 * radiator.xmax), 1),
        ("a size larger", bigger, 1),
        ("two the same", radiator, 2),
    )
    return tuple(
        variant(
            name,
            driver,
            RadiatorBox.tuned(volume, fb, moving, count=count, ql=ql, air=air),
            air=air,
            **options,
        )
        for name, moving, count in choices
    )


def softened(box, softer, air=None):
    """The same box with suspensions `softer` times as compliant, weighted to the same tuning.

    The null moves down towards fb/√(1 + softer·C_AP/C_AB).
    """
    softer = positive("softer", softer, "2 means twice as soft.")
    radiator = replace(box.radiator, cms=box.radiator.cms * softer)
    fb = box.tuning(air)
    return RadiatorBox.tuned(box.volume, fb, radiator, count=box.count, ql=box.ql, air=air)


def recoil(response, cone=1.0, radiators=1.0):
    """Peak force that the moving masses put on the box, N; designs' shape + (F,).

    Parameters
    ----------
    response : of a sealed or radiator box, from `solve`
    cone : share of the driver's recoil along the axis looked at: 1 for one driver, 0 for drivers
        in an opposed pair
    radiators : the same for the radiators: 1 on the driver's face, −1 on the opposite face, 0 for
        pairs on opposite faces or for faces at right angles

    Returns
    -------
    array
        |ΣMu̇|. Moving masses count with their air load, so this is a little high. Divide by the
        box's mass for the acceleration of a box that is free to move: see `shake`.

    Raises
    ------
    ValueError
        For a ported box: the recoil of a jet is not that of a piston.
    """
    box = response.box
    spin = 2j * np.pi * response.frequency
    force = cone * beside(response.driver.mms, spin) * spin * response.cone_velocity
    if isinstance(box, RadiatorBox):
        flow = response.vent_volume_velocity / beside(box.radiator.sd, spin)  # velocities, summed
        force = force + radiators * beside(box.radiator.moving_mass, spin) * spin * flow
    elif box is not None and box.vent(response.air) is not None:
        raise ValueError("recoil is for sealed and radiator boxes; a port moves air, not a piston.")
    return np.sqrt(2) * np.abs(force)


def shake(force, box_mass):
    """Peak acceleration, m/s², of a box of `box_mass` kg that `force` N shakes, free to move."""
    return force / positive("box_mass", box_mass, "The box's mass is in kilograms.")
