"""The weights on the radiators and the room behind them, for the hand-over sheet."""

from __future__ import annotations

import numpy as np

from boxlab.base.quantities import span
from boxlab.base.units import to_inches
from boxlab.car.arrangement import KEPT, washers_stack
from boxlab.measure import BOLT, in_washers
from boxlab.measure.fit.washers import INCH_WASHERS, NARROW, in_inch_washers, in_words
from boxlab.model.enclosure import RadiatorBox
from boxlab.model.mixed_radiators import MixedRadiatorBox
from boxlab.publish.sheet.fitting import carcass_of
from boxlab.publish.sheet.rows import Part, Row, how_known, row


def weights(sums):
    """The weights on each radiator, and how they come to it."""
    box = sums.job.box
    if isinstance(box, MixedRadiatorBox):
        return _different_weights(sums.job)
    if not isinstance(box, RadiatorBox):
        return None
    radiator = box.radiator
    mass = float(radiator.added_mass)
    rows = [
        row("weights on each radiator", mass, "kg", how=how_known(sums.job, "radiator.added_mass")),
        sums.row("all that moves, each", lambda j: j.box.radiator.moving_mass, "kg"),
    ]
    words = []
    if mass:
        metric, _ = washers_stack(mass)
        inch, _ = washers_stack(mass, tuple(INCH_WASHERS), INCH_WASHERS)
        few = in_words(in_washers(mass))
        inches = in_words(in_inch_washers(mass))
        note = (
            f"{few}: {_both(metric)}; or {inches}: {_both(inch)}; all on one bolt; bolt and nut "
            "not counted"
        )
        rows.append(
            Row("as a stack of washers", f"{1e3 * metric:.1f}\u00a0mm, of {few}",
                f"{to_inches(inch):.2f}\u00a0in, of {inches}", "computed", note)
        )  # fmt: skip
        words += [
            f"{BOLT} Washers differ from maker to maker. {NARROW} See that stack, bolt and nut "
            "clear what lies behind them at full travel."
        ]
        more, told = _room_behind(sums.job, max(metric, inch))
        rows += more
        words += told
    return Part(
        "Weights on the radiators", tuple(rows), tuple(words), question="weights_for_a_tuning"
    )


def _both(length):
    return f"{1e3 * length:.0f} mm ({to_inches(length):.2f} in)"


def _room_behind(job, tall):
    """Rows and words on the room that a stack, m, has in the box that fills the gap."""
    carcass = carcass_of(job)
    if carcass is None:
        return (), ()
    ends = sorted({carcass.inner.depth_bottom, carcass.inner.depth_top})
    travel = float(job.radiator.xmax) if np.isfinite(job.radiator.xmax) else 0.0
    needs = tall + travel + KEPT
    beside = "its travel" if travel else "no travel, for the job does not say it,"
    rows = [
        row("depth inside, front to back, of the box that fills the gap", ends[0], "m",
            others=ends[1:]),
        row("the taller stack moving", needs, "m",
            note=f"the stack, {beside} and {1e3 * KEPT:.0f} mm (0.2 in) to spare"),
    ]  # fmt: skip
    own = job.tables.get("radiator", {}).get("depth")
    if own is None:
        told = _own_depth_unknown(ends, needs)
    else:
        behind = max(0.0, own - carcass.board)
        rows.append(
            row("the radiator itself, behind the inside of its board", behind, "m",
                note=f"{_both(own)} behind its flange, less the board of {_both(carcass.board)} "
                "on whose outside that lies")
        )  # fmt: skip
        told = _own_depth_known(ends, needs + behind)
    face = "On the front or the back, with the stack behind all of the radiator"
    return rows, (f"{face}: {told} Bolt and nut come on top.",)


def _own_depth_known(ends, needs):
    if needs <= ends[0]:
        return f"the two together are {_both(needs)}, and there is room at any height."
    if needs > ends[-1]:
        return (
            f"the two together are {_both(needs)}, and there is no room: use fewer and heavier "
            "weights, or another face."
        )
    return (
        f"the two together are {_both(needs)}, and there is room only where it is that deep, not "
        "towards the narrow end."
    )


def _own_depth_unknown(ends, needs):
    asked = (
        "How deep its own cone and spider stand comes on top, and the job does not say: measure "
        "it, and write depth under [radiator]."
    )
    left = [each - needs for each in ends]
    if left[-1] <= 0:
        return f"there is no room: use fewer and heavier weights, or another face. {asked}"
    left = sorted(max(0.0, each) for each in left)
    most = span(1e3 * left[0], 1e3 * left[-1], "mm")
    inch = span(to_inches(left[0]), to_inches(left[-1]), "in", 1)
    where = ", by the height" if len(left) > 1 else ""
    return f"{most} ({inch}) are left for the radiator itself behind its board{where}. {asked}"


def _different_weights(job):
    """The weights on each radiator where they differ, and that they should not."""
    how = how_known(job, "radiator.added_mass")
    rows = [
        row(f"weights on radiator {n + 1}", mass, "kg", how=how)
        for n, mass in enumerate(job.weights)
    ]
    words = (
        "The radiators carry different weights: the box has a tuning and a null for each. Bring "
        "them to the same, unless this is meant.",
    )
    return Part("Weights on the radiators", tuple(rows), words, question="a_lost_weight")
