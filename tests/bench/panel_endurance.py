"""What panels cost a notebook that stays open: memory over thousands of moves, processor at rest.

    python tests/bench/panel_endurance.py [moves]    5,000 where nothing else is said

First one panel is moved and moved, each of its sliders in turn, all along and back, a move each
display frame; after each fifth of the moves stand what kernel and page hold, the page's after its
own collection of what nobody needs. Then one panel and thirty are open in a page: what kernel,
server and browser take of the processor in half a minute in which nobody moves anything, once as
for somebody who asked for no motion, and once with the cutaways in sight moving.
"""

from __future__ import annotations

import itertools
import sys
import tempfile
import time
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE.parent / "browser"), str(HERE.parents[1])]

import psutil  # noqa: E402
from conftest import CHROMIUM, FLAGS, Lesson, Server, missing, write_notebook  # noqa: E402

from boxlab import explainers  # noqa: E402

PANEL = "from boxlab.explainers import explainer\nfrom boxlab.panel.live_panel import Panel\n"
MOVE = """async moves => {
    const sliders = [...document.querySelectorAll(".boxlab-stage input[type=range]")];
    const frame = () => new Promise(requestAnimationFrame);
    for (let i = 0; i < moves; i++) {
        const slider = sliders[Math.floor(i / 50) % sliders.length];
        const [low, high] = [+slider.min, +slider.max];
        if (i % 50 === 0) slider.focus();
        slider.value = low + (high - low) * (0.5 + 0.5 * Math.sin(i / 8));
        slider.dispatchEvent(new Event("input"));
        await frame();
    }
}"""


def opened(browser, server, cells, motion="no-preference"):
    path = f"b{time.monotonic_ns()}.ipynb"
    write_notebook(server.folder / path, *cells)
    size = {"width": 1366, "height": 900}
    page = browser.new_context(viewport=size, reduced_motion=motion).new_page()
    lesson = Lesson(page, server, path)
    assert lesson.run_all(), lesson.errors()
    page.locator(".boxlab-stage svg .axis").first.wait_for()
    page.wait_for_timeout(3000)
    return page


def kernel_of(server) -> psutil.Process:
    """The one kernel that runs."""
    family = psutil.Process(server.process.pid).children(recursive=True)
    return next(one for one in family if any("ipykernel" in word for word in one.cmdline()))


def over_many_moves(browser, server, name, moves) -> None:
    page = opened(browser, server, [f"{PANEL}Panel(explainer({name!r}))"])
    kernel, tools = kernel_of(server), page.context.new_cdp_session(page)
    print(f"{name}: after moves, MB of the kernel, MB of the page's own memory, its elements")
    for done in range(0, moves + 1, max(moves // 5, 1)):
        if done:
            page.evaluate(MOVE, max(moves // 5, 1))
            page.wait_for_timeout(2000)
        tools.send("HeapProfiler.collectGarbage")
        held = tools.send("Runtime.getHeapUsage")["usedSize"]
        elements = page.locator(".boxlab-stage *").count()
        kernel_holds = kernel.memory_info().rss
        print(f"{done:>6} {kernel_holds / 1e6:>8.1f} {held / 1e6:>8.1f} {elements:>6}", flush=True)
    page.context.close()
    server.end_kernels()


def at_rest(browser, server, count, motion, seconds=30) -> None:
    names = [item.name for item in explainers.all_explainers()]
    cells = [f"{PANEL}Panel(explainer({name!r}))" for name in itertools.islice(names, count)]
    page = opened(browser, server, cells, motion)
    page.wait_for_timeout(5000)
    kernel, lab = kernel_of(server), psutil.Process(server.process.pid)
    mine = psutil.Process().children(recursive=True)
    pages = [one for one in mine if "chromium" in one.name() or "chrome" in one.name()]

    def spent(processes):
        return sum(sum(one.cpu_times()[:2]) for one in processes if one.is_running())

    rows = {"kernel": [kernel], "server": [lab], "browser": pages}
    before = {row: spent(of) for row, of in rows.items()}
    page.wait_for_timeout(seconds * 1000)
    took = {row: 100 * (spent(of) - before[row]) / seconds for row, of in rows.items()}
    held = kernel.memory_info().rss / 1e6
    print(
        f"{count} panels at rest, motion {'off' if motion == 'reduce' else 'on'}: "
        + ", ".join(f"{row} {share:.1f} %" for row, share in took.items())
        + f" of a core; kernel holds {held:.0f} MB",
        flush=True,
    )
    page.context.close()
    server.end_kernels()


def main(moves: int) -> None:
    if missing():
        sys.exit(f"skipped: {missing()}")
    from playwright.sync_api import sync_playwright

    with tempfile.TemporaryDirectory() as folder, sync_playwright() as play:
        server = Server(Path(folder))
        browser = play.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        try:
            if moves:
                over_many_moves(browser, server, "port_or_radiator", moves)
            for count in (1, 30):
                for motion in ("reduce", "no-preference"):
                    at_rest(browser, server, count, motion)
        finally:
            browser.close()
            server.stop()


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 5000)
