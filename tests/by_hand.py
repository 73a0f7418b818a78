"""Works a printed formula out: "m = (k1 + k2)/(2·π·fb)², in words" with its letters in SI.

After the comma may stand what a letter is, "S = π·r²", unless it is among the letters already.
"""

import ast
import math
import re

SIGNS = (("·", "*"), ("√", "sqrt"), ("²", "**2"), ("³", "**3"), ("−", "-"), ("π", "pi"),
         ("^", "**"))  # fmt: skip
KNOWN = {"sqrt": math.sqrt, "log": math.log10, "pi": math.pi, "tan": math.tan, "cos": math.cos,
         "atan": math.atan, "atan2": math.atan2, "abs": abs, "round": round, "min": min,
         "max": max}  # fmt: skip


def worked(formula, letters):
    """(name, value) of the formula; "then the next size" looks it up in the `sizes`."""
    first, *rest = re.split(r", (?![^(]*\))|; ", formula)
    known = {**KNOWN, **letters}
    for clause in rest:
        also = re.fullmatch(r"(\w+) = (.+)", clause)
        if also and also[1] not in known:
            known[also[1]] = value_of(also[2], known)
    name, _, text = first.partition(" = ")
    value = value_of(text, known)
    if "the next size" in formula:
        value = min(size for size in letters["sizes"] if size >= value - 1e-12)
    return name, value


def value_of(text, known):
    """The value of one side of a formula."""
    text = re.sub(r"√(\d+)", r"√(\1)", text)
    for sign, word in SIGNS:
        text = text.replace(sign, word)
    unknown = {n.id for n in ast.walk(ast.parse(text)) if isinstance(n, ast.Name)} - set(known)
    assert not unknown, f"{text}: no letter {unknown}"
    return eval(text, {"__builtins__": {}}, known)


def all_worked(exercise, numbers):
    """The value of each blank by its formula, in SI; None where it has none."""
    letters = dict(exercise.letters(numbers)) if exercise.letters else {}
    found = []
    for step in exercise.blanks:
        if not step.formula:
            found.append(None)
            continue
        name, value = worked(step.formula, letters)
        letters[name] = value
        found.append(value)
    return found
