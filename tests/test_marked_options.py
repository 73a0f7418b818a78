"""The option that is marked right is the one that the computed claim supports.

Each rule takes the numbers out of what the model says for a prediction and chooses an option by
them alone. So an option that is marked wrongly turns this red, whatever the lesson's words say.
"""

import re
import tomllib
from pathlib import Path

import pytest

from boxlab.explainers import explainer
from boxlab.publish.notebooks import read
from boxlab.publish.workshop.lesson import lessons
from boxlab.quiz import exercises

ASKS = {ask.key: ask for lesson in lessons() for ask in lesson.asks}
NUMBER = re.compile(r"(?<![\w.])[-−+]?\d+(?: \d{3})*(?:\.\d+)?")


def numbers(text):
    """Every number of a text, in order."""
    return [float(n.replace(" ", "").replace("−", "-")) for n in NUMBER.findall(text)]


def nearest(place):
    """The option whose first number is nearest to number `place` of the claim."""

    def choose(said, options):
        own = [numbers(option)[0] if numbers(option) else 0.0 for option in options]
        return min(range(len(own)), key=lambda i: abs(own[i] - said[place]))

    return choose  # fmt: skip


def cases(place, *ends):
    """The option by where number `place` of the claim lies between the `ends`."""
    return lambda said, options: sum(abs(said[place]) >= end for end in ends)


def asked(key):
    """Numbers of the question itself."""
    return numbers(ASKS[key].question.question)


RULES = {  # key -> rule on (numbers of the claim, options)
    "port-or-radiator/above": lambda n, o: 2 if abs(n[2]) < 0.5 else int(n[2] > 0),
    "port-or-radiator/below": lambda n, o: 2 if abs(n[4]) < 0.5 else int(n[4] > 0),
    "port-or-radiator/length": nearest(2),
    "port-or-radiator/crossing": nearest(2),
    "phase/at-tuning": lambda n, o: round(n[1] / 90),
    "phase/sound": nearest(3),
    "phase/travel": lambda n, o: 1 if n[0] < 0.9 * 36 else 2 if n[0] > 1.1 * 36 else 0,
    "phase/camera": lambda n, o: 1 if n[-1] > 0 and n[1] < n[0] else 0,
    "size-efficiency-extension/octave": nearest(0),
    "size-efficiency-extension/ceiling": lambda n, o: nearest(0)([n[2] / n[1] * 100], [
        "0", f"{100 / 100}", f"{100 / 4}"]),
    "size-efficiency-extension/boost": lambda n, o: nearest(0)([n[2] / n[3]], ["2", "3", "10"]),
    "size-efficiency-extension/larger": lambda n, o: 2 if abs(n[3] - n[5]) < 0.1 else
    int(n[5] > n[3]),
    "size-efficiency-extension/two": lambda n, o: nearest(0)([n[2] - n[3]], ["0", "3", "6"]),
    "size-efficiency-extension/twelve": lambda n, o: nearest(0)([n[2] - n[3]], ["0.5", "2", "5"]),
    "size-efficiency-extension/behind": lambda n, o: nearest(0)([n[1] - n[2]], ["-3", "0", "3"]),
    "how-much-radiator/share": lambda n, o: nearest(0)([n[4]], ["0", "20", "50"]),
    "how-much-radiator/below": lambda n, o: 2 if n[1] < n[0] else 0,
    "how-much-radiator/lower": lambda n, o: nearest(0)([n[1] / n[0]], ["1.9", "1", "0.5"]),
    "how-much-radiator/weights": lambda n, o: cases(0, 0.9, 1.1)([n[3] / n[0]], o),
    "reading-a-sweep/lost": lambda n, o: len(n) - 2 if len(n) > 3 else 0,
    "reading-a-sweep/clay": nearest(1),
    "reading-a-sweep/lining": lambda n, o: 1 if n[3] < n[1] and n[2] > n[0] else 0,
    "reading-a-sweep/weights": nearest(3),
    "fitting-the-space/left": lambda n, o: nearest(0)([n[3]], ["90", "70", "50"]),
    "fitting-the-space/best": lambda n, o: nearest(0)([n[1] / n[0]], ["0.0013", "0.1", "0.5"]),
    "fitting-the-space/fill": lambda n, o: (
        2 if n[2] > asked("fitting-the-space/fill")[-1] + 0.5 else 0
    ),
    "power-and-wiring/meter": nearest(2),
    "power-and-wiring/stops": lambda n, o: min((0, 1), key=lambda i: n[2 - i]),
    "power-and-wiring/clipping": lambda n, o: nearest(0)([n[3]], ["1", "5", "10"]),
    "power-and-wiring/cable": nearest(3),
    "power-and-wiring/filter": lambda n, o: nearest(0)([n[0]], ["0", "3", "6"]),
    "power-and-wiring/supply": lambda n, o: nearest(0)([abs(n[-1])], ["0.6", "1.2", "3"]),
    "power-and-wiring/warm": lambda n, o: nearest(0)([n[-1]], ["0.25", "1.5", "6"]),
    "in-the-car/lift": lambda n, o: nearest(0)([n[1]], ["12", "9", "0"]),
    "in-the-car/cold": lambda n, o: int(abs(n[3]) > abs(n[2])),
    "how-loud/reading": nearest(2),
    "how-loud/exchange": nearest(1),
    "how-loud/mute": lambda n, o: nearest(0)([n[0]], ["0.5", "6", "15"]),
    "how-loud/laptop": nearest(-2 + 1),
    "start-here/rest": lambda n, o: 1 if abs(n[1] / n[0] - 1) < 0.05 else 0,
    "phase/loss": lambda n, o: 2 if abs(n[-2] - 90) < 15 else (0 if n[-2] < 90 else 1),
    "how-much-radiator/stop": lambda n, o: nearest(0)([n[2]], ["6", "2.5", "0.25"]),
    "how-much-radiator/soft": lambda n, o: 2 if n[0] > 1.2 * n[2] else 1,
    "reading-a-sweep/leak": lambda n, o: (
        2 if n[1] < n[0] and n[3] > n[2] and n[5] < n[4] else 0
    ),
    "fitting-the-space/spare": lambda n, o: nearest(0)([n[0]], ["80", "35", "0"]),
    "power-and-wiring/coils": lambda n, o: 2 if 4.0 not in n[:2] else 0,
    "how-loud/lowest-note": lambda n, o: 0 if n[0] > 0 else 1,
    "a-box-comes-in/coil": lambda n, o: 2 if n[4] - n[2] > 1 else 0,
    "a-box-comes-in/weights": nearest(4),
    "a-box-comes-in/stops": lambda n, o: 2 if n[-1] < min(n[1], n[2]) else 0,
    "measure-it-yourself/inputs": nearest(1),
    "measure-it-yourself/area": lambda n, o: nearest(0)([abs(n[0])], ["0", "12", "25"]),
    "measure-it-yourself/music": nearest(0),
}  # fmt: skip


