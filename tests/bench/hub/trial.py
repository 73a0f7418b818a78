"""A class on a hub, tried out on this machine: simulated learners, measured.

    python3 tests/bench/hub/trial.py [--learners 1 5 10] [--accounts] [--browser]

It installs JupyterHub, its proxy and boxlab into a scratch folder, starts the hub on loopback,
lets learners log in, open lesson 01, run it and move its first slider, prints what that took, and
stops everything. It needs Linux, and Node with npm. Without --accounts nothing outside the scratch
folder is touched; delete that folder to be rid of it.
"""

import argparse
import os
import sys
import tempfile
from pathlib import Path

import setting_up

MOST = 12  # learners: this is a measurement, not an attack
SCRATCH = Path(tempfile.gettempdir()) / "boxlab-hub"


def arguments():
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument(
        "--learners", type=int, nargs="+", default=[1, 5, 10], metavar="N",
        help=f"how many at once, level after level; at most {MOST} (default: 1 5 10)",
    )  # fmt: skip
    parser.add_argument(
        "--scratch", type=Path, default=SCRATCH, metavar="FOLDER",
        help="where the hub is installed and runs (default: %(default)s)",
    )  # fmt: skip
    parser.add_argument(
        "--browser", action="store_true", help="also drive one real Chromium through the hub"
    )
    parser.add_argument(
        "--accounts", action="store_true",
        help="as the guide says: accounts of this machine, made and removed, over TLS; needs root",
    )  # fmt: skip
    chosen = parser.parse_args()
    if not all(1 <= n <= MOST for n in chosen.learners):
        parser.error(f"--learners: expected numbers from 1 to {MOST}, got {chosen.learners}")
    return chosen


def main() -> int:
    chosen = arguments()
    scratch = chosen.scratch.resolve()
    try:
        setting_up.set_up(scratch, chosen.browser, chosen.accounts)
    except setting_up.Missing as problem:
        print(problem)
        return 1
    command = [str(setting_up.python_of(scratch)), str(Path(__file__).with_name("measure.py"))]
    command += [
        str(scratch),
        *map(str, chosen.learners),
        *["--browser"] * chosen.browser,
        *["--accounts"] * chosen.accounts,
    ]
    os.execv(command[0], command)  # this process becomes the measurement, and ends with it


if __name__ == "__main__":
    sys.exit(main())
