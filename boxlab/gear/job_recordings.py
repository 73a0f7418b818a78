"""The files that a job's measurements name: tables, recordings, recordings that get louder."""

from __future__ import annotations

from boxlab.gear.job_keys import RISING, JobError
from boxlab.measure import Sweep, read_sweep
from boxlab.measure.record import read_recording, tuning_against_level

RECORDINGS = (".wav", ".flac", ".aif", ".aiff")


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
    """What recordings at rising level tell, as `words`, or what is `missing`."""
    if not rows:
        return {}
    if len(rows) == 1:
        return {"missing": (f"{RISING}: two or more recordings, each a few dB louder.",)}
    try:
        files = [folder / row["file"] for row in rows]
        found = tuning_against_level(files, **_bench(rows[0], folder))
    except ValueError as error:
        raise JobError(f"{RISING}: {error}") from None
    steps = ", ".join(
        f"{level - found.level[0]:.0f} dB {float(each):.2f} Hz"
        for level, each in zip(found.level, found.tuning, strict=True)
    )
    return {"words": (f"{RISING}: {steps}.", *(f"{RISING}: {each}" for each in found.words))}
