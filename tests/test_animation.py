"""Pistons in slow motion: the file plays, is small, keeps its bytes, and moves as computed."""

import io
import struct
import zlib
from itertools import pairwise

import numpy as np
import pytest
from PIL import Image

from boxlab import PortedBox, SealedBox, disc_area, litres, mm
from boxlab.draw import animation, apng, palette, piston_view
from boxlab.explainers._one_box import box_of
from boxlab.gear.scenario import TEN_INCH_DRIVER as DRIVER
from boxlab.model.camera import film
from boxlab.model.motion import phasors

BOX = box_of("radiator", 36)


def chunks(data):
    """(kind, body) of each chunk of a PNG, checksums checked."""
    at = 8
    while at < len(data):
        size, kind = struct.unpack(">I4s", data[at : at + 8])
        body = data[at + 8 : at + 8 + size]
        assert struct.unpack(">I", data[at + 8 + size : at + 12 + size])[0] == zlib.crc32(
            kind + body
        )
        yield kind.decode(), body
        at += 12 + size


def played(png):
    """What a viewer shows, frame by frame, as RGB."""
    image = Image.open(io.BytesIO(png))
    for k in range(image.n_frames):
        image.seek(k)
        yield np.asarray(image.convert("RGB"))


def some_frames(count=4, height=20, width=30):
    rng = np.random.default_rng(1)
    frames = [np.zeros((height, width), np.uint8)]
    for _ in range(count - 1):
        frame = frames[-1].copy()
        top, left = rng.integers(0, height - 5), rng.integers(0, width - 5)
        frame[top : top + 5, left : left + 5] = rng.integers(0, 30, (5, 5))
        frames.append(frame)
    return [*frames, frames[-1].copy()]  # a frame in which nothing moves


def test_a_viewer_sees_the_frames_that_went_in():
    frames = some_frames()
    colours = palette.table()[0]
    for seen, frame in zip(played(apng.encode(frames, 0.1)), frames, strict=True):
        np.testing.assert_array_equal(seen, colours[frame])


def test_the_file_is_as_the_specification_asks():
    data = apng.encode(some_frames(), 1 / 30)
    kinds = [kind for kind, _ in chunks(data)]
    assert kinds[:6] == ["IHDR", "acTL", "PLTE", "tRNS", "fcTL", "IDAT"] and kinds[-1] == "IEND"
    assert kinds.count("fcTL") == 5 and kinds.count("fdAT") == 4
    numbers = [
        struct.unpack(">I", body[:4])[0] for kind, body in chunks(data) if kind in ("fcTL", "fdAT")
    ]
    assert numbers == list(range(9))
    delay = next(body for kind, body in chunks(data) if kind == "fcTL")[20:24]
    assert struct.unpack(">HH", delay) == (1, 30)


def test_no_ink_uses_the_index_that_means_unchanged():
    assert palette.table()[1].max() < apng.SAME


@pytest.fixture(scope="module")
def three():
    return animation.pistons(DRIVER, BOX, [18, 36, 72], ["low", "tuning", "high"], 10)


def test_it_plays_and_is_small(three):
    image = Image.open(io.BytesIO(three.png))
    assert image.is_animated and image.n_frames == three.frames == animation.STEPS
    assert len(three.png) < 300_000
    assert image.size == (round(1.5 * three.width), round(1.5 * three.height))
    frames = list(played(three.png))
    assert all((a != b).any() for a, b in pairwise(frames))


def test_the_same_bytes_each_time():
    made = [animation.pistons(DRIVER, BOX, 36).png for _ in range(2)]
    assert made[0] == made[1]


def test_alt_text_and_caption_tell_what_the_model_computed(three):
    for tone in (18, 36, 72):
        at = phasors(DRIVER, BOX, tone, 10).turned_to("cone")
        said = f"At {tone} Hz the radiator is {np.degrees(np.angle(at.vent)):.0f}° ahead"
        assert said in three.alt and said in three.caption
    data, metadata = three._repr_mimebundle_()
    assert data["image/png"] and three.alt in data["text/plain"]
    assert metadata["image/png"]["alt"] == three.alt


