"""The stage's data: what the page draws is what the model said, for every question."""

import base64
import os
import re
import zlib
from hashlib import sha256

import numpy as np
import pytest
from made_up import MADE_UP
from page_side import laid_out
from test_own_gear import TWELVE

from boxlab.__main__ import main
from boxlab.base.both_units import both_units, factors
from boxlab.car.wiring import networks
from boxlab.draw import figures, palette
from boxlab.draw.cutaway import beside, cut_open
from boxlab.draw.scene import Choice, Line, Plot
from boxlab.draw.stage import script, table
from boxlab.draw.stage.state import DOTS, GAP, STEPS, TOLERANCE, Pool, along, needed, state
from boxlab.draw.wiring_plan import wiring_cut
from boxlab.explainers import all_explainers, explainer
from boxlab.model.enclosure import PortedBox, RadiatorBox
from boxlab.model.ports_built import Flare, Slot
from boxlab.model.response import solve

ITEMS = {item.name: item for item in all_explainers()}
SOME = ["first_experiment", "weigh_the_cone", "coil_wiring"]
LARGEST = 500_000  # bytes of a page or file


def unpacked(text):
    """The table and its curves, shape (n, 2) each, read as a page reads them."""
    return laid_out(zlib.decompress(base64.b64decode(text)))


def made(scene):
    """A state of the scene with its curves, as a page gets it."""
    pool = Pool()
    data = {"states": [state(scene, pool, [])]}
    found, curves = unpacked(table.packed(data, pool))
    return found["states"][0], found, curves


def away(points, polyline):
    """How far each point is from a polyline, in steps of an axis."""
    a, b = polyline[:-1], polyline[1:]
    d = b - a
    length = np.maximum((d**2).sum(1), 1e-12)
    t = np.clip(((points[:, None] - a) * d).sum(2) / length, 0, 1)
    return np.hypot(*np.moveaxis(points[:, None] - a - t[..., None] * d, 2, 0)).min(1)


@pytest.mark.parametrize("name", ITEMS)
def test_the_stage_draws_the_curves_of_the_static_picture(name):
    scene = ITEMS[name]()
    data, found, curves = made(scene)
    drawn = figures.draw(scene)
    axes = [ax for ax in drawn.axes if ax.get_title(loc="left")]
    assert len(axes) == len(data["p"]) == len(scene.plots)
    for plot, sent, ax in zip(scene.plots, data["p"], axes, strict=True):
        frame = found["frames"][sent["f"]]
        assert (frame["t"], frame["x"], frame["y"]) == (plot.title, plot.xlabel, plot.ylabel)
        assert tuple(frame["xl"]) == pytest.approx(ax.get_xlim())
        assert tuple(frame["yl"]) == pytest.approx(ax.get_ylim())
        by_order = sorted(
            (line for line in ax.lines if 2.5 <= line.get_zorder() < 3),
            key=lambda line: line.get_zorder(),
        )
        lines = [each for each in plot.lines if each.kind != "fill"]
        rows = [row for each, row in zip(plot.lines, sent["l"], strict=True) if each.kind != "fill"]
        by_order = [each for each in by_order if each.get_visible()]
        assert len(by_order) == len(lines)
        for line, artist, row in zip(lines, by_order, rows, strict=True):
            shown = np.asarray(artist.get_xydata(), float)
            np.testing.assert_array_equal(shown, np.column_stack([line.x, line.y]))
            role, build, kind, label = found["looks"][row[0]]
            assert (role, build, kind, label) == (line.role, line.build, line.kind, line.label)
            same_course(plot, line, curves[row[1]])
        marks = [(m.at, both_units(m.label), m.role, m.axis) for m in plot.marks]
        marks = [mark for mark in marks if np.isfinite(mark[0])]
        assert [tuple(mark[1:]) for mark in sent["m"]] == [mark[1:] for mark in marks]
        assert [mark[0] for mark in sent["m"]] == pytest.approx([m[0] for m in marks], abs=1e-5)


