"""What a picture says, before anything draws it.

A `Scene` is the whole answer for one state of an explainer: curves, marks, a readout in words,
a small table of numbers, caption and alt text. It is made by a pure function from plain settings,
so the live panel, the static figure, the exported picture, the share text and the tests all show
the same computed answer.
"""

from __future__ import annotations

import math
import re
import warnings
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType

import numpy as np

from boxlab.base.checks import Implausible
from boxlab.base.quantities import find_unit
from boxlab.draw.outlines import Cutaway
from boxlab.model.enclosure import PortedBox
from boxlab.model.response import Response
from boxlab.model.validity import edges, resonances

_TYPING = re.compile(r"boxlab\.\w|\bunits\b|is very large|\bare in m³")

# Colour says what a curve is. figures.py gives each role one colour in the whole collection.
ROLES = ("cone", "vent", "sum", "limit", "electrical", "leak", "rear", "quiet")

# Dash says which kind of box a curve belongs to; "" is for curves of no particular box.
BUILDS = ("", "radiator", "ported", "sealed")


@dataclass(frozen=True, eq=False)
class Line:
    """One curve: x and y, shape (n,), in the units that its plot's axes print."""

    x: np.ndarray
    y: np.ndarray
    role: str
    label: str = ""
    build: str = ""
    # "line", "steps", "fill" (between y and zero), "points" for a few, "dots" for a cloud
    kind: str = "line"


@dataclass(frozen=True)
class Mark:
    """A straight line across a plot with a short label: at x (axis "x") or at y (axis "y")."""

    at: float
    label: str
    role: str = "quiet"
    axis: str = "x"


@dataclass(frozen=True)
class Plot:
    """One set of axes. Limits are fixed so that the eye can compare one state with the next."""

    title: str
    xlabel: str
    ylabel: str
    xlim: tuple[float, float]
    ylim: tuple[float, float]
    lines: tuple[Line, ...] = ()
    marks: tuple[Mark, ...] = ()
    xscale: str = "log"
    yscale: str = "linear"
    yticks: tuple[float, ...] = ()
    ynames: tuple[str, ...] = ()  # words that stand at `yticks` instead of numbers
    equal: bool = False  # a unit is as long on x as on y, so that angles are true


@dataclass(frozen=True)
class Number:
    """A row of the numbers table: name, and the value as text in metric and in inch units.

    `imperial` is empty where both systems read the same (Hz, dB, ohm).
    """

    name: str
    metric: str
    imperial: str = ""


# The inch unit beside a slider's own.
_INCH = MappingProxyType({"L": "ft³", "mm": "in", "m": "ft", "g": "oz", "kg": "lb"})

INVENTED = "Gear: invented, the class's own."


@dataclass(frozen=True)
class Scene:
    """The computed answer for one state of an explainer."""

    title: str
    plots: tuple[Plot, ...]
    readout: tuple[str, ...]  # short sentences, most important first
    numbers: tuple[Number, ...]
    caption: str  # what to see, in one or two sentences
    alt: str  # what the picture shows, for someone who cannot see it: axes, ranges, message
    code: str  # Python that reproduces the key numbers
    columns: int = 2
    warnings: tuple[str, ...] = ()  # where the model is being pushed past its limits
    cautions: tuple[str, ...] = ()  # what can hurt here; the sentences of boxlab.base.cautions
    gear: str = ""  # whose gear it is about, where there is any; ends the caption, too
    headline: str = ""  # the message with its number, where that is not the readout's first line
    cutaway: Cutaway | None = None
    right: bool | None = None  # whether the guess among the settings is; None where there is none
    # what `solve` answered for the curves, by name: from it come where the model stops and where
    # port and box ring, so that no explainer has to say so itself
    shows: Mapping[str, Response] = field(default_factory=lambda: MappingProxyType({}))

    @property
    def message(self) -> str:
        """The one sentence above the picture."""
        return self.headline or (self.readout[0] if self.readout else self.title)


@dataclass(frozen=True)
class Slider:
    """A number the learner can set. Values are in `unit`, for people (litres, Hz, g)."""

    name: str
    label: str
    low: float
    high: float
    start: float
    step: float
    unit: str
    more: bool = False  # kept under "more" at first sight
    help: str = ""

    @property
    def inch(self) -> tuple[str, float, int] | None:
        """The inch unit beside its own, how many of it one is, and decimals; None without one."""
        if self.unit not in _INCH:
            return None
        symbol = _INCH[self.unit]
        factor = find_unit(symbol).from_si(find_unit(self.unit).into_si(1.0))
        decimals = math.ceil(-math.log10(factor * self.step))  # so that each step reads otherwise
        return symbol, factor, min(max(decimals, 0), 3)

    @property
    def imperial(self) -> Callable[[float], str] | None:
        """What writes a value in inch units, "0.50 ft³" for 14 L; None where both read the same."""
        if self.inch is None:
            return None
        symbol, factor, decimals = self.inch
        # a half is rounded up, as a page does: 1.25 in is 1.3 in, and never 1.2 in
        return lambda value: f"{factor * value + 1e-9:.{decimals}f} {symbol}"


