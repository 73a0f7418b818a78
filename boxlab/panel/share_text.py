"""What one person hands another: a paragraph, a picture with its caption, a link, in both units.

Nothing here knows a forum. A paragraph comes in Markdown and in plain text; links are relative to
the repository until somebody says where the web pages stand.
"""

from __future__ import annotations

import os
import re
from urllib.parse import quote

from boxlab.base.both_units import both_units
from boxlab.draw.scene import INVENTED, Explainer, Scene
from boxlab.panel.settings_text import call_name, settings_line, settings_text

PAGES = "BOXLAB_PAGES"  # environment: the address at which `python -m boxlab site` is published

CREDIT = "boxlab, CC BY 4.0"
SHORT = 40  # words
DOUBT = re.compile(r" \(Whether this is so depends on an assumed value\.\)")
IN_DOUBT = "(Depends on an assumed value.)"
LEANS = re.compile(r"(That|This(?! box| driver| radiator)|These|Those|It|They|There)\b")
AMOUNT = re.compile(r"(?<![\w.,])\d")  # a number of its own: not the 3 of f3


def address(explainer: Explainer, pages: str | None = None) -> str:
    """A link to the heading where an explainer stands; "" if it belongs to no lesson.

    Parameters
    ----------
    pages : str, optional
        Where the web pages of `python -m boxlab site` are published. Without it the environment
        variable BOXLAB_PAGES counts; without that the link is relative to the repository.

    >>> from boxlab.explainers import explainer
    >>> address(explainer("port_or_radiator"), "")
    'lessons/01-port-or-radiator.ipynb#See'
    >>> address(explainer("port_or_radiator"), "https://example.org/boxlab")
    'https://example.org/boxlab/lessons/01-port-or-radiator.html#See'
    """
    if not explainer.lesson:
        return ""
    pages = os.environ.get(PAGES, "") if pages is None else pages.strip()
    path = f"lessons/{explainer.lesson}"
    if pages:
        path = f"{pages.rstrip('/')}/{path.removesuffix('.ipynb')}.html"
    return path + (f"#{quote(explainer.anchor, safe='-?!,;:@/')}" if explainer.anchor else "")


def live_address(explainer: Explainer, state: dict, scene: Scene, pages: str | None = None) -> str:
    """Where the question moves on the published pages, in this state; "" if that is not known.

    Those pages are about the class's gear, so a scene of somebody's own box has none.

    >>> from boxlab.explainers import explainer
    >>> item = explainer("recoil")
    >>> live_address(item, item.start | {"fb": 40.0}, item(), "https://example.org/boxlab")
    'https://example.org/boxlab/q/recoil.html#fb=40'
    """
    pages = os.environ.get(PAGES, "") if pages is None else pages.strip()
    if not pages or (scene.gear and scene.gear != INVENTED):
        return ""
    moved = {name: value for name, value in state.items() if value != explainer.start[name]}
    told = "&".join(
        f"{name}={quote(value if isinstance(value, str) else f'{value:g}')}"
        for name, value in moved.items()
    )
    return f"{pages.rstrip('/')}/q/{explainer.name}.html" + (f"#{told}" if told else "")


def checked_pages(text: str) -> str:
    """An address for `address`, as typed; "" for none.

    Raises
    ------
    ValueError
        If it is no web address.
    """
    text = text.strip()
    if text and not re.fullmatch(r"(https?|file)://[^\s<>\"'()\[\]]+", text):
        raise ValueError(
            f"{text!r} is not an address of web pages: it begins with https:// and has no spaces "
            "or brackets, such as https://example.org/boxlab"
        )
    return text


# how each kind of text marks things: bold, code, a list's line, a link
STYLES = {
    "plain": ("{}", "{}", "  {}", "{1}"),
    "markdown": ("**{}**", "`{}`", "- {}", "[{0}]({1})"),
    "bbcode": ("[b]{}[/b]", "[code]{}[/code]", "[*]{}", "[url={1}]{0}[/url]"),
}


def link(explainer: Explainer, pages: str | None = None, style: str = "plain") -> str:
    """The way to the lesson: a link where the web pages are known, and in words otherwise.

    A relative link leads nowhere from a forum. `style` is one of `STYLES`.
    """
    where = address(explainer, pages)
    lesson, heading = explainer.lesson.partition(".")[0], explainer.anchor.replace("-", " ")
    words = f"{lesson}, “{heading}”" if heading else lesson
    if not where or where == address(explainer, ""):
        return words
    return STYLES[style][3].format(words, where)


def paragraph(
    explainer: Explainer,
    state: dict,
    scene: Scene,
    style: str = "plain",
    pages: str | None = None,
) -> str:
    """The question, what was set, what came out, whose gear, the lesson, the settings line.

    The explainer's own answer is about its starting settings, so it stands there only. `style` is
    one of `STYLES`: a forum takes either Markdown or BBCode.
    """
    bold, tick, dash, _ = STYLES[style]
    answer = explainer.answer if state == explainer.start else ""
    numbers = [
        dash.format(f"{n.name} {n.metric}" + (f" ({n.imperial})" if n.imperial else ""))
        for n in scene.numbers
    ]
    if numbers and style == "bbcode":
        numbers = ["[list]", *numbers, "[/list]"]
    where = link(explainer, pages, style)
    live = live_address(explainer, state, scene, pages)
    live = STYLES[style][3].format(explainer.question, live) if live else ""
    found = " ".join(both_units(words) for words in scene.readout)
    blocks = [
        f"{bold.format(explainer.question)} {answer}".strip(),
        f"With {settings_text(explainer, state)}: {found}",
        "\n".join(numbers),
        "\n".join(f"Careful: {both_units(warning)}" for warning in scene.warnings),
        "\n".join(f"Caution: {caution}" for caution in scene.cautions),
        scene.gear,
        f"Move it: {live}" if live else "",
        f"Lesson: {where}" if where else "",
        f"boxlab settings: {tick.format(settings_line(explainer, state))}",
    ]
    return ("\n" if style == "plain" else "\n\n").join(block for block in blocks if block)


