"""Radiators that differ in a job, in its explainer, in its drawing, and where the model ends."""

from dataclasses import replace

import numpy as np
import pytest
from test_job import PICKUP

from boxlab import (
    JobError,
    MixedRadiatorBox,
    RadiatorBox,
    SealedBox,
    each_radiator,
    explainer,
    grams,
    litres,
    read_job,
    solve,
)
from boxlab.draw.cutaway import cut_open
from boxlab.explainers._own import with_job
from boxlab.gear.job_words import lines
from boxlab.gear.scenario import TEN_INCH_DRIVER, TEN_INCH_RADIATOR
from boxlab.model.mixed_radiators import coupled_tunings
from boxlab.model.validity import bounds, edges
from boxlab.publish.sheet import page
from boxlab.publish.sheet.fitting import hardware


def job_with(tmp_path, added, wiring=""):
    text = PICKUP.replace('added_mass = "290 g"', f"added_mass = {added}")
    assert added in text
    path = tmp_path / "lost.job.toml"
    path.write_text(text.replace("coils = 2", f"coils = 2\n{wiring}"), encoding="utf-8")
    return read_job(path)


def test_a_job_with_a_list_of_weights_has_a_box_with_each(tmp_path):
    job = job_with(tmp_path, '["290 g", "0 g"]')
    assert job.problems == () and job.weights == pytest.approx((0.29, 0.0))
    assert isinstance(job.box, MixedRadiatorBox) and job.box.ql == 9
    assert [r.added_mass for r in job.box.radiators] == pytest.approx([0.29, 0.0])
    assert job.radiator.added_mass == pytest.approx(0.145)
    assert any("290 g, 0 g" in line for line in lines(job))


def test_a_list_of_equal_weights_is_the_ordinary_box(tmp_path):
    job = job_with(tmp_path, '["290 g", "0.29 kg"]')
    assert isinstance(job.box, RadiatorBox) and job.box.count == 2
    assert job.box.radiator.added_mass == pytest.approx(0.29)


@pytest.mark.parametrize("added", ['["290 g"]', '["290 g", "290 g", "0 g"]', "[]"])
def test_a_list_that_does_not_go_with_the_count_is_refused(tmp_path, added):
    job = job_with(tmp_path, added)
    with pytest.raises(JobError, match=r"weights for count = 2: write one for each radiator"):
        _ = job.box
    assert any("count = 2" in words for words in job.problems)


def test_four_drivers_in_a_job_may_be_wired_in_series_parallel(tmp_path):
    four = job_with(tmp_path, '"0 g"', 'count = 4\nwiring = "series-parallel"')
    assert four.system.re == pytest.approx(four.driver.re)
    two = job_with(tmp_path, '"0 g"', 'count = 2\nwiring = "series-parallel"')
    assert any("4, 9 or 16" in words for words in two.problems)


def test_the_explainer_says_what_the_box_does():
    scene = explainer("a_lost_weight")()
    box = MixedRadiatorBox.weighted(litres(20), TEN_INCH_RADIATOR, [0.0, grams(150)])
    low, high = box.tunings()
    one, other = box.nulls
    assert (
        f"Tunings {low:.1f} and {high:.1f} Hz, nulls {one:.1f} and {other:.1f}" in scene.readout[0]
    )
    whole = RadiatorBox(litres(20), TEN_INCH_RADIATOR.with_mass(grams(150)), 2)
    assert f"{high:.1f} Hz in place of {whole.tuning():.1f} Hz" in scene.headline
    assert "three peaks" in scene.readout[3] and "equal weights, two" in scene.readout[3]
    first = bounds(TEN_INCH_DRIVER, box)[0].frequency
    assert f"waves in the box above {first:.0f} Hz" in explainer("a_lost_weight").told().warnings[0]


def test_the_explainer_with_four_tells_of_the_same_tunings_as_the_box():
    # the closed form of two masses against the eigenvalues of four; two tunings nothing drives
    scene = explainer("a_lost_weight")(count="four", left=40.0)
    masses = [grams(40), *[grams(150)] * 3]
    every = MixedRadiatorBox.weighted(litres(20), TEN_INCH_RADIATOR, masses).tunings()
    idle = TEN_INCH_RADIATOR.with_mass(grams(150)).fp
    driven = every[np.abs(every - idle) > 1e-6]
    assert driven.size == 2
    assert f"Tunings {driven[0]:.1f} and {driven[1]:.1f} Hz" in scene.readout[0]


