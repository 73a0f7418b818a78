"""A real JupyterLab in a real browser: `lab(notebook)` opens a copy, runs it and gives a page.

Skipped, with the reason, where Chromium or playwright is not installed.
"""

from __future__ import annotations

import contextlib
import json
import os
import re
import secrets
import shutil
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from pathlib import Path

import numpy as np
import pytest

from boxlab.base.both_units import both_units
from boxlab.draw.stage.state import STEPS, along
from boxlab.start import LAB

with contextlib.suppress(ImportError):  # `missing` says so
    from playwright.sync_api import expect

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "tests"))  # for made_up
PATIENCE = 90_000  # ms: how long a page may take on a computer with much to do
CHROMIUM = shutil.which("chromium") or "/usr/bin/chromium"
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


def missing() -> str:
    """Why browser tests cannot run here, or nothing."""
    if not Path(CHROMIUM).exists():
        return "Chromium is not installed: apt-get install chromium, or your system's way"
    try:
        import playwright  # noqa: F401
    except ImportError:
        return "playwright is not installed: pip install -e '.[test]'"
    return ""


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


class Server:
    """JupyterLab on loopback over a folder of its own; `stop` ends it and its kernels."""

    def __init__(self, folder: Path):
        self.folder, self.boxlab_home = folder, folder / ".boxlab-home"
        self.port, token = free_port(), secrets.token_hex(16)
        self.query = f"token={token}"
        home = folder / ".jupyter-home"
        settings = home / "lab" / "user-settings" / "@jupyterlab" / "apputils-extension"
        settings.mkdir(parents=True)
        (settings / "notification.jupyterlab-settings").write_text(
            json.dumps({"fetchNews": "false", "checkForUpdates": False})
        )
        environment = os.environ | {
            "JUPYTER_CONFIG_DIR": str(home),
            "JUPYTER_RUNTIME_DIR": str(home / "runtime"),
            "JUPYTERLAB_SETTINGS_DIR": str(home / "lab" / "user-settings"),
            "JUPYTERLAB_WORKSPACES_DIR": str(home / "lab" / "workspaces"),
            "IPYTHONDIR": str(home / "ipython"),
            "BOXLAB_HOME": str(self.boxlab_home),  # never the learner record of whoever tests
            "PYTHONPATH": os.pathsep.join([str(ROOT), str(ROOT / "tests")]),
        }
        self.log = (folder / ".lab.log").open("w")
        self.process = subprocess.Popen(
            [
                sys.executable, "-m", *LAB, "--no-browser", "--allow-root",
                "--ip=127.0.0.1", f"--port={self.port}", "--ServerApp.port_retries=0",
                f"--IdentityProvider.token={token}", f"--ServerApp.root_dir={folder}",
                "--LabApp.expose_app_in_browser=True",  # tests ask it what a page off screen holds
            ],
            env=environment, stdout=self.log, stderr=subprocess.STDOUT, start_new_session=True,
        )  # fmt: skip
        self._wait()

    def _wait(self) -> None:
        until = time.monotonic() + 60
        while time.monotonic() < until:
            try:
                urllib.request.urlopen(self.url("api/status"), timeout=2).close()
                return
            except (urllib.error.URLError, OSError):
                if self.process.poll() is not None:
                    break
                time.sleep(0.2)
        self.stop()
        raise RuntimeError(f"JupyterLab did not start: {(self.folder / '.lab.log').read_text()}")

    def url(self, path: str) -> str:
        return f"http://127.0.0.1:{self.port}/{path}?{self.query}"

    def sessions(self) -> list[dict]:
        """Open notebooks and their kernels."""
        with urllib.request.urlopen(self.url("api/sessions"), timeout=30) as answer:
            return json.load(answer)

    def end_kernels(self, names=None) -> None:
        """Shut down the kernels of these notebooks, or all: many of them fill the memory."""
        for session in self.sessions():
            if names is not None and session["path"] not in names:
                continue
            request = urllib.request.Request(self.url(f"api/sessions/{session['id']}"))
            request.method = "DELETE"
            with contextlib.suppress(urllib.error.HTTPError):  # gone in the meantime
                urllib.request.urlopen(request, timeout=30).close()

    def stop(self) -> None:
        if self.process.poll() is None:
            os.killpg(self.process.pid, signal.SIGTERM)
            try:
                self.process.wait(15)
            except subprocess.TimeoutExpired:
                os.killpg(self.process.pid, signal.SIGKILL)
                self.process.wait()
        self.log.close()


