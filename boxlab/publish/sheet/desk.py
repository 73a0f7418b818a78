"""The job desk with the hand-over sheet at its end."""

from __future__ import annotations

from boxlab.panel.job_desk import JobDesk
from boxlab.publish.sheet import page


def job_desk() -> JobDesk:
    """The job desk; display it as the last line of a cell."""
    return JobDesk(page)
