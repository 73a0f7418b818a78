"""Is this laptop ready for a class? Trials beyond `laptop_check`: room, widgets, server, a lesson.

Nothing is changed and nothing goes out: the server listens on loopback only and is stopped.
"""

from __future__ import annotations

import json
import os
import re
import secrets
import shutil
import socket
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
from importlib import metadata
from pathlib import Path

from boxlab.publish.notebooks import LESSONS, ROOT, read, run

DISK, MEMORY = 0.5, 1.0  # GB free: for files and caches, and for a browser beside a kernel
PATIENCE = 90  # s for JupyterLab to answer on a slow machine
# Put before a lesson's first cell: any way out of this machine fails as it would with no network.
SHUT = """\
import socket
def _refuse(*address, **more):
    raise OSError("the network is shut for this trial")
_connect, _find = socket.socket.connect, socket.getaddrinfo
def _local(host):
    return host in ("localhost", "", None) or str(host).startswith(("127.", "::1"))
def _guarded(self, address):
    inside = not isinstance(address, tuple) or _local(address[0])
    return _connect(self, address) if inside else _refuse()
def _looked(host, *rest, **more):
    return _find(host, *rest, **more) if _local(host) else _refuse()
socket.socket.connect, socket.getaddrinfo = _guarded, _looked"""


def free_memory(source: Path = Path("/proc/meminfo")) -> float | None:
    """Memory that programs can still have, GB; None where this system does not say."""
    try:
        found = re.search(r"MemAvailable:\s+(\d+) kB", source.read_text(encoding="ascii"))
        return int(found[1]) / 1e6 if found else None
    except OSError:
        pass
    if sys.platform == "win32":
        return _windows_memory()
    return None


def _windows_memory() -> float | None:
    import ctypes

    class Status(ctypes.Structure):
        _fields_ = [("length", ctypes.c_ulong), ("load", ctypes.c_ulong)] + [
            (name, ctypes.c_ulonglong) for name in ("total", "free", *"abcde")
        ]

    status = Status(length=ctypes.sizeof(Status))
    good = ctypes.windll.kernel32.GlobalMemoryStatusEx(ctypes.byref(status))
    return status.free / 1e9 if good else None


def room() -> str:
    """Whether there is disk and memory for a lesson."""
    disk = shutil.disk_usage(tempfile.gettempdir()).free / 1e9
    memory = free_memory()
    if disk < DISK:
        raise RuntimeError(f"{disk:.1f} GB of disk are free; make it {DISK} GB or more")
    if memory is None:
        return f"{disk:.1f} GB of disk free; this system does not say how much memory is"
    if memory < MEMORY:
        raise RuntimeError(
            f"{memory:.1f} GB of memory are free; close other programs until {MEMORY:g} GB are"
        )
    return f"{disk:.1f} GB of disk and {memory:.1f} GB of memory free"


def widgets() -> str:
    """Whether the sliders' two halves, in the kernel and in the browser, are there and agree."""
    kernel, page = metadata.version("ipywidgets"), metadata.version("jupyterlab_widgets")
    if kernel.split(".")[0] != "8" or page.split(".")[0] != "3":
        raise RuntimeError(
            f"ipywidgets {kernel} and jupyterlab_widgets {page}; they should be 8, 3"
        )
    from jupyter_core.paths import jupyter_path

    place = "labextensions/@jupyter-widgets/jupyterlab-manager/package.json"
    for folder in jupyter_path():
        if (file := Path(folder, place)).is_file():
            found = json.loads(file.read_text(encoding="utf-8"))["version"]
            return f"ipywidgets {kernel}, and its half in JupyterLab {found}"
    raise RuntimeError("JupyterLab has no part that shows sliders (jupyterlab_widgets)")


