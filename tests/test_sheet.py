"""The hand-over sheet: one page, each number with its mark, nothing of ours in somebody's box."""

import html
import re
from datetime import date
from functools import partial

import html5lib
import numpy as np
import pytest
from any_job import job_of
from matplotlib.figure import Figure
from test_cautions import SHEET, plain
from test_job import PICKUP
from test_own_gear import JOBS, SMALL, TWELVE

from boxlab.__main__ import main
from boxlab.base import cautions
from boxlab.base.units import disc_diameter, to_mm
from boxlab.draw import cutaway
from boxlab.gear.job_file import change
from boxlab.model.air import Air
from boxlab.model.response import solve
from boxlab.publish.sheet import page, parts
from boxlab.publish.sheet.rows import HOWS, row

BUILT = TWELVE.replace("[box]", '[cable]\nlength = "15 ft"\n\n[box]\nweight = "21 kg"')


@pytest.fixture
def job(tmp_path):
    return partial(job_of, tmp_path)


def rows_of(job):
    return {row.name: row for part in parts(job) for row in part.rows}


@pytest.mark.parametrize("name", JOBS)
@pytest.mark.parametrize("inch", [False, True])
def test_a_sheet_is_one_sound_page_without_anything_of_ours(name, inch, job):
    text = page(job(JOBS[name]), inch, date(2026, 5, 4))
    html5lib.HTMLParser(strict=True).parse(text)
    assert "2026-05-04" in text and "<script" not in text
    assert not re.findall(r'(?:src|href)="(?!data:)', text)
    assert text.count("<img alt=") in (3, 4) and 'alt=""' not in text
    words = plain(text.partition("</style>")[2]).casefold()
    assert not re.findall(r"\b(demo|invented|class|nan|inf)\b", words)
    marks = re.findall(r'<b title="([a-z]+)">([A-Z])</b>', text)
    assert marks and all(how in HOWS.values() and how[0].upper() == sign for how, sign in marks)


def test_numbers_are_those_of_the_definitions_and_carry_their_ranges(job):
    """Written out here: tuning and null of mass and spring, watts into a load, newtons."""
    built = job(BUILT)
    found = rows_of(built)
    driver, radiator = built.driver, built.radiator
    air = Air()
    mass = 0.230 + 0.290
    null = 1 / (2 * np.pi * np.sqrt(mass * float(radiator.cms)))
    spring = air.bulk_modulus * (2 * float(radiator.sd)) ** 2 / float(built.box.volume)
    tuning = np.sqrt((spring / 2 + 1 / float(radiator.cms)) / mass) / (2 * np.pi)
    assert float(found["null of the radiators, silent there"].metric.split()[0]) == (
        pytest.approx(null, abs=0.05)
    )
    assert float(found["tuning, from the parts"].metric.split()[0]) == (
        pytest.approx(tuning, abs=0.05)
    )
    assert float(found["force to hold it"].metric.split()[0]) == (
        pytest.approx(21 * 20 * 9.80665, rel=0.01)
    )
    assert float(found["force to hold it"].inch.split()[0]) == (
        pytest.approx(21 * 20 * 9.80665 / 4.44822, rel=0.01)
    )
    assert found["weights on each radiator"].metric.split() == ["290", "g"]
    # seen red: an area taken with a ruler stood there as "from a datasheet"
    assert found["weights on each radiator"].how == "given"
    assert found["net volume"].how == found["gap width"].how == "given"
    assert found["driver fs"].how == found["amplifier 4 Ω"].how == "given"
    assert "from a datasheet or label, or by ruler or scales" in plain(html.unescape(page(built)))
    assert found["driver qms"].how == "assumed" and found["driver qms"].metric == "3 to 10"
    ends = found["largest cone travel at full power"].metric.split()
    assert float(ends[0]) < float(ends[2])  # Qms is assumed, so travel has a range
    assert found["driver bl"].how == "computed" and " to " in found["driver bl"].metric
    assert float(driver.re) == pytest.approx(3.64)


def test_measured_values_are_marked_and_come_before_the_datasheet(job):
    path = job(PICKUP).path
    measured = {"measured.box": {"fb": "43.90 ± 0.03 Hz", "volume": "20.8 ± 0.4 L"}}
    found = rows_of(change(path, measured))
    assert found["tuning, as measured"].metric == "43.90 ± 0.03 Hz"
    assert found["tuning, as measured"].how == found["net volume"].how == "measured"
    assert found["net volume"].metric.split() == ["20.8", "L"]


def test_a_measured_tuning_that_the_parts_do_not_have_and_an_unknown_stop_are_said(job):
    path = job(PICKUP.replace('xmax = "18 mm"\n', "")).path
    found = {
        part.title: part
        for part in parts(change(path, {"measured.box": {"fb": "38.00 ± 0.03 Hz"}}))
    }
    stops, does = found["What stops it first"], found["What it does"]
    assert any("measures 38.0 Hz" in words for words in does.words)  # beside the two tunings
    assert "radiators reach their stop" in stops.missing[0]
    agreed = change(path, {"measured.box": {"fb": "44.10 ± 0.03 Hz"}})
    told = {part.title: part for part in parts(agreed)}["What it does"].words
    assert not any("measures" in words for words in told)


