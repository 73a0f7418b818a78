"""A page for each question whose picture moves with no kernel, and the tables that move it."""

from __future__ import annotations

import json
import os
import re
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from contextlib import nullcontext
from functools import partial
from html import escape
from pathlib import PurePosixPath

from boxlab.draw.scene import Explainer, Scene
from boxlab.draw.stage import script, table
from boxlab.panel import settings_text

FOLDER = PurePosixPath("q")
STAGE, STAGE_STYLE = PurePosixPath("stage.js"), PurePosixPath("stage.css")
_MADE = re.compile(r"\bPanel\(\s*explainer\(")  # a cell of a lesson that shows a panel


def page_of(item: Explainer) -> PurePosixPath:
    """The site's page of one question.

    >>> from boxlab.explainers import explainer
    >>> str(page_of(explainer("recoil")))
    'q/recoil.html'
    """
    return FOLDER / f"{item.name}.html"


def files_of_the_stage() -> dict[PurePosixPath, str]:
    """The renderer and its style, which all pages share."""
    code = script.script() + "window.boxlabStage = boxlabStage;\nboxlabStage.mountAll();\n"
    return {STAGE: code, STAGE_STYLE: script.style()}


def tables(
    items: Sequence[Explainer], say, finest: float = 1.0
) -> Iterator[tuple[PurePosixPath, str]]:
    """The table of each question, as a script that hands it to the stage.

    A page that is opened from a folder may load scripts and nothing else. For `finest` see
    `boxlab.draw.stage.table.made`.
    """
    from boxlab.explainers import all_explainers

    known = {item.name for item in all_explainers() if item in items}
    ours = [item.name for item in items if item.name in known]
    workers = min(os.cpu_count() or 1, len(ours))
    with ProcessPoolExecutor(workers) if workers > 1 else nullcontext() as pool:
        one = partial(_table, finest=finest)
        made = pool.map(one, ours) if pool else map(one, ours)
        for count, item in enumerate(items, 1):
            text = next(made) if item.name in known else _packed(item, finest)
            say(f"worked out {item.name}, {len(text) // 1024} KB ({count} of {len(items)})")
            script_text = f"boxlabStage.give({json.dumps(item.name)}, '{text}');\n"
            yield FOLDER / f"{item.name}.js", script_text


def _table(name: str, finest: float) -> str:
    """The packed table of one explainer; runs in a process of its own."""
    from boxlab.explainers import explainer

    return _packed(explainer(name), finest)


def _packed(item: Explainer, finest: float) -> str:
    return table.made(item, item().gear, finest=finest)["packed"]


def place(name: str, source: str, still: str, top: str = "..", address: bool = False) -> str:
    """HTML of a place where a question moves; `still` is what stands there without a script.

    `source` is the settings to begin with, as the part of an address behind the #.
    """
    kind = "address" if address else "page"
    begins = f' data-begin="{escape(source)}"' if source else ""
    return (
        f'<div data-stage="{kind}" data-name="{escape(name)}" '
        f'data-table="{top}/{FOLDER}/{escape(name)}.js"{begins}>{still}</div>'
    )


def panel_in(source: str) -> tuple[str, str] | None:
    """The question that a lesson's cell shows in a panel, and the settings it begins with.

    >>> panel_in('panel = Panel(explainer("recoil"), fb=28.0, size="ten-inch")\\npanel')
    ('recoil', 'fb=28.0&size=ten-inch')
    """
    import ast
    from urllib.parse import quote

    if not _MADE.search(source):
        return None
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "Panel" and node.args:
            inner = node.args[0]
            if isinstance(inner, ast.Call) and getattr(inner.func, "id", "") == "explainer":
                given = "&".join(
                    f"{each.arg}={quote(str(ast.literal_eval(each.value)))}"
                    for each in node.keywords
                )
                return ast.literal_eval(inner.args[0]), given
    return None


def question_page(item: Explainer, scene: Scene, lesson: str, title: str) -> str:
    """The body of a question's page."""
    safe = settings_text.safe
    still = (
        f"<h1>{safe(item.question)}</h1><p><strong>{safe(scene.message)}</strong></p>"
        f'<figure class="drawn wide"><div class="scroll"><img src="../figures/{item.name}.png" '
        f'alt="{safe(scene.alt)}"></div><figcaption>{safe(scene.caption)}</figcaption></figure>'
        + "".join(f"<p>{safe(words)}</p>" for words in scene.readout)
        + "".join(f"<p>Caution: {safe(words)}</p>" for words in scene.cautions)
    )
    answer = f"<p><strong>{safe(item.answer)}</strong></p>" if item.answer else ""
    more = f'<p>Why: <a href="{lesson}">{safe(title)}</a>.</p>' if lesson else ""
    own = (
        "<p>For a box of your own: "
        f"<code>python -m boxlab answer {safe(item.name)} --job FILE --to answer.html</code> "
        "makes this page from your job file.</p>"
        if item.gear
        else ""
    )
    return f"{place(item.name, '', still, address=True)}{answer}{more}{own}"