def in_short(
    explainer: Explainer,
    scene: Scene,
    style: str = "plain",
    pages: str | None = None,
    state: dict | None = None,
) -> str:
    """The answer with its number, and the way to the lesson, in 40 words; cautions on top.

    Whole sentences only: the headline, then as many of the readout's as there is room for.
    With the `state` of the scene, the link is to the page where it moves.
    """
    job = re.search("“.*”", scene.gear)
    owner = f"For {job[0] if job else 'the invented gear of a class'}:"
    where = link(explainer, pages, style)
    if address(explainer, pages) == address(explainer, ""):  # without a link, the lesson's name
        where = explainer.lesson.partition(".")[0]
    live = "" if state is None else live_address(explainer, state, scene, pages)
    where = STYLES[style][3].format("move it", live) if live else where
    last = f"More: {where}" if where else ""
    told = owner if scene.gear else ""
    room = SHORT - len(f"{told} {last}".split())
    sentences, unsure = _sentences(scene)
    rows = [f"{row.name} {row.metric}." for row in scene.numbers]
    with_number = [each for each in (*sentences, *rows) if AMOUNT.search(each)]
    fit = [each for each in with_number if len(f"{each} {unsure.get(each, '')}".split()) <= room]
    # the verdict first, then what cannot be; what leans on a sentence before it last
    fit.sort(key=lambda each: ("cannot" not in each, bool(LEANS.match(each))))
    first = fit[0] if fit else sentences[0]
    head = DOUBT.sub("", scene.headline)
    if begun := _begun(head, room - len(unsure.get(head, "").split())):
        first = begun
        unsure[first] = unsure[head]
        sentences.remove(head)
    for sentence in [first, *(each for each in sentences if each != first)]:
        doubt = unsure.get(sentence, "")
        forms = (f"{both_units(sentence)} {doubt}".strip(), f"{sentence} {doubt}".strip())
        fits = [form for form in forms if len(form.split()) <= room]
        if not fits:
            break
        told, room = f"{told} {fits[0]}".strip(), room - len(fits[0].split())
    heed = [f"Careful: {each}" for each in scene.warnings]
    heed += [f"Caution: {each}" for each in scene.cautions]
    return "\n".join([f"{told} {last}".strip(), *heed])


def _sentences(scene):
    """The sentences of headline and readout, and with each the doubt that there is about it."""
    sentences, unsure = [], {}
    for words in filter(None, (scene.headline, *scene.readout)):
        sure, doubts = DOUBT.subn("", words)
        split = re.split(r"(?<=\.) (?=[A-Z(])", sure) if words != scene.headline else [sure]
        sentences += split
        unsure |= dict.fromkeys(split, IN_DOUBT if doubts else "")
    return sentences, unsure


def _begun(headline, room):
    """As many whole clauses of a headline as there is room for; "" if not even its first."""
    clauses = re.split(r"(?<=[;:]) ", headline)
    for n in range(len(clauses), 0, -1):
        begun = " ".join(clauses[:n])
        if begun and len(begun.split()) <= room:
            return begun if n == len(clauses) else f"{begun[:-1]}."
    return ""


def texts(
    explainer: Explainer, state: dict, scene: Scene, pages: str, inch: bool = False
) -> list[tuple[str, str]]:
    """All texts to copy, each with what it is; the settings in inch units if `inch`."""
    code = "" if scene.code.startswith(f"{call_name(explainer)}(") else scene.code
    found = [
        ("Settings line", settings_line(explainer, state, inch)),
        ("Link to the picture that moves", live_address(explainer, state, scene, pages)),
        ("Link to the lesson", address(explainer, pages) if pages else ""),  # a path is no link
        ("Python for the numbers", code),
        ("In 40 words", in_short(explainer, scene, pages=pages, state=state)),
        *(
            (f"Paragraph in {title}", paragraph(explainer, state, scene, style, pages))
            for style, title in (
                ("markdown", "Markdown"),
                ("bbcode", "BBCode"),
                ("plain", "plain text"),
            )
        ),
        ("Picture with caption in Markdown", picture_markdown(explainer, scene, pages)),
        ("Description of the picture (alt text)", scene.alt),
    ]
    return [(title, text) for title, text in found if text]


def render(scene: Scene, kind: str, line: str = "") -> bytes:
    """The picture of `scene` as the bytes of an "svg" or "png" file.

    A PNG has its caption printed under it, and the settings `line` that makes it again.
    """
    from boxlab.draw import figures

    if kind == "svg":
        return figures.svg(figures.draw(scene), scene.title, figures.described(scene)).encode()
    note = f"Settings: {line} · {CREDIT}" if line else CREDIT
    return figures.png(figures.footed(scene, note), note=line)


def picture_markdown(
    explainer: Explainer, scene: Scene, pages: str | None = None, file: str = ""
) -> str:
    """The picture with alt text and caption in Markdown; `file` is NAME.png if not given."""
    where = link(explainer, pages, "markdown")
    alt = re.sub(r"([\[\]\\])", r"\\\1", scene.alt)
    caption = f"*{scene.caption}*" + (f" {where}" if where else "")
    return f"![{alt}]({file or call_name(explainer) + '.png'})\n\n{caption}"
