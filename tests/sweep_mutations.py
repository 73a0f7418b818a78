"""Tables of one known curve in many dialects, and what happens to tables on their way.

Made by plain Python, with nothing of the reader's. `cases(n, seed)` yields (text, truth, how): the
truth is frequency, Hz, magnitude, Ω, and phase, degrees, or None, row by row.
"""

import cmath
import math
import random


def curve(rng, rows):
    """An impedance that a loudspeaker might have: a coil and one resonance."""
    fs, re, res, q = rng.uniform(25, 80), rng.uniform(2, 8), rng.uniform(10, 60), rng.uniform(2, 9)
    le = rng.uniform(0.2e-3, 2e-3)
    low, high = rng.uniform(5, 15), rng.uniform(150, 2000)
    for i in range(rows):
        f = low * (high / low) ** (i / (rows - 1))
        yield f, re + 2j * math.pi * f * le + res / (1 + 1j * q * (f / fs - fs / f))


# values: what a cell shows of (f, z), by role and unit
FREQUENCY = {"Hz": 1.0, "kHz": 1e-3, "rad/s": 2 * math.pi}
OHMS = {"ohm": 1.0, "Ohm": 1.0, "Ω": 1.0, "kohm": 1e-3, "mOhm": 1e3}
ANGLE = {"deg": 1.0, "°": 1.0, "degrees": 1.0, "rad": math.pi / 180}
VALUES = ("polar", "polar", "magnitude", "parts", "minus", "dB")


def dialect(rng):
    """How a table is written."""
    separator = rng.choice(["\t", ";", ",", " ", "   ", "|", ", "])
    values = rng.choice(VALUES)
    return {
        "separator": separator,
        "decimal": rng.choice("..," if separator != "," else "."),
        "f": rng.choice(["Hz", "Hz", "kHz", "rad/s"]),
        "z": "dB" if values == "dB" else rng.choice(["ohm", "Ohm", "Ω", "kohm", "mOhm", "ohm"]),
        "p": rng.choice(["deg", "deg", "°", "degrees", "rad"]),
        "values": values,
        "names": rng.randrange(len(NAMES)),
        "form": rng.choice(["g", "g", "f", "e"]),
        "digits": rng.choice([5, 6, 7]),
        "end": rng.choice(["\n", "\n", "\r\n", "\r"]),
    }


# what columns are called: frequency, magnitude, phase, real, imaginary
NAMES = (
    ("Frequency ({f})", "Impedance ({z})", "Phase ({p})", "R ({z})", "X ({z})"),
    ("Freq [{f}]", "|Z| [{z}]", "Phase [{p}]", "Re(Z) [{z}]", "Im(Z) [{z}]"),
    ("f/{f}", "|Z|/{z}", "theta/{p}", "Zreal/{z}", "Zimag/{z}"),
    ("freq({f})", "Zmag({z})", "angle({p})", "Z'({z})", "Z''({z})"),
    ('"Frequency, {f}"', '"Modulus, {z}"', '"Phase, {p}"', '"Real, {z}"', '"Imaginary, {z}"'),
    ("Frequenz [{f}]", "Betrag [{z}]", "Winkel [{p}]", "Wirkanteil [{z}]", "Blindanteil [{z}]"),
    ("FREQ_{f}", "Z_{z}", "PHASE_{p}", "RE_{z}", "IM_{z}"),
    ("f in {f}", "Z in {z}", "phi in {p}", "Re Z in {z}", "Im Z in {z}"),
    ("Test frequency ({f})", "abs(Z) ({z})", "arg(Z) ({p})", "Resistance ({z})", "Reactance ({z})"),
)


def written(value, how):
    if how["form"] == "f":
        value = f"{value:.{how['digits'] + 2}f}"
    elif how["form"] == "e":
        value = f"{value:.{how['digits'] - 1}E}"
    else:
        value = f"{value:.{how['digits']}g}"
    return value.replace(".", how["decimal"])


