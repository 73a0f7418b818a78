"""Volumes and panels of a box in a gap, against meshes and random points."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial import ConvexHull

from boxlab.base.checks import UnitWarning
from boxlab.car.bracing import fill_volume
from boxlab.car.cut_list import cut_list, weight
from boxlab.car.joinery import Carcass, Gap
from boxlab.car.solids import Block, Wedge

WEDGE = Gap(0.9, 0.42, 0.30, 0.19)
ARCH = Block.at(x=0.0, y=0.0, z=0.0, width=0.18, depth=0.12, height=0.20, name="arch")
HUMP = Block.at(x=0.4, y=0.1, z=0.0, width=0.12, depth=0.5, height=0.07, name="hump")
NOTCHED = Gap(0.9, 0.42, 0.30, 0.19, obstructions=(ARCH, HUMP))


def random_points(gap, n=400_000, seed=5):
    rng = np.random.default_rng(seed)
    deepest = max(gap.depth_bottom, gap.wedge.depth_top)
    x, y, z = rng.random((3, n)) * np.array([[gap.width], [deepest], [gap.height]])
    return (x, y, z), gap.width * deepest * gap.height


def in_block(block, x, y, z):
    return (
        (block.x0 < x) & (x < block.x1) & (block.y0 < y) & (y < block.y1)
        & (block.z0 < z) & (z < block.z1)
    )  # fmt: skip


def by_points(gap, board, slack):
    """Gross volume by random points, from distances to the gap's own planes; and its spread."""
    (x, y, z), space = random_points(gap)
    inset = board + slack
    b = (gap.wedge.depth_top - gap.depth_bottom) / gap.height
    to_front = (gap.depth_bottom + b * z - y) / np.hypot(1, b)
    inside = (x > inset) & (x < gap.width - inset) & (z > inset) & (z < gap.height - inset)
    inside &= (y > inset) & (to_front > inset)
    for block in gap.obstructions:
        inside &= ~in_block(block.grown(inset), x, y, z)
    share = inside.mean()
    return share * space, space * np.sqrt(share * (1 - share) / x.size)


@pytest.mark.parametrize("gap", [WEDGE, NOTCHED, Gap(0.9, 0.42, 0.16, 0.31, (ARCH,))])
def test_gross_volume_against_random_points(gap):
    got = Carcass(gap, 0.018).gross
    expected, spread = by_points(gap, 0.018, gap.slack)
    assert abs(got - expected) < 4 * spread
    assert spread < 2e-3 * got + 1e-4


@given(
    bottom=st.floats(0.15, 0.5),
    top=st.floats(0.15, 0.5),
    inset=st.floats(0.0, 0.03),
)
def test_wedge_volume_against_the_hull_of_its_corners(bottom, top, inset):
    faces = ("left", "right", "bottom", "top", "back", "front")
    inner = Wedge.of(0.8, 0.4, bottom, top).inset(**dict.fromkeys(faces, inset))
    corners = np.concatenate([inner.faces()["left"][0], inner.faces()["right"][0]])
    assert inner.volume == pytest.approx(ConvexHull(corners).volume, rel=1e-9)


def test_inset_moves_the_slope_square_to_itself():
    wedge = Wedge.of(0.8, 0.4, 0.4, 0.1)
    inner = wedge.inset(front=0.02)
    foot = np.array([inner.y0 + inner.depth(0.2), 0.2])
    # Distance from a point on the inner slope to the outer slope y − b z − a = 0.
    distance = abs(foot[0] - wedge.b * foot[1] - wedge.a) / np.hypot(1, wedge.b)
    assert distance == pytest.approx(0.02)


blocks = st.builds(
    lambda x, y, z, w, d, h: Block.at(x=x, y=y, z=z, width=w, depth=d, height=h),
    *(st.floats(-0.1, 0.5) for _ in range(3)),
    *(st.floats(0.02, 0.6) for _ in range(3)),
)


@settings(max_examples=25, deadline=None)
@given(st.lists(blocks, max_size=3), st.floats(0.1, 0.5), st.floats(0.1, 0.5))
def test_shared_volume_against_a_grid(found, bottom, top):
    wedge = Wedge.of(0.6, 0.4, bottom, top)
    n = 60
    axis = (np.arange(n) + 0.5) / n
    deepest = max(bottom, top)
    x, y, z = np.meshgrid(axis * 0.6, axis * deepest, axis * 0.4, indexing="ij")
    taken = np.zeros(x.shape, bool)
    for block in found:
        taken |= in_block(block, x, y, z)
    grid = (taken & wedge.contains(x, y, z)).mean() * 0.6 * deepest * 0.4
    assert wedge.shared(found) == pytest.approx(grid, abs=0.03 * wedge.volume)
    assert wedge.shared(found) <= wedge.volume * (1 + 1e-12)


def test_shared_volume_across_the_slope_by_hand():
    # Depth 0.3 m at the floor, 0.1 m at 0.4 m: the slope meets y = 0.2 m half way up.
    wedge = Wedge.of(0.6, 0.4, 0.3, 0.1)
    block = Block.at(width=1, depth=0.2, height=1)
    assert wedge.shared([block]) == pytest.approx(0.6 * (0.2 * 0.2 + 0.2 * 0.15))


@pytest.mark.parametrize("gap", [WEDGE, NOTCHED, Gap(0.5, 0.4, 0.3)])
@pytest.mark.parametrize("baffle", ["front", "back", "top", "left"])
def test_shares_add_up(gap, baffle):
    shares = Carcass(gap, 0.018, baffle, 0.030).shares(driver=0.002, port=0.001)
    spent = shares.obstructions + shares.slack + shares.board + shares.gross
    assert spent == pytest.approx(shares.gap)
    assert shares.gross - 0.003 == pytest.approx(shares.net)
    assert shares.obstructions >= 0 and shares.slack > 0 and shares.board > 0
    assert [row[0] for row in shares.rows][-3:] == ["driver", "port", "net volume"]


