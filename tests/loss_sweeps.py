"""Boxes with a leak, absorption and friction in the port, swept by a circuit of its own.

The circuit is `troubled_sweeps`', in SI with numpy alone; nothing of boxlab makes a sweep. Run as a
program it counts how often what `fit_box` tells apart is right: `python tests/loss_sweeps.py 70`.
"""

import sys
import warnings

import numpy as np
from troubled_sweeps import BULK, a_cone, read, scaled_rider

from boxlab.measure.fit.box_fit import fit_box
from boxlab.measure.fit.driver_fit import fit_driver
from boxlab.measure.read.value import Sweep

PARTS = ("ql", "qa", "qp")
# what is measured beside the box: nothing; the driver; the driver and the box with its vent blocked
BESIDE = ("nothing", "driver", "driver and blocked")


def load(cone, f, volume, fb, ql, qa, qp, blocked=False, share=0.0):
    """Mechanical impedance of the box: air with a resistor in series, leak and vent beside it.

    `share` is a radiator's own resonance over the tuning, 0 for a port.
    """
    w, wb, cab = 2 * np.pi * f, 2 * np.pi * fb, volume / BULK
    flow = 1 / (1 / (1j * w * cab) + 1 / (wb * cab * qa)) + wb * cab / ql
    if not blocked:
        mass = 1 / (wb**2 * cab * (1 - share**2))
        stiff = (share * wb) ** 2 * mass  # of a radiator's own suspension
        flow = flow + 1 / (1j * w * mass + stiff / (1j * w) + 1 / (wb * cab * qp))
    return cone.sd**2 / flow


def fitted(seed, beside, trouble="none", radiator=False, **losses):
    """The true Qs and the `BoxLosses` of one box; drawn at random, but for `losses`."""
    rng = np.random.default_rng([seed, 77])
    cone = scaled_rider(a_cone(rng, trouble))
    noise = 10 ** rng.uniform(-3.3, -2.2)  # 0.05 to 0.6 %
    f = np.geomspace(8, 1000, rng.choice([120, 200, 400]))
    volume, fb = cone.truth()["vas"] / rng.uniform(0.8, 3.5), rng.uniform(28, 48)
    spans = {"ql": (0.7, 1.5), "qa": (1, 2), "qp": (1, 2)}
    share = rng.uniform(0.25, 0.55) if radiator else 0.0
    q = {n: 10 ** rng.uniform(*span) for n, span in spans.items()} | losses

    def swept(*box, **more):
        behind = load(cone, f, volume, *box, **more) if box or more else 0.0
        return Sweep(f, *read(rng, cone.sweep(f, behind), noise))

    told = {} if beside == "nothing" else {"driver": fit_driver(swept())}
    if beside == "driver and blocked":
        told["blocked"] = swept(fb=fb, **q, blocked=True)
    told |= {"radiator_area": 0.035, "count": 1} if radiator else {}
    made = swept(fb=fb, **q, share=share)
    return q, fit_box(made, build="radiator" if radiator else "ported", **told).losses


def right(estimate, true):
    """Whether the true Q lies within 2u, in 1/Q, or above the bound that is told."""
    if np.isfinite(estimate):
        return abs(1 / estimate - 1 / true) <= 2 * estimate.u / estimate**2
    return "above" in estimate.note and true >= float(estimate.note.split("above")[1])


def counted(seeds, beside, trouble="none", radiator=False):
    """How many boxes were fitted, totals right, parts told, parts told right, boxes told whole."""
    boxes = totals = told = good = whole = 0
    for seed in seeds:
        try:
            q, losses = fitted(seed, beside, trouble, radiator)
        except ValueError:  # the driver's own sweep was refused
            continue
        boxes += 1
        totals += right(losses.total, 1 / sum(1 / each for each in q.values()))
        good += sum(right(getattr(losses, name), q[name]) for name in losses.told)
        told += len(losses.told)
        whole += len(losses.told) == 3
    return boxes, totals, told, good, whole


if __name__ == "__main__":
    warnings.simplefilter("ignore")
    print("vent, beside, trouble: boxes, totals right, parts told, of them right, boxes told whole")
    for vent in ("port", "radiator"):
        tried = (*((each, "none") for each in BESIDE), (BESIDE[2], "creep"), (BESIDE[2], "bump"))
        for beside, trouble in tried:
            found = counted(range(int(sys.argv[1])), beside, trouble, vent == "radiator")
            print(f"{vent}, {beside}, {trouble}:", *found, flush=True)
