"""Opens a saved lesson so that it reads well before it is run again.

What a saved page holds of a live panel or question is the number of a widget and, beside it, a
picture or text. JupyterLab shows the widget if it can, and an error if the kernel that had it is
gone. This leaves the number out where no kernel runs for the page, so the picture is shown.
The file itself stays as it is. `boxlab/start.py lessons` starts JupyterLab with it.

A lesson that is saved gets, out of sight, how far its learner came with its questions, so that
the notebook itself can be handed in: no name, and nothing that was typed.
"""

from __future__ import annotations

import contextlib

from jupyter_server.services.contents.largefilemanager import AsyncLargeFileManager

from boxlab import quiz
from boxlab.publish.notebooks import WIDGET_VIEW
from boxlab.quiz.handing_in import SHELF, content

STATE = "application/vnd.jupyter.widget-state+json"
INSTEAD = ("image/png", "text/html")


class Contents(AsyncLargeFileManager):
    """Files as JupyterLab's server gives them; a page without a kernel comes with still pictures.

    Another tab, or the same page loaded anew, finds the widgets alive as long as the kernel is.
    """

    async def get(self, path, *args, **kwargs):
        """The model of a file or folder, as the server asks for it."""
        model = await super().get(path, *args, **kwargs)
        if model["type"] == "notebook" and model["content"] and not await self._runs(path):
            with contextlib.suppress(AttributeError, KeyError, TypeError):  # whatever it then is
                rest(model["content"])
        return model

    async def save(self, model, path=""):
        """Save, with the record of this lesson's own questions."""
        if model.get("type") == "notebook":
            with contextlib.suppress(AttributeError, KeyError, TypeError):
                record(model["content"])
        return await super().save(model, path)

    async def _runs(self, path) -> bool:
        sessions = await self.parent.session_manager.list_sessions()
        return path.strip("/") in {session["path"].strip("/") for session in sessions}


def rest(notebook) -> None:
    """Take out of `notebook`, in place, views that can show nothing and have a picture or text."""
    saved = notebook.get("metadata", {}).get("widgets", {}).get(STATE, {}).get("state", {})
    for cell in notebook["cells"]:
        for output in cell.get("outputs", ()):
            data = output.get("data", {})
            model = data.get(WIDGET_VIEW, {}).get("model_id")
            if model not in saved and any(kind in data for kind in INSTEAD):
                data.pop(WIDGET_VIEW, None)


def record(notebook) -> None:
    """Put into `notebook`, in place, what is on record of the questions that it asks."""
    code = [cell["source"] for cell in notebook["cells"] if cell["cell_type"] == "code"]
    made = content(quiz.pupil, sources=["".join(source) for source in code])
    notebook["metadata"].pop(SHELF, None)
    if made["results"]:
        notebook["metadata"][SHELF] = made
