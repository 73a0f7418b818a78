"""Works a printed formula out: "m = (k1 + k2)/(2·π·fb)², in words" with its letters in SI."""

import ast
import math
import re

SIGNS = (("·", "*"), ("√", "sqrt"), ("²", "**2"), ("³", "**3"), ("−", "-"), ("π", "pi"))
KNOWN = {"sqrt": math.sqrt, "log": math.log10, "pi": math.pi, "tan": math.tan, "atan": math.atan}


def worked(formula, letters):
    """(name, value) of the formula. Where there are `sizes`, it is the next size from there up."""
    name, _, text = formula.partition(" = ")
    text = re.sub(r",\s.*", "", text)
    for sign, word in SIGNS:
        text = text.replace(sign, word)
    known = {**KNOWN, **letters}
    unknown = {n.id for n in ast.walk(ast.parse(text)) if isinstance(n, ast.Name)} - set(known)
    assert not unknown, f"{formula}: no letter {unknown}"
    value = eval(text, {"__builtins__": {}}, known)
    if "sizes" in letters:
        value = min(size for size in letters["sizes"] if size >= value)
    return name, value


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
