"""One real Chromium through the hub: from the login form to new pixels in JupyterLab."""

from __future__ import annotations

import os
import re
import statistics
import sys
import time
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE.parent), str(HERE.parents[1] / "browser")]

LESSON, MOVES = "boxlab/lessons/01-port-or-radiator.ipynb", 20


def report(hub) -> None:
    """Print what a browser sees; says so where there is none."""
    from panel_latency import CHROMIUM, FLAGS, WATCH, Lesson, missing, percentile

    if missing():
        print(f"no browser: {missing()}")
        return
    from playwright.sync_api import sync_playwright

    class Here(Lesson):
        """The lesson behind the hub's address, already open in `page`."""

        def __init__(self, page):
            self.page = page

    name = "learner-browser"
    mine = f"{hub.base}/user/{name}"
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        try:
            page = browser.new_page(viewport={"width": 1280, "height": 1100})
            elsewhere = []
            page.on("request", lambda r: elsewhere.append(r.url) if _outside(r.url) else None)
            page.goto(f"{hub.base}/hub/login?next=/user-redirect/lab/tree/{LESSON}")
            page.fill("input[name=username]", name)
            page.fill("input[name=password]", hub.password)
            start = time.monotonic()
            page.click("input[type=submit], button[type=submit]")
            page.wait_for_url(f"{mine}/lab/**", timeout=120_000)
            page.wait_for_selector(".jp-NotebookPanel .jp-Cell", timeout=120_000)
            page.get_by_text(re.compile(r"\| Idle$")).wait_for(timeout=120_000)
            ready = time.monotonic() - start
            lesson = Here(page)
            lesson.run_all()
            done = time.monotonic() - start
            lesson.panel(0)
            page.evaluate(WATCH)
            page.wait_for_timeout(1500)
            taken, handle = [], page.locator(".noUi-handle").first
            handle.focus()
            for move in range(MOVES):
                page.evaluate("() => { window.seen = []; window.keys = []; }")
                page.keyboard.press("ArrowRight" if move < MOVES / 2 else "ArrowLeft")
                page.wait_for_function("() => window.seen.length", timeout=15_000)
                taken.append(page.evaluate("() => window.seen[0][0] - window.keys[0]"))
                page.wait_for_timeout(900)
            each = hub.memory()
            memory = sum(each[kind]["pss"] for kind in ("server", "kernel"))
            print(
                f"Chromium, load {os.getloadavg()[0]:.1f}: kernel ready {ready:.1f} s after login,"
                f" every cell run (the machine check too) after {done:.1f} s; key to new pixels"
                f" {statistics.median(taken):.0f} ms median, {percentile(taken, 0.95):.0f} ms 95th;"
                f" its server and kernel {memory:.0f} MB PSS; errors on the page"
                f" {len(lesson.errors())}; requests to elsewhere {len(elsewhere)}",
                flush=True,
            )
        finally:
            browser.close()


def _outside(url: str) -> bool:
    return not re.match(r"(https?|wss?)://127\.0\.0\.1[:/]|data:|blob:|about:", url)
