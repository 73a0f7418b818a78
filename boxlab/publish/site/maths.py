"""Formulas as drawings inside a page: no script, no font and nothing from outside.

matplotlib sets the formula, and its outlines become SVG in the colour of the text around it. Not
every phone has a font with which a browser could set MathML well, so that is not relied on.
"""

from __future__ import annotations

import re
from functools import cache
from html import escape

from boxlab.publish.site.spoken import spoken

EM = 100  # units of the drawing for one em
# What TeX and JupyterLab's MathJax know and matplotlib calls otherwise.
SAME = ((r"\tfrac", r"\frac"), (r"\lvert", "|"), (r"\rvert", "|"), (r"\le ", r"\leq "))


class Unset(ValueError):
    """A formula that cannot be drawn."""


def drawn(tex: str, display: bool = False) -> str:
    """The formula as inline SVG that names itself in words.

    Raises
    ------
    Unset
        If matplotlib does not know something in it.
    """
    tex = " ".join(tex.split())
    path, left, bottom, width, height = _outline(tex, display)
    kind = "formula display" if display else "formula"
    depth = -bottom / EM
    return (
        f'<svg class="{kind}" role="img" aria-label="{escape(spoken(tex))}" '
        f'data-tex="{escape(tex)}" viewBox="{left} {-bottom - height} {width} {height}" '
        f'style="width:{width / EM:.2f}em;height:{height / EM:.2f}em;'
        f'vertical-align:{-depth:.2f}em"><path d="{path}"/></svg>'
    )


@cache
def _outline(tex: str, display: bool):
    """(path, left, bottom, width, height) in hundredths of an em, y upward from the baseline."""
    from matplotlib import rc_context
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import TextPath

    known = tex.replace(r"\frac", r"\dfrac") if display else tex
    for ours, theirs in SAME:
        known = known.replace(ours, theirs)
    known = re.sub(r"=\s*(?=[fj])", r"=\\;", known)  # their hooks reach back over the space
    try:
        with rc_context({"mathtext.fontset": "stix"}):
            path = TextPath((0, 0), f"${known}$", size=EM, prop=FontProperties("STIXGeneral"))
    except ValueError as error:
        reason = str(error).strip().splitlines()[-1]
        raise Unset(f"the formula {tex} cannot be drawn: {reason}") from error
    box = path.get_extents()
    left, bottom = int(box.x0) - 3, int(box.y0) - 4
    width, height = int(box.x1) + 4 - left, int(box.y1) + 4 - bottom
    steps = []
    for points, code in path.iter_segments(curves=True, simplify=False):
        letter = {1: "M", 2: "L", 3: "Q", 4: "C", 79: "Z"}[int(code)]
        flat = points if letter != "Z" else ()
        numbers = " ".join(f"{(-v if i % 2 else v):.0f}" for i, v in enumerate(flat))
        steps.append(letter + numbers)
    return re.sub(r"-0\b", "0", "".join(steps)), left, bottom, width, height
