"""The job desk: one box that came in, kept in a job file, from the first figure to the sheet.

No physics here. The file is plain text that a person reads and edits; what is typed is kept even if
it cannot be used yet or the kernel ends, and files that are dropped are put beside the job.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable
from pathlib import Path

import ipywidgets as widgets

from boxlab.base import progress, safe_write
from boxlab.base.drafts import Drafts
from boxlab.gear import job_file, job_measured, job_recordings, job_stops, job_words, open_job
from boxlab.gear.job import Job, read_job
from boxlab.gear.job_keys import NEAR, WHAT, JobError, parse
from boxlab.panel.first_questions import Questions
from boxlab.panel.panel_parts import STYLE, error_html
from boxlab.panel.settings_text import safe
from boxlab.panel.sweep_store import beside, plain

QUESTION = "Your own box: what came in, what it measures, what it does?"
NAME, TEXT = "job name", "job text"  # the boxes among the drafts
LIMIT = 30_000_000  # bytes of one file: a minute of stereo has about 11 million
EXTRA = {"added mass": "added_mass", "closed test box": "test_volume"}
RECORDING = "resistor"


class JobDesk:
    """Display it as the last line of a cell. `job` is the open job as last read, or None."""

    def __init__(self, sheet: Callable[[Job], str] | None = None):
        self.job: Job | None = None
        self.trouble = ""
        self._sheet = sheet
        self._drafts = Drafts(progress.home)
        self._make()
        found = open_job.path()
        if found is not None:
            self.name.value = str(found)
            self.open()

    # What a person does.

    def open(self, *_) -> None:
        """Open the job file that is named, and read it."""
        path = self._path()
        if path is None:
            return
        try:
            text = path.read_text(encoding="utf-8")
            open_job.set_path(path)
        except (OSError, UnicodeDecodeError) as error:
            self._fail("It was not opened.", f"{path}: {error}. To make one, press “new”.")
            return
        draft = self._drafts.get(TEXT)
        self.text.value = text if draft is None else draft
        kept = "" if draft in (None, text) else "What you typed and did not save yet is shown. "
        self._read(f"{kept}Open: {path}")

    def new(self, *_) -> None:
        """Make a commented job file under that name, and open it."""
        path = self._path()
        if path is None:
            return
        try:
            made = job_file.new_job(path)
        except JobError as error:
            self._fail("No file was made.", str(error))
            return
        self.name.value = str(made)
        self._drafts.put(TEXT, None)
        self.open()

    def save(self, *_) -> bool:
        """Put the text into the file if it can be read; it stays in its box in any case."""
        path = self._path()
        if path is None:
            return False
        text = self.text.value
        try:
            parse(tomllib.loads(text))
        except (tomllib.TOMLDecodeError, JobError) as error:
            self._fail("Not saved yet; what you typed is kept here.", str(error))
            return False
        try:
            with safe_write.lock(path.with_name(f".{path.name}.lock"), job_file.PATIENCE):
                safe_write.put(path, text.encode(), f".{path.name}.")
            open_job.set_path(path)
        except OSError as error:
            self._fail("It could not be written; what you typed is kept here.", str(error))
            return False
        self._drafts.put(TEXT, None)
        self._read(f"Saved: {path}")
        return True

    def add(self, name: str, data: bytes, what: str, extra: str = "") -> bool:
        """Put a measurement beside the job and list it there; `extra` is what goes with it."""
        path = self._path()
        if path is None or not self.save():
            return False
        if len(data) > LIMIT:
            self._fail(f"{name} was not taken.", f"It is larger than {LIMIT / 1e6:g} MB.")
            return False
        row = {"file": "", "what": what}
        recording = Path(name).suffix.lower() in job_recordings.RECORDINGS and what not in NEAR
        key = RECORDING if recording and what not in EXTRA else EXTRA.get(what)
        parts = [part.strip() for part in extra.split(",") if part.strip()]
        keys = [key] if key else []
        keys += [RECORDING] if recording and RECORDING not in keys else []
        if len(parts) < len(keys):
            wanted = " and ".join(each.replace("_", " ") for each in keys)
            self._fail(
                f"{name} was not taken yet.",
                f"Say its {wanted} beside it, with the unit and a comma between, then drop it "
                "again.",
            )
            return False
        row |= dict(zip(keys, parts, strict=False))
        try:
            row["file"] = beside(path, plain(name), bytes(data))
            job = read_job(path)
            rows = [*self._rows(job), row]
            job_file.change(path, {"measurement": rows})
        except (OSError, ValueError) as error:
            self._fail(f"{name} was not listed.", str(error))
            return False
        self.text.value = path.read_text(encoding="utf-8")
        self._drafts.put(TEXT, None)
        self._read(f"{row['file']} lies beside the job and is listed as “{what}”.")
        return True

    def answer(self, section: str, key: str, said: object) -> bool:
        """Put the answer to one of the first questions into the file; None takes it out."""
        path = self._path()
        if path is None or not self.save():
            self.questions.show(self.job)
            return False
        try:
            job_file.change(path, {section: {key: said}})
        except ValueError as error:
            self._fail("The answer was not put into the file.", str(error))
            self.questions.show(self.job)
            return False
        self.text.value = path.read_text(encoding="utf-8")
        left = job_measured.unanswered(read_job(path))
        self._read("Still to answer: " + left[0] if left else "Nothing is left to ask first.")
        return True

    def measure(self, *_) -> None:
        """Fit what the measurements tell and put it into the file, once all is said it hangs on."""
        path = self._path()
        if path is None or not self.save():
            return
        try:
            job = read_job(path)
            if left := job_measured.unanswered(job):
                self._fail("Nothing is fitted yet. Answer first:", " ".join(left))
                return
            found = job_measured.measure(job)
            if not found.faults and found.changes():
                job_file.change(path, found.changes())
                self.text.value = path.read_text(encoding="utf-8")
        except ValueError as error:
            self._fail("Nothing was fitted.", str(error))
            return
        self._read("\n".join(found.lines()) or "The measurements tell nothing yet.")

    def write_sheet(self, *_) -> None:
        """Write the hand-over sheet beside the job."""
        path = self._path()
        if path is None or self._sheet is None or not self.save():
            return
        target = path.with_name(path.name.removesuffix(job_file.ENDING) + ".html")
        try:
            if target.exists() and b"boxlab sheet" not in target.read_bytes()[:2000]:
                raise JobError(f"{target} is there already and is no sheet; it stays as it is.")
            self.message.value = "<p role='status'>Working it out; a few seconds.</p>"
            page = self._sheet(read_job(path))
            target.write_text(page, encoding="utf-8", newline="\n")
        except (OSError, ValueError) as error:
            self._fail("No sheet was written.", str(error))
            return
        self._read(f"The sheet is {target}: open it from the list of files on the left.")

    # How it works.

    def _path(self) -> Path | None:
        name = self.name.value.strip()
        if not name:
            self._fail("No job is named.", "Type a name for it, such as pickup, and press “new”.")
            return None
        path = Path(name).expanduser()
        if not path.name.endswith(job_file.ENDING):
            path = path.with_name(path.name + job_file.ENDING)
        return path

    def _rows(self, job: Job) -> list[dict[str, str]]:
        """The measurements as they stand in the file, as text."""
        document = tomllib.loads(job.path.read_text(encoding="utf-8")) if job.path else {}
        return [dict(row) for row in document.get("measurement", [])]

    def _read(self, words: str) -> None:
        """Show what the job says now, below these words."""
        path = self._path()
        self.trouble = ""
        try:
            self.job = read_job(path)
            lines = [*job_words.lines(self.job), *job_stops.lines(self.job)]
            self.questions.show(self.job)
        except ValueError as error:
            self._fail("The job cannot be read yet.", str(error))
            return
        rows = "".join(f"<p>{safe(line)}</p>" for line in words.split("\n"))
        self.message.value = f"<div class='boxlab-readout' role='status'>{rows}</div>"
        self.said.value = f"<pre style='white-space: pre-wrap'>{safe(chr(10).join(lines))}</pre>"

    def _fail(self, what: str, why: str) -> None:
        self.trouble = f"{what} {why}"
        self.message.value = error_html(what, why)

    def _uploaded(self, change) -> None:
        for file in change["new"]:
            self.add(file["name"], bytes(file["content"]), self.what.value, self.extra.value)

    def _button(self, words, act, help, main=False):
        made = widgets.Button(
            description=words, tooltip=help, layout={"width": "auto"},
            button_style="primary" if main else "",
        )  # fmt: skip
        made.on_click(act)
        return made

    def _make(self) -> None:
        self.name = widgets.Text(
            description="job", placeholder="pickup", value=self._drafts.get(NAME) or "",
            layout={"width": "30em", "max_width": "98%"}, style={"description_width": "auto"},
        )  # fmt: skip
        self.text = widgets.Textarea(
            description="the file", layout={"width": "98%", "height": "13em"},
            style={"description_width": "auto"}, value=self._drafts.get(TEXT) or "",
        )  # fmt: skip
        self.what = widgets.Dropdown(
            description="it is", options=WHAT, value="as found", layout={"width": "auto"},
            style={"description_width": "auto"},
        )  # fmt: skip
        self.extra = widgets.Text(
            description="with", placeholder="60 g, or 10 ohm for a recording",
            layout={"width": "24em", "max_width": "98%"}, style={"description_width": "auto"},
        )  # fmt: skip
        self.upload = widgets.FileUpload(
            description="drop a measurement", multiple=True, layout={"width": "auto"}
        )
        self.message, self.said = widgets.HTML(), widgets.HTML()
        self.questions = Questions(self.answer)
        wrap = {"flex_flow": "row wrap"}
        actions = [
            self._button("save and check", self.save, "Put the text into the file", main=True),
            self._button("measure", self.measure, "Fit what the measurements tell"),
        ]
        if self._sheet is not None:
            actions.append(
                self._button("hand-over sheet", self.write_sheet, "One page to print, beside it")
            )
        self.box = widgets.VBox(
            [
                widgets.HTML(STYLE + f"<p class='boxlab-q'>{safe(QUESTION)}</p>"),
                widgets.HBox(
                    [self.name, self._button("open", self.open, "Open that file"),
                     self._button("new", self.new, "Make a file of that name")], layout=wrap,
                ),
                self.questions.box,
                self.text, widgets.HBox(actions, layout=wrap),
                widgets.HBox([self.what, self.extra, self.upload], layout=wrap),
                self.message, self.said,  # in sight beside the buttons that they answer
            ]
        )  # fmt: skip
        self.box.add_class("boxlab")
        self.name.observe(lambda c: self._drafts.put(NAME, c["new"] or None), "value")
        self.text.observe(self._typed, "value")
        self.upload.observe(self._uploaded, "value")

    def _typed(self, change) -> None:
        """Keep what differs from the file until it is saved."""
        path = open_job.path()
        try:
            saved = path is not None and path.read_text(encoding="utf-8") == change["new"]
        except OSError:
            saved = False
        self._drafts.put(TEXT, None if saved else change["new"])

    def __repr__(self):
        return re.sub(r"\s+", " ", f"{QUESTION} Run this cell to open or make a job file.")

    def _repr_mimebundle_(self, include=None, exclude=None):
        return self.box._repr_mimebundle_() | {"text/plain": repr(self)}
