"""Moves every control of a panel through its range, checks that the picture follows, reports it."""

from __future__ import annotations

from boxlab.draw.scene import Choice, Explainer
from boxlab.draw.stage.state import Pool, state
from boxlab.draw.stage.table import whole
from boxlab.panel.settings_text import safe

LEFT = "style='text-align: left'"  # notebooks set tables to the right


def driven(panel):
    """Yield (control, value, first words of the readout) at both ends of each control and back.

    Values go in where a page puts them. Every option of a choice is taken in turn.

    Raises
    ------
    AssertionError
        If a value does not land, or what the page gets is not the scene.
    Exception
        Whatever the explainer raised, other than a ValueError: that is an answer, in words.
    """
    panel.reset()
    for control in panel.explainer.controls:
        choice = isinstance(control, Choice)
        for value in (*(control.options if choice else (control.low, control.high)), control.start):
            asked = panel.state | {control.name: value}
            panel.hear({"ask": list(asked.values())})  # as the page does
            if panel.fault:
                raise panel.fault
            if panel.state[control.name] != value:
                raise AssertionError(f"{control.name} was set to {value!r} and did not land")
            if panel.refused:
                words = f"refused: {panel.refused}"
            else:
                check_picture(panel)
                words = panel.scene.readout[0]
            yield control.name, value, words
    panel.reset()
    if panel.state != panel.explainer.start:
        raise AssertionError("the panel did not come back to its starting state")


def check_picture(panel) -> None:
    """Raise AssertionError unless what the page was sent is what the explainer gives."""
    pool, values = Pool(), list(panel.state.values())
    made = state(panel.explainer.told(**panel.state), pool, values)
    if panel.view.now != whole({"states": [made]}, pool):
        raise AssertionError(f"the picture does not show {panel.line}")


def drive_html(explainer: Explainer, rows) -> str:
    """Every value a drive took and what the panel said, folded: rows of (name, value, words)."""
    labels = {control.name: control for control in explainer.controls}
    body, last = "", None
    for name, value, words in rows:
        control = labels[name]
        unit = "" if isinstance(control, Choice) or not control.unit else f" {control.unit}"
        shown = value if isinstance(value, str) else f"{value:.6g}"
        head = safe(control.label) if name != last else ""
        body += (
            f"<tr><th scope='row' {LEFT}>{head}</th><td {LEFT}>{safe(shown + unit)}</td>"
            f"<td {LEFT}>{safe(words)}</td></tr>\n"
        )
        last = name
    return (
        f"<details><summary>Every control at its ends: {safe(explainer.question)}</summary>\n"
        f"<table><thead><tr><th scope='col' {LEFT}>control</th><th scope='col' {LEFT}>set to</th>"
        f"<th scope='col' {LEFT}>the panel says</th></tr></thead>\n"
        f"<tbody>\n{body}</tbody></table></details>"
    )


def drive_text(explainer: Explainer, rows) -> str:
    """The same in one line for each control: its range, and what the panel says at both ends."""
    lines = [f"Every control at its ends: {explainer.question}"]
    for control in explainer.controls:
        taken = [(value, words) for name, value, words in rows if name == control.name]
        (low, first), (high, last) = taken[0], taken[-2]  # the last of all is the start again
        unit = "" if isinstance(control, Choice) or not control.unit else f" {control.unit}"
        ends = f"{low} to {high}" if isinstance(low, str) else f"{low:.6g} to {high:.6g}{unit}"
        lines.append(f"  {control.label}, {ends}: {first} … {last}")
    return "\n".join(lines)


def show(text: str, html: str) -> None:
    """Display HTML with its plain text in a notebook; elsewhere print the text."""
    from IPython import get_ipython
    from IPython.display import display

    if get_ipython() is None:
        print(text)
    else:
        display({"text/html": html, "text/plain": text}, raw=True)
