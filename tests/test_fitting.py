"""Clearances against hand sums and a march through the solid; the drawing's outlines."""

import numpy as np
import pytest

from boxlab.car.carcass_view import draw_box, outlines, views
from boxlab.car.clearance import (
    Clearance,
    Mounting,
    clearances,
    depth_behind,
    place,
    spacing,
    travel_clearance,
)
from boxlab.car.joinery import Carcass, Gap
from boxlab.car.solids import Block
from boxlab.explainers import explainer

PLAIN = Carcass(Gap(0.4, 0.3, 0.25, slack=0.0), 0.020)  # 360 × 260 × 210 mm inside
DRIVER = Mounting(
    "ten-inch shallow demo driver", outer=0.265, cutout=0.232, depth=0.085, magnet=0.15,
    magnet_depth=0.03, travel=0.016, proud=0.012,
)  # fmt: skip


def by_name(found):
    return {c.what.split(": ")[-1]: c for c in found}


def test_plain_box_by_hand():
    got = by_name(clearances(PLAIN, DRIVER, breathing=0.010))
    assert got["magnet to the wall behind"].available == pytest.approx(0.020 + 0.210)
    assert got["magnet to the wall behind"].spare == pytest.approx(0.230 - 0.095)
    assert got["frame on the baffle"].available == pytest.approx(0.300)  # the lower side
    assert got["hole between the walls"].spare == pytest.approx(0.260 - 0.232)
    assert all(c.fits for c in got.values())


def test_off_centre_and_too_big_say_how_much():
    got = by_name(clearances(PLAIN, DRIVER, place(PLAIN, x=0.1)))
    # 80 mm from the side wall: room for a hole of 160 mm.
    assert not got["hole between the walls"].fits
    assert (
        "72.0 mm short (160.0 mm there, 232.0 mm needed)" in got["hole between the walls"].sentence
    )


def march(carcass, start, normal, step=2e-4):
    """Depth by walking through the solid until the point is in wall or notch."""
    walked = np.arange(step, 1.0, step)
    p = start + walked[:, None] * normal
    free = carcass.inner.contains(*p.T)
    for b in carcass.covers:
        free &= ~(
            (p[:, 0] > b.x0) & (p[:, 0] < b.x1) & (p[:, 1] > b.y0) & (p[:, 1] < b.y1)
            & (p[:, 2] > b.z0) & (p[:, 2] < b.z1)
        )  # fmt: skip
    return walked[np.argmin(free)]


@pytest.mark.parametrize("baffle", ["front", "back", "top", "left"])
@pytest.mark.parametrize("block", [None, Block.at(x=0.3, width=0.2, depth=0.12, height=0.3)])
def test_depth_behind_against_a_march_through_the_solid(baffle, block):
    carcass = Carcass(Gap(0.8, 0.42, 0.35, 0.20, (block,) if block else ()), 0.018, baffle)
    corners, normal = carcass.inner.faces()[baffle]
    point, diameter = place(carcass, 0.01, 0.005), 0.14
    along = (corners[1] - corners[0]) / np.linalg.norm(corners[1] - corners[0])
    up = np.cross(normal, along)
    walked = min(
        march(carcass, point + r * (np.cos(a) * along + np.sin(a) * up), normal)
        for r in (0.0, 0.035, 0.07)
        for a in np.linspace(0, 2 * np.pi, 16, endpoint=False)
    )
    assert depth_behind(carcass, point, diameter) == pytest.approx(walked, abs=3e-3)


def test_slope_catches_the_rim_before_the_centre():
    leaning = Carcass(Gap(0.8, 0.5, 0.30, 0.10), 0.018)
    point = place(leaning)
    assert depth_behind(leaning, point, 0.15) < depth_behind(leaning, point, 0.0) - 0.02


def test_radiator_weights_need_their_travel():
    plain = Mounting("radiator", outer=0.265, cutout=0.232, depth=0.06, travel=0.03, rear=0.05)
    got = by_name(clearances(PLAIN, plain))
    assert got["depth"].needed == pytest.approx(0.08)  # 50 mm + 30 mm, over 60 mm + 10 mm


def test_travel_spacing_and_facing():
    assert travel_clearance(DRIVER, 0.030).spare == pytest.approx(0.030 - 0.033)
    assert "3.0 mm short" in travel_clearance(DRIVER, 0.030, "the seat").sentence
    assert spacing(DRIVER, DRIVER, 0.27).spare == pytest.approx(0.005)


def test_displacement_outline_against_random_points():
    rng = np.random.default_rng(3)
    x, y = rng.uniform(-0.116, 0.116, (2, 200_000))
    z = rng.uniform(0, 0.085, 200_000)
    radius = np.where(z < 0.055, 0.116 + (0.075 - 0.116) * z / 0.055, 0.075)
    for board, litres_ in ((0.0, 2.13), (0.018, 1.45)):
        expected = np.mean((np.hypot(x, y) < radius) & (z > board)) * 0.232**2 * 0.085
        assert DRIVER.displacement(board) == pytest.approx(expected, rel=0.01)
        assert DRIVER.displacement(board) * 1e3 == pytest.approx(litres_, abs=0.006)
    assert Mounting("d", 0.2, 0.18, 0.08, volume=1e-3, count=2).displacement(
        0.018
    ) == pytest.approx(2e-3)


