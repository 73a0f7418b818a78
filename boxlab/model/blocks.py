"""Answers that are worked out when asked for, a block of designs at a time where there are many.

The steps in between then stay in the processor's cache, and memory holds only the answers.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from functools import cached_property, wraps
from itertools import product

import numpy as np

from boxlab.base.array_types import Values

BLOCK = 2**14  # points, that is designs times frequencies, in one block

# Memory for a block would be given back after each step and fetched anew, page by page, had glibc
# not seen one larger array come and go.
np.empty(2**20)


def answer(formula: Callable) -> cached_property:
    """Make a `formula` a property of an `Answers`: worked out once, in blocks if there are many.

    >>> from types import SimpleNamespace
    >>> class Square(Answers):
    ...     _circuit, asked = SimpleNamespace(size=1), 0
    ...     @answer
    ...     def area(self):
    ...         self.asked += 1
    ...         return 9.0
    >>> one = Square()
    >>> one.area, one.area, one.asked
    (9.0, 9.0, 1)
    """

    @wraps(formula)
    def worked_out(self):
        if self._circuit.size <= BLOCK:
            return formula(self)
        return self.together(formula.__name__)[0]

    return cached_property(worked_out)


class Answers:
    """A dataclass whose answers are formulas of its `_circuit`, and of each other."""

    def together(self, *names):
        """Several answers by name, as a tuple: r.together("spl", "impedance").

        The same as asking for each; for many designs it goes over them once, not once for each.
        """
        missing = [name for name in names if name not in vars(self)]
        if missing and self._circuit.size > BLOCK:
            vars(self).update(self._by_blocks(missing))
        return tuple(getattr(self, name) for name in names)

    def _by_blocks(self, names):
        shape = self._circuit.shape
        corner = self._cut([slice(2)] * len(shape))
        answers = {name: _room_for(getattr(corner, name), shape) for name in names}
        for block in blocks(shape):
            piece = self._cut(block)
            for name, whole in answers.items():
                part(whole, block)[...] = getattr(piece, name)
        return {name: whole[()] for name, whole in answers.items()}

    def _cut(self, block):
        """The answers of one block. Formulas read the circuit only, so other fields can stay."""
        return replace(self, _circuit=self._circuit.cut(block))


def blocks(shape: tuple[int, ...]) -> Iterator[tuple[slice, ...]]:
    """Slices, one for each axis, that cut `shape` into blocks of at most BLOCK points.

    >>> [rows for rows, columns in blocks((200, 200))]
    [slice(0, 81, None), slice(81, 162, None), slice(162, 243, None)]
    """
    cuts, room = [], BLOCK
    for size in reversed(shape):
        step = min(size, max(room, 1))
        cuts.append([slice(start, start + step) for start in range(0, size, step)])
        room //= step
    return product(*reversed(cuts))


def part(value: Values, block: Sequence[slice]) -> Values:
    """What a block holds of a number or array that broadcasts with the whole.

    >>> part(np.arange(6.0), (slice(2, 4),))
    array([2., 3.])

    Parameters
    ----------
    value : number, or array
    block : slices, as `blocks` gives them
    """
    if not isinstance(value, np.ndarray):
        return value
    cuts = zip(value.shape, block[len(block) - value.ndim :], strict=True)
    return value[(*(cut if size > 1 else slice(None) for size, cut in cuts), ...)]


def _room_for(corner, shape):
    """An empty array for an answer whose first two entries along each axis are `corner`.

    The corner tells the type, and whether the answer differs along an axis at all.
    """
    own = shape[len(shape) - corner.ndim :]
    sizes = [size if wide > 1 else 1 for size, wide in zip(own, corner.shape, strict=True)]
    return np.empty(sizes, corner.dtype)
