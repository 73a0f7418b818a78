"""One real Chromium through the hub: login, the first page, a file to hand in."""

from __future__ import annotations

import os
import re
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[3]
sys.path[:0] = [str(ROOT / "tests" / "browser"), str(ROOT)]


def report(hub, name: str) -> None:
    """Print what a browser sees; says so where there is none."""
    from conftest import CHROMIUM, FLAGS, missing

    if missing():
        print(f"no browser: {missing()}")
        return
    from playwright.sync_api import Error, sync_playwright

    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        try:
            if hub.trust is not True:
                try:
                    browser.new_page().goto(hub.base)
                except Error as error:
                    print(f"  the browser warns first: {str(error).splitlines()[0][11:48]}")
            page = browser.new_page(
                viewport={"width": 1280, "height": 1100}, ignore_https_errors=True
            )
            elsewhere = []
            page.on("request", lambda r: elsewhere.append(r.url) if _outside(r.url) else None)
            seen = evening(page, hub.base, name, hub.password_of(name))
        finally:
            browser.close()
    print(
        f"Chromium, load {os.getloadavg()[0]:.1f}: kernel ready {seen[0]:.1f} s after login, every "
        f"cell of the first page run after {seen[1]:.1f} s, a file made; requests to elsewhere "
        f"{len(elsewhere)}",
        flush=True,
    )


def evening(page, base: str, name: str, password: str) -> tuple[float, float]:
    """What a learner new here does; seconds to the kernel and to the last cell."""
    page.goto(base)
    page.fill("input[name=username]", name)
    page.fill("input[name=password]", password)
    start = time.monotonic()
    page.click("input[type=submit], button[type=submit]")
    page.wait_for_url(f"{base}/user/{name}/lab/**", timeout=150_000)
    page.wait_for_selector(".jp-NotebookPanel .jp-Cell", timeout=120_000)
    idle = page.get_by_text(re.compile(r"\| Idle$"))
    idle.wait_for(timeout=120_000)
    ready = time.monotonic() - start
    page.get_by_role("menuitem", name="Run", exact=True).click()
    page.get_by_text("Run All Cells", exact=True).click()
    make = page.get_by_role("button", name="Make my file")  # near the end of the page
    make.wait_for(timeout=180_000, state="attached")
    idle.wait_for(timeout=180_000)
    done = time.monotonic() - start
    page.get_by_role("radio").first.check()
    page.get_by_role("button", name="Commit my prediction").first.click()
    make.scroll_into_view_if_needed()
    make.click()
    page.get_by_text("It lies beside this page").first.wait_for(timeout=20_000)
    return ready, done


def _outside(url: str) -> bool:
    return not re.match(r"(https?|wss?)://127\.0\.0\.1[:/]|data:|blob:|about:", url)
