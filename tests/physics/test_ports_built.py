"""Slots, folds and flares against integrals, mode matching, potential flow and printed ends."""

import numpy as np
import pytest
from alignments import published
from scipy import integrate, sparse
from scipy.sparse.linalg import spsolve

from boxlab import Port, PortedBox, UnitWarning
from boxlab.model.port_ends import (
    arc_length,
    cone_length,
    corner_cut,
    rectangle_end,
    step_end,
)
from boxlab.model.port_equivalent import pipe_length
from boxlab.model.port_fitting import centre_line, length_for, misfits
from boxlab.model.ports_built import Flare, Slot
from boxlab.model.validity import bounds, resonances

ENDS = {row["case"]: row["radii"] for row in published("end_corrections")}


def test_a_flare_of_no_width_has_the_ends_that_are_printed():
    plain = Flare(0.1, 0.3, 0.1)
    assert plain.even == pytest.approx(0.3)
    assert plain.ends.inner / 0.05 == pytest.approx(ENDS["unflanged"], rel=2e-3)
    assert plain.ends.outer / 0.05 == pytest.approx(ENDS["piston_flanged"], rel=1e-5)
    # sums of two ends: 1.464 one flanged and one free, 1.70 both flanged (handbooks, computed)
    assert plain.ends.total / 0.05 == pytest.approx(1.464, rel=3e-3)
    assert plain.ends.most / 0.05 == pytest.approx(1.70, rel=3e-3)
    # an exact flanged tube lies between our least and most, too (Nomura; Dalmont and others)
    exact = ENDS["flanged_tube"] + ENDS["unflanged"]
    assert plain.ends.least / 0.05 < exact < plain.ends.most / 0.05
    assert plain.port.effective_length == pytest.approx(Port.round(0.1, 0.3).effective_length)


@pytest.mark.parametrize("sides", [(0.1, 0.1), (0.2, 0.05), (0.4, 0.03)])
def test_the_end_of_a_rectangle_by_integration(sides):
    # independent route: 1/r summed over both points, as the integral of the overlap of the
    # rectangle with itself moved by (x, y): 4 (w - x)(h - y)/r over a quarter, in polar form
    w, h = sides

    def ray(angle):
        end = min(w / max(np.cos(angle), 1e-12), h / max(np.sin(angle), 1e-12))
        return integrate.quad(lambda r: (w - r * np.cos(angle)) * (h - r * np.sin(angle)), 0, end)[
            0
        ]

    corner = np.arctan2(h, w)
    pairs = 4 * sum(
        integrate.quad(ray, *span, epsabs=1e-12)[0] for span in ((0, corner), (corner, np.pi / 2))
    )
    assert rectangle_end(w, h) == pytest.approx(pairs / (2 * np.pi * w * h), rel=1e-6)


def test_a_square_is_nearly_round_and_a_long_slot_is_not():
    # Jaouen and Chevillotte (Acta Acust. 104 (2018) 243): shapes that are no slits fall together
    def over_round(w, h):
        return rectangle_end(w, h) / (8 / (3 * np.pi) * np.sqrt(w * h / np.pi))

    assert over_round(0.1, 0.1) == pytest.approx(1, abs=0.015)
    assert over_round(0.3, 0.03) < 0.8


def mode_matching(height, room, thick, modes=60):
    """Excess length of a plane step by modes on both sides, m of the small channel.

    Derived, apart from the library: potential flow, a channel along one wall into a wide one; with
    a thin board the dead channel beside it has modes, too.
    """

    def overlap(a, b, low, high):
        """Integral of cos(a (y - low)) cos(b y) from low to high."""

        def half(s):
            with np.errstate(all="ignore"):
                whole = (np.sin(a * (high - low) + s * b * high) - np.sin(s * b * low)) / (
                    a + s * b
                )
            return np.where(np.isclose(a + s * b, 0), (high - low) * np.cos(b * low), whole)

        return (half(1) + half(-1)) / 2

    m = np.arange(1, int(modes * room / height) + 1)
    b = m * np.pi / room
    weight = 2 / (room * b)

    def side(low, high, count):
        n = np.arange(1, count + 1)
        a = n * np.pi / (high - low)
        return overlap(a[:, None], b[None, :], low, high), (high - low) / (2 * a)

    cross, own = side(0.0, height, modes)
    if not thick:
        more, extra = side(height, room, int(modes * (room - height) / height))
        cross, own = np.vstack([cross, more]), np.concatenate([own, extra])
    mean = np.sin(b * height) / b
    found = np.linalg.solve(np.diag(own) + (cross * weight) @ cross.T, -(cross * weight) @ mean)
    wide = 2 / room * (mean + found @ cross)
    return float((wide / b) @ mean / height)


@pytest.mark.parametrize("share", [0.1, 0.2, 0.4])
@pytest.mark.parametrize("thick", [False, True])
def test_the_step_of_a_slot_as_wide_as_the_box_by_modes(share, thick):
    # modes meet the edge slowly, the flow there being steep: 1 % with 60 of them
    want = mode_matching(share * 0.3, 0.3, thick)
    assert step_end(share * 0.3, 0.3, thick) == pytest.approx(want, rel=1.5e-2)