def same_course(plot, line, curve):
    """Each point of the line lies on the curve that is sent, within the tolerance."""
    x = along(np.asarray(line.x, float), plot.xlim, plot.xscale)
    y = along(np.asarray(line.y, float), plot.ylim, plot.yscale)
    there = np.isfinite(x) & np.isfinite(y) & (abs(x) <= 2 * STEPS) & (abs(y) <= 2 * STEPS)
    points = np.column_stack([x, y])[there]
    kept = curve[curve[:, 1] != GAP].astype(float)
    if line.kind == "dots":
        assert len(curve) <= DOTS
        return
    if not len(points):
        return
    if len(kept) == 1 or line.kind in ("points", "steps"):
        near = np.abs(points[:, None] - kept).max(2).min(1)
        assert near.max() <= 0.51
        return
    assert away(points, kept).max() <= TOLERANCE + 1


def test_a_sharp_null_keeps_its_depth():
    # every eighth point of this curve would miss it by 500 steps
    x = np.geomspace(10, 200, 321)
    y = 100.0 - 40 * np.exp(-((np.log(x / 15.53) / 0.01) ** 2))
    plot = Plot("", "", "", (10, 200), (60, 120))
    pool = Pool()
    place, _ = pool.line(plot, Line(x, y, "sum"))
    kept = np.cumsum(pool.curves[place], axis=0)
    lowest = along(np.array([y.min()]), plot.ylim, "linear")[0]
    assert kept[:, 1].min() == pytest.approx(lowest, abs=1)
    assert len(kept) < 60


def test_straight_lines_keep_their_ends_and_gaps_stay_gaps():
    x = np.linspace(0, 4000, 400)
    assert list(needed(x, 0.5 * x)) == [*range(0, 399, 16), 399]
    y = np.where((x > 1000) & (x < 1500), np.nan, x)
    keep = needed(x, y)
    gap = np.flatnonzero(np.isnan(y))
    assert set(gap) & set(keep) == {gap[0]}  # one point breaks the curve, at its own place
    assert {gap[0] - 1, gap[-1] + 1} <= set(keep)


@pytest.mark.parametrize("name", SOME if not os.environ.get("BOXLAB_TABLES") else list(ITEMS))
def test_a_table_holds_what_a_hand_can_reach(name):
    item = ITEMS[name]
    text = table.made(item)["packed"]
    found, _ = unpacked(text)
    assert len(text) + len(script.script()) + len(script.style()) < LARGEST - 60_000
    states = {tuple(each["at"]): each for each in found["states"]}
    start = item.start
    assert tuple(found["states"][0]["at"]) == tuple(start.values())
    for preset in item.presets.values():
        assert tuple((start | dict(preset)).values()) in states
    for control in item.controls:
        ends = control.options if isinstance(control, Choice) else (control.low, control.high)
        for value in ends:
            assert tuple((start | {control.name: value}).values()) in states
    rng = np.random.default_rng(7)
    for number in rng.choice(len(found["states"]), 12, replace=False):
        sent = found["states"][number]
        values = dict(zip(start, sent["at"], strict=True))
        try:
            scene = item.told(**values)
        except ValueError as refused:
            assert sent["no"] == both_units(str(refused))
            continue
        assert sent["h"] == both_units(scene.message)
        assert [row[1] for row in sent["n"]] == [row.metric for row in scene.numbers]
        assert sent.get("w", []) == [both_units(words) for words in scene.warnings]


def test_a_state_that_cannot_be_built_keeps_the_reason():
    found, _ = unpacked(table.made(ITEMS["port_or_radiator"], finest=0.01)["packed"])
    refusals = [each["no"] for each in found["states"] if "no" in each]
    assert refusals
    assert all(len(words) > 20 for words in refusals)


def test_places_lie_on_the_steps_of_their_slider():
    slider = next(c for c in explainer("first_experiment").controls if c.name == "volume")
    found = table.places(slider, 9)
    assert found[0] == slider.low
    assert found[-1] == slider.high
    steps = (np.array(found) - slider.low) / slider.step
    assert np.abs(steps - np.rint(steps)).max() < 1e-6
    assert slider.start in found


