"""The command line: `python -m boxlab`."""

from __future__ import annotations

import argparse
import contextlib
import os
import sys
from pathlib import Path

from boxlab.workshop.verbs import add as verbs_for_a_class

# Each verb imports what it needs when it runs, so that asking for help costs nothing.

EXIT_CODES = """\
exit codes: 0 done, or the answer is yes; 1 it failed, or the answer is no; 2 bad usage"""


def questions(options) -> int:
    """The verb `questions`."""
    from boxlab.scenes import all_explainers

    for item in all_explainers():
        print(f"{item.name}\n    {item.question}")
        if item.answer:
            print(f"    {item.answer}")
        for control in item.controls:
            print(f"      {_describe(control)}")
    return 0


def _describe(control) -> str:
    """A control as the thing to type after --set."""
    if hasattr(control, "options"):
        return f"{control.name}={control.start}  ({' | '.join(control.options)})"
    reach = f"{control.low:g} to {control.high:g} {control.unit}".strip()
    return f"{control.name}={control.start:g}  ({control.label}: {reach})"


def picture(options) -> int:
    """The verb `picture`."""
    from boxlab import pictures, posting, share

    item, pasted = pictures.asked(options.name)
    settings = pasted | pictures.settings(item, options.set)
    kind = pictures.kind_of(options.to) if options.to else ""
    pages = None if options.pages is None else posting.checked_pages(options.pages)
    scene, state = item(**settings), item.start | settings
    if kind:
        line = share.settings_line(item, state)
        Path(options.to).write_bytes(pictures.render(scene, kind, line))
        # With --markdown all that is printed is for pasting.
        print(f"wrote {options.to}\n", file=sys.stderr if options.markdown else sys.stdout)
    if options.markdown:
        if kind:
            print(posting.picture_markdown(item, scene, pages, Path(options.to).name), end="\n\n")
        print(posting.paragraph(item, state, scene, markdown=True, pages=pages))
    else:
        print("\n".join(pictures.words(item, scene)))
    return 0


def all_pictures(options) -> int:
    """The verb `pictures`."""
    from boxlab import pictures

    if options.write:
        files = pictures.write_all(say=lambda words: print(words, file=sys.stderr, flush=True))
        print(f"wrote {len(files)} files in {pictures.FOLDER}")
        return 0
    faults = pictures.stale()
    for fault in faults:
        print(fault)
    print("figures/ is out of date: run `python -m boxlab pictures --write`" if faults
          else "figures/ shows what the code draws now")  # fmt: skip
    return 1 if faults else 0


def formulas(options) -> int:
    """The verb `formulas`."""
    from boxlab import formulas

    return _page(formulas, options)


def glossary(options) -> int:
    """The verb `glossary`."""
    from boxlab import glossary

    return _page(glossary, options)


def _page(room, options) -> int:
    """Write a made page, or print it as it would be now and say if the kept one differs."""
    if options.write:
        print(f"wrote {room.write()}")
        return 0
    page = room.page()
    print(page, end="")
    kept = room.PAGE.read_text(encoding="utf-8") if room.PAGE.is_file() else ""
    if kept != page:
        print(f"{room.PAGE.name} is out of date: run `{room.COMMAND} --write`", file=sys.stderr)
    return 0 if kept == page else 1


def lessons(options) -> int:
    """The verb `lessons`."""
    from boxlab import guard, notebooks

    paths = notebooks.find(options.names)
    if not paths:
        print(f"There are no lessons in {notebooks.LESSONS}. Run this from a clone of boxlab.")
        return 1
    failed = False
    for path in paths:
        if options.write:
            try:
                changed = notebooks.refresh(path)
            except RuntimeError as error:
                failed = True
                print(f"{path.name}: a cell failed; the file is left as it was\n{error}")
                continue
            print(f"{path.name}: {'written' if changed else 'unchanged'}", flush=True)
        found = guard.faults(path)
        failed |= bool(found)
        print("".join(f"{path.name}: {fault}\n" for fault in found), end="")
    if not options.write and not failed:
        print(f"{len(paths)} lessons keep every rule")
    return 1 if failed else 0


