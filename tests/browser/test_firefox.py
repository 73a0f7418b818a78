"""A question of the site in Firefox, driven by the protocol that it speaks itself (WebDriver BiDi).

Skipped where Firefox is not installed. Nothing but the client of websockets that JupyterLab brings
is needed to talk to it.
"""

from __future__ import annotations

import json
import shutil
import subprocess
import time
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from threading import Thread

import pytest
from conftest import PATIENCE, free_port

from boxlab.explainers import explainer
from boxlab.publish.site import build

websocket = pytest.importorskip("websocket", reason="websocket-client comes with JupyterLab")
FIREFOX = shutil.which("firefox-esr") or shutil.which("firefox")
pytestmark = pytest.mark.skipif(FIREFOX is None, reason="Firefox is not installed")
NAME = "what_dba_hides"  # its table is soon worked out
DARK = 'user_pref("layout.css.prefers-color-scheme.content-override", 0);\n'


class Firefox:
    """One page in a Firefox without a window; `noise` is what should not have been logged."""

    def __init__(self, profile):
        (profile / "user.js").write_text(DARK)
        port = free_port()
        flags = ["--headless", "--no-remote"]
        self.process = subprocess.Popen(
            [FIREFOX, *flags, "--profile", str(profile), f"--remote-debugging-port={port}"],
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip
        self.noise, self.asked = [], 0
        until = time.monotonic() + PATIENCE / 1000
        while True:
            try:
                self.socket = websocket.create_connection(
                    f"ws://127.0.0.1:{port}/session", timeout=60, suppress_origin=True
                )
                break
            except (OSError, websocket.WebSocketException):
                if time.monotonic() > until:
                    self.process.kill()
                    raise
                time.sleep(0.3)
        self.ask("session.new", capabilities={})
        self.ask("session.subscribe", events=["log.entryAdded"])
        self.page = self.ask("browsingContext.create", type="tab")["context"]
        phone = {"width": 390, "height": 844}
        self.ask("browsingContext.setViewport", context=self.page, viewport=phone)

    def ask(self, method, **given):
        """One command and its answer; what is logged meanwhile goes to `noise`."""
        self.asked += 1
        self.socket.send(json.dumps({"id": self.asked, "method": method, "params": given}))
        while True:
            told = json.loads(self.socket.recv())
            if told.get("method") == "log.entryAdded":
                self.noise.append(told["params"]["text"])
            elif told.get("id") == self.asked:
                assert told["type"] == "success", told
                return told["result"]

    def open(self, address):
        self.ask("browsingContext.navigate", context=self.page, url=address, wait="complete")

    def run(self, code):
        """The value of JavaScript in the page."""
        made = self.ask(
            "script.evaluate", expression=f"JSON.stringify(({code}) ?? null)",
            target={"context": self.page}, awaitPromise=True,
        )  # fmt: skip
        assert made["type"] == "success", made
        return json.loads(made["result"]["value"])

    def until(self, true):
        """Wait until this is true in the page."""
        end = time.monotonic() + PATIENCE / 1000
        while not self.run(f"Boolean({true})"):
            assert time.monotonic() < end, f"never true: {true}"
            time.sleep(0.1)

    def press(self, *keys):
        """Keys one after the other, as from a keyboard."""
        moves = [{"type": kind, "value": key} for key in keys for kind in ("keyDown", "keyUp")]
        self.ask(
            "input.performActions", context=self.page,
            actions=[{"type": "key", "id": "keys", "actions": moves}],
        )  # fmt: skip

    def stop(self):
        self.socket.close()
        self.process.terminate()
        self.process.wait(30)


@pytest.fixture
def question(tmp_path):
    """A small site with one question, over HTTP on loopback, and its page open in Firefox."""
    from test_site import write_repository

    site, profile = tmp_path / "site", tmp_path / "profile"
    profile.mkdir()
    build(site, write_repository(tmp_path / "repository"), [explainer(NAME)])
    handler = partial(SimpleHTTPRequestHandler, directory=str(site))
    handler.log_message = lambda *said: None
    server = ThreadingHTTPServer(("127.0.0.1", 0), handler)
    Thread(target=server.serve_forever, daemon=True).start()
    firefox = Firefox(profile)
    try:
        firefox.open(f"http://127.0.0.1:{server.server_address[1]}/q/{NAME}.html")
        yield firefox
    finally:
        firefox.stop()
        server.shutdown()
        server.server_close()


STAGE = "document.querySelector('[data-stage]')"
PICTURE = f"{STAGE}.querySelector('.plot').innerHTML"


def test_a_question_moves_in_firefox_in_the_dark_on_a_narrow_page(question):
    question.until(f"{STAGE}.stage && {STAGE}.querySelector('.curves path')")
    start = explainer(NAME)()
    said = f"{STAGE}.querySelector('.message').textContent"
    assert question.run(said) == start.message
    before = question.run(PICTURE)
    question.run(f"{STAGE}.querySelector('input[type=range]').focus()")
    question.press(*["\ue014"] * 6)  # the right arrow
    question.until(f"{PICTURE} !== {json.dumps(before)}")
    name, first = next(iter(explainer(NAME).start.items()))
    shown = f"{STAGE}.stage.state.at[0]"  # the address says it, once all keys have come in
    question.until(f"{shown} > {first:g} && location.hash.includes('{name}=' + {shown})")
    ink = "getComputedStyle(document.querySelector('.sight')).backgroundColor"
    assert question.run(ink) == "rgb(21, 23, 27)"
    assert question.run("document.documentElement.scrollWidth - innerWidth") <= 0
    assert question.run("innerWidth") == 390
    assert question.noise == []
