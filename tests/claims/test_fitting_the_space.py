"""What the lesson "fitting the space" says, asked of the library."""

import math

import numpy as np
import pytest
from said import about, claim, read

from boxlab import cubic_feet, disc_area, litres, mm, solve, to_litres
from boxlab.base.checks import UnitWarning
from boxlab.car.carcass_view import sheet
from boxlab.car.clearance import depth_behind, place
from boxlab.car.cut_list import cut_list, weight
from boxlab.car.panels import sixteenths
from boxlab.car.restraint import CRASH, GRAVITY, holding_force, mean_deceleration
from boxlab.explainers import explainer
from boxlab.explainers.brace_and_fill import modes
from boxlab.explainers.builds_for_the_gap import LOAD, TOP, builds
from boxlab.explainers.does_it_go_in import BREATHING, checks
from boxlab.explainers.gap_to_volume import carcass, net_of
from boxlab.explainers.pick_from_the_front import BAND, candidates
from boxlab.gear.demo_parts import DRIVER_PARTS, PLACES, RADIATOR_PARTS
from boxlab.gear.scenario import DRIVERS, RADIATORS
from boxlab.model.air import Air
from boxlab.quiz.exercises import fitting_the_space as tasks
from boxlab.quiz.exercises._wedge_tasks import steep

PLACE = PLACES["behind the seat"]
BOX = PLACE.carcass(mm(18))
START = {
    "gap": "behind the seat", "size": "ten-inch", "fb": 42, "port": 76, "power": 300, "low": 30,
    "board": 18, "speed": 17,
}  # fmt: skip


def three(**changes):
    return {b.kind: b for b in builds(**(START | changes))[1]}


# From gap to net volume


def test_the_gap_and_what_is_left():
    gap = BOX.gap
    sides = [1e3 * each for each in (gap.width, gap.height, gap.depth_bottom, gap.depth_top)]
    litre, feet = to_litres(gap.wedge.volume), gap.wedge.volume / cubic_feet(1)
    claim("{} mm wide and {} mm high, {} mm deep at the floor and {} mm at the top ({} × {} × {} "
          "and {} in). That is {} L, or {} cubic feet",
          *sides, *(each / 25.4 for each in sides), litre, feet)  # fmt: skip
    claim("The gap holds {} L ({} ft³). Board is {} mm (0.71 in) all round, slack {} mm (0.12 in)",
          litre, feet, 1e3 * BOX.board, 1e3 * BOX.gap.slack)  # fmt: skip
    net = to_litres(net_of(BOX, 1).net)
    claim("Behind our seat {} L leave {}", litre, net)
    claim("About half, {} L", net)
    board, slack, bracket, driver, braces = read("gap_to_volume", 1)
    assert litre - board - slack - bracket - driver - braces == pytest.approx(net, abs=0.2)
    claim("less its board, and nearly so: {} L. Slack, driver, bracket and braces take {} L more",
          litre - board, slack + bracket + driver + braces)  # fmt: skip
    claim("Three millimetres on every side cost {} L here", slack)
    assert slack / driver == pytest.approx(1.5, abs=0.1)  # "half as much again"


def test_the_panel_shows_the_box_of_the_place():
    box = carcass(600, 360, 200, 130, 80, 18, 3)
    assert box.gross == pytest.approx(BOX.gross) and box.outer == BOX.outer


def test_thinner_board():
    thin = 12
    (kg, lb), (usual, pounds) = (read("gap_to_volume", 3, board=b)[:2] for b in (thin, 18))
    claim(
        "With {} mm (0.47 in) board the same gap keeps {} %, and the box weighs {} "
        "instead of {} kg ({} and {} lb)",
        thin,
        read("gap_to_volume", board=thin)[3],
        kg,
        usual,
        lb,
        pounds,
    )
    claim("Whether {} mm is stiff enough", thin)


def test_a_deep_box_keeps_two_thirds():
    deep = explainer("gap_to_volume")
    scene = deep(**deep.presets["a plain box"])
    assert "68 % is left" in scene.readout[0]


