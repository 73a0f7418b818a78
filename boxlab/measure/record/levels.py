"""The tuning of a box against level, from recordings that get louder: what gives in, and when."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from boxlab.measure.fit.estimate import Estimate
from boxlab.measure.fit.features import turning_points
from boxlab.measure.fit.tuning import find_tuning
from boxlab.measure.fit.tuning_found import Tuning
from boxlab.measure.read.value import Sweep
from boxlab.measure.record.impedance import CHANNELS, read_recording
from boxlab.measure.record.sound_file import Recording, RecordingError, Source, open_recording

RISE = 3.0  # dB from the quietest to the loudest, at least
# What counts as a change, beside twice its uncertainty (our own choice): of the tuning, of the
# cone's resonance, and of what the vent loses, 1/Q.
TUNING, CONE, LOSS, MORE = 0.01, 0.03, 0.02, 1.5
FIT = (5.0, 300.0)  # Hz, looked at for the tuning


@dataclass(frozen=True, eq=False)
class AgainstLevel:
    """What recordings of one box at rising level tell, the quietest first.

    Attributes
    ----------
    level : dB of full scale, rms of the whole voltage while the signal plays, shape (n,)
    tuning : the tuning at each level, Hz, as Estimates; the resonance of a sealed box
    cone : fL·fH/fb, Hz: the cone's own resonance, apart from what a radiator's suspension adds
    loss : what vent and leak lose, 1/Q at the tuning; NaN for a sealed box
    words : where the cone's suspension and the port or radiator begin to limp
    sweeps, found : the impedance and the whole `Tuning` at each level
    """

    level: np.ndarray
    tuning: tuple[Estimate, ...]
    cone: tuple[Estimate, ...]
    loss: tuple[Estimate, ...]
    words: tuple[str, ...]
    sweeps: tuple[Sweep, ...]
    found: tuple[Tuning, ...]


def tuning_against_level(
    recordings: Iterable[Source], resistor: float | tuple[float, float],
    calibration: Source | tuple[Source, float] | None = None, short: Source | None = None,
    channels: tuple[str, str] = CHANNELS, *, low: float = 5.0, high: float = 1000.0,
) -> AgainstLevel:  # fmt: skip
    """Impedance at each of several levels, and what changes as it gets louder.

    Keep the recorder's gain, and turn up the amplifier alone, a few dB each time. Begin with the
    cone hardly moving; stop at the first rattle, knock or smell.

    Parameters
    ----------
    recordings : two or more, in any order, each as `read_recording` takes it
    resistor, calibration, short, channels, low, high : as for `read_recording`, for all of them.
        The resistor has to bear the watts of the loudest

    Raises
    ------
    RecordingError
        If one cannot be used, none is clearly louder than another, or they show different boxes.

    >>> from boxlab.measure.record import Recording
    >>> noise = np.random.default_rng(1).normal(size=2**14)
    >>> f = np.fft.rfftfreq(2**14, 1 / 4000) + 1e-3
    >>> z = 3.4 + 34 / (1 + 5j * (f / 32 - 32 / f))  # of a driver that resonates at 32 Hz
    >>> both = np.column_stack([noise, np.fft.irfft(np.fft.rfft(noise) * z / (10 + z))])
    >>> louder = [Recording(both * k, 4000.0) for k in (0.02, 0.1)]
    >>> found = tuning_against_level(louder, resistor=10.0, high=90)
    >>> found.level.round(), found.words[0][:58]
    (array([-34., -20.]), 'From −34 to −20 dB of full scale nothing changes: the reso')
    """
    opened = [open_recording(each) for each in recordings]
    if len(opened) < 2:
        raise ValueError(f"recordings: {len(opened)} given; give two or more, at rising level.")
    opened.sort(key=lambda each: _level(each, channels))
    level = np.array([_level(each, channels) for each in opened])
    if level[-1] - level[0] < RISE:
        raise RecordingError(
            f"From the quietest to the loudest it is {level[-1] - level[0]:.1f} dB: at least "
            f"{RISE:g} are needed. Turn up the amplifier and leave the recorder's gain as it is."
        )
    given = {"calibration": calibration, "short": short, "channels": channels}
    sweeps = [read_recording(each, resistor, **given, low=low, high=high) for each in opened]
    found = [find_tuning(sweep.between(*FIT)) for sweep in sweeps]
    peaks = [each.peaks for each in found]
    if len(set(peaks)) > 1 or not peaks[0]:
        told = ", ".join(f"{name.name}: {n}" for name, n in zip(opened, peaks, strict=True))
        raise RecordingError(
            f"The recordings do not show one and the same box; peaks in each: {told}. Were all "
            "recorded with nothing else changed?"
        )
    return AgainstLevel(
        level, *zip(*(_figures(each) for each in found), strict=True),
        tuple(_words(level, found)), tuple(sweeps), tuple(found),
    )  # fmt: skip


def _level(found: Recording, channels) -> float:
    """Level of the whole voltage while the signal plays, dB of full scale."""
    x = found.data[:, tuple(channels).index("total")]
    size = max(1, int(0.05 * found.rate))
    blocks = np.sqrt(np.mean((x - x.mean())[: len(x) // size * size].reshape(-1, size) ** 2, 1))
    return 20 * np.log10(max(float(np.median(blocks[blocks > 0.3 * blocks.max()])), 1e-9))


def _figures(found: Tuning) -> tuple[Estimate, Estimate, Estimate]:
    """(tuning, cone, loss) of one level."""
    if found.peaks == 1:
        return found.resonance, found.resonance, Estimate(float("nan"))
    fit, fb = found.fit, found.fb
    # the peaks of the fitted circuit without coil and losses: firmer than those of the points
    low, _, high = turning_points(fit, fb / 6, 6 * fb, keep_coil=False, keep_loss=False)
    product = low * high / fb
    cone = Estimate(product, 3 * product * fb.u / fb, "Hz")  # of three frequencies, each like fb
    return found.fb, cone, fit.estimate(lambda v: v.get("drag", 0.0) + v.get("leak", 0.0))


def _words(level, found):
    """Sentences on what changes, each with the level from which on it does."""
    rows = [_figures(each) for each in found]
    vented = found[0].peaks == 2
    told = []
    if vented:
        told.append(
            _change(level, [row[0] for row in rows], np.full(len(rows), TUNING), _of_tuning)
        )
    cones = [row[1] for row in rows]
    floors = np.full(len(rows), CONE)
    if vented:  # what moves the tuning moves this about as far, and is no matter of the cone
        floors += [2 * abs(row[0] / rows[0][0] - 1) for row in rows]
    told.append(_change(level, cones, floors, _of_cone))
    if vented:
        told.append(_of_loss(level, [row[2] for row in rows]))
    told = [words for words in told if words]
    if told:
        return told
    return [
        f"From {_whole(level[0])} to {_whole(level[-1])} dB of full scale nothing changes: "
        + (f"the tuning stays at {rows[0][0]}" if vented else f"the resonance stays at {cones[0]}")
        + ", suspension and losses hold."
    ]


def _change(level, values, worth, words):
    """The sentence for the first level at which a value has changed; none if it has not."""
    for i, value in enumerate(values[1:], 1):
        share = value / values[0] - 1
        if abs(share) > max(worth[i], 2 * np.hypot(value.u, values[0].u) / values[0]):
            last = values[-1] / values[0] - 1
            return f"From {_whole(level[i])} dB of full scale on {words(share, last)}"
    return ""


def _of_tuning(share, last):
    way = "rises" if share > 0 else "falls"
    why = (
        "the radiator's suspension gets stiffer"
        if share > 0
        else "the radiator's suspension gets softer, or air beside the port's mouth joins in"
    )
    return f"the tuning {way}, by {100 * abs(last):.1f} % at the loudest: {why}."


def _of_cone(share, last):
    way = "stiffer" if share > 0 else "softer"
    limps = " It stops being soft there: stay below for clean bass." if share > 0 else ""
    return (
        f"the cone's suspension is {way}: its resonance moves by {100 * last:+.1f} % at the "
        f"loudest, its stiffness by {100 * ((1 + last) ** 2 - 1):+.0f} %.{limps}"
    ).replace("-", "−")


def _of_loss(level, losses):
    first = losses[0]
    for i, loss in enumerate(losses[1:], 1):
        grown = loss - first
        if grown > max(LOSS, (MORE - 1) * first, 2 * np.hypot(loss.u, first.u)):
            return (
                f"From {_whole(level[i])} dB of full scale on the port or radiator limps: with the "
                f"leak it has a Q of {_q(losses[-1])} at the loudest, and had {_q(first)}. In a "
                "port the air stalls; on a radiator the suspension rubs or something leaks."
            )
    return ""


def _whole(level):
    return f"{level:.0f}".replace("-", "−")


def _q(loss):
    return f"{1 / loss:.0f}" if loss > 0.01 else "over 100"