def test_every_caution_stands_on_the_sheet_of_a_box_to_build(job):
    words = plain(html.unescape(page(job(BUILT))))
    for caution in cautions.words(*SHEET):
        assert caution in words


def test_what_is_not_known_is_named_and_nothing_stands_in_for_it(job):
    little = job(JOBS["small"].partition("[amplifier]")[0])
    found = {part.title: part for part in parts(little)}
    assert "no amplifier is given" in found["What stops it first"].missing[0]
    assert "weighs" in found["Holding it down"].missing[-1]
    assert "force to hold it" not in rows_of(little)
    assert "Nothing was measured" in found["What was not measured"].words[0]
    assert "Board and cut list" not in found and "Weights on the radiators" not in found


def test_a_job_that_does_not_say_enough_is_refused_in_words(tmp_path, capsys):
    path = tmp_path / "bare.job.toml"
    path.write_text('[driver]\nfs = "30 Hz"\n', encoding="utf-8")
    assert main(["sheet", str(path), "--to", str(tmp_path / "a.html")]) == 1
    assert "missing" in capsys.readouterr().err
    assert not (tmp_path / "a.html").exists()


def test_the_verb_writes_tells_what_it_does_and_keeps_the_files_of_others(tmp_path, capsys):
    path, target = tmp_path / "it.job.toml", tmp_path / "it.html"
    path.write_text(JOBS["small"], encoding="utf-8")
    for _ in range(2):  # its own sheet it replaces
        assert main(["sheet", str(path), "--to", str(target), "--inch"]) == 0
    said = capsys.readouterr()
    assert "Pictures" in said.err and f"wrote {target}" in said.out
    assert "ft³" in target.read_text(encoding="utf-8")
    other = tmp_path / "mine.html"
    other.write_text("<p>mine</p>", encoding="utf-8")
    assert main(["sheet", str(path), "--to", str(other)]) == 2
    assert other.read_text(encoding="utf-8") == "<p>mine</p>"
    assert main(["sheet", str(path), "--to", str(tmp_path / "it.pdf")]) == 2


@pytest.mark.parametrize("name", JOBS)
def test_the_cutaway_is_to_scale(name, job):
    mine = job(JOBS[name])
    ax = Figure().subplots()
    cutaway.draw(ax, cutaway.cut_open(mine.system, mine.box, mine.count))
    assert ax.get_aspect() == 1.0
    cones = [line for line in ax.lines if line.get_color() == cutaway.COLOURS["cone"]]
    across = float(to_mm(disc_diameter(mine.driver.sd)))
    assert np.ptp(cones[0].get_ydata()) == pytest.approx(across)
    inner = ax.patches[1].get_xy()[:, 1]
    top, foot = inner.max(), inner.min()
    for line in cones:  # nothing stands out of the box
        assert foot - 1 < line.get_ydata().min() and line.get_ydata().max() < top + 1


@pytest.mark.parametrize(
    ("value", "unit", "metric", "inch"),
    [
        (0.0218, "m3", "21.8 L", "0.770 ft³"),
        (0.29, "kg", "290 g", "10.2 oz"),
        (0.0, "m3", "0 L", "0 ft³"),
        (36.04, "Hz", "36.0 Hz", "36.0 Hz"),
    ],
)
def test_a_row_says_its_value_in_both_unit_systems(value, unit, metric, inch):
    made = row("it", value, unit)
    assert [made.metric.replace("\u00a0", " "), made.inch.replace("\u00a0", " ")] == [metric, inch]


FILTERED = """
[filters]
high_pass = "28 Hz"

[supply]
voltage = "13.2 V"
resistance = "25 mΩ"

[cable]
length = "4 m"
"""


def stops_of(job):
    return next(part for part in parts(job) if part.title == "What stops it first")


