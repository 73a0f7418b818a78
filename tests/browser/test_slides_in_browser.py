"""Slides in a real browser: asked before answered, one count of hands, what moves, large words."""

import re

import pytest

from boxlab.draw.stage import table
from boxlab.publish.workshop import deck, papers
from boxlab.publish.workshop.lesson import Lesson, lessons

SMALLEST = """() => Math.min(...[...document.querySelectorAll('.slide.now .boxlab-stage svg text')]
  .filter((word) => word.textContent && word.getBoundingClientRect().height)
  .map((word) => parseFloat(getComputedStyle(word).fontSize)
    * word.getBoundingClientRect().height / word.getBBox().height))"""
FIGURE = ".slide.now .boxlab-stage .figure > svg >> nth=0"  # the plot


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """The slides of lesson 01 with only its first picture to move: that is soon made."""
    folder = tmp_path_factory.mktemp("slides")
    patch = pytest.MonkeyPatch()
    first = lessons(["01"])[0]
    patch.setattr(Lesson, "asks", first.asks[:2])
    patch.setattr(table, "PATIENCE", 0.0)  # few states of it
    deck.write(folder / "out", ["01"])
    patch.undo()
    return folder / "out"


def test_the_slides_of_a_lesson(visit, folder):
    address = (folder / "01-port-or-radiator.html").as_uri()
    page = visit(address, viewport={"width": 1920, "height": 1080})

    def press(*names):
        for name in names:
            page.keyboard.press(name)

    def where():
        return page.evaluate("decodeURIComponent(location.hash)")

    press("x", "x")
    assert where() == "#port-or-radiator/above-asked"
    press("ArrowRight", "1", "1", "3")  # options, and three hands
    press("x")
    assert where() == "#port-or-radiator/below-asked"  # the second, before the first is answered
    press("x")
    assert where() == "#port-or-radiator/above"
    hands = page.locator(".slide.now .hands")
    assert [hands.nth(i).text_content() for i in range(3)] == ["2 hands", "", "1 hand"]
    press("ArrowRight")
    page.wait_for_selector(".slide.now .boxlab-stage svg text")
    assert page.evaluate(SMALLEST) >= 24
    message = page.locator(".slide.now .boxlab-stage .message")
    assert not message.is_visible()  # it gives the answer away
    press("p")
    assert page.locator(".slide.now .boxlab-stage .hands").is_visible()
    assert not message.is_visible()
    page.wait_for_timeout(200)
    assert page.evaluate(SMALLEST) >= 24
    slider = page.locator(".slide.now input[type=range]").first
    before = page.locator(FIGURE).inner_html()
    slider.focus()
    press("ArrowRight", "End")  # move the slider, not the slides
    page.wait_for_timeout(300)
    assert where() == "#port-or-radiator/above"
    assert page.locator(FIGURE).inner_html() != before
    press("Escape", "p", "ArrowRight")
    assert page.locator(".slide.now .answer").is_visible()
    press("c")
    assert "starts anew" in page.locator("#place").text_content()
    assert page.noise == []


@pytest.mark.parametrize("inch", [False, True], ids=["metric", "inch"])
def test_a_worksheet_of_the_class_takes_one_page(visit, tmp_path, inch):
    words = ["ada", "ben"]
    papers.write(tmp_path / "out", words, papers.chosen([], papers.planned("two-hour-class")), inch)
    page = visit((tmp_path / "out/worksheets.html").as_uri())
    for size in ("A4", "Letter"):
        assert len(re.findall(rb"/Type\s*/Page\b", page.pdf(format=size))) == len(words), size


LOWEST = """() => document.querySelector('.slide.now .moves').getBoundingClientRect().bottom
  - Math.max(...[...document.querySelectorAll('.slide.now .boxlab-stage .figure svg text')]
    .filter((word) => word.textContent).map((word) => word.getBoundingClientRect().bottom))"""
LETTERS = "(part) => parseFloat(getComputedStyle(document.querySelector(part)).fontSize)"


def test_a_laptops_screen_is_used_and_nothing_of_the_plot_is_cut_off(visit, folder):
    address = (folder / "01-port-or-radiator.html").as_uri()
    page = visit(address, viewport={"width": 1366, "height": 625})
    page.keyboard.press("x")
    page.keyboard.press("x")
    page.keyboard.press("ArrowRight")  # the options, before any picture
    text = page.locator(".slide.now .options").bounding_box()
    assert page.evaluate(LETTERS, ".slide.now .options") >= 28 and text["width"] > 1000
    page.keyboard.press("x")
    page.keyboard.press("x")
    page.keyboard.press("ArrowRight")  # the picture
    page.wait_for_selector(".slide.now .boxlab-stage svg text")
    page.wait_for_timeout(1500)
    assert page.evaluate(LETTERS, ".slide.now .options") >= 20
    assert page.evaluate(SMALLEST) >= 13.9 and page.evaluate(LOWEST) >= -1
    page.keyboard.press("p")
    page.wait_for_timeout(1500)
    assert page.evaluate(SMALLEST) >= 13.9 and page.evaluate(LOWEST) >= -1
