"""What a high-pass saves and a boost costs, in words and in numbers."""

from __future__ import annotations

from types import MappingProxyType

from boxlab.base.units import to_inches, to_mm
from boxlab.draw.scene import Number
from boxlab.explainers import _shared as shared
from boxlab.model.limits import AIR_SPEED, AMPLIFIER, CONE, CURRENT, HEAT, RADIATOR, SUPPLY

STOPS = MappingProxyType(
    {
        CONE: "the cone reaches Xmax",
        RADIATOR: "the radiator reaches its stop",
        AIR_SPEED: "the air in the port gets too fast",
        AMPLIFIER: "the amplifier is at its end",
        CURRENT: "the amplifier gives all its current",
        SUPPLY: "the supply can give no more",
        HEAT: "the coil reaches its heat limit",
    }
)


def _stop(stop):
    near = stop.frequency[(stop.headroom < 0.3) & (stop.ceiling.limit == stop.limit)]
    low, high = float(near[0]), float(near[-1])
    where = f"at {stop.at:.0f} Hz" if high < 1.25 * low else f"from {low:.0f} to {high:.0f} Hz"
    return f"{STOPS[str(stop.limit)]} {where}"


def _mm(value):
    return f"{to_mm(value):.1f} mm ({to_inches(value):.2f} in)"


def _amount(value):
    return f"{value:.0f} W" if value >= 10 else f"{value:.1f} W"


def signed(value):
    """Decibels with their sign."""
    shown = round(float(value), 1)
    return f"{shown:+.1f} dB".replace("-", "−") if shown else "0.0 dB"


def saved(f):
    """How much more the high-pass allows on the volume, one sentence."""
    return f"The high-pass {_room(f)}."


def _room(f):
    more = "more" if f["saved"] >= -0.05 else "less"
    return f"leaves room for {abs(f['saved']):.1f} dB {more} on the volume"


def own_headline(f):
    """Of somebody's own box: which high-pass, what it does to the travel, and the room it leaves.

    At one volume, over the notes that the box is given.
    """
    cut = f["chains"][1].stages[0]
    return (
        f"With a high-pass at {cut.frequency:g} Hz, {6 * cut.order} dB/octave, the largest travel "
        f"is {to_mm(f['most'][1]):.1f} mm instead of {to_mm(f['most'][0]):.1f} mm at one volume; "
        f"it {_room(f)}."
    )


def headline(f):
    """The message with its number."""
    return f"{saved(f)[:-1]}: without it {_stop(f['stops'][0])}."


def readout(f, boost, boost_at):
    """What high-pass and boost do, most important first."""
    plain, cut, both = f["stops"]
    lines = [
        f"{saved(f)} Without it {_stop(plain)}; with it {_stop(cut)}.",
        f"At one volume the largest travel is {_mm(f['most'][1])} with it instead of "
        f"{_mm(f['most'][0])}.",
    ]
    if boost:
        word = "boost" if boost > 0 else "cut"
        less = "less" if f["cost"] >= -0.05 else "more"
        net = f["there"][2] - f["there"][1]
        lines += [
            f"A {word} of {signed(boost)} at {boost_at:g} Hz takes {_amount(f['watts_there'][2])} "
            f"there instead of {_amount(f['watts_there'][1])} at that volume, and "
            f"{_mm(f['travel_there'][2])} of travel instead of {_mm(f['travel_there'][1])}.",
            f"So it leaves {abs(f['cost']):.1f} dB {less} on the volume: {_stop(both)}. With each "
            f"at its first stop, {boost_at:g} Hz plays {abs(net):.1f} dB "
            f"{'louder' if net >= -0.05 else 'softer'} with the {word}.",
        ]
    lines.append(
        "No filter makes a single tone louder than it could be alone: filters choose which note "
        "stops the volume first."
    )
    return tuple(lines)


def numbers(f, boost_at):
    """The rows of the table."""
    rows = [
        Number("high-pass: room on the volume", signed(f["saved"])),
        Number("boost: room on the volume", signed(-f["cost"])),
    ]
    for n, name in enumerate(("no filter", "high-pass", "and boost")):
        stop = f["stops"][n]
        rows += [
            Number(f"first stop, {name}", f"{stop.limit}, {stop.at:.0f} Hz"),
            shared.travel_number(f"largest travel at one volume, {name}", f["most"][n]),
            Number(f"watts at {boost_at:g} Hz, same volume, {name}", _amount(f["watts_there"][n])),
            Number(f"level at {boost_at:g} Hz at first stop, {name}", f"{f['there'][n]:.1f} dB"),
        ]
    return tuple(rows)
