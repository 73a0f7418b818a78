"""The verbs of `python -m boxlab` that keep the made pages, pictures and lessons in order."""

from __future__ import annotations

import functools
import importlib
import sys


def all_pictures(options) -> int:
    """The verb `pictures`."""
    from boxlab.publish import pictures

    def say(words):
        print(words, file=sys.stderr, flush=True)

    if options.write:
        files = pictures.write_all(say=say)
        print(f"wrote {len(files)} files in {pictures.FOLDER}")
        return 0
    faults = pictures.stale(say=say)
    for fault in faults:
        print(fault)
    print("figures/ is out of date: run `python -m boxlab pictures --write`" if faults
          else "figures/ shows what the code draws now")  # fmt: skip
    return 1 if faults else 0


def made_page(name, options) -> int:
    """A made page: write it, or print it as it is now and say if the kept one differs."""
    room = importlib.import_module(f"boxlab.publish.{name}")
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
    from boxlab.publish import lesson_rules, notebooks

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
        found = lesson_rules.faults(path)
        failed |= bool(found)
        print("".join(f"{path.name}: {fault}\n" for fault in found), end="")
    if not options.write and not failed:
        print(f"{len(paths)} lessons keep every rule")
    return 1 if failed else 0


def add(verb) -> None:
    """Add the verbs; `verb(name, function, help, text, example)` makes one."""
    many = verb(
        "pictures",
        all_pictures,
        "say whether figures/ shows what the code draws now; with --write, draw it anew",
    )
    many.add_argument("--write", action="store_true", help="draw every picture and the index page")

    for name, short in (
        ("formulas", "print the formula sheet, made from the library's docstrings"),
        ("glossary", "print the glossary, with values worked out by the library"),
        ("library", "print the public names, made from the library's docstrings"),
    ):
        sheet = verb(
            name,
            functools.partial(made_page, name),
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