def test_a_table_takes_no_longer_than_it_may(monkeypatch):
    monkeypatch.setattr(table, "PATIENCE", 0.0)
    coarse, _ = unpacked(table.made(MADE_UP)["packed"])
    monkeypatch.undo()
    fine, _ = unpacked(table.made(MADE_UP)["packed"])
    assert len(coarse["states"]) < len(fine["states"])


@pytest.mark.parametrize("name", ITEMS)
def test_a_number_at_a_line_across_a_plot_changes_its_unit_with_the_axis(name):
    # was: "60" at an axis of ounces
    units = "|".join(sorted(map(re.escape, factors()), key=len, reverse=True))
    for plot in ITEMS[name]().plots:
        for mark in plot.marks:
            axis = plot.xlabel if mark.axis == "x" else plot.ylabel
            if re.search(rf", ({units})(?=$| peak| of | \(|;)", axis) and re.search(
                r"\d", mark.label
            ):
                assert both_units(mark.label) != mark.label, (plot.title, mark.label)


@pytest.mark.parametrize("name", ITEMS)
def test_presets_have_both_units_for_the_page_to_choose_from(name):
    told = table.about(ITEMS[name])
    assert list(told["presets"]) == [both_units(each) for each in ITEMS[name].presets]


# The thing itself.


def gear():
    from boxlab.base.units import cm2, litres
    from boxlab.gear.scenario import TEN_INCH_DRIVER, TEN_INCH_RADIATOR

    radiator = RadiatorBox.tuned(litres(14), 45, TEN_INCH_RADIATOR, ql=7)
    return TEN_INCH_DRIVER, radiator, PortedBox.tuned(litres(40), 35, cm2(80), ql=7)


@pytest.mark.parametrize("kind", ["radiator", "ported"])
def test_parts_move_as_the_model_says(kind):
    driver, radiator, ported = gear()
    box = radiator if kind == "radiator" else ported
    for tone in (20.0, 36.0, 80.0):
        cut, at = cut_open(driver, box, tone=tone, voltage=10.0), solve(driver, box, [tone], 10.0)
        cone, vent = cut.swings
        assert cone.dx == pytest.approx(-1e3 * at.cone_excursion[0])  # outward is to the left
        assert abs(vent.dx) == pytest.approx(1e3 * at.vent_excursion[0])
        assert (vent.dx > 0) == (kind == "radiator")
        assert vent.phase == pytest.approx(at.vent_phase[0])
    moving = {shape.moves for shape in cut.shapes}
    assert moving == {-1, 0, 1}


def test_boxes_side_by_side_keep_their_own_motion_and_do_not_touch():
    driver, radiator, ported = gear()
    one, other = (cut_open(driver, box, tone=30.0) for box in (radiator, ported))
    both = beside(one, other)
    assert both.swings == one.swings + other.swings
    right = max(x for shape in both.shapes[: len(one.shapes)] for x, _ in shape.points)
    left = min(x for shape in both.shapes[len(one.shapes) :] for x, _ in shape.points)
    assert left > right
    assert {shape.moves for shape in both.shapes[len(one.shapes) :]} == {-1, 2, 3}


def test_a_port_that_does_not_go_in_is_drawn_over_the_limit():
    from boxlab.base.units import cm2, litres

    driver = gear()[0]
    long = cut_open(driver, PortedBox.tuned(litres(14), 35, cm2(80), max_length=3))
    short = cut_open(driver, PortedBox.tuned(litres(80), 45, cm2(80)))
    assert any(shape.role == "limit" for shape in long.shapes)
    assert not any(shape.role == "limit" for shape in short.shapes)
    top = max(y for shape in long.shapes for _, y in shape.points)
    assert top < long.limits[3]


def ported(built):
    from boxlab.base.units import litres

    box = PortedBox(litres(60), built.port)
    cut = cut_open(gear()[0], box, tone=30.0, built=built)
    walls = [np.array(s.points) for s in cut.shapes if s.role == "vent" and s.moves < 0]
    air = [np.array(s.points) for s in cut.shapes if s.role == "vent" and s.moves >= 0]
    return cut, walls, air


