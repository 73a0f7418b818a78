"""The job desk: one box that came in, kept in a job file, from the first figure to the sheet.

No physics here. The file is plain text that a person reads and edits; what is typed is kept even if
it cannot be used yet or the kernel ends, and files that are dropped are put beside the job.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable
from pathlib import Path

from boxlab.base import progress
from boxlab.base.drafts import Drafts
from boxlab.base.plain_warnings import in_plain_words
from boxlab.gear import job_file, job_measured, job_stops, job_words, open_job
from boxlab.gear.job import Job, read_job
from boxlab.gear.job_keys import RISING, JobError
from boxlab.measure.fit.doubts import PLUS_MINUS
from boxlab.panel.job_controls import QUESTION, Controls
from boxlab.panel.measurement_row import as_read, other_weights, row_of
from boxlab.panel.sweep_store import beside, plain

NAME, TEXT, SINCE = "job name", "job text", "job file"  # among the drafts; the last: as opened
LIMIT = 30_000_000  # bytes of one file: a minute of stereo has about 11 million


def _mark(box: str, path: Path) -> str:
    """The name of a draft of this job, wherever the kernel runs."""
    return f"{box} {path.resolve()}"


class JobDesk:
    """Display it as the last line of a cell. `job` is the open job as last read, or None."""

    def __init__(self, sheet: Callable[..., str] | None = None):
        self.job: Job | None = None
        self.trouble = ""
        self._sheet = sheet
        self._drafts = Drafts(progress.home)
        self._since: tuple[Path, str] | None = None  # the file as it was when opened or saved
        acts = {
            "open": self.open,
            "new": self.new,
            "save and check": self.save,
            "measure": self.measure,
        } | ({"hand-over sheet": self.write_sheet} if sheet else {})
        self.controls = made = Controls(
            self._drafts.get(NAME) or "", self._drafts.get(TEXT) or "", self.answer, acts
        )  # fmt: skip
        self.name, self.text, self.what, self.extra = made.name, made.text, made.what, made.extra
        self.message, self.said, self.questions = made.message, made.said, made.questions
        self.box = made.box
        self.name.observe(lambda c: self._drafts.put(NAME, c["new"] or None), "value")
        self.text.observe(self._typed, "value")
        made.upload.observe(self._uploaded, "value")
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
        draft = self._drafts.get(_mark(TEXT, path))
        before = None if draft is None else self._drafts.get(_mark(SINCE, path))
        self._since = (path.resolve(), text if before is None else before)
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
        typed = self.text.value if self._since is None else ""
        self._drafts.put(_mark(TEXT, made), typed if typed.strip() else None)
        self._drafts.put(_mark(SINCE, made), None)
        self._drafts.put(TEXT, None)
        self.open()

    def save(self, *_) -> bool:
        """Put the text into the file if it can be read; it stays in its box in any case.

        What another program put into the file since it was opened here is kept. Where both changed
        a line, nothing is written the first time, and what stands here counts the second time.
        """
        path = self._path()
        if path is None:
            return False
        opened, before = self._since or (None, None)
        try:
            text = job_file.save(
                path, self.text.value, before if opened == path.resolve() else None
            )
            open_job.set_path(path)
        except job_file.ClashError as error:
            self._since = (path.resolve(), error.file)
            again = "Write what holds; save again, and what stands here counts."
            self._fail("Not saved yet; what you typed is kept here.", f"{error} {again}")
            return False
        except (OSError, JobError) as error:
            self._fail("Not saved yet; what you typed is kept here.", str(error))
            return False
        more = "" if text == self.text.value else " What was changed in the file meanwhile is kept."
        self._show(path, text)
        self._read(f"Saved: {path}.{more}")
        return True

    def add(self, name: str, data: bytes, what: str, extra: str = "") -> bool:
        """Put a measurement beside the job and list it there; `extra` is what goes with it."""
        path = self._path()
        if path is None or not self.save():
            return False
        if len(data) > LIMIT:
            self._fail(f"{name} was not taken.", f"It is larger than {LIMIT / 1e6:g} MB.")
            return False
        try:
            row: dict[str, object] = {"file": ""} | row_of(name, what, extra)
        except JobError as error:
            self._fail(f"{name} was not taken yet.", str(error))
            return False
        try:
            row["file"] = beside(path, plain(name), bytes(data))
            rows = self._rows(read_job(path))
            others = [r.get("file", "") for r in rows if r.get("what") == what and r != row]
            if row not in rows:
                job_file.change(path, {"measurement": [*rows, row]})
        except (OSError, ValueError) as error:
            self._fail(f"{name} was not listed.", str(error))
            return False
        self._show(path)
        job = read_job(path)
        usable, told = as_read(job, row["file"])
        words = f"{row['file']} lies beside the job and is listed as “{what}”."
        if others and what != RISING and usable:
            words += (
                f"\nSo is {' and '.join(others)}; the last one listed counts. If that is replaced, "
                "take its lines out of the file above; the table itself stays in the folder."
            )
            words += "\nIf the box was worked on in between, the later one is “after”." * (
                what == "as found"
            )
        self._read(words + told + other_weights(job) * usable)
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
        self._show(path)
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
            self.controls.busy("Reading and fitting; some seconds")
            with in_plain_words():  # what they say is said again of the file
                found = job_measured.measure(job)
            if not found.faults and found.changes():
                job_file.change(path, found.changes())
                self._show(path)
        except ValueError as error:
            self._fail("Nothing was fitted.", str(error))
            return
        told = [*found.lines(), *([PLUS_MINUS] if found.values else [])]
        self._read("\n".join(told) or "The measurements tell nothing yet.")

    def write_sheet(self, *_) -> None:
        """Write the hand-over sheet beside the job; what has its name already is kept."""
        path = self._path()
        if path is None or self._sheet is None or not self.save():
            return
        wanted = path.name.removesuffix(job_file.ENDING) + ".html"
        try:
            inch = self.controls.units.value == "inch"
            with in_plain_words():
                page = self._sheet(read_job(path), inch, say=self.controls.busy)
            name = beside(path, wanted, page.encode())
        except (OSError, ValueError) as error:
            self._fail("No sheet was written.", str(error))
            return
        kept = "" if name == wanted else f" {wanted} stays as it was."
        written = path.with_name(name)
        self._read(f"The sheet is {written}: open it from the list of files on the left.{kept}")

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
            with in_plain_words() as notes:
                lines = [*job_words.lines(self.job), *job_stops.lines(self.job)]
            self.questions.show(self.job)
        except ValueError as error:
            self._fail("The job cannot be read yet.", str(error))
            return
        self.controls.tell("\n".join([words, *(f"Careful: {note}" for note in notes)]), lines)

    def _show(self, path: Path, text: str | None = None) -> None:
        """Show the file as it stands, with nothing left that was not saved."""
        text = path.read_text(encoding="utf-8") if text is None else text
        self._since = (path.resolve(), text)
        self.text.value = text
        for box in (TEXT, SINCE):
            self._drafts.put(_mark(box, path), None)

    def _fail(self, what: str, why: str) -> None:
        self.trouble = f"{what} {why}"
        self.controls.fail(what, why)

    def _uploaded(self, change) -> None:
        troubles = []
        for file in change["new"]:
            if not self.add(
                file["name"], bytes(file["content"]), self.what.value, self.extra.value
            ):
                troubles.append(self.trouble)
        if troubles and len(change["new"]) > 1:  # what came after it took its place on screen
            self._fail("Not all were taken.", " ".join(troubles))
        self.controls.upload.value = ()  # or the same file could not be dropped again

    def _typed(self, change) -> None:
        """Keep what differs from the file until it is saved, and the file it was made from."""
        if self._since is None:
            self._drafts.put(TEXT, change["new"] or None)
            return
        path, before = self._since
        try:
            saved = path.read_text(encoding="utf-8") == change["new"]
        except OSError:
            saved = False
        self._drafts.put(_mark(TEXT, path), None if saved else change["new"])
        self._drafts.put(_mark(SINCE, path), None if saved else before)

    def __repr__(self):
        return re.sub(r"\s+", " ", f"{QUESTION} Run this cell to open or make a job file.")

    def _repr_mimebundle_(self, include=None, exclude=None):
        return self.box._repr_mimebundle_() | {"text/plain": repr(self)}
