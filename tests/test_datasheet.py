"""The datasheet check: honest sheets pass, one wrong figure is found, and by how much."""

from dataclasses import replace

import pytest

from boxlab.base.checks import UnitWarning
from boxlab.gear.scenario import DRIVERS, TEN_INCH_DRIVER
from boxlab.model.datasheet import check_datasheet
from boxlab.model.driver import Driver


def sheet(driver: Driver) -> dict:
    """Every figure a datasheet could print of this driver."""
    names = ("fs", "qes", "qms", "qts", "sd", "re", "bl", "mms", "cms", "rms")
    figures = {name: getattr(driver, name) for name in names}
    return figures | {"vas": driver.vas(), "eta0": driver.reference_efficiency()}


@pytest.mark.parametrize("name", DRIVERS)
def test_a_driver_agrees_with_itself(name):
    report = check_datasheet(**sheet(DRIVERS[name]), tolerance=1e-9)
    assert report.consistent
    assert len(report.findings) == 7
    assert "agrees with itself" in str(report)


@pytest.mark.parametrize("wrong", ["bl", "re", "sd", "mms", "cms", "rms", "vas", "qts", "eta0"])
@pytest.mark.parametrize("factor", [0.7, 1.3])
def test_one_wrong_figure_is_among_the_suspects_with_its_true_value(wrong, factor):
    honest = sheet(TEN_INCH_DRIVER)
    report = check_datasheet(**honest | {wrong: honest[wrong] * factor})
    assert not report.consistent
    assert dict(report.suspects)[wrong] == pytest.approx(honest[wrong], rel=0.05)


def test_it_says_by_how_much():
    honest = sheet(TEN_INCH_DRIVER)
    worst = check_datasheet(**honest | {"bl": honest["bl"] * 1.2}).disagreements[0]
    # Qes goes as 1/Bl², so the printed Qes lies 1.2² above what the printed Bl makes of it
    assert worst.figure == "qes"
    assert worst.excess == pytest.approx(0.44)


def test_two_wrong_figures_have_no_single_cause():
    honest = sheet(TEN_INCH_DRIVER)
    report = check_datasheet(**honest | {"sd": honest["sd"] * 1.2, "qts": honest["qts"] * 1.2})
    assert not report.suspects
    assert "No single figure" in str(report)


def test_figures_that_nothing_tests_are_named():
    report = check_datasheet(qes=0.5, qms=5, qts=0.4545, re=3.5)
    assert report.consistent
    assert report.unused == ("re",)
    assert "Nothing to check" in str(check_datasheet(re=3.5))


def test_bad_input_gets_clear_words():
    with pytest.raises(ValueError, match="unknown figure xmas; known are fs"):
        check_datasheet(xmas=1)
    with pytest.raises(ValueError, match="qes must be above zero"):
        check_datasheet(qes=0, qms=5, qts=0.4)
    with pytest.warns(UnitWarning, match=r"for 350 cm² use boxlab.cm2\(350\)"):
        check_datasheet(sd=350, cms=1e-4, vas=0.03)


def test_it_shows_as_html_in_a_notebook():
    shown = check_datasheet(**sheet(replace(TEN_INCH_DRIVER, bl=14)))._repr_html_()
    assert shown.startswith("<ul><li>")
    assert "Qes from fs" in shown