def test_outlines_are_to_scale():
    found = {o.kind: o for o in outlines(PLAIN, "front", [(DRIVER, None)])}
    assert np.ptp(found["board"].points, axis=0) == pytest.approx([400, 300])
    assert np.ptp(found["inside"].points, axis=0) == pytest.approx([360, 260])
    assert np.ptp(found["part"].points, axis=0) == pytest.approx([265, 265], rel=1e-2)
    side = {o.kind: o for o in outlines(PLAIN, "side", [(DRIVER, None)])}
    assert np.ptp(side["part"].points, axis=0) == pytest.approx([85, 265], rel=1e-2)


def test_boards_round_an_obstruction_are_drawn():
    arch = Block.at(width=0.1, depth=0.1, height=0.1, name="arch")
    carcass = Carcass(Gap(0.8, 0.42, 0.35, obstructions=(arch,), slack=0.002), 0.018)
    cover = next(o for o in outlines(carcass, "side") if o.kind == "cover")
    assert cover.points.max(axis=0) == pytest.approx([120, 120])
    assert cover.points.min(axis=0) == pytest.approx([20, 20])


@pytest.mark.parametrize("view", ["side", "front"])
def test_drawing_on_axes_keeps_scale(view):
    from matplotlib.figure import Figure

    ax = Figure().add_subplot()
    arch = Block.at(width=0.1, depth=0.1, height=0.1, name="arch")
    carcass = Carcass(Gap(0.8, 0.42, 0.35, 0.20, (arch,)))
    draw_box(ax, carcass, view, [(DRIVER, None)])
    assert ax.get_aspect() == 1
    assert {t.get_text() for t in ax.texts} == {"arch", DRIVER.name}
    assert len(ax.patches) == 6 and ax.get_xlabel().endswith("mm")


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: Mounting("d", 0.2, 0.23, 0.08), "fall through"),
        (lambda: Mounting("d", 0.26, 0.23, 0.08, magnet=0.25), "does not pass the cutout"),
        (lambda: Mounting("d", -0.26, 0.23, 0.08), "d outer must be above zero"),
        (lambda: Mounting("d", 0.26, 0.23, 0.08, count=0), "above zero"),
        (lambda: outlines(PLAIN, "behind"), "choose one of side, front"),
        (lambda: travel_clearance(DRIVER, -0.01), "zero or more"),
    ],
)
def test_bad_input_says_what_to_do(call, words):
    with pytest.raises(ValueError, match=words):
        call()


def test_sentence_of_a_fit():
    assert Clearance("magnet", 0.1, 0.08).sentence == "magnet: fits, with 20.0 mm to spare."


@pytest.mark.parametrize("size", ["eight-inch", "twelve-inch"])
@pytest.mark.parametrize("across, up", [(0, 0), (200, 90), (-200, -90), (200, 0), (0, 90)])
def test_a_driver_off_the_board_is_in_sight_and_red(size, across, up):
    scene = explainer("does_it_go_in")(size=size, across=across, up=up)
    side, front = scene.plots[:2]
    for plot in (side, front):
        drawn = [line for line in plot.lines if len(line.x)]
        assert all(plot.xlim[0] <= line.x.min() and line.x.max() <= plot.xlim[1] for line in drawn)
        assert all(plot.ylim[0] <= line.y.min() and line.y.max() <= plot.ylim[1] for line in drawn)
    fits = "goes in;" in scene.readout[0]
    assert fits or across or up or size == "twelve-inch"
    assert [line.label for line in front.lines if line.label.startswith("driver")] == [
        "driver" if fits else "driver, does not fit"
    ]
    assert (front.lines[-1].role, side.lines[-1].role) == (("cone",) if fits else ("limit",)) * 2


@pytest.mark.parametrize("gap", [(0.6, 0.36, 0.2), (1.016, 0.406, 0.203), (0.4, 1.2, 0.3)])
def test_on_a_phone_the_words_of_a_gap_are_as_large_as_the_page_s_and_whole(gap):
    for figure in views(Carcass(Gap(*gap))):
        wide, tall = figure.bbox.size
        assert wide / figure.dpi * 96 <= 358  # px: what a phone of 390 leaves of its width
        figure.canvas.draw()
        (ax,) = figure.axes
        words = [ax.xaxis.label, ax.yaxis.label]
        for text in [*words, *ax.get_xticklabels(), *ax.texts]:
            assert text.get_fontsize() * 96 / 72 >= 11  # px
        for text in words:
            box = text.get_window_extent()
            assert box.x0 >= -1 and box.x1 <= wide + 1 and box.y0 >= -1 and box.y1 <= tall + 1
