"""The players of a lesson in real Chromium, under the page policy of the site."""

from __future__ import annotations

import re
import shutil

from conftest import ROOT

from boxlab.gear.demo_listening import shelf
from boxlab.publish.site.pages import quiet
from boxlab.sound.listening import audition
from boxlab.sound.players import START, Players


def test_sounds_play_under_the_policy_of_the_site(chromium, tmp_path):
    frame = (ROOT / "boxlab" / "publish" / "site" / "frame.html.j2").read_text(encoding="utf-8")
    policy = re.search(r"<meta http-equiv=.Content-Security-Policy.*?>", frame).group(0)
    players = Players(audition(shelf(), rate=4000), ("sealed", "radiator"), "A bass line")
    body = quiet(players._repr_mimebundle_()["text/html"])
    shutil.copy(ROOT / "boxlab/publish/site/site.js", tmp_path)
    script = "<button id=unfold></button><p id=said></p><script src=site.js></script>"
    path = tmp_path / "page.html"
    path.write_text(f"<!DOCTYPE html><meta charset=utf-8>{policy}{body}{script}", encoding="utf-8")
    page = chromium.new_page()
    noise = []
    page.on("console", lambda message: noise.append(message.text))
    page.on("pageerror", lambda error: noise.append(str(error)))
    page.goto(path.as_uri())
    first, second = (page.locator("audio").nth(k) for k in (0, 1))
    ready = "a => new Promise(done => a.readyState ? done(1) : a.onloadeddata = () => done(1))"
    assert first.evaluate(ready)
    assert first.evaluate("a => [a.paused, a.volume, a.error]") == [True, START, None]
    assert abs(first.evaluate("a => a.duration") - players.seconds("sealed")) < 0.01
    for player in (first, second):
        player.focus()
        page.keyboard.press("Space")
        page.wait_for_timeout(300)
    assert first.evaluate("a => a.paused")
    assert not second.evaluate("a => a.paused")
    assert noise == []
    page.close()