def site(options) -> int:
    """The verb `site`."""
    from boxlab.site import build

    faults = build(options.to, say=lambda words: print(words, flush=True))
    for fault in faults:
        print(fault)
    print(f"{options.to}: open index.html in a browser; it needs no network")
    return 1 if faults else 0


def parser() -> argparse.ArgumentParser:
    """What can be typed, and what is said about it."""
    top = argparse.ArgumentParser(
        prog="python -m boxlab",
        description="Small tools beside the lessons. Each verb has its own help: "
        "python -m boxlab picture --help",
        epilog=EXIT_CODES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    top.add_argument("--version", action="store_true", help="print the version and stop")
    verbs = top.add_subparsers(title="verbs", metavar="VERB")

    def verb(name, function, short, text="", example=""):
        made = verbs.add_parser(
            name,
            help=short,
            description=text or short,
            epilog=f"{example}\n\n{EXIT_CODES}".strip(),
            formatter_class=argparse.RawDescriptionHelpFormatter,
        )
        made.set_defaults(function=function)
        return made

    verb("questions", questions, "list the pictures: name, question, answer and settings")

    one = verb(
        "picture",
        picture,
        "draw one picture with your own settings, and print its caption and numbers",
        example="examples:\n"
        "  python -m boxlab questions\n"
        "  python -m boxlab picture NAME\n"
        "  python -m boxlab picture NAME --set volume=14 --set fb=45 --to answer.png\n"
        "  python -m boxlab picture 'NAME(volume=14, fb=45)' --to answer.png --markdown",
    )
    one.add_argument(
        "name",
        metavar="NAME",
        help="which one; `questions` lists the names. A settings line from a panel does, too",
    )
    one.add_argument(
        "--set",
        action="append",
        default=[],
        metavar="SETTING=VALUE",
        help="change a setting, in the unit that `questions` shows; repeat for more",
    )
    one.add_argument("--to", metavar="FILE", help="the file to write, .svg or .png")
    one.add_argument(
        "--markdown", action="store_true", help="print what a forum takes: Markdown to paste"
    )
    one.add_argument(
        "--pages",
        metavar="ADDRESS",
        help="where the web pages are published, for full links; else $BOXLAB_PAGES, if it is set",
    )

    many = verb(
        "pictures",
        all_pictures,
        "say whether figures/ shows what the code draws now; with --write, draw it anew",
    )
    many.add_argument("--write", action="store_true", help="draw every picture and the index page")

    for name, function, short in (
        ("formulas", formulas, "print the formula sheet, made from the library's docstrings"),
        ("glossary", glossary, "print the glossary, with values worked out by the library"),
    ):
        sheet = verb(
            name,
            function,
            short,
            f"{short[0].upper()}{short[1:]}.\nExit code 1 if lessons/{name}.md is not the same.",
        )
        sheet.add_argument("--write", action="store_true", help=f"write lessons/{name}.md")

    books = verb(
        "lessons",
        lessons,
        "check the rules that lessons keep; with --write, run them and save their outputs",
        example="examples:\n"
        "  python -m boxlab lessons --check\n"
        "  python -m boxlab lessons --write 01",
    )
    books.add_argument("names", nargs="*", metavar="NAME", help="which lessons; all if left out")
    either = books.add_mutually_exclusive_group()
    either.add_argument("--check", action="store_true", help="only check (what happens anyway)")
    either.add_argument("--write", action="store_true", help="run from top to bottom, then check")

    pages = verb(
        "site",
        site,
        "write all lessons as a folder of web pages that needs no network",
        "Write all lessons, the pictures and a front page with the questions as web pages. They\n"
        "open from the folder itself, and run no code. Takes up to a minute. Links that lead\n"
        "nowhere, formulas that cannot be drawn and pictures without alt text are listed.",
        example="examples:\n  python -m boxlab site --to pages",
    )
    pages.add_argument(
        "--to",
        required=True,
        metavar="FOLDER",
        help="where to; a new or empty folder, or an older site, which is replaced",
    )
    verbs_for_a_class(verb)
    return top


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
    try:
        return options.function(options)
    except ValueError as error:
        print(f"boxlab: {error}", file=sys.stderr)
        return 2
    except (ImportError, OSError) as error:
        if isinstance(error, BrokenPipeError):
            raise
        print(f"boxlab: {error}", file=sys.stderr)
        return 1


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
