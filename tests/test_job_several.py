"""Several drivers in a job: as wired and mounted, in the model, in a fit and on the sheet."""

import numpy as np
import pytest

from boxlab import JobError, read_job
from boxlab.explainers import explainer
from boxlab.explainers._own import with_job
from boxlab.gear.job_measured import measure, unanswered
from boxlab.gear.job_stops import full_power
from boxlab.publish.sheet import page

RE, BL, MMS, CMS, RMS, SD = 3.4, 15.0, 0.115, 0.22e-3, 4.5, 0.0335  # one driver
BULK, VOLUME = 141880.28, 0.030  # ρc² of dry air at 20 °C and 101 325 Pa; m³ of the box
F = np.geomspace(8, 800, 220)
# how two are joined -> (coils in series, in parallel, cones that push the air of the box)
JOINED = {
    ("parallel", "side by side"): (1, 2, 2),
    ("series", "side by side"): (2, 1, 2),
    ("parallel", "isobaric"): (1, 2, 1),
    ("series", "isobaric"): (2, 1, 1),
}


def impedance(in_series=1, in_parallel=1, faces=1, added=0.0, volume=np.inf):
    """Ω of one driver or two, by Newton's law for each cone; written out here for this test."""
    w = 2 * np.pi * F
    force = SD**2 * faces * BULK / volume  # N/m on each cone, from air that `faces` of them squeeze
    if in_series * in_parallel == 2 and faces == 1:
        force = SD**2 * BULK / volume / 2  # two cones share what presses on one
    cone = 1j * w * (MMS + added) + RMS + (1 / CMS + force) / (1j * w)
    return in_series / in_parallel * (RE + 1j * w * 0.9e-3 + BL**2 / cone)


def table(z, seed):
    rng = np.random.default_rng(seed)
    z = z * (1 + 0.002 * (rng.standard_normal(len(F)) + 1j * rng.standard_normal(len(F))))
    rows = zip(F, np.abs(z), np.degrees(np.angle(z)), strict=True)
    return "Hz,ohm,deg\n" + "".join(f"{f:.4f},{m:.4f},{p:.3f}\n" for f, m, p in rows)


def job(folder, wiring, mounted, more="", sweeps=True):
    """A job of two drivers of which one was swept alone, and then both in their box."""
    told = f'count = 2\ncoils = 1\nwiring = "{wiring}"\nmounted = "{mounted}"\nsd = "335 cm2"\n'
    rows = ""
    if sweeps:
        curves = {
            "free air": impedance(), "added mass": impedance(added=0.06),
            "as found": impedance(*JOINED[wiring, mounted], volume=VOLUME),
        }  # fmt: skip
        for seed, (what, z) in enumerate(curves.items(), 41):
            (folder / f"{seed}.csv").write_text(table(z, seed))
            rows += f'[[measurement]]\nfile = "{seed}.csv"\nwhat = "{what}"\n'
            rows += 'added_mass = "60 g"\n' if what == "added mass" else ""
    path = folder / "two.job.toml"
    path.write_text(f'[driver]\n{told}{more}[box]\nkind = "sealed"\n{rows}', encoding="utf-8")
    return read_job(path)


@pytest.mark.parametrize("joined", JOINED)
def test_a_sweep_of_both_is_no_fault_and_tells_the_volume(tmp_path, joined):
    """Was: "FIRST: the coil measures 1.7 Ω where 3.4 Ω was expected", and nothing fitted."""
    found = measure(job(tmp_path, *joined))
    assert not found.faults
    volume = found.values["box"]["volume"]
    assert abs(volume - VOLUME) < 3 * volume.u
    assert abs(found.values["driver"]["re"] - RE) < 3 * found.values["driver"]["re"].u


def test_one_of_two_that_is_dead_is_still_said(tmp_path):
    two = job(tmp_path, "parallel", "side by side")
    (tmp_path / "43.csv").write_text(table(impedance(volume=VOLUME), 43))
    assert "2 times as much" in measure(two).faults[0]


MORE = """fs = "31.6 Hz"
qts = "0.32"
vas = "35 L"
re = "3.4 ohm"
xmax = "12 mm"
pe = "300 W"
"""


