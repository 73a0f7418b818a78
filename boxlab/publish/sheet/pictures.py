"""The two pictures of a hand-over sheet: the box to scale, and what it does against frequency."""

from __future__ import annotations

import base64
import math
from html import escape

import numpy as np
from matplotlib import rc_context
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from boxlab.base.both_units import both_units
from boxlab.base.units import to_inches, to_mm
from boxlab.car.carcass_view import views
from boxlab.car.clearance import place
from boxlab.draw import cutaway, figures
from boxlab.draw.palette import COLOURS, PAPER
from boxlab.draw.plots import STYLE
from boxlab.gear.job import Job
from boxlab.gear.job_parts import built_like
from boxlab.gear.job_stops import counted, full_power, left_by_the_supply
from boxlab.model.enclosure import RadiatorBox, SealedBox
from boxlab.model.limits import max_output
from boxlab.model.mixed_radiators import MixedRadiatorBox
from boxlab.model.response import solve
from boxlab.publish.sheet.fitting import carcass_of, mounting

FREQUENCY = np.geomspace(15, 150, 300)


def figure_html(drawn: dict[str, Figure], caption: str) -> str:
    """A figure element that holds its pictures, each under what it shows.

    Side by side where there is room, else one below the other, so that their words stay large.
    """
    images = []
    for alt, figure in drawn.items():
        data = base64.b64encode(figures.svg(figure, alt=alt).encode()).decode()
        images.append(f'<img alt="{escape(alt)}" src="data:image/svg+xml;base64,{data}">')
    return f"<figure>{''.join(images)}<figcaption>{escape(caption)}</figcaption></figure>"


def _figure(width, height):
    figure = Figure(figsize=(width, height), dpi=100, facecolor=PAPER, layout="constrained")
    FigureCanvasAgg(figure)
    return figure, figure.subplots()


def of_the_box(job: Job) -> str:
    """The box to scale: in its gap where the job has one and the driver's outline, else alone."""
    carcass = carcass_of(job)
    with rc_context(STYLE):
        if carcass is not None:
            outline, assumed = mounting(job, "driver")
            side, front = views(carcass, [(outline, place(carcass))])
            words = "The box that fills the gap, from the side and from the front, to scale."
            words += " The driver's outline is assumed from its size." if assumed else ""
            words += " The radiators are not drawn: see that they go in." if job.radiators else ""
            seen = "The box in its gap from the {}, to scale."
            return figure_html({seen.format("side"): side, seen.format("front"): front}, words)
        figure, ax = _figure(3.6, 3.0)
        table = job.tables.get("box", {})
        board, built = table.get("board"), built_like(job.box, table)
        cut = cutaway.cut_open(job.system, job.box, job.faces, board, built=built)
        cutaway.draw(ax, cut)
        thick = "" if board else ", and board of 18 mm"
        words = both_units(
            f"{cut.words} Assumed for the drawing: sides as 8 : 6 : 5 inside, or as tall as what "
            f"is mounted asks for{thick}. Measure the box itself before you plan by it."
        )
    return figure_html({words: figure}, words)


def of_its_response(job: Job, inch: bool) -> str:
    """Loudest level and travel at full power, or at 2.83 V where no amplifier is known."""
    try:
        full = full_power(job)
        volts, at = full.setting, f"{full.power:g} W into {full.load:g} Ω"
    except ValueError:
        full, volts, at = None, 2.83, "2.83 V"
    driver, box, chain = job.system, job.box, job.chain if full else None
    kept = [f"{each.power:.0f} W" for each in left_by_the_supply(job, full.load)] if full else []
    label = "full power, on its supply" if kept else at
    if kept:
        at += f" as rated, of which the supply leaves {kept[0]}" + "".join(
            f", or {each} with rails that are held (drawn for {kept[0]})" for each in kept[1:]
        )
    solved = solve(driver, box, FREQUENCY, volts, chain=chain)
    convert, unit = (to_inches, "in") if inch else (to_mm, "mm")
    with rc_context(STYLE):
        (level, left), (moving, right) = _figure(3.7, 2.9), _figure(3.7, 2.9)
        left.semilogx(FREQUENCY, solved.spl, color=COLOURS["sum"], label=label)
        if full is not None:
            most = max_output(driver, box, FREQUENCY, stage=job.stage(full.load))
            left.semilogx(
                FREQUENCY, most.spl, color=COLOURS["limit"], ls="--", label="within all limits"
            )
        left.set_ylabel("dB re 20 µPa at 1 m")
        top = 5 * math.ceil(float(np.max(solved.spl)) / 5) + 5
        left.set_ylim(top - 45, top)
        travels = [("cone", solved.cone_excursion, driver.xmax, COLOURS["cone"])]
        if isinstance(box, RadiatorBox):
            travels.append(("radiator", solved.vent_excursion, box.radiator.xmax, COLOURS["vent"]))
        if isinstance(box, MixedRadiatorBox):
            limit = min(float(each.xmax) for each in box.radiators)
            travels.append(("radiator", solved.vent_excursion, limit, COLOURS["vent"]))
        for name, travel, limit, colour in travels:
            right.semilogx(FREQUENCY, convert(travel), color=colour, label=name)
            if np.isfinite(limit):
                right.axhline(convert(limit), color=colour, ls=":", label=f"{name}, its limit")
        right.set_ylabel(f"travel one way, {unit}")
        limits = [limit for _, _, limit, _ in travels if np.isfinite(limit)]
        most_travel = max([2 * max(limits)] if limits else [float(np.max(travels[0][1]))])
        right.set_ylim(0, float(convert(most_travel)))
        ticks = [15, 20, 30, 40, 60, 80, 100, 150]
        for ax in (left, right):
            ax.set_xlim(15, 150)
            ax.set_xticks(ticks, [str(tick) for tick in ticks], minor=False)
            ax.set_xticks([], minor=True)
            ax.set_xlabel("frequency, Hz")
            ax.grid(True)
            ax.legend(frameon=False, fontsize=8)
            if not isinstance(box, SealedBox):
                ax.axvline(float(box.tuning()), color=COLOURS["quiet"], lw=1)
    words = (
        f"First, level at 1 m with {at}, outdoors on the ground, and what is left of it within all "
        "limits. Second, travel of what moves, with its limits dotted."
    )
    if full is not None and (told := counted(job)):
        words += f" Counted: {told}."
    if not isinstance(box, SealedBox):
        words += f" The upright line is the tuning, {float(box.tuning()):.1f} Hz."
    return figure_html({"Level at 1 m.": level, "Travel of what moves.": moving}, words)