@dataclass(frozen=True)
class Choice:
    """One of a few named options."""

    name: str
    label: str
    options: tuple[str, ...]
    start: str
    more: bool = False
    help: str = ""
    # of a prediction: the option that hides the answer. Those after it are guesses; one is taken
    # back as soon as another control moves, and the page counts those that were right
    hides: str = ""


@dataclass(frozen=True)
class Explainer:
    """A question, its controls, and the pure function that answers it for any setting of them."""

    name: str  # stable slug, used in links and file names
    question: str
    controls: tuple[Slider | Choice, ...]
    scene: Callable[..., Scene]
    lesson: str = ""  # file name of the lesson it belongs to
    anchor: str = ""  # heading there
    answer: str = ""  # the one-line answer a forum helper can paste
    presets: Mapping[str, Mapping[str, object]] = field(default_factory=dict)  # kept read-only
    gear: bool = True  # whether the answer is about a driver, a radiator or a box

    def __post_init__(self):
        object.__setattr__(self, "presets", MappingProxyType(dict(self.presets)))

    @property
    def start(self) -> dict:
        """The starting state: control name -> value."""
        return {control.name: control.start for control in self.controls}

    def __call__(self, **changes) -> Scene:
        """The scene for the starting state with `changes` made to it.

        Raises
        ------
        ValueError
            If a name is not one of the controls, or a value is outside its control's range.
        """
        known = {control.name: control for control in self.controls}
        for name, value in changes.items():
            if name not in known:
                raise ValueError(
                    f"{self.name} has no setting {name!r}; it has {', '.join(sorted(known))}"
                )
            control = known[name]
            if isinstance(control, Choice):
                if value not in control.options:
                    raise ValueError(
                        f"{name} = {value!r}: choose one of {', '.join(control.options)}"
                    )
            elif not control.low <= value <= control.high:
                raise ValueError(
                    f"{name} = {value:g} {control.unit}: this slider runs from {control.low:g} "
                    f"to {control.high:g} {control.unit}"
                )
        with warnings.catch_warnings():
            # A slider cannot slip a unit. What is far out of the usual is for the scene to say.
            warnings.simplefilter("ignore", Implausible)
            try:
                return ringing(self._with_gear(self.scene(**(self.start | changes))))
            except ValueError as refused:
                words = _without_units(str(refused))
                if words == str(refused):
                    raise
                raise ValueError(words) from refused

    def told(self, **changes) -> Scene:
        """As calling it; its warnings also say what the model warned of, and where it stops."""
        with warnings.catch_warnings(record=True) as caught:
            warnings.simplefilter("always", UserWarning)
            scene = self(**changes)
        said = dict.fromkeys((*scene.warnings, *edges(scene.shows)))
        for warning in caught:
            if issubclass(warning.category, UserWarning):
                said[str(warning.message)] = None
            else:
                warnings.warn_explicit(
                    warning.message, warning.category, warning.filename, warning.lineno
                )
        return replace(scene, warnings=tuple(said))

    def _with_gear(self, scene: Scene) -> Scene:
        if not self.gear or scene.gear:
            return scene
        return replace(scene, gear=INVENTED, caption=f"{scene.caption} {INVENTED}")


def ringing(scene: Scene) -> Scene:
    """The scene with a mark where the port and the box ring, wherever a port's curve reaches there.

    A port's curve is one of build "ported"; where every box shown has a port, any curve is.
    """
    boxes = [each.box for each in scene.shows.values()]
    ported = [each for each in boxes if isinstance(each, PortedBox)]
    rings = {f"{r.part} rings": r.frequency for box in ported[:1] for r in resonances(box)}
    if not rings:
        return scene
    return replace(scene, plots=tuple(_ringing(p, rings, ported == boxes) for p in scene.plots))


def _ringing(plot: Plot, rings: dict, alone: bool) -> Plot:
    drawn = alone or any(line.build == "ported" for line in plot.lines)
    if plot.xlabel != "frequency, Hz" or not drawn or not plot.lines:
        return plot
    low, high = plot.xlim
    has = " ".join(mark.label for mark in plot.marks)  # who knows the box's edges says it better
    marks = [
        Mark(at, label, "limit")
        for label, at in sorted(rings.items(), key=lambda each: -each[1])  # labels side by side
        if low < at < high and label not in has
    ]
    return replace(plot, marks=(*plot.marks, *marks))


def _without_units(words: str) -> str:
    """What is wrong, without the sentences for whoever types values in Python.

    >>> _without_units("45 Hz is out of reach. Volume is in m³: for 14 L use boxlab.litres(14).")
    '45 Hz is out of reach.'
    """
    said = re.split(r"(?<=\.) (?=[A-Z])", words)
    return " ".join(each for each in said if not _TYPING.search(each)) or words
