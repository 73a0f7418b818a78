"""Every piece on a cut list is one board that can be cut, with its cut-outs on the piece itself."""

import re
from itertools import pairwise

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from boxlab.car.cut_list import cut_list
from boxlab.car.joinery import Carcass, Gap
from boxlab.car.solids import Block
from boxlab.gear.demo_parts import PLACES

SPANS = re.compile(r"([\d.]+) to ([\d.]+) mm from its (left end|back edge|bottom edge|lower edge)")


def carcasses():
    """Gaps with a post or a wheel arch somewhere in them, as somebody might measure them."""
    mm = st.integers(1, 400).map(lambda v: v / 1000)

    def made(width, height, bottom, top, x, y, z, w, d, h, board):
        block = Block.at(x=x, y=y, z=z, width=w, depth=d, height=h, name="post")
        return Carcass(Gap(width, height, bottom, top, (block,)), board)

    size = st.integers(200, 900).map(lambda v: v / 1000)
    low = st.just(0.0)
    return st.builds(
        lambda *a: a,
        size, size, size, size, low | mm, low | mm, low | mm, mm, mm, mm,
        st.sampled_from([0.012, 0.018, 0.022]),
    ).map(lambda a: _or_none(made, a))  # fmt: skip


def _or_none(made, arguments):
    try:
        return made(*arguments)
    except ValueError:  # no room for a box there; it says so
        return None


def extents(panel, piece):
    """Length of the panel along and across, as the words measure them, mm."""
    return {
        "left end": piece.length if panel in ("bottom", "top", "back") else piece.width,
        "back edge": piece.width,
        "bottom edge": piece.width if panel == "back" else piece.length,
        "lower edge": piece.length,
    }


@given(carcasses())
@settings(max_examples=150, deadline=None)
def test_cut_outs_lie_on_their_panel_and_no_board_is_a_sliver(carcass):
    assume(carcass is not None)
    try:
        pieces = cut_list(carcass)
    except ValueError as refused:  # a strip of wood, in words that say so
        assert "no board to cut" in str(refused)
        return
    for piece in pieces:
        name = re.split(r",| side", piece.name)[0]
        for words in piece.shape:
            if " round " in words:
                assert len(SPANS.findall(words)) == 2, words
            for a, b, edge in SPANS.findall(words):
                longest = 1e3 * extents(name, piece)[edge]
                assert 0 <= float(a) < float(b) + 1 and float(b) <= longest + 0.6, (piece, edge)
        assert piece.volume > 0
        assert piece.volume <= piece.length * piece.width * piece.thickness * (1 + 1e-9)
        if "trim" not in " ".join(piece.shape):
            assert piece.thickness >= carcass.board - 1e-9, piece
    board = carcass.outside - carcass.gross
    assert sum(piece.volume for piece in pieces) == pytest.approx(board, rel=1e-6)


@given(carcasses(), st.integers(0, 10_000))
@settings(max_examples=40, deadline=None)
def test_board_and_air_by_counting_points(carcass, seed):
    # by points thrown at the gap: board is what is inside the outside and not inside the inside
    import numpy as np

    assume(carcass is not None)
    rng = np.random.default_rng(seed)
    n = 40_000
    out, inn = carcass.outer, carcass.inner
    deepest = max(out.depth_bottom, out.depth_top)
    x = rng.uniform(out.x0, out.x1, n)
    y = rng.uniform(out.y0, out.y0 + deepest, n)
    z = rng.uniform(out.z0, out.z1, n)

    def inside(block):
        return (
            (x > block.x0) & (x < block.x1) & (y > block.y0) & (y < block.y1)
            & (z > block.z0) & (z < block.z1)
        )  # fmt: skip

    solid = out.contains(x, y, z) & ~np.any([inside(b) for b in carcass.notches], axis=0)
    air = inn.contains(x, y, z) & ~np.any([inside(b) for b in carcass.covers], axis=0)
    assert not (air & ~solid).any()  # no air outside the box
    hull = out.width * out.height * deepest
    share = np.mean(solid & ~air)
    board = sum(piece.volume for piece in cut_list(carcass)) / hull
    assert abs(share - board) < 5 * np.sqrt(share * (1 - share) / n) + 1e-3


