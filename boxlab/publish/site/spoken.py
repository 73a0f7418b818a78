"""A formula in words, for people who hear a page instead of seeing it."""

from __future__ import annotations

import re

_TOKEN = re.compile(r"\\[A-Za-z]+|\\.|\s+|\d+(?:\.\d+)?|.", re.S)
_SAID = {
    "=": "equals", "+": "plus", "-": "minus", "−": "minus", "/": "over", "<": "is less than",
    ">": "is more than", r"\cdot": "times", r"\times": "times", r"\approx": "is about",
    r"\sim": "is about", r"\le": "is at most", r"\leq": "is at most", r"\ge": "is at least",
    r"\geq": "is at least", r"\ll": "is far less than", r"\gg": "is far more than",
    r"\ne": "is not", r"\neq": "is not", r"\propto": "is proportional to", r"\pm": "plus or minus",
    r"\infty": "infinity", r"\to": "to", r"\partial": "partial", r"\int": "integral",
    r"\sum": "sum", r"\ln": "natural log of", r"\log": "log of", r"\angle": "angle of",
    r"\eta": "eta", r"\varphi": "phi", r"\varepsilon": "epsilon", "|": "bar",
}  # fmt: skip
_SILENT = {r"\left", r"\right", r"\quad", r"\qquad", r"\displaystyle", r"\big", r"\Big", "~", "&"}
_PLAIN = {r"\mathrm", r"\mathit", r"\mathbf", r"\text", r"\operatorname", r"\mathsf", r"\rm"}
_OVER = {r"\bar": "bar", r"\hat": "hat", r"\dot": "dot", r"\vec": "vector", r"\overline": "bar"}


def spoken(tex: str) -> str:
    r"""TeX to words. A command that is not known here is said by its name.

    >>> spoken(r"f_b = f_p \\sqrt{1 + \\frac{V_{ap}}{V}}".replace("\\\\", "\\"))
    'f sub b equals f sub p square root of 1 plus V sub ap over V end root'
    >>> spoken("k f_3^3"), spoken(r"(2\pi f)^2")
    ('k f sub 3 cubed', '( 2 pi f ) squared')
    """
    return " ".join(_row([token for token in _TOKEN.findall(tex) if not token.isspace()]))


def _row(tokens: list[str]) -> list[str]:
    """The words of the tokens up to the end or a closing brace; takes them off the list."""
    words = []
    while tokens and tokens[0] != "}":
        words += _part(tokens)
    return words


def _argument(tokens: list[str]) -> list[str]:
    """The words of one argument: a group in braces or a single token."""
    if tokens and tokens[0] == "{":
        tokens.pop(0)
        words = _row(tokens)
        del tokens[:1]  # the closing brace
        return words
    return _part(tokens) if tokens else []


def _letters(words: list[str]) -> str:
    """The words of an index; letters alone are read as one word, as in C_ms."""
    return ("" if all(len(word) == 1 for word in words) else " ").join(words)


def _part(tokens: list[str]) -> list[str]:
    token = tokens.pop(0)
    if token == "{":
        tokens.insert(0, token)
        return _argument(tokens)
    if token in (r"\frac", r"\dfrac", r"\tfrac"):
        above, below = _argument(tokens), _argument(tokens)
        if max(len(above), len(below)) > 3:  # longer, and the ear needs to be told where it ends
            return ["fraction", *above, "over", *below, "end", "fraction"]
        return [*above, "over", *below]
    if token == r"\sqrt":
        if tokens[:1] == ["["]:
            end = tokens.index("]")
            root = ["root", *tokens[1:end], "of"]
            del tokens[: end + 1]
        else:
            root = ["square", "root", "of"]
        return [*root, *_argument(tokens), "end", "root"]
    if token == "_":
        return ["sub", _letters(_argument(tokens))]
    if token == "^":
        power = _argument(tokens)
        short = {("2",): ["squared"], ("3",): ["cubed"], (r"prime",): ["prime"]}
        return short.get(tuple(power), ["to the power", *power])
    if token in _PLAIN:
        return ["".join(_argument(tokens))]
    if token in _OVER:
        return [*_argument(tokens), _OVER[token]]
    if token in _SILENT or re.fullmatch(r"\\[,;:!> ]", token):
        return []
    return [_SAID.get(token, token.removeprefix("\\"))]