def table(rng, how, rows):
    """(header cells, rows of text cells, truth) of one table."""
    lines, truth = [], []
    names = list(NAMES[how["names"]])
    values = how["values"]
    if how["names"] == 4 and how["separator"] not in (";", ",", "\t"):
        names = list(NAMES[0])
    if how["names"] == 7 and not how["separator"].strip() and how["separator"] != "\t":
        names = list(NAMES[1])
    if how["separator"] == " ":
        names = [name.replace(" ", "") for name in names]
    elif how["separator"] == "   ":
        names = [name.replace(" ", rng.choice([" ", ""])) for name in names]
    for f, z in curve(rng, rows):
        ohms = OHMS.get(how["z"], 0)
        angle = math.degrees(cmath.phase(z))
        cells = {
            "polar": [abs(z) * ohms, angle * ANGLE[how["p"]]],
            "magnitude": [abs(z) * ohms],
            "parts": [z.real * ohms, z.imag * ohms],
            "minus": [z.real * ohms, -z.imag * ohms],
            "dB": [20 * math.log10(abs(z)), angle * ANGLE[how["p"]]],
        }[values]
        lines.append([written(v, how) for v in (f * FREQUENCY[how["f"]], *cells)])
        truth.append((f, abs(z), None if values == "magnitude" else angle))
    picked = [names[0], *(names[3:] if values in ("parts", "minus") else names[1:3])]
    if values == "minus":
        quote = '"' if picked[2].startswith('"') else ""
        picked[2] = f"{quote}-{picked[2].lstrip(chr(34))}"
    header = [name.format(**{k: how[k] for k in "fzp"}) for name in picked[: len(lines[0])]]
    return header, lines, truth


REMARKS = (
    "Level: -12.5 dB", "Frequency response, 20 Hz to 2 kHz", "# made on a Tuesday", "Box 3, 14.2 L",
    "Phase reference: input", "Re = 3.4 ohm", "Impedance, box in the corner", "20 degrees, dry",
    "Sweep 20 Hz 2000 Hz", "Temperature: 21.5", "* remark", "operator; Mill Lane; evening class",
    "omega scan at 48000 Hz", "Z: magnitude in dB re 1 V, 24 bit", "48000 24", "Date: 12.03.2024",
    "Points; 60", "f, Z, phase: see below", "Start\t10\tStop\t2000", "12:30:05",
    "channel,1,gain,2.0", "real part of the signal, left channel", "kHz",
    "Frequency (kHz) and level (dB) of the tone",
)  # fmt: skip

# in the order in which they happen
HAPPENS = (
    "none", "reverse", "turned", "coherence", "count", "again", "missing", "gap lines", "cut row",
    "cut cell", "spaces", "quotes", "trailing", "note", "units", "upper", "twice", "comment header",
    "no header", "between", "blank", "tail", "remark", "remarks", "bom",
)  # fmt: skip


