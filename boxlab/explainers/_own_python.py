"""The Python of an answer about a job: it reads the job's file and takes its gear from there."""

from __future__ import annotations

import re
import textwrap

from boxlab.gear.job import Job


def code_of(code: str, job: Job) -> str:
    """Python that answers for the job's file as the panel does."""
    file = job.path.name if job.path else "FILE.job.toml"
    head = f"from boxlab import read_job\njob = read_job({file!r})\n"
    whole = r"(?m)^from boxlab\.gear\.scenario import "
    code = re.sub(rf"{whole}TEN_INCH_DRIVER as (\w+)$", r"\1 = job.driver", code)
    brought = re.search(rf"{whole}(.*)\n", code)
    code = re.sub(rf"{whole}.*\n", "", code)
    code = re.sub(r"(?<!\.)DRIVERS\['(?:own|ten-inch)'\]|TEN_INCH_DRIVER", "job.system", code)
    radiator = "job.radiator.with_mass(0)" if "radiator" in job.tables else "shelf.the_radiator()"
    code = re.sub(r"(?<!\.)RADIATORS\['own'\]|TEN_INCH_RADIATOR", radiator, code)
    if job.radiators > 1:
        alone = r"(RadiatorBox\.tuned\((?![^\n]*count=)[^\n]*?)(, ql=)"
        code = re.sub(alone, rf"\1, count={job.radiators}\2", code)
    names = brought[1].split(", ") if brought else ()
    if beside := [name for name in names if re.search(rf"\b{name}\b", code)]:
        head += f"from boxlab.gear.shelf import {', '.join(beside)}\n"
    if not re.search(r"boxlab\.explainers|shelf\.|'own'", code):
        return head + code
    inside = textwrap.indent(
        code, "    "
    )  # what is "own" there is the gear of the job that is open
    return f"{head}from boxlab.gear import shelf\nwith shelf.opened(job):\n{inside}"
