"""Getting the text of a table out of whatever it was given as, without losing a byte of meaning."""

from __future__ import annotations

import codecs
from collections.abc import Mapping
from os import PathLike
from pathlib import Path

_BOMS = (  # the longer ones first: UTF-32's little-endian mark begins with UTF-16's
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)


def decode(data: bytes | bytearray | memoryview) -> str:
    """The bytes of a text file, `data`, as text: UTF-8, UTF-16 or UTF-32, else Western European.

    The last resort, Latin-1, gives every byte a character, so that nothing is dropped.

    >>> decode("20;8,1".encode("utf-16"))
    '20;8,1'
    """
    data = bytes(data)
    _refuse_binary(data)
    for mark, encoding in _BOMS:
        if data.startswith(mark):
            return data.decode(encoding, errors="replace").lstrip("\ufeff")
    if data[:400].count(0) > len(data[:400]) / 4:  # every second byte of a UTF-16 table is zero
        even, odd = data[:400:2].count(0), data[1:400:2].count(0)
        return data.decode("utf-16-be" if even > odd else "utf-16-le", errors="replace")
    for encoding in ("utf-8", "cp1252"):
        try:
            return data.decode(encoding)
        except UnicodeDecodeError:
            continue
    return data.decode("latin-1")


# first bytes of what is no text, and what it then is
_BINARY = (
    (b"RIFF", "a sound file"), (b"fLaC", "a sound file"), (b"OggS", "a sound file"),
    (b"ID3", "a sound file"), (b"FORM", "a sound file"), (b"PK\x03\x04", "a zip or office file"),
    (b"%PDF", "a PDF"), (b"\x89PNG", "a picture"), (b"\xff\xd8\xff", "a picture"),
    (b"GIF8", "a picture"), (b"\x1f\x8b", "a compressed file"),
    (b"\xd0\xcf\x11\xe0", "an old office file"),
)  # fmt: skip


def _refuse_binary(data):
    """Say what bytes are that are no text, instead of printing them."""
    kind = next((what for mark, what in _BINARY if data.startswith(mark)), "")
    head = data[:4000]
    odd = sum(byte < 9 or 13 < byte < 32 for byte in head) - head.count(0)
    if kind or odd > len(head) / 20:
        raise ValueError(
            f"this is {kind or 'a binary file'}, not a table. Export the impedance as text: a row "
            "for each frequency, with the magnitude in Ω and, perhaps, the phase."
        )


def text_of(source: object) -> tuple[str, str]:
    """Return `(name, text)` of a path, text, bytes, an open file, lines, or an upload.

    An upload is the value of an upload widget (a tuple of files, or a mapping from file name to
    file) or the widget itself. Text with a line break in it is taken as the table; text without
    one as the name of a file.

    Raises
    ------
    ValueError
        If the file is not there or cannot be read, if nothing was uploaded, or more than one file.

    >>> text_of(b"20 7.5")[1]
    '20 7.5'

    Parameters
    ----------
    source : path, text, bytes, open file, lines, or an upload
    """
    if isinstance(source, PathLike):
        return _file(Path(source))
    if isinstance(source, str):
        return _string(source)
    if isinstance(source, bytes | bytearray | memoryview):
        return "", decode(source)
    if isinstance(source, Mapping) and "content" in source:
        content = source["content"]
        name = source.get("name") or source.get("metadata", {}).get("name", "")
        return name, content if isinstance(content, str) else decode(content)
    if isinstance(source, Mapping):
        files = [{"name": name, **file} for name, file in source.items()]
        return _only(files)
    if hasattr(source, "read"):
        content = source.read()
        text = content.lstrip("\ufeff") if isinstance(content, str) else decode(content)
        return str(getattr(source, "name", "")), text
    if hasattr(source, "value"):
        return text_of(source.value)
    if isinstance(source, tuple | list):
        if source and all(isinstance(line, str) for line in source):
            return "", "\n".join(line.rstrip("\r\n") for line in source)
        return _only(source)
    raise ValueError(
        f"a sweep cannot be read from a {type(source).__name__}. Give a file name, the text of the "
        "table, its bytes, or what an upload widget holds in .value."
    )


def _only(files):
    if len(files) == 0:
        raise ValueError("nothing has been uploaded yet: choose a file first.")
    if len(files) > 1:
        names = ", ".join(str(file.get("name", "?")) for file in files if isinstance(file, Mapping))
        raise ValueError(f"{len(files)} files were given ({names}); read them one at a time.")
    return text_of(files[0])


def _string(text):
    text = text.lstrip("\ufeff")
    if "\n" in text or "\r" in text:
        return "", text
    if not text.strip():
        raise ValueError("the sweep is empty: expected a table of frequency, Hz, and magnitude, Ω.")
    return _file(Path(text.strip()))


def _file(path):
    try:
        data = path.expanduser().read_bytes()
    except (OSError, ValueError, RuntimeError) as trouble:
        reason = getattr(trouble, "strerror", None) or str(trouble)
        raise ValueError(
            f"cannot read a sweep from the file {str(path)[:200]!r}: {reason}. Check the name and "
            f"the folder (this is {Path.cwd()}); a table given as text needs two lines or more."
        ) from None
    return path.name, decode(data)
