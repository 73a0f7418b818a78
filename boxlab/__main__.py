"""The command line: `python -m boxlab`."""

from __future__ import annotations

import argparse
import contextlib
import json
import os
import sys
import textwrap
from pathlib import Path

from boxlab.publish.bench import add as verbs_for_measuring
from boxlab.publish.maintenance import add as verbs_for_upkeep
from boxlab.publish.own_box import add as verbs_for_own_box
from boxlab.publish.workshop.verbs import add as verbs_for_a_class

# Each verb imports what it needs when it runs, so that asking for help costs nothing.

PROG = "python -m boxlab"
EXIT_CODES = """\
exit codes: 0 done, or the answer is yes; 1 it failed, or the answer is no; 2 bad usage"""
GROUPS = {
    "answer a question": ("questions", "picture", "site"),
    "work on your own box": ("job", "sheet", "answer", "signal", "record", "heard"),
    "learn and teach": ("check", "results", "class", "slides", "worksheet", "bundle", "afresh"),
    "keep the house in order": ("workshop", "lessons", "pictures"),
    "make the pages beside the lessons": ("formulas", "glossary", "library"),
}


def questions(options) -> int:
    """The verb `questions`."""
    from boxlab.explainers import all_explainers
    from boxlab.publish import question_index

    items = all_explainers()
    if not options.words:
        print("\n".join(question_index.short(items)))
        print(
            f"\n{len(items)} questions. Add words to find those that have them all, with answers "
            f"and settings:\n  {PROG} questions radiator weights"
        )
        return 0
    found = question_index.matching(items, options.words)
    print(
        "\n\n".join("\n".join(question_index.full(item)) for item in found), end="\n" * bool(found)
    )
    if not found:
        if len(" ".join(options.words).split()) <= 4:  # of a whole sentence no question has all
            print(f"no question has all of {' and '.join(map(repr, options.words))}.")
        close = question_index.near(items, options.words)
        print("These come nearest:" if close else "Try other words; these are all:")
        print("\n".join(question_index.short(close or items)))
    return 0 if found else 1


def picture(options) -> int:
    """The verb `picture`."""
    from boxlab.gear import shelf
    from boxlab.panel import settings_text, share_text
    from boxlab.publish import pictures, question_index
    from boxlab.publish.answer_data import as_data

    own = None
    if options.job:
        from boxlab.explainers._own import with_job
        from boxlab.gear.job import read_job

        own = read_job(options.job)
        item, pasted = pictures.asked(options.name, lambda item: with_job(item, own))
    else:
        item, pasted = pictures.asked(options.name)
    settings = pasted | pictures.settings(item, options.set)
    kind = pictures.kind_of(options.to) if options.to else ""
    pages = None if options.pages is None else share_text.checked_pages(options.pages)
    with shelf.opened(None) as used:
        scene, state = item(**settings), item.start | settings
    if options.json:
        print(json.dumps(as_data(item, state, scene, own, used), ensure_ascii=False, indent=1))
    if kind:
        line = settings_text.settings_line(item, state)
        Path(options.to).write_bytes(pictures.render(scene, kind, line))
        # With one of these all that is printed is for pasting.
        for_pasting = options.style or options.short or options.json
        print(f"wrote {options.to}\n", file=sys.stderr if for_pasting else sys.stdout)
    if options.style == "markdown" and kind and not options.short:
        print(share_text.picture_markdown(item, scene, pages, Path(options.to).name), end="\n\n")
    if options.json:
        return 0
    if options.short:
        print(share_text.in_short(item, scene, options.style or "plain", pages, state))
    elif options.style:
        print(share_text.paragraph(item, state, scene, options.style, pages))
    else:
        print("\n".join(question_index.facts(item, state, scene, pages)))
    return 0


def site(options) -> int:
    """The verb `site`."""
    from boxlab.panel.share_text import PAGES, checked_pages
    from boxlab.publish.site import build

    told = os.environ.get(PAGES, "") if options.pages is None else options.pages
    faults = build(
        options.to, say=lambda words: print(words, flush=True), published=checked_pages(told)
    )
    for fault in faults:
        print(fault)
    print(f"{options.to}: open index.html in a browser; it needs no network")
    return 1 if faults else 0


