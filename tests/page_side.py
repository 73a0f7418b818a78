"""What a page does with a live panel, without a browser: read its bytes, set values, send words."""

import json
import zlib

import numpy as np


def laid_out(whole):
    """The table and its curves, shape (n, 2) each, read as a page reads them."""
    size = int.from_bytes(whole[:4], "little")
    found = json.loads(whole[4 : 4 + size])
    row, curves = np.frombuffer(whole[4 + size :], "<i2"), []
    for count in found["sizes"]:
        x, y = np.cumsum(row[:count], dtype="<i2"), np.cumsum(row[count : 2 * count], dtype="<i2")
        curves.append(np.column_stack([x, y]))
        row = row[2 * count :]
    assert not len(row)
    return found, curves


class Page:
    """A panel as its page sees it; `sent` holds the messages that came, with their buffers."""

    def __init__(self, panel, monkeypatch=None):
        self.panel, self.sent = panel, []
        panel.view.send = lambda told, buffers=(): self.sent.append((told, buffers))

    @property
    def now(self):
        """The state that the page was given last."""
        return laid_out(self.panel.view.now)[0]["states"][0]

    @property
    def words(self):
        """All that the page says about it."""
        now = self.now
        return now["no"] if "no" in now else " ".join([now["h"], *now["r"], *now.get("w", ())])

    def move(self, **changes):
        """A hand on the controls."""
        self.panel.hear({"ask": list((self.panel.state | changes).values())})

    def place(self, name):
        return list(self.panel.state).index(name)

    def type(self, name, text):
        """Type beside a slider; what the page hears back: "" or why it does not fit."""
        self.panel.hear({"typed": self.place(name), "text": text})
        told, _ = self.sent[-1]
        assert told["typed"] == self.place(name)
        return told.get("wrong", "")

    def paste(self, line):
        """Paste a settings line; what is wrong with it, or ""."""
        self.panel.hear({"paste": line})
        return self.sent[-1][0]["pasted"]

    def share(self, pages="", inch=False):
        """Open the share texts: (texts by title, files by name, what is wrong)."""
        self.panel.hear({"share": pages, "inch": inch})
        told, buffers = self.sent[-1]
        names = [name for name, _, _ in told["files"]]
        return dict(told["share"]), dict(zip(names, buffers, strict=True)), told["wrong"]

    def ahead(self, name, values=None):
        """A hand comes to a control: the states along it, in the order in which they come."""
        self.sent.clear()
        told = {"ahead": 7, "place": self.place(name), "values": list(self.panel.state.values())}
        self.panel.hear(told)
        return self.came()

    def came(self):
        assert all(told["ahead"] == 7 for told, _ in self.sent)
        tables = [laid_out(zlib.decompress(buffers[0]))[0] for _, buffers in self.sent]
        return [state for table in tables for state in table["states"]]
