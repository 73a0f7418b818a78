"""How long boxlab takes to be there: against numpy alone, and until a panel can be dragged.

Run it by hand: python tests/bench/start_up.py [repeats]
Each row is a fresh interpreter, the rows taken in turn. Times are of the processor, so that other
work on the machine hardly counts; the interpreter's own start is left out.
"""

import os
import statistics
import subprocess
import sys

HEAVY = ("scipy", "matplotlib", "ipywidgets", "PIL", "IPython")
SOLVE = (
    "from boxlab import Driver, SealedBox, solve\n"
    "d = Driver(re=3.4, le=1e-3, bl=11.5, mms=0.125, cms=2.1e-4, rms=2.4, sd=0.0335, xmax=0.012,\n"
    "           pe=400.0)\n"
    "solve(d, SealedBox(0.014), [40.0]).spl"
)
PANEL = (
    "from boxlab.panel.live_panel import Panel\n"
    "from boxlab.explainers import all_explainers\n"
    "Panel(all_explainers()[0])"
)
ROWS = {
    "import numpy": "import numpy",
    "import boxlab": "import boxlab",
    "from boxlab import *": "from boxlab import *",
    "the first solve": SOLVE,
    "the first panel, with its picture": PANEL,
}


def fresh(code):
    """CPU seconds of `code` in an interpreter of its own, and the heavy packages it loaded."""
    program = (
        "import sys, time\n"
        f"start = time.process_time()\n{code}\n"
        f"print(time.process_time() - start, *[m for m in {HEAVY} if m in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-W", "ignore", "-c", program],
        stdout=subprocess.PIPE,
        text=True,
        check=True,
    )
    seconds, *loaded = done.stdout.split()
    return float(seconds), loaded


def main(repeats=25):
    times, loaded = {name: [] for name in ROWS}, {}
    for code in ROWS.values():
        fresh(code)  # so that compiled modules and files are at hand for all rows
    for _ in range(repeats):
        for name, code in ROWS.items():
            seconds, loaded[name] = fresh(code)
            times[name].append(seconds)
    middle = {name: statistics.median(values) for name, values in times.items()}
    least = {name: min(values) for name, values in times.items()}
    print(f"Python {sys.version.split()[0]}, {repeats} fresh interpreters a row, "
          f"load {os.getloadavg()[0]:.1f} on {os.cpu_count()} processors")  # fmt: skip
    print(f"{'':<36}{'median':>10}{'least':>10}{'to numpy':>10}  heavy packages loaded")
    for name in ROWS:
        ratio = middle[name] / middle["import numpy"]
        print(
            f"{name:<36}{middle[name] * 1e3:>7.1f} ms{least[name] * 1e3:>7.1f} ms{ratio:>10.2f}"
            f"  {', '.join(loaded[name]) or 'none'}"
        )
    print(
        "Each row but the second loads numpy too; `import boxlab` does so at the first name used."
    )


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
