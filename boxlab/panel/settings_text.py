"""A state as a line to paste, and the way back in."""

from __future__ import annotations

import ast
import warnings
from html import escape

from boxlab.base.quantities import find_unit
from boxlab.base.typed_values import UnreadableError, in_unit, read
from boxlab.draw.scene import Choice, Explainer, Slider

LONGEST = 1000  # characters of a settings line; ours are under 300


def safe(text) -> str:
    """Text as it may stand in a page: nothing in it acts as markup."""
    return escape(str(text), quote=True)


def call_name(explainer: Explainer) -> str:
    """The explainer's name as a Python name: `port_or_radiator`."""
    return explainer.name.replace("-", "_")


def figure(value: float) -> str:
    """A value as it stands in a line to paste and in a box for typing: 14, 0.05."""
    return f"{value:.10g}"


def settings_line(explainer: Explainer, state: dict, inch: bool = False) -> str:
    """The state as a line to paste: `port_or_radiator(volume=14, fb=45)`.

    With `inch`, what has an inch unit is written with it: `volume='0.494405 ft³'`.
    """
    words = ", ".join(
        f"{control.name}={_written(control, state[control.name], inch)}"
        for control in explainer.controls
        if control.name in state
    )
    return f"{call_name(explainer)}({words})"


def _written(control: Slider | Choice, value, inch: bool) -> str:
    if isinstance(value, str):
        return repr(value)
    if inch and control.inch:
        symbol, factor, _ = control.inch
        return repr(f"{factor * value:.6g} {symbol}")
    return figure(value)


def checked(explainer: Explainer, changes: dict) -> dict:
    """The same changes, each known to the explainer and in its range.

    Raises
    ------
    ValueError
        In words for the person who typed it: which setting, what it was, what it may be.
    """
    controls = {control.name: control for control in explainer.controls}
    good = {}
    for name, value in changes.items():
        if name not in controls:
            raise ValueError(
                f"There is no setting {_shown(name)} here. The settings are {', '.join(controls)}."
            )
        control = controls[name]
        if isinstance(control, Choice):
            if value not in control.options:
                raise ValueError(
                    f"{name} = {_shown(value)}: choose one of "
                    f"{', '.join(repr(option) for option in control.options)}."
                )
            good[name] = value
            continue
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise ValueError(
                f"{name} = {_shown(value)}: a number is needed, with no quotes and no unit."
            )
        if not control.low <= value <= control.high:  # nor is nan, and an int may pass any float
            unit = f" {control.unit}" if control.unit else ""
            raise ValueError(
                f"{name} = {_shown(value)}{unit}: {control.label} goes from {control.low:g} to "
                f"{control.high:g}{unit}. Is the number in {control.unit or 'the right unit'}?"
            )
        if _whole(control) and value != int(value):
            raise ValueError(f"{name} = {_shown(value)}: {control.label} needs a whole number.")
        good[name] = control_value(control, value)
    return good


def _shown(value) -> str:
    """What was given, for a message: a number in ten digits, and nothing longer than a line."""
    if isinstance(value, int | float) and not isinstance(value, bool):
        try:
            return f"{value:.10g}"
        except OverflowError:
            return "a whole number of more than 300 digits"
    words = repr(value)
    return words if len(words) <= 60 else f"{words[:59]}…"


def typed(control: Slider, text: str) -> float:
    """The number in the slider's own unit, from one that is typed with any unit of its kind.

    Of the two ways to read "1,200" it is the one that is in range. Whether one is, `checked` says.

    Raises
    ------
    UnreadableError
        If the text is no single number with a unit that fits.
    """
    ways = in_unit(text, control.unit)
    fit = next((each for each in ways if control.low <= each <= control.high), None)
    own, got = find_unit(control.unit), read(text).unit if find_unit(control.unit) else None
    if fit is None and got is not None and got != own:
        ends = (control.low, control.high)
        for end in ends:  # an end that was rounded in the other unit
            if abs(ways[0] - end) <= 0.02 * abs(end):
                return end
        low, high = (f"{got.from_si(own.into_si(end)):.3g}" for end in ends)
        raise UnreadableError(
            f"{text.strip()}: {control.label} goes from {low} to {high} {got.symbol}."
        )
    return ways[0] if fit is None else fit


