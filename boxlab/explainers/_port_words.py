"""What `slot_or_tube` says: its headline, its readout and its numbers."""

from __future__ import annotations

from boxlab.base.units import to_cm, to_cm2, to_litres, to_mm, to_square_inches
from boxlab.draw.scene import Number
from boxlab.explainers import _shared as shared
from boxlab.model.port_ends import corner_cut
from boxlab.model.port_loss import TOO_FAST, speed_in_words
from boxlab.model.ports_built import Slot


def headline(f, shape, volume, fb):
    """How long it has to be, beside a round tube of its area."""
    one, more = f["shape"], float(to_cm(f["longer"]))
    said = (
        f"A {shape}, {to_cm2(one.area):.0f} cm², tunes {volume:g} L to {fb:g} Hz when it is "
        f"{to_cm(one.length):.1f} cm long"
    )
    if shape == "round tube":
        return f"{said}."
    if abs(more) < 0.05:
        return f"{said}, just as a round tube."
    return f"{said}, {abs(more):.1f} cm {'more' if more > 0 else 'less'} than a round tube."


def built_so(f, shape, volume):
    """What a port of these measures tunes a box to, with what its ends leave open."""
    one, (low, high) = f["shape"], f["reach"]
    return (
        f"A {shape}, {to_cm2(one.area):.0f} cm², {to_cm(one.length):.1f} cm long, tunes "
        f"{volume:g} L to {low:.1f} to {high:.1f} Hz, by how open its ends stand."
    )


def readout(f, text, shape, drive):
    """Sentences, most important first."""
    one, ends, (low, high) = f["shape"], f["ends"], f["reach"]
    least, most = f["lost"]
    fast = TOO_FAST[0]
    estimate = (
        "which costs next to nothing"
        if most < 0.05
        else f"which costs about {least:.1f} to {most:.1f} dB where it costs most"
    )
    return (
        text,
        f"Its ends add {to_cm(ends.total):.1f} cm, {to_cm(ends.least):.1f} to "
        f"{to_cm(ends.most):.1f} cm by how open they stand: built so, the tuning may come out "
        f"from {low:.1f} to {high:.1f} Hz.",
        *_of_this_kind(one),
        _fit(f),
        f"At {drive:g} V its air reaches {f['speed']:.0f} m/s at {f['where']:.0f} Hz, "
        f"{estimate}. {_band(min(f['speed'], fast))}",
        f"The port itself rings first at {f['rings']['port']:.0f} Hz and the box at "
        f"{f['rings']['box']:.0f} Hz: keep what you feed it well below.",
        # a sentence of its own, since a range of speeds may begin below and end above that
        *([_band(max(f["speed"], 1.01 * fast))] if f["speed"] > 0.9 * fast else ()),
    )


def _band(speed):
    said = speed_in_words(max(speed, 0.01))
    return f"{said[0].upper()}{said[1:]}."


def _of_this_kind(one):
    """What is particular to it."""
    if isinstance(one, Slot):
        size = (
            f"It is {to_mm(one.width):.0f} × {to_mm(one.height):.0f} mm inside, "
            f"{one.width / one.height:.1f} to 1."
        )
        if one.corners:
            size += (
                f" Its length is that of the centre line; at each of {one.corners} sharp corners "
                f"the air saves {to_mm(corner_cut(one.height)):.0f} mm of it."
            )
        return (size,)
    if one.mouth > one.diameter:
        saved = to_mm(one.length - one.even)
        return (
            f"Its mouths are {to_mm(one.mouth):.0f} mm wide, flares counted in its length: they "
            f"act as {saved:.0f} mm less of even tube, and their ends count for less, too.",
        )
    return ()


def _fit(f):
    long, wide, high = (to_mm(each) for each in f["edges"])
    box = f"a box of {long:.0f} × {wide:.0f} × {high:.0f} mm inside"
    if not f["misfits"]:
        return f"It goes straight into {box}, and takes {to_litres(f['space']):.1f} L of it."
    if isinstance(f["shape"], Slot) and f["shape"].corners:
        return (
            f"Straight it would not go into {box}; folded, it takes "
            f"{to_litres(f['space']):.1f} L beside the net volume. Lay out its legs before you cut."
        )
    return f"It does not go straight into {box}. {' '.join(f['misfits'])}"


def numbers(f):
    """Rows of the table."""
    one, ends = f["shape"], f["ends"]
    area = f"{to_cm2(one.area):.1f} cm²", f"{to_square_inches(one.area):.2f} in²"
    speed = f"{f['speed']:.1f} m/s", f"{f['speed'] / 0.3048:.0f} ft/s"
    return (
        Number("area", *area),
        shared.length_number("length along the centre line", one.length),
        shared.length_number("length, its air as a pipe", f["pipe"]),
        shared.length_number("a round tube of that area", one.length - f["longer"]),
        shared.length_number("added by its ends", ends.total),
        shared.hertz("tuning, ends at their most", f["reach"][0]),
        shared.hertz("tuning, ends at their least", f["reach"][1]),
        shared.volume_number("space it takes", f["space"]),
        Number("air speed", *speed),
        Number("Q of the port's own loss at the tuning", f"{f['q']:.1f}"),
        shared.hertz("first pipe resonance", f["rings"]["port"]),
        shared.hertz("first standing wave of the box", f["rings"]["box"]),
    )  # fmt: skip
