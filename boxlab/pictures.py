"""Pictures to link and paste: an explainer's answer as a file, and the collection in figures/.

A PNG carries its caption, for a forum or a slide. An SVG has none, for a page that sets its own.
"""

from __future__ import annotations

import base64
import io
import re
from collections.abc import Iterable
from pathlib import Path

from boxlab import share
from boxlab.notebooks import ROOT
from boxlab.posting import render
from boxlab.scene import Choice, Explainer, Scene
from boxlab.scenes import all_explainers, explainer

FOLDER = ROOT / "figures"
NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
CLOUD = re.compile(r"data:image/png;base64,([^\"]*)")
HEAD = """\
# Pictures

One picture for each question: link to a heading here, or paste the picture. Each was computed by
the model in `boxlab/` from invented demo gear, and shows the starting state of a panel in the
lessons. Made by `python -m boxlab pictures --write`; please do not edit this page by hand.

To draw one with your own numbers: `python -m boxlab picture NAME --set volume=14 --to mine.png`
(`python -m boxlab questions` lists names and settings). Use them freely under
[CC BY 4.0](https://creativecommons.org/licenses/by/4.0/): credit "boxlab, the boxlab authors".
"""


def settings(item: Explainer, pairs: Iterable[str]) -> dict:
    """Settings for `item` from texts like "volume=14", "volume=14 L" or "volume=14,5".

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
            raise ValueError(f"{item.name} has no setting {name!r}; it has {', '.join(controls)}")
        control = controls[name]
        if isinstance(control, Choice):
            found[name] = value
            continue
        number = value.removesuffix(control.unit).strip().replace(",", ".")
        try:
            found[name] = float(number)
        except ValueError:
            reach = f"a number from {control.low:g} to {control.high:g} {control.unit}".strip()
            raise ValueError(f"{name} = {value!r}: expected {reach}") from None
    return found


def asked(text: str) -> tuple[Explainer, dict]:
    """The explainer and settings of a name, or of a pasted settings line.

    Raises
    ------
    ValueError
        If there is no such explainer, or the line does not fit it.
    """
    item = explainer(text.partition("(")[0].strip())
    return item, share.read_settings(item, text) if "(" in text else {}


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


def words(item: Explainer, scene: Scene) -> list[str]:
    """The same answer in lines of text: readout, warnings, numbers, caption, alt text, code."""
    rows = [(row.name, row.metric, row.imperial) for row in scene.numbers]
    wide = [max((len(row[column]) for row in rows), default=0) for column in range(2)]
    numbers = [f"  {n:{wide[0]}}  {m:{wide[1]}}  {i}".rstrip() for n, m, i in rows]
    warnings = [f"Careful: {text}" for text in scene.warnings]
    parts = [
        [item.question, *scene.readout, *warnings],
        numbers,
        [f"Caption: {scene.caption}"],
        [f"In words: {scene.alt}"],
        ["In Python:", *scene.code.splitlines()],
    ]
    return [line for part in parts if part for line in [*part, ""]][:-1]


def entry(item: Explainer) -> str:
    """The part of the index page for one explainer."""
    scene = item()
    lesson = f"../lessons/{item.lesson}" + (f"#{item.anchor}" if item.anchor else "")
    files = f"[SVG]({item.name}.svg), [PNG with caption]({item.name}.png)"
    lines = [
        f"## {item.question}",
        f"![{scene.alt}]({item.name}.svg)",
        f"**{item.answer}**" if item.answer else "",
        scene.caption,
        "\n".join(f"- {text}" for text in scene.readout),
        f"In words: {scene.alt}",
        f"Lesson: [{Path(item.lesson).stem}]({lesson}). " if item.lesson else "",
        f"Files: {files}. Name: `{item.name}`.",
    ]
    return "\n\n".join(line for line in lines if line)


def index(items) -> str:
    """The index page, figures/README.md."""
    import matplotlib

    foot = f"Drawn with matplotlib {matplotlib.__version__}."
    return "\n\n".join([HEAD.strip(), *(entry(item) for item in items), foot]) + "\n"


def write_all(folder=FOLDER, say=lambda words: None) -> list[Path]:
    """Draw every explainer's starting state into `folder` with the index page; returns the files.

    Pictures of explainers that are no more are removed. `say` is told of each one begun.
    """
    folder, items = Path(folder), all_explainers()
    wanted = {f"{item.name}.{kind}" for item in items for kind in ("svg", "png")}
    for old in [*folder.glob("*.svg"), *folder.glob("*.png")]:
        if old.name not in wanted:
            old.unlink()
    files = []
    for count, item in enumerate(items, 1):
        say(f"{count} of {len(items)}: {item.name}")
        scene, line = item(), share.settings_line(item, item.start)
        for kind in ("svg", "png"):
            files.append(folder / f"{item.name}.{kind}")
            files[-1].write_bytes(render(scene, kind, line))
    files.append(folder / "README.md")
    files[-1].write_text(index(items), encoding="utf-8", newline="\n")
    return files


def stale(folder=FOLDER) -> list[str]:
    """What in `folder` is not what the code draws now, in plain words.

    Pictures are compared only where the same version of matplotlib drew them: another version
    may set a label differently, and then the words and numbers of the index page are the check.
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
    for item in items if old_foot == new_foot else ():
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