def control_value(control: Slider, value: float) -> float:
    """The value without the dust of binary steps: 14.3, not 14.299999999999999."""
    return int(value) if _whole(control) and value == int(value) else float(f"{value:.10g}")


def _whole(control: Slider) -> bool:
    """True for what is counted: a length in whole millimetres may still be typed in inches."""
    counted = all(isinstance(each, int) for each in (control.low, control.start, control.step))
    return counted and not control.unit


def read_settings(explainer: Explainer, text: str) -> dict:
    """Read a settings line back: name -> value. The text is parsed, never run.

    The name and brackets may be left off: `volume=14, fb=45`.

    Raises
    ------
    ValueError
        If it is not a settings line of this explainer; the message says what is wrong.
    """
    name = call_name(explainer)
    example = settings_line(explainer, explainer.start)
    text = text.strip()
    if not text:
        raise ValueError(f"Nothing to read. A settings line looks like: {example}")
    if len(text) > LONGEST:
        raise ValueError(f"That is {len(text)} characters, too long for a settings line.")
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            call = ast.parse(text if "(" in text else f"{name}({text})", mode="eval").body
    except (SyntaxError, ValueError, MemoryError, RecursionError):
        raise ValueError(
            f"This does not read as a settings line. It looks like: {example} "
            "(decimals with a point, words in quotes)."
        ) from None
    if not (isinstance(call, ast.Call) and isinstance(call.func, ast.Name)):
        raise ValueError(f"This is not a settings line. It looks like: {example}")
    if call.func.id != name:
        raise ValueError(
            f"This line is for {_shown(call.func.id)}, and this panel is {name!r}. "
            "Paste it where it belongs, or change the name."
        )
    if call.args:
        raise ValueError(
            "Each value needs its name before it, as in "
            f"{next(iter(explainer.start))}=…; decimals take a point, not a comma."
        )
    changes = {}
    for word in call.keywords:
        if word.arg is None:
            raise ValueError(f"'**' has no meaning here. A line looks like: {example}")
        if word.arg in changes:
            raise ValueError(f"{word.arg} stands there twice; keep one of them.")
        changes[word.arg] = _value(word.arg, word.value)
    for control in explainer.controls:
        if isinstance(control, Slider) and isinstance(changes.get(control.name), str):
            changes[control.name] = typed(control, changes[control.name])
    return checked(explainer, changes)


def _value(name: str, node):
    sign = 1
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub | ast.UAdd):
        sign, node = (-1 if isinstance(node.op, ast.USub) else 1), node.operand
        if not (isinstance(node, ast.Constant) and type(node.value) in (int, float)):
            node = None
    if not isinstance(node, ast.Constant) or not isinstance(node.value, int | float | str):
        raise ValueError(f"{name}: only a plain number or a word in quotes can stand here.")
    if isinstance(node.value, int) and abs(node.value) > 1e15:
        raise ValueError(f"{name}: that number is far too large.")
    return node.value if sign == 1 else -node.value


def reading(control, value, system: str = "both") -> str:
    """A setting for people: "14 L (0.50 ft³)"; `system` is "metric", "inch" or "both"."""
    if isinstance(control, Choice):
        return str(value)
    metric = f"{value:.6g} {control.unit}".strip()
    if control.imperial is None or system == "metric":
        return metric
    return control.imperial(value) if system == "inch" else f"{metric} ({control.imperial(value)})"


def inline(label: str) -> str:
    """A label as it stands inside a sentence: "net volume", but "QL".

    >>> inline("Net volume"), inline("QL of the box")
    ('net volume', 'QL of the box')
    """
    return label if label[1:2].isupper() else label[:1].lower() + label[1:]


def settings_text(explainer: Explainer, state: dict) -> str:
    """All settings in one phrase: "net volume 14 L (0.50 ft³); tuning 45 Hz"."""
    return "; ".join(
        f"{inline(control.label)} {reading(control, state[control.name])}"
        for control in explainer.controls
    )