def test_all_alike_and_one_alone_are_told_as_such():
    alike = explainer("a_lost_weight")(left=150.0)
    assert alike.headline.startswith("All alike") and "quieter" not in " ".join(alike.readout)
    alone = explainer("a_lost_weight")(count="one")
    assert alone.headline.startswith("The only radiator") and len(alone.plots[1].lines) == 2


def test_the_explainer_starts_at_the_open_job(tmp_path):
    job = job_with(tmp_path, '["290 g", "0 g"]')
    scene = with_job(explainer("a_lost_weight"), job).told()
    low, high = job.box.tunings()
    assert f"Tunings {low:.1f} and {high:.1f} Hz" in scene.readout[0]
    assert "taken alike" not in scene.caption
    other = with_job(explainer("null_of_the_radiator"), job).told()
    assert "different weights; here all are taken alike" in other.caption


def test_coupled_tunings_are_the_eigenvalues():
    # derived: closed form of two against numpy's eigenvalues
    box = MixedRadiatorBox.weighted(litres(30), TEN_INCH_RADIATOR, [0.02, 0.2])
    alone = [RadiatorBox(litres(30), each).tuning() for each in box.radiators]
    got = coupled_tunings(*alone, *(each.fp for each in box.radiators))
    np.testing.assert_allclose(got, box.tunings(), rtol=1e-12)
    with pytest.raises(ValueError, match="f1 = 10 Hz lies below fp1 = 20 Hz"):
        coupled_tunings(10, 30, 20, 15)


def test_each_radiator_moves_by_itself_in_the_cutaway():
    box = MixedRadiatorBox.weighted(litres(20), TEN_INCH_RADIATOR, [0.0, grams(150)])
    cut = cut_open(TEN_INCH_DRIVER, box, tone=17.0, voltage=5.0)
    moving = each_radiator(solve(TEN_INCH_DRIVER, box, [17.0], 5.0))
    want = [1e3 * float(m.excursion[0]) for m in moving]
    assert [each.dx for each in cut.swings[1:]] == pytest.approx(want)
    assert {s.moves for s in cut.shapes if s.role == "vent"} == {1, 2}
    assert abs(cut.swings[1].phase - cut.swings[2].phase) > 90
    assert "second radiator" in cut.words
    still = cut_open(TEN_INCH_DRIVER, box)
    assert {s.moves for s in still.shapes} == {-1}


def test_a_sheet_of_such_a_job_names_both_weights(tmp_path):
    job = job_with(tmp_path, '["290 g", "0 g"]')
    text = page(job)
    assert "weights on radiator 1" in text and "weights on radiator 2" in text
    assert hardware(job)[0] == pytest.approx(0.29)


def test_edges_name_each_radiator_by_its_own_limit():
    radiators = (TEN_INCH_RADIATOR, replace(TEN_INCH_RADIATOR, added_mass=0.15, xmax=0.001))
    box = MixedRadiatorBox(litres(20), radiators)
    r = solve(TEN_INCH_DRIVER, box, np.geomspace(20, 60, 81), 12.0)
    said = [words for words in edges(r) if "Radiator" in words]
    assert len(said) == 1 and said[0].startswith("Radiator 2")
    assert not any("Beyond" in words for words in edges(r))


def test_edges_say_frequency_first_then_level_and_only_what_is_in_sight():
    box = SealedBox(litres(14))
    low = edges(solve(TEN_INCH_DRIVER, box, np.geomspace(30, 100, 50), 0.1))
    assert low == ()
    said = edges(solve(TEN_INCH_DRIVER, box, np.geomspace(10, 1000, 200), 80.0))
    assert [words.split()[0] for words in said] == ["Not", "Cone"]
    assert said[0].index("waves in the box") < said[0].index("cone beams")
    assert said[1].index("Cone past Xmax") < said[1].index("Coil past its rated power")
    with pytest.raises(ValueError, match="single design"):
        edges(solve(TEN_INCH_DRIVER, SealedBox(np.array([0.01, 0.02])), [20.0, 30.0]))
