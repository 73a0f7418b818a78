"""One question as a web page of its own, in one file: its controls move, and nothing is loaded."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Callable
from functools import cache
from pathlib import Path

from boxlab.draw import figures
from boxlab.draw.scene import Explainer, Scene
from boxlab.draw.stage import script, table

_HERE = Path(__file__).parent
GENERATOR = "boxlab answer"
_START = "boxlabStage.mountAll();\n"
_PAGE_STYLE = """
body { margin: 0; padding: 12px 16px; background: #fff; color: #26262c; font: 15px/1.45 system-ui, sans-serif; }
footer { margin-top: 14px; font-size: 13px; color: #5d606b; max-width: 1180px; }
img { max-width: 100%; height: auto; background: #fff; }
@media (prefers-color-scheme: dark) { body { background: #15171b; color: #e8e9ed; } footer { color: #a9aeb8; } a { color: #86abff; } }
"""  # noqa: E501


@cache
def _template():
    import jinja2

    return jinja2.Environment(
        loader=jinja2.FileSystemLoader(_HERE), autoescape=True, undefined=jinja2.StrictUndefined,
        trim_blocks=True, lstrip_blocks=True,
    ).get_template("answer.html.j2")  # fmt: skip


def page(
    item: Explainer,
    note: str = "",
    say: Callable[[str], None] = lambda words: None,
    finest: float = 1.0,
) -> str:
    """The page of one explainer, as HTML.

    Parameters
    ----------
    item : Explainer
        With somebody's own gear in it, if it is about their box.
    note : whose it is and what else stands below, in words
    say : told of the progress
    finest : share of its states that are worked out, 1 or less

    Raises
    ------
    ValueError
        If its starting state cannot be built.
    """
    scene = item()
    code, style = script.script() + _START, script.style() + _PAGE_STYLE
    return _template().render(
        generator=GENERATOR,
        item=item,
        scene=scene,
        note=note,
        picture=still(scene),
        table=table.made(item, scene.gear, say, finest)["packed"],
        script=code,
        style=style,
        script_hash=_hash(code),
        style_hash=_hash(style),
    )


def still(scene: Scene) -> str:
    """The picture for a page where no script runs, as the address of an image."""
    png = figures.png(figures.draw(scene))
    return f"data:image/png;base64,{base64.b64encode(png).decode('ascii')}"


def _hash(text: str) -> str:
    """What a content security policy names an inline script or style by."""
    return f"sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode('ascii')}"