@pytest.mark.parametrize("gap", [WEDGE, NOTCHED, Gap(0.9, 0.42, 0.16, 0.31, (ARCH,))])
@pytest.mark.parametrize("baffle", ["front", "back", "top", "left"])
def test_panels_add_up_to_the_board(gap, baffle):
    carcass = Carcass(gap, 0.018, baffle, 0.036)
    board = carcass.outside - carcass.gross
    assert sum(panel.volume for panel in cut_list(carcass)) == pytest.approx(board, rel=1e-9)


def test_bevels_of_a_wedge():
    # Slope 110 mm in 420 mm: 14.68 degrees, by hand.
    panels = {panel.name: panel for panel in cut_list(Carcass(WEDGE, 0.018))}
    assert "14.7°" in panels["front"].shape[0]
    assert panels["bottom"].shape[0].endswith("lower face")
    assert panels["back"].shape == ()
    # Front: height between floor and lid over cos, plus the overhang of the bevel, t·tan.
    lean = np.arctan(0.110 / 0.420)
    between = 0.42 - 2 * 0.003 - 2 * 0.018
    assert panels["front"].length == pytest.approx(
        between / np.cos(lean) + 0.018 * np.tan(lean), rel=1e-9
    )
    assert "mm" in panels["front"].words


def test_front_panel_fits_in_its_blank():
    # Corners of the finished cross-section, turned upright: their extent is the blank.
    carcass = Carcass(WEDGE, 0.018)
    out, inn = carcass.outer, carcass.inner
    corners = np.array([(w.y0 + w.depth(z), z) for w in (out, inn) for z in (inn.z0, inn.z1)])
    lean = np.arctan(out.b)
    along = corners @ np.array([np.sin(lean), np.cos(lean)])
    across = corners @ np.array([np.cos(lean), -np.sin(lean)])
    panel = next(p for p in cut_list(carcass) if p.name == "front")
    assert panel.length == pytest.approx(np.ptp(along))
    assert panel.thickness == pytest.approx(np.ptp(across))


def test_plain_box_by_hand():
    # 400 × 300 × 250 mm outside, 20 mm board, no slack: 360 × 260 × 210 mm inside.
    carcass = Carcass(Gap(0.4, 0.3, 0.25, slack=0.0), 0.020)
    assert carcass.gross == pytest.approx(0.36 * 0.26 * 0.21)
    assert weight(carcass, density=700, hardware=5.0) == pytest.approx(
        5 + 700 * (0.4 * 0.3 * 0.25 - 0.36 * 0.26 * 0.21)
    )
    assert not any("bevel" in panel.words for panel in cut_list(carcass))


def test_obstruction_gets_covers_and_cut_outs():
    names = [panel.name for panel in cut_list(Carcass(NOTCHED))]
    assert "lid of the notch for arch" in names and "right of the notch for arch" in names
    assert "left of the notch for arch" not in names  # it stands against the side
    bottom = next(p for p in cut_list(Carcass(NOTCHED)) if p.name == "bottom")
    assert sum("cut out round" in line for line in bottom.shape) == 2


def test_brace_takes_its_share():
    carcass = Carcass(WEDGE)
    section = carcass.inner.volume / carcass.inner.width
    assert carcass.brace(2, window=0.5) == pytest.approx(section * 0.018)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: Gap(0, 0.4, 0.3), "above zero"),
        (lambda: Gap(0.9, 0.4, -0.3), "zero or more"),
        (lambda: Gap(0.9, 0.4, 0, 0), "no gap"),
        (lambda: Carcass(Gap(0.03, 0.4, 0.3), 0.018), "width is short by 12.0 mm"),
        (lambda: Carcass(Gap(0.9, 0.4, 0.3, 0.0), 0.018).gross, "depth at the top is short by"),
        (lambda: Carcass(WEDGE, baffle="lid"), "choose one of"),
        (lambda: Carcass(WEDGE).shares(driver=2.0), "L short"),
        (lambda: Carcass(WEDGE).shares(driver=-0.001), "zero or more"),
        (lambda: Gap(0.9, 0.4, 0.3, obstructions=("arch",)), "Block.at"),
        (
            lambda: Gap(0.9, 0.4, 0.3, None, (Block.at(x=2, width=1, depth=1, height=1),)),
            "outside the gap",
        ),
        (
            lambda: Carcass(
                Gap(0.9, 0.4, 0.3, None, (Block.at(x=0.4, width=0.1, depth=1, height=1),))
            ),
            "cuts the box in two",
        ),
        (
            lambda: Carcass(Gap(0.9, 0.4, 0.3, None, (Block.at(width=1, depth=1, height=1),))),
            "no air is left",
        ),
        (
            lambda: cut_list(
                Carcass(
                    Gap(
                        0.9,
                        0.42,
                        0.3,
                        None,
                        (ARCH, Block.at(x=0.2, width=0.1, depth=0.1, height=0.1)),
                    )
                )
            ),
            "as one obstruction",
        ),
        (lambda: fill_volume(0.014, 1.6), "cannot make air act larger"),
        (lambda: weight(Carcass(WEDGE), openings=423), "more than the board"),
    ],
)
def test_bad_input_says_what_to_do(call, words):
    with pytest.raises(ValueError, match=words):
        call()


def test_millimetres_as_metres_are_suspected():
    with pytest.warns(UnitWarning, match="boxlab.mm"):
        Gap(900, 420, 300)