def lesson() -> str:
    """Run the first lesson from top to bottom with the network shut."""
    from nbformat import v4

    path = LESSONS / "00-start-here.ipynb"
    if not path.is_file():
        raise RuntimeError(f"there is no {path.name}; run this from a clone of boxlab")
    saved, again = read(path), read(path)
    again.cells.insert(0, v4.new_code_cell(SHUT))
    begin = time.perf_counter()
    with tempfile.TemporaryDirectory() as home:
        before = os.environ.get("BOXLAB_HOME")
        os.environ["BOXLAB_HOME"] = home  # a trial leaves no trace in anybody's progress
        try:
            run(again, path.parent)
        finally:
            os.environ.pop("BOXLAB_HOME")
            if before is not None:
                os.environ["BOXLAB_HOME"] = before
    pairs = zip(saved.cells, again.cells[1:], strict=True)
    other = sum(_words(old) != _words(new) for old, new in pairs)
    said = f"; {other} of its cells print other words than when saved" if other else ""
    spent = time.perf_counter() - begin
    return f"{path.stem} ran with the network shut, in {spent:.0f} s{said}"


def _words(cell) -> str:
    return "".join(
        output.get("text", "") or output.get("data", {}).get("text/plain", "")
        for output in cell.get("outputs", ())
    )


def server(patience: float = PATIENCE) -> str:
    """Start JupyterLab, ask for its page, see that it needs nothing from outside, stop it."""
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as home:
        token, port, begin = secrets.token_hex(16), _free_port(), time.perf_counter()
        log = Path(home, "log.txt")
        with log.open("w") as file:
            process = subprocess.Popen(
                _command(port), cwd=ROOT, stdout=file, stderr=subprocess.STDOUT,
                env=os.environ | {"JUPYTER_TOKEN": token} | _homes(home),
            )  # fmt: skip
            try:
                page = _page(process, port, token, begin + patience, log)
            finally:
                process.terminate()
                try:
                    process.wait(10)
                except subprocess.TimeoutExpired:
                    process.kill()
                    process.wait()
    outside = sorted(set(re.findall(r"""(?:src|href)=["'](?:https?:)?//([^/"']+)""", page)))
    if outside:
        raise RuntimeError(f"its page wants something from {', '.join(outside)}")
    spent = time.perf_counter() - begin
    return f"JupyterLab answered in {spent:.0f} s, and its page needs nothing from outside"


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def _homes(home: str) -> dict[str, str]:
    return {
        f"JUPYTER{name}_DIR": str(Path(home, name.lower() or "data"))
        for name in ("_CONFIG", "_RUNTIME", "LAB_SETTINGS", "LAB_WORKSPACES")
    }


def _command(port: int) -> list[str]:
    command = [
        sys.executable, "-m", "jupyterlab", "--no-browser", "--ip=127.0.0.1", f"--port={port}",
        "--ServerApp.port_retries=0", f"--ServerApp.root_dir={ROOT}",
    ]  # fmt: skip
    return [*command, "--allow-root"] if getattr(os, "geteuid", lambda: 1)() == 0 else command


def _page(process, port: int, token: str, until: float, log: Path) -> str:
    """JupyterLab's page as it would reach a browser."""
    # No proxy stands between this machine and itself.
    opener = urllib.request.build_opener(urllib.request.ProxyHandler({}))
    while time.perf_counter() < until:
        try:
            with opener.open(f"http://127.0.0.1:{port}/lab?token={token}", timeout=10) as answer:
                page = answer.read().decode()
            if "jupyter-config-data" not in page:
                raise RuntimeError("something answers where JupyterLab should, but it is not it")
            return page
        except (urllib.error.URLError, OSError):
            if process.poll() is not None:
                last = log.read_text(errors="replace").strip().splitlines() or ["no word"]
                raise RuntimeError(f"JupyterLab stopped: {last[-1]}") from None
            time.sleep(0.3)
    raise RuntimeError("JupyterLab did not answer in time; close other programs and try again")


TRIALS = (("Room", room), ("Sliders", widgets), ("JupyterLab", server), ("First lesson", lesson))
