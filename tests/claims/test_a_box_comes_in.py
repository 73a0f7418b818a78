"""What the lesson "a box comes in" says, and that its files are what a circuit of its own makes."""

import json
import os
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import worked_job as made

from boxlab import fit_box, fit_driver, read_sweep, solve
from boxlab.base import units
from boxlab.car.arrangement import washers_stack
from boxlab.gear.job_measured import DRIVER_ROWS, measure
from boxlab.gear.job_stops import full_power
from boxlab.model.passband import passband
from boxlab.publish.sheet import parts
from boxlab.quiz.exercises import a_box_comes_in as tasks

ROOT = Path(__file__).resolve().parents[2]
BENCH, HANDED = tasks.BENCH, tasks.HANDED


def prose():
    cells = json.loads((ROOT / "lessons/11-a-box-comes-in.ipynb").read_text(encoding="utf-8"))
    text = " ".join("".join(c["source"]) for c in cells["cells"] if c["cell_type"] == "markdown")
    return re.sub(r"\s+", " ", text)


# The files.


def test_the_files_of_the_lesson_are_what_the_generator_makes():
    there = {path.name for path in made.FOLDER.iterdir() if not path.name.startswith(".")}
    assert there == set(made.files())
    for name, text in made.files().items():
        assert (made.FOLDER / name).read_text(encoding="utf-8") == text, name


def test_the_generator_uses_nothing_of_ours_and_the_files_hold_nothing_fitted():
    source = Path(made.__file__).read_text(encoding="utf-8")
    assert not re.search(r"^\s*(import|from) boxlab", source, re.M)
    for text in made.JOBS.values():
        assert "measured" not in text and not re.search(r"^(fs|qts|vas|mms|bl|fb|volume)", text)


def deviations(seed):
    """(name, how many of its own u a fitted value lies from the truth), one scatter."""
    sweeps = {name: read_sweep(made.table(name, seed)) for name in made.SWEEPS}
    driver = fit_driver(
        sweeps["free-air.csv"], made.SD, added_mass=(sweeps["with-80-g.csv"], made.ADDED)
    )
    rows = [("driver", name, getattr(driver, name)) for name in DRIVER_ROWS]
    for section, file, weights in (
        ("box", "coil-joined.csv", made.FOUND),
        ("after", "after.csv", made.AFTER),
    ):
        box = fit_box(
            sweeps[file], driver, build="radiator", radiator_area=made.R_SD, count=made.RADIATORS
        )
        rows += [(section, name, getattr(box, name)) for name in ("fb", "volume", "ql")]
        away = (box.radiator_mass - weights - made.R_MMS) / box.radiator_mass.u
        yield f"{section}.mass", abs(away)
    for section, name, value in rows:
        yield f"{section}.{name}", abs(value - made.TRUTH[section][name]) / value.u


def test_every_fitted_value_of_the_lesson_lies_within_its_own_doubt():
    """The lesson prints one standard uncertainty and says how often twice it holds."""
    away = dict(deviations(made.SEED))
    assert max(away.values()) < 2, away
    assert len(away) == 17


SCATTERS = int(os.environ.get("BOXLAB_SCATTERS", "8"))  # 100 take three minutes


def test_on_other_scatters_the_doubts_are_about_as_large_as_they_say():
    """Meant are 95 of 100 within twice u and 68 within u. Found on a hundred scatters: 93 and 64
    over all values, so the doubts are a little small.

    The 17 values of one scatter hang together, hence as wide as three deviations of a count of
    scatters. A single value has bounds of its own only where there are a hundred.
    """
    away = [dict(deviations(1000 + seed)) for seed in range(SCATTERS)]
    every = np.array([list(each.values()) for each in away])
    wide = 3 * np.sqrt(0.25 / SCATTERS / 5)  # 17 values are worth some five that are free
    assert 0.93 - wide <= np.mean(every < 2) <= min(0.97 + wide, 0.995), np.mean(every < 2)
    assert 0.64 - wide <= np.mean(every < 1) <= 0.68 + wide, np.mean(every < 1)
    assert every.max() < 5
    if SCATTERS >= 100:
        for name, values in zip(away[0], every.T, strict=True):
            assert np.mean(values < 2) >= 0.85, (name, np.mean(values < 2))
            assert 0.50 <= np.mean(values < 1) <= 0.82, (name, np.mean(values < 1))


def test_what_the_job_measures_is_what_was_put_in():
    found = measure(tasks.stage(HANDED)[0])
    assert not found.faults
    for section, truth in made.TRUTH.items():
        for name, value in truth.items():
            if (section, name) != ("radiator", "fp"):
                got = found.values[section][name]
                assert abs(got - value) < 2 * got.u, (section, name)
    assert found.values["radiator"]["cms"] == pytest.approx(made.R_CMS, rel=0.02)


# Step 1


def test_the_coil_that_is_off_is_said_first_and_alone():
    job, found = tasks.stage(tasks.DOOR)
    assert "one of two coils in parallel" in found.faults[0] and not found.values
    assert job.known["driver.re"].value == pytest.approx(1.75)
    said = prose()
    assert "two coils of 3.5 Ω each" in said and 3.5 / 2 == 1.75
    assert "3.6 Ω here, where 1.75 Ω" in said and "3.6 Ω" in found.faults[0]


