"""The command line says what it did, in its words and in its exit code."""

import re
import subprocess
import sys

import numpy as np
import pytest
from PIL import Image

from boxlab.__main__ import main
from boxlab.draw.scene import Choice, Explainer, Line, Number, Plot, Scene, Slider
from boxlab.explainers import all_explainers
from boxlab.explainers._shared import cubic_feet_text
from boxlab.publish import laptop_check, pictures
from boxlab.publish.forum_words import FORUM_WORDS


def answer(volume, build):
    """A small scene with one curve that moves with `volume`."""
    x = np.geomspace(10, 200, 20)
    line = Line(x, 80 + 100 / (volume * x), "sum", "sum", build)
    plot = Plot("Output", "frequency (Hz)", "dB re 20 µPa", (10, 200), (70, 100), (line,))
    return Scene(
        title="A try",
        plots=(plot,),
        readout=(f"tuning {630 / volume:.1f} Hz",),
        numbers=(Number("volume", f"{volume:g} L", f"{volume / 28.3:.2f} ft³"),),
        caption="What to see.",
        alt="One curve from 10 to 200 Hz.",
        code=f"boxlab.litres({volume:g})",
        columns=1,
        warnings=("Small.",) if volume < 6 else (),
    )


ITEM = Explainer(
    "a_try",
    "Does it try?",
    (
        Slider("volume", "Net volume", 5, 40, 14, 0.5, "L", cubic_feet_text),
        Choice("build", "Build", ("sealed", "ported"), "sealed"),
    ),
    answer,
    answer="It does.",
)


@pytest.fixture
def one_explainer(monkeypatch):
    monkeypatch.setattr("boxlab.explainers.all_explainers", lambda: (ITEM,))
    monkeypatch.setattr(pictures, "all_explainers", lambda: (ITEM,))


def run(*arguments):
    return subprocess.run(
        [sys.executable, "-m", "boxlab", *arguments], capture_output=True, text=True
    )


@pytest.mark.parametrize(
    ("arguments", "code", "word"),
    [
        ((), 2, "check"),
        (("--help",), 0, "exit codes"),
        (("picture", "--help"), 0, "--set volume=0.6ft3"),
        (("--version",), 0, "boxlab 0."),
    ],
)
def test_it_explains_itself(arguments, code, word):
    done = run(*arguments)
    assert (done.returncode, done.stderr) == (code, "")
    assert word in done.stdout


@pytest.mark.parametrize(
    ("arguments", "word"),
    [
        (("bass",), "invalid choice: 'bass'"),
        (("picture",), "NAME"),
        (("picture", "port_or_radiatr"), "did you mean 'port_or_radiator'?"),
        (("picture", "port"), "did you mean 'port_or_radiator' or 'port_that_will_not_fit' or"),
        (("picture", "zzz"), "no picture is called 'zzz'; `python -m boxlab questions` lists"),
        (("lessons", "--check", "--write"), "not allowed with"),
        (("lessons", "bass"), "no lesson is called 'bass'"),
    ],
)
def test_bad_usage_is_2_and_says_why(arguments, word):
    done = run(*arguments)
    assert (done.returncode, done.stdout) == (2, "")
    assert word in done.stderr
    assert "Traceback" not in done.stderr


