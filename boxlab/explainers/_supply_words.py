"""What a supply that sags costs, in words and in numbers."""

from __future__ import annotations

from boxlab.draw.scene import Number
from boxlab.explainers._filter_words import STOPS, signed
from boxlab.model.limits import AMPLIFIER, CURRENT, SUPPLY

ELECTRIC = (AMPLIFIER, CURRENT, SUPPLY)


def told(f, frequency):
    """What it comes to, one sentence."""
    less = f["spl"][0] - f["spl"][1]
    return (
        f"A steady tone of {frequency:g} Hz finds {f['volts']:.1f} V at the amplifier, and the "
        f"loudest level there is {less + 0.0:.1f} dB less than with the rated volts held."
    )


def headline(f, frequency):
    """The message with its numbers."""
    if round(float(f["lost"]), 1):
        return (
            f"At {frequency:g} Hz the way to the amplifier costs {-f['lost']:.1f} dB at full "
            f"output: {_watts(f['watts'])} come out instead of {_watts(f['full_watts'])}."
        )
    return (
        f"At {frequency:g} Hz the way to the amplifier costs no level at full output: "
        f"{_watts(f['watts'])} come out."
    )


def readout(f, frequency, supply, share, held, cables, length, laid):
    """What the supply costs, most important first."""
    lost = supply - f["volts"]
    lines = [
        f"A steady tone of {frequency:g} Hz at full output draws {f['amperes']:.0f} A: "
        f"{lost:.1f} V are lost on the way, {f['volts']:.1f} V are left, and "
        f"{_watts(f['watts'])} come out instead of {_watts(f['full_watts'])} "
        f"({signed(f['lost'])}).",
        f"On music that averages {share:g} % of a full sine: {f['music_amperes']:.0f} A, "
        f"{f['music_volts']:.1f} V, {signed(f['lost_on_music'])}.",
        _heard(f, frequency),
    ]
    if held:
        lines.append(
            "Rails that are held take more current the lower the supply falls, until it can give "
            "no more."
        )
    else:
        lines.append(
            "Rails that follow the supply give watts that go with the square of its volts: 1.8 V "
            "lost of 13.8 V are 20·log10(12.0/13.8) = −1.2 dB."
        )
    lines.append(_by_cable(cables, length, laid))
    return tuple(lines)


def _by_cable(cables, length, laid):
    if not cables:
        return (
            f"No single cable listed bears such a current over {length:g} m behind its fuse: feed "
            "two amplifiers by a cable and a fuse each."
        )
    told = [f"{label} makes {ohms:.0f} mΩ and {signed(lost)}" for label, ohms, lost in cables]
    ends = told[:1] if len(told) == 1 else [told[0], told[-1]]
    return (
        f"Over {length:g} m one way, battery and all: {' and '.join(ends)}. The first is the "
        f"thinnest listed that bears the heat behind its fuse, laid {laid}."
    )


def _heard(f, frequency):
    before, after, _ = f["spl"]
    stop = f["stops"][1]
    if stop in ELECTRIC:
        return (
            f"Loudest at {frequency:g} Hz: {after:.1f} dB instead of {before:.1f} dB, where "
            f"{STOPS[stop]}."
        )
    return (
        f"Loudest at {frequency:g} Hz: {after:.1f} dB, held or not, for {STOPS[stop]} first: there "
        "the supply costs nothing."
    )


def warnings(f):
    """Where the amplifier's current stops it before its rails do."""
    if not f["short_of_current"]:
        return ()
    return (
        "The amplifier runs out of current before it comes to its rails: only the loudest level "
        "takes that in; volts, amperes and watts are those at its rails.",
    )


def _watts(value):
    return f"{value:.0f} W" if value >= 10 else f"{value:.1f} W"


def numbers(f, frequency, share):
    """The rows of the table."""
    return (
        Number("supply at the amplifier, steady tone", f"{f['volts']:.2f} V"),
        Number(f"supply, music at {share:g} %", f"{f['music_volts']:.2f} V"),
        Number("from the supply, steady tone", f"{f['amperes']:.1f} A"),
        Number(f"from the supply, music at {share:g} %", f"{f['music_amperes']:.1f} A"),
        Number(f"watts at {frequency:g} Hz, rated volts held", _watts(f["full_watts"])),
        Number(f"watts at {frequency:g} Hz, this supply", _watts(f["watts"])),
        Number("against the rating, steady tone", signed(f["lost"])),
        Number("against the rating, music", signed(f["lost_on_music"])),
        Number(f"loudest at {frequency:g} Hz, rated volts held", f"{f['spl'][0]:.1f} dB"),
        Number(f"loudest at {frequency:g} Hz, this supply", f"{f['spl'][1]:.1f} dB"),
        Number("first stop there", f["stops"][1]),
    )
