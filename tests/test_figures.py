"""Pictures: colours hold their promises, curves are the data, files come out the same."""

import base64
import itertools
import re
from dataclasses import replace

import numpy as np
import pytest
from made_up import MADE_UP
from matplotlib.colors import to_rgb

from boxlab.draw import diagrams, figures, palette, plots
from boxlab.draw.scene import BUILDS, ROLES, Line, Mark
from boxlab.publish import pictures

# Full colour blindness as matrices on linear RGB: Machado, Oliveira and Fernandes, "A
# physiologically-based model for simulation of color vision deficiency", IEEE Trans. Vis. Comput.
# Graph. 15, 1291 (2009), from memory.
EYES = {
    "usual": np.eye(3),
    "protanopia": [
        [0.152286, 1.052583, -0.204868],
        [0.114503, 0.786281, 0.099216],
        [-0.003882, -0.048116, 1.051998],
    ],
    "deuteranopia": [
        [0.367322, 0.860646, -0.227968],
        [0.280085, 0.672501, 0.047413],
        [-0.011820, 0.042940, 0.968881],
    ],
    "tritanopia": [
        [1.255528, -0.076749, -0.178779],
        [-0.078411, 0.930809, 0.147602],
        [0.004733, 0.691367, 0.303900],
    ],
}


def linear(colour):
    c = np.array(to_rgb(colour))
    return np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4)


def luminance(colour):
    """Relative luminance, WCAG 2.1, section 3 (terms)."""
    return linear(colour) @ [0.2126, 0.7152, 0.0722]