def test_net_volume_by_monte_carlo():
    """An independent count: points thrown at the gap, kept where there is air."""
    rng = np.random.default_rng(4)
    p = rng.uniform((0, 0, 0), (0.6, 0.2, 0.36), (400_000, 3))
    air = BOX.inner.contains(*p.T)
    for b in BOX.covers:
        air &= ~(
            (p[:, 0] > b.x0) & (p[:, 0] < b.x1) & (p[:, 1] > b.y0) & (p[:, 1] < b.y1)
            & (p[:, 2] > b.z0) & (p[:, 2] < b.z1)
        )  # fmt: skip
    gross = air.mean() * 0.6 * 0.2 * 0.36
    assert gross == pytest.approx(BOX.gross, rel=0.01)
    given = net_of(BOX, 1)
    assert given.net == pytest.approx(
        BOX.gross - DRIVER_PARTS["ten-inch"].displacement(0.018) - BOX.brace()
    )


def test_panels_add_up_to_the_board():
    panels = cut_list(BOX)
    assert len(panels) == 9
    assert sum(p.volume for p in panels) == pytest.approx(BOX.outside - BOX.gross)
    assert panels[3].words == (
        "top: 558.0 × 128.0 × 18 mm; bevel the front edge 11.0°, long point on the lower face"
    )
    slope = "long point on the lower face"
    assert (
        panels[3].inches == f"top: 21 15/16 × 5 1/16 × 0.71 in; bevel the front edge 11.0°, {slope}"
    )


@pytest.mark.parametrize("sixteenth", range(1, 64))
def test_sixteenths_read_back(sixteenth):
    claim("a sixteenth is {} mm", 25.4 / 16)
    claim("the same gap in board of {}/{} in ({} mm)", 3, 4, 25.4 * 3 / 4)
    text = sixteenths(sixteenth / 16 * 0.0254)
    total = sum(
        float(part) if "/" not in part else int(part.split("/")[0]) / int(part.split("/")[1])
        for part in text.split()
    )
    assert total == sixteenth / 16


# Does it go in


def test_behind_the_magnet():
    row = next(n for n in explainer("does_it_go_in")().numbers if n.name.startswith("magnet"))
    assert row.metric == "+33.3 mm"
    # derived: d/cos(lean) − r·tan(lean), with the board in front of it, less depth and 10 mm
    lean, part = math.radians(abs(BOX.outer.lean)), DRIVER_PARTS["ten-inch"]
    point = place(BOX, *PLACE.driver_at)
    free = (point[1] - BOX.inner.y0) / math.cos(lean) - part.magnet / 2 * math.tan(lean)
    assert 1e3 * (free + 0.018 - part.depth - 0.010) == pytest.approx(33.3, abs=0.1)
    claim("The ten-inch driver is {} mm (3.3 in) deep and wants {} mm more behind its magnet",
          1e3 * part.depth, BREATHING)  # fmt: skip
    claim("Then add {} mm behind and the cone's whole stroke", BREATHING)
    claim("A driver that is {} mm deeper would not", (33.3, 45))
    claim("About {} mm (1.4 in)", about(33.3, 0.06))


def test_too_high_up():
    found = checks("ten-inch", -140, 60, 200, 100, 18, 80, 35)
    short = [round(-1e3 * c.spare) for c in found if not c.fits]
    assert short == [28, 22, 3]


def test_twelve_misses_by_little():
    found = checks("twelve-inch", -140, 0, 200, 130, 18, 80, 35)
    frame, hole, grille = (-1e3 * c.spare for c in found if not c.fits)
    claim("It misses by {} mm at the hole and by {} mm at the frame and at the grille", hole, frame)
    assert round(grille) == round(frame)


def test_the_first_line_says_by_how_much():
    panel = explainer("does_it_go_in")
    assert panel().readout[0].endswith("tightest: travel to the grille, 2 mm to spare.")
    assert panel(size="twelve-inch").readout[0].endswith("hole between the walls, 4 mm short.")


def test_grille_at_30_is_3_mm_too_near():
    grille, part = 30, DRIVER_PARTS["ten-inch"]
    short = -1e3 * checks("ten-inch", -140, 0, 200, 130, 18, 80, grille)[-1].spare
    stop = 1e3 * (part.proud + part.travel)
    claim(
        "Bring the grille to {} mm. The cone's own stop is {} mm before the flange; with "
        "{} mm of margin that is {} mm too near",
        grille,
        stop,
        short - stop + grille,
        short,
    )


