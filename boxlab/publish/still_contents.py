"""Opens a saved lesson so that it reads well before it is run again.

What a saved page holds of a live panel or question is the number of a widget and, beside it, a
picture or text. JupyterLab shows the widget if it can, and an error if the kernel that had it is
gone. This leaves the number out where no kernel runs for the page, so the picture is shown.
The file itself stays as it is. `boxlab/start.py lessons` starts JupyterLab with it.
"""

from __future__ import annotations

import contextlib

from jupyter_server.services.contents.largefilemanager import AsyncLargeFileManager

from boxlab.publish.notebooks import WIDGET_VIEW

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
