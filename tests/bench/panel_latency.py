"""From a slider's move to new pixels, in JupyterLab in Chromium, beside a plain `interact`.

    python tests/bench/panel_latency.py [explainer ...]    these, each beside the others below
    python tests/bench/panel_latency.py all                every panel alone: 25 minutes

Beside a panel stand three other ways to show the same figure. `interact` draws it anew with
Matplotlib on each move. `crisp` does so at twice the density, as it must where a screen has it: a
panel shows its fine picture there once the hand rests, a plain redraw has no such second step.
`floor` draws nothing and shows one of two ready pictures in turn, so all of its time is the
page's, the server's and the kernel's; no panel can be faster.

Single moves are arrow keys, each once the last fine picture has come: from the key to the frame in
which the new picture is on the screen. A drag is three seconds of mouse moves at 30 a second. The
lag of a picture is the time from the move that set the value it shows to the frame that shows it;
that value is read from the picture file itself. Of the lags in a drag stand here the middle one,
the 95th of 100, and the worst. Bytes are all that came from the kernel by websocket. The machine's
load is printed first: busy cores lengthen every time.
"""

from __future__ import annotations

import math
import os
import re
import signal
import statistics
import sys
import tempfile
import time
from pathlib import Path

TESTS = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(TESTS / "browser"), str(TESTS.parent)]

from conftest import CHROMIUM, FLAGS, Lesson, Server, missing, write_notebook  # noqa: E402

from boxlab import explainers  # noqa: E402

MOVES, RATE, SECONDS = 24, 30, 3
ENDS = "now", "min", "max"
KINDS = "panel", "interact", "crisp", "floor"

# Counts what comes by websocket, in the page: told of each, the test driver would take time that
# two cores do not have. And keeps picture files, so that none is fetched again to be read.
BEFORE = """
    window.received = 0;
    window.WebSocket = class extends WebSocket {
        constructor(...given) {
            super(...given);
            this.addEventListener('message', event => {
                window.received += event.data.byteLength ?? event.data.length;
            });
        }
    };
    const files = new Map(), make = URL.createObjectURL, drop = URL.revokeObjectURL;
    URL.createObjectURL = file => { const url = make(file); files.set(url, file); return url; };
    URL.revokeObjectURL = url => { setTimeout(() => files.delete(url), 3000); drop(url); };
    window.noteOf = async url => {
        const file = files.get(url);
        if (!file) return '';
        return new TextDecoder('latin1').decode(await file.slice(0, 4000).arrayBuffer());
    };
"""

# Notes each picture once it is on the screen, with the settings kept in the file.
WATCH = """() => {
    window.seen = []; window.keys = [];
    document.addEventListener('keydown', () => window.keys.push(performance.now()), true);
    document.addEventListener('load', event => {
        const image = event.target;
        if (image.tagName !== 'IMG') return;
        const note = window.noteOf(image.src);
        requestAnimationFrame(() => setTimeout(() => {
            const at = performance.now();
            note.then(text => window.seen.push([at, text]));
        }, 0));
    }, true);
}"""


def cells(name: str) -> dict[str, str]:
    find = (
        "from made_up import MADE_UP as item"
        if name == "made_up"
        else f"from boxlab.explainers import explainer; item = explainer({name!r})"
    )
    panel = f"{find}\nfrom boxlab.panel.live_panel import Panel\nPanel(item)"
    plain = f"""{find}
import matplotlib.pyplot as plt
from ipywidgets import FloatSlider, interact
from boxlab.draw.figures import draw
control = next(c for c in item.controls if hasattr(c, "low"))
slider = FloatSlider(value=control.start, min=control.low, max=control.high, step=control.step)
def show(value):
    figure = plt.figure(figsize=(8.2, 5.6), dpi=100)
    draw(item(**{{control.name: value}}), figure)
    plt.show()
interact(show, value=slider);"""
    crisp = "%config InlineBackend.figure_format = 'retina'\n" + plain
    floor = f"""{find}
from ipywidgets import FloatSlider, Image, VBox
from boxlab.panel.live_panel import Panel
control = next(c for c in item.controls if hasattr(c, "low"))
slider = FloatSlider(value=control.start, min=control.low, max=control.high, step=control.step)
panel = Panel(item)
ready = [panel.face.image.value]
panel.set(**{{control.name: control.low}})
ready.append(panel.face.image.value)
image = Image(value=ready[0])
def show(change):
    ready.reverse()
    image.value = ready[0]
slider.observe(show, "value")
VBox([slider, image])"""
    return {"panel": panel, "interact": plain, "crisp": crisp, "floor": floor}


