"""An answer about somebody's own box, told with its ranges and in the words of its owner."""

from __future__ import annotations

import re
from dataclasses import replace
from difflib import SequenceMatcher
from functools import lru_cache

import numpy as np

from boxlab.draw.scene import Number, Plot, Scene
from boxlab.explainers._own_python import code_of
from boxlab.explainers._three_boxes import AMPLIFIER
from boxlab.gear.job import Job

_SPOKEN = {
    "sd": "area (Sd)", "qms": "friction (Qms)", "qmp": "friction (Qmp)", "rms": "friction (Rms)",
    "le": "inductance (Le)", "ql": "leak (QL)", "cms": "softness (Cms)", "xmax": "travel (Xmax)",
    "mms": "moving mass (Mms)", "pe": "rated heat (Pe)",
}  # fmt: skip
_SPAN = "\x01"  # between the ends of a range, until all ranges are told
_TURNED = {
    "softer": "louder", "less": "more", "lower": "higher", "shorter": "longer",
    "smaller": "larger",
}  # fmt: skip
_COMPARED = re.compile(
    rf"(?<![\d.−-])(\d+(?:\.\d+)?)( [^\W\d]+)? ({'|'.join({*_TURNED, *_TURNED.values()})})\b"
)
_SIGNED = re.compile(rf"(-?[\d.]+)(?:{_SPAN}(-?[\d.]+))?( [^\W\d]+)? \x02(\w+)")
_NESTED = re.compile(
    rf"(?P<from>from (?:about )?)?(?P<range>(?:[\d.−-]+{_SPAN}[\d.]+ to [\d.−-]+(?:{_SPAN}[\d.]+)?)"
    rf"|(?:[\d.−-]+ to [\d.−-]+{_SPAN}[\d.]+))"
)
_FIGURE = re.compile(r"(?<![\w.])[−-]?\d+(?:\.\d+)?(?![\w.]*\d)")
_TOLD = re.compile(rf"{_FIGURE.pattern}(?: to {_FIGURE.pattern})?")

# where something is, at one frequency or from one to another
_AT = re.compile(
    rf"\b(?:from ({_FIGURE.pattern}) to ({_FIGURE.pattern})|at ({_FIGURE.pattern})) Hz"
)


def in_ranges(scene: Scene, others, job: Job, taken=()) -> Scene:
    """The scene with its ranges, in the words of somebody whose own box it is."""
    assumed = _listed([name for name, each in job.assumed.items() if each.high != each.low])
    words = f"Gear: {job.system.name}, from the job “{job.name}”."
    if others and assumed:
        words += f" Assumed, and so told as ranges: {assumed}."
    joined = {"driver.wiring": "drivers", "driver.coil_wiring": "coils"}
    if unsaid := [what for name, what in joined.items() if name in job.assumed]:
        words += f" Assumed: {' and '.join(unsaid)} in parallel, which the job does not say."
    words = " ".join([words, *taken])

    def ranged(pick):
        return _yours(_merge(pick(scene), [pick(each) for each in others]))

    numbers = tuple(_number(scene.numbers, n, others) for n in range(len(scene.numbers)))
    readout = tuple(
        ranged(lambda each, i=i: each.readout[i] if i < len(each.readout) else "")
        for i in range(len(scene.readout))
    )
    return replace(
        scene,
        title=ranged(lambda each: each.title),
        headline=ranged(lambda each: each.headline),
        readout=readout,
        numbers=numbers,
        caption=f"{ranged(lambda each: each.caption)} {words}",
        gear=words,
        alt=f"{_yours(scene.alt)} {words}",
        code=code_of(scene.code, job),
        warnings=tuple(_yours(each) for each in scene.warnings),
        plots=tuple(_in_sight(plot) for plot in scene.plots),
    )


