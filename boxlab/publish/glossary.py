"""The glossary: each term in plain words, its units in both systems, its value on the demo gear.

The values are worked out by the library when the page is made, and the names in it are looked up,
so that the page cannot say what the library does not.
"""

from __future__ import annotations

from pathlib import Path

from boxlab.publish.glossary_entry import FB, Term, gear, text
from boxlab.publish.notebooks import LESSONS
from boxlab.publish.terms import TERMS

__all__ = ["FB", "TERMS", "Term", "gear", "page", "write"]

PAGE = LESSONS / "glossary.md"
COMMAND = "python -m boxlab glossary"


def page() -> str:
    """The glossary as Markdown."""
    driver, box, _ = gear()
    parts = [
        "# Glossary",
        f"Made by `{COMMAND}`; please do not edit it by hand. The last column is worked out for "
        f"the {driver.name}, in a box of {text(box.volume, 'L')} ({text(box.volume, 'ft³')}) "
        f"with one {box.radiator.name}, tuned to {FB:g} Hz. To link to a term, add its mark to "
        "this page's address, such as [#vas](#vas). Formulas: [formula sheet](formulas.md).",
    ]
    for heading, terms in TERMS.items():
        rows = [
            f'| <a id="{term.anchor}"></a>**{term.name}** | {term.meaning} | {_units(term)} | '
            f"{term.example} |"
            for term in terms
        ]
        head = "| Term | What it is | Units | Here |\n|---|---|---|---|"
        parts += [f"## {heading}", "\n".join([head, *rows])]
    return "\n\n".join(parts) + "\n"


def _units(term: Term) -> str:
    return ", ".join(unit for unit in (term.unit, term.inch) if unit)


def write(path: Path = PAGE) -> Path:
    """Write the glossary; returns its path."""
    path.write_text(page(), encoding="utf-8", newline="\n")
    return path
