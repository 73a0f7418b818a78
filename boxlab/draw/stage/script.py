"""The stage's script and style as text, for whatever page shows it."""

from __future__ import annotations

from functools import cache
from pathlib import Path

_HERE = Path(__file__).parent
PARTS = ("data", "plot", "cutaway", "hands", "stage")


@cache
def script() -> str:
    """The whole renderer, which leaves one name behind: `boxlabStage`."""
    parts = [_read(f"{name}.js") for name in PARTS]
    names = "{ Stage, unpack, give, mountAll, nearest, ticks, Units, coordinates, shareOf }"
    body = "\n".join(['"use strict";', *parts, f"return {names};"])
    return f"const boxlabStage = (() => {{\n{body}\n}})();\n"


@cache
def module() -> str:
    """The renderer with a kernel behind it, as a module that shows a widget in a notebook."""
    parts = [_read(f"{name}.js") for name in (*PARTS, "live")]
    return "\n".join([*parts, "export default { render };\n"])


@cache
def style() -> str:
    """Its style sheet."""
    return _read("stage.css")


def _read(name: str) -> str:
    return (_HERE / name).read_text(encoding="utf-8")
