"""Put one fault at a time into a copy of the repository and see that a test turns red. By hand:

.venv/bin/python tests/deliberate_faults.py [words of the faults wanted]

Formulas, signs, units, numbers in prose, answers, links, alt texts, cautions. Each fault names the
tests that have to object; a fault whose text is no longer found says so.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
MODEL, CLAIMS, BOOK = "boxlab/model", "tests/claims", "lessons/01-port-or-radiator.ipynb"
FAULTS = (  # what, file, text, text with the fault, tests that have to turn red
    # formulas and signs
    ("end correction", f"{MODEL}/vents.py", "FREE_END = 0.6127", "FREE_END = 0.7127",
     "tests/physics/test_air_and_ports.py"),
    ("speed of sound", f"{MODEL}/air.py", "return _plain(343.2 *", "return _plain(346.2 *",
     "tests/physics/test_air_and_ports.py"),
    ("electrical Q", f"{MODEL}/driver.py", "self.re / self.bl**2", "self.re / self.bl",
     "tests/test_formulas.py"),
    ("sign in total Q", f"{MODEL}/driver.py", "(1 + self.qes / self.qms)",
     "(1 - self.qes / self.qms)", "tests/test_formulas.py"),
    ("peak over rms", f"{MODEL}/response.py", "PEAK = math.sqrt(2)", "PEAK = 2.0",
     "tests/physics/test_trade_facts.py tests/physics/test_first_stop.py tests/published"),
    ("half power", f"{MODEL}/passband.py", "np.log10(0.5)", "np.log10(0.25)",
     "tests/test_tradeoff.py"),
    ("formula on the sheet", f"{MODEL}/driver.py", "Formula: Qes = ωs·Mms·Re/Bl²",
     "Formula: Qes = ωs·Mms·Re/Bl", "tests/test_formulas.py"),
    ("lift over distance", "boxlab/car/vehicle.py", "room * 2 * np.pi * distance",
     "room * np.pi * distance", "tests/test_vehicle.py"),
    ("series and parallel", "boxlab/car/wiring.py", "self.coil * self.series / self.parallel",
     "self.coil * self.parallel / self.series", "tests/test_wiring.py"),
    ("copper", "boxlab/car/cable.py", "COPPER = 1 / 58e6", "COPPER = 1 / 68e6",
     "tests/test_cable.py"),
    ("what a cable may carry", "boxlab/car/ampacity.py", '"4": 125', '"4": 152',
     "tests/test_ampacity.py"),
    ("braking", "boxlab/car/restraint.py", "CRASH = 20 *", "CRASH = 10 *",
     f"{CLAIMS}/test_fitting_the_space.py"),
    # units
    ("inch", "boxlab/base/units.py", "INCH = 0.0254", "INCH = 0.025", "tests/test_units.py"),
    ("pound", "boxlab/base/units.py", "POUND = 0.45359237", "POUND = 0.5", "tests/test_units.py"),
    # levels and times
    ("exchange rate", "boxlab/sound/hearing.py", '"OSHA", 90.0, 5.0', '"OSHA", 90.0, 3.0',
     "tests/test_hearing.py"),
    ("A-weighting", "boxlab/sound/hearing.py", "20.598997, 107.65265", "20.598997, 177.65265",
     "tests/test_hearing.py"),
    # measurement
    ("decimal comma", "boxlab/measure/read/cells.py", 'float(text.replace(",", ".")), False',
     'float(text.replace(",", "")), False', "tests/test_sweep_reader.py"),
    # answers
    ("right option", "boxlab/quiz/exercises/port_or_radiator.toml",
     'right = "About 70 cm (28 in)"', 'right = "About 40 cm (16 in)"',
     "tests/test_marked_options.py tests/test_exercises.py"),
    ("line that answers", "boxlab/quiz/exercises/port_or_radiator.toml",
     "{port_that_will_not_fit#1}", "{port_that_will_not_fit#9}", "tests/test_exercises.py"),
    ("answer of an exercise", "boxlab/quiz/exercises/measure_it_yourself.py",
     "n.resistor * n.share / (1 - n.share)\n\n", "n.resistor * n.share / (1 + n.share)\n\n",
     f"tests/test_exercises.py tests/test_on_paper.py {CLAIMS}/test_measure_it_yourself.py"),
    # numbers in prose
    ("number in an answer", "boxlab/quiz/exercises/how_much_radiator.toml", "enough for 44 %",
     "enough for 54 %", f"{CLAIMS}/test_how_much_radiator.py"),
    ("number in a lesson", BOOK, "it wants 19 to 44 % of the box", "it wants 19 to 54 % of the box",
     f"{CLAIMS}/test_port_or_radiator.py"),
    ("number in the glossary", "boxlab/publish/terms.py", "3 dB", "4 dB",
     "tests/test_glossary.py tests/claims/test_numbers_in_words.py"),
    ("minutes of a run sheet", "lessons/workshop/half-day.md", "| 0:00 | 10 |", "| 0:00 | 15 |",
     "tests/test_workshop.py"),
    ("what a panel says at an end", "boxlab/explainers/first_experiment.py",
     "This box is tuned to", "This box is set to",
     "tests/test_panels_driven.py -k first_experiment"),
    # links, alt texts, cautions, house
    ("link in a lesson", BOOK, "](#Will-the-port-fit?)", "](#Will-a-port-fit?)",
     "tests/test_lessons.py"),
    ("anchor of an explainer", "boxlab/explainers/slot_or_tube.py",
     'anchor="How-long-does-a-slot-have-to-be"', 'anchor="How-long-is-a-slot"',
     "tests/test_posting.py"),
    ("alt text of the front page", "README.md", "![Two plots against frequency, of a box", "![",
     "tests/test_repository.py tests/test_site.py tests/test_lessons.py"),
    ("words of a caution", "boxlab/base/cautions.py", "Bolt or ", "Clip or ",
     "tests/test_cautions.py"),
    ("a colour too near another", "boxlab/draw/palette.py", '"vent": "#b75d10"',
     '"vent": "#a21946"', "tests/test_grey.py tests/test_figures.py"),
    ("import that leads upward", f"{MODEL}/recoil.py", "import numpy as np\n",
     "import numpy as np\n\nfrom boxlab.car import cable\n", "tests/test_house.py"),
)  # fmt: skip


def copied(folder: Path) -> Path:
    """The tracked files as they are now, in a folder of their own."""
    names = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, check=True)
    for name in filter(None, names.stdout.decode().split("\0")):
        if (ROOT / name).exists():
            (folder / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy(ROOT / name, folder / name)
    return folder


def red(copy: Path, tests: str) -> bool:
    """True if one of the tests fails in the copy."""
    run = subprocess.run(
        [sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider", *tests.split()],
        cwd=copy, env=os.environ | {"PYTHONPATH": str(copy)}, capture_output=True, check=False,
    )  # fmt: skip
    return run.returncode in (1, 2)


def main(*wanted: str) -> None:
    green = []
    with tempfile.TemporaryDirectory() as folder:
        copy = copied(Path(folder))
        faults = [fault for fault in FAULTS if not wanted or any(w in fault[0] for w in wanted)]
        for what, name, text, wrong, tests in faults:
            path = copy / name
            whole = path.read_text(encoding="utf-8")
            if text not in whole:
                verdict = "its text is not found"
            else:
                path.write_text(whole.replace(text, wrong, 1), encoding="utf-8")
                verdict = "red" if red(copy, tests) else "STAYS GREEN"
                path.write_text(whole, encoding="utf-8")
            if verdict != "red":
                green.append(what)
            print(f"{what}: {verdict}", flush=True)
    print(f"{len(faults) - len(green)} of {len(faults)} faults turned red")
    sys.exit(bool(green))


if __name__ == "__main__":
    main(*sys.argv[1:])