@pytest.mark.parametrize("walls", [0, 1, 3])
def test_a_slot_is_drawn_as_high_and_as_long_as_it_is_and_on_its_wall(walls):
    cut, drawn, _ = ported(Slot(0.3, 0.04, 0.25, walls, 0.4 if walls == 3 else None))
    assert len(drawn) == (1 if walls else 2)  # on a wall the box itself is one of its sides
    for wall in drawn:
        assert sorted(np.ptp(wall, axis=0)) == pytest.approx([0, 250])
    inside = np.array(cut.shapes[1].points)
    level = int(np.ptp(drawn[0], axis=0).argmin())  # it runs along the other direction
    sides = inside[:, level].min(), inside[:, level].max()
    heights = sorted(min(abs(wall[0, level] - side) for side in sides) for wall in drawn)
    if walls:
        assert heights == pytest.approx([40])
    else:
        assert heights[0] > 0 and heights[1] - heights[0] == pytest.approx(40)
    assert "1 slot 250 mm long" in cut.words


def test_a_folded_slot_goes_there_and_back_with_a_board_between():
    _, drawn, _ = ported(Slot(0.3, 0.04, 0.5, 1, None, 2))
    middle = (drawn[0] + drawn[1]) / 2
    assert np.abs(np.diff(middle, axis=0)).sum() == pytest.approx(500)
    steps = np.diff(middle, axis=0)
    assert np.dot(steps[0], steps[2]) < 0  # back again
    assert np.abs(steps[1]).sum() == pytest.approx(40 + 18)


def test_a_flare_is_as_wide_at_its_ends_as_it_is():
    _, (one, other), _ = ported(Flare(0.08, 0.3, 0.12))
    across = np.hypot(*(one - other).T)
    assert across[[0, -1]] == pytest.approx([120, 120])
    assert across.min() == pytest.approx(80)


@pytest.mark.parametrize(("coils", "drivers"), [(1, 1), (2, 1), (2, 2), (2, 6)])
def test_the_wiring_plan_has_each_coil_in_its_driver_and_joins_them_as_is_said(coils, drivers):
    for network in networks(4.0, coils, drivers):
        cut = wiring_cut(network)
        frames = [np.array(s.points) for s in cut.shapes if s.role == "quiet"]
        found = [np.array(s.points) for s in cut.shapes if s.role == "electrical"]
        assert len(frames) == drivers and len(found) == coils * drivers
        for frame in frames:
            low, high = frame.min(axis=0), frame.max(axis=0)
            assert sum((low < c).all() and (c < high).all() for c in found) == coils
        assert through(cut) == pytest.approx(network.load)


def through(cut):
    """Ohms between + and − of a plan in which each coil has 4 Ω, by its drawn wires alone."""
    ends = [(s.role, [tuple(np.round(p, 6)) for p in s.points]) for s in cut.shapes]
    wires = [points for role, points in ends if role == "sum"]
    group = {}

    def root(at):
        group.setdefault(at, at)
        return at if group[at] == at else root(group[at])

    def on(at, points):  # wires are straight
        (ax, ay), (bx, by) = points[0], points[-1]
        near = abs((bx - ax) * (at[1] - ay) - (by - ay) * (at[0] - ax)) < 1e-6
        return near and min(ax, bx) <= at[0] <= max(ax, bx) and min(ay, by) <= at[1] <= max(ay, by)

    coils = [(points[0], points[-1]) for role, points in ends if role == "electrical"]
    places = {at for points in wires for at in (points[0], points[-1])} | {
        at for pair in coils for at in pair
    }
    for points in wires:
        for at in places:
            if on(at, points):
                group[root(at)] = root(points[0])
    nodes = sorted({root(at) for at in places})
    lead = min(places), max(places)
    matrix = np.zeros((len(nodes), len(nodes)))
    for one, other in coils:
        i, j = nodes.index(root(one)), nodes.index(root(other))
        matrix[[i, j], [i, j]] += 0.25
        matrix[[i, j], [j, i]] -= 0.25
    plus, minus = (nodes.index(root(at)) for at in lead)
    current = np.zeros(len(nodes))
    current[[plus, minus]] = 1, -1
    volts = np.linalg.lstsq(matrix, current, rcond=None)[0]
    return volts[plus] - volts[minus]


