"""Pictures to link and paste: an explainer's answer as a file, and the collection in figures/.

A PNG carries its caption, for a forum or a slide. An SVG has none, for a page that sets its own.
"""

from __future__ import annotations

import base64
import difflib
import io
import re
from collections.abc import Iterable
from pathlib import Path

from boxlab.base import typed_values
from boxlab.base.safe_write import put
from boxlab.draw.scene import Choice, Explainer, Slider
from boxlab.explainers import all_explainers, explainer
from boxlab.panel import settings_text
from boxlab.panel.share_text import render
from boxlab.publish.notebooks import ROOT
from boxlab.publish.question_index import index, reach

FOLDER = ROOT / "figures"
NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
CLOUD = re.compile(r"data:image/png;base64,([^\"]*)")
FIGURES = {"1": "one", "2": "two", "4": "four", "8": "eight", "10": "ten", "12": "twelve"}


def settings(item: Explainer, pairs: Iterable[str]) -> dict:
    """Settings for `item` from texts like "volume=14", "volume=14,5 L" or "volume=0.6 ft3".

    An option may be shortened where that leaves no doubt: "twelve" or "12" for "twelve-inch".

    Raises
    ------
    ValueError
        If a text is not a setting of `item` and a value; the message says what would be.
    """
    controls = {control.name: control for control in item.controls}
    found = {}
    for pair in pairs:
        name, equals, value = (part.strip() for part in pair.partition("="))
        if not equals or not value:
            raise ValueError(f"--set {pair}: write it as SETTING=VALUE, for example volume=14")
        if name not in controls:
            near = [each for each in controls if name and each.startswith(name)]
            near = near or difflib.get_close_matches(name, controls, n=1)
            hint = f"did you mean {near[0]!r}? " if near else ""
            raise ValueError(
                f"{item.name} has no setting {name!r}; {hint}it has {', '.join(controls)}"
            )
        control = controls[name]
        found[name] = (
            _option(control, value) if isinstance(control, Choice) else _number(control, value)
        )
    return found


def _option(control: Choice, value: str) -> str:
    """The option that `value` is short for, or `value` as it is."""
    if value in control.options:
        return value
    word = re.sub(r"^\d+(?!\d)", lambda digits: FIGURES.get(digits[0], digits[0]), value.casefold())
    word = re.sub(r"(?<=[a-z])(?: ?in|\"| inch(?:es)?)$", "-inch", word)
    starts = (value.casefold(), word)
    near = [option for option in control.options if option.casefold().startswith(starts)]
    return near[0] if len(near) == 1 else value


def _number(control: Slider, value: str) -> float:
    """The number in the slider's own unit, from one that is typed with any unit of its kind."""
    try:
        number = settings_text.typed(control, value)
    except typed_values.UnreadableError as error:
        raise ValueError(
            f"{control.name} = {value!r}: expected a number, {reach(control)}. {error}"
        ) from None
    if control.low <= number <= control.high:
        return number
    raise ValueError(f"{control.name} = {value!r}: {control.label} goes from {reach(control)}")


def asked(text: str, fitted=lambda item: item) -> tuple[Explainer, dict]:
    """The explainer and settings of a name, or of a pasted settings line.

    `fitted` makes of the explainer the one that is meant, such as that of somebody's own gear.

    Raises
    ------
    ValueError
        If there is no such explainer, or the line does not fit it.
    """
    item = fitted(explainer(text.partition("(")[0].strip()))
    return item, settings_text.read_settings(item, text) if "(" in text else {}


def kind_of(path) -> str:
    """ "svg" or "png", from the end of a file name.

    Raises
    ------
    ValueError
        If it is neither.
    """
    kind = Path(path).suffix.lower().removeprefix(".")
    if kind not in ("svg", "png"):
        raise ValueError(f"{path}: give a file name that ends in .svg or .png")
    return kind


