"""One module per explainer. Each offers its `Explainer` objects in a tuple, `EXPLAINERS`.

Nothing is imported until somebody asks, and a new module needs no entry in a list here. What
several explainers share is in a module whose name starts with an underscore.
"""

from __future__ import annotations

import difflib
import importlib
import importlib.util
import pkgutil

from boxlab.draw.scene import Explainer


def all_explainers() -> tuple[Explainer, ...]:
    """Every explainer, in the order of the lessons they belong to.

    Raises
    ------
    ValueError
        If two explainers share a name: names are used in links and file names.
    """
    found: dict[str, Explainer] = {}
    for module in sorted(info.name for info in pkgutil.iter_modules(__path__)):
        for item in getattr(importlib.import_module(f"{__name__}.{module}"), "EXPLAINERS", ()):
            if item.name in found:
                raise ValueError(f"two explainers are called {item.name!r}; rename one of them")
            found[item.name] = item
    return tuple(sorted(found.values(), key=lambda item: item.lesson or "~"))


def explainer(name: str) -> Explainer:
    """The explainer called `name`; a dash will do for an underscore.

    Raises
    ------
    ValueError
        If there is none; the message offers the nearest names.
    """
    wanted = name.replace("-", "_")
    if wanted.isidentifier() and importlib.util.find_spec(f"{__name__}.{wanted}"):
        # most modules are called like their explainer: then no other has to load
        for item in getattr(importlib.import_module(f"{__name__}.{wanted}"), "EXPLAINERS", ()):
            if item.name == wanted:
                return item
    items = {item.name: item for item in all_explainers()}
    if wanted in items:
        return items[wanted]
    near = [each for each in items if wanted and wanted in each][:3]
    near = near or difflib.get_close_matches(wanted, items, n=1, cutoff=0.5)
    hint = f"did you mean {' or '.join(map(repr, near))}? " if near else ""
    raise ValueError(
        f"no picture is called {name[:60]!r}; {hint}`python -m boxlab questions` lists all "
        f"{len(items)}, and finds them by words"
    )