def mutate(rng, how, header, lines):
    """The text after one to three things that happen to tables; their names."""
    sep, end = how["separator"], how["end"]
    rows = [list(row) for row in lines]
    head, above, below, between, finish = [header], [], [], [], end
    done = sorted(rng.sample(HAPPENS, rng.randint(1, 3)), key=HAPPENS.index)
    if "no header" in done and (
        how["values"] not in ("polar", "magnitude")
        or (how["f"], how["p"]) == ("rad/s", "rad")
        or how["z"] == "mOhm"
        or how["f"] == "rad/s"
        or how["z"] == "kohm"
    ):  # nothing in such a table tells what it holds
        done.remove("no header")
    wide = bool(sep.strip()) or sep == "\t"
    for what in done:
        if what == "remark":
            above = [rng.choice(REMARKS)]
        elif what == "remarks":
            above = rng.sample(REMARKS, 4)
        elif what == "cut cell":
            rows[-1][-1] = rows[-1][-1][: rng.randint(1, 3)]
            finish = ""
        elif what == "cut row":
            rows[-1] = rows[-1][:-1]
        elif what == "blank":
            below = ["", ""]
        elif what == "between":
            between = [""]
        elif what == "tail":
            below = ["", rng.choice(["end of measurement", "60 points, 3 s", "# done"])]
        elif what == "quotes" and wide:
            rows = [[f'"{cell}"' for cell in row] for row in rows]
        elif what == "coherence" and wide:
            head = [[*h, "Coherence"] for h in head]
            rows = [[*row, written(rng.uniform(0.9, 1), how)] for row in rows]
        elif what == "count":
            head = [["No", *h] for h in head]
            rows = [[str(i + 1), *row] for i, row in enumerate(rows)]
        elif what == "trailing" and wide:
            rows = [[*row, ""] for row in rows]
        elif what == "twice":
            head = [*head, head[0]]
        elif what == "units" and "[" in header[0]:
            split = [cell.replace("]", "").split("[") for cell in head[0]]
            head = [
                [each[0].strip() for each in split],
                [each[-1] if len(each) > 1 else "-" for each in split],
            ]
        elif what == "reverse":
            rows.reverse()
        elif what == "turned":
            head, rows = [h[::-1] for h in head], [row[::-1] for row in rows]
        elif what == "note" and sep == ";":
            rows[0] = [*rows[0], "first"]
        elif what == "comment header":
            head = [[rng.choice(["# ", "* ", "% "]) + h[0], *h[1:]] for h in head]
        elif what == "no header" and "turned" not in done:
            head = []
        elif what == "missing":
            rows[len(rows) // 2][-1] = rng.choice(["NaN", "---", "OL", "inf"])
        elif what == "gap lines":
            rows[len(rows) // 2 : len(rows) // 2] = [[""], ["# paused"]]
        elif what == "spaces":
            rows = [[f" {cell} " for cell in row] for row in rows]
        elif what == "upper":
            head = [[cell.upper() for cell in h] for h in head] if how["z"] != "mOhm" else head
        elif what == "again":
            rows = rows + rows[-3:]
    out = [*above, *(sep.join(h) for h in head), *between, *(sep.join(r) for r in rows), *below]
    text = end.join(out)
    return ("\ufeff" if "bom" in done else "") + text + finish, done


def cases(n, seed=1):
    """`n` mutated tables, the same for the same seed."""
    rng = random.Random(seed)
    for _ in range(n):
        how = dialect(rng)
        header, lines, truth = table(rng, how, rng.randint(8, 60))
        text, done = mutate(rng, how, header, lines)
        yield text, truth, {**how, "done": done}


def wrong(got, truth, how):
    """What differs from the truth by more than rounding, beginning with the column; "" if nothing.

    A number that the file's end cut short may be wrong in its own row only.
    """
    spare = 1 + ("missing" in how["done"])
    if not len(truth) - spare <= len(got) <= len(truth):
        return f"rows: {len(got)} of {len(truth)}"
    if how["values"] != "magnitude" and got.phase is None:
        return "phase: lost"
    off = {"frequency": [], "magnitude": [], "phase": []}
    for i, f in enumerate(got.frequency):
        near = min(truth, key=lambda row: abs(math.log(row[0] / f)))
        turn = (
            0
            if got.phase is None or near[2] is None
            else (got.phase[i] - near[2] + 180) % 360 - 180
        )
        for column, error in (
            ("frequency", abs(f / near[0] - 1) / 1e-3),
            ("magnitude", abs(got.magnitude[i] / near[1] - 1) / 2e-3),
            ("phase", abs(turn) / 0.2),
        ):
            if error > 1:
                off[column].append(f"{f:.5g} Hz, {got.magnitude[i]:.5g} ohm; truth {near}")
    for column, where in off.items():
        if len(where) > ("cut cell" in how["done"]):
            return f"{column}: {len(where)} rows, first {where[0]}"
    return ""