# What stands round it.


def colours(text):
    return dict(re.findall(r"--(\w+): (#[0-9a-f]{6})", text))


def contrast(one, other):
    def light(colour):
        parts = np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)]) / 255
        linear = np.where(parts <= 0.04045, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4)
        return float(linear @ [0.2126, 0.7152, 0.0722])

    high, low = sorted((light(one), light(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_colours_are_those_of_the_static_pictures_and_stand_out_in_the_dark():
    style = script.style()
    light = colours(style.split("@media")[0])
    dark = colours(style.split(".theme-dark {")[1].split("}")[0])
    assert {role: light[role] for role in palette.COLOURS} == palette.COLOURS
    assert colours(style.split("theme-light) {")[1].split("}")[0]) == dark
    for theme in (light, dark):
        for role in (*palette.COLOURS, "ink", "soft"):
            assert contrast(theme[role], theme["paper"]) >= 4.5, role


@pytest.fixture
def coarse(monkeypatch):
    """Answers of few states, where their number is not what is asked about."""
    monkeypatch.setattr(table, "PATIENCE", 0.0)


def test_an_answer_is_one_file_that_loads_nothing(tmp_path, capsys, coarse):
    path = tmp_path / "pickup.job.toml"
    path.write_text(TWELVE, encoding="utf-8")
    target = tmp_path / "answer.html"
    wanted = ["answer", "weigh_the_cone", "--job", str(path), "--to", str(target)]
    assert main(wanted) == 0
    assert "opens anywhere" in capsys.readouterr().out
    text = target.read_text(encoding="utf-8")
    packed = re.search(r"boxlab-table\">([^<]*)<", text)[1]
    assert len(text.encode()) - len(packed) + table.LARGEST < LARGEST  # however fine it is
    assert not re.search(r"https?://(?!www\.w3\.org/)", text)
    policy = re.search(r'http-equiv="Content-Security-Policy" content="([^"]*)"', text)[1]
    assert "default-src 'none'" in policy
    for tag in ("script", "style"):
        inside = re.search(rf"<{tag}>(.*?)</{tag}>", text, re.S)[1]
        mark = base64.b64encode(sha256(inside.encode()).digest()).decode()
        assert f"'sha256-{mark}'" in policy
    found, _ = unpacked(packed)
    assert "pickup" in found["gear"]
    assert main(wanted) == 0  # its own file may be made again


def test_an_answer_says_what_it_cannot_do(tmp_path, capsys):
    mine = tmp_path / "mine.html"
    mine.write_text("<p>mine</p>")
    assert main(["answer", "weigh_the_cone", "--to", str(mine)]) == 2
    assert mine.read_text() == "<p>mine</p>"
    assert main(["answer", "weigh_the_cone", "--to", str(tmp_path / "a.pdf")]) == 2
    assert main(["answer", "weigh_the_cone", "--set", "volume=9000", "--to", str(mine)]) == 2
    assert main(["answer", "weigh_the_kone", "--to", str(tmp_path / "a.html")]) == 2
    assert "weigh_the_cone" in capsys.readouterr().err


def test_set_moves_where_the_controls_start(tmp_path, coarse):
    target = tmp_path / "answer.html"
    assert main(["answer", "first_experiment", "--set", "volume=0.6ft3", "--to", str(target)]) == 0
    text = target.read_text(encoding="utf-8")
    found, _ = unpacked(re.search(r"boxlab-table\">([^<]*)<", text)[1])
    start = {control["n"]: control["st"] for control in found["controls"]}
    assert start["volume"] == pytest.approx(0.6 * 28.316846592, rel=1e-3)
    assert found["states"][0]["at"] == list(start.values())
