"""From a hand's move to the picture of it, in JupyterLab in Chromium, beside a plain `interact`.

    python tests/bench/panel_latency.py [explainer ...]    these, each beside the others below
    python tests/bench/panel_latency.py all                every panel alone

Beside a panel stand two other ways. `interact` draws the same scene anew with Matplotlib on each
move. `floor` draws nothing: it shows one of two ready pictures in turn, so all of its time is the
page's, the server's and the kernel's.

`first` is the time from the hand's coming to a slider until a drag can be drawn from what the
kernel sent ahead. `single` is one move where nothing was sent ahead, to the frame that shows the
exact state. `late` is the worst of sixty moves, one each display frame, once the states along the
slider are there: from the move to the end of the frame that shows a state next to it; `shown` of
them differ. `exact` is the time from the last move to the exact state. Bytes are what came by
websocket for one state asked for singly, and for those ahead, in brackets how many.
"""

from __future__ import annotations

import os
import signal
import statistics
import sys
import tempfile
import time
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE.parent / "browser"), str(HERE.parents[1])]

from conftest import CHROMIUM, FLAGS, Lesson, Server, missing, write_notebook  # noqa: E402

from boxlab import explainers  # noqa: E402

MOVES = 16
PANEL = (HERE / "panel_latency.js").read_text(encoding="utf-8")

COUNT = """
    window.received = 0;
    window.WebSocket = class extends WebSocket {
        constructor(...given) {
            super(...given);
            this.addEventListener('message', event => {
                window.received += event.data.byteLength ?? event.data.length;
            });
        }
    };
"""

# One move of ipywidgets' slider to the next picture on the screen.
OTHER = """async moves => {
    const slider = document.querySelector('.noUi-target').noUiSlider, taken = [];
    const { min, max } = slider.options.range, low = min[0] ?? min, high = max[0] ?? max;
    let loaded = () => {};
    document.addEventListener('load', event => {
        if (event.target.tagName === 'IMG') requestAnimationFrame(() => setTimeout(loaded));
    }, true);
    for (let i = 1; i <= moves; i++) {
        const began = performance.now(), there = new Promise(go => { loaded = go; });
        slider.set(low + (high - low) * (0.3 + 0.02 * i), true);
        await Promise.race([there, new Promise(go => setTimeout(go, 5000))]);
        taken.push(performance.now() - began);
        await new Promise(go => setTimeout(go, 700));
    }
    return taken;
}"""


def cells(name: str) -> dict[str, str]:
    find = (
        "from made_up import MADE_UP as item"
        if name == "made_up"
        else f"from boxlab.explainers import explainer; item = explainer({name!r})"
    )
    slider = """
from ipywidgets import FloatSlider, Image, VBox, interact
from boxlab.draw import figures
control = next(c for c in item.controls if hasattr(c, "low"))
slider = FloatSlider(value=control.start, min=control.low, max=control.high, step=control.step)
"""
    interact = """
import matplotlib.pyplot as plt
def show(value):
    figure = plt.figure(figsize=(8.2, 5.6), dpi=100)
    figures.draw(item(**{control.name: value}), figure)
    plt.show()
interact(show, value=slider);"""
    floor = """
ready = [figures.png(figures.draw(item(**{control.name: v}))) for v in (control.start, control.low)]
image = Image(value=ready[0])
def show(change):
    ready.reverse()
    image.value = ready[0]
slider.observe(show, "value")
VBox([slider, image])"""
    return {
        "panel": f"{find}\nfrom boxlab.panel.live_panel import Panel\nPanel(item)",
        "interact": find + slider + interact,
        "floor": find + slider + floor,
    }


def measured(browser, server, name, kind):
    """What the page found out about one way of showing an explainer."""
    path = f"b{time.monotonic_ns()}.ipynb"
    write_notebook(server.folder / path, cells(name)[kind])
    context = browser.new_context(viewport={"width": 1366, "height": 900})
    context.add_init_script(COUNT)
    page = context.new_page()
    Lesson(page, server, path).run_all()
    there = ".boxlab-stage svg .axis" if kind == "panel" else ".noUi-handle"
    page.locator(there).first.wait_for()
    page.wait_for_timeout(1500)
    found = page.evaluate(PANEL if kind == "panel" else OTHER, MOVES)
    context.close()
    return found


def report(browser, server, name, kinds) -> None:
    """Print the row of one explainer, and the ratios to what stands beside it."""
    found = measured(browser, server, name, "panel")
    single = statistics.median(found["single"])
    print(
        f"{name:<26} {found['first']:>6.0f} {single:>7.0f} {max(found['late']):>6.0f}"
        f" {found['shown']:>4} of 60 {found['exact']:>6.0f} {found['each'] / 1024:>7.1f}"
        f" {found['sent'] / 1024:>8.0f} ({found['count']})",
        flush=True,
    )
    for kind in kinds:
        other = statistics.median(measured(browser, server, name, kind))
        print(f"{'':<26} {kind} {other:.0f} ms a move: {other / single:.1f} x", flush=True)


def main(names) -> None:
    everything = names == ["all"]
    if everything:
        items = explainers.all_explainers()
        names = [item.name for item in items if any(hasattr(c, "low") for c in item.controls)]
    if missing():
        sys.exit(f"skipped: {missing()}")
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(1))  # so that the server ends with us
    from playwright.sync_api import sync_playwright

    print(f"load {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores; times in ms")
    head = "panel", "first", "single", "late", "shown", "exact", "KB one", "KB ahead"
    print("{:<26} {:>6} {:>7} {:>6} {:>10} {:>6} {:>7} {:>8}".format(*head))
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as play:
        server = Server(Path(folder))
        browser = play.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        try:
            for name in names:
                report(browser, server, name, () if everything else ("interact", "floor"))
        finally:
            browser.close()
            server.stop()


if __name__ == "__main__":
    main(sys.argv[1:] or ["made_up", "port_or_radiator"])