def test_a_lost_coil_costs_two_to_five_decibels_by_the_circuit_of_the_files():
    """By the generator's own circuit: cone and radiators push air, one coil or both."""
    f = np.linspace(30, 80, 101)
    s = 2j * np.pi * f
    air = made.VOLUME / made.BULK

    def flow(re):  # net volume velocity for 1 V
        load = made.behind(s, made.FOUND, made.QL_FOUND)
        moves = s * made.MMS + made.RMS + 1 / (s * made.CMS) + load
        coil = re + s * made.LE + made.K * s**made.N
        velocity = made.BL / (coil * moves + made.BL**2)
        return np.abs(s * air * load * velocity / made.SD)

    lost = 20 * np.log10(flow(made.RE) / flow(2 * made.RE))
    assert 1.5 < lost.min() < 2.5 and 4.4 < lost.max() < 5.5
    told = re.findall(r"([\d.]+) dB (?:quieter )?at (\d+) Hz", tasks.answer("coil")["because"])
    assert float(told[0][0]) == pytest.approx(lost.min(), abs=0.2)
    assert float(told[1][0]) == pytest.approx(lost.max(), abs=0.2)
    assert int(told[0][1]) == pytest.approx(f[lost.argmin()], abs=1.5)
    # where the coil alone sets the current it would be the whole 6 dB
    assert 20 * np.log10(2) == pytest.approx(6, abs=0.05)
    assert "costs 2 to 5 dB here, not 6" in prose()


# Steps 2 and 3


def test_an_area_three_per_cent_too_large_makes_six_per_cent_of_volume():
    sweeps = {name: read_sweep(made.table(name)) for name in made.SWEEPS}
    size = {}
    for area in (made.SD, 1.03 * made.SD):
        mass = (sweeps["with-80-g.csv"], made.ADDED)
        driver = fit_driver(sweeps["free-air.csv"], area, added_mass=mass)
        box = fit_box(sweeps["coil-joined.csv"], driver, build="ported")
        size[area] = np.array([driver.vas, driver.vas / box.alpha])
    assert size[1.03 * made.SD] / size[made.SD] == pytest.approx(1.06, abs=0.003)


def test_the_box_alone_tells_its_tuning_and_nothing_else():
    assert tasks.answer("alone")["because"].startswith("It tells the tuning: 44.4 Hz")
    assert made.TRUTH["box"]["fb"] == pytest.approx(44.4, abs=0.05)


# Steps 4 and 5


def test_weights_corner_and_stack():
    said = prose()
    before, after = tasks.measured(BENCH), tasks.measured(HANDED)
    assert passband(before.system, before.box).f3 == pytest.approx(43, abs=0.5)
    assert passband(after.system, after.box).f3 == pytest.approx(39, abs=0.5)
    lowest_string = 440 * 2 ** (-41 / 12)  # E1, 41 semitones below a′
    assert lowest_string == pytest.approx(41, abs=0.3)
    assert "3 dB down at 43 Hz" in said and "to some 39 Hz" in said
    more = made.AFTER - made.FOUND
    assert units.to_grams(more) == pytest.approx(168)
    moves = made.R_MMS + made.FOUND
    assert np.sqrt(moves / (moves + more)) * made.TRUTH["box"]["fb"] == pytest.approx(36.6, abs=0.1)
    assert float(re.search(r"= (\d+) g more", tasks.answer("weights")["because"])[1]) == (
        pytest.approx(168, abs=3)
    )
    assert washers_stack(made.AFTER)[0] == pytest.approx(0.09, abs=0.005)
    ratio = made.TRUTH["after"]["fb"] / made.TRUTH["box"]["fb"]
    assert (1 - ratio, ratio**-2) == (
        pytest.approx(0.175, abs=0.002),
        pytest.approx(1.47, abs=0.01),
    )
    others = tasks.answer("weights")["others"]
    assert moves * (1 / ratio - 1) == pytest.approx(0.080, abs=0.006) and "About 80 g" in others
    assert made.TRUTH["box"]["fb"] / np.sqrt(2) == pytest.approx(31, abs=0.5)


def test_what_stops_it_first_before_and_after():
    before, after = tasks.measured(BENCH), tasks.measured(HANDED)
    plain = replace(
        after, tables={k: v for k, v in after.tables.items() if k not in ("filters", "supply")}
    )

    def stop(job, frequency):
        full = full_power(job, np.array([frequency, 100.0]))
        return str(full.first.ceiling.limit[0])

    assert stop(before, 30.0) == "cone excursion"
    assert stop(plain, 30.0) == "amplifier"
    assert "cone" in full_power(before).words and "amplifier" in full_power(after).words
    # below the new tuning the cone is let go again, from a lower note on
    assert stop(plain, 27.0) == "cone excursion"
    # the radiators have room left
    f = np.geomspace(25, 100, 200)
    moved = solve(plain.system, plain.box, f, np.sqrt(500 * 2)).vent_excursion
    assert moved.max() < 0.019


def test_after_the_work_what_was_not_touched_stayed():
    words = " ".join(tasks.stage(HANDED)[1].words)
    assert "The net volume has not changed." in words and "The tuning went from 44" in words
    found = tasks.stage(HANDED)[1].values
    assert found["after"]["ql"] > 2 * found["box"]["ql"]


# Step 6


def test_the_sheet_counts_the_supply_and_the_filters_of_the_car():
    part = next(p for p in parts(tasks.measured(HANDED)) if p.title == "What stops it first")
    words = " ".join(part.words)
    assert "high-pass 27 Hz, 24 dB/octave" in words and "13.2 V behind 25 mΩ" in words
    said = prose()
    assert "13.2 V at the battery and 25 mΩ" in said and "a high-pass at 27 Hz" in said
    assert not part.missing
