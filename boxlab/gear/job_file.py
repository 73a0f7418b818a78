"""Makes and changes job files. Comments, order and whatever else a person wrote stay as they are.

Each change reads the file afresh under a lock, changes only the keys it is about, and swaps the
file whole: two programs that write at once, a full disk or a killed kernel lose nothing.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from pathlib import Path

from boxlab.base.safe_write import lock, put, put_new
from boxlab.gear.job import Job, read_job
from boxlab.gear.job_keys import WHAT, JobError, parse
from boxlab.gear.job_merge import merged

ENDING = ".job.toml"
PATIENCE = 5.0  # s to wait for another program that is just writing
TEMPLATE = """\
# A job: one box that came in. Each quantity is text with its unit: "31 Hz", "0.77 ft3", "14 in".
# Delete the # before a line to use it. What you do not know, leave out: nothing is made up, and
# `python -m boxlab job check FILE` says what follows, what is assumed, and what is missing.

[job]
name = "{name}"

[driver]                  # any set that is enough, such as fs, qts, vas, sd and re
# name = ""
# count = 1
# coils = 2
# coil_wiring = "parallel" # in each driver: parallel, series, or one alone
# wiring = "parallel"     # from driver to driver: parallel or series
# mounted = "isobaric"    # side by side, or isobaric: two, one behind the other
# coil_temperature = "90 °C" # for what a warm coil does; else 20 °C
# fs = "31 Hz"
# qts = "0.36"
# qes = "0.4"
# qms = "5"
# vas = "65 L"
# mms = "150 g"
# sd = "507 cm2"          # or size = "12 in"
# re = "3.6 ohm"          # of one whole driver, as its coils are wired now
# xmax = "14 mm"
# pe = "500 W"

# [radiator]
# count = 2
# sd = "507 cm2"
# mms = "230 g"           # without weights
# added_mass = "290 g"    # weights on each; ["290 g", "0 g"] where they differ
# fp = "14 Hz"            # or cms or vap: how soft it is
# xmax = "18 mm"

# [box]
# kind = "radiator"       # sealed, ported or radiator
# volume = "22 L"         # net
# ql = "7"
# port_diameter = "75 mm" # for a ported box, with port_length or fb
# port_length = "250 mm"
# port_kind = "slot"      # round, slot or flare; its length is that of its centre line
# slot_width = "300 mm"   # inside, and slot_height
# slot_height = "30 mm"
# port_walls = 1          # walls of the box that the slot's inner end lies on: 1, 2 or 3
# port_flare = "20 mm"    # radius of the ends of a flared tube, with port_diameter

# [air]                   # for what cold and height do; else 20 °C at sea level
# temperature = "-10 °C"
# altitude = "1500 m"

# [amplifier]
# "4 ohm" = "300 W"
# "2 ohm" = "500 W"
# rail = "60 V"           # peak, the most its output can swing
# current = "30 A"        # peak, the most its output can give
# rated_at = "13.8 V"     # of supply, for which all this holds
# efficiency = "75 %"
# regulated = "no"        # "yes" where its rails stay while the supply sags

# [supply]
# voltage = "13.8 V"      # at the battery, without load
# resistance = "20 mΩ"    # of battery, cable out and back, fuse and joints together

# [filters]               # before the amplifier; any of these
# high_pass = "28 Hz"
# high_pass_order = "4"   # 6 dB/octave each; Butterworth, unless order 2 has a high_pass_q
# low_pass = "80 Hz"
# boost = "6 dB"          # or a cut: "-3 dB"
# boost_at = "40 Hz"
# boost_q = "1"
# shelf = "4 dB"          # below shelf_at
# shelf_at = "35 Hz"

# [gap]
# width = "1000 mm"
# height = "400 mm"
# depth_bottom = "200 mm"
# depth_top = "130 mm"

# [cable]                 # from the battery to the amplifier
# length = "5 m"          # one way
# laid = "closed in"      # under carpet or trim or in a conduit; or "in free air" all the way
# supply = "13.8 V"       # if it is another than that of [supply]

