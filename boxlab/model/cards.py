"""Drivers, radiators, ports, boxes and responses as short tables, printed and in a notebook."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from boxlab.base import units

if TYPE_CHECKING:
    from boxlab.model.any_box import Box
    from boxlab.model.driver import Driver
    from boxlab.model.limits import Ceiling
    from boxlab.model.radiator import Radiator
    from boxlab.model.response import Response
    from boxlab.model.vents import Port


def _value(value, unit, digits=3):
    """One value, or the range of an array of designs, as text with its unit."""
    array = np.asarray(value, dtype=float)
    if array.ndim == 0:
        return f"{_plain(float(array), digits)} {unit}".rstrip()
    low, high = (_plain(float(v), digits) for v in (array.min(), array.max()))
    return f"{low} to {high} {unit} ({array.size} designs)".replace("  ", " ")


def _plain(value, digits):
    if not np.isfinite(value):
        return "none" if np.isinf(value) else "–"
    if value and 1e-3 <= abs(value) < 1e5:
        places = max(0, digits - 1 - int(np.floor(np.log10(abs(value)))))
        return f"{value:.{places}f}"
    return f"{value:.{digits}g}"


class Card(NamedTuple):
    """What is shown of a thing: a caption, the heads of the columns, rows of text."""

    caption: str
    heads: tuple[str, ...]
    rows: list[tuple[str, ...]]


class Shown:
    """Something with a `_card`: a short table with units when printed, and in a notebook."""

    def __str__(self):
        card = self._card()
        widths = [max(len(row[k]) for row in card.rows) for k in range(len(card.heads))]
        heads = () if card.heads == _HEADS else (card.heads,)
        widths = [max(w, *(len(head[k]) for head in heads), 0) for k, w in enumerate(widths)]
        lines = ("  ".join(map(str.ljust, row, widths)).rstrip() for row in (*heads, *card.rows))
        return "\n  ".join([card.caption, *lines])

    def _repr_html_(self):
        import html  # takes a millisecond, and only a notebook asks for a table

        card = self._card()
        left = ' style="text-align:left"'
        body = "".join(
            f'<tr><th scope="row"{left}>{first}</th><td{left}>{second}</td>'
            + "".join(f"<td>{cell}</td>" for cell in more)
            + "</tr>"
            for first, second, *more in card.rows
        )
        heads = "".join(f'<th scope="col">{head}</th>' for head in card.heads)
        return (
            f"<table><caption{left}><b>{html.escape(card.caption)}</b></caption>"
            f"<thead><tr>{heads}</tr></thead><tbody>{body}</tbody></table>"
        )


_HEADS = ("Symbol", "Meaning", "Metric", "Inch")


def _table(title, kind, rows):
    """A card of symbol, meaning, metric, inch; the last empty where both read the same."""
    return Card(f"{title}: {kind}" if title else kind.capitalize(), _HEADS, rows)


def _length(value):
    return _value(units.to_mm(value), "mm"), _value(units.to_inches(value), "in")


def _area(value):
    return _value(units.to_cm2(value), "cm²"), _value(units.to_square_inches(value), "in²")


def _volume(value):
    return _value(units.to_litres(value), "L"), _value(units.to_cubic_feet(value), "ft³")


def _mass(value):
    return _value(units.to_grams(value), "g"), _value(units.to_ounces(value), "oz")


def driver(d: Driver) -> Card:
    """The card of a Driver, `d`.

    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER
    >>> driver(TEN_INCH_DRIVER).rows[0]
    ('fs', 'resonance in free air', '31.6 Hz', '')
    """
    rows = [
        ("fs", "resonance in free air", _value(d.fs, "Hz"), ""),
        ("Qts", "total Q", _value(d.qts, ""), ""),
        (
            "Qes, Qms",
            "electrical and mechanical Q",
            f"{_value(d.qes, '')}, {_value(d.qms, '')}",
            "",
        ),
        ("Vas", "air as stiff as the suspension, 20 °C", *_volume(d.vas())),
        ("Sd", "cone area", *_area(d.sd)),
        ("Xmax", "linear excursion, one way", *_length(d.xmax)),
        ("Mms", "moving mass", *_mass(d.mms)),
        ("Bl", "force factor", _value(d.bl, "T·m"), ""),
        ("Re", "coil resistance", _value(d.re, "Ω"), ""),
        ("Le", "coil inductance", _value(units.to_mh(d.le), "mH"), ""),
        ("Pe", "heat the coil can take", _value(d.pe, "W"), ""),
        ("η0", "reference efficiency", _value(100 * d.reference_efficiency(), "%"), ""),
    ]
    if np.any(d.semi_k):
        text = f"{_value(d.semi_k, '')}·(jω)^{_value(d.semi_n, '')} Ω"
        rows.insert(-2, ("K", "coil semi-inductance", text, ""))
    if np.any(d.l2):
        text = f"{_value(units.to_mh(d.l2), 'mH')}, {_value(d.r2, 'Ω')} across it"
        rows.insert(-2, ("L2", "coil's second inductance", text, ""))
    return _table(d.name, "driver", rows)


def _radiator_rows(r):
    return [
        ("fp", "its own resonance, weights on", _value(r.fp, "Hz"), ""),
        ("Sd", "area of one", *_area(r.sd)),
        ("Mms", "moving mass, bare", *_mass(r.mms)),
        ("", "weights added", *_mass(r.added_mass)),
        ("Xmax", "excursion, one way", *_length(r.xmax)),
    ]


def radiator(r: Radiator) -> Card:
    """The card of a Radiator, `r`.

    >>> from boxlab.gear.scenario import TEN_INCH_RADIATOR
    >>> radiator(TEN_INCH_RADIATOR).rows[1]
    ('Sd', 'area of one', '350 cm²', '54.3 in²')
    """
    return _table(r.name, "passive radiator", _radiator_rows(r))


def _port_rows(p):
    return [
        ("S", "area of one port", *_area(p.area)),
        ("L", "length", *_length(p.length)),
        ("", "length added by its ends", *_length(p.end_correction)),
        ("", "first pipe resonance", _value(p.first_pipe_resonance(), "Hz"), ""),
    ]


def port(p: Port) -> Card:
    """The card of a Port, `p`.

    >>> from boxlab.model.vents import Port
    >>> port(Port(0.005, 0.3)).rows[1]
    ('L', 'length', '300 mm', '11.8 in')
    """
    return _table("", "port", _port_rows(p))


def box(b: Box) -> Card:
    """The card of a SealedBox, PortedBox, RadiatorBox or MixedRadiatorBox, `b`.

    >>> from boxlab.model.enclosure import SealedBox
    >>> box(SealedBox(0.014)).rows
    [('Vb', 'net volume', '14.0 L', '0.494 ft³')]
    """
    rows = [("Vb", "net volume", *_volume(b.volume))]
    if hasattr(b, "radiators"):
        rows.append(("fb", "tunings, 20 °C", _value(b.tunings(), "Hz"), ""))
        rows.append(("QL", "leakage loss", _value(b.ql, ""), ""))
        for number, each in enumerate(b.radiators):
            rows.append(("", f"radiator {number + 1}", "", ""))
            rows += _radiator_rows(each)
        return _table("", "box with radiators that differ", rows)
    vent = getattr(b, "port", None) or getattr(b, "radiator", None)
    if vent is None:
        return _table("", "sealed box", rows)
    rows.append(("fb", "tuning, 20 °C", _value(b.tuning(), "Hz"), ""))
    rows.append(("n", "how many", _value(b.count, ""), ""))
    rows.append(("QL", "leakage loss", _value(b.ql, ""), ""))
    for name, what in (("qa", "absorption in the box"), ("qp", "friction in the port")):
        if np.isfinite(getattr(b, name, np.inf)).any():
            rows.append((name.upper(), what, _value(getattr(b, name), ""), ""))
    ported = hasattr(b, "port")
    rows += _port_rows(vent) if ported else _radiator_rows(vent)
    name = "" if ported else vent.name
    return _table(name, "ported box" if ported else "passive-radiator box", rows)


def response(r: Response) -> Card:
    """The card of a Response, `r`: what it says at up to eight frequencies of the first design.

    >>> from boxlab import SealedBox, solve
    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER
    >>> response(solve(TEN_INCH_DRIVER, SealedBox(0.014), [40.0, 80.0])).rows[0]
    ('40.0 Hz', '81.9 dB', '7.95 Ω', '0.865 mm')
    """
    heads = ("Frequency", "Level", "Impedance", "Cone, one way")
    curves = [(r.spl, "dB"), (abs(r.impedance), "Ω"), (1e3 * r.cone_excursion, "mm")]
    if r.box is not None and r.box.vents(r.air):
        ported = hasattr(r.box, "port")
        heads += ("Air in port" if ported else "Radiator, one way",)
        curves.append((r.vent_air_speed, "m/s") if ported else (1e3 * r.vent_excursion, "mm"))
    return _curves("Response", r.frequency, heads, curves)


def ceiling(c: Ceiling) -> Card:
    """The card of a Ceiling, `c`, in the same manner.

    >>> from boxlab import SealedBox, max_output
    >>> from boxlab.gear.scenario import TEN_INCH_DRIVER
    >>> print(*ceiling(max_output(TEN_INCH_DRIVER, SealedBox(0.014), [40.0, 80.0])).rows[0])
    40.0 Hz 104.7 dB 39.3 V cone excursion
    """
    heads = ("Frequency", "Loudest", "Drive", "Stopped by")
    return _curves(
        "Loudest steady tone", c.frequency, heads, [(c.spl, "dB"), (c.voltage, "V"), (c.limit, "")]
    )


def _cell(value, unit):
    if isinstance(value, str):
        return value
    return f"{value:.1f} dB" if unit == "dB" else _value(value, unit)


def _curves(title, frequency, heads, curves):
    """A card of curves, one design of them if there are many."""
    if np.ndim(frequency) == 0:  # of one tone, so that it is last again
        frequency, curves = (
            np.asarray([frequency]),
            [(np.asarray(c)[..., None], u) for c, u in curves],
        )
    shape = np.broadcast_shapes(np.shape(frequency), *(np.shape(curve) for curve, _ in curves))
    curves = [(frequency, "Hz"), *curves]
    count, width = int(np.prod(shape[:-1])), shape[-1]
    columns = [np.broadcast_to(c, shape).reshape(count, width)[0] for c, _ in curves]
    rows = [
        tuple(_cell(column[k], unit) for column, (_, unit) in zip(columns, curves, strict=True))
        for k in np.unique(np.linspace(0, width - 1, 8).round().astype(int))
    ]
    if count > 1:
        title += f", the first of {count} designs"
    return Card(title + ("" if width <= 8 else f", 8 of {width} frequencies"), heads, rows)
