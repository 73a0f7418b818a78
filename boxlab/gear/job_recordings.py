"""The files that a job's measurements name: tables, recordings, recordings that get louder."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from boxlab.base.plain_warnings import in_plain_words
from boxlab.base.quantities import digits
from boxlab.gear.job_keys import NEAR, RISING
from boxlab.gear.measured_text import grams
from boxlab.measure import Sweep, read_sweep
from boxlab.measure.fit import faults
from boxlab.measure.read.scaling import of_a_loudspeaker
from boxlab.measure.record import read_recording, tuning_against_level

RECORDINGS = (".wav", ".flac", ".aif", ".aiff")


@dataclass(frozen=True)
class Files:
    """What a job's files hold: sweep and row of each kind, remarks, and why some cannot be read."""

    sweeps: dict[str, tuple[Sweep, dict]]
    words: tuple[str, ...] = ()
    unread: tuple[str, ...] = ()


def sweeps_of(rows, folder, now=None) -> Files:
    """The sweeps that can be read, and what is to be said of them and of the others.

    Of one kind the last that can be read counts, and that is said. One that cannot stops no other.
    Of a box swept with several weights, that with the weights `now` on each radiator, kg, counts,
    so that tuning and leak are those of the box as it is; not where there is a sweep "after".
    """
    now = None if any(row.get("what") == "after" for row in rows) else now
    sweeps, words, unread = {}, [], []
    for number, row in enumerate(rows, 1):
        if "file" not in row or "what" not in row:
            unread.append(f"measurement {number}: say file and what.")
            continue
        what = row["what"]
        if what in NEAR:
            words.append(
                f"{what}: {row['file']} is kept with the job, and nothing is fitted to it; "
                "python -m boxlab heard near reads it."
            )
        if what in (RISING, *NEAR):
            continue
        try:
            sweep, said = told_of(row, folder)
        except (ValueError, OSError) as error:
            unread.append(f"measurement {number}, {row['file']} ({what}): {error}")
            continue
        words += [f"{row['file']}: {each}" for each in said]
        if what in sweeps and sweeps[what][1] != row:
            stays = _carries(sweeps[what][1], now) and not _carries(row, now)
            words.append(_twice(what, sweeps[what], (sweep, row), stays))
            if stays:
                continue
        sweeps[what] = (sweep, row)
    return Files(sweeps, tuple(words), tuple(unread))


def _carries(row, weights):
    """Whether a row says that those weights, kg, were on."""
    said = row.get("added_mass")
    return None not in (said, weights) and _each(said) == _each(weights)


def _each(weights):
    return tuple(weights) if len(set(np.ravel(weights))) > 1 else float(np.ravel(weights)[0])


def _twice(what, earlier, later, stays):
    """Which of two of a kind counts, the earlier if it `stays`, and how far they are apart."""
    (a, before), (b, now) = earlier, later
    low, high = max(a.frequency[0], b.frequency[0]), min(a.frequency[-1], b.frequency[-1])
    at = b.frequency[(b.frequency >= low) & (b.frequency <= high)]
    kept, aside = (before, now) if stays else (now, before)
    why = "with the weights that [radiator] says," if stays else "the later one,"
    words = (
        f"{what} is listed more than once: {kept['file']}, {why} counts and {aside['file']} does "
        "not."
    )
    weights = [row.get("added_mass") for row in (kept, aside)]
    if weighed := None not in weights and weights[0] != weights[1]:
        on, off = map(grams, weights)
        words += (
            f" Tuning, volume and QL are those with {on} on each radiator; the sweep with {off} is "
            "left aside."
        )
    if at.size:
        other = np.exp(np.interp(np.log(at), np.log(a.frequency), np.log(a.magnitude)))
        apart = float(np.max(np.abs(np.log(b.magnitude[np.isin(b.frequency, at)] / other))))
        share = digits(float(f"{100 * np.expm1(apart):.2g}"))
        words += f" At most they differ by {share} % of their ohms."
    if weighed:
        return f"{words} Each holds for its weights: [radiator] has to say those that are on now."
    if what == "as found":
        words += " If the box was worked on in between, the later one is “after”."
    return words + " Take the lines of the one that does not hold out of the file."


def told_of(row, folder) -> tuple[Sweep, tuple[str, ...]]:
    """The sweep of a row, and what was guessed in reading it, in plain words.

    Raises
    ------
    ValueError
        If it cannot be read, or its ohms are such as no loudspeaker has.
    """
    with in_plain_words() as said:
        sweep = read_measurement(row, folder)
    if not of_a_loudspeaker(sweep.magnitude):
        raise ValueError(" ".join(said))
    sweep, wrong = faults.righted(sweep)
    return sweep, (*said, *([wrong] if wrong else ()))


def read_measurement(row, folder) -> Sweep:
    """The sweep of a table, or of a recording in stereo through the resistor that is named."""
    path = folder / row["file"]
    if path.suffix.lower() not in RECORDINGS:
        return read_sweep(path)
    return read_recording(path, **_bench(row, folder))


def _bench(row, folder) -> dict:
    """The resistor in series with what was recorded, and what it was compared with."""
    if "resistor" not in row:
        raise ValueError('this is a recording: say resistor = "10 ohm", the one in series.')
    others = {
        given: folder / row[key]
        for given, key in (("calibration", "both_inputs"), ("short", "leads_shorted"))
        if key in row
    }
    return {"resistor": row["resistor"], **others}


def louder(rows, folder) -> dict[str, tuple[str, ...]]:
    """What recordings at rising level tell, as `words`, what is `missing`, or `unread`."""
    if not rows:
        return {}
    if len(rows) == 1:
        return {"missing": (f"{RISING}: two or more recordings, each a few dB louder.",)}
    try:
        files = [folder / row["file"] for row in rows]
        found = tuning_against_level(files, **_bench(rows[0], folder))
    except (ValueError, OSError) as error:
        return {"unread": (f"{RISING}: {error}",)}
    steps = ", ".join(
        f"{level - found.level[0]:.0f} dB {float(each):.2f} Hz"
        for level, each in zip(found.level, found.tuning, strict=True)
    )
    return {"words": (f"{RISING}: {steps}.", *(f"{RISING}: {each}" for each in found.words))}
