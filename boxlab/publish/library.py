"""The page of public names: what `from boxlab import ...` gives, from the docstrings themselves."""

from __future__ import annotations

import inspect
import re
from pathlib import Path

import boxlab
from boxlab.publish.notebooks import LESSONS

PAGE = LESSONS / "library.md"
COMMAND = "python -m boxlab library"
_FLOORS = {  # floor -> what it is called here
    "model": "Drivers, boxes and what they do",
    "measure": "What a sweep or a recording tells",
    "design": "Questions of design",
    "car": "In the car",
    "sound": "What is heard",
    "gear": "Your own box",
    "explainers": "Questions with a picture",
    "panel": "In a notebook",
    "publish": "Pages to hand over",
    "base": "Units, and a warning",
}
_SECTION = re.compile(r"^(Parameters|Attributes|Returns|Raises|Warns|Examples)\n-{4,}\n", re.M)


def page() -> str:
    """The page as Markdown."""
    parts = [
        "# What the library gives",
        f"Made by `{COMMAND}`; please do not edit it by hand. All of it comes from `boxlab` "
        "itself: `from boxlab import solve`. Values are in SI: the helpers in the last part turn "
        "litres, inches or ounces into it and back. `help(solve)` says more of each: parameters "
        "with units, shapes, what is refused.",
    ]
    rooms = dict(boxlab.public_names())
    for floor, heading in _FLOORS.items():
        names = [name for name, room in rooms.items() if room.split(".")[0] == floor]
        parts.append(f"## {heading}")
        if floor == "base":
            parts.append("\n".join(f"- {_head(name)}: {said(name)[0]}" for name in names))
            continue
        for name in names:
            words, example = said(name)
            parts += [f"### {name}", _head(name), words]
            if example:
                parts.append(f"```python\n{example}\n```")
    return "\n\n".join(parts) + "\n"


def said(name: str) -> tuple[str, str]:
    """What a docstring says before its first section, without its example, and the example."""
    text = inspect.getdoc(getattr(boxlab, name))
    before = text[: found.start()] if (found := _SECTION.search(text)) else text
    blocks = [block.strip() for block in text.split("\n\n")]
    example = "\n".join(block for block in blocks if block.startswith(">>>"))
    words = [b for b in before.strip().split("\n\n") if not b.startswith(">>>")]
    return "\n\n".join(_marked(block) for block in words), example


def _marked(block):
    """A formula gets a line of its own; stars in one are no marks."""
    if block.startswith("Formula: "):
        return f"`{block}`"
    return block.replace("*", r"\*")


def _head(name):
    """The name with its parameters, and those defaults that are one plain value."""
    thing = getattr(boxlab, name)
    if not (inspect.isfunction(thing) or inspect.isclass(thing)) or _is_error(thing):
        return f"`{name}`"
    shown = []
    for each in inspect.signature(thing).parameters.values():
        if each.name.startswith("_"):
            continue
        star = {each.VAR_POSITIONAL: "*", each.VAR_KEYWORD: "**"}.get(each.kind, "")
        plain = isinstance(each.default, int | float | str | None)
        value = f"{each.default!r}" if plain else "…"
        shown.append(star + each.name + ("" if each.default is each.empty else f"={value}"))
    return f"`{name}({', '.join(shown)})`"


def _is_error(thing):
    return inspect.isclass(thing) and issubclass(thing, Exception)


def write(path: Path = PAGE) -> Path:
    """Write the page; returns its path."""
    path.write_text(page(), encoding="utf-8", newline="\n")
    return path