def test_a_corner_by_differences():
    # independent route: Laplace's equation on a grid over an L, arms of 3 heights
    cut = []
    for n in (24, 48):
        side = 4 * n
        inside = np.zeros((side, side), bool)
        inside[:n, :] = True
        inside[:, :n] = True
        number = np.where(inside, np.cumsum(inside.ravel()).reshape(inside.shape) - 1, -1)
        down, right = inside[:-1, :] & inside[1:, :], inside[:, :-1] & inside[:, 1:]
        pairs = (
            (number[:-1, :][down], number[1:, :][down]),
            (number[:, :-1][right], number[:, 1:][right]),
        )
        one, two = (np.concatenate(each) for each in zip(*pairs, strict=True))
        size = int(inside.sum())
        links = sparse.coo_matrix((np.ones(one.size), (one, two)), (size, size))
        links = (links + links.T).tocsr()
        ends = sparse.csr_matrix(
            (np.full(2 * n, 2.0), (np.concatenate([number[-1, :n], number[:n, -1]]),) * 2),
            (size, size),
        )  # half a cell from the last middle to the open end
        matrix = sparse.diags(np.asarray(links.sum(axis=1)).ravel()) - links + ends
        push = np.zeros(size)
        push[number[-1, :n]] = 2.0  # 1 at one end, 0 at the other
        flow = np.sum(2.0 * (1 - spsolve(matrix.tocsc(), push)[number[-1, :n]]))
        cut.append(7 - 1 / flow)  # the centre line: 3 + 1 + 3 heights
    best = cut[1] + (cut[1] - cut[0]) / (2 ** (4 / 3) - 1)  # the corner's own order, 4/3
    assert corner_cut(1.0) == pytest.approx(best, rel=3e-3)


@pytest.mark.parametrize(("mouth", "run"), [(0.15, 0.025), (0.2, 0.05), (0.12, 0.08), (0.1, 0.05)])
def test_a_flare_by_integration(mouth, run):
    # scipy.integrate.quad of S0/S along the axis, the wall a quarter of an ellipse
    a0, grow = 0.05, (mouth - 0.1) / 2

    def thinner(x):
        return (a0 / (a0 + grow * (1 - np.sqrt(1 - (x / run) ** 2)))) ** 2

    assert arc_length(0.1, mouth, run) == pytest.approx(
        integrate.quad(thinner, 0, run)[0], rel=1e-7
    )
    cone = integrate.quad(lambda x: (a0 / (a0 + grow * x / run)) ** 2, 0, run)[0]
    assert cone_length(0.1, mouth, run) == pytest.approx(cone, rel=1e-9)


def test_a_cone_of_small_angle_is_a_tube():
    assert cone_length(0.1, 0.1, 0.3) == 0.3
    slightly = 0.1 * (1 + 1e-4)
    # derived: to first order it counts as a tube as wide as the mean of S, 1 - growth/2 each way
    assert cone_length(0.1, slightly, 0.3) == pytest.approx(0.3 * (1 - 1e-4), rel=1e-7)
    assert Flare(0.1, 0.3, slightly, 0.1, shape="cone").port.effective_length == pytest.approx(
        Port.round(0.1, 0.3).effective_length, rel=2e-4
    )


def test_a_wall_mirrors_the_end():
    # image principle: an end on a wall is that of a slot twice as high; by area alone sqrt 2 more,
    # a little less of a square and more of a slot, which the mirror makes rounder
    free, on_wall, edge = (Slot(0.2, 0.04, 0.3, walls=n).ends.inner for n in (0, 1, 2))
    assert on_wall == pytest.approx(Slot(0.2, 0.08, 0.3).ends.inner)
    assert np.sqrt(2) * free < on_wall < 2 * free
    square = [Slot(0.1, 0.1, 0.3, walls=n).ends.inner for n in (0, 1)]
    assert square[1] / square[0] == pytest.approx(np.sqrt(2), rel=0.03)
    assert edge == pytest.approx(2 * free)  # twice as large both ways: the same shape
    as_wide = Slot(0.2, 0.04, 0.3, walls=3, room=0.25).ends
    assert as_wide.least < as_wide.total < as_wide.most


@pytest.mark.parametrize(
    "shape",
    [
        Slot(0.3, 0.03, 0.4, walls=1),
        Slot(0.25, 0.04, 0.4, walls=3, room=0.3, corners=2),
        Flare(0.1, 0.3, 0.15),
        Flare(0.1, 0.3, 0.14, 0.05, flares=1, shape="cone"),
    ],
)
def test_the_length_for_a_tuning_gives_the_tuning(shape):
    made = length_for(shape, 0.04, 36.0, 2)
    assert PortedBox(0.04, made.port, count=2).tuning() == pytest.approx(36.0, rel=1e-9)
    # the pipe of a plain port is that of port_equivalent
    piped = length_for(shape, 0.04, 36.0, pipe=True)
    want = pipe_length(0.04, 36.0, shape.area) + Port(shape.area, 0).end_correction
    assert piped.port.effective_length == pytest.approx(want, rel=1e-9)