def test_a_radiator_travels_farther():
    for size, driver in DRIVERS.items():
        assert RADIATORS[size].xmax > driver.xmax
        assert RADIATOR_PARTS[size].travel > DRIVER_PARTS[size].travel
        assert DRIVER_PARTS[size].travel > driver.xmax
        assert RADIATOR_PARTS[size].travel > RADIATORS[size].xmax


# Builds side by side


def test_trade_of_the_three():
    got = three()
    assert all(b.buildable for b in got.values())
    radiator, sealed, ported = (got[k] for k in ("radiator", "sealed", "ported"))
    assert sealed.weakest[0] == pytest.approx(START["low"]) == radiator.weakest[0]
    claim(
        "Radiator: f3 {} Hz and {} dB on average, the most. Below its tuning it falls "
        "fast; at {} Hz it is {} dB under the sealed box. - Sealed: f3 {} Hz, and still "
        "loudest at {} Hz, {} dB",
        radiator.f3,
        radiator.average,
        30,
        sealed.weakest[1] - radiator.weakest[1],
        sealed.f3,
        30,
        sealed.weakest[1],
    )
    claim(
        "Ported: f3 {} Hz too; the {} mm (3 in) port is {} cm (15 in) long and fits, but "
        "below {} Hz its own air stops it. A {} mm port cannot be built here",
        ported.f3,
        START["port"],
        100 * ported.box.port.length,
        ported.stops[0][1],
        100,
    )
    claim("The port that fits here is stopped by its own air at {} dB", ported.weakest[1])
    claim("These builds make {} dB at {} m", radiator.average, 1)
    claim(
        "same amplifier ({} W into {} Ω), same tuning of {} Hz for both vents, and the "
        "same band: from the lowest note that counts, {} Hz, to {} Hz",
        START["power"],
        LOAD,
        START["fb"],
        START["low"],
        TOP,
    )
    small = explainer("builds_for_the_gap")().plots[2].lines[0]
    r = solve(DRIVERS["ten-inch"], radiator.box, small.x, np.sqrt(8.0))  # 1 W into 8 Ω
    assert min(np.abs(line.y - r.spl).max() for line in
               explainer("builds_for_the_gap")().plots[2].lines) < 0.01  # fmt: skip
    claim("Third plot, level at {} V. Fourth plot, the box in the gap", np.sqrt(8))
    assert max(got.values(), key=lambda b: b.average).kind == "radiator"
    assert max(got.values(), key=lambda b: b.weakest[1]).kind == "sealed"


def test_the_port_fits_and_its_air_stops_it():
    ported = three()["ported"]
    assert ported.stops[0][2] == "air speed"
    wide = three(port=100)["ported"]
    assert wide.box is None and "its own tube eats the air" in wide.problem


def test_at_the_limits_one_limit_is_just_reached():
    """Solve again at the ceiling's own voltage: what stops it is at its limit, no more."""
    for build in three().values():
        c = build.ceiling
        driver = DRIVERS["ten-inch"]
        for i in range(0, len(c.frequency), 20):
            r = solve(driver, build.box, c.frequency[i : i + 1], c.voltage[i])
            reached = {
                "cone excursion": r.cone_excursion / driver.xmax,
                "radiator excursion": r.vent_excursion / RADIATORS["ten-inch"].xmax,
                "air speed": r.vent_air_speed / 17,
                "amplifier": c.voltage[i] ** 2 / 4 / 300,
            }[c.limit[i]]
            assert np.ravel(reached)[0] == pytest.approx(1, rel=1e-6)


def test_from_35_hz_the_radiator_is_the_loudest_twice():
    def twice(low):
        words = explainer("builds_for_the_gap")(low=low).readout[0]
        return words.startswith("Lowest cutoff: ported") and words.count("radiator") == 2

    least = next(low for low in range(30, 50) if twice(low))
    low, span = 35, (least, least + 1.5)
    got = three(low=low)
    claim("Now slide Lowest note that counts from {} to {} Hz. Then the radiator is the loudest on "
          "average and at its weakest note, {} dB; only the port's f3 is lower, by {} Hz",
          30, span, got["radiator"].weakest[1], got["radiator"].f3 - got["ported"].f3)  # fmt: skip
    claim("slide the lowest note from {} to {} Hz", 30, span)
    claim("beats the radiator at the weakest note from {} Hz up, at {} m/s", span, START["speed"])


