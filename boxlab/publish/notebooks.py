"""Run lessons from top to bottom and keep their outputs in a form that git and nbval can compare.

Only what the lesson says is kept: no widget state, no timings, no versions of the machine it ran
on. So running a lesson twice changes nothing in the file.
"""

from __future__ import annotations

import re
from pathlib import Path

from boxlab.base.safe_write import put
from boxlab.quiz.handing_in import SHELF

ROOT = Path(__file__).resolve().parents[2]
LESSONS = ROOT / "lessons"
WIDGET_VIEW = "application/vnd.jupyter.widget-view+json"
KERNEL = {"display_name": "Python 3", "language": "python", "name": "python3"}
# What JupyterLab and the kernel add to a cell's metadata as it runs or is looked at.
PASSING = ("execution", "ExecuteTime", "collapsed", "scrolled", "trusted")

# Code is folded away, a click opens it; a cell that bears this tag stays open.
OPEN = "open"


def find(names=()) -> list[Path]:
    """The lesson files called `names` (a path, a file name or its start), or all of them.

    Raises
    ------
    ValueError
        If a name fits no lesson.
    """
    every = sorted(
        path for path in LESSONS.rglob("*.ipynb") if ".ipynb_checkpoints" not in path.parts
    )
    if not names:
        return every
    chosen = []
    for name in names:
        fits = [path for path in every if path.name.startswith(Path(name).name)]
        if not fits:
            known = ", ".join(path.stem for path in every) or "none yet"
            raise ValueError(f"no lesson is called {name!r}; there are: {known}")
        chosen += [path for path in fits if path not in chosen]
    return chosen


def read(path):
    """The notebook in the file `path`, as nbformat holds it."""
    import nbformat

    return nbformat.read(path, as_version=4)


def write(notebook, path) -> None:
    """Put `notebook` in the file `path` in one step, so that a crash cannot leave half of it."""
    import nbformat

    path = Path(path)
    put(path, (nbformat.writes(notebook).rstrip("\n") + "\n").encode(), f".{path.name}.")
    path.chmod(0o644)  # a file is private at first


def run(notebook, folder, timeout=60) -> None:
    """Run every cell of `notebook` in a fresh kernel in `folder`, filling in its outputs.

    Raises
    ------
    RuntimeError
        If a cell fails, or takes longer than `timeout` seconds; the message shows the cell.
    """
    from nbclient import NotebookClient
    from nbclient.exceptions import CellExecutionError, CellTimeoutError, DeadKernelError

    client = NotebookClient(
        notebook,
        timeout=timeout,
        kernel_name=KERNEL["name"],
        resources={"metadata": {"path": str(folder)}},
        record_timing=False,
        store_widget_state=False,
        extra_arguments=["--IPKernelApp.log_level=ERROR"],
    )
    try:
        client.execute()
    except (CellExecutionError, CellTimeoutError, DeadKernelError) as error:
        raise RuntimeError(str(error)) from error


def tidy(notebook) -> None:
    """Take out of `notebook`, in place, whatever is not the lesson itself."""
    notebook.metadata.pop("widgets", None)
    notebook.metadata.pop(SHELF, None)  # nobody's record
    notebook.metadata["kernelspec"] = dict(KERNEL)
    notebook.metadata["language_info"] = {"name": "python"}
    count, waiting = 0, set()
    for cell in notebook.cells:
        for key in PASSING:
            cell.metadata.pop(key, None)
        if cell.cell_type != "code":
            continue
        if OPEN not in cell.metadata.get("tags", ()):
            cell.metadata.setdefault("jupyter", {})["source_hidden"] = True
        _kept_back(cell, waiting)
        cell.execution_count = None
        if cell.source.strip():
            count += 1
            cell.execution_count = count
        cell.outputs = _tidy_outputs(cell.outputs, cell.execution_count)


_ASKED = re.compile(r'quiz\.(predict|compare)\(\s*"([^"]+)"')


def _kept_back(cell, waiting) -> None:
    """Fold away the saved output of what answers a prediction that is not compared yet.

    `waiting` holds the keys asked so far. Running the cell shows its output, in JupyterLab; a web
    page and a reader without scripts see it as before.
    """
    asked = _ASKED.findall(cell.source)
    waiting -= {key for what, key in asked if what == "compare"}
    hides = waiting and not asked and cell.outputs
    if hides:
        cell.metadata.setdefault("jupyter", {})["outputs_hidden"] = True
    elif "jupyter" in cell.metadata:
        cell.metadata["jupyter"].pop("outputs_hidden", None)
    waiting |= {key for what, key in asked if what == "predict"}


def _tidy_outputs(outputs, count):
    """The outputs without widget views; neighbouring pieces of one stream joined."""
    kept = []
    for output in outputs:
        if "data" in output:
            output.data.pop(WIDGET_VIEW, None)
            if not output.data:
                continue
        if output.output_type == "execute_result":
            output.execution_count = count
        last = kept[-1] if kept else None
        if output.output_type == "stream" and last and last.get("name") == output.name:
            last.text += output.text
            continue
        kept.append(output)
    return kept


def refresh(path, timeout=60) -> bool:
    """Run the lesson in the file `path` and save it. Returns whether the file changed.

    A lesson that fails is left as it was.
    """
    path = Path(path)
    before = path.read_text(encoding="utf-8")
    notebook = read(path)
    run(notebook, path.parent, timeout)
    tidy(notebook)
    write(notebook, path)
    return path.read_text(encoding="utf-8") != before
