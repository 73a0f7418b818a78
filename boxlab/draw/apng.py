"""A small animated PNG of table indices.

An ordinary PNG in our inks, its first frame, which viewers that know no animation show; the later
frames are in the chunks acTL, fcTL and fdAT of the PNG specification, third edition (W3C, 2025).
Pixels that do not change are transparent in a later frame, which keeps the file small.
"""

from __future__ import annotations

import struct
import zlib
from fractions import Fraction
from itertools import pairwise

import numpy as np

from boxlab.draw import palette

SAME = 255  # index that no ink uses: "as in the frame before"


def encode(frames, seconds) -> bytes:
    """An animated PNG of table indices, each of shape (height, width), `seconds` a frame.

    It repeats without end. The bytes depend on the frames alone.
    """
    height, width = frames[0].shape
    delay = Fraction(seconds).limit_denominator(1000)
    serial = iter(range(2 * len(frames)))
    see_through = bytes([255] * SAME + [0])

    def control(left, top, wide, high):
        return palette.chunk(
            b"fcTL",
            struct.pack(
                ">IIIIIHHBB", next(serial), wide, high, left, top,
                delay.numerator, delay.denominator, 0, 1,
            ),
        )  # fmt: skip

    parts = [
        b"\x89PNG\r\n\x1a\n",
        palette.chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 3, 0, 0, 0)),
        palette.chunk(b"acTL", struct.pack(">II", len(frames), 0)),
        palette.chunk(b"PLTE", palette.table()[0].tobytes()),
        palette.chunk(b"tRNS", see_through),
        control(0, 0, width, height),
        palette.chunk(b"IDAT", _packed_rows(frames[0])),
    ]
    for before, frame in pairwise(frames):
        changed = before != frame
        rows, columns = (np.flatnonzero(changed.any(axis=axis)) for axis in (1, 0))
        top, bottom = (rows[0], rows[-1] + 1) if rows.size else (0, 1)
        left, right = (columns[0], columns[-1] + 1) if columns.size else (0, 1)
        piece = np.where(changed, frame, SAME).astype(np.uint8)[top:bottom, left:right]
        parts.append(control(left, top, right - left, bottom - top))
        parts.append(palette.chunk(b"fdAT", struct.pack(">I", next(serial)) + _packed_rows(piece)))
    return b"".join([*parts, palette.chunk(b"IEND", b"")])


def _packed_rows(pixels):
    rows = np.zeros((pixels.shape[0], pixels.shape[1] + 1), np.uint8)  # filter 0 before each row
    rows[:, 1:] = pixels
    return zlib.compress(rows.tobytes(), 9)
