"""The instructor's verbs of `python -m boxlab`. Each imports what it needs when it runs."""

from __future__ import annotations

from pathlib import Path


def check(options) -> int:
    """The verb `check`."""
    from boxlab.publish import laptop_check
    from boxlab.publish.workshop import laptop

    trials = laptop_check.TRIALS if options.quick else (*laptop_check.TRIALS, *laptop.TRIALS)
    return 0 if laptop_check.check(trials) else 1


def slides(options) -> int:
    """The verb `slides`."""
    from boxlab.publish.workshop import deck

    faults = deck.write(options.to, options.names, say=_say, live=not options.still)
    print("\n".join([*faults, f"{options.to}: open index.html in a browser; it needs no network"]))
    return 1 if faults else 0


def worksheet(options) -> int:
    """The verb `worksheet`."""
    from boxlab.publish.workshop import papers

    words = papers.learners(options.learners)
    names = [name.strip() for name in (options.lessons or "").split(",") if name.strip()]
    keys = [key.strip() for key in (options.exercises or "").split(",") if key.strip()]
    if options.plan:
        keys = papers.planned(options.plan)
    for path in papers.write(
        options.to, words, papers.chosen(names, keys), inch=options.units == "inch"
    ):
        print(f"wrote {path}")
    return 0


def results(options) -> int:
    """The verb `results`."""
    from boxlab import quiz
    from boxlab.quiz import handing_in

    path = handing_in.hand_in(quiz.pupil, options.to, options.name)
    learner = handing_in.read(path)
    whose = f"the name {learner.name!r}" if learner.name else "no name"
    print(f"wrote {path}: {len(learner.entries)} entries, {whose}, nothing that was typed")
    if not learner.entries:
        print("Nothing is recorded yet: answer a question in a lesson first, on this machine.")
    return 0


def class_summary(options) -> int:
    """The verb `class`."""
    from boxlab.publish.workshop import classroom, frame, papers, report
    from boxlab.publish.workshop.lesson import lessons
    from boxlab.quiz.exercises import all_exercises

    if options.to and Path(options.to).suffix.lower() != ".html":
        raise ValueError(f"--to {options.to}: give a file name that ends in .html")
    learners, joined, out = classroom.collect(options.folder)
    tables = report.summary(learners, lessons(), all_exercises())
    print(f"{report.heads(len(learners))} in {options.folder}\n")
    print(report.as_text(tables))
    if options.to and learners:
        body = report.as_html(tables, len(learners))
        page = frame.paper("The class", body, papers.GENERATOR)
        Path(options.to).write_text(page, encoding="utf-8", newline="\n")
        print(f"\nwrote {options.to}")
    print("".join(f"\nput together {line}" for line in joined).strip())
    for line in out:
        print(f"left out {line}")
    return 1 if out else 0


def workshop(options) -> int:
    """The verb `workshop`."""
    from boxlab.publish.workshop import advice, runsheet
    from boxlab.publish.workshop.lesson import lessons
    from boxlab.quiz.exercises import all_exercises

    known = lessons()
    if options.write:
        print(f"wrote {advice.write(known)}")
    keys = [ex.key for ex in all_exercises()]
    faults = [fault for sheet in runsheet.sheets() for fault in runsheet.faults(sheet, known, keys)]
    faults += advice.stale(known)
    for sheet in runsheet.sheets():
        print(f"{sheet.path.name}: {sheet.title}, {sheet.sum} minutes in {len(sheet.rows)} steps")
    print("\n".join(faults) if faults else "the run sheets and the lessons agree")
    return 1 if faults else 0


def bundle(options) -> int:
    """The verb `bundle`."""
    from boxlab.publish.workshop import bundle

    systems = [word.strip() for word in (options.systems or bundle.HERE).split(",")]
    pythons = [word.strip() for word in (options.python or "").split(",") if word.strip()]
    left = bundle.write(options.to, systems, pythons, say=_say)
    print("\n".join([*left, f"{options.to}: copy it to a stick; read-me-first.html says the rest"]))
    return 1 if left else 0


def afresh(options) -> int:
    """The verb `afresh`."""
    from boxlab.publish.workshop import afresh

    print("\n".join(afresh.start()))
    return 0


def _say(words: str) -> None:
    print(words, flush=True)