def test_help_imports_nothing_heavy():
    code = (
        "import sys, boxlab.__main__ as m; m.parser().format_help();"
        "print([n for n in ('numpy', 'matplotlib', 'nbformat') if n in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert done.stdout.strip() == "[]"


def test_questions_are_a_short_list(one_explainer, capsys):
    assert main(["questions"]) == 0
    said = capsys.readouterr().out
    assert "  a_try  Does it try?\n" in said
    assert "It does." not in said


@pytest.mark.parametrize("words", [["a_try"], ["a-try"], ["NET", "trying"], ["ported"]])
def test_words_find_a_question_with_answer_and_settings(words, one_explainer, capsys):
    assert main(["questions", *words]) == 0
    said = capsys.readouterr().out
    for word in ("a_try", "Does it try?", "It does.", "volume=14", "sealed | ported"):
        assert word in said
    assert "5 to 40 L, 0.18 ft³ to 1.41 ft³" in said


def test_words_that_find_nothing_are_an_answer_too(one_explainer, capsys):
    assert main(["questions", "try", "harder"]) == 1
    said = capsys.readouterr().out
    assert "no question has all of 'try' and 'harder'" in said
    assert "These come nearest:" in said and "a_try" in said


@pytest.mark.parametrize(
    ("asked", "first"),
    [
        ("dip", "where_is_the_tuning"),
        ("clamp meter", "meter_on_music"),
        ("polarity", "faults_in_a_sweep"),
        ("flip", "phase_at_tuning"),
        ("polyfill", "brace_and_fill"),
        ("Qts", "small_or_large"),
        ("datasheet", "weigh_the_cone"),
        ("bottoms out", "radiator_stop"),
        ("why does my sub bottom out?", "radiator_stop"),
        ("port is chuffing", "port_that_will_not_fit"),
        ("polarty", "faults_in_a_sweep"),
    ],
)
def test_questions_are_found_in_the_words_of_forums(asked, first, capsys):
    code = main(["questions", *asked.split()])
    said = capsys.readouterr().out
    names = [line.split()[0] for line in said.splitlines() if re.match(r" *[a-z]+(_[a-z]+)+", line)]
    assert names[0] == first
    assert code == (0 if asked != "polarty" else 1)


def test_forum_words_point_to_questions_that_there_are():
    names = {item.name for item in all_explainers()}
    assert {name for row in FORUM_WORDS.values() for name in row.split()} <= names


def test_short_is_one_line_to_post(one_explainer, capsys):
    assert main(["picture", "a_try", "--short", "--bbcode", "--pages", "https://b.example"]) == 0
    said = capsys.readouterr().out
    assert said.count("\n") == 1 and len(said.split()) <= 40


def test_every_verb_is_in_the_help_under_what_it_is_for():
    from boxlab.__main__ import GROUPS, parser

    top = parser()
    (verbs,) = (action for action in top._actions if action.choices)
    assert sorted(verbs.choices) == sorted(name for names in GROUPS.values() for name in names)
    said = top.format_help()
    assert all(f"\n  {name}  " in said for name in verbs.choices)


def test_picture_computes_what_was_asked(one_explainer, capsys):
    assert main(["picture", "a-try", "--set", "volume=5", "--set", "build=ported"]) == 0
    said = capsys.readouterr().out
    for word in ("tuning 126.0 Hz", "Careful: Small.", "0.18 ft³", "What to see.", "litres(5)"):
        assert word in said
    assert "With net volume 5 L (0.18 ft³); build ported:" in said
    assert "Settings: a_try(volume=5, build='ported')" in said


def test_a_pasted_settings_line_will_do(one_explainer, capsys, tmp_path):
    path = tmp_path / "a.png"
    line = "a_try(volume=5, build='ported')"
    assert main(["picture", line, "--set", "volume=7", "--to", str(path)]) == 0
    assert "tuning 90.0 Hz" in capsys.readouterr().out
    assert Image.open(path).text["Comment"] == "a_try(volume=7, build='ported')"


def test_markdown_is_all_that_is_printed_when_asked_for(one_explainer, capsys, tmp_path):
    path = tmp_path / "a.png"
    assert main(["picture", "a_try(volume=5)", "--to", str(path), "--markdown"]) == 0
    said = capsys.readouterr()
    assert said.out.startswith(
        "![One curve from 10 to 200 Hz.](a.png)\n\n*What to see. Gear: invented"
    )
    assert "It does." not in said.out  # said of the starting settings
    assert "boxlab settings: `a_try(volume=5, build='sealed')`" in said.out
    assert "wrote" in said.err


def test_plain_is_a_paragraph_to_paste(one_explainer, capsys, tmp_path):
    path = tmp_path / "a.png"
    assert main(["picture", "a_try", "--to", str(path), "--plain"]) == 0
    said = capsys.readouterr()
    assert said.out.startswith("Does it try? It does.\nWith net volume 14 L (0.49 ft³); build")
    assert not set("*`[") & set(said.out)
    assert "wrote" in said.err


@pytest.mark.parametrize(("name", "start"), [("a.png", b"\x89PNG"), ("a.SVG", b"<?xml")])
def test_picture_writes_a_file(name, start, one_explainer, tmp_path, capsys):
    path = tmp_path / name
    assert main(["picture", "a_try", "--to", str(path)]) == 0
    assert path.read_bytes().startswith(start)
    assert f"wrote {path}" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("arguments", "word"),
    [
        (["--set", "volume"], "SETTING=VALUE"),
        (["--set", "volume="], "SETTING=VALUE"),
        (["--set", "size=3"], "it has volume, build"),
        (["--set", "volume=big"], "a number, 5 to 40 L, 0.18 ft³ to 1.41 ft³"),
        (["--set", "volume=0.014"], "Net volume goes from 5 to 40 L, 0.18 ft³ to 1.41 ft³"),
        (["--set", "volume=9 ft3"], "9 ft3: Net volume goes from 0.177 to 1.41 ft³"),
        (["--set", "vol=9"], "no setting 'vol'; did you mean 'volume'?"),
        (["--set", "volme=9"], "no setting 'volme'; did you mean 'volume'?"),
        (["--set", "volume=nan"], "expected a number"),
        (["--set", "volume=3 in"], "The unit in does not fit"),
        (["--markdown", "--plain"], "not allowed with"),
        (["--set", "build=open"], "sealed, ported"),
        (["--to", "a.jpg"], ".svg or .png"),
        (["--pages", "my pages"], "address of web pages"),
    ],
)
def test_picture_refuses_with_a_reason(arguments, word, one_explainer, capsys):
    try:
        code = main(["picture", "a_try", *arguments])
    except SystemExit as stop:  # argparse has seen it already
        code = stop.code
    assert code == 2
    assert word in capsys.readouterr().err


def test_a_file_that_cannot_be_written_is_a_failure(one_explainer, tmp_path, capsys):
    assert main(["picture", "a_try", "--to", str(tmp_path / "no" / "a.png")]) == 1
    assert "a.png" in capsys.readouterr().err


