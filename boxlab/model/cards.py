"""Rich display of drivers, radiators, ports and boxes in a notebook, in both unit systems."""

from __future__ import annotations

import numpy as np

from boxlab.base import units


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


def _table(title, kind, rows):
    """An HTML table: symbol, meaning, metric, inch; the last empty where both read the same."""
    body = "".join(
        f'<tr><th scope="row" style="text-align:left">{name}</th>'
        f'<td style="text-align:left">{meaning}</td>'
        f"<td>{metric}</td><td>{imperial}</td></tr>"
        for name, meaning, metric, imperial in rows
    )
    import html  # takes a millisecond, and only a notebook asks for a table

    heading = f"{html.escape(title)}: {kind}" if title else kind.capitalize()
    return (
        f'<table><caption style="text-align:left"><b>{heading}</b></caption>'
        '<thead><tr><th scope="col">Symbol</th><th scope="col">Meaning</th>'
        '<th scope="col">Metric</th><th scope="col">Inch</th></tr></thead>'
        f"<tbody>{body}</tbody></table>"
    )


def _length(value):
    return _value(units.to_mm(value), "mm"), _value(units.to_inches(value), "in")


def _area(value):
    return _value(units.to_cm2(value), "cm²"), _value(units.to_square_inches(value), "in²")


def _volume(value):
    return _value(units.to_litres(value), "L"), _value(units.to_cubic_feet(value), "ft³")


def _mass(value):
    return _value(units.to_grams(value), "g"), _value(units.to_ounces(value), "oz")


def driver(d):
    """HTML card of a Driver."""
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
    return _table(d.name, "driver", rows)


def _radiator_rows(r):
    return [
        ("fp", "its own resonance, weights on", _value(r.fp, "Hz"), ""),
        ("Sd", "area of one", *_area(r.sd)),
        ("Mms", "moving mass, bare", *_mass(r.mms)),
        ("", "weights added", *_mass(r.added_mass)),
        ("Xmax", "excursion, one way", *_length(r.xmax)),
    ]


def radiator(r):
    """HTML card of a Radiator."""
    return _table(r.name, "passive radiator", _radiator_rows(r))


def _port_rows(p):
    return [
        ("S", "area of one port", *_area(p.area)),
        ("L", "length", *_length(p.length)),
        ("", "length added by its ends", *_length(p.end_correction)),
        ("", "first pipe resonance", _value(p.first_pipe_resonance(), "Hz"), ""),
    ]


def port(p):
    """HTML card of a Port."""
    return _table("", "port", _port_rows(p))


def box(b):
    """HTML card of a SealedBox, PortedBox, RadiatorBox or MixedRadiatorBox."""
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