def test_radiator_passes_sealed_near_34_hz():
    got = three(low=25)
    f = got["sealed"].ceiling.frequency
    above = got["radiator"].ceiling.spl > got["sealed"].ceiling.spl
    claim("True from about {} Hz up, and on average over the band", f[above][0])


def test_with_30_metres_a_second_the_port_draws_level():
    got = three(speed=30)
    assert got["ported"].average == pytest.approx(got["radiator"].average, abs=0.2)
    claim("(more controls) to {} m/s, and the port draws level with the radiator on average, {} dB",
          30, got["ported"].average)  # fmt: skip


def test_with_no_limit_on_its_air_the_port_draws_level_with_sealed():
    got = three(speed=1000)
    assert got["ported"].weakest[1] == pytest.approx(got["sealed"].weakest[1], abs=0.3)


def test_boot_corner():
    got = three(gap="boot corner")
    assert got["radiator"].box is None and "no weights added" in got["radiator"].problem
    assert got["ported"].buildable
    fits = three(gap="boot corner", port=100)["ported"].fits
    (straight,) = [c for c in fits if c.what == "straight port"]
    claim("the port of {} mm is {} cm (7 in) long and fits easily. At {} mm it misses by {} mm",
          76, 100 * got["ported"].box.port.length, 100, -1e3 * straight.spare)  # fmt: skip


def test_under_the_seat():
    magnet = next(c for c in three(gap="under the seat")["sealed"].fits if "magnet" in c.what)
    claim("and {} mm (6 in) of height leave the magnet {} mm",
          1e3 * PLACES["under the seat"].gap.height, 1e3 * magnet.spare)  # fmt: skip


# The front


def test_one_in_ten_is_on_the_front():
    c = candidates("ten-inch", 300, 20)
    assert len(c) == 768 and c.front.sum() == 79
    volumes = to_litres(np.unique(c.volume))
    claim("{} volumes from {} to {} L (0.2 to 0.7 ft³), one or two radiators of three sizes",
          len(volumes), volumes[0], volumes[-1])  # fmt: skip
    claim("level at its weakest note from {} to {} Hz, and the size", *BAND)


def test_the_front_by_comparing_all_pairs():
    c = candidates("ten-inch", 300, 20)
    cost = np.column_stack([c.f3, -c.loudness, c.volume])
    cost = np.where(np.isfinite(cost), cost, np.inf)
    no_worse = (cost[:, None] <= cost[None]).all(axis=2)
    better = (cost[:, None] < cost[None]).any(axis=2)
    beaten = (no_worse & better).any(axis=0) | ~np.isfinite(cost).all(axis=1)
    assert (beaten == ~c.front).all()


def test_what_you_value_moves_the_pick():
    front = explainer("pick_from_the_front")
    picks = {name: front(**front.presets[name]).readout[0] for name in front.presets}
    assert len(set(picks.values())) == 4


# Braces and fill


def test_what_a_brace_does():
    settings = ((18, 0), (18, 1), (9, 0))  # board, braces
    bare, braced, thin = (modes(mm, "fibre board", braces)[0] for mm, braces in settings)
    litre, _, before, after = read("brace_and_fill", 1)
    claim(
        "moves the panel's first resonance from {} Hz to {} Hz (edges hinged), both "
        "above the band of a bass box. It takes {} L. It changes f3 by {} Hz",
        bare,
        braced,
        litre,
        before - after,
    )
    claim("On {} mm (0.35 in) board the bare panel would sing at {} Hz", 9, thin)


