"""The verbs of `python -m boxlab` for a box of one's own: the job file and the hand-over sheet."""

from __future__ import annotations

import sys
from pathlib import Path

from boxlab.base.safe_write import put


def job(options) -> int:
    """The verb `job`."""
    from boxlab.gear import job_file, job_measured, job_words, open_job
    from boxlab.gear.job import read_job
    from boxlab.gear.job_keys import JobError
    from boxlab.measure.fit.doubts import PLUS_MINUS

    if options.do == "new":
        path = job_file.new_job(options.file)
        print(f"wrote {path}: delete the # before the lines you know, then")
        print(f"  python -m boxlab job check {path}")
        return 0
    try:
        found = read_job(options.file)
    except JobError as error:
        print(f"boxlab: {error}", file=sys.stderr)
        return 1
    if options.do == "open":
        open_job.set_path(Path(options.file))
        print(f"{options.file} is open: the lessons end with questions about it")
        return 0
    if options.do == "check":
        print("\n".join(job_words.lines(found)))
        return 1 if found.problems or found.too_low else 0
    measured = job_measured.measure(found)
    print("\n".join(measured.lines()))
    if measured.values:
        print(PLUS_MINUS)
    if options.write and not measured.faults and measured.changes():
        job_file.change(options.file, measured.changes())
        print(f"wrote {options.file}: what was measured stands under [measured]")
    if measured.unread:
        rest = "the rest was measured" if measured.values else "nothing else tells anything"
        n = len(measured.unread)
        print(
            f"boxlab: {n} measurement{'s' * (n > 1)} left out, see above; {rest}", file=sys.stderr
        )
    return 1 if measured.faults or measured.unread or not measured.values else 0


def sheet(options) -> int:
    """The verb `sheet`."""
    from boxlab.gear.job import read_job
    from boxlab.gear.job_keys import JobError
    from boxlab.publish.sheet import page

    target = Path(options.to)
    if target.suffix.lower() not in (".html", ".htm"):
        raise ValueError(f"--to {options.to}: the sheet is a web page; give a name with .html")
    if target.exists() and b"boxlab sheet" not in target.read_bytes()[:2000]:
        raise ValueError(f"{target} is there already and is no sheet of ours; it stays as it is")
    try:
        text = page(
            read_job(options.file), options.inch,
            say=lambda words: print(f"  {words}", file=sys.stderr, flush=True),
        )  # fmt: skip
    except JobError as error:
        print(f"boxlab: {error}", file=sys.stderr)
        return 1
    put(target, text.encode(), ".boxlab-sheet.")
    print(f"wrote {target}: open it in a browser and print it from there, to paper or as PDF")
    return 0


def answer(options) -> int:
    """The verb `answer`."""
    from dataclasses import replace

    from boxlab.gear.job_keys import JobError
    from boxlab.publish import answer_file, pictures

    target = Path(options.to)
    if target.suffix.lower() not in (".html", ".htm"):
        raise ValueError(f"--to {options.to}: the answer is a web page; give a name with .html")
    mark = f'content="{answer_file.GENERATOR}"'.encode()
    if target.exists() and mark not in target.read_bytes()[:2000]:
        raise ValueError(f"{target} is there already and is no answer of ours; it stays as it is")
    note, fitted = "", lambda item: item
    if options.job:
        from boxlab.explainers._own import with_job
        from boxlab.gear.job import read_job

        try:
            own = read_job(options.job)
        except JobError as error:
            print(f"boxlab: {error}", file=sys.stderr)
            return 1
        note = "Made from a job file; the other settings are where the page starts."

        def fitted(item):
            return with_job(item, own)

    item, pasted = pictures.asked(options.name, fitted)
    wanted = pasted | pictures.settings(item, options.set)
    item(**wanted)  # what does not fit is said before the work begins
    controls = tuple(replace(c, start=wanted.get(c.name, c.start)) for c in item.controls)
    text = answer_file.page(
        replace(item, controls=controls), note,
        say=lambda words: print(f"  {words}", file=sys.stderr, flush=True),
    )  # fmt: skip
    put(target, text.encode(), ".boxlab-answer.")
    print(f"wrote {target}, {len(text.encode()) / 1024:.0f} KB: it opens anywhere, with no network")
    return 0


def add(verb) -> None:
    """Add these verbs; `verb(name, function, short, text, example)` gives the parser of one."""
    jobs = verb(
        "job",
        job,
        "keep your own box in a file: new, check, measure, open",
        "new NAME makes a commented file. check FILE says what is given, what follows, what is\n"
        "assumed over what range, and what contradicts. measure FILE reads the sweeps that the\n"
        "file lists and fits only what they can tell. open FILE makes the lessons end with it.",
        example="examples:\n"
        "  python -m boxlab job new pickup\n"
        "  python -m boxlab job check pickup.job.toml\n"
        "  python -m boxlab job measure pickup.job.toml --write",
    )
    jobs.add_argument("do", choices=("new", "check", "measure", "open"), help="what to do with it")
    jobs.add_argument("file", metavar="FILE", help="the job file; for new, its name")
    jobs.add_argument(
        "--write", action="store_true", help="with measure: put the values into the file"
    )

    moving = verb(
        "answer",
        answer,
        "write one answer as a page whose controls move, in one file to send",
        "One file that needs no network and no boxlab: the question, its controls, the picture\n"
        "that moves with them, for the class's gear or for your own box with --job.",
        example="examples:\n"
        "  python -m boxlab answer first_experiment --job pickup.job.toml --to answer.html\n"
        "  python -m boxlab answer port_or_radiator --set volume=0.6ft3 --to answer.html",
    )
    moving.add_argument("name", metavar="NAME", help="which one; `questions` lists the names")
    moving.add_argument("--job", metavar="FILE", help="your own box: a job file, see `job`")
    moving.add_argument(
        "--set", action="extend", nargs="+", default=[], metavar="SETTING=VALUE",
        help="where the controls start, as for `picture`",
    )  # fmt: skip
    moving.add_argument(
        "--to", required=True, metavar="FILE.html",
        help="the page to write; an answer of that name is replaced, any other file is kept",
    )  # fmt: skip

    handed = verb(
        "sheet",
        sheet,
        "write the hand-over sheet of your own box, some five pages to print",
        "One web page that needs no network: the box to scale, what was measured, what it does,\n"
        "what stops it first, wiring, cable, board, what holds it down, and what was not\n"
        "measured. Each number is marked: measured, given, assumed or computed.",
        example="examples:\n  python -m boxlab sheet pickup.job.toml --to sheet.html --inch",
    )
    handed.add_argument("file", metavar="FILE", help="the job file")
    handed.add_argument(
        "--to", required=True, metavar="FILE.html",
        help="the page to write; a sheet of that name is replaced, any other file is kept",
    )  # fmt: skip
    handed.add_argument("--inch", action="store_true", help="inches, cubic feet, ounces, pounds")
