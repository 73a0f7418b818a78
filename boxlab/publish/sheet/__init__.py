"""The hand-over sheet of a job: one file to open and print, complete in itself.

It says what came in, what it measures, what it does and what stops it, how it is wired and held,
and what was not measured. Every number is marked as measured, given, assumed or
computed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path

from boxlab.explainers import explainer
from boxlab.gear.job import Job
from boxlab.measure.fit.doubts import PLUS_MINUS
from boxlab.panel import share_text
from boxlab.publish.sheet import fitting, results, stacks
from boxlab.publish.sheet.rows import HOWS, Part, Sums, known_rows, spoken

HERE = Path(__file__).parent


def parts(job: Job, say: Callable[[str], None] = lambda words: None) -> Iterator[Part]:
    """Every part of the sheet in order; `say` hears which one is being worked out.

    Raises
    ------
    ValueError
        If driver or box of the job cannot be used; the message says what is missing.
    """
    job.box, job.system  # noqa: B018 - what is missing is said at once
    sums = Sums(job)
    for title, make in (
        ("As found, and after the work", results.changed),
        ("What it does", results.does),
        ("What stops it first", results.stops),
        ("Weights on the radiators", stacks.weights),
        ("Wiring", fitting.wiring),
        ("Cable and fuse", fitting.cable),
        ("Board and cut list", fitting.board),
        ("Holding it down", fitting.restraint),
        ("What is known of it", _known),
    ):
        say(title)
        made = make(sums)
        if made is not None:
            yield made
    yield _not_measured(job)


def _known(sums):
    return Part("What is known of it", tuple(known_rows(sums.job)))


def _not_measured(job):
    what = {each.get("what") for each in job.measurements}
    rows = []
    if not job.tables.get("measured"):
        rows.append("Nothing was measured: every figure is given, assumed or computed.")
    for each, need in (
        ("free air", "the driver in free air: its fs and Qs"),
        ("added mass", "the driver with added mass, or in a test box: its mass, Bl and Vas"),
        ("as found", "the box as found: its tuning and leaks"),
        ("after", "the box after the work"),
    ):
        if each not in what and not (each == "added mass" and "closed test box" in what):
            rows.append(f"No sweep of {need}.")
    rows += [f"{spoken(name).capitalize()}: assumed, by what is usual." for name in job.assumed]
    rows += [
        "The cabin: what the car adds to the lowest notes differs from car to car.",
        "Distortion, rattles, and how the box holds up over time.",
    ]
    return Part("What was not measured", words=tuple(rows))


def page(
    job: Job,
    inch: bool = False,
    on: date | None = None,
    say: Callable[[str], None] = lambda words: None,
) -> str:
    """The sheet as HTML.

    Parameters
    ----------
    job : Job that is complete enough for driver and box
    inch : sizes and masses in inches, cubic feet, ounces and pounds
    on : the date to print; today if left out
    say : hears which part is being worked out

    Raises
    ------
    ValueError
        If the job does not say enough for driver or box; the message says what is missing.
    """
    import jinja2
    from markupsafe import Markup

    from boxlab.publish.sheet import pictures
    from boxlab.publish.workshop import frame

    found = tuple(parts(job, say))
    say("Pictures")
    drawn = (pictures.of_the_box(job), pictures.of_its_response(job, inch))
    environment = jinja2.Environment(
        loader=jinja2.FileSystemLoader(HERE), autoescape=True, undefined=jinja2.StrictUndefined,
        trim_blocks=True, lstrip_blocks=True, keep_trailing_newline=True,
    )  # fmt: skip
    return environment.get_template("page.html.j2").render(
        name=job.name,
        date=(on or date.today()).isoformat(),
        about=_about(job),
        signs=[(how, how[0].upper()) for how in HOWS.values()],
        parts=found,
        pictures=[Markup(each) for each in drawn],
        style=Markup(frame.palette() + frame.text("paper.css")),
        inch=inch,
        why=_why,
        doubt=PLUS_MINUS if job.tables.get("measured") else "",
    )


def _why(name):
    """The question that teaches a part, and the way to its lesson, as HTML."""
    from markupsafe import Markup, escape

    item = explainer(name)
    where, published = (
        share_text.link(item),
        share_text.address(item) != share_text.address(item, ""),
    )
    if published:
        return Markup('{} <a href="{}">{}</a>').format(item.question, where, item.lesson)
    return escape(f"{item.question} Lesson {where}.")


def _about(job):
    kind = job.tables.get("box", {}).get("kind", "box")
    many = f"{job.count} drivers" if job.count > 1 else "one driver"
    many = "an isobaric pair of drivers" if job.faces < job.count else many
    moved = "" if kind != "radiator" else (
        f", {job.radiators} radiators" if job.radiators > 1 else ", one radiator"
    )  # fmt: skip
    return f"A {kind} box, {many}{moved}."
