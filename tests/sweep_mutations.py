"""Tables of one known curve in many dialects, and what happens to tables on their way.

Made by plain Python, with nothing of the reader's. `cases(n, seed)` yields (text, truth, what):
the truth is frequency, Hz, magnitude, Ω, and phase, degrees, or None, as printed to their digits.
"""

import cmath
import math
import random

LETTERS = {"hz": "Hz", "khz": "kHz", "rad": "rad/s"}


def curve(rng, rows):
    """An impedance that a loudspeaker might have: a coil and one resonance."""
    fs, re, res, q = rng.uniform(25, 80), rng.uniform(2, 8), rng.uniform(10, 60), rng.uniform(2, 9)
    le = rng.uniform(0.2e-3, 2e-3)
    low, high = rng.uniform(5, 15), rng.uniform(150, 2000)
    out = []
    for i in range(rows):
        f = low * (high / low) ** (i / (rows - 1))
        z = re + 2j * math.pi * f * le + res / (1 + 1j * q * (f / fs - fs / f))
        out.append((f, z))
    return out


def dialect(rng):
    """How a table is written."""
    separator = rng.choice(["\t", ";", ",", " ", "  ", "|"])
    return {
        "separator": separator,
        "decimal": rng.choice([".", ","] if separator not in (",",) else ["."]),
        "frequency": rng.choice(["hz", "hz", "hz", "khz", "rad"]),
        "values": rng.choice(["polar", "polar", "magnitude", "parts", "dB", "radians"]),
        "names": rng.randrange(6),
        "digits": rng.choice([4, 5, 6]),
        "end": rng.choice(["\n", "\r\n"]),
        "units": rng.random() < 0.2,
    }


NAMES = {  # what columns are called: frequency, magnitude, phase, real, imaginary
    0: ("Frequency ({f})", "Impedance ({z})", "Phase ({p})", "R ({z})", "X ({z})"),
    1: ("Freq[{f}]", "|Z|[{z}]", "Phase[{p}]", "Re(Z)[{z}]", "Im(Z)[{z}]"),
    2: ("f/{f}", "Zmag/{z}", "theta/{p}", "Zreal/{z}", "Zimag/{z}"),
    3: ("freq({f})", "|Z|({z})", "angle({p})", "Z'({z})", "Z''({z})"),
    4: ('"Frequency, {f}"', '"Modulus, {z}"', '"Phase, {p}"', '"Real, {z}"', '"Imag, {z}"'),
    5: ("Frequenz[{f}]", "Betrag[{z}]", "Winkel[{p}]", "Wirkanteil[{z}]", "Blindanteil[{z}]"),
}  # fmt: skip


def table(rng, how, rows):
    """(header cells, rows of text cells, truth) of one table."""
    lines, truth = [], []
    plain = how["values"]
    for f, z in curve(rng, rows):
        shown = {"hz": f, "khz": f / 1e3, "rad": 2 * math.pi * f}[how["frequency"]]
        magnitude, phase = abs(z), math.degrees(cmath.phase(z))
        cells = {
            "polar": [magnitude, phase],
            "radians": [magnitude, math.radians(phase)],
            "magnitude": [magnitude],
            "parts": [z.real, z.imag],
            "dB": [20 * math.log10(magnitude), phase],
        }[plain]
        lines.append([f"{v:.{how['digits']}g}" for v in (shown, *cells)])
        truth.append((f, magnitude, None if plain == "magnitude" else phase))
    names = NAMES[how["names"]]
    if how["names"] == 4 and how["separator"] in (" ", "  "):
        names = NAMES[0]
    unit = {
        "f": LETTERS[how["frequency"]],
        "z": "dB" if plain == "dB" else "ohm",
        "p": "rad" if plain == "radians" else "deg",
    }
    picked = [names[0], *(names[3:] if plain == "parts" else names[1:3])]
    if how["separator"] in (" ", "  "):
        picked = [name.replace(" ", "") for name in picked]
    header = [name.format(**unit) for name in picked[: len(lines[0])]]
    return header, lines, truth