def test_many_slots_are_one_call():
    heights = np.array([0.03, 0.04, 0.05])
    made = length_for(Slot(0.3, heights, 0.4, walls=1), 0.06, 36.0)
    for height, length in zip(heights, made.length, strict=True):
        one = length_for(Slot(0.3, height, 0.4, walls=1), 0.06, 36.0)
        assert length == pytest.approx(one.length)
    assert np.shape(Flare([0.08, 0.1], 0.3, 0.15).port.area) == (2,)


def test_a_fold_is_measured_along_its_middle():
    # derived: out 0.30, across 0.10, back 0.25 along the outside, 0.04 high: two corners
    assert centre_line((0.30, 0.10, 0.25), 0.04) == pytest.approx(0.28 + 0.06 + 0.23)
    straight, folded = (Slot(0.2, 0.04, 0.5, corners=n) for n in (0, 2))
    assert straight.port.effective_length - folded.port.effective_length == pytest.approx(
        2 * corner_cut(0.04)
    )


def test_boards_that_are_the_box_s_own_take_no_room():
    # derived: the outside of the slot's own boards times its length
    room = [Slot(0.2, 0.04, 0.5, walls=n, room=0.3).space(0.018) for n in range(4)]
    want = [0.236 * 0.076, 0.236 * 0.058, 0.218 * 0.058, 0.2 * 0.058]
    assert room == pytest.approx(0.5 * np.array(want))
    tube = Flare(0.1, 0.3, 0.1, 0.0).space(0.003)
    assert tube == pytest.approx(np.pi / 4 * 0.106**2 * 0.3)
    assert Flare(0.1, 0.3, 0.15).space(0.003) > tube


def test_what_does_not_fit_is_said():
    assert misfits(Flare(0.1, 0.3, 0.15), (0.4, 0.2, 0.2), 0.003) == ()
    said = misfits(Flare(0.1, 0.3, 0.2), (0.3, 0.2, 0.25), 0.003)
    assert len(said) == 2 and "350 mm long" in said[0] and "206 mm wide" in said[1]
    assert misfits(Slot(0.3, 0.04, 0.3, walls=3, room=0.25), (0.35, 0.3, 0.25), 0.018) == ()
    assert misfits(Slot(0.3, 0.04, 0.3, walls=1), (0.35, 0.3, 0.25), 0.018)


def test_where_pipe_and_box_ring():
    box = PortedBox(0.03, Port.round(0.1, 0.3))
    found = {each.part: each.frequency for each in resonances(box)}
    assert found["port"] == pytest.approx(343.2 / 2 / box.port.effective_length)
    edge = 8 * (0.03 / 240) ** (1 / 3)
    assert found["box"] == pytest.approx(343.2 / 2 / edge)
    assert resonances(box, edge=0.5)[0].frequency == pytest.approx(343.2)
    from boxlab.gear.scenario import TEN_INCH_DRIVER

    quarters = {each.part: each.frequency for each in bounds(TEN_INCH_DRIVER, box)}
    assert all(quarters[part] == pytest.approx(f / 4) for part, f in found.items())


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: Slot(0, 0.03, 0.3), "slot width must be above zero"),
        (lambda: Slot(0.3, 0.03, -1), "slot length"),
        (lambda: Slot(0.3, 0.03, 0.3, walls=4), "walls = 4"),
        (lambda: Slot(0.3, 0.03, 0.3, walls=3), "room is missing"),
        (lambda: Slot(0.3, 0.03, 0.3, walls=3, room=0.02).ends, "more than the slot's height"),
        (lambda: Slot(0.3, 0.1, 0.05, corners=2), "too short for 2 corners"),
        (lambda: Slot(0.3, 0.1, 0.5, corners=-1), "corners"),
        (lambda: Slot([0.3, 0.2], [0.1, 0.1, 0.1], 0.5), "do not broadcast"),
        (lambda: Flare(0.1, 0.3, 0.09), "narrower than the port"),
        (lambda: Flare(0.1, 0.03, 0.15), "flares included"),
        (lambda: Flare(0.1, 0.3, 0.15, flares=3), "1 or 2 of its ends"),
        (lambda: Flare(0.1, 0.3, 0.15, shape="bell"), "an arc or a cone"),
        (lambda: Flare("wide", 0.3, 0.15), "is not a number"),
        (lambda: centre_line((0.3, 0.02), 0.04), "outer side"),
        (lambda: centre_line((), 0.04), "outer side"),
        (lambda: length_for(Flare(0.1, 0.3, 0.15), 0.1, 80), "out of reach"),
        (lambda: length_for(Flare(0.1, 0.3, 0.15), 0.1, 0), "Tuning is in hertz"),
    ],
)
def test_bad_input_is_refused_in_words(call, said):
    with pytest.raises(ValueError, match=said):
        call()


def test_a_unit_slip_is_doubted():
    with pytest.warns(UnitWarning, match="slot width"):
        Slot(30, 0.03, 0.4)
