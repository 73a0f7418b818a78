"""How well added mass or a known volume tells what a cone weighs and how soft it hangs."""

from __future__ import annotations

import numpy as np

from boxlab.base.units import grams, litres
from boxlab.draw.scene import Explainer, Line, Mark, Number, Plot, Scene, Slider
from boxlab.explainers import _shared as shared
from boxlab.explainers._cuts import shown
from boxlab.gear import shelf
from boxlab.measure.fit.budget import added_mass_budget, known_volume_budget
from boxlab.model.enclosure import SealedBox

MASSES = np.geomspace(2, 300, 121)  # g
VOLUMES = np.geomspace(3, 300, 121)  # L
_RANGE = (0, 40)


def scene(added, volume, frequency_error, scale_error, volume_error) -> Scene:
    """Budget of both methods for one driver (g, L, per cent, g, per cent)."""
    driver = shelf.one_driver()
    fs = driver.fs
    share, moving, vas = frequency_error / 100, driver.mms, float(driver.vas())
    masses = added_mass_budget(grams(MASSES), moving, share, scale_error / MASSES)
    volumes = known_volume_budget(litres(VOLUMES), vas, share, volume_error / 100)
    here = added_mass_budget(grams(added), moving, share, scale_error / added)
    there = known_volume_budget(litres(volume), vas, share, volume_error / 100)
    loaded = fs / np.sqrt(1 + grams(added) / moving)
    boxed = fs * np.sqrt(1 + vas / litres(volume))
    percent = [100 * float(b.total) for b in (here, there)]
    return Scene(
        **shown({"test box": shared.state(driver, SealedBox(litres(volume)))}, boxed),
        title=f"{added:g} g: the cone's mass to ±{percent[0]:.1f} %",
        plots=(
            _plot("Mass by added mass", "added mass, g", MASSES, masses, added, "scale"),
            _plot("Vas by known volume", "test box, L", VOLUMES, volumes, volume, "volume"),
        ),
        readout=(
            f"{added:g} g on the cone tell its mass to ±{percent[0]:.1f} %; a test box of "
            f"{volume:g} L tells Vas to ±{percent[1]:.1f} %.",
            f"The mass moves the resonance from {fs:.1f} to {loaded:.1f} Hz, "
            f"{100 * (1 - loaded / fs):.0f} % down; the box moves it to {boxed:.1f} Hz, "
            f"{100 * (boxed / fs - 1):.0f} % up.",
            f"Of the ±{percent[0]:.1f} %, reading the two resonances makes "
            f"{100 * float(here.frequency):.1f} % and weighing {100 * float(here.amount):.1f} %.",
        ),
        numbers=(
            shared.mass_number("moving mass", moving),
            shared.volume_number("Vas", vas),
            shared.mass_number("added mass", grams(added)),
            shared.hertz("resonance in free air", fs),
            shared.hertz("resonance with the mass", loaded),
            Number("mass uncertain by", f"{percent[0]:.1f} %"),
            shared.volume_number("test box", litres(volume)),
            shared.hertz("resonance in the test box", boxed),
            Number("Vas uncertain by", f"{percent[1]:.1f} %"),
        ),
        caption=(
            f"One standard uncertainty of the moving mass and of Vas, where each resonance is read "
            f"to {frequency_error:g} %. A small mass or a large box hardly moves the resonance, "
            "and a small difference is mostly error."
        ),
        alt=(
            "Two line plots, uncertainty in per cent, 0 to 40. Left, against added mass, 2 to "
            f"300 g: it falls steeply and flattens; {percent[0]:.1f} % at {added:g} g. Right, "
            f"against the test box's volume, 3 to 300 L: it rises; {percent[1]:.1f} % at "
            f"{volume:g} L."
        ),
        code=(
            "from boxlab import grams, litres\n"
            "from boxlab.gear.scenario import TEN_INCH_DRIVER as driver\n"
            "from boxlab.measure.fit.budget import added_mass_budget, known_volume_budget\n"
            f"print(added_mass_budget(grams({added:g}), driver.mms, {share:g}, "
            f"{scale_error / added:.4g}).total)\n"
            f"print(known_volume_budget(litres({volume:g}), driver.vas(), {share:g}, "
            f"{volume_error / 100:g}).total)"
        ),
    )


def _plot(title, label, x, budget, now, what):
    return Plot(
        title,
        label,
        "standard uncertainty, %",
        (float(x[0]), float(x[-1])),
        _RANGE,
        (
            Line(x, 100 * budget.total, "sum", "both"),
            Line(x, 100 * budget.frequency, "electrical", "resonances", "ported"),
            Line(x, 100 * budget.amount, "limit", what, "sealed"),
        ),
        (Mark(now, f"{now:g} {label.rpartition(', ')[2]}"),),
    )


EXPLAINERS = (
    Explainer(
        name="weigh_the_cone",
        question="How much mass must go on the cone, and how large may the test box be?",
        controls=(
            Slider("added", "Mass on the cone", 2, 200, 60, 1, "g"),
            Slider("volume", "Test box", 5, 200, 20, 1, "L"),
            Slider("frequency_error", "Each resonance is read to", 0.1, 3.0, 0.5, 0.1, "%"),
            Slider("scale_error", "The mass is known to", 0.0, 5.0, 0.5, 0.1, "g"),
            Slider("volume_error", "The volume is known to", 0.0, 10.0, 2.0, 0.5, "%"),
        ),
        scene=scene,
        lesson="05-reading-a-sweep.ipynb",
        anchor="How-heavy-is-the-cone",
        answer=(
            "About half the moving mass or more; a box no larger than Vas. Less of either moves "
            "the resonance too little, and reading errors are magnified."
        ),
    ),
)
