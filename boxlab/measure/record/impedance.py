"""Impedance from a stereo recording: amplifier, one resistor in series, and what is measured.

One channel hears the whole voltage behind the resistor (total), the other that across what is
measured (device). With x = device / total the impedance is Z = R·x/(1 − x): level and response of
player and amplifier cancel, and so does what both inputs have in common. What they have not is
taken off by a recording of a known thing in the same set-up.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from boxlab.base.checks import positive, suspect
from boxlab.measure.read.value import Sweep
from boxlab.measure.record.marks import find_marks, interrupted
from boxlab.measure.record.sound_file import (
    RecordingError,
    Source,
    check_channels,
    open_recording,
)
from boxlab.measure.record.transfer import Ratio, ratio, without_hum

CHANNELS = ("total", "device")
GAIN = 0.012  # doubt of the ratio of two inputs that were never compared: 0.1 dB
CLOCK = 6e-5  # of any frequency: clocks of sound cards are good to 100 millionths
RESISTOR = 0.01  # of a resistor whose doubt is not given
SAME_NODE = 0.72  # between 1 (both inputs on one node) and 0.5 (the resistor measured itself)


def read_recording(
    path: Source, resistor: float | tuple[float, float],
    calibration: Source | tuple[Source, float] | None = None, short: Source | None = None,
    channels: tuple[str, str] = CHANNELS, *, low: float = 5.0, high: float = 1000.0,
) -> Sweep:  # fmt: skip
    """Impedance from a recording in stereo of any signal played through a known resistor.

    No mains amplifier with a bridged or floating output may meet a sound card's ground: that can
    destroy both. Use a divider where the voltage is above the input's, and start quietly.

    Parameters
    ----------
    path : a sound file, or a `Recording`
    resistor : Ω, in series with what is measured; (Ω, its standard uncertainty in Ω) if known
    calibration : a recording in the same set-up, of either both inputs on the same node, or a
        resistor of the same ohms in place of the device; which one it is, is seen. (recording, Ω)
        for a resistor of other ohms
    short : a recording with the leads shorted at the device: their resistance is taken off
    channels : which channel is which, "total" and "device"
    low, high : Hz, the band to look at

    Returns
    -------
    Sweep
        With phase, `uncertainty` in Ω, and `notes` on what was found.

    Raises
    ------
    RecordingError
        For a file that cannot be read, a dead, clipped or swapped channel, or what cannot be.

    >>> from boxlab.measure.record import Recording
    >>> noise = np.random.default_rng(1).normal(scale=0.1, size=16000)
    >>> heard = Recording(np.column_stack([noise, noise * 4 / (10 + 4)]), 8000.0)
    >>> read_recording(heard, resistor=10.0).magnitude[[0, -1]].round(3)  # Ω
    array([4., 4.])
    """
    ohms, doubt = resistor if isinstance(resistor, tuple | list) else (resistor, None)
    hint = "Give ohms, as a meter reads them: 10."
    ohms = positive("resistor", ohms, hint)
    suspect("resistor", ohms, 0.1, 1e5, hint)
    doubt = RESISTOR if doubt is None else positive("doubt of the resistor", doubt, hint) / ohms
    if sorted(channels) != sorted(CHANNELS):
        raise ValueError(f"channels = {channels!r}: give ('total', 'device') or the two turned.")
    order = [tuple(channels).index(name) for name in CHANNELS]
    found = open_recording(path)
    seen, notes = _ratio(found, order, low, high)
    gain, gain_doubt = 1.0, GAIN
    leads = 0.0
    if calibration is not None:
        gain, gain_doubt, told = _gain(calibration, order, ohms, seen.frequency, low, high)
        notes += told
        if "resistor" in told[0]:  # the known thing is then that resistor, not the one in series
            doubt *= np.sqrt(2)
    else:
        notes.append(
            "the two inputs were not compared: 0.1 dB between them is allowed for. Record both on "
            "one node, and give that as calibration."
        )
    x = seen.value / gain
    if short is not None:
        leads, told = _leads(short, order, ohms, gain, seen.frequency, low, high)
        notes.append(told)
    _insist_on_sense(x, found.name)
    z = ohms * x / (1 - x) - leads
    if np.mean(np.real(z) < 0) > 0.1:
        raise RecordingError(
            f"{found.name}: the impedance comes out with a negative resistance. Is one input wired "
            "with its polarity turned, or the resistor not where it is meant?"
        )
    relative = np.hypot(np.hypot(seen.doubt, gain_doubt) / np.abs(1 - x), doubt)
    return Sweep(
        seen.frequency, np.abs(z), np.degrees(np.angle(z)), found.name, tuple(notes),
        uncertainty=relative * np.abs(ohms * x / (1 - x)),
        common={"Hz": CLOCK, "Ω": float(np.hypot(doubt, gain_doubt))},
    )  # fmt: skip


def _ratio(found, order, low, high) -> tuple[Ratio, list[str]]:
    """Device over total of a checked recording, and what was found."""
    check_channels(found, tuple(name for _, name in sorted(zip(order, CHANNELS, strict=True))))
    data = found.data[:, order] - found.data[:, order].mean(axis=0)
    marks = find_marks(data[:, 0], found.rate)
    notes = list(marks.notes)
    if marks.fault:
        raise RecordingError(f"{found.name}: {marks.fault}")
    gap = interrupted(found.data[:, :2], found.rate)
    if gap is not None:
        raise RecordingError(
            f"{found.name}: at {gap:.2f} s both channels break off to nothing. A part is missing: "
            "close other programs, and record again."
        )
    data, left_out, told = without_hum(data, found.rate)
    seen = ratio(data[:, 0], data[:, 1], found.rate, low, high, left_out)
    if len(seen.frequency) < 8:
        raise RecordingError(
            f"{found.name}: there is too little signal from {low:g} to {high:g} Hz to tell an "
            "impedance. Play the test signal louder, or nearer to full recording level."
        )
    if any(words.startswith("cut") for words in notes):
        seen = _without_ends(seen)
    return seen, [*notes, *told]


def _without_ends(seen):
    """Without a sixth at either end: where a recording breaks off, the ringing is missing."""
    keep = (seen.frequency > seen.frequency[0] * 1.12) & (
        seen.frequency < seen.frequency[-1] / 1.12
    )
    return Ratio(seen.frequency[keep], seen.value[keep], seen.doubt[keep])


def _insist_on_sense(x, name):
    if np.median(np.abs(x)) > 1.0:
        raise RecordingError(
            f"{name}: the device has more voltage than the whole. The channels are swapped: give "
            "channels=('device', 'total'), or --swapped as you type it."
        )
    if np.median(np.abs(x)) < 1e-3:
        raise RecordingError(
            f"{name}: next to nothing arrives across the device. Is it shorted, or its input loose?"
        )
    if np.any(np.abs(1 - x) < 5e-3):
        raise RecordingError(
            f"{name}: both inputs hear the same, so no current flows. Is the device connected?"
        )


def _at(frequency, seen):
    """A ratio at other frequencies: its parts, straight between its own."""
    return np.interp(frequency, seen.frequency, np.real(seen.value)) + 1j * np.interp(
        frequency, seen.frequency, np.imag(seen.value)
    )


def _gain(calibration, order, ohms, frequency, low, high):
    """Device input over total input, its doubt, and what the recording was."""
    source, known = calibration if isinstance(calibration, tuple | list) else (calibration, None)
    found = open_recording(source)
    seen, notes = _ratio(found, order, low, high)
    level = float(np.median(np.abs(seen.value)))
    if known is None and level > SAME_NODE:
        true, words = 1.0, "compared on one node"
    else:
        known = ohms if known is None else positive("calibration", known, "Give ohms.")
        true = known / (ohms + known)
        words = f"compared by a resistor of {known:g} Ω"
    gain = _smooth_line(seen.frequency, seen.value / true, frequency)
    if abs(np.median(np.abs(gain)) - 1) > 0.5:
        raise RecordingError(
            f"{found.name}: by this calibration the inputs differ by "
            f"{20 * np.log10(np.median(np.abs(gain))):.1f} dB, which is no pair of equal inputs. "
            "Set both to one gain, and record it again."
        )
    size = np.median(np.abs(gain))
    doubt = float(np.median(seen.doubt)) / np.sqrt(max(1, len(seen.frequency) / 4))
    return gain, doubt, [
        f"the inputs, {words}, differ by {20 * np.log10(size):.3f} dB, taken off.", *notes,
    ]  # fmt: skip


def _smooth_line(at, value, frequency):
    """Two inputs differ by a level that hardly changes and a small delay: both fitted, smoothly."""
    terms = 2 if len(at) > 20 else 0
    level = np.polyfit(np.log(at), np.log(np.abs(value)), terms)
    turn = np.polyfit(at, np.unwrap(np.angle(value)), min(terms, 1))  # a delay goes with f
    return np.exp(np.polyval(level, np.log(frequency)) + 1j * np.polyval(turn, frequency))


def _leads(short, order, ohms, gain, frequency, low, high):
    """Impedance of the leads, Ω, at `frequency`, and a sentence."""
    found = open_recording(short)
    data = found.data[:, order] - found.data[:, order].mean(axis=0)
    seen = ratio(data[:, 0], data[:, 1], found.rate, low, high)
    if len(seen.frequency) < 8:  # so little that nothing can be heard of them
        return 0.0, "the shorted leads have too little resistance to be heard: nothing taken off."
    x = _at(frequency, seen) / gain
    z = ohms * x / (1 - x)
    size = float(np.median(np.real(z)))
    if abs(size) > 0.2 * ohms:
        raise RecordingError(
            f"{found.name}: {size:.2f} Ω is no pair of shorted leads. Short them at the device."
        )
    return size, f"the leads have {1e3 * size:.0f} mΩ, taken off."


def read_as(ohms: ArrayLike, resistor: float, apart: ArrayLike, leads: float = 0.0) -> np.ndarray:
    """What an impedance is read as without a comparison of the inputs.

    Parameters
    ----------
    ohms : what is measured, Ω
    resistor : in series with it, Ω
    apart : how much louder the input across the device is than the other, dB
    leads : resistance that is counted in, Ω

    Returns
    -------
    ndarray
        Ω; NaN where the device seems to have more than the whole voltage.

    >>> round(float(read_as(40.0, 10.0, 0.3)), 1)
    48.2
    """
    x = 10 ** (apart / 20) * (ohms + leads) / (resistor + ohms + leads)
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(x < 1, resistor * x / (1 - x), np.nan)