def metric(text):
    """The text without inches and the like, which stand in brackets behind what they repeat."""
    return re.sub(r" \([^()]*\d (?:in|in²|ft|ft²|ft³|ft/s|ft/s²|oz|lb|°F)\)", "", text)


def chosen(key):
    """Option that the claim supports, by its rule."""
    ask = ASKS[key]
    said = numbers(metric(ask.outcome.because))
    return ask.question.options[RULES[key](said, ask.question.options)]


@pytest.mark.parametrize("key", RULES)
def test_the_marked_option_is_what_the_claim_supports(key):
    assert chosen(key) == ASKS[key].outcome.right, numbers(ASKS[key].outcome.because)


def answered_by():
    """(ask, explainer, setting, its value) of each setting that an answer is worked out at."""
    for path in sorted(Path(exercises.__file__).parent.glob("*.toml")):
        for slug, row in tomllib.loads(path.read_text(encoding="utf-8")).items():
            keys = [key for key in ASKS if key.endswith(f"/{slug}")]
            for name, given in re.findall(r"\{(\w+)\?([^#}]*)#\w+\}", row.get("because", "")):
                for word, _, value in (each.partition("=") for each in given.split("&")):
                    yield from ((ASKS[key], name, word, value) for key in keys)


def above_panel(name, settings):
    """The words right above the lesson's panel of that name and those settings."""
    for lesson in lessons():
        before = ""
        for cell in read(lesson.path).cells:
            if f'explainer("{name}")' in cell.source and all(k in cell.source for k in settings):
                return re.sub(r"\s+", " ", before)
            before = cell.source if cell.cell_type == "markdown" else before
    return ""


@pytest.mark.parametrize("key", sorted({ask.key for ask, *_ in answered_by()}))
def test_a_panel_opens_at_the_numbers_of_its_question_or_says_how_to_set_them(key):
    asked_at = [row[1:] for row in answered_by() if row[0].key == key]
    ask = ASKS[key]
    for name, word, value in asked_at:
        shown = next((each for each in ask.pictures[::-1] if each.name == name), None)
        if shown is None or not re.fullmatch(r"[\d.]+", value):
            continue
        number = f"{float(value):g}"
        opens = (explainer(name).start | dict(shown.settings))[word]
        if opens == float(value) or number not in re.findall(r"[\d.]*\d", ask.question.question):
            continue
        label = next(c.label for c in explainer(name).controls if c.name == word)
        above = above_panel(name, shown.settings)
        assert f"**{label}**" in above and number in re.findall(r"[\d.]*\d", above), (name, word)


@pytest.mark.parametrize("lesson", lessons(), ids=lambda lesson: lesson.path.stem)
def test_no_cell_of_a_lesson_tells_the_answer_beside_the_open_question(lesson):
    for cell in read(lesson.path).cells:
        if cell.cell_type == "code" and "quiz.compare(" in cell.source:
            assert "right=" not in cell.source, cell.source
