"""Filters, supply and amplifier of a job file."""

import tomllib

import pytest

from boxlab import explainer, read_job
from boxlab.explainers._own import with_job
from boxlab.gear.job import JobError
from boxlab.gear.job_file import TEMPLATE, new_job
from boxlab.gear.job_words import lines
from boxlab.model.chain import Chain, HighPass, LowPass, Peak, Shelf
from boxlab.model.power_stage import Supply

WHOLE = """\
[amplifier]
"4 ohm" = "300 W"
"2 ohm" = "500 W"
rail = "46 V"
current = "24 A"
rated_at = "14.4 V"
efficiency = "80 %"
regulated = "yes"

[supply]
voltage = "13.8 V"
resistance = "20 mΩ"
least = "10 V"

[filters]
high_pass = "28 Hz"
high_pass_order = "4"
low_pass = "0.08 kHz"
low_pass_q = "0.6"
boost = "-3 dB"
boost_at = "40 Hz"
boost_q = "1"
shelf = "4 dB"
shelf_at = "35 Hz"
"""


def job_of(tmp_path, text):
    path = tmp_path / "it.job.toml"
    path.write_text(text, encoding="utf-8")
    return read_job(path)


def test_all_of_it_is_read(tmp_path):
    job = job_of(tmp_path, WHOLE)
    assert job.chain == Chain(
        (HighPass(28, order=4), LowPass(80.0, 2, 0.6), Peak(40, -3, 1), Shelf(35, 4))
    )
    assert job.supply == Supply(13.8, 0.02, 10)
    stage = job.stage(4)
    assert (stage.rail, stage.current, stage.rated_at) == (46, 24, 14.4)
    assert (stage.efficiency, stage.regulated, stage.supply) == (0.8, True, job.supply)
    assert job.stage(2).rail == pytest.approx((2 * 500 * 2) ** 0.5)
    assert job.known["filters.high_pass"].value == 28
    said = "\n".join(lines(job))
    for words in ("filters.boost = -3 dB", "supply.resistance = 0.02 Ω", "amplifier.current = 24"):
        assert words in said.replace("−", "-")


def test_a_job_without_them_has_none(tmp_path):
    job = job_of(tmp_path, "[driver]\n")
    assert job.chain is job.supply is job.amplifier is job.stage(4) is None


def test_the_commented_lines_of_a_new_file_can_be_used(tmp_path):
    path = new_job(tmp_path / "mine")
    assert read_job(path).chain is None
    start = TEMPLATE.index("# [amplifier]")
    end = TEMPLATE.index("# [gap]")
    text = "\n".join(line.removeprefix("# ") for line in TEMPLATE[start:end].splitlines())
    assert set(tomllib.loads(text)) == {"amplifier", "supply", "filters"}
    job = job_of(tmp_path, text)
    assert len(job.chain.stages) == 4 and job.stage(4).supply == Supply(13.8, 0.02)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('[filters]\nboost = "6 dB"', 'boost_at is missing: write boost_at = "40 Hz", boost_q'),
        ('[filters]\nhigh_pass_order = "4"', "high_pass is missing"),
        ('[filters]\nhigh_pass = "28 Hz"\nhigh_pass_order = "4"\nhigh_pass_q = "1"', "one Q"),
        ('[supply]\nvoltage = "13.8 V"', "resistance is missing"),
        ('[supply]\nvoltage = "13.8 V"\nresistance = "20 mΩ"\nleast = "15 V"', "never start"),
        ('[amplifier]\n"4 ohm" = "300 W"\nefficiency = "3"', "efficiency = 3"),
    ],
)
def test_what_cannot_be_used_is_said_among_the_problems(text, words, tmp_path):
    assert words in " ".join(job_of(tmp_path, text).problems)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('[filters]\nhigh_pas = "28 Hz"', "did you mean high_pass"),
        ('[filters]\nhigh_pass = "28"', "write its unit"),
        ('[filters]\nhigh_pass = "-28 Hz"', "above zero"),
        ('[filters]\nhigh_pass = "28 Hz"\nhigh_pass_order = "0"', "count whole pieces"),
        ('[filters]\nboost = "6"', "this is a level"),
        ('[amplifier]\nregulated = "perhaps"', "choose one of yes, no"),
        ('[supply]\nresistance = "20 V"', "this is a resistance"),
    ],
)
def test_what_cannot_be_read_is_refused_in_words(text, words, tmp_path):
    with pytest.raises(JobError, match=words):
        job_of(tmp_path, text)


def test_explainers_start_from_the_job_s_filters_and_supply(tmp_path):
    driver = """
[driver]
fs = "31 Hz"
qts = "0.36"
vas = "2.3 ft3"
sd = "507 cm2"
re = "3.64 ohm"
xmax = "14 mm"
pe = "500 W"

[box]
kind = "sealed"
volume = "30 L"

"""
    job = job_of(tmp_path, driver + WHOLE)
    item = with_job(explainer("what_a_high_pass_saves"), job)
    start = item.start
    assert (start["high_pass"], start["order"], start["boost"]) == (28, "24 dB/octave", -3)
    assert (start["boost_at"], start["boost_q"], start["build"]) == (40, 1, "sealed")
    assert "A cut of −3.0 dB at 40 Hz" in " ".join(item().readout)
    start = with_job(explainer("what_a_weak_supply_costs"), job).start
    assert (start["supply"], start["loop"], start["current"]) == (13.8, 20, 24)
    assert (start["rated_at"], start["efficiency"], start["rails"]) == (14.4, 80, "are held")
    efficiency = [c for c in explainer("cable_and_fuse").controls if c.name == "efficiency"]
    wider = [
        c for c in with_job(explainer("cable_and_fuse"), job).controls if c.name == "efficiency"
    ]
    assert efficiency[0].high == 95 and wider[0].high <= 100
