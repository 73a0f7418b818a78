"""A lesson's panel on the reader's own box, and one line of what it means for that box."""

from __future__ import annotations

import ipywidgets as widgets

from boxlab.explainers import explainer
from boxlab.explainers._own import with_job
from boxlab.gear import open_job
from boxlab.panel.live_panel import Panel
from boxlab.panel.settings_text import safe

NONE = (
    "No job is open, so there is no box of your own to show. Open or make one on the first page, "
    "under “Your own box”, and run this cell again."
)


class Note:
    """A sentence in place of a panel."""

    def __init__(self, words: str):
        self.words = words

    def __repr__(self):
        return self.words

    def _repr_markdown_(self):
        return f"*{self.words}*"


def own_box(name: str) -> Note | widgets.VBox:
    """The question `name` about the open job: a live panel, or a sentence where that cannot be.

    Example
    -------
    `own_box("port_or_radiator")` as the last line of a cell.
    """
    try:
        job = open_job.opened_job()
        if job is None:
            return Note(NONE)
        item = with_job(explainer(name), job)
        panel = Panel(item)
        if panel.scene is None:
            return Note(f"The open job does not say enough for this: {panel.refused}")
    except ValueError as error:
        return Note(f"The open job does not say enough for this: {error}")
    told = widgets.HTML(
        f"<p><strong>For {safe(job.name)}:</strong> {safe(panel.scene.readout[0])}</p>"
    )
    return widgets.VBox([told, panel.view])