def test_a_tunnel_parts_the_floor_into_two_boards():
    tunnel = Block.at(x=0.4, width=0.2, depth=0.6, height=0.15, name="tunnel")
    pieces = cut_list(Carcass(Gap(1.0, 0.4, 0.5, 0.35, (tunnel,))))
    floor = [piece for piece in pieces if piece.name.startswith("bottom")]
    assert [piece.name for piece in floor] == ["bottom, piece 1 of 2", "bottom, piece 2 of 2"]
    # by hand: 958 mm inside, and 200 + 2 · 3 mm of tunnel from 397 − 21 mm on
    assert [round(1e3 * piece.length) for piece in floor] == [376, 376]
    assert not any("cut out" in words for piece in floor for words in piece.shape)


def test_heights_on_a_leaning_front_run_along_the_slope():
    step = Block.at(x=0.1, y=0.35, width=0.3, depth=0.3, height=0.1, name="step")
    carcass = Carcass(Gap(0.6, 0.4, 0.5, 0.3, (step,)))
    (front,) = [piece for piece in cut_list(carcass) if piece.name == "front"]
    (words,) = [words for words in front.shape if "round step" in words]
    assert "along the slope" in words
    a, b = map(float, re.search(r"([\d.]+) to ([\d.]+) mm from its lower edge", words).groups())
    # by hand: the notch ends 103 mm up, the board begins 21 mm up, and the front leans 200 in 400
    assert (a, b) == (0, pytest.approx((103 - 21) * (1 + 0.25) ** 0.5, abs=0.6))


def test_a_panel_of_558_mm_has_no_cut_out_at_579():
    place = PLACES["behind the seat"]
    for piece in cut_list(place.carcass(0.018)):
        for words in piece.shape:
            for _, b, edge in SPANS.findall(words):
                assert (
                    float(b) <= 1e3 * extents(re.split(r",| side", piece.name)[0], piece)[edge] + 1
                )


@pytest.mark.parametrize("off", [0.0, 0.001, 0.005, 0.015, 0.019, 0.025, 0.035, 0.06])
def test_an_obstruction_near_a_wall_gives_whole_boards(off):
    post = Block.at(x=off, width=0.08, depth=0.06, height=0.08, name="post")
    carcass = Carcass(Gap(0.6, 0.36, 0.3, 0.3, (post,)))
    pieces = cut_list(carcass)
    assert min(piece.thickness for piece in pieces) == pytest.approx(0.018)
    assert all(a.name != b.name for a, b in pairwise(pieces))


@pytest.mark.parametrize("high", [0.004, 0.008, 0.014, 0.02])
def test_a_low_hump_is_a_recess_or_has_a_whole_board_over_it(high):
    hump = Block.at(x=0.2, y=0.05, width=0.2, depth=0.1, height=high, name="hump")
    pieces = cut_list(Carcass(Gap(0.6, 0.36, 0.3, 0.3, (hump,))))
    (floor,) = [piece for piece in pieces if piece.name == "bottom"]
    if high + 0.003 < 0.021:
        assert f"recess up to {round(1e3 * high)} mm deep round hump" in " ".join(floor.shape)
    assert min(piece.thickness for piece in pieces) == pytest.approx(0.018)


# (gap, block, board), m: each once gave a piece of some tenths of a millimetre to a few millimetres
NEAR_THE_SLOPE = [
    ((0.812, 0.474, 0.314, 0.287), (0.265, 0.313, 0.0, 0.315, 0.023, 0.099), 0.012),
    ((0.733, 0.345, 0.412, 0.368), (0.0, 0.139, 0.083, 0.369, 0.244, 0.005), 0.012),
    ((0.480, 0.889, 0.369, 0.268), (0.0, 0.0, 0.0, 0.070, 0.343, 0.024), 0.012),
    ((0.252, 0.637, 0.280, 0.668), (0.0, 0.287, 0.0, 0.224, 0.219, 0.013), 0.012),
    ((0.255, 0.758, 0.314, 0.366), (0.0, 0.327, 0.156, 0.057, 0.314, 0.039), 0.018),
]