def parser() -> argparse.ArgumentParser:
    """What can be typed, and what is said about it."""
    top = argparse.ArgumentParser(
        prog=PROG,
        description="Small tools beside the lessons. Each verb has its own help: "
        f"{PROG} picture --help",
        usage="%(prog)s [-h] [--version] VERB ...",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    top.add_argument("--version", action="store_true", help="print the version and stop")
    verbs = top.add_subparsers(prog=PROG, metavar="VERB", help=argparse.SUPPRESS)
    said = {}

    def verb(name, function, short, text="", example=""):
        said[name] = short
        made = verbs.add_parser(
            name,
            description=text or f"{short[0].upper()}{short[1:]}.",
            epilog=f"{example}\n\n{EXIT_CODES}".strip(),
            formatter_class=argparse.RawDescriptionHelpFormatter,
        )
        made.set_defaults(function=function)
        return made

    asked = verb(
        "questions",
        questions,
        "list what people ask; with words, find a question with its answer and settings",
        example="examples:\n"
        "  python -m boxlab questions\n"
        "  python -m boxlab questions port fit\n"
        "  python -m boxlab questions radiator_need",
    )
    asked.add_argument("words", nargs="*", metavar="WORD", help="all have to be there")

    one = verb(
        "picture",
        picture,
        "work one answer out for your own box, print it, and draw its picture",
        "Work one answer out with your own settings: print what comes out, caption and numbers in\n"
        "both unit systems, and draw the picture if --to names a file. The gear is the demo\n"
        "gear, or your own with --job.",
        example="examples:\n"
        "  python -m boxlab questions weights\n"
        "  python -m boxlab picture first_experiment\n"
        "  python -m boxlab picture first_experiment --set volume=0.6ft3 --set radiator=12\n"
        "  python -m boxlab picture port_or_radiator --set volume=17 --set fb=40 --to answer.png\n"
        "  python -m boxlab picture 'port_or_radiator(volume=17)' --to answer.png --markdown",
    )
    one.add_argument(
        "name",
        metavar="NAME",
        help="which one; `questions` lists the names. A settings line from a panel does, too",
    )
    one.add_argument(
        "--set",
        action="extend",
        nargs="+",
        default=[],
        metavar="SETTING=VALUE",
        help="change settings. A plain number is in the unit that "
        "`questions NAME` shows; 0.6ft3, 4in and 5oz are understood too",
    )
    one.add_argument("--to", metavar="FILE", help="the file to write, .svg or .png")
    one.add_argument("--job", metavar="FILE", help="your own box: a job file, see `job`")
    either = one.add_mutually_exclusive_group()
    for style, words in (
        ("markdown", "print only what to post, in Markdown"),
        ("bbcode", "the same in BBCode"),
        ("plain", "the same in plain text"),
    ):
        either.add_argument(
            f"--{style}", dest="style", action="store_const", const=style, help=words
        )
    either.add_argument("--json", action="store_true", help="the same as data, values in SI")
    one.add_argument(
        "--short", action="store_true", help="answer, number and link in 40 words, to post"
    )
    one.add_argument(
        "--pages",
        metavar="ADDRESS",
        help="where the web pages are published, for full links; else $BOXLAB_PAGES, if it is set",
    )

    verbs_for_own_box(verb)
    verbs_for_measuring(verb)
    verbs_for_upkeep(verb)

    pages = verb(
        "site",
        site,
        "write all lessons as a folder of web pages that needs no network",
        "Write all lessons, the pictures and a front page with the questions as web pages. They\n"
        "open from the folder itself, and their controls move with no kernel. Takes two or three\n"
        "minutes. Links that lead nowhere, formulas that cannot be drawn and pictures without\n"
        "alt text are listed.",
        example="examples:\n  python -m boxlab site --to pages",
    )
    pages.add_argument(
        "--to",
        required=True,
        metavar="FOLDER",
        help="where to; a new or empty folder, or an older site, which is replaced",
    )
    pages.add_argument(
        "--pages",
        metavar="ADDRESS",
        help="where they will be published, for previews of links; else $BOXLAB_PAGES",
    )
    verbs_for_a_class(verb)
    top.epilog = f"{_grouped(said)}\n\n{EXIT_CODES}"
    return top


def _grouped(said: dict[str, str]) -> str:
    """The verbs and what each does, by what somebody comes for."""
    wide = max(map(len, said)) + 4
    parts = []
    for heading, names in GROUPS.items():
        rows = [f"{f'  {name}':{wide}}{said[name]}" for name in names]
        folded = [textwrap.fill(row, 79, subsequent_indent=" " * wide) for row in rows]
        parts.append("\n".join([f"to {heading}:", *folded]))
    return "\n\n".join(parts)


def main(arguments=None) -> int:
    """Run the command line and return its exit code."""
    options = parser().parse_args(arguments)
    if options.version:
        from importlib.metadata import version

        print(f"boxlab {version('boxlab')}")
        return 0
    if not hasattr(options, "function"):
        parser().print_help()
        return 2
    from boxlab.base.plain_warnings import in_plain_words

    said: list[str] = []
    try:
        with in_plain_words() as said:
            return options.function(options)
    except ValueError as error:
        print(f"boxlab: {error}", file=sys.stderr)
        return 2
    except (ImportError, OSError) as error:
        if isinstance(error, BrokenPipeError):
            raise
        print(f"boxlab: {error}", file=sys.stderr)
        return 1
    finally:
        for words in said:
            print(f"Note: {words}", file=sys.stderr)


if __name__ == "__main__":
    try:
        code = main()
        sys.stdout.flush()
    except BrokenPipeError:  # `| head` has seen enough
        with contextlib.suppress(OSError):
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        code = 0
    except KeyboardInterrupt:
        code = 1
    sys.exit(code)