def height_of(frame, colour, columns):
    """Middle row of the pixels of an ink in these columns of a frame."""
    ink = np.array([int(palette.COLOURS[colour][k : k + 2], 16) for k in (1, 3, 5)])
    rows, _ = np.nonzero((frame[:, columns] == ink).all(axis=2))
    return rows.mean() if rows.size else np.nan


def test_the_drawn_pistons_move_as_computed():
    """The weight under the radiator is followed through the picture, against the phasor."""
    movie = animation.pistons(DRIVER, BOX, 36)
    ahead = np.angle(phasors(DRIVER, BOX, 36).turned_to("cone").vent)
    frames = np.array(list(played(movie.png)))
    left, right = 0.01 * frames.shape[2], 0.99 * frames.shape[2]
    scale = (right - left) / (2.1 + 1.95)

    def follow(centre, colour):
        middle = round(left + (centre + 1.95) * scale)
        columns = slice(middle - 4, middle + 5)
        return np.array([height_of(frame, colour, columns) for frame in frames])

    for centre, colour, phase in (
        (piston_view.Stage.CONE, "cone", 0.0),
        (piston_view.Stage.VENT, "vent", ahead),
    ):
        height = -follow(centre, colour)  # rows count downward
        turn = 2 * np.pi * np.arange(len(frames)) / len(frames)
        basis = np.column_stack([np.cos(turn), np.sin(turn), np.ones_like(turn)])
        c, s, _ = np.linalg.lstsq(basis, height, rcond=None)[0]
        assert np.hypot(c, s) > 20
        assert np.degrees(np.angle(complex(c, -s) * np.exp(-1j * phase))) == pytest.approx(0, abs=5)


def test_a_film_is_what_the_camera_room_says():
    box = box_of("radiator", 30)
    movie = animation.filmed(DRIVER, box, 29, 30)
    at = phasors(DRIVER, box, 29).turned_to("cone")
    assert film(29, 30, at.cone, at.vent).leads == "first"
    assert movie.frames == 30 and "on film the cone leads" in movie.alt
    assert "the radiator leads" in animation.filmed(DRIVER, box, 31, 30).alt
    assert len(movie.png) < 300_000


@pytest.mark.parametrize("tone", [29, 31, 36, 25])
def test_the_frames_of_a_film_lie_on_its_slow_curve(tone):
    f, (life, seen) = animation.film_tracks(tone, 30, 1.6, "radiator")
    for track in (life, seen):
        for curve, frames in ((track.cone_curve, track.cone), (track.vent_curve, track.vent)):
            assert np.interp(track.at, track.time, curve) == pytest.approx(frames, abs=2e-2)
    assert seen.time[-1] == pytest.approx(len(f.time) * abs(f.frequency) / 30)


def test_a_film_that_does_not_come_round_is_refused():
    for tone, rate in ((30, 30), (45, 30), (36.017, 30)):
        with pytest.raises(ValueError, match="repeats after"):
            animation.filmed(DRIVER, BOX, tone, rate)


def test_stills_for_who_wants_no_motion():
    movie = animation.moments(DRIVER, BOX, 36)
    image = Image.open(io.BytesIO(movie.png))
    assert not getattr(image, "is_animated", False) and movie.frames == 1
    assert "91° ahead" in movie.alt and "Stills" in movie.caption


def test_a_port_is_called_a_port():
    port = PortedBox.tuned(litres(14), 36, disc_area(mm(75)), ql=7, max_length=3)
    assert "the air in the port is 90° ahead" in animation.moments(DRIVER, port, 36).alt


def test_a_box_without_a_vent_and_odd_names_are_refused():
    with pytest.raises(ValueError, match="no vent that moves"):
        animation.moments(DRIVER, SealedBox(litres(14)), 36)
    with pytest.raises(ValueError, match="2 frequencies but 1 names"):
        animation.pistons(DRIVER, BOX, [18, 36], ["low"])