REMARKS = (
    "Level: -12.5 dB", "Frequency response, 20 Hz to 2 kHz", "# made on a Tuesday", "Box 3, 14.2 L",
    "Phase reference: input", "Re = 3.4 ohm", "Impedance, box in the corner", "20 degrees, dry",
    "Sweep 20 Hz 2000 Hz", "Temperature: 21.5", "* remark", "operator; Mill Lane; evening class",
    "omega scan at 48000 Hz", "Z: magnitude in dB re 1 V, 24 bit",
)  # fmt: skip


def mutate(rng, how, header, lines):
    """The text after one to three things that happen to tables; their names."""
    sep, end, done = how["separator"], how["end"], []
    rows = [list(row) for row in lines]
    if how["decimal"] == ",":
        rows = [[cell.replace(".", ",") for cell in row] for row in rows]
    head, above, below, extra = [header], [], [], []
    for what in rng.sample(
        ["remark", "remarks", "cut", "blank", "between", "tail", "quotes", "extra", "trailing",
         "bom", "twice", "units", "reverse", "note", "none", "comment header"],
        rng.randint(1, 3),
    ):  # fmt: skip
        done.append(what)
        if what == "remark":
            above = [rng.choice(REMARKS)]
        elif what == "remarks":
            above = rng.sample(REMARKS, 3)
        elif what == "cut":
            rows[-1] = rows[-1][:-1] + ([rows[-1][-1][:1]] if rng.random() < 0.5 else [])
        elif what == "blank":
            below = ["", ""]
        elif what == "between":
            extra = [""]
        elif what == "tail":
            below = ["", "end of measurement"]
        elif what == "quotes" and sep in (",", ";", "\t"):
            rows = [[f'"{cell}"' for cell in row] for row in rows]
        elif what == "extra" and sep.strip():
            head = [[*header, "Coherence"]]
            rows = [[*row, "0.99" if how["decimal"] == "." else "0,99"] for row in rows]
        elif what == "trailing" and sep.strip():
            rows = [[*row, ""] for row in rows]
        elif what == "twice":
            head = [header, header]
        elif what == "reverse":
            rows.reverse()
        elif what == "note" and sep == ";":
            rows[0] = [*rows[0], "first"]
        elif what == "comment header":
            head = [["# " + header[0], *header[1:]]]
    out = [*above, *(sep.join(h) for h in head), *extra, *(sep.join(r) for r in rows), *below]
    return ("\ufeff" if "bom" in done else "") + end.join(out) + end, done


def cases(n, seed=1):
    """`n` mutated tables, the same for the same seed."""
    rng = random.Random(seed)
    for _ in range(n):
        how = dialect(rng)
        header, lines, truth = table(rng, how, rng.randint(8, 60))
        text, done = mutate(rng, how, header, lines)
        yield text, truth, {**how, "done": done}


def wrong(got, truth, how):
    """What is wrong in a sweep that was read with no refusal and no warning; "" if nothing is."""
    want = sorted(truth)
    if not len(want) - 1 <= len(got) <= len(want):
        return f"{len(got)} rows of {len(want)}"
    scale = 10.0 ** (1 - how["digits"]) * 6
    for i, f in enumerate(got.frequency):
        near = min(want, key=lambda row: abs(math.log(row[0] / f)))
        if abs(near[0] / f - 1) > scale:
            if "cut" in how["done"]:
                continue
            return f"{f:.5g} Hz is none of the frequencies"
        tolerance = scale * (20 if how["values"] in ("parts", "dB") else 2)
        if abs(got.magnitude[i] / near[1] - 1) > tolerance and "cut" not in how["done"]:
            return f"{got.magnitude[i]:.5g} ohm at {f:.5g} Hz, truth {near[1]:.5g}"
        if got.phase is not None and near[2] is not None:
            off = abs((got.phase[i] - near[2] + 180) % 360 - 180)
            if off > 90 * tolerance + 0.1 and "cut" not in how["done"]:
                return f"{got.phase[i]:.4g} degrees at {f:.5g} Hz, truth {near[2]:.4g}"
    return ""
