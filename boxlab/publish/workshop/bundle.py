"""Everything that a laptop needs to be set up with no network, in one folder for a USB stick.

The project stands in it as it is here, with wheels for the kinds of machine that were asked for.
pip judges a package's conditions ("on Windows only") by the machine that it runs on, so what
another machine needs besides is worked out here from the wheels themselves and fetched too.
"""

from __future__ import annotations

import io
import json
import subprocess
import sys
import tomllib
import zipfile
from collections.abc import Callable, Iterable, Mapping
from email.parser import HeaderParser
from pathlib import Path
from types import MappingProxyType

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from boxlab.base.made_files import check_free, write_set
from boxlab.publish.notebooks import ROOT
from boxlab.publish.workshop.frame import paper, text
from boxlab.quiz.handing_in import SHELF

GENERATOR = '<meta name="generator" content="boxlab bundle">'
TOP = ("README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml", "boxlab", "lessons", "figures")
LEFT = {"__pycache__", ".ipynb_checkpoints"}
WHEELS, KINDS, FRESH = "wheels", "for.txt", "lessons.zip"
_MAC = [f"macosx_{n}_0" for n in range(11, 16)]
# kind of machine -> what pip calls it, and what markers say of it
SYSTEMS: Mapping[str, tuple[tuple[str, ...], dict]] = MappingProxyType(
    {
        "windows": (
            ("win_amd64",),
            {"sys_platform": "win32", "os_name": "nt", "platform_system": "Windows",
             "platform_machine": "AMD64"},
        ),
        "macos": (
            tuple(f"{each}_{kind}" for each in _MAC for kind in ("arm64", "universal2")),
            {"sys_platform": "darwin", "os_name": "posix", "platform_system": "Darwin",
             "platform_machine": "arm64"},
        ),
        "linux": (
            ("manylinux_2_28_x86_64", "manylinux_2_27_x86_64", "manylinux_2_17_x86_64",
             "manylinux2014_x86_64"),
            {"sys_platform": "linux", "os_name": "posix", "platform_system": "Linux",
             "platform_machine": "x86_64"},
        ),
    }
)  # fmt: skip
HERE = {"win32": "windows", "darwin": "macos"}.get(sys.platform, "linux")
Fetch = Callable[[list[str], str, str, Path], None]


def write(
    folder,
    systems: Iterable[str] = (HERE,),
    pythons: Iterable[str] = (),
    say: Callable[[str], None] = lambda words: None,
    fetch: Fetch | None = None,
) -> list[str]:
    """Put project, wheels and a page for whoever opens the stick into `folder`.

    Parameters
    ----------
    systems : names of `SYSTEMS`
    pythons : versions such as "3.12"; that of this Python if none
    fetch : gets (requirements, system, python, folder of wheels); pip if left out

    Returns
    -------
    list of str
        What there is no wheel for, in plain words.

    Raises
    ------
    ValueError
        For a kind of machine that is not known, or if `folder` holds something else.
    """
    folder, fetch = Path(folder).resolve(), fetch or _pip
    pythons = list(pythons) or ["{}.{}".format(*sys.version_info)]
    for system in systems:
        if system not in SYSTEMS:
            raise ValueError(f"--for {system}: expected one or more of {', '.join(SYSTEMS)}")
    check_free(folder, "bundle")
    if folder.is_relative_to(ROOT):
        raise ValueError(f"--to {folder}: that lies in the project itself; give another folder")
    files = {f"boxlab/{name}": content for name, content in project().items()}
    kinds = [(system, python) for system in systems for python in pythons]
    rows = "".join(f"{system} {python}\n" for system, python in kinds)
    files[f"boxlab/{WHEELS}/{KINDS}"] = rows
    lessons = {
        name: content for name, content in files.items() if name.startswith("boxlab/lessons")
    }
    files[f"boxlab/{WHEELS}/{FRESH}"] = zipped(lessons, "boxlab/")
    said = ", ".join(f"{system} with Python {python}" for system, python in kinds)
    page = text("stick.html").replace("@kinds@", said)
    files["read-me-first.html"] = paper("Boxlab from this stick", page, GENERATOR)
    left = write_set(folder, "bundle", files)
    say(f"copied {len(files)} files")
    wheels = folder / "boxlab" / WHEELS
    for system, python in kinds:
        left += complete(wheels, system, python, fetch)
        say(f"fetched what {system} with Python {python} needs")
    return left


