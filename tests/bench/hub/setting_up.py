"""The scratch folder of the hub trial: what is installed there, once, and how."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[3]
PROXY = "configurable-http-proxy@>=4.6 <6"


class Missing(RuntimeError):
    """Something that the trial cannot install itself."""


def python_of(scratch: Path) -> Path:
    return scratch / "env" / "bin" / "python"


def set_up(scratch: Path, browser: bool, accounts: bool = False) -> None:
    """Install hub, proxy and boxlab into `scratch`; later calls find that done.

    Raises Missing, in plain words, where something has to be installed by hand.
    """
    if not sys.platform.startswith("linux"):
        raise Missing("The trial reads memory from /proc, so it needs Linux.")
    if not shutil.which("npm"):
        raise Missing("npm is missing. The hub's proxy runs on Node: install Node 20 or newer.")
    if accounts and os.geteuid() != 0:
        raise Missing("Accounts are made by root alone: put sudo before the command.")
    scratch.mkdir(parents=True, exist_ok=True)
    requirements = ROOT / ".binder" / "requirements-hub.txt"
    extras = ["playwright>=1.45,<2", "pytest>=8,<10"] if browser else []
    wanted = f"{requirements.read_text()}{(ROOT / 'pyproject.toml').read_text()}{ROOT}{extras}"
    stamp = scratch / "installed"
    if stamp.exists() and stamp.read_text() == wanted:
        return
    print(f"Installing a hub into {scratch}: about 700 MB, a few minutes", flush=True)
    if not python_of(scratch).exists():
        _call([sys.executable, "-m", "venv", str(scratch / "env")])
    pip = [str(python_of(scratch)), "-m", "pip", "install", "-q", "--disable-pip-version-check"]
    _call([*pip, "-r", str(requirements), *extras, "-e", str(ROOT)])
    if accounts:
        _reachable(python_of(scratch))
    _call(
        ["npm", "install", "--silent", "--no-fund", "--no-audit",
         "--prefix", str(scratch / "proxy"), PROXY]
    )  # fmt: skip
    stamp.write_text(wanted)


def _reachable(python: Path) -> None:
    """Missing, where accounts other than this one cannot start that Python or read boxlab."""
    code = "import jupyterhub, boxlab; assert boxlab.__file__"
    seen = subprocess.run(
        ["runuser", "-u", "nobody", "--", str(python), "-c", code], cwd="/", capture_output=True
    )
    if seen.returncode:
        raise Missing(
            "Other accounts cannot start this Python or read the project; use the system's own "
            "(/usr/bin/python3), and folders that all may read, such as /srv."
        )


def _call(command) -> None:
    done = subprocess.run(command)
    if done.returncode:
        raise Missing(f"This failed; its own words are above: {' '.join(command)}")