class Lesson:
    """A notebook open in JupyterLab. `page` is playwright's; the rest are a learner's moves."""

    def __init__(self, page, server: Server, name: str):
        self.page, self.server, self.name = page, server, name
        page.goto(server.url(f"lab/tree/{name}").replace("?", "?reset&"))
        page.wait_for_selector(".jp-NotebookPanel .jp-Cell", timeout=PATIENCE)
        page.get_by_text(re.compile(r"\| Idle$")).wait_for(timeout=PATIENCE)

    def run_all(self, timeout: float = 300) -> bool:
        """Run from top to bottom, as the menu does, and wait for the end; whether all went well.

        The command itself says when it is done: a cell whose code is folded shows no number.
        """
        self.page.evaluate(
            """() => {
                window.ran = null;
                jupyterapp.commands.execute('notebook:run-all-cells').then(
                    done => { window.ran = String(done); }, why => { window.ran = String(why); });
            }"""
        )
        self.page.wait_for_function("() => window.ran !== null", timeout=timeout * 1000)
        return self.page.evaluate("window.ran") == "true"

    def errors(self) -> list[str]:
        """Text of every error output or stderr in the page."""
        seen = self.page.locator(
            ".jp-OutputArea-output[data-mime-type='application/vnd.jupyter.error'],"
            " .jp-OutputArea-output[data-mime-type='application/vnd.jupyter.stderr']"
        )
        return seen.all_inner_texts()

    def panel(self, index: int = 0):
        """The live panel number `index` of the page, once its picture is there."""
        panel = self.page.locator(".boxlab-stage").nth(index)
        panel.locator("svg.plot .axis").first.wait_for(timeout=PATIENCE)
        panel.scroll_into_view_if_needed()
        return panel

    def picture(self, desk) -> bytes:
        """The PNG that a desk shows now."""
        for _ in range(50):
            address = desk.locator("img.widget-image").get_attribute("src")
            data = self.page.evaluate(
                """async address => {
                    try {
                        const body = await (await fetch(address)).arrayBuffer();
                        return Array.from(new Uint8Array(body));
                    } catch { return null; }  // a newer picture took its place meanwhile
                }""",
                address,
            )
            if data:
                break
            self.page.wait_for_timeout(100)
        return bytes(data)

    def shows(self, panel, scene) -> None:
        """Wait until the panel shows this scene: its message and readout, the curves it draws."""
        message = panel.locator(".message")
        expect(message).to_have_text(metric(scene.message), timeout=PATIENCE)
        told = [words for words in scene.readout if words != scene.message]
        expect(panel.locator(".told > div > p:not(.careful)")).to_contain_text(
            [metric(words) for words in told], timeout=PATIENCE
        )
        same_curves(panel, scene)

    def drag(self, panel, slider: int, fraction: float, steps: int = 20) -> None:
        """Drag a slider by the mouse to a fraction of its length."""
        track = panel.locator("input[type=range]").nth(slider)
        box, mouse = track.bounding_box(), self.page.mouse
        low, high, now = track.evaluate("e => [+e.min, +e.max, +e.value]")
        inset, height = 8, box["y"] + box["height"] / 2  # half a knob at either end
        along = box["width"] - 2 * inset
        mouse.move(box["x"] + inset + along * (now - low) / (high - low), height)
        mouse.down()
        mouse.move(box["x"] + inset + along * fraction, height, steps=steps)
        mouse.up()

    def press(self, panel, slider: int, key: str, times: int = 1) -> None:
        """Move a slider by the keyboard."""
        panel.locator("input[type=range]").nth(slider).focus()
        for _ in range(times):
            self.page.keyboard.press(key)


def metric(words: str) -> str:
    """A sentence as the stage has it in metric units."""
    return re.sub(r" \([^()]*(?:in|ft³|ft|oz|lb|in³|in²|ft/s²?|lbf|°F)\)", "", both_units(words))