def test_the_whole_band_s_stop_is_counted_with_filters_and_supply(job):
    """Each number again from `solve` alone: the setting, the travel at it, and the first stop."""
    text = JOBS["pickup"] + FILTERED.replace("28 Hz", '30 Hz"\nhigh_pass_order = "4')
    mine = job(text)
    part = stops_of(mine)
    found = {each.name: each for each in part.rows}
    f = np.geomspace(0.7 * float(mine.box.tuning()), 100, 240)
    driver, box, load = mine.system, mine.box, 4.0
    one = solve(driver, box, f, 1.0)
    gain = np.abs(1 / (1 + np.sqrt(2 - np.sqrt(2)) * (30 / 1j / f) + (30 / 1j / f) ** 2))
    gain *= np.abs(1 / (1 + np.sqrt(2 + np.sqrt(2)) * (30 / 1j / f) + (30 / 1j / f) ** 2))
    rated = np.sqrt(mine.amplifier.power(load) * load)
    conductance = np.real(1 / one.impedance)
    # V = V0 - R·I with I = E²G/(η·V) and E = rated·V/13.8, solved for V
    sag = 13.2 / (1 + 0.025 * rated**2 * conductance / 0.75 / 13.8**2) / 13.8
    setting = np.min(rated * sag / gain)
    travel = 1e3 * (one.cone_excursion * gain * setting).max()
    ends = [float(each) for each in re.findall(r"[\d.]+", found[TRAVEL].metric)]
    assert min(ends) - 0.6 <= travel <= max(ends) + 0.6
    allowed = np.minimum(driver.xmax / one.cone_excursion, box.radiator.xmax / one.vent_excursion)
    allowed = np.minimum(allowed, np.sqrt(driver.pe / driver.re) * np.abs(one.impedance))
    first = np.min(np.minimum(allowed, rated * sag) / gain)
    below = 20 * np.log10(setting / first)
    ends = [float(each) for each in re.findall(r"[\d.]+", found[BELOW].metric)]
    assert min(ends) - 0.06 <= below <= max(ends) + 0.06
    then = re.findall(r"[\d.]+", found["the supply then, at the amplifier"].metric)
    sagging = 13.2 / (1 + 0.025 * rated**2 / load / 0.75 / 13.8**2)
    assert float(then[-1]) == pytest.approx(sagging, abs=0.06)  # held rails would draw more
    assert "with filters" in found[TRAVEL].note
    assert any("high-pass 30 Hz, 24 dB/octave" in words for words in part.words)
    assert any("13.2 V behind 25 mΩ" in words for words in part.words)
    assert not part.missing


def test_a_shape_that_is_not_known_is_marked_as_assumed_and_so_is_an_outline(job):
    small = page(job(SMALL))
    assert "Assumed for the drawing: sides as 8 : 6 : 5 inside" in small
    assert "board of 18 mm" in small
    assert "board of 18 mm" not in page(job(SMALL.replace("[box]", '[box]\nboard = "15 mm"')))
    wedge = page(job(TWELVE))
    assert "Assumed for the drawing" not in wedge and "outline is assumed" not in wedge
    bare = page(job(TWELVE.replace('frame = "315 mm"', "")))
    assert "outline is assumed from its size" in html.unescape(bare)


BELOW = "what stops the volume first, below full power"
TRAVEL = "largest cone travel at full power"


def test_a_high_pass_takes_travel_away_and_a_weak_supply_takes_volts(job):
    def numbers(text):
        rows = {each.name: each.metric for each in stops_of(job(text)).rows}
        return [float(rows[name].split()[0]) for name in (TRAVEL, BELOW)]

    strong = JOBS["pickup"].replace("300 W", "900 W").replace('2 ohm" = "500', '2 ohm" = "1500')
    filters, _, supply = FILTERED.partition("[supply]")
    plain, filtered = numbers(strong), numbers(strong + filters)
    supplied = numbers(f"{strong}[supply]{supply}")
    assert filtered[0] < 0.8 * plain[0] and filtered[1] < plain[1]
    assert supplied[0] < plain[0]


def test_as_found_stands_over_after_and_the_box_is_the_one_after(job):
    made = {
        "measured.box": {"fb": "44.10 ± 0.05 Hz", "volume": "21.8 ± 0.1 L", "ql": "5.5 ± 0.1"},
        "measured.after": {"fb": "38.00 ± 0.04 Hz", "volume": "21.7 ± 0.1 L", "ql": "13.0 ± 0.4"},
    }
    after = change(job(PICKUP.replace("290 g", "465 g")).path, made)
    assert float(after.box.volume) == pytest.approx(0.0217)
    found = {part.title: part for part in parts(after)}
    before = {each.name: each for each in found["As found, and after the work"].rows}
    assert before["tuning, as found"].metric == "44.10 ± 0.05 Hz"
    assert before["tuning, after"].metric == "38.00 ± 0.04 Hz"
    assert {each.how for each in before.values()} == {"measured"}
    said = " ".join(found["As found, and after the work"].words)
    assert "The tuning went from 44.1 Hz to 38.0 Hz" in said
    assert "net volume has not changed" in said and "QL went from 5.5 to 13.0" in said
    assert not any("Careful" in words for words in found["What it does"].words)
    assert "As found, and after the work" not in {part.title for part in parts(job(PICKUP))}


def test_nothing_is_said_to_be_left_out(job):
    efficient = (JOBS["pickup"] + FILTERED).replace(
        "[amplifier]\n", '[amplifier]\nefficiency = "80 %"\nrail = "40 V"\ncurrent = "30 A"\n'
    )
    words = " ".join(page(job(efficient)).split())
    assert "high-pass 28 Hz, 12 dB/octave" in words and "rail: 40 V peak" in words
    assert "80 % efficiency, 13.2 V" in words
    assert "picture what_a" not in words
    plain = " ".join(page(job(JOBS["pickup"])).split())
    assert "Counted" not in plain
