"""Players on a page: the sound inside is the rendered one, and nothing plays by itself."""

import base64
import io
import re

import html5lib
import numpy as np
import pytest
from scipy.io import wavfile

from boxlab.gear.demo_listening import BUILDS, box_of, shelf, small_speaker
from boxlab.model.response import solve
from boxlab.sound.listening import audition, sweep
from boxlab.sound.players import Players, turned

HEARD = audition(shelf(), rate=4000)
PLAYERS = Players(HEARD, ("as played", "sealed", "radiator"), "A bass line", loop=True)


def page():
    return PLAYERS._repr_mimebundle_()["text/html"]


def elements(name):
    tree = html5lib.parse(page(), namespaceHTMLElements=False)
    return list(tree.iter(name))


def test_each_player_holds_its_own_sound():
    found = elements("audio")
    assert len(found) == 3
    for element, name in zip(found, PLAYERS.names, strict=True):
        kind, data = element.get("src").split(",")
        assert kind == "data:audio/wav;base64"
        rate, samples = wavfile.read(io.BytesIO(base64.b64decode(data)))
        assert rate == 4000
        assert samples / 32767 == pytest.approx(HEARD.sounds[name], abs=2e-5)
        assert name in element.get("aria-label")


def test_nothing_plays_by_itself_and_the_caution_comes_first():
    for element in elements("audio"):
        assert element.get("autoplay") is None
        assert element.get("controls") is not None
        assert element.get("loop") is not None
    assert page().index(HEARD.caution[:30]) < page().index("<audio")
    assert "loop" not in Players(HEARD, ("sealed",), "Once")._repr_mimebundle_()["text/html"]


def test_pages_stay_small_and_the_same():
    assert 100e3 < PLAYERS.size < 175e3
    again = Players(audition(shelf(), rate=4000), PLAYERS.names, "A bass line", loop=True)
    assert again._repr_mimebundle_() == PLAYERS._repr_mimebundle_()


def test_no_sample_lies_on_the_edge_between_two_steps():
    # There the last bit could fall either way on another machine, and the page with it.
    for sound in HEARD.sounds.values():
        part = np.abs(sound * 32767) % 1
        assert np.abs(part - 0.5).min() > 1e-9


def test_labels_say_what_the_match_did():
    louder = HEARD.gains["sealed"] - HEARD.gains["ported"]
    assert f"sealed (turned up {louder:.1f} dB to match)" in page()
    assert PLAYERS.label("as played") == "as played"
    text = PLAYERS._repr_mimebundle_()["text/plain"]
    assert re.search(r"radiator \(turned up [\d.]+ dB to match\), 5.2 s", text)
    assert turned(-2.04) == "down 2.0 dB"


def test_a_name_that_is_not_there():
    with pytest.raises(ValueError, match="there is as played, sealed, radiator, ported"):
        Players(HEARD, ("horn",), "x")


def test_the_shelf_holds_one_driver_in_one_volume():
    boxes = shelf()
    assert set(boxes) == set(BUILDS)
    assert len({driver for driver, _ in boxes.values()}) == 1
    assert len({box.volume for _, box in boxes.values()}) == 1
    assert box_of("ported").tuning() == pytest.approx(45)
    with pytest.raises(ValueError):
        box_of("radiator", volume=0.3, fb=60.0)


def test_small_speaker_is_maximally_flat_and_takes_its_resonance():
    speaker = small_speaker(300.0)
    assert speaker.fs == pytest.approx(300)
    assert speaker.qts == pytest.approx(np.sqrt(0.5), abs=0.001)
    low = solve(speaker, None, [30.0, 60.0]).spl
    assert np.diff(low) == pytest.approx(12.04, abs=0.1)  # second order: 12 dB an octave


def test_sweep_ends_in_the_silence_asked_for():
    tone = sweep(20, 160, 3.0, 4000, rest=0.25)
    assert tone.size == 13000
    assert not tone[-1000:].any()
    assert tone[-1500:-1000].any()
