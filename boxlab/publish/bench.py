"""The verbs of `python -m boxlab` for measuring with recordings: what to play, and what came in."""

from __future__ import annotations

from math import log10
from pathlib import Path

from boxlab.base.cautions import words

KINDS = ("impedance", "rising", "near", "phase", "film", "music", "steps")


def signal(options) -> int:
    """The verb `signal`."""
    from boxlab.measure.record import test_signal

    made = test_signal(
        options.kind, options.to, low=options.low, high=options.high, level=options.level,
        frequency=options.frequency,
    )  # fmt: skip
    print(f"wrote {made.path}: {made.kind}, {made.seconds:.0f} s, {made.level:g} dB of full scale")
    print("\n".join(words("test signal", "sound card")))
    return 0


def record(options) -> int:
    """The verb `record`."""
    from boxlab.measure.record.play import QUIET, play_and_record, sound_devices

    if options.devices:
        print(sound_devices())
        return 0
    if not options.signal or not options.to:
        raise ValueError("give the signal to play and --to, the file to record into; or --devices")
    device = [int(each) if each.isdigit() else each for each in options.device]
    made = play_and_record(
        options.signal, options.to, level=QUIET if options.level is None else options.level,
        device=tuple(device) if len(device) > 1 else device[0] if device else None,
    )  # fmt: skip
    peaks = [max(abs(made.data[:, i].max()), abs(made.data[:, i].min())) for i in (0, 1)]
    said = " and ".join(f"{20 * log10(max(peak, 1e-9)):.1f}" for peak in peaks)
    print(f"wrote {options.to}: {made.seconds:.1f} s, peaks {said} dB of full scale")
    return 0