class Watched:
    """A notebook with one slider to move, and what the page saw of its pictures."""

    def __init__(self, browser, server, cell, density):
        name = f"b{time.monotonic_ns()}.ipynb"
        write_notebook(server.folder / name, cell)
        self.context = browser.new_context(
            viewport={"width": 1280, "height": 1100}, device_scale_factor=density
        )
        self.context.add_init_script(BEFORE)
        self.page = self.context.new_page()
        self.lesson = Lesson(self.page, server, name)
        self.lesson.run_all()
        self.page.locator(".noUi-handle").first.wait_for()
        self.page.evaluate(WATCH)
        self.page.wait_for_timeout(1500)

    def single_moves(self) -> list[float]:
        """Milliseconds from each key to the first new picture on the screen."""
        page, taken = self.page, []
        handle = page.locator(".noUi-handle").first
        handle.focus()
        for move in range(MOVES):
            page.evaluate("() => { window.seen = []; window.keys = []; }")
            now, low, high = (float(handle.get_attribute(f"aria-value{end}")) for end in ENDS)
            up = now <= low or (move < MOVES / 2 and now < high)
            page.keyboard.press("ArrowRight" if up else "ArrowLeft")
            page.wait_for_function("() => window.seen.length", timeout=10_000)
            taken.append(page.evaluate("() => window.seen[0][0] - window.keys[0]"))
            page.wait_for_timeout(700)
        return taken

    def drag(self):
        """Hand positions [(ms, value)], pictures [(ms, text)] and bytes of a drag."""
        page = self.page
        box = page.locator(".noUi-handle").first.bounding_box()
        track = page.locator(".noUi-base").first.bounding_box()
        y = box["y"] + box["height"] / 2
        page.evaluate(
            """() => {
                window.seen = []; window.hand = [];
                const slider = document.querySelector('.noUi-target').noUiSlider;
                slider.on('slide', () => window.hand.push([performance.now(), slider.get(true)]));
            }"""
        )
        page.mouse.move(box["x"] + box["width"] / 2, y)
        page.mouse.down()
        before = page.evaluate("window.received")
        start, count = time.monotonic(), RATE * SECONDS
        for move in range(count):
            # Half-way moves keep to the middle of the slider, where any box can be built.
            share = 0.3 + 0.2 * math.sin(2 * math.pi * move / 45)
            page.mouse.move(track["x"] + share * track["width"], y)
            page.wait_for_timeout(max(0, 1000 * (start + (move + 1) / RATE - time.monotonic())))
        end, sent = page.evaluate("[performance.now(), window.received]")
        page.mouse.up()
        page.wait_for_timeout(2500)
        return page.evaluate("window.hand"), page.evaluate("window.seen"), sent - before, end


def lags(hand, seen, name: str):
    """For each picture: ms since the hand set the value it shows. And whether the last landed."""
    found, shown = [], None
    for at, text in seen:
        match = re.search(rf"\b{name}=(-?[\d.]+)", text)
        if not match:
            continue
        if float(match[1]) == shown:
            continue  # the same state again, finer, with the hand at rest
        shown = float(match[1])
        times = [when for when, value in hand if abs(value - shown) < 1e-6 and when <= at]
        if times:
            found.append((at, at - times[-1]))
    return found, bool(hand) and abs(shown - hand[-1][1]) < 1e-6


def percentile(values, share):
    return sorted(values)[min(len(values) - 1, math.ceil(share * len(values)) - 1)]


def main(names) -> None:
    everything = names == ["all"]
    if everything:
        names = [item.name for item in explainers.all_explainers()]
    if missing():
        sys.exit(f"skipped: {missing()}")
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(1))  # so that the server ends with us
    from playwright.sync_api import sync_playwright

    head = "panel", "median", "p95", "lag in a drag", "pictures", "KB each", "last"
    print(f"load {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")
    print("{:<28} {:>8} {:>8} {:>16} {:>9} {:>8}  {}".format(*head))
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as play:
        server = Server(Path(folder))
        browser = play.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        try:
            for name in names:
                report(browser, server, name, ("panel",) if everything else KINDS)
        finally:
            browser.close()
            server.stop()


def report(browser, server, name, kinds) -> None:
    """Print the rows of one explainer: its panel, what stands beside it, and their ratios."""
    if name == "made_up":
        from made_up import MADE_UP as item
    else:
        item = explainers.explainer(name)
    slider = next(control for control in item.controls if hasattr(control, "low"))
    middle = {}
    for kind in kinds:
        cell = cells(name)[kind]
        watched = Watched(browser, server, cell, 2 if kind == "crisp" else 1)
        singles = watched.single_moves()
        middle[kind] = statistics.median(singles)
        p95 = percentile(singles, 0.95)
        row = f"{name + ' ' + kind:<28} {middle[kind]:>5.0f} ms {p95:>5.0f} ms"
        hand, seen, sent, end = watched.drag()
        during = [each for each in seen if each[0] <= end]
        size = sent / 1024 / max(1, len(during))
        if kind == "panel":
            found, landed = lags(hand, seen, slider.name)
            moving = [lag for at, lag in found if at <= end + 200]
            shares = (percentile(moving, share) for share in (0.5, 0.95, 1))
            row += " {:>3.0f} {:>3.0f} {:>3.0f} ms".format(*shares).rjust(17)
            row += f" {len(during):>9} {size:>8.0f}  "
            row += "landed" if landed else "LOST"
        else:
            late = max((at for at, _ in seen), default=end) - end
            row += f" {late:>13.0f} ms {len(during):>9} {size:>8.0f}  (lag: last picture)"
        print(row, flush=True)
        watched.context.close()
    for kind in kinds[1:]:
        ratio = middle[kind] / middle["panel"]
        print(f"{name + ' ' + kind + ' / panel':<40} {ratio:>6.1f} x", flush=True)


if __name__ == "__main__":
    main(sys.argv[1:] or ["made_up", "port_or_radiator"])
