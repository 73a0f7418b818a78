"""The stage's script and style as text, for whatever page shows it."""

from __future__ import annotations

from functools import cache
from pathlib import Path

_HERE = Path(__file__).parent
PARTS = ("data", "plot", "cutaway", "hands", "stage")


@cache
def script() -> str:
    """The whole renderer, which leaves one name behind: `boxlabStage`."""
    parts = [(_HERE / f"{name}.js").read_text(encoding="utf-8") for name in PARTS]
    names = "{ Stage, unpack, give, mountAll, nearest, ticks, Units, coordinates, shareOf }"
    body = "\n".join(['"use strict";', *parts, f"return {names};"])
    return f"const boxlabStage = (() => {{\n{body}\n}})();\n"


@cache
def style() -> str:
    """Its style sheet."""
    return (_HERE / "stage.css").read_text(encoding="utf-8")