def add(verb) -> None:
    """Add the verbs; `verb(name, function, help, text, example)` makes one."""
    trial = verb(
        "check",
        check,
        "say whether this machine is ready for the lessons, in less than a minute",
        "Packages, model, disk and memory, sliders, a start of JupyterLab, and the first lesson\n"
        "run with the network shut. Nothing is changed.",
    )
    trial.add_argument("--quick", action="store_true", help="only the installation, in seconds")

    stick = verb(
        "bundle",
        bundle,
        "fetch all that laptops need, into a folder for a USB stick, so that they need no network",
        "The project, wheels with the tools that install them, and a page that says how. Needs a\n"
        "network and pip, once; some 200 MB for each kind of machine.",
        example="examples:\n  python -m boxlab bundle --to stick\n"
        "  python -m boxlab bundle --for windows,macos --python 3.12,3.13 --to stick",
    )
    stick.add_argument(
        "--to", required=True, metavar="FOLDER", help="where to; new, empty or older"
    )
    stick.add_argument(
        "--for",
        dest="systems",
        metavar="KINDS",
        help="windows, macos, linux; this machine's if none",
    )
    stick.add_argument("--python", metavar="VERSIONS", help="such as 3.12,3.13; this one's if none")

    verb(
        "afresh",
        afresh,
        "put an earlier learner's record and changed lessons aside; nothing is deleted",
        "Close JupyterLab first.",
    )

    deck = verb(
        "slides",
        slides,
        "make slides from the lessons, for a class, as pages that need no network",
        "Write one deck for each lesson, one for each run sheet in lessons/workshop/, and a page\n"
        "that leads to them and lists the keys. Pictures are drawn anew, and what moves is worked\n"
        "out beforehand: about a minute for a class on a laptop with nothing else to do, seven\n"
        "for all of them, and twice that and more where it is busy. Do it the day before.",
        example="examples:\n"
        "  python -m boxlab slides --to slides\n"
        "  python -m boxlab slides two-hour-class --to slides\n"
        "  python -m boxlab slides 01 04 --to slides",
    )
    deck.add_argument(
        "names", nargs="*", metavar="NAME", help="which lessons and classes; all if left out"
    )
    deck.add_argument("--to", required=True, metavar="FOLDER", help="where to; new, empty or older")
    deck.add_argument("--still", action="store_true", help="leave out what moves")

    sheet = verb(
        "worksheet",
        worksheet,
        "make worksheets to print, each learner's with other numbers, and the key to them",
        "The numbers come from the word, which need not be a name: the same word gives the same\n"
        "numbers, here and in the lesson. A number instead of words makes so many unnamed sheets.\n"
        "Each problem has its formulas and an example worked with other numbers.",
        example="examples:\n"
        '  python -m boxlab worksheet --learners "ada, ben, cem" --lessons 01,04 --to sheets\n'
        "  python -m boxlab worksheet --learners 16 --for two-hour-class --to sheets\n"
        "  python -m boxlab worksheet --learners 12 --exercises port-or-radiator/null --to sheets",
    )
    sheet.add_argument("--learners", required=True, metavar="WORDS", help='"ada, ben, cem", or 12')
    either = sheet.add_mutually_exclusive_group(required=True)
    either.add_argument("--lessons", metavar="NAMES", help="all exercises of these: 01,04")
    either.add_argument("--exercises", metavar="KEYS", help="just these, in this order")
    either.add_argument("--for", dest="plan", metavar="CLASS", help="those of a run sheet")
    sheet.add_argument("--units", choices=("metric", "inch"), default="metric", help="to print")
    sheet.add_argument(
        "--to", required=True, metavar="FOLDER", help="where to; new, empty or older"
    )

    own = verb(
        "results",
        results,
        "write your own results to a small file, to hand in if you want to",
        "What was predicted, tried and solved on this machine. No name unless you give one, and\n"
        "nothing that you typed into an exercise.",
        example="examples:\n  python -m boxlab results --to results.json\n"
        "  python -m boxlab results --to results.json --name Ada",
    )
    own.add_argument("--to", required=True, metavar="FILE", help="the file to write, .json")
    own.add_argument("--name", default="", help="put into the file if given")

    group = verb(
        "class",
        class_summary,
        "sum up what a class did, from the results that its learners handed in",
        "Reads results (.json) and saved lessons (.ipynb) in a folder and prints what the class\n"
        "predicted, what it solved, and what to come back to. Several files of one learner count\n"
        "as one. Files that are neither are named and left out.",
        example="examples:\n  python -m boxlab class handed-in\n"
        "  python -m boxlab class handed-in --to class.html",
    )
    group.add_argument("folder", metavar="FOLDER", help="where the learners' files are")
    group.add_argument("--to", metavar="FILE", help="write it as a page too, .html, to print")

    plan = verb(
        "workshop",
        workshop,
        "check the run sheets against the lessons; with --write, renew their page of answers",
    )
    plan.add_argument("--write", action="store_true", help="write lessons/workshop/answers.md anew")
