"""A learner's server on a hub: bring the lessons, then become jupyterhub-singleuser.

It runs as the learner, so it can harm nobody else's files. What the learner has already is never
overwritten: to get a fresh copy of a lesson, rename or delete yours and restart the server.
"""

import os
import shutil
import sys
from pathlib import Path

SOURCE = Path(__file__).resolve().parent.parent
PARTS = ("README.md", "DEVELOPERS.md", "LICENSE", "lessons", "figures", "tests/claims")


def bring(source, target):
    """Copy the PARTS of `source` that `target` lacks; returns what was copied."""
    copied = []
    for part in PARTS:
        top = source / part
        for path in [top] if top.is_file() else sorted(top.rglob("*")):
            if path.is_dir() or "__pycache__" in path.parts or ".ipynb_checkpoints" in path.parts:
                continue
            mine = target / path.relative_to(source)
            if not mine.exists():
                mine.parent.mkdir(parents=True, exist_ok=True)
                # Written beside and moved: a server killed half-way leaves no half lesson.
                half = mine.with_name(mine.name + ".part")
                shutil.copyfile(path, half)
                os.replace(half, mine)
                copied.append(mine)
    return copied


def main():
    folder = Path.home() / "boxlab"
    # In view of the file browser, so that a learner can download it before the hub goes.
    os.environ.setdefault("BOXLAB_HOME", str(folder / "my-progress"))
    try:
        bring(SOURCE, folder)
    except OSError as error:  # a full disk: open what is there rather than nothing
        print(f"could not copy every lesson to {folder}: {error}", file=sys.stderr)
    server = [sys.executable, "-m", "jupyterhub.singleuser", *sys.argv[1:]]
    os.execv(server[0], server)


if __name__ == "__main__":
    main()