def test_an_isobaric_pair_and_a_warm_coil_are_in_the_model_and_on_the_sheet(tmp_path):
    warm = MORE + 'coil_temperature = "120 °C"\n'
    one = job(tmp_path, "parallel", "side by side", MORE, sweeps=False).driver
    pair = job(tmp_path, "series", "isobaric", warm, sweeps=False)
    assert pair.driver.re == one.re  # what is said of one cold driver stays
    assert pair.system.vas() == pytest.approx(one.vas() / 2)
    assert pair.system.re == pytest.approx(2 * one.re * (1 + 0.00393 * 100))
    assert pair.faces == 1
    text = (tmp_path / "two.job.toml").read_text("utf-8")
    (tmp_path / "two.job.toml").write_text(
        text.replace('"sealed"\n', '"sealed"\nvolume = "30 L"\n'), encoding="utf-8"
    )
    told = page(read_job(tmp_path / "two.job.toml"))
    assert "an isobaric pair of drivers" in told
    assert "2 drivers, one behind the other, wired in series." in told
    assert "120" in told


@pytest.mark.parametrize(
    ("more", "why"),
    [
        ('count = 3\nmounted = "isobaric"\n', "two drivers, one behind the other, and count is 3"),
        ('mounted = "isobarik"\n', "isobaric"),
        ('count = 4\nwiring = "series-parallel"\nmounted = "isobaric"\n', "count is 4"),
        ('coil_temperature = "-10 °C"\n', "coil_temperature is below 20"),
    ],
)
def test_what_cannot_be_is_refused_in_words(tmp_path, more, why):
    path = tmp_path / "odd.job.toml"
    path.write_text(f'[driver]\nsd = "335 cm2"\n{MORE}{more}', encoding="utf-8")
    with pytest.raises(JobError, match=why):
        _ = read_job(path).system


def test_how_two_are_joined_is_asked_where_it_is_not_said(tmp_path):
    two = job(tmp_path, "parallel", "side by side", sweeps=False)
    assert not any("wiring under" in each for each in unanswered(two))
    text = two.path.read_text("utf-8")
    two.path.write_text(text.replace('wiring = "parallel"\n', ""), encoding="utf-8")
    assert any("wiring under" in each for each in unanswered(read_job(two.path)))
    two.path.write_text(text.replace("count = 2", "count = 1"), encoding="utf-8")
    assert not any("wiring under" in each for each in unanswered(read_job(two.path)))


def test_a_warm_coil_changes_no_meter_and_no_load(tmp_path):
    """Was: "coil as a meter reads it" and the amplifier's load were those of the warm coil."""
    cold = job(tmp_path, "parallel", "side by side", MORE, sweeps=False)
    warm = job(tmp_path, "parallel", "side by side", MORE + 'coil_temperature = "250 °C"\n',
               sweeps=False)  # fmt: skip
    assert warm.system.re > 1.8 * cold.system.re
    assert warm.cold.re == cold.system.re
    text = warm.path.read_text("utf-8") + 'volume = "30 L"\n[amplifier]\n"2 ohm" = "500 W"\n'
    warm.path.write_text(text, encoding="utf-8")
    assert full_power(read_job(warm.path)).load == 2


def test_what_heat_takes_starts_from_a_cold_coil_however_warm_the_job_says_it_is(tmp_path):
    """Was: "cold" at 1.28 Ω for a coil of 1.7 Ω, and its heat counted on top of what was told."""
    told = []
    for more in ("", 'coil_temperature = "150 °C"\n'):
        it = job(tmp_path, "parallel", "side by side", MORE + more, sweeps=False)
        text = it.path.read_text("utf-8") + 'volume = "30 L"\n[amplifier]\n"2 ohm" = "500 W"\n'
        it.path.write_text(text, encoding="utf-8")
        scene = with_job(explainer("what_heat_takes"), read_job(it.path))()
        told.append([(row.name, row.metric) for row in scene.numbers])
    assert told[0] == told[1]
    assert ("resistance, cold", "1.70 Ω") in told[0]
