"""The load that a job's coils make: of coils, drivers and their wiring, and never a kinder one."""

from functools import partial

import pytest
from any_job import job_of

from boxlab import JobError
from boxlab.__main__ import main
from boxlab.base.cautions import words
from boxlab.explainers import explainer
from boxlab.explainers._own import with_job
from boxlab.panel import share_text
from boxlab.publish.sheet import page

TWELVES = """\
[job]
name = "two twelves"
[driver]
count = 2
coils = 2
coil_wiring = "parallel"
wiring = "parallel"
fs = "30 Hz"
qts = "0.5"
vas = "50 L"
size = "12 in"
re = "0.9 ohm"
xmax = "16 mm"
pe = "800 W"
[box]
kind = "sealed"
volume = "2 ft3"
[amplifier]
"1 ohm" = "1500 W"
"2 ohm" = "1000 W"
"4 ohm" = "600 W"
"""


@pytest.fixture
def job(tmp_path):
    return partial(job_of, tmp_path)


@pytest.mark.parametrize(
    ("re", "coils", "inside", "count", "wiring", "ohms"),
    [  # ohms by hand: coils of 2, 4, 4, 1, 4, 4, 2 and 8 Ω
        (0.9, 2, "parallel", 2, "parallel", 0.5),
        (3.5, 1, "", 3, "parallel", 4 / 3),
        (3.5, 1, "", 5, "parallel", 0.8),
        (0.9, 1, "", 1, "", 1.0),
        (7.1, 2, "series", 2, "parallel", 4.0),
        (3.6, 2, "one alone", 3, "series", 12.0),
        (1.8, 1, "", 4, "series-parallel", 2.0),
        (6.5, 1, "", 4, "parallel", 2.0),
    ],
)
def test_the_load_is_that_of_the_coils_as_they_are_wired(
    job, re, coils, inside, count, wiring, ohms
):
    text = TWELVES.replace('"0.9 ohm"', f'"{re} ohm"').replace("coils = 2", f"coils = {coils}")
    text = text.replace("count = 2", f"count = {count}")
    text = text.replace(
        'coil_wiring = "parallel"\n', f'coil_wiring = "{inside}"\n' if inside else ""
    )
    text = text.replace('\nwiring = "parallel"', f'\nwiring = "{wiring}"' if wiring else "")
    assert job(text).load == pytest.approx(ohms)


def test_a_load_below_the_amplifier_s_least_is_refused_everywhere(job, capsys):
    """Was: 0.45 Ω of coil counted as 1 Ω, "gives 1500 W", and no word of caution."""
    low = job(TWELVES)
    caution = words("low load")[0]
    assert main(["job", "check", str(low.path)]) == 1
    told = capsys.readouterr().out
    assert "0.5 Ω" in told and caution in told
    sheet = page(low)
    assert caution in sheet and "0.5" in sheet
    assert "1500" not in sheet.partition(">Wiring<")[2].partition("Cable and fuse<")[0]
    for name in ("coil_wiring", "small_or_large", "clipping_and_heat", "what_heat_takes"):
        scene = with_job(explainer(name), low)()
        assert any("0.5 Ω" in each and "1 Ω" in each for each in scene.warnings), name
        assert caution in scene.cautions, name
        assert caution in share_text.in_short(with_job(explainer(name), low), scene)
    said = " ".join(with_job(explainer("coil_wiring"), low)().readout)
    assert "all parallel: 1 Ω" not in said and "2 drivers in parallel: 0.5 Ω" in said


def test_what_the_amplifier_allows_stays_without_a_word_of_it(job, capsys):
    fine = job(TWELVES.replace('"1 ohm"', '"0.5 ohm"'))
    assert main(["job", "check", str(fine.path)]) == 0
    assert words("low load")[0] not in capsys.readouterr().out
    assert not with_job(explainer("small_or_large"), fine)().warnings
    text = TWELVES.replace("[amplifier]", '[amplifier]\nminimum = "2 ohm"')
    assert "2 Ω" in job(text).too_low


def test_the_load_of_a_picture_is_that_of_the_job(job):
    """Was: the class's 2 Ω, or 1 Ω, because no other stood in the list."""
    low = job(TWELVES)
    assert with_job(explainer("what_heat_takes"), low).start["load"] == "0.5 Ω"
    three = TWELVES.replace("count = 2", "count = 3").replace("coils = 2", "coils = 1")
    three = three.replace('coil_wiring = "parallel"\n', "").replace("0.9", "3.5")
    assert with_job(explainer("meter_on_music"), job(three)).start["load"] == "1.333 Ω"


KIND = TWELVES.replace("count = 2\ncoils = 2\n", "").replace('coil_wiring = "parallel"\n', "")
KIND = KIND.replace('wiring = "parallel"\n', "").replace("0.9 ohm", "1.7 ohm")


def test_coil_wiring_reads_the_job_s_own_ratings(job):
    """Was: 750 W at 2 Ω, half of that at 1 Ω, and "rated at 4 ohm 400 W" that nobody printed."""
    scene = with_job(explainer("coil_wiring"), job(KIND))()
    assert scene.readout[0] == (
        "One coil, straight through, makes 2 Ω, where the amplifier is rated 1000 W."
    )
    rows = {row.name: row.metric for row in scene.numbers}
    assert rows["amplifier's rating there"] == "1000 W"
    two = KIND.replace('"1 ohm" = "1500 W"\n', "").replace('"4 ohm" = "600 W"\n', "")
    scene = with_job(explainer("coil_wiring"), job(two.replace("1.7 ohm", "3.5 ohm")))()
    told = " ".join(scene.readout)
    assert "not rated there" in told and "rated 500 W" not in told
    assert {row.name: row.metric for row in scene.numbers}["amplifier's rating there"] == (
        "not rated there"
    )
    line = scene.plots[0].lines[0]
    assert list(line.x) == [2.0] and list(line.y) == [1000.0]
    names = {c.name for c in with_job(explainer("coil_wiring"), job(KIND)).controls}
    assert not names & {"at_least", "at_four", "least"}


def test_what_follows_from_no_rating_is_a_refusal_in_words(job):
    with pytest.raises((JobError, ValueError), match="least rated load"):
        job(TWELVES).stage(job(TWELVES).load)


def test_how_drivers_are_joined_is_listed_as_assumed_where_it_is_not_said(job, capsys):
    bare = TWELVES.replace('coil_wiring = "parallel"\n', "")
    bare = job(bare.replace('wiring = "parallel"\n', ""))
    main(["job", "check", str(bare.path)])
    told = capsys.readouterr().out.partition("Assumed:")[2]
    assert "driver.wiring = parallel" in told and "driver.coil_wiring = parallel" in told
    assert "2 drivers, wired in parallel (assumed" in page(bare)
    gear = with_job(explainer("small_or_large"), bare)().gear
    assert "parallel" in gear and "ranges: wiring" not in gear
    main(["job", "check", str(job(TWELVES).path)])
    assert "wiring = parallel (" not in capsys.readouterr().out