def write_all(folder=FOLDER, say=lambda words: None) -> list[Path]:
    """Draw every explainer's starting state into `folder` with the index page; returns the files.

    Pictures of explainers that are no more are removed, if the old index page lists them; nothing
    else is. `say` is told of each one begun.

    Raises
    ------
    ValueError
        If a file that the old index page does not list stands where a picture should go.
    """
    folder, items = Path(folder), all_explainers()
    recorded = _recorded(folder)
    files = {
        item.name: [folder / f"{item.name}.{kind}" for kind in ("svg", "png")] for item in items
    }
    for name in files.keys() - recorded:
        for path in files[name]:
            if path.exists():
                raise ValueError(
                    f"{path} is there, and README.md beside it does not list it as made here. "
                    "Move it, or bring the old README.md back, and run this again."
                )
    for name in recorded - files.keys():
        for kind in ("svg", "png"):
            (folder / f"{name}.{kind}").unlink(missing_ok=True)
    page = folder / "README.md"
    # The list comes before the pictures, so a run that is killed can be run again.
    put(page, index(items).encode(), "README.md.")
    page.chmod(0o644)
    for count, item in enumerate(items, 1):
        say(f"{count} of {len(items)}: {item.name}")
        scene, line = item(), settings_text.settings_line(item, item.start)
        for path in files[item.name]:
            path.write_bytes(render(scene, path.suffix[1:], line))
    return [*(path for pair in files.values() for path in pair), page]


def _recorded(folder: Path) -> set[str]:
    """The names of the pictures that the index page lists: those that were made here."""
    page = folder / "README.md"
    text = page.read_text(encoding="utf-8") if page.is_file() else ""
    return set(re.findall(r"Name: `([a-z0-9_]+)`", text))


def stale(folder=FOLDER, say=lambda words: None) -> list[str]:
    """What in `folder` is not what the code draws now, in plain words.

    Pictures are compared only where the same version of matplotlib drew them: another version
    may set a label differently, and then the words and numbers of the index page are the check.
    `say` is told of each one begun.
    """
    folder, items = Path(folder), all_explainers()
    page = folder / "README.md"
    if not page.is_file():
        return [f"{page.name} is missing"]
    faults = []
    (old, old_foot), (new, new_foot) = (
        text.rstrip().rsplit("\n", 1) for text in (page.read_text(encoding="utf-8"), index(items))
    )
    if old != new:
        faults.append(f"{page.name} differs")
    wanted = {f"{item.name}.{kind}" for item in items for kind in ("svg", "png")}
    present = {path.name for path in folder.iterdir()} - {page.name}
    faults += [f"{name} is missing" for name in sorted(wanted - present)]
    faults += [f"{name} belongs to no explainer" for name in sorted(present - wanted)]
    for count, item in enumerate(items if old_foot == new_foot else (), 1):
        say(f"{count} of {len(items)}: {item.name}")
        path = folder / f"{item.name}.svg"
        if path.is_file() and not same_drawing(
            path.read_text(encoding="utf-8"), render(item(), "svg").decode()
        ):
            faults.append(f"{path.name} differs")
    return faults


def same_drawing(one: str, other: str, tolerance: float = 0.05) -> bool:
    """Whether two SVG texts draw the same, coordinates within `tolerance` points.

    Machines differ in the last digits of a coordinate, and matplotlib's ids are made from those.
    A cloud of dots is a small picture inside: all but a few of its pixels have to agree.
    """
    clouds = [[_pixels(data) for data in CLOUD.findall(text)] for text in (one, other)]
    one, other = (CLOUD.sub("", text) for text in (one, other))
    if [cloud.shape for cloud in clouds[0]] != [cloud.shape for cloud in clouds[1]]:
        return False
    if any((abs(a - b) > 40).mean() > 1e-3 for a, b in zip(*clouds, strict=True)):
        return False
    ours, theirs = (re.sub(r"\b([pmhC])[0-9a-f]{10}\b", r"\1", text) for text in (one, other))
    if NUMBER.sub("", ours) != NUMBER.sub("", theirs):
        return False
    pairs = zip(NUMBER.findall(ours), NUMBER.findall(theirs), strict=True)
    return all(abs(float(a) - float(b)) <= tolerance for a, b in pairs)


def _pixels(data: str):
    import numpy as np
    from PIL import Image

    return np.asarray(Image.open(io.BytesIO(base64.b64decode(data))), dtype=int)
