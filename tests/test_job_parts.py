"""The port and the air of a job file, as it is read."""

import pytest

from boxlab import Air, Port, PortedBox
from boxlab.gear import job_words
from boxlab.gear.job import read_job
from boxlab.gear.job_file import new_job
from boxlab.gear.job_keys import JobError
from boxlab.model.port_fitting import length_for
from boxlab.model.ports_built import Flare, Slot

DRIVER = """\
[driver]
fs = "31 Hz"
qts = "0.36"
vas = "65 L"
sd = "507 cm2"
re = "3.6 ohm"

[box]
kind = "ported"
volume = "60 L"
ql = "7"
"""


@pytest.fixture
def job(tmp_path):
    def read(*lines, air=()):
        path = tmp_path / "it.job.toml"
        text = DRIVER + "\n".join(lines) + "\n"
        text += "\n[air]\n" + "\n".join(air) + "\n" if air else ""
        path.write_text(text, encoding="utf-8")
        return read_job(path)

    return read


SLOT = ('slot_width = "300 mm"', 'slot_height = "1.5 in"')


def test_a_slot_is_what_the_model_makes_of_it(job):
    mine = job('port_kind = "slot"', *SLOT, "port_walls = 1", 'port_length = "400 mm"')
    want = PortedBox(0.06, Slot(0.3, 0.0381, 0.4, walls=1).port, ql=7)
    assert mine.box.tuning() == pytest.approx(want.tuning())
    assert job(*SLOT, 'port_length = "400 mm"').box.tuning() > mine.box.tuning()
    three = job(*SLOT, "port_walls = 3", 'port_length = "400 mm"')
    assert three.box.tuning() == pytest.approx(mine.box.tuning(), rel=0.02)


def test_a_flare_is_what_the_model_makes_of_it(job):
    mine = job('port_diameter = "100 mm"', 'port_flare = "20 mm"', 'port_length = "300 mm"')
    assert mine.box.port == Flare(0.1, 0.3, 0.14).port
    plain = job('port_diameter = "100 mm"', 'port_length = "300 mm"')
    assert plain.box.port.length == Port.round(0.1, 0.3).length


def test_a_tuning_in_place_of_a_length(job):
    mine = job(*SLOT, 'fb = "34 Hz"', "ports = 2")
    assert mine.box.tuning() == pytest.approx(34)
    want = length_for(Slot(0.3, 0.0381, 1), 0.06, 34, 2).port
    assert mine.box.port.length == pytest.approx(want.length)
    assert job('port_diameter = "4 in"', 'port_flare = "1 in"', 'fb = "34 Hz"').box.tuning() == (
        pytest.approx(34)
    )


def test_the_air(job):
    plain = ('port_diameter = "100 mm"', 'port_length = "300 mm"')
    assert job(*plain).air == Air()
    cold = job(*plain, air=('temperature = "-10 °C"',))
    assert cold.air == Air(-10.0)
    assert job(*plain, air=('temperature = "14 °F"',)).air.temperature == pytest.approx(-10)
    high = job(*plain, air=('altitude = "5000 ft"', 'temperature = "0 °C"'))
    assert high.air.pressure == pytest.approx(84307, abs=5)
    assert job(*plain, air=('altitude = "0 m"',)).air == Air()
    # the box is what was built: the air asked about does not make another of it
    assert cold.box.port == job(*plain).box.port


def test_all_of_it_is_told_in_words(job):
    mine = job(*SLOT, "port_walls = 1", 'port_length = "400 mm"',
               air=('altitude = "1500 m"', 'temperature = "-10 °C"'))  # fmt: skip
    said = "\n".join(job_words.lines(mine))
    assert "box.slot_width = 300 mm" in said and "box.port_walls = 1" in said
    assert "air.altitude = 1500 m" in said and "air.temperature = -10 °C" in said
    assert mine.problems == ()


@pytest.mark.parametrize(
    ("lines", "air", "said"),
    [
        (('port_kind = "oval"',), (), "choose one of round, slot, flare"),
        (('port_kind = "slot"', 'fb = "34 Hz"'), (), "write slot_width and slot_height"),
        (('slot_width = "300 mm"', 'fb = "34 Hz"'), (), "The slot is missing: write slot_height"),
        (('port_flare = "20 mm"', 'fb = "34 Hz"'), (), "The flare is missing: write port_diameter"),
        ((*SLOT, 'port_kind = "round"', 'fb = "34 Hz"'), (), "does not belong to a round port"),
        ((*SLOT, 'port_diameter = "4 in"', 'fb = "34 Hz"'), (), "does not belong to a slot port"),
        (SLOT, (), "write port_length, or fb"),
        ((*SLOT, "port_walls = 5", 'fb = "34 Hz"'), (), "0, 1, 2, or 3"),
        ((*SLOT, 'fb = "150 Hz"'), (), "out of reach|too long"),
        ((*SLOT, 'fb = "34 Hz"'), ('altitude = "20000 m"',), "air: altitude"),
        ((*SLOT, 'fb = "34 Hz"'), ('temperature = "140 °C"',), "air: temperature"),
        ((*SLOT, 'fb = "34 Hz"'), ('temperature = "20"',), "this is a temperature"),
        ((*SLOT, 'fb = "34 Hz"'), ('height = "20 m"',), "air has no 'height'"),
    ],
)
def test_what_is_wrong_is_named(job, lines, air, said):
    with pytest.raises(JobError, match=said):
        mine = job(*lines, air=air)
        assert mine.problems
        raise JobError(" ".join(mine.problems))


def test_the_template_can_be_used_line_by_line(tmp_path):
    text = new_job(tmp_path / "x").read_text(encoding="utf-8")
    for key in ("port_kind", "slot_width", "port_walls", "port_flare", "[air]", "altitude"):
        assert f"# {key}" in text