def whole(pieces, board):
    """Each as thick as its board, and no strip under 5 mm."""
    return all(
        piece.thickness >= board - 1e-9 and min(piece.length, piece.width) >= 0.005
        for piece in pieces
    )


@pytest.mark.parametrize(("gap", "block", "board"), NEAR_THE_SLOPE)
def test_an_obstruction_near_a_leaning_front_gives_whole_boards(gap, block, board):
    x, y, z, width, depth, height = block
    post = Block.at(x=x, y=y, z=z, width=width, depth=depth, height=height, name="post")
    assert whole(cut_list(Carcass(Gap(*gap, (post,)), board)), board)


def test_no_piece_of_a_thousand_boxes_is_a_strip():
    import numpy as np

    rng, made, refusals = np.random.default_rng(11), 0, 0
    while made < 1000:
        width, height, bottom, top = rng.integers(250, 900, 4) / 1000
        x, y, z = rng.integers(0, 600, 3) / 1000 * rng.integers(0, 2, 3)
        w, d, h = rng.integers(5, 400, 3) / 1000
        post = Block.at(x=x, y=y, z=z, width=w, depth=d, height=h, name="post")
        try:
            carcass = Carcass(Gap(width, height, bottom, top, (post,)))
        except ValueError:  # no room for a box there; it says so
            continue
        made += 1
        try:
            pieces = cut_list(carcass)
        except ValueError as refused:  # in words that say what to change
            assert "post" in str(refused) and "mm" in str(refused)
            refusals += 1
            continue
        assert whole(pieces, carcass.board), carcass
        board = carcass.outside - carcass.gross
        assert sum(piece.volume for piece in pieces) == pytest.approx(board, rel=1e-6)
    assert refusals < 10  # a box is redrawn round an obstruction wherever that can be done


TAPE = re.compile(r"(?<![\w.])(?:(\d+) )?(\d+)(?:/(\d+))?(?![\w.°/])")


@pytest.mark.parametrize("name", PLACES)
def test_the_inch_list_says_all_that_the_metric_one_does(name):
    """Sizes, slopes, bevels and notches, each length read back from the tape."""
    for piece in cut_list(PLACES[name].carcass(0.75 * 0.0254)):
        told = [
            0.0254 * (int(whole or 0) + int(top) / int(under or 1))
            for whole, top, under in TAPE.findall(piece.inches)
        ]
        lengths = [piece.length, piece.width, piece.thickness]
        lengths += [length for each in piece.shaping for length in each.lengths]
        for said, length, down in zip(told, lengths, (*piece.between, *[False] * 99), strict=False):
            below, above = (1 / 16, 1e-4 / 0.0254) if down else (1 / 32, 1 / 32)
            assert -below * 0.0254 - 1e-9 <= said - length <= above * 0.0254 + 1e-9, piece.inches
        assert len(told) == len(lengths)
        assert " × 3/4 in" in piece.inches and "mm" not in piece.inches
        assert len(piece.inches.split("; ")) == len(piece.words.split("; "))
        assert piece.inches.count("°") == piece.words.count("°")


def test_pieces_in_inches_fit_between_boards_that_are_no_whole_sixteenth():
    """Seen red: board of 18 mm as 11/16 in, and a back of 13 7/8 in where 13.83 in are free."""
    board = 0.018
    for name in PLACES:
        carcass = PLACES[name].carcass(board)
        found = {piece.name: piece for piece in cut_list(carcass)}
        for piece in found.values():
            assert " × 0.71 in" in piece.inches
        inner = carcass.inner
        free = {
            "bottom": (inner.width, None), "top": (inner.width, None),
            "back": (inner.width, inner.height), "front": (None, inner.width),
        }  # fmt: skip
        for each, sizes in free.items():
            if each not in found:
                continue  # parted by an obstruction
            cut = found[each].inches.partition(": ")[2].split(" × ")
            for said, room in zip(cut, sizes, strict=False):
                if room is not None:
                    whole, top, under = TAPE.findall(said)[0]
                    inches = int(whole or 0) + int(top) / int(under or 1)
                    assert -1 / 16 < inches - room / 0.0254 < 0.005, (each, said)
