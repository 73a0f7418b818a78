"""The inks of the collection, and a small fast PNG made of them.

Every pixel of our pictures is one of few inks on white paper, so a picture goes out as a PNG with
a fixed table of 256 colours, which is quick to make and small.
"""

from __future__ import annotations

import struct
import zlib
from functools import cache

import numpy as np
from matplotlib.colors import to_rgb

# Our own choice. Each stands at 4.5:1 or better on white, for names are set in them, and every
# pair stays apart for the three kinds of colour blindness; the tests hold it to both.
COLOURS = {
    "cone": "#1a3a9a",
    "vent": "#b75d10",
    "sum": "#111116",
    "limit": "#a21946",
    "electrical": "#088666",
    "leak": "#aa4cc9",
    "rear": "#5f4a1c",
    "quiet": "#727587",
}
INK, AXIS, GRID, FAINT, PAPER = "#26262c", "#8b8d98", "#e1e2e8", "#f0f1f4", "#ffffff"
GHOST = "#b4b6c0"  # what is there to compare with


@cache
def lightness(colour: str) -> float:
    """How light a colour looks in grey, 0 to 100: CIE 1976 L*, of sRGB.

    >>> round(lightness("#ffffff")), round(lightness("#777777"))
    (100, 50)
    """
    c = np.array(to_rgb(colour))
    linear = np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4)
    y = float(linear @ [0.2126, 0.7152, 0.0722])
    return 116 * y ** (1 / 3) - 16 if y > (6 / 29) ** 3 else y * (29 / 3) ** 3


@cache
def table() -> tuple[np.ndarray, np.ndarray]:
    """The 256 colours, shape (256, 3) uint8, and the nearest of them for 5-5-5 bit RGB."""
    inks = [INK, AXIS, *COLOURS.values()]
    blends = [np.linspace(0, 1, 19)[:, None] * (1 - np.array(to_rgb(ink))) for ink in inks]
    ramps = np.vstack([np.array(to_rgb(i)) + b for i, b in zip(inks, blends, strict=True)])
    plain = [PAPER, GRID, FAINT, GHOST]
    exact = np.array([to_rgb(colour) for colour in plain + inks])
    # Where two inks cross, anti-aliasing mixes them; a few mixes with black serve for those.
    dark = np.vstack([np.array(to_rgb(ink)) * 0.6 for ink in COLOURS.values()])
    colours = np.round(255 * np.vstack([exact, ramps, dark])).astype(np.uint8)
    _, first = np.unique(colours, axis=0, return_index=True)
    colours = colours[np.sort(first)][:256]
    table = np.full((256, 3), 255, np.uint8)
    table[: len(colours)] = colours
    levels = np.arange(32) * 8 + 4
    cube = np.stack(np.meshgrid(levels, levels, levels, indexing="ij"), axis=-1).reshape(-1, 3)
    used = colours.astype(float)
    away = (cube.astype(float) ** 2).sum(1)[:, None] - 2 * cube @ used.T + (used**2).sum(1)
    nearest = away.argmin(axis=1).astype(np.uint8)
    own = (colours[: len(exact)] >> 3).astype(int)
    nearest[own[:, 0] * 1024 + own[:, 1] * 32 + own[:, 2]] = np.arange(len(exact))
    return table, nearest


def chunk(kind: bytes, data: bytes) -> bytes:
    """One chunk of a PNG: length, kind, data, checksum."""
    body = kind + data
    return struct.pack(">I", len(data)) + body + struct.pack(">I", zlib.crc32(body))


def indices(packed: np.ndarray) -> np.ndarray:
    """The nearest table index, uint8, of pixels packed as `packed` does; any shape."""
    return table()[1][(packed & 0xF8) << 7 | (packed >> 6) & 0x3E0 | (packed >> 19) & 0x1F]


def packed(canvas) -> np.ndarray:
    """What a canvas shows, one little-endian uint32 of red, green, blue, alpha a pixel."""
    return np.asarray(canvas.buffer_rgba()).view("<u4")[..., 0]


def encode(pixels: np.ndarray, level: int = 9, note: str = "") -> bytes:
    """A PNG of table indices, shape (height, width) uint8.

    `note` is kept inside as the file's comment.
    """
    height, width = pixels.shape
    rows = np.zeros((height, width + 1), np.uint8)  # each row starts with its filter: none
    rows[:, 1:] = pixels
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 3, 0, 0, 0))
        + chunk(b"PLTE", table()[0].tobytes())
        + (chunk(b"iTXt", b"Comment\0\0\0\0\0" + note.encode()) if note else b"")
        + chunk(b"IDAT", zlib.compress(rows.tobytes(), level))
        + chunk(b"IEND", b"")
    )