def project() -> dict[str, bytes]:
    """Every file of the project that a laptop needs, by its place; lessons hold nobody's record."""
    found = {}
    for top in TOP:
        start = ROOT / top
        for path in sorted(start.rglob("*") if start.is_dir() else [start]):
            name = path.relative_to(ROOT)
            if not path.is_file() or LEFT & set(name.parts) or name.name.startswith("results-"):
                continue
            data = path.read_bytes()
            if path.suffix == ".ipynb" and SHELF.encode() in data:
                book = json.loads(data)
                if book.get("metadata", {}).pop(SHELF, None) is not None:
                    data = (json.dumps(book, indent=1, ensure_ascii=False) + "\n").encode()
            found[name.as_posix()] = data
    return found


def zipped(files: Mapping[str, bytes], top: str) -> bytes:
    """The files as one archive, named without `top`; the same bytes each time."""
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in sorted(files.items()):
            archive.writestr(zipfile.ZipInfo(name.removeprefix(top)), data)
    return held.getvalue()


def needs() -> list[str]:
    """What the project asks for: its own requirements and the tools that install it."""
    known = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    return [*known["project"]["dependencies"], *known["build-system"]["requires"], "pip"]


def complete(wheels: Path, system: str, python: str, fetch: Fetch) -> list[str]:
    """Fetch until every requirement of every wheel is there; returns what could not be had."""
    asked, wanted = set(), needs()
    left = []
    while wanted:
        asked |= set(wanted)
        try:
            fetch(wanted, system, python, wheels)
        except OSError as error:
            left.append(f"{system}, Python {python}: {error}")
            break
        wanted = [need for need in missing(wheels, system, python) if need not in asked]
    return left


def missing(wheels: Path, system: str, python: str) -> list[str]:
    """Requirements of the wheels in a folder that no wheel in it meets, for a kind of machine."""
    known: dict[str, list[str]] = {}
    lines: list[str] = []
    for path in sorted(wheels.glob("*.whl")):
        name, version = path.name.split("-")[:2]
        known.setdefault(canonicalize_name(name), []).append(version)
        lines += _requires(path)
    where = SYSTEMS[system][1] | {
        "python_version": python, "python_full_version": f"{python}.0", "extra": "",
        "implementation_name": "cpython", "platform_python_implementation": "CPython",
    }  # fmt: skip
    found = []
    for need in map(Requirement, dict.fromkeys([*needs(), *lines])):
        if need.marker and not need.marker.evaluate(where):
            continue
        have = known.get(canonicalize_name(need.name), [])
        if not any(need.specifier.contains(version, prereleases=True) for version in have):
            need.marker = None
            found.append(str(need))
    return list(dict.fromkeys(found))


def _requires(wheel: Path) -> list[str]:
    with zipfile.ZipFile(wheel) as archive:
        name = next(n for n in archive.namelist() if n.endswith(".dist-info/METADATA"))
        return HeaderParser().parsestr(archive.read(name).decode()).get_all("Requires-Dist") or []


def _pip(requirements: list[str], system: str, python: str, wheels: Path) -> None:
    """Ask pip for wheels.

    Raises
    ------
    OSError
        If pip cannot have them; the message is pip's last line.
    """
    command = [
        sys.executable, "-m", "pip", "download", "--quiet", "--disable-pip-version-check",
        "--only-binary=:all:", "--implementation=cp", f"--python-version={python}",
        f"--dest={wheels}", *(f"--platform={each}" for each in SYSTEMS[system][0]),
    ]  # fmt: skip
    done = subprocess.run([*command, *requirements], capture_output=True, text=True)
    if done.returncode:
        said = [line for line in done.stderr.strip().splitlines() if "notice" not in line]
        raise OSError(said[-1] if said else "pip gave no reason")
