"""Sounds to play on a page: one plain player for each version of an `Audition`.

The players need no kernel and no network; the sound is inside the page. Nothing plays by itself.
Where the page lets us, each starts at a low volume and starting one stops the others; JupyterLab
lets us once the cell has been run.
"""

from __future__ import annotations

import base64
from dataclasses import dataclass
from html import escape

from boxlab.sound.listening import Audition

START = 0.3  # of the page's full volume
_ALONE = "for(const o of document.querySelectorAll('audio'))if(o!==this)o.pause()"
_SOFT = f"if(!this.dataset.met){{this.dataset.met=1;this.volume={START}}}"


@dataclass(frozen=True, eq=False)
class Players:
    """Players for some versions of an audition, in order, under its caution.

    `names` are keys of `audition.sounds`; `loop` repeats each until stopped.
    """

    audition: Audition
    names: tuple[str, ...]
    title: str
    loop: bool = False

    def __post_init__(self):
        for name in self.names:
            if name not in self.audition.sounds:
                known = ", ".join(self.audition.sounds)
                raise ValueError(f"no sound {name!r} to play; there is {known}")

    def seconds(self, name):
        """How long a version lasts, s."""
        return self.audition.sounds[name].size / self.audition.rate

    @property
    def size(self):
        """Bytes of sound that these players put into a page."""
        return sum(len(self._data(name)) for name in self.names)

    def _data(self, name):
        return base64.b64encode(self.audition.wav(name)).decode("ascii")

    def label(self, name):
        """The version's name and how it was turned up or down for the match."""
        return f"{name} (turned {turned(self._gain(name))} to match)" if self._gain(name) else name

    def _gain(self, name):
        """dB against the quietest correction, so that the loudest box stands at zero."""
        boxes = {k: g for k, g in self.audition.gains.items() if k != "as played"}
        if name not in boxes:
            return 0.0
        return round(boxes[name] - min(boxes.values()), 1)

    def _repr_mimebundle_(self, include=None, exclude=None):
        return {"text/html": self._html(), "text/plain": self._text()}

    def _html(self):
        parts = [
            f"<p><strong>{escape(self.title)}</strong></p>",
            f"<p><strong>Before you press play.</strong> {escape(self.audition.caution)}</p>",
        ]
        again = " loop" if self.loop else ""
        parts += [
            f"<p>{escape(self.label(name))}<br>\n"
            f'<audio controls{again} preload="metadata" style="max-width:100%" '
            f'aria-label="{escape(self.title)}: {escape(name)}" onplay="{_ALONE}" '
            f'onloadedmetadata="{_SOFT}" src="data:audio/wav;base64,{self._data(name)}">'
            "</audio></p>"
            for name in self.names
        ]
        return "\n".join(parts)

    def _text(self):
        rows = [self.title, f"Before you press play. {self.audition.caution}"]
        rows += [f"  {self.label(name)}, {self.seconds(name):.1f} s" for name in self.names]
        return "\n".join(rows)


def turned(gain: float) -> str:
    """dB as "up 3.2 dB" or "down 1.0 dB".

    >>> turned(3.21), turned(-1.0)
    ('up 3.2 dB', 'down 1.0 dB')

    Parameters
    ----------
    gain : dB
    """
    return f"{'up' if gain >= 0 else 'down'} {abs(gain):.1f} dB"