# [[measurement]]         # one for each file, beside this one
# file = "box.csv"
# what = "as found"       # free air is of one driver alone; the kinds: {what}
# added_mass = "60 g"     # for what = "added mass"; for "as found", what each radiator carried
# test_volume = "30 L"    # for what = "closed test box"
# resistor = "10 ohm"     # for a recording (.wav, .flac): the resistor in series
# both_inputs = "one.wav" # and one of both inputs on one node, to compare them
"""


def new_job(path) -> Path:
    """Make a commented job file that says nothing yet; returns its path.

    Raises
    ------
    JobError
        If something is there already (it stays as it is), or nothing can be written.
    """
    path = Path(path)
    if not path.name.endswith(ENDING):
        path = path.with_name(path.name + ENDING)
    name = path.name.removesuffix(ENDING).replace("\\", "").replace('"', "'")
    text = TEMPLATE.format(name=name, what=", ".join(WHAT))
    try:
        put_new(path, text.encode())
    except FileExistsError:
        raise JobError(
            f"{path} is there already and stays as it is. Choose another name."
        ) from None
    except OSError as error:
        raise JobError(f"{path} cannot be written: {error.strerror or error}.") from None
    return path


def change(path, changes: Mapping[str, Mapping[str, object]]) -> Job:
    """Put values into a job file and leave all else as it is; returns the job as it is now.

    Parameters
    ----------
    path : the file; made if it is not there
    changes : mapping of section to mapping of key to text ("31 Hz"), or None to take the key out.
        A section may be "measured.driver". A list of mappings stands for [[measurement]].

    Raises
    ------
    JobError
        If a section, key or quantity is not understood (the file stays as it is), or if the system
        will not write.
    """
    import tomlkit

    path = Path(path)
    try:
        with lock(path.with_name(f".{path.name}.lock"), PATIENCE):
            text = path.read_text(encoding="utf-8") if path.exists() else ""
            try:
                tomlkit.parse(text)
                document = tomlkit.parse(_with_places(text, changes))
            except tomlkit.exceptions.ParseError as error:
                raise JobError(f"{path}: {error}. It stays as it is.") from None
            for section, values in changes.items():
                _apply(document, section, values)
            parse(document.unwrap())  # what cannot be read again is not written
            put(path, tomlkit.dumps(document).encode(), f".{path.name}.")
    except JobError:
        raise
    except OSError as error:
        raise JobError(f"{path} cannot be written: {error.strerror or error}.") from None
    return read_job(path)


class ClashError(JobError):
    """Two changed one line of a job file; `file` is the file as it stands."""

    def __init__(self, words: str, file: str):
        super().__init__(words)
        self.file = file


def save(path, text: str, before: str | None) -> str:
    """Put a whole text into a job file; returns what was written.

    Parameters
    ----------
    path : the file
    text : what a person made of it
    before : the file as that person opened it; None for a new one. What was changed in the file
        since then is kept.

    Raises
    ------
    ClashError
        If one line was changed in both; nothing is written.
    JobError
        If it cannot be read, if there is a file where a new one is meant, or if the system will not
        write; nothing is written.
    """
    path = Path(path)
    try:
        parse(tomllib.loads(text))
        with lock(path.with_name(f".{path.name}.lock"), PATIENCE):
            file = path.read_text(encoding="utf-8") if path.exists() else before
            if before is None and file not in (None, text):
                raise JobError(f"{path} is there already and stays as it is. Open it first.")
            if file is not None:
                try:
                    text = merged(before or "", text, file)
                    parse(tomllib.loads(text))
                except ValueError as error:
                    raise ClashError(str(error), file) from None
            put(path, text.encode(), f".{path.name}.")
    except tomllib.TOMLDecodeError as error:
        raise JobError(str(error)) from None
    except OSError as error:
        raise JobError(f"{path} cannot be written: {error.strerror or error}.") from None
    return text


_HEAD = re.compile(r"^(#\s*)?\[\[?([\w.]+)\]\]?")


def _with_places(text, changes):
    """The text with a line for each new key where it belongs: a commented one there is used.

    Else it would come at the end of the file, below sections that are still commented, and belong
    to another as soon as somebody uses one of these.
    """
    lines = text.splitlines(keepends=True)
    for section, values in changes.items():
        if isinstance(values, list):
            continue
        for key in [key for key, text in values.items() if text is not None]:
            _place(lines, section, key)
    return "".join(lines)


def _place(lines, section, key):
    heads = [(n, m[1], m[2]) for n, line in enumerate(lines) if (m := _HEAD.match(line))]
    mine = sorted(((bool(off), n) for n, off, name in heads if name == section), key=lambda x: x[0])
    if not mine:
        return
    commented, head = mine[0]
    if commented:
        lines[head] = lines[head].lstrip("# ")
    end = min((n for n, *_ in heads if n > head), default=len(lines))
    span = range(head + 1, end)
    if any(re.match(rf"\s*{key}\s*=", lines[n]) for n in span):
        return
    for n in span:
        if offered := re.match(rf"#\s*{key}\s*=\s*(?:\"[^\"]*\"|\S+)(.*)", lines[n], re.S):
            lines[n] = f"{key} = 0{offered[1]}"
            return
    if not lines[head].endswith("\n"):
        lines[head] += "\n"
    lines.insert(head + 1, f"{key} = 0\n")


def _apply(document, section, values):
    import tomlkit

    if isinstance(values, list):
        rows = tomlkit.aot()
        for row in values:
            table = tomlkit.table()
            table.update({key: text for key, text in row.items() if text is not None})
            rows.append(table)
        document.pop(section, None)
        document.append(section, rows)
        return
    place, nothing = document, all(text is None for text in values.values())
    for name in section.split("."):
        if name not in place and nothing:
            return
        if name not in place:
            place[name] = tomlkit.table(is_super_table=name == "measured")
        place = place[name]
    for key, text in values.items():
        if text is None:
            place.pop(key, None)
        else:
            place[key] = text if isinstance(text, list | int) else str(text)