def without_amplifier(scene: Scene, controls, settings, job: Job) -> Scene:
    """The scene of a job without an amplifier, with the watts that are none of its told as such.

    Where the question starts they are assumed; moved from there they are as somebody set them.
    """
    sliders = [c for c in controls if c.name in ("amplifier", "power", "rating", "watts")]
    watts = {float(settings[each.name]) for each in sliders} or {AMPLIFIER}
    how = "as set" if any(settings[c.name] != c.start for c in sliders) else "assumed"
    pattern = re.compile(rf"(?<![\d.])({'|'.join(f'{each:g}' for each in watts)}) W\b")
    pe = float(job.system.pe)

    if pe in watts:  # the same figure may be what the driver bears, but not after "with"
        pattern = re.compile(rf"(?<=\b[Ww]ith )({pe:g}) W\b")

    def marked(text):
        return pattern.sub(rf"\1 W ({how})", text, count=1)

    told = (scene.headline, *scene.readout, scene.caption)
    if not sliders and not any(pattern.search(each) for each in told):
        return scene
    readout = [marked(each) for each in scene.readout]
    if readout == list(scene.readout) and readout:
        readout[0] += f" With {' and '.join(f'{each:g} W ({how})' for each in watts)}."
    more = f" The job has no amplifier: its watts are {how}."
    past = tuple(
        f"{each:g} W, {how}, is more than the {pe:g} W that the driver is rated for."
        for each in watts if each > pe
    )  # fmt: skip
    return replace(
        scene,
        headline=marked(scene.headline),
        readout=tuple(readout),
        caption=f"{marked(scene.caption)}{more}",
        gear=f"{scene.gear}{more}",
        alt=f"{scene.alt}{more}",
        warnings=(*scene.warnings, *past),
    )


def _and(words):
    return " and ".join(filter(None, (", ".join(words[:-1]), words[-1])))


def _listed(names) -> str:
    """Of "driver.qms", "driver.le", "box.ql": what they are called, by whose they are.

    >>> _listed(["driver.qms", "driver.le", "box.ql"])
    'friction (Qms) and inductance (Le) of the driver; leak (QL) of the box'
    """
    parts: dict[str, list[str]] = {}
    for name in names:
        section, _, key = name.partition(".")
        parts.setdefault(section, []).append(key)
    spoken = {section: _and([_SPOKEN.get(key, key) for key in keys])
              for section, keys in parts.items()}  # fmt: skip
    return "; ".join(f"{words} of the {section}" for section, words in spoken.items())


def _number(rows, n, others):
    """A row of the table with its ranges; its name may have a number that is a range, too."""
    name = _FIGURE.sub("#", rows[n].name)
    nth = sum(_FIGURE.sub("#", row.name) == name for row in rows[:n])
    same = [
        ([row for row in each.numbers if _FIGURE.sub("#", row.name) == name] + [None] * (nth + 1))[
            nth
        ]
        for each in others
    ]
    return Number(
        _yours(_merge(rows[n].name, [row.name for row in same if row])),
        *(
            _yours(
                _merge(getattr(rows[n], side), [getattr(row, side) if row else "" for row in same])
            )
            for side in ("metric", "imperial")
        ),
    )


def _merge(text: str, others) -> str:
    """A text with each number that differs in the others told as a range.

    >>> _merge("Add 30 g for 38 Hz.", ["Add 19 g for 38 Hz.", "Add 52 g for 38 Hz."])
    'Add 19 to 52 g for 38 Hz.'
    >>> _merge("The 2.7 fitted is enough.", ["The 2.2 fitted is not enough."])
    'The 2.2 to 2.7 fitted is enough. (Whether this is so depends on an assumed value.)'
    >>> _merge("Into it go 9 W.", ["Into it go 9 to 12 W."])
    'Into it go 9 to 12 W.'
    >>> _merge("It stops at 26 Hz.", ["It stops from 22 to 29 Hz."])
    'It stops at 22 to 29 Hz.'
    """
    text, *others = _evened((text, *others))
    if len({_FIGURE.sub("#", each) for each in (text, *others)}) > 1:
        text, *others = (_signed(each) for each in (text, *others))
    pattern = _FIGURE.sub("#", text)
    same = [each for each in others if _alike(_FIGURE.sub("#", each), pattern)]
    rows = [_FIGURE.findall(each) for each in (text, *same)]
    columns = iter(list(zip(*rows, strict=True)) if rows[0] else ())

    def told(match):
        shown = dict.fromkeys(next(columns))
        if len(shown) == 1:
            return match[0]
        ends = sorted(shown, key=lambda each: float(each.replace("−", "-")))
        return f"{ends[0]}{_SPAN}{ends[-1]}"

    merged = _SIGNED.sub(_in_both_words, _FIGURE.sub(told, text))
    merged = _NESTED.sub(_one_range, merged)
    merged = re.sub(rf"(\bfrom )([\d.−-]+){_SPAN}", r"\1\2–", merged).replace(_SPAN, " to ")
    if any(_FIGURE.sub("#", each) != pattern for each in others):
        merged += " (Whether this is so depends on an assumed value.)" if text else ""
    return merged


