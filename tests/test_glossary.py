"""The glossary says what the library says, and its links stay what they were."""

import importlib
import re
from functools import reduce

import numpy as np
import pytest

from boxlab.__main__ import main
from boxlab.base.quantities import find_unit
from boxlab.model.port_equivalent import longest_edge
from boxlab.model.response import solve
from boxlab.publish import glossary, lesson_rules

TERMS = [term for terms in glossary.TERMS.values() for term in terms]
# Links that people have made. Terms may come; none of these may go.
ANCHORS = {
    "fs", "qts", "vas", "sd", "xmax", "vd", "mms", "cms", "bl", "re", "efficiency", "net-volume",
    "sealed", "port", "radiator", "fb", "fp", "ql", "f3", "spl", "half-space", "impedance",
    "excursion", "air-speed", "vent-phase", "group-delay", "limit", "rms", "crest", "awg",
    "cabin-gain", "dba", "stop", "vap", "needed-ratio", "qr", "pipe", "peaks", "sag", "small-k",
    "footing", "weakest-note", "front", "clipping", "first-mode", "dose", "warm-coil",
    "thermal-resistance", "end-correction", "centre-line", "flare", "standing-wave",
    "qa", "unequal", "isobaric", "band-pass", "high-pass", "boost", "shelf", "first-stop",
    "supply-sag", "altitude",
}  # fmt: skip


def test_the_page_is_what_the_library_says_now():
    assert glossary.PAGE.read_text(encoding="utf-8") == glossary.page()


def test_links_to_terms_stay():
    anchors = [term.anchor for term in TERMS]
    assert len(set(anchors)) == len(anchors)
    assert set(anchors) >= ANCHORS
    assert lesson_rules.anchors(glossary.PAGE) >= ANCHORS


def test_its_own_links_lead_somewhere():
    text = glossary.PAGE.read_text(encoding="utf-8")
    assert list(lesson_rules.broken_links(text, glossary.PAGE)) == []


@pytest.mark.parametrize("term", TERMS, ids=lambda term: term.anchor)
def test_a_term_is_in_the_library_with_units_that_fit(term):
    floor, room, *names = term.place.split(".")
    reduce(getattr, names, importlib.import_module(f"boxlab.{floor}.{room}"))
    unit, inch = find_unit(term.unit), find_unit(term.inch)
    assert unit and inch
    assert not term.inch or (unit.kind == inch.kind and unit != inch)
    assert not term.inch or term.value
    if unit.kind in ("length", "area", "volume", "mass", "speed"):
        assert term.inch


@pytest.mark.parametrize("term", [t for t in TERMS if t.inch], ids=lambda term: term.anchor)
def test_both_systems_say_the_same(term):
    values = re.findall(r"[\d.]+", term.example)
    metric, inch = (float(value) for value in values)
    sizes = find_unit(term.unit).size, find_unit(term.inch).size
    assert metric * sizes[0] == pytest.approx(inch * sizes[1], rel=0.006)  # three digits
    assert metric * sizes[0] == pytest.approx(term.value(), rel=0.006)


def test_what_the_meanings_claim():
    driver, box, ported = glossary.gear()
    assert ported.port.length > longest_edge(ported.volume, ported.port)
    assert driver.reference_efficiency() < 0.01
    f = np.array([0.7, 1.0, 1.4]) * glossary.FB
    r = solve(driver, box, f)
    assert r.cone_excursion[1] < min(r.cone_excursion[0], r.cone_excursion[2]) / 2
    lossless = solve(driver, type(box)(box.volume, box.radiator), np.array([box.radiator.fp]))
    assert lossless.spl[0] < r.spl[0] - 10
    values = {term.anchor: term.value() for term in TERMS if term.value}
    # derived: 90 + atan(1/(QL + QR)) is the phase of the vent at the tuning
    turned = 90 + np.degrees(np.arctan(1 / (values["ql"] + values["qr"])))
    assert values["vent-phase"] == pytest.approx(turned, abs=0.1)
    around = np.abs(solve(driver, box, values["peaks"] * np.array([0.98, 1.0, 1.02])).impedance)
    assert around[1] > max(around[0], around[2])
    wide = np.array([values["needed-ratio"] * 0.9, values["needed-ratio"] * 1.1])
    assert wide[0] < 2.1 < wide[1]  # lesson 04 has 2.10 for 14 L


@pytest.mark.parametrize("verb", ["glossary", "formulas"])
def test_the_verbs_print_the_page_and_say_if_it_is_old(verb, capsys, tmp_path, monkeypatch):
    room = importlib.import_module(f"boxlab.publish.{verb}")
    assert main([verb]) == 0
    assert capsys.readouterr().out == room.page()
    monkeypatch.setattr(room, "PAGE", tmp_path / "old.md")
    assert main([verb]) == 1
    assert f"{room.COMMAND} --write" in capsys.readouterr().err