def test_what_fill_does():
    bare, full, f3, change, _ = read("brace_and_fill", 2)
    before = read("brace_and_fill", 1)[2]
    claim("Fill makes our sealed box act {} % larger. What happens to its f3 of {} Hz?",
          100 * (full / bare - 1), before)  # fmt: skip
    claim("It goes up by about {} Hz", about(f3 - before, 0.2))
    claim("Here that changes the level by {} dB at most", change)
    claim("level of the sealed box at {} V, bare in grey", np.sqrt(8))  # 1 W into 8 Ω
    claim("down to which the level stays within {} dB of what it is higher up", 10 * np.log10(2))
    gas = 7 / 5  # derived: ratio of the heat capacities of a gas of two atoms
    claim("In theory up to {} times the volume", gas)
    claim("act up to {} times larger in theory, some {} in practice", gas, full / bare)
    assert gas == pytest.approx(Air().bulk_modulus / Air().pressure, rel=0.005)


# In a crash


def test_force_in_a_crash():
    mass = weight(
        BOX, hardware=DRIVER_PARTS["ten-inch"].mass,
        openings=disc_area(DRIVER_PARTS["ten-inch"].cutout),
    )  # fmt: skip
    assert mass == pytest.approx(12.4, abs=0.05)
    claim("seats bear {} times their weight", holding_force(mass) / GRAVITY / mass)
    assert holding_force(mass) / GRAVITY == pytest.approx(3 * 80, rel=0.05)
    assert holding_force(1.0) == CRASH and round(CRASH) == 196


def test_even_stop_by_stepping_through_it():
    v, x, dt = 50 / 3.6, 0.0, 1e-6
    a = mean_deceleration(v, 0.6)
    while v > 0:
        x, v = x + v * dt, v - a * dt
    assert x == pytest.approx(0.6, rel=1e-4)


@pytest.mark.parametrize(
    "call, word",
    [
        (lambda: holding_force(0), "mass"),
        (lambda: mean_deceleration(14, -1), "distance"),
        (lambda: mean_deceleration(0, 1), "speed"),
    ],
)
def test_bad_crashes_are_named(call, word):
    with pytest.raises(ValueError, match=word):
        call()


@pytest.mark.parametrize(
    "call, word",
    [
        (lambda: mean_deceleration(50, 0.6), "50 / 3.6"),
        (lambda: mean_deceleration(14, 600), "metres"),
        (lambda: holding_force(16000), "is in kg"),
    ],
)
def test_slips_in_the_unit_of_a_crash_are_doubted(call, word):
    with pytest.warns(UnitWarning, match=word):
        call()


# The drawing


def test_sheet_is_to_scale():
    figure = sheet(BOX)
    side, front = figure.axes
    assert front.get_title(loc="left") == "Front, 1 : 5"
    for ax in (side, front):
        wide = ax.get_position().width * figure.get_figwidth() * 25.4
        tall = ax.get_position().height * figure.get_figheight() * 25.4
        assert np.ptp(ax.get_xlim()) / wide == pytest.approx(5)
        assert np.ptp(ax.get_ylim()) / tall == pytest.approx(5)
    assert figure.get_figwidth() * 25.4 == pytest.approx(208)


def test_a_gap_too_large_to_draw_is_named():
    from boxlab.car.joinery import Carcass, Gap

    with pytest.raises(ValueError, match="too large to draw"):
        sheet(Carcass(Gap(2.9, 0.5, 1.5)))


# Predictions and exercises


def test_rim_exercise_against_the_formula():
    n = tasks.rim.numbers("demo")
    box = steep(n)
    lean, d = math.radians(abs(box.outer.lean)), place(box)[1] - box.inner.y0
    by_hand = d / math.cos(lean) - mm(n.magnet) / 2 * math.tan(lean)
    assert tasks.rim.answer(n) == pytest.approx(1e3 * by_hand, rel=1e-6)
    assert depth_behind(box, place(box), 0.0) == pytest.approx(d / math.cos(lean))


def test_net_volume_exercise_by_hand():
    n = tasks.net_volume.numbers("demo")
    off = 2 * (n.board + 3) / 1e3
    depth = (n.bottom + n.top) / 2e3 - off
    by_hand = (n.width / 1e3 - off) * (n.height / 1e3 - off) * depth
    by_hand -= DRIVER_PARTS["ten-inch"].displacement(0.018)
    # leaving the slope out of the board is inside the tolerance, as the hint says
    assert litres(tasks.net_volume.blanks[-1].answer(n)) == pytest.approx(by_hand, rel=0.02)