@pytest.mark.parametrize("text", ["14.5", "14,5", "14.5 L", " 14.5L "])
def test_a_setting_may_carry_its_unit_and_a_decimal_comma(text):
    assert pictures.settings(ITEM, [f"volume={text}"]) == {"volume": 14.5}


@pytest.mark.parametrize("text", ["0.6 ft3", "0.6ft³", "0.6 cu ft", "0,6 cubic feet", "1037 in³"])
def test_a_setting_may_be_in_another_unit(text):
    assert pictures.settings(ITEM, [f"volume={text}"]) == {"volume": 16.99}


def test_a_comma_between_thousands_is_taken_where_only_that_fits():
    amplifier = Explainer("b", "B?", (Slider("amplifier", "", 50, 2000, 300, 1, "W"),), answer)
    assert pictures.settings(amplifier, ["amplifier=1,200 W"]) == {"amplifier": 1200}
    assert pictures.settings(ITEM, ["volume=14,200"]) == {"volume": 14.2}


@pytest.mark.parametrize(
    ("text", "option"),
    [("ten", "ten-inch"), ("10", "ten-inch"), ('12"', "twelve-inch"), ("12 in", "twelve-inch"),
     ("12-inch", "twelve-inch"), ("t", "t"), ("4", "4 Ω"), ("4 Ω", "4 Ω"), ("40", "40")],
)  # fmt: skip
def test_an_option_may_be_short(text, option):
    sizes = Choice("size", "Size", ("ten-inch", "twelve-inch", "4 Ω"), "ten-inch")
    assert pictures.settings(Explainer("b", "B?", (sizes,), answer), [f"size={text}"]) == {
        "size": option
    }


def test_pictures_are_stale_until_written(one_explainer, tmp_path, monkeypatch):
    assert pictures.stale(tmp_path) == ["README.md is missing"]
    said = []
    pictures.write_all(tmp_path, said.append)
    assert said == ["1 of 1: a_try"]
    assert pictures.stale(tmp_path) == []
    names = {path.name for path in tmp_path.iterdir()}
    assert names == {"README.md", "a_try.svg", "a_try.png"}
    page = (tmp_path / "README.md").read_text(encoding="utf-8")
    for word in ("## Does it try?", "**It does.**", "What to see.", "One curve", "tuning 45.0 Hz"):
        assert word in page
    assert "\n- [Does it try?](#does-it-try) It does. *Here: tuning 45.0 Hz*\n" in page


def test_a_changed_curve_is_stale(one_explainer, tmp_path, monkeypatch):
    pictures.write_all(tmp_path)
    original = ITEM.scene

    def louder(volume, build):
        scene = original(volume, build)
        scene.plots[0].lines[0].y[10] += 0.2  # dB
        return scene

    monkeypatch.setattr(pictures, "all_explainers", lambda: (_with_scene(louder),))
    assert pictures.stale(tmp_path) == ["a_try.svg differs"]


def _with_scene(scene):
    return Explainer(ITEM.name, ITEM.question, ITEM.controls, scene, answer=ITEM.answer)


def test_changed_words_and_strange_files_are_stale(one_explainer, tmp_path):
    pictures.write_all(tmp_path)
    page = tmp_path / "README.md"
    page.write_text(page.read_text(encoding="utf-8").replace("45.0", "45.1"), encoding="utf-8")
    (tmp_path / "old.svg").touch()
    (tmp_path / "a_try.png").unlink()
    assert pictures.stale(tmp_path) == [
        "README.md differs",
        "a_try.png is missing",
        "old.svg belongs to no explainer",
    ]
    pictures.write_all(tmp_path)
    assert pictures.stale(tmp_path) == ["old.svg belongs to no explainer"]  # it is somebody's


def test_same_drawing_forgives_the_last_digits_only():
    svg = '<path id="p0123456789" d="M 1.000001 2"/>'
    assert pictures.same_drawing(svg, '<path id="pabcdef0123" d="M 1.000002 2"/>')
    assert not pictures.same_drawing(svg, '<path id="p0123456789" d="M 1.2 2"/>')
    assert not pictures.same_drawing(svg, '<path id="p0123456789" d="L 1.000001 2"/>')
    assert not pictures.same_drawing(svg, '<path id="p0123456789" d="M 1.000001 2 3"/>')


def test_check_runs_every_trial_and_says_no(capsys):
    def breaks():
        raise ImportError("no such package")

    assert not laptop_check.check([("One", breaks), ("Two", lambda: "fine")])
    said = capsys.readouterr().out
    assert "NO  One: ImportError: no such package" in said
    assert "ok  Two: fine" in said
    assert "Not ready" in said


@pytest.mark.parametrize("trial", laptop_check.TRIALS, ids=lambda trial: trial[0])
def test_this_machine_is_ready(trial):
    assert trial[1]()


def test_check_finds_a_package_of_the_wrong_version(monkeypatch):
    monkeypatch.setattr(laptop_check.metadata, "version", lambda name: "0.1")
    with pytest.raises(RuntimeError, match=r"numpy is 0.1; it should be"):
        laptop_check.packages()