def same_curves(stage, scene, place: int = 0, away: float = 1.2) -> None:
    """Assert that the curves of plot `place`, which is the one that shows, are the scene's.

    No point of a curve, where it is inside the axes, is more than `away` px off the line drawn.
    """
    plot, lines = scene.plots[place], scene.plots[place].lines
    seen = stage.evaluate(
        """root => {
            const { view } = root.stage;
            const paths = [...view.curves.querySelectorAll("path")].map((path) => {
                const far = path.getTotalLength();
                return [...Array(3000).keys()].map((i) => path.getPointAtLength(far * i / 2999))
                    .map((p) => [p.x, p.y]);
            });
            return { left: view.left, top: view.top, across: view.across, high: view.high, paths };
        }"""
    )
    assert len(seen["paths"]) == len(lines)
    for line, path in zip(lines, seen["paths"], strict=True):
        if line.kind not in ("line", "steps"):
            continue
        x, y = np.asarray(line.x, float), np.asarray(line.y, float)
        across, up = along(x, plot.xlim, plot.xscale), along(y, plot.ylim, plot.yscale)
        inside = (across >= 0) & (across <= STEPS) & (up > 0) & (up < STEPS)
        if not inside.any():
            continue
        px = seen["left"] + seen["across"] * across[inside] / STEPS
        py = seen["top"] + seen["high"] * (1 - up[inside] / STEPS)
        on = np.array(path)
        off = np.hypot(px[:, None] - on[:, 0], py[:, None] - on[:, 1]).min(1)
        assert off.max() < away, f"{line.label}: {off.max():.1f} px off"


def write_notebook(path: Path, *cells: str) -> None:
    """A notebook of code cells."""
    import nbformat

    book = nbformat.v4.new_notebook()
    book.cells = [nbformat.v4.new_code_cell(cell) for cell in cells]
    book.metadata["kernelspec"] = {
        "name": "python3", "display_name": "Python 3", "language": "python",
    }  # fmt: skip
    nbformat.write(book, path)


@pytest.fixture(scope="module")
def chromium():
    """A browser for one file of tests: while playwright's is open, its event loop counts as running
    in this thread, and tests of other folders would find themselves inside it."""
    if missing():
        pytest.skip(missing())
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture
def visit(chromium):
    """`visit(address, **options)` opens a page; its `noise` is what should not have happened."""
    contexts = []

    def opened(address, **options):
        context = chromium.new_context(**options)
        contexts.append(context)
        page = context.new_page()
        noise = page.noise = []

        def asked(request):
            if not request.url.startswith(("file:", "data:")):
                noise.append(f"request: {request.url}")

        page.on("console", lambda message: noise.append(message.text))
        page.on("pageerror", lambda error: noise.append(str(error)))
        page.on("requestfailed", lambda request: noise.append(f"failed: {request.url}"))
        page.on("request", asked)
        page.goto(address)
        page.wait_for_load_state()
        return page

    yield opened
    for context in contexts:
        context.close()


@pytest.fixture(scope="session")
def server(tmp_path_factory):
    if missing():
        pytest.skip(missing())
    running = Server(tmp_path_factory.mktemp("lab"))
    yield running
    running.stop()


@pytest.fixture(scope="module")
def profile(chromium, server):
    """One context of the browser for a file of tests: JupyterLab's own code stays in its cache."""
    context = chromium.new_context()
    yield context
    context.close()


@contextlib.contextmanager
def opening(profile, server):
    """`lab(path)` opens a copy of a notebook; `lab(cells=[...])` one made of these cells.

    It begins with an empty learner's record, as a word set in another would draw other numbers
    here, and with nothing that another page left in the browser.
    """
    lessons = []
    for kept in server.boxlab_home.glob("progress.*"):
        kept.unlink()

    def opened(path=None, cells=(), width=1280, height=1500) -> Lesson:
        name = f"{secrets.token_hex(4)}-{Path(path).name if path else 'made.ipynb'}"
        if path:
            shutil.copy(path, server.folder / name)
            for beside in ("a-box-comes-in", "recordings"):  # files that lessons read
                if path == ROOT / "lessons" / Path(path).name:
                    shutil.copytree(
                        path.parent / beside, server.folder / beside, dirs_exist_ok=True
                    )
        else:
            write_notebook(server.folder / name, *cells)
        page = profile.new_page()
        page.set_viewport_size({"width": width, "height": height})
        if not lessons:
            page.goto(server.url("api/status"))
            page.evaluate("localStorage.clear()")
        lessons.append(Lesson(page, server, name))
        return lessons[-1]

    yield opened
    for lesson in lessons:
        lesson.page.close()
    server.end_kernels([lesson.name for lesson in lessons])


@pytest.fixture
def lab(profile, server):
    """See `opening`; for one test."""
    with opening(profile, server) as lab:
        yield lab