def heard(options) -> int:
    """The verb `heard`."""
    from boxlab.base.typed_values import in_unit
    from boxlab.measure import find_tuning, record

    def typed(text, unit, size=1.0):
        return None if text is None else in_unit(text, unit)[0] * size

    first, *others = options.files
    if options.kind in ("impedance", "rising"):
        if options.resistor is None:
            raise ValueError("--resistor is missing: the ohms in series, such as 10")
        ohms = [typed(each, "Ω") for each in options.resistor]
        known = options.inputs or []
        bench = {
            "resistor": ohms[0] if len(ohms) == 1 else tuple(ohms[:2]),
            "calibration": (known[0], typed(known[1], "Ω")) if known[1:] else (known or [None])[0],
            "short": options.shorted,
            "channels": ("device", "total") if options.swapped else ("total", "device"),
        }
        if options.kind == "rising":
            found = record.tuning_against_level(options.files, **bench)
            for level, tuning in zip(found.level, found.tuning, strict=True):
                print(f"{level:8.1f} dB of full scale {tuning}")
            print("\n".join([*found.words, *words("test signal")]))
            return 0
        sweep = record.read_recording(first, **bench)
        print("\n".join(sweep.notes))
        if options.to:
            with Path(options.to).open("x", encoding="utf-8", newline="\n") as file:
                file.write(sweep.to_text())
            print(f"wrote {options.to}: {len(sweep)} rows of frequency, magnitude and phase")
        try:
            print("\n".join(find_tuning(sweep).words))
        except ValueError as error:
            print(error)
        return 0
    if options.kind == "near":
        if options.cone_area is None or (others and options.vent_area is None):
            raise ValueError("--cone-area and, with a second file, --vent-area are missing: 350cm2")
        found = record.near_field(
            first, others[0] if others else None, typed(options.cone_area, "cm²", 1e-4),
            typed(options.vent_area, "cm²", 1e-4), counts=tuple(options.counts),
        )  # fmt: skip
        print("\n".join(found.notes))
        print(f"Hz, dB (from close by, up to {found.highest:.0f} Hz)")
        step = max(1, len(found.frequency) // 40)
        for f, level in zip(found.frequency[::step], found.level[::step], strict=True):
            print(f"{f:8.2f} {level:8.2f}")
        return 0
    if options.kind == "phase":
        found = record.phase_between(first)
        print("\n".join([*found.notes, *found.words]))
        step = max(1, len(found.frequency) // 40)
        print("Hz, radiator against cone in degrees, ±")
        rows = (found.frequency, found.phase, found.doubt)
        for f, phase, doubt in zip(*(row[::step] for row in rows), strict=True):
            print(f"{f:8.2f} {phase:8.1f} {doubt:6.1f}")
        return 0
    if options.kind == "film":
        if options.frequency is None or options.rate is None:
            raise ValueError("--frequency of the tone and --rate, frames a second, are missing")
        stops = [typed(each, "mm") for each in options.stops]
        rows = record.read_film(first).T
        found = record.phase_from_film(*rows, options.frequency, options.rate, stops or (None,) * 2)
        print("\n".join([*found.words, *found.notes]))
        return 0
    if options.kind == "music":
        if options.volts is None or options.amperes is None:
            raise ValueError("--volts and --amperes are missing: what full scale stands for")
        found = record.amplifier_on_music(
            first, typed(options.volts, "V"), typed(options.amperes, "A"),
            typed(options.rating, "W"),
        )  # fmt: skip
        print("\n".join([*found.notes, found.words, *words("loud", "live output", "sound card")]))
        return 0
    found = record.levels_of(first)
    print("\n".join(found.words))
    for level, share in zip(found.level, found.distortion, strict=True):
        print(f"{level:8.1f} dB of full scale {100 * share:8.2f} %")
    return 0


def add(verb) -> None:
    """Add these verbs; `verb(name, function, short, text, example)` gives the parser of one."""
    play = verb(
        "signal",
        signal,
        "write a sound file to play and record: sweep, tones or steps",
        example="examples:\n  python -m boxlab signal sweep --to sweep.wav",
    )
    play.add_argument("kind", choices=("sweep", "tones", "steps"), help="what to play")
    play.add_argument("--to", required=True, metavar="FILE", help="a new .wav or .flac file")
    play.add_argument("--low", type=float, default=5.0, metavar="HZ", help="lowest; 5")
    play.add_argument("--high", type=float, default=1000.0, metavar="HZ", help="highest; 1000")
    play.add_argument("--level", type=float, default=-12.0, metavar="DB", help="peak; -12")
    play.add_argument("--frequency", type=float, default=40.0, metavar="HZ", help="of steps; 40")

    both = verb(
        "record",
        record,
        "play a signal and record both inputs meanwhile (extra: boxlab[record])",
        "Play a sound file and record both inputs of the sound card into a new one. It begins\n"
        "quietly, stops if nothing arrives or an input is clipped, and says if a part is missing.",
        example="examples:\n"
        "  python -m boxlab record --devices\n"
        "  python -m boxlab record sweep.wav --to box.wav\n"
        "  python -m boxlab record sweep.wav --to box.wav --level -28 --device 4",
    )
    both.add_argument("signal", nargs="?", metavar="SIGNAL", help="what to play, from `signal`")
    both.add_argument("--to", metavar="FILE", help="a new .wav or .flac file, 24 bits")
    both.add_argument("--level", type=float, metavar="DB", help="peak of full scale; -40")
    both.add_argument(
        "--device", nargs="+", default=[], metavar="N", help="its number or name; or input, output"
    )
    both.add_argument("--devices", action="store_true", help="list the sound devices and stop")

    hear = verb(
        "heard",
        heard,
        "read what was recorded: impedance, near field, phase, music, steps",
        "impedance: stereo through one resistor. rising: several of them, each louder. near:\n"
        "close to the cone, then close to the radiator or port. phase: two microphones. film: a\n"
        "table of frame, cone and radiator in mm, off a slow-motion film. music: volts left,\n"
        "amperes right. steps: a tone in rising steps. What is wrong is said first.",
        example="examples:\n"
        "  python -m boxlab heard impedance box.wav --resistor 10 --inputs one.wav --to box.csv\n"
        "  python -m boxlab heard near cone.wav radiator.wav --cone-area 350cm2 "
        "--vent-area 52in2\n"
        "  python -m boxlab heard rising a.wav b.wav c.wav --resistor 10 --inputs one.wav\n"
        "  python -m boxlab heard film table.csv --frequency 40 --rate 240 --stops 12mm 20mm\n"
        "  python -m boxlab heard music song.wav --volts 60V --amperes 25A --rating 300W",
    )
    hear.add_argument("kind", choices=KINDS, help="what was recorded")
    hear.add_argument("files", nargs="+", metavar="FILE", help="the recordings")
    hear.add_argument(
        "--resistor", nargs="+", metavar="OHM", help="the one in series, and how far it may be off"
    )
    hear.add_argument(
        "--inputs",
        nargs="+",
        metavar="FILE",
        help="to compare the inputs: both on one node; or FILE OHM, of a known resistor instead",
    )
    hear.add_argument("--swapped", action="store_true", help="the device is in the left channel")
    hear.add_argument("--shorted", metavar="FILE", help="with the leads shorted at the device")
    hear.add_argument("--to", metavar="FILE", help="a new file for the impedance, as a table")
    hear.add_argument("--cone-area", metavar="AREA", help="of one cone: 350cm2 or 54in2")
    hear.add_argument("--vent-area", metavar="AREA", help="of one radiator or port")
    hear.add_argument(
        "--counts", nargs=2, type=int, default=(1, 1), metavar="N", help="drivers and vents"
    )
    hear.add_argument("--frequency", type=float, metavar="HZ", help="of the tone on a film")
    hear.add_argument("--rate", type=float, metavar="N", help="frames a second of a film")
    hear.add_argument(
        "--stops", nargs=2, default=[], metavar="MM", help="travel one way of cone and radiator"
    )
    hear.add_argument("--volts", metavar="V", help="what full scale of the left channel stands for")
    hear.add_argument("--amperes", metavar="A", help="what full scale of the right one stands for")
    hear.add_argument("--rating", metavar="W", help="the amplifier's, into this load")