def _evened(texts):
    """The texts with "9" as "9 to 9" where another has "9 to 12" in that place."""
    if len({_FIGURE.sub("#", each) for each in texts}) == 1:
        return texts
    if len({_TOLD.sub("#", each) for each in texts}) > 1:
        even = tuple(_AT.sub(r"at \1\3 to \2\3 Hz", each) for each in texts)
        return even if len({_FIGURE.sub("#", each) for each in even}) == 1 else texts
    columns = zip(*map(_TOLD.findall, texts), strict=True)
    wide = [any(" to " in each for each in told) for told in columns]

    def evened(text):
        told = iter(wide)
        return _TOLD.sub(
            lambda m: f"{m[0]} to {m[0]}" if next(told) and " to " not in m[0] else m[0], text
        )

    return tuple(map(evened, texts))


@lru_cache(4096)
def _alike(pattern, other):
    """Whether two sentences tell the same figures, though perhaps another verdict."""
    if pattern == other:
        return True
    near = SequenceMatcher(None, pattern, other, autojunk=False).ratio() > 0.8
    return near and pattern.count("#") == other.count("#")


def _signed(text):
    """A text whose "2 dB softer" is a negative "louder", so that it can be merged with one."""

    def turned(found):
        number, unit, word = found[1], found[2] or "", found[3]
        return f"{'-' if word in _TURNED else ''}{number}{unit} \x02{_TURNED.get(word, word)}"

    return _COMPARED.sub(turned, text)


def _in_both_words(found):
    """Of a signed range as it is said: "2 dB softer to 1 dB louder", "1 to 2 dB softer"."""
    low, high, unit, word = found[1], found[2] or found[1], found[3] or "", found[4]
    less = next(less for less, more in _TURNED.items() if more == word)
    if low.startswith("-") and not high.startswith("-"):
        return f"{low[1:]}{unit} {less} to {high}{unit} {word}"
    if low.startswith("-"):
        low, high, word = high[1:], low[1:], less
    return f"{low}{_SPAN}{high}{unit} {word}" if low != high else f"{low}{unit} {word}"


def _one_range(found):
    """A range whose own ends are ranges, as one: the least to the most; "from a to b" keeps both.

    >>> _merge("8 to 9 dB; from 18 to 13 Hz.", ["7 to 8 dB; from 19 to 14 Hz."])
    '7 to 9 dB; from 18–19 to 13–14 Hz.'
    """
    if found["from"]:
        return found[0].replace(_SPAN, "–")
    ends = re.split(f" to |{_SPAN}", found["range"])
    ends.sort(key=lambda each: float(each.replace("−", "-")))
    return f"{ends[0]}{_SPAN}{ends[-1]}"


def _yours(text: str) -> str:
    text = re.sub(r"\b([Tt])he same own( driver)?\b", r"\1he same driver", text)
    text = re.sub(r"\b(T)he own\b|\b(?:the|an?) own\b", lambda m: "Your" if m[1] else "your", text)
    text = re.sub(r"\bsame own (\w+)", r"same \1", text)
    text = re.sub(r"\b([Oo]ne) own (\w+)", r"\1 \2 of yours", text)
    text = re.sub(r"\b([Tt]wo|[Tt]hree|[Ff]our|\d+) own (\w+)", r"\1 of your \2", text)
    text = re.sub(r"\bown (driver|radiators?|one)\b", r"your \1", text)
    text = re.sub(r"^own\b", "Your driver", text)
    text = re.sub(r"\bthe your\b", "your", text)
    return re.sub(r"(?<!your )\bown\b(?=,| at\b| sealed\b)", "your driver", text)


def _in_sight(plot: Plot) -> Plot:
    """The plot with its upright axis drawn out to what a larger or smaller box asks of it."""
    curves = [np.asarray(line.y, float) for line in plot.lines if line.kind in ("line", "steps")]
    shown = np.concatenate([y[np.isfinite(y)].ravel() for y in curves]) if curves else np.empty(0)
    if not shown.size or plot.ynames or plot.equal:
        return plot
    low, high = plot.ylim
    most = float(np.percentile(shown, 98))
    if most <= high:
        return plot
    if plot.yscale == "log":
        return replace(plot, ylim=(low, 10 ** np.ceil(np.log10(most))))
    step = high - low
    return replace(plot, ylim=(low, low + step * np.ceil((most - low) / step)), yticks=())