def lab(rgb):
    """CIELAB (1976) of linear sRGB, white D65."""
    to_xyz = np.array(
        [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]
    )
    t = to_xyz @ np.clip(rgb, 0, 1) / to_xyz.sum(axis=1)
    f = np.where(t > (6 / 29) ** 3, np.cbrt(t), t / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def test_every_role_and_build_has_a_look():
    assert set(palette.COLOURS) == set(ROLES)
    assert set(plots.DASHES) == set(BUILDS)
    assert len({str(dash) for dash in plots.DASHES.values()}) == 3  # "" looks like radiator


@pytest.mark.parametrize("role", ROLES)
def test_contrast_on_white(role):
    assert 1.05 / (luminance(palette.COLOURS[role]) + 0.05) >= 4.5


@pytest.mark.parametrize("eye", EYES)
def test_colours_stay_apart(eye):
    for one, two in itertools.combinations(ROLES, 2):
        seen = [lab(np.array(EYES[eye]) @ linear(palette.COLOURS[role])) for role in (one, two)]
        assert np.linalg.norm(seen[0] - seen[1]) > 12, (one, two)


def test_ticks_are_plain():
    figure = figures.draw(MADE_UP())
    figure.canvas.draw()
    labels = [tick.get_text() for tick in figure.axes[0].get_xticklabels()]
    assert labels == ["10", "20", "50", "100", "200"]
    assert [tick.get_text() for tick in figure.axes[2].get_yticklabels()][:3] == ["1", "2", "5"]


def test_curves_are_the_scene():
    scene = MADE_UP(volume=30.0)
    figure = figures.draw(scene)
    for ax, plot in zip(figure.axes, scene.plots, strict=True):
        drawn = {line.get_xydata().tobytes() for line in ax.lines}
        for line in plot.lines:
            assert np.column_stack([line.x, line.y]).tobytes() in drawn


def test_names_of_marks_keep_clear_of_each_other():
    plot = MADE_UP().plots[0]
    marks = tuple(Mark(at, f"a long name at {at} Hz") for at in (30, 31, 33, 36, 150, 190))
    scene = replace(MADE_UP(), plots=(replace(plot, marks=marks),))
    figure = figures.draw(scene)
    figure.canvas.draw()
    boxes = [text.get_window_extent() for text in figure.axes[0].texts]
    assert len(boxes) == 6
    for one, two in itertools.combinations(boxes, 2):
        assert not one.overlaps(two)
    edges = figure.axes[0].bbox
    assert all(box.x0 >= edges.x0 - 1 and box.x1 <= edges.x1 + 1 for box in boxes)


def test_a_mark_out_of_sight_is_not_drawn():
    plot = replace(MADE_UP().plots[0], marks=(Mark(float("nan"), "none"), Mark(500, "far")))
    figure = figures.draw(replace(MADE_UP(), plots=(plot,)))
    assert len(figure.axes[0].texts) == 0


@pytest.mark.parametrize("kind", ["fill", "steps", "points", "dots"])
def test_other_kinds_of_line(kind):
    x = np.linspace(10, 200, 30)
    plot = replace(MADE_UP().plots[1], lines=(Line(x, x / 20, "cone", "c", kind=kind),))
    figure = figures.draw(replace(MADE_UP(), plots=(plot,)))
    assert len(figure.axes[0].patches) == (kind == "fill")
    assert len(figures.png(figure)) > 5000


def cloud(count, seed=1):
    """A scene with a plot of `count` dots."""
    x, y = np.random.default_rng(seed).uniform((10, 70), (200, 110), (count, 2)).T
    plot = replace(MADE_UP().plots[0], lines=(Line(x, y, "quiet", kind="dots"),), marks=())
    return replace(MADE_UP(), plots=(plot,))


def test_an_svg_holds_a_cloud_as_a_picture():
    small, large = (figures.svg(figures.draw(cloud(count)), "t") for count in (2_000, 20_000))
    assert large.count("<image") == 1
    assert len(large) < 8 * len(small)
    assert len(large) < 300_000
    assert not re.search(r' d="M[^"]*\.\d{3}', large)


def test_a_cloud_that_changed_is_noticed():
    one, other = (figures.svg(figures.draw(cloud(3_000, seed)), "t") for seed in (1, 2))
    assert pictures.same_drawing(one, one)
    assert not pictures.same_drawing(one, other)
    assert not pictures.same_drawing(one, one.replace("<image", "<p/><image"))


@pytest.mark.parametrize("name", ["a.svg", "a.png"])
def test_saved_files_are_the_same_each_time(tmp_path, name):
    first = figures.save(MADE_UP(), tmp_path / name).read_bytes()
    assert figures.save(MADE_UP(), tmp_path / f"again{name}").read_bytes() == first
    assert figures.save(MADE_UP(volume=9.0), tmp_path / name).read_bytes() != first


def test_svg_says_what_it_shows():
    text = figures.svg(figures.draw(MADE_UP()), "a < b", 'six "inch" & more')
    assert "<title>a &lt; b</title>" in text
    assert 'aria-label="six &quot;inch&quot; &amp; more"' in text
    assert not re.search(r"\d{4}-\d\d-\d\d", text)


def test_save_wants_a_known_ending(tmp_path):
    with pytest.raises(ValueError, match=r"\.svg or \.png"):
        figures.save(MADE_UP(), tmp_path / "a.gif")


def test_small_png_is_faithful():
    """The PNG with a fixed table differs from the full-colour drawing by less than eyes notice."""
    import io

    from PIL import Image

    figure = figures.draw(MADE_UP())
    small = np.asarray(Image.open(io.BytesIO(figures.png(figure, 1.0))).convert("RGB"), int)
    figure.canvas.draw()
    whole = np.asarray(figure.canvas.buffer_rgba())[..., :3].astype(int)
    away = np.abs(small - whole).max(axis=2)
    assert away.mean() < 0.5
    assert (away > 40).mean() < 0.001


def test_a_png_carries_its_note():
    import io

    from PIL import Image

    data = figures.png(figures.draw(MADE_UP()), note="volume=14 é")
    assert Image.open(io.BytesIO(data)).text["Comment"] == "volume=14 é"
    assert data == figures.png(figures.draw(MADE_UP()), note="volume=14 é")


def test_show_gives_alt_text_and_a_visible_caption(capsys, monkeypatch):
    shown = []
    monkeypatch.setattr("IPython.display.display", lambda data, **more: shown.append((data, more)))
    figures.show(MADE_UP())
    (picture, more), (words, _) = shown
    assert more["metadata"]["image/png"]["alt"] == MADE_UP().alt
    assert base64.b64decode(picture["image/png"]).startswith(b"\x89PNG")
    assert words["text/markdown"] == MADE_UP().caption
    with pytest.raises(ValueError, match="alt"):
        figures.show(figures.draw(MADE_UP()))


def test_the_circuit_keeps_words_apart_and_inside():
    figure = diagrams.figure()
    ax = figure.axes[0]
    figure.canvas.draw()
    boxes = [t.get_window_extent() for t in ax.texts if t.get_text()]
    assert len(boxes) >= 4
    for one, two in itertools.combinations(boxes, 2):
        assert not one.overlaps(two)
    assert all(figure.bbox.contains(*corner) for box in boxes for corner in box.get_points())
    assert min(t.get_fontsize() for t in ax.texts) >= 9


@pytest.mark.parametrize("word", ["mmmmmmmmm", "iii"])
def test_what_stands_under_the_plots_is_not_cut_off(word):
    figure = figures.footed(MADE_UP(), " ".join([word] * 60))
    box = figure.texts[-1].get_window_extent(figure.canvas.get_renderer())
    assert figure.bbox.x0 < box.x0 and box.x1 < figure.bbox.x1
    assert figure.bbox.y0 < box.y0
